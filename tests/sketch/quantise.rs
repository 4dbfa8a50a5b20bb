//! Quantising: what is step-entered stays, what was played in gets written times, no note is lost.

use crate::midi_file::{File, Lane, Tone, tone};
use bandwright::music::{Tick, Ticks};
use bandwright::sketch::{Note, Quantised, Song, Taken, Times, quantise, read_sketch, read_song};
use proptest::collection::vec;
use proptest::prelude::*;

/// Numbers that look random, the same every time (xorshift; Marsaglia 2003).
struct Dice(u64);

impl Dice {
    /// From 0 up to 1.
    fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// About Gaussian with deviation 1: a sum of twelve.
    fn gauss(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }
}

/// A written note: onset and length in ticks of 480 a quarter, and pitch.
type Plan = (u32, u32, u8);

/// A tune over a bass and chords: quarters and eighths, with triplets in every fourth bar.
fn plan(bars: u32) -> Vec<Plan> {
    let mut notes = Vec::new();
    let scale = [60, 62, 64, 65, 67, 69, 71, 72];
    for bar in 0..bars {
        let start = bar * 1920;
        notes.extend([(start, 960, 36), (start + 960, 960, 43)]);
        notes.extend([48, 52, 55].map(|p| (start, 1920, p)));
        let steps: Vec<(u32, u32)> = match bar % 4 {
            3 => (0..6).map(|i| (i * 160, 160)).chain([(960, 960)]).collect(),
            1 => vec![(0, 480), (480, 240), (720, 240), (960, 480), (1440, 480)],
            _ => (0..4).map(|i| (i * 480, 480)).collect(),
        };
        for (i, (at, length)) in steps.into_iter().enumerate() {
            notes.push((start + at, length, 12 + scale[(i + bar as usize) % 8]));
        }
    }
    notes
}

/// The notes with so many seconds of noise, at a tempo in which a tick of the file is
/// `1 / ticks_a_second`; `time` gives the seconds of a written tick.
fn played(plan: &[Plan], noise: f64, seed: u64, time: impl Fn(f64) -> f64) -> Vec<Tone> {
    let mut dice = Dice(seed);
    let ticks = |s: f64| (s * 960.0).round().max(0.0) as u32;
    plan.iter()
        .map(|(onset, length, pitch)| {
            let (down, up) = (time(f64::from(*onset)), time(f64::from(onset + length)));
            let late = noise * dice.gauss();
            let held = (up - down) * (0.75 + 0.2 * dice.share());
            tone(ticks(down + late), *pitch, ticks(held).max(1))
        })
        .collect()
}

/// Every note with how it was played, by track.
fn pairs(q: &Quantised) -> Vec<(usize, Note, Tick, Ticks, bool)> {
    let mut all = Vec::new();
    for (i, track) in q.song.tracks.iter().enumerate() {
        assert_eq!(track.notes.len(), track.played.len());
        for (note, played) in track.notes.iter().zip(&track.played) {
            all.push((i, *note, played.onset, played.duration, played.grace));
        }
    }
    all
}

/// Share of the notes that are written as planned, but for a shift of `shift` ticks.
fn right(q: &Quantised, plan: &[Plan], tones: &[Tone], shift: u64) -> (f64, f64) {
    let found = pairs(q);
    let (mut onsets, mut lengths) = (0, 0);
    for (wanted, tone) in plan.iter().zip(tones) {
        let note = found
            .iter()
            .find(|(_, n, at, ..)| at.0 == u64::from(tone.onset) && n.pitch.midi() == tone.pitch)
            .unwrap();
        onsets += usize::from(note.1.onset.0 == u64::from(wanted.0) + shift);
        lengths += usize::from(note.1.duration.0 == u64::from(wanted.1));
    }
    let all = plan.len() as f64;
    (onsets as f64 / all, lengths as f64 / all)
}

fn straight(tick: f64) -> f64 {
    tick / 960.0
}

