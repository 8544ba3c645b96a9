//! Geneva wheels: the slotted wheel, the pin and the disc that locks the wheel between.
//!
//! The file says centres, pin and number of slots, from which all else follows but how wide the pin is: it is drawn as wide as is usual.

use std::f64::consts::{PI, TAU};

use super::Builder;
use crate::geometry::P;
use crate::scene::{place, turn};
use crate::sheet::{Fill, Group, Pen, Shape};
use machine::model::{Geneva, PartId, PointId};

/// Radius of the pin by that of its circle (common practice: the slot leaves as much metal beside it).
const PIN: f64 = 0.15;
/// The locking disc stays clear of the wheel by this share of its radius.
const CLEAR: f64 = 1.02;
/// Chords of an arc.
const CHORDS: usize = 24;

impl Builder<'_> {
    /// Wheel and driver of every Geneva wheel of this view, turned to where their parts stand.
    pub(super) fn genevas(&mut self) -> Vec<Group> {
        let mut groups = Vec::new();
        for geneva in &self.scene.machine.genevas {
            let [driver, wheel] = geneva.centres;
            let parts = [geneva.driver, geneva.wheel];
            if parts
                .iter()
                .any(|p| self.scene.part_plane(*p) != Some(self.frame.plane))
            {
                continue;
            }
            let Some(shape) = self.drawn_geneva(geneva) else {
                continue;
            };
            let words = [
                (
                    "geneva-driver",
                    format!("Driver of Geneva wheel {}", geneva.name),
                ),
                ("geneva", format!("Geneva wheel {}", geneva.name)),
            ];
            for (k, (part, centre)) in [(parts[0], driver), (parts[1], wheel)]
                .into_iter()
                .enumerate()
            {
                let (class, title) = words[k].clone();
                let mut g = Group::named(class, self.id(class, &geneva.name), &geneva.name, title);
                for line in &shape[k] {
                    let points: Option<Vec<P>> = line
                        .iter()
                        .map(|p| self.carried_to(part, centre, *p))
                        .collect();
                    if let Some(points) = points {
                        g.put(Some(Pen::Wide), Fill::None, Shape::poly(&points, true));
                    }
                }
                if !g.is_bare() {
                    g.carried = Some(Self::with(part));
                    groups.push(g);
                }
            }
        }
        groups
    }

    fn drawn_geneva(&self, geneva: &Geneva) -> Option<[Vec<Vec<P>>; 2]> {
        let drawn = |p: PointId| self.scene.machine.points.get(p).map(|p| [p.x, p.y]);
        let [driver, wheel] = geneva.centres;
        outlines(
            drawn(driver)?,
            drawn(wheel)?,
            drawn(geneva.pin)?,
            geneva.slots,
        )
    }

    /// Where something drawn on a part about one of its points is on the paper.
    fn carried_to(&self, part: PartId, centre: PointId, [x, y]: P) -> Option<P> {
        let at = place(self.scene.standing, centre)?;
        let (s, c) = turn(self.scene.standing, part).sin_cos();
        Some(
            self.frame
                .paper([at[0] + c * x - s * y, at[1] + s * x + c * y]),
        )
    }
}

