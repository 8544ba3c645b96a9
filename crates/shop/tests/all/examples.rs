//! The shop work of the examples: every part there, every number where geometry and handbooks put it.

use shop::part::{Form, Opening as _};
use shop::{Grade, Job, Part, job};
use std::path::Path;

fn of(example: &str) -> (machine::Machine, Job) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(example)
        .join("machine.toml");
    let machine = machine::read(&path).machine.unwrap();
    let job = job(&machine, &[]);
    (machine, job)
}

fn part<'a>(job: &'a Job, name: &str) -> &'a Part {
    job.parts
        .iter()
        .find(|p| p.name == name)
        .unwrap_or_else(|| panic!("{name}"))
}

/// Everything a sheet says, one step a line.
fn told(job: &Job, name: &str) -> String {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let mut text = String::new();
    for s in &sheet.setups {
        text += &format!(
            "== {} | {} | {} | {}\n",
            s.title, s.machine, s.holding, s.zero
        );
        for c in &s.cautions {
            text += &format!("!! {c}\n");
        }
        for step in &s.steps {
            text += &format!(
                "{} {} [{}] rpm {:?} feed {:?} at {} | check {} | why {} | {:.0} min\n",
                step.number,
                step.text,
                step.tool,
                step.rpm,
                step.feed,
                step.at,
                step.check,
                step.why,
                step.minutes
            );
        }
    }
    text
}

#[test]
fn the_embosser_is_made_whole() {
    let (_, job) = of("strap-embosser");
    if std::env::var_os("TELL").is_some() {
        for s in &job.sheets {
            println!(
                "#### {} x{} {:?}\n{}",
                s.part,
                s.count,
                s.minutes,
                told(&job, &s.part)
            );
        }
        println!(
            "{:#?}\n{:#?}\n{:#?}",
            job.findings, job.cut.bars, job.bought
        );
    }
    assert!(job.parts.len() >= 20, "{}", job.parts.len());
    assert_eq!(job.parts.len(), job.sheets.len());
    for (part, sheet) in job.parts.iter().zip(&job.sheets) {
        assert!(part.volume() > 0.0 && part.mass() < 20.0, "{}", part.name);
        assert!(!sheet.setups.is_empty());
        let steps: Vec<_> = sheet.setups.iter().flat_map(|s| &s.steps).collect();
        assert!(steps.iter().enumerate().all(|(n, s)| s.number == n + 1));
        assert!(
            steps
                .iter()
                .all(|s| s.rpm.is_none_or(|r| (60.0..=3000.0).contains(&r))),
            "{}",
            part.name
        );
        assert!(sheet.minutes[0] < sheet.minutes[1] && sheet.minutes[1] < sheet.minutes[2]);
        // A caution stands once in a sheet.
        let mut said: Vec<_> = sheet.setups.iter().flat_map(|s| &s.cautions).collect();
        let all = said.len();
        said.sort();
        said.dedup();
        assert_eq!(said.len(), all, "{}", part.name);
    }
}

#[test]
fn points_of_the_machine_are_the_holes() {
    let (m, job) = of("strap-embosser");
    let Form::Plate(bell) = &part(&job, "bell-crank").form else {
        panic!("a plate");
    };
    let hole = |name: &str| bell.holes.iter().find(|h| h.name == name).unwrap();
    // Datum, then x towards the second hole; the third a quarter turn on, as 180 and 270 degrees say.
    assert_eq!(hole("bell-pivot").at, [0.0, 0.0]);
    assert!((hole("bell-rear").at[0] - 55.0).abs() < 1e-9 && hole("bell-rear").at[1] == 0.0);
    assert!((hole("bell-low").at[1] - 45.0).abs() < 1e-9 && hole("bell-low").at[0].abs() < 1e-9);
    // The bushing's seat is cut, not its bore; the pin holes are reamed.
    assert!((hole("bell-pivot").diameter() - 14.0).abs() < 1e-9);
    assert!((hole("bell-rear").place.unwrap() - m.work.usual.hole_places.unwrap()).abs() < 1e-12);
    // The row of the lever is five holes of 8, eleven apart: 3 of metal are left between two.
    let Form::Plate(lever) = &part(&job, "lever").form else {
        panic!("a plate");
    };
    let row: Vec<_> = lever
        .holes
        .iter()
        .filter(|h| h.name.starts_with("link-holes"))
        .collect();
    assert_eq!(row.len(), 5);
    for pair in row.windows(2) {
        let d = (pair[1].at[0] - pair[0].at[0]).hypot(pair[1].at[1] - pair[0].at[1]);
        assert!((d - 11.0).abs() < 1e-9);
    }
}

#[test]
fn coordinates_and_angles_stand_on_the_sheets() {
    let (_, job) = of("strap-embosser");
    let bell = told(&job, "bell-crank");
    assert!(
        bell.contains("x 55.000  y 0.000") && bell.contains("x 0.000  y 45.000"),
        "{bell}"
    );
    // Rounding about the rear hole: radius 11 and an 8 mm cutter run 15 from the middle.
    assert!(bell.contains("cutter 15.000 off the middle"), "{bell}");
    let link = told(&job, "link");
    // Two ends of 15: half a turn each, 45 turns of a 90:1 table.
    assert!(link.contains("(45 turns)"), "{link}");
}

