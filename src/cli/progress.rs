//! Progress on a terminal for anything over half a second.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// Nothing is shown before this, and no oftener.
const QUIET: Duration = Duration::from_millis(500);

/// A line on standard error that tells how far a command is; silent where nobody watches.
pub struct Progress {
    shown: Option<Instant>,
    started: Instant,
    watched: bool,
}

impl Default for Progress {
    fn default() -> Self {
        Self {
            shown: None,
            started: Instant::now(),
            watched: std::io::stderr().is_terminal(),
        }
    }
}

impl Progress {
    /// Tells the share that is done, 0 to 1.
    pub fn tell(&mut self, share: f64) {
        let since = self.shown.unwrap_or(self.started);
        if self.watched && since.elapsed() >= QUIET {
            let _ = write!(std::io::stderr(), "\rvoicing: {:3.0} %", share * 100.0);
            let _ = std::io::stderr().flush();
            self.shown = Some(Instant::now());
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown.is_some() {
            let _ = write!(std::io::stderr(), "\r               \r");
        }
    }
}
