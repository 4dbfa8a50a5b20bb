//! Any text in names, remarks and reasons stays text on both kinds of pages.

use super::{all, asks_for_nothing, by_id, demo, parsed, text};
use bandwright::band::PartId;
use bandwright::export::{directors_html, directors_markdown, practice_html};
use bandwright::project::directors_sheet::directors_sheet;
use bandwright::project::drafted::Drafted;
use bandwright::project::practice_page::practice_page;
use proptest::prelude::*;

/// How a text is told: on one line, what XML cannot hold replaced.
fn told(words: &str) -> String {
    let plain: String = words
        .chars()
        .map(|c| match c {
            c if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') => ' ',
            '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
            c => c,
        })
        .collect();
    plain.trim().to_owned()
}

fn any_words() -> impl Strategy<Value = String> {
    let nasty = [
        "<script>alert(1)</script>",
        "]]>",
        "--><b>",
        "a | b\n# c",
        "\" onload=\"x",
        "*x* _y_ `z` [q](r)",
        "1. one",
        "- two",
        "&amp;",
        "\u{0}\u{7f}\u{fffe}",
    ];
    prop_oneof![
        "\\PC{0,20}",
        any::<String>(),
        prop::sample::select(nasty.to_vec()).prop_map(str::to_owned)
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn typed_text_stays_text(title in any_words(), name in any_words(), said in any_words()) {
        let mut sheet = directors_sheet(&Drafted::of(demo()), true);
        sheet.title.clone_from(&title);
        sheet.band.clone_from(&name);
        sheet.note.clone_from(&said);
        sheet.parts[0].name.clone_from(&name);
        sheet.parts[0].stave.name.clone_from(&name);
        sheet.parts[0].remarks = vec![said.clone()];
        sheet.parts[0].away = vec![name.clone()];
        sheet.findings[0].message.clone_from(&said);
        sheet.rehearse[0].causes = vec![said.clone()];
        let page = directors_html(&sheet);
        if !page.to_lowercase().contains("http") {
            asks_for_nothing(&page);
        }
        let xml = parsed(&page);
        prop_assert_eq!(text(all(xml.root(), "h1")[0]), told(&title));
        let row = all(by_id(&xml, "band"), "tr")[1];
        let cells: Vec<String> = all(row, "td").iter().map(|c| text(*c)).collect();
        prop_assert_eq!(&cells[0], &told(&name));
        prop_assert_eq!(&cells[2], &told(&name));
        prop_assert_eq!(&cells[3], &told(&said));
        // As many lines of each kind as with plain words.
        let mut plain = sheet.clone();
        for words in [&mut plain.title, &mut plain.band, &mut plain.note, &mut plain.parts[0].name] {
            *words = "x".to_owned();
        }
        plain.parts[0].remarks = vec!["x".to_owned()];
        plain.parts[0].away = vec!["x".to_owned()];
        plain.findings[0].message = "x".to_owned();
        plain.rehearse[0].causes = vec!["x".to_owned()];
        if said.trim().is_empty() {
            plain.note.clear();
        }
        let lines = |markdown: &str, start: &str| markdown.lines().filter(|l| l.starts_with(start)).count();
        let (one, other) = (directors_markdown(&sheet), directors_markdown(&plain));
        for start in ["# ", "## ", "### ", "- ", "| "] {
            prop_assert_eq!(lines(&one, start), lines(&other, start), "{}", start);
        }
        for row in one.lines().filter(|l| l.starts_with("| ")) {
            let cells = row.replace("\\\\", "").replace("\\|", "");
            prop_assert!(!cells.contains('<'.to_string().as_str()) || cells.contains("\\<"));
        }
    }

    #[test]
    fn practice_pages_too(title in any_words(), name in any_words(), mark in any_words()) {
        let mut page = practice_page(&Drafted::of(demo()), PartId(0)).unwrap();
        page.title.clone_from(&title);
        page.part.clone_from(&name);
        page.line.marks = vec![(bandwright::music::Tick(0), mark.clone())];
        page.in_turns = vec![mark.clone()];
        let html = practice_html(&page);
        let xml = parsed(&html);
        let head = format!("{title}: {name}");
        prop_assert_eq!(text(all(xml.root(), "h1")[0]), told(&head));
        let points = all(by_id(&xml, "rests"), "li");
        prop_assert_eq!(text(points[0]), told(&mark));
    }
}
