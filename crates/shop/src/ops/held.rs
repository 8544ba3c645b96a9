//! How turned work is held, in words: on what, how it is kept from marks, how true it has to run, how far it stands out.

use super::Step;
use super::bits::{Work, cutting};
use super::diameters::{carbide, fine};
use super::turned::Plan;
use crate::finding::Grade;
use crate::part::{Opening, Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::turning::{CLEAR, SLENDER, end_diameter, grip, is_cut, reach, reachable};
use crate::words;
use elements::centres;
use machine::equipment::Holding;
use machine::work::Section;

/// Room between the jaws and the end of a cut, mm (common practice).
const PAST: f64 = 5.0;

/// As much of a diameter as jaws want of it, mm (common practice).
const MOST_GRIP: f64 = 25.0;

/// What holds a part.
pub(super) struct Jaws {
    /// `three-jaw chuck on ⌀18, copper under the jaws`.
    pub(super) words: String,
    /// Minutes to set up.
    pub(super) minutes: f64,
    /// How far the free end stands out, mm.
    pub(super) out: f64,
    /// The least that it may stand out for the jaws to close on that diameter, mm.
    pub(super) least: f64,
}

/// The bar as it came.
pub(super) fn on_bar(work: &Work, plan: &Plan) -> String {
    if let Some(held) = flat_sided(work, plan) {
        return held.to_owned();
    }
    match work.part.section {
        Section::Flat(_) => format!(
            "four-jaw chuck on {}, set to run true by its four sides",
            words::section(&work.part.section, work.bench.units())
        ),
        _ if plan.holds(Holding::ThreeJaw) => {
            format!("three-jaw chuck on the bar, ⌀{}", work.mm(plan.way.bar))
        }
        _ if plan.collet(plan.way.bar) => {
            format!("collet on the bar, ⌀{}", work.mm(plan.way.bar))
        }
        _ if plan.holds(Holding::FourJaw) => format!(
            "four-jaw chuck on the bar, ⌀{}, set to run true",
            work.mm(plan.way.bar)
        ),
        _ => "chuck".to_owned(),
    }
}

/// What holds a square or hexagon bar, if it is one.
fn flat_sided(work: &Work, plan: &Plan) -> Option<&'static str> {
    let (sides, _) = work.part.section.flats()?;
    Some(match sides {
        _ if plan.collet(plan.way.bar) => "collet of that section",
        6 if plan.holds(Holding::ThreeJaw) => "three-jaw chuck, a jaw on every other flat",
        _ if plan.holds(Holding::FourJaw) => "four-jaw chuck, soft packing under each jaw",
        _ => "in a bored sleeve slit on one side, in the three-jaw chuck",
    })
}

/// Sets square bar true in the four-jaw chuck, or says that there is none.
pub(super) fn indicated(work: &mut Work, plan: &Plan, out: f64) {
    let Some((4, across)) = work.part.section.flats() else {
        return;
    };
    if plan.collet(plan.way.bar) {
        return;
    }
    if !plan.holds(Holding::FourJaw) {
        let a = work.mm(across);
        work.finding(
            Grade::WayRound,
            format!("no four-jaw chuck for square {a}"),
            "a sleeve bored to its corners and slit holds it in the three-jaw chuck",
        );
        return;
    }
    let div = work.read(0.02);
    let far = (out > 20.0).then(|| work.mm((out - 5.0).min(30.0).floor()));
    let again = far
        .as_ref()
        .map_or_else(String::new, |f| format!("; once more {f} out"));
    let same = far.map_or_else(String::new, |f| {
        format!("; the same at the chuck and {f} out")
    });
    work.step(Step {
        text: format!("Set it true: indicator on one flat at its middle, note the reading, half a turn, the opposite flat; move the two jaws by half of the difference; then the other pair{again}"),
        tool: "dial indicator, the chuck turned by hand".to_owned(),
        check: format!("opposite flats within {div}{same}"),
        why: "flats are what four jaws hold: their middle is the axis of the bar".to_owned(),
        minutes: 8.0,
        ..Step::default()
    });
}

