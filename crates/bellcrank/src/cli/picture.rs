//! Drawings and curves as files.

use std::fs;
use std::path::Path;

use machine::Sources;

use super::fault::Fault;
use super::output;

/// What kind of picture a file name asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Picture {
    /// Lines, true at any size.
    Svg,
    /// Dots.
    Png,
}

/// Dots of a PNG: 300 an inch, which prints well and is no burden on a screen.
pub(crate) const DOTS_PER_MM: f64 = 300.0 / 25.4;

/// The kind of picture, by the end of the file name; and a look whether the file is one of the machine's own.
pub(crate) fn kind(path: &Path, sources: &Sources) -> Result<Picture, Fault> {
    let end = path
        .extension()
        .map(|end| end.to_string_lossy().to_lowercase());
    let picture = match end.as_deref() {
        Some("svg") => Picture::Svg,
        Some("png") => Picture::Png,
        _ => {
            return Err(Fault::usage(
                format!("{} names no kind of picture", path.display()),
                "end the name in .svg or .png",
            ));
        }
    };
    if let Ok(target) = fs::canonicalize(path) {
        let own = |file: &str| fs::canonicalize(file).is_ok_and(|file| file == target);
        if sources.iter().any(|source| own(source.path())) {
            return Err(Fault::usage(
                format!("{} is the machine file itself", path.display()),
                "name another file",
            ));
        }
    }
    Ok(picture)
}

/// The picture could not be made.
pub(crate) fn unpainted(path: &Path, error: &sheets::PngError) -> Fault {
    let why = match error {
        sheets::PngError::TooLarge { .. } => {
            String::from("at this scale the picture would be too large")
        }
        other => other.to_string(),
    };
    Fault::usage(
        format!("{} is not written: {why}", path.display()),
        "take a smaller --scale, or draw an .svg file",
    )
}

/// Writes a picture for print.
pub(crate) fn write(
    path: &Path,
    kind: Picture,
    svg: impl Fn(sheets::Look) -> String,
    png: impl Fn(sheets::Look, f64) -> Result<Vec<u8>, sheets::PngError>,
) -> Result<(), Fault> {
    let look = sheets::Look::Print;
    let bytes = match kind {
        Picture::Svg => svg(look).into_bytes(),
        Picture::Png => png(look, DOTS_PER_MM).map_err(|error| unpainted(path, &error))?,
    };
    output::write(path, &bytes)
}
