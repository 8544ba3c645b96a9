//! Outlines of plates as they are written: boxes, corners with rounds, arcs through places.

use super::path;
use super::{Corner, Outline};
use crate::desk::Desk;
use crate::fields::{Field, Fields, Shape, Value};
use crate::works::inner_table;

const OUTLINE: Shape = Shape {
    a: "an outline",
    keys: &[
        ("from", "from = [-20, -15]"),
        ("to", "to = [120, 15]"),
        ("corner", "corner = \"5 mm\""),
        (
            "path",
            "path = [[0, 0], [60, 0], { to = [60, 30], round = \"5 mm\" }, [0, 30]]",
        ),
    ],
};

const CORNER: Shape = Shape {
    a: "a corner of an outline",
    keys: &[
        ("to", "to = [60, 30]"),
        ("through", "through = [70, 15]"),
        ("round", "round = \"5 mm\""),
    ],
};

pub(super) fn outline(desk: &mut Desk, fields: &Fields, field: &Field) -> Option<Outline> {
    if let Value::Text(_) = field.node.value {
        let word = field.word(desk, &["arms", "around"])?;
        return Some(if word == 0 {
            Outline::Arms
        } else {
            Outline::Around
        });
    }
    let inner = Fields::new(
        desk,
        format!("the outline of {}", fields.what),
        &OUTLINE,
        &inner_table(field),
    )?;
    let form = inner.one_of(desk, &["path", "from"])?;
    if form.key == "path" {
        inner.only_with(desk, &["to", "corner"], "`from`");
        let mut corners = Vec::new();
        let items = form.list(desk, "a list of corners")?;
        for item in &items {
            corners.push(corner(desk, item)?);
        }
        let straight = corners.iter().all(|c| c.through.is_none());
        if corners.len() < if straight { 3 } else { 2 } {
            form.bad(
                desk,
                "this outline has too few corners to close",
                "write at least three corners, or two and an arc",
            );
            return None;
        }
        if let Err(fault) = path::outline(&corners) {
            let at = items.get(fault.corner).unwrap_or(&form);
            at.bad(desk, fault.what, fault.help);
            return None;
        }
        return Some(Outline::Path(corners));
    }
    let from = form.lengths(desk);
    let to = inner.need(desk, "to").and_then(|f| f.lengths(desk));
    let round = match inner.get("corner") {
        Some(f) => f.positive_length(desk)?,
        None => 0.0,
    };
    let (from, to) = (from?, to?);
    let low = [from[0].min(to[0]), from[1].min(to[1])];
    let high = [from[0].max(to[0]), from[1].max(to[1])];
    let least = (high[0] - low[0]).min(high[1] - low[1]);
    if least <= 0.0 || 2.0 * round > least + 1e-9 {
        let (fault, help) = if least <= 0.0 {
            (
                "this rectangle has no area",
                "`from` and `to` are opposite corners",
            )
        } else {
            (
                "the corner is larger than half the side",
                "write a smaller `corner`",
            )
        };
        form.bad(desk, fault, help);
        return None;
    }
    Some(Outline::Box {
        low,
        high,
        corner: round,
    })
}

fn corner(desk: &mut Desk, item: &Field) -> Option<Corner> {
    if item.is_list() {
        let at = item.lengths(desk)?;
        return Some(Corner {
            at,
            through: None,
            round: 0.0,
        });
    }
    let inner = Fields::new(
        desk,
        "a corner of the outline".to_owned(),
        &CORNER,
        &inner_table(item),
    )?;
    let at = inner.need(desk, "to").and_then(|f| f.lengths(desk));
    let through = match inner.get("through") {
        Some(f) => Some(f.lengths(desk)?),
        None => None,
    };
    let round = match inner.get("round") {
        Some(f) => f.positive_length(desk)?,
        None => 0.0,
    };
    Some(Corner {
        at: at?,
        through,
        round,
    })
}
