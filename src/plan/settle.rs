//! Fitting each passage to those around it, section by section: colour, repeats, and above all load and rests,
//! which go over the whole piece.

use super::chosen::Chosen;
use super::pool::Pool;
use super::show::Show;
use super::solve::PartRole;

/// So often all passages are gone through at the most.
const ROUNDS: usize = 8;
/// Less than this is no gain, in points.
const GAIN: f64 = 1e-6;

/// Changes one section of one passage at a time, or its way as a whole, where that makes the whole plan cheaper, until nothing more is
/// gained. Passages that are `fixed` stay. Load and rests of a whole piece are no chain of few states, so this
/// finds a plan that no single change makes better; it is not proven to be the best.
pub(super) fn settle(
    show: &Show<'_, '_>,
    pools: &[Pool<'_, '_>],
    chosen: &mut Chosen,
    fixed: &dyn Fn(usize) -> bool,
) {
    for _ in 0..ROUNDS {
        let mut gained = false;
        for at in (0..pools.len()).filter(|at| !fixed(*at)) {
            gained |= settle_one(show, &pools[at], chosen, at);
        }
        if !gained {
            break;
        }
    }
}

/// Whether anything was gained in a passage.
fn settle_one(show: &Show<'_, '_>, pool: &Pool<'_, '_>, chosen: &mut Chosen, at: usize) -> bool {
    let mut gained = false;
    gained |= take_whole(show, pool, chosen, at);
    for section in &pool.space.sections {
        let Some(first) = section.parts.first() else {
            continue;
        };
        let mut now = chosen.roles()[at].clone();
        let here = show.around(at, &now, chosen).sum();
        let mut best: Option<(f64, PartRole)> = None;
        let old = now[*first];
        for option in section.options.iter().filter(|o| **o != old) {
            set(&mut now, &section.parts, *option);
            let cost = show.around(at, &now, chosen).sum();
            if cost < best.map_or(here - GAIN, |b| b.0) {
                best = Some((cost, *option));
            }
        }
        if let Some((_, option)) = best {
            set(&mut now, &section.parts, option);
            chosen.set(show, at, &section.parts, &now);
            gained = true;
        }
    }
    gained
}

/// Takes another way of the passage as a whole where that is cheaper; whether it did.
fn take_whole(show: &Show<'_, '_>, pool: &Pool<'_, '_>, chosen: &mut Chosen, at: usize) -> bool {
    let mut gained = false;
    for way in &pool.ways {
        let now = &chosen.roles()[at];
        let parts: Vec<usize> = (0..now.len())
            .filter(|p| now[*p] != way.roles[*p])
            .collect();
        let here = show.around(at, now, chosen).sum();
        let there = show.around(at, &way.roles, chosen).sum();
        if there < here - GAIN {
            chosen.set(show, at, &parts, &way.roles);
            gained = true;
        }
    }
    gained
}

fn set(roles: &mut [PartRole], parts: &[usize], role: PartRole) {
    for part in parts {
        roles[*part] = role;
    }
}
