//! Places that rub, made ready for a motion: their slip, and what a unit of friction there does to all reactions.

use super::press::Press;
use super::{End, Rubs};
use crate::jacobian::{cross, dot};
use crate::model::{AnchorId, BodyId, Constraint, Mechanism, Pose};
use crate::tangent::{Rates, Singular, Tangent};

/// Slower than this share of the fastest body a place does not slip: rounding must not decide which way it rubs.
const STILL: f64 = 1e-9;

/// One slip: its rate, and the reactions to a unit of friction against its positive sense.
#[derive(Clone, Debug)]
pub(super) struct Share {
    pub(super) rate: f64,
    pub(super) response: Vec<f64>,
}

#[derive(Clone, Debug)]
pub(super) struct Place {
    pub(super) press: Press,
    pub(super) slip: Share,
    /// Of a pin in a slot: its turn on the side it is pressed to.
    pub(super) turn: Option<Share>,
    /// Of a rod end: force across the rod on the body of `a`, for a unit of friction.
    pub(super) across: [f64; 3],
}

impl Place {
    /// Whether anything slips here.
    pub(super) fn moves(&self) -> bool {
        self.slip.rate != 0.0 || self.turn.as_ref().is_some_and(|t| t.rate != 0.0)
    }
}

/// What a slip is measured by: the machine's size, and how fast its fastest body moves.
#[derive(Clone, Copy)]
pub(super) struct Measured {
    size: f64,
    fastest: f64,
}

impl Measured {
    pub(super) fn of(tangent: &Tangent, rates: &Rates) -> Self {
        let (m, params, _) = tangent.pose();
        let size = m.size(params);
        let speeds = rates.first.iter();
        let speeds = speeds.map(|[x, y, turn]| (x.hypot(*y) / size).max(turn.abs()));
        Self {
            size,
            fastest: speeds.fold(0.0, f64::max),
        }
    }
}

fn dot_rates(by_pose: &[f64], rates: &[[f64; 3]]) -> f64 {
    by_pose
        .iter()
        .zip(rates.iter().skip(1).flatten())
        .map(|(a, b)| a * b)
        .sum()
}

