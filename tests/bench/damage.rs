//! What benches of damaged files share: inputs by number, where they come from, and what is made of each.

use bandwright::sketch::ReadError;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// A row of numbers that looks random (Steele, Lea and Flood, "Fast Splittable Pseudorandom
/// Number Generators", OOPSLA 2014: `SplitMix64`).
pub struct Numbers(pub u64);

impl Numbers {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % end.max(1) as u64) as usize
    }
}

/// How many notes were read, or what is wrong with them.
pub type Judged = Result<usize, String>;

/// What is damaged, and how an answer is judged.
pub struct Trial {
    /// How many inputs are tried where none is told.
    pub usual: u64,
    /// How names of files of the corpus end; the first also of an input that is kept.
    pub endings: &'static [&'static str],
    /// Larger files of the corpus are left out.
    pub most_bytes: usize,
    /// What an input may take by the clock.
    pub most: Duration,
    /// And this a byte.
    pub most_a_byte: Duration,
    /// The input of a number.
    pub input: fn(&[Vec<u8>], u64) -> Vec<u8>,
    /// Reads an input: how many notes it has where it holds what it should, or what it does not hold.
    pub read: fn(&[u8]) -> Result<Judged, ReadError>,
}

impl Trial {
    /// Tries as many inputs as the arguments tell, of some files and those of a folder; a fault ends it and names the
    /// input that shows it.
    pub fn run(&self, mut corpus: Vec<Vec<u8>>) {
        let words: Vec<String> = std::env::args().collect();
        let after = |name: &str| {
            let at = words.iter().position(|w| w == name)?;
            words.get(at + 1).cloned()
        };
        let number =
            |name: &str, usual| after(name).map_or(usual, |n| n.parse().expect("a number"));
        let (inputs, first) = (number("--inputs", self.usual), number("--from", 0));
        if let Some(folder) = after("--corpus") {
            self.gather(Path::new(&folder), &mut corpus);
        }
        corpus.retain(|f| f.len() <= self.most_bytes);
        let bytes: usize = corpus.iter().map(Vec::len).sum();
        println!(
            "{inputs} inputs from {} files of {bytes} bytes",
            corpus.len()
        );
        let start = Instant::now();
        let mut tally = Tally::default();
        for number in first..first + inputs {
            let input = (self.input)(&corpus, number);
            if let Err(what) = self.take(&mut tally, &input) {
                let place =
                    std::env::temp_dir().join(format!("input-{number}.{}", self.endings[0]));
                let _ = std::fs::write(&place, &input);
                panic!("input {number}: {what}; it is kept as {}", place.display());
            }
        }
        println!(
            "{} read, {} refused, {} notes; worst {:?} for {} bytes; {:.0} s in all",
            tally.read,
            tally.refused,
            tally.notes,
            tally.worst.0,
            tally.worst.1,
            start.elapsed().as_secs_f64()
        );
    }

    fn gather(&self, folder: &Path, corpus: &mut Vec<Vec<u8>>) {
        let entries = std::fs::read_dir(folder).expect("a folder of files");
        let mut paths: Vec<PathBuf> = entries.flatten().map(|e| e.path()).collect();
        paths.sort();
        for path in paths {
            let ending = path.extension();
            let fits = ending.is_some_and(|own| self.endings.iter().any(|e| own == *e));
            if path.is_dir() {
                self.gather(&path, corpus);
            } else if fits && let Ok(bytes) = std::fs::read(&path) {
                corpus.push(bytes);
            }
        }
    }

    fn take(&self, tally: &mut Tally, input: &[u8]) -> Result<(), String> {
        let start = Instant::now();
        let done = std::panic::catch_unwind(|| (self.read)(input))
            .map_err(|_| "it panicked".to_owned())?;
        let took = start.elapsed();
        tally.worst = tally.worst.max((took, input.len()));
        if took > self.most + self.most_a_byte * input.len() as u32 {
            return Err(format!("took {took:?} for {} bytes", input.len()));
        }
        match done {
            Err(_) => tally.refused += 1,
            Ok(notes) => {
                tally.read += 1;
                tally.notes += notes?;
            }
        }
        Ok(())
    }
}

#[derive(Default)]
struct Tally {
    read: u64,
    refused: u64,
    notes: usize,
    worst: (Duration, usize),
}
