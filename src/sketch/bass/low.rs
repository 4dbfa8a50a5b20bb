//! The low stream: at each moment the lowest new note that is not melody, and what it is like.

use super::BassView;
use crate::music::Tick;

/// How far a chord answers above a bass note that is not alone.
const WIDE: u8 = 10;
/// How far a hand reaches: a tenth.
pub(super) const HAND: u8 = 16;
/// No hand plays more at once; the bound keeps time linear for files that pile notes up.
const MOST_NEW: usize = 64;

/// How strong the place of a note in its bar is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Place {
    /// Between beats.
    Off,
    /// On a beat.
    Beat,
    /// In the middle of the bar.
    Middle,
    /// Where a bar begins.
    Bar,
}

/// What sounds with a low note, the melody aside.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Rank {
    /// Nothing, or its octave.
    Alone,
    /// One tone about a tenth above it, its octave perhaps.
    Tenth,
    /// One tone beyond the hand's reach.
    Beside,
    /// More.
    Full,
}

/// A note of the low stream.
#[derive(Clone, Copy, Debug)]
pub(super) struct Low {
    /// Its index.
    pub(super) note: usize,
    /// When it is struck.
    pub(super) at: Tick,
    /// Its pitch.
    pub(super) pitch: i16,
    /// What sounds with it but the melody.
    pub(super) rank: Rank,
    /// Whether it is the low note of a chord struck close together.
    pub(super) chord: bool,
    /// Whether nothing that was struck before still sounds, but for one note, the melody's.
    pub(super) bare: bool,
    /// How many other pitch classes but the melody's are struck with it.
    pub(super) others: u32,
    /// Whether a chord of three and more is struck while the note is held.
    pub(super) beside: bool,
    /// Whether the low stream is all that accompanies the melody, here and while the note is held.
    pub(super) thin: bool,
    /// When the pedal lets it go, if it sounds beyond its key.
    pub(super) let_go: Option<Tick>,
    /// Its place in the bar.
    pub(super) place: Place,
    /// Pitch classes of what is struck with it but melody, one bit each.
    pub(super) classes: u16,
}

impl Low {
    /// Whether it may be a bass to which chords answer.
    pub(super) fn is_lone(&self) -> bool {
        self.rank != Rank::Full
    }
}

/// The low stream, in order. A note struck while the one before is held well beyond it lies over
/// that note and is not in it, unless it is the lowest key down.
pub(super) fn low_stream(view: &BassView) -> Vec<Low> {
    let join = u64::from(view.meters.quarter().get()) / 4;
    let slack = |l: &Low| join.min(view.notes[l.note].duration.0 / 4);
    let mut lows: Vec<Low> = Vec::new();
    for (o, onset) in view.onsets.iter().enumerate() {
        let Some(note) = onset.notes.clone().find(|i| !view.melody[*i]) else {
            continue;
        };
        let let_go = lows
            .last()
            .is_none_or(|l| view.notes[l.note].end().since(onset.at).0 <= slack(l));
        if view.notes[note].pitch.midi() == onset.bottom || let_go {
            lows.push(low(view, o, note));
        } else if super::others(view, o) >= 2
            && let Some(last) = lows.last_mut()
        {
            last.thin = false;
            last.beside |= super::others(view, o) >= 3;
        }
    }
    lows
}

fn low(view: &BassView, o: usize, note: usize) -> Low {
    let (onset, root) = (&view.onsets[o], &view.notes[note]);
    let mut new: Vec<u8> = onset
        .notes
        .clone()
        .take(MOST_NEW)
        .filter(|i| !view.melody[*i] && view.notes[*i].pitch != root.pitch)
        .map(|i| view.notes[i].pitch.midi())
        .collect();
    let over = |p: &u8| p.saturating_sub(root.pitch.midi());
    // One far note on top of all is the tune's more likely than not.
    if matches!(new.as_slice(), [top] if *top == onset.top && over(top) > HAND) {
        new.clear();
    }
    let class = |p: u8| 1_u16 << (p % 12);
    let own = class(root.pitch.midi());
    let others = new.iter().fold(0, |c, p| c | class(*p)) & !own;
    let count = others.count_ones();
    let far = new.iter().all(|p| (WIDE..=HAND).contains(&over(p)));
    let close = new.iter().any(|p| over(p) < WIDE);
    let rank = match count {
        0 => Rank::Alone,
        1 if far && new.len() <= 2 => Rank::Tenth,
        1 if !close => Rank::Beside,
        _ => Rank::Full,
    };
    let held_too = onset.held > 3 + new.len();
    Low {
        note,
        at: onset.at,
        pitch: i16::from(root.pitch.midi()),
        rank: if held_too || (rank == Rank::Alone && new.len() > 1) {
            Rank::Full
        } else {
            rank
        },
        bare: onset.held <= 2 + new.len(),
        chord: close,
        others: count,
        beside: false,
        thin: new.is_empty() && onset.held <= 3,
        let_go: (root.sounds_until > root.end()).then_some(root.sounds_until),
        place: place(view, onset.at),
        classes: own | others,
    }
}

/// The place of a tick in its bar, with a little slack.
fn place(view: &BassView, at: Tick) -> Place {
    let quarter = view.meters.quarter();
    let slack = u64::from(quarter.get()) / 16;
    let shifted = Tick(at.0 + slack);
    let since = shifted
        .since(view.meters.bar_start(view.meters.bar(shifted)))
        .0;
    let meter = view.meters.meter(shifted);
    let (bar, beat) = (meter.bar(quarter).0, meter.beat(quarter).0.max(1));
    if since <= 2 * slack {
        Place::Bar
    } else if since % beat > 2 * slack {
        Place::Off
    } else if bar.abs_diff(2 * (since - since % beat)) == 0 {
        Place::Middle
    } else {
        Place::Beat
    }
}
