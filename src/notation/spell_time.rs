//! A stretch of a bar as note values: which one shows the meter, and where it must be two tied ones.
//! All of it is common practice, no source: notes show the middle of a bar and the beats, the usual
//! syncopations (eighth, quarter, eighth) stand as one value, rests never hide a beat.

use super::pulse::{Kind, Span};
use super::value::{Base, Grains, Value};

/// Whether something sounds or rests.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Written {
    Note,
    Rest,
}

/// A value and where it begins, in grains.
pub(super) type Piece = (u32, Value);

/// The values of a stretch between two places of a bar that divides into such groups, in order.
pub(super) fn spell(groups: &[Span], from: u32, to: u32, what: Written) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for group in groups {
        let (start, end) = (from.max(group.start), to.min(group.end()));
        in_span(*group, start, end, what, &mut pieces);
    }
    pieces
}

/// The values of a stretch inside one span.
pub(super) fn in_span(span: Span, from: u32, to: u32, what: Written, pieces: &mut Vec<Piece>) {
    if to <= from {
        return;
    }
    let single = Value::exactly(Grains(to - from));
    let whole = from == span.start && to == span.end();
    // Nothing finer is ever written: what does not divide further stands as it is.
    if span.length <= Base::HundredTwentyEighth.grains().0 {
        let nearest = single.unwrap_or(Value::plain(Base::HundredTwentyEighth));
        pieces.push((from, nearest));
        return;
    }
    if let Some(value) = single.filter(|_| match what {
        Written::Note => whole || note_may_stand(span, from, to),
        Written::Rest => rest_may_stand(span, from, to),
    }) {
        pieces.push((from, value));
        return;
    }
    let parts = span.children();
    let inside = parts.iter().find(|p| p.start <= from && to <= p.end());
    if let Some(part) = inside {
        in_span(*part, from, to, what, pieces);
        return;
    }
    if let Some(pair) = pair_of(span, &parts, from, to, what) {
        in_span(pair, from, to, what, pieces);
        return;
    }
    let cut = cut_at(&parts, from, to, what);
    in_span(span, from, cut, what, pieces);
    in_span(span, cut, to, what, pieces);
}

/// Two neighbours of three parts, if a note lies in them.
fn pair_of(span: Span, parts: &[Span], from: u32, to: u32, what: Written) -> Option<Span> {
    let three = matches!(span.kind, Kind::ThreeBeats | Kind::BeatOfThree);
    let mut pairs = parts.windows(2).map(|p| (p[0].start, p[1].end()));
    let (start, end) = pairs.find(|(start, end)| *start <= from && to <= *end)?;
    (three && what == Written::Note).then(|| Span::new(start, end - start, Kind::Two))
}

/// Where a stretch over several parts is cut: what begins on a part stays together as far as it
/// can, else the first part that it reaches is shown.
fn cut_at(parts: &[Span], from: u32, to: u32, what: Written) -> u32 {
    let mut inner = parts
        .iter()
        .map(|p| p.start)
        .filter(|s| from < *s && *s < to);
    let on_part = parts.iter().any(|p| p.start == from);
    let first = inner.next();
    let cut = if on_part && what == Written::Note {
        inner.next_back().or(first)
    } else {
        first
    };
    // There is always one: the stretch lies in no single part.
    cut.unwrap_or(to)
}

/// Whether a note that covers some of a span, and more than one of its parts, may be one value.
fn note_may_stand(span: Span, from: u32, to: u32) -> bool {
    let (start, end) = (from == span.start, to == span.end());
    let quarter = span.length / 4;
    let middle = span.start + span.length / 2;
    match span.kind {
        Kind::Two => {
            let syncopated = from == span.start + quarter && to + quarter == span.end();
            (from < middle && middle < to) && (start || end || syncopated)
        }
        Kind::ThreeOfCompound => {
            let part = span.length / 3;
            (from - span.start).is_multiple_of(part) && (span.end() - to).is_multiple_of(part)
        }
        _ => false,
    }
}

