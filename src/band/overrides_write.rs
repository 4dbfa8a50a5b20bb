//! The overrides of a band as the text of a roster.

use super::instrument::WrittenRange;
use super::overrides::Override;
use super::playing::TroubleSpot;
use super::roster_write::quoted;

/// Each override as its table; empty where there are none.
pub(super) fn override_texts(overrides: &[Override]) -> String {
    overrides.iter().map(text).collect()
}

fn text(one: &Override) -> String {
    let mut lines = vec![
        String::new(),
        "[[override]]".to_owned(),
        format!("instrument = {}", quoted(&one.instrument)),
    ];
    if let Some(level) = one.level {
        lines.push(format!("level = \"{}\"", level.word()));
    }
    let ranges = [("comfortable", one.comfortable), ("stretch", one.stretch)];
    for (key, range) in ranges {
        if let Some(WrittenRange { low, high }) = range {
            lines.push(format!("{key} = [\"{low}\", \"{high}\"]"));
        }
    }
    let numbers = [
        ("repeated", one.repeated),
        ("slurred", one.slurred),
        ("tongued", one.tongued),
        ("leap", one.leap.map(f64::from)),
        ("breath", one.breath),
    ];
    for (key, number) in numbers {
        if let Some(number) = number {
            lines.push(format!("{key} = {number}"));
        }
    }
    if !one.drop_trouble.is_empty() {
        let notes = one.drop_trouble.iter().map(|n| format!("\"{n}\""));
        let notes: Vec<String> = notes.collect();
        lines.push(format!("drop_trouble = [{}]", notes.join(", ")));
    }
    if !one.add_trouble.is_empty() {
        let spots: Vec<String> = one.add_trouble.iter().map(spot).collect();
        lines.push(format!("add_trouble = [{}]", spots.join(", ")));
    }
    if !one.why.is_empty() {
        lines.push(format!("why = {}", quoted(&one.why)));
    }
    lines.push(String::new());
    lines.join("\n")
}

fn spot(spot: &TroubleSpot) -> String {
    format!(
        "{{ low = \"{}\", high = \"{}\", issue = {}, severity = {} }}",
        spot.low,
        spot.high,
        quoted(&spot.issue),
        spot.severity
    )
}
