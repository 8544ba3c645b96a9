//! How the direction of one feature round the axis is found from another, when the work lies in a V-block.

use super::bits::Work;
use crate::part::Turned;
use crate::words;

/// What a direction is found from.
pub(super) enum Zero {
    /// The high side of an eccentric: throw, direction, name.
    High([f64; 2], String),
    /// A hole across: direction, name.
    Hole(f64, String),
    /// A keyway: direction, and what is keyed there.
    Keyway(f64, String),
    /// Nothing is there yet: the first feature begins.
    Free,
}

/// What the other directions of a part are found from.
pub(super) fn reference(work: &Work, t: &Turned) -> Zero {
    let eccentric = t.steps.iter().find_map(|s| s.throw.map(|x| (x, s)));
    if let Some((x, own)) = eccentric {
        let mut name = format!("⌀{}", work.mm(own.diameter));
        let others = t.steps.iter().filter(|s| s.throw.is_some());
        if others.count() > 1 {
            name += &format!(
                " from {} to {} of the left face",
                work.mm(own.from),
                work.mm(own.to)
            );
        }
        return Zero::High(x, name);
    }
    t.cross
        .first()
        .map_or(Zero::Free, |c| Zero::Hole(c.from, words::spoken(&c.name)))
}

/// The high side of the eccentric that directions are found from, where there is one.
pub(super) fn high(work: &Work, zero: &Zero) -> Option<String> {
    match zero {
        Zero::High([e, angle], name) => Some(format!(
            "Find the high side of the eccentric {name} (throw {}), which stands at {}°",
            work.mm(*e),
            words::number(angle.to_degrees().rem_euclid(360.0), 2)
        )),
        _ => None,
    }
}

/// How the work is turned to a direction; `again` when something was made in this set-up already. None where nothing has to be found.
pub(super) fn found_by(
    work: &Work,
    t: &Turned,
    zero: &Zero,
    from: f64,
    again: bool,
) -> Option<String> {
    // The short way round; a feature counter-clockwise of the first comes up when the work turns clockwise.
    let on = |angle: f64| {
        let by = (from - angle).to_degrees().rem_euclid(360.0);
        let by = if by > 180.0 + 1e-9 { by - 360.0 } else { by };
        if by.abs() < 5e-3 { 0.0 } else { by }
    };
    let turned = |by: f64| {
        let sense = if by > 0.0 {
            "clockwise"
        } else {
            "counter-clockwise"
        };
        let shown = words::number(by.abs(), 2);
        let by_hand = format!(
            "{shown}° {sense} as the right end is seen: protractor on a bar clamped across the end"
        );
        match work.rotary() {
            Some(table) => format!(
                "{by_hand}, or the work in the chuck of the {}, {} turns of its handle",
                words::kept("rotary table", &table.name),
                words::number(by.abs() * table.ratio / 360.0, 4)
            ),
            None => by_hand,
        }
    };
    match zero {
        Zero::High([e, angle], name) => {
            let by = on(*angle);
            let high = format!(
                "Roll the work until an indicator reads highest over the eccentric {name} (throw {}): its high side is up",
                work.mm(*e)
            );
            Some(if by == 0.0 {
                format!("{high}, which is the direction wanted")
            } else {
                format!("{high}; then turn it by {}", turned(by))
            })
        }
        Zero::Hole(angle, name) if again || (from - angle).abs() > 1e-9 => {
            let by = on(*angle);
            if by == 0.0 {
                return None;
            }
            Some(format!(
                "A pin in {name}, upright by a square; then turn the work by {}",
                turned(by)
            ))
        }
        Zero::Keyway(angle, name) => {
            let by = on(*angle);
            Some(if by == 0.0 {
                format!(
                    "A key in the keyway of {name}, straight up by a square against both its sides: this one stands in line with it"
                )
            } else {
                format!(
                    "A key in the keyway of {name}, straight up by a square; then turn the work by {}",
                    turned(by)
                )
            })
        }
        Zero::Hole(..) if !t.flats.is_empty() => None,
        _ => None,
    }
}
