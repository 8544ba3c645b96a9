//! How far joints turn and how rods tilt while one drive goes through its reach, and how the load goes round.

use super::super::rig::{Found, Rig, dot};
use super::super::row::Row;
use super::{FAINT, Service, Turned, Way};
use crate::run::Here;
use mechanics::model::{BodyId, Constraint};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

impl Service {
    pub(super) fn turning(
        &mut self,
        rig: &Rig<'_>,
        way: &Way<'_>,
        joint: usize,
        heres: &[&Here],
        good: &[(&Here, &Row)],
    ) {
        let (Some(drive), Some(service)) = (way.drive, self.joints.get_mut(joint)) else {
            return;
        };
        let Some(path) = rig.found.get(joint).and_then(|f| relative(rig, *f, heres)) else {
            return;
        };
        for (peak, tilts) in service.tilt.iter_mut().zip(&path.tilts) {
            for (here, tilt) in heres.iter().zip(tilts) {
                peak.meet(*tilt, way.number, &here.stand.drives);
            }
        }
        let mean = cubic_mean(joint, good);
        for angles in &path.angles {
            let (Some(first), Some(last)) = (angles.first(), angles.last()) else {
                continue;
            };
            let low = angles.iter().copied().fold(f64::INFINITY, f64::min);
            let high = angles.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let net = (last - first) / TAU;
            let turns = (way.round && net.abs() > 0.5).then_some(net.abs() / way.turns);
            let half = if turns.is_some() {
                PI
            } else {
                0.5 * (high - low)
            };
            if half < 1e-9 {
                continue;
            }
            match service.turned.iter_mut().find(|t| t.drive == drive) {
                Some(known) => {
                    known.half = known.half.max(half);
                    known.turns = known.turns.or(turns);
                    known.mean = known.mean.max(mean);
                }
                None => service.turned.push(Turned {
                    drive,
                    turns,
                    half,
                    mean,
                }),
            }
        }
        if way.round
            && let Some(round) = going_round(rig, joint, good)
        {
            for (known, found) in service.round.iter_mut().zip(round) {
                *known |= found;
            }
        }
    }
}

/// Cubic mean of what presses a joint on the way of a drive; places stand closer where something peaks.
fn cubic_mean(joint: usize, good: &[(&Here, &Row)]) -> f64 {
    let known: Vec<(f64, f64)> = good
        .iter()
        .filter_map(|(_, r)| Some((r.row.at?, r.row.joints.get(joint)?.most.powi(3))))
        .collect();
    let (mut area, mut gone) = (0.0, 0.0);
    for pair in known.windows(2) {
        let [(a, f), (b, g)] = [pair[0], pair[1]];
        area += 0.5 * (f + g) * (b - a).abs();
        gone += (b - a).abs();
    }
    if gone > 0.0 {
        (area / gone).cbrt()
    } else {
        known.first().map_or(0.0, |k| k.1.cbrt())
    }
}

/// Relative turns at a joint over a row of poses, and tilts of a rod at both ends.
struct Relative {
    angles: Vec<Vec<f64>>,
    tilts: [Vec<f64>; 2],
}

fn relative(rig: &Rig<'_>, found: Found, heres: &[&Here]) -> Option<Relative> {
    let m = &rig.mechanism;
    match found {
        Found::Pin(c) | Found::Slot(c) => {
            let (a, b) = match *m.constraints.get(c)? {
                Constraint::Pin { a, b } => (m.anchors[a].body, m.anchors[b].body),
                _ => return None,
            };
            let angle = |here: &&Here| Some(here.poses.get(b)?.angle - here.poses.get(a)?.angle);
            let angles: Option<Vec<f64>> = heres.iter().map(angle).collect();
            Some(Relative {
                angles: vec![unwrapped(&angles?)],
                tilts: [Vec::new(), Vec::new()],
            })
        }
        Found::Rod(c) => {
            let Constraint::Rod { a, b, .. } = *m.constraints.get(c)? else {
                return None;
            };
            let mut angles = Vec::new();
            let mut tilts = [Vec::new(), Vec::new()];
            for (anchor, tilts) in [a, b].into_iter().zip(&mut tilts) {
                let body = m.anchors[anchor].body;
                let plane = &m.planes[m.anchors[anchor].plane];
                let normal = plane.normal();
                let mut turns = Vec::with_capacity(heres.len());
                for here in heres {
                    let params = rig.params(here);
                    let along = rig.rod_along(c, &params, &here.poses);
                    let (x, y, z) = (
                        dot(along, plane.right),
                        dot(along, plane.up),
                        dot(along, normal),
                    );
                    tilts.push(z.clamp(-1.0, 1.0).abs().asin().min(FRAC_PI_2));
                    turns.push(y.atan2(x) - here.poses.get(body)?.angle);
                }
                angles.push(unwrapped(&turns));
            }
            Some(Relative { angles, tilts })
        }
        Found::Slide(..) | Found::Index(_) | Found::Row(..) => None,
    }
}

/// Angles without jumps of a turn from one to the next.
fn unwrapped(angles: &[f64]) -> Vec<f64> {
    let mut out: Vec<f64> = Vec::with_capacity(angles.len());
    for &angle in angles {
        let last = out.last().copied().unwrap_or(angle);
        let step = (angle - last + PI).rem_euclid(TAU) - PI;
        out.push(last + step);
    }
    out
}

/// Whether the force goes round as seen from the two bodies of a pin, while a drive goes round.
fn going_round(rig: &Rig<'_>, joint: usize, good: &[(&Here, &Row)]) -> Option<[bool; 2]> {
    let Some(&Found::Pin(c)) = rig.found.get(joint) else {
        return None;
    };
    let Constraint::Pin { a, b } = *rig.mechanism.constraints.get(c)? else {
        return None;
    };
    let bodies: [BodyId; 2] = [b, a].map(|anchor| rig.mechanism.anchors[anchor].body);
    let force = |row: &Row| row.row.joints.get(joint).and_then(|f| f.vector);
    let greatest = good
        .iter()
        .filter_map(|(_, r)| force(r))
        .fold(0.0_f64, |m, [x, y]| m.max(x.hypot(y)));
    if greatest <= 0.0 {
        return None;
    }
    let mut round = [false; 2];
    for (round, body) in round.iter_mut().zip(bodies) {
        let seen = good.iter().filter_map(|(here, row)| {
            let [x, y] = force(row)?;
            (x.hypot(y) > FAINT * greatest).then_some(())?;
            Some(y.atan2(x) - here.poses.get(body)?.angle)
        });
        let angles = unwrapped(&seen.collect::<Vec<f64>>());
        if let (Some(first), Some(last)) = (angles.first(), angles.last()) {
            *round = (last - first).abs() > 1.5 * PI;
        }
    }
    Some(round)
}
