//! Machines that are held more often than they need: how joints share a load by what they give, and what is told where that is not known.

use crate::load_common::{joint, model, near, one, row};
use studies::load::{lost_motion, stretch};

/// A stiff beam on three rods of 100 mm at 0, 100 and 250; 900 N hang at 150.
fn beam(stock: [&str; 3]) -> String {
    let [a, b, c] = stock;
    format!(
        r#"
name = "beam on three rods"
[point]
a0 = [0, 0]
b0 = [100, 0]
c0 = [250, 0]
a1 = [0, 100]
b1 = [100, 100]
c1 = [250, 100]
w = [150, 100]
post = [-60, 100]
[frame]
carries = ["a0", "b0", "c0", "post"]
[part.beam]
carries = ["a1", "b1", "c1", "w"]
[rod.a]
joins = ["a0", "a1"]
{a}
[rod.b]
joins = ["b0", "b1"]
{b}
[rod.c]
joins = ["c0", "c1"]
{c}
[rod.stay]
joins = ["post", "a1"]
[reading.y]
place-of = "w"
along = "up"
[load.w]
at = "w"
force = "900 N"
along = "down"
"#
    )
}

const EIGHT: &str = "stock = { round = \"8 mm\" }";

/// Hand statics: the rods are springs of equal rate k under a beam that stays straight. Their middle is at 350/3, the load at 150; each takes
/// 900 (1/3 + (x - 350/3)(150 - 350/3) / Σ(x - 350/3)²): 189.5, 284.2, 426.3 N, all pushed; the beam sinks by 331.6/k under the load.
#[test]
fn three_rods_share_by_their_give() {
    let m = model(&beam([EIGHT; 3]));
    let loads = one(&m, &[], None);
    let middle = 350.0 / 3.0;
    let square: f64 = [0.0, 100.0, 250.0_f64]
        .iter()
        .map(|x| (x - middle).powi(2))
        .sum();
    let share = |x: f64, at: f64| 900.0 * (1.0 / 3.0 + (x - middle) * (at - middle) / square);
    for (rod, x) in [("rod a", 0.0), ("rod b", 100.0), ("rod c", 250.0)] {
        near(joint(&loads, rod).value, -share(x, 150.0), 1e-6);
        assert!(!joint(&loads, rod).undetermined);
    }
    near(joint(&loads, "rod a").value, -189.47, 1e-4);
    assert!(!row(&loads).1.split_undetermined);
    let found = stretch(&m, &m.drawn(), 0).unwrap();
    let k = 207_000.0 * std::f64::consts::PI / 4.0 * 64.0 / 100.0;
    near(
        found.readings[0].loaded - found.readings[0].free,
        -share(150.0, 150.0) / k,
        1e-6,
    );
    assert!(lost_motion(&m, &m.drawn(), 0).is_ok());
}

/// Without the stock of one of them nothing says how they share: no row is told as if it were known, and nothing is said to stretch.
#[test]
fn rods_of_unknown_stock_are_not_shared_out() {
    for stock in [[""; 3], [EIGHT, EIGHT, ""]] {
        let m = model(&beam(stock));
        let loads = one(&m, &[], None);
        for rod in ["rod a", "rod b", "rod c"] {
            assert!(joint(&loads, rod).undetermined, "{rod}");
        }
        assert!(!joint(&loads, "rod stay").undetermined);
        let sum: f64 = ["rod a", "rod b", "rod c"]
            .iter()
            .map(|r| joint(&loads, r).value)
            .sum();
        near(sum, -900.0, 1e-9);
        let told = &loads.findings;
        let told = told.iter().any(|f| {
            f.sentence
                .contains("rod a, rod b and rod c repeat one another")
        });
        assert!(told, "{:?}", loads.findings);
        let told = studies::check(&m).findings;
        let told = told.iter().any(|f| {
            f.sentence
                .contains("how they share the force is not determined")
        });
        assert!(told, "check says nothing of it");
        if stock[0] == EIGHT {
            let found = stretch(&m, &m.drawn(), 0).unwrap();
            assert!(found.readings.is_empty());
            assert!(found.assumed.iter().any(|a| a.contains("not determined")));
        }
    }
}

/// The beam on a hinge and two cables of the TU Delft force-method exercise (its data): cables of one stock stretch by their arms about the
/// hinge times its turn, so their forces are as arm / length (hand statics), and their moments make up that of the load.
#[test]
fn two_cables_share_by_their_stretch() {
    let text = r#"
name = "beam on two cables"
unit = "m"
[point]
a = [0, 0]
b = [0, 3.6]
c = [1.5, 0]
p = [3.0, 0]
e = [4.8, 0]
[frame]
carries = ["a", "b"]
[part.beam]
carries = ["a", "c", "p", "e"]
[rod.short]
joins = ["b", "c"]
stock = { round = "12 mm" }
[rod.long]
joins = ["b", "e"]
stock = { round = "12 mm" }
[load.weight]
at = "p"
force = "4 kN"
along = "down"
"#;
    let m = model(text);
    let loads = one(&m, &[], None);
    let length = |x: f64| 3.6_f64.hypot(x);
    let arm = |x: f64| 3.6 * x / length(x);
    let turn = 12_000.0
        / [1.5, 4.8]
            .iter()
            .map(|&x: &f64| arm(x).powi(2) / length(x))
            .sum::<f64>();
    for (rod, x) in [("rod short", 1.5), ("rod long", 4.8)] {
        near(joint(&loads, rod).value, turn * arm(x) / length(x), 1e-6);
    }
}
