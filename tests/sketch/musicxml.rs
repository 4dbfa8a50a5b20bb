//! MusicXML in: notes, one worked example for each corner.

use super::musicxml_build::{
    COMMON, container, heard, note, note_with, notes, one_part, packed, read, score, warned,
};
use bandwright::music::Tick;
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
