//! Places of anchors, residuals of constraints and values of measures, written once for every kind of number.

use crate::model::{AnchorId, BodyId, Constraint, Measure, Mechanism, ParamId, Pose};
use crate::num::Num;

/// Parameters and poses (x, y, angle) of all bodies in some kind of number.
#[derive(Clone, Copy)]
pub(crate) struct At<'a, N> {
    pub(crate) mechanism: &'a Mechanism,
    pub(crate) params: &'a [N],
    pub(crate) poses: &'a [[N; 3]],
}

impl<N: Num> At<'_, N> {
    fn param(&self, id: ParamId) -> N {
        self.params[id]
    }

    fn angle(&self, body: BodyId) -> N {
        self.poses[body][2]
    }

    fn in_plane(&self, anchor: AnchorId) -> [N; 2] {
        let a = &self.mechanism.anchors[anchor];
        let (u, v) = (self.param(a.u), self.param(a.v));
        if a.body == 0 {
            return [u, v];
        }
        let [x, y, angle] = self.poses[a.body];
        let (s, c) = angle.sin_cos();
        [x + c * u - s * v, y + s * u + c * v]
    }

    pub(crate) fn in_space(&self, anchor: AnchorId) -> [N; 3] {
        let a = &self.mechanism.anchors[anchor];
        let plane = &self.mechanism.planes[a.plane];
        let [x, y] = self.in_plane(anchor);
        let w = self.param(a.w);
        let n = plane.normal();
        std::array::from_fn(|i| {
            N::of(plane.origin[i])
                + x * N::of(plane.right[i])
                + y * N::of(plane.up[i])
                + w * N::of(n[i])
        })
    }

    /// `pin − through`, and the direction of the line that `through`'s body carries.
    fn on_line(&self, pin: AnchorId, through: AnchorId, direction: ParamId) -> ([N; 2], [N; 2]) {
        let host = self.mechanism.anchors[through].body;
        let (s, c) = (self.angle(host) + self.param(direction)).sin_cos();
        let (p, q) = (self.in_plane(pin), self.in_plane(through));
        ([p[0] - q[0], p[1] - q[1]], [c, s])
    }

    /// Residuals of one constraint; the second is zero unless it is a pin.
    pub(crate) fn residual(&self, constraint: &Constraint) -> [N; 2] {
        let zero = N::of(0.0);
        match *constraint {
            Constraint::Pin { a, b } => {
                let (p, q) = (self.in_plane(a), self.in_plane(b));
                [p[0] - q[0], p[1] - q[1]]
            }
            Constraint::Rod { a, b, length } => {
                let (p, q) = (self.in_space(a), self.in_space(b));
                let d: [N; 3] = std::array::from_fn(|i| p[i] - q[i]);
                [
                    stretch(d[0] * d[0] + d[1] * d[1] + d[2] * d[2], self.param(length)),
                    zero,
                ]
            }
            Constraint::Arc {
                pin,
                centre,
                radius,
            } => {
                let (p, q) = (self.in_plane(pin), self.in_plane(centre));
                let d = [p[0] - q[0], p[1] - q[1]];
                [stretch(d[0] * d[0] + d[1] * d[1], self.param(radius)), zero]
            }
            Constraint::OnLine {
                pin,
                through,
                direction,
                offset,
            } => {
                let (d, t) = self.on_line(pin, through, direction);
                [d[1] * t[0] - d[0] * t[1] - self.param(offset), zero]
            }
            Constraint::Along {
                pin,
                through,
                direction,
                distance,
            } => {
                let (d, t) = self.on_line(pin, through, direction);
                [d[0] * t[0] + d[1] * t[1] - self.param(distance), zero]
            }
            Constraint::Angle {
                body,
                against,
                angle,
            } => [
                self.angle(body) - self.angle(against) - self.param(angle),
                zero,
            ],
            Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                offset,
            } => {
                let c = self.angle(carrier);
                let sum =
                    N::of(sizes[0]) * (self.angle(a) - c) + N::of(sizes[1]) * (self.angle(b) - c);
                [
                    (sum - self.param(offset)) * N::of(1.0 / greater(sizes)),
                    zero,
                ]
            }
            Constraint::Course {
                cam,
                a,
                b,
                carrier,
                offset,
            } => {
                let c = self.angle(carrier);
                let turn = self.angle(a) - c;
                let goes = turn.chain(self.mechanism.cams[cam].lift.at(turn.value()));
                [self.angle(b) - c - goes - self.param(offset), zero]
            }
            Constraint::Rack {
                gear,
                pin,
                through,
                direction,
                radius,
                offset,
            } => {
                let (d, t) = self.on_line(pin, through, direction);
                let turn = self.angle(gear) - self.angle(self.mechanism.anchors[through].body);
                [
                    d[0] * t[0] + d[1] * t[1] - self.param(radius) * turn - self.param(offset),
                    zero,
                ]
            }
            Constraint::Cam {
                cam,
                centre,
                pin,
                clock,
                swell,
                roller,
            } => {
                let (d, t) = self.on_line(pin, centre, clock);
                let place = [d[0] * t[0] + d[1] * t[1], d[1] * t[0] - d[0] * t[1]];
                let cam = &self.mechanism.cams[cam];
                let swell = self.param(swell) + self.param(roller) - N::of(cam.roller);
                [cam.off(place, swell), zero]
            }
        }
    }

    /// Value of a measure, mm or rad.
    pub(crate) fn measure(&self, measure: &Measure) -> N {
        match *measure {
            Measure::Along { a, b, direction } => {
                let (p, q) = (self.in_space(a), self.in_space(b));
                (0..3).fold(N::of(0.0), |sum, i| {
                    sum + (q[i] - p[i]) * N::of(direction[i])
                })
            }
            Measure::AlongBody {
                a,
                b,
                body,
                plane,
                direction,
            } => {
                let (p, q) = (self.in_space(a), self.in_space(b));
                let (s, c) = (self.angle(body) + self.param(direction)).sin_cos();
                let plane = &self.mechanism.planes[plane];
                (0..3).fold(N::of(0.0), |sum, i| {
                    sum + (q[i] - p[i]) * (c * N::of(plane.right[i]) + s * N::of(plane.up[i]))
                })
            }
            Measure::Distance { a, b } => {
                let (p, q) = (self.in_space(a), self.in_space(b));
                (0..3)
                    .fold(N::of(0.0), |sum, i| sum + (q[i] - p[i]) * (q[i] - p[i]))
                    .sqrt()
            }
            Measure::Angle {
                body,
                against,
                offset,
            } => self.angle(body) - self.angle(against) + N::of(offset),
        }
    }
}

