//! Names for joints and for what stands in line at a dead centre.

use crate::assemble::{Group, Joint, Model};
use machine::model::PointId;
use mechanics::model::{BodyId, Pose};

/// Slower than this share of the fastest pin counts as standing still. The place of a dead centre is known to 1e-9 of the
/// drive, which leaves the square root of that in the folding motion.
const STILL: f64 = 1e-3;
/// Cosines this near to one are in line.
const IN_LINE: f64 = 1e-4;

/// Something that joins pins: a part or a rod.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Link {
    Body(BodyId),
    Rod(usize),
}

struct Pin {
    place: [f64; 3],
    moves: [f64; 3],
}

struct Folding<'a> {
    model: &'a Model,
    /// Pins that belong to the group: place and movement.
    pins: Vec<Option<Pin>>,
    /// Folding motion of all bodies: x, y and turn.
    motion: Vec<[f64; 3]>,
    fastest: f64,
}

/// What folds at a dead centre: "rod front and knee stand in line".
pub(super) fn folds(
    model: &Model,
    group: &Group,
    params: &[f64],
    poses: &[Pose],
    folding: &[[f64; 3]],
) -> String {
    let size = group.mechanism.size(params);
    let mut all = model.mechanism.drawn.clone();
    let mut motion = vec![[0.0; 3]; all.len()];
    for (i, &b) in group.bodies.iter().enumerate() {
        if let (Some(pose), Some(m)) = (poses.get(i), folding.get(i)) {
            all[b] = *pose;
            motion[b] = [m[0], m[1], m[2] / size];
        }
    }
    let pin = |point: PointId| -> Option<Pin> {
        let &(body, anchor) = model.carriers[point]
            .iter()
            .find(|c| c.0 == 0 || group.bodies.contains(&c.0))?;
        let a = model.mechanism.anchors[anchor];
        let plane = &model.mechanism.planes[a.plane];
        let [x, y] = model.mechanism.in_plane(params, &all, anchor);
        let turn = motion[body][2];
        let own = [x - all[body].x, y - all[body].y];
        let v = [
            motion[body][0] - turn * own[1],
            motion[body][1] + turn * own[0],
        ];
        Some(Pin {
            place: model.mechanism.in_space(params, &all, anchor),
            moves: std::array::from_fn(|i| v[0] * plane.right[i] + v[1] * plane.up[i]),
        })
    };
    let pins: Vec<Option<Pin>> = (0..model.machine.points.len()).map(pin).collect();
    let fastest = pins
        .iter()
        .flatten()
        .map(|p| length(p.moves))
        .fold(0.0, f64::max);
    let folding = Folding {
        model,
        pins,
        motion,
        fastest,
    };
    folding
        .in_line()
        .or_else(|| folding.square())
        .or_else(|| folding.slot())
        .unwrap_or_else(|| folding.bound())
}

/// The same where the folding motion is not known: it is the one that the joints resist least.
pub(crate) fn folds_here(model: &Model, group: &Group, params: &[f64], poses: &[Pose]) -> String {
    match least_resisted(group, params, poses) {
        Some((_, folding)) => folds(model, group, params, poses, &folding),
        None => String::from("the parts bind"),
    }
}

/// The least singular value of the equations and its motion (x, y and angle × size of every body).
pub(super) fn least_resisted(
    group: &Group,
    params: &[f64],
    poses: &[Pose],
) -> Option<(f64, Vec<[f64; 3]>)> {
    let size = group.mechanism.size(params);
    let mut j = group.mechanism.jacobian(params, poses).by_pose;
    for c in (2..j.ncols()).step_by(3) {
        j.column_mut(c).scale_mut(1.0 / size);
    }
    if j.nrows() < j.ncols() || !j.iter().all(|x| x.is_finite()) {
        return None;
    }
    let found = j.svd(false, true);
    let value = |i: &usize| found.singular_values[*i];
    let least = (0..found.singular_values.len()).min_by(|a, b| value(a).total_cmp(&value(b)))?;
    let v = found.v_t.as_ref()?;
    let mut folding = vec![[0.0; 3]];
    folding.extend((0..v.ncols() / 3).map(|b| {
        [
            v[(least, 3 * b)],
            v[(least, 3 * b + 1)],
            v[(least, 3 * b + 2)],
        ]
    }));
    Some((value(&least), folding))
}

