//! One part's measures, read in the order of the file.

use super::attributes::{Shift, read_attributes};
use super::direction::{read_direction, read_sound};
use super::dynamics::{Loudness, set_velocities};
use super::instruments::Instruments;
use super::layout::{PartNodes, measure_attribute, measure_number};
use super::measure::{Flow, Grace, Mark, MarkKind, Measure};
use super::note::read_note;
use super::oddities::{Oddities, Place};
use super::tree::{child, child_text, children, name, number, refused, says_yes};
use super::units::{Counted, Units};
use crate::sketch::budget::Budget;
use crate::sketch::song::ReadError;
use crate::sketch::track_bytes::LAST_TICK;
use roxmltree::Node;

/// A part as read.
#[derive(Debug)]
pub(super) struct ReadPart {
    /// Its measures; `None` where a timewise score leaves it out.
    pub(super) measures: Vec<Option<Measure>>,
    /// Whether some of its notes are written at another pitch than they sound.
    pub(super) transposes: bool,
    /// Most staves that its notes stand on.
    pub(super) staves: u8,
}

/// What holds while a part is read.
pub(super) struct PartReader<'p> {
    /// The unit of time.
    pub(super) units: Units,
    /// The part's name.
    pub(super) part: &'p str,
    /// What it sounds by.
    pub(super) instruments: &'p Instruments,
    /// The number of the measure that is read.
    pub(super) number: String,
    /// Divisions of a quarter.
    pub(super) divisions: f64,
    /// How written pitch becomes sounding pitch, by staff; the first is for all others.
    pub(super) shifts: Vec<Shift>,
    /// Where the measure begins, in the order of the file.
    pub(super) start: u64,
    /// Where reading stands in the measure.
    pub(super) now: u64,
    /// Where the note before began.
    pub(super) chord: u64,
    /// The measure so far.
    pub(super) measure: Measure,
    /// Grace notes that wait for their main note: index and slot.
    pub(super) graces: Vec<(usize, u32)>,
    /// How loud things are.
    pub(super) loudness: Loudness,
    /// What was odd.
    pub(super) oddities: &'p mut Oddities,
    /// What may still be read.
    pub(super) budget: &'p mut Budget,
    transposes: bool,
}

/// Reads a part.
///
/// # Errors
/// Where it has far more notes than a sketch, or lasts longer than can be counted.
pub(super) fn read_part(
    nodes: &PartNodes<'_, '_>,
    units: Units,
    oddities: &mut Oddities,
    budget: &mut Budget,
) -> Result<ReadPart, ReadError> {
    let mut reader = PartReader {
        units,
        part: &nodes.name,
        instruments: &nodes.instruments,
        number: String::new(),
        divisions: 1.0,
        shifts: vec![Shift::default()],
        start: 0,
        now: 0,
        chord: 0,
        measure: Measure::default(),
        graces: Vec::new(),
        loudness: Loudness::default(),
        oddities,
        budget,
        transposes: false,
    };
    let mut measures = Vec::with_capacity(nodes.measures.len());
    let mut starts = Vec::with_capacity(nodes.measures.len());
    for node in &nodes.measures {
        starts.push(reader.start);
        measures.push(match node {
            Some(node) => Some(reader.measure(*node)?),
            None => None,
        });
    }
    let loudness = std::mem::take(&mut reader.loudness);
    set_velocities(&loudness, units, &starts, &mut measures);
    let notes = measures.iter().flatten().flat_map(|m| &m.notes);
    let staves = notes.map(|n| n.staff).max().unwrap_or(1);
    Ok(ReadPart {
        measures,
        transposes: reader.transposes,
        staves,
    })
}

