//! What presses in the very pose that is on show, and how the machine stands when its stretch is drawn larger than it is.

use super::answers::Loads;
use super::loaded::balance;
use super::rig::Rig;
use super::row::Ready;
use super::{acting, detents, findings, gives, only, rubbing, shafts, study, summary};
use crate::assemble::{Model, Stand};
use crate::pointing::{Held, held};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use mechanics::State;

/// Loads in one pose.
#[derive(Clone, Debug)]
pub struct Pressed {
    /// The forces, of one case in one pose.
    pub loads: Loads,
    /// The machine with its stretch drawn so many times as large; none when nothing gives or it was not asked for.
    pub stretched: Option<Held>,
}

/// Forces of a case in exactly the pose of the stand: drives stay where they are, whatever the case says of them. With
/// `exaggerated` greater than nothing, also where the machine stands with its stretch so many times as large.
///
/// # Errors
/// No such case; nothing loads the machine; values that cannot be reached.
pub fn pressed(
    model: &Model,
    stand: &Stand,
    case: usize,
    exaggerated: f64,
) -> Result<Pressed, Refusal> {
    let rig = Rig::new(model);
    let mut case = only(acting::cases(&rig), case)?;
    case.when.clear();
    if case.acting.is_empty() {
        return Err(Refusal::new(
            "nothing loads this machine",
            "add a [load.NAME], a [spring.NAME] or weight = \"down\"",
        ));
    }
    let ready = Ready::new(
        &rig,
        shafts::shafts(&rig),
        rubbing::rubbing(&rig),
        gives::members(&rig),
    );
    let mut bench = Bench::new(model);
    let studied = vec![study(&ready, &mut bench, &case, stand, None)?];
    let mut loads = Loads {
        machine: model.machine.name.clone(),
        drive: None,
        joints: rig.joints.clone(),
        worst: summary::worst_joints(&rig, &studied),
        cases: studied,
        detents: detents::detents(&rig),
        assumed: summary::assumed(&ready),
        findings: Vec::new(),
    };
    loads.findings = findings::findings(&ready, &loads);
    let stretched = (exaggerated > 0.0 && exaggerated.is_finite())
        .then(|| {
            let here = bench.bring(stand).ok()?;
            stretched(&rig, &here, &case, exaggerated)
        })
        .flatten();
    Ok(Pressed { loads, stretched })
}

/// The machine closed anew with every member yielding so many times as far as it does.
fn stretched(
    rig: &Rig<'_>,
    here: &Here,
    case: &acting::LoadCase,
    exaggerated: f64,
) -> Option<Held> {
    let params = rig.params(here);
    let members = gives::members(rig);
    let tangent = members.tangent(rig, &params, &here.poses).ok()?;
    let loaded = balance(rig, &tangent, &params, &here.poses, case, &members).ok()?;
    if loaded.yields.iter().all(|y| *y == 0.0) {
        return None;
    }
    let yields = params.iter().zip(&loaded.yields);
    let moved: Vec<f64> = yields.map(|(p, y)| p + exaggerated * y).collect();
    let from = State {
        params,
        poses: here.poses.clone(),
    };
    // Where so great a stretch does not go together any more, it is drawn as far as it does.
    let followed = rig.model.follow(&rig.mechanism, &from, &moved);
    let there = Here {
        stand: here.stand.clone(),
        params: followed.state.params.get(..here.params.len())?.to_vec(),
        poses: followed.state.poses,
        ended: None,
    };
    Some(held(rig.model, &there))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    #[test]
    fn stretch_grows_as_it_is_drawn_larger_and_opens_the_gap() {
        let text = include_str!("../../../../examples/strap-embosser/machine.toml");
        let machine = machine::read_text("machine.toml", text).machine.unwrap();
        let model = crate::assemble(&machine);
        let mut stand = model.drawn();
        stand.drives = vec![std::f64::consts::PI, 70_f64.to_radians()];
        let die = machine.points.iter().position(|p| p.name == "die").unwrap();
        let free = crate::standing(&model, &stand).unwrap().points[die][1];
        let up = |times: f64| {
            let pressed = pressed(&model, &stand, 0, times).unwrap();
            pressed.stretched.unwrap().standing.points[die][1] - free
        };
        let (one, ten) = (up(10.0), up(100.0));
        assert!(one > 1e-4, "{one}");
        assert!((ten / one - 10.0).abs() < 0.5, "{one} {ten}");
        let none = pressed(&model, &stand, 0, 0.0).unwrap();
        assert!(none.stretched.is_none());
        assert!(!none.loads.cases[0].rows[0].joints.is_empty());
        assert!(pressed(&model, &stand, 7, 0.0).is_err());
    }

    #[test]
    fn drives_stay_where_they_are() {
        let text = include_str!("../../../../examples/strap-embosser/machine.toml");
        let machine = machine::read_text("machine.toml", text).machine.unwrap();
        let model = crate::assemble(&machine);
        let pressed = pressed(&model, &model.drawn(), 0, 0.0).unwrap();
        let pin = machine
            .points
            .iter()
            .position(|p| p.name == "crank-pin")
            .unwrap();
        let joints = pressed
            .loads
            .joints
            .iter()
            .zip(&pressed.loads.cases[0].rows[0].joints);
        let (_, force) = joints
            .into_iter()
            .find(|(j, _)| j.name.contains("crank-pin"))
            .unwrap();
        let at = force.place.unwrap();
        assert!((at[1] - machine.points[pin].y).abs() < 1e-9, "{at:?}");
    }
}
