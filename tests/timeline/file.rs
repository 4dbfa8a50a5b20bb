//! Timelines and shows as files: what is written reads back, what is damaged is refused in words.

use super::build::{any_show, any_timeline};
use bandwright::plan::timeline::{
    AnyTimeline, MarkKind, Place, Seconds, Way, bar_line, read_show, read_timeline, write_show,
    write_timeline,
};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_timeline_reads_back(timeline in any_timeline()) {
        prop_assert_eq!(timeline.check(), Ok(()));
        let text = write_timeline(&timeline);
        prop_assert_eq!(read_timeline(&text), Ok(timeline.clone()), "{}", text);
        let show = read_show(&text).unwrap();
        prop_assert_eq!(&show.movements[0].timeline, &timeline);
    }

    #[test]
    fn a_show_reads_back(show in any_show()) {
        let text = write_show(&show);
        prop_assert_eq!(read_show(&text), Ok(show.clone()), "{}", text);
    }

    /// Whatever becomes of a file, it is read or refused on one of its lines.
    #[test]
    fn damage_is_read_or_refused(
        timeline in any_timeline(),
        at in any::<prop::sample::Index>(),
        put in prop::sample::select(vec!["", "=", "\"", "[[", "nan", "-1", "99999999999", "}", "\u{0}", "é"]),
        takes in 0_usize..12,
    ) {
        let text = write_timeline(&timeline);
        let mut chars: Vec<char> = text.chars().collect();
        let from = at.index(chars.len());
        let to = (from + takes).min(chars.len());
        chars.splice(from..to, put.chars());
        let damaged: String = chars.into_iter().collect();
        match read_timeline(&damaged) {
            Ok(read) => prop_assert_eq!(read.check(), Ok(())),
            Err(error) => {
                prop_assert!(error.line >= 1 && error.line <= damaged.lines().count().max(1) + 1);
                prop_assert!(!error.text.is_empty() && !error.text.contains(char::is_control));
            }
        }
    }
}

const SHOW: &str = r#"name = "Night ride"
unit = "seconds"
[[section]]
name = "Out"
length = 90
[[section]]
name = "Home"
length = 60.5
[[point]]
at = 0
intensity = 2
way = "straight"
[[point]]
at = 90
intensity = 10
[[peak]]
name = "the bell"
at = 90
[[pause]]
at = 100
seconds = 4
[[lane]]
name = "voice-over"
[[lane.note]]
from = 10
to = 25.5
text = "Where were you that night?"
"#;

#[test]
fn sections_with_lengths_make_the_whole() {
    let AnyTimeline::Seconds(read) = read_timeline(SHOW).unwrap() else {
        panic!("in seconds")
    };
    assert_eq!(
        (read.end, read.sections[1].start),
        (Seconds(150.5), Seconds(90.0))
    );
    assert_eq!(
        (read.points[1].way, read.marks[0].kind),
        (Way::Curved, MarkKind::Peak)
    );
    assert_eq!(read.intensity(Seconds(45.0)), Some(6.0));
    assert_eq!(read.levels()[0].1, Some(10.0));
    assert_eq!(
        read.section(Seconds(100.0)).map(|s| s.name.as_str()),
        Some("Home")
    );
    let bars = SHOW
        .replace("\"seconds\"", "\"bars\"")
        .replace("60.5", "60");
    let bars = bars.replace("at = 0\n", "at = { bar = 2, beat = 2.5 }\n");
    let bars = bars.replace("25.5", "26");
    let AnyTimeline::Bars(read) = read_timeline(&bars).unwrap() else {
        panic!("in bars")
    };
    assert_eq!((read.end, read.bars()), (bar_line(151), 150));
    assert_eq!(read.points[0].at.words(), "bar 2, beat 2.5");
}

/// Changes one thing of the file; what is said about it.
fn said(from: &str, to: &str) -> String {
    assert!(SHOW.contains(from), "{from}");
    read_timeline(&SHOW.replacen(from, to, 1))
        .unwrap_err()
        .to_string()
}

