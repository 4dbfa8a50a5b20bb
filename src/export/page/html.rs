//! A page as HTML: one file that asks for no other, well-formed as XML is. Everything that was typed goes through
//! [`escaped`].

use super::style::{NOTATION, STYLE};
use super::{Block, Card, Figure, Page, PageSection, Table, on_one_line};
use crate::export::font_face::font_face;
use crate::export::svg;
use std::fmt::Write as _;

/// The text of the page.
#[must_use]
pub fn html_page(page: &Page) -> String {
    let title = escaped(&page.title);
    let under: String = page
        .under
        .iter()
        .map(|line| paragraph("under", line))
        .collect();
    let sections: String = page.sections.iter().map(section).collect();
    let (notation, notice) = if page.notation {
        font_face()
    } else {
        (String::new(), "")
    };
    let marks = if page.notation { NOTATION } else { "" };
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n\
         <title>{title}</title>\n{notice}<style>\n{STYLE}{marks}{notation}</style>\n</head>\n<body>\n<main>\n\
         <header>\n<h1>{title}</h1>\n{under}</header>\n{sections}</main>\n</body>\n</html>\n"
    )
}

/// A text for a page, between tags or in quotes.
fn escaped(text: &str) -> String {
    svg::escaped(&on_one_line(text))
}

fn paragraph(class: &str, words: &str) -> String {
    let class = if class.is_empty() {
        String::new()
    } else {
        format!(" class=\"{class}\"")
    };
    format!("<p{class}>{}</p>\n", escaped(words))
}

fn section(section: &PageSection) -> String {
    let PageSection { id, title, blocks } = section;
    let blocks: String = blocks.iter().map(block).collect();
    format!(
        "<section id=\"{id}\" aria-labelledby=\"{id}-head\">\n<h2 id=\"{id}-head\">{}</h2>\n{blocks}</section>\n",
        escaped(title)
    )
}

fn block(block: &Block) -> String {
    match block {
        Block::Text(words) => paragraph("", words),
        Block::Small(words) => paragraph("small", words),
        Block::List(points) => list(points),
        Block::Facts(facts) => all_facts(facts),
        Block::Table(all) => table(all),
        Block::Card(one) => card(one),
        Block::Figure(one) => figure(one),
        Block::Notation(systems) => {
            let all: String = systems
                .iter()
                .map(|s| format!("<div class=\"line\">{s}</div>\n"))
                .collect();
            format!("<div class=\"notation\">\n{all}</div>\n")
        }
    }
}

fn list(points: &[String]) -> String {
    let points: String = points
        .iter()
        .map(|p| format!("<li>{}</li>\n", escaped(p)))
        .collect();
    format!("<ul>\n{points}</ul>\n")
}

fn all_facts(facts: &[(String, Vec<String>)]) -> String {
    let mut text = String::from("<dl>\n");
    for (name, said) in facts {
        // Writing to a string cannot fail.
        let _ = write!(text, "<div><dt>{}</dt>", escaped(name));
        for one in said {
            let _ = write!(text, "<dd>{}</dd>", escaped(one));
        }
        text.push_str("</div>\n");
    }
    text + "</dl>\n"
}

fn table(table: &Table) -> String {
    let class = |column: usize| match table.head.get(column) {
        Some((_, true)) => " class=\"number\"",
        _ => "",
    };
    let heads: String = table
        .head
        .iter()
        .enumerate()
        .map(|(i, (words, _))| format!("<th scope=\"col\"{}>{}</th>", class(i), escaped(words)))
        .collect();
    let cell = |(i, words): (usize, &String)| format!("<td{}>{}</td>", class(i), escaped(words));
    let row = |cells: &Vec<String>| {
        let cells: String = cells.iter().enumerate().map(cell).collect();
        format!("<tr>{cells}</tr>\n")
    };
    let rows: String = table.rows.iter().map(row).collect();
    format!(
        "<table class=\"{}\">\n<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n",
        table.class
    )
}

fn card(card: &Card) -> String {
    let under = if card.under.is_empty() {
        String::new()
    } else {
        format!(" <span class=\"beside\">{}</span>", escaped(&card.under))
    };
    let figure = card.figure.as_ref().map_or(String::new(), figure);
    let left: String = card.left.iter().map(block).collect();
    let blocks: String = card.blocks.iter().map(block).collect();
    format!(
        "<article class=\"card\">\n<h3>{}{under}</h3>\n<div class=\"beside-figure\">\n<div class=\"drawn\">\n{figure}{left}</div>\n<div class=\"said\">\n{blocks}</div>\n</div>\n</article>\n",
        escaped(&card.title)
    )
}

fn figure(figure: &Figure) -> String {
    format!(
        "<figure>\n{}<figcaption>{}</figcaption>\n</figure>\n",
        figure.svg,
        escaped(&figure.caption)
    )
}
