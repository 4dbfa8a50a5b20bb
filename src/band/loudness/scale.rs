//! How loud a band is, on the scale of intensity.

use super::decibels::Decibels;
use super::part_level::part_level;
use crate::band::Band;
use crate::band::roster::Part;
use crate::music::{Dynamic, Sounding};

/// A step of the scale of intensity is so many decibels: from everybody at fff (10) down to a single soft player (0)
/// is some 30 dB in bands of 20 to 40 (ours, from the program's own table of loudness).
const A_STEP: f64 = 3.0;

/// How loud everybody is at fff, each in the middle of the comfortable range.
#[must_use]
pub fn full_level(band: &Band) -> Decibels {
    Decibels::together(band.parts.iter().map(loudest))
}

fn loudest(part: &Part) -> Decibels {
    let range = part.limits.comfortable;
    let middle = (i32::from(range.low.midi()) + i32::from(range.high.midi())) / 2;
    // The built-in table reads; a test shows it.
    part_level(part, Sounding::nearest(middle), Dynamic::Fff).unwrap_or(Decibels::SILENCE)
}

/// How intense a level is, 0 to 10, in a band that is so loud in full.
#[must_use]
pub fn intensity_of_level(full: Decibels, level: Decibels) -> f64 {
    let intensity = 10.0 + (level.0 - full.0) / A_STEP;
    if intensity.is_nan() {
        0.0
    } else {
        intensity.clamp(0.0, 10.0)
    }
}

/// How loud a band is to be for an intensity; the inverse of [`intensity_of_level`].
#[must_use]
pub fn wanted_level(full: Decibels, intensity: f64) -> Decibels {
    Decibels(full.0 - A_STEP * (10.0 - intensity.clamp(0.0, 10.0)))
}
