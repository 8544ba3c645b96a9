//! Forces along a shaft: what its parts press on it at their stations, its bearings, bending and torsion; at rest without friction,
//! and with the friction of what rubs on it while a drive moves.

use super::answers::{Moving, ShaftLoad, Station, Tipping};
use super::nodes::bearings;
use super::rig::{Rig, Tooth, dot};
use super::stock::hub_station;
use crate::assemble::Joint;
use machine::model::{FRAME, PartId, PartKind};
use mechanics::friction::{Rubbed, Rubs};
use mechanics::model::{AnchorId, Constraint, Measure, Pose};
use mechanics::statics::Load;
use mechanics::tangent::Tangent;

/// Share of all that lies there from which on a station counts as lifted.
const LIFTS: f64 = 1e-6;

/// Something that presses on a shaft: a unit of a reaction row, or (without a row) a force that is given.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Push {
    pub(crate) station: f64,
    what: String,
    /// From the shaft's axis, right and up, mm.
    offset: [f64; 2],
    row: Option<usize>,
    /// Right, up and along the axis, N a unit.
    force: [f64; 3],
    /// Moment about the axis beside that of the force, N·mm a unit.
    moment: f64,
}

/// A shaft and its support.
#[derive(Clone, Debug)]
pub(crate) struct Shaft {
    pub(crate) part: PartId,
    /// The pin that holds it.
    pub(crate) support: usize,
    /// Its own hole there.
    axis: AnchorId,
    pub(crate) bearings: Option<[f64; 2]>,
}

impl Shaft {
    /// The hole in which it turns.
    pub(crate) fn axis(&self) -> AnchorId {
        self.axis
    }
}

/// All shafts that the frame carries.
pub(crate) fn shafts(rig: &Rig<'_>) -> Vec<Shaft> {
    let machine = &rig.model.machine;
    let shafts = machine
        .parts
        .iter()
        .enumerate()
        .filter(|(_, p)| p.kind == PartKind::Shaft);
    shafts
        .filter_map(|(part, p)| {
            let axis = rig.model.anchor_of(part, *p.carries.first()?)?;
            let support = rig.mechanism.constraints.iter().position(|c| {
                matches!(*c, Constraint::Pin { a, b } if b == axis && rig.mechanism.anchors[a].body == FRAME)
            })?;
            Some(Shaft { part, support, axis, bearings: bearings(rig, part) })
        })
        .collect()
}

/// Everything that presses on a shaft but its own bearings.
pub(crate) fn pushes(
    rig: &Rig<'_>,
    shaft: &Shaft,
    tangent: &Tangent<'_>,
    params: &[f64],
    poses: &[Pose],
    teeth: &[Tooth],
    loads: &[(String, Load)],
) -> Vec<Push> {
    pressing(rig, shaft, tangent, (params, poses), (teeth, loads), true)
}

/// What a part that lies on a shaft at two stations does to them beyond an even share: by the lever law, from where everything that presses
/// on the part stands. The part is taken as held against tipping by these two alone.
fn beyond_even(on_part: &[Push], stations: [f64; 2], along: Option<[f64; 2]>) -> Vec<Push> {
    let mut all = Vec::new();
    for push in on_part {
        for (station, share) in stations.into_iter().zip(shares(push, stations)) {
            let mut more = [
                share[0] - 0.5 * push.force[0],
                share[1] - 0.5 * push.force[1],
            ];
            if let Some(n) = along {
                let size = n[0] * more[0] + n[1] * more[1];
                more = [size * n[0], size * n[1]];
            }
            if more != [0.0; 2] {
                all.push(Push {
                    station,
                    what: String::new(),
                    offset: [0.0; 2],
                    row: push.row,
                    force: [more[0], more[1], 0.0],
                    moment: 0.0,
                });
            }
        }
    }
    all
}

