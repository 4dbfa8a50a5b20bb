//! Remedies: an edit that is offered mends its finding, as the review sees it.

use super::{Table, demo, drafted, id, small_song};
use bandwright::band::load::Conditions;
use bandwright::band::playing::Posture;
use bandwright::band::{Band, PartId, read_band};
use bandwright::music::{BarNumber, KeySignature, Sounding, Tick, Ticks};
use bandwright::project::work::{
    Cure, Mend, Remedy, Selection, apply, lock, mends, proposals, remedies, sketch_line_into,
};
use bandwright::review::{
    BreathFrame, Finding, LoadSheet, Severity, Sheet, Stretch, TuneSheet, breath_findings,
    breathing, check_against_sketch, check_carried_alone, check_limits, check_notes, check_tune,
    load_findings, presence_findings, presences, silent_parts, strains,
};
use bandwright::score::{BarSet, Draft, MelodyChange, Role, TuneRules};
use bandwright::sketch::Line;

/// All findings of a draft, as the whole way makes them.
fn review(table: &Table, rules: &TuneRules, draft: &Draft) -> Vec<Finding> {
    let (band, lines) = (&table.band, &draft.lines);
    let (meters, tempo) = (&table.song.meters, &table.song.tempo);
    let keys: Vec<(Tick, KeySignature)> = table
        .reading
        .keys
        .iter()
        .map(|k| (k.start, k.signature))
        .collect();
    let sheet = Sheet {
        band,
        lines,
        meters,
        tempo,
        keys: &[&keys],
    };
    let tune = TuneSheet {
        reading: &table.reading,
        meters,
        rules,
        changes: &draft.melody_changes,
    };
    let stretches: Vec<Stretch> = table.passages.iter().map(Stretch::from).collect();
    let worked = strains(band, lines, tempo, meters, Conditions::default());
    [
        check_limits(&sheet),
        check_carried_alone(band, lines, &table.reading, meters),
        silent_parts(band, lines, meters).into_iter().collect(),
        check_notes(&sheet),
        check_against_sketch(band, lines, &tune),
        check_tune(band, lines, &tune),
        presence_findings(band, lines, &presences(band, lines, &stretches), meters),
        load_findings(
            &LoadSheet {
                band,
                lines,
                tempo,
                meters,
                conditions: Conditions::default(),
                stretches: &stretches,
            },
            &worked,
        ),
    ]
    .concat()
    .into_iter()
    .chain(breath_findings(
        band,
        lines,
        &breathing(
            band,
            lines,
            &BreathFrame {
                tempo,
                meters,
                phrases: &[],
                posture: Posture::Marching,
            },
        ),
        meters,
    ))
    .collect()
}

/// The edits that are offered for the first finding of a kind, each shown to mend it: nothing of the kind is
/// left for its part at its place.
fn mended(table: &Table, rules: &TuneRules, kind: &str) -> Vec<(Remedy, Table)> {
    let before = review(table, rules, &table.draft);
    let Some(finding) = before.iter().find(|f| f.kind == kind) else {
        panic!("no {kind} among {before:#?}");
    };
    let desk = table.desk();
    let all = remedies(&desk, finding, &|draft| review(table, rules, draft));
    let mut edits = Vec::new();
    for remedy in all {
        assert!(!remedy.label.is_empty());
        match &remedy.what {
            Cure::Solve(scope) => assert!(!scope.is_empty()),
            Cure::OtherWays(bars) => assert!(bars.0 <= bars.1),
            Cure::Edit(_) => {
                let done = apply(&desk, &remedy).unwrap().unwrap();
                let after = review(table, rules, &done.draft);
                let same = |f: &&Finding| {
                    (f.kind, &f.part, f.at) == (finding.kind, &finding.part, finding.at)
                };
                assert!(!after.iter().any(|f| same(&f)), "{remedy:?}: {after:#?}");
                edits.push((remedy, table.after(&done)));
            }
        }
    }
    edits
}

