//! The parts of a machine as outlines that move with its bodies.

use super::across::{self, Laid, Planes, Prism};
use super::outline::{Outline, P, Placed, Stands};
use crate::answers::OutlineOf;
use crate::assemble::Model;
use crate::load::rig::Rig;
use crate::load::stock::shaft_ends;
use crate::run::Here;
use machine::making::{Of, Shape as Piece};
use machine::model::{FRAME, PartId, PartKind, PointId, Ratio, RatioKind};
use machine::work::{Section, Stock};
use mechanics::model::{AnchorId, Constraint, Plane};
use shop::part::Form;

/// What an outline moves with.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Carried {
    /// A part.
    Part(PartId),
    /// A rod: from the one anchor towards the other.
    Rod(usize, [AnchorId; 2]),
    /// A plate of the frame: the piece with this index.
    Plate(usize),
}

/// A part or rod.
pub(super) struct Shape {
    pub(super) name: String,
    carried: Carried,
    /// In the body's own axes; of a rod from its first end along it.
    outline: Outline,
    /// Holes and slots through it, in the same axes: what of another plane goes through them does not meet it.
    open: Vec<Outline>,
    /// The plane in whose coordinates it is placed: of parallel planes the first.
    pub(super) plane: usize,
    /// From its own plane to that one, where they differ.
    laid: Option<Laid>,
    /// From and to along that plane's third direction, mm.
    pub(super) depth: [f64; 2],
    /// Its points say a station.
    pub(super) layer_known: bool,
    /// It is as its outline all through its depth; not what is bent after it was cut, nor a rod that leaves its layer.
    pub(super) prism: bool,
}

impl Shape {
    /// Nobody's outline in a plane, with nothing known of its depth.
    fn of(outline: Outline, plane: usize) -> Self {
        Self {
            name: String::new(),
            carried: Carried::Plate(usize::MAX),
            outline,
            open: Vec::new(),
            plane,
            laid: None,
            depth: [0.0; 2],
            layer_known: false,
            prism: true,
        }
    }

    /// The frame does not move.
    pub(super) fn still(&self) -> bool {
        matches!(self.carried, Carried::Plate(_))
    }

    /// Two shapes of one thing: a plate and its hub.
    pub(super) fn same(&self, other: &Self) -> bool {
        self.carried == other.carried
    }

    /// Where it stands.
    pub(super) fn placed(&self, model: &Model, here: &Here) -> Option<Placed<'_>> {
        let stands = match self.carried {
            Carried::Part(part) => {
                let p = here.poses.get(part)?;
                Stands {
                    at: [p.x, p.y],
                    turn: p.angle,
                }
            }
            // Its corners are kept in its plane.
            Carried::Plate(_) => Stands::default(),
            Carried::Rod(_, ends) => {
                let [a, b] = ends.map(|e| model.mechanism.in_plane(&here.params, &here.poses, e));
                Stands {
                    at: a,
                    turn: (b[1] - a[1]).atan2(b[0] - a[0]),
                }
            }
        };
        let placed = self.outline.placed(stands);
        Some(match self.laid {
            Some(laid) => placed.laid(|p| laid.place(p)),
            None => placed,
        })
    }

    /// A plate of the frame, where it stands.
    pub(super) fn stands_still(&self) -> Option<Prism> {
        if !self.still() {
            return None;
        }
        let placed = self.outline.placed(Stands::default());
        Some(self.prism(&match self.laid {
            Some(laid) => placed.laid(|p| laid.place(p)),
            None => placed,
        }))
    }

    /// The same as a body in space.
    pub(super) fn prism(&self, placed: &Placed<'_>) -> Prism {
        let stands = placed.stands();
        let open = self.open.iter().map(|o| {
            let put = o.placed(stands);
            let put = match self.laid {
                Some(laid) => put.laid(|p| laid.place(p)),
                None => put,
            };
            put.corners().to_vec()
        });
        Prism {
            rings: std::iter::once(placed.corners().to_vec())
                .chain(open)
                .collect(),
            depth: self.depth,
        }
    }
}

