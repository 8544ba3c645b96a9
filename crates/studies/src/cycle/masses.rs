//! What the parts of a machine weigh and how they resist being turned faster.

use crate::load::rig::Rig;
use crate::load::stock::{area, made, shaft_ends, stock};
use machine::model::{FRAME, PartKind};
use machine::work::Section;
use mechanics::dynamics::Mass;
use mechanics::model::{BodyId, Constraint};
use schemars::JsonSchema;
use serde::Serialize;

/// The mass of one part or rod.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Weighed {
    /// "crank", "rod front".
    pub of: String,
    /// kg.
    pub mass: f64,
    /// It comes from the stock along the lines of its holes; else the file gives it.
    pub from_stock: bool,
}

/// All masses that move, and what of them is not known.
#[derive(Clone, Debug, Default)]
pub(crate) struct Masses {
    pub(crate) all: Vec<Mass>,
    pub(crate) weighed: Vec<Weighed>,
    /// A body that each of them moves with, in the same order.
    pub(crate) on: Vec<BodyId>,
    /// In the builder's words.
    pub(crate) unknown: Vec<String>,
}

/// Reads them off the machine.
pub(crate) fn masses(rig: &Rig<'_>) -> Masses {
    let mut masses = Masses::default();
    for part in 0..rig.model.machine.parts.len() {
        if part != FRAME {
            masses.part(rig, part);
        }
    }
    for motor in &rig.work().motors {
        let Some(rotor) = motor.inertia else { continue };
        masses.all.push(Mass::Body {
            body: motor.turns,
            mass: 0.0,
            at: [0.0; 2],
            inertia: rotor * motor.ratio * motor.ratio,
        });
        let bare = massless(&rig.model.machine.parts[motor.turns].name);
        masses.unknown.retain(|u| *u != bare);
    }
    for (i, joint) in rig.model.joints.iter().enumerate() {
        let (crate::assemble::Joint::Rod(rod), Some(&Constraint::Rod { a, b, length })) =
            (*joint, rig.mechanism.constraints.get(i))
        else {
            continue;
        };
        let made = rig.work().rods.get(rod);
        let given = made.and_then(|m| m.mass);
        let own = stock(rig, made)
            .map(|(s, m)| area(s.section) * m.density * rig.mechanism.params[length]);
        let name = format!("rod {}", rig.model.machine.rods[rod].name);
        match given.or(own) {
            Some(mass) => {
                masses.all.push(Mass::Bar { a, b, mass });
                let ends = [a, b].map(|e| rig.mechanism.anchors[e].body);
                masses.weigh(name, mass, given.is_none(), ends[0].max(ends[1]));
            }
            None => masses.unknown.push(massless(&name)),
        }
    }
    masses
}

fn massless(name: &str) -> String {
    format!("{name} is taken without mass")
}

impl Masses {
    fn part(&mut self, rig: &Rig<'_>, part: usize) {
        let machine = &rig.model.machine;
        let name = machine.parts[part].name.clone();
        let entry = made(rig, part);
        let given = entry.and_then(|m| m.mass);
        let inertia = entry.and_then(|m| m.inertia);
        let of_stock = stock(rig, entry);
        let body = |mass: f64, at: [f64; 2], inertia: f64| Mass::Body {
            body: part,
            mass,
            at,
            inertia,
        };
        if machine.parts[part].kind == PartKind::Shaft {
            let length = shaft_ends(rig, part).map(|[a, b]| b - a);
            let own = of_stock
                .as_ref()
                .zip(length)
                .map(|((s, m), l)| area(s.section) * l * m.density);
            let Some(mass) = given.or(own) else {
                self.unknown.push(massless(&name));
                return;
            };
            let square = of_stock
                .as_ref()
                .map_or(0.0, |(s, _)| about_axis(s.section));
            let at = rig.mass_at(part).unwrap_or_default();
            self.all
                .push(body(mass, at, inertia.unwrap_or(mass * square)));
            self.weigh(name, mass, given.is_none(), part);
            return;
        }
        let bars: Vec<_> = rig.bars(part);
        let total: f64 = bars.iter().map(|b| b.0).sum();
        let centre = || -> [f64; 2] {
            let mut sum = [0.0; 2];
            for (length, ends) in &bars {
                for end in ends {
                    let a = rig.mechanism.anchors[*end];
                    let (u, v) = (rig.mechanism.params[a.u], rig.mechanism.params[a.v]);
                    sum = [sum[0] + 0.5 * length * u, sum[1] + 0.5 * length * v];
                }
            }
            sum.map(|x| x / total.max(f64::MIN_POSITIVE))
        };
        let own = of_stock
            .as_ref()
            .map(|(s, m)| area(s.section) * m.density * total);
        let Some(mass) = given.or(own).filter(|m| *m > 0.0) else {
            self.unknown.push(massless(&name));
            return;
        };
        self.weigh(name.clone(), mass, given.is_none(), part);
        let at = rig.mass_at(part);
        if let Some(inertia) = inertia {
            let at = at.unwrap_or_else(centre);
            self.all.push(body(mass, at, inertia));
            return;
        }
        match (at, total > 0.0) {
            (Some(at), _) => self.all.push(body(mass, at, 0.0)),
            (None, false) => self.all.push(body(mass, [0.0; 2], 0.0)),
            (None, true) => {
                let square = of_stock.as_ref().map_or(0.0, |(s, _)| across(s.section));
                for (length, [a, b]) in bars {
                    let share = mass * length / total;
                    self.all.push(Mass::Bar { a, b, mass: share });
                    // What the width of the bar adds to a line.
                    self.all.push(body(0.0, [0.0; 2], share * square));
                }
                return;
            }
        }
        if !rig.slides(part) {
            self.unknown
                .push(format!("{name} is taken as a point: write its `inertia`"));
        }
    }

    fn weigh(&mut self, of: String, mass: f64, from_stock: bool, on: BodyId) {
        self.on.push(on);
        self.weighed.push(Weighed {
            of,
            mass,
            from_stock,
        });
    }
}

/// Square of the radius of gyration of a section about the axis of a shaft, mm² (any handbook).
fn about_axis(section: Section) -> f64 {
    match section {
        Section::Flat([a, b]) => (a * a + b * b) / 12.0,
        Section::Round(d) => d * d / 8.0,
        Section::Tube([d, i]) => (d * d + i * i) / 8.0,
        Section::Square(a) => a * a / 6.0,
        Section::Hexagon(a) => 5.0 / 36.0 * a * a,
    }
}

/// The same of a bar's section about the line square to the part's plane, which adds to that of the bar's length.
fn across(section: Section) -> f64 {
    match section {
        Section::Flat([_, width]) => width * width / 12.0,
        Section::Round(d) => d * d / 16.0,
        Section::Tube([d, i]) => (d * d + i * i) / 16.0,
        Section::Square(a) => a * a / 12.0,
        Section::Hexagon(a) => 5.0 / 72.0 * a * a,
    }
}
