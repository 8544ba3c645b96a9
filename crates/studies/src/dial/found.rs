//! What a fit finds besides dimensions: lost motion, give, zeros of drives' own scales, readings that were set aside.

use super::answers::{Backlash, Give, SetAside, Shift};
use super::fit::{Aside, Fitted};
use super::system::{Nuisance, Order, System};

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
