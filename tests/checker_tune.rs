//! The independent checker's rules for the tune and the bass: octaves, what stays as written, and what
//! was changed. Worked out from the sketch, the rules and the notes, with no code of the solver and
//! none of the reviewer.

use crate::checker::{Case, name};
use bandwright::music::Tick;
use bandwright::score::{Draft, DraftNote, MelodyChange, Role};
use bandwright::sketch::Line;
use std::collections::{BTreeMap, BTreeSet};

/// Everything that breaks a rule for the tune, or the octaves of tune and bass.
pub fn of_tune(case: &Case<'_>, draft: &Draft) -> Vec<String> {
    let mut wrong = octaves(case, draft, Line::Melody, Role::Melody);
    wrong.extend(octaves(case, draft, Line::Bass, Role::Bass));
    wrong.extend(as_written(case, draft));
    wrong.extend(changes(case, draft));
    wrong.extend(strange(case, draft));
    wrong
}

/// Whether a note stands where a change of the tune is listed for its part.
pub fn instead(draft: &Draft, part: usize, note: &DraftNote) -> bool {
    let here = draft
        .melody_changes
        .iter()
        .filter(|c| c.onset == note.onset);
    let mut here = here.flat_map(|c| &c.parts);
    note.role == Role::Melody && here.any(|(p, pitch)| p.0 == part && *pitch == note.pitch)
}

fn bar(case: &Case<'_>, at: Tick) -> u32 {
    case.meters.bar(at).0
}

fn is_as_written(case: &Case<'_>, at: Tick) -> bool {
    let named = &case.tune.as_written.0;
    named.iter().any(|b| b.0 == bar(case, at))
}

fn may_change(case: &Case<'_>, at: Tick) -> bool {
    let named = &case.tune.may_change.0;
    named.iter().any(|b| b.0 == bar(case, at))
        && !is_as_written(case, at)
        && !case.tune.restored.contains(&at)
}

/// A line of the sketch as one player has it, cut where a breath can be taken: at rests of half a
/// quarter and more, and where a phrase begins.
pub fn breaths(case: &Case<'_>, line: Line) -> Vec<Vec<(Tick, i32)>> {
    let mut struck: BTreeMap<Tick, Vec<(i32, Tick)>> = BTreeMap::new();
    for note in case.reading.line(line) {
        let end = Tick(note.onset.0 + note.duration.0);
        let pitch = i32::from(note.pitch.midi());
        struck.entry(note.onset).or_default().push((pitch, end));
    }
    let starts: BTreeSet<Tick> = case.reading.phrases.iter().map(|p| p.start).collect();
    let half = (u64::from(case.meters.quarter().get()) / 2).max(1);
    let mut all: Vec<Vec<(Tick, i32)>> = Vec::new();
    let mut last: Option<(Tick, Tick)> = None;
    for (onset, notes) in struck {
        // Of notes struck together the tune is the highest, the bass the lowest.
        let one = match line {
            Line::Melody => notes.iter().max_by_key(|n| n.0),
            _ => notes.iter().min_by_key(|n| n.0),
        };
        let (pitch, end) = *one.unwrap();
        let goes_on = last.is_some_and(|(before, until)| {
            let rest = onset.0.saturating_sub(until.0.min(onset.0));
            let phrase = starts.range(Tick(before.0 + 1)..=onset).next().is_some();
            rest < half && !phrase
        });
        match all.last_mut().filter(|_| goes_on) {
            Some(breath) => breath.push((onset, pitch)),
            None => all.push(vec![(onset, pitch)]),
        }
        last = Some((onset, end));
    }
    all
}

/// Inside a breath a part has a line in one octave, and in that of its own lock where that has all of
/// the breath in its bars; changed notes are listed elsewhere.
fn octaves(case: &Case<'_>, draft: &Draft, line: Line, role: Role) -> Vec<String> {
    let mut wrong = Vec::new();
    let breaths = breaths(case, line);
    for (i, part) in draft.lines.iter().enumerate() {
        let mut by_onset: BTreeMap<Tick, Vec<&DraftNote>> = BTreeMap::new();
        for note in &part.notes {
            by_onset.entry(note.onset).or_default().push(note);
        }
        let empty = BTreeSet::new();
        let fixed_bars = case.fixed.get(&i).map_or(&empty, |f| &f.bars);
        for breath in &breaths {
            let mut free = BTreeSet::new();
            for (onset, pitch) in breath {
                for note in by_onset.get(onset).into_iter().flatten() {
                    let up = i32::from(note.pitch.midi()) - pitch;
                    if note.role == role && !note.locked && !instead(draft, i, note) {
                        free.insert(up);
                        if up % 12 != 0 {
                            wrong.push(format!("part {i}: {} is not the {role}'s", name(note)));
                        }
                    }
                }
            }
            // Drums are tuned once; what they strike of the bass is where they are.
            if free.len() > 1 && !is_drums(case, i) {
                let at = breath[0].0.0;
                wrong.push(format!(
                    "part {i}: {role} in octaves {free:?} in the breath at {at}"
                ));
            }
            for held in held(case, breath, fixed_bars, &by_onset) {
                if let Some(up) = free.iter().find(|up| !held.contains(up)) {
                    let at = breath[0].0.0;
                    wrong.push(format!(
                        "part {i}: {role} {up} up in the breath at {at}, its lock {held:?}"
                    ));
                }
            }
        }
    }
    wrong
}

