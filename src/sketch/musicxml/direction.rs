//! Directions and what they sound: tempo, dynamics, hairpins, pedal, signs, jumps.

use super::measure::MarkKind;
use super::note::{FORTE, quarters};
use super::part::PartReader;
use super::tree::{child, child_text, children, line, name, number, says_yes, text, whole};
use roxmltree::Node;

/// Slowest tempo, in microseconds a quarter (SMF 1.0, three bytes).
const SLOWEST: f64 = 16_777_215.0;
/// Names of sections (words of the trade, ours), besides rehearsal marks and framed words.
const SECTIONS: [&str; 16] = [
    "intro",
    "introduction",
    "verse",
    "refrain",
    "chorus",
    "bridge",
    "interlude",
    "trio",
    "coda",
    "outro",
    "ending",
    "solo",
    "break",
    "breakdown",
    "drum break",
    "vamp",
];

/// Reads a direction.
pub(super) fn read_direction(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    let staff = child_text(node, "staff").and_then(whole);
    let staff = staff.and_then(|s| u8::try_from(s).ok());
    let sound = child(node, "sound");
    let percent = sound.and_then(|s| s.attribute("dynamics")).and_then(number);
    let over_score = stands_over_score(node, sound);
    let moved = child(node, "offset").filter(|o| says_yes(*o, "sound"));
    let at = moved.map_or(reader.now, |o| offset(reader, o));
    let mut metronome = None;
    let mut pedal = false;
    for element in children(node) {
        match name(element) {
            "direction-type" => {
                for kind in children(element) {
                    match name(kind) {
                        "dynamics" => reader.dynamics(kind, at, staff, percent),
                        "wedge" => reader.wedge(kind, at, staff),
                        "metronome" => metronome = Some(kind),
                        "pedal" => {
                            read_pedal(reader, kind, at);
                            pedal = true;
                        }
                        "rehearsal" => marker(reader, kind),
                        "words" => read_words(reader, kind, sound, over_score),
                        "segno" => reader.measure.flow.segno.push(String::new()),
                        "coda" => reader.measure.flow.coda.push(String::new()),
                        "symbol"
                        | "dashes"
                        | "bracket"
                        | "octave-shift"
                        | "harp-pedals"
                        | "damp"
                        | "damp-all"
                        | "eyeglasses"
                        | "string-mute"
                        | "scordatura"
                        | "image"
                        | "principal-voice"
                        | "percussion"
                        | "accordion-registration"
                        | "staff-divide"
                        | "other-direction" => {}
                        other => reader.unknown(other, "direction-type"),
                    }
                }
            }
            "sound" | "offset" | "footnote" | "level" | "voice" | "staff" | "listening" => {}
            other => reader.unknown(other, "direction"),
        }
    }
    if let Some(sound) = sound {
        read_sound_at(reader, sound, at, pedal);
    }
    let told = sound.is_some_and(|s| s.attribute("tempo").is_some());
    if let Some(metronome) = metronome.filter(|_| !told) {
        read_metronome(reader, metronome, at);
    }
}

/// Where something stands that is moved by an offset.
fn offset(reader: &mut PartReader<'_>, node: Node<'_, '_>) -> u64 {
    let by = number(text(node)).unwrap_or(0.0);
    let ticks = reader.units.count(by.abs(), reader.divisions).ticks;
    if by < 0.0 {
        reader.now.saturating_sub(ticks)
    } else {
        reader.now.saturating_add(ticks)
    }
}

/// Reads a sound that stands in a measure by itself.
pub(super) fn read_sound(reader: &mut PartReader<'_>, node: Node<'_, '_>, at: u64) {
    read_sound_at(reader, node, at, false);
    if let Some(percent) = node.attribute("dynamics").and_then(number) {
        reader.level(at, None, velocity_of(percent));
    }
}

/// The velocity of a percentage of forte.
pub(super) fn velocity_of(percent: f64) -> u8 {
    (percent * FORTE / 100.0).round().clamp(1.0, 127.0) as u8
}

