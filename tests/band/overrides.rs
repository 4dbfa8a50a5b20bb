//! What a director knows better than the tables, for one band.

use bandwright::band::playing::TroubleSpot;
use bandwright::band::{
    Instrument, Level, Override, WrittenRange, find_instrument, instruments, own_instruments,
    read_band, write_band,
};
use bandwright::music::Written;
use proptest::prelude::*;
use std::sync::Arc;

/// A band of one trumpet part and a horn part, with something behind it.
fn roster(overrides: &str) -> String {
    format!(
        "name = \"Own Band\"\n\
         [[part]]\nname = \"Trumpet\"\ninstrument = \"trumpet\"\nplayers = {{ first_year = 2 }}\n\
         [[part]]\nname = \"Horn\"\ninstrument = \"horn\"\nplayers = {{ advanced = 1 }}\nremarks = {{ doubles = \"trumpet\" }}\n\
         {overrides}"
    )
}

fn refused(overrides: &str) -> String {
    read_band(&roster(overrides)).unwrap_err().to_string()
}

#[test]
fn an_override_reaches_the_parts_and_their_limits_and_no_other_band() {
    let text = roster(
        "[[override]]\ninstrument = \"trumpet\"\nlevel = \"first_year\"\ncomfortable = [\"C4\", \"D5\"]\n\
         stretch = [\"Bb3\", \"E5\"]\nbreath = 8\ntongued = 2.5\nwhy = \"They began last summer.\"\n\
         [[override]]\ninstrument = \"trumpet\"\ndrop_trouble = [\"D4\"]\n\
         add_trouble = [{ low = \"B4\", high = \"B4\", issue = \"sticking second valve\", severity = 2 }]\n",
    );
    let band = read_band(&text).unwrap();
    let trumpet = &band.parts[0];
    assert_eq!(trumpet.name, "Trumpet");
    // Sounding a whole tone lower.
    assert_eq!(trumpet.limits.range.high.to_string(), "D5");
    assert_eq!(trumpet.limits.comfortable.high.to_string(), "C5");
    let playing = &trumpet.instrument.playing;
    assert_eq!(playing.breath.unwrap().seconds.at(Level::FirstYear), 8.0);
    assert_eq!(playing.speeds.tongued.at(Level::FirstYear), 2.5);
    assert!(!playing.trouble.iter().any(|s| s.holds(Written(62))));
    assert!(
        playing
            .trouble
            .iter()
            .any(|s| s.issue == "sticking second valve")
    );
    // The second instrument of the horn players is the band's own trumpet too.
    let horn = &band.parts[1];
    assert_eq!(horn.remarks.doubles.as_ref(), Some(&trumpet.instrument));
    assert_eq!(horn.instrument, find_instrument("horn").unwrap());
    // The program's own table is as it was.
    assert_ne!(trumpet.instrument, find_instrument("trumpet").unwrap());
    assert_eq!(
        read_band(&roster("")).unwrap().parts[0].instrument,
        find_instrument("trumpet").unwrap()
    );
    // It is kept when the band is written.
    assert_eq!(read_band(&write_band(&band)), Ok(band));
}

