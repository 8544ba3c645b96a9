//! Asks about forces, loaded readings and made machines: judged by the studies of load and spread.

use super::asks::{Wanted, margin};
use crate::answers::{Finding, Held, Inside, Judged, Quantity, Severity};
use crate::assemble::Model;
use crate::load::{Weighed, judge_effort, judge_holds, judge_loaded};
use crate::refusal::Refusal;
use crate::say;
use crate::spread::{Request, Spread, spread};
use machine::work::{WorkAsk, WorkJudges};
use quantity::Unit;

/// Judges them all, in file order.
pub(super) fn judge(model: &Model) -> Vec<(Judged, Finding)> {
    let mut judge = Judge { model, made: None };
    model
        .machine
        .work
        .asks
        .iter()
        .map(|ask| judge.judge(ask))
        .collect()
}

struct Judge<'m> {
    model: &'m Model,
    /// Machines are made once for all shares.
    made: Option<Result<Spread, Refusal>>,
}

/// What is judged, before it is held against what is wanted.
struct Found {
    /// None where nothing is finite; `what` then says why.
    value: Option<f64>,
    /// Kept when there is no value.
    kept: bool,
    /// The sentence without what is wanted.
    what: String,
    at: Vec<Held>,
}

impl Found {
    fn from(weighed: Weighed, kept: bool) -> Self {
        Self {
            value: weighed.value,
            kept,
            what: weighed.what,
            at: weighed.at,
        }
    }
}

impl Judge<'_> {
    /// The answer and its finding.
    fn judge(&mut self, ask: &WorkAsk) -> (Judged, Finding) {
        let quantity = self.quantity(ask);
        let wanted = match ask.judges {
            WorkJudges::Holds { factor, .. } => [Some(factor), None],
            _ => [ask.at_least, ask.at_most],
        };
        let mut finding = Finding {
            severity: Severity::Fault,
            sentence: String::new(),
            number: None,
            margin: None,
            inside: Some(quantity.inside),
            what_to_try: None,
            about: format!("ask.{}", ask.name),
            place: ask.place,
        };
        let mut judged = Judged {
            ask: ask.name.clone(),
            reading: quantity,
            kept: false,
            value: None,
            at_least: wanted[0],
            at_most: wanted[1],
            margin: None,
            at: Vec::new(),
        };
        match self.find(ask, wanted) {
            Err(refusal) => {
                finding.sentence =
                    format!("ask {} cannot be judged: {}", ask.name, refusal.message);
                finding.what_to_try = (!refusal.help.is_empty()).then_some(refusal.help);
            }
            Ok(found) => {
                judged.value = found.value;
                judged.margin = found.value.map(|v| margin(v, wanted));
                judged.kept = judged.margin.map_or(found.kept, |m| m >= 0.0);
                judged.at = found.at;
                finding.severity = if judged.kept {
                    Severity::Kept
                } else {
                    Severity::Miss
                };
                finding.number = judged.value;
                finding.margin = judged.margin;
                finding.sentence = format!("{}: {}{}", ask.name, found.what, held_against(&judged));
                if !judged.kept {
                    finding.what_to_try = Some(String::from(try_this(&ask.judges)));
                }
            }
        }
        (judged, finding)
    }

    /// What is judged, and the unit in which a person reads it.
    fn quantity(&self, ask: &WorkAsk) -> Quantity {
        let machine = &self.model.machine;
        let inches = matches!(machine.unit, Unit::Inch | Unit::Foot | Unit::Thou);
        let drive_name = |d: usize| machine.drives.get(d).map_or("", |d| d.name.as_str());
        let (name, unit) = match ask.judges {
            WorkJudges::Effort { drive, .. } => {
                let at_hand = machine.work.hands.get(drive).copied().flatten().is_some();
                let turns = drive < machine.drives.len() && crate::run::turns(self.model, drive);
                let unit = match (turns && !at_hand, inches) {
                    (true, false) => Unit::NewtonMetre,
                    (true, true) => Unit::PoundForceInch,
                    (false, false) => Unit::Newton,
                    (false, true) => Unit::PoundForce,
                };
                (format!("effort of {}", drive_name(drive)), unit)
            }
            WorkJudges::Holds { drive, .. } => {
                (format!("holding of {}", drive_name(drive)), Unit::One)
            }
            WorkJudges::Loaded { reading, .. } => return self.model.reading(reading),
            WorkJudges::Share { ask } => {
                let name = machine.asks.get(ask).map_or("", |a| a.name.as_str());
                (
                    format!("share of made machines that keep {name}"),
                    Unit::One,
                )
            }
        };
        Quantity {
            name,
            inside: Inside::of(unit),
            unit,
        }
    }

    fn find(&mut self, ask: &WorkAsk, wanted: Wanted) -> Result<Found, Refusal> {
        match ask.judges {
            WorkJudges::Effort {
                drive,
                case,
                ref when,
            } => Ok(Found::from(
                judge_effort(self.model, &[], drive, case, when)?,
                false,
            )),
            WorkJudges::Holds {
                drive,
                case,
                ref when,
                ..
            } => Ok(Found::from(
                judge_holds(self.model, &[], drive, case, when)?,
                true,
            )),
            WorkJudges::Loaded {
                reading,
                case,
                ref when,
            } => self.loaded(reading, case, when, wanted),
            WorkJudges::Share { ask } => self.share(ask),
        }
    }

    /// The end of the band from play that lies nearer to a limit, or farther beyond it.
    fn loaded(
        &self,
        reading: usize,
        case: usize,
        when: &[(usize, f64)],
        wanted: Wanted,
    ) -> Result<Found, Refusal> {
        let model = self.model;
        let mut stand = model.drawn();
        for &(drive, value) in when {
            if let Some(d) = stand.drives.get_mut(drive) {
                *d = value;
            }
        }
        let bands = judge_loaded(model, &stand, case, reading)?;
        let loaded = bands.loaded.unwrap_or(bands.nominal);
        let ends = bands.play.map(|p| loaded + p);
        let value = if margin(ends[1], wanted) < margin(ends[0], wanted) {
            ends[1]
        } else {
            ends[0]
        };
        let quantity = model.reading(reading);
        let named = model.machine.work.cases.get(case);
        let mut at: Vec<(usize, f64)> = when.to_vec();
        for &(drive, value) in named.map_or(&[][..], |c| &c.when) {
            if at.iter().all(|(d, _)| *d != drive) {
                at.push((drive, value));
            }
        }
        at.sort_by_key(|(d, _)| *d);
        let show = |v: f64| say::of(&quantity, v);
        let what = format!(
            "{} is {} under {} and {} without load, play makes it {} to {}",
            quantity.name,
            show(loaded),
            named.map_or("load", |c| c.name.as_str()),
            show(bands.nominal),
            show(ends[0]),
            show(ends[1]),
        );
        let drives = &model.machine.drives;
        let at = at
            .into_iter()
            .filter(|(d, _)| *d < drives.len())
            .map(|(d, value)| Held {
                quantity: model.drive(d),
                value,
                as_drawn: value == drives[d].drawn,
            });
        Ok(Found {
            value: Some(value),
            kept: false,
            what,
            at: at.collect(),
        })
    }

    fn share(&mut self, ask: usize) -> Result<Found, Refusal> {
        let model = self.model;
        let name = model.machine.asks.get(ask).map_or("", |a| a.name.as_str());
        let request = Request {
            budgets: false,
            ..Request::default()
        };
        let made = self
            .made
            .get_or_insert_with(|| spread(model, &model.drawn(), &request));
        let made = made.as_ref().map_err(Clone::clone)?;
        let Some(found) = made.asks.iter().find(|a| a.ask == name) else {
            return Err(Refusal::new(format!("ask {name} has no spread"), ""));
        };
        let what = format!("{} keep {name}", found.kept.words());
        Ok(Found {
            value: Some(found.kept.share),
            kept: false,
            what,
            at: found.at.clone(),
        })
    }
}

