//! The fit: which errors explain the readings; wild readings and slipped indicators are set aside one by one, beliefs that do not hold let go.

use super::chance;
use super::least::{self, Limits, Solved};
use super::system::{Nuisance, Order, System};
use crate::answers::Inside;
use machine::logbook::Zero;
use nalgebra::{DMatrix, DVector};

/// A fall of the sum of squares above which a reading counts as wild: four and a half standard deviations.
const WILD: f64 = 20.0;
/// Leftover error this unlikely as noise means that the readings scatter more than stated.
const UNLIKELY: f64 = 0.01;
const LIMITS: Limits = Limits {
    relative: 1e-9,
    absolute: 1e-7,
    most: 60,
};

/// A reading or a part of a run that was set aside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Aside {
    /// One reading, off by this much.
    Wild { observation: usize, by: f64 },
    /// All readings of a chain from this observation on, off by this much.
    Slip {
        before: usize,
        order: Order,
        by: f64,
    },
}

/// What was taken for true and is not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Belief {
    /// The tolerance of this unknown: the part came out beyond it.
    Tolerance(usize),
    /// The zero of the indicator in this chain, off by this much.
    Zero { chain: usize, by: f64 },
    /// The zero of the drive's scale, in the runs taken with the first; off by this much.
    Shift { first: usize, by: f64 },
}

/// What stands out of a fit.
#[derive(Clone, Copy, Debug)]
enum Out {
    Aside(Aside),
    Belief(Belief),
}

/// A belief that was let go, and those that would explain the readings nearly as well in its place.
#[derive(Clone, Debug)]
pub(crate) struct LetGo {
    pub(crate) belief: Belief,
    pub(crate) or: Vec<Belief>,
}

/// An explanation that lets the sum of squares fall by at least this share of what the best does is as good as it.
const AS_GOOD: f64 = 0.7;

/// Beliefs that may be let go before the readings are of another machine.
const BEYOND: usize = 3;

/// A part this many times beyond its tolerance is less likely than a zero that is not true.
const SCRAP: f64 = 4.0;

/// How far off a protractor put on by hand may be, rad, and a rule laid on, mm (common practice).
const PUT_ON: [f64; 2] = [std::f64::consts::PI / 180.0, 1.0];

/// Of a reading that the fit follows so far by itself nothing can be told.
const FOLLOWED: f64 = 0.05;
/// What dimensions may do in place of a zero they pay for with their tolerances; all that must not be left is rounding.
const ROUNDING: f64 = 1e-7;

/// So few readings do not tell how far the usual one scatters.
const FEW: usize = 20;

/// What came of it.
pub(crate) struct Fitted {
    /// Unknowns in their scale, then nuisances.
    pub(crate) x: DVector<f64>,
    pub(crate) covariance: DMatrix<f64>,
    /// What was set aside, in the order in which it stood out.
    pub(crate) aside: Vec<Aside>,
    /// Beliefs that were let go.
    pub(crate) let_go: Vec<LetGo>,
    /// Sum of squares in stated standard deviations, before any widening.
    pub(crate) sum: f64,
    pub(crate) freedoms: usize,
    /// Chance of as much leftover error when it is noise as stated.
    pub(crate) chance: f64,
    /// Chance of as few changes of sign.
    pub(crate) pattern: f64,
    /// More was set aside than a fit should.
    pub(crate) too_many: bool,
}

