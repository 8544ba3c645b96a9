//! Welds, brazing and press fits of a hub on its shaft.

use super::super::presses::{Pressing, bears};
use super::super::room::{Room, elastic, family};
use super::super::say;
use super::super::study::{Draft, Study, fits, strength};
use super::super::tires::RELIABLE;
use super::Arm;
use crate::answers::Severity;
use elements::joints::{
    BEAD_END, E60, braze_check, fillet_round, socket, weld_check, weld_fatigue,
};
use elements::materials::Family;
use elements::press::{LAME, Press, STEEL};
use elements::{Check, ElementError, Fit, fits_inch, fits_iso, friction_couples};
use machine::fitting::HeldBy;

/// Share of its strength that a weld or brazing by hand, tested by nobody, is given (common practice).
const BY_HAND: f64 = 0.7;
/// Least fillet that is laid by hand, mm, and the largest in one run (common practice).
const BEAD: f64 = 3.0;
const ONE_RUN: f64 = 8.0;
/// A shorter socket does not stand square, as a share of its diameter (common practice).
const SOCKET: f64 = 0.5;
/// Press fits on the hole basis from the lightest on; H7/k6 and H7/n6 may come out loose and hold nothing.
const ISO: [&str; 5] = ["H7/p6", "H7/r6", "H7/s6", "H7/t6", "H7/u6"];
/// Those in inches (ANSI B4.1).
const INCH: [&str; 5] = ["FN1", "FN2", "FN3", "FN4", "FN5"];

