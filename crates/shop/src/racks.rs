//! Racks: teeth along an edge of a bar, by their closed forms. mm and rad.

use crate::contour::{P, Side};
use crate::finding::{Finding, Grade};
use crate::part::Plate;
use crate::words;
use machine::Machine;
use machine::model::PartId;
use quantity::Unit;
use std::f64::consts::PI;

/// Pins that touch the flanks near the pitch line, over the module: 1.728 (Machinery's Handbook, checking gears over wires; from memory).
const PIN: f64 = 1.728;

/// Teeth of a rack.
#[derive(Clone, Debug, PartialEq)]
pub struct Rack {
    /// Its name in the file.
    pub name: String,
    /// Module.
    pub module: f64,
    /// The file says a diametral pitch.
    pub by_pitch: bool,
    /// Pressure angle.
    pub angle: f64,
    /// Both ends of the edge that the teeth stand on, in the plate's own coordinates.
    pub edge: [P; 2],
    /// How many spaces are cut.
    pub spaces: u32,
    /// Face width.
    pub face: f64,
    /// How much wider than standard a space is along the pitch line, for backlash.
    pub wide: f64,
    /// How far the rack goes for a turn of its pinion.
    pub a_turn: f64,
    /// Its pinion.
    pub mate: String,
}

impl Rack {
    /// From tooth to tooth.
    pub fn pitch(&self) -> f64 {
        PI * self.module
    }

    /// Depth of a space: a module and a quarter under the pitch line (ISO 53), a module over it, and what the backlash asks.
    pub fn depth(&self) -> f64 {
        2.25 * self.module + self.wide / (2.0 * self.angle.tan())
    }

    /// Length of the edge.
    pub fn length(&self) -> f64 {
        let [a, b] = self.edge;
        (b[0] - a[0]).hypot(b[1] - a[1])
    }

    /// Middle of the first space from the end of the edge.
    pub fn first(&self) -> f64 {
        (self.length() - f64::from(self.spaces.saturating_sub(1)) * self.pitch()) / 2.0
    }

    /// Width of the tool's point: that of a space at its bottom.
    pub fn point(&self) -> f64 {
        self.pitch() / 2.0 - 2.5 * self.module * self.angle.tan()
    }

    /// A pin, and how far it stands over the tips in a space.
    pub fn over_pin(&self) -> (f64, f64) {
        let pin = (PIN * self.module * 10.0).round() / 10.0;
        let space = self.pitch() / 2.0 + self.wide;
        // Its centre over the pitch line: where it touches both flanks.
        let centre = pin / (2.0 * self.angle.sin()) - space / (2.0 * self.angle.tan());
        (pin, centre + pin / 2.0 - self.module)
    }

    /// `module 1.5` or `diametral pitch 16`.
    pub fn size(&self) -> String {
        if self.by_pitch {
            format!("diametral pitch {}", words::number(25.4 / self.module, 3))
        } else {
            format!("module {}", words::number(self.module, 3))
        }
    }

    /// What the drawing says.
    pub fn note(&self, unit: Unit) -> String {
        let l = |x: f64| words::length(x, unit);
        let (pin, over) = self.over_pin();
        let [a, b] = self.edge.map(|p| format!("x {} y {}", l(p[0]), l(p[1])));
        format!(
            "Rack teeth, {}, {}°, along the edge from {a} to {b}, which is the line of their tips: pitch {}, {} spaces, the first {} from that end; {} deep, pitch line {} under the tips; a pin ⌀{} in a space stands {} over the tips. Runs with {}: {} of travel for each of its turns.",
            self.size(),
            words::number(self.angle.to_degrees(), 3),
            l(self.pitch()),
            self.spaces,
            l(self.first()),
            l(self.depth()),
            l(self.module),
            l(pin),
            l(over),
            words::spoken(&self.mate),
            l(self.a_turn)
        )
    }
}