/// Fits. The system keeps what was set aside, and its widening. None when the equations have no solution that can be reached.
pub(crate) fn fit(system: &mut System<'_>) -> Option<Fitted> {
    told_apart(system)?;
    let mut x = DVector::zeros(system.unknowns.len() + system.nuisances.len());
    let mut aside = Vec::new();
    let most = (system.observations.len() / 5).max(1);
    let mut too_many = false;
    let mut let_go: Vec<LetGo> = Vec::new();
    let solved = loop {
        let solved = least::solve(x.clone(), LIMITS, |x| system.at(x))?;
        let Some((found, or)) = standing_out(system, &solved) else {
            break solved;
        };
        let found = match found {
            Out::Aside(found) => found,
            Out::Belief(belief) => {
                if let_go.len() >= BEYOND {
                    break solved;
                }
                let_go.push(LetGo { belief, or });
                x.clone_from(&solved.x);
                match belief {
                    Belief::Tolerance(unknown) => {
                        if let Some(u) = system.unknowns.get_mut(unknown) {
                            u.toleranced = false;
                        }
                    }
                    Belief::Zero { chain, .. } => {
                        system.nuisances.push(Nuisance::Zero { chain });
                        x = x.push(0.0);
                    }
                    Belief::Shift { first, .. } => {
                        system.nuisances.push(Nuisance::Shift { first });
                        x = x.push(0.0);
                    }
                }
                continue;
            }
        };
        if aside.len() >= most {
            too_many = true;
            break solved;
        }
        aside.push(found);
        x.clone_from(&solved.x);
        match found {
            Aside::Wild { observation, .. } => {
                if let Some(o) = system.observations.get_mut(observation) {
                    o.wild = true;
                }
            }
            Aside::Slip { before, order, .. } => {
                system.nuisances.push(Nuisance::Slip { before, order });
                x = x.push(0.0);
            }
        }
    };
    let sum = solved.residuals.norm_squared();
    let freedoms = freedoms(system);
    let chance = chance::chi_square(sum, freedoms);
    let pattern = pattern(system, &solved);
    let mut solved = solved;
    if chance < UNLIKELY && freedoms > 0 {
        // Widened until the leftover error is what a widened reading may show.
        for _ in 0..6 {
            let used = system.used();
            let data = solved.residuals.rows(0, used).norm_squared();
            let rest = solved.residuals.norm_squared() - data;
            let room = (freedoms as f64 - rest).max(1.0);
            let factor = (data / room).sqrt();
            if (factor - 1.0).abs() < 0.01 {
                break;
            }
            system.inflate = (system.inflate * factor).max(1.0);
            solved = least::solve(solved.x.clone(), LIMITS, |x| system.at(x))?;
        }
    }
    let covariance = least::covariance(&solved.jacobian)?;
    Some(Fitted {
        x: solved.x,
        covariance,
        aside,
        let_go,
        sum,
        freedoms,
        chance,
        pattern,
        too_many,
    })
}

/// Rows less unknowns about which nothing was known beforehand.
pub(crate) fn freedoms(system: &System<'_>) -> usize {
    let of_dimensions: usize = system.unknowns.iter().map(|u| u.measured.len()).sum();
    let measured = of_dimensions + system.spans.len();
    let unknown = |n: &&Nuisance| match n {
        Nuisance::Shift { first } => system.shift_known(*first).is_none(),
        _ => true,
    };
    let free = system.unknowns.iter().filter(|u| !u.toleranced).count()
        + system.nuisances.iter().filter(unknown).count();
    (system.used() + measured).saturating_sub(free)
}

/// Leaves out zeros, backlash and give that these readings cannot tell apart from the ones before.
fn told_apart(system: &mut System<'_>) -> Option<()> {
    let p = system.unknowns.len();
    let x = DVector::zeros(p + system.nuisances.len());
    let (_, j) = system.at(&x)?;
    let used = system.used();
    let mut basis: Vec<DVector<f64>> = Vec::new();
    let mut kept = Vec::new();
    for (k, nuisance) in system.nuisances.iter().enumerate() {
        let column = j.view((0, p + k), (used, 1)).column(0).into_owned();
        let before = column.norm();
        let mut rest = column;
        for _ in 0..2 {
            for b in &basis {
                let along = b.dot(&rest);
                rest.axpy(-along, b, 1.0);
            }
        }
        let after = rest.norm();
        let known = matches!(nuisance, Nuisance::Shift { .. });
        if known {
            kept.push(nuisance.clone());
        } else if before > 0.0 && after > 1e-5 * before {
            basis.push(rest / after);
            kept.push(nuisance.clone());
        }
    }
    system.nuisances = kept;
    Some(())
}

/// A way to let the sum of squares fall.
struct Offer {
    out: Out,
    fall: f64,
    /// How far it is from what is usual: above one it is less likely than what is not.
    far: f64,
}

