//! Loads that come again: how often, how far both ways, and what that leaves of a metal.

use super::study::{Draft, Study};
use crate::answers::Severity;
use crate::load::rig::Found;
use crate::load::service::{JointService, Turned};
use elements::materials::{Borne, Family, find};
use elements::shafts::fatigue::{KNEE, Surface, coming_again, endurance, finite, finite_of};
use elements::{Check, ElementError};
use machine::model::{Moves, PartId, PointId};
use machine::work::Material;

/// Share of parts that shall outlive what is reckoned.
pub(super) const RELIABLE: f64 = 0.99;
/// Tensile strengths of steel for which the endurance limit is known to follow them, MPa (Shigley fig. 6-17).
const KNOWN: std::ops::RangeInclusive<f64> = 340.0..=1700.0;
/// Notches of cast iron count so far (Shigley 6-10: q 0.20 for all grades).
const IRON: f64 = 0.2;
/// Fatigue factors of a thread that was cut, and the tensile strength from which on a steel is a hard one, MPa (Shigley table 8-16: 2.8 for
/// grades up to 2, 5.8, and 3.8 from 4, 6.6; from memory).
const CUT: [f64; 2] = [2.8, 3.8];
const HARD: f64 = 600.0;

/// What a metal bears of a load that goes to and fro.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Metal {
    /// A steel, by its tensile strength and surface.
    Steel(Surface),
    /// As tested; its surface and size count unless it is cast.
    Tested { borne: Borne, cast: bool },
}

/// A metal under a load that comes again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tires {
    tensile: f64,
    metal: Metal,
    /// How many loads are wanted of it.
    pub(super) loads: f64,
    /// Share of the greatest that alternates.
    pub(super) alternates: f64,
}

/// Whether something tires.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tiring {
    /// Nothing comes again that the file tells of.
    Still,
    /// It is loaded again and again, and what its metal bears of that is not known.
    Unknown,
    /// It tires.
    Tires(Tires),
}

impl Tiring {
    pub(super) fn known(self) -> Option<Tires> {
        match self {
            Self::Tires(tires) => Some(tires),
            _ => None,
        }
    }
}

impl Tires {
    /// The same with another share that alternates.
    pub(super) fn alternating(self, alternates: f64) -> Self {
        Self { alternates, ..self }
    }

    /// The same steel as hot rolled bar of this tensile strength.
    pub(super) fn softened(self, tensile: f64) -> Self {
        match self.metal {
            Metal::Steel(_) => Self {
                tensile,
                metal: Metal::Steel(Surface::HotRolled),
                ..self
            },
            Metal::Tested { .. } => self,
        }
    }

    /// What it bears of an alternating stress in a bar of this size, mm, MPa.
    pub(super) fn endures(&self, size: f64) -> Result<f64, ElementError> {
        match self.metal {
            Metal::Steel(surface) => {
                let limit = endurance(self.tensile, surface, size, RELIABLE)?.limit;
                finite(self.tensile, limit, self.loads)
            }
            Metal::Tested { borne, cast } => {
                let tensile = self.tensile.max(200.0);
                let e = endurance(tensile, Surface::Machined, size, RELIABLE)?;
                let share = e.reliability * if cast { 1.0 } else { e.surface * e.size };
                finite_of(self.tensile, share * borne.stress, borne.loads, self.loads)
            }
        }
    }

    /// Tensile strength, MPa.
    pub(super) fn tensile(&self) -> f64 {
        self.tensile
    }

    /// A fatigue factor of steel, or what a notch of this sharpness makes of what is none: all of it, a fifth of cast iron.
    pub(super) fn notch(&self, of_steel: f64, sharpness: f64) -> f64 {
        match self.metal {
            Metal::Steel(_) => of_steel,
            Metal::Tested { cast: true, .. } => 1.0 + IRON * (sharpness - 1.0),
            Metal::Tested { .. } => sharpness,
        }
    }

    /// Fatigue factor of a thread that was cut.
    pub(super) fn cut_thread(&self) -> f64 {
        let own = CUT[usize::from(self.tensile > HARD)];
        self.notch(own, own)
    }

    /// A stress that comes again against its limit.
    pub(super) fn check(
        &self,
        what: &'static str,
        stress: f64,
        kf: f64,
        size: f64,
    ) -> Result<Check, ElementError> {
        let endures = self.endures(size)?;
        coming_again(what, stress, self.alternates, kf, endures, self.tensile)
    }