impl Folding<'_> {
    fn moves(&self, point: PointId) -> bool {
        self.pins[point]
            .as_ref()
            .is_some_and(|p| length(p.moves) > STILL * self.fastest)
    }

    fn turns(&self, body: BodyId) -> bool {
        let size = self.model.mechanism.size(&self.model.mechanism.params);
        self.motion[body][2].abs() * size > STILL * self.fastest
    }

    /// Everything that joins a pin, the frame and free pins left out.
    fn links(&self, point: PointId) -> Vec<Link> {
        let machine = &self.model.machine;
        let bodies = self.model.carriers[point]
            .iter()
            .map(|c| c.0)
            .filter(|&b| b != 0 && b < machine.parts.len());
        let rods = machine
            .rods
            .iter()
            .enumerate()
            .filter(|(_, r)| r.joins.contains(&point))
            .map(|(i, _)| i);
        bodies.map(Link::Body).chain(rods.map(Link::Rod)).collect()
    }

    /// Points of a link at which something else joins.
    fn joined(&self, link: Link) -> Vec<PointId> {
        match link {
            Link::Rod(rod) => self.model.machine.rods[rod].joins.to_vec(),
            Link::Body(body) => (0..self.pins.len())
                .filter(|&p| self.model.carriers[p].iter().any(|c| c.0 == body))
                .filter(|&p| self.model.carriers[p].len() > 1 || self.links(p).len() > 1)
                .collect(),
        }
    }

    fn name(&self, link: Link) -> String {
        match link {
            Link::Rod(rod) => format!("rod {}", self.model.machine.rods[rod].name),
            Link::Body(body) => self.model.body_name(body),
        }
    }

    /// Two links that share a moving pin and whose still pins lie in line with it.
    fn in_line(&self) -> Option<String> {
        let mut best: Option<(f64, Link, Link)> = None;
        for point in (0..self.pins.len()).filter(|&p| self.moves(p)) {
            let links = self.links(point);
            for (i, &a) in links.iter().enumerate() {
                for &b in &links[i + 1..] {
                    for p in self.joined(a).into_iter().filter(|&p| !self.moves(p)) {
                        for q in self.joined(b).into_iter().filter(|&q| !self.moves(q)) {
                            let off = 1.0 - self.cosine(p, point, q).abs();
                            if off < IN_LINE && best.is_none_or(|b| off < b.0) {
                                best = Some((off, a, b));
                            }
                        }
                    }
                }
            }
        }
        best.map(|(_, a, b)| format!("{} and {} stand in line", self.name(a), self.name(b)))
    }

    /// A link that turns about a still pin and is joined to a part that slides: it stands square to the slide.
    fn square(&self) -> Option<String> {
        for (i, slide) in self.model.machine.slides.iter().enumerate() {
            for point in (0..self.pins.len()).filter(|&p| self.moves(p)) {
                let slides = self.model.carriers[point].iter().any(|c| c.0 == slide.part);
                if !slides || self.turns(slide.part) {
                    continue;
                }
                for link in self
                    .links(point)
                    .into_iter()
                    .filter(|l| *l != Link::Body(slide.part))
                {
                    if self.joined(link).into_iter().any(|p| !self.moves(p)) {
                        let name = &self.model.machine.slides[i].name;
                        return Some(format!("{} stands square to slide {name}", self.name(link)));
                    }
                }
            }
        }
        None
    }

    /// A part whose pin runs along a slot that stands still.
    fn slot(&self) -> Option<String> {
        for slot in &self.model.machine.slots {
            let still = slot.within == 0 || slot.ends.iter().all(|&e| !self.moves(e));
            if still && self.moves(slot.pin) && slot.of != 0 {
                let name = self.name(Link::Body(slot.of));
                return Some(format!("{name} stands square to slot {}", slot.name));
            }
        }
        None
    }

    /// What meets at the pin that moves most, when no better name is found.
    fn bound(&self) -> String {
        let speed = |p: usize| self.pins[p].as_ref().map_or(0.0, |p| length(p.moves));
        let most = (0..self.pins.len())
            .rev()
            .filter(|&p| self.links(p).len() > 1)
            .max_by(|&p, &q| speed(p).total_cmp(&speed(q)));
        let mut links = most.map_or_else(Vec::new, |p| self.links(p));
        links.sort_by_key(|l| match *l {
            Link::Body(b) => (0, b),
            Link::Rod(r) => (1, r),
        });
        let names: Vec<String> = links.iter().take(3).map(|&l| self.name(l)).collect();
        match names.as_slice() {
            [] => String::from("the parts bind"),
            [one] => format!("{one} binds"),
            _ => format!("{} bind", list(&names)),
        }
    }

    fn cosine(&self, p: PointId, middle: PointId, q: PointId) -> f64 {
        let place = |p: PointId| self.pins[p].as_ref().map_or([0.0; 3], |p| p.place);
        let m = place(middle);
        let from = |p: PointId| -> [f64; 3] { std::array::from_fn(|i| place(p)[i] - m[i]) };
        let (a, b) = (from(p), from(q));
        let dot: f64 = (0..3).map(|i| a[i] * b[i]).sum();
        let lengths = length(a) * length(b);
        if lengths > 0.0 { dot / lengths } else { 0.0 }
    }
}

