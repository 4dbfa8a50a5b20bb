//! Doing actions: the one place where the table of actions meets the show.

use super::Session;
use super::files::{Ask, Kind};
use crate::app::actions::Action;
use crate::app::sheet::lanes::height;
use crate::app::view::Panel;
use crate::app::wants::{NameMark, Want};
use crate::plan::timeline::MarkKind;
use crate::project::work::CameBack;
use crate::project::{Document, PutAside};
use crate::sketch::Line;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What is done once unsaved work was asked about.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Then {
    /// A new show.
    New,
    /// Open this show.
    OpenPath(PathBuf),
    /// Close the window.
    Quit,
}

/// What the window has to do itself after an action.
#[derive(Clone, PartialEq, Debug)]
pub enum Follow {
    /// Ask the arranger something.
    Ask(Ask),
    /// Do what was waited for.
    Then(Then),
    /// Choose a band.
    ChooseBand,
    /// Choose parts for the line.
    ChooseParts {
        /// Whether the line stays where it is, too.
        doubled: bool,
    },
    /// Choose a line of the sketch.
    ChooseLine,
    /// Choose a shape of the show.
    ChooseShape,
    /// Ask for the name of a peak, crest or hush.
    NameMark(NameMark),
    /// Show what was changed in a draft that came back, and ask whether to lock it.
    CameBack(Box<CameBack>),
    /// Search the actions.
    FindAction,
    /// Show the sheet of keys.
    KeySheet,
    /// Show the whole show, or one bar.
    Fit {
        /// One bar alone.
        one_bar: bool,
    },
    /// Colours or text sizes changed.
    Restyle,
}

/// The middle of what is seen.
const MIDDLE: (f32, f32) = (0.5, 0.5);

