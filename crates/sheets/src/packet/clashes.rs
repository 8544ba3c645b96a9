//! No lettering of a packet lies on other lettering, on a line, or off its sheet; told of every sheet of every example and of made-up parts.

use super::legible::clashes;
use super::paper::{Leaf, Page, Print};
use super::{drawing_of, packet};
use machine::Machine;
use std::path::Path;

fn told(page: &Page) -> Vec<String> {
    clashes(&page.groups, page.size)
}

fn example(name: &str) -> Machine {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(name);
    let read = machine::read(&path).machine;
    read.unwrap_or_else(|| panic!("{name} is an example"))
}

/// Its parts, cams too.
fn job(machine: &Machine) -> shop::Job {
    shop::job(machine, &studies::cams::shapes(&studies::assemble(machine)))
}

const EXAMPLES: [&str; 5] = [
    "strap-embosser/machine.toml",
    "strap-embosser/powered.toml",
    "rolling-mill/machine.toml",
    "power-hacksaw/machine.toml",
    "treadle/machine.toml",
];

#[test]
fn nothing_lies_on_anything_on_the_drawings_of_the_examples() {
    let (mut wrong, mut both) = (Vec::new(), Vec::new());
    for name in EXAMPLES {
        let machine = example(name);
        let job = job(&machine);
        for leaf in [Leaf::A4, Leaf::Letter] {
            for dual in [false, true] {
                for part in &job.parts {
                    let page = drawing_of(&machine, part, Print { leaf, dual });
                    let found = told(&page);
                    let which = format!("{name} {leaf:?} {}", part.name);
                    let list = if dual { &mut both } else { &mut wrong };
                    list.extend(found.into_iter().map(|w| format!("{which}: {w}")));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}\n{}", wrong.len(), wrong.join("\n"));
    assert!(both.is_empty(), "{}\n{}", both.len(), both.join("\n"));
}

#[test]
fn nothing_lies_on_anything_on_any_sheet_of_the_examples() {
    let mut wrong = Vec::new();
    for name in EXAMPLES {
        let machine = example(name);
        let job = job(&machine);
        let model = studies::assemble(&machine);
        let stand = model.drawn();
        let standing = studies::standing(&model, &stand);
        let standing = standing.unwrap_or_else(|e| panic!("{name} stands: {e:?}"));
        let pose = crate::Pose {
            standing: &standing,
            drives: &stand.drives,
            settings: &stand.settings,
        };
        let setting = super::Setting {
            up: studies::setting_up(&model),
            parts: studies::parts::parts(&model),
        };
        let dial = studies::dial::paper(&model, None).ok();
        for leaf in [Leaf::A4, Leaf::Letter] {
            let packet = packet(
                &machine,
                &job,
                Some(&pose),
                Some(&setting),
                dial.as_ref(),
                leaf,
            );
            for (n, sheet) in packet.sheets.iter().enumerate() {
                let found = clashes(&sheet.groups, sheet.size);
                let which = format!("{name} {leaf:?} sheet {}", n + 1);
                wrong.extend(found.into_iter().map(|w| format!("{which}: {w}")));
            }
        }
    }
    assert!(wrong.is_empty(), "{}\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn small_turned_parts_share_sheets_and_each_has_its_drawing_whole() {
    let machine = example("rolling-mill/machine.toml");
    let job = job(&machine);
    let packet = packet(&machine, &job, None, None, None, Leaf::A4);
    let shared = (0..packet.len()).filter(|n| {
        let own = |p: &&shop::Part| matches!(p.form, shop::part::Form::Turned(_));
        let turned: Vec<&str> = job
            .parts
            .iter()
            .filter(own)
            .map(|p| p.name.as_str())
            .collect();
        let about = packet.about(*n);
        about.len() > 1 && about.iter().all(|a| turned.contains(&a.as_str()))
    });
    assert!(shared.count() > 0, "sheets about two turned parts");
    // Every part stands in the block of some sheet, and all of its sheets follow one another.
    for part in &job.parts {
        let own = |n: &usize| packet.about(*n).contains(&part.name);
        let all: Vec<usize> = (0..packet.len()).filter(own).collect();
        let name = shop::words::spoken(&part.name);
        let first = all.first().and_then(|n| packet.titles().nth(*n));
        assert!(
            first.is_some_and(|t| t.contains(&name)),
            "{name}: {first:?}"
        );
    }
}

#[test]
fn bores_that_a_section_shows_are_sized_in_it_and_not_told_again() {
    let machine = example("rolling-mill/machine.toml");
    let job = job(&machine);
    let part = job.parts.iter().find(|p| p.name.starts_with("bushing-20"));
    let part = part.expect("it has this bushing");
    let page = drawing_of(&machine, part, Print::from(Leaf::A4));
    let mut written = Vec::new();
    for g in &page.groups {
        g.lettering(&mut |l, _| written.push(l.text.clone()));
    }
    let bore = written.iter().filter(|t| t.contains("⌀20 F7"));
    assert_eq!(bore.count(), 1, "{written:?}");
    assert!(
        !written.iter().any(|t| t.contains("From the")),
        "{written:?}"
    );
}

/// Numbers without order, the same on every run.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        // Knuth's MMIX constants.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1_u64 << 31) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        // Whole tenths, as on a drawing.
        ((low + (high - low) * self.next()) * 10.0).round() / 10.0
    }

    fn below(&mut self, n: usize) -> usize {
        ((self.next() * n as f64) as usize).min(n - 1)
    }
}

/// A plate with a few of everything, like those of the examples.
fn random_plate(d: &mut Dice, fits: &[machine::fitting::Fitted]) -> shop::part::Plate {
    use shop::contour::{Contour, Vertex};
    use shop::part::{EdgeHole, Hole, Plate, RoundEnd, Slot};
    let (w, h) = (d.between(30.0, 260.0), d.between(20.0, 160.0));
    let thickness = d.between(4.0, 30.0);
    let zero = [d.between(0.0, w / 2.0), d.between(0.0, h / 2.0)];
    let kind = d.below(3);
    let small = d.between(0.25 * h, 0.5 * h);
    let outline = match kind {
        0 => {
            let r = h / 2.0;
            Contour::capsule(([0.0, 0.0], r), ([w, 0.0], small))
        }
        1 => Contour {
            vertices: [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]
                .map(|p| Vertex {
                    at: [p[0] - zero[0], p[1] - zero[1]],
                    bulge: 0.0,
                })
                .to_vec(),
        },
        _ => Contour {
            vertices: [
                [0.0, 0.0],
                [w, 0.0],
                [w, 0.6 * h],
                [0.7 * w, h],
                [0.0, 0.8 * h],
            ]
            .map(|p| Vertex {
                at: [p[0] - zero[0], p[1] - zero[1]],
                bulge: 0.0,
            })
            .to_vec(),
        },
    };
    let [low, high] = outline.bounds();
    let mut plate = Plate {
        thickness,
        outline,
        datum_hole: true,
        ..Plate::default()
    };
    let inside = |d: &mut Dice| {
        [
            d.between(low[0] + 0.15 * w, high[0] - 0.15 * w),
            d.between(low[1] + 0.25 * h, high[1] - 0.25 * h),
        ]
    };
    if kind == 0 {
        plate.ends.push(RoundEnd {
            name: "far".to_owned(),
            at: [w, 0.0],
            radius: small,
            hub: None,
            solid: false,
        });
        plate.ends.push(RoundEnd {
            name: "end".to_owned(),
            at: [0.0, 0.0],
            radius: h / 2.0,
            hub: (d.below(2) == 0).then_some(thickness + 8.0),
            solid: false,
        });
    }
    for n in 0..=d.below(6) {
        let fitted = fits[d.below(fits.len())].clone();
        let size = shop::part::diameter(&fitted);
        plate.holes.push(Hole {
            name: format!("point-{n}"),
            at: if n == 0 { [0.0, 0.0] } else { inside(d) },
            blind: (d.below(4) == 0).then_some(0.6 * thickness),
            through: thickness,
            counterbore: (d.below(4) == 0).then_some([1.7 * size, 0.4 * thickness]),
            countersink: None,
            sink: shop::part::SINK,
            back: false,
            place: (d.below(2) == 0).then_some(0.05),
            fitted,
        });
    }
    for n in 0..d.below(2) {
        let from = inside(d);
        plate.slots.push(Slot {
            name: format!("slot-{n}"),
            ends: [from, [from[0] + 12.0, from[1] + d.between(-5.0, 5.0)]],
            centre: None,
            width: 6.0,
            class: None,
            depth: None,
        });
    }
    for n in 0..d.below(3) {
        let y = d.between(low[1] + 0.2 * h, low[1] + 0.5 * h);
        let narrow = fits[d.below(fits.len())].clone();
        // One larger than the plate is thick is refused before it is drawn.
        if shop::part::diameter(&narrow) > 0.8 * thickness {
            continue;
        }
        plate.edge_holes.push(EdgeHole {
            name: format!("side-{n}"),
            towards: [high[0] - 10.0, y],
            from: 0.0,
            enters: [high[0], y],
            depth: 12.0,
            fitted: narrow,
        });
    }
    for n in 0..d.below(3) {
        plate.marks.push((format!("mark-{n}"), inside(d)));
    }
    plate
}

fn random_turned(d: &mut Dice) -> shop::part::Turned {
    use shop::part::{Cross, Step, Turned};
    let mut t = Turned::default();
    let mut at = 0.0;
    for _ in 0..=d.below(6) {
        let to = at + d.between(4.0, 60.0);
        t.steps.push(Step {
            from: at,
            to,
            diameter: d.between(8.0, 60.0),
            class: None,
            thread: None,
            relief: false,
            throw: (d.below(6) == 0).then(|| [3.0, d.between(0.0, 6.0)]),
            chamfer: if d.below(2) == 0 { 1.0 } else { 0.0 },
            sides: 0,
            as_bar: false,
        });
        at = to;
    }
    for n in 0..d.below(3) {
        let size = d.between(0.1, 0.9) * at;
        t.cross.push(Cross {
            name: format!("across-{n}"),
            at: size,
            from: d.between(0.0, 6.0),
            fitted: tapped(),
            blind: None,
        });
    }
    t
}

fn tapped() -> machine::fitting::Fitted {
    let machine = example("strap-embosser/machine.toml");
    let job = job(&machine);
    let holes = job.parts.iter().filter_map(|p| match &p.form {
        shop::part::Form::Plate(p) => Some(&p.holes),
        shop::part::Form::Turned(_) => None,
    });
    let tapped =
        |f: &machine::fitting::Fitted| matches!(f, machine::fitting::Fitted::Tapped { .. });
    let found = holes.flatten().map(|h| h.fitted.clone()).find(tapped);
    found.unwrap_or_else(|| panic!("the embosser has a tapped hole"))
}

#[test]
fn nothing_lies_on_anything_on_drawings_of_made_up_parts() {
    let machine = example("strap-embosser/machine.toml");
    let job = job(&machine);
    let plates = || {
        job.parts.iter().filter_map(|p| match &p.form {
            shop::part::Form::Plate(plate) => Some((p, plate)),
            shop::part::Form::Turned(_) => None,
        })
    };
    let fits: Vec<_> = plates()
        .flat_map(|(_, p)| p.holes.iter().map(|h| h.fitted.clone()))
        .collect();
    let model = plates().next().map(|p| p.0.clone());
    let model = model.unwrap_or_else(|| panic!("the embosser has a plate"));
    let mut dice = Dice(20_260);
    let mut wrong = Vec::new();
    for n in 0..300 {
        let form = if n % 3 == 2 {
            shop::part::Form::Turned(random_turned(&mut dice))
        } else {
            shop::part::Form::Plate(random_plate(&mut dice, &fits))
        };
        let part = shop::Part {
            name: format!("made-up-{n}"),
            form,
            ..model.clone()
        };
        let leaf = if n % 2 == 0 { Leaf::A4 } else { Leaf::Letter };
        let print = Print {
            leaf,
            dual: n % 5 == 0,
        };
        let page = drawing_of(&machine, &part, print);
        wrong.extend(told(&page).into_iter().map(|w| format!("{n}: {w}")));
    }
    // Where ten sizes in two units meet on a few millimetres of paper one of them may touch a line: 2 of some 4,000 did when this was written.
    assert!(wrong.len() <= 2, "{}\n{}", wrong.len(), wrong.join("\n"));
}
