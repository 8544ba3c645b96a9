//! Machines in several planes: crank and rod between skew shafts, Hooke's joint, and the chain from a lever to a gap.

use crate::draft::{Draft, Stand, polar, swing, tilted};
use crate::{Answers, Given, Solver};
use mechanics::Sensitivity;
use mechanics::model::{AnchorId, BodyId, Constraint, Measure, ParamId, Plane};
use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2};

/// An arm on a shaft of the frame whose axis is the plane's third direction through its origin.
fn arm(d: &mut Draft, plane: usize, reach: f64, angle: f64) -> (BodyId, AnchorId) {
    let body = d.m.body(plane, [0.0; 2], angle);
    let centre = d.m.anchor(0, plane, [0.0; 3]);
    let (hub, end) = (d.hole(body, [0.0; 2]), d.hole(body, [reach, 0.0]));
    d.pin(centre, hub);
    (body, end)
}

fn rod(d: &mut Draft, a: AnchorId, b: AnchorId, length: f64) -> ParamId {
    let length = d.m.param(length);
    d.m.constrain(Constraint::Rod { a, b, length });
    length
}

/// Crank in the front plane, ball-ended rod, arm on a shaft of the direction (0, sin, cos) of its tilt.
fn skew(g: &Given) -> Result<(Draft, [BodyId; 2], AnchorId), String> {
    let mut d = Draft::new();
    let plane =
        d.m.plane(tilted(g.place("arm_centre")?, g.degrees("shaft_tilt")?));
    let (crank, a) = arm(&mut d, 0, g.number("crank")?, 0.0);
    let (lever, b) = arm(&mut d, plane, g.number("arm")?, g.degrees("drawn_arm")?);
    rod(&mut d, a, b, g.number("rod")?);
    Ok((d, [crank, lever], b))
}

/// The same without a drive, for its freedoms.
pub(crate) fn rssr_chain(g: &Given) -> Result<Draft, String> {
    Ok(skew(g)?.0)
}

pub(crate) fn rssr(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (mut d, [crank, lever], b) = skew(g)?;
    let drive = d.drive(crank, 0);
    let stand = d.go(solver, &[(drive, g.degrees("crank")?)])?;
    let rate = stand.moving(drive)?.turn(lever)[0];
    Ok(Answers::default()
        .degrees("arm", stand.angle(lever))
        .number("arm_rate", rate)
        .place("B", &stand.in_space(b)))
}

/// Hooke's joint as two arms of crossing shafts held square to one another: their ends are √2 arms apart.
pub(crate) fn hooke(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let mut d = Draft::new();
    let plane = d.m.plane(tilted([0.0; 3], g.degrees("shaft")?));
    let (driver, a) = arm(&mut d, 0, 10.0, 0.0);
    let (driven, b) = arm(&mut d, plane, 10.0, FRAC_PI_2);
    rod(&mut d, a, b, 10.0 / FRAC_1_SQRT_2);
    let drive = d.drive(driver, 0);
    let stand = d.go(solver, &[(drive, g.degrees("driver")?)])?;
    let [rate, second] = stand.moving(drive)?.turn(driven);
    Ok(Answers::default()
        .degrees("driven", stand.angle(driven) - FRAC_PI_2)
        .number("driven_rate", rate)
        .number("driven_second", second)
        .number("driven_rpm", rate * g.number_or("rpm", 1.0)))
}

/// Two joints of the same angle in one plane, the forks of the middle shaft square to one another.
pub(crate) fn hooke_twice(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let tilt = g.degrees("shaft")?;
    let mut d = Draft::new();
    let planes = [
        d.m.plane(tilted([0.0; 3], tilt)),
        d.m.plane(tilted([0.0; 3], 2.0 * tilt)),
    ];
    let (driver, a) = arm(&mut d, 0, 10.0, 0.0);
    let (middle, b) = arm(&mut d, planes[0], 10.0, FRAC_PI_2);
    let second_fork = d.hole(middle, [0.0, -10.0]);
    let (driven, c) = arm(&mut d, planes[1], 10.0, FRAC_PI_2);
    rod(&mut d, a, b, 10.0 / FRAC_1_SQRT_2);
    rod(&mut d, second_fork, c, 10.0 / FRAC_1_SQRT_2);
    let drive = d.drive(driver, 0);
    let stand = d.go(solver, &[(drive, g.degrees("driver")?)])?;
    let rate = stand.moving(drive)?.turn(driven)[0];
    Ok(Answers::default().number("driven_rpm", rate * g.number("rpm")?))
}

