//! Quantising: a song that was played in gets the times that would be written.
//!
//! Step-entered music is on a grid already and passes unchanged. What was played to the beats of
//! the file is fitted to them, beat by beat; where the file's beats do not fit, the beats are
//! found by ear first.

mod bars;
mod beats;
mod click;
mod divisions;
mod fit;
mod lengths;
mod listen;
mod plain_grid;
mod pulse;
mod quantised;
mod retime;
mod ruler;
mod smooth;
mod strikes;
mod swing;
mod track;
mod voices;
mod written;

pub use quantised::{Quantised, Taken, Times};
pub use swing::Swing;

use crate::music::{Meter, Tick};
use crate::sketch::song::{Song, Warning};
use divisions::DIVISIONS;
use fit::{Fitted, Place, error, fit};
use listen::{Heard, listen};
use quantised::Warp;
use ruler::Ruler;
use strikes::{Strike, attacks, strikes};
use written::{WrittenNote, written};

/// With fewer attacks than this there is nothing to tell a grid by.
const FEWEST: usize = 8;
/// With more notes than this no sketch is meant, and the time to fit them is not spent.
const MOST: usize = 500_000;
/// Below this the arranger is told to look.
const LOW: f64 = 0.5;

/// Gives a song that was played in the times that would be written.
///
/// Never loses or adds a note, and keeps the order of the notes of each key. A score, a song without notes,
/// one with too few to tell a grid by, or on a plain grid comes back as it is. Time grows with the
/// number of notes.
///
/// ```
/// use bandwright::sketch::{Taken, Times, quantise, read_song};
///
/// let song = read_song(bandwright::cli::files::DEMO_SKETCH)?;
/// let quantised = quantise(&song, Times::Auto);
/// assert_eq!(quantised.taken, Taken::StepEntered);
/// assert_eq!(quantised.song, song);
/// # Ok::<(), bandwright::sketch::ReadError>(())
/// ```
#[must_use]
pub fn quantise(song: &Song, times: Times) -> Quantised {
    if song.is_written() {
        return Quantised::unchanged(song, Taken::StepEntered, 1.0);
    }
    if times == Times::Played {
        return Quantised::unchanged(song, Taken::AsPlayed, 1.0);
    }
    if times == Times::Auto && plain_grid::is_on_plain_grid(song) {
        return Quantised::unchanged(song, Taken::StepEntered, 1.0);
    }
    let strikes = strikes(song);
    if strikes.len() > MOST {
        let mut same = Quantised::unchanged(song, Taken::AsPlayed, 0.0);
        same.song.warnings.push(Warning::music(format!(
            "{} notes are too many to find their written times; the played times are kept",
            strikes.len()
        )));
        return same;
    }
    let attacks = attacks(&strikes);
    let ruler = Ruler::Meters(&song.meters);
    if times == Times::Written && plain_grid::is_on_plain_grid(song) {
        return to_own_beats(song, &strikes, &ruler);
    }
    if attacks.len() < FEWEST {
        let mut same = Quantised::unchanged(song, Taken::AsPlayed, 0.0);
        same.song.warnings.push(Warning::music(
            "the notes are off the grid but too few to find beats by; the played times are kept",
        ));
        return same;
    }
    if click::is_kept(click::keeping(&attacks, &ruler)) {
        return to_own_beats(song, &strikes, &ruler);
    }
    let given = song.meters.given().first().map(|c| c.meter);
    match listen(&strikes, &attacks, given) {
        Some(heard) if !own_fit_as_well(song, &strikes, &heard) => {
            to_heard_beats(song, &strikes, heard, given)
        }
        _ => to_own_beats(song, &strikes, &ruler),
    }
}

/// Strikes by which the beats of the file and those found by ear are compared.
const COMPARED: usize = 800;
/// How much better beats found by ear must fit, in nats a strike: they follow every note.
const EAR_LEAD: f64 = 0.15;

/// Whether the notes fit the file's own beats as well as those found by ear.
fn own_fit_as_well(song: &Song, strikes: &[Strike], heard: &Heard) -> bool {
    let some = &strikes[..strikes.len().min(COMPARED)];
    let own = fit(
        some,
        &own_places(song, some),
        &Ruler::Meters(&song.meters),
        2,
    );
    let ear = fit(some, &heard.places[..some.len()], &heard.value.ruler(), 2);
    own.cost <= ear.cost + EAR_LEAD * some.len() as f64
}

/// Where the strikes lie on the beats of the file.
fn own_places(song: &Song, strikes: &[Strike]) -> Vec<Place> {
    let quarter = f64::from(song.quarter.get());
    let place = |s: &Strike| {
        let tick_seconds = 60.0 / song.tempo.quarters_per_minute(s.onset) / quarter;
        let at = s.onset.0 as f64 + (s.heard - s.down) / tick_seconds;
        Place { at, tick_seconds }
    };
    strikes.iter().map(place).collect()
}

/// Fits the notes to the beats of the file.
fn to_own_beats(song: &Song, strikes: &[Strike], ruler: &Ruler<'_>) -> Quantised {
    let mut places = own_places(song, strikes);
    let late = lateness(&fit(strikes, &places, ruler, 1), &places);
    for place in &mut places {
        place.at = (place.at - late / place.tick_seconds).max(0.0);
    }
    let mut fitted = fit(strikes, &places, ruler, 3);
    let confidence = closeness(&fitted, &places);
    let swing = swing::straighten(&mut fitted, &places);
    let on_grid = |t: Tick| t.0 as f64;
    let notes = written(strikes, &fitted, u64::from(song.quarter.get()), &on_grid);
    let mut pairs = anchors(&notes);
    if pairs.first().is_some_and(|p| p.0 > 0.0 && p.1 > 0.0) {
        pairs.insert(0, (0.0, 0.0));
    }
    let warp = Warp::new(pairs, 1.0);
    let seconds = |n: &WrittenNote| song.tempo.seconds(Tick(n.onset)) - n.strike.down;
    let mut done = told(
        &retime::retimed(song, &notes, &warp),
        &notes,
        swing,
        &seconds,
    );
    done.confidence = confidence;
    done.warp = Some(warp);
    warn(&mut done, "the beats of the file");
    done
}

