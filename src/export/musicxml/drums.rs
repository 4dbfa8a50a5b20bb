//! Drums and cymbals of the sketch's percussion channel: what each key of General MIDI is called, and
//! where it stands on a percussion stave.
//!
//! Names and keys are those of the General MIDI Level 1 percussion key map (MEM). Places on the stave and crossed
//! heads for cymbals are common practice (CP). Sound ids are the standard's, given where they are sure (MEM).

/// A key of the percussion channel.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Drum {
    pub(super) key: u8,
    pub(super) name: &'static str,
    /// Letter and octave as in a treble clef.
    pub(super) place: (&'static str, u8),
    pub(super) crossed: bool,
    pub(super) sound: Option<&'static str>,
}

/// A key without a row.
const OTHER: (&str, (&str, u8), bool, Option<&str>) = ("Percussion", ("B", 4), false, None);

/// What stands on the stave for a key.
type Row = (
    u8,
    &'static str,
    (&'static str, u8),
    bool,
    Option<&'static str>,
);

const ROWS: [Row; 47] = [
    (
        35,
        "Acoustic Bass Drum",
        ("F", 4),
        false,
        Some("drum.bass-drum"),
    ),
    (36, "Bass Drum", ("F", 4), false, Some("drum.bass-drum")),
    (37, "Side Stick", ("C", 5), true, Some("drum.snare-drum")),
    (38, "Snare Drum", ("C", 5), false, Some("drum.snare-drum")),
    (39, "Hand Clap", ("D", 5), true, None),
    (
        40,
        "Electric Snare",
        ("C", 5),
        false,
        Some("drum.snare-drum"),
    ),
    (41, "Low Floor Tom", ("G", 4), false, Some("drum.tom-tom")),
    (42, "Closed Hi-hat", ("G", 5), true, None),
    (43, "High Floor Tom", ("A", 4), false, Some("drum.tom-tom")),
    (44, "Pedal Hi-hat", ("D", 4), true, None),
    (45, "Low Tom", ("B", 4), false, Some("drum.tom-tom")),
    (46, "Open Hi-hat", ("G", 5), true, None),
    (47, "Low-mid Tom", ("D", 5), false, Some("drum.tom-tom")),
    (48, "High-mid Tom", ("E", 5), false, Some("drum.tom-tom")),
    (
        49,
        "Crash Cymbal",
        ("A", 5),
        true,
        Some("metal.cymbal.crash"),
    ),
    (50, "High Tom", ("E", 5), false, Some("drum.tom-tom")),
    (51, "Ride Cymbal", ("F", 5), true, Some("metal.cymbal.ride")),
    (
        52,
        "Chinese Cymbal",
        ("B", 5),
        true,
        Some("metal.cymbal.chinese"),
    ),
    (53, "Ride Bell", ("F", 5), true, None),
    (54, "Tambourine", ("E", 4), true, Some("drum.tambourine")),
    (
        55,
        "Splash Cymbal",
        ("B", 5),
        true,
        Some("metal.cymbal.splash"),
    ),
    (56, "Cowbell", ("E", 5), true, None),
    (
        57,
        "Crash Cymbal 2",
        ("A", 5),
        true,
        Some("metal.cymbal.crash"),
    ),
    (58, "Vibraslap", ("E", 4), true, None),
    (
        59,
        "Ride Cymbal 2",
        ("F", 5),
        true,
        Some("metal.cymbal.ride"),
    ),
    (60, "High Bongo", ("E", 5), false, Some("drum.bongo")),
    (61, "Low Bongo", ("D", 5), false, Some("drum.bongo")),
    (62, "Muted High Conga", ("B", 4), false, Some("drum.conga")),
    (63, "Open High Conga", ("B", 4), false, Some("drum.conga")),
    (64, "Low Conga", ("A", 4), false, Some("drum.conga")),
    (65, "High Timbale", ("E", 5), false, Some("drum.timbale")),
    (66, "Low Timbale", ("D", 5), false, Some("drum.timbale")),
    (67, "High Agogo", ("E", 5), true, None),
    (68, "Low Agogo", ("D", 5), true, None),
    (69, "Cabasa", ("E", 4), true, None),
    (70, "Maracas", ("E", 4), true, None),
    (71, "Short Whistle", ("B", 5), true, None),
    (72, "Long Whistle", ("B", 5), true, None),
    (73, "Short Guiro", ("E", 4), true, None),
    (74, "Long Guiro", ("E", 4), true, None),
    (75, "Claves", ("E", 5), true, None),
    (
        76,
        "High Wood Block",
        ("E", 5),
        true,
        Some("wood.wood-block"),
    ),
    (
        77,
        "Low Wood Block",
        ("D", 5),
        true,
        Some("wood.wood-block"),
    ),
    (78, "Muted Cuica", ("B", 4), false, None),
    (79, "Open Cuica", ("B", 4), false, None),
    (80, "Muted Triangle", ("A", 5), true, Some("metal.triangle")),
    (81, "Open Triangle", ("A", 5), true, Some("metal.triangle")),
];

/// The drum of a key.
pub(super) fn drum(key: u8) -> Drum {
    let row = ROWS.iter().find(|r| r.0 == key);
    let (name, place, crossed, sound) = row.map_or(OTHER, |r| (r.1, r.2, r.3, r.4));
    Drum {
        key,
        name,
        place,
        crossed,
        sound,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_keys_of_the_map_are_all_there_in_order() {
        let keys: Vec<u8> = ROWS.iter().map(|r| r.0).collect();
        assert_eq!(keys, (35..=81).collect::<Vec<u8>>());
        assert_eq!(drum(38).name, "Snare Drum");
        assert_eq!(drum(0).name, "Percussion");
    }
}
