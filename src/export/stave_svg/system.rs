//! Paints one system: what stands at its left, its bars, and what stands over and under them.

use super::breaks::natural_width;
use super::cell::Cell;
use super::ink::{Ink, UNITS};
use super::{StaveMusic, System};
use crate::music::Tick;
use crate::notation::dynamic_signs::{HAIRPIN_GAP, HAIRPIN_UP, OPEN, SCALE, UNDER, signs};
use crate::notation::glyph_sizes::BREATH_MARK;
use crate::notation::strokes::LINE;
use crate::notation::{Clef, Columns, PlacedGlyph, Spot, Symbol, place_bar};
use crate::score::{BeatsAMinute, DynamicMark, TempoMark};
use std::fmt::Write as _;

/// From the highest sign to the foot of the bar numbers, in stave spaces (ours, here and below).
const OVER: f32 = 0.7;
/// How high the row of bar numbers is.
const NUMBERS: f32 = 1.7;
/// How high the row of rehearsal marks and tempos is.
const MARKS: f32 = 3.2;
/// From the lowest sign to the foot of the dynamics, at least.
const BELOW: f32 = 2.3;
/// Under the lowest sign.
const FOOT: f32 = 0.5;
/// A last system that is filled less than this is not stretched to the page.
const FILLED: f32 = 0.75;
/// How large the note of a tempo is, of the font's usual size.
const TEMPO_NOTE: f32 = 0.85;
/// How wide a tempo and the word of a change are, with what goes before the next.
const TEMPO_WIDE: f32 = 7.0;
const WAY_WIDE: f32 = 4.5;
/// Between two rehearsal marks.
const MARK_GAP: f32 = 0.8;
/// Where the number over several bars of rest has its foot.
const REST_NUMBER: f32 = 4.7;
/// Where the music font has the breath mark, moved over the stave and before the note that follows (as the window).
const BREATH: Spot = Spot { x: -1.1, y: 1.3 };

/// A cell where it stands.
struct Placed<'a> {
    cell: &'a Cell,
    left: f32,
    columns: Columns,
    symbols: Vec<Symbol>,
}

impl Placed<'_> {
    fn right(&self) -> f32 {
        self.left + self.columns.width
    }

    fn span(&self, music: &StaveMusic<'_>) -> (Tick, Tick) {
        (
            self.cell.written.start,
            music.meters.bar_end(self.cell.last),
        )
    }
}

/// How far the rows of a system reach, in stave spaces from the lowest line.
struct Heights {
    numbers: f32,
    marks: f32,
    tempos: f32,
    top: f32,
    dynamics: f32,
    bottom: f32,
}

/// The element of a system; `None` without cells. `next` is what follows on the next system.
pub(super) fn paint(
    music: &StaveMusic<'_>,
    cells: &[Cell],
    next: Option<&Cell>,
    (width, last): (f32, bool),
) -> Option<System> {
    let placed = placed(music.stave.clef, cells, next, (width, last));
    let (first_cell, last_cell) = (placed.first()?, placed.last()?);
    let (first, end) = (first_cell.cell.written.number, last_cell.cell.last);
    let courtesy = next.map(|c| &c.courtesy);
    let right = last_cell.right() + courtesy.map_or(0.0, |c| c.width);
    let heights = heights(music, &placed);
    let mut body = String::new();
    let mut ink = Ink {
        body: &mut body,
        left: 0.0,
        base: heights.top,
    };
    for line in 0..5 {
        let y = line as f32;
        ink.line((0.0, y), (right, y), LINE);
    }
    let opening = &first_cell.cell.opening;
    opening.symbols.iter().for_each(|s| ink.symbol(s));
    for one in &placed {
        ink.left = one.left;
        bar(&mut ink, one);
    }
    if let Some(courtesy) = courtesy {
        ink.left = last_cell.right();
        courtesy.symbols.iter().for_each(|s| ink.symbol(s));
    } else if last {
        ink.left = last_cell.right();
        ink.line((-0.75, 0.0), (-0.75, 4.0), 0.16);
        ink.block((-0.45, 0.0), (0.0, 4.0));
    }
    ink.left = 0.0;
    let page = Page {
        music,
        placed: &placed,
        heights: &heights,
    };
    page.numbers(&mut ink);
    page.marks(&mut ink);
    page.breaths(&mut ink);
    page.dynamics(&mut ink);
    let high = (heights.top - heights.bottom) * UNITS;
    let wide = width.max(right) * UNITS;
    let mut svg = format!(
        "<svg class=\"system\" viewBox=\"0 0 {wide:.0} {high:.0}\" role=\"img\" aria-label=\"bars {first} to {end}\">"
    );
    // Writing to a string cannot fail.
    let _ = write!(svg, "{body}</svg>");
    Some(System {
        first,
        last: end,
        svg,
    })
}

