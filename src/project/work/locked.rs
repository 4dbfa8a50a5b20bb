//! Locking and unlocking bars, and keeping locks and draft in agreement.

use super::desk::{Desk, Done, Refused};
use super::selection::Selection;
use super::sheet::{Sheet, hull};
use super::words::{bars_in_words, parts_in_words};
use crate::band::PartId;
use crate::music::{BarNumber, MeterMap, Tick};
use crate::score::{BarSet, DraftNote, Lock, Locks};
use crate::sketch::Note;
use std::collections::BTreeSet;

/// The bars in which a note sounds, first and last.
fn sounding_bars(note: &DraftNote, meters: &MeterMap) -> (BarNumber, BarNumber) {
    let last = Tick(note.end().0.saturating_sub(1)).max(note.onset);
    (meters.bar(note.onset), meters.bar(last))
}

/// Whether a note sounds in one of some bars.
fn meets(bars: &BTreeSet<BarNumber>, (first, last): (BarNumber, BarNumber)) -> bool {
    bars.range(first..=last).next().is_some()
}

/// The bars with all those into which notes sound over, until no note sounds over their edges.
pub(super) fn grown(
    mut bars: BTreeSet<BarNumber>,
    line: &[DraftNote],
    meters: &MeterMap,
) -> BTreeSet<BarNumber> {
    let spans = line.iter().map(|n| sounding_bars(n, meters));
    let mut over: Vec<(BarNumber, BarNumber)> = spans.filter(|(a, b)| a < b).collect();
    loop {
        let (inside, rest): (Vec<_>, Vec<_>) = over.into_iter().partition(|s| meets(&bars, *s));
        if inside.is_empty() {
            return bars;
        }
        let all = inside.into_iter().flat_map(|(a, b)| a.0..=b.0);
        bars.extend(all.map(BarNumber));
        over = rest;
    }
}

/// Makes a part's lock hold what its line has in its bars, and the line's marks tell so. Answers with
/// the bars that the lock holds besides those that it held.
pub(super) fn agree(
    locks: &mut Locks,
    part: PartId,
    line: &mut [DraftNote],
    meters: &MeterMap,
) -> Option<(BarNumber, BarNumber)> {
    locks.0.retain(|l| !l.bars.0.is_empty());
    let Some(lock) = locks.0.iter_mut().find(|l| l.part == part) else {
        line.iter_mut().for_each(|n| n.locked = false);
        return None;
    };
    let bars = grown(lock.bars.0.clone(), line, meters);
    let more = hull(bars.difference(&lock.bars.0).copied());
    let before = std::mem::take(&mut lock.notes);
    let usual = before.first().map_or(0, |n| n.channel);
    for note in line.iter_mut() {
        note.locked = meets(&bars, sounding_bars(note, meters));
        if note.locked {
            let was = before
                .iter()
                .find(|b| (b.onset, b.pitch) == (note.onset, note.pitch));
            lock.notes.push(Note {
                onset: note.onset,
                pitch: note.pitch,
                duration: note.duration,
                velocity: note.velocity,
                channel: was.map_or(usual, |b| b.channel),
            });
        }
    }
    lock.notes.sort();
    lock.bars = BarSet(bars);
    more
}

/// The bars from the first to the last in which a lock that was there has other notes now.
pub(super) fn differs(
    before: Option<&Lock>,
    after: Option<&Lock>,
    meters: &MeterMap,
) -> Option<(BarNumber, BarNumber)> {
    let before = before?;
    let now = after.map_or(&[][..], |l| &l.notes);
    let gone = before.notes.iter().filter(|n| !now.contains(n));
    let new = now.iter().filter(|n| !before.notes.contains(n));
    let bars = gone.chain(new).map(|n| meters.bar(n.onset));
    // A bar that the lock only now grew into was not edited.
    hull(bars.filter(|bar| before.bars.0.contains(bar)))
}

