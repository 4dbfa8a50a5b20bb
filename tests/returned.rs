//! Drafts that come back: nothing changed is no change, what was changed is found, and is kept when the rest is solved
//! again.

use crate::command_line::{Place, out};
use crate::musicxml_out::random::in_whole_bars;
use bandwright::band::{Band, PartId, preset};
use bandwright::cli::files::demo_song;
use bandwright::export::{ScoreInput, midi_bytes, musicxml_bytes, mxl_bytes};
use bandwright::music::{BarNumber, MeterMap, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter};
use bandwright::project::given::Given;
use bandwright::project::whole_way::whole_way;
use bandwright::score::returned::{How, returned};
use bandwright::sketch::{Note, Song, Track, read_any, read_song};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

const BAR: u64 = 1920;

fn note(at: u64, pitch: u8, length: u64) -> Note {
    Note {
        onset: Tick(at),
        pitch: Sounding::new(pitch).unwrap(),
        duration: Ticks(length),
        velocity: 80,
        channel: 0,
    }
}

/// A song of bars, each of its own: four parts of the demo band and a piano.
fn song_of(bars: &[Vec<(u8, u8)>], band: &Band) -> Song {
    let mut tracks: Vec<Track> = (band.parts.iter().take(4))
        .map(|p| Track {
            name: p.name.clone(),
            ..Track::default()
        })
        .collect();
    let mut piano = Track {
        name: "Piano".to_owned(),
        ..Track::default()
    };
    for (bar, beats) in bars.iter().enumerate() {
        for (beat, (part, pitch)) in beats.iter().enumerate() {
            let at = bar as u64 * BAR + beat as u64 * 480;
            let own = &mut tracks[usize::from(*part) % 4];
            own.notes.push(note(at, 50 + pitch % 24, 480));
            piano.notes.push(note(at, 40 + pitch % 36, 240));
        }
    }
    tracks.push(piano);
    tracks.iter_mut().for_each(|t| t.notes.sort());
    let quarter = TicksPerQuarter::new(480).unwrap();
    Song {
        quarter,
        meters: MeterMap::new(quarter, []),
        tempo: TempoMap::new(quarter, []),
        tracks,
        ..demo_song().unwrap()
    }
}

/// The same song as another program might write it: other ticks to the quarter.
fn in_other_ticks(song: &Song, quarter: u16) -> Song {
    let of = TicksPerQuarter::new(quarter).unwrap();
    let scaled = |ticks: u64| ticks * u64::from(quarter) / 480;
    let mut other = song.clone();
    other.quarter = of;
    other.meters = MeterMap::new(of, []);
    other.tempo = TempoMap::new(of, []);
    for note in other.tracks.iter_mut().flat_map(|t| &mut t.notes) {
        note.onset = Tick(scaled(note.onset.0));
        note.duration = Ticks(scaled(note.duration.0));
    }
    other
}

#[test]
fn the_demo_comes_back_as_no_change() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
    let draft = &way.voiced.draft;
    let bytes = midi_bytes(&song, &way.own_tracks, &band, draft, &way.breathing.breaths).unwrap();
    let sent = read_song(&bytes).unwrap();
    let found = returned(&sent, &sent, &band).unwrap();
    assert!(found.is_unchanged());
    assert_eq!(found.in_words(&band), Vec::<String>::new());
    assert!(found.locks.tracks.is_empty());
    let notes: usize = draft.lines.iter().map(|l| l.notes.len()).sum();
    let kept: usize = found.sent.tracks.iter().map(|t| t.notes.len()).sum();
    assert_eq!(kept, notes);
    // As a score it is the same draft, with the names that its notes have.
    let input = way.score("Demo", &song, &band, false);
    let xml = read_any(&musicxml_bytes(&input).unwrap()).unwrap();
    let found = returned(&xml, &sent, &band).unwrap();
    assert!(found.is_unchanged(), "{:?}", found.in_words(&band));
}