/// A place made ready; none where nothing slips.
pub(super) fn place(
    tangent: &Tangent,
    rows: &[usize],
    rates: &Rates,
    Measured { size, fastest }: Measured,
    rubs: &Rubs,
) -> Result<Option<Place>, Singular> {
    let (m, params, poses) = tangent.pose();
    // `unit` is how far a body of the machine's size slips there while it turns by one.
    let share = |by_pose: &[f64], unit: f64| -> Result<Share, Singular> {
        let rate = dot_rates(by_pose, &rates.first);
        let rate = if rate.abs() <= STILL * fastest * unit {
            0.0
        } else {
            rate
        };
        let mut response = tangent.balance(by_pose)?;
        response.iter_mut().for_each(|r| *r = -*r);
        Ok(Share { rate, response })
    };
    let plain = |press: Press, by_pose: &[f64], unit: f64| -> Result<Option<Place>, Singular> {
        Ok(Some(Place {
            press,
            slip: share(by_pose, unit)?,
            turn: None,
            across: [0.0; 3],
        }))
    };
    match rubs {
        &Rubs::Pin { constraint, radius } => {
            let Some(&Constraint::Pin { a, b }) = m.constraints.get(constraint) else {
                return Ok(None);
            };
            let row = rows[constraint];
            plain(
                Press::Pin {
                    rows: [row, row + 1],
                    radius,
                },
                &turn(m, m.anchors[a].body, m.anchors[b].body, 1.0),
                1.0,
            )
        }
        &Rubs::RodEnd {
            constraint,
            end,
            radius,
        } => {
            let Some(&Constraint::Rod { a, b, .. }) = m.constraints.get(constraint) else {
                return Ok(None);
            };
            let (near, far) = if end == End::A { (a, b) } else { (b, a) };
            let (p, q) = (
                m.in_space(params, poses, near),
                m.in_space(params, poses, far),
            );
            let d: [f64; 3] = std::array::from_fn(|i| q[i] - p[i]);
            let length = dot(d, d).sqrt();
            let along = d.map(|x| x / length);
            let body = m.anchors[near].body;
            let normal = m.planes[m.anchors[near].plane].normal();
            let spin = if body == 0 { 0.0 } else { rates.first[body][2] };
            let velocity = |anchor| m.rate_of_place(params, poses, anchor, &rates.first);
            let (vp, vq) = (velocity(near), velocity(far));
            let relative: [f64; 3] = std::array::from_fn(|i| (vq[i] - vp[i]) / length);
            let rod_turn = cross(along, relative);
            let tilt = dot(normal, along);
            let w: [f64; 3] =
                std::array::from_fn(|i| spin * (normal[i] - tilt * along[i]) - rod_turn[i]);
            let size = dot(w, w).sqrt();
            if size.is_nan() || size <= STILL * fastest {
                return Ok(None);
            }
            let unit = w.map(|x| x / size);
            let lever = cross(unit, along).map(|x| x / length);
            let mut by_pose = m.gradient_of_place(params, poses, near, lever);
            let far_part = m.gradient_of_place(params, poses, far, lever);
            by_pose.iter_mut().zip(&far_part).for_each(|(g, f)| *g -= f);
            if body != 0 {
                by_pose[3 * (body - 1) + 2] += dot(unit, normal);
            }
            let across = if end == End::A {
                lever.map(|x| -x)
            } else {
                lever
            };
            let press = Press::RodEnd {
                row: rows[constraint],
                rod: constraint,
                radius,
            };
            Ok(Some(Place {
                press,
                slip: share(&by_pose, 1.0)?,
                turn: None,
                across,
            }))
        }
        Rubs::Slide {
            on_line,
            angle,
            length,
            teeth,
        } => {
            let (on_line, length) = (*on_line, *length);
            let Some(&Constraint::OnLine {
                pin,
                through,
                direction,
                ..
            }) = m.constraints.get(on_line)
            else {
                return Ok(None);
            };
            let Some(&angle) = rows.get(*angle) else {
                return Ok(None);
            };
            let press = Press::Slide {
                on_line: rows[on_line],
                angle,
                length,
                teeth: teeth.clone(),
            };
            plain(
                press,
                &m.gradient_along(params, poses, pin, through, direction),
                size,
            )
        }
        &Rubs::Slot { constraint, radius } => {
            let Some(Slotted {
                pin,
                host,
                by_pose,
                inwards,
                pull,
            }) = slot(tangent, constraint)
            else {
                return Ok(None);
            };
            // The pin also turns on the side that it is pressed to.
            let turning = turn(m, m.anchors[pin].body, host, radius);
            let press = Press::Slot {
                row: rows[constraint],
                inwards,
                pull,
            };
            Ok(Some(Place {
                press,
                slip: share(&by_pose, size)?,
                turn: Some(share(&turning, size)?),
                across: [0.0; 3],
            }))
        }
        &Rubs::Mesh { constraint } => {
            let Some(&Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                ..
            }) = m.constraints.get(constraint)
            else {
                return Ok(None);
            };
            let body = if sizes[0].abs() >= sizes[1].abs() {
                a
            } else {
                b
            };
            plain(
                Press::Mesh {
                    row: rows[constraint],
                },
                &turn(m, body, carrier, 1.0),
                1.0,
            )
        }
        Rubs::Journal {
            body,
            against,
            radius,
            bearings,
        } => {
            let known = bearings
                .iter()
                .flat_map(|b| &b.rows)
                .all(|(row, _)| *row < m.equations());
            if !known || *body >= m.bodies.len() || *against >= m.bodies.len() {
                return Ok(None);
            }
            plain(
                Press::Journal {
                    radius: *radius,
                    bearings: bearings.clone(),
                },
                &turn(m, *body, *against, 1.0),
                1.0,
            )
        }
    }
}

