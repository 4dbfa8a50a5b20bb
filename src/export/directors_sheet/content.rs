//! The sheet as blocks of a page, in the order in which a director needs them.

use super::care::{ASSUMPTIONS, CARE};
use super::part_card::card;
use super::told::{ChangeTold, DirectorsSheet, PartTold, SpotTold, TuneTold};
use super::words::{bars_in_words, from_bars, hardest_in_words, levels_in_words, tempos_in_words};
use crate::export::minutes;
use crate::export::page::{Block, Page, PageSection, Table};
use crate::music::{KeySignature, Meter};
use crate::review::trouble::RULE;
use crate::review::{Finding, Severity};

/// What the page ends with.
const FOOT: &str = "Made by bandwright. Every number is an estimate from tables and models, none was measured on these \
               players.";

/// The whole page.
#[must_use]
pub(super) fn page(sheet: &DirectorsSheet) -> Page {
    Page {
        title: sheet.title.clone(),
        under: under(sheet),
        sections: vec![
            rehearse(sheet),
            band(sheet),
            parts(sheet),
            tune(&sheet.tune),
            findings(sheet),
            care(sheet),
        ],
        notation: false,
    }
}

fn under(sheet: &DirectorsSheet) -> Vec<String> {
    let mut facts = vec![
        format!("{} bars", sheet.bars),
        minutes(sheet.seconds),
        format!("{} parts, {} players", sheet.parts.len(), sheet.players),
        sheet.conditions_in_words.clone(),
    ];
    let keys = from_bars(&sheet.keys, KeySignature::to_string);
    if !keys.is_empty() {
        facts.push(format!("concert key {keys}"));
    }
    facts.push(from_bars(&sheet.meters, Meter::to_string));
    facts.push(tempos_in_words(&sheet.tempos));
    facts.retain(|f| !f.is_empty());
    vec![
        format!("Director\u{2019}s sheet for {}", sheet.band),
        facts.join(" \u{b7} "),
    ]
}

fn rehearse(sheet: &DirectorsSheet) -> PageSection {
    let mut blocks = Vec::new();
    if sheet.rehearse.is_empty() {
        let none = "No note of this draft is likely missed more than once in ten times.";
        blocks.push(Block::Text(none.to_owned()));
    } else {
        let row = |(i, spot): (usize, &SpotTold)| {
            vec![
                (i + 1).to_string(),
                bars_in_words(&spot.bars),
                spot.part.clone(),
                format!("{:.1}", spot.missed),
                why(spot),
            ]
        };
        blocks.push(Block::Table(Table {
            class: "spots",
            head: vec![
                ("", true),
                ("where", false),
                ("who", false),
                ("notes missed", true),
                ("why", false),
            ],
            rows: sheet.rehearse.iter().enumerate().map(row).collect(),
        }));
    }
    if sheet.more_spots > 0 {
        let more = format!("{} more spots are not listed.", sheet.more_spots);
        blocks.push(Block::Text(more));
    }
    blocks.push(Block::Small(RULE.to_owned()));
    PageSection {
        id: "rehearse",
        title: "What to rehearse first".to_owned(),
        blocks,
    }
}

fn why(spot: &SpotTold) -> String {
    let note = (spot.place, format!("written {}", spot.written), spot.chance);
    hardest_in_words(note, spot.exposed, &spot.causes)
}

fn band(sheet: &DirectorsSheet) -> PageSection {
    let mut blocks = Vec::new();
    if !sheet.note.trim().is_empty() {
        blocks.push(Block::Text(sheet.note.clone()));
    }
    let away = sheet.parts.iter().any(|p| !p.away.is_empty());
    let mut head = vec![
        ("part", false),
        ("players", false),
        ("the director said", false),
        ("clean chance", true),
        ("missed by each", true),
        ("most tired", true),
    ];
    if away {
        head.insert(2, ("away", false));
    }
    let row = |part: &PartTold| {
        let mut cells = band_row(part);
        if away {
            cells.insert(2, part.away.join(", "));
        }
        cells
    };
    blocks.push(Block::Table(Table {
        class: "band",
        head,
        rows: sheet.parts.iter().map(row).collect(),
    }));
    if !sheet.resting.is_empty() {
        blocks.push(Block::Text(format!(
            "Nobody is there to play {}; left out.",
            sheet.resting.join(", ")
        )));
    }
    blocks.push(Block::List(ASSUMPTIONS.map(str::to_owned).to_vec()));
    PageSection {
        id: "band",
        title: "The band, and what is assumed of it".to_owned(),
        blocks,
    }
}

fn band_row(part: &PartTold) -> Vec<String> {
    let plays = !part.times.is_empty();
    let number = |text: String| if plays { text } else { "rests".to_owned() };
    vec![
        part.name.clone(),
        levels_in_words(&part.levels),
        part.remarks.join("; "),
        number(format!("{:.2}", part.clean)),
        number(format!("{:.1}", part.missed)),
        part.load
            .as_ref()
            .map_or(String::new(), |l| format!("{:.2}", l.most_tired.0)),
    ]
}

