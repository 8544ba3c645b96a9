//! Drawing the machines of the cases, and looking at them where they stand.

use crate::Solver;
use mechanics::model::{AnchorId, BodyId, Constraint, Measure, ParamId, Plane};
use mechanics::{Mechanism, Rates, Sensitivity, State, Tangent, follow, unit_direction};

/// A machine while it is drawn. Everything in the front plane unless a plane is named.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    pub(crate) m: Mechanism,
    /// The origin of space, on the frame.
    pub(crate) origin: AnchorId,
}

impl Draft {
    pub(crate) fn new() -> Self {
        let mut m = Mechanism::new();
        let origin = m.anchor(0, 0, [0.0; 3]);
        Self { m, origin }
    }

    /// A hole in the frame.
    pub(crate) fn fixed(&mut self, at: [f64; 2]) -> AnchorId {
        self.m.anchor(0, 0, [at[0], at[1], 0.0])
    }

    /// A bar whose datum is drawn at `from`, pointing to `to`. Its holes are given by [`Self::hole`], so that only they have
    /// to be exact.
    pub(crate) fn bar(&mut self, from: [f64; 2], to: [f64; 2]) -> BodyId {
        self.m.link(0, from, to)
    }

    /// A hole of a part, by its place on the part.
    pub(crate) fn hole(&mut self, body: BodyId, own: [f64; 2]) -> AnchorId {
        let plane = self.m.bodies[body].plane;
        self.m.anchor(body, plane, [own[0], own[1], 0.0])
    }

    pub(crate) fn pin(&mut self, a: AnchorId, b: AnchorId) {
        self.m.constrain(Constraint::Pin { a, b });
    }

    /// Guides an anchor along a line through `through` with the direction `direction` on that anchor's body.
    pub(crate) fn on_line(&mut self, pin: AnchorId, through: AnchorId, direction: f64) -> ParamId {
        let (direction, offset) = (self.m.param(direction), self.m.param(0.0));
        self.m.constrain(Constraint::OnLine {
            pin,
            through,
            direction,
            offset,
        });
        offset
    }

    /// Drives a body against another from the drawn angle; the parameter of the angle.
    pub(crate) fn drive(&mut self, body: BodyId, against: BodyId) -> ParamId {
        self.m.hold_angle(body, against)
    }

    /// Drives an anchor along a line; `distance` as drawn.
    pub(crate) fn push(
        &mut self,
        pin: AnchorId,
        through: AnchorId,
        direction: f64,
        distance: f64,
    ) -> ParamId {
        let (direction, distance) = (self.m.param(direction), self.m.param(distance));
        self.m.constrain(Constraint::Along {
            pin,
            through,
            direction,
            distance,
        });
        distance
    }

    /// The measures of the place of an anchor, x, y, z.
    pub(crate) fn place_of(&self, anchor: AnchorId) -> [Measure; 3] {
        let a = self.origin;
        [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(|direction| Measure::Along {
            a,
            b: anchor,
            direction,
        })
    }

    pub(crate) fn state(&self) -> State {
        State {
            params: self.m.params.clone(),
            poses: self.m.drawn.clone(),
        }
    }

    /// Brings the machine from where it is drawn to the given values of some parameters.
    pub(crate) fn go(
        &self,
        solver: &dyn Solver,
        values: &[(ParamId, f64)],
    ) -> Result<Stand<'_>, String> {
        let mut to = self.m.params.clone();
        for &(param, value) in values {
            to[param] = value;
        }
        let state = solver.go(&self.m, &self.state(), &to)?;
        let residuals = self.m.residuals(&state.params, &state.poses);
        let error = residuals
            .into_iter()
            .fold(0.0, |most: f64, r| most.max(r.abs()));
        // The closing error promised is 1e-10 of the size.
        if error <= 1e-10 * self.m.size(&state.params) {
            Ok(Stand { draft: self, state })
        } else {
            Err(format!("closing error {error:e}"))
        }
    }

