//! Outlines of plates: round ends joined by lines that touch them, rectangles, free paths.

use crate::contour::{Contour, P};
use crate::finding::{Finding, Grade};
use crate::part::Plate;
use crate::words;
use machine::Machine;
use machine::making::{self, Outline};
use machine::model::PointId;

pub(super) fn outline(
    plate: &Plate,
    shape: &making::Plate,
    width: f64,
    machine: &Machine,
    name: &str,
    findings: &mut Vec<Finding>,
) -> Contour {
    let circles: Vec<(P, f64)> = plate.ends.iter().map(|e| (e.at, e.radius)).collect();
    match &shape.outline {
        Outline::Box { low, high, corner } => Contour::rectangle(*low, *high, *corner),
        Outline::Path(corners) => path(corners),
        Outline::Around => Contour::around(&circles),
        Outline::Arms => {
            let find = |p: PointId| {
                let name = machine.points.get(p).map(|p| p.name.as_str());
                plate
                    .ends
                    .iter()
                    .position(|e| Some(e.name.as_str()) == name)
            };
            let pairs: Vec<[usize; 2]> = if shape.arms.is_empty() {
                star(&circles)
            } else {
                let pair = |&[a, b]: &[PointId; 2]| Some([find(a)?, find(b)?]);
                shape.arms.iter().filter_map(pair).collect()
            };
            let fillet = shape.fillet.unwrap_or((width / 4.0).max(3.0));
            if let Some(outline) = Contour::arms(&circles, &pairs, fillet) {
                return outline;
            }
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!("the arms of {} do not make one outline", words::spoken(name)),
                "one line is stretched round all its bosses instead; write `arms` or an `outline` of your own",
            ));
            Contour::around(&circles)
        }
    }
}

/// From the first circle to all others, but for those that lie in an arm already.
fn star(circles: &[(P, f64)]) -> Vec<[usize; 2]> {
    let Some(&(origin, r0)) = circles.first() else {
        return Vec::new();
    };
    let far = |c: &(P, f64)| (c.0[0] - origin[0]).hypot(c.0[1] - origin[1]);
    let mut order: Vec<usize> = (1..circles.len()).collect();
    order.sort_by(|&a, &b| {
        far(&circles[b])
            .total_cmp(&far(&circles[a]))
            .then(a.cmp(&b))
    });
    let mut pairs: Vec<[usize; 2]> = Vec::new();
    for i in order {
        let (at, r) = circles[i];
        let within = pairs.iter().any(|&[_, j]| {
            let (end, r1) = circles[j];
            let long = far(&circles[j]);
            let u = [(end[0] - origin[0]) / long, (end[1] - origin[1]) / long];
            let d = [at[0] - origin[0], at[1] - origin[1]];
            let (along, off) = (d[0] * u[0] + d[1] * u[1], (d[0] * u[1] - d[1] * u[0]).abs());
            (0.0..=long).contains(&along) && off + r <= r0 + (r1 - r0) * along / long + 1e-6
        });
        if !within {
            pairs.push([0, i]);
        }
    }
    pairs.sort_unstable();
    pairs
}

fn path(corners: &[making::Corner]) -> Contour {
    // What does not close or crosses itself was refused as it was read.
    let vertices = making::path::outline(corners).unwrap_or_default();
    let vertices = vertices
        .into_iter()
        .map(|(at, bulge)| crate::contour::Vertex { at, bulge });
    Contour {
        vertices: vertices.collect(),
    }
    .counter_clockwise()
}
