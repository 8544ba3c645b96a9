//! What parts and rods are made of: sections and masses.

use super::bars::Bars;
use super::rig::Rig;
use machine::making::{Of, Shape};
use machine::model::{FRAME, PartId, PartKind};
use machine::work::{Made, Material, Section, Stock};
use mechanics::model::{AnchorId, Constraint};
use std::f64::consts::PI;

/// Area, mm².
pub(crate) fn area(section: Section) -> f64 {
    match section {
        Section::Flat([thickness, width]) => thickness * width,
        Section::Round(d) => PI / 4.0 * d * d,
        Section::Tube([outside, inside]) => PI / 4.0 * (outside * outside - inside * inside),
        Section::Square(a) => a * a,
        Section::Hexagon(a) => 0.5 * 3_f64.sqrt() * a * a,
    }
}

/// Second moment of area for bending in the plane of the part, mm⁴.
pub(crate) fn second_moment(section: Section) -> f64 {
    match section {
        Section::Flat([thickness, width]) => thickness * width.powi(3) / 12.0,
        Section::Round(d) => PI / 64.0 * d.powi(4),
        Section::Tube([outside, inside]) => PI / 64.0 * (outside.powi(4) - inside.powi(4)),
        Section::Square(a) => a.powi(4) / 12.0,
        // The same about every axis: 5 √3 / 144 a⁴ (any handbook).
        Section::Hexagon(a) => 5.0 * 3_f64.sqrt() / 144.0 * a.powi(4),
    }
}

/// Torsion constant, mm⁴: polar for round sections; for a flat `b t³ (1/3 − 0.21 t/b (1 − t⁴/12 b⁴))`, Roark's Formulas for
/// Stress and Strain, torsion of a rectangle (from memory).
pub(crate) fn torsion_constant(section: Section) -> f64 {
    match section {
        Section::Flat(sides) => {
            let (t, b) = (sides[0].min(sides[1]), sides[0].max(sides[1]));
            b * t.powi(3) * (1.0 / 3.0 - 0.21 * t / b * (1.0 - (t / b).powi(4) / 12.0))
        }
        // 9/64 of the fourth power of the side by Roark's table; its solid hexagon has 0.1154 a⁴ across flats (from memory).
        Section::Square(a) => 9.0 / 64.0 * a.powi(4),
        Section::Hexagon(a) => 0.1154 * a.powi(4),
        round => 2.0 * second_moment(round),
    }
}

/// How much more shear gives than if it were spread evenly over the section: 6/5 for a flat, 10/9 for a round bar, 2 for a thin tube (any
/// handbook, form factors of shear).
pub(crate) fn shear_factor(section: Section) -> f64 {
    match section {
        Section::Flat(_) | Section::Square(_) => 6.0 / 5.0,
        Section::Round(_) | Section::Hexagon(_) => 10.0 / 9.0,
        Section::Tube(_) => 2.0,
    }
}

/// Radius at which a key or set screw bears on a round shaft, mm.
pub(crate) fn outside_radius(section: Section) -> Option<f64> {
    match section {
        Section::Round(d) | Section::Tube([d, _]) => Some(0.5 * d),
        Section::Flat(_) | Section::Square(_) | Section::Hexagon(_) => None,
    }
}

/// What a part is made of.
pub(crate) fn made<'r>(rig: &'r Rig<'_>, part: PartId) -> Option<&'r Made> {
    rig.work().parts.get(part)
}

/// Stock and its material.
pub(crate) fn stock<'r>(rig: &'r Rig<'_>, made: Option<&Made>) -> Option<(Stock, &'r Material)> {
    let stock = made?.stock.clone()?;
    let material = rig.work().materials.get(stock.material)?;
    (area(stock.section) > 0.0).then_some((stock, material))
}

