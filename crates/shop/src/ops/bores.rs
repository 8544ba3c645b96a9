//! Bores on the axis of a turned part: in which order they follow one another, what their walls leave.

use super::bits::Work;
use super::holes::{On, Wanted, make};
use super::turned::Plan;
use crate::finding::Grade;
use crate::part::{Bore, Opening as _, Turned};
use crate::turning::{self, Off};
use crate::words;
use machine::work::Section;

pub(super) fn has_bores(t: &Turned, right: bool, first: bool) -> bool {
    t.bores
        .iter()
        .any(|b| b.throw.is_none() && from_here(b, right, first))
}

/// A bore is made from its own end; one that goes through, with the first end.
fn from_here(b: &Bore, right: bool, first: bool) -> bool {
    if b.blind.is_some() {
        b.left != right
    } else {
        first
    }
}

/// Bores on one axis: the smallest first, so that no drill follows a finished hole, each larger one opened from it; a reamer last.
pub(super) fn bores(work: &mut Work, t: &Turned, plan: &Plan, right: bool, first: bool) {
    let mut own: Vec<&Bore> = t
        .bores
        .iter()
        .filter(|b| b.throw.is_none() && from_here(b, right, first))
        .collect();
    own.sort_by(|a, b| a.diameter().total_cmp(&b.diameter()));
    // What is open there already: the bar's own hole, or a bore made through from the other end.
    let mut open = match work.part.section {
        Section::Tube([_, d]) => Some(d),
        _ => None,
    };
    if !first {
        for b in &t.bores {
            if b.throw.is_none() && b.blind.is_none() {
                open = Some(open.unwrap_or(0.0).max(b.diameter()));
            }
        }
    }
    let side = if right { "right" } else { "left" };
    let reamed = own.len() > 1
        && own
            .first()
            .is_some_and(|b| crate::part::cut(&b.fitted) == Some(machine::fitting::Cut::Ream));
    let mut last = Vec::new();
    for (n, b) in own.iter().enumerate() {
        let before = work.steps_now();
        // Two from both ends that meet, of one drill: it goes right through in one setting, so that both have one axis.
        if let Some(drilled) = meets(work, t, b) {
            let through = Bore {
                blind: None,
                ..(*b).clone()
            };
            if !first {
                open = Some(open.unwrap_or(0.0).max(drilled));
            }
            bore(work, t, &through, plan, side, open);
        } else {
            bore(work, t, b, plan, side, open);
        }
        if n == 0 && reamed {
            last = work.hold_back(before, "Ream");
        }
        open = Some(open.unwrap_or(0.0).max(b.diameter()));
    }
    for step in last {
        work.step(step);
    }
}

/// What a bore is drilled with, when one from the other end is drilled with the same and they meet.
fn meets(work: &Work, t: &Turned, b: &Bore) -> Option<f64> {
    let drilled = |b: &Bore| match &b.fitted {
        machine::fitting::Fitted::Tapped { thread, .. } => {
            Some(crate::tap_drill::for_thread(thread, work.shop()).diameter)
        }
        _ => None,
    };
    let (own, deep) = (drilled(b)?, b.blind?);
    let other = t.bores.iter().any(|o| {
        o.left != b.left
            && o.throw.is_none()
            && drilled(o).is_some_and(|d| (d - own).abs() < 0.01)
            && o.blind.is_some_and(|d| d + deep > t.length() - 0.01)
    });
    (other && b.throw.is_none()).then_some(own)
}

pub(super) fn bore(
    work: &mut Work,
    t: &Turned,
    b: &Bore,
    plan: &Plan,
    side: &str,
    open: Option<f64>,
) {
    let kind = if matches!(b.fitted, machine::fitting::Fitted::Tapped { .. }) {
        "thread"
    } else {
        "bore"
    };
    let wanted = Wanted {
        name: if b.blind.is_some() {
            format!("the {kind} of the {side} end")
        } else {
            format!("the {kind}")
        },
        fitted: &b.fitted,
        on: On::Lathe,
        at: "on centre".to_owned(),
        blind: b.blind,
        through: t.length(),
        spindle: plan.spindle(),
        count: 1,
        open,
        over: if plan.way.off == Off::Nothing || b.throw.is_some() {
            0.0
        } else {
            plan.way.each(t, work.shop()) - t.length() + 1.0
        },
    };
    if let machine::fitting::Fitted::Tapped { thread, .. } = &b.fitted {
        let outside = turning::end_diameter(t, !b.left);
        if open.is_some_and(|o| o > thread.major - thread.pitch + 0.2) && b.throw.is_none() {
            let shown = work.mm(open.unwrap_or(0.0));
            work.finding(
                Grade::Cannot,
                format!(
                    "{} has nothing to cut in: the part is open {shown} there",
                    thread.name
                ),
                "braze or press a plug in first, or take a larger thread",
            );
        } else if outside < 1.5 * thread.major - 1e-6 {
            let wall = work.mm((outside - thread.major) / 2.0);
            let least = work.mm(1.5 * thread.major);
            work.finding(
                Grade::WayRound,
                format!("a wall of {wall} is left round {}", thread.name),
                format!("common practice is one and a half diameters outside, ⌀{least}: take thicker bar or a smaller thread"),
            );
        }
    }
    make(work, &wanted);
    if t.length() / b.diameter().max(0.1) > 10.0 && b.blind.is_none() {
        work.finding(
            Grade::WayRound,
            format!(
                "the bore is {} times as long as wide",
                words::number(t.length() / b.diameter(), 0)
            ),
            "drill from both ends, or order gun-drilled bar",
        );
    }
}
