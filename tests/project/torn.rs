//! A journal cut off at every byte: what was written whole comes back, nothing else.

use super::build::{small, step};
use bandwright::project::{OpenProject, Project};
use std::path::Path;

/// Where the journal of `show.bandwright` stands.
fn journal(folder: &Path) -> std::path::PathBuf {
    folder.join(".show.bandwright.journal")
}

/// A saved show with steps in its journal, and the states of the project after each.
fn left_behind(folder: &Path, steps: u64) -> (Vec<u8>, Vec<u8>, Vec<Project>) {
    let mut open = OpenProject::untitled(small(), &folder.join("journals")).unwrap();
    let path = folder.join("show.bandwright");
    open.save_as(&path, bandwright::export::Existing::Keep)
        .unwrap();
    let mut states = vec![open.project.clone()];
    for k in 0..steps {
        step(&mut open.project, k);
        open.record().unwrap();
        states.push(open.project.clone());
    }
    let file = std::fs::read(&path).unwrap();
    let journal = std::fs::read(journal(folder)).unwrap();
    (file, journal, states)
}

#[test]
fn a_journal_torn_anywhere_gives_all_whole_lines() {
    let folder = tempfile::tempdir().unwrap();
    let (_, whole, states) = left_behind(folder.path(), 7);
    let path = folder.path().join("show.bandwright");
    for length in 0..=whole.len() {
        std::fs::write(journal(folder.path()), &whole[..length]).unwrap();
        let lines = whole[..length].iter().filter(|b| **b == b'\n').count();
        let (open, opened) = OpenProject::open(&path).unwrap();
        assert_eq!(opened.recovered, lines.saturating_sub(1), "at {length}");
        assert_eq!(opened.warnings, Vec::<String>::new(), "at {length}");
        assert_eq!(open.project, states[opened.recovered], "at {length}");
        assert_eq!(open.project.is_saved(), opened.recovered == 0);
    }
}

/// After a torn line is dropped, work goes on where it was.
#[test]
fn work_goes_on_after_a_torn_line() {
    let folder = tempfile::tempdir().unwrap();
    let (_, whole, states) = left_behind(folder.path(), 4);
    let path = folder.path().join("show.bandwright");
    std::fs::write(journal(folder.path()), &whole[..whole.len() - 5]).unwrap();
    let (mut open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!(opened.recovered, 3);
    step(&mut open.project, 3);
    assert_eq!(open.sync().unwrap(), 1);
    drop(open);
    let (open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!((opened.recovered, opened.warnings.len()), (4, 0));
    assert_eq!(open.project, states[4]);
}

/// A line damaged in the middle: what comes before is recovered, all is kept, and that is told.
#[test]
fn a_damaged_line_is_told_and_the_rest_kept() {
    let folder = tempfile::tempdir().unwrap();
    let (_, whole, states) = left_behind(folder.path(), 5);
    let path = folder.path().join("show.bandwright");
    let ends: Vec<usize> = (0..whole.len()).filter(|i| whole[*i] == b'\n').collect();
    let mut kept = 0;
    for (line, end) in ends.iter().enumerate().take(5).skip(1) {
        let mut damaged = whole.clone();
        let digit = (0..*end)
            .rev()
            .find(|i| damaged[*i].is_ascii_alphanumeric())
            .unwrap();
        damaged[digit] ^= 1;
        std::fs::write(journal(folder.path()), &damaged).unwrap();
        let (open, opened) = OpenProject::open(&path).unwrap();
        assert_eq!(opened.recovered, line - 1);
        assert_eq!(open.project, states[line - 1]);
        kept += 1;
        let aside = folder
            .path()
            .join(format!("show.bandwright.journal-{kept}"));
        assert!(
            opened.warnings[0].contains(&aside.display().to_string()),
            "{opened:?}"
        );
        assert_eq!(std::fs::read(aside).unwrap(), damaged);
    }
}
