//! Stock in the rack and lengths in which it is sold.

use crate::declared::Named;
use crate::desk::Desk;
use crate::equipment::RackBar;
use crate::fields::{Entry, Fields, Shape, Value};
use crate::words::clip;
use crate::work::Section;

const BAR: Shape = Shape {
    a: "a bar in the rack",
    keys: &[
        ("flat", "flat = [\"6 mm\", \"30 mm\"]"),
        ("round", "round = \"20 mm\""),
        ("square", "square = \"16 mm\""),
        ("hexagon", "hexagon = \"17 mm\""),
        ("tube", "tube = [\"12 mm\", \"8 mm\"]"),
        ("material", "material = \"1018 cold drawn\""),
        ("length", "length = \"600 mm\""),
        ("count", "count = 2"),
    ],
};

const SELLER: Shape = Shape {
    a: "the seller",
    keys: &[
        ("lengths", "lengths = [\"500 mm\", \"1000 mm\"]"),
        (
            "sheets",
            "sheets = [[\"250 mm\", \"500 mm\"], [\"500 mm\", \"1000 mm\"]]",
        ),
    ],
};

pub(super) fn bar(desk: &mut Desk, named: &Named) -> Option<RackBar> {
    let fields = Fields::new(desk, named.what(), &BAR, &named.entry)?;
    let form = fields.one_of(desk, &["flat", "round", "square", "hexagon", "tube"]);
    let material = fields.need(desk, "material").and_then(|f| {
        let text = f.text(desk, "a material in quotes")?;
        if crate::works::given().any(|g| g == text) {
            return Some(text.to_owned());
        }
        match elements::materials::find(text) {
            Ok(row) => Some(row.name.to_owned()),
            Err(error) => {
                f.bad(
                    desk,
                    format!("\"{}\" is not one material of the table", clip(text)),
                    error.to_string(),
                );
                None
            }
        }
    });
    let length = fields
        .need(desk, "length")
        .and_then(|f| f.positive_length(desk));
    let count = fields
        .get("count")
        .map_or(Some(1), |f| f.whole(desk, 1, 1000));
    let form = form?;
    let section = match (crate::works::stock::bar(form.key), form.key) {
        (Some(bar), _) => bar(form.positive_length(desk)?),
        (None, key) => {
            let [a, b] = form.lengths(desk)?;
            if a <= 0.0 || b <= 0.0 || (key == "tube" && b >= a) {
                form.bad(
                    desk,
                    "this section cannot be",
                    "a flat has thickness and width, a tube its outside first",
                );
                return None;
            }
            if key == "flat" {
                Section::Flat([a, b])
            } else {
                Section::Tube([a, b])
            }
        }
    };
    Some(RackBar {
        name: named.entry.name.to_owned(),
        section,
        material: material?,
        length: length?,
        count: count?,
    })
}

/// Lengths of bar and sizes of plate.
pub(super) fn seller(desk: &mut Desk, entry: &Entry) -> (Vec<f64>, Vec<[f64; 2]>) {
    let (mut all, mut sheets) = (Vec::new(), Vec::new());
    let Some(fields) = Fields::new(desk, "the seller".to_owned(), &SELLER, entry) else {
        return (all, sheets);
    };
    if let Some(field) = fields.need(desk, "lengths") {
        for item in field.list(desk, "a list of lengths").unwrap_or_default() {
            all.extend(item.positive_length(desk));
        }
        if matches!(field.node.value, Value::List(_)) && all.is_empty() {
            field.bad(
                desk,
                "the seller has no length",
                "write the lengths that bars are sold in, or leave [seller] out",
            );
        }
    }
    if let Some(field) = fields.get("sheets") {
        for item in field.list(desk, "a list of sizes").unwrap_or_default() {
            match item.lengths(desk) {
                Some(size) if size.iter().all(|x| *x > 0.0) => sheets.push(size),
                Some(_) => item.bad(
                    desk,
                    "this sheet cannot be",
                    "write its two sides: `[\"250 mm\", \"500 mm\"]`",
                ),
                None => {}
            }
        }
    }
    all.sort_by(f64::total_cmp);
    (all, sheets)
}
