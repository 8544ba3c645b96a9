//! Speeds and feeds for this material on this machine.

use elements::cutting::{self, Speeds};
use machine::equipment::Spindle;
use machine::work::Material;

/// Row of the cutting table for a material, and whether it is a stand-in.
///
/// Which row stands for a grade: common practice.
pub fn row(material: &Material) -> (&'static Speeds, bool) {
    let name = material.taken_as.unwrap_or(&material.name).to_lowercase();
    let has = |words: &[&str]| words.iter().any(|w| name.contains(w));
    let (wanted, sure) = if has(&["1018", "1020", "a36", "s235", "12l14", "11smn", "16mncr"]) {
        ("1018, 100-125 HB", true)
    } else if has(&["1045", "1144", "s355", "c45+c"]) {
        ("1045, 175-225 HB", true)
    } else if has(&["4140", "4340", "42crmo4"]) {
        // The row is measured on 28 to 32 HRC; tempered lower it is harder.
        (
            "4140, 28-32 HRC",
            !has(&["annealed", "qt 205", "qt 315", "qt 425"]),
        )
    } else if has(&["o1", "a2 ", "115crv3"]) {
        ("O1, annealed 175-225 HB", true)
    } else if has(&["303", "1.4305"]) {
        ("303 stainless, annealed", true)
    } else if has(&["304", "316", "17-4", "stainless", "1.4301"]) {
        ("304 stainless, annealed", !has(&["17-4"]))
    } else if has(&["iron", "en-gj"]) {
        // EN-GJL-250 is about class 35 to 40 (EN 1561 and ASTM A48 by tensile strength): the slower row.
        if has(&["40", "35", "ductile", "gjs", "gjl-250", "gjl-300"]) {
            ("grey iron class 45-50", true)
        } else {
            ("grey iron class 20", true)
        }
    } else if has(&["c36", "brass", "cw614n"]) {
        ("free-cutting brass", true)
    } else if has(&["c93", "c54", "c95", "bronze", "cusn8", "cc493k"]) {
        ("bearing bronze", true)
    } else if has(&["60", "20", "70", "alumin", "mic-6"]) {
        ("6061 aluminium", true)
    } else if has(&["acetal", "nylon", "oak"]) {
        ("acetal", has(&["acetal"]))
    } else {
        ("1018, 175-225 HB", name.contains("steel"))
    };
    let found = cutting::SPEEDS.iter().find(|s| s.name == wanted);
    (found.unwrap_or(&cutting::SPEEDS[1]), sure)
}

/// What is cut with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tool {
    /// A turning tool.
    Turning {
        /// Carbide, else high-speed steel.
        carbide: bool,
    },
    /// A twist drill.
    Drill,
    /// A machine reamer.
    Reamer,
    /// A tap in the machine: a third of the drilling speed (common practice: a quarter to a half).
    Tap,
    /// An end mill of high-speed steel, at the speed of turning.
    EndMill,
    /// A boring tool: it overhangs, so two thirds of turning (common practice).
    Boring,
}

/// Cutting speed to begin with on a light machine, m/min.
pub fn speed(material: &Material, tool: Tool) -> f64 {
    let (row, _) = row(material);
    match tool {
        Tool::Turning { carbide: true } => row.turn_carbide.0,
        Tool::Turning { carbide: false } | Tool::EndMill => row.turn.0,
        Tool::Drill => 0.75 * row.drill,
        Tool::Reamer => 0.75 * row.ream,
        Tool::Tap => row.drill / 3.0,
        Tool::Boring => 2.0 / 3.0 * row.turn.0,
    }
}

/// How far over the low end of the table a step of the drive may cut (common practice: the table spans more than half as much again).
const OVER: f64 = 1.15;

/// Strength from which high-speed steel does not drill, ream or tap a steel, MPa: about 40 HRC (ISO 18265, from memory).
const HARD: f64 = 1300.0;

/// Whether a steel is too hard for drills, reamers and taps of high-speed steel.
pub fn hard(material: &Material) -> bool {
    material.modulus > 180_000.0 && material.tensile.is_some_and(|t| t > HARD)
}

/// Faster than wanted by more than this burns the tool (common practice: the table itself spans half as much again).
pub const BURNS: f64 = 1.5;

/// Turns a minute that the table wants, whatever the machine has.
pub fn turns(material: &Material, tool: Tool, diameter: f64) -> f64 {
    cutting::spindle(speed(material, tool), diameter.max(0.5)).unwrap_or(500.0)
}

/// The spindle speed to set: the fastest of this machine that does not cut faster than wanted, or the next one when it is hardly over.
pub fn rpm(material: &Material, tool: Tool, diameter: f64, spindle: &Spindle) -> f64 {
    let wanted = turns(material, tool, diameter);
    match (spindle, tool) {
        (Spindle::Steps(_), Tool::Turning { .. } | Tool::Drill | Tool::EndMill | Tool::Boring) => {
            spindle.at_most(wanted * OVER)
        }
        _ => spindle.at_most(wanted),
    }
}

/// Feed of a drill, mm a turn: the low end of the table, since a bench machine is not rigid.
pub fn drill_feed(diameter: f64) -> f64 {
    cutting::drill_feed(diameter.clamp(0.3, 50.0)).map_or(0.05, |f| f.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds_come_from_the_list_of_the_machine() {
        let material = crate::resolve::grade_named("1018 cold drawn");
        let steps = Spindle::Steps(vec![125.0, 210.0, 420.0, 620.0, 1000.0, 2000.0]);
        // 80 ft/min is 24.4 m/min: at 20 mm 388 turns; 420 is 8 % over and within the 80 to 130 ft/min of the table (26.4 m/min).
        assert_eq!(
            rpm(&material, Tool::Turning { carbide: false }, 20.0, &steps),
            420.0
        );
        // At 25 mm 310: 420 would be 35 % over.
        assert_eq!(
            rpm(&material, Tool::Turning { carbide: false }, 25.0, &steps),
            210.0
        );
        // Never over for a reamer: 0.75 x 65 ft/min at 12 mm are 394.
        assert_eq!(rpm(&material, Tool::Reamer, 12.0, &steps), 210.0);
        // A 3 mm drill at three quarters of 100 ft/min wants 2426.
        assert_eq!(rpm(&material, Tool::Drill, 3.0, &steps), 2000.0);
        let any = Spindle::Range([100.0, 2500.0]);
        assert!(
            (rpm(&material, Tool::Drill, 3.0, &any)
                - 0.75 * 100.0 * 304.8 / (std::f64::consts::PI * 3.0))
                .abs()
                < 1e-6
        );
    }

    #[test]
    fn hard_steel_is_known() {
        let grade = crate::resolve::grade_named;
        // About 50, 45, 30 HRC (ASM values of 4140 by its temper).
        assert!(hard(&grade("4140 QT 205 C")) && hard(&grade("4140 QT 315 C")));
        assert!(!hard(&grade("4140 QT 540 C")) && !hard(&grade("O1 annealed")));
        assert!(!row(&grade("4140 QT 315 C")).1 && row(&grade("4140 QT 540 C")).1);
    }

    #[test]
    fn every_grade_has_a_row() {
        for grade in &elements::materials::MATERIALS {
            let (row, _) = row(&crate::resolve::grade_named(grade.name));
            assert!(row.drill > 0.0);
        }
    }
}
