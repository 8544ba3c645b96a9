//! Bolted joints against the forces of the machine, by hand.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::close;
use crate::parts_common::{check, study};
use studies::parts::answers::{Item, Kind, Parts};
use studies::{Finding, Severity};

/// A lever that balances two weights on a pillow block; the pivot carries their sum straight down.
fn beam(bolts: &str, force: &str) -> String {
    format!(
        r#"
name = "Beam"
[point]
pivot = [0, 0]
left  = [-100, 0]
right = [100, 0]
[frame]
carries = ["pivot"]
stock = {{ flat = ["12 mm", "60 mm"], material = "S355J2 to 16 mm" }}
[part.beam]
carries = ["pivot", "left", "right"]
[drive.tilt]
turns = "beam"
[load.one]
at = "left"
force = "{force}"
along = "down"
[load.other]
at = "right"
force = "{force}"
along = "down"
[bolts.block]
carries = ["pivot"]
thread = "M8"
grip = "20 mm"
{bolts}
"#
    )
}

fn joint(parts: &Parts) -> &Item {
    parts.items.iter().find(|i| i.kind == Kind::Bolts).unwrap()
}

fn told(parts: &Parts, severity: Severity) -> Vec<&Finding> {
    let of = |f: &&Finding| f.severity == severity && f.about.starts_with("bolts.");
    parts.findings.iter().filter(of).collect()
}

/// Proof load of M8 class 8.8: 36.61 mm² at 580 MPa (ISO 898-1).
const PROOF: f64 = 36.61 * 580.0;

#[test]
fn a_force_through_the_middle_goes_even() {
    let parts = study(&beam(
        "circle = { diameter = \"60 mm\", count = 4 }",
        "1 kN",
    ));
    let slip = check(joint(&parts), "slip of the bolted joint");
    close(slip.acts, 500.0, 1e-6);
    // By hand the preload may be a third less.
    close(slip.bears.unwrap(), 0.12 * 0.75 * PROOF * 2.0 / 3.0, 5.0);
    let shear = check(
        joint(&parts),
        "shear of the bolt alone, should the joint slip",
    );
    close(shear.acts, 500.0 / 36.61, 0.01);
    // Nothing pulls: nothing opens.
    assert!(
        joint(&parts)
            .checks
            .iter()
            .all(|c| !c.what.contains("opening"))
    );
    assert!(told(&parts, Severity::Fault).is_empty());
    // 0.2 F d.
    let torque = joint(&parts)
        .figures
        .iter()
        .find(|f| f.what == "tightening torque")
        .unwrap();
    close(torque.value, 0.2 * 0.75 * PROOF * 8.0, 20.0);
    let bought = parts
        .buy
        .iter()
        .find(|b| b.what.starts_with("screw M8"))
        .unwrap();
    assert_eq!(bought.count, 4);
}

#[test]
fn a_load_that_stands_off_tilts_the_plate() {
    let bolts = "at = [[-30, 40], [30, 40], [-30, -40], [30, -40]]\nout = \"50 mm\"";
    let parts = study(&beam(bolts, "500 N"));
    // 1 kN at 50 mm on four bolts 80 mm apart: M y/Σy² = 50 000 · 40/6400.
    let opens = check(joint(&parts), "opening of the joint");
    let share = joint(&parts)
        .figures
        .iter()
        .find(|f| f.what == "share of one bolt")
        .unwrap();
    close(share.value, 250.0, 1e-6);
    assert!(
        share.sentence.contains("312 N of pull") || share.sentence.contains("313 N of pull"),
        "{}",
        share.sentence
    );
    // The bolt feels a share; the faces are relieved of the rest.
    assert!(
        opens.acts > 0.6 * 312.5 && opens.acts < 312.5,
        "{}",
        opens.acts
    );
    close(opens.bears.unwrap(), 0.75 * PROOF * 2.0 / 3.0, 25.0);
    assert!(opens.passes);
    // Twice as far off, twice the pull.
    let far = study(&beam(&bolts.replace("50 mm", "100 mm"), "500 N"));
    let far = check(joint(&far), "opening of the joint").acts;
    close(far, 2.0 * opens.acts, 1e-6 * far);
}

#[test]
fn bolts_in_the_plane_are_pulled() {
    // The cap is lifted off upwards; the weights push it down, then up.
    let bolts = "at = [[-30, 0], [30, 0]]\nalong = \"up\"";
    let down = study(&beam(bolts, "500 N"));
    assert!(
        joint(&down)
            .checks
            .iter()
            .all(|c| !c.what.contains("opening"))
    );
    let up = study(&beam(bolts, "500 N").replace("along = \"down\"", "along = \"up\""));
    let opens = check(joint(&up), "opening of the joint");
    assert!(
        opens.acts > 0.6 * 500.0 && opens.acts < 500.0,
        "{}",
        opens.acts
    );
    // Twice the load leaves half the margin against opening.
    let twice = study(&beam(bolts, "1 kN").replace("along = \"down\"", "along = \"up\""));
    let factor = check(joint(&twice), "opening of the joint").factor.unwrap();
    close(factor, opens.factor.unwrap() / 2.0, 1e-9 * factor);
}

