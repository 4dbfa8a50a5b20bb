//! Which bar of one score is which of another, where bars were put in or cut out.

use super::bar_notes::BarKey;
use crate::music::BarNumber;

/// What a bar costs that was put in or cut out, in thousandths of a bar that is changed altogether. Under a half of it
/// a changed bar would rather be a cut and an inserted one; at one, no bar would ever be put in (ours).
const GAP: u32 = 700;
/// What it costs that two bars are not equally long.
const OTHER_LENGTH: u32 = 300;
/// More pairs of bars than these are not compared: beyond, bars keep their places (ours: two thousand by two
/// thousand).
const MOST_PAIRS: usize = 4_000_000;

/// Which bar is which, in order; none on a side where a bar was put in or cut out.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Alignment(pub Vec<(Option<BarNumber>, Option<BarNumber>)>);

impl Alignment {
    /// Whether every bar is where it was.
    #[must_use]
    pub fn is_straight(&self) -> bool {
        self.0.iter().all(|(a, b)| a == b)
    }

    /// Bars of what came back that were put in.
    pub fn inserted(&self) -> impl Iterator<Item = BarNumber> {
        let own = self.0.iter().filter(|p| p.0.is_none());
        own.filter_map(|p| p.1)
    }

    /// Bars of what was sent out that were cut out.
    pub fn cut(&self) -> impl Iterator<Item = BarNumber> {
        let own = self.0.iter().filter(|p| p.1.is_none());
        own.filter_map(|p| p.0)
    }

    /// Bars that are in both: as sent out, and as they came back.
    pub fn both(&self) -> impl Iterator<Item = (BarNumber, BarNumber)> {
        self.0.iter().filter_map(|(a, b)| a.zip(*b))
    }
}

/// Holds bars against bars at the least cost: a pair costs the share of notes that are not in both.
///
/// The method is the global alignment of Needleman and Wunsch (1970), from memory.
#[must_use]
pub fn align(sent: &[BarKey], back: &[BarKey]) -> Alignment {
    let before = sent.iter().zip(back).take_while(|(a, b)| a == b).count();
    let (rest_a, rest_b) = (&sent[before..], &back[before..]);
    let pairs = rest_a.iter().rev().zip(rest_b.iter().rev());
    let after = pairs.take_while(|(a, b)| a == b).count();
    let (mid_a, mid_b) = (
        &rest_a[..rest_a.len() - after],
        &rest_b[..rest_b.len() - after],
    );
    let bar = |index: usize| u32::try_from(index + 1).ok().map(BarNumber);
    let mut found: Vec<(Option<usize>, Option<usize>)> =
        (0..before).map(|i| (Some(i), Some(i))).collect();
    let middle = if mid_a.len().saturating_mul(mid_b.len()) > MOST_PAIRS {
        in_place(mid_a.len(), mid_b.len())
    } else {
        cheapest(mid_a, mid_b)
    };
    let shifted = |(a, b): (Option<usize>, Option<usize>)| {
        let on = |i: usize| i + before;
        (a.map(on), b.map(on))
    };
    found.extend(middle.into_iter().map(shifted));
    let (ends_a, ends_b) = (sent.len() - after, back.len() - after);
    found.extend((0..after).map(|i| (Some(ends_a + i), Some(ends_b + i))));
    let named = |(a, b): (Option<usize>, Option<usize>)| (a.and_then(bar), b.and_then(bar));
    Alignment(found.into_iter().map(named).collect())
}

type Pairs = Vec<(Option<usize>, Option<usize>)>;

fn in_place(a: usize, b: usize) -> Pairs {
    let all = 0..a.max(b);
    all.map(|i| ((i < a).then_some(i), (i < b).then_some(i)))
        .collect()
}