impl Study<'_> {
    pub(super) fn welded(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        leg: f64,
    ) -> Result<(), ElementError> {
        if self.cannot_join(draft, arm) {
            return Ok(());
        }
        // A bead has no more leg than the thinner of the two (common practice).
        let wall = (0.5 * (arm.hub - arm.shaft)).min(0.5 * arm.shaft);
        if leg > wall + 0.01 {
            let size = |mm: f64| say::size((10.0 * mm).round() / 10.0, self.machine);
            let sentence = format!(
                "{}, {}: no place for a bead of {} on a wall of {}: it is reckoned as {}",
                draft.item.what,
                draft.item.at,
                size(leg),
                size(wall),
                size(wall)
            );
            let wide = size((arm.shaft + 2.0 * leg).ceil());
            let try_this = if wall < BEAD {
                format!("a hub of {wide} (`hub = \"{wide}\"`), or silver-braze it")
            } else {
                format!(
                    "`weld = \"{}\"`, or a hub of {wide} (`hub = \"{wide}\"`)",
                    size(wall.floor())
                )
            };
            self.say(Severity::Fault, draft, sentence, Some(try_this));
        }
        let at = |leg: f64| {
            let leg = leg.min(wall);
            let shear = fillet_round(arm.shaft, leg, arm.tilts, arm.torque.value, arm.across)?;
            let mut all = vec![weld_check(shear, E60, BY_HAND)?];
            if let Some(works) = arm.works.filter(|w| w.share > 0.0) {
                let shear = works.share * shear;
                let (loads, alternates) = (works.loads, works.alternates);
                all.push(weld_fatigue(
                    shear, alternates, loads, E60, RELIABLE, BY_HAND,
                )?);
            }
            Ok::<_, ElementError>(all)
        };
        for check in &at(leg)? {
            self.holding(draft, arm, check);
        }
        if let Some(works) = arm.works {
            draft.assume(format!(
                "the weld's fatigue: {}, factor {BEAD_END} (Shigley table 9-5) on weld metal as cast; 99 of 100 bear it",
                super::super::tires::way(works.alternates, &super::super::tires::often(works.loads))
            ));
        }
        if leg < BEAD {
            let sentence = format!(
                "{}, {}: a bead of {} is not laid by hand (common practice)",
                draft.item.what,
                draft.item.at,
                say::size(leg, self.machine)
            );
            let bead = say::size(BEAD, self.machine);
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(format!("`weld = \"{bead}\"` or more, or silver-braze it")),
            );
        }
        draft.assume(format!("electrodes of {}, welded by hand and not tested: {BY_HAND} of the allowed; beside the bead drawn bar is as soft as hot rolled", say::value(E60, "MPa", self.machine)));
        draft.assume(format!(
            "the throat carries the torque, {} across the shaft and {} of tilt",
            say::value(arm.across, "N", self.machine),
            say::value(arm.tilts, "N·mm", self.machine)
        ));
        let legs = (BEAD as u32..=ONE_RUN as u32).map(f64::from);
        let best = legs
            .into_iter()
            .filter(|l| *l <= wall + 1e-9)
            .find(|l| at(*l).is_ok_and(|all| all.iter().all(|c| c.passes(self.factor()))));
        draft.would_do(
            best.map(|l| format!("a bead of {} all round", say::size(l, self.machine))),
            format!(
                "beads of {} to {} on a shaft of this size (weld both sides of the arm, or a thicker shaft)",
                say::size(BEAD, self.machine),
                say::size(ONE_RUN, self.machine)
            ),
            best.is_some_and(|l| l < leg - 0.01),
        );
        Ok(())
    }

    pub(super) fn brazed(&mut self, draft: &mut Draft, arm: &Arm<'_>) -> Result<(), ElementError> {
        if self.cannot_join(draft, arm) {
            return Ok(());
        }
        let at = |deep: f64| {
            socket(arm.shaft, deep, arm.along, arm.torque.value)
                .and_then(|shear| braze_check(shear, BY_HAND))
        };
        self.holding(draft, arm, &at(arm.length)?);
        draft.assume(format!(
            "a gap of 0.05 to 0.13 mm, flux all over, brazed by hand: {BY_HAND} of the design shear"
        ));
        draft.assume("the solder carries torque and thrust in shear; what acts across the shaft presses the socket itself");
        let least = (SOCKET * arm.shaft).ceil() as u32;
        let most = (3.0 * arm.shaft).ceil() as u32;
        let best = (least..=most)
            .map(f64::from)
            .find(|l| at(*l).is_ok_and(|c| c.passes(self.factor())));
        draft.would_do(
            best.map(|l| format!("a socket {} long", say::size(l, self.machine))),
            "sockets up to three shafts long",
            best.is_some_and(|l| l < arm.length - 0.01),
        );
        Ok(())
    }

    /// A weld or brazing between metals that do not take it.
    fn cannot_join(&mut self, draft: &Draft, arm: &Arm<'_>) -> bool {
        let weld = matches!(arm.hold.by, HeldBy::Weld { .. });
        let families = [arm.arm, arm.on].map(|m| m.and_then(family));
        let names = [arm.arm, arm.on].map(|m| m.map_or("steel", |m| m.name.as_str()));
        let bad = |family: Family| match family {
            Family::Steel | Family::Stainless => false,
            Family::Brass | Family::Bronze => weld,
            Family::Iron | Family::Aluminium | Family::Plastic => true,
        };
        let odd = families.iter().zip(names).find(|(f, _)| f.is_some_and(bad));
        if let Some((family, name)) = odd {
            let how = if weld {
                "welded to steel with a steel electrode"
            } else {
                "silver-brazed"
            };
            let iron = *family == Some(Family::Iron);
            let sentence = if iron {
                format!(
                    "{}, {}: {name} cracks beside a {}",
                    draft.item.what,
                    draft.item.at,
                    if weld { "weld" } else { "brazed joint" }
                )
            } else {
                format!(
                    "{}, {}: {name} is not {how}",
                    draft.item.what, draft.item.at
                )
            };
            let try_this =
                "a pinched hub, a key or a cross pin, or arm and shaft both of mild steel";
            self.say(Severity::Fault, draft, sentence, Some(try_this.to_owned()));
            return true;
        }
        let plain = |name: &str| {
            [
                "12L14", "1144", "1045", "4140", "4130", "4340", "C45", "42CrMo4", "11SMn", "O1",
                "W1",
            ]
            .iter()
            .any(|n| name.contains(n))
        };
        if weld && let Some(name) = names.into_iter().find(|n| plain(n)) {
            let sentence = format!(
                "{}, {}: {name} hardens and cracks beside a weld unless it is preheated; free-cutting steel is not welded at all (common practice)",
                draft.item.what, draft.item.at
            );
            let try_this = "arm and shaft of mild steel (1018, S235, S355), or preheat to 200 to 300 degrees C and cool slowly";
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(try_this.to_owned()),
            );
        }
        false
    }

    pub(super) fn pressed(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        text: &str,
    ) -> Result<(), ElementError> {
        let fit = of_class(text, arm.shaft)?;
        let press = Press {
            diameter: arm.shaft,
            length: arm.length,
            hub_outside: arm.hub,
            shaft_bore: 0.0,
            hub: elastic(arm.arm),
            shaft: arm.on.map_or(STEEL, |m| elastic(Some(m))),
            round: arm.hold.hub.is_some(),
        };
        draft
            .item
            .fits
            .push(fits("hub on the shaft", &fit, self.machine));
        let mu = friction_couples::find("press fit, steel on steel, oiled")?.least;
        let twists = |press: &Press, fit: &Fit| -> Result<Check, ElementError> {
            let (loose, _) = press.of_fit(fit)?;
            Ok(Check {
                what: "torque on the press fit at its loosest",
                acts: arm.torque.value,
                bears: press.torque(loose.pressure, mu)?,
                unit: "N·mm",
                source: LAME,
            })
        };
        let check = twists(&press, &fit)?;
        self.holding(draft, arm, &check);
        draft.assume(format!("friction {mu}, oiled"));
        let room = Room {
            length: Some(arm.length),
            around: Some(arm.hub),
            round: arm.hold.hub.is_some(),
            material: arm.arm,
        };
        let hub = draft
            .item
            .at
            .split(" on ")
            .next()
            .unwrap_or("the arm")
            .to_owned();
        self.press_in(
            draft,
            &room,
            &Pressing {
                press,
                fit,
                hub: &hub,
                push: "straight, both ends squarely supported",
                inner: "the shaft",
                inner_bears: Some(bears(arm.on)),
                wall: None,
            },
        )?;
        // The lightest fit whose loosest pair holds the torque and whose tightest the hub bears; then a longer hub.
        let bears =
            |press: &Press, fit: &Fit| arm.arm.is_none_or(|m| self.hub_bears(press, fit, m));
        let holds =
            |press: &Press, fit: &Fit| twists(press, fit).is_ok_and(|c| c.passes(self.factor()));
        let classes = if text.contains('/') { ISO } else { INCH };
        let all: Vec<(&str, Fit)> = classes
            .into_iter()
            .filter_map(|c| Some((c, of_class(c, arm.shaft).ok()?)))
            .collect();
        let tight = |f: &Fit| -f.least_clearance();
        let best = all
            .iter()
            .find(|(_, f)| holds(&press, f) && bears(&press, f));
        let words = best.map(|(c, _)| format!("press fit {c}")).or_else(|| {
            let most = (2.0 * arm.shaft).max(arm.length).ceil() as u32;
            all.iter()
                .filter(|(_, f)| bears(&press, f))
                .find_map(|(c, f)| {
                    let long = (arm.length.ceil() as u32..=most).map(f64::from).find(|l| {
                        let press = Press {
                            length: *l,
                            ..press
                        };
                        holds(&press, f)
                    })?;
                    Some(format!(
                        "press fit {c} in a hub {} long",
                        say::size(long, self.machine)
                    ))
                })
        });
        draft.would_do(
            words,
            "press fits into a hub of this width, up to two shafts long (a wider hub bears more, a key carries the torque)",
            best.is_some_and(|(_, f)| tight(f) < tight(&fit) - 1e-6),
        );
        Ok(())
    }

    /// Whether the hub bears the tightest pair of a fit.
    fn hub_bears(&self, press: &Press, fit: &Fit, material: &machine::work::Material) -> bool {
        let Some(limit) = strength(material) else {
            return true;
        };
        press
            .of_fit(fit)
            .and_then(|(_, tight)| self.hub_check(&tight, material, limit))
            .is_ok_and(|(check, wanted)| check.passes(wanted))
    }
}

/// A fit by its class, ISO or inch.
fn of_class(text: &str, size: f64) -> Result<Fit, ElementError> {
    if text.contains('/') {
        fits_iso::fit(text, size)
    } else {
        fits_inch::fit(text, size)
    }
}
