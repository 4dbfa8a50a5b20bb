//! The course of the show, bar by bar: wanted intensity, reached intensity, and how tired lips are.

use crate::band::load::Conditions;
use crate::band::loudness::{Decibels, part_level};
use crate::band::{Band, Choir, Family, Part, PartId};
use crate::music::{BarNumber, Dynamic, MeterMap, Sounding, TempoMap, Tick};
use crate::review::load::tired;
use crate::score::{Draft, Passage};
use std::collections::BTreeMap;

/// A tenth of the scale of intensity is so many decibels under the loudest that the draft's band can do: from
/// everybody at fff (10) down to a single soft player (0) is some 30 dB in bands of 20 to 40 (ours, from the
/// program's own table of loudness).
const DECIBELS_A_STEP: f64 = 3.0;

/// The course of a show, by bar from the first.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Course {
    /// Where each bar begins; one more at the end.
    pub starts: Vec<Tick>,
    /// Wanted intensity, 0 to 10.
    pub wanted: Vec<f64>,
    /// Reached intensity, 0 to 10: how loud the band is, against the loudest that it can be.
    pub reached: Vec<f64>,
    /// How tired the most tired lips of a group are, 0 to 1 (MF of the load model).
    pub load: Vec<(&'static str, Vec<f64>)>,
}

/// What a course follows from.
#[derive(Clone, Copy, Debug)]
pub struct CourseOf<'a> {
    /// Who plays.
    pub band: &'a Band,
    /// The notes.
    pub draft: &'a Draft,
    /// Passages with what is wanted in them.
    pub passages: &'a [Passage],
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// Under what conditions the show is played.
    pub conditions: Conditions,
    /// Where the music ends.
    pub end: Tick,
}

impl Course {
    /// The course of a draft.
    #[must_use]
    pub fn of(what: &CourseOf<'_>) -> Self {
        let last = what.meters.bar(Tick(what.end.0.saturating_sub(1)));
        let starts = (1..=last.0.saturating_add(1)).map(|b| what.meters.bar_start(BarNumber(b)));
        let starts: Vec<Tick> = if what.end == Tick::ZERO {
            Vec::new()
        } else {
            starts.collect()
        };
        let wanted = |at: &Tick| {
            let here = what.passages.iter().find(|p| p.contains(*at));
            here.map_or(0.0, |p| p.intensity)
        };
        let bars = starts.len().saturating_sub(1);
        Self {
            wanted: starts.iter().take(bars).map(wanted).collect(),
            reached: reached(what, &starts),
            load: loads(what, &starts),
            starts,
        }
    }

    /// How many bars there are.
    #[must_use]
    pub fn bars(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }
}

/// The level of a part's note, as power; looked up once for each pitch and dynamic.
#[derive(Default)]
struct Levels(BTreeMap<(PartId, Sounding, usize), f64>);

impl Levels {
    fn power(&mut self, (id, part): (PartId, &Part), pitch: Sounding, dynamic: Dynamic) -> f64 {
        let entry = self.0.entry((id, pitch, dynamic.steps()));
        // The built-in table reads; a test shows it.
        *entry.or_insert_with(|| part_level(part, pitch, dynamic).map_or(0.0, Decibels::power))
    }
}

/// The bar that a tick lies in, from 0.
fn bar_of(starts: &[Tick], at: Tick) -> usize {
    starts.partition_point(|s| *s <= at).saturating_sub(1)
}

fn reached(what: &CourseOf<'_>, starts: &[Tick]) -> Vec<f64> {
    let bars = starts.len().saturating_sub(1);
    if bars == 0 {
        return Vec::new();
    }
    let (mut levels, mut energy) = (Levels::default(), vec![0.0; bars]);
    for line in &what.draft.lines {
        let Some(part) = what.band.parts.get(line.part.0) else {
            continue;
        };
        for note in &line.notes {
            let dynamic = Dynamic::of_velocity(note.velocity);
            let power = levels.power((line.part, part), note.pitch, dynamic);
            let (first, last) = (bar_of(starts, note.onset), bar_of(starts, note.end()));
            for bar in first..=last.min(bars.saturating_sub(1)) {
                let from = note.onset.max(starts[bar]);
                energy[bar] += power * note.end().min(starts[bar + 1]).since(from).0 as f64;
            }
        }
    }
    let most = loudest(what.band, &mut levels);
    let of = |(bar, energy): (usize, &f64)| {
        let mean = energy / (starts[bar + 1].since(starts[bar]).0.max(1) as f64);
        if mean <= 0.0 || most <= 0.0 {
            return 0.0;
        }
        (10.0 + 10.0 * (mean / most).log10() / DECIBELS_A_STEP).clamp(0.0, 10.0)
    };
    energy.iter().enumerate().map(of).collect()
}

