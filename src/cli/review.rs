//! `bandwright review`: findings on any draft, also one made elsewhere.

use super::Failure;
use super::files::{self, JsonTarget};
use super::json_review::{FindingJson, ReviewAnswer};
use super::other_key::{OtherKey, other_key};
use super::times::TimesWord;
use super::whole_way::{keys_found, signatures};
use crate::band::{Band, PartId};
use crate::review::{
    Finding, Severity, Sheet, check_against_sketch, check_carried_alone, check_limits, check_notes,
    silent_parts,
};
use crate::score::{DraftNote, Locks, PartLine, Role, own_passages, whole_tracks};
use crate::sketch::{ReadOptions, Reading, Song, Warning, quantise, read_sketch_with};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `review`.
#[derive(Args, Debug)]
pub struct Review {
    /// The draft, a MIDI file with tracks named like the band's parts
    draft: PathBuf,
    /// The band: a roster file (TOML) or the name of a preset
    #[arg(long)]
    band: String,
    /// The piano sketch that the draft was made from
    #[arg(long)]
    sketch: Option<PathBuf>,
    /// The file of tags that the draft was made with (TOML)
    #[arg(long, requires = "sketch")]
    tags: Option<PathBuf>,
    /// By how many semitones the sketch was moved for the draft
    #[arg(long, requires = "sketch", default_value_t = 0, allow_negative_numbers = true, value_parser = clap::value_parser!(i16).range(-12..=12))]
    transpose: i16,
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
        let band = files::band(&self.band)?;
        let sketch = self.sketch.as_deref().map(files::song).transpose()?;
        let sketch = sketch.map(|s| quantise(&s, self.times.into()).song);
        let tags = files::tags(self.tags.as_deref())?;
        let sketch = sketch.map(|s| other_key(s, &band, tags, self.transpose));
        let (findings, warnings) =
            review(&song, &band, sketch.as_ref()).ok_or_else(|| Failure::NoParts {
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
/// `None` where no track is named like a part of the band.
#[must_use]
pub fn review(
    draft: &Song,
    band: &Band,
    sketch: Option<&OtherKey>,
) -> Option<(Vec<Finding>, Vec<Warning>)> {
    let draft = &whole_tracks(draft);
    let own = own_passages(draft, band, (&draft.meters, draft.quarter));
    if own.tracks.is_empty() {
        return None;
    }
    let mut warnings = [draft.warnings.clone(), own.warnings].concat();
    let lines = part_lines(band, &own.locks);
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
    if let Some(OtherKey {
        song: sketch,
        tags,
        lines: found,
    }) = sketch
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
        let scaled = own_passages(draft, band, onto);
        if sketch.quarter != draft.quarter {
            warnings.extend(scaled.warnings);
        }
        let lines = part_lines(band, &scaled.locks);
        findings.extend(in_keys_found(band, &lines, &reading, sketch, &findings));
        findings.extend(check_carried_alone(band, &lines, &reading, &sketch.meters));
        findings.extend(check_against_sketch(band, &lines, &reading, &sketch.meters));
    }
    Some((findings, warnings))
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
