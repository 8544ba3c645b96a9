//! Work that takes longer than a pose: on threads of its own, few at a time, with answers kept for whoever asks the same again.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use axum::body::Bytes;
use tokio::sync::Semaphore;
use tokio::task;

use super::trouble::Trouble;
use crate::cli::question::Read;

/// Studies at one time; others wait.
const AT_ONCE: usize = 2;
/// Answers kept, and the bytes of all together.
const KEPT: usize = 64;
const KEPT_BYTES: usize = 32 << 20;

/// Gives a question up when whoever asked it has hung up: the answer to a request is dropped then, and this with it.
pub(crate) struct Halt(Arc<AtomicBool>);

impl Halt {
    /// A machine to work on for as long as somebody waits.
    pub(crate) fn over(read: &Read) -> (Self, Read) {
        let unwanted = Arc::new(AtomicBool::new(false));
        let mut read = read.clone();
        read.model = read.model.until(&unwanted);
        (Self(unwanted), read)
    }
}

impl Drop for Halt {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Where long work is done.
pub(crate) struct Workshop {
    room: Arc<Semaphore>,
    /// One core is left to the hand.
    pool: Option<Arc<rayon::ThreadPool>>,
    kept: Mutex<VecDeque<(String, Bytes)>>,
}

impl Workshop {
    pub(crate) fn new() -> Self {
        let cores = thread::available_parallelism().map_or(1, usize::from);
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(cores.saturating_sub(1).max(1))
            .thread_name(|number| format!("study {number}"))
            .build();
        Self {
            room: Arc::new(Semaphore::new(AT_ONCE)),
            pool: pool.ok().map(Arc::new),
            kept: Mutex::new(VecDeque::new()),
        }
    }

    /// Does long work. When whoever asked has gone before it began, it is not begun.
    pub(crate) async fn study<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, Trouble> + Send + 'static,
    ) -> Result<T, Trouble> {
        let Ok(place) = Arc::clone(&self.room).acquire_owned().await else {
            return Err(Trouble::busy());
        };
        let pool = self.pool.clone();
        let done = task::spawn_blocking(move || {
            let answer = match pool {
                Some(pool) => pool.install(work),
                None => work(),
            };
            drop(place);
            answer
        });
        // A panic inside ends up here, and goes no further.
        done.await.unwrap_or_else(|_| Err(Trouble::broke()))
    }

    /// The same for an answer in bytes that depends on its key alone.
    pub(crate) async fn kept(
        &self,
        key: String,
        work: impl FnOnce() -> Result<Vec<u8>, Trouble> + Send + 'static,
    ) -> Result<Bytes, Trouble> {
        if let Some(bytes) = self.find(&key) {
            return Ok(bytes);
        }
        let bytes = Bytes::from(self.study(work).await?);
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.push_back((key, bytes.clone()));
        let size = |kept: &VecDeque<(String, Bytes)>| kept.iter().map(|k| k.1.len()).sum::<usize>();
        while kept.len() > KEPT || (size(&kept) > KEPT_BYTES && kept.len() > 1) {
            kept.pop_front();
        }
        Ok(bytes)
    }

    fn find(&self, key: &str) -> Option<Bytes> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let found = kept.iter().find(|(known, _)| known == key);
        found.map(|(_, bytes)| bytes.clone())
    }
}

/// Short work with files, off the threads that answer.
pub(crate) async fn files<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Trouble> {
    task::spawn_blocking(work)
        .await
        .map_err(|_| Trouble::broke())
}