/// Gives every cell its place, stretched so that the system fills the page.
fn placed<'a>(
    clef: Clef,
    cells: &'a [Cell],
    next: Option<&Cell>,
    (width, last): (f32, bool),
) -> Vec<Placed<'a>> {
    let opening = cells.first().map_or(0.0, |c| c.opening.width);
    let after = next.map_or(0.0, |c| c.courtesy.width);
    let natural = natural_width(cells, 0..cells.len());
    let factor = if last && natural < FILLED * width {
        1.0
    } else {
        (width - opening - after) / (natural - opening).max(1.0)
    };
    let mut left = opening;
    let mut all = Vec::with_capacity(cells.len());
    for (i, cell) in cells.iter().enumerate() {
        let (written, columns) = cell.placed(i == 0);
        let columns = columns.stretched(columns.width * factor.max(0.1));
        let symbols = if cell.rests().is_some() {
            let changes = place_bar(written, &columns, clef).into_iter();
            changes
                .filter(|s| !matches!(s, Symbol::Rest { .. }))
                .collect()
        } else {
            place_bar(written, &columns, clef)
        };
        let wide = columns.width;
        all.push(Placed {
            cell,
            left,
            columns,
            symbols,
        });
        left += wide;
    }
    all
}

fn heights(music: &StaveMusic<'_>, placed: &[Placed<'_>]) -> Heights {
    let openings = placed.first().map(|p| &p.cell.opening.symbols);
    let own = placed.iter().flat_map(|p| &p.symbols);
    let bounds = own
        .chain(openings.into_iter().flatten())
        .map(Symbol::bounds);
    let (mut high, mut low) = (4.0_f32, 0.0_f32);
    for b in bounds {
        high = high.max(b.top);
        low = low.min(b.bottom);
    }
    let spans: Vec<(Tick, Tick)> = placed.iter().map(|p| p.span(music)).collect();
    let here = |at: &Tick| spans.iter().any(|(from, to)| from <= at && at < to);
    if placed.iter().any(|p| p.cell.rests().is_some()) {
        high = high.max(REST_NUMBER + 2.1);
    }
    let breaths = breaths(music, placed);
    for at in &breaths {
        high = high.max(at.y + BREATH_MARK.top);
    }
    let numbers = high + OVER;
    let row = |there: bool| if there { MARKS } else { 0.0 };
    let marks = numbers + NUMBERS;
    let tempos = marks + row(music.marks.iter().any(|m| here(&m.0)));
    let top = tempos + row(music.tempos.iter().any(|t| here(&t.at())));
    let dynamics = UNDER.min(low - BELOW);
    let loud = music.dynamics.iter().any(|m| {
        let (from, to) = reach(m);
        spans.iter().any(|s| from < s.1 && to >= s.0)
    });
    Heights {
        numbers,
        marks,
        tempos,
        top,
        dynamics,
        bottom: if loud { dynamics } else { low } - FOOT,
    }
}

/// Where a tick of the system stands; `None` for one of another system.
fn x_of(music: &StaveMusic<'_>, placed: &[Placed<'_>], at: Tick) -> Option<f32> {
    let one = placed.iter().find(|p| {
        let (from, to) = p.span(music);
        from <= at && at < to
    })?;
    Some(one.left + one.columns.x_at(at))
}

