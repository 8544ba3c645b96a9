//! From what the machine file says to parts as they are made: points become holes, stock becomes outlines.

use crate::contour::{Contour, P, Side};
use crate::finding::{Finding, Grade};
use crate::part::{
    Bore, Cross, EdgeHole, Fork, Form, Hole, Part, Plate, RoundEnd, Slot, Step, Turned, diameter,
};
use crate::rods;
use crate::words;
use elements::fits_iso::{self, Class};
use machine::Machine;
use machine::fitting::{Cut, Fitted, HeldBy, Sized};
use machine::making::{self, Of, Outline, Piece, Shape, Towards};
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::{JointAt, Material, Section, Stock, ToleranceOf};
use std::collections::BTreeMap;

/// Everything that is made, in the order of the file: pieces, parts with stock alone, rods, bushings, hub rings.
pub fn parts(machine: &Machine) -> (Vec<Part>, Vec<Finding>) {
    let mut all = Vec::new();
    let mut findings = Vec::new();
    for piece in &machine.work.making.pieces {
        if let Some(part) = of_piece(machine, piece, &mut findings) {
            all.push(part);
        }
    }
    let pieces = &machine.work.making.pieces;
    for (id, part) in machine.parts.iter().enumerate().skip(1) {
        if pieces.iter().any(|p| p.of == Of::Part(id)) {
            continue;
        }
        let Some(stock) = machine.work.parts.get(id).and_then(|m| m.stock.as_ref()) else {
            continue;
        };
        match (part.kind, stock.section) {
            (PartKind::Part, Section::Flat(size)) => {
                let shape = making::Plate::default();
                let form = plate(
                    machine,
                    &Of::Part(id),
                    &shape,
                    size,
                    &part.name,
                    &mut findings,
                );
                all.push(made(machine, &part.name, 1, "", stock, Form::Plate(form)));
            }
            _ => findings.push(Finding::new(
                Grade::Cannot,
                &part.name,
                format!("{} has stock but no shape", words::spoken(&part.name)),
                format!("write [piece.{}] with its steps", part.name),
            )),
        }
    }
    for (index, rod) in machine.rods.iter().enumerate() {
        if pieces.iter().any(|p| p.of == Of::Rod(index)) {
            continue;
        }
        let Some(made_of) = machine.work.rods.get(index) else {
            continue;
        };
        let Some(stock) = &made_of.stock else {
            continue;
        };
        match rods::bar(machine, rod, made_of) {
            Ok(turned) => {
                let mut part = made(machine, &rod.name, 1, "", stock, Form::Turned(turned));
                part.assumed.push(rods::TAKEN.to_owned());
                all.push(part);
            }
            Err(why) => findings.push(Finding::new(
                Grade::Cannot,
                &rod.name,
                format!(
                    "the bar of rod {} has no length: {why}",
                    words::spoken(&rod.name)
                ),
                format!("write `rod-ends`, or [piece.{}] with its steps", rod.name),
            )),
        }
    }
    rings(&mut all);
    bushings(machine, &mut all);
    (all, findings)
}

fn made(
    machine: &Machine,
    name: &str,
    count: usize,
    note: &str,
    stock: &Stock,
    form: Form,
) -> Part {
    let material = machine.work.materials.get(stock.material).cloned();
    let mut assumed = Vec::new();
    if let Form::Plate(p) = &form {
        let mut taken: Vec<&str> = Vec::new();
        for h in &p.holes {
            if let Fitted::Plain { size, .. } = &h.fitted
                && size.assumed
                && !taken.contains(&size.class.as_str())
            {
                taken.push(&size.class);
            }
        }
        if !taken.is_empty() {
            assumed.push(format!(
                "Holes without a class of their own are taken as {}.",
                taken.join(", ")
            ));
        }
    }
    let mut section = stock.section;
    if let (Form::Plate(p), Section::Flat([t, w])) = (&form, section) {
        let [low, high] = p.outline.bounds();
        let narrow = (high[0] - low[0]).min(high[1] - low[1]);
        if narrow > w + 0.01 {
            let wide = ((narrow + 2.0) / 5.0).ceil() * 5.0;
            section = Section::Flat([t, wide]);
            assumed.push(format!(
                "Its outline is {} across and does not come out of {} wide stock: it is cut from plate {} wide.",
                words::number(narrow, 1),
                words::number(w, 2),
                words::number(wide, 0)
            ));
        }
    }
    if let (Form::Turned(t), Section::Round(d)) = (&form, section) {
        // Drawn bar is never over its nominal size: a step that has to be is turned from the next one.
        let over = t
            .steps
            .iter()
            .filter(|s| s.throw.is_none() && s.diameter >= d - 1e-6)
            .find_map(|s| s.class.as_ref().filter(|c| c.limits.upper > 0.0));
        if let Some(class) = over {
            let wide = bar_for(d + 1.0);
            section = Section::Round(wide);
            assumed.push(format!(
                "⌀{} {} is more than bar {} measures: it is turned from round {}.",
                words::number(d, 2),
                class.class,
                words::number(d, 2),
                words::number(wide, 2)
            ));
        }
    }
    Part {
        name: name.to_owned(),
        count,
        note: note.to_owned(),
        material: material.unwrap_or_else(|| grade_named("steel")),
        section,
        form,
        assumed,
    }
}

