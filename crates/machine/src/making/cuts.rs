//! Slots, holes from the edge and forks of plates as they are written.

use super::plate::place_in_piece;
use super::read::{First, own_point};
use super::{EdgeHole, Fork, Of, PlateSlot, Towards};
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape};
use crate::ground::direction;
use crate::words::clip;
use crate::works::holes::fitted;
use crate::works::inner_table;
use crate::works::sizes::sized_or_plain;
use elements::fits_iso::Side;

const SLOT: Shape = Shape {
    a: "a slot of a piece",
    keys: &[
        ("from", "from = [10, 0]"),
        ("to", "to = [40, 0]"),
        ("about", "about = \"lever-pivot\""),
        ("radius", "radius = \"45 mm\""),
        ("width", "width = \"8 H9\""),
        ("depth", "depth = \"4 mm\""),
    ],
};

const EDGE: Shape = Shape {
    a: "a hole from the edge",
    keys: &[
        ("towards", "towards = \"lever-pivot\""),
        ("from", "from = \"90 deg\""),
        ("ream", "ream = \"8 H7\""),
        ("drill", "drill = \"5 mm\""),
        ("tap", "tap = \"M6\""),
        ("depth", "depth = \"12 mm\""),
        ("length", "length = \"20 mm\""),
    ],
};

const FORK: Shape = Shape {
    a: "a fork",
    keys: &[
        ("at", "at = \"ram-pin\""),
        ("gap", "gap = \"12.2 mm\""),
        ("depth", "depth = \"20 mm\""),
        ("open", "open = \"up\""),
    ],
};

pub(super) fn slot(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
    entry: &Entry,
    upright: bool,
) -> Option<PlateSlot> {
    let what = format!("the slot {} of {}", clip(entry.name), fields.what);
    let inner = Fields::new(desk, what, &SLOT, entry)?;
    let line = match inner.get("about") {
        Some(about) => arc(desk, &inner, of, first, &about, upright),
        None => {
            inner.only_with(desk, &["radius"], "`about`");
            let from = inner.need(desk, "from").and_then(|f| f.lengths(desk));
            let to = inner.need(desk, "to").and_then(|f| f.lengths(desk));
            from.zip(to).map(|(from, to)| ([from, to], None))
        }
    };
    let width = inner
        .need(desk, "width")
        .and_then(|f| sized_or_plain(desk, &f, Side::Hole));
    let depth = match inner.get("depth") {
        Some(f) => Some(f.positive_length(desk)?),
        None => None,
    };
    let (ends, centre) = line?;
    if ends[0] == ends[1] {
        desk.push(
            Diagnostic::error("same-twice", "both ends of this slot lie at one place")
                .at(entry.place, "")
                .help("write two ends of its centre line, or a hole"),
        );
        return None;
    }
    let width = width?;
    if let Some(centre) = centre {
        let radius = (ends[0][0] - centre[0]).hypot(ends[0][1] - centre[1]);
        if width.0 > 2.0 * radius - 1e-9 {
            let (w, r) = (desk.show(width.0), desk.show(radius));
            desk.push(
                Diagnostic::error(
                    "wrong-value",
                    format!("a slot {w} wide does not go round on a radius of {r}"),
                )
                .at(entry.place, "")
                .help("the radius is that of its centre line: more than half the width"),
            );
            return None;
        }
    }
    Some(PlateSlot {
        name: entry.name.to_owned(),
        ends,
        centre,
        width,
        depth,
    })
}

/// The centre line of an arc slot: about a point or place, from one direction counter-clockwise to another.
fn arc(
    desk: &mut Desk,
    inner: &Fields,
    of: Option<&Of>,
    first: &First,
    about: &Field,
    upright: bool,
) -> Option<([[f64; 2]; 2], Option<[f64; 2]>)> {
    let centre = if about.is_list() {
        about.lengths(desk)
    } else {
        own_point(desk, of, first, about).and_then(|p| place_in_piece(of, first, p, upright))
    };
    let radius = inner
        .need(desk, "radius")
        .and_then(|f| f.positive_length(desk));
    let mut way = |key: &str| {
        let field = inner.need(desk, key)?;
        if field.is_list() {
            field.bad(
                desk,
                "a slot about a point goes from one direction to another",
                format!(
                    "write `{key} = \"30 deg\"`, counted from the x of the piece, and `radius`"
                ),
            );
            return None;
        }
        direction(desk, &field)
    };
    let (from, to) = (way("from"), way("to"));
    let (c, r, from, to) = (centre?, radius?, from?, to?);
    let round = std::f64::consts::TAU;
    let sweep = (to - from).rem_euclid(round);
    let whole = sweep < 1e-9 || round - sweep < 1e-9;
    if (to - from).abs() > round - 1e-9 || whole {
        let shown = |a: f64| (a.to_degrees() * 1e3).round() / 1e3;
        let end = inner.get("to").unwrap_or(*about);
        end.bad(
            desk,
            format!(
                "a slot from {} to {} degrees {}",
                shown(from),
                shown(to),
                if whole && (to - from).abs() < 1e-9 {
                    "has no length"
                } else {
                    "goes round the whole circle"
                }
            ),
            "write two directions less than a turn apart; it is cut counter-clockwise from the first to the second",
        );
        return None;
    }
    let at = |a: f64| [c[0] + r * a.cos(), c[1] + r * a.sin()];
    Some(([at(from), at(to)], Some(c)))
}

pub(super) fn edge(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
    entry: &Entry,
) -> Option<EdgeHole> {
    let what = format!("the hole {} of {}", clip(entry.name), fields.what);
    let inner = Fields::new(desk, what, &EDGE, entry)?;
    let towards = inner.need(desk, "towards").and_then(|f| {
        if f.is_list() {
            f.lengths(desk).map(Towards::Place)
        } else {
            own_point(desk, of, first, &f).map(Towards::Point)
        }
    });
    let from = inner.need(desk, "from").and_then(|f| direction(desk, &f));
    let fitted = fitted(desk, &inner);
    let length = match inner.get("length") {
        Some(f) => Some(f.positive_length(desk)?),
        None => None,
    };
    let fitted = fitted?;
    super::sense::thread_fits(desk, &inner, &fitted, length)?;
    Some(EdgeHole {
        name: entry.name.to_owned(),
        towards: towards?,
        from: from?,
        fitted,
        length,
    })
}

pub(super) fn fork(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
    field: &Field,
) -> Option<Fork> {
    let inner = Fields::new(
        desk,
        format!("the fork of {}", fields.what),
        &FORK,
        &inner_table(field),
    )?;
    let at = inner
        .need(desk, "at")
        .and_then(|f| own_point(desk, of, first, &f));
    let gap = inner
        .need(desk, "gap")
        .and_then(|f| f.positive_length(desk));
    let depth = inner
        .need(desk, "depth")
        .and_then(|f| f.positive_length(desk));
    let open = inner.need(desk, "open").and_then(|f| direction(desk, &f));
    Some(Fork {
        at: at?,
        gap: gap?,
        depth: depth?,
        open: open?,
    })
}
