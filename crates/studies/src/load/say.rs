//! Forces and moments in sentences.

use machine::model::Machine;
use quantity::{Kind, Unit};

/// The machine is drawn in inches, so its forces are told in pounds.
fn inches(machine: &Machine) -> bool {
    matches!(machine.unit, Unit::Inch | Unit::Foot | Unit::Thou)
}

/// Three figures are all that friction allows.
fn shown(value: f64, unit: Unit) -> String {
    let size = unit.from_inside(value).abs();
    let decimals = if size >= 99.5 {
        0
    } else if size >= 9.95 {
        1
    } else {
        2
    };
    quantity::show(value, unit, decimals)
}

/// The unit in which forces of a machine are read.
fn force_unit(machine: &Machine) -> Unit {
    if inches(machine) {
        Unit::PoundForce
    } else {
        Unit::Newton
    }
}

/// The unit in which its moments are read.
fn moment_unit(machine: &Machine) -> Unit {
    if inches(machine) {
        Unit::PoundForceInch
    } else {
        Unit::NewtonMetre
    }
}

/// A force: N below ten thousand, kN above; lbf on a machine in inches.
pub(super) fn force(value: f64, machine: &Machine) -> String {
    match force_unit(machine) {
        Unit::Newton if value.abs() >= 10_000.0 => shown(value, Unit::Kilonewton),
        unit => shown(value, unit),
    }
}

/// A moment: N·m, or lbf·in.
pub(super) fn moment(value: f64, machine: &Machine) -> String {
    shown(value, moment_unit(machine))
}

/// A force or a moment.
pub(crate) fn either(value: f64, is_moment: bool, machine: &Machine) -> String {
    if is_moment {
        moment(value, machine)
    } else {
        force(value, machine)
    }
}

/// A share as whole per cent.
pub(super) fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// A length or angle a little finer than it is drawn, for stretch and play.
pub(super) fn fine(value: f64, unit: Unit) -> String {
    let (unit, decimals) = match unit.kind() {
        Kind::Angle => (unit, 3),
        _ if matches!(unit, Unit::Inch | Unit::Thou | Unit::Foot) => (Unit::Thou, 2),
        Kind::Length => (Unit::Millimetre, 4),
        _ => (unit, 4),
    };
    quantity::show(value, unit, decimals)
}

/// A station along a shaft, as short as it can be written.
pub(super) fn station(value: f64, machine: &Machine) -> String {
    let text = quantity::show(value, machine.unit, 3);
    let Some((number, unit)) = text.split_once(' ') else {
        return text;
    };
    let number = number.trim_end_matches('0').trim_end_matches('.');
    format!("{number} {unit}")
}

/// A direction in its plane and the one against it: "down" and "up", else by their angle.
pub(super) fn ways(along: f64) -> [String; 2] {
    const WORDS: [&str; 4] = ["right", "up", "left", "down"];
    let word = |quarter: usize| WORDS[quarter % 4].to_owned();
    let degrees = along.to_degrees().rem_euclid(360.0);
    let quarters = degrees / 90.0;
    if (quarters - quarters.round()).abs() < 1e-6 {
        let quarter = quarters.round() as usize;
        return [word(quarter), word(quarter + 2)];
    }
    let at = |degrees: f64| quantity::show(degrees.to_radians(), Unit::Degree, 0);
    [at(degrees), at((degrees + 180.0).rem_euclid(360.0))]
}
