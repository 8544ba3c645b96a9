//! A cam place by place: its lift, how steep and how sharp it is.

use super::{shape, survey};
use crate::assemble::{Joint, Model};
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::TAU;

/// One place of a cam.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamBeat {
    /// Turn of the program, rad.
    pub turn: f64,
    /// Lift of the follower, mm or rad.
    pub lift: f64,
    /// Rate of the lift by the turn, mm or rad by rad.
    pub velocity: f64,
    /// Pressure angle, rad; positive while the push leans against the rise.
    pub pressure: f64,
    /// Curvature of the path of the roller's centre, 1/mm; positive where it bulges outwards.
    pub curvature: f64,
}

/// A cam over a turn of its program.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamCurve {
    /// Its name.
    pub name: String,
    /// The part that it is.
    pub part: String,
    /// Turn of its program as drawn, rad.
    pub drawn: f64,
    /// The program goes on as the part turns counter-clockwise (1) or clockwise (-1).
    pub sense: f64,
    /// Its places; the last is the first again.
    pub places: Vec<CamBeat>,
}

/// Places of a turn.
const PLACES: u32 = 720;

/// Lift, pressure angle and curvature of a cam over a turn. None when the machine has no such cam, or the drawing leaves it no shape.
pub fn curve(model: &Model, cam: usize) -> Option<CamCurve> {
    let (drawn, shape) = (model.machine.cams.get(cam)?, shape(model, cam)?);
    let constraint = model.joints.iter().position(|j| *j == Joint::Cam(cam))?;
    let m = &model.mechanism;
    let (touch, _) = m.touch(&m.params, &m.drawn, m.constraints.get(constraint)?)?;
    let place = |n: u32| {
        let turn = f64::from(n) * TAU / f64::from(PLACES);
        let motion = shape.program.at(turn);
        let place = shape.follower.place(turn, motion);
        CamBeat {
            turn,
            lift: motion.lift,
            velocity: motion.velocity,
            pressure: place.pressure,
            curvature: place.radius.recip(),
        }
    };
    Some(CamCurve {
        name: drawn.name.clone(),
        part: survey(model, cam)?.part,
        drawn: touch.turn.rem_euclid(TAU),
        sense: drawn.sense,
        places: (0..=PLACES).map(place).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assemble::assemble;
    use crate::run::Bench;

    const LIFTER: &str = include_str!("lifter.toml");

    fn model() -> Model {
        assemble(&machine::read_text("lifter.toml", LIFTER).machine.unwrap())
    }

    /// The page marks the turn of the program by the turn of the part: it is the one that the closed machine has.
    #[test]
    fn the_program_goes_with_its_part() {
        let model = model();
        let curve = curve(&model, 0).unwrap();
        let constraint = model.joints.iter().position(|j| *j == Joint::Cam(0));
        let mut bench = Bench::new(&model);
        let m = &model.mechanism;
        let part = model.machine.cams[0].part;
        for at in [10.0_f64, 77.0, 190.0, 355.0] {
            let mut stand = model.drawn();
            stand.drives[0] = at.to_radians();
            let here = bench.bring(&stand).unwrap();
            let constraint = &m.constraints[constraint.unwrap()];
            let (touch, _) = m.touch(&here.params, &here.poses, constraint).unwrap();
            let turned = here.poses[part].angle - m.drawn[part].angle;
            let told = curve.drawn + curve.sense * turned;
            let off = (touch.turn - told + 0.5 * TAU).rem_euclid(TAU) - 0.5 * TAU;
            assert!(off.abs() < 1e-9, "{at}: {off}");
        }
    }

    /// A cycloidal rise of 24 mm over 100 deg: steepest half way, where the lift goes at 2 h/β (handbook of machine design, cycloidal law), and
    /// the tangent of the pressure angle of a follower in line is velocity by distance.
    #[test]
    fn pressure_angle_of_a_cycloidal_rise() {
        let curve = curve(&model(), 0).unwrap();
        let half = curve
            .places
            .iter()
            .find(|p| (p.turn.to_degrees() - 50.0).abs() < 1e-6);
        let half = half.unwrap();
        let velocity = 2.0 * 24.0 / 100_f64.to_radians();
        assert!((half.velocity - velocity).abs() < 1e-9, "{half:?}");
        let steep = (velocity / (40.0 + 12.0)).atan();
        assert!((half.pressure.abs() - steep).abs() < 1e-9, "{half:?}");
        assert_eq!(curve.places.len(), 721);
    }
}
