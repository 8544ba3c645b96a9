//! Putting a mechanism together from drawn coordinates: makes bodies with their own axes, anchors and their parameters.

use crate::model::{
    Anchor, AnchorId, Body, BodyId, Constraint, Measure, Mechanism, ParamId, Plane, Pose,
};

impl Mechanism {
    /// A mechanism with the frame and the front plane only.
    pub fn new() -> Self {
        Self {
            planes: vec![Plane::FRONT],
            bodies: vec![Body { plane: 0 }],
            drawn: vec![Pose::default()],
            ..Self::default()
        }
    }

    /// Adds a parameter.
    pub fn param(&mut self, value: f64) -> ParamId {
        self.params.push(value);
        self.params.len() - 1
    }

    /// Adds a plane.
    pub fn plane(&mut self, plane: Plane) -> usize {
        self.planes.push(plane);
        self.planes.len() - 1
    }

    /// Adds a moving body as it is drawn: own origin at `origin`, own u-axis turned by `angle`.
    pub fn body(&mut self, plane: usize, origin: [f64; 2], angle: f64) -> BodyId {
        self.bodies.push(Body { plane });
        self.drawn.push(Pose {
            x: origin[0],
            y: origin[1],
            angle,
        });
        self.bodies.len() - 1
    }

    /// Adds a moving body whose own origin is at `datum` and whose u-axis points to `towards`, as drawn.
    pub fn link(&mut self, plane: usize, datum: [f64; 2], towards: [f64; 2]) -> BodyId {
        let angle = (towards[1] - datum[1]).atan2(towards[0] - datum[0]);
        self.body(plane, datum, angle)
    }

    /// Adds an anchor by its own coordinates and station; makes three parameters.
    pub fn anchor(&mut self, body: BodyId, plane: usize, own: [f64; 3]) -> AnchorId {
        let [u, v, w] = own.map(|x| self.param(x));
        self.anchors.push(Anchor {
            body,
            plane,
            u,
            v,
            w,
        });
        self.anchors.len() - 1
    }

    /// Adds an anchor of a body where it is drawn: coordinates in the plane, and station.
    pub fn anchor_drawn(&mut self, body: BodyId, plane: usize, drawn: [f64; 3]) -> AnchorId {
        let p = self.drawn[body];
        let (s, c) = p.angle.sin_cos();
        let (x, y) = (drawn[0] - p.x, drawn[1] - p.y);
        self.anchor(body, plane, [c * x + s * y, c * y - s * x, drawn[2]])
    }

    /// Adds a constraint and says its index.
    pub fn constrain(&mut self, constraint: Constraint) -> usize {
        self.constraints.push(constraint);
        self.constraints.len() - 1
    }

    /// Adds a rod whose length is the drawn distance of its ends; says the parameter of the length.
    pub fn rod(&mut self, a: AnchorId, b: AnchorId) -> ParamId {
        let (p, q) = (
            self.in_space(&self.params, &self.drawn, a),
            self.in_space(&self.params, &self.drawn, b),
        );
        let square: f64 = (0..3).map(|i| (p[i] - q[i]).powi(2)).sum();
        let length = self.param(square.sqrt());
        self.constraints.push(Constraint::Rod { a, b, length });
        length
    }

    /// Fixes the angle between two bodies as drawn; says the parameter of the angle (a drive, a slide, a clamped arm).
    pub fn hold_angle(&mut self, body: BodyId, against: BodyId) -> ParamId {
        let angle = self.param(self.drawn[body].angle - self.drawn[against].angle);
        self.constraints.push(Constraint::Angle {
            body,
            against,
            angle,
        });
        angle
    }

    /// Adds a measure and says its index.
    pub fn measured(&mut self, measure: Measure) -> usize {
        self.measures.push(measure);
        self.measures.len() - 1
    }
}
