//! Sentences about made machines.

use super::STRAIGHT;
use super::answers::{
    Advice, AskSpread, Budget, ByTolerances, Kept, LoadedSpread, Spread, Strayed, UnderLoad, Varied,
};
use crate::answers::{Finding, Inside, Quantity, Severity};
use crate::assemble::Model;
use crate::check::asks::margin;
use crate::say;
use machine::work::WorkJudges;
use quantity::Unit;

/// An ask that fewer keep is a caution, when no `share-of` says how many are wanted (common practice: 95 of 100 is what a band of two
/// sigma holds).
const ENOUGH: f64 = 0.95;
/// From so few machines on each is counted, and not so many of 100.
const COUNTED: usize = 1000;
/// Items that a sentence names; what is more is counted.
const NAMED: usize = 12;

impl Kept {
    /// "94.2 of 100 machines", "7 of 10 machines"; never rounded up.
    pub fn words(&self) -> String {
        if self.machines < COUNTED {
            let count = (self.share * self.machines as f64).round();
            let s = if self.machines == 1 { "" } else { "s" };
            return format!("{count} of {} machine{s}", self.machines);
        }
        format!("{} of 100 machines", hundred(self.share))
    }

    /// "99.78 of 100 machines keep closest (99.75 to 99.81 by 100000 made)".
    pub fn keep(&self, what: &str) -> String {
        let [low, high] = self.band.map(hundred);
        let machines = self.machines;
        format!(
            "{} keep {what} ({low} to {high} by {machines} made)",
            self.words()
        )
    }
}

/// A share of 100, rounded down, so that it is never told as all.
pub fn hundred(share: f64) -> String {
    let steps = if share >= 0.99 { 100.0 } else { 10.0 };
    format!("{}", (100.0 * share * steps + 1e-9).floor() / steps)
}

impl Strayed {
    /// By how much it strays, three sigma: "± 0.125 mm", or what the made machines tell where it bends: "-0.214 to +0.009 mm".
    pub fn likely_words(&self, show: impl Fn(f64) -> String) -> String {
        if self.straight {
            return format!("± {}", show(self.root_sum_square));
        }
        from_to(self.likely, show)
    }

    /// By how much it strays at worst, every dimension at a limit: "± 0.342 mm", or what corners tell where it bends; `-` where such
    /// machines do not go together.
    pub fn worst_words(&self, show: impl Fn(f64) -> String) -> String {
        let [Some(low), Some(high)] = self.corners.map(|c| c.map(|c| c - self.nominal)) else {
            return String::from("-");
        };
        let near = |corner: f64| {
            (corner.abs() - self.worst_case).abs() <= STRAIGHT * self.worst_case + 1e-9
        };
        if near(low) && near(high) {
            return format!("± {}", show(self.worst_case));
        }
        from_to([low, high], show)
    }

    /// Why straight lines are wrong for it; empty where they are not.
    pub fn bent_words(&self, dimensions: &[Varied], show: impl Fn(f64) -> String) -> String {
        if self.straight {
            return String::new();
        }
        let why = match self
            .bent_by
            .and_then(|b| Some((dimensions.get(b.dimension)?, b.change)))
        {
            Some((d, change)) => {
                let shown = show(change);
                let sign = if change > 0.0 { "+" } else { "" };
                format!(
                    "{} moves it by {sign}{shown} at either limit of its tolerance",
                    d.dimension
                )
            }
            None => String::from("dimensions act on one another"),
        };
        format!(
            "straight lines would give ± {}: {why}",
            show(self.root_sum_square)
        )
    }
}

impl AskSpread {
    /// "; counted as loads move it too, by +0.037 mm under all"; empty where none does.
    fn under_words(&self) -> String {
        // What nobody sees beside its spread is no news.
        let seen = |u: &&UnderLoad| u.shift.abs() > 0.02 * self.strayed.root_sum_square;
        if !self.under.iter().any(|u| seen(&u)) {
            return String::new();
        }
        let one = |u: &UnderLoad| {
            let sign = if u.shift > 0.0 { "+" } else { "" };
            format!(
                "by {sign}{} under {}",
                say::of(&self.strayed.reading, u.shift),
                u.case
            )
        };
        let all: Vec<String> = self.under.iter().filter(seen).map(one).collect();
        format!("; counted as loads move it too, {}", all.join(", "))
    }
}

/// "-0.214 to +0.009 mm".
fn from_to(ends: [f64; 2], show: impl Fn(f64) -> String) -> String {
    let [low, high] = ends.map(|v| {
        let shown = show(v);
        if v > 0.0 { format!("+{shown}") } else { shown }
    });
    let low = low.split(' ').next().unwrap_or_default();
    format!("{low} to {high}")
}

