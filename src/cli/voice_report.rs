//! What `voice` made, in a few lines for people.

use super::report::grouped;
use super::take::alternative_lines;
use super::tune_words::change_lines;
use super::why_voice::{Told, dearest_lines};
use crate::band::Band;
use crate::plan::{PassagePlan, ScoringPlan};
use crate::project::breath_words::breath_lines;
use crate::project::given::AgainTold;
use crate::project::whole_way::WholeWay;
use crate::review::{Finding, Severity};
use crate::sketch::{FigureWay, Song};
use crate::voicing::conflicts::Conflict;
use crate::voicing::styles::Style;
use crate::voicing::{Excerpt, Status, Voiced};
use std::path::Path;

/// At most so many lines of findings in the summary.
const MOST_LINES: usize = 12;

/// What was made, as it is told to people.
pub struct Summary<'a> {
    /// The sketch.
    pub song: &'a Song,
    /// The band.
    pub band: &'a Band,
    /// All that came of it.
    pub way: &'a WholeWay,
    /// What is told of its costs.
    pub told: &'a Told,
    /// Where the draft went.
    pub out: &'a Path,
    /// The styles that it was made in.
    pub styles: &'a [Style],
    /// Whether other ways of scoring are listed.
    pub alternatives: bool,
}

impl Summary<'_> {
    /// A few lines for people.
    #[must_use]
    pub fn text(&self) -> String {
        let Self {
            song,
            band,
            way,
            told,
            out,
            alternatives,
            styles,
        } = *self;
        let bars = song
            .meters
            .bar(crate::music::Tick(song.end().0.saturating_sub(1)))
            .0;
        let draft = &way.voiced.draft;
        let notes: usize = draft.lines.iter().map(|l| l.notes.len()).sum();
        let locked = draft
            .lines
            .iter()
            .flat_map(|l| &l.notes)
            .filter(|n| n.locked)
            .count();
        let mut lines = vec![
            format!(
                "{}: {bars} bars for {} parts, {} players",
                band.name,
                band.parts.len(),
                players(band)
            ),
            format!("{notes} notes, {locked} of them locked"),
        ];
        if !styles.is_empty() {
            let names: Vec<&str> = styles.iter().map(|s| s.name.as_str()).collect();
            lines.push(format!("style: {}", names.join(", then ")));
        }
        if let Some(laid) = &way.timeline {
            let name = &laid.timeline.name;
            lines.push(format!("timeline: {name}, whose intensity is wanted"));
        }
        lines.extend([String::new(), "bars     intensity  scoring".to_owned()]);
        lines.extend(way.plan.passages.iter().map(|p| {
            let bars = format!("{}-{}", p.passage.first_bar, p.passage.last_bar);
            format!("{bars:<8} {:>5.1}      {}", p.passage.intensity, p.way)
        }));
        lines.extend(figure_lines(&way.plan, band));
        lines.extend(change_lines(band, way, &song.meters));
        if alternatives {
            lines.extend(alternative_lines(&way.plan));
        }
        lines.extend(way.weighed.tables(band));
        lines.extend(breath_lines(band, &way.breathing, &song.meters));
        lines.push(String::new());
        lines.extend(way.again.as_ref().map(again_line));
        lines.push(proof_line(&way.voiced));
        lines.extend(conflict_lines(&way.voiced.conflicts, band));
        lines.extend(dearest_lines(band, &told.dearest));
        if let Some(Ok(excerpt)) = &way.excerpt {
            lines.push(excerpt_line(excerpt));
        }
        lines.push(findings_line(way));
        let grave: Vec<&Finding> = way
            .findings
            .iter()
            .filter(|f| f.severity != Severity::Caution)
            .collect();
        let groups = grouped(&grave);
        lines.extend(groups.iter().take(MOST_LINES).cloned());
        if groups.len() > MOST_LINES {
            lines.push(format!(
                "  and {} more; `bandwright review` lists all",
                groups.len() - MOST_LINES
            ));
        }
        lines.push(format!("draft written to {}", out.display()));
        if !told.why_text.is_empty() {
            lines.extend([String::new(), told.why_text.clone()]);
        }
        lines.join("\n")
    }
}

