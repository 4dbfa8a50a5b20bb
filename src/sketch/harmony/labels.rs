//! The kinds of chords that are looked for, and what each must sound.

use crate::music::{ChordTone, PitchClass, Quality};

/// A kind with how rare it is. The order of the plain kinds follows Pardo & Birmingham 2002
/// (major, dominant seventh, minor, diminished seventh, half-diminished, diminished); the numbers
/// are by trial.
pub(super) struct Kind {
    pub(super) quality: Quality,
    /// What such a chord costs at once, in slots.
    pub(super) entry: f64,
    /// Which share of all that sounds it must explain better than a plain chord.
    pub(super) rarity: f64,
}

const fn kind(quality: Quality, entry: f64, rarity: f64) -> Kind {
    Kind {
        quality,
        entry,
        rarity,
    }
}

use Quality as Q;

/// All kinds.
pub(super) const KINDS: [Kind; 38] = [
    kind(Q::Single, 2.5, 0.0),
    kind(Q::Fifth, 1.2, 0.0),
    kind(Q::SeventhNoThird, 2.0, 0.05),
    kind(Q::DiminishedFifth, 2.0, 0.05),
    kind(Q::Major, 0.0, 0.0),
    kind(Q::Minor, 0.1, 0.0),
    kind(Q::Dominant7, 0.2, 0.02),
    kind(Q::Diminished, 0.6, 0.02),
    kind(Q::HalfDiminished7, 0.5, 0.04),
    kind(Q::Diminished7, 0.5, 0.02),
    kind(Q::Minor7, 0.5, 0.06),
    kind(Q::Major7, 0.6, 0.08),
    kind(Q::Augmented, 0.9, 0.06),
    kind(Q::Sus4, 0.7, 0.05),
    kind(Q::Sus2, 0.8, 0.06),
    kind(Q::Sixth, 0.6, 0.06),
    kind(Q::MinorSixth, 0.6, 0.06),
    kind(Q::MinorMajor7, 1.0, 0.08),
    kind(Q::Augmented7, 1.0, 0.08),
    kind(Q::AugmentedMajor7, 1.3, 0.1),
    kind(Q::Dominant7Sus4, 0.9, 0.08),
    kind(Q::Dominant7Flat5, 1.1, 0.08),
    kind(Q::Add9, 1.0, 0.09),
    kind(Q::MinorAdd9, 1.1, 0.09),
    kind(Q::Dominant9, 1.0, 0.09),
    kind(Q::Major9, 1.2, 0.11),
    kind(Q::Minor9, 1.1, 0.1),
    kind(Q::Dominant7Flat9, 0.9, 0.08),
    kind(Q::Dominant7Sharp9, 1.2, 0.1),
    kind(Q::Dominant7Sharp11, 1.3, 0.11),
    kind(Q::Altered, 1.4, 0.12),
    kind(Q::AlteredFlat9, 1.4, 0.12),
    kind(Q::Major7Sharp11, 1.4, 0.12),
    kind(Q::SixNinth, 1.3, 0.11),
    kind(Q::MinorSixNinth, 1.4, 0.12),
    kind(Q::Dominant11, 1.0, 0.08),
    kind(Q::Minor11, 1.8, 0.13),
    kind(Q::Dominant13, 1.4, 0.12),
];

/// A root and a kind, ready for scoring.
pub(super) struct Label {
    pub(super) root: PitchClass,
    pub(super) quality: Quality,
    /// Classes of the chord, C in the lowest bit.
    pub(super) mask: u16,
    /// Those of them that are not root, third or fifth.
    pub(super) colour: u16,
    /// Those that must sound.
    pub(super) needed: u16,
    pub(super) entry: f64,
    pub(super) rarity: f64,
}

/// All labels, C first. Equal chords on other roots (augmented, diminished sevenths) are labels
/// of their own.
pub(super) fn labels() -> Vec<Label> {
    let mut labels = Vec::with_capacity(12 * KINDS.len());
    for root in PitchClass::all() {
        labels.extend(KINDS.iter().map(|kind| label(root, kind)));
    }
    labels
}

fn label(root: PitchClass, kind: &Kind) -> Label {
    let (mut mask, mut colour, mut needed) = (0, 0, 0);
    for (above, tone) in kind.quality.tones() {
        let bit = 1 << root.up(i32::from(*above)).number();
        mask |= bit;
        if !matches!(tone, ChordTone::Root | ChordTone::Third | ChordTone::Fifth) {
            colour |= bit;
        }
        if !may_be_missing(kind.quality, *above, *tone) {
            needed |= bit;
        }
    }
    Label {
        root,
        quality: kind.quality,
        mask,
        colour,
        needed,
        entry: kind.entry,
        rarity: kind.rarity,
    }
}

/// Whether a chord is still told without a tone: its perfect fifth (but where another chord would
/// have just the tones that are left, as a sixth chord's), or the ninth below an eleventh or
/// thirteenth. No third is ever added to what sounds.
pub(super) const fn may_be_missing(quality: Quality, above: u8, tone: ChordTone) -> bool {
    match tone {
        ChordTone::Fifth => {
            above == 7
                && !matches!(
                    quality,
                    Q::Fifth
                        | Q::Sus2
                        | Q::Sus4
                        | Q::Sixth
                        | Q::MinorSixth
                        | Q::Dominant7Sus4
                        | Q::Dominant7Sharp11
                        | Q::Major7Sharp11
                        | Q::Minor11
                )
        }
        ChordTone::Ninth => matches!(quality, Q::Minor11 | Q::Dominant13),
        _ => false,
    }
}
