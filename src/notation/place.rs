//! A written bar as symbols with their places.

use super::beams::{BeamGroup, Reach};
use super::chord_shape::{HeadShape, Shape, shapes};
use super::glyph_sizes as sizes;
use super::opening::{put_meter, put_signs, signs};
use super::spacing::Columns;
use super::stave::Clef;
use super::stems::{BeamEdge, BeamedStem, JOINT, directions, lone_end};
use super::symbol::{Spot, Symbol};
use super::ties::Ties;
use super::tuplet_marks::tuplet_marks;
use super::value::{Base, Grains};
use super::written::{Event, WrittenBar, WrittenVoice};
use std::collections::BTreeMap;

/// The middle line.
const MIDDLE: f32 = 2.0;
/// How far a hook reaches at the most (ours).
const HOOK: f32 = 1.1;

/// Everything that a bar shows on one stave.
///
/// Heads come before their stems and flags; each bar stands for itself, so that ties over a barline
/// are two halves.
#[must_use]
pub fn place_bar(bar: &WrittenBar, columns: &Columns, clef: Clef) -> Vec<Symbol> {
    let placer = Placer {
        bar,
        columns,
        shapes: shapes(bar, clef),
        up: directions(bar, clef),
    };
    let mut symbols = Vec::new();
    if let Some(old) = bar.old_key {
        put_signs(
            &mut symbols,
            &signs(bar.key, Some(old)),
            clef,
            columns.key_x,
        );
    }
    if bar.new_meter {
        put_meter(&mut symbols, bar.meter, columns.meter_x);
    }
    placer.heads(&mut symbols);
    for (v, voice) in bar.voices.iter().enumerate() {
        placer.rests(v, voice, &mut symbols);
        let ends = placer.stems(v, voice, &mut symbols);
        let chords: Vec<Vec<HeadShape>> = (0..voice.events.len())
            .map(|e| placer.heads_of(v, e))
            .collect();
        let ties = Ties {
            bar,
            voice,
            chords: &chords,
            up: placer.up.get(v).map_or(&[], Vec::as_slice),
            left: columns.music_x,
            right: columns.width,
        };
        ties.put(&mut symbols);
        let lefts: Vec<f32> = (voice.events.iter()).map(|e| columns.x(e.place)).collect();
        tuplet_marks(voice, &chords, &ends, &lefts, placer.side(v), &mut symbols);
    }
    symbols
}

/// Where the stem of an event ends, or what its outermost head is; with its direction.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct StemEnd {
    pub(super) x: f32,
    pub(super) y: f32,
    pub(super) up: bool,
}

struct Placer<'a> {
    bar: &'a WrittenBar,
    columns: &'a Columns,
    shapes: BTreeMap<Grains, Shape>,
    up: Vec<Vec<bool>>,
}

