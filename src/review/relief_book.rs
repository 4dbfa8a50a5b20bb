//! What would relieve tired parts, kept while nothing of it changed: the search reckons a part's load many times.

use super::load::bar_seconds;
use super::presence::Stretch;
use super::relief::{After, GivenUp, Later, LoadSheet, Relief, candidates, relief};
use crate::band::load::Conditions;
use crate::band::{Part, PartId};
use crate::music::{TempoMap, Tick};
use crate::score::DraftNote;

/// What is lacking, and where that is not said by the place of the finding.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Lack {
    /// Reserve.
    Reserve,
    /// Rest.
    Rest,
    /// A section is too tired in a stretch.
    Section(Stretch),
    /// A part comes too tired to a peak that begins here.
    Peak(Tick),
}

/// Where relief is looked for, and what for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Wanted {
    pub part: PartId,
    pub at: Tick,
    pub later: Later,
    pub lack: Lack,
}

#[derive(Clone, PartialEq, Debug)]
struct Known {
    wanted: Wanted,
    of: Part,
    notes: Vec<DraftNote>,
    can: Vec<GivenUp>,
    found: Relief,
    used: bool,
}

/// Reliefs that were found, each kept while its part's notes and those who could take over stay as they are.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ReliefBook {
    from: Option<(TempoMap, Vec<f64>, Conditions)>,
    known: Vec<Known>,
}

impl ReliefBook {
    /// Drops what was not asked for since the last time.
    pub fn drop_unused(&mut self) {
        self.known.retain(|k| k.used);
        self.known.iter_mut().for_each(|k| k.used = false);
    }

    pub(super) fn on<'a>(&'a mut self, sheet: &'a LoadSheet<'a>) -> Reliefs<'a> {
        let bars = bar_seconds(sheet.lines, sheet.tempo, sheet.meters);
        let from = (sheet.tempo.clone(), bars.clone(), sheet.conditions);
        if self.from.as_ref() != Some(&from) {
            self.from = Some(from);
            self.known.clear();
        }
        Reliefs {
            sheet,
            bars,
            rests: None,
            book: self,
        }
    }
}

/// Reliefs in one draft.
pub(super) struct Reliefs<'a> {
    pub sheet: &'a LoadSheet<'a>,
    bars: Vec<f64>,
    /// For each part of the band, the stretches in which it rests.
    rests: Option<Vec<Vec<bool>>>,
    book: &'a mut ReliefBook,
}

impl Reliefs<'_> {
    /// The least that a part could give up so that nothing is lacking, see [`relief`].
    pub fn relief(&mut self, wanted: Wanted, lacks: &dyn Fn(&After<'_>) -> f64) -> Relief {
        let sheet = self.sheet;
        let Some(of) = sheet.band.parts.get(wanted.part.0) else {
            return Relief::default();
        };
        let rests = self.rests.get_or_insert_with(|| rests(sheet));
        let notes = sheet.notes(wanted.part);
        let can = candidates(sheet, rests, &wanted);
        let mut known = self.book.known.iter_mut();
        let known = known.find(|k| k.wanted == wanted);
        if let Some(known) = known {
            known.used = true;
            if known.notes == notes && known.can == can && known.of == *of {
                return known.found.clone();
            }
            known.found = relief(sheet, &self.bars, (of, notes), &can, lacks);
            known.notes = notes.to_vec();
            known.of = of.clone();
            known.can = can;
            return known.found.clone();
        }
        let found = relief(sheet, &self.bars, (of, notes), &can, lacks);
        self.book.known.push(Known {
            wanted,
            of: of.clone(),
            notes: notes.to_vec(),
            can,
            found: found.clone(),
            used: true,
        });
        found
    }
}

/// For each part of the band, whether nothing of it sounds in each stretch.
fn rests(sheet: &LoadSheet<'_>) -> Vec<Vec<bool>> {
    let of = |(id, _): (PartId, &Part)| {
        let notes = sheet.notes(id);
        let rests = |stretch: &Stretch| {
            let until = notes.partition_point(|n| n.onset < stretch.end);
            !notes
                .iter()
                .take(until)
                .rev()
                .any(|n| n.end() > stretch.start)
        };
        sheet.stretches.iter().map(rests).collect()
    };
    sheet.band.ids().map(of).collect()
}
