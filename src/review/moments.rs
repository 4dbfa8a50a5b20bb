//! What sounds at each moment of a draft, weighed: lines against the rest.

use super::tones::Tones;
use crate::band::loudness::{Decibels, HeardTone, LISTENED, heard_over, of_tones};
use crate::band::{Family, PartId};
use crate::music::{Dynamic, Tick};
use crate::score::{PartLine, Role};
use std::collections::BTreeMap;

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
    /// How many moments the line, the rest and both are struck in.
    line_onsets: usize,
    rest_onsets: usize,
    both_onsets: usize,
}

impl Balance {
    /// What share of the onsets of line and rest fall together: of the one that has more of its own.
    pub(super) fn same_rhythm(&self) -> f64 {
        let most = self.line_onsets.max(self.rest_onsets);
        self.both_onsets as f64 / most.max(1) as f64
    }
}

/// Tune against all else, counterline against the tune, bass against all else.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Lines {
    pub tune: Balance,
    pub counterline: Balance,
    pub bass: Balance,
}

/// A note that sounds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Sounds {
    pub onset: Tick,
    pub end: Tick,
    pub role: Role,
    pub tone: usize,
}

/// The notes of some lines that can be weighed, by onset.
pub(super) fn sounds(tones: &mut Tones, lines: &[PartLine]) -> Vec<Sounds> {
    let mut all = Vec::with_capacity(lines.iter().map(|l| l.notes.len()).sum());
    for line in lines {
        for note in &line.notes {
            let dynamic = Dynamic::of_velocity(note.velocity);
            let tone = tones.find(line.part, note.pitch, dynamic);
            all.extend(tone.map(|tone| Sounds {
                onset: note.onset,
                end: note.end(),
                role: note.role,
                tone,
            }));
        }
    }
    all.sort_by_key(|n| n.onset);
    all
}

/// A moment in which nothing changes.
#[derive(Clone, Copy)]
pub(super) struct Moment {
    now: Tick,
    time: f64,
}

/// Goes through the moments of a stretch. `notes` are those that sound in it, by onset.
pub(super) fn each_moment(
    notes: &[Sounds],
    (start, end): (Tick, Tick),
    mut seen: impl FnMut(Moment, &[Sounds]),
) {
    let (mut now, mut next) = (start, 0);
    let mut sounding: Vec<Sounds> = Vec::new();
    while now < end {
        sounding.retain(|n| n.end > now);
        while let Some(note) = notes.get(next).filter(|n| n.onset <= now) {
            sounding.extend((note.end > now).then_some(*note));
            next += 1;
        }
        let ends = sounding.iter().map(|n| n.end);
        let coming = notes.get(next).map(|n| n.onset);
        let until = ends.chain(coming).min().unwrap_or(end).min(end);
        let time = until.since(now).0 as f64;
        seen(Moment { now, time }, &sounding);
        now = until;
    }
}

/// Weighs a stretch.
pub(super) fn weighed(tones: &mut Tones, notes: &[Sounds], span: (Tick, Tick)) -> Lines {
    let mut lines = Lines::default();
    let mut split = Split::default();
    each_moment(notes, span, |moment, sounding| {
        split.by(sounding, Role::Melody);
        let tune = std::mem::take(&mut split.line);
        if !tune.is_empty() {
            add(
                tones,
                &mut lines.tune,
                moment,
                (&tune, &split.rest, &split.rest),
            );
        }
        split.by(sounding, Role::Counterline);
        if !split.line.is_empty() && !tune.is_empty() {
            let counter = &mut lines.counterline;
            add(tones, counter, moment, (&split.line, &tune, &split.rest));
        }
        split.by(sounding, Role::Bass);
        if !split.line.is_empty() {
            let of = (&split.line[..], &split.rest[..], &split.rest[..]);
            add(tones, &mut lines.bass, moment, of);
        }
    });
    lines
}

/// What sounds, a line apart from the rest.
#[derive(Default)]
struct Split {
    line: Vec<Sounds>,
    rest: Vec<Sounds>,
}