/// A bearing material by its name among the grades, for parts that no stock names.
pub(crate) fn grade_named(name: &str) -> Material {
    let row = elements::materials::find(name).ok();
    Material {
        name: name.to_owned(),
        modulus: row.map_or(207_000.0, |r| r.youngs),
        shear: row.map_or(79_300.0, elements::materials::Material::shear_modulus),
        density: row.map_or(7.85e-6, |r| r.density),
        source: row.map_or("common practice", |r| r.source.text),
        poisson: row.map_or(0.3, |r| r.poisson),
        expansion: row.map(|r| r.expansion),
        yields: row.and_then(|r| r.yields),
        tensile: row.map(|r| r.tensile),
        taken_as: None,
        strength_source: row.map(|r| r.source),
    }
}

fn of_piece(machine: &Machine, piece: &Piece, findings: &mut Vec<Finding>) -> Option<Part> {
    let from = match &piece.of {
        Of::Part(part) => machine.work.parts.get(*part)?.stock.as_ref(),
        Of::Rod(rod) => machine.work.rods.get(*rod)?.stock.as_ref(),
        Of::Frame(_) => machine.work.frame.as_ref(),
        Of::Loose => None,
    };
    let stock = piece.stock.as_ref().or(from)?;
    let form = match (&piece.shape, stock.section) {
        (Shape::Plate(shape), Section::Flat(size)) => Form::Plate(plate(
            machine,
            &piece.of,
            shape,
            size,
            &piece.name,
            findings,
        )),
        (Shape::Turned(shape), _) => {
            off_the_bar(machine, piece, shape, findings);
            Form::Turned(turned(shape))
        }
        _ => return None,
    };
    Some(made(
        machine,
        &piece.name,
        piece.count,
        &piece.note,
        stock,
        form,
    ))
}

/// A shaft that carries a hole beside its own bar.
fn off_the_bar(
    machine: &Machine,
    piece: &Piece,
    shape: &making::Turned,
    findings: &mut Vec<Finding>,
) {
    let Of::Part(part) = piece.of else { return };
    for hole in machine.work.holes.iter().filter(|h| h.part == part) {
        let turned_about = shape
            .steps
            .iter()
            .any(|s| s.offset.is_some_and(|o| o.point == Some(hole.point)));
        if !turned_about {
            let name = machine
                .points
                .get(hole.point)
                .map_or("", |p| p.name.as_str());
            findings.push(Finding::new(
                Grade::Cannot,
                &piece.name,
                format!(
                    "the hole at {} is not on the turned part",
                    words::spoken(name)
                ),
                "make what carries it a part of its own, `clamped-to` this shaft",
            ));
        }
    }
}

fn turned(shape: &making::Turned) -> Turned {
    let mut at = 0.0;
    let steps = shape.steps.iter().map(|s| {
        let from = at;
        at += s.length;
        Step {
            from,
            to: at,
            diameter: s.diameter.0,
            class: s.diameter.1.clone(),
            thread: s.thread.clone(),
            relief: s.relief,
            throw: s.offset.map(|o| [o.throw, o.angle]),
            chamfer: s.chamfer.unwrap_or(0.0),
        }
    });
    let steps = steps.collect();
    let bore = |b: &making::EndBore| Bore {
        left: b.from == making::Side::Left,
        fitted: b.fitted.clone(),
        blind: b.length,
        throw: b.offset.map(|o| [o.throw, o.angle]),
    };
    let cross = |c: &making::CrossHole| Cross {
        name: c.name.clone(),
        at: c.at,
        from: c.from,
        fitted: c.fitted.clone(),
        blind: c.length,
    };
    Turned {
        steps,
        bores: shape.bores.iter().map(bore).collect(),
        grooves: shape.grooves.clone(),
        cross: shape.cross.iter().map(cross).collect(),
        flats: shape.flats.clone(),
    }
}

