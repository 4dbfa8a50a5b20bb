//! Every number on the sheet is the one from the judging code; HTML and Markdown tell the same.

use super::{all, asks_for_nothing, by_id, demo, of_class, parsed, text};
use bandwright::band::{Band, PartId};
use bandwright::export::{DirectorsSheet, directors_html, directors_markdown};
use bandwright::music::{Tick, Written};
use bandwright::project::directors_sheet::directors_sheet;
use bandwright::project::drafted::Drafted;
use bandwright::review::clean::HARD_BELOW;
use bandwright::review::{exposed_moments, spots};
use roxmltree::Node;
use std::collections::BTreeMap;

fn sheet() -> DirectorsSheet {
    directors_sheet(&Drafted::of(demo()), true)
}

fn seconds(from: Tick, to: Tick) -> f64 {
    let tempo = &demo().song.tempo;
    tempo.seconds(to) - tempo.seconds(from)
}

/// `12.5 s` as a number.
fn number(words: &str) -> f64 {
    let word = words.split_whitespace().next().unwrap();
    word.trim_end_matches([',', ';']).parse().unwrap()
}

/// The number behind some words.
fn after(all: &str, words: &str) -> f64 {
    let at = all.find(words).unwrap_or_else(|| panic!("{words}: {all}"));
    number(&all[at + words.len()..])
}

#[test]
fn the_page_is_whole_and_the_same_each_time() {
    let (sheet, again) = (sheet(), sheet());
    let page = directors_html(&sheet);
    assert_eq!(page, directors_html(&again));
    assert_eq!(directors_markdown(&sheet), directors_markdown(&again));
    asks_for_nothing(&page);
    let xml = parsed(&page);
    assert_eq!(text(all(xml.root(), "h1")[0]), "Harvest Lights");
    assert_eq!(text(all(xml.root(), "title")[0]), "Harvest Lights");
}

#[test]
fn every_part_is_there_with_what_the_judging_says() {
    let look = demo();
    let (band, draft): (&Band, _) = (&look.document.band, &look.document.draft);
    let page = directors_html(&sheet());
    let xml = parsed(&page);
    let cards = all(by_id(&xml, "parts"), "article");
    assert_eq!(cards.len(), band.parts.len());
    for ((id, part), card) in band.ids().zip(cards) {
        let said = text(card);
        assert!(text(all(card, "h3")[0]).starts_with(&part.name));
        let notes = &draft.lines[id.0].notes;
        let clean = &look.judged.clean[id.0];
        assert_eq!(clean.part, id);
        if notes.is_empty() {
            assert!(said.contains("Rests from beginning to end."));
            continue;
        }
        let facts = all(card, "dl");
        let right = text(facts[1]);
        assert!(
            right.contains(&format!("Clean{:.2} on the mean", clean.mean)),
            "{right}"
        );
        assert!((after(&right, "misses about ") - clean.missed).abs() < 0.051);
        let mut from = 0;
        for spot in &clean.hardest {
            let written = part.instrument.transposition.written(spot.pitch);
            let value = spot.chance.value;
            let words = format!("{}: {written}, clean chance {value:.2}: ", spot.place);
            let at = right[from..].find(&words);
            from += at.unwrap_or_else(|| panic!("{words} is not after {from} in {right}"));
            assert!(right[from..].contains(&spot.chance.causes[0].text));
        }
        let left = text(facts[0]);
        let strain = look.judged.weighed.strains.iter().find(|s| s.part == id);
        assert_eq!(left.contains("Load"), strain.is_some(), "{left}");
        if let Some(strain) = strain {
            let weakest = strain.load.weakest().unwrap();
            let most = weakest.tired.iter().copied().fold(0.0, f64::max);
            assert!((after(&left, "tired to ") - most).abs() < 0.0051);
            let least = strain.least_reserve().unwrap();
            assert!((after(&left, "least reserve ") - least).abs() < 0.0051);
            let at = weakest.reserve.iter().position(|r| *r == least).unwrap();
            let bar = look.song.meters.bar(notes[at].onset);
            assert!(left.contains(&format!("in bar {bar}")), "{left}");
        }
    }
}

