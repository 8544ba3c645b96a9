//! Loads that come and go: how often, and what that leaves of a steel.

use super::study::Study;
use crate::load::service::Turned;
use elements::materials::Family;
use elements::shafts::fatigue::{Surface, endurance, finite, pulsing};
use elements::{Check, ElementError};
use machine::model::{PartId, PointId};
use machine::work::Material;

/// Share of parts that shall outlive what is reckoned.
pub(super) const RELIABLE: f64 = 0.99;
/// Loads from which on a part of steel that lives lives for ever (Shigley 6-8).
const FOR_EVER: f64 = 1e6;
/// Tensile strengths for which the endurance limit is known to follow them, MPa (Shigley fig. 6-17).
const KNOWN: std::ops::RangeInclusive<f64> = 340.0..=1700.0;

/// A steel under a load that comes and goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tires {
    tensile: f64,
    surface: Surface,
    /// How many loads are wanted of it.
    pub(super) loads: f64,
}

impl Tires {
    /// What it bears of an alternating stress in a bar of this size, mm, MPa.
    pub(super) fn endures(&self, size: f64) -> Result<f64, ElementError> {
        let limit = endurance(self.tensile, self.surface, size, RELIABLE)?.limit;
        finite(self.tensile, limit, self.loads)
    }

    /// Tensile strength, MPa.
    pub(super) fn tensile(&self) -> f64 {
        self.tensile
    }

    /// A stress that comes and goes against its limit.
    pub(super) fn check(
        &self,
        what: &'static str,
        stress: f64,
        kf: f64,
        size: f64,
    ) -> Result<Check, ElementError> {
        pulsing(what, stress, kf, self.endures(size)?, self.tensile)
    }

    /// "its load comes and goes from nothing to the worst, 120 000 times: half of it alternates (Goodman, 99 of 100)".
    pub(super) fn words(&self) -> String {
        format!(
            "its load comes and goes from nothing to the worst, {}: half of it alternates (Goodman; 99 of 100 bear it)",
            often(self.loads)
        )
    }
}

/// "120 000 times" or "for ever".
pub(super) fn often(loads: f64) -> String {
    if loads >= FOR_EVER {
        String::from("for ever")
    } else {
        format!("{} times", super::say::factor(loads.max(1.0)))
    }
}

impl Study<'_> {
    /// How many loads are wanted of what is loaded so often a minute: for ever where no life is wanted.
    pub(super) fn loads_wanted(&self, per_minute: f64) -> f64 {
        let hours = self.machine.work.usual.life_hours;
        hours.map_or(1e9, |h| (60.0 * per_minute * h).clamp(1.0, 1e9))
    }

    /// Loads wanted of joints that a drive moves which works by the minute; none where none does.
    fn wanted_of<'t>(&self, turned: impl Iterator<Item = &'t Turned>) -> Option<f64> {
        turned
            .filter_map(|t| self.per_minute(t))
            .reduce(f64::max)
            .map(|n| self.loads_wanted(n))
    }

    /// The greatest force on these joints that comes again and again, N.
    pub(super) fn comes_again(&self, joints: &[usize]) -> f64 {
        let most = |j: &usize| Some(self.working.joints.get(*j)?.most.value);
        joints.iter().filter_map(most).fold(0.0, f64::max)
    }

    /// How a steel tires that is loaded by what works at a point.
    pub(super) fn tires_at(&self, point: PointId, material: &Material) -> Option<Tires> {
        let joints = self.joints_at(point, None);
        let turned = joints
            .iter()
            .filter_map(|&j| self.service.joints.get(j))
            .flat_map(|s| &s.turned);
        tires(material, self.wanted_of(turned)?)
    }

    /// How a part of steel tires that is moved by what works.
    pub(super) fn tires_of(&self, part: PartId) -> Option<Tires> {
        let name = self.part(part);
        let joints = self.rig.joints.iter().zip(&self.service.joints);
        let turned = joints
            .filter(|(j, _)| j.on == name || j.by == name)
            .flat_map(|(_, s)| &s.turned);
        tires(self.material_of(part)?, self.wanted_of(turned)?)
    }
}

/// A steel that tires; none for what is no steel or of unknown strength.
pub(super) fn tires(material: &Material, loads: f64) -> Option<Tires> {
    let tensile = material.tensile.filter(|t| KNOWN.contains(t))?;
    let steel = matches!(
        super::room::family(material)?,
        Family::Steel | Family::Stainless
    );
    let name = material.taken_as.unwrap_or(&material.name);
    let rolled = ["hot rolled", "S235", "S355", "A36"]
        .iter()
        .any(|w| name.contains(w));
    let surface = if rolled {
        Surface::HotRolled
    } else {
        Surface::Machined
    };
    steel.then_some(Tires {
        tensile,
        surface,
        loads,
    })
}
