//! Explanations of a draft, held against the draft's own cost and against forcing a note.

use super::go;
use super::resolve::with_problem;
use super::strategies::{band, said, sketch, with_remarks};
use bandwright::band::{Band, PartId, preset};
use bandwright::cli::files::demo_song;
use bandwright::cli::why_voice::{WhyAsked, WhyPlace, dearest_lines, told};
use bandwright::music::{BarNumber, Tick};
use bandwright::plan::fit::ChanceCosts;
use bandwright::project::whole_way::WholeWay;
use bandwright::score::Role;
use bandwright::sketch::Song;
use bandwright::voicing::chain::{Stage, add, cheapest_path};
use bandwright::voicing::chords::Chords;
use bandwright::voicing::explain::{Explainer, Explanation, Place};
use bandwright::voicing::terms::FORBIDDEN;
use bandwright::voicing::voice;
use proptest::prelude::*;

fn demo() -> (Song, Band, WholeWay) {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let way = go(&song, &band, None);
    (song, band, way)
}

fn named(band: &Band, name: &str) -> PartId {
    band.ids().find(|(_, p)| p.name == name).unwrap().0
}

fn all_of(asked: &[(&str, u32)]) -> Vec<Explanation> {
    let (song, band, way) = demo();
    let of = |(name, bar): &(&str, u32)| {
        let place = WhyPlace {
            bar: BarNumber(*bar),
            beat: None,
        };
        let parts = vec![named(&band, name)];
        let asked = WhyAsked { place, parts };
        told(&song, &band, &way, Some(&asked)).unwrap().why.unwrap()
    };
    asked.iter().flat_map(of).collect()
}

#[test]
fn the_terms_of_all_notes_add_up_to_the_cost_of_the_draft() {
    let (song, band, way) = demo();
    let (problem, costs) = (way.problem(&song, &band), ChanceCosts::of_band(&band));
    let explainer = Explainer::new(&problem, &costs, &way.voiced);
    let mut sum = 0.0;
    for step in 0..way.voiced.chosen.len() {
        for (id, _) in band.ids() {
            let own = explainer.note_costs(id, step);
            let counted = own.iter().filter(|c| c.place != Place::WayOut);
            sum += counted.map(|c| c.points).sum::<f64>();
        }
    }
    assert!(way.voiced.cost > 1000.0);
    assert!(
        (sum - way.voiced.cost).abs() < 0.01,
        "{sum} {}",
        way.voiced.cost
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]
    #[test]
    fn the_account_of_any_band_adds_up(band in band(), sketch in sketch(), said in said()) {
        let band = with_remarks(&band, &said);
        with_problem(&sketch.song(), &band, None, |problem| {
            let (costs, voiced) = (ChanceCosts::of_band(&band), voice(problem, &mut |_| {}));
            let chords = Chords::new(problem, &costs, &voiced.around);
            let entries = chords.account(&voiced.chosen, 0..voiced.chosen.len(), problem.weights);
            let sum: i64 = entries.iter().map(|e| i64::from(e.cost)).sum();
            prop_assert_eq!(sum, (voiced.cost * 1000.0).round() as i64);
            Ok(())
        })?;
    }
}

#[test]
fn a_runner_up_costs_what_forcing_it_costs_and_its_terms_add_up() {
    let (song, band, way) = demo();
    let (problem, costs) = (way.problem(&song, &band), ChanceCosts::of_band(&band));
    let mut explainer = Explainer::new(&problem, &costs, &way.voiced);
    let chords = Chords::new(&problem, &costs, &way.voiced.around);
    let chosen = &way.voiced.chosen;
    let stretch = chords.stretches(chosen).first().unwrap().clone();
    let (mut held, mut seen) = (0, 0);
    for (c, parts) in chords.choirs().iter().enumerate() {
        let chain = chords.choir_chain(c, stretch.clone(), None);
        let stages: Vec<&Stage> = chain.stages.iter().map(|s| &s.stage).collect();
        let mut joint: Vec<_> = stretch
            .clone()
            .map(|s| chain.stages[s].priced(&chords.shared_costs(&chain, s, s, chosen)))
            .collect();
        add(&mut joint[0], &chain.lead);
        let least = cheapest_path(&stages, &joint).unwrap().1;
        for s in (3..stretch.end).step_by(23) {
            let place = s % parts.len();
            if !chords.is_free(parts[place], s) {
                continue;
            }
            let forced = |sounds| {
                let mut joint = joint.clone();
                for (i, cost) in joint[s].iter_mut().enumerate() {
                    if chain.stages[s].picked(i)[place].sounds != sounds {
                        *cost = FORBIDDEN;
                    }
                }
                cheapest_path(&stages, &joint).map(|p| p.1)
            };
            // The draft is the best for each choir as the others are.
            let own = chosen[s][parts[place].0].sounds;
            assert_eq!(
                forced(own),
                Some(least),
                "{} at step {s}",
                band.part(parts[place]).name
            );
            let why = explainer.explain(parts[place], chords.steps[s].start);
            if why.role != Role::Harmony {
                continue;
            }
            assert!(
                why.runners_up
                    .iter()
                    .all(|r| r.sounds != own && r.cost_more >= 0.0)
            );
            assert!(
                why.runners_up
                    .windows(2)
                    .all(|w| w[0].cost_more <= w[1].cost_more)
            );
            for other in &why.runners_up {
                let more = (other.cost_more * 1000.0).round() as i64;
                assert_eq!(forced(other.sounds), Some(least + more));
                let terms: f64 = other.terms.iter().map(|t| t.1).sum();
                assert!((terms - other.cost_more).abs() < 1e-6, "{other:?}");
                held += 1;
            }
            seen += 1;
        }
    }
    assert!(seen > 20 && held > 100, "{seen} notes, {held} others");
}

