//! Listening from the window: what is played, and the sheet that goes along.

use super::Session;
use crate::app::actions::Action;
use crate::app::listen::audition::{Alone, Audition};
use crate::music::Tick;
use crate::sound::heard::Only;
use crate::sound::seating::Place;
use std::sync::Arc;

/// Where on the sheet the moving line stands after the sheet went along, and where it has to go along again: shares of
/// what is seen (ours).
const STANDS: f32 = 0.12;
const GOES_ALONG: f32 = 0.92;
/// Most notes of the sketch that are struck together when they are selected (ours: two hands).
const TOGETHER: usize = 10;

impl Session {
    /// What is auditioned now: the draft that is shown, as it is heard; `None` while band or sketch are being read.
    fn audition(&self) -> Option<Audition> {
        let look = self.fitting_look()?;
        let document = self.document();
        let draft = match &self.before {
            Some(before) if before.shown => &before.draft,
            _ => &document.draft,
        };
        Some(Audition {
            band: Arc::clone(&document.band),
            draft: Arc::clone(draft),
            locks: Arc::clone(&document.locks),
            song: Arc::clone(&look.song),
            ready: Arc::clone(&look.ready),
            heard: self.listening.heard.clone(),
            place: self.listening.place,
            speed: self.listening.speed(),
        })
    }

    /// Does an action of listening; false where it is none.
    pub(super) fn listen(&mut self, action: Action) -> bool {
        match action {
            Action::Play if self.listening.plays() => self.listening.stop(),
            Action::Play => self.play(self.passage_to_play()),
            Action::PlayFromStart => self.play((Tick::ZERO, None)),
            Action::HearChord => self.hear_alone(Alone::Slice(self.way_place())),
            Action::Again => self.listening.again = !self.listening.again,
            Action::CountIn => self.listening.counts = !self.listening.counts,
            Action::Touch => self.listening.touches = !self.listening.touches,
            Action::Slower => self.listening.quicker(false),
            Action::Quicker => self.listening.quicker(true),
            Action::FlipSource => {
                self.listening.heard.source = self.listening.heard.source.flipped();
            }
            Action::NextLine => {
                self.listening.heard.only = next(&Only::ALL, self.listening.heard.only);
            }
            Action::Mute | Action::Solo => self.mute_or_solo(action == Action::Solo),
            Action::Everybody => self.listening.heard.everybody(),
            Action::NextPlace => self.listening.place = next(&Place::ALL, self.listening.place),
            _ => return false,
        }
        self.say_what_is_heard(action);
        true
    }

    /// What a key changed without anything that moves is told.
    fn say_what_is_heard(&mut self, action: Action) {
        let listening = &self.listening;
        let said = match action {
            Action::Again if listening.again => "what is played begins anew at its end".to_owned(),
            Action::Again => "what is played ends at its end".to_owned(),
            Action::CountIn if listening.counts => "a bar is counted before the music".to_owned(),
            Action::CountIn => "nothing is counted before the music".to_owned(),
            Action::Touch if listening.touches => "notes are heard as they are selected".to_owned(),
            Action::Touch => "notes are selected in silence".to_owned(),
            Action::Slower | Action::Quicker => {
                format!("tempo {:.0} %", 100.0 * listening.speed())
            }
            Action::FlipSource => format!("what is heard: {}", listening.heard.source.word()),
            Action::NextLine => format!("what is heard: {}", listening.heard.only.words()),
            Action::NextPlace => format!("listening from {}", listening.place.words()),
            Action::Everybody => "everybody is heard".to_owned(),
            _ => return,
        };
        self.say(said);
    }

    fn mute_or_solo(&mut self, solo: bool) {
        let Some(selection) = &self.selection else {
            self.say("select parts first: press a name at the left");
            return;
        };
        let heard = &mut self.listening.heard;
        if solo {
            heard.solo(&selection.parts);
        } else {
            heard.mute(&selection.parts);
        }
    }

    /// From where to where: selected bars where they are several or to be played over and over; else from what is
    /// selected on, or from the first bar that is seen.
    fn passage_to_play(&self) -> (Tick, Option<Tick>) {
        let Some((selection, look)) = self.selection.as_ref().zip(self.look.as_ref()) else {
            return (self.way_place(), None);
        };
        let meters = &look.song.meters;
        let (first, last) = selection.bars;
        let (from, to) = (meters.bar_start(first), meters.bar_end(last));
        match selection.note {
            _ if self.listening.again || first != last => (from, Some(to)),
            Some(note) => (note.onset, None),
            None => (from, None),
        }
    }

    fn play(&mut self, passage: (Tick, Option<Tick>)) {
        match self.audition() {
            Some(audition) => {
                self.followed = None;
                self.listening.play(audition, passage);
            }
            None => self.say("the sketch is still being read"),
        }
    }

    /// Lets something be heard by itself; not while music plays.
    fn hear_alone(&mut self, what: Alone) {
        if self.listening.plays() {
            return;
        }
        if let Some(audition) = self.audition() {
            self.listening.alone(audition, what);
        }
    }

    /// Lets the note be heard that was selected.
    pub(super) fn hear_selected(&mut self) {
        let note = self.selection.as_ref().and_then(|s| s.note);
        if let Some(note) = note.filter(|_| self.listening.touches) {
            self.hear_alone(Alone::Note(note.part, note.onset, note.pitch));
        }
    }

    /// Lets the notes of the sketch be heard that were selected: where there are few, all at once.
    pub(super) fn hear_selected_sketch(&mut self) {
        let few = 1..=TOGETHER;
        if self.listening.touches && few.contains(&self.sketch_notes.len()) {
            self.hear_alone(Alone::Sketch(self.sketch_notes.clone()));
        }
    }

    /// Listens on as another session did: at its tempo and place, with its device. What played is silent.
    pub fn listen_like(&mut self, before: &mut Self) {
        before.listening.stop();
        std::mem::swap(&mut self.listening, &mut before.listening);
        self.listening.heard.everybody();
    }

    /// What plays goes on with what there is now; the sheet goes along with the line.
    pub(super) fn keep_listening(&mut self) {
        let parts = self.document().band.parts.len();
        self.listening.heard.keep_within(parts);
        let now = if self.listening.plays() {
            self.audition()
        } else {
            None
        };
        for told in self.listening.tick(now) {
            self.say(told);
        }
        match self.listening.at() {
            Some(at) => self.go_along(at),
            None => self.followed = None,
        }
    }

    /// The sheet goes along where the line leaves what is seen; where it was moved away by hand, it stays there.
    fn go_along(&mut self, at: Tick) {
        let x = self.engraved.x_at(at);
        let (left, width) = (self.view.left, self.seen.0);
        let seen = |x: f32| left <= x && x <= left + GOES_ALONG * width;
        let was_seen = self
            .followed
            .is_none_or(|before| seen(before) || (x < before && !seen(x)));
        if was_seen && !seen(x) {
            self.look_from(x - STANDS * width, self.view.top);
        }
        self.followed = Some(x);
    }
}

/// The one after, or the first.
fn next<T: Copy + PartialEq>(all: &[T], now: T) -> T {
    let at = all.iter().position(|t| *t == now).unwrap_or(0);
    all.get(at + 1).or(all.first()).copied().unwrap_or(now)
}