#[test]
fn music_played_to_the_beats_is_written_as_it_was_meant() {
    let plan = plan(16);
    for (noise, at_least) in [(0.01, 1.0), (0.02, 0.98)] {
        let tones = played(&plan, noise, 5, straight);
        let q = quantise(&File::piano(tones.clone()).song(), Times::Auto);
        assert_eq!(q.taken, Taken::Quantised);
        assert_eq!(q.tempo_found, None);
        let (onsets, lengths) = right(&q, &plan, &tones, 0);
        assert!(
            onsets >= at_least && lengths >= at_least - 0.03,
            "{noise}: {onsets} {lengths}"
        );
        assert!(q.confidence > 0.5, "{}", q.confidence);
        assert!(
            (0.5..2.0).contains(&(q.mean_shift_ms / (800.0 * noise))),
            "{}",
            q.mean_shift_ms
        );
    }
}

#[test]
fn beats_are_found_where_the_file_has_one_tempo() {
    let plan = plan(24);
    // 84 a minute, faster and slower by a tenth in waves of nine bars, after 0.7 seconds.
    let time = |tick: f64| {
        let turn = std::f64::consts::TAU / (9.0 * 1920.0);
        0.7 + 60.0 / 84.0 / 480.0 * (tick + 0.1 / turn * (1.0 - (turn * tick).cos()))
    };
    let tones = played(&plan, 0.012, 9, time);
    let song = File {
        meters: Vec::new(),
        ..File::piano(tones.clone())
    }
    .song();
    let q = quantise(&song, Times::Auto);
    let found = q.tempo_found.unwrap();
    assert!((found / 84.0 - 1.0).abs() < 0.05, "{found}");
    let first = q
        .song
        .tracks
        .iter()
        .flat_map(|t| &t.notes)
        .map(|n| n.onset.0)
        .min()
        .unwrap();
    assert_eq!(first % 1920, 0, "the first downbeat begins a bar");
    let (onsets, lengths) = right(&q, &plan, &tones, first);
    assert!(onsets > 0.97 && lengths > 0.94, "{onsets} {lengths}");
    // The new tempo map keeps the played speed.
    let lead = q.song.tempo.seconds(Tick(first)) - 0.7;
    for (_, note, at, ..) in pairs(&q) {
        let off = q.song.tempo.seconds(note.onset) - lead - at.0 as f64 / 960.0;
        assert!(off.abs() < 0.09, "{off} at {at:?}");
    }
}

#[test]
fn swing_is_written_even_with_a_mark() {
    let plan: Vec<Plan> = (0..64)
        .map(|i| (i * 240, 240, 60 + (i % 5) as u8))
        .collect();
    let swung = |tick: f64| {
        let (beat, inside) = ((tick / 480.0).floor(), tick % 480.0);
        straight(
            beat * 480.0
                + if inside < 240.0 {
                    inside * 4.0 / 3.0
                } else {
                    320.0 + (inside - 240.0) * 2.0 / 3.0
                },
        )
    };
    let tones = played(&plan, 0.008, 3, swung);
    let q = quantise(&File::piano(tones.clone()).song(), Times::Auto);
    assert_eq!(right(&q, &plan, &tones, 0).0, 1.0);
    assert_eq!(q.swing.len(), 1);
    assert!((q.swing[0].ratio - 2.0).abs() < 0.3, "{:?}", q.swing);
    assert!(q.swing[0].start.0 <= 960 && q.swing[0].end.0 >= 64 * 240 - 960);
    // The same without swing has no mark; entered as triplets it stays.
    let even = quantise(
        &File::piano(played(&plan, 0.008, 3, straight)).song(),
        Times::Auto,
    );
    assert!(even.swing.is_empty());
    let entered: Vec<Tone> = (0..64)
        .map(|i| tone(i / 2 * 480 + i % 2 * 320, 60, 150))
        .collect();
    let song = File::piano(entered).song();
    assert_eq!(quantise(&song, Times::Auto).song, song);
}

