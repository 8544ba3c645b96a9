//! Pressing in: force, what of the shop gives it, heat instead, and how far the hub bears it.

use super::room::Room;
use super::say;
use super::study::{Draft, Study, strength};
use crate::answers::Severity;
use elements::press::{Caution, LAME, Press, temperature_difference};
use elements::{ElementError, Fit, Source, friction_couples};

/// Room to slip a warmed hub on, mm (common practice).
pub(super) const SLIP: f64 = 0.02;
/// Warmer than this a bearing loses its hardness or its grease (makers' handbooks, from memory), K above the shop.
pub(super) const WARM: f64 = 100.0;

/// What goes in and what it goes into.
pub(super) struct Pressing<'a> {
    pub(super) press: Press,
    pub(super) fit: Fit,
    /// "lever".
    pub(super) hub: &'a str,
    /// Where to push: "on the outer ring, with a sleeve".
    pub(super) push: &'a str,
    /// It may be warmed no further than a bearing bears.
    pub(super) bearing: bool,
}

impl Study<'_> {
    /// Force, shop, heat and stress of a press fit. Nothing for a fit with clearance only.
    pub(super) fn press_in(
        &mut self,
        draft: &mut Draft,
        room: &Room<'_>,
        pressing: &Pressing<'_>,
    ) -> Result<(), ElementError> {
        let Pressing { press, fit, .. } = pressing;
        let (_, tight) = press.of_fit(fit)?;
        if tight.interference <= 0.0 {
            return Ok(());
        }
        let couple = friction_couples::find("press fit, steel on steel, dry")?;
        let force = press.force(tight.pressure, couple.most)?;
        let told = say::value(force, "N", self.machine);
        let (by, able) = self.pressed_by(force);
        let sentence = format!(
            "goes into {} with up to {told} (friction {}){by}; push {}",
            pressing.hub, couple.most, pressing.push
        );
        draft
            .item
            .figures
            .push(self.figure("force to press it in", force, "N", LAME, sentence));
        if let Ok(kelvin) = temperature_difference(
            press.diameter,
            tight.interference,
            SLIP,
            press.hub.expansion,
        ) {
            let text = format!(
                "slips in with {} warmer by {kelvin:.0} K, {} to spare",
                pressing.hub,
                say::close(SLIP, self.machine)
            );
            let origin = Source::of("ΔT = (interference + clearance)/(α d)");
            draft
                .item
                .figures
                .push(self.figure("hub warmer by", kelvin, "K", origin, text));
            if !able {
                let warm = if kelvin <= WARM || !pressing.bearing {
                    format!(
                        "warm {} by {kelvin:.0} K, or take a lighter fit",
                        pressing.hub
                    )
                } else {
                    format!(
                        "take a lighter fit: it would need {} warmer by {kelvin:.0} K",
                        pressing.hub
                    )
                };
                let sentence = format!(
                    "{}, {}: it takes {told} to press it in{by}",
                    draft.item.what, draft.item.at
                );
                self.say(Severity::Miss, draft, sentence, Some(warm));
            }
        }
        // Rings are harder than any hub: the hub is what gives.
        if let Some(material) = room.material
            && let Some(yields) = strength(material)
        {
            let [hub, _] = tight.checks(yields, 1.0)?;
            draft.item.checks.push(self.check(&hub, 1.0, None));
            self.grade(material);
        }
        for caution in &tight.cautions {
            match caution {
                Caution::ThinHub { ratio } => {
                    let sentence = format!(
                        "{}, {}: the hub {} is thin, {ratio:.2} times the bore across: force and play are a guide only",
                        draft.item.what, draft.item.at, pressing.hub
                    );
                    let try_this = format!(
                        "leave {} round it, or bore for a sliding fit and hold it with a retaining compound",
                        say::size(1.25 * press.diameter, self.machine)
                    );
                    self.say(Severity::Caution, draft, sentence, Some(try_this));
                }
                Caution::NotRound => draft.assume(format!(
                    "{} is reckoned as a ring of its least width",
                    pressing.hub
                )),
                Caution::Long { .. } => draft.assume(
                    "it is longer than twice its diameter: it may pick up, and the force rise",
                ),
                Caution::ThinShaft { .. } => {}
            }
        }
        Ok(())
    }
}
