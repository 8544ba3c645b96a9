//! Geneva wheels as they are cut: slots, rim and locking arcs by their closed forms; the disc that locks the wheel between its turns.

use crate::contour::{Contour, P, Vertex, polar};
use crate::finding::{Finding, Grade};
use crate::part::{Form, Part, Plate, diameter};
use crate::resolve::joint_size;
use crate::words;
use elements::geneva::{Geneva, Shape};
use machine::Machine;
use machine::making::Of;
use machine::model::{Geneva as Written, PartId, PointId};

/// A wheel in its plate's own coordinates, mm and rad.
#[derive(Clone, Debug, PartialEq)]
pub struct Wheel {
    /// Its name in the file.
    pub name: String,
    /// Centre.
    pub centre: P,
    /// Sizes.
    pub shape: Shape,
    /// Direction of one slot; the others follow at equal angles.
    pub first: f64,
}

impl Wheel {
    /// Directions of the slots, rad, from 0 up.
    pub fn slots(&self) -> Vec<f64> {
        let pitch = 2.0 * self.shape.half();
        let first = self.first.rem_euclid(pitch);
        (0..self.shape.slots)
            .map(|n| first + f64::from(n) * pitch)
            .collect()
    }

    /// Directions of the locking arcs, rad.
    pub fn arcs(&self) -> Vec<f64> {
        let half = self.shape.half();
        self.slots().into_iter().map(|a| a + half).collect()
    }

    /// Rim, slots and locking arcs.
    pub fn outline(&self) -> Contour {
        let s = &self.shape;
        let half_slot = s.slot / 2.0;
        let on_rim = s.half() - s.arc_on_rim() - s.mouth();
        let rim = (on_rim / 4.0).tan();
        let arc = -(s.arc() / 2.0).tan();
        let mut vertices = Vec::new();
        for slot in self.slots() {
            let (sin, cos) = slot.sin_cos();
            // A place by its distance along the slot and to its left.
            let at = |along: f64, left: f64| {
                [
                    self.centre[0] + along * cos - left * sin,
                    self.centre[1] + along * sin + left * cos,
                ]
            };
            let mouth = s.radius * s.mouth().cos();
            let between = slot + s.half();
            let on = |angle: f64| polar(self.centre, s.radius, angle);
            let mut corner = |at: P, bulge: f64| vertices.push(Vertex { at, bulge });
            corner(at(mouth, -half_slot), 0.0);
            corner(at(s.bottom, -half_slot), -1.0);
            corner(at(s.bottom, half_slot), 0.0);
            corner(at(mouth, half_slot), rim);
            corner(on(between - s.arc_on_rim()), arc);
            corner(on(between + s.arc_on_rim()), rim);
        }
        Contour { vertices }
    }
}

/// Diameter of the pin: that of its joint, of its hole, else what is usual.
fn pin(machine: &Machine, written: &Written) -> Option<f64> {
    let hole = || {
        let mut holes = machine.work.holes.iter();
        let hole = holes.find(|h| h.part == written.driver && h.point == written.pin)?;
        Some(diameter(&hole.fitted))
    };
    joint_size(machine, written.pin)
        .or_else(hole)
        .or(machine.work.usual.diameter)
}

fn spot(machine: &Machine, point: PointId) -> Option<P> {
    machine.points.get(point).map(|p| [p.x, p.y])
}

/// Sizes of a wheel of the file; an error in words.
fn shape(machine: &Machine, written: &Written) -> Result<Shape, (String, String)> {
    let own = words::spoken(&written.name);
    let found = (|| {
        let [from, to] = written.centres.map(|p| spot(machine, p));
        let (from, to) = (from?, to?);
        Some((to[0] - from[0]).hypot(to[1] - from[1]))
    })();
    let size = found.zip(pin(machine, written));
    let Some((centres, pin)) = size else {
        let point = machine
            .points
            .get(written.pin)
            .map_or("", |p| p.name.as_str());
        return Err((
            format!(
                "nothing says how large the pin of the Geneva wheel {own} is: its slots have no width"
            ),
            format!("write [joint.{point}] with its `diameter`"),
        ));
    };
    let wheel = Geneva::of(written.slots).and_then(|w| w.shape(centres, pin));
    wheel.map_err(|e| {
        (
            format!("the pin of the Geneva wheel {own} leaves no metal between its slots: {e}"),
            "take a smaller pin, fewer slots or a larger distance of centres".to_owned(),
        )
    })
}

