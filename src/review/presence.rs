//! How far the tune and the counterline of a draft stand above the rest.

use super::finding::{Finding, Severity};
use super::moments::{Balance, Sweep};
use crate::band::Band;
use crate::band::loudness::{Decibels, Situation, Target, target};
use crate::music::{BarNumber, MeterMap, Tick};
use crate::score::{DraftNote, PartLine, Passage, Role};

/// Bars of a stretch where there is no plan.
const STRETCH: u32 = 8;
/// From this share on, onsets count as those of one rhythm (ours).
const SAME_RHYTHM: f64 = 0.75;

/// Some bars that are looked at together.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stretch {
    /// Where it begins.
    pub start: Tick,
    /// Where the next begins.
    pub end: Tick,
    /// Its first bar.
    pub first_bar: BarNumber,
    /// Its last bar.
    pub last_bar: BarNumber,
}

impl From<&Passage> for Stretch {
    fn from(passage: &Passage) -> Self {
        Self {
            start: passage.start,
            end: passage.end,
            first_bar: passage.first_bar,
            last_bar: passage.last_bar,
        }
    }
}

/// A line that is heard for this share of its time is not covered (ours; no source).
const MOSTLY_HEARD: f64 = 0.5;

/// How far a line stands above the rest in a stretch.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LinePresence {
    /// Its power over that of the rest (a counterline: of the tune) while it sounds; infinite where
    /// nothing else sounds.
    pub plain_db: Decibels,
    /// The share of its time, 0 to 1, in which it is heard by the bands of the ear.
    pub heard: f64,
    /// How far its best partial rises above what covers it, on the whole; infinite where nothing else
    /// sounds.
    pub best_band_db: Decibels,
    /// How it lies.
    pub situation: Situation,
    /// How far it should stand out, lying so.
    pub target: Target,
}

impl LinePresence {
    /// Whether it is covered: under the least of its situation, and not heard by the bands of the ear
    /// for most of its time either. Sums of power alone weigh low notes so heavily that a tune which
    /// is easily heard above them may seem covered.
    #[must_use]
    pub fn covered(&self) -> bool {
        self.plain_db.0 < self.target.least && self.heard < MOSTLY_HEARD
    }
}

/// Tune and counterline in a stretch; `None` where the line does not sound, or only on instruments
/// that are left out of balance.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StretchPresence {
    /// Where.
    pub stretch: Stretch,
    /// The tune against all else.
    pub tune: Option<LinePresence>,
    /// The counterline against the tune.
    pub counterline: Option<LinePresence>,
}

/// Stretches of eight bars over a draft.
#[must_use]
pub fn stretches(lines: &[PartLine], meters: &MeterMap) -> Vec<Stretch> {
    let ends = lines.iter().flat_map(|l| &l.notes).map(DraftNote::end);
    let end = ends.max().unwrap_or(Tick::ZERO);
    let last = meters.bar(Tick(end.0.saturating_sub(1))).0;
    let of = |first: u32| {
        let last = first.saturating_add(STRETCH - 1).min(last);
        Stretch {
            start: meters.bar_start(BarNumber(first)),
            end: meters.bar_end(BarNumber(last)),
            first_bar: BarNumber(first),
            last_bar: BarNumber(last),
        }
    };
    (1..=last).step_by(STRETCH as usize).map(of).collect()
}

/// The presence of tune and counterline in each stretch, by the roles of the notes.
#[must_use]
pub fn presences(band: &Band, lines: &[PartLine], stretches: &[Stretch]) -> Vec<StretchPresence> {
    let mut sweep = Sweep::new(band, lines);
    let of = |stretch: &Stretch| {
        let both = sweep.through(stretch.start, stretch.end);
        StretchPresence {
            stretch: *stretch,
            tune: of_line(&both.tune, lies(&both.tune)),
            counterline: of_line(&both.counterline, Situation::Counterline),
        }
    };
    stretches.iter().map(of).collect()
}

fn of_line(balance: &Balance, situation: Situation) -> Option<LinePresence> {
    // The built-in table reads; a test shows it.
    let target = target(situation).ok()?;
    if balance.time <= 0.0 {
        return None;
    }
    let level = |energy: f64| Decibels::of_power(energy);
    Some(LinePresence {
        plain_db: level(balance.line).above(level(balance.rest)),
        heard: balance.heard / balance.time,
        best_band_db: Decibels(balance.best / balance.time),
        situation,
        target,
    })
}

/// How a tune lies among the rest.
fn lies(balance: &Balance) -> Situation {
    let half = balance.time / 2.0;
    if balance.low > half {
        return Situation::Low;
    }
    if balance.on_top <= half {
        return Situation::Inside;
    }
    let same_family = 2.0 * balance.rest_of_family > balance.rest;
    if same_family || balance.same_rhythm() >= SAME_RHYTHM {
        return Situation::SameFamily;
    }
    Situation::OnTop
}

/// What a reviewer would mark: stretches in which the tune, or the counterline against it, is
/// covered.
#[must_use]
pub fn presence_findings(found: &[StretchPresence], meters: &MeterMap) -> Vec<Finding> {
    let one = |s: &StretchPresence| {
        let tune = s.tune.filter(LinePresence::covered);
        let counter = s.counterline.filter(LinePresence::covered);
        let tune = tune.map(|p| finding(&s.stretch, &p, Role::Melody, meters));
        let counter = counter.map(|p| finding(&s.stretch, &p, Role::Counterline, meters));
        [tune, counter]
    };
    found.iter().flat_map(one).flatten().collect()
}

fn finding(stretch: &Stretch, p: &LinePresence, role: Role, meters: &MeterMap) -> Finding {
    let (kind, who, against) = if role == Role::Melody {
        ("tune_covered", "The tune", "all else")
    } else {
        ("counterline_covered", "The counterline", "the tune")
    };
    let at = meters.bar_start(stretch.first_bar);
    Finding {
        severity: Severity::Caution,
        kind,
        part: None,
        at,
        place: meters.place(at),
        message: format!(
            "{who} stands at {} against {against} in bars {}-{} ({}, at least {:+.0} dB); it is heard in {:.0}% of its time.",
            p.plain_db,
            stretch.first_bar,
            stretch.last_bar,
            how_it_lies(p.situation),
            p.target.least,
            100.0 * p.heard
        ),
        remedy: "Thin out or soften what lies in its octave, give it more players, or raise it an octave. Levels are estimates: listen, and let the director decide.".to_owned(),
    }
}

/// How a line lies, in words.
#[must_use]
pub fn how_it_lies(situation: Situation) -> &'static str {
    match situation {
        Situation::OnTop => "on top, in a colour of its own",
        Situation::SameFamily => "on top of chords of its own family or rhythm",
        Situation::Inside => "inside the texture",
        Situation::Low => "under the other parts",
        Situation::Counterline => "against the tune",
    }
}
