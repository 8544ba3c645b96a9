//! From what the machine file says to parts as they are made: points become holes, stock becomes outlines.

pub(crate) mod bends;
mod cam;
pub(crate) mod depths;
pub(crate) mod detents;
mod follow;
mod joints;
mod looked;
mod outline;
mod plate;

pub(crate) use follow::{bar_for, in_place, pin_drill, turned_here};
pub use follow::{bushing_name, plate_of_ring};
pub(crate) use joints::{joint_size, of_class, pins};
pub use looked::behind;
pub use plate::points_of;

use crate::cams::CamShape;
use crate::finding::{Finding, Grade};
use crate::part::{Bore, Cross, Form, Part, Step, Turned};
use crate::rods;
use crate::words;
use follow::{bushings, rings};
use machine::Machine;
use machine::fitting::Fitted;
use machine::making::{self, Flats, Of, Piece, Shape};
use machine::model::PartKind;
use machine::work::{Material, Section, Stock};
use plate::plate;
use quantity::Unit;

/// Everything that is made, in the order of the file: pieces, parts with stock alone, rods, bushings, hub rings.
pub fn parts(machine: &Machine, cams: &[CamShape]) -> (Vec<Part>, Vec<Finding>) {
    let mut all = Vec::new();
    let mut findings = Vec::new();
    for piece in &machine.work.making.pieces {
        if let Some(part) = of_piece(machine, cams, piece, &mut findings) {
            all.push(part);
        }
    }
    let pieces = &machine.work.making.pieces;
    for (id, part) in machine.parts.iter().enumerate().skip(1) {
        if pieces.iter().any(|p| p.of == Of::Part(id)) {
            continue;
        }
        let Some(stock) = machine.work.parts.get(id).and_then(|m| m.stock.as_ref()) else {
            continue;
        };
        let flat = plate_of(stock.section);
        match (part.kind, flat) {
            (PartKind::Part, Some(size)) => {
                let shape = making::Plate::default();
                let form = plate(
                    machine,
                    cams,
                    &Of::Part(id),
                    &shape,
                    size,
                    &part.name,
                    &mut findings,
                );
                all.push(made(machine, &part.name, 1, "", stock, Form::Plate(form)));
            }
            // It is made as its gear.
            _ if crate::gears::has_teeth(machine, id) => {}
            _ => findings.push(Finding::new(
                Grade::Cannot,
                &part.name,
                format!("{} has stock but no shape", words::spoken(&part.name)),
                format!("write [piece.{}] with its steps", part.name),
            )),
        }
    }
    for (index, rod) in machine.rods.iter().enumerate() {
        if pieces.iter().any(|p| p.of == Of::Rod(index)) {
            continue;
        }
        let Some(made_of) = machine.work.rods.get(index) else {
            continue;
        };
        let Some(stock) = &made_of.stock else {
            continue;
        };
        let flat = match rods::flat(machine, rod, made_of) {
            Ok(Some(plate)) => {
                let form = Form::Plate(plate);
                all.push(made(machine, &rod.name, 1, "", stock, form));
                continue;
            }
            Ok(None) => Ok(()),
            Err(why) => Err(why),
        };
        match flat.and_then(|()| rods::bar(machine, rod, made_of)) {
            Ok(turned) => {
                let mut part = made(machine, &rod.name, 1, "", stock, Form::Turned(turned));
                part.assumed.push(rods::TAKEN.to_owned());
                all.push(part);
            }
            Err(why) => findings.push(Finding::new(
                Grade::Cannot,
                &rod.name,
                format!(
                    "the bar of rod {} has no length: {}",
                    words::spoken(&rod.name),
                    why.why
                ),
                why.advice,
            )),
        }
    }
    rings(&mut all, machine.work.shop.as_ref(), crate::dials(machine));
    bushings(
        &mut all,
        machine.work.shop.as_ref(),
        machine.unit,
        crate::dials(machine),
    );
    crate::gears::blanks(machine, &mut all, &mut findings);
    crate::gears::on_discs(&mut all);
    // A wheel that is no more than its gear is made once, as the gear.
    let gears: Vec<String> = all
        .iter()
        .filter(|p| p.teeth.is_some())
        .filter_map(|p| p.name.strip_suffix("-gear").map(str::to_owned))
        .collect();
    all.retain(|p| {
        let Form::Plate(plate) = &p.form else {
            return true;
        };
        let own = pieces.iter().any(|q| q.name == p.name);
        // One that turns with a shaft is bored to it, whatever point of its rim the file names.
        let keyed = machine
            .parts
            .iter()
            .any(|q| q.name == p.name && q.clamped_to.is_some())
            && plate.cams.is_empty()
            && plate.slots.is_empty();
        own || !gears.contains(&p.name)
            || !keyed && crate::ops::is_disc(plate).is_none()
            || !keyed && plate.holes.len() > 1
            || !plate.slots.is_empty()
            || !plate.cams.is_empty()
    });
    crate::geneva::locks(machine, &mut all);
    crate::racks::rings(machine, &mut findings);
    crate::joined::add(machine, &mut all, &mut findings);
    (all, findings)
}

