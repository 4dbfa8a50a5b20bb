//! Damaged and hostile MusicXML: read what is there, or refuse it with its place, and never fall over.

use super::musicxml_build::{
    COMMON, container, note, note_with, notes, one_part, packed, read, refused, score, warned,
};
use bandwright::sketch::{read_any, read_sketch};

fn sample() -> String {
    let graces = note_with("B4", 0, "<grace/>", "");
    let tie = |kind: &str| {
        note_with(
            "C5",
            4,
            "",
            &format!("<tie type=\"{kind}\"/><staff>2</staff>"),
        )
    };
    let marks = "<direction><direction-type><dynamics><f/></dynamics></direction-type><sound tempo=\"96\"/></direction>";
    let repeat = "<barline><repeat direction=\"backward\"/></barline>";
    score(&[
        (
            "Piano",
            &[
                (
                    "number=\"1\"",
                    &format!(
                        "{COMMON}{marks}{}{graces}{}",
                        notes("C4:2 E4:2"),
                        tie("start")
                    ),
                ),
                (
                    "number=\"2\"",
                    &format!("{}{}{repeat}", tie("stop"), notes("G4:4")),
                ),
            ],
        ),
        (
            "Horn",
            &[
                (
                    "number=\"1\"",
                    &format!(
                        "{COMMON}<attributes><transpose><chromatic>-7</chromatic></transpose></attributes>{}",
                        notes("C4:8")
                    ),
                ),
                ("number=\"2\"", &notes("R:8")),
            ],
        ),
    ])
}

fn try_reading(bytes: &[u8]) {
    match read_any(bytes) {
        Ok(song) => {
            let _ = read_sketch(&song, &[]);
        }
        Err(error) => assert!(
            !error.reason.is_empty() && !error.reason.contains('\n'),
            "{error}"
        ),
    }
}

#[test]
fn a_file_cut_anywhere_is_refused_or_read() {
    let text = sample();
    assert!(read_any(text.as_bytes()).is_ok());
    for length in 0..text.len() {
        try_reading(&text.as_bytes()[..length]);
    }
    let whole = packed(&[
        ("META-INF/container.xml", container("a.xml").as_bytes()),
        ("a.xml", text.as_bytes()),
    ]);
    for length in 0..whole.len() {
        try_reading(&whole[..length]);
    }
}

#[test]
fn flipped_bytes_are_refused_or_read() {
    let text = sample();
    let whole = packed(&[
        ("META-INF/container.xml", container("a.xml").as_bytes()),
        ("a.xml", text.as_bytes()),
    ]);
    for bytes in [text.as_bytes(), &whole] {
        for place in 0..bytes.len() {
            for mask in [0x01, 0x20, 0x80] {
                let mut bytes = bytes.to_vec();
                bytes[place] ^= mask;
                try_reading(&bytes);
            }
        }
    }
}

#[test]
fn what_is_no_score_is_refused_with_what_to_do() {
    let reason = |text: &str| refused(text).to_string();
    assert!(reason("").contains("empty"));
    assert!(reason("words").contains("neither a MIDI file") && reason("words").contains("MThd"));
    assert!(reason("<html></html>").contains("`html`"));
    assert!(reason("<score-partwise></score-partwise>").contains("no part"));
    assert!(reason("<score-partwise>").contains("before its last element"));
    let broken = reason("<score-partwise>\n<part></measure>\n</score-partwise>");
    assert!(
        broken.starts_with("byte 17") && broken.contains("2:"),
        "{broken}"
    );
    assert!(reason("<score-partwise>\0</score-partwise>").contains("XML"));
    let zip = |files: &[(&str, &[u8])]| read_any(&packed(files)).unwrap_err().reason;
    assert!(zip(&[("a.txt", b"words")]).contains("without a score"));
    assert!(
        zip(&[("META-INF/container.xml", container("gone.xml").as_bytes())]).contains("gone.xml")
    );
    assert!(zip(&[("META-INF/container.xml", b"<container/>")]).contains("names no score"));
}

#[test]
fn deep_nesting_is_refused() {
    for depth in [101, 100_000, 1_000_000] {
        let text = format!(
            "<score-partwise>{}{}</score-partwise>",
            "<a>".repeat(depth),
            "</a>".repeat(depth)
        );
        assert!(refused(&text).reason.contains("inside one another"));
        assert!(
            refused(&"<a>".repeat(depth + 1))
                .reason
                .contains("inside one another")
        );
    }
}

