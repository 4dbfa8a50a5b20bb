//! What stands at one moment of a stave: heads moved aside for one another, accidentals staggered
//! before them, dots behind, ledger lines through. All of it is common practice, no source.

use super::accidentals::Accidental;
use super::glyph_sizes as sizes;
use super::stave::Clef;
use super::stems::{directions, height};
use super::symbol::Spot;
use super::value::{Base, Grains};
use super::written::{Event, WrittenBar};
use std::collections::BTreeMap;

/// Room between an accidental and what it stands before.
const SIGN_GAP: f32 = 0.22;
/// Room before a dot.
const DOT_GAP: f32 = 0.3;
/// How far a ledger line reaches beyond its head.
const LEDGER: f32 = 0.32;
/// How much two heads on both sides of a stem overlap: the stem's thickness.
const SHARED: f32 = sizes::STEM;

/// A head, from the left end of those that are not moved aside.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct HeadShape {
    pub(super) voice: usize,
    pub(super) event: usize,
    /// Which of the event's notes.
    pub(super) note: usize,
    pub(super) at: Spot,
    pub(super) base: Base,
    pub(super) index: usize,
}

impl HeadShape {
    fn width(&self) -> f32 {
        sizes::head(self.base).width()
    }
}

/// An accidental: its left end and its note's height.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct SignShape {
    pub(super) at: Spot,
    pub(super) kind: Accidental,
    pub(super) index: usize,
}

/// Everything at one moment of a stave.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Shape {
    pub(super) heads: Vec<HeadShape>,
    pub(super) signs: Vec<SignShape>,
    pub(super) dots: Vec<Spot>,
    /// Left end, right end, height.
    pub(super) ledgers: Vec<(f32, f32, f32)>,
    /// By how much each voice's chord is moved to the right.
    pub(super) moved: BTreeMap<usize, f32>,
    /// How far all of it reaches to the left of 0.
    pub(super) left: f32,
    /// How far all of it reaches to the right of 0.
    pub(super) right: f32,
}

/// The shapes of a bar by where they stand in it. The rest of a whole bar has none.
pub(super) fn shapes(bar: &WrittenBar, clef: Clef) -> BTreeMap<Grains, Shape> {
    let up = directions(bar, clef);
    let mut together: BTreeMap<Grains, Vec<(usize, usize)>> = BTreeMap::new();
    for (v, voice) in bar.voices.iter().enumerate() {
        for (e, event) in voice.events.iter().enumerate() {
            if !event.whole_bar {
                together.entry(event.place).or_default().push((v, e));
            }
        }
    }
    let shape = |members: &[(usize, usize)]| {
        let mut builder = Builder {
            bar,
            clef,
            shape: Shape::default(),
            sides: Vec::new(),
        };
        for (v, e) in members {
            let goes_up = up.get(*v).and_then(|u| u.get(*e)).copied().unwrap_or(true);
            builder.add(*v, *e, goes_up);
        }
        builder.finished()
    };
    together
        .into_iter()
        .map(|(at, m)| (at, shape(&m)))
        .collect()
}

struct Builder<'a> {
    bar: &'a WrittenBar,
    clef: Clef,
    shape: Shape,
    /// Voice, event and direction of what was added.
    sides: Vec<(usize, usize, bool)>,
}

