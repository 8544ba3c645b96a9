//! The bar between two rod ends.

use crate::contour::Contour;
use crate::part::{Bore, Hole, Plate, RoundEnd, Step, Turned};
use crate::resolve::{joint_size, of_class};
use crate::words;
use machine::Machine;
use machine::fitting::{Cut, End, Fitted};
use machine::model::Rod;
use machine::work::{Made, Section};
use quantity::Thread;

/// Bore of the ball, from its centre to the end of a tapped shank and the depth of its thread, from its centre to the end of a threaded stem
/// and the length of its thread, mm. ISO 12240-4 series K (DIN 648), from memory: measure the ones that came.
const SHANKS: [(f64, f64, f64, f64, f64); 9] = [
    (5.0, 27.0, 10.0, 33.0, 20.0),
    (6.0, 30.0, 12.0, 36.0, 22.0),
    (8.0, 36.0, 16.0, 42.0, 25.0),
    (10.0, 43.0, 20.0, 48.0, 29.0),
    (12.0, 50.0, 22.0, 54.0, 33.0),
    (14.0, 57.0, 25.0, 60.0, 36.0),
    (16.0, 64.0, 28.0, 66.0, 40.0),
    (18.0, 71.0, 32.0, 72.0, 44.0),
    (20.0, 77.0, 33.0, 78.0, 47.0),
];

/// What the drawing of a rod's bar says.
pub const TAKEN: &str = "Shank lengths of the rod ends are those of ISO 12240-4 series K from memory: measure yours before the bar is cut to length.";

/// Share of a thread that is screwed in when the rod has its drawn length.
const ENGAGED: f64 = 0.75;

/// Why a rod has no bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoBar {
    /// What is the matter.
    pub why: String,
    /// What to write instead.
    pub advice: String,
}

/// The least distance between the pins for these rod ends, mm.
fn needs(ends: &[End; 2]) -> Result<f64, &'static str> {
    let [a, b] = [shank(&ends[0])?, shank(&ends[1])?];
    Ok(a.taken + b.taken + a.thread + b.thread + 2.0)
}

