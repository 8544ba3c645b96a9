//! Detents as holes: the plunger's bore in the plate that is driven, its seat in the plate of the frame that carries the pivot. Their places
//! follow from the drive: the plunger stands on the line of its part, the seat where that line is with the drive in the notch. mm and rad.

use super::joints::of_class;
use super::plate::Axes;
use crate::contour::P;
use crate::finding::{Finding, Grade};
use crate::part::{Hole, Opening as _, Plate, RoundEnd, SINK};
use crate::words;
use elements::detent::Seat as Rests;
use machine::Machine;
use machine::fitting::{Cut, Fitted, Plunger};
use machine::making::{Of, Piece, Shape};
use machine::model::{FRAME, Moves, PartId, PartKind, PointId};
use machine::work::{Detent, Seat};
use quantity::Unit;

/// How long a plunger is guided, in its diameters (common practice: one and a half to two).
const GUIDED: f64 = 1.5;
/// Metal under the floor of its bore, and under a seat, mm (common practice).
const FLOOR: f64 = 2.0;
/// Metal from the rim of a seat or bore to the edge, mm (common practice).
const RIM: f64 = 1.0;

/// The names that holes of detents carry: `NAME-plunger`, `NAME-seat`.
fn named(detent: &Detent, what: &str) -> String {
    format!("{}-{what}", detent.name)
}

/// Where a detent is made: the part with the plunger, the piece of the frame with the seat, the point that it turns about.
#[derive(Clone, Copy)]
pub(crate) struct Homes<'a> {
    /// The part that is driven.
    pub(crate) driven: PartId,
    /// The plate of the frame that has the seat; none where none carries the pivot.
    pub(crate) seat: Option<&'a Piece>,
    pivot: PointId,
    /// The seat's plate stands behind the plunger's.
    behind: bool,
}

/// The homes of a detent whose drive turns a part.
pub(crate) fn homes<'a>(machine: &'a Machine, detent: &Detent) -> Option<Homes<'a>> {
    let Moves::Turns(driven) = machine.drives.get(detent.drive)?.moves else {
        return None;
    };
    let part = machine.parts.get(driven)?;
    let frame = &machine.parts.get(FRAME)?.carries;
    let shaft = super::plate::shaft_of(machine, driven).and_then(|s| machine.parts.get(s));
    let pivot = match shaft {
        Some(s) if s.kind == PartKind::Shaft || part.clamped_to.is_some() => *s.carries.first()?,
        _ => *part.carries.iter().find(|c| frame.contains(c))?,
    };
    let here = crate::seats::station(machine, driven).unwrap_or(0.0);
    let mut best: Option<(&Piece, f64)> = None;
    for piece in &machine.work.making.pieces {
        let Of::Frame(points) = &piece.of else {
            continue;
        };
        if !points.contains(&pivot) || !matches!(piece.shape, Shape::Plate(_)) {
            continue;
        }
        let own = machine.points.get(pivot).map_or(0.0, |p| p.station);
        let stations = if piece.stations.is_empty() {
            vec![own]
        } else {
            piece.stations.clone()
        };
        for s in stations {
            if best.is_none_or(|b| (s - here).abs() < (b.1 - here).abs()) {
                best = Some((piece, s));
            }
        }
    }
    Some(Homes {
        driven,
        seat: best.map(|b| b.0),
        pivot,
        behind: best.is_none_or(|b| b.1 <= here),
    })
}

/// Direction of the driven part's line as drawn: to the farthest of its points.
fn heading(machine: &Machine, homes: &Homes) -> Option<f64> {
    let from = machine.points.get(homes.pivot)?;
    let mut best = (0.0, 1e-9);
    for &p in &machine.parts.get(homes.driven)?.carries {
        let at = machine.points.get(p)?;
        let d = [at.x - from.x, at.y - from.y];
        let far = d[0].hypot(d[1]);
        if far > best.1 * (1.0 + 1e-9) {
            best = (d[1].atan2(d[0]), far);
        }
    }
    Some(best.0)
}

