//! What the arranger does to notes and locks, as steps of the history.

use super::Session;
use crate::app::actions::{Action, Menu};
use crate::band::PartId;
use crate::music::{Sounding, Tick, Ticks};
use crate::project::Document;
use crate::project::work::{
    Desk, Done, NoteId, Refused, Selection, Way, add, bars_in_words, delete, double_into,
    hand_over, join, lock, longer, next_chord_tone, octave, passage_of_bars, paste_scoring,
    repeats_of, shorter, sketch_line_into, split, step, to_pitch, unlock,
};
use crate::score::{Draft, Locks};
use crate::sketch::Line;
use std::sync::Arc;

impl Session {
    /// Does what changes notes or locks; false for other actions.
    pub(super) fn edit(&mut self, action: Action) -> bool {
        let done = {
            let Some(desk) = self.desk() else {
                return is_edit(action) && {
                    self.say("the sketch is still being read");
                    true
                };
            };
            let Some(selection) = &self.selection else {
                return is_edit(action) && {
                    self.say("select notes, or bars and parts, first");
                    true
                };
            };
            match edited(&desk, selection, action) {
                Some(done) => done,
                None => return false,
            }
        };
        self.take(done);
        true
    }

    /// Takes what came of an edit into the show, or says why it was refused.
    pub(super) fn take(&mut self, done: Result<Done, Refused>) {
        match done {
            Ok(done) => {
                let document = self.edited(done.draft, done.locks);
                self.selection = Some(done.selection);
                self.change(&done.name, document);
                self.say(done.name);
                for note in done.notes {
                    self.say(note);
                }
            }
            Err(refused) => self.say(refused.to_string()),
        }
    }

    /// The document with other notes and locks.
    fn edited(&self, draft: Draft, locks: Locks) -> Document {
        Document {
            draft: Arc::new(draft),
            locks: Arc::new(locks),
            ..self.document().clone()
        }
    }

    /// The one part that is selected; where there is none, or several are, that is told.
    pub(super) fn one_part(&mut self) -> Option<PartId> {
        let parts = self.selection.as_ref().map(|s| s.parts.as_slice());
        match parts {
            Some([part]) => Some(*part),
            _ => {
                self.say("select the bars of one part first: it is that part's line");
                None
            }
        }
    }

    /// Whether bars and parts are selected; where none are, that is told.
    pub(super) fn some_bars(&mut self) -> bool {
        if self.selection.is_none() {
            self.say("select bars and parts first; the line goes there");
        }
        self.selection.is_some()
    }

    /// Gives the selected line to other parts, or lets them double it.
    pub fn hand_over(&mut self, to: &[PartId], doubled: bool) {
        let Some(from) = self.one_part() else {
            return;
        };
        let done = self.desk().zip(self.selection.as_ref()).map(|(desk, s)| {
            if doubled {
                double_into(&desk, from, to, s.bars)
            } else {
                hand_over(&desk, from, to, s.bars)
            }
        });
        match done {
            Some(done) => self.take(done),
            None => self.say("the sketch is still being read"),
        }
    }

    /// Puts a line of the sketch into the selected parts.
    pub fn take_line(&mut self, line: Line) {
        if !self.some_bars() {
            return;
        }
        let done = self.desk().zip(self.selection.as_ref());
        match done.map(|(desk, s)| sketch_line_into(&desk, line, s)) {
            Some(done) => self.take(done),
            None => self.say("the sketch is still being read"),
        }
    }

    /// Carries the scoring of the selected bars to where their music comes again.
    pub fn paste_to_repeats(&mut self) {
        let bars = match &self.selection {
            Some(selection) => selection.bars,
            None => {
                self.say("select the bars of a passage first");
                return;
            }
        };
        let mut count = 0;
        let name = format!("score the repeats like {}", bars_in_words(bars));
        let found = self.desk().map_or(0, |desk| repeats_of(&desk, bars).len());
        for at in 0..found {
            // What is pasted changes no other repeat, so that they are found in the same order.
            let done = self.desk().and_then(|desk| {
                let repeat = *repeats_of(&desk, bars).get(at)?;
                let from = passage_of_bars(&desk, bars);
                let to = passage_of_bars(&desk, repeat.bars);
                let all: Vec<PartId> = desk.band.ids().map(|(id, _)| id).collect();
                Some(paste_scoring(&desk, &from, &to, &all))
            });
            let selection = self.selection.clone();
            match done {
                Some(Ok(done)) => {
                    count += 1;
                    let after = self.edited(done.draft, done.locks);
                    // All repeats are one step.
                    if self.open.project.join(&name, after) {
                        self.after_change();
                    }
                    done.notes.into_iter().for_each(|note| self.say(note));
                }
                Some(Err(refused)) => self.say(refused.to_string()),
                None => {}
            }
            self.selection = selection;
        }
        let text = match count {
            0 if found > 0 => "no repeat could take the scoring".to_owned(),
            0 => "this music does not come again".to_owned(),
            1 => "the scoring was carried to one repeat".to_owned(),
            n => format!("the scoring was carried to {n} repeats"),
        };
        self.say(text);
    }

