//! What is made off the axis of a turned part: eccentrics, offset bores, holes across, flats.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::holes::{On, Wanted, make};
use super::turned::{Plan, ROUGH, SLENDER, bore, carbide, fine};
use crate::finding::Grade;
use crate::part::{Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::words;
use elements::setups;
use machine::equipment::Holding;

pub(super) fn eccentrics(work: &mut Work, t: &Turned, plan: &Plan) {
    let all: Vec<&Diameter> = t.steps.iter().filter(|s| s.throw.is_some()).collect();
    let Some(first) = all.first() else { return };
    let throw = first.throw.map_or(0.0, |x| x[0]);
    let slender = t.length() > SLENDER * plan.bar;
    let held = t
        .steps
        .iter()
        .filter(|s| s.throw.is_none())
        .map(|s| s.diameter)
        .fold(0.0, f64::max);
    let packing = setups::packing(held, throw);
    let jaw = plan.lathe.map_or(14.0, |l| l.jaw_width);
    let indicator = format!(
        "indicator on the true diameter: {} of swing for one turn, twice the throw",
        work.read(2.0 * throw)
    );
    if slender && plan.holds(Holding::Centres) {
        work.set_up(
            "Second centres for the eccentric",
            "mill",
            "V-block, upright, clamped",
            "edge finder or indicator: zero over the true centre",
            12.0,
        );
        for end in [
            "one end",
            "the other end, turned over without turning the work in the block",
        ] {
            work.step(Step {
                text: format!("Centre-drill {end} beside the true centre"),
                tool: "centre drill 4".to_owned(),
                at: format!("x {} from the true centre", work.read(throw)),
                check: "both lie in one plane with the axis: a scribed line along the bar"
                    .to_owned(),
                why: "both journals are turned on them in one set-up, so they are in line"
                    .to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
        }
        work.set_up(
            "Turn the eccentric",
            &plan.name,
            "between the second centres, driven by a dog, weight against it",
            "left face is zero lengthwise",
            12.0,
        );
    } else {
        let words = match &packing {
            Ok(p) => {
                let (kind, thick) = if jaw / 2.0 >= p.wide_from {
                    (format!("jaws {} wide count as flat", work.mm(jaw)), p.flat)
                } else {
                    (
                        format!("jaws {} wide count as narrow", work.mm(jaw)),
                        p.narrow,
                    )
                };
                format!(
                    "three-jaw chuck on ⌀{}, packing {} under one jaw ({kind}), or four-jaw chuck",
                    work.mm(held),
                    work.read(thick)
                )
            }
            Err(_) => "four-jaw chuck, set off centre".to_owned(),
        };
        work.set_up(
            "Turn the eccentric",
            &plan.name,
            words,
            "as in the set-up before",
            20.0,
        );
        if let Some(lathe) = plan.lathe
            && !lathe.holds.contains(&Holding::FourJaw)
            && !lathe.holds.contains(&Holding::ThreeJaw)
        {
            work.finding(
                Grade::Cannot,
                "no chuck to set work off centre",
                "order the part",
            );
        }
    }
    work.caution(Caution::OutOfBalance);
    work.step(Step {
        text: "Set the throw, the high side at the mark of the first one".to_owned(),
        tool: "dial indicator".to_owned(),
        check: indicator,
        why: "packing is squeezed and jaws are worn: the indicator decides, not the packing"
            .to_owned(),
        minutes: 10.0,
        ..Step::default()
    });
    for s in &all {
        let [e, angle] = s.throw.unwrap_or_default();
        let turned = angle - first.throw.map_or(0.0, |x| x[1]);
        if turned.abs() > 1e-9 || (e - throw).abs() > 1e-9 {
            work.step(Step {
                text: format!(
                    "Set anew: throw {}, {}° on from the first",
                    work.read(e),
                    words::number(turned.to_degrees().rem_euclid(360.0), 2)
                ),
                tool: "dial indicator, square or protractor".to_owned(),
                check: format!("{} of swing", work.read(2.0 * e)),
                minutes: 12.0,
                ..Step::default()
            });
        }
        let rpm = work
            .rpm(
                Tool::Turning {
                    carbide: carbide(work),
                },
                plan.bar,
                plan.spindle(),
            )
            .map(|r| r / 2.0);
        let rpm = rpm.map(|r| plan.spindle().map_or(r, |s| s.at_most(r)));
        let feed = fine(plan).unwrap_or(0.07);
        let passes = ((plan.bar / 2.0 + e - s.diameter / 2.0) / ROUGH).ceil();
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
}

pub(super) fn offset_bores(work: &mut Work, t: &Turned, plan: &Plan) {
    for b in t.bores.iter().filter(|b| b.throw.is_some()) {
        let [e, _] = b.throw.unwrap_or_default();
        work.set_up(
            "Offset bore",
            &plan.name,
            "four-jaw chuck: the true diameter set to swing",
            "face is zero lengthwise",
            15.0,
        );
        work.caution(Caution::OutOfBalance);
        work.step(Step {
            text: format!("Set the work {} off centre", work.read(e)),
            tool: "dial indicator".to_owned(),
            check: format!("{} of swing for one turn", work.read(2.0 * e)),
            minutes: 10.0,
            ..Step::default()
        });
        bore(work, t, b, plan, if b.left { "left" } else { "right" });
    }
}

pub(super) fn cross(work: &mut Work, t: &Turned) {
    if t.cross.is_empty() {
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
    for c in &t.cross {
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
    let indexed = t.flats.iter().any(|f| f.sides > 2);
    if indexed && work.shop().is_some() && work.rotary().is_none() {
        work.on_mill(
            Grade::WayRound,
            "no rotary table to turn the work between its flats",
            "a square or hexagon collet block in the vise does it, or a square against the first flat",
        );
    }
    let holding = match work.rotary() {
        Some(table) if indexed => format!(
            "chuck on rotary table {}, or a square collet block in the vise",
            table.name
        ),
        _ => "vise with a V, or a square block".to_owned(),
    };
    work.set_up(
        "Flats",
        &machine,
        holding,
        "top of the bar is zero in height",
        8.0,
    );
    for f in &t.flats {
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
                n => format!("Mill {n} flats {} deep, turning {}° between them", work.mm(depth), words::number(turn, 1)),
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
