//! Threads and chamfers outside: with a die, or with a single point.

use super::Step;
use super::bits::Work;
use super::diameters::{Before, before};
use super::holes::{Wanted, bore_to, drill, drill_up_to, out_of_reach, push};
use super::turned::Plan;
use crate::finding::Grade;
use crate::part::{Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::words;
use elements::setups;
use elements::threads::metric;
use quantity::Thread;

/// How far the top slide is set over for a thread of 60°, degrees (common practice).
const TOP_SLIDE: f64 = 29.5;
/// How much another thread's diameter may differ to be offered instead, as a share (common practice).
const OTHER: f64 = 0.15;

/// Whether the shop has the die.
fn has_die(work: &Work, thread: &Thread) -> bool {
    work.shop().is_none_or(|shop| {
        shop.tools.dies.iter().any(|d| {
            (d.major - thread.major).abs() < 1e-6
                && (d.pitch - thread.pitch).abs() < 1e-6
                && d.left == thread.left
        })
    })
}

/// Whether the lathe cuts its pitch.
fn has_pitch(plan: &Plan, thread: &Thread) -> bool {
    plan.lathe
        .is_some_and(|l| l.pitches.iter().any(|p| (p - thread.pitch).abs() < 1e-6))
}

/// Diameter at the bottom of a thread and of the groove behind it (common practice: a little under the root).
fn bottom(s: &Diameter, thread: &Thread) -> f64 {
    s.diameter - 1.4 * thread.pitch
}

/// How far an inner end of a step lies from an end of the part.
fn inner(s: &Diameter, right: bool, length: f64) -> f64 {
    if right { length - s.from } else { s.to }
}

/// The groove behind a thread: where the drawing has one.
pub(super) fn relief(work: &mut Work, t: &Turned, s: &Diameter, plan: &Plan, right: bool) {
    let Some(thread) = &s.thread else { return };
    // Cut towards the chuck a right-hand thread starts in the air; a left-hand one starts at its inner end, away from the chuck.
    if !s.relief {
        if thread.left
            && !has_die(work, thread)
            && has_pitch(plan, thread)
            && against_shoulder(t, s, right)
        {
            start_groove(work, t, s, thread, plan, right);
        }
        return;
    }
    let length = t.length();
    let side = if right { "right" } else { "left" };
    let d = bottom(s, thread);
    let rpm = work.rpm(Tool::Boring, s.diameter, plan.spindle());
    work.step(Step {
        text: format!(
            "Relief {} wide to ⌀{} behind the thread",
            work.mm(2.0 * thread.pitch),
            work.mm(d)
        ),
        tool: "grooving tool, radiused".to_owned(),
        rpm,
        at: format!(
            "from {} to {} of the {side} face",
            work.read(inner(s, right, length) - 2.0 * thread.pitch),
            work.read(inner(s, right, length))
        ),
        why: "the die or tool runs out into it, and the nut goes home".to_owned(),
        minutes: 2.0,
        ..Step::default()
    });
}

/// Where a left-hand thread starts when the drawing has no relief.
fn start_groove(
    work: &mut Work,
    t: &Turned,
    s: &Diameter,
    thread: &Thread,
    plan: &Plan,
    right: bool,
) {
    let side = if right { "right" } else { "left" };
    let d = bottom(s, thread);
    let rpm = work.rpm(Tool::Boring, s.diameter, plan.spindle());
    work.step(Step {
        text: format!(
            "Groove {} wide to ⌀{} at the shoulder: here the left-hand thread starts",
            work.mm(2.0 * thread.pitch),
            work.mm(d)
        ),
        tool: "grooving tool, radiused".to_owned(),
        rpm,
        at: format!(
            "{} from the {side} face",
            work.read(inner(s, right, t.length()))
        ),
        why: "the tool cannot be fed into a shoulder: it needs a place to start in".to_owned(),
        minutes: 2.0,
        ..Step::default()
    });
    work.finding(
        Grade::WayRound,
        format!(
            "{} runs up to a shoulder without a relief, and there is no die for it",
            thread.name
        ),
        "it is cut away from the chuck, so a groove two pitches wide is cut for the tool to start in; write `relief = true`, or buy the left-hand die",
    );
}

/// Whether a shoulder stands behind the inner end of a step.
fn against_shoulder(t: &Turned, s: &Diameter, right: bool) -> bool {
    let next = t.steps.iter().find(|o| {
        if right {
            (o.to - s.from).abs() < 1e-9
        } else {
            (o.from - s.to).abs() < 1e-9
        }
    });
    next.is_some_and(|o| o.diameter + 2.0 * o.throw.map_or(0.0, |x| x[0]) > s.diameter - 1e-9)
}

pub(super) fn thread(work: &mut Work, t: &Turned, s: &Diameter, plan: &Plan, right: bool) {
    let Some(thread) = &s.thread else { return };
    let cuts = has_pitch(plan, thread);
    if matches!(
        before(t, s, plan, right),
        Before::Collar | Before::Eccentric | Before::Hair
    ) {
        in_neck(work, thread, plan, cuts);
        return;
    }
    if has_die(work, thread) {
        work.step(Step {
            text: format!("Thread {} with the die in the tailstock holder, by hand, opened first, then to size; oil, half a turn back for every turn", thread.name),
            tool: format!("die {}", thread.name),
            check: format!("nut {} runs on by hand without shake", thread.name),
            minutes: 6.0,
            ..Step::default()
        });
    } else if cuts {
        single_point(
            work,
            thread,
            plan,
            "no die of this size; it also runs truer than a die",
        );
        work.finding(
            Grade::WayRound,
            format!("no die {}", thread.name),
            "it is cut with a single point on the lathe",
        );
    } else {
        let near = work.shop().and_then(|s| {
            s.tools
                .dies
                .iter()
                .filter(|d| {
                    // Another size is a way out only where it is nearly the same.
                    d.left == thread.left && (d.major - thread.major).abs() <= OTHER * thread.major
                })
                .min_by(|a, b| {
                    (a.major - thread.major)
                        .abs()
                        .total_cmp(&(b.major - thread.major).abs())
                })
                .map(|d| d.name.clone())
        });
        let other = near.map_or_else(String::new, |n| format!(", or take {n} for it and its nut"));
        work.finding(
            Grade::Cannot,
            format!("no die {} and no such pitch on the lathe", thread.name),
            format!("buy the die{other}"),
        );
        work.step(Step {
            text: format!(
                "Thread {}: this shop has no way yet, see what the first sheet says",
                thread.name
            ),
            minutes: 6.0,
            ..Step::default()
        });
    }
}

/// A thread behind a larger diameter, over which no die passes.
fn in_neck(work: &mut Work, thread: &Thread, plan: &Plan, cuts: bool) {
    let what = format!(
        "{} stands behind a larger diameter, over which no die passes",
        thread.name
    );
    if cuts {
        work.finding(
            Grade::WayRound,
            what,
            "it is cut with a single point from a groove at one end of it to a groove at the other; or make the collar a part of its own that is screwed or pressed on",
        );
        single_point(
            work,
            thread,
            plan,
            "no die passes over the larger diameter before it",
        );
        return;
    }
    work.finding(
        Grade::Cannot,
        format!("{what}, and the lathe does not cut its pitch"),
        "make the collar a part of its own that is screwed or pressed on after the thread is cut",
    );
    work.step(Step {
        text: format!(
            "Thread {}: this shop has no way yet, see what the first sheet says",
            thread.name
        ),
        minutes: 6.0,
        ..Step::default()
    });
}

/// That the spindle is turned by hand, where no speed of the lathe is slow enough.
fn by_hand(slow: Option<f64>, lathe: bool) -> &'static str {
    if slow.is_none() && lathe {
        ", the spindle turned by hand"
    } else {
        ""
    }
}

