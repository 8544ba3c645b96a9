//! The shape of a plate cam: path of the roller in the cam, pressure angle, curvature, flanks and cutter paths.

use crate::ElementError;
use crate::cams::{Motion, Program};
use crate::error::{finite, less_than, not_negative, positive, within};
use std::f64::consts::TAU;

/// What rides on the cam. The cam's centre is the origin; it turns counter-clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Follower {
    /// A roller or pin on a slide that goes straight up, offset so far to the right of the centre.
    InLine {
        /// Radius of the path of the roller's centre where the lift is nothing, mm.
        pitch: f64,
        /// Offset, mm; it eases the rise when positive.
        offset: f64,
        /// Radius of the roller, mm.
        roller: f64,
    },
    /// A flat face on a slide that goes straight up.
    Flat {
        /// Radius of the cam where the lift is nothing, mm.
        base: f64,
    },
    /// A roller or pin on a rocker pivoted to the right of the centre, which swings away from it as the lift (rad) grows.
    Rocker {
        /// 1 when the roller stands above the line to the pivot, −1 below it.
        hand: f64,
        /// Distance of the pivot, mm.
        centres: f64,
        /// Length of the arm, mm.
        arm: f64,
        /// Radius of the path of the roller's centre where the lift is nothing, mm.
        pitch: f64,
        /// Radius of the roller, mm.
        roller: f64,
    },
}

/// Flank of a cam or a closed track.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Towards the centre: the only flank of an open cam.
    Inner,
    /// Away from the centre.
    Outer,
}

/// One place of the cam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Angle of the cam, rad.
    pub angle: f64,
    /// Lift and its derivatives.
    pub motion: Motion,
    /// Roller's centre in the cam (the touched place for a flat face), mm.
    pub centre: [f64; 2],
    /// Outward normal of the path in the cam.
    pub normal: [f64; 2],
    /// Between the normal and the way of the follower, rad; a flat face has none. Positive while the push leans against the rise.
    pub pressure: f64,
    /// Radius of curvature of the path of the roller's centre (of the cam under a flat face), mm; positive where it bulges outwards, infinite
    /// where it is straight.
    pub radius: f64,
    /// How fast the roller's centre goes along its path, mm a rad of the cam.
    pub along: f64,
    /// How fast the follower itself swings counter-clockwise, rad a rad of the cam; nothing of a slide.
    pub swing: f64,
}

impl Follower {
    /// Checks the sizes.
    ///
    /// # Errors
    /// Sizes that are not positive, an offset beyond the pitch circle, a rocker whose roller does not reach it, a roller as large as the
    /// pitch circle.
    pub fn checked(self) -> Result<Self, ElementError> {
        match self {
            Self::InLine {
                pitch,
                offset,
                roller,
            } => {
                positive("radius of the pitch circle", "mm", pitch)?;
                finite("offset", offset)?;
                less_than("offset", "mm", offset.abs(), "pitch circle", pitch)?;
                not_negative("radius of the roller", "mm", roller)?;
                less_than("roller", "mm", roller, "pitch circle", pitch)?;
            }
            Self::Flat { base } => {
                positive("base radius", "mm", base)?;
            }
            Self::Rocker {
                hand,
                centres,
                arm,
                pitch,
                roller,
            } => {
                within("hand", "", hand.abs(), 1.0, 1.0)?;
                positive("distance of centres", "mm", centres)?;
                positive("arm", "mm", arm)?;
                positive("radius of the pitch circle", "mm", pitch)?;
                not_negative("radius of the roller", "mm", roller)?;
                less_than("roller", "mm", roller, "pitch circle", pitch)?;
                less_than(
                    "pitch circle",
                    "mm",
                    pitch,
                    "arm and centres",
                    arm + centres,
                )?;
                less_than(
                    "difference of arm and centres",
                    "mm",
                    (arm - centres).abs(),
                    "pitch circle",
                    pitch,
                )?;
            }
        }
        Ok(self)
    }

    /// Radius of the roller; none of a flat face.
    pub fn roller(self) -> f64 {
        match self {
            Self::InLine { roller, .. } | Self::Rocker { roller, .. } => roller,
            Self::Flat { .. } => 0.0,
        }
    }

    /// The same follower on another circle.
    #[must_use]
    pub fn on(self, circle: f64) -> Self {
        match self {
            Self::InLine { offset, roller, .. } => Self::InLine {
                pitch: circle,
                offset,
                roller,
            },
            Self::Flat { .. } => Self::Flat { base: circle },
            Self::Rocker {
                hand,
                centres,
                arm,
                roller,
                ..
            } => Self::Rocker {
                hand,
                centres,
                arm,
                pitch: circle,
                roller,
            },
        }
    }

    /// Radius of its pitch or base circle, mm.
    pub fn circle(self) -> f64 {
        match self {
            Self::InLine { pitch, .. } | Self::Rocker { pitch, .. } => pitch,
            Self::Flat { base } => base,
        }
    }