#[test]
fn what_fails_says_what_would_do_and_that_does_it() {
    let bolts = "circle = { diameter = \"60 mm\", count = 4 }";
    let weak = study(&beam(bolts, "3 kN"));
    let miss = told(&weak, Severity::Miss);
    assert!(!miss.is_empty());
    let would = joint(&weak).would_do.clone().unwrap().what.unwrap();
    let size = would.split(' ').next().unwrap();
    let strong = beam(bolts, "3 kN").replace("\"M8\"", &format!("\"{size}\""));
    assert!(told(&study(&strong), Severity::Miss).is_empty(), "{would}");
    // One size less does not do.
    let sizes = ["M8", "M10", "M12", "M16", "M20", "M24"];
    let at = sizes.iter().position(|s| *s == size).unwrap();
    let less = beam(bolts, "3 kN").replace("\"M8\"", &format!("\"{}\"", sizes[at - 1]));
    assert!(!told(&study(&less), Severity::Miss).is_empty());
}

#[test]
fn inches_too() {
    let text = beam("circle = { diameter = \"2 1/2 in\", count = 4 }", "200 lbf")
        .replace("name = \"Beam\"", "name = \"Beam\"\nunit = \"in\"")
        .replace("\"M8\"", "\"5/16-18\"");
    let parts = study(&text);
    assert!(
        joint(&parts).what.contains("5/16-18 UNC grade 5"),
        "{}",
        joint(&parts).what
    );
    let slip = check(joint(&parts), "slip of the bolted joint");
    close(slip.acts / 4.448_222, 100.0, 1e-4);
    // 0.0524 in² at 85 000 psi (SAE J429), 3/4 of it, friction 0.12.
    close(
        slip.bears.unwrap() / 4.448_222,
        0.12 * 0.75 * 0.0524 * 85_000.0 * 2.0 / 3.0,
        2.0,
    );
    assert!(slip.shown.contains("lbf"), "{}", slip.shown);
}

#[test]
fn what_cannot_be_is_one_clear_fault() {
    let only = |bolts: &str, says: &str| {
        let parts = study(&beam(bolts, "500 N"));
        let faults = told(&parts, Severity::Fault);
        assert_eq!(faults.len(), 1, "{faults:#?}");
        assert!(faults[0].sentence.contains(says), "{}", faults[0].sentence);
        assert!(faults[0].what_to_try.is_some());
    };
    only(
        "at = [[0, 0]]\nout = \"20 mm\"",
        "a single bolt bears no twist and no tilt",
    );
    only(
        "at = [[0, -30], [0, 0], [0, 8]]",
        "next to nothing is left between the holes",
    );
    only(
        "circle = { diameter = \"60 mm\", count = 4 }\ntorque = \"80 N m\"",
        "its proof load is",
    );
    only(
        "at = [[-30, 0], [30, 0]]\nout = \"20 mm\"",
        "bear no tilt about that row",
    );
}

/// M6 of 8.8 in 6061-T6: about 8.5 mm hold it before the thread strips (FED-STD-H28/2, by hand), and layers are softer than steel alone.
#[test]
fn stripping_and_layers() {
    let with = |into: &str, grip: &str| {
        let bolts =
            format!("circle = {{ diameter = \"60 mm\", count = 4 }}\nout = \"20 mm\"\n{into}");
        study(
            &beam(&bolts, "500 N")
                .replace("\"M8\"", "\"M6\"")
                .replace("grip = \"20 mm\"", grip),
        )
    };
    let plain = "grip = \"20 mm\"";
    let short = with(
        "into = { material = \"6061-T6\", engaged = \"6 mm\" }",
        plain,
    );
    let strips = check(
        joint(&short),
        "engagement that breaks the screw before it strips",
    );
    assert!(
        (8.0..9.5).contains(&strips.acts) && !strips.passes,
        "{}",
        strips.acts
    );
    let deep = with(
        "into = { material = \"6061-T6\", engaged = \"10 mm\" }",
        plain,
    );
    assert!(
        check(
            joint(&deep),
            "engagement that breaks the screw before it strips"
        )
        .passes
    );
    let opens = |parts: &Parts| check(joint(parts), "opening of the joint").acts;
    let layers = with(
        "",
        "grip = [[\"10 mm\", \"steel\"], [\"10 mm\", \"6061-T6\"]]",
    );
    let all = with("", "grip = [[\"20 mm\", \"6061-T6\"]]");
    // The softer what is clamped, the more of the pull the screw feels, and the less opens.
    assert!(opens(&layers) < opens(&with("", plain)) && opens(&all) < opens(&layers));
}