#[test]
fn a_grace_note_is_kept_without_a_beat_of_its_own() {
    let plan = plan(8);
    let mut tones = played(&plan, 0.012, 7, straight);
    // A semitone 60 ms before the tune of bars 3 and 5, held 55 ms.
    for bar in [2, 4] {
        let (_, _, pitch) = plan
            .iter()
            .filter(|p| p.0 == bar * 1920)
            .copied()
            .max_by_key(|p| p.2)
            .unwrap();
        let at = tones
            .iter()
            .find(|t| t.pitch == pitch && t.onset.abs_diff(bar * 1920) < 100)
            .unwrap()
            .onset;
        tones.push(tone(at - 58, pitch - 1, 53));
    }
    let q = quantise(&File::piano(tones).song(), Times::Auto);
    let graces: Vec<_> = pairs(&q)
        .into_iter()
        .filter(|p| p.4)
        .map(|p| (p.1.onset.0, p.1.duration.0))
        .collect();
    assert_eq!(graces, [(2 * 1920 - 60, 60), (4 * 1920 - 60, 60)]);
    assert_eq!(q.graces, 2);
    let reading = read_sketch(&q.song, &[]);
    assert_eq!(reading.notes.iter().filter(|n| n.grace).count(), 2);
}

#[test]
fn a_rolled_chord_is_one_attack() {
    let mut tones = Vec::new();
    let mut dice = Dice(11);
    for beat in 0..32_u32 {
        let late = (8.0 * dice.gauss()).round() as i32;
        for (i, pitch) in [48, 55, 60, 64].into_iter().enumerate() {
            let roll = if beat % 8 == 4 { 14 * i as i32 } else { 0 };
            tones.push(tone(
                (beat * 480).saturating_add_signed(late + roll),
                pitch,
                400,
            ));
        }
    }
    let q = quantise(&File::piano(tones).song(), Times::Auto);
    assert_eq!(q.rolled, 4);
    let onsets: std::collections::BTreeSet<u64> = pairs(&q).iter().map(|p| p.1.onset.0).collect();
    assert_eq!(onsets.len(), 32);
    let rolled = read_sketch(&q.song, &[])
        .notes
        .iter()
        .filter(|n| n.rolled)
        .count();
    assert_eq!(rolled, 16);
}

#[test]
fn the_pedal_holds_notes_and_moves_with_them() {
    let mut lane = Lane::new("Piano", Vec::new());
    let mut dice = Dice(23);
    for bar in 0..12_u32 {
        for beat in 0..4 {
            let late = (10.0 * dice.gauss()).round() as i32;
            let onset = (bar * 1920 + beat * 480).saturating_add_signed(late);
            let first = beat == 0;
            let length = if first { 200 } else { 430 };
            lane.notes.push(tone(
                onset,
                if first { 36 } else { 60 + beat as u8 },
                length,
            ));
            if first {
                lane.pedal
                    .extend([(onset + 60, true), (onset + 1800, false)]);
            }
        }
    }
    let q = quantise(&File::plain(vec![lane]).song(), Times::Auto);
    assert_eq!(q.taken, Taken::Quantised);
    let bass: Vec<u64> = pairs(&q)
        .iter()
        .filter(|p| p.1.pitch.midi() == 36)
        .map(|p| p.1.duration.0)
        .collect();
    assert!(
        bass.iter().filter(|d| **d == 1920).count() >= 10,
        "{bass:?}"
    );
    for (span, bar) in q.song.tracks[1].pedal.iter().zip(0_u64..) {
        assert!(
            span.down.0.abs_diff(bar * 1920 + 60) < 40 && span.up > span.down,
            "{span:?}"
        );
    }
}

#[test]
fn the_choice_of_times_is_kept() {
    let tones = played(&plan(8), 0.02, 2, straight);
    let song = File::piano(tones).song();
    let kept = quantise(&song, Times::Played);
    assert_eq!((kept.taken, &kept.song), (Taken::AsPlayed, &song));
    let entered = File::piano(plan(8).iter().map(|(o, l, p)| tone(*o, *p, *l)).collect()).song();
    let written = quantise(&entered, Times::Written);
    assert_eq!(written.taken, Taken::Quantised);
    let notes = |s: &Song| {
        s.tracks
            .iter()
            .flat_map(|t| t.notes.clone())
            .map(|n| n.onset)
            .collect::<Vec<_>>()
    };
    assert_eq!(notes(&written.song), notes(&entered));
}

