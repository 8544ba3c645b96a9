//! Plans of the groups: a row of poses at a stroke where the way is clear. What a plan misses is followed step by step.

use crate::assemble::Model;
use crate::run::Here;
use mechanics::model::{ParamId, Pose};
use mechanics::plan::{Plan, Track, Want};
use std::cell::OnceCell;

/// One a group, made when first asked for, on the way of assembling in which the machine stands then.
pub(crate) struct Plans(Vec<OnceCell<Option<Plan>>>);

impl Plans {
    pub(crate) fn new(model: &Model) -> Self {
        Self(model.groups.iter().map(|_| OnceCell::new()).collect())
    }

    /// The plan of a group; none when its pose is too special to plan.
    pub(crate) fn of(&self, model: &Model, here: &Here, group: usize) -> Option<&Plan> {
        let plan = self.0.get(group)?.get_or_init(|| {
            let group = &model.groups[group];
            let poses: Vec<Pose> = group.bodies.iter().map(|&b| here.poses[b]).collect();
            Plan::new(&group.mechanism, &here.params, &poses).ok()
        });
        plan.as_ref()
    }
}

/// As a share of the machine's size: farther from where it stands a planned pose is one of another way of assembling.
const THERE: f64 = 1e-6;

/// Poses of a group while one parameter runs through `values`, from the two poses (with their parameters) that it came through: as far
/// as each is sure, one a value.
pub(super) fn ahead(
    plan: &Plan,
    [(params, before), (here, now)]: [(Vec<f64>, &[Pose]); 2],
    moved: ParamId,
    values: &[f64],
) -> Vec<Vec<Pose>> {
    let bodies = plan.mechanism().bodies.len();
    let wants: Vec<Want> = (1..bodies)
        .flat_map(|b| [Want::Pose(b), Want::Angle(b)])
        .collect();
    // The two that it came through go before: behind a change point a plan is still on the way it was made on.
    let mut all = vec![params[moved], here[moved]];
    all.extend_from_slice(values);
    let mut track = Track::new();
    let run = plan
        .sweep(&params, &[moved], &wants)
        .and_then(|sweep| sweep.run(before, &[&all], &mut track));
    if run.is_err() {
        return Vec::new();
    }
    let sure = track.missed().first().copied().unwrap_or(all.len());
    let pose = |i: usize, b: usize| {
        let (place, angle) = (track.column_of(2 * b), track.column_of(2 * b + 1));
        Pose {
            x: track.value(i, place),
            y: track.value(i, place + 1),
            angle: track.value(i, angle),
        }
    };
    let planned = |i: usize| -> Vec<Pose> {
        let still = now.first().copied().into_iter();
        still.chain((0..bodies - 1).map(|b| pose(i, b))).collect()
    };
    let size = plan.mechanism().size(&params);
    let same = |(p, q): (&Pose, &Pose)| {
        let far = (p.x - q.x).abs().max((p.y - q.y).abs());
        far.max(size * (p.angle - q.angle).abs()) <= THERE * size
    };
    let there = |i: usize, poses: &[Pose]| planned(i).iter().zip(poses).all(same);
    if sure < 2 || !there(0, before) || !there(1, now) {
        return Vec::new();
    }
    (2..sure).map(planned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::Bench;
    use crate::run::track::Track as Followed;
    use proptest::prelude::*;

    fn four_bar([a, b, c, d]: [f64; 4], deg: i32) -> String {
        format!(
            r#"
name = "Four-bar and ram"
[point]
a0 = [0, 0]
b0 = [{d}, 0]
a = {{ from = "a0", reach = {a}, angle = "{deg} deg" }}
b = {{ swing = [["a", {b}], ["b0", {c}]], take = "upper" }}
e = {{ from = "b0", by = [70, 12] }}
r = [{}, 5]
[frame]
carries = ["a0", "b0"]
[part.crank]
carries = ["a0", "a"]
[part.rocker]
carries = ["b0", "b", "e"]
[part.coupler]
carries = ["a", "b"]
[part.ram]
carries = ["r"]
[rod.push]
joins = ["e", "r"]
[slide.way]
part = "ram"
along = "right"
[drive.crank]
turns = "crank"
drawn = "{deg} deg"
"#,
            d + 260.0
        )
    }

    /// A crank that cannot go round, because within a range narrower than a step the coupler does not reach: closed form, the triangle of
    /// coupler and rocker lies flat where the crank's end is |c − b| from the rocker's shaft.
    #[test]
    fn a_gap_narrower_than_a_step_stops_the_crank() -> Result<(), String> {
        let [a, b, c, d] = [71.3_f64, 116.64, 109.75, 64.59];
        let machine = machine::read_text("t", &four_bar([a, b, c, d], 27)).machine;
        let model = crate::assemble(&machine.ok_or("not read")?);
        let here = Bench::new(&model).drawn();
        let track = Followed::over_range(&model, &Plans::new(&model), &here, 0).ok_or("no path")?;
        let stop = ((a * a + d * d - (b - c).powi(2)) / (2.0 * a * d)).acos();
        let round = std::f64::consts::TAU;
        assert!(!track.round);
        assert!((track.low.at - stop).abs() < 1e-8, "{}", track.low.at);
        assert!(
            (track.high.at - (round - stop)).abs() < 1e-8,
            "{}",
            track.high.at
        );
        Ok(())
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn planned_and_followed_paths_are_the_same(
            a in 20.0..90.0_f64, b in 40.0..120.0_f64, c in 40.0..120.0_f64, d in 60.0..130.0_f64, deg in -180..180_i32,
        ) {
            let text = four_bar([a, b, c, d], deg);
            let Some(machine) = machine::read_text("t", &text).machine else { return Ok(()) };
            let model = crate::assemble(&machine);
            let here = Bench::new(&model).drawn();
            let planned = Followed::over_range(&model, &Plans::new(&model), &here, 0);
            let none = Plans(vec![OnceCell::from(None)]);
            let followed = Followed::over_range(&model, &none, &here, 0);
            let (Some(planned), Some(followed)) = (planned, followed) else { return Err(TestCaseError::fail("no path")) };
            prop_assert_eq!(planned.samples.len(), followed.samples.len());
            prop_assert_eq!(planned.round, followed.round);
            prop_assert!((planned.low.at - followed.low.at).abs() < 1e-8);
            prop_assert!((planned.high.at - followed.high.at).abs() < 1e-8);
            prop_assert_eq!(&planned.high.cause, &followed.high.cause);
            let inner = 1..planned.samples.len().saturating_sub(1);
            for (p, q) in planned.samples[inner.clone()].iter().zip(&followed.samples[inner]) {
                prop_assert!((p.at - q.at).abs() < 1e-8);
                for (x, y) in p.poses.iter().zip(&q.poses) {
                    let far = (x.x - y.x).abs().max((x.y - y.y).abs()).max(100.0 * (x.angle - y.angle).abs());
                    prop_assert!(far < 1e-6, "{} {x:?} {y:?}", p.at);
                }
            }
        }
    }
}
