//! Why a section is divided as it is, for the director.

use super::Share;
use super::cost::{Task, size, strongest};
use crate::band::level::Level;
use crate::band::people::{Section, Split};

/// Sentences about a division, the most important first.
pub(super) fn reasons(section: &Section, task: &Task, shares: &[Share]) -> Vec<String> {
    let mut texts = vec![headline(section, task, shares.len())];
    texts.extend(away(section));
    texts.extend(put(section));
    if shares.len() > 1 {
        texts.push(sizes(shares));
        texts.extend(leaders(task, shares));
        texts.extend(first_years(task, shares));
    }
    texts.extend(shares.iter().filter_map(|s| alone(task, s)));
    texts.extend(shares.iter().filter_map(resting));
    texts
}

fn headline(section: &Section, task: &Task, parts: usize) -> String {
    let players = counted(task.players(), "player");
    let how = match section.split {
        Split::Proposed => "proposed, as is usual for so many",
        Split::Into(_) | Split::One => "as the roster says",
    };
    let parts = i64::try_from(parts).unwrap_or(i64::MAX);
    format!("{players} on {} ({how}).", counted(parts, "part"))
}

fn counted(n: i64, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

fn away(section: &Section) -> Option<String> {
    let away = section.seats.iter().filter(|s| s.absent).count();
    match away {
        0 => None,
        1 => Some("1 player is away.".to_owned()),
        n => Some(format!("{n} players are away.")),
    }
}

fn put(section: &Section) -> Option<String> {
    let there = section.seats.iter().filter(|s| !s.absent);
    let put = there.filter(|s| s.part.is_some()).count();
    match put {
        0 => None,
        1 => Some("1 player sits where the roster says.".to_owned()),
        n => Some(format!("{n} players sit where the roster says.")),
    }
}

fn sizes(shares: &[Share]) -> String {
    let counts: Vec<u32> = shares.iter().map(|s| s.players.count()).collect();
    let texts: Vec<String> = counts.iter().map(u32::to_string).collect();
    let why = if counts.is_sorted() && counts.first() < counts.last() {
        "the lower parts have more, so that chords do not thin out below"
    } else if counts.is_sorted() {
        "as many on each part"
    } else {
        "as near to balance as levels, lone players and fixed seats allow"
    };
    format!("From the first part down {}: {why}.", texts.join(", "))
}

/// Lower parts that one of the section's best leads.
fn leaders(task: &Task, shares: &[Share]) -> Option<String> {
    let best = task.top();
    let level = Level::ALL.into_iter().find(|l| l.index() as i64 == best)?;
    let led = |s: &&Share| strongest(&s.players.0) == Some(best);
    let lower: Vec<&str> = shares
        .iter()
        .skip(1)
        .filter(led)
        .map(|s| s.part.as_str())
        .collect();
    if lower.is_empty() || level == Level::FirstYear {
        return None;
    }
    Some(format!(
        "The best are not all on the first part: {} {} led by one of them ({level}).",
        lower.join(" and "),
        if lower.len() == 1 { "is" } else { "are each" }
    ))
}

fn first_years(task: &Task, shares: &[Share]) -> Option<String> {
    let all = task.all()[Level::FirstYear.index()];
    if all == 0 || task.top() == 0 {
        return None;
    }
    let first = shares.first()?;
    match first.players.0[Level::FirstYear.index()] {
        0 => Some("No first-year player is on the first part.".to_owned()),
        n => Some(format!(
            "{} on {} for want of others.",
            match n {
                1 => "1 first-year player is".to_owned(),
                n => format!("{n} first-year players are"),
            },
            first.part
        )),
    }
}

fn alone(task: &Task, share: &Share) -> Option<String> {
    if size(&share.players.0) != 1 {
        return None;
    }
    let level = share.players.strongest()?;
    let part = &share.part;
    Some(if task.never_exposed {
        format!(
            "{part} is one player alone although somebody in the section is never to be exposed; \
             move a player or take a part fewer."
        )
    } else if level < Level::Intermediate {
        format!("{part} is one {level} player alone; a part fewer would be safer.")
    } else {
        format!("{part} is one player alone ({level}).")
    })
}

fn resting(share: &Share) -> Option<String> {
    (share.players.count() == 0).then(|| format!("Nobody is left for {}: it rests.", share.part))
}
