//! Where the player is, and how it goes on from there.

use super::program::Program;

/// Most ticks of a count-in.
pub const TICKS: usize = 24;

/// What is counted before the music begins, in real seconds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct CountIn {
    /// When each tick falls; the first `count` of them.
    pub ticks: [f64; TICKS],
    /// How many there are.
    pub count: usize,
    /// When the music begins.
    pub length: f64,
}

impl CountIn {
    /// Nothing is counted.
    pub const NONE: Self = Self {
        ticks: [0.0; TICKS],
        count: 0,
        length: 0.0,
    };

    /// Ticks at these times, and the music after so many seconds; more than [`TICKS`] are left out.
    #[must_use]
    pub fn new(times: &[f64], length: f64) -> Self {
        let mut ticks = [0.0; TICKS];
        let count = times.len().min(TICKS);
        ticks[..count].copy_from_slice(&times[..count]);
        Self {
            ticks,
            count,
            length: length.max(0.0),
        }
    }
}

/// A passage to play, in seconds of the music's own tempo.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Passage {
    /// From where.
    pub from: f64,
    /// To where; none: to the end.
    pub to: Option<f64>,
    /// Whether it begins anew at its end.
    pub again: bool,
    /// What is counted before.
    pub count_in: CountIn,
    /// Whoever asked for it knows it by this number.
    pub number: u64,
}

impl Passage {
    /// All of it, once.
    pub const WHOLE: Self = Self {
        from: 0.0,
        to: None,
        again: false,
        count_in: CountIn::NONE,
        number: 0,
    };
}

/// Where the player is, in blocks of its program.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Transport {
    /// The block that comes next; before `from` while it is counted in.
    pub block: i64,
    /// Where the music begins.
    pub from: u64,
    /// Where it ends, or begins anew.
    pub to: Option<u64>,
    pub again: bool,
    pub plays: bool,
    pub number: u64,
    /// The blocks of the ticks, counted from the first.
    pub ticks: [i64; TICKS],
    pub count: usize,
}

impl Transport {
    pub(super) const STILL: Self = Self {
        block: 0,
        from: 0,
        to: None,
        again: false,
        plays: false,
        number: 0,
        ticks: [0; TICKS],
        count: 0,
    };

    /// At the beginning of a passage.
    pub(super) fn at(passage: &Passage, program: &Program) -> Self {
        let from = program.block(passage.from);
        let to = passage.to.map(|to| program.block(to).max(from + 1));
        let begins = from as i64 - super::program::block(passage.count_in.length) as i64;
        let tick = |at: f64| begins + super::program::block(at) as i64;
        Self {
            block: begins,
            from,
            to,
            again: passage.again,
            plays: true,
            number: passage.number,
            ticks: passage.count_in.ticks.map(tick),
            count: passage.count_in.count,
        }
    }

    /// The same place of the music in a program of another speed.
    pub(super) fn in_program(mut self, before: &Program, now: &Program) -> Self {
        let factor = before.speed() / now.speed();
        if factor == 1.0 {
            return self;
        }
        let moved = |block: u64| (block as f64 * factor).round() as u64;
        let (was, from) = (self.from as i64, moved(self.from));
        // A count-in goes on as it was begun; it is the music that is quicker.
        let ahead = self.block - was;
        self.block = if ahead < 0 {
            from as i64 + ahead
        } else {
            moved(self.block.max(0) as u64) as i64
        };
        for tick in &mut self.ticks {
            *tick += from as i64 - was;
        }
        self.from = from;
        self.to = self.to.map(|to| moved(to).max(from + 1));
        self
    }

    /// Whether a tick falls on the block that comes next.
    pub(super) fn ticks_now(&self) -> bool {
        self.ticks[..self.count.min(TICKS)].contains(&self.block)
    }
}
