//! Other ways of scoring: listing them, and taking one.

use super::failure::Failure;
use crate::plan::{Alternative, PassagePlan, PlanCost, ScoringPlan};
use std::collections::BTreeMap;
use std::str::FromStr;

/// The number of a way to take for the passage that has these bars: `17-20=2`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Take {
    first: u32,
    last: u32,
    number: usize,
}

impl FromStr for Take {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let read = || {
            let (bars, number) = text.split_once('=')?;
            let (first, last) = bars.split_once('-').unwrap_or((bars, bars));
            let bar = |t: &str| t.trim().parse::<u32>().ok().filter(|b| *b > 0);
            let number = number.trim().parse::<usize>().ok().filter(|n| *n > 0)?;
            Some(Self {
                first: bar(first)?,
                last: bar(last)?,
                number,
            })
        };
        read().ok_or_else(|| Failure::Take(text.to_owned()).to_string())
    }
}

/// What is taken, by bars; of two for the same bars the later one.
#[must_use]
pub fn taken(takes: &[Take]) -> BTreeMap<(u32, u32), usize> {
    let one = |t: &Take| ((t.first, t.last), t.number);
    takes.iter().map(one).collect()
}

/// Refuses what takes no way of any passage.
///
/// # Errors
/// Where the bars are those of no passage, or the passage has no way of that number.
pub fn refuse_unknown(takes: &[Take], plan: &ScoringPlan) -> Result<(), Failure> {
    for take in takes {
        let is = |p: &&PassagePlan| bars(p) == (take.first, take.last);
        let hint = match plan.passages.iter().find(is) {
            Some(planned) if planned.taken => continue,
            Some(_) => "`--alternatives` lists those that there are".to_owned(),
            None => format!("the passages are {}", all_bars(plan)),
        };
        return Err(Failure::NoSuchWay {
            bars: format!("{}-{}", take.first, take.last),
            number: take.number,
            hint,
        });
    }
    Ok(())
}

fn bars(planned: &PassagePlan) -> (u32, u32) {
    (planned.passage.first_bar.0, planned.passage.last_bar.0)
}

fn all_bars(plan: &ScoringPlan) -> String {
    let all = plan.passages.iter().map(bars);
    let all: Vec<String> = all.map(|(a, b)| format!("{a}-{b}")).collect();
    all.join(", ")
}

/// So many terms are named beside an alternative.
const MOST_TERMS: usize = 3;

/// The other ways of all passages, a few lines each.
#[must_use]
pub fn alternative_lines(plan: &ScoringPlan) -> Vec<String> {
    let mut lines = vec![
        String::new(),
        "other ways, with what the whole plan would cost more (take one: --take BARS=NUMBER)"
            .to_owned(),
    ];
    for planned in &plan.passages {
        let (first, last) = bars(planned);
        let number = planned
            .number
            .map_or(String::new(), |n| format!(" (way {n})"));
        let how = if planned.taken { ", taken" } else { "" };
        let bars = format!("{first}-{last}");
        lines.push(format!("{bars:<8} {}{number}{how}", planned.way));
        lines.extend(planned.others.iter().flat_map(one_alternative));
    }
    lines
}

fn one_alternative(other: &Alternative) -> Vec<String> {
    let terms = other.terms.iter().take(MOST_TERMS);
    let terms: Vec<String> = terms.map(difference).collect();
    vec![
        format!(
            "  {:>2} {:>+7.1}  {}",
            other.number, other.cost_more, other.way
        ),
        format!("              changes: {}", other.changes),
        format!("              {}", terms.join("; ")),
    ]
}

fn difference(cost: &PlanCost) -> String {
    format!("{} {:+.1}", cost.term.name(), cost.points)
}
