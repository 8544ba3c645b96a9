//! Gears and belts.

use machine::model::{PartId, Ratio, RatioKind};
use studies::Standing;

use crate::geometry::{P, along, angle_of, at_angle, belt_runs, direction, distance};
use crate::scene::{Frame, Scene, place, turn};
use crate::sheet::{Group, Pen, Shape};
use crate::symbols;

/// A wheel on the paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wheel {
    pub(crate) part: PartId,
    pub(crate) centre: P,
    /// Pitch radius.
    pub(crate) pitch: f64,
    /// Radius of the outline: tips of the teeth, or the belt.
    pub(crate) outline: f64,
    pub(crate) teeth: Option<usize>,
}

impl Wheel {
    /// The wheel: its outline and, with teeth, its pitch circle. A spoke shows how it is turned where no link shows it.
    pub(crate) fn group(&self, scene: &Scene, teeth: bool) -> Group {
        let name = scene
            .machine
            .parts
            .get(self.part)
            .map_or("", |p| p.name.as_str());
        let mut g = Group::named("wheel", String::new(), name, format!("Wheel of {name}"));
        let circle = |radius: f64| Shape::Circle {
            centre: self.centre,
            radius,
        };
        g.draw(Pen::Wide, circle(self.outline));
        if teeth {
            g.draw(Pen::Chain, circle(self.pitch));
        }
        if self.outline < self.pitch {
            // The rim outside internal teeth.
            g.draw(
                Pen::Wide,
                circle(self.pitch + 2.5 * (self.pitch - self.outline).max(1.0)),
            );
        }
        if scene.body(self.part).len() < 2 && self.outline > symbols::PIN + 2.0 {
            let d = at_angle(turn(scene.standing, self.part) + std::f64::consts::FRAC_PI_2);
            let (from, to) = (
                along(self.centre, d, symbols::PIN),
                along(self.centre, d, self.outline),
            );
            g.draw(Pen::Wide, Shape::line(from, to));
        }
        g
    }
}

/// Both wheels of a pair in a pose, from the sizes and the centre distance.
///
/// Gears: pitch circles touch, so their radii follow from the tooth numbers and the centre distance; the tips stand one module
/// beyond (ISO 53; inside for internal teeth). Belts: sizes that fit between the centres are taken as diameters, others are
/// drawn in their ratio.
pub(crate) fn wheels(
    scene: &Scene,
    frame: Frame,
    standing: &Standing,
    ratio: &Ratio,
) -> Option<[Wheel; 2]> {
    let centre = |part: PartId| {
        let hub = scene
            .hub_on(part, ratio.carrier)
            .or_else(|| scene.hub(part))?;
        (scene.plane_of(hub) == Some(frame.plane)).then_some(())?;
        place(standing, hub).map(|p| frame.paper(p))
    };
    let [c1, c2] = [centre(ratio.joins[0])?, centre(ratio.joins[1])?];
    let a = distance(c1, c2);
    let [z1, z2] = ratio.sizes;
    let teeth = |z: f64| (z > 0.0 && z < 2000.0).then_some(z.round() as usize);
    let wheel = |i: usize, centre: P, pitch: f64, outline: f64, teeth: Option<usize>| Wheel {
        part: ratio.joins.get(i).copied().unwrap_or_default(),
        centre,
        pitch,
        outline,
        teeth,
    };
    let pair = match ratio.kind {
        RatioKind::Gear => {
            let m = 2.0 * a / (z1 + z2);
            [
                wheel(0, c1, m * z1 / 2.0, m * (z1 / 2.0 + 1.0), teeth(z1)),
                wheel(1, c2, m * z2 / 2.0, m * (z2 / 2.0 + 1.0), teeth(z2)),
            ]
        }
        RatioKind::InternalGear => {
            let m = 2.0 * a / (z2 - z1).abs();
            // The larger wheel is the one with the teeth inside.
            let tip = |z: f64, other: f64| {
                if z > other {
                    m * (z / 2.0 - 1.0)
                } else {
                    m * (z / 2.0 + 1.0)
                }
            };
            [
                wheel(0, c1, m * z1 / 2.0, tip(z1, z2), teeth(z1)),
                wheel(1, c2, m * z2 / 2.0, tip(z2, z1), teeth(z2)),
            ]
        }
        RatioKind::Belt | RatioKind::CrossedBelt => {
            let (d1, d2) = (z1 * frame.k, z2 * frame.k);
            let fit = if d1 + d2 < 1.6 * a {
                1.0
            } else {
                1.2 * a / (d1 + d2)
            };
            let [r1, r2] = [d1, d2].map(|d| d * fit / 2.0);
            // Rims are drawn as far out as they are told to go.
            let rims = ratio.pulleys.map(|p| p.outside.map(|d| d * frame.k / 2.0));
            let [o1, o2] = rims.unwrap_or([r1, r2]);
            [wheel(0, c1, r1, o1, None), wheel(1, c2, r2, o2, None)]
        }
    };
    pair.iter()
        .all(|w| w.pitch.is_finite() && w.pitch > 0.0 && w.outline > 0.0)
        .then_some(pair)
}

/// Draws a pair of gears or a belt, each wheel in a group of its own that bears the name of its part.
pub(crate) fn draw(scene: &Scene, ratio: &Ratio, pair: &[Wheel; 2], g: &mut Group) {
    let belt = matches!(ratio.kind, RatioKind::Belt | RatioKind::CrossedBelt);
    for w in pair {
        g.add(w.group(scene, !belt));
    }
    if belt {
        let [p, q] = pair;
        let crossed = ratio.kind == RatioKind::CrossedBelt;
        if let Some(runs) = belt_runs(p.centre, p.pitch + 0.8, q.centre, q.pitch + 0.8, crossed) {
            g.draw(Pen::Wide, Shape::Strokes(runs.to_vec()));
            for (w, end) in [(p, 0), (q, 1)] {
                wrap(g, w, &runs, end);
            }
        }
    }
}

/// The belt round one wheel, between its two runs, on the side away from the other wheel.
fn wrap(g: &mut Group, w: &Wheel, runs: &[[P; 2]; 2], end: usize) {
    let angle = |run: usize| {
        let p = runs
            .get(run)
            .and_then(|r| r.get(end))
            .copied()
            .unwrap_or(w.centre);
        angle_of(direction(w.centre, p))
    };
    let other = runs
        .first()
        .and_then(|r| r.get(1 - end))
        .copied()
        .unwrap_or(w.centre);
    let (from, to) = (angle(0), angle(1));
    let sweep = (to - from).rem_euclid(std::f64::consts::TAU);
    // Of the two ways round take the one whose middle looks away from the other wheel.
    let middle = at_angle(from + sweep / 2.0);
    let away = crate::geometry::dot(middle, direction(w.centre, other)) < 0.0;
    let sweep = if away {
        sweep
    } else {
        sweep - std::f64::consts::TAU
    };
    g.draw(Pen::Wide, Shape::arc(w.centre, w.pitch + 0.8, from, sweep));
}
