//! How loud a part is.

use super::critical_bands::Partial;
use super::decibels::Decibels;
use super::tables::{self, Bell, Row, Spectrum};
use crate::band::instrument::Instrument;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::roster::Part;
use crate::music::{Dynamic, Sounding};

/// Steps from pp to ff.
const STEPS: f64 = 5.0;

/// How loud one player of a level plays a note, in all directions together. `None` for what is left
/// out of balance: struck and amplified instruments.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn one_player(
    instrument: &Instrument,
    level: Level,
    pitch: Sounding,
    dynamic: Dynamic,
) -> Result<Option<Decibels>, TableError> {
    let Some(row) = tables::row(&instrument.id)? else {
        return Ok(None);
    };
    let table = tables::table()?;
    let line = |d: Dynamic| {
        let (pp, ff) = (row.instrument.pp, row.instrument.ff);
        // Louder than ff: one more step of the line (ours).
        pp + (ff - pp) * d.steps() as f64 / STEPS
    };
    let middle = line(Dynamic::Mf);
    let skilled = middle + table.skill.share.at(level) * (line(dynamic) - middle);
    let place = place(instrument, pitch);
    let adds = adds(&row, place);
    let floor = &table.soft_floor;
    let no_soft = adds > floor.over || (row.register.no_soft_bottom && place <= floor.bottom);
    let least = if no_soft {
        middle + adds - floor.under
    } else {
        f64::NEG_INFINITY
    };
    Ok(Some(Decibels((skilled + adds).max(least))))
}

/// What the place of a note in the instrument's professional range adds, dB; `None` for what is left out
/// of balance.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn register_adds(instrument: &Instrument, pitch: Sounding) -> Result<Option<f64>, TableError> {
    let row = tables::row(&instrument.id)?;
    Ok(row.map(|row| adds(&row, place(instrument, pitch))))
}

/// What the direction of the bell adds towards an audience in front, dB; 0 for what is left out of balance.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn toward_audience(instrument: &Instrument) -> Result<Decibels, TableError> {
    let bells = &tables::table()?.bell;
    let row = tables::row(&instrument.id)?;
    Ok(Decibels(row.map_or(0.0, |row| match row.instrument.bell {
        Bell::Forward => bells.forward,
        Bell::Up => bells.up,
        Bell::Back => bells.back,
        Bell::AllRound => bells.all_round,
    })))
}

/// How loud the players of a part who are there play a note together, towards an audience in front.
/// Silence for parts without players, and for what is left out of balance.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn part_level(part: &Part, pitch: Sounding, dynamic: Dynamic) -> Result<Decibels, TableError> {
    let mut power = 0.0;
    for (level, players) in part.players.levels() {
        let one = one_player(&part.instrument, level, pitch, dynamic)?;
        power += one.map_or(0.0, |l| l.times(players).power());
    }
    Ok(Decibels::of_power(power) + toward_audience(&part.instrument)?)
}

/// A note of a part as it is heard: its level, and its partials.
#[derive(Clone, PartialEq, Debug)]
pub struct Tone {
    /// Sound power towards the audience.
    pub level: Decibels,
    /// Partials at the listener, lowest first, with their places in Bark.
    pub partials: Vec<(Partial, f64)>,
}

/// How far away the listener stands, m, and what that takes from a level over hard ground, dB. It
/// matters only for how far loud partials cover others (ours).
const LISTENER_METRES: f64 = 25.0;
const HALF_SPACE: f64 = 8.0;
/// Partials of a tone that count, and up to which frequency.
const PARTIALS: u8 = 12;
const HIGHEST_HERTZ: f64 = 10_000.0;

/// A note of a part as it is heard; `None` where it is silent or left out of balance.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn tone(part: &Part, pitch: Sounding, dynamic: Dynamic) -> Result<Option<Tone>, TableError> {
    let level = part_level(part, pitch, dynamic)?;
    let Some(row) = tables::row(&part.instrument.id)?.filter(|_| level.0.is_finite()) else {
        return Ok(None);
    };
    let low = place(&part.instrument, pitch) < 0.5;
    let heard = level.0 - 20.0 * LISTENER_METRES.log10() - HALF_SPACE;
    Ok(Some(Tone {
        level,
        partials: partials(row.spectrum, pitch.hertz(), dynamic, low, heard),
    }))
}

/// The partials of a tone, their powers adding up to the tone's.
fn partials(
    s: &Spectrum,
    hertz: f64,
    dynamic: Dynamic,
    low: bool,
    heard: f64,
) -> Vec<(Partial, f64)> {
    let steps = (dynamic.steps() as f64).clamp(1.0, STEPS) - 1.0;
    let ratio = s.ratio[0] + (s.ratio[1] - s.ratio[0]) * steps / (STEPS - 1.0);
    let amplitude = |k: u8| {
        let weak = low && k <= 4 && k.is_multiple_of(2);
        ratio.powi(i32::from(k) - 1) * if weak { s.even } else { 1.0 }
    };
    let all = (1..=PARTIALS).map(|k| (hertz * f64::from(k), amplitude(k)));
    let kept: Vec<(f64, f64)> = all.filter(|(h, _)| *h <= HIGHEST_HERTZ).collect();
    let whole: f64 = kept.iter().map(|(_, a)| a * a).sum();
    let one = |(hertz, a): (f64, f64)| {
        let level = heard + 10.0 * (a * a / whole).log10();
        (Partial { hertz, level }, super::bark(hertz))
    };
    kept.into_iter().map(one).collect()
}

/// 0 at the bottom of the professional range, 1 at its top.
fn place(instrument: &Instrument, pitch: Sounding) -> f64 {
    let range = instrument.professional;
    let written = instrument.transposition.written(pitch);
    let span = f64::from((range.high.0 - range.low.0).max(1));
    (f64::from(written.0 - range.low.0) / span).clamp(0.0, 1.0)
}

fn adds(row: &Row, place: f64) -> f64 {
    let [a, b, c, d, e] = row.register.adds;
    let quarter = place * 4.0;
    let (from, to, start) = match quarter {
        q if q < 1.0 => (a, b, 0.0),
        q if q < 2.0 => (b, c, 1.0),
        q if q < 3.0 => (c, d, 2.0),
        _ => (d, e, 3.0),
    };
    from + (to - from) * (quarter - start)
}
