//! `bandwright styles`: the styles that come with the program, and what every term of the cost weighs.

use super::doubled::doubled;
use super::{Failure, files};
use crate::plan::Term as PlanTerm;
use crate::voicing::styles::{Style, combined, read_style, style, style_source, style_words};
use crate::voicing::{Term, Weights};
use clap::Args;
use std::path::Path;
use std::process::ExitCode;

/// Arguments of `styles`.
#[derive(Args, Debug)]
pub struct Styles {
    /// A style to show as a file, to start one of your own from [default: list the styles]
    name: Option<String>,
    /// List every term of the cost, with its unit, its weight and where that comes from
    #[arg(long, conflicts_with = "name")]
    terms: bool,
    /// Measure on the demo what happens when each weight is doubled (takes a minute or so)
    #[arg(long, conflicts_with_all = ["name", "terms"])]
    doubled: bool,
}

impl Styles {
    /// Runs the command.
    ///
    /// # Errors
    /// Where there is no such style.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let text = match self.name {
            Some(name) => style_source(&name).map_err(Failure::Style)?.to_owned(),
            None if self.terms => terms(),
            None if self.doubled => doubled()?,
            None => list()?,
        };
        files::say(text.trim_end())?;
        Ok(ExitCode::SUCCESS)
    }
}

/// How the chords are to be: styles laid over one another.
#[derive(Args, Clone, PartialEq, Eq, Debug, Default)]
pub struct InStyle {
    /// A style: the name of one that comes with the program, or a file (TOML). May be given several times; where two
    /// change the same weight, the later holds. `bandwright styles` lists them
    #[arg(long = "style", value_name = "NAME|FILE")]
    pub styles: Vec<String>,
}

impl InStyle {
    /// The styles, in order; a file comes before a style of that name.
    ///
    /// # Errors
    /// Where one is neither a file nor comes with the program, or a file is faulty.
    pub fn read(&self) -> Result<Vec<Style>, Failure> {
        self.styles.iter().map(|name| one(name)).collect()
    }

    /// The paths of those that are files.
    pub fn files(&self) -> impl Iterator<Item = &Path> {
        let paths = self.styles.iter().map(Path::new);
        paths.filter(|p| p.is_file())
    }
}

fn one(name: &str) -> Result<Style, Failure> {
    let path = Path::new(name);
    if !path.is_file() {
        return style(name).map_err(Failure::Style);
    }
    let text = files::text(path, "a style is TOML text")?;
    read_style(&text).map_err(|error| Failure::StyleFile {
        path: name.to_owned(),
        error,
    })
}

/// Every style with what it changes.
fn list() -> Result<String, Failure> {
    let mut text = String::new();
    for word in style_words() {
        let style = style(word).map_err(Failure::Style)?;
        text.push_str(&format!("{word:<9} {}\n", style.name));
        text.push_str(&format!("          {}\n", style.what));
        for (name, before, now) in changes(&style) {
            text.push_str(&format!("          {name}: {before} to {now}\n"));
        }
        for (term, times) in &style.plan {
            let name = term.name();
            text.push_str(&format!("          plan, {name}: {times} times as much\n"));
        }
        text.push_str(&format!("          source: {}\n\n", style.source));
    }
    text.push_str(
        "`voice --style NAME` uses one; several are laid over one another, the later holds where two change the same weight.\n`bandwright styles NAME` shows one as a file to start from; `--terms` lists all terms",
    );
    Ok(text)
}

/// What a style changes: each term with its usual points and its own.
fn changes(style: &Style) -> Vec<(&'static str, f64, f64)> {
    let (usual, own) = (Weights::default(), combined([style]));
    let change = |t: &Term| (t.facts().name, usual.points(*t), own.points(*t));
    let all = style.weights.iter().map(|(t, _)| change(t));
    all.collect()
}

/// Every term, as two tables: those of the chords, then those of the plan.
fn terms() -> String {
    let mut text = "Chords: points a unit, term, unit, source\n\n".to_owned();
    for term in Term::ALL {
        let facts = term.facts();
        text.push_str(&format!(
            "{:>6}  {}\n        a {}\n        {}\n",
            facts.weight,
            term.key(),
            facts.unit,
            facts.source
        ));
    }
    text.push_str(
        "\nPlan: points a unit, term, unit, source; a style says how many times as much\n\n",
    );
    for term in PlanTerm::ALL {
        let (points, key, unit, source) = (term.points(), term.key(), term.unit(), term.source());
        let name = term.name();
        text.push_str(&format!(
            "{points:>6}  {key}\n        {name}, a {unit}\n        {source}\n"
        ));
    }
    text
}
