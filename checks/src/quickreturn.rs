//! Machines with a pin in a straight slot: quick returns and Geneva wheels.

use crate::draft::{Draft, polar};
use crate::slidercrank::ratio;
use crate::{Answers, Given, Solver};
use mechanics::model::{AnchorId, BodyId, ParamId};
use std::f64::consts::{FRAC_PI_2, PI};

struct Lever {
    draft: Draft,
    drive: ParamId,
    crank: BodyId,
    slotted: BodyId,
    tip: AnchorId,
}

/// Slotted lever about the origin, crank about a centre straight above it.
fn slotted(g: &Given, tip: f64, drawn: f64, by_lever: bool) -> Result<Lever, String> {
    let (r, c) = (g.number("crank")?, g.number("centres")?);
    let mut d = Draft::new();
    let pin = polar([0.0, c], r, drawn);
    let (crank, lever) = (d.bar([0.0, c], pin), d.bar([0.0; 2], pin));
    let (above, below) = (d.fixed([0.0, c]), d.fixed([0.0; 2]));
    let [c0, c1, l0, tip] =
        [(crank, 0.0), (crank, r), (lever, 0.0), (lever, tip)].map(|(b, u)| d.hole(b, [u, 0.0]));
    d.pin(above, c0);
    d.pin(below, l0);
    d.on_line(c1, l0, 0.0);
    let drive = if by_lever {
        d.drive(lever, 0)
    } else {
        d.drive(crank, 0)
    };
    Ok(Lever {
        draft: d,
        drive,
        crank,
        slotted: lever,
        tip,
    })
}

/// Time ratio and stroke of the lever's tip: the ends are the dead centres of the machine driven by its lever.
pub(crate) fn limits(g: &Given) -> Result<Answers, String> {
    let q = slotted(g, g.number("lever")?, FRAC_PI_2, true)?;
    let (left, right) = (
        q.draft.dead_centre(q.drive, PI)?,
        q.draft.dead_centre(q.drive, 0.0)?,
    );
    let there = left.angle(q.crank) - right.angle(q.crank);
    let stroke = (left.at(q.tip)[0] - right.at(q.tip)[0]).abs();
    Ok(Answers::default()
        .number("time_ratio", ratio(there))
        .number("stroke", stroke))
}

pub(crate) fn lever(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let q = slotted(g, 1.0, 1.2, false)?;
    let stand = q.draft.go(solver, &[(q.drive, g.degrees("crank")?)])?;
    let [rate, _] = stand.moving(q.drive)?.turn(q.slotted);
    Ok(Answers::default()
        .degrees("lever_from_vertical", FRAC_PI_2 - stand.angle(q.slotted))
        .number("lever_from_vertical_rate", -rate))
}

/// Whitworth's quick return: the lever goes round, and pulls a ram on the line through its centre square to the centres.
pub(crate) fn whitworth(g: &Given) -> Result<Answers, String> {
    let (arm, rod) = (g.number("arm")?, g.number("rod")?);
    let Lever {
        draft: mut d,
        crank,
        slotted: lever,
        tip,
        ..
    } = slotted(g, -arm, 0.6, false)?;
    // Drawn by the crank, driven by the ram: the crank's own drive is the last constraint.
    d.m.constraints.pop();
    let at = d.m.in_plane(&d.m.params, &d.m.drawn, tip);
    let end = [at[0] - (rod * rod - at[1] * at[1]).max(0.0).sqrt(), 0.0];
    let (link, ram) = (d.bar(at, end), d.m.body(0, end, 0.0));
    let [k0, k1, slide] = [(link, 0.0), (link, rod), (ram, 0.0)].map(|(b, u)| d.hole(b, [u, 0.0]));
    d.pin(tip, k0);
    d.pin(k1, slide);
    let guide = d.fixed([0.0; 2]);
    d.on_line(slide, guide, 0.0);
    d.drive(ram, 0);
    let drive = d.push(slide, guide, 0.0, end[0]);
    let (far, near) = (
        d.dead_centre(drive, -2.0 * rod)?,
        d.dead_centre(drive, rod)?,
    );
    let turns = |s: &crate::draft::Stand| (s.angle(crank), s.angle(lever));
    let ((a, la), (b, lb)) = (turns(&far), turns(&near));
    if ((la - lb).abs() - PI).abs() > 1e-9 {
        return Err(format!("the lever turns {} between the ends", la - lb));
    }
    Ok(Answers::default().number("time_ratio", ratio((a - b).abs())))
}