#[test]
fn what_cannot_be_told_stays_as_played() {
    for count in [0, 1, 2, 5] {
        let tones = (0..count).map(|i| tone(i * 377 + 91, 60, 100)).collect();
        let song = File::piano(tones).song();
        let q = quantise(&song, Times::Auto);
        assert_ne!(q.taken, Taken::Quantised);
        assert_eq!(q.song.tracks, song.tracks);
        let _ = quantise(&song, Times::Written);
    }
}

#[test]
fn extreme_files_come_through() {
    let all_at_once: Vec<Tone> = (0..128).map(|p| tone(777, p, 1)).collect();
    let trill: Vec<Tone> = (0..4000)
        .map(|i| tone(7 * i, 60 + (i % 2) as u8, 6))
        .collect();
    let one_key: Vec<Tone> = (0..3000).map(|i| tone(3 * i + 1, 60, 2)).collect();
    let far: Vec<Tone> = (0..40)
        .map(|i| tone(6_000_000 * i + 13 * (i % 7), 60, 5_000_000))
        .collect();
    for tones in [all_at_once, trill, one_key, far] {
        for quarter in [1, 7, 480, 32_767] {
            for meters in [vec![], vec![(0, 255, 7), (900, 1, 0), (1333, 6, 3)]] {
                let song = File {
                    quarter,
                    meters,
                    ..File::piano(tones.clone())
                }
                .song();
                for times in [Times::Auto, Times::Written] {
                    is_faithful(&song, &quantise(&song, times));
                }
            }
        }
    }
}

/// Same notes in every track, in the same order on every key; no key struck while it is down
/// unless it was.
fn is_faithful(song: &Song, q: &Quantised) {
    assert_eq!(song.tracks.len(), q.song.tracks.len());
    for (before, after) in song.tracks.iter().zip(&q.song.tracks) {
        let key = |n: &Note| (n.channel, n.pitch, n.velocity);
        let mut a: Vec<_> = before.notes.iter().map(key).collect();
        let mut b: Vec<_> = after.notes.iter().map(key).collect();
        a.sort_unstable();
        b.sort_unstable();
        assert_eq!(a, b);
        assert!(after.notes.iter().all(|n| n.duration.0 > 0));
        assert!(
            after
                .notes
                .windows(2)
                .all(|w| (w[0].onset, w[0].pitch) <= (w[1].onset, w[1].pitch))
        );
        assert_eq!(before.controls.len(), after.controls.len());
        assert_eq!(before.pedal.len(), after.pedal.len());
        assert!(after.pedal.iter().all(|p| p.down <= p.up));
        if q.taken != Taken::Quantised {
            assert_eq!(before, after);
            continue;
        }
        let mut was: Vec<(Tick, Ticks)> =
            before.notes.iter().map(|n| (n.onset, n.duration)).collect();
        let mut told: Vec<(Tick, Ticks)> =
            after.played.iter().map(|p| (p.onset, p.duration)).collect();
        was.sort_unstable();
        told.sort_unstable();
        assert_eq!(was, told);
        let mut notes: Vec<_> = after.notes.iter().zip(&after.played).collect();
        notes.sort_by_key(|(n, p)| (n.pitch, p.onset));
        for pair in notes.windows(2) {
            let ((a, pa), (b, pb)) = (pair[0], pair[1]);
            if (a.pitch, a.channel) == (b.pitch, b.channel) && pa.onset < pb.onset {
                assert!(a.onset <= b.onset, "{a:?} {b:?}");
                if pa.onset + pa.duration <= pb.onset {
                    assert!(a.end() <= b.onset, "{a:?} {b:?}");
                }
            }
        }
    }
}

/// A step of a voice: its length, its chord, and how much of the length is held.
type Step = ((u32, u32), Vec<u8>, f64);

/// Fractions of a quarter note where music is entered.
fn entered_step() -> impl Strategy<Value = (u32, u32)> {
    prop_oneof![
        6 => Just((1, 1)), 6 => Just((1, 2)), 4 => Just((1, 4)), 3 => Just((1, 3)),
        1 => Just((1, 6)), 2 => Just((3, 2)), 2 => Just((3, 4)), 1 => Just((2, 1)),
    ]
}

