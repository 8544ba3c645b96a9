//! Choosing extension and torsion springs from preferred sizes.

use super::choose::Outsides;
use super::extension::Extension;
use super::torsion::Torsion;
use super::wire::Wire;
use super::{GOOD_INDEX, index};
use crate::ElementError;
use crate::error::{less_than, not_negative, positive, within};
use std::f64::consts::PI;

/// Coils of a torsion spring, at least: with fewer, legs and ends rule (common practice).
const LEAST_COILS: f64 = 3.0;

/// What an extension spring must do, N and mm, lengths inside its hooks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pull {
    /// Pull at the shorter length.
    pub first_force: f64,
    /// The shorter length.
    pub first_length: f64,
    /// Pull at the longer length.
    pub second_force: f64,
    /// The longer length, to which it is drawn.
    pub second_length: f64,
    /// How far the first pull may be off, as a share of it (of a tenth of the second at least).
    pub force_tolerance: f64,
    /// Greatest outside diameter.
    pub outside: f64,
    /// Least factor of every stress at the longer length.
    pub factor: f64,
    /// Coil diameters that are tried.
    pub coils: Outsides,
}

/// A spring that does it, with the least factor of its stresses and its weight of wire, kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Picked<S> {
    /// The spring.
    pub spring: S,
    /// Free length inside the hooks (extension), or of the body (torsion), mm.
    pub free: f64,
    /// Least factor of its stresses.
    pub factor: f64,
    /// kg.
    pub mass: f64,
}

/// Extension springs with full loops of the wire sizes given, mm, coils in quarter turns, least wire first. The initial tension
/// stays within what can be wound with certainty, or below it.
///
/// # Errors
/// Pulls or lengths that do not rise together, sizes that are not positive.
pub fn extension(
    wanted: &Pull,
    material: &'static Wire,
    sizes: &[f64],
) -> Result<Vec<Picked<Extension>>, ElementError> {
    not_negative("pull at the shorter length", "N", wanted.first_force)?;
    positive("pull at the longer length", "N", wanted.second_force)?;
    less_than(
        "pull at the shorter length",
        "N",
        wanted.first_force,
        "pull at the longer length",
        wanted.second_force,
    )?;
    positive("shorter length", "mm", wanted.first_length)?;
    less_than(
        "shorter length",
        "mm",
        wanted.first_length,
        "longer length",
        wanted.second_length,
    )?;
    positive("longer length", "mm", wanted.second_length)?;
    within("outside", "mm", wanted.outside, 1.0, 400.0)?;
    not_negative("factor", "", wanted.factor)?;
    let rate =
        (wanted.second_force - wanted.first_force) / (wanted.second_length - wanted.first_length);
    let one = |wire: f64, mean: f64| -> Option<Picked<Extension>> {
        let (e, g) = material.moduli(wire);
        let active = g * wire.powi(4) / (8.0 * mean.powi(3) * rate);
        let coils = ((active - g / e) * 4.0).round() / 4.0;
        if !(2.0..=400.0).contains(&coils) {
            return None;
        }
        let mut spring = Extension {
            wire,
            mean,
            body_coils: coils,
            initial: 0.0,
            hook: mean / 2.0,
            bend: mean / 4.0,
            material,
        };
        let figures = spring.figures().ok()?;
        if figures.free > wanted.first_length {
            return None;
        }
        spring.initial = wanted.second_force - figures.rate * (wanted.second_length - figures.free);
        let first = spring.initial + figures.rate * (wanted.first_length - figures.free);
        let off = wanted.force_tolerance * wanted.first_force.max(0.1 * wanted.second_force);
        if !(0.0..=figures.initial_preferred.1).contains(&spring.initial)
            || (first - wanted.first_force).abs() > off
        {
            return None;
        }
        let at = spring.at(wanted.second_force).ok()?;
        let factor = at
            .checks
            .iter()
            .fold(f64::INFINITY, |m, c| m.min(c.factor()));
        (factor >= wanted.factor).then(|| Picked {
            spring,
            free: figures.free,
            factor,
            mass: material.density * PI / 4.0 * wire * wire * PI * mean * (coils + 2.0),
        })
    };
    Ok(sorted(each(
        wanted.outside,
        wanted.coils,
        GOOD_INDEX,
        material,
        sizes,
        one,
    )))
}

/// Spring index that a torsion spring winds and works well with: it is bent, not twisted, and may be wider than others (common
/// practice).
pub const WIDE_INDEX: (f64, f64) = (4.0, 16.0);

/// What a torsion spring must do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Greatest moment, N·mm.
    pub moment: f64,
    /// N·mm/rad.
    pub rate: f64,
    /// How far the rate may be off, as a share.
    pub rate_tolerance: f64,
    /// Diameter of the arbor, zero for none.
    pub arbor: f64,
    /// Greatest outside diameter.
    pub outside: f64,
    /// The two legs to where they are loaded.
    pub legs: (f64, f64),
    /// Least factor of the stress.
    pub factor: f64,
    /// Coil diameters that are tried.
    pub coils: Outsides,
}

