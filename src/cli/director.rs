//! `bandwright director`: the director's sheet of a draft, as a page to pin up or as Markdown.

use super::Failure;
use super::draft_of::DraftOf;
use super::files;
use crate::export::page::PageForm;
use crate::export::safe_write::may_write;
use crate::export::{directors_html, directors_markdown, safe_write};
use crate::project::directors_sheet::directors_sheet;
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `director`.
#[derive(Args, Debug)]
pub struct Director {
    #[command(flatten)]
    draft: DraftOf,
    /// Where the sheet goes: a page to print (.html), or Markdown (.md)
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Name nobody, not even players of the roster who are away
    #[arg(long)]
    no_names: bool,
    /// Replace the file if it is there already
    #[arg(long)]
    force: bool,
}

impl Director {
    /// Runs the command.
    ///
    /// # Errors
    /// On bad input, or where the sheet cannot be written; then nothing was written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let form = PageForm::of(&self.out);
        let form =
            form.ok_or_else(|| Failure::PageKind(self.out.display().to_string(), ".html or .md"))?;
        self.draft.refuse_over_inputs(&self.out)?;
        let existing = files::ask_to_replace(&self.out, self.force);
        may_write(&self.out, existing)?;
        let taken = self.draft.take()?;
        let sheet = directors_sheet(&taken.drafted(), !self.no_names);
        let text = match form {
            PageForm::Html => directors_html(&sheet),
            PageForm::Markdown => directors_markdown(&sheet),
        };
        safe_write(&self.out, text.as_bytes(), existing)?;
        files::notes(taken.warnings());
        files::say(&format!(
            "director's sheet of {} parts, {} bars, written to {}",
            sheet.parts.len(),
            sheet.bars,
            self.out.display()
        ))?;
        Ok(ExitCode::SUCCESS)
    }
}
