//! Sizes of voice leadings: check values, brute force and what must always hold.

use bandwright::music::voice_leading::{
    MOST_NOTES, Size, TriadMove, least_size, motion_size, shortest_way, triad,
};
use bandwright::music::{Mode, PitchClass, Sounding};
use itertools::Itertools;
use proptest::prelude::*;

/// Chords by symbol: root, then what stands above it.
fn chord(symbol: &str) -> Vec<PitchClass> {
    let letters = [
        ('C', 0),
        ('D', 2),
        ('E', 4),
        ('F', 5),
        ('G', 7),
        ('A', 9),
        ('B', 11),
    ];
    let mut rest = symbol.chars();
    let letter = rest.next().unwrap();
    let mut root = letters.iter().find(|(l, _)| *l == letter).unwrap().1;
    let mut kind = rest.as_str();
    if let Some(after) = kind.strip_prefix('b') {
        (root, kind) = (root - 1, after);
    } else if let Some(after) = kind.strip_prefix('#') {
        (root, kind) = (root + 1, after);
    }
    let above: &[i32] = match kind {
        "" => &[0, 4, 7],
        "m" => &[0, 3, 7],
        "+" => &[0, 4, 8],
        "dim" => &[0, 3, 6],
        "7" => &[0, 4, 7, 10],
        "m7" => &[0, 3, 7, 10],
        "maj7" => &[0, 4, 7, 11],
        "dim7" => &[0, 3, 6, 9],
        "m7b5" => &[0, 3, 6, 10],
        _ => panic!("{symbol}"),
    };
    above.iter().map(|a| PitchClass::of(root + a)).collect()
}

/// Progressions with L1 and L2, as a reference gives them (computed there by brute force).
const TABLE: &[(&str, &str, u32, f64)] = &[
    ("C", "Cm", 1, 1.0),
    ("C", "Em", 1, 1.0),
    ("C", "Am", 2, 2.0),
    ("C", "F", 3, 2.236),
    ("C", "G", 3, 2.236),
    ("C", "Fm", 2, 1.414),
    ("C", "Dm", 5, 3.0),
    ("C", "D", 6, 3.464),
    ("C", "Bb", 6, 3.464),
    ("F", "G", 6, 3.464),
    ("C", "Db", 3, 1.732),
    ("C", "Eb", 3, 2.236),
    ("C", "A", 3, 2.236),
    ("C", "E", 2, 1.414),
    ("C", "Ab", 2, 1.414),
    ("C", "Abm", 3, 1.732),
    ("C", "F#", 6, 3.742),
    ("C", "Gb", 6, 3.742),
    ("C", "C+", 1, 1.0),
    ("G7", "C", 4, 2.449),
    ("G7", "Cmaj7", 3, 2.236),
    ("Dm7", "G7", 3, 2.236),
    ("D7", "G7", 4, 2.449),
    ("C7", "F7", 4, 2.449),
    ("Db7", "Cmaj7", 3, 1.732),
    ("G7", "Db7", 2, 1.414),
    ("G7", "Am", 6, 3.162),
    ("Am7", "D7", 3, 2.236),
    ("Bdim7", "C", 5, 2.646),
    ("Bdim7", "G7", 1, 1.0),
    ("Bm7b5", "G7", 2, 2.0),
    ("Bdim", "C", 5, 3.0),
    ("C", "C7", 2, 2.0),
    ("Am7", "Cmaj7", 2, 2.0),
];

#[test]
fn progressions_have_their_sizes() {
    for (from, to, semitones, length) in TABLE {
        let size = least_size(&chord(from), &chord(to)).unwrap();
        assert_eq!(size.semitones, *semitones, "{from} -> {to}");
        let off = (size.length() - length).abs();
        assert!(off < 0.0006, "{from} -> {to}: {}", size.length());
    }
    // The root of the tonic doubled: the three upper parts of a close, and the seventh.
    let doubled = [chord("C"), vec![PitchClass::C]].concat();
    let size = least_size(&chord("G7"), &doubled).unwrap();
    assert_eq!((size.semitones, size.squares), (4, 6));
}

#[test]
fn transposed_chords_have_their_sizes() {
    let rows: [(&str, [u32; 12]); 3] = [
        ("C", [0, 3, 6, 3, 2, 3, 6, 3, 2, 3, 6, 3]),
        ("C7", [0, 4, 4, 2, 4, 4, 2, 4, 4, 2, 4, 4]),
        ("Cdim7", [0, 4, 4, 0, 4, 4, 0, 4, 4, 0, 4, 4]),
    ];
    for (symbol, row) in rows {
        let plain = chord(symbol);
        for (up, wanted) in (0..12).zip(row) {
            let moved: Vec<PitchClass> = plain.iter().map(|c| c.up(up)).collect();
            let size = least_size(&plain, &moved).unwrap();
            assert_eq!(size.semitones, wanted, "{symbol} up {up}");
        }
    }
}