/// What the chuck closes on while the end `right` is free; `turned` says what has its size already, `close` that sizes turned now have to be
/// true to those.
pub(super) fn jaws(
    work: &mut Work,
    t: &Turned,
    plan: &Plan,
    right: bool,
    close: bool,
    turned: &dyn Fn(&Diameter) -> bool,
) -> Jaws {
    let bar = plan.way.bar;
    let bore = plan.lathe.map_or(f64::INFINITY, |l| l.spindle_bore);
    // Not what is turned in this set-up.
    let own: Vec<f64> = plan
        .way
        .steps(t, right)
        .iter()
        .filter(|s| is_cut(s, bar) && !turned(s))
        .map(|s| s.from)
        .collect();
    let mut all: Vec<&Diameter> = reachable(t, right, bar, [bore, plan.way.stub], turned)
        .into_iter()
        .filter(|s| !own.contains(&s.from))
        .collect();
    let whole = t.length() + 2.0 * plan.way.stub;
    // Where only the end is faced no tool comes further.
    let cut = if own.is_empty() {
        0.0
    } else {
        reach(t, right, bar)
    };
    // From the free end to the jaws: clear of what is cut and of the step's own edge, and no deeper in the chuck than the work goes in.
    let through = bar.min(t.largest().max(1.0)) <= bore;
    let stands = |s: &Diameter| {
        let (edge, behind) = if right {
            (t.length() - s.to, s.from)
        } else {
            (s.from, t.length() - s.to)
        };
        let edge = edge + plan.way.stub;
        let room = if s.chamfer > 0.0 && super::threads::free(t, s, right) {
            edge + s.chamfer + 1.0
        } else {
            edge
        };
        // The tool and its slide run on a little past what they cut.
        let near = room.max(if cut > 0.0 { cut + PAST } else { 0.0 });
        let near = near.max(CLEAR);
        let held = s.length().min(grip(s.diameter));
        let deep = whole - behind - plan.way.stub - held;
        // Not past the step's other end, short steps excepted.
        let last = (edge + s.length() - 3.0).max(room);
        (
            if through { near } else { near.max(deep) },
            near.min(last.max(CLEAR)),
        )
    };
    // What leaves the free end standing out too far is held elsewhere, where there is such a place.
    let touched = |s: &Diameter| {
        let edge = if right { t.length() - s.to } else { s.from };
        edge + plan.way.stub + s.length() - stands(s).0
    };
    let little = |s: &Diameter| touched(s) < 0.6 * s.diameter.min(MOST_GRIP) - 1e-9;
    all.sort_by_key(|s| (little(s), stands(s).0 > SLENDER * s.diameter));
    let Some(s) = all.first() else {
        return Jaws {
            words: on_bar(work, plan),
            minutes: 6.0,
            out: whole - grip(bar),
            least: 0.0,
        };
    };
    let (out, least) = stands(s);
    if cut > 0.0 && little(s) {
        let (grip, d) = (work.mm(touched(s).max(0.0)), work.mm(s.diameter));
        work.finding(
            Grade::WayRound,
            format!("the jaws touch {grip} of ⌀{d} when it is turned round, which does not hold against a roughing cut"),
            "finish everything at one end before it comes off the bar, or hold it on its thread in a slit nut, the tailstock centre brought up",
        );
    }
    let passed = crate::turning::passed(t, s, turned);
    if let Some(d) = passed.filter(|_| !turned(s)) {
        return Jaws {
            words: format!(
                "{} on ⌀{}, copper under the jaws",
                chuck(plan, false),
                work.mm(d)
            ),
            minutes: 8.0,
            out,
            least,
        };
    }
    if !turned(s) {
        return Jaws {
            words: on_bar(work, plan),
            minutes: 6.0,
            out,
            least,
        };
    }
    let size = words::sized(s.diameter, s.class.as_ref(), work.bench.units());
    let inside = t
        .bores
        .iter()
        .filter(|b| b.throw.is_none())
        .map(Opening::diameter)
        .fold(0.0, f64::max);
    let thin = inside > 0.6 * s.diameter;
    let true_to = work.mm(if close { 0.01 } else { 0.05 });
    let words = if let Some(thread) = &s.thread {
        format!(
            "{} on {} in a slit bush tapped {}, set to run true within {true_to} by an indicator",
            chuck(plan, close),
            thread.name,
            thread.name
        )
    } else if thin {
        format!(
            "{} on ⌀{size} in a split sleeve, drawn up lightly: the wall is {} thick and gives; run-out within {true_to}",
            chuck(plan, close),
            work.mm((s.diameter - inside) / 2.0)
        )
    } else if plan.collet(s.diameter) {
        format!("collet on ⌀{size}, run-out within {true_to}")
    } else if s.class.is_some() || close {
        format!(
            "{} on ⌀{size}, copper under the jaws, set to run true within {true_to} by an indicator",
            chuck(plan, close)
        )
    } else {
        format!("{} on ⌀{size}, copper under the jaws", chuck(plan, false))
    };
    Jaws {
        words,
        minutes: if close { 15.0 } else { 8.0 },
        out,
        least,
    }
}

