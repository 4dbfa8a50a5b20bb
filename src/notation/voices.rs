//! Notes that sound together on one stave, divided into voices.

use std::cmp::Reverse;

/// The most voices that a stave has (common practice, no source).
pub(super) const MOST_VOICES: usize = 4;

/// A note in a bar, on its grid.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Placed {
    pub(super) from: u32,
    pub(super) to: u32,
    /// Its pitch, to tell higher from lower.
    pub(super) pitch: u8,
    /// Which note it is.
    pub(super) index: usize,
}

/// What makes a chord the upper one: its highest and lowest pitch, then how it leans.
type Rank = ((u8, u8), i64);

/// Notes that begin and end together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Chord {
    pub(super) from: u32,
    pub(super) to: u32,
    /// Lowest first.
    pub(super) notes: Vec<Placed>,
}

impl Chord {
    fn overlaps(&self, other: &Self) -> bool {
        self.from < other.to && other.from < self.to
    }

    /// Its highest, then its lowest pitch.
    fn height(&self) -> (u8, u8) {
        let pitches = || self.notes.iter().map(|n| n.pitch);
        (
            pitches().max().unwrap_or_default(),
            pitches().min().unwrap_or_default(),
        )
    }
}

/// Chords in voices, the upper ones first, each in order of time. As few voices as what sounds
/// together needs, but no more than four: what would need a fifth joins a chord or cuts one short.
pub(super) fn voices(notes: &[Placed]) -> Vec<Vec<Chord>> {
    let chords = with_tune_apart(chords(notes));
    let together = |at: u32| chords.iter().filter(|c| c.from <= at && at < c.to).count();
    let needed = chords.iter().map(|c| together(c.from)).max().unwrap_or(0);
    let count = needed.min(MOST_VOICES);
    let mut voices: Vec<Vec<Chord>> = vec![Vec::new(); count];
    let rank = |c: &Chord| (c.height(), lean(c, &chords));
    let mut ranked: Vec<(&Chord, Rank)> = chords.iter().map(|c| (c, rank(c))).collect();
    ranked.sort_by_key(|(c, rank)| (c.from, Reverse(*rank)));
    for (chord, rank) in &ranked {
        let others = ranked
            .iter()
            .filter(|(c, _)| c != chord && c.overlaps(chord));
        let above = others.filter(|(_, other)| other > rank).count();
        put(&mut voices, chord, above.min(count.saturating_sub(1)));
    }
    voices.retain(|v| !v.is_empty());
    voices
}

/// Where a stave needs two voices, the upper one goes on through chords that stand alone: their
/// highest note is its, the others are the lower voice's (common practice, no source).
fn with_tune_apart(chords: Vec<Chord>) -> Vec<Chord> {
    let alone = |c: &Chord| !chords.iter().any(|o| o != c && o.overlaps(c));
    let most = |c: &Chord| chords.iter().filter(|o| o.overlaps(c)).count();
    if chords.iter().all(alone) || chords.iter().any(|c| most(c) > MOST_VOICES) {
        return chords;
    }
    let parted = chords.iter().flat_map(|chord| {
        let mut lower = chord.clone();
        let top = lower
            .notes
            .pop()
            .filter(|_| !lower.notes.is_empty() && alone(chord));
        top.map_or_else(
            || vec![chord.clone()],
            |top| {
                let upper = Chord {
                    notes: vec![top],
                    ..*chord
                };
                vec![upper, lower]
            },
        )
    });
    parted.collect()
}

/// How much more of what sounds with a chord is lower than it than is higher, in grains: of two that
/// begin on the same note, the one that the rest moves under is the upper one.
fn lean(chord: &Chord, all: &[Chord]) -> i64 {
    let others = all.iter().filter(|c| *c != chord && c.overlaps(chord));
    let share = others.map(|other| {
        let together = chord.to.min(other.to) - chord.from.max(other.from);
        match other.height().cmp(&chord.height()) {
            std::cmp::Ordering::Less => i64::from(together),
            std::cmp::Ordering::Equal => 0,
            std::cmp::Ordering::Greater => -i64::from(together),
        }
    });
    share.sum()
}

