//! Parts as they are made: sizes and places in their own coordinates, nothing of the machine round them. mm and rad.

use crate::cams::CamCut;
use crate::contour::{Contour, P, Side};
use crate::gears::Teeth;
use machine::fitting::{Cut, Fitted, Sized};
use machine::making::{Flats, Groove};
use machine::work::{Material, Section};
use quantity::Thread;

/// A part that is made.
#[derive(Clone, Debug)]
pub struct Part {
    /// Name; each is there once.
    pub name: String,
    /// How many are wanted.
    pub count: usize,
    /// A line for the drawing, or empty.
    pub note: String,
    /// Material.
    pub material: Material,
    /// Stock it is cut from.
    pub section: Section,
    /// What it looks like.
    pub form: Form,
    /// What was taken for granted, each a sentence.
    pub assumed: Vec<String>,
    /// Teeth that are cut on it.
    pub teeth: Option<Teeth>,
    /// Seats of what holds it on its shaft, or its arms on it.
    pub joined: Vec<crate::joined::Joined>,
}

/// What a part looks like.
#[expect(
    clippy::large_enum_variant,
    reason = "there is one a part, and most are plates"
)]
#[derive(Clone, Debug)]
pub enum Form {
    /// Cut from plate or flat bar.
    Plate(Plate),
    /// Turned from bar.
    Turned(Turned),
}

/// A plate.
#[derive(Clone, Debug, Default)]
pub struct Plate {
    /// Thickness.
    pub thickness: f64,
    /// Outline; the origin is the datum.
    pub outline: Contour,
    /// The datum is a hole (else a corner or an edge).
    pub datum_hole: bool,
    /// Round ends, the datum's first.
    pub ends: Vec<RoundEnd>,
    /// Holes square to the plate.
    pub holes: Vec<Hole>,
    /// Slots.
    pub slots: Vec<Slot>,
    /// Holes from the edge.
    pub edge_holes: Vec<EdgeHole>,
    /// A slot across the thickness.
    pub fork: Option<Fork>,
    /// Points without a hole, to be marked: name and place.
    pub marks: Vec<(String, P)>,
    /// Cams: the outline, or tracks in the face.
    pub cams: Vec<CamCut>,
    /// Bends of a plate that is cut flat and bent, from the flat middle outward; all other places are those of the flat.
    pub bends: Vec<Bend>,
    /// The part of it that stays flat, by its outside lengths: two opposite corners.
    pub flat_middle: Option<[P; 2]>,
    /// It is a Geneva wheel: its outline has slots and locking arcs.
    pub geneva: Option<crate::geneva::Wheel>,
    /// Rack teeth along an edge.
    pub rack: Option<crate::racks::Rack>,
    /// What its drawing says beside its note.
    pub said: Vec<String>,
    /// How many of them are of the opposite hand: the mirror image of what is drawn.
    pub opposite: usize,
}

/// A round end of a plate.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundEnd {
    /// Name of its point.
    pub name: String,
    /// Centre.
    pub at: P,
    /// Radius.
    pub radius: f64,
    /// Length of its hub when longer than the plate is thick.
    pub hub: Option<f64>,
    /// The hub is cut from the solid, else a ring is brazed on.
    pub solid: bool,
}

/// A hole square to a plate, or at the end of a turned part.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// Name of its point, or its own.
    pub name: String,
    /// Centre.
    pub at: P,
    /// What is made there.
    pub fitted: Fitted,
    /// How deep when it is not through.
    pub blind: Option<f64>,
    /// How much material a tool goes through.
    pub through: f64,
    /// Counterbore: diameter and depth.
    pub counterbore: Option<[f64; 2]>,
    /// Diameter of a countersink.
    pub countersink: Option<f64>,
    /// Included angle of the countersink, rad.
    pub sink: f64,
    /// It is worked from the face that is not seen.
    pub back: bool,
    /// Plus or minus on each coordinate; none: general tolerance.
    pub place: Option<f64>,
}

/// Included angle of a countersink of which nothing is said, rad.
pub const SINK: f64 = std::f64::consts::FRAC_PI_2;

