//! Plans and courses that follow a timeline.

use crate::command_line::Place;
use bandwright::band::load::Conditions;
use bandwright::band::preset;
use bandwright::cli::files::demo_song;
use bandwright::music::{BarNumber, Meter, Tick};
use bandwright::plan::timeline::{
    AnyTimeline, Mark, MarkKind, Point, Section, Timeline, Way, bar_line, template,
};
use bandwright::project::given::Given;
use bandwright::project::shape::{ToShape, shapes};
use bandwright::project::whole_way::{WholeWay, whole_way};

fn way(timeline: Option<AnyTimeline>) -> WholeWay {
    let given = Given {
        timeline,
        ..Given::default()
    };
    whole_way(
        &demo_song().unwrap(),
        &preset("demo").unwrap(),
        &given,
        &mut |_| {},
    )
}

fn words() -> Timeline<bandwright::music::BarBeat> {
    Timeline::new("Words only", bar_line(65))
}

#[test]
fn a_timeline_without_points_changes_no_intensity() {
    let plain = way(None);
    assert!(plain.timeline.is_none());
    let mut plan = words();
    plan.meter = Meter::COMMON;
    let silent = way(Some(plan.into()));
    assert_eq!(silent.plan, plain.plan);
    assert_eq!(silent.voiced.draft, plain.voiced.draft);
    assert_eq!(silent.warnings, plain.warnings);
}

#[test]
fn passages_follow_the_curve_and_begin_at_sections() {
    let mut plan = words();
    let point = |bar, intensity| Point {
        at: bar_line(bar),
        intensity,
        way: Way::Straight,
    };
    plan.points = vec![point(1, 1.0), point(41, 10.0), point(65, 1.0)];
    let (at, name) = (bar_line(41), "the top".to_owned());
    plan.marks.push(Mark {
        kind: MarkKind::Peak,
        at,
        name,
    });
    let plain = way(None);
    // A section at a phrase that began no passage.
    let song = demo_song().unwrap();
    let starts: Vec<Tick> = plain
        .plan
        .passages
        .iter()
        .map(|p| p.passage.start)
        .collect();
    let phrases = plain
        .reading
        .phrases
        .iter()
        .map(|p| song.meters.bar_led_to(p.start));
    let new = phrases.into_iter().find(|bar| {
        let at = song.meters.bar_start(*bar);
        !starts.iter().any(|s| song.meters.bar_led_to(*s) == *bar) && at > Tick::ZERO
    });
    if let Some(bar) = new {
        let (name, start) = ("New".to_owned(), bar_line(bar.0));
        plan.sections.push(Section { name, start });
    }
    let led = way(Some(plan.clone().into()));
    let passages = || led.plan.passages.iter().map(|p| p.passage);
    if let Some(bar) = new {
        assert!(passages().any(|p| p.first_bar == bar), "{bar}");
    }
    let curve = plan.curve();
    for passage in passages() {
        let top = passage.contains(song.meters.bar_start(BarNumber(41)));
        let along = |at: Tick| at.0 as f64 / 1920.0;
        let mean = curve
            .mean(along(passage.start), along(passage.end))
            .unwrap();
        let wanted = if top { 10.0 } else { mean };
        assert!(
            (passage.intensity - wanted).abs() < 1e-9,
            "{passage:?}, {wanted}"
        );
    }
    assert_ne!(led.voiced.draft, plain.voiced.draft);
}

#[test]
fn the_demo_goes_up_and_down_as_it_is_wanted() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let one = ToShape {
        name: "the demo".to_owned(),
        song: &song,
        timeline: None,
        pause_after: 0.0,
    };
    let shaped = shapes(vec![one], &band, &Given::default(), &mut |_| {});
    let course = &shaped[0].course;
    assert_eq!((course.bars(), course.wanted.len()), (64, 64));
    assert!(course.reached.iter().all(|r| (0.0..=10.0).contains(r)));
    // Where more is wanted, more is reached: the ranks go together.
    let (mut with, mut against) = (0, 0);
    for a in 0..64 {
        for b in 0..a {
            let wanted = course.wanted[a] - course.wanted[b];
            let reached = course.reached[a] - course.reached[b];
            if wanted.abs() > 1.0 {
                if wanted * reached > 0.0 {
                    with += 1;
                } else {
                    against += 1;
                }
            }
        }
    }
    assert!(with > 3 * against, "{with} against {against}");
    let trumpets = course.load.iter().find(|(n, _)| *n == "trumpets").unwrap();
    assert!(trumpets.1.iter().any(|m| *m > 0.1));
    assert!(shaped[0].laid().is_none() && !shaped[0].sections.is_empty());
}

