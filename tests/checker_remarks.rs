//! The independent checker's rules for the director's remarks: worked out from the remarks, the
//! notes, bars, tempos and keys, with no code of the solver and none of the reviewer.

use crate::checker::{Case, name};
use bandwright::band::{Exposure, GoEasy, Level, Part};
use bandwright::music::{BarNumber, Tick};
use bandwright::score::{Draft, DraftNote, Role};
use bandwright::sketch::Line;
use std::collections::{BTreeMap, BTreeSet};

/// Everything that breaks a remark, but where only locked notes do.
pub fn of_remarks(case: &Case<'_>, draft: &Draft) -> Vec<String> {
    let mut wrong = Vec::new();
    for (i, line) in draft.lines.iter().enumerate() {
        let Some(part) = case.band.parts.get(i) else {
            continue;
        };
        let mut of_part = too_fast(case, part, &line.notes);
        of_part.extend(no_rest(case, part, i, &line.notes));
        of_part.extend(hard_key(case, part, &line.notes));
        of_part.extend(alone(case, draft, i));
        wrong.extend(of_part.into_iter().map(|w| format!("{}: {w}", part.name)));
    }
    wrong.extend(two_instruments(case, draft));
    wrong
}

fn level_below(part: &Part) -> Level {
    let weakest = part.players.weakest().unwrap();
    Level::ALL[weakest.index().max(1) - 1]
}

fn too_fast(case: &Case<'_>, part: &Part, notes: &[DraftNote]) -> Vec<String> {
    let mut most = part.remarks.no_faster_than.map_or(f64::INFINITY, |s| s.0);
    if part.remarks.go_easy == Some(GoEasy::Injury) {
        most = most.min(part.instrument.playing.speeds.tongued.0[level_below(part).index()]);
    }
    let mut wrong = Vec::new();
    for pair in notes.windows(2) {
        let time = case.tempo.seconds(pair[1].onset) - case.tempo.seconds(pair[0].onset);
        let together = pair[0].onset == pair[1].onset;
        let fixed = pair[0].locked && pair[1].locked;
        // A millisecond is rounding.
        if !together && !fixed && time + 0.001 < 1.0 / most {
            wrong.push(format!(
                "{} comes {time} s after {}",
                name(&pair[1]),
                name(&pair[0])
            ));
        }
    }
    wrong
}

fn bars_of(case: &Case<'_>, note: &DraftNote) -> std::ops::RangeInclusive<u32> {
    case.meters.bar(note.onset).0..=case.meters.bar(Tick(note.end().0 - 1)).0
}

/// In any so many bars and one more there is one of rest, or the arranger's notes are in all.
fn no_rest(case: &Case<'_>, part: &Part, index: usize, notes: &[DraftNote]) -> Vec<String> {
    let mut most = part.remarks.rests_every.map_or(usize::MAX, usize::from);
    if part.remarks.go_easy == Some(GoEasy::Injury) {
        most = most.min(8);
    }
    let played: BTreeSet<u32> = notes.iter().flat_map(|n| bars_of(case, n)).collect();
    let locked = notes.iter().filter(|n| n.locked);
    let locked: BTreeSet<u32> = locked.flat_map(|n| bars_of(case, n)).collect();
    let given = case.fixed.get(&index).is_some_and(|f| !f.notes.is_empty());
    assert!(
        given || locked.is_empty(),
        "locked notes that nobody locked"
    );
    let mut wrong = Vec::new();
    for from in &played {
        let window = *from..=from.saturating_add(u32::try_from(most).unwrap_or(u32::MAX));
        if most < 10_000
            && window.clone().all(|b| played.contains(&b))
            && !window.clone().all(|b| locked.contains(&b))
        {
            wrong.push(format!("plays on end from bar {from} to {}", window.end()));
        }
    }
    wrong
}

/// Sharps (positive) or flats of a key as the part reads it: two more places sharp for each whole
/// step that it is written above; in the enharmonic key with fewer signs from seven on.
fn signs(part: &Part, concert: i32) -> i32 {
    let semitones = i32::from(
        part.instrument
            .transposition
            .written(part.limits.range.low)
            .0,
    ) - i32::from(part.limits.range.low.midi());
    let mut places = (semitones * 7).rem_euclid(12);
    if places > 6 {
        places -= 12;
    }
    let plain = concert + places;
    if plain.abs() <= 6 {
        return plain;
    }
    [plain, plain - 12, plain + 12]
        .into_iter()
        .min_by_key(|s| s.abs())
        .unwrap()
}

