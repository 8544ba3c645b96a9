//! The outline of a plate: sawn to its template, straight sides in the vise, round ends on the rotary table or stepped off.

use super::Step;
use super::bits::{Work, cutting};
use super::plate::mill;
use crate::contour::{P, Side};
use crate::finding::Grade;
use crate::part::{Opening as _, Plate, diameter};
use crate::speeds::Tool;
use crate::words;

/// Left on the outline for the cutter, mm (common practice).
const SAWN: f64 = 1.0;
/// Depth of a finishing cut with an end mill, mm (common practice for a bench mill).
const CUT: f64 = 1.0;

pub(super) fn outline(work: &mut Work, p: &Plate) {
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| format!("saw {}", s.name));
    work.set_up(
        "Outline, rough",
        &saw,
        "by hand on the table, template glued on",
        "the template's cross over the datum",
        3.0,
    );
    work.step(Step {
        text: format!(
            "Glue the template on over the finished holes and saw {} outside its line",
            work.mm(SAWN)
        ),
        tool: "saw".to_owned(),
        why: "holes first: a blank with straight edges is held better than a shaped one".to_owned(),
        minutes: 8.0,
        ..Step::default()
    });
    // The flank of a cam is cut from its table.
    if p.cams.iter().any(crate::cams::CamCut::is_outline) {
        return;
    }
    let (machine, spindle) = mill(work);
    let cutter = work
        .shop()
        .and_then(|s| {
            s.tools
                .end_mills
                .iter()
                .copied()
                .filter(|d| *d >= 8.0)
                .min_by(f64::total_cmp)
        })
        .unwrap_or(10.0);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let tool = format!("end mill {}", words::number(cutter, 2));
    let sides = p.outline.sides();
    let lines: Vec<(P, P)> = sides
        .iter()
        .filter_map(|s| match *s {
            Side::Line { from, to } if s.length() > 1.0 => Some((from, to)),
            _ => None,
        })
        .collect();
    if !lines.is_empty() {
        work.set_up(
            "Straight sides",
            &machine,
            "vise, side level: two pins in the holes on parallels, or an indicator along the line",
            "top of the pins",
            8.0 + 4.0 * lines.len() as f64,
        );
        for (from, to) in lines {
            let angle = (to[1] - from[1]).atan2(to[0] - from[0]).to_degrees();
            let near = |at: P| {
                p.ends
                    .iter()
                    .find(|e| ((at[0] - e.at[0]).hypot(at[1] - e.at[1]) - e.radius).abs() < 1e-3)
            };
            let long = (to[0] - from[0]).hypot(to[1] - from[1]);
            // Between two ends the centres guide it; a free side is found by its places alone.
            let free = !matches!((near(from), near(to)), (Some(a), Some(b)) if a.name != b.name);
            let (over, check) = match (near(from), near(to)) {
                (Some(a), Some(b)) if a.name != b.name => (
                    format!(
                        "touching the ends about {} and {}",
                        words::spoken(&a.name),
                        words::spoken(&b.name)
                    ),
                    format!(
                        "{} and {} from the two centres",
                        work.mm(a.radius),
                        work.mm(b.radius)
                    ),
                ),
                _ => ("between the places".to_owned(), String::new()),
            };
            work.step(Step {
                text: format!(
                    "Mill the side {over}, {}° to x",
                    words::number((angle + 360.0) % 180.0, 3)
                ),
                tool: tool.clone(),
                rpm,
                feed: Some(0.08),
                at: if free {
                    format!("{} to {}", work.xy(from), work.xy(to))
                } else {
                    format!("{} to {}", work.near(from), work.near(to))
                },
                check,
                minutes: 5.0 + 2.0 * cutting(long, 0.08, rpm.unwrap_or(500.0)),
                ..Step::default()
            });
        }
    }
    let plain = plain_corners(work, p);
    let round = sides.iter().any(|s| match s {
        Side::Arc { centre, sweep, .. } => {
            !(by_file(p, s) || *sweep < 0.0 && plain.iter().any(|c| c.at == *centre))
        }
        Side::Line { .. } => false,
    });
    if !round {
        return;
    }
    match (work.rotary(), work.shop()) {
        // Without a shop file every usual tool is taken to be there.
        (None, Some(_)) => step_off(work, p, &sides, cutter),
        (table, _) => rotary(work, p, &sides, table, &machine, cutter, rpm),
    }
}

