//! The strap embosser by hand: the floor of its made machines. Closed forms written for this very machine, many machines side by side,
//! everything that two of its poses share worked out once, nothing checked.

use mechanics::LANES;
use mechanics::random::normals;
use pulp::{Arch, Simd, WithSimd};
use rayon::prelude::*;
use std::f64::consts::PI;
use std::ops::{Add, Mul, Neg, Sub};

/// Values of a machine: gap, least gap, turn of the shaft and lift as drawn; reach, closest, fine, room.
pub(crate) const VALUES: usize = 8;
/// Machines of one chunk of work.
const CHUNK: usize = 2048;
/// Angle of the crank near its bottom, and either side of it: where the least gap's parabola is laid.
const BOTTOM: f64 = 157_080.0 * 2e-5;
const BESIDE: f64 = 0.02;

/// Where each dimension of the chain stands among those that vary, and the deviations of all.
pub(crate) struct Dimensions {
    at: [usize; NAMES.len()],
    sigma: Vec<f64>,
}

const NAMES: [&str; 32] = [
    "frame: crank-centre, right",
    "frame: crank-centre, up",
    "frame: lever-stud, right",
    "frame: lever-stud, up",
    "frame: bell-pivot, right",
    "frame: bell-pivot, up",
    "frame: shaft-axis, right",
    "frame: shaft-axis, up",
    "crank: centre distance crank-centre to crank-pin",
    "link: centre distance crank-pin to ram-pin",
    "ram: centre distance ram-pin to die",
    "lever: link-holes, along the line lever-stud to lever-grip",
    "lever: link-holes, across the line lever-stud to lever-grip",
    "bell-crank: centre distance bell-pivot to bell-rear",
    "bell-crank: bell-low, along the line bell-pivot to bell-rear",
    "bell-crank: bell-low, across the line bell-pivot to bell-rear",
    "arm: centre distance shaft-axis to arm-pin",
    "bed: centre distance anvil to saddle-front",
    "cross-shaft: centre distance shaft-axis to journal-right",
    "arm: clock angle",
    "slide ram-guide: guide, to the left of its direction",
    "slide ram-guide: direction",
    "slide ram-guide: squareness of the part on it",
    "slide bed-guide: guide, to the left of its direction",
    "slide bed-guide: direction",
    "slide bed-guide: squareness of the part on it",
    "slot saddle: direction",
    "lever: station of link-holes",
    "bell-crank: station of bell-rear",
    "bed: direction of face anvil",
    "ram: station of die",
    "crank: clock angle",
];

impl Dimensions {
    /// From the names and deviations of all that varies.
    pub(crate) fn of(all: &[(String, f64)]) -> Option<Self> {
        let mut at = [0; NAMES.len()];
        for (at, name) in at.iter_mut().zip(NAMES) {
            *at = all.iter().position(|d| d.0 == name)?;
        }
        let sigma = all.iter().map(|d| d.1).collect();
        Some(Self { at, sigma })
    }
}

/// A number of every lane of a register.
#[derive(Clone, Copy)]
struct V<S: Simd>(S, S::f64s);

impl<S: Simd> V<S> {
    #[inline(always)]
    fn root(self) -> Self {
        V(self.0, self.0.sqrt_f64s(self.1))
    }
    #[inline(always)]
    fn inverse(self) -> Self {
        let one = self.0.splat_f64s(1.0);
        V(self.0, self.0.div_f64s(one, self.1))
    }
    #[inline(always)]
    fn by(self, k: f64) -> Self {
        V(self.0, self.0.mul_f64s(self.1, self.0.splat_f64s(k)))
    }
    #[inline(always)]
    fn and(self, k: f64) -> Self {
        V(self.0, self.0.add_f64s(self.1, self.0.splat_f64s(k)))
    }
}

impl<S: Simd> Add for V<S> {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        V(self.0, self.0.add_f64s(self.1, o.1))
    }
}
impl<S: Simd> Sub for V<S> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        V(self.0, self.0.sub_f64s(self.1, o.1))
    }
}
impl<S: Simd> Mul for V<S> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: Self) -> Self {
        V(self.0, self.0.mul_f64s(self.1, o.1))
    }
}
impl<S: Simd> Neg for V<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.by(-1.0)
    }
}

type P<S> = [V<S>; 2];

/// Cosine and sine of a fixed angle and a small one together.
#[inline(always)]
fn turned<S: Simd>(fixed: f64, off: V<S>) -> P<S> {
    let z = off * off;
    let sin = off * z.by(-1.0 / 6.0).and(1.0) + off * z * z.by(1.0 / 120.0);
    let cos = z.by(-0.5).and(1.0) + z * z.by(1.0 / 24.0);
    let (s, c) = fixed.sin_cos();
    [cos.by(c) - sin.by(s), cos.by(s) + sin.by(c)]
}

