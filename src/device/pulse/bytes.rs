//! Samples as bytes, as the server takes them.

use super::FRAME;
use crate::device::feed::Feed;

/// Frames that the feed is asked for at a time, at most (ours: 23 ms, as much as the server keeps).
const BLOCK: usize = 1_024;

/// Bytes of a sample.
const BYTES: usize = size_of::<f32>();

/// A feed that fills bytes. It neither allocates nor locks nor waits.
#[derive(Debug)]
pub struct Bytes<F> {
    feed: Feed<F>,
    block: Box<[f32]>,
}

impl<F: FnMut(&mut [f32])> Bytes<F> {
    /// Of a feed.
    pub fn of(feed: Feed<F>) -> Self {
        let samples = BLOCK * FRAME as usize / BYTES;
        Self {
            feed,
            block: vec![0.0; samples].into_boxed_slice(),
        }
    }

    /// Fills bytes with frames of samples, interleaved, least significant byte first.
    pub fn fill(&mut self, out: &mut [u8]) {
        for piece in out.chunks_mut(BLOCK * FRAME as usize) {
            // A server asks for whole frames; should it not, the rest is silent.
            let rest = piece.len() % FRAME as usize;
            let (whole, rest) = piece.split_at_mut(piece.len() - rest);
            let samples = &mut self.block[..whole.len() / BYTES];
            self.feed.samples(samples);
            for (to, sample) in whole.chunks_exact_mut(BYTES).zip(samples) {
                to.copy_from_slice(&sample.to_le_bytes());
            }
            rest.fill(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::clock::Clock;
    use std::sync::Arc;

    fn bytes<F: FnMut(&mut [f32])>(fill: F) -> Bytes<F> {
        Bytes::of(Feed::new(fill, &Arc::new(Clock::start())))
    }

    #[test]
    fn bytes_are_the_samples_in_their_order_over_all_blocks() {
        let mut next = 0.0;
        let mut counting = bytes(|out: &mut [f32]| {
            for sample in out {
                *sample = next;
                next += 0.5;
            }
        });
        let mut out = vec![9; 3 * BLOCK * 8 + 8];
        counting.fill(&mut out);
        for (n, bytes) in out.chunks_exact(4).enumerate() {
            assert_eq!(bytes, (n as f32 / 2.0).to_le_bytes());
        }
        counting.fill(&mut out[..8]);
        let n = (3 * BLOCK + 1) as f32;
        assert_eq!(out[..4], n.to_le_bytes());
        assert_eq!(out[4..8], (n + 0.5).to_le_bytes());
    }

    #[test]
    fn a_broken_frame_at_the_end_is_silent() {
        let mut out = vec![9; 8 + 3];
        bytes(|out: &mut [f32]| out.fill(1.0)).fill(&mut out);
        assert_eq!(out[..4], 1.0_f32.to_le_bytes());
        assert_eq!(out[8..], [0, 0, 0]);
    }

    #[test]
    fn filling_allocates_nothing() {
        let mut filled = bytes(|out: &mut [f32]| out.fill(1.0));
        let mut out = vec![0; 100_000];
        let made = allocation_counter::measure(|| filled.fill(&mut out));
        assert_eq!(made.count_total, 0);
    }
}
