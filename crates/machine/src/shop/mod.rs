//! The shop file: what the shop has.

mod machines;
mod rack;
mod tools;

use crate::declared::Named;
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::equipment::{Shop, Squeezer};
use crate::fields::{Entry, Field, Fields, Shape, Value, entries};
use crate::load::File;
use crate::model::Place;
use crate::words::clip;
use quantity::Kind as Measure;

const SQUEEZER: Shape = Shape {
    a: "a press or vise",
    keys: &[
        ("force", "force = \"10 kN\""),
        ("opens", "opens = \"100 mm\""),
    ],
};

const LISTS: Shape = Shape {
    a: "a shop file",
    keys: &[("shims", "shims = [\"0.05 mm\", \"0.1 mm\", \"0.25 mm\"]")],
};

/// What a shop file may hold.
const KNOWN: [&str; 12] = [
    "unit",
    "shims",
    "press",
    "vise",
    "lathe",
    "mill",
    "drill-press",
    "rotary-table",
    "saw",
    "tools",
    "bar",
    "seller",
];

/// Reads the shop file.
pub(crate) fn read(desk: &mut Desk, file: &File) -> Option<Shop> {
    let before = desk.errors();
    let nowhere = Place {
        source: file.source,
        start: 0,
        end: 0,
    };
    let mut shop = Shop {
        unit: file.unit,
        tools: tools::bare(),
        ..Shop::default()
    };
    for entry in entries(&file.root, nowhere, file.unit) {
        match entry.name {
            "unit" => {}
            "shims" => shop.shims = shims(desk, &entry),
            "tools" => shop.tools = tools::read(desk, &entry),
            "seller" => (shop.sold, shop.sheets) = rack::seller(desk, &entry),
            "press" | "vise" | "lathe" | "mill" | "drill-press" | "rotary-table" | "saw"
            | "bar" => {
                let Some(&section) = KNOWN.iter().find(|k| **k == entry.name) else {
                    continue;
                };
                for named in names(desk, &entry, section) {
                    match section {
                        "lathe" => shop.lathes.extend(machines::lathe(desk, &named)),
                        "mill" => shop.mills.extend(machines::mill(desk, &named)),
                        "drill-press" => shop
                            .drill_presses
                            .extend(machines::drill_press(desk, &named)),
                        "rotary-table" => shop
                            .rotary_tables
                            .extend(machines::rotary_table(desk, &named)),
                        "saw" => shop.saws.extend(machines::saw(desk, &named)),
                        "bar" => shop.rack.extend(rack::bar(desk, &named)),
                        _ => shop.squeezers.extend(squeezer(desk, &named)),
                    }
                }
            }
            other => {
                let near = desk.suggest(other, &KNOWN);
                let label = near.map_or_else(
                    || "not known".to_owned(),
                    |m| format!("did you mean `{m}`?"),
                );
                desk.push(
                    Diagnostic::error(
                        "unknown-key",
                        format!("a shop file has no `{}`", clip(other)),
                    )
                    .at(entry.place, label)
                    .help("it has unit, shims, tools, seller, and headings with a name for press, vise, lathe, mill, drill-press, rotary-table, saw and bar: `[vise.bench]`"),
                );
            }
        }
    }
    (desk.errors() == before).then_some(shop)
}

fn shims(desk: &mut Desk, entry: &Entry) -> Vec<f64> {
    let leaves = Field::lone(&LISTS, "shims", entry.node)
        .and_then(|f| f.list(desk, "a list of thicknesses"))
        .unwrap_or_default();
    let mut all: Vec<f64> = leaves
        .iter()
        .filter_map(|leaf| leaf.positive_length(desk))
        .collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// The named tables below a heading.
fn names<'a>(desk: &mut Desk, entry: &Entry<'a>, section: &'static str) -> Vec<Named<'a>> {
    let named: Vec<Entry> = match entry.node.value {
        Value::Table(_) => entry.node.entries(),
        _ => Vec::new(),
    };
    if named.is_empty()
        || named
            .iter()
            .any(|e| !matches!(e.node.value, Value::Table(_)))
    {
        desk.push(
            Diagnostic::error("wrong-type", format!("this {section} has no name"))
                .at(entry.place, "")
                .help(format!(
                    "a {section} has its name in the heading: `[{section}.bench]`"
                )),
        );
        return Vec::new();
    }
    named
        .into_iter()
        .map(|entry| Named { section, entry })
        .collect()
}

fn squeezer(desk: &mut Desk, named: &Named) -> Option<Squeezer> {
    let fields = Fields::new(desk, named.what(), &SQUEEZER, &named.entry)?;
    let force = fields.need(desk, "force").and_then(|f| {
        let written = f.quantity(desk, Measure::Force)?;
        if written.value > 0.0 {
            return Some(written.value);
        }
        f.bad(
            desk,
            format!("`force` is {}; it has to be above zero", written.show()),
            "write what it gives, as in \"10 kN\"",
        );
        None
    });
    let opens = fields.get("opens").and_then(|f| f.positive_length(desk));
    Some(Squeezer {
        name: named.entry.name.to_owned(),
        vise: named.section == "vise",
        force: force?,
        opens,
    })
}