/// Outlines of driver and wheel with the pin there, each about its own centre.
fn outlines([dx, dy]: P, [wx, wy]: P, [px, py]: P, count: u32) -> Option<[Vec<Vec<P>>; 2]> {
    let slots = f64::from(count);
    let far = (wx - dx).hypot(wy - dy);
    let pin_at = (py - dy).atan2(px - dx);
    let radius = (px - dx).hypot(py - dy);
    if count < 3 || far.partial_cmp(&0.0) != Some(std::cmp::Ordering::Greater) || radius <= 0.0 {
        return None;
    }
    let towards_driver = (dy - wy).atan2(dx - wx);
    // With the pin in a slot this points at it; else two slots lie to either side of the line of centres.
    let ahead = (pin_at - towards_driver).rem_euclid(TAU) - PI;
    let engaged = ahead.abs() < 0.5 * PI - PI / slots;
    let slot = if engaged {
        (py - wy).atan2(px - wx)
    } else {
        towards_driver + PI / slots
    };
    let pin = PIN * radius;
    let rim = far * (PI / slots).cos();
    // The locking disc stays clear of slots that the pin has just left.
    let lock = radius - 1.8 * pin;
    let floor = far - radius;
    let across = ((rim * rim + far * far - lock * lock) / (2.0 * rim * far))
        .clamp(-1.0, 1.0)
        .acos();
    let mut wheel: Vec<P> = Vec::new();
    let polar = |angle: f64, r: f64| [r * angle.cos(), r * angle.sin()];
    for k in 0..count {
        let axis = slot + TAU * f64::from(k) / slots;
        let (s, c) = axis.sin_cos();
        let on = |along: f64, aside: f64| [along * c - aside * s, along * s + aside * c];
        // In along one side of the slot, round its floor, out along the other.
        let mouth = (rim * rim - pin * pin).max(0.0).sqrt();
        wheel.push(on(mouth, -pin));
        for i in 0..=CHORDS {
            let t = -0.5 * PI - PI * i as f64 / CHORDS as f64;
            wheel.push(on(floor + pin * t.cos(), pin * t.sin()));
        }
        wheel.push(on(mouth, pin));
        // Along the rim to the hollow that the disc locks, and through it.
        let middle = axis + PI / slots;
        let from = middle - across;
        if from > axis + (pin / rim).asin() {
            let centre = polar(middle, far);
            let ends = [from, middle + across].map(|a| polar(a, rim));
            let [a, b] = ends.map(|p| (p[1] - centre[1]).atan2(p[0] - centre[0]));
            let sweep = (b - a + PI).rem_euclid(TAU) - PI;
            wheel.extend((0..=CHORDS).map(|i| {
                let t = a + sweep * i as f64 / CHORDS as f64;
                [centre[0] + lock * t.cos(), centre[1] + lock * t.sin()]
            }));
        }
    }
    let round = |[x, y]: P, r: f64| -> Vec<P> {
        let places = (0..2 * CHORDS).map(|i| TAU * i as f64 / (2 * CHORDS) as f64);
        places.map(|t| [x + r * t.cos(), y + r * t.sin()]).collect()
    };
    // The disc gives way where the horns of the wheel swing through: while the pin is in a slot.
    let open = 0.5 * PI - PI / slots;
    let mut disc: Vec<P> = (0..=2 * CHORDS)
        .map(|i| pin_at + open + (TAU - 2.0 * open) * i as f64 / (2 * CHORDS) as f64)
        .map(|t| polar(t, lock))
        .collect();
    let (middle, clear) = (polar(pin_at, far), CLEAR * rim);
    let half = (lock * open.sin() / clear).clamp(-1.0, 1.0).asin();
    disc.extend((0..=CHORDS).map(|i| {
        let [x, y] = polar(
            pin_at + PI + half * (1.0 - 2.0 * i as f64 / CHORDS as f64),
            clear,
        );
        [middle[0] + x, middle[1] + y]
    }));
    let eye = round([px - dx, py - dy], pin);
    Some([vec![disc, eye], vec![wheel]])
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]
mod tests {
    use super::*;

    /// Six slots, 90 mm between centres: the pin's circle has 90 sin 30° = 45 mm.
    fn with_pin_at(degrees: f64) -> ([f64; 2], [Vec<Vec<P>>; 2]) {
        let (s, c) = degrees.to_radians().sin_cos();
        let pin = [45.0 * c, 45.0 * s];
        (pin, outlines([0.0, 0.0], [0.0, -90.0], pin, 6).unwrap())
    }

    fn nearest(line: &[P], to: P) -> f64 {
        let far = line.iter().map(|p| (p[0] - to[0]).hypot(p[1] - to[1]));
        far.fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn the_pin_runs_down_the_middle_of_its_slot() {
        // It is in a slot for 60 deg to either side of the line of centres, which points to -90 deg.
        for at in [-149.0, -120.0, -90.0, -75.0, -31.0] {
            let (pin, [_, wheel]) = with_pin_at(at);
            let eye = PIN * 45.0;
            // Both sides of the slot are the pin's radius away from the line through wheel and pin.
            let (x, y) = (pin[0], pin[1] + 90.0);
            let far = x.hypot(y);
            let aside = |p: &P| (p[0] * y - p[1] * x).abs() / far;
            let along = |p: &P| (p[0] * x + p[1] * y) / far;
            let mouth = wheel[0]
                .iter()
                .filter(|p| along(p) > 0.8 * 90.0 * (PI / 6.0).cos());
            let beside = mouth.filter(|p| (aside(p) - eye).abs() < 1e-9).count();
            assert_eq!(beside, 2, "{at}");
        }
    }

    #[test]
    fn the_disc_fills_the_hollow_while_the_wheel_is_locked() {
        for at in [90.0, 10.0, 160.0] {
            let (_, [driver, wheel]) = with_pin_at(at);
            // About the driver's centre, in the wheel's axes.
            let centre = [0.0, 90.0];
            let lock = driver[0][0][0].hypot(driver[0][0][1]);
            assert!((nearest(&wheel[0], centre) - lock).abs() < 1e-9, "{at}");
        }
    }
}
