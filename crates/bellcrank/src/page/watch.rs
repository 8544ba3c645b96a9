//! Watching the folders of the bench. What the system tells is only a hint: whether something changed is seen from the content.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use notify::{RecursiveMode, Watcher};

use super::bench::Bench;

/// Editors write in several strokes; so long nothing may happen before a look is taken.
const QUIET: Duration = Duration::from_millis(80);
/// ... but a look is taken after so long in any case.
const LATEST: Duration = Duration::from_millis(400);
/// Without any hint a glance is taken so often: not every disk tells of changes.
const ROUND: Duration = Duration::from_secs(2);

/// Watches for ever, in a thread of its own.
pub(crate) fn begin(bench: Arc<Bench>) {
    // Before anybody can be told of changes: what comes later is news.
    let mut listed = bench.machines();
    let work = move || {
        let (to, hints) = channel();
        let notify = move |event: notify::Result<notify::Event>| {
            // Reading is no change, and the page's own reading must not wake it up.
            let is_access = event.as_ref().is_ok_and(|event| event.kind.is_access());
            if !is_access {
                let _ = to.send(());
            }
        };
        let mut watcher = notify::recommended_watcher(notify).ok();
        let mut watched: Vec<PathBuf> = Vec::new();
        loop {
            for folder in bench.folders() {
                if let Some(watcher) = &mut watcher
                    && !watched.contains(&folder)
                    && watcher.watch(&folder, RecursiveMode::NonRecursive).is_ok()
                {
                    watched.push(folder);
                }
            }
            let hint = wait(&hints);
            for desk in bench.open_desks() {
                if hint {
                    desk.look();
                } else {
                    desk.glance();
                }
            }
            let now = bench.machines();
            if now != listed {
                listed = now;
                bench.hub.machines();
            }
        }
    };
    // Without this thread changes from outside show at the next edit only.
    let _ = thread::Builder::new().name("watch".into()).spawn(work);
}

/// Waits for a hint and for the quiet after it; false when the round is over without one.
fn wait(hints: &Receiver<()>) -> bool {
    match hints.recv_timeout(ROUND) {
        Ok(()) => {}
        Err(RecvTimeoutError::Timeout) => return false,
        Err(RecvTimeoutError::Disconnected) => {
            // No watcher could be made.
            thread::sleep(ROUND);
            return false;
        }
    }
    let latest = Instant::now() + LATEST;
    while Instant::now() < latest && hints.recv_timeout(QUIET).is_ok() {}
    true
}