fn parts(sheet: &DirectorsSheet) -> PageSection {
    let cards = sheet.parts.iter().map(|p| Block::Card(card(p)));
    let legend = "Left: the written range; full noteheads are the ends of what every player may be relied on for \
                  (comfortable), open ones of what every player can reach (stretch), a diamond is a limit that the \
                  director set. Right: how long each pitch sounds; full bars are comfortable, open ones a stretch, \
                  with a thick edge beyond it. Load: 0 is fresh, 1 worn out; a reserve under 0 means that the note \
                  cannot be held as it is written.";
    PageSection {
        id: "parts",
        title: "Part by part".to_owned(),
        blocks: std::iter::once(Block::Small(legend.to_owned()))
            .chain(cards)
            .collect(),
    }
}

fn tune(tune: &TuneTold) -> PageSection {
    let said = |words: &str| vec![Block::Text(words.to_owned())];
    let blocks = match tune {
        TuneTold::NoSketch => said("No sketch was given, so nothing can be said of the tune."),
        TuneTold::NotListed => said(
            "A draft as MIDI carries no list of changed notes. What of the sketch\u{2019}s tune is not played is among \
             the findings.",
        ),
        TuneTold::Listed(all) if all.is_empty() => {
            said("Every note of the tune is played as the sketch has it, in some octave.")
        }
        TuneTold::Listed(all) => vec![Block::Table(Table {
            class: "tune",
            head: vec![
                ("where", false),
                ("sketch (sounding)", false),
                ("now", false),
                ("who", false),
                ("why", false),
            ],
            rows: all.iter().map(change_row).collect(),
        })],
    };
    PageSection {
        id: "tune",
        title: "Notes of the tune that were changed".to_owned(),
        blocks,
    }
}

fn change_row(change: &ChangeTold) -> Vec<String> {
    vec![
        change.place.to_string(),
        change.sketch.to_string(),
        change
            .new
            .map_or_else(|| "not played".to_owned(), |n| n.to_string()),
        change.parts.join(", "),
        change.reason.clone(),
    ]
}

fn findings(sheet: &DirectorsSheet) -> PageSection {
    let mut blocks = Vec::new();
    for (severity, title) in [
        (Severity::OutOfLimit, "cannot be played"),
        (Severity::Loss, "of the sketch, not carried"),
        (Severity::Caution, "worth a look"),
    ] {
        let own = sheet.findings.iter().filter(|f| f.severity == severity);
        let groups = grouped(own);
        if groups.is_empty() {
            continue;
        }
        let count: usize = groups.iter().map(Vec::len).sum();
        blocks.push(Block::Text(format!("{count} {title}:")));
        blocks.push(Block::Table(Table {
            class: "findings",
            head: vec![
                ("who", false),
                ("where", false),
                ("what", false),
                ("what would mend it", false),
            ],
            rows: groups.iter().filter_map(|g| finding_row(g)).collect(),
        }));
    }
    if blocks.is_empty() {
        let none = "Nothing to mark: every part stays within its limits.";
        blocks.push(Block::Text(none.to_owned()));
    }
    if sheet.put_aside > 0 {
        blocks.push(Block::Small(format!(
            "The arranger looked at {} more and put them aside.",
            sheet.put_aside
        )));
    }
    PageSection {
        id: "findings",
        title: "What a reviewer would mark".to_owned(),
        blocks,
    }
}

/// Findings of one kind and part together, in the order of the first ones.
fn grouped<'a>(findings: impl Iterator<Item = &'a Finding>) -> Vec<Vec<&'a Finding>> {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in findings {
        let like = |g: &&mut Vec<&Finding>| {
            let first = g.first();
            first.is_some_and(|f| f.kind == finding.kind && f.part == finding.part)
        };
        match groups.iter_mut().find(like) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}

fn finding_row(group: &[&Finding]) -> Option<Vec<String>> {
    let first = group.first()?;
    let mut bars: Vec<_> = group.iter().map(|f| f.place.bar).collect();
    bars.sort_unstable();
    bars.dedup();
    let more = match group.len() {
        1 => String::new(),
        n => format!(" ({n} alike; the first is told)"),
    };
    Some(vec![
        first.part.clone().unwrap_or_else(|| "the band".to_owned()),
        bars_in_words(&bars),
        format!("{}{more}", first.message),
        first.remedy.clone(),
    ])
}

fn care(sheet: &DirectorsSheet) -> PageSection {
    let own = sheet.cautions.iter().cloned();
    let general = CARE.iter().map(|c| (*c).to_owned());
    PageSection {
        id: "care",
        title: "Care".to_owned(),
        blocks: vec![
            Block::List(own.chain(general).collect()),
            Block::Small(FOOT.to_owned()),
        ],
    }
}
