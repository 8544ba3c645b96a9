//! One open machine: its text, the machine as last read without errors, the problems, and the one place where its file is written.
//!
//! Readers take a [`Now`] and never wait. Whoever changes something holds the work lock, looks first whether the file was changed outside,
//! and publishes a new [`Now`].

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, RwLock};
use std::time::{Duration, SystemTime};

use machine::Resolved;
use machine::edit::Change;
use machine::logbook;
use serde_json::{Value, json};

use super::events::Hub;
use super::hand::HandThread;
use super::history::History;
use crate::cli::args::As;
use crate::cli::fault::Fault;
use crate::cli::output;
use crate::cli::question::{self, Read};

/// Largest text, bytes; the same as for a machine file.
pub(crate) const LARGEST_TEXT: usize = 4 << 20;
/// An emptied file is often about to be filled by an editor.
const EMPTIED: Duration = Duration::from_millis(150);

/// A machine as read without errors.
pub(crate) struct Good {
    /// The version of the text it was read from.
    pub(crate) version: u64,
    pub(crate) read: Arc<Read>,
    /// Where it is moved by hand.
    pub(crate) hand: HandThread,
    /// The same as measured and as built, once asked for: the log beside it is of the same version.
    logged: [OnceLock<Arc<Self>>; 2],
}

impl Good {
    fn new(version: u64, read: Read) -> Self {
        let read = Arc::new(read);
        Self {
            version,
            hand: HandThread::new(Arc::clone(&read)),
            read,
            logged: Default::default(),
        }
    }

    /// The machine that its log speaks of.
    pub(crate) fn as_logged(&self, machine_as: As) -> Result<Arc<Self>, Fault> {
        let slot = &self.logged[usize::from(machine_as == As::Built)];
        if let Some(known) = slot.get() {
            return Ok(Arc::clone(known));
        }
        let mut read = (*self.read).clone();
        let log = logbook::beside(Path::new(&read.file));
        question::as_logged(&mut read, machine_as, &log)?;
        let made = Arc::new(Self::new(self.version, read));
        Ok(Arc::clone(slot.get_or_init(|| made)))
    }
}

/// How things stand.
pub(crate) struct Now {
    /// Counts up with every change, also over restarts.
    pub(crate) version: u64,
    pub(crate) text: Arc<str>,
    /// The last machine without errors; it stays on show while the text is broken.
    pub(crate) good: Option<Arc<Good>>,
    pub(crate) problems: Vec<Resolved>,
    pub(crate) undo: Option<String>,
    pub(crate) redo: Option<String>,
    /// What to know about undo.
    pub(crate) note: Option<String>,
    /// The file cannot be read any more.
    pub(crate) gone: bool,
    /// The log beside the machine file; none where there is none.
    pub(crate) log: Option<Arc<str>>,
    /// The same of the log: it has steps of its own.
    pub(crate) log_undo: Option<String>,
    pub(crate) log_redo: Option<String>,
}

impl Now {
    /// The text, as it is, was read without errors.
    pub(crate) fn is_good(&self) -> bool {
        let good = self.good.as_ref();
        good.is_some_and(|good| good.version == self.version)
    }
}

/// Why a change was not made.
pub(crate) enum Unchanged {
    /// It was meant for an older text.
    Old,
    /// It cannot be made: a sentence, and what to do.
    Refused(String, Option<String>),
    /// The machine would have errors with it: which, and the places in the file that they are at, as keys.
    Breaks(Vec<Resolved>, Vec<Vec<String>>),
}

/// One open machine.
pub(crate) struct Desk {
    /// Its name in links.
    pub(crate) name: String,
    /// Its path, as a person would type it.
    pub(crate) path: PathBuf,
    now: RwLock<Arc<Now>>,
    work: Mutex<Work>,
    hub: Arc<Hub>,
}

struct Work {
    history: History,
    on_disk: OnDisk,
    /// The texts that were read, the machine file first: to see whether any has changed.
    texts: Vec<(PathBuf, String)>,
    /// Another file is named in the machine file, there or not.
    includes: bool,
    messages: Vec<String>,
    /// The log as last read or written, and its steps.
    log: Option<Arc<str>>,
    log_history: History,
    seen: Vec<Stamp>,
}

/// What the machine file holds.
#[derive(Clone, Debug, PartialEq, Eq)]
enum OnDisk {
    Text(Vec<u8>),
    NotText(Vec<u8>),
    /// It is not there, or cannot be read: why.
    Nothing(String),
}

