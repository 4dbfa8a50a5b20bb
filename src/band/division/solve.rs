//! The cheapest division of a section, exactly.
//!
//! Sizes of the parts are gone through, and for each the levels of the parts' best players; the
//! others are then cheapest sorted, the strongest to the first part. What cannot beat the best so
//! far is left out: given the sizes, sorted players are a bound, since what a player costs on a part
//! grows with level times part. A part whose best player was named too weak costs more than it
//! must, never less, so naming loses nothing.

use super::cost::{
    Counts, Task, division_cost, leader_cost, levels, place_cost, size, size_cost, strongest,
};

/// The cheapest division: all players of each part. Of equals the one whose sizes are nearer to
/// balance, from the first part down; then the one with stronger leaders, from the first part down.
///
/// ```
/// use bandwright::band::division::{Task, divide};
/// let section = Task { free: [2, 2, 2, 1, 0], fixed: vec![[0; 5]; 3], never_exposed: false };
/// let parts = divide(&section);
/// assert_eq!(parts, [[0, 0, 1, 1, 0], [0, 1, 1, 0, 0], [2, 1, 0, 0, 0]]);
/// ```
#[must_use]
pub fn divide(task: &Task) -> Vec<Counts> {
    let parts = task.fixed.len();
    if parts == 0 {
        return Vec::new();
    }
    let mut search = Search {
        task,
        targets: task.targets(),
        least_places: least_places(task),
        best: i64::MAX,
        found: Vec::new(),
    };
    search.sizes(&mut Vec::with_capacity(parts), size(&task.free), 0);
    search.found
}

/// No division can cost less for places: every player on the part that is best for that player.
fn least_places(task: &Task) -> i64 {
    let parts = task.fixed.len();
    let cheapest = |level| {
        let costs = (0..parts).map(|j| place_cost(task, j, level));
        costs.map(|(a, b)| a + b).min().unwrap_or(0)
    };
    levels(&task.all()).map(|(l, n)| n * cheapest(l)).sum()
}

struct Search<'a> {
    task: &'a Task,
    targets: Vec<i64>,
    least_places: i64,
    best: i64,
    found: Vec<Counts>,
}

impl Search<'_> {
    /// Goes through the sizes of the parts from `sizes.len()` on; `left` players are free yet, and
    /// the sizes so far cost `cost`.
    fn sizes(&mut self, sizes: &mut Vec<i64>, left: i64, cost: i64) {
        if cost + self.least_places >= self.best {
            return;
        }
        let parts = self.task.fixed.len();
        let j = sizes.len();
        if j == parts {
            self.leaders_of(sizes, cost);
            return;
        }
        let fixed = size(&self.task.fixed[j]);
        let least = if j + 1 == parts { left } else { 0 };
        // The likeliest first, so that the best so far is good from the start.
        let costed = |free| {
            let (balance, empty) = size_cost(parts, j, fixed + free, self.targets[j]);
            (balance + empty, free)
        };
        let mut choices: Vec<(i64, i64)> = (least..=left).map(costed).collect();
        choices.sort_unstable();
        for (more, free) in choices {
            sizes.push(fixed + free);
            self.sizes(sizes, left - free, cost + more);
            sizes.pop();
        }
    }

    fn leaders_of(&mut self, sizes: &[i64], cost: i64) {
        let free: Vec<i64> = sizes
            .iter()
            .zip(&self.task.fixed)
            .map(|(all, fixed)| all - size(fixed))
            .collect();
        let sorted = self.filled(&free, &vec![None; free.len()], self.task.free);
        let bound = cost + self.places(&sorted);
        let mut named = Vec::with_capacity(free.len());
        self.leaders(sizes, &free, &mut named, self.task.free, bound);
    }

    /// Names the leaders of the parts from `named.len()` on; `None` stands for a part led by a
    /// player who was put there, or by nobody. No completion costs less than `bound`.
    fn leaders(
        &mut self,
        sizes: &[i64],
        free: &[i64],
        named: &mut Vec<Option<usize>>,
        pool: Counts,
        bound: i64,
    ) {
        if bound >= self.best {
            return;
        }
        let j = named.len();
        if j == free.len() {
            let mut rest = free.to_vec();
            for (n, leader) in rest.iter_mut().zip(named.iter()) {
                *n -= i64::from(leader.is_some());
            }
            let parts = self.filled(&rest, named, pool);
            let cost = division_cost(self.task, &parts).total();
            if cost < self.best {
                self.best = cost;
                self.found = parts;
            }
            return;
        }
        let led = |best| {
            let (leader, alone) = leader_cost(self.task, best, sizes[j]);
            leader + alone
        };
        if free[j] > 0 {
            for level in (0..pool.len()).rev().filter(|l| pool[*l] > 0) {
                let mut pool = pool;
                pool[level] -= 1;
                let more = led(i64::try_from(level).unwrap_or(0));
                named.push(Some(level));
                self.leaders(sizes, free, named, pool, bound + more);
                named.pop();
            }
        }
        let fixed = strongest(&self.task.fixed[j]);
        if free[j] == 0 || fixed.is_some() {
            named.push(None);
            self.leaders(sizes, free, named, pool, bound + fixed.map_or(0, led));
            named.pop();
        }
    }

    /// The parts: who was put there, the named leader, and of the pool, strongest first, so many as
    /// each part still takes.
    fn filled(&self, rest: &[i64], named: &[Option<usize>], mut pool: Counts) -> Vec<Counts> {
        let mut parts = self.task.fixed.clone();
        for ((part, wanted), leader) in parts.iter_mut().zip(rest).zip(named) {
            if let Some(level) = leader {
                part[*level] += 1;
            }
            let mut wanted = u16::try_from(*wanted).unwrap_or(0);
            for level in (0..pool.len()).rev() {
                let taken = pool[level].min(wanted);
                pool[level] -= taken;
                part[level] += taken;
                wanted -= taken;
            }
        }
        parts
    }

    fn places(&self, parts: &[Counts]) -> i64 {
        let part = |(j, counts): (usize, &Counts)| -> i64 {
            let cost = |level| {
                let (strength, first_year) = place_cost(self.task, j, level);
                strength + first_year
            };
            levels(counts).map(|(l, n)| n * cost(l)).sum()
        };
        parts.iter().enumerate().map(part).sum()
    }
}
