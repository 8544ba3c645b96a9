//! Plain bushings: fits, pressing in, pressure and speed, the length that would do.

use super::holes::not_borne;
use super::presses::Pressing;
use super::room::room;
use super::say;
use super::seats::{Runs, bushing_press, pressed_play, runs};
use super::study::{Draft, Study, fits, play};
use crate::answers::Severity;
use elements::bearings::plain::{self, Motion};
use machine::fitting::{Cut, Fitted, Hole};

/// Inch bushings go by eighths, mm.
const EIGHTH: f64 = 3.175;

/// Bushings are this long at least and at most, over their bore (common practice).
const SHORT: f64 = 0.5;
const LONG: f64 = 2.0;

impl Study<'_> {
    pub(super) fn bushing(&mut self, mut draft: Draft, hole: &Hole) {
        let Fitted::Bushing {
            material,
            bore,
            outside,
        } = &hole.fitted
        else {
            return;
        };
        let machine = self.machine;
        let through = outside.as_ref().map_or_else(String::new, |(o, _)| {
            format!(" x {}", say::size(o.nominal, machine))
        });
        draft.item.what = format!(
            "{} bushing {}{through}",
            material.name,
            say::size(bore.nominal, machine)
        );
        draft
            .item
            .sizes
            .push(self.size("bore before pressing in", bore));
        let room = room(machine, hole);
        if let Some((own, hub)) = outside {
            draft
                .item
                .sizes
                .push(self.size("outside of the bushing", own));
            draft.item.sizes.push(self.size("bore for it", hub));
            self.makes(&draft, Cut::Bore, hub);
            let what = draft.item.what.clone();
            self.buy(self.places(hole.point), &what, &draft.item.at);
            if let Some(around) = room.around
                && own.nominal >= around - 0.01
            {
                let sentence = format!(
                    "{what}, {}: it is as wide as {}, {}: nothing is left round it",
                    draft.item.at,
                    self.part(hole.part),
                    say::size(around, machine)
                );
                let wide = say::size(1.25 * own.nominal, machine);
                self.say(
                    Severity::Fault,
                    &draft,
                    sentence,
                    Some(format!("a bar or boss of {wide}, or a thinner bushing")),
                );
            } else if let Some((press, found)) = bushing_press(machine, hole) {
                let name = self.part(hole.part);
                draft
                    .item
                    .fits
                    .push(fits(&format!("bushing in {name}"), &found, self.machine));
                let hub = self.holder(hole);
                let pressing = Pressing {
                    press,
                    fit: found,
                    hub: &hub,
                    push: "with a shouldered drift",
                    inner: "the bushing",
                    inner_bears: Some(bush_bears(material.name)),
                    wall: super::seats::bushing_row(material.name).and_then(|m| m.yields),
                };
                if let Err(error) = self.press_in(&mut draft, &room, &pressing) {
                    self.impossible(&draft, &error);
                }
                not_borne(&mut draft);
                if let Some((least, most)) = super::seats::bushing_closes(machine, hole) {
                    let text = format!(
                        "its bore closes by {} to {}",
                        say::close(least, machine),
                        say::close(most, machine)
                    );
                    let mut figure =
                        self.figure("bore closes", least, "mm", elements::press::LAME, text);
                    figure.to = Some(most);
                    draft.item.figures.push(figure);
                }
            }
        }
        if let (Some(length), Some(thick)) = (
            hole.length,
            super::room::stock_at(machine, hole).map(|s| super::room::sides(s.section)[0]),
        ) && hole.around.is_none()
            && length > thick + 0.01
        {
            draft.assume(format!(
                "it is {} long and stands {} out of {}: {} are pressed in",
                say::size(length, machine),
                say::size(length - thick, machine),
                self.part(hole.part),
                say::size(thick, machine)
            ));
        }
        self.running(&mut draft, hole);
        self.gripped(&mut draft, hole);
        if runs(machine, hole) == Some(Runs::Tight) {
            let sentence = format!(
                "{}, {}: pressed in, its bore is too tight for the pin",
                draft.item.what, draft.item.at
            );
            self.say(
                Severity::Fault,
                &draft,
                sentence,
                Some(if super::pins::is_inch(machine) {
                    "ream it after pressing in, or bore it RC5 or RC6".into()
                } else {
                    "ream it after pressing in, or bore it E7 or F7".into()
                }),
            );
        }
        let Some(length) = room.length else {
            draft.assume(
                "neither its length nor the stock is given: pressure and speed are not checked",
            );
            self.done(draft);
            return;
        };
        let joints = self.joints_at(hole.point, Some(hole.part));
        if let Some((hardest, peak)) = self.hardest(&joints) {
            let peak = peak.clone();
            let turned = self
                .service
                .joints
                .get(hardest)
                .map(|s| s.turned.clone())
                .unwrap_or_default();
            let mut motions = Vec::new();
            for turned in &turned {
                let drive = machine.drives.get(turned.drive).map_or("", |d| &d.name);
                match (self.per_minute(turned), turned.turns) {
                    (None, _) => {
                        draft.assume(format!("{drive} has no `per-minute`: speed is not checked"))
                    }
                    (Some(n), Some(turns)) => motions.push(Motion::Turns(n * turns)),
                    (Some(n), None) => motions.push(Motion::Swings {
                        half: turned.half.min(std::f64::consts::PI),
                        per_minute: n,
                    }),
                }
            }
            let still = motions.is_empty();
            if still {
                motions.push(Motion::Turns(0.0));
            }
            for motion in motions {
                match plain::check(peak.value, bore.nominal, length, motion, material) {
                    Ok(all) => {
                        let told = if still { 1 } else { all.len() };
                        for check in all.iter().take(told) {
                            let checked = self.check(check, 1.0, Some(&peak));
                            draft.item.checks.push(checked);
                        }
                    }
                    Err(error) => self.impossible(&draft, &error),
                }
            }
            // Pressure and its product with the speed both fall as it gets longer; the speed does not.
            let used = draft
                .item
                .checks
                .iter()
                .filter(|c| c.unit.starts_with("MPa") && c.case.is_some())
                .filter_map(|c| c.factor)
                .fold(f64::INFINITY, f64::min);
            let least = SHORT * bore.nominal;
            if used.is_finite() {
                let step = if super::pins::is_inch(machine) {
                    EIGHTH
                } else {
                    1.0
                };
                let needed = (least.max(length / used) / step - 1e-9).ceil() * step;
                let fits = needed <= LONG * bore.nominal;
                let quick = draft
                    .item
                    .checks
                    .iter()
                    .any(|c| !c.passes && c.unit != "MPa");
                let from = if quick {
                    "bushings of this bore up to twice as long as wide (turned slower, or a ball bearing; a larger pin presses less and rubs faster)"
                } else {
                    "bushings of this bore up to twice as long as wide (a larger pin, or another material, bears more)"
                };
                draft.would_do(
                    fits.then(|| format!("a bushing {} long", say::size(needed, machine))),
                    from,
                    needed < length - 0.01,
                );
            }
        }
        self.done(draft);
    }

    /// A bushing closes when it is pressed in, and may grip its pin.
    fn gripped(&mut self, draft: &mut Draft, hole: &Hole) {
        let Some((least, most)) = pressed_play(self.machine, hole) else {
            return;
        };
        let found = play("pin in it, pressed in", least, most, self.machine);
        draft.item.fits.push(found);
        if least < -1e-9 && most > 1e-9 {
            let sentence = format!(
                "{}, {}: pressed in at its tightest it grips the pin by {}",
                draft.item.what,
                draft.item.at,
                say::close(-least, self.machine)
            );
            let severity = if f64::midpoint(least, most) < 0.0 {
                Severity::Caution
            } else {
                Severity::Note
            };
            let try_this = if super::pins::is_inch(self.machine) {
                "ream it to size after pressing in, or bore it looser (RC6)"
            } else {
                "ream it to size after pressing in, or bore it looser (E7)"
            };
            self.say(severity, draft, sentence, Some(try_this.into()));
        }
    }
}

/// How far a bushing may be warmed by its hub, K above the shop: plastics not at all by a hot hub.
fn bush_bears(name: &str) -> f64 {
    match name {
        "acetal" | "nylon" | "PTFE fabric" => 0.0,
        "porous iron" | "porous bronze" => 100.0,
        _ => 180.0,
    }
}
