//! Why a part plays what it plays (`voice --why`), and what costs most, for people.

use super::chance::find_part;
use super::failure::Failure;
use crate::band::{Band, PartId};
use crate::music::{BarNumber, Tick};
use crate::plan::fit::ChanceCosts;
use crate::plan::{PassagePlan, why_passage};
use crate::project::whole_way::WholeWay;
use crate::project::why::octave_in_words;
use crate::sketch::Song;
use crate::voicing::explain::dearest::Dearest;
use crate::voicing::explain::{Explainer, Explanation, NoteCost, Place, RunnerUp};
use crate::voicing::how_loud;
use clap::Args;

/// What is to be explained of a draft.
#[derive(Args, Debug, Clone, Default)]
pub struct WhyArgs {
    /// Tell why the parts play what they play in a bar, or at a beat of it: `41`, `41:3`, `41:2.5`
    #[arg(long, value_name = "BAR[:BEAT]", value_parser = place)]
    why: Option<WhyPlace>,
    /// Tell it of this part only, as the roster names it (may be given again)
    #[arg(long = "part", value_name = "NAME", requires = "why")]
    parts: Vec<String>,
}

/// A bar, or a beat of it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct WhyPlace {
    /// The bar.
    pub bar: BarNumber,
    /// The beat, 1 the first; without one the whole bar is meant.
    pub beat: Option<f64>,
}

/// The greatest beat that can be meant.
const MOST_BEATS: f64 = 100.0;

fn place(text: &str) -> Result<WhyPlace, String> {
    let wrong = || "give a bar, or a bar and a beat, counted from 1: 41, 41:3 or 41:2.5".to_owned();
    let (bar, beat) = match text.split_once(':') {
        None => (text, None),
        Some((bar, beat)) => {
            let beat: f64 = beat.trim().parse().map_err(|_| wrong())?;
            let fits = (1.0..=MOST_BEATS).contains(&beat);
            (bar, Some(fits.then_some(beat).ok_or_else(wrong)?))
        }
    };
    let bar: u32 = bar.trim().parse().map_err(|_| wrong())?;
    (bar > 0)
        .then_some(WhyPlace {
            bar: BarNumber(bar),
            beat,
        })
        .ok_or_else(wrong)
}

/// What is to be explained: some parts at a place.
#[derive(Clone, PartialEq, Debug)]
pub struct WhyAsked {
    /// The place.
    pub place: WhyPlace,
    /// The parts.
    pub parts: Vec<PartId>,
}

impl WhyArgs {
    /// What is asked of a band; `None` where nothing is.
    ///
    /// # Errors
    /// Where the band has no part of a name.
    pub fn asked(&self, band: &Band) -> Result<Option<WhyAsked>, Failure> {
        let Some(place) = self.why else {
            return Ok(None);
        };
        let named = |name: &String| find_part(band, name).map(|(id, _)| id);
        let mut parts: Vec<PartId> = self.parts.iter().map(named).collect::<Result<_, _>>()?;
        if parts.is_empty() {
            parts = band.ids().map(|(id, _)| id).collect();
        }
        parts.sort_unstable();
        parts.dedup();
        Ok(Some(WhyAsked { place, parts }))
    }
}

/// So many things that cost most are told.
const DEAREST: usize = 3;

/// What is told of a draft: explanations that were asked for, and what costs most.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Told {
    /// Why the passage is scored as it is, in sentences; empty where nothing was asked for.
    pub passage: Vec<String>,
    /// The explanations, part by part; `None` where none was asked for.
    pub why: Option<Vec<Explanation>>,
    /// The same for people.
    pub why_text: String,
    /// What costs most.
    pub dearest: Vec<Dearest>,
}

/// Looks into a draft.
///
/// # Errors
/// Where a bar or beat is asked for that the sketch does not have.
pub fn told(
    song: &Song,
    band: &Band,
    way: &WholeWay,
    asked: Option<&WhyAsked>,
) -> Result<Told, Failure> {
    let problem = way.problem(song, band);
    let costs = ChanceCosts::of_band(band);
    let mut explainer = Explainer::new(&problem, &costs, &way.voiced);
    let dearest = explainer.dearest(DEAREST);
    let Some(asked) = asked else {
        return Ok(Told {
            dearest,
            ..Told::default()
        });
    };
    let (start, end) = span(song, asked.place)?;
    let mut all = Vec::new();
    for part in &asked.parts {
        if asked.place.beat.is_some() {
            all.push(explainer.explain(*part, start));
        } else {
            let places = explainer.places(*part, start, end);
            all.extend(places.into_iter().map(|at| explainer.explain(*part, at)));
        }
    }
    if let Some(timeline) = &way.timeline {
        for why in &mut all {
            let note = (why.start, why.sounds);
            let draft = &way.voiced.draft;
            let loud = how_loud(&problem, timeline, draft, why.part, note);
            why.reasons.extend(loud);
        }
    }
    let planned = way.plan.passage(start);
    let passage = planned.map_or_else(Vec::new, |p| why_passage(band, p).text);
    let head = planned.map(|p| passage_lines(p, &passage).join("\n"));
    let notes = all
        .iter()
        .map(|why| lines(song, band, &explainer, why).join("\n"));
    let texts: Vec<String> = head.into_iter().chain(notes).collect();
    Ok(Told {
        passage,
        why: Some(all),
        why_text: texts.join("\n\n"),
        dearest,
    })
}

/// Why a passage is scored as it is, in lines for people.
fn passage_lines(planned: &PassagePlan, said: &[String]) -> Vec<String> {
    let (first, last) = (planned.passage.first_bar, planned.passage.last_bar);
    let said = said.iter().map(|text| format!("  {text}"));
    std::iter::once(format!("bars {first}-{last}: how they are scored"))
        .chain(said)
        .collect()
}

