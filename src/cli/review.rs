//! `bandwright review`: findings on any draft, also one made elsewhere.

use super::Failure;
use super::clean_report::clean_table;
use super::files::{self, JsonTarget};
use super::how_played::HowPlayed;
use super::json_chance::CleanJson;
use super::json_review::{FindingJson, ReviewAnswer};
use super::json_weighed::WeighedJson;
use super::made_from::MadeFrom;
use super::tune_words::{all_of, read_bars};
use crate::band::Band;
use crate::band::load::Conditions;
use crate::music::{KeySignature, Tick};
use crate::project::made_ready::{keys_found, signatures};
use crate::project::other_key::OtherKey;
use crate::project::weighed::Weighed;
use crate::review::{
    BreathFrame, Breathing, CleanLine, Finding, Frame, Severity, Sheet, TuneSheet, breath_findings,
    breathing, check_against_sketch, check_carried_alone, check_limits, check_notes, check_tune,
    clean_lines, silent_parts, stretches, with_roles,
};
use crate::score::{BarSet, PartLine, TuneRules, own_passages, whole_tracks};
use crate::sketch::{KeyChange, ReadOptions, Reading, Song, Warning, read_sketch_with};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `review`.
#[derive(Args, Debug)]
pub struct Review {
    /// The draft, a MIDI or MusicXML file with tracks named like the band's parts
    draft: PathBuf,
    /// The band: a roster file (TOML or CSV) or the name of a preset
    #[arg(long)]
    band: String,
    #[command(flatten)]
    away: files::Away,
    #[command(flatten)]
    from: MadeFrom,
    /// Bars in which the tune is to be as written, in the sketch's own octave (as 1-8 or 1-8,13; may be
    /// given several times)
    #[arg(long, value_name = "BARS", requires = "sketch", value_parser = read_bars)]
    tune_as_written: Vec<BarSet>,
    #[command(flatten)]
    how: HowPlayed,
    /// Write the findings as JSON to a file, or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
}

impl Review {
    /// Runs the command. The status is 0 when nothing is out of a hard limit, else 1.
    ///
    /// # Errors
    /// Where an input cannot be used or the answer cannot be written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.clone().map(JsonTarget::from);
        if let Some(JsonTarget::File(path)) = &json {
            let inputs = [
                &[Some(self.draft.as_path()), files::roster_file(&self.band)],
                &self.from.files()[..],
            ]
            .concat();
            files::refuse_over_inputs(path, &inputs)?;
        }
        let song = files::song(&self.draft)?;
        let band = files::band_without(&self.band, &self.away)?;
        let sketch = self.from.read(&band)?;
        let how = self.how.conditions(&band);
        let rules = TuneRules {
            as_written: all_of(&self.tune_as_written),
            ..TuneRules::default()
        };
        let held = sketch.as_ref().map(|s| (s, &rules));
        let reviewed = review(&song, &band, held, how).ok_or_else(|| Failure::NoParts {
            path: self.draft.display().to_string(),
            band: band.name.clone(),
        })?;
        let Reviewed {
            findings,
            weighed,
            warnings,
            ..
        } = reviewed;
        let clean = clean(&song, &band, sketch.as_ref().map(|s| &s.song), how);
        let playable = findings.iter().all(|f| f.severity != Severity::OutOfLimit);
        let warnings: Vec<String> = warnings.iter().map(ToString::to_string).collect();
        match json {
            Some(target) => {
                let findings = findings.iter().map(FindingJson::of).collect();
                let clean = clean.iter().map(|l| CleanJson::of(&band, l)).collect();
                files::write_json(
                    &target,
                    &ReviewAnswer {
                        playable,
                        findings,
                        clean,
                        weighed: WeighedJson::of(&band, &weighed),
                        warnings: warnings.clone(),
                    },
                )?;
            }
            None => {
                let tables = weighed.tables(&band);
                let lines = std::iter::once(report(&findings, &band))
                    .chain(tables)
                    .chain([clean_table(&band, &clean)]);
                files::say(&lines.collect::<Vec<_>>().join("\n"))?;
            }
        }
        files::notes(&warnings);
        Ok(if playable {
            ExitCode::SUCCESS
        } else {
            ExitCode::from(1)
        })
    }
}

