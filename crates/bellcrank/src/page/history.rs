//! What was changed, so that it can be undone and done again: steps kept in memory, and in a journal on disk beside the machine.
//!
//! The journal is one JSON value a line: `{"start": text}`, then `{"step": ...}`, `"undo"` and `"redo"` as they happened. A line that was
//! torn by a crash ends it; what stands before counts. The machine file is written first and the journal then, so a crash between the two
//! shows as a change made outside, which is a step like any other.

use std::fs::{self, File, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

/// Journals above this size are written anew without their oldest steps, bytes.
const LARGEST: u64 = 32 << 20;
/// So much of a journal that is written anew is kept, bytes.
const KEPT: usize = 16 << 20;

/// One piece of text replaced by another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Step {
    /// What was done, in words.
    pub(crate) say: String,
    /// Where, bytes from the start.
    at: usize,
    /// What stood there.
    out: String,
    /// What stands there now.
    into: String,
}

impl Step {
    /// The step from one text to another.
    fn between(say: &str, old: &str, new: &str) -> Self {
        let same = |pair: &(u8, u8)| pair.0 == pair.1;
        let mut at = old.bytes().zip(new.bytes()).take_while(same).count();
        while !old.is_char_boundary(at) || !new.is_char_boundary(at) {
            at -= 1;
        }
        let rest = (old.len() - at).min(new.len() - at);
        let ends = old.bytes().rev().zip(new.bytes().rev());
        let mut tail = ends.take(rest).take_while(same).count();
        while !old.is_char_boundary(old.len() - tail) || !new.is_char_boundary(new.len() - tail) {
            tail -= 1;
        }
        let middle = |text: &str| {
            text.get(at..text.len() - tail)
                .unwrap_or_default()
                .to_owned()
        };
        Self {
            say: say.to_owned(),
            at,
            out: middle(old),
            into: middle(new),
        }
    }

    fn replace(text: &str, at: usize, out: &str, into: &str) -> Option<String> {
        let end = at.checked_add(out.len())?;
        if text.get(at..end)? != out {
            return None;
        }
        let (before, after) = (text.get(..at)?, text.get(end..)?);
        Some([before, into, after].concat())
    }

    fn done(&self, text: &str) -> Option<String> {
        Self::replace(text, self.at, &self.out, &self.into)
    }

    fn undone(&self, text: &str) -> Option<String> {
        Self::replace(text, self.at, &self.into, &self.out)
    }

    fn size(&self) -> usize {
        self.say.len() + self.out.len() + self.into.len() + 64
    }
}

/// A line of the journal.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Line {
    Start(String),
    Step(Step),
    Undo,
    Redo,
}

/// Steps and where among them the machine stands.
#[derive(Debug)]
pub(crate) struct History {
    /// The text before the first step.
    start: String,
    /// The text now.
    text: String,
    steps: Vec<Step>,
    /// So many steps are done; the others are undone.
    done: usize,
    journal: Option<Journal>,
    /// Why steps are forgotten when the page is closed.
    pub(crate) note: Option<String>,
}

#[derive(Debug)]
struct Journal {
    path: PathBuf,
    file: File,
    size: u64,
}

impl History {
    /// The history of a machine whose file says `text` now; what was kept of it before goes on.
    pub(crate) fn open(path: &Path, text: &str) -> Self {
        let mut history = Self {
            start: text.to_owned(),
            text: text.to_owned(),
            steps: Vec::new(),
            done: 0,
            journal: None,
            note: None,
        };
        match Journal::open(path) {
            Ok((journal, lines)) => {
                history.journal = Some(journal);
                if history.replay(lines) {
                    history.record("changed outside while the page was closed", text);
                } else {
                    (history.start, history.text) = (text.to_owned(), text.to_owned());
                    history.rewrite();
                }
            }
            Err(why) => history.note = Some(why),
        }
        history
    }

    /// Takes over what the journal says; false when it says nothing.
    fn replay(&mut self, lines: Vec<Line>) -> bool {
        let mut lines = lines.into_iter();
        let Some(Line::Start(start)) = lines.next() else {
            return false;
        };
        (self.start, self.text) = (start.clone(), start);
        for line in lines {
            let fits = match line {
                Line::Start(_) => false,
                Line::Step(step) => self.take(step),
                Line::Undo => self.back().is_some(),
                Line::Redo => self.on().is_some(),
            };
            if !fits {
                // Somebody changed the journal: what was read so far still holds, and is written anew.
                self.rewrite();
                break;
            }
        }
        true
    }

    /// The text now.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// What undo would take back.
    pub(crate) fn undo(&self) -> Option<&str> {
        let step = self.steps.get(self.done.checked_sub(1)?)?;
        Some(&step.say)
    }

    /// What redo would do again.
    pub(crate) fn redo(&self) -> Option<&str> {
        self.steps.get(self.done).map(|step| step.say.as_str())
    }

