//! Drafts that follow a timeline: loudness and fullness, peaks that are prepared, dynamics that players have.

use crate::command_line::Place;
use bandwright::band::playing::level_dynamics;
use bandwright::band::{Band, Level, PartId, preset};
use bandwright::cli::files::demo_song;
use bandwright::music::{BarNumber, Dynamic};
use bandwright::plan::timeline::{AnyTimeline, read_timeline, template, template_words};
use bandwright::project::given::Given;
use bandwright::project::shape::{ToShape, shapes};
use bandwright::project::whole_way::{WholeWay, whole_way};
use bandwright::project::{Document, Project, project_bytes, read_project};
use bandwright::score::Role;
use bandwright::voicing::{Scope, how_loud, write_loud};
use std::sync::Arc;

fn straight(from: f64, to: f64) -> AnyTimeline {
    let text = format!(
        "name = \"Straight\"\nunit = \"shares\"\n\
         [[point]]\nat = 0.0\nintensity = {from}\nway = \"straight\"\n\
         [[point]]\nat = 1.0\nintensity = {to}\nway = \"straight\"\n"
    );
    read_timeline(&text).unwrap()
}

fn together(timeline: AnyTimeline) -> f64 {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let one = ToShape {
        name: "the demo".to_owned(),
        song: &song,
        timeline: Some(timeline),
        pause_after: 0.0,
    };
    let shaped = shapes(vec![one], &band, &Given::default(), &mut |_| {});
    shaped[0].course.together().unwrap()
}

fn voiced(band: &Band, timeline: AnyTimeline) -> WholeWay {
    let given = Given {
        timeline: Some(timeline),
        ..Given::default()
    };
    whole_way(&demo_song().unwrap(), band, &given, &mut |_| {})
}

#[test]
fn opposite_timelines_are_both_reached() {
    let rises = together(straight(1.0, 10.0));
    let falls = together(straight(10.0, 1.0));
    let hush = together(template("deep-hush").unwrap().into());
    let arch = together(template("arch").unwrap().into());
    let said = format!("up {rises:.2}, down {falls:.2}; hush {hush:.2}, arch {arch:.2}");
    println!("correlation of wanted and reached: {said}");
    assert!(rises >= 0.9 && falls >= 0.9, "{said}");
    assert!(hush >= 0.88 && arch >= 0.88, "{said}");
}

#[test]
fn nobody_is_written_softer_or_louder_than_they_reliably_play() {
    let band = preset("demo").unwrap();
    let all = template_words().take(3).map(template);
    for timeline in all.map(Result::unwrap) {
        let way = voiced(&band, timeline.into());
        for line in &way.voiced.draft.lines {
            let part = band.part(line.part);
            let level = part.players.weakest().unwrap_or(Level::Intermediate);
            let (soft, loud) = level_dynamics(level).unwrap().reliable;
            for note in line.notes.iter().filter(|n| !n.locked) {
                let within = (soft.velocity()..=loud.velocity()).contains(&note.velocity);
                assert!(within, "{}: {}", part.name, note.velocity);
            }
        }
    }
}

#[test]
fn locked_notes_keep_their_loudness_and_writing_twice_changes_nothing() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let way = voiced(&band, template("deep-hush").unwrap().into());
    let timeline = way.timeline.clone().unwrap();
    for lock in &way.locks.0 {
        let line = &way.voiced.draft.lines[lock.part.0].notes;
        for fixed in &lock.notes {
            let at = |n: &&bandwright::score::DraftNote| {
                (n.onset, n.pitch) == (fixed.onset, fixed.pitch)
            };
            let there = line.iter().find(at).unwrap();
            assert_eq!((there.velocity, there.locked), (fixed.velocity, true));
        }
    }
    let mut again = way.voiced.draft.clone();
    write_loud(&way.problem(&song, &band), &timeline, &mut again, None);
    assert_eq!(again, way.voiced.draft);
    // Outside a scope nothing is written otherwise, also where another timeline speaks.
    let other = voiced(&band, template("arch").unwrap().into());
    let bars = [(BarNumber(9), BarNumber(16))];
    let scope = Scope::bars(&song.meters, band.parts.len(), &bars, &[]);
    let problem = way.problem(&song, &band);
    write_loud(&problem, &other.timeline.unwrap(), &mut again, Some(&scope));
    assert_ne!(again, way.voiced.draft);
    for (a, b) in again.lines.iter().zip(&way.voiced.draft.lines) {
        for (a, b) in a.notes.iter().zip(&b.notes) {
            assert!(a == b || scope.covers(PartId(0), a.onset, a.end()));
        }
    }
}

