//! Which tone an instrument has, and how loud what is left out of balance is played.

use super::tones::{Shade, Tone, tone};
use crate::band::Instrument;
use crate::music::Dynamic;

/// The name of the tone of an instrument of the table.
fn name(id: &str) -> Option<&'static str> {
    Some(match id {
        "piccolo" => "piccolo",
        "flute" => "flute",
        "oboe" => "oboe",
        "bassoon" => "bassoon",
        "clarinet_eb" | "clarinet_bb" => "clarinet",
        "clarinet_alto" | "clarinet_bass" => "low clarinet",
        "sax_soprano" => "soprano sax",
        "sax_alto" => "alto sax",
        "sax_tenor" => "tenor sax",
        "sax_baritone" => "baritone sax",
        "cornet" => "cornet",
        "trumpet" => "trumpet",
        "flugelhorn" => "flugelhorn",
        "horn" => "horn",
        "mellophone" => "mellophone",
        "trombone" | "trombone_bass" => "trombone",
        "baritone_bc" | "baritone_tc" | "marching_baritone_bc" | "marching_baritone_tc" => {
            "baritone"
        }
        "euphonium_bc" | "euphonium_tc" => "euphonium",
        "tuba" | "sousaphone" | "marching_contra" => "tuba",
        "double_bass" => "string bass",
        "electric_bass" => "electric bass",
        "timpani" => "timpani",
        "glockenspiel" => "glockenspiel",
        "xylophone" => "xylophone",
        "vibraphone" => "vibraphone",
        "marimba" => "marimba",
        "chimes" => "chimes",
        "synth" => "synthesizer",
        _ => return None,
    })
}

/// The tone of an instrument; `None` for one that the built-in sounds do not have.
#[must_use]
pub fn tone_of(instrument: &Instrument) -> Option<&'static Tone> {
    name(&instrument.id).and_then(tone)
}

/// The colour of a dynamic.
#[must_use]
pub const fn shade_of(dynamic: Dynamic) -> Shade {
    match dynamic {
        Dynamic::Pp | Dynamic::P => Shade::Soft,
        Dynamic::Mp | Dynamic::Mf => Shade::Middle,
        Dynamic::F | Dynamic::Ff | Dynamic::Fff => Shade::Loud,
    }
}

/// Steps of dynamics are so far apart for what the loudness model leaves out, dB (ours).
const A_STEP: f64 = 3.0;

/// How loud what the loudness model leaves out of balance is when struck or plucked at a dynamic, dB of sound power
/// (ours, no source: struck tones some 5 to 15 dB above one woodwind, as attacks; what is amplified as two players
/// of a bass line).
#[must_use]
pub fn left_out_level(instrument: &Instrument, dynamic: Dynamic) -> f64 {
    let middle = match instrument.id.as_str() {
        "timpani" => 104.0,
        "glockenspiel" | "chimes" => 98.0,
        "xylophone" => 100.0,
        "electric_bass" => 100.0,
        _ => 94.0,
    };
    middle + A_STEP * (dynamic.steps() as f64 - Dynamic::Mf.steps() as f64)
}
