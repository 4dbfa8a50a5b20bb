//! Editing the roster, and what follows for the draft.

use super::{bars, demo, part, six, small};
use bandwright::band::PartId;
use bandwright::band::{
    Band, Level, Players, Roster, SeatId, Split, read_band, remark_words, write_band,
};
use bandwright::music::{BarNumber, Tick};
use bandwright::project::work::{
    RosterDone, RosterEdit, RosterRefused, Selection, Whose, bands_differ, carried, edit_roster,
    lock,
};
use bandwright::voicing::Scope;
use proptest::collection::vec;
use proptest::prelude::*;

fn edit(band: &Band, edit: impl std::borrow::Borrow<RosterEdit>) -> RosterDone {
    edit_roster(&band.roster, edit.borrow()).unwrap()
}

fn seat(section: usize, seat: usize) -> SeatId {
    SeatId { section, seat }
}

#[test]
fn parts_join_leave_and_are_called_otherwise() {
    let band = six();
    let add = RosterEdit::Add {
        name: " Trumpet 2 ".to_owned(),
        instrument: "trumpet".to_owned(),
        players: "2 advanced and 1 first-year".to_owned(),
        split: Split::One,
    };
    let done = edit(&band, add);
    assert_eq!(
        done.said,
        "Trumpet 2 joins the band: 2 advanced, 1 first-year on Trumpet"
    );
    let names: Vec<&str> = done.band.parts.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "Flute",
            "Clarinet",
            "Trumpet",
            "Trumpet 2",
            "Trombone",
            "Tuba",
            "Marimba"
        ]
    );
    assert_eq!(done.band.parts[3].rank, 2);
    let gone = edit(&done.band, RosterEdit::Remove(6));
    assert_eq!(gone.said, "Trumpet 2 leaves the band");
    assert_eq!(gone.band.parts, band.parts);
    assert_eq!(gone.sections[5..], [Some(5), None]);
    let renamed = edit(&band, RosterEdit::Rename(2, "Cornet".to_owned()));
    assert_eq!(renamed.said, "Trumpet is now called Cornet");
    let moved = edit(&band, RosterEdit::Move(0, 9));
    assert_eq!(moved.said, "Flute is now number 6 of the roster");
    assert_eq!(moved.band.roster.sections[5].name, "Flute");
    assert_eq!(moved.sections[..2], [Some(5), Some(0)]);
    let cornet = edit(&band, RosterEdit::Instrument(2, "cornet".to_owned()));
    assert_eq!(cornet.said, "Trumpet now plays Cornet");
}

#[test]
fn players_levels_and_absences() {
    let band = six();
    let mut band = edit(&band, RosterEdit::Name(seat(0, 0), "Ada".to_owned())).band;
    let done = edit(&band, RosterEdit::Players(0, [1, 0, 1, 0, 0]));
    assert_eq!(
        done.said,
        "Flute now has 1 intermediate, 1 first-year on Flute"
    );
    // She who is known stays.
    let names: Vec<_> = done.band.roster.sections[0]
        .seats
        .iter()
        .map(|s| s.name.as_str())
        .collect();
    assert_eq!(names, ["Ada", ""]);
    assert_eq!(done.band.parts[0].players, Players([1, 0, 1, 0, 0]));
    band = done.band;
    let level = edit(&band, RosterEdit::Level(seat(0, 1), Level::Advanced));
    assert_eq!(
        level.said,
        "player 2 of Flute is advanced instead of first-year"
    );
    let away = edit(&band, RosterEdit::Absent(seat(0, 0), true));
    assert_eq!(away.said, "Ada (Flute) is away");
    assert_eq!(away.band.parts[0].players.count(), 1);
    let back = edit(&away.band, RosterEdit::Absent(seat(0, 0), false));
    assert_eq!(back.said, "Ada (Flute) is back");
    assert_eq!(back.band.parts, band.parts);
    let split = edit(&band, RosterEdit::Split(0, Split::Into(2)));
    assert_eq!(split.said, "Flute is divided into 2 parts");
    assert_eq!(split.band.parts.len(), 7);
    let sits = edit(&split.band, RosterEdit::PartOf(seat(0, 0), Some(2)));
    assert_eq!(sits.said, "Ada (Flute) sits on part 2");
    let one = edit(&sits.band, RosterEdit::Split(0, Split::One));
    assert_eq!(one.band.parts.len(), 6);
}

