//! Geneva wheels.

use elements::geneva::Geneva as Wheel;

use crate::cams::shared;
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Fields, Shape};
use crate::ground::Ground;
use crate::guides::{moving, planes};
use crate::model::{FRAME, Geneva};
use crate::vector::{length, sub};

const GENEVA: Shape = Shape {
    a: "a Geneva wheel",
    keys: &[
        ("driver", "driver = \"crank\""),
        ("pin", "pin = \"index-pin\""),
        ("wheel", "wheel = \"star\""),
        ("slots", "slots = 6"),
        ("carrier", "carrier = \"arm\""),
    ],
};

/// The pin's circle may be as far off the right one as this share of it.
const OFF: f64 = 1e-3;

/// Reads all Geneva wheels.
pub(crate) fn read(desk: &mut Desk, ground: &Ground, named: &[Named]) -> Vec<Option<Geneva>> {
    named.iter().map(|n| geneva(desk, ground, n)).collect()
}

fn geneva(desk: &mut Desk, ground: &Ground, named: &Named) -> Option<Geneva> {
    let fields = Fields::new(desk, named.what(), &GENEVA, &named.entry)?;
    let driver_field = fields.need(desk, "driver");
    let driver = driver_field.and_then(|f| moving(desk, &f, "turns"));
    let wheel_field = fields.need(desk, "wheel");
    let wheel = wheel_field.and_then(|f| moving(desk, &f, "is turned"));
    let pin_field = fields.need(desk, "pin");
    let pin = pin_field.and_then(|f| f.name(desk, Kind::Point));
    let slots_field = fields.need(desk, "slots");
    let slots = slots_field.and_then(|f| f.whole(desk, 3, 60));
    let carrier = fields
        .get("carrier")
        .map_or(Some(FRAME), |f| f.name(desk, Kind::Part));
    let (driver, wheel, pin, slots, carrier) = (driver?, wheel?, pin?, slots?, carrier?);
    let (driver_field, wheel_field, pin_field) = (driver_field?, wheel_field?, pin_field?);
    if ground.turns_with(driver) == ground.turns_with(wheel) {
        let what = ground.what(wheel);
        wheel_field.bad(
            desk,
            format!("{what} turns with its own driver"),
            "name two parts that turn apart",
        );
        return None;
    }
    planes(desk, ground, &wheel_field, driver, wheel)?;
    if !ground.whole {
        return None;
    }
    if !ground.carries(driver, pin) {
        let (what, name) = (ground.what(driver), desk.name(Kind::Point, pin));
        desk.push(
            Diagnostic::error("not-carried", format!("{what} does not carry {name}"))
                .at(pin_field.place(), "")
                .help(format!("add \"{name}\" to what {what} carries")),
        );
        return None;
    }
    let mut centres = [0; 2];
    for ((part, field), centre) in [(driver, driver_field), (wheel, wheel_field)]
        .into_iter()
        .zip(&mut centres)
    {
        let Some(found) = shared(ground, part, carrier) else {
            let (what, on) = (ground.what(part), ground.what(carrier));
            desk.push(
                Diagnostic::error(
                    "not-pinned",
                    format!("{what} does not turn on {on}: no point is carried by both"),
                )
                .at(field.place(), "")
                .help(format!(
                    "let {on} carry the centre of {what}, or name the part that does as `carrier`"
                )),
            );
            return None;
        };
        *centre = found;
    }
    let spot = |p| ground.spot(p).map(|s| s.at);
    let (from, to, at) = (spot(centres[0])?, spot(centres[1])?, spot(pin)?);
    let (apart, radius) = (length(sub(to, from)), length(sub(at, from)));
    let slots = u32::try_from(slots).ok()?;
    let right = match Wheel::of(slots).and_then(|w| w.reach(apart)) {
        Ok(right) if apart > 0.0 => right,
        _ => {
            let [a, b] = centres.map(|c| desk.name(Kind::Point, c));
            wheel_field.bad(
                desk,
                format!("the centres {a} and {b} of driver and wheel lie at the same place"),
                "put them apart: the pin goes in where it stands square to the line to the wheel's centre",
            );
            return None;
        }
    };
    if (radius - right).abs() > OFF * right {
        let name = desk.name(Kind::Point, pin);
        pin_field.bad(
            desk,
            format!(
                "{name} stands {} from the centre of its driver; into a wheel of {slots} slots {} away it goes without a blow at {}",
                desk.show(radius),
                desk.show(apart),
                desk.show(right)
            ),
            format!("give it a reach of {}", desk.show_exactly(right)),
        );
        return None;
    }
    Some(Geneva {
        name: named.entry.name.to_owned(),
        driver,
        wheel,
        carrier,
        pin,
        centres,
        slots,
        place: named.entry.place,
    })
}
