//! Dynamics and hairpins as velocities.

use super::direction::velocity_of;
use super::measure::Measure;
use super::part::PartReader;
use super::tree::{children, name, text, whole};
use super::units::Units;
use crate::music::Dynamic;
use roxmltree::Node;
use std::collections::BTreeMap;

/// What is played before any dynamic (ours: as a part without any is played).
const USUAL: u8 = Dynamic::Mf.velocity();
/// A step between two dynamics, as [`Dynamic::velocity`] has them.
const STEP: u8 = 16;
/// A hairpin leads to a dynamic that stands so soon after its end, in quarters (ours).
const LEADS_TO: u64 = 4;

/// All that a part says of loudness, in ticks from its start.
#[derive(Debug, Default)]
pub(super) struct Loudness {
    levels: Vec<Told<u8>>,
    /// Louder for what is struck there alone.
    accents: Vec<Told<Accent>>,
    hairpins: Vec<Told<Hairpin>>,
    /// Hairpins that are open, by number.
    open: BTreeMap<i32, (u64, Option<u8>, bool)>,
}

/// Something at a tick for a staff, or for all.
#[derive(Clone, Copy, Debug)]
struct Told<T> {
    at: u64,
    staff: Option<u8>,
    what: T,
}

#[derive(Clone, Copy, Debug)]
enum Accent {
    /// As loud as that.
    To(u8),
    /// A step louder than what holds, and forte at the least.
    Up,
}

#[derive(Clone, Copy, Debug)]
struct Hairpin {
    end: u64,
    louder: bool,
}

/// What a mark means: the level from here on, and how what is struck here is played.
fn meaning(mark: &str) -> Option<(Option<u8>, Option<Accent>)> {
    let level = |v: u8| Some((Some(v), None));
    let then = |first: Dynamic, next: Dynamic| {
        Some((Some(next.velocity()), Some(Accent::To(first.velocity()))))
    };
    match mark {
        "n" => level(1),
        "pppppp" | "ppppp" | "pppp" => {
            level(Dynamic::Pp.velocity().saturating_sub(2 * STEP).max(8))
        }
        "ppp" => level(Dynamic::Pp.velocity() - STEP),
        "ffff" | "fffff" | "ffffff" => level(127),
        "fp" => then(Dynamic::F, Dynamic::P),
        "sfp" | "sfzp" => then(Dynamic::Ff, Dynamic::P),
        "sfpp" => then(Dynamic::Ff, Dynamic::Pp),
        "pf" => then(Dynamic::P, Dynamic::F),
        "sf" | "sfz" | "sffz" | "fz" | "rf" | "rfz" => Some((None, Some(Accent::Up))),
        other => level(other.parse::<Dynamic>().ok()?.velocity()),
    }
}

impl PartReader<'_> {
    /// Takes a `dynamics` element at a tick of the measure; `percent` is what its sound says.
    pub(super) fn dynamics(
        &mut self,
        node: Node<'_, '_>,
        at: u64,
        staff: Option<u8>,
        percent: Option<f64>,
    ) {
        for element in children(node) {
            let mark = match name(element) {
                "other-dynamics" => text(element),
                mark => mark,
            };
            let Some((level, accent)) = meaning(mark) else {
                self.odd("a dynamic of another kind than pp to fff, sf, fp was passed over");
                continue;
            };
            let at = self.start + at;
            if let Some(level) = level {
                let told = percent.filter(|_| accent.is_none()).map(velocity_of);
                let what = told.unwrap_or(level);
                self.loudness.levels.push(Told { at, staff, what });
            }
            if let Some(what) = accent {
                self.loudness.accents.push(Told { at, staff, what });
            }
        }
    }

    /// Takes a level that a sound tells by itself.
    pub(super) fn level(&mut self, at: u64, staff: Option<u8>, what: u8) {
        let at = self.start + at;
        self.loudness.levels.push(Told { at, staff, what });
    }

    /// Takes the start or end of a hairpin.
    pub(super) fn wedge(&mut self, node: Node<'_, '_>, at: u64, staff: Option<u8>) {
        let number = node.attribute("number").and_then(whole).unwrap_or(1);
        let at = self.start + at;
        match node.attribute("type") {
            Some(kind @ ("crescendo" | "diminuendo")) => {
                let louder = kind == "crescendo";
                self.loudness.open.insert(number, (at, staff, louder));
            }
            Some("stop") => {
                if let Some((from, staff, louder)) = self.loudness.open.remove(&number)
                    && from < at
                {
                    let what = Hairpin { end: at, louder };
                    self.loudness.hairpins.push(Told {
                        at: from,
                        staff,
                        what,
                    });
                }
            }
            _ => {}
        }
    }
}

