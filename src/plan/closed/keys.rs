//! Keys with more sharps or flats than a part may be given.

use crate::band::Band;
use crate::music::{KeySignature, PartNames, Tick};
use crate::score::{Closed, ClosedStretch, Why};

/// Closes, for every part with a greatest number of sharps and flats, the stretches whose key has
/// more of them as the part reads it.
///
/// `keys` holds lists of keys in order, each key lasting until the next of its list: those that were
/// found in the sketch, and those that its file writes. A part rests where either is too hard, since
/// it is the file's signatures that its players will read.
pub fn close_for_keys(band: &Band, keys: &[&[(Tick, KeySignature)]], closed: &mut Closed) {
    for (id, part) in band.ids() {
        let Some(most) = part.limits.max_accidentals else {
            continue;
        };
        for list in keys {
            for (i, (start, concert)) in list.iter().enumerate() {
                let names = PartNames::of(part.instrument.transposition, *concert);
                let written = names.signature(*concert);
                if written.fifths().unsigned_abs() <= most {
                    continue;
                }
                let end = list.get(i + 1).map_or(Tick(u64::MAX), |next| next.0);
                let (start, why) = (*start, Why::Key(written));
                closed.close(id, ClosedStretch { start, end, why });
            }
        }
    }
}
