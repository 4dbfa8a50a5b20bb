//! By how much the notes of a SoundFont are off the level that all built-in tones have.

use super::error::FontError;
use super::keep::Kept;
use super::meter::{Listen, Meter, Sounded};
use super::note::FontNote;
use super::region::Region;
use super::tick::{OWN_TICK, SPARE_TICK, TICK_FIRST};
use crate::sound::events::SoundScore;
use crate::sound::tones::{Body, Shade, TONE_RMS, Tone, tones};
use rustysynth::SoundFont;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Most that is added or taken away, dB (ours): what is softer still is noise.
const MOST_DB: f64 = 24.0;
/// What is softer than this is silent (ours): 60 dB under the level of the tones.
const SILENT: f64 = TONE_RMS / 1000.0;
/// Most keys between two that are listened to (ours).
const APART: u8 = 6;

/// What is to be added to the level of each note, dB: none for the built-in sounds, which is the default.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Calibration {
    /// For tones and shades: keys, lowest first, and what is added there.
    curves: BTreeMap<(&'static str, Shade), Vec<(u8, f64)>>,
    tick: f64,
}

impl Calibration {
    /// What is to be added for a note of a tone, dB. Between keys that were listened to it goes evenly, beyond them it
    /// stays.
    #[must_use]
    pub fn add_db(&self, tone: &Tone, shade: Shade, key: u8) -> f64 {
        let curve = self.curves.get(&(tone.name, shade));
        curve.map_or(0.0, |c| along(c, key))
    }

    /// What is to be added for the tick of the count-in, dB.
    #[must_use]
    pub const fn tick_db(&self) -> f64 {
        self.tick
    }

    /// By how much everything is to be turned up, dB, never negative: players turn notes down, not up, so that notes
    /// of a soft font are told so much less ([`Self::applied`]) and the whole is made louder instead.
    #[must_use]
    pub fn headroom_db(&self) -> f64 {
        let all = self.curves.values().flatten().map(|(_, db)| *db);
        all.fold(self.tick.max(0.0), f64::max)
    }

    /// A score whose notes come out at their levels when it is played with this font and all is turned up by
    /// [`Self::headroom_db`].
    #[must_use]
    pub fn applied(&self, score: &SoundScore) -> SoundScore {
        let headroom = self.headroom_db();
        let mut score = score.clone();
        for note in &mut score.notes {
            if let Some(chair) = score.chairs.get(note.chair) {
                note.gain_db += self.add_db(chair.tone, note.shade, note.key) - headroom;
            }
        }
        score
    }

    /// Listens to what is kept of a font; notes of what is silent or off its level are added to `notes`.
    pub(super) fn of(
        font: &Arc<SoundFont>,
        kept: &Kept,
        notes: &mut Vec<FontNote>,
    ) -> Result<Self, FontError> {
        let mut listener = Listener {
            meter: Meter::new(font)?,
            heard: BTreeMap::new(),
        };
        let mut made = Self::default();
        for (tone, entries) in tones().zip(kept.entries.chunks(Shade::ALL.len())) {
            if !kept.own.contains(tone.name) {
                continue;
            }
            let (mut silent, mut off) = (0, false);
            for (shade, entry) in Shade::ALL.into_iter().zip(entries) {
                let regions = kept.instruments.get(entry.instrument);
                let mut curve = Vec::new();
                for key in keys(tone, regions.map_or(&[][..], Vec::as_slice)) {
                    match listener.db(tone, shade, entry.instrument, key) {
                        Some(db) => {
                            off |= db.abs() > MOST_DB;
                            curve.push((key, db.clamp(-MOST_DB, MOST_DB)));
                        }
                        None => silent += usize::from(shade == Shade::Middle),
                    }
                }
                made.curves.insert((tone.name, shade), curve);
            }
            if silent > 0 {
                notes.push(FontNote::Silent {
                    tone: tone.name,
                    notes: silent,
                });
            }
            if off {
                notes.push(FontNote::OffLevel { tone: tone.name });
            }
        }
        if kept.own_tick {
            made.tick = listener.tick();
        }
        Ok(made)
    }
}

/// The value of a curve at a key.
fn along(curve: &[(u8, f64)], key: u8) -> f64 {
    let next = curve.partition_point(|(k, _)| *k < key);
    let above = curve.get(next).or(curve.last());
    let below = next.checked_sub(1).and_then(|i| curve.get(i)).or(above);
    match (below, above) {
        (Some((low, from)), Some((high, to))) if low < high => {
            let part = f64::from(key - low) / f64::from(high - low);
            from + (to - from) * part
        }
        (_, Some((_, db))) => *db,
        _ => 0.0,
    }
}

/// Keys of a tone that are listened to: where one sample ends and another begins, and some between.
fn keys(tone: &Tone, regions: &[Region]) -> BTreeSet<u8> {
    let (low, high) = tone.keys;
    let mut keys: BTreeSet<u8> = [low, high].into();
    for region in regions {
        let (first, last) = region.keys;
        let ends = [
            first.checked_sub(1),
            Some(first),
            Some(last),
            Some(last + 1),
        ];
        keys.extend(ends.into_iter().flatten().filter(|k| low < *k && *k < high));
    }
    let ends: Vec<u8> = keys.iter().copied().collect();
    for pair in ends.windows(2) {
        let between = (pair[0]..pair[1]).step_by(usize::from(APART));
        keys.extend(between);
    }
    keys
}

struct Listener {
    meter: Meter,
    /// What was heard of an instrument at a key.
    heard: BTreeMap<(usize, Listen, u8), f64>,
}

impl Listener {
    /// What is to be added for a note; `None` where it is silent.
    fn db(&mut self, tone: &Tone, shade: Shade, instrument: usize, key: u8) -> Option<f64> {
        let listen = match tone.body {
            Body::Held(_) => Listen::Held,
            Body::Struck(_) => Listen::Struck,
        };
        let note = Sounded {
            bank: tone.bank(shade),
            program: tone.program,
            drums: false,
            key,
        };
        let meter = &mut self.meter;
        let heard = self.heard.entry((instrument, listen, key));
        let rms = *heard.or_insert_with(|| meter.rms(note, listen));
        (rms > SILENT).then(|| 20.0 * (TONE_RMS / rms).log10())
    }

    /// What is to be added for the tick to be as loud as the built-in one.
    fn tick(&mut self) -> f64 {
        let [own, spare] = [OWN_TICK, SPARE_TICK].map(|program| {
            let note = Sounded {
                bank: 0,
                program,
                drums: true,
                key: TICK_FIRST,
            };
            self.meter.rms(note, Listen::Struck)
        });
        if own > SILENT && spare > SILENT {
            (20.0 * (spare / own).log10()).clamp(-MOST_DB, MOST_DB)
        } else {
            0.0
        }
    }
}
