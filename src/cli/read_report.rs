//! What `read` found, for people.

use crate::music::{BarNumber, Tick};
use crate::sketch::{Figure, Line, Quantised, Reading, Section, Song, Taken, chord_label};
use std::collections::{BTreeMap, BTreeSet};

/// What was found, for people: a few lines and the chords bar by bar.
#[must_use]
pub fn report(quantised: &Quantised, reading: &Reading) -> String {
    let song = &quantised.song;
    let count = |line| reading.line(line).count();
    let bars = song.meters.bar(Tick(song.end().0.saturating_sub(1))).0;
    let tempo = song.tempo.changes().iter().take(MOST_TEMPOS).map(|c| {
        let place = song.meters.place(c.at);
        let at = if place.beat > 1.0 {
            place.to_string()
        } else {
            format!("bar {}", place.bar)
        };
        format!("{:.0} from {at}", song.tempo.quarters_per_minute(c.at))
    });
    let meters = song
        .meters
        .changes()
        .iter()
        .map(|c| format!("{} from bar {}", c.meter, song.meters.bar(c.at)));
    let keys = reading.keys.iter().map(|k| {
        let how = if k.given { "" } else { " (found)" };
        format!("{}{how} from bar {}", k.signature, song.meters.bar(k.start))
    });
    let mut lines = vec![
        format!("{bars} bars, {} notes", reading.notes.len()),
        format!(
            "tempo   {}{}",
            tempo.collect::<Vec<_>>().join("; "),
            more_tempos(song)
        ),
        format!("meter   {}", meters.collect::<Vec<_>>().join(", ")),
        format!("key     {}", keys.collect::<Vec<_>>().join(", ")),
        format!(
            "lines   melody {}, counterline {}, harmony {}, bass {}, figure {} notes",
            count(Line::Melody),
            count(Line::Counterline),
            count(Line::Harmony),
            count(Line::Bass),
            count(Line::Figure)
        ),
        format!("figures {}", figures_line(song, reading)),
        format!("phrases {}", phrases(song, reading)),
        format!("form    {}", form(song, reading)),
    ];
    lines.extend(timing_line(quantised));
    lines.push(String::new());
    lines.extend(chord_rows(song, reading));
    lines.join("\n")
}

/// At most so many tempos are listed.
const MOST_TEMPOS: usize = 12;

fn more_tempos(song: &Song) -> String {
    match song.tempo.changes().len().saturating_sub(MOST_TEMPOS) {
        0 => String::new(),
        more => format!("; and {more} more"),
    }
}

/// How the times were taken, where they are not simply those of the file.
fn timing_line(quantised: &Quantised) -> Option<String> {
    match quantised.taken {
        Taken::StepEntered => None,
        Taken::AsPlayed => Some("times   as played".to_owned()),
        Taken::Quantised => {
            let found = quantised.tempo_found.map_or(String::new(), |t| {
                format!(", beats found near {t:.0} a minute")
            });
            let swing = match quantised.swing.len() {
                0 => String::new(),
                1 => ", swing in one stretch".to_owned(),
                n => format!(", swing in {n} stretches"),
            };
            Some(format!(
                "times   written ones{found}{swing}; {} grace notes, {} rolled chords; notes moved by \
                 {:.0} ms on average; confidence {:.2}",
                quantised.graces, quantised.rolled, quantised.mean_shift_ms, quantised.confidence
            ))
        }
    }
}

/// The sections by letters with the bar that each begins in, or leads to.
fn form(song: &Song, reading: &Reading) -> String {
    let section =
        |s: &Section| format!("{} from bar {}", s.label(), song.meters.bar_led_to(s.start));
    let sections: Vec<String> = reading.form.sections.iter().map(section).collect();
    sections.join(", ")
}

/// The bars in which phrases begin.
fn phrases(song: &Song, reading: &Reading) -> String {
    let mut bars: Vec<BarNumber> = reading
        .phrases
        .iter()
        .map(|p| song.meters.bar_led_to(p.start))
        .collect();
    bars.dedup();
    let bars: Vec<String> = bars.iter().map(|b| format!("bar {b}")).collect();
    bars.join(", ")
}

/// The patterns with their bars, the first few by start.
fn figures_line(song: &Song, reading: &Reading) -> String {
    const MOST: usize = 6;
    let bar = |at| song.meters.bar(at).0;
    let one = |f: &Figure| {
        let last = f.notes.last().and_then(|i| reading.notes.get(*i));
        let (first, last) = (bar(f.start), bar(last.map_or(f.start, |n| n.onset)));
        let name = f.kind.word().replace('_', " ");
        if first == last {
            format!("{name} in bar {first}")
        } else {
            format!("{name} in bars {first} to {last}")
        }
    };
    let mut all: Vec<String> = reading.figures.iter().take(MOST).map(one).collect();
    if all.is_empty() {
        return "none".to_owned();
    }
    if reading.figures.len() > MOST {
        all.push(format!("and {} more", reading.figures.len() - MOST));
    }
    all.join(", ")
}

/// Bars in a row of chords.
const ROW: u32 = 4;

/// The chords that begin in each bar, after `%` where the one before goes on at the barline. Bars
/// without any are not in it.
fn chords_by_bar(song: &Song, reading: &Reading) -> BTreeMap<u32, Vec<String>> {
    let mut bars: BTreeMap<u32, Vec<String>> = BTreeMap::new();
    let mut before = Tick::ZERO;
    for span in &reading.chords {
        let bar = song.meters.bar(span.start);
        let begin = song.meters.bar_start(bar);
        let cell = bars.entry(bar.0).or_default();
        if cell.is_empty() && span.start > begin && before > begin {
            cell.push("%".to_owned());
        }
        cell.push(chord_label(reading, span));
        before = span.end;
    }
    bars
}

/// Chords, four bars a row: `%` where the chord before goes on, `-` where nothing sounds. Rows
/// in which no chord begins are left out.
fn chord_rows(song: &Song, reading: &Reading) -> Vec<String> {
    let bars = chords_by_bar(song, reading);
    let last = song.meters.bar(Tick(song.end().0.saturating_sub(1))).0;
    let cell = |bar: u32| match bars.get(&bar) {
        Some(labels) => labels.join(" "),
        None if bar > last => String::new(),
        None if reading
            .chord(song.meters.bar_start(BarNumber(bar)))
            .is_some() =>
        {
            "%".to_owned()
        }
        None => "-".to_owned(),
    };
    let width = bars.values().map(|l| l.join(" ").chars().count());
    let width = width.max().unwrap_or(0).min(24);
    let first_of_row = |bar: &u32| (bar - 1) / ROW * ROW + 1;
    let firsts: BTreeSet<u32> = bars.keys().map(first_of_row).collect();
    let row = |first: u32| {
        let cells = (first..first.saturating_add(ROW)).map(|bar| format!("{:<width$}", cell(bar)));
        let cells: Vec<String> = cells.collect();
        let row = format!("{first:>4} | {}", cells.join(" | "));
        row.trim_end_matches([' ', '|']).to_owned()
    };
    firsts.into_iter().map(row).collect()
}
