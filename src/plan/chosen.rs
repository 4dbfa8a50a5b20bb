//! The roles of all parts in all passages, with what they cost the lips: load and rests go over the whole piece,
//! so that is kept, and of a change only what comes after it is gone through again.

use super::show::Show;
use super::solve::PartRole;
use crate::band::Family;

/// Lips so little more or less tired are the same (ours: a billionth of all strength is told apart by nobody).
const SAME: f64 = 1e-9;

/// A part's lips before a passage.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct State {
    /// How tired, 0 to 1.
    pub tired: f64,
    /// Bars played on end.
    pub bars: u32,
}

impl State {
    fn is(self, other: Self) -> bool {
        self.bars == other.bars && (self.tired - other.tired).abs() <= SAME
    }
}

/// One part's lips.
#[derive(Clone, Debug, Default)]
struct Lips {
    /// Before every passage; one more at the end.
    before: Vec<State>,
    /// What is paid in every passage, tiredness and rests that are due.
    paid: Vec<[f64; 2]>,
}

/// Roles with what they cost the lips.
#[derive(Clone, Debug, Default)]
pub(super) struct Chosen {
    /// By passage, then part.
    roles: Vec<Vec<PartRole>>,
    /// By part; empty for parts that are no brass.
    lips: Vec<Lips>,
}

impl Chosen {
    /// Some roles.
    pub fn of(show: &Show<'_, '_>, roles: Vec<Vec<PartRole>>) -> Self {
        let parts = show.band().map_or(0, |b| b.parts.len());
        let mut chosen = Self {
            roles,
            lips: vec![Lips::default(); parts],
        };
        for part in 0..parts {
            chosen.renew(show, part);
        }
        chosen
    }

    /// The roles, by passage, then part.
    pub fn roles(&self) -> &[Vec<PartRole>] {
        &self.roles
    }

    /// Gives some parts of a passage other roles.
    pub fn set(&mut self, show: &Show<'_, '_>, at: usize, parts: &[usize], now: &[PartRole]) {
        for part in parts {
            self.roles[at][*part] = now[*part];
            self.renew(show, *part);
        }
    }

    fn renew(&mut self, show: &Show<'_, '_>, part: usize) {
        let brass = show.band().and_then(|b| b.parts.get(part));
        if brass.is_none_or(|p| p.instrument.family != Family::Brass) {
            return;
        }
        let mut state = State::default();
        let mut lips = Lips::default();
        for (at, roles) in self.roles.iter().enumerate() {
            lips.before.push(state);
            lips.paid.push(show.lips(part, at, roles[part], &mut state));
        }
        lips.before.push(state);
        self.lips[part] = lips;
    }

    /// What a part's lips pay in a passage: tiredness, and rests that are due.
    pub fn paid(&self, part: usize, at: usize) -> [f64; 2] {
        let lips = self.lips.get(part).and_then(|l| l.paid.get(at));
        lips.copied().unwrap_or_default()
    }

    /// What all lips pay.
    pub fn all_paid(&self) -> f64 {
        let each = self.lips.iter().flat_map(|l| &l.paid);
        each.flatten().sum()
    }

    /// What a part's lips would pay more over the whole piece with another role in a passage.
    pub fn more(&self, show: &Show<'_, '_>, part: usize, at: usize, role: PartRole) -> [f64; 2] {
        let mut more = [0.0; 2];
        let Some(lips) = self.lips.get(part) else {
            return more;
        };
        let Some(mut state) = lips.before.get(at).copied() else {
            return more;
        };
        for (i, paid) in lips.paid.iter().enumerate().skip(at) {
            let role = if i == at { role } else { self.roles[i][part] };
            let now = show.lips(part, i, role, &mut state);
            more[0] += now[0] - paid[0];
            more[1] += now[1] - paid[1];
            if lips.before.get(i + 1).is_some_and(|was| state.is(*was)) {
                break;
            }
        }
        more
    }
}
