//! The whole way of the data, from a song and a band to a voiced draft, in one short function.

use super::made_ready::{MadeReady, PlanChoice, Settled};
use super::weighed::Weighed;
use crate::band::load::Conditions;
use crate::band::{Band, PartId};
use crate::music::{BarBeat, BarNumber, KeySignature, MeterMap, Tick};
use crate::plan::{Lines, PlanWeights, ScoringPlan};
use crate::review::{
    CleanLine, Finding, Frame, Sheet, Stretch, TuneSheet, check_against_sketch,
    check_carried_alone, check_limits, check_notes, check_tune, clean_lines, silent_parts,
    with_roles,
};
use crate::score::{
    Draft, DraftNote, Lock, Locks, PartLine, Role, TuneRules, own_passages, whole_tracks,
};
use crate::sketch::{Line, Note, ReadOptions, Reading, Song, Tags, Warning};
use crate::voicing::excerpt::excerpt;
use crate::voicing::resolve::with_lost_notes;
use crate::voicing::{
    Again, Effort, Excerpt, ExcerptError, Kept, Problem, Resolved, Scope, Stay, Voiced, Weights,
    resolve, voice_with,
};
use std::collections::BTreeMap;

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

/// What the arranger gives besides the sketch.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Given<'a> {
    /// A song whose tracks named like parts are locked; where it and the sketch's own passages
    /// lock the same bar, it holds.
    pub locks: Option<&'a Song>,
    /// What the arranger says of the sketch's lines.
    pub tags: Tags,
    /// Under what conditions the show is played.
    pub conditions: Conditions,
    /// Where the tune stays as written, and where a note of it may change.
    pub tune: TuneRules,
    /// Where notes of the tune begin that the arranger wants back as they were.
    pub restore: Vec<BarBeat>,
    /// Threads at the most, if not the usual number; the answer is the same with any.
    pub threads: Option<usize>,
    /// Bars to be solved by themselves too, and whether their network is wanted.
    pub excerpt: Option<((BarNumber, BarNumber), bool)>,
    /// The line of every note of the sketch, where it was read before in another key.
    pub lines: &'a [Line],
    /// What every term of the chords weighs.
    pub weights: Weights,
    /// How much each term of the plan counts.
    pub plan_weights: PlanWeights,
    /// Ways of scoring that the arranger takes: first and last bar of a passage to the number of the way.
    pub taken: BTreeMap<(u32, u32), usize>,
    /// A draft of which some is to be solved again, instead of voicing all anew.
    pub again: Option<DraftAgain<'a>>,
}

/// A draft of which some is to be solved again.
#[derive(Clone, PartialEq, Debug)]
pub struct DraftAgain<'a> {
    /// The draft, with tracks named like the parts.
    pub draft: &'a Song,
    /// The bars that may change.
    pub bars: Vec<(BarNumber, BarNumber)>,
    /// The parts that may change; all of them where none is named.
    pub parts: Vec<PartId>,
    /// What staying as drafted is worth.
    pub stay: Stay,
}

/// What came of solving some of a draft again.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct AgainTold {
    /// What the draft before cost in the same bars, where it is still allowed.
    pub before: Option<f64>,
    /// Notes that were not in the draft before.
    pub moved: usize,
}

