//! Building the mechanism: bodies with their holes, the dimensions of those, and pins.

use super::groups::split;
use super::joints::SAME_PLACE;
use super::{Dimension, Joint, Model};
use crate::answers::{Finding, Inside, Severity};
use machine::Place;
use machine::model::{FRAME, Machine, PartId, PointId};
use mechanics::model::{AnchorId, BodyId, Constraint, Mechanism, ParamId, Plane};
use std::sync::Arc;

/// The mechanism as far as it is built.
pub(super) struct Builder<'m> {
    pub(super) machine: &'m Machine,
    pub(super) mechanism: Mechanism,
    pub(super) carriers: Vec<Vec<(BodyId, AnchorId)>>,
    pub(super) free_pins: Vec<PointId>,
    pub(super) dimensions: Vec<Dimension>,
    pub(super) joints: Vec<Joint>,
    pub(super) faults: Vec<Finding>,
    pub(super) rod_lengths: Vec<Option<ParamId>>,
    pub(super) clocks: Vec<Option<ParamId>>,
    pub(super) slide_lines: Vec<SlideLine>,
    pub(super) cam_shapes: Vec<Option<super::cams::Shape>>,
    /// Direction of a straight slot.
    pub(super) slot_directions: Vec<Option<ParamId>>,
}

/// Anchors and direction of a slide's line.
#[derive(Clone, Copy)]
pub(super) struct SlideLine {
    pub(super) pin: AnchorId,
    pub(super) through: AnchorId,
    pub(super) direction: ParamId,
}

pub(super) fn build(machine: &Machine) -> Model {
    let machine = &crate::parts::fill(machine);
    let mut b = Builder {
        machine,
        mechanism: Mechanism::default(),
        carriers: vec![Vec::new(); machine.points.len()],
        free_pins: Vec::new(),
        dimensions: Vec::new(),
        joints: Vec::new(),
        faults: Vec::new(),
        rod_lengths: Vec::new(),
        clocks: vec![None; machine.parts.len()],
        slide_lines: Vec::new(),
        cam_shapes: vec![None; machine.cams.len()],
        slot_directions: Vec::new(),
    };
    b.bodies();
    b.pins();
    b.slides();
    b.slots();
    b.ratios();
    b.racks();
    b.cams();
    b.genevas();
    b.rods();
    let drives = b.drives();
    let gauges = b.gauges();
    let settings = b.settings();
    b.derive(&gauges, &drives);
    let (mut groups, mut group_of) = split(&b.mechanism);
    let loose = super::loose::hold(&mut b.mechanism, &mut b.joints, &groups);
    if !loose.is_empty() {
        (groups, group_of) = split(&b.mechanism);
    }
    let slot_directions = b.slot_directions;
    let mut model = Model {
        machine: machine.clone(),
        mechanism: b.mechanism,
        carriers: b.carriers,
        free_pins: b.free_pins,
        dimensions: b.dimensions,
        joints: b.joints,
        drives,
        settings,
        gauges,
        limits: Vec::new(),
        cams: b.cam_shapes,
        outlines: Arc::default(),
        groups,
        group_of,
        loose,
        faults: b.faults,
        left: None,
        unwanted: None,
        meter: None,
    };
    model.limits = model.find_limits(&slot_directions);
    model.outlines = Arc::new(crate::cams::outlines(&model));
    model
}

