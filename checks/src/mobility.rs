//! Freedoms and counts of well-known chains.

use crate::draft::Draft;
use crate::fourbar::{By, four_bar};
use crate::{Answers, Given, sixbar, spatial, squeezer};
use mechanics::model::{BodyId, Constraint};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

pub(crate) fn mobility(g: &Given) -> Result<Answers, String> {
    let chain = g.word("chain")?;
    let d = draw(chain)?;
    let found = mechanics::mobility(&d.m, &d.m.params, &d.m.drawn);
    // A body that alone turns about its own pin spins idly.
    let idle = found.free.iter().filter(|motion| {
        let moved: Vec<&[f64; 3]> = motion.iter().filter(|m| **m != [0.0; 3]).collect();
        matches!(moved.as_slice(), [[x, y, _]] if *x == 0.0 && *y == 0.0)
    });
    Ok(Answers::default()
        .number("idle_spins", idle.count() as f64)
        .number("freedoms", found.freedoms as f64)
        .number("count", found.count as f64))
}

fn draw(chain: &str) -> Result<Draft, String> {
    let fixed_data = |name: &str| {
        let cases = crate::read_cases(crate::MOTION)?;
        let case = cases.into_iter().find(|c| c.machine == name);
        case.map(|c| c.given)
            .ok_or_else(|| format!("no case of a {name}"))
    };
    match chain {
        "fourbar" => {
            Ok(four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true, By::Nothing, [0.0; 2])?.draft)
        }
        "slidercrank" => Ok(slider_crank()),
        "sixbar-watt" => Ok(sixbar::watt_chain(&fixed_data("watt-six-bar")?, 1.4, false)?.draft),
        "sixbar-stephenson" => {
            Ok(sixbar::stephenson_chain(&fixed_data("stephenson-six-bar")?, 1.0, None)?.draft)
        }
        "squeezer" => Ok(squeezer::squeezer(&fixed_data("squeezer")?, false)?.draft),
        "rssr" => spatial::rssr_chain(&fixed_data("rssr")?),
        "parallelogram3" => Ok(parallelogram(0.0)),
        "parallelogram3-off" => Ok(parallelogram(0.5)),
        "triangle" => Ok(truss(
            &[[0.0, 0.0], [90.0, 0.0], [30.0, 60.0]],
            &[(0, 1), (1, 2), (2, 0)],
        )),
        "double-braced-square" => Ok(truss(
            &[[0.0, 0.0], [80.0, 0.0], [80.0, 80.0], [0.0, 80.0]],
            &[(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)],
        )),
        "open-2r" => Ok(open_arm()),
        "three-slide-wedge" => Ok(wedge()),
        "gear-pair" => Ok(gear_pair()),
        "cam-roller" => Ok(cam_roller()),
        other => Err(format!("no chain is called {other}")),
    }
}

fn slider_crank() -> Draft {
    let mut d = Draft::new();
    let pin = [30.0, 20.0];
    let end = [130.0, 5.0];
    let (centre, guide) = (d.fixed([0.0; 2]), d.fixed([0.0, 5.0]));
    let (crank, rod, ram) = (d.bar([0.0; 2], pin), d.bar(pin, end), d.m.body(0, end, 0.0));
    let at = |d: &mut Draft, body: BodyId, place: [f64; 2]| {
        d.m.anchor_drawn(body, 0, [place[0], place[1], 0.0])
    };
    let holes = [
        (crank, [0.0; 2]),
        (crank, pin),
        (rod, pin),
        (rod, end),
        (ram, end),
    ];
    let [c0, c1, r0, r1, slide] = holes.map(|(body, place)| at(&mut d, body, place));
    d.pin(centre, c0);
    d.pin(c1, r0);
    d.pin(r1, slide);
    d.on_line(slide, guide, 0.0);
    d.drive(ram, 0);
    d
}

/// Bars between points, all pinned; the first bar is the frame. A point of several bars has one pin fewer than bars.
fn truss(points: &[[f64; 2]], bars: &[(usize, usize)]) -> Draft {
    let mut d = Draft::new();
    let mut carried = vec![Vec::new(); points.len()];
    for (i, &(p, q)) in bars.iter().enumerate() {
        let body = if i == 0 {
            0
        } else {
            d.bar(points[p], points[q])
        };
        for end in [p, q] {
            let anchor =
                d.m.anchor_drawn(body, 0, [points[end][0], points[end][1], 0.0]);
            carried[end].push(anchor);
        }
    }
    for anchors in carried {
        for pair in anchors.windows(2) {
            d.pin(pair[0], pair[1]);
        }
    }
    d
}

