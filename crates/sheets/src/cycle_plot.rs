//! The timing diagram of a turn, and what turns it.

use quantity::Unit;
use studies::Inside;
use studies::cycle::{Beat, Cycle, Dwell, Moment, Running, Spot, Turned, Turning};

use crate::number::{of_load, unit_of_force, value};
use crate::plot::{Axis, Curve, Mark, Panel, Place, Plot, Rest, Sample};

/// Each reading over the turn with its ends and dwells, its speed, acceleration and jerk where the speed of the drive is known; then what
/// turns the drive. `length` is the unit in which the machine's lengths are read.
pub fn of_cycle(cycle: &Cycle, turning: Option<&Turning>, length: Unit) -> Plot {
    let mut panels: Vec<Panel> = Vec::new();
    let one = cycle.readings.len() == 1;
    for turned in &cycle.readings {
        panels.push(lift(cycle, turned));
        if let (Some(speed), true) = (cycle.speed, one) {
            panels.extend(rates(turned, speed));
        }
    }
    panels.extend(turning.into_iter().flat_map(|t| moments(t, length)));
    let speed = cycle.speed.map(|s| {
        if cycle.drive.inside == Inside::Radian {
            format!("at {}", quantity::show(s, Unit::TurnPerMinute, 1))
        } else {
            format!("at {}", quantity::show(s, Unit::MillimetrePerSecond, 1))
        }
    });
    let held = cycle.held.iter().filter(|h| !h.as_drawn);
    let held = held.map(|h| format!("{} {}", h.quantity.name, value(h.value, h.quantity.unit)));
    let case = turning.map(|t| format!("under {}", t.case));
    let note: Vec<String> = speed.into_iter().chain(held).chain(case).collect();
    Plot {
        title: format!("{}: {} over its way", cycle.machine, cycle.drive.name),
        note: note.join("; "),
        across: Axis {
            name: cycle.drive.name.clone(),
            unit: cycle.drive.unit,
        },
        places: Vec::new(),
        panels,
    }
}

/// A run over time: its speed, and what turns and what holds it. `length` is the unit in which the machine's lengths are read.
pub fn of_run(running: &Running, length: Unit) -> Plot {
    let curve = |of: &dyn Fn(&Moment) -> f64| -> Vec<Sample> {
        let all = running.curve.iter().map(|m| Sample {
            at: m.time,
            value: of(m),
            rate: None,
        });
        all.collect()
    };
    let unit = unit_of_force(true, length);
    let begins = if running.driven { "started" } else { "let go" };
    let place = running.high.starts_in.map(|at| Place {
        at,
        words: String::from("up to speed"),
    });
    let name = &running.drive.name;
    let mut moments = plain(
        format!("on {name}"),
        unit,
        vec![
            (String::from("what turns it"), curve(&|m| m.drives)),
            (String::from("loads and friction"), curve(&|m| m.takes)),
        ],
    );
    if let Some(up) = running.high.starts_in {
        cut_start(&mut moments, up);
    }
    Plot {
        title: format!("{name} {begins}, friction high"),
        note: format!("under {}", running.case),
        across: Axis {
            name: String::from("time, s"),
            unit: Unit::One,
        },
        places: place.into_iter().collect(),
        panels: vec![
            plain(
                format!("speed of {name}"),
                Unit::TurnPerMinute,
                vec![(String::from("speed"), curve(&|m| m.speed))],
            ),
            moments,
        ],
    }
}

/// A start that is so many times as hard as all that follows would press that flat; it is cut off at this share above it.
const HARD_START: f64 = 3.0;
const ABOVE: f64 = 1.5;

/// Leaves out of a panel what a start takes for a moment, and says how much that was.
fn cut_start(panel: &mut Panel, up: f64) {
    let size = |s: &Sample| {
        if s.value.is_finite() {
            s.value.abs()
        } else {
            0.0
        }
    };
    let all = || panel.curves.iter().flat_map(|c| &c.points);
    let later = all().filter(|s| s.at > up).map(size).fold(0.0, f64::max);
    let hardest = all().max_by(|a, b| size(a).total_cmp(&size(b))).copied();
    let Some(hardest) = hardest.filter(|h| later > 0.0 && size(h) > HARD_START * later) else {
        return;
    };
    let most = ABOVE * later;
    for curve in &mut panel.curves {
        for sample in &mut curve.points {
            if sample.at <= up && size(sample) > most {
                sample.value = f64::NAN;
            }
        }
    }
    panel.marks.push(Mark {
        at: hardest.at,
        value: most.copysign(hardest.value),
        words: format!("to {} at the start", of_load(hardest.value, panel.up.unit)),
    });
}

