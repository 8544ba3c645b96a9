//! Floors: each machine solved by a closed form written by hand for it, one pose after another, strictly scalar.

use crate::machines::{COUPLER, GEAR, LEG_CRANK, LEGS, TenParts, on_circle};
use std::hint::black_box;

/// Lengths of the ten-part machine and its fixed points.
#[derive(Clone, Debug)]
pub(crate) struct TenLengths {
    pub(crate) crank: f64,
    pub(crate) coupler: f64,
    pub(crate) rocker: f64,
    pub(crate) rocker_arm: [f64; 2],
    pub(crate) rod: f64,
    pub(crate) bell: f64,
    pub(crate) bell_arm: [f64; 2],
    pub(crate) rod_2: f64,
    pub(crate) shaft: f64,
    pub(crate) eccentric: [f64; 2],
    pub(crate) link: f64,
    pub(crate) centres: [[f64; 2]; 3],
    pub(crate) guide: f64,
    /// Sides on which the three bars lie.
    sides: [f64; 3],
}

fn far(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// `p` in the axes of a body at `o` whose u-axis points to `x`.
fn own(o: [f64; 2], x: [f64; 2], p: [f64; 2]) -> [f64; 2] {
    let l = far(o, x);
    let (c, s) = ((x[0] - o[0]) / l, (x[1] - o[1]) / l);
    let (dx, dy) = (p[0] - o[0], p[1] - o[1]);
    [c * dx + s * dy, c * dy - s * dx]
}

fn side(from: [f64; 2], to: [f64; 2], p: [f64; 2]) -> f64 {
    ((to[0] - from[0]) * (p[1] - from[1]) - (to[1] - from[1]) * (p[0] - from[0])).signum()
}

impl TenLengths {
    pub(crate) fn drawn(d: &TenParts) -> Self {
        Self {
            crank: far([0.0; 2], d.crank),
            coupler: far(d.crank, d.rocker),
            rocker: far(d.rocker_centre, d.rocker),
            rocker_arm: own(d.rocker_centre, d.rocker, d.rocker_arm),
            rod: far(d.rocker_arm, d.bell),
            bell: far(d.bell_centre, d.bell),
            bell_arm: own(d.bell_centre, d.bell, d.bell_arm),
            rod_2: far(d.bell_arm, d.shaft),
            shaft: far(d.shaft_centre, d.shaft),
            eccentric: own(d.shaft_centre, d.shaft, d.eccentric),
            link: far(d.eccentric, d.ram),
            centres: [d.rocker_centre, d.bell_centre, d.shaft_centre],
            guide: d.ram[0],
            sides: [
                side(d.rocker_centre, d.crank, d.rocker),
                side(d.bell_centre, d.rocker_arm, d.bell),
                side(d.shaft_centre, d.bell_arm, d.shaft),
            ],
        }
    }

    /// The same with fourteen dimensions of their own, in the order of the machine.
    #[inline(always)]
    pub(crate) fn with(&self, x: &[f64; 14]) -> Self {
        Self {
            crank: x[0],
            coupler: x[1],
            rocker: x[2],
            rocker_arm: [x[3], x[4]],
            rod: x[5],
            bell: x[6],
            bell_arm: [x[7], x[8]],
            rod_2: x[9],
            shaft: x[10],
            eccentric: [x[11], x[12]],
            link: x[13],
            ..self.clone()
        }
    }
}

/// Cosine and sine by a polynomial on a quarter turn.
#[inline(always)]
fn cos_sin(a: f64) -> (f64, f64) {
    const ROUND: f64 = 6_755_399_441_055_744.0;
    let k = (a * std::f64::consts::FRAC_2_PI + ROUND) - ROUND;
    let x = (a - k * 1.570_796_326_734_125_6) - k * 6.077_100_506_506_192e-11;
    let z = x * x;
    let s = x + x
        * z
        * (-1.0 / 6.0
            + z * (1.0 / 120.0
                + z * (-1.0 / 5040.0
                    + z * (2.755_731_6e-6 + z * (-2.505_113_2e-8 + z * 1.591_811_5e-10)))));
    let c = 1.0 - 0.5 * z
        + z * z
            * (1.0 / 24.0
                + z * (-1.0 / 720.0
                    + z * (2.480_158_73e-5
                        + z * (-2.755_731_7e-7 + z * (2.087_614_6e-9 - z * 1.138_262e-11)))));
    match k as i64 & 3 {
        0 => (c, s),
        1 => (-s, c),
        2 => (-c, -s),
        _ => (s, -c),
    }
}

/// Arm vector of length r about `centre` whose end is `l` from `pin`.
#[inline(always)]
fn arm(centre: [f64; 2], r: f64, pin: [f64; 2], l: f64, side: f64) -> [f64; 2] {
    let (dx, dy) = (pin[0] - centre[0], pin[1] - centre[1]);
    let d2 = dx * dx + dy * dy;
    let k = 0.5 * (d2 + r * r - l * l);
    let h = side * (r * r * d2 - k * k).sqrt();
    let inverse = 1.0 / d2;
    [(k * dx - h * dy) * inverse, (k * dy + h * dx) * inverse]
}

#[inline(always)]
fn at(centre: [f64; 2], w: [f64; 2]) -> [f64; 2] {
    [centre[0] + w[0], centre[1] + w[1]]
}

/// The point with own coordinates `p` on the arm w of length r.
#[inline(always)]
fn carried(centre: [f64; 2], w: [f64; 2], r: f64, p: [f64; 2]) -> [f64; 2] {
    let (u, v) = (p[0] / r, p[1] / r);
    [
        centre[0] + w[0] * u - w[1] * v,
        centre[1] + w[1] * u + w[0] * v,
    ]
}

/// Crank pin and rocker pin of the four-bar.
pub(crate) fn four_bar(angles: &[f64], out: &mut [[f64; 4]]) {
    for (angle, out) in angles.iter().zip(out) {
        let (c, s) = cos_sin(black_box(*angle));
        let w = arm([4.0, 0.0], 3.0, [c, s], 3.5, -1.0);
        *out = [c, s, 4.0 + w[0], w[1]];
    }
}

/// The eight pins of the ten-part machine.
#[inline(always)]
fn ten(m: &TenLengths, crank: f64) -> [f64; 16] {
    let (c, s) = cos_sin(crank);
    let a = [m.crank * c, m.crank * s];
    let w = arm(m.centres[0], m.rocker, a, m.coupler, m.sides[0]);
    let b = at(m.centres[0], w);
    let d = carried(m.centres[0], w, m.rocker, m.rocker_arm);
    let w = arm(m.centres[1], m.bell, d, m.rod, m.sides[1]);
    let e = at(m.centres[1], w);
    let f = carried(m.centres[1], w, m.bell, m.bell_arm);
    let w = arm(m.centres[2], m.shaft, f, m.rod_2, m.sides[2]);
    let g = at(m.centres[2], w);
    let h = carried(m.centres[2], w, m.shaft, m.eccentric);
    let off = m.guide - h[0];
    let ram = h[1] - (m.link * m.link - off * off).sqrt();
    [
        a[0], a[1], b[0], b[1], d[0], d[1], e[0], e[1], f[0], f[1], g[0], g[1], h[0], h[1],
        m.guide, ram,
    ]
}

pub(crate) fn ten_parts(m: &TenLengths, drawn: f64, wheel: &[f64], out: &mut [[f64; 16]]) {
    for (wheel, out) in wheel.iter().zip(out) {
        *out = ten(m, drawn + GEAR * black_box(*wheel));
    }
}

/// Ram heights of perturbed ten-part machines.
pub(crate) fn ten_parts_perturbed(
    m: &TenLengths,
    crank: f64,
    dimensions: &[[f64; 14]],
    out: &mut [f64],
) {
    for (x, out) in dimensions.iter().zip(out) {
        let crank = black_box(crank);
        *out = ten(&m.with(x), crank)[15];
    }
}

/// Lengths of the squeezer.
pub(crate) struct Squeezer {
    pub(crate) crank: f64,
    pub(crate) d: f64,
    pub(crate) ss: f64,
    pub(crate) arm: [f64; 2],
    pub(crate) e: f64,
    pub(crate) zt: f64,
    pub(crate) zf: f64,
    pub(crate) u: f64,
    pub(crate) a: [f64; 2],
    pub(crate) b: [f64; 2],
}

/// Geometry in mm: see the machine.
pub(crate) const SQUEEZER: Squeezer = Squeezer {
    crank: 7.0,
    d: 28.0,
    ss: 35.0,
    // D from B: 18 along the part's normal to E's side, 20 across.
    arm: [18.0, 20.0],
    e: 20.0,
    zt: 40.0,
    zf: 20.0,
    u: 40.0,
    a: [-69.34, -2.27],
    b: [-36.35, 32.73],
};

/// F, E, D, G, H of the squeezer.
pub(crate) fn squeezer(angles: &[f64], out: &mut [[f64; 10]]) {
    let m = &SQUEEZER;
    for (angle, out) in angles.iter().zip(out) {
        let (c, s) = cos_sin(black_box(*angle));
        let f = [m.crank * c, m.crank * s];
        let w = arm(m.b, m.ss, f, m.d, -1.0);
        let e = at(m.b, w);
        let d = carried(m.b, w, m.ss, m.arm);
        let g = at(m.a, arm(m.a, m.zt, e, m.e, 1.0));
        let h = at(m.a, arm(m.a, m.u, e, m.zf, -1.0));
        *out = [f[0], f[1], e[0], e[1], d[0], d[1], g[0], g[1], h[0], h[1]];
    }
}

/// Crank pin and the coupler's three pins of the coupled group, by Newton on the coupler's place and turn (three leg lengths), written out
/// for this machine, predicted from the last three poses. There is no closed form. All angles lie close together.
pub(crate) fn coupled_group(angles: &[f64], out: &mut [[f64; 8]]) {
    let [p, q, r] = COUPLER;
    let own = [
        [0.0; 2],
        [q[0] - p[0], q[1] - p[1]],
        [r[0] - p[0], r[1] - p[1]],
    ];
    let start = on_circle([0.0; 2], LEG_CRANK, 0.0);
    let squares = [(p, start), (q, LEGS[0]), (r, LEGS[1])].map(|(a, b)| far(a, b) * far(a, b));
    let mut last = [[p[0], p[1], 0.0]; 3];
    for (angle, out) in angles.iter().zip(out) {
        let (c, s) = cos_sin(black_box(*angle));
        let pin = [LEG_CRANK * c, LEG_CRANK * s];
        let feet = [pin, LEGS[0], LEGS[1]];
        let mut x = [0, 1, 2].map(|i| 3.0 * (last[0][i] - last[1][i]) + last[2][i]);
        let mut places = [[0.0; 2]; 3];
        loop {
            let (c, s) = cos_sin(x[2]);
            let mut rows = [[0.0; 4]; 3];
            for i in 0..3 {
                let [u, v] = own[i];
                let (dx, dy) = (c * u - s * v, s * u + c * v);
                places[i] = [x[0] + dx, x[1] + dy];
                let (ex, ey) = (places[i][0] - feet[i][0], places[i][1] - feet[i][1]);
                rows[i] = [
                    ex,
                    ey,
                    ey * dx - ex * dy,
                    0.5 * (squares[i] - ex * ex - ey * ey),
                ];
            }
            let minor = |i: usize, j: usize, a: usize, b: usize| {
                rows[i][a] * rows[j][b] - rows[j][a] * rows[i][b]
            };
            // First row has no third entry: the coupler's datum is the first pin.
            let [a, b, _, k] = rows[0];
            let (m23, m13, m12) = (minor(1, 2, 1, 2), minor(1, 2, 0, 2), minor(1, 2, 0, 1));
            let det = 1.0 / (a * m23 - b * m13);
            let (k13, k12) = (minor(1, 2, 3, 2), minor(1, 2, 0, 3));
            let step = [
                (k * m23 - b * k13) * det,
                (a * k13 - k * m13) * det,
                (a * minor(1, 2, 1, 3) - b * k12 + k * m12) * det,
            ];
            for i in 0..3 {
                x[i] += step[i];
            }
            if step[0].abs().max(step[1].abs()) < 3e-4 && step[2].abs() < 3e-6 {
                break;
            }
        }
        let (c, s) = cos_sin(x[2]);
        for i in 0..3 {
            let [u, v] = own[i];
            places[i] = [x[0] + c * u - s * v, x[1] + s * u + c * v];
        }
        last = [x, last[0], last[1]];
        *out = [
            pin[0],
            pin[1],
            places[0][0],
            places[0][1],
            places[1][0],
            places[1][1],
            places[2][0],
            places[2][1],
        ];
    }
}