#[test]
fn what_costs_most_is_told_in_order_with_parts_bars_and_a_remedy() {
    let (song, band, way) = demo();
    let found = told(&song, &band, &way, None).unwrap();
    assert_eq!(found.dearest.len(), 3);
    assert!(found.dearest.windows(2).all(|w| w[0].points >= w[1].points));
    for dear in &found.dearest {
        assert!(dear.points > 0.0 && dear.share < 1.0 && !dear.remedy.is_empty());
        assert!(!dear.bars.is_empty() && dear.bars.iter().all(|(a, b)| a <= b));
    }
    assert_eq!(dearest_lines(&band, &found.dearest).len(), 4);
    assert_eq!(told(&song, &band, &way, None).unwrap(), found);
}

#[test]
fn every_part_of_the_demo_has_reasons_everywhere() {
    let (song, band, way) = demo();
    let (problem, costs) = (way.problem(&song, &band), ChanceCosts::of_band(&band));
    let mut explainer = Explainer::new(&problem, &costs, &way.voiced);
    for bar in [1, 7, 18, 33, 41, 50, 64] {
        let start = song.meters.bar_start(BarNumber(bar));
        for (id, part) in band.ids() {
            for at in [start, start + bandwright::music::Ticks(700)] {
                let why = explainer.explain(id, at);
                let line = &way.voiced.draft.lines[id.0].notes;
                let sounds = line.iter().any(|n| n.onset <= at && at < n.end());
                assert_eq!(why.sounds.is_some(), sounds, "{} in bar {bar}", part.name);
                assert!(!why.reasons.is_empty(), "{} in bar {bar}", part.name);
                assert!(
                    why.start <= at && at < why.end,
                    "{} in bar {bar}: {why:?}",
                    part.name
                );
            }
        }
    }
}

#[test]
fn a_clarinet_below_the_break_hears_why() {
    let all = all_of(&[("Clarinet 3", 41)]);
    let first = &all[0];
    assert_eq!(first.role, Role::Harmony);
    assert!(
        first.reasons[0].starts_with("fills the chord: the "),
        "{first:?}"
    );
    let out: Vec<&str> = first.ruled_out.iter().map(|r| r.text.as_str()).collect();
    assert!(out.iter().any(|t| t.contains("below the break")), "{out:?}");
    assert!(
        out.iter()
            .any(|t| t.contains("the sketch does not sound them")),
        "{out:?}"
    );
}

#[test]
fn locks_lines_and_rests_say_what_they_are() {
    let (song, band, way) = demo();
    let (problem, costs) = (way.problem(&song, &band), ChanceCosts::of_band(&band));
    let mut explainer = Explainer::new(&problem, &costs, &way.voiced);
    let mut kinds = [0; 3];
    for (id, _) in band.ids() {
        for note in &way.voiced.draft.lines[id.0].notes {
            if note.locked {
                let why = explainer.explain(id, note.onset);
                assert!(why.locked && why.reasons[0].starts_with("the arranger's own"));
                kinds[0] += 1;
            } else if note.role == Role::Melody && kinds[1] < 40 {
                let why = explainer.explain(id, note.onset);
                assert!(why.reasons[0].starts_with("carries the tune"), "{why:?}");
                let sum: f64 = why.costs.iter().map(|c| c.points).sum();
                assert!((sum - why.total).abs() < 1e-6);
                for other in &why.runners_up {
                    let terms: f64 = other.terms.iter().map(|t| t.1).sum();
                    assert!((terms - other.cost_more).abs() < 1e-6);
                }
                kinds[1] += 1;
            }
        }
        if way.plan.passages[0].roles[id.0].role == Role::Rest {
            let why = explainer.explain(id, Tick(0));
            if why.sounds.is_none() {
                assert!(why.reasons[0].starts_with("rests: "), "{why:?}");
                kinds[2] += 1;
            }
        }
    }
    assert!(kinds.iter().all(|k| *k > 0), "{kinds:?}");
}