impl Session {
    /// Does an action; what the window has to do itself is given back.
    pub fn act(&mut self, action: Action) -> Option<Follow> {
        let note = self.selection.as_ref().and_then(|s| s.note);
        if self.move_selection(action) || self.edit(action) {
            // Who goes through the notes by keys, or moves one, hears it.
            if self.selection.as_ref().and_then(|s| s.note) != note {
                self.hear_selected();
            }
            return None;
        }
        if self.listen(action) {
            return None;
        }
        match action {
            Action::New => return Some(self.guarded(Then::New)),
            Action::Open => return Some(Follow::Ask(Ask::Path(Kind::Open))),
            Action::Quit => return Some(self.guarded(Then::Quit)),
            Action::Save if self.open.path().is_none() => {
                return Some(Follow::Ask(Ask::Path(Kind::SaveAs)));
            }
            Action::Save => {
                self.save();
            }
            Action::SaveAs => return Some(Follow::Ask(Ask::Path(Kind::SaveAs))),
            Action::BringInSketch => return Some(Follow::Ask(Ask::Path(Kind::Sketch))),
            Action::SendOutScore => return Some(Follow::Ask(Ask::Path(Kind::Score))),
            Action::SendOutParts => return Some(Follow::Ask(Ask::Path(Kind::Parts))),
            Action::SendOutSheet => return Some(Follow::Ask(Ask::Path(Kind::Sheet))),
            Action::SendOutPractice => return Some(Follow::Ask(Ask::Path(Kind::Practice))),
            Action::BringBack => return Some(Follow::Ask(Ask::Path(Kind::Back))),
            Action::SendOutMidi => return Some(Follow::Ask(Ask::Path(Kind::Midi))),
            Action::BringInBand => return Some(Follow::ChooseBand),
            Action::ChooseSounds => return Some(Follow::Ask(Ask::Path(Kind::Sounds))),
            Action::ShowSketch => self.view.panel = Panel::Sketch,
            Action::EditRoster => self.view.panel = Panel::Roster,
            Action::ShowShape => self.view.panel = Panel::Timeline,
            Action::Undo => self.undo(),
            Action::Redo => self.redo(),
            Action::HandOver | Action::Double => {
                let doubled = action == Action::Double;
                return self.one_part().map(|_| Follow::ChooseParts { doubled });
            }
            Action::TakeLine => return self.some_bars().then_some(Follow::ChooseLine),
            Action::PasteToRepeats => self.paste_to_repeats(),
            Action::TuneAsWritten => self.rule_for_tune(true),
            Action::TuneMayChange => self.rule_for_tune(false),
            Action::TagMelody => self.tag(Line::Melody),
            Action::TagCounterline => self.tag(Line::Counterline),
            Action::TagHarmony => self.tag(Line::Harmony),
            Action::TagBass => self.tag(Line::Bass),
            Action::TagFigure => self.tag(Line::Figure),
            Action::AddPoint => self.add_point_here(),
            Action::NamePeak => return self.name_here(MarkKind::Peak),
            Action::NameCrest => return self.name_here(MarkKind::Crest),
            Action::NameHush => return self.name_here(MarkKind::Hush),
            Action::TakeShape => return Some(Follow::ChooseShape),
            Action::BringInTimeline => return Some(Follow::Ask(Ask::Path(Kind::Timeline))),
            Action::SendOutTimeline => return self.ask_timeline_out(),
            Action::SendOutShape => return Some(Follow::Ask(Ask::Path(Kind::ShapePicture))),
            Action::RemoveTimeline => self.remove_timeline(),
            Action::SelectNothing if self.listening.plays() => self.listening.stop(),
            Action::SelectNothing if self.solving.is_some() => self.stop(),
            Action::SelectNothing => {
                self.select(None);
                self.why = None;
            }
            Action::SolveAll => self.solve_all(),
            Action::SolveSelection => self.solve_selection(),
            Action::Stop => self.stop(),
            Action::Flip => self.flip(),
            Action::NextWay => self.next_way(),
            Action::TakeWay => self.take_shown_way(),
            Action::Written => {
                self.view.written = !self.view.written;
                self.renew_notation();
            }
            Action::ZoomIn => self.zoom(true, MIDDLE),
            Action::ZoomOut => self.zoom(false, MIDDLE),
            Action::WholeShow => return Some(Follow::Fit { one_bar: false }),
            Action::OneBar => return Some(Follow::Fit { one_bar: true }),
            Action::Dark => {
                self.view.dark = !self.view.dark;
                return Some(Follow::Restyle);
            }
            Action::LargerText => {
                self.view.resize_text(true);
                return Some(Follow::Restyle);
            }
            Action::SmallerText => {
                self.view.resize_text(false);
                return Some(Follow::Restyle);
            }
            Action::ShowWhy => self.view.panel = Panel::Why,
            Action::ShowFindings => self.view.panel = Panel::Findings,
            Action::ShowWays => self.view.panel = Panel::Ways,
            Action::FindAction => return Some(Follow::FindAction),
            Action::KeySheet => return Some(Follow::KeySheet),
            _ => {}
        }
        None
    }

    /// Something that lets the show go: unsaved work is asked about first.
    pub fn guarded(&self, then: Then) -> Follow {
        if self.open.project.is_saved() {
            Follow::Then(then)
        } else {
            Follow::Ask(Ask::Unsaved(Box::new(then)))
        }
    }

    /// Opens another show, once unsaved work was asked about; the one that is open already stays as it is.
    pub fn opening(&mut self, path: &Path) -> Option<Follow> {
        let real = |p: &Path| std::path::absolute(p).ok();
        let here = self.open.path().and_then(real);
        if here.is_some() && here == real(path) {
            self.say("that is the show that is open here");
            return None;
        }
        Some(self.guarded(Then::OpenPath(path.to_owned())))
    }

    fn undo(&mut self) {
        match self.open.project.undo() {
            Some(name) => {
                self.after_change();
                self.say(format!("taken back: {name}"));
            }
            None => self.say("there is nothing to take back"),
        }
    }

    fn redo(&mut self) {
        match self.open.project.redo() {
            Some(name) => {
                self.after_change();
                self.say(format!("done again: {name}"));
            }
            None => self.say("there is nothing to do again"),
        }
    }

