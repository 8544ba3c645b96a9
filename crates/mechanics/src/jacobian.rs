//! Exact first derivatives of residuals and measures by every pose and every parameter, written by hand.

use crate::cam::Touch;
use crate::geometry::greater;
use crate::model::{AnchorId, BodyId, Constraint, Measure, Mechanism, ParamId, Pose};
use nalgebra::DMatrix;

/// Receives derivatives; called several times for one place, which adds up.
pub(crate) trait Sink {
    /// By x, y, angle of a moving body.
    fn body(&mut self, row: usize, body: BodyId, by: [f64; 3]);
    /// By a parameter.
    fn param(&mut self, row: usize, param: ParamId, by: f64);
}

/// ∂Φ/∂q and ∂Φ/∂p as dense matrices.
#[derive(Clone, Debug)]
pub struct Jacobian {
    /// By the poses: equations × unknowns; body `b` has columns `3(b−1) .. 3b`.
    pub by_pose: DMatrix<f64>,
    /// By the parameters: equations × parameters.
    pub by_param: DMatrix<f64>,
}

struct Full<'a>(&'a mut DMatrix<f64>, &'a mut DMatrix<f64>);

impl Sink for Full<'_> {
    fn body(&mut self, row: usize, body: BodyId, by: [f64; 3]) {
        for (i, d) in by.into_iter().enumerate() {
            self.0[(row, 3 * (body - 1) + i)] += d;
        }
    }
    fn param(&mut self, row: usize, param: ParamId, by: f64) {
        self.1[(row, param)] += by;
    }
}

struct Sparse<'a>(&'a mut DMatrix<f64>, &'a mut Vec<Vec<(ParamId, f64)>>);

impl Sink for Sparse<'_> {
    fn body(&mut self, row: usize, body: BodyId, by: [f64; 3]) {
        for (i, d) in by.into_iter().enumerate() {
            self.0[(row, 3 * (body - 1) + i)] += d;
        }
    }
    fn param(&mut self, row: usize, param: ParamId, by: f64) {
        match self.1[row].iter_mut().find(|e| e.0 == param) {
            Some(entry) => entry.1 += by,
            None => self.1[row].push((param, by)),
        }
    }
}

struct PosesOnly<'a>(&'a mut DMatrix<f64>);

impl Sink for PosesOnly<'_> {
    fn body(&mut self, row: usize, body: BodyId, by: [f64; 3]) {
        for (i, d) in by.into_iter().enumerate() {
            self.0[(row, 3 * (body - 1) + i)] += d;
        }
    }
    fn param(&mut self, _: usize, _: ParamId, _: f64) {}
}

/// Gradient of one measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Gradient {
    /// By the poses of the moving bodies; body `b` has places `3(b−1) .. 3b`.
    pub by_pose: Vec<f64>,
    /// By the parameters, the poses held.
    pub by_param: Vec<f64>,
}

impl Sink for Gradient {
    fn body(&mut self, _: usize, body: BodyId, by: [f64; 3]) {
        for (i, d) in by.into_iter().enumerate() {
            self.by_pose[3 * (body - 1) + i] += d;
        }
    }
    fn param(&mut self, _: usize, param: ParamId, by: f64) {
        self.by_param[param] += by;
    }
}

struct Derive<'a, S> {
    mechanism: &'a Mechanism,
    params: &'a [f64],
    poses: &'a [Pose],
    sink: S,
}