#[test]
fn an_eccentric_shaft_gets_second_centres_and_a_swing() {
    let (_, job) = of("strap-embosser");
    let shaft = told(&job, "cross-shaft");
    assert!(shaft.contains("between the second centres"), "{shaft}");
    assert!(shaft.contains("x 3.000  y 0.000"));
    assert!(shaft.contains("6.000 of swing for one turn"), "{shaft}");
}

#[test]
fn press_fits_say_what_to_bore_to() {
    let (_, job) = of("strap-embosser");
    let link = told(&job, "link");
    // 16 s6 is +28 to +39, H7 0 to +18 (ISO 286-2): the middles are 24.5 µm apart.
    assert!(
        link.contains("bore to its outside less 0.024")
            || link.contains("bore to its outside less 0.025"),
        "{link}"
    );
    assert!(link.contains("16.000 to 16.018"), "{link}");
}

#[test]
fn what_the_shop_lacks_is_said_with_a_way_round() {
    let (mut m, _) = of("strap-embosser");
    let before = job(&m, &[]).findings.len();
    let shop = m.work.shop.as_mut().unwrap();
    shop.tools.reamers.clear();
    shop.tools.taps.clear();
    shop.rotary_tables.clear();
    shop.lathes[0].swing = 30.0;
    shop.lathes[0].over_slide = None;
    let worse = job(&m, &[]);
    assert!(worse.findings.len() > before + 4);
    let says = |text: &str| worse.findings.iter().any(|f| f.text.contains(text));
    assert!(says("no reamer") && says("no tap M8") && says("no rotary table") && says("swings"));
    assert!(worse.findings.iter().all(|f| !f.advice.is_empty()));
    assert!(worse.findings.iter().any(|f| f.grade == Grade::Cannot));
    let bell = told(&worse, "bell-crank");
    assert!(bell.contains("Step off the end") && !bell.contains("off the middle"));
}

#[test]
fn masses_add_up_by_hand() {
    let (_, job) = of("strap-embosser");
    // The bed: 136 x 60 x 57.7 less one hole for M8, drilled 6.8 (ISO 2306), 25 deep.
    let bed = part(&job, "bed");
    let quarter = std::f64::consts::PI / 4.0;
    let by_hand = 136.0 * 60.0 * 57.7 - quarter * 6.8 * 6.8 * 25.0;
    // The die: 35 x 12 x 12 less two holes 4.5 with counterbores 8 x 5.
    let die = part(&job, "die");
    let die_by_hand =
        35.0 * 12.0 * 12.0 - 2.0 * quarter * (4.5 * 4.5 * 12.0 + (64.0 - 4.5 * 4.5) * 5.0);
    assert!((die.volume() - die_by_hand).abs() < 1e-6);
    assert!(
        (bed.volume() - by_hand).abs() < 1e-3,
        "{} {by_hand}",
        bed.volume()
    );
    let pin = part(&job, "crank-pin");
    assert!((pin.volume() - quarter * 144.0 * 40.0).abs() < 1e-9);
}

#[test]
fn every_blank_is_on_a_bar_or_a_sheet() {
    for example in ["strap-embosser", "rolling-mill", "treadle"] {
        let (_, job) = of(example);
        let wanted: usize = job.cut.blanks.iter().map(|b| b.blanks).sum();
        let cut: usize = job.cut.bars.iter().map(|b| b.cuts.len()).sum::<usize>()
            + job.cut.sheets.iter().map(|s| s.cuts.len()).sum::<usize>();
        assert_eq!(wanted, cut, "{example}");
        for bar in &job.cut.bars {
            let used: f64 = bar.cuts.iter().map(|c| c.1).sum::<f64>()
                + job.cut.kerf * (bar.cuts.len() - 1) as f64;
            assert!(used <= bar.length + 1e-9);
        }
    }
}

#[test]
fn the_bar_of_a_rod_is_as_long_as_its_centres_say() {
    let (m, job) = of("strap-embosser");
    let Form::Turned(bar) = &part(&job, "down-rod").form else {
        panic!("a bar");
    };
    let rod = m.rods.iter().find(|r| r.name == "down-rod").unwrap();
    let centres = shop::rods::centres(&m, rod).unwrap();
    // Female M8 of series K: 36 to the end of the shank, 16 of thread, three quarters screwed in.
    assert!((bar.length() - (centres - 2.0 * (36.0 - 12.0))).abs() < 1e-9);
    assert!(bar.steps.last().unwrap().thread.as_ref().unwrap().left);
}

#[test]
fn cut_lists_are_as_good_as_an_exact_solver_finds() {
    // checks/cutting.py: a mixed-integer solver on random lists.
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/cutting.json");
    let all: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let cases = all["cases"].as_array().unwrap();
    assert!(cases.len() >= 30);
    for case in cases {
        let list = |key: &str| -> Vec<f64> {
            let all = case[key].as_array().unwrap();
            all.iter().map(|x| x.as_f64().unwrap()).collect()
        };
        let (pieces, kerf) = (list("pieces"), case["kerf"].as_f64().unwrap());
        let packed = shop::cut::pack(&pieces, &list("rack"), &list("sold"), kerf);
        let bought: f64 = packed
            .bars
            .iter()
            .map(|(from, _)| match from {
                shop::cut::From::Bought(length) => *length,
                shop::cut::From::Rack(_) => 0.0,
            })
            .sum();
        assert!(packed.proved);
        assert!(
            (bought - case["bought"].as_f64().unwrap()).abs() < 1e-6,
            "{case} {bought}"
        );
        assert_eq!(
            packed.bars.len() as u64,
            case["bars"].as_u64().unwrap(),
            "{case}"
        );
    }
}