impl Hole {
    /// How deep its countersink goes before the hole itself begins, mm.
    pub fn sunk(&self) -> f64 {
        self.countersink.map_or(0.0, |d| {
            ((d - self.diameter()) / 2.0 / (self.sink / 2.0).tan()).max(0.0)
        })
    }
}

/// A bend of a plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Bend {
    /// Name of it and of the flange beyond it.
    pub name: String,
    /// Its middle line on the flat.
    pub line: [P; 2],
    /// Where the bend begins and ends on the flat, outward: x of an upright line, else y.
    pub zone: [f64; 2],
    /// Its line runs along y.
    pub upright: bool,
    /// Outward from the flat middle.
    pub outward: P,
    /// How far it is bent out of the flat, rad.
    pub angle: f64,
    /// Inside radius.
    pub radius: f64,
    /// Towards the face that is seen.
    pub front: bool,
    /// The bend before it.
    pub beyond: Option<usize>,
    /// Outside length of its flange.
    pub length: f64,
    /// Length of the flat in the bend.
    pub allowance: f64,
    /// What it makes the flat shorter than the outside lengths.
    pub deduction: f64,
    /// From its outside corner to where it begins.
    pub setback: f64,
}

/// A slot.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    /// Name.
    pub name: String,
    /// Ends of its centre line.
    pub ends: [P; 2],
    /// Centre of an arc slot, which runs counter-clockwise from end to end.
    pub centre: Option<P>,
    /// Width.
    pub width: f64,
    /// Its class.
    pub class: Option<Sized>,
    /// Depth when not through.
    pub depth: Option<f64>,
}

impl Slot {
    /// Its centre line.
    pub fn line(&self) -> Side {
        let [a, b] = self.ends;
        match self.centre {
            None => Side::Line { from: a, to: b },
            Some(c) => {
                let angle = |p: P| (p[1] - c[1]).atan2(p[0] - c[0]);
                let sweep = (angle(b) - angle(a)).rem_euclid(std::f64::consts::TAU);
                Side::Arc {
                    centre: c,
                    radius: (a[0] - c[0]).hypot(a[1] - c[1]),
                    from: angle(a),
                    sweep,
                }
            }
        }
    }

    /// Its outline.
    pub fn outline(&self) -> Contour {
        let half = self.width / 2.0;
        match self.line() {
            Side::Line { from, to } => Contour::capsule((from, half), (to, half)),
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } => Contour::banana(centre, radius, from, sweep, half),
        }
    }
}

/// A hole from the edge, at half the thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeHole {
    /// Name.
    pub name: String,
    /// Its axis goes through this place.
    pub towards: P,
    /// It comes from this direction, rad.
    pub from: f64,
    /// Where it enters the edge.
    pub enters: P,
    /// How deep.
    pub depth: f64,
    /// What is made there.
    pub fitted: Fitted,
}

/// A slot across the thickness that leaves two ears.
#[derive(Clone, Debug, PartialEq)]
pub struct Fork {
    /// Centre of the cross pin's hole.
    pub at: P,
    /// Width.
    pub gap: f64,
    /// How far beyond the hole it reaches.
    pub depth: f64,
    /// Open in this direction, rad.
    pub open: f64,
}

/// A turned part; lengths from its left end.
#[derive(Clone, Debug, Default)]
pub struct Turned {
    /// Steps from left to right.
    pub steps: Vec<Step>,
    /// Bores.
    pub bores: Vec<Bore>,
    /// Grooves.
    pub grooves: Vec<Groove>,
    /// Holes across.
    pub cross: Vec<Cross>,
    /// Flats.
    pub flats: Vec<Flats>,
}

/// A step.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Left end.
    pub from: f64,
    /// Right end.
    pub to: f64,
    /// Diameter.
    pub diameter: f64,
    /// Its class.
    pub class: Option<Sized>,
    /// Thread.
    pub thread: Option<Thread>,
    /// Relief groove behind the thread.
    pub relief: bool,
    /// Throw and its direction, mm and rad, when it is eccentric.
    pub throw: Option<[f64; 2]>,
    /// Chamfer of its outer edge.
    pub chamfer: f64,
    /// Sides of a square or hexagon step, whose diameter is that across corners; 0 when it is round.
    pub sides: usize,
    /// It is the square or hexagon bar as it came.
    pub as_bar: bool,
}

