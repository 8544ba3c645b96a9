//! Geneva wheels and their drivers as they are drawn.

use crate::answers::{Outline, OutlineOf};
use crate::assemble::Model;
use elements::geneva::Geneva;
use machine::work::JointAt;

/// A pin that no joint gives a diameter is drawn as thick as this share of its circle's radius.
const PIN: f64 = 0.2;

/// The slotted wheel with the pin, and the locking disc, of every Geneva pair, as drawn.
pub(super) fn outlines(model: &Model) -> Vec<Outline> {
    let machine = &model.machine;
    let mut all = Vec::new();
    for geneva in &machine.genevas {
        let at = |p: usize| machine.points.get(p).map(|p| [p.x, p.y]);
        let [Some(from), Some(to), Some(pin)] =
            [at(geneva.centres[0]), at(geneva.centres[1]), at(geneva.pin)]
        else {
            continue;
        };
        let Ok(wheel) = Geneva::of(geneva.slots) else {
            continue;
        };
        let centres = (to[0] - from[0]).hypot(to[1] - from[1]);
        let joints = &machine.work.joints;
        let own = joints.iter().find(|j| j.at == JointAt::Point(geneva.pin));
        let thick = own.and_then(|j| j.diameter);
        let Ok(reach) = wheel.reach(centres) else {
            continue;
        };
        let Ok(shape) = wheel.shape(centres, thick.unwrap_or(PIN * reach)) else {
            continue;
        };
        let line = (to[1] - from[1]).atan2(to[0] - from[0]);
        let points = (pin[1] - from[1]).atan2(pin[0] - from[0]);
        // The slot that the pin is in, or was in last, seen from the wheel; it turns the other way.
        let slot = line + std::f64::consts::PI - wheel.at(points - line).lift;
        let put = |corners: Vec<[f64; 2]>, [x, y]: [f64; 2], turn: f64| {
            let (s, c) = turn.sin_cos();
            let put = |p: &[f64; 2]| [x + c * p[0] - s * p[1], y + s * p[0] + c * p[1]];
            vec![corners.iter().map(put).collect()]
        };
        all.push(Outline {
            what: OutlineOf::Wheel,
            name: geneva.name.clone(),
            part: geneva.wheel,
            centre: geneva.centres[1],
            roller: geneva.pin,
            of: geneva.driver,
            radius: 0.5 * shape.slot,
            lines: put(shape.wheel_outline(), to, slot),
        });
        all.push(Outline {
            what: OutlineOf::Lock,
            name: geneva.name.clone(),
            part: geneva.driver,
            centre: geneva.centres[0],
            roller: geneva.pin,
            of: geneva.driver,
            radius: 0.0,
            lines: put(shape.lock_outline(), from, points),
        });
    }
    all
}
