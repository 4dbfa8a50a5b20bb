//! What the arranger says of the sketch's lines.

use super::Session;
use crate::music::Sounding;
use crate::project::Document;
use crate::sketch::{Among, Line, Tag, TrackChoice, file_onset};
use std::sync::Arc;

impl Session {
    /// Says that the selected notes of the sketch are a line.
    pub fn tag(&mut self, line: Line) {
        let Some(look) = &self.look else {
            return;
        };
        if self.sketch_notes.is_empty() {
            self.say("select notes of the sketch first");
            return;
        }
        let document = self.open.project.document();
        let by = document.sketch.transpose;
        let notes = self.sketch_notes.iter();
        let notes = notes.filter_map(|i| look.ready.reading.notes.get(*i));
        let tag = |note: &crate::sketch::ReadNote| {
            // Tags are kept in the sketch's own key.
            let own = Sounding::nearest(i32::from(note.pitch.midi()) - i32::from(by));
            Tag {
                line,
                track: Some(TrackChoice::Number(note.track + 1)),
                bars: Vec::new(),
                beat: None,
                tick: Some(file_onset(&look.song, note)),
                pitches: Some((own, own)),
                among: Among::All,
            }
        };
        let mut tags = (*document.tags).clone();
        for tag in notes.map(tag) {
            let same =
                |t: &Tag| (t.tick, &t.track, t.pitches) == (tag.tick, &tag.track, tag.pitches);
            tags.0.retain(|t| !same(t));
            tags.0.push(tag);
        }
        let count = self.sketch_notes.len();
        let what = if count == 1 { "a note" } else { "notes" };
        let name = format!("say that {what} of the sketch are {}", line.word());
        let after = Document {
            tags: Arc::new(tags),
            ..document.clone()
        };
        self.change(&name, after);
    }
}