#[inline(always)]
fn plus<S: Simd>(a: P<S>, b: P<S>) -> P<S> {
    [a[0] + b[0], a[1] + b[1]]
}

/// The product of complex numbers.
#[inline(always)]
fn times<S: Simd>(a: P<S>, b: P<S>) -> P<S> {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

/// Arm of length r whose end is the root of `l2` from `to`, to the left of it or to the right.
#[inline(always)]
fn arm<S: Simd>(to: P<S>, r: V<S>, l2: V<S>, side: f64) -> P<S> {
    let d2 = to[0] * to[0] + to[1] * to[1];
    let k = (d2 + r * r - l2).by(0.5);
    let h = (r * r * d2 - k * k).root().by(side);
    let i = d2.inverse();
    [(k * to[0] - h * to[1]) * i, (k * to[1] + h * to[0]) * i]
}

/// Vertex of the parabola through three values.
#[inline(always)]
fn vertex<S: Simd>(v: [V<S>; 3]) -> V<S> {
    let slope = (v[2] - v[0]).by(0.5);
    let bend = v[0] - v[1].by(2.0) + v[2];
    v[1] - (slope * slope * bend.inverse()).by(0.5)
}

/// Everything drawn that does not vary.
struct Fixed {
    rods: [f64; 2],
    clock: f64,
    tilt: f64,
    slot: f64,
    face: f64,
    link_hole: [f64; 2],
    saddle: f64,
}

fn fixed() -> Fixed {
    let at = |o: [f64; 2], r: f64, degrees: f64| {
        let (s, c) = degrees.to_radians().sin_cos();
        [o[0] + r * c, o[1] + r * s]
    };
    let far = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    // Third hole of the row: 30 + 2 · 8 from the stud, to the left; its own axes point to the grip.
    let hole = at([156.0, 315.0], 46.0, 180.0);
    let (s, c) = 70_f64.to_radians().sin_cos();
    let off = [hole[0] - 156.0, hole[1] - 315.0];
    let link_hole = [c * off[0] + s * off[1], c * off[1] - s * off[0]];
    let rear = at([120.0, 105.0], 55.0, 180.0);
    let low = at([120.0, 105.0], 45.0, 270.0);
    let down =
        ((110.0 - hole[0]).powi(2) + (rear[1] - hole[1]).powi(2) + (65.0 - rear[0]).powi(2)).sqrt();
    // Arm: where a circle of 125 about the bell crank's low pin meets one of 60 about the shaft, on the left.
    let d = far(low, [0.0; 2]);
    let k = 0.5 * (d * d + 60.0 * 60.0 - 125.0 * 125.0);
    let h = (60.0 * 60.0 * d * d - k * k).sqrt();
    let ways = [1.0, -1.0].map(|side| {
        [
            (k * low[0] - side * h * low[1]) / (d * d),
            (k * low[1] + side * h * low[0]) / (d * d),
        ]
    });
    let pin = if ways[0][0] < ways[1][0] {
        ways[0]
    } else {
        ways[1]
    };
    // The bed's axes point from the anvil to the front of the saddle, which is level with the journal.
    let saddle: [f64; 2] = [3.0 - 14.0, -88.7];
    let tilt = saddle[1].atan2(saddle[0]);
    Fixed {
        rods: [down, 125.0],
        clock: pin[1].atan2(pin[0]),
        tilt,
        slot: -tilt,
        face: 0.5 * PI - tilt,
        link_hole,
        saddle: saddle[0].hypot(saddle[1]),
    }
}

/// What the setting side gives: the anvil's place and the shaft's turn, times the arm.
#[derive(Clone, Copy)]
struct Set<S: Simd> {
    anvil: P<S>,
    shaft: P<S>,
}

/// Heights at which ram and bed are drawn, about which their guides turn.
const RAM: f64 = 290.0;
const BED: f64 = 88.7;

/// What does not depend on the drives.
struct Crank<S: Simd> {
    centre: P<S>,
    throw: V<S>,
    clock: P<S>,
    link2: V<S>,
    guide: P<S>,
    normal: P<S>,
    offset: P<S>,
    drop: V<S>,
}

impl<S: Simd> Crank<S> {
    /// Height of the die.
    #[inline(always)]
    fn die(&self, [cos, sin]: [f64; 2]) -> V<S> {
        let p = [
            self.centre[0] + self.throw * (self.clock[0].by(cos) - self.clock[1].by(sin))
                - self.offset[0],
            self.centre[1] + self.throw * (self.clock[0].by(sin) + self.clock[1].by(cos))
                - self.offset[1],
        ];
        let across = p[0] * self.normal[0] + p[1] * self.normal[1];
        let along = p[0] * self.guide[0] + p[1] * self.guide[1];
        let t = along - (self.link2 - across * across).root();
        self.offset[1] + t * self.guide[1] + self.drop
    }
}

struct Setting<S: Simd> {
    stud: P<S>,
    hole: P<S>,
    hole_station: V<S>,
    rear_station: V<S>,
    pivot: P<S>,
    axis: P<S>,
    rear: V<S>,
    rear_inverse: V<S>,
    low: P<S>,
    reach: V<S>,
    clock: P<S>,
    journal: V<S>,
    way: P<S>,
    bed: P<S>,
    start: P<S>,
    slot: P<S>,
    lift: V<S>,
    rods2: [f64; 2],
}

impl<S: Simd> Setting<S> {
    #[inline(always)]
    fn set(&self, [cos, sin]: [f64; 2]) -> Set<S> {
        let s = self.reach.0;
        let h = [
            self.stud[0] + self.hole[0].by(cos) - self.hole[1].by(sin),
            self.stud[1] + self.hole[0].by(sin) + self.hole[1].by(cos),
        ];
        let across = self.rear_station - h[0];
        let l2 = (-(across * across)).and(self.rods2[0]);
        let to = [self.hole_station - self.pivot[0], h[1] - self.pivot[1]];
        let w = arm(to, self.rear, l2, REAR_SIDE);
        let turn = [w[0] * self.rear_inverse, w[1] * self.rear_inverse];
        let low = plus(self.pivot, times(self.low, turn));
        let to = [low[0] - self.axis[0], low[1] - self.axis[1]];
        let l2 = V(s, s.splat_f64s(self.rods2[1]));
        let shaft = times(arm(to, self.reach, l2, ARM_SIDE), self.clock);
        let x = self.axis[0] + shaft[0] * self.journal - self.start[0];
        let y = self.axis[1] + shaft[1] * self.journal - self.start[1];
        let t = (self.slot[0] * y - self.slot[1] * x) * self.lift;
        Set {
            anvil: [self.bed[0] + t * self.way[0], self.bed[1] + t * self.way[1]],
            shaft,
        }
    }
}

/// The face of the anvil, and how far the die stands off its plane.
struct Face<S: Simd> {
    up: P<S>,
    station: V<S>,
    bottom: [V<S>; 3],
}

impl<S: Simd> Face<S> {
    #[inline(always)]
    fn gap(&self, set: Set<S>, die: V<S>) -> V<S> {
        self.up[0] * (-self.station - set.anvil[0]) + self.up[1] * (die - set.anvil[1])
    }

    #[inline(always)]
    fn least(&self, set: Set<S>) -> V<S> {
        let [a, b, c] = self.bottom;
        vertex([self.gap(set, a), self.gap(set, b), self.gap(set, c)])
    }
}

struct Work<'a> {
    fixed: &'a Fixed,
    dims: &'a Dimensions,
    seed: u64,
    first: usize,
    out: Vec<&'a mut [f64]>,
    /// Cosine and sine of the crank at the top and about the bottom.
    cranks: [[f64; 2]; 4],
    /// The same of the lever as drawn, open, closed, and at both ends of the degree that moves most.
    settings: [[f64; 2]; 5],
}

