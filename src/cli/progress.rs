//! How far a long piece of work has got: on standard error, on a terminal alone, and only after a second.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// Work shorter than this shows nothing.
const QUIET: Duration = Duration::from_secs(1);
/// Time between two lines.
const PAUSE: Duration = Duration::from_millis(200);
/// Characters of the bar.
const WIDTH: usize = 30;

/// A bar.
pub struct Progress {
    total: usize,
    begun: Instant,
    shown: Option<Instant>,
    terminal: bool,
}

impl Progress {
    /// A bar for so many pieces; nothing is printed yet.
    pub fn new(total: usize) -> Self {
        Self {
            total,
            begun: Instant::now(),
            shown: None,
            terminal: std::io::stderr().is_terminal(),
        }
    }

    /// Tells how many pieces are done.
    pub fn tell(&mut self, done: usize) {
        let now = Instant::now();
        let spent = now - self.begun;
        let soon = self.shown.is_some_and(|shown| now - shown < PAUSE);
        if !self.terminal || spent < QUIET || soon || done == 0 {
            return;
        }
        self.shown = Some(now);
        let share = done as f64 / self.total.max(1) as f64;
        let filled = ((share * WIDTH as f64) as usize).min(WIDTH);
        let rate = done as f64 / spent.as_secs_f64();
        let left = self.total.saturating_sub(done) as f64 / rate;
        let mut out = std::io::stderr().lock();
        let _ = write!(
            out,
            "\r[{}{}] {done} of {}, {rate:.0} a second, {left:.0} s left \x1b[K",
            "#".repeat(filled),
            "-".repeat(WIDTH - filled),
            self.total
        );
        let _ = out.flush();
    }

    /// Takes the bar away; the time spent, if it was long enough to be told.
    pub fn end(self) -> Option<Duration> {
        if self.shown.is_some() {
            let mut out = std::io::stderr().lock();
            let _ = write!(out, "\r\x1b[K");
            let _ = out.flush();
        }
        let spent = self.begun.elapsed();
        (spent >= QUIET).then_some(spent)
    }
}
