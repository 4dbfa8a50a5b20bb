//! An independent checker of drafts: written from the band and the notes alone, with no code of
//! the solver and none of the reviewer. Every rule answers with what is wrong, in words.

use crate::checker_remarks::of_remarks;
use crate::checker_tune::{instead, of_tune};
use bandwright::band::{Band, Family, GoEasy, Part};
use bandwright::music::{BarNumber, KeySignature, MeterMap, TempoMap, Tick, Ticks};
use bandwright::score::{Draft, DraftNote, TuneRules};
use bandwright::sketch::{Line, Note, ReadNote, Reading};
use std::collections::{BTreeMap, BTreeSet};

/// What is known to be fixed of one part.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Fixed {
    /// Notes that must be there, exactly so.
    pub notes: Vec<Note>,
    /// Bars, from 1, in which there may be nothing else.
    pub bars: BTreeSet<u32>,
}

impl Fixed {
    /// What a track without named bars fixes: its notes, and every bar in which one sounds.
    pub fn by(notes: &[Note], meters: &MeterMap) -> Self {
        let bars = notes.iter().flat_map(|n| {
            let last = meters.bar(Tick(n.onset.0 + n.duration.0 - 1)).0;
            meters.bar(n.onset).0..=last
        });
        Self {
            notes: notes.to_vec(),
            bars: bars.collect(),
        }
    }

    /// With another laid over it: where both fix a bar, only the other's notes sound.
    pub fn under(mut self, over: &Self, meters: &MeterMap) -> Self {
        self.notes
            .retain(|n| !over.bars.contains(&meters.bar(n.onset).0));
        for note in &mut self.notes {
            let bars = over.bars.iter().map(|b| meters.bar_start(BarNumber(*b)));
            if let Some(next) = bars.filter(|start| *start > note.onset).min() {
                note.duration = Ticks(note.duration.0.min(next.0 - note.onset.0));
            }
        }
        self.notes.extend(over.notes.iter().copied());
        self.notes.sort();
        self.bars.extend(&over.bars);
        self
    }
}

/// What a draft is held against.
pub struct Case<'a> {
    pub band: &'a Band,
    pub reading: &'a Reading,
    pub meters: &'a MeterMap,
    pub tempo: &'a TempoMap,
    /// Keys that were found, then those that the file writes, each until the next of its list.
    pub keys: [Vec<(Tick, KeySignature)>; 2],
    /// By the index of the part.
    pub fixed: BTreeMap<usize, Fixed>,
    /// What the arranger rules of the tune.
    pub tune: TuneRules,
}

/// Everything that is wrong with a draft.
pub fn faults(case: &Case<'_>, draft: &Draft) -> Vec<String> {
    let mut wrong = Vec::new();
    if draft.lines.len() != case.band.parts.len() {
        wrong.push("not one line for every part".to_owned());
    }
    let sung = sounding(case.reading);
    for (i, line) in draft.lines.iter().enumerate() {
        let part = &case.band.parts[i];
        if line.part.0 != i {
            wrong.push(format!("line {i} is that of another part"));
        }
        let mut of_part = in_order(&line.notes);
        of_part.extend(out_of_limits(part, &line.notes));
        of_part.extend(leaps(part, &line.notes));
        of_part.extend(at_once(part, &line.notes));
        let own = line.notes.iter().filter(|n| !instead(draft, i, n));
        let own: Vec<DraftNote> = own.copied().collect();
        of_part.extend(foreign(&own, &sung));
        of_part.extend(fixed(case, i, &line.notes));
        wrong.extend(of_part.into_iter().map(|w| format!("{}: {w}", part.name)));
    }
    wrong.extend(of_remarks(case, draft));
    wrong.extend(lost_tune(case.reading, draft));
    wrong.extend(of_tune(case, draft));
    wrong
}

pub fn name(note: &DraftNote) -> String {
    format!(
        "note {} at {} for {}{}",
        note.pitch.midi(),
        note.onset.0,
        note.duration.0,
        if note.locked { " (locked)" } else { "" }
    )
}

