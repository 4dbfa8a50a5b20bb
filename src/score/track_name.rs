//! Names of tracks: the part's name, and the bars after it.

use std::collections::BTreeSet;

/// Most bars that a name may fix; more are a slip of the pen.
const MOST_BARS: u32 = 20_000;
/// Most stretches of bars in one name.
const MOST_STRETCHES: usize = 200;

/// A track's name taken apart.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct TrackName {
    /// The part's name as the track gives it.
    pub part: String,
    /// The bars named, from 1.
    pub bars: Option<BTreeSet<u32>>,
    /// What stands after `bars` but cannot be read.
    pub unread: Option<String>,
}

impl TrackName {
    /// A name that is all the part's.
    pub fn whole(name: &str) -> Self {
        Self {
            part: name.to_owned(),
            bars: None,
            unread: None,
        }
    }

    /// Reads `Trumpet 1 bars 5-8, 12`.
    pub fn read(name: &str) -> Self {
        let Some((part, list)) = split(name) else {
            return Self::whole(name);
        };
        let bars = read_bars(list);
        Self {
            part: part.to_owned(),
            unread: bars.is_none().then(|| list.trim().to_owned()),
            bars,
        }
    }
}

/// Splits at the last word `bar` or `bars`, whatever its case.
fn split(name: &str) -> Option<(&str, &str)> {
    let lower = name.to_ascii_lowercase();
    [" bars ", " bar "].iter().find_map(|word| {
        let at = lower.rfind(word)?;
        Some((name.get(..at)?, name.get(at + word.len()..)?))
    })
}

fn read_bars(list: &str) -> Option<BTreeSet<u32>> {
    if list.matches(',').count() > MOST_STRETCHES {
        return None;
    }
    let mut bars = BTreeSet::new();
    for stretch in list.split(',') {
        let (first, last) = match stretch.split_once(['-', '–']) {
            Some((first, last)) => (bar(first)?, bar(last)?),
            None => (bar(stretch)?, bar(stretch)?),
        };
        if last < first {
            return None;
        }
        bars.extend(first..=last);
    }
    Some(bars)
}

fn bar(text: &str) -> Option<u32> {
    let number = text.trim().parse().ok()?;
    (1..=MOST_BARS).contains(&number).then_some(number)
}

/// A name without case, white space, `-`, `_` and `.`.
pub(super) fn loose(name: &str) -> String {
    let lower = name.to_lowercase();
    lower
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '_' | '.'))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bars(name: &str) -> Option<Vec<u32>> {
        TrackName::read(name).bars.map(|b| b.into_iter().collect())
    }

    #[test]
    fn bars_are_read() {
        assert_eq!(bars("Tuba bars 5-7, 12"), Some(vec![5, 6, 7, 12]));
        assert_eq!(bars("Tuba BAR 3"), Some(vec![3]));
        assert_eq!(bars("Tuba"), None);
        assert_eq!(TrackName::read("Tuba bars 5-7").part, "Tuba");
    }

    #[test]
    fn unreadable_bars_are_told() {
        for list in ["x", "7-5", "0", "1-", "1,,2", "1-4000000000", "-"] {
            let name = TrackName::read(&format!("Tuba bars {list}"));
            assert_eq!((name.bars, name.unread.as_deref()), (None, Some(list)));
        }
    }
}
