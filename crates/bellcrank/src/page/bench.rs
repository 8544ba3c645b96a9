//! The bench: the folder of the machine that was opened, and the machines in it and in its direct sub-folders.
//!
//! A name in a link is only ever looked up among the files found here; no path is made from it.

use std::collections::BTreeMap;
use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use serde_json::{Value, json};

use super::desk::Desk;
use super::events::Hub;
use crate::cli::fault::Fault;
use crate::cli::output;

/// Most machines that are listed.
const MOST_MACHINES: usize = 200;
/// Most entries of a folder, and most sub-folders, that are looked at.
const MOST_ENTRIES: usize = 5000;
/// So much of a file is looked at to see whether it is a machine file, bytes.
const GLANCE: u64 = 256 << 10;

/// A machine file found on the bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Found {
    /// Its name in links.
    pub(crate) name: String,
    pub(crate) path: PathBuf,
}

/// The folder and its open machines.
pub(crate) struct Bench {
    /// As a person would type it.
    pub(crate) folder: PathBuf,
    /// In full, without links.
    root: PathBuf,
    /// The file that was asked for; it counts even when it is a link that leads elsewhere.
    opened: PathBuf,
    desks: Mutex<BTreeMap<String, Arc<Desk>>>,
    pub(crate) hub: Arc<Hub>,
}

impl Bench {
    /// The bench of a machine file.
    pub(crate) fn new(file: &Path, hub: Arc<Hub>) -> std::io::Result<Self> {
        let folder = match file.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
            _ => PathBuf::from("."),
        };
        Ok(Self {
            root: folder.canonicalize()?,
            folder,
            opened: file.to_owned(),
            desks: Mutex::new(BTreeMap::new()),
            hub,
        })
    }

    fn desks(&self) -> MutexGuard<'_, BTreeMap<String, Arc<Desk>>> {
        self.desks.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The path of a file of the bench, written as the opened one was.
    fn typed(&self, parts: &[&str]) -> PathBuf {
        let bare = self.opened.parent() == Some(Path::new(""));
        let start = if bare {
            PathBuf::new()
        } else {
            self.folder.clone()
        };
        parts.iter().fold(start, |path, part| path.join(part))
    }

    /// The machine files of the bench, by name; the opened one is always among them.
    pub(crate) fn machines(&self) -> Vec<Found> {
        let mut found: Vec<(String, PathBuf)> = Vec::new();
        let (files, folders) = entries(&self.folder);
        for file in &files {
            found.push((stem(file), self.typed(&[file])));
        }
        let mut below = Vec::new();
        for folder in &folders {
            let (files, _) = entries(&self.folder.join(folder));
            for file in files {
                let path = self.typed(&[folder, &file]);
                let plain = files_have(&found, folder) || stem(&file) != "machine";
                let name = if plain {
                    format!("{folder}/{}", stem(&file))
                } else {
                    folder.clone()
                };
                below.push((name, path));
            }
        }
        found.extend(below);
        let mut machines: Vec<Found> = found
            .into_iter()
            .filter(|(_, path)| *path == self.opened || (self.is_inside(path) && is_machine(path)))
            .take(MOST_MACHINES)
            .map(|(name, path)| Found { name, path })
            .collect();
        if !machines.iter().any(|found| found.path == self.opened) {
            let name = stem(
                &self
                    .opened
                    .file_name()
                    .unwrap_or_default()
                    .to_string_lossy(),
            );
            machines.push(Found {
                name,
                path: self.opened.clone(),
            });
        }
        machines.sort_by(|a, b| a.name.cmp(&b.name));
        machines
    }

    /// Links do not lead out of the folder.
    fn is_inside(&self, path: &Path) -> bool {
        path.canonicalize()
            .is_ok_and(|full| full.starts_with(&self.root))
    }

    /// The name of the machine that was opened.
    pub(crate) fn first(&self) -> String {
        let machines = self.machines();
        let opened = machines.iter().find(|found| found.path == self.opened);
        opened.map_or_else(String::new, |found| found.name.clone())
    }

    /// The machine with this name, opened if it is not yet.
    pub(crate) fn desk(&self, name: &str) -> Option<Arc<Desk>> {
        if let Some(desk) = self.desks().get(name) {
            return Some(Arc::clone(desk));
        }
        let found = self
            .machines()
            .into_iter()
            .find(|found| found.name == name)?;
        let mut desks = self.desks();
        let open = || {
            Arc::new(Desk::open(
                found.name.clone(),
                found.path,
                Arc::clone(&self.hub),
            ))
        };
        Some(Arc::clone(
            desks.entry(found.name.clone()).or_insert_with(open),
        ))
    }

    /// Writes a new machine file into the folder; one that is there is left alone.
    pub(crate) fn begin(&self, name: &str, text: &str) -> Result<(), Fault> {
        output::write_new(&self.typed(&[&format!("{name}.toml")]), text.as_bytes())
    }

    /// The machine with this name if it is open.
    pub(crate) fn open_desk(&self, name: &str) -> Option<Arc<Desk>> {
        self.desks().get(name).cloned()
    }

    /// All machines that are open.
    pub(crate) fn open_desks(&self) -> Vec<Arc<Desk>> {
        self.desks().values().cloned().collect()
    }

    /// Folders in which something may change: the bench and its sub-folders that hold machines.
    pub(crate) fn folders(&self) -> Vec<PathBuf> {
        let mut folders = vec![self.folder.clone()];
        for found in self.machines() {
            if let Some(folder) = found.path.parent()
                && !folder.as_os_str().is_empty()
                && !folders.iter().any(|known| known == folder)
            {
                folders.push(folder.to_owned());
            }
        }
        folders
    }

    /// Name, title, file and number of errors of every machine.
    pub(crate) fn list(&self) -> Value {
        let about = |found: Found| {
            let (title, errors) = match self.open_desk(&found.name) {
                Some(desk) => {
                    let now = desk.now();
                    let title = now.good.as_ref().map(|good| good.read.machine.name.clone());
                    let errors = now.problems.iter();
                    let errors = errors.filter(|p| p.severity == machine::Severity::Error);
                    (title, errors.count())
                }
                None => {
                    let reading = machine::read(&found.path);
                    let errors = reading.problems.iter();
                    let errors = errors.filter(|p| p.severity == machine::Severity::Error);
                    (reading.machine.map(|machine| machine.name), errors.count())
                }
            };
            json!({
                "name": found.name,
                "title": title.unwrap_or_else(|| found.name.clone()),
                "path": found.path.strip_prefix(&self.folder).unwrap_or(&found.path).display().to_string(),
                "problems": errors,
            })
        };
        self.machines().into_iter().map(about).collect()
    }
}

