//! What every bar of a draft sounds like: energy, players, place in the ranges, partials.

use super::measure::place_in;
use crate::band::Part;
use crate::band::loudness::{Tone, tone};
use crate::music::{Dynamic, Sounding, Tick};
use crate::score::DraftNote;
use std::collections::BTreeMap;

/// A part that sounds at least for this share of the time of whoever sounds longest in a bar counts as
/// playing in it (ours).
const PLAYS: f64 = 0.5;

/// What is known of a part's note of some pitch and dynamic.
#[derive(Clone, Copy)]
struct Known {
    power: f64,
    /// 0 at the bottom of the comfortable range, 1 at its top.
    place: f64,
    /// Which partial the middle of its partials is.
    centroid: f64,
}

/// A bar, summed over its notes; times in ticks.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct BarSound {
    /// Power by time.
    pub energy: f64,
    /// The same by place in the range.
    pub place: f64,
    /// The same by which partial the middle of the partials is.
    pub centroid: f64,
    /// Wind players that play.
    pub players: f64,
}

/// What a note adds to a bar: energy, the same by place, and by partial.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Added {
    bar: usize,
    energy: f64,
    place: f64,
    centroid: f64,
}

/// What the notes of a line add to the bars, in their order.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct LineSound {
    added: Vec<Added>,
    /// For wind parts how many players there are, and how long they sound in each bar, ticks.
    winds: Option<(f64, Vec<f64>)>,
}

impl LineSound {
    /// Of a part's notes, each pitch and dynamic looked up once; `starts` are where bars begin, and one end more.
    pub fn of(part: &Part, notes: &[DraftNote], starts: &[Tick]) -> Self {
        let mut known: BTreeMap<(Sounding, usize), Option<Known>> = BTreeMap::new();
        let mut added = Vec::with_capacity(notes.len());
        let mut time = vec![0.0; starts.len().saturating_sub(1)];
        for note in notes {
            let dynamic = Dynamic::of_velocity(note.velocity);
            let entry = known.entry((note.pitch, dynamic.steps()));
            let known = *entry.or_insert_with(|| Known::of(part, note.pitch, dynamic));
            for (bar, ticks) in in_bars(starts, note.onset, note.end()) {
                time[bar] += ticks;
                let Some(known) = known else { continue };
                let energy = known.power * ticks;
                added.push(Added {
                    bar,
                    energy,
                    place: energy * known.place,
                    centroid: energy * known.centroid,
                });
            }
        }
        let winds = part.instrument.wind;
        Self {
            added,
            winds: winds.then(|| (f64::from(part.players.count()), time)),
        }
    }
}

impl Known {
    fn of(part: &Part, pitch: Sounding, dynamic: Dynamic) -> Option<Self> {
        // The built-in table reads; a test shows it.
        let tone = tone(part, pitch, dynamic).ok().flatten()?;
        let range = part.limits.comfortable;
        Some(Self {
            power: tone.level.power(),
            place: place_in(range.low, range.high, pitch),
            centroid: centroid(&tone, pitch.hertz()),
        })
    }
}

/// So many bars, each summed over all notes, line after line: it comes to the same whichever lines were kept.
pub(super) fn bars(count: usize, lines: &[&LineSound]) -> Vec<BarSound> {
    let mut bars = vec![BarSound::default(); count];
    for added in lines.iter().flat_map(|l| &l.added) {
        let bar = &mut bars[added.bar];
        bar.energy += added.energy;
        bar.place += added.place;
        bar.centroid += added.centroid;
    }
    let times: Vec<_> = lines.iter().filter_map(|l| l.winds.as_ref()).collect();
    for (bar, sound) in bars.iter_mut().enumerate() {
        let longest = times.iter().map(|(_, t)| t[bar]).fold(0.0, f64::max);
        let plays = |time: f64| (time / (PLAYS * longest)).min(1.0);
        if longest > 0.0 {
            sound.players = times.iter().map(|(n, t)| n * plays(t[bar])).sum();
        }
    }
    bars
}

/// The bars that a stretch lies in, from 0, with how much of it lies in each.
fn in_bars(starts: &[Tick], from: Tick, to: Tick) -> impl Iterator<Item = (usize, f64)> + '_ {
    let first = bar_of(starts, from);
    let bars = starts.windows(2).enumerate().skip(first);
    let bars = bars.take_while(move |(_, bar)| bar.first().is_some_and(|b| *b < to));
    bars.filter_map(move |(i, bar)| {
        let [start, end] = bar else { return None };
        let ticks = to.min(*end).since(from.max(*start)).0;
        (ticks > 0).then_some((i, ticks as f64))
    })
}

/// The bar that a tick lies in, from 0.
pub(super) fn bar_of(starts: &[Tick], at: Tick) -> usize {
    starts.partition_point(|s| *s <= at).saturating_sub(1)
}

/// The spectral centroid over the tone itself: the mean of the numbers of its partials by their amplitudes. It goes with how
/// bright a tone is heard, pitch apart (J. M. Grey and J. W. Gordon, J. Acoust. Soc. Am. 63, 1978; over the fundamental,
/// J. Krimphoff, S. McAdams and S. Winsberg, J. de Physique IV 4, 1994; both from memory). The partials are those of the
/// program's own table of spectra (`presets/playing/loudness.toml`), which is an estimate.
fn centroid(tone: &Tone, hertz: f64) -> f64 {
    let amplitude = |level: f64| 10.0_f64.powf(level / 20.0);
    let (mut by, mut all) = (0.0, 0.0);
    for (partial, _) in &tone.partials {
        by += partial.hertz / hertz * amplitude(partial.level);
        all += amplitude(partial.level);
    }
    if all > 0.0 { by / all } else { 1.0 }
}
