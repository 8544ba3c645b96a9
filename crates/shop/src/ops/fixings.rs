//! What holds an arm on its shaft, made in the finished hub: screws through the wall, keyway, cross hole, slit.

use super::Step;
use super::bits::{Work, cutting};
use super::blank::by_hand;
use super::holes::{On, Wanted, make};
use super::plate::mill;
use super::slots::drill_below;
use crate::finding::Grade;
use crate::fixing::{Fixing, REAM, SLIT, Shape};
use crate::part::Plate;
use crate::speeds::Tool;
use crate::words;
use machine::fitting::Fitted;

pub(super) fn fixings(work: &mut Work, p: &Plate) {
    for f in &p.fixings {
        match &f.shape {
            Shape::SetScrew { thread, count } => {
                for n in 0..*count {
                    on_edge(
                        work,
                        f,
                        f.from + f64::from(n) * std::f64::consts::FRAC_PI_2,
                        n == 0,
                    );
                    let fitted = Fitted::Tapped {
                        thread: thread.clone(),
                        depth: None,
                    };
                    let wall = f.radius - f.bore / 2.0;
                    hole(
                        work,
                        f,
                        "set screw",
                        &fitted,
                        wall,
                        "the middle of the bore",
                    );
                }
            }
            Shape::Key {
                width, deep, key, ..
            } => key_way(work, p, f, *width, *deep, key),
            Shape::Pin { diameter } => pin(work, f, *diameter),
            Shape::Pinch {
                thread,
                count,
                off,
                clear,
                ..
            } => {
                let half = (f.radius.powi(2) - off * off).max(0.0).sqrt();
                on_edge(work, f, f.from + std::f64::consts::FRAC_PI_2, true);
                let at = format!("{} outward from the middle of the bore", work.read(*off));
                let tapped = Fitted::Tapped {
                    thread: thread.clone(),
                    depth: None,
                };
                hole(work, f, "pinch screw", &tapped, 2.0 * half, &at);
                let (_, spindle) = mill(work);
                let rpm = work.rpm(Tool::Drill, *clear, spindle);
                let shown = work.mm(half);
                work.step(Step {
                    text: format!(
                        "Open the pinch screw's hole to ⌀{} as deep as the middle, {shown}",
                        work.mm(*clear)
                    ),
                    tool: work.tool("drill", *clear),
                    rpm,
                    at: at.clone(),
                    why: "the screw draws on the far lug alone: on this side it has to be free"
                        .to_owned(),
                    minutes: 2.0,
                    ..Step::default()
                });
                if *count > 1 {
                    let apart = work.mm(2.0 * thread.major);
                    work.step(Step {
                        text: format!(
                            "The same for the other {}, {apart} apart along the hub",
                            count - 1
                        ),
                        minutes: 8.0 * f64::from(count - 1),
                        ..Step::default()
                    });
                }
                slit(work, f);
            }
        }
    }
}

fn on_edge(work: &mut Work, f: &Fixing, from: f64, first: bool) {
    let (machine, _) = mill(work);
    let degrees = words::number(from.to_degrees().rem_euclid(360.0), 2);
    let zero = if by_hand(work) {
        "scribed and punched".to_owned()
    } else {
        format!(
            "edge finder on both faces, zero at the underside; a close pin in the bore {} for the other",
            words::spoken(&f.end)
        )
    };
    work.set_up(
        if first {
            "Across the hub"
        } else {
            "Across the hub, turned on"
        },
        &machine,
        format!("vise, on edge: the direction {degrees}° of the drawing straight up"),
        zero,
        8.0,
    );
}

fn hole(work: &mut Work, f: &Fixing, name: &str, fitted: &Fitted, through: f64, at: &str) {
    let (_, spindle) = mill(work);
    let at = format!("{at}, {} over the underside", work.read(f.height));
    let wanted = Wanted {
        name: name.to_owned(),
        fitted,
        on: On::Mill,
        at,
        blind: None,
        through,
        spindle,
        count: 1,
    };
    make(work, &wanted);
}

