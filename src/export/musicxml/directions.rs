//! What stands over and under the staves: tempo, rehearsal marks, dynamics, hairpins, breaths in turns, and
//! what the arranger should know of locks and of the tune.

use super::ScoreInput;
use super::parts::{Owner, ScorePart};
use super::tempo::{TempoMark, tempo_marks};
use super::xml::Xml;
use crate::band::PartId;
use crate::export::midi::mark;
use crate::music::{BarNumber, Dynamic, Tick, Ticks};
use crate::review::BreathKind;
use crate::score::{DynamicMark, dynamic_marks};

/// Longest text of a marker that is a rehearsal mark, in characters (ours): `A`, `B2`, `104`; longer ones are
/// words.
const REHEARSAL: usize = 3;

/// A mark of a part, without its place.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Mark {
    LockEnds,
    Rehearsal(String),
    /// Words of the sketch's markers.
    Marker(String),
    /// The letter of a section that was found.
    Section(String),
    Tempo(TempoMark),
    WedgeEnds,
    Dynamic(Dynamic),
    Grows,
    Fades,
    /// A breath inside a note, or of some players.
    Breath(String),
    LockBegins,
    /// A note of the tune is not as sketched, with the reason.
    TuneChanged(String),
}

impl Mark {
    /// Whether there is something to read.
    pub(super) const fn is_printed(&self) -> bool {
        !matches!(self, Self::Tempo(TempoMark { printed: false, .. }))
    }

    /// What of several marks at one place comes first.
    const fn order(&self) -> u8 {
        match self {
            Self::LockEnds => 0,
            Self::Rehearsal(_) => 1,
            Self::Marker(_) | Self::Section(_) => 2,
            Self::Tempo(_) => 3,
            Self::WedgeEnds => 4,
            Self::Dynamic(_) => 5,
            Self::Grows | Self::Fades => 6,
            Self::Breath(_) => 7,
            Self::LockBegins => 8,
            Self::TuneChanged(_) => 9,
        }
    }
}

/// A mark of a part.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Direction {
    pub(super) at: Tick,
    /// The bar that it is written in, from 0.
    pub(super) bar: usize,
    pub(super) mark: Mark,
}

/// The marks of a part by bar, then place. What concerns all parts stands over the topmost.
pub(super) fn directions(
    input: &ScoreInput<'_>,
    part: &ScorePart,
    topmost: bool,
) -> Vec<Direction> {
    let mut marks: Vec<(Tick, Mark)> = Vec::new();
    if topmost {
        marks.extend(markers(input));
        let tempos = tempo_marks(input.song).into_iter();
        marks.extend(tempos.map(|t| (t.at, Mark::Tempo(t))));
    }
    match part.owner {
        Owner::Part(id) => {
            marks.extend(loudness(input, id));
            marks.extend(breaths(input, id));
            if !input.plain {
                marks.extend(locks(input, id));
            }
        }
        Owner::Sketch if !input.plain => marks.extend(changes(input)),
        Owner::Sketch | Owner::Drums(_) => {}
    }
    let count = part.staves.first().map_or(0, |s| s.bars.len());
    let mut placed: Vec<Direction> = marks
        .into_iter()
        .map(|(at, mark)| placed(input, count, at, mark))
        .collect();
    placed.sort_by_key(|d| (d.bar, d.at, d.mark.order()));
    placed
}

/// A mark in its bar. What ends with a bar is written in it, and what comes after the last bar at its end.
fn placed(input: &ScoreInput<'_>, count: usize, at: Tick, mark: Mark) -> Direction {
    let ends = mark == Mark::LockEnds;
    let near = if ends {
        Tick(at.0.saturating_sub(1))
    } else {
        at
    };
    let bar = input.song.meters.bar(near).0.saturating_sub(1) as usize;
    let bar = bar.min(count.saturating_sub(1));
    let number = BarNumber(u32::try_from(bar).unwrap_or(u32::MAX).saturating_add(1));
    let end = input.song.meters.bar_end(number);
    Direction {
        at: at.min(end),
        bar,
        mark,
    }
}

/// The sketch's markers; and the letters of the sections that were found, where no marker stands.
fn markers(input: &ScoreInput<'_>) -> Vec<(Tick, Mark)> {
    let mut marks = Vec::new();
    for marker in &input.song.markers {
        let text = marker.text.trim().to_owned();
        if text.is_empty() {
            continue;
        }
        let short = text.chars().count() <= REHEARSAL;
        let mark = if short {
            Mark::Rehearsal(text)
        } else {
            Mark::Marker(text)
        };
        marks.push((marker.at, mark));
    }
    let sections = &input.reading.form.sections;
    if !input.plain && sections.len() > 1 {
        let meters = &input.song.meters;
        let unmarked = sections.iter().filter(|s| s.marker.is_none());
        marks.extend(unmarked.map(|s| {
            let at = meters.bar_start(meters.bar_led_to(s.start));
            (at, Mark::Section(s.label()))
        }));
    }
    marks
}