/// A pin in a slot.
struct Slotted {
    pin: AnchorId,
    /// The body with the slot.
    host: BodyId,
    /// The pin's travel along it.
    by_pose: Vec<f64>,
    /// Which way the force of its row counts as inwards.
    inwards: f64,
    /// Force on the pin for one of the row.
    pull: f64,
}

fn slot(tangent: &Tangent, constraint: usize) -> Option<Slotted> {
    let (m, params, poses) = tangent.pose();
    let slotted = m.constraints.get(constraint)?;
    match *slotted {
        Constraint::OnLine {
            pin,
            through,
            direction,
            ..
        } => Some(Slotted {
            pin,
            host: m.anchors[through].body,
            by_pose: m.gradient_along(params, poses, pin, through, direction),
            inwards: 1.0,
            pull: 1.0,
        }),
        Constraint::Arc { pin, centre, .. } => {
            let (p, c) = (
                m.in_plane(params, poses, pin),
                m.in_plane(params, poses, centre),
            );
            let d = [p[0] - c[0], p[1] - c[1]];
            let r = d[0].hypot(d[1]);
            // The slot's direction at the pin, square to the radius; plus is counter-clockwise. Its left normal points inwards.
            let t = [-d[1] / r, d[0] / r];
            let host = m.anchors[centre].body;
            let mut g = m.gradient_in_plane(params, poses, pin, t);
            let c = m.gradient_in_plane(params, poses, centre, t);
            g.iter_mut().zip(&c).for_each(|(g, c)| *g -= c);
            if host != 0 {
                g[3 * (host - 1) + 2] -= r;
            }
            Some(Slotted {
                pin,
                host,
                by_pose: g,
                inwards: -1.0,
                pull: 1.0,
            })
        }
        Constraint::Cam { pin, centre, .. } => {
            let (_, normal) = m.touch(params, poses, slotted)?;
            let pull = normal[0].hypot(normal[1]);
            // Along the path; its left normal points outwards, as the force of the row does.
            let t = [normal[1] / pull, -normal[0] / pull];
            let host = m.anchors[centre].body;
            let mut g = m.gradient_in_plane(params, poses, pin, t);
            let c = m.gradient_in_plane(params, poses, centre, t);
            g.iter_mut().zip(&c).for_each(|(g, c)| *g -= c);
            if host != 0 {
                let (p, c) = (
                    m.in_plane(params, poses, pin),
                    m.in_plane(params, poses, centre),
                );
                // The cam's own surface goes along with it.
                g[3 * (host - 1) + 2] -= (p[0] - c[0]) * t[1] - (p[1] - c[1]) * t[0];
            }
            Some(Slotted {
                pin,
                host,
                by_pose: g,
                inwards: 1.0,
                pull,
            })
        }
        _ => None,
    }
}

fn turn(m: &Mechanism, a: BodyId, b: BodyId, factor: f64) -> Vec<f64> {
    let mut by_pose = vec![0.0; m.unknowns()];
    for (body, sign) in [(a, factor), (b, -factor)] {
        if body != 0 {
            by_pose[3 * (body - 1) + 2] += sign;
        }
    }
    by_pose
}

impl Mechanism {
    /// Velocity in space of an anchor while the bodies move with these rates.
    fn rate_of_place(
        &self,
        params: &[f64],
        poses: &[Pose],
        anchor: AnchorId,
        rates: &[[f64; 3]],
    ) -> [f64; 3] {
        let a = self.anchors[anchor];
        if a.body == 0 {
            return [0.0; 3];
        }
        let plane = &self.planes[a.plane];
        let [x, y, turn] = rates[a.body];
        let place = self.in_plane(params, poses, anchor);
        let v = [
            x - turn * (place[1] - poses[a.body].y),
            y + turn * (place[0] - poses[a.body].x),
        ];
        std::array::from_fn(|i| v[0] * plane.right[i] + v[1] * plane.up[i])
    }
}
