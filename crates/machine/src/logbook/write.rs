//! Entries as they are written into a log. What stands in it already is kept to the byte.

use super::{Date, Known};

/// A text in quotes, as TOML wants it.
fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string().trim().to_owned()
}

/// The log with an entry behind all others.
pub fn append(log: &str, entry: &str) -> String {
    let mut text = log.to_owned();
    let crlf = log.contains("\r\n");
    if !text.is_empty() && !text.ends_with('\n') {
        text.push_str(if crlf { "\r\n" } else { "\n" });
    }
    let entry = if text.is_empty() {
        entry.trim_start_matches('\n')
    } else {
        entry
    };
    text.push_str(&if crlf {
        entry.replace('\n', "\r\n")
    } else {
        entry.to_owned()
    });
    text
}

/// The entry of a measured dimension; values as typed.
pub fn measured_entry(
    dimension: &Known,
    value: &str,
    uncertainty: &str,
    with: &str,
    on: Option<Date>,
) -> String {
    let mut text = format!(
        "\n[[measured]]\ndimension = {}\nvalue = {}\nuncertainty = {}\n",
        quoted(&dimension.name),
        quoted(value),
        quoted(uncertainty)
    );
    if !with.is_empty() {
        text.push_str(&format!("with = {}\n", quoted(with)));
    }
    if let Some(on) = on {
        text.push_str(&format!("on = \"{on}\"\n"));
    }
    text
}

/// The entry of a job; pairs of a name and a value as typed.
pub fn job_entry(
    name: &str,
    on: Option<Date>,
    at: &[(String, String)],
    set: &[(String, String)],
    reads: &[(String, String)],
    uncertainty: Option<&str>,
) -> String {
    let mut text = format!("\n[[job]]\nname = {}\n", quoted(name));
    if let Some(on) = on {
        text.push_str(&format!("on = \"{on}\"\n"));
    }
    for (key, pairs) in [("at", at), ("set", set), ("reads", reads)] {
        if !pairs.is_empty() {
            let all: Vec<String> = pairs
                .iter()
                .map(|(n, v)| format!("{n} = {}", value(v)))
                .collect();
            text.push_str(&format!("{key} = {{ {} }}\n", all.join(", ")));
        }
    }
    if let Some(uncertainty) = uncertainty {
        text.push_str(&format!("uncertainty = {}\n", quoted(uncertainty)));
    }
    text
}

/// Whole numbers are those of holes; everything else is a text.
fn value(text: &str) -> String {
    let bare = text.trim();
    if bare.parse::<u32>().is_ok() {
        bare.to_owned()
    } else {
        quoted(bare)
    }
}

/// The lines of an empty table for a run, to be printed, taken to the machine and read back: places as they are to be printed.
pub fn blank(
    drive: &str,
    drive_unit: &str,
    reading: &str,
    reading_unit: &str,
    places: &[String],
) -> String {
    let mut text = format!(
        "{drive} ({drive_unit}),{reading} up ({reading_unit}),{reading} down ({reading_unit})\n"
    );
    for place in places {
        text.push_str(&format!("{place},,\n"));
    }
    text
}
