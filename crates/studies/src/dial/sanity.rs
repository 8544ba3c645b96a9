//! Before any fit: could these be readings of this machine at all?

use super::system::{Row, System};
use crate::answers::{Finding, Inside, Severity};
use crate::say;
use quantity::Kind;

/// So many standard deviations from what the drawing lets expect is no chance.
const FAR: f64 = 6.0;
/// A slope this many times a factor, or less, may be that factor.
const NEAR: f64 = 1.3;

/// How the shown values go with the drawn ones.
struct Slope {
    /// Shown by drawn.
    value: f64,
    /// Standard deviation from noise alone.
    noise: f64,
    /// The same from the tolerances.
    made: f64,
}

/// What is wrong with the runs as a whole; a fit makes no sense when anything is.
pub(crate) fn objections(system: &System<'_>, rows: &[Row]) -> Vec<Finding> {
    let mut found = Vec::new();
    for (n, run) in system.log.runs.iter().enumerate() {
        let Some(slope) = slope(system, rows, n) else {
            continue;
        };
        let q = system.model.reading(run.reading);
        let off = |k: f64| (slope.value - k).abs() / slope.noise.hypot(k * slope.made);
        if off(1.0) <= FAR {
            continue;
        }
        let mut ways = vec![(-1.0, "opposite")];
        if q.unit.kind() == Kind::Length {
            ways.extend([
                (25.4, "inch"),
                (1.0 / 25.4, "mm"),
                (-25.4, "inch"),
                (-1.0 / 25.4, "mm"),
            ]);
        }
        let best = ways.iter().min_by(|a, b| off(a.0).total_cmp(&off(b.0)));
        // However uncertain a slope is, it must be near the factor that is asked about.
        let near = |k: f64| slope.value / k > 1.0 / NEAR && slope.value / k < NEAR;
        let (sentence, help) = match best.filter(|b| off(b.0) <= FAR && near(b.0)) {
            Some((k, "opposite")) if *k == -1.0 => (
                format!(
                    "{}: {} goes the other way than drawn: the indicator counts against it",
                    run.name, q.name
                ),
                format!(
                    "write sense = \"{0}\" in the run (--sense {0} beside --readings), or look whether {1} was counted backwards",
                    turned(run.sense),
                    system.model.machine.drives[run.drive].name
                ),
            ),
            Some((_, way)) => {
                let (typed, meant) = if *way == "inch" {
                    ("millimetres were written as inches", "mm")
                } else {
                    ("inches were written as millimetres", "in")
                };
                (
                    format!(
                        "{}: {} goes {} times as far as drawn; is it that {typed}?",
                        run.name,
                        q.name,
                        figures(slope.value)
                    ),
                    format!("if so, write the unit beside the figures, like \"1.204 {meant}\""),
                )
            }
            None if slope.value.abs() < 0.3 || slope.value.abs() > 3.0 => (
                format!(
                    "{}: {} goes {} times as far as drawn, which no tolerance explains; these look like readings of another machine, reading or drive",
                    run.name,
                    q.name,
                    figures(slope.value)
                ),
                other_help(system, n),
            ),
            None => continue,
        };
        found.push(Finding {
            severity: Severity::Fault,
            sentence,
            number: Some(slope.value),
            margin: None,
            inside: None,
            what_to_try: Some(help),
            about: format!("run {}", run.name),
            place: run.place,
        });
    }
    found
}

fn other_help(system: &System<'_>, n: usize) -> String {
    let run = &system.log.runs[n];
    let drive = system.model.drive(run.drive);
    if radians(system, n) {
        return format!(
            "its places lie within one degree for each radian of the range of {0}; if they are radians, write the unit: \"{0} (rad)\" at the head of the column",
            drive.name
        );
    }
    format!(
        "look whether reading = \"{}\" and drive = \"{}\" are meant, in which unit the places are, and how the other drives and settings stood",
        system.model.machine.readings[run.reading].name, drive.name
    )
}

