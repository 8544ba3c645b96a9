//! How a hole runs on its pin: clearance of plain holes and bushings, play that a bearing keeps when it is fitted.

use super::room::{elastic, pin, room};
use elements::bearings::play::{bore_limits, clearance, left, outside_limits};
use elements::press::{
    Finish, Press, STEEL, effective_on_bearing, inner_ring, outer_ring, raceways,
};
use elements::{Fit, Limits};
use machine::Machine;
use machine::fitting::{Fitted, Hole, Sized};
use machine::model::PointId;
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

/// How loose the joint at a point is by its fits.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Loose<'m> {
    /// Play between two parts on the pin.
    pub(crate) play: LowHigh,
    /// Holes that give it: the loosest, and where the pin is held fast in none the next, since it moves in both.
    pub(crate) holes: Vec<&'m Hole>,
    /// All that is loose is a bearing.
    pub(crate) rolls: bool,
}

/// Looseness of the joint at a point; none where no fit is known that runs.
pub(crate) fn loose(machine: &Machine, point: PointId) -> Option<Loose<'_>> {
    let mut free: Vec<(LowHigh, &Hole)> = Vec::new();
    let mut held = false;
    for hole in machine.work.holes.iter().filter(|h| h.point == point) {
        match runs(machine, hole) {
            Some(Runs::Free(play)) => free.push((play, hole)),
            Some(Runs::Tight) => held = true,
            None => {}
        }
    }
    let count = if held { 1 } else { 2 };
    let mut lows: Vec<f64> = free.iter().map(|f| f.0.low).collect();
    lows.sort_by(f64::total_cmp);
    let rolls = |f: &(LowHigh, &Hole)| matches!(f.1.fitted, Fitted::Bearing { .. });
    let rolls = free.iter().all(rolls);
    free.sort_by(|a, b| b.0.high.total_cmp(&a.0.high));
    free.truncate(count);
    (!free.is_empty()).then(|| Loose {
        play: LowHigh {
            low: lows.iter().take(count).sum(),
            high: free.iter().map(|f| f.0.high).sum(),
        },
        holes: free.iter().map(|f| f.1).collect(),
        rolls,
    })
}

/// The same as [`as_made`] of a joint: of one hole, or of two that share a pin, whose size then counts in both.
pub(crate) fn loose_as_made(machine: &Machine, loose: &Loose<'_>) -> Option<(f64, f64, String)> {
    let each: Option<Vec<_>> = loose.holes.iter().map(|h| as_made(machine, h)).collect();
    let mut each = each?.into_iter();
    let (mut mean, deviation, mut words) = each.next()?;
    let mut variance = deviation * deviation;
    let on_pin = |h: &&Hole| !matches!(h.fitted, Fitted::Bearing { .. });
    for (m, d, w) in each {
        mean += m;
        variance += d * d;
        words = format!("{words} and {w}");
        if let (true, Some(pin)) = (
            loose.holes.iter().copied().all(|h| on_pin(&h)),
            pin(machine, loose.holes[0].point),
        ) {
            variance += 2.0 * ((pin.limits.upper - pin.limits.lower) / 6.0).powi(2);
        }
    }
    Some((mean, variance.sqrt(), words))
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
    // What stands out of its part is not pressed.
    let thick = super::room::stock_at(machine, hole).map(|s| super::room::sides(s.section)[0]);
    let length = match (hole.around, thick) {
        (None, Some(thick)) => room.length?.min(thick),
        _ => room.length?,
    };
    let press = Press {
        diameter: hub.nominal,
        length,
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
    bushing_row(name).map_or(STEEL, elements::materials::Material::elastic)
}

/// The row of materials that a bushing is reckoned as.
pub(super) fn bushing_row(name: &str) -> Option<&'static elements::materials::Material> {
    let row = match name {
        "acetal" => "acetal",
        "nylon" => "nylon 6/6",
        "porous iron" => "grey iron class 20",
        _ => "C93200 bearing bronze",
    };
    elements::materials::find(row).ok()
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
