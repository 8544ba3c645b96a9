//! What dial-in says, in a machinist's words.

use super::answers::{Backlash, Fit, Give, SetAside, Shift, Wear};
use super::finding;
use super::fit::{Aside, Belief, Fitted, LetGo};
use super::system::{Nuisance, Order, Row, System, last_figure};
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
    let (sentence, help) = if fitted.too_many {
        let places: Vec<String> = fitted
            .aside
            .iter()
            .take(NAMED)
            .filter_map(|aside| {
                let (i, by) = (aside.observation(), aside.by());
                let run = &system.log.runs[system.observations.get(i)?.run];
                let (q, d) = (
                    system.model.reading(run.reading),
                    system.model.drive(run.drive),
                );
                let at = say::at(&d, system.observations[i].at);
                Some(format!("{at} (off by {})", say::of(&q, by)))
            })
            .collect();
        (
            format!(
                "more than {} of {} readings do not go with the others, whatever the dimensions are; the first that stand out: {}",
                fitted.aside.len(),
                system.observations.len(),
                places.join("; ")
            ),
            "read those places again; when most stand out, these are readings of another machine, or of other settings",
        )
    } else {
        (
            format!(
                "the readings are {widened:.0} times as far off any machine within its tolerances as they were stated to be sure"
            ),
            "these look like readings of another machine, or of other settings; look at each run, whether its places are in the unit they stand in, or state a greater uncertainty",
        )
    };
    Some(finding(
        Severity::Fault,
        sentence,
        Some(help.to_owned()),
        "log",
    ))
}

/// Readings named when too many stand out.
const NAMED: usize = 4;

/// A zero that was said to be true and is not.
pub(crate) fn zero(system: &System<'_>, fitted: &Fitted) -> Option<Finding> {
    let (gone, chain) = fitted.let_go.iter().find_map(|gone| match gone.belief {
        Belief::Zero { chain, .. } => Some((gone, chain)),
        _ => None,
    })?;
    let k = system
        .nuisances
        .iter()
        .position(|n| *n == Nuisance::Zero { chain })?;
    let by = *fitted.x.get(system.unknowns.len() + k)?;
    let run = &system.log.runs[chain];
    let q = system.model.reading(run.reading);
    let or = others(system, &gone.or);
    let or = if or.is_empty() {
        String::new()
    } else {
        format!("; if it was, look at {}", or.join("; "))
    };
    Some(Finding {
        severity: Severity::Fault,
        sentence: format!(
            "{}: all readings of {} are {} {} what the machine can show; was the zero really true?",
            run.name,
            q.name,
            say::of(&q, by.abs()),
            if by < 0.0 { "below" } else { "above" }
        ),
        number: Some(by),
        margin: None,
        inside: Some(q.inside),
        what_to_try: Some(format!(
            "if the indicator was set anywhere, write zero = \"unknown\" (leave --zero out){or}"
        )),
        about: format!("run {}", run.name),
        place: run.place,
    })
}

/// A reading so near a dead centre that the last figure of its place is worth more than the reading.
pub(crate) fn beside(system: &System<'_>, i: usize, row: &Row) -> Finding {
    let o = &system.observations[i];
    let run = &system.log.runs[o.run];
    let (q, d) = (
        system.model.reading(run.reading),
        system.model.drive(run.drive),
    );
    let figure = last_figure(system.model, run.drive);
    Finding {
        severity: Severity::Caution,
        sentence: format!(
            "{}: the reading at {} stands beside a dead centre, where {} of {} is {} of {}; it was left out",
            run.name,
            say::at(&d, o.at),
            say::short(figure, d.unit),
            d.name,
            say::of(&q, row.by_drive.abs() * figure),
            q.name
        ),
        number: None,
        margin: None,
        inside: None,
        what_to_try: Some(format!(
            "read further from it, or say how surely {} stood there: position = \"{}\"",
            d.name,
            say::short(figure, d.unit)
        )),
        about: format!("run {}", run.name),
        place: run.taken.get(o.row).map_or(run.place, |t| t.place),
    }
}

