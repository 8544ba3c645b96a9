//! The port and key of the last time: with them windows that were open before a restart go on by themselves.
//!
//! They lie beside the machine in `.bellcrank/door`, for the eyes of their owner alone. A door that others could read or have put there is
//! not used.

use std::fs;
use std::io::Write as _;
use std::net::TcpListener;
use std::path::{Path, PathBuf};

use super::history::own_folder;
use super::serve::listen;

/// Hexadecimal digits of a key.
const KEY: usize = 32;

/// An open port and the key for it.
pub(crate) struct Door {
    pub(crate) listener: TcpListener,
    pub(crate) key: String,
}

/// Opens this port, or with 0 the one of the last time or any other. `fresh` makes a key.
pub(crate) fn open<E>(
    folder: &Path,
    port: u16,
    fresh: impl FnOnce() -> Result<String, E>,
) -> Result<std::io::Result<Door>, E> {
    let path = folder.join(".bellcrank").join("door");
    let last = last(&path).filter(|(known, _)| port == 0 || port == *known);
    let known = last.is_some();
    if let Some((port, key)) = last
        && let Ok(listener) = listen(port)
    {
        return Ok(Ok(Door { listener, key }));
    }
    let key = fresh()?;
    Ok(listen(port).map(|listener| {
        // A door that is in use belongs to another one who serves this folder.
        if !known {
            // Without it windows do not go on after a restart, and nothing else.
            let _ = keep(&path, &listener, &key);
        }
        Door { listener, key }
    }))
}

/// Port and key of the last time.
fn last(path: &Path) -> Option<(u16, String)> {
    let about = fs::symlink_metadata(path).ok()?;
    if !about.is_file() || about.len() > 100 || !is_own(path, &about) {
        return None;
    }
    let text = fs::read_to_string(path).ok()?;
    let (port, key) = text.trim().split_once(' ')?;
    let is_key = key.len() == KEY && key.bytes().all(|byte| byte.is_ascii_hexdigit());
    let port = port.parse().ok().filter(|port| *port != 0)?;
    is_key.then(|| (port, key.to_owned()))
}

/// Nobody else can read it, and whoever wrote it is who runs this.
#[cfg(unix)]
fn is_own(path: &Path, about: &fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    let folder = path.parent().unwrap_or(Path::new("."));
    let mine = tempfile::tempfile_in(folder).and_then(|file| file.metadata());
    about.mode().trailing_zeros() >= 6 && mine.is_ok_and(|mine| mine.uid() == about.uid())
}

#[cfg(not(unix))]
fn is_own(_: &Path, _: &fs::Metadata) -> bool {
    true
}

fn keep(path: &Path, listener: &TcpListener, key: &str) -> std::io::Result<()> {
    let port = listener.local_addr()?.port();
    let folder: PathBuf = path.parent().map(Path::to_owned).unwrap_or_default();
    own_folder(&folder)?;
    // The key is no part of the project, wherever its folder is copied to.
    let ignore = folder.join(".gitignore");
    if fs::symlink_metadata(&ignore).is_err() {
        fs::write(&ignore, "door\n*.history\n")?;
    }
    // A temporary file is its owner's alone.
    let mut file = tempfile::NamedTempFile::new_in(&folder)?;
    writeln!(file, "{port} {key}")?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}
