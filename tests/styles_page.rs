//! The page of styles and weights, and the command that makes its table.

use crate::command_line::Place;
use bandwright::voicing::Term;
use bandwright::voicing::styles::{style, style_words};

const PAGE: &str = include_str!("../presets/styles/README.md");

/// The cells of the rows of the page's table of terms.
fn rows() -> Vec<Vec<&'static str>> {
    let after = PAGE.split("| when doubled |").nth(1).unwrap();
    let rows = after.lines().skip(2).take_while(|l| l.starts_with('|'));
    let cells = |row: &'static str| row.trim_matches('|').split('|').map(str::trim).collect();
    rows.map(cells).collect()
}

#[test]
fn the_page_has_a_row_for_every_term_as_it_is() {
    let rows = rows();
    assert_eq!(rows.len(), Term::ALL.len());
    for (term, row) in Term::ALL.iter().zip(rows) {
        let facts = term.facts();
        assert_eq!(row[0], format!("{} `{}`", facts.name, term.key()));
        assert_eq!(row[1..3], [facts.unit, &facts.weight.to_string()]);
        assert!(!row[3].is_empty() && !row[4].is_empty(), "{row:?}");
        assert_eq!(row[5], facts.source);
    }
}

#[test]
fn the_page_names_every_style_and_how_its_table_is_made_anew() {
    for word in style_words() {
        let row = format!("| `{word}` | {} |", style(word).unwrap().name);
        assert!(PAGE.contains(&row), "{row}");
    }
    assert!(PAGE.contains("bandwright styles --doubled"));
}

#[test]
fn styles_lists_styles_and_terms_and_shows_one_as_a_file_to_start_from() {
    let place = Place::new();
    let said = |words: &[&str]| {
        let output = place.run(words);
        assert!(output.status.success(), "{output:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let list = said(&["styles"]);
    for word in style_words() {
        assert!(list.contains(&format!("\n{word} ")) || list.starts_with(word));
    }
    let terms = said(&["styles", "--terms"]);
    for term in Term::ALL {
        let facts = term.facts();
        for what in [term.key().as_str(), facts.unit, facts.source] {
            assert!(terms.contains(what), "{what}");
        }
    }
    let file = said(&["styles", "dark"]);
    std::fs::write(place.path("mine.toml"), file).unwrap();
    said(&[
        "voice",
        "--style",
        "mine.toml",
        "--style",
        "close",
        "--out",
        "a.mid",
    ]);
    said(&[
        "voice", "--style", "dark", "--style", "close", "--out", "b.mid",
    ]);
    let bytes = |name| std::fs::read(place.path(name)).unwrap();
    assert_eq!(bytes("a.mid"), bytes("b.mid"));
}

#[test]
fn an_unknown_style_and_a_faulty_file_are_refused() {
    let place = Place::new().with("mine.toml", b"name = \"mine\"\n[weights]\nmotoin = 1\n");
    place.refuses(&["voice", "--style", "corale"], "did you mean `chorale`?");
    place.refuses(&["styles", "corale"], "did you mean `chorale`?");
    place.refuses(
        &["voice", "--style", "mine.toml"],
        "mine.toml, line 3: unknown term `motoin`; did you mean `motion`?",
    );
    place.refuses(
        &["voice", "--style", "mine.toml", "--out", "mine.toml"],
        "mine.toml",
    );
}
