//! `bandwright review`: findings on any draft, also one made elsewhere.

use super::Failure;
use super::files::{self, JsonTarget};
use super::json_review::{FindingJson, ReviewAnswer};
use super::times::TimesWord;
use crate::band::{Band, PartId};
use crate::review::{Finding, Severity, check_against_sketch, check_limits, silent_parts};
use crate::score::{DraftNote, Locks, PartLine, Role, own_passages, whole_tracks};
use crate::sketch::{ReadOptions, Song, Tags, Warning, quantise, read_sketch_with};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `review`.
#[derive(Args, Debug)]
pub struct Review {
    /// The draft, a MIDI file with tracks named like the band's parts
    draft: PathBuf,
    /// The band: a roster file (TOML or CSV) or the name of a preset
    #[arg(long)]
    band: String,
    #[command(flatten)]
    away: files::Away,
    /// The piano sketch that the draft was made from
    #[arg(long)]
    sketch: Option<PathBuf>,
    /// The file of tags that the draft was made with (TOML)
    #[arg(long, requires = "sketch")]
    tags: Option<PathBuf>,
    /// Which times count where the sketch was played in: as they were taken for the draft
    #[arg(long, value_enum, default_value_t)]
    times: TimesWord,
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
            let roster = Some(PathBuf::from(&self.band)).filter(|p| p.is_file());
            let inputs = [
                Some(&self.draft),
                self.sketch.as_ref(),
                self.tags.as_ref(),
                roster.as_ref(),
            ];
            if inputs
                .into_iter()
                .flatten()
                .any(|i| files::is_same(i, path))
            {
                return Err(Failure::OutputIsInput(path.display().to_string()));
            }
        }
        let song = files::song(&self.draft)?;
        let band = files::band_without(&self.band, &self.away)?;
        let sketch = self.sketch.as_deref().map(files::song).transpose()?;
        let sketch = sketch.map(|s| quantise(&s, self.times.into()).song);
        let tags = files::tags(self.tags.as_deref())?;
        let against = sketch.as_ref().map(|s| (s, &tags));
        let (findings, warnings) =
            review(&song, &band, against).ok_or_else(|| Failure::NoParts {
                path: self.draft.display().to_string(),
                band: band.name.clone(),
            })?;
        let playable = findings.iter().all(|f| f.severity != Severity::OutOfLimit);
        let warnings: Vec<String> = warnings.iter().map(ToString::to_string).collect();
        match json {
            Some(target) => {
                let findings = findings.iter().map(FindingJson::of).collect();
                files::write_json(
                    &target,
                    &ReviewAnswer {
                        playable,
                        findings,
                        warnings: warnings.clone(),
                    },
                )?;
            }
            None => files::say(&report(&findings, &band))?,
        }
        files::notes(&warnings);
        Ok(if playable {
            ExitCode::SUCCESS
        } else {
            ExitCode::from(1)
        })
    }
}

/// Findings on a draft, held against its sketch (and the tags it was read with) if there is one;
/// `None` where no track is named
/// like a part of the band.
#[must_use]
pub fn review(
    draft: &Song,
    band: &Band,
    sketch: Option<(&Song, &Tags)>,
) -> Option<(Vec<Finding>, Vec<Warning>)> {
    let draft = &whole_tracks(draft);
    let own = own_passages(draft, band, (&draft.meters, draft.quarter));
    if own.tracks.is_empty() {
        return None;
    }
    let mut warnings = [draft.warnings.clone(), own.warnings].concat();
    let lines = part_lines(band, &own.locks);
    let mut findings = check_limits(band, &lines, &draft.meters);
    findings.extend(silent_parts(band, &lines, &draft.meters));
    if let Some((sketch, tags)) = sketch {
        let onto = (&sketch.meters, sketch.quarter);
        let reading = read_sketch_with(
            sketch,
            &ReadOptions {
                leave_out: &own_passages(sketch, band, onto).tracks,
                tags: tags.clone(),
                ..ReadOptions::default()
            },
        );
        // The draft may count in other ticks than the sketch.
        let scaled = own_passages(draft, band, onto);
        if sketch.quarter != draft.quarter {
            warnings.extend(scaled.warnings);
        }
        let lines = part_lines(band, &scaled.locks);
        findings.extend(check_against_sketch(band, &lines, &reading, &sketch.meters));
    }
    Some((findings, warnings))
}

fn part_lines(band: &Band, locks: &Locks) -> Vec<PartLine> {
    let line = |(part, _)| PartLine {
        part,
        notes: notes(locks, part),
    };
    band.ids().map(line).collect()
}

fn notes(locks: &Locks, part: PartId) -> Vec<DraftNote> {
    let note = |n: &crate::sketch::Note| DraftNote {
        onset: n.onset,
        pitch: n.pitch,
        duration: n.duration,
        velocity: n.velocity,
        role: Role::Harmony,
        locked: false,
    };
    locks
        .of(part)
        .map(|l| l.notes.iter().map(note).collect())
        .unwrap_or_default()
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
