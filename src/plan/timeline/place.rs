//! Places in a show: by bar, in seconds, or as a share of the whole. Three types, so that none is taken for another.

use crate::music::{BarBeat, BarNumber, Meter};
use std::fmt::Debug;

/// Seconds from the beginning of a movement.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug, Default)]
pub struct Seconds(pub f64);

/// A share of a movement: 0 is its beginning, 1 its end.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug, Default)]
pub struct Share(pub f64);

/// The last bar that a timeline may have (ours: far over any show).
pub const MOST_BARS: u32 = 10_000;
/// The most seconds that a timeline may last: six hours (ours: far over any show).
pub const MOST_SECONDS: f64 = 21_600.0;

/// A kind of place in a show.
pub trait Place: Copy + PartialEq + Debug {
    /// The beginning.
    const START: Self;

    /// How far along it is, in bars, seconds or shares; `meter` is that of the timeline.
    fn along(self, meter: Meter) -> f64;

    /// As people say it: `bar 17, beat 3`, `95 s`, `0.6 of the whole`.
    fn words(self) -> String;

    /// Why it is no place at all; `None` where it is one.
    fn fault(self, meter: Meter) -> Option<String>;

    /// As people type it: `17`, `17, beat 3`; `1:35`; `60 %`. [`Self::from_typed`] gives it back to a thousandth.
    fn typed(self) -> String;

    /// The place that somebody typed; `None` where it is none. Whether it lies in the meter is for [`Self::fault`].
    ///
    /// ```
    /// use bandwright::music::BarBeat;
    /// use bandwright::plan::timeline::{Place, Seconds, Share};
    /// let place: BarBeat = Place::from_typed(" bar 17, beat 3").unwrap();
    /// assert_eq!(place.typed(), "17, beat 3");
    /// assert_eq!(BarBeat::from_typed("17 3"), Some(place));
    /// assert_eq!(Seconds::from_typed("1:35.5"), Some(Seconds(95.5)));
    /// assert_eq!(Seconds::from_typed("95 s").unwrap().typed(), "1:35");
    /// assert_eq!(Share::from_typed("60 %"), Some(Share(0.6)));
    /// assert_eq!(Seconds::from_typed("soon"), None);
    /// ```
    fn from_typed(text: &str) -> Option<Self>;

    /// What may be typed, for who typed something else.
    const EXAMPLE: &'static str;
}

/// How many felt beats a bar of a meter has: 4 in 4/4, 2 in 6/8.
#[must_use]
pub fn beats_in_bar(meter: Meter) -> u32 {
    let numerator = u32::from(meter.numerator());
    if meter.is_compound() {
        numerator / 3
    } else {
        numerator
    }
}

impl Place for BarBeat {
    const START: Self = Self {
        bar: BarNumber(1),
        beat: 1.0,
    };

    fn along(self, meter: Meter) -> f64 {
        let beats = f64::from(beats_in_bar(meter).max(1));
        f64::from(self.bar.0) - 1.0 + (self.beat - 1.0) / beats
    }

    fn words(self) -> String {
        if self.beat == 1.0 {
            format!("bar {}", self.bar)
        } else {
            self.to_string()
        }
    }

    fn fault(self, meter: Meter) -> Option<String> {
        let beats = beats_in_bar(meter);
        if self.bar.0 == 0 || self.bar.0 > MOST_BARS + 1 {
            return Some(format!("bars are counted from 1 to {MOST_BARS}"));
        }
        let inside = self.beat >= 1.0 && self.beat < f64::from(beats) + 1.0;
        let said = || format!("a bar of {meter} has beats 1 to {beats}; choose one of them");
        (!inside).then(said)
    }

    fn typed(self) -> String {
        let beat = thousandths(self.beat);
        if beat == 1.0 {
            self.bar.to_string()
        } else {
            format!("{}, beat {beat}", self.bar)
        }
    }

