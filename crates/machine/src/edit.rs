//! Changing a machine file in place: one value at a time, with comments, order and unchanged lines kept to the byte.
//!
//! A change names its place by a path of keys (`["part", "lever", "carries", "1"]`; numbers count entries of a list from 0) and
//! carries the new value as it would be typed in the file (`"12 mm"` with its quotes, `[10, 20]`, `{ from = "a", reach = 20 }`).

use serde::{Deserialize, Serialize};
use toml_edit::{Array, DocumentMut, InlineTable, Item, Table, Value};

/// One change to a machine file. As JSON: `{"set": {"at": ["point", "a"], "value": "[0, 0]"}}`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum Change {
    /// Sets the value at a path; makes missing tables and keys on the way.
    Set {
        /// Where.
        at: Vec<String>,
        /// The value as typed.
        value: String,
    },
    /// Takes out a key, a table or an entry of a list.
    Remove {
        /// Where.
        at: Vec<String>,
    },
    /// Puts an entry into a list before the one with this number (or at its end).
    Insert {
        /// The list.
        at: Vec<String>,
        /// Number of the entry it comes before.
        before: usize,
        /// The value as typed.
        value: String,
    },
    /// Gives a named thing another name, everywhere it is spoken of.
    Rename {
        /// What it is: `point`, `part`, `rod`, `drive`, ... as in the file. A shaft is a `part`.
        kind: String,
        /// Old name.
        from: String,
        /// New name.
        to: String,
    },
}

/// Why a change was not made. The text is left as it was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused(pub String);

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Refused {}

fn refused<T>(sentence: impl Into<String>) -> Result<T, Refused> {
    Err(Refused(sentence.into()))
}

/// Makes all changes, in order, or none.
///
/// # Errors
/// [`Refused`], with a sentence that says which and why: the text is not TOML, a value is not, a path leads nowhere.
pub fn edit(text: &str, changes: &[Change]) -> Result<String, Refused> {
    let Ok(mut doc) = text.parse::<DocumentMut>() else {
        return refused("the file is broken; mend it in a text editor first");
    };
    for change in changes {
        match change {
            Change::Set { at, value } => set(&mut doc, at, typed(value)?)?,
            Change::Remove { at } => remove(&mut doc, at)?,
            Change::Insert { at, before, value } => insert(&mut doc, at, *before, typed(value)?)?,
            Change::Rename { kind, from, to } => rename(&mut doc, kind, from, to)?,
        }
    }
    let text = if text.contains("\r\n") {
        doc.to_string().replace("\r\n", "\n").replace('\n', "\r\n")
    } else {
        doc.to_string()
    };
    Ok(text)
}

fn typed(value: &str) -> Result<Value, Refused> {
    value
        .trim()
        .parse::<Value>()
        .or_else(|_| refused(format!("{value} is not a value; text stands in quotes")))
}

fn path(at: &[String]) -> String {
    at.join(".")
}

fn set(doc: &mut DocumentMut, at: &[String], value: Value) -> Result<(), Refused> {
    let Some((last, tables)) = at.split_last() else {
        return refused("no key was named");
    };
    let Some((first, inner)) = tables.split_first() else {
        return put(&mut Spot::Table(doc.as_table_mut()), last, value, at);
    };
    let home = doc.as_table_mut().entry(first).or_insert_with(|| {
        let mut table = Table::new();
        // `[part]` itself is not written when only `[part.lever]` stands in the file.
        table.set_implicit(!inner.is_empty());
        Item::Table(table)
    });
    let mut spot = spot(home).ok_or_else(|| Refused(format!("{first} is not a table")))?;
    for key in inner {
        spot = step(spot, key).ok_or_else(|| Refused(format!("{} leads nowhere", path(at))))?;
    }
    put(&mut spot, last, value, at)
}

/// Something that holds values.
enum Spot<'a> {
    Table(&'a mut Table),
    Inline(&'a mut InlineTable),
    List(&'a mut Array),
}

fn spot(item: &mut Item) -> Option<Spot<'_>> {
    match item {
        Item::Table(t) => Some(Spot::Table(t)),
        Item::Value(v) => value_spot(v),
        _ => None,
    }
}

fn value_spot(value: &mut Value) -> Option<Spot<'_>> {
    match value {
        Value::InlineTable(t) => Some(Spot::Inline(t)),
        Value::Array(a) => Some(Spot::List(a)),
        _ => None,
    }
}

