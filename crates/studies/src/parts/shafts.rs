//! Shafts in bending and torsion, still and turning, with the notches of what is clamped on them.

use super::answers::Kind;
use super::room::{material, stock};
use super::say;
use super::study::{Draft, Study, strength};
use crate::load::notched::{Notched, Weak};
use elements::shafts::fatigue::{self, Criterion, Loads, Strengths, Surface, endurance};
use elements::shafts::notches::{self, Keyway, Notch};
use elements::shafts::{Round, stress, yield_check};
use elements::{Check, ElementError};
use machine::fitting::{HeldBy, Key};
use machine::model::{PartId, PartKind};
use machine::work::{Material, Section};

/// Radius that a turning tool leaves in an inside corner, mm (common practice).
const CORNER: f64 = 0.4;
/// Steps lower than this many radii are no notch.
const FLAT: f64 = 0.1;
/// Steps higher than this many radii are reckoned as that high: the outer part of the shoulder carries nothing.
const TALL: f64 = 19.9;
/// Corner of a groove for a retaining ring, mm (common practice).
const GROOVE: f64 = 0.1;
/// Cross holes that the table covers, over the shaft.
const HOLES: (f64, f64) = (0.05, 0.30);

/// Share of shafts that shall outlive the endurance limit.
const RELIABLE: f64 = 0.99;

struct Bar {
    bending: f64,
    torsion: f64,
    /// It goes round under its load.
    turns: bool,
    notch: Option<(Notch, f64)>,
}

impl Study<'_> {
    pub(super) fn shaft(&mut self, part: PartId) {
        let machine = self.machine;
        let Some(shaft) = machine
            .parts
            .get(part)
            .filter(|p| p.kind == PartKind::Shaft)
        else {
            return;
        };
        let Some(bar) = stock(machine, part) else {
            return;
        };
        let section = match bar.section {
            Section::Round(diameter) => Round {
                diameter,
                bore: 0.0,
            },
            Section::Tube([diameter, bore]) => Round { diameter, bore },
            Section::Flat(_) => return,
        };
        let name = shaft.name.as_str();
        let what = format!("shaft {}", say::size(section.diameter, machine));
        let mut draft = Draft::new(
            Kind::Shaft,
            what,
            name.to_owned(),
            format!("shaft.{name}"),
            shaft.place,
        );
        if let Some(material) = material(machine, Some(bar)) {
            self.buy(
                1,
                &format!(
                    "round bar {}, {}",
                    say::size(section.diameter, machine),
                    material.name
                ),
                name,
            );
            self.grade(material);
            if let Err(error) = self.strong_shaft(&mut draft, part, section, material) {
                self.impossible(&draft, &error);
            }
        }
        self.done(draft);
    }

    fn strong_shaft(
        &mut self,
        draft: &mut Draft,
        part: PartId,
        section: Round,
        material: &Material,
    ) -> Result<(), ElementError> {
        let name = self.part(part);
        let Some(service) = self
            .service
            .shafts
            .iter()
            .find(|s| s.shaft == name)
            .cloned()
        else {
            return Ok(());
        };
        if service.bending.is_none() {
            draft.assume("no `bearings` are given: torsion alone is checked");
        }
        let bar = Bar {
            bending: service.bending.unwrap_or(0.0),
            torsion: service.torsion,
            turns: self.goes_round(part),
            notch: self.notch(part, section.diameter)?,
        };
        if bar.notch.is_none() && service.notched.is_empty() {
            draft.assume("smooth: its steps are not known (a [piece] with `starts` tells them)");
        }
        if !service.notched.is_empty() {
            draft.assume(format!(
                "inside corners of its steps have the radius of the tool, {}",
                say::size(CORNER, self.machine)
            ));
        }
        let factor = self.factor();
        for check in &checks(&bar, section, material)? {
            let checked = self.check(check, factor, Some(&service.worst));
            draft.item.checks.push(checked);
        }
        for weak in &service.notched {
            let place = self.weak_words(weak);
            for check in &weak_checks(weak, bar.turns, material, 1.0)? {
                let mut checked = self.check(check, factor, Some(&weak.worst));
                checked.what = format!("{} at {place}", check.what);
                draft.item.checks.push(checked);
            }
        }
        if bar.turns {
            draft.assume("it turns under its load: bending alternates fully, half the torsion stands; machined, 99 of 100 bear it (Goodman)");
        }
        let best = self.rounds().into_iter().find(|d| {
            let other = Round {
                diameter: *d,
                bore: 0.0,
            };
            // Steps grow and shrink with the bar.
            let grown = d / section.diameter;
            let steps = service
                .notched
                .iter()
                .map(|w| weak_checks(w, bar.turns, material, grown));
            let all: Result<Vec<Vec<Check>>, ElementError> =
                steps.chain([checks(&bar, other, material)]).collect();
            all.is_ok_and(|all| all.iter().flatten().all(|c| c.passes(factor)))
        });
        let with_steps = if service.notched.is_empty() {
            ""
        } else {
            ", its steps in proportion"
        };
        draft.would_do(
            best.map(|d| format!("round bar of {}{with_steps}", say::size(d, self.machine))),
            "round bar of this material",
            best.is_some_and(|d| d < section.diameter - 0.01),
        );
        Ok(())
    }

    /// "the step from 40 mm to 38 mm, station 60 mm".
    fn weak_words(&self, weak: &Notched) -> String {
        let size = |mm: f64| say::size(mm, self.machine);
        let what = match weak.weak {
            Weak::Step { large, small } => {
                format!("the step from {} to {}", size(large), size(small))
            }
            Weak::Groove { bottom, .. } => format!("the groove of {}", size(bottom)),
            Weak::Cross { hole, .. } => format!("the cross hole of {}", size(hole)),
        };
        format!("{what}, station {}", size(weak.station))
    }

    /// It goes round and round by a drive that has a speed or not.
    fn goes_round(&self, part: PartId) -> bool {
        let name = self.part(part);
        let joints = self.rig.joints.iter().zip(&self.service.joints);
        joints
            .filter(|(j, _)| j.on == name && j.by == "frame")
            .any(|(_, s)| s.turned.iter().any(|t| t.turns.is_some()))
    }

    /// The sharpest notch of what is held on the shaft, with the section it leaves.
    fn notch(&self, part: PartId, diameter: f64) -> Result<Option<(Notch, f64)>, ElementError> {
        let mut worst: Option<(Notch, f64)> = None;
        for (arm, made) in self.machine.parts.iter().zip(&self.machine.work.parts) {
            if arm.clamped_to != Some(part) {
                continue;
            }
            let found = match made.held_by.as_ref().map(|h| &h.by) {
                Some(HeldBy::Key(Key::Parallel { .. })) => {
                    Some((notches::keyway(diameter, Keyway::Profile)?, 1.0))
                }
                Some(HeldBy::Key(Key::Woodruff(_))) => {
                    Some((notches::keyway(diameter, Keyway::SledRunner)?, 1.0))
                }
                Some(HeldBy::Pin { diameter: pin }) => {
                    let hole = notches::cross_hole(diameter, *pin)?;
                    Some((hole.notch, hole.net_bending))
                }
                _ => None,
            };
            if let Some(found) = found
                && worst.is_none_or(|w| found.0.bending / found.1 > w.0.bending / w.1)
            {
                worst = Some(found);
            }
        }
        Ok(worst)
    }
}

