//! Bent plates: the flat that they are cut as, and where it is bent.

use super::looked::outside;
use crate::contour::{Contour, P};
use crate::finding::{Finding, Grade};
use crate::part::{Bend, Hole, Opening as _, Plate};
use crate::words;
use elements::bends;
use machine::making::{self, Outline};
use machine::work::Material;

/// Least flange that a former or a vise holds, over the thickness (common practice).
const GRIP: f64 = 3.0;
/// A hole nearer to where the bend begins than this share of the thickness is drawn out of round (common practice).
const CLEAR: f64 = 1.5;

/// Unfolds the flanges of a plate: outline and holes become those of the flat.
pub(super) fn unfold(
    plate: &mut Plate,
    shape: &making::Plate,
    material: &Material,
    name: &str,
    assumed: &mut Vec<String>,
    findings: &mut Vec<Finding>,
) {
    let Outline::Box { low, high, corner } = shape.outline else {
        return;
    };
    if shape.bends.is_empty() {
        return;
    }
    let t = plate.thickness;
    let spoken = words::spoken(name);
    // An alloy of the file's own is bent as what it is taken as.
    let known = elements::materials::find(material.taken_as.unwrap_or(material.name.as_str())).ok();
    let factor = known.and_then(bends::factor);
    let least = known.and_then(|m| bends::least_radius(m, t));
    if known.is_some() && factor.is_none() {
        findings.push(Finding::new(
            Grade::Cannot,
            name,
            format!("{} is not bent cold: it breaks", material.name),
            "take plate of rolled steel, soft aluminium or brass, or mill it from the solid",
        ));
    } else if least.is_none() {
        findings.push(Finding::new(
            Grade::WayRound,
            name,
            format!(
                "no table says how sharply {} of {} bends cold",
                words::number(t, 2),
                material.name
            ),
            "bend a strip of it first, or take thinner or softer plate",
        ));
    }
    let (k, source) = match (shape.k_factor, factor) {
        (Some(k), _) => (k, "the file's own".to_owned()),
        (None, Some((k, source))) => (k, format!("{}, {}", source.text, source.confidence.words())),
        (None, None) => (0.41, "common practice".to_owned()),
    };
    // How far out from the flat middle each flange's outside corner lies in the flat.
    let mut outward: Vec<f64> = Vec::new();
    let (mut lowest, mut highest) = (low, high);
    let mut other = 0.0;
    for b in &shape.bends {
        let radius = b.radius.unwrap_or_else(|| least.map_or(t, |l| l.0));
        let Ok(sizes) = bends::bend(b.angle, radius, t, k) else {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!("the bend {} of {spoken} has no flat length", b.name),
                "write an angle below 150 degrees and a radius above zero",
            ));
            return;
        };
        if let Ok(din) = bends::din_factor(radius, t) {
            other += b.angle * (din - k) * t;
        }
        if let Some((least, _)) = least.filter(|l| radius < l.0 - 1e-9) {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "the bend {} of {spoken} goes round R{}; {} of {} wants R{} or more",
                    b.name,
                    words::number(radius, 2),
                    words::number(t, 2),
                    material.name,
                    words::number(least, 2)
                ),
                "take that radius, anneal it, or bend it red hot; across the direction of rolling in any case",
            ));
        }
        let from = match b.beyond {
            None => 0.0,
            Some(before) => {
                let flange = shape.bends.get(before).map_or(0.0, |f| f.length);
                outward.get(before).copied().unwrap_or(0.0) + flange
            }
        };
        // Its outside corner lies where the length before it ends; beyond it everything comes nearer by the deduction.
        let corner_at = from;
        outward.push(from - sizes.deduction);
        let straight = b.length - sizes.setback;
        if straight < GRIP * t {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "the flange {} of {spoken} keeps {} of straight metal, the vise wants {}",
                    b.name,
                    words::number(straight.max(0.0), 2),
                    words::number(GRIP * t, 2)
                ),
                "bend it longer and saw it off, or bend it over a bar clamped on the flange",
            ));
        }
        let out = b.side.outward();
        let i = usize::from(b.side.lies());
        let edge = if out[i] > 0.0 { high[i] } else { low[i] };
        let across = [
            if i == 0 { low[1] } else { low[0] },
            if i == 0 { high[1] } else { high[0] },
        ];
        let place = |far: f64, along: f64| -> P {
            let mut p = [along, along];
            p[i] = edge + out[i] * far;
            p
        };
        let begins = corner_at - sizes.setback;
        let before = b.beyond.and_then(|n| plate.bends.get(n));
        let used =
            before.map(|f| outward.get(b.beyond.unwrap_or(0)).copied().unwrap_or(0.0) + f.setback);
        if used.is_some_and(|used| begins < used - 1e-9) {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the bend {} of {spoken} begins before the one under it ends",
                    b.name
                ),
                "make the flange between them longer, or the radii smaller",
            ));
        }
        let middle = begins + sizes.allowance / 2.0;
        let end = corner_at - sizes.deduction + b.length;
        let ends = place(end, across[0]);
        lowest[i] = lowest[i].min(ends[i]);
        highest[i] = highest[i].max(ends[i]);
        plate.bends.push(Bend {
            name: b.name.clone(),
            line: [place(middle, across[0]), place(middle, across[1])],
            zone: [begins, begins + sizes.allowance].map(|f| place(f, across[0])[i]),
            upright: i == 0,
            outward: out,
            angle: b.angle,
            radius,
            front: b.front,
            beyond: b.beyond,
            length: b.length,
            allowance: sizes.allowance,
            deduction: sizes.deduction,
            setback: sizes.setback,
        });
    }
    plate.outline = Contour::rectangle(lowest, highest, corner);
    plate.flat_middle = Some([low, high]);
    for h in &shape.holes {
        let Some(on) = h.on else { continue };
        let (Some(b), Some(&base)) = (shape.bends.get(on), outward.get(on)) else {
            continue;
        };
        let out = b.side.outward();
        let i = usize::from(b.side.lies());
        let edge = if out[i] > 0.0 { high[i] } else { low[i] };
        let many = h.at.len() > 1;
        for (n, &[far, along]) in h.at.iter().enumerate() {
            let mut at = [along, along];
            at[i] = edge + out[i] * (base + far);
            plate.holes.push(Hole {
                name: if many {
                    format!("{} {}", h.name, n + 1)
                } else {
                    h.name.clone()
                },
                at,
                fitted: h.fitted.clone(),
                blind: None,
                through: t,
                counterbore: h.counterbore,
                countersink: h.countersink,
                sink: crate::part::SINK,
                back: false,
                place: None,
            });
        }
    }
    near(plate, name, findings);
    outside(plate, name, findings);
    assumed.push(format!(
        "Cut flat and bent: k-factor {} ({source}); {}bend a strip first and correct the flat by what it gives.",
        words::number(k, 3),
        if other.abs() > 0.05 && known.is_some_and(|m| m.family == elements::materials::Family::Steel) {
            format!(
                "by {} the flat would be {} {}; ",
                bends::DIN_SOURCE.text.split(',').next().unwrap_or_default(),
                words::number(other.abs(), 2),
                if other > 0.0 { "longer" } else { "shorter" }
            )
        } else {
            String::new()
        }
    ));
    if shape.bends.iter().any(|b| b.radius.is_none())
        && let Some((radius, source)) = least
    {
        assumed.push(format!(
            "Bends without a radius of their own go round R{}, the least ({}, {}).",
            words::number(radius, 2),
            source.text,
            source.confidence.words()
        ));
    }
}

