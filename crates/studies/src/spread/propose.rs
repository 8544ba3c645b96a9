//! Budgets that keep what they say: allocated by what items do alone, then tried on made machines and mended until enough keep the asks.

use super::answers::{Advice, AskKept, Budget, BudgetItem, ByTolerances, Item, Kept};
use super::budget::{Effect, Part, Wish, allocate, choices};
use super::machines::{Machines, Make};
use super::normal::kept;
use super::vary::Vary;
use super::watch::Watch;
use crate::check::asks::{Wanted, margin};
use quantity::Unit;
use rayon::prelude::*;

/// Machines on which a budget is tried before it is said: as many as the command makes when nobody says otherwise, so that whoever
/// makes to it sees the same.
const SAID: usize = 100_000;
/// Machines on which it is tried while it is looked for.
const TRIED: usize = 1 << 14;
/// The same where no plan solves many at a time.
const SAID_SLOWLY: usize = 4_000;
const TRIED_SLOWLY: usize = 500;
/// Times that a budget is mended before it is given up.
const PATIENCE: usize = 40;
/// How much more is kept to spare for an ask that too few keep.
const MORE: f64 = 1.03;
/// An item that gives less of a value's spread than this is not spoken of.
const NOTHING: f64 = 1e-12;

/// Points and weights of Gauss and Hermite off the middle, for a standard normal law (Abramowitz and Stegun, table 25.10, n = 5, brought
/// to unit variance).
const POINTS: [(f64, f64); 4] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_69),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (2.856_970_013_872_806, 0.011_257_411_327_720_69),
];

/// An ask as budgets see it.
pub(super) struct Sought {
    pub(super) name: String,
    /// Its probe.
    pub(super) probe: usize,
    pub(super) wanted: Wanted,
    pub(super) nominal: f64,
    /// Share that must keep it.
    pub(super) aim: f64,
    /// Machines made as now that keep it.
    pub(super) now: Kept,
}

impl Sought {
    /// Whether a made value keeps it.
    pub(super) fn keeps(&self, value: f64) -> bool {
        !value.is_nan() && margin(value, self.wanted) >= 0.0
    }

    pub(super) fn room(&self) -> f64 {
        margin(self.nominal, self.wanted)
    }

    /// Whether so many are enough, surely.
    fn enough(&self, kept: Kept) -> bool {
        kept.share >= 1.0 || kept.band[0] >= self.aim
    }

    fn wish(&self, wider: f64) -> Wish {
        let [low, high] = self.wanted;
        let miss = 1.0 - self.aim;
        // The share must be sure on the machines that are made to say it.
        let sure = 2.0 * (miss * self.aim / SAID as f64).sqrt();
        Wish {
            room: [
                low.map_or(f64::INFINITY, |l| self.nominal - l),
                high.map_or(f64::INFINITY, |h| h - self.nominal),
            ],
            miss: (miss - sure).max(0.5 * miss).max(1e-6),
            wider,
        }
    }
}

/// What is needed to propose budgets.
pub(super) struct Proposer<'a> {
    pub(super) making: &'a Machines<'a>,
    pub(super) varied: &'a [Vary],
    pub(super) items: &'a [Item],
    pub(super) asks: &'a [Sought],
    pub(super) seed: u64,
    pub(super) watch: &'a Watch,
    /// Unit of the file's lengths: steps are of it.
    pub(super) length: Unit,
    pub(super) can_hold: Option<f64>,
}

/// What is proposed.
pub(super) struct Proposed {
    /// For each ask.
    pub(super) hold: Vec<(ByTolerances, Option<Budget>)>,
    /// For all that can be kept.
    pub(super) all: Option<Budget>,
}

/// How many machines keep each ask, and all at once.
pub(super) fn count(asks: &[&Sought], made: &[Vec<f64>], machines: usize) -> (Vec<Kept>, Kept) {
    let counts = (0..machines)
        .into_par_iter()
        .with_min_len(1 << 12)
        .fold(
            || vec![0_usize; asks.len() + 1],
            |mut counts, machine| {
                let mut all = 1;
                for ((count, ask), made) in counts.iter_mut().zip(asks).zip(made) {
                    let keeps = usize::from(ask.keeps(made[machine]));
                    *count += keeps;
                    all &= keeps;
                }
                counts[asks.len()] += all;
                counts
            },
        )
        .reduce(
            || vec![0; asks.len() + 1],
            |a, b| a.iter().zip(b).map(|(a, b)| a + b).collect(),
        );
    let mut told: Vec<Kept> = counts.iter().map(|c| kept(*c, machines)).collect();
    let all = told.pop().unwrap_or_default();
    (told, all)
}

/// Machines made to a budget: how many keep each ask, and all.
struct Tried {
    each: Vec<Kept>,
    all: Kept,
}