/// Whether a rest may be one value: a whole span, dotted only in compound time or at the start of a
/// beat.
fn rest_may_stand(span: Span, from: u32, to: u32) -> bool {
    let (start, end) = (from == span.start, to == span.end());
    match span.kind {
        Kind::Two => start && (end || span.length <= 192 && to > span.start + span.length / 2),
        Kind::BeatOfThree => start && (end || 3 * (to - from) == 2 * span.length),
        Kind::TwoOfCompound => start && end,
        Kind::ThreeBeats | Kind::ThreeOfCompound => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::meter::MeterChange;
    use crate::music::{BarNumber, Meter, MeterMap, Tick, TicksPerQuarter};
    use crate::notation::bar_time::BarTime;
    use crate::notation::pulse::groups;

    /// The values of a stretch given in 16ths of a quarter beat's quarter: 4 is a quarter note.
    fn check(meter: (u8, u8), from: u32, to: u32, what: Written, expected: &str) {
        let change = MeterChange {
            at: Tick::ZERO,
            meter: Meter::new(meter.0, meter.1).unwrap(),
        };
        let quarter = TicksPerQuarter::new(480).unwrap();
        let bar = BarTime::of(&MeterMap::new(quarter, [change]), BarNumber(1));
        let pieces = spell(&groups(&bar), from * 48, to * 48, what);
        let words: Vec<String> = pieces.iter().map(|(_, v)| v.words()).collect();
        assert_eq!(
            words.join(" + "),
            expected,
            "{meter:?} {from}..{to} {what:?}"
        );
        let sum: u32 = pieces.iter().map(|(_, v)| v.grains().0).sum();
        assert_eq!(sum, (to - from) * 48);
    }

    #[test]
    fn notes_in_four_four() {
        for (from, to, expected) in [
            (0, 16, "whole"),
            (0, 12, "dotted half"),
            (4, 16, "dotted half"),
            (4, 12, "half"),
            (4, 10, "quarter + eighth"),
            (0, 6, "dotted quarter"),
            (2, 6, "quarter"),
            (2, 8, "dotted quarter"),
            (6, 10, "eighth + eighth"),
            (6, 16, "eighth + half"),
            (2, 10, "dotted quarter + eighth"),
            (0, 10, "half + eighth"),
            (0, 14, "half + dotted quarter"),
            (0, 5, "quarter + 16th"),
            (0, 7, "quarter + dotted eighth"),
            (3, 5, "16th + 16th"),
            (1, 3, "eighth"),
            (1, 4, "dotted eighth"),
            (0, 3, "dotted eighth"),
        ] {
            check((4, 2), from, to, Written::Note, expected);
        }
    }

    #[test]
    fn notes_in_other_meters() {
        for (meter, from, to, expected) in [
            ((3, 2), 0, 12, "dotted half"),
            ((3, 2), 4, 12, "half"),
            ((3, 2), 0, 6, "dotted quarter"),
            ((3, 2), 4, 10, "dotted quarter"),
            ((3, 2), 6, 12, "dotted quarter"),
            ((3, 2), 0, 10, "half + eighth"),
            ((3, 2), 2, 12, "eighth + half"),
            ((6, 3), 0, 12, "dotted half"),
            ((6, 3), 0, 8, "dotted quarter + eighth"),
            ((6, 3), 0, 4, "quarter"),
            ((6, 3), 2, 6, "quarter"),
            ((6, 3), 4, 8, "eighth + eighth"),
            ((6, 3), 0, 3, "dotted eighth"),
            ((12, 3), 0, 24, "dotted whole"),
            ((12, 3), 6, 18, "dotted quarter + dotted quarter"),
            ((12, 3), 12, 24, "dotted half"),
            ((9, 3), 6, 18, "dotted half"),
            ((9, 3), 0, 18, "dotted half + dotted quarter"),
            ((2, 1), 0, 16, "whole"),
            ((5, 2), 0, 20, "dotted half + half"),
            ((7, 3), 0, 14, "quarter + quarter + dotted quarter"),
        ] {
            check(meter, from, to, Written::Note, expected);
        }
    }

    #[test]
    fn rests_hide_no_beat() {
        for (meter, from, to, expected) in [
            ((4, 2), 0, 8, "half"),
            ((4, 2), 4, 12, "quarter + quarter"),
            ((4, 2), 4, 16, "quarter + half"),
            ((4, 2), 0, 12, "half + quarter"),
            ((4, 2), 2, 6, "eighth + eighth"),
            ((4, 2), 2, 8, "eighth + quarter"),
            ((4, 2), 0, 3, "dotted eighth"),
            ((4, 2), 1, 4, "16th + eighth"),
            ((3, 2), 0, 8, "quarter + quarter"),
            ((6, 3), 0, 6, "dotted quarter"),
            ((6, 3), 0, 4, "quarter"),
            ((6, 3), 2, 6, "eighth + eighth"),
            ((12, 3), 0, 12, "dotted half"),
            ((12, 3), 6, 18, "dotted quarter + dotted quarter"),
            ((9, 3), 0, 12, "dotted quarter + dotted quarter"),
        ] {
            check(meter, from, to, Written::Rest, expected);
        }
    }
}
