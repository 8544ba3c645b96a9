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
        ("4140, 28-32 HRC", !has(&["annealed"]))
    } else if has(&["o1", "a2 ", "115crv3"]) {
        ("O1, annealed 175-225 HB", true)
    } else if has(&["303", "1.4305"]) {
        ("303 stainless, annealed", true)
    } else if has(&["304", "316", "17-4", "stainless", "1.4301"]) {
        ("304 stainless, annealed", !has(&["17-4"]))
    } else if has(&["iron", "en-gj"]) {
        if has(&["40", "ductile", "gjs"]) {
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

/// The spindle speed to set: the fastest of this machine that does not cut faster than wanted.
pub fn rpm(material: &Material, tool: Tool, diameter: f64, spindle: &Spindle) -> f64 {
    let wanted = cutting::spindle(speed(material, tool), diameter.max(0.5)).unwrap_or(500.0);
    spindle.at_most(wanted)
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
        // 80 ft/min is 24.4 m/min: at 20 mm 388 turns, so 210 is set.
        assert_eq!(
            rpm(&material, Tool::Turning { carbide: false }, 20.0, &steps),
            210.0
        );
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
    fn every_grade_has_a_row() {
        for grade in &elements::materials::MATERIALS {
            let (row, _) = row(&crate::resolve::grade_named(grade.name));
            assert!(row.drill > 0.0);
        }
    }
}