fn in_order(notes: &[DraftNote]) -> Vec<String> {
    let mut wrong = Vec::new();
    for pair in notes.windows(2) {
        if (pair[0].onset, pair[0].pitch) > (pair[1].onset, pair[1].pitch) {
            wrong.push(format!("{} is out of order", name(&pair[1])));
        }
    }
    for note in notes {
        if note.duration.0 == 0 {
            wrong.push(format!("{} has no length", name(note)));
        }
        if !(1..=127).contains(&note.velocity) {
            wrong.push(format!("{} has velocity {}", name(note), note.velocity));
        }
    }
    wrong
}

/// The limits are worked out again from the instrument, the levels and the remarks.
pub fn reach(part: &Part) -> (i32, i32) {
    let up = i32::from(
        part.instrument
            .transposition
            .written(part.limits.range.low)
            .0,
    ) - i32::from(part.limits.range.low.midi());
    let (mut low, mut high) = (i32::from(i16::MIN), i32::from(i16::MAX));
    for (level, _) in part.players.levels() {
        let stretch = part.instrument.range(level).stretch;
        low = low.max(i32::from(stretch.low.0));
        high = high.min(i32::from(stretch.high.0));
    }
    let (mut easy_low, mut easy_high) = (i32::from(i16::MIN), i32::from(i16::MAX));
    for (level, _) in part.players.levels() {
        let easy = part.instrument.range(level).comfortable;
        easy_low = easy_low.max(i32::from(easy.low.0));
        easy_high = easy_high.min(i32::from(easy.high.0));
    }
    match part.remarks.go_easy {
        Some(GoEasy::Braces) if part.instrument.family == Family::Brass => {
            high = high.min(easy_high - 2);
        }
        Some(GoEasy::Braces) if part.instrument.family != Family::Woodwind => {}
        Some(_) => {
            low = low.max(easy_low);
            high = high.min(easy_high);
        }
        None => {}
    }
    if let Some(lowest) = part.remarks.lowest {
        low = low.max(i32::from(lowest.0));
    }
    if let Some(highest) = part.remarks.highest {
        high = high.min(i32::from(highest.0));
    }
    if part.remarks.below_the_break {
        high = high.min(70); // written B flat 4
    }
    (low - up, high - up)
}

fn out_of_limits(part: &Part, notes: &[DraftNote]) -> Vec<String> {
    let (low, high) = reach(part);
    let free = notes.iter().filter(|n| !n.locked);
    free.filter(|n| !(low..=high).contains(&i32::from(n.pitch.midi())))
        .map(|n| format!("{} is outside {low} to {high}", name(n)))
        .collect()
}

fn leaps(part: &Part, notes: &[DraftNote]) -> Vec<String> {
    let Some(most) = part.remarks.no_leaps_over else {
        return Vec::new();
    };
    let far = |a: &DraftNote, b: &DraftNote| {
        let size = i32::from(a.pitch.midi()).abs_diff(i32::from(b.pitch.midi()));
        size > u32::from(most.0.unsigned_abs())
    };
    let pairs = notes.windows(2).filter(|p| p[0].onset < p[1].onset);
    pairs
        .filter(|p| !(p[0].locked && p[1].locked) && far(&p[0], &p[1]))
        .map(|p| format!("{} to {} is over {}", name(&p[0]), name(&p[1]), most.0))
        .collect()
}

fn at_once(part: &Part, notes: &[DraftNote]) -> Vec<String> {
    if part.instrument.chordal {
        return Vec::new();
    }
    let mut wrong = Vec::new();
    for (i, a) in notes.iter().enumerate() {
        let after = notes[i + 1..].iter().take_while(|b| b.onset < a.end());
        for b in after.filter(|b| !(a.locked && b.locked)) {
            wrong.push(format!("{} sounds under {}", name(a), name(b)));
        }
    }
    wrong
}

