//! The written sheets: what to read first, cut list, what to buy, operations.

use super::flow::{Column, Flow, settled};
use super::paper::{Block, Leaf, Page, Print};
use machine::Machine;
use machine::equipment::RotaryTable;
use quantity::Unit;
use shop::ops::{CUT_TEETH, SetUp, Sheet, Step, tooth_place};
use shop::words::{self, Units};
use shop::{Grade, Job, Part};

const fn column(head: &'static str, share: f64) -> Column {
    Column { head, share }
}

/// Columns of what is said of teeth.
pub(super) const TEETH: [Column; 2] = [column("", 40.0), column("", 80.0)];

/// Hours and minutes.
fn time(minutes: f64) -> String {
    let m = minutes.round();
    if m < 90.0 {
        format!("{m:.0} min")
    } else {
        format!("{} h", words::number(m / 60.0, 1))
    }
}

pub(super) fn first(machine: &Machine, job: &Job, leaf: Leaf) -> Vec<Page> {
    let block = Block {
        machine: machine.name.clone(),
        title: "Read this first".to_owned(),
        ..Block::default()
    };
    settled(|foot| {
        let flow = Flow::new(leaf, block.clone(), "Read this first", false).clear(foot);
        first_words(machine, job, flow)
    })
}

fn first_words(machine: &Machine, job: &Job, mut flow: Flow) -> Flow {
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
    let dials = shop::dials(machine);
    if dials != machine.unit {
        let (dials, drawn) = (words::unit_name(dials), words::unit_name(machine.unit));
        flow.item("5", &format!(
            "Drawings, templates and the setting sheet are in {drawn}; operation sheets and the cut list are in {dials}, as this shop's dials are, with the size on the drawing in brackets."
        ));
    }
    for (grade, head) in [
        (
            Grade::Unsound,
            "Before anything is cut: what the checks miss",
        ),
        (Grade::Cannot, "What this shop cannot do"),
        (Grade::WayRound, "Where another way is taken"),
        (Grade::Assumed, "What was taken for granted"),
    ] {
        let told: Vec<shop::Told> = shop::told(&job.findings)
            .into_iter()
            .filter(|f| f.grade == grade)
            .collect();
        // What was taken for granted alike of several parts is one sentence.
        let mut assumed: Vec<(String, Vec<String>)> = Vec::new();
        if grade == Grade::Assumed {
            for part in &job.parts {
                for text in &part.assumed {
                    let name = words::spoken(&part.name);
                    match assumed.iter_mut().find(|(t, _)| t == text) {
                        Some((_, parts)) => parts.push(name),
                        None => assumed.push((text.clone(), vec![name])),
                    }
                }
            }
        }
        if told.is_empty() && assumed.is_empty() {
            continue;
        }
        flow.list(head);
        for f in told {
            flow.item("–", &format!("{}; {}.", f.text, f.advice));
        }
        for (text, parts) in assumed {
            flow.item("–", &format!("{}: {text}", parts.join(", ")));
        }
    }
    flow
}

pub(super) fn lists(machine: &Machine, job: &Job, print: Print) -> Vec<Page> {
    let block = Block {
        machine: machine.name.clone(),
        title: "Cut list and what to buy".to_owned(),
        ..Block::default()
    };
    settled(|foot| {
        let title = "Cut list and what to buy";
        let flow = Flow::new(print.leaf, block.clone(), title, false).clear(foot);
        lists_on(machine, print, job, flow)
    })
}