/// Torsion springs of the wire sizes given, mm, coils in quarter turns, least wire first. Wound up they keep a tenth of the
/// arbor's diameter of room over it (common practice).
///
/// # Errors
/// Sizes, a moment or a rate that are not positive.
pub fn torsion(
    wanted: &Turn,
    material: &'static Wire,
    sizes: &[f64],
) -> Result<Vec<Picked<Torsion>>, ElementError> {
    positive("moment", "N·mm", wanted.moment)?;
    positive("rate", "N·mm/rad", wanted.rate)?;
    not_negative("arbor", "mm", wanted.arbor)?;
    within("outside", "mm", wanted.outside, 1.0, 400.0)?;
    not_negative("factor", "", wanted.factor)?;
    let legs =
        not_negative("leg", "mm", wanted.legs.0)? + not_negative("leg", "mm", wanted.legs.1)?;
    let one = |wire: f64, mean: f64| -> Option<Picked<Torsion>> {
        let (e, _) = material.moduli(wire);
        let active = wire.powi(4) * e / (10.8 * 2.0 * PI * mean * wanted.rate);
        let coils = ((active - legs / (3.0 * PI * mean)) * 4.0).round() / 4.0;
        if !(LEAST_COILS..=200.0).contains(&coils) {
            return None;
        }
        let spring = Torsion {
            wire,
            mean,
            body_coils: coils,
            legs: wanted.legs,
            material,
        };
        let figures = spring.figures().ok()?;
        let at = spring.at(wanted.moment, wanted.arbor).ok()?;
        let fits = (figures.rate / wanted.rate - 1.0).abs() <= wanted.rate_tolerance
            && at.over_arbor >= 0.1 * wanted.arbor;
        (fits && at.check.passes(wanted.factor)).then(|| Picked {
            spring,
            free: figures.body,
            factor: at.check.factor(),
            mass: material.density * PI / 4.0 * wire * wire * (PI * mean * coils + legs),
        })
    };
    Ok(sorted(each(
        wanted.outside,
        wanted.coils,
        WIDE_INDEX,
        material,
        sizes,
        one,
    )))
}

fn each<S>(
    outside: f64,
    coils: Outsides,
    good: (f64, f64),
    material: &'static Wire,
    sizes: &[f64],
    one: impl Fn(f64, f64) -> Option<Picked<S>>,
) -> Vec<Picked<S>> {
    let wires = sizes
        .iter()
        .copied()
        .filter(|w| *w > 0.0 && (material.smallest..=material.largest()).contains(w));
    wires
        .flat_map(|wire| {
            coils
                .below(outside * (1.0 + 1e-9))
                .map(move |o| (wire, o - wire))
        })
        .filter(|(wire, mean)| index(*wire, *mean).is_ok_and(|c| (good.0..=good.1).contains(&c)))
        .filter_map(|(wire, mean)| one(wire, mean))
        .collect()
}

fn sorted<S>(mut all: Vec<Picked<S>>) -> Vec<Picked<S>> {
    all.sort_by(|a, b| {
        a.mass
            .total_cmp(&b.mass)
            .then(b.factor.total_cmp(&a.factor))
    });
    all
}

#[cfg(test)]
mod tests {
    use super::super::wire::{self, INCH_SIZES, METRIC_SIZES};
    use super::*;

    fn pull() -> Pull {
        Pull {
            first_force: 15.0,
            first_length: 60.0,
            second_force: 45.0,
            second_length: 90.0,
            force_tolerance: 0.1,
            outside: 14.0,
            factor: 1.0,
            coils: Outsides::Metric,
        }
    }

    #[test]
    fn every_extension_spring_does_what_was_asked() {
        let w = pull();
        let all = extension(&w, wire::find("EN 10270-1 SM").unwrap(), &METRIC_SIZES).unwrap();
        assert!(!all.is_empty());
        for p in &all {
            let f = p.spring.figures().unwrap();
            let at = |length: f64| p.spring.initial + f.rate * (length - f.free);
            assert!((at(90.0) - 45.0).abs() < 1e-9 && (at(60.0) - 15.0).abs() <= 1.5 + 1e-9);
            assert!(
                f.free <= 60.0 && p.spring.mean + p.spring.wire <= 14.0 + 1e-9 && p.factor >= 1.0
            );
        }
        assert!(all.windows(2).all(|w| w[0].mass <= w[1].mass));
    }

    #[test]
    fn every_torsion_spring_does_what_was_asked() {
        let w = Turn {
            moment: 900.0,
            rate: 500.0,
            rate_tolerance: 0.08,
            arbor: 10.0,
            outside: 24.0,
            legs: (20.0, 20.0),
            factor: 1.0,
            coils: Outsides::Inch,
        };
        let inches: Vec<f64> = INCH_SIZES.iter().map(|d| d * 25.4).collect();
        let all = torsion(&w, wire::find("A228 Shigley").unwrap(), &inches).unwrap();
        assert!(!all.is_empty());
        for p in &all {
            let at = p.spring.at(900.0, 10.0).unwrap();
            assert!(at.over_arbor >= 1.0 && at.check.factor() >= 1.0);
            assert!((p.spring.figures().unwrap().rate / 500.0 - 1.0).abs() <= 0.08);
        }
        // Twice the moment at the same rate never takes less wire.
        let twice = torsion(
            &Turn {
                moment: 1800.0,
                ..w
            },
            wire::find("A228 Shigley").unwrap(),
            &inches,
        )
        .unwrap();
        assert!(twice.first().is_none_or(|p| p.mass >= all[0].mass));
    }

    #[test]
    fn refuses_contradictions() {
        let sm = wire::find("EN 10270-1 SM").unwrap();
        let refused = |w: Pull| extension(&w, sm, &METRIC_SIZES).is_err();
        assert!(refused(Pull {
            second_force: 10.0,
            ..pull()
        }));
        assert!(refused(Pull {
            second_length: 50.0,
            ..pull()
        }));
        assert!(refused(Pull {
            outside: f64::NAN,
            ..pull()
        }));
        assert!(
            extension(
                &Pull {
                    outside: 2.0,
                    ..pull()
                },
                sm,
                &METRIC_SIZES
            )
            .unwrap()
            .is_empty()
        );
    }
}