    /// "its load comes and goes from nothing to the worst, 120 000 times: half of it alternates (Goodman; 99 of 100 bear it)".
    pub(super) fn words(&self) -> String {
        format!(
            "{}{} (Goodman; 99 of 100 bear it)",
            way(self.alternates, &often(self.loads)),
            self.tested()
        )
    }

    /// What no steel bears: "; it has no endurance limit: ...".
    pub(super) fn tested(&self) -> String {
        match self.metal {
            Metal::Steel(_) => String::new(),
            Metal::Tested { borne, .. } => format!(
                "; tested to {} loads ({})",
                super::say::factor(borne.loads),
                super::study::source(borne.source)
            ),
        }
    }
}

/// How a load comes again, in words.
pub(super) fn way(alternates: f64, often: &str) -> String {
    if alternates <= 0.505 {
        format!("its load comes and goes from nothing to the worst, {often}: half of it alternates")
    } else if alternates >= 0.995 {
        format!("its load goes as far one way as the other, {often}: all of it alternates")
    } else {
        format!("its load goes both ways, {often}: {alternates:.2} of it alternates")
    }
}

/// "120 000 times" or "for ever".
pub(super) fn often(loads: f64) -> String {
    if loads >= KNEE {
        String::from("for ever")
    } else {
        format!("{} times", super::say::factor(loads.max(1.0)))
    }
}

/// Share of the load of a rod that alternates, pulled and pushed.
pub(super) fn to_and_fro(service: &JointService) -> f64 {
    let (pull, push) = (service.pull.value, service.push.value);
    if pull.max(push) <= 0.0 {
        return 0.5;
    }
    let share = 0.5 * (pull + push) / pull.max(push);
    if share > 0.995 { 1.0 } else { share }
}

impl Study<'_> {
    /// How many loads are wanted of what is loaded so often a minute: for ever where no life is wanted.
    pub(super) fn loads_wanted(&self, per_minute: f64) -> f64 {
        let hours = self.machine.work.usual.life_hours;
        hours.map_or(1e9, |h| (60.0 * per_minute * h).clamp(1.0, 1e9))
    }

    /// How often a minute what moves with a part is worked, by any drive that it hangs together with.
    pub(super) fn works(&self, part: PartId) -> Option<f64> {
        let model = self.rig.model;
        let group = |p: PartId| model.group_of.get(p).copied().flatten();
        let own = group(part)?;
        let drives = self
            .machine
            .drives
            .iter()
            .zip(&self.machine.work.per_minute);
        drives
            .filter(|(d, _)| {
                let body = match d.moves {
                    Moves::Turns(part) => Some(part),
                    Moves::Slides(slide) => self.machine.slides.get(slide).map(|s| s.part),
                };
                body.and_then(group) == Some(own)
            })
            .filter_map(|(_, often)| *often)
            .reduce(f64::max)
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

    /// Parts that a joint is between.
    fn joined(&self, joint: usize) -> Vec<PartId> {
        use mechanics::model::Constraint;
        let m = &self.rig.mechanism;
        let ends = match self.rig.found.get(joint) {
            Some(Found::Pin(c) | Found::Rod(c)) => match m.constraints.get(*c) {
                Some(Constraint::Pin { a, b } | Constraint::Rod { a, b, .. }) => vec![*a, *b],
                _ => Vec::new(),
            },
            _ => Vec::new(),
        };
        ends.into_iter().map(|a| m.anchors[a].body).collect()
    }

    /// Share of the force of the hardest of these joints that alternates, as this part feels it; as the one that feels it most where none is
    /// named.
    pub(super) fn alternates(&self, joints: &[usize], part: Option<PartId>) -> f64 {
        let hardest = joints
            .iter()
            .filter_map(|&j| Some((j, self.working.joints.get(j)?)))
            .max_by(|a, b| a.1.most.value.total_cmp(&b.1.most.value));
        let Some((joint, service)) = hardest else {
            return 0.5;
        };
        // A pin joins `on`, which comes second of its constraint, and `by`; a rod its ends in order.
        let bodies = self.joined(joint);
        let bodies: Vec<PartId> = match self.rig.found.get(joint) {
            Some(Found::Pin(_)) => bodies.into_iter().rev().collect(),
            _ => bodies,
        };
        let felt = bodies.iter().zip(&service.felt);
        let own = felt
            .filter(|(b, _)| part.is_none_or(|p| p == **b))
            .map(|(_, f)| f.alternates());
        own.reduce(f64::max).unwrap_or_else(|| {
            service
                .felt
                .iter()
                .map(crate::load::course::Turning::alternates)
                .fold(0.5, f64::max)
        })
    }

    /// How a metal tires that is loaded by what works at a point.
    pub(super) fn tires_at(&self, point: PointId, material: &Material) -> Tiring {
        let joints = self.joints_at(point, None);
        let turned = joints
            .iter()
            .filter_map(|&j| self.service.joints.get(j))
            .flat_map(|s| &s.turned);
        let worked = || {
            let parts = joints.iter().flat_map(|&j| self.joined(j));
            let most = parts.filter_map(|p| self.works(p)).reduce(f64::max);
            most.map(|n| self.loads_wanted(n))
        };
        tiring(material, self.wanted_of(turned).or_else(worked))
    }

    /// How a part tires that is moved by what works.
    pub(super) fn tires_of(&self, part: PartId) -> Tiring {
        let name = self.part(part);
        let joints = self.rig.joints.iter().zip(&self.service.joints);
        let turned = joints
            .filter(|(j, _)| j.on == name || j.by == name)
            .flat_map(|(_, s)| &s.turned);
        let worked = || self.works(part).map(|n| self.loads_wanted(n));
        self.material_of(part).map_or(Tiring::Still, |m| {
            tiring(m, self.wanted_of(turned).or_else(worked))
        })
    }

    /// Says that something comes again and what its metal bears of that is not known: nothing smaller is offered then.
    pub(super) fn untested(&mut self, draft: &mut Draft, material: &Material) {
        draft.unoffered("what it bears of loads that come again is not known");
        let sentence = format!(
            "{}, {}: it is loaded again and again, and what {} bears of that is not known: fatigue is not checked",
            draft.item.what, draft.item.at, material.name
        );
        let try_this = "name a grade of which it is known (steels by their tensile strength, 6061-T6, C36000 half hard, grey iron class 30 …), or keep its stress low";
        self.say(Severity::Caution, draft, sentence, Some(try_this.into()));
    }
}