    /// Puts another note, or a rest, in place of what a part plays from one tick to another; where it plays
    /// several notes at once, in place of that of the pitch.
    pub fn take_other(
        &mut self,
        part: PartId,
        (start, end): (Tick, Tick),
        (now, sounds): (Option<Sounding>, Option<Sounding>),
    ) {
        let done = self.desk().map(|desk| {
            let line = desk.line(part);
            let mut sounding = line.iter().filter(|n| n.onset <= start && start < n.end());
            let here = sounding
                .clone()
                .find(|n| Some(n.pitch) == now)
                .or_else(|| sounding.next());
            match (here, sounds) {
                (Some(note), sounds) => {
                    let id = NoteId {
                        part,
                        onset: note.onset,
                        pitch: note.pitch,
                    };
                    let selection = Selection::of_note(&desk, id);
                    match sounds {
                        Some(pitch) => to_pitch(&desk, &selection, pitch),
                        None => delete(&desk, &selection),
                    }
                }
                (None, sounds) => add(&desk, part, (start, end.since(start)), sounds),
            }
        });
        if let Some(done) = done {
            self.take(done);
        }
    }

    /// Moves a note to a pitch as a part of a drag: all of it is one step.
    pub fn drag_to(&mut self, note: NoteId, pitch: Sounding) {
        let done = self.desk().map(|desk| {
            let selection = Selection::of_note(&desk, note);
            to_pitch(&desk, &selection, pitch)
        });
        if let Some(Err(refused)) = &done {
            self.say(refused.to_string());
        }
        if let Some(Ok(done)) = done {
            for note in done.notes {
                if self.messages.last() != Some(&note) {
                    self.say(note);
                }
            }
            let document = self.edited(done.draft, done.locks);
            self.selection = Some(done.selection);
            // One name for the whole way, so that all of it is one step.
            let place = self.look.as_ref().map(|l| l.song.meters.place(note.onset));
            let place = place.map_or_else(String::new, |p| p.to_string());
            let part = self.document().band.parts.get(note.part.0);
            let part = part.map_or("", |p| p.name.as_str());
            let name = format!("drag the note of {part} at {place}");
            if self.open.project.join(&name, document) {
                self.after_change();
            }
        }
    }

    /// Keeps the tune as written in the selected bars, or lets it give way; pressed again, it is as usual.
    pub(super) fn rule_for_tune(&mut self, as_written: bool) {
        let Some((first, last)) = self.selection.as_ref().map(|s| s.bars) else {
            self.say("select the bars first");
            return;
        };
        let mut tune = (*self.document().tune).clone();
        let bars = (first.0..=last.0).map(crate::music::BarNumber);
        let set = if as_written {
            &mut tune.as_written
        } else {
            &mut tune.may_change
        };
        let all = bars.clone().all(|b| set.0.contains(&b));
        for bar in bars {
            if all {
                set.0.remove(&bar);
            } else {
                set.0.insert(bar);
            }
        }
        let name = match (as_written, all) {
            (true, false) => "keep the tune as written",
            (true, true) => "no longer keep the tune as written",
            (false, false) => "let the tune give way",
            (false, true) => "no longer let the tune give way",
        };
        let document = Document {
            tune: Arc::new(tune),
            ..self.document().clone()
        };
        self.change(name, document);
        self.say(format!(
            "{name}, bars {first}-{last}; solve again to hear of it"
        ));
    }
}

/// Whether an action changes what is selected: all of the menu of notes but going through the history.
fn is_edit(action: Action) -> bool {
    action.about().menu == Menu::Notes && !matches!(action, Action::Undo | Action::Redo)
}

/// An edit of the selection; `None` for actions that are none.
fn edited(desk: &Desk<'_>, selection: &Selection, action: Action) -> Option<Result<Done, Refused>> {
    let half_beat = half_beat(desk, selection);
    Some(match action {
        Action::Lock => lock(desk, selection),
        Action::Unlock => unlock(desk, selection),
        Action::ChordToneUp => next_chord_tone(desk, selection, Way::Up),
        Action::ChordToneDown => next_chord_tone(desk, selection, Way::Down),
        Action::StepUp => step(desk, selection, Way::Up),
        Action::StepDown => step(desk, selection, Way::Down),
        Action::OctaveUp => octave(desk, selection, Way::Up),
        Action::OctaveDown => octave(desk, selection, Way::Down),
        Action::Longer => longer(desk, selection, half_beat),
        Action::Shorter => shorter(desk, selection, half_beat),
        Action::Split => split(desk, selection, None),
        Action::Join => join(desk, selection),
        Action::Delete => delete(desk, selection),
        Action::Add => added(desk, selection),
        _ => return None,
    })
}

fn half_beat(desk: &Desk<'_>, selection: &Selection) -> Ticks {
    let at = desk.meters.bar_start(selection.bars.0);
    Ticks((desk.meters.meter(at).beat(desk.quarter).0 / 2).max(1))
}

/// A note where the first selected part rests first: a beat long, or as long as the rest is.
fn added(desk: &Desk<'_>, selection: &Selection) -> Result<Done, Refused> {
    let part = selection.parts.first().copied().ok_or(Refused::NoPart)?;
    let (start, end) = desk.span(selection.bars);
    let line = desk.line(part);
    let mut at = start;
    for note in line.iter().filter(|n| n.end() > start && n.onset < end) {
        if note.onset > at {
            break;
        }
        at = at.max(note.end());
    }
    let next = line.iter().map(|n| n.onset).find(|o| *o > at);
    let beat = desk.meters.meter(at).beat(desk.quarter);
    let room = next.unwrap_or(end).min(end).since(at);
    add(desk, part, (at, beat.min(room.max(Ticks(1)))), None)
}
