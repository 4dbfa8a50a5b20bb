//! Open projects: saving, opening, closing; what does not fit is told and kept.

use super::build::{note, small, step, with_note};
use super::file::worked;
use bandwright::export::Existing;
use bandwright::project::{
    Document, OpenError, OpenProject, Project, SaveError, project_bytes, read_project,
};
use std::path::{Path, PathBuf};

struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn journals(&self) -> PathBuf {
        self.path("journals")
    }

    /// A show that was saved and closed.
    fn saved(&self, name: &str) -> PathBuf {
        let path = self.path(name);
        let mut open = OpenProject::untitled(small(), &self.journals()).unwrap();
        step(&mut open.project, 0);
        open.save_as(&path, Existing::Keep).unwrap();
        open.close().unwrap();
        path
    }

    fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).unwrap();
        let name = |e: std::io::Result<std::fs::DirEntry>| e.unwrap().file_name();
        let mut names: Vec<String> = entries.map(|e| name(e).into_string().unwrap()).collect();
        names.sort();
        names
    }
}

fn error(path: &Path) -> String {
    OpenProject::open(path).unwrap_err().to_string()
}

#[test]
fn a_show_is_saved_closed_and_opened_with_its_history() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    assert_eq!(place.names(), ["journals", "show.bandwright"]);
    let (mut open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!((opened.recovered, opened.warnings.len()), (0, 0));
    assert!(open.project.is_saved());
    assert_eq!(open.project.undo().as_deref(), Some("Note"));
    assert_eq!(*open.project.document(), small());
    assert!(!open.project.is_saved());
    open.save().unwrap();
    assert!(open.project.is_saved());
    open.close().unwrap();
    let read = read_project(&std::fs::read(&path).unwrap()).unwrap();
    assert_eq!(read.redo_name(), Some("Note"));
    assert_eq!(place.names(), ["journals", "show.bandwright"]);
}

#[test]
fn a_show_open_elsewhere_is_left_alone() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let (mut open, _) = OpenProject::open(&path).unwrap();
    step(&mut open.project, 1);
    open.sync().unwrap();
    let told = error(&path);
    assert!(told.contains("is open elsewhere"), "{told}");
    assert_eq!(open.project.history().len(), 3);
    // Nor can another show be saved over it.
    let mut other = OpenProject::untitled(small(), &place.journals()).unwrap();
    let refused = other.save_as(&path, Existing::Replace).unwrap_err();
    assert!(matches!(refused, SaveError::Elsewhere(_)), "{refused}");
    let left = open.project.clone();
    drop(open);
    let (open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!(opened.recovered, 1);
    assert_eq!(open.project, left);
}

#[test]
fn unsaved_work_stays_when_closed_and_goes_when_discarded() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let (mut open, _) = OpenProject::open(&path).unwrap();
    for k in 1..5 {
        step(&mut open.project, k);
    }
    let left = open.project.clone();
    open.close().unwrap();
    let (open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!(opened.recovered, 3);
    assert!(open.project == left);
    open.discard().unwrap();
    let (open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!((opened.recovered, open.project.history().len()), (0, 2));
}

#[test]
fn files_that_do_not_open_are_left_as_they_are() {
    let place = Place::new();
    let mut newer = project_bytes(&worked(4));
    let at = newer
        .windows(11)
        .position(|w| w == b"\"version\":1")
        .unwrap();
    newer[at + 10] = b'3';
    let damaged = &project_bytes(&worked(4))[..500];
    for (bytes, said) in [
        (
            &newer[..],
            "version 3 and this program reads up to version 1",
        ),
        (damaged, "is damaged"),
        (b"MThd", "no project"),
        (b"", "no project"),
    ] {
        let path = place.path("show.bandwright");
        std::fs::write(&path, bytes).unwrap();
        let told = error(&path);
        assert!(
            told.contains(said) && told.contains("show.bandwright"),
            "{told}"
        );
        assert_eq!(std::fs::read(&path).unwrap(), bytes);
        assert_eq!(place.names(), ["show.bandwright"]);
    }
    assert!(error(&place.path("none.bandwright")).contains("no such file"));
    assert!(error(place.folder.path()).contains("it is no file"));
    assert_eq!(place.names(), ["show.bandwright"]);
}

/// A journal of unsaved work stays where the file beside it does not open.
#[test]
fn the_journal_of_a_damaged_file_stays() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let whole = std::fs::read(&path).unwrap();
    let (mut open, _) = OpenProject::open(&path).unwrap();
    step(&mut open.project, 1);
    open.close().unwrap();
    std::fs::write(&path, &whole[..700]).unwrap();
    assert!(error(&path).contains("is damaged"));
    std::fs::write(&path, &whole).unwrap();
    assert_eq!(OpenProject::open(&path).unwrap().1.recovered, 1);
}

