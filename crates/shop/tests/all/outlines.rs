//! Outlines of arms and bosses: random bosses and angles, areas by integration over columns that shares nothing with the outline.

use proptest::prelude::*;
use shop::contour::{Contour, P, Side};
use std::f64::consts::PI;

type Circle = (P, f64);

fn at(angle: f64, far: f64) -> P {
    [far * angle.cos(), far * angle.sin()]
}

/// Ends of the two lines that touch both circles.
fn touching(a: Circle, b: Circle) -> Option<[[P; 2]; 2]> {
    let d = [b.0[0] - a.0[0], b.0[1] - a.0[1]];
    let far = d[0].hypot(d[1]);
    if far <= (a.1 - b.1).abs() + 1e-6 {
        return None;
    }
    let (along, off) = (d[1].atan2(d[0]), ((a.1 - b.1) / far).acos());
    let one = |angle: f64| {
        let n = [angle.cos(), angle.sin()];
        [a, b].map(|(c, r)| [c[0] + r * n[0], c[1] + r * n[1]])
    };
    Some([one(along + off), one(along - off)])
}

/// What a column at x cuts out of an arm: the hull of all places where it meets its circles and lines.
fn column(x: f64, a: Circle, b: Circle) -> Option<[f64; 2]> {
    let mut ys: Vec<f64> = Vec::new();
    for (c, r) in [a, b] {
        let half = r * r - (x - c[0]).powi(2);
        if half >= 0.0 {
            ys.extend([c[1] - half.sqrt(), c[1] + half.sqrt()]);
        }
    }
    for [p, q] in touching(a, b).into_iter().flatten() {
        let t = (x - p[0]) / (q[0] - p[0]);
        if (0.0..=1.0).contains(&t) {
            ys.push(p[1] + t * (q[1] - p[1]));
        }
    }
    let low = ys.iter().copied().reduce(f64::min)?;
    Some([low, ys.iter().copied().reduce(f64::max)?])
}

/// Area of the union of arms by columns, mm².
fn area(arms: &[(Circle, Circle)]) -> f64 {
    const COLUMNS: u32 = 6000;
    let ends = arms.iter().flat_map(|a| [a.0, a.1]);
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (c, r)| {
        (l.min(c[0] - r), h.max(c[0] + r))
    });
    let wide = (high - low) / f64::from(COLUMNS);
    (0..COLUMNS)
        .map(|n| {
            let x = low + (f64::from(n) + 0.5) * wide;
            let mut cuts: Vec<[f64; 2]> = arms.iter().filter_map(|a| column(x, a.0, a.1)).collect();
            cuts.sort_by(|a, b| a[0].total_cmp(&b[0]));
            let mut top = f64::NEG_INFINITY;
            let mut sum = 0.0;
            for [low, high] in cuts {
                sum += (high - low.max(top)).max(0.0);
                top = top.max(high);
            }
            sum * wide
        })
        .sum()
}

/// Distance from a place to arms, by trying circles between the ends.
fn far_from(p: P, arms: &[(Circle, Circle)]) -> f64 {
    let one = |&(a, b): &(Circle, Circle)| {
        let gap = |t: f64| {
            let c = [0, 1].map(|i| a.0[i] + t * (b.0[i] - a.0[i]));
            (p[0] - c[0]).hypot(p[1] - c[1]) - (a.1 + t * (b.1 - a.1))
        };
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..80 {
            let (l, r) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if gap(l) < gap(r) {
                high = r;
            } else {
                low = l;
            }
        }
        gap(f64::midpoint(low, high)).min(gap(0.0)).min(gap(1.0))
    };
    arms.iter().map(one).fold(f64::INFINITY, f64::min)
}

fn arms_of(circles: &[Circle], pairs: &[[usize; 2]]) -> Vec<(Circle, Circle)> {
    pairs
        .iter()
        .map(|&[a, b]| (circles[a], circles[b]))
        .collect()
}

