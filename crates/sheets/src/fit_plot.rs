//! The plot of a fit: each reading over its drive, and how far the machine as built and its readings lie off the drawn one.

use quantity::Unit;
use studies::dial::answers::{Fit, RunFit};

use crate::plot::{Axis, Band, Curve, Mark, Panel, Plot, Sample};

/// The plot of a fit of this machine: for each reading and drive a panel with the curve and one with the differences to the drawn machine.
pub fn of_fit(machine: &str, fit: &Fit) -> Plot {
    let mut panels = Vec::new();
    let mut across: Option<Axis> = None;
    let mut done: Vec<(&str, &str)> = Vec::new();
    for run in &fit.runs {
        let key = (run.reading.name.as_str(), run.drive.name.as_str());
        // All panels share one axis: runs over another drive have a plot of their own when they come first.
        if done.contains(&key) || across.as_ref().is_some_and(|a| a.name != key.1) {
            continue;
        }
        done.push(key);
        let same: Vec<&RunFit> = fit
            .runs
            .iter()
            .filter(|r| (r.reading.name.as_str(), r.drive.name.as_str()) == key)
            .collect();
        across.get_or_insert_with(|| Axis {
            name: run.drive.name.clone(),
            unit: run.drive.unit,
        });
        panels.push(whole(run, &same));
        panels.push(off_drawn(run, &same));
    }
    Plot {
        title: format!("{machine} as built"),
        note: "dots: as read, zero and backlash taken out; band: 95 of 100".to_owned(),
        across: across.unwrap_or(Axis {
            name: "drive".to_owned(),
            unit: Unit::Degree,
        }),
        places: Vec::new(),
        panels,
    }
}

fn axis(run: &RunFit, name: &str) -> Axis {
    Axis {
        name: name.to_owned(),
        unit: run.reading.unit,
    }
}

/// A dot without words.
fn dot(at: f64, value: f64) -> Mark {
    Mark {
        at,
        value,
        words: " ".to_owned(),
    }
}

fn whole(run: &RunFit, same: &[&RunFit]) -> Panel {
    let sample = |at: f64, value: f64| Sample {
        at,
        value,
        rate: None,
    };
    Panel {
        up: axis(run, &run.reading.name),
        curves: vec![Curve {
            name: String::new(),
            points: run.curve.iter().map(|c| sample(c.at, c.built)).collect(),
        }],
        marks: same
            .iter()
            .flat_map(|r| &r.points)
            .filter(|p| p.used)
            .map(|p| dot(p.at, p.true_value))
            .collect(),
        limits: Vec::new(),
        bands: Vec::new(),
        rests: Vec::new(),
    }
}

fn off_drawn(run: &RunFit, same: &[&RunFit]) -> Panel {
    let sample = |at: f64, value: f64| Sample {
        at,
        value,
        rate: None,
    };
    Panel {
        up: axis(run, "off drawn"),
        curves: vec![Curve {
            name: String::new(),
            points: run
                .curve
                .iter()
                .map(|c| sample(c.at, c.built - c.drawn))
                .collect(),
        }],
        marks: same
            .iter()
            .flat_map(|r| &r.points)
            .filter(|p| p.used)
            .map(|p| dot(p.at, p.true_value - p.drawn))
            .collect(),
        limits: Vec::new(),
        bands: vec![Band {
            name: String::new(),
            points: run
                .curve
                .iter()
                .map(|c| {
                    [
                        c.at,
                        c.built - c.drawn - c.plus_minus,
                        c.built - c.drawn + c.plus_minus,
                    ]
                })
                .collect(),
        }],
        rests: Vec::new(),
    }
}