/// A place of the dial on the axis of the curve.
fn on_axis(cycle: &Cycle, at: f64) -> f64 {
    if cycle.round && cycle.drive.inside == Inside::Radian {
        // Over several turns where the machine is back after so many.
        let turns = (cycle.to - cycle.from).max(std::f64::consts::TAU);
        cycle.from + (at - cycle.from).rem_euclid(turns)
    } else {
        at
    }
}

/// Where an end is marked: of a reading that gains with every turn the begin of the axis is another place than its end.
fn end(cycle: &Cycle, turned: &Turned, spot: &Spot) -> f64 {
    let at = on_axis(cycle, spot.at);
    let off = |beat: Option<&Beat>| beat.map_or(f64::INFINITY, |b| (b.value - spot.value).abs());
    let (first, last) = (off(turned.curve.first()), off(turned.curve.last()));
    if at - cycle.from < 1e-9 && last < first {
        cycle.to
    } else {
        at
    }
}

/// More stretches than this are shaded without words.
const MOST_RESTS: usize = 4;
/// Shorter than this share of the way it only turns round.
const REST: f64 = 0.03;

/// Where the reading rests on the axis. One that goes on over its end is two, named on the longer.
fn rests(cycle: &Cycle, turned: &Turned) -> Vec<Rest> {
    let turn = cycle.to - cycle.from;
    let stays = [&turned.low_dwell, &turned.high_dwell].into_iter();
    let long = |d: &&Dwell| d.long >= REST * turn && d.long < turn * (1.0 - 1e-9);
    let on_paper = |dwell: &Dwell| {
        let (mut from, to) = (on_axis(cycle, dwell.from), on_axis(cycle, dwell.to));
        let mut begins = dwell.from;
        // What begins where the turn ends begins with the turn.
        if from > to && cycle.to - from < 1e-6 * turn {
            (from, begins) = (cycle.from, begins - turn);
        }
        let [a, b] = [begins, dwell.to].map(|at| value(at, cycle.drive.unit));
        let words = format!("rests {a} to {b}");
        let rest = |ends: [f64; 2], words: &str| Rest {
            ends,
            words: words.to_owned(),
        };
        if from <= to {
            vec![rest([from, to], &words)]
        } else {
            let [first, last] = [[cycle.from, to], [from, cycle.to]];
            let first_is_longer = first[1] - first[0] >= last[1] - last[0];
            let [one, two] = if first_is_longer {
                [words.as_str(), ""]
            } else {
                ["", &words]
            };
            vec![rest(first, one), rest(last, two)]
        }
    };
    let all = stays.chain(&turned.stays).filter(long);
    let mut all: Vec<Rest> = all.flat_map(on_paper).collect();
    // Of an indexing machine the stretches are seen, and the text tells them.
    if all.iter().filter(|r| !r.words.is_empty()).count() > MOST_RESTS {
        all.iter_mut().for_each(|r| r.words.clear());
    }
    all
}

fn lift(cycle: &Cycle, turned: &Turned) -> Panel {
    let points = turned.curve.iter().map(|b| Sample {
        at: b.at,
        value: b.value,
        rate: b.rate,
    });
    let moves = turned.greatest.value - turned.least.value > 1e-9;
    let marks = [&turned.least, &turned.greatest]
        .into_iter()
        .filter(|_| moves);
    Panel {
        up: Axis {
            name: turned.reading.name.clone(),
            unit: turned.reading.unit,
        },
        curves: vec![Curve {
            name: turned.reading.name.clone(),
            points: points.collect(),
        }],
        marks: marks
            .map(|spot| Mark {
                at: end(cycle, turned, spot),
                value: spot.value,
                words: String::new(),
            })
            .collect(),
        limits: Vec::new(),
        bands: Vec::new(),
        rests: rests(cycle, turned),
    }
}