/// Seconds of each written pitch, straight from the notes.
fn times(id: PartId) -> BTreeMap<Written, f64> {
    let look = demo();
    let part = look.document.band.part(id);
    let mut times: BTreeMap<Written, f64> = BTreeMap::new();
    for note in &look.document.draft.lines[id.0].notes {
        let written = part.instrument.transposition.written(note.pitch);
        *times.entry(written).or_default() += seconds(note.onset, note.end());
    }
    times
}

#[test]
fn histograms_add_up_to_the_time_that_a_part_sounds() {
    let page = directors_html(&sheet());
    let xml = parsed(&page);
    let cards = all(by_id(&xml, "parts"), "article");
    for ((id, part), card) in demo().document.band.ids().zip(cards) {
        let expected = times(id);
        let bars = of_class(card, "time");
        let told: Vec<String> = bars.iter().map(|b| text(*b)).collect();
        let words = |(written, time): (&Written, &f64)| format!("{written}: {time:.1} s");
        let wanted: Vec<String> = expected.iter().map(words).collect();
        assert_eq!(told, wanted, "{}", part.name);
        let all: f64 = expected.values().sum();
        let sum: f64 = told
            .iter()
            .map(|t| number(t.split(": ").nth(1).unwrap()))
            .sum();
        // Each is rounded to a tenth.
        assert!((sum - all).abs() <= 0.05 * told.len() as f64 + 1e-9);
        if all > 0.0 {
            assert!(text(card).contains(&format!("{all:.1} s of sound")));
        }
        // Bars are as long as their times.
        let widths = bars
            .iter()
            .map(|b| b.attribute("width").unwrap().parse::<f64>().unwrap());
        let most = expected.values().copied().fold(0.0, f64::max);
        for (width, time) in widths.zip(expected.values()) {
            assert!(
                (width - (118.0 * time / most).max(0.8)).abs() < 0.051,
                "{}",
                part.name
            );
        }
    }
}

#[test]
fn spots_are_in_the_order_of_trouble_with_notes_that_add_up() {
    let look = demo();
    let sheet = sheet();
    let band = &look.document.band;
    let lines = &look.document.draft.lines;
    let (meters, tempo) = (&look.song.meters, &look.song.tempo);
    let exposed = exposed_moments(band, lines, meters, tempo);
    let found = spots(band, lines, meters, &look.judged.clean, &exposed);
    assert!(found.windows(2).all(|w| w[0].points >= w[1].points));
    assert_eq!(found.len(), sheet.rehearse.len() + sheet.more_spots);
    for spot in &found {
        // Once more from the chances alone.
        let chances = &look.judged.clean[spot.part.0].notes;
        let notes = &lines[spot.part.0].notes;
        let here = |i: &usize| spot.bars.contains(&meters.bar(notes[*i].onset));
        let own: Vec<usize> = (0..notes.len()).filter(here).collect();
        let players = f64::from(band.part(spot.part).players.count());
        let missed: f64 = own.iter().map(|i| (1.0 - chances[*i]) * players).sum();
        assert!((missed - spot.missed).abs() < 1e-9);
        assert!(spot.points >= missed - 1e-9 && spot.points <= 2.0 * missed + 1e-9);
        assert_eq!(spot.exposed.is_none(), (spot.points - missed).abs() < 1e-9);
        let least = own.iter().map(|i| chances[*i]).fold(1.0, f64::min);
        assert!(spot.chance == least && least < HARD_BELOW);
    }
    let page = directors_html(&sheet);
    let xml = parsed(&page);
    let rows = all(by_id(&xml, "rehearse"), "tr");
    assert_eq!(rows.len(), sheet.rehearse.len() + 1);
    for ((spot, row), rank) in found.iter().zip(&rows[1..]).zip(1..) {
        let cells: Vec<String> = all(*row, "td").iter().map(|c| text(*c)).collect();
        assert_eq!(cells[0], rank.to_string());
        assert_eq!(cells[2], band.part(spot.part).name);
        assert_eq!(cells[3], format!("{:.1}", spot.missed));
        assert!(cells[4].contains(&format!("clean chance {:.2}", spot.chance)));
        for bar in &spot.bars {
            assert!(names_bar(&cells[1], bar.0), "{bar} in {}", cells[1]);
        }
    }
}

