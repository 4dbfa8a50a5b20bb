//! What a listener takes for intensity: loudness, density, register, brightness; and the scale of each.

use crate::music::Sounding;

/// One thing that makes music intense.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Measure {
    /// How loud the band is, in tenths of its scale.
    Loudness,
    /// What share of the wind players sounds.
    Density,
    /// How high the parts lie in their comfortable ranges, 0 to 1.
    Register,
    /// How bright it sounds: which partial of a tone the middle of its partials is, 1 the tone itself.
    Brightness,
}

/// Values at intensities, both rising; straight between. All are ours: what bands of 20 to 40 come to, from a few soft
/// players to everybody.
type Steps = &'static [(f64, f64)];

impl Measure {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::Loudness,
        Self::Density,
        Self::Register,
        Self::Brightness,
    ];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Loudness => "loudness",
            Self::Density => "density",
            Self::Register => "register",
            Self::Brightness => "brightness",
        }
    }

    /// What it counts in the reached intensity, of 1. Loudness counts most, then the rest: the order is that of
    /// R. Y. Granot and Z. Eitan, "Musical tension and the interaction of dynamic auditory parameters", Music
    /// Perception 28, 2011 (from memory); the sizes are ours.
    #[must_use]
    pub const fn weight(self) -> f64 {
        match self {
            Self::Loudness => 0.5,
            Self::Density => 0.3,
            Self::Register => 0.1,
            Self::Brightness => 0.1,
        }
    }

    const fn steps(self) -> Steps {
        match self {
            Self::Loudness => &[(0.0, 0.0), (10.0, 10.0)],
            // As the plan wants it (`presets/wanted-texture.toml`), but still rising where that stays at everybody.
            Self::Density => &[
                (0.0, 0.2),
                (1.0, 0.35),
                (3.5, 0.6),
                (5.5, 0.85),
                (7.5, 0.95),
                (10.0, 1.0),
            ],
            Self::Register => &[(0.0, 0.35), (5.0, 0.6), (10.0, 0.85)],
            // From flutes alone to trumpets and trombones at ff, by the table of spectra.
            Self::Brightness => &[(0.0, 2.0), (5.0, 3.25), (10.0, 4.5)],
        }
    }

    /// The intensity, 0 to 10, that a value speaks for.
    ///
    /// ```
    /// use bandwright::review::Measure;
    /// assert_eq!(Measure::Density.intensity(0.6), 3.5);
    /// assert_eq!(Measure::Density.value(3.5), 0.6);
    /// assert_eq!(Measure::Register.intensity(2.0), 10.0);
    /// ```
    #[must_use]
    pub fn intensity(self, value: f64) -> f64 {
        between(self.steps().iter().map(|(i, v)| (*v, *i)), value)
    }

    /// The value that an intensity asks for.
    #[must_use]
    pub fn value(self, intensity: f64) -> f64 {
        between(self.steps().iter().copied(), intensity)
    }
}

/// A straight line between steps, level beyond.
fn between(steps: impl Iterator<Item = (f64, f64)>, x: f64) -> f64 {
    let mut last: Option<(f64, f64)> = None;
    for (at, y) in steps {
        match last {
            _ if x > at => {}
            Some((from, before)) if at > from => {
                return before + (y - before) * ((x - from) / (at - from)).clamp(0.0, 1.0);
            }
            _ => return y,
        }
        last = Some((at, y));
    }
    last.map_or(0.0, |(_, y)| y)
}

/// Where a pitch lies between the ends of a range: 0 at the lowest, 1 at the highest; up to half a range beyond.
#[must_use]
pub(super) fn place_in(low: Sounding, high: Sounding, pitch: Sounding) -> f64 {
    let [low, high, pitch] = [low, high, pitch].map(|p| f64::from(p.midi()));
    ((pitch - low) / (high - low).max(1.0)).clamp(-0.5, 1.5)
}
