//! Chords that were found, as the reading gives them: with numeral, function and what is missing.

use super::path::Found;
use crate::music::numeral::Degree;
use crate::music::{
    Chord, ChordTone, HarmonicFunction, Key, KeySignature, Mode, Numeral, PitchClass,
    PitchClassSet, Quality, Tick,
};
use crate::sketch::reading::{ChordSpan, KeySpan, Rival};

/// The key at a tick; C major where there is none.
pub(super) fn key_at(keys: &[KeySpan], at: Tick) -> Key {
    let next = keys.partition_point(|k| k.start <= at);
    let span = keys.get(next.saturating_sub(1));
    span.map_or(KeySignature::C_MAJOR.key(), |k| k.key)
}

/// The spans of all chords that were found.
pub(super) fn spans(found: &[Found], keys: &[KeySpan]) -> Vec<ChordSpan> {
    let next = |i: usize| found.get(i + 1).map(|n| n.chord.root);
    let all = found.iter().enumerate();
    all.map(|(i, f)| span(f, key_at(keys, f.start), next(i)))
        .collect()
}

fn span(found: &Found, key: Key, next: Option<PitchClass>) -> ChordSpan {
    let missing: PitchClassSet = PitchClass::all()
        .filter(|c| found.lacks & (1 << c.number()) != 0)
        .collect();
    let mut numeral = Numeral::of(found.chord, key, next);
    if missing.contains(found.chord.root.up(7)) {
        numeral = numeral.without_fifth();
    }
    let function = match found.chord.quality {
        Quality::Single => HarmonicFunction::Other,
        _ => numeral.function(next.map(|n| Degree::of(n, key))),
    };
    ChordSpan {
        start: found.start,
        end: found.end,
        chord: found.chord,
        missing,
        implied: implied(found.chord, key),
        numeral,
        function,
        score: found.score,
        rivals: found
            .rivals
            .map(|r| r.map(|(chord, score)| Rival { chord, score })),
    }
}

/// The key's own triad on the root of a chord without third, if the fifth that sounds fits it; on
/// the dominant of a minor key the major one.
fn implied(chord: Chord, key: Key) -> Option<Quality> {
    let tones = chord.quality.tones();
    let told = |t: &(u8, ChordTone)| matches!(t.1, ChordTone::Third | ChordTone::Suspended);
    if tones.iter().any(told) {
        return None;
    }
    let dominant = key.mode == Mode::Minor && key.tonic.up_to(chord.root) == 7;
    let own = |above: i32| key.has(chord.root.up(above)) && !(dominant && above == 3);
    let kinds = [
        (Quality::Major, 4, 7),
        (Quality::Minor, 3, 7),
        (Quality::Diminished, 3, 6),
    ];
    let fits = |fifth: i32| tones.len() == 1 || tones.contains(&(fifth as u8, ChordTone::Fifth));
    let diatonic = key.has(chord.root);
    let mut found = kinds
        .iter()
        .filter(|(_, third, fifth)| diatonic && own(*third) && own(*fifth) && fits(*fifth));
    found.next().map(|(quality, ..)| *quality)
}