/// Whether `bars 5-8, 13` names a bar.
fn names_bar(words: &str, bar: u32) -> bool {
    let bars = words.trim_start_matches("bars ").trim_start_matches("bar ");
    bars.split(", ").any(|run| {
        let (a, b) = run.split_once('-').unwrap_or((run, run));
        let (a, b): (u32, u32) = (a.parse().unwrap(), b.parse().unwrap());
        (a..=b).contains(&bar)
    })
}

#[test]
fn all_findings_are_told_with_their_bars() {
    let look = demo();
    let findings = &look.judged.findings;
    assert!(!findings.is_empty());
    let page = directors_html(&sheet());
    let xml = parsed(&page);
    let rows: Vec<Vec<String>> = all(by_id(&xml, "findings"), "tr")
        .iter()
        .map(|r| all(*r, "td").iter().map(|c| text(*c)).collect())
        .filter(|cells: &Vec<String>| !cells.is_empty())
        .collect();
    for finding in findings {
        let who = finding.part.as_deref().unwrap_or("the band");
        let mut own = rows.iter().filter(|r| r[0] == who);
        assert!(
            own.any(|r| names_bar(&r[1], finding.place.bar.0)),
            "{finding}"
        );
    }
    let kinds: std::collections::BTreeSet<_> = findings
        .iter()
        .map(|f| (f.severity, f.kind, &f.part))
        .collect();
    assert_eq!(rows.len(), kinds.len());
    let counts: f64 = ["cannot be played:", "not carried:", "worth a look:"]
        .iter()
        .filter_map(|end| {
            let mut said = all(by_id(&xml, "findings"), "p").into_iter().map(text);
            said.find(|p| p.ends_with(end)).map(|p| number(&p))
        })
        .sum();
    assert_eq!(counts as usize, findings.len());
}

/// Markdown without the backslashes that keep signs from being taken for more than they are.
fn unescaped(markdown: &str) -> String {
    let mut plain = String::new();
    let mut letters = markdown.chars();
    while let Some(c) = letters.next() {
        plain.extend(if c == '\\' { letters.next() } else { Some(c) });
    }
    plain
}

#[test]
fn html_and_markdown_tell_the_same() {
    let sheet = sheet();
    let (page, markdown) = (
        directors_html(&sheet),
        unescaped(&directors_markdown(&sheet)),
    );
    let xml = parsed(&page);
    let body = all(xml.root(), "body")[0];
    let mut told = 0;
    for name in [
        "h1",
        "h2",
        "h3",
        "p",
        "li",
        "td",
        "th",
        "dt",
        "dd",
        "figcaption",
        "footer",
    ] {
        for node in all(body, name) {
            // What stands beside a heading is a line of its own.
            let texts = node.descendants().filter(Node::is_text);
            for words in texts.filter_map(|t| t.text()).map(str::trim) {
                assert!(markdown.contains(words), "{name}: {words}");
                told += 1;
            }
        }
    }
    assert!(told > 500, "{told}");
    for bar in of_class(body, "time") {
        let words = text(bar).replace(": ", " | ");
        assert!(markdown.contains(&format!("| {words} | ")), "{words}");
    }
    // And the other way: every row of every table.
    let rows = markdown.lines().filter(|l| l.starts_with("| "));
    let html_rows = all(body, "tr").len() + of_class(body, "time").len();
    let cards = all(body, "article").into_iter();
    let cards = cards.filter(|c| !of_class(*c, "time").is_empty());
    // Each table has a line under its head, and the table of each drawing a head besides.
    let tables = all(body, "table").len();
    assert_eq!(rows.count(), html_rows + tables + 2 * cards.count());
}

#[test]
fn what_is_put_aside_is_not_told_as_a_finding() {
    let mut drafted = Drafted::of(demo());
    let first = &demo().judged.findings[0];
    let aside = [bandwright::project::aside::key(first)];
    drafted.aside = &aside;
    let sheet = directors_sheet(&drafted, true);
    assert!(!sheet.findings.contains(first));
    assert_eq!(
        sheet.put_aside + sheet.findings.len(),
        demo().judged.findings.len()
    );
    assert!(sheet.put_aside > 0);
}
