//! `bandwright part`: the practice page of one part.

use super::Failure;
use super::chance::find_part;
use super::draft_of::DraftOf;
use super::files;
use crate::export::page::PageForm;
use crate::export::safe_write::may_write;
use crate::export::{practice_html, safe_write};
use crate::project::practice_page::practice_page;
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `part`.
#[derive(Args, Debug)]
pub struct PartOf {
    #[command(flatten)]
    draft: DraftOf,
    /// The part, as the band names it: "Clarinet 3"
    part: String,
    /// Where the practice page goes: its line as notation, hard spots, tempos to practise at, rests to count
    #[arg(long, value_name = "FILE")]
    html: PathBuf,
    /// Replace the file if it is there already
    #[arg(long)]
    force: bool,
}

impl PartOf {
    /// Runs the command.
    ///
    /// # Errors
    /// On bad input, or where the page cannot be written; then nothing was written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        if PageForm::of(&self.html) != Some(PageForm::Html) {
            return Err(Failure::PageKind(self.html.display().to_string(), ".html"));
        }
        self.draft.refuse_over_inputs(&self.html)?;
        let existing = files::ask_to_replace(&self.html, self.force);
        may_write(&self.html, existing)?;
        let taken = self.draft.take()?;
        let drafted = taken.drafted();
        let (id, part) = find_part(drafted.band, &self.part)?;
        let page = practice_page(&drafted, id).ok_or_else(|| Failure::Part {
            part: self.part.clone(),
            band: drafted.band.name.clone(),
            hint: String::new(),
        })?;
        safe_write(&self.html, practice_html(&page).as_bytes(), existing)?;
        files::notes(taken.warnings());
        let spots = page.spots.len();
        let s = if spots == 1 { "" } else { "s" };
        files::say(&format!(
            "practice page of {} with {spots} hard spot{s} written to {}",
            part.name,
            self.html.display()
        ))?;
        Ok(ExitCode::SUCCESS)
    }
}