fn step<'a>(at: Spot<'a>, key: &str) -> Option<Spot<'a>> {
    match at {
        Spot::Table(t) => spot(t.entry(key).or_insert_with(|| Item::Table(Table::new()))),
        Spot::Inline(t) => value_spot(t.get_mut(key)?),
        Spot::List(a) => value_spot(a.get_mut(key.parse::<usize>().ok()?)?),
    }
}

/// Replaces a value but keeps the blanks and the comment around it.
fn replace(old: &mut Value, mut new: Value) {
    *new.decor_mut() = old.decor().clone();
    *old = new;
}

fn put(spot: &mut Spot<'_>, key: &str, value: Value, at: &[String]) -> Result<(), Refused> {
    match spot {
        Spot::Table(t) => match t.get_mut(key) {
            Some(Item::Value(old)) => replace(old, value),
            Some(Item::None) | None => {
                t.insert(key, Item::Value(value));
            }
            Some(_) => return refused(format!("{} is a table, not a value", path(at))),
        },
        Spot::Inline(t) => match t.get_mut(key) {
            Some(old) => replace(old, value),
            None => {
                t.insert(key, value);
            }
        },
        Spot::List(a) => match key.parse::<usize>().ok().and_then(|i| a.get_mut(i)) {
            Some(old) => replace(old, value),
            None => return refused(format!("{} leads nowhere", path(at))),
        },
    }
    Ok(())
}

/// Walks to what holds the last key of a path, making nothing.
fn find<'a>(
    doc: &'a mut DocumentMut,
    tables: &[String],
    at: &[String],
) -> Result<Spot<'a>, Refused> {
    let nowhere = || Refused(format!("{} is not in the file", path(at)));
    let mut here = Spot::Table(doc.as_table_mut());
    for key in tables {
        here = match here {
            Spot::Table(t) => spot(t.get_mut(key).ok_or_else(nowhere)?),
            Spot::Inline(t) => value_spot(t.get_mut(key).ok_or_else(nowhere)?),
            Spot::List(a) => value_spot(
                key.parse()
                    .ok()
                    .and_then(|i: usize| a.get_mut(i))
                    .ok_or_else(nowhere)?,
            ),
        }
        .ok_or_else(nowhere)?;
    }
    Ok(here)
}

fn remove(doc: &mut DocumentMut, at: &[String]) -> Result<(), Refused> {
    let Some((last, tables)) = at.split_last() else {
        return refused("no key was named");
    };
    let gone = match find(doc, tables, at)? {
        Spot::Table(t) => t.remove(last).is_some(),
        Spot::Inline(t) => t.remove(last).is_some(),
        Spot::List(a) => match last.parse::<usize>() {
            Ok(i) if i < a.len() => {
                a.remove(i);
                true
            }
            _ => false,
        },
    };
    if gone {
        Ok(())
    } else {
        refused(format!("{} is not in the file", path(at)))
    }
}

fn insert(
    doc: &mut DocumentMut,
    at: &[String],
    before: usize,
    value: Value,
) -> Result<(), Refused> {
    match find(doc, at, at)? {
        Spot::List(a) => {
            let i = before.min(a.len());
            a.insert(i, value);
            Ok(())
        }
        _ => refused(format!("{} is not a list", path(at))),
    }
}

/// The keys that lead to a line of a text, counted from 1: its heading, and the key whose value stands there.
pub fn keys_at(text: &str, line: usize) -> Option<Vec<String>> {
    let split = |keys: &str| -> Vec<String> {
        let keys = keys.split('.').map(|k| k.trim().trim_matches(['"', '\'']));
        keys.map(str::to_owned).collect()
    };
    let mut own: Option<Vec<String>> = None;
    let above: Vec<&str> = text.lines().take(line).collect();
    for line in above.iter().rev() {
        let line = line.trim();
        if let Some(heading) = line.strip_prefix('[').and_then(|l| l.split_once(']')) {
            let is_heading = !heading.0.is_empty() && heading.0.chars().all(is_of_key);
            if is_heading {
                let mut keys = split(heading.0);
                keys.extend(own.unwrap_or_default());
                return Some(keys);
            }
        }
        if own.is_none()
            && let Some((key, _)) = line.split_once('=')
            && key.trim().chars().all(is_of_key)
        {
            own = Some(split(key));
        }
    }
    own
}

