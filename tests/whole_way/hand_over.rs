//! Hand-overs are the cheapest: held against every way to hand over a few notes, with the cost counted
//! anew from the terms.

use super::strategies::band;
use crate::midi_file::{File, Lane, tone};
use bandwright::band::{Band, PartId, read_band};
use bandwright::music::{Interval, Sounding};
use bandwright::plan::fit::{ChanceCosts, OCTAVES};
use bandwright::plan::line::{LineNote, OneLine};
use bandwright::project::made_ready::{MadeReady, Settled};
use bandwright::score::{Locks, Role, TuneRules};
use bandwright::sketch::ReadOptions;
use bandwright::voicing::Weights;
use bandwright::voicing::hand_over::{Asked, Asking, Taken};
use bandwright::voicing::line_terms as terms;
use bandwright::voicing::part_notes::PartNotes;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Who takes a note, in which octave.
type State = Option<(PartId, i16)>;

/// The cost of a part's note by itself, if it can play it.
fn note_cost(asking: &Asking<'_>, note: usize, (part, octave): (PartId, i16)) -> Option<i64> {
    let (line, asked) = (&asking.line.notes[note], asking.asked[note]);
    let more = asking.pool.iter().find(|p| p.0 == part)?.1;
    let pitch = line.pitch.up(Interval::octaves(octave))?;
    let clean = asking.costs[part.0].cost(pitch, &line.moment, None)?;
    if asked.carrier == Some(part.0) || asking.has[part.0].is_shut(line.onset) {
        return None;
    }
    let away = i64::from(octave.unsigned_abs());
    let raised = asking.role == Role::Bass && octave > 0;
    let moved = if raised {
        terms::BASS_RAISED
    } else {
        terms::MOVED
    };
    Some(terms::CLEAN.of(clean) + moved.of(away) + if asked.bare { more } else { 0 })
}

fn way(asking: &Asking<'_>, note: usize, part: PartId, from: i16, to: i16) -> i64 {
    let (a, b) = (&asking.line.notes[note - 1], &asking.line.notes[note]);
    let pitch = |n: &LineNote, k| n.pitch.up(Interval::octaves(k)).unwrap();
    if b.moment.flow.near {
        let way = asking.costs[part.0].way_cost(pitch(a, from), pitch(b, to), &b.moment);
        terms::CLEAN.of(way)
    } else {
        0
    }
}

fn entry(asking: &Asking<'_>, note: usize, part: PartId) -> i64 {
    let easy = asking.problem.band.part(part).limits.comfortable;
    let middle = i64::from(easy.low.midi()) + i64::from(easy.high.midi());
    let place = match asking.role {
        Role::Bass => terms::BASS_PLACE.of(middle),
        _ => terms::TUNE_PLACE.of(254 - middle),
    };
    let at = asking.line.notes[note].onset;
    let role = asking
        .problem
        .plan
        .passage(at)
        .map(|p| p.roles[part.0].role);
    place
        + match role {
            None | Some(Role::Melody | Role::Bass) => 0,
            Some(Role::Harmony) => terms::FROM_CHORD.of(1),
            Some(_) => terms::FROM_REST.of(1),
        }
}

fn cut(asking: &Asking<'_>, note: usize, shared: bool) -> i64 {
    if shared {
        return terms::SHARED.of(1);
    }
    let notes = &asking.line.notes;
    let length = notes[note].onset.0 - notes[note - 1].onset.0;
    let quarters = (length / u64::from(asking.problem.quarter.get())).min(4);
    terms::COLD.of(1) - terms::AFTER_LONG.of(i64::try_from(quarters).unwrap())
}

