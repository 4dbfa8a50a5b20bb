//! The whole way, from a sketch and a band to a draft, held against an independent checker.

mod checked;
mod exhaustive;
mod explain;
mod figures;
mod hand_over;
mod named;
mod network;
mod random;
mod remarks;
pub mod resolve;
mod small_cases;
mod strategies;
mod styles;
mod tune;
mod weighed;

use crate::checker::{Case, Fixed, faults};
use crate::midi_file::File;
use bandwright::band::{Band, Exposure};
use bandwright::export::midi_bytes;
use bandwright::music::{KeySignature, Tick};
use bandwright::project::given::Given;
use bandwright::project::whole_way::{WholeWay, whole_way};
use bandwright::review::Severity;
use bandwright::score::{Draft, Role};
use bandwright::sketch::{Note, Song, Track, read_song};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// Goes the way.
pub fn go(song: &Song, band: &Band, locks: Option<&Song>) -> WholeWay {
    let given = Given {
        locks,
        ..Given::default()
    };
    whole_way(song, band, &given, &mut |_| {})
}

/// The draft as it leaves.
pub fn sent_out(way: &WholeWay, song: &Song, band: &Band) -> Vec<u8> {
    let (draft, breaths) = (&way.voiced.draft, &way.breathing.breaths);
    midi_bytes(song, &way.own_tracks, band, draft, breaths).unwrap()
}

/// Goes the way with so many threads.
pub fn go_with(threads: usize, song: &Song, band: &Band, locks: Option<&Song>) -> WholeWay {
    let given = Given {
        locks,
        threads: Some(threads),
        ..Given::default()
    };
    whole_way(song, band, &given, &mut |_| {})
}

/// Tracks named like parts, by the part's index, with what each fixes.
pub fn fixed_by(song: &Song, band: &Band, onto: &Song) -> BTreeMap<usize, Fixed> {
    let mut fixed = BTreeMap::new();
    for track in &song.tracks {
        let Some((part, bars)) = part_and_bars(&track.name, band) else {
            continue;
        };
        let inside = |n: &&Note| {
            let bar = onto.meters.bar(n.onset).0;
            bars.as_ref().is_none_or(|b| b.contains(&bar))
        };
        let notes: Vec<Note> = track.notes.iter().filter(inside).copied().collect();
        let mut by = Fixed::by(&notes, &onto.meters);
        by.bars.extend(bars.into_iter().flatten());
        if !by.bars.is_empty() {
            fixed.insert(part, by);
        }
    }
    fixed
}

/// The part that a track is named after, and the bars named after that.
fn part_and_bars(name: &str, band: &Band) -> Option<(usize, Option<RangeInclusive<u32>>)> {
    let (name, bars) = match name.split_once(" bars ") {
        Some((name, bars)) => {
            let (first, last) = bars.split_once('-')?;
            (name, Some(first.parse().ok()?..=last.parse().ok()?))
        }
        None => (name, None),
    };
    let part = band.parts.iter().position(|p| p.name == name)?;
    Some((part, bars))
}

/// The indices of the tracks named like parts.
pub fn own(song: &Song, band: &Band) -> Vec<usize> {
    let is_part = |t: &Track| part_and_bars(&t.name, band).is_some();
    (0..song.tracks.len())
        .filter(|i| is_part(&song.tracks[*i]))
        .collect()
}

/// Everything that the checker finds wrong with a way, its locks told by the files alone.
pub fn faults_of(way: &WholeWay, song: &Song, band: &Band, locks: Option<&Song>) -> Vec<String> {
    let mut fixed = fixed_by(song, band, song);
    for (part, over) in locks.map(|l| fixed_by(l, band, song)).into_iter().flatten() {
        let under = fixed.remove(&part).unwrap_or_default();
        fixed.insert(part, under.under(&over, &song.meters));
    }
    let case = Case {
        band,
        reading: &way.reading,
        meters: &song.meters,
        tempo: &song.tempo,
        keys: keys(way, song),
        fixed,
        tune: way.tune.clone(),
    };
    let mut wrong = faults(&case, &way.voiced.draft);
    if way.own_tracks != own(song, band) {
        wrong.push(format!("own tracks are {:?}", way.own_tracks));
    }
    wrong.extend(lost_on_the_way_out(way, song, band));
    wrong.extend(alone_and_not_told(way, band));
    // The reviewer marks nothing that is not the arranger's own.
    let out = way.findings.iter();
    let out = out.filter(|f| f.severity == Severity::OutOfLimit && !f.remedy.contains("locked"));
    wrong.extend(out.map(|f| format!("the review says: {f}")));
    wrong
}

/// Everything that the checker finds wrong with a draft.
pub fn faults_in(
    band: &Band,
    song: &Song,
    reading: &bandwright::sketch::Reading,
    fixed: BTreeMap<usize, Fixed>,
    draft: &Draft,
) -> Vec<String> {
    let found = reading.keys.iter().map(|k| (k.start, k.signature));
    let case = Case {
        band,
        reading,
        meters: &song.meters,
        tempo: &song.tempo,
        keys: [
            found.collect(),
            song.keys.iter().map(|k| (k.at, k.signature)).collect(),
        ],
        tune: bandwright::score::TuneRules::default(),
        fixed,
    };
    faults(&case, draft)
}

