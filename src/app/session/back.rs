//! Drafts that come back from elsewhere.

use super::Session;
use super::act::Follow;
use crate::cli::files;
use crate::project::work::{CameBack, come_back};
use std::path::Path;

impl Session {
    /// Holds a draft that came back against the one in the show; what was changed is asked about, anything else is
    /// told.
    pub fn draft_back(&mut self, path: &Path) -> Option<Follow> {
        let back = match files::song(path) {
            Ok(back) => back,
            Err(error) => {
                self.say(error.to_string());
                return None;
            }
        };
        let Some(look) = self.fitting_look() else {
            self.say("the sketch is still being read");
            return None;
        };
        let document = self.document();
        match come_back(document, &look.desk(document), &look.song, &back) {
            Ok(found) => Some(Follow::CameBack(Box::new(found))),
            Err(why) => {
                self.say(why.to_string());
                None
            }
        }
    }

    /// Locks what was changed elsewhere.
    pub fn take_back(&mut self, back: CameBack) {
        if *self.document() != back.before {
            self.say("the show was changed meanwhile; bring the draft in again");
            return;
        }
        self.leave_solve();
        if back.after.sketch != back.before.sketch {
            self.select(None);
            self.sketch_notes.clear();
            self.proof = None;
        }
        self.change("lock what was changed elsewhere", back.after);
        self.say("what was changed elsewhere is locked: solve to fit the rest (Ctrl+Enter)");
    }
}