/// Whether a load acts on a part itself.
fn acts_on(rig: &Rig<'_>, part: PartId, on: &Measure) -> bool {
    let of = |a: AnchorId| rig.mechanism.anchors[a].body == part;
    match *on {
        Measure::Along { a, b, .. } | Measure::Distance { a, b } => of(a) || of(b),
        Measure::AlongBody { a, b, body, .. } => of(a) || of(b) || body == part,
        Measure::Angle { body, against, .. } => body == part || against == part,
    }
}

/// Everything that presses on a part but its support. `deep` shares what lies on it at two stations by the lever law.
fn pressing(
    rig: &Rig<'_>,
    shaft: &Shaft,
    tangent: &Tangent<'_>,
    (params, poses): (&[f64], &[Pose]),
    (teeth, loads): (&[Tooth], &[(String, Load)]),
    deep: bool,
) -> Vec<Push> {
    let m = &rig.mechanism;
    let part = shaft.part;
    // What lies on it by joint `i`, with its own hole there.
    let on_it = |i: usize, own: AnchorId| {
        let bed = Shaft {
            part: m.anchors[own].body,
            support: i,
            axis: own,
            bearings: None,
        };
        if bed.part == FRAME {
            return Vec::new();
        }
        pressing(rig, &bed, tangent, (params, poses), (teeth, loads), false)
    };
    let mut uneven: Vec<(String, [f64; 2], Vec<Push>)> = Vec::new();
    let axis = m.in_plane(params, poses, shaft.axis);
    let datum = params[m.anchors[shaft.axis].w];
    let plane = &m.planes[m.anchors[shaft.axis].plane];
    let normal = plane.normal();
    let is_own = |a: AnchorId| m.anchors[a].body == part;
    let offset = |a: AnchorId| {
        let p = m.in_plane(params, poses, a);
        [p[0] - axis[0], p[1] - axis[1]]
    };
    let mut all: Vec<Push> = Vec::new();
    let mut push = |station: f64,
                    what: String,
                    offset: [f64; 2],
                    row: Option<usize>,
                    force: [f64; 3],
                    moment: f64| {
        all.push(Push {
            station,
            what,
            offset,
            row,
            force,
            moment,
        });
    };
    for (i, constraint) in m.constraints.iter().enumerate() {
        if i == shaft.support {
            continue;
        }
        let row = rig.rows[i];
        let what = || match rig.model.joints.get(i) {
            Some(Joint::Pin { point, .. }) => rig.model.machine.points[*point].name.clone(),
            _ => rig.model.joint_name(i),
        };
        match *constraint {
            Constraint::Pin { a, b } if is_own(a) || is_own(b) => {
                let (own, other, sign) = if is_own(a) { (a, b, 1.0) } else { (b, a, -1.0) };
                let arm = m.anchors[other].body;
                let (stations, what) = if rig.is_hub(i) {
                    (
                        vec![hub_station(rig, arm).unwrap_or(datum)],
                        rig.model.body_name(arm),
                    )
                } else {
                    (rig.stations(rig.at(i), params[m.anchors[own].w]), what())
                };
                let at = offset(own);
                if let ([a, b], true) = (stations.as_slice(), deep) {
                    let more = beyond_even(&on_it(i, other), [*a, *b], None);
                    uneven.push((what.clone(), at, more));
                }
                let sign = sign / stations.len() as f64;
                for station in stations {
                    for (k, force) in [[sign, 0.0, 0.0], [0.0, sign, 0.0]].into_iter().enumerate() {
                        push(station, what.clone(), at, Some(row + k), force, 0.0);
                        for &(_, source, factor) in teeth.iter().filter(|t| t.0 == row + k) {
                            push(
                                station,
                                what.clone(),
                                at,
                                Some(source),
                                force.map(|f| f * factor),
                                0.0,
                            );
                        }
                    }
                }
            }
            Constraint::Rod { a, b, .. } => {
                let along = rig.rod_along(i, params, poses);
                for (end, sign) in [(a, 1.0), (b, -1.0)] {
                    let [x, y, z] =
                        [plane.right, plane.up, normal].map(|axis| sign * dot(along, axis));
                    let body = m.anchors[end].body;
                    if body == part {
                        push(
                            params[m.anchors[end].w],
                            what(),
                            offset(end),
                            Some(row),
                            [x, y, z],
                            0.0,
                        );
                    } else if rig.model.machine.parts.get(body).and_then(|p| p.clamped_to)
                        == Some(part)
                        && z.abs() > 1e-12
                    {
                        // What the rod does in the plane comes through the arm's hub; its thrust along the axis too, off the axis.
                        push(
                            hub_station(rig, body).unwrap_or(datum),
                            what(),
                            offset(end),
                            Some(row),
                            [0.0, 0.0, z],
                            0.0,
                        );
                    }
                }
            }
            Constraint::OnLine { pin, through, .. }
            | Constraint::Arc {
                pin,
                centre: through,
                ..
            }
            | Constraint::Cam {
                pin,
                centre: through,
                ..
            } if matches!(
                rig.model.joints.get(i),
                Some(Joint::Slot(_) | Joint::SlideLine(_) | Joint::Cam(_))
            ) && (is_own(pin) || is_own(through)) =>
            {
                let n = rig.push_vector(i, params, poses);
                let stations = rig.stations(rig.at(i), params[m.anchors[pin].w]);
                if let ([a, b], true, true) = (stations.as_slice(), deep, is_own(pin)) {
                    let more = beyond_even(&on_it(i, through), [*a, *b], Some(n));
                    uneven.push((what(), offset(pin), more));
                }
                let sign = if is_own(pin) { 1.0 } else { -1.0 } / stations.len() as f64;
                for station in stations {
                    push(
                        station,
                        what(),
                        offset(pin),
                        Some(row),
                        [sign * n[0], sign * n[1], 0.0],
                        0.0,
                    );
                }
            }
            Constraint::Along {
                pin,
                through,
                direction,
                ..
            } if is_own(pin) || is_own(through) => {
                let host = m.anchors[through].body;
                let (s, c) = (turned(host, poses) + params[direction]).sin_cos();
                let sign = if is_own(pin) { 1.0 } else { -1.0 };
                push(
                    params[m.anchors[pin].w],
                    what(),
                    offset(pin),
                    Some(row),
                    [sign * c, sign * s, 0.0],
                    0.0,
                );
            }
            Constraint::Angle { body, against, .. } if body == part || against == part => {
                let station = if against == part {
                    hub_station(rig, body).unwrap_or(datum)
                } else {
                    datum
                };
                let sign = if body == part { 1.0 } else { -1.0 };
                let what = if against == part {
                    rig.model.body_name(body)
                } else {
                    what()
                };
                push(station, what, [0.0; 2], Some(row), [0.0; 3], sign);
            }
            Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                ..
            } if a == part || b == part || carrier == part => {
                let greater = sizes[0].abs().max(sizes[1].abs());
                let mut moment = 0.0;
                for (body, share) in [
                    (a, sizes[0]),
                    (b, sizes[1]),
                    (carrier, -sizes[0] - sizes[1]),
                ] {
                    moment += if body == part { share / greater } else { 0.0 };
                }
                push(datum, what(), [0.0; 2], Some(row), [0.0; 3], moment);
            }
            Constraint::Rack { gear, radius, .. } if gear == part => {
                push(
                    datum,
                    what(),
                    [0.0; 2],
                    Some(row),
                    [0.0; 3],
                    -params[radius],
                );
            }
            _ => {}
        }
    }
    // Teeth on the shaft itself press its bearings.
    let support = rig.rows[shaft.support];
    for &(row, source, factor) in teeth
        .iter()
        .filter(|t| t.0 == support || t.0 == support + 1)
    {
        let what = rig.rows.iter().position(|r| *r == source);
        let what = what.map_or_else(String::new, |i| rig.model.joint_name(i));
        let mut force = [0.0; 3];
        force[row - support] = factor;
        push(datum, what, [0.0; 2], Some(source), force, 0.0);
    }
    for (name, load) in loads.iter().filter(|l| acts_on(rig, part, &l.1.on)) {
        let on = tangent.forces(std::slice::from_ref(load));
        let Some([x, y, turn]) = on.get(3 * (part - 1)..3 * part) else {
            continue;
        };
        if *x == 0.0 && *y == 0.0 && *turn == 0.0 {
            continue;
        }
        let anchors = match load.on {
            Measure::Along { a, b, .. }
            | Measure::AlongBody { a, b, .. }
            | Measure::Distance { a, b } => vec![a, b],
            Measure::Angle { .. } => vec![],
        };
        let own = anchors.into_iter().find(|&a| is_own(a));
        let (station, at) = match own {
            Some(a) => (params[m.anchors[a].w], offset(a)),
            None => (datum, [0.0; 2]),
        };
        // The unknown turn is about the body's own origin, which is the axis.
        let beside = turn - (at[0] * y - at[1] * x);
        push(station, name.clone(), at, None, [*x, *y, 0.0], beside);
    }
    for (what, at, more) in uneven {
        all.extend(more.into_iter().map(|p| Push {
            what: what.clone(),
            offset: at,
            ..p
        }));
    }
    all
}

