//! A sign of life during long work.

use std::io::IsTerminal;
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Shorter work passes in silence.
const SILENCE: Duration = Duration::from_millis(500);
const TICK: Duration = Duration::from_millis(100);

/// Does work that tells how much of it is done. Where a person watches, shows it.
pub(crate) fn counted<T>(
    what: &str,
    total: usize,
    work: impl FnOnce(&mut dyn FnMut(usize)) -> T,
) -> T {
    if !std::io::stderr().is_terminal() {
        return work(&mut |_| ());
    }
    let bar = ProgressBar::new(total as u64);
    if let Ok(style) = ProgressStyle::with_template("{msg} {pos} of {len}") {
        bar.set_style(style);
    }
    bar.set_message(what.to_owned());
    let answer = work(&mut |done| bar.set_position(done as u64));
    bar.finish_and_clear();
    answer
}

/// Does the work. Where a person watches and it takes long, says on the terminal what is being done and for how long.
pub(crate) fn during<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    thread::scope(|scope| {
        let (done, waiting) = channel::<()>();
        scope.spawn(move || {
            if waiting.recv_timeout(SILENCE) != Err(RecvTimeoutError::Timeout) {
                return;
            }
            let bar = ProgressBar::new_spinner().with_elapsed(SILENCE);
            if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}, {elapsed}") {
                bar.set_style(style);
            }
            bar.set_message(what.to_owned());
            while waiting.recv_timeout(TICK) == Err(RecvTimeoutError::Timeout) {
                bar.tick();
            }
            bar.finish_and_clear();
        });
        let answer = work();
        // The channel closes, and the sign goes away before anything is printed.
        drop(done);
        answer
    })
}
