//! Bending and torsion along shafts.

use machine::Machine;
use quantity::Unit;
use studies::load::answers::{CaseLoads, Loads, ShaftLoad};

use crate::number::{unit_of_force, value};
use crate::plot::{Axis, Curve, Mark, Panel, Plot, Sample};

/// Samples from one station to the next: bending is straight about each axis, but not its size.
const BETWEEN: u32 = 24;

/// Bending and torsion along every shaft, each in its worst case and pose: two panels a shaft over the stations, which are marked. Empty when the
/// machine has no loaded shaft.
pub fn of_shafts(loads: &Loads, machine: &Machine) -> Plot {
    let length = machine.unit;
    let mut worst: Vec<(&ShaftLoad, &CaseLoads)> = Vec::new();
    let size = |s: &ShaftLoad| s.most_bending.unwrap_or(0.0).hypot(s.most_torsion);
    for case in &loads.cases {
        // All at one station is no diagram.
        let apart = |s: &&ShaftLoad| {
            let first = s.stations.first().map(|at| at.station);
            s.stations.iter().any(|at| Some(at.station) != first)
        };
        for shaft in case.shafts.iter().filter(apart) {
            match worst.iter_mut().find(|(s, _)| s.shaft == shaft.shaft) {
                Some(found) if size(shaft) > size(found.0) => *found = (shaft, case),
                Some(_) => {}
                None => worst.push((shaft, case)),
            }
        }
    }
    let panels = worst.iter().flat_map(|(shaft, case)| {
        let drive = loads.drive.as_ref();
        let at = drive.zip(case.rows.get(shaft.row).and_then(|r| r.at));
        let place = at.map_or_else(String::new, |(d, at)| {
            format!(" at {} {}", d.name, value(at, d.unit))
        });
        let under = format!("{} under {}{place}", shaft.shaft, case.case);
        let bending = shaft.most_bending.map(|_| {
            panel(
                &format!("bending of {under}"),
                bending(shaft),
                marks(shaft),
                length,
            )
        });
        let torsion = panel(
            &format!("torsion of {under}"),
            torsion(shaft),
            Vec::new(),
            length,
        );
        bending.into_iter().chain([torsion])
    });
    Plot {
        title: format!("{}: along its shafts", loads.machine),
        note: String::from(
            "each where it is worst, at rest or on the move with friction high; bending is its size whichever way it goes",
        ),
        across: Axis {
            name: String::from("station"),
            unit: length,
        },
        places: Vec::new(),
        panels: panels.collect(),
    }
}

fn panel(name: &str, points: Vec<Sample>, marks: Vec<Mark>, length: Unit) -> Panel {
    Panel {
        up: Axis {
            name: name.to_owned(),
            unit: unit_of_force(true, length),
        },
        curves: vec![Curve {
            name: String::new(),
            points,
        }],
        marks,
        limits: Vec::new(),
        bands: Vec::new(),
        rests: Vec::new(),
    }
}

fn sample(at: f64, value: f64) -> Sample {
    Sample {
        at,
        value,
        rate: None,
    }
}

fn bending(shaft: &ShaftLoad) -> Vec<Sample> {
    let mut points = Vec::new();
    for (i, station) in shaft.stations.iter().enumerate() {
        points.push(sample(station.station, station.bending[0]));
        points.push(sample(station.station, station.bending[1]));
        let Some(next) = shaft.stations.get(i + 1) else {
            continue;
        };
        let (from, to) = (station.bent[1], next.bent[0]);
        points.extend((1..BETWEEN).map(|k| {
            let t = f64::from(k) / f64::from(BETWEEN);
            let along = |a: f64, b: f64| a + t * (b - a);
            let size = along(from[0], to[0]).hypot(along(from[1], to[1]));
            sample(along(station.station, next.station), size)
        }));
    }
    points
}

fn torsion(shaft: &ShaftLoad) -> Vec<Sample> {
    let both = |s: &studies::load::answers::Station| s.torsion.map(|t| sample(s.station, t));
    shaft.stations.iter().flat_map(both).collect()
}

/// What stands where.
fn marks(shaft: &ShaftLoad) -> Vec<Mark> {
    let mark = |s: &studies::load::answers::Station| Mark {
        at: s.station,
        value: s.bending[0].max(s.bending[1]),
        words: s.what.clone(),
    };
    shaft.stations.iter().map(mark).collect()
}
