//! What was changed, note by note.

use super::align::Alignment;
use super::bar_notes::{GRID, Named, Sheet};
use crate::band::PartId;
use crate::music::{BarNumber, Sounding};
use std::collections::BTreeSet;

/// Onsets that differ by less were rounded otherwise, not moved: a sixteenth of a quarter, less than lies between a
/// triplet and a straight sixteenth (ours).
const SAME_ONSET: u64 = GRID / 16;
/// Ends that differ by less were rounded otherwise: an eighth of a quarter (ours; what sends notes out often lets
/// them go a little early).
const SAME_END: u64 = GRID / 8;

/// Parts of the grid that are no difference.
const HAIR: u64 = 2;

/// A note in its bar, in parts of a quarter (40320 to a quarter).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct PlainNote {
    /// From the barline.
    pub at: u64,
    /// Concert pitch.
    pub pitch: Sounding,
    /// How long it lasts.
    pub length: u64,
}

impl PlainNote {
    /// Where it begins, in quarters from the barline.
    #[must_use]
    pub fn quarters(&self) -> f64 {
        self.at as f64 / GRID as f64
    }

    /// How long it lasts, in quarters.
    #[must_use]
    pub fn length_in_quarters(&self) -> f64 {
        self.length as f64 / GRID as f64
    }

    /// Whether it is the same but for a hair: ticks of other files are rounded onto the grid, each by half of it.
    const fn is(&self, other: &Self) -> bool {
        self.pitch.midi() == other.pitch.midi()
            && self.at.abs_diff(other.at) <= HAIR
            && self.length.abs_diff(other.length) <= HAIR
    }

    const fn end(&self) -> u64 {
        self.at.saturating_add(self.length)
    }
}

/// How a note was changed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum How {
    /// It has another pitch.
    Pitch,
    /// It begins elsewhere.
    Moved,
    /// It lasts longer or shorter.
    Length,
    /// It was put in.
    Added,
    /// It was taken out.
    Removed,
    /// It has another name, and sounds as before.
    Respelled,
    /// Its times were rounded otherwise: nobody meant anything by it.
    Rounded,
}

impl How {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pitch => "pitch",
            Self::Moved => "moved",
            Self::Length => "length",
            Self::Added => "added",
            Self::Removed => "removed",
            Self::Respelled => "respelled",
            Self::Rounded => "rounded",
        }
    }

    /// Whether somebody meant another sound by it, so that it is worth a lock.
    #[must_use]
    pub const fn is_meant(self) -> bool {
        !matches!(self, Self::Rounded | Self::Respelled)
    }
}

/// A note that was changed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Change {
    /// The bar of what came back; of a bar that was cut out there is none.
    pub bar: BarNumber,
    /// The part.
    pub part: PartId,
    /// How.
    pub how: How,
    /// As it was sent out.
    pub was: Option<PlainNote>,
    /// As it came back.
    pub is: Option<PlainNote>,
}

/// All changes, and the bars in which the sketch is another.
pub(super) fn changes(
    ours: &Sheet<'_>,
    theirs: &Sheet<'_>,
    bars: &Alignment,
) -> (Vec<Change>, BTreeSet<BarNumber>) {
    let parts: BTreeSet<PartId> = ours.parts().chain(theirs.parts()).collect();
    let mut found = Vec::new();
    let mut sketch = BTreeSet::new();
    for (sent, back) in &bars.0 {
        let Some(bar) = *back else {
            continue;
        };
        let was = |part| sent.map_or(&[][..], |sent| ours.bar(part, sent));
        for part in &parts {
            let both = (was(Some(*part)), theirs.bar(Some(*part), bar));
            let in_bar = differences(both.0, both.1);
            found.extend(in_bar.into_iter().map(|(how, was, is)| Change {
                bar,
                part: *part,
                how,
                was,
                is,
            }));
        }
        let both = differences(was(None), theirs.bar(None, bar));
        if both.iter().any(|(how, _, _)| how.is_meant()) {
            sketch.insert(bar);
        }
    }
    found.sort();
    (found, sketch)
}

/// Whether two notes are alike in some way.
type Alike = fn(&PlainNote, &PlainNote) -> bool;
type Difference = (How, Option<PlainNote>, Option<PlainNote>);

/// What is not the same in two bars of a part: what is alike is paired first, the likest before the rest.
fn differences(was: &[Named], is: &[Named]) -> Vec<Difference> {
    let mut found = Vec::new();
    let (mut ours, mut theirs) = (was.to_vec(), is.to_vec());
    let other_name = |a: &Named, b: &Named| a.name.zip(b.name).is_some_and(|(a, b)| a != b);
    let same = |a: &Named, b: &Named| a.note.is(&b.note);
    pair(&mut ours, &mut theirs, |a, b| {
        same(a, b) && !other_name(a, b)
    });
    for (a, b) in pair(&mut ours, &mut theirs, same) {
        found.push((How::Respelled, Some(a), Some(b)));
    }
    let ways: [(How, Alike); 4] = [
        (How::Rounded, |a, b| {
            let ends = near(a.end(), b.end(), SAME_END);
            a.pitch == b.pitch && near(a.at, b.at, SAME_ONSET) && ends
        }),
        (How::Length, |a, b| {
            a.pitch == b.pitch && near(a.at, b.at, SAME_ONSET)
        }),
        (How::Pitch, |a, b| near(a.at, b.at, SAME_ONSET)),
        (How::Moved, |a, b| a.pitch == b.pitch),
    ];
    for (how, alike) in ways {
        let alike = |a: &Named, b: &Named| alike(&a.note, &b.note);
        for (a, b) in pair(&mut ours, &mut theirs, alike) {
            found.push((how, Some(a), Some(b)));
        }
    }
    let gone = ours.into_iter().map(|a| (How::Removed, Some(a.note), None));
    let new = theirs.into_iter().map(|b| (How::Added, None, Some(b.note)));
    found.extend(gone.chain(new));
    found
}