    fn from_typed(text: &str) -> Option<Self> {
        let is_between = |c: char| c.is_whitespace() || c == ',';
        let words = text.split(is_between).filter(|w| !w.is_empty());
        let numbers: Vec<&str> = words.filter(|w| !["bar", "beat"].contains(w)).collect();
        let (bar, beat) = match numbers[..] {
            [bar] => (bar, 1.0),
            [bar, beat] => (bar, number(beat)?),
            _ => return None,
        };
        let bar = BarNumber(bar.parse().ok()?);
        Some(Self { bar, beat })
    }

    const EXAMPLE: &'static str = "a bar (17), or a bar and a beat (17, beat 3)";
}

impl Place for Seconds {
    const START: Self = Self(0.0);

    fn along(self, _: Meter) -> f64 {
        self.0
    }

    fn words(self) -> String {
        format!("{} s", (self.0 * 100.0).round() / 100.0)
    }

    fn fault(self, _: Meter) -> Option<String> {
        let inside = self.0 >= 0.0 && self.0 <= MOST_SECONDS;
        let said = || format!("seconds are numbers from 0 to {MOST_SECONDS}");
        (!inside).then(said)
    }

    fn typed(self) -> String {
        let all = thousandths(self.0.max(0.0));
        let minutes = (all / 60.0).floor();
        let seconds = thousandths(all - 60.0 * minutes);
        let zero = if seconds < 10.0 { "0" } else { "" };
        format!("{minutes}:{zero}{seconds}")
    }

    fn from_typed(text: &str) -> Option<Self> {
        let text = text.trim().trim_end_matches('s').trim_end();
        let (minutes, seconds) = text.split_once(':').unwrap_or(("0", text));
        let minutes: u32 = minutes.trim().parse().ok()?;
        Some(Self(60.0 * f64::from(minutes) + number(seconds)?))
    }

    const EXAMPLE: &'static str = "minutes and seconds (1:35), or seconds (95)";
}

impl Place for Share {
    const START: Self = Self(0.0);

    fn along(self, _: Meter) -> f64 {
        self.0
    }

    fn words(self) -> String {
        format!("{} of the whole", (self.0 * 1000.0).round() / 1000.0)
    }

    fn fault(self, _: Meter) -> Option<String> {
        let inside = self.0 >= 0.0 && self.0 <= 1.0;
        (!inside).then(|| "shares are numbers from 0 (the beginning) to 1 (the end)".to_owned())
    }

    fn typed(self) -> String {
        format!("{} %", thousandths(self.0 * 100.0))
    }

    fn from_typed(text: &str) -> Option<Self> {
        let hundredths = number(text.trim().trim_end_matches('%'))?;
        Some(Self(hundredths / 100.0))
    }

    const EXAMPLE: &'static str = "hundredths of the whole (60 %)";
}

/// A number that is one.
fn number(text: &str) -> Option<f64> {
    let number: f64 = text.trim().parse().ok()?;
    number.is_finite().then_some(number)
}

fn thousandths(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

/// Parts of a beat that places are rounded to where they are worked out (ours).
const FINEST: f64 = 960.0;

/// The bar and beat that lie so many bars along; the beginning for what is no number or before it.
///
/// ```
/// use bandwright::music::Meter;
/// use bandwright::plan::timeline::{Place, at_bars};
/// assert_eq!(at_bars(16.5, Meter::COMMON).words(), "bar 17, beat 3");
/// assert_eq!(at_bars(-2.0, Meter::COMMON).words(), "bar 1");
/// ```
#[must_use]
pub fn at_bars(along: f64, meter: Meter) -> BarBeat {
    let beats = f64::from(beats_in_bar(meter).max(1));
    let most = f64::from(MOST_BARS);
    // `max` takes the number where the other is none.
    let parts = (along.max(0.0).min(most) * beats * FINEST).round();
    let bar = (parts / (beats * FINEST)).floor();
    BarBeat {
        bar: BarNumber(bar as u32 + 1),
        beat: 1.0 + (parts - bar * beats * FINEST) / FINEST,
    }
}