impl Placer<'_> {
    /// Which side of the stave a voice has, if there are several.
    fn side(&self, voice: usize) -> Option<bool> {
        (self.bar.voices.len() > 1).then_some(voice.is_multiple_of(2))
    }

    fn goes_up(&self, voice: usize, event: usize) -> bool {
        let voice = self.up.get(voice);
        voice.and_then(|v| v.get(event)).copied().unwrap_or(true)
    }

    fn heads(&self, symbols: &mut Vec<Symbol>) {
        for (place, shape) in &self.shapes {
            let x0 = self.columns.x(*place);
            let at = |spot: Spot| Spot {
                x: x0 + spot.x,
                y: spot.y,
            };
            for (left, right, y) in &shape.ledgers {
                symbols.push(Symbol::Ledger {
                    x0: x0 + left,
                    x1: x0 + right,
                    y: *y,
                });
            }
            for sign in &shape.signs {
                symbols.push(Symbol::Accidental {
                    at: at(sign.at),
                    kind: sign.kind,
                    index: Some(sign.index),
                });
            }
            for head in &shape.heads {
                symbols.push(Symbol::Head {
                    at: at(head.at),
                    base: head.base.min(Base::Quarter),
                    index: head.index,
                    voice: head.voice,
                });
            }
            symbols.extend(shape.dots.iter().map(|d| Symbol::Dot { at: at(*d) }));
        }
    }

    /// The heads of an event, where they stand in the bar.
    fn heads_of(&self, voice: usize, event: usize) -> Vec<HeadShape> {
        let of_event = |h: &&HeadShape| h.voice == voice && h.event == event;
        let place = self.bar.voices.get(voice).and_then(|v| v.events.get(event));
        let shape = place.and_then(|e| Some((e.place, self.shapes.get(&e.place)?)));
        let Some((place, shape)) = shape else {
            return Vec::new();
        };
        let x0 = self.columns.x(place);
        let moved = |h: &HeadShape| {
            let mut head = *h;
            head.at.x += x0;
            head
        };
        shape.heads.iter().filter(of_event).map(moved).collect()
    }

    fn rests(&self, v: usize, voice: &WrittenVoice, symbols: &mut Vec<Symbol>) {
        for event in voice.events.iter().filter(|e| e.is_rest()) {
            if self.is_told(v, event) {
                continue;
            }
            let glyph = sizes::rest(event.value.base);
            let width = glyph.map_or(sizes::REST_BLOCK.0, |g| g.width());
            let x = if event.whole_bar {
                (self.columns.music_x + self.columns.width - width) / 2.0
            } else {
                self.columns.x(event.place)
            };
            let y = if self.all_rest(event) {
                MIDDLE
            } else {
                self.rest_height(v, event)
            };
            let marks = |y: f32| rest_marks(event, Spot { x, y }, v, width);
            let out = if v.is_multiple_of(2) { 1.0 } else { -1.0 };
            // Outwards until it stands on nothing.
            let mut heights = (0..40_u8).map(|n| y + out * f32::from(n));
            let free = heights.find(|y| !marks(*y).iter().any(|m| hits(m, symbols)));
            symbols.extend(marks(free.unwrap_or(y)));
        }
    }

    /// Whether an upper voice has shown the same rest: the first, where all have it; else the other one
    /// on the same side of the stave.
    fn is_told(&self, v: usize, event: &Event) -> bool {
        let has = |v: usize| {
            let voice = self.bar.voices.get(v);
            voice.is_some_and(|o| o.events.contains(event))
        };
        v > 0 && self.all_rest(event) || v.checked_sub(2).is_some_and(has)
    }

    /// Whether all voices have the same rest.
    fn all_rest(&self, event: &Event) -> bool {
        self.bar.voices.iter().all(|o| o.events.contains(event))
    }

    /// Where a rest stands: in the middle, or on its voice's side beyond what the others play
    /// meanwhile, by whole spaces.
    fn rest_height(&self, v: usize, event: &Event) -> f32 {
        let Some(up) = self.side(v) else {
            return MIDDLE;
        };
        let half = sizes::rest(event.value.base).map_or(1.0, |g| (g.top - g.bottom) / 2.0);
        let clear = half + 0.7;
        let mut y = if up { MIDDLE + 2.0 } else { MIDDLE - 2.0 };
        for head in self.shapes.values().flat_map(|s| &s.heads) {
            let other = self.bar.voices.get(head.voice);
            let other = other.and_then(|o| o.events.get(head.event));
            let meanwhile = other.is_some_and(|o| o.place < event.end() && event.place < o.end());
            // Voices on the same side of the stave pass one another.
            if head.voice == v || !meanwhile || (head.voice % 2 == 0) == up {
                continue;
            }
            y = if up {
                y.max((head.at.y + clear).ceil())
            } else {
                y.min((head.at.y - clear).floor())
            };
        }
        y
    }

    /// Stems, flags and beams; answers where each event's stem ends.
    fn stems(
        &self,
        v: usize,
        voice: &WrittenVoice,
        symbols: &mut Vec<Symbol>,
    ) -> Vec<Option<StemEnd>> {
        let mut ends: Vec<Option<StemEnd>> = vec![None; voice.events.len()];
        for group in &voice.beams {
            self.beamed(v, voice, group, &mut ends, symbols);
        }
        for (e, event) in voice.events.iter().enumerate() {
            if ends.get(e).is_none_or(Option::is_some) {
                continue;
            }
            let up = self.goes_up(v, e);
            let Some(stem) = self.stem(v, e, event, up) else {
                continue;
            };
            let y = lone_end(stem.low, stem.high, up, event.value.base);
            let head_y = if up { stem.high } else { stem.low };
            let bare = event.value.base == Base::Whole;
            ends[e] = Some(StemEnd {
                x: stem.x,
                y: if bare { head_y } else { y },
                up,
            });
            if !bare {
                put_stem(event, stem, y, up, symbols);
                put_flag(event, stem, y, up, symbols);
            }
        }
        ends
    }

    /// Where an event's stem stands and from where to where its heads reach.
    fn stem(&self, v: usize, e: usize, event: &Event, up: bool) -> Option<BeamedStem> {
        let heads = self.heads_of(v, e);
        let heights = || heads.iter().map(|h| h.at.y);
        let (low, high) = (heights().reduce(f32::min)?, heights().reduce(f32::max)?);
        let shape = self.shapes.get(&event.place)?;
        let moved = shape.moved.get(&v).copied().unwrap_or_default();
        let left = self.columns.x(event.place) + moved;
        let half = sizes::STEM / 2.0;
        let x = if up {
            left + sizes::head(event.value.base).width() - half
        } else {
            left + half
        };
        Some(BeamedStem {
            x,
            low,
            high,
            beams: event.value.base.flags(),
        })
    }

    fn beamed(
        &self,
        v: usize,
        voice: &WrittenVoice,
        group: &BeamGroup,
        ends: &mut [Option<StemEnd>],
        symbols: &mut Vec<Symbol>,
    ) {
        let up = group.events.first().is_none_or(|e| self.goes_up(v, *e));
        let found = group.events.iter().filter_map(|e| {
            let event = voice.events.get(*e)?;
            Some((*e, event, self.stem(v, *e, event, up)?))
        });
        let members: Vec<(usize, &Event, BeamedStem)> = found.collect();
        let stems: Vec<BeamedStem> = members.iter().map(|m| m.2).collect();
        let edge = BeamEdge::of(&stems, up);
        for (e, event, stem) in &members {
            let y = edge.end(stem.x);
            put_stem(event, *stem, y, up, symbols);
            if let Some(end) = ends.get_mut(*e) {
                *end = Some(StemEnd { x: stem.x, y, up });
            }
        }
        let half = sizes::STEM / 2.0;
        let x_of = |at: usize| stems.get(at).map(|s| s.x);
        for line in &group.lines {
            let (from, to) = match line.reach {
                Reach::Between { from, to } => (x_of(from), x_of(to)),
                Reach::Hook { at, rightwards } => {
                    let other = if rightwards {
                        Some(at + 1)
                    } else {
                        at.checked_sub(1)
                    };
                    hook(x_of(at), other.and_then(x_of))
                }
            };
            if let (Some(from), Some(to)) = (from, to) {
                symbols.push(Symbol::Beam {
                    from: edge.beam(from - half, line.level),
                    to: edge.beam(to + half, line.level),
                });
            }
        }
    }
}