fn is_of_key(c: char) -> bool {
    c.is_alphanumeric() || "-_.\"' ".contains(c)
}

/// Tables in which names of a kind are given.
fn homes(kind: &str) -> &[&str] {
    match kind {
        "part" => &["part", "shaft"],
        "point" | "row" => &["point", "row"],
        _ => &[],
    }
}

/// Tables, each with its keys whose text names a thing of a kind.
type KeysByTable = &'static [(&'static str, &'static [&'static str])];

/// Keys whose text names a thing of a kind, by table; `*` is any table.
const SPOKEN_OF: &[(&str, KeysByTable)] = &[
    (
        "point",
        &[
            (
                "*",
                &[
                    "carries", "from", "to", "on", "swing", "mirror", "across", "circle", "foot",
                    "meet", "project", "centre", "pin", "at", "distance", "place-of", "shim",
                    "hand", "hole", "first", "step",
                ],
            ),
            ("rod", &["joins"]),
            ("reading", &["between"]),
            ("spring", &["between"]),
            ("slide", &["along"]),
            ("cam", &["roller"]),
            ("setting", &["row"]),
            ("piece", &["arms", "towards", "about", "offset", "joint"]),
        ],
    ),
    (
        "part",
        &[
            (
                "*",
                &[
                    "clamped-to",
                    "part",
                    "of",
                    "in",
                    "turns",
                    "clock",
                    "turn-of",
                    "against",
                    "carrier",
                    "gear",
                    "rack",
                    "driver",
                    "wheel",
                    "with",
                    "fork",
                ],
            ),
            ("gear", &["joins"]),
            ("belt", &["joins"]),
            ("slide", &["on"]),
            ("cam", &["on"]),
            ("face", &["on"]),
            ("row", &["on"]),
            ("load", &["on"]),
        ],
    ),
    ("rod", &[("setting", &["rod"]), ("tolerance", &["of"])]),
    (
        "slide",
        &[
            ("drive", &["slides"]),
            ("bolts", &["slides"]),
            ("tolerance", &["of"]),
        ],
    ),
    ("slot", &[("tolerance", &["of"])]),
    ("cam", &[("tolerance", &["of"])]),
    ("stop", &[("setting", &["stop"])]),
    ("face", &[("reading", &["gap"])]),
    ("reading", &[("*", &["reading", "swing-of", "squeezes"])]),
    (
        "drive",
        &[
            ("ask", &["over", "of", "effort", "holds"]),
            ("reading", &["over"]),
            ("detent", &["drive"]),
            ("clamp", &["holds"]),
        ],
    ),
    ("load", &[("case", &["loads"])]),
    ("case", &[("ask", &["under", "loaded"])]),
    ("ask", &[("ask", &["share-of"])]),
];

/// Where a key means a part although the same key means a point elsewhere.
fn is_of_part(table: &str, key: &str) -> bool {
    key == "on" && matches!(table, "slide" | "face" | "row" | "load")
}

