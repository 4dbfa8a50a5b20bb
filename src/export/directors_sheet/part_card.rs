//! The block of one part.

use super::range_figure::{Zone, figure};
use super::told::{HardTold, LoadTold, PartTold};
use super::words::CAUSES;
use super::words::{from_bars, levels_in_words, moment_in_words, signs_in_words, span_in_words};
use crate::export::page::{Block, Card};
use crate::music::KeySignature;
use crate::review::PlayedBars;

/// Most exposed moments that are told one by one.
const MOMENTS: usize = 4;

/// The card of a part.
pub(super) fn card(part: &PartTold) -> Card {
    let under = format!(
        "{} \u{b7} {}",
        part.instrument,
        levels_in_words(&part.levels)
    );
    if part.times.is_empty() {
        return Card {
            title: part.name.clone(),
            under,
            figure: Some(figure(part)),
            left: Vec::new(),
            blocks: vec![Block::Text("Rests from beginning to end.".to_owned())],
        };
    }
    let one = |name: &str, words: String| (name.to_owned(), vec![words]);
    let mut left = vec![one("Plays", plays(&part.played))];
    if let Some(load) = &part.load {
        left.push(one("Load", load_in_words(load)));
    }
    let mut facts = vec![
        one("Range", range_used(part)),
        one(
            "Clean",
            format!(
                "{:.2} on the mean; each player misses about {:.1} notes",
                part.clean, part.missed
            ),
        ),
        ("Hardest".to_owned(), hardest(&part.hardest)),
        ("Exposed".to_owned(), exposed(part)),
    ];
    let keys = from_bars(&part.keys, |k: &KeySignature| signs_in_words(*k));
    if !keys.is_empty() {
        facts.push(one("Keys", format!("written with {keys}")));
    }
    Card {
        title: part.name.clone(),
        under,
        figure: Some(figure(part)),
        left: vec![Block::Facts(left)],
        blocks: vec![Block::Facts(facts)],
    }
}

/// The lowest and the highest note, and how much of the time lies where.
fn range_used(part: &PartTold) -> String {
    let (Some((low, _)), Some((high, _))) = (part.times.first(), part.times.last()) else {
        return String::new();
    };
    let all: f64 = part.times.iter().map(|t| t.1).sum();
    let share = |zone: Zone| {
        let own = part.times.iter();
        let own = own.filter(|(w, _)| Zone::of(&part.stave, *w) == zone);
        // A sum of nothing is -0.
        (100.0 * own.map(|t| t.1).sum::<f64>() / all.max(f64::EPSILON)).max(0.0)
    };
    let mut text = format!(
        "written {low} to {high}, {all:.1} s of sound; {:.0} % comfortable, {:.0} % a stretch",
        share(Zone::Comfortable),
        share(Zone::Stretch)
    );
    let beyond = share(Zone::Beyond);
    if beyond > 0.0 {
        text.push_str(&format!(", {beyond:.0} % beyond"));
    }
    text
}

fn hardest(spots: &[HardTold]) -> Vec<String> {
    if spots.is_empty() {
        return vec!["nothing is likely missed more than once in ten times".to_owned()];
    }
    let words = |s: &HardTold| {
        let causes: Vec<&str> = s.causes.iter().take(CAUSES).map(String::as_str).collect();
        format!(
            "{}: {}, clean chance {:.2}: {}",
            s.place,
            s.written,
            s.chance,
            causes.join("; ")
        )
    };
    spots.iter().map(words).collect()
}

fn exposed(part: &PartTold) -> Vec<String> {
    let mut all: Vec<String> = part
        .exposed
        .iter()
        .take(MOMENTS)
        .map(moment_in_words)
        .collect();
    match part.exposed.len() {
        0 => all.push("never by itself".to_owned()),
        n if n > MOMENTS => all.push(format!("and {} more moments", n - MOMENTS)),
        _ => {}
    }
    all
}

fn plays(played: &PlayedBars) -> String {
    let mut text = format!("in {} of {} bars", played.played, played.bars);
    if let Some((first, last)) = played.longest {
        text.push_str(&format!(
            "; longest without a bar of rest: {}",
            span_in_words(first, last)
        ));
    }
    text
}

fn load_in_words(load: &LoadTold) -> String {
    let (tired, at) = load.most_tired;
    let (reserve, bar) = load.least_reserve;
    let mut text = format!(
        "{} players tired to {tired:.2} in bar {at}; least reserve {reserve:.2} in bar {bar}",
        load.level
    );
    match load.exceeded {
        0 => {}
        1 => text.push_str("; 1 working limit is exceeded (see the findings)"),
        n => text.push_str(&format!(
            "; {n} working limits are exceeded (see the findings)"
        )),
    }
    text
}
