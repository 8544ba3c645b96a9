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
    use super::turns;

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