#[test]
fn what_cannot_be_is_refused_with_its_line() {
    let about = "[[override]]\ninstrument = \"trumpet\"\n";
    let cases = [
        (
            "[[override]]\ninstrument = \"trumpit\"\nleap = 3",
            "line 12: unknown instrument `trumpit`; did you mean `trumpet`?",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nbreth = 3",
            "line 13: unknown key `breth`; did you mean `breath`?",
        ),
        ("[[override]]\nleap = 3", "line 11: `instrument` is missing"),
        (
            "[[override]]\ninstrument = \"trumpet\"\nwhy = \"x\"",
            "line 11: the override changes nothing; write one of `comfortable`, `stretch`, `repeated`, `slurred`, `tongued`, `leap`, `breath`, `drop_trouble`, `add_trouble`",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nlevel = \"frist_year\"\nleap = 3",
            "line 13: unknown level `frist_year`; did you mean `first_year`?",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\ncomfortable = [\"C5\", \"C4\"]",
            "line 13: `comfortable`: C5 is above C4",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\ncomfortable = [\"C5\"]",
            "line 13: `comfortable` must be two notes, the lower first, such as [\"C4\", \"G5\"]",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nbreath = 0",
            "line 13: `breath` must be over 0 and at most 120",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nbreath = nan",
            "line 13: `breath` must be over 0 and at most 120",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nleap = 99",
            "line 13: `leap` must be from 0 to 60 semitones",
        ),
        (
            "[[override]]\ninstrument = \"vibraphone\"\nbreath = 9",
            "line 13: nobody breathes through Vibraphone (3 octaves)",
        ),
        (
            "[[override]]\ninstrument = \"chimes\"\nleap = 9",
            "line 13: leaps are all alike on Chimes / tubular bells",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\ndrop_trouble = [\"C5\"]",
            "line 13: no trouble spot of Trumpet holds C5",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nlevel = \"advanced\"\ndrop_trouble = [\"D4\"]",
            "line 13: trouble spots hold for all levels; write them without `level`",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nadd_trouble = [{ low = \"C2\", high = \"C4\", issue = \"x\", severity = 1 }]",
            "line 13: C2 to C4 is out of the professional range of Trumpet, F#3 to E6",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nadd_trouble = [{ low = \"C4\", high = \"C4\", issue = \"x\", severity = 4 }]",
            "line 13: `severity` is 1 (care), 2 (risky) or 3 (to be avoided)",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nlevel = \"first_year\"\ncomfortable = [\"C4\", \"D5\"]",
            "line 14: comfortable C4 to D5 of first-year players is not within stretch Bb3 to C5",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nlevel = \"all_state\"\nstretch = [\"C3\", \"C6\"]",
            "line 14: stretch C3 to C6 is not within the professional range, F#3 to E6",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nlevel = \"first_year\"\nbreath = 16",
            "line 14: breath 15 of second-year players is less than 16 of first-year players; write both levels, or no `level` to mean all",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nlevel = \"all_state\"\nslurred = 1",
            "line 14: slurred 1 of all-state players is less than 6.4 of advanced players; write both levels, or no `level` to mean all",
        ),
        (
            "[[override]]\ninstrument = \"trumpet\"\nlevel = \"second_year\"\nstretch = [\"A3\", \"B4\"]\ncomfortable = [\"Bb3\", \"B4\"]",
            "line 14: stretch A3 to B4 of second-year players does not hold Bb3 to C5 of first-year players; write both levels, or no `level` to mean all",
        ),
    ];
    for (text, error) in cases {
        assert_eq!(refused(text), error, "{text}");
    }
    let one_bracket = format!("override = 3\n{}", roster(""));
    assert_eq!(
        read_band(&one_bracket).unwrap_err().to_string(),
        "line 1: overrides are written `[[override]]`, in double brackets"
    );
    // The later of two that speak of one value holds; both are checked at the end.
    let two = format!("{about}breath = 9\n{about}level = \"all_state\"\nbreath = 30\n");
    let band = read_band(&roster(&two)).unwrap();
    let seconds = band.parts[0].instrument.playing.breath.unwrap().seconds.0;
    assert_eq!(seconds, [9.0, 9.0, 9.0, 9.0, 30.0]);
}

/// Puts a value back as the table has it, so that what else changed would be seen.
fn undone(changed: &Instrument, one: &Override, base: &Instrument) -> Instrument {
    let mut back = changed.clone();
    for level in Level::ALL
        .into_iter()
        .filter(|l| one.level.is_none_or(|o| o == *l))
    {
        let i = level.index();
        if one.comfortable.is_some() {
            assert_eq!(Some(back.levels[i].comfortable), one.comfortable);
            back.levels[i].comfortable = base.levels[i].comfortable;
        }
        if one.stretch.is_some() {
            assert_eq!(Some(back.levels[i].stretch), one.stretch);
            back.levels[i].stretch = base.levels[i].stretch;
        }
        let (mine, theirs) = (&mut back.playing, &base.playing);
        if let Some(value) = one.repeated {
            assert_eq!(mine.speeds.repeated.0[i], value);
            mine.speeds.repeated.0[i] = theirs.speeds.repeated.0[i];
        }
        if let Some(value) = one.slurred {
            assert_eq!(mine.speeds.slurred.0[i], value);
            mine.speeds.slurred.0[i] = theirs.speeds.slurred.0[i];
        }
        if let Some(value) = one.tongued {
            assert_eq!(mine.speeds.tongued.0[i], value);
            mine.speeds.tongued.0[i] = theirs.speeds.tongued.0[i];
        }
        if let (Some(value), Some(leaps)) = (one.leap, &mut mine.leaps) {
            assert_eq!(leaps.semitones.0[i], value);
            leaps.semitones.0[i] = theirs.leaps.unwrap().semitones.0[i];
        }
        if let (Some(value), Some(breath)) = (one.breath, &mut mine.breath) {
            assert_eq!(breath.seconds.0[i], value);
            breath.seconds.0[i] = theirs.breath.unwrap().seconds.0[i];
        }
    }
    let kept = base
        .playing
        .trouble
        .iter()
        .filter(|s| !one.drop_trouble.iter().any(|n| s.holds(*n)));
    for spot in kept.clone() {
        assert!(back.playing.trouble.contains(spot));
    }
    assert_eq!(
        back.playing.trouble.len(),
        kept.count() + one.add_trouble.len()
    );
    back.playing.trouble = base.playing.trouble.clone();
    back
}

prop_compose! {
    /// An override of values near those of the table, which often enough go through the checks.
    fn any_override()(
        which in 0..37_usize,
        level in proptest::option::of(0..5_usize),
        widen in proptest::option::of((0_i16..3, 0_i16..3)),
        numbers in (proptest::option::of(1..90_u32), proptest::option::of(1..90_u32), proptest::option::of(1..90_u32)),
        leap in proptest::option::of(0_u8..40),
        breath in proptest::option::of(1..400_u32),
        drop in any::<bool>(),
        add in proptest::option::of((0_i16..12, 1_u8..=3, "\\PC{0,12}")),
        why in "\\PC{0,20}",
    ) -> Override {
        let base = &instruments().unwrap()[which];
        let level = level.map(|l| Level::ALL[l]);
        let trouble = level.is_none();
        let at = base.range(level.unwrap_or(Level::AllState));
        let tenths = |n: Option<u32>| n.map(|n| f64::from(n) / 10.0);
        let range = widen.map(|(a, b)| WrittenRange {
            low: Written((at.comfortable.low.0 + a).min(at.comfortable.high.0)),
            high: Written((at.comfortable.high.0 + b).min(at.stretch.high.0).max(at.comfortable.low.0 + a)),
        });
        let dropped = base.playing.trouble.first().map(|s| s.low);
        Override {
            instrument: base.id.clone(),
            level,
            comfortable: range,
            stretch: None,
            repeated: tenths(numbers.0),
            slurred: tenths(numbers.1),
            tongued: tenths(numbers.2),
            leap: leap.filter(|_| base.playing.leaps.is_some()),
            breath: tenths(breath).filter(|_| base.playing.breath.is_some()),
            drop_trouble: dropped.filter(|_| drop && trouble).into_iter().collect(),
            add_trouble: add.filter(|_| trouble).map(|(up, severity, issue)| {
                let low = Written(base.professional.low.0 + up);
                TroubleSpot { low, high: low, issue: issue.trim().to_owned(), severity }
            }).into_iter().collect(),
            why: why.trim().to_owned(),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, ..ProptestConfig::default() })]

    #[test]
    fn an_override_changes_exactly_what_it_names(one in any_override()) {
        let base = find_instrument(&one.instrument).unwrap();
        match own_instruments(std::slice::from_ref(&one)) {
            Ok(own) => {
                let changed: Arc<Instrument> = own.of(&base);
                prop_assert_eq!(&undone(&changed, &one, &base), &*base);
                for other in instruments().unwrap().iter().filter(|i| i.id != base.id) {
                    prop_assert_eq!(&own.of(other), other);
                }
                for pair in changed.levels.windows(2) {
                    prop_assert!(pair[0].comfortable.low >= pair[1].comfortable.low);
                    prop_assert!(pair[0].comfortable.high <= pair[1].comfortable.high);
                }
            }
            Err(error) => prop_assert_eq!(error.index, 0),
        }
    }

    #[test]
    fn written_overrides_read_back(all in proptest::collection::vec(any_override(), 0..4)) {
        let base = read_band(&roster("")).unwrap();
        let mut roster = base.roster;
        let said = |o: &Override| Override { instrument: o.instrument.clone(), level: o.level, why: o.why.clone(), ..Override::default() } != *o;
        roster.overrides = all.into_iter().filter(said).collect();
        if let Ok(own) = own_instruments(&roster.overrides) {
            own.give(&mut roster.sections);
            if let Ok(band) = roster.band() {
                prop_assert_eq!(read_band(&write_band(&band)), Ok(band));
            }
        }
    }
}
