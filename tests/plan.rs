//! The scoring plan: what an arranger asks of it, alternatives and taking one, reasons.

use crate::estimates::Sketch;
use crate::whole_way::faults_of;
use bandwright::band::{Band, Family, preset, preset_names};
use bandwright::cli::files::demo_song;
use bandwright::plan::estimates::{Powers, tune_presence};
use bandwright::plan::{PartRole, PassagePlan, PlanWeights, Term, plan, why_passage, why_rests};
use bandwright::project::given::Given;
use bandwright::project::whole_way::{WholeWay, whole_way};
use bandwright::score::Role;
use std::collections::BTreeMap;

fn demo() -> (Sketch, Band) {
    (Sketch::of(demo_song().unwrap()), preset("demo").unwrap())
}

fn go(given: &Given<'_>, band: &Band) -> WholeWay {
    whole_way(&demo_song().unwrap(), band, given, &mut |_| {})
}

fn carriers(roles: &[PartRole], role: Role) -> Vec<usize> {
    (0..roles.len())
        .filter(|i| roles[*i].role == role)
        .collect()
}

/// The share of the players of a family that play.
fn playing(band: &Band, roles: &[PartRole], of: Option<Family>) -> f64 {
    let parts = band.parts.iter().zip(roles);
    let parts =
        parts.filter(|(p, _)| p.instrument.wind && of.is_none_or(|f| p.instrument.family == f));
    let (mut all, mut playing) = (0, 0);
    for (part, role) in parts {
        all += part.players.count();
        playing += if role.role == Role::Rest {
            0
        } else {
            part.players.count()
        };
    }
    f64::from(playing) / f64::from(all.max(1))
}

/// On every band: the tune and the bass are carried, colours change, brass rests where it is soft, and the full band
/// is kept for the peaks.
#[test]
fn the_demo_is_scored_as_an_arranger_would() {
    for name in preset_names() {
        let band = preset(name).unwrap();
        let way = go(&Given::default(), &band);
        let passages = &way.plan.passages;
        let mut same = 0;
        for pair in passages.windows(2) {
            let tune = |p: &PassagePlan| carriers(&p.roles, Role::Melody);
            same += usize::from(tune(&pair[0]) == tune(&pair[1]));
        }
        assert!(
            3 * same <= passages.len(),
            "{name}: {same} times the same colour again"
        );
        let mut full = [Vec::new(), Vec::new()];
        for planned in passages {
            let at = planned.passage.first_bar;
            assert!(
                !carriers(&planned.roles, Role::Melody).is_empty(),
                "{name}, bar {at}: no tune"
            );
            assert!(
                !carriers(&planned.roles, Role::Bass).is_empty(),
                "{name}, bar {at}: no bass"
            );
            let of = usize::from(planned.passage.intensity > 8.0);
            if of == 1 || planned.passage.intensity < 4.5 {
                full[of].push(playing(&band, &planned.roles, None));
            }
            let brass = playing(&band, &planned.roles, Some(Family::Brass));
            let soft = planned.passage.intensity < 4.5;
            assert!(
                !soft || brass <= 0.75,
                "{name}, bar {at}: {brass} of the brass"
            );
        }
        let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
        let [soft, peak] = full.map(|f| mean(&f));
        assert!(
            peak > 0.7 && soft < 0.75 && soft + 0.1 < peak,
            "{name}: {soft} and {peak}"
        );
        assert!(way.plan.lower_bound > 0.0 && way.plan.lower_bound <= way.plan.cost);
    }
}

/// The alternatives differ from the chosen way and from each other, are told in words, and none would have been
/// better.
#[test]
fn alternatives_really_differ_and_cost_more() {
    let (sketch, band) = demo();
    let found = plan(&sketch.setting(&band), Vec::new());
    for planned in &found.passages {
        let at = planned.passage.first_bar;
        assert!(
            planned.others.len() >= 3,
            "bar {at}: {}",
            planned.others.len()
        );
        for (i, other) in planned.others.iter().enumerate() {
            assert!(other.cost_more > -1e-3, "bar {at}: {}", other.cost_more);
            assert!(other.differs > 0.1 && other.differs <= 1.0);
            assert!(!other.way.is_empty() && !other.changes.is_empty());
            let sum: f64 = other.terms.iter().map(|t| t.points).sum();
            assert!(
                (sum - other.cost_more).abs() < 1.0,
                "bar {at}: {sum} {}",
                other.cost_more
            );
            for before in &planned.others[..i] {
                assert!(before.number < other.number && before.roles != other.roles);
            }
        }
    }
}

