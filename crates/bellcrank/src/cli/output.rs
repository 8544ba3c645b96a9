//! Screen and disk: what is printed goes out whole, what is written to disk is there whole or not at all.

use std::fmt::Write as _;

use std::fs;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};

use studies::Finding;

use super::WIDTH;
use super::fault::{Fault, render};
use super::question::Read;
use super::table::wrap;

/// Whether messages may be coloured there: on a terminal, unless `NO_COLOR` is set or the terminal is a dumb one.
fn may_colour(is_terminal: bool) -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    is_terminal && !set("NO_COLOR") && !dumb
}

/// Whether the answer may be coloured.
pub(crate) fn colour_out() -> bool {
    may_colour(io::stdout().is_terminal())
}

/// Whether messages may be coloured.
pub(crate) fn colour_err() -> bool {
    may_colour(io::stderr().is_terminal())
}

/// Prints the answer. Nobody reading on is no fault.
pub(crate) fn print(text: &str) -> Result<(), Fault> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Fault::disk(
            format!("the answer cannot be printed: {}", reason(&error)),
            "",
        )),
        _ => Ok(()),
    }
}

/// Prints a message for the person at the keyboard. When even that is impossible there is nobody to tell.
pub(crate) fn say(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// Shows what there is to warn about in a machine file, and faults that make the answer worthless.
pub(crate) fn warn(read: &Read, faults: &[Finding]) {
    let mut text = render(&read.warnings, &read.sources, colour_err());
    if !text.is_empty() && !faults.is_empty() {
        text.push('\n');
    }
    for fault in faults {
        let _ = writeln!(text, "fault: {}", wrap(&fault.sentence, WIDTH, 7));
    }
    if !faults.is_empty() {
        let _ = writeln!(text, "       bellcrank check {} tells more", read.file);
    }
    if !text.is_empty() {
        say(&(text + "\n"));
    }
}

/// Writes a new file; one that is there already is left alone.
pub(crate) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    if fs::symlink_metadata(path).is_ok() {
        return Err(exists(path));
    }
    let file = beside(path, path, bytes, None)?;
    match file.persist_noclobber(path) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == ErrorKind::AlreadyExists => Err(exists(path)),
        Err(error) => Err(unwritable(path, &error.error)),
    }
}

/// Writes a file, in place of an older one if there is one.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    let old = fs::metadata(path).ok();
    if old.as_ref().is_some_and(|old| !old.is_file()) {
        return Err(Fault::disk(
            format!(
                "{} cannot be written: it is not an ordinary file",
                path.display()
            ),
            "name another file",
        ));
    }
    // Where the name is a link, the file it leads to is replaced.
    let target = match &old {
        Some(_) => fs::canonicalize(path).unwrap_or_else(|_| path.to_owned()),
        None => path.to_owned(),
    };
    if old.as_ref().is_some_and(|old| old.permissions().readonly()) {
        return Err(Fault::disk(
            format!("{} cannot be written: it is read-only", path.display()),
            "name another file, or allow writing to this one",
        ));
    }
    let file = beside(path, &target, bytes, old.map(|old| old.permissions()))?;
    file.persist(&target)
        .map(|_| ())
        .map_err(|error| unwritable(path, &error.error))
}

/// A finished file with another name in the folder of `target`; it goes away by itself when anything fails from here on.
fn beside(
    path: &Path,
    target: &Path,
    bytes: &[u8],
    permissions: Option<fs::Permissions>,
) -> Result<tempfile::NamedTempFile, Fault> {
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    if !folder.is_dir() {
        return Err(Fault::disk(
            format!(
                "{} cannot be written: there is no folder {}",
                path.display(),
                folder.display()
            ),
            "make the folder first, or name another file",
        ));
    }
    let fail = |error: &io::Error| unwritable(path, error);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".bellcrank-");
    #[cfg(unix)]
    {
        // Readable like any other new file; by itself a temporary file is the owner's alone.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(&folder).map_err(|e| fail(&e))?;
    file.write_all(bytes).map_err(|e| fail(&e))?;
    if let Some(permissions) = permissions {
        file.as_file()
            .set_permissions(permissions)
            .map_err(|e| fail(&e))?;
    }
    file.as_file().sync_all().map_err(|e| fail(&e))?;
    Ok(file)
}

fn exists(path: &Path) -> Fault {
    let (message, help) = if path.is_dir() {
        let inside = path.join("machine.toml");
        (
            format!("{} is a folder", path.display()),
            format!("name a file in it: {}", inside.display()),
        )
    } else {
        (
            format!("{} is there already, and is left as it is", path.display()),
            String::from("name another file"),
        )
    };
    Fault::disk(message, help)
}

fn unwritable(path: &Path, error: &io::Error) -> Fault {
    Fault::disk(
        format!("{} cannot be written: {}", path.display(), reason(error)),
        "",
    )
}

/// What the system says, without its number.
fn reason(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::PermissionDenied => String::from("it is not allowed here"),
        ErrorKind::StorageFull => String::from("the disk is full"),
        ErrorKind::ReadOnlyFilesystem => String::from("the disk is read-only"),
        ErrorKind::NotFound => String::from("there is no such place"),
        _ => {
            let text = error.to_string();
            match text.split_once(" (os error") {
                Some((words, _)) => words.to_lowercase(),
                None => text,
            }
        }
    }
}
