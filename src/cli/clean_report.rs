//! How clean a draft is likely to come out, for people.

use crate::band::Band;
use crate::review::{CleanLine, HardSpot};

/// A table: each part that plays, the mean chance of its notes, how many each player is likely to
/// miss, and its hardest spots with what makes them hard. Empty for a draft without notes.
#[must_use]
pub fn clean_table(band: &Band, lines: &[CleanLine]) -> String {
    let playing: Vec<&CleanLine> = lines.iter().filter(|l| !l.notes.is_empty()).collect();
    let Some(width) = playing
        .iter()
        .map(|l| band.part(l.part).name.chars().count())
        .max()
    else {
        return String::new();
    };
    let width = width.max("Part".len());
    let mut rows = vec![format!("{:width$}  clean  missed  hardest spots", "Part")];
    for line in playing {
        rows.extend(part_rows(band, line, width));
    }
    rows.join("\n")
}

fn part_rows(band: &Band, line: &CleanLine, width: usize) -> Vec<String> {
    let part = band.part(line.part);
    let written = |s: &HardSpot| part.instrument.transposition.written(s.pitch);
    let spot = |s: &HardSpot| {
        let why: Vec<&str> = s
            .chance
            .causes
            .iter()
            .take(2)
            .map(|c| c.text.as_str())
            .collect();
        format!(
            "{}: {} {:.2}, {}",
            s.place,
            written(s),
            s.chance.value,
            why.join("; ")
        )
    };
    let spots: Vec<String> = line.hardest.iter().map(spot).collect();
    let first = spots.first().map_or("none", String::as_str);
    let head = format!(
        "{:width$}  {:>5.2}  {:>6.1}  {first}",
        part.name, line.mean, line.missed
    );
    let indent = width + 17;
    let more = spots.iter().skip(1).map(|s| format!("{:indent$}{s}", ""));
    std::iter::once(head).chain(more).collect()
}
