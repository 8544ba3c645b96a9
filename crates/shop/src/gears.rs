//! Gears: a blank turned to the tip circle, and what has to be known to cut and to measure its teeth.

use crate::finding::{Finding, Grade};
use crate::part::{Bore, Form, Part, Step, Turned, diameter};
use crate::resolve::{bar_for, grade_named, joint_size, of_class};
use crate::words;
use elements::gears::{Spur, form_cutter};
use machine::Machine;
use machine::fitting::{Cut, Fitted, Teeth as Written};
use machine::model::{FRAME, PartId, RatioKind};
use machine::work::Section;
use quantity::Unit;

/// Pins that touch the flanks near the pitch circle, over the module: 1.728 (Machinery's Handbook, checking gears over wires; from memory).
const PIN: f64 = 1.728;

/// Teeth that are cut on a blank.
#[derive(Clone, Debug, PartialEq)]
pub struct Teeth {
    /// Their geometry.
    pub spur: Spur,
    /// The file says a diametral pitch.
    pub by_pitch: bool,
    /// How much thinner than standard along the pitch circle, for backlash.
    pub thin: f64,
    /// What they run with.
    pub mate: String,
}

impl Teeth {
    /// Depth of a tooth space.
    pub fn depth(&self) -> f64 {
        (self.spur.addendum + self.spur.dedendum) * self.spur.module
    }

    /// How many teeth a span takes, and what it measures.
    pub fn span(&self) -> Option<(u32, f64)> {
        let s = &self.spur;
        // As many teeth as bring the jaws onto the flanks near the pitch circle.
        let over = (f64::from(s.teeth) * s.pressure_angle / std::f64::consts::PI + 0.5).round();
        let over = over.max(2.0) as u32;
        let span = s.span(over).ok()?;
        Some((over, span - self.thin * s.pressure_angle.cos()))
    }

    /// Diameter of two pins, and what is measured over them.
    pub fn over_pins(&self) -> Option<(f64, f64)> {
        let pin = (PIN * self.spur.module * 10.0).round() / 10.0;
        // Thinner teeth are those of a smaller shift as far as their flanks go.
        let less = self.thin / (2.0 * self.spur.module * self.spur.pressure_angle.tan());
        let thinned = Spur {
            shift: self.spur.shift - less,
            ..self.spur
        };
        Some((pin, thinned.over_pins(pin).ok()?))
    }

    /// `module 1.5` or `diametral pitch 16`.
    pub fn size(&self) -> String {
        if self.by_pitch {
            format!(
                "diametral pitch {}",
                words::number(25.4 / self.spur.module, 3)
            )
        } else {
            format!("module {}", words::number(self.spur.module, 3))
        }
    }

    /// The cutter of the set of eight, in words.
    pub fn cutter(&self) -> Option<String> {
        let cutter = form_cutter(self.spur.teeth).ok()?;
        let range = match cutter.to {
            Some(to) => format!("{} to {to} teeth", cutter.from),
            None => format!("{} teeth to a rack", cutter.from),
        };
        Some(if self.by_pitch {
            format!("{range}, No. {}", cutter.number)
        } else {
            format!("{range}, No. {} of a module set", cutter.module_number)
        })
    }

    /// What stands on the drawing: what it is, and how much.
    pub fn table(&self, unit: Unit) -> Vec<[String; 2]> {
        let l = |x: f64| words::length(x, unit);
        let row = |what: &str, value: String| [what.to_owned(), value];
        let mut all = vec![
            row("teeth", self.spur.teeth.to_string()),
            row("size", self.size()),
            row(
                "pressure angle",
                format!(
                    "{}°",
                    words::number(self.spur.pressure_angle.to_degrees(), 3)
                ),
            ),
        ];
        if self.spur.shift != 0.0 {
            all.push(row(
                "profile shift",
                format!("{} modules", words::number(self.spur.shift, 4)),
            ));
        }
        if let Ok(g) = self.spur.geometry() {
            all.push(row("pitch circle", format!("⌀{}", l(g.pitch))));
            all.push(row("tip circle", format!("⌀{}", l(g.outside))));
            all.push(row("root circle", format!("⌀{}", l(g.root))));
        }
        all.push(row("depth of cut", l(self.depth())));
        if let Some((over, span)) = self.span() {
            all.push(row(&format!("span over {over} teeth"), l(span)));
        }
        if let Some((pin, over)) = self.over_pins() {
            let what = format!("over two pins ⌀{}", l(pin));
            all.push(row(&what, l(over)));
        }
        if self.thin > 0.0 {
            all.push(row(
                "thinner for backlash",
                format!("{} along the pitch circle, counted above", l(self.thin)),
            ));
        }
        if let Some(cutter) = self.cutter() {
            all.push(row("form cutter", cutter));
        }
        all.push(row("runs with", words::spoken(&self.mate)));
        all
    }
}