#[test]
fn remarks_are_said_and_taken_back() {
    let band = six();
    let said = |word: &str, value: &str| {
        RosterEdit::Remark(Whose::Section(1), word.to_owned(), Some(value.to_owned()))
    };
    let done = edit(&band, said("below_the_break", "true"));
    assert_eq!(done.said, "said of Clarinet: below the break");
    let reach = |b: &Band| b.parts[1].limits.range.high;
    assert!(reach(&done.band) < reach(&band));
    let other = edit(&done.band, said("rests_every", "8"));
    let other = edit(&other.band, said("rests_every", "16"));
    assert_eq!(
        other.said,
        "said of Clarinet: a bar of rest in every 16, instead of a bar of rest in every 8"
    );
    let unsaid = RosterEdit::Remark(Whose::Section(1), "below_the_break".to_owned(), None);
    assert_eq!(
        edit(&done.band, unsaid).said,
        "no longer said of Clarinet: below the break"
    );
    let one = RosterEdit::Remark(
        Whose::Seat(seat(1, 1)),
        "exposed".to_owned(),
        Some("never".to_owned()),
    );
    assert_eq!(
        edit(&band, one).said,
        "said of player 2 of Clarinet: never exposed"
    );
    assert_eq!(remark_words().count(), 11);
}

#[test]
fn refusals_say_what_to_do() {
    let band = six();
    let refused = |e: RosterEdit| edit_roster(&band.roster, &e).unwrap_err().to_string();
    let add = |name: &str, instrument: &str, players: &str| RosterEdit::Add {
        name: name.to_owned(),
        instrument: instrument.to_owned(),
        players: players.to_owned(),
        split: Split::One,
    };
    assert_eq!(
        refused(add("Horn", "hron", "1 advanced")),
        "there is no instrument `hron`; did you mean `horn`?"
    );
    assert_eq!(
        refused(add("flute", "flute", "1 advanced")),
        "the roster stays as it is, for two parts are named `flute`"
    );
    assert!(refused(add("Horn", "horn", "")).contains("has no players"));
    assert!(refused(add(" . ", "horn", "1 advanced")).contains("needs a name"));
    assert!(refused(RosterEdit::Remove(9)).contains("no such part or section"));
    assert!(refused(RosterEdit::Level(seat(0, 9), Level::Advanced)).contains("no such player"));
    assert!(refused(RosterEdit::Players(0, [0; 5])).contains("has no players"));
    assert!(refused(RosterEdit::Players(0, [u16::MAX; 5])).contains("more than 500 players"));
    assert!(refused(RosterEdit::Rename(0, "Flute".to_owned())).contains("changes nothing"));
    let remark = |whose, word: &str, value: &str| {
        RosterEdit::Remark(whose, word.to_owned(), Some(value.to_owned()))
    };
    let flute = Whose::Section(0);
    assert!(refused(remark(flute, "below_the_break", "true")).contains("is for clarinets"));
    assert!(refused(remark(flute, "hihgest", "C5")).contains("did you mean `highest`"));
    assert!(refused(remark(flute, "lowest", "C9")).contains("leave these players no notes"));
    let clarinet = edit(&band, remark(Whose::Section(1), "below_the_break", "true")).band;
    let other = RosterEdit::Instrument(1, "flute".to_owned());
    let error = edit_roster(&clarinet.roster, &other).unwrap_err();
    assert!(matches!(error, RosterRefused::Remark(_)), "{error}");
    let all_away = (0..6).flat_map(|s| [seat(s, 0), seat(s, 1)]);
    let mut roster = band.roster.clone();
    let mut last = None;
    for id in all_away {
        match edit_roster(&roster, &RosterEdit::Absent(id, true)) {
            Ok(done) => roster = done.band.roster,
            Err(e) => last = Some(e.to_string()),
        }
    }
    assert!(last.unwrap().contains("nobody is there to play"));
}

