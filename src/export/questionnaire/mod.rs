//! The form for the director: what the program needs to know of each section, on paper.
//!
//! One page of HTML that needs nothing else: it prints, it can be filled in on the screen, and it
//! shows what the roster says already. Each answer names the column of the table that takes it.

mod block;
mod html;
mod questions;
mod stave_place;
mod style;

pub use stave_place::stave_place;

use crate::band::{Band, Section, same_name};
use block::block;
use html::{escaped, ruled};
use questions::{QUESTIONS, Question};
use style::STYLE;

/// The form of a band.
///
/// ```
/// use bandwright::band::preset;
/// use bandwright::export::questionnaire;
/// let page = questionnaire(&preset("thin").unwrap());
/// assert!(page.starts_with("<!DOCTYPE html>") && page.contains("Clarinet 3"));
/// ```
#[must_use]
pub fn questionnaire(band: &Band) -> String {
    let blocks: String = groups(&band.roster.sections)
        .iter()
        .enumerate()
        .map(|(number, group)| block(band, number + 1, group))
        .collect();
    let name = escaped(&band.name);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>Questions about {name}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n\
         {head}{blocks}{foot}</main>\n</body>\n</html>\n",
        head = head(band),
        foot = foot(band),
    )
}

/// Sections and parts that are asked about together, with their indices in the roster: parts of one
/// instrument that are called alike but for a number.
fn groups(sections: &[Section]) -> Vec<Vec<(usize, &Section)>> {
    let mut groups: Vec<Vec<(usize, &Section)>> = Vec::new();
    for (index, section) in sections.iter().enumerate() {
        let same = |g: &&mut Vec<(usize, &Section)>| {
            g.first().is_some_and(|(_, first)| {
                first.instrument.id == section.instrument.id
                    && same_name(stem(&first.name)) == same_name(stem(&section.name))
            })
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push((index, section)),
            None => groups.push(vec![(index, section)]),
        }
    }
    groups.sort_by_key(|g| g.first().map(|(_, s)| s.instrument.score_order));
    groups
}

/// A name without the number behind it.
fn stem(name: &str) -> &str {
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    stem.trim_end()
}

fn head(band: &Band) -> String {
    let fits = |q: &&Question| band.roster.sections.iter().any(|s| (q.fits)(s));
    let questions: String = QUESTIONS.iter().filter(fits).map(explained).collect();
    format!(
        "<header>\n<h1>Who will play this?</h1>\n\
         <p class=\"band\">{}</p>\n\
         <div class=\"signed\">\n{}{}{}</div>\n\
         <p>Dear director: the music is going to be written for your players as they are now. What you \
         write here becomes a limit that the draft keeps. <strong>Leave empty what you have nothing to \
         say about;</strong> what we know already is filled in, so please correct it.</p>\n\
         <p><strong>Levels:</strong> <b>first-year</b>, in the first year of playing; \
         <b>second-year</b>; <b>intermediate</b>, about years three and four; <b>advanced</b>, a solid \
         high-school player; <b>all-state</b>, would win a place in an all-state band. \
         <strong>Notes</strong> are written as the player reads them, with the octave: C4 is middle C, \
         the C in the third space of the treble clef is C5; flats are Bb, sharps F#.</p>\n\
         <dl class=\"how\">\n{questions}</dl>\n</header>\n",
        escaped(&band.name),
        ruled("Director", "director"),
        ruled("Date", "date"),
        ruled("Program or show", "show"),
    )
}

/// What a question means, and which column of the table takes the answer.
fn explained(question: &Question) -> String {
    format!(
        "<div id=\"{}\"><dt>{} <code>{}</code></dt><dd>{}</dd></div>\n",
        question.id(),
        question.ask,
        question.column,
        question.help
    )
}

fn foot(band: &Band) -> String {
    format!(
        "<section class=\"block wide\" aria-labelledby=\"rest\">\n<h2 id=\"rest\">The whole band</h2>\n\
         <div class=\"whole\"><label for=\"whole\">Players who are missing above; instruments you are \
         short of; who is away and when; marching, heat, the room; anything else</label>\n\
         <textarea id=\"whole\" rows=\"4\">{}</textarea></div>\n</section>\n\
         <footer>\n<p><strong>Care.</strong> Of braces or an injury we need to know only that we should \
         go easy. What a player may do is for you, the family and the player's doctor or dentist to \
         decide, and pain is always a reason to stop. This form is about young people: keep it where \
         you keep other student records.</p>\n</footer>\n",
        escaped(&band.note)
    )
}
