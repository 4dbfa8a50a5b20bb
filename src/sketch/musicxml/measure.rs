//! One measure of one part as written, in ticks from its start.

use crate::music::{KeySignature, Meter, Sounding, SpelledName};

/// A note as written, at the pitch that sounds.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct WrittenNote {
    /// Where it begins; a grace note stands where the note begins that it graces.
    pub(super) at: u64,
    /// How long it is written; nothing for a grace note.
    pub(super) length: u64,
    /// Its pitch, or the number of its drum.
    pub(super) pitch: Sounding,
    /// The name of its sounding pitch; none for a drum.
    pub(super) name: Option<SpelledName>,
    /// Whether it is a drum.
    pub(super) drum: bool,
    /// Its staff, from 1.
    pub(super) staff: u8,
    /// Whether it goes on in another note.
    pub(super) ties_on: bool,
    /// Whether it goes on from another note.
    pub(super) tied: bool,
    /// A grace note's place among those that grace one note.
    pub(super) grace: Option<Grace>,
    /// Whether it belongs to a rolled chord.
    pub(super) rolled: bool,
    /// The velocity that the note itself tells.
    pub(super) own_velocity: Option<u8>,
    /// The velocity that it is played with.
    pub(super) velocity: u8,
    /// How far from where it is written it is struck and let go, in ticks (MusicXML 4.0, attributes `attack` and
    /// `release`).
    pub(super) played_off: (i64, i64),
    /// The passes of a repeat in which it sounds; all where there are none.
    pub(super) passes: Vec<u32>,
}

/// A grace note's place among those that grace one note.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Grace {
    /// How many of them begin with it or later, itself counted.
    pub(super) left: u32,
    /// How many there are.
    pub(super) of: u32,
}

/// Something in a measure that is no note.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Mark {
    /// Where it stands.
    pub(super) at: u64,
    /// What it is.
    pub(super) kind: MarkKind,
}

/// What a mark is.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum MarkKind {
    /// A tempo, in microseconds a quarter.
    Tempo(u32),
    /// A key signature at concert pitch.
    Key(KeySignature),
    /// A rehearsal mark or the name of a section.
    Marker(String),
    /// The sustain pedal goes down, or comes up.
    Pedal(bool),
}

/// Repeats, endings and jumps of a measure.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Flow {
    /// A repeat begins with the measure.
    pub(super) forward: bool,
    /// A repeat ends with it: how often it is played in all, where that is said.
    pub(super) backward: Option<Option<u32>>,
    /// Whether that repeat is also taken after a jump.
    pub(super) after_jump: bool,
    /// An ending begins with it: the passes that it is for.
    pub(super) ending: Option<Vec<u32>>,
    /// An ending ends with it.
    pub(super) ending_stops: bool,
    /// Segno signs, by their labels (empty: a sign alone).
    pub(super) segno: Vec<String>,
    /// Coda signs, by their labels.
    pub(super) coda: Vec<String>,
    /// After it, from the beginning.
    pub(super) dacapo: bool,
    /// After it, from the segno of that label.
    pub(super) dalsegno: Option<String>,
    /// After it, when played the second time, to the coda of that label.
    pub(super) tocoda: Option<String>,
    /// After it, when played the second time, the end.
    pub(super) fine: bool,
}

impl Flow {
    /// Takes over what another part says of the same measure.
    pub(super) fn join(&mut self, other: &Self) {
        self.forward |= other.forward;
        self.backward = self.backward.or(other.backward);
        self.after_jump |= other.after_jump;
        self.ending = self.ending.take().or_else(|| other.ending.clone());
        self.ending_stops |= other.ending_stops;
        let add = |own: &mut Vec<String>, more: &[String]| {
            for label in more {
                if !own.contains(label) {
                    own.push(label.clone());
                }
            }
        };
        add(&mut self.segno, &other.segno);
        add(&mut self.coda, &other.coda);
        self.dacapo |= other.dacapo;
        self.dalsegno = self.dalsegno.take().or_else(|| other.dalsegno.clone());
        self.tocoda = self.tocoda.take().or_else(|| other.tocoda.clone());
        self.fine |= other.fine;
    }
}

/// What a time signature says.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Signature {
    /// A meter.
    Meter(Meter),
    /// None: bars are as long as what they hold.
    Free,
}

/// One measure of one part.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Measure {
    /// Its notes in the order of the file.
    pub(super) notes: Vec<WrittenNote>,
    /// Its marks in the order of the file.
    pub(super) marks: Vec<Mark>,
    /// How far it is filled, whole-measure rests left out.
    pub(super) filled: u64,
    /// How far its whole-measure rests reach.
    pub(super) rest: u64,
    /// The time signature that begins with it.
    pub(super) signature: Option<Signature>,
    /// Its repeats and jumps.
    pub(super) flow: Flow,
    /// Whether the file says that it does not count as a measure.
    pub(super) implicit: bool,
    /// Its number as the file has it.
    pub(super) number: String,
}
