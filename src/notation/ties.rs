//! Where ties stand. Common practice, no source: away from the stem; in a chord the upper half of them
//! curves upwards; with two voices each on its side.

use super::chord_shape::HeadShape;
use super::glyph_sizes as sizes;
use super::symbol::{Spot, Symbol};
use super::value::Grains;
use super::written::{WrittenBar, WrittenVoice};

/// From a head's middle to a tie's ends, upwards or downwards.
const AWAY: f32 = 0.6;
/// From a head's side to a tie's end.
const ASIDE: f32 = 0.08;
/// The longest half tie before a note.
const HALF: f32 = 1.8;

/// What the ties of a voice depend on.
pub(super) struct Ties<'a> {
    pub(super) bar: &'a WrittenBar,
    pub(super) voice: &'a WrittenVoice,
    /// The heads of each event.
    pub(super) chords: &'a [Vec<HeadShape>],
    /// Which way the stem of each event goes.
    pub(super) up: &'a [bool],
    /// Where the bar's music begins and where it ends.
    pub(super) left: f32,
    pub(super) right: f32,
}

impl Ties<'_> {
    pub(super) fn put(&self, symbols: &mut Vec<Symbol>) {
        for (e, event) in self.voice.events.iter().enumerate() {
            for (n, note) in event.notes.iter().enumerate() {
                let Some(head) = self.head(e, note.index) else {
                    continue;
                };
                let above = self.above(e, n);
                if note.tied_from && event.place == Grains::ZERO {
                    let to = left_end(&head, above);
                    let x = (to.x - HALF).max(self.left);
                    let from = Spot { x, ..to };
                    symbols.push(tie(from, to, above, note.index));
                }
                if !note.tied_to {
                    continue;
                }
                let from = right_end(&head, above);
                let next = self.head(e + 1, note.index).map(|h| left_end(&h, above));
                let over = (event.end() >= self.bar.length).then_some(Spot {
                    x: self.right,
                    ..from
                });
                if let Some(to) = next.or(over) {
                    symbols.push(tie(from, to, above, note.index));
                }
            }
        }
    }

    fn head(&self, event: usize, index: usize) -> Option<HeadShape> {
        let chord = self.chords.get(event)?;
        chord.iter().find(|h| h.index == index).copied()
    }

    fn above(&self, event: usize, note: usize) -> bool {
        let up = self.up.get(event).copied().unwrap_or(true);
        if self.bar.voices.len() > 1 {
            return up;
        }
        let count = self.voice.events.get(event).map_or(1, |e| e.notes.len());
        let (twice, last) = (2 * note, count.saturating_sub(1));
        match twice.cmp(&last) {
            std::cmp::Ordering::Less => false,
            std::cmp::Ordering::Equal => !up,
            std::cmp::Ordering::Greater => true,
        }
    }
}

fn tie(from: Spot, to: Spot, above: bool, index: usize) -> Symbol {
    Symbol::Tie {
        from,
        to,
        above,
        index,
    }
}

fn beside(head: &HeadShape, above: bool) -> f32 {
    head.at.y + if above { AWAY } else { -AWAY }
}

/// Ties begin and end a little inside the head's width, so that short ones can still be seen.
fn right_end(head: &HeadShape, above: bool) -> Spot {
    let width = sizes::head(head.base).width();
    Spot {
        x: head.at.x + width * 0.75 + ASIDE,
        y: beside(head, above),
    }
}

fn left_end(head: &HeadShape, above: bool) -> Spot {
    let width = sizes::head(head.base).width();
    Spot {
        x: head.at.x + width * 0.25 - ASIDE,
        y: beside(head, above),
    }
}
