//! What is wrong with a timeline, in words.

use super::curve::INTENSITIES;
use super::place::Place;
use super::tempo::TEMPOS;
use super::{Lane, Timeline};
use thiserror::Error;

/// Most letters of a name.
const LONGEST_NAME: usize = 80;
/// Most letters of a note.
const LONGEST_NOTE: usize = 2000;
/// Most sections, points, marks and so on, each (ours: far over any show).
pub(super) const MOST: usize = 1000;
/// The longest pause, seconds.
pub(super) const LONGEST_PAUSE: f64 = 3600.0;

/// A thing in a timeline, by its number from 0.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Item {
    /// The timeline itself.
    Whole,
    /// A section.
    Section(usize),
    /// A point of the curve.
    Point(usize),
    /// A peak, crest or hush.
    Mark(usize),
    /// A silence.
    Silence(usize),
    /// A tempo.
    Tempo(usize),
    /// A pause.
    Pause(usize),
    /// A lane.
    Lane(usize),
    /// A note in a lane.
    LaneNote(usize, usize),
}

/// What is wrong with a timeline.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("{place}{text}")]
pub struct Fault {
    /// What it is about.
    pub of: Item,
    /// The same in words, to begin a sentence with; may be empty.
    pub place: String,
    /// What is wrong and what to do.
    pub text: String,
}

impl<P: Place> Timeline<P> {
    /// Whether it can be used: numbers that are numbers, within their limits, and all in order.
    ///
    /// # Errors
    /// On the first thing that is not so: what, where, what to do.
    ///
    /// ```
    /// use bandwright::plan::timeline::{Point, Timeline, Way, bar_line};
    /// let mut plan = Timeline::new("Rise", bar_line(65));
    /// let (at, way) = (bar_line(17), Way::Straight);
    /// plan.points.push(Point { at, intensity: f64::NAN, way });
    /// let fault = plan.check().unwrap_err().to_string();
    /// assert_eq!(fault, "point 1 (bar 17): the intensity is no number; give one from 0 to 10");
    /// ```
    pub fn check(&self) -> Result<(), Fault> {
        self.check_words()?;
        self.check_end()?;
        self.in_order(self.sections.iter().map(|s| s.start), Item::Section)?;
        self.in_order(self.points.iter().map(|p| p.at), Item::Point)?;
        self.in_order(self.marks.iter().map(|m| m.at), Item::Mark)?;
        self.in_order(self.tempos.iter().map(|t| t.at), Item::Tempo)?;
        self.in_order(self.pauses.iter().map(|p| p.at), Item::Pause)?;
        self.check_numbers()?;
        self.check_silences()?;
        let lanes = self.lanes.iter().enumerate();
        lanes
            .into_iter()
            .try_for_each(|(i, l)| self.check_lane(i, l))
    }

    fn check_words(&self) -> Result<(), Fault> {
        let name = |of, name: &str, may_be_empty: bool| {
            let text = name_fault(name, may_be_empty);
            text.map_or(Ok(()), |text| Err(self.fault(of, text)))
        };
        name(Item::Whole, &self.name, false)?;
        for note in [&self.note, &self.source] {
            if let Some(text) = note_fault(note) {
                return Err(self.fault(Item::Whole, text));
            }
        }
        for (i, section) in self.sections.iter().enumerate() {
            name(Item::Section(i), &section.name, false)?;
        }
        for (i, mark) in self.marks.iter().enumerate() {
            name(Item::Mark(i), &mark.name, false)?;
        }
        for (i, silence) in self.silences.iter().enumerate() {
            name(Item::Silence(i), &silence.name, true)?;
        }
        for (i, pause) in self.pauses.iter().enumerate() {
            name(Item::Pause(i), &pause.name, true)?;
        }
        Ok(())
    }

    fn check_end(&self) -> Result<(), Fault> {
        if let Some(text) = self.end.fault(self.meter) {
            return Err(self.fault(Item::Whole, format!("its length is none: {text}")));
        }
        if self.end.along(self.meter) <= 0.0 {
            let text = "it has no length; give it at least a bar or a second";
            return Err(self.fault(Item::Whole, text));
        }
        Ok(())
    }

    /// Places that are places, inside of the whole, each after the one before.
    fn in_order(
        &self,
        places: impl Iterator<Item = P>,
        item: impl Fn(usize) -> Item,
    ) -> Result<(), Fault> {
        let mut last: Option<P> = None;
        for (i, place) in places.enumerate() {
            if i >= MOST {
                let text = format!("there are more than {MOST} of them; leave some out");
                return Err(self.fault(item(i), text));
            }
            self.inside(place, item(i))?;
            let along = |p: P| p.along(self.meter);
            if let Some(last) = last.filter(|l| along(*l) >= along(place)) {
                let text = format!(
                    "it must come after the one before it ({}); put them in order, each at a place of its own",
                    last.words()
                );
                return Err(self.fault(item(i), text));
            }
            last = Some(place);
        }
        Ok(())
    }

    fn inside(&self, place: P, of: Item) -> Result<(), Fault> {
        if let Some(text) = place.fault(self.meter) {
            return Err(self.fault(of, text));
        }
        if place.along(self.meter) > self.end.along(self.meter) {
            let end = self.end.words();
            let text = format!("it lies after the end ({end}); move it or make the whole longer");
            return Err(self.fault(of, text));
        }
        Ok(())
    }