/// What has to come off a hardened plate: the skin of the bar on both sides, and what is ground, mm (common practice).
const GRIND: f64 = 0.5;

/// The thickness of plate or flat bar that a height comes out of, as it is sold where the machine's unit is used.
fn plate_for(height: f64, unit: Unit) -> f64 {
    if unit == Unit::Inch {
        let inches = height / 25.4;
        let found = elements::stock::smallest(&elements::stock::PLATE_INCH, inches, 0.0);
        return 25.4 * found.ok().flatten().unwrap_or((inches * 4.0).ceil() / 4.0);
    }
    let found = elements::stock::smallest(&elements::stock::PLATE_METRIC, height, 0.0);
    found.ok().flatten().unwrap_or((height / 5.0).ceil() * 5.0)
}

/// The width of plate that is sawn for something so wide: with an edge to clean up, in round figures.
fn sawn_width(narrow: f64, unit: Unit) -> f64 {
    let step = if unit == Unit::Inch { 25.4 / 4.0 } else { 5.0 };
    ((narrow + 2.0) / step).ceil() * step
}

/// Thickness and width of what a plate is cut from.
fn plate_of(section: Section) -> Option<[f64; 2]> {
    match section {
        Section::Flat(size) => Some(size),
        Section::Square(a) => Some([a, a]),
        _ => None,
    }
}

/// Whether a ring is silver-brazed to a material: steels, irons, brass and bronze; aluminium melts first, wood and plastics burn.
fn brazes(machine: &Machine, stock: &Stock) -> bool {
    let Some(m) = machine.work.materials.get(stock.material) else {
        return true;
    };
    // What is stiffer than aluminium alloys (69 to 73 GPa) is iron or copper.
    m.modulus > 80_000.0
}