/// Speed, acceleration and jerk: inches, metres or radians, as the reading is read.
fn rates(turned: &Turned, speed: f64) -> Vec<Panel> {
    let inches = matches!(turned.reading.unit, Unit::Inch | Unit::Thou | Unit::Foot);
    let (scale, unit) = match (turned.reading.inside, inches) {
        (Inside::Radian, _) => (1.0, "rad"),
        (_, true) => (1.0 / 25.4, "in"),
        (_, false) => (1e-3, "m"),
    };
    let panel = |name: String, of: &dyn Fn(&Beat) -> Option<f64>| {
        let points: Vec<Sample> = turned
            .curve
            .iter()
            .map(|b| Sample {
                at: b.at,
                value: of(b).map_or(f64::NAN, |v| v * scale),
                rate: None,
            })
            .collect();
        let known = points.iter().filter(|p| p.value.is_finite()).count();
        (known > 1).then(|| plain(name.clone(), Unit::One, vec![(name, points)]))
    };
    [
        panel(format!("speed, {unit}/s"), &|b| Some(b.rate? * speed)),
        panel(format!("acceleration, {unit}/s²"), &|b| {
            Some(b.second? * speed * speed)
        }),
        panel(format!("jerk, {unit}/s³"), &|b| {
            Some(b.third? * speed.powi(3))
        }),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn plain(name: String, unit: Unit, curves: Vec<(String, Vec<Sample>)>) -> Panel {
    Panel {
        up: Axis { name, unit },
        curves: curves
            .into_iter()
            .map(|(name, points)| Curve { name, points })
            .collect(),
        marks: Vec::new(),
        limits: Vec::new(),
        bands: Vec::new(),
        rests: Vec::new(),
    }
}

fn moments(turning: &Turning, length: Unit) -> Vec<Panel> {
    let turns = turning.drive.inside == Inside::Radian;
    // A drive that goes round comes back to where it began.
    let whole = turning.mean.is_some();
    let curve = |of: &dyn Fn(&studies::cycle::Effort) -> Option<f64>| {
        let mut points: Vec<Sample> = turning
            .curve
            .iter()
            .map(|e| Sample {
                at: e.at,
                value: of(e).unwrap_or(f64::NAN),
                rate: None,
            })
            .collect();
        if let (Some(first), Some(last), true) =
            (points.first().copied(), points.last(), whole && turns)
        {
            // The places end before the last of the turns does.
            let turn = std::f64::consts::TAU;
            let all = ((last.at - first.at) / turn).ceil().max(1.0);
            points.push(Sample {
                at: first.at + all * turn,
                ..first
            });
        }
        points
    };
    let known = |points: &[Sample]| points.iter().filter(|p| p.value.is_finite()).count() > 1;
    let mut panels = Vec::new();
    let all: Vec<(String, Vec<Sample>)> = [
        ("all of it", curve(&|e| e.moves)),
        ("loads alone", curve(&|e| e.loads)),
        ("inertia", curve(&|e| e.inertia)),
    ]
    .into_iter()
    .filter(|(_, points)| known(points))
    .map(|(name, points)| (name.to_owned(), points))
    .collect();
    if !all.is_empty() {
        let name = format!("what turns {}", turning.drive.name);
        panels.push(plain(name, unit_of_force(turns, length), all));
    }
    let felt = curve(&|e| e.reduced.map(|r| if turns { r * 1e-6 } else { r }));
    if known(&felt) {
        let name = if turns {
            "reduced inertia, kg m²"
        } else {
            "reduced mass, kg"
        };
        panels.push(plain(
            name.to_owned(),
            Unit::One,
            vec![(name.to_owned(), felt)],
        ));
    }
    panels
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moments(values: &[f64]) -> Panel {
        let points = values.iter().enumerate().map(|(i, &value)| Sample {
            at: 0.1 * i as f64,
            value,
            rate: None,
        });
        let curve = (String::from("what turns it"), points.collect());
        plain(String::from("on crank"), Unit::NewtonMetre, vec![curve])
    }

    #[test]
    fn a_hard_start_does_not_press_the_rest_flat() {
        let mut panel = moments(&[430e3, 90e3, 6e3, 8e3, 7e3]);
        cut_start(&mut panel, 0.15);
        let values: Vec<f64> = panel.curves[0].points.iter().map(|s| s.value).collect();
        assert!(values[0].is_nan() && values[1].is_nan());
        assert_eq!(values[2..], [6e3, 8e3, 7e3]);
        assert_eq!(panel.marks[0].words, "to 430 N·m at the start");
        assert_eq!(panel.marks[0].value, 12e3);
        // One that is about as hard as what follows stays.
        let mut even = moments(&[12e3, 9e3, 6e3, 8e3, 7e3]);
        let before = even.clone();
        cut_start(&mut even, 0.15);
        assert_eq!(even, before);
    }
}
