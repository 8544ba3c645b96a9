//! What a machinist would say of a run.

use super::answers::{Ended, Run, Running};
use super::powers::Power;
use crate::answers::{Finding, Inside, Severity};
use crate::assemble::Model;
use elements::hand::{basic_force, reduced};
use elements::motors::KEEPS;
use machine::work::{By, Motor, Push};
use quantity::{Unit, show};
use std::f64::consts::TAU;

/// Of its pull-out torque a motor keeps at least this share free, common practice.
const PEAK: f64 = 0.8;
/// A fly-wheel that carries less than this many times the shortfall stops at the next hard spot, common practice.
const CARRIES: f64 = 2.0;

pub(super) fn findings(model: &Model, found: &Running, powers: &[Power<'_>]) -> Vec<Finding> {
    let mut all = Vec::new();
    let machine = &model.machine;
    let drive = machine
        .drives
        .iter()
        .find(|d| d.name == found.drive.name)
        .map(|d| (format!("drive.{}", d.name), d.place));
    let Some((about, place)) = drive else {
        return all;
    };
    let say = |severity, sentence: String, to_try: &str| Finding {
        severity,
        sentence,
        number: None,
        margin: None,
        inside: None,
        what_to_try: (!to_try.is_empty()).then(|| to_try.to_owned()),
        about: about.clone(),
        place,
    };
    if found.driven {
        all.extend(goes(found, &say));
        all.extend(starts(found, &say));
    }
    for (power, drove) in powers.iter().zip(&found.drove) {
        let own = match power {
            Power::Motor(motor) => motors(motor, drove),
            Power::Push { push, .. } => people(push, drove, found),
        };
        let place = match power {
            Power::Motor(m) => m.place,
            Power::Push { push, .. } => push.place,
        };
        all.extend(own.into_iter().map(|(sentence, margin, to_try)| Finding {
            severity: Severity::Caution,
            sentence,
            number: None,
            margin: Some(margin),
            inside: Some(Inside::Count),
            what_to_try: Some(to_try),
            about: power.about(),
            place,
        }));
    }
    all
}

/// From where it would not start.
fn starts(found: &Running, say: &dyn Fn(Severity, String, &str) -> Finding) -> Option<Finding> {
    let deg = |x: f64| show(x, found.drive.unit, 0);
    let each: Vec<String> = found
        .fails_from
        .iter()
        .map(|[from, to]| {
            if from == to {
                format!("at {}", deg(*from))
            } else {
                format!("from {} to {}", deg(*from), deg(*to))
            }
        })
        .collect();
    (!each.is_empty()).then(|| {
        say(
            Severity::Caution,
            format!(
                "stopped {}, {} does not come round from rest by itself, friction high",
                each.join(" and "),
                found.drive.name
            ),
            "push it off by hand there, let it stop elsewhere, or let something stronger turn it",
        )
    })
}

/// Whether it goes at all.
fn goes(found: &Running, say: &dyn Fn(Severity, String, &str) -> Finding) -> Vec<Finding> {
    let at = |run: &Run| show(run.at, found.drive.unit, 0);
    let low = match found.low.ended {
        Ended::Even | Ended::Time => ", friction high; with friction low it goes",
        _ => "",
    };
    let fault = |sentence: String, to_try: &str| vec![say(Severity::Fault, sentence, to_try)];
    match found.high.ended {
        Ended::DoesNotStart => fault(
            format!(
                "{} does not start from {}{low}",
                found.drive.name,
                at(&found.high)
            ),
            "start it elsewhere (--start), give it a push (--from \"20 rpm\"), or let something stronger turn it",
        ),
        Ended::Stands => fault(
            format!(
                "{} does not get over its peak: it stops at {} after {} turns, {} s{low}",
                found.drive.name,
                at(&found.high),
                show(found.high.turns, Unit::One, 2),
                show(found.high.seconds, Unit::One, 2),
            ),
            "a heavier fly-wheel, less work a stroke, or something stronger that turns it",
        ),
        Ended::Jams => fault(
            format!("{} jams at {}{low}", found.drive.name, at(&found.high)),
            "bellcrank load shows which joint jams",
        ),
        Ended::Even | Ended::Time => {
            let carries = found.high.last.and_then(|l| l.carries);
            match carries.filter(|c| *c < CARRIES) {
                Some(carries) => vec![say(
                    Severity::Caution,
                    format!(
                        "{} just gets over its peak: at its slowest it has {} times the energy that its hardest stretch takes (at least {} is common practice)",
                        found.drive.name,
                        show(carries, Unit::One, 2),
                        show(CARRIES, Unit::One, 0),
                    ),
                    "a heavier fly-wheel (--unevenness says how heavy), or less work a stroke",
                )],
                None => Vec::new(),
            }
        }
    }
}

type Said = (String, f64, String);

fn motors(motor: &Motor, drove: &super::Drove) -> Vec<Said> {
    let mut said = Vec::new();
    if let Some([_, rated]) = motor.rated
        && drove.root_mean_square > rated
    {
        said.push((
            format!(
                "motor {} is overloaded: over a turn it gives {} as a root of the mean square and is rated for {}",
                motor.name,
                show(drove.root_mean_square, Unit::NewtonMetre, 2),
                show(rated, Unit::NewtonMetre, 2)
            ),
            rated / drove.root_mean_square - 1.0,
            String::from("a larger motor, a slower stroke, or less work a stroke"),
        ));
    }
    let most = motor.line.most();
    if drove.most > PEAK * most {
        said.push((
            format!(
                "motor {} comes near its greatest torque: {} of {} at the hardest place; where the mains sags it stalls there",
                motor.name,
                show(drove.most, Unit::NewtonMetre, 2),
                show(most, Unit::NewtonMetre, 2)
            ),
            PEAK * most / drove.most - 1.0,
            String::from("a heavier fly-wheel on the fast shaft takes the peak off, or a larger motor"),
        ));
    }
    said
}

fn people(push: &Push, drove: &super::Drove, found: &Running) -> Vec<Said> {
    let kind = match push.by {
        By::Foot => "foot",
        By::Hand => "hand",
    };
    let mut said = Vec::new();
    let Some(keeps) = KEEPS.iter().find(|k| k.by == kind) else {
        return said;
    };
    let Some(last) = found.high.last else {
        return said;
    };
    let (rate, watts) = (60.0 * last.mean / TAU, drove.power / 1e3);
    let beside =
        |source: elements::Source| format!("{} ({})", source.text, source.confidence.words());
    if rate > keeps.rates[1] || rate < keeps.rates[0] {
        let [low, high] = keeps.rates;
        let margin = if rate > high {
            high / rate - 1.0
        } else {
            rate / low - 1.0
        };
        said.push((
            format!(
                "push {} goes {} times a minute; {} to {} are comfortable for a {kind} ({})",
                push.name,
                show(rate, Unit::One, 0),
                show(low, Unit::One, 0),
                show(high, Unit::One, 0),
                beside(keeps.rates_from)
            ),
            margin,
            String::from("another ratio between the crank and what it turns"),
        ));
    }
    if watts > keeps.through {
        let long = if watts > keeps.minutes {
            "a few minutes"
        } else {
            "an hour at best"
        };
        said.push((
            format!(
                "push {} gives {} W; a {kind} keeps up {} W through the day ({}): this lasts {long}",
                push.name,
                show(watts, Unit::One, 0),
                show(keeps.through, Unit::One, 0),
                beside(keeps.source)
            ),
            keeps.through / watts - 1.0,
            String::from("less work a stroke, or a motor"),
        ));
    }
    let action = match push.by {
        By::Foot => "pedal, leg",
        By::Hand => "hand, power grip",
    };
    let often = elements::hand::Use {
        moving: true,
        per_minute: rate,
        hours: 1.0,
    };
    if let Ok(basic) = basic_force(action)
        && let Ok(capacity) = reduced(basic.professional, often)
        && drove.most > capacity
    {
        said.push((
            format!(
                "push {} presses with {}; EN 1005-3 gives {} for a {kind} that moves {} times a minute for up to an hour (multipliers from memory)",
                push.name,
                show(drove.most, Unit::Newton, 0),
                show(capacity, Unit::Newton, 0),
                show(rate, Unit::One, 0)
            ),
            capacity / drove.most - 1.0,
            String::from("less work a stroke, a longer way of the pedal, or a motor"),
        ));
    }
    said
}

impl Running {
    /// Adds what there is to say of rollers that leave their open cams at the speeds of the run, from the speeds up to which they stay on.
    pub fn hold_rollers(&mut self, model: &Model, turning: &super::super::Turning) {
        let fastest = [&self.high, &self.low]
            .into_iter()
            .filter_map(|run| Some(run.last?.greatest.value))
            .fold(0.0_f64, f64::max);
        for cam in &turning.cams {
            let Some(stays) = cam.stays_to.filter(|s| *s < fastest) else {
                continue;
            };
            let place = model.machine.cams.iter().find(|c| c.name == cam.cam);
            let rpm = |speed: f64| show(speed, Unit::TurnPerMinute, 1);
            self.findings.push(Finding {
                severity: Severity::Miss,
                sentence: format!(
                    "cam {}: the run goes up to {}, and its roller stays on it only up to {}",
                    cam.cam,
                    rpm(fastest),
                    rpm(stays)
                ),
                number: Some(fastest),
                margin: Some(stays - fastest),
                inside: None,
                what_to_try: Some(String::from(
                    "a stronger spring or a lighter follower, a slower motor, or a closed track: `track = true`",
                )),
                about: format!("cam.{}", cam.cam),
                place: place.map_or_else(machine::model::Place::default, |c| c.place),
            });
        }
    }
}
