//! Bars played on end without a bar of rest.

use super::finding::Finding;
use super::limits_check::PartCheck;
use crate::music::{BarNumber, Tick};
use crate::score::DraftNote;
use std::collections::BTreeMap;

/// A finding for every stretch of more bars on end than the director asks for. A bar is played if
/// anything sounds in it; a bar of rest is a whole bar, from barline to barline.
pub(super) fn too_long_on_end(check: &PartCheck<'_>, notes: &[DraftNote]) -> Vec<Finding> {
    let Some(most) = check.part.limits.rests_every else {
        return Vec::new();
    };
    // For every bar whether a locked note sounds in it.
    let mut played: BTreeMap<u32, bool> = BTreeMap::new();
    for note in notes {
        let last = check.meters.bar(Tick(note.end().0.saturating_sub(1)));
        for bar in check.meters.bar(note.onset).0..=last.0 {
            *played.entry(bar).or_default() |= note.locked;
        }
    }
    let bars: Vec<(u32, bool)> = played.into_iter().collect();
    let stretches = bars.chunk_by(|a, b| b.0 - a.0 == 1);
    let too_long = stretches.filter(|s| s.len() > usize::from(most));
    too_long
        .filter_map(|stretch| {
            let (first, last) = (stretch.first()?.0, stretch.last()?.0);
            let at = check.meters.bar_start(BarNumber(first));
            let place = notes.iter().find(|n| n.end() > at)?;
            let message = format!(
                "Plays bars {first}-{last} on end, {} bars; the director asks for a bar of rest \
                 after {most} at the latest.",
                stretch.len()
            );
            let all = DraftNote {
                locked: stretch.iter().all(|b| b.1),
                ..*place
            };
            let remedy = "Let it rest for a bar, where it only fills the chord or a phrase ends.";
            Some(check.finding(&all, "no_rest", message, remedy))
        })
        .collect()
}
