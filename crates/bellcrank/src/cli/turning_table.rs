//! What turns the crank, in words and for a spreadsheet.

use machine::Sources;
use quantity::Unit;
use studies::Inside;
use studies::cycle::{CamPressed, Turning};

use super::check::finding_text;
use super::csv;
use super::numbers::{percent, unit_of_force, with_unit};
use super::table::{Column, lay_out, wrap};
use super::{WIDTH, amounts};

/// Inertia below this share of what moves the drive is not told.
const TELLING: f64 = 0.005;
/// Joints told.
const MOST: usize = 8;

/// Thickness of the disc that is told, mm.
const DISC: f64 = 20.0;
/// A balancing mass that leaves more of the shaking than this share does nothing worth the work.
const HELPS: f64 = 0.9;

/// What is said of a turn. `length` is the unit in which the machine's lengths are read.
pub(crate) fn text(turning: &Turning, length: Unit, sources: &Sources) -> String {
    let turns = turning.drive.inside == Inside::Radian;
    let unit = unit_of_force(turns, length);
    let at = |value: f64| with_unit(value, turning.drive.unit);
    let mut lines: Vec<String> = Vec::new();
    if let (Some(most), Some(least)) = (turning.most, turning.least) {
        let held = if least.value < -TELLING * most.value.abs() {
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
            "on the mean of a turn {}, {}",
            with_unit(mean, unit),
            amounts::power(power, length)
        ));
    }
    lines.extend(of_inertia(turning, unit, length));
    lines.extend(of_wheel(turning, length));
    if let Some(run) = &turning.run_down {
        lines.push(format!(
            "let go without work it runs on for {:.2} turns, {:.2} s",
            run.turns, run.seconds
        ));
    }
    if let Some(balance) = turning.balance.filter(|b| b.moment > 0.0) {
        let force = |value: f64| with_unit(value, unit_of_force(false, length));
        lines.push(if balance.left > HELPS * balance.shakes {
            format!(
                "shakes the frame with up to {}; no mass on what {} turns takes a tenth of that off",
                force(balance.shakes),
                turning.drive.name
            )
        } else {
            format!(
                "shakes the frame with up to {}; {} (or the same mass times distance), {} counter-clockwise from the line of the first to the \
                 next hole of what {} turns, leaves {}",
                force(balance.shakes),
                amounts::at_arm(balance.moment, length),
                with_unit(balance.angle, Unit::Degree),
                turning.drive.name,
                force(balance.left),
            )
        });
    }
    lines.extend(turning.left_out.iter().cloned());
    let mut text = format!(
        "\n{}\n",
        wrap(
            &format!(
                "What {} {} at {}, under {}",
                if turns { "turns" } else { "moves" },
                turning.drive.name,
                amounts::speed(turning.speed, turns, length),
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
    for line in rollers(turning, length) {
        text.push_str(&format!("  {}\n", wrap(&line, WIDTH - 2, 4)));
    }
    text.push_str(&joints(turning, length));
    text
}

/// How hard each roller presses on its cam, and the play of a track.
fn rollers(turning: &Turning, length: Unit) -> Vec<String> {
    let at = |value: f64| with_unit(value, turning.drive.unit);
    let one = |cam: &CamPressed| {
        let most = cam.most().filter(|p| p.force != 0.0)?;
        let mut line = format!(
            "cam {}: its roller is pressed with at most {} at {}",
            cam.cam,
            with_unit(most.force.abs(), unit_of_force(false, length)),
            at(most.at)
        );
        if let Some(pressure) = cam.hardest().and_then(|h| h.pressure) {
            line += &format!(", {pressure:.0} MPa on the flank");
            if let Some(allowed) = cam.allowed {
                line += &format!(", which begins to dent from {allowed:.0} MPa on");
            }
        }
        if let Some([low, high]) = cam.play {
            line += &format!(
                "; its track is {} to {} wider than the roller",
                with_unit(low, length),
                with_unit(high, length)
            );
        }
        Some(line)
    };
    turning.pressed.iter().filter_map(one).collect()
}

fn of_inertia(turning: &Turning, unit: Unit, length: Unit) -> Vec<String> {
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
            "its moving parts, {}, resist it like {} to {}{}",
            amounts::mass(turning.masses.iter().map(|m| m.mass).sum(), length),
            amounts::inertia(low, turns, length),
            amounts::inertia(high, turns, length),
            if turns { " on its shaft" } else { "" }
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

fn of_wheel(turning: &Turning, length: Unit) -> Vec<String> {
    let Some(wheel) = &turning.flywheel else {
        return Vec::new();
    };
    let mut lines = vec![format!(
        "{} are stored and given back in a turn; driven steadily {}",
        amounts::energy(wheel.energy, length),
        wheel.as_is.map_or_else(
            || String::from("it would stop on the way as it is"),
            |u| format!("its speed varies by {}", percent(u))
        )
    )];
    match (wheel.wanted, wheel.adds) {
        (Some(wanted), Some(adds)) if adds > 0.0 => {
            lines.push(format!(
                "a fly-wheel of {} makes that {}{}",
                amounts::inertia(adds, true, length),
                percent(wanted),
                wheel.disc.map_or_else(String::new, |d| format!(
                    ": {}",
                    amounts::disc(d, DISC, length)
                ))
            ));
            if let Some(fast) = &wheel.fast {
                lines.push(format!(
                    "on {}, which goes {:.2} times as fast, {} does the same: {}",
                    fast.part,
                    fast.times,
                    amounts::inertia(fast.adds, true, length),
                    amounts::disc(fast.disc, DISC, length)
                ));
            }
        }
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
    let told = turning
        .pins
        .iter()
        .filter(|p| !p.is_moment)
        .filter(|p| super::numbers::bare(p.fast, unit) != "0.00");
    for pin in told.take(MOST) {
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
    let (scale, heavy) = amounts::inertia_column(turns, length);
    let mut text = csv::title(&format!(
        "what {} {} at {}, under {}",
        if turns { "turns" } else { "moves" },
        turning.drive.name,
        amounts::speed(turning.speed, turns, length),
        turning.case
    ));
    let drive = head(&turning.drive.name, per);
    let names = [
        drive.as_str(),
        &head("loads at rest without friction", unit),
        &head("inertia", unit),
        &head("what moves it", unit),
        &head("at the hand", force),
        &format!("inertia on the drive ({heavy})"),
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
    text + &pins(turning, length) + &sums(turning, length)
}

/// Every joint for a spreadsheet, moments among them.
fn pins(turning: &Turning, length: Unit) -> String {
    if turning.pins.is_empty() {
        return String::new();
    }
    let per = turning.drive.unit;
    let mut text = csv::title(&format!("joints over a turn of {}", turning.drive.name));
    text.push_str(&csv::line([
        "joint",
        "slow",
        "at speed",
        "unit",
        &format!("at {} ({})", turning.drive.name, per.symbol()),
    ]));
    for pin in &turning.pins {
        let unit = unit_of_force(pin.is_moment, length);
        text.push_str(&csv::line([
            pin.joint.as_str(),
            &format!("{:.4}", unit.from_inside(pin.slow)),
            &format!("{:.4}", unit.from_inside(pin.fast)),
            unit.symbol(),
            &format!("{:.4}", per.from_inside(pin.at)),
        ]));
    }
    text
}

/// What is one number for the whole turn.
fn sums(turning: &Turning, length: Unit) -> String {
    let turns = turning.drive.inside == Inside::Radian;
    let (unit, force) = (unit_of_force(turns, length), unit_of_force(false, length));
    let per = turning.drive.unit;
    let mut text = csv::title(&format!("a turn of {} in sum", turning.drive.name));
    text.push_str(&csv::line(["what", "value", "unit", "at", "unit of at"]));
    let mut add = |what: &str, shown: Option<String>, at: Option<f64>| {
        let Some(shown) = shown else { return };
        let (value, unit) = shown.split_once(' ').unwrap_or((shown.as_str(), ""));
        let at = at.map(|at| format!("{:.4}", per.from_inside(at)));
        let at_unit = if at.is_some() { per.symbol() } else { "" };
        text.push_str(&csv::line([
            what,
            value,
            unit,
            at.as_deref().unwrap_or_default(),
            at_unit,
        ]));
    };
    let spot = |s: Option<studies::cycle::Spot>, unit: Unit| {
        (s.map(|s| with_unit(s.value, unit)), s.map(|s| s.at))
    };
    for (what, (shown, at)) in [
        ("most", spot(turning.most, unit)),
        ("least", spot(turning.least, unit)),
        ("at the hand", spot(turning.hand, force)),
    ] {
        add(what, shown, at);
    }
    add("mean", turning.mean.map(|m| with_unit(m, unit)), None);
    add(
        "power",
        turning.power.map(|p| amounts::power(p, length)),
        None,
    );
    let wheel = turning.flywheel.as_ref();
    add(
        "energy stored",
        wheel.map(|w| amounts::energy(w.energy, length)),
        None,
    );
    let share = |u: f64| format!("{u:.6}");
    add("unevenness", wheel.and_then(|w| w.as_is).map(share), None);
    let adds = wheel.and_then(|w| w.adds);
    add(
        "fly-wheel",
        adds.map(|a| amounts::inertia(a, true, length)),
        None,
    );
    let run = turning.run_down.as_ref();
    add(
        "run-down",
        run.map(|r| format!("{:.4} turns", r.turns)),
        None,
    );
    add("run-down", run.map(|r| format!("{:.4} s", r.seconds)), None);
    let balance = turning.balance.as_ref();
    add("shakes", balance.map(|b| with_unit(b.shakes, force)), None);
    text
}