impl Proposer<'_> {
    pub(super) fn propose(&self) -> Proposed {
        let parts = self.parts();
        let alone = |i: usize| self.hold(i, &parts);
        let hold: Vec<(ByTolerances, Option<Budget>)> = (0..self.asks.len()).map(alone).collect();
        let can = |h: &ByTolerances| matches!(h, ByTolerances::AsNow | ByTolerances::Held);
        let asks: Vec<usize> = (0..hold.len()).filter(|&i| can(&hold[i].0)).collect();
        let all = if asks.is_empty() {
            None
        } else {
            self.find(&asks, &parts).ok()
        };
        Proposed { hold, all }
    }

    /// What to hold for one ask, all else made as now.
    fn hold(&self, ask: usize, parts: &[Part]) -> (ByTolerances, Option<Budget>) {
        let sought = &self.asks[ask];
        if sought.room() <= 0.0 {
            return (ByTolerances::NotDrawn, None);
        }
        let now: Vec<f64> = parts.iter().map(|p| p.now).collect();
        let mut as_now = sought.now;
        if as_now.machines < self.machines(&[ask]).1 {
            as_now = match self.tried(&[ask], &now, self.machines(&[ask]).1) {
                Some(t) => t.all,
                None => as_now,
            };
        }
        if sought.enough(as_now) {
            return (ByTolerances::AsNow, None);
        }
        let closer: Vec<Part> = parts
            .iter()
            .map(|p| {
                let count = p.choices.iter().filter(|t| **t <= p.now).count();
                let effects = p.effects.iter().map(|e| e[..count.min(e.len())].to_vec());
                Part {
                    choices: p.choices[..count].to_vec(),
                    now: p.now,
                    effects: effects.collect(),
                }
            })
            .collect();
        match self.find(&[ask], &closer) {
            Ok(budget) => (ByTolerances::Held, Some(budget)),
            Err(kept) => (ByTolerances::NotHeld(kept), None),
        }
    }

    /// How many machines are made while looking, and to say it.
    fn machines(&self, asks: &[usize]) -> (usize, usize) {
        let probes: Vec<usize> = asks.iter().map(|a| self.asks[*a].probe).collect();
        if self.making.planned(&probes) {
            (TRIED, SAID)
        } else {
            (TRIED_SLOWLY, SAID_SLOWLY)
        }
    }

    /// A budget that keeps these asks; else how many machines keep them when all is held as close as can be.
    fn find(&self, asks: &[usize], parts: &[Part]) -> Result<Budget, Kept> {
        let (few, many) = self.machines(asks);
        let own: Vec<Part> = parts
            .iter()
            .map(|p| Part {
                effects: asks.iter().map(|a| p.effects[*a].clone()).collect(),
                ..p.clone()
            })
            .collect();
        let nothing = vec![Effect::default(); asks.len()];
        let at = |choice: &[usize]| -> Vec<f64> {
            own.iter().zip(choice).map(|(p, i)| p.choices[*i]).collect()
        };
        let mut wider = vec![1.0; asks.len()];
        let mut more = vec![MORE; asks.len()];
        for _ in 0..PATIENCE {
            let wishes: Vec<Wish> = asks
                .iter()
                .zip(&wider)
                .map(|(a, w)| self.asks[*a].wish(*w))
                .collect();
            let Some(choice) = allocate(&own, &wishes, &nothing) else {
                break;
            };
            let to = at(&choice);
            let mut lacking = Vec::new();
            let few_keep = self.tried(asks, &to, few);
            let short = |t: &Tried, sure: bool| -> Vec<usize> {
                let lacks = |i: &usize| {
                    let ask = &self.asks[asks[*i]];
                    !if sure {
                        ask.enough(t.each[*i])
                    } else {
                        t.each[*i].share >= ask.aim
                    }
                };
                (0..asks.len()).filter(lacks).collect()
            };
            match &few_keep {
                None => lacking.extend(0..asks.len()),
                Some(t) => lacking = short(t, false),
            }
            if lacking.is_empty() {
                match self.tried(asks, &to, many) {
                    None => lacking.extend(0..asks.len()),
                    Some(t) => {
                        lacking = short(&t, true);
                        if lacking.is_empty() {
                            return Ok(self.told(asks, &own, &to, &t));
                        }
                    }
                }
            } else {
                // Far off: go faster.
                for &i in &lacking {
                    more[i] = (more[i] * more[i]).min(1.5);
                }
            }
            for i in lacking {
                wider[i] *= more[i];
            }
            if self.watch.is_stopped() {
                return Err(Kept::default());
            }
        }
        let closest = at(&vec![0; own.len()]);
        match self.tried(asks, &closest, many) {
            Some(t) if (0..asks.len()).all(|i| self.asks[asks[i]].enough(t.each[i])) => {
                Ok(self.told(asks, &own, &closest, &t))
            }
            Some(t) => Err(t.all),
            None => Err(kept(0, many)),
        }
    }

    fn told(&self, asks: &[usize], parts: &[Part], to: &[f64], tried: &Tried) -> Budget {
        let moves = |p: &Part| {
            p.effects.iter().any(|e| {
                let last = e.last().copied().unwrap_or_default();
                last.variance + last.shift * last.shift > NOTHING * NOTHING
            })
        };
        let mut items: Vec<BudgetItem> = parts
            .iter()
            .zip(to)
            .enumerate()
            .filter(|(_, (p, _))| moves(p))
            .map(|(item, (p, &to))| BudgetItem {
                item,
                now: p.now,
                to,
                advice: if to < p.now {
                    Advice::Hold
                } else if to > p.now {
                    Advice::LetGo
                } else {
                    Advice::Keep
                },
            })
            .collect();
        let effort = [items.len() as f64, items.iter().map(|i| i.now / i.to).sum()];
        items.sort_by(|a, b| {
            let order = |i: &BudgetItem| match i.advice {
                Advice::Hold => (0, i.to / i.now),
                Advice::LetGo => (1, i.now / i.to),
                Advice::Keep => (2, 0.0),
            };
            let (a, b) = (order(a), order(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        let each = asks.iter().zip(&tried.each);
        Budget {
            asks: each
                .map(|(a, kept)| AskKept {
                    ask: self.asks[*a].name.clone(),
                    kept: *kept,
                })
                .collect(),
            kept: tried.all,
            effort,
            items,
        }
    }

    /// Makes machines with these tolerances of the items. None when too many stray too far to be solved.
    fn tried(&self, asks: &[usize], items: &[f64], machines: usize) -> Option<Tried> {
        let own = |v: &Vary| {
            let item = v.told.item;
            if self.items[item].can_be_named {
                items[item]
            } else {
                v.plus_minus
            }
        };
        let tolerances: Vec<f64> = self.varied.iter().map(own).collect();
        let probes: Vec<usize> = asks.iter().map(|a| self.asks[*a].probe).collect();
        let make = Make::To {
            count: machines,
            seed: self.seed,
            tolerances: &tolerances,
            watch: self.watch,
        };
        let made = self.making.values(&probes, make)?;
        let sought: Vec<&Sought> = asks.iter().map(|a| &self.asks[*a]).collect();
        let (each, all) = count(&sought, &made, machines);
        Some(Tried { each, all })
    }

    /// What each item does to each ask at each tolerance it may get, from machines with one dimension off alone.
    fn parts(&self) -> Vec<Part> {
        let choices: Vec<Vec<f64>> = self
            .items
            .iter()
            .map(|i| {
                if i.can_be_named {
                    choices(i.plus_minus, i.inside, self.length, self.can_hold)
                } else {
                    vec![i.plus_minus]
                }
            })
            .collect();
        let mut given = vec![vec![0.0; self.varied.len()]];
        for (item, choices) in choices.iter().enumerate() {
            for t in choices {
                for (dim, v) in self.varied.iter().enumerate() {
                    if v.told.item == item {
                        for (x, _) in POINTS {
                            let mut off = vec![0.0; self.varied.len()];
                            // A tolerance is three sigma.
                            off[dim] = t / self.items[item].plus_minus * x / 3.0;
                            given.push(off);
                        }
                    }
                }
            }
        }
        let probes: Vec<usize> = self.asks.iter().map(|a| a.probe).collect();
        let made = self.making.values(&probes, Make::Given(&given));
        let made = made.unwrap_or_else(|| vec![vec![f64::NAN; given.len()]; probes.len()]);
        let mut next = 1;
        let mut parts = Vec::new();
        for (item, mut choices) in choices.into_iter().enumerate() {
            let dims = self.varied.iter().filter(|v| v.told.item == item).count();
            let mut effects = vec![Vec::new(); self.asks.len()];
            for at in 0..choices.len() {
                for (ask, made) in made.iter().enumerate() {
                    let mut sum = Effect::default();
                    for dim in 0..dims {
                        let first = next + (at * dims + dim) * POINTS.len();
                        let off = |k: usize| made[first + k] - made[0];
                        let points = POINTS.iter().enumerate();
                        let shift: f64 = points.clone().map(|(k, p)| p.1 * off(k)).sum();
                        let square: f64 = points.map(|(k, p)| p.1 * off(k) * off(k)).sum();
                        sum.shift += shift;
                        sum.variance += (square - shift * shift).max(0.0);
                    }
                    effects[ask].push(sum);
                }
            }
            next += choices.len() * dims * POINTS.len();
            // No further than machines go together.
            let lost = |at: usize| {
                effects
                    .iter()
                    .any(|e: &Vec<Effect>| !(e[at].shift + e[at].variance).is_finite())
            };
            let good = (0..choices.len())
                .find(|at| lost(*at))
                .unwrap_or(choices.len());
            choices.truncate(good.max(1));
            for e in &mut effects {
                e.truncate(good.max(1));
                if good == 0 {
                    e[0] = Effect::default();
                }
            }
            parts.push(Part {
                choices,
                now: self.items[item].plus_minus,
                effects,
            });
        }
        parts
    }
}
