//! Steps carried out on paper: what is turned stays outside of the piece, what a cutter mills stays outside of the outline.

use machine::Machine;
use proptest::prelude::*;
use shop::Job;
use shop::contour::{P, Side};
use shop::part::{Form, Plate, Turned};
use std::fmt::Write as _;
use std::path::Path;

/// The embosser with these lines beside its own; none when they are refused.
fn with(lines: &str) -> Option<Machine> {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml");
    let text = std::fs::read_to_string(&path).unwrap() + lines;
    machine::read_as(&path, text.as_bytes()).machine
}

fn number(text: &str) -> f64 {
    text.trim().parse().unwrap_or_else(|_| panic!("{text}"))
}

/// From where to where a step is turned, from the left end, by what its sheet says.
fn turned_over(at: &str, long: f64) -> [f64; 2] {
    let words: Vec<&str> = at.split(' ').collect();
    let (near, far, side) = match words.as_slice() {
        ["from", a, "to", b, "of", "the", side, "face"] => (number(a), number(b), *side),
        [b, "from", "the", side, "face"] => (0.0, number(b), *side),
        _ => panic!("{at}"),
    };
    if side == "left" {
        [near, far]
    } else {
        [long - far, long - near]
    }
}

/// Every diameter that is turned takes nothing off a step that is larger.
fn turned_right(job: &Job, t: &Turned, name: &str) {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let mut cut = vec![f64::INFINITY; t.steps.len()];
    for step in sheet.setups.iter().flat_map(|s| &s.steps) {
        let Some((kind, rest)) = ["Rough to ⌀", "Finish to ⌀"]
            .iter()
            .find_map(|k| step.text.strip_prefix(k).map(|r| (*k, r)))
        else {
            continue;
        };
        let digits: String = rest
            .chars()
            .take_while(|c| c.is_ascii_digit() || *c == '.')
            .collect();
        let to = number(digits.trim_end_matches('.'));
        let [a, b] = turned_over(&step.at, t.length());
        for (n, s) in t.steps.iter().enumerate() {
            let over = b.min(s.to) - a.max(s.from);
            if over < 1e-3 {
                continue;
            }
            // A thread is turned under its size; a fit to the middle of its limits.
            let least = s.diameter - s.thread.as_ref().map_or(0.0, |t| 0.2 * t.pitch) - 0.1;
            assert!(
                to > least,
                "{kind}{to} at {} takes ⌀{} between {} and {}\n{:#?}",
                step.at,
                s.diameter,
                s.from,
                s.to,
                t.steps
            );
            if over > s.length() - 1e-3 {
                cut[n] = cut[n].min(to);
            }
        }
    }
    let bar = t.steps.iter().map(|s| s.diameter).fold(0.0, f64::max);
    for (s, cut) in t.steps.iter().zip(cut) {
        // Each step that is not the bar is turned to its size.
        if s.diameter < bar - 1e-6 {
            assert!(
                (cut - s.diameter).abs() < 0.3,
                "⌀{} between {} and {} is turned to {cut}\n{:#?}",
                s.diameter,
                s.from,
                s.to,
                t.steps
            );
        }
    }
}

fn step() -> impl Strategy<Value = (usize, f64, usize, bool)> {
    (
        0usize..7,
        prop::sample::select(vec![3.0, 8.0, 15.0, 30.0, 60.0, 120.0]),
        0usize..4,
        any::<bool>(),
    )
}

fn piece(bar: f64, steps: &[(usize, f64, usize, bool)], count: usize) -> String {
    let mut list = String::new();
    for (size, length, class, chamfer) in steps {
        let d = [bar, bar - 2.0, bar * 0.7, bar * 0.5, bar * 0.4][(*size).min(4)];
        let class = ["", " h6", " g6", " k6"][*class];
        let size = match size {
            5 if bar >= 12.0 => "thread = \"M8\"".to_owned(),
            6 if bar >= 12.0 => "thread = \"M6\", relief = true".to_owned(),
            _ if class.is_empty() => format!("diameter = \"{d:.1} mm\""),
            _ => format!("diameter = \"{d:.1}{class}\""),
        };
        let chamfer = if *chamfer {
            ", chamfer = \"0.5 mm\""
        } else {
            ""
        };
        let _ = write!(list, "{{ {size}, length = \"{length} mm\"{chamfer} }}, ");
    }
    format!(
        "\n[piece.it]\ncount = {count}\nstock = {{ round = \"{bar} mm\", material = \"1018 cold drawn\" }}\nsteps = [{list}]\n"
    )
}