/// Readings of the fit, looked at for what does not go with the rest.
struct Look<'s> {
    system: &'s System<'s>,
    used: Vec<usize>,
    q: DMatrix<f64>,
    r: &'s DVector<f64>,
    offers: Vec<Offer>,
}

impl Look<'_> {
    /// A column of derivatives that one more unknown would have, over the lines of the observations used.
    /// `least` is the share of it that the fit must not be able to follow by itself.
    fn offer(&mut self, lines: &[(usize, f64)], least: f64, out: &dyn Fn(f64) -> (Out, f64)) {
        let mut along = DVector::<f64>::zeros(self.q.ncols());
        let (mut dot, mut whole) = (0.0, 0.0);
        for &(line, w) in lines {
            dot += w * self.r[line];
            whole += w * w;
            along.axpy(w, &self.q.row(line).transpose(), 1.0);
        }
        let free = whole - along.norm_squared();
        if whole <= 0.0 || free < least * whole {
            return;
        }
        let (out, far) = out(-dot / free);
        self.offers.push(Offer {
            out,
            fall: dot * dot / free,
            far,
        });
    }

    fn sd(&self, line: usize) -> f64 {
        self.system.observations[self.used[line]].sd * self.system.inflate
    }

    /// Single readings.
    fn wild(&mut self) {
        for line in 0..self.used.len() {
            let (observation, sd) = (self.used[line], self.sd(line));
            self.offer(&[(line, 1.0)], FOLLOWED, &|by| {
                let by = by * sd;
                (Out::Aside(Aside::Wild { observation, by }), 0.0)
            });
        }
    }

    /// Slips: every later reading of the chain is off by the same.
    fn slips(&mut self, order: Order) {
        for &before in &self.used.clone() {
            let chain = self.system.observations[before].chain;
            let of = |l: &usize| self.system.observations[self.used[*l]].chain == chain;
            let all: Vec<usize> = (0..self.used.len()).filter(of).collect();
            let later: Vec<(usize, f64)> = all
                .iter()
                .filter(|l| self.system.after(self.used[**l], before, order))
                .map(|&l| (l, 1.0 / self.sd(l)))
                .collect();
            let known = Nuisance::Slip { before, order };
            let (after, earlier) = (later.len(), all.len() - later.len());
            if after < 2 || earlier < 2 || self.system.nuisances.contains(&known) {
                continue;
            }
            self.offer(&later, FOLLOWED, &|by| {
                (Out::Aside(Aside::Slip { before, order, by }), 0.0)
            });
        }
    }

    /// Parts beyond their tolerance: what the drawing says of them is what does not go with the readings.
    fn tolerances(&mut self) {
        let mut line = self.used.len();
        for (k, u) in self.system.unknowns.iter().enumerate() {
            if u.toleranced {
                self.offer(&[(line, 1.0)], FOLLOWED, &|by| {
                    let far = by.abs() / 3.0 / SCRAP;
                    (Out::Belief(Belief::Tolerance(k)), far)
                });
                line += 1;
            }
            line += u.measured.len();
        }
    }

    /// Zeros that were said to be true.
    fn zeros(&mut self) {
        let mut chains: Vec<usize> = self
            .used
            .iter()
            .map(|&i| self.system.observations[i].chain)
            .collect();
        chains.dedup();
        for chain in chains {
            let has = self.system.nuisances.contains(&Nuisance::Zero { chain });
            if has || self.system.log.runs[chain].zero == Zero::Unknown {
                continue;
            }
            let lines: Vec<(usize, f64)> = (0..self.used.len())
                .filter(|&l| self.system.observations[self.used[l]].chain == chain)
                .map(|l| (l, 1.0 / self.sd(l)))
                .collect();
            if lines.len() > 1 {
                self.offer(&lines, ROUNDING, &|by| {
                    (Out::Belief(Belief::Zero { chain, by }), 1.0)
                });
            }
        }
    }

    /// Scales of drives that were put on a little off.
    fn shifts(&mut self, rates: &[f64]) {
        for first in 0..self.system.log.runs.len() {
            let has = self.system.nuisances.contains(&Nuisance::Shift { first });
            if has || self.system.taken_with(first) != first {
                continue;
            }
            let lines: Vec<(usize, f64)> = (0..self.used.len())
                .filter(|&l| {
                    let run = self.system.observations[self.used[l]].run;
                    self.system.taken_with(run) == first
                })
                .map(|l| (l, rates[l]))
                .collect();
            let drive = self.system.log.runs[first].drive;
            let usual =
                PUT_ON[usize::from(self.system.model.drive(drive).inside != Inside::Radian)];
            if lines.len() > 2 {
                self.offer(&lines, ROUNDING, &|by| {
                    let far = by.abs() / usual;
                    (Out::Belief(Belief::Shift { first, by }), far)
                });
            }
        }
    }

    /// Variance of the usual reading by the middle of them, which a few wild ones do not move.
    fn usual(&self) -> Option<f64> {
        let n = self.used.len();
        if n < FEW {
            return None;
        }
        let mut sizes: Vec<f64> = (0..n).map(|l| self.r[l].abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let free: f64 = (0..n).map(|l| 1.0 - self.q.row(l).norm_squared()).sum();
        // The median of the size of normal noise is 0.6745 of its standard deviation.
        Some((sizes[n / 2] / 0.6745).powi(2) * n as f64 / free.max(1.0))
    }
}