impl<S: Sink> Derive<'_, S> {
    /// `by` is the derivative by the anchor's place in its plane and its station.
    fn anchor(&mut self, row: usize, anchor: AnchorId, by: [f64; 2], by_station: f64) {
        let a = self.mechanism.anchors[anchor];
        let (u, v) = (self.params[a.u], self.params[a.v]);
        let (s, c) = if a.body == 0 {
            (0.0, 1.0)
        } else {
            self.poses[a.body].angle.sin_cos()
        };
        if a.body != 0 {
            let turn = by[0] * (-s * u - c * v) + by[1] * (c * u - s * v);
            self.sink.body(row, a.body, [by[0], by[1], turn]);
        }
        self.sink.param(row, a.u, by[0] * c + by[1] * s);
        self.sink.param(row, a.v, -by[0] * s + by[1] * c);
        if by_station != 0.0 {
            self.sink.param(row, a.w, by_station);
        }
    }

    /// `by` is the derivative by the anchor's place in space.
    fn anchor_in_space(&mut self, row: usize, anchor: AnchorId, by: [f64; 3]) {
        let plane = self.mechanism.planes[self.mechanism.anchors[anchor].plane];
        let n = plane.normal();
        self.anchor(
            row,
            anchor,
            [dot(by, plane.right), dot(by, plane.up)],
            dot(by, n),
        );
    }

    fn angle(&mut self, row: usize, body: BodyId, by: f64) {
        if body != 0 {
            self.sink.body(row, body, [0.0, 0.0, by]);
        }
    }

    fn in_plane(&self, anchor: AnchorId) -> [f64; 2] {
        self.mechanism.in_plane(self.params, self.poses, anchor)
    }

    fn in_space(&self, anchor: AnchorId) -> [f64; 3] {
        self.mechanism.in_space(self.params, self.poses, anchor)
    }

    fn constraint(&mut self, row: usize, constraint: &Constraint) {
        match *constraint {
            Constraint::Pin { a, b } => {
                self.anchor(row, a, [1.0, 0.0], 0.0);
                self.anchor(row, b, [-1.0, 0.0], 0.0);
                self.anchor(row + 1, a, [0.0, 1.0], 0.0);
                self.anchor(row + 1, b, [0.0, -1.0], 0.0);
            }
            Constraint::Rod { a, b, length } => {
                let (p, q) = (self.in_space(a), self.in_space(b));
                let l = self.params[length];
                let by: [f64; 3] = std::array::from_fn(|i| (p[i] - q[i]) / l);
                self.anchor_in_space(row, a, by);
                self.anchor_in_space(row, b, by.map(|d| -d));
                self.sink.param(row, length, -0.5 * (dot(by, by) + 1.0));
            }
            Constraint::Arc {
                pin,
                centre,
                radius,
            } => {
                let (p, q) = (self.in_plane(pin), self.in_plane(centre));
                let l = self.params[radius];
                let by = [(p[0] - q[0]) / l, (p[1] - q[1]) / l];
                self.anchor(row, pin, by, 0.0);
                self.anchor(row, centre, by.map(|d| -d), 0.0);
                self.sink
                    .param(row, radius, -0.5 * (by[0] * by[0] + by[1] * by[1] + 1.0));
            }
            Constraint::OnLine {
                pin,
                through,
                direction,
                offset,
            } => {
                let (d, t) = self.line(pin, through, direction);
                let n = [-t[1], t[0]];
                self.along(
                    row,
                    pin,
                    through,
                    direction,
                    n,
                    -(t[0] * d[0] + t[1] * d[1]),
                );
                self.sink.param(row, offset, -1.0);
            }
            Constraint::Along {
                pin,
                through,
                direction,
                distance,
            } => {
                let (d, t) = self.line(pin, through, direction);
                self.along(row, pin, through, direction, t, t[0] * d[1] - t[1] * d[0]);
                self.sink.param(row, distance, -1.0);
            }
            Constraint::Angle {
                body,
                against,
                angle,
            } => {
                self.angle(row, body, 1.0);
                self.angle(row, against, -1.0);
                self.sink.param(row, angle, -1.0);
            }
            Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                offset,
            } => {
                let k = 1.0 / greater(sizes);
                self.angle(row, a, sizes[0] * k);
                self.angle(row, b, sizes[1] * k);
                self.angle(row, carrier, -(sizes[0] + sizes[1]) * k);
                self.sink.param(row, offset, -k);
            }
            Constraint::Course {
                cam,
                a,
                b,
                carrier,
                offset,
            } => {
                let turn = self.poses[a].angle - self.poses[carrier].angle;
                let [_, rate, ..] = self.mechanism.cams[cam].lift.at(turn);
                self.angle(row, b, 1.0);
                self.angle(row, a, -rate);
                self.angle(row, carrier, rate - 1.0);
                self.sink.param(row, offset, -1.0);
            }
            Constraint::Rack {
                gear,
                pin,
                through,
                direction,
                radius,
                offset,
            } => {
                let (d, t) = self.line(pin, through, direction);
                self.along(row, pin, through, direction, t, t[0] * d[1] - t[1] * d[0]);
                let host = self.mechanism.anchors[through].body;
                let r = self.params[radius];
                self.angle(row, gear, -r);
                self.angle(row, host, r);
                self.sink.param(
                    row,
                    radius,
                    -(self.poses[gear].angle - self.poses[host].angle),
                );
                self.sink.param(row, offset, -1.0);
            }
            Constraint::Cam {
                cam,
                centre,
                pin,
                clock,
                swell,
                roller,
            } => {
                let swollen =
                    self.params[swell] + self.params[roller] - self.mechanism.cams[cam].roller;
                let (touch, by) = self.touch(cam, [pin, centre], clock, swollen);
                let (d, _) = self.line(pin, centre, clock);
                self.along(row, pin, centre, clock, by, by[0] * d[1] - by[1] * d[0]);
                self.sink.param(row, swell, touch.by_swell);
                self.sink.param(row, roller, touch.by_swell);
            }
        }
    }

    /// How a pin touches a cam, and the derivative by the pin's place in its plane.
    fn touch(
        &self,
        cam: usize,
        [pin, centre]: [AnchorId; 2],
        clock: ParamId,
        swell: f64,
    ) -> (Touch, [f64; 2]) {
        let (d, t) = self.line(pin, centre, clock);
        let place = [d[0] * t[0] + d[1] * t[1], d[1] * t[0] - d[0] * t[1]];
        let touch = self.mechanism.cams[cam].touch(place, swell);
        let [a, b] = touch.by;
        (touch, [a * t[0] - b * t[1], a * t[1] + b * t[0]])
    }

    fn line(&self, pin: AnchorId, through: AnchorId, direction: ParamId) -> ([f64; 2], [f64; 2]) {
        let host = self.mechanism.anchors[through].body;
        let (s, c) = (self.poses[host].angle + self.params[direction]).sin_cos();
        let (p, q) = (self.in_plane(pin), self.in_plane(through));
        ([p[0] - q[0], p[1] - q[1]], [c, s])
    }

    /// Derivatives of `axis · (pin − through)` whose axis turns with the line: `by_turn` is the derivative by that turn.
    fn along(
        &mut self,
        row: usize,
        pin: AnchorId,
        through: AnchorId,
        dir: ParamId,
        axis: [f64; 2],
        by_turn: f64,
    ) {
        self.anchor(row, pin, axis, 0.0);
        self.anchor(row, through, axis.map(|d| -d), 0.0);
        self.angle(row, self.mechanism.anchors[through].body, by_turn);
        self.sink.param(row, dir, by_turn);
    }

    fn measure(&mut self, measure: &Measure) {
        match *measure {
            Measure::Along { a, b, direction } => {
                self.anchor_in_space(0, b, direction);
                self.anchor_in_space(0, a, direction.map(|d| -d));
            }
            Measure::AlongBody {
                a,
                b,
                body,
                plane,
                direction,
            } => {
                let (p, q) = (self.in_space(a), self.in_space(b));
                let (s, c) = (self.poses[body].angle + self.params[direction]).sin_cos();
                let plane = self.mechanism.planes[plane];
                let axis: [f64; 3] = std::array::from_fn(|i| c * plane.right[i] + s * plane.up[i]);
                let turned: [f64; 3] =
                    std::array::from_fn(|i| -s * plane.right[i] + c * plane.up[i]);
                self.anchor_in_space(0, b, axis);
                self.anchor_in_space(0, a, axis.map(|d| -d));
                let by_turn = dot(turned, std::array::from_fn(|i| q[i] - p[i]));
                self.angle(0, body, by_turn);
                self.sink.param(0, direction, by_turn);
            }
            Measure::Distance { a, b } => {
                let (p, q) = (self.in_space(a), self.in_space(b));
                let d: [f64; 3] = std::array::from_fn(|i| q[i] - p[i]);
                let length = dot(d, d).sqrt();
                // Two places that coincide have no direction between them; the distance has a corner there.
                let by = if length > 0.0 {
                    d.map(|x| x / length)
                } else {
                    [0.0; 3]
                };
                self.anchor_in_space(0, b, by);
                self.anchor_in_space(0, a, by.map(|x| -x));
            }
            Measure::Angle { body, against, .. } => {
                self.angle(0, body, 1.0);
                self.angle(0, against, -1.0);
            }
        }
    }
}

