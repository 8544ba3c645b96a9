//! How deep holes go when the file says it by the thread alone, and what lies outside the plate.

use crate::contour::{P, Side};
use crate::finding::{Finding, Grade};
use crate::part::{Plate, diameter};
use crate::words;
use machine::fitting::Fitted;

/// A bearing's seat goes no deeper than the bearing is wide, unless its length says so: then it has a floor to stand on.
pub(super) fn for_bearing(fitted: &Fitted) -> Option<f64> {
    match fitted {
        Fitted::Bearing {
            bearing, closed, ..
        } => Some(if *closed {
            bearing.closed_width
        } else {
            bearing.width
        }),
        _ => None,
    }
}

/// Metal left under a blind hole's point, mm (common practice).
const FLOOR: f64 = 0.5;
/// Height of the point of a drill of 118°, a share of its diameter: half of it over tan 59°.
pub(crate) const POINT: f64 = 0.3004;
/// Least metal between two holes, or between a hole and a slot, mm (common practice: half the smaller hole is better).
const WALL: f64 = 1.0;

/// Depth of the drilled hole for a thread so deep: four pitches for the lead of the tap and its chips (common practice).
pub(crate) fn for_thread(fitted: &Fitted) -> Option<f64> {
    match fitted {
        Fitted::Tapped {
            thread,
            depth: Some(full),
        } => Some(full + 4.0 * thread.pitch),
        _ => None,
    }
}

/// How deep a hole is made when it is not through.
pub(super) fn blind(fitted: &Fitted, length: Option<f64>, thickness: f64) -> Option<f64> {
    let deep = match length {
        Some(l) => return (l < thickness - 1e-9).then_some(l),
        None => for_thread(fitted)?,
    };
    (deep + POINT * diameter(fitted) + FLOOR <= thickness).then_some(deep)
}

/// Slots that leave their plate, and slots that run into holes.
pub(super) fn slots(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for s in &plate.slots {
        let far = |at: P| {
            if plate.outline.holds(at) {
                plate.outline.distance(at)
            } else {
                -plate.outline.distance(at)
            }
        };
        let least = (0..=40)
            .map(|n| {
                let t = f64::from(n) / 40.0;
                far([0, 1].map(|i| s.ends[0][i] + t * (s.ends[1][i] - s.ends[0][i])))
            })
            .fold(f64::INFINITY, f64::min);
        let slot = words::spoken(&s.name);
        // A slot that is open at one end is meant so; one that lies in the air is not.
        let ends = s.ends.map(far);
        if ends.iter().all(|e| *e < 0.0) || ends.iter().any(|e| *e < -s.width) {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the slot {slot} of {} lies outside the plate: an end {} beyond its edge",
                    words::spoken(name),
                    words::number(-ends[0].min(ends[1]), 2)
                ),
                "places count from the datum of the part, x towards its second point",
            ));
        } else if ends.iter().all(|e| *e > 0.0) && least < s.width / 2.0 + FLOOR {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the middle of the slot {slot} of {} comes to {} from the edge, half its width is {}",
                    words::spoken(name),
                    words::number(least, 2),
                    words::number(s.width / 2.0, 2)
                ),
                "make the outline larger there, or the slot narrower or shorter",
            ));
        }
        for h in &plate.holes {
            let axis = Side::Line {
                from: s.ends[0],
                to: s.ends[1],
            };
            let gap = axis.distance(h.at) - s.width / 2.0 - diameter(&h.fitted) / 2.0;
            // A hole in the middle of a slot's end starts it.
            let at_end = s
                .ends
                .iter()
                .any(|e| (e[0] - h.at[0]).hypot(e[1] - h.at[1]) < 1e-6);
            if gap < WALL && !at_end {
                let text = if gap < 0.0 {
                    format!(
                        "the slot {slot} cuts {} into the hole {}",
                        words::number(-gap, 2),
                        words::spoken(&h.name)
                    )
                } else {
                    format!(
                        "between the slot {slot} and the hole {} stand only {}",
                        words::number(gap, 2),
                        words::spoken(&h.name)
                    )
                };
                findings.push(Finding::new(
                    Grade::WayRound,
                    name,
                    text,
                    "move them apart or make the slot shorter, unless it is meant so",
                ));
            }
        }
    }
}

