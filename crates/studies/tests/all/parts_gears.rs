//! Gears and racks of a machine: by hand, and where teeth do not go together.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::{close, model};
use crate::parts_common::{check, study};
use studies::parts::answers::{Item, Kind, Parts};
use studies::parts::parts;
use studies::{Finding, Severity};

/// A pinion that turns a wheel under a moment of 10 N m.
fn pair(centres: f64, gear: &str) -> String {
    format!(
        r#"
[point]
a = [0, 0]
b = [{centres}, 0]
[frame]
carries = ["a", "b"]
[part.pinion]
carries = ["a"]
stock = {{ round = "40 mm", material = "1045 cold drawn" }}
[part.wheel]
carries = ["b"]
stock = {{ flat = ["16 mm", "120 mm"], material = "grey iron class 20" }}
[gear.step]
joins = ["pinion", "wheel"]
{gear}
[drive.turn]
turns = "pinion"
range = "whole turn"
per-minute = 60
[load.work]
on = "wheel"
moment = "10 N m"
"#
    )
}

fn gear(parts: &Parts) -> &Item {
    parts.items.iter().find(|i| i.kind == Kind::Gear).unwrap()
}

fn told(parts: &Parts, severity: Severity) -> Vec<&Finding> {
    parts
        .findings
        .iter()
        .filter(|f| f.severity == severity && f.about.starts_with("gear."))
        .collect()
}

fn figure<'a>(item: &'a Item, what: &str) -> &'a studies::parts::answers::Figure {
    item.figures.iter().find(|f| f.what == what).unwrap()
}

const GOOD: &str = "teeth = [18, 54]\nmodule = \"2 mm\"\nface = \"16 mm\"\nbacklash = \"0.08 mm\"";

#[test]
fn a_pair_by_hand() {
    let parts = study(&pair(72.0, GOOD));
    let item = gear(&parts);
    assert_eq!(item.what, "gear pair 18 to 54 teeth, module 2");
    // 10 N m on a pitch radius of 54 mm; Lewis 0.309 of 18 teeth; 0.113 m/s by Barth.
    let speed = std::f64::consts::PI * 36.0 * 60.0 / 60_000.0;
    let force = 10_000.0 / 54.0;
    let stress = force / (16.0 * 2.0 * 0.309) * (6.1 + speed) / 6.1;
    let bent = check(item, "bending of the teeth of the pinion");
    close(bent.acts, stress, 1e-6 * stress);
    let iron = check(item, "bending of the teeth of the wheel");
    // Class 20 breaks at 20 000 psi.
    close(iron.bears.unwrap(), 20.0 * 6.894_757 / 3.0, 0.1);
    assert!(iron.passes && bent.passes);
    // 36 and 108 mm at the pitch circle, two modules more outside; 1.65 of contact (by the usual formula).
    let tips = figure(item, "diameter over the tips");
    close(tips.value, 40.0, 1e-9);
    let (a, b, c) = (20.0_f64, 56.0_f64, 72.0_f64);
    let (ba, bb) = (
        18.0 * 20f64.to_radians().cos(),
        54.0 * 20f64.to_radians().cos(),
    );
    let path = (a * a - ba * ba).sqrt() + (b * b - bb * bb).sqrt() - c * 20f64.to_radians().sin();
    let ratio = path / (std::f64::consts::PI * 2.0 * 20f64.to_radians().cos());
    close(
        check(item, "contact ratio that runs evenly").bears.unwrap(),
        ratio,
        1e-9,
    );
    close(figure(item, "backlash").value, 0.08, 1e-9);
    assert!(item.figures.iter().any(|f| f.sentence == "pinion: form cutter for 17 to 20 teeth (No. 3 of a module set)"));
    assert!(told(&parts, Severity::Fault).is_empty() && told(&parts, Severity::Miss).is_empty());
}