/// Fixes the notes of the selection's parts in its bars as they are, rests too.
///
/// A note that sounds over the edge is locked as a whole, with the bars in which it sounds.
///
/// # Errors
/// Without a part of the band or a bar of the piece, and where all of it is locked already.
pub fn lock(desk: &Desk<'_>, selection: &Selection) -> Result<Done, Refused> {
    let (parts, wanted) = wanted(desk, selection)?;
    let mut locks = desk.locks.clone();
    let mut sheet = Sheet::of(desk);
    let mut further: Vec<String> = Vec::new();
    for part in &parts {
        let line = sheet.line(*part);
        line.sort();
        let own = match locks.0.iter_mut().find(|l| l.part == *part) {
            Some(own) => own,
            None => {
                locks.0.push(Lock {
                    part: *part,
                    bars: BarSet::default(),
                    notes: Vec::new(),
                });
                locks.0.sort_by_key(|l| l.part);
                let own = locks.0.iter_mut().find(|l| l.part == *part);
                own.ok_or(Refused::NoPart)?
            }
        };
        own.bars.0.extend(wanted.iter().copied());
        if let Some(bars) = agree(&mut locks, *part, line, desk.meters) {
            further.push(format!(
                "{} is locked in {} too, for a note sounds over the barline",
                parts_in_words(desk.band, &[*part]),
                bars_in_words(bars)
            ));
        }
    }
    ended("lock", sheet, locks, (&parts, selection), further)
}

/// Frees the notes of the selection's parts in its bars.
///
/// A note that sounds over the edge is freed as a whole, with the bars in which it sounds.
///
/// # Errors
/// Where nothing of it is locked.
pub fn unlock(desk: &Desk<'_>, selection: &Selection) -> Result<Done, Refused> {
    let (parts, wanted) = wanted(desk, selection)?;
    let mut locks = desk.locks.clone();
    let mut sheet = Sheet::of(desk);
    let mut further: Vec<String> = Vec::new();
    let mut any = false;
    for part in &parts {
        let Some(own) = locks.0.iter_mut().find(|l| l.part == *part) else {
            continue;
        };
        let free: BTreeSet<BarNumber> = own.bars.0.intersection(&wanted).copied().collect();
        if free.is_empty() {
            continue;
        }
        any = true;
        let line = sheet.line(*part);
        let all = grown(free.clone(), line, desk.meters);
        let more = all.difference(&free).filter(|b| own.bars.0.contains(b));
        if let Some(bars) = hull(more.copied()) {
            further.push(format!(
                "{} is free in {} too, for a note sounds over the barline",
                parts_in_words(desk.band, &[*part]),
                bars_in_words(bars)
            ));
        }
        own.bars.0.retain(|b| !all.contains(b));
        agree(&mut locks, *part, line, desk.meters);
    }
    if !any {
        return Err(Refused::NotLocked(bars_in_words(selection.bars)));
    }
    ended("unlock", sheet, locks, (&parts, selection), further)
}

/// The parts that the band has and the bars that the piece has.
fn wanted(
    desk: &Desk<'_>,
    selection: &Selection,
) -> Result<(Vec<PartId>, BTreeSet<BarNumber>), Refused> {
    let parts = selection.known_parts(desk);
    if parts.is_empty() {
        return Err(Refused::NoPart);
    }
    let bars = selection.known_bars(desk);
    let none = || Refused::AfterEnd(desk.meters.place(desk.meters.bar_start(selection.bars.0)));
    let (first, last) = bars.ok_or_else(none)?;
    Ok((parts, (first.0..=last.0).map(BarNumber).collect()))
}

fn ended(
    verb: &str,
    sheet: Sheet<'_>,
    locks: Locks,
    (parts, selection): (&[PartId], &Selection),
    notes: Vec<String>,
) -> Result<Done, Refused> {
    let desk = sheet.desk;
    let draft = sheet.marked();
    if draft == *desk.draft && locks == *desk.locks {
        return Err(Refused::NothingChanges);
    }
    let bars = selection.known_bars(desk).unwrap_or(selection.bars);
    let name = format!(
        "{verb} {} in {}",
        parts_in_words(desk.band, parts),
        bars_in_words(bars)
    );
    Ok(Done {
        draft,
        locks,
        selection: selection.clone(),
        name,
        notes,
    })
}