/// Locked notes of a line that a part has alone which is never to be heard alone, and that no finding
/// tells.
fn alone_and_not_told(way: &WholeWay, band: &Band) -> Vec<String> {
    let lines = &way.voiced.draft.lines;
    let mut wrong = Vec::new();
    for (i, part) in band.parts.iter().enumerate() {
        if part.remarks.exposure != Exposure::Never {
            continue;
        }
        for note in lines[i]
            .notes
            .iter()
            .filter(|n| n.locked && n.role != Role::Harmony)
        {
            let others = lines.iter().enumerate().filter(|(j, _)| *j != i);
            let mut others = others.flat_map(|(_, l)| &l.notes);
            let with = others
                .any(|o| o.onset == note.onset && o.pitch.midi() % 12 == note.pitch.midi() % 12);
            let told = way.findings.iter().any(|f| {
                f.kind == "heard_alone" && f.at == note.onset && f.part.as_ref() == Some(&part.name)
            });
            if !with && !told {
                let at = note.onset.0;
                wrong.push(format!(
                    "{} is alone at {at}, and it is not told",
                    part.name
                ));
            }
        }
    }
    wrong
}

/// The keys that were found, and those that the file writes.
pub fn keys(way: &WholeWay, song: &Song) -> [Vec<(Tick, KeySignature)>; 2] {
    [
        way.reading
            .keys
            .iter()
            .map(|k| (k.start, k.signature))
            .collect(),
        song.keys.iter().map(|k| (k.at, k.signature)).collect(),
    ]
}

/// What is different once the draft was written and read again.
fn lost_on_the_way_out(way: &WholeWay, song: &Song, band: &Band) -> Vec<String> {
    let draft = &way.voiced.draft;
    let bytes = match midi_bytes(song, &way.own_tracks, band, draft, &way.breathing.breaths) {
        Ok(bytes) => bytes,
        Err(error) => return vec![format!("not written: {error}")],
    };
    let back = match read_song(&bytes) {
        Ok(back) => back,
        Err(error) => return vec![format!("not read again: {error}")],
    };
    let mut wrong: Vec<String> = back.warnings.iter().map(ToString::to_string).collect();
    // A draft may well be silent; any other warning is about a malformed file.
    wrong.retain(|w| w != "the file holds no notes");
    wrong.retain(|w| !song.warnings.iter().any(|s| &s.text == w));
    let first = back.tracks.len() - band.parts.len();
    for (i, part) in band.parts.iter().enumerate() {
        let track = &back.tracks[first + i];
        if track.name != part.name {
            wrong.push(format!("{} leaves as {}", part.name, track.name));
        }
        if plain(&track.notes) != drafted(draft, i) {
            wrong.push(format!("{} comes back with other notes", part.name));
        }
    }
    wrong
}

/// Onset, pitch, length and velocity, in order.
type Plain = (u64, u8, u64, u8);

fn plain(notes: &[Note]) -> Vec<Plain> {
    let one = |n: &Note| (n.onset.0, n.pitch.midi(), n.duration.0, n.velocity);
    let mut all: Vec<Plain> = notes.iter().map(one).collect();
    all.sort_unstable();
    all
}

fn drafted(draft: &Draft, part: usize) -> Vec<Plain> {
    let notes = draft.lines[part].notes.iter();
    let mut all: Vec<Plain> = notes
        .map(|n| (n.onset.0, n.pitch.midi(), n.duration.0, n.velocity))
        .collect();
    all.sort_unstable();
    all
}

/// What of a draft changes when it is given again as locks.
pub fn moved_by_relocking(way: &WholeWay, song: &Song, band: &Band) -> Vec<String> {
    let first = &way.voiced.draft;
    let locks =
        read_song(&midi_bytes(song, &way.own_tracks, band, first, &way.breathing.breaths).unwrap())
            .unwrap();
    let again = go(song, band, Some(&locks)).voiced.draft;
    let mut wrong = Vec::new();
    for (i, part) in band.parts.iter().enumerate() {
        let held = again.lines[i].notes.iter().filter(|n| n.locked);
        let held = Draft {
            lines: vec![bandwright::score::PartLine {
                part: again.lines[i].part,
                notes: held.copied().collect(),
            }],
            ..Draft::default()
        };
        if drafted(&held, 0) != drafted(first, i) {
            wrong.push(format!("{} was touched", part.name));
        }
    }
    wrong
}

/// A way on which nothing may go wrong.
pub fn go_well(file: &File, band: &Band) -> WholeWay {
    let song = file.song();
    let way = go(&song, band, None);
    assert_eq!(faults_of(&way, &song, band, None), Vec::<String>::new());
    way
}
