//! Change points: places where two ways of assembling meet and the drive goes straight through.

use super::named::{folds_here, least_resisted};
use super::track::{Track, turns};
use crate::assemble::Model;
use crate::run::crossing;
use mechanics::Ended;

impl Track {
    /// What stands in line at a change point.
    pub(crate) fn change_name(&self, model: &Model, at: f64) -> String {
        let params = self.params_at(at);
        match self.at(model, at) {
            Some(sample) => folds_here(model, self.group(model), &params, &sample.poses),
            None => String::from("parts stand in line"),
        }
    }

    /// The values at which two assemblies meet, to 1e-9, each once.
    pub(crate) fn change_points(&self, model: &Model) -> Vec<f64> {
        let mut found: Vec<f64> = Vec::new();
        for &between in &self.changes {
            let at = self.change_point(model, between);
            if found.iter().all(|f| (f - at).abs() > 1e-6) {
                found.push(at);
            }
        }
        found.sort_by(f64::total_cmp);
        found
    }

    /// On a change point itself poses are ill-determined, so it is found from a little way off: the least singular value of the
    /// equations, counted negative beyond the point, goes through zero there as a smooth curve.
    fn change_point(&self, model: &Model, [mut low, mut high]: [f64; 2]) -> f64 {
        let aside = 1e-3
            * if turns(model, self.drive) {
                1.0
            } else {
                self.group(model).mechanism.size(&self.params)
            };
        let Some(start) = self.at(model, low) else {
            return 0.5 * (low + high);
        };
        while high - low > 0.2 * aside {
            let middle = 0.5 * (low + high);
            let followed = self.step(model, &start, middle);
            if followed.ended == Ended::Reached && followed.change_points.is_empty() {
                low = middle;
            } else {
                high = middle;
            }
        }
        let middle = 0.5 * (low + high);
        let nodes = [-2.0, -1.0, 1.0, 2.0].map(|k| k * aside);
        let mut values = [0.0; 4];
        for (value, node) in values.iter_mut().zip(nodes) {
            let followed = self.step(model, &start, middle + node);
            let least = least_resisted(
                self.group(model),
                &followed.state.params,
                &followed.state.poses,
            );
            let (Some((least, _)), Ended::Reached) = (least, followed.ended) else {
                return middle;
            };
            *value = if node < 0.0 { least } else { -least };
        }
        // The cubic through the four (Lagrange).
        let cubic = |x: f64| -> f64 {
            (0..4)
                .map(|i| {
                    let others = (0..4).filter(|&j| j != i);
                    values[i]
                        * others
                            .map(|j| (x - nodes[j]) / (nodes[i] - nodes[j]))
                            .product::<f64>()
                })
                .sum()
        };
        middle
            + crossing((nodes[1], values[1]), (nodes[2], values[2]), |x| {
                Some(cubic(x))
            })
    }
}
