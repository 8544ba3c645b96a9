//! The machine as its forces see it: arms are pinned to their shafts, teeth press at the pitch point, and every joint has the
//! entry that the file gives it.

mod teeth;

pub(crate) use teeth::with_teeth;

use super::answers::{JointForce, JointKind, LoadedJoint};
use super::stock::shaft_ends;
use crate::assemble::{Joint, Model};
use crate::run::Here;
use machine::model::{FRAME, PartKind};
use machine::work::{self, JointAt, LowHigh, Work};
use mechanics::Mechanism;
use mechanics::model::{AnchorId, BodyId, Constraint, Pose};

/// Where the force of a reported joint is found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Found {
    Pin(usize),
    Rod(usize),
    /// The line and the turn of a slide.
    Slide(usize, usize),
    Slot(usize),
    /// The pin of a Geneva wheel, from the couple that its wheel takes.
    Index(usize),
    /// A plain row: mesh, rack, clamp, held freedom; with its sign.
    Row(usize, f64),
}

/// One row that another adds to, because teeth press at the pitch point and not as a plain couple: row, source row, factor.
pub(crate) type Tooth = (usize, usize, f64);

/// The machine made ready for forces.
pub(crate) struct Rig<'m> {
    pub(crate) model: &'m Model,
    pub(crate) mechanism: Mechanism,
    /// The frame's own origin.
    pub(crate) ground: AnchorId,
    /// First residual row of each constraint.
    pub(crate) rows: Vec<usize>,
    /// Constraint that holds each drive.
    pub(crate) drives: Vec<Option<usize>>,
    pub(crate) joints: Vec<LoadedJoint>,
    pub(crate) found: Vec<Found>,
    /// Centres of mass that the file gives, one a part.
    pub(crate) centres: Vec<Option<AnchorId>>,
    /// On the axis of every shaft, at the station of its centre and half way along: places of their own, so that what acts there presses the
    /// bearings.
    on_axis: Vec<Option<[AnchorId; 2]>>,
}

impl<'m> Rig<'m> {
    pub(crate) fn new(model: &'m Model) -> Self {
        let mut mechanism = model.mechanism.clone();
        let ground = mechanism.anchor(FRAME, 0, [0.0; 3]);
        for (i, joint) in model.joints.iter().enumerate() {
            // An arm sits on its shaft, so its hub loads the shaft and not the bearing.
            if let (Joint::Pin { point, .. }, Some(Constraint::Pin { a, b })) =
                (joint, mechanism.constraints.get(i).copied())
                && let Some(part) = model.machine.parts.get(mechanism.anchors[b].body)
                && let Some(shaft) = part.clamped_to
                && model
                    .machine
                    .parts
                    .get(shaft)
                    .and_then(|s| s.carries.first())
                    == Some(point)
                && mechanism.anchors[a].body != shaft
                && let Some(a) = model.anchor_of(shaft, *point)
            {
                mechanism.constraints[i] = Constraint::Pin { a, b };
            }
        }
        let rows = mechanism.constraints.iter().scan(0, |next, c| {
            let first = *next;
            *next += c.equations();
            Some(first)
        });
        let rows = rows.collect();
        let drives = (0..model.machine.drives.len())
            .map(|d| model.joints.iter().position(|j| *j == Joint::Drive(d)))
            .collect();
        let mut rig = Self {
            model,
            mechanism,
            ground,
            rows,
            drives,
            joints: Vec::new(),
            found: Vec::new(),
            centres: Vec::new(),
            on_axis: Vec::new(),
        };
        let centres: Vec<Option<[f64; 2]>> = rig.work().parts.iter().map(|m| m.mass_at).collect();
        rig.centres = centres
            .into_iter()
            .enumerate()
            .map(|(part, at)| {
                let ([x, y], plane) = (at?, rig.mechanism.bodies.get(part)?.plane);
                Some(rig.mechanism.anchor_drawn(part, plane, [x, y, 0.0]))
            })
            .collect();
        rig.on_axis = (0..model.machine.parts.len())
            .map(|part| rig.add_on_axis(part))
            .collect();
        rig.report();
        rig
    }

