//! The block of a section: its questions as rows, its parts as columns.

use super::html::escaped;
use super::questions::{Asked, QUESTIONS, Question};
use super::stem;
use crate::band::{Band, Section};

/// Most parts side by side.
const MOST_COLUMNS: usize = 3;

/// The block of some sections or parts of one instrument.
pub(super) fn block(band: &Band, number: usize, group: &[(usize, &Section)]) -> String {
    let Some((_, first)) = group.first() else {
        return String::new();
    };
    let name = match group.len() {
        1 => first.name.as_str(),
        _ => stem(&first.name),
    };
    let width = if group.len() > 1 { "wide" } else { "narrow" };
    let tables: String = group
        .chunks(MOST_COLUMNS)
        .map(|columns| table(band, columns))
        .collect();
    let instrument = &first.instrument.name;
    let named = if name.eq_ignore_ascii_case(instrument) {
        String::new()
    } else {
        format!(" <span class=\"instrument\">{}</span>", escaped(instrument))
    };
    format!(
        "<section class=\"block {width}\" aria-labelledby=\"s{number}\">\n\
         <h2 id=\"s{number}\">{}{named}</h2>\n{tables}</section>\n",
        escaped(name)
    )
}

fn table(band: &Band, columns: &[(usize, &Section)]) -> String {
    let asked: Vec<Asked<'_>> = columns
        .iter()
        .map(|(index, section)| Asked {
            band,
            index: *index,
            section,
        })
        .collect();
    let heads: String = asked
        .iter()
        .map(|a| format!("<th scope=\"col\">{}</th>", escaped(&a.section.name)))
        .collect();
    // One part needs no second heading.
    let class = if asked.len() > 1 {
        ""
    } else {
        " class=\"hidden\""
    };
    let fits = |q: &&Question| asked.iter().any(|a| (q.fits)(a.section));
    let rows: String = QUESTIONS
        .iter()
        .filter(fits)
        .map(|q| row(q, &asked))
        .collect();
    format!(
        "<table>\n<colgroup><col class=\"question\"></colgroup>\n<thead{class}><tr><th scope=\"col\"><span class=\"hidden\">Question</span></th>{heads}</tr></thead>\n\
         <tbody>\n{rows}</tbody>\n</table>\n"
    )
}

fn row(question: &Question, asked: &[Asked<'_>]) -> String {
    let answers: String = asked
        .iter()
        .map(|a| format!("<td>{}</td>", (question.answer)(a)))
        .collect();
    format!(
        "<tr><th scope=\"row\" aria-describedby=\"{}\">{}</th>{answers}</tr>\n",
        question.id(),
        question.ask
    )
}
