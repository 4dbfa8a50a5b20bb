//! How a level in dB is set on a synthesizer: velocity and expression together, at full channel volume.

/// The root mean square of a band at its full level (everybody at fff), in dB below the loudest sample (ours).
///
/// Thirty tones that have nothing to do with each other add up like noise, whose peaks stand some 13 dB above its
/// root mean square; those of a single tone stand less high. What still goes beyond is turned down in a file.
pub const FULL_DB: f64 = -16.0;

/// What is set for a note.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Stops {
    /// 1 to 127.
    pub velocity: u8,
    /// 0 to 16,383.
    pub expression: u16,
}

/// The most of a controller of 14 bits.
const MOST: f64 = 16_383.0;

impl Stops {
    /// The level that they give, dB under the full one.
    #[must_use]
    pub fn db(self) -> f64 {
        let (velocity, expression) = (f64::from(self.velocity), f64::from(self.expression));
        40.0 * (velocity / 127.0 * expression.max(1.0) / MOST).log10()
    }
}

/// What gives a level of so many dB under the full one. Velocity and expression are squared by the
/// synthesizer (General MIDI level 1 recommendation, MEM); velocity comes as near as it can from above, and
/// expression takes the rest, under 0.3 dB for all but the softest.
#[must_use]
pub fn stops(db: f64) -> Stops {
    let wanted = 10.0_f64.powf(db.min(0.0) / 40.0);
    let velocity = (wanted * 127.0).ceil().clamp(1.0, 127.0);
    let rest = (wanted * 127.0 / velocity).min(1.0);
    Stops {
        velocity: velocity as u8,
        expression: (rest * MOST).round() as u16,
    }
}