/// The cost of a way to hand over; `None` where it breaks a rule.
fn cost(asking: &Asking<'_>, states: &[State]) -> Option<i64> {
    let begins = |note: usize| asking.line.breaths.iter().any(|b| b.start == note);
    let breath = |note: usize| asking.line.breaths.iter().position(|b| b.contains(&note));
    let mut octaves: BTreeMap<(Option<usize>, PartId), i16> = BTreeMap::new();
    let mut sum = 0;
    for (note, state) in states.iter().enumerate() {
        let before = note.checked_sub(1).and_then(|b| states[b]);
        sum += match (before, *state) {
            (None, None) => 0,
            (Some(_), None) if begins(note) => 0,
            (Some(_), None) => cut(asking, note, !asking.asked[note - 1].bare),
            (Some((a, from)), Some((b, to))) if a == b => {
                terms::CHANGE.of(i64::from(from != to)) + way(asking, note, a, from, to)
            }
            (before, Some(taker)) => {
                let joins = !asking.asked[note].bare;
                let between = if before.is_some() {
                    terms::BETWEEN.of(1)
                } else {
                    0
                };
                let cold = if begins(note) {
                    between
                } else {
                    cut(asking, note, joins)
                };
                let pickup = before
                    .filter(|_| !begins(note))
                    .and_then(|_| note_cost(asking, note - 1, taker))
                    .map(|c| {
                        c + way(asking, note, taker.0, taker.1, taker.1) + terms::SHARED.of(1)
                    });
                entry(asking, note, taker.0) + pickup.map_or(cold, |p| p.min(cold))
            }
        };
        match state {
            None if asking.asked[note].wanted => sum += terms::NOBODY.of(1),
            None => {}
            Some(taker) => {
                sum += note_cost(asking, note, *taker)?;
                let known = octaves.entry((breath(note), taker.0)).or_insert(taker.1);
                if *known != taker.1 {
                    return None;
                }
            }
        }
    }
    Some(sum)
}

/// Every way to hand over a line.
fn every_way(asking: &Asking<'_>) -> Vec<Vec<State>> {
    let mut all: Vec<Vec<State>> = vec![Vec::new()];
    for note in 0..asking.line.notes.len() {
        let mut choices: Vec<State> = vec![None];
        for (part, _) in asking.pool {
            let octaves = OCTAVES.filter(|k| note_cost(asking, note, (*part, *k)).is_some());
            choices.extend(octaves.map(|k| Some((*part, k))));
        }
        all = all
            .iter()
            .flat_map(|way| {
                choices
                    .iter()
                    .map(move |c| [way.clone(), vec![*c]].concat())
            })
            .collect();
    }
    all
}

/// A line of a few notes with a rest of a quarter after some of them.
fn file(notes: &[(u8, bool)]) -> File {
    let mut at = 0;
    let mut tones = Vec::new();
    for (pitch, rest) in notes {
        tones.push(tone(at, *pitch, 480));
        at += if *rest { 960 } else { 480 };
    }
    let mut file = File::piano(Vec::new());
    file.lanes = vec![Lane::new("Right", tones)];
    file
}