fn single_point(work: &mut Work, thread: &Thread, plan: &Plan, why: &str) {
    let away = thread.left;
    let limits = metric::limits(thread.major, thread.pitch).ok();
    let depth = 0.6134 * thread.pitch;
    // Over wires a diameter grows as the pitch diameter does.
    let wires = limits.and_then(|l| {
        let at = |pitch: f64| setups::three_wires(pitch, thread.pitch, None).ok();
        let [low, high] = [l.screw_pitch.least(), l.screw_pitch.most()].map(at);
        Some((low?, high?))
    });
    let slow = super::too_fast::threading(work, thread, plan.spindle().map(|s| s.at_most(0.0)));
    let hand = by_hand(slow, plan.spindle().is_some());
    let way = if away {
        "carriage away from the chuck (leadscrew reversed), the tool set into the groove before each cut; top slide set to 29.5° the other way"
    } else {
        "top slide set to 29.5°"
    };
    work.step(Step {
        text: format!(
            "Cut {} with a single point{hand}, {} cuts, {way}: {} on its dial in all, {} square to the axis",
            thread.name,
            words::number((depth / 0.1).ceil() + 2.0, 0),
            work.mm(depth / TOP_SLIDE.to_radians().cos()),
            work.mm(depth)
        ),
        tool: "threading tool 60°".to_owned(),
        rpm: slow,
        feed: Some(thread.pitch),
        check: wires.map_or_else(
            || "nut runs on by hand".to_owned(),
            |(low, high)| {
                format!(
                    "over three wires {}: {} to {}",
                    work.mm(low.best),
                    work.read(low.over),
                    work.read(high.over)
                )
            },
        ),
        why: why.to_owned(),
        minutes: 20.0,
        ..Step::default()
    });
}