#[test]
fn the_draft_follows_the_roster() {
    let mut table = small();
    let (trumpet, tuba) = (part(&table.band, "Trumpet"), part(&table.band, "Tuba"));
    table.write(0, &[(0, 96, 480)]);
    table.write(trumpet, &[(0, 60, 480), (1920, 64, 480)]);
    table.write(tuba, &[(0, 36, 1920)]);
    let at = Selection::of(BarNumber(1), BarNumber(1), [PartId(trumpet), PartId(tuba)]);
    let table = table.after(&lock(&table.desk(), &at).unwrap());
    let (before, meters) = (&table.band, &table.song.meters);
    let parts = before.parts.len();
    let follow = |e: RosterEdit| {
        let done = edit(before, e);
        let carried = carried(before, &done, &table.draft, &table.locks, meters);
        let told = bands_differ(before, &done, &carried.parts);
        (done, carried, told)
    };
    // Another name: all as it was, nothing to solve.
    let (_, same, told) = follow(RosterEdit::Rename(trumpet, "Cornet".to_owned()));
    assert_eq!((&same.draft, &same.locks), (&table.draft, &table.locks));
    assert!(same.scope.is_empty() && same.notes.is_empty());
    assert_eq!(told, ["Cornet: was Trumpet"]);
    // A part leaves: its notes and lock go, the others move up; all parts may change where it played.
    let (_, gone, told) = follow(RosterEdit::Remove(trumpet));
    assert_eq!(gone.draft.lines.len(), parts - 1);
    assert_eq!(
        gone.draft.lines[tuba - 1].notes,
        table.draft.lines[tuba].notes
    );
    assert_eq!(gone.locks.0.len(), 1);
    assert_eq!(gone.locks.0[0].part, PartId(tuba - 1));
    assert_eq!(
        gone.scope,
        Scope::bars(meters, parts - 1, &[bars(1, 2)], &[])
    );
    assert_eq!(told, ["Trumpet is gone"]);
    assert_eq!(
        gone.notes,
        [
            "Trumpet is gone from the draft with 2 notes; others take over where they can",
            "what was locked of Trumpet is gone with it"
        ]
    );
    // A new part: it alone, everywhere.
    let add = RosterEdit::Add {
        name: "Piccolo".to_owned(),
        instrument: "piccolo".to_owned(),
        players: "1 advanced".to_owned(),
        split: Split::One,
    };
    let (done, new, told) = follow(add);
    let piccolo = part(&done.band, "Piccolo");
    assert_eq!(new.scope, Scope::whole(parts + 1, &[PartId(piccolo)]));
    assert_eq!(new.parts[0], Some(PartId(part(&done.band, "Flute"))));
    assert_eq!(told, ["Piccolo is new"]);
    // Weaker players: what they cannot play any more.
    let (done, weaker, told) = follow(RosterEdit::Players(0, [2, 0, 0, 0, 0]));
    let range = done.band.parts[0].limits.range;
    assert!(!range.contains(table.draft.lines[0].notes[0].pitch));
    let bar = (Tick(0), meters.bar_end(BarNumber(1)));
    assert!(weaker.scope.covers(PartId(3), bar.0, bar.1));
    assert!(!weaker.scope.covers(PartId(3), bar.1, Tick(bar.1.0 + 1)));
    assert!(
        told[0].starts_with("Flute: players of other levels; reaches written "),
        "{told:?}"
    );
}

#[test]
fn sections_keep_their_parts_when_somebody_is_away() {
    let band = read_band(
        "name = \"Some\"\n[[section]]\nname = \"Clarinet\"\ninstrument = \"clarinet_bb\"\nparts = 3\nplayers = { intermediate = 6 }\n[[part]]\nname = \"Tuba\"\ninstrument = \"tuba\"\nplayers = { advanced = 1 }\n",
    )
    .unwrap();
    let empty = super::Table::bare(super::small_song(), band.clone());
    let done = edit(&band, RosterEdit::Absent(seat(0, 0), true));
    let after = carried(&band, &done, &empty.draft, &empty.locks, &empty.song.meters);
    let kept: Vec<_> = after.parts.iter().map(|p| p.map(|p| p.0)).collect();
    assert_eq!(kept, [Some(0), Some(1), Some(2), Some(3)]);
    let renamed = edit(&band, RosterEdit::Rename(0, "Clar".to_owned()));
    let after = carried(
        &band,
        &renamed,
        &empty.draft,
        &empty.locks,
        &empty.song.meters,
    );
    assert_eq!(after.parts.iter().flatten().count(), 4);
    assert!(after.scope.is_empty());
}

