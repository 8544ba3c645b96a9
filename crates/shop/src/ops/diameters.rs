//! Diameters turned from an end: roughed, finished to what is wanted, where each begins and ends.

use super::Step;
use super::bits::{Work, cutting};
use super::turned::Plan;
use crate::finding::Grade;
use crate::part::{Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::turning::{is_cut, nearer, spoils, target};
use crate::words;

/// Depth of a roughing cut on a bench lathe, mm on the radius (common practice).
pub(super) const ROUGH: f64 = 0.75;
/// Left for the finishing cut, mm on diameter (common practice).
pub(super) const FINISH: f64 = 0.5;

pub(super) fn carbide(work: &Work) -> bool {
    work.shop().is_some_and(|s| s.tools.carbide)
}

pub(super) fn fine(plan: &Plan) -> Option<f64> {
    plan.lathe.and_then(|l| l.feeds.first().copied())
}

fn coarse(plan: &Plan) -> Option<f64> {
    plan.lathe.and_then(|l| {
        l.feeds
            .iter()
            .copied()
            .filter(|f| *f <= 0.15)
            .max_by(f64::total_cmp)
            .or(l.feeds.first().copied())
    })
}

/// What stands between a step and the end that it is turned from.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Before {
    /// Nothing that is larger: the tool comes in from the end.
    Free,
    /// The same size but for a hair, that another class or a thread makes: the tool passes it without touching.
    Hair,
    /// A larger diameter: the step is a neck behind a collar.
    Collar,
    /// An eccentric that stands proud of it.
    Eccentric,
    /// Discs of the bar's diameter that stay on for the eccentrics' centres.
    Disc,
}

impl Before {
    /// A common tool does not get there: it would cut into what stands nearer the end.
    fn shuts(self) -> bool {
        matches!(self, Self::Collar | Self::Eccentric)
    }
}

/// What stands between a step and the end.
pub(super) fn before(t: &Turned, s: &Diameter, plan: &Plan, right: bool) -> Before {
    // A difference that a turning tool passes over, mm on diameter.
    const HAIR: f64 = 1.0;
    let proud: Vec<&Diameter> = t
        .steps
        .iter()
        .filter(|e| nearer(e, s, right) && spoils(t, s, e))
        .collect();
    if proud.iter().any(|e| e.throw.is_some()) {
        Before::Eccentric
    } else if matches!(
        plan.way.aside,
        Some(crate::turning::Aside::Centres { discs: true, .. })
    ) {
        Before::Disc
    } else if proud.iter().any(|e| target(e) > target(s) + HAIR) {
        Before::Collar
    } else if proud.is_empty() {
        Before::Free
    } else {
        Before::Hair
    }
}

/// What is turned for a step: how long, where, and what stands before it. From the end to its inner shoulder, or its own length where something
/// beside it stands proud of it.
fn stretch(
    work: &Work,
    t: &Turned,
    s: &Diameter,
    plan: &Plan,
    right: bool,
) -> (f64, String, Before) {
    let side = if right { "right" } else { "left" };
    let to = if right { t.length() - s.from } else { s.to };
    let near = if right { t.length() - s.to } else { s.from };
    let before = before(t, s, plan, right);
    if before == Before::Free {
        // Over a stub that is cut away later, too.
        return (
            to + plan.way.stub,
            format!("{} from the {side} face", work.read(to)),
            before,
        );
    }
    let at = format!(
        "from {} to {} of the {side} face",
        work.read(near),
        work.read(to)
    );
    (s.length(), at, before)
}

/// What stands where a step is to be turned once those before it are roughed.
pub(super) fn stands(t: &Turned, s: &Diameter, plan: &Plan, right: bool) -> f64 {
    plan.way
        .steps(t, right)
        .into_iter()
        .take_while(|o| !std::ptr::eq(*o, s))
        .filter(|o| {
            let over = if right {
                o.from <= s.from + 1e-9
            } else {
                o.to >= s.to - 1e-9
            };
            over && before(t, o, plan, right) == Before::Free && o.diameter < plan.way.bar - 1e-6
        })
        .map(|o| o.diameter + FINISH)
        .fold(plan.way.bar, f64::min)
}

/// Roughs a step from what stands there.
pub(super) fn rough(
    work: &mut Work,
    t: &Turned,
    s: &Diameter,
    plan: &Plan,
    right: bool,
    from: f64,
) {
    let (long, at, before) = stretch(work, t, s, plan, right);
    let passes = ((from - s.diameter - FINISH) / (2.0 * ROUGH)).ceil();
    if passes < 1.0 {
        return;
    }
    let rpm = work.rpm(
        Tool::Turning {
            carbide: carbide(work),
        },
        from,
        plan.spindle(),
    );
    let feed = coarse(plan).unwrap_or(0.1);
    let each = work.mm((from - s.diameter - FINISH) / passes / 2.0);
    let cuts = if passes > 1.0 {
        format!("{} cuts of {each}", words::number(passes, 0))
    } else {
        format!("one cut of {each}")
    };
    let collar = before.shuts();
    work.step(Step {
        text: format!(
            "Rough to ⌀{}, {} long, {cuts}{}",
            work.mm(s.diameter + FINISH),
            work.mm(long),
            if collar {
                ", plunged in at its shoulder"
            } else {
                ""
            }
        ),
        tool: if collar {
            BETWEEN.to_owned()
        } else {
            turning_tool(work).to_owned()
        },
        rpm: if collar {
            rpm.map(|r| plan.spindle().map_or(r, |s| s.at_most(r / 2.0)))
        } else {
            rpm
        },
        feed: Some(feed),
        why: match before {
            Before::Eccentric => "the eccentric beside it keeps the bar's diameter".to_owned(),
            Before::Collar => {
                "the larger diameter nearer the end stays: the tool does not come in from the end"
                    .to_owned()
            }
            Before::Free | Before::Hair | Before::Disc => String::new(),
        },
        at,
        minutes: 1.0 + passes * (0.5 + cutting(long, feed, rpm.unwrap_or(300.0))),
        ..Step::default()
    });
}

