//! MusicXML in, one worked example for each corner.

use super::musicxml_build::{
    COMMON, container, heard, note, note_with, notes, one_part, packed, read, refused, score,
    warned,
};
use bandwright::music::{BarNumber, Dynamic, Mode, Tick};
use bandwright::sketch::{Taken, Times, quantise, read_any, read_sketch};

fn names(song: &bandwright::sketch::Song) -> String {
    let reading = read_sketch(song, &[]);
    let named = reading.notes.iter().zip(&reading.names);
    let named: Vec<String> = named.map(|(n, name)| name.with_octave(n.pitch)).collect();
    named.join(" ")
}

#[test]
fn notes_rests_and_chords_fall_on_their_times() {
    let text = one_part(&[
        &format!(
            "{COMMON}{}{}",
            notes("C4:2 R:2 E4:4"),
            note_with("G4", 4, "<chord/>", "")
        ),
        &notes("F#4:8"),
    ]);
    let song = read(&text);
    assert_eq!(heard(&song, 0), "0+2:60 4+4:64 4+4:67 8+8:66");
    assert_eq!(song.warnings, []);
    assert_eq!(song.tracks[0].name, "Piano");
    assert!(song.is_written());
}

#[test]
fn partwise_and_timewise_are_the_same() {
    let by_part = score(&[
        (
            "Flute",
            &[
                ("number=\"1\"", &format!("{COMMON}{}", note("C5", 8))),
                ("number=\"2\"", &note("D5", 8)),
            ],
        ),
        (
            "Tuba",
            &[
                ("number=\"1\"", &format!("{COMMON}{}", note("C2", 8))),
                ("number=\"2\"", &note("D2", 8)),
            ],
        ),
    ]);
    let by_time = format!(
        "<score-timewise><part-list><score-part id=\"P1\"><part-name>Flute</part-name></score-part>\
         <score-part id=\"P2\"><part-name>Tuba</part-name></score-part></part-list>\
         <measure number=\"1\"><part id=\"P1\">{COMMON}{}</part><part id=\"P2\">{COMMON}{}</part></measure>\
         <measure number=\"2\"><part id=\"P1\">{}</part><part id=\"P2\">{}</part></measure></score-timewise>",
        note("C5", 8),
        note("C2", 8),
        note("D5", 8),
        note("D2", 8),
    );
    assert_eq!(read(&by_part), read(&by_time));
    assert_eq!(heard(&read(&by_time), 1), "0+8:36 8+8:38");
}

#[test]
fn packed_and_wide_texts_are_the_same() {
    let text = one_part(&[&format!("{COMMON}{}", note("C4", 8))]);
    let plain = read(&text);
    let whole = packed(&[
        (
            "META-INF/container.xml",
            container("in/score.xml").as_bytes(),
        ),
        ("in/score.xml", text.as_bytes()),
    ]);
    assert_eq!(read_any(&whole).unwrap(), plain);
    let bare = read_any(&packed(&[("score.musicxml", text.as_bytes())])).unwrap();
    assert_eq!(bare.tracks, plain.tracks);
    assert!(warned(&bare, "container"));
    let wide = text.replace("UTF-8", "UTF-16");
    let mut bytes = vec![0xFF, 0xFE];
    bytes.extend(wide.encode_utf16().flat_map(u16::to_le_bytes));
    assert_eq!(read_any(&bytes).unwrap(), plain);
}

#[test]
fn divisions_may_differ_by_part_and_measure() {
    let thirds = "<attributes><divisions>3</divisions></attributes>";
    let sevenths = "<attributes><divisions>7</divisions></attributes>";
    let song = read(&score(&[
        (
            "A",
            &[
                ("number=\"1\"", &format!("{COMMON}{}", notes("C4:4 D4:4"))),
                (
                    "number=\"2\"",
                    &format!("{thirds}{}", notes("C4:1 D4:1 E4:1 F4:9")),
                ),
            ],
        ),
        (
            "B",
            &[
                (
                    "number=\"1\"",
                    &format!("{sevenths}{}", notes("C3:1 D3:27")),
                ),
                ("number=\"2\"", &notes("C3:28")),
            ],
        ),
    ]));
    assert_eq!(song.quarter.get(), 3360);
    let onsets: Vec<u64> = song.tracks[0].notes.iter().map(|n| n.onset.0).collect();
    assert_eq!(onsets, [0, 6720, 13_440, 14_560, 15_680, 16_800]);
    assert_eq!(song.tracks[1].notes[1].onset, Tick(480));
    assert_eq!(song.warnings, []);
}