/// Chamfers of the edges that face this end.
pub(super) fn chamfers(work: &mut Work, t: &Turned, right: bool, plan: &Plan) {
    let mut list: Vec<String> = t
        .steps
        .iter()
        .filter(|s| s.chamfer > 0.0 && free(t, s, right))
        .map(|s| format!("{} x 45° on ⌀{}", work.mm(s.chamfer), work.mm(s.diameter)))
        .collect();
    list.dedup();
    if list.is_empty() {
        return;
    }
    let rpm = work.rpm(Tool::Boring, plan.way.bar, plan.spindle());
    let starts = t
        .steps
        .iter()
        .any(|s| s.chamfer > 0.0 && s.thread.is_some() && free(t, s, right));
    work.step(Step {
        text: format!("Chamfer {}", list.join(", ")),
        tool: "chamfer tool".to_owned(),
        rpm,
        why: if starts {
            "a die starts square on a chamfer, and the first turn of the thread is whole".to_owned()
        } else {
            String::new()
        },
        minutes: 1.0,
        ..Step::default()
    });
}

/// Whether the edge of a step that faces an end is free: nothing there, or something smaller (the drawing breaks the same ones).
pub(super) fn free(t: &Turned, s: &Diameter, right: bool) -> bool {
    let next = t.steps.iter().find(|o| {
        if right {
            (o.from - s.to).abs() < 1e-9
        } else {
            (o.to - s.from).abs() < 1e-9
        }
    });
    next.is_none_or(|o| o.diameter < s.diameter && o.throw.is_none())
}

/// Edges beside eccentrics, which are there only when those are turned.
pub(super) fn beside_eccentrics(work: &mut Work, t: &Turned) {
    let sizes: Vec<String> = t
        .steps
        .windows(2)
        .flat_map(|w| [(&w[0], &w[1]), (&w[1], &w[0])])
        .filter(|(s, _)| s.throw.is_none() && s.chamfer > 0.0)
        .filter(|(s, o)| o.throw.is_some() && o.diameter < s.diameter)
        .map(|(s, _)| format!("{} x 45° on ⌀{}", work.mm(s.chamfer), work.mm(s.diameter)))
        .collect();
    if sizes.is_empty() {
        return;
    }
    work.step(Step {
        text: format!(
            "File the chamfers beside the eccentrics: {}",
            sizes.join(", ")
        ),
        tool: "file".to_owned(),
        why: "these edges are there only now".to_owned(),
        minutes: 3.0,
        ..Step::default()
    });
}

/// A thread cut inside with a single point, from a bored hole; `false` when no boring tool goes in.
pub(super) fn inside(
    work: &mut Work,
    hole: &Wanted,
    thread: &Thread,
    full: Option<f64>,
    depth: f64,
    deep: &str,
) -> bool {
    // Minor diameter of the nut: D − 1.0825 P (ISO 68-1), taken a little wide within its tolerance.
    let minor = metric::limits(thread.major, thread.pitch).map_or_else(
        |_| thread.major - 1.0825 * thread.pitch,
        |l| l.nut_minor.middle(),
    );
    let Some(drilled) =
        drill_up_to(work, minor - 0.5, hole.on).map(|d| (d.name.clone(), d.diameter))
    else {
        return false;
    };
    if out_of_reach(
        work,
        hole.on,
        minor,
        drilled.1.max(hole.open.unwrap_or(0.0)),
    ) {
        return false;
    }
    drill(
        work,
        hole,
        &drilled.0,
        drilled.1,
        depth,
        deep,
        String::new(),
    );
    let from = drilled.1.max(hole.open.unwrap_or(0.0));
    bore_to(work, hole, [from, minor], depth, deep);
    let slow = super::too_fast::threading(work, thread, hole.spindle.map(|s| s.at_most(0.0)));
    let hand = by_hand(slow, hole.spindle.is_some());
    let high = (thread.major - minor) / 2.0;
    let (cuts, shown) = (words::number((high / 0.08).ceil() + 3.0, 0), work.mm(high));
    let how_long = full.map_or_else(|| "through".to_owned(), |f| format!("{} deep", work.mm(f)));
    // The carriage goes away from the headstock when the screw is reversed: a left-hand thread begins at its inner end.
    let out = match (thread.left, full.is_some()) {
        (false, _) => "a groove or the open end for the tool to run out",
        (true, true) => {
            "the leadscrew reversed: the tool begins in a groove at the inner end, as wide as two pitches and as deep as the thread, and runs out to the right"
        }
        (true, false) => {
            "the leadscrew reversed: the tool begins behind the far end and runs out to the right"
        }
    };
    push(
        work,
        hole,
        Step {
            text: format!(
                "Cut {} inside with a single point{hand}, {how_long}, {cuts} cuts, {shown} deep in all; {out}",
                thread.name
            ),
            tool: "inside threading tool 60°".to_owned(),
            rpm: slow,
            feed: Some(thread.pitch),
            check: format!(
                "its screw, or a plug {} cut first, goes in without shake",
                thread.name
            ),
            why: "no tap of this size; the plug is the gauge".to_owned(),
            minutes: 25.0,
            ..Step::default()
        },
    );
    true
}
