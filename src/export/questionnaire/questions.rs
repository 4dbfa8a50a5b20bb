//! The questions, and what the roster has said in answer.

use super::html::{line, lines, tick};
use super::stave_place::stave_place;
use crate::band::{Band, Exposure, GoEasy, Seat, Section};
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
        help: "how many of which level; names if you like; who is away",
        column: "count, level, name, absent",
        answer: |a| lines(&a.named("who plays"), &who(a.section), 34),
        fits: ALL,
    },
    Question {
        ask: "Notes that are safe",
        help: "lowest and highest, as they read them",
        column: "lowest, highest",
        answer: range,
        fits: ALL,
    },
    Question {
        ask: "Over the break?",
        help: "tick if they should stay below it (nothing above written Bb4)",
        column: "below_the_break",
        answer: |a| {
            let said = a.section.remarks.below_the_break;
            tick(&a.named("break"), "stay below the break", said)
        },
        fits: |s| s.instrument.id.starts_with("clarinet"),
    },
    Question {
        ask: "Widest leap",
        help: "in half steps: 5 a fourth, 7 a fifth, 12 an octave",
        column: "no_leaps_over",
        answer: |a| {
            let said = a.section.remarks.no_leaps_over.map(|l| l.0.to_string());
            unit(a, "widest leap", said, "half steps")
        },
        fits: ALL,
    },
    Question {
        ask: "Fastest notes that stay clean",
        help: "eighths at 60 to the quarter are 2 a second, at 120 they are 4",
        column: "no_faster_than",
        answer: |a| {
            let said = a.section.remarks.no_faster_than.map(|s| s.0.to_string());
            unit(a, "fastest notes", said, "notes a second")
        },
        fits: ALL,
    },
    Question {
        ask: "Rests",
        help: "a whole bar of rest in every so many bars",
        column: "rests_every",
        answer: |a| {
            let said = a.section.remarks.rests_every.map(|b| b.to_string());
            unit(a, "a rest in every", said, "bars")
        },
        fits: ALL,
    },
    Question {
        ask: "Keys",
        help: "most sharps or flats, in the key as they read it",
        column: "accidentals_at_most",
        answer: |a| {
            let said = a.section.remarks.accidentals_at_most;
            unit(a, "keys", said.map(|n| n.to_string()), "sharps or flats")
        },
        fits: ALL,
    },
    Question {
        ask: "Heard alone?",
        help: "nothing ticked: only where they are strong",
        column: "exposed",
        answer: |a| {
            let (said, name) = (a.section.remarks.exposure, a.named("heard alone"));
            tick(&name, "may be", said == Exposure::May)
                + &tick(&name, "never", said == Exposure::Never)
        },
        fits: ALL,
    },
    Question {
        ask: "Second instrument",
        help: "that somebody here also plays in this program",
        column: "doubles",
        answer: |a| {
            let said = a.section.remarks.doubles.as_ref();
            let name = said.map_or("", |d| d.name.as_str());
            line(&a.named("second instrument"), name, "long")
        },
        fits: ALL,
    },
    Question {
        ask: "Go easy?",
        help: "somebody has braces or is getting over an injury",
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
        help: "",
        column: "note",
        answer: |a| lines(&a.named("anything else"), &a.section.remarks.note, 34),
        fits: ALL,
    },
];

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
    for remark in crate::band::remarks_in_words(&seat.remarks) {
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
    let of = |p: &&crate::band::Part| p.seats.iter().any(|s| s.section == asked.index);
    let parts: Vec<&crate::band::Part> = asked.band.parts.iter().filter(of).collect();
    let clef = &asked.section.instrument.clef;
    let note = |pitch: Sounding| {
        let written = asked.section.instrument.transposition.written(pitch);
        format!("{written} ({})", stave_place(written, clef))
    };
    let texts: Vec<String> = parts
        .iter()
        .map(|part| {
            let range = part.limits.range;
            let name = if parts.len() > 1 {
                format!("{}: ", super::html::escaped(&part.name))
            } else {
                String::new()
            };
            format!("{name}{} to {}", note(range.low), note(range.high))
        })
        .collect();
    if texts.is_empty() {
        return String::new();
    }
    format!("<p class=\"taken\">now taken: {}</p>", texts.join("; "))
}