/// Where the breath marks of a system have their origin: over the stave, and over what stands near.
fn breaths(music: &StaveMusic<'_>, placed: &[Placed<'_>]) -> Vec<Spot> {
    let origin = |at: &Tick| {
        let x = x_of(music, placed, *at)? + BREATH.x;
        let (left, right) = (x + BREATH_MARK.left - 0.3, x + BREATH_MARK.right + 0.3);
        let near = placed.iter().flat_map(|p| {
            let bounds = p.symbols.iter().map(Symbol::bounds);
            bounds.filter(move |b| p.left + b.left < right && left < p.left + b.right)
        });
        let top = near.map(|b| b.top).fold(0.0, f32::max);
        let y = BREATH.y.max(top + 0.3 - BREATH_MARK.bottom);
        Some(Spot { x, y })
    };
    music.breaths.iter().filter_map(origin).collect()
}

/// From where to where a mark of loudness reaches.
const fn reach(mark: &DynamicMark) -> (Tick, Tick) {
    match *mark {
        DynamicMark::At(at, _) => (at, at),
        DynamicMark::Grows(from, to) | DynamicMark::Fades(from, to) => (from, to),
    }
}

/// A bar with its line at the right, or several bars of rest.
fn bar(ink: &mut Ink<'_>, placed: &Placed<'_>) {
    placed.symbols.iter().for_each(|s| ink.symbol(s));
    let (from, right) = (placed.columns.music_x + 1.0, placed.columns.width);
    if let Some(count) = placed.cell.rests() {
        let to = right - 1.0;
        ink.block((from, 1.5), (to, 2.5));
        for x in [from, to] {
            ink.line((x, 1.0), (x, 3.0), 0.2);
        }
        let middle = Spot {
            x: (from + to) / 2.0,
            y: REST_NUMBER,
        };
        ink.words(middle, "d", &count.to_string());
    }
    ink.line((right, 0.0), (right, 4.0), 0.16);
}

/// How wide a rehearsal mark is, with what goes before the next.
pub(super) fn mark_width(words: &str) -> f32 {
    1.0 + 1.05 * words.chars().count() as f32 + MARK_GAP
}

/// How wide a tempo is, with what goes before the next.
pub(super) const fn tempo_width(mark: TempoMark) -> f32 {
    match mark {
        TempoMark::Steady(..) => TEMPO_WIDE,
        TempoMark::Slower(_) | TempoMark::Faster(_) => WAY_WIDE,
    }
}

/// A note and how many of it are in a minute.
fn tempo_mark(ink: &mut Ink<'_>, at: Spot, tempo: BeatsAMinute) {
    ink.sign(at, '\u{2669}', TEMPO_NOTE, "m");
    let mut x = at.x + 1.25;
    if tempo.dotted {
        ink.words(Spot { x, ..at }, "t", ".");
        x += 0.7;
    }
    ink.words(Spot { x, ..at }, "t", &format!("= {}", tempo.beats));
}

/// What stands over and under the bars.
struct Page<'a> {
    music: &'a StaveMusic<'a>,
    placed: &'a [Placed<'a>],
    heights: &'a Heights,
}

