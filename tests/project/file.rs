//! The project file: it comes back as it was, says what is wrong with it, and never panics.

use super::build::{any_documents, full, small, step};
use bandwright::project::{Project, ProjectError, project_bytes, read_project};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A project with steps of all kinds, some of them undone.
pub fn worked(steps: u64) -> Project {
    let mut project = Project::new(small());
    for k in 0..steps {
        step(&mut project, k);
    }
    project
}

fn value(project: &Project) -> Value {
    serde_json::from_slice(&project_bytes(project)).unwrap()
}

fn read(value: &Value) -> Result<Project, ProjectError> {
    read_project(value.to_string().as_bytes())
}

fn told(value: &Value) -> String {
    read(value).unwrap_err().to_string()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn projects_come_back_as_they_were(
        documents in any_documents(6),
        back in prop::collection::vec(any::<bool>(), 5),
    ) {
        let mut project = Project::new(documents[0].clone());
        for (after, back) in documents.iter().skip(1).zip(back) {
            project.change("A step", after.clone());
            if back {
                project.undo();
            }
        }
        let bytes = project_bytes(&project);
        let read = read_project(&bytes).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(&read, &project);
        prop_assert!(read.is_saved());
        prop_assert_eq!(project_bytes(&read), bytes);
    }

    /// Bytes changed, cut, doubled: an answer, never a panic; and what still opens can be saved.
    #[test]
    fn damaged_bytes_never_panic(
        at in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..4),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let mut bytes = project_bytes(&worked(12));
        for (at, byte) in at {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        if let Ok(project) = read_project(&bytes) {
            prop_assert_eq!(read_project(&project_bytes(&project)), Ok(project));
        }
    }

    /// Any number or word of the file replaced by a foreign one.
    #[test]
    fn foreign_values_never_panic(
        which in any::<prop::sample::Index>(),
        with in prop::sample::select(vec![
            json!(-1), json!(u64::MAX), json!(1e300), json!(70_000), json!(null), json!(true),
            json!([]), json!({}), json!("\u{1b}[2J"), json!([[0, 4_000_000_000_u32]]),
        ]),
    ) {
        let mut project = value(&worked(12));
        let count = leaves(&mut project, None);
        leaves(&mut project, Some((which.index(count), &with)));
        match read(&project) {
            Ok(read) => prop_assert_eq!(read_project(&project_bytes(&read)), Ok(read)),
            Err(error) => prop_assert!(!error.to_string().contains('\u{1b}'), "{}", error),
        }
    }
}

/// How many values there are; the one of a number is replaced.
fn leaves(value: &mut Value, put: Option<(usize, &Value)>) -> usize {
    fn walk(value: &mut Value, count: &mut usize, put: Option<(usize, &Value)>) {
        let own = *count;
        *count += 1;
        match value {
            Value::Array(rows) => rows.iter_mut().for_each(|v| walk(v, count, put)),
            Value::Object(fields) => fields.values_mut().for_each(|v| walk(v, count, put)),
            _ => {}
        }
        if let Some((_, with)) = put.filter(|(at, _)| *at == own) {
            *value = with.clone();
        }
    }
    let mut count = 0;
    walk(value, &mut count, put);
    count
}

#[test]
fn newer_and_foreign_files_are_told_apart() {
    let mut project = value(&worked(3));
    project["version"] = json!(2);
    project["something"] = json!("new");
    assert_eq!(read(&project), Err(ProjectError::Newer { version: 2 }));
    assert!(
        told(&project).contains("renew the program"),
        "{}",
        told(&project)
    );
    for foreign in [
        &b""[..],
        b"MThd\0\0",
        b"{}",
        b"[1]",
        b"name = \"Duo\"",
        b"null",
        b"{\"format\":3}",
    ] {
        assert_eq!(read_project(foreign), Err(ProjectError::NotAProject));
    }
    for version in [json!(0), json!(-1), json!("1"), json!(1.5), json!(null)] {
        project["version"] = version;
        assert!(matches!(read(&project), Err(ProjectError::Damaged { .. })));
    }
}