/// Whether the file gives teeth of a part, or it is a ring, of which is told apart.
pub(crate) fn has_teeth(machine: &Machine, part: PartId) -> bool {
    let mut ratios = machine.ratios.iter();
    ratios.any(|r| r.teeth.is_some() && r.joins.contains(&part))
        || machine
            .racks
            .iter()
            .any(|r| r.teeth.is_some() && r.gear == part)
}

/// A disc as large and as thick as its own gear, with a track in its face, is one piece with it: the teeth are cut on the disc.
pub(crate) fn on_discs(all: &mut Vec<Part>) {
    let mut one = Vec::new();
    for (n, part) in all.iter().enumerate() {
        let Form::Plate(plate) = &part.form else {
            continue;
        };
        let Some((_, radius)) = crate::ops::is_disc(plate) else {
            continue;
        };
        if plate.cams.iter().all(crate::cams::CamCut::is_outline) {
            continue;
        }
        let name = format!("{}-gear", part.name);
        let alike = |p: &Part| match &p.form {
            Form::Turned(t) => t.steps.first().is_some_and(|s| {
                (s.diameter - 2.0 * radius).abs() < 0.02
                    && (s.length() - plate.thickness).abs() < 0.02
            }),
            Form::Plate(_) => false,
        };
        let gear = all.iter().position(|p| p.name == name && alike(p));
        one.extend(gear.map(|g| (n, g)));
    }
    for &(disc, gear) in &one {
        let teeth = all[gear].teeth.clone();
        all[disc].teeth = teeth;
    }
    let gone: Vec<String> = one.iter().map(|&(_, g)| all[g].name.clone()).collect();
    all.retain(|p| !gone.contains(&p.name));
}