/// Holes that a bend draws out of round.
fn near(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for h in &plate.holes {
        for b in &plate.bends {
            let i = usize::from(!b.upright);
            let (low, high) = (b.zone[0].min(b.zone[1]), b.zone[0].max(b.zone[1]));
            let off = (low - h.at[i]).max(h.at[i] - high);
            let free = off - h.diameter() / 2.0;
            if free < CLEAR * plate.thickness - 1e-9 {
                findings.push(Finding::new(
                    Grade::WayRound,
                    name,
                    format!(
                        "the hole {} stands {} from the bend {}, {} is the least",
                        words::spoken(&h.name),
                        words::number(free.max(0.0), 2),
                        b.name,
                        words::number(CLEAR * plate.thickness, 2)
                    ),
                    "it is made after bending, or moved out",
                ));
            }
        }
    }
}

/// Whether a hole is made after the bends.
pub(crate) fn after(plate: &Plate, hole: &Hole) -> bool {
    plate.bends.iter().any(|b| {
        let i = usize::from(!b.upright);
        let (low, high) = (b.zone[0].min(b.zone[1]), b.zone[0].max(b.zone[1]));
        let off = (low - hole.at[i]).max(hole.at[i] - high);
        off - hole.diameter() / 2.0 < CLEAR * plate.thickness - 1e-9
    })
}