#[test]
fn what_would_do_bears_it_and_is_the_smallest() {
    let text = pair(72.0, GOOD);
    let item = gear(&study(&text)).clone();
    let would = item.would_do.unwrap();
    assert!(would.smaller);
    let what = would.what.unwrap();
    let module: f64 = what.split(' ').nth(1).unwrap().parse().unwrap();
    // No check is missed, and neither do its flanks press more than they bear for long.
    let with = |m: f64| {
        let other = pair(36.0 * m, &GOOD.replace("2 mm", &format!("{m} mm")));
        let parts = study(&other);
        let worn = parts
            .findings
            .iter()
            .any(|f| f.sentence.contains("its flanks press"));
        !worn && gear(&parts).checks.iter().all(|c| c.passes)
    };
    assert!(with(module), "{what}");
    let below = elements::gears::MODULES
        .iter()
        .rev()
        .find(|m| **m < module)
        .unwrap();
    assert!(!with(*below), "{below} would have done");
}

#[test]
fn pitch_and_module_say_the_same() {
    let metric = study(&pair(
        72.0,
        &GOOD
            .replace("\"2 mm\"", "\"2.116667 mm\"")
            .replace("18, 54", "17, 51"),
    ));
    let inch = study(&pair(
        72.0,
        &GOOD
            .replace("module = \"2 mm\"", "diametral-pitch = 12")
            .replace("18, 54", "17, 51"),
    ));
    let of = |p: &Parts| check(gear(p), "bending of the teeth of the pinion").acts;
    close(of(&metric), of(&inch), 1e-4);
    assert!(gear(&inch).what.ends_with("diametral pitch 12"));
    assert!(
        gear(&inch)
            .figures
            .iter()
            .any(|f| f.sentence.contains("(No. 6)"))
    );
}

#[test]
fn teeth_that_do_not_go_together() {
    let far = study(&pair(80.0, GOOD));
    let faults = told(&far, Severity::Fault);
    assert_eq!(faults.len(), 1, "{faults:#?}");
    assert!(
        faults[0]
            .sentence
            .contains("the centres are drawn 80.000 mm apart and these teeth mesh at 72.000 mm")
    );
    assert!(
        faults[0]
            .what_to_try
            .as_ref()
            .unwrap()
            .contains("module = \"2.222 mm\"")
    );
    let jammed = study(&pair(71.5, GOOD));
    let faults = told(&jammed, Severity::Fault);
    assert!(
        faults.len() == 1 && faults[0].sentence.contains("the teeth jam by 0.27"),
        "{faults:#?}"
    );
    let tight = study(&pair(72.0, &GOOD.replace("backlash = \"0.08 mm\"", "")));
    assert!(
        told(&tight, Severity::Caution)[0]
            .sentence
            .contains("there is no backlash")
    );
    let loose = study(&pair(73.2, GOOD));
    assert!(
        told(&loose, Severity::Miss)
            .iter()
            .any(|f| f.sentence.contains("hardly mesh"))
    );
    let few = study(&pair(66.0, &GOOD.replace("18, 54", "12, 54")));
    let said = told(&few, Severity::Caution);
    assert!(
        said[0]
            .sentence
            .contains("its pinion has 12 teeth, and fewer than 16 dig in"),
        "{said:#?}"
    );
    assert!(
        said[0]
            .what_to_try
            .as_ref()
            .unwrap()
            .contains("shift = [0.3, -0.3]")
    );
    // Shifted so, the centres stay and nothing digs in.
    let shifted = study(&pair(
        66.0,
        &format!("{}\nshift = [0.3, -0.3]", GOOD.replace("18, 54", "12, 54")),
    ));
    assert!(
        told(&shifted, Severity::Caution)
            .iter()
            .all(|f| !f.sentence.contains("dig in"))
    );
    close(figure(gear(&shifted), "backlash").value, 0.08, 1e-9);
    let tiny = study(&pair(64.0, &GOOD.replace("18, 54", "10, 54")));
    assert!(
        told(&tiny, Severity::Caution)
            .iter()
            .any(|f| f.sentence.contains("form cutters begin at 12"))
    );
    let odd = study(&pair(75.6, &GOOD.replace("\"2 mm\"", "\"2.1 mm\"")));
    let said = told(&odd, Severity::Caution);
    assert_eq!(said[0].what_to_try.as_deref(), Some("module 2 is"));
}

