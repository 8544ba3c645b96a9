//! Flywheels: how much energy a turn stores and gives back, what inertia keeps its speed as even as wanted, and how large a disc that is.
//!
//! Moments in N·mm over equal steps of one turn, the first place not repeated at the end; inertia in kg·mm², speeds in rad/s.
//!
//! Source of the method: energies above and below the mean turning moment, coefficient of fluctuation `(ω₂ − ω₁)/ω` (Shigley, Mechanical
//! Engineering Design, chapter on clutches, brakes and flywheels; Khurmi and Gupta, Theory of Machines, chapter on turning moment diagrams).
//! Where the machine's own inertia varies over the turn, the speed comes from its energy at each place and not from a mean inertia.

use std::f64::consts::{PI, TAU};

/// N·mm of kinetic energy for one kg·mm²/s².
const NEWTON: f64 = 1e-3;

/// Integral over one turn of a periodic function at equal steps, from the first place to each; one entry more than places, the last is the
/// whole turn. Fourth order (a cubic through four neighbours).
pub fn gathered(values: &[f64]) -> Vec<f64> {
    let n = values.len();
    let step = TAU / n.max(1) as f64;
    let at = |i: usize| values[i % n];
    let mut sum = 0.0;
    let mut all = Vec::with_capacity(n + 1);
    all.push(0.0);
    for i in 0..n {
        sum += step / 24.0 * (13.0 * (at(i) + at(i + 1)) - at(i + n - 1) - at(i + 2));
        all.push(sum);
    }
    all
}

/// Mean of a moment over the turn.
pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// Energy that must be stored while a steady drive gives the mean of this resisting moment: greatest less least of the gathered
/// surplus, N·mm.
pub fn fluctuation(resisting: &[f64]) -> f64 {
    let mean = mean(resisting);
    let surplus: Vec<f64> = resisting.iter().map(|m| mean - m).collect();
    let gathered = gathered(&surplus);
    let (low, high) = ends(&gathered);
    high - low
}

/// Inertia that keeps the unevenness to this, kg·mm², where the inertia does not vary: `ΔE / (δ ω²)`.
pub fn needed(energy: f64, unevenness: f64, speed: f64) -> f64 {
    energy / (NEWTON * unevenness * speed * speed)
}

fn ends(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| {
            (l.min(v), h.max(v))
        })
}

/// Speeds over the turn of a machine whose steady drive gives the mean of a resisting moment (without that of its own inertia) and whose inertia
/// reduced to the crank is known at each place, so that half the sum of the greatest and the least is the mean speed asked for. None where
/// the energy does not last round: the machine would stop on the way.
pub fn speeds(resisting: &[f64], inertia: &[f64], speed: f64) -> Option<Vec<f64>> {
    let n = resisting.len().min(inertia.len());
    if n == 0 || inertia.iter().any(|i| *i <= 0.0) || speed <= 0.0 {
        return None;
    }
    let mean = mean(resisting);
    let surplus: Vec<f64> = resisting.iter().map(|m| mean - m).collect();
    let gathered = gathered(&surplus);
    let least = ends(&gathered).0;
    let at = |start: f64| -> Vec<f64> {
        (0..n)
            .map(|i| (2.0 * (start + gathered[i]).max(0.0) / (NEWTON * inertia[i])).sqrt())
            .collect()
    };
    let middle = |start: f64| {
        let (low, high) = ends(&at(start));
        0.5 * (low + high)
    };
    // The middle speed rises with the energy at the start.
    let (mut low, mut high) = (-least, -least + 1.0);
    if middle(low) > speed {
        return None;
    }
    for _ in 0..200 {
        if middle(high) >= speed {
            break;
        }
        high = 2.0 * high - low;
    }
    for _ in 0..200 {
        let half = 0.5 * (low + high);
        if middle(half) < speed {
            low = half;
        } else {
            high = half;
        }
    }
    Some(at(0.5 * (low + high)))
}

/// Greatest less least speed over the mean of both. None where the machine would stop on the way.
pub fn unevenness(resisting: &[f64], inertia: &[f64], speed: f64) -> Option<f64> {
    let (low, high) = ends(&speeds(resisting, inertia, speed)?);
    Some((high - low) / speed)
}

/// Inertia to be added so that the unevenness is this, kg·mm²; nothing where it is as even without. None where no finite inertia does it.
pub fn added(resisting: &[f64], inertia: &[f64], speed: f64, wanted: f64) -> Option<f64> {
    let with = |more: f64| {
        let all: Vec<f64> = inertia.iter().map(|i| i + more).collect();
        unevenness(resisting, &all, speed).unwrap_or(f64::INFINITY)
    };
    if wanted <= 0.0 {
        return None;
    }
    if with(0.0) <= wanted {
        return Some(0.0);
    }
    let mut high = needed(fluctuation(resisting), wanted, speed).max(1e-6);
    for _ in 0..100 {
        if with(high) <= wanted {
            break;
        }
        high *= 2.0;
    }
    if with(high) > wanted {
        return None;
    }
    let mut low = 0.0;
    for _ in 0..100 {
        let half = 0.5 * (low + high);
        if with(half) > wanted {
            low = half;
        } else {
            high = half;
        }
    }
    Some(high)
}