#[test]
fn damage_is_told_with_its_place() {
    let whole = value(&worked(12));
    let cut = &project_bytes(&worked(2))[..900];
    let error = read_project(cut).unwrap_err().to_string();
    assert!(
        error.contains("is damaged") && error.contains("line 2 column"),
        "{error}"
    );
    for (path, with, said) in [
        ("/document/colour", json!("red"), "unknown field `colour`"),
        (
            "/document/draft/lines/0/notes/0/1",
            json!(128),
            "draft: line 1: note 1: pitch 128",
        ),
        ("/document/draft/lines/0/notes/0/1", json!(300), "300"),
        (
            "/document/draft/lines/0/notes/0/2",
            json!(0),
            "line 1: note 1: it has no length",
        ),
        ("/document/draft/lines/0/notes/0/3", json!(0), "velocity 0"),
        (
            "/document/draft/lines/0/notes/0/4",
            json!("tune"),
            "`tune` is no role",
        ),
        (
            "/document/draft/lines/0/part",
            json!("Kazoo"),
            "no part `Kazoo`",
        ),
        (
            "/document/draft/lines/0/part",
            json!("Tuba"),
            "`Tuba` is named twice",
        ),
        ("/document/sketch/bytes", json!("TVRo!A=="), "character 5"),
        ("/document/sketch/transpose", json!(500), "500 semitones"),
        (
            "/document/band",
            json!("name = 3"),
            "band: the roster, line 1",
        ),
        (
            "/document/tags",
            json!("[[tag]]\nline = \"x\""),
            "tags: line 2",
        ),
        (
            "/document/tune/may_change",
            json!([[1, 4_000_000_000_u32]]),
            "bars are named",
        ),
        (
            "/document/tune/may_change",
            json!([[4, 1]]),
            "the wrong way round",
        ),
        (
            "/document/taken",
            json!([{"bars": [1, 4], "way": 1}, {"bars": [1, 4], "way": 2}]),
            "named twice",
        ),
        ("/history/now", json!(99), "no revision 99"),
        ("/history/next", json!(2), "revision 0 is followed"),
        (
            "/history/revisions/1/parent",
            json!(7),
            "made on a later one",
        ),
        (
            "/history/revisions/0/edit/changes/0/notes/part",
            json!("Tuba"),
            "revision 1: the line of Tuba",
        ),
    ] {
        let mut damaged = whole.clone();
        match damaged.pointer_mut(path) {
            Some(place) => *place = with,
            None if path != "/document/colour" => panic!("{path} is not there"),
            None => damaged["document"]["colour"] = with,
        }
        let error = told(&damaged);
        assert!(error.contains(said), "{path}: {error}");
    }
}

#[test]
fn a_damaged_history_can_be_taken_out() {
    let project = worked(12);
    let mut damaged = value(&project);
    damaged["history"]["now"] = json!(0);
    assert!(
        told(&damaged).contains("take `history` out"),
        "{}",
        told(&damaged)
    );
    damaged.as_object_mut().unwrap().remove("history");
    let read = read(&damaged).unwrap();
    assert_eq!(read.document(), project.document());
    assert!(!read.can_undo());
}

/// A project in which there is something of everything.
pub fn full_project() -> Project {
    let mut project = Project::new(small());
    project.change("Everything", full());
    for k in 0..16 {
        step(&mut project, k);
    }
    project
}

/// A file as the first version wrote it opens for ever. Nobody may write this file anew: where it
/// does not open, the program is wrong.
#[test]
fn a_file_of_version_1_opens() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/fixtures/version-1.bandwright"
    );
    let mut project = read_project(&std::fs::read(path).unwrap()).unwrap();
    let document = project.document();
    assert_eq!(document.title, "Title 14");
    let names: Vec<&str> = document
        .band
        .parts
        .iter()
        .map(|p| p.name.as_str())
        .collect();
    assert_eq!(names, ["flute-1", "Trumpet", "Tuba"]);
    let song = document.song().unwrap();
    assert_eq!(song.tracks.iter().map(|t| t.notes.len()).sum::<usize>(), 8);
    assert_eq!((document.aside.len(), document.locks.0.len()), (2, 1));
    assert_eq!(project.history().len(), 11);
    for _ in 0..8 {
        assert!(project.undo().is_some());
    }
    assert!(*project.document() == full());
    assert_eq!(project.undo().as_deref(), Some("Everything"));
    assert!(*project.document() == small());
    assert!(!project.can_undo());
}
