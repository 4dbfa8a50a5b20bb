//! The program killed at any moment: what was synced is there, and nothing is damaged.
//!
//! The test starts itself anew as a child that works on a show and says, after each sync, how many
//! steps are safe. The child is killed somewhere in that.

use super::build::{small, step};
use bandwright::export::Existing;
use bandwright::project::{OpenProject, Project};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const ROUNDS: u64 = 200;
/// The steps of a whole life; a child that is not killed in time ends there.
const STEPS: u64 = 120;
/// Names the show that a child works on; without it the child's test does nothing.
const SHOW: &str = "BANDWRIGHT_KILLED_SHOW";
/// From which step on a child works, and whether the show has a file.
const FROM: &str = "BANDWRIGHT_KILLED_FROM";

/// Numbers that are all over the place and the same every time (a linear congruence; ours).
fn scattered(seed: u64) -> u64 {
    let mixed = seed.wrapping_add(1).wrapping_mul(6_364_136_223_846_793_005);
    mixed.wrapping_add(1_442_695_040_888_963_407) >> 33
}

/// What the child does.
#[test]
fn child() {
    let Ok(show) = std::env::var(SHOW) else {
        return;
    };
    let from: u64 = std::env::var(FROM).unwrap().parse().unwrap();
    let show = Path::new(&show);
    let journals = show.with_file_name("journals");
    let mut open = if show.exists() {
        OpenProject::open(show).unwrap().0
    } else {
        OpenProject::untitled(small(), &journals).unwrap()
    };
    tell(from);
    for k in from..from + STEPS {
        step(&mut open.project, k);
        if k % 3 == 0 {
            open.record().unwrap();
        }
        if k % 4 == 1 {
            open.sync().unwrap();
            tell(k + 1);
        }
        if k % 7 == 6 {
            match open.path() {
                Some(_) => open.save().unwrap(),
                None => assert_eq!(open.save_as(show, Existing::Keep).unwrap(), None),
            }
            tell(k + 1);
        }
    }
}

fn tell(safe: u64) {
    let mut output = std::io::stdout();
    writeln!(output, "\nsafe {safe}").unwrap();
    output.flush().unwrap();
}

fn begun(show: &Path, from: u64) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "project::killed::child",
            "--nocapture",
            "--test-threads=1",
        ])
        .env(SHOW, show)
        .env(FROM, from.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Lets a child live until it has told so many numbers and for some microseconds more; the last number
/// that it told.
fn lives(show: &Path, from: u64, tellings: u64, longer: Duration) -> Option<u64> {
    let mut child = begun(show, from);
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut safe = None;
    let mut told = 0;
    while told < tellings {
        let Some(line) = lines.next() else {
            break;
        };
        if let Some(number) = number(&line.unwrap()) {
            safe = Some(number);
            told += 1;
        }
    }
    std::thread::sleep(longer);
    // It may have come to its end; then there is nothing to kill.
    let _ = child.kill();
    // What it told before it died counts too.
    let rest = lines.map_while(Result::ok).filter_map(|line| number(&line));
    let safe = rest.last().or(safe);
    child.wait().unwrap();
    safe
}

/// The number of a line that was written to its end.
fn number(line: &str) -> Option<u64> {
    line.strip_prefix("safe ")?.parse().ok()
}

/// How many steps a project has had since a life of it began, from the least that it must have had on.
fn steps_of(project: &Project, begun: &Project, from: u64, least: u64) -> Option<u64> {
    let mut then = begun.clone();
    for k in from..from + STEPS {
        if k >= least && then == *project {
            return Some(k);
        }
        step(&mut then, k);
    }
    (then == *project).then_some(from + STEPS)
}

/// What a kill left: the show opened again.
fn opened(show: &Path, round: u64) -> (OpenProject, usize) {
    let (open, told) = if show.exists() {
        OpenProject::open(show).unwrap()
    } else {
        let (found, warnings) = OpenProject::unsaved_in(&show.with_file_name("journals")).unwrap();
        assert_eq!(warnings, Vec::<String>::new(), "round {round}");
        assert_eq!(found.len(), 1, "round {round}");
        OpenProject::recover(&found[0].journal).unwrap()
    };
    assert_eq!(told.warnings, Vec::<String>::new(), "round {round}");
    (open, told.recovered)
}

/// Each show lives through a few kills, is opened after each and goes on.
#[test]
fn nothing_that_was_synced_is_lost_by_a_kill() {
    const LIVES: u64 = 4;
    let (mut worked, mut from_journals) = (0, 0);
    for show in 0..ROUNDS / LIVES {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("show.bandwright");
        let (mut from, mut project) = (0, Project::new(small()));
        for life in 0..LIVES {
            let round = show * LIVES + life;
            let tellings = scattered(round * 3) % 12;
            let longer = Duration::from_micros(scattered(round * 3 + 1) % 4000);
            let safe = lives(&path, from, tellings, longer);
            if safe.is_none() && from == 0 && !path.exists() {
                // Killed before anything was begun, or before that was told.
                let journals = OpenProject::unsaved_in(&folder.path().join("journals")).unwrap();
                assert!(journals.1.is_empty(), "round {round}");
                if journals.0.is_empty() {
                    continue;
                }
            }
            let (mut open, recovered) = opened(&path, round);
            let least = safe.unwrap_or(from);
            let steps = steps_of(&open.project, &project, from, least);
            let steps =
                steps.unwrap_or_else(|| panic!("round {round}: {least} steps are not there"));
            worked += u64::from(steps > from);
            from_journals += u64::from(recovered > 0);
            if open.path().is_none() {
                open.save_as(&path, Existing::Keep).unwrap();
            }
            // Half of them go on from the journal, half from a file that is whole.
            if round.is_multiple_of(2) {
                open.save().unwrap();
            }
            (from, project) = (steps, open.project.clone());
        }
    }
    println!("{worked} lives did something; {from_journals} times a journal brought it back");
    assert!(worked > ROUNDS / 2, "only {worked} lives came to anything");
    assert!(
        from_journals > ROUNDS / 4,
        "only {from_journals} times was a journal needed"
    );
}