/// Blanks of all gears whose teeth the file gives, but for those that are bought or made by a piece of their own.
pub(crate) fn blanks(machine: &Machine, all: &mut Vec<Part>, findings: &mut Vec<Finding>) {
    let making = &machine.work.making;
    let mut blanks = Vec::new();
    let mut one = |part: PartId,
                   carrier: PartId,
                   teeth: u32,
                   shift: f64,
                   thin: f64,
                   written: &Written,
                   gear: &str,
                   mate: &str| {
        let Some(body) = machine.parts.get(part) else {
            return;
        };
        let first = format!("{}-gear", body.name);
        // A second wheel on the same part is called after its pair.
        let alike = |b: &Part| {
            b.name == first
                && b.teeth.as_ref().is_some_and(|t| {
                    t.spur.teeth == teeth && (t.spur.module - written.module).abs() < 1e-9
                })
        };
        if blanks.iter().any(alike) {
            return;
        }
        let name = if blanks.iter().any(|b: &Part| b.name == first) {
            format!("{}-{gear}-gear", body.name)
        } else {
            first
        };
        let elsewhere = making.pieces.iter().any(|p| p.name == name)
            || making
                .purchases
                .iter()
                .any(|p| p.name == name || p.name == gear);
        if elsewhere {
            return;
        }
        let teeth = Teeth {
            spur: Spur {
                pressure_angle: written.pressure_angle,
                shift,
                ..Spur::standard(written.module, teeth)
            },
            by_pitch: written.by_pitch,
            thin,
            mate: mate.to_owned(),
        };
        let Ok(g) = teeth.spur.geometry() else {
            return;
        };
        let stock = machine.work.parts.get(part).and_then(|p| p.stock.as_ref());
        let (thick, bar) = match stock.map(|s| s.section) {
            Some(Section::Flat([t, _])) => (Some(t), None),
            Some(Section::Round(d) | Section::Tube([d, _])) => (None, Some(d)),
            Some(Section::Square(_) | Section::Hexagon(_)) | None => (None, None),
        };
        let Some(face) = written.face.or(thick) else {
            findings.push(Finding::new(
                Grade::Cannot,
                &name,
                "nothing says how wide its teeth are",
                format!("write `face` at [gear.{gear}]"),
            ));
            return;
        };
        let centre = machine
            .parts
            .get(carrier)
            .and_then(|c| body.carries.iter().copied().find(|p| c.carries.contains(p)));
        let own = centre.and_then(|c| {
            let mut holes = machine.work.holes.iter();
            let hole = holes.find(|h| h.part == part && h.point == c)?;
            Some(hole.fitted.clone())
        });
        // What turns with a shaft is bored to the shaft, whatever else it carries.
        let seat = crate::joined::root(machine, part).and_then(|shaft| {
            let named = crate::seats::seat(machine, part).map(|s| s.diameter);
            named.or_else(|| {
                let c = machine.parts.get(shaft)?.carries.first()?;
                joint_size(machine, *c)
            })
        });
        let own = own.filter(|_| seat.is_none());
        let bore = seat
            .or_else(|| own.as_ref().map(diameter))
            .or_else(|| centre.and_then(|c| joint_size(machine, c)))
            .or(bar);
        let mut turned = Turned {
            steps: vec![Step {
                from: 0.0,
                to: face,
                diameter: g.outside,
                class: of_class(g.outside, "h10"),
                thread: None,
                relief: false,
                throw: None,
                chamfer: 0.5,
                sides: 0,
                as_bar: false,
            }],
            ..Turned::default()
        };
        let mut assumed = Vec::new();
        match bore.filter(|b| *b < g.root - teeth.spur.module) {
            Some(bore) => {
                if let Some(fitted) = own {
                    turned.bores.push(Bore {
                        left: true,
                        fitted,
                        blind: None,
                        throw: None,
                    });
                } else if let Some(size) = of_class(bore, "H7") {
                    turned.bores.push(Bore {
                        left: true,
                        fitted: Fitted::Plain { cut: Cut::Bore, size },
                        blind: None,
                        throw: None,
                    });
                }
                let held = machine.work.parts.get(part);
                if held.is_none_or(|m| m.held_by.is_none()) {
                    assumed.push(format!(
                        "Its bore is that of the shaft it sits on; how it is held on {} is for the file or the bench to say.",
                        words::spoken(&body.name)
                    ));
                }
            }
            None => assumed.push("Nothing in the file says what bore it has, or the bore leaves no metal under the teeth: bore it to its shaft.".to_owned()),
        }
        let material = stock
            .and_then(|s| machine.work.materials.get(s.material).cloned())
            .unwrap_or_else(|| grade_named("steel"));
        blanks.push(Part {
            name,
            count: 1,
            note: format!("blank and teeth; sits on {}", words::spoken(&body.name)),
            material,
            section: Section::Round(bar_for(g.outside + 1.0, crate::dials(machine))),
            form: Form::Turned(turned),
            assumed,
            teeth: Some(teeth),
            joined: Vec::new(),
        });
    };
    let named = |id: PartId| machine.parts.get(id).map_or("", |p| p.name.as_str());
    for ratio in &machine.ratios {
        let Some(written) = &ratio.teeth else {
            continue;
        };
        for n in 0..2 {
            // The larger one of an internal pair is the ring.
            if ratio.kind == RatioKind::InternalGear && ratio.sizes[n] > ratio.sizes[1 - n] {
                continue;
            }
            let [part, mate] = [ratio.joins[n], ratio.joins[1 - n]];
            let count = ratio.sizes[n].round() as u32;
            one(
                part,
                ratio.carrier,
                count,
                written.shift[n],
                0.5 * written.backlash,
                written,
                &ratio.name,
                named(mate),
            );
        }
    }
    for rack in &machine.racks {
        if let Some((count, written)) = &rack.teeth {
            one(
                rack.gear,
                FRAME,
                *count,
                written.shift[0],
                0.5 * written.backlash,
                written,
                &rack.name,
                "its rack",
            );
        }
    }
    all.extend(blanks);
}
