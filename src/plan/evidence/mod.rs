//! The arranger's locks as evidence of how they want the rest scored.
//!
//! From the locked notes of a passage follows what each locked part does there ([`Found`]): carries the
//! tune in some octave, the bass, a counterline or a figure, fills the chord, or rests. That becomes
//! wishes ([`Wish`]) for the unlocked bars of the same passage, for all passages of the same music,
//! earlier and later ones alike, and, more faintly, for the passages beside it whose intensity is near.
//! Wishes are no limits: they cost points where they are not kept.

mod found;
mod spread;

use crate::band::PartId;
use crate::music::BarNumber;
use crate::plan::solve::{PartRole, Setting};
use crate::score::Role;
use std::cmp::Ordering;

pub use found::Found;

/// What it costs if a wish of full strength is not kept at all, in points a part. Ours: the tune in another
/// colour is what is heard first, then the bass and the second tune; the points stand beside the other terms of
/// the plan, of which a wrong strength costs 6 a step.
const fn weight(role: Role) -> f64 {
    match role {
        Role::Melody => 12.0,
        Role::Bass | Role::Counterline => 6.0,
        Role::Figure | Role::Harmony | Role::Rest => 4.0,
    }
}

/// How much of a wish is not kept for each octave that the tune lies off (ours), at most all of it.
const OCTAVE_OFF: f64 = 0.3;
/// How much of it is not kept where a line is exchanged with the chords, when the passage may not have it
/// or shares it (ours).
const NEARLY: f64 = 0.5;
/// From this strength on a wish is followed where a way is made after the locks (ours).
const FOLLOWED: f64 = 0.3;

/// Where a wish is from.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum From {
    /// Locked bars of the passage itself.
    Here,
    /// A passage of the same music.
    Repeat,
    /// A passage near it.
    Neighbour,
}

/// What a lock speaks for: what a part should do in a passage.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Wish {
    /// The role.
    pub role: Role,
    /// Octaves above the sketch's line.
    pub octave: i16,
    /// How strong it is, over 0 to 1.
    pub strength: f64,
    /// Where it is from.
    pub from: From,
    /// How many passages away the locked bars are.
    pub away: usize,
    /// The first and last of the locked bars that it follows.
    pub bars: (BarNumber, BarNumber),
}

impl Wish {
    /// How much of the wish a role does not keep, 0 to 1.
    #[must_use]
    pub fn missed(&self, role: PartRole) -> f64 {
        match (self.role, role.role) {
            (Role::Melody, Role::Melody) => {
                let off = f64::from((self.octave - role.octave).unsigned_abs());
                (OCTAVE_OFF * off).min(1.0)
            }
            (wished, given) if wished == given => 0.0,
            (Role::Counterline | Role::Figure, Role::Harmony)
            | (Role::Harmony, Role::Counterline | Role::Figure) => NEARLY,
            _ => 1.0,
        }
    }

    /// Whether another wish asks for something else.
    fn is_against(&self, other: &Self) -> bool {
        self.role != other.role || self.role == Role::Melody && self.octave != other.octave
    }

    /// Why, in words.
    #[must_use]
    pub fn why(&self) -> String {
        let (first, last) = self.bars;
        let bars = if first == last {
            format!("bar {first}")
        } else {
            format!("bars {first}-{last}")
        };
        match self.from {
            From::Here => format!("as you have it in {bars}"),
            From::Repeat => format!("as in your {bars}, the same music"),
            From::Neighbour => format!("as in your {bars}, near by"),
        }
    }

    /// Stronger first; of equals the nearer, the nearer in kind, the earlier.
    fn order(&self, other: &Self) -> Ordering {
        let by_strength = other.strength.total_cmp(&self.strength);
        let nearer = self.away.cmp(&other.away).then(self.from.cmp(&other.from));
        by_strength.then(nearer).then(self.bars.cmp(&other.bars))
    }
}

/// What the locks speak for, by passage and part.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Evidence {
    /// By passage, then part; strongest first, none against the first.
    wishes: Vec<Vec<Vec<Wish>>>,
    found: Vec<Vec<Found>>,
}

impl Evidence {
    /// What the locks of a setting speak for. Nothing without locks.
    #[must_use]
    pub fn of(setting: &Setting<'_>) -> Self {
        let passages = setting.passages;
        let found: Vec<Vec<Found>> = passages.iter().map(|p| found::found(setting, p)).collect();
        let mut wishes = spread::spread(passages, &found, setting.band.parts.len());
        for part in wishes.iter_mut().flatten() {
            part.sort_by(Wish::order);
            if let Some(first) = part.first().copied() {
                part.retain(|w| !w.is_against(&first));
            }
        }
        Self { wishes, found }
    }

    /// Whether nothing is wished anywhere.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.found.iter().all(Vec::is_empty)
    }

    /// What is wished of a part in a passage: strongest first. Where wishes contradict, the stronger holds,
    /// then the nearer, and the others are gone.
    #[must_use]
    pub fn wishes(&self, passage: usize, part: PartId) -> &[Wish] {
        let parts = self.wishes.get(passage);
        let wishes = parts.and_then(|p| p.get(part.0));
        wishes.map_or(&[], Vec::as_slice)
    }

    /// What the locked parts of a passage were found to do, in the band's order.
    #[must_use]
    pub fn found(&self, passage: usize) -> &[Found] {
        self.found.get(passage).map_or(&[], Vec::as_slice)
    }

    /// Parts that double each other on a line in the locked bars of a passage, and how many octaves the first
    /// lies above the second.
    pub fn doublings(&self, passage: usize) -> impl Iterator<Item = (PartId, PartId, Role, i16)> {
        let found = self.found(passage);
        let line = |f: &&Found| !matches!(f.role, Role::Harmony | Role::Rest);
        found
            .iter()
            .filter(line)
            .enumerate()
            .flat_map(move |(i, a)| {
                let others = found.iter().filter(line).skip(i + 1);
                let same = others.filter(|b| b.role == a.role);
                same.map(|b| (a.part, b.part, a.role, a.octave - b.octave))
            })
    }

    /// For what share of a passage, 0 to 1, a line is carried by locked notes already: others need not be
    /// heard alone with it, and nobody else need have it.
    #[must_use]
    pub fn carried(&self, passage: usize, role: Role) -> f64 {
        let on_it = self.found(passage).iter().filter(|f| f.role == role);
        on_it.map(|f| f.share).fold(0.0, f64::max)
    }

    /// What a role costs a part in a passage, in points: 0 where nothing is wished or the wish is kept. Costs of
    /// parts add up.
    #[must_use]
    pub fn cost(&self, passage: usize, part: PartId, role: PartRole) -> f64 {
        let strongest = self.wishes(passage, part).first();
        strongest.map_or(0.0, |w| w.strength * weight(w.role) * w.missed(role))
    }

    /// Roles changed to what is clearly wished, where the part is able to (`may` tells); `None` where nothing
    /// is to be changed.
    pub fn followed(
        &self,
        passage: usize,
        roles: &[PartRole],
        may: impl Fn(PartId, Role) -> bool,
    ) -> Option<Vec<PartRole>> {
        let mut followed = roles.to_vec();
        for (i, role) in followed.iter_mut().enumerate() {
            let part = PartId(i);
            let wish = self.wishes(passage, part).first();
            let Some(wish) = wish.filter(|w| w.strength >= FOLLOWED && may(part, w.role)) else {
                continue;
            };
            let octave = match wish.role {
                Role::Melody => wish.octave,
                _ => 0,
            };
            *role = PartRole {
                role: wish.role,
                octave,
            };
        }
        (followed != roles).then_some(followed)
    }
}
