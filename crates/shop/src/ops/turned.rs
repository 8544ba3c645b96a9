//! Turned parts: which end first, between centres or in a chuck, threads, bores, eccentrics, cross holes, flats.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::holes::{On, Wanted, make};
use super::off_axis::{cross, eccentrics, flats, offset_bores};
use crate::cut::sawn;
use crate::finding::Grade;
use crate::part::{Bore, Opening as _, Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::words;
use elements::setups;
use elements::threads::metric;
use machine::equipment::{Holding, Lathe, Spindle};
use machine::work::{Section, across_corners};

/// Depth of a roughing cut on a bench lathe, mm on the radius (common practice).
pub(super) const ROUGH: f64 = 0.75;
/// Left for the finishing cut, mm on diameter (common practice).
const FINISH: f64 = 0.5;
/// Longer than this many diameters out of the chuck, work wants a centre (common practice).
pub(super) const SLENDER: f64 = 3.0;

pub(super) struct Plan<'a> {
    pub(super) lathe: Option<&'a Lathe>,
    pub(super) bar: f64,
    pub(super) name: String,
}

impl Plan<'_> {
    pub(super) fn spindle(&self) -> Option<&Spindle> {
        self.lathe.map(|l| &l.speeds)
    }

    pub(super) fn holds(&self, holding: Holding) -> bool {
        self.lathe.is_none_or(|l| l.holds.contains(&holding))
    }
}

pub(super) fn plan(work: &mut Work, t: &Turned) {
    let bar = match work.part.section {
        Section::Round(d) | Section::Tube([d, _]) => d,
        Section::Flat([a, b]) => a.hypot(b),
        // It swings across its corners.
        Section::Square(a) => across_corners(4, a),
        Section::Hexagon(a) => across_corners(6, a),
    };
    let lathe = work.lathe();
    let name = lathe.map_or_else(|| "lathe".to_owned(), |l| format!("lathe {}", l.name));
    let plan = Plan { lathe, bar, name };
    limits(work, t, &plan);
    let length = t.length();
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| format!("saw {}", s.name));
    let facing = work.shop().map_or(1.5, |s| s.tools.facing);
    work.set_up("Blank", &saw, "across the bar, clamped", "none", 2.0);
    let section = words::section(&work.part.section, work.bench.unit);
    let cut = work.mm(sawn(length + 2.0 * facing, work.bench.unit));
    work.step(Step {
        text: format!("Saw {cut} off {section}"),
        tool: "saw".to_owned(),
        why: format!("{} on each end to face", work.mm(facing)),
        minutes: 2.0 + bar / 20.0,
        ..Step::default()
    });
    let order = sides(t);
    for (n, right) in order.iter().copied().enumerate() {
        end(work, t, &plan, right, n == 0, order.len() == 1);
    }
    eccentrics(work, t, &plan);
    offset_bores(work, t, &plan);
    cross(work, t);
    flats(work, t);
    super::teeth::teeth(work, t);
    work.set_up("Finish", "bench", "soft jaws", "none", 1.0);
    work.step(Step {
        text: "Break all edges 0.3, wipe, measure once more cold".to_owned(),
        tool: "file".to_owned(),
        why: "warm work reads large: 0.01 on 40 for 20 degrees".to_owned(),
        minutes: 2.0,
        ..Step::default()
    });
}

fn limits(work: &mut Work, t: &Turned, plan: &Plan) {
    let Some(lathe) = plan.lathe else {
        if work.shop().is_some() {
            work.not_here(
                "this shop file has no lathe",
                "order the part, or add the lathe to the shop file",
            );
        }
        return;
    };
    let reach = t
        .steps
        .iter()
        .map(|s| s.diameter + 2.0 * s.throw.map_or(0.0, |x| x[0]))
        .fold(plan.bar, f64::max);
    let over = lathe.over_slide.unwrap_or(lathe.swing);
    if reach > over {
        work.finding(
            Grade::Cannot,
            format!(
                "it swings {}, the lathe {} over its slide",
                work.mm(reach),
                work.mm(over)
            ),
            "order the part, or make it of two pressed or welded together",
        );
    }
    if t.length() > lathe.between_centres {
        work.finding(
            Grade::Cannot,
            format!(
                "it is {} long, the lathe takes {} between centres",
                work.mm(t.length()),
                work.mm(lathe.between_centres)
            ),
            "order the part, or make it of two pieces",
        );
    }
}