fn labels(edits: &[(Remedy, Table)]) -> Vec<&str> {
    edits.iter().map(|(r, _)| r.label.as_str()).collect()
}

/// Flute, clarinet, trumpet, trombone and tuba; some of them with lines of their own in the roster.
fn five(more: &[(&str, &str)]) -> Band {
    let part = |(name, id): (&str, &str)| {
        let own = more.iter().find(|(n, _)| *n == name).map_or("", |m| m.1);
        let players = if own.contains("players") {
            ""
        } else {
            "players = { intermediate = 3 }\n"
        };
        format!("[[part]]\nname = \"{name}\"\ninstrument = \"{id}\"\n{players}{own}\n")
    };
    let parts: String = [
        ("Flute", "flute"),
        ("Clarinet", "clarinet_bb"),
        ("Trumpet", "trumpet"),
        ("Trombone", "trombone"),
        ("Tuba", "tuba"),
    ]
    .map(part)
    .concat();
    read_band(&format!("name = \"Five\"\n{parts}")).unwrap()
}

fn table(more: &[(&str, &str)]) -> Table {
    Table::bare(small_song(), five(more))
}

/// The same with the tune in one part and the bass in the tuba, so that nothing is lost where another
/// part rests.
fn carried_by(tune: usize, more: &[(&str, &str)]) -> Table {
    let mut table = table(more);
    for (part, line) in [(tune, Line::Melody), (4, Line::Bass)] {
        let all = Selection::of(BarNumber(1), BarNumber(8), [PartId(part)]);
        let done = sketch_line_into(&table.desk(), line, &all).unwrap();
        table = table.after(&done);
    }
    table
}

const PLAIN: TuneRules = TuneRules {
    as_written: BarSet(std::collections::BTreeSet::new()),
    may_change: BarSet(std::collections::BTreeSet::new()),
    restored: std::collections::BTreeSet::new(),
};

#[test]
fn what_is_out_of_range_goes_by_octaves() {
    let mut high = table(&[]);
    high.write(2, &[(0, 76, 480), (480, 84, 480), (960, 76, 480)]);
    let reach = high.band.parts[2].limits.range.high.midi();
    assert!((76..84).contains(&reach), "{reach}");
    let edits = mended(&high, &PLAIN, "above_range");
    assert_eq!(
        labels(&edits),
        [
            "drop by an octave: bar 1, from breath to breath",
            "drop by an octave: this note"
        ]
    );
    assert_eq!(
        edits[0].1.plays(2),
        [(0, 64, 480), (480, 72, 480), (960, 64, 480)]
    );
    assert_eq!(
        edits[1].1.plays(2),
        [(0, 76, 480), (480, 72, 480), (960, 76, 480)]
    );
    let mut low = table(&[]);
    low.write(0, &[(0, 48, 480)]);
    let edits = mended(&low, &PLAIN, "below_range");
    assert_eq!(labels(&edits), ["raise by an octave: this note"]);
}

#[test]
fn leaps_and_runs_that_a_remark_forbids() {
    let mut leap = table(&[("Flute", "remarks = { no_leaps_over = 7 }")]);
    leap.write(0, &[(0, 72, 480), (480, 84, 480), (960, 76, 480)]);
    let edits = mended(&leap, &PLAIN, "leap");
    assert_eq!(labels(&edits), ["take G5 (concert) instead of C6"]);
    let mut fast = table(&[("Flute", "remarks = { no_faster_than = 2 }")]);
    fast.write(0, &[(0, 72, 240), (240, 76, 240), (480, 79, 480)]);
    let edits = mended(&fast, &PLAIN, "too_fast");
    assert_eq!(
        labels(&edits),
        ["hold the note before over this one", "leave this note out"]
    );
    assert_eq!(edits[0].1.plays(0), [(0, 72, 480), (480, 79, 480)]);
}

