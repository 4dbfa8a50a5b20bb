//! Braces and injuries: softer limits, never wider ones, and a caution that defers to others.

use bandwright::band::{
    Family, GoEasy, Level, LimitsError, NotesPerSecond, Players, Remarks, find_instrument,
    instruments, limits,
};
use bandwright::music::Written;
use proptest::prelude::*;

fn remarks(why: GoEasy) -> Remarks {
    Remarks {
        go_easy: Some(why),
        ..Remarks::default()
    }
}

#[test]
fn braces_keep_brass_below_its_comfortable_top_and_reeds_inside_it() {
    let two = Players([0, 0, 2, 0, 0]);
    for id in ["trumpet", "mellophone", "tuba"] {
        let instrument = find_instrument(id).unwrap();
        let easy = instrument.range(Level::Intermediate);
        let limits = limits(&instrument, two, &remarks(GoEasy::Braces)).unwrap();
        let written = |p| instrument.transposition.written(p);
        assert_eq!(written(limits.range.high).0, easy.comfortable.high.0 - 2);
        assert_eq!(written(limits.range.low), easy.stretch.low);
        assert_eq!(limits.max_speed, None);
    }
    let flute = find_instrument("flute").unwrap();
    let limits = limits(&flute, two, &remarks(GoEasy::Braces)).unwrap();
    assert_eq!(limits.range, limits.comfortable);
}

#[test]
fn an_injury_is_played_shorter_and_slower() {
    let trumpet = find_instrument("trumpet").unwrap();
    let players = Players([0, 0, 2, 1, 0]);
    let eased = limits(&trumpet, players, &remarks(GoEasy::Injury)).unwrap();
    assert_eq!(eased.rests_every, Some(8));
    // The second year's 3.3, one level below the weakest here.
    assert_eq!(eased.max_speed, Some(NotesPerSecond(3.3)));
    let said = Remarks {
        rests_every: Some(4),
        no_faster_than: Some(NotesPerSecond(2.0)),
        ..remarks(GoEasy::Injury)
    };
    let strict = limits(&trumpet, players, &said).unwrap();
    assert_eq!(strict.rests_every, Some(4));
    assert_eq!(strict.max_speed, Some(NotesPerSecond(2.0)));
}

#[test]
fn where_nothing_is_left_the_roster_is_refused() {
    let trumpet = find_instrument("trumpet").unwrap();
    let high = Remarks {
        lowest: Some(Written(90)),
        ..remarks(GoEasy::Braces)
    };
    assert_eq!(
        limits(&trumpet, Players([1, 0, 0, 0, 0]), &high),
        Err(LimitsError::NoNotes)
    );
}

#[test]
fn the_cautions_defer_to_director_and_medical_advice() {
    for why in [GoEasy::Braces, GoEasy::Injury] {
        let said = why.caution();
        assert!(
            said.contains("director") && said.contains("medical advice"),
            "{said}"
        );
    }
}

proptest! {
    #[test]
    fn going_easy_never_widens_a_limit(
        index in 0..37_usize,
        players in [0_u16..3, 0..3, 0..3, 0..3, 0..3],
        injury in any::<bool>(),
        every in proptest::option::of(1_u16..20),
    ) {
        let instrument = &instruments().unwrap()[index];
        let why = if injury { GoEasy::Injury } else { GoEasy::Braces };
        let said = Remarks { rests_every: every, ..Remarks::default() };
        let soft = Remarks { go_easy: Some(why), ..said.clone() };
        let players = Players(players);
        let (Ok(plain), Ok(eased)) =
            (limits(instrument, players, &said), limits(instrument, players, &soft))
        else {
            return Ok(());
        };
        prop_assert!(plain.range.low <= eased.range.low && eased.range.high <= plain.range.high);
        prop_assert!(eased.range.high <= plain.comfortable.high || !instrument.wind && !injury);
        if instrument.family == Family::Brass && !injury {
            let top = plain.comfortable.high.midi() - 2;
            prop_assert!(eased.range.high.midi() <= top);
        }
        let bars = |limits: &bandwright::band::Limits| limits.rests_every.unwrap_or(u16::MAX);
        prop_assert!(bars(&eased) <= bars(&plain));
        prop_assert!(!injury || bars(&eased) <= 8 && eased.max_speed.is_some());
    }
}
