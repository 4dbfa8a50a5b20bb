//! Loads of one band's drafts, kept by part.

use super::by_line::ByLine;
use super::load::{PartStrain, bar_seconds, strain};
use crate::band::load::Conditions;
use crate::band::{Band, Part};
use crate::music::{MeterMap, TempoMap};
use crate::score::PartLine;

/// What loads follow from besides the notes of a part: who plays, tempos, bars, conditions.
type From = (Vec<Part>, TempoMap, Vec<f64>, Conditions);

/// Loads with all that was worked out kept: after an edit only the parts whose notes changed are reckoned again. What
/// it says is always what [`strains`](super::strains) says.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct LoadBook(ByLine<From, Option<PartStrain>>);

impl LoadBook {
    /// What a draft asks of the lips of every part that has some and plays, in the order of the lines.
    #[must_use]
    pub fn strains(
        &mut self,
        band: &Band,
        lines: &[PartLine],
        (tempo, meters): (&TempoMap, &MeterMap),
        how: Conditions,
    ) -> Vec<PartStrain> {
        let bars = bar_seconds(lines, tempo, meters);
        let from = (band.parts.clone(), tempo.clone(), bars.clone(), how);
        let all = self.0.of_all(from, band, lines, |line| {
            // The built-in table reads; a test shows it.
            strain(band, line, tempo, &bars, how, None).unwrap_or(None)
        });
        all.filter_map(|(_, strain)| strain.clone()).collect()
    }
}