fn made(
    machine: &Machine,
    name: &str,
    count: usize,
    note: &str,
    stock: &Stock,
    form: Form,
) -> Part {
    let material = machine.work.materials.get(stock.material).cloned();
    let mut assumed = Vec::new();
    if let Form::Plate(p) = &form {
        let mut taken: Vec<&str> = Vec::new();
        for h in &p.holes {
            if let Fitted::Plain { size, .. } = &h.fitted
                && size.assumed
                && !taken.contains(&size.class.as_str())
            {
                taken.push(&size.class);
            }
        }
        if !taken.is_empty() {
            assumed.push(format!(
                "Holes without a class of their own are taken as {}.",
                taken.join(", ")
            ));
        }
    }
    let mut form = form;
    if let Form::Plate(p) = &mut form {
        let name = machine
            .work
            .materials
            .get(stock.material)
            .map_or("", |m| m.name.as_str());
        let taller = |e: &crate::part::RoundEnd| e.hub.is_some_and(|h| h > p.thickness + 1e-6);
        let rings = p.ends.iter().any(|e| taller(e) && !e.solid);
        let solid = p.ends.iter().any(|e| taller(e) && e.solid);
        if rings && (solid || !brazes(machine, stock)) {
            assumed.push(if solid {
                "One hub is cut from the solid, so all are: what is milled down would take a brazed ring with it.".to_owned()
            } else {
                format!("A ring cannot be silver-brazed to {name}: its hubs are cut from the solid.")
            });
            for end in &mut p.ends {
                end.solid = true;
            }
        }
    }
    let mut section = stock.section;
    if let (Form::Plate(p), Section::Flat([t, w])) = (&form, section) {
        let [low, high] = p.outline.bounds();
        let narrow = (high[0] - low[0]).min(high[1] - low[1]);
        // A rim that is turned needs metal all round.
        let rim = crate::ops::is_disc(p).is_some();
        // So does what is cut from plate: both of its edges are sawn.
        let plate = !crate::ops::is_bar([t, w], machine.work.shop.as_ref());
        let own = sawn_width(narrow, crate::dials(machine));
        if plate && own < w - 1e-6 {
            // Nobody mills off what a saw takes off.
            section = Section::Flat([t, own]);
        }
        if narrow > w + 0.01 || (rim || plate) && narrow > w - 2.0 {
            let wide = sawn_width(narrow, crate::dials(machine));
            section = Section::Flat([t, wide]);
            let l = |x: f64| words::length(x, machine.unit);
            assumed.push(format!(
                "Its outline is {} across and {} {} wide stock: it is cut from {}.",
                l(narrow),
                if rim {
                    "its rim is turned, which takes more than"
                } else if narrow > w + 0.01 {
                    "does not come out of"
                } else {
                    "is cut from plate, whose edges are sawn, not from"
                },
                l(w),
                crate::cut::stock_of(
                    section,
                    material.as_ref().map_or("", |m| &m.name),
                    machine.work.shop.as_ref(),
                    machine.unit
                )
            ));
        }
    }
    if let (Form::Plate(p), Section::Flat([t, w])) = (&form, section)
        && let Some(tall) = crate::ops::solid::tallest(p).filter(|h| *h > t + 1e-6)
    {
        let thick = plate_for(tall, crate::dials(machine));
        section = Section::Flat([thick, w]);
        assumed.push(format!(
            "Its hubs are cut from the solid: it is milled from {} thick stock, not from {}.",
            words::length(thick, machine.unit),
            words::length(t, machine.unit)
        ));
    }
    let steel = machine.work.materials.get(stock.material);
    if let (Form::Plate(p), Section::Flat([t, w])) = (&form, section)
        && steel.is_some_and(|m| crate::ops::hardened(note, m))
        && t < p.thickness + GRIND
    {
        let thick = plate_for(p.thickness + GRIND, crate::dials(machine));
        section = Section::Flat([thick, w]);
        assumed.push(format!(
            "Its faces are ground after hardening: it is milled from {} thick stock, not from {}.",
            words::length(thick, machine.unit),
            words::length(t, machine.unit)
        ));
    }
    if let (Form::Turned(t), Section::Round(d)) = (&form, section) {
        // Drawn bar is never over its nominal size: a step that has to be is turned from the next one.
        let over = t
            .steps
            .iter()
            .filter(|s| s.throw.is_none() && s.diameter >= d - 1e-6)
            .find_map(|s| s.class.as_ref().filter(|c| c.limits.upper > 0.0));
        if let Some(class) = over {
            let wide = bar_for(d + 1.0, crate::dials(machine));
            section = Section::Round(wide);
            assumed.push(format!(
                "⌀{} {} is more than bar {} measures: it is turned from round {}.",
                words::number(d, 2),
                class.class,
                words::number(d, 2),
                words::number(wide, 2)
            ));
        }
    }
    Part {
        name: name.to_owned(),
        count,
        note: note.to_owned(),
        material: material.unwrap_or_else(|| grade_named("steel")),
        section,
        form,
        assumed,
        teeth: None,
        joined: Vec::new(),
    }
}

/// A bearing material by its name among the grades, for parts that no stock names.
pub(crate) fn grade_named(name: &str) -> Material {
    let row = elements::materials::find(name).ok();
    Material {
        name: name.to_owned(),
        modulus: row.map_or(207_000.0, |r| r.youngs),
        shear: row.map_or(79_300.0, elements::materials::Material::shear_modulus),
        density: row.map_or(7.85e-6, |r| r.density),
        source: row.map_or("common practice", |r| r.source.text),
        poisson: row.map_or(0.3, |r| r.poisson),
        expansion: row.map(|r| r.expansion),
        yields: row.and_then(|r| r.yields),
        tensile: row.map(|r| r.tensile),
        taken_as: None,
        strength_source: row.map(|r| r.source),
    }
}

