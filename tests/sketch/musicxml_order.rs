//! MusicXML in: the order in which measures are played, and the bars that they make.

use super::musicxml_build::{COMMON, heard, note, one_part, read, refused, score, warned};
use bandwright::music::{BarNumber, Tick};

fn repeat(direction: &str, more: &str) -> String {
    format!("<barline><repeat direction=\"{direction}\"{more}/></barline>")
}

fn ending(number: &str, kind: &str) -> String {
    format!("<barline><ending number=\"{number}\" type=\"{kind}\"/></barline>")
}

fn pitches(song: &bandwright::sketch::Song) -> String {
    let names: Vec<String> = song.tracks[0]
        .notes
        .iter()
        .map(|n| n.pitch.to_string())
        .collect();
    names.join(" ")
}

#[test]
fn repeats_and_endings_are_played_out() {
    let song = read(&one_part(&[
        &format!("{COMMON}{}{}", repeat("forward", ""), note("C4", 8)),
        &format!(
            "{}{}{}{}",
            ending("1", "start"),
            note("D4", 8),
            ending("1", "stop"),
            repeat("backward", "")
        ),
        &format!(
            "{}{}{}",
            ending("2", "start"),
            note("E4", 8),
            ending("2", "discontinue")
        ),
        &note("F4", 8),
    ]));
    assert_eq!(pitches(&song), "C4 D4 C4 E4 F4");
    assert_eq!(song.tracks[0].notes[4].onset, Tick(16 * 480));
    assert_eq!(song.warnings, []);
    let thrice = read(&one_part(&[
        &format!(
            "{COMMON}{}{}",
            note("C4", 8),
            repeat("backward", " times=\"3\"")
        ),
        &note("D4", 8),
    ]));
    assert_eq!(pitches(&thrice), "C4 C4 C4 D4");
}

fn sound(what: &str) -> String {
    format!(
        "<direction><direction-type><words>x</words></direction-type><sound {what}/></direction>"
    )
}

#[test]
fn jumps_are_played_out() {
    let song = read(&one_part(&[
        &format!("{COMMON}{}", note("C4", 8)),
        &format!("{}{}", sound("segno=\"s\""), note("D4", 8)),
        &format!("{}{}", note("E4", 8), sound("tocoda=\"c\"")),
        &format!("{}{}", note("F4", 8), sound("dalsegno=\"s\"")),
        &format!("{}{}", sound("coda=\"c\""), note("G4", 8)),
    ]));
    assert_eq!(pitches(&song), "C4 D4 E4 F4 D4 E4 G4");
    let fine = read(&one_part(&[
        &format!("{COMMON}{}{}", note("C4", 8), sound("fine=\"yes\"")),
        &format!("{}{}", note("D4", 8), sound("dacapo=\"yes\"")),
    ]));
    assert_eq!(pitches(&fine), "C4 D4 C4");
    let nowhere = refused(&one_part(&[&format!(
        "{COMMON}{}{}",
        note("C4", 8),
        sound("dalsegno=\"s\"")
    )]));
    assert!(
        nowhere.reason.contains("measure 1") && nowhere.reason.contains("segno"),
        "{nowhere}"
    );
    let words =
        "<direction><direction-type><words>D.C. al Fine</words></direction-type></direction>";
    let only_words = read(&one_part(&[&format!("{COMMON}{words}{}", note("C4", 8))]));
    assert!(warned(&only_words, "jump"));
}

#[test]
fn what_holds_is_said_again_after_a_jump() {
    let key =
        |fifths: i32| format!("<attributes><key><fifths>{fifths}</fifths></key></attributes>");
    let song = read(&one_part(&[
        &format!("{COMMON}{}<sound tempo=\"60\"/>{}", key(2), note("C4", 8)),
        &format!("{}{}", repeat("forward", ""), note("C4", 8)),
        &format!(
            "{}<sound tempo=\"120\"/>{}{}",
            key(-1),
            note("D4", 8),
            repeat("backward", "")
        ),
    ]));
    let tempos: Vec<(u64, u32)> = song
        .tempo
        .changes()
        .iter()
        .map(|c| (c.at.0 / 1920, c.micros_per_quarter))
        .collect();
    assert_eq!(
        tempos,
        [(0, 1_000_000), (2, 500_000), (3, 1_000_000), (4, 500_000)]
    );
    let keys: Vec<(u64, i8)> = song
        .keys
        .iter()
        .map(|k| (k.at.0 / 1920, k.signature.fifths()))
        .collect();
    assert_eq!(keys, [(0, 2), (2, -1), (3, 2), (4, -1)]);
}

