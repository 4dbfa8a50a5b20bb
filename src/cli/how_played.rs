//! Under what conditions a show is played, as options of the command line.

use crate::band::load::{Conditions, Start};
use crate::band::playing::Posture;
use clap::Args;

/// Under what conditions the show is played: marching, by fresh players, if nothing is said.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct HowPlayed {
    /// The players are rested at the first note [default]
    #[arg(long, conflicts_with = "mid_programme")]
    fresh: bool,
    /// The players come out of other pieces, somewhat tired
    #[arg(long)]
    mid_programme: bool,
    /// Played while marching: more effort, lower limits [default]
    #[arg(long, conflicts_with = "seated")]
    marching: bool,
    /// Played seated, or standing still
    #[arg(long)]
    seated: bool,
}

impl From<HowPlayed> for Conditions {
    fn from(said: HowPlayed) -> Self {
        Self {
            posture: if said.seated {
                Posture::Seated
            } else {
                Posture::Marching
            },
            start: if said.mid_programme {
                Start::MidProgramme
            } else {
                Start::Fresh
            },
        }
    }
}