impl PartReader<'_> {
    /// Where reading is.
    pub(super) fn place(&self) -> Place<'_> {
        Place {
            part: self.part,
            measure: &self.number,
        }
    }

    /// Tells of something odd.
    pub(super) fn odd(&mut self, kind: &str) {
        let place = Place {
            part: self.part,
            measure: &self.number,
        };
        self.oddities.add(kind, place);
    }

    /// Tells of an element that is not known.
    pub(super) fn unknown(&mut self, element: &str, inside: &str) {
        let place = Place {
            part: self.part,
            measure: &self.number,
        };
        self.oddities.unknown(element, inside, place);
    }

    /// A mark at where reading stands, moved by some ticks.
    pub(super) fn mark(&mut self, at: u64, kind: MarkKind) {
        self.measure.marks.push(Mark { at, kind });
    }

    /// Takes a transposition into use.
    pub(super) fn transposes(&mut self, shift: Shift) {
        self.transposes |= shift != Shift::default();
    }

    fn measure(&mut self, node: Node<'_, '_>) -> Result<Measure, ReadError> {
        self.number = measure_number(node).chars().take(40).collect();
        self.now = 0;
        self.chord = 0;
        self.measure = Measure {
            implicit: measure_attribute(node, "implicit") == Some("yes"),
            number: self.number.clone(),
            ..Measure::default()
        };
        for element in children(node) {
            self.element(element)?;
            if self.start + self.now > LAST_TICK {
                let place = self.place();
                return Err(refused(
                    element,
                    format!(
                        "measure {} of `{}`: the music is longer than can be counted; export the score again",
                        place.measure, place.part
                    ),
                ));
            }
        }
        self.settle_graces();
        let measure = std::mem::take(&mut self.measure);
        self.start += measure.filled.max(measure.rest);
        Ok(measure)
    }

    fn element(&mut self, node: Node<'_, '_>) -> Result<(), ReadError> {
        match name(node) {
            "note" => return read_note(self, node),
            "backup" => self.backup(node),
            "forward" => self.forward(node),
            "attributes" => read_attributes(self, node),
            "direction" => read_direction(self, node),
            "sound" => read_sound(self, node, self.now),
            "barline" => read_barline(self, node),
            "harmony" => self.odd("chord symbols are not read; the notes tell the chords"),
            "figured-bass" => self.odd("figured bass is not read"),
            "print" | "grouping" | "link" | "bookmark" | "listening" => {}
            other => self.unknown(other, "measure"),
        }
        Ok(())
    }

    /// A length that an element tells; nothing where it tells none.
    pub(super) fn length(&mut self, node: Node<'_, '_>) -> Option<u64> {
        let length = number(child_text(node, "duration")?)?;
        if length < 0.0 {
            self.odd("a negative duration counts as none");
        }
        let Counted { ticks, exact } = self.units.count(length, self.divisions);
        if !exact {
            self.odd("lengths were rounded to the nearest tick");
        }
        Some(ticks)
    }

    fn backup(&mut self, node: Node<'_, '_>) {
        self.settle_graces();
        let Some(length) = self.length(node) else {
            self.odd("a backup without a duration was passed over");
            return;
        };
        if length > self.now {
            self.odd("a backup goes before its measure; it stops at the start");
        }
        self.now = self.now.saturating_sub(length);
        self.chord = self.now;
    }

    fn forward(&mut self, node: Node<'_, '_>) {
        self.settle_graces();
        let Some(length) = self.length(node) else {
            self.odd("a forward without a duration was passed over");
            return;
        };
        self.go_on(length, false);
    }

    /// Goes on by a length. A whole-measure rest fills its measure only where nothing else does.
    pub(super) fn go_on(&mut self, length: u64, whole_rest: bool) {
        self.chord = self.now;
        self.now = self.now.saturating_add(length);
        let reach = if whole_rest {
            &mut self.measure.rest
        } else {
            &mut self.measure.filled
        };
        *reach = (*reach).max(self.now);
    }

    /// Gives waiting grace notes to what begins now.
    pub(super) fn settle_graces(&mut self) {
        let of = self.graces.last().map_or(0, |g| g.1 + 1);
        for (index, slot) in std::mem::take(&mut self.graces) {
            if let Some(note) = self.measure.notes.get_mut(index) {
                note.at = self.now;
                note.grace = Some(Grace {
                    left: of - slot,
                    of,
                });
            }
        }
    }
}

/// Reads repeats, endings and signs of a barline.
fn read_barline(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    let flow = &mut reader.measure.flow;
    let label = |element: &str, attribute: &str| {
        let attribute = node.attribute(attribute).map(str::to_owned);
        attribute.or_else(|| child(node, element).map(|_| String::new()))
    };
    flow.segno.extend(label("segno", "segno"));
    flow.coda.extend(label("coda", "coda"));
    for element in children(node) {
        match name(element) {
            "repeat" => read_repeat(flow, element),
            "ending" => match element.attribute("type") {
                Some("start") => flow.ending = Some(passes(element.attribute("number"))),
                Some("stop" | "discontinue") => flow.ending_stops = true,
                _ => {}
            },
            _ => {}
        }
    }
}

fn read_repeat(flow: &mut Flow, node: Node<'_, '_>) {
    if node.attribute("direction") == Some("forward") {
        flow.forward = true;
        return;
    }
    let times = node.attribute("times").and_then(number);
    flow.backward = Some(times.map(|t| t.clamp(1.0, 1e6) as u32));
    flow.after_jump = says_yes(node, "after-jump");
}

/// Numbers of passes in a text like `1, 2` or `1-3`.
pub(super) fn passes(text: Option<&str>) -> Vec<u32> {
    let text = text.unwrap_or("");
    let mut found = Vec::new();
    for piece in text.split([',', ' ', '.', '+', '&']) {
        let mut ends = piece.splitn(2, '-').map(|n| n.trim().parse::<u32>().ok());
        match (ends.next().flatten(), ends.next().flatten()) {
            (Some(from), Some(to)) => found.extend((from..=to).take(100)),
            (Some(one), None) => found.push(one),
            _ => {}
        }
        if found.len() > 100 {
            break;
        }
    }
    found
}
