//! The rules that the tables of brass instruments were made by, written down once more.

use bandwright::band::playing::{HornSide, Valves};
use bandwright::music::Written;

/// Partials in use: the seventh only as a last choice, the eleventh never.
const PARTIALS: [u8; 11] = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12];

/// Combinations, fewest semitones first, valves 1-2 before valve 3 alone.
const THREE: [(&str, i16); 8] = [
    ("0", 0),
    ("2", 1),
    ("1", 2),
    ("12", 3),
    ("3", 3),
    ("23", 4),
    ("13", 5),
    ("123", 6),
];

/// With the fourth valve, below the reach of three.
const FOUR: [(&str, i16); 5] = [("14", 7), ("124", 8), ("234", 9), ("134", 10), ("1234", 11)];

/// Semitones above the fundamental, by multiplying out frequencies instead of taking logarithms.
fn above(partial: u8) -> i16 {
    let semitone = 1.059_463_094_359_295_3_f64;
    let (mut steps, mut frequency) = (0, 1.0);
    while frequency * semitone.sqrt() < f64::from(partial) {
        frequency *= semitone;
        steps += 1;
    }
    steps
}

fn valves(word: &str) -> Valves {
    Valves::of_word(word).unwrap()
}

/// All ways to play a note on an open tube with a fundamental, best first: the seventh partial last,
/// then fewest semitones of valve, then the order of the combinations, then the lower partial.
fn ways(written: Written, fundamental: i16, with: &[(&'static str, i16)]) -> Vec<(u8, Valves)> {
    let mut all = Vec::new();
    for partial in PARTIALS {
        for (i, (word, semitones)) in with.iter().enumerate() {
            if fundamental + above(partial) - semitones == written.0 {
                all.push((partial == 7, *semitones, i, partial, valves(word)));
            }
        }
    }
    all.sort_unstable();
    all.into_iter().map(|w| (w.3, w.4)).collect()
}

/// The best fingering of a treble-clef note, and the others by partial.
pub fn valve_rule(written: Written, fourth: bool) -> ((u8, Valves), Vec<(u8, Valves)>) {
    const FUNDAMENTAL: i16 = 48;
    let with: Vec<_> = if fourth {
        THREE.into_iter().chain(FOUR).collect()
    } else {
        THREE.to_vec()
    };
    let all = ways(written, FUNDAMENTAL, &with);
    // The pedal is used only where nothing else is.
    let all: Vec<_> = match all.iter().filter(|w| w.0 > 1).copied().collect::<Vec<_>>() {
        others if others.is_empty() || fourth => all,
        others => others,
    };
    let mut others = all[1..].to_vec();
    others.sort_by_key(|w| (w.0, THREE.iter().position(|t| valves(t.0) == w.1)));
    // Above the chart the seventh partial is not listed.
    others.retain(|w| w.0 != 7 || written.0 <= 84);
    (all[0], others)
}

/// All fingerings of a horn note on a side, best first; the seventh and eleventh partials left out.
pub fn horn_rule(written: Written, side: HornSide) -> Vec<(u8, Valves)> {
    let fundamental = match side {
        HornSide::F => 36,
        HornSide::BFlat => 41,
    };
    let mut all = ways(written, fundamental, &THREE);
    all.retain(|w| w.0 != 7 && w.0 != 1);
    all
}

/// All places of a trombone note: partial and position, by partial; the seventh not in position 1,
/// where it cannot be drawn in.
pub fn slide_ways(pitch: Written) -> Vec<(u8, u8)> {
    let mut all = Vec::new();
    for partial in PARTIALS.into_iter().skip(1) {
        let position = 34 + above(partial) - pitch.0 + 1;
        if (1..=7).contains(&position) && !(partial == 7 && position == 1) {
            all.push((partial, position as u8));
        }
    }
    all
}
