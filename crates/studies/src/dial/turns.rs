//! Settings in steps a hand can do, and in words.

use crate::assemble::Model;
use crate::call::turn_of_rod;
use crate::say;
use machine::model::Adjusts;

/// The step of a setting that names none: half a turn, a degree, a hole, half a tenth of shim (common practice).
pub(crate) fn step(model: &Model, setting: usize) -> f64 {
    let s = &model.machine.settings[setting];
    if matches!(s.adjusts, Adjusts::Row(_)) {
        return 1.0;
    }
    let usual = match s.adjusts {
        Adjusts::Rod(rod) => turn_of_rod(&model.machine.rods[rod]).map_or(0.5, |pitch| pitch / 2.0),
        Adjusts::Shim { .. } => 0.05,
        Adjusts::Stop(_) if s.unit.kind() == quantity::Kind::Angle => 1_f64.to_radians(),
        Adjusts::Stop(_) => 0.5,
        Adjusts::Row(_) | Adjusts::Clock(_) => 1_f64.to_radians(),
    };
    s.step.filter(|step| *step > 0.0).unwrap_or(usual)
}

/// Leaves put on each other at most: more of them are springy (common practice).
const LEAVES: usize = 3;

/// Thicknesses of shim stock to make this setting of, when its file gives no step and the shop says what it has.
fn leaves(model: &Model, setting: usize) -> Option<&[f64]> {
    let s = &model.machine.settings[setting];
    if !matches!(s.adjusts, Adjusts::Shim { .. }) || s.step.is_some() {
        return None;
    }
    let shop = model.machine.work.shop.as_ref()?;
    (!shop.shims.is_empty()).then_some(&shop.shims)
}

/// All piles of at most [`LEAVES`] leaves: thickness and leaves, thinnest first, the pile with the fewest leaves of each thickness.
fn piles(leaves: &[f64]) -> Vec<(f64, Vec<f64>)> {
    let mut all = vec![(0.0, Vec::new())];
    let mut last = all.clone();
    for _ in 0..LEAVES {
        let mut next: Vec<(f64, Vec<f64>)> = Vec::new();
        for (thick, pile) in &last {
            // Thickest first, so that a pile is found once.
            for &leaf in leaves
                .iter()
                .filter(|l| pile.last().is_none_or(|p| *l <= p))
            {
                let mut pile = pile.clone();
                pile.push(leaf);
                next.push((thick + leaf, pile));
            }
        }
        all.extend(next.iter().cloned());
        last = next;
    }
    let nanometres = |thick: f64| (thick * 1e6).round() as i64;
    all.sort_by_key(|p| (nanometres(p.0), p.1.len()));
    all.dedup_by_key(|p| nanometres(p.0));
    all
}

/// The leaves that make this thickness.
fn pile(model: &Model, setting: usize, thick: f64) -> Option<Vec<f64>> {
    let found = piles(leaves(model, setting)?);
    let pile = found.into_iter().find(|p| (p.0 - thick).abs() < 1e-6)?;
    (!pile.1.is_empty()).then_some(pile.1)
}

/// What a hand does for it: steps, or leaves put in.
pub(crate) fn steps(model: &Model, setting: usize, from: f64, to: f64) -> f64 {
    if leaves(model, setting).is_some() {
        return pile(model, setting, to).map_or(1.0, |p| p.len() as f64);
    }
    ((to - from) / step(model, setting)).abs().round()
}

/// The values that can be set from here, so many steps to either side, within the range.
pub(crate) fn values(model: &Model, setting: usize, from: f64, step: f64, steps: i32) -> Vec<f64> {
    let s = &model.machine.settings[setting];
    let (low, high) = match (s.adjusts, s.range) {
        (Adjusts::Row(row), _) => (1.0, model.machine.rows[row].holes.len() as f64),
        (_, Some([a, b])) => (a.min(b), a.max(b)),
        // What is not there cannot be taken out.
        (Adjusts::Shim { .. }, None) => (0.0_f64.min(from), f64::INFINITY),
        _ => (f64::NEG_INFINITY, f64::INFINITY),
    };
    let slack = 1e-9 * step;
    if let Some(leaves) = leaves(model, setting) {
        let within = |v: &f64| *v >= low - slack && *v <= high + slack;
        let mut found: Vec<f64> = piles(leaves)
            .into_iter()
            .map(|p| p.0)
            .filter(within)
            .collect();
        found.retain(|v| (v - from).abs() > 1e-6);
        let here = found.partition_point(|v| *v < from);
        let (first, last) = (
            here.saturating_sub(steps as usize),
            (here + steps as usize).min(found.len()),
        );
        found.insert(here, from);
        return found[first..=last].to_vec();
    }
    (-steps..=steps)
        .map(|n| from + f64::from(n) * step)
        .filter(|v| *v >= low - slack && *v <= high + slack)
        .collect()
}