/// `(square of the distance − length²) / (2 length)`: to first order how much too long the rod would have to be.
fn stretch<N: Num>(square: N, length: N) -> N {
    (square - length * length) * (N::of(2.0) * length).recip()
}

pub(crate) fn greater(sizes: [f64; 2]) -> f64 {
    sizes[0].abs().max(sizes[1].abs())
}

pub(crate) fn plain(poses: &[Pose]) -> Vec<[f64; 3]> {
    poses.iter().map(|p| [p.x, p.y, p.angle]).collect()
}

impl Mechanism {
    /// Place of an anchor in its plane, mm.
    ///
    /// # Panics
    /// When `params` or `poses` are shorter than this mechanism's. So do all functions of this crate.
    pub fn in_plane(&self, params: &[f64], poses: &[Pose], anchor: AnchorId) -> [f64; 2] {
        let a = &self.anchors[anchor];
        let (u, v) = (params[a.u], params[a.v]);
        if a.body == 0 {
            return [u, v];
        }
        let p = poses[a.body];
        let (s, c) = p.angle.sin_cos();
        [p.x + c * u - s * v, p.y + s * u + c * v]
    }

    /// Place of an anchor in space, mm.
    pub fn in_space(&self, params: &[f64], poses: &[Pose], anchor: AnchorId) -> [f64; 3] {
        let [x, y] = self.in_plane(params, poses, anchor);
        let a = &self.anchors[anchor];
        self.planes[a.plane].in_space([x, y, params[a.w]])
    }

    /// All residuals, in the order of the constraints; mm or rad as each constraint says.
    pub fn residuals(&self, params: &[f64], poses: &[Pose]) -> Vec<f64> {
        self.residuals_of(params, &plain(poses))
    }

    pub(crate) fn residuals_of<N: Num>(&self, params: &[N], poses: &[[N; 3]]) -> Vec<N> {
        let at = At {
            mechanism: self,
            params,
            poses,
        };
        let mut out = Vec::with_capacity(self.equations());
        for c in &self.constraints {
            let r = at.residual(c);
            out.extend_from_slice(&r[..c.equations()]);
        }
        out
    }

    /// Value of a measure, mm or rad.
    pub fn measure(&self, params: &[f64], poses: &[Pose], measure: &Measure) -> f64 {
        At {
            mechanism: self,
            params,
            poses: &plain(poses),
        }
        .measure(measure)
    }

    /// Largest length of the mechanism, mm: the scale of closing errors and of the weight of angles. At least 1. What the frame
    /// carries counts by how far it lies from its own middle, so that a machine drawn far off its origin is no larger for that; but
    /// not below what the rounding of such far places leaves.
    pub fn size(&self, params: &[f64]) -> f64 {
        let (mut low, mut high, mut far) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2], 0.0_f64);
        for a in self.anchors.iter().filter(|a| a.body == 0) {
            for (i, x) in [params[a.u], params[a.v]].into_iter().enumerate() {
                low[i] = low[i].min(x);
                high[i] = high[i].max(x);
                far = far.max(x.abs());
            }
        }
        let frame = if far > 0.0 {
            let half = |i: usize| 0.5 * (high[i] - low[i]);
            half(0).hypot(half(1)).max(FAR * far)
        } else {
            0.0
        };
        let moving = self.anchors.iter().filter(|a| a.body != 0);
        let anchors = moving.map(|a| params[a.u].hypot(params[a.v]));
        let lengths = self.constraints.iter().map(|c| match *c {
            Constraint::Rod { length, .. } => params[length].abs(),
            Constraint::Arc { radius, .. } => params[radius].abs(),
            _ => 0.0,
        });
        anchors.chain(lengths).fold(frame.max(1.0), f64::max)
    }
}

/// A closing error of 1e-11 of the size is still some roundings of a place this much farther off.
const FAR: f64 = 1e-3;