/// Size and time of a file.
type Stamp = Option<(u64, SystemTime)>;

impl Desk {
    /// Opens a machine.
    pub(crate) fn open(name: String, path: PathBuf, hub: Arc<Hub>) -> Self {
        let on_disk = OnDisk::read(&path);
        let text = on_disk.text().unwrap_or_default();
        let history = History::open(&journal(&path), text);
        let log = log_on_disk(&path);
        let log_history = History::open(
            &journal(&logbook::beside(&path)),
            log.as_deref().unwrap_or_default(),
        );
        let mut work = Work {
            history,
            on_disk,
            texts: Vec::new(),
            includes: false,
            messages: Vec::new(),
            log,
            log_history,
            seen: Vec::new(),
        };
        let now = work.publish(&path, first_version(), None);
        Self {
            name,
            path,
            now: RwLock::new(Arc::new(now)),
            work: Mutex::new(work),
            hub,
        }
    }

    /// How things stand.
    pub(crate) fn now(&self) -> Arc<Now> {
        Arc::clone(&self.now.read().unwrap_or_else(PoisonError::into_inner))
    }

    fn work(&self) -> MutexGuard<'_, Work> {
        self.work.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn publish(&self, work: &mut Work, by: &str) -> Arc<Now> {
        let old = self.now();
        let version = (old.version + 1).max(first_version());
        let now = Arc::new(work.publish(&self.path, version, old.good.clone()));
        *self.now.write().unwrap_or_else(PoisonError::into_inner) = Arc::clone(&now);
        self.hub.changed(&self.name, version, by);
        now
    }

    /// Looks whether the files were changed outside, and takes over what they say.
    pub(crate) fn look(&self) {
        let mut work = self.work();
        self.absorb(&mut work);
    }

    /// The same, at less cost: when size and time of all files are as they were, nothing is read.
    pub(crate) fn glance(&self) {
        let mut work = self.work();
        if work.stamps(&self.path) != work.seen {
            self.absorb(&mut work);
        }
    }

    fn absorb(&self, work: &mut Work) {
        let mut found = OnDisk::read(&self.path);
        if found.is_empty() && !work.on_disk.is_empty() {
            std::thread::sleep(EMPTIED);
            found = OnDisk::read(&self.path);
        }
        let log = log_on_disk(&self.path);
        if found == work.on_disk && log == work.log && !work.include_changed(&self.path) {
            work.seen = work.stamps(&self.path);
            return;
        }
        // A log that cannot be read now is no step.
        if log.is_some() || !logbook::beside(&self.path).exists() {
            let logged = log.as_deref().unwrap_or_default();
            work.log_history.record("changed outside", logged);
        }
        work.log = log;
        if let Some(text) = found.text() {
            work.history.record("changed outside", text);
        }
        work.on_disk = found;
        self.publish(work, "outside");
    }

    /// Makes changes at places of the text; none that would bring errors into a machine without.
    pub(crate) fn edit(
        &self,
        base: u64,
        say: &str,
        changes: &[Change],
        only_try: bool,
        by: &str,
    ) -> Result<Arc<Now>, Unchanged> {
        let is_good = self.now().is_good();
        self.change(base, by, |work| {
            let text = work.history.text();
            let (mark, plain) = match text.strip_prefix('\u{feff}') {
                Some(plain) => ("\u{feff}", plain),
                None => ("", text),
            };
            let new = machine::edit::edit(plain, changes)
                .map_err(|refused| Unchanged::Refused(refused.0, None))?;
            if is_good {
                whole(&self.path, &new)?;
            }
            if only_try {
                return Ok((text.to_owned(), Told::Nothing));
            }
            Ok((format!("{mark}{new}"), Told::Step(say.to_owned())))
        })
    }

    /// The machine as it would be with these changes; nothing is written.
    pub(crate) fn tried(&self, changes: &[Change]) -> Result<Read, Unchanged> {
        let now = self.now();
        let plain = now.text.strip_prefix('\u{feff}').unwrap_or(&now.text);
        let new = machine::edit::edit(plain, changes)
            .map_err(|refused| Unchanged::Refused(refused.0, None))?;
        whole(&self.path, &new)?;
        let reading = machine::read_as(&self.path, new.as_bytes());
        question::of(question::shown(&self.path), reading, None)
            .map_err(|_| Unchanged::Refused("no machine comes of it".into(), None))
    }

