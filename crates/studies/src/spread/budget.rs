//! Which dimensions to hold and which to let go.

use super::answers::{Advice, Budget, BudgetItem, Share};
use super::vary::Vary;
use crate::answers::Inside;

/// Best that is held when the file does not say, mm.
const CAN_HOLD_MM: f64 = 0.01;
/// The same for angles, rad: five minutes of arc.
const CAN_HOLD_RAD: f64 = 5.0 / 60.0 * std::f64::consts::PI / 180.0;
/// Nothing is let go further than this many times the usual.
const LOOSEST: f64 = 10.0;
/// Steps to which tolerances are rounded down.
const STEPS: [f64; 6] = [1.0, 1.5, 2.0, 3.0, 5.0, 8.0];
/// Another step is advised only beyond this share of the present tolerance.
const SAME: f64 = 0.15;

/// How tolerances are summed up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stack {
    RootSumSquare,
    WorstCase,
}

impl Stack {
    /// The sum of parts, each with its size.
    fn sum(self, parts: &[Part], size: impl Fn(&Part) -> f64) -> f64 {
        let moves = parts.iter().map(|p| p.rate * size(p));
        match self {
            Self::RootSumSquare => moves.map(|m| m * m).sum::<f64>().sqrt(),
            Self::WorstCase => moves.sum(),
        }
    }

    /// Least effort under a fixed sum (Lagrange): t³ in proportion to usual / rate², or t² to usual / rate.
    fn at(self, part: &Part, scale: f64) -> f64 {
        let t = match self {
            Self::RootSumSquare => (part.now / (part.rate * part.rate)).cbrt(),
            Self::WorstCase => (part.now / part.rate).sqrt(),
        };
        (scale * t).clamp(part.best, part.loosest)
    }
}

/// Allocates tolerances so that their sum keeps within `room`.
pub(super) fn allocate(
    stack: Stack,
    shares: &[Share],
    varied: &[Vary],
    room: f64,
    can_hold: Option<f64>,
) -> Budget {
    let parts: Vec<Part> = shares
        .iter()
        .filter_map(|s| {
            let v = varied.get(s.dimension)?;
            let angle = v.told.inside == Inside::Radian;
            let best = if angle {
                CAN_HOLD_RAD
            } else {
                can_hold.unwrap_or(CAN_HOLD_MM)
            }
            .min(v.plus_minus);
            let rate = s.rate.abs();
            (rate > 0.0).then_some(Part {
                dimension: s.dimension,
                rate,
                now: v.plus_minus,
                best,
                loosest: LOOSEST * v.plus_minus,
                angle,
            })
        })
        .collect();
    let sum = |t: &dyn Fn(&Part) -> f64| stack.sum(&parts, t);
    let possible = room > 0.0 && sum(&|p| p.best) <= room;
    let scale = if possible {
        scale(stack, &parts, room)
    } else {
        0.0
    };
    let to = |p: &Part| {
        if possible {
            rounded(stack.at(p, scale), p.angle).clamp(p.best, p.loosest)
        } else {
            p.best
        }
    };
    let items: Vec<BudgetItem> = parts
        .iter()
        .map(|p| {
            let to = to(p);
            let advice = if to < p.now * (1.0 - SAME) {
                Advice::Hold
            } else if to > p.now * (1.0 + SAME) {
                Advice::LetGo
            } else {
                Advice::Keep
            };
            BudgetItem {
                dimension: p.dimension,
                now: p.now,
                to,
                advice,
            }
        })
        .collect();
    let effort = [
        parts.len() as f64,
        parts.iter().map(|p| p.now / to(p)).sum(),
    ];
    Budget {
        possible,
        room,
        reached: sum(&to),
        effort,
        items,
    }
}

struct Part {
    dimension: usize,
    rate: f64,
    now: f64,
    best: f64,
    loosest: f64,
    angle: bool,
}