/// Which ends are turned, in order: `true` the right one. One set-up does when every step falls away to one side.
fn sides(t: &Turned) -> Vec<bool> {
    let true_steps: Vec<&Diameter> = t.steps.iter().filter(|s| s.throw.is_none()).collect();
    let falls = true_steps
        .windows(2)
        .all(|w| w[1].diameter <= w[0].diameter + 1e-9);
    let rises = true_steps
        .windows(2)
        .all(|w| w[1].diameter >= w[0].diameter - 1e-9);
    // The other end has to be faced all the same.
    match (falls, rises) {
        (_, true) => vec![false, true],
        _ => vec![true, false],
    }
}

/// Steps that are turned from an end: up to the largest that runs true, which goes with the first end.
fn steps_of(t: &Turned, right: bool, first: bool) -> Vec<&Diameter> {
    let largest = t
        .steps
        .iter()
        .enumerate()
        .filter(|(_, s)| s.throw.is_none())
        .max_by(|a, b| {
            a.1.diameter
                .total_cmp(&b.1.diameter)
                .then(if right == first {
                    a.0.cmp(&b.0)
                } else {
                    b.0.cmp(&a.0)
                })
        })
        .map_or(0, |(i, _)| i);
    let order = sides(t);
    let with_largest = order.first() == Some(&right) && first || order.len() == 1;
    let take = |i: usize| {
        if right {
            if with_largest {
                i >= largest
            } else {
                i > largest
            }
        } else if with_largest {
            i <= largest
        } else {
            i < largest
        }
    };
    let mut found: Vec<&Diameter> = t
        .steps
        .iter()
        .enumerate()
        .filter(|(i, s)| take(*i) && s.throw.is_none())
        .map(|(_, s)| s)
        .collect();
    // From the chuck outward: large diameters first keep the work stiff.
    found.sort_by(|a, b| b.diameter.total_cmp(&a.diameter));
    found
}

