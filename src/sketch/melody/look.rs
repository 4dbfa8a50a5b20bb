//! The features of a note, one after another.

use super::attacks::{Attack, Attacks, Struck, above, below, bit};
use super::context::Context;
use super::feature::{COUNT, Feature, Values};
use super::figure;
use super::line_so_far::Usual;
use super::loudness::Loudness;
use super::patterns;
use std::ops::Range;

/// Notes that end this near to one another end together, in quarters.
const ALIKE: f64 = 0.13;
/// How many quarters on either side count as around.
const AROUND: f64 = 8.0;
/// What tells of part writing, and the points at which it is even.
const PART_WRITING: [(Feature, f64); 6] = [
    (Feature::WholePattern, -2.2),
    (Feature::WholeChordal, 4.6),
    (Feature::WholeSmooth, 5.6),
    (Feature::WholeSteps, 7.4),
    (Feature::WholeAlike, 3.7),
    (Feature::WholeSteady, 2.4),
];
const PART_WRITING_EVEN: f64 = 18.3;
/// What tells of the music around: patterns, steps, notes that end together, slow lines.
const GOING_ROUND: [&[Feature]; 4] = [
    &[Feature::Pattern],
    &[Feature::StepIn, Feature::StepOut],
    &[Feature::EndsAlike],
    &[Feature::Slow],
];

/// All that a note is looked at with.
pub(super) struct Look<'a> {
    pub(super) attacks: &'a Attacks,
    pub(super) contexts: &'a [Context],
    pub(super) loudness: &'a [Loudness],
}