fn is_drums(case: &Case<'_>, part: usize) -> bool {
    let part = case.band.parts.get(part);
    part.is_some_and(|p| p.instrument.id == "timpani")
}

/// For each stretch of fixed bars inside a breath: how far up the fixed notes have all of the line.
fn held(
    case: &Case<'_>,
    breath: &[(Tick, i32)],
    bars: &BTreeSet<u32>,
    by_onset: &BTreeMap<Tick, Vec<&DraftNote>>,
) -> Vec<BTreeSet<i32>> {
    let fixed = |at: Tick| bars.contains(&bar(case, at));
    // Bars in a row are one stretch, also where the breath has no note in one of them.
    let same = |a: Tick, b: Tick| {
        (bar(case, a)..=bar(case, b)).all(|n| bars.contains(&n)) && fixed(a) && fixed(b)
    };
    let mut all = Vec::new();
    for stretch in breath.chunk_by(|a, b| same(a.0, b.0)) {
        if !fixed(stretch[0].0) {
            continue;
        }
        let ups = stretch.iter().map(|(onset, pitch)| {
            let own = by_onset.get(onset).into_iter().flatten();
            own.filter(|n| n.locked)
                .map(|n| i32::from(n.pitch.midi()) - pitch)
                .filter(|up| up % 12 == 0 && up.abs() <= 48)
                .collect::<BTreeSet<i32>>()
        });
        let common = ups.reduce(|a, b| a.intersection(&b).copied().collect());
        all.extend(common.filter(|c| !c.is_empty()));
    }
    all
}

/// Where the tune stays as written, free parts have it just so or not at all, and who could have what
/// nobody has is not idle.
fn as_written(case: &Case<'_>, draft: &Draft) -> Vec<String> {
    let mut wrong = Vec::new();
    let tune: BTreeMap<Tick, BTreeSet<u8>> =
        case.reading
            .line(Line::Melody)
            .fold(BTreeMap::new(), |mut all, n| {
                all.entry(n.onset)
                    .or_insert_with(BTreeSet::new)
                    .insert(n.pitch.midi());
                all
            });
    for note in draft.lines.iter().flat_map(|l| &l.notes) {
        let carries = note.role == Role::Melody && !note.locked && is_as_written(case, note.onset);
        let so = tune
            .get(&note.onset)
            .is_some_and(|t| t.contains(&note.pitch.midi()));
        if carries && !so {
            wrong.push(format!("{} does not stay as written", name(note)));
        }
    }
    for breath in breaths(case, Line::Melody) {
        for (onset, pitch) in breath.iter().filter(|n| is_as_written(case, n.0)) {
            let mut all = draft.lines.iter().flat_map(|l| &l.notes);
            if all.any(|n| n.onset == *onset && i32::from(n.pitch.midi()) == *pitch) {
                continue;
            }
            for part in idle(case, draft, &breath, (*onset, *pitch)) {
                wrong.push(format!(
                    "part {part} could play {pitch} at {} as written",
                    onset.0
                ));
            }
        }
    }
    wrong
}

/// Parts that nothing keeps from playing a note of the tune as it is written: no lock near, and no
/// remark but of range.
fn idle(
    case: &Case<'_>,
    draft: &Draft,
    breath: &[(Tick, i32)],
    (onset, pitch): (Tick, i32),
) -> Vec<usize> {
    let parts = case.band.parts.iter().enumerate();
    let could = parts.filter(|(i, part)| {
        let remarks = &part.remarks;
        let plain = remarks.no_leaps_over.is_none()
            && remarks.no_faster_than.is_none()
            && remarks.rests_every.is_none()
            && remarks.accidentals_at_most.is_none()
            && remarks.go_easy.is_none()
            && remarks.exposure != bandwright::band::Exposure::Never
            && part.instrument.id != "timpani";
        // Whoever shares players with another may have to rest.
        let shares = case.band.parts.iter().any(|p| {
            let second = p.remarks.doubles.as_ref();
            second.is_some_and(|s| p.name == part.name || s.id == part.instrument.id)
        });
        let bars = case.fixed.get(i).map(|f| &f.bars);
        let (from, to) = (breath[0].0, breath[breath.len() - 1].0);
        let fixed = bars.is_some_and(|b| (bar(case, from)..=bar(case, to)).any(|n| b.contains(&n)));
        let held = draft.lines[*i]
            .notes
            .iter()
            .any(|n| n.locked && n.onset <= onset && onset < n.end());
        let (low, high) = crate::checker::reach(part);
        plain && !shares && !fixed && !held && (low..=high).contains(&pitch)
    });
    could.map(|(i, _)| i).collect()
}

