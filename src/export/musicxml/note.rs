//! Notes, chords and rests as elements.

use super::beside::Beside;
use super::directions::editorial;
use super::drums::drum;
use super::part_list::drum_id;
use super::parts::{ScorePart, Stave, StaveClef};
use super::units::Clock;
use super::xml::Xml;
use crate::notation::{Event, Reach, WrittenBar, WrittenNote, WrittenVoice};

/// The velocity that the standard counts loudness in percent of (MusicXML 4.0, `dynamics` of a note).
const FULL: f64 = 90.0;

/// What the notes of a stave are written with.
pub(super) struct Pen<'a> {
    pub(super) part: &'a ScorePart,
    pub(super) stave: &'a Stave,
    /// The number of the stave in the part, from 1; none where it is the only one.
    pub(super) number: Option<usize>,
    pub(super) clock: Clock,
    /// What its notes have to them.
    pub(super) beside: &'a Beside<'a>,
}

/// Where something is written.
#[derive(Clone, Copy)]
pub(super) struct Place<'a> {
    pub(super) bar: &'a WrittenBar,
    pub(super) voice: &'a WrittenVoice,
    /// The voice's number in the part, from 1.
    pub(super) voice_number: usize,
    /// Which of the voice's events.
    pub(super) index: usize,
}

impl Pen<'_> {
    /// Writes an event of a voice.
    pub(super) fn event(&self, xml: &mut Xml, event: &Event, place: Place<'_>) {
        if event.is_rest() {
            xml.inside("note", &[], |xml| self.rest(xml, event, place));
            return;
        }
        for (at, note) in event.notes.iter().enumerate() {
            let attributes = self.attributes(event, note, place.bar);
            let attributes: Vec<(&str, &str)> =
                (attributes.iter()).map(|(k, v)| (*k, v.as_str())).collect();
            xml.inside("note", &attributes, |xml| {
                self.note(xml, event, (at, note), place);
            });
        }
    }

    fn rest(&self, xml: &mut Xml, event: &Event, place: Place<'_>) {
        if event.whole_bar {
            xml.empty("rest", &[("measure", "yes")]);
        } else {
            xml.empty("rest", &[]);
        }
        self.duration(xml, event, place.bar);
        xml.text("voice", &place.voice_number.to_string());
        if !event.whole_bar {
            value(xml, event);
            time_modification(xml, event);
        }
        self.staff(xml);
        notations(xml, |xml| tuplets(xml, place));
    }

    fn note(
        &self,
        xml: &mut Xml,
        event: &Event,
        (at, note): (usize, &WrittenNote),
        place: Place<'_>,
    ) {
        if at > 0 {
            xml.empty("chord", &[]);
        }
        let key = self
            .stave
            .inputs
            .get(note.index)
            .map_or(0, |n| n.pitch.midi());
        match self.stave.clef {
            StaveClef::Pitched(_) => pitch(xml, note),
            StaveClef::Percussion => unpitched(xml, key),
        }
        self.duration(xml, event, place.bar);
        if note.tied_from {
            xml.empty("tie", &[("type", "stop")]);
        }
        if note.tied_to {
            xml.empty("tie", &[("type", "start")]);
        }
        if self.stave.clef == StaveClef::Percussion {
            xml.empty("instrument", &[("id", &drum_id(self.part, key))]);
        }
        if let Some(reason) = self
            .beside
            .remarks
            .get(&note.index)
            .filter(|_| !note.tied_from)
        {
            editorial(xml, reason);
        }
        xml.text("voice", &place.voice_number.to_string());
        value(xml, event);
        if let Some(sign) = note
            .accidental
            .filter(|_| self.stave.clef != StaveClef::Percussion)
        {
            xml.text("accidental", sign.word());
        }
        time_modification(xml, event);
        if self.stave.clef == StaveClef::Percussion && drum(key).crossed {
            xml.text("notehead", "x");
        }
        self.staff(xml);
        if at == 0 {
            beams(xml, place);
        }
        let last = !note.tied_to && self.beside.breaths.contains(&note.index);
        notations(xml, |xml| {
            if note.tied_from {
                xml.empty("tied", &[("type", "stop")]);
            }
            if note.tied_to {
                xml.empty("tied", &[("type", "start")]);
            }
            if at == 0 {
                tuplets(xml, place);
            }
            if last {
                xml.inside("articulations", &[], |xml| {
                    xml.text_with("breath-mark", &[("placement", "above")], "comma");
                });
            }
        });
    }

    /// How loud a note is struck; and where it begins or ends beside what is written, where it was not
    /// entered in steps.
    fn attributes(
        &self,
        event: &Event,
        note: &WrittenNote,
        bar: &WrittenBar,
    ) -> Vec<(&'static str, String)> {
        let mut attributes = Vec::new();
        let Some(input) = self.stave.inputs.get(note.index) else {
            return attributes;
        };
        if let Some(velocity) = self.stave.velocities.get(note.index) {
            let percent = format!("{:.2}", 100.0 * f64::from(*velocity) / FULL);
            let percent = percent.trim_end_matches('0').trim_end_matches('.');
            attributes.push(("dynamics", percent.to_owned()));
        }
        let off = |at, place| {
            let off = self.clock.since_start(bar, at) - self.clock.place(bar, place);
            Some(self.clock.of_file(off)).filter(|off| *off != 0)
        };
        if !note.tied_from
            && let Some(early) = off(input.onset, event.place)
        {
            attributes.push(("attack", early.to_string()));
        }
        if !note.tied_to
            && let Some(late) = off(input.onset + input.duration, event.end())
        {
            attributes.push(("release", late.to_string()));
        }
        attributes
    }

    fn duration(&self, xml: &mut Xml, event: &Event, bar: &WrittenBar) {
        let length = self.clock.place(bar, event.end()) - self.clock.place(bar, event.place);
        xml.number("duration", self.clock.of_file(length));
    }

    fn staff(&self, xml: &mut Xml) {
        if let Some(number) = self.number {
            xml.text("staff", &number.to_string());
        }
    }
}

