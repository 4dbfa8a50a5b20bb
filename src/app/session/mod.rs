//! The session: the open show, what is selected, what the work beside the window told. It knows no
//! painter; every change of the show goes through here.

mod act;
mod back;
mod changed;
mod edits;
mod files;
mod listens;
mod mends;
mod moves;
mod sent_out;
mod shape;
mod sketch_moves;
mod solves;
mod tags;
mod ways;

use crate::app::listen::listening::Listening;
use crate::app::listen::machine::this_machine;
use crate::app::scene::Scene;
use crate::app::sheet::engraved::Engraved;
use crate::app::theme::Palette;
use crate::app::view::View;
use crate::app::worker::{Told, Wake, Worker};
use crate::band::{Band, PartId};
use crate::music::{Sounding, Tick};
use crate::project::judged::Judged;
use crate::project::standing::{Look, Proof};
use crate::project::why::Why;
use crate::project::work::{Desk, Selection};
use crate::project::{Document, OpenProject};
use crate::score::Draft;
use crate::voicing::{Progress, Stay};
use std::sync::Arc;
use std::time::{Duration, Instant};

pub use act::{Follow, Then};
pub use changed::Changed;
pub(crate) use files::EMPTY;
pub use files::{Ask, DEMO_TITLE, Kind, demo, in_words};
pub use mends::Opened;
pub use shape::begin;

/// The last messages that are kept to be read.
const MOST_MESSAGES: usize = 50;

/// A solve that runs.
#[derive(Clone, Debug)]
pub struct Solving {
    /// The number of its answer.
    number: u64,
    /// The step's name in the history.
    name: String,
    /// What is solved.
    ask: crate::project::standing::Ask,
    /// The document that it works on.
    of: Document,
    /// Whether its answer belongs to the step that was made before it.
    joins: bool,
    /// Whether the arranger stopped it.
    stopped: bool,
    /// How far it has come.
    pub progress: Progress,
}

/// What is to be explained: a part, where, and the pitch of one note.
type Place = (PartId, Tick, Option<Sounding>);

/// A question why that was asked.
#[derive(Clone, Copy, Debug)]
struct AskedWhy {
    /// The number of its answer.
    number: u64,
    /// What is to be explained.
    of: Place,
    /// Whether the answer came: there is nothing to say.
    in_vain: bool,
}

/// What was there before the last solve, to flip to.
#[derive(Clone, Debug)]
pub struct Before {
    /// The draft.
    draft: Arc<Draft>,
    /// Whether it is shown in place of the one that is there.
    pub shown: bool,
    /// How it is judged, once it was shown.
    judged: Option<Arc<Judged>>,
}

/// The open show and the work on it.
pub struct Session {
    /// The show with its history, file and journal.
    pub open: OpenProject,
    worker: Worker,
    /// Where the show stood when the work was last heard of.
    look: Option<Look>,
    /// The number of the follow that is waited for.
    awaited: u64,
    /// The notation of what is shown.
    pub engraved: Engraved,
    /// How the sheet is looked at.
    pub view: View,
    /// Whether the notation is of an older draft.
    notation_due: bool,
    /// What is selected.
    pub selection: Option<Selection>,
    /// The band that the selection's parts are of.
    selected_of: Arc<Band>,
    /// Notes of the sketch that are selected, by their index in the reading.
    pub sketch_notes: Vec<usize>,
    /// The point of the wanted curve that is selected, by its index.
    pub point: Option<usize>,
    /// Why the selected note is there.
    pub why: Option<Box<Why>>,
    /// What that is about.
    explained: Option<Place>,
    asked_why: Option<AskedWhy>,
    /// The solve that runs.
    pub solving: Option<Solving>,
    /// How good the last solve's answer is known to be, and how long it took.
    pub proof: Option<(Proof, Duration)>,
    /// What was there before the last solve.
    pub before: Option<Before>,
    /// Notes that the last solve changed.
    pub changed: Option<Changed>,
    /// What was told, the last at the end.
    pub messages: Vec<String>,
    /// Whether the solve that runs belongs to how the show comes.
    pub comes_voiced: bool,
    /// Whether the sketch is to be brought into view once it was read.
    shows_sketch: bool,
    /// Whether it was told that the work beside the window has ended.
    worker_told: bool,
    /// The finding that is open.
    pub opened: Option<Opened>,
    /// What staying as drafted is worth in a solve of the selection.
    pub stay: Stay,
    /// The other way of the passage that is looked at.
    pub shown_way: Option<usize>,
    /// What of the sheet was seen last: width and height, in staff spaces.
    pub seen: (f32, f32),
    /// What is heard.
    pub listening: Listening,
    /// Where the moving line stood when it was last followed, in staff spaces.
    followed: Option<f32>,
    /// When the journal was last written through to the disk.
    synced: Instant,
    /// Whether something is in the journal that is not yet safe.
    unsafe_since: Option<Instant>,
}