#[test]
fn why_a_note_is_so_loud_is_told_as_it_is_written() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let way = voiced(&band, template("deep-hush").unwrap().into());
    let (problem, draft) = (way.problem(&song, &band), &way.voiced.draft);
    let timeline = way.timeline.as_ref().unwrap();
    let why = |part, at| how_loud(&problem, timeline, draft, part, at);
    let (mut told, mut locked) = (0, 0);
    for line in &draft.lines {
        for note in line.notes.iter().step_by(23) {
            let Some(text) = why(line.part, (note.onset, Some(note.pitch))) else {
                assert!(!note.locked && note.role == Role::Rest, "{note:?}");
                continue;
            };
            told += 1;
            locked += u32::from(note.locked);
            let now = Dynamic::of_velocity(note.velocity);
            assert!(text.starts_with(&format!("written {now}")), "{text}");
            assert_eq!(text.contains("locked"), note.locked, "{text}");
            assert!(!text.contains("solved anew"), "{text}");
        }
        assert_eq!(why(line.part, (song.end(), None)), None);
    }
    assert!(told > 50 && locked > 0, "{told} {locked}");
    // What somebody wrote otherwise is told.
    let mut other = draft.clone();
    let free = |l: &bandwright::score::PartLine| l.notes.iter().position(|n| !n.locked);
    let line = other.lines.iter().position(|l| free(l).is_some()).unwrap();
    let note = free(&other.lines[line]).unwrap();
    let (part, of) = (other.lines[line].part, &mut other.lines[line].notes[note]);
    of.velocity = if of.velocity > 64 { 16 } else { 112 };
    let (at, was) = (
        (of.onset, Some(of.pitch)),
        draft.lines[line].notes[note].velocity,
    );
    let text = how_loud(&problem, timeline, &other, part, at).unwrap();
    let anew = format!("solved anew it would be {}", Dynamic::of_velocity(was));
    assert!(text.ends_with(&anew), "{text}");
}

#[test]
fn a_peak_has_more_players_than_what_leads_to_it() {
    let band = preset("demo").unwrap();
    for word in ["long-rise", "last-word", "arch"] {
        let way = voiced(&band, template(word).unwrap().into());
        let passages = &way.plan.passages;
        let peak = passages.iter().position(|p| p.passage.peak);
        let peak = peak.unwrap_or_else(|| panic!("{word} has no peak"));
        let playing = |at: usize| -> u32 {
            let roles = passages[at].roles.iter().zip(&band.parts);
            let on = roles.filter(|(r, p)| r.role != Role::Rest && p.instrument.wind);
            on.map(|(_, p)| p.players.count()).sum()
        };
        assert!(peak > 0 && playing(peak) > playing(peak - 1), "{word}");
    }
}

#[test]
fn a_show_is_shaped_with_the_notes_and_the_timeline_that_it_has() {
    let band = preset("demo").unwrap();
    let timeline: AnyTimeline = template("arch").unwrap().into();
    let way = voiced(&band, timeline.clone());
    let document = Document {
        title: "Our Show".to_owned(),
        draft: Arc::new(way.voiced.draft.clone()),
        timeline: Arc::new(Some(timeline.clone())),
        ..bandwright::app::session::demo().unwrap()
    };
    let bytes = project_bytes(&Project::new(document.clone()));
    assert_eq!(*read_project(&bytes).unwrap().document(), document);
    let place = Place::new().with("our.bandwright", &bytes);
    let said = place.does(&["shape", "our.bandwright", "--json", "shape.json"]);
    assert!(said.starts_with("Our Show\n"), "{said}");
    let told: serde_json::Value =
        serde_json::from_slice(&std::fs::read(place.path("shape.json")).unwrap()).unwrap();
    let voiced_anew = together(timeline);
    let told = told["movements"][0]["correlation"].as_f64().unwrap();
    assert!((told - voiced_anew).abs() < 0.01, "{told}, {voiced_anew}");
    place.refuses(
        &["shape", "our.bandwright", "--band", "thin"],
        "a show has its own band and timeline",
    );
    place.refuses(
        &["shape", "our.bandwright", "our.bandwright"],
        "name it alone",
    );
}
