//! Doubts in words: what cannot be true of these readings, of the parts, or of the zeros they were read from.

use super::shown;
use crate::answers::{Finding, Severity};
use crate::dial::answers::{SetAside, Shift};
use crate::dial::finding;
use crate::dial::fit::{Aside, Belief, Fitted, LetGo};
use crate::dial::system::{Nuisance, Row, System, last_figure};
use crate::say;

/// Leftover error beyond this many times what was stated is no matter of a careless hand any more.
const ABSURD: f64 = 8.0;

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

/// Something that was taken for true and is not.
pub(super) fn let_go(system: &System<'_>, fitted: &Fitted, gone: &LetGo) -> Option<Finding> {
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

pub(super) fn shift(s: &Shift) -> Option<Finding> {
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

pub(super) fn set_aside(system: &System<'_>, aside: Aside, told: &SetAside) -> Finding {
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