fn with_asking(
    file: &File,
    band: &Band,
    asked: &[Asked],
    mut see: impl FnMut(&Asking<'_>, &[Taken], i64),
) {
    let song = file.song();
    let ready = MadeReady::of(&song, band, &ReadOptions::default());
    let locks = Locks::default();
    let plan = ready.plan(&song, band, &locks);
    let settled = Settled {
        locks: &locks,
        tune: &TuneRules::default(),
        plan: &plan,
        weights: &Weights::default(),
    };
    let problem = ready.problem(&song, band, settled);
    let costs = ChanceCosts::of_band(band);
    let has: Vec<PartNotes> = band
        .ids()
        .map(|(id, _)| PartNotes::locked(&problem, id))
        .collect();
    let line: &OneLine = &ready.lines.melody;
    if line.notes.len() > asked.len() || line.notes.is_empty() {
        return;
    }
    let winds = band.ids().filter(|(_, p)| p.instrument.id != "timpani");
    let free = winds.filter(|(_, p)| p.limits.max_leap.is_none() && p.limits.max_speed.is_none());
    let pool: Vec<(PartId, i64)> = free.map(|(id, _)| (id, 700)).take(2).collect();
    let asking = Asking {
        problem: &problem,
        costs: &costs,
        has: &has,
        role: Role::Melody,
        line,
        asked: &asked[..line.notes.len()],
        pool: &pool,
    };
    for breaths in Asking::stretches(line, asking.asked) {
        if breaths == (0..line.breaths.len()) {
            let (taken, cost) = asking.taken(breaths);
            see(&asking, &taken, cost);
        }
    }
}

/// Two parts with a few notes each, so that neither has a line whole.
fn narrow() -> impl Strategy<Value = Band> {
    let range = || (64..76_u8, 5..9_u8);
    (range(), range()).prop_map(|(flute, oboe)| {
        let part = |name: &str, (low, span): (u8, u8)| {
            let pitch = |midi| Sounding::new(midi).unwrap();
            format!(
                "[[part]]\nname = \"{name}\"\ninstrument = \"{name}\"\nplayers = {{ all_state = 2 }}\nremarks = {{ lowest = \"{}\", highest = \"{}\" }}\n",
                pitch(low),
                pitch(low + span)
            )
        };
        let parts = [part("flute", flute), part("oboe", oboe)].concat();
        read_band(&format!("name = \"Narrow\"\n{parts}")).unwrap()
    })
}

fn any_band() -> impl Strategy<Value = Band> {
    prop_oneof![band(), narrow()]
}

/// A few notes by leaps of any size, or within a fourth of one another.
fn tune(least: usize) -> impl Strategy<Value = Vec<(u8, bool)>> {
    let rest = || prop::bool::weighted(0.2);
    let wide = prop::collection::vec((30..100_u8, rest()), least..5);
    let near = (
        40..90_u8,
        prop::collection::vec((0..11_u8, rest()), least..6),
    );
    let walk = near.prop_map(|(start, steps)| {
        let mut pitch = start;
        let step = |(by, rest)| {
            pitch = pitch + by - 5;
            (pitch, rest)
        };
        steps.into_iter().map(step).collect()
    });
    prop_oneof![wide, walk]
}

fn asked() -> impl Strategy<Value = Asked> {
    prop_oneof![
        3 => Just(Asked { wanted: true, bare: true, carrier: None }),
        1 => Just(Asked { wanted: false, bare: false, carrier: None }),
        1 => Just(Asked { wanted: true, bare: false, carrier: Some(0) }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn hands_change_in_the_cheapest_way(
        band in any_band(),
        notes in tune(1),
        asked in prop::collection::vec(asked(), 6),
    ) {
        let mut wrong = Vec::new();
        with_asking(&file(&notes), &band, &asked, |asking, taken, own| {
            let all = every_way(asking).into_iter();
            let least = all.filter_map(|w| Some((cost(asking, &w)?, w))).min();
            if least.as_ref().map(|l| l.0) != Some(own) {
                wrong.push(format!("{own} is not {least:?}: {taken:?} of {:?}", asking.asked));
            }
        });
        prop_assert_eq!(wrong, Vec::<String>::new());
    }
}

/// The random cases hand over inside breaths, and between them, often.
#[test]
fn random_lines_are_handed_over() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let cases = (narrow(), tune(3), prop::collection::vec(asked(), 6));
    let (mut seen, mut changed, mut shared) = (0, 0, 0);
    for _ in 0..300 {
        let (band, notes, asked) = cases.new_tree(&mut runner).unwrap().current();
        with_asking(&file(&notes), &band, &asked, |_, taken, _| {
            seen += 1;
            let pairs = || taken.windows(2).filter(|p| p[0].part != p[1].part);
            changed += usize::from(pairs().next().is_some());
            shared += usize::from(pairs().any(|p| p[0].notes.end > p[1].notes.start));
        });
    }
    assert!(
        seen > 100 && changed > 20 && shared > 0,
        "{seen} {changed} {shared}"
    );
}
