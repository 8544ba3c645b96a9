//! A mechanism as numbers.
//!
//! # Conventions
//! - Lengths in mm, angles in rad, counter-clockwise positive in a plane seen with *right* to the right and *up* up.
//! - Body 0 is the frame. It stands still; its anchors may lie in any plane and their coordinates are those of that plane.
//! - A moving body lies in one plane. Its pose (x, y, angle) places its own axes there: the anchor (u, v) of the body stands at
//!   `x + u cos − v sin`, `y + u sin + v cos`. Angles are unwrapped: they count whole turns.
//! - Every number that may change, be it a drive, a setting or the dimension of a made part, is one entry of the parameter
//!   vector. A pose is a function of the parameters and of the branch (the way of assembling) it is followed on.

use crate::cam::Cam;

/// Index of a body; 0 is the frame.
pub type BodyId = usize;
/// Index into the parameter vector.
pub type ParamId = usize;
/// Index into [`Mechanism::anchors`].
pub type AnchorId = usize;

/// A plane in space: origin, unit vectors to the right and up. Its third direction is right × up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Origin, mm.
    pub origin: [f64; 3],
    /// Unit vector to the right.
    pub right: [f64; 3],
    /// Unit vector up, square to `right`.
    pub up: [f64; 3],
}

impl Plane {
    /// The plane x right, y up.
    pub const FRONT: Self = Self {
        origin: [0.0; 3],
        right: [1.0, 0.0, 0.0],
        up: [0.0, 1.0, 0.0],
    };

    /// Third direction, towards the viewer.
    pub fn normal(&self) -> [f64; 3] {
        let (r, u) = (self.right, self.up);
        [
            r[1] * u[2] - r[2] * u[1],
            r[2] * u[0] - r[0] * u[2],
            r[0] * u[1] - r[1] * u[0],
        ]
    }

    /// The place in space of (x, y, z) of this plane.
    pub fn in_space(&self, [x, y, z]: [f64; 3]) -> [f64; 3] {
        let n = self.normal();
        std::array::from_fn(|i| self.origin[i] + x * self.right[i] + y * self.up[i] + z * n[i])
    }
}

/// Pose of a body in its plane. `angle` is unwrapped.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pose {
    /// Place of the body's own origin to the right, mm.
    pub x: f64,
    /// Place of the body's own origin up, mm.
    pub y: f64,
    /// Turn of the body's own axes, rad.
    pub angle: f64,
}

/// A body: the plane it moves in. The frame's plane is without meaning.
#[derive(Clone, Copy, Debug)]
pub struct Body {
    /// Index into [`Mechanism::planes`].
    pub plane: usize,
}

/// A point fixed on a body: parameters that hold its own coordinates.
#[derive(Clone, Copy, Debug)]
pub struct Anchor {
    /// The body that carries it.
    pub body: BodyId,
    /// Plane of its coordinates; for a moving body that body's plane.
    pub plane: usize,
    /// Own coordinate u.
    pub u: ParamId,
    /// Own coordinate v.
    pub v: ParamId,
    /// Station along the plane's third direction.
    pub w: ParamId,
}