/// How far the toothed edge may lie from the line of tips, mm.
const OFF: f64 = 0.05;

/// Puts the teeth of a rack on the bar that has them.
pub(crate) fn teeth(
    machine: &Machine,
    part: PartId,
    (place, turn): (&dyn Fn(P) -> P, f64),
    plate: &mut Plate,
    name: &str,
    findings: &mut Vec<Finding>,
) {
    let found = machine.racks.iter().find_map(|r| {
        let slide = machine.slides.get(r.slide).filter(|s| s.part == part)?;
        Some((r, slide, r.teeth.as_ref()?))
    });
    let Some((rack, slide, (count, written))) = found else {
        return;
    };
    let on = machine.parts.get(slide.on).map_or(&[][..], |p| &p.carries);
    let Some(pinion) = machine.parts.get(rack.gear) else {
        return;
    };
    let centre = pinion.carries.iter().find(|p| on.contains(p));
    let Some(centre) = centre.and_then(|&p| machine.points.get(p)) else {
        return;
    };
    let centre = place([centre.x, centre.y]);
    let m = written.module;
    // Along the slide, and towards the pinion; forward and counter-clockwise go together when the rack lies to the left of the way.
    let along = slide.along - turn;
    let u = [along.cos(), along.sin()];
    let side = if rack.radius >= 0.0 { 1.0 } else { -1.0 };
    // A pinion turning counter-clockwise moves what lies in the direction n from its centre along n turned by a quarter.
    let n = [side * u[1], -side * u[0]];
    let high = |p: P| (p[0] - centre[0]) * n[0] + (p[1] - centre[1]) * n[1];
    let far = |p: P| p[0] * u[0] + p[1] * u[1];
    let shifted = rack.radius.abs() + written.shift[0] * m;
    let tips = shifted - m;
    // The edge that faces the pinion: the straight side along the way that lies nearest to it.
    let mut edges: Vec<[P; 2]> = plate
        .outline
        .sides()
        .into_iter()
        .filter_map(|s| match s {
            Side::Line { from, to } if (high(from) - high(to)).abs() < 1e-6 && s.length() > m => {
                Some(if far(from) <= far(to) {
                    [from, to]
                } else {
                    [to, from]
                })
            }
            _ => None,
        })
        .collect();
    edges.sort_by(|a, b| high(a[0]).total_cmp(&high(b[0])));
    let l = |x: f64| words::length(x, machine.unit);
    let Some(&edge) = edges.first() else {
        findings.push(Finding::new(
            Grade::Cannot,
            name,
            format!(
                "no straight edge of {} faces its pinion {}: its teeth have nowhere to stand",
                words::spoken(name),
                words::spoken(&pinion.name)
            ),
            format!(
                "write its `outline`, with an edge along its way {} from the pinion's centre",
                l(tips)
            ),
        ));
        return;
    };
    let off = high(edge[0]) - tips;
    if off.abs() > OFF {
        findings.push(Finding::new(
            Grade::Cannot,
            name,
            format!(
                "the toothed edge of {} lies {} from the centre of {}, the tips of its teeth belong {} from it",
                words::spoken(name),
                l(high(edge[0])),
                words::spoken(&pinion.name),
                l(tips)
            ),
            format!("set that edge of its `outline` {} {}", l(off.abs()), if off > 0.0 { "nearer to the pinion" } else { "further from the pinion" }),
        ));
    }
    let face = written.face.unwrap_or(plate.thickness).min(plate.thickness);
    let mut teeth = Rack {
        name: rack.name.clone(),
        module: m,
        by_pitch: written.by_pitch,
        angle: written.pressure_angle,
        edge,
        spaces: 0,
        face,
        wide: 0.5 * written.backlash,
        a_turn: PI * m * f64::from(*count),
        mate: pinion.name.clone(),
    };
    teeth.spaces = (teeth.length() / teeth.pitch() - 0.5).floor().max(1.0) as u32;
    let across = plate.outline.vertices.iter();
    let depth = across
        .map(|v| high(v.at) - high(edge[0]))
        .fold(0.0, f64::max);
    if depth < teeth.depth() + 2.0 * m {
        findings.push(Finding::new(
            Grade::Cannot,
            name,
            format!(
                "the bar is {} wide, and {} of it are teeth",
                l(depth),
                l(teeth.depth())
            ),
            format!("leave {} under them: a wider bar", l(2.0 * m)),
        ));
    }
    plate.said.push(teeth.note(machine.unit));
    plate.rack = Some(teeth);
}