fn files_have(found: &[(String, PathBuf)], name: &str) -> bool {
    found.iter().any(|(known, _)| known == name)
}

fn stem(file: &str) -> String {
    file.strip_suffix(".toml").unwrap_or(file).to_owned()
}

/// Names of the TOML files and of the folders in a folder, in order; hidden ones and names that are no text are left out.
fn entries(folder: &Path) -> (Vec<String>, Vec<String>) {
    let (mut files, mut folders) = (Vec::new(), Vec::new());
    let Ok(all) = fs::read_dir(folder) else {
        return (files, folders);
    };
    for entry in all.take(MOST_ENTRIES).flatten() {
        let Ok(name) = entry.file_name().into_string() else {
            continue;
        };
        if name.starts_with('.') || name.contains(char::is_control) {
            continue;
        }
        if Path::new(&name)
            .extension()
            .is_some_and(|end| end == "toml")
        {
            files.push(name);
        } else if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            folders.push(name);
        }
    }
    files.sort();
    folders.sort();
    (files, folders)
}

/// A TOML file with the frame of a machine in it, or a machine that was begun; files with parts alone are included by others.
fn is_machine(path: &Path) -> bool {
    let Ok(file) = fs::File::open(path) else {
        return false;
    };
    if !file.metadata().is_ok_and(|about| about.is_file()) {
        return false;
    }
    let mut bytes = Vec::new();
    if file.take(GLANCE).read_to_end(&mut bytes).is_err() {
        return false;
    }
    let text = String::from_utf8_lossy(&bytes);
    let has = |start: &str| {
        text.lines()
            .any(|line| line.trim_start().starts_with(start))
    };
    // One that was only just begun has a name and nothing else.
    has("[frame]") || has("include") || (has("name") && !has("["))
}