impl Builder<'_> {
    pub(super) fn drawn(&self, point: PointId) -> [f64; 2] {
        let p = &self.machine.points[point];
        [p.x, p.y]
    }

    pub(super) fn name(&self, point: PointId) -> &str {
        &self.machine.points[point].name
    }

    pub(super) fn dimension(
        &mut self,
        of: &str,
        what: &str,
        param: ParamId,
        inside: Inside,
        place: Place,
    ) {
        let name = format!("{of}: {what}");
        self.dimensions.push(Dimension {
            name,
            of: of.to_owned(),
            param,
            sign: 1.0,
            inside,
            place,
        });
    }

    pub(super) fn fault(
        &mut self,
        severity: Severity,
        sentence: String,
        number: f64,
        about: String,
        place: Place,
    ) {
        self.faults.push(Finding {
            severity,
            sentence,
            number: Some(number),
            margin: None,
            inside: Some(Inside::Millimetre),
            what_to_try: None,
            about,
            place,
        });
    }

    /// Planes, parts with their holes, free pins, and the dimensions of holes.
    pub(super) fn bodies(&mut self) {
        let machine = self.machine;
        for p in &machine.planes {
            self.mechanism.plane(Plane {
                origin: p.origin,
                right: p.right,
                up: p.up,
            });
        }
        self.mechanism.body(0, [0.0; 2], 0.0);
        for part in machine.parts.iter().skip(1) {
            let datum = self.datum(part.clamped_to, &part.carries);
            let origin = datum.map_or([0.0; 2], |d| self.drawn(d));
            match self.direction_hole(origin, &part.carries) {
                Some(to) => self.mechanism.link(part.plane, origin, self.drawn(to)),
                None => self.mechanism.body(part.plane, origin, 0.0),
            };
        }
        for part in 0..machine.parts.len() {
            self.holes(part);
        }
        for (i, point) in machine.points.iter().enumerate() {
            if self.carriers[i].is_empty() && machine.rods.iter().any(|r| r.joins.contains(&i)) {
                let body = self.mechanism.body(point.plane, [point.x, point.y], 0.0);
                let anchor = self
                    .mechanism
                    .anchor(body, point.plane, [0.0, 0.0, point.station]);
                self.carriers[i].push((body, anchor));
                self.free_pins.push(i);
            }
        }
    }

    fn datum(&self, clamped_to: Option<PartId>, carries: &[PointId]) -> Option<PointId> {
        let shaft = clamped_to.and_then(|shaft| self.machine.parts[shaft].carries.first());
        shaft.or(carries.first()).copied()
    }

    fn direction_hole(&self, origin: [f64; 2], carries: &[PointId]) -> Option<PointId> {
        carries.iter().copied().find(|&p| {
            let q = self.drawn(p);
            (q[0] - origin[0]).hypot(q[1] - origin[1]) > SAME_PLACE
        })
    }

    fn holes(&mut self, id: PartId) {
        let machine = self.machine;
        let part = &machine.parts[id];
        let datum = self.datum(part.clamped_to, &part.carries);
        let origin = datum.map_or([0.0; 2], |d| self.drawn(d));
        let direction = self.direction_hole(origin, &part.carries);
        let mut carries = part.carries.clone();
        if let (Some(d), Some(_)) = (datum, part.clamped_to)
            && !carries.contains(&d)
        {
            carries.insert(0, d);
        }
        for p in carries {
            let point = &machine.points[p];
            if self.carriers[p].iter().any(|c| c.0 == id) {
                continue;
            }
            let anchor = if id != FRAME && Some(p) == datum {
                self.mechanism
                    .anchor(id, point.plane, [0.0, 0.0, point.station])
            } else if id != FRAME && Some(p) == direction {
                let [x, y] = self.drawn(p);
                let centres = (x - origin[0]).hypot(y - origin[1]);
                self.mechanism
                    .anchor(id, point.plane, [centres, 0.0, point.station])
            } else {
                self.mechanism
                    .anchor_drawn(id, point.plane, [point.x, point.y, point.station])
            };
            self.carriers[p].push((id, anchor));
            let a = self.mechanism.anchors[anchor];
            let (of, hole, mm) = (part.name.as_str(), point.name.as_str(), Inside::Millimetre);
            if id == FRAME {
                self.dimension(of, &format!("{hole}, right"), a.u, mm, point.place);
                self.dimension(of, &format!("{hole}, up"), a.v, mm, point.place);
            } else if Some(p) == datum {
                // The datum hole is where the part is measured from.
            } else if Some(p) == direction {
                let from = datum.map_or("", |d| self.name(d)).to_owned();
                self.dimension(
                    of,
                    &format!("centre distance {from} to {hole}"),
                    a.u,
                    mm,
                    part.place,
                );
            } else {
                let line = match (datum, direction) {
                    (Some(d), Some(t)) => format!("the line {} to {}", self.name(d), self.name(t)),
                    _ => String::from("the part's axis"),
                };
                self.dimension(of, &format!("{hole}, along {line}"), a.u, mm, part.place);
                self.dimension(of, &format!("{hole}, across {line}"), a.v, mm, part.place);
            }
        }
    }

    pub(super) fn constrain(&mut self, joint: Joint, constraint: Constraint) {
        self.mechanism.constrain(constraint);
        self.joints.push(joint);
    }

    pub(super) fn pins(&mut self) {
        let machine = self.machine;
        for point in 0..machine.points.len() {
            let carriers = self.carriers[point].clone();
            if let Some((&(first, a), others)) = carriers.split_first() {
                for &(other, b) in others {
                    self.constrain(
                        Joint::Pin {
                            point,
                            parts: [first, other],
                        },
                        Constraint::Pin { a, b },
                    );
                }
            }
        }
        for (i, part) in machine.parts.iter().enumerate() {
            let Some(shaft) = part.clamped_to else {
                continue;
            };
            let angle = self.mechanism.hold_angle(i, shaft);
            self.joints.push(Joint::Clamp(i));
            self.clocks[i] = Some(angle);
            self.dimension(&part.name, "clock angle", angle, Inside::Radian, part.place);
        }
        for (k, &point) in self.free_pins.clone().iter().enumerate() {
            self.mechanism.hold_angle(machine.parts.len() + k, FRAME);
            self.joints.push(Joint::FreePin(point));
        }
    }
}
