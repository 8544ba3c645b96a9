//! The plot of a load study: effort over the drive, and readings with their bands.

use quantity::Unit;
use studies::load::answers::{BandsTable, CaseLoads, DriveForce, DriveWorst, Loads};
use studies::{Held, Inside};

use crate::number::{unit_of_force, value};
use crate::plot::{Axis, Band, Curve, Panel, Plot, Sample};

/// The plot of a load study over a drive: for each case the effort of every drive that was studied, to close and to open, then
/// every reading that moves, without load and loaded, with the band that play and tolerance make. `length` is the unit of the
/// machine's lengths: it decides between newtons and pounds.
pub fn of_loads(loads: &Loads, bands: &[BandsTable], length: Unit) -> Plot {
    let across = loads.drive.as_ref().map_or_else(
        || Axis {
            name: String::from("pose"),
            unit: Unit::One,
        },
        |drive| Axis {
            name: drive.name.clone(),
            unit: drive.unit,
        },
    );
    let many = loads.cases.len() > 1;
    let mut panels = Vec::new();
    for case in &loads.cases {
        for (index, worst) in case.drives.iter().enumerate() {
            panels.extend(effort(case, index, worst, many, length));
        }
    }
    for table in bands {
        panels.extend(readings(table, many));
    }
    let held = loads.cases.first().map_or(&[][..], |case| &case.held);
    let put: Vec<String> = held.iter().filter(|h| !h.as_drawn).map(words).collect();
    let mut note: Vec<String> = Vec::new();
    if let [case] = loads.cases.as_slice() {
        note.push(format!("under {}", case.case));
        if !put.is_empty() {
            note.push(format!("at {}", put.join(", ")));
        }
    }
    note.push(String::from(
        "effort with friction high; below nothing it must be held back",
    ));
    Plot {
        title: format!("{}: load over {}", loads.machine, across.name),
        note: note.join("; "),
        across,
        places: Vec::new(),
        panels,
    }
}

fn words(held: &Held) -> String {
    format!(
        "{} {}",
        held.quantity.name,
        value(held.value, held.quantity.unit)
    )
}

/// What the hand feels moving on, and moving back; else the drive itself.
fn felt(force: &DriveForce, hand: bool) -> [Option<f64>; 2] {
    if hand {
        [force.hand_on, force.hand_back.map(|back| -back)]
    } else {
        [force.on, force.back.map(|back| -back)]
    }
}

fn effort(
    case: &CaseLoads,
    index: usize,
    worst: &DriveWorst,
    many: bool,
    length: Unit,
) -> Option<Panel> {
    let names = match worst.on_closes {
        Some(true) => ["to close", "to open"],
        Some(false) => ["to open", "to close"],
        None => ["to move on", "to move back"],
    };
    let curve = |way: usize| Curve {
        name: names
            .get(way)
            .map_or(String::new(), |name| (*name).to_owned()),
        points: case
            .rows
            .iter()
            .filter_map(|row| {
                let force = row.drives.get(index).filter(|_| !row.dead_centre);
                let felt = force.map(|force| felt(force, worst.hand.is_some()));
                Some(Sample {
                    at: row.at?,
                    value: felt.and_then(|felt| *felt.get(way)?).unwrap_or(f64::NAN),
                    rate: None,
                })
            })
            .collect(),
    };
    let curves: Vec<Curve> = [0, 1]
        .map(curve)
        .into_iter()
        .filter(|curve| curve.points.iter().filter(|s| s.value.is_finite()).count() > 1)
        .collect();
    let at_hand = worst
        .hand
        .as_ref()
        .map_or(String::new(), |hand| format!(" at {hand}"));
    let under = if many {
        format!(" under {}", case.case)
    } else {
        String::new()
    };
    let is_moment = worst.hand.is_none() && worst.drive.inside == Inside::Radian;
    (!curves.is_empty()).then(|| Panel {
        up: Axis {
            name: format!("effort of {}{at_hand}{under}", worst.drive.name),
            unit: unit_of_force(is_moment, length),
        },
        curves,
        marks: Vec::new(),
        limits: Vec::new(),
        bands: Vec::new(),
    })
}

fn readings(table: &BandsTable, many: bool) -> Vec<Panel> {
    let under = match &table.case {
        Some(case) if many => format!(" under {case}"),
        _ => String::new(),
    };
    let panel = |index: usize| -> Option<Panel> {
        let reading = table.readings.get(index)?;
        let (mut free, mut loaded, mut band) = (Vec::new(), Vec::new(), Vec::new());
        for row in &table.rows {
            let at = row.at?;
            let cell = row.cells.get(index).and_then(Option::as_ref);
            let sample = |value: Option<f64>| Sample {
                at,
                value: value.unwrap_or(f64::NAN),
                rate: None,
            };
            free.push(sample(cell.map(|b| b.nominal)));
            loaded.push(sample(cell.and_then(|b| b.loaded)));
            let [from, to] = cell.map_or([f64::NAN; 2], |b| [b.from, b.to]);
            band.push([at, from, to]);
        }
        let known = |points: &[Sample]| points.iter().filter(|s| s.value.is_finite()).count() > 1;
        let moves = free
            .iter()
            .filter(|s| s.value.is_finite())
            .any(|s| (s.value - free.first().map_or(s.value, |f| f.value)).abs() > 1e-9);
        if !known(&free) || !moves {
            return None;
        }
        let mut curves = vec![Curve {
            name: String::from("without load"),
            points: free,
        }];
        if known(&loaded) {
            curves.insert(
                0,
                Curve {
                    name: String::from("loaded"),
                    points: loaded,
                },
            );
        }
        Some(Panel {
            up: Axis {
                name: format!("{}{under}", reading.name),
                unit: reading.unit,
            },
            curves,
            marks: Vec::new(),
            limits: Vec::new(),
            bands: vec![Band {
                name: String::from("play and tolerance"),
                points: band,
            }],
        })
    };
    (0..table.readings.len()).filter_map(panel).collect()
}
