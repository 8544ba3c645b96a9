//! The written sheets: what to read first, cut list, what to buy, operations.

use super::paper::{Block, Column, Flow, Leaf, Page};
use machine::Machine;
use quantity::Unit;
use shop::ops::Sheet;
use shop::{Grade, Job, Part, words};

const fn column(head: &'static str, share: f64) -> Column {
    Column { head, share }
}

/// Hours and minutes.
fn time(minutes: f64) -> String {
    let m = minutes.round();
    if m < 90.0 {
        format!("{m:.0} min")
    } else {
        format!("{} h", words::number(m / 60.0, 1))
    }
}

pub(super) fn first(machine: &Machine, job: &Job, contents: &[String], leaf: Leaf) -> Vec<Page> {
    let block = Block {
        machine: machine.name.clone(),
        title: "Read this first".to_owned(),
        ..Block::default()
    };
    let mut flow = Flow::new(leaf, block, "Read this first", false);
    flow.title(&format!("{}: shop papers", machine.name));
    if !machine.note.is_empty() {
        flow.text(&machine.note);
    }
    flow.caution("These papers are worked out from a drawing and from tables, not from your machine: they are estimates. Local codes, machine guarding rules and licensed practice come first. Whoever builds answers for what is built.");
    flow.caution("Stored force, pinch points, presses, flywheels and flying chips hurt: eye protection, guards in place, hands out of the work, the spindle stopped before measuring.");
    flow.heading("Before the first cut");
    flow.item("1", "Print at 100 %. Measure the bars at the foot of a sheet: 100 mm and 4 in. A template from a sheet whose bars are off is waste paper.");
    flow.item("2", "Drawings give sizes, operation sheets give an order that works. Speeds are what this shop's machines have; begin slower when in doubt and listen.");
    flow.item("3", "Measure what came: bar, bearings, bushings, rod ends, screws. What is written here are catalogue sizes.");
    let minutes = |i: usize| job.sheets.iter().map(|s| s.minutes[i]).sum::<f64>();
    flow.item("4", &format!(
        "{} parts in {} kinds, about {} at the machines; between {} for a practised hand and {} the first time. Waiting, sharpening and looking for tools not counted.",
        job.parts.iter().map(|p| p.count).sum::<usize>(), job.parts.len(), time(minutes(1)), time(minutes(0)), time(minutes(2))
    ));
    for (grade, head) in [
        (Grade::Cannot, "What this shop cannot do"),
        (Grade::WayRound, "Where another way is taken"),
        (Grade::Assumed, "What was taken for granted"),
    ] {
        // One sentence for all parts it is about.
        let mut told: Vec<(String, &str, Vec<String>)> = Vec::new();
        for f in job.findings.iter().filter(|f| f.grade == grade) {
            let about = words::spoken(&f.about);
            match told
                .iter_mut()
                .find(|(text, advice, _)| *text == f.text && *advice == f.advice)
            {
                Some((_, _, parts)) => parts.push(about),
                None => told.push((f.text.clone(), &f.advice, vec![about])),
            }
        }
        let assumed: Vec<(String, String)> = if grade == Grade::Assumed {
            job.parts
                .iter()
                .flat_map(|p| p.assumed.iter().map(|a| (p.name.clone(), a.clone())))
                .collect()
        } else {
            Vec::new()
        };
        if told.is_empty() && assumed.is_empty() {
            continue;
        }
        flow.heading(head);
        for (text, advice, parts) in told {
            let about: Vec<String> = parts.into_iter().filter(|p| !p.is_empty()).collect();
            let lead = if about.is_empty() {
                String::new()
            } else {
                format!("{}: ", about.join(", "))
            };
            flow.item("–", &format!("{lead}{text}; {advice}."));
        }
        for (part, text) in assumed {
            flow.item("–", &format!("{}: {text}", words::spoken(&part)));
        }
    }
    flow.heading("Sheets");
    for line in contents {
        flow.item("·", line);
    }
    flow.finish()
}

