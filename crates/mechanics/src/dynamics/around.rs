//! A machine of one freedom run in time, place by place of its drive.
//!
//! The kinetic energy is carried from place to place of the drive by the work between them, `dE/dφ = Q`, implicitly by the trapezoidal rule: no
//! stiffness of a motor's line makes it unstable (the rule is A-stable), rest is no singular place, and the inertia of the machine is taken as it
//! is at each place. Between two places the drive changes its speed evenly in time.
//!
//! Units: N·mm of energy, kg·mm² (or kg) of inertia, rad/s (or mm/s), s.

use super::{NEWTON, Reduced};

/// What acts on the drive, all of it N·mm (or N), positive with the motion.
pub trait Acts {
    /// What drives and what loads it without friction and without inertia, at a place and a speed.
    fn drives(&mut self, place: usize, speed: f64) -> f64;
    /// What friction takes there, at a speed and an acceleration; none where it jams.
    fn rubs(&mut self, place: usize, speed: f64, acceleration: f64) -> Option<f64>;
}

/// A moment of the run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passed {
    /// Places passed since the start; the place is this, counted round.
    pub count: usize,
    /// s.
    pub time: f64,
    /// rad/s or mm/s.
    pub speed: f64,
    /// Rate of the speed.
    pub acceleration: f64,
    /// Kinetic energy, N·mm.
    pub energy: f64,
    /// What friction takes, N·mm or N.
    pub rubbed: f64,
}

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// Whoever watched said so.
    Told,
    /// It came to rest this share of a step beyond the last place, this long after it.
    Stands {
        /// Share of the step.
        share: f64,
        /// s.
        after: f64,
    },
    /// It jams at the next place.
    Jams,
    /// Nothing has mass in the way of the drive at the next place.
    Massless,
}

/// Rounds of friction and energy at a place.
const ROUNDS: usize = 12;
/// Rounds of the energy under a given friction.
const SOLVES: usize = 60;
/// Friction that changes less than this share of what acts is settled.
const SETTLED: f64 = 1e-9;

/// Runs from a place with a speed, over equal steps of the drive. `felt` is the inertia at each place; a round drive goes on from the last to the
/// first. `watch` sees every place and ends the run by `false`.
pub fn around(
    felt: &[Reduced],
    step: f64,
    start: usize,
    speed: f64,
    acts: &mut dyn Acts,
    mut watch: impl FnMut(&Passed) -> bool,
) -> End {
    let at = |i: usize| felt[i % felt.len().max(1)];
    if felt.is_empty() || at(start).inertia <= 0.0 {
        return End::Massless;
    }
    let energy = 0.5 * NEWTON * at(start).inertia * speed * speed;
    let mut now = Passed {
        count: start,
        time: 0.0,
        speed,
        acceleration: 0.0,
        energy,
        rubbed: 0.0,
    };
    let Some(mut net) = settle(&mut now, at(start), start % felt.len(), acts, |_| energy) else {
        return End::Jams;
    };
    if !watch(&now) {
        return End::Told;
    }
    loop {
        let count = now.count + 1;
        let (place, here) = (count % felt.len(), at(count));
        if here.inertia <= 0.0 {
            return End::Massless;
        }
        let (energy, before) = (now.energy, net);
        let mut next = Passed { count, ..now };
        // Energy here as a function of what acts here.
        let gained = |acting: f64| energy + 0.5 * step * (before + acting);
        let Some(after) = settle(&mut next, here, place, acts, gained) else {
            return End::Jams;
        };
        if next.energy <= 0.0 {
            // As far as the energy lasts against the mean of what acts, slowing evenly.
            let mean = -0.5 * (before + after);
            let share = if mean > 0.0 {
                (energy / (mean * step)).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let after = if now.speed > 0.0 {
                2.0 * share * step / now.speed
            } else {
                0.0
            };
            return End::Stands { share, after };
        }
        next.time = now.time + 2.0 * step / (now.speed + next.speed);
        (now, net) = (next, after);
        if !watch(&now) {
            return End::Told;
        }
    }
}

/// Finds energy, speed, acceleration and friction of a place that agree with one another; returns what acts there. The energy comes out
/// zero where no speed agrees: it does not get there. None where it jams.
fn settle(
    here: &mut Passed,
    felt: Reduced,
    place: usize,
    acts: &mut dyn Acts,
    gained: impl Fn(f64) -> f64,
) -> Option<f64> {
    let speed_of = |energy: f64| (2.0 * energy.max(0.0) / (NEWTON * felt.inertia)).sqrt();
    let mut acting = 0.0;
    for round in 0..ROUNDS {
        let rubbed = here.rubbed;
        // f(E) = E − gained(drives(E) − rubbed) rises where what drives does not grow much with the speed.
        let mut wants = |energy: f64| {
            acting = acts.drives(place, speed_of(energy)) - rubbed;
            gained(acting)
        };
        here.energy = solve(here.energy, &mut wants);
        here.speed = speed_of(here.energy);
        here.acceleration =
            (acting / NEWTON - 0.5 * felt.slope * here.speed * here.speed) / felt.inertia;
        let rubs = acts.rubs(place, here.speed, here.acceleration)?;
        here.rubbed = rubs;
        let size = acting.abs().max(rubs.abs()).max(f64::MIN_POSITIVE);
        let moved = rubs - rubbed;
        acting -= moved;
        if moved.abs() <= SETTLED * size && round > 0 {
            break;
        }
    }
    Some(acting)
}

/// The energy from zero on that is what it asks for: by false position with halving (Illinois) between ends that enclose it.
fn solve(guess: f64, wants: &mut dyn FnMut(f64) -> f64) -> f64 {
    let mut miss = |energy: f64| energy - wants(energy);
    let low = miss(0.0);
    if low >= 0.0 {
        return 0.0;
    }
    let (mut a, mut fa) = (0.0, low);
    let mut b = guess.max(-low).max(f64::MIN_POSITIVE);
    let mut fb = miss(b);
    for _ in 0..SOLVES {
        if fb >= 0.0 {
            break;
        }
        (a, fa) = (b, fb);
        b *= 4.0;
        fb = miss(b);
    }
    let mut side = 0;
    for _ in 0..SOLVES {
        if fb == 0.0 || (b - a) <= 1e-13 * b {
            break;
        }
        let c = ((a * fb - b * fa) / (fb - fa)).clamp(a, b);
        let fc = miss(c);
        if fc == 0.0 {
            return c;
        }
        if fc < 0.0 {
            (a, fa) = (c, fc);
            if side == -1 {
                fb *= 0.5;
            }
            side = -1;
        } else {
            (b, fb) = (c, fc);
            if side == 1 {
                fa *= 0.5;
            }
            side = 1;
        }
        if fc.abs() <= 1e-13 * (c.abs() + fc.abs()) {
            break;
        }
    }
    let end = if fa.abs() < fb.abs() { a } else { b };
    // The last question leaves what acts at the answer.
    miss(end);
    end
}
