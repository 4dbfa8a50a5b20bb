//! The practice page of one part: its line as notation with the hard spots marked, tempos to practise them at, rests to
//! count (HTML that needs nothing else).

mod told;

pub use told::{LineTold, PracticePage, PracticeSpot, RestTold};

use crate::export::directors_sheet::{
    CARE, bars_in_words, from_bars, hardest_in_words, levels_in_words, signs_in_words,
    span_in_words,
};
use crate::export::minutes;
use crate::export::page::{Block, Page, PageSection, Table, html_page, markdown_page};
use crate::export::stave_svg::{StaveMusic, System, systems};
use crate::music::{BarNumber, KeySignature};
use crate::review::ladder::HOW;

/// How many stave spaces the page is wide (ours: a stave of about 7 mm on A4, as parts for players have it, common
/// practice, no source).
pub const WIDTH: f32 = 106.0;
/// Rests of fewer bars are not listed (ours).
const COUNTED: u32 = 2;

/// What the page ends with.
const FOOT: &str = "Made by bandwright. Hard spots and tempos are estimates from tables of what players of a level usually \
               manage; you may find other spots harder.";

/// The page as HTML.
#[must_use]
pub fn practice_html(page: &PracticePage) -> String {
    html_page(&content(page))
}

/// The page as Markdown; the line itself is not in it.
#[must_use]
pub fn practice_markdown(page: &PracticePage) -> String {
    markdown_page(&content(page))
}

/// The line as notation, with the numbers of the hard spots.
#[must_use]
pub fn practice_systems(page: &PracticePage) -> Vec<System> {
    let numbered = page.spots.iter().enumerate();
    let each = numbered.flat_map(|(i, s)| s.bars.iter().map(move |b| (*b, i + 1)));
    let mut spots: Vec<(BarNumber, usize)> = each.collect();
    spots.sort_unstable();
    let line = &page.line;
    let music = StaveMusic {
        stave: &line.stave,
        meters: &line.meters,
        keys: &line.keys,
        end: line.end,
        dynamics: &line.dynamics,
        breaths: &line.breaths,
        marks: &line.marks,
        tempos: &line.tempos,
        spots: &spots,
    };
    systems(&music, WIDTH)
}

fn content(page: &PracticePage) -> Page {
    let mut facts = vec![
        page.instrument.clone(),
        levels_in_words(&page.levels),
        format!("{} bars", page.bars),
        minutes(page.seconds),
        from_bars(&page.keys, |k: &KeySignature| signs_in_words(*k)),
    ];
    facts.retain(|f| !f.is_empty());
    Page {
        title: format!("{}: {}", page.title, page.part),
        under: vec![
            format!("Practice page for {}", page.band),
            facts.join(" \u{b7} "),
        ],
        sections: vec![line(page), spots(page), rests(page), care(page)],
        notation: true,
    }
}

fn line(page: &PracticePage) -> PageSection {
    let systems = practice_systems(page);
    let block = if systems.is_empty() {
        Block::Text("This part rests from beginning to end.".to_owned())
    } else {
        Block::Notation(systems.into_iter().map(|s| s.svg).collect())
    };
    PageSection {
        id: "line",
        title: "The part".to_owned(),
        blocks: vec![block],
    }
}

fn spots(page: &PracticePage) -> PageSection {
    let mut blocks = Vec::new();
    if page.spots.is_empty() {
        let none =
            "No note is likely missed more than once in ten times. Play it through and enjoy it.";
        blocks.push(Block::Text(none.to_owned()));
    } else {
        let all = page.spots.iter().enumerate();
        blocks.push(Block::Table(Table {
            class: "spots",
            head: vec![
                ("", true),
                ("where", false),
                ("what is hard", false),
                ("tempo ladder", false),
            ],
            rows: all.map(|(i, s)| spot_row(i + 1, s)).collect(),
        }));
        blocks.push(Block::Small(HOW.to_owned()));
    }
    PageSection {
        id: "spots",
        title: "Hard spots, and how to climb to the tempo".to_owned(),
        blocks,
    }
}

fn spot_row(number: usize, spot: &PracticeSpot) -> Vec<String> {
    let note = (spot.place, spot.written.to_string(), spot.chance);
    let hard = hardest_in_words(note, spot.exposed, &spot.causes);
    let ladder = &spot.ladder;
    let tempos: Vec<String> = ladder.tempos.iter().map(u32::to_string).collect();
    let mut climb = format!("{} = {}", ladder.goal.beat(), tempos.join(", "));
    if let Some(speed) = ladder.speed {
        climb.push_str(&format!(
            "; at the tempo of the piece {speed:.1} notes a second, {} players keep up {:.1}",
            ladder.level, ladder.kept_up
        ));
    }
    if ladder.too_fast() {
        climb.push_str(&format!(
            " ({:.1} in a short burst). That is more than the table has: ask your director for a slower tempo or \
             fewer notes",
            ladder.burst
        ));
    }
    vec![number.to_string(), bars_in_words(&spot.bars), hard, climb]
}

fn rests(page: &PracticePage) -> PageSection {
    let long = |r: &&RestTold| r.rest.count() >= COUNTED;
    let rows: Vec<Vec<String>> = page.rests.iter().filter(long).map(rest_row).collect();
    let mut blocks = Vec::new();
    if rows.is_empty() {
        blocks.push(Block::Text(
            "There is no rest of two bars or more to count.".to_owned(),
        ));
    } else {
        blocks.push(Block::Table(Table {
            class: "rests",
            head: vec![
                ("rest", false),
                ("bars to count", true),
                ("come in", false),
                ("just before you hear", false),
            ],
            rows,
        }));
    }
    if !page.in_turns.is_empty() {
        blocks.push(Block::Text("Breathe in turns:".to_owned()));
        blocks.push(Block::List(page.in_turns.clone()));
    }
    PageSection {
        id: "rests",
        title: "Rests to count".to_owned(),
        blocks,
    }
}

fn rest_row(told: &RestTold) -> Vec<String> {
    let rest = &told.rest;
    let cue = match &told.cue[..] {
        [] => String::new(),
        [one] => format!("{one} with the tune"),
        [one, two] => format!("{one} and {two} with the tune"),
        [one, two, ..] => format!("{one}, {two} and others with the tune"),
    };
    vec![
        span_in_words(rest.first, rest.last),
        rest.count().to_string(),
        rest.comes_in
            .map_or_else(|| "no more".to_owned(), |p| p.to_string()),
        cue,
    ]
}

fn care(page: &PracticePage) -> PageSection {
    let own = page.cautions.iter().cloned();
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