fn chords(notes: &[Placed]) -> Vec<Chord> {
    let mut sorted = notes.to_vec();
    sorted.sort_by_key(|n| (n.from, n.to, n.pitch, n.index));
    let mut chords: Vec<Chord> = Vec::new();
    for note in sorted {
        match chords.last_mut() {
            Some(last) if (last.from, last.to) == (note.from, note.to) => last.notes.push(note),
            _ => chords.push(Chord {
                from: note.from,
                to: note.to,
                notes: vec![note],
            }),
        }
    }
    chords
}

/// Puts a chord into the free voice nearest to the wished one.
fn put(voices: &mut [Vec<Chord>], chord: &Chord, wished: usize) {
    let is_free = |v: &Vec<Chord>| v.last().is_none_or(|last| last.to <= chord.from);
    let free = (0..voices.len()).filter(|v| is_free(&voices[*v]));
    if let Some(voice) = free.min_by_key(|v| v.abs_diff(wished)) {
        voices[voice].push(chord.clone());
        return;
    }
    // All four are busy: cut short what began before, or join what began here.
    let mut lasts = voices
        .iter_mut()
        .filter_map(|v| v.last_mut().map(|l| l.from));
    let cuttable = lasts.position(|from| from < chord.from);
    if let Some(voice) = cuttable.and_then(|v| voices.get_mut(v)) {
        if let Some(last) = voice.last_mut() {
            last.to = chord.from;
        }
        voice.push(chord.clone());
    } else if let Some(last) = voices.get_mut(wished).and_then(|v| v.last_mut()) {
        last.notes.extend(chord.notes.iter().copied());
        last.notes.sort_by_key(|n| (n.pitch, n.index));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn divided(notes: &[(u32, u32, u8)]) -> Vec<Vec<(u32, Vec<u8>)>> {
        let placed = notes
            .iter()
            .enumerate()
            .map(|(index, &(from, to, pitch))| Placed {
                from,
                to,
                pitch,
                index,
            });
        let placed: Vec<Placed> = placed.collect();
        let told = |c: &Chord| (c.from, c.notes.iter().map(|n| n.pitch).collect());
        let voices = voices(&placed);
        let tell = |v: &Vec<Chord>| v.iter().map(told).collect();
        voices.iter().map(tell).collect()
    }

    #[test]
    fn equal_notes_are_a_chord() {
        let chord = divided(&[(0, 192, 60), (0, 192, 64), (192, 384, 62)]);
        assert_eq!(chord, [vec![(0, vec![60, 64]), (192, vec![62])]]);
    }

    #[test]
    fn a_held_tune_stands_over_moving_chords() {
        let two = divided(&[(0, 384, 72), (0, 192, 64), (192, 384, 65)]);
        assert_eq!(
            two,
            [vec![(0, vec![72])], vec![(0, vec![64]), (192, vec![65])]]
        );
        let goes_on = divided(&[
            (0, 384, 72),
            (0, 192, 64),
            (192, 384, 65),
            (384, 576, 60),
            (384, 576, 64),
            (384, 576, 74),
        ]);
        assert_eq!(goes_on[0], [(0, vec![72]), (384, vec![74])]);
        assert_eq!(goes_on[1][2], (384, vec![60, 64]));
        let from_one_note = divided(&[(0, 384, 77), (0, 192, 77), (192, 384, 74)]);
        assert_eq!(
            from_one_note,
            [vec![(0, vec![77])], vec![(0, vec![77]), (192, vec![74])]]
        );
        let held_below = divided(&[(0, 384, 48), (0, 192, 64), (192, 384, 65)]);
        assert_eq!(
            held_below,
            [vec![(0, vec![64]), (192, vec![65])], vec![(0, vec![48])]]
        );
    }

    #[test]
    fn five_at_once_lose_no_note() {
        let many: Vec<(u32, u32, u8)> = (0..7).map(|i| (0, 48 * (i + 1), 60 + i as u8)).collect();
        let voices = divided(&many);
        assert_eq!(voices.len(), 4);
        let count: usize = voices.iter().flatten().map(|(_, notes)| notes.len()).sum();
        assert_eq!(count, 7);
    }
}