fn loudness(input: &ScoreInput<'_>, id: PartId) -> Vec<(Tick, Mark)> {
    let notes = input.draft.lines.get(id.0).map_or(&[][..], |l| &l.notes);
    let quarter = Ticks(u64::from(input.song.quarter.get()));
    let marks = dynamic_marks(notes, quarter).into_iter();
    let told = marks.flat_map(|mark| match mark {
        DynamicMark::At(at, dynamic) => vec![(at, Mark::Dynamic(dynamic))],
        DynamicMark::Grows(from, to) => vec![(from, Mark::Grows), (to, Mark::WedgeEnds)],
        DynamicMark::Fades(from, to) => vec![(from, Mark::Fades), (to, Mark::WedgeEnds)],
    });
    told.collect()
}

/// Breaths that no note can carry: inside one, or of some players.
fn breaths(input: &ScoreInput<'_>, id: PartId) -> Vec<(Tick, Mark)> {
    let own = input.breaths.iter().filter(|b| b.part == id);
    let inside = own.filter(|b| !matches!(b.kind, BreathKind::Between(_)));
    inside.map(|b| (b.at, Mark::Breath(mark(b.kind)))).collect()
}

fn locks(input: &ScoreInput<'_>, id: PartId) -> Vec<(Tick, Mark)> {
    let spans = input.locks.of(id).map(|l| l.bars.spans(&input.song.meters));
    let spans = spans.into_iter().flatten();
    let ends = spans.flat_map(|(from, to)| [(from, Mark::LockBegins), (to, Mark::LockEnds)]);
    ends.collect()
}

fn changes(input: &ScoreInput<'_>) -> Vec<(Tick, Mark)> {
    let changes = input.draft.melody_changes.iter();
    let told = changes.map(|c| (c.onset, Mark::TuneChanged(c.reason.clone())));
    told.collect()
}

/// Writes a mark, so many units of the file behind what is written next.
pub(super) fn direction(xml: &mut Xml, mark: &Mark, offset: i128) {
    let (placement, everywhere) = match mark {
        Mark::Rehearsal(_) | Mark::Marker(_) | Mark::Section(_) | Mark::Tempo(_) => ("above", true),
        Mark::WedgeEnds | Mark::Dynamic(_) | Mark::Grows | Mark::Fades => ("below", false),
        Mark::LockEnds | Mark::Breath(_) | Mark::LockBegins | Mark::TuneChanged(_) => {
            ("above", false)
        }
    };
    if let Mark::Tempo(tempo) = mark
        && !mark.is_printed()
    {
        // A tempo that is played and not read.
        xml.inside("sound", &[("tempo", &tempo.played())], |xml| {
            if offset != 0 {
                xml.number("offset", offset);
            }
        });
        return;
    }
    let mut attributes = vec![("placement", placement)];
    if everywhere {
        attributes.push(("system", "only-top"));
    }
    xml.inside("direction", &attributes, |xml| {
        types(xml, mark);
        if offset != 0 {
            xml.number("offset", offset);
        }
        match mark {
            Mark::LockBegins => editorial(xml, "Fixed by the arranger."),
            Mark::TuneChanged(reason) => editorial(xml, reason),
            Mark::Section(_) => editorial(
                xml,
                "A section that was found; the sketch has no marker here.",
            ),
            _ => {}
        }
        if let Mark::TuneChanged(_) = mark {
            xml.text("staff", "1");
        }
        if let Mark::Tempo(tempo) = mark {
            xml.empty("sound", &[("tempo", &tempo.played())]);
        }
    });
}

/// A remark of the arranger's and the mark that it is one.
pub(super) fn editorial(xml: &mut Xml, footnote: &str) {
    xml.text("footnote", footnote);
    xml.text("level", "editorial");
}

fn types(xml: &mut Xml, mark: &Mark) {
    let one = |xml: &mut Xml, content: &dyn Fn(&mut Xml)| {
        xml.inside("direction-type", &[], |xml| content(xml));
    };
    match mark {
        Mark::Rehearsal(text) => one(xml, &|xml| xml.text("rehearsal", text)),
        Mark::Marker(text) => one(xml, &|xml| {
            xml.text_with("words", &[("font-weight", "bold")], text);
        }),
        Mark::Section(text) => one(xml, &|xml| {
            xml.text_with("words", &[("enclosure", "rectangle")], text);
        }),
        Mark::Tempo(tempo) => one(xml, &|xml| tempo.metronome(xml)),
        Mark::WedgeEnds => one(xml, &|xml| xml.empty("wedge", &[("type", "stop")])),
        Mark::Dynamic(dynamic) => one(xml, &|xml| {
            xml.inside("dynamics", &[], |xml| xml.empty(dynamic.word(), &[]));
        }),
        Mark::Grows => one(xml, &|xml| xml.empty("wedge", &[("type", "crescendo")])),
        Mark::Fades => one(xml, &|xml| xml.empty("wedge", &[("type", "diminuendo")])),
        Mark::Breath(text) => one(xml, &|xml| xml.text("words", text)),
        Mark::LockBegins => {
            one(xml, &|xml| bracket(xml, "start"));
            one(xml, &|xml| {
                xml.text_with("words", &[("font-style", "italic")], "locked");
            });
        }
        Mark::LockEnds => one(xml, &|xml| bracket(xml, "stop")),
        Mark::TuneChanged(_) => one(xml, &|xml| {
            xml.text_with("words", &[("font-style", "italic")], "tune changed");
        }),
    }
}

fn bracket(xml: &mut Xml, end: &str) {
    let attributes = [("type", end), ("line-end", "down"), ("number", "1")];
    xml.empty("bracket", &attributes);
}