pub(super) fn lists(machine: &Machine, job: &Job, leaf: Leaf) -> Vec<Page> {
    let unit = machine.unit;
    let block = Block {
        machine: machine.name.clone(),
        title: "Cut list and what to buy".to_owned(),
        ..Block::default()
    };
    let l = |x: f64| words::number(unit.from_inside(x), if unit == Unit::Inch { 3 } else { 1 });
    let mut flow = Flow::new(leaf, block, "Cut list and what to buy", false);
    flow.title("Cut list");
    flow.text(&format!(
        "Lengths in {}, with {} on each end to face. Every cut costs {}.",
        unit.symbol(),
        l(facing(job)),
        l(job.cut.kerf)
    ));
    let rows: Vec<Vec<String>> = job
        .cut
        .blanks
        .iter()
        .map(|b| {
            vec![
                words::spoken(&b.part),
                b.count.to_string(),
                b.stock.clone(),
                b.material.clone(),
                l(b.length),
                mass(b.mass * b.count as f64),
            ]
        })
        .collect();
    flow.table(
        &[
            column("part", 30.0),
            column("off", 8.0),
            column("stock", 28.0),
            column("material", 36.0),
            column("length", 18.0),
            column("finished, all", 20.0),
        ],
        &rows,
    );
    let total: f64 = job.cut.blanks.iter().map(|b| b.mass * b.count as f64).sum();
    flow.text(&format!("All parts finished weigh {}.", mass(total)));
    flow.heading("Bars, and what is cut from each");
    let rows: Vec<Vec<String>> = job
        .cut
        .bars
        .iter()
        .map(|b| {
            let cuts: Vec<String> = b
                .cuts
                .iter()
                .map(|(p, x)| format!("{} {}", words::spoken(p), l(*x)))
                .collect();
            let from = b.rack.as_ref().map_or_else(
                || "buy".to_owned(),
                |r| format!("rack: {}", words::spoken(r)),
            );
            vec![
                from,
                b.stock.clone(),
                b.material.clone(),
                l(b.length),
                cuts.join(", "),
                l(b.left),
            ]
        })
        .collect();
    flow.table(
        &[
            column("from", 24.0),
            column("stock", 26.0),
            column("material", 30.0),
            column("length", 15.0),
            column("cuts in order", 55.0),
            column("left", 14.0),
        ],
        &rows,
    );
    flow.text(if job.cut.proved {
        "No packing of these lengths buys less bar."
    } else {
        "This list is too long for the search to be sure that no packing buys less bar."
    });
    flow.heading("Buy");
    let rows: Vec<Vec<String>> = job
        .bought
        .iter()
        .map(|b| vec![b.count.to_string(), b.what.clone(), b.for_what.clone()])
        .collect();
    flow.table(
        &[
            column("off", 8.0),
            column("what", 80.0),
            column("for", 55.0),
        ],
        &rows,
    );
    flow.finish()
}

fn facing(job: &Job) -> f64 {
    // A blank is its part and twice the facing.
    let first = job.parts.first().zip(job.cut.blanks.first());
    first.map_or(0.0, |(p, b)| (b.length - shop::cut::blank(p)) / 2.0)
}

/// Kilograms, or grams when it is little.
pub(super) fn mass(kg: f64) -> String {
    if kg < 1.0 {
        format!("{:.0} g", kg * 1000.0)
    } else {
        format!("{kg:.2} kg")
    }
}

pub(super) fn operations(
    part: &Part,
    sheet: &Sheet,
    block: Block,
    leaf: Leaf,
    unit: Unit,
) -> Vec<Page> {
    let mut flow = Flow::new(leaf, block, "Operations", true);
    flow.title(&format!("{}: operations", words::spoken(&part.name)));
    let count = if sheet.count == 1 {
        "one".to_owned()
    } else {
        format!("{} alike", sheet.count)
    };
    flow.text(&format!(
        "Make {count}, {} of {}. About {}, between {} and {}. Coordinates and lengths in {}.",
        words::section(&part.section, unit),
        part.material.name,
        time(sheet.minutes[1]),
        time(sheet.minutes[0]),
        time(sheet.minutes[2]),
        unit.symbol()
    ));
    for (n, set_up) in sheet.setups.iter().enumerate() {
        flow.heading(&format!("Set-up {}: {}", n + 1, set_up.title));
        flow.text(&format!(
            "{}. Held: {}. Zero: {}.",
            capital(&set_up.machine),
            set_up.holding,
            set_up.zero
        ));
        for caution in &set_up.cautions {
            flow.caution(caution);
        }
        let rows: Vec<Vec<String>> = set_up
            .steps
            .iter()
            .map(|s| {
                let mut what = s.text.clone();
                if !s.why.is_empty() {
                    what = format!("{what} ({})", s.why);
                }
                let speed = s.rpm.map_or_else(String::new, |r| words::number(r, 0));
                let feed = s.feed.map_or_else(String::new, |f| {
                    words::number(unit.from_inside(f), if unit == Unit::Inch { 4 } else { 2 })
                });
                vec![
                    s.number.to_string(),
                    what,
                    s.tool.clone(),
                    speed,
                    feed,
                    s.at.clone(),
                    s.check.clone(),
                ]
            })
            .collect();
        flow.table(
            &[
                column("", 8.0),
                column("step", 58.0),
                column("tool", 23.0),
                column("rev/min", 14.0),
                column("a turn", 12.0),
                column("where", 31.0),
                column("before going on", 34.0),
            ],
            &rows,
        );
    }
    flow.finish()
}

fn capital(text: &str) -> String {
    let mut c = text.chars();
    c.next().map_or_else(String::new, |f| {
        f.to_uppercase().collect::<String>() + c.as_str()
    })
}
