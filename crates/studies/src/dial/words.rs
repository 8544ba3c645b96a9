//! What dial-in says, in a machinist's words.

use super::answers::{Backlash, Fit, Give, SetAside, Wear};
use super::finding;
use super::fit::{Aside, Fitted, LetGo};
use super::system::{Nuisance, System};
use crate::answers::{Finding, Inside, Severity};
use crate::say;
use quantity::Unit;

/// Leftover error beyond this many times what was stated is no matter of a careless hand any more.
const ABSURD: f64 = 8.0;
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

/// The readings cannot be those of this machine.
pub(crate) fn absurd(system: &System<'_>, fitted: &Fitted) -> Option<Finding> {
    let widened = (fitted.sum / fitted.freedoms.max(1) as f64).sqrt();
    if !fitted.too_many && widened < ABSURD {
        return None;
    }
    let sentence = if fitted.too_many {
        format!(
            "more than {} of {} readings do not go with the others, whatever the dimensions are",
            fitted.aside.len(),
            system.observations.len()
        )
    } else {
        format!(
            "the readings are {widened:.0} times as far off any machine within its tolerances as they were stated to be sure"
        )
    };
    Some(finding(
        Severity::Fault,
        sentence,
        Some("these look like readings of another machine, or of other settings; look at each run, or state a greater uncertainty".to_owned()),
        "log",
    ))
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

pub(crate) fn backlash(
    system: &System<'_>,
    fitted: &Fitted,
    deviation: &dyn Fn(usize) -> f64,
) -> Vec<Backlash> {
    let p = system.unknowns.len();
    let found = system
        .nuisances
        .iter()
        .enumerate()
        .filter_map(|(k, n)| match *n {
            Nuisance::Backlash { reading, drive } => Some(Backlash {
                reading: system.model.reading(reading),
                drive: system.model.machine.drives[drive].name.clone(),
                value: fitted.x[p + k],
                plus_minus: 2.0 * deviation(p + k),
            }),
            _ => None,
        });
    found.collect()
}

pub(crate) fn give(
    system: &System<'_>,
    fitted: &Fitted,
    deviation: &dyn Fn(usize) -> f64,
) -> Vec<Give> {
    let p = system.unknowns.len();
    let mut all = Vec::new();
    for (k, n) in system.nuisances.iter().enumerate() {
        let Nuisance::Give { reading, case } = *n else {
            continue;
        };
        let run = system
            .log
            .runs
            .iter()
            .position(|r| r.reading == reading && r.under == Some(case));
        let a_newton = run.is_some_and(|r| system.laws[r].is_some());
        let (value, plus_minus) = (fitted.x[p + k], 2.0 * deviation(p + k));
        all.push(Give {
            reading: system.model.reading(reading),
            case: system.model.machine.work.cases[case].name.clone(),
            value,
            plus_minus,
            stiffness: (a_newton && value > plus_minus).then(|| 1.0 / value),
            a_newton,
        });
    }
    all
}

pub(crate) fn aside(system: &System<'_>, all: &[Aside]) -> Vec<SetAside> {
    let told = all.iter().map(|aside| {
        let (i, slip) = match *aside {
            Aside::Wild { observation, .. } => (observation, false),
            Aside::Slip { before, .. } => (before, true),
        };
        let o = &system.observations[i];
        SetAside {
            run: system.log.runs[o.run].name.clone(),
            row: o.row + 1,
            at: o.at,
            slip,
            by: aside.by(),
        }
    });
    told.collect()
}

pub(crate) fn findings(system: &System<'_>, fitted: &Fitted, fit: &Fit) -> Vec<Finding> {
    let mut all = Vec::new();
    for (aside, told) in fitted.aside.iter().zip(&fit.aside) {
        all.push(set_aside(system, *aside, told));
    }
    for gone in &fitted.let_go {
        all.push(beyond(system, fitted, gone));
    }
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
    all.extend(fit.wear.iter().map(wear));
    all.extend(not_told_apart(system));
    all
}

/// A part that came out beyond its tolerance.
fn beyond(system: &System<'_>, fitted: &Fitted, gone: &LetGo) -> Finding {
    let k = gone.unknown;
    let u = &system.unknowns[k];
    let d = &system.model.dimensions[u.dimension];
    let off = fitted.x[k] * u.scale;
    let band = 2.0 * u.scale * fitted.covariance[(k, k)].max(0.0).sqrt();
    let name = |k: &usize| {
        system.model.dimensions[system.unknowns[*k].dimension]
            .name
            .clone()
    };
    let others: Vec<String> = gone.or.iter().map(name).collect();
    let help = if others.is_empty() {
        "measure it on the part and log it; if it is right there, look for what acts like it"
            .to_owned()
    } else {
        format!(
            "or one of these is as far off: {}; these readings do not tell which. Measure them on the parts and log them",
            others.join("; ")
        )
    };
    let mut f = finding(
        Severity::Caution,
        format!(
            "{} came out {} {} than drawn (± {}), {:.1} times its tolerance: with it the readings fit, within its tolerance they do not",
            d.name,
            shown(system, off.abs(), d.inside),
            if off < 0.0 { "less" } else { "more" },
            shown(system, band, d.inside),
            fitted.x[k].abs() / 3.0
        ),
        Some(help),
        &d.of,
    );
    f.number = Some(off);
    f.inside = Some(d.inside);
    f
}

fn set_aside(system: &System<'_>, aside: Aside, told: &SetAside) -> Finding {
    let i = match aside {
        Aside::Wild { observation, .. } => observation,
        Aside::Slip { before, .. } => before,
    };
    let o = &system.observations[i];
    let run = &system.log.runs[o.run];
    let (q, d) = (
        system.model.reading(run.reading),
        system.model.drive(run.drive),
    );
    let at = say::at(&d, o.at);
    let by = say::of(&q, told.by.abs());
    let (sentence, help) = if told.slip {
        (
            format!(
                "{}: from {at} on every reading is {by} off: the indicator slipped there",
                run.name
            ),
            "its zero was taken anew from there on; look at the holder",
        )
    } else {
        (
            format!(
                "{}: the reading at {at} is {by} off the others and was left out",
                run.name
            ),
            "read that place again",
        )
    };
    Finding {
        severity: Severity::Caution,
        sentence,
        number: Some(told.by),
        margin: None,
        inside: Some(q.inside),
        what_to_try: Some(help.to_owned()),
        about: format!("run {}", run.name),
        place: run.taken.get(o.row).map_or(run.place, |t| t.place),
    }
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
        all.push(Finding {
            severity: match margin {
                m if m < 0.0 => Severity::Miss,
                m if m < after => Severity::Caution,
                _ => Severity::Kept,
            },
            sentence: format!(
                "{}: {} as built (± {}), {how}",
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

fn wear(w: &Wear) -> Finding {
    let q = &w.reading;
    let again = w
        .look_again
        .map_or(String::new(), |d| format!("; look again by {d}"));
    let sentence = if w.drifts {
        format!(
            "{} drifts by {} a month (± {}) over {} jobs{again}",
            q.name,
            say::of(q, w.a_month),
            say::of(q, w.plus_minus),
            w.jobs
        )
    } else {
        format!(
            "{} shows no drift beyond {} a month over {} jobs{again}",
            q.name,
            say::of(q, w.a_month.abs() + w.plus_minus),
            w.jobs
        )
    };
    let mut f = finding(
        if w.drifts {
            Severity::Caution
        } else {
            Severity::Note
        },
        sentence,
        None,
        &format!("reading.{}", q.name),
    );
    f.number = Some(w.a_month);
    f.inside = Some(q.inside);
    f
}
