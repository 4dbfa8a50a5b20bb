//! A show of several movements, with pauses between.

use super::AnyTimeline;
use super::check::{LONGEST_PAUSE, name_fault, number_fault};
use super::place::Seconds;

/// A movement of a show.
#[derive(Clone, PartialEq, Debug)]
pub struct Movement {
    /// How it is to go.
    pub timeline: AnyTimeline,
    /// Seconds until the next movement begins.
    pub pause_after: f64,
}

/// Movements that follow one another.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Show {
    /// What it is called.
    pub name: String,
    /// Its movements, in order.
    pub movements: Vec<Movement>,
}

/// How much of a show lies before a movement.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Offset {
    /// Bars; `None` where a movement before it is planned in seconds and has no music yet.
    pub bars: Option<u32>,
    /// Seconds, pauses included; `None` where a movement before it is a template, which has no length.
    pub seconds: Option<f64>,
}

impl Offset {
    /// That of the first movement.
    pub const NONE: Self = Self {
        bars: Some(0),
        seconds: Some(0.0),
    };

    /// After some more: how many bars and seconds, and a pause.
    #[must_use]
    pub fn after(self, bars: Option<u32>, seconds: Option<f64>, pause: f64) -> Self {
        let sum = self.bars.zip(bars).map(|(a, b)| a.saturating_add(b));
        let time = self.seconds.zip(seconds).map(|(a, b)| a + b + pause);
        Self {
            bars: sum,
            seconds: time,
        }
    }
}

impl Show {
    /// How much lies before each movement, by what is planned; one more for the whole. Where movements have music,
    /// give its bars and seconds instead (in order; `None` for those without).
    ///
    /// ```
    /// use bandwright::plan::timeline::{Movement, Show, Timeline, bar_line};
    /// let movement = |bars: u32, pause_after| Movement {
    ///     timeline: Timeline::new("march", bar_line(bars + 1)).into(),
    ///     pause_after,
    /// };
    /// let show = Show { name: "Two marches".into(), movements: vec![movement(16, 20.0), movement(32, 0.0)] };
    /// let offsets = show.offsets(&[]);
    /// // 120 beats a minute, four in a bar: two seconds a bar.
    /// assert_eq!((offsets[1].bars, offsets[1].seconds), (Some(16), Some(52.0)));
    /// assert_eq!((offsets[2].bars, offsets[2].seconds), (Some(48), Some(116.0)));
    /// ```
    #[must_use]
    pub fn offsets(&self, music: &[Option<(u32, f64)>]) -> Vec<Offset> {
        let mut now = Offset::NONE;
        let mut all = vec![now];
        for (i, movement) in self.movements.iter().enumerate() {
            let (bars, seconds) = match music.get(i).copied().flatten() {
                Some((bars, seconds)) => (Some(bars), Some(seconds)),
                None => planned(&movement.timeline),
            };
            now = now.after(bars, seconds, movement.pause_after.max(0.0));
            all.push(now);
        }
        all
    }

    /// Whether all of it can be used.
    ///
    /// # Errors
    /// On the first thing that cannot, in a sentence that names its movement.
    pub fn check(&self) -> Result<(), String> {
        if let Some(text) = name_fault(&self.name, false) {
            return Err(text);
        }
        for (i, movement) in self.movements.iter().enumerate() {
            let said = |text: String| format!("movement {}: {text}", i + 1);
            let checked = movement.timeline.check();
            checked.map_err(|e| said(e.to_string()))?;
            let pause = number_fault("pause", movement.pause_after, (0.0, LONGEST_PAUSE));
            pause.map_or(Ok(()), |text| Err(said(text)))?;
        }
        Ok(())
    }
}

/// Bars and seconds that are planned.
fn planned(timeline: &AnyTimeline) -> (Option<u32>, Option<f64>) {
    match timeline {
        AnyTimeline::Bars(t) => {
            let Seconds(mut seconds) = t.seconds_to(t.end);
            // A pause at the very end is over before the next movement begins.
            let late = t.pauses.iter().filter(|p| p.at == t.end);
            seconds += late.map(|p| p.seconds).sum::<f64>();
            (Some(t.bars()), Some(seconds))
        }
        AnyTimeline::Seconds(t) => (None, Some(t.end.0)),
        AnyTimeline::Shares(_) => (None, None),
    }
}
