//! Where a hole is: thickness, metal around it, material, the pin that goes through.

use elements::press::{Elastic, STEEL};
use machine::Machine;
use machine::fitting::{Hole, Sized};
use machine::model::{FRAME, PartId, PartKind, PointId, RatioKind};
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

/// Stock that a hole goes through: of the plate of the frame that carries it, where that has its own.
pub(crate) fn stock_at<'m>(machine: &'m Machine, hole: &Hole) -> Option<&'m Stock> {
    let carries = |p: &&machine::making::Piece| {
        hole.part == FRAME
            && matches!(&p.of, machine::making::Of::Frame(points) if points.contains(&hole.point))
    };
    let mut pieces = machine.work.making.pieces.iter().filter(carries);
    pieces
        .find_map(|p| p.stock.as_ref())
        .or_else(|| stock(machine, hole.part))
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
    let stock = stock_at(machine, hole);
    let sides = stock.map(|s| sides(s.section));
    let around = hole.around.or(sides.map(|s| s[1]));
    Room {
        length: hole
            .length
            .or_else(|| face(machine, hole.part))
            .or(sides.map(|s| s[0])),
        around: match root(machine, hole.part)
            .filter(|root| centre(machine, hole.part, hole.point) && !beyond(machine, hole, *root))
        {
            Some(root) => Some(around.map_or(root, |a| a.min(root))),
            None => around,
        },
        round: hole.around.is_some(),
        material: material(machine, stock),
    }
}

/// The root circle of the teeth round a part, mm; none where the file gives it no teeth outside.
pub(crate) fn root(machine: &Machine, part: PartId) -> Option<f64> {
    let of = |teeth: f64, module: f64, shift: f64| module * (teeth + 2.0 * shift - 2.0 * DEDENDUM);
    let pairs = machine.ratios.iter().flat_map(|r| {
        let ring = r.kind == RatioKind::InternalGear;
        let greater = usize::from(r.sizes[1] > r.sizes[0]);
        (0..2).filter_map(move |i| {
            let teeth = r.teeth.as_ref()?;
            let outside = !(ring && i == greater);
            (r.joins[i] == part && outside).then(|| of(r.sizes[i], teeth.module, teeth.shift[i]))
        })
    });
    let racks = machine.racks.iter().filter_map(|r| {
        let (count, teeth) = r.teeth.as_ref()?;
        (r.gear == part).then(|| of(f64::from(*count), teeth.module, teeth.shift[0]))
    });
    pairs.chain(racks).reduce(f64::min)
}

/// A part that carries a point outside its teeth is an arm; its gear is made for itself and sits beside it.
fn beyond(machine: &Machine, hole: &Hole, root: f64) -> bool {
    let at = |p: PointId| machine.points.get(p).map(|p| [p.x, p.y]);
    let Some([x, y]) = at(hole.point) else {
        return false;
    };
    let carries = machine.parts.get(hole.part).map(|p| &p.carries);
    carries
        .into_iter()
        .flatten()
        .filter_map(|&p| at(p))
        .any(|[px, py]| (px - x).hypot(py - y) > root / 2.0 + 1e-6)
}

/// Width of the teeth of a wheel that is turned from round bar: it is as thick as that, whatever the bar is across.
pub(crate) fn face(machine: &Machine, part: PartId) -> Option<f64> {
    let turned = matches!(stock(machine, part)?.section, Section::Round(_));
    let pairs = machine.ratios.iter().filter(|r| r.joins.contains(&part));
    let pairs = pairs.filter_map(|r| r.teeth.as_ref()?.face);
    let racks = machine.racks.iter().filter(|r| r.gear == part);
    let racks = racks.filter_map(|r| r.teeth.as_ref()?.1.face);
    pairs.chain(racks).filter(|_| turned).reduce(f64::max)
}

/// Teeth reach so far in from their pitch circle, over the module (ISO 53).
const DEDENDUM: f64 = 1.25;

/// Whether the teeth of a part run round this point: it turns there on what carries it.
fn centre(machine: &Machine, part: PartId, point: PointId) -> bool {
    let carried = |by: PartId| {
        machine
            .parts
            .get(by)
            .is_some_and(|p| p.carries.contains(&point))
    };
    let pairs = machine.ratios.iter().filter(|r| r.joins.contains(&part));
    let racks = machine.racks.iter().any(|r| r.gear == part);
    pairs.into_iter().any(|r| carried(r.carrier)) || racks && carried(FRAME)
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

/// Diameter of the pin at a point: as given, that of what it goes through, or the usual one, which shafts do not have.
pub(crate) fn pin_diameter(machine: &Machine, point: PointId) -> Option<f64> {
    let own = joint(machine, point).and_then(|j| j.diameter);
    let shaft = || {
        let mut shafts = machine.parts.iter().filter(|p| p.kind == PartKind::Shaft);
        shafts.any(|p| p.carries.first() == Some(&point))
    };
    own.or_else(|| machine.work.usual.diameter.filter(|_| !shaft()))
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