/// What the fits, as they come out, leave of each ask.
fn plays(model: &Model, spread: &Spread) -> Vec<Finding> {
    let one = |a: &AskSpread| {
        let (play, kept) = (a.strayed.play.as_ref()?, a.kept_with_play?);
        let ask = model.machine.asks.iter().find(|x| x.name == a.ask)?;
        let q = &a.strayed.reading;
        let show = |v: f64| say::of(q, v);
        let first = play.shares.first()?;
        let clearance = spread.clearances.get(first.clearance)?;
        let fit = if clearance.fit.is_empty() {
            clearance.joint.clone()
        } else {
            format!("{} ({})", clearance.joint, clearance.fit)
        };
        // Play that nobody sees is no news.
        let [low, high] = play.reaches();
        if high.max(-low) <= 0.02 * a.strayed.root_sum_square {
            return None;
        }
        let free = play.plus_minus > 1e-9;
        let rattles = format!(
            "{} rattles by ± {} ({} to {} from machine to machine)",
            q.name,
            show(play.plus_minus),
            show(play.band[0]),
            show(play.band[1])
        );
        let shifted = format!(
            "springs and weights take {} up and shift {} by {} to {}",
            if free { "the rest" } else { "all of it" },
            if free { "it" } else { &q.name },
            show(play.shift_band[0]),
            show(play.shift_band[1])
        );
        let how = match (free, play.shift.abs() > 1e-9) {
            (true, true) => format!("{rattles}, {shifted}"),
            (true, false) => rattles,
            (false, _) => shifted,
        };
        let lost = a.kept.share - kept.share;
        let severity = if lost > 0.01 && kept.share < ENOUGH {
            Severity::Caution
        } else {
            Severity::Note
        };
        Some(Finding {
            severity,
            sentence: format!(
                "{} keep {} wherever the play of their own fits lets it stand: {how}, most of it in {fit}",
                kept.words(),
                a.ask,
            ),
            number: Some(kept.share),
            margin: None,
            inside: Some(Inside::Count),
            what_to_try: (severity == Severity::Caution).then(|| {
                if clearance.fit.is_empty() {
                    format!(
                        "less clearance at {}, or a spring that takes it up",
                        clearance.joint
                    )
                } else {
                    format!(
                        "a closer fit at {}, or a spring that takes its play up",
                        clearance.joint
                    )
                }
            }),
            about: format!("ask.{}", a.ask),
            place: ask.place,
        })
    };
    spread.asks.iter().filter_map(one).collect()
}

/// Asks that are judged under load.
fn pressed(model: &Model, spread: &Spread) -> Vec<Finding> {
    let one = |a: &LoadedSpread| {
        let ask = model.machine.work.asks.iter().find(|x| x.name == a.ask)?;
        let show = |v: f64| say::of(&a.reading, v);
        let keeps = a.kept.share >= ENOUGH;
        let verb = if a.kept.machines == 1 {
            "keeps"
        } else {
            "keep"
        };
        Some(Finding {
            severity: if keeps {
                Severity::Kept
            } else {
                Severity::Caution
            },
            sentence: format!(
                "{} made to these tolerances {verb} {}: {} of {} under {} strays by {} (99.73 of 100 machines made, play left out)",
                a.kept.words(),
                a.ask,
                show(a.loaded),
                a.reading.name,
                a.case,
                from_to(a.likely, show),
            ),
            number: Some(a.kept.share),
            margin: Some(a.kept.share - ENOUGH),
            inside: Some(Inside::Count),
            what_to_try: (!keeps).then(|| {
                String::from(
                    "hold the dimensions that move it most, stiffen what gives most (`load` says which), or set it under load",
                )
            }),
            about: format!("ask.{}", a.ask),
            place: ask.place,
        })
    };
    spread.under_load.iter().filter_map(one).collect()
}

