//! What a part sounds by: channel, program, and drums by their numbers.

use super::tree::{child_text, children, name, whole};
use roxmltree::Node;
use std::collections::BTreeMap;

/// General MIDI's channel of drums, counted from 0.
pub(super) const DRUMS: u8 = 9;

/// The instruments of a part.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Instruments {
    /// The channel of its pitched notes, never that of the drums.
    pub(super) channel: u8,
    /// Its first program, if it is pitched and has one.
    pub(super) program: Option<u8>,
    /// The drum of each instrument, by its id.
    drums: BTreeMap<String, u8>,
}

impl Instruments {
    /// The drum that a note without pitch is played on: that of its instrument, or the only one of the
    /// part.
    pub(super) fn drum(&self, id: Option<&str>) -> Option<u8> {
        if let Some(id) = id {
            return self.drums.get(id).copied();
        }
        let mut all = self.drums.values();
        all.next().copied().filter(|_| all.next().is_none())
    }
}

/// Reads what the part list says; numbers count from 1 there (MusicXML 4.0, `midi-128`).
pub(super) fn read_instruments(part: Option<Node<'_, '_>>, place: usize) -> Instruments {
    let nodes = part.into_iter().flat_map(children);
    let midi = nodes.filter(|n| name(*n) == "midi-instrument");
    let mut read = Instruments {
        channel: other_than_drums(place),
        ..Instruments::default()
    };
    let mut channel = None;
    for node in midi {
        let from_one = |element: &str, most: i32| {
            let number = whole(child_text(node, element)?)?;
            u8::try_from(number - 1)
                .ok()
                .filter(|n| i32::from(*n) < most)
        };
        if let (Some(id), Some(drum)) = (node.attribute("id"), from_one("midi-unpitched", 128)) {
            read.drums.insert(id.to_owned(), drum);
        }
        let own = from_one("midi-channel", 16);
        channel = channel.or(own.filter(|c| *c != DRUMS));
        if own != Some(DRUMS) {
            read.program = read.program.or_else(|| from_one("midi-program", 128));
        }
    }
    read.channel = channel.unwrap_or(read.channel);
    read
}

/// The channel of the part at a place: all but that of the drums, in turn.
fn other_than_drums(place: usize) -> u8 {
    let channel = (place % 15) as u8;
    channel + u8::from(channel >= DRUMS)
}