    /// Centre of mass of a part in its own axes, where the file gives it, mm.
    pub(crate) fn mass_at(&self, part: BodyId) -> Option<[f64; 2]> {
        let a = self.mechanism.anchors[(*self.centres.get(part)?)?];
        Some([self.mechanism.params[a.u], self.mechanism.params[a.v]])
    }

    /// Bars of a part's stock: length, mm, and the holes at both ends.
    pub(crate) fn bars(&self, part: BodyId) -> Vec<(f64, [AnchorId; 2])> {
        super::bars::Bars::of(self, part).each().collect()
    }

    /// A part on a slide never turns.
    pub(crate) fn slides(&self, part: BodyId) -> bool {
        self.model.machine.slides.iter().any(|s| s.part == part)
    }

    pub(crate) fn work(&self) -> &Work {
        &self.model.machine.work
    }

    /// Parameters of the rig for those of the model.
    pub(crate) fn params(&self, here: &Here) -> Vec<f64> {
        let mut params = here.params.clone();
        params.extend(self.mechanism.params.iter().skip(params.len()));
        params
    }

    fn add_on_axis(&mut self, part: BodyId) -> Option<[AnchorId; 2]> {
        let p = &self.model.machine.parts[part];
        if p.kind != PartKind::Shaft {
            return None;
        }
        let centre = self.model.anchor_of(part, *p.carries.first()?)?;
        let axis = self.mechanism.anchors[centre];
        let [u, v, w] = [axis.u, axis.v, axis.w].map(|p| self.mechanism.params[p]);
        let middle = shaft_ends(self, part).map_or(w, |[a, b]| 0.5 * (a + b));
        let mut at = |station| self.mechanism.anchor(part, axis.plane, [u, v, station]);
        Some([at(w), at(middle)])
    }

    /// Places on the axis of a shaft where forces act on it: at the station of its centre, and half way along, where its weight acts.
    pub(crate) fn on_axis(&self, part: BodyId) -> Option<[AnchorId; 2]> {
        self.on_axis.get(part).copied().flatten()
    }

