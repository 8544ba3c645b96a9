//! Keys and pins across hub and shaft.

use super::super::say;
use super::super::study::{Draft, Study, strength};
use super::{Arm, weaker};
use crate::answers::Severity;
use elements::keys::{self, parallel, square_inch, woodruff};
use elements::pins_lugs::{SHEAR_SHARE, SOURCE as PINS, pin_shear};
use elements::{Check, ElementError};
use machine::fitting::Key;
use machine::work::Material;

/// Hole in a shaft for a pin, over its diameter; beyond, too little of it is left (Shigley table A-16 ends there).
const PIN: (f64, f64) = (0.2, 0.30);

/// An eighth of an inch, mm.
const EIGHTH: f64 = 3.175;

impl Study<'_> {
    pub(super) fn cross_pinned(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        diameter: f64,
    ) -> Result<(), ElementError> {
        let factor = self.factor();
        let torque = arm.torque.value;
        let share = diameter / arm.shaft;
        let most = PIN.1 * arm.shaft;
        if share > PIN.1 + 1e-6 {
            let sentence = format!(
                "{}, {}: its hole takes {share:.2} of the shaft of {}: a fifth to a quarter is usual, {:.1} the most",
                draft.item.what,
                draft.item.at,
                say::size(arm.shaft, self.machine),
                PIN.1
            );
            let fits = self.rounds().into_iter().rfind(|d| *d <= most);
            let try_this = fits.map_or_else(
                || String::from("a thicker shaft, or another way to hold it"),
                |d| {
                    format!(
                        "a pin of {}, a thicker shaft, or a key",
                        say::size(d, self.machine)
                    )
                },
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            return Ok(());
        }
        if share < PIN.0 {
            draft.assume("the pin is thin for its shaft: a fifth to a quarter of it is usual (common practice)");
        }
        draft.assume(
            "the pin is of the given steel; a taper or spring pin of the same size is stronger",
        );
        let pin = self.steel().and_then(strength).unwrap_or(220.0);
        let of = |m: Option<&Material>| m.and_then(strength).unwrap_or(pin);
        let (shaft, hub) = (of(arm.on), of(arm.arm));
        let checks = |d: f64| -> Result<[Check; 3], ElementError> {
            let [in_shaft, in_hub] = keys::cross_pin(torque, d, arm.shaft, arm.hub)?;
            let press = |what, acts, wall: f64| Check {
                what,
                acts,
                bears: wall.min(pin),
                unit: "MPa",
                source: keys::CROSS_PIN,
            };
            Ok([
                Check {
                    what: "shear of the cross pin",
                    acts: pin_shear(2.0 * torque / arm.shaft, d, 2)?,
                    bears: SHEAR_SHARE * pin,
                    unit: "MPa",
                    source: PINS,
                },
                press("pressure of the pin in the shaft", in_shaft, shaft),
                press("pressure of the pin in the hub", in_hub, hub),
            ])
        };
        for check in &checks(diameter)? {
            self.holding(draft, arm, check);
        }
        let fits = self.rounds().into_iter().filter(|d| *d <= most);
        let best = fits
            .into_iter()
            .find(|d| checks(*d).is_ok_and(|all| all.iter().all(|c| c.passes(factor))));
        draft.would_do(
            best.map(|d| format!("a pin of {}", say::size(d, self.machine))),
            format!(
                "pins up to {:.1} of the shaft (a key, a thicker hub or shaft holds more)",
                PIN.1
            ),
            best.is_some_and(|d| d < diameter - 0.01),
        );
        Ok(())
    }

    /// What is cut into a hub from inside must leave a wall.
    fn walled(&mut self, draft: &Draft, arm: &Arm<'_>, deep: f64, what: &str) {
        let wall = 0.5 * (arm.hub - arm.shaft);
        if deep <= 0.0 || wall >= 2.0 * deep {
            return;
        }
        let size = |mm: f64| say::size((100.0 * mm).round() / 100.0, self.machine);
        let wide = size((arm.shaft + 4.0 * deep).ceil());
        let (severity, left) = if wall <= deep {
            (Severity::Fault, String::from("it goes through"))
        } else {
            (
                Severity::Caution,
                format!("only {} are left", size(wall - deep)),
            )
        };
        let sentence = format!(
            "{}, {}: the {what} is {} deep in a wall of {}: {left}",
            draft.item.what,
            draft.item.at,
            size(deep),
            size(wall)
        );
        let try_this = format!("a hub of {wide} (`hub = \"{wide}\"`), or another way to hold it");
        self.say(severity, draft, sentence, Some(try_this));
    }

    pub(super) fn keyed(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        key: Key,
    ) -> Result<(), ElementError> {
        let factor = self.factor();
        let machine = self.machine;
        let disc = disc(key)?;
        let (width, bears, in_hub, text, source) = match (&disc, key) {
            (Some(row), _) => {
                let text = format!(
                    "{}: cutter {} x {}, {} deep in the shaft, {} in the hub",
                    draft.item.what,
                    say::size(row.diameter, machine),
                    say::size(row.width, machine),
                    say::size(row.in_shaft, machine),
                    say::size(row.above, machine)
                );
                (row.width, row.above, row.above, text, row.source)
            }
            (None, _) => {
                let Ok(row) = parallel_of(key, arm.shaft) else {
                    let sentence = format!(
                        "{}, {}: no key of this sort is made for a shaft of {}",
                        draft.item.what,
                        draft.item.at,
                        say::size(arm.shaft, machine)
                    );
                    let try_this = "a cross pin, a pinched hub, or a set screw on a flat; metric keys go with shafts of 6 to 58 mm, square ones with 5/16 to 3 1/4 in";
                    self.say(Severity::Fault, draft, sentence, Some(try_this.to_owned()));
                    return Ok(());
                };
                let text = format!(
                    "key {} x {}: seat {} deep in the shaft, {} in the hub",
                    say::size(row.width, machine),
                    say::size(row.height, machine),
                    say::size(row.in_shaft, machine),
                    say::size(row.in_hub, machine)
                );
                (row.width, row.height / 2.0, row.in_hub, text, row.source)
            }
        };
        let carries = keys::CARRIES * arm.shaft;
        let length = match disc {
            Some(disc) => arm.length.min(disc.diameter),
            None => arm.length.min(carries),
        };
        if disc.is_none() && arm.length > carries + 1e-6 {
            draft.assume(format!(
                "of its {} the first {} carry: the shaft twists under a longer key (common practice)",
                say::size(arm.length, machine),
                say::size(carries, machine)
            ));
        }
        if let Some(row) = disc {
            let deep = row.in_shaft;
            if keys::seat_too_deep(arm.shaft, deep) || row.diameter > 1.5 * arm.length {
                let metric = row.number == 0;
                let better = if metric {
                    keys::woodruff_disc_for(arm.shaft).and_then(keys::woodruff_disc)
                } else {
                    keys::woodruff_for(arm.shaft)
                };
                let named = |row: &keys::Woodruff| {
                    if metric {
                        format!("{}x{}x{}", row.width, row.height, row.diameter)
                    } else {
                        row.number.to_string()
                    }
                };
                let why = if keys::seat_too_deep(arm.shaft, deep) {
                    format!(
                        "its seat is {} deep in a shaft of {}",
                        say::size(deep, machine),
                        say::size(arm.shaft, machine)
                    )
                } else {
                    format!(
                        "it is {} long and the hub {}",
                        say::size(row.diameter, machine),
                        say::size(arm.length, machine)
                    )
                };
                let sentence = format!("{}, {}: {why}", draft.item.what, draft.item.at);
                let try_this = match better {
                    Some(row) if row.diameter <= 1.5 * arm.length => {
                        format!("a Woodruff key {} suits this shaft", named(&row))
                    }
                    Some(row) => format!(
                        "a Woodruff key {} in a hub {} long, or a parallel key",
                        named(&row),
                        say::size(row.diameter.ceil(), machine)
                    ),
                    None => String::from("a parallel key, or a cross pin"),
                };
                self.say(Severity::Fault, draft, sentence, Some(try_this));
                return Ok(());
            }
        }
        self.walled(draft, arm, in_hub, "keyway");
        draft
            .item
            .figures
            .push(self.figure("width of the key", width, "mm", source, text));
        let weakest = weaker(arm);
        let steel = self.steel().and_then(strength).unwrap_or(weakest);
        draft.assume("the key is of the given steel");
        let checks = |length: f64| {
            keys::stress(arm.torque.value, arm.shaft, width, bears, length)
                .and_then(|s| keys::checks(&s, steel, weakest.min(steel)))
        };
        for check in &checks(length)? {
            self.holding(draft, arm, check);
        }
        if let Key::Parallel { .. } = key {
            // Both stresses fall as the key gets longer.
            let spare = checks(length)?
                .iter()
                .fold(f64::INFINITY, |m, c| m.min(c.factor()));
            if spare.is_finite() {
                let needed = length * factor / spare;
                let inch = matches!(key, Key::Parallel { inch: true });
                // Square keys are sawn off bar, to an eighth of an inch and no shorter than twice their width.
                let made = if inch {
                    Some((needed.max(2.0 * width) / EIGHTH - 1e-9).ceil() * EIGHTH)
                } else {
                    keys::length_for(width, needed)
                };
                let made = made.filter(|_| needed <= carries + 1e-6);
                draft.would_do(
                    made.map(|l| format!("a key {} long", say::size(l, machine))),
                    "keys of this section up to one and a half shafts long (a thicker shaft takes a larger one)",
                    made.is_some_and(|l| l < arm.length - 0.01),
                );
            }
        }
        Ok(())
    }
}

/// A Woodruff key, inch or metric.
fn disc(key: Key) -> Result<Option<keys::Woodruff>, ElementError> {
    Ok(match key {
        Key::Parallel { .. } => None,
        Key::Woodruff(number) => Some(woodruff(number)?),
        Key::WoodruffMetric(row) => keys::woodruff_disc(row),
    })
}

/// The parallel key for a shaft.
pub(super) fn parallel_of(key: Key, shaft: f64) -> Result<keys::Parallel, ElementError> {
    match key {
        Key::Parallel { inch: true } => square_inch(shaft),
        _ => parallel(shaft),
    }
}
