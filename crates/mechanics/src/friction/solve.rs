//! Reactions and friction that agree.
//!
//! Friction at every place is its coefficient times what presses there, and what presses follows from all frictions: as many equations as
//! places, solved by Newton's method. Where friction feeds on itself strongly there may be more than one answer, or none. The one that is
//! meant is reached by letting friction grow from nothing; where it grows beyond all bounds on the way, the machine jams.

use super::place::Place;
use super::{Rubbed, RubbedBalance, Sliding, Stuck, add, largest};
use crate::statics::Reactions;
use nalgebra::{DMatrix, DVector};

/// Rounds of Newton's method, and halvings of a step that does not come closer.
const ROUNDS: usize = 40;
const HALVINGS: usize = 6;
/// Frictions agree to this share of the greatest.
const AGREED: f64 = 1e-13;
/// Rounding may leave this much even when nothing comes closer any more.
const CLOSE: f64 = 1e-10;
/// Frictions that feed on one another by less than this share have one answer only.
const TAME: f64 = 0.95;
/// Rounds in which that share is found.
const POWERS: usize = 24;
/// Friction grows from nothing by this share at a time, and by no less than that.
const GROWS: f64 = 0.125;
const LEAST: f64 = 1e-5;

/// One way of moving: everything that stays the same while friction and reactions are brought together.
struct Motion<'s> {
    sliding: &'s Sliding,
    free: &'s [f64],
    coefficients: Vec<f64>,
    /// Places that rub at all: the unknowns. At all others friction stays nothing.
    active: Vec<usize>,
    sense: f64,
    /// Greatest free reaction: what a friction is measured by.
    size: f64,
}

/// Frictions, and what follows from them.
#[derive(Clone)]
struct Agreed {
    friction: Vec<f64>,
    rows: Vec<f64>,
    across: Vec<[f64; 3]>,
    /// Side of a slot, and rate of slip, of each place.
    sides: Vec<f64>,
    slips: Vec<f64>,
    rounds: usize,
}

impl Sliding {
    /// Balances with friction: `free` are the reactions without friction as [`Sliding::free`] gives them, `mu` one coefficient a
    /// place, `sense` −1 for the motion run backwards.
    ///
    /// # Errors
    /// [`Stuck`].
    pub fn balance(
        &self,
        free: &Reactions,
        mu: &[f64],
        sense: f64,
    ) -> Result<RubbedBalance, Stuck> {
        let coefficients = self.places.iter().zip(mu).map(|(place, &mu)| {
            let place = place.as_ref();
            place.map_or(0.0, |p| p.press.coefficient(mu))
        });
        let coefficients: Vec<f64> = coefficients.collect();
        let rubs = |i: &usize| {
            coefficients[*i] != 0.0 && self.places[*i].as_ref().is_some_and(Place::moves)
        };
        let active = (0..coefficients.len()).filter(rubs).collect();
        let motion = Motion {
            sliding: self,
            free: &free.rows,
            coefficients,
            active,
            sense,
            size: largest(&free.rows),
        };
        let start = motion.start();
        let direct = motion
            .agree(&start, 1.0)
            .filter(|found| motion.feedback(found, 1.0) < TAME);
        let found = match direct {
            Some(found) => found,
            None => motion.grow(start)?,
        };
        let mut reactions = free.clone();
        let places = found.slips.iter().zip(&found.friction);
        let places = places.map(|(&slip, &friction)| Rubbed { slip, friction });
        let places = places.collect();
        reactions.rows = found.rows;
        Ok(RubbedBalance {
            reactions,
            places,
            rounds: found.rounds,
        })
    }
}

