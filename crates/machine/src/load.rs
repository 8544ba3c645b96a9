//! Opening the machine file and what it includes.

use std::path::Path;

use crate::diagnostic::Diagnostic;
use crate::sources::Sources;

/// Reads the text of one file.
pub(crate) fn file(
    path: &Path,
    sources: &mut Sources,
    problems: &mut Vec<Diagnostic>,
) -> Option<usize> {
    match std::fs::read_to_string(path) {
        Ok(text) => Some(sources.add(path.display().to_string(), text)),
        Err(error) => {
            problems.push(Diagnostic::error(
                "cannot-read",
                format!("{} cannot be read: {error}", path.display()),
            ));
            None
        }
    }
}
