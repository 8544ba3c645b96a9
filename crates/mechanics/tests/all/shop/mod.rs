//! Machines put together from drawn points, for the tests of plans.

use mechanics::model::{AnchorId, BodyId, Constraint, Mechanism, ParamId, Plane, Pose};
use mechanics::plan::{Forms, Plan, Track, Want};
use mechanics::{Ended, State, close, follow};

/// A machine while it is put together.
pub(crate) struct Shop {
    pub(crate) m: Mechanism,
}

pub(crate) fn polar([x, y]: [f64; 2], radius: f64, angle: f64) -> [f64; 2] {
    [x + radius * angle.cos(), y + radius * angle.sin()]
}

impl Shop {
    pub(crate) fn new() -> Self {
        Self {
            m: Mechanism::new(),
        }
    }

    pub(crate) fn at(&self, a: AnchorId) -> [f64; 2] {
        self.m.in_plane(&self.m.params, &self.m.drawn, a)
    }

    pub(crate) fn fixed(&mut self, at: [f64; 2]) -> AnchorId {
        self.fixed_in(0, at)
    }

    pub(crate) fn fixed_in(&mut self, plane: usize, at: [f64; 2]) -> AnchorId {
        self.m.anchor(0, plane, [at[0], at[1], 0.0])
    }

    pub(crate) fn carry(&mut self, body: BodyId, at: [f64; 2]) -> AnchorId {
        let plane = self.m.bodies[body].plane;
        self.m.anchor_drawn(body, plane, [at[0], at[1], 0.0])
    }

    pub(crate) fn pin(&mut self, a: AnchorId, b: AnchorId) {
        self.m.constrain(Constraint::Pin { a, b });
    }

    /// A part pinned to an anchor where that is drawn.
    pub(crate) fn hung(&mut self, on: AnchorId, towards: [f64; 2]) -> BodyId {
        let (plane, at) = (self.m.anchors[on].plane, self.at(on));
        let body = self.m.link(plane, at, towards);
        let own = self.m.anchor(body, plane, [0.0; 3]);
        self.pin(on, own);
        body
    }

    /// A part that turns on the frame.
    pub(crate) fn turning(&mut self, centre: [f64; 2], towards: [f64; 2]) -> BodyId {
        let on = self.fixed(centre);
        self.hung(on, towards)
    }

    /// A crank with its drive and its pin.
    pub(crate) fn crank(
        &mut self,
        centre: [f64; 2],
        radius: f64,
        angle: f64,
    ) -> (BodyId, AnchorId, ParamId) {
        let pin = polar(centre, radius, angle);
        let body = self.turning(centre, pin);
        self.m.drawn[body].angle = angle;
        let anchor = self.m.anchor(body, 0, [radius, 0.0, 0.0]);
        (body, anchor, self.m.hold_angle(body, 0))
    }

    /// A part between two anchors.
    pub(crate) fn bar(&mut self, a: AnchorId, b: AnchorId) -> BodyId {
        let to = self.at(b);
        let body = self.hung(a, to);
        let end = self.carry(body, to);
        self.pin(end, b);
        body
    }

    /// A part that slides in the frame along a direction and does not turn; it carries an anchor where it is drawn.
    pub(crate) fn slide(&mut self, at: [f64; 2], along: f64) -> (BodyId, AnchorId) {
        let body = self.m.body(0, at, 0.0);
        let own = self.m.anchor(body, 0, [0.0; 3]);
        self.m.hold_angle(body, 0);
        let guide = self.fixed(polar(at, -37.0, along));
        self.on_line(own, guide, along, 0.0);
        (body, own)
    }

    /// The pin stays on the line through an anchor; `along` in the own axes of that anchor's body.
    pub(crate) fn on_line(&mut self, pin: AnchorId, through: AnchorId, along: f64, offset: f64) {
        let (direction, offset) = (self.m.param(along), self.m.param(offset));
        self.m.constrain(Constraint::OnLine {
            pin,
            through,
            direction,
            offset,
        });
    }

    pub(crate) fn arc(&mut self, pin: AnchorId, centre: AnchorId) {
        let (p, q) = (self.at(pin), self.at(centre));
        let radius = self.m.param((p[0] - q[0]).hypot(p[1] - q[1]));
        self.m.constrain(Constraint::Arc {
            pin,
            centre,
            radius,
        });
    }

    pub(crate) fn gear(&mut self, a: BodyId, b: BodyId, carrier: BodyId, sizes: [f64; 2]) {
        let d = &self.m.drawn;
        let value =
            sizes[0] * (d[a].angle - d[carrier].angle) + sizes[1] * (d[b].angle - d[carrier].angle);
        let offset = self.m.param(value);
        self.m.constrain(Constraint::Ratio {
            a,
            b,
            carrier,
            sizes,
            offset,
        });
    }

    /// Rack on the slide through `through`; residual is zero as drawn.
    pub(crate) fn rack(
        &mut self,
        gear: BodyId,
        pin: AnchorId,
        through: AnchorId,
        along: f64,
        radius: f64,
    ) {
        let (p, q) = (self.at(pin), self.at(through));
        let host = self.m.anchors[through].body;
        let turn = self.m.drawn[host].angle + along;
        let way = (p[0] - q[0]) * turn.cos() + (p[1] - q[1]) * turn.sin();
        let value = way - radius * (self.m.drawn[gear].angle - self.m.drawn[host].angle);
        let (direction, radius, offset) = (
            self.m.param(along),
            self.m.param(radius),
            self.m.param(value),
        );
        self.m.constrain(Constraint::Rack {
            gear,
            pin,
            through,
            direction,
            radius,
            offset,
        });
    }

