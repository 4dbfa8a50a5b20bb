//! Findings as JSON (schema: `assets/schema/review.schema.json`).

use super::json_chance::CleanJson;
use super::json_weighed::WeighedJson;
use super::rounded::thousandths;
use crate::review::Finding;
use serde::Serialize;

/// A finding.
#[derive(Serialize, Debug)]
pub struct FindingJson {
    severity: &'static str,
    kind: &'static str,
    part: Option<String>,
    tick: u64,
    bar: u32,
    beat: f64,
    message: String,
    remedy: String,
}

impl FindingJson {
    /// The twin of a finding.
    #[must_use]
    pub fn of(finding: &Finding) -> Self {
        Self {
            severity: finding.severity.word(),
            kind: finding.kind,
            part: finding.part.clone(),
            tick: finding.at.0,
            bar: finding.place.bar.0,
            beat: thousandths(finding.place.beat),
            message: finding.message.clone(),
            remedy: finding.remedy.clone(),
        }
    }
}

/// What `review` found.
#[derive(Serialize, Debug)]
pub struct ReviewAnswer<'a> {
    /// Whether nothing is out of a hard limit.
    pub playable: bool,
    /// The findings.
    pub findings: Vec<FindingJson>,
    /// How clean each part is likely to come out.
    pub clean: Vec<CleanJson<'a>>,
    /// Presence and load.
    #[serde(flatten)]
    pub weighed: WeighedJson,
    /// What was malformed or had to be decided.
    pub warnings: Vec<String>,
}
