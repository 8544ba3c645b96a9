//! Shafts that bend away from the tool, and what helps.

use super::bits::Work;
use super::turned::Plan;
use crate::finding::Grade;
use crate::part::{Step as Diameter, Turned};
use crate::turning::{Held, is_cut};

/// Radial force of a light finishing cut with a sharp tool in steel, N (common practice).
const PUSH: f64 = 25.0;

/// What the tool bends a shaft by at a place, mm: between centres F a² b² / (3 E I l); held at one end it is as much stiffer as it is under the
/// middle, 7/768 to 1/48.
fn springs(long: f64, at: f64, second: f64, modulus: f64, chucked: bool) -> f64 {
    let (a, b) = (at, long - at);
    let between = PUSH * a * a * b * b / (3.0 * modulus * second * long);
    if chucked {
        between * 7.0 / 768.0 * 48.0
    } else {
        between
    }
}

/// Steps that a light cut bends away from by more than their fit allows: how much larger each comes out, and what is allowed, mm on diameter.
fn bending<'t>(work: &Work, t: &'t Turned, plan: &Plan) -> Vec<(&'t Diameter, [f64; 2])> {
    let modulus = work.part.material.modulus;
    let long = t.length();
    // One second moment for the whole: each length counts by how much it gives.
    let gives: f64 = t
        .steps
        .iter()
        .map(|s| s.length() / s.diameter.powi(4))
        .sum();
    let second = std::f64::consts::PI / 64.0 * long / gives.max(1e-12);
    let mut all = Vec::new();
    for s in t.steps.iter().filter(|s| is_cut(s, plan.way.bar)) {
        let Some(class) = &s.class else { continue };
        let at = (long / 2.0).clamp(s.from, s.to);
        let bends = 2.0 * springs(long, at, second, modulus, plan.way.held == Held::Chuck);
        let tolerance = class.limits.tolerance();
        if s.throw.is_none() && long >= 8.0 * s.diameter && bends >= tolerance / 2.0 {
            all.push((s, [bends, tolerance]));
        }
    }
    all
}

/// Says the steady at the middle where a shaft bends away from the tool and the lathe has one.
pub(super) fn in_steady(work: &Work, t: &Turned, plan: &Plan) -> &'static str {
    if plan.lathe.is_some_and(|l| l.steady) && !bending(work, t, plan).is_empty() {
        "; for the finishing cuts the steady at the middle, on a band turned first, on either side of it in turn"
    } else {
        ""
    }
}

pub(super) fn slender(work: &mut Work, t: &Turned, plan: &Plan) {
    for (s, [bends, tolerance]) in bending(work, t, plan) {
        let with = if plan.lathe.is_some_and(|l| l.steady) {
            "set the steady at the middle on a turned band, finish on either side of it with the lightest cuts, and measure at the ends and in the middle"
        } else {
            "the lightest cuts with a sharp, narrow-nosed tool, the last two alike, measure at the ends and in the middle, and file and polish what is large; or take ground bar of this size"
        };
        work.finding(
            Grade::WayRound,
            format!(
                "a light cut bends the part, {} long, by so much that ⌀{} comes out {} large there, of {} allowed",
                work.mm(t.length()),
                work.mm(s.diameter),
                work.mm(bends),
                work.mm(tolerance)
            ),
            with,
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_shaft_springs_as_the_beam_formula_says() {
        // Any handbook of beams, load in the middle: F l³ / (48 E I) between two supports, 7 F l³ / (768 E I) with one end fixed. ⌀20, 350
        // long, 25 N: I = 7854 mm⁴, so 13.74 and 6.01 µm by hand.
        let second = std::f64::consts::PI / 64.0 * 20f64.powi(4);
        assert!((springs(350.0, 175.0, second, 207_000.0, false) - 0.013_74).abs() < 2e-5);
        assert!((springs(350.0, 175.0, second, 207_000.0, true) - 0.006_01).abs() < 2e-5);
        // At a quarter of the length 9/16 of that.
        let quarter = springs(350.0, 87.5, second, 207_000.0, false);
        assert!((quarter / 0.013_735 - 0.5625).abs() < 1e-3);
    }
}
