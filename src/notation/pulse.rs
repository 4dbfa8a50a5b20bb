//! How a bar divides: into groups, beats and their halves or thirds. All of it is common practice,
//! no source.

use super::bar_time::BarTime;
use super::value::Base;
use crate::music::Meter;

/// Into what a span of a bar divides.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// Two halves, each of which divides in two.
    Two,
    /// Three beats, each of which divides in two.
    ThreeBeats,
    /// Three parts of one beat: a beat of compound time, a bar of 3/8.
    BeatOfThree,
    /// Two halves of whole compound beats.
    TwoOfCompound,
    /// Three compound beats.
    ThreeOfCompound,
}

/// A span of a bar that divides evenly; places and lengths in grains.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Span {
    pub(super) start: u32,
    pub(super) length: u32,
    pub(super) kind: Kind,
    /// The length of a compound beat, where the span has such.
    beat: u32,
}

impl Span {
    pub(super) const fn new(start: u32, length: u32, kind: Kind) -> Self {
        Self {
            start,
            length,
            kind,
            beat: 0,
        }
    }

    pub(super) const fn end(self) -> u32 {
        self.start + self.length
    }

    /// Its parts.
    pub(super) fn children(self) -> Vec<Self> {
        let count = match self.kind {
            Kind::Two | Kind::TwoOfCompound => 2,
            _ => 3,
        };
        let length = self.length / count;
        let kind = match self.kind {
            Kind::Two | Kind::ThreeBeats | Kind::BeatOfThree => Kind::Two,
            _ if length <= self.beat => Kind::BeatOfThree,
            _ => Kind::TwoOfCompound,
        };
        let child = |i: u32| Self {
            start: self.start + i * length,
            length,
            kind,
            beat: self.beat,
        };
        (0..count).map(child).collect()
    }
}

/// The length of the unit that the lower number of a meter names.
const fn unit(meter: Meter) -> u32 {
    768 / meter.denominator() as u32
}

/// How many beats the groups of a bar have: 5 is 3 + 2, 7 is 2 + 2 + 3.
fn group_sizes(beats: u32) -> Vec<u32> {
    match beats {
        0 => Vec::new(),
        1..=4 => vec![beats],
        5 => vec![3, 2],
        6 => vec![3, 3],
        7 => vec![2, 2, 3],
        9 => vec![3, 3, 3],
        _ => {
            let mut sizes = vec![4; (beats / 4) as usize];
            if !beats.is_multiple_of(4) {
                sizes.push(beats % 4);
            }
            sizes
        }
    }
}

/// The groups of a bar, which together fill it.
pub(super) fn groups(bar: &BarTime) -> Vec<Span> {
    let (meter, length) = (bar.meter, bar.length.0);
    let mut spans = if meter.is_compound() {
        compound_groups(meter, length)
    } else {
        simple_groups(meter, length)
    };
    fill_up(&mut spans, length);
    spans
}

fn simple_groups(meter: Meter, length: u32) -> Vec<Span> {
    let unit = unit(meter);
    let mut at = 0;
    let mut spans = Vec::new();
    for size in group_sizes(length / unit) {
        let kind = match size {
            3 if unit < 192 => Kind::BeatOfThree,
            3 => Kind::ThreeBeats,
            _ => Kind::Two,
        };
        spans.push(Span::new(at, size * unit, kind));
        at += size * unit;
    }
    spans
}

fn compound_groups(meter: Meter, length: u32) -> Vec<Span> {
    let beat = 3 * unit(meter);
    let mut at = 0;
    let mut spans = Vec::new();
    for size in group_sizes(length / beat) {
        let kind = match size {
            1 => Kind::BeatOfThree,
            3 => Kind::ThreeOfCompound,
            _ => Kind::TwoOfCompound,
        };
        let whole = Span::new(at, size * beat, kind);
        spans.push(Span { beat, ..whole });
        at += size * beat;
    }
    spans
}

/// What is left over of a bar cut short, in the largest plain values that fit.
fn fill_up(spans: &mut Vec<Span>, length: u32) {
    let mut at = spans.last().map_or(0, |s| s.end());
    while at < length {
        let fits = Base::ALL.into_iter().map(|b| b.grains().0);
        let piece = fits.filter(|g| at + g <= length).max();
        let piece = piece.unwrap_or(length - at);
        spans.push(Span::new(at, piece, Kind::Two));
        at += piece;
    }
}

/// The spans inside which eighths and shorter notes are beamed together; they fill the bar.
pub(super) fn beam_spans(bar: &BarTime) -> Vec<Span> {
    let beam_unit = unit(bar.meter).max(192);
    let mut spans = Vec::new();
    for group in groups(bar) {
        split_to_beams(group, beam_unit, &mut spans);
    }
    spans
}

fn split_to_beams(span: Span, beam_unit: u32, spans: &mut Vec<Span>) {
    let whole = match span.kind {
        Kind::BeatOfThree => true,
        Kind::Two => span.length <= beam_unit.min(192),
        _ => false,
    };
    if whole {
        spans.push(span);
    } else {
        for child in span.children() {
            split_to_beams(child, beam_unit, spans);
        }
    }
}

/// The wider spans whose notes are beamed together where all of them are eighths: halves of a bar
/// of 4/4 or cut time, a bar of 2/4 or 3/4.
pub(super) fn wide_beam_spans(bar: &BarTime) -> Vec<Span> {
    let mut spans = Vec::new();
    for group in groups(bar) {
        collect_wide(group, &mut spans);
    }
    spans
}

fn collect_wide(span: Span, spans: &mut Vec<Span>) {
    match span.kind {
        Kind::Two if span.length > 384 => {
            for child in span.children() {
                collect_wide(child, spans);
            }
        }
        Kind::Two if span.length == 384 => spans.push(span),
        Kind::ThreeBeats if span.length == 576 => spans.push(span),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::meter::MeterChange;
    use crate::music::{BarNumber, MeterMap, Tick, TicksPerQuarter};

    pub(crate) fn bar(numerator: u8, power: u8) -> BarTime {
        let meter = Meter::new(numerator, power).unwrap();
        let change = MeterChange {
            at: Tick::ZERO,
            meter,
        };
        let quarter = TicksPerQuarter::new(480).unwrap();
        BarTime::of(&MeterMap::new(quarter, [change]), BarNumber(1))
    }

    #[test]
    fn groups_fill_every_bar() {
        for power in 0..=7 {
            for numerator in 1..=255 {
                let bar = bar(numerator, power);
                let mut at = 0;
                for span in groups(&bar) {
                    assert_eq!(span.start, at);
                    at = span.end();
                }
                assert_eq!(at, bar.length.0, "{numerator} {power}");
            }
        }
    }

    #[test]
    fn beams_follow_the_beat() {
        let lengths = |n, p| -> Vec<u32> {
            let spans = beam_spans(&bar(n, p));
            spans.into_iter().map(|s| s.length).collect()
        };
        assert_eq!(lengths(4, 2), [192; 4]);
        assert_eq!(lengths(2, 1), [192; 4]);
        assert_eq!(lengths(6, 3), [288; 2]);
        assert_eq!(lengths(3, 3), [288]);
        assert_eq!(lengths(7, 3), [192, 192, 288]);
        assert_eq!(wide_beam_spans(&bar(3, 2)).len(), 1);
        assert_eq!(wide_beam_spans(&bar(4, 2)).len(), 2);
    }
}
