//! The demo sketch over and over, as one file.

use bandwright::cli::files::DEMO_SKETCH;
use midly::num::u28;
use midly::{MetaMessage, Smf, TrackEvent, TrackEventKind};

/// The demo so many times over, as one file.
pub fn sketch(times: u32) -> Vec<u8> {
    let mut smf = Smf::parse(DEMO_SKETCH).expect("the demo is a MIDI file");
    let length = |track: &Vec<TrackEvent<'_>>| track.iter().map(|e| e.delta.as_int()).sum();
    let end: u32 = smf.tracks.iter().map(length).max().unwrap_or(0);
    for track in &mut smf.tracks {
        let is_end =
            |e: &TrackEvent<'_>| matches!(e.kind, TrackEventKind::Meta(MetaMessage::EndOfTrack));
        let once: Vec<TrackEvent<'_>> = track.iter().filter(|e| !is_end(e)).copied().collect();
        let rest = end - length(&once);
        let mut all = Vec::new();
        for time in 0..times {
            let mut copy = once.clone();
            if let Some(first) = copy.first_mut().filter(|_| time > 0) {
                first.delta = u28::new(first.delta.as_int() + rest);
            }
            all.extend(copy);
        }
        all.push(TrackEvent {
            delta: u28::new(rest),
            kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
        });
        *track = all;
    }
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).expect("a file in memory");
    bytes
}
