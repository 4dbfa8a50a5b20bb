//! The arranger's own passages: tracks of a song that are named like a part of the band.

use super::lock::{BarSet, Lock, Locks};
use super::track_name::{TrackName, loose};
use crate::band::{Band, PartId, edit_distance};
use crate::music::{BarNumber, MeterMap, Tick, Ticks, TicksPerQuarter};
use crate::sketch::Note;
use crate::sketch::song::{Song, Track, Warning};
use std::collections::BTreeMap;

/// No note of an own passage is longer, in bars: longer ones were never let go.
const LONGEST_NOTE: u32 = 1_000;
/// More characters than any part's name has.
const LONGEST_NAME: usize = 64;

/// What a song holds of the arranger's own passages.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct OwnPassages {
    /// Indices of the song's tracks that are named like a part, in order; the others are sketch.
    pub tracks: Vec<usize>,
    /// What they fix.
    pub locks: Locks,
    /// What was dropped, merged, rounded or nearly named.
    pub warnings: Vec<Warning>,
}

/// Takes the tracks of a song that are named like a part as that part's own passages.
///
/// A name counts as the part's whatever its case, white space, `-`, `_` and `.`. After it may
/// stand which bars it fixes, ` bars 5-8, 12`: just these, silent ones too (the part rests
/// there), and notes that begin elsewhere are dropped. Without that, it fixes the bars in which
/// a note of the track sounds, those that it sounds over into included; a track without notes
/// fixes nothing. Bars and ticks are those of `onto`; ticks are scaled from the song's quarter
/// note to that of `onto`, rounded where they do not divide.
///
/// Never fails; what is doubtful comes as a warning.
#[must_use]
pub fn own_passages(song: &Song, band: &Band, onto: (&MeterMap, TicksPerQuarter)) -> OwnPassages {
    let mut found = OwnPassages::default();
    let mut locks: BTreeMap<PartId, Lock> = BTreeMap::new();
    let mut scale = Scale::new(song.quarter, onto.1);
    for (index, track) in song.tracks.iter().enumerate() {
        let Some((part, name)) = part_of(track, band) else {
            found.warnings.extend(near_miss(track, band));
            continue;
        };
        found.tracks.push(index);
        let lock = lock(
            part,
            track,
            &name,
            (onto.0, &mut scale),
            &mut found.warnings,
        );
        match locks.get_mut(&part) {
            Some(first) => {
                found.warnings.push(Warning::music(format!(
                    "more than one track is named like part `{}`; they are taken together",
                    band.part(part).name
                )));
                merge(first, lock);
            }
            None => {
                locks.insert(part, lock);
            }
        }
    }
    if scale.rounded > 0 {
        found.warnings.push(Warning::music(format!(
            "notes of own passages were moved by less than a tick ({}): {} ticks a quarter do not \
             divide into {}",
            scale.rounded,
            song.quarter.get(),
            onto.1.get()
        )));
    }
    let fixing = locks.into_values().filter(|l| !l.bars.0.is_empty());
    found.locks = Locks(fixing.collect());
    found
}

/// The part that a track is named like, with the name taken apart.
pub(in crate::score) fn part_of(track: &Track, band: &Band) -> Option<(PartId, TrackName)> {
    let part_named = |name: &str| {
        let wanted = loose(name);
        let found = band.ids().find(|(_, p)| loose(&p.name) == wanted);
        found.filter(|_| !wanted.is_empty()).map(|(id, _)| id)
    };
    // A part may itself be called "… bars 2": its whole name goes first.
    if let Some(id) = part_named(&track.name) {
        return Some((id, TrackName::whole(&track.name)));
    }
    let name = TrackName::read(&track.name);
    part_named(&name.part).map(|id| (id, name))
}

/// A song whose tracks are named like parts without the bars behind the names, so that all their
/// notes count.
#[must_use]
pub fn whole_tracks(song: &Song) -> Song {
    let mut song = song.clone();
    for track in &mut song.tracks {
        let name = TrackName::read(&track.name);
        if name.bars.is_some() {
            track.name = name.part;
        }
    }
    song
}