/// Diameter of a solid disc of this inertia (kg·mm²), thickness (mm) and density (kg/mm³): `I = π ρ t D⁴ / 32`.
pub fn disc(inertia: f64, thickness: f64, density: f64) -> f64 {
    (32.0 * inertia / (PI * density * thickness)).powf(0.25)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turn(f: impl Fn(f64) -> f64) -> Vec<f64> {
        (0..360).map(|i| f(f64::from(i).to_radians())).collect()
    }

    /// Khurmi and Gupta, Theory of Machines, chapter 16: an engine gives 20 000 + 9500 sin 2θ − 5700 cos 2θ N·m at 180 turns a minute against
    /// a steady load; one per cent in all: 11 078 N·m are stored, 3121 kg·m² (from memory; the energy is also √(9500² + 5700²) by hand).
    #[test]
    fn an_engine_with_a_turning_moment_of_twice_the_speed() {
        let moment = turn(|t| 1e3 * (2e4 + 9500.0 * (2.0 * t).sin() - 5700.0 * (2.0 * t).cos()));
        let energy = fluctuation(&moment);
        assert!(
            (energy / 1e3 - 9500.0_f64.hypot(5700.0)).abs() < 2.0,
            "{energy}"
        );
        let speed = 180.0 * TAU / 60.0;
        let inertia = needed(energy, 0.01, speed);
        assert!((inertia / 1e6 - 3121.0).abs() < 5.0, "{inertia}");
        assert!((mean(&moment) / 1e3 - 20_000.0).abs() < 1e-6);
        // Nothing else turns: what has to be added is that inertia, to the second order in the unevenness.
        let nothing = vec![1e-3; 360];
        let more = added(&moment, &nothing, speed, 0.01).unwrap_or(0.0);
        assert!((more / inertia - 1.0).abs() < 1e-4, "{more} {inertia}");
    }

    /// Khurmi and Gupta, Theory of Machines, example 16.3: 300 kW at 90 turns a minute, a tenth of the work of a turn fluctuates, half a
    /// per cent either way, radius of gyration 2 m: 5630 kg (looked up in a public solution of the book's examples).
    #[test]
    fn a_steam_engine_of_three_hundred_kilowatts() {
        let work = 300e3 * 60.0 / 90.0 * 1e3;
        let inertia = needed(0.1 * work, 0.01, 90.0 * TAU / 60.0);
        assert!((inertia / 4e6 - 5630.0).abs() < 5.0, "{inertia}");
    }

    #[test]
    fn a_machine_whose_inertia_varies_keeps_its_energy() {
        // No moment at all: ½ I ω² is the same everywhere.
        let inertia = turn(|t| 5e5 + 2e5 * t.cos());
        let found = speeds(&vec![0.0; 360], &inertia, 10.0).unwrap_or_default();
        let energy = |i: usize| inertia[i] * found[i] * found[i];
        assert!((energy(0) / energy(180) - 1.0).abs() < 1e-9);
        let uneven = ((7.0_f64 / 3.0).sqrt() - 1.0) / ((7.0_f64 / 3.0).sqrt() + 1.0) * 2.0;
        let told = unevenness(&vec![0.0; 360], &inertia, 10.0).unwrap_or(0.0);
        assert!((told - uneven).abs() < 1e-9, "{told} {uneven}");
        // A great fly-wheel takes all of it away.
        let more = added(&vec![0.0; 360], &inertia, 10.0, 0.01).unwrap_or(0.0);
        let heavy: Vec<f64> = inertia.iter().map(|i| i + more).collect();
        let left = unevenness(&vec![0.0; 360], &heavy, 10.0).unwrap_or(1.0);
        assert!((left - 0.01).abs() < 1e-9, "{left}");
    }

    #[test]
    fn too_slow_a_machine_stops() {
        let moment = turn(|t| 1e4 * (1.0 + t.sin()));
        assert!(speeds(&moment, &vec![1e3; 360], 1.0).is_none());
        assert!(added(&moment, &vec![1e3; 360], 1.0, 0.1).is_some_and(|a| a > 0.0));
        assert!(added(&moment, &vec![1e3; 360], 1.0, 0.0).is_none());
        assert!(speeds(&[], &[], 1.0).is_none());
    }

    /// 300 mm by 20 mm of steel: π/32 × 7.85e-6 × 20 × 300⁴ = 124 850 kg·mm².
    #[test]
    fn a_disc() {
        assert!((disc(124_850.0, 20.0, 7.85e-6) - 300.0).abs() < 0.1);
    }
}
