//! The plot of a motion table.

use std::fmt::Write as _;

use studies::{EndKind, Held, Motion};

use crate::number::value;
use crate::plot::{Axis, Curve, Mark, Panel, Place, Plot, Sample};

/// The plot of a motion table: one panel a reading, with turning points, and dead centres, stops and change points of the drive.
///
/// Readings that the drive does not move are told in the note instead, unless there are no others.
pub fn of_motion(motion: &Motion) -> Plot {
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
                limits: Vec::new(),
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