/// A voice: steps in a row, each with a chord, or a rest, and how long it is held.
fn entered_voice() -> impl Strategy<Value = Vec<Step>> {
    let chord = vec(30..100_u8, 0..4);
    vec(
        (
            entered_step(),
            chord,
            prop_oneof![Just(1.0), Just(0.95), Just(0.5), Just(0.1)],
        ),
        1..60,
    )
}

fn entered(quarter: u16, voices: &[Vec<Step>]) -> File {
    let lane = |(i, voice): (usize, &Vec<Step>)| {
        let mut notes: Vec<Tone> = Vec::new();
        // Sixths and quarters are twelfths; so are all sums of them.
        let mut now = 0_u32;
        for ((part, of), chord, gate) in voice {
            let length = 12 * part / of;
            let tick = |twelfths: u32| twelfths * u32::from(quarter) / 12;
            let (on, off) = (tick(now), tick(now + length));
            let held = (f64::from(off - on) * gate).floor().max(1.0) as u32;
            let mut chord = chord.clone();
            chord.sort_unstable();
            chord.dedup();
            notes.extend(chord.into_iter().map(|p| tone(on, p, held)));
            now += length;
        }
        Lane {
            channel: i as u8,
            ..Lane::new("", notes)
        }
    };
    File {
        quarter,
        ..File::plain(voices.iter().enumerate().map(lane).collect())
    }
}

proptest! {
    #[test]
    fn step_entered_music_is_unchanged(
        quarter in 96..=960_u16,
        voices in vec(entered_voice(), 1..4),
    ) {
        let song = entered(quarter, &voices).song();
        let q = quantise(&song, Times::Auto);
        prop_assert_eq!(q.taken, Taken::StepEntered);
        prop_assert_eq!(q.song, song);
    }

    #[test]
    fn no_note_is_lost_or_added(
        quarter in prop_oneof![Just(480_u16), Just(96), 1..2000_u16],
        lanes in vec(vec((0..40_000_u32, 21..109_u8, 1..3000_u32), 0..120), 1..4),
        seconds in prop_oneof![Just(Times::Auto), Just(Times::Written)],
    ) {
        let lane = |notes: Vec<(u32, u8, u32)>| Lane::new("", notes.into_iter().map(|(o, p, l)| tone(o, p, l)).collect());
        let song = File { quarter, ..File::plain(lanes.into_iter().map(lane).collect()) }.song();
        is_faithful(&song, &quantise(&song, seconds));
    }

    #[test]
    fn played_music_is_on_the_grid(seed in 1..u64::MAX, noise in 0.005..0.03_f64, drift in 0.8..1.25_f64) {
        let tones = played(&plan(6), noise, seed, |t| 0.3 + drift * straight(t) + 0.04 * (t / 3000.0).sin());
        let song = File::piano(tones).song();
        let q = quantise(&song, Times::Auto);
        is_faithful(&song, &q);
        prop_assert_eq!(q.taken, Taken::Quantised);
        for (_, note, _, _, grace) in pairs(&q) {
            let on = |parts: u64| note.onset.0 % (480 / parts) == 0;
            prop_assert!(grace || on(16) || on(12) || on(5), "{note:?}");
        }
    }

    #[test]
    fn no_bytes_make_it_panic(
        division in any::<u16>(),
        events in vec(prop_oneof![any::<u8>(), 0..9_u8, 0x90..0x92_u8, Just(0xFF), Just(0x51)], 0..600),
    ) {
        let mut bytes = b"MThd\0\0\0\x06\0\x01\0\x01".to_vec();
        bytes.extend(division.to_be_bytes());
        bytes.extend(b"MTrk\0\0\x04\0");
        bytes.extend(events);
        if let Ok(song) = read_song(&bytes) {
            for times in [Times::Auto, Times::Written] {
                is_faithful(&song, &quantise(&song, times));
            }
        }
    }
}
