//! Remedies: what can be done about a finding at a press.
//!
//! [`proposals`] are what could help, by the kind of the finding; [`remedies`] are those of them that were
//! tried and mend it without making anything else worse. Kinds that only people can judge have none:
//! braces and injuries, a key that a part cannot read and therefore rests in, parts without anything to
//! play, two parts of the same players, and a tune that nobody can play as written.

use super::desk::{Desk, Done, Refused};
use super::remedy_edits::{Mend, mended};
use super::remedy_kinds::Case;
use crate::music::BarNumber;
use crate::review::{Finding, Severity};
use crate::score::Draft;
use crate::voicing::Scope;

/// What a remedy does.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Cure {
    /// An edit.
    Edit(Mend),
    /// These bars of these parts are solved again.
    Solve(Scope),
    /// The other ways of scoring these bars are worth a look.
    OtherWays((BarNumber, BarNumber)),
}

/// Something that can be done about a finding.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Remedy {
    /// A short phrase for a button, such as `drop the note an octave`.
    pub label: String,
    /// What it does.
    pub what: Cure,
}

impl Remedy {
    pub(super) fn edit(label: impl Into<String>, mend: Mend) -> Self {
        Self {
            label: label.into(),
            what: Cure::Edit(mend),
        }
    }
}

/// What could be done about a finding, the least change first, solves last. Edits are not tried yet.
#[must_use]
pub fn proposals(desk: &Desk<'_>, finding: &Finding) -> Vec<Remedy> {
    Case::of(desk, finding).map_or_else(Vec::new, |case| case.proposals())
}

/// What can be done about a finding: of the [`proposals`] the solves, and those edits after which the review
/// has the finding no more and is no worse otherwise ([`mends`]). `review` makes the findings of a draft, as
/// those of `desk` were made.
#[must_use]
pub fn remedies(
    desk: &Desk<'_>,
    finding: &Finding,
    review: &dyn Fn(&Draft) -> Vec<Finding>,
) -> Vec<Remedy> {
    let mut all = proposals(desk, finding);
    if all.iter().any(|r| matches!(r.what, Cure::Edit(_))) {
        let before = review(desk.draft);
        all.retain(|remedy| match apply(desk, remedy) {
            None => true,
            Some(Err(_)) => false,
            Some(Ok(done)) => mends(finding, &before, &review(&done.draft)),
        });
    }
    all
}

/// Makes the edit of a remedy; `None` where it is not one.
///
/// # Errors
/// As the edit by hand would be refused.
#[must_use]
pub fn apply(desk: &Desk<'_>, remedy: &Remedy) -> Option<Result<Done, Refused>> {
    match &remedy.what {
        Cure::Edit(mend) => Some(mended(desk, mend).map(|mut done| {
            done.notes.dedup();
            done
        })),
        Cure::Solve(_) | Cure::OtherWays(_) => None,
    }
}

/// Whether findings after an edit are without one that was there before: none of its kind for its part at its
/// place, and fewer of its kind for its part at all; and whether no more limits are broken and no more
/// is lost than before.
#[must_use]
pub fn mends(finding: &Finding, before: &[Finding], after: &[Finding]) -> bool {
    let alike = |f: &&Finding| f.kind == finding.kind && f.part == finding.part;
    let same = |f: &Finding| f.at == finding.at;
    let gone = !after.iter().filter(alike).any(same);
    let count = |all: &[Finding]| all.iter().filter(alike).count();
    let of = |all: &[Finding], severity| all.iter().filter(|f| f.severity == severity).count();
    let worse = |severity| of(after, severity) > of(before, severity);
    gone && count(after) < count(before) && !worse(Severity::OutOfLimit) && !worse(Severity::Loss)
}