    fn check_numbers(&self) -> Result<(), Fault> {
        for (i, point) in self.points.iter().enumerate() {
            let text = number_fault("intensity", point.intensity, INTENSITIES);
            if let Some(text) = text {
                return Err(self.fault(Item::Point(i), text));
            }
        }
        for (i, tempo) in self.tempos.iter().enumerate() {
            let text = number_fault("tempo", tempo.beats_per_minute, TEMPOS);
            if let Some(text) = text {
                return Err(self.fault(Item::Tempo(i), text));
            }
        }
        for (i, pause) in self.pauses.iter().enumerate() {
            if let Some(text) = number_fault("pause", pause.seconds, (0.0, LONGEST_PAUSE)) {
                return Err(self.fault(Item::Pause(i), text));
            }
        }
        Ok(())
    }

    fn check_silences(&self) -> Result<(), Fault> {
        self.in_order(self.silences.iter().map(|s| s.from), Item::Silence)?;
        let mut last: Option<P> = None;
        for (i, silence) in self.silences.iter().enumerate() {
            self.stretch((silence.from, silence.to), Item::Silence(i))?;
            let along = |p: P| p.along(self.meter);
            if last.is_some_and(|l| along(l) > along(silence.from)) {
                let text = "it begins before the silence before it ends; join the two";
                return Err(self.fault(Item::Silence(i), text));
            }
            last = Some(silence.to);
        }
        Ok(())
    }

    fn stretch(&self, (from, to): (P, P), of: Item) -> Result<(), Fault> {
        self.inside(from, of)?;
        self.inside(to, of)?;
        if from.along(self.meter) >= to.along(self.meter) {
            let text = format!("it ends ({}) where it begins, or before", to.words());
            return Err(self.fault(of, format!("{text}; let it end later")));
        }
        Ok(())
    }

    fn check_lane(&self, lane: usize, own: &Lane<P>) -> Result<(), Fault> {
        if lane >= MOST || own.notes.len() > MOST {
            let text = format!("there are more than {MOST} of them; leave some out");
            return Err(self.fault(Item::Lane(lane), text));
        }
        if let Some(text) = name_fault(&own.name, false) {
            return Err(self.fault(Item::Lane(lane), text));
        }
        for (i, note) in own.notes.iter().enumerate() {
            let of = Item::LaneNote(lane, i);
            self.stretch((note.from, note.to), of)?;
            if let Some(text) = note_fault(&note.text) {
                return Err(self.fault(of, text));
            }
        }
        Ok(())
    }

    fn fault(&self, of: Item, text: impl Into<String>) -> Fault {
        let at = |what: &str, i: usize, place: Option<P>| {
            let place = place.map_or_else(String::new, |p| format!(" ({})", p.words()));
            format!("{what} {}{place}: ", i + 1)
        };
        let place = match of {
            Item::Whole => String::new(),
            Item::Section(i) => at("section", i, self.sections.get(i).map(|s| s.start)),
            Item::Point(i) => at("point", i, self.points.get(i).map(|p| p.at)),
            Item::Mark(i) => {
                let word = self.marks.get(i).map_or("mark", |m| m.kind.word());
                let name = self.marks.get(i).map_or("", |m| m.name.as_str());
                let name = name.replace(char::is_control, "\u{fffd}");
                let place = self.marks.get(i).map(|m| m.at.words());
                format!("{word} `{name}` ({}): ", place.unwrap_or_default())
            }
            Item::Silence(i) => at("silence", i, self.silences.get(i).map(|s| s.from)),
            Item::Tempo(i) => at("tempo", i, self.tempos.get(i).map(|t| t.at)),
            Item::Pause(i) => at("pause", i, self.pauses.get(i).map(|p| p.at)),
            Item::Lane(i) => at("lane", i, None),
            Item::LaneNote(lane, i) => {
                let note = self.lanes.get(lane).and_then(|l| l.notes.get(i));
                let note = at("note", i, note.map(|n| n.from));
                format!("lane {}, {note}", lane + 1)
            }
        };
        let text = text.into();
        Fault { of, place, text }
    }
}

pub(super) fn number_fault(what: &str, value: f64, (least, most): (f64, f64)) -> Option<String> {
    if value.is_nan() {
        return Some(format!(
            "the {what} is no number; give one from {least} to {most}"
        ));
    }
    let outside = value < least || value > most;
    outside.then(|| format!("the {what} is {value}; give a number from {least} to {most}"))
}

pub(super) fn name_fault(name: &str, may_be_empty: bool) -> Option<String> {
    if name.trim().is_empty() && !may_be_empty {
        return Some("the name is empty; give it one".to_owned());
    }
    if name.trim() != name {
        return Some("the name begins or ends with a blank; leave it out".to_owned());
    }
    if name.chars().any(char::is_control) {
        return Some("the name holds a control character; write it on one line".to_owned());
    }
    let long = name.chars().count() > LONGEST_NAME;
    long.then(|| format!("the name is longer than {LONGEST_NAME} letters; shorten it"))
}

fn note_fault(note: &str) -> Option<String> {
    if note.trim() != note {
        return Some("the text begins or ends with a blank; leave it out".to_owned());
    }
    if note.chars().any(|c| c.is_control() && c != '\n') {
        return Some("the text holds a control character; leave it out".to_owned());
    }
    let long = note.chars().count() > LONGEST_NOTE;
    long.then(|| format!("the text is longer than {LONGEST_NOTE} letters; shorten it"))
}
