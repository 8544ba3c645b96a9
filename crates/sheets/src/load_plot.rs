//! The plot of a load study: effort over the drive, and readings with their bands.

use machine::Machine;
use machine::work::WorkJudges;
use quantity::Unit;
use studies::load::answers::{BandsTable, CaseLoads, DriveForce, DriveWorst, Loads};
use studies::{Held, Inside};

use crate::motion_plot::limits;
use crate::number::{unit_of_force, value};
use crate::plot::{Axis, Band, Curve, Limit, Panel, Place, Plot, Sample};

/// The plot of a load study over a drive: for each case the effort of every drive that was studied, to close and to open, then
/// every reading that moves, without load and loaded, with the band that play and tolerance make; with the limits that the machine's asks set
/// to effort and to loaded readings.
pub fn of_loads(loads: &Loads, bands: &[BandsTable], machine: &Machine) -> Plot {
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
            panels.extend(effort(case, index, worst, many, machine));
        }
    }
    for table in bands {
        panels.extend(readings(table, many, machine));
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
        places: dead_centres(loads),
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
    machine: &Machine,
) -> Option<Panel> {
    let names = match worst.on_closes {
        Some(true) => ["to close", "to open"],
        Some(false) => ["to open", "to close"],
        None => ["to go on", "to go back"],
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
            unit: unit_of_force(is_moment, machine.unit),
        },
        curves,
        marks: Vec::new(),
        limits: of_effort(machine, index, &case.case),
        bands: Vec::new(),
        rests: Vec::new(),
    })
}

fn readings(table: &BandsTable, many: bool, machine: &Machine) -> Vec<Panel> {
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
            limits: of_reading(machine, table, &reading.name)
                .into_iter()
                .chain(
                    table.drive.iter().flat_map(|drive| {
                        limits((&drive.name, &table.held), machine, &reading.name)
                    }),
                )
                .collect(),
            bands: vec![Band {
                name: String::from("play and tolerance"),
                points: band,
            }],
            rests: Vec::new(),
        })
    };
    (0..table.readings.len()).filter_map(panel).collect()
}

/// Limits of an ask, each at its side.
fn sides(name: &str, limits: [Option<f64>; 2], over: Option<[f64; 2]>) -> Vec<Limit> {
    let side = |(value, least): (Option<f64>, bool)| {
        value.map(|value| Limit {
            name: name.to_owned(),
            value,
            least,
            over,
        })
    };
    limits
        .into_iter()
        .zip([true, false])
        .filter_map(side)
        .collect()
}

/// What is asked of a drive's effort under a case.
fn of_effort(machine: &Machine, drive: usize, case: &str) -> Vec<Limit> {
    let named = |index: usize| {
        machine
            .work
            .cases
            .get(index)
            .is_some_and(|c| c.name == case)
    };
    let asks = machine.work.asks.iter().filter(|ask| {
        matches!(ask.judges, WorkJudges::Effort { drive: own, case: under, .. }
            if own == drive && under.is_none_or(named))
    });
    asks.flat_map(|ask| sides(&ask.name, [ask.at_least, ask.at_most], None))
        .collect()
}

/// What is asked of a loaded reading where it stands in this table: at one value of the drive that moves.
fn of_reading(machine: &Machine, table: &BandsTable, reading: &str) -> Vec<Limit> {
    let Some(drive) = &table.drive else {
        return Vec::new();
    };
    let asks = machine.work.asks.iter().filter_map(|ask| {
        let WorkJudges::Loaded {
            reading: own,
            case,
            when,
        } = &ask.judges
        else {
            return None;
        };
        let case = machine.work.cases.get(*case)?;
        let of_this =
            machine.readings.get(*own)?.name == reading && table.case.as_ref() == Some(&case.name);
        let value = |name: &str| {
            let index = machine.drives.iter().position(|d| d.name == name)?;
            let put = when.iter().chain(&case.when).find(|w| w.0 == index);
            Some(put.map_or(machine.drives.get(index)?.drawn, |w| w.1))
        };
        // The other drives stand in this table where the ask wants them.
        let mut others = table
            .held
            .iter()
            .filter_map(|h| Some((value(&h.quantity.name)?, h.value)));
        let there = others.all(|(wanted, held)| (wanted - held).abs() <= 1e-9);
        let at = value(&drive.name)?;
        (of_this && there).then(|| sides(&ask.name, [ask.at_least, ask.at_most], Some([at, at])))
    });
    asks.flatten().collect()
}

/// Poses at a dead centre.
fn dead_centres(loads: &Loads) -> Vec<Place> {
    let mut places: Vec<Place> = Vec::new();
    for at in loads
        .cases
        .iter()
        .flat_map(|c| &c.rows)
        .filter(|r| r.dead_centre)
    {
        if let Some(at) = at.at
            && !places.iter().any(|p| p.at == at)
        {
            places.push(Place {
                at,
                words: String::from("dead centre"),
            });
        }
    }
    places
}