/// How figures are played, one row for passages in a row that are played alike.
fn figure_lines(plan: &ScoringPlan, band: &Band) -> Vec<String> {
    let key = |p: &PassagePlan| {
        let figure = p.figure.as_ref().filter(|f| f.way != FigureWay::OffBeats);
        figure.map(|f| (f.way, f.carriers.clone()))
    };
    let alike = plan.passages.chunk_by(|a, b| key(a) == key(b));
    let rows = alike.filter_map(|chunk| {
        let (first, last) = (chunk.first()?, chunk.last()?);
        let (way, carriers) = key(first)?;
        let names: Vec<&str> = carriers
            .iter()
            .map(|id| band.part(*id).name.as_str())
            .collect();
        let who = if names.is_empty() {
            String::new()
        } else {
            format!(" ({})", names.join(", "))
        };
        let why = first.figure.as_ref().map_or("", |f| f.why.as_str());
        let bars = format!("{}-{}", first.passage.first_bar, last.passage.last_bar);
        let way = way.word().replace('_', " ");
        Some(format!("{bars:<8} figure     {way}{who}: {why}"))
    });
    let rows: Vec<String> = rows.collect();
    if rows.is_empty() {
        return rows;
    }
    std::iter::once(String::new()).chain(rows).collect()
}

/// What solving again changed.
fn again_line(told: &AgainTold) -> String {
    let plural = if told.moved == 1 { "" } else { "s" };
    let before = told.before.map_or_else(
        || "what was drafted there is not allowed any more".to_owned(),
        |cost| format!("what was drafted there cost {cost:.1} points"),
    );
    format!("solved again: {} new note{plural}; {before}", told.moved)
}

/// What the chords cost and how good that is known to be.
fn proof_line(voiced: &Voiced) -> String {
    let (cost, bound) = (voiced.cost, voiced.lower_bound);
    let stopped = match voiced.status {
        Status::Stopped => "stopped; ",
        Status::Impossible => "not all that is locked or said can be kept; around that ",
        Status::Optimal | Status::Feasible => "",
    };
    if voiced.gap() <= 0.0 {
        return format!("chords: {stopped}{cost:.1} points, and none can cost less");
    }
    let gap = voiced.gap() * 100.0;
    format!(
        "chords: {stopped}{cost:.1} points, and none can cost less than {bound:.1} (gap {gap:.1} %)"
    )
}

/// What contradicts what, and what would do.
fn conflict_lines(conflicts: &[Conflict], band: &Band) -> Vec<String> {
    let line = |c: &Conflict| {
        let relax = c.relaxation_in_words(band);
        format!("  conflict: {}. The least that would do: {relax}.", c.says)
    };
    let mut lines: Vec<String> = conflicts.iter().take(MOST_LINES).map(line).collect();
    if conflicts.len() > MOST_LINES {
        let more = conflicts.len() - MOST_LINES;
        lines.push(format!("  and {more} more conflicts; `--json` lists all"));
    }
    lines
}

/// The same for bars solved by themselves.
fn excerpt_line(excerpt: &Excerpt) -> String {
    let (cost, bound) = (excerpt.cost, excerpt.lower_bound);
    format!("the bars by themselves: {cost:.3} points, and none can cost less than {bound:.3}")
}

fn players(band: &Band) -> u32 {
    band.parts.iter().map(|p| p.players.count()).sum()
}

fn findings_line(way: &WholeWay) -> String {
    let count = |severity| {
        way.findings
            .iter()
            // Its notes are told one by one where nobody plays them at all.
            .filter(|f| f.severity == severity && f.kind != "tune_not_as_written")
            .count()
    };
    let (out, loss, caution) = (
        count(Severity::OutOfLimit),
        count(Severity::Loss),
        count(Severity::Caution),
    );
    if out + loss + caution == 0 {
        return "nothing out of reach, nothing of tune or bass lost".to_owned();
    }
    format!("{out} out of reach, {loss} notes of tune or bass not carried, {caution} to look at")
}
