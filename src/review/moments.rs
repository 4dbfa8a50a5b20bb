//! What sounds at each moment of a draft, weighed: lines against the rest.

use crate::band::loudness::{Decibels, HeardTone, LISTENED, Tone, covering, heard_over, tone};
use crate::band::{Band, Family, PartId};
use crate::music::{Dynamic, Sounding, Tick};
use crate::score::{DraftNote, PartLine, Role};
use std::collections::{BTreeMap, BTreeSet};

/// Middle C: a tune that lies under it lies low (ours).
const MIDDLE_C: u8 = 60;
/// A partial that nothing covers counts as so far above, dB, when means are taken (ours).
const ALONE: f64 = 60.0;

/// A line against what it must stand out from, summed over the time in which it sounds (in ticks).
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Balance {
    pub time: f64,
    /// Energies.
    pub line: f64,
    pub rest: f64,
    /// Of the rest, what the family brings that carries most of the line at the moment.
    pub rest_of_family: f64,
    /// Time in which it is heard by the bands of the ear.
    pub heard: f64,
    /// Best band, dB by time.
    pub best: f64,
    /// Time in which nothing is above it.
    pub on_top: f64,
    /// Time in which all of it is under middle C.
    pub low: f64,
    line_onsets: BTreeSet<Tick>,
    rest_onsets: BTreeSet<Tick>,
}

impl Balance {
    /// What share of the onsets of line and rest fall together: of the one that has more of its own.
    pub(super) fn same_rhythm(&self) -> f64 {
        let both = self.line_onsets.intersection(&self.rest_onsets).count() as f64;
        let most = self.line_onsets.len().max(self.rest_onsets.len());
        both / most.max(1) as f64
    }
}

/// Tune against all else, counterline against the tune.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Both {
    pub tune: Balance,
    pub counterline: Balance,
}

/// A tone with what is known of it.
struct Known {
    tone: Tone,
    power: f64,
    family: Family,
    pitch: Sounding,
}

/// A note that sounds.
#[derive(Clone, Copy)]
struct Sounds {
    end: Tick,
    onset: Tick,
    role: Role,
    known: usize,
}

/// A walk through a draft, once from beginning to end.
pub(super) struct Sweep {
    /// By onset.
    notes: Vec<Sounds>,
    next: usize,
    sounding: Vec<Sounds>,
    known: Vec<Known>,
    covers: BTreeMap<(usize, usize), [f64; LISTENED]>,
}

impl Sweep {
    pub(super) fn new(band: &Band, lines: &[PartLine]) -> Self {
        let mut sweep = Self {
            notes: Vec::new(),
            next: 0,
            sounding: Vec::new(),
            known: Vec::new(),
            covers: BTreeMap::new(),
        };
        let mut index: BTreeMap<(PartId, Sounding, Dynamic), Option<usize>> = BTreeMap::new();
        for line in lines {
            for note in &line.notes {
                let dynamic = Dynamic::of_velocity(note.velocity);
                let key = (line.part, note.pitch, dynamic);
                let known = *index
                    .entry(key)
                    .or_insert_with(|| sweep.know(band, line.part, note, dynamic));
                sweep.notes.extend(known.map(|known| Sounds {
                    onset: note.onset,
                    end: note.end(),
                    role: note.role,
                    known,
                }));
            }
        }
        sweep.notes.sort_by_key(|n| n.onset);
        sweep
    }

    fn know(&mut self, band: &Band, part: PartId, note: &DraftNote, d: Dynamic) -> Option<usize> {
        let part = band.part(part);
        // The built-in table reads; a test shows it.
        let tone = tone(part, note.pitch, d).ok()??;
        self.known.push(Known {
            power: tone.level.power(),
            tone,
            family: part.instrument.family,
            pitch: note.pitch,
        });
        Some(self.known.len() - 1)
    }

