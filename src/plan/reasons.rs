//! Why a passage is scored as it is, and why a part rests, as values and in words.

use super::alternatives::Alternative;
use super::chosen::Chosen;
use super::pool::Pool;
use super::rests::bars_of;
use super::show::Show;
use super::solve::{PartRole, PassagePlan};
use super::terms::{PlanCost, Tally, Term};
use crate::band::{Band, PartId};
use crate::score::Role;

/// So many terms are named.
const MOST_NAMED: usize = 3;

/// What is paid for, in words, the largest first.
pub(super) fn costs_in_words(tally: &Tally) -> Vec<PlanCost> {
    let say = |(term, points): (Term, f64)| PlanCost {
        term,
        points,
        text: format!("{}: {points:.1}", term.name()),
    };
    tally.largest().into_iter().map(say).collect()
}

/// Why a part rests in a passage.
#[derive(Clone, PartialEq, Debug)]
pub struct RestReason {
    /// The part.
    pub part: PartId,
    /// Whether remarks leave it nothing to play there.
    pub closed: bool,
    /// How many bars it had played on end before the passage.
    pub played: u32,
    /// How many wind parts fill the chord without it.
    pub chord: usize,
    /// The cheapest thing that it could do instead, and what the whole plan would then cost more; `None`
    /// where nothing is for it.
    pub instead: Option<(PartRole, f64)>,
    /// What makes that dearer most; `None` where nothing does.
    pub most: Option<Term>,
}

impl RestReason {
    /// In words: `rests: has played 20 bars on end; 5 others fill the chord; filling the chord would cost 3.1
    /// more, most for tired lips`.
    #[must_use]
    pub fn text(&self) -> String {
        if self.closed {
            return "rests: what the director said leaves it nothing here".to_owned();
        }
        let mut said: Vec<String> = Vec::new();
        if self.played > 0 {
            said.push(format!("has played {} bars on end", self.played));
        }
        said.push(format!("{} others fill the chord", self.chord));
        said.push(match self.instead {
            None => "nothing here is for it".to_owned(),
            Some((role, more)) => {
                let most = self
                    .most
                    .map_or(String::new(), |t| format!(", most for {}", t.name()));
                format!("{} would cost {more:.1} more{most}", doing(role.role))
            }
        });
        format!("rests: {}", said.join("; "))
    }
}

const fn doing(role: Role) -> &'static str {
    match role {
        Role::Melody => "carrying the tune",
        Role::Counterline => "carrying the counterline",
        Role::Bass => "carrying the bass",
        Role::Figure => "playing the figure",
        Role::Harmony => "filling the chord",
        Role::Rest => "resting",
    }
}

/// Why each part that rests in a passage does so, in the band's order.
pub(super) fn rest_reasons(
    show: &Show<'_, '_>,
    pool: &Pool<'_, '_>,
    chosen: &Chosen,
    at: usize,
) -> Vec<RestReason> {
    let all = chosen.roles();
    let (scene, roles) = (&show.scenes[at], &all[at]);
    let parts = &scene.stage.band.parts;
    let chord = (0..parts.len())
        .filter(|i| parts[*i].instrument.wind && roles[*i].role == Role::Harmony)
        .count();
    let resting = (0..parts.len()).filter(|i| roles[*i].role == Role::Rest);
    let reason = |part: usize| {
        let before = (0..at)
            .rev()
            .take_while(|i| all[*i][part].role != Role::Rest);
        let played = before.map(|i| bars_of(&show.scenes[i].passage)).sum();
        let here = show.around(at, roles, chosen);
        let section = pool.space.sections.iter().find(|s| s.parts.contains(&part));
        let options = section.map_or(&[][..], |s| &s.options);
        let others = options
            .iter()
            .filter(|o| o.role != Role::Rest)
            .map(|option| {
                let mut other = roles.clone();
                other[part] = *option;
                (*option, show.around(at, &other, chosen))
            });
        let instead = others.min_by(|a, b| a.1.sum().total_cmp(&b.1.sum()));
        RestReason {
            part: PartId(part),
            closed: scene.is_closed(part),
            played,
            chord,
            most: instead
                .as_ref()
                .and_then(|(_, tally)| dearest(&here, tally)),
            instead: instead.map(|(role, tally)| (role, tally.sum() - here.sum())),
        }
    };
    resting.map(reason).collect()
}

/// The term that rises most.
fn dearest(from: &Tally, to: &Tally) -> Option<Term> {
    let rise = |t: &&Term| to.0[**t as usize] - from.0[**t as usize];
    let most = Term::ALL.iter().max_by(|a, b| rise(a).total_cmp(&rise(b)));
    most.filter(|t| rise(t) > 0.05).copied()
}

/// Why a part rests in a passage of a plan; `None` where it does not.
#[must_use]
pub fn why_rests(planned: &PassagePlan, part: PartId) -> Option<&RestReason> {
    planned.rests.iter().find(|r| r.part == part)
}

/// Why a passage is scored as it is.
#[derive(Clone, PartialEq, Debug)]
pub struct PassageReason<'a> {
    /// What it pays most for.
    pub largest: Vec<&'a PlanCost>,
    /// The other ways, the one that costs least first.
    pub next: Vec<&'a Alternative>,
    /// In words, a sentence each.
    pub text: Vec<String>,
}

/// Why a passage is scored as it is: what it still pays for, and what the next ways would change.
#[must_use]
pub fn why_passage<'a>(band: &Band, planned: &'a PassagePlan) -> PassageReason<'a> {
    let largest: Vec<&PlanCost> = planned.terms.iter().take(MOST_NAMED).collect();
    let mut next: Vec<&Alternative> = planned.others.iter().collect();
    next.sort_by(|a, b| a.cost_more.total_cmp(&b.cost_more));
    let mut text = vec![match planned.taken {
        true => format!("you took it: {}", planned.way),
        false => format!("it costs least of all: {}", planned.way),
    }];
    let paid: Vec<&str> = largest.iter().map(|c| c.text.as_str()).collect();
    if !paid.is_empty() {
        text.push(format!("what it still costs most for: {}", paid.join(", ")));
    }
    for other in next.iter().take(MOST_NAMED) {
        let what = other.terms.iter().find(|t| t.points > 0.0);
        let what = what.map_or(String::new(), |t| format!(", most for {}", t.term.name()));
        text.push(format!(
            "way {} would cost {:.1} more{what}: {}",
            other.number, other.cost_more, other.changes
        ));
    }
    let resting = planned.rests.iter().filter(|r| !r.closed);
    for rest in resting.take(MOST_NAMED) {
        text.push(format!("{} {}", band.part(rest.part).name, rest.text()));
    }
    PassageReason {
        largest,
        next,
        text,
    }
}
