//! Give of a pin in the lugs that it joins, from stock and material.
//!
//! Huth (1984, "Influence of fastener flexibility on load transfer and fatigue life predictions", for bolts in metal, one shear plane):
//! `C = ((t1 + t2) / 2d)^(2/3) · 3 · (1/(t1 E1) + 1/(t2 E2) + 1/(2 t1 E) + 1/(2 t2 E))`, t the lugs, d and E the pin; seen in two public
//! reviews of the formulas. It holds bending and shear of the pin and what the holes give. It was measured on bolts that fill their holes; a
//! running fit gives more. In two shear planes (`fork`), each ear bears half:
//! `C = ((t1 + t2) / 2d)^(2/3) · 3/2 · (1/(t1 E1) + 1/(2 t2 E2) + 1/(2 t1 E) + 1/(4 t2 E))`, t1 the lug between, t2 one ear.

use super::rig::Rig;
use super::stock::{made, stock};
use machine::model::{FRAME, PartId, PartKind};
use machine::work::{JointAt, Made, Section};

/// Young's modulus of a steel pin, MPa (any handbook).
const STEEL: f64 = 206_000.0;

/// Thickness of a lug, mm, and its modulus, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Lug {
    thickness: f64,
    modulus: f64,
}

/// The lug of something made of stock: flat stock by its thickness, round stock by its diameter.
fn lug(rig: &Rig<'_>, made: Option<&Made>) -> Option<Lug> {
    let (stock, material) = stock(rig, made)?;
    let thickness = match stock.section {
        Section::Flat([t, _])
        | Section::Round(t)
        | Section::Tube([t, _])
        | Section::Square(t)
        | Section::Hexagon(t) => t,
    };
    (thickness > 0.0 && material.modulus > 0.0).then_some(Lug {
        thickness,
        modulus: material.modulus,
    })
}

/// The lug of a part at a joint, of a fork one of its ears: as thick as its hole there is long, else as its stock. None for the frame,
/// whose stock is not known, and for shafts, whose journals are no lugs.
pub(super) fn of_part(rig: &Rig<'_>, part: PartId, at: JointAt) -> Option<Lug> {
    let shaft = rig.model.machine.parts.get(part)?.kind == PartKind::Shaft;
    let own = (part != FRAME && !shaft)
        .then(|| lug(rig, made(rig, part)))
        .flatten()?;
    let mut holes = rig.work().holes.iter();
    let ear = holes
        .find(|h| h.part == part && JointAt::Point(h.point) == at)
        .and_then(|h| h.length)
        .filter(|t| *t > 0.0 && fork(rig, at) == Some(part));
    Some(Lug {
        thickness: ear.unwrap_or(own.thickness),
        ..own
    })
}

/// The part whose two ears take the pin.
fn fork(rig: &Rig<'_>, at: JointAt) -> Option<PartId> {
    rig.entry(at).and_then(|j| j.fork)
}

/// The lug of a rod.
pub(super) fn of_rod(rig: &Rig<'_>, rod: usize) -> Option<Lug> {
    lug(rig, rig.work().rods.get(rod))
}

/// A shaft turns there.
pub(super) fn is_journal(rig: &Rig<'_>, part: PartId) -> bool {
    let part = rig.model.machine.parts.get(part);
    part.is_some_and(|p| p.kind == PartKind::Shaft)
}

/// Give of the pin at a joint between two lugs and the parts that they belong to, mm/N: from the file's own stiffness, else by Huth. A lug that
/// is not known is taken to be like the other, two ears together as thick as what they hold. None when nothing is known.
pub(super) fn give(
    rig: &Rig<'_>,
    at: JointAt,
    lugs: [Option<Lug>; 2],
    parts: [Option<PartId>; 2],
) -> Option<f64> {
    if let Some(k) = rig.stiffness(at) {
        return Some(1.0 / k);
    }
    let diameter = 2.0 * rig.radius(at).filter(|r| *r > 0.0)?;
    let fork = fork(rig, at);
    if let Some(ears) = parts.iter().position(|p| fork.is_some() && *p == fork) {
        let times = |lug: Lug, by: f64| Lug {
            thickness: by * lug.thickness,
            ..lug
        };
        let [between, ear] = match (lugs[1 - ears], lugs[ears]) {
            (Some(lug), Some(ear)) => [lug, ear],
            (Some(lug), None) => [lug, times(lug, 0.5)],
            (None, Some(ear)) => [times(ear, 2.0), ear],
            (None, None) => return None,
        };
        return Some(huth(diameter, between, ear, 2.0));
    }
    let [one, other] = match lugs {
        [Some(a), Some(b)] => [a, b],
        [Some(a), None] | [None, Some(a)] => [a, a],
        [None, None] => return None,
    };
    Some(huth(diameter, one, other, 1.0))
}

/// Two lugs with this many shear planes between them; with two, `other` is one of two ears.
fn huth(diameter: f64, one: Lug, other: Lug, planes: f64) -> f64 {
    let slender = ((one.thickness + other.thickness) / (2.0 * diameter)).powf(2.0 / 3.0);
    let of = |lug: Lug| (1.0 / lug.modulus + 0.5 / STEEL) / lug.thickness;
    3.0 / planes * slender * (of(one) + of(other) / planes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 8 mm steel pin in lugs of 12 and 10 mm of the same steel: (22/16)^(2/3) = 1.23652; the bracket is
    /// 1.5 (1/12 + 1/10)/206 000 = 1.334951e-6; times 3.
    #[test]
    fn a_pin_in_two_lugs() {
        let steel = |thickness| Lug {
            thickness,
            modulus: STEEL,
        };
        let c = huth(8.0, steel(12.0), steel(10.0), 1.0);
        assert!((c - 4.952_09e-6).abs() < 1e-10, "{c}");
    }

    /// By hand: 10 mm steel pin, a lug of 12 mm between two ears of 5 mm, all steel: (17/20)^(2/3) = 0.89732; the bracket is
    /// 1.5 (1/12 + 1/10)/206 000 with the ears' share halved by two planes: (1/12 + 1/24 + 1/10 + 1/20)/206 000 = 1.334_951e-6; times 3/2.
    #[test]
    fn a_pin_in_a_fork() {
        let steel = |thickness| Lug {
            thickness,
            modulus: STEEL,
        };
        let c = huth(10.0, steel(12.0), steel(5.0), 2.0);
        assert!((c - 1.796_82e-6).abs() < 1e-10, "{c}");
    }
}