/// Stations of both ends of a shaft: as it is made, else the least and the greatest of its own points, its arms and its bearings.
pub(crate) fn shaft_ends(rig: &Rig<'_>, part: PartId) -> Option<[f64; 2]> {
    let machine = &rig.model.machine;
    let piece = rig
        .work()
        .making
        .pieces
        .iter()
        .find(|p| p.of == Of::Part(part));
    if let Some(Shape::Turned(turned)) = piece.map(|p| &p.shape)
        && let Some(starts) = turned.starts
    {
        let long: f64 = turned.steps.iter().map(|s| s.length).sum();
        return (long > 0.0).then_some([starts, starts + long]);
    }
    let own = machine
        .parts
        .get(part)?
        .carries
        .iter()
        .filter_map(|&p| Some(machine.points.get(p)?.station));
    let arms = (0..machine.parts.len()).filter(|&p| machine.parts[p].clamped_to == Some(part));
    let hubs = arms.filter_map(|p| hub_station(rig, p));
    let bearings = made(rig, part)
        .and_then(|m| m.bearings)
        .into_iter()
        .flatten();
    let all: Vec<f64> = own.chain(hubs).chain(bearings).collect();
    let ends = [
        all.iter().copied().fold(f64::INFINITY, f64::min),
        all.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    ];
    (ends[0] < ends[1]).then_some(ends)
}

/// Station at which an arm is clamped on its shaft: that of its first own point.
pub(crate) fn hub_station(rig: &Rig<'_>, arm: PartId) -> Option<f64> {
    let machine = &rig.model.machine;
    let part = machine.parts.get(arm)?;
    let shaft = part
        .clamped_to
        .and_then(|s| machine.parts.get(s)?.carries.first())
        .copied();
    let point = part
        .carries
        .iter()
        .find(|&&p| Some(p) != shaft)
        .or(part.carries.first())?;
    Some(machine.points.get(*point)?.station)
}

/// A share of a mass that acts at a hole.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Lump {
    pub(crate) of: String,
    pub(crate) at: AnchorId,
    /// kg.
    pub(crate) mass: f64,
}

/// Masses at holes, equal in force and moment to those of parts and rods: a uniform bar weighs half at each end.
pub(crate) fn lumps(rig: &Rig<'_>) -> Vec<Lump> {
    let machine = &rig.model.machine;
    let mut lumps: Vec<Lump> = Vec::new();
    let mut add = |of: &str, at: AnchorId, mass: f64| {
        if mass > 0.0 {
            match lumps.iter_mut().find(|l| l.of == of && l.at == at) {
                Some(lump) => lump.mass += mass,
                None => lumps.push(Lump {
                    of: of.to_owned(),
                    at,
                    mass,
                }),
            }
        }
    };
    for (i, part) in machine.parts.iter().enumerate() {
        if i == FRAME {
            continue;
        }
        let given = made(rig, i).and_then(|m| m.mass);
        if part.kind == PartKind::Shaft {
            let length = shaft_ends(rig, i).map(|[a, b]| b - a);
            let own = stock(rig, made(rig, i))
                .zip(length)
                .map(|((s, m), l)| area(s.section) * l * m.density);
            if let (Some(mass), Some([_, middle])) = (given.or(own), rig.on_axis(i)) {
                add(&part.name, middle, mass);
            }
            continue;
        }
        if let (Some(mass), Some(Some(centre))) = (given, rig.centres.get(i)) {
            add(&part.name, *centre, mass);
            continue;
        }
        let bars = Bars::of(rig, i);
        let total = bars.length();
        let per_length = match (given, stock(rig, made(rig, i))) {
            (Some(mass), _) if total > 0.0 => mass / total,
            (Some(mass), _) => {
                if let Some(datum) = bars.datum() {
                    add(&part.name, datum, mass);
                }
                continue;
            }
            (None, Some((stock, material))) => area(stock.section) * material.density,
            (None, None) => continue,
        };
        for (length, ends) in bars.each() {
            for end in ends {
                add(&part.name, end, 0.5 * per_length * length);
            }
        }
    }
    for (i, joint) in rig.model.joints.iter().enumerate() {
        let crate::assemble::Joint::Rod(rod) = *joint else {
            continue;
        };
        let Some(&Constraint::Rod { a, b, length }) = rig.mechanism.constraints.get(i) else {
            continue;
        };
        let made = rig.work().rods.get(rod);
        let own = stock(rig, made)
            .map(|(s, m)| area(s.section) * m.density * rig.mechanism.params[length]);
        if let Some(mass) = made.and_then(|m| m.mass).or(own) {
            let of = format!("rod {}", machine.rods[rod].name);
            add(&of, a, 0.5 * mass);
            add(&of, b, 0.5 * mass);
        }
    }
    lumps
}
