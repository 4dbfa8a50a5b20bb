//! Moments in which a part is heard alone, or nearly so.

use crate::band::{Band, PartId};
use crate::music::{BarBeat, BarNumber, MeterMap, TempoMap, Tick};
use crate::score::{PartLine, Role};
use std::collections::{BTreeMap, BTreeSet};

/// So many players or fewer sound together: each of them is heard (ours).
pub const FEW: u32 = 4;
/// Moments shorter than this are passed over, seconds (ours: less than a beat).
const SHORTEST: f64 = 0.75;
/// Moments no farther apart than this are one, seconds (ours: a breath).
const APART: f64 = 0.6;
/// A tune that one part has alone is told where so many notes of it follow one another (ours).
const TUNE: usize = 4;
/// A tune that one part has alone exposes no more players than this (ours: as many as are heard one by one).
const PLAYERS_ON_TUNE: u32 = 2;

/// Why a part is heard by itself, most first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Exposed {
    /// Nothing else sounds.
    Alone,
    /// So few players sound in all that each is heard.
    Few,
    /// Others play, but the tune is with one or two players of this part alone.
    Tune,
}

/// A moment in which a part is exposed.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ExposedMoment {
    /// Who.
    pub part: PartId,
    /// Why.
    pub why: Exposed,
    /// Where it begins.
    pub from: Tick,
    /// Where it ends.
    pub to: Tick,
    /// Where it begins, as musicians say it.
    pub place: BarBeat,
    /// The last bar of it.
    pub last_bar: BarNumber,
    /// How long it lasts.
    pub seconds: f64,
    /// How many players sound together at the most; those of the part alone where it has the tune.
    pub players: u32,
}

impl ExposedMoment {
    /// Whether a stretch of time meets it.
    #[must_use]
    pub fn meets(&self, (from, to): (Tick, Tick)) -> bool {
        self.from < to && from < self.to
    }
}

/// All moments in which somebody is exposed, by part, then place. Timpani and other drums count like all others.
#[must_use]
pub fn exposed_moments(
    band: &Band,
    lines: &[PartLine],
    meters: &MeterMap,
    tempo: &TempoMap,
) -> Vec<ExposedMoment> {
    let players = |id: PartId| band.parts.get(id.0).map_or(0, |p| p.players.count());
    let mut pieces = few_together(lines, &players);
    pieces.extend(tunes(lines, &players));
    let mut moments = Vec::new();
    for ((part, why), mut own) in by_part(pieces) {
        own.sort_by_key(|p| (p.from, p.to));
        let mut joined: Vec<Piece> = Vec::new();
        for piece in own {
            let gap = |last: &Piece| tempo.seconds(piece.from) - tempo.seconds(last.to);
            match joined.last_mut().filter(|last| gap(last) <= APART) {
                Some(last) => {
                    last.to = last.to.max(piece.to);
                    last.players = last.players.max(piece.players);
                }
                None => joined.push(piece),
            }
        }
        let long = |p: &Piece| tempo.seconds(p.to) - tempo.seconds(p.from);
        let long_enough = joined.into_iter().filter(|p| long(p) >= SHORTEST);
        moments.extend(long_enough.map(|p| ExposedMoment {
            part,
            why,
            from: p.from,
            to: p.to,
            place: meters.place(p.from),
            last_bar: meters.bar(Tick(p.to.0.saturating_sub(1))),
            seconds: long(&p),
            players: p.players,
        }));
    }
    moments.sort_by_key(|m| (m.part, m.from, m.why));
    moments
}

#[derive(Clone, Copy)]
struct Piece {
    part: PartId,
    why: Exposed,
    from: Tick,
    to: Tick,
    players: u32,
}

fn by_part(pieces: Vec<Piece>) -> BTreeMap<(PartId, Exposed), Vec<Piece>> {
    let mut all: BTreeMap<(PartId, Exposed), Vec<Piece>> = BTreeMap::new();
    for piece in pieces {
        all.entry((piece.part, piece.why)).or_default().push(piece);
    }
    all
}

/// What happens at a tick: parts that begin and parts that end.
#[derive(Default)]
struct Turn {
    begin: Vec<PartId>,
    end: Vec<PartId>,
}

/// Stretches of time in which few players sound.
fn few_together(lines: &[PartLine], players: &dyn Fn(PartId) -> u32) -> Vec<Piece> {
    let mut turns: BTreeMap<Tick, Turn> = BTreeMap::new();
    for line in lines {
        for note in &line.notes {
            turns.entry(note.onset).or_default().begin.push(line.part);
            turns.entry(note.end()).or_default().end.push(line.part);
        }
    }
    // How many notes of each part sound.
    let mut sounding: BTreeMap<PartId, u32> = BTreeMap::new();
    let mut pieces = Vec::new();
    let mut before = Tick::ZERO;
    for (at, turn) in turns {
        let together: u32 = sounding.keys().map(|p| players(*p)).sum();
        if at > before && !sounding.is_empty() && (sounding.len() == 1 || together <= FEW) {
            let why = if sounding.len() == 1 {
                Exposed::Alone
            } else {
                Exposed::Few
            };
            pieces.extend(sounding.keys().map(|part| Piece {
                part: *part,
                why,
                from: before,
                to: at,
                players: together,
            }));
        }
        for part in turn.end {
            if let Some(count) = sounding.get_mut(&part) {
                *count = count.saturating_sub(1);
            }
        }
        sounding.retain(|_, count| *count > 0);
        for part in turn.begin {
            *sounding.entry(part).or_default() += 1;
        }
        before = at;
    }
    pieces
}

/// Stretches of the tune that one part has alone, in any octave.
fn tunes(lines: &[PartLine], players: &dyn Fn(PartId) -> u32) -> Vec<Piece> {
    let mut struck: BTreeMap<(Tick, u8), BTreeSet<PartId>> = BTreeMap::new();
    for line in lines {
        for note in &line.notes {
            let place = (note.onset, note.pitch.class().number());
            struck.entry(place).or_default().insert(line.part);
        }
    }
    let mut pieces = Vec::new();
    for line in lines.iter().filter(|l| players(l.part) <= PLAYERS_ON_TUNE) {
        let tune: Vec<(Tick, Tick, bool)> = (line.notes.iter())
            .filter(|n| n.role == Role::Melody)
            .map(|n| {
                let with = struck.get(&(n.onset, n.pitch.class().number()));
                (n.onset, n.end(), with.is_none_or(|w| w.len() == 1))
            })
            .collect();
        for run in tune.chunk_by(|a, b| a.2 == b.2) {
            let (Some(first), Some(last)) = (run.first(), run.last()) else {
                continue;
            };
            if first.2 && run.len() >= TUNE {
                pieces.push(Piece {
                    part: line.part,
                    why: Exposed::Tune,
                    from: first.0,
                    to: last.1,
                    players: players(line.part),
                });
            }
        }
    }
    pieces
}