/// What a review found.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Reviewed {
    /// What a reviewer would mark.
    pub findings: Vec<Finding>,
    /// Presence (with a sketch, which tells what the tune is) and load.
    pub weighed: Weighed,
    /// What was malformed or had to be decided.
    pub warnings: Vec<Warning>,
    /// The draft's notes, with their roles where there is a sketch.
    pub lines: Vec<PartLine>,
    /// Where players breathe; what is to be marked of it is among the findings.
    pub breathing: Breathing,
    /// The sketch as read, if there is one and it counts in the same ticks as the draft.
    pub reading: Option<Reading>,
}

/// Findings on a draft, held against its sketch (with the tags it was read with, and what is ruled of the
/// tune) if there is one; `None` where no track is named like a part of the band.
#[must_use]
pub fn review(
    draft: &Song,
    band: &Band,
    sketch: Option<(&OtherKey, &TuneRules)>,
    conditions: Conditions,
) -> Option<Reviewed> {
    let draft = &whole_tracks(draft);
    let own = own_passages(draft, band, (&draft.meters, draft.quarter));
    if own.tracks.is_empty() {
        return None;
    }
    let mut warnings = [draft.warnings.clone(), own.warnings].concat();
    let lines = own.locks.lines(band);
    let signatures = signatures(draft);
    let sheet = Sheet {
        band,
        lines: &lines,
        meters: &draft.meters,
        tempo: &draft.tempo,
        keys: &[&signatures],
    };
    let mut findings = check_limits(&sheet);
    findings.extend(silent_parts(band, &lines, &draft.meters));
    findings.extend(check_notes(&sheet));
    let mut phrases: Vec<Tick> = Vec::new();
    let mut weighed = Weighed::default();
    let clock = (&draft.tempo, &draft.meters);
    let (mut told, mut read) = (lines.clone(), None);
    weighed = weighed.with_load(band, &lines, clock, conditions);
    if let Some((
        OtherKey {
            song: sketch,
            tags,
            lines: found,
        },
        rules,
    )) = sketch
    {
        let onto = (&sketch.meters, sketch.quarter);
        let reading = read_sketch_with(
            sketch,
            &ReadOptions {
                leave_out: &own_passages(sketch, band, onto).tracks,
                tags: tags.clone(),
                lines: found,
                ..ReadOptions::default()
            },
        );
        // The draft may count in other ticks than the sketch.
        let begins = reading.phrases.iter().map(|p| p.start);
        let beats = begins.map(|at| sketch.quarter.beats(at.since(Tick::ZERO)));
        phrases.extend(beats.map(|b| Tick(draft.quarter.ticks(b).0)));
        let scaled = own_passages(draft, band, onto);
        if sketch.quarter != draft.quarter {
            warnings.extend(scaled.warnings);
        }
        let lines = scaled.locks.lines(band);
        findings.extend(in_keys_found(band, &lines, &reading, sketch, &findings));
        findings.extend(check_carried_alone(band, &lines, &reading, &sketch.meters));
        let tune = TuneSheet {
            reading: &reading,
            meters: &sketch.meters,
            rules,
            changes: &[],
        };
        findings.extend(check_against_sketch(band, &lines, &tune));
        let bars = stretches(&lines, &sketch.meters);
        let lines = with_roles(&lines, &reading, &sketch.meters);
        // Who carries the tune is only guessed here: what is heard an octave away may be a chord's tone.
        let rules = check_tune(band, &lines, &tune).into_iter();
        findings.extend(rules.filter(|f| f.kind == "tune_not_as_written"));
        weighed = weighed.with_presence(band, &lines, &sketch.meters, &bars);
        told = roles_onto(told, &lines);
        read = Some(reading).filter(|_| sketch.quarter == draft.quarter);
    }
    findings.extend(weighed.findings.clone());
    let breath = BreathFrame {
        tempo: &draft.tempo,
        meters: &draft.meters,
        phrases: &phrases,
        posture: conditions.posture,
    };
    let breathing = breathing(band, &lines, &breath);
    findings.extend(breath_findings(band, &lines, &breathing, &draft.meters));
    Some(Reviewed {
        findings,
        weighed,
        warnings,
        lines: told,
        breathing,
        reading: read,
    })
}