/// A rest with its dots and the line that a whole or half rest needs outside the stave.
fn rest_marks(event: &Event, at: Spot, voice: usize, width: f32) -> Vec<Symbol> {
    let base = event.value.base;
    let mut marks = vec![Symbol::Rest { at, base, voice }];
    for dot in 0..event.value.dots {
        let x = at.x + width + 0.3 + f32::from(dot) * 0.5;
        let at = Spot { x, y: at.y + 0.5 };
        marks.push(Symbol::Dot { at });
    }
    let line = match base {
        Base::Whole => Some(at.y + 1.0),
        Base::Half => Some(at.y),
        _ => None,
    };
    let outside = line.filter(|y| !(-0.1..=4.1).contains(y));
    marks.extend(outside.map(|y| Symbol::Ledger {
        x0: at.x - 0.3,
        x1: at.x + width + 0.3,
        y,
    }));
    marks
}

/// Whether a rest or its dot stands on a head, a sign, a dot or a rest.
fn hits(mark: &Symbol, symbols: &[Symbol]) -> bool {
    let solid = |s: &&Symbol| {
        matches!(
            s,
            Symbol::Head { .. }
                | Symbol::Accidental { .. }
                | Symbol::Dot { .. }
                | Symbol::Rest { .. }
        )
    };
    let counts = !matches!(mark, Symbol::Ledger { .. });
    let mut others = symbols.iter().filter(solid);
    counts && others.any(|s| s.bounds().overlaps(&mark.bounds()))
}

/// The ends of a hook at one stem, towards another one.
fn hook(at: Option<f32>, other: Option<f32>) -> (Option<f32>, Option<f32>) {
    let (Some(at), Some(other)) = (at, other) else {
        return (None, None);
    };
    let reach = HOOK.min((other - at).abs() * 0.6);
    if other > at {
        (Some(at), Some(at + reach))
    } else {
        (Some(at - reach), Some(at))
    }
}

/// The note that a stem begins at: the farthest from its end.
fn root(event: &Event, up: bool) -> usize {
    let root = if up {
        event.notes.first()
    } else {
        event.notes.last()
    };
    root.map_or(0, |n| n.index)
}

fn put_stem(event: &Event, stem: BeamedStem, end: f32, up: bool, symbols: &mut Vec<Symbol>) {
    let from_y = if up {
        stem.low + JOINT
    } else {
        stem.high - JOINT
    };
    symbols.push(Symbol::Stem {
        x: stem.x,
        from_y,
        to_y: end,
        index: root(event, up),
    });
}

fn put_flag(event: &Event, stem: BeamedStem, end: f32, up: bool, symbols: &mut Vec<Symbol>) {
    if event.value.base.flags() > 0 {
        let at = Spot {
            x: stem.x - sizes::STEM / 2.0,
            y: end,
        };
        symbols.push(Symbol::Flag {
            at,
            base: event.value.base,
            up,
            index: root(event, up),
        });
    }
}
