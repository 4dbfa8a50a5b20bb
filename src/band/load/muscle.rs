//! A muscle that tires and recovers, solved in closed form.

/// The parameters of a muscle; all above zero.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Muscle {
    /// F: share of what works that tires in a second.
    pub fatigue: f64,
    /// R: share of what is tired that recovers in a second while there is load.
    pub recovery: f64,
    /// r: how many times faster it recovers at rest.
    pub rest_multiplier: f64,
}

/// A stretch of time in which what is tired nears a value exponentially.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Piece {
    /// Tired at its start, 0 to 1.
    pub from: f64,
    /// What it nears, perhaps far over 1.
    pub toward: f64,
    /// How fast, 1/s.
    pub rate: f64,
    /// How long, seconds.
    pub seconds: f64,
}

impl Piece {
    /// Tired after some seconds.
    #[must_use]
    pub fn at(&self, seconds: f64) -> f64 {
        // The same as toward + (from - toward) e^(-rate s), without loss of digits.
        self.from - (self.toward - self.from) * (-self.rate * seconds).exp_m1()
    }

    /// Tired at its end.
    #[must_use]
    pub fn end(&self) -> f64 {
        self.at(self.seconds)
    }

    /// Seconds until it reaches a value; `None` if it never does.
    #[must_use]
    pub fn until(&self, value: f64) -> Option<f64> {
        let (way, left) = (value - self.from, self.toward - value);
        if way == 0.0 {
            return Some(0.0);
        }
        let comes = way.signum() == left.signum() && left != 0.0;
        comes.then(|| ((way + left) / left).ln() / self.rate)
    }

    /// Seconds spent above a value, and the integral of the excess over them.
    #[must_use]
    pub fn above(&self, value: f64) -> (f64, f64) {
        let turn = self.until(value).filter(|t| *t < self.seconds);
        let (start, stop) = match (self.from > value, turn) {
            (true, Some(t)) => (0.0, t),
            (true, None) => (0.0, self.seconds),
            (false, Some(t)) => (t, self.seconds),
            (false, None) => (0.0, 0.0),
        };
        let grown = (self.at(start) - self.at(stop)) / self.rate;
        let excess = (self.toward - value) * (stop - start) + grown;
        (stop - start, excess.max(0.0))
    }
}

impl Muscle {
    /// The same muscle tiring so many times as fast.
    #[must_use]
    pub fn tiring(self, factor: f64) -> Self {
        Self {
            fatigue: self.fatigue * factor,
            ..self
        }
    }

    /// Recovery under an effort, 1/s: faster where there is none.
    fn rate(&self, effort: f64) -> f64 {
        if effort > 0.0 {
            self.recovery
        } else {
            self.recovery * self.rest_multiplier
        }
    }

    /// While an effort is met: a leaky integrator.
    fn met(&self, tired: f64, effort: f64, seconds: f64) -> Piece {
        let rate = self.rate(effort);
        Piece {
            from: tired,
            toward: self.fatigue * effort / rate,
            rate,
            seconds,
        }
    }

    /// While an effort is not met: all that is not tired works.
    fn failing(&self, tired: f64, seconds: f64) -> Piece {
        let rate = self.fatigue + self.recovery;
        Piece {
            from: tired,
            toward: self.fatigue / rate,
            rate,
            seconds,
        }
    }

    /// Tired after an effort (0 to 1; 0 is rest) of some seconds, as if the effort could always be
    /// met. Beyond the point of failing this goes over what there is; [`Muscle::pieces`] does not.
    #[must_use]
    pub fn after(&self, tired: f64, effort: f64, seconds: f64) -> f64 {
        self.met(tired, effort, seconds).end()
    }

    /// The course of an effort: met, as long as there is enough that is not tired; then failing; or
    /// the other way round, where a soft effort lets it recover. Tired stays within 0 to 1.
    #[must_use]
    pub fn pieces(&self, tired: f64, effort: f64, seconds: f64) -> [Piece; 2] {
        let (tired, seconds) = (tired.clamp(0.0, 1.0), seconds.max(0.0));
        let ceiling = 1.0 - effort;
        let failing = self.failing(tired, seconds);
        let met = self.met(tired, effort, seconds);
        let fails = tired > ceiling || (tired == ceiling && met.toward > ceiling);
        let first = if fails { failing } else { met };
        let turn = first
            .until(ceiling)
            .filter(|t| *t < seconds && tired != ceiling);
        let Some(turn) = turn else {
            return [first, self.met(first.end(), effort, 0.0)];
        };
        let rest = seconds - turn;
        let second = if fails {
            self.met(ceiling, effort, rest)
        } else {
            self.failing(ceiling, rest)
        };
        [
            Piece {
                seconds: turn,
                ..first
            },
            second,
        ]
    }

    /// The greatest effort that can be held for ever.
    #[must_use]
    pub fn asymptote(&self) -> f64 {
        self.recovery / (self.fatigue + self.recovery)
    }

    /// How long a steady effort can be held from fresh, seconds; `None` for ever.
    #[must_use]
    pub fn endurance(&self, effort: f64) -> Option<f64> {
        if effort >= 1.0 {
            return Some(0.0);
        }
        if effort <= self.asymptote() {
            return None;
        }
        self.met(0.0, effort, 0.0).until(1.0 - effort)
    }

    /// The greatest share of the time, 0 to 1, in which an effort can be played in the long run, in
    /// even turns with rests, so that a reserve stays.
    #[must_use]
    pub fn duty(&self, effort: f64, reserve: f64) -> f64 {
        let tired = (1.0 - effort - reserve).max(0.0);
        let quick = self.recovery * self.rest_multiplier;
        let share = tired * quick / (self.fatigue * effort + tired * (quick - self.recovery));
        share.clamp(0.0, 1.0)
    }
}
