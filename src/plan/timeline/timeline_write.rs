//! Timelines and shows as TOML files: the writer. What it writes reads back as the same value.

use super::place::{Place, Seconds, Share};
use super::{AnyTimeline, Show, Timeline};
use crate::band::quoted;
use crate::music::BarBeat;

/// A timeline as the text of a file.
#[must_use]
pub fn write_timeline(timeline: &AnyTimeline) -> String {
    any_text(timeline, "")
}

/// A show as the text of a file.
#[must_use]
pub fn write_show(show: &Show) -> String {
    let mut text = format!("name = {}\n", quoted(&show.name));
    for movement in &show.movements {
        text.push_str("\n[[movement]]\n");
        let pause = movement.pause_after;
        if pause != 0.0 {
            text.push_str(&format!("pause_after = {pause:?}\n"));
        }
        text.push_str(&any_text(&movement.timeline, "movement."));
    }
    text
}

fn any_text(timeline: &AnyTimeline, under: &str) -> String {
    let unit = timeline.unit();
    match timeline {
        AnyTimeline::Bars(t) => text_of(t, unit, under),
        AnyTimeline::Seconds(t) => text_of(t, unit, under),
        AnyTimeline::Shares(t) => text_of(t, unit, under),
    }
}

/// A kind of place as files write it.
trait WrittenPlace: Place {
    /// The place.
    fn text(self) -> String;

    /// The whole up to it; `None` where that goes without saying.
    fn whole(self) -> Option<String>;
}

impl WrittenPlace for BarBeat {
    fn text(self) -> String {
        if self.beat == 1.0 {
            self.bar.to_string()
        } else {
            format!("{{ bar = {}, beat = {:?} }}", self.bar, self.beat)
        }
    }

    fn whole(self) -> Option<String> {
        Some(self.bar.0.saturating_sub(1).to_string())
    }
}

impl WrittenPlace for Seconds {
    fn text(self) -> String {
        format!("{:?}", self.0)
    }

    fn whole(self) -> Option<String> {
        Some(self.text())
    }
}

impl WrittenPlace for Share {
    fn text(self) -> String {
        format!("{:?}", self.0)
    }

    fn whole(self) -> Option<String> {
        None
    }
}

fn text_of<P: WrittenPlace>(timeline: &Timeline<P>, unit: &str, under: &str) -> String {
    let mut text = format!("name = {}\n", quoted(&timeline.name));
    for (key, value) in [("note", &timeline.note), ("source", &timeline.source)] {
        if !value.is_empty() {
            text.push_str(&format!("{key} = {}\n", quoted(value)));
        }
    }
    text.push_str(&format!("unit = \"{unit}\"\n"));
    if let Some(length) = timeline.end.whole() {
        text.push_str(&format!("length = {length}\n"));
    }
    text.push_str(&format!("meter = \"{}\"\n", timeline.meter));
    let mut row = |key: &str, fields: &[(&str, String)]| {
        text.push_str(&format!("\n[[{under}{key}]]\n"));
        for (name, value) in fields {
            text.push_str(&format!("{name} = {value}\n"));
        }
    };
    for section in &timeline.sections {
        let name = ("name", quoted(&section.name));
        row("section", &[name, ("start", section.start.text())]);
    }
    for point in &timeline.points {
        let intensity = ("intensity", format!("{:?}", point.intensity));
        let way = ("way", quoted(point.way.word()));
        row("point", &[("at", point.at.text()), intensity, way]);
    }
    for mark in &timeline.marks {
        let name = ("name", quoted(&mark.name));
        row(mark.kind.word(), &[name, ("at", mark.at.text())]);
    }
    for silence in &timeline.silences {
        let (from, to) = (silence.from.text(), silence.to.text());
        let name = ("name", quoted(&silence.name));
        row("silence", &[("from", from), ("to", to), name]);
    }
    for tempo in &timeline.tempos {
        let beats = ("beats_per_minute", format!("{:?}", tempo.beats_per_minute));
        let ramp = ("ramp", tempo.ramp.to_string());
        row("tempo", &[("at", tempo.at.text()), beats, ramp]);
    }
    for pause in &timeline.pauses {
        let seconds = ("seconds", format!("{:?}", pause.seconds));
        let name = ("name", quoted(&pause.name));
        row("pause", &[("at", pause.at.text()), seconds, name]);
    }
    for lane in &timeline.lanes {
        row("lane", &[("name", quoted(&lane.name))]);
        for note in &lane.notes {
            let (from, to) = (note.from.text(), note.to.text());
            let said = ("text", quoted(&note.text));
            row("lane.note", &[("from", from), ("to", to), said]);
        }
    }
    text
}