impl Plate {
    /// A rectangle along x and y, its corners sharp or rounded off.
    pub fn is_box(&self) -> bool {
        let sides = self.outline.sides();
        let straight = |s: &&Side| matches!(s, Side::Line { .. });
        sides.iter().filter(straight).count() == 4
            && sides.iter().all(|s| match s {
                Side::Line { from, to } => {
                    (from[0] - to[0]).abs() < 1e-9 || (from[1] - to[1]).abs() < 1e-9
                }
                Side::Arc { sweep, centre, .. } => {
                    (sweep - std::f64::consts::FRAC_PI_2).abs() < 1e-9
                        && !self.holes.iter().any(|h| h.at == *centre)
                }
            })
    }
}

impl Plate {
    /// Area of its outline from the floor of a fork outward.
    fn beyond(&self, f: &Fork) -> f64 {
        let u = [f.open.cos(), f.open.sin()];
        let off = |p: P| (p[0] - f.at[0]) * u[0] + (p[1] - f.at[1]) * u[1] + f.depth;
        // Arcs by chords of half a degree: a hundred-thousandth of their area is lost.
        let mut points: Vec<P> = Vec::new();
        for side in self.outline.sides() {
            match side {
                Side::Line { from, .. } => points.push(from),
                Side::Arc {
                    centre,
                    radius,
                    from,
                    sweep,
                } => {
                    let steps = (sweep.abs().to_degrees() * 2.0).ceil().max(1.0);
                    points.extend((0..steps as usize).map(|n| {
                        let a = from + sweep * n as f64 / steps;
                        [centre[0] + radius * a.cos(), centre[1] + radius * a.sin()]
                    }));
                }
            }
        }
        let mut kept: Vec<P> = Vec::new();
        for (n, &a) in points.iter().enumerate() {
            let b = points[(n + 1) % points.len()];
            let (x, y) = (off(a), off(b));
            if x >= 0.0 {
                kept.push(a);
            }
            if x * y < 0.0 {
                let t = x / (x - y);
                kept.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
            }
        }
        let cross = |n: usize| {
            let (a, b) = (kept[n], kept[(n + 1) % kept.len()]);
            a[0] * b[1] - a[1] * b[0]
        };
        ((0..kept.len()).map(cross).sum::<f64>() / 2.0).abs()
    }
}

impl Step {
    /// Across flats of a square or hexagon step.
    pub fn across(&self) -> Option<f64> {
        (self.sides > 0).then(|| self.diameter * (std::f64::consts::PI / self.sides as f64).cos())
    }

    /// Area of its section, mm²; a thread counts as its major diameter.
    pub fn area(&self) -> f64 {
        match self.across() {
            Some(a) => flatted(self.diameter, a, self.sides),
            None => std::f64::consts::PI / 4.0 * self.diameter * self.diameter,
        }
    }

    /// Length.
    pub fn length(&self) -> f64 {
        self.to - self.from
    }
}

/// A bore from one end.
#[derive(Clone, Debug, PartialEq)]
pub struct Bore {
    /// From the left end, else from the right.
    pub left: bool,
    /// What is made.
    pub fitted: Fitted,
    /// How deep when not through.
    pub blind: Option<f64>,
    /// Off the axis: throw and direction.
    pub throw: Option<[f64; 2]>,
}

impl Bore {
    /// The inside of a tube as it came, drawn and reckoned as a bore that goes through; none where no class has that size.
    pub fn of_tube(inside: f64) -> Option<Self> {
        let size = crate::resolve::of_class(inside, "H12")?;
        Some(Self {
            left: true,
            fitted: Fitted::Plain {
                cut: machine::fitting::Cut::Drill,
                size,
            },
            blind: None,
            throw: None,
        })
    }
}

/// A hole across.
#[derive(Clone, Debug, PartialEq)]
pub struct Cross {
    /// Name.
    pub name: String,
    /// From the left end.
    pub at: f64,
    /// Direction it comes from, rad.
    pub from: f64,
    /// What is made.
    pub fitted: Fitted,
    /// How deep; through when not given.
    pub blind: Option<f64>,
}

