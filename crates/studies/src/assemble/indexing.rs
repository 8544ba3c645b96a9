//! Geneva wheels as nonlinear ratios.

use super::Joint;
use super::build::Builder;
use elements::geneva::Geneva;
use mechanics::cam::{Cam, Lift, Ride};
use mechanics::model::Constraint;
use std::sync::Arc;

/// The wheel's turn over that of its driver, both counter-clockwise.
#[derive(Debug)]
struct Indexed {
    wheel: Geneva,
    /// Turn of the driver at which its pin stands on the line of centres, rad.
    middle: f64,
}

impl Lift for Indexed {
    fn at(&self, turn: f64) -> [f64; 4] {
        let m = self.wheel.at(turn - self.middle);
        // The wheel turns the other way.
        [-m.lift, -m.velocity, -m.acceleration, -m.jerk]
    }
}

impl Builder<'_> {
    pub(super) fn genevas(&mut self) {
        let machine = self.machine;
        for (i, g) in machine.genevas.iter().enumerate() {
            let Ok(wheel) = Geneva::of(g.slots) else {
                continue;
            };
            let [from, to] = g.centres.map(|p| self.drawn(p));
            let pin = self.drawn(g.pin);
            let ahead = (pin[1] - from[1]).atan2(pin[0] - from[0])
                - (to[1] - from[1]).atan2(to[0] - from[0]);
            let angle = |body: usize| self.mechanism.drawn[body].angle;
            let carrier = angle(g.carrier);
            let turned = angle(g.driver) - carrier;
            let lift = Indexed {
                wheel,
                middle: turned - ahead,
            };
            let left = angle(g.wheel) - carrier - lift.at(turned)[0];
            let offset = self.mechanism.param(left);
            self.mechanism.cams.push(Cam {
                ride: Ride::Wheel,
                sense: 1.0,
                roller: 0.0,
                lift: Arc::new(lift),
            });
            let cam = self.mechanism.cams.len() - 1;
            self.constrain(
                Joint::Geneva(i),
                Constraint::Course {
                    cam,
                    a: g.driver,
                    b: g.wheel,
                    carrier: g.carrier,
                    offset,
                },
            );
        }
    }
}
