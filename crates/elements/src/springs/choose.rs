//! Choosing a compression spring from preferred sizes for two forces at two lengths in a given bore.

use super::compression::{Compression, Ends, Seats};
use super::wire::Wire;
use super::{GOOD_INDEX, index};
use crate::ElementError;
use crate::error::{less_than, more_than, not_negative, positive, within};

/// What the spring must do, N and mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Force at the longer length.
    pub first_force: f64,
    /// The longer length.
    pub first_length: f64,
    /// Force at the shorter length.
    pub second_force: f64,
    /// The shorter length, to which the spring is worked.
    pub second_length: f64,
    /// How far the first force may be off, as a share; the second is met exactly by the free length.
    pub force_tolerance: f64,
    /// Diameter of the bore.
    pub bore: f64,
    /// The bore is a pocket that guides the coil; else it is only room, and nothing but a rod keeps it from bowing out.
    pub pocket: bool,
    /// Diameter of a rod inside, zero for none.
    pub rod: f64,
    /// Ends.
    pub ends: Ends,
    /// How the ends are held; a spring in a bore or over a rod is guided and may buckle against it.
    pub seats: Seats,
    /// Least factor of the stress at the shorter length.
    pub factor: f64,
    /// Least clash allowance over the working travel.
    pub clash: f64,
    /// The set is taken out.
    pub preset: bool,
    /// Coil diameters that are tried.
    pub coils: Outsides,
}

/// Steps in which coil diameters are tried.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Outsides {
    /// Half millimetres up to 20 mm, then whole ones.
    #[default]
    Metric,
    /// Thirty-seconds of an inch up to 1 in, then sixteenths.
    Inch,
}

/// Why sizes were turned down: how many for each reason, a size counting once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rejected {
    /// The coil does not go into the bore or over the rod.
    pub room: usize,
    /// The spring index is outside 4 to 12.
    pub index: usize,
    /// Fewer than two working coils, or more than a hundred.
    pub coils: usize,
    /// It would go solid before the stroke ends.
    pub solid: usize,
    /// Too much stress.
    pub stress: usize,
    /// The first force is off by more than allowed.
    pub force: usize,
    /// It buckles and nothing guides it.
    pub buckles: usize,
}

impl Rejected {
    /// Why most sizes were turned down, in words; none when none were.
    pub fn mostly(&self) -> Option<&'static str> {
        let all = [
            (self.room, "the coil does not fit the room"),
            (self.index, "the coil is too tight or too wide for its wire"),
            (self.coils, "too few or too many coils"),
            (self.solid, "it goes solid before the stroke ends"),
            (self.stress, "the wire is stressed too high"),
            (self.force, "the force is off"),
            (self.buckles, "it bows out with nothing to guide it"),
        ];
        // Sizes that nobody would wind say nothing of the spring.
        let told = all
            .iter()
            .filter(|(n, why)| *n > 0 && !why.starts_with("the coil is too tight"));
        told.max_by_key(|(n, _)| *n).map(|(_, why)| *why)
    }
}

/// A spring that does it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    /// The spring.
    pub spring: Compression,
    /// Force at the longer length, N.
    pub first_force: f64,
    /// Factor of the stress at the shorter length.
    pub factor: f64,
    /// Factor of the stress when solid: below 1 it sets when pressed shut.
    pub factor_solid: f64,
    /// Weight of wire, kg.
    pub mass: f64,
}

/// All that do it, least wire first, and why the others do not.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chosen {
    /// Springs that do it.
    pub choices: Vec<Choice>,
    /// The rest.
    pub rejected: Rejected,
}

impl Outsides {
    /// Outside diameters below a bore, mm, the smallest first.
    pub(super) fn below(self, bore: f64) -> impl Iterator<Item = f64> {
        let (step, fine, coarse) = match self {
            Self::Metric => (0.5, 40, 400),
            Self::Inch => (25.4 / 32.0, 32, 256),
        };
        let fine = 2..=fine;
        let coarse = (fine.end() / 2 + 1..=coarse / 2).map(|n| 2 * n);
        fine.chain(coarse)
            .map(move |n| f64::from(n) * step)
            .filter(move |outside| *outside < bore)
    }
}

