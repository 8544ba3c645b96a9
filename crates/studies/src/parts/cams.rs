//! Cams: how steep and how sharp, what the flank bears under its roller, how fast that turns.

use super::answers::Kind;
use super::room::{material, stock};
use super::say;
use super::study::{Draft, Study, strength};
use crate::answers::Severity;
use crate::assemble::Joint;
use crate::cams::{CamSurvey, survey};
use crate::load::rig::Rig;
use elements::cams::SHAPE;
use elements::contact::{self, Body, dents_at, line};
use machine::model::Cam;
use machine::work::JointAt;

/// A hard roller: bearing steel (elastic constants as of the given steel).
const HARD: [f64; 2] = [207_000.0, 0.292];

/// Less than this is rounding, N.
const FAINT: f64 = 1e-6;

/// The roller of a cam as a body that is pressed; whether the file says what it is made of.
fn roller(rig: &Rig<'_>, index: usize, cam: &Cam) -> (Body, bool) {
    let own = rig.entry(JointAt::Cam(index)).and_then(|j| j.material);
    let [youngs, poisson] = own
        .and_then(|m| rig.work().materials.get(m))
        .map_or(HARD, |m| [m.modulus, m.poisson]);
    let body = Body {
        radius: 0.5 * cam.diameter,
        youngs,
        poisson,
    };
    (body, own.is_some())
}

/// What a cam is made of; without stock it is reckoned as steel.
fn flank_of<'m>(rig: &'m Rig<'_>, cam: &Cam) -> Option<&'m machine::work::Material> {
    let machine = &rig.model.machine;
    material(machine, stock(machine, cam.part))
        .or_else(|| machine.work.materials.iter().find(|m| m.name == "steel"))
}

/// The contact pressure that the flank of a cam bears before it begins to dent, MPa.
pub(crate) fn bears(rig: &Rig<'_>, index: usize) -> Option<f64> {
    let cam = rig.model.machine.cams.get(index)?;
    dents_at(strength(flank_of(rig, cam)?)?, true).ok()
}

/// Pressure of roller and cam on one another (Hertz, line contact), MPa, pressed by this force, N, on a flank of this radius, mm. None where the
/// file gives no face, or nothing presses.
pub(crate) fn pressure(rig: &Rig<'_>, index: usize, force: f64, radius: f64) -> Option<f64> {
    let machine = &rig.model.machine;
    let cam = machine.cams.get(index)?;
    let material = flank_of(rig, cam)?;
    let flank = Body {
        radius,
        youngs: material.modulus,
        poisson: material.poisson,
    };
    let touch = line(roller(rig, index, cam).0, flank, cam.face?, force);
    touch.ok().map(|t| t.pressure)
}

/// Nobody scribes a curvature closer than this: tenths of a millimetre.
fn tenth(mm: f64) -> f64 {
    (10.0 * mm).round() / 10.0
}