fn hard_key(case: &Case<'_>, part: &Part, notes: &[DraftNote]) -> Vec<String> {
    let Some(most) = part.remarks.accidentals_at_most else {
        return Vec::new();
    };
    let mut wrong = Vec::new();
    for keys in &case.keys {
        for (i, (from, key)) in keys.iter().enumerate() {
            let until = keys.get(i + 1).map_or(u64::MAX, |k| k.0.0);
            let signs = signs(part, i32::from(key.fifths()));
            if signs.abs() <= i32::from(most) {
                continue;
            }
            let inside = |n: &&DraftNote| n.onset.0 < until && n.end().0 > from.0;
            let free = notes.iter().filter(|n| !n.locked).filter(inside);
            wrong.extend(free.map(|n| format!("{} is in a key of {signs} signs", name(n))));
        }
    }
    wrong
}

fn alone(case: &Case<'_>, draft: &Draft, part: usize) -> Vec<String> {
    if case.band.parts[part].remarks.exposure != Exposure::Never {
        return Vec::new();
    }
    let others = || {
        let lines = draft.lines.iter().enumerate().filter(|(i, _)| *i != part);
        lines.flat_map(|(_, l)| &l.notes)
    };
    let struck: BTreeSet<(u64, u8)> = others().map(|n| (n.onset.0, n.pitch.midi() % 12)).collect();
    let tune_and_bass = [Line::Melody, Line::Bass];
    let lines: BTreeSet<(u64, u8)> = tune_and_bass
        .into_iter()
        .flat_map(|l| case.reading.line(l))
        .map(|n| (n.onset.0, n.pitch.midi() % 12))
        .collect();
    // How many others sound, from each tick at which that changes.
    let mut changes: BTreeMap<u64, i32> = BTreeMap::new();
    for note in others() {
        *changes.entry(note.onset.0).or_default() += 1;
        *changes.entry(note.end().0).or_default() -= 1;
    }
    let mut count = 0;
    let sounding: BTreeMap<u64, i32> = changes
        .into_iter()
        .map(|(at, change)| {
            count += change;
            (at, count)
        })
        .collect();
    let mut wrong = Vec::new();
    for note in draft.lines[part].notes.iter().filter(|n| !n.locked) {
        let place = (note.onset.0, note.pitch.midi() % 12);
        let carries = !matches!(note.role, Role::Harmony | Role::Rest) || lines.contains(&place);
        if carries && !struck.contains(&place) {
            wrong.push(format!("{} is a line's, and nobody has it too", name(note)));
        }
        let before = sounding.range(..=note.onset.0).next_back();
        let inside = sounding.range(note.onset.0 + 1..note.end().0);
        if before.is_none_or(|b| *b.1 == 0) || inside.into_iter().any(|i| *i.1 == 0) {
            wrong.push(format!("{} is heard alone", name(note)));
        }
    }
    wrong
}

fn two_instruments(case: &Case<'_>, draft: &Draft) -> Vec<String> {
    let parts = &case.band.parts;
    let bars = |at: Tick| {
        let bar = case.meters.bar(at).0;
        let start = case.meters.bar_start(BarNumber(bar)).0;
        let length = case.meters.bar_start(BarNumber(bar + 1)).0 - start;
        f64::from(bar) + (at.0 - start) as f64 / length as f64
    };
    let mut wrong = Vec::new();
    for (i, part) in parts.iter().enumerate() {
        let Some(second) = &part.remarks.doubles else {
            continue;
        };
        let named: Vec<usize> = (0..parts.len())
            .filter(|j| *j != i && parts[*j].instrument.id == second.id)
            .collect();
        let same = named.iter().find(|j| parts[**j].rank == part.rank);
        let Some(other) = same.or(named.last()) else {
            continue;
        };
        for a in &draft.lines[i].notes {
            for b in draft.lines[*other]
                .notes
                .iter()
                .filter(|b| !(a.locked && b.locked))
            {
                let (first, then) = if a.onset <= b.onset { (a, b) } else { (b, a) };
                let seconds = case.tempo.seconds(then.onset) - case.tempo.seconds(first.end());
                let apart = bars(then.onset) - bars(first.end());
                if first.end() > then.onset || seconds < 7.999 || apart < 1.999 {
                    let (first, then) = (name(first), name(then));
                    wrong.push(format!(
                        "{}: {first} and {then} by the same player",
                        part.name
                    ));
                }
            }
        }
    }
    wrong
}