/// The power of everybody at fff, each in the middle of the comfortable range.
fn loudest(band: &Band, levels: &mut Levels) -> f64 {
    let one = |(id, part): (PartId, &Part)| {
        let range = part.limits.comfortable;
        let middle = (i32::from(range.low.midi()) + i32::from(range.high.midi())) / 2;
        let loud = Dynamic::of_velocity(127);
        levels.power((id, part), Sounding::nearest(middle), loud)
    };
    band.ids().map(one).sum()
}

/// The group whose lips a part's are counted with.
fn group(part: &Part) -> Option<&'static str> {
    if part.instrument.family != Family::Brass {
        return None;
    }
    Some(match part.instrument.choir {
        Choir::Trumpets => "trumpets",
        Choir::Horns => "horns",
        _ => "low brass",
    })
}

fn loads(what: &CourseOf<'_>, starts: &[Tick]) -> Vec<(&'static str, Vec<f64>)> {
    let bars = starts.len().saturating_sub(1);
    let mut all: Vec<(&'static str, Vec<f64>)> = Vec::new();
    for line in &what.draft.lines {
        let part = what.band.parts.get(line.part.0);
        let Some((part, name)) = part.and_then(|p| Some((p, group(p)?))) else {
            continue;
        };
        let own = tired_by_bar(
            &tired(part, &line.notes, what.tempo, what.conditions),
            line,
            (starts, bars),
        );
        match all.iter_mut().find(|(n, _)| *n == name) {
            Some((_, most)) => {
                for (most, own) in most.iter_mut().zip(own) {
                    *most = most.max(own);
                }
            }
            None => all.push((name, own)),
        }
    }
    all
}

/// The most that a part is tired in each bar; 0 in bars in which it rests.
fn tired_by_bar(
    tired: &[f64],
    line: &crate::score::PartLine,
    (starts, bars): (&[Tick], usize),
) -> Vec<f64> {
    let mut own = vec![0.0_f64; bars];
    for (note, tired) in line.notes.iter().zip(tired) {
        if let Some(bar) = own.get_mut(bar_of(starts, note.onset)) {
            *bar = bar.max(*tired);
        }
    }
    own
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::given::Given;
    use crate::project::whole_way::whole_way;

    #[test]
    fn the_demo_goes_up_and_down_as_it_is_wanted() {
        let (song, band) = (
            crate::cli::files::demo_song().unwrap(),
            crate::band::preset("demo").unwrap(),
        );
        let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
        let passages: Vec<Passage> = way.plan.passages.iter().map(|p| p.passage).collect();
        let course = Course::of(&CourseOf {
            band: &band,
            draft: &way.voiced.draft,
            passages: &passages,
            meters: &song.meters,
            tempo: &song.tempo,
            conditions: Conditions::default(),
            end: song.end(),
        });
        assert_eq!((course.bars(), course.wanted.len()), (64, 64));
        assert!(course.reached.iter().all(|r| (0.0..=10.0).contains(r)));
        // Where more is wanted, more is reached: the ranks go together.
        let (mut with, mut against) = (0, 0);
        for a in 0..64 {
            for b in 0..a {
                let (w, r) = (
                    course.wanted[a] - course.wanted[b],
                    course.reached[a] - course.reached[b],
                );
                if w.abs() > 1.0 {
                    if w * r > 0.0 { with += 1 } else { against += 1 }
                }
            }
        }
        assert!(with > 3 * against, "{with} against {against}");
        assert!(
            course
                .load
                .iter()
                .any(|(n, l)| *n == "trumpets" && l.iter().any(|m| *m > 0.1))
        );
        let nothing = Course::of(&CourseOf {
            band: &band,
            draft: &Draft::default(),
            passages: &[],
            meters: &song.meters,
            tempo: &song.tempo,
            conditions: Conditions::default(),
            end: Tick::ZERO,
        });
        assert_eq!((nothing.bars(), nothing.reached.len()), (0, 0));
    }
}
