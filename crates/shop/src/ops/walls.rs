//! What is left standing between the holes of a plate, and between their wider mouths and its edge.

use super::bits::Work;
use crate::finding::Grade;
use crate::part::{Hole, Opening as _, Plate};

/// Least metal between two holes, mm (common practice).
const WALL: f64 = 1.0;

/// Holes so near to one another that no metal is left between them, or too little to stand the tools.
pub(super) fn walls(work: &mut Work, order: &[(&Hole, &str)]) {
    for (i, (a, first)) in order.iter().enumerate() {
        for (b, second) in &order[i + 1..] {
            let far = (a.at[0] - b.at[0]).hypot(a.at[1] - b.at[1]);
            let across = f64::midpoint(a.diameter(), b.diameter());
            // Twice the same is a slip.
            let alike = (a.diameter() - b.diameter()).abs() < 1e-6 && a.blind == b.blind;
            if far < 1e-6 && alike {
                work.finding(
                    Grade::WayRound,
                    format!("{first} and {second} are one hole, written twice"),
                    "take one of them out, or give it the place that was meant",
                );
                continue;
            }
            // A hole about the same centre is a step of one hole.
            if far < 1e-6 || far > across + WALL - 1e-9 {
                continue;
            }
            let left = far - across;
            let (far, across) = (work.mm(far), work.mm(across));
            if left < 0.2 {
                work.finding(
                    Grade::WayRound,
                    format!(
                        "no metal is left between {first} and {second}: {far} apart, {across} across"
                    ),
                    "make only the one that is used, or move them apart (the step of a row)",
                );
                return;
            }
            let left = work.mm(left);
            work.finding(
                Grade::WayRound,
                format!("{left} of metal is left between {first} and {second}"),
                "the second drill breaks into the first: bore it, or move them apart to a wall of one millimetre at least",
            );
        }
    }
}

/// What a hole opens at the face it is made from, by its counterbore or countersink.
fn mouth(h: &Hole) -> Option<(f64, &'static str)> {
    let bored = h.counterbore.map(|[d, _]| (d, "counterbore"));
    bored.or_else(|| h.countersink.map(|d| (d, "countersink")))
}

/// Seats of heads that run into another hole or over the edge of the plate: the cutter is thrown aside there, and the head has nothing to sit on.
pub(super) fn mouths(work: &mut Work, p: &Plate, order: &[(&Hole, &str)]) {
    for (i, (a, first)) in order.iter().enumerate() {
        let own = mouth(a);
        let across = |h: &Hole| mouth(h).map_or(h.diameter(), |m| m.0);
        for (b, second) in &order[i + 1..] {
            let far = (a.at[0] - b.at[0]).hypot(a.at[1] - b.at[1]);
            let (seats, holes) = (
                f64::midpoint(across(a), across(b)),
                f64::midpoint(a.diameter(), b.diameter()),
            );
            // What the holes themselves do is told by their walls.
            if (own.is_none() && mouth(b).is_none()) || far < holes + 0.2 || far > seats - 0.01 {
                continue;
            }
            let (wide, what, of, other) = match own {
                Some((d, what)) => (d, what, first, second),
                None => match mouth(b) {
                    Some((d, what)) => (d, what, second, first),
                    None => continue,
                },
            };
            let [wide, by] = [wide, seats - far].map(|x| work.mm(x));
            work.finding(
                Grade::WayRound,
                format!("the {what} of {of}, {wide} across, runs {by} into {other}"),
                "move them apart, or a smaller head",
            );
        }
        let Some((wide, what)) = own else { continue };
        let room = p.outline.distance(a.at);
        if p.outline.holds(a.at) && room > a.diameter() / 2.0 && room < wide / 2.0 - 0.01 {
            let [wide, by] = [wide, wide / 2.0 - room].map(|x| work.mm(x));
            work.finding(
                Grade::WayRound,
                format!("the {what} of {first}, {wide} across, runs {by} over the edge"),
                "move it in, a smaller head, or mill a step along the edge instead",
            );
        }
    }
}