#[test]
fn entities_are_never_fetched_nor_let_grow() {
    let with = |declared: &str, used: &str| {
        one_part(&[&format!("{COMMON}{}", note("C4", 8))])
            .replace("<!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://www.musicxml.org/dtds/partwise.dtd\">",
                &format!("<!DOCTYPE score-partwise [{declared}]>"))
            .replace("<part-name>Piano", &format!("<part-name>{used}"))
    };
    let own = read(&with("<!ENTITY p \"Piano\">", "&p; &amp; more"));
    assert_eq!(own.tracks[0].name, "Piano & more");
    let file = with("<!ENTITY p SYSTEM \"file:///etc/passwd\">", "&p;");
    assert!(
        refused(&file).reason.contains("nothing is fetched"),
        "{}",
        refused(&file)
    );
    let mut bomb = "<!ENTITY a0 \"xxxxxxxxxxxxxxxxxxxx\">".to_owned();
    for i in 1..20 {
        bomb += &format!("<!ENTITY a{i} \"{}\">", format!("&a{};", i - 1).repeat(10));
    }
    assert!(read_any(with(&bomb, "&a19;").as_bytes()).is_err());
    let wide = with(
        &format!("<!ENTITY a \"{}\">", "x".repeat(100_000)),
        &"&a;".repeat(100_000),
    );
    assert!(refused(&wide).reason.contains("entities"));
    let attribute = with(&format!("<!ENTITY a \"{}\">", "x".repeat(100_000)), "x").replace(
        "number=\"1\"",
        &format!("number=\"{}\"", "&a;".repeat(100_000)),
    );
    assert!(refused(&attribute).reason.contains("entities"));
    assert!(read_any(with("<!ENTITY a \"&a;\">", "&a;").as_bytes()).is_err());
}

#[test]
fn archives_that_grow_without_end_are_refused() {
    let zeros = vec![b' '; 40 * 1024 * 1024];
    let bomb = packed(&[
        ("META-INF/container.xml", container("a.xml").as_bytes()),
        ("a.xml", &zeros),
    ]);
    assert!(bomb.len() < 100_000);
    let error = read_any(&bomb).unwrap_err();
    assert!(error.reason.contains("unpacks to more"), "{error}");
    let names: Vec<String> = (0..1001).map(|i| format!("{i}.xml")).collect();
    let many: Vec<(&str, &[u8])> = names.iter().map(|n| (n.as_str(), &b"x"[..])).collect();
    assert!(
        read_any(&packed(&many))
            .unwrap_err()
            .reason
            .contains("1000 files")
    );
}

#[test]
fn absurd_numbers_are_refused_or_told() {
    let many = [
        "0",
        "-1",
        "1e308",
        "-1e308",
        "NaN",
        "inf",
        "",
        "x",
        "99999999999999999999",
        "0.0000001",
    ];
    for number in many {
        for place in [
            "divisions",
            "beats",
            "beat-type",
            "fifths",
            "chromatic",
            "octave-change",
            "octave",
            "alter",
            "duration",
            "staff",
            "per-minute",
        ] {
            let text = one_part(&[&format!(
                "<attributes><divisions>2</divisions><key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>\
                 <transpose><diatonic>1</diatonic><chromatic>2</chromatic><octave-change>0</octave-change></transpose></attributes>\
                 <direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>60</per-minute></metronome></direction-type></direction>\
                 {}<backup><duration>1</duration></backup><forward><duration>1</duration></forward>",
                note_with("C1.54", 8, "", "<staff>1</staff>"),
            )]);
            let from = text.find(&format!("<{place}>")).unwrap() + place.len() + 2;
            let to = from + text[from..].find('<').unwrap();
            try_reading(format!("{}{number}{}", &text[..from], &text[to..]).as_bytes());
            let everywhere = text.split(&format!("<{place}>")).collect::<Vec<_>>();
            try_reading(everywhere.join(&format!("<{place}>{number}")).as_bytes());
        }
    }
    let endless = note("C4", 4_000_000_000).repeat(400);
    let error = refused(&one_part(&[&format!("{COMMON}{endless}")]));
    assert!(
        error.reason.contains("longer than can be counted")
            && error.reason.contains("measure 1 of `Piano`"),
        "{error}"
    );
    assert!(warned(
        &read(&one_part(&[&format!(
            "{COMMON}<backup><duration>4</duration></backup>{}",
            note("C4", 8)
        )])),
        "before its measure"
    ));
}

#[test]
fn endless_repeats_are_refused() {
    let text = one_part(&[&format!(
        "{COMMON}{}<barline><repeat direction=\"backward\" times=\"4000000000\"/></barline>",
        note("C4", 8)
    )]);
    let error = refused(&text);
    assert!(
        error.reason.contains("20000 measures") && error.reason.contains("measure 1"),
        "{error}"
    );
}

#[test]
fn far_more_notes_than_a_sketch_are_refused() {
    let bar = note("C4", 1).repeat(8);
    let text = one_part(&[&format!("{COMMON}{}", bar.repeat(37_600))]);
    assert!(refused(&text).reason.contains("more than 300000 notes"));
    let repeated = one_part(&[&format!(
        "{COMMON}{}<barline><repeat direction=\"backward\" times=\"10000\"/></barline>",
        bar.repeat(8)
    )]);
    assert!(refused(&repeated).reason.contains("more than 300000 notes"));
}

#[test]
fn warnings_stay_few_whatever_the_words() {
    let invented: String = (0..1000).map(|i| format!("<x{i}/>")).collect();
    let song = read(&one_part(&[&format!(
        "{COMMON}{invented}{}",
        note("C4", 8)
    )]));
    assert!(song.warnings.len() <= 101);
    assert!(warned(&song, "more things"));
}