impl Look<'_> {
    /// The features of a note of an attack, but for those of the line found so far. `prior` is
    /// what its track tells.
    pub(super) fn values(&self, k: usize, note: &Struck) -> Values {
        let mut values = [0.0; COUNT];
        let mut set = |feature: Feature, value: f64| values[feature as usize] = value as f32;
        let (attack, context) = (&self.attacks.list[k], &self.contexts[k]);
        set(Feature::Any, 1.0);
        place(attack, context, note, &mut set);
        self.others(attack, note, &mut set);
        self.length(k, note, &mut set);
        self.loud(k, note, &mut set);
        register(context.centre, note, &mut set);
        self.classes(k, note, &mut set);
        self.returns(k, note, &mut set);
        self.steps(k, note, &mut set);
        rhythm(attack, context, &mut set);
        room(attack, note, &mut set);
        figure::features(self.attacks, context, k, note, &mut set);
        values
    }

    fn others(&self, attack: &Attack, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
        let all = self.attacks.of(attack);
        let others = || all.iter().filter(|n| n.pitch != note.pitch);
        let count = others().count();
        if count == 0 {
            return;
        }
        let alike = others()
            .filter(|n| (n.end - note.end).abs() <= ALIKE)
            .count();
        let alike = alike as f64 / count as f64;
        set(Feature::EndsAlike, alike);
        if note.pitch == attack.top() {
            set(Feature::TopEndsAlike, alike);
        }
        let mut lengths: Vec<f64> = others().map(Struck::length).collect();
        lengths.sort_by(f64::total_cmp);
        let usual = lengths[count / 2].max(0.05);
        let ratio = (note.length().max(0.05) / usual).log2();
        set(Feature::LongerThanOthers, ratio.clamp(-2.0, 2.0));
        let loudest = others().map(|n| n.velocity).fold(0.0, f64::max);
        let over = (note.velocity - loudest) / 10.0;
        set(Feature::LoudOthers, over.clamp(-2.0, 2.0));
        let with = |steps: &[u8]| {
            others().any(|n| {
                n.pitch < note.pitch
                    && steps.contains(&(note.pitch - n.pitch))
                    && (n.end - note.end).abs() <= 2.0 * ALIKE
            })
        };
        set(Feature::OctaveBelow, f64::from(with(&[12])));
        set(Feature::ThirdBelow, f64::from(with(&[3, 4, 8, 9])));
        let octave = others().any(|n| n.pitch == note.pitch + 12);
        set(Feature::OctaveAbove, f64::from(octave));
    }

    fn length(&self, k: usize, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
        let length = note.length().max(0.03);
        set(Feature::Length, length.log2().clamp(-3.0, 3.0) / 2.0);
        set(Feature::Short, f64::from(length < 0.3));
        set(Feature::Long, f64::from(length >= 1.8));
        let later = self.attacks.list[k + 1..]
            .iter()
            .take(16)
            .take_while(|a| a.at + ALIKE < note.end);
        let (mut held, mut covered) = (0, 0);
        for attack in later {
            held += 1;
            let soon = attack.at <= note.at + 2.0;
            covered += usize::from(soon && attack.new & above(note.pitch) != 0);
        }
        set(Feature::HeldOver, f64::from(1 + held).log2() / 2.0);
        set(Feature::Covered, covered.min(4) as f64 / 4.0);
    }

    fn loud(&self, k: usize, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
        let loud = &self.loudness[k];
        let over = (note.velocity - loud.mark) / 10.0;
        set(Feature::LoudMark, over.clamp(-2.0, 2.0));
        let over = (note.velocity - loud.mean) / (loud.spread + 3.0);
        set(Feature::LoudMean, over.clamp(-2.0, 2.0));
    }

    /// How a note fits the chord that goes on around it.
    fn classes(&self, k: usize, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
        let class = note.pitch % 12;
        let (mut own, mut all, mut crowd) = (0_usize, 0_usize, 0_usize);
        for attack in &self.attacks.list[self.attacks.around(k, 1.0, 1.0)] {
            let mut others = attack.new;
            if (attack.at - self.attacks.list[k].at).abs() < 1e-9 {
                others &= !bit(note.pitch);
            }
            own += (others & class_bits(class)).count_ones() as usize;
            all += others.count_ones() as usize;
            crowd += (others & near_bits(note.pitch, 5)).count_ones() as usize;
        }
        set(Feature::Foreign, f64::from(own == 0 && all >= 3));
        set(
            Feature::Shared,
            (3.0 * own as f64 / all.max(1) as f64).min(1.5),
        );
        set(Feature::Crowd, ((1 + crowd.min(32)) as f64).log2() / 2.0);
    }

    /// How a note comes back as accompaniments do.
    fn returns(&self, k: usize, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
        let bar = self.contexts[k].bar;
        let same = |lag: f64| patterns::same(self.attacks, note, lag);
        let both = |lag: f64| f64::from(u8::from(same(lag)) + u8::from(same(-lag))) / 2.0;
        set(Feature::SameBar, both(bar));
        set(Feature::SameHalf, both(bar / 2.0));
        set(Feature::SameBeat, both(1.0));
        let shape = |lag: f64| patterns::shape(self.attacks, note, lag);
        let both = |lag: f64| f64::from(u8::from(shape(lag)) + u8::from(shape(-lag))) / 2.0;
        set(Feature::ShapeBar, both(bar));
        set(Feature::ShapeHalf, both(bar / 2.0));
        set(Feature::Pattern, patterns::run(self.attacks, note, bar));
        let again = self.attacks.list[self.attacks.around(k, 1.0, 1.0)]
            .iter()
            .filter(|a| a.new & bit(note.pitch) != 0)
            .count();
        let again = again.saturating_sub(1).min(4);
        set(Feature::Returning, again as f64 / 4.0);
        let new = self.attacks.list[k].new;
        let repeated = self
            .neighbours(k)
            .filter(|a| a.new & bit(note.pitch) != 0 && (a.new & new).count_ones() >= 2)
            .count();
        set(Feature::ChordAgain, repeated as f64 / 2.0);
        let pitches = self.attacks.list[k].pitches;
        let alike = [-bar, -bar / 2.0, bar / 2.0, bar]
            .iter()
            .filter_map(|lag| self.attacks.near(note.at + lag))
            .filter(|j| self.attacks.list[*j].pitches == pitches)
            .count();
        set(Feature::AttackAgain, alike as f64 / 4.0);
    }

    /// The attacks right before and after one.
    fn neighbours(&self, k: usize) -> impl Iterator<Item = &Attack> {
        let before = k.checked_sub(1);
        let places = before.into_iter().chain([k + 1]);
        places.filter_map(|at| self.attacks.list.get(at))
    }

    /// The move to the nearest note of an attack: semitones up.
    fn nearest(&self, at: Option<usize>, pitch: u8) -> Option<i32> {
        let attack = at.and_then(|at| self.attacks.list.get(at))?;
        let moves = self.attacks.of(attack).iter();
        moves
            .map(|n| i32::from(n.pitch) - i32::from(pitch))
            .min_by_key(|m| m.abs())
    }

    /// Whether a note goes on from one that ends and leads to one that begins, by step.
    fn steps(&self, k: usize, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
        let step = |other: &Struck| (1..=2).contains(&other.pitch.abs_diff(note.pitch));
        let before = &self.attacks.list[self
            .attacks
            .around(k, 4.0, 0.0)
            .start
            .max(k.saturating_sub(12))..k];
        let into = before.iter().any(|a| {
            let mut all = self.attacks.of(a).iter();
            all.any(|n| step(n) && (n.end - note.at).abs() <= 0.2)
        });
        set(Feature::StepIn, f64::from(into));
        let after = self.attacks.list[k + 1..].iter().take(12);
        let out = after
            .take_while(|a| a.at <= note.end + 0.2)
            .filter(|a| (a.at - note.end).abs() <= 0.2)
            .any(|a| self.attacks.of(a).iter().any(step));
        set(Feature::StepOut, f64::from(out));
        let (before, after) = (
            self.nearest(k.checked_sub(1), note.pitch),
            self.nearest(Some(k + 1), note.pitch),
        );
        let leaps = [before, after]
            .into_iter()
            .flatten()
            .filter(|m| m.abs() > 2)
            .count();
        let onward = before.zip(after).is_some_and(|(b, a)| {
            (3..=12).contains(&b.abs()) && (3..=12).contains(&a.abs()) && (b > 0) != (a > 0)
        });
        set(Feature::Arpeggio, f64::from(onward));
        set(Feature::Zigzag, leaps as f64 / 2.0);
    }
}

