//! Plots of motion tables of the examples.

use std::path::Path;

use machine::Machine;
use sheets::Look;
use sheets::plot::{Plot, curves, of_motion};
use studies::{assemble, motion};

fn machine(name: &str) -> Machine {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(name)
        .join("machine.toml");
    machine::read(&path)
        .machine
        .unwrap_or_else(|| panic!("{name} is not read"))
}

fn plot(machine: &Machine, drive: &str, set: &str) -> Plot {
    let model = assemble(machine);
    let mut stand = model.drawn();
    if !set.is_empty() {
        model
            .set_pair(&mut stand, set)
            .unwrap_or_else(|e| panic!("{e:?}"));
    }
    let sweep = model
        .sweep(drive, None, None, None)
        .unwrap_or_else(|e| panic!("{e:?}"));
    let table = motion(&model, &stand, &sweep).unwrap_or_else(|e| panic!("{e:?}"));
    of_motion(&table, machine)
}

#[test]
fn what_a_drive_does_not_move_is_told_in_words() {
    let embosser = machine("strap-embosser");
    let over_crank = plot(&embosser, "crank", "");
    let names: Vec<&str> = over_crank
        .panels
        .iter()
        .map(|p| p.up.name.as_str())
        .collect();
    assert_eq!(names, ["gap"]);
    assert!(
        over_crank.note.contains("not moved by crank: least-gap"),
        "{}",
        over_crank.note
    );
    // Down and up once a turn: open at the top, closed at the bottom.
    assert_eq!(
        over_crank.panels[0].marks.len(),
        2,
        "{:?}",
        over_crank.panels[0].marks
    );
}

#[test]
fn asks_show_where_they_hold() {
    let embosser = machine("strap-embosser");
    let limits = |plot: &Plot, name: &str| {
        let panel = plot.panels.iter().find(|p| p.up.name == name);
        panel.map_or(0, |p| p.limits.len())
    };
    // "closest" is asked of the least gap with the lever at 70 degrees: both its limits stand at that one place.
    let over_set = plot(&embosser, "set", "");
    assert_eq!(limits(&over_set, "least-gap"), 2);
    let least = over_set
        .panels
        .iter()
        .find(|p| p.up.name == "least-gap")
        .map(|p| p.limits[0].over);
    assert!(
        least
            .flatten()
            .is_some_and(|[a, b]| (a - 70_f64.to_radians()).abs() < 1e-9 && a == b)
    );
    // "room" is asked of the gap with the crank up and the lever at 70 degrees; the lever is drawn at 35.
    assert_eq!(limits(&plot(&embosser, "crank", ""), "gap"), 0);
    assert_eq!(limits(&plot(&embosser, "crank", "set = 70 deg"), "gap"), 1);
    // The mill's tilt is asked for anywhere in the lever's range: from end to end of the plot. Drawn level, it never tilts.
    let level = plot(&machine("rolling-mill"), "lever", "");
    assert!(level.note.contains("tilt 0"), "{}", level.note);
    let mill = plot(&machine("rolling-mill"), "lever", "coupling = 0.5 mm");
    let tilt = mill.panels.iter().find(|p| p.up.name == "tilt");
    let over: Vec<_> = tilt.map_or(Vec::new(), |p| p.limits.iter().map(|l| l.over).collect());
    assert_eq!(over, [None, None]);
    assert!(
        curves(&mill)
            .svg(Look::Print)
            .contains("level: at most 0.02°")
    );
}
