//! Findings and their remedies, and changes of the band.

use super::Session;
use crate::app::view::Panel;
use crate::project::Document;
use crate::project::standing::Ask;
use crate::project::work::{Cure, Remedy, RosterDone, apply, bands_differ, carried};
use crate::review::Finding;
use crate::voicing::Stay;
use std::sync::Arc;

/// A finding that is looked at, with what mends it once that was found.
#[derive(Clone, Debug)]
pub struct Opened {
    /// The finding.
    pub finding: Finding,
    /// The number of the answer that is waited for.
    pub(super) number: u64,
    /// What mends it.
    pub remedies: Option<Vec<Remedy>>,
}

impl Session {
    /// Opens a finding: what mends it is looked for beside the window.
    pub(super) fn open_finding(&mut self, index: usize) {
        let finding = self
            .look
            .as_ref()
            .and_then(|l| l.judged.findings.get(index));
        self.opened = finding.cloned().map(|finding| {
            let number = self.worker.remedies(&finding);
            Opened {
                finding,
                number,
                remedies: None,
            }
        });
    }

    /// Does a remedy of the finding that is open, by its index.
    pub(super) fn mend(&mut self, remedy: usize) {
        let opened = self.opened.take();
        let all = opened.and_then(|o| o.remedies).unwrap_or_default();
        let Some(remedy) = all.get(remedy) else {
            self.say("nothing mends that at a press any more; look at it again");
            return;
        };
        match &remedy.what {
            Cure::Edit(_) => {
                let done = self.desk().and_then(|desk| apply(&desk, remedy));
                if let Some(done) = done {
                    let selection = self.selection.clone();
                    self.take(done);
                    self.selection = selection.or(self.selection.take());
                }
            }
            Cure::Solve(scope) => {
                let ask = Ask::Within {
                    scope: scope.clone(),
                    stay: Stay::default(),
                };
                self.solve(&remedy.label, ask);
            }
            Cure::OtherWays((first, _)) => {
                self.go_to(*first, None);
                self.view.panel = Panel::Ways;
            }
        }
    }

    /// Takes what came of an edit of the roster, and solves what that touches.
    pub(super) fn take_roster(&mut self, done: RosterDone) {
        let Some(look) = &self.look else {
            self.say("the sketch is still being read");
            return;
        };
        let before = self.document().clone();
        let carried = carried(
            &before.band,
            &done,
            &before.draft,
            &before.locks,
            &look.song.meters,
        );
        let told = bands_differ(&before.band, &done, &carried.parts);
        let after = Document {
            band: Arc::new(done.band),
            draft: Arc::new(carried.draft),
            locks: Arc::new(carried.locks),
            ..before.clone()
        };
        self.leave_solve();
        self.select(None);
        self.change(&done.said, after);
        for text in told.into_iter().chain(carried.notes) {
            self.say(text);
        }
        let had_notes = before.draft.lines.iter().any(|l| !l.notes.is_empty());
        if had_notes && !carried.scope.is_empty() {
            let ask = Ask::Within {
                scope: carried.scope,
                stay: Stay::default(),
            };
            self.solve(&format!("solve after: {}", done.said), ask);
        }
    }
}