impl Work<'_> {
    /// One dimension of one register, off its nominal.
    #[inline(always)]
    fn off<S: Simd>(
        &self,
        s: S,
        columns: &[[f64; LANES]],
        register: usize,
        dimension: usize,
    ) -> V<S> {
        let column = self.dims.at[dimension];
        let loaded = S::as_simd_f64s(&columns[column]).0[register];
        V(s, loaded).by(self.dims.sigma[column])
    }
}

impl WithSimd for Work<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(mut self, s: S) {
        let f = self.fixed;
        let mut columns = vec![[0.0; LANES]; self.dims.sigma.len()];
        let count = self.out.first().map_or(0, |o| o.len());
        for round in (0..count).step_by(LANES) {
            normals(self.seed, (self.first + round) as u64, &mut columns);
            let mut results = [[0.0; LANES]; VALUES];
            for register in 0..LANES / S::F64_LANES {
                let mut d = [V(s, s.splat_f64s(0.0)); NAMES.len()];
                for i in 0..NAMES.len() {
                    d[i] = self.off(s, &columns, register, i);
                }
                let guide = turned(0.5 * PI, d[21]);
                let normal = [-guide[1], guide[0]];
                let link = d[9].and(110.0);
                let crank = Crank {
                    centre: [d[0], d[1].and(380.0)],
                    throw: d[8].and(20.0),
                    clock: turned(0.0, d[31]),
                    link2: link * link,
                    guide,
                    normal,
                    // The guide turns about where the ram is drawn.
                    offset: [normal[0] * d[20], (normal[1] * d[20]).and(RAM)],
                    drop: turned(-0.5 * PI, d[22])[1] * d[10].and(160.0),
                };
                let rear = d[13].and(55.0);
                let reach = d[16].and(60.0);
                let reach_inverse = reach.inverse();
                let way = turned(0.5 * PI, d[24]);
                let bed = [-way[1] * d[23], (way[0] * d[23]).and(BED)];
                let tilt = turned(f.tilt, d[25]);
                let front = d[17].and(f.saddle);
                let slot = times(tilt, turned(f.slot, d[26]));
                let setting = Setting {
                    stud: [d[2].and(156.0), d[3].and(315.0)],
                    hole: [d[11].and(f.link_hole[0]), d[12].and(f.link_hole[1])],
                    hole_station: (-d[27]).and(65.0),
                    rear_station: d[28].and(110.0),
                    pivot: [d[4].and(120.0), d[5].and(105.0)],
                    axis: [d[6], d[7]],
                    rear,
                    rear_inverse: rear.inverse(),
                    low: [d[14], d[15].and(45.0)],
                    reach,
                    clock: turned(-f.clock, -d[19]),
                    journal: d[18].and(3.0) * reach_inverse,
                    way,
                    bed,
                    start: plus(bed, [tilt[0] * front, tilt[1] * front]),
                    slot,
                    lift: (slot[0] * way[1] - slot[1] * way[0]).inverse(),
                    rods2: [f.rods[0] * f.rods[0], f.rods[1] * f.rods[1]],
                };
                let face = Face {
                    up: times(tilt, turned(f.face, d[29])),
                    station: d[30],
                    bottom: [
                        crank.die(self.cranks[1]),
                        crank.die(self.cranks[2]),
                        crank.die(self.cranks[3]),
                    ],
                };
                let top = crank.die(self.cranks[0]);
                let drawn = setting.set(self.settings[0]);
                let open = setting.set(self.settings[1]);
                let closed = setting.set(self.settings[2]);
                let before = setting.set(self.settings[3]);
                let after = setting.set(self.settings[4]);
                // The shaft's own axes point along the journal's offset, drawn level; the turn from there is small.
                let t = drawn.shaft[1] * reach_inverse;
                let t2 = t * t;
                let closest = face.least(closed);
                let values = [
                    face.gap(drawn, top),
                    face.least(drawn),
                    t + t * t2.by(1.0 / 6.0) + t * t2 * t2.by(3.0 / 40.0),
                    drawn.anvil[1] - setting.axis[1],
                    face.least(open) - closest,
                    closest,
                    face.least(before) - face.least(after),
                    face.gap(closed, top),
                ];
                for i in 0..VALUES {
                    S::as_mut_simd_f64s(&mut results[i]).0[register] = values[i].1;
                }
            }
            for (out, result) in self.out.iter_mut().zip(&results) {
                let own = &mut out[round..];
                let here = own.len().min(LANES);
                own[..here].copy_from_slice(&result[..here]);
            }
        }
    }
}