fn chuck(plan: &Plan, close: bool) -> &'static str {
    if close && plan.holds(Holding::FourJaw) {
        "four-jaw chuck"
    } else if plan.holds(Holding::ThreeJaw) {
        "three-jaw chuck"
    } else if plan.holds(Holding::FourJaw) {
        "four-jaw chuck"
    } else if plan.holds(Holding::Collets) {
        "collet"
    } else {
        "chuck"
    }
}

/// How far it stands out, added to how it is held: `need` where it can be pushed into the spindle, else `out`, with the steady where that is
/// too far for nothing in the tailstock.
pub(super) fn steadied(work: &mut Work, plan: &Plan, need: f64, out: f64) -> String {
    let bar = plan.way.bar;
    let through = plan.lathe.is_none_or(|l| bar <= l.spindle_bore);
    let stands = if through { need.min(out) } else { out };
    if through || stands <= SLENDER * bar {
        return format!(
            ", {} standing out",
            work.mm(words::up(stands, work.bench.unit))
        );
    }
    let lathe = plan.lathe;
    if let Some(lathe) = lathe {
        let shown = (work.mm(bar), work.mm(lathe.spindle_bore));
        work.finding(
            Grade::WayRound,
            format!(
                "bar {} does not go into the spindle's bore of {}",
                shown.0, shown.1
            ),
            "hold it short and support the free end with the tailstock or the steady",
        );
    }
    if work.part.section.flats().is_some() || matches!(work.part.section, Section::Flat(_)) {
        format!(
            ", {} standing out: no steady runs on flats, so light cuts at the slowest speed until a centre is in its end",
            work.mm(words::up(out, work.bench.unit))
        )
    } else if lathe.is_none_or(|l| l.steady) {
        format!(
            ", {} standing out, the steady close to the free end, set while the end turns by hand",
            work.mm(words::up(out, work.bench.unit))
        )
    } else {
        format!(
            ", {} standing out and no steady: light cuts at the slowest speed",
            work.mm(words::up(out, work.bench.unit))
        )
    }
}

/// Faces an end, to a length when one is given.
pub(super) fn face(work: &mut Work, plan: &Plan, right: bool, to: Option<f64>, across: f64) {
    let side = if right { "right" } else { "left" };
    let rpm = work.rpm(
        Tool::Turning {
            carbide: carbide(work),
        },
        across,
        plan.spindle(),
    );
    let check = to.map_or_else(String::new, |l| work.measure("length", l, None));
    work.step(Step {
        text: match to {
            Some(length) => format!("Face the {side} end to length {}", work.mm(length)),
            None => format!("Face the {side} end clean"),
        },
        tool: "facing tool".to_owned(),
        rpm,
        feed: fine(plan),
        check,
        why: if to.is_none() {
            "lengths are taken from it".to_owned()
        } else {
            String::new()
        },
        minutes: 2.0 + cutting(across / 2.0, 0.07, rpm.unwrap_or(300.0)),
        ..Step::default()
    });
}

/// Centre-drills an end for a centre that carries.
pub(super) fn centre(work: &mut Work, plan: &Plan, across: f64, why: String) {
    let drill = centres::usual(across);
    let rpm = work.rpm(Tool::Drill, drill.pilot, plan.spindle());
    work.step(Step {
        text: format!(
            "Centre-drill for the tailstock, cone ⌀{}",
            work.mm(drill.cone * 0.9)
        ),
        tool: work.tool("centre drill", drill.pilot),
        rpm,
        why,
        minutes: 1.0,
        ..Step::default()
    });
}

/// A centre in the end of a part: no wider than the end bears.
pub(super) fn end_for_centre(t: &Turned, plan: &Plan, right: bool) -> f64 {
    if plan.way.stub > 0.0 {
        plan.way.bar
    } else {
        end_diameter(t, right)
    }
}