    /// The cam under it at an angle.
    pub fn place(self, angle: f64, motion: Motion) -> Place {
        match self {
            Self::InLine { pitch, offset, .. } => {
                let up = (pitch * pitch - offset * offset).max(0.0).sqrt() + motion.lift;
                traced(
                    angle,
                    motion,
                    [offset, up],
                    [0.0, motion.velocity],
                    [0.0, motion.acceleration],
                    [0.0, 1.0],
                    0.0,
                )
            }
            Self::Rocker {
                hand,
                centres,
                arm,
                pitch,
                ..
            } => {
                let cosine =
                    (centres * centres + arm * arm - pitch * pitch) / (2.0 * centres * arm);
                let (sine, cosine) = (cosine.clamp(-1.0, 1.0).acos() + motion.lift).sin_cos();
                let by = [arm * sine, arm * cosine];
                let (v, a) = (motion.velocity, motion.acceleration);
                traced(
                    angle,
                    motion,
                    [centres - arm * cosine, hand * arm * sine],
                    [by[0] * v, hand * by[1] * v],
                    [
                        by[0] * a + by[1] * v * v,
                        hand * (by[1] * a - by[0] * v * v),
                    ],
                    [sine, hand * cosine],
                    -hand * v,
                )
            }
            Self::Flat { base } => {
                // The face is touched where the normal through the centre of speed meets it.
                let touched = [motion.velocity, base + motion.lift];
                let radius = base + motion.lift + motion.acceleration;
                Place {
                    angle,
                    motion,
                    centre: turned(touched, -angle),
                    normal: turned([0.0, 1.0], -angle),
                    pressure: 0.0,
                    radius,
                    along: radius.abs(),
                    swing: 0.0,
                }
            }
        }
    }
}

/// A point by an angle about the origin.
fn turned(p: [f64; 2], by: f64) -> [f64; 2] {
    let (sine, cosine) = by.sin_cos();
    [p[0] * cosine - p[1] * sine, p[0] * sine + p[1] * cosine]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// From the roller's centre in the frame, its derivatives by the angle of the cam, and the way the follower goes.
fn traced(
    angle: f64,
    motion: Motion,
    at: [f64; 2],
    first: [f64; 2],
    second: [f64; 2],
    way: [f64; 2],
    swing: f64,
) -> Place {
    // Seen from the cam all turns the other way.
    let tangent = [first[0] + at[1], first[1] - at[0]];
    let bend = [
        second[0] + 2.0 * first[1] - at[0],
        second[1] - 2.0 * first[0] - at[1],
    ];
    let along = tangent[0].hypot(tangent[1]);
    let normal = [-tangent[1] / along, tangent[0] / along];
    let pressure = cross(way, normal).atan2(way[0] * normal[0] + way[1] * normal[1]);
    Place {
        angle,
        motion,
        centre: turned(at, -angle),
        normal: turned(normal, -angle),
        pressure,
        // The path is run through clockwise: it bulges outwards where it bends to the right.
        radius: -along.powi(3) / cross(tangent, bend),
        along,
        swing,
    }
}

impl Place {
    /// Radius of curvature of a flank under a roller of this radius, mm; negative where it is hollow.
    pub fn flank_radius(&self, side: Side, roller: f64) -> f64 {
        match side {
            Side::Inner => self.radius - roller,
            Side::Outer => self.radius + roller,
        }
    }

    /// A point of the flank, mm.
    pub fn flank(&self, side: Side, roller: f64) -> [f64; 2] {
        let by = if side == Side::Inner { -roller } else { roller };
        [
            self.centre[0] + by * self.normal[0],
            self.centre[1] + by * self.normal[1],
        ]
    }

    /// Turns of the roller on its stud for a turn of the cam while it rolls on a flank, counter-clockwise. In the cam its centre goes
    /// `along` about the place it touches; the cam adds its own turn, and a rocker takes its swing off.
    pub fn roller_turns(&self, side: Side, roller: f64) -> f64 {
        let rolls = self.along / roller;
        let turned = match side {
            // The path is run through clockwise: so rolls what has the flank on its right.
            Side::Inner => 1.0 - rolls,
            Side::Outer => 1.0 + rolls,
        };
        turned - self.swing
    }
}

/// The worst of a whole turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Survey {
    /// Where the pressure angle is greatest.
    pub steepest: Place,
    /// Where the path bulges most sharply outwards; none when it is hollow or straight all round. Under a flat face the place of the least
    /// radius, below nothing where the cam is cut away.
    pub sharpest: Option<Place>,
    /// Where the path is most sharply hollow.
    pub hollowest: Option<Place>,
}

impl Survey {
    /// The inner flank of an open cam or a track is cut away: the roller does not fit over the sharpest bulge.
    pub fn undercut(&self, roller: f64) -> bool {
        self.sharpest.is_some_and(|p| p.radius < roller)
    }

    /// The outer flank of a track has a corner: the roller does not fit into the sharpest hollow.
    pub fn cornered(&self, roller: f64) -> bool {
        self.hollowest.is_some_and(|p| -p.radius < roller)
    }
}

