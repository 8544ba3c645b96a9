//! Machines made within what the log leaves open.

use super::*;
use crate::spread::{Request, ToleranceBand, spread};

#[test]
fn made_machines_stray_as_far_as_the_readings_leave_them_open() {
    let model = press();
    let truth = model.made(&errors(&model, 17)).unwrap();
    let log = log(vec![Taking::plain(0).take(&truth, 9)]);
    let (answer, _) = dial_in(&model, &log).unwrap();
    let fit = answer.fit.unwrap();
    let as_built = built(&model, &log).unwrap();
    let request = Request {
        machines: 40_000,
        ..Request::default()
    };
    let made = spread(&as_built, &as_built.drawn(), &request).unwrap();
    let drawn = spread(&model, &model.drawn(), &request).unwrap();
    assert!(made.as_built && !drawn.as_built);
    for told in &fit.asks {
        let of = |s: &crate::spread::Spread| {
            let ask = s.asks.iter().find(|a| a.ask == told.ask).unwrap();
            ask.strayed.clone()
        };
        let (strayed, as_drawn) = (of(&made), of(&drawn));
        // Three sigma against two, by the same straight lines.
        let band = 1.5 * told.after.unwrap();
        assert!(
            (strayed.root_sum_square / band - 1.0).abs() < 1e-6,
            "{}: {} {band}",
            told.ask,
            strayed.root_sum_square
        );
        // And the machines that were made one by one: 95 of 100 between these two.
        let [low, high] = [1, 3].map(|i| strayed.made.percentiles[i]);
        let half = 0.5 * (high - low) / 1.96 * 2.0;
        assert!(
            (half / told.after.unwrap() - 1.0).abs() < 0.03,
            "{}: {half} {:?}",
            told.ask,
            told.after
        );
        // With an unknown zero the travel is what was read.
        if told.ask == "travel" {
            assert!(strayed.root_sum_square < 0.9 * as_drawn.root_sum_square);
        }
        assert!((strayed.nominal - told.built.unwrap()).abs() < 1e-9);
    }
    // One dimension by itself is nearly as open as before: it is their sum that was read.
    let far = |d: &str| made.dimensions.iter().find(|v| v.dimension == d).unwrap();
    let told = fit
        .dimensions
        .iter()
        .find(|d| d.dimension == "bell: centre distance pivot to left");
    let told = told.unwrap();
    assert!((far(&told.dimension).plus_minus - 1.5 * told.after).abs() < 1e-9);
    // The band of a single value is summed the same way.
    let mut bench = Bench::new(&as_built);
    let here = bench.bring(&as_built.drawn()).unwrap();
    let by = crate::sensitivity::by_param(&mut bench, 0, &here).unwrap();
    let band = ToleranceBand::new(&as_built).likely(&by.rates);
    assert!((band - made.readings[0].root_sum_square).abs() < 1e-9);
}