/// Ring gears: their teeth are cut by no disc cutter.
pub(crate) fn rings(machine: &Machine, findings: &mut Vec<Finding>) {
    use machine::model::RatioKind;
    for ratio in machine
        .ratios
        .iter()
        .filter(|r| r.kind == RatioKind::InternalGear)
    {
        let Some(written) = &ratio.teeth else {
            continue;
        };
        let ring = usize::from(ratio.sizes[1] > ratio.sizes[0]);
        let Some(part) = machine.parts.get(ratio.joins[ring]) else {
            continue;
        };
        let bought = |n: &str| machine.work.making.purchases.iter().any(|p| p.name == n);
        if bought(&part.name) || bought(&ratio.name) || bought(&format!("{}-gear", part.name)) {
            continue;
        }
        let teeth = ratio.sizes[ring].round();
        let m = written.module;
        let l = |x: f64| words::length(x, machine.unit);
        let shift = 2.0 * m * written.shift[ring];
        findings.push(Finding::new(
            Grade::Cannot,
            &part.name,
            format!(
                "the ring gear {} has {} teeth of module {} inside, tips ⌀{}, roots ⌀{}: no form cutter goes in there",
                words::spoken(&ratio.name),
                words::number(teeth, 0),
                words::number(m, 3),
                l(m * (teeth - 2.0) + shift),
                l(m * (teeth + 2.5) + shift)
            ),
            format!(
                "order it, and write [purchase.{}]; or bore it to its tips and slot it on the lathe: tool ground to the space of its mate's drawing, the spindle held at each of {} places ({}°) by a dividing wheel, the saddle pushed to and fro",
                part.name,
                words::number(teeth, 0),
                words::number(360.0 / teeth, 4)
            ),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_in_a_space_by_the_triangle_of_its_flanks() {
        // Module 2, 20°: pitch 6.283, depth 4.5 (ISO 53). A pin of 1.728 m = 3.456, taken 3.5: its centre lies 3.5 / (2 sin 20°) = 5.1167 over the
        // point where the flanks meet, which lies (π m / 4) / tan 20° = 4.3157 under the pitch line.
        let rack = Rack {
            name: "r".to_owned(),
            module: 2.0,
            by_pitch: false,
            angle: 20_f64.to_radians(),
            edge: [[0.0, 0.0], [100.0, 0.0]],
            spaces: 15,
            face: 10.0,
            wide: 0.0,
            a_turn: 100.0,
            mate: "p".to_owned(),
        };
        assert!(
            (rack.pitch() - std::f64::consts::TAU).abs() < 1e-12
                && (rack.depth() - 4.5).abs() < 1e-12
        );
        let (pin, over) = rack.over_pin();
        assert!((pin - 3.5).abs() < 1e-12, "{pin}");
        assert!(
            (over - (5.116_66 - 4.315_73 + 1.75 - 2.0)).abs() < 1e-4,
            "{over}"
        );
        // Tip of the tool: π m / 2 less 2.5 m tan 20°.
        assert!((rack.point() - 1.321_74).abs() < 1e-5, "{}", rack.point());
        // As much is left at both ends.
        assert!((2.0 * rack.first() + 14.0 * rack.pitch() - 100.0).abs() < 1e-9);
    }
}