impl Motion<'_> {
    fn start(&self) -> Agreed {
        let count = self.sliding.places.len();
        let mut start = Agreed {
            friction: vec![0.0; count],
            rows: self.free.to_vec(),
            across: vec![[0.0; 3]; self.sliding.rods],
            sides: vec![0.0; count],
            slips: vec![0.0; count],
            rounds: 0,
        };
        self.follow(&mut start);
        start
    }

    /// Sides and slips by the reactions as they are, then reactions by the frictions.
    fn follow(&self, agreed: &mut Agreed) {
        let places = self.sliding.places.iter().enumerate();
        let places = places.filter_map(|(i, p)| Some((i, p.as_ref()?)));
        for (i, place) in places.clone() {
            let side = place.press.side(&agreed.rows);
            let turn = place.turn.as_ref().map_or(0.0, |t| t.rate);
            agreed.sides[i] = side;
            agreed.slips[i] = self.sense * (place.slip.rate + side * turn);
        }
        agreed.rows.copy_from_slice(self.free);
        agreed.across.fill([0.0; 3]);
        for (i, place) in places {
            let slip = agreed.slips[i];
            if slip == 0.0 || agreed.friction[i] == 0.0 {
                continue;
            }
            let f = agreed.friction[i] * slip.signum();
            add(&mut agreed.rows, f, &place.slip.response);
            if let Some(turn) = &place.turn {
                add(&mut agreed.rows, f * agreed.sides[i], &turn.response);
            }
            if let Some(rod) = place.press.rod() {
                let sum = agreed.across[rod].iter_mut();
                sum.zip(place.across).for_each(|(s, u)| *s += f * u);
            }
        }
    }

    /// How far each active friction is from what its place is pressed with, `share` of all coefficients acting.
    fn off(&self, agreed: &Agreed, share: f64) -> DVector<f64> {
        let one = |i: usize| match &self.sliding.places[i] {
            Some(place) if agreed.slips[i] != 0.0 => {
                let pressed = place.press.size(&agreed.rows, &agreed.across);
                agreed.friction[i] - share * self.coefficients[i] * pressed
            }
            _ => agreed.friction[i],
        };
        DVector::from_fn(self.active.len(), |k, _| one(self.active[k]))
    }

    /// How fast the friction of one place grows with that of another.
    fn gain(&self, agreed: &Agreed, share: f64, [one, other]: [usize; 2]) -> f64 {
        let places = &self.sliding.places;
        let (Some(p), Some(q)) = (&places[one], &places[other]) else {
            return 0.0;
        };
        let (slip, side) = (agreed.slips[other], agreed.sides[other]);
        if slip == 0.0 || agreed.slips[one] == 0.0 {
            return 0.0;
        }
        let way = slip.signum();
        let by = |row: usize| {
            let turned = q.turn.as_ref().map_or(0.0, |t| side * t.response[row]);
            way * (q.slip.response[row] + turned)
        };
        let same_rod = p.press.rod().is_some() && p.press.rod() == q.press.rod();
        let sideways = if same_rod {
            q.across.map(|u| way * u)
        } else {
            [0.0; 3]
        };
        let rate = p.press.rate(&agreed.rows, &agreed.across, by, sideways);
        share * self.coefficients[one] * rate
    }

    /// Gains among the active frictions.
    fn gains(&self, agreed: &Agreed, share: f64) -> DMatrix<f64> {
        let (active, count) = (&self.active, self.active.len());
        DMatrix::from_fn(count, count, |i, j| {
            self.gain(agreed, share, [active[i], active[j]])
        })
    }

    /// How the active frictions' differences change with them.
    fn slopes(&self, agreed: &Agreed, share: f64) -> DMatrix<f64> {
        let mut slopes = -self.gains(agreed, share);
        for i in 0..self.active.len() {
            slopes[(i, i)] += 1.0;
        }
        slopes
    }

    /// Frictions that agree with what they press, from others nearby; none when they do not come together.
    fn agree(&self, from: &Agreed, share: f64) -> Option<Agreed> {
        let mut now = from.clone();
        let mut next = from.clone();
        let mut off = self.off(&now, share);
        // A friction is measured by its own coefficient, so that moments and forces weigh alike.
        let measured = |off: &DVector<f64>| {
            let all = off.iter().zip(&self.active);
            all.fold(0.0, |m: f64, (o, &i)| {
                m.max((o / self.coefficients[i]).abs())
            })
        };
        let mut apart = measured(&off);
        for round in 1..=ROUNDS {
            let scale = self.size.max(largest(&now.rows));
            if apart <= AGREED * scale {
                now.rounds = round;
                return Some(now);
            }
            let mut step = off.clone();
            if !self.slopes(&now, share).lu().solve_mut(&mut step) {
                return None;
            }
            let mut part = 1.0;
            let mut closer = None;
            for _ in 0..=HALVINGS {
                next.friction.copy_from_slice(&now.friction);
                next.rows.copy_from_slice(&now.rows);
                for (&i, s) in self.active.iter().zip(step.iter()) {
                    next.friction[i] -= part * s;
                }
                self.follow(&mut next);
                // The side of a slot may have changed with the reactions: then they are told anew.
                self.follow(&mut next);
                let off = self.off(&next, share);
                let found = measured(&off);
                if found < apart {
                    closer = Some((off, found));
                    break;
                }
                part *= 0.5;
            }
            let Some((next_off, found)) = closer else {
                now.rounds = round;
                return (apart <= CLOSE * scale).then_some(now);
            };
            std::mem::swap(&mut now, &mut next);
            (off, apart) = (next_off, found);
            if !apart.is_finite() {
                return None;
            }
        }
        (apart <= CLOSE * self.size.max(largest(&now.rows))).then_some(now)
    }

    /// How strongly the frictions feed on one another: the greatest factor by which they make each other grow, signs left out (power
    /// method; or a bound of it from above that is already tame: no vector of positive parts grows by less than the least, nor by more
    /// than the most, of its parts' factors). Below one there is one answer, and no jam.
    fn feedback(&self, agreed: &Agreed, share: f64) -> f64 {
        let gains = self.gains(agreed, share).map(f64::abs);
        let mut vector = DVector::from_fn(gains.nrows(), |k, _| self.coefficients[self.active[k]]);
        let mut next = vector.clone();
        let mut grown = 0.0;
        for _ in 0..POWERS {
            next.gemv(1.0, &gains, &vector, 0.0);
            let factors = next.iter().zip(vector.iter());
            let most = factors.fold(
                0.0,
                |m: f64, (n, v)| {
                    if *n == 0.0 { m } else { m.max(n / v) }
                },
            );
            if most < TAME {
                return most;
            }
            let (top, before) = (next.amax(), vector.amax());
            if top == 0.0 || before == 0.0 {
                return 0.0;
            }
            grown = top / before;
            std::mem::swap(&mut vector, &mut next);
            vector /= top;
        }
        grown
    }

    /// Lets friction grow from nothing to what it is.
    fn grow(&self, start: Agreed) -> Result<Agreed, Stuck> {
        let (mut now, mut share, mut step) = (start, 0.0, GROWS);
        let mut rounds = 0;
        while share < 1.0 {
            let next_share = f64::min(share + step, 1.0);
            let next = self.agree(&now, next_share).filter(|next| {
                rounds += next.rounds;
                // Beyond a jam the equations have answers again, which nothing leads to.
                self.slopes(next, next_share).lu().determinant() > 0.0
            });
            match next {
                Some(next) => {
                    now = next;
                    share = next_share;
                    step = f64::min(2.0 * step, GROWS);
                }
                None if step > LEAST => step *= 0.5,
                None => return Err(Stuck::Jams(self.worst(&now))),
            }
        }
        now.rounds = rounds;
        Ok(now)
    }

    /// The place that loses most power.
    fn worst(&self, agreed: &Agreed) -> usize {
        let power = |i: usize| (agreed.slips[i] * agreed.friction[i]).abs();
        (0..agreed.friction.len()).fold(0, |w, i| if power(i) > power(w) { i } else { w })
    }
}
