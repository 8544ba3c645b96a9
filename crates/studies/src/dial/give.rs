//! The machine as a spring behind its work: how far a reading opens under the load that the work puts up.

use super::system::chain_of;
use crate::assemble::Model;
use machine::logbook::Run;
use machine::work::{LoadKind, Resists};

/// The force of the work by the value of the reading, N.
#[derive(Clone, Debug)]
pub(crate) struct Law {
    parts: Vec<Resists>,
}

impl Law {
    /// The law under which a run was taken; none when its load case does not squeeze this reading.
    pub(crate) fn of(model: &Model, run: &Run) -> Option<Self> {
        let case = model.machine.work.cases.get(run.under?)?;
        let chain = chain_of(model, run.reading);
        let parts: Vec<Resists> = case
            .loads
            .iter()
            .filter_map(|&l| match &model.machine.work.loads.get(l)?.kind {
                LoadKind::Squeezes { reading, resists } if chain.contains(reading) => {
                    Some(resists.clone())
                }
                _ => None,
            })
            .collect();
        (!parts.is_empty()).then_some(Self { parts })
    }

    /// Force and its derivative at a value.
    fn force(&self, y: f64) -> (f64, f64) {
        self.parts.iter().fold((0.0, 0.0), |(f, d), part| {
            let (g, e) = force_of(part, y);
            (f + g, d + e)
        })
    }

    /// The loaded value from the unloaded one and the give (mm/N), with its derivatives by both: `y = unloaded + give · force(y)`.
    pub(crate) fn loaded(&self, unloaded: f64, give: f64) -> (f64, f64, f64) {
        let mut y = unloaded;
        for _ in 0..60 {
            let (f, d) = self.force(y);
            let slope = (1.0 - give * d).max(0.1);
            let step = (y - unloaded - give * f) / slope;
            y -= step;
            if step.abs() <= 1e-14 * (1.0 + y.abs()) {
                break;
            }
        }
        let (f, d) = self.force(y);
        let slope = (1.0 - give * d).max(0.1);
        (y, 1.0 / slope, f / slope)
    }
}

fn force_of(resists: &Resists, y: f64) -> (f64, f64) {
    match resists {
        Resists::Constant { force, below } => (if y < *below { *force } else { 0.0 }, 0.0),
        Resists::Linear {
            begins, stiffness, ..
        } if y < *begins => (stiffness * (begins - y), -stiffness),
        Resists::Linear { .. } => (0.0, 0.0),
        Resists::Table(points) => {
            let after = points.partition_point(|p| p[0] <= y);
            match (
                after.checked_sub(1).and_then(|i| points.get(i)),
                points.get(after),
            ) {
                (Some(a), Some(b)) => {
                    let slope = (b[1] - a[1]) / (b[0] - a[0]);
                    (a[1] + slope * (y - a[0]), slope)
                }
                (Some(last), None) => (last[1], 0.0),
                (None, Some(first)) => (first[1], 0.0),
                (None, None) => (0.0, 0.0),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_springs_in_line_share_the_closing() {
        let law = Law {
            parts: vec![Resists::Linear {
                begins: 2.4,
                stiffness: 9000.0,
                layer: false,
            }],
        };
        // Work of 9 kN/mm against a machine of 30 kN/mm, closed 1.2 mm unloaded: opens by 1.2 * 9 / 39.
        let (y, _, _) = law.loaded(1.2, 1.0 / 30_000.0);
        assert!((y - (1.2 + 1.2 * 9.0 / 39.0)).abs() < 1e-12);
        let h = 1e-7;
        let (_, by_unloaded, by_give) = law.loaded(1.2, 1e-5);
        let by = |a: f64, c: f64| law.loaded(a, c).0;
        assert!(((by(1.2 + h, 1e-5) - by(1.2 - h, 1e-5)) / (2.0 * h) - by_unloaded).abs() < 1e-6);
        assert!(
            ((by(1.2, 1e-5 + 1e-10) - by(1.2, 1e-5 - 1e-10)) / 2e-10 - by_give).abs()
                < 1e-3 * by_give.abs()
        );
    }
}