fn end(work: &mut Work, t: &Turned, plan: &Plan, right: bool, first: bool, only: bool) {
    let side = if right { "right" } else { "left" };
    let steps = steps_of(t, right, first);
    let reach = steps
        .iter()
        .map(|s| if right { t.length() - s.from } else { s.to })
        .fold(0.0, f64::max);
    let slender = reach > SLENDER * plan.bar;
    let classed = steps.iter().any(|s| s.class.is_some());
    let other_classed = t
        .steps
        .iter()
        .filter(|s| s.throw.is_none() && s.class.is_some())
        .count()
        > steps.iter().filter(|s| s.class.is_some()).count();
    let true_to_first = !first && classed && other_classed;
    let holding = if let Some(holding) = flat_sided(work, plan) {
        holding
    } else if true_to_first {
        if plan.holds(Holding::Centres) {
            "between centres, driven by a dog on the finished end (soft copper under the screw)"
        } else if plan.holds(Holding::Collets) {
            "collet on the finished end"
        } else {
            "four-jaw chuck on the finished end, set with an indicator to run true"
        }
    } else if slender && plan.holds(Holding::ThreeJaw) {
        "three-jaw chuck, tailstock centre at the free end"
    } else if plan.holds(Holding::ThreeJaw) {
        "three-jaw chuck, standing out no more than it has to"
    } else {
        "chuck"
    };
    let title = if first {
        format!("Turn the {side} end")
    } else {
        format!("Turn round: the {side} end")
    };
    work.set_up(
        &title,
        &plan.name,
        holding,
        format!("face of the {side} end is zero lengthwise"),
        if true_to_first { 15.0 } else { 6.0 },
    );
    if work.is_open_empty() {
        work.caution(Caution::Chuck);
    }
    indicated(work, plan);
    if let Some(lathe) = plan.lathe {
        let sticks = t.length() - reach;
        if plan.bar > lathe.spindle_bore && sticks > 120.0 && !slender {
            work.finding(
                Grade::WayRound,
                format!(
                    "bar {} does not go into the spindle's bore of {}",
                    work.mm(plan.bar),
                    work.mm(lathe.spindle_bore)
                ),
                "hold it short and support the free end with the tailstock or the steady",
            );
        }
        if plan.bar <= lathe.spindle_bore && sticks > 150.0 {
            work.caution(Caution::LongStock);
        }
    }
    let rpm = work.rpm(
        Tool::Turning {
            carbide: carbide(work),
        },
        plan.bar,
        plan.spindle(),
    );
    let length = work.measure("length", t.length(), None);
    work.step(Step {
        text: if first {
            format!("Face the {side} end clean")
        } else {
            format!("Face the {side} end to length {}", work.mm(t.length()))
        },
        tool: "facing tool".to_owned(),
        rpm,
        feed: fine(plan),
        check: if first { String::new() } else { length },
        why: if first {
            "lengths are taken from it".to_owned()
        } else {
            String::new()
        },
        minutes: 2.0 + cutting(plan.bar / 2.0, 0.07, rpm.unwrap_or(300.0)),
        ..Step::default()
    });
    let bored = t.bores.iter().any(|b| b.left != right && b.throw.is_none());
    if (slender || true_to_first || centred(t, plan)) && !bored {
        let drill = work.rpm(Tool::Drill, 4.0, plan.spindle());
        work.step(Step {
            text: "Centre-drill for the tailstock".to_owned(),
            tool: "centre drill 4".to_owned(),
            rpm: drill,
            why: if slender {
                format!(
                    "{} stands out of the chuck: without a centre it springs away from the tool",
                    work.mm(reach)
                )
            } else {
                "the other end is turned between centres, true to this one".to_owned()
            },
            minutes: 1.0,
            ..Step::default()
        });
    }
    // Everything is roughed before anything is finished: heat and spring are out of it by then.
    let mut from = plan.bar;
    for s in &steps {
        if s.diameter < plan.bar - 1e-6 {
            // Beside a proud eccentric the bar stays for the steps outside of it.
            if !rough(work, t, s, plan, right, from) {
                from = s.diameter + FINISH;
            }
        }
    }
    for s in &steps {
        finish(work, t, s, plan, right);
    }
    let mut own: Vec<&machine::making::Groove> = t
        .grooves
        .iter()
        .filter(|g| steps.iter().any(|s| (s.from - 1e-9..=s.to).contains(&g.at)))
        .collect();
    own.sort_by(|a, b| a.at.total_cmp(&b.at));
    for g in own {
        let rpm = work.rpm(Tool::Boring, g.diameter, plan.spindle());
        let at = if right {
            t.length() - g.at - g.width
        } else {
            g.at
        };
        let check = format!("bottom {}", work.mm(g.diameter));
        work.step(Step {
            text: format!(
                "Groove {} wide to ⌀{}",
                work.mm(g.width),
                work.mm(g.diameter)
            ),
            tool: "grooving tool".to_owned(),
            rpm,
            at: format!("{} from the {side} face", work.read(at)),
            check,
            minutes: 3.0,
            ..Step::default()
        });
    }
    for s in steps.iter().filter(|s| s.thread.is_some()) {
        thread(work, s, plan, right, t.length());
    }
    for b in t.bores.iter().filter(|b| b.throw.is_none()) {
        let through_once = b.blind.is_none() && first;
        let here = b.left != right;
        if (b.blind.is_some() && here) || through_once {
            bore(work, t, b, plan, side);
        }
    }
    chamfers(work, &steps, right, plan);
    if only {
        work.caution(Caution::Parting);
    }
}

/// How square or hexagon bar is held; none of other bar.
fn flat_sided(work: &Work, plan: &Plan) -> Option<&'static str> {
    let (sides, _) = work.part.section.flats()?;
    Some(match sides {
        _ if plan.holds(Holding::Collets) && plan.bar < 26.0 => {
            "collet of that section, standing out no more than it has to"
        }
        6 if plan.holds(Holding::ThreeJaw) => "three-jaw chuck, a jaw on every other flat",
        _ if plan.holds(Holding::FourJaw) => "four-jaw chuck, soft packing under each jaw",
        _ => "in a bored sleeve slit on one side, in the three-jaw chuck",
    })
}

