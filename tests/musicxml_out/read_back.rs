//! A plain reader of what leaves as MusicXML: it follows durations, backups, ties and transpositions as the
//! standard tells them, and fails where they do not fit together. It shares no code with the writer.

use roxmltree::{Document, Node};
use std::collections::BTreeMap;

/// A note as it sounds. Times are in ticks of the song.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Heard {
    pub onset: i64,
    pub duration: i64,
    /// MIDI number; for drums their key.
    pub pitch: i64,
    pub velocity: i64,
}

/// A part as it was read.
#[derive(Clone, Debug, Default)]
pub struct HeardPart {
    pub name: String,
    pub notes: Vec<Heard>,
    /// Where each measure begins, in ticks; one more at the end.
    pub measures: Vec<i64>,
    /// Written signatures with their ticks.
    pub keys: Vec<(i64, i64)>,
    pub meters: Vec<(i64, i64, i64)>,
    /// Quarters a minute with their ticks.
    pub tempos: Vec<(i64, f64)>,
    /// Text of rehearsal marks and words, with their ticks.
    pub words: Vec<(i64, String)>,
}

pub fn child<'a>(node: Node<'a, 'a>, name: &str) -> Option<Node<'a, 'a>> {
    node.children().find(|c| c.has_tag_name(name))
}

pub fn text<'a>(node: Node<'a, 'a>, name: &str) -> Option<&'a str> {
    child(node, name).and_then(|c| c.text())
}

fn number(node: Node<'_, '_>, name: &str) -> Option<i64> {
    let found = node.children().find(|c| c.has_tag_name(name))?;
    Some(found.text().unwrap().parse().unwrap())
}

/// Reads a whole score; `quarter` is the song's ticks of a quarter.
pub fn read_back(bytes: &[u8], quarter: u16) -> Vec<HeardPart> {
    let source = std::str::from_utf8(bytes).unwrap();
    let tree = Document::parse(source).unwrap();
    let root = tree.root_element();
    assert!(root.has_tag_name("score-partwise"));
    let list = child(root, "part-list").unwrap();
    let listed: Vec<Node<'_, '_>> = list
        .children()
        .filter(|c| c.has_tag_name("score-part"))
        .collect();
    let parts: Vec<Node<'_, '_>> = root.children().filter(|c| c.has_tag_name("part")).collect();
    assert_eq!(listed.len(), parts.len());
    let pairs = listed.into_iter().zip(parts);
    pairs
        .map(|(about, part)| {
            assert_eq!(about.attribute("id"), part.attribute("id"));
            let name = text(about, "part-name").unwrap_or_default().to_owned();
            let drums = about
                .children()
                .filter(|c| c.has_tag_name("midi-instrument"))
                .filter_map(|m| {
                    let key = number(m, "midi-unpitched")? - 1;
                    Some((m.attribute("id")?.to_owned(), key))
                });
            let mut reader = Reader {
                quarter: i64::from(quarter),
                drums: drums.collect(),
                ..Reader::default()
            };
            reader.heard.name = name;
            reader.part(part);
            reader.heard
        })
        .collect()
}

/// A head as it is written, in divisions from the start of the part; with what it says of its playing.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Head {
    start: i64,
    end: i64,
    pitch: i64,
    staff: i64,
    from: bool,
    to: bool,
    attack: i64,
    release: i64,
    velocity: i64,
}

/// Follows ties: from a head to the next of its pitch and stave that begins where it ends, or to one after that
/// where a voice was cut short.
fn joined(mut heads: Vec<Head>, part: &str) -> Vec<(Head, Head)> {
    heads.sort();
    let mut waiting: Vec<(Head, Head)> = Vec::new();
    let mut notes = Vec::new();
    for head in heads {
        let mut first = head.clone();
        if head.from {
            let fits = |(_, last): &(Head, Head)| {
                (last.pitch, last.staff) == (head.pitch, head.staff) && last.end <= head.start
            };
            let fitting = waiting.iter().enumerate().filter(|(_, w)| fits(w));
            let best = fitting.max_by_key(|(i, w)| (w.1.end, std::cmp::Reverse(*i)));
            let (at, _) = best.unwrap_or_else(|| panic!("a tie from nowhere in {part}"));
            first = waiting.remove(at).0;
        }
        if head.to {
            waiting.push((first, head));
        } else {
            notes.push((first, head));
        }
    }
    assert!(waiting.is_empty(), "a tie that does not end in {part}");
    notes
}

#[derive(Default)]
struct Reader {
    quarter: i64,
    divisions: i64,
    drums: BTreeMap<String, i64>,
    transpose: i64,
    /// Where the measure begins, in divisions.
    start: i64,
    /// Where the next thing is, in divisions from the start of the measure.
    now: i64,
    /// Where the last note began.
    struck: i64,
    furthest: i64,
    heads: Vec<Head>,
    heard: HeardPart,
}