    fn report(&mut self) {
        let model = self.model;
        for (i, joint) in model.joints.iter().enumerate() {
            let Some(constraint) = self.mechanism.constraints.get(i).copied() else {
                continue;
            };
            let body_of = |a: AnchorId| self.mechanism.anchors[a].body;
            let name = |b: BodyId| model.body_name(b);
            let plane_of = |b: BodyId| self.mechanism.bodies.get(b).map_or(0, |b| b.plane);
            let (kind, on, by, plane, is_moment, found) = match (*joint, constraint) {
                (Joint::Pin { .. }, Constraint::Pin { a, b }) => {
                    let plane = self.mechanism.anchors[b].plane;
                    (
                        JointKind::Pin,
                        name(body_of(b)),
                        name(body_of(a)),
                        plane,
                        false,
                        Found::Pin(i),
                    )
                }
                (Joint::Rod(rod), Constraint::Rod { a, .. }) => {
                    let by = format!("rod {}", model.machine.rods[rod].name);
                    (
                        JointKind::Rod,
                        name(body_of(a)),
                        by,
                        self.mechanism.anchors[a].plane,
                        false,
                        Found::Rod(i),
                    )
                }
                (Joint::SlideLine(slide), _) => {
                    let Some(turn) = model
                        .joints
                        .iter()
                        .position(|j| *j == Joint::SlideTurn(slide))
                    else {
                        continue;
                    };
                    let s = &model.machine.slides[slide];
                    (
                        JointKind::Slide,
                        name(s.part),
                        name(s.on),
                        plane_of(s.part),
                        false,
                        Found::Slide(i, turn),
                    )
                }
                (Joint::Slot(slot), _) => {
                    let s = &model.machine.slots[slot];
                    let plane = model.machine.points[s.pin].plane;
                    (
                        JointKind::Slot,
                        name(s.of),
                        name(s.within),
                        plane,
                        false,
                        Found::Slot(i),
                    )
                }
                (Joint::Ratio(_), Constraint::Ratio { a, b, sizes, .. }) => {
                    let (on, by) = if sizes[0].abs() >= sizes[1].abs() {
                        (a, b)
                    } else {
                        (b, a)
                    };
                    (
                        JointKind::Mesh,
                        name(on),
                        name(by),
                        plane_of(on),
                        true,
                        Found::Row(self.rows[i], 1.0),
                    )
                }
                (Joint::Rack(_), Constraint::Rack { gear, pin, .. }) => (
                    JointKind::Rack,
                    name(body_of(pin)),
                    name(gear),
                    plane_of(gear),
                    false,
                    Found::Row(self.rows[i], 1.0),
                ),
                (Joint::Geneva(_), Constraint::Course { a, b, .. }) => (
                    JointKind::Mesh,
                    name(b),
                    name(a),
                    plane_of(b),
                    false,
                    Found::Index(i),
                ),
                (Joint::Cam(_), Constraint::Cam { pin, centre, .. }) => (
                    JointKind::Cam,
                    name(body_of(pin)),
                    name(body_of(centre)),
                    plane_of(body_of(pin)),
                    false,
                    Found::Slot(i),
                ),
                (Joint::Clamp(part), _) => {
                    let shaft = model.machine.parts[part].clamped_to.unwrap_or(FRAME);
                    (
                        JointKind::Clamp,
                        name(part),
                        name(shaft),
                        plane_of(part),
                        true,
                        Found::Row(self.rows[i], 1.0),
                    )
                }
                (Joint::Drive(drive), _) => {
                    let d = &model.machine.drives[drive];
                    let turns = crate::run::turns(model, drive);
                    let on = match d.moves {
                        machine::model::Moves::Turns(part) => part,
                        machine::model::Moves::Slides(slide) => model.machine.slides[slide].part,
                    };
                    (
                        JointKind::Drive,
                        name(on),
                        name(FRAME),
                        plane_of(on),
                        turns,
                        Found::Row(self.rows[i], d.sense),
                    )
                }
                (Joint::Held(_), Constraint::Angle { body, against, .. }) => (
                    JointKind::Held,
                    name(body),
                    name(against),
                    plane_of(body),
                    true,
                    Found::Row(self.rows[i], 1.0),
                ),
                (Joint::Held(_), Constraint::Along { pin, through, .. }) => {
                    let (on, by) = (body_of(pin), body_of(through));
                    (
                        JointKind::Held,
                        name(on),
                        name(by),
                        plane_of(on),
                        false,
                        Found::Row(self.rows[i], 1.0),
                    )
                }
                _ => continue,
            };
            let name = match joint {
                Joint::Pin { point, .. } => {
                    format!("pin {} of {by} and {on}", model.machine.points[*point].name)
                }
                Joint::Held(_) => format!("{on}, held by nothing"),
                _ => model.joint_name(i),
            };
            self.joints.push(LoadedJoint {
                name,
                kind,
                on,
                by,
                plane,
                is_moment,
            });
            self.found.push(found);
        }
    }

    /// The report's index of a constraint.
    pub(crate) fn reported(&self, constraint: usize) -> Option<usize> {
        self.found.iter().position(|f| match *f {
            Found::Pin(c) | Found::Rod(c) | Found::Slot(c) | Found::Index(c) => c == constraint,
            Found::Slide(c, turn) => c == constraint || turn == constraint,
            Found::Row(row, _) => self.rows.get(constraint) == Some(&row),
        })
    }