/// Sets the velocity of every note of a part; `starts` are the measures' in the order of the file.
pub(super) fn set_velocities(
    loudness: &Loudness,
    units: Units,
    starts: &[u64],
    measures: &mut [Option<Measure>],
) {
    let mut lanes: BTreeMap<u8, Lane> = BTreeMap::new();
    let apart = loudness.is_by_staff();
    for (measure, start) in measures.iter_mut().zip(starts) {
        for note in measure.iter_mut().flat_map(|m| &mut m.notes) {
            let staff = if apart { note.staff } else { 0 };
            let lane = lanes
                .entry(staff)
                .or_insert_with(|| loudness.lane(apart.then_some(staff), units));
            note.velocity = note
                .own_velocity
                .unwrap_or_else(|| lane.at(start + note.at));
        }
    }
}

impl Loudness {
    /// Whether staves have dynamics of their own: where all stand at one staff, they are for all
    /// (common practice, no source: between the staves of a piano, one dynamic is for both hands).
    fn is_by_staff(&self) -> bool {
        let mut staves = self.levels.iter().filter_map(|l| l.staff);
        let first = staves.next();
        staves.any(|s| Some(s) != first)
    }

    /// What holds on a staff.
    fn lane(&self, staff: Option<u8>, units: Units) -> Lane {
        fn heard<T: Copy>(all: &[Told<T>], staff: Option<u8>) -> Vec<Told<T>> {
            let own = all
                .iter()
                .filter(|t| staff.is_none() || t.staff.is_none() || t.staff == staff);
            let mut own: Vec<Told<T>> = own.copied().collect();
            own.sort_by_key(|t| t.at);
            own
        }
        let levels = heard(&self.levels, staff);
        let hairpins = heard(&self.hairpins, staff);
        let mut lane = Lane {
            pieces: pieces(&levels, &hairpins, LEADS_TO * units.quarter),
            accents: BTreeMap::new(),
        };
        for accent in heard(&self.accents, staff) {
            let held = lane.held(accent.at);
            let loud = match accent.what {
                Accent::To(velocity) => velocity,
                Accent::Up => held.saturating_add(STEP).clamp(Dynamic::F.velocity(), 127),
            };
            lane.accents.insert(accent.at, loud);
        }
        lane
    }
}

/// From a tick on: straight from one velocity to another at its end, and so on from there.
#[derive(Clone, Copy, Debug)]
struct Piece {
    from: u64,
    end: u64,
    first: u8,
    last: u8,
}

struct Lane {
    pieces: Vec<Piece>,
    accents: BTreeMap<u64, u8>,
}

impl Lane {
    fn at(&self, at: u64) -> u8 {
        self.accents
            .get(&at)
            .copied()
            .unwrap_or_else(|| self.held(at))
    }

    fn held(&self, at: u64) -> u8 {
        let next = self.pieces.partition_point(|p| p.from <= at);
        let piece = next.checked_sub(1).and_then(|i| self.pieces.get(i));
        piece.map_or(USUAL, |p| p.at(at))
    }
}

impl Piece {
    fn at(&self, at: u64) -> u8 {
        if at >= self.end {
            return self.last;
        }
        let share = (at - self.from) as f64 / (self.end - self.from) as f64;
        let (first, last) = (f64::from(self.first), f64::from(self.last));
        (first + share * (last - first)).round() as u8
    }
}

/// Levels and hairpins in order as pieces.
fn pieces(levels: &[Told<u8>], hairpins: &[Told<Hairpin>], leads: u64) -> Vec<Piece> {
    let steady = |level: &Told<u8>| Piece {
        from: level.at,
        end: level.at,
        first: level.what,
        last: level.what,
    };
    let mut pieces: Vec<Piece> = Vec::with_capacity(levels.len() + hairpins.len());
    let mut next = 0;
    for hairpin in hairpins {
        while let Some(level) = levels.get(next).filter(|l| l.at <= hairpin.at) {
            pieces.push(steady(level));
            next += 1;
        }
        let first = pieces.last().map_or(USUAL, |p| p.at(hairpin.at));
        let Hairpin { end, louder } = hairpin.what;
        let goal = levels.get(levels.partition_point(|l| l.at < end));
        let goal = goal.filter(|l| l.at - end <= leads).map(|l| l.what);
        let goal = goal.filter(|g| (*g > first) == louder && *g != first);
        let last = goal.unwrap_or(if louder {
            first.saturating_add(STEP).min(127)
        } else {
            first.saturating_sub(STEP).max(1)
        });
        pieces.push(Piece {
            from: hairpin.at,
            end,
            first,
            last,
        });
    }
    pieces.extend(levels.get(next..).unwrap_or_default().iter().map(steady));
    pieces
}