impl Reader {
    fn part(&mut self, part: Node<'_, '_>) {
        for (i, measure) in part.children().filter(Node::is_element).enumerate() {
            assert!(measure.has_tag_name("measure"));
            assert_eq!(
                measure.attribute("number"),
                Some((i + 1).to_string().as_str())
            );
            (self.now, self.furthest) = (0, 0);
            for (at, item) in measure.children().filter(Node::is_element).enumerate() {
                if at == 0 && i == 0 {
                    self.divisions = number(item, "divisions").unwrap();
                    assert!(self.divisions > 0);
                }
                if at == 0 {
                    let begins = self.ticks(self.start);
                    self.heard.measures.push(begins);
                }
                self.item(item);
            }
            assert_eq!(self.now, self.furthest, "the last voice fills the measure");
            self.start += self.furthest;
        }
        let end = self.ticks(self.start);
        self.heard.measures.push(end);
        let notes = joined(std::mem::take(&mut self.heads), &self.heard.name);
        for (first, last) in notes {
            assert!(first.to || first == last);
            let onset = self.ticks(first.start + first.attack);
            self.heard.notes.push(Heard {
                onset,
                duration: self.ticks(last.end + last.release) - onset,
                pitch: first.pitch,
                velocity: first.velocity,
            });
        }
        self.heard.notes.sort();
    }

    /// Divisions as ticks; all must be whole.
    fn ticks(&self, divisions: i64) -> i64 {
        let ticks = divisions * self.quarter;
        assert_eq!(
            ticks % self.divisions,
            0,
            "{divisions} of {}",
            self.divisions
        );
        ticks / self.divisions
    }

    fn item(&mut self, item: Node<'_, '_>) {
        let offset = number(item, "offset").unwrap_or(0);
        match item.tag_name().name() {
            "note" => self.note(item),
            "backup" => {
                assert_eq!(self.now, self.furthest, "every voice fills the measure");
                self.now -= number(item, "duration").unwrap();
                assert_eq!(self.now, 0, "back to the start of the measure");
            }
            "attributes" => self.attributes(item),
            "direction" => self.direction(item, offset),
            "sound" => self.sound(item, offset),
            "barline" => {}
            other => panic!("{other}"),
        }
    }

    fn attributes(&mut self, item: Node<'_, '_>) {
        let at = self.ticks(self.start + self.now);
        if let Some(key) = item.children().find(|c| c.has_tag_name("key")) {
            self.heard.keys.push((at, number(key, "fifths").unwrap()));
        }
        if let Some(time) = item.children().find(|c| c.has_tag_name("time")) {
            let meter = (
                number(time, "beats").unwrap(),
                number(time, "beat-type").unwrap(),
            );
            self.heard.meters.push((at, meter.0, meter.1));
        }
        if let Some(transpose) = item.children().find(|c| c.has_tag_name("transpose")) {
            let octaves = number(transpose, "octave-change").unwrap_or(0);
            self.transpose = number(transpose, "chromatic").unwrap() + 12 * octaves;
        }
    }

    fn direction(&mut self, item: Node<'_, '_>, offset: i64) {
        let at = self.ticks(self.start + self.now + offset);
        for kind in item.descendants() {
            if kind.has_tag_name("words") || kind.has_tag_name("rehearsal") {
                let words = kind.text().unwrap_or_default().to_owned();
                self.heard.words.push((at, words));
            }
        }
        if let Some(sound) = item.children().find(|c| c.has_tag_name("sound")) {
            self.sound(sound, offset);
        }
    }

    fn sound(&mut self, item: Node<'_, '_>, offset: i64) {
        let at = self.ticks(self.start + self.now + offset);
        let tempo = item.attribute("tempo").unwrap().parse().unwrap();
        self.heard.tempos.push((at, tempo));
    }

    fn note(&mut self, note: Node<'_, '_>) {
        let has = |name: &str| note.children().any(|c| c.has_tag_name(name));
        let duration = number(note, "duration").unwrap();
        assert!(duration > 0);
        if !has("chord") {
            self.struck = self.now;
            self.now += duration;
            self.furthest = self.furthest.max(self.now);
        }
        if has("rest") {
            return;
        }
        let attribute = |name: &str| {
            note.attribute(name)
                .map_or(0, |v| v.parse::<i64>().unwrap())
        };
        let tie = |end: &str| {
            let ties = note.children().filter(|c| c.has_tag_name("tie"));
            let shown = note.descendants().filter(|c| c.has_tag_name("tied"));
            let is = |c: &Node<'_, '_>| c.attribute("type") == Some(end);
            let found = ties.filter(is).count();
            assert_eq!(found, shown.filter(is).count(), "ties are played and shown");
            found == 1
        };
        let (from, to) = (tie("stop"), tie("start"));
        let loud: f64 = note.attribute("dynamics").unwrap().parse().unwrap();
        self.heads.push(Head {
            start: self.start + self.struck,
            end: self.start + self.struck + duration,
            pitch: self.pitch(note),
            staff: number(note, "staff").unwrap_or(1),
            from,
            to,
            attack: attribute("attack"),
            release: attribute("release"),
            velocity: (loud * 0.9).round() as i64,
        });
    }

    fn pitch(&self, note: Node<'_, '_>) -> i64 {
        if note.children().any(|c| c.has_tag_name("unpitched")) {
            let instrument = note
                .children()
                .find(|c| c.has_tag_name("instrument"))
                .unwrap();
            return self.drums[instrument.attribute("id").unwrap()];
        }
        let pitch = note.children().find(|c| c.has_tag_name("pitch")).unwrap();
        let step = pitch.children().find(|c| c.has_tag_name("step")).unwrap();
        let natural = match step.text().unwrap() {
            "C" => 0,
            "D" => 2,
            "E" => 4,
            "F" => 5,
            "G" => 7,
            "A" => 9,
            "B" => 11,
            other => panic!("{other}"),
        };
        let octave = number(pitch, "octave").unwrap();
        let written = 12 * (octave + 1) + natural + number(pitch, "alter").unwrap_or(0);
        written + self.transpose
    }
}
