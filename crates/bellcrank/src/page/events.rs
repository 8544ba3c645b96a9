//! News for the open windows, as server-sent events. A window that does not read is let go; it comes back by itself and asks anew.

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::body::{Body, Bytes};
use hyper::body::Frame;
use serde_json::{Value, json};
use tokio::sync::mpsc;

/// Most windows that listen at one time.
pub(crate) const MOST_STREAMS: usize = 64;
/// News that may wait for one window.
const WAITING: usize = 64;
/// So often a sign of life is sent.
const BEAT: Duration = Duration::from_secs(15);

/// Who listens.
pub(crate) struct Hub {
    /// New with every start of the server, so that a window notices that it talks to another one.
    pub(crate) start: String,
    listeners: Mutex<Vec<Listener>>,
}

struct Listener {
    /// The machine it wants to hear of; all when not given.
    machine: Option<String>,
    to: mpsc::Sender<Bytes>,
}

impl Hub {
    pub(crate) fn new(start: String) -> Self {
        Self {
            start,
            listeners: Mutex::new(Vec::new()),
        }
    }

    fn listeners(&self) -> MutexGuard<'_, Vec<Listener>> {
        self.listeners
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }

    /// A stream of news, beginning with `hello`; none when too many are open.
    pub(crate) fn listen(&self, machine: Option<String>) -> Option<Body> {
        let (to, news) = mpsc::channel(WAITING);
        let hello = event("hello", &json!({ "start": self.start }));
        // The channel is new and empty.
        let _ = to.try_send(Bytes::from(format!("retry: 500\n{hello}")));
        let mut listeners = self.listeners();
        listeners.retain(|listener| !listener.to.is_closed());
        if listeners.len() >= MOST_STREAMS {
            return None;
        }
        listeners.push(Listener { machine, to });
        Some(Body::new(Stream { news }))
    }

    /// A machine has changed.
    pub(crate) fn changed(&self, machine: &str, version: u64, by: &str) {
        let data = json!({ "m": machine, "version": version, "by": by });
        self.send("changed", &data, Some(machine));
    }

    /// What is kept of a machine has changed.
    pub(crate) fn kept(&self, machine: &str) {
        self.send("kept", &json!({ "m": machine }), Some(machine));
    }

    /// The list of machines may have changed.
    pub(crate) fn machines(&self) {
        self.send("machines", &json!({}), None);
    }

    fn send(&self, name: &str, data: &Value, machine: Option<&str>) {
        let bytes = Bytes::from(event(name, data));
        self.listeners().retain(|listener| {
            let about = match (&listener.machine, machine) {
                (Some(wanted), Some(about)) => wanted == about,
                _ => true,
            };
            !about || listener.to.try_send(bytes.clone()).is_ok()
        });
    }

    /// Sends signs of life for ever.
    pub(crate) async fn beat(&self) {
        loop {
            tokio::time::sleep(BEAT).await;
            self.send("heartbeat", &json!({}), None);
        }
    }
}

fn event(name: &str, data: &Value) -> String {
    // JSON has no line ends of its own, so the event is one line.
    format!("event: {name}\ndata: {data}\n\n")
}

/// The body of an answer that goes on for as long as the window is open.
struct Stream {
    news: mpsc::Receiver<Bytes>,
}

impl hyper::body::Body for Stream {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        let next = self.news.poll_recv(context);
        next.map(|bytes| bytes.map(|bytes| Ok(Frame::data(bytes))))
    }
}