/// A part's own coordinates.
struct Axes {
    origin: P,
    turn: f64,
}

impl Axes {
    fn place(&self, at: P) -> P {
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

fn plate(
    machine: &Machine,
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
    for h in &shape.holes {
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
                blind: h.length.filter(|l| *l < thickness - 1e-9),
                through: thickness,
                counterbore: h.counterbore,
                countersink: h.countersink,
                place: None,
            });
        }
    }
    plate.outline = outline(&plate, shape, width, machine, &points, name, findings);
    // A point on the edge or off the plate stands for a face, not for a mark.
    let outline = &plate.outline;
    plate.marks.retain(|(_, at)| {
        outline.holds(*at)
            && outline
                .moved_out(-1.0)
                .is_some_and(|inner| inner.holds(*at))
    });
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
            depth: e.length.unwrap_or(far),
            fitted: e.fitted.clone(),
        });
    }
    outside(&plate, name, findings);
    plate
}

/// Holes that break out of their plate.
fn outside(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for h in &plate.holes {
        let r = diameter(&h.fitted) / 2.0;
        let near = plate
            .outline
            .sides()
            .iter()
            .flat_map(|s| {
                (0..=48)
                    .map(|i| s.at(f64::from(i) / 48.0))
                    .collect::<Vec<P>>()
            })
            .map(|p| (p[0] - h.at[0]).hypot(p[1] - h.at[1]))
            .fold(f64::INFINITY, f64::min);
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
    let blind = length.filter(|l| *l < plate.thickness - 1e-9 && !forked);
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

fn of_class(nominal: f64, text: &str) -> Option<Sized> {
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
    let nominal = joint_size(machine, centre).or(bar)?;
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

fn joint_size(machine: &Machine, point: PointId) -> Option<f64> {
    let joint = machine
        .work
        .joints
        .iter()
        .find(|j| j.at == JointAt::Point(point))?;
    joint.pin.as_ref().map(|p| p.nominal).or(joint.diameter)
}

/// A joint's pin goes through every part that meets there.
fn default_hole(machine: &Machine, of: &Of, point: PointId) -> Option<Fitted> {
    if !matches!(of, Of::Part(_) | Of::Frame(_)) {
        return None;
    }
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
    if others + rods < 2 || turned {
        return None;
    }
    let size = h7(joint_size(machine, point)?)?;
    Some(Fitted::Plain {
        cut: Cut::Ream,
        size,
    })
}

fn outline(
    plate: &Plate,
    shape: &making::Plate,
    width: f64,
    machine: &Machine,
    points: &[PointId],
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
            let _ = points;
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
    if corners.iter().all(|c| c.through.is_none()) {
        let plain: Vec<(P, f64)> = corners.iter().map(|c| (c.at, c.round)).collect();
        return Contour::rounded(&plain);
    }
    // The side that comes to a corner bulges through a place: it belongs to the corner before.
    let n = corners.len();
    let vertices = (0..n).map(|i| {
        let (a, b) = (corners[i], corners[(i + 1) % n]);
        let bulge = b.through.map_or(0.0, |m| bulge(a.at, m, b.at));
        crate::contour::Vertex { at: a.at, bulge }
    });
    Contour {
        vertices: vertices.collect(),
    }
    .counter_clockwise()
}

/// Bulge of the arc from `a` through `m` to `b`: the tangent of half the angle between chord and first half.
fn bulge(a: P, m: P, b: P) -> f64 {
    let (u, w) = ([a[0] - m[0], a[1] - m[1]], [b[0] - m[0], b[1] - m[1]]);
    let cross = u[0] * w[1] - u[1] * w[0];
    let dot = u[0] * w[0] + u[1] * w[1];
    // The angle at the middle place is half a turn less half the sweep.
    let inside = cross.abs().atan2(dot);
    let sweep = 2.0 * (std::f64::consts::PI - inside);
    let sign = if cross > 0.0 { -1.0 } else { 1.0 };
    sign * (sweep / 4.0).tan() * if cross == 0.0 { 0.0 } else { 1.0 }
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
            width: s.width.0,
            class: s.width.1.clone(),
            depth: s.depth,
        });
    }
    for (i, slot) in machine.slots.iter().enumerate() {
        if Some(slot.within) != part
            || slot.centre.is_some()
            || shape.slots.iter().any(|s| s.name == slot.name)
        {
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

/// Pin that centres a ring for brazing, mm.
const PIN: f64 = 6.0;

/// Rings that are brazed on where a hub is longer than its plate.
fn rings(all: &mut Vec<Part>) {
    let mut rings = Vec::new();
    for part in all.iter() {
        let Form::Plate(p) = &part.form else { continue };
        for end in p.ends.iter().filter(|e| !e.solid) {
            let Some(hub) = end.hub else { continue };
            let hole = p.holes.iter().find(|h| h.at == end.at);
            let d = hole.map_or(0.0, |h| diameter(&h.fitted));
            let length = hub - p.thickness;
            let mut ring = Turned {
                steps: vec![Step {
                    from: 0.0,
                    to: length,
                    diameter: 2.0 * end.radius,
                    class: None,
                    thread: None,
                    relief: false,
                    throw: None,
                    chamfer: 0.5,
                }],
                ..Turned::default()
            };
            // Left small for the pin that centres it: it is bored with the plate after brazing.
            if d > PIN + 1.0
                && let Some(size) = of_class(PIN, "H12")
            {
                ring.bores.push(Bore {
                    left: true,
                    fitted: Fitted::Plain {
                        cut: Cut::Drill,
                        size,
                    },
                    blind: None,
                    throw: None,
                });
            }
            rings.push(Part {
                name: format!("{}-hub", part.name),
                count: part.count,
                note: format!("brazed to {}, bored with it", words::spoken(&part.name)),
                material: part.material.clone(),
                section: Section::Round(bar_for(2.0 * end.radius)),
                form: Form::Turned(ring),
                assumed: vec![
                    "Its bore takes a 6 mm pin and is finished after brazing.".to_owned(),
                ],
            });
        }
    }
    all.extend(rings);
}

/// The bar a turned diameter comes out of.
pub(crate) fn bar_for(diameter: f64) -> f64 {
    let found = elements::stock::smallest(&elements::stock::ROUND_METRIC, diameter, 0.0);
    found
        .ok()
        .flatten()
        .unwrap_or((diameter / 10.0).ceil() * 10.0)
}

/// Pressed-in bushings of a material that is turned here.
fn bushings(machine: &Machine, all: &mut Vec<Part>) {
    let mut kinds: BTreeMap<String, (usize, Turned, String, f64)> = BTreeMap::new();
    for part in all.iter() {
        let Form::Plate(p) = &part.form else { continue };
        for h in &p.holes {
            let Fitted::Bushing {
                material,
                bore,
                outside: Some((outside, _)),
            } = &h.fitted
            else {
                continue;
            };
            let Some(grade) = grade(material.name) else {
                continue;
            };
            let length = h.blind.unwrap_or(h.through);
            let name = format!(
                "bushing-{}-{}-{}",
                words::number(bore.nominal, 2),
                words::number(outside.nominal, 2),
                words::number(length, 2)
            )
            .replace('.', "_");
            let step = Step {
                from: 0.0,
                to: length,
                diameter: outside.nominal,
                class: Some(outside.clone()),
                thread: None,
                relief: false,
                throw: None,
                chamfer: 0.8,
            };
            let turned = Turned {
                steps: vec![step],
                bores: vec![Bore {
                    left: false,
                    fitted: Fitted::Plain {
                        cut: Cut::Bore,
                        size: bore.clone(),
                    },
                    blind: None,
                    throw: None,
                }],
                ..Turned::default()
            };
            let entry = kinds.entry(format!("{name} {grade}")).or_insert((
                0,
                turned,
                grade.to_owned(),
                outside.nominal,
            ));
            entry.0 += part.count;
        }
    }
    let _ = machine;
    for (key, (count, turned, grade, outside)) in kinds {
        let name = key.split(' ').next().unwrap_or(&key).to_owned();
        all.push(Part {
            name,
            count,
            note: "pressed in; the bore closes a little".to_owned(),
            material: grade_named(&grade),
            section: Section::Round(bar_for(outside + 1.0)),
            form: Form::Turned(turned),
            assumed: Vec::new(),
        });
    }
}

/// The bar that a bushing material is turned from; none for those that are bought.
fn grade(bushing: &str) -> Option<&'static str> {
    match bushing {
        "cast bronze" => Some("C93200 bearing bronze"),
        "acetal" => Some("acetal"),
        "nylon" => Some("nylon 6/6"),
        _ => None,
    }
}
