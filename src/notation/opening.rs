//! What stands at the left of a system, and before a bar where key or meter change: clef, signature,
//! meter.

use super::accidentals::{Accidental, signature_letters};
use super::glyph_sizes as sizes;
use super::stave::Clef;
use super::symbol::{Spot, Symbol, digits_width};
use crate::music::{KeySignature, Meter};

/// Between the left end, the clef, the signature, the meter and what follows (ours).
const GAP: f32 = 0.8;
/// Between two signs of a signature (ours).
const SIGN_GAP: f32 = 0.04;

/// Heights of a signature's signs above the lowest line, in half spaces: common practice, no source.
const SHARPS_TREBLE: [i16; 7] = [8, 5, 9, 6, 3, 7, 4];
const FLATS_TREBLE: [i16; 7] = [4, 7, 3, 6, 2, 5, 1];
const SHARPS_TENOR: [i16; 7] = [2, 6, 3, 7, 4, 8, 5];
const FLATS_TENOR: [i16; 7] = [5, 8, 4, 7, 3, 6, 2];

/// What stands at the left of a stave.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Opening {
    /// Clef, signature, meter.
    pub symbols: Vec<Symbol>,
    /// The room they take, in stave spaces.
    pub width: f32,
}

/// Clef, signature and meter of one stave.
#[must_use]
pub fn opening(clef: Clef, key: Option<KeySignature>, meter: Option<Meter>) -> Opening {
    openings(&[(clef, key)], meter).pop().unwrap_or_default()
}

/// Clefs, signatures and meters of the staves of a system, the meters under one another; all are as
/// wide.
#[must_use]
pub fn openings(staves: &[(Clef, Option<KeySignature>)], meter: Option<Meter>) -> Vec<Opening> {
    let widest = staves.iter().map(|(c, _)| sizes::clef(*c).0.width());
    let key_x = GAP + widest.fold(0.0, f32::max) + GAP;
    let widths = staves.iter().map(|(_, k)| signs_width(&signs(*k, None)));
    let keys = widths.fold(0.0, f32::max);
    let meter_x = if keys > 0.0 {
        key_x + keys + GAP
    } else {
        key_x
    };
    let width = meter_x + meter.map_or(0.0, |m| meter_width(m) + GAP);
    let one = |(clef, key): &(Clef, Option<KeySignature>)| {
        let at = Spot { x: GAP, y: 0.0 };
        let mut symbols = vec![Symbol::Clef { at, clef: *clef }];
        put_signs(&mut symbols, &signs(*key, None), *clef, key_x);
        if let Some(meter) = meter {
            put_meter(&mut symbols, meter, meter_x);
        }
        Opening { symbols, width }
    };
    staves.iter().map(one).collect()
}

/// What stands behind the last bar of a system where the next one begins in another key or meter, so that the player
/// is warned (common practice, no source).
#[must_use]
pub fn courtesy(
    clef: Clef,
    (key, old): (Option<KeySignature>, Option<KeySignature>),
    meter: Option<Meter>,
) -> Opening {
    let mut symbols = Vec::new();
    let mut width = 0.0;
    if let Some(old) = old {
        let all = signs(key, Some(old));
        put_signs(&mut symbols, &all, clef, GAP);
        width = GAP + signs_width(&all);
    }
    if let Some(meter) = meter {
        put_meter(&mut symbols, meter, width + GAP);
        width += GAP + meter_width(meter);
    }
    if width > 0.0 {
        width += GAP / 2.0;
    }
    Opening { symbols, width }
}

/// A sign of a signature: its place in the order of signs, whether that is the flats' order, and
/// what is shown.
type Sign = (usize, bool, Accidental);

/// The signs that a signature shows after another one. Naturals take back what is no longer there,
/// where the new one has fewer of the same kind or none.
pub(super) fn signs(key: Option<KeySignature>, old: Option<KeySignature>) -> Vec<Sign> {
    let Some(key) = key else {
        return Vec::new();
    };
    let (letters, alteration) = signature_letters(key);
    let own = (0..letters.len()).map(|i| (i, alteration < 0, Accidental::of(alteration)));
    let Some(old) = old else {
        return own.collect();
    };
    let (before, kind) = signature_letters(old);
    let same = letters.is_empty() || kind == alteration;
    let back = (letters.len()..before.len()).filter(|_| same);
    let naturals = back.map(|i| (i, kind < 0, Accidental::Natural));
    own.chain(naturals).collect()
}

