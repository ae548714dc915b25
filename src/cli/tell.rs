//! Progress on the error stream, and requests to end the program.

use crate::app::{NotKept, Progress, attempt, terminal};
use crate::words::numbers::{clock, number};
use crate::words::{facts, say};
use std::io::IsTerminal;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Whether the program was started to outlive its terminal, as by `nohup`. Only on Linux can this be read without
/// unsafe code.
#[cfg(unix)]
#[expect(
    clippy::disallowed_methods,
    reason = "the system's own word on this process, which is no file of anybody's"
)]
fn outlives_terminal() -> bool {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let ignored = status.lines().find_map(|l| l.strip_prefix("SigIgn:"));
    let bit = 1 << (signal_hook::consts::SIGHUP - 1);
    ignored.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok()).is_some_and(|mask| mask & bit != 0)
}

/// A flag that is set when the program is asked to end, so that finished work is saved: by Ctrl-C, by a system that
/// shuts down or stops a service (SIGTERM), or by a terminal that is closed (SIGHUP).
#[cfg(unix)]
pub(super) fn asked_to_end() -> Arc<AtomicBool> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    let flag = Arc::new(AtomicBool::new(false));
    for signal in [SIGINT, SIGTERM, SIGHUP] {
        if signal != SIGHUP || !outlives_terminal() {
            // if a signal cannot be caught it ends the program, as usual
            let _ = signal_hook::flag::register(signal, flag.clone());
        }
    }
    flag
}

/// The same on systems without signals: Ctrl-C alone. (On Unix `ctrlc` would catch the other two as well, but only
/// with a feature that changes it for the window's libraries too, and it would end what was started under `nohup`.)
#[cfg(not(unix))]
pub(super) fn asked_to_end() -> Arc<AtomicBool> {
    let stop = Arc::new(AtomicBool::new(false));
    let flag = stop.clone();
    // a second handler in one process is refused: then Ctrl-C simply ends the program
    let _ = ctrlc::set_handler(move || flag.store(true, Ordering::Relaxed));
    stop
}

/// Reports the progress of a run.
pub(super) struct Teller {
    /// The program was asked to end.
    pub(super) stop: Arc<AtomicBool>,
    began: Instant,
    running_since: Option<(Instant, f64)>,
    last: Option<Instant>,
    terminal: bool,
    told: bool,
}

impl Teller {
    #[expect(
        clippy::disallowed_methods,
        reason = "progress is told by the wall clock; nothing simulated sees it"
    )]
    pub(super) fn new() -> Self {
        Self {
            stop: asked_to_end(),
            began: Instant::now(),
            running_since: None,
            last: None,
            terminal: std::io::stderr().is_terminal(),
            told: false,
        }
    }
    /// Receives progress; returns false once the program is asked to end.
    #[expect(
        clippy::disallowed_methods,
        reason = "progress is told by the wall clock; nothing simulated sees it"
    )]
    pub(super) fn hear(&mut self, p: Progress) -> bool {
        let now = Instant::now();
        let every = Duration::from_millis(if self.terminal { 300 } else { 5000 });
        if let (Progress::Running { at_s, .. }, None) = (p, self.running_since) {
            self.running_since = Some((now, at_s));
        }
        if now.duration_since(self.last.unwrap_or(self.began)) >= every {
            self.last = Some(now);
            self.tell(p, now);
        }
        !self.stop.load(Ordering::Relaxed)
    }
    fn tell(&mut self, p: Progress, now: Instant) {
        let line = match p {
            Progress::Conditioning(share) => {
                let spent = now.duration_since(self.began).as_secs_f64();
                say!("progress-earlier-life", share = number(100.0 * share, 0), spent = number(spent, 0))
            }
            Progress::Running { at_s, end_s, slow } => {
                let (since, from_s) = self.running_since.unwrap_or((self.began, 0.0));
                let spent = now.duration_since(since).as_secs_f64().max(1e-6);
                let pace = (at_s - from_s) / spent;
                let left = if pace > 0.0 { (end_s - at_s).max(0.0) / pace } else { 0.0 };
                if let Some(slow) = slow {
                    // day and night are simulated at very different paces: an estimate in seconds would mean nothing
                    let [at, end] = [at_s, end_s].map(|s| s / 86_400.0);
                    let (share, spent) = (number(100.0 * at / end, 0), number(spent, 0));
                    let (at, end) = (number(at, 1), number(end, 1));
                    let what = facts::alone(slow);
                    say!("progress-days", at = at, end = end, share = share, what = what, spent = spent)
                } else {
                    let (pace, left) = (number(pace, 0), number(left, 0));
                    say!("progress-running", at = clock(at_s), end = clock(end_s), pace = pace, left = left)
                }
            }
        };
        self.told = true;
        if self.terminal {
            terminal::progress(&line);
        } else {
            terminal::tell(&line);
        }
    }
    /// Removes the last line of progress.
    pub(super) fn end(&self) {
        if self.told {
            terminal::progress("");
        }
    }
}

/// Prints cautions before anything runs: on the error stream, so that the results stay unchanged.
pub(super) fn cautions(text: &str) {
    terminal::tell(text.trim_end_matches('\n'));
}

/// Reports why conditioned cars could not be cached.
pub(super) fn cache_trouble<'a>(why: impl IntoIterator<Item = &'a NotKept>) {
    for why in why {
        terminal::tell(&attempt::not_kept(why));
    }
}