#[test]
fn a_ring_runs_nearer_for_backlash() {
    let ring = "teeth = [18, 54]\ninside = true\nmodule = \"2 mm\"\nface = \"16 mm\"";
    let parts = study(&pair(35.9, ring));
    let item = gear(&parts);
    assert!(item.what.starts_with("ring gear 18 to 54"));
    let play = figure(item, "backlash").value;
    assert!(
        (play / (0.2 * 20f64.to_radians().tan()) - 1.0).abs() < 0.03,
        "{play}"
    );
    assert!(
        item.assumed
            .iter()
            .any(|a| a.contains("slotted, shaped or broached"))
    );
    let few = study(&pair(10.0, &ring.replace("18, 54", "44, 54")));
    assert!(
        told(&few, Severity::Caution)
            .iter()
            .any(|f| f.sentence.contains("only 10 teeth more"))
    );
}

#[test]
fn a_rack_takes_its_radius_from_the_teeth() {
    let text = r#"
[point]
a = [0, 0]
end = [-20, 0]
[frame]
carries = ["a"]
[part.pinion]
carries = ["a"]
[part.bar]
carries = ["end"]
stock = { flat = ["12 mm", "20 mm"] }
[slide.bar]
part = "bar"
along = "up"
[rack.lift]
gear = "pinion"
rack = "bar"
teeth = 20
module = "1.5 mm"
face = "12 mm"
[drive.turn]
turns = "pinion"
range = ["-20 deg", "20 deg"]
[load.work]
at = "end"
force = "300 N"
along = "down"
"#;
    let m = model(text);
    close(m.machine().racks[0].radius, 15.0, 1e-12);
    let parts = parts(&m);
    let item = gear(&parts);
    // 300 N on 12 x 1.5 mm; Y 0.322 for 20 teeth, 0.485 for a rack.
    close(
        check(item, "bending of the teeth of the pinion").acts,
        300.0 / (12.0 * 1.5 * 0.322),
        1e-3,
    );
    close(
        check(item, "bending of the teeth of the rack").acts,
        300.0 / (12.0 * 1.5 * 0.485),
        1e-3,
    );
    let both = text.replace("teeth = 20", "teeth = 20\nradius = 12");
    let read = machine::read_text("m.toml", &both);
    assert!(read.problems.iter().any(|d| {
        d.message
            .contains("half of module times teeth is 15.000 mm")
    }));
}

#[test]
fn a_bore_leaves_metal_under_the_teeth() {
    // 18 teeth of module 2 have a root of 31 mm.
    let with = |bore: u32| {
        study(&format!(
            "{}\n[joint.a]\ndiameter = \"{bore} h6\"\n",
            pair(72.0, GOOD)
        ))
    };
    assert!(
        told(&with(20), Severity::Fault).is_empty()
            && told(&with(20), Severity::Caution).is_empty()
    );
    let thin = with(27);
    assert!(
        told(&thin, Severity::Caution)[0].sentence.contains(
            "only 2 mm are left between bore and root of the pinion, where 3 mm are usual"
        )
    );
    let gone = with(32);
    let fault = told(&gone, Severity::Fault)[0].clone();
    assert!(fault.sentence.contains(
        "the root of the pinion is 31 mm and its bore 32 mm: nothing is left under the teeth"
    ));
    // What is named leaves enough: 22 teeth have a root of 39 mm.
    assert!(fault.what_to_try.unwrap().starts_with("22 teeth"));
}