/// From where to where a place reaches.
fn span(song: &Song, place: WhyPlace) -> Result<(Tick, Tick), Failure> {
    let bars = song.meters.bar(Tick(song.end().0.saturating_sub(1)));
    if place.bar > bars {
        return Err(Failure::NoBar {
            bar: place.bar.0,
            bars: bars.0,
        });
    }
    let (start, end) = (
        song.meters.bar_start(place.bar),
        song.meters.bar_end(place.bar),
    );
    let Some(beat) = place.beat else {
        return Ok((start, end));
    };
    let length = song.meters.meter(start).beat(song.quarter).0 as f64;
    let at = start.0 + ((beat - 1.0) * length).round() as u64;
    if at >= end.0 {
        return Err(Failure::NoBeat {
            bar: place.bar.0,
            beats: end.since(start).0 as f64 / length,
        });
    }
    Ok((Tick(at), end))
}

/// An explanation in lines for people.
fn lines(song: &Song, band: &Band, explainer: &Explainer<'_>, why: &Explanation) -> Vec<String> {
    let note = |pitch| {
        let written = explainer.written(why.part, pitch, why.start);
        let concert = explainer.concert(pitch, why.start);
        if written == concert {
            format!("{written} ({})", why.role)
        } else {
            format!("written {written}, concert {concert} ({})", why.role)
        }
    };
    let what = why.sounds.map_or("rest".to_owned(), note);
    let place = song.meters.place(why.start);
    let mut lines = vec![format!("{}, {place}: {what}", band.part(why.part).name)];
    lines.extend(why.reasons.iter().map(|r| format!("  {r}")));
    lines.extend(cost_lines(why));
    let others = why.runners_up.iter().map(|r| other_line(explainer, why, r));
    let others: Vec<String> = others.collect();
    if !others.is_empty() {
        lines.push("  what else it could do, and what that would cost more".to_owned());
        lines.extend(others);
    }
    if !why.ruled_out.is_empty() {
        lines.push("  ruled out".to_owned());
        lines.extend(why.ruled_out.iter().map(|r| format!("    {}", r.text)));
    }
    lines
}

fn cost_lines(why: &Explanation) -> Vec<String> {
    if why.costs.is_empty() {
        return Vec::new();
    }
    let line = |c: &NoteCost| {
        let place = match c.place {
            Place::Note => "",
            Place::WayIn => "way in: ",
            Place::Choir => "its share of the choir: ",
            Place::Band => "its share of the band: ",
            Place::WayOut => "way out, counted with what follows: ",
        };
        format!("  {:>8.2}  {place}{} ({})", c.points, c.text, c.term)
    };
    let head = format!("  it costs {:.2} points", why.total);
    std::iter::once(head)
        .chain(why.costs.iter().map(line))
        .collect()
}

/// So many terms of a difference are named.
const MOST_TERMS: usize = 4;

fn other_line(explainer: &Explainer<'_>, why: &Explanation, other: &RunnerUp) -> String {
    let note = match (other.sounds, other.octave) {
        (Some(pitch), None) => format!("written {}", explainer.written(why.part, pitch, why.start)),
        (_, Some(octave)) => octave_in_words(octave),
        (None, None) => "rest".to_owned(),
    };
    let shown = other.terms.iter().take(MOST_TERMS);
    let mut terms: Vec<String> = shown.map(|(name, p)| format!("{name} {p:+.2}")).collect();
    let rest: f64 = other.terms.iter().skip(MOST_TERMS).map(|t| t.1).sum();
    if other.terms.len() > MOST_TERMS {
        terms.push(format!("all else {rest:+.2}"));
    }
    let others = if other.moves_others {
        "; other notes of its choir would change with it"
    } else {
        ""
    };
    let (by, way) = if other.cost_more < 0.0 {
        (-other.cost_more, "less")
    } else {
        (other.cost_more, "more")
    };
    format!(
        "  {by:>8.2}  points {way}: {note} ({}{others})",
        terms.join(", ")
    )
}

/// What costs most, in lines for people.
#[must_use]
pub fn dearest_lines(band: &Band, dearest: &[Dearest]) -> Vec<String> {
    if dearest.is_empty() {
        return Vec::new();
    }
    let line = |d: &Dearest| {
        let span = |(a, b): &(BarNumber, BarNumber)| {
            if a == b {
                a.to_string()
            } else {
                format!("{a}-{b}")
            }
        };
        let spans: Vec<String> = d.bars.iter().map(span).collect();
        let bars = match d.bars.as_slice() {
            [(a, b)] if a == b => format!("bar {a}"),
            _ => format!("bars {}", spans.join(", ")),
        };
        let names: Vec<&str> = d
            .parts
            .iter()
            .map(|p| band.part(*p).name.as_str())
            .collect();
        let who = if names.is_empty() {
            "the whole band".to_owned()
        } else {
            names.join(", ")
        };
        format!(
            "  {}, {bars}: {:.1} points ({:.0} %), {who}; {}. To mend it: {}.",
            d.term.facts().name,
            d.points,
            d.share * 100.0,
            d.reason,
            d.remedy
        )
    };
    std::iter::once("what costs most".to_owned())
        .chain(dearest.iter().map(line))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_and_others_refused() {
        let of = |bar, beat| {
            Ok(WhyPlace {
                bar: BarNumber(bar),
                beat,
            })
        };
        assert_eq!(place("41"), of(41, None));
        assert_eq!(place("41:2.5"), of(41, Some(2.5)));
        for wrong in [
            "", "0", "-1", "x", "4:", "4:0", "4:0.5", "4:NaN", "4:1e9", ":2", "4:2:1",
        ] {
            assert!(place(wrong).is_err(), "{wrong}");
        }
    }
}