/// Beliefs in words, as they stand in a list.
fn others(system: &System<'_>, or: &[Belief]) -> Vec<String> {
    let said = or.iter().take(NAMED).map(|belief| match *belief {
        Belief::Tolerance(k) => system.model.dimensions[system.unknowns[k].dimension]
            .name
            .clone(),
        Belief::Zero { chain, by } => {
            let run = &system.log.runs[chain];
            let q = system.model.reading(run.reading);
            format!("the zero of {} (off by {})", run.name, say::of(&q, by))
        }
        Belief::Shift { first, by } => {
            let d = system.model.drive(system.log.runs[first].drive);
            format!(
                "the zero of {}'s own scale (off by {})",
                d.name,
                say::of(&d, -by)
            )
        }
    });
    said.collect()
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

/// Lost motion that is more than it is uncertain by: reading, drive, and how much more is read coming from below.
pub(crate) fn lost(system: &System<'_>, fitted: &Fitted) -> Vec<(usize, usize, f64)> {
    let p = system.unknowns.len();
    let mut all = Vec::new();
    for (k, n) in system.nuisances.iter().enumerate() {
        if let Nuisance::Backlash { reading, drive } = *n {
            let (by, sd) = (
                fitted.x[p + k],
                fitted.covariance[(p + k, p + k)].max(0.0).sqrt(),
            );
            if by.abs() > 2.0 * sd {
                all.push((reading, drive, by));
            }
        }
    }
    all
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
        let by_rows = matches!(
            *aside,
            Aside::Slip {
                order: Order::Rows,
                ..
            }
        );
        SetAside {
            run: system.log.runs[o.run].name.clone(),
            row: o.row + 1,
            at: o.at,
            slip,
            by_rows,
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

/// Something that was taken for true and is not.
fn let_go(system: &System<'_>, fitted: &Fitted, gone: &LetGo) -> Option<Finding> {
    match gone.belief {
        Belief::Tolerance(k) => Some(beyond(system, fitted, gone, k)),
        Belief::Shift { first, .. } => shifted(system, fitted, gone, first),
        // That one is a question, and there is no result.
        Belief::Zero { .. } => None,
    }
}

/// The zero of a drive's own scale is off.
fn shifted(system: &System<'_>, fitted: &Fitted, gone: &LetGo, first: usize) -> Option<Finding> {
    let k = system
        .nuisances
        .iter()
        .position(|n| *n == Nuisance::Shift { first })?
        + system.unknowns.len();
    let (by, band) = (
        *fitted.x.get(k)?,
        2.0 * fitted.covariance[(k, k)].max(0.0).sqrt(),
    );
    let run = &system.log.runs[first];
    let d = system.model.drive(run.drive);
    let or = others(system, &gone.or);
    let or = if or.is_empty() {
        String::new()
    } else {
        format!(
            "; or one of these is off instead, which these readings do not tell: {}",
            or.join("; ")
        )
    };
    Some(Finding {
        severity: Severity::Caution,
        sentence: format!(
            "{}: {} stood {} (± {}) {} than was read off at every place: with its zero there the readings fit, else they do not",
            run.name,
            d.name,
            say::of(&d, by.abs()),
            say::of(&d, band),
            if by < 0.0 { "less" } else { "further" }
        ),
        number: Some(by),
        margin: None,
        inside: Some(d.inside),
        what_to_try: Some(format!(
            "look where the zero of its protractor or rule is; correct the places, or say how far it may be off with drive-zero{or}"
        )),
        about: format!("run {}", run.name),
        place: run.place,
    })
}

/// The zeros of drives' own scales that were fitted.
pub(crate) fn shifts(system: &System<'_>, fitted: &Fitted) -> Vec<Shift> {
    let p = system.unknowns.len();
    let c = &fitted.covariance;
    let deviation = |k: usize| c[(k, k)].max(0.0).sqrt();
    let mut all = Vec::new();
    for (n, nuisance) in system.nuisances.iter().enumerate() {
        let Nuisance::Shift { first } = *nuisance else {
            continue;
        };
        let k = p + n;
        let before = system.shift_known(first).map(|sd| 2.0 * sd);
        let plus_minus = 2.0 * deviation(k);
        // Dimensions that take turns with it.
        let like = (0..p).filter(|&u| {
            let both = deviation(u) * deviation(k);
            both > 0.0 && (c[(u, k)] / both).abs() > ALIKE
        });
        let runs = system.log.runs.iter().enumerate();
        all.push(Shift {
            drive: system.model.drive(system.log.runs[first].drive),
            runs: runs
                .filter(|(r, _)| system.taken_with(*r) == first)
                .map(|(_, r)| r.name.clone())
                .collect(),
            value: fitted.x[k],
            plus_minus,
            before,
            told: before.is_none_or(|b| plus_minus < TOLD * b),
            like: like
                .map(|u| {
                    system.model.dimensions[system.unknowns[u].dimension]
                        .name
                        .clone()
                })
                .collect(),
        });
    }
    all
}

/// Share of what was open beforehand below which a zero counts as told.
const TOLD: f64 = 0.7;
/// Correlation of what takes turns.
const ALIKE: f64 = 0.6;

fn shift(s: &Shift) -> Option<Finding> {
    let d = &s.drive;
    s.before?;
    let like = if s.like.is_empty() {
        String::new()
    } else {
        format!(
            "; it acts like {}",
            s.like
                .iter()
                .take(NAMED)
                .cloned()
                .collect::<Vec<_>>()
                .join("; ")
        )
    };
    let (sentence, help) = if s.told {
        (
            format!(
                "{} stood {} {} than was read off (± {})",
                d.name,
                say::of(d, s.value.abs()),
                if s.value < 0.0 { "less" } else { "further" },
                say::of(d, s.plus_minus)
            ),
            None,
        )
    } else {
        (
            format!(
                "these readings do not tell where the zero of {}'s own scale lies (± {}){like}",
                d.name,
                say::of(d, s.plus_minus)
            ),
            Some(
                "put the protractor or rule on again by something sure, or measure what acts like it on the part"
                    .to_owned(),
            ),
        )
    };
    let mut f = finding(Severity::Note, sentence, help, &format!("drive.{}", d.name));
    f.number = Some(s.value);
    f.inside = Some(d.inside);
    Some(f)
}

/// A part that came out beyond its tolerance.
fn beyond(system: &System<'_>, fitted: &Fitted, gone: &LetGo, k: usize) -> Finding {
    let u = &system.unknowns[k];
    let d = &system.model.dimensions[u.dimension];
    let off = fitted.x[k] * u.scale;
    let band = 2.0 * u.scale * fitted.covariance[(k, k)].max(0.0).sqrt();
    let others = others(system, &gone.or);
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
    let i = aside.observation();
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
                "{}: from {at} on{} every reading is {by} off: the indicator slipped there",
                run.name,
                if told.by_rows { ", row by row," } else { "" }
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
        let since = told.drift.map_or(String::new(), |drift| {
            format!(
                ", with the {} it has drifted by since it was read",
                say::of(q, drift)
            )
        });
        all.push(Finding {
            severity: match margin {
                m if m < 0.0 => Severity::Miss,
                m if m < after => Severity::Caution,
                _ => Severity::Kept,
            },
            sentence: format!(
                "{}: {} as built (± {}){since}, {how}",
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
