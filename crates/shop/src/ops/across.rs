//! What is made across a turned part on the mill: holes and flats.

use super::Step;
use super::angles::{found_by, reference};
use super::bits::Work;
use super::holes::{On, Wanted, make};
use crate::finding::Grade;
use crate::part::{Cross, Opening as _, Turned, diameter};
use crate::speeds::Tool;
use crate::words;
use machine::fitting::{Cut, Fitted};

pub(super) fn cross(work: &mut Work, t: &Turned) {
    let own: Vec<&Cross> = t
        .cross
        .iter()
        .filter(|c| super::joined::waits(work, diameter(&c.fitted)).is_none())
        .collect();
    if own.is_empty() {
        return;
    }
    let (machine, spindle) = match (work.mill(), work.drill_press()) {
        (Some(m), _) => (words::kept("mill", &m.name), Some(&m.speeds)),
        (None, Some(d)) => (words::kept("drill press", &d.name), Some(&d.speeds)),
        _ => ("mill".to_owned(), None),
    };
    work.set_up(
        "Holes across",
        &machine,
        "V-block or vise with a V, clamped",
        "edge finder on both sides of the bar: zero over its axis; left face is zero lengthwise",
        10.0,
    );
    let zero = reference(work, t);
    for (n, c) in own.into_iter().enumerate() {
        if let Some(text) = found_by(work, t, &zero, c.from, n > 0) {
            work.step(Step {
                text,
                tool: "indicator, protractor".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
        }
        let outside = t.step_at(c.at).map_or(0.0, |s| s.diameter);
        let at = format!(
            "{} from the left face, {}°",
            work.read(c.at),
            words::number(c.from.to_degrees().rem_euclid(360.0), 2)
        );
        let wanted = Wanted {
            name: words::spoken(&c.name),
            fitted: &c.fitted,
            on: On::Mill,
            at,
            blind: c.blind,
            through: outside,
            spindle,
            count: 1,
            open: None,
            over: 0.0,
        };
        make(work, &wanted);
        burr(work, t, c);
    }
}

/// A hole that comes out in a finished bore leaves a burr there.
fn burr(work: &mut Work, t: &Turned, c: &Cross) {
    let long = t.length();
    let outside = t.step_at(c.at).map_or(0.0, |s| s.diameter);
    let met = t.bores.iter().filter(|b| b.throw.is_none()).find(|b| {
        let deep = b.blind.unwrap_or(long);
        let there = if b.left {
            c.at < deep
        } else {
            c.at > long - deep
        };
        there
            && c.blind
                .is_none_or(|d| d > (outside - b.diameter()) / 2.0 - 1e-6)
    });
    let Some(b) = met else { return };
    let size = work.mm(b.diameter());
    let (text, tool) = match &b.fitted {
        Fitted::Tapped { thread, .. } => (
            format!(
                "Run the tap {} through the thread again by hand",
                thread.name
            ),
            format!("tap {}", thread.name),
        ),
        _ if crate::part::cut(&b.fitted) == Some(Cut::Ream) => (
            format!(
                "Run the reamer through the bore ⌀{size} again by hand, turning it forward only"
            ),
            format!("reamer {size}"),
        ),
        _ => (
            format!("Scrape the burr out of the bore ⌀{size}, without touching its wall"),
            "three-square scraper".to_owned(),
        ),
    };
    work.step(Step {
        text,
        tool,
        why: format!("{} came out in it and left a burr", words::spoken(&c.name)),
        minutes: 2.0,
        ..Step::default()
    });
}

/// The end mill for flats: the largest that is not over half an inch.
fn cutter(work: &Work) -> f64 {
    let mills = work.shop().map(|s| s.tools.end_mills.as_slice());
    let small = mills.unwrap_or_default().iter().copied();
    small
        .filter(|d| *d <= 12.7 + 1e-6)
        .max_by(f64::total_cmp)
        .unwrap_or(10.0)
}

/// Flats without a mill: to lines, the jaws of the chuck as a measure of the angle.
fn filed(work: &mut Work, t: &Turned) {
    work.finding(
        Grade::WayRound,
        "no mill for its flats",
        "file them to lines, each set square by the one before; or give the end a thread, a pin or a key",
    );
    work.set_up(
        "Flats, by hand",
        "bench",
        "bench vise, soft jaws",
        "lines scribed with the height gauge, the part in a V-block",
        5.0,
    );
    for f in &t.flats {
        let d = t.step_at(f.at).map_or(f.across, |s| s.diameter);
        let depth = if f.sides == 1 {
            d - f.across
        } else {
            (d - f.across) / 2.0
        };
        let (from, to) = (work.read(f.at), work.read(f.at + f.length));
        let turn = words::number(360.0 / f.sides as f64, 1);
        let check = format!(
            "{} {}",
            if f.sides == 1 {
                "over the flat"
            } else {
                "across flats"
            },
            work.mm(f.across)
        );
        work.step(Step {
            text: match f.sides {
                1 => format!("File one flat {} deep to its line", work.mm(depth)),
                n => format!("File {n} flats {} deep to their lines, {turn}° from one to the next: opposite ones first, by micrometer", work.mm(depth)),
            },
            tool: "flat file, square, protractor".to_owned(),
            at: format!("{from} to {to} from the left face"),
            check,
            minutes: 8.0 * f.sides as f64 + depth * f.length / 10.0,
            ..Step::default()
        });
    }
}

pub(super) fn flats(work: &mut Work, t: &Turned) {
    if t.flats.is_empty() {
        return;
    }
    if super::blank::by_hand(work) {
        filed(work, t);
        return;
    }
    let (machine, spindle) = match work.mill() {
        Some(m) => (words::kept("mill", &m.name), Some(&m.speeds)),
        None => ("mill".to_owned(), None),
    };
    let most = t.flats.iter().map(|f| f.sides).max().unwrap_or(1);
    let block = if most == 6 { "hexagon" } else { "square" };
    let indexed = t.flats.iter().any(|f| f.sides > 2);
    if indexed && work.shop().is_some() && work.rotary().is_none() {
        work.on_mill(
            Grade::WayRound,
            "no rotary table to turn the work between its flats",
            "a square or hexagon collet block in the vise does it, or a square against the first flat",
        );
    }
    // Whatever has more than one flat is turned in between.
    let turns = most > 1 || t.flats.len() > 1;
    let table = work
        .rotary()
        .filter(|_| turns)
        .map(|t| words::kept("rotary table", &t.name));
    let holding = match &table {
        Some(table) if most > 2 => {
            format!("chuck on the {table}, or a {block} collet block in the vise")
        }
        Some(table) => format!("chuck on the {table}"),
        None if most > 2 => format!("{block} collet block in the vise"),
        None => "vise with a V, or a square block".to_owned(),
    };
    work.set_up(
        "Flats",
        &machine,
        holding,
        "the cutter touches the top of the diameter that is flatted: zero in height, anew on every other diameter",
        8.0,
    );
    let zero = reference(work, t);
    let aligned = match &zero {
        // Set up anew, even a hole that lies in line with the flats has to be found.
        super::angles::Zero::Hole(_, name) => Some(format!(
            "A pin in {name}, upright by a square: the first flat faces the way it comes from"
        )),
        _ => None,
    };
    if let Some(text) = found_by(work, t, &zero, 0.0, true).or(aligned) {
        work.step(Step {
            text,
            tool: "indicator, protractor".to_owned(),
            why: "the first flat faces the direction of 0°".to_owned(),
            minutes: 5.0,
            ..Step::default()
        });
    }
    for f in &t.flats {
        let d = t.step_at(f.at).map_or(f.across, |s| s.diameter);
        let depth = if f.sides == 1 {
            d - f.across
        } else {
            (d - f.across) / 2.0
        };
        let cutter = cutter(work);
        let rpm = work.rpm(Tool::EndMill, cutter, spindle);
        let turn = 360.0 / f.sides as f64;
        let corners = machine::work::across_corners(f.sides.max(3), f.across);
        let full = f.sides > 2 && corners <= d + 1e-6;
        let mut check = format!(
            "{} {}",
            if f.sides == 1 {
                "over the flat"
            } else {
                "across flats"
            },
            work.mm(f.across)
        );
        if f.sides > 2 {
            check += &if full {
                format!("; full corners, {} across them", work.mm(corners))
            } else {
                format!(
                    "; corners rounded at ⌀{}: full ones would be {}",
                    work.mm(d),
                    work.mm(corners)
                )
            };
        }
        // Where the table stands for each flat, and its handle.
        let places = if f.sides > 2 || table.is_some() {
            let list: Vec<String> = (0..f.sides)
                .map(|n| format!("{}°", words::number(turn * n as f64, 1)))
                .collect();
            let handle = work
                .rotary()
                .filter(|_| f.sides > 1)
                .map_or_else(String::new, |t| {
                    format!(
                        ", {} turns of the handle each",
                        words::number(t.ratio / f.sides as f64, 3)
                    )
                });
            // Without a table the block or a square holds these angles.
            let by = if table.is_some() {
                "table"
            } else {
                "turned to"
            };
            format!("; {by} {}{handle}", list.join(", "))
        } else {
            String::new()
        };
        work.step(Step {
            text: match f.sides {
                1 => format!("Mill one flat {} deep", work.mm(depth)),
                2 if table.is_none() => format!("Mill 2 flats {} deep, the second with the first flat down on a parallel", work.mm(depth)),
                n => format!("Mill {n} flats {} deep, turning {}° between them", work.mm(depth), words::number(turn, 1)),
            },
            tool: work.tool("end mill", cutter),
            rpm,
            feed: Some(0.06),
            at: format!(
                "{} to {} from the left face, z −{} from the top of ⌀{}{places}",
                work.read(f.at),
                work.read(f.at + f.length),
                work.read(depth),
                work.mm(d)
            ),
            check,
            why: match f.sides {
                1 => "",
                2 => "measure after the first one: what is left over it is half across flats and half the diameter",
                _ => "opposite flats first: the size across them is measured, the others follow at the same depth",
            }
            .to_owned(),
            minutes: 4.0 * f.sides as f64,
            ..Step::default()
        });
    }
}
