//! What of a SoundFont is kept: for each tone and shade the regions of its program, or of what comes nearest.

use super::error::FontError;
use super::families::nearest_program;
use super::joined::{Entry, fits};
use super::note::FontNote;
use super::region::{Found, Region, regions};
use super::tables::{Head, Tables};
use super::tick::{OWN_TICK, SPARE_TICK, TICK_FIRST, TICK_OTHER};
use crate::sound::tones::{Shade, Tone, tones};
use std::collections::{BTreeMap, BTreeSet};

/// A file.
pub(super) struct Source {
    pub tables: Tables,
    /// How many samples it has.
    pub samples: u32,
}

/// Which file is which.
const OWN: usize = 0;
const SPARE: usize = 1;
/// The bank of drums.
const DRUMS: u16 = 128;

/// What is kept.
#[derive(Default)]
pub(super) struct Kept {
    pub instruments: Vec<Vec<Region>>,
    /// For each tone its three shades, then the tick.
    pub entries: Vec<Entry>,
    pub notes: Vec<FontNote>,
    /// Which tones are those of the user's font.
    pub own: BTreeSet<&'static str>,
    /// Whether the tick is.
    pub own_tick: bool,
}

/// The velocity by which a shade is taken from fonts that sample several (CP: p, between mp and mf, between f and
/// ff as programs commonly write them).
const fn velocity(shade: Shade) -> u8 {
    match shade {
        Shade::Soft => 49,
        Shade::Middle => 72,
        Shade::Loud => 104,
    }
}

impl Kept {
    /// What is kept of a font; `spare` is the built-in one.
    pub(super) fn of(own: &Source, spare: &Source) -> Result<Self, FontError> {
        let mut kept = Self::default();
        let programs = programs(own);
        let playable: BTreeSet<u8> = programs.keys().copied().collect();
        for tone in tones() {
            let found = nearest_program(tone.program, &playable);
            let preset = found.and_then(|p| programs.get(&p));
            let taken = preset.is_some_and(|p| kept.tone(own, tone, p, found));
            if !taken {
                let tone_name = tone.name;
                kept.notes.push(match preset {
                    Some(_) => FontNote::TooMany { tone: tone_name },
                    None => FontNote::BuiltIn { tone: tone_name },
                });
                kept.spare_tone(spare, tone);
            }
        }
        if kept.own.is_empty() {
            return Err(FontError::Empty);
        }
        kept.tick(own, spare);
        Ok(kept)
    }

    /// Takes a tone from the user's font; false where it does not fit any more.
    fn tone(
        &mut self,
        own: &Source,
        tone: &'static Tone,
        preset: &Head,
        plays: Option<u8>,
    ) -> bool {
        let found = Shade::ALL.map(|s| of_source(own, OWN, preset, velocity(s)));
        // A layer that is silent takes the middle one's place.
        let spare_layer = found[1].regions.clone();
        let layers = found.clone().map(|f| match f.regions.is_empty() {
            true => spare_layer.clone(),
            false => f.regions,
        });
        let all = self.instruments.iter().chain(&layers).flatten();
        if layers[1].is_empty() || !fits(all) {
            return false;
        }
        for (shade, regions) in Shade::ALL.into_iter().zip(layers) {
            let instrument = self.instrument(regions);
            self.entry(tone, shade, &preset.name, instrument);
        }
        self.own.insert(tone.name);
        if plays != Some(tone.program) {
            self.notes.push(FontNote::Instead {
                tone: tone.name,
                plays: preset.name.clone(),
            });
        }
        let left_out = found.iter().map(|f| f.left_out).max().unwrap_or(0);
        if left_out > 0 {
            self.notes.push(FontNote::LeftOut {
                tone: tone.name,
                samples: left_out,
            });
        }
        true
    }

    fn spare_tone(&mut self, spare: &Source, tone: &'static Tone) {
        for shade in Shade::ALL {
            let bank = u16::from(tone.bank(shade));
            let preset = preset(&spare.tables, bank, u16::from(tone.program));
            let regions = preset.map(|p| of_source(spare, SPARE, p, 127).regions);
            let instrument = self.instrument(regions.unwrap_or_default());
            self.entry(tone, shade, tone.name, instrument);
        }
    }

    fn tick(&mut self, own: &Source, spare: &Source) {
        let blocks = |r: &Region| {
            let has = |key| r.keys.0 <= key && key <= r.keys.1;
            has(TICK_FIRST) || has(TICK_OTHER)
        };
        let drums = preset(&own.tables, DRUMS, 0);
        let mut regions = drums.map_or(Vec::new(), |p| of_source(own, OWN, p, 104).regions);
        regions.retain(blocks);
        let sounds = |key| regions.iter().any(|r| r.keys.0 <= key && key <= r.keys.1);
        let all = self.instruments.iter().flatten().chain(&regions);
        self.own_tick = sounds(TICK_FIRST) && sounds(TICK_OTHER) && fits(all);
        let tick = preset(&spare.tables, DRUMS, 0);
        let spare = tick.map_or(Vec::new(), |p| of_source(spare, SPARE, p, 127).regions);
        if !self.own_tick {
            self.notes.push(FontNote::BuiltInTick);
            regions.clone_from(&spare);
        }
        for (program, regions) in [(OWN_TICK, regions), (SPARE_TICK, spare)] {
            let instrument = self.instrument(regions);
            self.entries.push(Entry {
                name: "tick".to_owned(),
                bank: 0,
                program,
                drums: true,
                instrument,
            });
        }
    }

    /// The place of an instrument, which is made if there is none like it.
    fn instrument(&mut self, regions: Vec<Region>) -> usize {
        let same = self.instruments.iter().position(|i| *i == regions);
        same.unwrap_or_else(|| {
            self.instruments.push(regions);
            self.instruments.len() - 1
        })
    }

    fn entry(&mut self, tone: &Tone, shade: Shade, name: &str, instrument: usize) {
        self.entries.push(Entry {
            name: name.to_owned(),
            bank: tone.bank(shade),
            program: tone.program,
            drums: false,
            instrument,
        });
    }
}

fn of_source(source: &Source, which: usize, preset: &Head, velocity: u8) -> Found {
    regions(&source.tables, (which, source.samples), preset, velocity)
}

fn preset(tables: &Tables, bank: u16, program: u16) -> Option<&Head> {
    let mut all = tables.presets().iter();
    all.find(|p| (p.bank, p.program) == (bank, program))
}

/// The presets that can be played, for each program that of the lowest bank.
fn programs(own: &Source) -> BTreeMap<u8, &Head> {
    let mut found: BTreeMap<u8, &Head> = BTreeMap::new();
    for preset in own.tables.presets() {
        let program = u8::try_from(preset.program).ok().filter(|p| *p < 128);
        let Some(program) = program.filter(|_| preset.bank < DRUMS) else {
            continue;
        };
        if found.get(&program).is_none_or(|p| preset.bank < p.bank) {
            found.insert(program, preset);
        }
    }
    found.retain(|_, preset| {
        let middle = of_source(own, OWN, preset, velocity(Shade::Middle));
        !middle.regions.is_empty()
    });
    found
}
