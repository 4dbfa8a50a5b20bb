//! Which notes of a voice are beamed together. All of it is common practice, no source: by beat;
//! eighths alone by half bar (4/4, cut time), by bar (2/4, 3/4); in compound time by dotted beat.

use super::bar_time::BarTime;
use super::pulse::{Span, beam_spans, wide_beam_spans};
use super::value::{Base, Value};
use super::written::{Event, WrittenTuplet};

/// How far one beam of a group reaches.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Reach {
    /// From one note of the group to another.
    Between {
        /// Place in the group.
        from: usize,
        /// Place in the group, later.
        to: usize,
    },
    /// A short end at one note.
    Hook {
        /// Place in the group.
        at: usize,
        /// Whether it points to what follows.
        rightwards: bool,
    },
}

/// A beam of a group.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BeamLine {
    /// 1 for eighths, 2 for 16ths, and so on.
    pub level: u8,
    /// How far it reaches.
    pub reach: Reach,
}

/// Notes beamed together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BeamGroup {
    /// Their places among the voice's events, one after the other; at least two.
    pub events: Vec<usize>,
    /// The beams, the outermost first.
    pub lines: Vec<BeamLine>,
}

/// The groups of a voice.
pub(super) fn beams(bar: &BarTime, events: &[Event], tuplets: &[WrittenTuplet]) -> Vec<BeamGroup> {
    let spans = spans_of(bar, events);
    let mut groups: Vec<BeamGroup> = Vec::new();
    let mut open: Option<(usize, Vec<usize>)> = None;
    for (i, event) in events.iter().enumerate() {
        let beamed = !event.is_rest() && event.value.base.flags() > 0;
        let inside = |s: &Span| s.start <= event.place.0 && event.place.0 < s.end();
        let span = spans.iter().position(inside).filter(|_| beamed);
        match (&mut open, span) {
            (Some((open_span, members)), Some(span)) if *open_span == span => members.push(i),
            _ => {
                close(&mut groups, open.take(), events, tuplets, &spans);
                open = span.map(|s| (s, vec![i]));
            }
        }
    }
    close(&mut groups, open, events, tuplets, &spans);
    groups
}

/// The spans of the bar, joined where all notes of a wide span are eighths.
fn spans_of(bar: &BarTime, events: &[Event]) -> Vec<Span> {
    let all_eighths = |span: &Span| {
        let inside = |e: &&Event| span.start <= e.place.0 && e.place.0 < span.end();
        let eighth = Value::plain(Base::Eighth);
        let eighths = events.iter().filter(inside);
        let fitting = eighths.filter(|e| !e.is_rest() && e.value == eighth);
        fitting.count() as u32 * Base::Eighth.grains().0 == span.length
    };
    let wide: Vec<Span> = wide_beam_spans(bar)
        .into_iter()
        .filter(all_eighths)
        .collect();
    let holds = |w: &Span, s: &Span| w.start <= s.start && s.end() <= w.end();
    let mut spans = beam_spans(bar);
    spans.retain(|s| !wide.iter().any(|w| holds(w, s)));
    spans.extend(wide);
    spans.sort_by_key(|s| s.start);
    spans
}

fn close(
    groups: &mut Vec<BeamGroup>,
    open: Option<(usize, Vec<usize>)>,
    events: &[Event],
    tuplets: &[WrittenTuplet],
    spans: &[Span],
) {
    let Some((span, members)) = open.filter(|(_, members)| members.len() > 1) else {
        return;
    };
    let start = spans.get(span).map_or(0, |s| s.start);
    let lines = lines(&members, events, tuplets, start);
    groups.push(BeamGroup {
        events: members,
        lines,
    });
}

fn lines(
    members: &[usize],
    events: &[Event],
    tuplets: &[WrittenTuplet],
    span_start: u32,
) -> Vec<BeamLine> {
    let flags = |at: usize| events[members[at]].value.base.flags();
    let tuplet = |at: usize| {
        let i = members[at];
        tuplets.iter().position(|t| t.from <= i && i <= t.to)
    };
    let most = (0..members.len()).map(flags).max().unwrap_or(0);
    let mut lines = Vec::new();
    for level in 1..=most {
        let mut at = 0;
        while at < members.len() {
            if flags(at) < level {
                at += 1;
                continue;
            }
            // Inner beams show where one tuplet ends and the next begins.
            let goes_on = |next: usize| {
                next < members.len()
                    && flags(next) >= level
                    && (level == 1 || tuplet(next) == tuplet(at))
            };
            let mut last = at;
            while goes_on(last + 1) {
                last += 1;
            }
            let reach = if last > at {
                Reach::Between { from: at, to: last }
            } else {
                let rightwards = hook_points_right(members, events, at, span_start);
                Reach::Hook { at, rightwards }
            };
            lines.push(BeamLine { level, reach });
            at = last + 1;
        }
    }
    lines
}

/// A short beam points to the note that its own fills up the beat with.
fn hook_points_right(members: &[usize], events: &[Event], at: usize, span_start: u32) -> bool {
    if at == 0 || at + 1 == members.len() {
        return at == 0;
    }
    let event = &events[members[at]];
    let twice = 2 * event.grains.0.max(1);
    event
        .place
        .0
        .saturating_sub(span_start)
        .is_multiple_of(twice)
}
