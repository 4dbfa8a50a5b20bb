//! WAV: the samples as a file of 16 bits, stereo (RIFF/WAVE, Microsoft and IBM 1991, MEM).

use super::render::Rendered;
use super::sound_font::chunk;
use super::tones::RATE;

const CHANNELS: u16 = 2;
const BITS: u16 = 16;

/// The bytes of the file. Samples beyond the loudest are cut off; see [`Rendered::turn_down`].
///
/// ```
/// use bandwright::sound::{render::Rendered, wav::wav};
/// let made = Rendered { left: vec![0.0, 1.0], right: vec![0.0, -1.0] };
/// let bytes = wav(&made);
/// assert_eq!(bytes.len(), 44 + 2 * 2 * 2);
/// assert_eq!(bytes[48..], [0xff, 0x7f, 0x01, 0x80]);
/// ```
#[must_use]
pub fn wav(made: &Rendered) -> Vec<u8> {
    let frame = CHANNELS * BITS / 8;
    let mut format = Vec::new();
    for word in [1, CHANNELS] {
        format.extend_from_slice(&word.to_le_bytes());
    }
    for long in [RATE, RATE * u32::from(frame)] {
        format.extend_from_slice(&long.to_le_bytes());
    }
    for word in [frame, BITS] {
        format.extend_from_slice(&word.to_le_bytes());
    }
    let mut samples = Vec::with_capacity(made.left.len() * usize::from(frame));
    for (left, right) in made.left.iter().zip(&made.right) {
        for sample in [left, right] {
            samples.extend_from_slice(&sixteen(*sample).to_le_bytes());
        }
    }
    let mut wave = b"WAVE".to_vec();
    wave.extend(chunk(b"fmt ", &format));
    wave.extend(chunk(b"data", &samples));
    chunk(b"RIFF", &wave)
}

fn sixteen(sample: f32) -> i16 {
    (sample.clamp(-1.0, 1.0) * f32::from(i16::MAX)).round() as i16
}
