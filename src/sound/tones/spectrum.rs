//! The spectrum of a held tone: a hump where the instrument radiates best, falling off above it, less steeply
//! the louder it is played.

/// How loud a tone is played, as far as its colour goes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Shade {
    /// To piano.
    Soft,
    /// Mezzo piano and mezzo forte.
    Middle,
    /// From forte on.
    Loud,
}

impl Shade {
    /// All, softest first.
    pub const ALL: [Self; 3] = [Self::Soft, Self::Middle, Self::Loud];

    /// Its bank among the three of a tone: the middle one comes first, for players that know but one.
    #[must_use]
    pub const fn place(self) -> u8 {
        match self {
            Self::Middle => 0,
            Self::Soft => 1,
            Self::Loud => 2,
        }
    }
}

/// A frequency region that stands out.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Formant {
    /// Its middle.
    pub hertz: f64,
    /// How far it stands out, dB.
    pub db: f64,
    /// How far to either side it has fallen to about a third of that, octaves.
    pub octaves: f64,
}

/// The spectrum of a held tone.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spectrum {
    /// Up to here partials are about as strong as they get.
    pub corner: f64,
    /// How fast they fall off above it, dB an octave: soft, middle, loud.
    pub fall: [f64; 3],
    /// How fast they fall off below it, dB an octave.
    pub rise: f64,
    /// How much weaker each partial is than the one below it whatever its frequency, dB: soft, middle, loud.
    pub step: [f64; 3],
    /// Frequency regions that stand out.
    pub formants: &'static [Formant],
    /// How much weaker even partials to the sixth are at the bottom of the range, dB; it fades to nothing by
    /// the middle of the range.
    pub even: f64,
}

/// Most partials of a tone, and up to which frequency: enough that what is left out is over 50 dB down in
/// most tones (ours).
const PARTIALS: u32 = 40;
const HIGHEST_HERTZ: f64 = 14_000.0;
/// Partials that are so far below the strongest are left out, dB.
const FLOOR_DB: f64 = -66.0;

impl Spectrum {
    /// The amplitudes of the partials, the first first, the strongest being 1.
    ///
    /// `place` is 0 at the bottom of the range and 1 at its top.
    #[must_use]
    pub fn partials(&self, hertz: f64, place: f64, shade: Shade) -> Vec<f64> {
        let highest = (HIGHEST_HERTZ / hertz)
            .floor()
            .clamp(1.0, f64::from(PARTIALS));
        let mut levels: Vec<f64> = (1..=highest as u32)
            .map(|k| self.level(k, hertz, place, shade))
            .collect();
        let top = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let heard = levels.iter().rposition(|l| *l > top + FLOOR_DB);
        levels.truncate(heard.map_or(1, |k| k + 1));
        levels
            .into_iter()
            .map(|l| 10.0_f64.powf((l - top) / 20.0))
            .collect()
    }

    fn level(&self, k: u32, hertz: f64, place: f64, shade: Shade) -> f64 {
        let partial = hertz * f64::from(k);
        let octaves = (partial / self.corner).log2();
        let which = shade as usize;
        let slope = if octaves > 0.0 {
            -self.fall[which] * octaves
        } else {
            self.rise * octaves
        };
        let humps = self.formants.iter().map(|f| {
            let away = (partial / f.hertz).log2() / f.octaves;
            f.db * (-away * away).exp()
        });
        let weak = if k.is_multiple_of(2) && k <= 6 {
            self.even * (1.0 - 2.0 * place).max(0.0)
        } else {
            0.0
        };
        slope + humps.sum::<f64>() - weak - self.step[which] * f64::from(k - 1)
    }
}