fn pin(work: &mut Work, f: &Fixing, diameter: f64) {
    on_edge(work, f, f.from, true);
    let (_, spindle) = mill(work);
    let Some((drill, d)) = drill_below(work, diameter - REAM) else {
        let wanted = work.mm(diameter - REAM);
        work.finding(
            Grade::Cannot,
            format!("no drill under {wanted} for the cross pin"),
            "buy one a few tenths under the pin",
        );
        return;
    };
    let at = format!(
        "the middle of the bore, {} over the underside",
        work.read(f.height)
    );
    let rpm = work.rpm(Tool::Drill, d, spindle);
    work.step(Step {
        text: "Centre-drill for the cross pin".to_owned(),
        tool: "centre drill 3".to_owned(),
        rpm: work.rpm(Tool::Drill, 3.0, spindle),
        at: at.clone(),
        minutes: 1.0,
        ..Step::default()
    });
    work.step(Step {
        text: format!(
            "Drill through both walls of the hub, under size for the pin of {}",
            work.mm(diameter)
        ),
        tool: format!("drill {drill}"),
        rpm,
        at,
        why: "it is the jig for the shaft: when the angle is right, drill on through the shaft and ream both together".to_owned(),
        minutes: 2.0 + cutting(2.0 * f.radius, 0.08, rpm.unwrap_or(500.0)),
        ..Step::default()
    });
}

fn slit(work: &mut Work, f: &Fixing) {
    let (machine, _) = mill(work);
    let degrees = words::number(f.from.to_degrees().rem_euclid(360.0), 2);
    let saw = by_hand(work);
    work.set_up(
        "Slit",
        if saw { "bench" } else { &machine },
        format!("vise, on edge: the direction {degrees}° of the drawing straight up"),
        "the middle of the bore",
        5.0,
    );
    let wide = work.mm(SLIT);
    work.step(Step {
        text: format!("Slit the hub {wide} wide from outside into the bore, through the whole length of the hub"),
        tool: if saw { "hacksaw, two blades side by side".to_owned() } else { format!("slitting saw {wide}, or the hacksaw") },
        at: "in line with the bore's middle".to_owned(),
        check: "the shaft goes in by hand; the screw closes the bore on it".to_owned(),
        why: "last of all: a slit hub cannot be bored or reamed any more".to_owned(),
        minutes: 10.0,
        ..Step::default()
    });
    work.step(Step {
        text: "Deburr the slit and the bore's edges".to_owned(),
        tool: "fine file".to_owned(),
        minutes: 3.0,
        ..Step::default()
    });
}

fn key_way(work: &mut Work, p: &Plate, f: &Fixing, width: f64, deep: f64, key: &str) {
    let lathe = work.lathe().map(|l| format!("lathe {}", l.name));
    let degrees = words::number(f.from.to_degrees().rem_euclid(360.0), 2);
    let hold = if lathe.is_some() || work.shop().is_none() {
        "faceplate or four-jaw chuck, the bore true, the spindle locked; tool on its side in the tool post, moved by the saddle alone"
    } else {
        "bench vise, soft jaws"
    };
    work.set_up(
        "Keyway",
        &lathe.clone().unwrap_or_else(|| "bench".to_owned()),
        format!("{hold}; {degrees}° of the drawing towards the tool"),
        "the tool just touches the bore",
        12.0,
    );
    let over = work.mm(f.bore + deep);
    let long = f.long.max(p.thickness);
    let strokes = (deep / 0.05).ceil();
    let wide = work.mm(width);
    let planed = lathe.is_some() || work.shop().is_none();
    work.step(Step {
        text: if planed {
            format!("Plane the keyway {wide} wide through the bore, {} a stroke, {} strokes: {} deep from the bore", work.mm(0.05), words::number(strokes, 0), work.mm(deep))
        } else {
            format!("File the keyway {wide} wide, {} deep from the bore, against a bushing with a guide slot", work.mm(deep))
        },
        tool: if planed { format!("keyway tool ground to {wide}; or a broach and its bushing in the press") } else { format!("square file; or a broach of {wide} and its bushing in the press") },
        check: format!("{over} from the bottom of the keyway over the bore; {key} goes in by light taps"),
        why: "after the bore is to size: the depth is measured over it".to_owned(),
        minutes: 10.0 + strokes * (0.2 + long / 300.0),
        ..Step::default()
    });
}
