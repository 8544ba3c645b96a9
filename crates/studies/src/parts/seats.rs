//! How a hole runs on its pin: clearance of plain holes and bushings, play that a bearing keeps when it is fitted.

use super::room::{elastic, pin, room};
use elements::bearings::play::{bore_limits, clearance, left, outside_limits};
use elements::press::{
    Finish, Press, STEEL, effective_on_bearing, inner_ring, outer_ring, raceways,
};
use elements::{Fit, Limits};
use machine::Machine;
use machine::fitting::{Fitted, Hole, Sized};
use machine::work::LowHigh;

/// How a hole sits on its pin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Runs {
    /// It is always tight.
    Tight,
    /// With this play on diameter; the lesser first, none below nothing.
    Free(LowHigh),
}

/// How the hole runs; none when the pin's or the hole's size is not known.
pub(crate) fn runs(machine: &Machine, hole: &Hole) -> Option<Runs> {
    let pin = pin(machine, hole.point);
    match &hole.fitted {
        Fitted::Plain { size, .. } => Some(free(&size.limits, &pin?.limits, 0.0, 0.0)),
        Fitted::Tapped { .. } => Some(Runs::Tight),
        Fitted::Bearing { .. } => {
            // A bearing runs whatever its play is; without a known play, with none.
            let play = bearing(machine, hole)?.left.unwrap_or((0.0, 0.0));
            Some(Runs::Free(LowHigh {
                low: play.0.max(0.0),
                high: play.1.max(0.0),
            }))
        }
        Fitted::Bushing { bore, .. } => {
            let (least, most) = bushing_closes(machine, hole).unwrap_or((0.0, 0.0));
            Some(free(&bore.limits, &pin?.limits, least, most))
        }
    }
}

/// Mean and deviation of the play of a hole on its pin over machines as they are made, mm, and what is fitted there in words. Sizes stray by
/// half their tolerance at three sigma about the middle of their limits; none when hole or pin is not known.
pub(crate) fn as_made(machine: &Machine, hole: &Hole) -> Option<(f64, f64, String)> {
    let of = |limits: &Limits| (limits.middle(), limits.upper - limits.lower);
    let (mean, widths, words): (f64, Vec<f64>, String) = match &hole.fitted {
        Fitted::Plain { size, .. } => {
            let pin = pin(machine, hole.point)?;
            let ((h, th), (s, ts)) = (of(&size.limits), of(&pin.limits));
            (
                h - s,
                vec![th, ts],
                format!("{} on {}", size.class, pin.class),
            )
        }
        Fitted::Bushing { bore, .. } => {
            let pin = pin(machine, hole.point)?;
            let ((h, th), (s, ts)) = (of(&bore.limits), of(&pin.limits));
            let (least, most) = bushing_closes(machine, hole).unwrap_or((0.0, 0.0));
            (
                h - s - f64::midpoint(least, most),
                vec![th, ts, most - least],
                format!("bushing {} on {}", bore.class, pin.class),
            )
        }
        Fitted::Bearing { .. } => {
            let (least, most) = bearing(machine, hole)?.left?;
            (
                f64::midpoint(least, most),
                vec![most - least],
                String::from("bearing as fitted"),
            )
        }
        Fitted::Tapped { .. } => return None,
    };
    let sum: f64 = widths.iter().map(|w| w * w).sum();
    Some((mean, sum.sqrt() / 6.0, words))
}

/// Play of a pin in a bushing as it is pressed in, least and greatest; negative grips.
pub(crate) fn pressed_play(machine: &Machine, hole: &Hole) -> Option<(f64, f64)> {
    let Fitted::Bushing { bore, .. } = &hole.fitted else {
        return None;
    };
    let pin = pin(machine, hole.point)?.limits;
    let (least, most) = bushing_closes(machine, hole)?;
    Some((
        bore.limits.least() - most - pin.most(),
        bore.limits.most() - least - pin.least(),
    ))
}

/// Clearance between sizes, the bore closing by `least` to `most`.
fn free(hole: &Limits, shaft: &Limits, least: f64, most: f64) -> Runs {
    let low = hole.least() - most - shaft.most();
    let high = hole.most() - least - shaft.least();
    if high <= 1e-9 {
        Runs::Tight
    } else {
        Runs::Free(LowHigh {
            low: low.max(0.0),
            high,
        })
    }
}

/// A hole and a shaft of their own nominal sizes as a fit on the hole's.
pub(crate) fn fit(hole: &Limits, shaft: &Limits) -> Fit {
    let shift = shaft.nominal - hole.nominal;
    Fit {
        hole: *hole,
        shaft: Limits {
            nominal: hole.nominal,
            upper: shaft.upper + shift,
            lower: shaft.lower + shift,
        },
    }
}

