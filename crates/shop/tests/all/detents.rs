//! Bores and seats of detents against the geometry of their drive.

use machine::fitting::Fitted;
use shop::part::{Form, Opening as _, Plate};
use shop::{Grade, Job};
use std::path::Path;

fn job(change: impl Fn(String) -> String) -> Job {
    let at =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml");
    let text = change(std::fs::read_to_string(&at).unwrap());
    let read = machine::read_as(&at, text.as_bytes());
    let machine = read
        .machine
        .unwrap_or_else(|| panic!("{:?}", read.problems));
    shop::job(&machine, &[])
}

fn plate<'a>(job: &'a Job, name: &str) -> &'a Plate {
    match &job.parts.iter().find(|p| p.name == name).unwrap().form {
        Form::Plate(p) => p,
        Form::Turned(_) => panic!("a plate"),
    }
}

// Drawn at 35 degrees of a sweep that goes clockwise, the lever stands at 70 degrees: with the drive at 0 it stands at 70 + 35 = 105.
#[test]
fn a_plunger_and_its_seat_are_holes_of_their_plates() {
    let all = job(|t| t);
    let lever = plate(&all, "lever");
    let bore = lever
        .holes
        .iter()
        .find(|h| h.name == "home-plunger")
        .unwrap();
    assert!(
        (bore.at[0] - 90.0).abs() < 1e-9 && bore.at[1].abs() < 1e-9,
        "{:?}",
        bore.at
    );
    // 22 of spring and one and a half diameters of guide; two of floor under it; it opens to the plate behind the lever.
    assert_eq!(
        (bore.diameter(), bore.blind, bore.through, bore.back),
        (8.0, Some(34.0), 36.0, true)
    );
    assert!(matches!(&bore.fitted, Fitted::Plain { size, .. } if size.class == "H7"));
    let ring = all.parts.iter().find(|p| {
        p.name == "lever-hub-2" || p.note.starts_with("brazed to lever") && p.volume() > 4000.0
    });
    assert!(ring.is_some(), "a ring of 28 for the bore");

    let behind = plate(&all, "lever-plate");
    let seat = behind.holes.iter().find(|h| h.name == "home-seat").unwrap();
    let (sin, cos) = 105f64.to_radians().sin_cos();
    assert!(
        (seat.at[0] - 90.0 * cos).hypot(seat.at[1] - 90.0 * sin) < 1e-9,
        "{:?}",
        seat.at
    );
    assert_eq!((seat.countersink, seat.back), (Some(5.0), false));
    // Cone of 90 degrees from 5 to its pilot: as deep as the radius grows.
    assert!((seat.sunk() - (5.0 - seat.diameter()) / 2.0).abs() < 1e-12);

    let steps = |part: &str| -> String {
        let sheet = all.sheets.iter().find(|s| s.part == part).unwrap();
        let mut said = String::new();
        for set_up in &sheet.setups {
            said += &format!("{}:\n", set_up.title);
            for s in &set_up.steps {
                said += &format!("{} {}\n", s.text, s.at);
            }
        }
        said
    };
    let said = steps("lever");
    assert!(
        said.contains("Holes from the back") && said.contains("x -90"),
        "{said}"
    );
    assert!(
        steps("lever-plate").contains("Countersink"),
        "{}",
        steps("lever-plate")
    );
    assert!(
        all.bought
            .iter()
            .any(|b| b.what.starts_with("plunger ⌀8 f7, 12 long")),
        "{:?}",
        all.bought
    );
    assert!(
        !all.findings.iter().any(|f| f.text.contains("detent")),
        "{:?}",
        all.findings
    );
}

#[test]
fn where_it_cannot_be_one_finding_says_so() {
    let told = |job: &Job| -> Vec<String> {
        let own = job
            .findings
            .iter()
            .filter(|f| f.text.contains("detent home"));
        own.map(|f| format!("{:?} {}: {} | {}", f.grade, f.about, f.text, f.advice))
            .collect()
    };
    // 20 from the pivot, whose hub is 32 across: 16 + 8 are more.
    let near = told(&job(|t| {
        t.replace("radius = \"90 mm\"", "radius = \"20 mm\"")
    }));
    assert!(
        near[0].contains("stands in the hub at lever stud"),
        "{near:?}"
    );
    // No boss: 34 does not go into 8.
    let thin = told(&job(|t| t.replace("boss = \"16 mm\", ", "")));
    assert_eq!(thin.len(), 1, "{thin:?}");
    assert!(
        thin[0].contains("Cannot lever")
            && thin[0].contains("8 of metal")
            && thin[0].contains("boss = \"16 mm\""),
        "{thin:?}"
    );
    // The plate ends before the seat.
    let short = told(&job(|t| t.replace("to = [35, 105]", "to = [35, 89]")));
    assert_eq!(short.len(), 1, "{short:?}");
    assert!(
        short[0].contains("Cannot lever-plate") && short[0].contains("2.07 from its edge"),
        "{short:?}"
    );
    let gone = told(&job(|t| t.replace("to = [35, 105]", "to = [35, 35]")));
    assert!(
        gone.len() == 1 && gone[0].contains("51.93 beyond its edge"),
        "{gone:?}"
    );
    assert!(job(|t| t).findings.iter().all(|f| f.grade != Grade::Cannot));
}

