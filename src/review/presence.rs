//! How far tune, counterline and bass of a draft stand above the rest.

use super::moments::{Balance, Lines, Sounds, sounds, weighed};
use super::tones::Tones;
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
    /// is easily heard above them may seem covered. A bass needs no three partials to be heard: it is not covered
    /// while its best partial, most often its lowest, rises above the rest (ours).
    #[must_use]
    pub fn covered(&self) -> bool {
        let hidden = match self.situation {
            Situation::Bass => self.best_band_db.0 < 0.0,
            _ => self.heard < MOSTLY_HEARD,
        };
        self.plain_db.0 < self.target.least && hidden
    }
}

/// Tune, counterline and bass in a stretch; `None` where the line does not sound, or only on instruments
/// that are left out of balance.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StretchPresence {
    /// Where.
    pub stretch: Stretch,
    /// The tune against all else.
    pub tune: Option<LinePresence>,
    /// The counterline against the tune.
    pub counterline: Option<LinePresence>,
    /// The bass against all else.
    pub bass: Option<LinePresence>,
}

impl StretchPresence {
    pub(super) fn of(stretch: Stretch, lines: &Lines) -> Self {
        Self {
            stretch,
            tune: of_line(&lines.tune, lies(&lines.tune)),
            counterline: of_line(&lines.counterline, Situation::Counterline),
            bass: of_line(&lines.bass, Situation::Bass),
        }
    }

    /// The lines that are weighed, with what was found of each.
    #[must_use]
    pub const fn lines(&self) -> [(Role, Option<LinePresence>); 3] {
        [
            (Role::Melody, self.tune),
            (Role::Counterline, self.counterline),
            (Role::Bass, self.bass),
        ]
    }

    /// What was found of the line of a role.
    #[must_use]
    pub fn line(&self, role: Role) -> Option<LinePresence> {
        self.lines().into_iter().find(|l| l.0 == role)?.1
    }
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

/// The presence of tune, counterline and bass in each stretch, by the roles of the notes. Stretches follow one
/// another.
#[must_use]
pub fn presences(band: &Band, lines: &[PartLine], stretches: &[Stretch]) -> Vec<StretchPresence> {
    PresenceBook::of(band).presences(lines, stretches)
}

/// Presences of one band's drafts, with all that was worked out kept: after an edit only the stretches in which
/// something sounds otherwise are weighed again. What it says is always what [`presences`] says.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PresenceBook {
    tones: Tones,
    kept: Vec<(Vec<Sounds>, StretchPresence)>,
}

impl PresenceBook {
    /// An empty one for a band.
    #[must_use]
    pub fn of(band: &Band) -> Self {
        Self {
            tones: Tones::of(band),
            kept: Vec::new(),
        }
    }

    pub(super) const fn tones(&mut self) -> &mut Tones {
        &mut self.tones
    }

    /// The presences in stretches that follow one another.
    #[must_use]
    pub fn presences(&mut self, lines: &[PartLine], stretches: &[Stretch]) -> Vec<StretchPresence> {
        let all = sounds(&mut self.tones, lines);
        let mut before: Vec<Sounds> = Vec::new();
        let mut next = 0;
        let mut kept = Vec::with_capacity(stretches.len());
        for (at, stretch) in stretches.iter().enumerate() {
            let mut here = std::mem::take(&mut before);
            let until = all.partition_point(|n| n.onset < stretch.end).max(next);
            here.extend(all.get(next..until).unwrap_or_default());
            next = until;
            here.retain(|n| n.end > stretch.start);
            before.extend(here.iter().filter(|n| n.end > stretch.end));
            let known = self.kept.get(at);
            let known = known.filter(|(notes, of)| of.stretch == *stretch && *notes == here);
            let found = match known {
                Some((_, found)) => *found,
                None => {
                    let span = (stretch.start, stretch.end);
                    StretchPresence::of(*stretch, &weighed(&mut self.tones, &here, span))
                }
            };
            kept.push((here, found));
        }
        self.kept = kept;
        self.kept.iter().map(|(_, found)| *found).collect()
    }
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

/// How a line lies, in words.
#[must_use]
pub fn how_it_lies(situation: Situation) -> &'static str {
    match situation {
        Situation::OnTop => "on top, in a colour of its own",
        Situation::SameFamily => "on top of chords of its own family or rhythm",
        Situation::Inside => "inside the texture",
        Situation::Low => "under the other parts",
        Situation::Counterline => "against the tune",
        Situation::Bass => "as the bass",
    }
}