/// The chain: a lever turns about an axis along the front plane's right through PL, its pin at PL + a (0, sin, cos) of the lever
/// angle. A rod R1 goes to the arm b1 of a bell crank about PB in the front plane; its arm b2, turned by gamma, pulls by a rod R2 the
/// arm c of a shaft at E. An eccentric e on that shaft, clocked by kappa against c, pushes by a link k a ram that runs upright at
/// xr. The gap is from the bed at height yd to the ram's face, hr below its pin.
struct Chain {
    draft: Draft,
    drive: ParamId,
    bell: BodyId,
    shaft: BodyId,
    gap: Measure,
    /// Every dimension as a sum of parameters with factors.
    dimensions: Vec<(&'static str, Vec<(ParamId, f64)>)>,
}

fn build(g: &Given) -> Result<Chain, String> {
    let n = |name: &str| g.number(name);
    let (gamma, kappa) = (g.degrees("gamma")?, g.degrees("kappa")?);
    let (pl, pb, shaft_at) = (
        [n("PLx")?, n("PLy")?, n("PLz")?],
        [n("PBx")?, n("PBy")?],
        [n("Ex")?, n("Ey")?],
    );
    let mut d = Draft::new();
    // Seen so that the lever angle runs counter-clockwise: right is towards the viewer of the front plane.
    let side = d.m.plane(Plane {
        origin: [0.0; 3],
        right: [0.0, 0.0, 1.0],
        up: [0.0, 1.0, 0.0],
    });
    // Drawn roughly, with the lever level.
    let lever = d.m.body(side, [pl[2], pl[1]], 0.0);
    // The third direction of the side plane is the front plane's left.
    let lever_pivot = d.m.anchor(0, side, [pl[2], pl[1], -pl[0]]);
    let lever_hub = d.hole(lever, [0.0; 2]);
    let lever_pin = d.m.anchor(lever, side, [n("a")?, 0.0, -pl[0]]);
    d.pin(lever_pivot, lever_hub);
    let bell_turn = 180_f64.to_radians();
    let bell = d.m.body(0, pb, bell_turn);
    let bell_pivot = d.fixed(pb);
    let (b1, b2) = (n("b1")?, n("b2")?);
    let bell_hub = d.hole(bell, [0.0; 2]);
    let bell_in = d.m.anchor(bell, 0, [b1, 0.0, n("PBz")?]);
    let bell_out = d.hole(bell, polar([0.0; 2], b2, gamma));
    d.pin(bell_pivot, bell_hub);
    let r1 = rod(&mut d, lever_pin, bell_in, n("R1")?);
    let shaft_turn = 100_f64.to_radians();
    let shaft = d.m.body(0, shaft_at, shaft_turn);
    let shaft_centre = d.fixed(shaft_at);
    let (c, e) = (n("c")?, n("e")?);
    let [hub, arm_pin] = [0.0, c].map(|u| d.hole(shaft, [u, 0.0]));
    let eccentric = d.hole(shaft, polar([0.0; 2], e, kappa));
    d.pin(shaft_centre, hub);
    let r2 = rod(&mut d, bell_out, arm_pin, n("R2")?);
    let (k, xr) = (n("k")?, n("xr")?);
    let top = polar(shaft_at, e, shaft_turn + kappa);
    let ram_at = swing(
        top,
        k,
        [xr, top[1] - 2.0 * k],
        (4.0 * k * k - k * k).sqrt(),
        true,
    )
    .unwrap_or(top);
    let ram = d.m.body(0, [xr, ram_at[1].min(top[1] - 0.9 * k)], 0.0);
    let ram_pin = d.hole(ram, [0.0; 2]);
    let die = d.hole(ram, [0.0, -n("hr")?]);
    let link = rod(&mut d, eccentric, ram_pin, k);
    let guide = d.fixed([xr, 0.0]);
    d.on_line(ram_pin, guide, FRAC_PI_2);
    d.drive(ram, 0);
    let bed = d.fixed([xr, n("yd")?]);
    let drive = d.drive(lever, 0);
    let at = |anchor: AnchorId| d.m.anchors[anchor];
    let (sg, cg) = gamma.sin_cos();
    let (sk, ck) = kappa.sin_cos();
    let polar_of = |anchor: AnchorId, (s, c): (f64, f64), r: f64| {
        let a = at(anchor);
        (vec![(a.u, c), (a.v, s)], vec![(a.u, -r * s), (a.v, r * c)])
    };
    let (b2_sum, gamma_sum) = polar_of(bell_out, (sg, cg), b2);
    let (e_sum, kappa_sum) = polar_of(eccentric, (sk, ck), e);
    let dimensions = vec![
        ("a", vec![(at(lever_pin).u, 1.0)]),
        ("PLx", vec![(at(lever_pin).w, -1.0)]),
        ("PLy", vec![(at(lever_pivot).v, 1.0)]),
        ("PLz", vec![(at(lever_pivot).u, 1.0)]),
        ("R1", vec![(r1, 1.0)]),
        ("PBx", vec![(at(bell_pivot).u, 1.0)]),
        ("PBy", vec![(at(bell_pivot).v, 1.0)]),
        ("PBz", vec![(at(bell_in).w, 1.0)]),
        ("b1", vec![(at(bell_in).u, 1.0)]),
        ("b2", b2_sum),
        ("R2", vec![(r2, 1.0)]),
        ("Ex", vec![(at(shaft_centre).u, 1.0)]),
        ("Ey", vec![(at(shaft_centre).v, 1.0)]),
        ("c", vec![(at(arm_pin).u, 1.0)]),
        ("e", e_sum),
        ("k", vec![(link, 1.0)]),
        ("xr", vec![(at(guide).u, 1.0)]),
        ("hr", vec![(at(die).v, -1.0)]),
        ("yd", vec![(at(bed).v, 1.0)]),
        ("gamma", gamma_sum),
        ("kappa", kappa_sum),
    ];
    let gap = Measure::Along {
        a: bed,
        b: die,
        direction: [0.0, 1.0, 0.0],
    };
    Ok(Chain {
        draft: d,
        drive,
        bell,
        shaft,
        gap,
        dimensions,
    })
}

impl Chain {
    fn stand(&self, g: &Given, solver: &dyn Solver) -> Result<Stand<'_>, String> {
        self.draft.go(solver, &[(self.drive, g.degrees("lever")?)])
    }

