//! Which items to hold and which to let go: an allocation by what each item alone does to each ask.

use super::normal::beyond;
use crate::answers::Inside;
use quantity::Unit;

/// Best that is held when the file does not say, mm.
const CAN_HOLD_MM: f64 = 0.01;
/// The same for angles, rad: a tenth of a degree, what five minutes of arc on a vernier allow.
const CAN_HOLD_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;
/// Nothing is let go further than this many times what it is now.
const LOOSEST: f64 = 10.0;
/// Steps in which tolerances go.
const STEPS: [f64; 6] = [1.0, 1.5, 2.0, 3.0, 5.0, 8.0];

/// Tolerances that an item may be given, from the closest to the loosest; what it is now is one of them.
pub(super) fn choices(now: f64, inside: Inside, length: Unit, can_hold: Option<f64>) -> Vec<f64> {
    let (unit, best) = match inside {
        Inside::Radian => (Unit::Degree, CAN_HOLD_RAD),
        _ => (length, can_hold.unwrap_or(CAN_HOLD_MM)),
    };
    let first = unit.from_inside(best.min(now)).log10().floor() as i32;
    let last = unit.from_inside(LOOSEST * now).log10().floor() as i32;
    let hair = 1.0 + 1e-9;
    let mut all: Vec<f64> = (first..=last)
        .flat_map(|decade| STEPS.map(|s| unit.to_inside(s * 10f64.powi(decade))))
        .chain([best, now])
        .filter(|t| *t * hair >= best.min(now) && *t <= LOOSEST * now * hair)
        .collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| *a <= *b * hair);
    // A step that is what it is now but for rounding is what it is now.
    for t in &mut all {
        if (*t / now - 1.0).abs() < 1e-9 {
            *t = now;
        }
    }
    all
}

/// What an item does to a value.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Effect {
    /// Change of the mean.
    pub(super) shift: f64,
    pub(super) variance: f64,
}

/// An item that is allocated.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Part {
    /// Its tolerances, from the closest to the loosest that it may get.
    pub(super) choices: Vec<f64>,
    pub(super) now: f64,
    /// What it does at each choice, one list an ask.
    pub(super) effects: Vec<Vec<Effect>>,
}

/// What an ask leaves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wish {
    /// From the nominal value down and up to the limits; infinite where there is none.
    pub(super) room: [f64; 2],
    /// Share that may miss it.
    pub(super) miss: f64,
    /// Times that its deviation is taken: more than 1 keeps more to spare.
    pub(super) wider: f64,
}

impl Wish {
    /// Whether a value of this mean shift and variance keeps it, as far as it is normal.
    fn kept(&self, sum: Effect) -> bool {
        let [low, high] = [self.room[0] + sum.shift, self.room[1] - sum.shift];
        if low.min(high) < 0.0 {
            return false;
        }
        let deviation = self.wider * sum.variance.sqrt();
        deviation <= 0.0 || beyond(low / deviation) + beyond(high / deviation) <= self.miss
    }

    /// What is spent of it, as a share of all there is.
    fn spent(&self, sum: Effect) -> f64 {
        let room = self.room[0].min(self.room[1]);
        9.0 * (sum.variance + sum.shift * sum.shift) / (room * room)
    }
}