    /// Larger or smaller around a place: shares of what is seen, across and down.
    pub(super) fn zoom(&mut self, larger: bool, (across, down): (f32, f32)) {
        let (width, height) = self.seen;
        let before = (self.view.space(), self.view.space_down());
        self.view.zoom(larger);
        let factor = (
            before.0 / self.view.space(),
            before.1 / self.view.space_down(),
        );
        let left = self.view.left + width * across * (1.0 - factor.0);
        let top = self.view.top + height * down * (1.0 - factor.1);
        self.seen = (width * factor.0, height * factor.1);
        self.look_from(left, top);
    }

    /// Looks at the sheet from a place, in staff spaces; as far as there is something to see.
    pub(super) fn look_from(&mut self, left: f32, top: f32) {
        let most_left = (self.engraved.width() - 10.0).max(0.0);
        let most_top = (height(self.engraved.lanes()) - self.seen.1 * 0.5).max(0.0);
        self.view.left = left.clamp(0.0, most_left);
        self.view.top = top.clamp(0.0, most_top);
    }

    /// Does what a region asked for.
    pub fn want(&mut self, want: Want) -> Option<Follow> {
        match want {
            Want::Do(action) => return self.act(action),
            Want::Open(path) => return self.opening(&path),
            Want::GoTo(bar, part) => self.go_to(bar, part),
            Want::Select(selection) => {
                self.select(selection);
                self.hear_selected();
            }
            Want::SelectSketch(notes) => {
                self.select_sketch(notes);
                self.hear_selected_sketch();
            }
            Want::Hear(heard) => self.listening.heard = heard,
            Want::ListenFrom(place) => self.listening.place = place,
            Want::PlayWith(with) => self.listening.play_with(with),
            Want::Tempo(speed) => self.listening.set_speed(speed),
            Want::TakeOther {
                part,
                start,
                end,
                now,
                sounds,
            } => self.take_other(part, (start, end), (now, sounds)),
            Want::TakeWay(bars, number) => self.take_way(bars, number),
            Want::OpenFinding(finding) => self.open_finding(finding),
            Want::Mend(remedy) => self.mend(remedy),
            Want::PutAside(put) => self.put_aside(put),
            Want::BringBack(index) => self.bring_back(index),
            Want::Drag(note, pitch) => {
                self.drag_to(note, pitch);
                self.hear_selected();
            }
            Want::Panel(panel) => self.view.panel = panel,
            Want::LetGo => self.open.project.end_step(),
            Want::Look(left, top) => self.look_from(left, top),
            Want::Zoom(factor, at) => {
                if let Some(larger) = self.view.turned(factor) {
                    self.zoom(larger, at);
                }
            }
            Want::Shape(edit) => self.edit_shape(&edit, false),
            Want::DragShape(edit) => self.edit_shape(&edit, true),
            Want::SelectPoint(point) => self.point = point,
            Want::NameMark(name) => return Some(Follow::NameMark(name)),
            Want::TakeShape(word) => self.take_shape(&word),
            Want::BeginPlan => self.begin_plan(),
            Want::LayOnBars => self.lay_on_bars(),
            Want::Timeline(name, timeline) => self.with_timeline(&name, *timeline),
            Want::Roster(done) => self.take_roster(*done),
        }
        None
    }

    /// Puts a finding aside with a reason.
    fn put_aside(&mut self, put: PutAside) {
        let mut aside = (*self.document().aside).clone();
        aside.push(put);
        self.with_aside("put a finding aside", aside);
    }

    fn bring_back(&mut self, index: usize) {
        let mut aside = (*self.document().aside).clone();
        if index < aside.len() {
            aside.remove(index);
            self.with_aside("bring a finding back", aside);
        }
    }

    fn with_aside(&mut self, name: &str, aside: Vec<PutAside>) {
        let document = Document {
            aside: Arc::new(aside),
            ..self.document().clone()
        };
        self.change(name, document);
    }
}
