//! What must hold of the table of instruments.

use bandwright::band::{Choir, Level, WrittenRange, instruments};

fn inside(inner: WrittenRange, outer: WrittenRange) -> bool {
    outer.low <= inner.low && inner.low <= inner.high && inner.high <= outer.high
}

#[test]
fn comfortable_lies_in_stretch_lies_in_professional() {
    for i in instruments().unwrap() {
        for level in Level::ALL {
            let r = i.range(level);
            assert!(inside(r.comfortable, r.stretch), "{} {level}", i.id);
            assert!(inside(r.stretch, i.professional), "{} {level}", i.id);
        }
    }
}

#[test]
fn ranges_widen_from_level_to_level() {
    for i in instruments().unwrap() {
        for pair in i.levels.windows(2) {
            assert!(inside(pair[0].comfortable, pair[1].comfortable), "{}", i.id);
            assert!(inside(pair[0].stretch, pair[1].stretch), "{}", i.id);
        }
    }
}

#[test]
fn every_written_note_sounds_within_midi() {
    for i in instruments().unwrap() {
        assert!(
            i.transposition.sounding(i.professional.low).is_some(),
            "{}",
            i.id
        );
        assert!(
            i.transposition.sounding(i.professional.high).is_some(),
            "{}",
            i.id
        );
    }
}

#[test]
fn ids_are_unique_and_in_score_order() {
    let all = instruments().unwrap();
    assert_eq!(all.len(), 37);
    for (order, i) in all.iter().enumerate() {
        assert_eq!(i.score_order, order);
        assert!(
            all[..order].iter().all(|other| other.id != i.id),
            "{}",
            i.id
        );
        assert!(!(i.wind && i.choir == Choir::Mallets), "{}", i.id);
    }
    let place = |id: &str| all.iter().position(|i| i.id == id).unwrap();
    assert!(place("bassoon") < place("clarinet_bb") && place("sax_baritone") < place("trumpet"));
    assert_eq!(place("synth"), 36);
    assert!(!all[place("timpani")].chordal && all[place("marimba")].chordal);
}