/// The greatest scale that keeps within the room, by halving.
fn scale(stack: Stack, parts: &[Part], room: f64) -> f64 {
    let within = |s: f64| stack.sum(parts, |p| stack.at(p, s)) <= room;
    let mut high = 1.0;
    for _ in 0..200 {
        if !within(high) || parts.iter().all(|p| stack.at(p, high) >= p.loosest) {
            break;
        }
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if within(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Down to the next preferred step: of a millimetre, or of a degree.
fn rounded(t: f64, angle: bool) -> f64 {
    let unit = if angle {
        std::f64::consts::PI / 180.0
    } else {
        1.0
    };
    let x = t / unit;
    if !(x > 0.0 && x.is_finite()) {
        return t;
    }
    let decade = 10f64.powf(x.log10().floor());
    // A hair of slack keeps a value that is a step already.
    let step = STEPS
        .iter()
        .rev()
        .find(|s| **s * decade <= x * (1.0 + 1e-9))
        .copied()
        .unwrap_or(1.0);
    (step * decade).min(x) * unit
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spread::answers::Varied;

    fn vary(t: f64) -> Vary {
        let told = Varied {
            dimension: String::new(),
            inside: Inside::Millimetre,
            nominal: 0.0,
            plus_minus: t,
            named: false,
        };
        Vary {
            param: 0,
            plus_minus: t,
            told,
        }
    }

    fn share(dimension: usize, rate: f64) -> Share {
        Share {
            dimension,
            rate,
            plus_minus: 0.0,
            share: 0.0,
        }
    }

    #[test]
    fn sensitive_dimensions_are_held_and_idle_ones_let_go() {
        let varied = [vary(0.05), vary(0.05), vary(0.05)];
        let shares = [share(0, 1.0), share(1, -0.5), share(2, 0.01)];
        let b = allocate(Stack::RootSumSquare, &shares, &varied, 0.04, Some(0.01));
        assert!(b.possible && b.reached <= 0.04, "{b:?}");
        assert_eq!(b.items[0].advice, Advice::Hold);
        assert_eq!(b.items[2].advice, Advice::LetGo);
    }

    #[test]
    fn the_allocation_is_the_least_effort() {
        // Without bounds or rounding: no exchange between two dimensions does better.
        let parts: Vec<Part> = [(1.0, 0.05), (0.3, 0.05), (2.0, 0.1)]
            .iter()
            .enumerate()
            .map(|(dimension, &(rate, now))| Part {
                dimension,
                rate,
                now,
                best: 1e-9,
                loosest: 1e9,
                angle: false,
            })
            .collect();
        for stack in [Stack::RootSumSquare, Stack::WorstCase] {
            let s = scale(stack, &parts, 0.1);
            let t: Vec<f64> = parts.iter().map(|p| stack.at(p, s)).collect();
            let effort = |t: &[f64]| parts.iter().zip(t).map(|(p, t)| p.now / t).sum::<f64>();
            let room = |t: &[f64]| stack.sum(&parts, |p| t[p.dimension]);
            assert!((room(&t) - 0.1).abs() < 1e-12);
            for i in 0..3 {
                for k in [0.9, 0.99, 1.01, 1.1] {
                    let mut other = t.clone();
                    other[i] *= k;
                    let back = 0.1 / room(&other);
                    other.iter_mut().for_each(|x| *x *= back);
                    assert!(effort(&other) >= effort(&t) - 1e-12);
                }
            }
        }
    }

    #[test]
    fn what_the_shop_cannot_hold_is_said() {
        let b = allocate(
            Stack::RootSumSquare,
            &[share(0, 1.0)],
            &[vary(0.05)],
            0.005,
            Some(0.01),
        );
        assert!(!b.possible && b.reached > 0.005);
        assert!(
            !allocate(
                Stack::RootSumSquare,
                &[share(0, 1.0)],
                &[vary(0.05)],
                -0.1,
                None
            )
            .possible
        );
    }

    #[test]
    fn steps_are_rounded_down() {
        for (t, want) in [
            (0.0199, 0.015),
            (0.02, 0.02),
            (0.049, 0.03),
            (0.3, 0.3),
            (0.0095, 0.008),
        ] {
            assert!((rounded(t, false) - want).abs() < 1e-12, "{t}");
        }
    }
}