/// Goes the whole way. `progress` is told the share done.
#[must_use]
pub fn whole_way(
    song: &Song,
    band: &Band,
    given: &Given<'_>,
    progress: &mut dyn FnMut(f64),
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
    progress: &mut dyn FnMut(f64),
) -> WholeWay {
    let locks = given.locks;
    let onto = (&song.meters, song.quarter);
    let own = own_passages(song, band, onto);
    let locked = locks.map(|l| own_passages(l, band, onto));
    let mut warnings = [song.warnings.clone(), own.warnings].concat();
    warnings.extend(controls_left_out(song, &own.tracks));
    let mut all = own.locks;
    if let Some((file, given)) = locks.zip(locked) {
        warnings.extend(given.warnings);
        warnings.extend(locks_nothing(file, &given.tracks));
        let before = all.clone();
        all = all.overlaid(given.locks, &song.meters);
        let gone = replaced(&before, &all);
        if gone > 0 {
            warnings.push(Warning::music(format!("{gone} notes of the sketch's own passages give way to the lock file, which fixes the same bars")));
        }
    }
    let ready = MadeReady::of(
        song,
        band,
        &ReadOptions {
            leave_out: &own.tracks,
            tags: given.tags.clone(),
            lines: given.lines,
            ..ReadOptions::default()
        },
    );
    warnings.extend(ready.reading.warnings.clone());
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
    let (voiced, again) = match &given.again {
        Some(again) => {
            let found = solve_again(&problem, again, &effort, progress);
            let told = AgainTold {
                before: found.before,
                moved: found.moved,
            };
            (found.voiced, Some(told))
        }
        None => (voice_with(&problem, &effort, progress), None),
    };
    let excerpt = given
        .excerpt
        .map(|(bars, network)| excerpt(&problem, bars, network, &effort));
    let MadeReady {
        reading,
        passages,
        played,
        signatures,
        ..
    } = ready;
    let found = keys_found(&reading);
    let drafted = &voiced.draft.lines;
    let sheet = Sheet {
        band,
        lines: drafted,
        meters: &song.meters,
        tempo: &song.tempo,
        keys: &[&found, &signatures],
    };
    let mut findings = check_limits(&sheet);
    findings.extend(check_carried_alone(band, drafted, &reading, &song.meters));
    findings.extend(silent_parts(band, drafted, &song.meters));
    findings.extend(check_notes(&sheet));
    let tune_sheet = TuneSheet {
        reading: &reading,
        meters: &song.meters,
        rules: &tune,
        changes: &voiced.draft.melody_changes,
    };
    findings.extend(check_against_sketch(band, drafted, &tune_sheet));
    findings.extend(check_tune(band, drafted, &tune_sheet));
    let frame = Frame {
        tempo: &song.tempo,
        meters: &song.meters,
        keys: &found,
    };
    let clean = clean_lines(band, drafted, &frame, given.conditions);
    let stretches: Vec<Stretch> = passages.iter().map(Stretch::from).collect();
    let weighed = Weighed::default()
        .with_presence(band, drafted, &song.meters, &stretches)
        .with_load(band, drafted, (&song.tempo, &song.meters), given.conditions);
    findings.extend(weighed.findings.clone());
    WholeWay {
        own_tracks: own.tracks,
        locks: all,
        tune,
        plan,
        voiced,
        again,
        excerpt,
        findings,
        clean,
        weighed,
        warnings,
        reading,
        played,
        weights: given.weights.clone(),
    }
}

/// Solves some of a draft again.
fn solve_again(
    problem: &Problem<'_>,
    again: &DraftAgain<'_>,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(f64),
) -> Resolved {
    let (band, meters) = (problem.band, problem.meters);
    let draft = whole_tracks(again.draft);
    let tracks = own_passages(&draft, band, (meters, problem.quarter));
    let note = |n: &Note| DraftNote {
        onset: n.onset,
        pitch: n.pitch,
        duration: n.duration,
        velocity: n.velocity,
        role: Role::Harmony,
        locked: false,
    };
    let line = |(part, _)| {
        let lock = tracks.locks.of(part);
        PartLine {
            part,
            notes: lock.map_or_else(Vec::new, |l| l.notes.iter().map(note).collect()),
        }
    };
    let lines: Vec<PartLine> = band.ids().map(line).collect();
    let mut lines = with_roles(&lines, problem.reading, meters);
    lines
        .iter_mut()
        .for_each(|l| take_planned_roles(problem, l));
    let draft = Draft {
        lines,
        melody_changes: Vec::new(),
    };
    let draft = with_lost_notes(problem, draft);
    let scope = Scope::bars(meters, band.parts.len(), &again.bars, &again.parts);
    let asked = Again {
        draft: &draft,
        scope: &scope,
        stay: again.stay,
    };
    let mut found = resolve(problem, &asked, &mut Kept::of(band), effort, progress);
    let lines = found.voiced.lines.clone();
    let played = Problem {
        lines: &lines,
        ..*problem
    };
    found.voiced = found.voiced.with_choices(&played);
    found
}

