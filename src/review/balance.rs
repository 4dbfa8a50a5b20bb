//! Findings of balance: lines that are covered, by whom, and what would uncover them.

use super::changes::listed;
use super::finding::{Finding, Severity};
use super::presence::{LinePresence, PresenceBook, Stretch, StretchPresence, how_it_lies};
use super::uncover::{Cover, Trial, Uncover};
use crate::band::Band;
use crate::band::loudness::Situation;
use crate::music::MeterMap;
use crate::score::{PartLine, Role};

/// What every finding of balance ends with.
const DEFER: &str = "Levels are estimates: listen, and let the director decide.";

/// What a reviewer would mark: stretches in which the tune, the bass, or the counterline against the tune, is
/// covered; by whom; and the least change that would uncover it.
#[must_use]
pub fn presence_findings(
    band: &Band,
    lines: &[PartLine],
    found: &[StretchPresence],
    meters: &MeterMap,
) -> Vec<Finding> {
    BalanceBook::of(band).findings(band, lines, found, meters)
}

/// Why a line is covered, with the notes that it follows from.
#[derive(Clone, PartialEq, Debug)]
struct Known {
    stretch: Stretch,
    role: Role,
    lines: Vec<PartLine>,
    about: Uncover,
}

/// Presences and their findings in one band's drafts, with all that was worked out kept: what would uncover a line is
/// looked for again only where notes changed.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct BalanceBook {
    presence: PresenceBook,
    known: Vec<Known>,
}

impl BalanceBook {
    /// An empty one for a band.
    #[must_use]
    pub fn of(band: &Band) -> Self {
        Self {
            presence: PresenceBook::of(band),
            known: Vec::new(),
        }
    }

    /// The presences in stretches that follow one another; what [`presences`](super::presences) says.
    #[must_use]
    pub fn presences(&mut self, lines: &[PartLine], stretches: &[Stretch]) -> Vec<StretchPresence> {
        self.presence.presences(lines, stretches)
    }

    /// What [`presence_findings`] says. The band is that of the book.
    #[must_use]
    pub fn findings(
        &mut self,
        band: &Band,
        lines: &[PartLine],
        found: &[StretchPresence],
        meters: &MeterMap,
    ) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut before = std::mem::take(&mut self.known);
        for s in found {
            for (role, presence) in s.lines() {
                let Some(presence) = presence.filter(LinePresence::covered) else {
                    continue;
                };
                let trial = Trial::of(self.presence.tones(), band, lines, &s.stretch);
                let same = |k: &Known| {
                    (k.role, k.stretch) == (role, s.stretch) && k.lines == trial.lines()
                };
                let known = match before.iter().position(same) {
                    Some(at) => before.swap_remove(at),
                    None => Known {
                        stretch: s.stretch,
                        role,
                        lines: trial.lines().to_vec(),
                        about: trial.uncover(role, 1),
                    },
                };
                let line = Covered {
                    stretch: &s.stretch,
                    presence,
                    role,
                };
                findings.push(line.finding(band, &known.about, meters));
                self.known.push(known);
            }
        }
        findings
    }
}

struct Covered<'a> {
    stretch: &'a Stretch,
    presence: LinePresence,
    role: Role,
}

impl Covered<'_> {
    fn finding(&self, band: &Band, about: &Uncover, meters: &MeterMap) -> Finding {
        let (kind, who, against) = match self.role {
            Role::Melody => ("tune_covered", "The tune", "all else"),
            Role::Bass => ("bass_covered", "The bass", "all else"),
            _ => ("counterline_covered", "The counterline", "the tune"),
        };
        let at = meters.bar_start(self.stretch.first_bar);
        let p = self.presence;
        let message = format!(
            "{who} stands at {} against {against} in bars {}-{} ({}, at least {:+.0} dB), {}{}.",
            p.plain_db,
            self.stretch.first_bar,
            self.stretch.last_bar,
            how_it_lies(p.situation),
            p.target.least,
            heard(&p),
            by_whom(band, about)
        );
        Finding {
            severity: Severity::Caution,
            kind,
            part: None,
            at,
            place: meters.place(at),
            message,
            remedy: format!("{} {DEFER}", remedy(band, about)),
        }
    }
}

/// How far a line is heard: the share of its time, or for a bass how its best partial stands.
fn heard(of: &LinePresence) -> String {
    match of.situation {
        Situation::Bass => format!("with its best partial at {}", of.best_band_db),
        _ => format!("heard in {:.0}% of its time", 100.0 * of.heard),
    }
}

/// `, covered most by Trombone 1 (41%) and Tuba (22%)`.
fn by_whom(band: &Band, about: &Uncover) -> String {
    let name = |c: &Cover| format!("{} ({:.0}%)", band.part(c.part).name, 100.0 * c.share);
    let names: Vec<String> = about.named().iter().map(name).collect();
    if names.is_empty() {
        return String::new();
    }
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    format!(", covered most by {}", listed(&names))
}

fn remedy(band: &Band, about: &Uncover) -> String {
    if let Some(least) = about.enough.first() {
        return format!(
            "With {} it would stand at {}, {}: the least change that is enough.",
            least.change.in_words(band),
            least.then.plain_db,
            heard(&least.then)
        );
    }
    match &about.nearest {
        Some(nearest) => format!(
            "None of {} small changes is enough (softer, louder, an octave away, fewer doublings, another part too); the nearest, with {}, gives {}, {}. Look at other ways of scoring these bars.",
            about.tried,
            nearest.change.in_words(band),
            nearest.then.plain_db,
            heard(&nearest.then)
        ),
        None => "No small change of a part that is free to change uncovers it. Look at other ways of scoring these bars.".to_owned(),
    }
}
