//! Styles: a few weights by the names of their terms, from `presets/styles` or a file of one's own.

use super::terms::{Term, Weights};
use crate::band::toml_lines::{Lines, TableAt};
use crate::band::{RosterError, nearest};
use crate::plan::{PlanWeights, Term as PlanTerm};
use thiserror::Error;
use toml::de::DeTable;

/// The most points a unit that a file may give a term (ours): five orders of magnitude under what stands for
/// a limit, so that no style buys a way over one.
const MOST_POINTS: f64 = 100.0;
/// A file may make a term of the plan count so many times as much as usual at the most (ours).
const MOST_TIMES: f64 = 20.0;
/// Most letters of a style's own words.
const MOST_LETTERS: usize = 400;

const KEYS: [&str; 5] = ["name", "what", "source", "weights", "plan"];

/// Words and texts of the styles that come with the program, in the order in which they are listed.
const PRESETS: [(&str, &str); 9] = [
    ("close", include_str!("../../presets/styles/close.toml")),
    ("open", include_str!("../../presets/styles/open.toml")),
    ("spread", include_str!("../../presets/styles/spread.toml")),
    ("chorale", include_str!("../../presets/styles/chorale.toml")),
    ("melody", include_str!("../../presets/styles/melody.toml")),
    ("unison", include_str!("../../presets/styles/unison.toml")),
    ("pyramid", include_str!("../../presets/styles/pyramid.toml")),
    ("bright", include_str!("../../presets/styles/bright.toml")),
    ("dark", include_str!("../../presets/styles/dark.toml")),
];

/// A style: some terms of the chords or of the plan that weigh something else than usual.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Style {
    /// What it is called: `close position`.
    pub name: String,
    /// What it is for, in a sentence.
    pub what: String,
    /// Where rule and weights come from.
    pub source: String,
    /// Points a unit, by term, in the order of the terms.
    pub weights: Vec<(Term, f64)>,
    /// How many times as much as usual terms of the plan count, in the order of the terms.
    pub plan: Vec<(PlanTerm, f64)>,
}

/// What is wrong with a style, and on which line.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("line {line}: {text}")]
pub struct StyleError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there and what to do.
    pub text: String,
}

impl From<RosterError> for StyleError {
    fn from(error: RosterError) -> Self {
        let RosterError { line, text } = error;
        Self { line, text }
    }
}

/// The words of the styles that come with the program.
pub fn style_words() -> impl Iterator<Item = &'static str> {
    PRESETS.iter().map(|(word, _)| *word)
}

/// A style that comes with the program, by its word (`close`) or its name (`close position`).
///
/// # Errors
/// If there is none; with the nearest one, in words.
///
/// ```
/// use bandwright::voicing::styles::style;
/// assert_eq!(style("close").unwrap().name, "close position");
/// assert_eq!(style("close position"), style("close"));
/// let error = style("corale").unwrap_err();
/// assert_eq!(error, "no style is named `corale`; did you mean `chorale`?");
/// ```
pub fn style(name: &str) -> Result<Style, String> {
    for (word, text) in PRESETS {
        let read = read_style(text).map_err(|e| format!("style `{word}`, {e}"))?;
        if word == name || read.name == name {
            return Ok(read);
        }
    }
    let shown = name.replace(char::is_control, "\u{fffd}");
    let near = nearest(name, style_words()).map_or_else(
        || {
            let words: Vec<&str> = style_words().collect();
            format!("; there are `{}`", words.join("`, `"))
        },
        |near| format!("; did you mean `{near}`?"),
    );
    Err(format!("no style is named `{shown}`{near}"))
}

/// The file of a style that comes with the program, to start one's own from.
///
/// # Errors
/// As [`style`].
pub fn style_source(name: &str) -> Result<&'static str, String> {
    let own = style(name)?;
    let is = |text: &str| read_style(text).is_ok_and(|read| read == own);
    let found = PRESETS.iter().find(|(_, text)| is(text));
    found.map_or(Ok(""), |(_, text)| Ok(*text))
}

/// Reads a style (form: `presets/README.md`).
///
/// # Errors
/// On the first thing that is not of that form, with its line and, for an unknown term, the nearest one.
///
/// ```
/// use bandwright::voicing::{Term, styles::read_style};
/// let text = "name = \"mine\"\nwhat = \"Calm parts.\"\n[weights]\nmotion = 1.5\n";
/// assert_eq!(read_style(text).unwrap().weights, [(Term::Motion, 1.5)]);
/// let error = read_style(&text.replace("motion", "motoin")).unwrap_err().to_string();
/// assert_eq!(error, "line 4: unknown term `motoin`; did you mean `motion`?");
/// ```
pub fn read_style(text: &str) -> Result<Style, StyleError> {
    let lines = Lines(text);
    let document = DeTable::parse(text).map_err(|e| StyleError {
        line: e.span().map_or(1, |span| lines.line(span.start)),
        text: e.message().replace(char::is_control, " "),
    })?;
    let top = TableAt {
        table: document.get_ref(),
        line: 1,
    };
    lines.only(top, &KEYS, "key")?;
    let words = |key: &str| -> Result<Option<String>, StyleError> {
        let Some(value) = top.get(key) else {
            return Ok(None);
        };
        let words = lines.text(value, key)?.trim();
        if words.is_empty() || words.chars().count() > MOST_LETTERS {
            let text = format!("`{key}` must have 1 to {MOST_LETTERS} letters");
            return Err(fail(lines.of(value), text));
        }
        Ok(Some(words.replace(char::is_control, " ")))
    };
    top.need("name")?;
    let (weights, plan) = (weights(lines, top)?, plan(lines, top)?);
    if weights.is_empty() && plan.is_empty() {
        let text = "a style changes at least one weight, under `[weights]` or `[plan]`; `bandwright styles --terms` lists the terms";
        let line = top.get("weights").map_or(top.line, |w| lines.of(w));
        return Err(fail(line, text));
    }
    Ok(Style {
        name: words("name")?.unwrap_or_default(),
        what: words("what")?.unwrap_or_default(),
        source: words("source")?.unwrap_or_else(|| "the style's own file".to_owned()),
        weights,
        plan,
    })
}

