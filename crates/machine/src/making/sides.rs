//! Straight sides and arcs of outlines in the plane: lengths, places, distances, where they meet.

use std::f64::consts::{PI, TAU};

/// A place or direction on a plate, mm.
pub type P = [f64; 2];

/// A side of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Side {
    /// Straight.
    Line {
        /// From here.
        from: P,
        /// To there.
        to: P,
    },
    /// An arc.
    Arc {
        /// Its centre.
        centre: P,
        /// Its radius.
        radius: f64,
        /// Angle at its beginning, rad.
        from: f64,
        /// How far it turns, counter-clockwise positive, rad.
        sweep: f64,
    },
}

/// From the second place to the first.
pub fn sub(a: P, b: P) -> P {
    [a[0] - b[0], a[1] - b[1]]
}

/// Length of a direction.
pub fn length(a: P) -> f64 {
    a[0].hypot(a[1])
}

/// Positive when the second direction lies to the left of the first.
pub fn cross(a: P, b: P) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// A point at an angle about a centre.
pub fn polar(centre: P, radius: f64, angle: f64) -> P {
    [
        centre[0] + radius * angle.cos(),
        centre[1] + radius * angle.sin(),
    ]
}

impl Side {
    /// Length, mm.
    pub fn length(&self) -> f64 {
        match *self {
            Self::Line { from, to } => length(sub(to, from)),
            Self::Arc { radius, sweep, .. } => radius * sweep.abs(),
        }
    }

    /// How far a place lies from it, mm.
    pub fn distance(&self, at: P) -> f64 {
        let ends = length(sub(self.at(0.0), at)).min(length(sub(self.at(1.0), at)));
        match *self {
            Self::Line { from, to } => {
                let (d, w) = (sub(to, from), sub(at, from));
                let square = d[0] * d[0] + d[1] * d[1];
                let along = (d[0] * w[0] + d[1] * w[1]) / square;
                if (0.0..=1.0).contains(&along) {
                    (d[0] * w[1] - d[1] * w[0]).abs() / square.sqrt()
                } else {
                    ends
                }
            }
            Self::Arc {
                centre,
                radius,
                from,
                sweep,
            } => {
                let w = sub(at, centre);
                let angle = w[1].atan2(w[0]);
                let along = if sweep > 0.0 {
                    angle - from
                } else {
                    from - angle
                };
                if along.rem_euclid(TAU) <= sweep.abs() {
                    (length(w) - radius).abs()
                } else {
                    ends
                }
            }
        }
    }

    /// The place at a share of its length.
    pub fn at(&self, share: f64) -> P {
        match *self {
            Self::Line { from, to } => [
                from[0] + share * (to[0] - from[0]),
                from[1] + share * (to[1] - from[1]),
            ],
            Self::Arc {
                centre,
                radius,
                from,
                sweep,
            } => polar(centre, radius, from + share * sweep),
        }
    }

    /// Its direction at a share of its length, rad.
    pub fn heading(&self, share: f64) -> f64 {
        match *self {
            Self::Line { from, to } => (to[1] - from[1]).atan2(to[0] - from[0]),
            Self::Arc { from, sweep, .. } => from + share * sweep + sweep.signum() * PI / 2.0,
        }
    }

    /// Its part between two shares of its length.
    #[must_use]
    pub fn piece(&self, a: f64, b: f64) -> Self {
        match *self {
            Self::Line { .. } => Self::Line {
                from: self.at(a),
                to: self.at(b),
            },
            Self::Arc {
                centre,
                radius,
                from,
                sweep,
            } => Self::Arc {
                centre,
                radius,
                from: from + a * sweep,
                sweep: (b - a) * sweep,
            },
        }
    }

    /// The share of its length at which it goes through a place, when it does.
    pub fn share(&self, at: P) -> Option<f64> {
        const ON: f64 = 1e-7;
        match *self {
            Self::Line { from, to } => {
                let d = sub(to, from);
                let long = length(d);
                let w = sub(at, from);
                let along = (w[0] * d[0] + w[1] * d[1]) / long;
                let off = cross(d, w).abs() / long;
                (off < ON && along > -ON && along < long + ON)
                    .then(|| (along / long).clamp(0.0, 1.0))
            }
            Self::Arc {
                centre,
                radius,
                from,
                sweep,
            } => {
                let w = sub(at, centre);
                if (length(w) - radius).abs() > ON {
                    return None;
                }
                let angle = w[1].atan2(w[0]);
                let along = (if sweep > 0.0 {
                    angle - from
                } else {
                    from - angle
                })
                .rem_euclid(TAU);
                let near = ON / radius;
                if along <= sweep.abs() + near {
                    Some((along / sweep.abs()).clamp(0.0, 1.0))
                } else if along > TAU - near {
                    Some(0.0)
                } else {
                    None
                }
            }
        }
    }
}

/// Where two sides meet or touch, and where one lies on the other's ends, as shares of the first.
pub fn meetings(a: &Side, b: &Side, shares: &mut Vec<f64>) {
    let mut take = |p: P| {
        if let Some(t) = a.share(p)
            && b.share(p).is_some()
        {
            shares.push(t);
        }
    };
    take(b.at(0.0));
    take(b.at(1.0));
    match (*a, *b) {
        (Side::Line { from, to }, Side::Line { from: f, to: t }) => {
            let (d, e) = (sub(to, from), sub(t, f));
            let det = cross(d, e);
            if det.abs() > 1e-12 * length(d) * length(e) {
                let along = cross(sub(f, from), e) / det;
                take([from[0] + along * d[0], from[1] + along * d[1]]);
            }
        }
        (Side::Line { from, to }, Side::Arc { centre, radius, .. })
        | (Side::Arc { centre, radius, .. }, Side::Line { from, to }) => {
            for p in line_and_circle(from, to, centre, radius) {
                take(p);
            }
        }
        (
            Side::Arc {
                centre: p,
                radius: r,
                ..
            },
            Side::Arc {
                centre: q,
                radius: s,
                ..
            },
        ) => {
            for x in circles(p, r, q, s) {
                take(x);
            }
        }
    }
}

/// Where a line through two places meets a circle.
pub(super) fn line_and_circle(from: P, to: P, centre: P, radius: f64) -> Vec<P> {
    let d = sub(to, from);
    let long = length(d);
    let u = [d[0] / long, d[1] / long];
    let w = sub(from, centre);
    let foot = -(w[0] * u[0] + w[1] * u[1]);
    let off = cross(u, w);
    let half = radius * radius - off * off;
    if half < -1e-9 * radius {
        return Vec::new();
    }
    let half = half.max(0.0).sqrt();
    let at = |t: f64| [from[0] + t * u[0], from[1] + t * u[1]];
    vec![at(foot - half), at(foot + half)]
}

/// Where two circles meet.
pub(super) fn circles(p: P, r: f64, q: P, s: f64) -> Vec<P> {
    let d = sub(q, p);
    let far = length(d);
    if far < 1e-9 {
        return Vec::new();
    }
    let along = (far * far + r * r - s * s) / (2.0 * far);
    let half = r * r - along * along;
    if half < -1e-9 * r {
        return Vec::new();
    }
    let half = half.max(0.0).sqrt();
    let u = [d[0] / far, d[1] / far];
    let at = |h: f64| {
        [
            p[0] + along * u[0] - h * u[1],
            p[1] + along * u[1] + h * u[0],
        ]
    };
    vec![at(half), at(-half)]
}