#[test]
fn one_note_at_a_time() {
    let mut held = table(&[]);
    held.write(0, &[(0, 72, 960), (480, 76, 480)]);
    let edits = mended(&held, &PLAIN, "two_notes");
    assert_eq!(
        labels(&edits),
        ["end the note before where this one begins"]
    );
    assert_eq!(edits[0].1.plays(0), [(0, 72, 480), (480, 76, 480)]);
    let mut struck = carried_by(1, &[]);
    struck.write(0, &[(0, 72, 960), (0, 76, 480)]);
    let edits = mended(&struck, &PLAIN, "two_notes");
    assert_eq!(labels(&edits), ["keep the highest note"]);
    assert_eq!(edits[0].1.plays(0), [(0, 76, 480)]);
}

#[test]
fn rests_that_are_due() {
    let mut end = carried_by(1, &[("Flute", "remarks = { rests_every = 2 }")]);
    let bars: Vec<(u64, u8, u64)> = (0..7).map(|b| (1920 * b, 72, 1920)).collect();
    end.write(0, &bars);
    let edits = mended(&end, &PLAIN, "no_rest");
    assert_eq!(labels(&edits), ["rest in 2 bars that only fill the chord"]);
    let played: Vec<u64> = edits[0].1.plays(0).iter().map(|n| n.0 / 1920 + 1).collect();
    assert_eq!(played, [1, 2, 4, 5, 7]);
    // A bar with the tune does not rest; a note held into a bar of rest ends before it.
    let mut tune = end.clone();
    tune.draft.lines[0].notes[2].role = Role::Melody;
    tune.draft.lines[0].notes[0].duration = Ticks(2400);
    tune.draft.lines[0].notes.remove(1);
    let edits = mended(&tune, &PLAIN, "no_rest");
    let (_, after) = &edits[0];
    assert_eq!(after.plays(0)[0], (0, 72, 1920));
    assert!(after.plays(0).contains(&(2 * 1920, 72, 1920)));
    // Where everything is tune there is nothing but to solve.
    let mut all = end.clone();
    all.draft.lines[0]
        .notes
        .iter_mut()
        .for_each(|n| n.role = Role::Melody);
    assert!(mended(&all, &PLAIN, "no_rest").is_empty());
}

#[test]
fn keys_and_second_instruments() {
    let mut key = carried_by(0, &[("Clarinet", "remarks = { accidentals_at_most = 1 }")]);
    key.write(1, &[(0, 60, 480), (1920, 64, 480), (3840, 67, 480)]);
    let edits = mended(&key, &PLAIN, "hard_key");
    assert!(
        edits[0].0.label.starts_with("rest in bar"),
        "{:?}",
        labels(&edits)
    );
    let mut both = carried_by(2, &[("Flute", "remarks = { doubles = \"clarinet_bb\" }")]);
    both.write(0, &[(0, 72, 480)]);
    both.write(1, &[(1920, 60, 480)]);
    let edits = mended(&both, &PLAIN, "two_instruments");
    assert_eq!(labels(&edits), ["leave this note out"]);
    assert_eq!(edits[0].1.plays(1), []);
}

#[test]
fn tones_that_the_sketch_has_not() {
    let mut foreign = table(&[]);
    foreign.write(0, &[(0, 73, 960)]);
    let edits = mended(&foreign, &PLAIN, "foreign_tone");
    assert_eq!(
        labels(&edits),
        ["take C5 (concert) instead of Db5"]
            .map(|l| l.replace("Db5", &Sounding::new(73).unwrap().to_string()))
    );
    // D is the tune's second note, and ends with it.
    let mut held = table(&[]);
    held.write(0, &[(480, 74, 960)]);
    let edits = mended(&held, &PLAIN, "foreign_tone");
    assert_eq!(edits[0].0.label, "end the note at bar 1, beat 3");
    assert_eq!(edits[0].1.plays(0), [(480, 74, 480)]);
}

