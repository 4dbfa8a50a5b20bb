//! Presence and load of a draft, in short tables for people.

use crate::band::Band;
use crate::band::load::{Caution, Conditions, Exceeded, Start, caution, low_reserve};
use crate::band::loudness::Decibels;
use crate::band::playing::Posture;
use crate::music::{MeterMap, TempoMap};
use crate::review::presence::how_it_lies;
use crate::review::{
    BalanceBook, Finding, LinePresence, LoadBook, LoadSheet, PartStrain, ReliefBook, Stretch,
    StretchPresence, load_findings_kept, stretches,
};
use crate::score::PartLine;

/// Presence and load of a draft.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Weighed {
    /// Under what conditions.
    pub conditions: Conditions,
    /// Tune, counterline and bass by stretch; empty where it is not known who carries them.
    pub presence: Vec<StretchPresence>,
    /// Parts with lips at work.
    pub strains: Vec<PartStrain>,
    /// For each of `strains`, the bar of the note with the least reserve.
    pub bars: Vec<u32>,
    /// What a reviewer would mark of both.
    pub findings: Vec<Finding>,
}

impl Weighed {
    /// Adds the load; rests are looked for in the stretches of presence, if that was added before.
    #[must_use]
    pub fn with_load(
        self,
        band: &Band,
        lines: &[PartLine],
        clock: (&TempoMap, &MeterMap),
        conditions: Conditions,
    ) -> Self {
        let mut books = (LoadBook::default(), ReliefBook::default());
        let books = (&mut books.0, &mut books.1);
        self.with_load_kept(band, lines, clock, conditions, books)
    }

    /// The same with what is kept between drafts.
    #[must_use]
    pub fn with_load_kept(
        mut self,
        band: &Band,
        lines: &[PartLine],
        (tempo, meters): (&TempoMap, &MeterMap),
        conditions: Conditions,
        (loads, reliefs): (&mut LoadBook, &mut ReliefBook),
    ) -> Self {
        self.conditions = conditions;
        self.strains = loads.strains(band, lines, (tempo, meters), conditions);
        let bar = |s: &PartStrain| {
            let line = lines.iter().find(|l| l.part == s.part)?;
            let note = line.notes.get(s.load.weakest()?.least?)?;
            Some(meters.bar(note.onset).0)
        };
        self.bars = self.strains.iter().map(|s| bar(s).unwrap_or(1)).collect();
        let bars = if self.presence.is_empty() {
            stretches(lines, meters)
        } else {
            self.presence.iter().map(|p| p.stretch).collect()
        };
        let sheet = LoadSheet {
            band,
            lines,
            tempo,
            meters,
            conditions,
            stretches: &bars,
        };
        let found = load_findings_kept(&sheet, &self.strains, reliefs);
        self.findings.extend(found);
        self
    }

    /// Adds the presence of lines whose notes have roles.
    #[must_use]
    pub fn with_presence(
        self,
        band: &Band,
        lines: &[PartLine],
        meters: &MeterMap,
        stretches: &[Stretch],
    ) -> Self {
        let mut book = BalanceBook::of(band);
        self.with_presence_kept(band, lines, meters, stretches, &mut book)
    }

    /// The same with what is kept between drafts of the band.
    #[must_use]
    pub fn with_presence_kept(
        mut self,
        band: &Band,
        lines: &[PartLine],
        meters: &MeterMap,
        stretches: &[Stretch],
        book: &mut BalanceBook,
    ) -> Self {
        self.presence = book.presences(lines, stretches);
        let found = book.findings(band, lines, &self.presence, meters);
        self.findings.extend(found);
        self
    }