#[test]
fn what_was_changed_is_kept_and_the_rest_is_solved_around_it() {
    let place = Place::new();
    place.run(&["voice", "--out", "sent.mid"]);
    let mut back = read_song(&std::fs::read(place.path("sent.mid")).unwrap()).unwrap();
    let band = preset("demo").unwrap();
    let name = "Clarinet 2";
    let track = back.tracks.iter_mut().find(|t| t.name == name).unwrap();
    let meters = back.meters.clone();
    let changed = track
        .notes
        .iter()
        .position(|n| meters.bar(n.onset).0 == 21)
        .unwrap();
    let was = track.notes[changed].pitch;
    track.notes[changed].pitch = Sounding::new(was.midi() + 2).unwrap();
    let at = track.notes[changed].onset;
    // It is written by our own writer: the sketch's tracks as they are, the parts as tracks of it.
    let none = Band {
        parts: Vec::new(),
        ..band.clone()
    };
    let bytes = midi_bytes(&back, &[], &none, &Default::default(), &[]).unwrap();
    std::fs::write(place.path("back.mid"), bytes).unwrap();
    let told = out(&place.run(&["compare", "sent.mid", "back.mid"]));
    assert_eq!(told.trim(), "Clarinet 2, bar 21: 1 note with another pitch");
    let json = out(&place.run(&["compare", "sent.mid", "back.mid", "--json", "-"]));
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["changes"].as_array().unwrap().len(), 1);
    assert_eq!(json["changes"][0]["how"], "pitch");
    let answer = place.run(&[
        "voice", "back.mid", "--since", "sent.mid", "--out", "next.mid",
    ]);
    assert!(
        answer.status.success(),
        "{}",
        crate::command_line::err(&answer)
    );
    assert!(out(&answer).contains("Clarinet 2, bar 21: 1 note with another pitch"));
    let next = read_song(&std::fs::read(place.path("next.mid")).unwrap()).unwrap();
    let kept = |n: &&Note| n.onset == at && n.pitch.midi() == was.midi() + 2;
    let line = next.tracks.iter().find(|t| t.name == name).unwrap();
    assert!(
        line.notes.iter().any(|n| kept(&n)),
        "what was changed is locked"
    );
    // Most of the draft stays as it was.
    let sent = read_song(&std::fs::read(place.path("sent.mid")).unwrap()).unwrap();
    let all: usize = sent.tracks.iter().map(|t| t.notes.len()).sum();
    let moved = returned(&next, &sent, &band).unwrap().changes.len();
    assert!(moved * 10 < all, "{moved} of {all}");
    let without = place.run(&["voice", "--since", "sent.mid"]);
    assert_eq!(without.status.code(), Some(2));
    assert!(crate::command_line::err(&without).contains("SKETCH"));
    place.refuses(&["compare", "sent.mid", "missing.mid"], "missing.mid");
}

#[test]
fn a_note_far_after_the_end_is_refused_before_it_fills_the_memory() {
    let band = preset("demo").unwrap();
    let mut song = song_of(&[vec![(0, 1)], vec![(1, 2)]], &band);
    song.tracks[0].notes.push(note(BAR * 3_000_000, 60, 480));
    let refused = returned(&song, &song, &band).unwrap_err();
    assert!(
        refused.to_string().contains("20000 are the most"),
        "{refused}"
    );
}

/// An edit by hand.
#[derive(Clone, Debug)]
enum Hand {
    Pitch(usize),
    Remove(usize),
    Add(usize),
}

fn bars() -> impl Strategy<Value = Vec<Vec<(u8, u8)>>> {
    let beat = (0_u8..4, 0_u8..24);
    prop::collection::vec(prop::collection::vec(beat, 4), 4..12)
}

fn hands() -> impl Strategy<Value = Vec<Hand>> {
    let one = prop_oneof![
        (0_usize..99).prop_map(Hand::Pitch),
        (0_usize..99).prop_map(Hand::Remove),
        (0_usize..99).prop_map(Hand::Add),
    ];
    prop::collection::vec(one, 0..4)
}

