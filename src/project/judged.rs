//! What a reviewer would mark in a draft, and how it will come out.

use super::made_ready::{MadeReady, keys_found};
use super::weighed::Weighed;
use crate::band::load::Conditions;
use crate::band::{Band, Part};
use crate::music::Tick;
use crate::review::{
    BalanceBook, BreathFrame, Breathing, CleanBook, CleanLine, Finding, Frame, LoadBook, LoadSheet,
    ReliefBook, Sheet, Stretch, TuneSheet, breath_findings, breathing, check_against_sketch,
    check_carried_alone, check_limits, check_notes, check_tune, peak_findings_kept, silent_parts,
};
use crate::score::{Draft, TuneRules};
use crate::sketch::Song;

/// What a draft is judged by.
#[derive(Clone, Copy, Debug)]
pub struct Sheets<'a> {
    /// The sketch as a song.
    pub song: &'a Song,
    /// Who plays.
    pub band: &'a Band,
    /// The sketch as read.
    pub ready: &'a MadeReady,
    /// Rules for the tune.
    pub tune: &'a TuneRules,
    /// The notes.
    pub draft: &'a Draft,
    /// Under what conditions the show is played.
    pub conditions: Conditions,
}

/// A draft as a reviewer sees it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Judged {
    /// What a reviewer would mark.
    pub findings: Vec<Finding>,
    /// How clean each line is likely to come out.
    pub clean: Vec<CleanLine>,
    /// Presence and load; what is to be marked of them is among the findings.
    pub weighed: Weighed,
    /// Where players breathe; notes that nobody can hold are among the findings.
    pub breathing: Breathing,
}

impl Judged {
    /// Judges a draft.
    #[must_use]
    pub fn of(sheets: &Sheets<'_>) -> Self {
        JudgeBook::default().judge(sheets)
    }
}

/// What is kept between one judging and the next: after an edit only what the changed notes bear upon is looked into
/// again. What it says is always what [`Judged::of`] says.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct JudgeBook {
    /// Whose drafts it knows.
    parts: Vec<Part>,
    clean: CleanBook,
    balance: BalanceBook,
    loads: LoadBook,
    reliefs: ReliefBook,
}

impl JudgeBook {
    /// Judges a draft.
    #[must_use]
    pub fn judge(&mut self, sheets: &Sheets<'_>) -> Judged {
        let Sheets {
            song,
            band,
            ready,
            tune,
            draft,
            conditions,
        } = *sheets;
        if self.parts != band.parts {
            *self = Self {
                parts: band.parts.clone(),
                balance: BalanceBook::of(band),
                ..Self::default()
            };
        }
        let (reading, drafted) = (&ready.reading, &draft.lines);
        let found = keys_found(reading);
        let sheet = Sheet {
            band,
            lines: drafted,
            meters: &song.meters,
            tempo: &song.tempo,
            keys: &[&found, &ready.signatures],
        };
        let mut findings = check_limits(&sheet);
        findings.extend(check_carried_alone(band, drafted, reading, &song.meters));
        findings.extend(silent_parts(band, drafted, &song.meters));
        findings.extend(check_notes(&sheet));
        let tune_sheet = TuneSheet {
            reading,
            meters: &song.meters,
            rules: tune,
            changes: &draft.melody_changes,
        };
        findings.extend(check_against_sketch(band, drafted, &tune_sheet));
        findings.extend(check_tune(band, drafted, &tune_sheet));
        let frame = Frame {
            tempo: &song.tempo,
            meters: &song.meters,
            keys: &found,
        };
        let clean = self.clean.lines(band, drafted, &frame, conditions);
        let stretches: Vec<Stretch> = ready.passages.iter().map(Stretch::from).collect();
        let weighed = Weighed::default()
            .with_presence_kept(band, drafted, &song.meters, &stretches, &mut self.balance)
            .with_load_kept(
                band,
                drafted,
                (&song.tempo, &song.meters),
                conditions,
                (&mut self.loads, &mut self.reliefs),
            );
        findings.extend(weighed.findings.clone());
        let load = LoadSheet {
            band,
            lines: drafted,
            tempo: &song.tempo,
            meters: &song.meters,
            conditions,
            stretches: &stretches,
        };
        let (strains, passages) = (&weighed.strains, &ready.passages);
        findings.extend(peak_findings_kept(
            &load,
            strains,
            passages,
            &mut self.reliefs,
        ));
        self.reliefs.drop_unused();
        let phrases: Vec<Tick> = reading.phrases.iter().map(|p| p.start).collect();
        let breathing = breathing(
            band,
            drafted,
            &BreathFrame {
                tempo: &song.tempo,
                meters: &song.meters,
                phrases: &phrases,
                posture: conditions.posture,
            },
        );
        findings.extend(breath_findings(band, drafted, &breathing, &song.meters));
        Judged {
            findings,
            clean,
            weighed,
            breathing,
        }
    }
}