/// " at set = 70 deg, wanted at most 40 N, 5.2 N to spare".
fn held_against(judged: &Judged) -> String {
    let show = |v: f64| shown(v, judged.reading.unit);
    let place: Vec<String> = judged
        .at
        .iter()
        .map(|h| say::at(&h.quantity, h.value))
        .collect();
    let place = if place.is_empty() {
        String::new()
    } else {
        format!(" at {}", place.join(", "))
    };
    let wanted = match (judged.at_least, judged.at_most) {
        (Some(l), Some(m)) => format!(", wanted {} to {}", show(l), show(m)),
        (Some(l), None) => format!(", wanted at least {}", show(l)),
        (None, Some(m)) => format!(", wanted at most {}", show(m)),
        (None, None) => String::new(),
    };
    let how = match judged.margin {
        Some(m) if !m.is_finite() => String::new(),
        Some(m) if m >= 0.0 => format!(", {} to spare", show(m)),
        Some(m)
            if judged
                .at_least
                .zip(judged.value)
                .is_some_and(|(l, v)| v < l) =>
        {
            format!(", {} too little", show(-m))
        }
        Some(m) => format!(", {} too much", show(-m)),
        None => String::new(),
    };
    format!("{place}{wanted}{how}")
}

fn try_this(judges: &WorkJudges) -> &'static str {
    match judges {
        WorkJudges::Effort { .. } => {
            "a longer lever, a shorter arm behind it, smaller or greased pins"
        }
        WorkJudges::Holds { .. } => {
            "a detent or a clamp, a larger journal, or a shorter arm between load and lever"
        }
        WorkJudges::Loaded { .. } => {
            "set it under load, stiffen what gives most or take up the play: `load` says which"
        }
        WorkJudges::Share { .. } => "hold the dimensions that `spread` names",
    }
}

/// Forces and moments with three figures, plain numbers with two decimals, lengths and angles as everywhere.
fn shown(value: f64, unit: Unit) -> String {
    match Inside::of(unit) {
        Inside::Newton | Inside::NewtonMillimetre => {
            let size = unit.from_inside(value).abs();
            let decimals = if size >= 99.5 {
                0
            } else if size >= 9.95 {
                1
            } else {
                2
            };
            quantity::show(value, unit, decimals)
        }
        Inside::Count => quantity::show(value, unit, 2),
        _ => say::value(value, unit),
    }
}
