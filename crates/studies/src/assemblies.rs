//! Which other ways are there to put the same parts together?

use crate::answers::{Assemblies, Assembly};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::say;
use machine::model::PointId;
use mechanics::model::Pose;

/// Scattered starts tried for each group of parts that hang together.
const STARTS: usize = 120;
/// More ways than this are not listed.
const MOST: usize = 64;

/// All ways found to assemble the parts with these drives and settings, the drawn one first. Ways of groups that do not hang
/// together are combined.
///
/// # Errors
/// Values that cannot be reached.
pub fn assemblies(model: &Model, stand: &Stand) -> Result<Assemblies, Refusal> {
    let mut bench = Bench::new(model);
    let here = bench.bring(stand)?;
    let mut ways: Vec<Here> = vec![here.clone()];
    for group in &model.groups {
        let poses: Vec<Pose> = group.bodies.iter().map(|&b| here.poses[b]).collect();
        let found = mechanics::assemblies(&group.mechanism, &here.params, &poses, STARTS);
        let mut more = Vec::new();
        for other in found.iter().skip(1) {
            for way in &ways {
                let mut way = way.clone();
                for (&b, pose) in group.bodies.iter().zip(other) {
                    way.poses[b] = *pose;
                }
                more.push(way);
            }
        }
        ways.extend(more);
        ways.truncate(MOST);
    }
    let ways = ways
        .iter()
        .enumerate()
        .map(|(i, way)| assembly(model, &here, way, i == 0))
        .collect();
    Ok(Assemblies {
        machine: model.machine.name.clone(),
        held: model.held(stand, None),
        ways,
    })
}

fn assembly(model: &Model, drawn: &Here, way: &Here, is_drawn: bool) -> Assembly {
    // Paths followed on another assembly must not be mixed with those of this one.
    let mut bench = Bench::new(model);
    Assembly {
        drawn: is_drawn,
        readings: crate::standing::now(&mut bench, way),
        sides: if is_drawn {
            Vec::new()
        } else {
            sides(model, drawn, way)
        },
        standing: crate::standing::at(model, way),
    }
}

/// Which joints fall to the other side of the line between their neighbours.
fn sides(model: &Model, drawn: &Here, way: &Here) -> Vec<String> {
    let place = |here: &Here, p: PointId| {
        model.carriers[p]
            .first()
            .map(|&(_, a)| model.mechanism.in_plane(&here.params, &here.poses, a))
    };
    let mut told = Vec::new();
    for (point, p) in model.machine.points.iter().enumerate() {
        let ends = neighbours(model, point);
        for (i, &a) in ends.iter().enumerate() {
            for &b in &ends[i + 1..] {
                let same_plane = [a, b]
                    .iter()
                    .all(|&q| model.machine.points[q].plane == p.plane);
                if !same_plane || told.iter().any(|t: &(PointId, String)| t.0 == point) {
                    continue;
                }
                let side = |here: &Here| {
                    let (m, p, q) = (place(here, point)?, place(here, a)?, place(here, b)?);
                    let along = [q[0] - p[0], q[1] - p[1]];
                    let cross = along[0] * (m[1] - p[1]) - along[1] * (m[0] - p[0]);
                    Some((cross, along))
                };
                let (Some((was, _)), Some((now, along))) = (side(drawn), side(way)) else {
                    continue;
                };
                let size = model.mechanism.size(&way.params);
                let moved = place(drawn, point)
                    .zip(place(way, point))
                    .is_some_and(|(p, q)| (p[0] - q[0]).hypot(p[1] - q[1]) > 1e-6 * size);
                let far = 1e-6 * size * size;
                if moved && was * now < 0.0 && was.abs() > far && now.abs() > far {
                    told.push((point, sentence(model, point, a, b, now, along)));
                }
            }
        }
    }
    let mut sides: Vec<String> = told.into_iter().map(|t| t.1).collect();
    if sides.is_empty() {
        sides = turned(model, drawn, way);
    }
    sides
}

/// Where no joint falls to another side: the parts that stand at another angle, and those that slid.
fn turned(model: &Model, drawn: &Here, way: &Here) -> Vec<String> {
    let size = model.mechanism.size(&way.params);
    let mut told = Vec::new();
    for (b, part) in model.machine.parts.iter().enumerate().skip(1) {
        let (was, now) = (drawn.poses[b], way.poses[b]);
        let turn = now.angle - was.angle;
        if turn.abs() > 1e-6 {
            let way = if turn > 0.0 {
                "counter-clockwise"
            } else {
                "clockwise"
            };
            let angle = say::value(turn.abs(), quantity::Unit::Degree);
            told.push(format!(
                "{} stands {angle} {way} from where it stands as drawn",
                part.name
            ));
        } else {
            let far = (now.x - was.x).hypot(now.y - was.y);
            let slides = model.machine.slides.iter().any(|s| s.part == b);
            if slides && far > 1e-6 * size {
                let far = say::value(far, model.machine.unit);
                told.push(format!(
                    "{} stands {far} from where it stands as drawn",
                    part.name
                ));
            }
        }
    }
    told
}

/// "knee-front falls below the line from lever-pin to knee-pivot, not above".
fn sentence(
    model: &Model,
    point: PointId,
    a: PointId,
    b: PointId,
    now: f64,
    along: [f64; 2],
) -> String {
    let name = |p: PointId| &model.machine.points[p].name;
    // Left of the line is above it when the line runs to the right.
    let (this, that) = if along[0].abs() >= along[1].abs() {
        if (now > 0.0) == (along[0] > 0.0) {
            ("above", "below")
        } else {
            ("below", "above")
        }
    } else if (now > 0.0) == (along[1] > 0.0) {
        ("left of", "right of")
    } else {
        ("right of", "left of")
    };
    format!(
        "{} falls {this} the line from {} to {}, as drawn it stands {that} it",
        name(point),
        name(a),
        name(b)
    )
}

/// Points that a point is tied to by two different links: the other ends of rods, and other joints of the parts that carry it.
fn neighbours(model: &Model, point: PointId) -> Vec<PointId> {
    let machine = &model.machine;
    let mut ends = Vec::new();
    for &(body, _) in model.carriers[point].iter().filter(|c| c.0 != 0) {
        let joint = |p: &PointId| {
            *p != point
                && model.carriers[*p].iter().any(|c| c.0 == body)
                && (model.carriers[*p].len() > 1
                    || machine.rods.iter().any(|r| r.joins.contains(p)))
        };
        ends.extend((0..machine.points.len()).find(joint));
    }
    for rod in machine.rods.iter().filter(|r| r.joins.contains(&point)) {
        ends.extend(rod.joins.iter().copied().filter(|&p| p != point));
    }
    // A point of the frame stands still and has no side to fall to.
    if model.carriers[point].iter().any(|c| c.0 == 0) {
        ends.clear();
    }
    ends.sort_unstable();
    ends.dedup();
    ends
}