    fn effects(&self, s: &Sensitivity) -> Vec<(&'static str, f64)> {
        let effect = |sum: &[(ParamId, f64)]| sum.iter().map(|(p, f)| f * s.by_param[*p]).sum();
        self.dimensions
            .iter()
            .map(|(name, sum)| (*name, effect(sum)))
            .collect()
    }
}

pub(crate) fn chain(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let c = build(g)?;
    let stand = c.stand(g, solver)?;
    let [gap, rate, second] = stand.moving(c.drive)?.along(&c.gap);
    Ok(Answers::default()
        .number("gap", gap)
        .number("gap_rate", rate)
        .number("gap_second", second)
        .degrees("bell", stand.angle(c.bell))
        .degrees("shaft", stand.angle(c.shaft)))
}

pub(crate) fn chain_sensitivities(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let c = build(g)?;
    let found = c.stand(g, solver)?.sensitivity(&c.gap)?;
    Ok(c.effects(&found)
        .into_iter()
        .fold(Answers::default(), |a, (name, effect)| {
            a.number(name, effect)
        }))
}

/// The moment on the lever that holds the ram's force: the virtual load of the gap in the equation of the drive.
pub(crate) fn chain_effort(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let c = build(g)?;
    let found = c.stand(g, solver)?.sensitivity(&c.gap)?;
    let last = found.load.last().copied().ok_or("there is no equation")?;
    // In N·m; the drive's equation is the last one.
    Ok(Answers::default().number("lever_moment_Nm", -1e-3 * g.number("ram_force_N")? * last))
}

pub(crate) fn chain_stack(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let c = build(g)?;
    let found = c.stand(g, solver)?.sensitivity(&c.gap)?;
    let (length, angle) = (g.number("length_tolerance")?, g.degrees("angle_tolerance")?);
    let share = |(name, effect): (&'static str, f64)| {
        (
            name,
            effect.abs()
                * if matches!(name, "gamma" | "kappa") {
                    angle
                } else {
                    length
                },
        )
    };
    let shares: Vec<(&str, f64)> = c.effects(&found).into_iter().map(share).collect();
    let square: f64 = shares.iter().map(|s| s.1 * s.1).sum();
    let largest = shares
        .iter()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .ok_or("there is no dimension")?;
    Ok(Answers::default()
        .number("worst", shares.iter().map(|s| s.1).sum())
        .number("rss", square.sqrt())
        .word("largest", largest.0)
        .number("its_share", largest.1 * largest.1 / square))
}