fn pitch(xml: &mut Xml, note: &WrittenNote) {
    xml.inside("pitch", &[], |xml| {
        xml.text("step", &format!("{:?}", note.name.letter));
        if note.name.alteration != 0 {
            xml.number("alter", note.name.alteration);
        }
        xml.number("octave", note.place.step.div_euclid(7));
    });
}

fn unpitched(xml: &mut Xml, key: u8) {
    let (letter, octave) = drum(key).place;
    xml.inside("unpitched", &[], |xml| {
        xml.text("display-step", letter);
        xml.number("display-octave", octave);
    });
}

fn value(xml: &mut Xml, event: &Event) {
    xml.text("type", event.value.base.word());
    for _ in 0..event.value.dots {
        xml.empty("dot", &[]);
    }
}

fn time_modification(xml: &mut Xml, event: &Event) {
    if let Some(tuplet) = event.value.tuplet {
        xml.inside("time-modification", &[], |xml| {
            xml.number("actual-notes", tuplet.actual);
            xml.number("normal-notes", tuplet.normal);
        });
    }
}

/// The beams at an event, the outermost first.
fn beams(xml: &mut Xml, place: Place<'_>) {
    for group in &place.voice.beams {
        let Some(at) = group.events.iter().position(|e| *e == place.index) else {
            continue;
        };
        let words = group.lines.iter().filter_map(|line| {
            let word = match line.reach {
                Reach::Between { from, .. } if at == from => "begin",
                Reach::Between { to, .. } if at == to => "end",
                Reach::Between { from, to } if from < at && at < to => "continue",
                Reach::Hook {
                    at: own,
                    rightwards: true,
                } if at == own => "forward hook",
                Reach::Hook { at: own, .. } if at == own => "backward hook",
                Reach::Between { .. } | Reach::Hook { .. } => return None,
            };
            Some((line.level, word))
        });
        let mut words: Vec<(u8, &str)> = words.collect();
        words.sort_unstable();
        for (level, word) in words {
            xml.text_with("beam", &[("number", &level.to_string())], word);
        }
    }
}

fn tuplets(xml: &mut Xml, place: Place<'_>) {
    for tuplet in &place.voice.tuplets {
        for (at, end) in [(tuplet.from, "start"), (tuplet.to, "stop")] {
            if at == place.index {
                xml.empty("tuplet", &[("type", end), ("number", "1")]);
            }
        }
    }
}

/// Writes what stands with a note, if anything does.
fn notations(xml: &mut Xml, content: impl Fn(&mut Xml)) {
    xml.inside_if_any("notations", content);
}
