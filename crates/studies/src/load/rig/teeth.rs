//! Wheels that press on one another: where they are carried, and what their teeth and pins add to the rows of pins and slides.

use super::{Rig, Tooth};
use crate::assemble::Joint;
use machine::model::RatioKind;
use mechanics::model::{AnchorId, BodyId, Constraint, Pose};

/// Pressure angle of gear teeth where the file names none: 20° (ISO 53 basic rack).
const PRESSURE: f64 = 20.0 * std::f64::consts::PI / 180.0;

impl Rig<'_> {
    /// Pins that carry a wheel on the body that holds its centre, with the sign of the wheel's force in their rows, and the
    /// place of the centre.
    fn pivot(&self, wheel: BodyId, carrier: BodyId) -> Option<(Vec<(usize, f64)>, AnchorId)> {
        let joins = |one: BodyId, other: BodyId| {
            self.mechanism
                .constraints
                .iter()
                .enumerate()
                .find_map(|(i, c)| {
                    let Constraint::Pin { a, b } = *c else {
                        return None;
                    };
                    let bodies = (
                        self.mechanism.anchors[a].body,
                        self.mechanism.anchors[b].body,
                    );
                    if bodies == (one, other) {
                        Some((i, -1.0, a))
                    } else if bodies == (other, one) {
                        Some((i, 1.0, b))
                    } else {
                        None
                    }
                })
        };
        if let Some((pin, sign, centre)) = joins(wheel, carrier) {
            return Some((vec![(pin, sign)], centre));
        }
        let shaft = self
            .model
            .machine
            .parts
            .get(wheel)
            .and_then(|p| p.clamped_to)?;
        let (hub, hub_sign, centre) = joins(wheel, shaft)?;
        let (pin, sign, _) = joins(shaft, carrier)?;
        Some((vec![(hub, hub_sign), (pin, sign)], centre))
    }

    /// Distance between the centres of a gear pair, and the pivots of both wheels.
    pub(crate) fn centres(&self, constraint: usize, params: &[f64], poses: &[Pose]) -> Option<f64> {
        let &Constraint::Ratio { a, b, carrier, .. } =
            self.mechanism.constraints.get(constraint)?
        else {
            return None;
        };
        let place = |wheel| {
            Some(
                self.mechanism
                    .in_plane(params, poses, self.pivot(wheel, carrier)?.1),
            )
        };
        let (p, q) = (place(a)?, place(b)?);
        Some((q[0] - p[0]).hypot(q[1] - p[1])).filter(|d| *d > 0.0)
    }

    /// What teeth add to the rows of pins and slides, with reactions near `rows`.
    pub(crate) fn teeth(&self, params: &[f64], poses: &[Pose], rows: &[f64]) -> Vec<Tooth> {
        let mut teeth = Vec::new();
        for (i, joint) in self.model.joints.iter().enumerate() {
            let source = self.rows[i];
            match (*joint, self.mechanism.constraints[i]) {
                (
                    Joint::Ratio(ratio),
                    Constraint::Ratio {
                        a,
                        b,
                        carrier,
                        sizes,
                        ..
                    },
                ) => {
                    let kind = self.model.machine.ratios[ratio].kind;
                    if !matches!(kind, RatioKind::Gear | RatioKind::InternalGear) {
                        continue;
                    }
                    let (Some((pins_a, ca)), Some((pins_b, cb))) =
                        (self.pivot(a, carrier), self.pivot(b, carrier))
                    else {
                        continue;
                    };
                    let (p, q) = (
                        self.mechanism.in_plane(params, poses, ca),
                        self.mechanism.in_plane(params, poses, cb),
                    );
                    let d = [q[0] - p[0], q[1] - p[1]];
                    let (square, sum) = (d[0] * d[0] + d[1] * d[1], sizes[0] + sizes[1]);
                    if square <= 0.0 || sum == 0.0 {
                        continue;
                    }
                    let own = self.model.machine.ratios[ratio].teeth;
                    let pressure = own.map_or(PRESSURE, |t| t.pressure_angle);
                    // Force on the first wheel at the pitch point for a unit of the row: along the teeth's travel, and what
                    // pushes the smaller wheel (of an external pair: both) off the other.
                    let unit = sum / (sizes[0].abs().max(sizes[1].abs()) * square);
                    let share = sizes[0] / sum;
                    let apart = if kind == RatioKind::Gear || sizes[0].abs() < sizes[1].abs() {
                        -share.signum()
                    } else {
                        (share - 1.0).signum()
                    };
                    let radial = apart
                        * unit.abs()
                        * rows.get(source).copied().unwrap_or(0.0).signum()
                        * pressure.tan();
                    let force = [-unit * d[1] + radial * d[0], unit * d[0] + radial * d[1]];
                    for (pins, sense) in [(pins_a, 1.0), (pins_b, -1.0)] {
                        for (pin, sign) in pins {
                            teeth
                                .extend((0..2).map(|k| {
                                    (self.rows[pin] + k, source, sense * sign * force[k])
                                }));
                        }
                    }
                }
                (Joint::Geneva(_), Constraint::Course { a, b, carrier, .. }) => {
                    let (Some((pins_a, _)), Some((pins_b, _)), Some((by, _))) = (
                        self.pivot(a, carrier),
                        self.pivot(b, carrier),
                        self.index_force(i, params, poses),
                    ) else {
                        continue;
                    };
                    for (pins, sense) in [(pins_a, -1.0), (pins_b, 1.0)] {
                        for (pin, sign) in pins {
                            teeth.extend(
                                (0..2).map(|k| (self.rows[pin] + k, source, sense * sign * by[k])),
                            );
                        }
                    }
                }
                (
                    Joint::Rack(rack),
                    Constraint::Rack {
                        gear,
                        pin,
                        through,
                        direction,
                        radius,
                        ..
                    },
                ) => {
                    let host = self.mechanism.anchors[through].body;
                    let (s, c) = (poses[host].angle + params[direction]).sin_cos();
                    let Some((pins, centre)) = self.pivot(gear, host) else {
                        continue;
                    };
                    // Teeth press at their angle: the bar off the wheel, the wheel off the bar.
                    let (slide, own) = {
                        let rack = &self.model.machine.racks[rack];
                        (rack.slide, rack.teeth.map(|t| t.1))
                    };
                    let pressure = own.map_or(PRESSURE, |t| t.pressure_angle);
                    let force = rows.get(source).copied().unwrap_or(0.0);
                    let off = params[radius].signum() * force.signum() * pressure.tan();
                    for (pin, sign) in pins {
                        teeth.push((self.rows[pin], source, sign * (-c - off * s)));
                        teeth.push((self.rows[pin] + 1, source, sign * (-s + off * c)));
                    }
                    let (g, o) = (
                        self.mechanism.in_plane(params, poses, centre),
                        self.mechanism.in_plane(params, poses, pin),
                    );
                    let pitch = [
                        g[0] + params[radius] * s - o[0],
                        g[1] - params[radius] * c - o[1],
                    ];
                    let guide = |held: Joint| self.model.joints.iter().position(|j| *j == held);
                    if let Some(turn) = guide(Joint::SlideTurn(slide)) {
                        let couple = pitch[1] * c - pitch[0] * s;
                        let off = off * (pitch[0] * c + pitch[1] * s);
                        teeth.push((self.rows[turn], source, couple + off));
                    }
                    if let Some(line) = guide(Joint::SlideLine(slide)) {
                        teeth.push((self.rows[line], source, off));
                    }
                }
                _ => {}
            }
        }
        teeth
    }

    /// Force of the pin on a Geneva wheel for a unit of its couple, square to the slot, and the pin. Where the disc locks the wheel it is taken to
    /// bear at the corner of the wheel's arc, as far from its centre as the pin is when it goes in.
    pub(super) fn index_force(
        &self,
        constraint: usize,
        params: &[f64],
        poses: &[Pose],
    ) -> Option<([f64; 2], AnchorId)> {
        let (
            Joint::Geneva(index),
            Constraint::Course {
                cam, a, b, carrier, ..
            },
        ) = (
            *self.model.joints.get(constraint)?,
            *self.mechanism.constraints.get(constraint)?,
        )
        else {
            return None;
        };
        let geneva = self.model.machine.genevas.get(index)?;
        let pin = self.model.anchor_of(geneva.driver, geneva.pin)?;
        let (_, from) = self.pivot(a, carrier)?;
        let (_, to) = self.pivot(b, carrier)?;
        let at = |anchor| self.mechanism.in_plane(params, poses, anchor);
        let (p, from, to) = (at(pin), at(from), at(to));
        let arm = [p[0] - to[0], p[1] - to[1]];
        let turn = poses.get(a)?.angle - poses.get(carrier)?.angle;
        let moves = self.mechanism.cams.get(cam)?.lift.at(turn)[1] != 0.0;
        let arm = if moves {
            arm
        } else {
            // Towards the driver, as far as the mouth of a slot.
            let apart = [from[0] - to[0], from[1] - to[1]];
            let mouth = (std::f64::consts::PI / f64::from(geneva.slots)).cos();
            apart.map(|x| x * mouth)
        };
        let square = arm[0] * arm[0] + arm[1] * arm[1];
        (square > 0.0).then(|| ([-arm[1] / square, arm[0] / square], pin))
    }
}

/// Adds what teeth do to the reaction rows.
pub(crate) fn with_teeth(rows: &mut [f64], teeth: &[Tooth]) {
    let added: Vec<f64> = teeth
        .iter()
        .map(|&(_, source, factor)| factor * rows[source])
        .collect();
    for (&(row, ..), add) in teeth.iter().zip(added) {
        rows[row] += add;
    }
}