#[test]
fn divisions_without_a_common_number_are_rounded_and_told() {
    let of =
        |n: u32, notes: &str| format!("<attributes><divisions>{n}</divisions></attributes>{notes}");
    let song = read(&score(&[
        ("A", &[("number=\"1\"", &of(1009, &notes("C4:1 D4:4035")))]),
        ("B", &[("number=\"1\"", &of(997, &notes("C3:3988")))]),
    ]));
    assert_eq!(song.quarter.get(), 30_240);
    assert_eq!(song.tracks[0].notes[1].onset, Tick(30));
    assert_eq!(song.tracks[1].notes[0].duration.0, 4 * 30_240);
    assert!(warned(&song, "rounded"));
}

#[test]
fn voices_and_staves_stand_side_by_side() {
    let backup = "<backup><duration>8</duration></backup>";
    let low = note_with("C3", 8, "", "<voice>3</voice><staff>2</staff>");
    let text = one_part(&[
        &format!(
            "{COMMON}{}{backup}{}<forward><duration>2</duration></forward>{}{backup}{low}",
            notes("C5:4 D5:4"),
            notes("E4:2"),
            notes("F4:4"),
        ),
        &format!("{}{backup}{low}", note("C5", 8)),
    ]);
    let song = read(&text);
    assert_eq!(song.tracks.len(), 2, "a track for each hand");
    assert_eq!(
        heard(&song, 0),
        "0+4:72 0+2:64 4+4:65 4+4:74 8+8:72".replace("0+4:72 0+2:64", "0+2:64 0+4:72")
    );
    assert_eq!(heard(&song, 1), "0+8:48 8+8:48");
    assert!(song.tracks.iter().all(|t| t.name == "Piano"));
}

#[test]
fn tied_notes_are_one_across_bars_voices_and_staves() {
    let start = |name| note_with(name, 4, "", "<tie type=\"start\"/><staff>1</staff>");
    let stop = |name, more: &str| {
        note_with(
            name,
            4,
            "",
            &format!("<tie type=\"stop\"/>{more}<voice>2</voice><staff>2</staff>"),
        )
    };
    let text = one_part(&[
        &format!("{COMMON}{}{}", note("R", 4), start("C4")),
        &format!("{}{}", stop("C4", "<tie type=\"start\"/>"), stop("C4", "")),
    ]);
    let song = read(&text);
    assert_eq!(heard(&song, 0), "4+12:60");
    assert_eq!(song.tracks.len(), 1);
    assert_eq!(song.warnings, []);
}

#[test]
fn ties_to_nowhere_are_told() {
    let text = one_part(&[&format!(
        "{COMMON}{}{}",
        note_with("C4", 4, "", "<tie type=\"start\"/>"),
        note_with("D4", 4, "", "<tie type=\"stop\"/>"),
    )]);
    let song = read(&text);
    assert_eq!(heard(&song, 0), "0+4:60 4+4:62");
    assert!(warned(&song, "ties without a note"));
    assert!(warned(&song, "2 times"));
}