    /// Weighs the moments of a stretch; stretches are taken in order.
    pub(super) fn through(&mut self, start: Tick, end: Tick) -> Both {
        let mut both = Both::default();
        let mut now = start;
        while now < end {
            self.sounding.retain(|n| n.end > now);
            while let Some(note) = self.notes.get(self.next).filter(|n| n.onset <= now) {
                self.sounding.extend((note.end > now).then_some(*note));
                self.next += 1;
            }
            let ends = self.sounding.iter().map(|n| n.end);
            let coming = self.notes.get(self.next).map(|n| n.onset);
            let until = ends.chain(coming).min().unwrap_or(end).min(end);
            self.weigh(now, until, &mut both);
            now = until;
        }
        both
    }

    fn weigh(&mut self, now: Tick, until: Tick, both: &mut Both) {
        let of = |role: Role| -> Vec<Sounds> {
            let some = self.sounding.iter().filter(|n| n.role == role);
            some.copied().collect()
        };
        let (tune, counter) = (of(Role::Melody), of(Role::Counterline));
        let not_tune = self.sounding.iter().filter(|n| n.role != Role::Melody);
        let rest: Vec<Sounds> = not_tune.copied().collect();
        let not_counter = self.sounding.iter().filter(|n| n.role != Role::Counterline);
        let others: Vec<Sounds> = not_counter.copied().collect();
        let time = until.since(now).0 as f64;
        if !tune.is_empty() {
            self.add(&mut both.tune, (now, time), &tune, &rest, &rest);
        }
        if !counter.is_empty() && !tune.is_empty() {
            self.add(&mut both.counterline, (now, time), &counter, &tune, &others);
        }
    }

    /// Adds a moment: a line against what it is held against, heard through all others.
    fn add(
        &mut self,
        sum: &mut Balance,
        (now, time): (Tick, f64),
        line: &[Sounds],
        against: &[Sounds],
        others: &[Sounds],
    ) {
        let power = |some: &[Sounds]| some.iter().map(|n| self.known[n.known].power).sum::<f64>();
        let top = |some: &[Sounds]| some.iter().map(|n| self.known[n.known].pitch).max();
        let family = self.family(line);
        let alike = against
            .iter()
            .filter(|n| self.known[n.known].family == family);
        let alike: Vec<Sounds> = alike.copied().collect();
        sum.time += time;
        sum.line += time * power(line);
        sum.rest += time * power(against);
        sum.rest_of_family += time * power(&alike);
        if top(line) >= top(against) {
            sum.on_top += time;
        }
        if top(line).is_some_and(|p| p.midi() < MIDDLE_C) {
            sum.low += time;
        }
        let struck = |some: &[Sounds]| some.iter().any(|n| n.onset == now);
        if struck(line) {
            sum.line_onsets.insert(now);
        }
        if struck(against) {
            sum.rest_onsets.insert(now);
        }
        let heard: Vec<HeardTone> = line.iter().map(|n| self.heard(n.known, others)).collect();
        let found = crate::band::loudness::of_tones(Decibels(0.0), heard);
        sum.best += time * found.best_band_db.0.clamp(-ALONE, ALONE);
        if found.heard {
            sum.heard += time;
        }
    }

    /// The family that brings most of a line's power.
    fn family(&self, line: &[Sounds]) -> Family {
        let mut powers: BTreeMap<Family, f64> = BTreeMap::new();
        for note in line {
            let known = &self.known[note.known];
            *powers.entry(known.family).or_default() += known.power;
        }
        let most = powers.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
        most.map_or(Family::Woodwind, |(family, _)| family)
    }

    fn heard(&mut self, tone: usize, others: &[Sounds]) -> HeardTone {
        let mut covers = Vec::with_capacity(others.len());
        for other in others {
            let known = &self.known;
            let cover = self
                .covers
                .entry((tone, other.known))
                .or_insert_with(|| covering(&known[tone].tone, &known[other.known].tone));
            covers.push(*cover);
        }
        heard_over(&self.known[tone].tone, covers)
    }
}
