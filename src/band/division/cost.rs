//! What a division of a section over its parts costs.

use crate::band::level::Level;

/// Players of a part by [`Level::index`].
pub type Counts = [u16; 5];

/// A section to be divided.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Task {
    /// Players whose part is free to choose.
    pub free: Counts,
    /// For each part, the first part first, the players whom the director put there.
    pub fixed: Vec<Counts>,
    /// Whether the director said of anybody: never exposed.
    pub never_exposed: bool,
}

impl Task {
    /// How many players there are.
    #[must_use]
    pub fn players(&self) -> i64 {
        self.fixed.iter().map(size).sum::<i64>() + size(&self.free)
    }

    /// All players by level.
    #[must_use]
    pub fn all(&self) -> Counts {
        let mut all = self.free;
        for part in &self.fixed {
            for (sum, n) in all.iter_mut().zip(part) {
                *sum += n;
            }
        }
        all
    }

    /// The level of the strongest player, 0 to 4; 0 where there is nobody.
    pub(super) fn top(&self) -> i64 {
        strongest(&self.all()).unwrap_or(0)
    }

    /// The mean level in tenths.
    pub(super) fn mean_tenths(&self) -> i64 {
        let sum: i64 = levels(&self.all()).map(|(l, n)| l * n).sum();
        let players = self.players().max(1);
        (20 * sum + players) / (2 * players)
    }

    /// How many players each part should have, for balance, in thousandths.
    ///
    /// Half-way between even shares and the 3, 5.5 and 9 of three clarinet parts that are told of
    /// McBeth (1972; read in a teaching page that describes him). Half-way is ours: one pyramid for
    /// all music is criticised as too heavy below. Two parts take the 3 and 5.5. Four and more parts
    /// are shared evenly (ours): they work in pairs, as horns do.
    pub(super) fn targets(&self) -> Vec<i64> {
        const TOLD: [i64; 3] = [30, 55, 90];
        let parts = self.fixed.len();
        let told = TOLD.get(..parts).filter(|t| !t.is_empty());
        let sum: i64 = told.map_or(0, |t| t.iter().sum());
        let even = 1000 * self.players() / i64::try_from(parts).unwrap_or(1).max(1);
        let one = |j: usize| match told.and_then(|t| t.get(j)) {
            Some(share) => (even + 1000 * self.players() * share / sum) / 2,
            None => even,
        };
        (0..parts).map(one).collect()
    }
}

/// What a division costs, term by term, in thousandths of a point. All weights are ours, set so
/// that the worked sections of the tests come out as a director would seat them.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct DivisionCost {
    /// 6 points for each squared player more or less than balance asks for.
    pub balance: i64,
    /// 2 points for each level above the section's mean, for each part that the player sits below
    /// the first; as much gained for each level under it.
    pub strength: i64,
    /// 3 points for each level by which a part's best player is under the section's best.
    pub leaders: i64,
    /// 12 points for a weak player (under intermediate) alone on a part, 3 for a stronger one;
    /// out of the question where the director said: never exposed.
    pub alone: i64,
    /// 8 points for each first-year player on the first part, where anybody better is in the
    /// section and there is a second part.
    pub first_years: i64,
    /// Parts without players: hardly ever, and from the last part upwards.
    pub empty: i64,
}

impl DivisionCost {
    /// The sum.
    #[must_use]
    pub const fn total(&self) -> i64 {
        self.balance + self.strength + self.leaders + self.alone + self.first_years + self.empty
    }
}

const BALANCE: i64 = 6_000;
const STRENGTH: i64 = 2_000;
const LEADER: i64 = 3_000;
const WEAK_ALONE: i64 = 12_000;
const STRONG_ALONE: i64 = 3_000;
const NEVER_ALONE: i64 = 1_000_000_000;
const FIRST_YEAR: i64 = 8_000;
const EMPTY: i64 = 1_000_000;

pub(super) fn size(counts: &Counts) -> i64 {
    counts.iter().map(|n| i64::from(*n)).sum()
}

/// Levels from 0 with their players, weakest first, empty ones left out.
pub(super) fn levels(counts: &Counts) -> impl DoubleEndedIterator<Item = (i64, i64)> {
    let all = (0_i64..).zip(counts.iter().map(|n| i64::from(*n)));
    all.take(5)
        .filter(|(_, n)| *n > 0)
        .collect::<Vec<_>>()
        .into_iter()
}

pub(super) fn strongest(counts: &Counts) -> Option<i64> {
    levels(counts).next_back().map(|(level, _)| level)
}

/// What the size of a part costs by itself; parts are counted from 0.
pub(super) fn size_cost(parts: usize, part: usize, size: i64, target: i64) -> (i64, i64) {
    // Thousandths squared are millionths.
    let off = 1000 * size - target;
    let empty = i64::try_from(parts - part).unwrap_or(1);
    let empty = if size == 0 { EMPTY * empty } else { 0 };
    (BALANCE * (off * off / 1000) / 1000, empty)
}

/// What players of a level on a part cost, each: strength, and first-years on the first part.
pub(super) fn place_cost(task: &Task, part: usize, level: i64) -> (i64, i64) {
    let below = i64::try_from(part).unwrap_or(i64::MAX);
    let strength = STRENGTH / 10 * below * (10 * level - task.mean_tenths());
    let kept_off = part == 0 && level == 0 && task.top() > 0 && task.fixed.len() > 1;
    (strength, if kept_off { FIRST_YEAR } else { 0 })
}

/// What a part costs for its best player, and for being one player alone.
pub(super) fn leader_cost(task: &Task, best: i64, size: i64) -> (i64, i64) {
    let weak = usize::try_from(best).is_ok_and(|b| b < Level::Intermediate.index());
    let alone = match size {
        1 if task.never_exposed => NEVER_ALONE,
        1 if weak => WEAK_ALONE,
        1 => STRONG_ALONE,
        _ => 0,
    };
    (LEADER * (task.top() - best), alone)
}

/// What a division costs: `parts` holds all players of each part, fixed ones too.
#[must_use]
pub fn division_cost(task: &Task, parts: &[Counts]) -> DivisionCost {
    let targets = task.targets();
    let mut cost = DivisionCost::default();
    for (j, (counts, target)) in parts.iter().zip(targets).enumerate() {
        let (balance, empty) = size_cost(parts.len(), j, size(counts), target);
        cost.balance += balance;
        cost.empty += empty;
        for (level, n) in levels(counts) {
            let (strength, first_year) = place_cost(task, j, level);
            cost.strength += n * strength;
            cost.first_years += n * first_year;
        }
        if let Some(best) = strongest(counts) {
            let (leader, alone) = leader_cost(task, best, size(counts));
            cost.leaders += leader;
            cost.alone += alone;
        }
    }
    cost
}
