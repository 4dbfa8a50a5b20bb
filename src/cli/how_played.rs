//! Under what conditions a show is played, as options of the command line.

use crate::band::Band;
use crate::band::chance::usual_posture;
use crate::band::load::{Conditions, Start};
use crate::band::playing::Posture;
use clap::Args;

/// Under what conditions the show is played. Where nothing is named, players are taken to be fresh, and
/// a band to march if it has instruments made for it.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct HowPlayed {
    /// The players are rested at the first note [default]
    #[arg(long, conflicts_with = "mid_programme")]
    fresh: bool,
    /// The players come out of other pieces, somewhat tired
    #[arg(long)]
    mid_programme: bool,
    /// Played while marching: more effort, lower limits [default for bands with mellophones,
    /// sousaphones or other marching brass]
    #[arg(long, conflicts_with = "seated")]
    marching: bool,
    /// Played seated, or standing still [default for other bands]
    #[arg(long)]
    seated: bool,
}

impl HowPlayed {
    /// The conditions for a band.
    #[must_use]
    pub fn conditions(self, band: &Band) -> Conditions {
        Conditions {
            posture: match (self.marching, self.seated) {
                (true, _) => Posture::Marching,
                (_, true) => Posture::Seated,
                _ => usual_posture(band),
            },
            start: if self.mid_programme {
                Start::MidProgramme
            } else {
                Start::Fresh
            },
        }
    }
}
