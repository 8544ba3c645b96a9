//! How small a cam can be: the least circle of a follower as it is guided, and with the best offset or pivot.

use crate::ElementError;
use crate::cams::{Follower, Motion, Program, looked_at, survey};
use crate::error::{not_negative, positive};
use std::cell::Cell;

/// Largest circle that is tried against the least, times the least.
const LARGEST: f64 = 1000.0;
/// Circles tried upwards, each larger by the same share.
const TRIES: u32 = 160;
/// Halvings of the edge.
const HALVINGS: u32 = 50;
/// The edge is as near as this, as a share, while the second size is searched.
const ROUGH: f64 = 1e-7;
/// Places of the second size tried before the best is closed in.
const COARSE: u32 = 24;
/// Places on either side of the one that broke a limit last that are looked at first.
const ABOUT: usize = 8;
/// Golden sections of the second size.
const SECTIONS: u32 = 24;

/// Least pitch circle (base circle under a flat face), mm, on which the pressure angle stays within a limit (rad) and the path bulges no
/// more sharply than a radius. None when no circle does.
///
/// # Errors
/// Limits that cannot be.
pub fn least_base(
    follower: Follower,
    program: &Program,
    steepest: f64,
    sharpest: f64,
) -> Result<Option<f64>, ElementError> {
    positive("limit of the pressure angle", "rad", steepest)?;
    not_negative("least radius of curvature", "mm", sharpest)?;
    Ok(Limits::new(program, steepest, sharpest).least(follower, true))
}

/// The follower with the least pitch circle that keeps the same limits, its offset or the distance of its pivot and its hand chosen freely. A flat
/// face has nothing to choose. None where none keeps them.
///
/// For a slide the pressure angle alone gives it in closed form: with the reach `y` of the roller's centre without lift and the offset `e`, a
/// limit `φ` asks for `|s' − e| ≤ (y + s) tan φ` all round, which is above two straight lines in the plane of `e` and `y`; their crossing is the cam
/// centre (construction with the diagram of lift over velocity; VDI 2142, from memory). Where the bulge asks for more the offset is searched.
///
/// # Errors
/// Limits that cannot be.
pub fn smallest(
    follower: Follower,
    program: &Program,
    steepest: f64,
    sharpest: f64,
) -> Result<Option<Follower>, ElementError> {
    positive("limit of the pressure angle", "rad", steepest)?;
    not_negative("least radius of curvature", "mm", sharpest)?;
    let limits = Limits::new(program, steepest, sharpest);
    let on = |follower: Follower| {
        let circle = limits.least(follower, true)?;
        Some(follower.on(circle))
    };
    Ok(match follower {
        Follower::Flat { .. } => on(follower),
        Follower::InLine { pitch, roller, .. } => {
            let with = |offset: f64| Follower::InLine {
                pitch,
                offset,
                roller,
            };
            let [offset, reach] = limits.apex();
            let best = on(with(offset));
            let keeps = |f: &Follower| f.circle() <= offset.hypot(reach) * (1.0 + 1e-6);
            if best.as_ref().is_some_and(keeps) {
                best
            } else {
                // The bulge or the roller asks for more, or the crossing lies below the centre.
                let wide = offset.abs().max(reach.abs()).max(roller);
                let tried = limits.searched([-wide, wide], &with);
                better(best, tried.and_then(on))
            }
        }
        Follower::Rocker {
            hand,
            arm,
            pitch,
            roller,
            ..
        } => {
            let mut best = on(follower);
            for hand in [hand, -hand] {
                let with = |centres: f64| Follower::Rocker {
                    hand,
                    centres,
                    arm,
                    pitch,
                    roller,
                };
                // Nearer than the arm the pivot lies inside the path, farther than this the circle is larger than what is sought.
                let found = limits.searched([0.3 * arm, 3.0 * arm], &with);
                best = better(best, found.and_then(on));
            }
            best
        }
    })
}

fn better(a: Option<Follower>, b: Option<Follower>) -> Option<Follower> {
    match (a, b) {
        (Some(a), Some(b)) if b.circle() < a.circle() * (1.0 - 1e-9) => Some(b),
        (None, b) => b,
        (a, _) => a,
    }
}

/// Limits that a cam is to keep.
struct Limits<'p> {
    program: &'p Program,
    steepest: f64,
    sharpest: f64,
    /// Places looked at, and how the follower goes there: asked for again and again.
    places: Vec<(f64, Motion)>,
    /// The place that broke a limit last: it mostly breaks it again.
    broke: Cell<usize>,
}

impl<'p> Limits<'p> {
    fn new(program: &'p Program, steepest: f64, sharpest: f64) -> Self {
        Self {
            program,
            steepest,
            sharpest,
            places: looked_at(program)
                .into_iter()
                .map(|angle| (angle, program.at(angle)))
                .collect(),
            broke: Cell::new(0),
        }
    }