/// All that holds of any outline of arms.
fn holds(circles: &[Circle], pairs: &[[usize; 2]], fillet: f64) {
    let arms = arms_of(circles, pairs);
    let sharp = Contour::arms(circles, pairs, 0.0).unwrap();
    let expected = area(&arms);
    assert!(
        (sharp.area() - expected).abs() < 2e-4 * expected,
        "{} against {expected}: {circles:?}",
        sharp.area()
    );
    let round = Contour::arms(circles, pairs, fillet).unwrap();
    let less = sharp.area() - round.area();
    // Ends are found to 1e-7 mm along sides of a hundred: 2e-5 of 2500 mm² was seen.
    assert!(less < 1e-6 * sharp.area(), "{less} lost: {circles:?}");
    let mut inside: Vec<f64> = Vec::new();
    for side in round.sides() {
        // No side cuts into an arm, and an inside corner's circle touches the arms and no more.
        for n in 0..=8 {
            let gap = far_from(side.at(f64::from(n) / 8.0), &arms);
            assert!(gap > -1e-6, "{gap} inside: {side:?} of {circles:?}");
        }
        if let Side::Arc {
            centre,
            radius,
            sweep,
            ..
        } = side
            && sweep < 0.0
        {
            assert!((far_from(centre, &arms) - radius).abs() < 1e-6);
            inside.push(radius);
        }
    }
    // A radius read off an arc of a micrometre is good to a millionth.
    assert!(inside.iter().all(|r| *r <= fillet + 1e-6), "{inside:?}");
    for (c, _) in circles {
        assert!(round.holds(*c), "a boss lies outside: {circles:?}");
    }
    for (a, b) in &arms {
        for [p, q] in touching(*a, *b).into_iter().flatten() {
            // A hair towards the middle of the arm.
            let towards = [0, 1].map(|i| f64::midpoint(a.0[i], b.0[i]));
            for t in [0.1, 0.5, 0.9] {
                let m = [0, 1].map(|i| p[i] + t * (q[i] - p[i]));
                let m = [0, 1].map(|i| m[i] + 1e-4 * (towards[i] - m[i]));
                assert!(round.holds(m), "a straight lies outside: {circles:?}");
            }
        }
    }
}

#[test]
fn arms_that_taper_both_ways_from_a_larger_boss() {
    // Touching points of both arms lie side by side on the circle of the boss.
    for tenth in 1500..=2400 {
        let angle = f64::from(tenth) / 10.0;
        let circles = [
            ([0.0, 0.0], 18.0),
            (at(0.0, 150.0), 15.0),
            (at(angle.to_radians(), 60.0), 10.0),
        ];
        let outline = Contour::arms(&circles, &[[0, 1], [0, 2]], 6.0).unwrap();
        assert!(circles.iter().all(|c| outline.holds(c.0)), "{angle}");
        let wide = outline.bounds()[1][0] - outline.bounds()[0][0];
        let wanted = 165.0 - (60.0 * angle.to_radians().cos() - 10.0).min(-18.0);
        assert!((wide - wanted).abs() < 1e-6, "{wide} at {angle}");
    }
    let lever = |degrees: f64| {
        [
            ([0.0, 0.0], 18.0),
            (at(0.0, 150.0), 15.0),
            (at(degrees.to_radians(), 60.0), 10.0),
        ]
    };
    for degrees in [90.0, 174.0, 180.0, 189.6, 190.0, 193.7, 200.0] {
        holds(&lever(degrees), &[[0, 1], [0, 2]], 6.0);
    }
}

#[test]
fn bosses_alike_on_one_line_and_across() {
    let row = [
        ([0.0, 0.0], 12.0),
        ([50.0, 0.0], 12.0),
        ([-40.0, 0.0], 12.0),
    ];
    holds(&row, &[[0, 1], [0, 2]], 5.0);
    let outline = Contour::arms(&row, &[[0, 1], [0, 2]], 5.0).unwrap();
    let wanted = 90.0 * 24.0 + PI * 144.0;
    assert!((outline.area() - wanted).abs() < 1e-6, "{outline:?}");
    assert_eq!(outline.sides().len(), 4, "{outline:?}");
    holds(&row, &[[1, 2], [0, 1]], 5.0);
    let cross = [
        ([0.0, 0.0], 14.0),
        ([60.0, 0.0], 9.0),
        ([0.0, 60.0], 9.0),
        ([-60.0, 0.0], 9.0),
        ([0.0, -60.0], 9.0),
    ];
    holds(&cross, &[[0, 1], [0, 2], [0, 3], [0, 4]], 8.0);
}