impl Study<'_> {
    pub(super) fn cam(&mut self, index: usize) {
        let machine = self.machine;
        let model = self.rig.model;
        let (Some(cam), Some(survey)) = (machine.cams.get(index), survey(model, index)) else {
            return;
        };
        let kind = if cam.track { "closed track" } else { "cam" };
        let what = format!(
            "{kind} for a roller of {}",
            say::size(cam.diameter, machine)
        );
        let about = format!("cam.{}", cam.name);
        let mut draft = Draft::new(Kind::Cam, what, cam.name.clone(), about, cam.place);
        self.cam_shape(&mut draft, &survey);
        self.roller_turns(&mut draft, index, cam, &survey);
        self.cam_touches(&mut draft, index, cam);
        if cam.track {
            let play = self
                .rig
                .entry(JointAt::Cam(index))
                .and_then(|j| j.clearance);
            match play {
                Some(play) => draft.assume(format!(
                    "the track is {} to {} wider than the roller: so far the follower is thrown over when the force changes sides",
                    say::close_bare(play.low, machine),
                    say::close(play.high, machine)
                )),
                None => draft.assume(format!(
                    "no play in the track is given (`[joint.{}]`, `clearance`): the roller is taken to fit, and would bind if it did",
                    cam.name
                )),
            }
        }
        self.done(draft);
    }

    fn cam_shape(&self, draft: &mut Draft, survey: &CamSurvey) {
        let machine = self.machine;
        let deg = |x: f64| format!("{:.1} deg", x.to_degrees());
        let text = format!(
            "pressure angle {} at {} of its program, {} allowed",
            deg(survey.steepest.value),
            deg(survey.steepest.at),
            deg(survey.allowed)
        );
        let mut figure = |what: &str, value: f64, unit: &str, text: String| {
            let figure = self.figure(what, value, unit, SHAPE, text);
            draft.item.figures.push(figure);
        };
        figure(
            "pressure angle",
            survey.steepest.value.to_degrees(),
            "deg",
            text,
        );
        if let Some(sharp) = &survey.sharpest {
            let text = format!(
                "the roller's path bulges to a radius of {} at {}",
                say::size(tenth(sharp.value), machine),
                deg(sharp.at)
            );
            figure("sharpest bulge", sharp.value, "mm", text);
        }
        if let Some(hollow) = &survey.hollowest {
            let text = format!(
                "the roller's path is hollow to a radius of {} at {}",
                say::size(tenth(hollow.value), machine),
                deg(hollow.at)
            );
            figure("sharpest hollow", hollow.value, "mm", text);
        }
        if let Some(circle) = survey.least_circle {
            let text = format!(
                "the roller's centre runs on {} without lift; {} would keep pressure angle and roller within their limits",
                say::size(tenth(survey.circle), machine),
                say::size(tenth(circle), machine)
            );
            figure("least circle", circle, "mm", text);
        }
    }

    fn roller_turns(&mut self, draft: &mut Draft, index: usize, cam: &Cam, survey: &CamSurvey) {
        let most = survey.roller_turns.value;
        let mut text = format!("its roller turns at most {most:.2} times as fast as the cam");
        if let Some(outer) = survey.outer_roller_turns {
            text += &format!(
                " on the inner flank, {:.2} times the other way on the outer",
                outer.value
            );
        }
        // An arm clamped to a shaft turns in the shaft's bearings.
        let part = self.machine.parts.get(cam.part);
        let shaft = part
            .and_then(|p| p.clamped_to)
            .and_then(|s| self.machine.parts.get(s));
        let centres = shaft
            .and_then(|s| s.carries.first())
            .copied()
            .into_iter()
            .chain([cam.centre]);
        let joints: Vec<usize> = centres.flat_map(|c| self.joints_at(c, None)).collect();
        let speeds = joints
            .iter()
            .filter_map(|&j| self.service.joints.get(j))
            .flat_map(|s| &s.turned)
            .filter_map(|t| self.per_minute(t));
        if let Some(per_minute) = speeds.reduce(f64::max) {
            let outer = survey.outer_roller_turns.map_or(0.0, |o| o.value);
            text += &format!(", up to {:.0} turns a minute", most.max(outer) * per_minute);
        }
        let figure = self.figure("turns of the roller", most, "", SHAPE, text);
        draft.item.figures.push(figure);
        let joints = &self.rig.model.joints;
        let constraint = joints.iter().position(|j| *j == Joint::Cam(index));
        let own = constraint
            .and_then(|c| self.rig.reported(c))
            .and_then(|j| self.service.joints.get(j));
        let both = own.is_some_and(|s| s.pull.value > FAINT && s.push.value > FAINT);
        if cam.track && both {
            draft.assume("the force goes over from one flank of the track to the other: there the roller has to turn the other way and skids until it does");
        }
        let stud = self.rig.entry(JointAt::Cam(index)).and_then(|j| j.diameter);
        if let Some(stud) = stud.filter(|stud| *stud >= cam.diameter) {
            let sentence = format!(
                "cam {}: the stud of its roller is {}, the roller itself {}: there is nothing left of the roller round it",
                cam.name,
                say::size(stud, self.machine),
                say::size(cam.diameter, self.machine)
            );
            let try_this = format!(
                "write a stud of half the roller, {}, in [joint.{}]",
                say::size(0.5 * cam.diameter, self.machine),
                cam.name
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
        }
    }

    /// Contact pressure where the joint is pressed hardest (Hertz, line contact).
    fn cam_touches(&mut self, draft: &mut Draft, index: usize, cam: &Cam) {
        let Some(face) = cam.face else {
            draft.assume(
                "no `face` is given: how hard roller and cam press on one another is not checked",
            );
            return;
        };
        let Some(pressed) = self
            .service
            .cams
            .get(index)
            .filter(|c| c.force > FAINT)
            .cloned()
        else {
            draft.assume("nothing presses roller and cam on one another in any load case");
            return;
        };
        let Some(material) = self.material_of(cam.part).or(self.steel()) else {
            return;
        };
        if self.material_of(cam.part).is_none() {
            draft.assume("no stock of the cam is given: it is reckoned as steel");
        }
        self.grade(material);
        let Some(yields) = strength(material) else {
            return;
        };
        let (roller, own) = roller(self.rig, index, cam);
        if !own {
            draft.assume("the roller is hard bearing steel, cylindrical, and lies flat on the cam");
        }
        let flank = Body {
            radius: pressed.flank,
            youngs: material.modulus,
            poisson: material.poisson,
        };
        let worked = line(roller, flank, face, pressed.force).and_then(|touch| {
            let mut check = contact::check(&touch, dents_at(yields, true)?)?;
            check.what = "contact pressure of roller and cam";
            Ok(check)
        });
        match worked {
            Ok(check) => draft
                .item
                .checks
                .push(self.check(&check, 1.0, Some(&pressed.worst))),
            Err(error) => self.say(
                Severity::Fault,
                draft,
                format!("cam {}: {error}", cam.name),
                None,
            ),
        }
    }
}