/// Hubs that stand out over the edge of their plate, or over a hole, a slot or another hub.
pub(super) fn hubs(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    let far = |a: P, b: P| (a[0] - b[0]).hypot(a[1] - b[1]);
    let ends = plate.ends.iter().enumerate();
    for (n, end) in ends.filter(|(_, e)| e.hub.is_some() && !e.solid) {
        let spoken = words::spoken(&end.name);
        let wide = words::number(2.0 * end.radius, 2);
        let room = plate.outline.distance(end.at);
        if plate.outline.holds(end.at) && room < end.radius - 0.01 {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "the hub at {spoken}, {wide} across, stands {} over the edge of its plate",
                    words::number(end.radius - room, 2)
                ),
                "write its diameter, `boss.POINT = { diameter = \"40 mm\", length = \"16 mm\" }`, or make the outline larger there",
            ));
        }
        let holes = plate.holes.iter().filter(|h| far(h.at, end.at) > 1e-6);
        let mut over: Vec<String> = holes
            .filter(|h| far(h.at, end.at) < end.radius + diameter(&h.fitted) / 2.0 - 0.01)
            .map(|h| words::spoken(&h.name))
            .collect();
        over.extend(
            plate
                .slots
                .iter()
                .filter(|s| s.line().distance(end.at) < end.radius + s.width / 2.0 - 0.01)
                .map(|s| format!("the slot {}", words::spoken(&s.name))),
        );
        over.extend(
            plate.ends[n + 1..]
                .iter()
                .filter(|e| e.hub.is_some() && far(e.at, end.at) < end.radius + e.radius - 0.01)
                .map(|e| format!("the hub at {}", words::spoken(&e.name))),
        );
        over.dedup();
        if !over.is_empty() {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!("the hub at {spoken}, {wide} across, covers {}", over.join(", ")),
                "write a smaller diameter for its boss, or drill through both after brazing, if it is meant so",
            ));
        }
    }
}

/// Holes from the edge that have no depth, and what they run through on their way.
pub(super) fn from_the_edge(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for e in &plate.edge_holes {
        let spoken = words::spoken(&e.name);
        if e.depth < 1e-6 {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!("the hole {spoken} from the edge has no depth: it points at the edge itself"),
                "write `length = \"15 mm\"`, for a thread `depth = \"12 mm\"`, or point it at a place inside",
            ));
            continue;
        }
        let d = diameter(&e.fitted);
        let end = [
            e.enters[0] - e.depth * e.from.cos(),
            e.enters[1] - e.depth * e.from.sin(),
        ];
        let axis = Side::Line {
            from: e.enters,
            to: end,
        };
        // Through an opposite edge is meant so; far beyond it is a slip.
        if !plate.outline.holds(end) && plate.outline.distance(end) > d {
            let at = |t: f64| [0, 1].map(|i| e.enters[i] + t * (end[i] - e.enters[i]));
            let metal = (1..=1000)
                .rev()
                .map(|n| f64::from(n) / 1000.0)
                .find(|t| plate.outline.holds(at(*t)))
                .unwrap_or(0.0);
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the hole {spoken} from the edge is {} deep, the metal there ends after {}",
                    words::number(e.depth, 2),
                    words::number(metal * e.depth, 1)
                ),
                "write the `length` that is meant",
            ));
        }
        let mut through: Vec<String> = plate
            .holes
            .iter()
            // A hole it points at is meant.
            .filter(|h| (h.at[0] - e.towards[0]).hypot(h.at[1] - e.towards[1]) > 1e-6)
            .filter(|h| axis.distance(h.at) < f64::midpoint(d, diameter(&h.fitted)))
            .map(|h| words::spoken(&h.name))
            .collect();
        through.dedup();
        if !through.is_empty() {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "the hole {spoken} from the edge, {} deep, runs through {}",
                    words::number(e.depth, 2),
                    through.join(" and ")
                ),
                "make it shorter with `length`, or drill it before they are finished and ream them after",
            ));
        }
        if d >= plate.thickness - 2.0 * WALL {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the hole {spoken} of {} from the edge leaves {} on each side of a plate {} thick",
                    words::number(d, 2),
                    words::number((plate.thickness - d) / 2.0, 2),
                    words::number(plate.thickness, 2)
                ),
                "take a smaller hole or thicker stock",
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::thread::parse;

    fn tapped(name: &str, depth: Option<f64>) -> Fitted {
        Fitted::Tapped {
            thread: parse(name).unwrap(),
            depth,
        }
    }

    #[test]
    fn a_thread_of_a_depth_is_blind_where_there_is_room_for_its_drill() {
        // M5 is 0.8 a turn: 9 + 3.2 and the point's 1.5 leave more than half a millimetre of 15, not of 13.
        let m5 = tapped("M5", Some(9.0));
        assert!((blind(&m5, None, 15.0).unwrap() - 12.2).abs() < 1e-9);
        assert_eq!(blind(&m5, None, 13.0), None);
        assert_eq!(blind(&tapped("M5", None), None, 15.0), None);
        assert_eq!(blind(&m5, Some(13.0), 15.0), Some(13.0));
        assert_eq!(blind(&m5, Some(15.0), 15.0), None);
    }
}
