//! What is made off the axis of a turned part: eccentrics, offset bores, holes across, flats.

use super::Step;
use super::angles::{found_by, reference};
use super::bits::{Caution, Work, cutting};
use super::diameters::{ROUGH, carbide, fine};
use super::held::{jaws, steadied};
use super::holes::{On, Wanted, make};
use super::turned::{Plan, bore};
use crate::finding::Grade;
use crate::part::{Cross, Step as Diameter, Turned, diameter};
use crate::speeds::Tool;
use crate::turning::{Aside, end_diameter, sides};
use crate::words;
use elements::centres::{self, Centre};
use elements::setups;
use machine::equipment::Holding;

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
        let off = (centres::usual(plan.way.bar).depth() + 1.0).ceil();
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
            format!("mill {}", m.name),
            "indicator swept round the true diameter: zero over the axis",
        ),
        None => (
            "drill press".to_owned(),
            "punch marks on lines scribed with the height gauge",
        ),
    };
    work.set_up(
        "Second centres for the eccentrics",
        &machine,
        if discs {
            "V-block on the bar's own diameter, upright, clamped; a line scribed along the bar over both ends"
        } else {
            "V-block on the true diameter, upright, clamped; a line scribed along the bar over both ends"
        },
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
                tool: format!("centre drill {}", words::number(drill.pilot, 2)),
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
            "lengths from the finished left face, which lies inside the stub"
        } else {
            "left face is zero lengthwise"
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
    let size = words::sized(held.diameter, held.class.as_ref(), work.bench.unit);
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
                ": throw {}, {}° on from the first{p}; the angle by a protractor on a flat bar clamped to the work",
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

pub(super) fn offset_bores(work: &mut Work, t: &Turned, plan: &Plan) {
    let mut first: Option<f64> = None;
    for b in t.bores.iter().filter(|b| b.throw.is_some()) {
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
                "bore it on the mill at its coordinates, the part upright in a V-block",
            );
        }
        let across = end_diameter(t, right);
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
                    "Scribe a line through the middle of the end for {}°, punch {} from the middle, bring the mark to run true",
                    degrees(angle),
                    work.read(e)
                )
            }
            Some(zero) => format!(
                "Scribe {}° on from the first bore's line, punch {} from the middle, bring the mark to run true",
                degrees(angle - zero),
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

pub(super) fn cross(work: &mut Work, t: &Turned) {
    let own: Vec<&Cross> = t
        .cross
        .iter()
        .filter(|c| super::joined::waits(work, diameter(&c.fitted)).is_none())
        .collect();
    if own.is_empty() {
        return;
    }
    let (machine, spindle) = match (work.mill(), work.drill_press()) {
        (Some(m), _) => (format!("mill {}", m.name), Some(&m.speeds)),
        (None, Some(d)) => (format!("drill press {}", d.name), Some(&d.speeds)),
        _ => ("mill".to_owned(), None),
    };
    work.set_up(
        "Holes across",
        &machine,
        "V-block or vise with a V, clamped",
        "edge finder on both sides of the bar: zero over its axis; left face is zero lengthwise",
        10.0,
    );
    let zero = reference(t);
    for (n, c) in own.into_iter().enumerate() {
        if let Some(text) = found_by(work, t, &zero, c.from, n > 0) {
            work.step(Step {
                text,
                tool: "indicator, protractor".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
        }
        let outside = t.step_at(c.at).map_or(0.0, |s| s.diameter);
        let at = format!(
            "{} from the left face, {}°",
            work.read(c.at),
            words::number(c.from.to_degrees().rem_euclid(360.0), 2)
        );
        let wanted = Wanted {
            name: words::spoken(&c.name),
            fitted: &c.fitted,
            on: On::Mill,
            at,
            blind: c.blind,
            through: outside,
            spindle,
            count: 1,
            open: None,
            over: 0.0,
        };
        make(work, &wanted);
    }
}

pub(super) fn flats(work: &mut Work, t: &Turned) {
    if t.flats.is_empty() {
        return;
    }
    let (machine, spindle) = match work.mill() {
        Some(m) => (format!("mill {}", m.name), Some(&m.speeds)),
        None => ("mill".to_owned(), None),
    };
    let most = t.flats.iter().map(|f| f.sides).max().unwrap_or(1);
    let block = if most == 6 { "hexagon" } else { "square" };
    let indexed = t.flats.iter().any(|f| f.sides > 2);
    if indexed && work.shop().is_some() && work.rotary().is_none() {
        work.on_mill(
            Grade::WayRound,
            "no rotary table to turn the work between its flats",
            "a square or hexagon collet block in the vise does it, or a square against the first flat",
        );
    }
    let holding = match work.rotary() {
        Some(table) if most > 2 => format!(
            "chuck on rotary table {}, or a {block} collet block in the vise",
            table.name
        ),
        _ if most > 2 => format!("{block} collet block in the vise"),
        _ => "vise with a V, or a square block".to_owned(),
    };
    work.set_up(
        "Flats",
        &machine,
        holding,
        "top of the bar is zero in height",
        8.0,
    );
    let zero = reference(t);
    if let Some(text) = found_by(work, t, &zero, 0.0, true) {
        work.step(Step {
            text,
            tool: "indicator, protractor".to_owned(),
            why: "the first flat faces the direction of 0°".to_owned(),
            minutes: 5.0,
            ..Step::default()
        });
    }
    for f in &t.flats {
        let handle = work
            .rotary()
            .filter(|_| f.sides > 1)
            .map_or_else(String::new, |table| {
                format!(
                    " ({} turns of the handle)",
                    words::number(table.ratio / f.sides as f64, 4)
                )
            });
        let d = t.step_at(f.at).map_or(f.across, |s| s.diameter);
        let depth = if f.sides == 1 {
            d - f.across
        } else {
            (d - f.across) / 2.0
        };
        let rpm = work.rpm(Tool::EndMill, 10.0, spindle);
        let turn = 360.0 / f.sides as f64;
        let corners = machine::work::across_corners(f.sides.max(3), f.across);
        let full = f.sides > 2 && corners <= d + 1e-6;
        let mut check = format!(
            "{} {}",
            if f.sides == 1 {
                "over the flat"
            } else {
                "across flats"
            },
            work.mm(f.across)
        );
        if f.sides > 2 {
            check += &if full {
                format!("; full corners, {} across them", work.mm(corners))
            } else {
                format!(
                    "; corners rounded at ⌀{}: full ones would be {}",
                    work.mm(d),
                    work.mm(corners)
                )
            };
        }
        // Where the table stands for each flat, and its handle.
        let places = if f.sides > 2 {
            let list: Vec<String> = (0..f.sides)
                .map(|n| format!("{}°", words::number(turn * n as f64, 1)))
                .collect();
            let handle = work.rotary().map_or_else(String::new, |t| {
                format!(
                    ", {} turns of the handle each",
                    words::number(t.ratio / f.sides as f64, 3)
                )
            });
            format!("; table {}{handle}", list.join(", "))
        } else {
            String::new()
        };
        work.step(Step {
            text: match f.sides {
                1 => format!("Mill one flat {} deep", work.mm(depth)),
                n => format!("Mill {n} flats {} deep, turning {}° between them{handle}", work.mm(depth), words::number(turn, 1)),
            },
            tool: "end mill 10".to_owned(),
            rpm,
            feed: Some(0.06),
            at: format!("{} to {} from the left face, z −{}{places}", work.read(f.at), work.read(f.at + f.length), work.read(depth)),
            check,
            why: match f.sides {
                1 => "",
                2 => "measure after the first one: what is left over it is half across flats and half the diameter",
                _ => "opposite flats first: the size across them is measured, the others follow at the same depth",
            }
            .to_owned(),
            minutes: 4.0 * f.sides as f64,
            ..Step::default()
        });
    }
}