/// The choice of each part with which all wishes are kept, at little effort: from the closest on, the part is let go next that spares
/// most effort for what it spends. `sums` is what everything else does. None when even the closest keep them not.
pub(super) fn allocate(parts: &[Part], wishes: &[Wish], others: &[Effect]) -> Option<Vec<usize>> {
    let mut at = vec![0; parts.len()];
    let mut sums = others.to_vec();
    for part in parts {
        for (sum, effects) in sums.iter_mut().zip(&part.effects) {
            let first = effects.first().copied().unwrap_or_default();
            sum.shift += first.shift;
            sum.variance += first.variance;
        }
    }
    let keeps = |sums: &[Effect]| wishes.iter().zip(sums).all(|(w, s)| w.kept(*s));
    if !keeps(&sums) {
        return None;
    }
    let with = |sums: &[Effect], part: &Part, from: usize| -> Option<Vec<Effect>> {
        let moved = sums.iter().zip(&part.effects).map(|(sum, effects)| {
            let (a, b) = (effects.get(from)?, effects.get(from + 1)?);
            Some(Effect {
                shift: sum.shift + b.shift - a.shift,
                variance: sum.variance + b.variance - a.variance,
            })
        });
        moved.collect()
    };
    let mut open: Vec<bool> = parts.iter().map(|_| true).collect();
    loop {
        let mut best: Option<(f64, usize, Vec<Effect>)> = None;
        for (i, part) in parts.iter().enumerate() {
            let next = part.choices.get(at[i] + 1).filter(|_| open[i]);
            let Some((next, then)) = next.zip(with(&sums, part, at[i])) else {
                continue;
            };
            if !keeps(&then) {
                // What the others take later leaves no more room for it.
                open[i] = false;
                continue;
            }
            let spared = part.now / part.choices[at[i]] - part.now / next;
            let spent: f64 = wishes
                .iter()
                .zip(sums.iter().zip(&then))
                .map(|(w, (a, b))| (w.spent(*b) - w.spent(*a)).max(0.0))
                .sum();
            let worth = spared / spent.max(1e-12);
            // Of equals the first, whatever rounding says.
            if best.as_ref().is_none_or(|b| worth > b.0 * (1.0 + 1e-6)) {
                best = Some((worth, i, then));
            }
        }
        let Some((_, i, then)) = best else {
            return Some(at);
        };
        at[i] += 1;
        sums = then;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A part of a sum of lengths: its variance is that of its tolerance at three sigma.
    fn part(rates: &[f64], now: f64) -> Part {
        let choices = choices(now, Inside::Millimetre, Unit::Millimetre, Some(0.01));
        let effect = |rate: f64, t: &f64| Effect {
            shift: 0.0,
            variance: (rate * t / 3.0).powi(2),
        };
        let effects = rates
            .iter()
            .map(|r| choices.iter().map(|t| effect(*r, t)).collect());
        Part {
            effects: effects.collect(),
            choices,
            now,
        }
    }

    fn wish(room: f64) -> Wish {
        Wish {
            room: [room, room],
            miss: 0.0027,
            wider: 1.0,
        }
    }

    #[test]
    fn sensitive_items_are_held_and_idle_ones_let_go() {
        let parts = [part(&[1.0], 0.05), part(&[0.5], 0.05), part(&[0.01], 0.05)];
        let at = allocate(&parts, &[wish(0.04)], &[Effect::default()]).unwrap_or_default();
        let t: Vec<f64> = parts.iter().zip(&at).map(|(p, i)| p.choices[*i]).collect();
        assert!(t[0] < 0.05 && t[1] >= t[0] && t[2] > 0.1, "{t:?}");
        let sum = t[0].powi(2) + (0.5 * t[1]).powi(2) + (0.01 * t[2]).powi(2);
        assert!(sum.sqrt() <= 0.04 * 1.0001, "{t:?}");
    }

    /// No other steps within the room need a tenth less effort: all of them are tried.
    #[test]
    fn hardly_any_other_steps_need_less_effort() {
        for (rates, room) in [
            ([1.0, 0.3, 2.0], 0.1),
            ([1.0, 1.0, 1.0], 0.05),
            ([0.2, 0.9, 0.4], 0.03),
            ([5.0, 0.1, 1.0], 0.3),
        ] {
            let parts = rates.map(|r| part(&[r], 0.05));
            let Some(at) = allocate(&parts, &[wish(room)], &[Effect::default()]) else {
                panic!("{rates:?} {room}");
            };
            let effort =
                |at: [usize; 3]| -> f64 { (0..3).map(|i| 0.05 / parts[i].choices[at[i]]).sum() };
            let count = parts[0].choices.len();
            let mut least = f64::INFINITY;
            for a in 0..count {
                for b in 0..count {
                    for c in 0..count {
                        let sum = [a, b, c]
                            .iter()
                            .zip(&parts)
                            .fold(0.0, |sum, (k, p)| sum + p.effects[0][*k].variance);
                        let sum = Effect {
                            shift: 0.0,
                            variance: sum,
                        };
                        if wish(room).kept(sum) {
                            least = least.min(effort([a, b, c]));
                        }
                    }
                }
            }
            let found = effort([at[0], at[1], at[2]]);
            assert!(found <= 1.1 * least, "{rates:?} {room}: {found} {least}");
        }
    }

    #[test]
    fn two_asks_leave_what_the_harder_one_does() {
        let parts = [part(&[1.0, 0.01], 0.05), part(&[0.01, 1.0], 0.05)];
        let wishes = [wish(0.02), wish(1.0)];
        let at = allocate(&parts, &wishes, &[Effect::default(); 2]).unwrap_or_default();
        assert!(parts[0].choices[at[0]] <= 0.02 && parts[1].choices[at[1]] > 0.1);
    }

    #[test]
    fn what_the_shop_cannot_hold_is_refused() {
        let alone = [part(&[1.0], 0.05)];
        assert!(allocate(&alone, &[wish(0.005)], &[Effect::default()]).is_none());
        assert!(allocate(&alone, &[wish(-0.1)], &[Effect::default()]).is_none());
    }

    #[test]
    fn choices_are_what_a_drawing_says() {
        let mm = choices(0.05, Inside::Millimetre, Unit::Millimetre, Some(0.01));
        let want = [
            0.01, 0.015, 0.02, 0.03, 0.05, 0.08, 0.1, 0.15, 0.2, 0.3, 0.5,
        ];
        assert_eq!(mm.len(), want.len(), "{mm:?}");
        for (a, b) in mm.iter().zip(want) {
            assert!((a - b).abs() < 1e-12, "{mm:?}");
        }
        let degrees = choices(
            0.25_f64.to_radians(),
            Inside::Radian,
            Unit::Millimetre,
            Some(0.01),
        );
        let degrees: Vec<f64> = degrees.iter().map(|t| t.to_degrees()).collect();
        assert!((degrees[0] - 0.1).abs() < 1e-9 && degrees.iter().any(|t| (t - 0.25).abs() < 1e-9));
        // Closer than the shop holds already: that is the closest.
        let close = choices(0.004, Inside::Millimetre, Unit::Millimetre, Some(0.01));
        assert_eq!(close[0], 0.004);
        let inches = choices(0.0254, Inside::Millimetre, Unit::Inch, Some(0.0127));
        assert!((inches[1] / 25.4 - 0.0008).abs() < 1e-12, "{inches:?}");
    }
}
