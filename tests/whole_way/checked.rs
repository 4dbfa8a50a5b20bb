//! The checker itself: a sound draft passes, and each way to spoil it is seen.

use super::strategies::retold;
use super::{fixed_by, go};
use crate::checker::{Case, faults};
use crate::midi_file::{File, Lane, tone};
use bandwright::band::{
    Band, Exposure, GoEasy, NotesPerSecond, Remarks, find_instrument, read_band,
};
use bandwright::music::{Sounding, Tick, Ticks};
use bandwright::score::{Draft, DraftNote, TuneRules};

fn band() -> Band {
    let text = "name = \"Trio\"
[[part]]
name = \"Flute\"
instrument = \"flute\"
players = { advanced = 1 }
[[part]]
name = \"Clarinet\"
instrument = \"clarinet_bb\"
players = { advanced = 1 }
remarks = { no_leaps_over = 12 }
[[part]]
name = \"Tuba\"
instrument = \"tuba\"
players = { advanced = 1 }
";
    read_band(text).unwrap()
}

fn sketch() -> File {
    let tune = (0..16).map(|i| tone(i * 480, 72 + [0, 4, 7, 4][i as usize % 4], 480));
    let chords = (0..4).flat_map(|b| [48, 60, 64, 67].map(|p| tone(b * 1920, p, 1920)));
    let mut file = File::piano(tune.chain(chords).collect());
    file.lanes.push(Lane::new(
        "Tuba",
        vec![tone(1920, 36, 960), tone(2880, 43, 960)],
    ));
    file
}

/// What the checker says once a draft was changed.
fn spoiled(change: impl FnOnce(&mut Draft)) -> Vec<String> {
    let (band, song) = (band(), sketch().song());
    let way = go(&song, &band, None);
    let case = Case {
        band: &band,
        reading: &way.reading,
        meters: &song.meters,
        tempo: &song.tempo,
        keys: super::keys(&way, &song),
        fixed: fixed_by(&song, &band, &song),
        tune: TuneRules::default(),
    };
    let mut draft = way.voiced.draft;
    change(&mut draft);
    faults(&case, &draft)
}

fn assert_seen(word: &str, change: impl FnOnce(&mut Draft)) {
    let found = spoiled(change);
    assert!(found.iter().any(|f| f.contains(word)), "{word}: {found:?}");
}

/// What the checker says of a sound draft once the director spoke.
fn said_after(part: usize, remarks: Remarks, change: impl FnOnce(&mut Draft)) -> Vec<String> {
    let (mut band, song) = (band(), sketch().song());
    let way = go(&song, &band, None);
    band.parts[part] = retold(&band.parts[part], remarks).unwrap();
    let case = Case {
        band: &band,
        reading: &way.reading,
        meters: &song.meters,
        tempo: &song.tempo,
        keys: super::keys(&way, &song),
        fixed: fixed_by(&song, &band, &song),
        tune: TuneRules::default(),
    };
    let mut draft = way.voiced.draft;
    change(&mut draft);
    faults(&case, &draft)
}

#[test]
fn every_broken_remark_is_seen() {
    let seen = |word: &str, part, remarks| {
        let found = said_after(part, remarks, |_| {});
        assert!(found.iter().any(|f| f.contains(word)), "{word}: {found:?}");
    };
    let plain = Remarks::default;
    let rests_every = Some(1);
    seen(
        "plays on end",
        2,
        Remarks {
            rests_every,
            ..plain()
        },
    );
    let no_faster_than = Some(NotesPerSecond(0.4));
    seen(
        " s after ",
        2,
        Remarks {
            no_faster_than,
            ..plain()
        },
    );
    let accidentals_at_most = Some(1);
    seen(
        "a key of 2 signs",
        1,
        Remarks {
            accidentals_at_most,
            ..plain()
        },
    );
    let doubles = find_instrument("clarinet_bb");
    seen("by the same player", 0, Remarks { doubles, ..plain() });
    let never = || Remarks {
        exposure: Exposure::Never,
        ..plain()
    };
    let alone = said_after(0, never(), |d| {
        d.lines[1].notes.clear();
        d.lines[2].notes.retain(|n| n.locked);
    });
    for word in ["nobody has it too", "is heard alone"] {
        assert!(alone.iter().any(|f| f.contains(word)), "{word}: {alone:?}");
    }
    let go_easy = Some(GoEasy::Injury);
    seen(
        "plays on end",
        2,
        Remarks {
            go_easy,
            rests_every,
            ..plain()
        },
    );
    assert_eq!(said_after(1, plain(), |_| {}), Vec::<String>::new());
}

fn free(draft: &mut Draft, part: usize) -> &mut DraftNote {
    let notes = draft.lines[part].notes.iter_mut();
    notes.rev().find(|n| !n.locked).unwrap()
}

#[test]
fn a_sound_draft_passes() {
    assert_eq!(spoiled(|_| {}), Vec::<String>::new());
}

#[test]
fn every_way_to_spoil_a_draft_is_seen() {
    let pitch = |midi| Sounding::new(midi).unwrap();
    assert_seen("is outside", |d| free(d, 0).pitch = pitch(12));
    assert_seen("is foreign", |d| free(d, 0).pitch = pitch(73));
    assert_seen("is lost", |d| {
        for line in &mut d.lines {
            line.notes.retain(|n| n.onset != Tick(480));
        }
    });
    assert_seen("has no length", |d| free(d, 0).duration = Ticks(0));
    assert_seen("has velocity 0", |d| free(d, 0).velocity = 0);
    assert_seen("out of order", |d| d.lines[0].notes.reverse());
    assert_seen("sounds under", |d| {
        let mut twin = *free(d, 0);
        twin.pitch = pitch(79);
        d.lines[0].notes.push(twin);
    });
    assert_seen("is over 12", |d| {
        let last = *free(d, 1);
        let far = if last.pitch.midi() > 70 { 55 } else { 79 };
        d.lines[1].notes.push(DraftNote {
            pitch: pitch(far),
            onset: last.end(),
            ..last
        });
    });
    assert_seen("fixed were", |d| d.lines[2].notes.retain(|n| !n.locked));
    assert_seen("fixed were", |d| {
        let locked = d.lines[2].notes.iter_mut().find(|n| n.locked);
        locked.unwrap().velocity += 1;
    });
    assert_seen("in a fixed bar", |d| {
        let locked = d.lines[2].notes.iter_mut().find(|n| n.locked);
        locked.unwrap().locked = false;
    });
    assert_seen("not one line for every part", |d| {
        d.lines.pop();
    });
}