/// Outlines of all parts and rods, and what was left out.
pub(super) fn shapes(model: &Model) -> (Vec<Shape>, Vec<String>) {
    let machine = &model.machine;
    let (made, _) = shop::resolve::parts(machine, &crate::cams::shapes(model));
    let rig = Rig::new(model);
    let (mut all, mut left_out) = (Vec::new(), Vec::new());
    let more = wheels(model);
    plates(model, &made, &mut all, &mut left_out);
    for (id, part) in machine.parts.iter().enumerate() {
        if id == FRAME {
            continue;
        }
        let (middle, layer_known) = depth_of(
            model,
            machine.work.parts.get(id).and_then(|m| m.station),
            &part.carries,
        );
        let plane = part.plane;
        if part.kind == PartKind::Shaft {
            let round = machine
                .work
                .parts
                .get(id)
                .and_then(|m| radius(m.stock.as_ref()));
            let ends = shaft_ends(&rig, id);
            let outline = round.and_then(Outline::circle);
            match (outline, ends) {
                (Some(outline), Some(depth)) => all.push(Shape {
                    name: part.name.clone(),
                    carried: Carried::Part(id),
                    depth,
                    layer_known: true,
                    ..Shape::of(outline, plane)
                }),
                _ => left_out.push(format!("{}: no round stock, or no length", part.name)),
            }
            continue;
        }
        let cut = made.iter().find(|m| m.name == part.name);
        let (
            Some(shop::Part {
                form: Form::Plate(plate),
                ..
            }),
            Some(own),
        ) = (cut, own_axes(model, id))
        else {
            if !more.iter().any(|s| s.carried == Carried::Part(id)) {
                left_out.push(format!(
                    "{}: its outline is not known; give it a `stock`",
                    part.name
                ));
            }
            continue;
        };
        // Of a cam the flank is what moves, not the disc that it is cut from.
        if machine.cams.iter().any(|c| c.part == id && !c.track) {
            continue;
        }
        let outline = Outline::of(&plate.outline).and_then(|o| o.shifted(own));
        match outline {
            Some(outline) => all.push(Shape {
                name: part.name.clone(),
                carried: Carried::Part(id),
                open: open(plate, own),
                depth: [
                    middle - 0.5 * plate.thickness,
                    middle + 0.5 * plate.thickness,
                ],
                layer_known,
                prism: plate.bends.is_empty(),
                ..Shape::of(outline, plane)
            }),
            None => left_out.push(format!("{}: its outline does not close", part.name)),
        }
        let held = Held {
            name: &part.name,
            plate,
            carried: Carried::Part(id),
            own,
            plane,
            middle,
            behind: false,
            layer_known,
        };
        hubs(&held, &mut all);
    }
    all.extend(more);
    for (i, joint) in model.joints.iter().enumerate() {
        let crate::assemble::Joint::Rod(rod) = *joint else {
            continue;
        };
        let Some(&Constraint::Rod { a, b, length }) = model.mechanism.constraints.get(i) else {
            continue;
        };
        let name = format!("rod {}", machine.rods[rod].name);
        let planes = [a, b].map(|e| model.mechanism.anchors[e].plane);
        if planes[0] != planes[1] {
            left_out.push(format!("{name}: it leaves its plane"));
            continue;
        }
        let stock = machine.work.rods.get(rod).and_then(|m| m.stock.as_ref());
        let own = machine.work.rods.get(rod).and_then(|m| m.station);
        let stations = machine.rods[rod]
            .joins
            .map(|p| own.unwrap_or_else(|| station(model, p)));
        let apart = stations[1] - stations[0];
        let long = model.mechanism.params[length];
        let flat = (long * long - apart * apart).max(0.0).sqrt();
        let (half, thick) = match stock.map(|s| s.section) {
            Some(Section::Flat([t, w])) => (0.5 * w, 0.5 * t),
            Some(Section::Round(d) | Section::Tube([d, _]) | Section::Square(d)) => {
                (0.5 * d, 0.5 * d)
            }
            // Across its corners: it lies as it likes.
            Some(Section::Hexagon(a)) => {
                let half = 0.5 * machine::work::across_corners(6, a);
                (half, half)
            }
            None => {
                left_out.push(format!("{name}: its stock is not known"));
                continue;
            }
        };
        if let Some(outline) = Outline::capsule(flat, half) {
            all.push(Shape {
                name,
                carried: Carried::Rod(rod, [a, b]),
                depth: [
                    stations[0].min(stations[1]) - thick,
                    stations[0].max(stations[1]) + thick,
                ],
                layer_known: own.is_some() || stations.iter().any(|s| *s != 0.0),
                prism: apart.abs() < 1e-9,
                ..Shape::of(outline, planes[0])
            });
        }
    }
    for shape in &mut all {
        lay(model, shape);
    }
    (all, left_out)
}

