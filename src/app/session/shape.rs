//! The shape of the show from the window: edits of its timeline, shapes taken, files in and out.

use super::Session;
use super::act::Follow;
use super::files::{Ask, Kind};
use crate::app::wants::NameMark;
use crate::cli::files;
use crate::export::{Existing, ShapeMovement, ShapePicture, safe_write, shape_svg};
use crate::music::BarNumber;
use crate::plan::timeline::{AnyTimeline, Laid, MarkKind, bar_line, read_timeline, write_timeline};
use crate::project::Document;
use crate::project::standing::Look;
use crate::project::work::{Begin, TimelineEdit, begin_plan, edit_timeline, take_shape};
use crate::review::misses;
use std::path::Path;
use std::sync::Arc;

/// What a change of the shape alone does not do.
const HEAR: &str = "solve to hear of it (Ctrl+Enter)";
/// What is told while the music is not at hand.
const READING: &str = "the sketch is still being read";

impl Session {
    /// What an edit of the shape begins with.
    fn begin(&self) -> Option<Begin<'_>> {
        let look = self.fitting_look()?;
        // Passages of a look with a timeline have the intensities of that.
        let now = &self.document().timeline;
        let fits = now.is_some() || look.document.timeline.is_none();
        fits.then(|| begin(look))
    }

    /// Edits the shape; all edits of one drag are one step.
    pub(super) fn edit_shape(&mut self, edit: &TimelineEdit, dragged: bool) {
        let now = Arc::clone(&self.document().timeline);
        let Some(begin) = self.begin() else {
            self.say(READING);
            return;
        };
        match edit_timeline((*now).as_ref(), &begin, edit) {
            Ok(done) => {
                let after = self.shaped(Some(done.timeline.into()));
                let is_new = if dragged {
                    self.open.project.join(&done.name, after)
                } else {
                    self.open.project.change(&done.name, after)
                };
                self.point = done.point.or(self.point);
                if is_new {
                    self.after_change();
                    self.say_once(format!("{}: {HEAR}", done.name));
                }
            }
            // A hand that moves nothing yet needs no answer.
            Err(_) if dragged => {}
            Err(refused) => self.say(refused.to_string()),
        }
    }

    /// The document with another timeline.
    fn shaped(&self, timeline: Option<AnyTimeline>) -> Document {
        Document {
            timeline: Arc::new(timeline),
            ..self.document().clone()
        }
    }

    fn say_once(&mut self, text: String) {
        if self.messages.last() != Some(&text) {
            self.say(text);
        }
    }

    /// The first bar that is selected, of parts or of the sketch; where none is, that is told.
    fn selected_bar(&mut self) -> Option<BarNumber> {
        let of_sketch = || {
            let look = self.look.as_ref()?;
            let note = look.ready.reading.notes.get(*self.sketch_notes.first()?)?;
            Some(look.song.meters.bar(note.onset))
        };
        let bar = self.selection.as_ref().map(|s| s.bars.0).or_else(of_sketch);
        if bar.is_none() {
            self.say("select a bar first; the shape is changed there");
        }
        bar
    }

    /// Puts a point on the curve at the selected bar, where the curve is already.
    pub(super) fn add_point_here(&mut self) {
        let Some(bar) = self.selected_bar() else {
            return;
        };
        let now = Arc::clone(&self.document().timeline);
        let look = self.fitting_look();
        let wanted = look.and_then(|look| {
            let (meters, tempo) = (&look.song.meters, &look.song.tempo);
            let at = meters.bar_start(bar);
            match now.as_ref() {
                Some(any) => Laid::of(any, (meters, tempo), look.song.end()).at(at),
                None => {
                    let passage = look.ready.passages.iter().find(|p| p.contains(at));
                    passage.map(|p| p.intensity)
                }
            }
        });
        let intensity = (wanted.unwrap_or(5.0) * 10.0).round() / 10.0;
        let at = bar_line(bar.0);
        self.edit_shape(&TimelineEdit::AddPoint { at, intensity }, false);
    }

    /// Asks for the name of what the selected bar is.
    pub(super) fn name_here(&mut self, kind: MarkKind) -> Option<Follow> {
        let bar = self.selected_bar()?;
        Some(Follow::NameMark(NameMark {
            kind,
            at: bar_line(bar.0),
            mark: None,
            name: String::new(),
        }))
    }

    /// Gives a peak, crest or hush its name.
    pub fn name_mark(&mut self, named: &NameMark) {
        let name = named.name.trim().to_owned();
        let edit = match named.mark {
            Some(mark) => TimelineEdit::RenameMark(mark, name),
            None => TimelineEdit::AddMark {
                kind: named.kind,
                at: named.at,
                name,
            },
        };
        self.edit_shape(&edit, false);
    }

    /// Takes a shape that comes along.
    pub fn take_shape(&mut self, word: &str) {
        let Some(look) = self.fitting_look() else {
            self.say(READING);
            return;
        };
        match take_shape(word, &begin(look)) {
            Ok(timeline) => self.take_timeline("take the shape", timeline),
            Err(refused) => self.say(refused.to_string()),
        }
    }

    /// Begins a timeline: as the sketch goes, or in seconds where there is no music.
    pub(super) fn begin_plan(&mut self) {
        let Some(begin) = self.begin() else {
            self.say(READING);
            return;
        };
        match begin_plan(&begin) {
            Ok(timeline) => self.with_timeline("begin a timeline", timeline),
            Err(refused) => self.say(refused.to_string()),
        }
    }

    /// Gives every place of the timeline the bar that it falls on.
    pub(super) fn lay_on_bars(&mut self) {
        let now = Arc::clone(&self.document().timeline);
        let (Some(look), Some(now)) = (self.fitting_look(), now.as_ref()) else {
            self.say(READING);
            return;
        };
        let song = &look.song;
        let laid = now.in_bars_of(&song.meters, &song.tempo, song.end());
        self.with_timeline("lay the timeline on the bars", laid.into());
    }

    /// Takes another timeline as one step.
    pub(super) fn with_timeline(&mut self, name: &str, timeline: AnyTimeline) {
        if let Err(fault) = timeline.check() {
            self.say(fault.to_string());
            return;
        }
        self.point = None;
        let after = self.shaped(Some(timeline));
        self.change(name, after);
        self.say(format!("{name}: {HEAR}"));
    }

    fn take_timeline(&mut self, what: &str, timeline: AnyTimeline) {
        let name = format!("{what} `{}`", timeline.name());
        self.with_timeline(&name, timeline);
    }

    /// Lets the show go as the sketch was played.
    pub(super) fn remove_timeline(&mut self) {
        if self.document().timeline.is_none() {
            self.say("there is no timeline: the show goes as the sketch was played");
            return;
        }
        self.point = None;
        let after = self.shaped(None);
        self.change("remove the timeline", after);
        self.say(format!("the show goes as the sketch was played: {HEAR}"));
    }

    /// Brings in a timeline from a file.
    pub fn bring_in_timeline(&mut self, path: &Path) {
        let text = match files::text(path, "timeline") {
            Ok(text) => text,
            Err(error) => {
                self.say(error.to_string());
                return;
            }
        };
        match read_timeline(&text) {
            Ok(timeline) => {
                let look = self.fitting_look().filter(|l| l.course.bars() > 0);
                let laid = look.map(|look| {
                    let clock = (&look.song.meters, &look.song.tempo);
                    Laid::of(&timeline, clock, look.song.end())
                });
                self.take_timeline("bring in the timeline", timeline);
                for warning in laid.into_iter().flat_map(|l| l.warnings) {
                    self.say(warning);
                }
            }
            Err(error) => self.say(format!("{}: {error}", path.display())),
        }
    }

    /// Asks where the timeline goes; where there is none, that is told.
    pub(super) fn ask_timeline_out(&mut self) -> Option<Follow> {
        if self.document().timeline.is_none() {
            self.say("there is no timeline to send out; take a shape (Ctrl+T) or drag the curve");
            return None;
        }
        Some(Follow::Ask(Ask::Path(Kind::TimelineOut)))
    }

    /// Writes the timeline to a file.
    pub fn send_out_timeline(&mut self, path: &Path, existing: Existing) {
        let timeline = Arc::clone(&self.document().timeline);
        if let Some(timeline) = timeline.as_ref() {
            let text = write_timeline(timeline);
            self.written("the timeline", path, &text, existing);
        }
    }

    /// Draws the shape of the show into a file.
    pub fn send_out_shape(&mut self, path: &Path, existing: Existing) {
        let document = self.document();
        let current = |l: &&Look| l.document.timeline == document.timeline;
        match self.fitting_look().filter(current) {
            Some(look) => {
                let text = drawn(look);
                self.written("the shape", path, &text, existing);
            }
            None => self.say("the shape is still being worked out; send it out in a moment"),
        }
    }

    pub(super) fn written(&mut self, what: &str, path: &Path, text: &str, existing: Existing) {
        let told = match safe_write(path, text.as_bytes(), existing) {
            Ok(()) => format!("{what} is in {}", path.display()),
            Err(error) => error.to_string(),
        };
        self.say(told);
    }
}

/// What a timeline begins with that is edited for the first time.
pub fn begin(look: &Look) -> Begin<'_> {
    Begin {
        meters: &look.song.meters,
        tempo: &look.song.tempo,
        end: look.song.end(),
        passages: &look.ready.passages,
        markers: &look.song.markers,
    }
}

/// The shape as a picture.
fn drawn(look: &Look) -> String {
    let (document, song, course) = (&look.document, &look.song, &look.course);
    let laid = look.ready.timeline.as_ref();
    let sections = laid.map(|l| l.sections.clone());
    let sections = sections.filter(|s| !s.is_empty()).unwrap_or_else(|| {
        let markers = song.markers.iter();
        markers.map(|m| (m.at, m.text.clone())).collect()
    });
    let misses = misses(course);
    let under = format!("{}, {} bars", document.band.name, course.bars());
    shape_svg(&ShapePicture {
        title: &document.title,
        under: &under,
        movements: vec![ShapeMovement {
            name: &document.title,
            course,
            laid,
            sections: &sections,
            misses: &misses,
            meters: &song.meters,
            tempo: &song.tempo,
            begins: 0.0,
            pause_after: 0.0,
        }],
    })
}
