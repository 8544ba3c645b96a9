//! The page: a machine in the browser, served on loopback. It shows what the command line says and writes what is changed into the
//! machine file; it works nothing out itself.
//!
//! ```text
//! serve ── guard ── api ──┬─ bench ── desk ──┬─ history         a folder, its machines, what was done to them
//!   (who may come in)     │                  └─ hand            the thread in which a machine is moved
//!                         ├─ work, jobs, log, make ── cli       the same answers as the command line
//!                         ├─ shell, assets                      what the browser shows
//!                         └─ events <── desk, watch             news for every window
//! ```

mod api;
mod ask;
mod assets;
mod bench;
mod desk;
mod door;
mod events;
mod export;
mod guard;
mod hand;
mod history;
mod jobs;
mod kept;
mod log;
mod make;
mod serve;
mod shell;
mod study;
mod trouble;
mod turn;
mod watch;
mod work;

use std::path::Path;
use std::sync::Arc;

use crate::cli::fault::Fault;
use bench::Bench;
use door::Door;
use events::Hub;
use guard::Guard;
use jobs::Jobs;
use work::Workshop;

/// Threads that answer; none of them ever waits for long work.
const THREADS: usize = 2;
/// Most threads for files and studies together.
const BLOCKING: usize = 16;

/// Everything that a request may need.
pub(crate) struct Page {
    pub(crate) bench: Arc<Bench>,
    pub(crate) guard: Arc<Guard>,
    pub(crate) workshop: Workshop,
    pub(crate) jobs: Jobs,
    pub(crate) papers: make::Papers,
}

/// A page that can be served.
pub(crate) struct Opened {
    pub(crate) link: String,
    pub(crate) port: u16,
    listener: std::net::TcpListener,
    page: Arc<Page>,
}

/// Opens the folder of a machine file and a port for it.
pub(crate) fn open(file: &Path, port: u16) -> Result<Opened, Fault> {
    let about = std::fs::metadata(file).map_err(|_| {
        Fault::disk(
            format!("{} is not there", file.display()),
            "look at the name; `bellcrank new` writes a machine file",
        )
    })?;
    if !about.is_file() {
        return Err(Fault::disk(
            format!("{} is no file", file.display()),
            "name the machine file in it",
        ));
    }
    if file.extension().is_none_or(|end| end != "toml") {
        return Err(Fault::disk(
            format!("{} is not named as a machine file", file.display()),
            "machine files end in .toml",
        ));
    }
    let trouble = |error: &dyn std::fmt::Display| {
        Fault::disk(format!("the page cannot be opened: {error}"), "")
    };
    let random = |bytes| guard::random(bytes).map_err(|error| trouble(&error));
    let hub = Arc::new(Hub::new(random(8)?));
    let bench = Bench::new(file, hub).map_err(|error| trouble(&error))?;
    let door = door::open(&bench.folder, port, || random(16))?;
    let Door { listener, key } = door.map_err(|error| {
        Fault::disk(
            format!("port {port} of this computer cannot be used: {error}"),
            "leave --port out, or name another one",
        )
    })?;
    let port = listener
        .local_addr()
        .map_err(|error| trouble(&error))?
        .port();
    let guard = Arc::new(Guard::new(port, key));
    Ok(Opened {
        link: guard.link(),
        port,
        listener,
        page: Arc::new(Page {
            bench: Arc::new(bench),
            guard,
            workshop: Workshop::new(),
            jobs: Jobs::default(),
            papers: make::Papers::default(),
        }),
    })
}

impl Opened {
    /// Serves it for ever.
    pub(crate) fn serve(self) -> Result<(), Fault> {
        let fail =
            |error: &std::io::Error| Fault::disk(format!("the page cannot be served: {error}"), "");
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(THREADS)
            .max_blocking_threads(BLOCKING)
            .enable_io()
            .enable_time()
            .build()
            .map_err(|error| fail(&error))?;
        watch::begin(Arc::clone(&self.page.bench));
        let router = api::router(Arc::clone(&self.page));
        runtime
            .block_on(async {
                let hub = Arc::clone(&self.page.bench.hub);
                tokio::spawn(async move { hub.beat().await });
                serve::serve(self.listener, router).await
            })
            .map_err(|error| fail(&error))
    }
}