/// What lies in a plane that is parallel to an earlier one is told in the coordinates of that.
fn lay(model: &Model, shape: &mut Shape) {
    let planes = &model.mechanism.planes;
    let Some(own) = planes.get(shape.plane) else {
        return;
    };
    let parallel = |p: &&Plane| across::planes(p, own) == Planes::Parallel;
    let Some((base, plane)) = planes.iter().enumerate().find(|(_, p)| parallel(p)) else {
        return;
    };
    if base == shape.plane {
        return;
    }
    let (laid, [turned, off]) = across::beside(own, plane);
    let ends = shape.depth.map(|z| off + turned * z);
    shape.depth = [ends[0].min(ends[1]), ends[0].max(ends[1])];
    (shape.plane, shape.laid) = (base, Some(laid));
}

/// Holes and slots that go through a plate.
fn open(plate: &shop::part::Plate, own: Stands) -> Vec<Outline> {
    let holes = plate.holes.iter().filter(|h| h.blind.is_none());
    let holes = holes.map(|h| {
        Outline::circle(0.5 * shop::part::open(&h.fitted)).and_then(|o| {
            o.shifted(Stands {
                at: h.at,
                turn: 0.0,
            })
        })
    });
    let slots = plate.slots.iter().filter(|s| s.depth.is_none());
    let slots = slots.map(|s| Outline::of(&s.outline()));
    let all = holes.chain(slots).flatten();
    all.filter_map(|o| o.shifted(own)).collect()
}

/// Plates of the frame, in their plane.
fn plates(model: &Model, made: &[shop::Part], all: &mut Vec<Shape>, left_out: &mut Vec<String>) {
    let machine = &model.machine;
    for (k, piece) in machine.work.making.pieces.iter().enumerate() {
        let Of::Frame(points) = &piece.of else {
            continue;
        };
        let plate = made
            .iter()
            .find(|m| m.name == piece.name)
            .and_then(|m| match &m.form {
                Form::Plate(plate) => Some(plate),
                Form::Turned(_) => None,
            });
        let first = points.first().and_then(|&p| machine.points.get(p));
        let (Some(plate), Some(first)) = (plate, first) else {
            left_out.push(format!("{}: its outline is not known", piece.name));
            continue;
        };
        let own = Stands {
            at: [first.x, first.y],
            turn: 0.0,
        };
        let (at, known) = depth_of(model, None, points);
        let (stations, known) = if piece.stations.is_empty() {
            (vec![at], known)
        } else {
            (piece.stations.clone(), true)
        };
        if let Some(outline) = Outline::of(&plate.outline).and_then(|o| o.shifted(own)) {
            for middle in stations {
                all.push(Shape {
                    name: piece.name.clone(),
                    carried: Carried::Plate(k),
                    open: open(plate, own),
                    depth: [
                        middle - 0.5 * plate.thickness,
                        middle + 0.5 * plate.thickness,
                    ],
                    layer_known: known,
                    prism: plate.bends.is_empty(),
                    ..Shape::of(outline.clone(), first.plane)
                });
                let held = Held {
                    name: &piece.name,
                    plate,
                    carried: Carried::Plate(k),
                    own,
                    plane: first.plane,
                    middle,
                    behind: shop::resolve::behind(piece, middle),
                    layer_known: known,
                };
                hubs(&held, all);
            }
        } else {
            left_out.push(format!("{}: its outline does not close", piece.name));
        }
    }
}

/// A place of a plane as drawn, in the axes of a part.
fn in_body(model: &Model, part: PartId, [x, y]: P) -> Option<P> {
    let drawn = model.mechanism.drawn.get(part)?;
    let (s, c) = drawn.angle.sin_cos();
    let (x, y) = (x - drawn.x, y - drawn.y);
    Some([c * x + s * y, c * y - s * x])
}