#[test]
fn a_way_that_is_taken_is_in_the_plan_and_in_the_draft() {
    let band = preset("demo").unwrap();
    let plain = go(&Given::default(), &band);
    let at = 4;
    let planned = &plain.plan.passages[at];
    let other = planned.others.last().unwrap();
    let bars = (planned.passage.first_bar.0, planned.passage.last_bar.0);
    let given = Given {
        taken: BTreeMap::from([(bars, other.number)]),
        ..Given::default()
    };
    let way = go(&given, &band);
    let taken = &way.plan.passages[at];
    assert!(taken.taken && taken.number == Some(other.number));
    assert_eq!(taken.roles, other.roles);
    assert!(way.plan.passages.iter().filter(|p| p.taken).count() == 1);
    assert_eq!(
        faults_of(&way, &demo_song().unwrap(), &band, None),
        Vec::<String>::new()
    );
    let tune = |w: &WholeWay| -> Vec<usize> {
        let lines = w.voiced.draft.lines.iter().enumerate();
        let sings = |l: &bandwright::score::PartLine| {
            let mut notes = l.notes.iter();
            notes.any(|n| planned.passage.contains(n.onset) && n.role == Role::Melody)
        };
        lines.filter(|(_, l)| sings(l)).map(|(i, _)| i).collect()
    };
    assert_ne!(tune(&plain), tune(&way));
    // A number that is not there changes nothing.
    let given = Given {
        taken: BTreeMap::from([(bars, 99), ((1, 2), 1)]),
        ..Given::default()
    };
    assert_eq!(go(&given, &band).plan, plain.plan);
}

#[test]
fn a_style_may_scale_every_term() {
    let (mut sketch, band) = demo();
    let powers = Powers::of_passages(&sketch.setting(&band));
    let mut presence = |times: f64| -> f64 {
        sketch.weights = PlanWeights::default().scaled(Term::Presence, times);
        let found = plan(&sketch.setting(&band), Vec::new());
        let each = found.passages.iter().zip(&powers);
        each.map(|(p, powers)| tune_presence(powers, &p.roles).0.clamp(-20.0, 20.0))
            .sum()
    };
    assert!(presence(0.0) + 10.0 < presence(3.0));
    let repeats = |times: f64| -> f64 {
        let (mut sketch, band) = demo();
        for i in 8..16 {
            sketch.passages[i].repeats = Some(i - 8);
            sketch.passages[i].intensity = sketch.passages[i - 8].intensity;
        }
        sketch.weights = PlanWeights::default().scaled(Term::Repeat, times);
        let found = plan(&sketch.setting(&band), Vec::new()).passages;
        let off = |i: usize| {
            let pairs = found[i].roles.iter().zip(&found[i - 8].roles);
            pairs.filter(|(a, b)| a.role != b.role).count()
        };
        (8..16).map(off).sum::<usize>() as f64
    };
    assert!(
        repeats(3.0) < 0.7 * repeats(0.0),
        "{} {}",
        repeats(3.0),
        repeats(0.0)
    );
}

#[test]
fn every_passage_and_every_rest_has_its_reason() {
    let (sketch, band) = demo();
    let found = plan(&sketch.setting(&band), Vec::new());
    assert_eq!(found, plan(&sketch.setting(&band), Vec::new()));
    let mut reasons = 0;
    for (i, planned) in found.passages.iter().enumerate() {
        let why = why_passage(&band, planned);
        assert!(why.text.len() >= 3 && why.text[0].contains(&planned.way));
        assert!(why.next.is_sorted_by(|a, b| a.cost_more <= b.cost_more));
        assert!(why.largest.is_sorted_by(|a, b| a.points >= b.points));
        for (id, part) in band.ids() {
            let rests = planned.roles[id.0].role == Role::Rest;
            let why = why_rests(&found.passages[i], id);
            assert_eq!(why.is_some(), rests, "{}", part.name);
            if let Some(why) = why {
                assert!(why.text().starts_with("rests: "));
                reasons += usize::from(why.instead.is_some_and(|(_, more)| more > 0.0));
            }
        }
    }
    assert!(reasons > 20, "{reasons} rests have a price");
}