fn place(attack: &Attack, context: &Context, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
    let over = attack.above(note.pitch);
    let top = note.pitch >= attack.top();
    set(Feature::Top, f64::from(top));
    set(Feature::TopStruck, f64::from(over == 0 && !top));
    set(Feature::OneAbove, f64::from(over == 1));
    set(Feature::TwoAbove, f64::from(over == 2));
    set(Feature::MoreAbove, over.saturating_sub(2).min(3) as f64);
    set(
        Feature::Lowest,
        f64::from(note.pitch == attack.bottom() && !top),
    );
    let alone = attack.pitches == 1;
    let chord = attack.pitches >= 3;
    set(Feature::Alone, f64::from(alone));
    set(Feature::Chord, f64::from(chord));
    set(Feature::Inner, f64::from(chord && over > 0));
    set(Feature::ChordalTop, f64::from(top) * context.chordal);
    set(Feature::ChordalAlone, f64::from(alone) * context.chordal);
}

fn register(centre: f64, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
    let pitch = f64::from(note.pitch);
    set(Feature::Low, ((57.0 - pitch) / 12.0).clamp(0.0, 2.0));
    set(Feature::High, ((pitch - 84.0) / 12.0).clamp(0.0, 2.0));
    set(
        Feature::UnderCentre,
        ((centre - 4.0 - pitch) / 6.0).clamp(0.0, 3.0),
    );
    set(
        Feature::OverCentre,
        ((pitch - centre - 4.0) / 6.0).clamp(0.0, 3.0),
    );
}

fn rhythm(attack: &Attack, context: &Context, set: &mut impl FnMut(Feature, f64)) {
    let motor = ((1 + context.motor) as f64).log2() / 2.0;
    set(Feature::Motor, motor);
    set(Feature::MotorAlone, motor * f64::from(attack.pitches == 1));
    set(Feature::OnBeat, f64::from(context.on_beat));
    set(Feature::OffGrid, f64::from(context.off_grid));
    set(Feature::FreeRhythm, context.free);
    set(
        Feature::Density,
        (context.density.max(1) as f64).log2() / 2.0,
    );
}

/// A share of which only the last third tells: 0 up to 0.7, then up to 2.
fn very(share: f64) -> f64 {
    ((share - 0.7) / 0.15).clamp(0.0, 2.0)
}

/// The distance to what sounds above and below.
fn room(attack: &Attack, note: &Struck, set: &mut impl FnMut(Feature, f64)) {
    let over = attack.down & above(note.pitch);
    let under = attack.down & below(note.pitch);
    if over != 0 {
        let gap = over.trailing_zeros().saturating_sub(u32::from(note.pitch));
        set(Feature::RoomAbove, f64::from(gap.min(12)) / 12.0);
    }
    let gap = if under == 0 {
        12
    } else {
        u32::from(note.pitch) - (127 - under.leading_zeros())
    };
    set(Feature::RoomBelow, f64::from(gap.min(12)) / 12.0);
    let clash = attack.down & near_bits(note.pitch, 2) & !bit(note.pitch);
    set(Feature::Clash, f64::from(clash != 0));
}