    /// Short tables: a line a stretch, and a line for each part that is near a limit.
    #[must_use]
    pub fn tables(&self, band: &Band) -> Vec<String> {
        let mut lines = Vec::new();
        if self.presence.iter().any(|p| p.tune.is_some()) {
            lines.push(String::new());
            lines.push("bars     tune over the rest   heard  counterline       bass              the tune lies".to_owned());
            lines.extend(self.presence.iter().map(presence_line));
        }
        let near = self.strain_lines(band);
        if !self.strains.is_empty() {
            lines.push(String::new());
            lines.push(format!(
                "load ({}): {}",
                self.conditions_in_words(),
                if near.is_empty() {
                    "no part is near its limit"
                } else {
                    "weakest players, near their limit"
                }
            ));
        }
        if !near.is_empty() {
            lines.extend(near);
            lines.extend(self.cautions().iter().map(|c| format!("  {c}")));
        }
        lines
    }

    /// The words of care that go with what was found of load; none where no part is near a limit.
    #[must_use]
    pub fn cautions(&self) -> Vec<&'static str> {
        let low = low_reserve().unwrap_or_default();
        let near = |s: &PartStrain| s.least_reserve().is_some_and(|r| r < low);
        let over = |s: &PartStrain| !s.exceeded().is_empty();
        let high = |s: &PartStrain| {
            let all = s.exceeded();
            all.iter()
                .any(|e| !matches!(e, Exceeded::Playing(_) | Exceeded::Rest(..)))
        };
        let any = self.strains.iter().any(|s| near(s) || over(s));
        let marching = self.conditions.posture == Posture::Marching;
        let all = [
            (any, Caution::Reserve),
            (self.strains.iter().any(high), Caution::High),
            (any && marching, Caution::Marching),
        ];
        let said = all.into_iter().filter(|(yes, _)| *yes);
        said.map(|(_, about)| caution(about)).collect()
    }

    /// Under what conditions, in words: `marching, fresh`.
    #[must_use]
    pub fn conditions_in_words(&self) -> String {
        let posture = match self.conditions.posture {
            Posture::Seated => "seated",
            Posture::Marching => "marching",
        };
        let start = match self.conditions.start {
            Start::Fresh => "fresh",
            Start::MidProgramme => "mid-programme",
        };
        format!("{posture}, {start}")
    }

    fn strain_lines(&self, band: &Band) -> Vec<String> {
        let low = low_reserve().unwrap_or_default();
        let all = self.strains.iter().zip(&self.bars);
        let line = |(strain, bar): (&PartStrain, &u32)| {
            let weakest = strain.load.weakest()?;
            let least = strain.least_reserve()?;
            let exceeded = strain.exceeded().len();
            if least >= low && exceeded == 0 {
                return None;
            }
            let name = &band.part(strain.part).name;
            let level = weakest.level.to_string();
            let mut text =
                format!("  {name:<14} {level:<13} least reserve {least:>5.2} in bar {bar}");
            if weakest.low_seconds >= 0.5 {
                text += &format!(", {:.0} s of playing under {low}", weakest.low_seconds);
            }
            if exceeded > 0 {
                let (s, is) = if exceeded == 1 {
                    ("", "is")
                } else {
                    ("s", "are")
                };
                text += &format!("; {exceeded} working limit{s} {is} exceeded");
            }
            Some(text)
        };
        all.filter_map(line).collect()
    }
}

fn presence_line(p: &StretchPresence) -> String {
    let bars = format!("{}-{}", p.stretch.first_bar, p.stretch.last_bar);
    let level = |l: &LinePresence| {
        let covered = if l.covered() { " covered" } else { "" };
        format!("{}{covered}", in_words(l.plain_db))
    };
    let Some(tune) = &p.tune else {
        return format!("{bars:<8} none that can be weighed");
    };
    let heard = format!("{:.0}%", 100.0 * tune.heard);
    let other = |line: &Option<LinePresence>| line.as_ref().map_or(String::from("-"), level);
    let (counter, bass) = (other(&p.counterline), other(&p.bass));
    let how = how_it_lies(tune.situation);
    format!(
        "{bars:<8} {:<20} {heard:>5}  {counter:<17} {bass:<17} {how}",
        level(tune)
    )
}

fn in_words(level: Decibels) -> String {
    if level.0.is_finite() {
        level.to_string()
    } else {
        "alone".to_owned()
    }
}
