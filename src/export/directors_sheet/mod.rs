//! The director's sheet: what is coming, on a page to pin up (HTML that needs nothing else) or as Markdown.

mod care;
mod content;
mod part_card;
mod range_figure;
mod told;
mod words;

pub use range_figure::Zone;
pub use told::{ChangeTold, DirectorsSheet, HardTold, LoadTold, PartTold, SpotTold, TuneTold};

pub(super) use care::CARE;
pub(super) use words::{
    bars_in_words, from_bars, hardest_in_words, levels_in_words, signs_in_words, span_in_words,
};

use crate::export::page::{html_page, markdown_page};

/// The sheet as a page of HTML.
#[must_use]
pub fn directors_html(sheet: &DirectorsSheet) -> String {
    html_page(&content::page(sheet))
}

/// The sheet as Markdown. It tells what the page tells.
#[must_use]
pub fn directors_markdown(sheet: &DirectorsSheet) -> String {
    markdown_page(&content::page(sheet))
}
