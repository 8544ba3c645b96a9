//! No lettering of a packet lies on other lettering, on a line, or off its sheet; told of every sheet of every example and of made-up parts.

use super::paper::{Leaf, Page, Print};
use super::taken::crosses;
use super::{drawing_of, packet};
use crate::geometry::Rect;
use crate::sheet::{Group, Lettering, Pen};
use machine::Machine;
use std::path::Path;

/// The ink of a line of lettering, mm: capitals on the base line. Lower letters hang below it, which shows as touching only where it is much.
fn ink(l: &Lettering, extent: Rect) -> Rect {
    let (up, down) = (crate::font::above(l.height), crate::font::below(l.height));
    let (cut, tail) = (up - l.height, 0.8 * down);
    let mut r = extent;
    if l.upright {
        r.min[0] += cut;
        r.max[0] -= tail;
    } else {
        r.min[1] += cut;
        r.max[1] -= tail;
    }
    r.grown(-0.05)
}

/// What of a sheet lies on something else.
fn clashes(groups: &[Group], [w, h]: [f64; 2]) -> Vec<String> {
    let mut texts: Vec<(String, Rect)> = Vec::new();
    let mut lines: Vec<([f64; 2], [f64; 2])> = Vec::new();
    for g in groups {
        g.lettering(&mut |l, r| texts.push((l.text.clone(), ink(l, r))));
        g.pieces(&mut |a, b, pen| {
            // Lettering stands in the squares of a balloon and in frames on purpose; rows of a table stand on thin grey lines.
            if pen != Pen::Grid {
                lines.push((a, b));
            }
        });
    }
    let mut wrong = Vec::new();
    for (n, (text, r)) in texts.iter().enumerate() {
        if r.min[0] < 5.0 || r.min[1] < 5.0 || r.max[0] > w - 5.0 || r.max[1] > h - 5.0 {
            wrong.push(format!("\"{text}\" runs off"));
        }
        for (other, o) in &texts[..n] {
            if r.overlaps(o) {
                wrong.push(format!("\"{text}\" on \"{other}\""));
            }
        }
        if lines.iter().any(|(a, b)| crosses(*a, *b, *r)) {
            wrong.push(format!("\"{text}\" on a line"));
        }
    }
    wrong
}

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
    let mut wrong = Vec::new();
    for name in EXAMPLES {
        let machine = example(name);
        let job = job(&machine);
        for leaf in [Leaf::A4, Leaf::Letter] {
            for dual in [false, true] {
                for part in &job.parts {
                    let page = drawing_of(&machine, part, Print { leaf, dual });
                    let found = told(&page);
                    let which = format!("{name} {leaf:?} dual {dual} {}", part.name);
                    wrong.extend(found.into_iter().map(|w| format!("{which}: {w}")));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn nothing_lies_on_anything_on_any_sheet_of_the_examples() {
    let mut wrong = Vec::new();
    for name in EXAMPLES {
        let machine = example(name);
        let job = job(&machine);
        for leaf in [Leaf::A4, Leaf::Letter] {
            let packet = packet(&machine, &job, None, None, None, leaf);
            for (n, sheet) in packet.sheets.iter().enumerate() {
                let found = clashes(&sheet.groups, sheet.size);
                let which = format!("{name} {leaf:?} sheet {}", n + 1);
                wrong.extend(found.into_iter().map(|w| format!("{which}: {w}")));
            }
        }
    }
    assert!(wrong.is_empty(), "{}\n{}", wrong.len(), wrong.join("\n"));
}