fn edits() -> impl Strategy<Value = RosterEdit> {
    let at = 0..8_usize;
    let seat = || (0..8_usize, 0..4_usize).prop_map(|(section, seat)| SeatId { section, seat });
    let words = prop::sample::select(remark_words().chain(["nonsense"]).collect::<Vec<_>>());
    let values = prop::sample::select(vec![
        "C4", "F5", "true", "5", "2.5", "may", "never", "flute", "braces", "x",
    ]);
    let whose = prop_oneof![
        (0..8_usize).prop_map(Whose::Section),
        seat().prop_map(Whose::Seat)
    ];
    let splits = || {
        prop_oneof![
            Just(Split::One),
            (0..4_u8).prop_map(Split::Into),
            Just(Split::Proposed)
        ]
    };
    let instruments =
        || prop::sample::select(vec!["flute", "tuba", "clarinet_bb", "horn", "nothing"]);
    let levels = prop::sample::select(Level::ALL.to_vec());
    prop_oneof![
        (
            "[A-C]{1,2}",
            instruments(),
            prop::sample::select(vec!["2 advanced", "", "1 first-year"]),
            splits()
        )
            .prop_map(|(name, instrument, players, split)| RosterEdit::Add {
                name,
                instrument: instrument.to_owned(),
                players: players.to_owned(),
                split,
            }),
        at.clone().prop_map(RosterEdit::Remove),
        (at.clone(), "[A-C]{1,2}").prop_map(|(a, n)| RosterEdit::Rename(a, n)),
        (at.clone(), 0..9_usize).prop_map(|(a, b)| RosterEdit::Move(a, b)),
        (at.clone(), instruments()).prop_map(|(a, i)| RosterEdit::Instrument(a, i.to_owned())),
        (at.clone(), splits()).prop_map(|(a, s)| RosterEdit::Split(a, s)),
        (at, prop::array::uniform5(0..3_u16)).prop_map(|(a, p)| RosterEdit::Players(a, p)),
        (seat(), levels).prop_map(|(s, l)| RosterEdit::Level(s, l)),
        (seat(), "[a-c]{0,2}").prop_map(|(s, n)| RosterEdit::Name(s, n)),
        (seat(), prop::option::of(0..4_u8)).prop_map(|(s, p)| RosterEdit::PartOf(s, p)),
        (seat(), any::<bool>()).prop_map(|(s, a)| RosterEdit::Absent(s, a)),
        (whose, words, prop::option::of(values)).prop_map(|(w, word, v)| RosterEdit::Remark(
            w,
            word.to_owned(),
            v.map(str::to_owned)
        )),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_edits_leave_a_band_that_can_be_saved(all in vec(edits(), 1..10)) {
        let mut band = six();
        let table = demo();
        for e in all {
            let Ok(done) = edit_roster(&band.roster, &e) else { continue };
            prop_assert!(!done.said.is_empty());
            let rest: Roster = done.band.roster.clone();
            prop_assert_eq!(&rest.band().unwrap(), &done.band);
            let read = read_band(&write_band(&done.band)).unwrap();
            prop_assert_eq!(&read.parts, &done.band.parts, "{:?}", e);
            // No two parts become one, and every part of the same draft has its line.
            let draft = super::Table::bare(super::small_song(), band.clone()).draft;
            let after = carried(&band, &done, &draft, &Default::default(), &table.song.meters);
            let mut kept: Vec<_> = after.parts.iter().flatten().collect();
            kept.sort();
            kept.dedup();
            prop_assert_eq!(kept.len(), after.parts.iter().flatten().count());
            prop_assert_eq!(after.draft.lines.len(), done.band.parts.len());
            band = done.band;
        }
    }
}
