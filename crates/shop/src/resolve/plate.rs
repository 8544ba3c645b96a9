//! Plates: points become holes and round ends, in the part's own coordinates.

use super::cam;
use super::depths;
use super::outline::outline;
use crate::cams::CamShape;
use crate::contour::{Contour, P, Side};
use crate::finding::{Finding, Grade};
use crate::part::{EdgeHole, Fork, Hole, Opening as _, Plate, RoundEnd, Slot, diameter};
use crate::words;
use elements::fits_iso::{self, Class};
use machine::Machine;
use machine::fitting::{Cut, Fitted, HeldBy, Sized};
use machine::making::{self, Of, Towards};
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::{JointAt, Section, ToleranceOf};

/// A part's own coordinates.
pub(super) struct Axes {
    origin: P,
    pub(super) turn: f64,
}

impl Axes {
    pub(super) fn place(&self, at: P) -> P {
        let (x, y) = (at[0] - self.origin[0], at[1] - self.origin[1]);
        let (s, c) = self.turn.sin_cos();
        // What lies on an axis lies on it to the last figure.
        let clean = |v: f64| if v.abs() < 1e-9 { 0.0 } else { v };
        [clean(c * x + s * y), clean(c * y - s * x)]
    }
}

/// Points that a piece carries, its datum first: of an arm the centre of its shaft.
pub fn points_of(machine: &Machine, of: &Of) -> Vec<PointId> {
    match of {
        Of::Part(id) => {
            let Some(part) = machine.parts.get(*id) else {
                return Vec::new();
            };
            let mut points = Vec::new();
            if part.clamped_to.is_some() {
                points.extend(
                    shaft_of(machine, *id).and_then(|s| machine.parts.get(s)?.carries.first()),
                );
            }
            points.extend(&part.carries);
            points
        }
        Of::Frame(points) => points.clone(),
        _ => Vec::new(),
    }
}

/// The shaft at the end of a chain of clamped arms.
fn shaft_of(machine: &Machine, part: PartId) -> Option<PartId> {
    let mut here = part;
    for _ in 0..machine.parts.len() {
        match machine.parts.get(here)?.clamped_to {
            Some(next) => here = next,
            None => return Some(here),
        }
    }
    None
}