pub(crate) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(crate) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn derive_all<S: Sink>(mechanism: &Mechanism, params: &[f64], poses: &[Pose], sink: S) {
    let mut derive = Derive {
        mechanism,
        params,
        poses,
        sink,
    };
    let mut row = 0;
    for c in &mechanism.constraints {
        derive.constraint(row, c);
        row += c.equations();
    }
}

impl Mechanism {
    /// Derivatives of all residuals by poses and parameters.
    pub fn jacobian(&self, params: &[f64], poses: &[Pose]) -> Jacobian {
        let mut by_pose = DMatrix::zeros(self.equations(), self.unknowns());
        let mut by_param = DMatrix::zeros(self.equations(), params.len());
        derive_all(self, params, poses, Full(&mut by_pose, &mut by_param));
        Jacobian { by_pose, by_param }
    }

    /// Derivatives of all residuals by poses, and the few by parameters that are not nought: one list a row.
    pub(crate) fn sparse_jacobian(
        &self,
        params: &[f64],
        poses: &[Pose],
    ) -> (DMatrix<f64>, Vec<Vec<(ParamId, f64)>>) {
        let mut by_pose = DMatrix::zeros(self.equations(), self.unknowns());
        let mut by_param = vec![Vec::new(); self.equations()];
        derive_all(self, params, poses, Sparse(&mut by_pose, &mut by_param));
        (by_pose, by_param)
    }

