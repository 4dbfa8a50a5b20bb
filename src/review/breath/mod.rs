//! Where players breathe: places proposed for every wind part, long notes shared out by staggered breathing, and
//! notes that nobody can hold.
//!
//! How long a breath lasts is `presets/playing/breath.toml`: seconds by level, less when loud and in the low third,
//! less on the march. A breath is one unit of **air**; a note uses its seconds over what may be planned for the
//! weakest players at its dynamic, so that a stretch may be planned while its air is at most 1. One note by itself
//! may take all that they have (the longest breath) where a breath goes before and after it.

mod air;
mod findings;
mod path;
mod places;
mod stagger;

pub use air::Held;
pub use findings::breath_findings;
pub use path::least;
pub use places::{Place, cost};

use crate::band::playing::Posture;
use crate::band::{Band, PartId};
use crate::music::{MeterMap, TempoMap, Tick};
use crate::score::PartLine;
use air::{Lungs, runs};
use std::ops::Range;

/// What a draft is breathed by.
#[derive(Clone, Copy, Debug)]
pub struct BreathFrame<'a> {
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Where phrases begin, in order; empty where none are known.
    pub phrases: &'a [Tick],
    /// Seated or marching.
    pub posture: Posture,
}

/// What kind of a breath it is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum BreathKind {
    /// All players, between two notes.
    Between(Place),
    /// All players, in the middle of a note that nobody can hold.
    Inside,
    /// Some players, while others hold the note: the group, from 1, and how many groups there are.
    Staggered(u8, u8),
}

impl BreathKind {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Between(place) => place.word(),
            Self::Inside => "inside",
            Self::Staggered(..) => "staggered",
        }
    }
}

/// A place to breathe.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Breath {
    /// Who.
    pub part: PartId,
    /// Where: the onset of the note after it, or a place in a note.
    pub at: Tick,
    /// What kind.
    pub kind: BreathKind,
}

/// A note that is held by players who breathe in turns.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stagger {
    /// The part.
    pub part: PartId,
    /// Where the note begins.
    pub from: Tick,
    /// Where it ends.
    pub to: Tick,
    /// Other parts that hold it too and breathe in turns with it; empty where the part's own players do.
    pub with: Vec<PartId>,
    /// Who breathes when, in words.
    pub says: String,
}

/// A note that lasts longer than the longest breath of the one who plays it, and that nobody else holds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TooLong {
    /// The part.
    pub part: PartId,
    /// Where it begins.
    pub from: Tick,
    /// Where it ends.
    pub to: Tick,
    /// How long it lasts.
    pub seconds: f64,
    /// The longest breath at its dynamic.
    pub longest: f64,
    /// Where at the latest it would have to end.
    pub until: Tick,
}

/// How a draft is breathed.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Breathing {
    /// The breaths, by part, then place.
    pub breaths: Vec<Breath>,
    /// Notes held by players who breathe in turns.
    pub staggered: Vec<Stagger>,
    /// Notes that nobody can hold.
    pub too_long: Vec<TooLong>,
}

/// Proposes where every wind part breathes. Rests are no breaths here: only where notes follow one another for
/// longer than a breath is anything proposed.
#[must_use]
pub fn breathing(band: &Band, lines: &[PartLine], frame: &BreathFrame<'_>) -> Breathing {
    let mut found = Breathing::default();
    let lungs: Vec<(PartId, Lungs)> = lines
        .iter()
        .filter_map(|l| {
            let part = band.parts.get(l.part.0)?;
            Some((l.part, Lungs::of(part, &l.notes, frame)?))
        })
        .collect();
    for (part, of) in &lungs {
        let mut one = OnePart {
            band,
            part: *part,
            lungs: of,
            all: &lungs,
            frame,
            found: &mut found,
        };
        for run in runs(&of.held) {
            one.run(run);
        }
    }
    found.breaths.sort();
    found
}

struct OnePart<'a> {
    band: &'a Band,
    part: PartId,
    lungs: &'a Lungs,
    all: &'a [(PartId, Lungs)],
    frame: &'a BreathFrame<'a>,
    found: &'a mut Breathing,
}