/// A plate as it is made, where it stands.
struct Held<'p> {
    name: &'p str,
    plate: &'p shop::part::Plate,
    carried: Carried,
    /// Its own axes in those of its body.
    own: Stands,
    plane: usize,
    middle: f64,
    /// It is turned about, so that its hubs stand on its lower face.
    behind: bool,
    layer_known: bool,
}

/// Hubs that stand out of a plate: on its upper face as the papers have them made, unless it stands behind its twin.
fn hubs(held: &Held<'_>, all: &mut Vec<Shape>) {
    let half = 0.5 * held.plate.thickness;
    for end in &held.plate.ends {
        let Some(long) = end.hub else { continue };
        let outline = Outline::circle(end.radius).and_then(|o| {
            o.shifted(Stands {
                at: end.at,
                turn: 0.0,
            })
        });
        if let Some(outline) = outline.and_then(|o| o.shifted(held.own)) {
            all.push(Shape {
                name: format!("{} (hub at {})", held.name, end.name),
                carried: held.carried,
                depth: if held.behind {
                    [held.middle + half - long, held.middle + half]
                } else {
                    [held.middle - half, held.middle - half + long]
                },
                layer_known: held.layer_known,
                ..Shape::of(outline, held.plane)
            });
        }
    }
}

/// Flanks of open cams, gears as far as their teeth reach, pulleys.
fn wheels(model: &Model) -> Vec<Shape> {
    let machine = &model.machine;
    let mut all = Vec::new();
    let thick = |part: PartId| {
        let stock = machine.work.parts.get(part)?.stock.as_ref()?;
        match stock.section {
            Section::Flat([t, _]) => Some(t),
            _ => None,
        }
    };
    // `at` is the station, and whether it is written.
    let mut add =
        |name: String, part: PartId, outline: Option<Outline>, at: (f64, bool), face: f64| {
            let (at, written) = at;
            if let (Some(outline), Some(made)) = (outline, machine.parts.get(part)) {
                all.push(Shape {
                    name,
                    carried: Carried::Part(part),
                    depth: [at - 0.5 * face, at + 0.5 * face],
                    layer_known: written || at != 0.0,
                    ..Shape::of(outline, made.plane)
                });
            }
        };
    let outlines = crate::cams::outlines(model);
    for lines in outlines.iter().filter(|o| o.what == OutlineOf::Cam) {
        let cam = machine.cams.iter().find(|c| c.name == lines.name);
        let Some(cam) = cam.filter(|c| !c.track) else {
            continue;
        };
        let corners: Option<Vec<P>> = lines.lines.first().map(|flank| {
            flank
                .iter()
                .filter_map(|&p| in_body(model, cam.part, p))
                .collect()
        });
        let face = cam.face.or_else(|| thick(cam.part)).unwrap_or(0.0);
        let own = machine.work.parts.get(cam.part).and_then(|m| m.station);
        let at = own.unwrap_or_else(|| station(model, cam.roller));
        add(
            machine.parts[cam.part].name.clone(),
            cam.part,
            corners.and_then(Outline::new),
            (at, own.is_some()),
            face.max(1e-3),
        );
    }
    for ratio in &machine.ratios {
        // Outside circle of a gear: (z + 2 + 2x) m / 2 (any handbook).
        let room = |k: usize| match (&ratio.teeth, &ratio.pulleys) {
            (Some(teeth), _) => {
                let radius = 0.5 * teeth.module * (ratio.sizes[k] + 2.0 + 2.0 * teeth.shift[k]);
                Some(("gear", radius, teeth.face))
            }
            (None, Some(pulleys)) => {
                Some(("pulley", 0.5 * pulleys.outside[k], Some(pulleys.width)))
            }
            (None, None) => None,
        };
        for (k, &part) in ratio.joins.iter().enumerate() {
            let centre = machine.parts.get(part).and_then(|p| {
                p.carries
                    .iter()
                    .find(|c| machine.parts[ratio.carrier].carries.contains(c))
            });
            let Some(point) = centre.and_then(|&c| machine.points.get(c)) else {
                continue;
            };
            let Some((what, radius, face)) = room(k) else {
                continue;
            };
            let outline = Outline::circle(radius)
                .zip(in_body(model, part, [point.x, point.y]))
                .and_then(|(o, at)| o.shifted(Stands { at, turn: 0.0 }));
            let face = face.or_else(|| thick(part)).unwrap_or(0.0);
            let name = format!("{what} {} of {}", machine.parts[part].name, ratio.name);
            let own = ratio.pulleys.and_then(|p| p.station);
            let own = own.or_else(|| machine.work.parts.get(part)?.station);
            add(
                name,
                part,
                outline,
                (own.unwrap_or(point.station), own.is_some()),
                face.max(1e-3),
            );
        }
    }
    all
}

