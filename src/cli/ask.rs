//! `bandwright ask`: the form for the director, on paper and as a table.

use super::Failure;
use super::files;
use crate::band::write_csv;
use crate::export::safe_write::may_write;
use crate::export::{questionnaire, safe_write_all};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `ask`.
#[derive(Args, Debug)]
pub struct Ask {
    /// The band: a roster file (TOML or CSV) or the name of a preset
    #[arg(long)]
    band: String,
    #[command(flatten)]
    away: files::Away,
    /// Where the form goes: a page to print, or to fill in on the screen
    #[arg(long, required_unless_present = "csv")]
    html: Option<PathBuf>,
    /// Where the table goes, to fill in with a spreadsheet; the program reads it as a band
    #[arg(long)]
    csv: Option<PathBuf>,
    /// Replace files that are there already
    #[arg(long)]
    force: bool,
}

impl Ask {
    /// Runs the command.
    ///
    /// # Errors
    /// Where the band cannot be used or a file cannot be written; then none was.
    pub fn run(self) -> Result<ExitCode, Failure> {
        self.refuse_output_on_input()?;
        let band = files::band_without(&self.band, &self.away)?;
        let page = self.html.as_ref().map(|path| (path, questionnaire(&band)));
        let table = self.csv.as_ref().map(|path| (path, write_csv(&band)));
        let mut outputs = Vec::new();
        for (path, text) in [&page, &table].into_iter().flatten() {
            let existing = files::ask_to_replace(path, self.force);
            may_write(path, existing)?;
            outputs.push((path.as_path(), text.as_bytes(), existing));
        }
        safe_write_all(&outputs)?;
        if let Some((path, _)) = page {
            let path = path.display();
            files::say(&format!(
                "form written to {path}; print it, or fill it in on the screen"
            ))?;
        }
        if let Some((path, _)) = table {
            files::overrides_left_out(&band);
            let path = path.display();
            files::say(&format!(
                "table written to {path}; filled in, it is a band: --band {path}"
            ))?;
        }
        Ok(ExitCode::SUCCESS)
    }

    fn refuse_output_on_input(&self) -> Result<(), Failure> {
        for output in [&self.html, &self.csv].into_iter().flatten() {
            files::refuse_over_inputs(output, &[files::roster_file(&self.band)])?;
        }
        match &self.csv {
            Some(csv) => files::refuse_over_inputs(csv, &[self.html.as_deref()]),
            None => Ok(()),
        }
    }
}
