//! The slide of the trombone: where each note lies, what a level reaches, and how far it is from
//! note to note (`presets/playing/slide.toml`).

use super::by_level::ByLevel;
use super::intonation::{added_length, partial_cents, partial_semitones};
use super::rows;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::music::{Interval, Written};
use serde::Deserialize;
use std::sync::OnceLock;

const NAME: &str = "slide.toml";
const TABLE: &str = include_str!("../../../presets/playing/slide.toml");

/// The written fundamentals of the two sides: B flat 1, and F1 with the trigger.
const FUNDAMENTALS: [Written; 2] = [Written(34), Written(29)];

/// How far out a note lies for a level.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Reach {
    /// May be relied on, or nothing has to be reached.
    Safe,
    /// At the end of what the arm reaches; slow and uncertain.
    WithCare,
    /// Not to be reached.
    OutOfReach,
}

/// One way to play a note on a trombone.
#[derive(Clone, PartialEq, Debug)]
pub struct SlidePlace {
    /// Where the slide is, in positions: 1 closed, each whole number a semitone of the B flat side lower. With the
    /// trigger, whose positions lie wider apart, the place on the same scale.
    pub place: f64,
    /// The partial, of the side in use.
    pub partial: u8,
    /// Whether the F attachment is in use.
    pub trigger: bool,
    /// Whether the slide is drawn in to mend the flat seventh partial.
    pub short: bool,
    /// As trombonists say it, such as `position 6`.
    pub words: String,
}

impl SlidePlace {
    /// Cents that the note is sharp (negative: flat) there. What is drawn in for the seventh partial
    /// is in tune.
    #[must_use]
    pub fn cents(&self) -> f64 {
        if self.short {
            0.0
        } else {
            partial_cents(self.partial)
        }
    }
}

/// The ways to play a note.
#[derive(Clone, PartialEq, Debug)]
pub struct SlideNote {
    /// The note, which sounds as it is read.
    pub pitch: Written,
    /// The usual way first; the others are for stronger players.
    pub places: Vec<SlidePlace>,
}

/// How the slide moves.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize)]
pub struct SlideTravel {
    /// Positions a second, on average, that each level keeps up.
    pub positions_a_second: ByLevel<f64>,
    /// A slur over more positions than this smears.
    pub legato_smears_over: f64,
    /// The first level of which that is not true.
    pub legato_from: Level,
}

struct Slide {
    straight: Vec<SlideNote>,
    /// Notes that the F attachment adds, or plays in another place.
    with_trigger: Vec<SlideNote>,
    reach: ReachRow,
    travel: SlideTravel,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    note: Vec<NoteRow>,
    trigger: Vec<TriggerRow>,
    reach: ReachRow,
    travel: TravelRow,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct NoteRow {
    pitch: String,
    position: u8,
    short: bool,
    partial: u8,
    alternates: Vec<String>,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TriggerRow {
    pitch: String,
    position: String,
    side: Side,
    partial: u8,
    #[serde(default)]
    off_the_slide: bool,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Copy, PartialEq, Eq, Deserialize)]
enum Side {
    F,
    Bb,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ReachRow {
    safe: ByLevel<u8>,
    with_care: ByLevel<u8>,
    alternates_from: Level,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
struct TravelRow {
    #[serde(flatten)]
    travel: SlideTravel,
    #[serde(rename = "source")]
    _source: String,
}

fn slide() -> Result<&'static Slide, TableError> {
    static READ: OnceLock<Result<Slide, TableError>> = OnceLock::new();
    let read = READ.get_or_init(|| {
        let table: Table = rows::read(NAME, TABLE)?;
        let on_the_slide = table.trigger.iter().filter(|r| !r.off_the_slide);
        Ok(Slide {
            straight: table.note.iter().map(note).collect::<Result<_, _>>()?,
            with_trigger: on_the_slide.map(trigger_note).collect::<Result<_, _>>()?,
            reach: table.reach,
            travel: table.travel.travel,
        })
    });
    read.as_ref().map_err(Clone::clone)
}

/// How the slide moves.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn slide_travel() -> Result<SlideTravel, TableError> {
    Ok(slide()?.travel)
}

/// All notes of a trombone without or with an F attachment and the ways to play them.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn slide_notes(trigger: bool) -> Result<Vec<SlideNote>, TableError> {
    let slide = slide()?;
    let mut notes = slide.straight.clone();
    if trigger {
        for added in &slide.with_trigger {
            match notes.iter_mut().find(|n| n.pitch == added.pitch) {
                Some(known) => {
                    let places = added.places.iter().chain(&known.places).cloned();
                    known.places = places.collect();
                }
                None => notes.push(added.clone()),
            }
        }
        notes.sort_by_key(|n| n.pitch);
    }
    Ok(notes)
}