/// The bar of a rod.
///
/// # Errors
/// Why it has none.
pub fn bar(machine: &Machine, rod: &Rod, made: &Made) -> Result<Turned, NoBar> {
    let why = |text: &str, advice: &str| NoBar {
        why: text.to_owned(),
        advice: advice.to_owned(),
    };
    let Some(ends) = made.ends else {
        let advice = format!("write `rod-ends`, or [piece.{}] with its steps", rod.name);
        return Err(why("nothing says how it ends", &advice));
    };
    let piece = format!("write [piece.{}] with its steps", rod.name);
    let section = made.stock.as_ref().map(|s| s.section);
    // Square and hexagon bar keep their flats for the spanner.
    let (diameter, sides) = match section {
        Some(Section::Round(d)) => (d, 0),
        Some(Section::Hexagon(a)) => (machine::work::across_corners(6, a), 6),
        Some(Section::Square(a)) => (machine::work::across_corners(4, a), 4),
        _ => {
            return Err(why(
                "its stock is neither round nor square nor hexagon bar",
                &piece,
            ));
        }
    };
    let distance =
        centres(machine, rod).ok_or_else(|| why("its points are not known", "place its points"))?;
    let shank = |end: &End| shank(end).map_err(|text| why(text, &piece));
    let [left, right] = [shank(&ends[0])?, shank(&ends[1])?];
    let length = distance - left.taken - right.taken;
    let needed = needs(&ends).map_err(|text| why(text, &piece))?;
    if distance < needed {
        let l = |x: f64| words::length(x, machine.unit);
        let mut smaller = SHANKS
            .iter()
            .rev()
            .filter(|row| row.0 < ends[0].rod_end.bore);
        let fits = smaller.find_map(|row| {
            let found = elements::bearings::rod_ends::ROD_ENDS
                .iter()
                .find(|r| r.bore == row.0)?;
            let both = ends.map(|e| End {
                rod_end: found,
                ..e
            });
            (needs(&both).ok()? <= distance).then_some(found.name)
        });
        let advice = match fits {
            Some(name) => format!(
                "take rod ends {name}, which go in; or set its points {} further apart",
                l(needed - distance)
            ),
            None => format!(
                "set its points {} further apart: no smaller rod ends of the table go in either; or make it of one piece, with an eye at each end",
                l(needed - distance)
            ),
        };
        return Err(NoBar {
            why: format!(
                "its rod ends {} meet in the middle: {} between the pins, they take {} with their threads and lock nuts",
                ends[0].rod_end.name,
                l(distance),
                l(needed)
            ),
            advice,
        });
    }
    let mut turned = Turned::default();
    let mut at = 0.0;
    let mut step = |length: f64, thread: Option<Thread>, turned: &mut Turned| {
        turned.steps.push(Step {
            from: at,
            to: at + length,
            diameter: thread.as_ref().map_or(diameter, |t| t.major),
            class: None,
            relief: false,
            throw: None,
            sides: if thread.is_some() { 0 } else { sides },
            as_bar: sides > 0 && thread.is_none(),
            chamfer: thread.as_ref().map_or(0.0, |t| t.pitch),
            thread,
        });
        at += length;
    };
    // The rod says its threads, each end its own; what it leaves out is its rod end's. The left-hand one stands at the second end.
    let thread = |end: &End, second: bool| {
        let left = second && rod.both_ends;
        let mut thread = rod
            .thread_of(usize::from(second))
            .cloned()
            .unwrap_or(Thread {
                name: end.rod_end.name.to_owned(),
                major: end.rod_end.bore,
                pitch: end.rod_end.pitch,
                inch: false,
                left,
            });
        if left && !thread.left {
            thread.left = true;
        }
        if left && !thread.name.ends_with(" LH") {
            thread.name += " LH";
        }
        thread
    };
    let bore = |of: &Shank, left: bool, thread: Thread| Bore {
        left,
        fitted: Fitted::Tapped {
            depth: Some(of.thread),
            thread,
        },
        blind: Some(of.thread + 5.0),
        throw: None,
    };
    let (first, second) = (thread(&ends[0], false), thread(&ends[1], true));
    let mut middle = length;
    if ends[0].male {
        turned.bores.push(bore(&left, true, first));
    } else {
        step(left.thread, Some(first), &mut turned);
        middle -= left.thread;
    }
    if ends[1].male {
        turned.bores.push(bore(&right, false, second.clone()));
    } else {
        middle -= right.thread;
    }
    step(middle, None, &mut turned);
    if !ends[1].male {
        step(right.thread, Some(second), &mut turned);
    }
    Ok(turned)
}

/// Where an end of a rod starts, in turns out from closed (screwed in as far as it goes).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turns {
    /// At the drawn length, both ends out alike.
    pub out: f64,
    /// The furthest: one diameter of thread stays in (common practice).
    pub most: f64,
}