// Ball of 6 on a hole of 4: it sinks by 3 - √(9 - 4); cone of 60 degrees: deeper by the cotangent of 30.
#[test]
fn seats_by_their_kind() {
    let ball = job(|t| {
        t.replace(
            "seat   = { cone = \"90 deg\" }",
            "seat   = { hole = \"4 mm\", ball = \"6 mm\" }",
        )
        .replace("nose = \"6 mm\", mouth = \"5 mm\", ", "")
    });
    let seat = |job: &Job| {
        plate(job, "lever-plate")
            .holes
            .iter()
            .find(|h| h.name == "home-seat")
            .unwrap()
            .clone()
    };
    let hole = seat(&ball);
    assert_eq!((hole.diameter(), hole.countersink), (4.0, None));
    assert!(hole.blind.unwrap() >= 3.0 - 5f64.sqrt() + 1.0);
    assert!(
        ball.bought
            .iter()
            .any(|b| b.what.starts_with("hard ball ⌀6"))
    );
    let cone = seat(&job(|t| {
        t.replace("cone = \"90 deg\"", "cone = \"60 deg\"")
    }));
    let deep = (5.0 - cone.diameter()) / 2.0 * 3f64.sqrt();
    assert!((cone.sunk() - deep).abs() < 1e-9);
}

// Cheeks at -80 and 80 have a ring on one face: as drawn it looks to the front, so the one behind is its mirror image.
#[test]
fn cheeks_that_face_one_another_are_a_left_and_a_right() {
    // A bushing longer than the plate is thick gives the plate a ring.
    let long = |t: String| {
        t.replace(
            "outside = \"46 s6\", length = \"20 mm\"",
            "outside = \"46 s6\", length = \"30 mm\"",
        )
    };
    let all = job(long);
    let cheek = all.parts.iter().find(|p| p.name == "cheek").unwrap();
    assert_eq!((cheek.count, cheek.opposite()), (2, 1));
    assert_eq!(cheek.off(), "2 off (1 as drawn, 1 opposite hand)");
    let sheet = all.sheets.iter().find(|s| s.part == "cheek").unwrap();
    let steps: Vec<&str> = sheet
        .setups
        .iter()
        .flat_map(|s| s.steps.iter().map(|s| s.text.as_str()))
        .collect();
    let lay = steps
        .iter()
        .position(|s| s.contains("like a left and a right hand"))
        .unwrap();
    // The hole of the ring's pin is there: no centre drill goes into it, a plunged seat leads what follows to its coordinates.
    assert!(
        steps
            .iter()
            .any(|s| s.contains("plunge 3 deep at its coordinates")),
        "{steps:?}"
    );
    let vise = |s: &&shop::ops::SetUp| {
        s.steps.iter().any(|s| s.tool == "torch") && s.holding.contains("vise, on parallels")
    };
    assert!(!sheet.setups.iter().any(|s| vise(&s)));
    let braze = steps
        .iter()
        .position(|s| s.contains("Silver-braze"))
        .unwrap();
    assert!(lay < braze, "{steps:?}");
    // Head plates are their own mirror image, holes through: two alike.
    let head = all.parts.iter().find(|p| p.name == "head-plate").unwrap();
    assert_eq!(head.off(), "2 off");
    // Where nothing says where they stand it is told.
    let loose = job(|t| long(t).replace("station = [\"-80 mm\", \"80 mm\"]\n", ""));
    let told = loose
        .findings
        .iter()
        .find(|f| f.about == "cheek" && f.text.contains("a left and a right one"));
    assert!(
        told.is_some_and(|f| f.advice.contains("station")),
        "{:?}",
        loose.findings
    );
}

fn example(name: &str) -> Job {
    let at = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(name)
        .join("machine.toml");
    let machine = machine::read(&at).machine.unwrap();
    shop::job(&machine, &[])
}

// Two head plates carry one shaft: what makes them a pair stands on their own sheet, before their holes.
#[test]
fn plates_that_are_bored_together_say_so_on_their_sheets() {
    let all = job(|t| t);
    let sheet = all.sheets.iter().find(|s| s.part == "head-plate").unwrap();
    let set_up = sheet
        .setups
        .iter()
        .find(|s| {
            s.steps
                .iter()
                .any(|s| s.text.contains("Clamp all 2 together"))
        })
        .unwrap();
    assert!(set_up.title.starts_with("Holes"), "{}", set_up.title);
    let first = set_up.steps.first().unwrap();
    assert!(first.text.contains("crank centre"), "{}", first.text);
}

// The span is measured over its own teeth: from one space to the one so many further on.
#[test]
fn a_span_is_measured_between_spaces_so_many_apart() {
    let all = example("rolling-mill");
    let (part, sheet) = all
        .parts
        .iter()
        .zip(&all.sheets)
        .find(|(p, _)| p.teeth.as_ref().is_some_and(|t| t.spur.teeth <= 60))
        .unwrap();
    let (over, _) = part.teeth.as_ref().unwrap().span().unwrap();
    let mut steps = sheet.setups.iter().flat_map(|s| &s.steps);
    let measured = steps
        .find(|s| s.text.starts_with("The first space and the one"))
        .unwrap();
    assert!(
        measured
            .text
            .contains(&format!("the one {over} further on")),
        "{}",
        measured.text
    );
}