fn rename(doc: &mut DocumentMut, kind: &str, from: &str, to: &str) -> Result<(), Refused> {
    if to.is_empty()
        || !to
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
    {
        return refused(format!(
            "\"{to}\" is no name; use letters, digits and hyphens"
        ));
    }
    // A row is a point of its own name, namely the hole that is in use.
    let kind = if kind == "row" { "point" } else { kind };
    let own = [kind];
    let homes = if homes(kind).is_empty() {
        &own[..]
    } else {
        homes(kind)
    };
    let taken = homes.iter().any(|h| {
        doc.get(h)
            .and_then(Item::as_table_like)
            .is_some_and(|t| t.contains_key(to))
    });
    if taken {
        return refused(format!("there is a {kind} {to} already"));
    }
    let mut found = false;
    for home in homes {
        if let Some(Item::Table(table)) = doc.get_mut(home) {
            found |= rename_key(table, from, to);
        }
    }
    if !found {
        return refused(format!("there is no {kind} {from}"));
    }
    // Joints are headed by what parts meet in.
    if matches!(kind, "point" | "slide" | "slot")
        && let Some(Item::Table(joints)) = doc.get_mut("joint")
    {
        rename_key(joints, from, to);
    }
    // How a part or rod is made stands under its name.
    if matches!(kind, "part" | "shaft" | "rod")
        && let Some(Item::Table(pieces)) = doc.get_mut("piece")
    {
        rename_key(pieces, from, to);
    }
    let spoken = SPOKEN_OF
        .iter()
        .find(|(k, _)| *k == kind)
        .map_or(&[][..], |(_, s)| s);
    let names: Vec<String> = doc.iter().map(|(k, _)| k.to_owned()).collect();
    for table in names {
        let Some(item) = doc.get_mut(&table) else {
            continue;
        };
        let keys: Vec<&str> = spoken
            .iter()
            .filter(|(t, _)| *t == "*" || *t == table)
            .flat_map(|(_, k)| k.iter().copied())
            .collect();
        let means =
            |key: &str| keys.contains(&key) && (kind != "point" || !is_of_part(&table, key));
        let keyed = match kind {
            "drive" | "setting" => &["when"][..],
            "point" => &["hole", "boss"],
            _ => &[],
        };
        speak(item, &means, false, from, to, keyed);
    }
    Ok(())
}

/// Renames a key of a table and keeps its place, its comments and what it holds.
fn rename_key(table: &mut Table, from: &str, to: &str) -> bool {
    if !table.contains_key(from) {
        return false;
    }
    let keys: Vec<String> = table.iter().map(|(k, _)| k.to_owned()).collect();
    for key in keys {
        let Some((old, item)) = table.remove_entry(&key) else {
            continue;
        };
        if key == from {
            let mut new = toml_edit::Key::new(to);
            *new.leaf_decor_mut() = old.leaf_decor().clone();
            *new.dotted_decor_mut() = old.dotted_decor().clone();
            table.insert_formatted(&new, item);
        } else {
            table.insert_formatted(&old, item);
        }
    }
    true
}

/// Replaces the name wherever a key that means it holds it. The tables behind the keys `keyed` have such names for their keys: drives under
/// `when`, points under `hole` and `boss`.
fn speak(
    item: &mut Item,
    means: &dyn Fn(&str) -> bool,
    meant: bool,
    from: &str,
    to: &str,
    keyed: &[&str],
) {
    match item {
        Item::Table(table) => {
            let keys: Vec<String> = table.iter().map(|(k, _)| k.to_owned()).collect();
            for key in keys {
                let Some(item) = table.get_mut(&key) else {
                    continue;
                };
                if keyed.contains(&key.as_str()) {
                    match item {
                        Item::Table(inner) => {
                            rename_key(inner, from, to);
                        }
                        Item::Value(Value::InlineTable(inner)) => rename_inline(inner, from, to),
                        _ => {}
                    }
                }
                speak(item, means, means(&key), from, to, keyed);
            }
        }
        Item::Value(value) => speak_value(value, means, meant, from, to, keyed),
        _ => {}
    }
}

fn rename_inline(table: &mut InlineTable, from: &str, to: &str) {
    if !table.contains_key(from) {
        return;
    }
    let pairs: Vec<(String, Value)> = table
        .iter()
        .map(|(k, v)| (k.to_owned(), v.clone()))
        .collect();
    table.clear();
    for (key, v) in pairs {
        table.insert(if key == from { to } else { &key }, v);
    }
}

fn speak_value(
    value: &mut Value,
    means: &dyn Fn(&str) -> bool,
    meant: bool,
    from: &str,
    to: &str,
    keyed: &[&str],
) {
    match value {
        Value::String(s) if meant && s.value() == from => replace(value, Value::from(to)),
        Value::Array(list) => list
            .iter_mut()
            .for_each(|v| speak_value(v, means, meant, from, to, keyed)),
        Value::InlineTable(table) => {
            let keys: Vec<String> = table.iter().map(|(k, _)| k.to_owned()).collect();
            for key in keys {
                let Some(v) = table.get_mut(&key) else {
                    continue;
                };
                if keyed.contains(&key.as_str())
                    && let Value::InlineTable(inner) = v
                {
                    rename_inline(inner, from, to);
                }
                speak_value(v, means, means(&key), from, to, keyed);
            }
        }
        _ => {}
    }
}