    /// The text that undo leads to, and what is taken back.
    pub(crate) fn undone(&self) -> Option<(String, String)> {
        let step = self.steps.get(self.done.checked_sub(1)?)?;
        Some((step.undone(&self.text)?, step.say.clone()))
    }

    /// The text that redo leads to, and what is done again.
    pub(crate) fn redone(&self) -> Option<(String, String)> {
        let step = self.steps.get(self.done)?;
        Some((step.done(&self.text)?, step.say.clone()))
    }

    /// Notes that the text has become another one.
    pub(crate) fn record(&mut self, say: &str, text: &str) {
        if text == self.text {
            return;
        }
        let step = Step::between(say, &self.text, text);
        let line = Line::Step(step.clone());
        self.take(step);
        self.write(&line);
    }

    /// Notes that a step was undone.
    pub(crate) fn record_undo(&mut self) {
        if self.back().is_some() {
            self.write(&Line::Undo);
        }
    }

    /// Notes that a step was done again.
    pub(crate) fn record_redo(&mut self) {
        if self.on().is_some() {
            self.write(&Line::Redo);
        }
    }

    fn take(&mut self, step: Step) -> bool {
        let Some(text) = step.done(&self.text) else {
            return false;
        };
        self.text = text;
        self.steps.truncate(self.done);
        self.steps.push(step);
        self.done = self.steps.len();
        true
    }

    fn back(&mut self) -> Option<()> {
        (self.text, _) = self.undone()?;
        self.done -= 1;
        Some(())
    }

    fn on(&mut self) -> Option<()> {
        (self.text, _) = self.redone()?;
        self.done += 1;
        Some(())
    }

    fn write(&mut self, line: &Line) {
        let Some(journal) = &mut self.journal else {
            self.forget();
            return;
        };
        if let Err(error) = journal.append(line) {
            self.note = Some(forgotten(&error));
            self.journal = None;
            return;
        }
        if journal.size > LARGEST {
            self.forget();
            self.rewrite();
        }
    }

    /// Drops the oldest steps when all of them are too many.
    fn forget(&mut self) {
        let mut size: usize = self.steps.iter().map(Step::size).sum();
        if size as u64 <= LARGEST {
            return;
        }
        let mut gone = 0;
        while size > KEPT && gone < self.done {
            let Some(step) = self.steps.get(gone) else {
                break;
            };
            size -= step.size();
            gone += 1;
        }
        for step in self.steps.drain(..gone) {
            if let Some(text) = step.done(&self.start) {
                self.start = text;
            }
        }
        self.done -= gone;
    }

    /// Writes the journal anew.
    fn rewrite(&mut self) {
        let Some(journal) = &mut self.journal else {
            return;
        };
        let undone = self.steps.len() - self.done;
        let steps = self.steps.iter().cloned().map(Line::Step);
        let lines = std::iter::once(Line::Start(self.start.clone()))
            .chain(steps)
            .chain((0..undone).map(|_| Line::Undo));
        if let Err(error) = journal.rewrite(lines) {
            self.note = Some(forgotten(&error));
            self.journal = None;
        }
    }
}

fn forgotten(error: &std::io::Error) -> String {
    format!("undo is forgotten when the page is closed: its journal cannot be written ({error})")
}

impl Journal {
    /// Opens the journal and reads what it says; a line torn at its end is cut off.
    fn open(path: &Path) -> Result<(Self, Vec<Line>), String> {
        let folder = path.parent().unwrap_or(Path::new("."));
        own_folder(folder).map_err(|error| forgotten(&error))?;
        if fs::symlink_metadata(path).is_ok_and(|about| !about.is_file()) {
            return Err(forgotten(&std::io::Error::other("it is no ordinary file")));
        }
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false);
        let mut file = options.open(path).map_err(|error| forgotten(&error))?;
        if file.try_lock().is_err() {
            return Err(String::from(
                "undo is forgotten when the page is closed: the machine is open a second time, and its journal is kept there",
            ));
        }
        let mut bytes = Vec::new();
        let most = 4 * LARGEST;
        let read = (&mut file).take(most).read_to_end(&mut bytes);
        read.map_err(|error| forgotten(&error))?;
        let mut lines = Vec::new();
        let mut size = 0;
        for line in bytes.split_inclusive(|&byte| byte == b'\n') {
            let whole = line.strip_suffix(b"\n");
            let Some(Ok(read)) = whole.map(serde_json::from_slice::<Line>) else {
                break;
            };
            lines.push(read);
            size += line.len() as u64;
        }
        let cut = file
            .set_len(size)
            .and_then(|()| file.seek(SeekFrom::Start(size)));
        cut.map_err(|error| forgotten(&error))?;
        let path = path.to_owned();
        Ok((Self { path, file, size }, lines))
    }

    fn append(&mut self, line: &Line) -> std::io::Result<()> {
        let mut bytes = serde_json::to_vec(line)?;
        bytes.push(b'\n');
        self.file.write_all(&bytes)?;
        self.file.sync_data()?;
        self.size += bytes.len() as u64;
        Ok(())
    }

    /// Puts other lines in place of all; the old ones stay until the new ones are there.
    fn rewrite(&mut self, lines: impl Iterator<Item = Line>) -> std::io::Result<()> {
        let folder = self.path.parent().unwrap_or(Path::new("."));
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        let mut size = 0;
        for line in lines {
            let mut bytes = serde_json::to_vec(&line)?;
            bytes.push(b'\n');
            file.write_all(&bytes)?;
            size += bytes.len() as u64;
        }
        file.as_file().sync_all()?;
        file.as_file().try_lock().map_err(std::io::Error::other)?;
        let file = file.persist(&self.path).map_err(|error| error.error)?;
        (self.file, self.size) = (file, size);
        Ok(())
    }
}

