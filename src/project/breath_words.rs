//! Where a draft is breathed, in a few lines for people.

use crate::band::{Band, PartId};
use crate::music::MeterMap;
use crate::review::{BreathKind, Breathing};
use std::collections::BTreeSet;

/// So many shared notes are told at the most.
const MOST: usize = 4;

/// How many breaths there are, and who shares which long notes; nothing where nobody has to breathe in the music.
#[must_use]
pub fn breath_lines(band: &Band, breathing: &Breathing, meters: &MeterMap) -> Vec<String> {
    let breaths = &breathing.breaths;
    if breaths.is_empty() {
        return Vec::new();
    }
    let parts: BTreeSet<PartId> = breaths.iter().map(|b| b.part).collect();
    let of =
        |wanted: &dyn Fn(BreathKind) -> bool| breaths.iter().filter(|b| wanted(b.kind)).count();
    let between = of(&|k| matches!(k, BreathKind::Between(_)));
    let inside = of(&|k| k == BreathKind::Inside);
    let mut first = format!(
        "breath: {between} places between notes in {} parts",
        parts.len()
    );
    if !breathing.staggered.is_empty() {
        first += &format!(
            "; in turns through {} long notes",
            breathing.staggered.len()
        );
    }
    if inside > 0 {
        first += &format!("; {inside} inside notes that nobody can hold");
    }
    let mut lines = vec![String::new(), first];
    for one in breathing.staggered.iter().take(MOST) {
        let name = &band.part(one.part).name;
        lines.push(format!(
            "  {name}, {}: {}",
            meters.place(one.from),
            one.says
        ));
    }
    if breathing.staggered.len() > MOST {
        let more = breathing.staggered.len() - MOST;
        lines.push(format!(
            "  and {more} more; the draft and `--json` have all"
        ));
    }
    lines
}