    pub(crate) fn jacobian_by_pose(&self, params: &[f64], poses: &[Pose]) -> DMatrix<f64> {
        let mut by_pose = DMatrix::zeros(self.equations(), self.unknowns());
        derive_all(self, params, poses, PosesOnly(&mut by_pose));
        by_pose
    }

    /// Derivatives of a measure by poses and parameters, each with all others held.
    pub fn gradient(&self, params: &[f64], poses: &[Pose], measure: &Measure) -> Gradient {
        let sink = Gradient {
            by_pose: vec![0.0; self.unknowns()],
            by_param: vec![0.0; params.len()],
        };
        let mut derive = Derive {
            mechanism: self,
            params,
            poses,
            sink,
        };
        derive.measure(measure);
        derive.sink
    }

    /// By the unknowns: place of an anchor in space, along `axis`.
    pub(crate) fn gradient_of_place(
        &self,
        params: &[f64],
        poses: &[Pose],
        anchor: AnchorId,
        axis: [f64; 3],
    ) -> Vec<f64> {
        self.gradient_by(params, poses, |d| d.anchor_in_space(0, anchor, axis))
    }

    /// By the unknowns: place of an anchor in its plane, along `axis`.
    pub(crate) fn gradient_in_plane(
        &self,
        params: &[f64],
        poses: &[Pose],
        anchor: AnchorId,
        axis: [f64; 2],
    ) -> Vec<f64> {
        self.gradient_by(params, poses, |d| d.anchor(0, anchor, axis, 0.0))
    }

    /// By the unknowns: how far an anchor stands along a line of another body.
    pub(crate) fn gradient_along(
        &self,
        params: &[f64],
        poses: &[Pose],
        pin: AnchorId,
        through: AnchorId,
        direction: ParamId,
    ) -> Vec<f64> {
        self.gradient_by(params, poses, |d| {
            let (apart, t) = d.line(pin, through, direction);
            d.along(
                0,
                pin,
                through,
                direction,
                t,
                t[0] * apart[1] - t[1] * apart[0],
            );
        })
    }

    /// How a pin touches its cam, and the derivative of how far it is off by its place in its plane: the normal of the path, as long as
    /// the pull of the shape. None when the constraint is no cam.
    pub fn touch(
        &self,
        params: &[f64],
        poses: &[Pose],
        constraint: &Constraint,
    ) -> Option<(Touch, [f64; 2])> {
        let Constraint::Cam {
            cam,
            centre,
            pin,
            clock,
            swell,
            roller,
        } = *constraint
        else {
            return None;
        };
        let derive = Derive {
            mechanism: self,
            params,
            poses,
            sink: PosesOnly(&mut DMatrix::zeros(0, 0)),
        };
        let swell = params[swell] + params[roller] - self.cams[cam].roller;
        Some(derive.touch(cam, [pin, centre], clock, swell))
    }

    fn gradient_by(
        &self,
        params: &[f64],
        poses: &[Pose],
        derive: impl FnOnce(&mut Derive<'_, Gradient>),
    ) -> Vec<f64> {
        let sink = Gradient {
            by_pose: vec![0.0; self.unknowns()],
            by_param: vec![0.0; params.len()],
        };
        let mut d = Derive {
            mechanism: self,
            params,
            poses,
            sink,
        };
        derive(&mut d);
        d.sink.by_pose
    }
}
