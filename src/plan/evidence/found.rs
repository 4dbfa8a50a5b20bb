//! What a locked part does in a passage, found from its notes.

use crate::band::PartId;
use crate::music::{BarNumber, Interval, Sounding, Tick};
use crate::plan::line::LineNote;
use crate::plan::solve::Setting;
use crate::score::{Lock, Passage, Role};
use crate::sketch::Note;
use std::collections::BTreeMap;

/// A part carries a line where what it plays and the line agree to so much (ours; the share of a reviewer
/// who looks for carriers).
const CARRIES: f64 = 0.6;
/// Notes nearer than this share of a quarter are struck together (ours).
const TOGETHER: u64 = 8;
/// A bass lies at most so many octaves above the sketch's.
const HIGHEST_BASS: i16 = 1;

/// What a locked part does in a passage.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Found {
    /// The part.
    pub part: PartId,
    /// Its role; a rest where it is locked and silent.
    pub role: Role,
    /// Octaves above the sketch's line, for the most of its notes; 0 for chords and rests.
    pub octave: i16,
    /// How well its notes agree with that, 0 to 1: of a line, how many of either are the other's (harmonic
    /// mean of the two shares); of chords, the share of its notes that are in the harmony.
    pub agrees: f64,
    /// The share of the passage's time in which the part is locked, over 0 to 1.
    pub share: f64,
    /// The first and last locked bar in it.
    pub bars: (BarNumber, BarNumber),
}

/// What the locked parts do in a passage, in the band's order.
pub(super) fn found(setting: &Setting<'_>, passage: &Passage) -> Vec<Found> {
    let locks = setting.locks.0.iter();
    let parts = setting.band.parts.len();
    let known = locks.filter(|l| l.part.0 < parts);
    let mut found: Vec<Found> = known.filter_map(|l| part(setting, passage, l)).collect();
    found.sort_by_key(|f| f.part);
    found
}

fn part(setting: &Setting<'_>, passage: &Passage, lock: &Lock) -> Option<Found> {
    let spans = spans(setting, passage, lock);
    let locked: u64 = spans.iter().map(|(s, e)| e.since(*s).0).sum();
    let (first, last) = spans.first().zip(spans.last())?;
    let bar = |at: Tick| setting.meters.bar(at);
    let within = |at: Tick| spans.iter().any(|(s, e)| *s <= at && at < *e);
    let struck: Vec<Note> = lock
        .notes
        .iter()
        .filter(|n| within(n.onset))
        .copied()
        .collect();
    let (role, octave, agrees) = if struck.is_empty() {
        let sounds = |n: &&Note| spans.iter().any(|(s, e)| n.onset < *e && *s < n.end());
        if lock.notes.iter().any(|n| sounds(&n)) {
            return None; // a note held over tells nothing
        }
        (Role::Rest, 0, 1.0)
    } else {
        does(setting, &struck, &within)
    };
    Some(Found {
        part: lock.part,
        role,
        octave,
        agrees,
        share: locked as f64 / passage.end.since(passage.start).0.max(1) as f64,
        bars: (bar(first.0), bar(Tick(last.1.0.saturating_sub(1)))),
    })
}

/// The locked stretches of a passage.
fn spans(setting: &Setting<'_>, passage: &Passage, lock: &Lock) -> Vec<(Tick, Tick)> {
    let meters = setting.meters;
    let first = meters.bar(passage.start);
    let last = meters.bar(Tick(passage.end.0.saturating_sub(1)));
    if first > last {
        return Vec::new();
    }
    let bars = lock.bars.0.range(first..=last);
    let cut = bars.map(|b| {
        let (start, end) = (meters.bar_start(*b), meters.bar_end(*b));
        (start.max(passage.start), end.min(passage.end))
    });
    cut.filter(|(s, e)| s < e).collect()
}

/// The role, octave and agreement of some notes.
fn does(setting: &Setting<'_>, struck: &[Note], within: &dyn Fn(Tick) -> bool) -> (Role, i16, f64) {
    let mut best: Option<(Role, i16, f64)> = None;
    for role in [Role::Melody, Role::Counterline, Role::Bass, Role::Figure] {
        let line = setting.lines.of_role(role);
        let Some(line) = line.filter(|l| !l.notes.is_empty()) else {
            continue;
        };
        let notes = line.notes.iter().filter(|n| within(n.onset));
        let notes: Vec<LineNote> = notes.copied().collect();
        let near = u64::from(setting.tempo.quarter().get()) / TOGETHER;
        let (octave, agrees) = agreement(struck, &notes, near, role);
        let fits = agrees >= CARRIES && (role != Role::Bass || octave <= HIGHEST_BASS);
        // Of equals the line that is heard first.
        if fits && best.is_none_or(|(_, _, b)| agrees > b) {
            best = Some((role, octave, agrees));
        }
    }
    best.unwrap_or_else(|| (Role::Harmony, 0, in_harmony(setting, struck)))
}

/// How well notes agree with a line, and in which octave most of them lie.
fn agreement(struck: &[Note], line: &[LineNote], near: u64, role: Role) -> (i16, f64) {
    let attacks = attacks(struck, role);
    let mut octaves: BTreeMap<i16, usize> = BTreeMap::new();
    let (mut met, mut from) = (0_usize, 0);
    for (at, pitch) in &attacks {
        from += line[from..].partition_point(|l| l.onset.0 + near < at.0);
        let close = line[from..].iter().take_while(|l| l.onset.0 <= at.0 + near);
        let same = |l: &&LineNote| l.pitch.class() == pitch.class();
        let mut close = close.filter(same);
        if let Some(note) = close.next() {
            met += 1;
            let Interval(up) = note.pitch.to(*pitch);
            *octaves.entry(up.div_euclid(12)).or_default() += 1;
        }
    }
    let share = |of: usize| met as f64 / of.max(1) as f64;
    // A quick note may meet the same one twice; no more is shared than the line has.
    let (own, lines) = (share(attacks.len()), share(line.len()).min(1.0));
    let agrees = if met == 0 {
        0.0
    } else {
        2.0 * own * lines / (own + lines)
    };
    // Of equals the octave nearest to the sketch's, then the lower.
    let most = octaves
        .into_iter()
        .min_by_key(|(octave, count)| (usize::MAX - count, octave.unsigned_abs(), *octave));
    (most.map_or(0, |(octave, _)| octave), agrees)
}

/// The note of each attack that stands for it: the lowest in the bass, else the highest.
fn attacks(struck: &[Note], role: Role) -> Vec<(Tick, Sounding)> {
    let mut attacks: BTreeMap<Tick, Sounding> = BTreeMap::new();
    for note in struck {
        let kept = attacks.entry(note.onset).or_insert(note.pitch);
        *kept = match role {
            Role::Bass => note.pitch.min(*kept),
            _ => note.pitch.max(*kept),
        };
    }
    attacks.into_iter().collect()
}

/// The share of notes that are in what the sketch sounds.
fn in_harmony(setting: &Setting<'_>, struck: &[Note]) -> f64 {
    let inside = |n: &&Note| {
        let slice = setting.reading.slice(n.onset);
        slice.is_some_and(|s| s.classes.contains(n.pitch.class()))
    };
    struck.iter().filter(inside).count() as f64 / struck.len().max(1) as f64
}
