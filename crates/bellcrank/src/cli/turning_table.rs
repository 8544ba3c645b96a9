//! What turns the crank, in words and for a spreadsheet.

use machine::Sources;
use quantity::{Unit, show};
use studies::Inside;
use studies::cycle::Turning;

use super::WIDTH;
use super::check::finding_text;
use super::csv;
use super::numbers::{percent, unit_of_force, with_unit};
use super::table::{Column, lay_out, wrap};

/// Inertia below this share of what moves the drive is not told.
const TELLING: f64 = 0.005;
/// Joints told.
const MOST: usize = 8;

/// A moment of inertia a person can read: kg·m² down to a few thousandths, kg·cm² below.
fn inertia(value: f64, turns: bool) -> String {
    match (turns, value) {
        (false, v) => format!("{v:.3} kg"),
        (true, v) if v >= 5e3 => format!("{:.4} kg m²", v / 1e6),
        (true, v) => format!("{:.3} kg cm²", v / 100.0),
    }
}

fn speed(turning: &Turning) -> String {
    if turning.drive.inside == Inside::Radian {
        show(turning.speed, Unit::TurnPerMinute, 1)
    } else {
        show(turning.speed, Unit::MillimetrePerSecond, 1)
    }
}

/// What is said of a turn. `length` is the unit in which the machine's lengths are read.
pub(crate) fn text(turning: &Turning, length: Unit, sources: &Sources) -> String {
    let turns = turning.drive.inside == Inside::Radian;
    let unit = unit_of_force(turns, length);
    let at = |value: f64| with_unit(value, turning.drive.unit);
    let mut lines: Vec<String> = Vec::new();
    if let (Some(most), Some(least)) = (turning.most, turning.least) {
        let held = if least.value < 0.0 {
            " (it drives by itself there and must be held)"
        } else {
            ""
        };
        lines.push(format!(
            "takes at most {} at {}, at least {} at {}{held}, friction high",
            with_unit(most.value, unit),
            at(most.at),
            with_unit(least.value, unit),
            at(least.at)
        ));
    }
    if let Some(hand) = turning.hand {
        lines.push(format!(
            "at the hand at most {} at {}",
            with_unit(hand.value, unit_of_force(false, length)),
            at(hand.at)
        ));
    }
    if let (Some(mean), Some(power)) = (turning.mean, turning.power) {
        lines.push(format!(
            "on the mean of a turn {}, {:.2} W",
            with_unit(mean, unit),
            power / 1000.0
        ));
    }
    lines.extend(of_inertia(turning, unit));
    lines.extend(of_wheel(turning));
    if let Some(run) = &turning.run_down {
        lines.push(format!(
            "let go without work it runs on for {:.2} turns, {:.2} s",
            run.turns, run.seconds
        ));
    }
    if let Some(balance) = turning.balance.filter(|b| b.moment > 0.0) {
        lines.push(format!(
            "shakes the frame with up to {}; {:.3} kg at 100 mm (or the same mass times distance), {} counter-clockwise from the line of the \
             first to the next hole of what {} turns, leaves {}",
            with_unit(balance.shakes, unit_of_force(false, length)),
            balance.moment / 100.0,
            with_unit(balance.angle, Unit::Degree),
            turning.drive.name,
            with_unit(balance.left, unit_of_force(false, length)),
        ));
    }
    lines.extend(turning.left_out.iter().cloned());
    let mut text = format!(
        "\n{}\n",
        wrap(
            &format!(
                "What turns {} at {}, under {}",
                turning.drive.name,
                speed(turning),
                turning.case
            ),
            WIDTH,
            2
        )
    );
    for line in lines {
        text.push_str(&format!("  {}\n", wrap(&line, WIDTH - 2, 4)));
    }
    for finding in &turning.findings {
        text.push_str(&finding_text(finding, sources, false));
    }
    text.push_str(&joints(turning, length));
    text
}

fn of_inertia(turning: &Turning, unit: Unit) -> Vec<String> {
    let turns = turning.drive.inside == Inside::Radian;
    let ends = |values: &mut dyn Iterator<Item = f64>| {
        values.fold(None, |ends: Option<[f64; 2]>, v| {
            Some(ends.map_or([v; 2], |[l, h]| [l.min(v), h.max(v)]))
        })
    };
    let mut lines = Vec::new();
    let felt = ends(&mut turning.curve.iter().filter_map(|e| e.reduced));
    if let Some([low, high]) = felt.filter(|[_, high]| *high > 0.0) {
        lines.push(format!(
            "its moving parts, {:.3} kg, resist it like {} to {} on its shaft",
            turning.masses.iter().map(|m| m.mass).sum::<f64>(),
            inertia(low, turns),
            inertia(high, turns)
        ));
    }
    let own = ends(&mut turning.curve.iter().filter_map(|e| e.inertia));
    let most = turning.most.map_or(0.0, |m| m.value.abs());
    // Slow machines hardly feel it.
    if let Some([low, high]) = own.filter(|[l, h]| h - l > 0.0 && h - l >= TELLING * most) {
        lines.push(format!(
            "of that inertia takes {} to {}",
            with_unit(low, unit),
            with_unit(high, unit)
        ));
    }
    lines
}