/// Angle of a body's own axes.
fn turned(body: usize, poses: &[Pose]) -> f64 {
    if body == FRAME {
        0.0
    } else {
        poses.get(body).map_or(0.0, |p| p.angle)
    }
}

/// A joint that lies on a shaft at several stations, of which this one is pressed the other way than the rest: what lies there lifts off.
pub(crate) fn tipping(load: &ShaftLoad) -> Option<Tipping> {
    let mut worst: Option<Tipping> = None;
    for s in &load.stations {
        let others = load.stations.iter().filter(|o| o.what == s.what);
        let sum = others.fold([0.0; 2], |sum, o| {
            [sum[0] + o.force[0], sum[1] + o.force[1]]
        });
        let (size, all) = (s.force[0].hypot(s.force[1]), sum[0].hypot(sum[1]));
        let against = s.force[0] * sum[0] + s.force[1] * sum[1];
        if s.what != "bearing"
            && s.what != "friction"
            && against < -LIFTS * all * all
            && worst.as_ref().is_none_or(|w| size > w.force)
        {
            worst = Some(Tipping {
                joint: s.what.clone(),
                shaft: load.shaft.clone(),
                station: s.station,
                force: size,
                row: load.row,
            });
        }
    }
    worst
}

/// Share of a push that each of two bearings carries: as a force, and for a thrust off the axis as a couple.
pub(crate) fn shares(push: &Push, [a, b]: [f64; 2]) -> [[f64; 2]; 2] {
    let at_b = (push.station - a) / (b - a);
    let [x, y, z] = push.force;
    let couple = push.offset.map(|e| e * z / (b - a));
    [
        [(1.0 - at_b) * x + couple[0], (1.0 - at_b) * y + couple[1]],
        [at_b * x - couple[0], at_b * y - couple[1]],
    ]
}

