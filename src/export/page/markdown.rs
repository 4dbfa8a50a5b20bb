//! A page as Markdown (CommonMark, with tables as many programs read them). Everything that was typed goes through
//! [`escaped`].

use super::{Block, Card, Figure, Page, PageSection, Table, on_one_line};
use std::fmt::Write as _;

/// The text of the page.
#[must_use]
pub fn markdown_page(page: &Page) -> String {
    let mut text = format!("# {}\n", escaped(&page.title));
    // Writing to a string cannot fail, here and below.
    for line in &page.under {
        let _ = write!(text, "\n{}\n", escaped(line));
    }
    page.sections.iter().for_each(|s| section(&mut text, s));
    text
}

fn section(text: &mut String, section: &PageSection) {
    let _ = write!(text, "\n## {}\n", escaped(&section.title));
    section.blocks.iter().for_each(|b| block(text, b));
}

fn block(text: &mut String, block: &Block) {
    match block {
        Block::Text(words) | Block::Small(words) => {
            let _ = write!(text, "\n{}\n", escaped(words));
        }
        Block::List(points) => {
            text.push('\n');
            for point in points {
                let _ = writeln!(text, "- {}", escaped(point));
            }
        }
        Block::Facts(facts) => {
            text.push('\n');
            for (name, said) in facts {
                let said: Vec<String> = said.iter().map(|s| escaped(s)).collect();
                let _ = match &said[..] {
                    [one] => writeln!(text, "- **{}**: {one}", escaped(name)),
                    all => writeln!(text, "- **{}**:\n  - {}", escaped(name), all.join("\n  - ")),
                };
            }
        }
        Block::Table(all) => table(text, all),
        Block::Card(one) => card(text, one),
        Block::Figure(one) => figure(text, one),
        Block::Notation(systems) => {
            let _ = write!(
                text,
                "\nThe line as notation, {} systems, is on the page in HTML.\n",
                systems.len()
            );
        }
    }
}

fn table(text: &mut String, table: &Table) {
    if table.rows.is_empty() {
        return;
    }
    let row = |cells: &mut dyn Iterator<Item = String>| {
        let cells: Vec<String> = cells.collect();
        format!("| {} |\n", cells.join(" | "))
    };
    text.push('\n');
    text.push_str(&row(&mut table
        .head
        .iter()
        .map(|(words, _)| escaped(words))));
    let rule = |(_, number): &(&str, bool)| if *number { "--:" } else { "---" }.to_owned();
    text.push_str(&row(&mut table.head.iter().map(rule)));
    for cells in &table.rows {
        text.push_str(&row(&mut cells.iter().map(|c| escaped(c))));
    }
}

fn card(text: &mut String, card: &Card) {
    let _ = write!(text, "\n### {}\n", escaped(&card.title));
    if !card.under.is_empty() {
        let _ = write!(text, "\n{}\n", escaped(&card.under));
    }
    card.left.iter().for_each(|b| block(text, b));
    card.blocks.iter().for_each(|b| block(text, b));
    if let Some(one) = &card.figure {
        figure(text, one);
    }
}

fn figure(text: &mut String, figure: &Figure) {
    let _ = write!(text, "\n{}\n", escaped(&figure.caption));
    table(text, &figure.table);
}

/// A text for Markdown, on one line: what could be taken for a sign of the form has a backslash before it (every
/// punctuation mark of ASCII may), and control characters become blanks.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in on_one_line(text).chars() {
        match c {
            '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '<' | '>' | '#' | '|' | '~' | '&'
            | '!' | '$' | '^' | '@' => {
                safe.push('\\');
                safe.push(c);
            }
            c => safe.push(c),
        }
    }
    // A sign of a list, or a rule, at the beginning of a line.
    let digits = safe.trim_start_matches(|c: char| c.is_ascii_digit());
    if safe.starts_with(['-', '+', '=']) {
        return format!("\\{safe}");
    }
    if digits.len() < safe.len() && digits.starts_with(['.', ')']) {
        let number = safe.len() - digits.len();
        return format!("{}\\{digits}", &safe[..number]);
    }
    safe
}
