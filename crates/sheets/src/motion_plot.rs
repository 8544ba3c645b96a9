//! The plot of a motion table.

use std::fmt::Write as _;

use machine::Machine;
use machine::model::{Ask, Judges, Measures};
use studies::load::answers::BandsTable;
use studies::{EndKind, Held, Motion};

use crate::number::value;
use crate::plot::{Axis, Band, Curve, Limit, Mark, Panel, Place, Plot, Sample};

/// The plot of a motion table of this machine: one panel a reading, with turning points, the limits asked for where they hold
/// in this table, and dead centres, stops and change points of the drive.
///
/// Readings that the drive does not move are told in the note instead, unless there are no others.
pub fn of_motion(motion: &Motion, machine: &Machine) -> Plot {
    let still: Vec<Option<f64>> = (0..motion.readings.len())
        .map(|i| still(motion, i))
        .collect();
    let all_still = still.iter().all(Option::is_some);
    let panels = motion
        .readings
        .iter()
        .enumerate()
        .filter(|(i, _)| all_still || still.get(*i).is_none_or(Option::is_none))
        .map(|(i, reading)| {
            let points = motion
                .rows
                .iter()
                .map(|row| {
                    let cell = row.cells.get(i);
                    Sample {
                        at: row.at,
                        value: cell.and_then(|c| c.value).unwrap_or(f64::NAN),
                        rate: cell.and_then(|c| c.rate),
                    }
                })
                .collect();
            let mut curve = Curve {
                name: reading.name.clone(),
                points,
            };
            let mut marks = Vec::new();
            for t in motion.turning_points.iter().filter(|t| t.reading == i) {
                curve.insert(Sample {
                    at: t.at,
                    value: t.value,
                    rate: Some(0.0),
                });
                marks.push(Mark {
                    at: t.at,
                    value: t.value,
                    words: String::new(),
                });
            }
            Panel {
                up: Axis {
                    name: reading.name.clone(),
                    unit: reading.unit,
                },
                curves: vec![curve],
                marks,
                limits: limits((&motion.drive.name, &motion.held), machine, &reading.name),
                bands: Vec::new(),
                rests: Vec::new(),
            }
        })
        .collect();
    let mut places = Vec::new();
    for end in [&motion.reach.low, &motion.reach.high] {
        let words = match end.kind {
            EndKind::DeadCentre => "dead centre".to_owned(),
            EndKind::Stop | EndKind::SlotEnd => end.cause.clone(),
            _ => continue,
        };
        // Ends that lie outside the table would stretch it out of all proportion.
        let within = motion.rows.iter().any(|r| r.at <= end.at + 1e-9)
            && motion.rows.iter().any(|r| r.at >= end.at - 1e-9);
        if within {
            places.push(Place { at: end.at, words });
        }
    }
    places.extend(motion.change_points.iter().map(|c| Place {
        at: c.at,
        words: "change point".to_owned(),
    }));
    let held: Vec<String> = motion
        .held
        .iter()
        .filter(|h| !h.as_drawn)
        .map(held_words)
        .collect();
    let mut note = if held.is_empty() {
        String::new()
    } else {
        format!("at {}", held.join(", "))
    };
    if !all_still {
        let words: Vec<String> = motion
            .readings
            .iter()
            .zip(&still)
            .filter_map(|(r, s)| s.map(|v| format!("{} {}", r.name, value(v, r.unit))))
            .collect();
        if !words.is_empty() {
            let stop = if note.is_empty() { "" } else { "; " };
            let _ = write!(
                note,
                "{stop}not moved by {}: {}",
                motion.drive.name,
                words.join(", ")
            );
        }
    }
    Plot {
        title: format!("{}: readings over {}", motion.machine, motion.drive.name),
        note,
        across: Axis {
            name: motion.drive.name.clone(),
            unit: motion.drive.unit,
        },
        places,
        panels,
    }
}