/// Load on each of two bearings, right and up.
fn on_bearings(pushes: &[Push], stations: [f64; 2], rows: &[f64]) -> [[f64; 2]; 2] {
    let mut bearings = [[0.0; 2]; 2];
    for push in pushes {
        let size = push.size(rows);
        for (sum, share) in bearings.iter_mut().zip(shares(push, stations)) {
            sum[0] += size * share[0];
            sum[1] += size * share[1];
        }
    }
    bearings
}

impl Push {
    fn size(&self, rows: &[f64]) -> f64 {
        self.row.map_or(1.0, |row| rows[row])
    }

    /// A hand that pulls at the shaft itself, so far off its axis; its force stands in this row.
    pub(crate) fn by_hand(station: f64, row: usize, offset: [f64; 2], [x, y]: [f64; 2]) -> Self {
        Self {
            station,
            what: String::from("hand"),
            offset,
            row: Some(row),
            force: [x, y, 0.0],
            moment: 0.0,
        }
    }

    /// A motor that turns the shaft here; its moment stands in this row.
    pub(crate) fn turning(station: f64, row: usize) -> Self {
        Self {
            station,
            what: String::from("motor"),
            offset: [0.0; 2],
            row: Some(row),
            force: [0.0; 3],
            moment: 1.0,
        }
    }