proptest! {
    #[test]
    fn no_step_takes_a_larger_one_off(
        bar in prop::sample::select(vec![12.0, 20.0, 30.0, 50.0]),
        steps in prop::collection::vec(step(), 1..7),
        count in 1usize..4,
    ) {
        let lines = piece(bar, &steps, count);
        let Some(machine) = with(&lines) else { return Ok(()) };
        let job = shop::job(&machine, &[]);
        let part = job.parts.iter().find(|p| p.name == "it").unwrap();
        let Form::Turned(t) = &part.form else { panic!("turned") };
        turned_right(&job, t, "it");
        // No die goes over a collar.
        let sheet = job.sheets.iter().find(|s| s.part == "it").unwrap();
        for (n, s) in t.steps.iter().enumerate() {
            let larger = |o: &[shop::part::Step]| o.iter().any(|o| o.diameter > s.diameter + 1e-6);
            if s.thread.is_some() && larger(&t.steps[..n]) && larger(&t.steps[n + 1..]) && t.steps.iter().filter(|s| s.thread.is_some()).count() == 1 {
                let dies = sheet.setups.iter().flat_map(|s| &s.steps).any(|s| s.tool.starts_with("die "));
                prop_assert!(!dies, "{lines}");
            }
        }
    }
}

/// The number behind a word of a text.
fn behind(text: &str, word: &str) -> Option<f64> {
    let rest = &text[text.find(word)? + word.len()..];
    let digits: String = rest
        .trim_start()
        .chars()
        .take_while(|c| c.is_ascii_digit() || ".-".contains(*c))
        .collect();
    digits.trim_end_matches('.').parse().ok()
}

/// How far a cutter that runs round an end comes into the outline, at most; none where the step is another one.
fn gouges(p: &Plate, step: &shop::ops::Step) -> Option<f64> {
    let r = behind(&step.tool, "end mill")? / 2.0;
    let worst = |at: P| r - p.outline.distance(at);
    let off = behind(&step.text, "cutter")?;
    let (round, from, to) = (
        behind(&step.text, " to R")?,
        behind(&step.text, "table turned clockwise from")?,
        behind(&step.text, "° to")?,
    );
    // The table turns against the angles of the work: clockwise from the arc's beginning to its end, or less far where the rest is filed.
    let turned = |a: f64| (-a).to_radians();
    p.outline
        .sides()
        .into_iter()
        .filter_map(|s| match s {
            Side::Arc {
                centre,
                radius,
                from: begins,
                sweep,
            } if sweep > 0.0 && (radius - round).abs() < 2e-3 => {
                let along = |a: f64| (turned(a) - begins + 1e-4).rem_euclid(std::f64::consts::TAU);
                let (a, b) = (along(from), along(to));
                (a <= b && b <= sweep + 2e-4).then(|| {
                    (0..=120)
                        .map(|n| {
                            let angle = begins + a + (b - a) * f64::from(n) / 120.0;
                            worst(shop::contour::polar(centre, off, angle))
                        })
                        .fold(f64::NEG_INFINITY, f64::max)
                })
            }
            _ => None,
        })
        .min_by(f64::total_cmp)
}

proptest! {
    #[test]
    fn no_cutter_runs_into_the_outline(
        reach in 40.0..120.0f64,
        other in 30.0..80.0f64,
        angle in 60.0..170.0f64,
        bosses in [14.0..36.0f64, 12.0..30.0f64, 12.0..30.0f64],
        fillet in 1.0..12.0f64,
    ) {
        let [a, b, c] = bosses;
        let (x, y) = (other * angle.to_radians().cos(), other * angle.to_radians().sin());
        let text = format!(
            "name = \"Lever\"\nunit = \"mm\"\nshop = \"shop.toml\"\n\n[point]\nit-a = [0, 0]\nit-b = [{reach}, 0]\nit-c = [{x}, {y}]\n\n[frame]\ncarries = [\"it-a\"]\n\n[part.it]\ncarries = [\"it-a\", \"it-b\", \"it-c\"]\nstock = {{ flat = [\"8 mm\", \"40 mm\"], material = \"1018 cold drawn\" }}\nhole.it-a = {{ ream = \"8 H7\" }}\nhole.it-b = {{ ream = \"6 H7\" }}\nhole.it-c = {{ ream = \"6 H7\" }}\n\n[piece.it]\nfillet = \"{fillet} mm\"\nboss.it-a = \"{a} mm\"\nboss.it-b = \"{b} mm\"\nboss.it-c = \"{c} mm\"\n\n[drive.set]\nturns = \"it\"\nrange = [\"0 deg\", \"30 deg\"]\n"
        );
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/lever.toml");
        let read = machine::read_as(&path, text.as_bytes());
        let Some(machine) = read.machine else { panic!("{:?}\n{text}", read.problems) };
        let job = shop::job(&machine, &[]);
        let part = job.parts.iter().find(|p| p.name == "it").unwrap();
        let Form::Plate(p) = &part.form else { panic!("plate") };
        let sheet = job.sheets.iter().find(|s| s.part == "it").unwrap();
        let mut rounds = 0;
        for step in sheet.setups.iter().flat_map(|s| &s.steps) {
            if let Some(most) = gouges(p, step) {
                rounds += 1;
                prop_assert!(most < 0.05, "{} [{}] at {} runs {most} into the outline\n{text}", step.text, step.tool, step.at);
            }
        }
        let told = sheet.setups.iter().flat_map(|s| &s.steps).filter(|s| s.text.starts_with("Round the") && s.text.contains(", table turned")).count();
        prop_assert_eq!(rounds, told, "{}", text);
    }
}
