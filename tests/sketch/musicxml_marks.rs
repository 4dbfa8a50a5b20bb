//! MusicXML in: keys, tempos, markers, dynamics and pedal.

use super::musicxml_build::{COMMON, note, note_with, notes, one_part, read};
use bandwright::music::{Dynamic, Mode, Tick};
use bandwright::sketch::read_sketch;

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