#[test]
fn tuplets_last_as_their_durations_say() {
    let triplet = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>";
    let six = "<attributes><divisions>6</divisions></attributes>";
    let notes: String = ["C4", "D4", "E4"]
        .iter()
        .map(|n| note_with(n, 2, "", triplet))
        .collect();
    let song = read(&one_part(&[&format!(
        "{COMMON}{six}{notes}{}",
        note("F4", 18)
    )]));
    assert_eq!(
        heard(&song, 0),
        "0+0.667:60 0.667+0.667:62 1.333+0.667:64 2+6:65"
    );
    let bare = note_with("C4", 0, "", &format!("<type>eighth</type><dot/>{triplet}"));
    let song = read(&one_part(&[&format!("{COMMON}{six}{bare}")]));
    assert_eq!(heard(&song, 0), "0+1:60");
    assert!(warned(&song, "written value"));
}

#[test]
fn grace_notes_stand_before_their_main_note_and_move_nothing() {
    let graces: String = ["A4", "B4"]
        .iter()
        .map(|n| note_with(n, 0, "<grace slash=\"yes\"/>", ""))
        .collect();
    let song = read(&one_part(&[&format!(
        "{COMMON}{}{graces}{}",
        note("C4", 4),
        note("C5", 4)
    )]));
    assert_eq!(
        heard(&song, 0),
        "0+4:60 3.500+0.250:69 3.750+0.250:71 4+4:72"
    );
    let marked: Vec<bool> = song.tracks[0].played.iter().map(|p| p.grace).collect();
    assert_eq!(marked, [false, true, true, false]);
    let reading = read_sketch(&song, &[]);
    assert_eq!(reading.notes.iter().filter(|n| n.grace).count(), 2);
    let at_start = read(&one_part(&[&format!("{COMMON}{graces}{}", note("C5", 8))]));
    assert_eq!(at_start.tracks[0].notes.len(), 3);
    assert_eq!(at_start.tracks[0].notes[2].duration.0, 4 * 480);
    let after = read(&one_part(&[
        &format!("{COMMON}{}{graces}", note("C5", 8)),
        &note("D5", 8),
    ]));
    assert_eq!(
        heard(&after, 0),
        "0+8:72 7.500+0.250:69 7.750+0.250:71 8+8:74"
    );
}

#[test]
fn cue_notes_are_not_played() {
    let song = read(&one_part(&[&format!(
        "{COMMON}{}{}",
        note_with("C5", 4, "<cue/>", ""),
        note("C4", 4)
    )]));
    assert_eq!(heard(&song, 0), "4+4:60");
    assert!(warned(&song, "cue"));
}

#[test]
fn drums_are_played_by_their_numbers() {
    let drum = |id: &str, length: u32| {
        format!(
            "<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>\
             <duration>{length}</duration><instrument id=\"{id}\"/></note>"
        )
    };
    let list = "<score-part id=\"P1\"><part-name>Snare</part-name>\
        <midi-instrument id=\"I1\"><midi-channel>10</midi-channel><midi-unpitched>39</midi-unpitched></midi-instrument>\
        <midi-instrument id=\"I2\"><midi-channel>10</midi-channel><midi-unpitched>37</midi-unpitched></midi-instrument>\
        </score-part>";
    let body = format!(
        "<measure number=\"1\">{COMMON}{}{}{}</measure>",
        drum("I1", 2),
        drum("I2", 2),
        drum("I3", 4)
    );
    let song = read(&format!(
        "<score-partwise><part-list>{list}</part-list><part id=\"P1\">{body}</part></score-partwise>"
    ));
    assert_eq!(heard(&song, 0), "0+2:38 2+2:36");
    assert!(
        song.tracks[0]
            .notes
            .iter()
            .all(bandwright::sketch::Note::is_percussion)
    );
    assert!(warned(&song, "midi-unpitched"));
}

fn transposing(attributes: &str, notes: &str) -> String {
    one_part(&[&format!(
        "<attributes><divisions>2</divisions><key><fifths>2</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>\
         <transpose>{attributes}</transpose></attributes>{notes}"
    )])
}