/// Crank about the origin, its pin in a slot of a lever whose centre lies to the left; the lever's tail pulls a slide on a vertical
/// line by a rod.
pub(crate) fn slotted_lever(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let [r, c, tail, far] = [
        g.number("crank")?,
        g.number("centres")?,
        g.number("lever")?,
        g.number("far")?,
    ];
    let (l, line) = (g.number("rod")?, g.number("line")?);
    let mut d = Draft::new();
    let pin = polar([0.0; 2], r, 0.9);
    let centre = [-c, 0.0];
    let turn = (pin[1]).atan2(pin[0] + c);
    let end = polar(centre, -tail, turn);
    let x = -c - line;
    let slide_at = [x, end[1] + (l * l - (x - end[0]).powi(2)).max(0.0).sqrt()];
    let (crank, lever) = (d.bar([0.0; 2], pin), d.bar(centre, pin));
    let (rod, ram) = (d.bar(end, slide_at), d.m.body(0, slide_at, 0.0));
    let (f0, f1, f2) = (d.fixed([0.0; 2]), d.fixed(centre), d.fixed([x, 0.0]));
    let holes = [
        (crank, 0.0),
        (crank, r),
        (lever, 0.0),
        (lever, -tail),
        (lever, far),
        (rod, 0.0),
        (rod, l),
    ];
    let [c0, c1, l0, l1, l2, k0, k1] = holes.map(|(b, u)| d.hole(b, [u, 0.0]));
    let slide = d.hole(ram, [0.0; 2]);
    d.pin(f0, c0);
    d.pin(f1, l0);
    d.on_line(c1, l0, 0.0);
    d.pin(l1, k0);
    d.pin(k1, slide);
    d.on_line(slide, f2, FRAC_PI_2);
    d.drive(ram, 0);
    let drive = d.drive(crank, 0);
    let stand = d.go(solver, &[(drive, g.degrees("crank")?)])?;
    let moving = stand.moving(drive)?;
    let speed = g.number_or("rpm", 60.0 / std::f64::consts::TAU) * PI / 30.0;
    let square = speed * speed;
    let mut answers = Answers::default()
        .degrees("lever", stand.angle(lever))
        .degrees("rod", stand.angle(rod));
    for (name, anchor) in [("B", c1), ("D", l1), ("E", slide), ("F", l2)] {
        let [first, second] = moving.place(anchor);
        answers = answers
            .place(&format!("{name}_m"), &stand.at(anchor).map(|x| 1e-3 * x))
            .place(&format!("{name}_m_per_s"), &first.map(|x| 1e-3 * speed * x))
            .place(
                &format!("{name}_m_per_s2"),
                &second.map(|x| 1e-3 * square * x),
            );
    }
    for (name, body) in [("lever", lever), ("rod", rod)] {
        let [first, second] = moving.turn(body);
        answers = answers
            .number(&format!("{name}_rad_per_s"), speed * first)
            .number(&format!("{name}_rad_per_s2"), square * second);
    }
    Ok(answers)
}

/// Geneva wheel while the roller is in its slot; crank at unit speed. The crank's centre is the origin, the wheel lies to the right.
pub(crate) fn geneva(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (slots, c) = (g.number("slots")?, g.number("centres")?);
    let half = PI / slots;
    let r = c * half.sin();
    let mut d = Draft::new();
    let pin = polar([0.0; 2], r, 0.1);
    let (crank, wheel) = (d.bar([0.0; 2], pin), d.bar([c, 0.0], pin));
    let (f0, f1) = (d.fixed([0.0; 2]), d.fixed([c, 0.0]));
    let [c0, c1, w0] = [(crank, 0.0), (crank, r), (wheel, 0.0)].map(|(b, u)| d.hole(b, [u, 0.0]));
    d.pin(f0, c0);
    d.pin(f1, w0);
    d.on_line(c1, w0, 0.0);
    let drive = d.drive(crank, 0);
    let at = |angle: f64| -> Result<[f64; 2], String> {
        let [rate, second] = d.go(solver, &[(drive, angle)])?.moving(drive)?.turn(wheel);
        Ok([rate.abs(), second.abs()])
    };
    let entry = FRAC_PI_2 - half;
    // The acceleration rises from the entry to one peak and falls to nothing on the line of centres: golden section.
    let (mut low, mut high) = (0.0, entry);
    let share = 0.5 * (5.0_f64.sqrt() - 1.0);
    while high - low > 1e-6 {
        let (p, q) = (high - share * (high - low), low + share * (high - low));
        if at(p)?[1] < at(q)?[1] {
            low = p;
        } else {
            high = q;
        }
    }
    Ok(Answers::default()
        .number("greatest_rate", at(0.0)?[0])
        .number("entry_second", at(entry)?[1])
        .number("greatest_second", at(0.5 * (low + high))?[1]))
}