/// A flat rod that says no ends: a plate with a round end and a hole at each of its points, as far apart as they are.
///
/// # Errors
/// Why it is none.
pub fn flat(machine: &Machine, rod: &Rod, made: &Made) -> Result<Option<Plate>, NoBar> {
    let (Some(Section::Flat([thickness, width])), None) =
        (made.stock.as_ref().map(|s| s.section), made.ends)
    else {
        return Ok(None);
    };
    let why = |why: String, advice: &str| NoBar {
        why,
        advice: advice.to_owned(),
    };
    let distance = centres(machine, rod)
        .ok_or_else(|| why("its points are not known".to_owned(), "place its points"))?;
    let [a, b] = rod.joins.map(|p| machine.points.get(p));
    let (Some(a), Some(b)) = (a, b) else {
        return Ok(None);
    };
    if a.plane != b.plane {
        return Err(why(
            "its points lie in two planes, and a plate with plain eyes does not follow both"
                .to_owned(),
            "write `rod-ends`: their balls follow",
        ));
    }
    let middles = [[0.0, 0.0], [distance, 0.0]];
    let radius = width / 2.0;
    let circles = middles.map(|m| (m, radius));
    let mut plate = Plate {
        outline: Contour::arms(&circles, &[[0, 1]], 0.0).ok_or_else(|| {
            why(
                "it is wider than its eyes are apart".to_owned(),
                "narrower stock",
            )
        })?,
        thickness,
        ends: Vec::new(),
        datum_hole: true,
        holes: Vec::new(),
        slots: Vec::new(),
        edge_holes: Vec::new(),
        fork: None,
        marks: Vec::new(),
        cams: Vec::new(),
        bends: Vec::new(),
        flat_middle: None,
        geneva: None,
        rack: None,
        said: Vec::new(),
        opposite: 0,
    };
    for (point, at) in [a, b].into_iter().zip(middles) {
        plate.ends.push(RoundEnd {
            name: point.name.clone(),
            at,
            radius,
            hub: None,
            solid: false,
        });
    }
    for ((id, point), at) in rod.joins.into_iter().zip([a, b]).zip(middles) {
        let size = joint_size(machine, id)
            .and_then(|d| of_class(d, "H7"))
            .ok_or_else(|| {
                why(
                    format!("nothing says the pin at {}", words::spoken(&point.name)),
                    &format!("write `diameter = \"12 h6\"` at [joint.{}]", point.name),
                )
            })?;
        if size.nominal + 2.0 > width {
            return Err(why(
                format!(
                    "its eye at {} has no wall: the pin is {}, the bar {} wide",
                    words::spoken(&point.name),
                    words::length(size.nominal, machine.unit),
                    words::length(width, machine.unit)
                ),
                "wider stock, twice the pin is usual (common practice)",
            ));
        }
        plate.holes.push(Hole {
            name: point.name.clone(),
            at,
            fitted: Fitted::Plain {
                cut: Cut::Ream,
                size,
            },
            blind: None,
            through: thickness,
            counterbore: None,
            countersink: None,
            sink: crate::part::SINK,
            back: false,
            place: machine.work.usual.hole_places,
        });
    }
    Ok(Some(plate))
}

/// Start positions of both ends; none where the rod or its ends are not known.
pub fn turns(rod: &Rod, made: &Made) -> Option<[Turns; 2]> {
    let ends = made.ends?;
    let one = |n: usize| {
        let end = &ends[n];
        let row = SHANKS.iter().find(|s| s.0 == end.rod_end.bore)?;
        let pitch = rod.thread_of(n).map_or(end.rod_end.pitch, |t| t.pitch);
        // Engaged at the drawn length, and with the end screwed in as far as it goes.
        let (engaged, closed) = if end.male {
            let engaged = (1.5 * end.rod_end.bore).min(row.4);
            (engaged, engaged + 3.0)
        } else {
            (ENGAGED * row.2, row.2)
        };
        Some(Turns {
            out: (closed - engaged) / pitch,
            most: ((closed - end.rod_end.bore) / pitch).max(0.0),
        })
    };
    Some([one(0)?, one(1)?])
}

/// Between the centres of a rod, mm.
pub fn centres(machine: &Machine, rod: &Rod) -> Option<f64> {
    let at = |p: usize| {
        let p = machine.points.get(p)?;
        let plane = machine.planes.get(p.plane)?;
        let (r, u) = (plane.right, plane.up);
        let n = [
            r[1] * u[2] - r[2] * u[1],
            r[2] * u[0] - r[0] * u[2],
            r[0] * u[1] - r[1] * u[0],
        ];
        Some::<[f64; 3]>(std::array::from_fn(|i| {
            plane.origin[i] + p.x * r[i] + p.y * u[i] + p.station * n[i]
        }))
    };
    let (a, b) = (at(rod.joins[0])?, at(rod.joins[1])?);
    Some((0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt())
}

struct Shank {
    /// From the ball's centre to the end of the bar.
    taken: f64,
    /// Thread on or in the bar.
    thread: f64,
}

fn shank(end: &End) -> Result<Shank, &'static str> {
    let row = SHANKS.iter().find(|s| s.0 == end.rod_end.bore);
    let &(_, tapped, depth, stem, stem_thread) =
        row.ok_or("the table has no length for its rod ends")?;
    Ok(if end.male {
        // The stem is screwed into the bar as deep as it is thick, one and a half times.
        let engaged = (1.5 * end.rod_end.bore).min(stem_thread);
        Shank {
            taken: stem - engaged,
            thread: engaged + 3.0,
        }
    } else {
        Shank {
            taken: tapped - ENGAGED * depth,
            // Room for the lock nut and for turning either way.
            thread: depth + 0.8 * end.rod_end.bore + 0.25 * depth,
        }
    })
}
