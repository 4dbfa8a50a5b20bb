//! Where the parts sit and where the listener is: what distance takes from a level, and how late it is heard.

use crate::band::{Band, Choir, Part};

/// Where the listener is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Place {
    /// Where the director stands.
    Podium,
    /// A seat in the middle of the stands.
    #[default]
    Stands,
    /// High up in the stands.
    High,
}

/// Metres: to the right of the director, away from the director into the band, and up.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Spot {
    right: f64,
    deep: f64,
    up: f64,
}

/// How a part is heard at a place.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Hearing {
    /// What the distance adds to its level against the band as a whole, dB.
    pub gain_db: f64,
    /// How much later than the nearest part it is heard, seconds.
    pub delay: f64,
    /// -1 left to 1 right.
    pub pan: f64,
}

/// Metres a second, at 20 degrees Celsius (MEM: physics handbooks).
const SPEED_OF_SOUND: f64 = 343.0;
/// How wide a choir sits, metres (ours).
const CHOIR_WIDTH: f64 = 3.0;
/// How far to the side what is heard wholly from the side is put (ours).
const WIDEST: f64 = 0.8;

impl Place {
    /// All places, the nearest first.
    pub const ALL: [Self; 3] = [Self::Podium, Self::Stands, Self::High];

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Podium => "the podium",
            Self::Stands => "the stands",
            Self::High => "high up",
        }
    }

    /// A field, a stand that begins 25 m from its side line, 20 m high (ours).
    const fn spot(self) -> Spot {
        let (deep, up) = match self {
            Self::Podium => (0.0, 1.7),
            Self::Stands => (-30.0, 5.0),
            Self::High => (-55.0, 20.0),
        };
        Spot {
            right: 0.0,
            deep,
            up,
        }
    }
}

/// The middle of a choir in a block of rows in front of the director (ours, as concert bands often sit).
const fn middle(choir: Choir) -> (f64, f64) {
    match choir {
        Choir::Flutes => (-2.5, 2.5),
        Choir::Clarinets => (2.5, 2.5),
        Choir::Horns => (-3.0, 4.5),
        Choir::Saxophones => (2.0, 4.5),
        Choir::LowReeds => (5.5, 4.5),
        Choir::Trumpets => (-1.5, 6.5),
        Choir::Trombones => (2.5, 6.5),
        Choir::Euphoniums => (5.5, 6.0),
        Choir::Basses => (4.0, 8.5),
        Choir::Mallets => (-4.5, 8.5),
    }
}

fn spot(band: &Band, index: usize, part: &Part) -> Spot {
    let same = |p: &&Part| p.instrument.choir == part.instrument.choir;
    let count = band.parts.iter().filter(same).count();
    let before = band.parts.iter().take(index).filter(same).count();
    let (right, deep) = middle(part.instrument.choir);
    let along = (before as f64 + 0.5) / count.max(1) as f64 - 0.5;
    Spot {
        right: right + along * CHOIR_WIDTH,
        deep,
        up: 1.2,
    }
}

/// How each part of a band is heard at a place.
///
/// A level falls by 20 log of the distance (free field, MEM: acoustics handbooks; air and ground are left out).
/// All places are as loud on the whole, as though the listener turned the volume: the mean power of equal parts
/// stays the same, what changes is who is near.
#[must_use]
pub fn hearings(band: &Band, place: Place) -> Vec<Hearing> {
    let listener = place.spot();
    let spots = band.parts.iter().enumerate();
    let heard: Vec<(f64, f64)> = spots
        .map(|(i, part)| away(spot(band, i, part), listener))
        .collect();
    let nearest = heard.iter().map(|h| h.0).fold(f64::INFINITY, f64::min);
    let powers: f64 = heard.iter().map(|h| h.0.powi(-2)).sum();
    let mean = powers / heard.len().max(1) as f64;
    let one = |(distance, side): (f64, f64)| Hearing {
        gain_db: -10.0 * (distance * distance * mean).log10(),
        delay: (distance - nearest) / SPEED_OF_SOUND,
        pan: WIDEST * side,
    };
    heard.into_iter().map(one).collect()
}

/// The distance, and the sine of the angle to the side.
fn away(from: Spot, listener: Spot) -> (f64, f64) {
    let right = from.right - listener.right;
    let (deep, up) = (from.deep - listener.deep, from.up - listener.up);
    let distance = (right * right + deep * deep + up * up).sqrt().max(1.0);
    (distance, (right / distance).clamp(-1.0, 1.0))
}