#[test]
fn what_is_wrong_is_said_with_its_line() {
    for (from, to, words) in [
        (
            "intensity = 2",
            "intensity = nan",
            "line 9: point 1 (0 s): the intensity is no number; give one from 0 to 10",
        ),
        (
            "intensity = 2",
            "intensity = 11",
            "line 9: point 1 (0 s): the intensity is 11; give a number from 0 to 10",
        ),
        ("intensity = 2", "intensity = -1", "the intensity is -1"),
        (
            "intensity = 2",
            "intensity = \"2\"",
            "line 11: `intensity` must be a number",
        ),
        (
            "at = 0\n",
            "at = 95\n",
            "line 13: point 2 (90 s): it must come after the one before it (95 s)",
        ),
        (
            "at = 0\n",
            "at = inf\n",
            "line 9: point 1 (inf s): seconds are numbers from 0 to 21600",
        ),
        ("at = 0\n", "at = -3\n", "seconds are numbers from 0"),
        (
            "at = 0\n",
            "at = { bar = 2 }\n",
            "line 10: `at` must be a number",
        ),
        (
            "way = \"straight\"",
            "way = \"strait\"",
            "line 12: unknown way `strait`; did you mean `straight`?",
        ),
        (
            "[[peak]]\nname = \"the bell\"\nat = 90",
            "[[peak]]\nname = \"the bell\"\nat = 900",
            "line 16: peak `the bell` (900 s): it lies after the end (150.5 s)",
        ),
        (
            "name = \"the bell\"",
            "name = \"\"",
            "line 16: peak `` (90 s): the name is empty",
        ),
        (
            "seconds = 4",
            "seconds = 40000",
            "line 19: pause 1 (100 s): the pause is 40000",
        ),
        (
            "to = 25.5",
            "to = 5",
            "line 24: lane 1, note 1 (10 s): it ends (5 s) where it begins, or before",
        ),
        (
            "unit = \"seconds\"",
            "unit = \"second\"",
            "line 2: unknown unit `second`; did you mean `seconds`?",
        ),
        ("unit = \"seconds\"\n", "", "`unit` is missing"),
        (
            "[[lane]]",
            "[[lanes]]",
            "line 22: unknown key `lanes`; did you mean `lane`?",
        ),
        ("length = 60.5", "length = -90", "line 1: it has no length"),
        (
            "name = \"Home\"",
            "name = \"Home\"\nstart = 80",
            "line 6: this section begins before the one before it ends (90 s)",
        ),
        ("length = 60.5", "", "line 1: `length` is missing"),
        (
            "[[peak]]",
            "[peak]",
            "line 16: `peak` is written `[[peak]]`, in double brackets",
        ),
        ("name = \"Night ride\"", "name = Night", "line 1: "),
    ] {
        let said = said(from, to);
        assert!(said.contains(words), "{from} -> {to}: {said}");
    }
}

#[test]
fn shows_have_movements_and_timelines_have_none() {
    let show = format!(
        "name = \"Two rides\"\n[[movement]]\npause_after = 12.5\n{}\n[[movement]]\n{}",
        SHOW.replace("[[", "[[movement."),
        SHOW.replace("[[", "[[movement.")
    );
    let read = read_show(&show).unwrap();
    assert_eq!(
        (read.movements.len(), read.movements[0].pause_after),
        (2, 12.5)
    );
    let offsets = read.offsets(&[]);
    assert_eq!((offsets[1].bars, offsets[1].seconds), (None, Some(163.0)));
    let offsets = read.offsets(&[Some((75, 150.0)), None]);
    assert_eq!(
        (offsets[1].bars, offsets[1].seconds),
        (Some(75), Some(162.5))
    );
    let error = read_timeline(&show).unwrap_err().to_string();
    assert!(error.contains("a show of several movements"), "{error}");
    for (from, to, words) in [
        (
            "12.5",
            "-1",
            "line 3: the pause is -1; give a number from 0 to 3600",
        ),
        (
            "intensity = 10",
            "intensity = 12",
            "line 16: point 2 (90 s): the intensity is 12",
        ),
        ("\"Two rides\"", "\"\"", "line 1: the name is empty"),
    ] {
        let error = read_show(&show.replacen(from, to, 1))
            .unwrap_err()
            .to_string();
        assert!(error.contains(words), "{error}");
    }
    let long = format!("# {}\n{SHOW}", "x".repeat(1 << 20));
    assert!(read_timeline(&long).unwrap_err().text.contains("over 1 MB"));
}
