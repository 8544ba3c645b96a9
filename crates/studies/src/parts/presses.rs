//! Pressing in: force, what of the shop gives it, heat instead, and how far the hub bears it.

use super::room::Room;
use super::say;
use super::study::{Draft, Study, strength};
use crate::answers::Severity;
use elements::press::{Caution, Joint, LAME, Press, temperature_difference};
use elements::{Check, ElementError, Fit, Source, friction_couples};

/// Room to slip a warmed hub on, over its diameter, and the least, mm (DIN 7190-1: a thousandth of the joint; from memory).
const SLIP: (f64, f64) = (0.001, 0.01);
/// Warmer than this a bearing loses its hardness or its grease (makers' handbooks, from memory), K above the shop.
pub(super) const BEARING: f64 = 80.0;
/// What cools the inner part, and by how much, K below the shop (common practice).
const COOLED: [(&str, f64); 2] = [("in a freezer", 38.0), ("in dry ice", 95.0)];
/// Factor wanted of hubs that break without yielding (common practice).
const BRITTLE: f64 = 3.0;

const HEAT: Source =
    Source::of("ΔT = (interference + clearance)/(α d); DIN 7190-1, limits from memory");

/// How a joint goes together without force.
pub(super) struct Heat {
    /// How much warmer the outer part would be if nothing else helped, K.
    pub(super) warmer: f64,
    /// "with lever warmer by 120 K"; none where the materials do not bear it.
    pub(super) how: Option<String>,
    /// Room to spare, mm.
    pub(super) slip: f64,
}

/// How far a material is warmed without harm, K above the shop (handbooks, from memory): plastics soften, age-hardened aluminium and
/// tempered steel lose strength, mild steel and iron stay as they are up to blue heat.
fn limit(material: Option<&machine::work::Material>) -> f64 {
    use elements::materials::Family;
    let hardened = |name: &str| {
        ["QT", "stress relieved", "prehardened", "hardened"]
            .iter()
            .any(|w| name.contains(w))
    };
    match material {
        None => 180.0,
        Some(m) => match super::room::family(m) {
            Some(Family::Plastic) => 0.0,
            Some(Family::Aluminium) => 120.0,
            _ if hardened(m.taken_as.unwrap_or(&m.name)) => 130.0,
            _ => 180.0,
        },
    }
}

/// Heat, cold or both for a joint of this interference; `most` is what outer and inner part bear, `colder` whether the inner may be cooled.
pub(super) fn heat(
    name: &str,
    inner: &str,
    press: &Press,
    interference: f64,
    most: f64,
) -> Result<Heat, ElementError> {
    let d = press.diameter;
    let slip = (SLIP.0 * d).max(SLIP.1);
    let warmer = temperature_difference(d, interference, slip, press.hub.expansion)?;
    let alone = (warmer <= most).then(|| format!("with {name} warmer by {warmer:.0} K"));
    let cold = || {
        COOLED.iter().find_map(|(place, kelvin)| {
            let shrinks = press.shaft.expansion * d * kelvin;
            let left = (interference + slip - shrinks) / (press.hub.expansion * d);
            if left <= 0.0 {
                Some(format!("with {inner} cooled {place}"))
            } else {
                (left <= most).then(|| {
                    format!("with {inner} cooled {place} and {name} warmer by {left:.0} K")
                })
            }
        })
    };
    Ok(Heat {
        warmer,
        how: alone.or_else(cold),
        slip,
    })
}

/// What goes in and what it goes into.
pub(super) struct Pressing<'a> {
    pub(super) press: Press,
    pub(super) fit: Fit,
    /// "lever".
    pub(super) hub: &'a str,
    /// Where to push: "on the outer ring, with a sleeve".
    pub(super) push: &'a str,
    /// What goes in: "the ring", "the bushing".
    pub(super) inner: &'a str,
    /// How far the part that goes in bears to be warmed, K; none for a bearing's ring, which has its own limit.
    pub(super) inner_bears: Option<f64>,
    /// Strength of a thin wall that goes in, MPa.
    pub(super) wall: Option<f64>,
}

/// How far what is pressed in bears to be warmed by its hub, K.
pub(super) fn bears(material: Option<&machine::work::Material>) -> f64 {
    limit(material)
}

impl Study<'_> {
    /// What presses in the hub of a fit at its tightest, and how many times it is wanted to bear that.
    pub(super) fn hub_check(
        &self,
        tight: &Joint,
        material: &machine::work::Material,
        limit: f64,
    ) -> Result<(Check, f64), ElementError> {
        let [hub, _] = tight.checks(limit, 1.0)?;
        if material.yields.is_some() {
            return Ok((hub, 1.0));
        }
        // What breaks without yielding is torn by the hoop stress.
        let hub = Check {
            what: "hoop stress of the hub, which breaks without yielding",
            acts: tight.hub_hoop,
            ..hub
        };
        Ok((hub, self.factor().max(BRITTLE)))
    }

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
        let most = limit(room.material).min(pressing.inner_bears.unwrap_or(BEARING));
        if let Ok(found) = heat(
            pressing.hub,
            pressing.inner,
            press,
            tight.interference,
            most,
        ) {
            let spare = say::close(found.slip, self.machine);
            let kelvin = found.warmer;
            let text = match &found.how {
                Some(how) => format!("slips in {how}, {spare} to spare"),
                None => format!(
                    "heat and cold alone do not do it: it would take {kelvin:.0} K, and these bear {most:.0} K"
                ),
            };
            draft
                .item
                .figures
                .push(self.figure("hub warmer by", kelvin, "K", HEAT, text));
            if !able {
                let warm = match found.how {
                    Some(how) => format!("put it together {how}, or take a lighter fit"),
                    None => String::from("take a lighter fit, or have it pressed"),
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
            let (hub, wanted) = self.hub_check(&tight, material, yields)?;
            let lighter = !hub.passes(wanted);
            draft.item.checks.push(self.check(&hub, wanted, None));
            if lighter {
                draft.item.would_do = None;
                draft.instead = Some(String::from(
                    "a lighter fit, or a thicker hub: either presses its hub less",
                ));
            }
            self.grade(material);
        }
        if let Some(yields) = pressing.wall {
            let hoop = tight.shaft_hoop_inside.abs();
            if hoop > yields {
                let sentence = format!(
                    "{}, {}: at the tightest its own wall yields, {} of {}: it closes less surely than reckoned, and holds with less",
                    draft.item.what,
                    draft.item.at,
                    say::value(hoop, "MPa", self.machine),
                    say::value(yields, "MPa", self.machine)
                );
                let lighter = if super::pins::is_inch(self.machine) {
                    "FN1"
                } else {
                    "H7/p6, H7/r6"
                };
                let try_this = format!(
                    "press it in and ream it to size after, or take a lighter fit ({lighter}) or a thicker wall"
                );
                self.say(Severity::Caution, draft, sentence, Some(try_this));
            }
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
