//! What belongs to the note itself: its place in the range, its trouble spot.
//!
//! Of place, trouble spot, tuning and reach only the worst counts: they are one and the same
//! difficulty seen from four sides. Spots and tuning cost at most what a comfortable edge costs, and
//! reach counts only inside the comfortable range, so that the comfortable edge is 0.95 and the
//! stretch edge 0.60 exactly, on every instrument.

use super::scale::{AVOID, COMFORTABLE, SLIGHT, demand_points};
use crate::band::instrument::{Instrument, LevelRange};
use crate::band::level::Level;
use crate::band::playing::{LoudnessRule, Posture, Reach, TroubleSpot};
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
    /// The tuning of its usual fingering, in cents.
    Tuning(f64),
    /// How far out it lies on the slide.
    Reach(Reach),
}

/// Cents that nobody minds; points a cent beyond them, and so many times as much in the first year
/// (sizes as the cost of intonation was proposed; ours).
const CENTS_FREE: f64 = 8.0;
const POINTS_A_CENT: f64 = 0.05;
const FIRST_YEAR_TIMES: f64 = 2.0;

/// The points that a note costs by itself, and why.
pub(super) fn note_points<'a>(
    instrument: &'a Instrument,
    level: Level,
    note: Written,
    posture: Posture,
) -> (f64, Why<'a>) {
    let (place, of) = place(instrument, level, note);
    let spots = spots(instrument, note).map(|s| (spot_points(s.severity, level), Why::Spot(s)));
    let others = [
        tuning(instrument, level, note, posture),
        reach(instrument, level, note),
    ];
    let all = spots.chain(others.into_iter().flatten());
    all.fold((place, Why::Range(of)), |worst, other| {
        if other.0 > worst.0 { other } else { worst }
    })
}

/// Care for the tuning of a fingering. Valves 1-3 and 1-2-3 are mended with the third slide from
/// intermediate on, but not on a mellophone on the march, where the slide often cannot be moved.
fn tuning<'a>(
    instrument: &Instrument,
    level: Level,
    note: Written,
    posture: Posture,
) -> Option<(f64, Why<'a>)> {
    let action = instrument.playing.action;
    let cents = action.cents(note)?;
    let off = (cents.abs() - CENTS_FREE).max(0.0);
    if off <= 0.0 || level >= Level::Intermediate && has_help(instrument, note, posture) {
        return None;
    }
    let times = if level == Level::FirstYear {
        FIRST_YEAR_TIMES
    } else {
        1.0
    };
    let points = (times * POINTS_A_CENT * off).min(COMFORTABLE);
    Some((points, Why::Tuning(cents)))
}

fn has_help(instrument: &Instrument, note: Written, posture: Posture) -> bool {
    let held_fast = instrument.id == "mellophone" && posture == Posture::Marching;
    let fingering = instrument.playing.action.fingering(note);
    let long = matches!(fingering.as_deref(), Some("valves 1-3" | "valves 1-2-3"));
    long && !held_fast
}

/// What lies far out on the slide, inside the comfortable range. Its edges, and all beyond them,
/// were set with the slide in mind.
fn reach<'a>(instrument: &Instrument, level: Level, note: Written) -> Option<(f64, Why<'a>)> {
    let range = instrument.range(level).comfortable;
    if note <= range.low || note >= range.high {
        return None;
    }
    match instrument.playing.action.reach(note, level) {
        Reach::Safe => None,
        Reach::WithCare => Some((COMFORTABLE, Why::Reach(Reach::WithCare))),
        Reach::OutOfReach => Some((AVOID, Why::Reach(Reach::OutOfReach))),
    }
}

/// The place in the range: the best over this and all weaker levels, since nobody is worse than a
/// weaker player. Where the table is nested this leaves the edges of every level as they are: at an
/// edge of a wider range, a narrower one has fallen further.
pub(super) fn place(instrument: &Instrument, level: Level, note: Written) -> (f64, Level) {
    let up_to = Level::ALL.into_iter().filter(|l| *l <= level);
    let each = up_to.map(|l| (range_points(instrument, l, note), l));
    each.fold((f64::INFINITY, level), |best, here| {
        if here.0 <= best.0 { here } else { best }
    })
}

/// The nearer edge decides. (Two edges multiplied, as one may also find it, would take a little off
/// at each edge because of the other one, and the edges would not be 0.95.)
fn range_points(instrument: &Instrument, level: Level, note: Written) -> f64 {
    let at = f64::from(note.0);
    let top = |r: LevelRange| [r.comfortable.high, r.stretch.high].map(|w| f64::from(w.0));
    let bottom = |r: LevelRange| [r.comfortable.low, r.stretch.low].map(|w| -f64::from(w.0));
    edge(instrument, level, top, at).max(edge(instrument, level, bottom, -at))
}

/// One edge, on an axis of growing difficulty.
fn edge(
    instrument: &Instrument,
    level: Level,
    ends: impl Fn(LevelRange) -> [f64; 2],
    at: f64,
) -> f64 {
    let [comfortable, stretch] = ends(instrument.range(level));
    let stretch = if stretch > comfortable {
        stretch
    } else {
        // The next stronger players who stretch beyond this end are not surpassed.
        let stronger = Level::ALL.into_iter().filter(|l| *l > level);
        let beyond = stronger.map(|l| ends(instrument.range(l))[1]);
        let nearest = beyond
            .filter(|s| *s > comfortable)
            .fold(f64::INFINITY, f64::min);
        nearest.min(comfortable + COINCIDING)
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