    /// Puts another text in place of the whole.
    pub(crate) fn replace(
        &self,
        base: u64,
        say: &str,
        text: &str,
        by: &str,
    ) -> Result<Arc<Now>, Unchanged> {
        let mut work = self.work();
        // A file that went away is written again when its whole text is given.
        self.absorb(&mut work);
        if self.now().version != base {
            return Err(Unchanged::Old);
        }
        self.write(&mut work, text, Told::Step(say.to_owned()), by)
    }

    /// Changes the log beside the machine file.
    pub(crate) fn write_log(
        &self,
        base: u64,
        say: &str,
        by: &str,
        make: impl FnOnce(&str) -> Result<String, Unchanged>,
    ) -> Result<Arc<Now>, Unchanged> {
        self.change_log(base, by, |work| {
            let text = make(work.log.as_deref().unwrap_or_default())?;
            Ok((text, Told::Step(say.to_owned())))
        })
    }

    /// Takes back the last step of the log.
    pub(crate) fn undo_log(&self, base: u64, by: &str) -> Result<Arc<Now>, Unchanged> {
        self.change_log(base, by, |work| back(&work.log_history))
    }

    /// Does the last step of the log that was taken back again.
    pub(crate) fn redo_log(&self, base: u64, by: &str) -> Result<Arc<Now>, Unchanged> {
        self.change_log(base, by, |work| on(&work.log_history))
    }

    fn change_log(
        &self,
        base: u64,
        by: &str,
        make: impl FnOnce(&Work) -> Result<(String, Told), Unchanged>,
    ) -> Result<Arc<Now>, Unchanged> {
        let mut work = self.work();
        self.absorb(&mut work);
        if self.now().version != base {
            return Err(Unchanged::Old);
        }
        let path = logbook::beside(&self.path);
        if work.log.is_none() && path.exists() {
            return Err(Unchanged::Refused(
                format!(
                    "{} cannot be read as plain text in UTF-8",
                    question::shown(&path)
                ),
                Some("save it as UTF-8 in a text editor, or move it away".into()),
            ));
        }
        let (text, told) = make(&work)?;
        // Before its first entry there was no log.
        if text.is_empty() && matches!(told, Told::Undo) {
            take_away(&path)?;
            work.log = None;
        } else {
            write_file(&path, &text)?;
            work.log = Some(Arc::from(text.as_str()));
        }
        told.into_history(&mut work.log_history, &text);
        Ok(self.publish(&mut work, by))
    }

    /// Takes back the last step.
    pub(crate) fn undo(&self, base: u64, by: &str) -> Result<Arc<Now>, Unchanged> {
        self.change(base, by, |work| back(&work.history))
    }

    /// Does the last step that was taken back again.
    pub(crate) fn redo(&self, base: u64, by: &str) -> Result<Arc<Now>, Unchanged> {
        self.change(base, by, |work| on(&work.history))
    }

    fn change(
        &self,
        base: u64,
        by: &str,
        make: impl FnOnce(&Work) -> Result<(String, Told), Unchanged>,
    ) -> Result<Arc<Now>, Unchanged> {
        let mut work = self.work();
        self.absorb(&mut work);
        if self.now().version != base {
            return Err(Unchanged::Old);
        }
        match &work.on_disk {
            OnDisk::Text(_) => {}
            OnDisk::NotText(_) => {
                return Err(Unchanged::Refused(
                    "the file is not plain text in UTF-8".into(),
                    Some("save it as UTF-8 in a text editor first".into()),
                ));
            }
            OnDisk::Nothing(why) => {
                return Err(Unchanged::Refused(
                    why.clone(),
                    Some("put the file back, or write its whole text again from here".into()),
                ));
            }
        }
        let (text, told) = make(&work)?;
        if matches!(told, Told::Nothing) {
            return Ok(self.now());
        }
        self.write(&mut work, &text, told, by)
    }

    fn write(
        &self,
        work: &mut Work,
        text: &str,
        told: Told,
        by: &str,
    ) -> Result<Arc<Now>, Unchanged> {
        if work.on_disk.text() != Some(text) {
            write_file(&self.path, text)?;
        }
        work.on_disk = OnDisk::Text(text.as_bytes().to_vec());
        told.into_history(&mut work.history, text);
        Ok(self.publish(work, by))
    }