impl Page<'_> {
    /// Where a tick of the system stands; `None` for one of another system.
    fn x(&self, at: Tick) -> Option<f32> {
        x_of(self.music, self.placed, at)
    }

    /// The number of every bar, and the marks of those that are marked.
    fn numbers(&self, ink: &mut Ink<'_>) {
        let y = self.heights.numbers;
        for one in self.placed {
            let number = one.cell.written.number;
            let at = Spot {
                x: one.left + 0.3,
                y,
            };
            ink.words(at, "n", &number.to_string());
            let spot = self.music.spots.iter().find(|(bar, _)| *bar == number);
            if let Some((_, mark)) = spot {
                let digits = number.0.checked_ilog10().map_or(1, |d| d + 1);
                let middle = one.left + 1.7 + 0.8 * digits as f32;
                self.spot(ink, (middle, one.right() - 0.5), *mark);
            }
        }
    }

    /// A filled diamond with a number, and a bracket to the end of the bar.
    fn spot(&self, ink: &mut Ink<'_>, (middle, right): (f32, f32), mark: usize) {
        let y = self.heights.numbers + 0.55;
        let corner = |x: f32, up: f32| Spot {
            x: middle + x,
            y: y + up,
        };
        ink.shape(&[
            corner(0.0, 1.25),
            corner(1.25, 0.0),
            corner(0.0, -1.25),
            corner(-1.25, 0.0),
        ]);
        ink.words(corner(0.0, -0.5), "k", &mark.to_string());
        if right > middle + 1.6 {
            ink.line((middle + 1.2, y), (right, y), 0.2);
            ink.line((right, y), (right, y - 0.9), 0.2);
        }
    }

    /// Rehearsal marks, and over them tempos. What has no room where it belongs goes to the right of what stands there.
    fn marks(&self, ink: &mut Ink<'_>) {
        let right = self.placed.last().map_or(0.0, Placed::right);
        let mut free = 0.0_f32;
        let y = self.heights.marks + 0.75;
        for (at, words) in self.music.marks {
            let Some(x) = self.bar_left(*at) else {
                continue;
            };
            let wide = mark_width(words) - MARK_GAP;
            let x = x.min(right - wide).max(free);
            let middle = Spot {
                x: x + wide / 2.0,
                y,
            };
            ink.words(middle, "r", words);
            ink.frame((x, y - 0.65), (x + wide, y + 1.75), 0.14);
            free = x + wide + MARK_GAP;
        }
        let y = self.heights.tempos + 0.75;
        free = 0.0;
        for mark in self.music.tempos {
            let Some(x) = self.bar_left(mark.at()) else {
                continue;
            };
            let wide = tempo_width(*mark);
            let at = Spot {
                x: x.min(right - wide).max(free),
                y,
            };
            match mark {
                TempoMark::Steady(_, tempo) => tempo_mark(ink, at, *tempo),
                TempoMark::Slower(_) => ink.words(at, "w", "rit."),
                TempoMark::Faster(_) => ink.words(at, "w", "accel."),
            }
            free = at.x + wide;
        }
    }

    /// The left end of the bar that something begins in.
    fn bar_left(&self, at: Tick) -> Option<f32> {
        let mut all = self.placed.iter();
        let one = all.find(|p| {
            let (from, to) = p.span(self.music);
            from <= at && at < to
        })?;
        let inside = one.columns.x_at(at) - 0.3;
        let starts = at == one.cell.written.start;
        Some(one.left + if starts { 0.0 } else { inside.max(0.0) })
    }

    fn breaths(&self, ink: &mut Ink<'_>) {
        for origin in breaths(self.music, self.placed) {
            let placed = PlacedGlyph {
                glyph: BREATH_MARK,
                origin,
                mirrored: false,
            };
            ink.glyph(&placed, "m");
        }
    }

    fn dynamics(&self, ink: &mut Ink<'_>) {
        let y = self.heights.dynamics;
        let mut free = f32::MIN;
        for mark in self.music.dynamics {
            match *mark {
                DynamicMark::At(at, dynamic) => {
                    let Some(mut x) = self.x(at) else {
                        continue;
                    };
                    for (code, wide) in signs(dynamic) {
                        ink.sign(Spot { x, y }, code, SCALE, "m");
                        x += wide;
                    }
                    free = x;
                }
                DynamicMark::Grows(from, to) => self.hairpin(ink, (from, to), true, free),
                DynamicMark::Fades(from, to) => self.hairpin(ink, (from, to), false, free),
            }
        }
    }

    /// A hairpin, or what of it lies on this system.
    fn hairpin(&self, ink: &mut Ink<'_>, (from, to): (Tick, Tick), grows: bool, free: f32) {
        let (Some(first), Some(last)) = (self.placed.first(), self.placed.last()) else {
            return;
        };
        let (start, end) = (first.span(self.music).0, last.span(self.music).1);
        if to <= start || end <= from {
            return;
        }
        let begins = self.x(from).map_or(first.left, |x| x + HAIRPIN_GAP);
        let begins = begins.max(free + HAIRPIN_GAP);
        let stops = self.x(to).unwrap_or_else(|| last.right()) - HAIRPIN_GAP;
        if stops < begins + 1.0 {
            return;
        }
        // What of it lies on another system is already open here, or still is.
        let whole = to.since(from).0.max(1) as f32;
        let share = |at: Tick| at.since(from).0 as f32 / whole;
        let open = |at: Tick| OPEN * if grows { share(at) } else { 1.0 - share(at) };
        let (near, far) = (open(from.max(start)), open(to.min(end)));
        let middle = self.heights.dynamics + HAIRPIN_UP + 0.55;
        for side in [-1.0, 1.0] {
            let (a, b) = (middle + side * near, middle + side * far);
            ink.line((begins, a), (stops, b), LINE);
        }
    }
}
