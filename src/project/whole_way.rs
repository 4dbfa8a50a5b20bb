//! The whole way of the data, from a song and a band to a voiced draft, in one short function.

use super::given::{AgainTold, Given, tune_rules};
use super::judged::{Judged, Sheets};
use super::locked::Locked;
use super::made_ready::{MadeReady, PlanChoice, Settled};
use super::solve_again::solve_again;
use super::weighed::Weighed;
use crate::band::Band;
use crate::plan::ScoringPlan;
use crate::plan::timeline::Laid;
use crate::review::{Breathing, CleanLine, Finding};
use crate::score::{Locks, TuneRules};
use crate::sketch::{ReadOptions, Reading, Song, Warning};
use crate::voicing::excerpt::excerpt;
use crate::voicing::{
    Effort, Excerpt, ExcerptError, Kept, Problem, Progress, Scope, Voiced, Weights, voice_with,
    write_loud,
};

/// All that comes of voicing a sketch.
#[derive(Clone, PartialEq, Debug)]
pub struct WholeWay {
    /// What was read.
    pub reading: Reading,
    /// What is played of it, figures turned into what parts play.
    pub played: Reading,
    /// What the terms of the chords weigh.
    pub weights: Weights,
    /// Tracks of the sketch that are the arranger's own passages.
    pub own_tracks: Vec<usize>,
    /// What is locked.
    pub locks: Locks,
    /// Where the tune stays as written, and where a note of it may change.
    pub tune: TuneRules,
    /// Who carries what.
    pub plan: ScoringPlan,
    /// The notes.
    pub voiced: Voiced,
    /// How a draft that was solved again differs from the one before.
    pub again: Option<AgainTold>,
    /// The bars that were to be solved by themselves.
    pub excerpt: Option<Result<Excerpt, ExcerptError>>,
    /// What a reviewer would mark.
    pub findings: Vec<Finding>,
    /// How clean each line is likely to come out.
    pub clean: Vec<CleanLine>,
    /// Presence and load; what is to be marked of them is among the findings.
    pub weighed: Weighed,
    /// The timeline, laid on the sketch, where there is one.
    pub timeline: Option<Laid>,
    /// Where players breathe.
    pub breathing: Breathing,
    /// What was malformed or had to be decided.
    pub warnings: Vec<Warning>,
}

impl WholeWay {
    /// What the voicing was made from, to look into it.
    #[must_use]
    pub fn problem<'a>(&'a self, song: &'a Song, band: &'a Band) -> Problem<'a> {
        Problem {
            band,
            reading: &self.played,
            lines: &self.voiced.lines,
            meters: &song.meters,
            quarter: song.quarter,
            tempo: &song.tempo,
            locks: &self.locks,
            tune: &self.tune,
            plan: &self.plan,
            weights: &self.weights,
        }
    }
}

/// Goes the whole way. `progress` is told the share done.
#[must_use]
pub fn whole_way(
    song: &Song,
    band: &Band,
    given: &Given<'_>,
    progress: &mut dyn FnMut(Progress),
) -> WholeWay {
    whole_way_with(song, band, given, &Effort::default(), progress)
}

/// The same with another effort.
#[must_use]
pub fn whole_way_with(
    song: &Song,
    band: &Band,
    given: &Given<'_>,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(Progress),
) -> WholeWay {
    let own = Locked::of(song, band, given.locks);
    let mut warnings = [song.warnings.clone(), own.warnings].concat();
    let all = own.locks;
    let ready = MadeReady::with_timeline(
        song,
        band,
        &ReadOptions {
            leave_out: &own.own_tracks,
            tags: given.tags.clone(),
            lines: given.lines,
            ..ReadOptions::default()
        },
        given.timeline.as_ref(),
    );
    warnings.extend(ready.reading.warnings.clone());
    let said = ready.timeline.iter().flat_map(|t| &t.warnings);
    warnings.extend(said.map(|text| Warning::music(text.as_str())));
    let (tune, unknown) = tune_rules(given, &ready.lines, &song.meters);
    warnings.extend(unknown);
    let choice = PlanChoice {
        weights: &given.plan_weights,
        taken: &given.taken,
    };
    let plan = ready.plan_with(song, band, &all, choice);
    let settled = Settled {
        locks: &all,
        tune: &tune,
        plan: &plan,
        weights: &given.weights,
    };
    let problem = ready.problem(song, band, settled);
    let effort = Effort {
        threads: given.threads.unwrap_or(effort.threads),
        ..*effort
    };
    let (mut voiced, again) = match &given.again {
        Some(again) => {
            let found = solve_again(&problem, again, &mut Kept::of(band), &effort, progress);
            let told = AgainTold {
                before: found.before,
                moved: found.moved,
            };
            (found.voiced, Some(told))
        }
        None => (voice_with(&problem, &effort, progress), None),
    };
    if let Some(timeline) = &ready.timeline {
        let parts = band.parts.len();
        let scope = given.again.as_ref();
        let scope = scope.map(|a| Scope::bars(&song.meters, parts, &a.bars, &a.parts));
        write_loud(&problem, timeline, &mut voiced.draft, scope.as_ref());
    }
    let excerpt = given
        .excerpt
        .map(|(bars, network)| excerpt(&problem, bars, network, &effort));
    let judged = Judged::of(&Sheets {
        song,
        band,
        ready: &ready,
        tune: &tune,
        draft: &voiced.draft,
        conditions: given.conditions,
    });
    let MadeReady {
        reading,
        played,
        timeline,
        ..
    } = ready;
    WholeWay {
        own_tracks: own.own_tracks,
        locks: all,
        tune,
        plan,
        voiced,
        again,
        excerpt,
        findings: judged.findings,
        clean: judged.clean,
        weighed: judged.weighed,
        breathing: judged.breathing,
        warnings,
        timeline,
        reading,
        played,
        weights: given.weights.clone(),
    }
}
