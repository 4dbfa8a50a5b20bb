//! Any band that a roster can have.

use bandwright::band::{
    Band, Exposure, GoEasy, Level, NotesPerSecond, Remarks, Roster, Seat, Section, Split,
    instruments,
};
use bandwright::music::{Interval, Written};
use proptest::option::{of, weighted};
use proptest::prelude::*;

/// Texts that are hard on files: quotes, line ends, formulas, what parts cells.
fn any_text() -> impl Strategy<Value = String> {
    "\\PC{0,20}|[\\x00-\\x1f\\x7f\"\\\\;,\t]{0,9}|[=+@'-]{1,3}[a-z;,\"]{0,5}|yes|true|1"
        .prop_map(|text| text.trim().to_owned())
}

fn any_name() -> impl Strategy<Value = String> {
    "[a-zA-Z0-9é][ -~éß\"\\\\;,=']{0,12}|[=+@'-][a-z]{1,8}".prop_map(|name| name.trim().to_owned())
}

fn any_remarks(instrument: usize) -> impl Strategy<Value = Remarks> {
    let exposure = prop_oneof![
        3 => Just(Exposure::Unsaid),
        1 => Just(Exposure::May),
        1 => Just(Exposure::Never)
    ];
    let easy = prop_oneof![Just(GoEasy::Braces), Just(GoEasy::Injury)];
    (
        (
            weighted(0.2, 21_i16..70),
            weighted(0.2, 60_i16..=108),
            any::<bool>(),
            weighted(0.3, 1_i16..=127),
            weighted(0.3, 0.2_f64..=20.0),
        ),
        (
            weighted(0.3, 1_u16..=500),
            weighted(0.3, 0_u8..=7),
            exposure,
            weighted(0.2, 0..37_usize),
            weighted(0.2, easy),
            any_text(),
        ),
    )
        .prop_map(move |((low, high, below, leap, speed), rest)| {
            let all = instruments().unwrap();
            let (rests, keys, exposure, second, go_easy, note) = rest;
            Remarks {
                lowest: low.map(Written).filter(|l| high.is_none_or(|h| l.0 <= h)),
                highest: high.map(Written),
                below_the_break: below && all[instrument].id.starts_with("clarinet"),
                no_leaps_over: leap.map(Interval),
                no_faster_than: speed.map(NotesPerSecond),
                rests_every: rests,
                accidentals_at_most: keys,
                exposure,
                doubles: second.filter(|s| *s != instrument).map(|s| all[s].clone()),
                go_easy,
                note,
            }
        })
}

fn plain_or_any(instrument: usize) -> impl Strategy<Value = Remarks> {
    prop_oneof![2 => Just(Remarks::default()), 1 => any_remarks(instrument)]
}

pub fn any_level() -> impl Strategy<Value = Level> {
    (0..5_usize).prop_map(|l| Level::ALL[l])
}

fn any_seat(instrument: usize, parts: Option<u8>) -> impl Strategy<Value = Seat> {
    let part = weighted(0.3, 1..=parts.unwrap_or(1));
    let name = weighted(0.3, any_name());
    let absent = prop::bool::weighted(0.2);
    let remarks = prop_oneof![4 => Just(Remarks::default()), 1 => any_remarks(instrument)];
    (any_level(), name, absent, part, remarks).prop_map(
        move |(level, name, absent, part, remarks)| Seat {
            name: name.unwrap_or_default(),
            level,
            absent,
            part: part.filter(|_| parts.is_some()),
            remarks,
        },
    )
}

fn any_section() -> impl Strategy<Value = Section> {
    let split = prop_oneof![
        Just(Split::One),
        Just(Split::Proposed),
        (1_u8..=4).prop_map(Split::Into)
    ];
    (0..37_usize, split).prop_flat_map(|(instrument, split)| {
        let parts = match split {
            Split::One => None,
            Split::Into(parts) => Some(parts),
            Split::Proposed => Some(3),
        };
        let seats = prop::collection::vec(any_seat(instrument, parts), 1..7);
        (any_name(), seats, plain_or_any(instrument)).prop_map(move |(name, seats, remarks)| {
            Section {
                name,
                instrument: instruments().unwrap()[instrument].clone(),
                split,
                seats,
                remarks,
            }
        })
    })
}

/// A band of a few sections and parts, with names that differ.
pub fn any_band() -> impl Strategy<Value = Band> {
    let sections = prop::collection::vec(any_section(), 1..5);
    let roster = (sections, any_text(), of(any_name())).prop_map(|(mut sections, note, name)| {
        for (i, section) in sections.iter_mut().enumerate() {
            // A letter behind, so that names of parts cannot meet.
            section
                .name
                .push_str(&format!(" {}", ["a", "b", "c", "d"][i]));
        }
        Roster {
            name: name.unwrap_or("Any".to_owned()),
            note,
            sections,
            overrides: Vec::new(),
        }
    });
    roster.prop_filter_map("remarks that leave notes, and somebody there", |r| {
        r.band().ok()
    })
}
