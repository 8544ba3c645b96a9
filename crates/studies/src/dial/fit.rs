//! The fit: which errors explain the readings, wild readings and slipped indicators set aside one by one.

use super::chance;
use super::least::{self, Limits, Solved};
use super::system::{Nuisance, System};
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
    Slip { before: usize, by: f64 },
}

/// What stands out of a fit.
#[derive(Clone, Copy, Debug)]
enum Out {
    Aside(Aside),
    /// The tolerance of this unknown: the part came out beyond it.
    Tolerance(usize),
}

/// A dimension beyond its tolerance, and those that would explain the readings nearly as well in its place.
#[derive(Clone, Debug)]
pub(crate) struct LetGo {
    pub(crate) unknown: usize,
    pub(crate) or: Vec<usize>,
}

/// An explanation that lets the sum of squares fall by at least this share of what the best does is as good as it.
const AS_GOOD: f64 = 0.7;

/// Parts that may be beyond their tolerance before the readings are of another machine.
const BEYOND: usize = 2;

/// What came of it.
pub(crate) struct Fitted {
    /// Unknowns in their scale, then nuisances.
    pub(crate) x: DVector<f64>,
    pub(crate) covariance: DMatrix<f64>,
    /// What was set aside, in the order in which it stood out.
    pub(crate) aside: Vec<Aside>,
    /// Unknowns whose tolerance was let go, because they are beyond it.
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
            Out::Tolerance(unknown) => {
                if let_go.len() >= BEYOND {
                    break solved;
                }
                let_go.push(LetGo { unknown, or });
                x.clone_from(&solved.x);
                if let Some(u) = system.unknowns.get_mut(unknown) {
                    u.toleranced = false;
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
            Aside::Slip { before, .. } => {
                system.nuisances.push(Nuisance::Slip { before });
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
    let measured: usize = system.unknowns.iter().map(|u| u.measured.len()).sum();
    let free = system.unknowns.iter().filter(|u| !u.toleranced).count() + system.nuisances.len();
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
        if before > 0.0 && after > 1e-5 * before {
            basis.push(rest / after);
            kept.push(nuisance.clone());
        }
    }
    system.nuisances = kept;
    Some(())
}

/// The one reading, the one slip of an indicator or the one tolerance whose leaving out lets the sum of squares fall most, when that is
/// too much for noise.
fn standing_out(system: &System<'_>, solved: &Solved) -> Option<(Out, Vec<usize>)> {
    let q = solved.jacobian.clone().qr().q();
    let r = &solved.residuals;
    let sum = r.norm_squared();
    let freedoms = freedoms(system);
    if freedoms < 3 {
        return None;
    }
    let used: Vec<usize> = (0..system.observations.len())
        .filter(|&i| !system.observations[i].wild)
        .collect();
    let mut best: Option<(f64, Out)> = None;
    // Fall of the sum of squares by each tolerance that is let go.
    let mut falls: Vec<(usize, f64)> = Vec::new();
    let mut offer = |dot: f64, free: f64, whole: f64, out: &dyn Fn(f64) -> Out| {
        // Whatever the fit follows of itself tells nothing of whether it is wild.
        if free < 0.05 * whole {
            return;
        }
        let fall = dot * dot / free;
        let rest = ((sum - fall) / (freedoms - 1) as f64).max(1.0);
        let score = fall / rest;
        if score > WILD && best.is_none_or(|b| score > b.0 + 1e-9) {
            best = Some((score, out(-dot / free)));
        }
    };
    for (line, &i) in used.iter().enumerate() {
        let o = &system.observations[i];
        let sd = o.sd * system.inflate;
        let free = 1.0 - q.row(line).norm_squared();
        offer(r[line], free, 1.0, &|by| {
            Out::Aside(Aside::Wild {
                observation: i,
                by: by * sd,
            })
        });
    }
    // A part beyond its tolerance: what the drawing says of it is what does not go with the readings.
    let mut line = used.len();
    for (k, u) in system.unknowns.iter().enumerate() {
        if u.toleranced {
            let free = 1.0 - q.row(line).norm_squared();
            offer(r[line], free, 1.0, &|_| Out::Tolerance(k));
            if free > 0.05 {
                falls.push((k, r[line] * r[line] / free));
            }
            line += 1;
        }
        line += u.measured.len();
    }
    // A slip: every later reading of the chain is off by the same.
    for (start, &i) in used.iter().enumerate() {
        let chain = system.observations[i].chain;
        let later: Vec<usize> = (start..used.len())
            .filter(|&l| system.observations[used[l]].chain == chain)
            .collect();
        let earlier = used[..start]
            .iter()
            .filter(|&&b| system.observations[b].chain == chain)
            .count();
        let known = system.nuisances.contains(&Nuisance::Slip { before: i });
        if later.len() < 2 || earlier < 2 || known {
            continue;
        }
        let mut along = DVector::<f64>::zeros(q.ncols());
        let (mut dot, mut whole) = (0.0, 0.0);
        for &l in &later {
            let w = 1.0 / (system.observations[used[l]].sd * system.inflate);
            dot += w * r[l];
            whole += w * w;
            along.axpy(w, &q.row(l).transpose(), 1.0);
        }
        let free = whole - along.norm_squared();
        offer(dot, free, whole, &|by| {
            Out::Aside(Aside::Slip { before: i, by })
        });
    }
    let (_, out) = best?;
    let Out::Tolerance(chosen) = out else {
        return Some((out, Vec::new()));
    };
    let most = falls.iter().find(|f| f.0 == chosen).map_or(0.0, |f| f.1);
    let or = falls
        .iter()
        .filter(|f| f.0 != chosen && f.1 > AS_GOOD * most)
        .map(|f| f.0)
        .collect();
    Some((out, or))
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
