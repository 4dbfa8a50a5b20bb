//! A few numbers that one thread writes and others read whole, without a lock.

use std::sync::atomic::{AtomicU64, Ordering, fence};

/// How often a reader tries before it makes do without; a write takes nanoseconds, unless the writer is put to sleep
/// in its midst (ours).
const TRIES: usize = 100;

/// `N` words that are always read together as they were written together (a sequence lock).
///
/// One thread alone may write. It never waits. A reader that meets a write tries again.
#[derive(Debug)]
pub struct Words<const N: usize> {
    /// Writes begun and ended: odd while one is under way, 0 before the first.
    turns: AtomicU64,
    words: [AtomicU64; N],
}

impl<const N: usize> Words<N> {
    /// Nothing was written yet.
    pub fn new() -> Self {
        Self {
            turns: AtomicU64::new(0),
            words: [const { AtomicU64::new(0) }; N],
        }
    }

    /// Writes all words. Only one thread may do so.
    pub fn write(&self, words: [u64; N]) {
        let turns = self.turns.load(Ordering::Relaxed);
        self.turns.store(turns + 1, Ordering::Relaxed);
        // No word may be seen before the odd number is.
        fence(Ordering::Release);
        for (to, word) in self.words.iter().zip(words) {
            to.store(word, Ordering::Relaxed);
        }
        self.turns.store(turns + 2, Ordering::Release);
    }

    /// The words last written; `None` before the first write, and where the writer was met each time.
    pub fn read(&self) -> Option<[u64; N]> {
        for _ in 0..TRIES {
            let before = self.turns.load(Ordering::Acquire);
            if before == 0 {
                return None;
            }
            let words = self.words.each_ref().map(|w| w.load(Ordering::Relaxed));
            // The number is read after the words.
            fence(Ordering::Acquire);
            if before.is_multiple_of(2) && self.turns.load(Ordering::Relaxed) == before {
                return Some(words);
            }
            std::hint::spin_loop();
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_read_before_the_first_write() {
        let words = Words::<2>::new();
        assert_eq!(words.read(), None);
        words.write([0, 7]);
        assert_eq!(words.read(), Some([0, 7]));
    }

    #[test]
    fn words_are_read_as_they_were_written_together() {
        let words = Words::<3>::new();
        std::thread::scope(|scope| {
            scope.spawn(|| {
                for turn in 1..200_000_u64 {
                    words.write([turn, turn * 3, turn * 7]);
                }
            });
            let mut last = 0;
            while last < 199_999 {
                let Some([one, three, seven]) = words.read() else {
                    continue;
                };
                assert_eq!((three, seven), (one * 3, one * 7));
                assert!(one >= last, "{one} after {last}");
                last = one;
            }
        });
    }
}
