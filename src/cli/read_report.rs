//! What `read` found, for people.

use crate::music::Tick;
use crate::sketch::{Figure, Line, Quantised, Reading, Section, Song, Taken, chord_label};

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
        format!(
            "phrases {}",
            reading
                .phrases
                .iter()
                .map(|p| format!("bar {}", song.meters.bar(p.start)))
                .collect::<Vec<_>>()
                .join(", ")
        ),
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
    let section = |s: &Section| {
        let bar = song.meters.bar(s.start);
        let (start, end) = (song.meters.bar_start(bar), song.meters.bar_end(bar));
        let pickup = 2 * s.start.since(start).0 > end.since(start).0;
        let bar = bar.0.saturating_add(u32::from(pickup));
        format!("{} from bar {bar}", s.label())
    };
    let sections: Vec<String> = reading.form.sections.iter().map(section).collect();
    sections.join(", ")
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

/// Chords, four bars a row; `%` where the chord of the bar before goes on.
fn chord_rows(song: &Song, reading: &Reading) -> Vec<String> {
    let last = song.meters.bar(Tick(song.end().0.saturating_sub(1))).0;
    let mut labels: Vec<Vec<String>> = vec![Vec::new(); last as usize];
    for span in &reading.chords {
        let bar = song.meters.bar(span.start).0 as usize;
        let label = chord_label(reading, span);
        if let Some(cell) = labels.get_mut(bar.saturating_sub(1)) {
            cell.push(label);
        }
    }
    let cells: Vec<String> = labels
        .into_iter()
        .map(|l| {
            if l.is_empty() {
                "%".to_owned()
            } else {
                l.join(" ")
            }
        })
        .collect();
    let width = cells
        .iter()
        .map(|c| c.chars().count())
        .max()
        .unwrap_or(0)
        .min(24);
    let row = |(i, four): (usize, &[String])| {
        let cells: Vec<String> = four.iter().map(|c| format!("{c:<width$}")).collect();
        format!("{:>4} | {}", 4 * i + 1, cells.join(" | "))
            .trim_end()
            .to_owned()
    };
    cells.chunks(4).enumerate().map(row).collect()
}