/// One joint's worth of equations. Each is written as `residual = 0`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Constraint {
    /// Two anchors of one plane stand at the same place (2 equations, mm): `a − b`, right then up. Stations do not matter.
    Pin {
        /// First anchor.
        a: AnchorId,
        /// Second anchor.
        b: AnchorId,
    },
    /// Distance of two anchors in space (1 equation, mm): `(|a − b|² − length²) / (2 length)`.
    Rod {
        /// First anchor.
        a: AnchorId,
        /// Second anchor.
        b: AnchorId,
        /// Its length, positive.
        length: ParamId,
    },
    /// Distance of two anchors within their one plane, stations left out (1 equation): arc slots. Same form as a rod's.
    Arc {
        /// The pin.
        pin: AnchorId,
        /// Centre of the arc.
        centre: AnchorId,
        /// Its radius, positive.
        radius: ParamId,
    },
    /// An anchor lies on a line of another body (1 equation, mm): `n · (pin − through) − offset`, where `n` is the left normal
    /// (direction + 90°) of the line, whose direction in the line's own body is `direction`.
    OnLine {
        /// The pin.
        pin: AnchorId,
        /// An anchor of the body that carries the line.
        through: AnchorId,
        /// Direction of the line in that body's own axes, rad.
        direction: ParamId,
        /// Distance of the pin to the left of the line, mm.
        offset: ParamId,
    },
    /// How far along a line an anchor stands (1 equation, mm): `t · (pin − through) − distance`; `t` is the line's direction.
    Along {
        /// The pin.
        pin: AnchorId,
        /// An anchor of the body that carries the line.
        through: AnchorId,
        /// Direction of the line in that body's own axes, rad.
        direction: ParamId,
        /// Distance along it, mm.
        distance: ParamId,
    },
    /// Angle between two bodies of one plane (1 equation, rad): `body − against − angle`. Drives, slides that do not turn, clamped arms.
    Angle {
        /// The body.
        body: BodyId,
        /// The body it is measured against.
        against: BodyId,
        /// The angle, rad.
        angle: ParamId,
    },
    /// Fixed ratio (1 equation, rad): `sizes[0]·(a − carrier) + sizes[1]·(b − carrier) − offset`, divided by the greater size.
    /// An external gear pair has both sizes positive; one negative for same sense. Sizes are exact numbers, not dimensions.
    Ratio {
        /// First body.
        a: BodyId,
        /// Second body.
        b: BodyId,
        /// The body that carries both centres.
        carrier: BodyId,
        /// Sizes with sign.
        sizes: [f64; 2],
        /// Value of the sum in the drawn pose, rad × size.
        offset: ParamId,
    },
    /// Rack and pinion (1 equation, mm): `t · (pin − through) − radius·(gear − host) − offset`; `host` is the body of `through`.
    Rack {
        /// The pinion.
        gear: BodyId,
        /// An anchor of the rack.
        pin: AnchorId,
        /// An anchor of the body the rack slides on.
        through: AnchorId,
        /// Direction of the slide in that body's own axes, rad.
        direction: ParamId,
        /// Pitch radius with sign, mm.
        radius: ParamId,
        /// Value in the drawn pose, mm.
        offset: ParamId,
    },
    /// A wheel goes as its driver drives it (1 equation, rad): `(b − carrier) − lift(a − carrier) − offset`. A nonlinear ratio.
    Course {
        /// Index into [`Mechanism::cams`] of a [`Ride::Wheel`](crate::cam::Ride::Wheel).
        cam: usize,
        /// The driver.
        a: BodyId,
        /// The wheel.
        b: BodyId,
        /// The body that carries both centres.
        carrier: BodyId,
        /// What is left as drawn, rad.
        offset: ParamId,
    },
    /// A pin rides on a cam (1 equation, mm): how far it stands off the path cut for it, along the way of the follower that the cam
    /// was cut for; see [`crate::cam`].
    Cam {
        /// Index into [`Mechanism::cams`].
        cam: usize,
        /// Centre of the cam, an anchor of the body that is the cam.
        centre: AnchorId,
        /// The pin (or centre of the roller) of the follower, in the same plane.
        pin: AnchorId,
        /// Direction of the cam's reference in its own body's axes, rad: how it is clocked.
        clock: ParamId,
        /// How far its profile lies outwards of where it was meant, square to itself, mm.
        swell: ParamId,
        /// Radius of the roller or pin, mm.
        roller: ParamId,
    },
}

impl Constraint {
    /// How many equations it stands for.
    pub fn equations(&self) -> usize {
        if matches!(self, Self::Pin { .. }) {
            2
        } else {
            1
        }
    }
}

/// A measured quantity of one pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measure {
    /// `n · (b − a)` in space; `n` is fixed in space.
    Along {
        /// From this anchor.
        a: AnchorId,
        /// To this one.
        b: AnchorId,
        /// Unit vector in space.
        direction: [f64; 3],
    },
    /// `n · (b − a)` in space; `n` is a direction of a body's plane that turns with the body.
    AlongBody {
        /// From this anchor.
        a: AnchorId,
        /// To this one.
        b: AnchorId,
        /// Body that carries the direction, and the plane it lies in (the frame has many).
        body: BodyId,
        /// Plane of the direction.
        plane: usize,
        /// Direction in the body's own axes, rad.
        direction: ParamId,
    },
    /// Distance of two anchors in space, mm.
    Distance {
        /// From this anchor.
        a: AnchorId,
        /// To this one.
        b: AnchorId,
    },
    /// `body − against + offset`, rad.
    Angle {
        /// The body.
        body: BodyId,
        /// The body it is measured against.
        against: BodyId,
        /// Added to it, rad.
        offset: f64,
    },
}

/// A mechanism.
#[derive(Clone, Debug, Default)]
pub struct Mechanism {
    /// Planes.
    pub planes: Vec<Plane>,
    /// Bodies; 0 is the frame.
    pub bodies: Vec<Body>,
    /// Anchors.
    pub anchors: Vec<Anchor>,
    /// Constraints.
    pub constraints: Vec<Constraint>,
    /// Shapes of cams.
    pub cams: Vec<Cam>,
    /// Measures.
    pub measures: Vec<Measure>,
    /// Parameters as drawn.
    pub params: Vec<f64>,
    /// Poses as drawn, one a body; the frame's is zero. They close with `params` as well as the drawing is exact.
    pub drawn: Vec<Pose>,
}

impl Mechanism {
    /// Unknowns of the position problem: x, y, angle of every moving body. Body `b` has columns `3(b−1) .. 3b`.
    pub fn unknowns(&self) -> usize {
        3 * self.bodies.len().saturating_sub(1)
    }

    /// Equations, in the order of `constraints`.
    pub fn equations(&self) -> usize {
        self.constraints.iter().map(Constraint::equations).sum()
    }
}
