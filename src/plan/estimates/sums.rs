//! What parts make together in a passage: presence of the tune, loudness, density.

use super::ear::heard_by;
use super::powers::Powers;
use crate::band::loudness::{Decibels, Situation, Target, target};
use crate::band::{Band, Family};
use crate::plan::solve::PartRole;
use crate::score::Role;

/// Middle C: a tune under it lies low (ours, as for a reviewer).
const MIDDLE_C: f64 = 60.0;
/// From this share on, onsets count as those of one rhythm (ours, as for a reviewer).
const SAME_RHYTHM: f64 = 0.75;

/// Sums over some parts with their roles. Parts can be added one by one, in any order.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Sums {
    /// Energy of those on the tune, by family, for one second of the passage.
    tune: [f64; 5],
    /// The same of all others.
    rest: [f64; 5],
    /// For how much of the passage the tune sounds at the most.
    tune_share: f64,
    /// How high the highest carrier of the tune lies; how high the others lie at the least.
    tune_height: f64,
    rest_height: f64,
    /// Wind players who play.
    players: u32,
}

const fn place(family: Family) -> usize {
    match family {
        Family::Woodwind => 0,
        Family::Brass => 1,
        Family::String => 2,
        Family::Percussion => 3,
        Family::Electronic => 4,
    }
}

impl Sums {
    /// Those of all parts.
    #[must_use]
    pub fn of(powers: &Powers, roles: &[PartRole]) -> Self {
        let parts = roles.iter().enumerate();
        parts.fold(Self::default(), |sums, (part, role)| {
            sums.with(powers, part, *role)
        })
    }

    /// These and one more part.
    #[must_use]
    pub fn with(mut self, powers: &Powers, part: usize, role: PartRole) -> Self {
        let Some(of) = powers.parts.get(part).filter(|_| role.role != Role::Rest) else {
            return self;
        };
        let sound = powers.sound(part, role);
        let energy = sound.power * sound.share;
        let family = place(of.family);
        if role.role == Role::Melody {
            self.tune[family] += energy;
            self.tune_share = self.tune_share.max(sound.share);
        } else {
            self.rest[family] += energy;
        }
        if sound.share > 0.0 {
            self.players += if of.wind { of.players } else { 0 };
        }
        // What is left out of balance neither covers nor lies above.
        if energy > 0.0 {
            let height = match role.role {
                Role::Melody => &mut self.tune_height,
                _ => &mut self.rest_height,
            };
            *height = height.max(sound.height);
        }
        self
    }

    /// How far the tune stands above all else while it sounds: infinite where nothing else does,
    /// minus infinity where nobody carries it that is heard, 0 where all is silent.
    #[must_use]
    pub fn presence(&self) -> Decibels {
        let rest = self.rest.iter().sum::<f64>() * self.tune_share;
        level(self.tune.iter().sum()).above(level(rest))
    }

    /// How the tune lies among the rest: low under middle C; inside where some other part would
    /// have to lie above it; on top of its own family or rhythm, or of others.
    #[must_use]
    pub fn situation(&self, powers: &Powers) -> Situation {
        if self.tune_height < MIDDLE_C {
            return Situation::Low;
        }
        if self.rest_height > self.tune_height {
            return Situation::Inside;
        }
        let most = (0..5)
            .rev()
            .max_by(|a, b| self.tune[*a].total_cmp(&self.tune[*b]));
        let alike = most.map_or(0.0, |family| self.rest[family]);
        let same_family = 2.0 * alike > self.rest.iter().sum::<f64>();
        if same_family || powers.one_rhythm() {
            return Situation::SameFamily;
        }
        Situation::OnTop
    }

    /// How far the tune should stand out, lying so. Even shares of nothing if the built-in table were
    /// unreadable (a test shows that it is not).
    #[must_use]
    pub fn wanted(&self, powers: &Powers) -> Target {
        let none = Target {
            least: 0.0,
            good: 0.0,
        };
        target(self.situation(powers)).unwrap_or(none)
    }

    /// By how many dB the tune lies under what is good for it as it lies, 0 to 20 (ours; more is not told
    /// apart).
    #[must_use]
    pub fn lacks(&self, powers: &Powers) -> f64 {
        (self.wanted(powers).good - self.presence().0).clamp(0.0, MOST_LACKING)
    }

    /// How loud all are together, on the mean over the passage; silence without any sound.
    #[must_use]
    pub fn loudness(&self) -> Decibels {
        level(self.tune.iter().chain(&self.rest).sum())
    }

    /// How many wind players play.
    #[must_use]
    pub const fn players(&self) -> u32 {
        self.players
    }
}

impl Powers {
    /// Whether tune and accompaniment go in one rhythm, so that the tune is told from it by nothing but its
    /// colour and its place.
    #[must_use]
    pub fn one_rhythm(&self) -> bool {
        self.same_rhythm >= SAME_RHYTHM
    }
}

/// More is not told apart: a tune so far down is not heard at all (ours).
const MOST_LACKING: f64 = 20.0;

fn level(power: f64) -> Decibels {
    Decibels::of_power(power)
}

/// How far the tune stands above all else, in dB of sound power, see [`Sums::presence`].
///
/// Power alone, as in a reviewer's plain balance: what the bands of the ear let through is known only of
/// notes.
#[must_use]
pub fn tune_presence(powers: &Powers, roles: &[PartRole]) -> Decibels {
    Sums::of(powers, roles).presence()
}

/// By how many dB the tune is covered, 0 to 20: 0 where it stands at the least above the rest that it
/// needs as it lies, or is heard by the bands of the ear ([`heard_by`]); else by how much it falls short
/// of the nearer of the two. As a reviewer counts, who weighs low notes' power less than sums of power do.
#[must_use]
pub fn covered_by(band: &Band, powers: &Powers, roles: &[PartRole]) -> f64 {
    let sums = Sums::of(powers, roles);
    let plain = sums.wanted(powers).least - sums.presence().0;
    if plain <= 0.0 {
        return 0.0;
    }
    plain
        .min(-heard_by(band, powers, roles).0)
        .clamp(0.0, MOST_LACKING)
}

/// How loud a passage is as a whole, see [`Sums::loudness`].
#[must_use]
pub fn loudness(powers: &Powers, roles: &[PartRole]) -> Decibels {
    Sums::of(powers, roles).loudness()
}

/// What share of the wind players play, 0 to 1; 0 for a band without winds.
#[must_use]
pub fn density(powers: &Powers, roles: &[PartRole]) -> f64 {
    let winds = powers.parts.iter().filter(|p| p.wind);
    let all: u32 = winds.map(|p| p.players).sum();
    f64::from(Sums::of(powers, roles).players) / f64::from(all.max(1))
}