#[test]
fn a_window_is_no_outline() {
    let three = [([0.0, 0.0], 8.0), ([100.0, 0.0], 8.0), ([50.0, 90.0], 8.0)];
    assert!(Contour::arms(&three, &[[0, 1], [1, 2], [2, 0]], 5.0).is_none());
    // Two arms that do not touch.
    let four = [three[0], three[1], ([0.0, 60.0], 5.0), ([100.0, 60.0], 5.0)];
    assert!(Contour::arms(&four, &[[0, 1], [2, 3]], 5.0).is_none());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]
    #[test]
    fn stars_of_any_bosses(
        hub in 4.0..25.0f64,
        arms in prop::collection::vec((20.0..160.0f64, 0.0..360.0f64, 3.0..25.0f64), 1..5),
        fillet in 0.5..12.0f64,
        whole in any::<bool>(),
    ) {
        // Whole degrees and tenths meet the touching cases more often than chance.
        let coarse = |x: f64| if whole { x.round() } else { x };
        let mut circles = vec![([0.0, 0.0], coarse(hub))];
        circles.extend(arms.iter().map(|&(far, angle, r)| (at(coarse(angle / 10.0).to_radians() * 10.0, coarse(far)), coarse(r))));
        let pairs: Vec<[usize; 2]> = (1..circles.len()).map(|n| [0, n]).collect();
        match Contour::arms(&circles, &pairs, fillet) {
            Some(_) => holds(&circles, &pairs, fillet),
            // Ends that run into one another may leave a window: then the columns have a gap.
            None => {
                let arms = arms_of(&circles, &pairs);
                prop_assert!(circles.len() > 2 && window(&arms), "{circles:?}");
            }
        }
    }

    #[test]
    fn chains_of_bosses(
        links in prop::collection::vec((25.0..120.0f64, -100.0..100.0f64, 3.0..20.0f64), 1..4),
        fillet in 0.5..12.0f64,
    ) {
        let mut circles = vec![([0.0, 0.0], 10.0)];
        let mut here = [0.0, 0.0];
        let mut angle: f64 = 0.0;
        for &(far, turn, r) in &links {
            angle += turn.to_radians();
            let d = at(angle, far);
            here = [here[0] + d[0], here[1] + d[1]];
            circles.push((here, r));
        }
        let pairs: Vec<[usize; 2]> = (1..circles.len()).map(|n| [n - 1, n]).collect();
        if Contour::arms(&circles, &pairs, fillet).is_some() {
            holds(&circles, &pairs, fillet);
        } else {
            prop_assert!(window(&arms_of(&circles, &pairs)), "{circles:?}");
        }
    }
}

/// Whether a place outside all arms cannot be walked to from far away, on a grid.
fn window(arms: &[(Circle, Circle)]) -> bool {
    const GRID: usize = 240;
    let ends = arms.iter().flat_map(|a| [a.0, a.1]);
    let reach = ends.fold(0.0_f64, |m, (c, r)| m.max(c[0].abs().max(c[1].abs()) + r)) + 5.0;
    let place = |n: usize| -reach + 2.0 * reach * n as f64 / (GRID - 1) as f64;
    let free: Vec<bool> = (0..GRID * GRID)
        .map(|k| {
            let (x, y) = (place(k % GRID), place(k / GRID));
            !arms
                .iter()
                .any(|a| column(x, a.0, a.1).is_some_and(|[l, h]| (l..=h).contains(&y)))
        })
        .collect();
    let mut seen = vec![false; GRID * GRID];
    let mut todo = vec![0];
    while let Some(k) = todo.pop() {
        if seen[k] || !free[k] {
            continue;
        }
        seen[k] = true;
        let (x, y) = (k % GRID, k / GRID);
        if x > 0 {
            todo.push(k - 1);
        }
        if x + 1 < GRID {
            todo.push(k + 1);
        }
        if y > 0 {
            todo.push(k - GRID);
        }
        if y + 1 < GRID {
            todo.push(k + GRID);
        }
    }
    free.iter().zip(&seen).any(|(f, s)| *f && !s)
}