/// Interference of the loosest and the tightest pair, mm; nothing where there is clearance.
pub(crate) fn interference(fit: &Fit) -> (f64, f64) {
    (
        (-fit.most_clearance()).max(0.0),
        (-fit.least_clearance()).max(0.0),
    )
}

/// How far a pressed-in bushing closes at its bore, least and most, mm.
pub(crate) fn bushing_closes(machine: &Machine, hole: &Hole) -> Option<(f64, f64)> {
    let (press, fit) = bushing_press(machine, hole)?;
    let (loose, tight) = press.of_fit(&fit).ok()?;
    Some((loose.shaft_bore_closing, tight.shaft_bore_closing))
}

/// The press fit of a bushing in its hub.
pub(crate) fn bushing_press(machine: &Machine, hole: &Hole) -> Option<(Press, Fit)> {
    let Fitted::Bushing {
        material,
        bore,
        outside: Some((outside, hub)),
    } = &hole.fitted
    else {
        return None;
    };
    let room = room(machine, hole);
    let press = Press {
        diameter: hub.nominal,
        length: room.length?,
        hub_outside: room.around?,
        shaft_bore: bore.nominal,
        hub: elastic(room.material),
        shaft: bushing_elastic(material.name),
        round: room.round,
    };
    Some((press, fit(&hub.limits, &outside.limits)))
}

/// Elastic constants of a bushing material; bronze where the table has no row of its own.
fn bushing_elastic(name: &str) -> elements::press::Elastic {
    let row = match name {
        "acetal" => "acetal",
        "nylon" => "nylon 6/6",
        "porous iron" => "grey iron class 20",
        _ => "C93200 bearing bronze",
    };
    elements::materials::find(row).map_or(STEEL, elements::materials::Material::elastic)
}

/// A bearing as it is fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Seated {
    /// Hub and outer ring.
    pub(crate) outer: Fit,
    /// Inner ring and pin; none when the pin's tolerance is not known or it is of another size.
    pub(crate) inner: Option<Fit>,
    /// Radial internal clearance before fitting, least and most, mm.
    pub(crate) internal: Option<(f64, f64)>,
    /// What is left of it; negative is preload.
    pub(crate) left: Option<(f64, f64)>,
}

/// The bearing in a hole as it is fitted; none when there is none.
pub(crate) fn bearing(machine: &Machine, hole: &Hole) -> Option<Seated> {
    let Fitted::Bearing {
        bearing,
        group,
        hub,
        ..
    } = &hole.fitted
    else {
        return None;
    };
    let (bore, outside) = (
        bore_limits(bearing.bore).ok()?,
        outside_limits(bearing.outside).ok()?,
    );
    let outer = fit(&hub.limits, &outside);
    let own = |pin: &&Sized| same_size(pin.nominal, bearing.bore);
    let inner = pin(machine, hole.point)
        .filter(own)
        .map(|pin| fit(&bore, &pin.limits));
    let internal = clearance(bearing.bore, *group).ok();
    let lost = lost(machine, hole, bearing, &outer, inner.as_ref());
    Some(Seated {
        outer,
        inner,
        internal,
        left: internal
            .zip(lost)
            .map(|(internal, (least, most))| left(internal, least, most)),
    })
}

/// Clearance lost to both fits, of the loosest and the tightest pairs; none where a ring has no room around it.
fn lost(
    machine: &Machine,
    hole: &Hole,
    bearing: &elements::bearings::Bearing,
    outer: &Fit,
    inner: Option<&Fit>,
) -> Option<(f64, f64)> {
    let room = room(machine, hole);
    let (inside_race, outside_race) = raceways(bearing.bore, bearing.outside).ok()?;
    // A hub of unknown size counts as thick: it closes the ring most.
    let around = room.around.unwrap_or(4.0 * bearing.outside);
    let of_outer = |interference: f64| {
        if interference <= 0.0 {
            return Some(0.0);
        }
        let acting = effective_on_bearing(bearing.outside, interference, Finish::Turned).ok()?;
        outer_ring(
            bearing.outside,
            outside_race,
            acting,
            around,
            elastic(room.material),
        )
        .ok()
        .map(|r| r.clearance_lost)
    };
    let of_inner = |interference: f64| {
        if interference <= 0.0 {
            return Some(0.0);
        }
        let acting = effective_on_bearing(bearing.bore, interference, Finish::Turned).ok()?;
        inner_ring(bearing.bore, inside_race, acting, 0.0, STEEL)
            .ok()
            .map(|r| r.clearance_lost)
    };
    let (outer_loose, outer_tight) = interference(outer);
    let (inner_loose, inner_tight) = inner.map_or((0.0, 0.0), interference);
    Some((
        of_outer(outer_loose)? + of_inner(inner_loose)?,
        of_outer(outer_tight)? + of_inner(inner_tight)?,
    ))
}

/// Sizes that are the same to a hundredth of a millimetre.
pub(crate) fn same_size(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.01
}
