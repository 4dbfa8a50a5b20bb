//! The questions, and what the roster has said in answer.

use super::html::{escaped, line, lines, tick};
use super::stave_place::stave_place;
use crate::band::{Band, Exposure, GoEasy, Part, Seat, Section, remarks_in_words};
use crate::music::{Sounding, Written};

/// A question: what is asked, what helps to answer, the column of the table, and the place for the
/// answer about one section or part.
pub(super) struct Question {
    /// What is asked.
    pub ask: &'static str,
    /// What helps to answer.
    pub help: &'static str,
    /// Columns of the table.
    pub column: &'static str,
    /// The place for the answer.
    pub answer: fn(&Asked<'_>) -> String,
    /// Whether it is asked of a section.
    pub fits: fn(&Section) -> bool,
}

/// A section or part that is asked about.
pub(super) struct Asked<'a> {
    pub band: &'a Band,
    pub index: usize,
    pub section: &'a Section,
}

impl Asked<'_> {
    fn named(&self, what: &str) -> String {
        format!("{}: {what}", self.section.name)
    }
}

const ALL: fn(&Section) -> bool = |_| true;

pub(super) const QUESTIONS: [Question; 11] = [
    Question {
        ask: "Who plays",
        help: "How many of which level; who is away. Names only if they help you: they go into no score.",
        column: "count, level, name, absent",
        answer: |a| lines(&a.named("who plays"), &who(a.section), 34),
        fits: ALL,
    },
    Question {
        ask: "Safe notes",
        help: "Lowest and highest note that comes out every time, also at the end of a long rehearsal.",
        column: "lowest, highest",
        answer: range,
        fits: ALL,
    },
    Question {
        ask: "The break",
        help: "Clarinets that should stay below it: nothing above written Bb4.",
        column: "below_the_break",
        answer: |a| {
            let said = a.section.remarks.below_the_break;
            tick(&a.named("the break"), "stay below", said)
        },
        fits: |s| s.instrument.id.starts_with("clarinet"),
    },
    Question {
        ask: "Widest leap",
        help: "In half steps: 5 is a fourth, 7 a fifth, 12 an octave.",
        column: "no_leaps_over",
        answer: |a| {
            let said = a.section.remarks.no_leaps_over.map(|l| l.0.to_string());
            unit(a, "widest leap", said, "half steps")
        },
        fits: ALL,
    },
    Question {
        ask: "Fastest notes",
        help: "That stay clean. Eighths with the quarter at 60 are 2 notes a second, at 120 they are 4.",
        column: "no_faster_than",
        answer: |a| {
            let said = a.section.remarks.no_faster_than.map(|s| s.0.to_string());
            unit(a, "fastest notes", said, "a second")
        },
        fits: ALL,
    },
    Question {
        ask: "Rest in every",
        help: "They need a whole bar of rest at least once in so many bars.",
        column: "rests_every",
        answer: |a| {
            let said = a.section.remarks.rests_every.map(|b| b.to_string());
            unit(a, "a rest in every", said, "bars")
        },
        fits: ALL,
    },
    Question {
        ask: "Keys, at most",
        help: "Sharps or flats in the key as they read it.",
        column: "accidentals_at_most",
        answer: |a| {
            let said = a.section.remarks.accidentals_at_most;
            unit(a, "keys", said.map(|n| n.to_string()), "sharps or flats")
        },
        fits: ALL,
    },
    Question {
        ask: "Heard alone",
        help: "If you tick nothing, a tune is left to them alone only where they are strong.",
        column: "exposed",
        answer: |a| {
            let (said, name) = (a.section.remarks.exposure, a.named("heard alone"));
            tick(&name, "may be", said == Exposure::May)
                + &tick(&name, "never", said == Exposure::Never)
        },
        fits: ALL,
    },
    Question {
        ask: "Also plays",
        help: "A second instrument that somebody here plays in this program.",
        column: "doubles",
        answer: |a| {
            let said = a.section.remarks.doubles.as_ref();
            let name = said.map_or("", |d| d.name.as_str());
            line(&a.named("also plays"), name, "long")
        },
        fits: ALL,
    },
    Question {
        ask: "Go easy",
        help: "Somebody has braces, or is getting over an injury. Please write nothing medical.",
        column: "go_easy",
        answer: |a| {
            let (said, name) = (a.section.remarks.go_easy, a.named("go easy"));
            let braces = tick(&name, "braces", said == Some(GoEasy::Braces));
            let injury = tick(&name, "injury", said == Some(GoEasy::Injury));
            if a.section.instrument.wind {
                braces + &injury
            } else {
                injury
            }
        },
        fits: ALL,
    },
    Question {
        ask: "Anything else",
        help: "Whatever a good arranger would want to know of them.",
        column: "note",
        answer: |a| lines(&a.named("anything else"), &a.section.remarks.note, 34),
        fits: ALL,
    },
];