/// Three cranks under one coupler. `off` lifts the coupler's middle hole off the line of the outer two.
fn parallelogram(off: f64) -> Draft {
    let mut d = Draft::new();
    let (s, c) = 0.7_f64.sin_cos();
    let ends =
        [0.0, 50.0, 100.0].map(|x| [x + 40.0 * c, 40.0 * s + if x == 50.0 { off } else { 0.0 }]);
    let coupler = d.bar(ends[0], ends[2]);
    for (x, end) in [0.0, 50.0, 100.0].into_iter().zip(ends) {
        let crank = d.bar([x, 0.0], end);
        let (fixed, hub) = (d.fixed([x, 0.0]), d.hole(crank, [0.0; 2]));
        let far = d.m.anchor_drawn(crank, 0, [end[0], end[1], 0.0]);
        let hole = d.m.anchor_drawn(coupler, 0, [end[0], end[1], 0.0]);
        d.pin(fixed, hub);
        d.pin(far, hole);
    }
    d
}

fn open_arm() -> Draft {
    let mut d = Draft::new();
    let (first, second) = (
        d.bar([0.0; 2], [50.0, 10.0]),
        d.bar([50.0, 10.0], [80.0, 50.0]),
    );
    let fixed = d.fixed([0.0; 2]);
    let hub = d.hole(first, [0.0; 2]);
    let [end, start] = [first, second].map(|b| d.m.anchor_drawn(b, 0, [50.0, 10.0, 0.0]));
    d.pin(fixed, hub);
    d.pin(end, start);
    d
}

/// A slide: a point of one body on a line of another, and no turning between them.
fn slide(d: &mut Draft, body: BodyId, on: BodyId, direction: f64) {
    let [pin, through] = [body, on].map(|b| d.m.anchor_drawn(b, 0, [20.0, 10.0, 0.0]));
    d.on_line(pin, through, direction);
    d.drive(body, on);
}

fn wedge() -> Draft {
    let mut d = Draft::new();
    let (a, b) = (d.m.body(0, [0.0; 2], 0.0), d.m.body(0, [0.0; 2], 0.0));
    slide(&mut d, a, 0, 0.0);
    slide(&mut d, b, 0, FRAC_PI_2);
    slide(&mut d, b, a, FRAC_PI_4);
    d
}

fn gear_pair() -> Draft {
    let mut d = Draft::new();
    let [a, b] = [0.0, 60.0].map(|x| {
        let body = d.m.body(0, [x, 0.0], 0.0);
        let (fixed, hub) = (d.fixed([x, 0.0]), d.hole(body, [0.0; 2]));
        d.pin(fixed, hub);
        body
    });
    let offset = d.m.param(0.0);
    d.m.constrain(Constraint::Ratio {
        a,
        b,
        carrier: 0,
        sizes: [20.0, 40.0],
        offset,
    });
    d
}

/// A round eccentric under a roller on an upright slide. Touching means that the centres stay a sum of radii apart.
fn cam_roller() -> Draft {
    let mut d = Draft::new();
    let (cam, roller, follower) = (
        d.m.body(0, [0.0; 2], 0.3),
        d.m.body(0, [3.0, 45.0], 0.0),
        d.m.body(0, [3.0, 45.0], 0.0),
    );
    let (fixed, hub) = (d.fixed([0.0; 2]), d.hole(cam, [0.0; 2]));
    d.pin(fixed, hub);
    let (middle, disc) = (d.hole(roller, [0.0; 2]), d.hole(cam, [8.0, 0.0]));
    let (axle, guide) = (d.hole(follower, [0.0; 2]), d.fixed([3.0, 0.0]));
    d.pin(axle, middle);
    d.on_line(axle, guide, FRAC_PI_2);
    d.drive(follower, 0);
    let (p, q) = (
        d.m.in_plane(&d.m.params, &d.m.drawn, middle),
        d.m.in_plane(&d.m.params, &d.m.drawn, disc),
    );
    let radius = d.m.param((p[0] - q[0]).hypot(p[1] - q[1]));
    d.m.constrain(Constraint::Arc {
        pin: middle,
        centre: disc,
        radius,
    });
    d
}