pub(super) fn findings(model: &Model, spread: &Spread) -> Vec<Finding> {
    let mut all = Vec::new();
    for a in &spread.asks {
        let Some((index, ask)) = model
            .machine
            .asks
            .iter()
            .enumerate()
            .find(|x| x.1.name == a.ask)
        else {
            continue;
        };
        let share_ask = model
            .machine
            .work
            .asks
            .iter()
            .find(|w| matches!(w.judges, WorkJudges::Share { ask } if ask == index));
        let wanted = share_ask.and_then(|w| w.at_least).unwrap_or(ENOUGH);
        let keeps = a.kept.share >= wanted;
        let severity = match (keeps, share_ask.is_some()) {
            (true, _) => Severity::Kept,
            (false, true) => Severity::Miss,
            (false, false) => Severity::Caution,
        };
        let q = &a.strayed.reading;
        let show = |v: f64| say::of(q, v);
        let (about, place) = match share_ask {
            Some(w) => (format!("ask.{}", w.name), w.place),
            None => (format!("ask.{}", a.ask), ask.place),
        };
        let how = if a.strayed.straight {
            String::from("three sigma, root of the sum of the squares")
        } else {
            format!(
                "99.73 of 100 machines made; {}",
                a.strayed.bent_words(&spread.dimensions, show)
            )
        };
        let verb = if a.kept.machines == 1 {
            "keeps"
        } else {
            "keep"
        };
        all.push(Finding {
            severity,
            sentence: format!(
                "{} {} {verb} {}: {} of {} strays by {} ({how}){}",
                a.kept.words(),
                if spread.as_built {
                    "as far off as the log leaves them open"
                } else {
                    "made to these tolerances"
                },
                a.ask,
                say::of(q, a.strayed.nominal),
                q.name,
                a.strayed.likely_words(show),
                a.under_words(),
            ),
            number: Some(a.kept.share),
            margin: Some(a.kept.share - wanted),
            inside: Some(Inside::Count),
            what_to_try: (!keeps).then(|| advice(spread, a, q, model.machine.unit)),
            about,
            place,
        });
    }
    all.extend(plays(model, spread));
    all.extend(pressed(model, spread));
    all.sort_by(|a, b| {
        a.severity
            .cmp(&b.severity)
            .then(a.margin.unwrap_or(0.0).total_cmp(&b.margin.unwrap_or(0.0)))
    });
    all
}

fn advice(spread: &Spread, a: &AskSpread, q: &Quantity, length: Unit) -> String {
    if spread.as_built {
        return "`dial-in` says what to turn and what to measure next".to_owned();
    }
    match (a.by_tolerances, &a.hold) {
        (ByTolerances::NotDrawn, _) if margin(a.strayed.nominal, [a.at_least, a.at_most]) > 0.0 => {
            format!(
                "the machine as drawn misses it under load by {}: stiffen what gives most, `load` says which, or set it under load",
                say::of(q, -a.room)
            )
        }
        (ByTolerances::NotDrawn, _) => format!(
            "the machine as drawn misses it by {}: mend the drawing or a setting first, `check` says which",
            say::of(q, -a.room)
        ),
        (ByTolerances::NotHeld(kept), _) => format!(
            "with all held as close as the shop can, {}: set it after assembly by an adjustment, or ask for less",
            kept.keep("it")
        ),
        (ByTolerances::Held, Some(hold)) => format!(
            "{}; made so, {}",
            hold_words(spread, hold, length),
            hold.kept.keep("it")
        ),
        (ByTolerances::AsNow, _) => {
            String::from("make more machines: by so few it is chance, by many enough keep it")
        }
        _ => String::from("hold the dimensions that `spread` names"),
    }
}

/// "hold to ± 0.02 mm frame: hole shaft-axis and ram: hole die; to ± 0.2 deg arm: clock angle", the closest first.
fn hold_words(spread: &Spread, hold: &Budget, length: Unit) -> String {
    let mut held: Vec<(String, f64, f64, &str)> = hold
        .items
        .iter()
        .filter(|i| i.advice == Advice::Hold)
        .filter_map(|i| {
            let item = spread.items.get(i.item)?;
            let to = tolerance(item.inside, i.to, length);
            Some((to, i.to / i.now, i.to, item.name.as_str()))
        })
        .collect();
    held.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.2.total_cmp(&b.2)));
    let left = held.len().saturating_sub(NAMED);
    held.truncate(NAMED);
    let mut parts: Vec<(String, Vec<&str>)> = Vec::new();
    for (to, _, _, name) in held {
        match parts.iter_mut().find(|p| p.0 == to) {
            Some(p) => p.1.push(name),
            None => parts.push((to, vec![name])),
        }
    }
    let told: Vec<String> = parts
        .iter()
        .map(|(to, names)| format!("to ± {to} {}", names.join(", ")))
        .collect();
    let more = if left > 0 {
        format!("; and {left} more, named below")
    } else {
        String::new()
    };
    format!("hold {}{more}", told.join("; "))
}

/// A tolerance as it is written in a file.
fn tolerance(inside: Inside, t: f64, length: Unit) -> String {
    match inside {
        Inside::Radian => say::short(t, Unit::Degree),
        _ => say::short(t, length),
    }
}
