//! Other ways of scoring a passage: to look through, and to take.

use super::Session;
use crate::app::view::Panel;
use crate::music::{BarNumber, Tick};
use crate::plan::PassagePlan;
use crate::project::Document;
use std::sync::Arc;

impl Session {
    /// Where the passage is that the panel of ways tells of.
    #[must_use]
    pub fn way_place(&self) -> Tick {
        let here = self.place().map(|(_, at)| at);
        let seen = || {
            let bar = self.engraved.bar_at(self.view.left)?;
            Some(self.look.as_ref()?.song.meters.bar_start(bar))
        };
        here.or_else(seen).unwrap_or(Tick::ZERO)
    }

    fn planned(&self) -> Option<&PassagePlan> {
        self.look.as_ref()?.plan.passage(self.way_place())
    }

    /// Looks at the next other way of the passage.
    pub(super) fn next_way(&mut self) {
        self.view.panel = Panel::Ways;
        let count = self.planned().map_or(0, |p| p.others.len());
        self.shown_way = match self.shown_way {
            _ if count == 0 => None,
            None => Some(0),
            Some(at) if at + 1 < count => Some(at + 1),
            Some(_) => None,
        };
    }

    /// Takes the way that is looked at.
    pub(super) fn take_shown_way(&mut self) {
        let shown = self.shown_way;
        let found = self.planned().and_then(|planned| {
            let other = planned.others.get(shown?)?;
            let passage = &planned.passage;
            Some(((passage.first_bar.0, passage.last_bar.0), other.number))
        });
        match found {
            Some((bars, number)) => self.take_way(bars, Some(number)),
            None => self.say("look at another way first (V), then take it"),
        }
    }

    /// Scores a passage in a way by its number, or as is best again, and solves it.
    pub fn take_way(&mut self, bars: (u32, u32), number: Option<usize>) {
        if self.solving.is_some() {
            self.say("a solve runs; stop it first");
            return;
        }
        let mut taken = (*self.document().taken).clone();
        match number {
            Some(number) => taken.insert(bars, number),
            None => taken.remove(&bars),
        };
        let name = match number {
            Some(_) => format!("take another way for bars {}-{}", bars.0, bars.1),
            None => format!("score bars {}-{} as is best", bars.0, bars.1),
        };
        let after = Document {
            taken: Arc::new(taken),
            ..self.document().clone()
        };
        self.shown_way = None;
        self.change(&name, after);
        self.solve_step(&name, (BarNumber(bars.0), BarNumber(bars.1)));
    }
}