fn note(row: &NoteRow) -> Result<SlideNote, TableError> {
    let usual = straight_place(row.position, row.partial, row.short);
    let others = row.alternates.iter().map(|word| alternate(word));
    Ok(SlideNote {
        pitch: rows::note(NAME, &row.pitch)?,
        places: std::iter::once(Ok(usual))
            .chain(others)
            .collect::<Result<_, _>>()?,
    })
}

/// The seventh partial is flat; its note lies nearer by as much.
fn straight_place(position: u8, partial: u8, short: bool) -> SlidePlace {
    let drawn_in = if short {
        partial_cents(partial) / 100.0
    } else {
        0.0
    };
    let words = if short { "short position" } else { "position" };
    SlidePlace {
        place: f64::from(position) + drawn_in,
        partial,
        trigger: false,
        short,
        words: format!("{words} {position}"),
    }
}

/// `4:6` is position 4, partial 6; a `-` behind the position means drawn in.
fn alternate(word: &str) -> Result<SlidePlace, TableError> {
    let wrong = || TableError(format!("{NAME}: no position and partial: `{word}`"));
    let (position, partial) = word.split_once(':').ok_or_else(wrong)?;
    let short = position.ends_with('-');
    let position: u8 = position
        .trim_end_matches('-')
        .parse()
        .map_err(|_| wrong())?;
    let partial: u8 = partial.parse().map_err(|_| wrong())?;
    Ok(straight_place(position, partial, short))
}

fn trigger_note(row: &TriggerRow) -> Result<SlideNote, TableError> {
    let pitch = rows::note(NAME, &row.pitch)?;
    let trigger = row.side == Side::F;
    let [b_flat, f] = FUNDAMENTALS;
    let fundamental = if trigger { f } else { b_flat };
    let open = fundamental.up(Interval(partial_semitones(row.partial)));
    let semitones = f64::from(open.0 - pitch.0);
    let place = SlidePlace {
        place: if trigger {
            with_trigger(semitones)
        } else {
            1.0 + semitones
        },
        partial: row.partial,
        trigger,
        short: false,
        words: row.position.clone(),
    };
    Ok(SlideNote {
        pitch,
        places: vec![place],
    })
}

/// The place of the slide, in positions of the B flat side, that lowers the F side by semitones: the
/// tube is a fourth longer, and so is what must be added to it.
fn with_trigger(semitones: f64) -> f64 {
    let [b_flat, f] = FUNDAMENTALS;
    let longer = 1.0 + added_length(f64::from(b_flat.0 - f.0));
    1.0 + 12.0 * (1.0 + longer * added_length(semitones)).log2()
}

/// The usual place of a note; `None` out of the table.
pub(super) fn usual_place(trigger: bool, written: Written) -> Option<&'static SlidePlace> {
    places(trigger, written).next()
}

/// All places of a note, the usual one first.
fn places(trigger: bool, written: Written) -> impl Iterator<Item = &'static SlidePlace> {
    let of = |notes: &'static [SlideNote]| notes.iter().filter(move |n| n.pitch == written);
    let slide = slide().ok();
    let added = slide.filter(|_| trigger).map(|s| of(&s.with_trigger));
    let straight = slide.map(|s| of(&s.straight));
    let both = added
        .into_iter()
        .flatten()
        .chain(straight.into_iter().flatten());
    both.flat_map(|n| &n.places)
}

/// The places that a level uses: other than the usual one only where it is taught them.
fn used(
    trigger: bool,
    written: Written,
    level: Level,
) -> impl Iterator<Item = &'static SlidePlace> {
    let all = slide().is_ok_and(|s| level >= s.reach.alternates_from);
    places(trigger, written).take(if all { usize::MAX } else { 1 })
}

/// The least way of the slide between two notes, in positions.
pub(super) fn travel(trigger: bool, from: Written, to: Written, level: Level) -> Option<f64> {
    let ends: Vec<f64> = used(trigger, to, level).map(|p| p.place).collect();
    used(trigger, from, level)
        .flat_map(|a| ends.iter().map(move |b| (a.place - b).abs()))
        .min_by(f64::total_cmp)
}

/// How far out a note lies for a level, in the nearest of the places that it uses.
pub(super) fn reach(trigger: bool, written: Written, level: Level) -> Reach {
    let nearest = used(trigger, written, level)
        .map(|p| p.place.round())
        .min_by(f64::total_cmp);
    let (Ok(slide), Some(place)) = (slide(), nearest) else {
        return Reach::OutOfReach;
    };
    match place {
        p if p <= f64::from(slide.reach.safe.at(level)) => Reach::Safe,
        p if p <= f64::from(slide.reach.with_care.at(level)) => Reach::WithCare,
        _ => Reach::OutOfReach,
    }
}
