//! How long the chance of every note of a whole show takes: 200 bars, 30 parts, every note in its
//! context. It has to take less than 50 ms, the tables of the parts included; `nothing_looked_up`
//! is the same without tables, for comparison.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

use bandwright::band::chance::{ChanceTable, NoteContext, chance, usual_posture};
use bandwright::band::load::Conditions;
use bandwright::band::{Band, PartId, preset};
use bandwright::music::{
    KeySignature, MeterMap, Mode, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter,
};
use bandwright::review::clean::{Frame, clean_lines, contexts};
use bandwright::score::{DraftNote, PartLine, Role};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};

const BARS: u64 = 200;
const PARTS: usize = 30;
/// Eighths.
const NOTES_A_BAR: u64 = 8;
const QUARTER: u64 = 480;

fn main() {
    divan::main();
}

struct Show {
    band: Band,
    lines: Vec<PartLine>,
    tempo: TempoMap,
    meters: MeterMap,
    keys: Vec<(Tick, KeySignature)>,
}

impl Show {
    fn new() -> Self {
        let band = band();
        let quarter = TicksPerQuarter::new(QUARTER as u16).expect("it is in bounds");
        let lines = (0..band.parts.len())
            .map(|i| line(&band, PartId(i)))
            .collect();
        let key = |bar: u64, fifths| {
            let signature = KeySignature::new(fifths, Mode::Major).expect("it is a key");
            (Tick(bar * 4 * QUARTER), signature)
        };
        Self {
            band,
            lines,
            tempo: TempoMap::new(quarter, []),
            meters: MeterMap::new(quarter, []),
            keys: vec![key(0, -3), key(100, -4)],
        }
    }

    fn frame(&self) -> Frame<'_> {
        Frame {
            tempo: &self.tempo,
            meters: &self.meters,
            keys: &self.keys,
        }
    }

    fn notes(&self) -> usize {
        self.lines.iter().map(|l| l.notes.len()).sum()
    }
}

/// Thirty parts: the largest of the bands that come with the program, and the demo's to fill it up.
fn band() -> Band {
    let mut band = preset("large-marching").expect("it is built in");
    let more = preset("demo").expect("it is built in").parts;
    band.parts.extend(more);
    band.parts.truncate(PARTS);
    assert_eq!(band.parts.len(), PARTS);
    band
}

/// A line that wanders through the part's range, loud and soft.
fn line(band: &Band, id: PartId) -> PartLine {
    let range = band.part(id).limits.range;
    let (low, high) = (u64::from(range.low.midi()), u64::from(range.high.midi()));
    let note = |i: u64| DraftNote {
        onset: Tick(i * QUARTER / 2),
        pitch: Sounding::nearest((low + i * 5 % (high - low + 1)) as i32),
        duration: Ticks(QUARTER / 2),
        velocity: (40 + i * 7 % 80) as u8,
        role: Role::Harmony,
        locked: false,
    };
    PartLine {
        part: id,
        notes: (0..BARS * NOTES_A_BAR).map(note).collect(),
    }
}

/// Contexts, tables, chances and the hardest spots: all that `review` needs.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn whole_show(bencher: Bencher<'_, '_>) {
    let show = Show::new();
    let clean = || {
        clean_lines(
            &show.band,
            &show.lines,
            &show.frame(),
            Conditions::default(),
        )
    };
    assert_eq!(clean().iter().map(|l| l.notes.len()).sum::<usize>(), 48_000);
    bencher.counter(ItemsCount::new(show.notes())).bench(clean);
}

fn all_contexts(show: &Show) -> Vec<Vec<NoteContext>> {
    let posture = usual_posture(&show.band);
    let of = |l: &PartLine| {
        let part = show.band.part(l.part);
        contexts(part, &l.notes, &show.frame(), posture, &|_| 0.0)
    };
    show.lines.iter().map(of).collect()
}

fn with_tables(show: &Show, contexts: &[Vec<NoteContext>]) -> f64 {
    let of = |(line, contexts): (&PartLine, &Vec<NoteContext>)| {
        let table = ChanceTable::of(show.band.part(line.part));
        let each = line.notes.iter().zip(contexts);
        each.map(|(n, c)| table.value(n.pitch, c)).sum::<f64>()
    };
    show.lines.iter().zip(contexts).map(of).sum()
}

fn without(show: &Show, contexts: &[Vec<NoteContext>]) -> f64 {
    let of = |(line, contexts): (&PartLine, &Vec<NoteContext>)| {
        let part = show.band.part(line.part);
        let each = line.notes.iter().zip(contexts);
        each.map(|(n, c)| chance(part, n.pitch, c).value)
            .sum::<f64>()
    };
    show.lines.iter().zip(contexts).map(of).sum()
}

/// The chances alone, the tables made first.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn from_tables(bencher: Bencher<'_, '_>) {
    let show = Show::new();
    let contexts = all_contexts(&show);
    assert_eq!(
        with_tables(&show, &contexts).to_bits(),
        without(&show, &contexts).to_bits()
    );
    let notes = ItemsCount::new(show.notes());
    bencher
        .counter(notes)
        .bench(|| with_tables(black_box(&show), &contexts));
}

/// The chances alone, each looked up anew and told in words.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn nothing_looked_up(bencher: Bencher<'_, '_>) {
    let show = Show::new();
    let contexts = all_contexts(&show);
    let notes = ItemsCount::new(show.notes());
    bencher
        .counter(notes)
        .bench(|| without(black_box(&show), &contexts));
}