/// Places of a turning drive that cover about a 57th of its range.
fn radians(system: &System<'_>, n: usize) -> bool {
    let run = &system.log.runs[n];
    let d = &system.model.machine.drives[run.drive];
    let span = match (d.whole_turn, d.range) {
        (true, _) => std::f64::consts::TAU,
        (false, Some([a, b])) => (b - a).abs(),
        (false, None) => return false,
    };
    let ends = run.taken.iter().map(|t| t.at);
    let (low, high) = (
        ends.clone().fold(f64::INFINITY, f64::min),
        ends.fold(f64::NEG_INFINITY, f64::max),
    );
    let share = (high - low).to_degrees() / span;
    d.unit.kind() == Kind::Angle && (0.4..=1.05).contains(&share)
}

/// Dimensions measured on parts that cannot be what they are said to be.
pub(crate) fn measured(system: &System<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for u in &system.unknowns {
        let d = &system.model.dimensions[u.dimension];
        let nominal = d.sign * system.model.params(&system.model.drawn())[d.param];
        let of = system
            .log
            .measured
            .iter()
            .filter(|m| m.dimension == u.dimension);
        let all: Vec<_> = of.collect();
        let value = |v: f64| super::words::shown(system, v, d.inside);
        let mut ask = |sentence: String, help: String, place| {
            found.push(Finding {
                severity: Severity::Fault,
                sentence,
                number: None,
                margin: None,
                inside: None,
                what_to_try: Some(help),
                about: d.of.clone(),
                place,
            });
        };
        for (n, m) in all.iter().enumerate() {
            let sd = (m.uncertainty / 2.0).hypot(if u.toleranced { u.scale } else { 0.0 });
            let off = (m.value - nominal).abs();
            let inches = [25.4, 1.0 / 25.4].into_iter().find(|k| {
                d.inside == Inside::Millimetre
                    && (m.value * k - nominal).abs() <= FAR * sd * k.max(1.0)
            });
            if u.toleranced
                && off > FAR * sd
                && let Some(k) = inches
            {
                let (typed, meant) = if k > 1.0 {
                    ("inches", "in")
                } else {
                    ("millimetres", "mm")
                };
                ask(
                    format!(
                        "{} is measured {}, drawn {}; is it that {typed} were meant?",
                        d.name,
                        value(m.value),
                        value(nominal)
                    ),
                    format!(
                        "if so, write the unit beside the figure, like \"{} {meant}\"",
                        say::short(m.value, system.model.machine.unit)
                            .split(' ')
                            .next()
                            .unwrap_or_default()
                    ),
                    m.place,
                );
                break;
            }
            if u.toleranced && off > WRONG * 3.0 * u.scale && off > 0.02 * nominal.abs() {
                ask(
                    format!("{} is measured {}, drawn {}: {:.0} times its tolerance", d.name, value(m.value), value(nominal), off / (3.0 * u.scale)),
                    "look whether that dimension is meant, and at the figure; if the part is so, write it in the machine file".to_owned(),
                    m.place,
                );
                break;
            }
            let other = all[..n].iter().find(|o| {
                (o.value - m.value).abs() > FAR * (o.uncertainty / 2.0).hypot(m.uncertainty / 2.0)
            });
            if let Some(other) = other {
                ask(
                    format!(
                        "{} is measured {} and {}, which do not go together",
                        d.name,
                        value(other.value),
                        value(m.value)
                    ),
                    "measure it once more, and take the wrong value out of the log".to_owned(),
                    m.place,
                );
                break;
            }
        }
    }
    found.extend(distances(system));
    found
}

/// Distances between holes that cannot be what they are said to be.
fn distances(system: &System<'_>) -> Vec<Finding> {
    let drawn = system.model.params(&system.model.drawn());
    let mut found = Vec::new();
    for m in &system.spans {
        let by = m.span.by_unknown(&drawn, &system.unknowns);
        let (nominal, tolerance) = (m.span.length(&drawn), by.norm());
        let value = |v: f64| super::words::shown(system, v, Inside::Millimetre);
        let off = m.value - nominal;
        let (sentence, help) = if tolerance <= 0.0 {
            (
                format!(
                    "{} was measured, but none of its holes may be off",
                    m.span.name
                ),
                "write the shop's usual tolerances under [usual], as in hole-places = \"0.05 mm\"",
            )
        } else if off.abs() > WRONG * 3.0 * m.sd.hypot(tolerance) && off.abs() > 0.02 * nominal {
            (
                format!(
                    "{} is measured {}, drawn {}",
                    m.span.name,
                    value(m.value),
                    value(nominal)
                ),
                "look at the figure, its unit, and whether these two holes are meant; if the part is so, write it in the machine file",
            )
        } else {
            continue;
        };
        found.push(Finding {
            severity: Severity::Fault,
            sentence,
            number: None,
            margin: None,
            inside: None,
            what_to_try: Some(help.to_owned()),
            about: m.span.of.clone(),
            place: m.place,
        });
    }
    found
}

