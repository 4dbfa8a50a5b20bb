//! What belongs to the note itself: its place in the range, its trouble spot.
//!
//! Of place, trouble spot, tuning and reach only the worst counts: they are one and the same
//! difficulty seen from four sides. Spots cost at most what a comfortable edge costs, so that the
//! comfortable edge is 0.95 and the stretch edge 0.60 exactly, on every instrument.

use super::scale::{COMFORTABLE, SLIGHT, demand_points};
use crate::band::instrument::{Instrument, LevelRange};
use crate::band::level::Level;
use crate::band::playing::{LoudnessRule, Posture, TroubleSpot};
use crate::music::Written;

/// Semitones between the edges where the table has them on one note, because the instrument ends
/// there (ours).
const COINCIDING: f64 = 2.0;

/// Why a note by itself is hard.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Why<'a> {
    /// Its place: towards or beyond an edge of the range of this level.
    Range(Level),
    /// Its trouble spot.
    Spot(&'a TroubleSpot),
}

/// The points that a note costs by itself, and why.
pub(super) fn note_points<'a>(
    instrument: &'a Instrument,
    level: Level,
    note: Written,
    _posture: Posture,
) -> (f64, Why<'a>) {
    let (place, of) = place(instrument, level, note);
    let spots = spots(instrument, note).map(|s| (spot_points(s.severity, level), Why::Spot(s)));
    spots.fold((place, Why::Range(of)), |worst, spot| {
        if spot.0 > worst.0 { spot } else { worst }
    })
}

/// The place in the range: the best over this and all weaker levels, since nobody is worse than a
/// weaker player. Where the table is nested this leaves the edges of every level as they are: at an
/// edge of a wider range, a narrower one has fallen further.
pub(super) fn place(instrument: &Instrument, level: Level, note: Written) -> (f64, Level) {
    let up_to = Level::ALL.into_iter().filter(|l| *l <= level);
    let each = up_to.map(|l| (range_points(instrument.range(l), note), l));
    each.fold((f64::INFINITY, level), |best, here| {
        if here.0 <= best.0 { here } else { best }
    })
}

/// The nearer edge decides. (Two edges multiplied, as one may also find it, would take a little off
/// at each edge because of the other one, and the edges would not be 0.95.)
fn range_points(range: LevelRange, note: Written) -> f64 {
    let number = |w: Written| f64::from(w.0);
    let (easy, hard, at) = (range.comfortable, range.stretch, number(note));
    let high = edge(number(easy.high), number(hard.high), at);
    let low = edge(-number(easy.low), -number(hard.low), -at);
    high.max(low)
}

fn edge(comfortable: f64, stretch: f64, at: f64) -> f64 {
    let stretch = if stretch > comfortable {
        stretch
    } else {
        comfortable + COINCIDING
    };
    demand_points(at, comfortable, stretch)
}

/// The trouble spots of a note, but for those that are about loudness alone: they speak up where
/// the note is too soft or too loud.
fn spots(instrument: &Instrument, note: Written) -> impl Iterator<Item = &TroubleSpot> {
    let playing = &instrument.playing;
    let about_loudness = |s: &TroubleSpot| {
        let same = |z: &&_| same_notes(z, s);
        playing
            .loudness_zones
            .iter()
            .any(|z| z.is_the_spot && same(&z))
    };
    let here = playing.trouble.iter();
    here.filter(move |s| s.low <= note && note <= s.high && !about_loudness(s))
}

fn same_notes(zone: &crate::band::playing::LoudnessZone, spot: &TroubleSpot) -> bool {
    zone.rule != LoudnessRule::LoudOnly && (zone.low, zone.high) == (spot.low, spot.high)
}

/// What a spot costs: care with colour or tuning a little, a risk as much as a comfortable edge
/// for those whom the table means, and a little for the others (sizes ours).
const fn spot_points(severity: u8, level: Level) -> f64 {
    let meant = match severity {
        0 | 1 => false,
        2 => level.index() < Level::Advanced.index(),
        _ => level.index() < Level::AllState.index(),
    };
    if meant { COMFORTABLE } else { SLIGHT }
}