/// The one reading, the one slip of an indicator or the one belief whose leaving out lets the sum of squares fall most, when that is too much
/// for noise; for a belief also those that do nearly as well.
fn standing_out(system: &System<'_>, solved: &Solved) -> Option<(Out, Vec<Belief>)> {
    let sum = solved.residuals.norm_squared();
    let freedoms = freedoms(system);
    if freedoms < 3 {
        return None;
    }
    let used: Vec<usize> = (0..system.observations.len())
        .filter(|&i| !system.observations[i].wild)
        .collect();
    let rates = system.by_place(&solved.x)?;
    let mut look = Look {
        system,
        used,
        q: solved.jacobian.clone().qr().q(),
        r: &solved.residuals,
        offers: Vec::new(),
    };
    look.wild();
    look.tolerances();
    look.slips(Order::Runs);
    look.slips(Order::Rows);
    look.zeros();
    look.shifts(&rates);
    let usual = look.usual();
    let score = |fall: f64| {
        let rest = (sum - fall) / (freedoms - 1) as f64;
        fall / usual.map_or(rest, |u| u.min(rest)).max(1.0)
    };
    let mut best: Option<&Offer> = None;
    for offer in &look.offers {
        let better = best.is_none_or(|b| offer.fall > b.fall + 1e-9);
        if score(offer.fall) > WILD && better {
            best = Some(offer);
        }
    }
    let best = best?;
    if let Out::Aside(_) = best.out {
        return Some((best.out, Vec::new()));
    }
    // Of beliefs that explain the readings as well, the likeliest to be wrong.
    let mut as_good: Vec<&Offer> = look
        .offers
        .iter()
        .filter(|o| o.fall > AS_GOOD * best.fall && matches!(o.out, Out::Belief(_)))
        .collect();
    as_good.sort_by(|a, b| {
        let far = |o: &Offer| o.far.max(1.0);
        far(a).total_cmp(&far(b)).then(b.fall.total_cmp(&a.fall))
    });
    let mut beliefs = as_good.iter().filter_map(|o| match o.out {
        Out::Belief(belief) => Some(belief),
        Out::Aside(_) => None,
    });
    let first = beliefs.next()?;
    Some((Out::Belief(first), beliefs.collect()))
}

/// Leftover errors of each run by place, and the chance of so few changes of sign.
fn pattern(system: &System<'_>, solved: &Solved) -> f64 {
    let mut lists: Vec<Vec<f64>> = vec![Vec::new(); system.log.runs.len()];
    let used = (0..system.observations.len()).filter(|&i| !system.observations[i].wild);
    for (line, i) in used.enumerate() {
        lists[system.observations[i].run].push(solved.residuals[line]);
    }
    chance::seldom_changes(&lists)
}