#[test]
fn a_note_may_sound_in_one_pass_alone() {
    let text = one_part(&[&format!(
        "{COMMON}{}{}{}",
        note("C4", 4),
        note("D4", 4).replace("<note>", "<note time-only=\"2\">"),
        repeat("backward", ""),
    )]);
    assert_eq!(pitches(&read(&text)), "C4 C4 D4");
}

#[test]
fn a_pickup_is_the_end_of_a_full_bar() {
    let song = read(&score(&[(
        "Piano",
        &[
            (
                "number=\"0\" implicit=\"yes\"",
                &format!("{COMMON}{}", note("G4", 2)),
            ),
            ("number=\"1\"", &note("C5", 8)),
        ],
    )]));
    assert_eq!(heard(&song, 0), "6+2:67 8+8:72");
    assert_eq!(song.meters.changes().len(), 1);
    assert_eq!(song.meters.bar(Tick(4 * 480)), BarNumber(2));
    assert!(warned(&song, "pickup"));
}

#[test]
fn a_measure_cut_by_a_repeat_is_one_bar() {
    let song = read(&score(&[(
        "Piano",
        &[
            (
                "number=\"0\" implicit=\"yes\"",
                &format!("{COMMON}{}", note("G4", 2)),
            ),
            ("number=\"1\"", &note("C5", 8)),
            (
                "number=\"2\"",
                &format!("{}{}", note("D5", 6), repeat("backward", "")),
            ),
            ("number=\"X1\" implicit=\"yes\"", &note("E5", 2)),
            ("number=\"3\"", &note("F5", 8)),
        ],
    )]));
    assert_eq!(
        heard(&song, 0),
        "6+2:67 8+8:72 16+6:74 22+2:67 24+8:72 32+6:74 38+2:76 40+8:77"
    );
    assert_eq!(song.meters.changes().len(), 1);
    assert!(!warned(&song, "shorter or longer"));
}

#[test]
fn measures_of_other_lengths_make_bars_of_their_own() {
    let song = read(&one_part(&[
        &format!("{COMMON}{}", note("C4", 8)),
        &note("D4", 6),
        &note("E4", 8),
        &note("F4", 10),
        &note("G4", 8),
    ]));
    let meters: Vec<String> = song
        .meters
        .changes()
        .iter()
        .map(|c| format!("{}:{}", c.at.0 / 240, c.meter))
        .collect();
    assert_eq!(meters, ["0:4/4", "8:3/4", "14:4/4", "22:5/4", "32:4/4"]);
    assert_eq!(song.meters.bar(song.tracks[0].notes[4].onset), BarNumber(5));
    assert!(warned(&song, "shorter or longer"));
}

#[test]
fn rests_of_a_whole_measure_do_not_stretch_it() {
    let rest = "<note><rest measure=\"yes\"/><duration>8</duration></note>";
    let three = "<attributes><divisions>2</divisions><time><beats>3</beats><beat-type>4</beat-type></time></attributes>";
    let song = read(&one_part(&[&format!("{three}{rest}"), &note("C4", 6)]));
    assert_eq!(heard(&song, 0), "6+6:60");
    let empty = read(&one_part(&[
        &format!("{three}{}", note("C4", 6)),
        "",
        &note("D4", 6),
    ]));
    assert_eq!(heard(&empty, 0), "0+6:60 12+6:62");
}

#[test]
fn meters_of_all_kinds_are_read() {
    let time = |inside: &str| {
        format!("<attributes><divisions>2</divisions><time>{inside}</time></attributes>")
    };
    let meter = |inside: &str| {
        let song = read(&one_part(&[
            &format!("{}{}", time(inside), note("C4", 8)),
            &note("D4", 8),
        ]));
        song.meters.changes()[0].meter.to_string()
    };
    assert_eq!(
        meter("<beats>6</beats><beat-type>8</beat-type>"),
        "8/8",
        "too long for its meter"
    );
    let full = |inside: &str, length: u32| {
        let song = read(&one_part(&[
            &format!("{}{}", time(inside), note("C4", length)),
            &note("D4", length),
        ]));
        assert_eq!(song.meters.changes().len(), 1);
        (
            song.meters.changes()[0].meter.to_string(),
            song.warnings.len(),
        )
    };
    assert_eq!(
        full("<beats>3+2</beats><beat-type>8</beat-type>", 5),
        ("5/8".to_owned(), 0)
    );
    assert_eq!(
        full(
            "<beats>2</beats><beat-type>4</beat-type><beats>3</beats><beat-type>8</beat-type>",
            7
        ),
        ("7/8".to_owned(), 0)
    );
    assert_eq!(full("<senza-misura/>", 6), ("3/4".to_owned(), 1));
}