/// Where the plunger stands as drawn, and where its seat is.
fn places(machine: &Machine, detent: &Detent, homes: &Homes) -> Option<[P; 2]> {
    let drive = machine.drives.get(detent.drive)?;
    let from = machine.points.get(homes.pivot)?;
    let line = heading(machine, homes)?;
    let off = drive.sense.signum() * (detent.at - drive.drawn);
    Some([line, line + off].map(|a| {
        [
            from.x + detent.radius * a.cos(),
            from.y + detent.radius * a.sin(),
        ]
    }))
}

/// How deep the plunger's bore is: its spring with the plunger home, and what guides the plunger.
pub(crate) fn bore_deep(plunger: &Plunger) -> f64 {
    plunger.length + (GUIDED * plunger.bore).ceil()
}

/// Bores and seats that a plate has of all detents.
pub(super) fn on(
    machine: &Machine,
    of: &Of,
    name: &str,
    axes: &Axes,
    plate: &mut Plate,
    findings: &mut Vec<Finding>,
) {
    for detent in &machine.work.detents {
        let Some(homes) = homes(machine, detent) else {
            continue;
        };
        let Some([plunger, seat]) = places(machine, detent, &homes) else {
            continue;
        };
        let told = match of {
            Of::Part(id) if *id == homes.driven => {
                bore(machine, detent, &homes, axes.place(plunger), plate)
            }
            Of::Frame(_) if homes.seat.is_some_and(|p| p.name == name) => {
                notch(machine, detent, &homes, axes.place(seat), plate)
            }
            _ => continue,
        };
        if let Err((what, advice)) = told {
            findings.push(Finding::new(Grade::Cannot, name, what, advice));
        }
    }
}

type Told = Result<(), (String, String)>;

/// Whether a round of this radius lies in the plate, with a rim of metal, clear of its holes.
fn fits(plate: &Plate, at: P, radius: f64) -> Result<(), String> {
    let edge = plate.outline.distance(at);
    if !plate.outline.holds(at) {
        return Err(format!("lies {} beyond its edge", words::number(edge, 2)));
    }
    if edge < radius + RIM {
        return Err(format!(
            "lies {} from its edge, and is {} to its own rim",
            words::number(edge, 2),
            words::number(radius, 2)
        ));
    }
    let near = plate.holes.iter().find(|h| {
        let far = (h.at[0] - at[0]).hypot(h.at[1] - at[1]);
        far < radius + h.diameter() / 2.0 + RIM
    });
    match near {
        Some(h) => Err(format!("runs into its hole {}", words::spoken(&h.name))),
        None => Ok(()),
    }
}

fn bore(machine: &Machine, detent: &Detent, homes: &Homes, at: P, plate: &mut Plate) -> Told {
    let Some(plunger) = &detent.plunger else {
        return Ok(());
    };
    let own = words::of_kind("detent", &detent.name);
    let l = |x: f64| words::length(x, machine.unit);
    let deep = bore_deep(plunger);
    // Notches at one radius share a plunger.
    let shared = plate
        .holes
        .iter()
        .any(|h| h.name.ends_with("-plunger") && (h.at[0] - at[0]).hypot(h.at[1] - at[1]) < 0.05);
    if shared {
        return Ok(());
    }
    let where_ = format!(
        "the bore of the plunger of {own} (⌀{}, {} deep, {} from the pivot)",
        l(plunger.bore),
        l(deep),
        l(detent.radius)
    );
    let round = plunger.boss.unwrap_or(plunger.bore) / 2.0;
    if let Err(why) = fits(
        plate,
        at,
        if plunger.boss.is_some() {
            round - RIM
        } else {
            round
        },
    ) {
        return Err((
            format!("{where_} {why}"),
            "make the part wider there, or take another `radius`".to_owned(),
        ));
    }
    let needs = deep + FLOOR;
    let tall = plate.thickness;
    let hub = plunger.boss.filter(|_| tall < needs);
    if hub.is_none() && tall < needs {
        let wide = l((2.0 * plunger.bore).ceil());
        return Err((
            format!("{where_} does not go into {} of metal", l(tall)),
            format!(
                "write `boss = \"{wide}{}\"` at its plunger: a round boss as long as the bore needs; or a shorter spring in thicker stock",
                unit(machine.unit)
            ),
        ));
    }
    if let Some(wide) = hub {
        let stands = |e: &&RoundEnd| {
            let far = (e.at[0] - at[0]).hypot(e.at[1] - at[1]);
            e.hub.is_some() && far < e.radius + wide / 2.0 + RIM
        };
        if let Some(other) = plate.ends.iter().find(stands) {
            return Err((
                format!(
                    "{where_} wants a boss of {}, which stands in the hub at {}",
                    l(wide),
                    words::spoken(&other.name)
                ),
                "take a larger `radius`, or a smaller boss".to_owned(),
            ));
        }
        let solid = plate.ends.iter().any(|e| e.solid && e.hub.is_some());
        plate.ends.push(RoundEnd {
            name: named(detent, "plunger"),
            at,
            radius: wide / 2.0,
            hub: Some(needs),
            solid,
        });
    }
    let Some(size) = of_class(plunger.bore, "H7") else {
        return Ok(());
    };
    plate.holes.push(Hole {
        name: named(detent, "plunger"),
        at,
        fitted: Fitted::Plain {
            cut: Cut::Ream,
            size,
        },
        blind: Some(deep),
        through: hub.map_or(tall, |_| needs),
        counterbore: None,
        countersink: None,
        sink: SINK,
        back: homes.behind,
        place: None,
    });
    Ok(())
}

