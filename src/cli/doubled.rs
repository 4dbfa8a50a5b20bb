//! What happens to the demo's chords when the weight of one term is doubled, as a table in Markdown.

use super::Failure;
use super::doubled_plan;
use super::files;
use super::progress::Progress;
use crate::band::Band;
use crate::project::given::Given;
use crate::project::whole_way::{WholeWay, whole_way};
use crate::sketch::Song;
use crate::voicing::amounts::Amounts;
use crate::voicing::{Effort, Problem, Term, Weights};

/// What a term that weighs nothing is tried with, points.
const TRIED: f64 = 1.0;
/// At most so many other terms are named, those whose cost changes most.
const MOST_OTHERS: usize = 2;
/// Others are named where their cost changes by so many points at the least.
const LEAST_CHANGE: f64 = 5.0;

/// The table: a row for every term.
///
/// # Errors
/// Only if the program itself is damaged.
pub fn doubled() -> Result<String, Failure> {
    let song = files::demo_song()?;
    let band = files::band(files::DEMO_BAND)?;
    let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
    let demo = Demo {
        song: &song,
        band: &band,
        way: &way,
    };
    let usual = demo.amounts(&Weights::default());
    let mut progress = Progress::default();
    let mut rows = vec![
        "| term | unit | points | when doubled | when off | source |".to_owned(),
        "|---|---|---|---|---|---|".to_owned(),
    ];
    for (i, term) in Term::ALL.iter().enumerate() {
        rows.push(demo.row(*term, &usual));
        progress.tell((i + 1) as f64 / Term::ALL.len() as f64);
    }
    drop(progress);
    rows.push(String::new());
    rows.extend(doubled_plan::rows(&song, &band, &way));
    Ok(rows.join("\n"))
}

struct Demo<'a> {
    song: &'a Song,
    band: &'a Band,
    way: &'a WholeWay,
}

impl Demo<'_> {
    /// How much there is of every term under some weights; the plan stays.
    fn amounts(&self, weights: &Weights) -> Amounts {
        let problem = Problem {
            weights,
            ..self.way.problem(self.song, self.band)
        };
        Amounts::of(&problem, &Effort::default())
    }

    fn row(&self, term: Term, usual: &Amounts) -> String {
        let facts = term.facts();
        let (doubled, off) = if term.is_limit() {
            let text = "stands for a limit and is never changed".to_owned();
            (text, "-".to_owned())
        } else {
            (self.doubled(term, usual), self.off(term, usual))
        };
        format!(
            "| {} `{}` | {} | {} | {doubled} | {off} | {} |",
            facts.name,
            term.key(),
            facts.unit,
            facts.weight,
            facts.source
        )
    }

    /// What comes of a term that weighs nothing.
    fn off(&self, term: Term, usual: &Amounts) -> String {
        if Weights::default().points(term) <= 0.0 {
            return "is off".to_owned();
        }
        let now = self.amounts(&Weights::default().with(term, 0.0));
        format!("{} to {}", whole(usual.units(term)), whole(now.units(term)))
    }

    fn doubled(&self, term: Term, usual: &Amounts) -> String {
        let weights = Weights::default();
        let before = weights.points(term);
        let (points, how) = if before > 0.0 {
            (2.0 * before, String::new())
        } else {
            (TRIED, format!("(at {TRIED} point) "))
        };
        let now = self.amounts(&weights.clone().with(term, points));
        let units = |a: &Amounts, t| whole(a.units(t));
        let (was, is) = (usual.units(term), now.units(term));
        let mut text = match (was > 0.0, is > 0.0) {
            (false, false) => return format!("{how}none, as before"),
            // Only what weighs something is counted of some terms.
            (false, true) if before <= 0.0 => format!("{how}{} left", whole(is)),
            _ => format!("{how}{} to {}", whole(was), whole(is)),
        };
        if term == Term::Motion {
            let (a, b) = (usual.mean_move(), now.mean_move());
            text.push_str(&format!(" (a move is {a:.2}, then {b:.2} semitones)"));
        }
        let others = others(term, usual, &now);
        for other in &others {
            let (a, b) = (units(usual, *other), units(&now, *other));
            text.push_str(&format!("; {} {a} to {b}", other.facts().name));
        }
        text
    }
}

/// The other terms whose cost changes most, at their usual weights.
fn others(term: Term, usual: &Amounts, now: &Amounts) -> Vec<Term> {
    let change =
        |t: &Term| ((now.units(*t) - usual.units(*t)) * Weights::default().points(*t)).abs();
    let all = Term::ALL.iter().copied();
    let mut all: Vec<Term> = all
        .filter(|t| *t != term && change(t) >= LEAST_CHANGE)
        .collect();
    all.sort_by(|a, b| change(b).total_cmp(&change(a)));
    all.truncate(MOST_OTHERS);
    all
}

/// An amount for people: three figures are enough.
fn whole(units: f64) -> String {
    if units < 10.0 {
        format!("{units:.1}")
    } else {
        format!("{units:.0}")
    }
}