fn rotary(
    work: &mut Work,
    p: &Plate,
    sides: &[Side],
    table: Option<&machine::equipment::RotaryTable>,
    machine: &str,
    cutter: f64,
    rpm: Option<f64>,
) {
    let plain = plain_corners(work, p);
    let holding = "rotary table, centred under the spindle; the work on a close pin in its hole, clamped on packing";
    work.set_up(
        "Round ends",
        &table.map_or_else(
            || format!("{machine} with rotary table"),
            |t| format!("{machine} with rotary table {}", t.name),
        ),
        holding,
        "table at 0° with x of the work along the table's x; spindle over the table's middle",
        15.0,
    );
    for side in sides {
        let Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } = *side
        else {
            continue;
        };
        let outside = sweep > 0.0;
        let hole = p
            .holes
            .iter()
            .find(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6);
        let name = p
            .ends
            .iter()
            .find(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < 1e-6)
            .map(|e| words::spoken(&e.name));
        if by_file(p, side) || plain.iter().any(|c| c.at == centre) {
            continue;
        }
        let path = elements::setups::cutter_radius(radius, cutter, outside);
        let to = from + sweep;
        let degrees = |a: f64| words::number(a.to_degrees().rem_euclid(360.0), 3);
        let turns = table.map_or_else(String::new, |t| {
            let turns = sweep.abs() / std::f64::consts::TAU * t.ratio;
            format!(" ({} turns)", words::number(turns, 3))
        });
        let Ok(path) = path else {
            let r = work.mm(radius);
            work.step(Step {
                text: format!("File the inside corner to radius {r}"),
                tool: "round file".to_owned(),
                at: work.xy(centre),
                why: "the cutter is too large for it".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
            continue;
        };
        let what = match (&name, outside) {
            (Some(name), true) => {
                format!("Round the end about {name} to R{}", work.mm(radius))
            }
            (_, true) => format!(
                "Round the corner to R{} about {}",
                work.mm(radius),
                work.xy(centre)
            ),
            (_, false) => format!(
                "Mill the inside corner to R{} about {}",
                work.mm(radius),
                work.xy(centre)
            ),
        };
        work.step(Step {
            text: format!("{what}: cutter {} off the middle, table from {}° to {}°{turns}, against the cutter", work.read(path), degrees(-to), degrees(-from)),
            tool: format!("end mill {}", words::number(cutter, 2)),
            rpm,
            feed: Some(0.06),
            at: format!("offset {}", work.read(path)),
            check: hole.map_or_else(
                || format!("radius gauge {}", work.mm(radius)),
                |h| format!("{} over a pin in the hole", work.mm(radius + h.diameter() / 2.0)),
            ),
            why: if hole.is_some() { "about the finished hole, so that the end runs round it".to_owned() } else { "picked up at its coordinates: there is no hole to sit on".to_owned() },
            minutes: 8.0 + 3.0 * cutting(radius * sweep.abs(), 0.06, rpm.unwrap_or(500.0)) + 3.0 * (p.thickness / CUT / 4.0).ceil(),
            ..Step::default()
        });
    }
}

/// An inside corner that a tool of its radius leaves.
pub(super) struct PlainCorner {
    pub(super) at: P,
    pub(super) radius: f64,
    /// A drill makes it, else an end mill.
    pub(super) drill: bool,
}

/// Inside corners whose whole circle lies on the blank and for which this shop has a drill or an end mill.
pub(super) fn plain_corners(work: &Work, p: &Plate) -> Vec<PlainCorner> {
    let [low, high] = p.outline.bounds();
    let tools = work.shop().map(|s| &s.tools);
    let is = |d: f64, r: f64| (d - 2.0 * r).abs() < 1e-6;
    let arcs = p.outline.sides().into_iter().filter_map(|s| match s {
        Side::Arc {
            centre,
            radius,
            sweep,
            ..
        } if sweep < 0.0 => Some((centre, radius)),
        _ => None,
    });
    arcs.filter(|(c, r)| (0..2).all(|i| c[i] - r > low[i] && c[i] + r < high[i]))
        .filter_map(|(at, radius)| {
            let drill = tools.map_or(radius <= 8.0, |t| {
                t.drills.iter().any(|d| is(d.diameter, radius))
            });
            let mill = tools.is_some_and(|t| t.end_mills.iter().any(|d| is(*d, radius)));
            (drill || mill).then_some(PlainCorner { at, radius, drill })
        })
        .collect()
}

/// Rounded corners about nothing are filed to the template's line.
fn by_file(p: &Plate, side: &Side) -> bool {
    const MOST: f64 = 15.0;
    let Side::Arc {
        centre,
        radius,
        sweep,
        ..
    } = *side
    else {
        return false;
    };
    let near = |at: P| (at[0] - centre[0]).hypot(at[1] - centre[1]) < 1e-6;
    sweep > 0.0 && radius <= MOST && !p.holes.iter().any(|h| near(h.at))
}

/// Corners that are filed.
pub(super) fn filed(work: &mut Work, p: &Plate) {
    let sides = p.outline.sides();
    let mut radii: Vec<f64> = sides
        .iter()
        .filter(|s| by_file(p, s))
        .filter_map(|s| match s {
            Side::Arc { radius, .. } => Some(*radius),
            Side::Line { .. } => None,
        })
        .collect();
    radii.sort_by(f64::total_cmp);
    let count = radii.len();
    radii.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    if count == 0 {
        return;
    }
    let list: Vec<String> = radii.iter().map(|r| work.mm(*r)).collect();
    work.step(Step {
        text: format!(
            "Round {} to R{}: saw them off at 45°, file to the line",
            if count == 1 {
                "the corner".to_owned()
            } else {
                format!("the {count} corners")
            },
            list.join(", R")
        ),
        tool: "saw, file".to_owned(),
        check: "radius gauge".to_owned(),
        why: "no hole is centred there: a file is as good as the rotary table and quicker"
            .to_owned(),
        minutes: 4.0 * count as f64,
        ..Step::default()
    });
}

/// Flats that touch an arc, so many that filing takes off no more than a tenth.
fn step_off(work: &mut Work, p: &Plate, sides: &[Side], cutter: f64) {
    let (machine, spindle) = mill(work);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    work.on_mill(
        Grade::WayRound,
        "no rotary table for the round ends".to_owned(),
        "flats that touch the arc are stepped off in the vise and blended with a file against two hardened buttons; the table stands on the sheet",
    );
    work.set_up(
        "Round ends, stepped off",
        &machine,
        "vise, a close pin through the hole resting on the jaws so that the pin's height stays",
        "top of the pin",
        10.0,
    );
    for side in sides {
        let Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } = *side
        else {
            continue;
        };
        if sweep <= 0.0 || radius < 3.0 || by_file(p, side) {
            continue;
        }
        let (count, angles) = facets(radius, from, sweep);
        let list: Vec<String> = angles
            .iter()
            .map(|a| words::number(a.to_degrees().rem_euclid(360.0), 1))
            .collect();
        let name = p
            .ends
            .iter()
            .find(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < 1e-6)
            .map_or_else(|| work.xy(centre), |e| words::spoken(&e.name));
        let half = sweep / (2.0 * count as f64);
        let proud = radius * (1.0 / half.cos() - 1.0);
        let hole = p
            .holes
            .iter()
            .find(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6);
        let Some(hole) = hole else {
            let r = work.mm(radius);
            work.step(Step {
                text: format!("Saw and file the end about {name} to the template's line, R{r}"),
                tool: "saw, file".to_owned(),
                check: format!("radius gauge {r}"),
                why: "there is no hole to step it off from".to_owned(),
                minutes: 10.0 + radius / 3.0,
                ..Step::default()
            });
            continue;
        };
        let pin = diameter(&hole.fitted) / 2.0;
        work.step(Step {
            text: format!("Step off the end about {name}: {count} flats, each {} above the pin, square to {}°; then file the ridges of {} down to buttons of radius {}", work.read(radius - pin), list.join("°, "), work.mm(proud), work.mm(radius)),
            tool: format!("end mill {}, file", words::number(cutter, 2)),
            rpm,
            feed: Some(0.06),
            at: format!("height {} over the pin", work.read(radius - pin)),
            check: format!("radius gauge {}", work.mm(radius)),
            minutes: 4.0 * count as f64 + 8.0,
            ..Step::default()
        });
    }
}

/// How many flats, and the directions of their faces: ridges of at most a tenth of a millimetre.
pub(crate) fn facets(radius: f64, from: f64, sweep: f64) -> (usize, Vec<f64>) {
    const RIDGE: f64 = 0.1;
    let half = (radius / (radius + RIDGE)).acos();
    let count = (sweep / (2.0 * half)).ceil().max(1.0) as usize;
    let each = sweep / count as f64;
    (
        count,
        (0..count).map(|n| from + each * (n as f64 + 0.5)).collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ridges_stay_under_a_tenth() {
        for radius in [5.0, 12.0, 40.0] {
            let (count, angles) = facets(radius, 0.0, std::f64::consts::PI);
            assert_eq!(count, angles.len());
            let half = std::f64::consts::PI / (2.0 * count as f64);
            assert!(radius * (1.0 / half.cos() - 1.0) <= 0.1 + 1e-12);
            // One flat less would be too coarse.
            if count > 1 {
                let half = std::f64::consts::PI / (2.0 * (count - 1) as f64);
                assert!(radius * (1.0 / half.cos() - 1.0) > 0.1);
            }
        }
    }
}