/// Does edits to the parts of a song, and says which bars of which parts they touched.
fn edited(song: &mut Song, hands: &[Hand]) -> BTreeMap<PartId, BTreeSet<BarNumber>> {
    let before = song.clone();
    for hand in hands {
        let (Hand::Pitch(n) | Hand::Remove(n) | Hand::Add(n)) = hand;
        let track = &mut song.tracks[n % 4];
        match hand {
            Hand::Add(n) => {
                let bar = *n as u64 % 4;
                track.notes.push(note(bar * BAR + 1200, 90, 60));
            }
            _ if track.notes.is_empty() => continue,
            Hand::Pitch(n) => {
                let at = n % track.notes.len();
                let pitch = track.notes[at].pitch.midi();
                // One that was moved up before may have no room left above.
                let moved = Sounding::new(pitch + 30).or(Sounding::new(pitch - 30));
                track.notes[at].pitch = moved.unwrap();
            }
            Hand::Remove(n) => {
                track.notes.remove(n % track.notes.len());
            }
        }
        track.notes.sort();
        track.notes.dedup_by_key(|n| (n.onset, n.pitch));
    }
    let mut touched: BTreeMap<PartId, BTreeSet<BarNumber>> = BTreeMap::new();
    for part in 0..4 {
        let bar = |n: &Note| BarNumber((n.onset.0 / BAR) as u32 + 1);
        let (a, b) = (&before.tracks[part].notes, &song.tracks[part].notes);
        let gone = a.iter().filter(|n| !b.contains(n));
        let new = b.iter().filter(|n| !a.contains(n));
        let bars: BTreeSet<BarNumber> = gone.chain(new).map(bar).collect();
        if !bars.is_empty() {
            touched.insert(PartId(part), bars);
        }
    }
    touched
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn a_draft_that_leaves_in_either_format_comes_back_as_no_change(score in in_whole_bars(), plain in prop::bool::ANY) {
        let mut score = score;
        for (part, name) in score.band.parts.iter_mut().zip('A'..) {
            part.name = format!("Part {name}");
        }
        let input = ScoreInput { plain, ..score.input() };
        let midi = midi_bytes(&score.song, &[], &score.band, &score.draft, &[]).unwrap();
        let midi = read_any(&midi).unwrap();
        let xml = musicxml_bytes(&input).unwrap();
        let packed = mxl_bytes(&xml).unwrap();
        for bytes in [xml, packed] {
            let back = read_any(&bytes).unwrap();
            let found = returned(&back, &midi, &score.band).unwrap();
            prop_assert!(found.changes.is_empty(), "{:?}", found.changes);
            prop_assert!(found.bars.is_straight(), "{:?}", found.bars);
            prop_assert!(returned(&back, &back, &score.band).unwrap().is_unchanged());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn what_was_not_changed_comes_back_so(bars in bars(), quarter in prop::sample::select(vec![24_u16, 96, 480, 960, 10_080])) {
        let band = preset("demo").unwrap();
        let sent = song_of(&bars, &band);
        let back = in_other_ticks(&sent, quarter);
        prop_assert!(returned(&back, &sent, &band).unwrap().is_unchanged());
    }

    #[test]
    fn the_bars_that_hands_touched_are_locked_and_no_others(bars in bars(), hands in hands()) {
        let band = preset("demo").unwrap();
        let sent = song_of(&bars, &band);
        let mut back = sent.clone();
        let touched = edited(&mut back, &hands);
        let found = returned(&back, &sent, &band).unwrap();
        // A bar may be so changed that it rather seems another one; then all of it is told.
        prop_assume!(found.bars.is_straight());
        prop_assert_eq!(found.touched(), touched);
        prop_assert!(found.sketch.is_empty());
        prop_assert!(found.changes.iter().all(|c| c.how != How::Rounded));
    }

    #[test]
    fn bars_put_in_shift_what_follows(bars in bars(), at in 0_usize..4, pitch in 60_u8..80) {
        let band = preset("demo").unwrap();
        // Each bar is told apart by a note of its own.
        let own = |(i, bar): (usize, &Vec<(u8, u8)>)| {
            let mut bar = bar.clone();
            bar[0] = (0, i as u8);
            bar[1] = (1, 23 - i as u8);
            bar
        };
        let bars: Vec<_> = bars.iter().enumerate().map(own).collect();
        let sent = song_of(&bars, &band);
        let mut longer = bars.clone();
        longer.insert(at, Vec::new());
        let mut back = song_of(&longer, &band);
        back.tracks[0].notes.push(note(at as u64 * BAR, pitch, 1920));
        back.tracks[0].notes.sort();
        let found = returned(&back, &sent, &band).unwrap();
        let inserted: Vec<u32> = found.bars.inserted().map(|b| b.0).collect();
        prop_assert_eq!(inserted, vec![at as u32 + 1]);
        let touched = found.touched();
        prop_assert_eq!(touched.len(), 1);
        prop_assert_eq!(&touched[&PartId(0)], &BTreeSet::from([BarNumber(at as u32 + 1)]));
        // The other way round the bar was cut, and nothing else was changed.
        let found = returned(&sent, &back, &band).unwrap();
        let cut: Vec<u32> = found.bars.cut().map(|b| b.0).collect();
        prop_assert_eq!(cut, vec![at as u32 + 1]);
        prop_assert!(found.changes.is_empty());
    }
}