    /// The file's own entry for a joint.
    pub(crate) fn entry(&self, at: JointAt) -> Option<&'m work::Joint> {
        self.model.machine.work.joints.iter().find(|j| j.at == at)
    }

    /// Radius of a pin or journal, mm.
    pub(crate) fn radius(&self, at: JointAt) -> Option<f64> {
        self.entry(at)
            .and_then(|j| j.diameter)
            .or(self.work().usual.diameter)
            .map(|d| 0.5 * d)
    }

    pub(crate) fn friction(&self, at: JointAt) -> Option<LowHigh> {
        self.entry(at)
            .and_then(|j| j.friction)
            .or(self.work().usual.friction)
    }

    pub(crate) fn clearance(&self, at: JointAt) -> Option<LowHigh> {
        self.entry(at)
            .and_then(|j| j.clearance)
            .or(self.work().usual.clearance)
    }

    /// Stations at which a joint presses on its shaft, evenly shared: as the file says, else the one of its point.
    pub(crate) fn stations(&self, at: Option<JointAt>, own: f64) -> Vec<f64> {
        let entry = at.and_then(|at| self.entry(at));
        match entry.map(|j| j.stations.as_slice()) {
            Some(given) if !given.is_empty() => given.to_vec(),
            _ => vec![own],
        }
    }

    pub(crate) fn stiffness(&self, at: JointAt) -> Option<f64> {
        self.entry(at)
            .and_then(|j| j.stiffness)
            .filter(|k| *k > 0.0)
    }

    /// The place of the file's entry that a constraint belongs to.
    pub(crate) fn at(&self, constraint: usize) -> Option<JointAt> {
        Some(match *self.model.joints.get(constraint)? {
            Joint::Pin { point, .. } | Joint::FreePin(point) => JointAt::Point(point),
            Joint::SlideTurn(s) | Joint::SlideLine(s) => JointAt::Slide(s),
            Joint::Slot(s) => JointAt::Slot(s),
            Joint::Ratio(r) => JointAt::Ratio(r),
            Joint::Rack(r) => JointAt::Rack(r),
            Joint::Cam(c) => JointAt::Cam(c),
            Joint::Rod(_)
            | Joint::Clamp(_)
            | Joint::Geneva(_)
            | Joint::Drive(_)
            | Joint::Held(_) => return None,
        })
    }

    /// A pin joins an arm to the shaft it is clamped on: nothing moves there.
    pub(crate) fn is_hub(&self, constraint: usize) -> bool {
        let Some(&Constraint::Pin { a, b }) = self.mechanism.constraints.get(constraint) else {
            return false;
        };
        let arm = self.model.machine.parts.get(self.mechanism.anchors[b].body);
        arm.and_then(|p| p.clamped_to) == Some(self.mechanism.anchors[a].body)
    }

    /// The residual rows of a reported joint.
    pub(crate) fn rows_of(&self, joint: usize) -> Vec<usize> {
        match self.found[joint] {
            Found::Pin(c) => vec![self.rows[c], self.rows[c] + 1],
            Found::Rod(c) | Found::Slot(c) | Found::Index(c) => vec![self.rows[c]],
            Found::Slide(line, turn) => vec![self.rows[line], self.rows[turn]],
            Found::Row(row, _) => vec![row],
        }
    }

    /// The force of a reported joint from the reaction rows (teeth added already). `most` is its size.
    pub(crate) fn force(
        &self,
        joint: usize,
        rows: &[f64],
        params: &[f64],
        poses: &[Pose],
    ) -> JointForce {
        let m = &self.mechanism;
        let plain = |value: f64| JointForce {
            value,
            most: value.abs(),
            ..JointForce::default()
        };
        let at = |value: f64, vector: [f64; 2], place: AnchorId| JointForce {
            value,
            most: value.abs(),
            vector: Some(vector),
            place: Some(m.in_plane(params, poses, place)),
            couple: None,
            undetermined: false,
        };
        match self.found[joint] {
            Found::Pin(c) => {
                let Constraint::Pin { b, .. } = m.constraints[c] else {
                    return JointForce::default();
                };
                let vector = [-rows[self.rows[c]], -rows[self.rows[c] + 1]];
                at(vector[0].hypot(vector[1]), vector, b)
            }
            Found::Rod(c) => {
                let Constraint::Rod { a, .. } = m.constraints[c] else {
                    return JointForce::default();
                };
                let push = rows[self.rows[c]];
                let along = self.push_vector(c, params, poses);
                at(-push, [push * along[0], push * along[1]], a)
            }
            Found::Slide(line, turn) => {
                let Constraint::OnLine { pin, .. } = m.constraints[line] else {
                    return JointForce::default();
                };
                let (force, n) = (rows[self.rows[line]], self.push_vector(line, params, poses));
                let couple = rows[self.rows[turn]];
                // The ends of the guide press the same way while the couple is small: together as hard as the force. Beyond, they press
                // opposite ways, and the harder one bears half of the force and what its share of the couple asks.
                let entry = self.at(line).and_then(|at| self.entry(at));
                let length = entry.and_then(|j| j.length).filter(|l| *l > 0.0);
                let end = length.map_or(0.0, |l| 0.5 * force.abs() + couple.abs() / l);
                JointForce {
                    most: force.abs().max(end),
                    couple: Some(couple),
                    ..at(force, [force * n[0], force * n[1]], pin)
                }
            }
            Found::Slot(c) => {
                let (Constraint::OnLine { pin, .. }
                | Constraint::Arc { pin, .. }
                | Constraint::Cam { pin, .. }) = m.constraints[c]
                else {
                    return JointForce::default();
                };
                let (row, n) = (rows[self.rows[c]], self.push_vector(c, params, poses));
                // A cam pushes along its normal, harder than along the follower's way.
                let force = row * n[0].hypot(n[1]);
                at(force, [row * n[0], row * n[1]], pin)
            }
            Found::Index(c) => match self.index_force(c, params, poses) {
                Some((by, pin)) => {
                    let couple = rows[self.rows[c]];
                    let vector = by.map(|f| f * couple);
                    at(vector[0].hypot(vector[1]).copysign(couple), vector, pin)
                }
                None => plain(rows[self.rows[c]]),
            },
            Found::Row(row, sign) => plain(sign * rows[row]),
        }
    }

    /// Direction in its plane in which a unit of a single-row constraint pushes its first anchor: along a rod (in space it may
    /// lean out of the plane: then it is shorter than one), square to a line, along the radius of an arc, square to the path on a cam
    /// (there it is longer than one).
    pub(crate) fn push_vector(
        &self,
        constraint: usize,
        params: &[f64],
        poses: &[Pose],
    ) -> [f64; 2] {
        let m = &self.mechanism;
        match m.constraints[constraint] {
            Constraint::Rod { a, .. } => {
                let along = self.rod_along(constraint, params, poses);
                let plane = &m.planes[m.anchors[a].plane];
                [dot(along, plane.right), dot(along, plane.up)]
            }
            Constraint::OnLine {
                through, direction, ..
            } => {
                let (s, c) = (poses[m.anchors[through].body].angle + params[direction]).sin_cos();
                [-s, c]
            }
            Constraint::Arc { pin, centre, .. } => {
                let (p, q) = (
                    m.in_plane(params, poses, pin),
                    m.in_plane(params, poses, centre),
                );
                let r = (p[0] - q[0]).hypot(p[1] - q[1]);
                if r > 0.0 {
                    [(p[0] - q[0]) / r, (p[1] - q[1]) / r]
                } else {
                    [0.0; 2]
                }
            }
            ref cam @ Constraint::Cam { .. } => {
                m.touch(params, poses, cam).map_or([0.0; 2], |t| t.1)
            }
            _ => [0.0; 2],
        }
    }

    /// Unit vector in space from the far end of a rod to its end `a`.
    pub(crate) fn rod_along(&self, constraint: usize, params: &[f64], poses: &[Pose]) -> [f64; 3] {
        let Constraint::Rod { a, b, .. } = self.mechanism.constraints[constraint] else {
            return [0.0; 3];
        };
        let (p, q) = (
            self.mechanism.in_space(params, poses, a),
            self.mechanism.in_space(params, poses, b),
        );
        let d: [f64; 3] = std::array::from_fn(|i| p[i] - q[i]);
        let length = dot(d, d).sqrt();
        if length > 0.0 {
            d.map(|x| x / length)
        } else {
            [0.0; 3]
        }
    }
}

pub(crate) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