    /// Tells the windows that something beside the text has changed.
    pub(crate) fn news(&self) {
        self.hub.kept(&self.name);
    }

    /// Goes back to a text that was kept.
    pub(crate) fn restore(&self, base: u64, name: &str, by: &str) -> Result<Arc<Now>, Unchanged> {
        let text = super::kept::text(&self.path, name)
            .map_err(|sentence| Unchanged::Refused(sentence, None))?;
        self.replace(base, &format!("went back to {name}"), &text, by)
    }

    /// Everything about the text and what can be moved, for the page.
    pub(crate) fn state(&self) -> Value {
        let now = self.now();
        let file = self.path.file_name().map(|n| n.to_string_lossy());
        let mut state = json!({
            "version": now.version,
            "name": self.name,
            "file": file,
            "path": question::shown(&self.path),
            "text": &*now.text,
            "problems": now.problems,
            "good": now.is_good(),
            "gone": now.gone,
            "undo": now.undo,
            "redo": now.redo,
            "note": now.note,
            "log": now.log.as_deref(),
            "log_undo": now.log_undo,
            "log_redo": now.log_redo,
            "log_file": logbook::beside(&self.path).file_name().map(|n| n.to_string_lossy()),
            "title": self.name,
            "drives": [],
            "settings": [],
            "readings": [],
        });
        if let (Some(good), Value::Object(fields)) = (&now.good, &mut state) {
            fields.extend(super::hand::inventory(&good.read));
        }
        state
    }
}

/// Writes a text whole, or says why not.
fn write_file(path: &Path, text: &str) -> Result<(), Unchanged> {
    if text.len() > LARGEST_TEXT {
        return Err(Unchanged::Refused(
            format!("a file goes up to {} MB", LARGEST_TEXT >> 20),
            None,
        ));
    }
    output::write(path, text.as_bytes()).map_err(|fault| {
        let first = fault.problems.into_iter().next();
        let (message, help) = first.map_or_else(Default::default, |p| (p.message, p.help));
        Unchanged::Refused(message, help)
    })
}

/// A machine without errors would still be one with this text.
fn whole(path: &Path, text: &str) -> Result<(), Unchanged> {
    let reading = machine::read_as(path, text.as_bytes());
    let errors = reading.problems.iter();
    let errors = errors.filter(|p| p.severity == machine::Severity::Error);
    let problems: Vec<Resolved> = errors.map(|p| p.resolved(&reading.sources)).collect();
    if problems.is_empty() {
        return Ok(());
    }
    let lines = problems.iter().filter_map(|p| p.places.first());
    let keys = lines.filter_map(|label| machine::edit::keys_at(text, label.line));
    let mut headings: Vec<Vec<String>> = keys.collect();
    headings.sort();
    headings.dedup();
    Err(Unchanged::Breaks(problems, headings))
}

/// The log beside a machine file; what is no text is told when it is read for its readings.
fn log_on_disk(path: &Path) -> Option<Arc<str>> {
    logbook::text(&logbook::beside(path)).ok().map(Arc::from)
}

/// How a change goes into the history.
enum Told {
    Nothing,
    Step(String),
    Undo,
    Redo,
}

impl Told {
    fn into_history(self, history: &mut History, text: &str) {
        match self {
            Self::Nothing => {}
            Self::Step(say) => history.record(&say, text),
            Self::Undo => history.record_undo(),
            Self::Redo => history.record_redo(),
        }
    }
}

/// The text that undo leads to.
fn back(history: &History) -> Result<(String, Told), Unchanged> {
    match history.undone() {
        Some((text, _)) => Ok((text, Told::Undo)),
        None => Err(Unchanged::Refused("there is nothing to undo".into(), None)),
    }
}

/// The text that redo leads to.
fn on(history: &History) -> Result<(String, Told), Unchanged> {
    match history.redone() {
        Some((text, _)) => Ok((text, Told::Redo)),
        None => Err(Unchanged::Refused(
            "there is nothing to do again".into(),
            None,
        )),
    }
}

/// Takes a file away that has nothing in it.
fn take_away(path: &Path) -> Result<(), Unchanged> {
    match fs::remove_file(path) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(Unchanged::Refused(
            format!("{} cannot be taken away: {error}", question::shown(path)),
            None,
        )),
    }
}