/// A part measured this many times its tolerance off is not the part meant.
const WRONG: f64 = 10.0;

fn turned(sense: f64) -> &'static str {
    if sense > 0.0 { "opposite" } else { "same" }
}

fn figures(x: f64) -> String {
    let size = x.abs();
    if size >= 10.0 {
        format!("{x:.1}")
    } else if size >= 0.1 {
        format!("{x:.2}")
    } else {
        format!("{x:.4}")
    }
}

/// The slope of a run, by the median over all pairs of places (Theil and Sen), which one wild reading cannot turn.
fn slope(system: &System<'_>, rows: &[Row], run: usize) -> Option<Slope> {
    let sense = system.log.runs[run].sense;
    let all: Vec<(f64, f64, f64, &Row)> = system
        .observations
        .iter()
        .zip(rows)
        .filter(|(o, _)| o.run == run)
        .map(|(o, row)| (sense * row.value, o.shown, o.sd, row))
        .collect();
    let mut slopes = Vec::new();
    for (i, a) in all.iter().enumerate() {
        for b in &all[i + 1..] {
            // Places too close together say nothing of the slope.
            if (a.0 - b.0).abs() > 3.0 * a.2.hypot(b.2) {
                slopes.push((a.1 - b.1) / (a.0 - b.0));
            }
        }
    }
    if slopes.len() < 3 {
        return None;
    }
    slopes.sort_by(f64::total_cmp);
    let value = slopes[slopes.len() / 2];
    // How the slope of a straight line through them would stray, by noise and by each dimension.
    let n = all.len() as f64;
    let mean = all.iter().map(|a| a.0).sum::<f64>() / n;
    let square: f64 = all.iter().map(|a| (a.0 - mean).powi(2)).sum();
    let noise = all
        .iter()
        .map(|a| ((a.0 - mean) * a.2).powi(2))
        .sum::<f64>()
        .sqrt()
        / square;
    let made = (0..system.unknowns.len())
        .map(|k| {
            all.iter()
                .map(|a| (a.0 - mean) * sense * a.3.by_unknown[k])
                .sum::<f64>()
                / square
        })
        .map(|d| d * d)
        .sum::<f64>()
        .sqrt();
    Some(Slope {
        value,
        // The median of pairs strays a little more than the straight line.
        noise: 1.5 * noise,
        made,
    })
}

/// Runs that say nothing because of what they lack, and whether nothing at all is said.
pub(crate) fn too_few(system: &System<'_>) -> (Vec<Finding>, bool) {
    let mut found = Vec::new();
    let note = |sentence: String, help: &str, run: usize| Finding {
        severity: Severity::Caution,
        sentence,
        number: None,
        margin: None,
        inside: None,
        what_to_try: Some(help.to_owned()),
        about: format!("run {}", system.log.runs[run].name),
        place: system.log.runs[run].place,
    };
    let mut says = system.log.measured.len();
    let mut chains: Vec<usize> = system.observations.iter().map(|o| o.chain).collect();
    chains.sort_unstable();
    chains.dedup();
    for chain in chains {
        let run = &system.log.runs[chain];
        let count = system
            .observations
            .iter()
            .filter(|o| o.chain == chain)
            .count();
        let free = usize::from(run.zero == machine::logbook::Zero::Unknown);
        says += count.saturating_sub(free);
        if count <= free {
            let q = system.model.drive(run.drive);
            let place = system
                .observations
                .iter()
                .find(|o| o.chain == chain)
                .map_or(String::new(), |o| format!(" at {}", say::at(&q, o.at)));
            found.push(note(
                format!("{}: one reading{place} with an unknown zero says nothing", run.name),
                "read at three places or more without touching the indicator, or write zero = \"true\" if it showed the true value",
                chain,
            ));
        }
    }
    for (n, run) in system.log.runs.iter().enumerate() {
        if run.taken.is_empty() {
            found.push(note(
                format!("{} holds no reading", run.name),
                "write its rows, or take the run out",
                n,
            ));
        }
    }
    (found, says == 0)
}