/// Square stock in a four-jaw chuck is set true by its flats.
fn indicated(work: &mut Work, plan: &Plan) {
    let Some((4, across)) = work.part.section.flats() else {
        return;
    };
    if plan.holds(Holding::Collets) && plan.bar < 26.0 {
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
    work.step(Step {
        text: "Set it true: indicator on one flat at its middle, note the reading, half a turn, the opposite flat; move the two jaws by half of the difference; then the other pair; once more at 30 out".to_owned(),
        tool: "dial indicator, the chuck turned by hand".to_owned(),
        check: format!("opposite flats within {div}; the same at the chuck and 30 out"),
        why: "flats are what four jaws hold: their middle is the axis of the bar".to_owned(),
        minutes: 8.0,
        ..Step::default()
    });
}

pub(super) fn carbide(work: &Work) -> bool {
    work.shop().is_some_and(|s| s.tools.carbide)
}

fn centred(t: &Turned, plan: &Plan) -> bool {
    let classed =
        |right: bool, first: bool| steps_of(t, right, first).iter().any(|s| s.class.is_some());
    let order = sides(t);
    order.len() == 2
        && classed(order[0], true)
        && classed(order[1], false)
        && plan.holds(Holding::Centres)
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

/// What is turned for a step: from the end to its inner shoulder, or its own length where an eccentric beside it stands proud of it.
fn stretch(work: &Work, t: &Turned, s: &Diameter, right: bool) -> (f64, String) {
    let side = if right { "right" } else { "left" };
    let proud = t.steps.iter().any(|e| {
        let between = if right {
            e.from >= s.to - 1e-9
        } else {
            e.to <= s.from + 1e-9
        };
        between
            && e.throw
                .is_some_and(|x| e.diameter / 2.0 + x[0] > s.diameter / 2.0 + 1e-9)
    });
    let to = if right { t.length() - s.from } else { s.to };
    let near = if right { t.length() - s.to } else { s.from };
    if proud {
        (
            s.length(),
            format!(
                "from {} to {} of the {side} face",
                work.read(near),
                work.read(to)
            ),
        )
    } else {
        (to, format!("{} from the {side} face", work.read(to)))
    }
}

/// Says whether a proud eccentric was left standing.
fn rough(work: &mut Work, t: &Turned, s: &Diameter, plan: &Plan, right: bool, from: f64) -> bool {
    let (long, at) = stretch(work, t, s, right);
    // Beside a proud eccentric the bar is still there.
    let proud = at.starts_with("from");
    let from = if proud { plan.bar } else { from };
    let passes = ((from - s.diameter - FINISH) / (2.0 * ROUGH)).ceil();
    if passes < 1.0 {
        return proud;
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
    work.step(Step {
        text: format!(
            "Rough to ⌀{}, {} long, {cuts}",
            work.mm(s.diameter + FINISH),
            work.mm(long)
        ),
        tool: turning_tool(work).to_owned(),
        rpm,
        feed: Some(feed),
        why: if proud {
            "the eccentric beside it keeps the bar's diameter".to_owned()
        } else {
            String::new()
        },
        at,
        minutes: 1.0 + passes * (0.5 + cutting(long, feed, rpm.unwrap_or(300.0))),
        ..Step::default()
    });
    proud
}

fn turning_tool(work: &Work) -> &'static str {
    if carbide(work) {
        "carbide turning tool"
    } else {
        "turning tool, HSS"
    }
}

fn finish(work: &mut Work, t: &Turned, s: &Diameter, plan: &Plan, right: bool) {
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
    if s.diameter >= plan.bar - 1e-6 {
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
    let (long, at) = stretch(work, t, s, right);
    let edge = turning_tool(work);
    // The external thread is turned a tenth of its pitch under (common practice).
    let target = match (&s.thread, &s.class) {
        (Some(thread), _) => s.diameter - 0.1 * thread.pitch,
        (None, Some(c)) => c.limits.middle(),
        _ => s.diameter,
    };
    let rpm = work.rpm(tool, s.diameter, plan.spindle());
    let fine = fine(plan).unwrap_or(0.07);
    let dial = plan
        .lathe
        .map_or(0.02, |l| l.dial * if l.on_diameter { 1.0 } else { 2.0 });
    let held = s
        .class
        .as_ref()
        .is_some_and(|c| c.limits.tolerance() < 0.05);
    let check = match &s.thread {
        Some(_) => format!("diameter {} (caliper)", work.mm(target)),
        None => work.measure("diameter", s.diameter, s.class.as_ref()),
    };
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
                format!("one division of the cross slide is {d} on diameter: set the top slide over to 5.74 degrees so that 0.1 along it is 0.01 in depth, and finish the last hundredth with fine emery on a board"),
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
        why: if held {
            "the last two cuts are alike, so that the tool springs alike".to_owned()
        } else {
            String::new()
        },
        minutes: if held { 6.0 } else { 2.0 } + 2.0 * cutting(long, fine, rpm.unwrap_or(400.0)),
        ..Step::default()
    });
}

fn thread(work: &mut Work, s: &Diameter, plan: &Plan, right: bool, length: f64) {
    let Some(thread) = &s.thread else { return };
    let side = if right { "right" } else { "left" };
    let inner = if right { length - s.from } else { s.to };
    if s.relief {
        let d = s.diameter - 1.4 * thread.pitch;
        let rpm = work.rpm(Tool::Boring, s.diameter, plan.spindle());
        work.step(Step {
            text: format!(
                "Relief {} wide to ⌀{} behind the thread",
                work.mm(2.0 * thread.pitch),
                work.mm(d)
            ),
            tool: "grooving tool, radiused".to_owned(),
            rpm,
            at: format!("{} from the {side} face", work.read(inner)),
            why: "the die or tool runs out into it, and the nut goes home".to_owned(),
            minutes: 2.0,
            ..Step::default()
        });
    }
    let die = work.shop().is_none_or(|shop| {
        shop.tools.dies.iter().any(|d| {
            (d.major - thread.major).abs() < 1e-6
                && (d.pitch - thread.pitch).abs() < 1e-6
                && d.left == thread.left
        })
    });
    let cuts = plan
        .lathe
        .is_some_and(|l| l.pitches.iter().any(|p| (p - thread.pitch).abs() < 1e-6));
    if die {
        work.step(Step {
            text: format!("Thread {} with the die in the tailstock holder, by hand, opened first, then to size; oil, half a turn back for every turn", thread.name),
            tool: format!("die {}", thread.name),
            check: format!("nut {} runs on by hand without shake", thread.name),
            minutes: 6.0,
            ..Step::default()
        });
    } else if cuts {
        let wires = metric::limits(thread.major, thread.pitch)
            .ok()
            .and_then(|l| setups::three_wires(l.screw_pitch.middle(), thread.pitch, None).ok());
        let depth = 0.6134 * thread.pitch;
        let slow = plan.spindle().map(|s| s.at_most(0.0));
        work.step(Step {
            text: format!(
                "Cut {} with a single point, {} cuts, top slide set to 29.5°, {} deep in all",
                thread.name,
                words::number((depth / 0.1).ceil() + 2.0, 0),
                work.mm(depth)
            ),
            tool: "threading tool 60°".to_owned(),
            rpm: slow,
            feed: Some(thread.pitch),
            check: wires.map_or_else(
                || "nut runs on by hand".to_owned(),
                |w| {
                    format!(
                        "over three wires {}: {}",
                        work.mm(w.best),
                        words::number(w.over, 3)
                    )
                },
            ),
            why: "no die of this size; it also runs truer than a die".to_owned(),
            minutes: 20.0,
            ..Step::default()
        });
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
                .filter(|d| d.left == thread.left)
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

pub(super) fn bore(work: &mut Work, t: &Turned, b: &Bore, plan: &Plan, side: &str) {
    let wanted = Wanted {
        name: format!(
            "the {} of the {side} end",
            if matches!(b.fitted, machine::fitting::Fitted::Tapped { .. }) {
                "thread"
            } else {
                "bore"
            }
        ),
        fitted: &b.fitted,
        on: On::Lathe,
        at: "on centre".to_owned(),
        blind: b.blind,
        through: t.length(),
        spindle: plan.spindle(),
        count: 1,
    };
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

fn chamfers(work: &mut Work, steps: &[&Diameter], right: bool, plan: &Plan) {
    let with: Vec<&&Diameter> = steps.iter().filter(|s| s.chamfer > 0.0).collect();
    if with.is_empty() {
        return;
    }
    let list: Vec<String> = with
        .iter()
        .map(|s| format!("{} x 45° on ⌀{}", work.mm(s.chamfer), work.mm(s.diameter)))
        .collect();
    let rpm = work.rpm(Tool::Boring, plan.bar, plan.spindle());
    let _ = right;
    work.step(Step {
        text: format!("Chamfer {}", list.join(", ")),
        tool: "chamfer tool".to_owned(),
        rpm,
        minutes: 1.0,
        ..Step::default()
    });
}
