//! Our frames as a device wants them that does not take them as they are: another rate, other channels.

use super::{CHANNELS, RATE};

/// Frames of the device that are made at a time (ours).
const PIECE: usize = 256;

/// Left and right.
type Frame = [f32; CHANNELS];

/// Changes the rate by a cubic through four frames, and spreads left and right over the device's channels.
///
/// The cubic is plain: tones near the upper end of hearing lose some of their level, and a little of them comes back
/// at wrong pitches; a sketch of the sound bears it. It delays by two frames. It never allocates after it was made.
#[derive(Debug)]
pub struct Shape {
    /// Frames a second of the device.
    rate: u32,
    channels: usize,
    /// Where the next frame of the device lies between the second and the third of `near`, in parts of `rate`.
    place: u32,
    /// The last four frames that were fetched.
    near: [Frame; 4],
    fetched: Box<[f32]>,
}

impl Shape {
    /// A shape for a device of `rate` frames a second and so many channels; 1 at least of each.
    pub fn new(rate: u32, channels: u16) -> Self {
        let rate = rate.max(1);
        let most = (PIECE as u64 * u64::from(RATE)).div_ceil(u64::from(rate)) as usize + 1;
        Self {
            rate,
            channels: usize::from(channels.max(1)),
            place: 0,
            near: [[0.0; CHANNELS]; 4],
            fetched: vec![0.0; most * CHANNELS].into_boxed_slice(),
        }
    }

    /// Fills whole frames of the device from `source`, which fills frames of left and right at [`RATE`].
    pub fn fill(&mut self, out: &mut [f32], mut source: impl FnMut(&mut [f32])) {
        if self.rate == RATE && self.channels == CHANNELS {
            source(out);
            return;
        }
        for piece in out.chunks_mut(PIECE * self.channels) {
            self.piece(piece, &mut source);
        }
    }

    fn piece(&mut self, out: &mut [f32], source: &mut impl FnMut(&mut [f32])) {
        let frames = (out.len() / self.channels) as u64;
        let passed = u64::from(self.place) + frames * u64::from(RATE);
        let needed = (passed / u64::from(self.rate)) as usize;
        source(&mut self.fetched[..needed * CHANNELS]);
        let mut next = 0;
        for frame in out.chunks_exact_mut(self.channels) {
            spread(self.between(), frame);
            self.place += RATE;
            while self.place >= self.rate {
                self.place -= self.rate;
                let [_, b, c, d] = self.near;
                self.near = [b, c, d, [self.fetched[next], self.fetched[next + 1]]];
                next += CHANNELS;
            }
        }
    }

    /// The frame between the second and the third: the cubic through the two with the slopes that their neighbours
    /// give (Catmull and Rom 1974, MEM).
    fn between(&self) -> Frame {
        let t = self.place as f32 / self.rate as f32;
        let [a, b, c, d] = self.near;
        std::array::from_fn(|side| {
            let (a, b, c, d) = (a[side], b[side], c[side], d[side]);
            let square = 2.0 * a - 5.0 * b + 4.0 * c - d;
            let cube = 3.0 * (b - c) + d - a;
            b + 0.5 * t * (c - a + t * (square + t * cube))
        })
    }
}

/// One channel gets the mean; of more, the first two get left and right (as the orders of WAV and of the systems have
/// it, MEM), the others nothing.
fn spread([left, right]: Frame, out: &mut [f32]) {
    match out {
        [one] => *one = f32::midpoint(left, right),
        [first, second, rest @ ..] => {
            (*first, *second) = (left, right);
            rest.fill(0.0);
        }
        [] => (),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// A tone on the left, half of it on the right.
    fn tone(hertz: f64) -> impl FnMut(&mut [f32]) {
        let mut frame = 0.0;
        move |out: &mut [f32]| {
            for pair in out.chunks_exact_mut(2) {
                pair[0] = (TAU * hertz * frame / f64::from(RATE)).sin() as f32;
                pair[1] = pair[0] / 2.0;
                frame += 1.0;
            }
        }
    }

    fn shaped(rate: u32, channels: u16, frames: usize) -> Vec<f32> {
        let (mut shape, mut source) = (Shape::new(rate, channels), tone(440.0));
        let mut out = vec![9.0; frames * usize::from(channels)];
        // Requests of odd sizes make no seams.
        for piece in out.chunks_mut(311 * usize::from(channels)) {
            shape.fill(piece, &mut source);
        }
        out
    }

    #[test]
    fn what_the_device_takes_as_it_is_stays_as_it_is() {
        let mut plain = vec![0.0; 2_000];
        tone(440.0)(&mut plain);
        assert_eq!(shaped(RATE, 2, 1_000), plain);
    }

    #[test]
    fn a_tone_keeps_its_pitch_and_level_at_other_rates() {
        for rate in [8_000, 22_050, 48_000, 96_000, 192_000] {
            let out = shaped(rate, 2, 20_000);
            for (n, pair) in out.chunks_exact(2).enumerate().skip(500) {
                // Three frames are fetched before the first stands second of four.
                let at = n as f64 / f64::from(rate) - 3.0 / f64::from(RATE);
                let wanted = (TAU * 440.0 * at).sin() as f32;
                assert!(
                    (pair[0] - wanted).abs() < 2e-3,
                    "{rate} at {n}: {} {wanted}",
                    pair[0]
                );
                assert!((pair[1] - wanted / 2.0).abs() < 1e-3);
            }
        }
    }

    #[test]
    fn no_frame_is_lost_over_a_long_time() {
        let mut fetched = 0;
        let mut shape = Shape::new(48_000, 2);
        let mut out = vec![0.0; 2 * 480];
        for _ in 0..1_000 {
            shape.fill(&mut out, |source| fetched += source.len() / 2);
        }
        assert_eq!(fetched, 441_000);
    }

    #[test]
    fn left_and_right_go_to_the_first_channels_and_one_channel_gets_both() {
        let stereo = shaped(48_000, 2, 900);
        let six = shaped(48_000, 6, 900);
        let one = shaped(48_000, 1, 900);
        for (n, pair) in stereo.chunks_exact(2).enumerate() {
            assert_eq!(six[n * 6..n * 6 + 2], *pair);
            assert_eq!(six[n * 6 + 2..n * 6 + 6], [0.0; 4]);
            assert_eq!(one[n], f32::midpoint(pair[0], pair[1]));
        }
    }
}
