//! What is locked: the arranger's own tracks of the sketch, and what is given beside it.

use crate::band::Band;
use crate::score::{Lock, Locks, own_passages};
use crate::sketch::{Song, Warning};

/// What is locked in a sketch, and beside it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Locked {
    /// The locks.
    pub locks: Locks,
    /// Tracks of the sketch that are the arranger's own passages.
    pub own_tracks: Vec<usize>,
    /// What had to be decided, or locks nothing.
    pub warnings: Vec<Warning>,
}

impl Locked {
    /// The own passages of a sketch, and those of a file with tracks named like parts; where both fix
    /// the same bar of a part, the file's hold.
    #[must_use]
    pub fn of(song: &Song, band: &Band, file: Option<&Song>) -> Self {
        let onto = (&song.meters, song.quarter);
        let own = own_passages(song, band, onto);
        let mut warnings = own.warnings;
        warnings.extend(controls_left_out(song, &own.tracks));
        let mut locks = own.locks;
        if let Some(file) = file {
            let given = own_passages(file, band, onto);
            warnings.extend(given.warnings);
            warnings.extend(locks_nothing(file, &given.tracks));
            let before = locks.clone();
            locks = locks.overlaid(given.locks, &song.meters);
            let gone = replaced(&before, &locks);
            if gone > 0 {
                warnings.push(Warning::music(format!("{gone} notes of the sketch's own passages give way to the lock file, which fixes the same bars")));
            }
        }
        Self {
            locks,
            own_tracks: own.tracks,
            warnings,
        }
    }
}

/// Tells how many controllers of the arranger's own tracks do not go into the draft.
fn controls_left_out(song: &Song, own: &[usize]) -> Option<Warning> {
    let tracks = own.iter().filter_map(|i| song.tracks.get(*i));
    let program = |status: u8| status & 0xF0 == 0xC0;
    let left = tracks
        .flat_map(|t| &t.controls)
        .filter(|c| !program(c.status))
        .count();
    (left > 0).then(|| {
        Warning::music(format!(
            "the notes of your own passages are kept; {left} controllers on their tracks are not"
        ))
    })
}

/// Tells which tracks of a lock file lock nothing.
fn locks_nothing(file: &Song, locking: &[usize]) -> Option<Warning> {
    let others = file
        .tracks
        .iter()
        .enumerate()
        .filter(|(i, t)| !locking.contains(i) && !t.notes.is_empty());
    let names: Vec<String> = others.map(|(_, t)| format!("`{}`", t.name)).collect();
    (!names.is_empty()).then(|| {
        let names = names.join(", ");
        Warning::music(format!(
            "tracks of the lock file that are named like no part lock nothing: {names}"
        ))
    })
}

/// How many notes of locks are not in others, or not as they were.
fn replaced(before: &Locks, after: &Locks) -> usize {
    let gone = |lock: &Lock| {
        let now = after.of(lock.part).map_or(&[][..], |l| &l.notes);
        lock.notes.iter().filter(|n| !now.contains(n)).count()
    };
    before.0.iter().map(gone).sum()
}
