//! The shop file: what the shop has, as far as the machine asks for it.

use crate::declared::Named;
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape, Value, entries};
use crate::fitting::{Shop, Squeezer};
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

/// Reads the shop file.
pub(crate) fn read(desk: &mut Desk, file: &File) -> Option<Shop> {
    let before = desk.errors();
    let nowhere = Place {
        source: file.source,
        start: 0,
        end: 0,
    };
    let mut shop = Shop::default();
    for entry in entries(&file.root, nowhere, file.unit) {
        match entry.name {
            "unit" => {}
            "press" => squeezers(desk, &entry, "press", &mut shop),
            "vise" => squeezers(desk, &entry, "vise", &mut shop),
            "shims" => shims(desk, &entry, &mut shop),
            other => {
                let near = desk.suggest(other, &["unit", "press", "vise", "shims"]);
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
                    .help("it has unit and shims, and headings for press and vise: `[vise.bench]`"),
                );
            }
        }
    }
    (desk.errors() == before).then_some(shop)
}

fn shims(desk: &mut Desk, entry: &Entry, shop: &mut Shop) {
    let Some(leaves) = Field::lone(&LISTS, "shims", entry.node)
        .and_then(|f| f.list(desk, "a list of thicknesses"))
    else {
        return;
    };
    for leaf in leaves {
        shop.shims.extend(leaf.positive_length(desk));
    }
    shop.shims.sort_by(f64::total_cmp);
    shop.shims.dedup();
}

fn squeezers(desk: &mut Desk, entry: &Entry, section: &'static str, shop: &mut Shop) {
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
        return;
    }
    for entry in named {
        let named = Named { section, entry };
        let Some(fields) = Fields::new(desk, named.what(), &SQUEEZER, &named.entry) else {
            continue;
        };
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
        if let Some(force) = force {
            shop.squeezers.push(Squeezer {
                name: named.entry.name.to_owned(),
                vise: section == "vise",
                force,
                opens,
            });
        }
    }
}
