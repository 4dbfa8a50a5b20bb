//! How notes follow one another: how fast, for how long, and how long since the last breath.

use super::context::FRESH_START;
use crate::band::remarks::NotesPerSecond;

/// A rest so long, in seconds, is used for a breath (ours).
pub const BREATH_GAP: f64 = 0.15;
/// At the end of a note so long, in seconds, players can steal a breath: they let it go a little
/// early (common practice, no source; the length is ours). What is left to run out of breath on is
/// long notes and quick passages.
const LONG_NOTE: f64 = 0.5;
/// After so many seconds without either, a note is left out for a breath (ours).
const OUT_OF_BREATH: f64 = 12.0;
/// Notes up to so much slower than one belong to its run (ours: a dotted note among even ones
/// does not, swing does).
const SAME_RUN: f64 = 1.45;
/// A run of so many beats, two bars of four, is long; how much longer does not matter.
const LONG_RUN: f64 = 8.0;

/// When a note of a line sounds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct NoteTime {
    /// Seconds at its onset.
    pub onset: f64,
    /// Seconds at its end.
    pub end: f64,
    /// Beats (quarter notes) at its onset.
    pub beats: f64,
    /// Whether a phrase begins with it, so that a breath is taken before.
    pub phrase: bool,
}

/// How a note follows those before it.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Flow {
    /// Whether the note before is so near that the way from it counts.
    pub near: bool,
    /// One note for the time since the note before; `None` where none is near.
    pub speed: Option<NotesPerSecond>,
    /// Beats for which notes follow about as fast, before and after; eight at most.
    pub run_beats: f64,
    /// Seconds since the last breath, at the note's end.
    pub breath: f64,
}

/// How the notes of a line follow one another; in order of onset. Notes struck together count as
/// one.
#[must_use]
pub fn flows(notes: &[NoteTime]) -> Vec<Flow> {
    let mut breath_at = 0.0;
    let mut flows = Vec::with_capacity(notes.len());
    for (i, note) in notes.iter().enumerate() {
        let before = before(notes, i);
        if before.is_none_or(|b| breathes(b, note, breath_at)) {
            breath_at = note.onset;
        }
        let gap = before.map(|b| note.onset - b.onset);
        let near = before.is_some_and(|b| note.onset - b.end < FRESH_START);
        flows.push(Flow {
            near,
            speed: gap
                .filter(|g| near && *g > 0.0)
                .map(|g| NotesPerSecond(1.0 / g)),
            run_beats: gap.map_or(0.0, |g| run_beats(notes, i, g)),
            breath: (note.end - breath_at).max(0.0),
        });
    }
    flows
}

/// The last note that begins before another.
fn before(notes: &[NoteTime], i: usize) -> Option<&NoteTime> {
    let note = notes.get(i)?;
    notes[..i].iter().rev().find(|b| b.onset < note.onset)
}

fn breathes(before: &NoteTime, note: &NoteTime, breath_at: f64) -> bool {
    note.phrase
        || note.onset - before.end >= BREATH_GAP
        || before.end - before.onset >= LONG_NOTE
        || note.end - breath_at > OUT_OF_BREATH
}

/// Beats around a note in which gaps are at most [`SAME_RUN`] times its own.
fn run_beats(notes: &[NoteTime], i: usize, gap: f64) -> f64 {
    let quick = |a: &NoteTime, b: &NoteTime| b.onset - a.onset <= SAME_RUN * gap;
    let here = notes[i].beats;
    let (mut first, mut last) = (i, i);
    while first > 0
        && here - notes[first].beats < LONG_RUN
        && quick(&notes[first - 1], &notes[first])
    {
        first -= 1;
    }
    while last + 1 < notes.len()
        && notes[last].beats - here < LONG_RUN
        && quick(&notes[last], &notes[last + 1])
    {
        last += 1;
    }
    (notes[last].beats - notes[first].beats).clamp(0.0, LONG_RUN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(onsets: &[(f64, f64)]) -> Vec<NoteTime> {
        let note = |(onset, end): &(f64, f64)| NoteTime {
            onset: *onset,
            end: *end,
            beats: 2.0 * onset,
            phrase: false,
        };
        onsets.iter().map(note).collect()
    }

    #[test]
    fn speed_and_run_are_of_the_notes_around() {
        let notes = line(&[
            (0.0, 0.5),
            (0.5, 0.75),
            (0.75, 1.0),
            (1.0, 1.25),
            (1.25, 3.0),
            (5.0, 6.0),
        ]);
        let flows = flows(&notes);
        assert!(!flows[0].near && flows[0].speed.is_none());
        assert_eq!(flows[1].speed, Some(NotesPerSecond(2.0)));
        assert_eq!(flows[2].speed, Some(NotesPerSecond(4.0)));
        // From 0.5 to 1.25 seconds, two beats a second.
        assert!((flows[3].run_beats - 1.5).abs() < 1e-12);
        assert!(!flows[5].near && flows[5].speed.is_none());
    }

    #[test]
    fn breath_is_taken_at_rests_phrases_and_after_long_notes() {
        let mut notes = line(&[
            (0.0, 0.4),
            (0.4, 0.8),
            (1.2, 1.5),
            (1.5, 3.0),
            (3.0, 3.5),
            (3.5, 4.0),
        ]);
        notes[5].phrase = true;
        let breaths: Vec<f64> = flows(&notes).iter().map(|f| f.breath).collect();
        for (found, expected) in breaths.iter().zip([0.4, 0.8, 0.3, 1.8, 0.5, 0.5]) {
            assert!((found - expected).abs() < 1e-9, "{breaths:?}");
        }
    }
}
