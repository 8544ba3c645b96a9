//! What dial-in says, in a machinist's words.

mod doubts;

use super::answers::{Fit, Wear};
use super::finding;
use super::fit::Fitted;
use super::system::{Nuisance, System};
use crate::answers::{Finding, Inside, Severity};
use crate::say;
use quantity::Unit;

pub(crate) use doubts::{absurd, beside, zero};
use doubts::{let_go, set_aside, shift};

/// An error beyond so many thirds of its tolerance is told.
const STRANGE: f64 = 4.0;

pub(crate) fn no_tolerances() -> Finding {
    finding(
        Severity::Fault,
        "no dimension has a tolerance or was measured, so nothing may be off".to_owned(),
        Some(
            "write the shop's usual tolerances under [usual], as in hole-places = \"0.05 mm\""
                .to_owned(),
        ),
        "usual",
    )
}

pub(crate) fn no_fit() -> Finding {
    finding(
        Severity::Fault,
        "no machine near the drawn one shows these readings".to_owned(),
        Some("look whether reading, drive and settings of each run are the ones meant".to_owned()),
        "log",
    )
}

/// Length in the machine's unit, angle in degrees.
pub(crate) fn shown(system: &System<'_>, value: f64, inside: Inside) -> String {
    let unit = if inside == Inside::Radian {
        Unit::Degree
    } else {
        system.model.machine.unit
    };
    say::value(value, unit)
}

pub(crate) fn findings(system: &System<'_>, fitted: &Fitted, fit: &Fit) -> Vec<Finding> {
    let mut all = Vec::new();
    for (aside, told) in fitted.aside.iter().zip(&fit.aside) {
        all.push(set_aside(system, *aside, told));
    }
    for gone in &fitted.let_go {
        all.extend(let_go(system, fitted, gone));
    }
    all.extend(fit.shifts.iter().filter_map(shift));
    all.extend(left_over(system, fitted));
    for (k, u) in system
        .unknowns
        .iter()
        .enumerate()
        .filter(|(_, u)| u.toleranced)
    {
        if fitted.x[k].abs() > STRANGE {
            let d = &system.model.dimensions[u.dimension];
            let mut f = finding(
                Severity::Caution,
                format!(
                    "{} would be {} off, {:.1} times its tolerance",
                    d.name,
                    shown(system, fitted.x[k] * u.scale, d.inside),
                    fitted.x[k].abs() / 3.0
                ),
                Some("measure it on the part and log it; if it is right, something else is off that the drawing does not show".to_owned()),
                &d.of,
            );
            f.number = Some(fitted.x[k] * u.scale);
            f.inside = Some(d.inside);
            all.push(f);
        }
    }
    let params = system.params(&fitted.x);
    for m in &system.spans {
        let value = |v: f64| shown(system, v, Inside::Millimetre);
        let fitted = m.span.length(&params);
        all.push(finding(
            Severity::Note,
            format!(
                "{} is {} as fitted, measured {} (± {})",
                m.span.name,
                value(fitted),
                value(m.value),
                value(2.0 * m.sd)
            ),
            None,
            &m.span.of,
        ));
    }
    for b in &fit.backlash {
        let q = &b.reading;
        let real = b.value.abs() > b.plus_minus;
        let sentence = if real {
            format!(
                "{} has {} of backlash over {} (± {})",
                q.name,
                say::of(q, b.value.abs()),
                b.drive,
                say::of(q, b.plus_minus)
            )
        } else {
            format!(
                "{} shows no backlash over {} beyond ± {}",
                q.name,
                b.drive,
                say::of(q, b.plus_minus)
            )
        };
        all.push(finding(
            Severity::Note,
            sentence,
            None,
            &format!("reading.{}", q.name),
        ));
    }
    for g in &fit.give {
        let q = &g.reading;
        let sentence = match g.stiffness {
            Some(k) => format!(
                "{} is held by {:.1} kN/mm under {} (± {:.1})",
                q.name,
                k / 1000.0,
                g.case,
                k * k * g.plus_minus / 1000.0
            ),
            None if g.a_newton => format!(
                "{} shows no give under {} that these readings could tell",
                q.name, g.case
            ),
            None => format!(
                "{} gives by {} under {} (± {})",
                q.name,
                say::of(q, g.value),
                g.case,
                say::of(q, g.plus_minus)
            ),
        };
        all.push(finding(
            Severity::Note,
            sentence,
            None,
            &format!("reading.{}", q.name),
        ));
    }
    all.extend(asks(system, fit));
    all.extend(far(system, fit));
    all.extend(fit.wear.iter().map(wear));
    all.extend(not_told_apart(system));
    all
}

/// Is what is left over only noise?
fn left_over(system: &System<'_>, fitted: &Fitted) -> Vec<Finding> {
    let mut all = Vec::new();
    if fitted.freedoms == 0 || system.used() == 0 {
        return all;
    }
    let times = (fitted.sum / fitted.freedoms as f64).sqrt();
    if system.inflate > 1.0 {
        all.push(finding(
            Severity::Caution,
            format!("the readings scatter {times:.1} times as much as was stated; their uncertainties were widened by that"),
            Some("state what the instrument and the hand really hold, or look for what is loose".to_owned()),
            "log",
        ));
    }
    if fitted.pattern < 0.01 {
        all.push(finding(
            Severity::Caution,
            "what is left over runs in waves instead of to and fro, so something acts that these dimensions do not explain".to_owned(),
            Some("look for a bent rod, a pin that is not round, a part that rubs, or a load that was not logged".to_owned()),
            "log",
        ));
    } else if system.inflate == 1.0 {
        all.push(finding(
            Severity::Note,
            format!(
                "what is left over is noise of {times:.1} times the stated size, with no pattern"
            ),
            None,
            "log",
        ));
    }
    all
}