/// Places looked at over a turn before the worst are refined.
const PLACES: u32 = 1440;
/// Places looked at in a piece too short to have as many of them.
const IN_A_PIECE: u32 = 48;
/// So far beside a seam it is looked at on either side, rad.
const BESIDE: f64 = 1e-9;

/// The worst places of a whole turn, refined between the places that are looked at.
///
/// # Errors
/// Sizes that cannot be.
pub fn survey(follower: Follower, program: &Program) -> Result<Survey, ElementError> {
    let follower = follower.checked()?;
    let at = |angle: f64| follower.place(angle, program.at(angle));
    let angles = looked_at(program);
    let worst = |score: &dyn Fn(&Place) -> f64| {
        let known = angles
            .iter()
            .enumerate()
            .map(|(i, a)| (i, at(*a)))
            .filter(|(_, p)| score(p).is_finite());
        let (i, start) = known.max_by(|a, b| score(&a.1).total_cmp(&score(&b.1)))?;
        let n = angles.len();
        // Between its neighbours; of the first and last over the end of the turn.
        let below = i.checked_sub(1).map_or(angles[n - 1] - TAU, |j| angles[j]);
        let above = angles.get(i + 1).map_or(angles[0] + TAU, |a| *a);
        Some(refined(&at, start, [below, above], score))
    };
    let steep = |p: &Place| p.pressure.abs();
    let steepest = worst(&steep).unwrap_or_else(|| at(0.0));
    if matches!(follower, Follower::Flat { .. }) {
        // A face rides on bulges only: a radius below nothing is a cut-away, not a hollow.
        return Ok(Survey {
            steepest,
            sharpest: worst(&|p: &Place| -p.radius),
            hollowest: None,
        });
    }
    let sharp = |p: &Place| 1.0 / p.radius;
    let hollow = |p: &Place| -1.0 / p.radius;
    Ok(Survey {
        steepest,
        sharpest: worst(&sharp).filter(|p| p.radius > 0.0 && p.radius.is_finite()),
        hollowest: worst(&hollow).filter(|p| p.radius < 0.0 && p.radius.is_finite()),
    })
}

/// Angles at which a cam is looked at: over the turn, over every piece however short, and just beside the seams, where the law changes.
pub fn looked_at(program: &Program) -> Vec<f64> {
    let step = TAU / f64::from(PLACES);
    let mut angles: Vec<f64> = (0..PLACES).map(|n| f64::from(n) * step).collect();
    let seams = program.seams();
    for (i, from) in seams.iter().enumerate() {
        let to = seams.get(i + 1).copied().unwrap_or(TAU);
        angles.extend([from - BESIDE, from + BESIDE]);
        if to - from < step * f64::from(IN_A_PIECE) {
            let at = |n| from + (to - from) * f64::from(n) / f64::from(IN_A_PIECE);
            angles.extend((1..IN_A_PIECE).map(at));
        }
    }
    angles.sort_by(f64::total_cmp);
    angles.dedup();
    angles
}

/// Golden section about a place, between these angles.
fn refined(
    at: &dyn Fn(f64) -> Place,
    start: Place,
    [mut low, mut high]: [f64; 2],
    score: &dyn Fn(&Place) -> f64,
) -> Place {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    let mut best = start;
    for _ in 0..60 {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        let (pa, pb) = (at(a), at(b));
        if score(&pa) >= score(&pb) {
            high = b;
        } else {
            low = a;
        }
        for p in [pa, pb] {
            if score(&p) > score(&best) {
                best = p;
            }
        }
    }
    best
}

/// Path of the centre of a cutter of this radius that cuts a flank, mm; equal to the roller's path when the cutter is as large as the
/// roller.
///
/// # Errors
/// Sizes that cannot be; a cutter larger than the hollow it has to cut, or than the track is wide.
pub fn offset_curve(
    follower: Follower,
    program: &Program,
    side: Side,
    cutter: f64,
    places: u32,
) -> Result<Vec<[f64; 2]>, ElementError> {
    let roller = follower.checked()?.roller();
    positive("radius of the cutter", "mm", cutter)?;
    let survey = survey(follower, program)?;
    // Inside a hollow flank the cutter has to be smaller than the hollow.
    let tightest = match side {
        Side::Inner => survey.hollowest.map(|p| roller - p.radius),
        Side::Outer => survey.sharpest.map(|p| p.radius + roller),
    };
    if let Some(tightest) = tightest {
        less_than(
            "cutter",
            "mm",
            cutter,
            "sharpest hollow of the flank",
            tightest,
        )?;
    }
    let by = match side {
        Side::Inner => cutter - roller,
        Side::Outer => roller - cutter,
    };
    Ok((0..places)
        .map(|n| {
            let angle = f64::from(n) * TAU / f64::from(places.max(1));
            let place = follower.place(angle, program.at(angle));
            place.flank(Side::Outer, by)
        })
        .collect())
}