/// Springs of the material's preferred wire sizes (`sizes`, mm) for the wanted forces, with coils in quarter turns.
///
/// # Errors
/// Forces or lengths that do not rise and fall together, sizes that are not positive.
pub fn choose(
    wanted: &Wanted,
    material: &'static Wire,
    sizes: &[f64],
) -> Result<Chosen, ElementError> {
    not_negative("force at the longer length", "N", wanted.first_force)?;
    positive("force at the shorter length", "N", wanted.second_force)?;
    more_than(
        "force at the shorter length",
        "N",
        wanted.second_force,
        "force at the longer length",
        wanted.first_force,
    )?;
    positive("shorter length", "mm", wanted.second_length)?;
    less_than(
        "shorter length",
        "mm",
        wanted.second_length,
        "longer length",
        wanted.first_length,
    )?;
    positive("longer length", "mm", wanted.first_length)?;
    within("bore", "mm", wanted.bore, 1.0, 200.0)?;
    not_negative("rod", "mm", wanted.rod)?;
    less_than("rod", "mm", wanted.rod, "bore", wanted.bore)?;
    within("force tolerance", "", wanted.force_tolerance, 0.0, 1.0)?;
    not_negative("factor", "", wanted.factor)?;
    within("clash allowance", "", wanted.clash, 0.0, 1.0)?;
    for size in sizes {
        positive("wire", "mm", *size)?;
    }
    let mut chosen = Chosen::default();
    for wire in sizes {
        if *wire < material.smallest || *wire > material.largest() {
            continue;
        }
        for outside in wanted.coils.below(wanted.bore) {
            try_one(wanted, material, *wire, outside, &mut chosen);
        }
    }
    chosen.choices.sort_by(|a, b| {
        a.mass
            .total_cmp(&b.mass)
            .then(b.factor.total_cmp(&a.factor))
    });
    Ok(chosen)
}

fn try_one(wanted: &Wanted, material: &'static Wire, wire: f64, outside: f64, chosen: &mut Chosen) {
    let rejected = &mut chosen.rejected;
    let mean = outside - wire;
    let Ok(c) = index(wire, mean) else {
        rejected.index += 1;
        return;
    };
    if !(GOOD_INDEX.0..=GOOD_INDEX.1).contains(&c) {
        rejected.index += 1;
        return;
    }
    let wanted_rate =
        (wanted.second_force - wanted.first_force) / (wanted.first_length - wanted.second_length);
    let (_, g) = material.moduli(wire);
    let active = g * wire.powi(4) / (8.0 * mean.powi(3) * wanted_rate);
    let coils = ((active + wanted.ends.dead_coils()) * 4.0).round() / 4.0;
    let active = coils - wanted.ends.dead_coils();
    if !(2.0..=100.0).contains(&active) {
        rejected.coils += 1;
        return;
    }
    let rate = g * wire.powi(4) / (8.0 * mean.powi(3) * active);
    let spring = Compression {
        wire,
        mean,
        coils,
        free: wanted.second_length + wanted.second_force / rate,
        ends: wanted.ends,
        material,
    };
    let travel = spring.free - wanted.second_length;
    let solid = wire * wanted.ends.solid_coils(coils);
    if wanted.second_length - solid < wanted.clash * travel {
        rejected.solid += 1;
        return;
    }
    let (Ok(figures), Ok(working), Ok(shut)) = (
        spring.figures(),
        spring.at(wanted.second_length, wanted.preset),
        spring.at(solid, wanted.preset),
    ) else {
        rejected.solid += 1;
        return;
    };
    // A twentieth of the wire and a fiftieth of the bore is the least that a coil needs to move freely (common
    // practice).
    let play = 0.05 * wire + 0.02 * wanted.bore;
    if figures.outside_solid + play > wanted.bore
        || (wanted.rod > 0.0 && figures.inside < wanted.rod + play)
    {
        rejected.room += 1;
        return;
    }
    if !working.check.passes(wanted.factor) {
        rejected.stress += 1;
        return;
    }
    let first_force = rate * (spring.free - wanted.first_length);
    if first_force < 0.0
        || (first_force - wanted.first_force).abs()
            > wanted.force_tolerance * wanted.first_force.max(0.1 * wanted.second_force)
    {
        rejected.force += 1;
        return;
    }
    let guided = wanted.rod >= 0.75 * figures.inside
        || (wanted.pocket && wanted.bore <= 1.15 * figures.outside);
    let buckles = spring
        .buckling(wanted.seats)
        .is_ok_and(|b| b.at_travel.is_some_and(|at| at <= travel));
    if buckles && !guided {
        rejected.buckles += 1;
        return;
    }
    chosen.choices.push(Choice {
        spring,
        first_force,
        factor: working.check.factor(),
        factor_solid: shut.check.factor(),
        mass: figures.mass,
    });
}

#[cfg(test)]
mod tests {
    use super::super::wire::{self, METRIC_SIZES};
    use super::*;

    fn wanted() -> Wanted {
        Wanted {
            first_force: 20.0,
            first_length: 40.0,
            second_force: 60.0,
            second_length: 25.0,
            force_tolerance: 0.05,
            bore: 16.0,
            pocket: true,
            rod: 0.0,
            ends: Ends::SquaredGround,
            seats: Seats::BothFixed,
            factor: 1.1,
            clash: 0.1,
            preset: false,
            coils: Outsides::Metric,
        }
    }