/// A change in words: "give rod front 1½ turns shorter".
pub(crate) fn words(model: &Model, setting: usize, from: f64, to: f64) -> String {
    let s = &model.machine.settings[setting];
    let q = model.setting(setting);
    let by = to - from;
    match s.adjusts {
        Adjusts::Rod(rod) => {
            let rod = &model.machine.rods[rod];
            let way = if by < 0.0 { "shorter" } else { "longer" };
            match turn_of_rod(rod) {
                Some(pitch) => format!("give rod {} {} {way}", rod.name, turns(by.abs() / pitch)),
                None => format!(
                    "make rod {} {} {way}",
                    rod.name,
                    say::short(by.abs(), q.unit)
                ),
            }
        }
        Adjusts::Row(_) => format!("pin {} in hole {to:.0} (now {from:.0})", s.name),
        Adjusts::Clock(part) => {
            let way = if by < 0.0 {
                "clockwise"
            } else {
                "counter-clockwise"
            };
            format!(
                "clock {} {} {way}",
                model.machine.parts[part].name,
                say::short(by.abs(), q.unit)
            )
        }
        Adjusts::Shim { point, .. } => {
            let name = &model.machine.points[point].name;
            if let Some(pile) = pile(model, setting, to).filter(|p| p.len() > 1) {
                let thick: Vec<String> =
                    pile.iter().map(|leaf| say::short(*leaf, q.unit)).collect();
                return format!(
                    "shim {name} with {} ({}) instead of {}",
                    say::short(to, q.unit),
                    thick.join(" and "),
                    say::short(from, q.unit)
                );
            }
            if to.abs() < 1e-9 {
                format!("take the shim out under {name}")
            } else if from.abs() < 1e-9 {
                format!("put a shim of {} under {name}", say::short(to, q.unit))
            } else {
                format!(
                    "shim {name} with {} instead of {}",
                    say::short(to, q.unit),
                    say::short(from, q.unit)
                )
            }
        }
        Adjusts::Stop(stop) => format!(
            "put the stop {} at {}",
            model.machine.stops[stop].name,
            say::short(to, q.unit)
        ),
    }
}

/// Turns in halves and quarters where they are: "1½ turns".
fn turns(n: f64) -> String {
    let quarters = (n * 4.0).round();
    let what = |plural: bool| if plural { "turns" } else { "turn" };
    if (n * 4.0 - quarters).abs() > 1e-6 || quarters == 0.0 {
        return format!("{n:.2} turns");
    }
    let whole = (quarters / 4.0).floor();
    let part = match (quarters - 4.0 * whole) as u8 {
        1 => "¼",
        2 => "½",
        3 => "¾",
        _ => "",
    };
    if whole == 0.0 {
        format!("{part} turn")
    } else {
        format!("{whole:.0}{part} {}", what(whole > 1.0 || !part.is_empty()))
    }
}

#[cfg(test)]
mod tests {
    use super::{piles, turns};

    #[test]
    fn piles_have_few_leaves_and_every_thickness_once() {
        let found = piles(&[0.05, 0.1, 0.25]);
        let thick: Vec<i32> = found.iter().map(|p| (p.0 * 100.0).round() as i32).collect();
        assert_eq!(
            thick,
            [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 75]
        );
        for (thickness, pile) in &found {
            assert!((pile.iter().sum::<f64>() - thickness).abs() < 1e-9);
        }
        // 0.10 is one leaf, not two of 0.05.
        assert_eq!(found[2].1, [0.1]);
    }

    #[test]
    fn turns_are_said_in_quarters() {
        for (n, said) in [
            (0.5, "½ turn"),
            (1.0, "1 turn"),
            (1.5, "1½ turns"),
            (2.0, "2 turns"),
            (0.75, "¾ turn"),
            (2.25, "2¼ turns"),
            (0.1, "0.10 turns"),
        ] {
            assert_eq!(turns(n), said);
        }
    }
}