    pub(crate) fn plane(&mut self, origin: [f64; 3], right: [f64; 3], up: [f64; 3]) -> usize {
        self.m.plane(Plane { origin, right, up })
    }

    /// Closes the drawing to the last digits.
    pub(crate) fn done(mut self) -> Mechanism {
        let mut drawn = self.m.drawn.clone();
        if let Err(e) = close(&self.m, &self.m.params, &mut drawn) {
            panic!("the drawing does not close: {e:?}");
        }
        self.m.drawn = drawn;
        self.m
    }
}

/// Places of all bodies and their angles, as a plan's wants.
pub(crate) fn all_poses(m: &Mechanism) -> Vec<Want> {
    (1..m.bodies.len())
        .flat_map(|b| [Want::Pose(b), Want::Angle(b)])
        .collect()
}

/// Poses of a track of [`all_poses`].
pub(crate) fn poses_of(m: &Mechanism, track: &Track, pose: usize) -> Vec<Pose> {
    let mut poses = vec![Pose::default()];
    for b in 1..m.bodies.len() {
        let column = track.column_of(2 * (b - 1));
        let at = |k: usize| track.value(pose, column + k);
        poses.push(Pose {
            x: at(0),
            y: at(1),
            angle: at(4),
        });
    }
    poses
}

/// Largest difference as a share of the size.
pub(crate) fn apart(a: &[Pose], b: &[Pose], size: f64) -> f64 {
    let far = |(p, q): (&Pose, &Pose)| {
        let d = [p.x - q.x, p.y - q.y, size * (p.angle - q.angle)];
        d.iter().fold(
            0.0,
            |m: f64, x| if x.is_nan() { f64::NAN } else { m.max(x.abs()) },
        )
    };
    a.iter()
        .zip(b)
        .map(far)
        .fold(0.0, |m, x| if x.is_nan() { f64::NAN } else { m.max(x) })
        / size
}

/// What [`check_sweep`] saw.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Seen {
    pub(crate) good: usize,
    pub(crate) missed: usize,
}

/// Sweeps one drive and holds every good pose against following with the dense reference, as far as that goes.
pub(crate) fn check_sweep(
    name: &str,
    m: &Mechanism,
    forms: Forms,
    drive: ParamId,
    values: &[f64],
) -> Seen {
    let plan = Plan::with(m, &m.params, &m.drawn, forms).unwrap_or_else(|e| panic!("{name}: {e}"));
    let Ok(sweep) = plan.sweep(&m.params, &[drive], &all_poses(m)) else {
        panic!("{name}: too large")
    };
    let mut track = Track::new();
    sweep
        .run(&m.drawn, &[values], &mut track)
        .unwrap_or_else(|e| panic!("{name}: {e}"));
    // Without angles no pose of closed forms needs the one before.
    let wants: Vec<Want> = (1..m.bodies.len()).map(Want::Pose).collect();
    let Ok(apart_sweep) = plan.sweep(&m.params, &[drive], &wants) else {
        panic!("{name}: too large")
    };
    let mut vectors = Track::new();
    apart_sweep
        .run(&m.drawn, &[values], &mut vectors)
        .unwrap_or_else(|e| panic!("{name}: {e}"));
    let size = m.size(&m.params);
    let mut state = State {
        params: m.params.clone(),
        poses: m.drawn.clone(),
    };
    let mut seen = Seen::default();
    let mut change_points = 0;
    for (i, value) in values.iter().enumerate() {
        let mut to = state.params.clone();
        to[drive] = *value;
        let followed = follow(m, &state, &to);
        change_points += followed.change_points.len();
        if followed.ended != Ended::Reached || change_points > 0 {
            break;
        }
        state = followed.state;
        if vectors.good(i) {
            for (b, pose) in state.poses.iter().enumerate().skip(1) {
                let column = vectors.column_of(b - 1);
                let (s, c) = pose.angle.sin_cos();
                for (k, x) in [pose.x / size, pose.y / size, c, s].into_iter().enumerate() {
                    let scale = if k < 2 { size } else { 1.0 };
                    let off = (vectors.value(i, column + k) / scale - x).abs();
                    assert!(
                        off < 1e-9,
                        "{name} {forms:?}: pose {i} of body {b} is off by {off:e}"
                    );
                }
            }
        } else {
            assert!(
                !track.good(i),
                "{name} {forms:?}: pose {i} is good only when followed"
            );
        }
        if track.good(i) {
            seen.good += 1;
            let off = apart(&poses_of(m, &track, i), &state.poses, size);
            assert!(off < 1e-9, "{name} {forms:?}: pose {i} is off by {off:e}");
        } else {
            seen.missed += 1;
            for column in 0..track.column_of(2 * m.bodies.len()) {
                assert!(
                    track.value(i, column).is_nan(),
                    "{name}: a missed pose has no numbers"
                );
            }
        }
    }
    seen
}