fn read_sound_at(reader: &mut PartReader<'_>, node: Node<'_, '_>, at: u64, pedal: bool) {
    let at = child(node, "offset").map_or(at, |o| offset(reader, o));
    if let Some(tempo) = node.attribute("tempo") {
        match number(tempo) {
            Some(tempo) if tempo > 0.0 => set_tempo(reader, tempo, at),
            _ => reader.odd("a tempo that is no number over 0 was passed over"),
        }
    }
    match node.attribute("damper-pedal") {
        _ if pedal => {}
        Some("yes") => reader.mark(at, MarkKind::Pedal(true)),
        Some("no") => reader.mark(at, MarkKind::Pedal(false)),
        _ => {}
    }
    let label = |attribute| {
        node.attribute(attribute)
            .map(|l| l.chars().take(40).collect())
    };
    let flow = &mut reader.measure.flow;
    flow.segno.extend(label("segno"));
    flow.coda.extend(label("coda"));
    flow.dalsegno = flow.dalsegno.take().or(label("dalsegno"));
    flow.tocoda = flow.tocoda.take().or(label("tocoda"));
    flow.dacapo |= says_yes(node, "dacapo");
    flow.fine |= node.attribute("fine").is_some_and(|f| f != "no");
    flow.forward |= says_yes(node, "forward-repeat");
}

fn set_tempo(reader: &mut PartReader<'_>, quarters_per_minute: f64, at: u64) {
    let micros = (60e6 / quarters_per_minute).round().clamp(1.0, SLOWEST);
    reader.mark(at, MarkKind::Tempo(micros as u32));
}

/// A metronome mark: a value, dots, and how many a minute.
fn read_metronome(reader: &mut PartReader<'_>, node: Node<'_, '_>, at: u64) {
    let mut unit = None;
    let mut dots = 0;
    let mut per_minute = None;
    for element in children(node) {
        match name(element) {
            "beat-unit" if unit.is_none() => unit = quarters(text(element)),
            "beat-unit-dot" if per_minute.is_none() => dots = (dots + 1).min(8),
            "per-minute" => per_minute = first_number(text(element)),
            _ => {}
        }
    }
    match (unit, per_minute) {
        (Some(unit), Some(beats)) => {
            let dotted = unit * (2.0 - 0.5_f64.powi(dots));
            set_tempo(reader, beats * dotted, at);
        }
        _ => reader.odd("a metronome mark without a number of beats was passed over"),
    }
}

/// The first number in a text as `c. 120` or `120-126`.
fn first_number(text: &str) -> Option<f64> {
    let from = text.find(|c: char| c.is_ascii_digit())?;
    let rest = text.get(from..)?;
    let end = rest
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(rest.len());
    number(rest.get(..end)?.trim_end_matches('.')).filter(|n| *n > 0.0)
}

fn read_pedal(reader: &mut PartReader<'_>, node: Node<'_, '_>, at: u64) {
    match node.attribute("type") {
        Some("start" | "resume") => reader.mark(at, MarkKind::Pedal(true)),
        Some("stop" | "discontinue") => reader.mark(at, MarkKind::Pedal(false)),
        Some("change") => {
            reader.mark(at, MarkKind::Pedal(false));
            reader.mark(at, MarkKind::Pedal(true));
        }
        Some("sostenuto") => reader.odd("the middle pedal is not read"),
        _ => {}
    }
}

fn marker(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    let text = line(node);
    if !text.is_empty() {
        reader.mark(reader.now, MarkKind::Marker(text));
    }
}

/// Whether a direction is of the score and not of its part (MusicXML 4.0, `system`), and tells no tempo.
fn stands_over_score(node: Node<'_, '_>, sound: Option<Node<'_, '_>>) -> bool {
    let of_score = matches!(node.attribute("system"), Some("only-top" | "also-top"));
    let mut kinds = children(node).flat_map(children);
    let tempo = sound.is_some_and(|s| s.attribute("tempo").is_some());
    of_score && !tempo && !kinds.any(|k| name(k) == "metronome")
}

/// Words are a marker where they are framed, name a section, or stand in bold over the score, as ours are
/// sent out; those that tell of a jump must have a sound that makes it.
fn read_words(
    reader: &mut PartReader<'_>,
    node: Node<'_, '_>,
    sound: Option<Node<'_, '_>>,
    over_score: bool,
) {
    let framed = node
        .attribute("enclosure")
        .is_some_and(|e| !matches!(e, "none" | "underline" | "bracket"));
    let framed = framed || (over_score && node.attribute("font-weight") == Some("bold"));
    let words = line(node).to_lowercase();
    let plain =
        words.trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, ' ' | '.' | ':'));
    if framed || SECTIONS.contains(&plain) {
        marker(reader, node);
    }
    let jumps = ["d.c.", "d. c.", "da capo", "d.s.", "d. s.", "dal segno"];
    let told = sound.is_some_and(|s| {
        ["dacapo", "dalsegno", "fine", "tocoda"]
            .iter()
            .any(|a| s.attribute(*a).is_some())
    });
    if !told && jumps.iter().any(|j| words.starts_with(j)) {
        reader.odd("words that tell of a jump (D.C., D.S.) are not followed where no sound element makes it");
    }
}