fn near(a: u64, b: u64, most: u64) -> bool {
    a.abs_diff(b) < most
}

/// Takes out of both lists what is alike, each with the nearest in time.
fn pair(
    ours: &mut Vec<Named>,
    theirs: &mut Vec<Named>,
    alike: impl Fn(&Named, &Named) -> bool,
) -> Vec<(PlainNote, PlainNote)> {
    let mut pairs = Vec::new();
    ours.retain(|a| {
        let fits = theirs.iter().enumerate().filter(|(_, b)| alike(a, b));
        let a = a.note;
        let far = |b: &PlainNote| (a.at.abs_diff(b.at), a.length.abs_diff(b.length));
        let best = fits.min_by_key(|(i, b)| (far(&b.note), *i));
        let Some(best) = best.map(|(i, _)| i) else {
            return true;
        };
        pairs.push((a, theirs.remove(best).note));
        false
    });
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::SpelledName;
    use proptest::prelude::*;

    fn note(at: u64, pitch: u8, length: u64) -> PlainNote {
        let pitch = Sounding::new(pitch).unwrap();
        PlainNote {
            at: at * GRID / 48,
            pitch,
            length: length * GRID / 48,
        }
    }

    fn named(notes: &[PlainNote]) -> Vec<Named> {
        let one = |note: &PlainNote| Named {
            note: *note,
            name: None,
        };
        notes.iter().map(one).collect()
    }

    fn hows(was: &[PlainNote], is: &[PlainNote]) -> Vec<How> {
        let found = differences(&named(was), &named(is));
        found.into_iter().map(|d| d.0).collect()
    }

    #[test]
    fn another_name_is_told_where_both_files_have_names() {
        let of = |fifths| {
            let name = SpelledName::from_fifths(fifths);
            vec![Named {
                note: note(0, 61, 48),
                name: Some(name),
            }]
        };
        let (sharp, flat) = (of(7), of(-5));
        let found = differences(&sharp, &flat);
        assert_eq!(found[0].0, How::Respelled);
        assert!(differences(&sharp, &sharp).is_empty());
        assert!(differences(&sharp, &named(&[note(0, 61, 48)])).is_empty());
    }

    #[test]
    fn each_change_is_told_as_what_it_is() {
        let was = [note(0, 60, 48), note(48, 62, 48), note(96, 64, 96)];
        assert!(hows(&was, &was).is_empty());
        let other = [note(0, 60, 48), note(48, 63, 48), note(96, 64, 96)];
        assert_eq!(hows(&was, &other), [How::Pitch]);
        let later = [note(0, 60, 48), note(72, 62, 24), note(96, 64, 96)];
        assert_eq!(hows(&was, &later), [How::Moved]);
        let short = [note(0, 60, 24), note(48, 62, 48), note(96, 64, 96)];
        assert_eq!(hows(&was, &short), [How::Length]);
        let early = [note(0, 60, 46), note(47, 62, 46), note(96, 64, 92)];
        assert_eq!(hows(&was, &early), [How::Rounded; 3]);
        let fewer = [note(0, 60, 48), note(96, 64, 96)];
        assert_eq!(hows(&was, &fewer), [How::Removed]);
        assert_eq!(hows(&fewer, &was), [How::Added]);
        // A triplet is no straight note that was rounded.
        let triplet = [note(0, 60, 16), note(16, 62, 16)];
        let straight = [note(0, 60, 12), note(12, 62, 12)];
        assert!(hows(&triplet, &straight).contains(&How::Moved));
    }

    fn bar() -> impl Strategy<Value = Vec<PlainNote>> {
        let one = (0_u64..16, 60_u8..66, 1_u64..5).prop_map(|(at, p, l)| note(12 * at, p, 12 * l));
        prop::collection::vec(one, 0..8)
    }

    proptest! {
        #[test]
        fn changes_lead_from_one_to_the_other(was in bar(), is in bar()) {
            let found = differences(&named(&was), &named(&is));
            let mut now = was.clone();
            for (_, a, _) in &found {
                if let Some(a) = a {
                    let at = now.iter().position(|n| n == a).unwrap();
                    now.remove(at);
                }
            }
            now.extend(found.iter().filter_map(|d| d.2));
            let (mut now, mut is) = (now, is);
            now.sort();
            is.sort();
            prop_assert_eq!(now, is);
        }
    }
}
