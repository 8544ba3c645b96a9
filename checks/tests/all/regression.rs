//! The routine that fits a machine to its readings, on certified sets of nonlinear regression.

use nalgebra::{DMatrix, DVector};
use serde_json::Value;
use studies::dial::least::{Ended, Limits, covariance, solve};

fn list(case: &Value, name: &str) -> Vec<f64> {
    let found = case[name].as_array().expect("a list");
    found
        .iter()
        .map(|v| v.as_f64().expect("a number"))
        .collect()
}

/// Value and derivatives of a model at one place.
fn model(id: &str, b: &DVector<f64>, x: f64) -> (f64, Vec<f64>) {
    match id {
        "misra1a" => {
            let e = (-b[1] * x).exp();
            (b[0] * (1.0 - e), vec![1.0 - e, b[0] * x * e])
        }
        "thurber" => {
            let (x2, x3) = (x * x, x * x * x);
            let up = b[0] + b[1] * x + b[2] * x2 + b[3] * x3;
            let down = 1.0 + b[4] * x + b[5] * x2 + b[6] * x3;
            let y = up / down;
            (
                y,
                vec![
                    1.0 / down,
                    x / down,
                    x2 / down,
                    x3 / down,
                    -y * x / down,
                    -y * x2 / down,
                    -y * x3 / down,
                ],
            )
        }
        "mgh09" => {
            let (up, down) = (x * x + b[1] * x, x * x + b[2] * x + b[3]);
            let y = b[0] * up / down;
            (
                y,
                vec![up / down, b[0] * x / down, -y * x / down, -y / down],
            )
        }
        other => panic!("no model {other}"),
    }
}

#[test]
fn certified_values_and_deviations_are_met_from_both_starts() {
    let cases: Vec<Value> =
        serde_json::from_str(include_str!("../../regression.json")).expect("reads");
    assert_eq!(cases.len(), 3);
    for case in &cases {
        let id = case["id"].as_str().expect("an id");
        let (xs, ys) = (list(case, "x"), list(case, "y"));
        let (certified, deviations) = (list(case, "certified"), list(case, "deviations"));
        let within = case["tol"]["value"].as_f64().expect("a tolerance");
        for start in case["starts"].as_array().expect("starts") {
            let start: Vec<f64> = start
                .as_array()
                .expect("a start")
                .iter()
                .filter_map(Value::as_f64)
                .collect();
            let limits = Limits {
                relative: 1e-11,
                absolute: 0.0,
                most: 5000,
            };
            let found = solve(DVector::from_vec(start), limits, |b| {
                let (mut r, mut j) = (DVector::zeros(xs.len()), DMatrix::zeros(xs.len(), b.len()));
                for (i, (x, y)) in xs.iter().zip(&ys).enumerate() {
                    let (value, by) = model(id, b, *x);
                    r[i] = value - y;
                    for (k, d) in by.iter().enumerate() {
                        j[(i, k)] = *d;
                    }
                }
                Some((r, j))
            })
            .expect("a start");
            assert_eq!(found.ended, Ended::Settled, "{id}");
            let near = |a: f64, b: f64, what: &str| {
                assert!(
                    (a - b).abs() <= within * b.abs(),
                    "{id}: {what} {a} instead of {b}, {} evaluations",
                    found.evaluations
                );
            };
            let sum = found.residuals.norm_squared();
            near(sum, case["sum"].as_f64().expect("a sum"), "sum of squares");
            let c = covariance(&found.jacobian).expect("columns that stand apart");
            let scale = sum / case["freedoms"].as_f64().expect("freedoms");
            for k in 0..certified.len() {
                near(found.x[k], certified[k], "parameter");
                near((scale * c[(k, k)]).sqrt(), deviations[k], "deviation");
            }
        }
    }
}
