//! The shape of a show in a table for people.

use crate::band::Band;
use crate::export::minutes;
use crate::music::{BarBeat, Tick};
use crate::plan::timeline::{LaidMark, Place};
use crate::project::shape::Shaped;
use crate::review::{Course, Measure};

/// Most bars that a row of the table stands for.
const ROW: usize = 4;

/// The band and how long the show is: `Juniper Flats, 64 bars, 2:08`.
#[must_use]
pub fn under(band: &Band, shaped: &[Shaped<'_>]) -> String {
    let bars: usize = shaped.iter().map(|s| s.course.bars()).sum();
    let pauses = shaped.iter().rev().skip(1).map(|s| s.pause_after);
    let seconds: f64 = shaped.iter().map(Shaped::seconds).chain(pauses).sum();
    let mut text = format!("{}, {bars} bars, {}", band.name, minutes(seconds));
    let movements = shaped.len();
    if movements > 1 {
        text.push_str(&format!(", {movements} movements"));
    }
    if let [one] = shaped
        && let Some(together) = one.course.together()
    {
        text.push_str(&format!(
            "; wanted and reached go together with a correlation of {together:.2}"
        ));
    }
    text
}

/// The whole report.
#[must_use]
pub fn report(title: &str, band: &Band, shaped: &[Shaped<'_>]) -> String {
    let mut lines = vec![title.to_owned(), under(band, shaped)];
    for (i, one) in shaped.iter().enumerate() {
        lines.push(String::new());
        if shaped.len() > 1 {
            let together = one.course.together();
            let together = together.map_or(String::new(), |t| format!(", correlation {t:.2}"));
            lines.push(format!(
                "{}: {} bars, {}{together}",
                one.name,
                one.course.bars(),
                minutes(one.seconds())
            ));
        }
        lines.extend(rows(one));
        lines.extend(marks(one));
        lines.extend(tired(&one.course));
        lines.extend(missed(one));
        if i + 1 < shaped.len() {
            lines.push(format!("then {:.0} seconds of pause", one.pause_after));
        }
    }
    lines.join("\n")
}

/// A row for every four bars, cut where sections begin.
fn rows(one: &Shaped<'_>) -> Vec<String> {
    let course = &one.course;
    let mut lines =
        vec!["bars     wanted  reached  (loud  dense  high  bright)  section".to_owned()];
    let alone = Measure::ALL.map(|m| course.alone(m));
    let mean = |all: &[f64], from: usize, to: usize| {
        let some = all.get(from..to).unwrap_or_default();
        some.iter().sum::<f64>() / some.len().max(1) as f64
    };
    let begins = |bar: usize| {
        let ends = course.starts.get(bar).zip(course.starts.get(bar + 1));
        let here = |at: Tick| ends.is_some_and(|(from, to)| *from <= at && at < *to);
        one.sections.iter().find(|(at, _)| here(*at))
    };
    let mut from = 0;
    while from < course.bars() {
        let mut to = from + 1;
        while to < course.bars() && to - from < ROW && begins(to).is_none() {
            to += 1;
        }
        let [loud, dense, high, bright] = [0, 1, 2, 3].map(|i| mean(&alone[i], from, to));
        let line = format!(
            "{:<8} {:>6.1}  {:>7.1}  {loud:>5.1}  {dense:>5.1}  {high:>4.1}  {bright:>6.1}   {}",
            bars(from + 1, to),
            mean(&course.wanted, from, to),
            mean(&course.reached, from, to),
            begins(from).map_or("", |(_, name)| name)
        );
        lines.push(line.trim_end().to_owned());
        from = to;
    }
    lines
}

fn bars(first: usize, last: usize) -> String {
    if first == last {
        first.to_string()
    } else {
        format!("{first}-{last}")
    }
}

/// Peaks, crests and hushes, with what is wanted and reached there.
fn marks(one: &Shaped<'_>) -> Vec<String> {
    let Some(laid) = one.laid().filter(|l| !l.marks.is_empty()) else {
        return Vec::new();
    };
    let line = |mark: &LaidMark| {
        let at: BarBeat = one.song.meters.place(mark.at);
        let bar = at.bar.0.saturating_sub(1) as usize;
        let reached = one.course.reached.get(bar).copied().unwrap_or_default();
        let wanted = mark
            .level
            .map_or("nothing".to_owned(), |l| format!("{l:.1}"));
        format!(
            "  {:<6} {:<24} {:<16} wanted {wanted}, reached {reached:.1}",
            mark.kind.word(),
            mark.name,
            at.words()
        )
    };
    let lines = laid.marks.iter().map(line);
    std::iter::once("\npeaks, crests and hushes".to_owned())
        .chain(lines)
        .collect()
}

/// How tired each choir gets, and where; and in how many bars it rests.
fn tired(course: &Course) -> Vec<String> {
    if course.load.is_empty() {
        return Vec::new();
    }
    let line = |(name, load): &(&'static str, Vec<f64>)| {
        let most = load.iter().copied().fold(0.0, f64::max);
        let bar = load.iter().position(|l| *l == most).unwrap_or_default() + 1;
        let rests = load.iter().filter(|l| **l == 0.0).count();
        format!("  {name:<10} {most:.2} at most, in bar {bar}; rests in {rests} bars")
    };
    let lines = course.load.iter().map(line);
    std::iter::once("\nhow tired the lips are (0 fresh, 1 worn out)".to_owned())
        .chain(lines)
        .collect()
}

/// Where the draft misses the shape, and what would mend it.
fn missed(one: &Shaped<'_>) -> Vec<String> {
    if one.misses.is_empty() {
        return vec![
            "\nnowhere off the wanted shape by more than 1.5 for two bars or more".to_owned(),
        ];
    }
    let lines = one.misses.iter();
    let lines = lines.map(|m| format!("  {}; {}", m.what(), m.mend()));
    std::iter::once("\noff the wanted shape".to_owned())
        .chain(lines)
        .collect()
}