/// Lines with the roles that the same lines have in other ticks, note by note.
fn roles_onto(mut lines: Vec<PartLine>, with: &[PartLine]) -> Vec<PartLine> {
    for line in &mut lines {
        let other = with.iter().find(|l| l.part == line.part);
        let other = other.filter(|l| l.notes.len() == line.notes.len());
        let roles = other.iter().flat_map(|l| &l.notes).map(|n| n.role);
        line.notes
            .iter_mut()
            .zip(roles)
            .for_each(|(n, role)| n.role = role);
    }
    lines
}

/// How clean each part of a draft is likely to come out. The key is the draft's own,
/// or the sketch's where the draft has none.
#[must_use]
pub fn clean(draft: &Song, band: &Band, sketch: Option<&Song>, how: Conditions) -> Vec<CleanLine> {
    let draft = &whole_tracks(draft);
    let own = own_passages(draft, band, (&draft.meters, draft.quarter));
    let keys = keys_of(draft, sketch);
    let frame = Frame {
        tempo: &draft.tempo,
        meters: &draft.meters,
        keys: &keys,
    };
    clean_lines(band, &own.locks.lines(band), &frame, how)
}

/// The keys of a draft in its own ticks: its own, or the sketch's where it has none.
#[must_use]
pub fn keys_of(draft: &Song, sketch: Option<&Song>) -> Vec<(Tick, KeySignature)> {
    let keyed = Some(draft).filter(|d| !d.keys.is_empty()).or(sketch);
    let scale = |at: Tick, of: &Song| {
        let quarters = of.quarter.beats(at.since(Tick::ZERO));
        Tick(draft.quarter.ticks(quarters).0)
    };
    keyed.map_or_else(Vec::new, |song| {
        let key = |k: &KeyChange| (scale(k.at, song), k.signature);
        song.keys.iter().map(key).collect()
    })
}

/// What the keys that were found in the sketch add to the findings: the draft's own file may write
/// no signatures, or others.
fn in_keys_found(
    band: &Band,
    lines: &[PartLine],
    reading: &Reading,
    sketch: &Song,
    known: &[Finding],
) -> Vec<Finding> {
    let sheet = Sheet {
        band,
        lines,
        meters: &sketch.meters,
        tempo: &sketch.tempo,
        keys: &[&keys_found(reading)],
    };
    let all = [check_limits(&sheet), check_notes(&sheet)].concat();
    let of_keys = all
        .into_iter()
        .filter(|f| matches!(f.kind, "hard_key" | "key_rest"));
    of_keys
        .filter(|f| {
            let same = |k: &Finding| k.kind == f.kind && k.part == f.part && k.place == f.place;
            !known.iter().any(same)
        })
        .collect()
}

fn report(findings: &[Finding], band: &Band) -> String {
    if findings.is_empty() {
        return format!(
            "nothing to mark: every part of {} stays within its limits",
            band.name
        );
    }
    let mut lines: Vec<String> = Vec::new();
    for (severity, title) in [
        (Severity::OutOfLimit, "out of reach"),
        (Severity::Loss, "of the sketch, not carried"),
        (Severity::Caution, "to look at"),
    ] {
        let of: Vec<&Finding> = findings.iter().filter(|f| f.severity == severity).collect();
        if !of.is_empty() {
            lines.push(format!("{} {title}:", of.len()));
            lines.extend(super::report::grouped(&of));
        }
    }
    lines.join("\n")
}