/// The middle of a thickness, and whether anything says it: the part's own station, else the mean of those of its points.
fn depth_of(model: &Model, own: Option<f64>, points: &[PointId]) -> (f64, bool) {
    let all: Vec<f64> = points.iter().map(|&p| station(model, p)).collect();
    let mean = all.iter().sum::<f64>() / all.len().max(1) as f64;
    (
        own.unwrap_or(mean),
        own.is_some() || all.iter().any(|s| *s != 0.0),
    )
}

fn station(model: &Model, point: PointId) -> f64 {
    model.machine.points.get(point).map_or(0.0, |p| p.station)
}

fn radius(stock: Option<&Stock>) -> Option<f64> {
    match stock?.section {
        Section::Round(d) | Section::Tube([d, _]) => Some(0.5 * d),
        Section::Square(a) => Some(0.5 * machine::work::across_corners(4, a)),
        Section::Hexagon(a) => Some(0.5 * machine::work::across_corners(6, a)),
        Section::Flat(_) => None,
    }
}

/// The plate's own coordinates (first point, towards the second; upright ones as drawn) in the axes of its body.
fn own_axes(model: &Model, part: PartId) -> Option<Stands> {
    let machine = &model.machine;
    let piece = machine
        .work
        .making
        .pieces
        .iter()
        .find(|p| p.of == Of::Part(part));
    let upright = matches!(piece.map(|p| &p.shape), Some(Piece::Plate(plate)) if plate.upright);
    // The pieces' datum: of an arm the centre of its shaft.
    let points = shop::resolve::points_of(machine, &Of::Part(part));
    let flat = |p: PointId| machine.points.get(p).map(|p| [p.x, p.y]);
    let origin: P = flat(*points.first()?)?;
    let turn = match points.get(1).and_then(|&p| flat(p)) {
        Some(to) if !upright => (to[1] - origin[1]).atan2(to[0] - origin[0]),
        _ => 0.0,
    };
    let drawn = model.mechanism.drawn.get(part)?;
    let (s, c) = drawn.angle.sin_cos();
    let (x, y) = (origin[0] - drawn.x, origin[1] - drawn.y);
    Some(Stands {
        at: [c * x + s * y, c * y - s * x],
        turn: turn - drawn.angle,
    })
}

/// Pairs that share a joint and lie in one layer by their stations: one of them goes through the other, or is let into it.
pub(super) fn over_one_another(model: &Model, shapes: &[Shape]) -> Vec<String> {
    let mut all = Vec::new();
    for (i, a) in shapes.iter().enumerate() {
        for b in &shapes[i + 1..] {
            let apart = a.plane != b.plane || a.depth[0] >= b.depth[1] || b.depth[0] >= a.depth[1];
            let seen = (a.still() && b.still()) || a.same(b) || apart;
            if !seen && follows(model, a, b) && joined(model, a, b) {
                all.push(format!(
                    "{} and {}: the one follows the cam of the other and both lie in one layer as nothing is written, so that they are not looked at; an arm lies beside its cam: write their `station`",
                    a.name, b.name
                ));
            } else if !seen && (a.still() || b.still()) && joined(model, a, b) {
                all.push(format!(
                    "{} and {}: they share a joint and lie in one layer, so that they are not looked at; write their `station`",
                    a.name, b.name
                ));
            }
        }
    }
    all
}