#[test]
fn transposing_parts_sound_where_they_sound() {
    let b_flat = transposing(
        "<diatonic>-1</diatonic><chromatic>-2</chromatic>",
        &notes("D5:4 C#5:4"),
    );
    let song = read(&b_flat);
    assert_eq!(heard(&song, 0), "0+4:72 4+4:71");
    assert_eq!(song.keys[0].signature.fifths(), 0);
    assert_eq!(names(&song), "C5 B4");
    let tenor = transposing(
        "<chromatic>-2</chromatic><octave-change>-1</octave-change>",
        &notes("D5:8"),
    );
    assert_eq!(heard(&read(&tenor), 0), "0+8:60");
    let doubled = transposing("<chromatic>0</chromatic><double/>", &notes("D4:8"));
    assert_eq!(heard(&read(&doubled), 0), "0+8:50 0+8:62");
    let above = transposing(
        "<chromatic>0</chromatic><double above=\"yes\"/>",
        &notes("D4:8"),
    );
    assert_eq!(heard(&read(&above), 0), "0+8:62 0+8:74");
}

#[test]
fn a_transposition_may_change_on_the_way_and_for_part_moves_nothing() {
    let into = |semitones: i32| {
        format!(
            "<attributes><transpose><chromatic>{semitones}</chromatic></transpose></attributes>"
        )
    };
    let song = read(&one_part(&[
        &format!("{COMMON}{}{}", into(-2), note("D4", 4)),
        &format!("{}{}{}", note("D4", 4), into(-9), note("D4", 4)),
    ]));
    let pitches: Vec<u8> = song.tracks[0]
        .notes
        .iter()
        .map(|n| n.pitch.midi())
        .collect();
    assert_eq!(pitches, [60, 60, 53]);
    let shown = "<attributes><for-part><part-transpose><chromatic>-2</chromatic></part-transpose></for-part></attributes>";
    let song = read(&one_part(&[&format!("{COMMON}{shown}{}", note("D4", 8))]));
    assert_eq!(heard(&song, 0), "0+8:62");
    assert_eq!(song.warnings, []);
}

#[test]
fn octave_signs_change_no_pitch() {
    // MusicXML 4.0, octave-shift: pitches are those that sound, not those seen under the sign.
    let sign = "<direction><direction-type><octave-shift type=\"down\" size=\"8\"/></direction-type></direction>";
    let song = read(&one_part(&[&format!("{COMMON}{sign}{}", note("C6", 8))]));
    assert_eq!(heard(&song, 0), "0+8:84");
    assert_eq!(song.warnings, []);
}

#[test]
fn pitches_between_semitones_are_the_nearest() {
    let song = read(&one_part(&[&format!(
        "{COMMON}{}{}",
        note("C0.54", 4),
        note("C-0.254", 4)
    )]));
    assert_eq!(heard(&song, 0), "0+4:61 4+4:60");
    assert!(warned(&song, "between two semitones"));
}

#[test]
fn the_names_of_the_score_hold() {
    let song = read(&one_part(&[&format!(
        "{COMMON}{}",
        notes("Gb4:2 F#4:2 E#4:2 Fx4:2")
    )]));
    assert_eq!(names(&song), "Gb4 F#4 E#4 F##4");
}

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

#[test]
fn keys_tell_their_mode() {
    let key = |inside: &str| {
        let text = format!(
            "{COMMON}<attributes><key>{inside}</key></attributes>{}",
            note("C4", 8)
        );
        let song = read(&one_part(&[&text]));
        song.keys
            .first()
            .map(|k| (k.signature.fifths(), k.signature.mode()))
    };
    assert_eq!(
        key("<fifths>-3</fifths><mode>minor</mode>"),
        Some((-3, Mode::Minor))
    );
    assert_eq!(key("<fifths>2</fifths>"), Some((2, Mode::Major)));
    assert_eq!(key("<fifths>9</fifths>"), None);
    assert_eq!(key("<key-step>B</key-step><key-alter>-1</key-alter>"), None);
}

