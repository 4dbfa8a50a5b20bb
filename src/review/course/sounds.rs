//! What every bar of a draft sounds like: energy, players, place in the ranges, partials.

use super::measure::place_in;
use crate::band::loudness::{Tone, tone};
use crate::band::{Band, Part, PartId};
use crate::music::{Dynamic, Sounding, Tick};
use crate::score::Draft;
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

/// Notes looked up once for each part, pitch and dynamic.
#[derive(Default)]
pub(super) struct Sounds(BTreeMap<(PartId, Sounding, usize), Option<Known>>);

impl Sounds {
    fn known(
        &mut self,
        (id, part): (PartId, &Part),
        pitch: Sounding,
        dynamic: Dynamic,
    ) -> Option<Known> {
        let entry = self.0.entry((id, pitch, dynamic.steps()));
        *entry.or_insert_with(|| {
            // The built-in table reads; a test shows it.
            let tone = tone(part, pitch, dynamic).ok().flatten()?;
            let range = part.limits.comfortable;
            Some(Known {
                power: tone.level.power(),
                place: place_in(range.low, range.high, pitch),
                centroid: centroid(&tone, pitch.hertz()),
            })
        })
    }

    /// Every bar of a draft; `starts` are where bars begin, and one end more.
    pub fn bars(&mut self, band: &Band, draft: &Draft, starts: &[Tick]) -> Vec<BarSound> {
        let count = starts.len().saturating_sub(1);
        let mut bars = vec![BarSound::default(); count];
        let mut times: Vec<(f64, Vec<f64>)> = Vec::new();
        for line in &draft.lines {
            let Some(part) = band.parts.get(line.part.0) else {
                continue;
            };
            let mut time = vec![0.0; count];
            for note in &line.notes {
                let dynamic = Dynamic::of_velocity(note.velocity);
                let known = self.known((line.part, part), note.pitch, dynamic);
                for (bar, ticks) in in_bars(starts, note.onset, note.end()) {
                    time[bar] += ticks;
                    let Some(known) = known else { continue };
                    let energy = known.power * ticks;
                    bars[bar].energy += energy;
                    bars[bar].place += energy * known.place;
                    bars[bar].centroid += energy * known.centroid;
                }
            }
            if part.instrument.wind {
                times.push((f64::from(part.players.count()), time));
            }
        }
        for (bar, sound) in bars.iter_mut().enumerate() {
            let longest = times.iter().map(|(_, t)| t[bar]).fold(0.0, f64::max);
            let plays = |time: f64| (time / (PLAYS * longest)).min(1.0);
            if longest > 0.0 {
                sound.players = times.iter().map(|(n, t)| n * plays(t[bar])).sum();
            }
        }
        bars
    }
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