/// The journal is written through to the disk so often while one works.
const SYNC_EVERY: Duration = Duration::from_millis(900);

impl Session {
    /// A session on a show that is open.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn on(open: OpenProject, wake: Wake) -> std::io::Result<Self> {
        let selected_of = Arc::clone(&open.project.document().band);
        let mut session = Self {
            open,
            listening: Listening::new(this_machine(), Arc::clone(&wake)),
            followed: None,
            worker: Worker::start(wake)?,
            look: None,
            awaited: 0,
            engraved: Engraved::default(),
            view: View::default(),
            notation_due: true,
            selection: None,
            selected_of,
            sketch_notes: Vec::new(),
            point: None,
            why: None,
            explained: None,
            asked_why: None,
            solving: None,
            proof: None,
            before: None,
            changed: None,
            messages: Vec::new(),
            worker_told: false,
            comes_voiced: false,
            shows_sketch: false,
            opened: None,
            stay: Stay::default(),
            shown_way: None,
            seen: (150.0, 100.0),
            synced: Instant::now(),
            unsafe_since: None,
        };
        session.follow();
        Ok(session)
    }

    /// The document as it is now.
    #[must_use]
    pub fn document(&self) -> &Document {
        self.open.project.document()
    }

    /// Where the show stands, once it was read.
    #[must_use]
    pub const fn look(&self) -> Option<&Look> {
        self.look.as_ref()
    }

    /// What there is to see, once the sketch was read.
    #[must_use]
    pub fn scene(&self) -> Option<Scene<'_>> {
        let look = self.look.as_ref()?;
        Some(Scene {
            palette: Palette::of(self.view.dark),
            view: &self.view,
            look,
            judged: self.shown_judged(look),
            now: self.document(),
            selection: self.selection.as_ref(),
            sketch_notes: &self.sketch_notes,
            point: self.point,
            heard: &self.listening.heard,
            line: self.listening.at(),
        })
    }

    /// Whether what was told is of the document as it is now.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.solving.is_none()
            && self
                .look
                .as_ref()
                .is_some_and(|l| l.document == *self.document())
    }

    /// The draft that is shown: that of the document, or the one before the last solve.
    #[must_use]
    pub fn shown_draft(&self) -> &Draft {
        match &self.before {
            Some(before) if before.shown => &before.draft,
            _ => &self.document().draft,
        }
    }

    /// The draft that is shown with how it is judged; that of the look where it is not judged yet.
    fn shown_judged<'a>(&'a self, look: &'a Look) -> (&'a Draft, &'a Judged) {
        let before = self.before.as_ref().filter(|b| b.shown);
        let judged = before.and_then(|b| Some((&*b.draft, &**b.judged.as_ref()?)));
        judged.unwrap_or((&look.document.draft, &look.judged))
    }

    /// What an edit works on.
    fn desk(&self) -> Option<Desk<'_>> {
        Some(self.fitting_look()?.desk(self.document()))
    }

    /// The look, if it is of the band and sketch at hand. After a change of either, edits wait until all belongs
    /// together again.
    fn fitting_look(&self) -> Option<&Look> {
        self.look.as_ref().filter(|l| l.fits(self.document()))
    }

    /// Says something to the arranger.
    pub fn say(&mut self, text: impl Into<String>) {
        self.messages.push(text.into());
        if self.messages.len() > MOST_MESSAGES {
            self.messages.remove(0);
        }
    }

    /// Makes a step of the history.
    pub fn change(&mut self, name: &str, after: Document) {
        if self.open.project.change(name, after) {
            self.after_change();
        }
    }

    /// What follows a change of the document: the journal, the proof that no longer holds, the parts that are selected.
    fn after_change(&mut self) {
        self.proof = None;
        self.keep_parts_selected();
        if let Err(error) = self.open.record() {
            self.say(format!("what you do is not kept safe just now: {error}"));
        }
        self.unsafe_since.get_or_insert_with(Instant::now);
        self.comes_voiced = false;
        self.before = None;
        self.follow();
    }

    /// Where the band has changed, the selection goes along with its parts by their names.
    fn keep_parts_selected(&mut self) {
        let now = Arc::clone(&self.document().band);
        let was = std::mem::replace(&mut self.selected_of, Arc::clone(&now));
        if Arc::ptr_eq(&was, &now) {
            return;
        }
        if let Some(selection) = self.selection.take() {
            self.selection = selection.moved_to(&was, &now);
        }
    }

    fn follow(&mut self) {
        let document = self.document().clone();
        self.awaited = self.worker.follow(&document);
        self.notation_due = true;
    }

    /// Writes anew what changed of the notation. While band or sketch are being read, the old is shown.
    pub fn renew_notation(&mut self) {
        self.notation_due = false;
        let mut engraved = std::mem::take(&mut self.engraved);
        if let Some(look) = self.fitting_look() {
            engraved.renew(look, self.shown_draft(), self.view.written);
        }
        self.engraved = engraved;
    }

    /// Hears what the work told, and keeps the journal safe. To be called once a frame.
    pub fn tick(&mut self) {
        for (number, told) in self.worker.told() {
            self.hear(number, told);
        }
        if self.worker.has_ended() && !self.worker_told {
            self.worker_told = true;
            self.solving = None;
            self.say("the work beside the window has ended; save, and open the show again");
        }
        if self.notation_due {
            self.renew_notation();
        }
        self.ask_why();
        self.keep_safe(false);
        self.keep_listening();
        if self.changed.as_ref().is_some_and(Changed::is_over) {
            self.changed = None;
        }
    }

    /// Waits until the work has told all that is waited for; for tests and for closing.
    pub fn settle(&mut self, most: Duration) -> bool {
        let end = Instant::now() + most;
        while Instant::now() < end {
            self.tick();
            if self.is_settled() && !self.awaits_why() {
                return true;
            }
            if let Some((number, told)) = self.worker.wait(Duration::from_millis(20)) {
                self.hear(number, told);
            }
        }
        false
    }

    fn hear(&mut self, number: u64, told: Told) {
        match told {
            Told::Look(look) if number >= self.awaited => {
                self.look = Some(*look);
                self.opened = None;
                self.drop_what_is_gone();
                self.renew_notation();
                if std::mem::take(&mut self.shows_sketch) {
                    self.bring_sketch_into_view();
                }
                (self.why, self.explained, self.asked_why) = (None, None, None);
            }
            Told::Look(_) => {}
            Told::Progress(progress) => {
                if let Some(solving) = self.solving.as_mut().filter(|s| s.number == number) {
                    solving.progress = progress;
                }
            }
            Told::Found(found, took) => self.found(number, *found, took),
            Told::Remedies(found) => {
                if let Some(opened) = self.opened.as_mut().filter(|o| o.number == number) {
                    opened.remedies = Some(found);
                }
            }
            Told::Why(why) => {
                let asked = self.asked_why.as_mut().filter(|a| a.number == number);
                if let Some(asked) = asked {
                    asked.in_vain = why.is_none();
                    self.explained = why.is_some().then_some(asked.of);
                    self.why = why;
                }
            }
            Told::Failed(text) => {
                self.solving = self.solving.take().filter(|s| s.number != number);
                self.say(text);
            }
        }
    }

    /// What is selected and no longer there is let go.
    fn drop_what_is_gone(&mut self) {
        let Some(look) = &self.look else {
            return;
        };
        let parts = look.document.band.parts.len();
        if let Some(selection) = &mut self.selection {
            selection.parts.retain(|p| p.0 < parts);
            let there = |s: &crate::project::work::NoteId| {
                let line = look.document.draft.lines.get(s.part.0);
                line.is_some_and(|l| {
                    l.notes
                        .iter()
                        .any(|n| (n.onset, n.pitch) == (s.onset, s.pitch))
                })
            };
            selection.note = selection.note.filter(there);
        }
        self.selection = self.selection.take().filter(|s| !s.parts.is_empty());
        let notes = look.ready.reading.notes.len();
        self.sketch_notes.retain(|n| *n < notes);
    }

    /// Asks why the selected note is there, once it is known where the show stands.
    fn ask_why(&mut self) {
        let wanted = self.explainable();
        if wanted.is_none() || self.explained != wanted {
            (self.why, self.explained) = (None, None);
        }
        let Some(place) = wanted.filter(|_| self.explained.is_none()) else {
            return;
        };
        let is_asked = self.asked_why.is_some_and(|a| a.of == place);
        if !is_asked && self.is_settled() {
            let number = self.worker.why(place.0, place.1, place.2);
            self.asked_why = Some(AskedWhy {
                number,
                of: place,
                in_vain: false,
            });
        }
    }

    /// Whether an answer why is waited for.
    fn awaits_why(&self) -> bool {
        let asked = self.asked_why.is_some_and(|a| !a.in_vain);
        asked && self.explained.is_none() && self.explainable().is_some()
    }

    /// What is to be explained: the selected note, or what stands at the selection's beginning.
    fn explainable(&self) -> Option<Place> {
        let (part, at) = self.place()?;
        let note = self.selection.as_ref().and_then(|s| s.note);
        Some((part, at, note.map(|n| n.pitch)))
    }

    /// The place that is selected: a note, or the first bar of the first part.
    #[must_use]
    pub fn place(&self) -> Option<(PartId, Tick)> {
        let selection = self.selection.as_ref()?;
        if let Some(note) = selection.note {
            return Some((note.part, note.onset));
        }
        let part = selection.parts.first()?;
        let meters = &self.look.as_ref()?.song.meters;
        Some((*part, meters.bar_start(selection.bars.0)))
    }

    /// Writes what is in the journal through to the disk, at the latest after a second.
    pub fn keep_safe(&mut self, now: bool) {
        let due = now || self.synced.elapsed() >= SYNC_EVERY;
        if self.unsafe_since.is_none() || !due {
            return;
        }
        self.synced = Instant::now();
        match self.open.sync() {
            Ok(_) => self.unsafe_since = None,
            Err(error) => {
                // It is tried again, and told once.
                let text = format!("what you do is not kept safe just now: {error}");
                if self.messages.last() != Some(&text) {
                    self.say(text);
                }
            }
        }
    }

    /// Whether the window should look again soon: something runs or is yet to be kept safe.
    #[must_use]
    pub fn is_busy(&self) -> bool {
        self.solving.is_some()
            || self.unsafe_since.is_some()
            || self.changed.is_some()
            || self.listening.plays()
            || !self.is_settled()
    }
}
