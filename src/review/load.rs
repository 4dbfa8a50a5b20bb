//! How tired a draft makes its players.

use super::finding::{Finding, Severity};
use super::relief::{After, Later, LoadSheet, Relief};
use super::relief_book::{Lack, ReliefBook, Reliefs, Wanted};
use super::tired::sections_found;
use crate::band::load::{
    Conditions, Exceeded, PartLoad, TimedNote, Worked, WorkingLimits, after_pause, part_load,
    part_load_from, tired as tired_at, worked, working_limits,
};
use crate::band::{Band, Level, Part, PartId, TableError};
use crate::music::{BarNumber, Dynamic, MeterMap, TempoMap, Tick};
use crate::score::{DraftNote, PartLine};
use std::collections::BTreeMap;

/// What every finding of load ends with.
pub(super) const DEFER: &str =
    "Ask the players; the director, local rules and medical advice decide.";

/// What a draft asks of one part's lips.
#[derive(Clone, PartialEq, Debug)]
pub struct PartStrain {
    /// The part.
    pub part: PartId,
    /// Its load.
    pub load: PartLoad,
    /// Brass: what is asked of its weakest players, and what may be.
    pub work: Option<(Worked, WorkingLimits)>,
}

impl PartStrain {
    /// The least reserve of the weakest players; `None` without notes.
    #[must_use]
    pub fn least_reserve(&self) -> Option<f64> {
        let weakest = self.load.weakest()?;
        weakest.reserve.get(weakest.least?).copied()
    }

    /// The working limits that are exceeded.
    #[must_use]
    pub fn exceeded(&self) -> Vec<Exceeded> {
        let work = self.work.as_ref();
        work.map_or_else(Vec::new, |(work, limits)| work.exceeded(limits))
    }
}

/// Notes with their times and dynamics (the dynamic whose usual velocity is nearest).
#[must_use]
pub fn timed(notes: &[DraftNote], tempo: &TempoMap) -> Vec<TimedNote> {
    let one = |n: &DraftNote| TimedNote {
        from: tempo.seconds(n.onset),
        to: tempo.seconds(n.end()),
        pitch: n.pitch,
        dynamic: Dynamic::of_velocity(n.velocity),
    };
    notes.iter().map(one).collect()
}

/// How tired the weakest players of a part are at the end of each note, 0 to 1 (MF of the load
/// model); all 0 where no lips are at work.
#[must_use]
pub fn tired(part: &Part, notes: &[DraftNote], tempo: &TempoMap, how: Conditions) -> Vec<f64> {
    let found = tired_at(part, &timed(notes, tempo), how);
    // The built-in table reads; a test shows it.
    found.unwrap_or_else(|_| vec![0.0; notes.len()])
}

/// What a draft asks of the lips of every part that has some and plays, in the order of the lines.
#[must_use]
pub fn strains(
    band: &Band,
    lines: &[PartLine],
    tempo: &TempoMap,
    meters: &MeterMap,
    how: Conditions,
) -> Vec<PartStrain> {
    let bars = bar_seconds(lines, tempo, meters);
    let of = |line: &PartLine| strain(band, line, tempo, &bars, how, None).unwrap_or(None);
    lines.iter().filter_map(of).collect()
}

/// How tired the players of each part and level are when a movement begins.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Carried(BTreeMap<(PartId, Level), f64>);

impl Carried {
    /// What is left of a movement after a pause of some seconds. The movement ends at a tick; those who did not play
    /// in it have recovered from what they brought into it.
    #[must_use]
    pub fn over(
        &self,
        band: &Band,
        (lines, strains): (&[PartLine], &[PartStrain]),
        (tempo, end): (&TempoMap, Tick),
        pause_seconds: f64,
    ) -> Self {
        let ends = tempo.seconds(end);
        let rested = |level, tired, seconds: f64| {
            // The built-in table reads; a test shows it.
            after_pause(level, tired, seconds).unwrap_or(tired)
        };
        let mut left = BTreeMap::new();
        for (id, part) in band.ids() {
            let strain = strains.iter().find(|s| s.part == id);
            let line = lines.iter().find(|l| l.part == id);
            let stopped = line.and_then(|l| l.notes.iter().map(DraftNote::end).max());
            for (level, _) in part.players.levels() {
                let loads = strain.iter().flat_map(|s| &s.load.levels);
                let mut own = loads.filter(|l| l.level == level);
                let played = own.next().and_then(|l| l.tired.last());
                let tired = match (played, stopped) {
                    (Some(tired), Some(at)) => {
                        let idle = (ends - tempo.seconds(at)).max(0.0);
                        rested(level, *tired, idle + pause_seconds)
                    }
                    _ => rested(level, self.tired(id, level), ends + pause_seconds),
                };
                left.insert((id, level), tired);
            }
        }
        Self(left)
    }