fn checks(bar: &Bar, section: Round, material: &Material) -> Result<Vec<Check>, ElementError> {
    let Some(limit) = strength(material) else {
        return Ok(Vec::new());
    };
    // What breaks without yielding feels a notch under a load that stands, too.
    let (peaks, twists) = match &bar.notch {
        Some((notch, _)) if material.yields.is_none() => (notch.bending, notch.torsion),
        _ => (1.0, 1.0),
    };
    let found = stress(section, bar.bending * peaks, bar.torsion * twists, 0.0)?;
    let mut all = vec![yield_check(&found, limit)?];
    if let (true, Some(tensile), Some(yields)) = (bar.turns, material.tensile, material.yields)
        && section.bore == 0.0
        && (340.0..=1700.0).contains(&tensile)
    {
        let (kf, kfs, net) = match &bar.notch {
            Some((notch, net)) => {
                let f = notches::fatigue(notch, tensile)?;
                (f.bending, f.torsion, *net)
            }
            None => (1.0, 1.0, 1.0),
        };
        let loads = Loads {
            bending_alternating: bar.bending / net,
            bending_steady: 0.0,
            torque_alternating: bar.torsion / 2.0,
            torque_steady: bar.torsion / 2.0,
            kf,
            kfs,
        };
        let endures = endurance(tensile, Surface::Machined, section.diameter, RELIABLE)?.limit;
        let strengths = Strengths {
            endurance: endures,
            tensile,
            yields,
        };
        all.extend(fatigue::check(
            &loads,
            section.diameter,
            &strengths,
            Criterion::Goodman,
        )?);
    }
    Ok(all)
}

/// What a step, groove or cross hole bears, on a shaft `grown` times as thick.
fn weak_checks(
    weak: &Notched,
    turns: bool,
    material: &Material,
    grown: f64,
) -> Result<Vec<Check>, ElementError> {
    let left = grown * weak.weak.left();
    let section = Round {
        diameter: left,
        bore: 0.0,
    };
    let (notch, net) = match weak.weak {
        Weak::Step { large, small } => {
            let (large, small) = (grown * large, grown * small);
            let height = 0.5 * (large - small);
            let large = small + 2.0 * height.min(TALL * CORNER);
            if height < FLAT * CORNER {
                (None, 1.0)
            } else {
                (Some(notches::step(large, small, CORNER)?), 1.0)
            }
        }
        Weak::Groove { .. } => (Some(notches::ring_groove(GROOVE)?), 1.0),
        Weak::Cross { diameter, hole } => {
            let share = (hole / (grown * diameter)).clamp(HOLES.0, HOLES.1);
            let hole = notches::cross_hole(grown * diameter, share * grown * diameter)?;
            (Some(hole.notch), hole.net_bending)
        }
    };
    let bar = Bar {
        // The net section of a cross hole bears less still too.
        bending: weak.bending / net,
        torsion: weak.torsion / net,
        turns,
        notch: notch.map(|n| (n, 1.0)),
    };
    checks(&bar, section, material)
}