/// For each pitch class, where the sketch sounds it: stretches in order, joined.
fn sounding(reading: &Reading) -> Vec<Vec<(u64, u64)>> {
    let mut all: Vec<Vec<(u64, u64)>> = vec![Vec::new(); 12];
    for note in &reading.notes {
        all[usize::from(note.pitch.midi() % 12)].push((note.onset.0, note.sounds_until.0));
    }
    // Where a figure breaks a chord, its tones may be held until it goes on to another.
    let held = ["broken_chord", "alberti", "tremolo", "rolled_chord"];
    let figures = reading.figures.iter();
    for span in figures
        .filter(|f| held.contains(&f.kind.word()))
        .flat_map(|f| &f.harmony)
    {
        for pitch in &span.pitches {
            all[usize::from(pitch.midi() % 12)].push((span.start.0, span.end.0));
        }
    }
    for stretches in &mut all {
        stretches.sort_unstable();
        let mut joined: Vec<(u64, u64)> = Vec::new();
        for (from, to) in stretches.drain(..) {
            match joined.last_mut().filter(|last| from <= last.1) {
                Some(last) => last.1 = last.1.max(to),
                None => joined.push((from, to)),
            }
        }
        *stretches = joined;
    }
    all
}

fn foreign(notes: &[DraftNote], sung: &[Vec<(u64, u64)>]) -> Vec<String> {
    let free = notes.iter().filter(|n| !n.locked);
    let sounds = |n: &&DraftNote| {
        let stretches = &sung[usize::from(n.pitch.midi() % 12)];
        let next = stretches.partition_point(|s| s.0 <= n.onset.0);
        next > 0 && n.end().0 <= stretches[next - 1].1
    };
    free.filter(|n| !sounds(n))
        .map(|n| format!("{} is foreign to the sketch", name(n)))
        .collect()
}

fn fixed(case: &Case<'_>, part: usize, notes: &[DraftNote]) -> Vec<String> {
    let nothing = Fixed::default();
    let fixed = case.fixed.get(&part).unwrap_or(&nothing);
    let plain = |n: &DraftNote| (n.onset.0, n.pitch.midi(), n.duration.0, n.velocity);
    let mut held: Vec<_> = notes.iter().filter(|n| n.locked).map(plain).collect();
    let mut given: Vec<_> = fixed
        .notes
        .iter()
        .map(|n| (n.onset.0, n.pitch.midi(), n.duration.0, n.velocity))
        .collect();
    held.sort_unstable();
    given.sort_unstable();
    let mut wrong = Vec::new();
    if held != given {
        wrong.push(format!("fixed were {given:?}, but kept are {held:?}"));
    }
    for note in notes.iter().filter(|n| !n.locked) {
        let last = case.meters.bar(Tick(note.end().0 - 1)).0;
        if (case.meters.bar(note.onset).0..=last).any(|b| fixed.bars.contains(&b)) {
            wrong.push(format!("{} lies in a fixed bar", name(note)));
        }
    }
    wrong
}

/// Notes of the tune that no part plays and that are not listed as changed either.
fn lost_tune(reading: &Reading, draft: &Draft) -> Vec<String> {
    let listed: BTreeSet<(u64, u8)> = draft
        .melody_changes
        .iter()
        .map(|c| (c.onset.0, c.sketch.midi()))
        .collect();
    not_carried(reading, draft, Line::Melody)
        .into_iter()
        .filter(|n| !listed.contains(&(n.onset.0, n.pitch.midi())))
        .map(|n| format!("the tune's {} at {} is lost", n.pitch.midi(), n.onset.0))
        .collect()
}

/// Notes of a line that no part plays at their time, in whatever octave.
pub fn not_carried<'a>(reading: &'a Reading, draft: &Draft, line: Line) -> Vec<&'a ReadNote> {
    let played: BTreeSet<(u64, u8)> = draft
        .lines
        .iter()
        .flat_map(|l| &l.notes)
        .map(|n| (n.onset.0, n.pitch.midi() % 12))
        .collect();
    reading
        .line(line)
        .filter(|n| !played.contains(&(n.onset.0, n.pitch.midi() % 12)))
        .collect()
}