/// What turns a neck between two shoulders.
const BETWEEN: &str = "narrow tool between the shoulders, cutting to both sides";

fn turning_tool(work: &Work) -> &'static str {
    if carbide(work) {
        "carbide turning tool"
    } else {
        "turning tool, HSS"
    }
}

pub(super) fn finish(work: &mut Work, t: &Turned, s: &Diameter, plan: &Plan, right: bool) {
    if s.as_bar {
        let across = s.across().unwrap_or(s.diameter);
        work.step(Step {
            text: format!(
                "{} {} is the bar as it came",
                if s.sides == 4 { "Square" } else { "Hexagon" },
                work.mm(across)
            ),
            tool: "micrometer".to_owned(),
            check: work.measure("across flats", across, None),
            why: "drawn bar keeps its size and finish".to_owned(),
            minutes: 1.0,
            ..Step::default()
        });
        return;
    }
    if !is_cut(s, plan.way.bar) {
        work.step(Step {
            text: if s.class.is_some() {
                format!(
                    "⌀{} is the bar as it came: measure it at three places; where it is outside its limits, turn it from the next bar up",
                    work.mm(s.diameter)
                )
            } else {
                format!("⌀{} is the bar as it came", work.mm(s.diameter))
            },
            tool: "micrometer".to_owned(),
            check: work.measure("diameter", s.diameter, s.class.as_ref()),
            why: "ground or drawn bar keeps its size and finish".to_owned(),
            minutes: 1.0,
            ..Step::default()
        });
        return;
    }
    let tool = Tool::Turning {
        carbide: carbide(work),
    };
    let (long, at, before) = stretch(work, t, s, plan, right);
    let edge = if before.shuts() {
        BETWEEN
    } else {
        turning_tool(work)
    };
    let left = super::harden::left(work).min(super::harden::LAPPED);
    // What is ground after hardening is not held now.
    let ground = left > 0.0 && s.class.is_some() && s.thread.is_none();
    let target = target(s) + if ground { left } else { 0.0 };
    let rpm = work.rpm(tool, s.diameter, plan.spindle());
    let fine = fine(plan).unwrap_or(0.07);
    let dial = plan
        .lathe
        .map_or(0.02, |l| l.dial * if l.on_diameter { 1.0 } else { 2.0 });
    let held = !ground
        && s.class
            .as_ref()
            .is_some_and(|c| c.limits.tolerance() < 0.05);
    let check = match &s.thread {
        None if ground => format!(
            "diameter {} ± {} (micrometer)",
            work.mm(target),
            work.mm(0.005)
        ),
        Some(_) => format!("diameter {} (caliper)", work.mm(target)),
        None => work.measure("diameter", s.diameter, s.class.as_ref()),
    };
    if ground {
        let size = words::sized(s.diameter, s.class.as_ref(), work.bench.units());
        let stays = work.mm(left);
        work.finding(
            Grade::WayRound,
            format!("⌀{size} is hardened, and nothing here grinds it"),
            format!("{stays} stays on it and is lapped off: a split ring and fine paste; or buy a hardened dowel or ground bar of that size"),
        );
    }
    let mut text = format!("Finish to ⌀{}", work.mm(target));
    if held {
        text = format!(
            "{text}: cut to {}, measure, and take half of what is left twice; one division is {} on diameter",
            work.mm(target + 0.1),
            work.mm(dial)
        );
        let tolerance = s.class.as_ref().map_or(0.0, |c| c.limits.tolerance());
        if dial > tolerance + 1e-9 {
            let (d, tol) = (work.mm(dial), work.mm(tolerance));
            work.finding(
                Grade::WayRound,
                format!("⌀{} within {tol}", work.mm(s.diameter)),
                format!("one division of the cross slide is {d} on diameter: set the top slide over to 5.74 degrees so that a tenth of what it moves goes into depth, and finish the last {} with fine emery on a board", work.allowance_last()),
            );
        }
    }
    work.step(Step {
        text,
        tool: format!("{edge}, sharp"),
        rpm,
        feed: Some(fine),
        at,
        check,
        why: if ground {
            format!(
                "{} stays on and is lapped off after hardening",
                work.mm(left)
            )
        } else if held {
            "the last two cuts are alike, so that the tool springs alike".to_owned()
        } else {
            String::new()
        },
        minutes: if held { 6.0 } else { 2.0 } + 2.0 * cutting(long, fine, rpm.unwrap_or(400.0)),
        ..Step::default()
    });
}