pub(super) fn plate(
    machine: &Machine,
    shapes: &[CamShape],
    of: &Of,
    shape: &making::Plate,
    [thickness, width]: [f64; 2],
    name: &str,
    findings: &mut Vec<Finding>,
) -> Plate {
    let points = points_of(machine, of);
    let flat = |p: PointId| machine.points.get(p).map_or([0.0; 2], |p| [p.x, p.y]);
    let origin = points.first().map_or([0.0; 2], |&p| flat(p));
    let turn = match (of, points.get(1)) {
        (Of::Part(_), Some(&second)) if !shape.upright => {
            let to = flat(second);
            (to[1] - origin[1]).atan2(to[0] - origin[0])
        }
        _ => 0.0,
    };
    let axes = Axes { origin, turn };
    let part = match of {
        Of::Part(id) => Some(*id),
        Of::Frame(_) => Some(FRAME),
        _ => None,
    };
    let mut plate = Plate {
        thickness,
        ..Plate::default()
    };
    for &point in &points {
        let at = axes.place(flat(point));
        at_point(
            machine, of, part, point, at, shape, width, &axes, &mut plate,
        );
    }
    plate.datum_hole = plate
        .holes
        .iter()
        .any(|h| h.at[0].abs() < 1e-9 && h.at[1].abs() < 1e-9);
    for h in shape.holes.iter().filter(|h| h.on.is_none()) {
        let many = h.at.len() > 1;
        for (n, &at) in h.at.iter().enumerate() {
            plate.holes.push(Hole {
                name: if many {
                    format!("{} {}", h.name, n + 1)
                } else {
                    h.name.clone()
                },
                at,
                fitted: h.fitted.clone(),
                blind: depths::blind(&h.fitted, h.length, thickness),
                through: thickness,
                counterbore: h.counterbore,
                countersink: h.countersink,
                place: None,
            });
        }
    }
    if let Of::Part(id) = of {
        cam::cams(machine, shapes, *id, &axes, &mut plate, name, findings);
        if shape.outline == making::Outline::Arms && plate.cams.is_empty() {
            let turned = |at: P| axes.place(at);
            crate::geneva::wheel(
                machine,
                *id,
                (&turned, axes.turn),
                &mut plate,
                name,
                findings,
            );
        }
    }
    plate.outline = match plate.cams.iter().find(|c| c.is_outline()) {
        Some(cam) if shape.outline == making::Outline::Arms => {
            // Its round ends were those of an arm.
            let flank = cam.flank.clone();
            plate.ends.retain(|e| e.hub.is_some());
            flank
        }
        _ => match &plate.geneva {
            Some(wheel) => {
                let outline = wheel.outline();
                plate.ends.retain(|e| e.hub.is_some());
                outline
            }
            None => outline(&plate, shape, width, machine, name, findings),
        },
    };
    if let Of::Part(id) = of {
        let turned = |at: P| axes.place(at);
        crate::racks::teeth(
            machine,
            *id,
            (&turned, axes.turn),
            &mut plate,
            name,
            findings,
        );
    }
    // A point on the edge or off the plate stands for a face, not for a mark.
    let outline = &plate.outline;
    plate
        .marks
        .retain(|(_, at)| outline.holds(*at) && outline.distance(*at) > 1.0);
    unmade(machine, of, &plate, name, findings);
    slots(machine, part, shape, &axes, &mut plate);
    // Nor is the end of a slot one.
    let cut: Vec<Slot> = plate.slots.clone();
    plate.marks.retain(|(_, at)| {
        cut.iter()
            .flat_map(|s| s.ends)
            .all(|end| (end[0] - at[0]).hypot(end[1] - at[1]) > 1e-6)
    });
    plate.fork = shape.fork.map(|f| Fork {
        at: axes.place(flat(f.at)),
        gap: f.gap,
        depth: f.depth,
        open: f.open,
    });
    for e in &shape.cross {
        let towards = match e.towards {
            Towards::Point(p) => axes.place(flat(p)),
            Towards::Place(at) => at,
        };
        let Some(enters) = enters(&plate.outline, towards, e.from) else {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!("the hole {} does not meet the edge", e.name),
                "point it at a place inside the outline",
            ));
            continue;
        };
        let far = (enters[0] - towards[0]).hypot(enters[1] - towards[1]);
        plate.edge_holes.push(EdgeHole {
            name: e.name.clone(),
            towards,
            from: e.from,
            enters,
            depth: e
                .length
                .or_else(|| depths::for_thread(&e.fitted))
                .unwrap_or(far),
            fitted: e.fitted.clone(),
        });
    }
    // What is bent is looked over when it is unfolded.
    if shape.bends.is_empty() {
        outside(&plate, name, findings);
    }
    depths::slots(&plate, name, findings);
    depths::from_the_edge(&plate, name, findings);
    rims(&plate, name, findings);
    forked(&plate, name, findings);
    plate
}

/// Least thickness of an ear beside a fork's gap, mm (common practice).
const EAR: f64 = 1.5;

/// A fork that leaves no ears, cuts its part in two, or cuts through another hole.
fn forked(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    let Some(f) = &plate.fork else { return };
    let mut tell = |text: String, advice: &str| {
        findings.push(Finding::new(Grade::Cannot, name, text, advice));
    };
    let ear = (plate.thickness - f.gap) / 2.0;
    if ear < EAR {
        tell(
            format!(
                "the fork's gap of {} leaves ears of {} in {} thick stock",
                words::number(f.gap, 3),
                words::number(ear.max(0.0), 3),
                words::number(plate.thickness, 3)
            ),
            "thicker stock, or a narrower gap",
        );
    }
    let d = [f.open.cos(), f.open.sin()];
    let bottom = [f.at[0] - d[0] * f.depth, f.at[1] - d[1] * f.depth];
    let back = plate.outline.reach(f.at, f.open + std::f64::consts::PI);
    if f.depth >= back || !plate.outline.holds(bottom) {
        tell(
            format!(
                "the fork reaches {} behind its hole, where the part has {}",
                words::number(f.depth, 3),
                words::number(back, 3)
            ),
            "a smaller `depth`: what is behind the slot holds the ears together",
        );
    }
    let cut: Vec<String> = plate
        .holes
        .iter()
        .filter(|h| {
            let along = (h.at[0] - f.at[0]) * d[0] + (h.at[1] - f.at[1]) * d[1];
            let off = (h.at[0] - f.at[0]).hypot(h.at[1] - f.at[1]);
            off > 1e-6 && along < 0.0 && along + h.diameter() / 2.0 > -f.depth
        })
        .map(|h| words::spoken(&h.name))
        .collect();
    if !cut.is_empty() {
        tell(
            format!("the fork's slot cuts into {}", cut.join(", ")),
            "a smaller `depth`",
        );
    }
}