impl Turned {
    /// Whole length.
    pub fn length(&self) -> f64 {
        self.steps.last().map_or(0.0, |s| s.to)
    }

    /// Largest diameter that runs true.
    pub fn largest(&self) -> f64 {
        let all = self.steps.iter().map(|s| s.diameter);
        all.fold(0.0, f64::max)
    }

    /// What bores on the axis and the hole of a tube take out together, mm³: where they overlap, the larger one.
    pub fn hollow(&self, inside: f64) -> f64 {
        let long = self.length();
        let spans: Vec<[f64; 3]> = self
            .bores
            .iter()
            .filter(|b| b.throw.is_none())
            .map(|b| {
                let deep = b.blind.unwrap_or(long).min(long);
                if b.left {
                    [0.0, deep, b.diameter()]
                } else {
                    [long - deep, long, b.diameter()]
                }
            })
            .collect();
        let mut ends: Vec<f64> = spans.iter().flat_map(|s| [s[0], s[1]]).collect();
        ends.extend([0.0, long]);
        ends.sort_by(f64::total_cmp);
        ends.windows(2)
            .map(|w| {
                let middle = f64::midpoint(w[0], w[1]);
                let d = spans
                    .iter()
                    .filter(|s| s[0] <= middle && middle <= s[1])
                    .map(|s| s[2])
                    .fold(inside, f64::max);
                std::f64::consts::PI / 4.0 * d * d * (w[1] - w[0])
            })
            .sum()
    }

    /// Diameter of the widest bore on the axis at a place; 0 where it is solid.
    pub fn bore_at(&self, at: f64) -> f64 {
        let long = self.length();
        let bores = self.bores.iter().filter(|b| b.throw.is_none());
        bores
            .filter(|b| {
                let deep = b.blind.unwrap_or(long).min(long);
                if b.left { at < deep } else { at > long - deep }
            })
            .map(Opening::diameter)
            .fold(0.0, f64::max)
    }

    /// The step at a place.
    pub fn step_at(&self, at: f64) -> Option<&Step> {
        self.steps.iter().find(|s| at < s.to).or(self.steps.last())
    }
}

/// Area of a round of this diameter with so many flats: the circle less its segments, or the polygon where the flats meet (any handbook).
pub fn flatted(diameter: f64, across: f64, sides: usize) -> f64 {
    let r = diameter / 2.0;
    let n = sides as f64;
    // From the axis to a flat.
    let h = if sides == 1 { across - r } else { across / 2.0 };
    if h >= r {
        return std::f64::consts::PI * r * r;
    }
    if sides > 2 && h <= r * (std::f64::consts::PI / n).cos() + 1e-9 {
        return n * h * h * (std::f64::consts::PI / n).tan();
    }
    let segment = r * r * (h / r).acos() - h * (r * r - h * h).sqrt();
    std::f64::consts::PI * r * r - n * segment
}

/// What a hole or bore is, whatever stands in it.
pub trait Opening {
    /// What is made.
    fn fitted(&self) -> &Fitted;

    /// Diameter that is cut (the major diameter of a thread).
    fn diameter(&self) -> f64 {
        diameter(self.fitted())
    }
}

impl Opening for Hole {
    fn fitted(&self) -> &Fitted {
        &self.fitted
    }
}

impl Opening for Bore {
    fn fitted(&self) -> &Fitted {
        &self.fitted
    }
}

/// The size that is cut in the part, with its class; none for a thread.
pub fn cut_size(fitted: &Fitted) -> Option<&Sized> {
    fitted.size()
}

/// Diameter that is cut; the major diameter of a thread.
pub fn diameter(fitted: &Fitted) -> f64 {
    fitted.across()
}

/// How the size is reached: bearings and bushings sit in bored holes.
pub fn cut(fitted: &Fitted) -> Option<Cut> {
    match fitted {
        Fitted::Plain { cut, .. } => Some(*cut),
        Fitted::Tapped { .. } => None,
        Fitted::Bearing { .. } | Fitted::Bushing { .. } => Some(Cut::Bore),
    }
}

