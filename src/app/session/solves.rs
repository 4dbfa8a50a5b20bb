//! Solving from the window: what is asked, and what is done with the answer.

use super::{Before, Changed, Session, Solving};
use crate::band::PartId;
use crate::music::BarNumber;
use crate::project::Document;
use crate::project::standing::{Ask, Found};
use crate::project::work::bars_in_words;
use crate::voicing::{Progress, Scope, Status, Stay};
use std::sync::Arc;
use std::time::Duration;

impl Session {
    /// Solves all that is not locked, from the start.
    pub fn solve_all(&mut self) {
        self.solve("solve all that is not locked", Ask::Afresh);
    }

    /// Solves the selected bars of the selected parts again.
    pub fn solve_selection(&mut self) {
        let Some(selection) = self.selection.clone() else {
            self.say("select bars and parts first; they are what is solved again");
            return;
        };
        let name = format!("solve {} again", bars_in_words(selection.bars));
        self.solve_within(&name, selection.bars, &selection.parts, self.stay);
    }

    /// Solves some bars of all parts afresh, as what belongs to the last step.
    pub(super) fn solve_step(&mut self, name: &str, bars: (BarNumber, BarNumber)) {
        self.solve_within(name, bars, &[], Stay::new(0));
        if let Some(solving) = &mut self.solving {
            solving.joins = true;
        }
    }

    /// Solves some bars of some parts; of all where none is named.
    fn solve_within(
        &mut self,
        name: &str,
        bars: (BarNumber, BarNumber),
        parts: &[PartId],
        stay: Stay,
    ) {
        let Some(desk) = self.desk() else {
            self.say("the sketch is still being read");
            return;
        };
        let scope = Scope::bars(desk.meters, desk.band.parts.len(), &[bars], parts);
        self.solve(name, Ask::Within { scope, stay });
    }

    /// Solves; the answer comes later and is a step of the history.
    pub(super) fn solve(&mut self, name: &str, ask: Ask) {
        if let Some(solving) = &self.solving {
            let text = format!("{} runs; stop it first", solving.name);
            self.say(text);
            return;
        }
        let document = self.document().clone();
        let number = self.worker.solve(&document, ask.clone());
        self.solving = Some(Solving {
            number,
            name: name.to_owned(),
            ask,
            of: document,
            joins: false,
            stopped: false,
            progress: Progress::default(),
        });
    }

    /// Stops the solve that runs; its best answer comes all the same.
    pub fn stop(&mut self) {
        if let Some(solving) = &mut self.solving {
            solving.stopped = true;
            self.worker.stop();
        }
    }

    /// Leaves the solve that runs: its answer is of what is no longer there.
    pub(super) fn leave_solve(&mut self) {
        self.stop();
        self.solving = None;
    }

    /// Takes the answer of a solve into the show.
    pub(super) fn found(&mut self, number: u64, found: Found, took: Duration) {
        let Some(solving) = self.solving.take_if(|s| s.number == number) else {
            return;
        };
        let now = self.document().clone();
        if has_moved_on(&solving.of, &now) {
            // The arranger worked on meanwhile: the answer is of what was, so it is asked for anew, where the
            // question still means the same.
            if solving.stopped || !solving.of.reads_like(&now) {
                self.say("the show has changed meanwhile; that solve is left");
                return;
            }
            self.say("the show has changed meanwhile; it is solved once more");
            self.solve(&solving.name, solving.ask);
            if let Some(again) = &mut self.solving {
                again.joins = solving.joins;
            }
            return;
        }
        let comes_voiced = std::mem::take(&mut self.comes_voiced);
        let before = Arc::clone(&now.draft);
        let changed = Changed::between(&before, &found.draft);
        let proof = found.proof;
        let text = told(&found, changed.len(), took);
        let after = Document {
            draft: Arc::new(found.draft),
            ..now
        };
        // What a way that was taken needs belongs to the step of taking it.
        let is_new = if solving.joins {
            self.open.project.join(&solving.name, after)
        } else {
            self.open.project.change(&solving.name, after)
        };
        if is_new {
            self.after_change();
        }
        self.open.project.end_step();
        self.proof = Some((proof, took));
        self.say(text);
        if comes_voiced {
            // The demo as it comes is nothing that would have to be saved.
            self.open.project.mark_saved();
        } else if before != self.document().draft {
            self.before = Some(Before {
                draft: before,
                shown: false,
                judged: None,
            });
            // Where nearly everything is new, nothing of it stands out.
            let all = self.document().draft.lines.iter().map(|l| l.notes.len());
            let most = all.sum::<usize>() / 2;
            self.changed = Some(changed).filter(|c| c.len() <= most);
        }
    }

    /// Shows what was there before the last solve, or what is there.
    pub fn flip(&mut self) {
        match &mut self.before {
            Some(before) => {
                before.shown = !before.shown;
                if let Some(look) = self.look.as_ref().filter(|_| before.judged.is_none()) {
                    before.judged = Some(Arc::new(look.judge(&before.draft)));
                }
                let text = if before.shown {
                    "shown as it was before the last solve; press again for what is there now"
                } else {
                    "shown as it is now"
                };
                self.say(text);
                self.renew_notation();
            }
            None => self.say("there is nothing to flip to: nothing was solved since the last edit"),
        }
    }
}

/// Whether what an answer depends on is no longer what was asked of.
fn has_moved_on(asked: &Document, now: &Document) -> bool {
    let (a, b) = (asked, now);
    !a.reads_like(b)
        || a.tags != b.tags
        || a.styles != b.styles
        || a.taken != b.taken
        || a.tune != b.tune
        || a.locks != b.locks
        || a.draft != b.draft
        || a.timeline != b.timeline
}

/// What came of a solve, in a sentence.
fn told(found: &Found, changed: usize, took: Duration) -> String {
    let proof = found.proof;
    let how = match proof.status {
        Status::Optimal => "nothing is better".to_owned(),
        Status::Feasible => format!("at most {:.1} % above the best", 100.0 * proof.gap()),
        Status::Stopped => format!(
            "stopped: the best so far, at most {:.1} % above the best",
            100.0 * proof.gap()
        ),
        Status::Impossible => {
            "locks and remarks contradict each other: see the findings".to_owned()
        }
    };
    let notes = if changed == 1 { "note is" } else { "notes are" };
    format!(
        "solved in {:.1} s: {changed} {notes} new, {how}",
        took.as_secs_f64()
    )
}
