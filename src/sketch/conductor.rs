//! What the tracks say about the whole song: tempos, meters, keys and markers.

use super::song::{KeyChange, Marker};
use super::warnings::Warnings;
use crate::music::meter::MeterChange;
use crate::music::tempo::TempoChange;
use crate::music::{KeySignature, Meter, Mode, Tick};

/// The song's meta events in file order.
#[derive(Debug, Default)]
pub(super) struct Conductor {
    pub(super) tempos: Vec<TempoChange>,
    pub(super) meters: Vec<MeterChange>,
    pub(super) keys: Vec<KeyChange>,
    pub(super) markers: Vec<Marker>,
}

impl Conductor {
    /// Takes a meta event of any kind; those that say nothing here are passed over. What is
    /// malformed is ignored with a warning at `offset`.
    pub(super) fn meta(
        &mut self,
        at: Tick,
        kind: u8,
        body: &[u8],
        offset: usize,
        warnings: &mut Warnings,
    ) {
        let taken = match kind {
            0x06 | 0x07 => {
                let text = text(body);
                self.markers.push(Marker { at, text });
                Ok(())
            }
            0x51 => self.tempo(at, body),
            0x58 => self.meter(at, body),
            0x59 => self.key(at, body),
            _ => Ok(()),
        };
        if let Err(reason) = taken {
            warnings.bytes(offset, reason);
        }
    }

    fn tempo(&mut self, at: Tick, body: &[u8]) -> Result<(), &'static str> {
        let &[a, b, c] = body else {
            return Err("a tempo of the wrong length; ignored");
        };
        let micros_per_quarter = u32::from_be_bytes([0, a, b, c]);
        if micros_per_quarter == 0 {
            return Err("a tempo of zero; ignored");
        }
        self.tempos.push(TempoChange {
            at,
            micros_per_quarter,
        });
        Ok(())
    }

    fn meter(&mut self, at: Tick, body: &[u8]) -> Result<(), &'static str> {
        let meter = match body {
            [numerator, power, ..] => Meter::new(*numerator, *power),
            _ => None,
        };
        let meter = meter.ok_or("a meter that is none; ignored")?;
        self.meters.push(MeterChange { at, meter });
        Ok(())
    }

    fn key(&mut self, at: Tick, body: &[u8]) -> Result<(), &'static str> {
        let signature = match body {
            [fifths, 0, ..] => KeySignature::new(fifths.cast_signed(), Mode::Major),
            [fifths, 1, ..] => KeySignature::new(fifths.cast_signed(), Mode::Minor),
            _ => None,
        };
        let signature = signature.ok_or("a key signature that is none; ignored")?;
        self.keys.push(KeyChange { at, signature });
        Ok(())
    }
}

/// Text of a meta event: UTF-8, else Latin-1, without control characters (SMF names no encoding).
pub(super) fn text(body: &[u8]) -> String {
    let decoded = std::str::from_utf8(body).map_or_else(
        |_| body.iter().map(|b| char::from(*b)).collect(),
        str::to_owned,
    );
    let shown: String = decoded.chars().filter(|c| !c.is_control()).collect();
    shown.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_read_in_either_encoding() {
        assert_eq!(text("caf\u{e9}".as_bytes()), "caf\u{e9}");
        assert_eq!(text(b"caf\xE9\r\n"), "caf\u{e9}");
    }
}
