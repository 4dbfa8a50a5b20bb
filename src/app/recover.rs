//! What a crash left behind.

use super::session::{DEMO_TITLE, in_words};
use crate::project::{OpenProject, Unsaved};
use std::path::Path;

/// The show that was never saved and that a crash left behind, if there is one and no other file is asked for.
#[must_use]
pub fn recovered(folder: &Path, sketch_comes: bool, told: &mut Vec<String>) -> Option<OpenProject> {
    if sketch_comes {
        return None;
    }
    let (all, warnings) = OpenProject::unsaved_in(folder).ok()?;
    told.extend(warnings);
    // The demo as it comes has one step of its own.
    let comes = |u: &Unsaved| u.steps == 0 || (u.steps == 1 && u.title == DEMO_TITLE);
    let last = all.into_iter().rfind(|u| !comes(u))?;
    match OpenProject::recover(&last.journal) {
        Ok((open, opened)) => {
            told.push(format!(
                "{} was never saved and is taken up again as it was left",
                last.title
            ));
            told.extend(in_words(opened));
            Some(open)
        }
        Err(error) => {
            told.push(error.to_string());
            None
        }
    }
}
