//! What may be done with the tune, as options of the command line, and what was done, in words.

use super::rounded::thousandths;
use crate::band::Band;
use crate::music::{BarBeat, BarNumber, MeterMap};
use crate::project::given::Given;
use crate::project::whole_way::WholeWay;
use crate::score::{BarSet, MelodyChange, TuneRules};
use crate::sketch::bar_ranges;
use clap::Args;

/// More bars than any piece has.
const MOST_BARS: u32 = 20_000;

/// What the arranger allows with the tune. By default it may be moved by whole octaves between
/// breaths, and no note of it is changed.
#[derive(Args, Clone, Debug, Default)]
pub struct TuneArgs {
    /// Bars in which the tune stays as written: every note, in the sketch's own octave, by whoever
    /// can play it so (as 1-8 or 1-8,13; may be given several times)
    #[arg(long, value_name = "BARS", value_parser = read_bars)]
    tune_as_written: Vec<BarSet>,
    /// Bars in which a note of the tune that nobody can play may be changed; every change is listed
    #[arg(long, value_name = "BARS", value_parser = read_bars)]
    tune_may_change: Vec<BarSet>,
    /// Give a changed note of the tune back, by its bar and beat as 12:3 (may be given several times)
    #[arg(long, value_name = "BAR:BEAT", value_parser = read_place)]
    restore: Vec<BarBeat>,
}

impl TuneArgs {
    /// What was given besides, with these rules.
    #[must_use]
    pub fn onto<'a>(&self, given: Given<'a>) -> Given<'a> {
        Given {
            tune: TuneRules {
                as_written: all_of(&self.tune_as_written),
                may_change: all_of(&self.tune_may_change),
                ..TuneRules::default()
            },
            restore: self.restore.clone(),
            ..given
        }
    }
}

/// All bars of some sets.
pub(super) fn all_of(sets: &[BarSet]) -> BarSet {
    BarSet(sets.iter().flat_map(|s| s.0.clone()).collect())
}

/// Reads bars as `1-8,13`.
///
/// # Errors
/// Where that is not how they are written.
pub(super) fn read_bars(text: &str) -> Result<BarSet, String> {
    let ranges = bar_ranges(text).filter(|all| all.iter().all(|r| r.1.0 <= MOST_BARS));
    let Some(ranges) = ranges else {
        return Err("write bars as 1-8 or 1-8,13".to_owned());
    };
    let bars = ranges.iter().flat_map(|(first, last)| first.0..=last.0);
    Ok(BarSet(bars.map(BarNumber).collect()))
}

fn read_place(text: &str) -> Result<BarBeat, String> {
    let place = text.split_once(':').and_then(|(bar, beat)| {
        let bar: u32 = bar.trim().parse().ok()?;
        let beat: f64 = beat.trim().parse().ok()?;
        let counted = bar >= 1 && beat.is_finite() && beat >= 1.0;
        counted.then_some(BarBeat {
            bar: BarNumber(bar),
            beat,
        })
    });
    place.ok_or_else(|| "write bar and beat as 12:3, both counted from 1".to_owned())
}

/// A place as `--restore` takes it.
#[must_use]
pub fn place_word(place: BarBeat) -> String {
    format!("{}:{}", place.bar, thousandths(place.beat))
}

/// At most so many changes in the summary.
const MOST_LINES: usize = 12;

/// What was changed in the tune, for people, a row for each note.
#[must_use]
pub fn change_lines(band: &Band, way: &WholeWay, meters: &MeterMap) -> Vec<String> {
    let changes = way.voiced.draft.melody_changes.iter();
    let changed: Vec<&MelodyChange> = changes.filter(|c| c.new.is_some()).collect();
    if changed.is_empty() {
        return Vec::new();
    }
    let notes = if changed.len() == 1 { "note" } else { "notes" };
    let mut lines = vec![
        String::new(),
        format!(
            "{} {notes} of the tune changed (give one back with --restore):",
            changed.len()
        ),
    ];
    let row = |c: &&MelodyChange| {
        let place = place_word(meters.place(c.onset));
        let names: Vec<&str> = c
            .parts
            .iter()
            .map(|p| band.part(p.0).name.as_str())
            .collect();
        let new = c.new.map_or(String::new(), |n| n.to_string());
        format!("  {place:<8} {} to {new} ({})", c.sketch, names.join(", "))
    };
    lines.extend(changed.iter().take(MOST_LINES).map(row));
    if changed.len() > MOST_LINES {
        lines.push(format!(
            "  and {} more; the answer in JSON lists all",
            changed.len() - MOST_LINES
        ));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_as_they_are_told() {
        let place = read_place("12:2.5").unwrap();
        assert_eq!((place.bar, place.beat), (BarNumber(12), 2.5));
        assert_eq!(place_word(place), "12:2.5");
        assert_eq!(place_word(read_place(" 3 : 1 ").unwrap()), "3:1");
        for wrong in ["12", "0:1", "1:0.5", "1:x", "1:inf", "-1:1", ""] {
            assert!(read_place(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn bars_are_read() {
        let bars: Vec<u32> = read_bars("1-3, 9").unwrap().0.iter().map(|b| b.0).collect();
        assert_eq!(bars, [1, 2, 3, 9]);
        for wrong in ["", "0", "3-1", "1-4000000000", "x"] {
            assert!(read_bars(wrong).is_err(), "{wrong}");
        }
    }
}