fn near_miss(track: &Track, band: &Band) -> Option<Warning> {
    let wanted = loose(&TrackName::read(&track.name).part);
    if wanted.chars().count() > LONGEST_NAME {
        return None; // no part has so long a name
    }
    // `Trumpet 3` is no slip of the pen for `Trumpet 1`.
    let digits = |name: &str| {
        name.chars()
            .filter(char::is_ascii_digit)
            .collect::<String>()
    };
    let distance = |name: &str| {
        let same_number = digits(name) == digits(&wanted);
        if same_number {
            edit_distance(&wanted, &loose(name))
        } else {
            usize::MAX
        }
    };
    let best = band.parts.iter().min_by_key(|p| distance(&p.name))?;
    let limit = if wanted.chars().count() > 4 { 2 } else { 1 };
    let near = (1..=limit).contains(&distance(&best.name)) && wanted.chars().count() > 2;
    near.then(|| {
        Warning::music(format!(
            "no part is named `{}` like a track; did you mean `{}`?",
            track.name, best.name
        ))
    })
}

fn lock(
    part: PartId,
    track: &Track,
    name: &TrackName,
    (meters, scale): (&MeterMap, &mut Scale),
    warnings: &mut Vec<Warning>,
) -> Lock {
    if let Some(bad) = &name.unread {
        warnings.push(Warning::music(format!(
            "track `{}`: cannot read the bars `{bad}` (write `bars 5-8, 12`); the bars with notes \
             are taken",
            track.name
        )));
    }
    let mut notes: Vec<Note> = track.notes.iter().map(|n| scale.note(n)).collect();
    notes.sort_by_key(|n| (n.onset, n.pitch));
    let all = notes.len();
    notes.retain(|n| meters.bar(n.end()).0 - meters.bar(n.onset).0 <= LONGEST_NOTE);
    if notes.len() < all {
        warnings.push(Warning::music(format!(
            "track `{}`: notes longer than {LONGEST_NOTE} bars are left out ({})",
            track.name,
            all - notes.len()
        )));
    }
    let Some(named) = &name.bars else {
        let bars = BarSet::of_notes(&notes, meters);
        return Lock { part, bars, notes };
    };
    let mut bars = BarSet(named.iter().copied().map(BarNumber).collect());
    let before = notes.len();
    notes.retain(|n| bars.contains(n.onset, meters));
    if notes.len() < before {
        warnings.push(Warning::music(format!(
            "track `{}`: notes outside its bars are left out ({})",
            track.name,
            before - notes.len()
        )));
    }
    // A note that sounds over the barline keeps the next bar from being filled under it.
    bars.0.extend(BarSet::of_notes(&notes, meters).0);
    Lock { part, bars, notes }
}

fn merge(first: &mut Lock, second: Lock) {
    first.bars.0.extend(second.bars.0);
    first.notes.extend(second.notes);
    first.notes.sort_by_key(|n| (n.onset, n.pitch));
    first.notes.dedup();
}

/// Ticks of one file as ticks of another.
struct Scale {
    from: u64,
    to: u64,
    /// Notes that did not fall on a tick.
    rounded: usize,
}

impl Scale {
    fn new(from: TicksPerQuarter, to: TicksPerQuarter) -> Self {
        Self {
            from: u64::from(from.get()),
            to: u64::from(to.get()),
            rounded: 0,
        }
    }

    fn note(&mut self, note: &Note) -> Note {
        let (onset, onset_exact) = self.ticks(note.onset.0);
        let (end, end_exact) = self.ticks(note.end().0);
        self.rounded += usize::from(!(onset_exact && end_exact));
        Note {
            onset: Tick(onset),
            duration: Ticks(end.saturating_sub(onset).max(1)),
            ..*note
        }
    }

    /// The nearest tick, and whether it is exact.
    fn ticks(&self, at: u64) -> (u64, bool) {
        let scaled = u128::from(at) * u128::from(self.to);
        let from = u128::from(self.from);
        let nearest = (scaled + from / 2) / from;
        let exact = scaled.is_multiple_of(from);
        (u64::try_from(nearest).unwrap_or(u64::MAX), exact)
    }
}
