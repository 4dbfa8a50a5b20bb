//! Moving about: the selection by keys, and the sheet with it.

use super::Session;
use crate::app::actions::Action;
use crate::app::sheet::lanes::Whose;
use crate::band::PartId;
use crate::music::BarNumber;
use crate::project::work::{Selection, Side};

impl Session {
    /// Does what moves the selection; false for other actions.
    pub(super) fn move_selection(&mut self, action: Action) -> bool {
        let Some(desk) = self.desk() else {
            return false;
        };
        if desk.band.parts.is_empty() {
            return false;
        }
        if self.move_in_sketch(action) {
            return true;
        }
        let Some(desk) = self.desk() else {
            return false;
        };
        let here = self.selection.clone().unwrap_or_else(|| {
            let bar = self.engraved.bar_at(self.view.left).unwrap_or(BarNumber(1));
            let top = self.engraved.lanes().iter().find_map(|l| match l.whose {
                Whose::Part(id) if l.top + l.height > self.view.top => Some(id),
                _ => None,
            });
            Selection::of(bar, bar, [top.unwrap_or(PartId(0))])
        });
        let last = desk.last_bar();
        let to = |bar: BarNumber| Selection::of(bar, bar, here.parts.iter().copied());
        let next = match action {
            Action::NoteBefore => here.next_note(&desk, Side::Before),
            Action::NoteAfter => here.next_note(&desk, Side::After),
            Action::PartAbove => here.next_part(&desk, Side::Before),
            Action::PartBelow => here.next_part(&desk, Side::After),
            Action::BarBefore => here.bars_beside(&desk, Side::Before),
            Action::BarAfter => here.bars_beside(&desk, Side::After),
            Action::ExtendBack => {
                if here.bars.0 < here.bars.1 {
                    here.without_bar(Side::After)
                } else {
                    here.with_bar(&desk, Side::Before)
                }
            }
            Action::ExtendOn => here.with_bar(&desk, Side::After),
            Action::ExtendAbove => {
                if here.parts.len() > 1 {
                    here.without_part(Side::After)
                } else {
                    here.with_part(&desk, Side::Before)
                }
            }
            Action::ExtendBelow => here.with_part(&desk, Side::After),
            Action::SelectPassage => here.whole_passage(&desk),
            Action::SelectPart => here.whole_parts(&desk),
            Action::SelectAll => Selection::all(&desk),
            Action::ToStart => to(BarNumber(1)),
            Action::ToEnd => to(last),
            _ => return false,
        };
        let end = match action {
            Action::ExtendOn | Action::ToEnd => next.bars.1,
            _ => next.bars.0,
        };
        let part = match action {
            Action::ExtendBelow => next.parts.last().copied(),
            _ => next.parts.first().copied(),
        };
        let stays = matches!(action, Action::SelectAll | Action::SelectPart);
        self.select(Some(next));
        if !stays {
            self.bring_into_view(end, part);
        }
        true
    }

    /// Selects bars, parts or a note.
    pub fn select(&mut self, selection: Option<Selection>) {
        self.selection = selection;
        self.shown_way = None;
        self.sketch_notes.clear();
    }

    /// Selects notes of the sketch.
    pub fn select_sketch(&mut self, notes: Vec<usize>) {
        self.selection = None;
        self.why = None;
        self.sketch_notes = notes;
    }

    /// Moves the sheet so that a bar, and a part, are seen.
    pub fn bring_into_view(&mut self, bar: BarNumber, part: Option<PartId>) {
        if let Some((from, to)) = self.engraved.bar_span(bar) {
            self.view.bring_into_view(from, to, self.seen.0);
        }
        if let Some(part) = part {
            self.bring_lane_into_view(Whose::Part(part));
        }
    }

    /// Moves the sheet up or down so that a lane is seen.
    pub(super) fn bring_lane_into_view(&mut self, whose: Whose) {
        let lane = self.engraved.lanes().iter().find(|l| l.whose == whose);
        if let Some(lane) = lane.copied() {
            let (top, bottom) = (lane.top, lane.top + lane.height);
            self.view.bring_lane_into_view(top, bottom, self.seen.1);
        }
    }

    /// Moves the sheet so that the sketch stands in its middle.
    pub(super) fn bring_sketch_into_view(&mut self) {
        let lanes = self.engraved.lanes().iter();
        if let Some(lane) = lanes.copied().find(|l| l.whose == Whose::Sketch) {
            self.view.top = (lane.top + lane.height / 2.0 - self.seen.1 / 2.0).max(0.0);
        }
    }

    /// Goes to a bar, and to a part, and selects it.
    pub fn go_to(&mut self, bar: BarNumber, part: Option<PartId>) {
        if let Some(part) = part {
            self.select(Some(Selection::of(bar, bar, [part])));
        }
        self.bring_into_view(bar, part);
    }
}