/// Least metal between a track and the edge, mm (common practice).
const RIM: f64 = 4.0;

/// Tracks that run into the edge or through their plate.
fn rims(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for cam in &plate.cams {
        let (Some(outer), Some(depth)) = (&cam.outer, cam.depth) else {
            continue;
        };
        let sides = plate.outline.sides();
        let within = outer
            .vertices
            .iter()
            .all(|v| plate.outline.holds(v.at) && sides.iter().all(|s| s.distance(v.at) > RIM));
        if !within {
            let far = outer
                .vertices
                .iter()
                .map(|v| (v.at[0] - cam.centre[0]).hypot(v.at[1] - cam.centre[1]));
            let across = 2.0 * (far.fold(0.0, f64::max) + RIM);
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the track {} leaves less than {} of rim",
                    words::spoken(&cam.name),
                    words::number(RIM, 1)
                ),
                format!(
                    "it needs a disc of {} across: widen its stock",
                    words::number(across.ceil(), 0)
                ),
            ));
        }
        if depth > plate.thickness - RIM {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the track {} is {} deep in a plate of {}",
                    words::spoken(&cam.name),
                    words::number(depth, 2),
                    words::number(plate.thickness, 2)
                ),
                format!(
                    "leave {} under it: thicker stock, or a narrower `face`",
                    words::number(RIM, 0)
                ),
            ));
        }
    }
}

/// Holes that break out of their plate.
pub(super) fn outside(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for h in &plate.holes {
        let r = diameter(&h.fitted) / 2.0;
        let near = plate.outline.distance(h.at);
        if !plate.outline.holds(h.at) || near < r + 0.5 {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the hole {} of {} lies {} from the edge, its radius is {}",
                    words::spoken(&h.name),
                    words::spoken(name),
                    words::number(near, 2),
                    words::number(r, 2)
                ),
                "make the outline larger there, or the hole smaller",
            ));
        } else if near < r + 1.0 {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "{} of metal is left between the hole {} and the edge",
                    words::number(near - r, 2),
                    words::spoken(&h.name)
                ),
                "it bends out under the tool: bore it with light cuts, or leave a millimetre at least",
            ));
        }
    }
}

#[allow(clippy::too_many_arguments)]
fn at_point(
    machine: &Machine,
    of: &Of,
    part: Option<PartId>,
    point: PointId,
    at: P,
    shape: &making::Plate,
    width: f64,
    axes: &Axes,
    plate: &mut Plate,
) {
    let named = machine.points.get(point).map_or("", |p| p.name.as_str());
    let hole = machine
        .work
        .holes
        .iter()
        .find(|h| Some(h.part) == part && h.point == point);
    let boss = shape.bosses.iter().find(|b| b.point == point);
    let hold = part.and_then(|p| machine.work.parts.get(p)?.held_by.as_ref());
    let clamped =
        part.is_some_and(|p| machine.parts.get(p).is_some_and(|p| p.clamped_to.is_some()));
    let at_shaft = clamped && plate.ends.is_empty();
    let around = hole
        .and_then(|h| h.around)
        .or_else(|| hold.filter(|_| at_shaft).and_then(|h| h.hub));
    let length = boss
        .and_then(|b| b.length)
        .or_else(|| hole.and_then(|h| h.length))
        .or_else(|| hold.filter(|_| at_shaft).and_then(|h| h.length));
    let radius = boss.map_or_else(|| around.unwrap_or(width) / 2.0, |b| b.diameter / 2.0);
    let forked = shape.fork.is_some_and(|f| f.at == point);
    let hub = length.filter(|l| *l > plate.thickness + 1e-9 && !forked);
    plate.ends.push(RoundEnd {
        name: named.to_owned(),
        at,
        radius,
        hub,
        solid: boss.is_some_and(|b| b.solid),
    });
    let fitted = match hole {
        Some(h) => Some(h.fitted.clone()),
        None if at_shaft => shaft_bore(machine, part, point),
        None => default_hole(machine, of, point),
    };
    let Some(fitted) = fitted else {
        plate.marks.push((named.to_owned(), at));
        return;
    };
    let place = machine
        .work
        .tolerances
        .iter()
        .find(|t| matches!(t.of, ToleranceOf::Hole { part: p, hole } if Some(p) == part && hole == point))
        .map(|t| t.plus_minus)
        .or(machine.work.usual.hole_places);
    let blind = if forked {
        None
    } else {
        depths::blind(&fitted, length, hub.unwrap_or(plate.thickness))
    };
    let one = |name: String, at: P| Hole {
        name,
        at,
        fitted: fitted.clone(),
        blind,
        through: hub.unwrap_or(plate.thickness),
        counterbore: None,
        countersink: None,
        place,
    };
    let row = machine
        .rows
        .iter()
        .find(|r| r.point == point && Some(r.on) == part);
    match row {
        None => plate.holes.push(one(named.to_owned(), at)),
        Some(row) => {
            let places: Vec<P> = row.holes.iter().map(|&h| axes.place(h)).collect();
            plate.ends.pop();
            for end in [places.first(), places.last()].into_iter().flatten() {
                plate.ends.push(RoundEnd {
                    name: named.to_owned(),
                    at: *end,
                    radius,
                    hub: None,
                    solid: false,
                });
            }
            let holes = places
                .iter()
                .enumerate()
                .map(|(n, &at)| one(format!("{named} {}", n + 1), at));
            let holes: Vec<Hole> = holes.collect();
            plate.holes.extend(holes);
        }
    }
}

