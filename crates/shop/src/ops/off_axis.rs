//! What is made off the axis of a turned part: eccentrics and bores beside it.

use super::Step;
use super::angles::reference;
use super::bits::{Caution, Work, cutting};
use super::bores::bore;
use super::diameters::{ROUGH, carbide, fine};
use super::held::{jaws, steadied};
use super::holes::{On, Wanted, make};
use super::turned::Plan;
use crate::finding::Grade;
use crate::part::{Bore, Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::turning::{Aside, end_diameter, sides};
use crate::words;
use elements::centres::Centre;
use elements::setups;
use machine::equipment::Holding;

/// Base of a V-block, chuck with a centre drill in it, mm (common practice).
const UNDER: f64 = 20.0;
const OVER: f64 = 90.0;

pub(super) fn eccentrics(work: &mut Work, t: &Turned, plan: &Plan) {
    match plan.way.aside {
        None => {}
        Some(Aside::Centres { drill, anew, discs }) => {
            second_centres(work, t, plan, drill, anew, discs);
        }
        Some(Aside::Chuck(on)) => in_chuck(work, t, plan, on),
        Some(Aside::No) => work.finding(
            Grade::Cannot,
            if plan.holds(Holding::Centres) || plan.holds(Holding::ThreeJaw) || plan.holds(Holding::FourJaw) {
                "no jaw reaches a true diameter of it, and second centres find no room in its ends"
            } else {
                "no chuck to set work off centre"
            },
            "order the part, or make the eccentrics rings of their own, pressed or pinned on a plain shaft",
        ),
    }
}

/// Throws, each place once: throw, direction, and the eccentrics that stand there.
fn throws(t: &Turned) -> Vec<([f64; 2], Vec<&Diameter>)> {
    let mut all: Vec<([f64; 2], Vec<&Diameter>)> = Vec::new();
    for s in &t.steps {
        let Some(x) = s.throw else { continue };
        let same = |o: &[f64; 2]| {
            let d = (o[1] - x[1]).rem_euclid(std::f64::consts::TAU);
            (o[0] - x[0]).abs() < 1e-9 && (d < 1e-9 || std::f64::consts::TAU - d < 1e-9)
        };
        match all.iter_mut().find(|(o, _)| same(o)) {
            Some((_, on)) => on.push(s),
            None => all.push((x, vec![s])),
        }
    }
    all
}

fn degrees(angle: f64) -> String {
    words::number(angle.to_degrees().rem_euclid(360.0), 2)
}

fn second_centres(
    work: &mut Work,
    t: &Turned,
    plan: &Plan,
    drill: Centre,
    anew: bool,
    discs: bool,
) {
    let order = sides(t);
    if anew {
        let off = crate::turning::faced_away(&plan.way);
        for right in order {
            let side = if right { "right" } else { "left" };
            let held = jaws(work, t, plan, right, false, &|s| s.throw.is_none());
            let more = steadied(work, plan, held.out.min(1.5 * plan.way.bar), held.out);
            work.set_up(
                &format!("Face the true centre of the {side} end away"),
                &plan.name,
                format!("{}{more}", held.words),
                "none",
                held.minutes,
            );
            work.step(Step {
                text: format!(
                    "Face {} off the {side} end, until nothing is seen of its centre hole",
                    work.mm(off)
                ),
                tool: "facing tool".to_owned(),
                feed: fine(plan),
                why: "the second centres would run into the true ones".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
        }
    }
    let (machine, zero) = match work.mill() {
        Some(m) => (
            words::kept("mill", &m.name),
            "indicator swept round the true diameter: zero over the axis",
        ),
        None => (
            "drill press".to_owned(),
            "punch marks on lines scribed with the height gauge",
        ),
    };
    // Block, work, chuck and centre drill stand over one another.
    let tall = t.length() + UNDER + OVER;
    let high = work
        .mill()
        .filter(|m| tall > m.travel[2])
        .map(|m| m.travel[2]);
    if let Some(high) = high {
        let (tall, high) = (work.mm(tall.ceil()), work.mm(high));
        work.finding(
            Grade::WayRound,
            format!("upright with chuck and centre drill over it the work wants {tall} of height, the mill has {high}"),
            "clamp the V-block to the side of the table, the work beside it down to the floor; or mark the centres with the height gauge and drill them on the drill press, its table swung aside",
        );
    }
    let own = if discs { "the bar's own" } else { "the true" };
    let where_ = if high.is_some() {
        ", on the side of the table, beside which the work hangs down"
    } else {
        ""
    };
    work.set_up(
        "Second centres for the eccentrics",
        &machine,
        format!("V-block on {own} diameter, upright, clamped{where_}; a line scribed along the bar over both ends"),
        zero,
        12.0,
    );
    let all = throws(t);
    let start = all.first().map_or(0.0, |(x, _)| x[1]);
    let spindle = work.mill().map(|m| &m.speeds);
    let rpm = work.rpm(Tool::Drill, drill.pilot, spindle);
    for (n, right) in order.into_iter().enumerate() {
        let side = if right { "right" } else { "left" };
        let ([e, _], _) = all.first().cloned().unwrap_or_default();
        for ([e, angle], on) in &all {
            // Seen from the left end the turning sense is the other one.
            let turned = if right { angle - start } else { start - angle };
            let at = [e * turned.cos(), e * turned.sin()];
            work.step(Step {
                text: format!(
                    "Centre-drill the {side} end for ⌀{} at {}°, the scribed line on +x",
                    on.iter()
                        .map(|s| work.mm(s.diameter))
                        .collect::<Vec<_>>()
                        .join(" and ⌀"),
                    degrees(angle - start)
                ),
                tool: work.tool("centre drill", drill.pilot),
                rpm,
                at: work.xy(at),
                check: format!("cone no wider than {}", work.mm(drill.cone)),
                why: if n == 0 {
                    "both ends alike and in line, so the eccentrics are parallel to the axis"
                        .to_owned()
                } else {
                    String::new()
                },
                minutes: 4.0,
                ..Step::default()
            });
        }
        if n == 0 {
            work.step(Step {
                text: format!(
                    "Turn the work end for end in the block, the scribed line square to the table again and on +x, zero anew: {} to the side of the axis",
                    work.mm(e)
                ),
                tool: "square, indicator".to_owned(),
                minutes: 8.0,
                ..Step::default()
            });
        }
    }
    work.set_up(
        "Turn the eccentrics",
        &plan.name,
        "between the second centres, driven by a dog, a weight opposite to what stands out",
        if plan.way.stub > 0.0 {
            format!(
                "lengths from the finished left face: it lies {} inside what stands there now",
                work.read(plan.way.stub - crate::turning::faced_away(&plan.way))
            )
        } else {
            "left face is zero lengthwise".to_owned()
        },
        12.0,
    );
    work.caution(Caution::OutOfBalance);
    for (n, (x, on)) in all.iter().enumerate() {
        if n > 0 {
            work.step(Step {
                text: format!(
                    "Change to the centres of the next throw, {}° on",
                    degrees(x[1] - start)
                ),
                tool: "dog".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
        }
        swing(work, x[0]);
        for s in on {
            turn(work, plan, s, x[0]);
        }
    }
}

fn swing(work: &mut Work, e: f64) {
    let reading = work.read(2.0 * e);
    let tool = if 2.0 * e > 10.0 {
        "dial indicator with long travel, or a height gauge high and low"
    } else {
        "dial indicator"
    };
    work.step(Step {
        text: format!("Check the throw of {}", work.read(e)),
        tool: tool.to_owned(),
        check: format!(
            "indicator on the true diameter: {reading} of swing for one turn, twice the throw"
        ),
        minutes: 4.0,
        ..Step::default()
    });
}

fn turn(work: &mut Work, plan: &Plan, s: &Diameter, e: f64) {
    let bar = plan.way.bar;
    let rpm = work
        .rpm(
            Tool::Turning {
                carbide: carbide(work),
            },
            bar,
            plan.spindle(),
        )
        .map(|r| r / 2.0);
    let rpm = rpm.map(|r| plan.spindle().map_or(r, |s| s.at_most(r)));
    let feed = fine(plan).unwrap_or(0.07);
    let passes = ((bar / 2.0 + e - s.diameter / 2.0) / ROUGH).ceil();
    let check = work.measure("journal", s.diameter, s.class.as_ref());
    work.step(Step {
        text: format!(
            "Turn ⌀{} from {} to {}, interrupted cut at first, {} cuts, the last two alike",
            work.mm(s.class.as_ref().map_or(s.diameter, |c| c.limits.middle())),
            work.mm(s.from),
            work.mm(s.to),
            words::number(passes, 0)
        ),
        tool: "turning tool, narrow, both corners radiused".to_owned(),
        rpm,
        feed: Some(feed),
        at: format!(
            "{} to {} from the left face",
            work.read(s.from),
            work.read(s.to)
        ),
        check,
        minutes: 6.0 + passes * (0.5 + cutting(s.length(), feed, rpm.unwrap_or(200.0))),
        ..Step::default()
    });
}

/// Off centre in a chuck, closed on a true diameter that its jaws reach.
fn in_chuck(work: &mut Work, t: &Turned, plan: &Plan, on: usize) {
    let Some(held) = t.steps.get(on) else { return };
    let all = throws(t);
    let Some(([throw, start], _)) = all.first() else {
        return;
    };
    let size = words::sized(held.diameter, held.class.as_ref(), work.bench.units());
    let (three, four) = (plan.holds(Holding::ThreeJaw), plan.holds(Holding::FourJaw));
    let by_four = format!("four-jaw chuck on ⌀{size}, copper under the jaws, set off centre");
    let packing = |work: &Work, e: f64| {
        let jaw = plan.lathe.map_or(14.0, |l| l.jaw_width);
        setups::packing(held.diameter, e).ok().map(|p| {
            format!(
                "{} of packing under one jaw (jaws {} wide)",
                work.read(p.under(jaw)),
                work.mm(jaw)
            )
        })
    };
    let holding = match packing(work, *throw).filter(|_| three) {
        Some(p) => {
            let or = if four { ", or four-jaw chuck" } else { "" };
            format!("three-jaw chuck on ⌀{size}, {p}{or}")
        }
        None => by_four,
    };
    work.set_up(
        "Turn the eccentrics",
        &plan.name,
        holding,
        "left face is zero lengthwise",
        20.0,
    );
    work.caution(Caution::OutOfBalance);
    for (n, (x, on)) in all.iter().enumerate() {
        let again = if n == 0 {
            String::new()
        } else {
            let p = packing(work, x[0])
                .filter(|_| three)
                .map_or_else(String::new, |p| format!(", {p}"));
            format!(
                ": throw {}, {}° on from the first, counter-clockwise as the right end is seen{p}; the angle by a protractor on a flat bar clamped to the work",
                work.read(x[0]),
                degrees(x[1] - start)
            )
        };
        work.step(Step {
            text: if n == 0 {
                "Set the throw, mark the high side".to_owned()
            } else {
                format!("Set anew{again}")
            },
            tool: "dial indicator".to_owned(),
            check: format!(
                "indicator on the true diameter: {} of swing for one turn, twice the throw",
                work.read(2.0 * x[0])
            ),
            why: "packing is squeezed and jaws are worn: the indicator decides, not the packing"
                .to_owned(),
            minutes: 10.0,
            ..Step::default()
        });
        for s in on {
            turn(work, plan, s, x[0]);
        }
    }
}

/// How angles run as an end is seen: they are told as seen from the right end, counter-clockwise.
fn turning_way(right: bool) -> &'static str {
    if right {
        "counter-clockwise"
    } else {
        "clockwise"
    }
}

/// Bores beside the axis: on the mill by coordinates where there is one, all of an end in one set-up; else off centre in the four-jaw chuck.
pub(super) fn offset_bores(work: &mut Work, t: &Turned, plan: &Plan) {
    for left in [true, false] {
        let own: Vec<&Bore> = t
            .bores
            .iter()
            .filter(|b| b.throw.is_some() && b.left == left)
            .collect();
        if own.is_empty() {
            continue;
        }
        match work.mill() {
            Some(mill) => by_coordinates(work, t, &own, mill),
            None => off_centre(work, t, plan, &own),
        }
    }
}

fn by_coordinates(work: &mut Work, t: &Turned, own: &[&Bore], mill: &machine::equipment::Mill) {
    let left = own.first().is_some_and(|b| b.left);
    let side = if left { "left" } else { "right" };
    let held = end_diameter(t, left);
    let small = t.length() > 4.0 * held;
    let holding = if small {
        format!(
            "upright in a V-block clamped to an angle plate, ⌀{} in the V",
            work.mm(held)
        )
    } else {
        format!(
            "upright, the other end on parallels: three-jaw chuck flat on the table on ⌀{}, or clamped in a V-block",
            work.mm(held)
        )
    };
    work.set_up(
        &format!("Bores off the axis, from the {side} end"),
        &words::kept("mill", &mill.name),
        holding,
        format!(
            "indicator in the spindle round ⌀{}: its middle is x 0 y 0; the {side} face is zero in depth",
            work.mm(end_diameter(t, !left))
        ),
        12.0,
    );
    let angle_of = |b: &Bore| b.throw.map_or(0.0, |x| x[1]);
    let other = t.bores.iter().any(|b| b.throw.is_some() && b.left != left);
    let zero = reference(work, t);
    if let Some(high) = super::angles::high(work, &zero) {
        work.step(Step {
            text: format!("{high}: turn the work until it stands at that angle from +x, counter-clockwise as the right end is seen: 0° of the drawing lies along +x then"),
            tool: "indicator".to_owned(),
            minutes: 5.0,
            ..Step::default()
        });
    } else if other || !t.cross.is_empty() {
        work.step(Step {
            text: if left {
                "Mark the rim on the +x side: 0° lies there, as from the other end".to_owned()
            } else {
                "Turn the work until the mark of the left end's set-up stands on the +x side, or mark the rim there: 0°".to_owned()
            },
            tool: "scriber".to_owned(),
            minutes: 2.0,
            ..Step::default()
        });
    }
    for b in own {
        let [e, _] = b.throw.unwrap_or_default();
        // Angles run counter-clockwise as the right end is seen; from the left end y is the other way.
        let angle = if left { -angle_of(b) } else { angle_of(b) };
        // No minus before a nothing.
        let at = [e * angle.cos(), e * angle.sin()].map(|x| if x.abs() < 1e-9 { 0.0 } else { x });
        let wanted = Wanted {
            name: format!("the bore {} off the axis", work.mm(e)),
            fitted: &b.fitted,
            on: On::Mill,
            at: work.xy(at),
            blind: b.blind,
            through: t.length(),
            spindle: Some(&mill.speeds),
            count: 1,
            open: None,
            over: 0.0,
        };
        make(work, &wanted);
    }
}

fn off_centre(work: &mut Work, t: &Turned, plan: &Plan, own: &[&Bore]) {
    let mut first: Option<f64> = None;
    for b in own.iter().copied() {
        let [e, angle] = b.throw.unwrap_or_default();
        let right = !b.left;
        let side = if b.left { "left" } else { "right" };
        if !plan.holds(Holding::FourJaw) && !plan.holds(Holding::Faceplate) {
            work.finding(
                Grade::WayRound,
                format!(
                    "no four-jaw chuck or faceplate for the bore {} off the axis",
                    work.mm(e)
                ),
                "borrow a four-jaw chuck, or have it bored on a mill at its coordinates",
            );
        }
        let across = end_diameter(t, right);
        // Set off centre the whole part swings round.
        let swings = t.largest().max(
            if t.steps.iter().any(|s| s.diameter >= plan.way.bar - 1e-6) {
                plan.way.bar
            } else {
                0.0
            },
        ) + 2.0 * e;
        if let Some(room) = plan
            .lathe
            .map(|l| crate::turning::room(l, t))
            .filter(|r| swings > *r)
        {
            let (a, b) = (work.mm(swings), work.mm(room));
            work.finding(
                Grade::Cannot,
                format!(
                    "bored {} off its axis it swings {a}, the lathe has {b}",
                    work.mm(e)
                ),
                "order the part, or have the bore made on a mill at its coordinates",
            );
        }
        work.set_up(
            &format!("Bore off the axis, from the {side} end"),
            &plan.name,
            format!(
                "four-jaw chuck on ⌀{}, copper under the jaws, set off centre",
                work.mm(across)
            ),
            "face is zero lengthwise",
            15.0,
        );
        work.caution(Caution::OutOfBalance);
        let turned = match first {
            None => {
                first = Some(angle);
                format!(
                    "Scribe a line through the middle of the end for {}°, a mark on its rim so that it is found from the other end, punch {} from the middle, bring the mark to run true",
                    degrees(angle),
                    work.read(e)
                )
            }
            Some(zero) => format!(
                "Scribe {}° on from the first bore's line, {} as this end is seen, punch {} from the middle, bring the mark to run true",
                degrees(angle - zero),
                turning_way(right),
                work.read(e)
            ),
        };
        work.step(Step {
            text: turned,
            tool: "centre head, protractor, wobbler".to_owned(),
            at: format!("{} off the axis at {}°", work.read(e), degrees(angle)),
            minutes: 6.0,
            ..Step::default()
        });
        swing(work, e);
        bore(work, t, b, plan, side, None);
    }
}