#[test]
fn tempos_are_those_of_the_sound_else_of_the_mark() {
    let mark = |sound: &str| {
        format!(
            "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>\
         <per-minute>c. 80</per-minute></metronome></direction-type>{sound}</direction>"
        )
    };
    let tempo = |sound: &str| {
        let song = read(&one_part(&[&format!(
            "{COMMON}{}{}",
            mark(sound),
            note("C4", 8)
        )]));
        song.tempo.quarters_per_minute(Tick::ZERO)
    };
    assert!((tempo("") - 120.0).abs() < 1e-3);
    assert!((tempo("<sound tempo=\"90\"/>") - 90.0).abs() < 1e-3);
}

#[test]
fn rehearsal_marks_and_sections_are_markers() {
    let word =
        |words: &str| format!("<direction><direction-type>{words}</direction-type></direction>");
    let song = read(&one_part(&[
        &format!(
            "{COMMON}{}{}",
            word("<rehearsal>A</rehearsal>"),
            note("C4", 8)
        ),
        &format!(
            "{}{}{}",
            word("<words>dolce</words>"),
            word("<words>Verse 2</words>"),
            note("C4", 8)
        ),
        &format!(
            "{}{}",
            word("<words enclosure=\"rectangle\">Drums only</words>"),
            note("C4", 8)
        ),
    ]));
    let markers: Vec<(u64, &str)> = song
        .markers
        .iter()
        .map(|m| (m.at.0 / 1920, m.text.as_str()))
        .collect();
    assert_eq!(markers, [(0, "A"), (1, "Verse 2"), (2, "Drums only")]);
    assert_eq!(song.warnings, []);
    let over = |more: &str| {
        format!(
            "<direction system=\"only-top\"><direction-type><words font-weight=\"bold\">Fanfare</words></direction-type>{more}</direction>"
        )
    };
    let markers = |direction: String| {
        read(&one_part(&[&format!(
            "{COMMON}{direction}{}",
            note("C4", 8)
        )]))
        .markers
        .len()
    };
    assert_eq!(markers(over("")), 1);
    assert_eq!(
        markers(over("<sound tempo=\"90\"/>")),
        0,
        "words of a tempo"
    );
}

fn velocities(song: &bandwright::sketch::Song) -> Vec<u8> {
    song.tracks[0].notes.iter().map(|n| n.velocity).collect()
}

fn dynamics(mark: &str) -> String {
    format!(
        "<direction><direction-type><dynamics><{mark}/></dynamics></direction-type></direction>"
    )
}

fn wedge(kind: &str) -> String {
    format!("<direction><direction-type><wedge type=\"{kind}\"/></direction-type></direction>")
}

#[test]
fn dynamics_are_velocities() {
    let song = read(&one_part(&[&format!(
        "{COMMON}{}{}{}{}{}{}{}",
        note("C4", 2),
        dynamics("p"),
        note("C4", 2),
        dynamics("sfz"),
        note("C4", 2),
        dynamics("ff"),
        note("C4", 2),
    )]));
    let velocity = Dynamic::velocity;
    assert_eq!(
        velocities(&song),
        [
            velocity(Dynamic::Mf),
            velocity(Dynamic::P),
            velocity(Dynamic::F),
            velocity(Dynamic::Ff)
        ]
    );
    let told = "<direction><direction-type><dynamics><f/></dynamics></direction-type><sound dynamics=\"50\"/></direction>";
    let own = note("C4", 4).replace("<note>", "<note dynamics=\"100\">");
    let song = read(&one_part(&[&format!(
        "{COMMON}{told}{}{own}",
        note("C4", 4)
    )]));
    assert_eq!(velocities(&song), [45, 90]);
}

#[test]
fn hairpins_are_straight_between_dynamics() {
    let song = read(&one_part(&[
        &format!(
            "{COMMON}{}{}{}{}",
            dynamics("p"),
            wedge("crescendo"),
            notes("C4:2 C4:2 C4:2 C4:2"),
            wedge("stop")
        ),
        &format!("{}{}", dynamics("f"), note("C4", 8)),
        &format!(
            "{}{}{}{}",
            wedge("diminuendo"),
            notes("C4:4 C4:4"),
            wedge("stop"),
            ""
        ),
        &note("C4", 8),
    ]));
    assert_eq!(velocities(&song), [49, 61, 73, 85, 97, 97, 89, 81]);
}