impl Split {
    fn by(&mut self, sounding: &[Sounds], role: Role) {
        self.line.clear();
        self.rest.clear();
        for note in sounding {
            if note.role == role {
                self.line.push(*note);
            } else {
                self.rest.push(*note);
            }
        }
    }
}

/// Adds a moment: a line against what it is held against, heard through all others.
fn add(
    tones: &mut Tones,
    sum: &mut Balance,
    Moment { now, time }: Moment,
    (line, against, others): (&[Sounds], &[Sounds], &[Sounds]),
) {
    let family = family(tones, line);
    let top = |some: &[Sounds]| some.iter().map(|n| tones.get(n.tone).pitch).max();
    let struck = |some: &[Sounds]| some.iter().any(|n| n.onset == now);
    sum.time += time;
    for note in line {
        sum.line += time * tones.get(note.tone).power;
    }
    for note in against {
        let known = tones.get(note.tone);
        sum.rest += time * known.power;
        if known.family == family {
            sum.rest_of_family += time * known.power;
        }
    }
    if top(line) >= top(against) {
        sum.on_top += time;
    }
    if top(line).is_some_and(|p| p.midi() < MIDDLE_C) {
        sum.low += time;
    }
    let (of_line, of_rest) = (struck(line), struck(against));
    sum.line_onsets += usize::from(of_line);
    sum.rest_onsets += usize::from(of_rest);
    sum.both_onsets += usize::from(of_line && of_rest);
    let heard: Vec<HeardTone> = line.iter().map(|n| heard(tones, n.tone, others)).collect();
    let found = of_tones(Decibels(0.0), heard);
    sum.best += time * found.best_band_db.0.clamp(-ALONE, ALONE);
    if found.heard {
        sum.heard += time;
    }
}

/// The family that brings most of a line's power.
fn family(tones: &Tones, line: &[Sounds]) -> Family {
    let mut powers: BTreeMap<Family, f64> = BTreeMap::new();
    for note in line {
        let known = tones.get(note.tone);
        *powers.entry(known.family).or_default() += known.power;
    }
    let most = powers.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
    most.map_or(Family::Woodwind, |(family, _)| family)
}

fn heard(tones: &mut Tones, tone: usize, others: &[Sounds]) -> HeardTone {
    let mut sum = [0.0; LISTENED];
    for other in others {
        let cover = tones.cover(tone, other.tone);
        for (s, c) in sum.iter_mut().zip(cover) {
            *s += c;
        }
    }
    heard_over(&tones.get(tone).tone, [sum])
}

/// What part of the covering each part does, 0 to 1, all together 1: the mean over the time of a line, its
/// tones, and the six bands in which each of them is listened for. None where nothing else sounds.
pub(super) fn covered_by(
    tones: &mut Tones,
    notes: &[Sounds],
    span: (Tick, Tick),
    role: Role,
) -> BTreeMap<PartId, f64> {
    let mut shares: BTreeMap<PartId, f64> = BTreeMap::new();
    let mut split = Split::default();
    each_moment(notes, span, |Moment { time, .. }, sounding| {
        split.by(sounding, role);
        for note in &split.line {
            let covers = split.rest.iter();
            let covers: Vec<[f64; LISTENED]> =
                covers.map(|o| tones.cover(note.tone, o.tone)).collect();
            let mut sum = [0.0; LISTENED];
            for cover in &covers {
                for (s, c) in sum.iter_mut().zip(cover) {
                    *s += c;
                }
            }
            for (other, cover) in split.rest.iter().zip(&covers) {
                let bands = cover.iter().zip(&sum).filter(|(_, s)| **s > 0.0);
                let share: f64 = bands.map(|(c, s)| c / s).sum();
                *shares.entry(tones.get(other.tone).part).or_default() += time * share;
            }
        }
    });
    let whole: f64 = shares.values().sum();
    if whole > 0.0 {
        shares.values_mut().for_each(|s| *s /= whole);
    }
    shares
}