/// Notes of a line that the plan gives the part are that line's.
fn take_planned_roles(problem: &Problem<'_>, line: &mut PartLine) {
    for note in line.notes.iter_mut().filter(|n| n.role == Role::Harmony) {
        let passage = problem.plan.passage(note.onset);
        let role = passage
            .and_then(|p| p.roles.get(line.part.0))
            .map(|r| r.role);
        let Some((role, planned)) = role.and_then(|r| Some((r, problem.lines.of_role(r)?))) else {
            continue;
        };
        let here = planned.at(note.onset).filter(|n| n.onset == note.onset);
        if here.is_some_and(|n| n.pitch.class() == note.pitch.class()) {
            note.role = role;
        }
    }
}

/// So far from a note of the tune, in beats, it is still meant: places are told in thousandths.
const NEAR: f64 = 0.002;

/// The rules for the tune, and what of them means no note.
fn tune_rules(given: &Given<'_>, lines: &Lines, meters: &MeterMap) -> (TuneRules, Vec<Warning>) {
    let mut rules = given.tune.clone();
    let mut unknown = Vec::new();
    for place in &given.restore {
        let is_here = |at: Tick| {
            let here = meters.place(at);
            here.bar == place.bar && (here.beat - place.beat).abs() < NEAR
        };
        let onsets = lines.melody.notes.iter().map(|n| n.onset);
        match onsets.into_iter().find(|at| is_here(*at)) {
            Some(at) => {
                rules.restored.insert(at);
            }
            None => unknown.push(Warning::music(format!(
                "no note of the tune begins at {place}, so that none is given back there"
            ))),
        }
    }
    (rules, unknown)
}

/// The keys that were found in a sketch, in order.
pub(super) fn keys_found(reading: &Reading) -> Vec<(Tick, KeySignature)> {
    let keys = reading.keys.iter();
    keys.map(|k| (k.start, k.signature)).collect()
}

/// The key signatures that a file writes, in order.
pub(super) fn signatures(song: &Song) -> Vec<(Tick, KeySignature)> {
    song.keys.iter().map(|k| (k.at, k.signature)).collect()
}

/// Tells how many controllers of the arranger's own tracks do not go into the draft.
fn controls_left_out(song: &Song, own: &[usize]) -> Option<Warning> {
    let tracks = own.iter().filter_map(|i| song.tracks.get(*i));
    let program = |status: u8| status & 0xF0 == 0xC0;
    let left = tracks
        .flat_map(|t| &t.controls)
        .filter(|c| !program(c.status))
        .count();
    (left > 0).then(|| {
        Warning::music(format!(
            "the notes of your own passages are kept; {left} controllers on their tracks are not"
        ))
    })
}

/// Tells which tracks of a lock file lock nothing.
fn locks_nothing(file: &Song, locking: &[usize]) -> Option<Warning> {
    let others = file
        .tracks
        .iter()
        .enumerate()
        .filter(|(i, t)| !locking.contains(i) && !t.notes.is_empty());
    let names: Vec<String> = others.map(|(_, t)| format!("`{}`", t.name)).collect();
    (!names.is_empty()).then(|| {
        let names = names.join(", ");
        Warning::music(format!(
            "tracks of the lock file that are named like no part lock nothing: {names}"
        ))
    })
}

/// How many notes of locks are not in others, or not as they were.
fn replaced(before: &Locks, after: &Locks) -> usize {
    let gone = |lock: &Lock| {
        let now = after.of(lock.part).map_or(&[][..], |l| &l.notes);
        lock.notes.iter().filter(|n| !now.contains(n)).count()
    };
    before.0.iter().map(gone).sum()
}
