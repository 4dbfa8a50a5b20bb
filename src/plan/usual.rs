//! Usual ways of scoring as one band would do them in one passage.

use super::figures::MOST_CARRIERS as MOST_ON_FIGURE;
use super::fits::Fits;
use super::habits::{Strength, Way, Who};
use super::solve::PartRole;
use crate::band::{Band, Exposure, Family, PartId};
use crate::score::Role;

/// What starting from no usual way costs, in steps of intensity (ours).
pub(super) const FAR_FROM_ANY: f64 = 0.7;

/// A usual way as a band would do it in a passage.
pub(super) struct UsualWay {
    /// For which intensity it is usual; `None`: no way in particular, only what parts usually do.
    pub strength: Option<Strength>,
    /// A role for every part.
    roles: Vec<PartRole>,
    /// Which parts are brass.
    brass: Vec<bool>,
    /// Where no way is meant: which roles are usual for each part in any.
    often: Vec<Vec<Role>>,
}

/// A rest.
pub(super) const REST: PartRole = PartRole {
    role: Role::Rest,
    octave: 0,
};

/// A role at the sketch's octave.
pub(super) const fn plain(role: Role) -> PartRole {
    PartRole { role, octave: 0 }
}

/// All usual ways as a band would do them in a passage; the last is none in particular.
/// `figure` says which parts can keep the figure, the best first, where it is to be kept or shared.
pub(super) fn usual_in(
    band: &Band,
    ways: &[Way],
    fits: &Fits,
    figure: Option<&[PartId]>,
) -> Vec<UsualWay> {
    let parts = band.parts.iter();
    let brass: Vec<bool> = parts
        .map(|p| p.instrument.family == Family::Brass)
        .collect();
    let mut all: Vec<UsualWay> = ways
        .iter()
        .map(|way| UsualWay {
            strength: Some(way.intensity),
            roles: roles(band, way, fits, figure),
            brass: brass.clone(),
            often: Vec::new(),
        })
        .collect();
    let often = band.parts.iter().map(|part| {
        let named = |who: &[Who]| who.iter().any(|w| w.means(part));
        let in_any = |of: fn(&Way) -> &[Who]| ways.iter().any(|w| named(of(w)));
        let mut often = Vec::new();
        let mut add = |role, yes: bool| often.extend(yes.then_some(role));
        add(Role::Melody, in_any(|w| &w.melody));
        add(Role::Counterline, in_any(|w| &w.counterline));
        add(Role::Bass, in_any(|w| &w.bass));
        add(Role::Figure, in_any(|w| &w.figure));
        add(Role::Harmony, in_any(|w| &w.harmony));
        often
    });
    all.push(UsualWay {
        strength: None,
        roles: Vec::new(),
        brass,
        often: often.collect(),
    });
    all
}

impl UsualWay {
    /// How unusual a role is for a part, 0 as in the way, about 1 for something else (sizes ours): resting
    /// instead of filling the chord is little, carrying the tune unasked is much.
    pub fn unlike(&self, part: usize, role: PartRole) -> f64 {
        use Role::{Bass, Counterline, Harmony, Melody, Rest};
        let Some(usual) = self.roles.get(part) else {
            let often = self.often.get(part).is_some_and(|o| o.contains(&role.role));
            return match role.role {
                Rest => 0.4,
                _ if often => 0.8,
                _ => 1.6,
            };
        };
        match (usual.role, role.role) {
            (Melody, Melody) => 0.4 * f64::from((usual.octave - role.octave).unsigned_abs()),
            (a, b) if a == b => 0.0,
            // At a peak nobody rests who has not the need.
            (Harmony | Bass | Counterline, Rest) if self.is_strong() => 1.0,
            (Melody, Rest) if self.is_strong() => 1.6,
            (Harmony | Bass | Counterline, Rest) => 0.4,
            // Where it is soft, brass mostly rests.
            (Rest, _) if self.is_soft() && self.brass.get(part) == Some(&true) => 1.6,
            (Melody, Rest) | (Rest, Harmony) => 0.8,
            (_, Melody) => 1.4,
            _ => 1.0,
        }
    }

    fn is_soft(&self) -> bool {
        self.strength.is_some_and(|s| s <= Strength::Soft)
    }

    fn is_strong(&self) -> bool {
        self.strength.is_some_and(|s| s >= Strength::Strong)
    }

    /// The role of a part in it; `None` where no way is meant.
    pub fn role(&self, part: usize) -> Option<PartRole> {
        self.roles.get(part).copied()
    }
}

/// The roles of all parts in a way.
fn roles(band: &Band, way: &Way, fits: &Fits, able: Option<&[PartId]>) -> Vec<PartRole> {
    let [_, counterline, bass, figure] = fits.has;
    let able: Option<Vec<usize>> = able.map(|able| {
        let named = |id: &&PartId| way.figure.iter().any(|w| w.means(band.part(**id)));
        let some = able.iter().filter(named).take(MOST_ON_FIGURE);
        some.map(|id| id.0).collect()
    });
    let roles = band
        .parts
        .iter()
        .enumerate()
        .map(|(i, part)| {
            if fits.closed[i] {
                return REST;
            }
            let named = |who: &[Who]| who.iter().find(|w| w.means(part)).map(|w| w.octave);
            if let Some(octave) = named(&way.melody).filter(|_| fits.carries_tune(i)) {
                return PartRole {
                    role: Role::Melody,
                    octave,
                };
            }
            if named(&way.counterline).is_some() && counterline {
                return plain(Role::Counterline);
            }
            if named(&way.bass).is_some() && bass {
                return plain(Role::Bass);
            }
            let keeps = able.as_ref().is_none_or(|a| a.contains(&i));
            if named(&way.figure).is_some() && figure && keeps {
                return plain(Role::Figure);
            }
            let harmony = named(&way.harmony).is_some()
                || named(&way.figure).is_some_and(|_| part.instrument.wind);
            plain(if harmony { Role::Harmony } else { Role::Rest })
        })
        .collect();
    in_company(band, roles)
}

/// A second tune or a figure is not left to one part that is never to be heard alone: it fills the
/// chord.
fn in_company(band: &Band, mut roles: Vec<PartRole>) -> Vec<PartRole> {
    for line in [Role::Counterline, Role::Figure] {
        let mut carriers = (0..roles.len()).filter(|i| roles[*i].role == line);
        if let (Some(only), None) = (carriers.next(), carriers.next()) {
            let part = &band.parts[only];
            if part.remarks.exposure == Exposure::Never {
                roles[only].role = if part.instrument.wind {
                    Role::Harmony
                } else {
                    Role::Rest
                };
            }
        }
    }
    roles
}
