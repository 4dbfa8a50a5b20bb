//! The timeline as entries: added, changed, taken out, typed, in bars, seconds and shares.

use bandwright::music::{MeterMap, TempoMap, Tick, TicksPerQuarter};
use bandwright::plan::timeline::{
    AnyTimeline, MarkKind, Seconds, Share, Timeline, Way, bar_line, template, template_words,
};
use bandwright::project::work::{
    Begin, Entry, EntryEdit, EntryKind, TimelineRefused, begin_plan, edit_entries, entries,
    typed_length,
};
use proptest::prelude::*;

fn bars() -> AnyTimeline {
    template("arch").unwrap().in_bars(64).into()
}

#[test]
fn entries_of_every_kind_are_added_changed_and_removed() {
    let mut now = bars();
    let silence = Entry::Silence {
        from: "33".to_owned(),
        to: "33, beat 3".to_owned(),
        name: "all look up".to_owned(),
    };
    let note = Entry::Note {
        lane: "flags".to_owned(),
        from: "9".to_owned(),
        to: "17".to_owned(),
        text: "silks".to_owned(),
    };
    for entry in [
        silence,
        note,
        EntryKind::Tempo.fresh("17"),
        EntryKind::Pause.fresh("41"),
    ] {
        let kind = entry.kind();
        let count = entries(&now, kind).len();
        let (with, name) = edit_entries(&now, &EntryEdit::Add(entry.clone())).unwrap();
        assert!(name.starts_with("add a "), "{name}");
        let all = entries(&with, kind);
        let at = all.iter().position(|e| *e == entry).unwrap();
        assert_eq!(all.len(), count + 1);
        let same = edit_entries(&with, &EntryEdit::Change(at, entry.clone()));
        assert_eq!(same, Err(TimelineRefused::NothingChanges));
        let (without, _) = edit_entries(&with, &EntryEdit::Remove(kind, at)).unwrap();
        assert_eq!(without, now);
        now = with;
    }
    let later = Entry::Section {
        at: "60".to_owned(),
        name: "Coda".to_owned(),
    };
    let (with, name) = edit_entries(&now, &EntryEdit::Add(later)).unwrap();
    assert_eq!(name, "add a section (60)");
    let first = Entry::Section {
        at: "2".to_owned(),
        name: "Coda".to_owned(),
    };
    let last = entries(&with, EntryKind::Section).len() - 1;
    let moved = edit_entries(&with, &EntryEdit::Change(last, first.clone()));
    let moved = entries(&moved.unwrap().0, EntryKind::Section);
    assert!(moved.contains(&first) && moved.len() == last + 1);
}

#[test]
fn what_cannot_be_is_told() {
    let now = bars();
    let refused = |entry| {
        edit_entries(&now, &EntryEdit::Add(entry))
            .unwrap_err()
            .to_string()
    };
    let far = refused(EntryKind::Tempo.fresh("900"));
    assert!(far.contains("it lies after the end"), "{far}");
    let beat = refused(EntryKind::Tempo.fresh("9, beat 7"));
    assert!(beat.contains("has beats 1 to 4"), "{beat}");
    let none = refused(EntryKind::Tempo.fresh("the end"));
    assert!(none.starts_with("`the end` is no place"), "{none}");
    let gone = edit_entries(&now, &EntryEdit::Remove(EntryKind::Note, 0));
    assert_eq!(gone, Err(TimelineRefused::Unknown("note")));
    let short = edit_entries(&now, &EntryEdit::Length("3".to_owned()));
    assert!(short.unwrap_err().to_string().contains("after the end"));
}