#[test]
fn nobody_is_left_alone() {
    let mut alone = table(&[("Flute", "remarks = { exposed = \"never\" }")]);
    alone.write(0, &[(0, 76, 1920)]);
    let edits = mended(&alone, &PLAIN, "heard_alone");
    let (remedy, after) = &edits[0];
    assert!(remedy.label.starts_with("let ") && remedy.label.ends_with(" play it too"));
    let others: usize = (1..5).map(|p| after.plays(p).len()).sum();
    assert_eq!(others, 1);
    let mut weak = table(&[("Flute", "players = { first_year = 1 }")]);
    weak.write(0, &[(0, 72, 480), (480, 74, 480), (960, 76, 480)]);
    let edits = mended(&weak, &PLAIN, "weak_alone");
    let Cure::Edit(Mend::PlayToo(notes, _)) = &edits[0].0.what else {
        panic!("{:?}", edits[0].0)
    };
    assert_eq!(notes, &[id(0, 0, 72), id(0, 480, 74), id(0, 960, 76)]);
}

#[test]
fn lost_lines_are_given_to_those_who_are_free() {
    let mut lost = table(&[]);
    // The flute is busy all through bar 1.
    lost.write(0, &[(0, 79, 1920)]);
    let edits = mended(&lost, &PLAIN, "melody_lost");
    let Cure::Edit(Mend::Take(taker, notes)) = &edits[0].0.what else {
        panic!("{:?}", edits[0].0)
    };
    assert_ne!(*taker, PartId(0));
    assert_eq!(notes.len(), 4);
    assert_eq!(edits[0].1.draft.lines[taker.0].notes[0].role, Role::Melody);
    let edits = mended(&lost, &PLAIN, "bass_lost");
    let Cure::Edit(Mend::Take(_, notes)) = &edits[0].0.what else {
        panic!("{:?}", edits[0].0)
    };
    assert_eq!((notes.len(), notes[0].role), (1, Role::Bass));
}

#[test]
fn the_tune_is_put_back_as_written() {
    let mut moved = table(&[]);
    moved.write(0, &[(0, 84, 480)]);
    moved.draft.lines[0].notes[0].role = Role::Melody;
    let rules = TuneRules {
        as_written: BarSet([BarNumber(1)].into()),
        ..PLAIN
    };
    let edits = mended(&moved, &rules, "tune_moved");
    assert_eq!(labels(&edits), ["play C5 as written"]);
    assert_eq!(edits[0].1.plays(0), [(0, 72, 480)]);
    let mut changed = table(&[]);
    changed.write(0, &[(0, 76, 480)]);
    changed.write(2, &[(0, 64, 480)]);
    let parts = [(0, 76), (2, 64)];
    changed.draft.melody_changes.push(MelodyChange {
        onset: Tick(0),
        sketch: Sounding::new(72).unwrap(),
        new: Sounding::new(76),
        parts: parts
            .map(|(p, n)| (PartId(p), Sounding::new(n).unwrap()))
            .to_vec(),
        reason: "out of reach".to_owned(),
    });
    let edits = mended(&changed, &PLAIN, "melody_changed");
    assert_eq!(labels(&edits), ["put the tune's C5 back"]);
    assert_eq!(edits[0].1.plays(0), [(0, 72, 480)]);
    assert_eq!(edits[0].1.plays(2), [(0, 60, 480)]);
    assert!(edits[0].1.draft.melody_changes.is_empty());
}

/// A flute over brass of a loudness.
fn under_tune(velocity: u8, up: u8) -> Table {
    let mut covered = table(&[]);
    let notes = (0..32).map(|i| drafted((480 * i, up + [60, 62, 64, 65][i as usize % 4], 480)));
    covered.draft.lines[0].notes = notes
        .map(|n| bandwright::score::DraftNote {
            role: Role::Melody,
            ..n
        })
        .collect();
    for (part, pitch) in [(2, 67), (3, 60), (4, 36)] {
        let chords = (0..8).map(|b| drafted((1920 * b, pitch, 1920)));
        covered.draft.lines[part].notes = chords
            .map(|n| bandwright::score::DraftNote { velocity, ..n })
            .collect();
    }
    covered
}