fn of_wheel(turning: &Turning) -> Vec<String> {
    let Some(wheel) = &turning.flywheel else {
        return Vec::new();
    };
    let mut lines = vec![format!(
        "{:.2} J are stored and given back in a turn; driven steadily {}",
        wheel.energy / 1000.0,
        wheel.as_is.map_or_else(
            || String::from("it would stop on the way as it is"),
            |u| format!("its speed varies by {}", percent(u))
        )
    )];
    match (wheel.wanted, wheel.adds) {
        (Some(wanted), Some(adds)) if adds > 0.0 => lines.push(format!(
            "a fly-wheel of {} makes that {}{}",
            inertia(adds, true),
            percent(wanted),
            wheel.disc.map_or_else(String::new, |d| format!(
                ": a steel disc 20 mm thick and {d:.0} mm across"
            ))
        )),
        (Some(wanted), Some(_)) => {
            lines.push(format!("no fly-wheel is needed for {}", percent(wanted)));
        }
        (Some(wanted), None) => lines.push(format!("no fly-wheel makes that {}", percent(wanted))),
        (None, _) => {}
    }
    lines
}

fn joints(turning: &Turning, length: Unit) -> String {
    let mut name = Column::words("hardest pressed");
    let mut slow = Column::numbers("slow", unit_of_force(false, length).symbol());
    let mut fast = Column::numbers("at speed", unit_of_force(false, length).symbol());
    let mut place = Column::numbers(
        format!("at {}", turning.drive.name),
        turning.drive.unit.symbol(),
    );
    let unit = unit_of_force(false, length);
    for pin in turning.pins.iter().filter(|p| !p.is_moment).take(MOST) {
        name.cells.push(pin.joint.clone());
        slow.cells.push(super::numbers::bare(pin.slow, unit));
        fast.cells.push(super::numbers::bare(pin.fast, unit));
        place
            .cells
            .push(super::numbers::bare(pin.at, turning.drive.unit));
    }
    if name.cells.is_empty() {
        return String::new();
    }
    format!("\n{}", lay_out(&[], &[name, slow, fast, place]))
}

/// The moments over the turn for a spreadsheet; an empty line stands before it.
pub(crate) fn table(turning: &Turning, length: Unit) -> String {
    let turns = turning.drive.inside == Inside::Radian;
    let (unit, force) = (unit_of_force(turns, length), unit_of_force(false, length));
    let per = turning.drive.unit;
    let head = |words: &str, unit: Unit| format!("{words} ({})", unit.symbol());
    let mut text = String::from("\n");
    let drive = head(&turning.drive.name, per);
    let names = [
        drive.as_str(),
        &head("loads at rest without friction", unit),
        &head("inertia", unit),
        &head("what moves it", unit),
        &head("at the hand", force),
        if turns {
            "inertia on the drive (kg m²)"
        } else {
            "inertia on the drive (kg)"
        },
        &head("shaking right", force),
        &head("shaking up", force),
    ];
    let cams: Vec<String> = turning
        .cams
        .iter()
        .map(|c| head(&format!("on cam {}", c.cam), force))
        .collect();
    text.push_str(&csv::line(
        names.into_iter().chain(cams.iter().map(String::as_str)),
    ));
    let number = |v: Option<f64>, unit: Unit| {
        v.map_or_else(String::new, |v| format!("{:.6}", unit.from_inside(v)))
    };
    for (i, e) in turning.curve.iter().enumerate() {
        let cams: Vec<String> = turning
            .cams
            .iter()
            .map(|c| number(c.curve.get(i).copied().flatten(), force))
            .collect();
        let scale = if turns { 1e-6 } else { 1.0 };
        let cells = [
            format!("{:.6}", per.from_inside(e.at)),
            number(e.loads, unit),
            number(e.inertia, unit),
            number(e.moves, unit),
            number(e.hand, force),
            e.reduced
                .map_or_else(String::new, |v| format!("{:.9}", v * scale)),
            number(e.shakes.map(|s| s[0]), force),
            number(e.shakes.map(|s| s[1]), force),
        ];
        text.push_str(&csv::line(cells.iter().chain(&cams).map(String::as_str)));
    }
    text
}