    /// Pushes a drive as far as it goes towards `to`; must end at a dead centre.
    pub(crate) fn dead_centre(&self, drive: ParamId, to: f64) -> Result<Stand<'_>, String> {
        let mut params = self.m.params.clone();
        params[drive] = to;
        let followed = follow(&self.m, &self.state(), &params);
        match followed.ended {
            mechanics::Ended::DeadCentre { .. } => Ok(Stand {
                draft: self,
                state: followed.state,
            }),
            ended => Err(format!(
                "no dead centre but {ended:?} at {}",
                followed.share
            )),
        }
    }
}

/// A machine in a closed pose.
pub(crate) struct Stand<'a> {
    pub(crate) draft: &'a Draft,
    pub(crate) state: State,
}

impl Stand<'_> {
    pub(crate) fn at(&self, anchor: AnchorId) -> [f64; 2] {
        self.draft
            .m
            .in_plane(&self.state.params, &self.state.poses, anchor)
    }

    pub(crate) fn in_space(&self, anchor: AnchorId) -> [f64; 3] {
        self.draft
            .m
            .in_space(&self.state.params, &self.state.poses, anchor)
    }

    pub(crate) fn angle(&self, body: BodyId) -> f64 {
        self.state.poses[body].angle
    }

    pub(crate) fn value(&self, measure: &Measure) -> f64 {
        self.draft
            .m
            .measure(&self.state.params, &self.state.poses, measure)
    }

    pub(crate) fn sensitivity(&self, measure: &Measure) -> Result<Sensitivity, String> {
        let found = mechanics::sensitivity(
            &self.draft.m,
            &self.state.params,
            &self.state.poses,
            measure,
        );
        found.map_err(|s| format!("{s:?}"))
    }

    /// What moves how fast when one parameter runs at unit rate.
    pub(crate) fn moving(&self, drive: ParamId) -> Result<Moving<'_>, String> {
        let direction = unit_direction(self.state.params.len(), drive);
        let tangent = Tangent::new(&self.draft.m, &self.state.params, &self.state.poses);
        let tangent = tangent.map_err(|s| format!("{s:?}"))?;
        let rates = tangent.rates(&direction).map_err(|s| format!("{s:?}"))?;
        Ok(Moving {
            tangent,
            direction,
            rates,
            draft: self.draft,
        })
    }
}

/// A machine while one drive runs at unit rate.
pub(crate) struct Moving<'a> {
    tangent: Tangent<'a>,
    direction: Vec<f64>,
    rates: Rates,
    draft: &'a Draft,
}

impl Moving<'_> {
    /// Value, first and second rate.
    pub(crate) fn along(&self, measure: &Measure) -> [f64; 3] {
        self.tangent.along(measure, &self.direction, &self.rates)
    }

    /// First and second rate of a body's angle.
    pub(crate) fn turn(&self, body: BodyId) -> [f64; 2] {
        [self.rates.first[body][2], self.rates.second[body][2]]
    }

    /// First and second rate of a place, right and up.
    pub(crate) fn place(&self, anchor: AnchorId) -> [[f64; 2]; 2] {
        let [x, y, _] = self.draft.place_of(anchor).map(|m| self.along(&m));
        [[x[1], y[1]], [x[2], y[2]]]
    }
}

/// Where two circles meet, to the left or the right of the way from the first centre to the second.
pub(crate) fn swing(
    p: [f64; 2],
    r: f64,
    q: [f64; 2],
    s: f64,
    left: bool,
) -> Result<[f64; 2], String> {
    let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
    let d = dx.hypot(dy);
    let along = (d * d + r * r - s * s) / (2.0 * d);
    let root = (r * r - along * along).sqrt();
    if root.is_nan() {
        return Err("the arcs do not meet as drawn".to_owned());
    }
    let up = if left { root } else { -root };
    Ok([
        p[0] + (along * dx - up * dy) / d,
        p[1] + (along * dy + up * dx) / d,
    ])
}

pub(crate) fn polar(from: [f64; 2], reach: f64, angle: f64) -> [f64; 2] {
    [from[0] + reach * angle.cos(), from[1] + reach * angle.sin()]
}

/// A plane with the third direction (0, sin t, cos t): tilted by `t` about the direction right of the front plane.
pub(crate) fn tilted(origin: [f64; 3], tilt: f64) -> Plane {
    Plane {
        origin,
        right: [1.0, 0.0, 0.0],
        up: [0.0, tilt.cos(), -tilt.sin()],
    }
}