impl Part {
    /// Volume of what is left, mm³; threads count as their major diameter.
    pub fn volume(&self) -> f64 {
        let round = |d: f64| std::f64::consts::PI / 4.0 * d * d;
        match &self.form {
            Form::Plate(p) => {
                let mut volume = p.outline.area() * p.thickness;
                for end in &p.ends {
                    if let Some(hub) = end.hub {
                        volume += round(2.0 * end.radius) * (hub - p.thickness);
                    }
                }
                for h in &p.holes {
                    volume -= round(h.diameter()) * h.blind.unwrap_or(h.through);
                    if let Some([d, depth]) = h.counterbore {
                        volume -= (round(d) - round(h.diameter())).max(0.0) * depth;
                    }
                    if let Some(d) = h.countersink {
                        let deep = h.sunk();
                        let cone = std::f64::consts::PI / 3.0
                            * deep
                            * (d * d + d * h.diameter() + h.diameter().powi(2))
                            / 4.0;
                        volume -= (cone - round(h.diameter()) * deep).max(0.0);
                    }
                }
                for s in &p.slots {
                    volume -= (round(s.width) + s.line().length() * s.width)
                        * s.depth.unwrap_or(p.thickness);
                }
                for c in &p.cams {
                    if let (Some(depth), Some(outer)) = (c.depth, &c.outer) {
                        volume -= (outer.area() - c.flank.area()) * depth;
                    }
                }
                for e in &p.edge_holes {
                    volume -= round(diameter(&e.fitted)) * e.depth;
                }
                if let Some(f) = &p.fork {
                    // What the cross pin's hole takes between the ears is gone with the slot.
                    let hole = p.holes.iter().find(|h| h.at == f.at);
                    let again = hole.map_or(0.0, |h| round(h.diameter()) * f.gap);
                    volume -= (p.beyond(f) * f.gap - again).max(0.0);
                }
                volume
            }
            Form::Turned(t) => {
                let mut volume: f64 = t.steps.iter().map(|s| s.area() * s.length()).sum();
                for f in &t.flats {
                    for s in t.steps.iter().filter(|s| s.sides == 0) {
                        let long = (f.at + f.length).min(s.to) - f.at.max(s.from);
                        if long > 0.0 {
                            volume -= (s.area() - flatted(s.diameter, f.across, f.sides)) * long;
                        }
                    }
                }
                let inside = match self.section {
                    Section::Tube([_, d]) => d,
                    _ => 0.0,
                };
                volume -= t.hollow(inside);
                for b in t.bores.iter().filter(|b| b.throw.is_some()) {
                    volume -= round(b.diameter()) * b.blind.unwrap_or_else(|| t.length());
                }
                for g in &t.grooves {
                    let outside = t.step_at(g.at).map_or(0.0, |s| s.diameter);
                    volume -= (round(outside) - round(g.diameter)).max(0.0) * g.width;
                }
                for c in &t.cross {
                    let outside = t.step_at(c.at).map_or(0.0, |s| s.diameter);
                    // Through a bore it takes the walls alone.
                    let hollow = t.bore_at(c.at).max(inside).min(outside);
                    let walls = match c.blind {
                        Some(deep) => deep.min((outside - hollow) / 2.0),
                        None => outside - hollow,
                    };
                    volume -= round(diameter(&c.fitted)) * walls;
                }
                volume
            }
        }
    }

    /// How many are of the opposite hand.
    pub fn opposite(&self) -> usize {
        match &self.form {
            Form::Plate(p) => p.opposite,
            Form::Turned(_) => 0,
        }
    }

    /// How many are made, as a drawing says it: `2 off`, `2 off (1 as drawn, 1 opposite hand)`.
    pub fn off(&self) -> String {
        match self.opposite() {
            0 => format!("{} off", self.count),
            n => format!(
                "{} off ({} as drawn, {n} opposite hand)",
                self.count,
                self.count.saturating_sub(n)
            ),
        }
    }

    /// A ring that is brazed to a plate; the plate's mass has it already.
    pub fn is_ring(&self) -> bool {
        self.note.starts_with("brazed to ")
    }

    /// Mass of one, kg.
    pub fn mass(&self) -> f64 {
        self.volume() * self.material.density
    }
}
