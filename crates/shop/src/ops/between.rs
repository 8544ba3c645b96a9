//! Turned between centres: both ends faced and centred first, then each turned on its centres, stubs cut away at the end.

use super::Step;
use super::bits::{Caution, Work};
use super::bores::{bores, has_bores};
use super::held::{centre, end_for_centre, face, jaws, on_bar, steadied};
use super::off_axis::eccentrics;
use super::slender::in_steady;
use super::turned::{Plan, diameters, edges, zero};
use crate::part::{Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::turning::{self, is_cut, sides};

/// Both ends faced and centred first, then each turned on its centres: whatever is turned so runs true to the rest.
pub(super) fn between_centres(work: &mut Work, t: &Turned, plan: &Plan) {
    let order = sides(t);
    let bar = plan.way.bar;
    let whole = t.length() + 2.0 * plan.way.stub;
    for (n, right) in order.into_iter().enumerate() {
        let side = if right { "right" } else { "left" };
        let held = on_bar(work, plan);
        let more = steadied(
            work,
            plan,
            (1.5 * bar).max(15.0),
            turning::stands(whole, bar),
        );
        work.set_up(
            &format!("Face and centre the {side} end"),
            &plan.name,
            format!("{held}{more}"),
            "none",
            6.0,
        );
        work.caution(Caution::Chuck);
        face(work, plan, right, (n > 0).then_some(whole), bar);
        centre(
            work,
            plan,
            end_for_centre(t, plan, right),
            "turned between centres both ends are true to one another, however often the work is taken out".to_owned(),
        );
    }
    for (n, right) in order.into_iter().enumerate() {
        if !plan.way.steps(t, right).iter().any(|s| is_cut(s, bar)) {
            stub(work, t, plan, right);
            continue;
        }
        let (side, other) = if right {
            ("right", "left")
        } else {
            ("left", "right")
        };
        let dog = if n == 0 || !plan.way.steps(t, !right).iter().any(|s| is_cut(s, bar)) {
            format!("between centres, dog on the bar at the {other} end")
        } else {
            format!(
                "between centres, turned end for end, dog on the finished {other} end with soft copper under its screw"
            )
        };
        work.set_up(
            &format!("Turn the {side} end"),
            &plan.name,
            format!("{dog}{}", in_steady(work, t, plan)),
            zero(work, plan, right),
            8.0,
        );
        diameters(work, t, plan, right);
        if plan.way.stub < 1e-9 {
            edges(work, t, plan, right);
        }
    }
    eccentrics(work, t, plan);
    let left = plan.way.stub - turning::faced_away(&plan.way);
    let all = |_: &Diameter| true;
    for right in order {
        let (cut_back, bored) = (plan.way.stub > 0.0, has_bores(t, right, right == order[0]));
        if !cut_back && !bored {
            continue;
        }
        let side = if right { "right" } else { "left" };
        let held = jaws(work, t, plan, right, true, &all);
        let more = steadied(work, plan, held.out.min((1.5 * bar).max(15.0)), held.out);
        work.set_up(
            &if cut_back {
                format!("Cut back the {side} end")
            } else {
                format!("Bore the {side} end")
            },
            &plan.name,
            format!("{}{more}", held.words),
            format!("face of the {side} end is zero lengthwise"),
            held.minutes,
        );
        if cut_back {
            work.step(Step {
                text: format!("Saw off {} of the stub", work.mm(left - 1.5)),
                tool: "saw".to_owned(),
                why: "the centres have done their work".to_owned(),
                minutes: 4.0,
                ..Step::default()
            });
            let last = right != order[0];
            let to = if last { t.length() } else { t.length() + left };
            face(work, plan, right, Some(to), turning::end_diameter(t, right));
            edges(work, t, plan, right);
        }
        bores(work, t, plan, right, right == order[0]);
    }
}

/// Brings the stub of an end from which nothing is turned down to that end's own diameter, so that jaws can close on it.
fn stub(work: &mut Work, t: &Turned, plan: &Plan, right: bool) {
    let d = turning::end_diameter(t, right);
    let discs = matches!(
        plan.way.aside,
        Some(turning::Aside::Centres { discs: true, .. })
    );
    if plan.way.stub < 1e-9 || discs || d > plan.way.bar - 1e-6 {
        return;
    }
    let (side, other) = if right {
        ("right", "left")
    } else {
        ("left", "right")
    };
    work.set_up(
        &format!("Turn the stub of the {side} end"),
        &plan.name,
        format!(
            "between centres, turned end for end, dog on the finished {other} end with soft copper under its screw"
        ),
        zero(work, plan, right),
        5.0,
    );
    let rpm = work.rpm(
        Tool::Turning {
            carbide: super::diameters::carbide(work),
        },
        plan.way.bar,
        plan.spindle(),
    );
    let under = work.mm(d - 0.5);
    work.step(Step {
        text: format!(
            "Turn the stub, {} long, to ⌀{under}",
            work.mm(plan.way.stub)
        ),
        tool: "turning tool".to_owned(),
        rpm,
        at: format!("up to the shoulder of ⌀{}, without touching it", work.mm(d)),
        why: "jaws close on the diameter behind it later; it is cut away at the end".to_owned(),
        minutes: 5.0,
        ..Step::default()
    });
}
