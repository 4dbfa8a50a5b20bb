//! Findings that the arranger accepts, with a reason.

use super::document::PutAside;
use crate::review::Finding;

/// A finding as it is put aside, without a reason.
#[must_use]
pub fn key(finding: &Finding) -> PutAside {
    PutAside {
        kind: finding.kind.to_owned(),
        part: finding.part.clone(),
        at: finding.at,
        reason: String::new(),
    }
}

/// Whether something put aside is a finding.
#[must_use]
pub fn is_of(put: &PutAside, finding: &Finding) -> bool {
    put.kind == finding.kind && put.part == finding.part && put.at == finding.at
}

/// Whether a finding was put aside.
#[must_use]
pub fn is_aside(aside: &[PutAside], finding: &Finding) -> bool {
    aside.iter().any(|put| is_of(put, finding))
}