#[test]
fn staves_have_dynamics_of_their_own_where_both_have_such() {
    let at = |mark: &str, staff: u8| {
        dynamics(mark).replace(
            "</direction>",
            &format!("<staff>{staff}</staff></direction>"),
        )
    };
    let backup = "<backup><duration>8</duration></backup>";
    let low = note_with("C3", 8, "", "<staff>2</staff>");
    let velocity = |marks: &str| {
        let song = read(&one_part(&[&format!(
            "{COMMON}{marks}{}{backup}{low}",
            note("C5", 8)
        )]));
        (
            song.tracks[0].notes[0].velocity,
            song.tracks[1].notes[0].velocity,
        )
    };
    assert_eq!(velocity(&at("f", 1)), (97, 97));
    assert_eq!(velocity(&format!("{}{}", at("f", 1), at("p", 2))), (97, 49));
}

#[test]
fn the_pedal_is_read() {
    let pedal = |kind: &str| {
        format!("<direction><direction-type><pedal type=\"{kind}\"/></direction-type></direction>")
    };
    let song = read(&one_part(&[&format!(
        "{COMMON}{}{}{}{}{}",
        pedal("start"),
        note("C4", 4),
        pedal("change"),
        note("D4", 4),
        pedal("stop"),
    )]));
    let spans: Vec<(u64, u64)> = song.tracks[0]
        .pedal
        .iter()
        .map(|p| (p.down.0, p.up.0))
        .collect();
    assert_eq!(spans, [(0, 960), (960, 1920)]);
    assert_eq!(song.tracks[0].controls.len(), 4);
    let reading = read_sketch(&song, &[]);
    assert_eq!(reading.notes[0].sounds_until, Tick(960));
}

#[test]
fn rolled_chords_are_marked() {
    let roll = "<notations><arpeggiate/></notations>";
    let song = read(&one_part(&[&format!(
        "{COMMON}{}{}",
        note_with("C4", 8, "", roll),
        note_with("E4", 8, "<chord/>", roll)
    )]));
    assert!(song.tracks[0].played.iter().all(|p| p.rolled));
}

#[test]
fn what_is_unknown_is_told_once_with_a_count_and_layout_not_at_all() {
    let layout = "<print new-page=\"yes\"><system-layout/></print><barline><bar-style>light-heavy</bar-style></barline>";
    let chord = "<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>";
    let song = read(&one_part(&[
        &format!("{COMMON}{layout}{chord}<oddity/>{}", note("C4", 8)),
        &format!(
            "{chord}<oddity/>{}",
            note_with("C4", 8, "", "<stem>up</stem><lyric><text>la</text></lyric>")
        ),
    ]));
    assert_eq!(song.warnings.len(), 2);
    assert!(warned(&song, "chord symbols"));
    assert!(warned(
        &song,
        "`oddity` in `measure` is not known and was passed over (2 times, first in measure 1 of `Piano`)"
    ));
}

#[test]
fn a_score_is_never_quantised() {
    let elevenths = "<attributes><divisions>11</divisions></attributes>";
    let run: String = (0..44).map(|i| note(["C4", "D4"][i % 2], 1)).collect();
    let song = read(&one_part(&[
        &format!("{COMMON}{elevenths}{run}"),
        &run,
        &run,
    ]));
    for times in [Times::Auto, Times::Written, Times::Played] {
        let quantised = quantise(&song, times);
        assert_eq!(quantised.taken, Taken::StepEntered);
        assert_eq!(quantised.song, song);
    }
}

#[test]
fn scores_moved_to_another_key_keep_their_names() {
    let song = read(&one_part(&[&format!(
        "{COMMON}{}",
        notes("C4:2 E4:2 F#4:2 Gb4:2")
    )]));
    let up = bandwright::sketch::transposed(&song, bandwright::music::Interval(2));
    assert_eq!(names(&up), "D4 F#4 G#4 Ab4");
}