#[test]
fn a_show_is_planned_in_seconds_before_the_music() {
    let quarter = TicksPerQuarter::new(480).unwrap();
    let (meters, tempo) = (MeterMap::new(quarter, []), TempoMap::new(quarter, []));
    let begin = Begin {
        meters: &meters,
        tempo: &tempo,
        end: Tick::ZERO,
        passages: &[],
        markers: &[],
    };
    let mut plan = begin_plan(&begin).unwrap();
    assert_eq!(
        (plan.unit(), typed_length(&plan).as_str()),
        ("seconds", "7:00")
    );
    for entry in [
        Entry::Point {
            at: "0".to_owned(),
            intensity: 2.0,
            way: Way::Straight,
        },
        Entry::Point {
            at: "5:30".to_owned(),
            intensity: 10.0,
            way: Way::Straight,
        },
        Entry::Mark {
            kind: MarkKind::Peak,
            at: "330 s".to_owned(),
            name: "the bell".to_owned(),
        },
    ] {
        plan = edit_entries(&plan, &EntryEdit::Add(entry)).unwrap().0;
    }
    let length = EntryEdit::Length("6:00".to_owned());
    plan = edit_entries(&plan, &length).unwrap().0;
    let AnyTimeline::Seconds(t) = &plan else {
        panic!("in seconds");
    };
    assert_eq!(t.end, Seconds(360.0));
    assert_eq!(t.levels()[0].1, Some(10.0));
    // At 120 beats a minute in 4/4 a bar lasts two seconds.
    let laid = plan.in_bars_of(&meters, &tempo, Tick(180 * 1920));
    assert_eq!(laid.marks[0].at, bar_line(166));
}

#[test]
fn all_that_comes_along_is_listed_and_read_back() {
    for word in template_words() {
        let shares = template(word).unwrap();
        let all = [
            AnyTimeline::from(shares.clone()),
            shares.in_bars(61).into(),
            shares.in_seconds(401.0).into(),
        ];
        for plan in all {
            for kind in EntryKind::ALL {
                for (index, entry) in entries(&plan, kind).into_iter().enumerate() {
                    // Taken out and put in again, it stands where it stood, to a thousandth.
                    let out = edit_entries(&plan, &EntryEdit::Remove(kind, index))
                        .unwrap()
                        .0;
                    let back = edit_entries(&out, &EntryEdit::Add(entry)).unwrap().0;
                    assert_eq!(entries(&back, kind), entries(&plan, kind), "{word}");
                }
            }
        }
    }
}

fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        (0_u32..90).prop_map(|n| n.to_string()),
        (0_u32..9, 0.0..70.0).prop_map(|(m, s)| format!("{m}:{s}")),
        (0_u32..90, -1.0..9.0).prop_map(|(bar, beat)| format!("{bar}, beat {beat}")),
        "\\PC{0,12}",
    ]
}

fn entry() -> impl Strategy<Value = Entry> {
    let name = || "\\PC{0,9}";
    let number = || prop_oneof![4 => -5.0..400.0, 1 => Just(f64::NAN)];
    prop_oneof![
        (typed(), name()).prop_map(|(at, name)| Entry::Section { at, name }),
        (typed(), number()).prop_map(|(at, intensity)| Entry::Point {
            at,
            intensity,
            way: Way::Held
        }),
        (typed(), name()).prop_map(|(at, name)| Entry::Mark {
            kind: MarkKind::Hush,
            at,
            name
        }),
        (typed(), typed(), name()).prop_map(|(from, to, name)| Entry::Silence { from, to, name }),
        (typed(), number(), any::<bool>()).prop_map(|(at, beats, ramp)| Entry::Tempo {
            at,
            beats,
            ramp
        }),
        (typed(), number(), name()).prop_map(|(at, seconds, name)| Entry::Pause {
            at,
            seconds,
            name
        }),
        (name(), typed(), typed(), name()).prop_map(|(lane, from, to, text)| Entry::Note {
            lane,
            from,
            to,
            text
        }),
    ]
}

fn edit() -> impl Strategy<Value = EntryEdit> {
    let kind = prop::sample::select(EntryKind::ALL.to_vec());
    prop_oneof![
        5 => entry().prop_map(EntryEdit::Add),
        2 => (0_usize..6, entry()).prop_map(|(i, e)| EntryEdit::Change(i, e)),
        2 => (kind, 0_usize..6).prop_map(|(k, i)| EntryEdit::Remove(k, i)),
        1 => typed().prop_map(EntryEdit::Length),
        1 => typed().prop_map(EntryEdit::Name),
    ]
}

proptest! {
    #[test]
    fn whatever_is_typed_is_a_timeline_or_refused(
        unit in 0_usize..3,
        edits in prop::collection::vec(edit(), 1..30),
    ) {
        let shares: Timeline<Share> = template("stairs").unwrap();
        let mut now: AnyTimeline = match unit {
            0 => shares.into(),
            1 => shares.in_bars(64).into(),
            _ => shares.in_seconds(300.0).into(),
        };
        for edit in edits {
            if let Ok((after, _)) = edit_entries(&now, &edit) {
                prop_assert_eq!(after.check(), Ok(()));
                now = after;
            }
        }
    }
}