fn fail(line: usize, text: impl Into<String>) -> StyleError {
    // Words of the file are quoted in it: nothing of theirs may steer a terminal.
    let text = text.into().replace(char::is_control, "\u{fffd}");
    StyleError { line, text }
}

/// The numbers of a table by the terms that its keys name, in the order of the terms; none where there is no such table.
fn numbers<T: Ord>(
    (lines, top): (Lines<'_>, TableAt<'_, '_>),
    table: &str,
    (most, unit): (f64, &str),
    term: impl Fn(&str) -> Result<T, String>,
) -> Result<Vec<(T, f64)>, StyleError> {
    let Some(value) = top.get(table) else {
        return Ok(Vec::new());
    };
    let table = lines.table(value, table)?.table;
    // The first fault in the text is the one that is told.
    let mut rows: Vec<_> = table.iter().collect();
    rows.sort_by_key(|(key, _)| key.span().start);
    let mut numbers = Vec::with_capacity(rows.len());
    for (key, value) in rows {
        let term = term(key.get_ref()).map_err(|text| fail(lines.of(key), text))?;
        let number = lines.decimal(value, key.get_ref())?;
        if !(0.0..=most).contains(&number) {
            let key = key.get_ref();
            let text = format!("`{key}` must weigh 0 to {most} {unit}; 0 switches it off");
            return Err(fail(lines.of(value), text));
        }
        numbers.push((term, number));
    }
    numbers.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(numbers)
}

fn weights(lines: Lines<'_>, top: TableAt<'_, '_>) -> Result<Vec<(Term, f64)>, StyleError> {
    numbers((lines, top), "weights", (MOST_POINTS, "points"), |key| {
        let found = Term::ALL.iter().copied().find(|t| t.key() == key);
        match found {
            Some(term) if term.is_limit() => Err(format!(
                "`{key}` stands for a limit, which no style changes; leave the line out"
            )),
            Some(term) => Ok(term),
            None => Err(unknown(key, Term::ALL.iter().map(|t| t.key()))),
        }
    })
}

fn plan(lines: Lines<'_>, top: TableAt<'_, '_>) -> Result<Vec<(PlanTerm, f64)>, StyleError> {
    numbers(
        (lines, top),
        "plan",
        (MOST_TIMES, "times as much as usual"),
        |key| {
            let found = PlanTerm::ALL.iter().copied().find(|t| t.key() == key);
            match found {
                Some(PlanTerm::NeverAlone) => Err(format!(
                    "`{key}` stands for what the director said, which no style changes; leave the line out"
                )),
                Some(term) => Ok(term),
                None => Err(unknown(key, PlanTerm::ALL.iter().map(|t| t.key()))),
            }
        },
    )
}

/// That no term has a key, with the nearest that one has.
fn unknown(key: &str, keys: impl Iterator<Item = String>) -> String {
    let keys: Vec<String> = keys.collect();
    let near = nearest(key, keys.iter().map(String::as_str)).map_or_else(
        || "; `bandwright styles --terms` lists the terms".to_owned(),
        |near| format!("; did you mean `{near}`?"),
    );
    format!("unknown term `{key}`{near}")
}

/// The weights of styles laid over one another: where two weigh the same term, the later holds.
///
/// ```
/// use bandwright::voicing::{Term, styles::{combined, style}};
/// let dark = combined(&[style("bright").unwrap(), style("dark").unwrap()]);
/// assert!(dark.points(Term::High) > 0.0);
/// ```
#[must_use]
pub fn combined<'a>(styles: impl IntoIterator<Item = &'a Style>) -> Weights {
    let all = styles.into_iter().flat_map(|s| &s.weights);
    all.fold(Weights::default(), |sum, (term, points)| {
        sum.with(*term, *points)
    })
}

/// The same for the plan.
///
/// ```
/// use bandwright::plan::Term;
/// use bandwright::voicing::styles::{combined_plan, read_style};
/// let text = "name = \"mine\"\n[plan]\npresence = 2\n";
/// let weights = combined_plan(&[read_style(text).unwrap()]);
/// assert_eq!(weights.points(Term::Presence), 2.0 * Term::Presence.points());
/// ```
#[must_use]
pub fn combined_plan<'a>(styles: impl IntoIterator<Item = &'a Style>) -> PlanWeights {
    let all = styles.into_iter().flat_map(|s| &s.plan);
    all.fold(PlanWeights::default(), |sum, (term, times)| {
        sum.scaled(*term, *times)
    })
}
