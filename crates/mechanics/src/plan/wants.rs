//! What a run is asked for.

use super::draft::{Draft, dot, small_is_zero};
use super::tape::{Pair, Value};
use crate::model::{AnchorId, BodyId, Measure, Mechanism};

/// A wanted result; its numbers stand side by side in a [`Track`](super::Track).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Want {
    /// Place of an anchor in its plane: right, up, mm.
    Place(AnchorId),
    /// Pose of a body: x, y in mm, cosine and sine of its angle.
    Pose(BodyId),
    /// Unwrapped angle of a body, rad. One that no drive gives is counted on from the pose before (in a batch from the start); a turn of more
    /// than a quarter from there is missed.
    Angle(BodyId),
    /// Value of a measure, mm or rad.
    Measure(Measure),
}

impl Want {
    /// How many numbers it is.
    pub fn columns(&self) -> usize {
        match self {
            Self::Place(_) => 2,
            Self::Pose(_) => 4,
            Self::Angle(_) | Self::Measure(_) => 1,
        }
    }

    /// Whether the mechanism has what it speaks of.
    pub(super) fn fits(&self, m: &Mechanism) -> bool {
        let anchor = |a: AnchorId| a < m.anchors.len();
        let body = |b: BodyId| b < m.bodies.len();
        match *self {
            Self::Place(a) => anchor(a),
            Self::Pose(b) | Self::Angle(b) => body(b),
            Self::Measure(Measure::Along { a, b, .. } | Measure::Distance { a, b }) => {
                anchor(a) && anchor(b)
            }
            Self::Measure(Measure::AlongBody {
                a,
                b,
                body: c,
                plane,
                direction,
            }) => {
                anchor(a)
                    && anchor(b)
                    && body(c)
                    && plane < m.planes.len()
                    && direction < m.params.len()
            }
            Self::Measure(Measure::Angle {
                body: a, against, ..
            }) => body(a) && body(against),
        }
    }
}

impl Draft<'_> {
    /// The numbers of a want, in order.
    pub(super) fn want(&mut self, want: &Want) -> Vec<Value> {
        match want {
            Want::Place(anchor) => self.place(*anchor).to_vec(),
            Want::Pose(body) => {
                let z = self.z(*body);
                [self.seated(*body), z].concat()
            }
            Want::Angle(body) => vec![self.angle(*body)],
            Want::Measure(measure) => vec![self.measure(measure)],
        }
    }

    pub(super) fn seated(&self, body: BodyId) -> Pair {
        match self.seat[body] {
            super::draft::Seat::Known(p) => p,
            _ => [Value::ZERO; 2],
        }
    }

    /// b − a along a direction fixed in space.
    fn apart(&mut self, a: AnchorId, b: AnchorId, direction: [f64; 3]) -> Value {
        let far = self.along_space(b, direction);
        let near = self.along_space(a, direction);
        self.tape.diff(far, near)
    }

    fn along_space(&mut self, anchor: AnchorId, direction: [f64; 3]) -> Value {
        let place = self.place(anchor);
        let own = &self.mechanism.anchors[anchor];
        let plane = self.mechanism.planes[own.plane];
        let w = self.param(own.w);
        let start = Value::Fixed(dot(direction, plane.origin));
        let axes = [plane.right, plane.up, plane.normal()];
        axes.into_iter()
            .zip([place[0], place[1], w])
            .fold(start, |sum, (axis, part)| {
                let part = self
                    .tape
                    .prod(Value::Fixed(small_is_zero(dot(direction, axis), 1.0)), part);
                self.tape.sum(sum, part)
            })
    }

    fn measure(&mut self, measure: &Measure) -> Value {
        match *measure {
            Measure::Along { a, b, direction } => self.apart(a, b, direction),
            Measure::AlongBody {
                a,
                b,
                body,
                plane,
                direction,
            } => {
                let plane = self.mechanism.planes[plane];
                let t = self.line_direction(self.z(body), direction);
                let right = self.apart(a, b, plane.right);
                let up = self.apart(a, b, plane.up);
                self.tape.dot(t, [right, up])
            }
            Measure::Distance { a, b } => {
                let same = self.mechanism.anchors[a].plane == self.mechanism.anchors[b].plane;
                let square = if same {
                    let (p, q) = (self.place(a), self.place(b));
                    let off = self.tape.minus(q, p);
                    let (w, v) = (self.mechanism.anchors[a].w, self.mechanism.anchors[b].w);
                    let (w, v) = (self.param(w), self.param(v));
                    let height = self.tape.diff(v, w);
                    let height = self.tape.prod(height, height);
                    let flat = self.tape.square(off);
                    self.tape.sum(flat, height)
                } else {
                    (0..3).fold(Value::ZERO, |sum, i| {
                        let mut direction = [0.0; 3];
                        direction[i] = 1.0;
                        let off = self.apart(a, b, direction);
                        let off = self.tape.prod(off, off);
                        self.tape.sum(sum, off)
                    })
                };
                self.tape.root(square)
            }
            Measure::Angle {
                body,
                against,
                offset,
            } => {
                let (a, b) = (self.angle(body), self.angle(against));
                let off = self.tape.diff(a, b);
                self.tape.sum(off, Value::Fixed(offset))
            }
        }
    }
}
