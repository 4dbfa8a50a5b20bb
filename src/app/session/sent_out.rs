//! What leaves the window besides MIDI: the score, single parts, the director's sheet, the practice page of a part.

use super::Session;
use super::files::Kind;
use crate::cli::score_files::ScoreFiles;
use crate::export::Existing;
use crate::export::page::PageForm;
use crate::project::directors_sheet::sheet_of_show;
use crate::project::practice_page::page_of_part;
use crate::project::standing::Look;
use std::path::Path;

impl Session {
    /// The look that holds for the show as it is now; where there is none yet, that is told.
    fn look_to_send(&mut self) -> Option<&Look> {
        let document = self.document();
        let current = |l: &&Look| *document == l.document;
        let is_there = self.fitting_look().filter(current).is_some();
        if !is_there {
            self.say("the show is still being worked out; send it out in a moment");
            return None;
        }
        self.fitting_look()
    }

    /// Writes the draft as a score, or every part by itself into a folder.
    pub fn send_out_score(&mut self, kind: Kind, path: &Path, existing: Existing) {
        let files = if kind == Kind::Parts {
            ScoreFiles::parts(path)
        } else {
            ScoreFiles::score(path)
        };
        let Some(look) = self.look_to_send() else {
            return;
        };
        let input = look.score(&look.document, false);
        let told = match files.write(&input, existing) {
            Ok(()) => files.told().join("; "),
            Err(error) => error.to_string(),
        };
        self.say(told);
    }

    /// Writes the director's sheet, as a page or as Markdown by the file's ending.
    pub fn send_out_sheet(&mut self, path: &Path, existing: Existing) {
        let form = PageForm::of(path).unwrap_or(PageForm::Html);
        let Some(look) = self.look_to_send() else {
            return;
        };
        let text = sheet_of_show(look, form, true);
        self.written("the director's sheet", path, &text, existing);
    }

    /// Writes the practice page of the first part that is selected.
    pub fn send_out_practice(&mut self, path: &Path, existing: Existing) {
        let part = self.selection.as_ref();
        let Some(part) = part.and_then(|s| s.parts.first().copied()) else {
            self.say("select a part first; its practice page is written");
            return;
        };
        let Some(look) = self.look_to_send() else {
            return;
        };
        if let Some(text) = page_of_part(look, part) {
            self.written("the practice page", path, &text, existing);
        }
    }
}