#[test]
fn moves_between_triads() {
    use TriadMove::{LeadingTone, Parallel, Relative};
    let both = [Mode::Major, Mode::Minor];
    let all = || PitchClass::all().cartesian_product(both);
    let again = |moves: &[TriadMove], times: usize, from| {
        let cycle = std::iter::repeat_n(moves, times).flatten();
        cycle.fold(from, |(root, mode), m| m.of(root, mode))
    };
    for from in all() {
        for m in TriadMove::ALL {
            let (root, mode) = m.of(from.0, from.1);
            assert_eq!(m.of(root, mode), from);
            let (a, b) = (triad(from.0, from.1), triad(root, mode));
            assert_eq!(a.iter().filter(|c| b.contains(c)).count(), 2);
            let wanted = if m == Relative { 2 } else { 1 };
            assert_eq!(least_size(&a, &b).unwrap().semitones, wanted);
        }
        assert_eq!(again(&[Parallel, LeadingTone], 3, from), from);
        assert_eq!(again(&[LeadingTone, Relative], 12, from), from);
        assert_eq!(again(&[Parallel, Relative], 4, from), from);
        for (moves, times) in [
            ([Parallel, LeadingTone], 3),
            ([LeadingTone, Relative], 12),
            ([Parallel, Relative], 4),
        ] {
            assert!((1..times).all(|t| again(&moves, t, from) != from));
        }
    }
    let c = (PitchClass::C, Mode::Major);
    let of = |m: TriadMove| m.of(c.0, c.1);
    assert_eq!(of(Parallel), (PitchClass::C, Mode::Minor));
    assert_eq!(of(LeadingTone), (PitchClass::of(4), Mode::Minor));
    assert_eq!(of(Relative), (PitchClass::of(9), Mode::Minor));
    assert_eq!(Relative.of(PitchClass::of(9), Mode::Minor), c);
    assert_eq!(LeadingTone.of(PitchClass::of(4), Mode::Minor), c);
}

/// Every pairing of all notes, one after the other, the smaller chord doubled in all ways.
fn brute_force(a: &[PitchClass], b: &[PitchClass]) -> (u32, u32) {
    let (few, many) = if a.len() <= b.len() { (a, b) } else { (b, a) };
    let ways = |x: PitchClass, y: PitchClass| {
        let up = i32::from(y.number()) - i32::from(x.number());
        ((up + 6).rem_euclid(12) - 6).unsigned_abs()
    };
    let mut best = (u32::MAX, u32::MAX);
    let doublings = (0..few.len()).combinations_with_replacement(many.len() - few.len());
    for doubled in doublings {
        let more = doubled.into_iter().map(|i| few[i]);
        let full: Vec<PitchClass> = few.iter().copied().chain(more).collect();
        for order in many.iter().copied().permutations(many.len()) {
            let all = || full.iter().zip(&order).map(|(x, y)| ways(*x, *y));
            best.0 = best.0.min(all().sum());
            best.1 = best.1.min(all().map(|w| w * w).sum());
        }
    }
    best
}

fn notes(most: usize) -> impl Strategy<Value = Vec<PitchClass>> {
    prop::collection::vec((0..12).prop_map(PitchClass::of), 1..=most)
}

fn sizes(size: Size) -> (u32, u32) {
    (size.semitones, size.squares)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(4000) })]

    #[test]
    fn turning_is_as_good_as_every_pairing(a in notes(5), b in notes(5)) {
        prop_assert_eq!(least_size(&a, &b).map(sizes), Some(brute_force(&a, &b)));
    }

    #[test]
    fn sizes_are_those_of_a_space(a in notes(4), b in notes(4), up in 0..12) {
        let there = least_size(&a, &b).unwrap();
        prop_assert_eq!(least_size(&b, &a), Some(there));
        let moved = |c: &[PitchClass]| c.iter().map(|p| p.up(up)).collect::<Vec<_>>();
        prop_assert_eq!(least_size(&moved(&a), &moved(&b)), Some(there));
        prop_assert_eq!(least_size(&a, &a).map(sizes), Some((0, 0)));
        // Up by t is as far as up by 12 - t.
        let down: Vec<_> = a.iter().map(|p| p.up(-up)).collect();
        prop_assert_eq!(least_size(&a, &moved(&a)), least_size(&a, &down));
    }

    #[test]
    fn real_parts_move_no_less(pairs in prop::collection::vec((0..128_u8, 0..128_u8), 1..6)) {
        let pitch = |midi| Sounding::new(midi).unwrap();
        let pairs: Vec<_> = pairs.into_iter().map(|(a, b)| (pitch(a), pitch(b))).collect();
        let from: Vec<_> = pairs.iter().map(|(a, _)| a.class()).collect();
        let to: Vec<_> = pairs.iter().map(|(_, b)| b.class()).collect();
        let (least, real) = (least_size(&from, &to).unwrap(), motion_size(pairs));
        prop_assert!(real.semitones >= least.semitones && real.squares >= least.squares);
    }
}

#[test]
fn chords_without_notes_have_no_size() {
    let c = chord("C");
    assert_eq!(least_size(&c, &[]), None);
    assert_eq!(least_size(&[], &[]), None);
    assert_eq!(least_size(&c, &[PitchClass::C; MOST_NOTES + 1]), None);
    assert!(least_size(&c, &[PitchClass::C; MOST_NOTES]).is_some());
    assert_eq!(shortest_way(PitchClass::C, PitchClass::of(7)), 5);
}