    /// The row, or none for a given force.
    pub(crate) fn row(&self) -> Option<usize> {
        self.row
    }
}

/// What rubs on a shaft, as pushes that are given. What is lacking for its equilibrium under friction is what rubs on it: its bearings by
/// their own moment, the rest where parts slide on it, shared by the power that is lost there. `rows` as solved, `with_teeth` with what teeth add.
pub(crate) fn rubbed(
    rig: &Rig<'_>,
    shaft: &Shaft,
    pushes: &[Push],
    [rows, with_teeth]: [&[f64]; 2],
    rubs: &[Rubs],
    places: &[Rubbed],
) -> Vec<Push> {
    let datum = rig.mechanism.params[rig.mechanism.anchors[shaft.axis].w];
    let given = |station: f64, [x, y]: [f64; 2], moment: f64| Push {
        station,
        what: String::from("friction"),
        offset: [0.0; 2],
        row: None,
        force: [x, y, 0.0],
        moment,
    };
    let support = rig.rows[shaft.support];
    let mut lacking = [with_teeth[support], with_teeth[support + 1], 0.0];
    for push in pushes {
        let size = push.size(rows);
        let [x, y, _] = push.force.map(|f| f * size);
        lacking[0] -= x;
        lacking[1] -= y;
        lacking[2] -= push.offset[0] * y - push.offset[1] * x + push.moment * size;
    }
    let mut all = Vec::new();
    let mut elsewhere: Vec<(f64, f64)> = Vec::new();
    for (rub, place) in rubs.iter().zip(places) {
        let against = place.friction * place.slip.signum();
        if place.slip == 0.0 || against == 0.0 {
            continue;
        }
        match rub {
            Rubs::Journal { body, .. } if *body == shaft.part => {
                // Each bearing rubs under its own load.
                let stations = shaft.bearings.unwrap_or([datum; 2]);
                let pressed = match shaft.bearings {
                    Some(stations) => on_bearings(pushes, stations, rows).map(|[x, y]| x.hypot(y)),
                    None => [1.0; 2],
                };
                let sum = pressed[0] + pressed[1];
                for (station, press) in stations.into_iter().zip(pressed) {
                    let share = if sum > 0.0 { press / sum } else { 0.5 };
                    all.push(given(station, [0.0; 2], -share * against));
                }
                lacking[2] += against;
            }
            Rubs::Pin { constraint, .. } if *constraint == shaft.support => {
                all.push(given(datum, [0.0; 2], against));
                lacking[2] -= against;
            }
            Rubs::Pin { constraint, .. }
            | Rubs::RodEnd { constraint, .. }
            | Rubs::Slot { constraint, .. }
            | Rubs::Mesh { constraint } => {
                let row = rig.rows.get(*constraint).copied();
                // Each of the places that share it rubs alike.
                let on = pushes.iter().filter(|p| p.row.is_some() && p.row == row);
                let power = (place.slip * place.friction).abs() / on.clone().count().max(1) as f64;
                elsewhere.extend(on.map(|p| (p.station, power)));
            }
            Rubs::Journal { .. } | Rubs::Slide { .. } => {}
        }
    }
    if elsewhere.is_empty() {
        elsewhere.push((datum, 1.0));
    }
    let total: f64 = elsewhere.iter().map(|e| e.1).sum();
    all.extend(elsewhere.into_iter().map(|(station, power)| {
        let share = power / total;
        given(
            station,
            [share * lacking[0], share * lacking[1]],
            share * lacking[2],
        )
    }));
    all
}