/// Every listed change is allowed, played as listed, and of a note that nobody has.
fn changes(case: &Case<'_>, draft: &Draft) -> Vec<String> {
    let mut wrong = Vec::new();
    let tune: BTreeSet<(Tick, u8)> = case
        .reading
        .line(Line::Melody)
        .map(|n| (n.onset, n.pitch.midi()))
        .collect();
    let mut known = BTreeSet::new();
    for change in &draft.melody_changes {
        let what = format!(
            "the change of {} at {}",
            change.sketch.midi(),
            change.onset.0
        );
        if !tune.contains(&(change.onset, change.sketch.midi())) {
            wrong.push(format!("{what} is of no note of the tune"));
        }
        if !known.insert((change.onset, change.sketch)) {
            wrong.push(format!("{what} is listed twice"));
        }
        if change.reason.is_empty() {
            wrong.push(format!("{what} has no reason"));
        }
        wrong.extend(
            changed(case, draft, change)
                .into_iter()
                .map(|w| format!("{what} {w}")),
        );
    }
    if !draft
        .melody_changes
        .is_sorted_by_key(|c| (c.onset, c.sketch))
    {
        wrong.push("changes of the tune are out of order".to_owned());
    }
    wrong
}

fn changed(case: &Case<'_>, draft: &Draft, change: &MelodyChange) -> Vec<&'static str> {
    let mut wrong = Vec::new();
    let at = |part: usize| {
        draft.lines[part]
            .notes
            .iter()
            .filter(|n| n.onset == change.onset)
    };
    let carried = (0..draft.lines.len())
        .flat_map(at)
        .any(|n| n.pitch.midi() % 12 == change.sketch.midi() % 12);
    let Some(new) = change.new else {
        if !change.parts.is_empty() || carried {
            wrong.push("is of nothing, but somebody plays it");
        }
        return wrong;
    };
    if !may_change(case, change.onset) {
        wrong.push("is not allowed");
    }
    if new == change.sketch || new.midi().abs_diff(change.sketch.midi()) > 12 {
        wrong.push("is none, or too great");
    }
    if change.parts.is_empty() {
        wrong.push("is played by nobody");
    }
    for (part, pitch) in &change.parts {
        let up = i32::from(pitch.midi()) - i32::from(new.midi());
        if up % 12 != 0 {
            wrong.push("is played otherwise");
        }
        if !at(part.0).any(|n| n.pitch == *pitch && n.role == Role::Melody && !n.locked) {
            wrong.push("is not played");
        }
    }
    let chord = case.reading.chords.iter();
    let mut chord = chord.filter(|c| c.start <= change.onset && change.onset < c.end);
    let in_chord = chord.any(|c| c.chord.tone(new.class()).is_some());
    let keys = case.keys[0].iter().rev();
    let mut keys = keys.filter(|k| k.0 <= change.onset);
    let first = case.keys[0].first();
    let key = keys.next().or(first);
    let in_key = key.is_some_and(|k| k.1.key().has(new.class()));
    if !in_chord && !in_key && new.class() != change.sketch.class() {
        wrong.push("goes out of chord and key");
    }
    wrong
}

/// Notes that free parts play as the tune and that are neither the tune's nor listed.
fn strange(case: &Case<'_>, draft: &Draft) -> Vec<String> {
    let tune: BTreeSet<(Tick, u8)> = case
        .reading
        .line(Line::Melody)
        .map(|n| (n.onset, n.pitch.midi() % 12))
        .collect();
    let mut wrong = Vec::new();
    for (i, line) in draft.lines.iter().enumerate() {
        for note in line
            .notes
            .iter()
            .filter(|n| n.role == Role::Melody && !n.locked)
        {
            let own = tune.contains(&(note.onset, note.pitch.midi() % 12));
            if !own && !instead(draft, i, note) {
                wrong.push(format!(
                    "part {i}: {} is not of the tune, nor listed",
                    name(note)
                ));
            }
        }
    }
    wrong
}