/// Both are no more than the toothed wheels of a pair, which mesh by design; an arm or a cam on their shafts is.
fn mesh(model: &Model, ratio: &Ratio, parts: [PartId; 2], outlines: [&Outline; 2]) -> bool {
    if !matches!(ratio.kind, RatioKind::Gear | RatioKind::InternalGear) {
        return false;
    }
    let machine = &model.machine;
    let centre = |part: PartId| {
        let carried = &machine.parts.get(ratio.carrier)?.carries;
        let own = &machine.parts.get(part)?.carries;
        let point = own.iter().find(|c| carried.contains(c))?;
        machine.points.get(*point).map(|p| [p.x, p.y])
    };
    let ends = ratio.joins.map(centre);
    let [Some(a), Some(b)] = ends else {
        return true;
    };
    let apart = (a[0] - b[0]).hypot(a[1] - b[1]);
    let sum = match ratio.kind {
        RatioKind::InternalGear => (ratio.sizes[0] - ratio.sizes[1]).abs(),
        _ => ratio.sizes[0] + ratio.sizes[1],
    };
    (0..2).all(|k| {
        let Some(side) = ratio.joins.iter().position(|p| *p == parts[k]) else {
            return false;
        };
        let module = ratio.teeth.as_ref().map_or(2.0 * apart / sum, |t| t.module);
        let shift = ratio.teeth.as_ref().map_or(0.0, |t| t.shift[side]);
        let tip = 0.5 * module * (ratio.sizes[side] + 2.0 + 2.0 * shift);
        // The ring about internal teeth goes as far out as it likes.
        let ring =
            ratio.kind == RatioKind::InternalGear && ratio.sizes[side] > ratio.sizes[1 - side];
        let at = [a, b][side];
        ring || in_body(model, parts[k], at)
            .is_some_and(|at| outlines[k].farthest(at) <= tip * (1.0 + 1e-3))
    })
}

/// The one carries a cam that the other rides on.
fn follows(model: &Model, a: &Shape, b: &Shape) -> bool {
    let (Carried::Part(a), Carried::Part(b)) = (a.carried, b.carried) else {
        return false;
    };
    let mut cams = model.machine.cams.iter();
    cams.any(|c| (c.part, c.of) == (a, b) || (c.of, c.part) == (a, b))
}

/// Two shapes share a joint: they touch there by design.
pub(super) fn joined(model: &Model, a: &Shape, b: &Shape) -> bool {
    let machine = &model.machine;
    let points = |shape: &Shape| -> Vec<PointId> {
        match shape.carried {
            Carried::Part(part) => {
                let mut all = machine
                    .parts
                    .get(part)
                    .map_or_else(Vec::new, |p| p.carries.clone());
                let shaft = machine.parts.get(part).and_then(|p| p.clamped_to);
                let centre = shaft.and_then(|s| machine.parts.get(s)?.carries.first());
                all.extend(centre);
                all
            }
            Carried::Rod(rod, _) => machine.rods[rod].joins.into(),
            Carried::Plate(piece) => match machine.work.making.pieces.get(piece).map(|p| &p.of) {
                Some(Of::Frame(points)) => points.clone(),
                _ => Vec::new(),
            },
        }
    };
    // A plate of the frame touches at a joint only what of it lies about the joint: its feet and stops stand free.
    let about = |shape: &Shape, point: PointId| {
        let Some(at) = machine.points.get(point).filter(|_| shape.still()) else {
            return true;
        };
        let placed = shape.outline.placed(Stands::default());
        placed.reaches([at.x, at.y], 0.0)
    };
    let shared = points(b);
    if points(a)
        .iter()
        .any(|&p| shared.contains(&p) && about(a, p) && about(b, p))
    {
        return true;
    }
    // By design only roller and flank touch. Where it is written in which layers they lie, an arm that lies beside nothing meets its cam.
    if follows(model, a, b) {
        return !(a.layer_known && b.layer_known);
    }
    let (outlines, (Carried::Part(a), Carried::Part(b))) =
        ([&a.outline, &b.outline], (a.carried, b.carried))
    else {
        return false;
    };
    let both = |x: PartId, y: PartId| (x, y) == (a, b) || (y, x) == (a, b);
    machine.genevas.iter().any(|g| both(g.driver, g.wheel))
        || machine.slides.iter().any(|s| both(s.part, s.on))
        || machine.slots.iter().any(|s| both(s.of, s.within))
        || machine
            .ratios
            .iter()
            .any(|r| both(r.joins[0], r.joins[1]) && mesh(model, r, [a, b], outlines))
        || machine.racks.iter().any(|r| {
            let rack = machine.slides.get(r.slide).map(|s| s.part);
            rack.is_some_and(|rack| both(r.gear, rack))
        })
}