impl Question {
    /// The id of its explanation on the page.
    pub fn id(&self) -> String {
        let first = self.column.split(',').next().unwrap_or("");
        format!("about-{first}")
    }
}

fn unit(asked: &Asked<'_>, what: &str, said: Option<String>, unit: &str) -> String {
    let line = line(&asked.named(what), &said.unwrap_or_default(), "short");
    format!("{line} <span class=\"unit\">{unit}</span>")
}

/// The players in words, those with a name or a remark of their own on lines of their own.
fn who(section: &Section) -> String {
    let alike = section.seats.chunk_by(|a, b| a == b && a.name.is_empty());
    let texts = alike.filter_map(|row| Some(seat_words(row.first()?, row.len())));
    let (plain, own): (Vec<_>, Vec<_>) = texts.partition(|(_, plain)| *plain);
    let plain: Vec<String> = plain.into_iter().map(|(text, _)| text).collect();
    let plain = Some(plain.join(", ")).filter(|p| !p.is_empty());
    let own = own.into_iter().map(|(text, _)| text);
    plain.into_iter().chain(own).collect::<Vec<_>>().join("\n")
}

/// A seat or several alike in words, and whether nothing but the level is known.
fn seat_words(seat: &Seat, count: usize) -> (String, bool) {
    let mut text = if seat.name.is_empty() {
        format!("{count} {}", seat.level)
    } else {
        format!("{}, {}", seat.name, seat.level)
    };
    if let Some(part) = seat.part {
        text.push_str(&format!(", on part {part}"));
    }
    if seat.absent {
        text.push_str(", away");
    }
    for remark in remarks_in_words(&seat.remarks) {
        text.push_str(&format!("; {remark}"));
    }
    (text, seat.is_plain())
}

/// Two lines to write on, and under them what the program takes where nothing is said.
fn range(asked: &Asked<'_>) -> String {
    let name = |p: Option<Written>| p.map_or_else(String::new, |p| p.to_string());
    let remarks = &asked.section.remarks;
    let low = line(
        &asked.named("lowest safe note"),
        &name(remarks.lowest),
        "short",
    );
    let high = line(
        &asked.named("highest safe note"),
        &name(remarks.highest),
        "short",
    );
    format!("{low} to {high}{}", taken(asked))
}

fn taken(asked: &Asked<'_>) -> String {
    let of = |p: &&Part| p.seats.iter().any(|s| s.section == asked.index);
    let parts: Vec<&Part> = asked.band.parts.iter().filter(of).collect();
    let clef = &asked.section.instrument.clef;
    let written = |pitch: Sounding| asked.section.instrument.transposition.written(pitch);
    let texts: Vec<String> = match parts.as_slice() {
        [] => return String::new(),
        [part] => {
            let note = |pitch| {
                let written = written(pitch);
                format!("{written} ({})", stave_place(written, clef))
            };
            let range = part.limits.range;
            vec![format!("{} to {}", note(range.low), note(range.high))]
        }
        parts => parts
            .iter()
            .map(|part| {
                let (range, name) = (part.limits.range, escaped(&part.name));
                format!("{name} {} to {}", written(range.low), written(range.high))
            })
            .collect(),
    };
    format!("<p class=\"taken\">now taken: {}</p>", texts.join("<br>"))
}
