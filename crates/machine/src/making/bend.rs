//! Flanges bent off the sides of a rectangular plate, one beyond the other.

use super::plate::table;
use super::{Bend, Edge, Outline, Plate};
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape};
use crate::words::clip;

const BEND: Shape = Shape {
    a: "a bend",
    keys: &[
        ("side", "side = \"bottom\""),
        ("beyond", "beyond = \"foot\""),
        ("length", "length = \"30 mm\""),
        ("angle", "angle = \"90 deg\""),
        ("radius", "radius = \"3 mm\""),
        ("fold", "fold = \"front\""),
    ],
};

/// Reads all bends of a plate.
pub(super) fn bends(desk: &mut Desk, fields: &Fields, plate: &mut Plate) {
    let how = "bend.foot = { side = \"bottom\", length = \"30 mm\" }";
    let entries = table(desk, fields, "bend", how);
    if let (Some(first), false) = (
        entries.first(),
        matches!(plate.outline, Outline::Box { .. }),
    ) {
        desk.push(
            Diagnostic::error(
                "wrong-value",
                format!("{} is bent, but its outline is no rectangle", fields.what),
            )
            .at(first.place, "")
            .help("write the part of it that stays flat as `outline = { from = [0, 0], to = [80, 40] }`, outside lengths"),
        );
        return;
    }
    for entry in &entries {
        if let Some(bend) = bend(desk, fields, entry, &entries, &plate.bends) {
            plate.bends.push(bend);
        }
    }
    if let Some(at) = crossing(plate)
        && let Some(entry) = entries.iter().find(|e| e.name == plate.bends[at].name)
    {
        desk.push(
            Diagnostic::error(
                "wrong-value",
                format!(
                    "the flange {} of {} runs through another part of the same plate",
                    clip(entry.name),
                    fields.what
                ),
            )
            .at(entry.place, "")
            .help("bend it less far, make it shorter, or `fold` it the other way"),
        );
    }
    if let Some(field) = fields.get("k-factor") {
        if entries.is_empty() {
            field.bad(
                desk,
                format!("{} has no bend that a k-factor is for", fields.what),
                format!("write a bend: `{how}`"),
            );
        }
        plate.k_factor = field.number(desk).and_then(|k| {
            if (0.2..=0.5).contains(&k) {
                return Some(k);
            }
            field.bad(
                desk,
                "a k-factor lies between 0.2 and 0.5",
                "it is how deep the line that keeps its length lies in the thickness, from the inside",
            );
            None
        });
    }
}

/// The last bend whose flange crosses another flange or the flat, seen along the bends, its outside lengths as lines.
fn crossing(plate: &Plate) -> Option<usize> {
    type P = [f64; 2];
    let Outline::Box { low, high, .. } = plate.outline else {
        return None;
    };
    let first = plate.bends.first()?;
    let i = usize::from(matches!(first.side, Edge::Bottom | Edge::Top));
    let wide = (high[i] - low[i]).abs();
    // Each line with its bend; the flat has none.
    let mut lines: Vec<(Option<usize>, [P; 2])> = vec![(None, [[0.0, 0.0], [wide, 0.0]])];
    for low in [true, false] {
        let mut at = [if low { 0.0 } else { wide }, 0.0];
        let mut heading = if low { std::f64::consts::PI } else { 0.0 };
        let mut beyond = None;
        while let Some((n, bend)) =
            plate.bends.iter().enumerate().find(|(_, b)| {
                matches!(b.side, Edge::Left | Edge::Bottom) == low && b.beyond == beyond
            })
        {
            let turn = if bend.front == low { -1.0 } else { 1.0 };
            heading += turn * bend.angle;
            let end = [
                at[0] + bend.length * heading.cos(),
                at[1] + bend.length * heading.sin(),
            ];
            lines.push((Some(n), [at, end]));
            at = end;
            beyond = Some(n);
        }
    }
    let side = |[a, b]: [P; 2], p: P| (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
    let cross = |u: [P; 2], v: [P; 2]| {
        side(u, v[0]) * side(u, v[1]) < -1e-9 && side(v, u[0]) * side(v, u[1]) < -1e-9
    };
    lines.iter().enumerate().rev().find_map(|(n, (own, u))| {
        let meets = lines[..n].iter().any(|(_, v)| cross(*u, *v));
        own.filter(|_| meets)
    })
}

fn bend(
    desk: &mut Desk,
    fields: &Fields,
    entry: &Entry,
    all: &[Entry],
    so_far: &[Bend],
) -> Option<Bend> {
    let what = format!("the bend {} of {}", clip(entry.name), fields.what);
    let inner = Fields::new(desk, what, &BEND, entry)?;
    let form = inner.one_of(desk, &["side", "beyond"])?;
    let length = inner
        .need(desk, "length")
        .and_then(|f| f.positive_length(desk));
    let angle = match inner.get("angle") {
        None => Some(std::f64::consts::FRAC_PI_2),
        Some(f) => angle(desk, &f),
    };
    let radius = match inner.get("radius") {
        Some(f) => Some(f.positive_length(desk)?),
        None => None,
    };
    let front = inner
        .get("fold")
        .map_or(Some(0), |f| f.word(desk, &["front", "back"]))?
        == 0;
    let (side, beyond) = if form.key == "side" {
        let word = form.word(desk, &["left", "right", "bottom", "top"])?;
        let side = [Edge::Left, Edge::Right, Edge::Bottom, Edge::Top][word];
        if let Some(other) = so_far.iter().find(|b| b.beyond.is_none()) {
            if other.side == side {
                form.bad(
                    desk,
                    format!("{} is bent off this side already", other.name),
                    format!(
                        "a second bend goes beyond it: `beyond = \"{}\"`",
                        other.name
                    ),
                );
                return None;
            }
            if other.side.lies() != side.lies() {
                form.bad(
                    desk,
                    format!("this side meets the bend {} in a corner", other.name),
                    "bends of one piece run one way: make a piece of each, or cut the corner free and bend a plate with an outline of its own by hand",
                );
                return None;
            }
        }
        (side, None)
    } else {
        let name = form.text(desk, "the name of a bend in quotes")?;
        let Some(at) = so_far.iter().position(|b| b.name == name) else {
            let later = all.iter().any(|e| e.name == name);
            form.bad(
                desk,
                format!("{} is no bend before this one", clip(name)),
                if later {
                    "write bends from the flat middle outward"
                } else {
                    "name a bend of this piece that stands above"
                },
            );
            return None;
        };
        if so_far.iter().any(|b| b.beyond == Some(at)) {
            form.bad(
                desk,
                format!("beyond {} there is a bend already", clip(name)),
                "each flange has one further bend at most",
            );
            return None;
        }
        (so_far.get(at)?.side, Some(at))
    };
    Some(Bend {
        name: entry.name.to_owned(),
        side,
        beyond,
        length: length?,
        angle: angle?,
        radius,
        front,
    })
}

fn angle(desk: &mut Desk, field: &Field) -> Option<f64> {
    let angle = field.angle(desk)?;
    if (1f64.to_radians()..=150f64.to_radians()).contains(&angle) {
        return Some(angle);
    }
    field.bad(
        desk,
        "a bend goes from 1 to 150 degrees out of the flat",
        "90 deg is square; more closes the plate back on itself",
    );
    None
}