#[test]
fn a_covered_tune_is_uncovered() {
    let is = |f: &Finding| f.kind == "tune_covered";
    let covers = |up: u8, v: u8| {
        let table = under_tune(v, up);
        review(&table, &PLAIN, &table.draft).iter().any(is)
    };
    // A height at which soft brass does not cover it and loud brass does, and the softest that does.
    let between = (0..24).find(|up| !covers(*up, 9) && covers(*up, 121));
    let up = between.unwrap();
    let least = (9..=121).step_by(8).find(|v| covers(up, *v)).unwrap();
    let table = under_tune(least, up);
    let edits = mended(&table, &PLAIN, "tune_covered");
    let softer = |r: &Remedy| matches!(r.what, Cure::Edit(Mend::Softer(_, 1)));
    assert!(edits.iter().any(|(r, _)| softer(r)), "{:?}", labels(&edits));
    // Other ways of scoring are worth a look, whatever else there is.
    let found = review(&table, &PLAIN, &table.draft);
    let all = proposals(&table.desk(), found.iter().find(|f| is(f)).unwrap());
    assert!(
        matches!(all.last().unwrap().what, Cure::OtherWays(_)),
        "{all:?}"
    );
}

/// The least changes that the finding names are offered too, each shown to uncover it.
#[test]
fn the_least_change_is_offered_first() {
    let mut kinds = std::collections::BTreeSet::new();
    for up in [12, 17, 19, 21, 24] {
        for velocity in [57, 73, 89, 105, 121] {
            let table = under_tune(velocity, up);
            let before = review(&table, &PLAIN, &table.draft);
            if !before.iter().any(|f| f.kind == "tune_covered") {
                continue;
            }
            for (remedy, _) in mended(&table, &PLAIN, "tune_covered") {
                kinds.insert(match remedy.what {
                    Cure::Edit(Mend::Softer(..)) => "softer",
                    Cure::Edit(Mend::Louder(..)) => "louder",
                    Cure::Edit(Mend::Octaves(..)) => "octave",
                    Cure::Edit(Mend::PlayToo(..)) => "play too",
                    Cure::Edit(Mend::LeaveOut(..)) => "rest",
                    _ => "other",
                });
            }
        }
    }
    assert!(kinds.contains("softer") && kinds.len() > 1, "{kinds:?}");
    assert!(!kinds.contains("other"), "{kinds:?}");
}

#[test]
fn a_note_longer_than_a_breath_is_ended_or_shared() {
    let mut long = carried_by(0, &[("Trumpet", "players = { first_year = 1 }")]);
    long.write(2, &[(0, 67, 480 * 28)]);
    let edits = mended(&long, &PLAIN, "breath_too_long");
    let ends = |r: &Remedy| matches!(r.what, Cure::Edit(Mend::EndAt(..)));
    assert!(edits.iter().any(|(r, _)| ends(r)), "{:?}", labels(&edits));
}

#[test]
fn what_is_high_for_too_long_goes_down() {
    let mut high = carried_by(0, &[]);
    let reach = high.band.parts[2].limits.range.high.midi();
    let notes: Vec<_> = (0..28).map(|i| (480 * i, reach, 480)).collect();
    high.write(2, &notes);
    let edits = mended(&high, &PLAIN, "too_high_too_long");
    assert_eq!(edits[0].0.label, "drop by an octave: bars 1-7");
    assert!(edits[0].1.plays(2).iter().all(|n| n.1 == reach - 12));
}

