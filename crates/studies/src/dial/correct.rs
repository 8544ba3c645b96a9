//! What to turn: the fewest adjustments, in steps a hand can do, with which the machine as built keeps its asks.
//!
//! Candidates are foretold by the exact derivatives of the judged values by the settings, and each one that is told was solved on the machine
//! as built with those settings.

use super::answers::{Corrected, CorrectedAsk, Correction, Turn};
use super::built::Built;
use super::turns;
use crate::assemble::{Model, Moves};
use crate::check::asks::{Wanted, margin, stand as stand_of_ask, wanted};
use crate::run::{Bench, list};
use crate::say;
use machine::model::Judges;

/// Steps to either side that are looked at: alone or in pairs, and three together.
const FAR: i32 = 40;
const NEAR: i32 = 8;
/// Combinations of one size that are solved.
const SOLVED: usize = 5;
/// Alternatives told.
const TOLD: usize = 3;
/// Margins beyond twice the band count no further.
const ENOUGH: f64 = 2.0;

/// One ask with some settings.
#[derive(Clone, Debug)]
struct Judged {
    value: f64,
    /// 95 of 100, half the lost motion in it.
    plus_minus: f64,
    by_setting: Vec<f64>,
}

/// All asks with some settings; none where an ask cannot be judged.
#[derive(Clone, Debug)]
struct State {
    settings: Vec<f64>,
    asks: Vec<Option<Judged>>,
}

/// How good a state is, the better the greater: asks surely kept, asks kept, and the least margin in bands.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
struct Score {
    sure: usize,
    kept: usize,
    least: f64,
}

struct Search<'b> {
    built: &'b Built,
    bench: Bench<'b>,
    wanted: Vec<Wanted>,
    steps: Vec<f64>,
}

/// What to turn. None when the machine has no asks that readings answer, or no settings.
pub(crate) fn correct(built: &Built) -> Option<Correction> {
    let model = &built.model;
    if model.machine.asks.is_empty() || model.machine.settings.is_empty() {
        return None;
    }
    let mut search = Search {
        built,
        bench: Bench::new(model),
        wanted: model.machine.asks.iter().map(wanted).collect(),
        steps: (0..model.machine.settings.len())
            .map(|s| turns::step(model, s))
            .collect(),
    };
    let now = search.solve(&built.stand.settings);
    let all = search.wanted.len();
    let now_score = search.score(&now.asks);
    if now_score.sure == all {
        return Some(Correction {
            needed: false,
            best: None,
            why: None,
            alternatives: Vec::new(),
            at_end: Vec::new(),
        });
    }
    let mut found: Vec<(Score, State)> = Vec::new();
    for count in 1..=3_usize.min(search.steps.len()) {
        for (score, state) in search.of_size(&now, count) {
            if score > now_score && breaks_one(&search.wanted, &now, &state) {
                continue;
            }
            if score > now_score && !found.iter().any(|f| f.1.settings == state.settings) {
                found.push((score, state));
            }
        }
        if found.iter().any(|f| f.0.sure == all) {
            break;
        }
    }
    // Fewer adjustments come first when as many asks are kept; the margin only decides among equals.
    let turned = |s: &State| {
        s.settings
            .iter()
            .zip(&now.settings)
            .filter(|(a, b)| a != b)
            .count()
    };
    found.sort_by(|a, b| {
        let key = |f: &(Score, State)| (f.0.sure, f.0.kept);
        key(b)
            .cmp(&key(a))
            .then(turned(&a.1).cmp(&turned(&b.1)))
            .then(b.0.least.total_cmp(&a.0.least))
    });
    let at_end = match found.first() {
        Some((score, state)) if score.sure < all => search.at_end(state),
        None => search.at_end(&now),
        _ => Vec::new(),
    };
    let mut told: Vec<Corrected> = found
        .iter()
        .take(1 + TOLD)
        .map(|(_, state)| search.told(&now, state))
        .collect();
    let best = (!told.is_empty()).then(|| told.remove(0));
    let why = if best.is_none() {
        Some(search.why(&now))
    } else {
        None
    };
    Some(Correction {
        needed: true,
        best,
        why,
        alternatives: told,
        at_end,
    })
}