    /// At the places looked at, and `finely` between them too.
    fn keeps(&self, follower: Follower, finely: bool) -> bool {
        let Ok(follower) = follower.checked() else {
            return false;
        };
        let breaks = |(angle, motion): &(f64, Motion)| {
            let place = follower.place(*angle, *motion);
            place.pressure.abs() > self.steepest * (1.0 + 1e-12)
                || (place.radius > 0.0 && place.radius < self.sharpest * (1.0 - 1e-12))
        };
        let between = || {
            survey(follower, self.program).is_ok_and(|s| {
                s.steepest.pressure.abs() <= self.steepest
                    && s.sharpest.is_none_or(|p| p.radius >= self.sharpest)
            })
        };
        if self.places.get(self.broke.get()).is_some_and(breaks) {
            return false;
        }
        // As the circle changes, the place that breaks a limit wanders to its neighbours.
        let last = self.broke.get();
        let about = last.saturating_sub(ABOUT)..(last + ABOUT).min(self.places.len());
        let beside = about
            .into_iter()
            .find(|&i| self.places.get(i).is_some_and(breaks));
        if let Some(at) = beside.or_else(|| self.places.iter().position(breaks)) {
            self.broke.set(at);
            return false;
        }
        !finely || between()
    }

    /// The least circle of a follower guided so.
    fn least(&self, follower: Follower, finely: bool) -> Option<f64> {
        self.least_below(follower, finely, f64::INFINITY)
    }

    /// The same, where it is no larger than this.
    fn least_below(&self, follower: Follower, finely: bool, beyond: f64) -> Option<f64> {
        let (from, most) = match follower {
            Follower::InLine { offset, roller, .. } => {
                let least = offset.abs().max(roller).max(1e-3);
                (least, least * LARGEST)
            }
            Follower::Flat { .. } => (1e-3, 1e5),
            // The arm must reach.
            Follower::Rocker {
                centres,
                arm,
                roller,
                ..
            } => ((centres - arm).abs().max(roller), centres + arm),
        };
        // Coarsely upwards, since a rocker gets worse again on a large circle; then the edge is halved down.
        let ratio = (most / from.max(1e-3)).powf(1.0 / f64::from(TRIES));
        let mut below = from;
        let mut circle = from.max(1e-3) * (1.0 + 1e-9);
        for _ in 0..=TRIES {
            if self.keeps(follower.on(circle), finely) {
                let (mut low, mut high) = (below, circle);
                let near = if finely { 1e-13 } else { ROUGH };
                for _ in 0..HALVINGS {
                    let middle = f64::midpoint(low, high);
                    if self.keeps(follower.on(middle), finely) {
                        high = middle;
                    } else {
                        low = middle;
                    }
                    if high - low <= near * high {
                        break;
                    }
                }
                return Some(high);
            }
            if circle > beyond {
                return None;
            }
            below = circle;
            circle *= ratio;
        }
        None
    }

    /// Offset and reach of a slide at which both sides of the pressure angle are at their limit.
    fn apex(&self) -> [f64; 2] {
        let tangent = self.steepest.tan();
        let (mut right, mut left) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for (_, m) in &self.places {
            right = right.max(m.velocity / tangent - m.lift);
            left = left.max(-m.velocity / tangent - m.lift);
        }
        [0.5 * tangent * (right - left), 0.5 * (right + left)]
    }

    /// The best of followers that differ in one size.
    fn searched(&self, [from, to]: [f64; 2], with: &dyn Fn(f64) -> Follower) -> Option<Follower> {
        const GOLDEN: f64 = 0.618_033_988_749_895;
        let circle = |x: f64| self.least(with(x), false).unwrap_or(f64::INFINITY);
        let step = (to - from) / f64::from(COARSE);
        let (mut best, mut least) = (from, f64::INFINITY);
        for k in 0..=COARSE {
            let x = from + step * f64::from(k);
            // What is larger than the best so far is of no interest.
            if let Some(found) = self.least_below(with(x), false, least)
                && found < least
            {
                (best, least) = (x, found);
            }
        }
        if !least.is_finite() {
            return None;
        }
        let (mut low, mut high) = (best - step, best + step);
        let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        let (mut fa, mut fb) = (circle(a), circle(b));
        for _ in 0..SECTIONS {
            for (x, f) in [(a, fa), (b, fb)] {
                if f < least {
                    (best, least) = (x, f);
                }
            }
            if fa <= fb {
                (high, b, fb) = (b, a, fa);
                a = high - GOLDEN * (high - low);
                fa = circle(a);
            } else {
                (low, a, fa) = (a, b, fb);
                b = low + GOLDEN * (high - low);
                fb = circle(b);
            }
        }
        Some(with(best).on(least))
    }
}