/// Adds what the music is like around each note, and the whole of it: how much of it goes round
/// in patterns, how chordal it is, how smooth its top line is.
pub(super) fn surroundings(
    candidates: &mut [(usize, Values)],
    attacks: &Attacks,
    contexts: &[Context],
) {
    // Sums up to each candidate, so that the mean of any stretch is a difference.
    let sums = GOING_ROUND.map(|features| {
        let mut sums = vec![0.0];
        for (_, values) in candidates.iter() {
            let value: f64 = features
                .iter()
                .map(|f| f64::from(values[*f as usize]))
                .sum();
            sums.push(sums[sums.len() - 1] + value);
        }
        sums
    });
    let mean = |i: usize, stretch: Range<usize>| {
        (sums[i][stretch.end] - sums[i][stretch.start]) / stretch.len().max(1) as f64
    };
    let over_all = |of: fn(&Context) -> f64| {
        contexts.iter().map(of).sum::<f64>() / contexts.len().max(1) as f64
    };
    let (chordal, leaps) = (over_all(|c| c.chordal), over_all(|c| c.leaps));
    let steady = over_all(|c| c.steady);
    let starts: Vec<usize> = (0..=attacks.list.len())
        .map(|k| candidates.partition_point(|c| c.0 < k))
        .collect();
    let all = 0..candidates.len();
    for (k, values) in candidates.iter_mut() {
        let near = attacks.around(*k, AROUND, AROUND);
        let near = starts[near.start]..starts[near.end];
        let context = &contexts[*k];
        for (feature, value) in [
            (Feature::AroundPattern, mean(0, near.clone())),
            (Feature::AroundSteps, mean(1, near.clone())),
            (Feature::AroundAlike, mean(2, near.clone())),
            (Feature::AroundChordal, context.chordal),
            (Feature::AroundSmooth, context.leaps / 6.0),
            (Feature::AroundSteady, very(context.steady)),
            (Feature::WholeSteady, very(steady)),
            (Feature::WholePattern, mean(0, all.clone())),
            (Feature::WholeSteps, mean(1, all.clone())),
            (Feature::WholeAlike, mean(2, all.clone())),
            (Feature::WholeChordal, chordal),
            (Feature::WholeSmooth, leaps / 6.0),
        ] {
            values[feature as usize] = value as f32;
        }
        let slow = mean(3, near.clone()) * near.len() as f64 / figure::SLOW_LINE;
        values[Feature::Figure as usize] *= slow.min(1.0) as f32;
        let parts = part_writing(values) as f32;
        let top = values[Feature::Top as usize];
        values[Feature::PartTop as usize] = parts * top;
        values[Feature::PartUnder as usize] = parts * (1.0 - top);
    }
}

/// How much a piece is written in parts, as a hymn is, 0 to 1: it goes in chords and by step,
/// with as many voices throughout and without patterns. The weights are those of a logistic
/// regression that tells chorales from songs.
fn part_writing(values: &Values) -> f64 {
    let points: f64 = PART_WRITING
        .iter()
        .map(|(feature, weight)| weight * f64::from(values[*feature as usize]))
        .sum();
    1.0 / (1.0 + (PART_WRITING_EVEN - points).exp())
}

/// Adds what a second look knows: the line that the first one found.
pub(super) fn second_look(values: &mut Values, usual: &Usual, attack: &Attack, note: &Struck) {
    let mut set = |feature: Feature, value: f64| values[feature as usize] = value as f32;
    let pitch = f64::from(note.pitch);
    let top = note.pitch >= attack.top();
    set(
        Feature::LineUnder,
        ((usual.centre - 4.0 - pitch) / 6.0).clamp(0.0, 3.0),
    );
    set(
        Feature::LineOver,
        ((pitch - usual.centre - 4.0) / 6.0).clamp(0.0, 3.0),
    );
    let louder = (note.velocity - usual.velocity) / 10.0;
    set(Feature::LineLoud, -louder.abs().min(2.0));
    set(Feature::LineLouder, louder.clamp(-2.0, 2.0));
    set(Feature::LineTop, f64::from(top) * (2.0 * usual.top - 1.0));
    let alone = f64::from(attack.pitches == 1);
    set(Feature::LineAlone, alone * (2.0 * usual.alone - 1.0));
    let ratio = (note.length().max(0.05) / usual.length.max(0.05)).log2();
    set(Feature::LineLength, ratio.abs().min(3.0));
    set(Feature::LineThere, usual.there);
    let always = ((usual.top - 0.85) / 0.15).max(0.0);
    set(Feature::LineAlwaysTop, f64::from(top) * always);
    set(Feature::LineNeverUnder, f64::from(!top) * always);
    let near = usual.near.map_or(0.5, |near| (pitch - near).abs() / 6.0);
    set(Feature::LineNear, near.min(2.0));
}

/// All pitches of a class, as bits.
fn class_bits(class: u8) -> u128 {
    (0..128_u8).step_by(12).fold(0, |all, octave| {
        if octave + class < 128 {
            all | bit(octave + class)
        } else {
            all
        }
    })
}

/// All pitches within so many semitones, as bits.
fn near_bits(pitch: u8, within: u8) -> u128 {
    let from = pitch.saturating_sub(within);
    let to = pitch.saturating_add(within).min(127);
    !(below(from) | above(to))
}