fn lists_on(machine: &Machine, print: Print, job: &Job, mut flow: Flow) -> Flow {
    // Stock is sawn by the rule of the shop; beside it stands what the drawings say, where that is another unit.
    let unit = shop::dials(machine);
    let units = if unit == machine.unit {
        print.units(unit)
    } else {
        Units {
            first: unit,
            beside: Some(machine.unit),
        }
    };
    let one = |x: f64, unit: Unit| {
        words::number(unit.from_inside(x), if unit == Unit::Inch { 3 } else { 1 })
    };
    let l = |x: f64| {
        let beside = units.beside.map(|u| format!(" [{}]", one(x, u)));
        one(x, unit) + &beside.unwrap_or_default()
    };
    flow.title("Cut list");
    flow.text(&format!(
        "Lengths in {}, with {} on each end to face, and with what the chuck holds where a part is turned over its whole length. Every cut costs {}.",
        words::unit_name(unit),
        l(job.cut.facing),
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
                if b.blanks == b.count {
                    l(b.length)
                } else {
                    format!("{} x {}", b.blanks, l(b.length))
                },
                mass(b.mass * b.count as f64, unit),
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
    // What is brazed on weighs with its part.
    let rings = job.parts.iter().any(shop::Part::is_ring);
    let total: f64 = job
        .parts
        .iter()
        .filter(|p| !p.is_ring())
        .map(|p| p.mass() * p.count as f64)
        .sum();
    flow.text(&format!(
        "All parts finished weigh {}{}.",
        mass(total, unit),
        if rings {
            ", rings that are brazed on counted with their part"
        } else {
            ""
        }
    ));
    let rows: Vec<Vec<String>> = job
        .cut
        .bars
        .iter()
        .map(|b| {
            // Pieces alike are told once: how many, how long, for what.
            let alike = b.cuts.chunk_by(|a, b| a == b);
            let cuts: Vec<String> = alike
                .filter_map(|c| {
                    let (part, long) = c.first()?;
                    let times = if c.len() > 1 {
                        format!("{} x ", c.len())
                    } else {
                        String::new()
                    };
                    Some(format!("{times}{} ({})", l(*long), words::spoken(part)))
                })
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
    // Two units do not break in the middle of a number.
    let numbers = if units.beside.is_some() { 26.0 } else { 14.0 };
    flow.section(
        "Bars, and what is cut from each",
        "",
        &[
            column("from", 24.0),
            column("stock", 26.0),
            column("material", 30.0),
            column("length", numbers + 1.0),
            column("cuts in order", 55.0),
            column("left", numbers),
        ],
        &rows,
    );
    flow.text(if job.cut.proved {
        "No packing of these lengths buys less bar."
    } else {
        "This list is too long for the search to be sure that no packing buys less bar."
    });
    super::nest::lists(&mut flow, job, &l);
    let rows: Vec<Vec<String>> = job
        .bought
        .iter()
        .map(|b| vec![b.count.to_string(), b.what.clone(), b.for_what.clone()])
        .collect();
    flow.together(&|flow: &mut Flow| {
        flow.heading("Buy");
        if rows.is_empty() {
            flow.text("Nothing but the bars and plate above.");
            return;
        }
        flow.table(
            &[
                column("off", 8.0),
                column("what", 80.0),
                column("for", 55.0),
            ],
            &rows,
        );
    });
    flow
}

/// Kilograms, or grams when it is little; pounds or ounces for a machine in inches (the pound of 1959: 0.45359237 kg).
pub(super) fn mass(kg: f64, unit: Unit) -> String {
    const POUND: f64 = 0.453_592_37;
    if matches!(unit, Unit::Inch | Unit::Thou | Unit::Foot) {
        let pounds = kg / POUND;
        return if pounds < 1.0 {
            format!("{} oz", words::number(16.0 * pounds, 1))
        } else {
            format!("{pounds:.2} lb")
        };
    }
    if kg < 1.0 {
        format!("{:.0} g", kg * 1000.0)
    } else {
        format!("{kg:.2} kg")
    }
}

/// The operations of a part on sheets of their own.
pub(super) fn operations(
    part: &Part,
    sheet: &Sheet,
    block: &Block,
    leaf: Leaf,
    machine: &Machine,
) -> Vec<Page> {
    settled(|foot| {
        let mut flow = Flow::new(leaf, block.clone(), "Operations", true).clear(foot);
        flow.title(&format!("{}: operations", words::spoken(&part.name)));
        steps(&mut flow, part, sheet, machine);
        flow
    })
}

/// Set-ups and steps of a part, wherever they stand.
pub(super) fn steps(flow: &mut Flow, part: &Part, sheet: &Sheet, machine: &Machine) {
    let unit = shop::dials(machine);
    let drawn = (machine.unit != unit).then_some(machine.unit);
    let units = Units {
        first: unit,
        beside: drawn,
    };
    let count = match (sheet.count, part.opposite()) {
        (1, _) => "one".to_owned(),
        (n, 0) => format!("{n} alike"),
        (n, other) => format!(
            "{n}, {} as drawn and {other} of the opposite hand",
            n - other
        ),
    };
    flow.text(&format!(
        "Make {count}, {} of {}. About {}, between {} and {}. Coordinates and lengths in {}, feed for a turn.{}",
        shop::cut::stock_of(part.section, &part.material.name, machine.work.shop.as_ref(), units),
        part.material.name,
        time(sheet.minutes[1]),
        time(sheet.minutes[0]),
        time(sheet.minutes[2]),
        words::unit_name(unit),
        drawn.map_or_else(String::new, |d| format!(" In brackets stands what the drawing says, in {}.", words::unit_name(d)))
    ));
    let rows: Vec<Vec<Vec<String>>> = sheet.setups.iter().map(|s| rows(s, unit)).collect();
    let columns = [
        column("", 7.5),
        column("step", 67.0),
        column("tool", 24.0),
        column("rev/min", 15.0),
        column("feed", 10.0),
        column("where", 35.0),
        column("before going on", 36.0),
    ];
    let widths = flow.fitted(&columns, &rows.concat());
    for (n, (set_up, rows)) in sheet.setups.iter().zip(&rows).enumerate() {
        let mut held = format!("{}. Held: {}.", capital(&set_up.machine), set_up.holding);
        if set_up.zero != "none" {
            held = format!("{held} Zero: {}.", set_up.zero);
        }
        flow.set_up(
            &format!("Set-up {}: {}", n + 1, set_up.title),
            &held,
            &set_up.cautions,
            (&columns, &widths),
            rows,
        );
        for s in set_up.steps.iter().filter(|s| places(s).len() > MANY) {
            flow.heading(&format!("Places of step {}", s.number));
            let cells: Vec<Vec<String>> = places(s)
                .into_iter()
                .enumerate()
                .map(|(n, p)| vec![(n + 1).to_string(), p.to_owned()])
                .collect();
            flow.columns(&PLACES, abreast(&places(s)), &cells);
        }
        if let Some(teeth) = part.teeth.as_ref().filter(|_| set_up.title == CUT_TEETH) {
            divided(flow, teeth.spur.teeth, super::rotary(machine));
        }
    }
}

/// More places than these stand in a table under the steps, in so many columns.
const MANY: usize = 8;
const ACROSS: usize = 4;
const PLACES: [Column; 2] = [column("", 6.0), column("where", 40.0)];

/// How many columns of places stand beside one another, so that none runs into the next.
fn abreast(places: &[&str]) -> usize {
    let longest = places.iter().map(|p| p.chars().count()).max();
    match longest.unwrap_or(0) {
        0..=20 => ACROSS,
        21..=30 => 3,
        31..=46 => 2,
        _ => 1,
    }
}

/// Every place of a gear's teeth as the table shows it, each rounded by itself.
fn divided(flow: &mut Flow, teeth: u32, table: Option<&RotaryTable>) {
    flow.list("Places of the teeth");
    if let Some(table) = table {
        flow.text(&words::handle_told(table));
    }
    let rows: Vec<Vec<String>> = (0..teeth)
        .map(|n| {
            let reads = tooth_place(n, teeth, table.map(|t| t.dial));
            let mut row = vec![(n + 1).to_string(), words::number(reads, 3)];
            row.extend(table.map(|t| words::handle(t, reads.to_radians())));
            row
        })
        .collect();
    let mut columns = vec![column("tooth", 8.0), column("°", 10.0)];
    if table.is_some() {
        columns.push(column("handle", 10.0));
    }
    flow.columns(&columns, ACROSS, &rows);
}

/// The places of a step one by one.
fn places(step: &Step) -> Vec<&str> {
    step.at.split("; ").collect()
}

/// Coordinates that are not torn apart at the end of a line; two of a place may stand one over the other.
fn together(text: &str) -> String {
    let mut out = text.replace("  ", " ").replace(" to x ", " to\nx ");
    out = out.replace("y ", "y\u{a0}");
    for axis in ["x ", "z ", "offset "] {
        out = out.replace(axis, &format!("{}\u{a0}", axis.trim_end()));
    }
    out
}

/// The steps of a set-up as rows.
fn rows(set_up: &SetUp, unit: Unit) -> Vec<Vec<String>> {
    let mut last = String::new();
    let row = |s: &Step| {
        let mut what = s.text.clone();
        if !s.why.is_empty() {
            what = format!("{what} ({})", s.why);
        }
        let speed = s.rpm.map_or_else(String::new, |r| words::number(r, 0));
        let feed = s.feed.map_or_else(String::new, |f| {
            words::number(unit.from_inside(f), if unit == Unit::Inch { 3 } else { 2 })
        });
        // The same place is not said again; of several places each has its line.
        let at = if s.at == last {
            String::new()
        } else if places(s).len() > MANY {
            format!("{} places, in the table below", places(s).len())
        } else {
            together(&s.at.replace("; ", "\n"))
        };
        last.clone_from(&s.at);
        let check = s.check.replace("; ", "\n");
        vec![
            s.number.to_string(),
            what,
            s.tool.clone(),
            speed,
            feed,
            at,
            check,
        ]
    };
    set_up.steps.iter().map(row).collect()
}

pub(super) fn capital(text: &str) -> String {
    let mut c = text.chars();
    c.next().map_or_else(String::new, |f| {
        f.to_uppercase().collect::<String>() + c.as_str()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_places_take_fewer_columns() {
        assert_eq!(abreast(&["A1 x 7.132  y 0.000"]), 4);
        assert_eq!(
            abreast(&["A1 x 7.132  y 0.000", "A7 x 107.132  y 10.000"]),
            3
        );
        assert_eq!(
            abreast(&["x 142.426  y -142.426 to x 170.711  y 142.426"]),
            2
        );
    }
}