/// Makes the folder in which the page keeps what is its own; a link is not followed, as it may lead anywhere.
pub(crate) fn own_folder(folder: &Path) -> std::io::Result<()> {
    match fs::symlink_metadata(folder) {
        Ok(about) if about.is_dir() => Ok(()),
        Ok(_) => Err(std::io::Error::other(format!(
            "{} is no folder",
            folder.display()
        ))),
        Err(_) => fs::create_dir_all(folder),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

    use super::*;

    #[test]
    fn a_step_is_the_least_that_differs_and_goes_both_ways() {
        for (old, new) in [
            ("", ""),
            ("", "a"),
            ("a", ""),
            ("abc", "abc"),
            ("aaa", "aaaa"),
            ("aä", "aö"),
            ("xäy", "xäzy"),
            ("½ in", "¼ in"),
            ("one\r\ntwo\r\n", "one\r\n2\r\ntwo\r\n"),
        ] {
            let step = Step::between("", old, new);
            assert_eq!(step.done(old).as_deref(), Some(new), "{old:?} {new:?}");
            assert_eq!(step.undone(new).as_deref(), Some(old), "{old:?} {new:?}");
        }
        let step = Step::between("", "a = 1 # x\nb = 2\n", "a = 1 # x\nb = 3\n");
        assert_eq!((step.out.as_str(), step.into.as_str()), ("2", "3"));
    }

    #[test]
    fn steps_survive_and_a_torn_line_does_not_matter() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(".bellcrank/m.history");
        let mut history = History::open(&path, "0");
        assert_eq!(history.note, None);
        for text in ["1", "2", "3"] {
            history.record(&format!("to {text}"), text);
        }
        history.record_undo();
        drop(history);
        let whole = fs::read(&path).unwrap();
        fs::write(&path, [&whole[..], b"{\"step\":{\"say\":\"torn"].concat()).unwrap();
        let mut history = History::open(&path, "2");
        assert_eq!(history.text(), "2");
        assert_eq!(
            (history.undo(), history.redo()),
            (Some("to 2"), Some("to 3"))
        );
        assert_eq!(fs::read(&path).unwrap(), whole);
        history.record_redo();
        assert_eq!(history.text(), "3");
        drop(history);
        let history = History::open(&path, "4");
        assert_eq!(history.undone().unwrap().0, "3");
    }

    #[test]
    fn any_cut_of_the_journal_is_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("m.history");
        let mut history = History::open(&path, "0");
        for text in ["ä1", "ä2", "", "ä3"] {
            history.record("step", text);
        }
        history.record_undo();
        drop(history);
        let whole = fs::read(&path).unwrap();
        for cut in 0..whole.len() {
            fs::write(&path, &whole[..cut]).unwrap();
            let history = History::open(&path, "now");
            assert_eq!(history.text(), "now", "cut at {cut}");
            assert_eq!(history.note, None);
            drop(history);
            assert_eq!(History::open(&path, "now").text(), "now", "cut at {cut}");
        }
    }

    #[test]
    fn nonsense_in_the_journal_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("m.history");
        let wild = "{\"start\":\"a\"}\n{\"step\":{\"say\":\"x\",\"at\":18446744073709551615,\"out\":\"a\",\"into\":\"b\"}}\n\"redo\"\n\"undo\"\n";
        fs::write(&path, wild).unwrap();
        let mut history = History::open(&path, "b");
        assert_eq!(history.text(), "b");
        history.record("on", "c");
        drop(history);
        let history = History::open(&path, "c");
        assert_eq!(history.undone().unwrap().0, "b");
    }

    #[test]
    fn the_journal_belongs_to_one() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("m.history");
        let first = History::open(&path, "a");
        let second = History::open(&path, "a");
        assert_eq!(first.note, None);
        assert!(second.note.is_some());
    }
}