impl Work {
    /// Reads the machine from what is on disk.
    fn publish(&mut self, path: &Path, version: u64, good: Option<Arc<Good>>) -> Now {
        let shown = question::shown(path);
        let bytes = match &self.on_disk {
            OnDisk::Text(bytes) | OnDisk::NotText(bytes) => bytes.as_slice(),
            OnDisk::Nothing(_) => &[],
        };
        let reading = match &self.on_disk {
            OnDisk::Nothing(_) => machine::read(path),
            _ => machine::read_as(path, bytes),
        };
        (self.texts, self.messages) = said(&reading);
        self.includes = self.texts.len() > 1
            || reading
                .problems
                .iter()
                .any(|problem| problem.code.starts_with("include"));
        self.seen = self.stamps(path);
        let sources = &reading.sources;
        let problems: Vec<Resolved> = reading
            .problems
            .iter()
            .map(|problem| problem.resolved(sources))
            .collect();
        let good = match question::of(shown, reading, None) {
            Ok(read) => Some(Arc::new(Good::new(version, read))),
            Err(_) => good,
        };
        let text = self.on_disk.text().unwrap_or(self.history.text());
        Now {
            version,
            text: Arc::from(text),
            good,
            problems,
            undo: self.history.undo().map(str::to_owned),
            redo: self.history.redo().map(str::to_owned),
            note: self.history.note.clone(),
            gone: matches!(self.on_disk, OnDisk::Nothing(_)),
            log: self.log.clone(),
            log_undo: self.log_history.undo().map(str::to_owned),
            log_redo: self.log_history.redo().map(str::to_owned),
        }
    }

    /// An included file has another text than the one that was read, or has come or gone.
    fn include_changed(&self, path: &Path) -> bool {
        let OnDisk::Text(bytes) = &self.on_disk else {
            return false;
        };
        let (texts, messages) = (&self.texts, &self.messages);
        self.includes && said(&machine::read_as(path, bytes)) != (texts.clone(), messages.clone())
    }

    fn stamps(&self, path: &Path) -> Vec<Stamp> {
        let stamp = |path: &Path| {
            let about = fs::metadata(path).ok()?;
            Some((about.len(), about.modified().ok()?))
        };
        let included = self.texts.iter().skip(1).map(|(path, _)| path.as_path());
        let log = logbook::beside(path);
        let all = std::iter::once(path).chain(included).chain([log.as_path()]);
        all.map(stamp).collect()
    }
}

/// Texts that were read, and what there was to say about them.
fn said(reading: &machine::Reading) -> (Vec<(PathBuf, String)>, Vec<String>) {
    let texts = reading.sources.iter();
    let texts = texts.map(|source| (PathBuf::from(source.path()), source.text().to_owned()));
    let messages = reading.problems.iter();
    let messages = messages.map(|problem| problem.message.clone());
    (texts.collect(), messages.collect())
}

impl OnDisk {
    fn read(path: &Path) -> Self {
        let name = question::shown(path);
        match fs::metadata(path) {
            Ok(about) if !about.is_file() => Self::Nothing(format!("{name} is no ordinary file")),
            Ok(about) if about.len() > LARGEST_TEXT as u64 => {
                Self::Nothing(format!("{name} is too large for a machine file"))
            }
            Ok(_) => match fs::read(path) {
                Ok(bytes) if std::str::from_utf8(&bytes).is_ok() => Self::Text(bytes),
                Ok(bytes) => Self::NotText(bytes),
                Err(error) => Self::Nothing(format!("{name} cannot be read: {error}")),
            },
            Err(_) => Self::Nothing(format!(
                "{name} is not there any more: it was deleted or renamed"
            )),
        }
    }

    fn text(&self) -> Option<&str> {
        match self {
            Self::Text(bytes) => std::str::from_utf8(bytes).ok(),
            _ => None,
        }
    }

    fn is_empty(&self) -> bool {
        self.text().is_some_and(str::is_empty)
    }
}

/// Where the steps of a machine are kept.
fn journal(path: &Path) -> PathBuf {
    let folder = path.parent().unwrap_or(Path::new("."));
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    folder.join(".bellcrank").join(format!("{stem}.history"))
}

/// Versions begin with the time, so that a later start of the server has greater ones.
fn first_version() -> u64 {
    SystemTime::now()
        .duration_since(SystemTime::UNIX_EPOCH)
        .map_or(1, |since| since.as_millis() as u64)
}