fn asks(system: &System<'_>, fit: &Fit) -> Vec<Finding> {
    let mut all = Vec::new();
    for (told, ask) in fit.asks.iter().zip(&system.model.machine.asks) {
        let (Some(built), Some(after), Some(margin)) = (told.built, told.after, told.margin) else {
            all.push(finding(
                Severity::Miss,
                format!(
                    "{} cannot be judged on the machine as built with these settings",
                    told.ask
                ),
                None,
                &format!("ask.{}", told.ask),
            ));
            continue;
        };
        let q = &told.reading;
        let how = if margin < 0.0 {
            format!("{} beyond its limit", say::of(q, -margin))
        } else if margin < after {
            format!(
                "{} to spare, less than the {} it is uncertain by",
                say::of(q, margin),
                say::of(q, after)
            )
        } else {
            format!("{} to spare", say::of(q, margin))
        };
        let since = told.drift.map_or(String::new(), |drift| {
            format!(
                ", with the {} it has drifted by since it was read",
                say::of(q, drift)
            )
        });
        let lost = told.half_lost.map_or(String::new(), |half| {
            format!(", {} of it half the backlash", say::of(q, half))
        });
        all.push(Finding {
            severity: match margin {
                m if m < 0.0 => Severity::Miss,
                m if m < after => Severity::Caution,
                _ => Severity::Kept,
            },
            sentence: format!(
                "{}: {} as built (± {}{lost}){since}, {how}",
                told.ask,
                say::of(q, built),
                say::of(q, after)
            ),
            number: Some(built),
            margin: Some(margin),
            inside: Some(q.inside),
            what_to_try: None,
            about: format!("ask.{}", told.ask),
            place: ask.place,
        });
    }
    all
}

/// Directions were taken, but the zero between them was lost.
fn not_told_apart(system: &System<'_>) -> Vec<Finding> {
    let mut all = Vec::new();
    let mut said = Vec::new();
    for o in &system.observations {
        let run = &system.log.runs[o.run];
        let key = (run.reading, run.drive);
        let both = system.observations.iter().any(|p| {
            (system.log.runs[p.run].reading, system.log.runs[p.run].drive) == key
                && p.going * o.going < 0.0
        });
        let has = system.nuisances.contains(&Nuisance::Backlash {
            reading: run.reading,
            drive: run.drive,
        });
        if both && !has && !said.contains(&key) {
            said.push(key);
            all.push(finding(
                Severity::Note,
                format!("backlash of {} cannot be told: the indicator was set anew between the two directions", system.model.reading(run.reading).name),
                Some("read up and down without touching it: zero = \"kept\", or going = \"both\"".to_owned()),
                "log",
            ));
        }
    }
    all
}

/// What jobs read that nothing explains.
fn far(system: &System<'_>, fit: &Fit) -> Vec<Finding> {
    let mut all = Vec::new();
    for (job, now) in system.log.jobs.iter().zip(&fit.jobs) {
        for told in now.reads.iter().filter(|t| t.far) {
            let q = &told.reading;
            let (Some(built), Some(band)) = (told.built, told.plus_minus) else {
                continue;
            };
            all.push(Finding {
                severity: Severity::Caution,
                sentence: format!(
                    "job {} read {} {} where the machine as built reads {} (± {})",
                    now.job,
                    q.name,
                    say::of(q, told.read),
                    say::of(q, built),
                    say::of(q, band)
                ),
                number: Some(told.read - built),
                margin: None,
                inside: Some(q.inside),
                what_to_try: Some(
                    "look at the figure, and how drives and settings stood; if it is right, something was moved: read the machine anew"
                        .to_owned(),
                ),
                about: format!("job {}", now.job),
                place: job.place,
            });
        }
    }
    all
}

fn wear(w: &Wear) -> Finding {
    let q = &w.reading;
    let again = w
        .look_again
        .map_or(String::new(), |d| format!("; look again by {d}"));
    let way = if w.off < 0.0 { "less" } else { "more" };
    let now = if w.stale {
        format!(
            "; at {} it read {} {way} than the machine as fitted, which counts in the asks and in what to turn",
            w.last,
            say::of(q, w.off.abs())
        )
    } else {
        String::new()
    };
    let sentence = if w.drifts {
        format!(
            "{} drifts by {} a month (± {}) over {} jobs{now}{again}",
            q.name,
            say::of(q, w.a_month),
            say::of(q, w.plus_minus),
            w.jobs
        )
    } else {
        format!(
            "{} shows no drift beyond {} a month over {} jobs{now}{again}",
            q.name,
            say::of(q, w.a_month.abs() + w.plus_minus),
            w.jobs
        )
    };
    let mut f = finding(
        if w.drifts || w.stale {
            Severity::Caution
        } else {
            Severity::Note
        },
        sentence,
        w.stale.then(|| {
            "take the readings anew before much is turned, and put since = \"DAY\" at the head of the log".to_owned()
        }),
        &format!("reading.{}", q.name),
    );
    f.number = Some(w.a_month);
    f.inside = Some(q.inside);
    f
}