fn cheapest(a: &[BarKey], b: &[BarKey]) -> Pairs {
    let width = b.len() + 1;
    let mut costs = vec![0_u32; (a.len() + 1) * width];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            costs[i * width + j] = match (i.checked_sub(1), j.checked_sub(1)) {
                (None, None) => 0,
                (Some(_), None) => costs[(i - 1) * width] + GAP,
                (None, Some(_)) => costs[j - 1] + GAP,
                (Some(up), Some(left)) => {
                    let pair = costs[up * width + left] + unlike(&a[up], &b[left]);
                    let cut = costs[up * width + j] + GAP;
                    let put_in = costs[i * width + left] + GAP;
                    pair.min(cut).min(put_in)
                }
            };
        }
    }
    let (mut i, mut j) = (a.len(), b.len());
    let mut pairs = Vec::with_capacity(i.max(j));
    while i > 0 || j > 0 {
        let here = costs[i * width + j];
        let pair =
            i > 0 && j > 0 && here == costs[(i - 1) * width + j - 1] + unlike(&a[i - 1], &b[j - 1]);
        if pair {
            (i, j) = (i - 1, j - 1);
            pairs.push((Some(i), Some(j)));
        } else if j > 0 && here == costs[i * width + j - 1] + GAP {
            j -= 1;
            pairs.push((None, Some(j)));
        } else {
            i = i.saturating_sub(1);
            pairs.push((Some(i), None));
        }
    }
    pairs.reverse();
    pairs
}

/// How unlike two bars are: 0 to 1300.
fn unlike(a: &BarKey, b: &BarKey) -> u32 {
    let length = if a.length == b.length {
        0
    } else {
        OTHER_LENGTH
    };
    let all = a.notes.len() + b.notes.len();
    if all == 0 {
        return length;
    }
    let (mut i, mut j, mut both) = (0, 0, 0_usize);
    while let (Some(x), Some(y)) = (a.notes.get(i), b.notes.get(j)) {
        match x.cmp(y) {
            std::cmp::Ordering::Less => i += 1,
            std::cmp::Ordering::Greater => j += 1,
            std::cmp::Ordering::Equal => (i, j, both) = (i + 1, j + 1, both + 1),
        }
    }
    let lost = 1000 * (all - 2 * both) / all;
    length + u32::try_from(lost).unwrap_or(1000)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn bar(notes: &[u8]) -> BarKey {
        BarKey {
            length: 4,
            notes: notes.iter().map(|n| (0, 0, *n)).collect(),
        }
    }

    fn shape(alignment: &Alignment) -> String {
        let one = |(a, b): &(Option<BarNumber>, Option<BarNumber>)| match (a, b) {
            (Some(_), Some(_)) => '=',
            (None, _) => '+',
            (_, None) => '-',
        };
        alignment.0.iter().map(one).collect()
    }

    #[test]
    fn bars_put_in_and_cut_out_are_found() {
        let all: Vec<BarKey> = (0..9).map(|i| bar(&[i, i + 20, i + 40])).collect();
        let mut other = all.clone();
        other.insert(3, bar(&[]));
        other.insert(4, bar(&[90]));
        other.remove(8);
        assert_eq!(shape(&align(&all, &other)), "===++===-==");
        // A bar that was changed altogether stays where it was.
        let mut changed = all.clone();
        changed[4] = bar(&[100, 101]);
        assert_eq!(shape(&align(&all, &changed)), "=========");
        assert_eq!(shape(&align(&[], &all[..2])), "++");
        assert_eq!(shape(&align(&all[..2], &[])), "--");
    }

    proptest! {
        #[test]
        fn every_bar_is_once_in_it_and_in_order(
            a in prop::collection::vec(prop::collection::vec(0_u8..4, 0..4), 0..14),
            b in prop::collection::vec(prop::collection::vec(0_u8..4, 0..4), 0..14),
        ) {
            let of = |all: &[Vec<u8>]| -> Vec<BarKey> {
                let sorted = all.iter().map(|n| { let mut n = n.clone(); n.sort_unstable(); n });
                sorted.map(|n| bar(&n)).collect()
            };
            let found = align(&of(&a), &of(&b));
            let sent: Vec<u32> = found.0.iter().filter_map(|p| Some(p.0?.0)).collect();
            let back: Vec<u32> = found.0.iter().filter_map(|p| Some(p.1?.0)).collect();
            prop_assert_eq!(sent, (1..=a.len() as u32).collect::<Vec<_>>());
            prop_assert_eq!(back, (1..=b.len() as u32).collect::<Vec<_>>());
            prop_assert!(align(&of(&a), &of(&a)).is_straight());
        }
    }
}