#[test]
fn a_journal_of_another_state_is_kept_aside() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let (mut open, _) = OpenProject::open(&path).unwrap();
    step(&mut open.project, 1);
    open.close().unwrap();
    let journal = std::fs::read(place.path(".show.bandwright.journal")).unwrap();
    let other = project_bytes(&worked(9));
    std::fs::write(&path, &other).unwrap();
    let (open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!(open.project, worked(9));
    assert_eq!(opened.recovered, 0);
    assert!(
        opened.warnings[0].contains("show.bandwright.journal-1"),
        "{opened:?}"
    );
    let aside = place.path("show.bandwright.journal-1");
    assert_eq!(std::fs::read(aside).unwrap(), journal);
    open.close().unwrap();
    for foreign in [
        &b"something else\n"[..],
        b"{}\n",
        b"{\"format\":\"bandwright journal\",\"version\":1}\n",
    ] {
        std::fs::write(place.path(".show.bandwright.journal"), foreign).unwrap();
        let (open, opened) = OpenProject::open(&path).unwrap();
        assert_eq!(opened.warnings.len(), 1, "{opened:?}");
        open.close().unwrap();
    }
    let newer = b"{\"format\":\"bandwright journal\",\"version\":2,\"colour\":1}\n";
    std::fs::write(place.path(".show.bandwright.journal"), newer).unwrap();
    let refused = OpenProject::open(&path).unwrap_err();
    assert!(
        matches!(refused, OpenError::NewerJournal { version: 2, .. }),
        "{refused}"
    );
    assert_eq!(
        std::fs::read(place.path(".show.bandwright.journal")).unwrap(),
        newer
    );
}

/// Killed between the save and the new journal: the journal holds what the file has already, and what
/// came before a save that never was.
#[test]
fn a_journal_that_was_saved_already_is_known() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let (mut open, _) = OpenProject::open(&path).unwrap();
    let before = std::fs::read(&path).unwrap();
    step(&mut open.project, 1);
    step(&mut open.project, 2);
    open.sync().unwrap();
    let journal = place.path(".show.bandwright.journal");
    let steps = std::fs::read(&journal).unwrap();
    open.save().unwrap();
    let after = std::fs::read(&path).unwrap();
    let project = open.project.clone();
    step(&mut open.project, 3);
    open.close().unwrap();
    // The line that told of the save, as it stood before the journal was begun anew.
    let continues = std::fs::read_to_string(&journal).unwrap();
    let state = continues
        .split_once("\"continues\":")
        .unwrap()
        .1
        .split_once('}')
        .unwrap()
        .0;
    let entry = format!("{{\"saving\":{state}}}}}");
    let sum = bandwright::project::fingerprint::Fingerprint::of(entry.as_bytes());
    let saving = format!("{{\"sum\":\"{sum}\",\"entry\":{entry}}}\n");
    let old = [&steps[..], saving.as_bytes()].concat();
    for (file, recovered) in [(&after, 0), (&before, 1)] {
        std::fs::write(&path, file).unwrap();
        std::fs::write(&journal, &old).unwrap();
        let (open, opened) = OpenProject::open(&path).unwrap();
        assert_eq!((opened.recovered, opened.warnings.len()), (recovered, 0));
        assert_eq!(open.project, project);
    }
}

#[test]
fn a_file_changed_by_something_else_is_not_written_over() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let (mut open, _) = OpenProject::open(&path).unwrap();
    step(&mut open.project, 1);
    let other = project_bytes(&worked(9));
    std::fs::write(&path, &other).unwrap();
    let refused = open.save().unwrap_err();
    assert!(matches!(refused, SaveError::ChangedOutside(_)), "{refused}");
    assert_eq!(std::fs::read(&path).unwrap(), other);
    open.save_as(&place.path("mine.bandwright"), Existing::Keep)
        .unwrap();
    assert_eq!(open.path().unwrap().file_name().unwrap(), "mine.bandwright");
    let read = read_project(&std::fs::read(place.path("mine.bandwright")).unwrap()).unwrap();
    assert_eq!(read, open.project);
}

#[test]
fn save_as_goes_on_in_the_new_file() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let (mut open, _) = OpenProject::open(&path).unwrap();
    step(&mut open.project, 1);
    let refused = open.save_as(&path.with_file_name("no/show.bandwright"), Existing::Keep);
    assert!(matches!(refused, Err(SaveError::Write(_))));
    let other = place.saved("other.bandwright");
    let refused = open.save_as(&other, Existing::Keep).unwrap_err();
    assert!(matches!(refused, SaveError::Exists(_)), "{refused}");
    // Unsaved work on the one that is replaced is kept aside.
    let (mut replaced, _) = OpenProject::open(&other).unwrap();
    step(&mut replaced.project, 1);
    replaced.close().unwrap();
    let aside = open.save_as(&other, Existing::Replace).unwrap();
    assert_eq!(
        aside,
        Some(
            place
                .path("other.bandwright.journal-1")
                .canonicalize()
                .unwrap()
        )
    );
    step(&mut open.project, 2);
    let left = open.project.clone();
    open.close().unwrap();
    let (open, opened) = OpenProject::open(&other).unwrap();
    assert_eq!(opened.recovered, 1);
    assert!(open.project == left);
    let (open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!((opened.recovered, open.project.history().len()), (0, 2));
}