/// For each setting its step, and by how much that changes the judged value of each ask.
pub(crate) fn by_step(built: &Built, settings: &[f64]) -> Vec<(f64, Vec<Option<f64>>)> {
    let model = &built.model;
    let mut search = Search {
        built,
        bench: Bench::new(model),
        wanted: model.machine.asks.iter().map(wanted).collect(),
        steps: (0..model.machine.settings.len())
            .map(|s| turns::step(model, s))
            .collect(),
    };
    let now = search.solve(settings);
    let steps = search.steps.clone();
    steps
        .into_iter()
        .enumerate()
        .map(|(s, step)| {
            let straight = matches!(model.settings[s], Moves::Straight(_));
            let changes = now.asks.iter().map(|judged| {
                let by = judged.as_ref()?.by_setting.get(s)?;
                straight.then_some(by * step)
            });
            (step, changes.collect())
        })
        .collect()
}

/// An ask that is kept now would be missed: that is no correction.
fn breaks_one(wanted: &[Wanted], now: &State, then: &State) -> bool {
    let kept = |ask: &Option<Judged>, wanted: &Wanted| {
        ask.as_ref()
            .is_some_and(|j| margin(j.value, *wanted) >= 0.0)
    };
    let asks = now.asks.iter().zip(&then.asks).zip(wanted);
    asks.into_iter()
        .any(|((now, then), wanted)| kept(now, wanted) && !kept(then, wanted))
}