fn h7(nominal: f64) -> Option<Sized> {
    of_class(nominal, "H7")
}

pub(crate) fn of_class(nominal: f64, text: &str) -> Option<Sized> {
    let class = Class::parse(text).ok()?;
    Some(Sized {
        nominal,
        class: text.to_owned(),
        limits: fits_iso::limits(class, nominal).ok()?,
        source: fits_iso::source(class),
        assumed: true,
    })
}

/// The bore of an arm for its shaft: the hole class of its fit, else H7.
fn shaft_bore(machine: &Machine, part: Option<PartId>, centre: PointId) -> Option<Fitted> {
    let part = part?;
    let shaft = shaft_of(machine, part)?;
    let bar = match machine
        .work
        .parts
        .get(shaft)?
        .stock
        .as_ref()
        .map(|s| s.section)
    {
        Some(Section::Round(d) | Section::Tube([d, _])) => Some(d),
        _ => None,
    };
    // The step on which it sits, where the file says where that is.
    let nominal = crate::seats::seat(machine, part)
        .map(|s| s.diameter)
        .or_else(|| joint_size(machine, centre))
        .or(bar)?;
    let class = match machine
        .work
        .parts
        .get(part)?
        .held_by
        .as_ref()
        .map(|h| &h.by)
    {
        Some(HeldBy::Press { fit }) => fit.split('/').next().unwrap_or("H7").to_owned(),
        _ => "H7".to_owned(),
    };
    let size = of_class(nominal, &class).or_else(|| h7(nominal))?;
    Some(Fitted::Plain {
        cut: Cut::Bore,
        size,
    })
}

pub(crate) fn joint_size(machine: &Machine, point: PointId) -> Option<f64> {
    let mut joints = machine.work.joints.iter();
    let joint = joints.find(|j| j.at == JointAt::Point(point));
    let written = joint.and_then(|j| j.pin.as_ref().map(|p| p.nominal));
    // The pin is as large as the hole that a part has for it.
    let goes_through = || {
        let mut holes = machine.work.holes.iter().filter(|h| h.point == point);
        holes.find_map(|h| match &h.fitted {
            Fitted::Plain { size, .. } => Some(size.nominal),
            _ => None,
        })
    };
    written
        .or_else(goes_through)
        .or(joint.and_then(|j| j.diameter))
}

/// Joints of this part that have no hole in it: its pin has nothing to go through.
fn unmade(machine: &Machine, of: &Of, plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    let Of::Part(_) = of else { return };
    for (mark, _) in &plate.marks {
        let Some(point) = machine.points.iter().position(|p| p.name == *mark) else {
            continue;
        };
        if !is_joint(machine, point) {
            continue;
        }
        let diameter =
            joint_size(machine, point).map_or_else(|| "8".to_owned(), |d| words::number(d, 2));
        findings.push(Finding::new(
            Grade::WayRound,
            name,
            format!(
                "{} turns about {}, but no hole is written there: it is only marked",
                words::spoken(name),
                words::spoken(mark)
            ),
            format!("write `hole.{mark} = {{ ream = \"{diameter} H7\" }}` in its part, or a `diameter` in [joint.{mark}]"),
        ));
    }
}