    /// How tired players are, 0 to 1; 0 for those it does not know.
    #[must_use]
    pub fn tired(&self, part: PartId, level: Level) -> f64 {
        self.0.get(&(part, level)).copied().unwrap_or(0.0)
    }
}

/// The same as [`strains`] for a movement that others went before: players begin as tired as they still are.
#[must_use]
pub fn strains_after(
    band: &Band,
    lines: &[PartLine],
    (tempo, meters): (&TempoMap, &MeterMap),
    how: Conditions,
    carried: &Carried,
) -> Vec<PartStrain> {
    let bars = bar_seconds(lines, tempo, meters);
    let of = |line: &PartLine| strain(band, line, tempo, &bars, how, Some(carried)).unwrap_or(None);
    lines.iter().filter_map(of).collect()
}

pub(super) fn strain(
    band: &Band,
    line: &PartLine,
    tempo: &TempoMap,
    bars: &[f64],
    how: Conditions,
    carried: Option<&Carried>,
) -> Result<Option<PartStrain>, TableError> {
    let part = band.part(line.part);
    let notes = timed(&line.notes, tempo);
    let load = match carried {
        Some(c) => part_load_from(part, &notes, how, &|level| c.tired(line.part, level))?,
        None => part_load(part, &notes, how)?,
    };
    let Some(load) = load.filter(|_| !notes.is_empty()) else {
        return Ok(None);
    };
    let mut work = None;
    if let Some(weakest) = load.weakest() {
        let limits = working_limits(weakest.level, how)?;
        work = worked(part, weakest.level, &notes, bars)?.map(|w| (w, limits));
    }
    Ok(Some(PartStrain {
        part: line.part,
        load,
        work,
    }))
}

/// The seconds at which the bars begin, and the end of the last.
pub(super) fn bar_seconds(lines: &[PartLine], tempo: &TempoMap, meters: &MeterMap) -> Vec<f64> {
    let ends = lines.iter().flat_map(|l| &l.notes).map(DraftNote::end);
    let Some(end) = ends.max() else {
        return Vec::new();
    };
    let last = meters.bar(Tick(end.0.saturating_sub(1)));
    (1..=last.0.saturating_add(1))
        .map(|bar| tempo.seconds(meters.bar_start(BarNumber(bar))))
        .collect()
}

/// What a reviewer would mark: parts whose reserve runs out, and brass that is given too little rest or
/// too much that is high, each at most once a part, with where they could rest and who could take over; and
/// sections that are too tired.
#[must_use]
pub fn load_findings(sheet: &LoadSheet<'_>, strains: &[PartStrain]) -> Vec<Finding> {
    load_findings_kept(sheet, strains, &mut ReliefBook::default())
}

/// The same with reliefs that are kept.
#[must_use]
pub fn load_findings_kept(
    sheet: &LoadSheet<'_>,
    strains: &[PartStrain],
    book: &mut ReliefBook,
) -> Vec<Finding> {
    let mut reliefs = book.on(sheet);
    let mut found = Vec::new();
    for strain in strains {
        let mark = Mark {
            sheet,
            id: strain.part,
            part: sheet.band.part(strain.part),
            notes: sheet.notes(strain.part),
            meters: sheet.meters,
        };
        found.extend(mark.runs_out(&strain.load, &mut reliefs));
        let work = strain.work.as_ref();
        found.extend(work.and_then(|w| mark.not_rested(w, &mut reliefs)));
        found.extend(work.and_then(|w| mark.high(w)));
    }
    found.extend(sections_found(&mut reliefs, strains));
    found
}

struct Mark<'a> {
    sheet: &'a LoadSheet<'a>,
    id: PartId,
    part: &'a Part,
    notes: &'a [DraftNote],
    meters: &'a MeterMap,
}

