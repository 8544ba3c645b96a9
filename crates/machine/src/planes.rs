//! Planes: origin and two directions square to each other.

use crate::declared::Named;
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::model::{Place, Plane};
use crate::vector::{V3, cross3, dot3, length3, scaled3, sub3};
use crate::words::figures;

const PLANE: Shape = Shape {
    a: "a plane",
    keys: &[
        ("origin", "origin = [420, 0, 0]"),
        ("right", "right = [0, 0, -1]"),
        ("up", "up = [0, 1, 0]"),
    ],
};

/// Directions further from square than this are an error, degrees: rounding in the sixth figure passes, a slip does not.
const SQUARE: f64 = 1e-3;

/// The plane that is always there.
pub(crate) fn front() -> Plane {
    Plane {
        name: "front".to_owned(),
        origin: [0.0; 3],
        right: [1.0, 0.0, 0.0],
        up: [0.0, 1.0, 0.0],
        place: Place::default(),
    }
}

/// Reads all planes; those that are broken are `None`.
pub(crate) fn read(desk: &mut Desk, named: &[Named]) -> Vec<Option<Plane>> {
    std::iter::once(Some(front()))
        .chain(named.iter().map(|n| plane(desk, n)))
        .collect()
}

fn plane(desk: &mut Desk, named: &Named) -> Option<Plane> {
    let fields = Fields::new(desk, named.what(), &PLANE, &named.entry)?;
    let origin = fields
        .need(desk, "origin")
        .and_then(|f| place_in_space(desk, &f));
    let right = fields.need(desk, "right").and_then(|f| direction(desk, &f));
    let up = fields.need(desk, "up").and_then(|f| direction(desk, &f));
    let (right, (up, up_place)) = (right?.0, up?);
    let cosine = dot3(right, up).clamp(-1.0, 1.0);
    let off = (cosine.asin().to_degrees()).abs();
    if length3(cross3(right, up)) < 1e-6 {
        desk.push(
            Diagnostic::error("plane", format!("`right` and `up` of {} lie in one line", named.what()))
                .at(up_place, "square to right, please")
                .help("the two directions stand square to each other, like `right = [0, 0, -1]` and `up = [0, 1, 0]`"),
        );
        return None;
    }
    if off > SQUARE {
        // The part of up that is square to right, in figures short enough to type.
        let fixed = scaled3(
            sub3(up, scaled3(right, cosine)),
            1.0 / (1.0 - cosine * cosine).sqrt(),
        );
        let fixed = fixed.map(figures_long);
        desk.push(
            Diagnostic::error(
                "plane",
                format!(
                    "{} is not square: `up` is {} degrees off",
                    named.what(),
                    figures(off)
                ),
            )
            .at(up_place, "")
            .help(format!("square to right is `up = [{}]`", fixed.join(", "))),
        );
        return None;
    }
    // What is left of the error after the check is taken out, so that the plane is square to the last figure.
    let up = normalised(sub3(up, scaled3(right, cosine)))?;
    Some(Plane {
        name: named.entry.name.to_owned(),
        origin: origin?,
        right,
        up,
        place: named.entry.place,
    })
}

fn figures_long(x: f64) -> String {
    let text = format!("{x:.7}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

fn place_in_space(desk: &mut Desk, field: &Field) -> Option<V3> {
    let items = field.list(desk, "three lengths")?;
    let [x, y, z] = field.exactly(desk, items, "three lengths")?;
    let (x, y, z) = (x.length(desk), y.length(desk), z.length(desk));
    Some([x?, y?, z?])
}

fn direction(desk: &mut Desk, field: &Field) -> Option<(V3, Place)> {
    let items = field.list(desk, "three plain numbers")?;
    let [x, y, z] = field.exactly(desk, items, "three plain numbers")?;
    let (x, y, z) = (x.number(desk), y.number(desk), z.number(desk));
    let Some(unit) = normalised([x?, y?, z?]) else {
        field.bad(
            desk,
            format!("`{}` has no direction", field.key),
            "one of the three numbers has to be other than zero",
        );
        return None;
    };
    Some((unit, field.place()))
}

fn normalised(a: V3) -> Option<V3> {
    // Scaled first, so that neither tiny nor huge numbers are lost in the squares.
    let largest = a.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
    if largest == 0.0 || !largest.is_finite() {
        return None;
    }
    let a = a.map(|x| x / largest);
    Some(scaled3(a, 1.0 / length3(a)))
}