/// Ways in which the two bars lie, as drawn.
const REAR_SIDE: f64 = 1.0;
const ARM_SIDE: f64 = 1.0;

/// Makes so many embossers: one column a value. `fine` is the degree of the lever that moves most.
pub(crate) fn made(dims: &Dimensions, seed: u64, fine: [f64; 2], columns: &mut [Vec<f64>]) {
    let fixed = fixed();
    let count = columns.first().map_or(0, Vec::len);
    let mut parts: Vec<Vec<&mut [f64]>> = (0..count.div_ceil(CHUNK)).map(|_| Vec::new()).collect();
    for column in columns {
        let chunks = column.chunks_mut(CHUNK);
        parts.iter_mut().zip(chunks).for_each(|(p, c)| p.push(c));
    }
    let at = |angle: f64| [angle.cos(), angle.sin()];
    // Clockwise from straight up; the lever is drawn at 35 with its grip at 70 degrees.
    let cranks = [0.0, BOTTOM - BESIDE, BOTTOM, BOTTOM + BESIDE].map(|c| at(0.5 * PI - c));
    let settings = [35.0, 0.0, 70.0, fine[0], fine[1]].map(|d: f64| at((105.0 - d).to_radians()));
    parts.into_par_iter().enumerate().for_each(|(i, out)| {
        Arch::new().dispatch(Work {
            fixed: &fixed,
            dims,
            seed,
            first: i * CHUNK,
            out,
            cranks,
            settings,
        });
    });
}