fn length(v: [f64; 3]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// "a", "a and b", "a, b and c".
pub(crate) fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

impl Model {
    /// A constraint in the builder's words: "rod front", "pin knee-front of lever and knee".
    pub(crate) fn joint_name(&self, constraint: usize) -> String {
        let m = &self.machine;
        match self.joints.get(constraint) {
            Some(Joint::Pin {
                point,
                parts: [a, b],
            }) => {
                format!(
                    "pin {} of {} and {}",
                    m.points[*point].name,
                    self.body_name(*a),
                    self.body_name(*b)
                )
            }
            Some(Joint::Rod(rod)) => format!("rod {}", m.rods[*rod].name),
            Some(Joint::SlideTurn(slide) | Joint::SlideLine(slide)) => {
                format!("slide {}", m.slides[*slide].name)
            }
            Some(Joint::Slot(slot)) => format!("slot {}", m.slots[*slot].name),
            Some(Joint::Ratio(ratio)) => {
                let ratio = &m.ratios[*ratio];
                let kind =
                    match ratio.kind {
                        machine::model::RatioKind::Gear
                        | machine::model::RatioKind::InternalGear => "gear",
                        machine::model::RatioKind::Belt
                        | machine::model::RatioKind::CrossedBelt => "belt",
                    };
                format!("{kind} {}", ratio.name)
            }
            Some(Joint::Rack(rack)) => format!("rack {}", m.racks[*rack].name),
            Some(Joint::Geneva(i)) => format!("geneva {}", m.genevas[*i].name),
            Some(Joint::Cam(cam)) => format!("cam {}", m.cams[*cam].name),
            Some(Joint::Clamp(part)) => format!("the clamp of {}", m.parts[*part].name),
            Some(Joint::FreePin(point)) => format!("pin {}", m.points[*point].name),
            Some(Joint::Drive(drive)) => format!("drive {}", m.drives[*drive].name),
            Some(Joint::Held(_)) | None => String::from("a part held as drawn"),
        }
    }
}