/// Shades what play and tolerance make of every reading, under each load case in which drives and settings stand as in the table.
pub fn add_bands(plot: &mut Plot, motion: &Motion, tables: &[BandsTable]) {
    let stands = |t: &&BandsTable| {
        t.drive
            .as_ref()
            .is_some_and(|d| d.name == motion.drive.name)
            && t.held == motion.held
    };
    // Said once for all: beside every band it takes the room of the field.
    if tables.iter().filter(stands).any(|t| t.case.is_some()) {
        let and = if plot.note.is_empty() { "" } else { "; " };
        plot.note += &format!("{and}bands: play and tolerance");
    }
    for table in tables.iter().filter(stands) {
        for panel in &mut plot.panels {
            let named = |q: &studies::Quantity| q.name == panel.up.name;
            let Some(index) = table.readings.iter().position(named) else {
                continue;
            };
            let ends = table.rows.iter().filter_map(|row| {
                let cell = row.cells.get(index).and_then(Option::as_ref);
                let [from, to] = cell.map_or([f64::NAN; 2], |b| [b.from, b.to]);
                Some([row.at?, from, to])
            });
            panel.bands.push(Band {
                name: match &table.case {
                    Some(case) => format!("under {case}"),
                    None => String::from("play and tolerance"),
                },
                points: ends.collect(),
            });
        }
    }
}

/// Lays the curves of another machine over those of this one, on the same axes; both are named. Readings that only the other one has come below.
pub fn add_other(plot: &mut Plot, name: &str, other: &Plot, other_name: &str) {
    plot.title = format!("{}: {name} and {other_name}", plot.title);
    for panel in &other.panels {
        let mine = plot.panels.iter_mut().find(|p| p.up == panel.up);
        let Some(mine) = mine else {
            let mut alone = panel.clone();
            for curve in &mut alone.curves {
                other_name.clone_into(&mut curve.name);
            }
            plot.panels.push(alone);
            continue;
        };
        for curve in &mut mine.curves {
            name.clone_into(&mut curve.name);
        }
        mine.curves.extend(panel.curves.iter().map(|curve| Curve {
            name: other_name.to_owned(),
            points: curve.points.clone(),
        }));
        mine.marks.extend(panel.marks.iter().cloned());
    }
}

/// The limits asked of a reading, where they hold in this table.
pub(crate) fn limits(table: (&str, &[Held]), machine: &Machine, reading: &str) -> Vec<Limit> {
    let mut limits = Vec::new();
    let asks = machine.asks.iter().filter(|a| {
        machine
            .readings
            .get(a.reading)
            .is_some_and(|r| r.name == reading)
    });
    for ask in asks {
        let Some(over) = holds_over(table, machine, ask) else {
            continue;
        };
        for (written, least) in [(&ask.at_least, true), (&ask.at_most, false)] {
            if let Some(written) = written {
                limits.push(Limit {
                    name: ask.name.clone(),
                    value: written.value,
                    least,
                    over: match over {
                        Over::Everywhere => None,
                        Over::At(at) => Some([at, at]),
                    },
                });
            }
        }
    }
    limits
}

/// Where along the table's drive an ask holds.
#[derive(Clone, Copy)]
enum Over {
    Everywhere,
    At(f64),
}

/// Where an ask holds in the table. `None` when it holds nowhere in the table, because
/// another drive stands elsewhere than the ask says, or because it asks for a change and not for a value.
fn holds_over((moved, held): (&str, &[Held]), machine: &Machine, ask: &Ask) -> Option<Over> {
    let (anywhere, when) = match &ask.judges {
        Judges::At { when } => (None, when),
        Judges::Anywhere { drive, when } => (Some(*drive), when),
        Judges::Swing { .. } | Judges::Per { .. } => return None,
    };
    let mut over = Over::Everywhere;
    for (id, drive) in machine.drives.iter().enumerate() {
        // A reading over a drive does not hang on where that stands.
        let over_it = machine
            .readings
            .get(ask.reading)
            .is_some_and(|r| matches!(r.measures, Measures::Over { drive, .. } if drive == id));
        if anywhere == Some(id) || over_it {
            continue;
        }
        let asked = when
            .iter()
            .find(|(d, _)| *d == id)
            .map_or(drive.drawn, |(_, v)| *v);
        if drive.name == moved {
            over = Over::At(asked);
        } else {
            let held = held.iter().find(|h| h.quantity.name == drive.name);
            if held.is_none_or(|h| (h.value - asked).abs() > 1e-9) {
                return None;
            }
        }
    }
    Some(over)
}

/// The value of a reading that is the same in every row, as far as a shop can tell: within a millionth of its size or 1e-9.
fn still(motion: &Motion, reading: usize) -> Option<f64> {
    let mut values = motion
        .rows
        .iter()
        .filter_map(|r| r.cells.get(reading)?.value);
    let first = values.next()?;
    values
        .all(|v| (v - first).abs() <= first.abs() * 1e-6 + 1e-9)
        .then_some(first)
}

fn held_words(held: &Held) -> String {
    format!(
        "{} {}",
        held.quantity.name,
        value(held.value, held.quantity.unit)
    )
}