/// How wide the signs of a signature are.
pub(super) fn signs_width(signs: &[Sign]) -> f32 {
    let width = |s: &Sign| sizes::accidental(s.2).width() + SIGN_GAP;
    signs.iter().map(width).sum()
}

/// Puts a signature's signs on a stave, from x on.
pub(super) fn put_signs(symbols: &mut Vec<Symbol>, signs: &[Sign], clef: Clef, x: f32) {
    let mut x = x;
    for (place, flats, kind) in signs {
        let half_spaces = match (clef, flats) {
            (Clef::Tenor, false) => SHARPS_TENOR,
            (Clef::Tenor, true) => FLATS_TENOR,
            (_, false) => SHARPS_TREBLE,
            (_, true) => FLATS_TREBLE,
        };
        // In the bass clef every sign stands a line lower.
        let lower = if clef == Clef::Bass { 2 } else { 0 };
        let height = half_spaces.get(*place).copied().unwrap_or_default() - lower;
        let y = f32::from(height) / 2.0;
        symbols.push(Symbol::Accidental {
            at: Spot { x, y },
            kind: *kind,
            index: None,
        });
        x += sizes::accidental(*kind).width() + SIGN_GAP;
    }
}

/// How wide a meter is.
pub(super) fn meter_width(meter: Meter) -> f32 {
    let upper = digits_width(u16::from(meter.numerator()));
    upper.max(digits_width(meter.denominator()))
}

/// Puts a meter on a stave, its left end at x.
pub(super) fn put_meter(symbols: &mut Vec<Symbol>, meter: Meter, x: f32) {
    let middle = x + meter_width(meter) / 2.0;
    for (y, number) in [
        (3.0, u16::from(meter.numerator())),
        (1.0, meter.denominator()),
    ] {
        let at = Spot { x: middle, y };
        symbols.push(Symbol::Digits { at, number });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Mode;

    /// The steps of a signature's signs, counted as [`crate::notation::StaveNote`] does.
    fn steps(clef: Clef, fifths: i8) -> Vec<i16> {
        let key = KeySignature::new(fifths, Mode::Major);
        let symbols = opening(clef, key, None).symbols.into_iter();
        let heights = symbols.filter_map(|s| match s {
            Symbol::Accidental { at, .. } => Some((at.y * 2.0) as i16 + clef.bottom_line()),
            _ => None,
        });
        heights.collect()
    }

    #[test]
    fn signatures_stand_on_their_letters_in_every_clef() {
        for fifths in -7..=7 {
            let key = KeySignature::new(fifths, Mode::Major).unwrap();
            let letters = signature_letters(key).0;
            for clef in [Clef::Treble, Clef::Bass, Clef::Tenor] {
                let found: Vec<i16> = steps(clef, fifths)
                    .iter()
                    .map(|s| s.rem_euclid(7))
                    .collect();
                assert_eq!(found, letters, "{clef:?} {fifths}");
            }
        }
        // F5, C5 and B4, E5 in the treble clef; B2, E3 in the bass clef.
        assert_eq!(steps(Clef::Treble, 2), [38, 35]);
        assert_eq!(steps(Clef::Treble, -2), [34, 37]);
        assert_eq!(steps(Clef::Bass, -2), [20, 23]);
    }

    #[test]
    fn naturals_take_signs_back() {
        let key = |fifths| KeySignature::new(fifths, Mode::Major);
        let kinds = |new, old| -> Vec<Accidental> {
            signs(key(new), key(old)).iter().map(|s| s.2).collect()
        };
        assert_eq!(kinds(0, 2), [Accidental::Natural; 2]);
        assert_eq!(kinds(-1, -2), [Accidental::Flat, Accidental::Natural]);
        assert_eq!(kinds(1, -2), [Accidental::Sharp]);
        assert_eq!(kinds(3, 1), [Accidental::Sharp; 3]);
    }

    #[test]
    fn meters_stand_under_one_another() {
        let key = |fifths| KeySignature::new(fifths, Mode::Major);
        let staves = [
            (Clef::Treble, key(4)),
            (Clef::Bass, key(-1)),
            (Clef::Treble, None),
        ];
        let all = openings(&staves, Some(Meter::COMMON));
        let xs = all.iter().map(|o| match o.symbols.last() {
            Some(Symbol::Digits { at, .. }) => at.x,
            _ => -1.0,
        });
        let xs: Vec<f32> = xs.collect();
        assert!(xs[0] > 0.0 && xs.iter().all(|x| *x == xs[0]));
        assert!(all.iter().all(|o| o.width == all[0].width));
    }
}
