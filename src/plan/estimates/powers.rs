//! How much sound each part gives to a passage, in each role.

use super::octave::WISHES;
use super::stretch::Stretch;
use crate::band::load::TimedNote;
use crate::band::loudness::part_level;
use crate::band::{Band, Family, Part};
use crate::music::{Dynamic, Sounding};
use crate::plan::solve::{PartRole, Setting};
use crate::score::Role;
use std::collections::BTreeSet;

/// Number of octaves that may be wished for.
const OCTAVES: usize = 5;

/// What a part gives in one role.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Sound {
    /// Sound power towards the audience while it plays (1 at 0 dB, as [`Decibels::power`] has it);
    /// 0 for what is left out of balance.
    ///
    /// [`Decibels::power`]: crate::band::loudness::Decibels::power
    pub power: f64,
    /// The share of the passage's time in which it plays, 0 to 1.
    pub share: f64,
    /// How high it lies: the mean of its notes, semitones (60 is middle C). Of chords, the lowest note at which
    /// the part is at ease.
    pub height: f64,
}

/// A part in a passage.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct PartPowers {
    pub players: u32,
    pub wind: bool,
    pub family: Family,
    melody: [Sound; OCTAVES],
    lines: [Sound; 3],
    harmony: Sound,
}

/// How much sound every part of a band gives to a passage, in every role.
///
/// The tune counts at the wished octave or the nearest that suits the part, other lines at the octave
/// that does; chords count as the middle of the comfortable range, at the mean dynamic of what
/// accompanies in the sketch.
#[derive(Clone, PartialEq, Debug)]
pub struct Powers {
    pub(super) parts: Vec<PartPowers>,
    /// What share of the onsets of tune and accompaniment fall together.
    pub(super) same_rhythm: f64,
}

impl Powers {
    /// The powers of each passage.
    #[must_use]
    pub fn of_passages(setting: &Setting<'_>) -> Vec<Self> {
        let stretches = Stretch::all(setting);
        let dynamics: BTreeSet<Dynamic> = stretches.iter().flat_map(Stretch::dynamics).collect();
        let parts = setting.band.parts.iter();
        let levels: Vec<Levels> = parts.map(|p| Levels::of(p, &dynamics)).collect();
        stretches
            .iter()
            .map(|s| Self::of(setting.band, s, &levels))
            .collect()
    }

    fn of(band: &Band, stretch: &Stretch, levels: &[Levels]) -> Self {
        let parts = band.parts.iter().zip(levels);
        Self {
            parts: parts.map(|(p, l)| part_powers(p, stretch, l)).collect(),
            same_rhythm: stretch.same_rhythm,
        }
    }

    /// What a part gives in a role: nothing where it rests, or for a part of another band.
    #[must_use]
    pub fn sound(&self, part: usize, role: PartRole) -> Sound {
        let Some(of) = self.parts.get(part) else {
            return Sound::default();
        };
        match role.role {
            Role::Melody => {
                let wish = role.octave.clamp(*WISHES.start(), *WISHES.end());
                let place = usize::try_from(wish - WISHES.start()).unwrap_or(0);
                of.melody.get(place).copied().unwrap_or_default()
            }
            Role::Counterline => of.lines[0],
            Role::Bass => of.lines[1],
            Role::Figure => of.lines[2],
            Role::Harmony => of.harmony,
            Role::Rest => Sound::default(),
        }
    }

    /// How many parts there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.parts.len()
    }

    /// Whether the band has no parts.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }
}

fn part_powers(part: &Part, stretch: &Stretch, levels: &Levels) -> PartPowers {
    let line = |line: usize, wish| {
        let moved = stretch.line(line, &part.limits, wish);
        levels.sound(&moved.notes, stretch)
    };
    let mut melody = [Sound::default(); OCTAVES];
    for (sound, wish) in melody.iter_mut().zip(WISHES) {
        *sound = line(0, wish);
    }
    let mut harmony = levels.sound(&stretch.harmony(&part.limits), stretch);
    harmony.height = f64::from(part.limits.comfortable.low.midi());
    PartPowers {
        players: part.players.count(),
        wind: part.instrument.wind,
        family: part.instrument.family,
        melody,
        lines: [1, 2, 3].map(|i| line(i, 0)),
        harmony,
    }
}

/// The power of each note of a part at each dynamic that comes, so that no logarithm is taken twice.
struct Levels {
    low: u8,
    powers: Vec<[f64; Dynamic::ALL.len()]>,
}

impl Levels {
    fn of(part: &Part, dynamics: &BTreeSet<Dynamic>) -> Self {
        let range = part.limits.range;
        let power = |midi: u8, dynamic| {
            let pitch = Sounding::nearest(midi.into());
            // The built-in table reads; a test shows it.
            part_level(part, pitch, dynamic).map_or(0.0, |l| l.power())
        };
        let row = |midi: u8| {
            let of = |d| {
                if dynamics.contains(&d) {
                    power(midi, d)
                } else {
                    0.0
                }
            };
            Dynamic::ALL.map(of)
        };
        Self {
            low: range.low.midi(),
            powers: (range.low.midi()..=range.high.midi()).map(row).collect(),
        }
    }

    fn power(&self, note: &TimedNote) -> f64 {
        let row = note.pitch.midi().checked_sub(self.low);
        let row = row.and_then(|r| self.powers.get(usize::from(r)));
        row.map_or(0.0, |r| r[note.dynamic.steps()])
    }

    fn sound(&self, notes: &[TimedNote], stretch: &Stretch) -> Sound {
        let (mut energy, mut seconds, mut height) = (0.0, 0.0, 0.0);
        for note in notes {
            let long = (note.to - note.from).max(0.0);
            seconds += long;
            energy += long * self.power(note);
            height += long * f64::from(note.pitch.midi());
        }
        if seconds <= 0.0 {
            return Sound::default();
        }
        Sound {
            power: energy / seconds,
            share: (seconds / stretch.seconds()).min(1.0),
            height: height / seconds,
        }
    }
}