/// Makes a plate the wheel that it is in the file.
pub(crate) fn wheel(
    machine: &Machine,
    part: PartId,
    (place, turn): (&dyn Fn(P) -> P, f64),
    plate: &mut Plate,
    name: &str,
    findings: &mut Vec<Finding>,
) {
    let Some(written) = machine.genevas.iter().find(|g| g.wheel == part) else {
        return;
    };
    let s = match shape(machine, written) {
        Ok(shape) => shape,
        Err((text, advice)) => {
            findings.push(Finding::new(Grade::Cannot, name, text, advice));
            return;
        }
    };
    let [driver, own, at] = [written.centres[0], written.centres[1], written.pin]
        .map(|p| spot(machine, p).unwrap_or_default());
    // As drawn: the driver's turn from the line of centres says how far the wheel stands from a slot on that line, the other way round.
    let to_wheel = (own[1] - driver[1]).atan2(own[0] - driver[0]);
    let driven = (at[1] - driver[1]).atan2(at[0] - driver[0]) - to_wheel;
    let lift = Geneva::of(written.slots).map_or(0.0, |g| g.at(driven).lift);
    let first = to_wheel + std::f64::consts::PI - lift - turn;
    let l = |x: f64| words::length(x, machine.unit);
    plate.said.push(format!(
        "Geneva wheel of {} slots for centres {} apart and a pin ⌀{}: rim ⌀{}, slots {} H9 wide to a round end {} from the centre, locking arcs R{} about places {} from the centre, half way between the slots.",
        s.slots,
        l(s.centres),
        l(s.slot),
        l(2.0 * s.radius),
        l(s.slot),
        l(s.bottom),
        l(s.lock),
        l(s.centres)
    ));
    let bore = plate
        .holes
        .iter()
        .map(|h| diameter(&h.fitted) / 2.0 + (h.at[0]).hypot(h.at[1]))
        .fold(0.0, f64::max);
    let bottom = s.bottom - s.slot / 2.0;
    if bore + 2.0 > bottom {
        findings.push(Finding::new(
            Grade::Cannot,
            name,
            format!(
                "the slots of the Geneva wheel reach in to {} from its centre, its holes out to {}",
                l(bottom),
                l(bore)
            ),
            "take a smaller bore, or a larger distance of centres",
        ));
    }
    plate.geneva = Some(Wheel {
        name: written.name.clone(),
        centre: place(own),
        shape: s,
        first,
    });
}

/// Discs on the drivers that lock the wheels between their turns, where the file has none.
pub(crate) fn locks(machine: &Machine, all: &mut Vec<Part>) {
    let mut discs = Vec::new();
    for written in &machine.genevas {
        let (Ok(s), Some(driver)) = (shape(machine, written), machine.parts.get(written.driver))
        else {
            continue;
        };
        let name = format!("{}-lock", driver.name);
        let pieces = &machine.work.making.pieces;
        let own_outline = pieces.iter().any(|p| {
            p.of == Of::Part(written.driver)
                && matches!(&p.shape, machine::making::Shape::Plate(s) if s.outline != machine::making::Outline::Arms)
        });
        if own_outline || pieces.iter().any(|p| p.name == name) {
            continue;
        }
        let wheel = machine.parts.get(written.wheel).map(|p| p.name.as_str());
        let Some(wheel) = all.iter().find(|p| Some(p.name.as_str()) == wheel) else {
            continue;
        };
        let bore = all
            .iter()
            .find(|p| p.name == driver.name)
            .and_then(|p| match &p.form {
                Form::Plate(p) => p.holes.iter().find(|h| h.at == [0.0, 0.0]).cloned(),
                Form::Turned(_) => None,
            });
        let (Form::Plate(of), open) = (&wheel.form, s.opening()) else {
            continue;
        };
        // The disc from one end of the hollow round to the other, and back along the hollow, whose centre is the wheel's.
        let hollow = 2.0
            * ((s.centres - s.disc * open.cos()) / s.hollow)
                .clamp(-1.0, 1.0)
                .acos();
        let round = std::f64::consts::TAU - 2.0 * open;
        let outline = Contour {
            vertices: vec![
                Vertex {
                    at: polar([0.0, 0.0], s.disc, open),
                    bulge: (round / 4.0).tan(),
                },
                Vertex {
                    at: polar([0.0, 0.0], s.disc, -open),
                    bulge: -(hollow / 4.0).tan(),
                },
            ],
        };
        let l = |x: f64| words::length(x, machine.unit);
        let mut plate = Plate {
            thickness: of.thickness,
            outline,
            datum_hole: bore.is_some(),
            ..Plate::default()
        };
        plate.said.push(format!(
            "Locks the wheel {} between its turns: ⌀{}, hollow R{} about {} from the axis, on the side of the pin.",
            words::spoken(&written.name),
            l(2.0 * s.disc),
            l(s.hollow),
            l(s.centres)
        ));
        plate.holes.extend(bore.map(|mut h| {
            h.through = of.thickness;
            h.blind = None;
            h
        }));
        let wide = ((2.0 * s.disc + 3.0) / 5.0).ceil() * 5.0;
        discs.push(Part {
            name,
            count: 1,
            note: format!(
                "sits on {}, level with the wheel; its hollow faces as the pin does",
                words::spoken(&driver.name)
            ),
            material: wheel.material.clone(),
            section: machine::work::Section::Flat([of.thickness, wide]),
            form: Form::Plate(plate),
            assumed: vec![format!(
                "The file does not write it: it follows from the wheel. How it is fixed to {} is for the file or the bench to say.",
                words::spoken(&driver.name)
            )],
            teeth: None,
            joined: Vec::new(),
        });
    }
    all.extend(discs);
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn area_of_a_wheel_by_sectors_and_segments() {
        for slots in [4, 5, 6, 8, 12] {
            let shape = Geneva::of(slots).unwrap().shape(80.0, 6.0).unwrap();
            let wheel = Wheel {
                name: "w".to_owned(),
                centre: [3.0, -2.0],
                shape,
                first: 0.3,
            };
            // A disc, less its slots, less the lens between rim and locking circle at each arc.
            let s = &shape;
            let segment = |r: f64, half: f64| r * r * (half - half.sin() * half.cos());
            let lens = segment(s.radius, s.arc_on_rim()) + segment(s.lock, s.arc());
            let mouth = s.radius * s.mouth().cos();
            let slot = s.slot * (mouth - s.bottom)
                + PI * s.slot * s.slot / 8.0
                + segment(s.radius, s.mouth());
            let n = f64::from(slots);
            let wanted = PI * s.radius * s.radius - n * (lens + slot);
            let area = wheel.outline().area();
            assert!(
                (area - wanted).abs() < 1e-6 * wanted,
                "{slots}: {area} {wanted}"
            );
        }
    }
}
