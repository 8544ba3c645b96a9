//! Where the pieces of the frame, shafts and moving plates stand: what the frame is built up to, before anything turns in it.

use crate::part::{Form, Part};
use crate::words;
use machine::Machine;
use machine::making::{Of, Shape};
use machine::model::{FRAME, PartKind, Point, PointId};

/// A line of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stand {
    /// The piece, shaft or part; empty where it goes on from the line above.
    pub what: String,
    /// The plane of the machine file.
    pub plane: String,
    /// A point of it.
    pub point: String,
    /// Right and up in its plane.
    pub at: [String; 2],
    /// Along the third direction of the plane: from and to.
    pub layer: String,
}

/// Where all of it stands, in the unit of the drawings.
pub fn stands(machine: &Machine, parts: &[Part]) -> Vec<Stand> {
    let l = |x: f64| words::length(x, machine.unit);
    let made = |name: &str| parts.iter().find(|p| p.name == name).map(|p| &p.form);
    let layer = |[from, to]: [f64; 2]| format!("{} to {}", l(from), l(to));
    let mut all: Vec<Stand> = Vec::new();
    let mut told: Vec<PointId> = Vec::new();
    for piece in &machine.work.making.pieces {
        let (Of::Frame(points), Some(Form::Plate(plate))) = (&piece.of, made(&piece.name)) else {
            continue;
        };
        let own = points.iter().filter_map(|&p| machine.points.get(p));
        let mean = own.map(|p| p.station).sum::<f64>() / points.len().max(1) as f64;
        let stations = match piece.stations.as_slice() {
            [] if mean == 0.0 => "not written".to_owned(),
            [] => layer(about(mean, plate.thickness)),
            some => {
                let each = some.iter().map(|&s| layer(about(s, plate.thickness)));
                each.collect::<Vec<_>>().join("; ")
            }
        };
        told.extend(points);
        lines(machine, &mut all, &piece.name, points, &stations);
    }
    let rest: Vec<PointId> = machine
        .parts
        .get(FRAME)
        .into_iter()
        .flat_map(|f| &f.carries)
        .copied()
        .filter(|p| !told.contains(p))
        .collect();
    lines(machine, &mut all, "rest of the frame", &rest, "");
    for (id, part) in machine.parts.iter().enumerate().skip(1) {
        let written = machine.work.parts.get(id).and_then(|p| p.station);
        let points: Vec<&Point> = part
            .carries
            .iter()
            .filter_map(|&p| machine.points.get(p))
            .collect();
        let layer = match made(&part.name) {
            Some(Form::Turned(t)) if part.kind == PartKind::Shaft => {
                let mut pieces = machine.work.making.pieces.iter();
                let starts = pieces.find_map(|p| match (&p.of, &p.shape) {
                    (Of::Part(own), Shape::Turned(shape)) if *own == id => shape.starts,
                    _ => None,
                });
                starts.map(|s| layer([s, s + t.length()]))
            }
            Some(Form::Plate(plate)) => {
                let mean = points.iter().map(|p| p.station).sum::<f64>();
                let mean = mean / points.len().max(1) as f64;
                let at = written.or_else(|| (mean != 0.0).then_some(mean));
                at.map(|at| layer(about(at, plate.thickness)))
            }
            _ => None,
        };
        if let (Some(layer), Some(plane)) = (layer, machine.planes.get(part.plane)) {
            all.push(Stand {
                what: words::spoken(&part.name),
                plane: words::spoken(&plane.name),
                point: String::new(),
                at: [String::new(), String::new()],
                layer,
            });
        }
    }
    all
}

fn about(middle: f64, thick: f64) -> [f64; 2] {
    [middle - 0.5 * thick, middle + 0.5 * thick]
}

fn lines(machine: &Machine, all: &mut Vec<Stand>, name: &str, points: &[PointId], layer: &str) {
    let own = points.iter().filter_map(|&p| machine.points.get(p));
    for (n, point) in own.enumerate() {
        let plane = machine.planes.get(point.plane).map_or("", |p| &p.name);
        let first = |text: String| if n == 0 { text } else { String::new() };
        all.push(Stand {
            what: first(words::spoken(name)),
            plane: first(words::spoken(plane)),
            point: words::spoken(&point.name),
            at: [point.x, point.y].map(|x| words::length(x, machine.unit)),
            layer: first(layer.to_owned()),
        });
    }
}

/// How a plane of the machine file lies in space: where its origin stands, where its right and its layers point.
pub fn planes(machine: &Machine) -> Vec<String> {
    let l = |x: f64| words::length(x, machine.unit);
    let used = |k: usize| machine.points.iter().any(|p| p.plane == k);
    let used: Vec<usize> = (0..machine.planes.len()).filter(|&k| used(k)).collect();
    if used.iter().all(|&k| k == 0) {
        return Vec::new();
    }
    used.into_iter()
        .filter(|&k| k > 0)
        .map(|k| {
            let p = &machine.planes[k];
            let (r, u) = (p.right, p.up);
            let n = [
                r[1] * u[2] - r[2] * u[1],
                r[2] * u[0] - r[0] * u[2],
                r[0] * u[1] - r[1] * u[0],
            ];
            format!(
                "plane {}: its zero at right {}, up {}, layer {} of the front; its right is the front's {}, its up {}, its layers count {}",
                words::spoken(&p.name),
                l(p.origin[0]),
                l(p.origin[1]),
                l(p.origin[2]),
                towards(r),
                towards(u),
                towards(n)
            )
        })
        .collect()
}

/// A direction in space as it is seen from the front.
fn towards(d: [f64; 3]) -> String {
    let names = [
        ["to the right", "to the left"],
        ["up", "down"],
        ["towards the viewer", "away from the viewer"],
    ];
    for (x, [plus, minus]) in d.iter().zip(names) {
        if (x.abs() - 1.0).abs() < 1e-9 {
            return if *x > 0.0 { plus } else { minus }.to_owned();
        }
    }
    let [x, y, z] = d.map(|x| words::number(x, 4));
    format!("along ({x}, {y}, {z})")
}