fn unit(unit: Unit) -> &'static str {
    if unit == Unit::Inch { " in" } else { " mm" }
}

fn notch(machine: &Machine, detent: &Detent, homes: &Homes, at: P, plate: &mut Plate) -> Told {
    let own = words::of_kind("detent", &detent.name);
    let l = |x: f64| words::length(x, machine.unit);
    let step = |x: f64| ((2.0 * x).ceil() / 2.0).max(1.0);
    // Diameter of the hole, its depth, diameter of the cone and its angle.
    let (drill, deep, sink) = match (detent.seat, &detent.plunger) {
        (Seat::Cone(included), Some(plunger)) => {
            let mouth = plunger.mouth.or(plunger.nose).unwrap_or(plunger.bore);
            // The pilot takes the point, so that the flank bears.
            let pilot = step(mouth / 4.0);
            let cone = (mouth - pilot) / 2.0 / (included / 2.0).tan();
            (pilot, cone + pilot, Some((mouth, included)))
        }
        (Seat::Hole { hole, ball }, _) => {
            let rest = Rests::Hole { diameter: hole }.rest(ball);
            (hole, step(rest.map_or(hole, |r| r.depth) + 1.0), None)
        }
        (Seat::Square, Some(plunger)) => (
            plunger.bore,
            plunger.lift.unwrap_or(plunger.bore) + 0.5,
            None,
        ),
        (Seat::Cone(_) | Seat::Square, None) => {
            return Err((
                format!("the seat of {own} has no size"),
                "write its `plunger` with `nose`, `mouth`, `bore` and `length`".to_owned(),
            ));
        }
    };
    let widest = sink.map_or(drill, |s| s.0);
    if let Err(why) = fits(plate, at, widest / 2.0) {
        return Err((
            format!(
                "the seat of {own} (⌀{}, {} from the pivot, at x {} y {} of this plate) {why}",
                l(widest),
                l(detent.radius),
                words::number(at[0], 2),
                words::number(at[1], 2)
            ),
            "make the plate reach over it, take another `radius`; a notch in a rim or a quadrant of its own is drawn by hand".to_owned(),
        ));
    }
    let Some(size) = of_class(
        drill,
        if matches!(detent.seat, Seat::Square) {
            "H9"
        } else {
            "H12"
        },
    ) else {
        return Ok(());
    };
    let shows = deep + crate::resolve::depths::POINT * drill + 0.5 < plate.thickness;
    plate.holes.push(Hole {
        name: named(detent, "seat"),
        at,
        fitted: Fitted::Plain {
            cut: if matches!(detent.seat, Seat::Square) {
                Cut::Ream
            } else {
                Cut::Drill
            },
            size,
        },
        blind: shows.then_some(deep),
        through: plate.thickness,
        counterbore: None,
        countersink: sink.map(|s| s.0),
        sink: sink.map_or(SINK, |s| s.1),
        back: !homes.behind,
        place: None,
    });
    if matches!(detent.seat, Seat::Hole { .. }) {
        plate.said.push(format!(
            "The edge of the seat of {own} stays sharp: the ball rests on it."
        ));
    }
    Ok(())
}
