//! Which labels have all that they need, for each set of classes that sounds.

use super::labels::Label;
use super::segment::Segment;

/// The labels that fit each set of sounding classes, found when first asked for.
pub(super) struct Fits(Vec<Option<Vec<u16>>>);

impl Default for Fits {
    fn default() -> Self {
        Self(vec![None; 1 << 12])
    }
}

impl Fits {
    /// Indices of the labels whose needed tones all sound in a stretch.
    pub(super) fn of(&mut self, segment: &Segment, labels: &[Label]) -> &[u16] {
        let place = &mut self.0[usize::from(segment.sounding() & 0xfff)];
        place.get_or_insert_with(|| {
            let all = (0_u16..).zip(labels);
            let fit = all.filter(|(_, label)| segment.may_be(label));
            fit.map(|(i, _)| i).collect()
        })
    }
}
