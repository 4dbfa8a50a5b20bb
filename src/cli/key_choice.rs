//! How clean a band plays a sketch in every key from a tritone lower to a tritone higher.
//!
//! Each key is voiced as `voice` would voice it, so that what is compared is what the band would
//! play: who carries what may change with the key.

use crate::band::Band;
use crate::music::{Interval, KeySignature, Mode, PartNames};
use crate::project::given::Given;
use crate::project::whole_way::{WholeWay, whole_way};
use crate::review::CleanLine;
use crate::score::{PartLine, Role};
use crate::sketch::{Line, Reading, Song, transposed};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

/// The furthest key, in semitones either way.
pub const FURTHEST: i16 = 6;
/// What a note of the tune counts, where any other counts 1 (assumption of our own: the tune is
/// what listeners follow).
const TUNE_WEIGHT: f64 = 2.0;

/// Notes and how many of them may be expected to come out clean.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Clean {
    /// Notes.
    pub notes: usize,
    /// The sum of their clean chances.
    pub expected: f64,
}

impl Clean {
    /// The mean clean chance, 0 to 1; `None` without notes.
    #[must_use]
    pub fn share(self) -> Option<f64> {
        (self.notes > 0).then(|| self.expected / self.notes as f64)
    }

    fn add(&mut self, other: Self) {
        self.notes += other.notes;
        self.expected += other.expected;
    }
}

/// The parts of one instrument in one key.
#[derive(Clone, PartialEq, Debug)]
pub struct SectionInKey {
    /// The instrument's name.
    pub section: String,
    /// How clean.
    pub clean: Clean,
    /// The signature of the main key as they read it.
    pub written: Option<KeySignature>,
}

/// The sketch in one key.
#[derive(Clone, PartialEq, Debug)]
pub struct InKey {
    /// Semitones from the sketch's own key.
    pub shift: i16,
    /// The key in which most of it stands, as sounding; `None` where the sketch has nothing to read.
    pub key: Option<KeySignature>,
    /// Clean chance over all notes, those of the tune counting double and those of the tune that
    /// nobody plays counting as missed: 0 to 1.
    pub total: f64,
    /// The tune alone.
    pub tune: Clean,
    /// Notes of the tune that no part plays.
    pub tune_lost: usize,
    /// By instrument, in score order; those that play nothing have no notes.
    pub sections: Vec<SectionInKey>,
}

/// The sketch in every key, lowest first.
///
/// `threads` at most work side by side; the answer is the same with any number. `progress` is told
/// the share done by the thread that asks.
#[must_use]
pub fn key_choice(
    song: &Song,
    band: &Band,
    given: &Given<'_>,
    threads: usize,
    progress: &mut dyn FnMut(f64),
) -> Vec<InKey> {
    let here = whole_way(song, band, given, &mut |_| {});
    let lines: Vec<Line> = here.reading.notes.iter().map(|n| n.line).collect();
    let shifts: Vec<i16> = (-FURTHEST..=FURTHEST).filter(|s| *s != 0).collect();
    let next = AtomicUsize::new(0);
    let work = |tell: &mut dyn FnMut(f64)| {
        let mut done = Vec::new();
        while let Some(shift) = shifts.get(next.fetch_add(1, Ordering::Relaxed)) {
            done.push(in_shifted_key(song, band, given, &lines, *shift));
            let begun = next.load(Ordering::Relaxed).min(shifts.len());
            tell(begun as f64 / shifts.len() as f64);
        }
        done
    };
    let mut keys = std::thread::scope(|scope| {
        let helpers: Vec<_> = (1..threads.max(1))
            .map(|_| scope.spawn(|| work(&mut |_| {})))
            .collect();
        let mut keys = work(progress);
        for helper in helpers {
            match helper.join() {
                Ok(done) => keys.extend(done),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        keys
    });
    keys.push(in_key(0, band, &here));
    keys.sort_by_key(|k| k.shift);
    keys
}

fn in_shifted_key(
    song: &Song,
    band: &Band,
    given: &Given<'_>,
    lines: &[Line],
    shift: i16,
) -> InKey {
    let by = Interval(shift);
    let moved_locks = given.locks.map(|l| transposed(l, by));
    let moved = Given {
        locks: moved_locks.as_ref(),
        lines,
        conditions: given.conditions,
        timeline: given.timeline.clone(),
        ..Given::default()
    };
    let way = whole_way(&transposed(song, by), band, &moved, &mut |_| {});
    in_key(shift, band, &way)
}

fn in_key(shift: i16, band: &Band, way: &WholeWay) -> InKey {
    let key = main_key(&way.reading);
    let lost = way.findings.iter().filter(|f| f.kind == "melody_lost");
    let tune_lost = lost.count();
    let (mut all, mut tune) = (Clean::default(), Clean::default());
    let mut sections: Vec<SectionInKey> = Vec::new();
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for (line, chances) in way.voiced.draft.lines.iter().zip(&way.clean) {
        let part = band.part(line.part);
        let (of_line, of_tune) = clean_line(line, chances);
        all.add(of_line);
        tune.add(of_tune);
        let place = *places.entry(&part.instrument.id).or_insert(sections.len());
        match sections.get_mut(place) {
            Some(section) => section.clean.add(of_line),
            None => sections.push(SectionInKey {
                section: part.instrument.name.clone(),
                clean: of_line,
                written: key.map(|k| PartNames::of(part.instrument.transposition, k).signature(k)),
            }),
        }
    }
    let more = TUNE_WEIGHT - 1.0;
    let expected = more.mul_add(tune.expected, all.expected);
    let notes = more.mul_add(tune.notes as f64, all.notes as f64);
    let notes = TUNE_WEIGHT.mul_add(tune_lost as f64, notes);
    InKey {
        shift,
        key,
        total: if notes > 0.0 { expected / notes } else { 0.0 },
        tune,
        tune_lost,
        sections,
    }
}

/// How clean a part's line is, and the tune in it.
fn clean_line(line: &PartLine, chances: &CleanLine) -> (Clean, Clean) {
    let (mut all, mut tune) = (Clean::default(), Clean::default());
    for (note, chance) in line.notes.iter().zip(&chances.notes) {
        let one = Clean {
            notes: 1,
            expected: *chance,
        };
        all.add(one);
        if note.role == Role::Melody {
            tune.add(one);
        }
    }
    (all, tune)
}

/// The key that holds longest.
fn main_key(reading: &Reading) -> Option<KeySignature> {
    let ends = reading.keys.iter().skip(1).map(|k| k.start);
    let end = reading.slices.last().map(|s| s.end);
    let mut held: BTreeMap<(i8, bool), (u64, KeySignature)> = BTreeMap::new();
    for (span, end) in reading.keys.iter().zip(ends.chain(end)) {
        let signature = span.signature;
        let key = (signature.fifths(), signature.mode() == Mode::Minor);
        let entry = held.entry(key).or_insert((0, signature));
        entry.0 += end.since(span.start).0;
    }
    let longest = held.into_values().max_by_key(|(time, _)| *time);
    longest.map(|(_, signature)| signature)
}

/// The key to prefer: the highest total; of equal ones the nearest to the sketch's own, the lower
/// before the higher.
#[must_use]
pub fn cleanest(keys: &[InKey]) -> Option<&InKey> {
    keys.iter().max_by(|a, b| {
        a.total
            .total_cmp(&b.total)
            .then(b.shift.abs().cmp(&a.shift.abs()))
            .then(b.shift.cmp(&a.shift))
    })
}
