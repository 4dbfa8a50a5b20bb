//! A sketch read for a band, with all that stands before the choice of a plan and of notes.

use crate::band::Band;
use crate::music::{KeySignature, Tick};
use crate::plan::shaped::shaped;
use crate::plan::timeline::{AnyTimeline, Laid};
use crate::plan::{
    FigurePlan, Lines, PlanWeights, ScoringPlan, Setting, figure_plans, passages::passages, plan,
    played,
};
use crate::score::{Locks, Passage, TuneRules};
use crate::sketch::{ReadOptions, Reading, Song, read_sketch_with};
use crate::voicing::{Problem, Weights};
use std::collections::BTreeMap;

/// A sketch read for a band.
#[derive(Clone, Debug)]
pub struct MadeReady {
    /// What was read.
    pub reading: Reading,
    /// The timeline, laid on the sketch, where there is one.
    pub timeline: Option<Laid>,
    /// The passages.
    pub passages: Vec<Passage>,
    /// How the figures of each passage are played.
    pub figures: Vec<Option<FigurePlan>>,
    /// What is played of the reading, figures turned into what parts play.
    pub played: Reading,
    /// Its lines as one player could play them.
    pub lines: Lines,
    /// The key signatures that the file writes.
    pub signatures: Vec<(Tick, KeySignature)>,
}

/// What is settled before notes are chosen.
#[derive(Clone, Copy, Debug)]
pub struct Settled<'a> {
    /// What is locked.
    pub locks: &'a Locks,
    /// Rules for the tune.
    pub tune: &'a TuneRules,
    /// Who carries what.
    pub plan: &'a ScoringPlan,
    /// What every term of the cost weighs.
    pub weights: &'a Weights,
}

/// How a plan is chosen.
#[derive(Clone, Copy, Debug)]
pub struct PlanChoice<'a> {
    /// What every term of a plan's cost weighs.
    pub weights: &'a PlanWeights,
    /// Alternatives that are taken: by first and last bar of a passage, which one.
    pub taken: &'a BTreeMap<(u32, u32), usize>,
}

impl MadeReady {
    /// Reads a sketch for a band.
    #[must_use]
    pub fn of(song: &Song, band: &Band, options: &ReadOptions<'_>) -> Self {
        Self::with_timeline(song, band, options, None)
    }

    /// The same with a timeline, which says where passages begin and how intense they are wanted.
    #[must_use]
    pub fn with_timeline(
        song: &Song,
        band: &Band,
        options: &ReadOptions<'_>,
        timeline: Option<&AnyTimeline>,
    ) -> Self {
        let reading = read_sketch_with(song, options);
        let clock = (&song.meters, &song.tempo);
        let timeline = timeline.map(|t| Laid::of(t, clock, song.end()));
        let passages = passages(&reading, &song.meters, &song.markers, timeline.as_ref());
        let figures = figure_plans(band, &reading, &passages, &song.tempo, &BTreeMap::new());
        let way = |at| {
            let next = passages.partition_point(|p| p.start <= at);
            figures.get(next.checked_sub(1)?)?.as_ref().map(|f| f.way)
        };
        let mut played = played(&reading, way);
        if let Some(timeline) = &timeline {
            played = shaped(played, timeline, &song.meters);
        }
        Self {
            lines: Lines::of(&played, &song.tempo),
            signatures: signatures(song),
            timeline,
            reading,
            passages,
            figures,
            played,
        }
    }

    /// The best scoring plan around some locks, with the usual weights.
    #[must_use]
    pub fn plan(&self, song: &Song, band: &Band, locks: &Locks) -> ScoringPlan {
        let usual = PlanChoice {
            weights: &PlanWeights::default(),
            taken: &BTreeMap::new(),
        };
        self.plan_with(song, band, locks, usual)
    }

    /// The best scoring plan around some locks, with the alternatives that are taken. What names no
    /// passage takes nothing.
    #[must_use]
    pub fn plan_with(
        &self,
        song: &Song,
        band: &Band,
        locks: &Locks,
        choice: PlanChoice<'_>,
    ) -> ScoringPlan {
        let bars = self.passages.iter().map(|p| (p.first_bar.0, p.last_bar.0));
        let number = |(i, bars): (usize, (u32, u32))| Some((i, *choice.taken.get(&bars)?));
        let led = self.timeline.as_ref().is_some_and(Laid::has_points);
        let weights = if led {
            choice.weights.for_a_timeline()
        } else {
            choice.weights.clone()
        };
        let setting = Setting {
            band,
            reading: &self.played,
            lines: &self.lines,
            passages: &self.passages,
            meters: &song.meters,
            tempo: &song.tempo,
            signatures: &self.signatures,
            locks,
            weights: &weights,
            reliable: led,
            taken: &bars.enumerate().filter_map(number).collect(),
        };
        plan(&setting, self.figures.clone())
    }

    /// All that a voicing follows from.
    #[must_use]
    pub fn problem<'a>(
        &'a self,
        song: &'a Song,
        band: &'a Band,
        settled: Settled<'a>,
    ) -> Problem<'a> {
        Problem {
            band,
            reading: &self.played,
            lines: &self.lines,
            meters: &song.meters,
            quarter: song.quarter,
            tempo: &song.tempo,
            locks: settled.locks,
            tune: settled.tune,
            plan: settled.plan,
            weights: settled.weights,
        }
    }
}

/// The keys that were found in a sketch, in order.
#[must_use]
pub fn keys_found(reading: &Reading) -> Vec<(Tick, KeySignature)> {
    let keys = reading.keys.iter();
    keys.map(|k| (k.start, k.signature)).collect()
}

/// The key signatures that a file writes, in order.
#[must_use]
pub fn signatures(song: &Song) -> Vec<(Tick, KeySignature)> {
    song.keys.iter().map(|k| (k.at, k.signature)).collect()
}
