//! Small MusicXML texts for tests, and their readings in short.

use bandwright::sketch::{ReadError, Song, read_any};
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// A score of parts, each a name and what stands in its measures (attributes of `measure`, content).
pub fn score(parts: &[(&str, &[(&str, &str)])]) -> String {
    let mut list = String::new();
    let mut bodies = String::new();
    for (i, (name, measures)) in parts.iter().enumerate() {
        let id = i + 1;
        write!(
            list,
            "<score-part id=\"P{id}\"><part-name>{name}</part-name></score-part>"
        )
        .unwrap();
        write!(bodies, "<part id=\"P{id}\">").unwrap();
        for (attributes, content) in *measures {
            writeln!(bodies, "<measure {attributes}>{content}</measure>").unwrap();
        }
        bodies += "</part>";
    }
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!DOCTYPE score-partwise PUBLIC \
         \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://www.musicxml.org/dtds/partwise.dtd\">\n\
         <score-partwise version=\"4.0\"><part-list>{list}</part-list>{bodies}</score-partwise>"
    )
}

/// A score of one part, its measures numbered from 1.
pub fn one_part(measures: &[&str]) -> String {
    let numbers: Vec<String> = (1..=measures.len())
        .map(|n| format!("number=\"{n}\""))
        .collect();
    let measures: Vec<(&str, &str)> = numbers
        .iter()
        .map(String::as_str)
        .zip(measures.iter().copied())
        .collect();
    score(&[("Piano", &measures)])
}

/// Two divisions a quarter, common time.
pub const COMMON: &str = "<attributes><divisions>2</divisions><time><beats>4</beats>\
    <beat-type>4</beat-type></time></attributes>";

/// A note as `C4`, `F#5`, `Bb3`; `R` is a rest. Length in divisions; the rest goes into the note as it is.
pub fn note_with(name: &str, length: u32, before: &str, after: &str) -> String {
    if name == "R" {
        return format!("<note>{before}<rest/><duration>{length}</duration>{after}</note>");
    }
    let step = &name[..1];
    let octave = &name[name.len() - 1..];
    let alter = match &name[1..name.len() - 1] {
        "" => String::new(),
        "#" => "<alter>1</alter>".to_owned(),
        "b" => "<alter>-1</alter>".to_owned(),
        "x" => "<alter>2</alter>".to_owned(),
        other => format!("<alter>{other}</alter>"),
    };
    let duration = if length == 0 {
        String::new()
    } else {
        format!("<duration>{length}</duration>")
    };
    format!(
        "<note>{before}<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>{duration}{after}</note>"
    )
}

pub fn note(name: &str, length: u32) -> String {
    note_with(name, length, "", "")
}

/// Notes as `C4:2 R:4 D4:2`.
pub fn notes(text: &str) -> String {
    let one = |piece: &str| {
        let (name, length) = piece.split_once(':').unwrap();
        note(name, length.parse().unwrap())
    };
    text.split_whitespace().map(one).collect()
}

pub fn read(text: &str) -> Song {
    read_any(text.as_bytes()).unwrap()
}

pub fn refused(text: &str) -> ReadError {
    read_any(text.as_bytes()).unwrap_err()
}

/// The notes of a track as `onset+length:pitch`, in eighths.
pub fn heard(song: &Song, track: usize) -> String {
    let eighth = u64::from(song.quarter.get()) / 2;
    let ticks = |t: u64| {
        if t.is_multiple_of(eighth) {
            (t / eighth).to_string()
        } else {
            format!("{:.3}", t as f64 / eighth as f64)
        }
    };
    let notes = song.tracks[track].notes.iter();
    let notes: Vec<String> = notes
        .map(|n| {
            format!(
                "{}+{}:{}",
                ticks(n.onset.0),
                ticks(n.duration.0),
                n.pitch.midi()
            )
        })
        .collect();
    notes.join(" ")
}

pub fn warned(song: &Song, word: &str) -> bool {
    song.warnings.iter().any(|w| w.text.contains(word))
}

/// A zip archive of some files.
pub fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, bytes) in files {
        writer.start_file(*name, options).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

/// The container of an archive whose score is that file.
pub fn container(path: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?><container><rootfiles><rootfile full-path=\"{path}\" \
         media-type=\"application/vnd.recordare.musicxml+xml\"/></rootfiles></container>"
    )
}