/// Two parts or rods meet at a point, neither of them about an eccentric, none of them in a slot.
fn is_joint(machine: &Machine, point: PointId) -> bool {
    let others = machine
        .parts
        .iter()
        .filter(|p| p.carries.contains(&point))
        .count();
    let rods = machine
        .rods
        .iter()
        .filter(|r| r.joins.contains(&point))
        .count();
    // The centre of an eccentric is no hole, and a pin in a slot is none of the slotted part's.
    let turned = machine
        .parts
        .iter()
        .any(|p| p.kind == PartKind::Shaft && p.carries.contains(&point));
    others + rods >= 2 && !turned
}

/// Points where parts turn about a pin of their own, and its diameter.
pub(crate) fn pins(machine: &Machine) -> Vec<(PointId, f64)> {
    let all = 0..machine.points.len();
    all.filter(|&p| is_joint(machine, p))
        .filter_map(|p| Some((p, joint_size(machine, p)?)))
        .collect()
}

/// A joint's pin goes through every part that meets there.
fn default_hole(machine: &Machine, of: &Of, point: PointId) -> Option<Fitted> {
    if !matches!(of, Of::Part(_) | Of::Frame(_)) {
        return None;
    }
    if !is_joint(machine, point) {
        return None;
    }
    let size = h7(joint_size(machine, point)?)?;
    Some(Fitted::Plain {
        cut: Cut::Ream,
        size,
    })
}

fn slots(
    machine: &Machine,
    part: Option<PartId>,
    shape: &making::Plate,
    axes: &Axes,
    plate: &mut Plate,
) {
    for s in &shape.slots {
        plate.slots.push(Slot {
            name: s.name.clone(),
            ends: s.ends,
            centre: s.centre,
            width: s.width.0,
            class: s.width.1.clone(),
            depth: s.depth,
        });
    }
    for (i, slot) in machine.slots.iter().enumerate() {
        if Some(slot.within) != part || shape.slots.iter().any(|s| s.name == slot.name) {
            continue;
        }
        let at = |p: PointId| machine.points.get(p).map(|p| axes.place([p.x, p.y]));
        let (Some(a), Some(b)) = (at(slot.ends[0]), at(slot.ends[1])) else {
            continue;
        };
        let joint = machine
            .work
            .joints
            .iter()
            .find(|j| j.at == JointAt::Slot(i));
        let Some(width) = joint
            .and_then(|j| j.diameter)
            .or_else(|| joint_size(machine, slot.pin))
        else {
            continue;
        };
        // A flat that something rides on outside the plate is no slot.
        if plate.outline.holds(a) && plate.outline.holds(b) {
            plate.slots.push(Slot {
                name: slot.name.clone(),
                ends: [a, b],
                centre: slot.centre.and_then(at),
                width,
                class: of_class(width, "H9"),
                depth: None,
            });
        }
    }
}

/// Where a line from a place in a direction leaves the outline last.
fn enters(outline: &Contour, at: P, angle: f64) -> Option<P> {
    let d = [angle.cos(), angle.sin()];
    let mut far: Option<f64> = None;
    let mut take = |t: f64| {
        if t > -1e-9 {
            far = Some(far.map_or(t, |f: f64| f.max(t)));
        }
    };
    for side in outline.sides() {
        match side {
            Side::Line { from, to } => {
                let e = [to[0] - from[0], to[1] - from[1]];
                let det = d[0] * e[1] - d[1] * e[0];
                if det.abs() > 1e-12 {
                    let w = [from[0] - at[0], from[1] - at[1]];
                    let t = (w[0] * e[1] - w[1] * e[0]) / det;
                    let s = (w[0] * d[1] - w[1] * d[0]) / det;
                    if (-1e-9..=1.0 + 1e-9).contains(&s) {
                        take(t);
                    }
                }
            }
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } => {
                let w = [at[0] - centre[0], at[1] - centre[1]];
                let b = w[0] * d[0] + w[1] * d[1];
                let c = w[0] * w[0] + w[1] * w[1] - radius * radius;
                let root = b * b - c;
                if root >= 0.0 {
                    for t in [-b - root.sqrt(), -b + root.sqrt()] {
                        let p = [w[0] + t * d[0], w[1] + t * d[1]];
                        let a = p[1].atan2(p[0]);
                        let along = if sweep > 0.0 { a - from } else { from - a };
                        if along.rem_euclid(std::f64::consts::TAU) <= sweep.abs() + 1e-9 {
                            take(t);
                        }
                    }
                }
            }
        }
    }
    far.map(|t| [at[0] + t * d[0], at[1] + t * d[1]])
}