impl Builder<'_> {
    fn event(&self, voice: usize, event: usize) -> Option<&Event> {
        self.bar.voices.get(voice)?.events.get(event)
    }

    fn add(&mut self, v: usize, e: usize, up: bool) {
        let Some(event) = self.event(v, e) else {
            return;
        };
        if event.is_rest() {
            let width = rest_width(event);
            self.shape.right = self.shape.right.max(width);
            return;
        }
        let heads = heads_of(event, v, e, up, self.clef);
        let step = sizes::WHOLE_HEAD.width() / 4.0;
        // Whatever is there is passed in the end.
        let mut moves = (0..64_u16).map(|n| f32::from(n) * step);
        let free = moves.find(|dx| self.is_free(&heads, *dx, up));
        let dx = free.unwrap_or(0.0);
        self.shape.moved.insert(v, dx);
        for mut head in heads {
            head.at.x += dx;
            self.shape.heads.push(head);
        }
        self.sides.push((v, e, up));
    }

    /// Whether a chord may stand so far to the right, beside what is there.
    fn is_free(&self, heads: &[HeadShape], dx: f32, up: bool) -> bool {
        self.sides.iter().all(|(v, e, other_up)| {
            let there = self.shape.heads.iter();
            let there: Vec<&HeadShape> = there.filter(|h| h.voice == *v && h.event == *e).collect();
            let event = self.event(*v, *e);
            let dots = event.map(|e| e.value.dots);
            let mine = heads.first().and_then(|h| self.event(h.voice, h.event));
            let same_dots = mine.map(|m| m.value.dots) == dots;
            let apart = heads.iter().all(|a| {
                let x = a.at.x + dx;
                there.iter().all(|b| {
                    let beside = x >= b.at.x + b.width() - SHARED - 1e-3
                        || x + a.width() <= b.at.x + SHARED + 1e-3;
                    let shared = x == b.at.x
                        && a.at.y == b.at.y
                        && same_head(a.base, b.base)
                        && same_dots
                        && up != *other_up;
                    beside || shared || (a.at.y - b.at.y).abs() >= 1.0
                })
            });
            let lowest =
                |heads: &[&HeadShape]| heads.iter().map(|h| h.at.y).fold(f32::MAX, f32::min);
            let highest =
                |heads: &[&HeadShape]| heads.iter().map(|h| h.at.y).fold(f32::MIN, f32::max);
            let own: Vec<&HeadShape> = heads.iter().collect();
            // Where the voices cross, their stems would run through the other's heads.
            let crossed = match (up, *other_up) {
                (true, false) => lowest(&own) < highest(&there),
                (false, true) => highest(&own) > lowest(&there),
                _ => true,
            };
            let right_of_all = there
                .iter()
                .all(|b| heads.iter().all(|a| a.at.x + dx >= b.at.x + b.width()));
            apart && (!crossed || right_of_all)
        })
    }

    fn finished(mut self) -> Shape {
        self.put_ledgers();
        self.put_signs();
        self.put_dots();
        let shape = &mut self.shape;
        for head in &shape.heads {
            shape.left = shape.left.max(-head.at.x);
            shape.right = shape.right.max(head.at.x + head.width());
        }
        for (x0, x1, _) in &shape.ledgers {
            shape.left = shape.left.max(-x0);
            shape.right = shape.right.max(*x1);
        }
        for sign in &shape.signs {
            shape.left = shape.left.max(-sign.at.x);
        }
        for dot in &shape.dots {
            shape.right = shape.right.max(dot.x + 2.0 * sizes::DOT);
        }
        let flag = self.flag_end();
        self.shape.right = self.shape.right.max(flag.unwrap_or(0.0));
        self.shape
    }

    /// How far the flags of stems that go up reach to the right.
    fn flag_end(&self) -> Option<f32> {
        let ends = self.sides.iter().filter_map(|(v, e, up)| {
            let voice = self.bar.voices.get(*v)?;
            let event = voice.events.get(*e)?;
            let beamed = voice.beams.iter().any(|b| b.events.contains(e));
            let flag = sizes::flag(event.value.base).filter(|_| *up && !beamed)?;
            let moved = self.shape.moved.get(v).copied().unwrap_or_default();
            Some(moved + sizes::BLACK_HEAD.width() - sizes::STEM + flag.width())
        });
        ends.reduce(f32::max)
    }

    fn put_ledgers(&mut self) {
        let mut lines: BTreeMap<i32, (f32, f32)> = BTreeMap::new();
        for head in &self.shape.heads {
            let (x0, x1) = (head.at.x - LEDGER, head.at.x + head.width() + LEDGER);
            let halves = (head.at.y * 2.0).round() as i32;
            let above = (10..=halves).step_by(2);
            let below = (halves..=-2).filter(|h| h % 2 == 0);
            for line in above.chain(below) {
                let ends = lines.entry(line).or_insert((x0, x1));
                *ends = (ends.0.min(x0), ends.1.max(x1));
            }
        }
        let line = |(halves, (x0, x1)): (i32, (f32, f32))| (x0, x1, halves as f32 / 2.0);
        self.shape.ledgers = lines.into_iter().map(line).collect();
    }

    fn put_signs(&mut self) {
        let mut wanted: Vec<(f32, Accidental, usize)> = Vec::new();
        for head in &self.shape.heads {
            let event = self.event(head.voice, head.event);
            let note = event.and_then(|e| e.notes.get(head.note));
            if let Some((note, kind)) = note.and_then(|n| Some((n, n.accidental?))) {
                wanted.push((head.at.y, kind, note.index));
            }
        }
        wanted.sort_by(|a, b| b.0.total_cmp(&a.0));
        let heads = self.shape.heads.iter().map(|h| h.at.x);
        let ledgers = self.shape.ledgers.iter().map(|l| l.0);
        let edge = heads.chain(ledgers).fold(0.0_f32, f32::min) - SIGN_GAP;
        let mut boxes: Vec<[f32; 4]> = Vec::new();
        // The highest, then the lowest, and so on inwards: the outer ones stand nearest.
        let (mut first, mut last) = (0, wanted.len());
        while first < last {
            let next = if (first + wanted.len() - last).is_multiple_of(2) {
                first += 1;
                first - 1
            } else {
                last -= 1;
                last
            };
            let Some((y, kind, index)) = wanted.get(next).copied() else {
                break;
            };
            let glyph = sizes::accidental(kind);
            let (bottom, top) = (
                y + glyph.bottom - glyph.middle,
                y + glyph.top - glyph.middle,
            );
            let hits = |right: f32, b: &[f32; 4]| {
                right > b[0] && right - glyph.width() < b[2] && bottom < b[3] && b[1] < top
            };
            let mut rights: Vec<f32> = boxes.iter().map(|b| b[0] - 0.1).collect();
            rights.push(edge);
            rights.sort_by(|a, b| b.total_cmp(a));
            let free = rights
                .into_iter()
                .find(|r| !boxes.iter().any(|b| hits(*r, b)));
            let right = free.unwrap_or(edge);
            let x = right - glyph.width();
            boxes.push([x, bottom, right, top]);
            let at = Spot { x, y };
            self.shape.signs.push(SignShape { at, kind, index });
        }
    }

    fn put_dots(&mut self) {
        let ends = self.shape.heads.iter().map(|h| h.at.x + h.width());
        let ends = ends.chain(self.flag_end());
        let x = ends.fold(0.0, f32::max) + DOT_GAP;
        let mut heads: Vec<(f32, u8)> = Vec::new();
        for head in &self.shape.heads {
            let event = self.event(head.voice, head.event);
            heads.push((head.at.y, event.map_or(0, |e| e.value.dots)));
        }
        heads.retain(|(_, dots)| *dots > 0);
        heads.sort_by(|a, b| b.0.total_cmp(&a.0));
        heads.dedup();
        let mut taken: Vec<f32> = Vec::new();
        for (y, dots) in heads {
            // In the head's space, or the one above its line; else in the next one that is free below.
            let on_line = y == y.floor();
            let wanted = if on_line { y + 0.5 } else { y };
            let lower = (0..32_u8).map(|n| wanted - f32::from(n));
            let free = lower.clone().find(|y| !taken.contains(y));
            let y = free.unwrap_or(wanted);
            taken.push(y);
            for dot in 0..dots {
                let x = x + f32::from(dot) * (2.0 * sizes::DOT + 0.15);
                self.shape.dots.push(Spot { x, y });
            }
        }
    }
}