/// Bending and torsion along the shaft with these reaction rows. Sign of torsion: moment that the part of the shaft before the
/// station passes on, counter-clockwise positive.
pub(crate) fn diagram(
    rig: &Rig<'_>,
    shaft: &Shaft,
    pushes: &[Push],
    rows: &[f64],
    row: usize,
    moving: Option<Moving>,
) -> ShaftLoad {
    struct At {
        station: f64,
        what: String,
        force: [f64; 2],
        /// Bending couple about right and up.
        couple: [f64; 2],
        torque: f64,
    }
    let mut places: Vec<At> = Vec::new();
    let mut add = |station: f64, what: &str, force: [f64; 2], couple: [f64; 2], torque: f64| {
        if let Some(at) = places
            .iter_mut()
            .find(|p| p.station == station && p.what == what)
        {
            for k in 0..2 {
                at.force[k] += force[k];
                at.couple[k] += couple[k];
            }
            at.torque += torque;
        } else {
            places.push(At {
                station,
                what: what.to_owned(),
                force,
                couple,
                torque,
            });
        }
    };
    let mut thrust = 0.0;
    for push in pushes {
        let size = push.size(rows);
        let [x, y, z] = push.force.map(|f| f * size);
        thrust += z;
        let torque = push.offset[0] * y - push.offset[1] * x + push.moment * size;
        add(
            push.station,
            &push.what,
            [x, y],
            [push.offset[1] * z, -push.offset[0] * z],
            torque,
        );
    }
    let bearings = shaft.bearings.map(|s| (s, on_bearings(pushes, s, rows)));
    if let Some((stations, bearings)) = bearings {
        for (station, load) in stations.iter().zip(bearings) {
            add(*station, "bearing", load.map(|f| -f), [0.0; 2], 0.0);
        }
    }
    places.sort_by(|p, q| p.station.total_cmp(&q.station));
    let (mut shear, mut bending, mut torsion, mut last) = ([0.0; 2], [0.0; 2], 0.0, None::<f64>);
    let mut stations = Vec::new();
    let (mut most_bending, mut most_torsion): (f64, f64) = (0.0, 0.0);
    for at in places {
        if let Some(last) = last {
            // Moments about right and up of everything before: dM/dz = axis × shear.
            bending[0] -= shear[1] * (at.station - last);
            bending[1] += shear[0] * (at.station - last);
        }
        let before = (bending[0].hypot(bending[1]), torsion);
        let bent_before = bending;
        for k in 0..2 {
            shear[k] += at.force[k];
            bending[k] -= at.couple[k];
        }
        torsion -= at.torque;
        let after = (bending[0].hypot(bending[1]), torsion);
        most_bending = most_bending.max(before.0).max(after.0);
        most_torsion = most_torsion.max(before.1.abs()).max(after.1.abs());
        last = Some(at.station);
        let known = shaft.bearings.is_some();
        stations.push(Station {
            station: at.station,
            what: at.what,
            force: at.force,
            bending: if known { [before.0, after.0] } else { [0.0; 2] },
            bent: if known {
                [bent_before, bending]
            } else {
                [[0.0; 2]; 2]
            },
            torsion: [before.1, after.1],
        });
    }
    ShaftLoad {
        shaft: rig.model.machine.parts[shaft.part].name.clone(),
        row,
        moving,
        bearings: bearings.map(|b| b.1),
        thrust,
        stations,
        most_bending: shaft.bearings.map(|_| most_bending),
        most_torsion,
    }
}
