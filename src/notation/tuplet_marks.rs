//! The numbers and brackets of tuplets. Common practice, no source: on the side of the stems, without
//! a bracket where a beam joins just the tuplet's notes.

use super::chord_shape::HeadShape;
use super::glyph_sizes as sizes;
use super::place::StemEnd;
use super::symbol::{Spot, Symbol};
use super::written::{WrittenTuplet, WrittenVoice};

/// From the stems' ends or the stave to a number or bracket.
const AWAY: f32 = 0.9;
/// The lowest height of what stands above, the highest of what stands below, in spaces from the
/// lowest line, for brackets.
const ABOVE: f32 = 5.0;
const BELOW: f32 = -1.0;

/// Puts the marks of a voice; `ends` are where the events' stems end, `lefts` where the events begin.
pub(super) fn tuplet_marks(
    voice: &WrittenVoice,
    chords: &[Vec<HeadShape>],
    ends: &[Option<StemEnd>],
    lefts: &[f32],
    side: Option<bool>,
    symbols: &mut Vec<Symbol>,
) {
    for tuplet in &voice.tuplets {
        let inside = tuplet.from..=tuplet.to;
        let stems: Vec<StemEnd> = (inside.clone())
            .filter_map(|e| ends.get(e).copied().flatten())
            .collect();
        let heads: Vec<&HeadShape> = (inside.filter_map(|e| chords.get(e)).flatten()).collect();
        let (Some(first), Some(last)) = (heads.first(), heads.last()) else {
            continue;
        };
        let rising = stems.iter().filter(|s| s.up).count();
        let above = side.unwrap_or(2 * rising > stems.len());
        let bracket = !is_beamed(voice, tuplet);
        let begin = |e: usize, or: f32| lefts.get(e).copied().unwrap_or(or);
        let left = heads.iter().map(|h| h.at.x);
        let left = left.fold(begin(tuplet.from, first.at.x), f32::min);
        let right = heads.iter().map(|h| h.at.x);
        let right = right.fold(begin(tuplet.to, last.at.x), f32::max);
        let right = right + sizes::BLACK_HEAD.width();
        let heights = stems
            .iter()
            .map(|s| s.y)
            .chain(heads.iter().map(|h| h.at.y));
        let (from_y, to_y) = if bracket {
            let y = if above {
                heights.fold(ABOVE - AWAY, f32::max) + AWAY
            } else {
                heights.fold(BELOW + AWAY, f32::min) - AWAY
            };
            (y, y)
        } else {
            let off = if above { AWAY } else { -AWAY };
            let end = |s: Option<&StemEnd>| s.map_or(ABOVE, |s| s.y + off);
            (end(stems.first()), end(stems.last()))
        };
        let (from_x, to_x) = if bracket {
            (left, right)
        } else {
            let x = |s: Option<&StemEnd>, or: f32| s.map_or(or, |s| s.x);
            (x(stems.first(), left), x(stems.last(), right))
        };
        symbols.push(Symbol::Tuplet {
            from: Spot {
                x: from_x,
                y: from_y,
            },
            to: Spot { x: to_x, y: to_y },
            number: tuplet.number,
            above,
            bracket,
        });
    }
}

/// Whether one beam joins the tuplet's notes, and no others at their outer beams' ends.
fn is_beamed(voice: &WrittenVoice, tuplet: &WrittenTuplet) -> bool {
    let inside = |g: &Vec<usize>| (tuplet.from..=tuplet.to).all(|e| g.contains(&e));
    voice.beams.iter().any(|g| inside(&g.events))
}