/// The heads of a chord, those a second from another one on the other side of the stem.
fn heads_of(event: &Event, voice: usize, e: usize, up: bool, clef: Clef) -> Vec<HeadShape> {
    let width = sizes::head(event.value.base).width();
    let aside = if up { width - SHARED } else { SHARED - width };
    let mut order: Vec<usize> = (0..event.notes.len()).collect();
    if !up {
        order.reverse();
    }
    let mut heads: Vec<HeadShape> = Vec::new();
    for note in order {
        let written = &event.notes[note];
        let y = height(written.place.step, clef);
        // F and F sharp stand side by side, too; the same note twice has one head.
        let near = |h: &&HeadShape| {
            let other = event.notes.get(h.note);
            let same = other.is_some_and(|o| o.place == written.place);
            (h.at.y - y).abs() < 1.0 && !same
        };
        let same = heads
            .iter()
            .find(|h| h.at.y == y && !near(h))
            .map(|h| h.at.x);
        let taken: Vec<f32> = heads.iter().filter(near).map(|h| h.at.x).collect();
        let mut places = (0..=taken.len()).map(|n| n as f32 * aside);
        let free = places.find(|x| !taken.contains(x));
        let x = same.or(free).unwrap_or(0.0);
        heads.push(HeadShape {
            voice,
            event: e,
            note,
            at: Spot { x, y },
            base: event.value.base,
            index: written.index,
        });
    }
    heads
}

/// Whether two values have the same head, so that two voices may share one.
fn same_head(a: Base, b: Base) -> bool {
    a.min(Base::Quarter) == b.min(Base::Quarter)
}

/// How wide a rest is, with its dots.
pub(super) fn rest_width(event: &Event) -> f32 {
    let glyph = sizes::rest(event.value.base);
    let width = glyph.map_or(sizes::REST_BLOCK.0, |g| g.width());
    let dots = f32::from(event.value.dots);
    width + dots * (DOT_GAP + 2.0 * sizes::DOT)
}