#[test]
fn a_show_never_saved_is_found_after_a_crash() {
    let place = Place::new();
    assert_eq!(OpenProject::unsaved_in(&place.journals()).unwrap().0, []);
    let mut open = OpenProject::untitled(small(), &place.journals()).unwrap();
    assert!(matches!(open.save(), Err(SaveError::Untitled)));
    for k in 0..9 {
        step(&mut open.project, k);
    }
    open.sync().unwrap();
    let held = OpenProject::unsaved_in(&place.journals()).unwrap();
    assert_eq!(held.0, [], "it is open");
    let left = open.project.clone();
    drop(open);
    let (found, warnings) = OpenProject::unsaved_in(&place.journals()).unwrap();
    assert_eq!(warnings, Vec::<String>::new());
    assert_eq!(
        (found.len(), found[0].steps, found[0].title.as_str()),
        (1, 7, "Two bars")
    );
    let (mut open, opened) = OpenProject::recover(&found[0].journal).unwrap();
    assert_eq!(opened.recovered, 7);
    assert!(open.project == left);
    assert!(
        OpenProject::recover(&found[0].journal).is_err(),
        "it is open"
    );
    open.save_as(&place.path("show.bandwright"), Existing::Keep)
        .unwrap();
    assert_eq!(OpenProject::unsaved_in(&place.journals()).unwrap().0, []);
    open.close().unwrap();
    assert_eq!(std::fs::read_dir(place.journals()).unwrap().count(), 0);
}

#[test]
fn journals_that_cannot_be_read_are_told() {
    let place = Place::new();
    drop(OpenProject::untitled(small(), &place.journals()).unwrap());
    let path = place.journals().join("untitled-1.journal");
    let whole = std::fs::read(&path).unwrap();
    let mut damaged = whole.clone();
    damaged[300] ^= 1;
    let newer = b"{\"format\":\"bandwright journal\",\"version\":9}\n";
    for (bytes, found, told) in [
        (&whole[..], 1, 0),
        (&damaged, 0, 1),
        (newer, 0, 1),
        (&whole[..90], 0, 0),
    ] {
        std::fs::write(&path, bytes).unwrap();
        let (shows, warnings) = OpenProject::unsaved_in(&place.journals()).unwrap();
        assert_eq!((shows.len(), warnings.len()), (found, told), "{warnings:?}");
        assert_eq!(OpenProject::recover(&path).is_ok(), found == 1);
        assert_eq!(std::fs::read(&path).unwrap(), bytes);
    }
}

/// A drag that is synced and saved in its middle.
#[test]
fn a_drag_over_syncs_and_saves_is_recovered() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let (mut open, _) = OpenProject::open(&path).unwrap();
    let start = open.project.document().clone();
    let at = |pitch| with_note(&start, 0, note(480, pitch, 10));
    open.project.change("Drag", at(70));
    open.project.join("Drag", at(71));
    assert_eq!(open.record().unwrap(), 1, "joined before it was written");
    open.project.join("Drag", at(72));
    open.sync().unwrap();
    open.save().unwrap();
    open.project.join("Drag", at(73));
    let left = open.project.clone();
    open.close().unwrap();
    let (open, opened) = OpenProject::open(&path).unwrap();
    assert_eq!(opened.recovered, 1);
    assert_eq!(open.project, left);
    assert!(!open.project.is_saved());
}

/// A step that no file could hold is told and dropped; where others were made on it, it is told, and
/// no file is written that would not open.
#[test]
fn what_would_not_come_back_is_not_kept() {
    let place = Place::new();
    let path = place.saved("show.bandwright");
    let before = std::fs::read(&path).unwrap();
    let (mut open, _) = OpenProject::open(&path).unwrap();
    step(&mut open.project, 3);
    open.project.undo();
    let good = open.project.clone();
    let now = good.document().clone();
    let wrong: Document = with_note(&now, 0, note(480, 70, 0));
    open.project.change("Nothing long", wrong.clone());
    let told = open.record().unwrap_err().to_string();
    assert!(
        told.contains("\"Nothing long\"") && told.contains("no length"),
        "{told}"
    );
    assert!(open.project == good, "redo goes where it went");
    assert_eq!(std::fs::read(&path).unwrap(), before);
    open.save().unwrap();
    let before = std::fs::read(&path).unwrap();
    open.project.change("Nothing long", wrong);
    open.project.undo();
    let told = open.record().unwrap_err().to_string();
    assert!(told.contains("will not outlive a crash"), "{told}");
    let told = open.save().unwrap_err().to_string();
    assert!(told.contains("no length"), "{told}");
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn a_project_stays_equal_whatever_is_saved() {
    let (mut a, b) = (worked(8), worked(8));
    a.mark_saved();
    assert_eq!(a, b);
    assert_ne!(a, Project::new(small()));
}
