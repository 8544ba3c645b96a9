//! Cams: how steep and how sharp, what the flank bears under its roller, how fast that turns.

use super::answers::Kind;
use super::say;
use super::study::{Draft, Study, strength};
use crate::answers::Severity;
use crate::assemble::Joint;
use crate::assemble::cams::Shape;
use crate::cams::{CamSurvey, survey};
use crate::load::service::Peak;
use crate::run::Bench;
use elements::cams::{SHAPE, Side};
use elements::contact::{self, Body, dents_at, line};
use machine::model::Cam;
use machine::work::JointAt;

/// A hard roller: bearing steel (elastic constants as of the given steel).
const HARD: [f64; 2] = [207_000.0, 0.292];

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
        self.roller_turns(&mut draft, cam, &survey);
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

    fn roller_turns(&self, draft: &mut Draft, cam: &Cam, survey: &CamSurvey) {
        let most = survey.roller_turns.value;
        let mut text = format!("its roller turns at most {most:.2} times as fast as the cam");
        let joints = self.joints_at(cam.centre, None);
        let speeds = joints
            .iter()
            .filter_map(|&j| self.service.joints.get(j))
            .flat_map(|s| &s.turned)
            .filter_map(|t| self.per_minute(t));
        let fastest = speeds.fold(None, |most: Option<f64>, s| {
            Some(most.map_or(s, |m| m.max(s)))
        });
        if let Some(per_minute) = fastest {
            text += &format!(", {:.0} turns a minute", most * per_minute);
        }
        let figure = self.figure("turns of the roller", most, "", SHAPE, text);
        draft.item.figures.push(figure);
    }

    /// Contact pressure where the joint is pressed hardest (Hertz, line contact).
    fn cam_touches(&mut self, draft: &mut Draft, index: usize, cam: &Cam) {
        let machine = self.machine;
        let Some(face) = cam.face else {
            draft.assume(
                "no `face` is given: how hard roller and cam press on one another is not checked",
            );
            return;
        };
        let peak = self.cam_force(index);
        if peak.value <= 0.0 {
            return;
        }
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
        let own = self.rig.entry(JointAt::Cam(index)).and_then(|j| j.material);
        let roller = own
            .and_then(|m| machine.work.materials.get(m))
            .map_or(HARD, |m| [m.modulus, m.poisson]);
        if own.is_none() {
            draft.assume("the roller is hard bearing steel, cylindrical, and lies flat on the cam");
        }
        let Some(flank) = self.cam_flank(index, &peak) else {
            return;
        };
        let roller = Body {
            radius: 0.5 * cam.diameter,
            youngs: roller[0],
            poisson: roller[1],
        };
        let flank = Body {
            radius: flank,
            youngs: material.modulus,
            poisson: material.poisson,
        };
        let worked = line(roller, flank, face, peak.value).and_then(|touch| {
            let mut check = contact::check(&touch, dents_at(yields, true)?)?;
            check.what = "contact pressure of roller and cam";
            Ok(check)
        });
        match worked {
            Ok(check) => draft.item.checks.push(self.check(&check, 1.0, Some(&peak))),
            Err(error) => self.say(
                Severity::Fault,
                draft,
                format!("cam {}: {error}", cam.name),
                None,
            ),
        }
    }

    fn cam_force(&self, index: usize) -> Peak {
        let joints = &self.rig.model.joints;
        let constraint = joints.iter().position(|j| *j == Joint::Cam(index));
        constraint
            .and_then(|c| self.rig.reported(c))
            .and_then(|j| self.service.joints.get(j))
            .map(|s| s.most.clone())
            .unwrap_or_default()
    }

    /// Radius of the flank where the roller stands in the hardest pose, mm; the sharpest of all where that pose cannot be told.
    fn cam_flank(&self, index: usize, peak: &Peak) -> Option<f64> {
        let model = self.rig.model;
        let shape: &Shape = model.cams.get(index)?.as_ref()?;
        let at = |turn: f64| {
            let place = shape.follower.place(turn, shape.program.at(turn));
            place.flank_radius(Side::Inner, shape.follower.roller())
        };
        let constraint = model.joints.iter().position(|j| *j == Joint::Cam(index))?;
        let constraint = model.mechanism.constraints.get(constraint)?;
        let mut stand = model.drawn();
        for (to, from) in stand.drives.iter_mut().zip(&peak.drives) {
            *to = *from;
        }
        let here = Bench::new(model).bring(&stand).ok();
        let turn = here
            .and_then(|h| model.mechanism.touch(&h.params, &h.poses, constraint))
            .map(|t| t.0.turn);
        match turn {
            Some(turn) => Some(at(turn)),
            None => (0..720)
                .map(|n| at(f64::from(n).to_radians() / 2.0))
                .filter(|r| *r > 0.0)
                .reduce(f64::min),
        }
    }
}
