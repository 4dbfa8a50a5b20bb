//! Several remarks on one part: the most careful of them all.

use super::remarks::{Exposure, GoEasy, Remarks};

/// What holds for a part: what was said of the whole of it, and of each of its players who is
/// there.
///
/// Of each limit the narrowest counts. `never exposed` said of one player holds for the part; `may
/// be exposed` only if it was said of the part or of every player. Of second instruments the first
/// that was named counts. An injury goes before braces. Free texts are put one behind the other.
#[must_use]
pub fn most_careful(whole: &Remarks, players: &[&Remarks]) -> Remarks {
    let all = || std::iter::once(whole).chain(players.iter().copied());
    Remarks {
        lowest: all().filter_map(|r| r.lowest).max(),
        highest: all().filter_map(|r| r.highest).min(),
        below_the_break: all().any(|r| r.below_the_break),
        no_leaps_over: all().filter_map(|r| r.no_leaps_over).min(),
        no_faster_than: all()
            .filter_map(|r| r.no_faster_than)
            .min_by(|a, b| a.0.total_cmp(&b.0)),
        rests_every: all().filter_map(|r| r.rests_every).min(),
        accidentals_at_most: all().filter_map(|r| r.accidentals_at_most).min(),
        exposure: exposure(whole, players),
        doubles: all().find_map(|r| r.doubles.clone()),
        go_easy: all()
            .filter_map(|r| r.go_easy)
            .max_by_key(|g| *g == GoEasy::Injury),
        note: notes(all()),
    }
}

fn exposure(whole: &Remarks, players: &[&Remarks]) -> Exposure {
    let never = |r: &Remarks| r.exposure == Exposure::Never;
    if never(whole) || players.iter().any(|r| never(r)) {
        return Exposure::Never;
    }
    let everybody = players.iter().all(|r| r.exposure == Exposure::May);
    if whole.exposure == Exposure::May || (everybody && !players.is_empty()) {
        Exposure::May
    } else {
        Exposure::Unsaid
    }
}

/// Each text once.
fn notes<'a>(all: impl Iterator<Item = &'a Remarks>) -> String {
    let mut texts: Vec<&str> = Vec::new();
    for note in all.map(|r| r.note.as_str()).filter(|n| !n.is_empty()) {
        if !texts.contains(&note) {
            texts.push(note);
        }
    }
    texts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Interval, Written};

    #[test]
    fn the_narrowest_limit_counts() {
        let whole = Remarks {
            highest: Some(Written(70)),
            exposure: Exposure::May,
            note: "all".to_owned(),
            ..Remarks::default()
        };
        let one = Remarks {
            highest: Some(Written(67)),
            lowest: Some(Written(60)),
            no_leaps_over: Some(Interval(5)),
            go_easy: Some(GoEasy::Braces),
            note: "one".to_owned(),
            ..Remarks::default()
        };
        let two = Remarks {
            lowest: Some(Written(58)),
            go_easy: Some(GoEasy::Injury),
            note: "all".to_owned(),
            ..Remarks::default()
        };
        let both = most_careful(&whole, &[&one, &two]);
        assert_eq!(both.highest, Some(Written(67)));
        assert_eq!(both.lowest, Some(Written(60)));
        assert_eq!(both.no_leaps_over, Some(Interval(5)));
        assert_eq!(both.go_easy, Some(GoEasy::Injury));
        assert_eq!(both.exposure, Exposure::May);
        assert_eq!(both.note, "all; one");
    }

    #[test]
    fn one_who_may_be_exposed_does_not_expose_the_others() {
        let (may, unsaid, never) = (
            said(Exposure::May),
            said(Exposure::Unsaid),
            said(Exposure::Never),
        );
        let of = |players: &[&Remarks]| most_careful(&unsaid, players).exposure;
        assert_eq!(of(&[&may, &unsaid]), Exposure::Unsaid);
        assert_eq!(of(&[&may, &may]), Exposure::May);
        assert_eq!(of(&[&may, &never]), Exposure::Never);
        assert_eq!(of(&[]), Exposure::Unsaid);
    }

    fn said(exposure: Exposure) -> Remarks {
        Remarks {
            exposure,
            ..Remarks::default()
        }
    }
}