impl Mark<'_> {
    fn runs_out(&self, load: &PartLoad, reliefs: &mut Reliefs<'_>) -> Option<Finding> {
        let weakest = load.weakest()?;
        let first = self.notes.get(weakest.runs_out?)?;
        let least = weakest.least?;
        let bar = self.meters.bar(self.notes.get(least)?.onset);
        let others = load.levels.iter().skip(1);
        let others = others.filter(|l| l.runs_out.is_some());
        let others: String = others
            .map(|l| format!("; nor have the {} ones", l.level))
            .collect();
        let message = format!(
            "By the load model the {} players have nothing left here ({:.2} of their strength short at worst, bar {bar}){others}.",
            weakest.level, -weakest.reserve[least]
        );
        let remedy = "Give a rest before it, a lower octave, a softer dynamic, or the passage to another part.";
        let short = |after: &After<'_>| {
            let levels = after.load.iter().flat_map(|l| &l.levels);
            let least = levels.filter_map(|l| l.reserve.get(l.least?));
            least.map(|reserve| (-reserve).max(0.0)).sum()
        };
        let wanted = self.wanted(first.onset, Later::No, Lack::Reserve);
        let found = reliefs.relief(wanted, &short);
        let remedy = self.in_words(&found, remedy);
        Some(self.finding("reserve_runs_out", first.onset, message, &remedy))
    }

    fn not_rested(
        &self,
        (work, limits): &(Worked, WorkingLimits),
        reliefs: &mut Reliefs<'_>,
    ) -> Option<Finding> {
        let mut said = Vec::new();
        let mut at = None;
        for exceeded in work.exceeded(limits) {
            let (text, place) = match exceeded {
                Exceeded::Playing(held) => (
                    format!(
                        "{:.1} seconds of playing without a rest of 2 seconds ({:.0} at most)",
                        held.seconds, limits.playing_seconds
                    ),
                    self.onset(held.first),
                ),
                Exceeded::Rest(share, bar) => (
                    format!(
                        "{:.1}% of rest in 32 bars from bar {} ({:.0}% at least)",
                        100.0 * share,
                        bar + 1,
                        100.0 * limits.rest_share
                    ),
                    self.meters
                        .bar_start(BarNumber(u32::try_from(bar + 1).unwrap_or(1))),
                ),
                _ => continue,
            };
            said.push(text);
            at = at.or(Some(place));
        }
        let message = format!("{}.", said.join("; "));
        let remedy = "Rest the part in a passage that others carry, or let two parts take turns.";
        let at = at?;
        let over = |after: &After<'_>| {
            let Some((work, limits)) = after.work() else {
                return 0.0;
            };
            let playing = work.playing.seconds / limits.playing_seconds - 1.0;
            let rest = work
                .rest
                .map_or(0.0, |(share, _)| limits.rest_share - share);
            playing.max(0.0) + rest.max(0.0)
        };
        let wanted = self.wanted(at, Later::Too, Lack::Rest);
        let found = reliefs.relief(wanted, &over);
        let remedy = self.in_words(&found, remedy);
        Some(self.finding("not_rested", at, message, &remedy))
    }

    fn high(&self, (work, limits): &(Worked, WorkingLimits)) -> Option<Finding> {
        let mut said = Vec::new();
        let mut at = None;
        for exceeded in work.exceeded(limits) {
            let (text, place) = match exceeded {
                Exceeded::High(held) => (
                    format!(
                        "{:.1} seconds on end in the high zone ({:.0} at most)",
                        held.seconds, limits.high_seconds
                    ),
                    self.onset(held.first),
                ),
                Exceeded::Above(held) => (
                    format!(
                        "{:.1} seconds on end above the comfortable range ({:.0} at most)",
                        held.seconds, limits.above_seconds
                    ),
                    self.onset(held.first),
                ),
                Exceeded::HighShare(share) => (
                    format!(
                        "{:.1}% of its notes' time in the high zone ({:.0}% at most)",
                        100.0 * share,
                        100.0 * limits.high_share
                    ),
                    self.onset(0),
                ),
                Exceeded::LoudHighShare(share) => (
                    format!(
                        "{:.1}% both high and loud ({:.0}% at most)",
                        100.0 * share,
                        100.0 * limits.loud_high_share
                    ),
                    self.onset(0),
                ),
                _ => continue,
            };
            said.push(text);
            at = at.or(Some(place));
        }
        let message = format!("{}.", said.join("; "));
        let remedy = "Take high passages down an octave, or share them out.";
        at.map(|at| self.finding("too_high_too_long", at, message, remedy))
    }

    const fn wanted(&self, at: Tick, later: Later, lack: Lack) -> Wanted {
        Wanted {
            part: self.id,
            at,
            later,
            lack,
        }
    }

    /// Where the part could rest and who could take over, so that less is lacking; or else what is usual.
    fn in_words(&self, found: &Relief, usual: &str) -> String {
        match found.in_words(self.sheet.band) {
            Some(words) if found.enough => words,
            Some(words) => format!("{words} {usual}"),
            None => usual.to_owned(),
        }
    }

    fn onset(&self, note: usize) -> Tick {
        self.notes.get(note).map_or(Tick::ZERO, |n| n.onset)
    }

    fn finding(&self, kind: &'static str, at: Tick, message: String, remedy: &str) -> Finding {
        Finding {
            severity: Severity::Caution,
            kind,
            part: Some(self.part.name.clone()),
            at,
            place: self.meters.place(at),
            message,
            remedy: format!("{remedy} {DEFER}"),
        }
    }
}