fn of_piece(
    machine: &Machine,
    cams: &[CamShape],
    piece: &Piece,
    findings: &mut Vec<Finding>,
) -> Option<Part> {
    let from = match &piece.of {
        Of::Part(part) => machine.work.parts.get(*part)?.stock.as_ref(),
        Of::Rod(rod) => machine.work.rods.get(*rod)?.stock.as_ref(),
        Of::Frame(_) => machine.work.frame.as_ref(),
        Of::Loose => None,
    };
    let stock = piece.stock.as_ref().or(from)?;
    let mut assumed = Vec::new();
    let mut form = match (&piece.shape, plate_of(stock.section)) {
        (Shape::Plate(shape), Some(size)) => Form::Plate(plate(
            machine,
            cams,
            &piece.of,
            shape,
            size,
            &piece.name,
            findings,
        )),
        (Shape::Turned(shape), _) => {
            off_the_bar(machine, piece, shape, findings);
            Form::Turned(turned(shape, stock.section))
        }
        _ => return None,
    };
    if let (Form::Plate(p), Shape::Plate(shape)) = (&mut form, &piece.shape)
        && let Some(material) = machine.work.materials.get(stock.material)
    {
        bends::unfold(p, shape, material, &piece.name, &mut assumed, findings);
    }
    let mut part = made(machine, &piece.name, piece.count, &piece.note, stock, form);
    part.assumed.extend(assumed);
    Some(part)
}

/// A shaft that carries a hole beside its own bar.
fn off_the_bar(
    machine: &Machine,
    piece: &Piece,
    shape: &making::Turned,
    findings: &mut Vec<Finding>,
) {
    let Of::Part(part) = piece.of else { return };
    for hole in machine.work.holes.iter().filter(|h| h.part == part) {
        let turned_about = shape
            .steps
            .iter()
            .any(|s| s.offset.is_some_and(|o| o.point == Some(hole.point)));
        if !turned_about {
            let name = machine
                .points
                .get(hole.point)
                .map_or("", |p| p.name.as_str());
            findings.push(Finding::new(
                Grade::Cannot,
                &piece.name,
                format!(
                    "the hole at {} is not on the turned part",
                    words::spoken(name)
                ),
                "make what carries it a part of its own, `clamped-to` this shaft",
            ));
        }
    }
}

fn turned(shape: &making::Turned, section: Section) -> Turned {
    let mut at = 0.0;
    let mut flats = shape.flats.clone();
    let mut steps = Vec::new();
    for s in &shape.steps {
        let from = at;
        at += s.length;
        let as_bar = section
            .flats()
            .is_some_and(|(n, a)| n == s.sides && (a - s.across).abs() < 1e-6);
        if s.sides > 0 && !as_bar {
            flats.push(Flats {
                at: from,
                length: s.length,
                across: s.across,
                sides: s.sides,
            });
        }
        steps.push(Step {
            from,
            to: at,
            diameter: s.diameter.0,
            class: s.diameter.1.clone(),
            thread: s.thread.clone(),
            relief: s.relief,
            throw: s.offset.map(|o| [o.throw, o.angle]),
            // A die starts on a chamfer as deep as its thread.
            chamfer: s.chamfer.unwrap_or_else(|| {
                s.thread.as_ref().map_or(0.0, |t| {
                    let deep = (0.6134 * t.pitch * 10.0).ceil() / 10.0;
                    deep.min(s.length / 2.0).min(s.diameter.0 / 4.0)
                })
            }),
            sides: s.sides,
            as_bar,
        });
    }
    let bore = |b: &making::EndBore| Bore {
        left: b.from == making::Side::Left,
        fitted: b.fitted.clone(),
        // A thread that is told by its depth alone is not through.
        blind: b
            .length
            .or_else(|| depths::for_thread(&b.fitted))
            .or_else(|| depths::for_bearing(&b.fitted)),
        throw: b.offset.map(|o| [o.throw, o.angle]),
    };
    let cross = |c: &making::CrossHole| Cross {
        name: c.name.clone(),
        at: c.at,
        from: c.from,
        fitted: c.fitted.clone(),
        blind: c.length,
    };
    Turned {
        steps,
        bores: shape.bores.iter().map(bore).collect(),
        grooves: shape.grooves.clone(),
        cross: shape.cross.iter().map(cross).collect(),
        flats,
    }
}
