//! How much sound each part gives to a passage, in each role.

use super::octave::{CHORDS, PLACES, line_of, place};
use super::stretch::Stretch;
use crate::band::load::TimedNote;
use crate::band::loudness::{Decibels, part_level};
use crate::band::playing::{ceiling, level_dynamics};
use crate::band::{Band, Family, Level, Part};
use crate::music::{Dynamic, Sounding};
use crate::plan::solve::{PartRole, Setting};
use std::collections::{BTreeMap, BTreeSet};

/// What a part gives in one role.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Sound {
    /// Sound power towards the audience while it plays (1 at 0 dB, as [`Decibels::power`] has it);
    /// 0 for what is left out of balance.
    pub power: f64,
    /// The share of the passage's time in which it plays, 0 to 1.
    pub share: f64,
    /// How high it lies: the mean of its notes, semitones (60 is middle C). Of chords, the lowest note at which
    /// the part is at ease.
    pub height: f64,
    /// The share of its time in which it lies over what is usual for the rank of the part and its weakest
    /// players ([`ceiling`]), 0 to 1: a third part is no place for the highest notes.
    pub over_usual: f64,
}

/// A part in a passage.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct PartPowers {
    pub players: u32,
    pub wind: bool,
    pub family: Family,
    sounds: [Sound; PLACES],
    /// A note that stands for each role: its pitch and dynamic.
    middles: [Option<(Sounding, Dynamic)>; PLACES],
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
        let levels = parts.map(|p| Levels::of(p, &dynamics, setting.reliable));
        let levels: Vec<Levels> = levels.collect();
        let of = |s| Self::of(setting.band, s, &levels);
        stretches.iter().map(of).collect()
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
        let of = self.parts.get(part).zip(place(role));
        of.map_or_else(Sound::default, |(of, place)| of.sounds[place])
    }

    /// A note that stands for what a part plays in a role; `None` where it rests.
    pub(super) fn middle(&self, part: usize, role: PartRole) -> Option<(Sounding, Dynamic)> {
        self.parts.get(part)?.middles[place(role)?]
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
    let notes = |place: usize| match place {
        CHORDS => stretch.harmony(&part.limits),
        _ => {
            let (line, wish) = line_of(place);
            stretch.line(line, &part.limits, wish).notes
        }
    };
    let all: [Vec<TimedNote>; PLACES] = std::array::from_fn(notes);
    let mut sounds: [Sound; PLACES] = std::array::from_fn(|i| levels.sound(&all[i], stretch));
    let middles = std::array::from_fn(|i| middle(&all[i], &sounds[i]));
    sounds[CHORDS].height = f64::from(part.limits.comfortable.low.midi());
    PartPowers {
        players: part.players.count(),
        wind: part.instrument.wind,
        family: part.instrument.family,
        sounds,
        middles,
    }
}

/// A note at the mean height and the usual dynamic of what a part plays.
fn middle(notes: &[TimedNote], sound: &Sound) -> Option<(Sounding, Dynamic)> {
    let mut times: BTreeMap<Dynamic, f64> = BTreeMap::new();
    for note in notes {
        *times.entry(note.dynamic).or_default() += note.to - note.from;
    }
    let (dynamic, _) = times.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((Sounding::nearest(sound.height.round() as i32), dynamic))
}

/// The highest note that is usual on a part for its weakest players.
fn usual_top(part: &Part) -> u8 {
    let level = part.players.weakest().unwrap_or(Level::Intermediate);
    let top = ceiling(&part.instrument, level, part.rank);
    let sounding = part.instrument.transposition.sounding(top);
    sounding.map_or(u8::MAX, Sounding::midi)
}

/// The power of each note of a part at each dynamic that comes, so that no logarithm is taken twice.
struct Levels {
    low: u8,
    ceiling: u8,
    powers: Vec<[f64; Dynamic::ALL.len()]>,
}

impl Levels {
    fn of(part: &Part, dynamics: &BTreeSet<Dynamic>, reliable: bool) -> Self {
        let range = part.limits.range;
        let level = part.players.weakest().unwrap_or(Level::Intermediate);
        // The built-in table reads; a test shows it.
        let within = level_dynamics(level).ok().filter(|_| reliable);
        let power = |midi: u8, dynamic: Dynamic| {
            let dynamic = within.map_or(dynamic, |l| dynamic.clamp(l.reliable.0, l.reliable.1));
            let pitch = Sounding::nearest(midi.into());
            // The built-in table reads; a test shows it.
            part_level(part, pitch, dynamic).map_or(0.0, Decibels::power)
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
            ceiling: usual_top(part),
            powers: (range.low.midi()..=range.high.midi()).map(row).collect(),
        }
    }

    fn power(&self, note: &TimedNote) -> f64 {
        let row = note.pitch.midi().checked_sub(self.low);
        let row = row.and_then(|r| self.powers.get(usize::from(r)));
        row.map_or(0.0, |r| r[note.dynamic.steps()])
    }

    fn sound(&self, notes: &[TimedNote], stretch: &Stretch) -> Sound {
        let (mut energy, mut seconds, mut height, mut over) = (0.0, 0.0, 0.0, 0.0);
        for note in notes {
            let long = (note.to - note.from).max(0.0);
            seconds += long;
            energy += long * self.power(note);
            height += long * f64::from(note.pitch.midi());
            if note.pitch.midi() > self.ceiling {
                over += long;
            }
        }
        if seconds <= 0.0 {
            return Sound::default();
        }
        Sound {
            power: energy / seconds,
            share: (seconds / stretch.seconds()).min(1.0),
            height: height / seconds,
            over_usual: over / seconds,
        }
    }
}
