//! Where a hole is: thickness, metal around it, material, the pin that goes through.

use elements::press::{Elastic, STEEL};
use machine::Machine;
use machine::fitting::{Hole, Sized};
use machine::model::{FRAME, PartId, PointId};
use machine::work::{Joint, JointAt, Material, Section, Stock};

/// What stands around a hole.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Room<'m> {
    /// Length of the hole, mm.
    pub(crate) length: Option<f64>,
    /// Largest circle about it that stays in the part, mm.
    pub(crate) around: Option<f64>,
    /// The part is a plate or bar and no ring there.
    pub(crate) round: bool,
    pub(crate) material: Option<&'m Material>,
}

/// Stock of a part or of the frame.
pub(crate) fn stock(machine: &Machine, part: PartId) -> Option<&Stock> {
    if part == FRAME {
        return machine.work.frame.as_ref();
    }
    machine.work.parts.get(part)?.stock.as_ref()
}

pub(crate) fn material<'m>(machine: &'m Machine, stock: Option<&Stock>) -> Option<&'m Material> {
    machine.work.materials.get(stock?.material)
}

/// Thickness of a section along a pin, and its width across.
pub(crate) fn sides(section: Section) -> [f64; 2] {
    match section {
        Section::Flat(sides) => sides,
        Section::Round(d) | Section::Tube([d, _]) | Section::Square(d) | Section::Hexagon(d) => {
            [d, d]
        }
    }
}

pub(crate) fn room<'m>(machine: &'m Machine, hole: &Hole) -> Room<'m> {
    let stock = stock(machine, hole.part);
    let sides = stock.map(|s| sides(s.section));
    Room {
        length: hole.length.or(sides.map(|s| s[0])),
        around: hole.around.or(sides.map(|s| s[1])),
        round: hole.around.is_some(),
        material: material(machine, stock),
    }
}

/// Elastic constants; steel where nothing is known.
pub(crate) fn elastic(material: Option<&Material>) -> Elastic {
    material.map_or(STEEL, |m| Elastic {
        youngs: m.modulus,
        poisson: m.poisson,
        expansion: m.expansion.unwrap_or(STEEL.expansion),
    })
}

/// What the file says of the joint at a point.
pub(crate) fn joint(machine: &Machine, point: PointId) -> Option<&Joint> {
    machine
        .work
        .joints
        .iter()
        .find(|j| j.at == JointAt::Point(point))
}

/// The pin at a point, when its tolerance is known.
pub(crate) fn pin(machine: &Machine, point: PointId) -> Option<&Sized> {
    joint(machine, point)?.pin.as_ref()
}

/// Diameter of the pin at a point: as given, or that of what it goes through.
pub(crate) fn pin_diameter(machine: &Machine, point: PointId) -> Option<f64> {
    joint(machine, point).and_then(|j| j.diameter)
}

/// The family of a material: of its row, or of the grade it is taken as; none where neither is in the table.
pub(crate) fn family(material: &Material) -> Option<elements::materials::Family> {
    let row = |name: &str| elements::materials::find(name).ok().map(|m| m.family);
    let plain = || {
        use elements::materials::Family;
        match material.name.as_str() {
            "steel" => Some(Family::Steel),
            "stainless steel" => Some(Family::Stainless),
            "aluminium" => Some(Family::Aluminium),
            "brass" => Some(Family::Brass),
            "bronze" => Some(Family::Bronze),
            "cast iron" => Some(Family::Iron),
            _ => None,
        }
    };
    row(&material.name)
        .or_else(|| material.taken_as.and_then(row))
        .or_else(plain)
}