#[test]
fn opposite_timelines_give_opposite_courses_and_lips_remember() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let one = |word: &str| ToShape {
        name: word.to_owned(),
        song: &song,
        timeline: Some(template(word).unwrap().into()),
        pause_after: 10.0,
    };
    let given = Given {
        conditions: Conditions::default(),
        ..Given::default()
    };
    let all = vec![one("long-rise"), one("going-home")];
    let shaped = shapes(all, &band, &given, &mut |_| {});
    let [rise, home] = &shaped[..] else {
        panic!("two movements")
    };
    for one in &shaped {
        println!(
            "{}: correlation {:?}, {} misses",
            one.name,
            one.course.together(),
            one.misses.len()
        );
        assert!(one.course.together().unwrap() > 0.3, "{}", one.name);
        for miss in &one.misses {
            assert!(miss.by().abs() > 1.5 && miss.last > miss.first, "{miss:?}");
            assert!(miss.mend().contains("furthest off"));
        }
    }
    // The second begins after the first and its pause.
    assert_eq!(home.begins.bars, Some(64));
    assert_eq!(home.begins.seconds, Some(rise.seconds() + 10.0));
    // Played first, it would be played by fresher lips.
    let fresh = shapes(vec![one("going-home")], &band, &given, &mut |_| {});
    let first = |s: &bandwright::project::shape::Shaped<'_>| -> f64 {
        s.course
            .load
            .iter()
            .flat_map(|(_, l)| l.iter().take(16))
            .sum()
    };
    assert_eq!(fresh[0].draft, home.draft);
    assert!(
        first(home) > first(&fresh[0]) + 0.1,
        "{} {}",
        first(home),
        first(&fresh[0])
    );
}

#[test]
fn commands_read_timelines_and_refuse_what_is_none() {
    let place = Place::new()
        .with("mine.toml", b"name = \"Mine\"\nunit = \"bars\"\nlength = 80\n[[point]]\nat = 1\nintensity = 3\n[[point]]\nat = 60\nintensity = 9\n[[peak]]\nat = 70\nname = \"late\"\n")
        .with("bad.toml", b"name = \"Mine\"\nunit = \"bars\"\nlength = 80\n[[point]]\nat = 1\nintensity = 13\n")
        .with("two.toml", b"name = \"Two\"\n[[movement]]\nname = \"A\"\nunit = \"shares\"\n[[movement]]\nname = \"B\"\nunit = \"shares\"\n");
    place.refuses(
        &["voice", "--timeline", "bad.toml"],
        "bad.toml, line 4: point 1 (bar 1): the intensity is 13",
    );
    place.refuses(
        &["voice", "--timeline", "long-rize"],
        "did you mean `long-rise`?",
    );
    place.refuses(
        &["shape", "--timeline", "two.toml"],
        "two.toml has 2 movements for 1 sketches",
    );
    place.refuses(
        &["keys", "--timeline", "two.toml"],
        "this is a show of several movements",
    );
    let output = place.run(&["shape", "--pause", "-1"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(crate::command_line::err(&output).contains("0 to 3600"));
    place.refuses(
        &["shape", "--timeline", "mine.toml", "--json", "mine.toml"],
        "both read and written",
    );
    place.refuses(&["timelines", "arsh"], "did you mean `arch`?");
    let list = place.does(&["timelines"]);
    for word in bandwright::plan::timeline::template_words() {
        assert!(list.contains(word), "{word}");
        let text = place.does(&["timelines", word, "--bars", "48"]);
        assert!(text.contains("length = 48"), "{text}");
    }
    let output = place.run(&[
        "shape",
        "--timeline",
        "mine.toml",
        "--svg",
        "shape.svg",
        "--json",
        "shape.json",
    ]);
    let (said, noted) = (
        crate::command_line::out(&output),
        crate::command_line::err(&output),
    );
    assert!(output.status.success(), "{noted}");
    assert!(
        said.contains("wanted") && said.contains("how tired"),
        "{said}"
    );
    assert!(
        noted.contains("has 80 bars and the music 64")
            && noted.contains("with peak `late` in bar 70"),
        "{noted}"
    );
    let svg = std::fs::read_to_string(place.path("shape.svg")).unwrap();
    assert!(
        svg.starts_with("<?xml") && svg.contains("shape of the show") && svg.ends_with("</svg>\n")
    );
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
    place.refuses(&["shape", "--svg", "shape.svg"], "shape.svg");
}