/// How late notes are on the whole, in seconds: the median.
fn lateness(fitted: &Fitted, places: &[Place]) -> f64 {
    let errors = fitted
        .spots
        .iter()
        .zip(places)
        .filter_map(|(s, p)| s.map(|s| error(&s, p)));
    let mut errors: Vec<f64> = errors.collect();
    errors.sort_by(f64::total_cmp);
    errors.get(errors.len() / 2).copied().unwrap_or(0.0)
}

/// Writes the notes on beats found by ear.
fn to_heard_beats(
    song: &Song,
    strikes: &[Strike],
    mut heard: Heard,
    given: Option<Meter>,
) -> Quantised {
    let bars = bars::bars(&heard, strikes, given);
    let lead = count_in(&heard, bars.lead, bars.beats);
    heard.count_from(lead);
    let Heard {
        beats,
        value,
        fitted,
        places,
        lead,
    } = &mut heard;
    let confidence = closeness(fitted, places) * (0.6 + 0.4 * *lead);
    let swing = swing::straighten(fitted, places);
    let ticks = value.ticks as f64;
    let on_grid = |t: Tick| beats.place(song.tempo.seconds(t)).0 * ticks;
    let notes = written(strikes, fitted, listen::QUARTER, &on_grid);
    let pairs = anchors(&notes);
    let slope = match (pairs.first(), pairs.last()) {
        (Some(a), Some(b)) if b.0 > a.0 => (b.1 - a.1) / (b.0 - a.0),
        _ => 1.0,
    };
    let warp = Warp::new(pairs, slope);
    let seconds = |n: &WrittenNote| beats.seconds(n.onset as f64 / ticks) - n.strike.down;
    let moved = retime::retimed(song, &notes, &warp);
    let moved = retime::on_found_grid(moved, beats, *value, &bars, &warp);
    let mut done = told(&moved, &notes, swing, &seconds);
    done.confidence = confidence;
    done.tempo_found = Some(60.0 / beats.period() * ticks / listen::QUARTER as f64);
    done.warp = Some(warp);
    warn(&mut done, "beats found by ear");
    done
}

/// How many beats to count before the first that was found: so that bars begin with their
/// downbeats, and about as many as there was silence for.
fn count_in(heard: &Heard, lead: u64, bar: u64) -> u64 {
    let silence = heard.beats.seconds(0.0) / heard.beats.period();
    let bars = ((silence - lead as f64) / bar.max(1) as f64)
        .round()
        .clamp(0.0, 64.0);
    lead + bar * bars as u64
}

/// How near notes are to where they are written, against notes at random: 1 is on the spot.
fn closeness(fitted: &Fitted, places: &[Place]) -> f64 {
    let (mut off, mut room) = (0.0, 0.0);
    for (spot, place) in fitted.spots.iter().zip(places) {
        if let Some(spot) = spot {
            let parts = DIVISIONS[usize::from(spot.division)].parts as f64;
            off += error(spot, place).abs();
            room += spot.cell.full as f64 / parts * place.tick_seconds / 4.0;
        }
    }
    if room > 0.0 {
        (1.0 - off / room).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// Where each written time was played first.
fn anchors(notes: &[WrittenNote]) -> Vec<(f64, f64)> {
    let mut pairs: Vec<(f64, f64)> = Vec::new();
    for note in notes.iter().filter(|n| !n.grace) {
        let (file, written) = (note.strike.onset.0 as f64, note.onset as f64);
        match pairs.last_mut() {
            Some(last) if last.1 >= written => last.0 = last.0.min(file),
            _ => pairs.push((file, written)),
        }
    }
    pairs
}

/// The re-timed song with what is to be told of its notes. `moved` is how far a note was moved,
/// in seconds.
fn told(
    song: &Song,
    notes: &[WrittenNote],
    swing: Vec<Swing>,
    moved: &dyn Fn(&WrittenNote) -> f64,
) -> Quantised {
    let mut done = Quantised::unchanged(song, Taken::Quantised, 0.0);
    done.swing = swing;
    done.graces = notes.iter().filter(|n| n.grace).count();
    let mut chords: Vec<(u64, usize)> = notes
        .iter()
        .filter(|n| n.rolled)
        .map(|n| (n.onset, n.strike.track))
        .collect();
    chords.sort_unstable();
    chords.dedup();
    done.rolled = chords.len();
    let sum: f64 = notes.iter().map(|n| moved(n).abs()).sum();
    done.mean_shift_ms = 1000.0 * sum / notes.len().max(1) as f64;
    done
}

fn warn(done: &mut Quantised, by: &str) {
    let text = if done.confidence < LOW {
        format!(
            "played in: written times follow {by}, but they fit poorly (confidence {:.2}); \
             `--times played` keeps yours",
            done.confidence
        )
    } else {
        format!("played in: written times, by {by}, are used; `--times played` keeps yours")
    };
    done.song.warnings.push(Warning::music(text));
}
