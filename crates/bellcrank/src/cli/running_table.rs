//! A run in time, in words and for a spreadsheet.

use machine::Sources;
use quantity::{Unit, show};
use studies::cycle::{Drove, Ended, Run, Running};

use super::check::finding_text;
use super::csv;
use super::numbers::{percent, unit_of_force, with_unit};
use super::table::wrap;
use super::{WIDTH, amounts};

fn rpm(speed: f64) -> String {
    show(speed, Unit::TurnPerMinute, 1)
}

fn seconds(time: f64) -> String {
    format!("{time:.2} s")
}

/// What is said of a run. `length` is the unit in which the machine's lengths are read.
pub(crate) fn text(running: &Running, length: Unit, sources: &Sources) -> String {
    let mut lines = ends(running);
    lines.extend(turn(running, length));
    for drove in &running.drove {
        lines.push(gives(drove, length));
    }
    if let Some([high, low]) = running.coasts {
        lines.push(format!(
            "turned off then, without work, it runs on for {} to {} turns, {} to {}",
            show(high[0], Unit::One, 1),
            show(low[0], Unit::One, 1),
            seconds(high[1]),
            seconds(low[1]),
        ));
    }
    lines.extend(running.left_out.iter().cloned());
    let head = format!(
        "{} {} from {}{}, under {}",
        running.drive.name,
        if running.driven { "started" } else { "let go" },
        with_unit(running.from, running.drive.unit),
        if running.speed > 0.0 {
            format!(" at {}", rpm(running.speed))
        } else {
            String::from(" at rest")
        },
        running.case
    );
    let mut text = format!("\n{}\n", wrap(&head, WIDTH, 2));
    for line in lines {
        text.push_str(&format!("  {}\n", wrap(&line, WIDTH - 2, 4)));
    }
    for finding in &running.findings {
        text.push_str(&finding_text(finding, sources, false));
    }
    text
}

/// How it ended, friction high and low.
fn ends(running: &Running) -> Vec<String> {
    let one = |run: &Run| {
        let at = with_unit(run.at, running.drive.unit);
        match run.ended {
            Ended::Time if !running.driven && run.last.is_some() => {
                run.last.map_or_else(String::new, |last| {
                    format!(
                        "after {}, {:.1} turns, it still goes, at {}, {} to {} over a turn",
                        seconds(run.seconds),
                        run.turns,
                        rpm(last.mean),
                        rpm(last.least.value),
                        rpm(last.greatest.value)
                    )
                })
            }
            Ended::Even | Ended::Time => run.last.map_or_else(
                || {
                    format!(
                        "after {} it has made {:.2} turns",
                        seconds(run.seconds),
                        run.turns
                    )
                },
                |last| {
                    let starts = run
                        .starts_in
                        .map_or_else(String::new, |s| format!(", up to speed in {}", seconds(s)));
                    let even = if run.ended == Ended::Time && running.driven {
                        format!(" and not yet steady after {}", seconds(run.seconds))
                    } else {
                        String::new()
                    };
                    format!(
                        "runs at {}, {} to {} over a turn ({} uneven){starts}{even}",
                        rpm(last.mean),
                        rpm(last.least.value),
                        rpm(last.greatest.value),
                        percent(last.unevenness)
                    )
                },
            ),
            Ended::Stands => format!(
                "comes to rest at {at} after {:.2} turns, {}",
                run.turns,
                seconds(run.seconds)
            ),
            Ended::DoesNotStart => format!("does not start from {at}"),
            Ended::Jams => format!("jams at {at} after {:.2} turns", run.turns),
        }
    };
    vec![
        format!("friction high: {}", one(&running.high)),
        format!("friction low: {}", one(&running.low)),
    ]
}

fn turn(running: &Running, length: Unit) -> Vec<String> {
    let Some(last) = running.high.last else {
        return Vec::new();
    };
    let mut lines = vec![format!(
        "slowest at {}, fastest at {}; a turn takes {} of work and {} of friction, friction high",
        with_unit(last.least.at, running.drive.unit),
        with_unit(last.greatest.at, running.drive.unit),
        amounts::energy(last.loads, length),
        amounts::energy(last.friction, length)
    )];
    if let (Some(carries), true) = (last.carries, running.driven) {
        lines.push(format!(
            "at its slowest it has {} times the energy that the hardest stretch takes of it",
            show(carries, Unit::One, 1)
        ));
    }
    lines
}

fn gives(drove: &Drove, length: Unit) -> String {
    let power = amounts::power(drove.power, length);
    match drove.speed {
        Some(speed) => {
            let unit = unit_of_force(true, length);
            format!(
                "{} gives {power} at {}: at most {}, {} as the root of the mean square",
                drove.name,
                show(speed, Unit::TurnPerMinute, 0),
                with_unit(drove.most, unit),
                with_unit(drove.root_mean_square, unit)
            )
        }
        None => format!(
            "{} gives {power}, {} a turn, with up to {}",
            drove.name,
            amounts::energy(drove.work, length),
            with_unit(drove.most, unit_of_force(false, length))
        ),
    }
}

/// The run for a spreadsheet.
pub(crate) fn table(running: &Running, length: Unit) -> String {
    let (unit, per) = (unit_of_force(true, length), running.drive.unit);
    let head = |words: &str, unit: Unit| format!("{words} ({})", unit.symbol());
    let mut text = csv::title(&format!(
        "run of {}, under {}, friction high",
        running.drive.name, running.case
    ));
    text.push_str(&csv::line([
        "time (s)",
        &head(&running.drive.name, per),
        &head("speed", Unit::TurnPerMinute),
        &head("what turns it", unit),
        &head("loads and friction", unit),
    ]));
    for m in &running.curve {
        text.push_str(&csv::line([
            format!("{:.6}", m.time).as_str(),
            &format!("{:.6}", per.from_inside(m.at)),
            &format!("{:.6}", Unit::TurnPerMinute.from_inside(m.speed)),
            &format!("{:.6}", unit.from_inside(m.drives)),
            &format!("{:.6}", unit.from_inside(m.takes)),
        ]));
    }
    text
}
