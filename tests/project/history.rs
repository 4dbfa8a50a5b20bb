//! The history: random walks through it against a plain list of what the document was.

use super::build::{any_documents, note, small, with_note};
use bandwright::project::{Document, Project};
use proptest::prelude::*;

/// All that there ever was, as plain copies: each with where it came from and where redo goes.
#[derive(Clone)]
struct Snapshot {
    document: Document,
    parent: Option<usize>,
    next: Option<usize>,
    name: String,
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn walks_come_by_what_was_there(
        documents in any_documents(8),
        walk in prop::collection::vec((0..4_u8, 0..7_usize), 0..40),
    ) {
        let mut project = Project::new(documents[0].clone());
        let mut all = vec![Snapshot {
            document: documents[0].clone(),
            parent: None,
            next: None,
            name: String::new(),
        }];
        let mut now = 0;
        for (how, which) in walk {
            match how {
                0 => {
                    let parent = all[now].parent;
                    prop_assert_eq!(project.can_undo(), parent.is_some());
                    let told = project.undo();
                    prop_assert_eq!(told, parent.map(|_| all[now].name.clone()));
                    if let Some(parent) = parent {
                        all[parent].next = Some(now);
                        now = parent;
                    }
                }
                1 => {
                    let next = all[now].next;
                    prop_assert_eq!(project.redo_name().map(str::to_owned), next.map(|n| all[n].name.clone()));
                    let told = project.redo();
                    prop_assert_eq!(told.is_some(), next.is_some());
                    now = next.unwrap_or(now);
                }
                _ => {
                    let after = documents[which % documents.len()].clone();
                    let name = format!("Step {}", all.len());
                    let different = after != all[now].document;
                    prop_assert_eq!(project.change(name.clone(), after.clone()), different);
                    if different {
                        let at = all.len();
                        all[now].next = Some(at);
                        all.push(Snapshot { document: after, parent: Some(now), next: None, name });
                        now = at;
                    }
                }
            }
            prop_assert_eq!(project.document(), &all[now].document);
            prop_assert_eq!(project.history().now(), now);
            prop_assert_eq!(project.history().len(), all.len());
            prop_assert_eq!(project.is_saved(), now == 0);
        }
        prop_assert!(project.history().check(project.document()).is_ok());
        while project.undo().is_some() {}
        prop_assert_eq!(project.document(), &documents[0]);
    }
}

#[test]
fn a_drag_is_one_step() {
    let start = small();
    let mut project = Project::new(start.clone());
    let at = |pitch| with_note(&start, 0, note(480, pitch, 10));
    assert!(project.join("Drag", at(61)));
    assert!(project.join("Drag", at(62)));
    assert!(!project.join("Drag", at(62)), "nothing moved");
    assert!(project.join("Drag", at(63)));
    assert_eq!(project.history().len(), 2);
    // Another drag of the same name begins with a change of its own.
    assert!(project.change("Drag", at(64)));
    assert!(project.join("Drag", at(65)));
    assert_eq!(project.history().len(), 3);
    assert_eq!(project.undo().as_deref(), Some("Drag"));
    assert_eq!(*project.document(), at(63));
    // What came between, be it a step back, ends a drag.
    assert!(project.join("Drag", at(70)));
    assert_eq!(project.history().len(), 4);
    assert!(project.join("Other", at(71)));
    assert_eq!(project.history().len(), 5);
    project.undo();
    project.undo();
    assert_eq!(*project.document(), at(63));
    project.undo();
    assert_eq!(*project.document(), start);
}

#[test]
fn a_drag_that_comes_back_is_taken_back() {
    let start = small();
    let mut project = Project::new(start.clone());
    assert!(project.change("Drag", with_note(&start, 0, note(480, 70, 10))));
    assert!(project.join("Drag", start.clone()));
    assert_eq!(*project.document(), start);
    assert!(!project.can_undo());
    assert!(project.is_saved());
}

#[test]
fn a_drag_over_a_save_is_not_saved() {
    let start = small();
    let mut project = Project::new(start.clone());
    assert!(project.change("Drag", with_note(&start, 0, note(480, 70, 10))));
    assert!(!project.is_saved());
    project.mark_saved();
    assert!(project.is_saved());
    assert!(project.join("Drag", with_note(&start, 0, note(480, 71, 10))));
    assert!(!project.is_saved());
    assert_eq!(project.history().len(), 2);
}