/// How a metal tires under so many loads.
pub(super) fn tiring(material: &Material, loads: Option<f64>) -> Tiring {
    let Some(loads) = loads else {
        return Tiring::Still;
    };
    match metal(material) {
        Some((metal, tensile)) => Tiring::Tires(Tires {
            tensile,
            metal,
            loads,
            alternates: 0.5,
        }),
        None => Tiring::Unknown,
    }
}

fn metal(material: &Material) -> Option<(Metal, f64)> {
    let tensile = material.tensile?;
    let family = super::room::family(material)?;
    let name = material.taken_as.unwrap_or(&material.name);
    if !matches!(family, Family::Steel | Family::Stainless) {
        let row = find(name).ok()?;
        let cast = family == Family::Iron;
        let borne = row.borne()?;
        return Some((Metal::Tested { borne, cast }, tensile));
    }
    let rolled = ["hot rolled", "S235", "S355", "A36"]
        .iter()
        .any(|w| name.contains(w));
    let surface = if rolled {
        Surface::HotRolled
    } else {
        Surface::Machined
    };
    KNOWN
        .contains(&tensile)
        .then_some((Metal::Steel(surface), tensile))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tires(borne: Option<Borne>, tensile: f64, loads: f64) -> Tires {
        Tires {
            tensile,
            metal: borne.map_or(Metal::Steel(Surface::Machined), |borne| Metal::Tested {
                borne,
                cast: false,
            }),
            loads,
            alternates: 0.5,
        }
    }

    /// 6061-T6 bears 97 MPa at 5·10⁸ loads; 99 of 100 of its bars 0.814 of that, 20 mm thick 0.90, turned 0.986: 70 MPa.
    #[test]
    fn aluminium_has_no_limit_but_what_was_tested() {
        let t = tires(find("6061-T6").unwrap().borne(), 310.0, 1e9);
        let by_hand = 97.0 * 0.814 * 1.24 * 20f64.powf(-0.107) * 4.51 * 310f64.powf(-0.265);
        assert!((t.endures(20.0).unwrap() / by_hand - 1.0).abs() < 0.01);
        let few = Tires { loads: 1e5, ..t };
        assert!(few.endures(20.0).unwrap() > 1.5 * by_hand);
        // Reversed counts about twice what comes and goes does.
        let check = |share| {
            t.alternating(share)
                .check("", 60.0, 1.0, 20.0)
                .unwrap()
                .acts
        };
        assert!(check(1.0) > 1.5 * check(0.5));
    }

    #[test]
    fn threads_of_hard_steel_are_sharper() {
        assert_eq!(tires(None, 440.0, 1e9).cut_thread(), 2.8);
        assert_eq!(tires(None, 900.0, 1e9).cut_thread(), 3.8);
    }
}
