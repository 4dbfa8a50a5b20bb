//! Values in the words of the sheet.

use crate::band::Level;
use crate::music::{BarBeat, BarNumber, KeySignature};
use crate::review::{Exposed, ExposedMoment};
use crate::score::{self, BeatsAMinute, as_ranges};

/// `bar 5`, `bars 5-8, 13`.
pub(crate) fn bars_in_words(bars: &[BarNumber]) -> String {
    score::bars_in_words(&as_ranges(bars.iter().copied()))
}

/// From one bar to another: `bar 5`, `bars 5-8`.
pub(crate) fn span_in_words(first: BarNumber, last: BarNumber) -> String {
    score::bars_in_words(&[(first, last)])
}

/// `2 flats`, `1 sharp`, `no sharps or flats`.
pub(crate) fn signs_in_words(key: KeySignature) -> String {
    let count = key.fifths().unsigned_abs();
    let s = if count == 1 { "" } else { "s" };
    match key.fifths() {
        0 => "no sharps or flats".to_owned(),
        1.. => format!("{count} sharp{s}"),
        _ => format!("{count} flat{s}"),
    }
}

/// `3 second-year, 1 advanced`.
pub(crate) fn levels_in_words(levels: &[(Level, u16)]) -> String {
    let words: Vec<String> = levels.iter().map(|(l, n)| format!("{n} {l}")).collect();
    words.join(", ")
}

/// Each with the bar that it holds from; the bar is left out where there is one from the beginning alone.
pub(crate) fn from_bars<T>(all: &[(BarNumber, T)], words: impl Fn(&T) -> String) -> String {
    if let [(BarNumber(1), only)] = all {
        return words(only);
    }
    let each = all
        .iter()
        .map(|(bar, what)| format!("{} from bar {bar}", words(what)));
    each.collect::<Vec<_>>().join(", ")
}

/// Most tempos that are told one by one.
const TEMPOS: usize = 4;

/// The tempos, or from which to which they go where there are many.
pub(crate) fn tempos_in_words(tempos: &[(BarNumber, BeatsAMinute)]) -> String {
    if tempos.len() <= TEMPOS {
        return from_bars(tempos, BeatsAMinute::to_string);
    }
    let beats = || tempos.iter().map(|(_, t)| t);
    let ends = (
        beats().min_by_key(|t| t.beats),
        beats().max_by_key(|t| t.beats),
    );
    match ends {
        (Some(low), Some(high)) => format!("{} tempos, from {low} to {high}", tempos.len()),
        _ => String::new(),
    }
}

/// Why a part is heard by itself, in a few words.
pub(crate) const fn exposed_in_words(why: Exposed) -> &'static str {
    match why {
        Exposed::Alone => "alone",
        Exposed::Few => "nearly alone",
        Exposed::Tune => "alone with the tune",
    }
}

/// A moment in words: `bars 5-6: alone, 2.3 seconds, 1 player sounding`.
pub(crate) fn moment_in_words(moment: &ExposedMoment) -> String {
    let bars = span_in_words(moment.place.bar, moment.last_bar);
    let why = exposed_in_words(moment.why);
    let players = moment.players;
    let s = if players == 1 { "" } else { "s" };
    let together = match moment.why {
        Exposed::Alone => format!("{players} player{s}"),
        Exposed::Few => format!("{players} player{s} in all"),
        Exposed::Tune => format!("{players} player{s} on it"),
    };
    format!("{bars}: {why}, {:.1} s, {together}", moment.seconds)
}

/// So many causes of what is hard are told.
pub(crate) const CAUSES: usize = 2;

/// The hardest note of a spot, how likely it comes out clean, and what makes it hard.
pub(crate) fn hardest_in_words(
    (place, written, chance): (BarBeat, String, f64),
    exposed: Option<Exposed>,
    causes: &[String],
) -> String {
    let mut text = format!("{place}: {written}, clean chance {chance:.2}");
    if let Some(why) = exposed {
        text.push_str(&format!("; heard {}", exposed_in_words(why)));
    }
    for cause in causes.iter().take(CAUSES) {
        text.push_str(&format!("; {cause}"));
    }
    text
}