impl Search<'_> {
    /// Solves the machine as built with these settings.
    fn solve(&mut self, settings: &[f64]) -> State {
        let model = &self.built.model;
        let mut asks = Vec::with_capacity(self.wanted.len());
        for (n, ask) in model.machine.asks.iter().enumerate() {
            let stand = stand_of_ask(&self.bench, ask, settings);
            let judged = self
                .built
                .ask(&mut self.bench, n, &stand)
                .and_then(|found| {
                    let mut by_setting = vec![0.0; settings.len()];
                    for (weight, here) in &found.verdict.terms {
                        let rates =
                            crate::sensitivity::by_param(&mut self.bench, ask.reading, here)?;
                        for (s, b) in by_setting.iter_mut().enumerate() {
                            *b += weight * model.by_setting(&here.stand, s, &rates.rates);
                        }
                    }
                    Some(Judged {
                        value: found.verdict.value,
                        plus_minus: found.plus_minus(),
                        by_setting,
                    })
                });
            asks.push(judged);
        }
        State {
            settings: settings.to_vec(),
            asks,
        }
    }

    /// The asks foretold from a solved state for other settings.
    fn foretold(&self, from: &State, settings: &[f64]) -> Vec<Option<Judged>> {
        let one = |judged: &Judged| {
            let change: f64 = judged
                .by_setting
                .iter()
                .zip(settings)
                .zip(&from.settings)
                .map(|((b, to), at)| b * (to - at))
                .sum();
            Judged {
                value: judged.value + change,
                ..judged.clone()
            }
        };
        from.asks.iter().map(|a| a.as_ref().map(one)).collect()
    }

    fn score(&self, asks: &[Option<Judged>]) -> Score {
        let mut score = Score {
            sure: 0,
            kept: 0,
            least: f64::INFINITY,
        };
        for (ask, wanted) in asks.iter().zip(&self.wanted) {
            let Some(judged) = ask else {
                score.least = f64::NEG_INFINITY;
                continue;
            };
            let by = margin(judged.value, *wanted);
            let band = judged.plus_minus.max(1e-9);
            score.kept += usize::from(by >= 0.0);
            score.sure += usize::from(by >= band);
            score.least = score.least.min((by / band).min(ENOUGH));
        }
        score
    }

    /// Values within reach of a hand, so many steps to either side.
    fn values(&self, setting: usize, from: f64, steps: i32) -> Vec<f64> {
        turns::values(&self.built.model, setting, from, self.steps[setting], steps)
    }

    /// The best settings with so many of them changed, one for each choice of them, solved.
    fn of_size(&mut self, now: &State, count: usize) -> Vec<(Score, State)> {
        let mut guesses: Vec<(Score, Vec<f64>, Vec<usize>)> = Vec::new();
        for chosen in choices(self.steps.len(), count) {
            let straight = chosen
                .iter()
                .all(|&s| matches!(self.built.model.settings[s], Moves::Straight(_)));
            let far = if count < 3 { FAR } else { NEAR };
            let lists: Vec<Vec<f64>> = chosen
                .iter()
                .map(|&s| self.values(s, now.settings[s], far))
                .collect();
            if !straight {
                // Holes are far apart and stops cut the path: nothing foretells them, so each is solved, alone or with one other.
                if count == 1 {
                    for &value in &lists[0] {
                        let mut settings = now.settings.clone();
                        settings[chosen[0]] = value;
                        let solved = self.solve(&settings);
                        guesses.push((self.score(&solved.asks), settings, chosen.clone()));
                    }
                } else if let Some(guess) = self.after_a_leap(now, &chosen) {
                    guesses.push(guess);
                }
                continue;
            }
            if let Some((score, settings)) = self.best_foretold(now, &chosen, &lists) {
                guesses.push((score, settings, chosen));
            }
        }
        guesses.sort_by(|a, b| b.0.partial_cmp(&a.0).unwrap_or(std::cmp::Ordering::Equal));
        let mut found: Vec<(Score, State)> = Vec::new();
        let mut seen: Vec<Vec<usize>> = Vec::new();
        for (_, settings, chosen) in guesses {
            if seen.contains(&chosen) || seen.len() >= SOLVED {
                continue;
            }
            seen.push(chosen.clone());
            found.push(self.refine(&settings, &chosen));
        }
        found
    }

    fn best_foretold(
        &self,
        from: &State,
        chosen: &[usize],
        lists: &[Vec<f64>],
    ) -> Option<(Score, Vec<f64>)> {
        let mut best: Option<(Score, f64, Vec<f64>)> = None;
        let mut places = vec![0_usize; lists.len()];
        if lists.iter().any(Vec::is_empty) {
            return None;
        }
        loop {
            let mut settings = from.settings.clone();
            for ((&s, list), &place) in chosen.iter().zip(lists).zip(&places) {
                settings[s] = list[place];
            }
            let score = self.score(&self.foretold(from, &settings));
            let travel: f64 = chosen
                .iter()
                .map(|&s| ((settings[s] - from.settings[s]) / self.steps[s]).abs())
                .sum();
            // Of equals the one with the fewest steps.
            let better = best
                .as_ref()
                .is_none_or(|(b, t, _)| score > *b || (score == *b && travel < *t));
            if better {
                best = Some((score, travel, settings));
            }
            let mut k = 0;
            loop {
                if k == places.len() {
                    return best.map(|(score, _, settings)| (score, settings));
                }
                places[k] += 1;
                if places[k] < lists[k].len() {
                    break;
                }
                places[k] = 0;
                k += 1;
            }
        }
    }

    /// A hole or a stop is changed first and the rest foretold from there.
    fn after_a_leap(
        &mut self,
        now: &State,
        chosen: &[usize],
    ) -> Option<(Score, Vec<f64>, Vec<usize>)> {
        let leaps: Vec<usize> = chosen
            .iter()
            .copied()
            .filter(|&s| !matches!(self.built.model.settings[s], Moves::Straight(_)))
            .collect();
        let [leap] = leaps[..] else {
            return None;
        };
        let rest: Vec<usize> = chosen.iter().copied().filter(|&s| s != leap).collect();
        let mut best: Option<(Score, Vec<f64>)> = None;
        for value in self.values(leap, now.settings[leap], NEAR) {
            let mut settings = now.settings.clone();
            settings[leap] = value;
            let there = self.solve(&settings);
            let lists: Vec<Vec<f64>> = rest
                .iter()
                .map(|&s| self.values(s, now.settings[s], if rest.len() == 1 { FAR } else { NEAR }))
                .collect();
            if let Some((score, settings)) = self.best_foretold(&there, &rest, &lists)
                && best.as_ref().is_none_or(|b| score > b.0)
            {
                best = Some((score, settings));
            }
        }
        best.map(|(score, settings)| (score, settings, chosen.to_vec()))
    }

    /// Solves, foretells anew from there, and goes on as long as it gets better.
    fn refine(&mut self, settings: &[f64], chosen: &[usize]) -> (Score, State) {
        let mut state = self.solve(settings);
        let mut score = self.score(&state.asks);
        for _ in 0..4 {
            let lists: Vec<Vec<f64>> = chosen
                .iter()
                .map(|&s| match self.built.model.settings[s] {
                    Moves::Straight(_) => self.values(s, state.settings[s], 3),
                    _ => vec![state.settings[s]],
                })
                .collect();
            let Some((_, settings)) = self.best_foretold(&state, chosen, &lists) else {
                break;
            };
            if settings == state.settings {
                break;
            }
            let next = self.solve(&settings);
            let next_score = self.score(&next.asks);
            if next_score <= score {
                break;
            }
            (state, score) = (next, next_score);
        }
        (score, state)
    }

    /// Why nothing is told to be turned.
    fn why(&self, now: &State) -> String {
        let model = &self.built.model;
        let asks = || model.machine.asks.iter().zip(&now.asks).zip(&self.wanted);
        let names = |missed: bool| -> Vec<String> {
            asks()
                .filter(|((_, judged), wanted)| {
                    judged.as_ref().is_some_and(|j| {
                        let by = margin(j.value, **wanted);
                        if missed {
                            by < 0.0
                        } else {
                            by >= 0.0 && by < j.plus_minus
                        }
                    })
                })
                .map(|((ask, _), _)| ask.name.clone())
                .collect()
        };
        let missed = names(true);
        if missed.is_empty() {
            return format!(
                "nothing to turn: {} kept, but not surely; measure before anything is turned",
                list(&names(false))
            );
        }
        let mut said = Vec::new();
        for ((ask, judged), wanted) in asks() {
            let Some(judged) = judged else { continue };
            let short = margin(judged.value, *wanted);
            if short >= 0.0 {
                continue;
            }
            let up = margin(judged.value - short, *wanted) > short;
            let need = if up { -short } else { short };
            // The setting that would do it with the least share of what a hand can do.
            let ways = (0..self.steps.len()).filter_map(|s| {
                let straight = matches!(model.settings[s], Moves::Straight(_));
                let by = judged.by_setting[s];
                let step = need / by;
                (straight && step.is_finite() && by.abs() > 1e-9).then_some((s, step))
            });
            let share = |w: &(usize, f64)| (w.1 / self.steps[w.0]).abs();
            let best = ways.min_by(|a, b| share(a).total_cmp(&share(b)));
            let name = &ask.name;
            said.push(match best {
                None => format!("no setting moves {name}"),
                Some((s, step)) => {
                    let q = model.setting(s);
                    let what = turns::words(model, s, now.settings[s], now.settings[s] + step);
                    let coarse = share(&(s, step)) < 1.0;
                    format!(
                        "{name} would be just kept if you could {what}; {}",
                        if coarse {
                            format!(
                                "its step of {} is too coarse, or it would miss what is kept now",
                                say::short(self.steps[s], q.unit)
                            )
                        } else {
                            "that would miss what is kept now, or lies beyond its end".to_owned()
                        }
                    )
                }
            });
        }
        format!(
            "nothing that can be turned makes it better: {}",
            said.join("; ")
        )
    }

    /// Settings that stand at their end and would have to go on.
    fn at_end(&self, state: &State) -> Vec<String> {
        let model = &self.built.model;
        let here = self.score(&state.asks);
        let mut said = Vec::new();
        for (s, setting) in model.machine.settings.iter().enumerate() {
            if !matches!(model.settings[s], Moves::Straight(_)) {
                continue;
            }
            let reach = self.values(s, state.settings[s], 1);
            for sign in [-1.0, 1.0] {
                let from = state.settings[s];
                let beyond = from + sign * self.steps[s];
                let out = !reach
                    .iter()
                    .any(|v| (v - from) * sign > 1e-9 * (1.0 + from.abs()));
                let mut settings = state.settings.clone();
                settings[s] = beyond;
                if out && self.score(&self.foretold(state, &settings)) > here {
                    let q = model.setting(s);
                    said.push(format!(
                        "{} is at its end ({}): it would have to go on",
                        setting.name,
                        say::short(state.settings[s], q.unit)
                    ));
                }
            }
        }
        said
    }

    fn told(&mut self, now: &State, state: &State) -> Corrected {
        let model = &self.built.model;
        let changed: Vec<usize> = (0..state.settings.len())
            .filter(|&s| state.settings[s] != now.settings[s])
            .collect();
        let turns: Vec<Turn> = changed
            .iter()
            .map(|&s| Turn {
                setting: model.setting(s),
                from: now.settings[s],
                to: state.settings[s],
                words: turns::words(model, s, now.settings[s], state.settings[s]),
                steps: turns::steps(model, s, now.settings[s], state.settings[s]),
            })
            .collect();
        let asks: Vec<CorrectedAsk> = model
            .machine
            .asks
            .iter()
            .zip(&state.asks)
            .zip(&self.wanted)
            .map(|((ask, judged), wanted)| {
                let by = judged.as_ref().map(|j| margin(j.value, *wanted));
                CorrectedAsk {
                    ask: ask.name.clone(),
                    reading: model.reading(ask.reading),
                    value: judged.as_ref().map(|j| j.value),
                    plus_minus: judged.as_ref().map(|j| j.plus_minus),
                    margin: by,
                    kept: by.is_some_and(|m| m >= 0.0),
                }
            })
            .collect();
        let sure = asks
            .iter()
            .all(|a| a.margin.zip(a.plus_minus).is_some_and(|(m, p)| m >= p));
        let what: Vec<String> = turns.iter().map(|t| t.words.clone()).collect();
        let mut sentence = list(&what);
        if let Some(first) = sentence.get(0..1).map(str::to_uppercase) {
            sentence.replace_range(0..1, &first);
        }
        let result = self.runs_from(&state.settings).unwrap_or_default();
        let missed: Vec<String> = asks
            .iter()
            .filter(|a| !a.kept)
            .map(|a| a.ask.clone())
            .collect();
        let but = if missed.is_empty() {
            String::new()
        } else {
            format!("; {} still missed", list(&missed))
        };
        let steps: f64 = turns.iter().map(|t| t.steps).sum();
        Corrected {
            sentence: format!("{sentence}: {result}{but}"),
            cost: format!(
                "{}, {steps:.0} {}",
                if turns.len() == 1 {
                    "1 adjustment".to_owned()
                } else {
                    format!("{} adjustments", turns.len())
                },
                if steps == 1.0 { "step" } else { "steps" }
            ),
            turns,
            asks,
            sure,
        }
    }

    /// "gap will run from 1.02 mm to 0.31 mm (± 0.02 mm)": the reading asked for first, over the drive by which it is asked.
    fn runs_from(&mut self, settings: &[f64]) -> Option<String> {
        let model: &Model = &self.built.model;
        let asked = model.machine.asks.iter().find_map(|a| match &a.judges {
            Judges::Swing { drive, when }
            | Judges::Per { drive, when, .. }
            | Judges::Anywhere { drive, when } => Some((a.reading, *drive, when)),
            Judges::At { when } => when.first().map(|w| (a.reading, w.0, when)),
        });
        let (reading, drive, when) = asked?;
        let mut stand = self.built.stand.clone();
        stand.settings = settings.to_vec();
        for &(d, value) in when {
            if d != drive {
                stand.drives[d] = value;
            }
        }
        let here = self.bench.bring(&stand).ok()?;
        let (_, span) = self.bench.span(&here, drive)?;
        let mut ends = Vec::new();
        if span.round {
            // Both ends of a turn are one place.
            for greatest in [false, true] {
                let there = self.bench.extreme(reading, &here, drive, greatest)?.here;
                ends.push(self.built.reading(&mut self.bench, reading, &there)?);
            }
        } else {
            for at in [span.low.at, span.high.at] {
                let there = self.bench.advance(&here, drive, at).ok()?;
                ends.push(self.built.reading(&mut self.bench, reading, &there)?);
            }
        }
        let [a, b] = &ends[..] else {
            return None;
        };
        let q = model.reading(reading);
        let (off, sd) = self.built.drifted(reading);
        let deviation = self.built.deviation(&a.1).max(self.built.deviation(&b.1));
        let band = 2.0 * deviation.hypot(sd);
        Some(format!(
            "{} will run from {} to {} (± {}) over {}",
            q.name,
            say::of(&q, a.0 + off),
            say::of(&q, b.0 + off),
            say::of(&q, band),
            model.machine.drives[drive].name
        ))
    }
}

/// All choices of so many out of `n`, in order.
fn choices(n: usize, count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for first in 0..n {
        for rest in choices(n, count - 1) {
            if rest.first().is_none_or(|r| *r > first) {
                let mut one = vec![first];
                one.extend(rest);
                all.push(one);
            }
        }
    }
    all
}
