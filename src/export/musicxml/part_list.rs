//! The list of parts at the head of a score: names, brackets, instruments and how they sound.

use super::ScoreInput;
use super::drums::drum;
use super::parts::{Owner, ScorePart};
use super::xml::Xml;
use crate::band::{Part, PartId};
use crate::export::channels::{PERCUSSION, Seat};
use crate::sketch::Note;
use std::collections::BTreeSet;

/// The number of the brackets over regions of the score, and of those over sections.
const REGION: &str = "1";
const SECTION: &str = "2";

/// The id of a part.
pub(super) fn part_id(part: &ScorePart) -> String {
    format!("P{}", part.number)
}

/// The id of a drum of a part.
pub(super) fn drum_id(part: &ScorePart, key: u8) -> String {
    format!("P{}-D{key}", part.number)
}

/// Writes the list.
pub(super) fn part_list(
    xml: &mut Xml,
    input: &ScoreInput<'_>,
    parts: &[ScorePart],
    seats: &[Seat],
) {
    let section = |part: &ScorePart| match part.owner {
        Owner::Part(id) => input.band.parts.get(id.0).map(|p| &p.instrument.id),
        Owner::Sketch | Owner::Drums(_) => None,
    };
    xml.inside("part-list", &[], |xml| {
        for (i, part) in parts.iter().enumerate() {
            let before = i.checked_sub(1).and_then(|i| parts.get(i));
            let after = parts.get(i + 1);
            let near = |other: Option<&ScorePart>| other.is_some_and(|o| o.group == part.group);
            // A section is two parts or more of one instrument.
            let kin = |other: Option<&ScorePart>| {
                near(other) && section(part).is_some() && other.and_then(section) == section(part)
            };
            if part.group.is_some() && !near(before) {
                begin_region(xml);
            }
            if !kin(before) && kin(after) {
                let attributes = [("type", "start"), ("number", SECTION)];
                xml.inside("part-group", &attributes, |xml| {
                    xml.text("group-symbol", "square");
                    xml.text("group-barline", "yes");
                });
            }
            score_part(xml, input, part, seats);
            if kin(before) && !kin(after) {
                xml.empty("part-group", &[("type", "stop"), ("number", SECTION)]);
            }
            if part.group.is_some() && !near(after) {
                xml.empty("part-group", &[("type", "stop"), ("number", REGION)]);
            }
        }
    });
}

fn begin_region(xml: &mut Xml) {
    let attributes = [("type", "start"), ("number", REGION)];
    xml.inside("part-group", &attributes, |xml| {
        xml.text("group-symbol", "bracket");
        xml.text("group-barline", "yes");
    });
}

fn score_part(xml: &mut Xml, input: &ScoreInput<'_>, part: &ScorePart, seats: &[Seat]) {
    xml.inside("score-part", &[("id", &part_id(part))], |xml| {
        xml.text("part-name", &part.name);
        xml.text("part-abbreviation", &part.short);
        match part.owner {
            Owner::Part(id) => {
                if let Some(own) = input.band.parts.get(id.0) {
                    instrument(xml, part, own, seat(seats, id));
                }
            }
            Owner::Sketch => piano(xml, input, part),
            Owner::Drums(_) => drums(xml, part),
        }
    });
}

fn seat(seats: &[Seat], id: PartId) -> u8 {
    seats.get(id.0).map_or(0, |s| s.channel)
}

fn instrument(xml: &mut Xml, part: &ScorePart, own: &Part, channel: u8) {
    let id = format!("P{}-I1", part.number);
    xml.inside("score-instrument", &[("id", &id)], |xml| {
        xml.text("instrument-name", &own.instrument.name);
        xml.text("instrument-sound", &own.instrument.sound_id);
    });
    midi(xml, &id, channel, own.instrument.program);
}

fn piano(xml: &mut Xml, input: &ScoreInput<'_>, part: &ScorePart) {
    let id = format!("P{}-I1", part.number);
    xml.inside("score-instrument", &[("id", &id)], |xml| {
        xml.text("instrument-name", "Piano");
        xml.text("instrument-sound", "keyboard.piano");
    });
    let tracks = input.song.tracks.iter().enumerate();
    let notes = tracks.filter(|(i, _)| !input.own.contains(i));
    let mut notes = notes.flat_map(|(_, t)| &t.notes);
    let channel = notes.find(|n: &&Note| !n.is_percussion());
    midi(xml, &id, channel.map_or(0, |n| n.channel & 0x0F), 0);
}

/// Channels and programs are counted from 1 in these files.
fn midi(xml: &mut Xml, id: &str, channel: u8, program: u8) {
    xml.inside("midi-instrument", &[("id", id)], |xml| {
        xml.number("midi-channel", channel + 1);
        xml.number("midi-program", (program & 0x7F) + 1);
    });
}

fn drums(xml: &mut Xml, part: &ScorePart) {
    let inputs = part.staves.iter().flat_map(|s| &s.inputs);
    let keys: BTreeSet<u8> = inputs.map(|n| n.pitch.midi()).collect();
    for key in &keys {
        let drum = drum(*key);
        xml.inside("score-instrument", &[("id", &drum_id(part, *key))], |xml| {
            xml.text("instrument-name", drum.name);
            if let Some(sound) = drum.sound {
                xml.text("instrument-sound", sound);
            }
        });
    }
    for key in &keys {
        xml.inside("midi-instrument", &[("id", &drum_id(part, *key))], |xml| {
            xml.number("midi-channel", PERCUSSION + 1);
            xml.number("midi-program", 1_u8);
            xml.number("midi-unpitched", key + 1);
        });
    }
}