impl OnePart<'_> {
    /// Breathes one run of notes. A note of more than may be planned has a breath before and after it.
    fn run(&mut self, run: Range<usize>) {
        let held = &self.lungs.held;
        let air: f64 = held[run.clone()].iter().map(Held::air).sum();
        if air <= 1.0 {
            return;
        }
        let mut from = run.start;
        for at in run.clone() {
            if held[at].air() <= 1.0 {
                continue;
            }
            self.stretch(from..at);
            self.long(at);
            for edge in [at, at + 1] {
                if run.start < edge && edge < run.end {
                    self.between(edge);
                }
            }
            from = at + 1;
        }
        self.stretch(from..run.end);
    }

    fn between(&mut self, before: usize) {
        let held = &self.lungs.held;
        let (place, _) = cost(&held[before - 1], &held[before], self.frame);
        self.add(held[before].onset, BreathKind::Between(place));
    }

    fn add(&mut self, at: Tick, kind: BreathKind) {
        let part = self.part;
        let breath = Breath { part, at, kind };
        // Two long notes that follow one another share the breath between them.
        if self.found.breaths.last() != Some(&breath) {
            self.found.breaths.push(breath);
        }
    }

    /// Notes of which none takes more than may be planned.
    fn stretch(&mut self, range: Range<usize>) {
        let held = &self.lungs.held[range];
        let air: Vec<f64> = held.iter().map(Held::air).collect();
        if air.iter().sum::<f64>() <= 1.0 {
            return;
        }
        let ways: Vec<(Place, u32)> = held
            .windows(2)
            .map(|two| match two {
                [a, b] => cost(a, b, self.frame),
                _ => (Place::OffBeat, 0),
            })
            .collect();
        let costs: Vec<u32> = ways.iter().map(|w| w.1).collect();
        for before in least(&air, &costs) {
            self.add(held[before].onset, BreathKind::Between(ways[before - 1].0));
        }
    }

    /// A note of more than may be planned: on one long breath where players have it; else in turns, or not at all.
    fn long(&mut self, at: usize) {
        let note = self.lungs.held[at];
        if note.seconds <= note.longest {
            return;
        }
        let players = self.band.part(self.part).players.count();
        let holders = self.holders(&note);
        let turns = if players > 1 {
            let players = u8::try_from(players).unwrap_or(u8::MAX);
            let all = stagger::turns(&note, note.planned, players, self.frame);
            all.into_iter().enumerate().collect()
        } else if holders.len() > 1 {
            self.turn_among(&note, &holders)
        } else {
            Vec::new()
        };
        if !turns.is_empty() {
            let of = u8::try_from(if players > 1 {
                turns.len()
            } else {
                holders.len()
            });
            let of = of.unwrap_or(u8::MAX);
            for (group, ticks) in &turns {
                let group = u8::try_from(group + 1).unwrap_or(u8::MAX);
                for tick in ticks {
                    self.add(*tick, BreathKind::Staggered(group, of));
                }
            }
            let with = holders.into_iter().map(|h| h.0);
            let with = with.filter(|p| players == 1 && *p != self.part).collect();
            self.found.staggered.push(Stagger {
                part: self.part,
                from: note.onset,
                to: note.end,
                says: stagger::in_words(&turns, players, self.frame.meters),
                with,
            });
            return;
        }
        let inside = stagger::on_end(&note, note.planned, self.frame);
        for tick in inside {
            self.add(tick, BreathKind::Inside);
        }
        self.found.too_long.push(TooLong {
            part: self.part,
            from: note.onset,
            to: note.end,
            seconds: note.seconds,
            longest: note.longest,
            until: stagger::latest(&note, note.onset, note.longest, self.frame),
        });
    }

    /// Who plays the same note for the same time, in the band's order, with what may be planned for them.
    fn holders(&self, note: &Held) -> Vec<(PartId, f64)> {
        let same = |of: &Lungs| {
            let at = of.held.partition_point(|h| h.onset < note.onset);
            let other = of.held.get(at)?;
            let alike = (other.onset, other.end, other.pitch) == (note.onset, note.end, note.pitch);
            alike.then_some(other.planned)
        };
        let all = self.all.iter();
        all.filter_map(|(part, of)| Some((*part, same(of)?)))
            .collect()
    }

    /// This part's turn among those who hold the same note, by the shortest breath of them all.
    fn turn_among(&self, note: &Held, holders: &[(PartId, f64)]) -> Vec<(usize, Vec<Tick>)> {
        let planned = holders.iter().map(|h| h.1).fold(f64::INFINITY, f64::min);
        let count = u8::try_from(holders.len()).unwrap_or(u8::MAX);
        let all = stagger::turns_of(note, planned, count, self.frame);
        let own = holders.iter().position(|h| h.0 == self.part);
        let own = own.and_then(|at| Some((at, all.get(at)?.clone())));
        own.into_iter().filter(|(_, t)| !t.is_empty()).collect()
    }
}