    #[test]
    fn every_choice_does_what_was_asked() {
        let w = wanted();
        let chosen = choose(&w, wire::find("A228 Shigley").unwrap(), &METRIC_SIZES).unwrap();
        assert!(!chosen.choices.is_empty(), "{:?}", chosen.rejected);
        assert!(chosen.choices.windows(2).all(|p| p[0].mass <= p[1].mass));
        for c in &chosen.choices {
            let s = c.spring;
            let f = s.figures().unwrap();
            let second = s.at(25.0, false).unwrap();
            assert!((second.force - 60.0).abs() < 1e-6);
            assert!((c.first_force - 20.0).abs() <= 1.0 + 1e-9);
            assert!(f.outside_solid < 16.0 && second.clash >= 0.1 && c.factor >= 1.1);
            assert!(c.factor_solid <= c.factor);
            assert_eq!((s.coils * 4.0).fract(), 0.0);
        }
    }

    /// A slender spring in the open bows out (EN 13906-1, figure of buckling): none is offered that does.
    #[test]
    fn in_the_open_none_bows_out() {
        let slender = Wanted {
            first_length: 100.0,
            second_length: 60.0,
            bore: 12.0,
            pocket: false,
            seats: Seats::BothPivoted,
            ..wanted()
        };
        let sm = wire::find("SM").unwrap();
        let open = choose(&slender, sm, &METRIC_SIZES).unwrap();
        for c in &open.choices {
            let bows = c.spring.buckling(slender.seats).unwrap().at_travel;
            assert!(bows.is_none_or(|at| at > c.spring.free - 60.0));
        }
        let pocket = Wanted {
            pocket: true,
            ..slender
        };
        let guided = choose(&pocket, sm, &METRIC_SIZES).unwrap();
        assert!(open.choices.len() <= guided.choices.len());
    }

    #[test]
    fn says_why_nothing_goes() {
        let sm = wire::find("SM").unwrap();
        let tight = Wanted {
            bore: 5.0,
            ..wanted()
        };
        let chosen = choose(&tight, sm, &METRIC_SIZES).unwrap();
        assert!(chosen.choices.is_empty());
        assert!(
            chosen.rejected.index > 0
                && chosen.rejected.stress + chosen.rejected.solid + chosen.rejected.coils > 0
        );
        let short = Wanted {
            second_length: 3.0,
            first_length: 4.0,
            ..wanted()
        };
        assert!(
            choose(&short, sm, &METRIC_SIZES)
                .unwrap()
                .choices
                .is_empty()
        );
    }

    #[test]
    fn coil_diameters_go_in_steps_of_the_trade() {
        let metric: Vec<f64> = Outsides::Metric.below(24.5).collect();
        assert_eq!(
            (metric[0], metric[1], metric.last()),
            (1.0, 1.5, Some(&24.0))
        );
        assert!(metric.contains(&20.0) && metric.contains(&21.0) && !metric.contains(&20.5));
        let inch: Vec<f64> = Outsides::Inch.below(30.0).collect();
        assert!(
            inch.iter()
                .map(|d| d * 32.0 / 25.4)
                .all(|n| (n - n.round()).abs() < 1e-9)
        );
        assert!(
            metric
                .windows(2)
                .chain(inch.windows(2))
                .all(|w| w[0] < w[1])
        );
    }

    #[test]
    fn a_wider_bore_never_needs_more_wire() {
        let sm = wire::find("SM").unwrap();
        let mut last = f64::INFINITY;
        for bore in [11.0, 13.0, 16.0, 20.0, 26.0] {
            let chosen = choose(&Wanted { bore, ..wanted() }, sm, &METRIC_SIZES).unwrap();
            let best = chosen.choices.first().map_or(f64::INFINITY, |c| c.mass);
            assert!(best <= last, "{bore}: {best} after {last}");
            last = best;
        }
        assert!(last.is_finite());
    }

    #[test]
    fn taking_the_set_out_never_asks_for_more_wire() {
        let sm = wire::find("SM").unwrap();
        let best = |preset| {
            let chosen = choose(&Wanted { preset, ..wanted() }, sm, &METRIC_SIZES).unwrap();
            chosen.choices.first().map_or(f64::INFINITY, |c| c.mass)
        };
        assert!(best(true) <= best(false) && best(true).is_finite());
    }

    #[test]
    fn refuses_contradictions() {
        let sm = wire::find("SM").unwrap();
        let refused = |w: Wanted| choose(&w, sm, &METRIC_SIZES).is_err();
        assert!(refused(Wanted {
            second_force: 10.0,
            ..wanted()
        }));
        assert!(refused(Wanted {
            second_length: 50.0,
            ..wanted()
        }));
        assert!(refused(Wanted {
            rod: 20.0,
            ..wanted()
        }));
        assert!(refused(Wanted {
            bore: f64::NAN,
            ..wanted()
        }));
        assert!(choose(&wanted(), sm, &[-1.0]).is_err());
    }
}
