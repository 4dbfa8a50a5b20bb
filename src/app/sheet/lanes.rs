//! Which stave stands where in the score: woodwinds, the piano sketch, brass, percussion. Heights are in
//! staff spaces.

use crate::app::theme::Region;
use crate::band::Band;
pub use crate::notation::Whose;
use crate::notation::score_order;

/// Above a part's stave, for ledger lines and what stands over it.
const OVER: f32 = 4.5;
/// Below it.
const UNDER: f32 = 5.5;
/// A stave's five lines.
pub const STAVE: f32 = 4.0;
/// Between the two staves of the sketch.
const BETWEEN: f32 = 7.5;
/// Over the sketch, for the names of chords.
const OVER_SKETCH: f32 = 7.5;

/// A lane of the sheet: one part, or the sketch.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Lane {
    /// Whose it is.
    pub whose: Whose,
    /// The region of the score.
    pub region: Region,
    /// Its upper edge, in staff spaces from the top of the score.
    pub top: f32,
    /// How high it is.
    pub height: f32,
}

impl Lane {
    /// How many staves it has.
    #[must_use]
    pub const fn staves(&self) -> usize {
        match self.whose {
            Whose::Part(_) => 1,
            Whose::Sketch => 2,
        }
    }

    /// The bottom line of one of its staves, in staff spaces from the top of the score.
    #[must_use]
    pub fn bottom_line(&self, stave: usize) -> f32 {
        match (self.whose, stave) {
            (Whose::Part(_), _) => self.top + OVER + STAVE,
            (Whose::Sketch, 0) => self.top + OVER_SKETCH + STAVE,
            (Whose::Sketch, _) => self.top + OVER_SKETCH + STAVE + BETWEEN + STAVE,
        }
    }
}

/// The lanes from top to bottom.
#[must_use]
pub fn lanes(band: &Band) -> Vec<Lane> {
    let mut top = 0.0;
    let lane = |(whose, region)| {
        let height = match whose {
            Whose::Part(_) => OVER + STAVE + UNDER,
            Whose::Sketch => OVER_SKETCH + STAVE + BETWEEN + STAVE + UNDER,
        };
        let lane = Lane {
            whose,
            region,
            top,
            height,
        };
        top += height;
        lane
    };
    score_order(band).into_iter().map(lane).collect()
}

/// How high all lanes are together, in staff spaces.
#[must_use]
pub fn height(lanes: &[Lane]) -> f32 {
    lanes.last().map_or(0.0, |l| l.top + l.height)
}

/// The lane at a height.
#[must_use]
pub fn lane_at(lanes: &[Lane], y: f32) -> Option<&Lane> {
    lanes.iter().find(|l| l.top <= y && y < l.top + l.height)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::preset;

    #[test]
    fn the_sketch_stands_between_woodwinds_and_brass() {
        let band = preset("demo").unwrap();
        let lanes = lanes(&band);
        assert_eq!(lanes.len(), band.parts.len() + 1);
        let at = lanes.iter().position(|l| l.whose == Whose::Sketch).unwrap();
        assert!(lanes[..at].iter().all(|l| l.region == Region::Woodwinds));
        assert_eq!(lanes[at + 1].region, Region::Brass);
        assert!(lanes.windows(2).all(|w| w[0].top + w[0].height == w[1].top));
        let lane = lane_at(&lanes, lanes[at].top + 1.0).unwrap();
        assert_eq!(lane.whose, Whose::Sketch);
        assert!(lane_at(&lanes, height(&lanes) + 1.0).is_none());
    }
}
