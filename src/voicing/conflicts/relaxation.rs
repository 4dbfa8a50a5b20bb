//! What would have to give way where locks and remarks contradict each other: as little as does.

use crate::band::limits::BELOW_THE_BREAK;
use crate::band::{Band, Exposure, NotesPerSecond, Part, PartId, limits};
use crate::music::{BarNumber, Interval, Sounding, Written};
use crate::score::{BarSet, Locks, bars_in_words};

/// One thing that gives way.
#[derive(Clone, PartialEq, Debug)]
pub enum Change {
    /// The part may go up to this written note; over the break, if that was what kept it below.
    Highest(PartId, Written),
    /// The part may go down to this written note.
    Lowest(PartId, Written),
    /// The part may leap so far.
    Leap(PartId, Interval),
    /// The part may play so fast.
    Speed(PartId, NotesPerSecond),
    /// The part may play so many bars on end.
    BarsOnEnd(PartId, u16),
    /// The part may read so many sharps or flats.
    Accidentals(PartId, u8),
    /// The part may be heard alone.
    Alone(PartId),
    /// The arranger unlocks bars of the part.
    Unlock(PartId, Vec<(BarNumber, BarNumber)>),
}

impl Change {
    /// In words, as something to be allowed.
    #[must_use]
    pub fn words(&self, band: &Band) -> String {
        let name = |id: &PartId| band.part(*id).name.as_str();
        match self {
            Self::Highest(id, to) => {
                let part = band.part(*id);
                let more = i32::from(to.0) - i32::from(written(part, part.limits.range.high).0);
                let over = part.remarks.below_the_break && *to > BELOW_THE_BREAK;
                let over = if over { "over the break, " } else { "" };
                format!(
                    "allow {} {over}up to written {to} ({})",
                    part.name,
                    semitones(more)
                )
            }
            Self::Lowest(id, to) => {
                let part = band.part(*id);
                let more = i32::from(written(part, part.limits.range.low).0) - i32::from(to.0);
                format!(
                    "allow {} down to written {to} ({})",
                    part.name,
                    semitones(more)
                )
            }
            Self::Leap(id, to) => {
                let most = band.part(*id).limits.max_leap.map_or(0, Interval::size);
                let more = i32::from(to.size()) - i32::from(most);
                format!(
                    "allow {} leaps of {} semitones ({more} more)",
                    name(id),
                    to.size()
                )
            }
            Self::Speed(id, to) => format!("allow {} {:.1} notes a second", name(id), to.0),
            Self::BarsOnEnd(id, to) => {
                format!("allow {} {to} bars without a bar of rest", name(id))
            }
            Self::Accidentals(id, to) => format!("allow {} {to} sharps or flats", name(id)),
            Self::Alone(id) => format!("allow {} to be heard alone", name(id)),
            Self::Unlock(id, bars) => format!("unlock {} in {}", name(id), bars_in_words(bars)),
        }
    }

    /// Lets it happen, in a band and locks. Nothing changes where a part would have no limits.
    pub fn apply(&self, band: &mut Band, locks: &mut Locks) {
        let id = match self {
            Self::Unlock(id, bars) => {
                unlock(locks, *id, bars);
                return;
            }
            Self::Highest(id, _)
            | Self::Lowest(id, _)
            | Self::Leap(id, _)
            | Self::Speed(id, _)
            | Self::BarsOnEnd(id, _)
            | Self::Accidentals(id, _)
            | Self::Alone(id) => *id,
        };
        let Some(part) = band.parts.get_mut(id.0) else {
            return;
        };
        let said = &mut part.remarks;
        match self {
            Self::Highest(_, to) => {
                said.highest = said.highest.map(|h| h.max(*to));
                said.below_the_break &= *to <= BELOW_THE_BREAK;
            }
            Self::Lowest(_, to) => said.lowest = said.lowest.map(|l| l.min(*to)),
            Self::Leap(_, to) => said.no_leaps_over = Some(*to),
            Self::Speed(_, to) => said.no_faster_than = Some(*to),
            Self::BarsOnEnd(_, to) => said.rests_every = Some(*to),
            Self::Accidentals(_, to) => said.accidentals_at_most = Some(*to),
            Self::Alone(_) => said.exposure = Exposure::May,
            Self::Unlock(..) => {}
        }
        if let Ok(limits) = limits(&part.instrument, part.players, &part.remarks) {
            part.limits = limits;
        }
    }
}

fn unlock(locks: &mut Locks, id: PartId, bars: &[(BarNumber, BarNumber)]) {
    let inside = |bar: &BarNumber| bars.iter().any(|(a, b)| a <= bar && bar <= b);
    if let Some(lock) = locks.0.iter_mut().find(|l| l.part == id) {
        let gone: BarSet = BarSet(lock.bars.0.iter().copied().filter(inside).collect());
        lock.bars.0.retain(|b| !gone.0.contains(b));
    }
}

/// What a part's range would have to be for a pitch, by remarks alone; `None` where its players do
/// not reach it anyway, empty where it is inside.
#[must_use]
pub fn reach(part: &Part, id: PartId, pitch: Sounding) -> Option<Option<Change>> {
    if part.limits.range.contains(pitch) {
        return Some(None);
    }
    let mut free = part.remarks.clone();
    (free.lowest, free.highest, free.below_the_break) = (None, None, false);
    let open = limits(&part.instrument, part.players, &free).ok()?;
    if !open.range.contains(pitch) {
        return None;
    }
    let to = written(part, pitch);
    Some(Some(if pitch > part.limits.range.high {
        Change::Highest(id, to)
    } else {
        Change::Lowest(id, to)
    }))
}

/// How a part writes a pitch.
#[must_use]
pub fn written(part: &Part, pitch: Sounding) -> Written {
    part.instrument.transposition.written(pitch)
}

fn semitones(more: i32) -> String {
    let plural = if more == 1 { "" } else { "s" };
    format!("{more} semitone{plural} more")
}