#[test]
fn tired_lips_rest_where_they_only_fill() {
    // Two passages of the trumpet without a breath.
    let mut tired = carried_by(0, &[("Trumpet", "players = { first_year = 2 }")]);
    let notes: Vec<_> = (0..8).map(|b| (1920 * b, 67, 1920)).collect();
    tired.write(2, &notes);
    let passages = tired.passages.clone();
    assert!(!passages.is_empty());
    let before = review(&tired, &PLAIN, &tired.draft);
    let kinds: Vec<&str> = before.iter().map(|f| f.kind).collect();
    assert!(kinds.contains(&"not_rested"), "{kinds:?}");
    let edits = mended(&tired, &PLAIN, "not_rested");
    assert!(
        edits[0].0.label.starts_with("rest in bar"),
        "{:?}",
        labels(&edits)
    );
    // Where it carries the tune it does not rest.
    let mut tune = tired.clone();
    tune.draft.lines[2]
        .notes
        .iter_mut()
        .for_each(|n| n.role = Role::Melody);
    // Others, who rest, may take it over.
    let hands = mended(&tune, &PLAIN, "not_rested");
    assert!(!hands.is_empty());
    for (remedy, after) in &hands {
        let Cure::Edit(Mend::HandOver(from, to, _)) = &remedy.what else {
            panic!("{remedy:?}");
        };
        assert_eq!(*from, PartId(2));
        assert!(remedy.label.starts_with("hand bars "), "{}", remedy.label);
        assert!(!after.plays(to.0).is_empty());
        assert!(after.plays(2).len() < tune.plays(2).len());
    }
}

#[test]
fn some_findings_are_for_people() {
    let table = table(&[("Flute", "remarks = { go_easy = \"braces\" }")]);
    let all = review(&table, &PLAIN, &table.draft);
    for kind in ["go_easy", "silent_parts"] {
        let finding = all.iter().find(|f| f.kind == kind).unwrap();
        assert_eq!(proposals(&table.desk(), finding), []);
    }
    let mut unknown = all[0].clone();
    unknown.part = Some("Nobody".to_owned());
    assert_eq!(proposals(&table.desk(), &unknown), []);
}

#[test]
fn what_is_locked_is_not_solved_again() {
    let mut high = table(&[]);
    high.write(2, &[(0, 84, 480)]);
    let solves = |table: &Table| {
        let all = review(table, &PLAIN, &table.draft);
        let finding = all.iter().find(|f| f.kind == "above_range").unwrap();
        let found = proposals(&table.desk(), finding);
        found
            .iter()
            .filter(|r| matches!(r.what, Cure::Solve(_)))
            .count()
    };
    assert_eq!(solves(&high), 1);
    let bar = Selection::of(BarNumber(1), BarNumber(1), [PartId(2)]);
    let locked = high.after(&lock(&high.desk(), &bar).unwrap());
    assert_eq!(solves(&locked), 0);
}

#[test]
fn a_remedy_that_makes_worse_is_none() {
    let finding = |kind, severity, at| Finding {
        severity,
        kind,
        part: None,
        at: Tick(at),
        place: small_song().meters.place(Tick(at)),
        message: String::new(),
        remedy: String::new(),
    };
    let own = finding("a", Severity::Caution, 0);
    let same_later = finding("a", Severity::Caution, 480);
    let loss = finding("b", Severity::Loss, 0);
    let before = [own.clone(), same_later.clone()];
    assert!(mends(&own, &before, std::slice::from_ref(&same_later)));
    assert!(!mends(&own, &before, std::slice::from_ref(&own)));
    assert!(!mends(&own, &before, &[same_later.clone(), loss]));
    assert!(!mends(&own, &before[..1], &[same_later]));
}

#[test]
fn every_finding_of_the_demo_is_asked() {
    let table = demo();
    let all = review(table, &PLAIN, &table.draft);
    let mut kinds = std::collections::BTreeSet::new();
    for finding in &all {
        // One of each kind is tried, all are thought of.
        let _ = proposals(&table.desk(), finding);
        if kinds.insert(finding.kind) {
            let _ = mended(table, &PLAIN, finding.kind);
        }
    }
    assert!(!kinds.is_empty());
}
