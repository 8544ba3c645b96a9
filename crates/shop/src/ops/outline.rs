//! The outline of a plate: sawn to its template, straight sides in the vise, round ends on the rotary table or stepped off.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::blank::{Held, by_hand, from_plate, held, thin, width_of};
use super::filing::hand;
use super::plate::mill;
use crate::contour::{P, Side};
use crate::finding::Grade;
use crate::part::{Hole, Opening, Plate, diameter};
use crate::speeds::Tool;
use crate::words;
use machine::fitting::Fitted;

/// Left on the outline for the cutter, mm (common practice).
const SAWN: f64 = 1.0;
/// Depth of a finishing cut with an end mill, mm (common practice for a bench mill).
const CUT: f64 = 1.0;

pub(super) fn outline(work: &mut Work, p: &Plate) {
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| words::kept("saw", &s.name));
    let all = p.outline.sides();
    let lines: Vec<(P, P)> = all
        .iter()
        .filter_map(|s| match *s {
            Side::Line { from, to } if s.length() > 1.0 => Some((from, to)),
            _ => None,
        })
        .collect();
    let (stay, lines): (Vec<_>, Vec<_>) = lines.into_iter().partition(|l| stays(work, p, *l));
    let disc = disc(p);
    work.set_up(
        "Outline, rough",
        &saw,
        "by hand on the table, template glued on",
        "the template's cross over the datum",
        3.0,
    );
    let kept = match stay.as_slice() {
        [] => String::new(),
        [_] => "; one side lies on the good edge of the blank and stays".to_owned(),
        many => format!(
            "; {} sides lie on good edges of the blank and stay",
            many.len()
        ),
    };
    let outside = work.allowance(SAWN);
    let ring = if p.ends.iter().any(|e| e.hub.is_some() && !e.solid) {
        ", the circles of the rings cut out of it,"
    } else {
        ""
    };
    work.step(Step {
        text: format!(
            "Glue the template{ring} on over the finished holes and saw {outside} outside its line{kept}"
        ),
        tool: "saw".to_owned(),
        why: "holes first: a blank with straight edges is held better than a shaped one".to_owned(),
        minutes: 8.0,
        ..Step::default()
    });
    // The flank of a cam is cut from its table.
    if p.cams.iter().any(crate::cams::CamCut::is_outline) {
        return;
    }
    if let Some((centre, radius)) = disc
        && turned(work, p, centre, radius)
    {
        return;
    }
    let (machine, spindle) = mill(work);
    let cutter = work.outline_cutter();
    if by_hand(work) || thin(p) {
        hand(work, p, &lines, &all);
        return;
    }
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let tool = super::bits::mill_for(work, cutter, p.thickness);
    let sides = all;
    let travel = work
        .mill()
        .map_or(f64::INFINITY, |m| m.travel[0].max(m.travel[1]));
    let (long, lines): (Vec<_>, Vec<_>) = lines
        .into_iter()
        .partition(|(a, b)| (b[0] - a[0]).hypot(b[1] - a[1]) > travel);
    for (from, to) in long {
        let far = work.mm((to[0] - from[0]).hypot(to[1] - from[1]));
        work.finding(
            Grade::WayRound,
            format!("a side of {far} is longer than the mill travels"),
            "saw and file it to the template's line, or have the outline cut by its DXF",
        );
        work.step(Step {
            text: format!("File the side of {far} to the template's line"),
            tool: "file".to_owned(),
            at: format!("{} to {}", work.near(from), work.near(to)),
            check: "straightedge".to_owned(),
            minutes: 15.0,
            ..Step::default()
        });
    }
    if !lines.is_empty() {
        // What does not go into the vise lying does not stand in it either.
        // Beside an inside corner the rest of an upright part stands in the cutter's way.
        let bent = all_sides_bend(&sides);
        let flat = held(work, width_of(work)) == Held::Table || bent;
        let pins = super::pins::pair(p, [1.0, 0.0]).is_some()
            || super::pins::pair(p, [0.0, 1.0]).is_some();
        let (holding, zero) = if flat {
            (
                "clamped to the table on packing, set by pins in its holes; the side that is cut hangs over the packing; clamps moved one at a time".to_owned(),
                "each side is set along the table as its step says",
            )
        } else if pins {
            (
                "vise, side level: close pins in two holes, their heights as the step says, a block over the jaws".to_owned(),
                "top of the pins",
            )
        } else {
            (
                one_pin(p),
                "the template's line, then the size over the pin or from the finished side opposite",
            )
        };
        let ring = if p.ends.iter().any(|e| e.hub.is_some() && !e.solid) {
            if flat {
                "; the drawing's face (its ring) up"
            } else {
                "; packing beside the ring, as thick as it stands out"
            }
        } else {
            ""
        };
        work.set_up(
            "Straight sides",
            &machine,
            format!("{holding}{ring}"),
            zero,
            8.0 + 4.0 * lines.len() as f64,
        );
        for (from, to) in lines {
            let angle = (to[1] - from[1]).atan2(to[0] - from[0]).to_degrees();
            let near = |at: P| {
                p.ends
                    .iter()
                    .find(|e| ((at[0] - e.at[0]).hypot(at[1] - e.at[1]) - e.radius).abs() < 1e-3)
            };
            let long = (to[0] - from[0]).hypot(to[1] - from[1]);
            // Between two ends the centres guide it; a free side is found by its places alone.
            let over = match (near(from), near(to)) {
                (Some(a), Some(b)) if a.name != b.name => format!(
                    "touching the ends about {} and {}",
                    words::spoken(&a.name),
                    words::spoken(&b.name)
                ),
                _ => format!("from {} to {}", work.near(from), work.near(to)),
            };
            let (set, check) = pinned(work, p, from, to).unwrap_or_else(|| {
                (
                    format!("{}° to the long edge", words::number(acute(angle), 3)),
                    "protractor; the template's line".to_owned(),
                )
            });
            let (set, how) = if flat {
                let u = [(to[0] - from[0]) / long, (to[1] - from[1]) / long];
                (
                    super::pins::apart(work, p, u).unwrap_or(set),
                    ", with the side of the cutter",
                )
            } else {
                (set, "")
            };
            // Beside an inside corner that is smaller than the cutter it stops short.
            let [a, b] = super::gouge::along_line(p, from, to, cutter / 2.0);
            let short: Vec<String> = [(a, from), (1.0 - b, to)]
                .into_iter()
                .filter(|(s, _)| s * long > 0.05)
                .map(|(s, at)| format!("{} before {}", work.mm(s * long), work.near(at)))
                .collect();
            if b - a < 0.05 {
                work.step(Step {
                    text: format!(
                        "File the side {over} to the template's line: no cutter gets at it"
                    ),
                    tool: "file".to_owned(),
                    check,
                    minutes: 15.0,
                    ..Step::default()
                });
                continue;
            }
            let stop = if short.is_empty() {
                String::new()
            } else {
                format!("; stop {}, the rest is filed", short.join(" and "))
            };
            work.step(Step {
                text: format!(
                    "Mill the side {over}, {}° to x{how}{stop}",
                    words::number((angle + 360.0) % 180.0, 3)
                ),
                tool: tool.clone(),
                rpm,
                feed: Some(0.08),
                at: set,
                check,
                minutes: 5.0 + 2.0 * cutting(long, 0.08, rpm.unwrap_or(500.0)),
                ..Step::default()
            });
        }
    }
    let plain = plain_corners(work, p);
    let round = sides.iter().any(|s| match s {
        Side::Arc { centre, sweep, .. } => {
            !(by_file(work, p, s) || *sweep < 0.0 && plain.iter().any(|c| c.at == *centre))
        }
        Side::Line { .. } => false,
    });
    if !round {
        return;
    }
    match (work.rotary(), work.shop()) {
        // Without a shop file every usual tool is taken to be there.
        (None, Some(_)) => step_off(work, p, &sides, cutter),
        (table, _) => rotary(work, p, &sides, table, &machine, cutter, rpm),
    }
}

/// How a side is set level where only one hole takes a pin: the sawn edges are gone with the outline.
fn one_pin(p: &Plate) -> String {
    let bored = p.holes.iter().any(|h| {
        matches!(
            crate::part::cut(&h.fitted),
            Some(machine::fitting::Cut::Bore | machine::fitting::Cut::Ream)
        )
    });
    let other = p
        .holes
        .iter()
        .any(|h| matches!(h.fitted, machine::fitting::Fitted::Tapped { .. }));
    match (bored, other) {
        (true, true) => "vise, side level: a close pin in the bore and a stud with a plain end of its size in the tapped hole, their heights set by a height gauge to the angle of the step".to_owned(),
        _ => "vise, side level: the line of the glued template set along the jaws, protractor against it".to_owned(),
    }
}

fn rotary(
    work: &mut Work,
    p: &Plate,
    sides: &[Side],
    table: Option<&machine::equipment::RotaryTable>,
    machine: &str,
    cutter: f64,
    rpm: Option<f64>,
) {
    let plain = plain_corners(work, p);
    let sits = sides.iter().any(|s| {
        matches!(s, Side::Arc { centre, .. }
            if p.holes.iter().any(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6))
    });
    let rings = p.ends.iter().any(|e| e.hub.is_some() && !e.solid);
    let holding = if sits && rings {
        "rotary table, centred under the spindle; the work on a close pin in its hole, clamped on packing, the drawing's face (its ring) up: turned over all angles below would be mirrored"
    } else if sits {
        "rotary table, centred under the spindle; the work on a close pin in its hole, clamped on packing"
    } else {
        "rotary table, centred under the spindle; the work clamped on packing, each centre brought over the table's middle by its coordinates from a hole or an edge that is found with the indicator"
    };
    work.set_up(
        "Round ends",
        &table.map_or_else(
            || format!("{machine} with rotary table"),
            |t| format!("{machine} with {}", words::kept("rotary table", &t.name)),
        ),
        holding,
        "table at 0° with x of the work along x of the mill; spindle over the table's middle, then the cutter to the right of it, x + only. Degrees count the table turned counter-clockwise, seen from above: where its dial grows the other way, set 360° less them",
        15.0,
    );
    for side in sides {
        let Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } = *side
        else {
            continue;
        };
        let outside = sweep > 0.0;
        let hole = p
            .holes
            .iter()
            .find(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6);
        let name = p
            .ends
            .iter()
            .find(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < 1e-6)
            .map(|e| words::spoken(&e.name));
        if by_file(work, p, side) || plain.iter().any(|c| c.at == centre) {
            continue;
        }
        let path = elements::setups::cutter_radius(radius, cutter, outside);
        // Where the cutter would run into another side the end is filed.
        let [a, b] = path.as_ref().map_or([0.0, 1.0], |path| {
            super::gouge::along_arc(p, centre, *path, [from, sweep], cutter / 2.0)
        });
        let left = radius * sweep.abs() * (1.0 - (b - a));
        if b - a < 0.05 {
            work.step(Step {
                text: format!(
                    "File the end{} to R{}: no cutter gets round it",
                    name.as_ref()
                        .map_or_else(String::new, |n| format!(" about {n}")),
                    work.mm(radius)
                ),
                tool: "file, hardened buttons".to_owned(),
                at: work.xy(centre),
                minutes: 15.0,
                ..Step::default()
            });
            continue;
        }
        let rest = if left > 0.05 {
            format!(
                "; {} of it beside the inside corner is filed",
                work.mm(left)
            )
        } else {
            String::new()
        };
        let (from, sweep) = (from + a * sweep, (b - a) * sweep);
        let to = from + sweep;
        let degrees = |a: f64| words::number(a.to_degrees().rem_euclid(360.0), 3);
        let turns = table.map_or_else(String::new, |t| {
            let turns = sweep.abs() / std::f64::consts::TAU * t.ratio;
            format!(" ({} turns)", words::number(turns, 3))
        });
        let Ok(path) = path else {
            let r = work.mm(radius);
            work.step(Step {
                text: format!("File the inside corner to radius {r}"),
                tool: "round file".to_owned(),
                at: work.xy(centre),
                why: "the cutter is too large for it".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
            continue;
        };
        // The cutter stands on +x: a direction of the work comes there when the table has turned by as much the other way. Outside work goes past
        // the side of the cutter that runs with +y, so against it is clockwise; in a hollow it is the other side.
        let (first, last, sense) = if outside {
            (-from.min(to), -from.max(to), "clockwise")
        } else {
            (-from.max(to), -from.min(to), "counter-clockwise")
        };
        let screw = hole.filter(|h| matches!(h.fitted, Fitted::Tapped { .. }));
        // A hub that is flush with the end, or stands nearer than the cutter's shank.
        let tall = p
            .ends
            .iter()
            .filter(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < radius + 2.0)
            .filter_map(|e| e.hub)
            .fold(p.thickness, f64::max);
        let sits = match screw {
            Some(h) => format!(
                "; it sits on a stud screwed into {}, its plain end turned true",
                words::spoken(&h.name)
            ),
            None => String::new(),
        };
        let what = match (&name, outside) {
            (Some(name), true) => {
                format!("Round the end about {name} to R{}", work.mm(radius))
            }
            (_, true) => format!(
                "Round the corner to R{} about {}",
                work.mm(radius),
                work.xy(centre)
            ),
            (_, false) => format!(
                "Mill the inside corner to R{} about {}",
                work.mm(radius),
                work.xy(centre)
            ),
        };
        work.step(Step {
            text: format!("{what}: cutter {} off the middle, table turned {sense} from {}° to {}°{turns}, which is against the cutter{rest}{sits}", work.read(path), degrees(first), degrees(last)),
            tool: super::bits::mill_for(work, cutter, tall),
            rpm,
            feed: Some(0.06),
            at: format!("x +{}", work.read(path)),
            check: hole.filter(|_| screw.is_none()).map_or_else(
                || format!("radius gauge {}", work.mm(radius)),
                |h| format!("{} over a pin in the hole, to its far side", work.mm(radius + h.diameter() / 2.0)),
            ),
            why: if hole.is_some() { "about the finished hole, so that the end runs round it".to_owned() } else { "picked up at its coordinates: there is no hole to sit on".to_owned() },
            minutes: 8.0 + 3.0 * cutting(radius * sweep.abs(), 0.06, rpm.unwrap_or(500.0)) + 3.0 * (p.thickness / CUT / 4.0).ceil(),
            ..Step::default()
        });
    }
}

/// An inside corner that a tool of its radius leaves.
pub(super) struct PlainCorner {
    pub(super) at: P,
    pub(super) radius: f64,
    /// A drill makes it, else an end mill.
    pub(super) drill: bool,
}

/// Inside corners whose whole circle lies on the blank and for which this shop has a drill or an end mill.
pub(super) fn plain_corners(work: &Work, p: &Plate) -> Vec<PlainCorner> {
    let [low, high] = p.outline.bounds();
    let tools = work.shop().map(|s| &s.tools);
    let is = |d: f64, r: f64| (d - 2.0 * r).abs() < 1e-6;
    let arcs = p.outline.sides().into_iter().filter_map(|s| match s {
        Side::Arc {
            centre,
            radius,
            sweep,
            ..
        } if sweep < 0.0 => Some((centre, radius)),
        _ => None,
    });
    arcs.filter(|(c, r)| (0..2).all(|i| c[i] - r > low[i] && c[i] + r < high[i]))
        .filter_map(|(at, radius)| {
            let drill = tools.map_or(radius <= 8.0, |t| {
                t.drills.iter().any(|d| is(d.diameter, radius))
            });
            let mill = tools.is_some_and(|t| t.end_mills.iter().any(|d| is(*d, radius)));
            (drill || mill).then_some(PlainCorner { at, radius, drill })
        })
        .collect()
}

/// Rounded corners about nothing are filed to the template's line, and what swings too far for the rotary table.
pub(super) fn by_file(work: &Work, p: &Plate, side: &Side) -> bool {
    const MOST: f64 = 15.0;
    let Side::Arc {
        centre,
        radius,
        sweep,
        ..
    } = *side
    else {
        return false;
    };
    if slight(side) {
        return true;
    }
    let near = |at: P| (at[0] - centre[0]).hypot(at[1] - centre[1]) < 1e-6;
    let sits = p.holes.iter().any(|h| near(h.at));
    if sweep > 0.0 && radius <= MOST && !sits {
        return true;
    }
    // Work on a pin may stand out over the table; work that is only clamped hardly (common practice).
    let swings = p
        .outline
        .vertices
        .iter()
        .map(|v| (v.at[0] - centre[0]).hypot(v.at[1] - centre[1]))
        .fold(0.0, f64::max);
    // What lies beside the table as a whole is not held on it.
    let beside = if p.outline.holds(centre) {
        0.0
    } else {
        let all = p.outline.sides();
        all.iter()
            .map(|s| s.distance(centre))
            .fold(f64::INFINITY, f64::min)
    };
    work.rotary().is_some_and(|t| {
        beside > 0.4 * t.diameter || swings > t.diameter * if sits { 2.0 } else { 1.0 }
    })
}

/// An arc between two sides that are almost one: nothing is set up for it.
pub(super) fn slight(side: &Side) -> bool {
    /// rad (common practice).
    const LEAST: f64 = 0.09;
    matches!(side, Side::Arc { sweep, .. } if sweep.abs() < LEAST)
}

/// A line of the outline that lies on an edge of the blank that is good: the bar's own, the one that was milled, the end that was faced.
fn stays(work: &Work, p: &Plate, (from, to): (P, P)) -> bool {
    let [low, high] = p.outline.bounds();
    let size = [high[0] - low[0], high[1] - low[1]];
    let long = usize::from(size[1] > size[0]);
    let on = |axis: usize, at: f64| (from[axis] - at).abs() < 1e-6 && (to[axis] - at).abs() < 1e-6;
    let own = (width_of(work) - size[1 - long]).abs() < 0.05 && !from_plate(work);
    on(1 - long, low[1 - long]) || on(long, low[long]) || own && on(1 - long, high[1 - long])
}

/// An angle as it is set against an edge: at most 90°.
fn acute(angle: f64) -> f64 {
    let a = angle.rem_euclid(180.0);
    a.min(180.0 - a)
}

/// Heights of the side over pins in two holes: they set its direction and measure it.
fn pinned(work: &Work, p: &Plate, from: P, to: P) -> Option<(String, String)> {
    let long = (to[0] - from[0]).hypot(to[1] - from[1]);
    let u = [(to[0] - from[0]) / long, (to[1] - from[1]) / long];
    // The inside lies to the left.
    let below = |at: P| u[0] * (at[1] - from[1]) - u[1] * (at[0] - from[0]);
    let [(a, first), (b, second)] = super::pins::pair(p, u)?;
    let (one, two) = (below(a.at), below(b.at));
    let rise = one - two;
    let set = if rise.abs() < 5e-4 {
        format!(
            "{} in {first} and {} in {second} level",
            super::pins::pin(work, a),
            super::pins::pin(work, b)
        )
    } else {
        // Pins of two diameters: what is measured is their tops.
        let top = rise + (b.diameter() - a.diameter()) / 2.0;
        let ((h, higher), (l, lower), top) = if rise < 0.0 {
            ((a, &first), (b, &second), -top)
        } else {
            ((b, &second), (a, &first), top)
        };
        format!(
            "{} in {higher} {} higher than {} in {lower}{}",
            super::pins::pin(work, h),
            work.read(rise.abs()),
            super::pins::pin(work, l),
            if (a.diameter() - b.diameter()).abs() < 1e-6 {
                String::new()
            } else {
                format!(
                    " between their centres, {} between their tops",
                    work.read(top)
                )
            }
        )
    };
    let measured = |h: &Hole, letter: &str, to: f64| {
        if h.diameter() > super::coordinates::MOST_PIN {
            // The bore's own wall is measured from.
            return format!(
                "{} from the side to the near wall of {letter}",
                work.read(to.abs() - h.diameter() / 2.0)
            );
        }
        let over = to.abs() + h.diameter() / 2.0;
        format!(
            "{} over the pin in {letter}, to its far side",
            work.read(over)
        )
    };
    // A caliper stands on the side only where the side runs: across from the pin.
    let beside = |h: &Hole| {
        let along = u[0] * (h.at[0] - from[0]) + u[1] * (h.at[1] - from[1]);
        (1.0..=long - 1.0).contains(&along)
    };
    let mut checks = Vec::new();
    for (h, letter, to) in [(a, &first, one), (b, &second, two)] {
        if beside(h) && to > 0.0 {
            checks.push(measured(h, letter, to));
        }
    }
    if checks.is_empty() {
        let all = p.holes.iter().zip(crate::letters::names(p));
        let near = all
            .filter(|(h, _)| super::pins::takes_a_pin(h) && beside(h) && below(h.at) > 0.0)
            .min_by(|x, y| below(x.0.at).total_cmp(&below(y.0.at)));
        checks.push(match near {
            Some((h, letter)) => measured(h, &letter, below(h.at)),
            None => "the template's line, and the angle: no pin stands across from it".to_owned(),
        });
    }
    Some((set, checks.join("; ")))
}

/// The outline is one circle.
pub fn disc(p: &Plate) -> Option<(P, f64)> {
    let sides = p.outline.sides();
    let Some(Side::Arc { centre, radius, .. }) = sides.first().copied() else {
        return None;
    };
    let same = |s: &Side| {
        matches!(*s, Side::Arc { centre: c, radius: r, sweep, .. }
            if (c[0] - centre[0]).hypot(c[1] - centre[1]) < 1e-6 && (r - radius).abs() < 1e-6 && sweep > 0.0)
    };
    sides.iter().all(same).then_some((centre, radius))
}

/// A disc is turned where the lathe swings it; `false` when it does not.
pub(super) fn turned(work: &mut Work, p: &Plate, centre: P, radius: f64) -> bool {
    let lathe = work.shop().map(|s| {
        s.lathes
            .iter()
            .find(|l| l.swing > 2.0 * radius + 5.0)
            .map(|l| (words::kept("lathe", &l.name), &l.speeds))
    });
    let hangs = work.shop().is_some_and(|s| {
        let own = s.lathes.iter().find(|l| l.swing > 2.0 * radius + 5.0);
        own.and_then(|l| l.over_slide)
            .is_some_and(|o| 2.0 * radius > o)
    });
    let (machine, spindle) = match lathe {
        None => ("lathe".to_owned(), None),
        Some(Some((name, speeds))) => (name, Some(speeds)),
        Some(None) => {
            let across = work.mm(2.0 * radius);
            work.finding(
                Grade::WayRound,
                format!("no lathe here swings the disc ⌀{across}"),
                "round it on the rotary table or by file; or order it by its DXF",
            );
            return false;
        }
    };
    let near = |h: &&Hole| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6;
    let bore = p.holes.iter().find(near).map(Opening::diameter);
    let holding = match bore {
        Some(d) => format!(
            "mandrel of {} in the finished bore, between centres or in the chuck with the tailstock up",
            work.mm(d)
        ),
        None => "bolted to the faceplate on a disc of waste, the datum's mark set to run true"
            .to_owned(),
    };
    work.set_up(
        "Rim",
        &machine,
        holding,
        "the bore runs true: nothing to find",
        12.0,
    );
    let rpm = work.rpm(Tool::Turning { carbide: false }, 2.0 * radius, spindle);
    let check = work.measure("diameter", 2.0 * radius, None);
    work.step(Step {
        text: format!(
            "Turn the rim to ⌀{}; the first cuts are interrupted: slow, light, tool well up on centre{}",
            work.mm(2.0 * radius),
            if hangs {
                "; the slide does not go under it: it stays on the tailstock side, the tool standing out past it by more than the rim is wide"
            } else {
                ""
            }
        ),
        // Over some 35 m a minute interrupted cuts take the edge off high-speed steel (common practice).
        tool: if rpm.is_some_and(|n| std::f64::consts::TAU * radius * n / 1000.0 > 35.0) {
            "carbide-tipped turning tool".to_owned()
        } else {
            "turning tool".to_owned()
        },
        rpm,
        feed: Some(0.1),
        check,
        why: "a circle about its bore is turned: round, and true to the bore".to_owned(),
        minutes: 10.0 + 6.0 * cutting(p.thickness, 0.1, rpm.unwrap_or(200.0)),
        ..Step::default()
    });
    work.caution(Caution::OutOfBalance);
    true
}

/// The outline has inside corners.
fn all_sides_bend(sides: &[Side]) -> bool {
    sides
        .iter()
        .any(|s| matches!(s, Side::Arc { sweep, .. } if *sweep < 0.0 && !slight(s)))
}

/// Flats that touch an arc, so many that filing takes off no more than a tenth.
fn step_off(work: &mut Work, p: &Plate, sides: &[Side], cutter: f64) {
    let (machine, spindle) = mill(work);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    work.on_mill(
        Grade::WayRound,
        "no rotary table for the round ends".to_owned(),
        "flats that touch the arc are stepped off in the vise and blended with a file against two hardened buttons; the table stands on the sheet",
    );
    work.set_up(
        "Round ends, stepped off",
        &machine,
        "vise, a close pin through the hole resting on the jaws so that the pin's height stays",
        "top of the pin",
        10.0,
    );
    let plain = plain_corners(work, p);
    for side in sides {
        let Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } = *side
        else {
            continue;
        };
        if by_file(work, p, side) || plain.iter().any(|c| c.at == centre) {
            continue;
        }
        if sweep <= 0.0 || radius < 3.0 {
            let r = work.mm(radius);
            let (what, tool) = if sweep < 0.0 {
                ("inside corner", "saw, half-round file")
            } else {
                ("corner", "saw, file")
            };
            work.step(Step {
                text: format!("Saw the {what} close to the line and file it to R{r}"),
                tool: tool.to_owned(),
                at: work.near(centre),
                check: format!("radius gauge {r}, or a button of its size"),
                why: "the vise does not turn the work about it".to_owned(),
                minutes: 6.0 + radius / 2.0,
                ..Step::default()
            });
            continue;
        }
        let (count, angles) = facets(radius, from, sweep);
        let list: Vec<String> = angles
            .iter()
            .map(|a| words::number(a.to_degrees().rem_euclid(360.0), 1))
            .collect();
        let name = p
            .ends
            .iter()
            .find(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < 1e-6)
            .map_or_else(|| work.xy(centre), |e| words::spoken(&e.name));
        let half = sweep / (2.0 * count as f64);
        let proud = radius * (1.0 / half.cos() - 1.0);
        let hole = p
            .holes
            .iter()
            .find(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6);
        let Some(hole) = hole else {
            let r = work.mm(radius);
            work.step(Step {
                text: format!("Saw and file the end about {name} to the template's line, R{r}"),
                tool: "saw, file".to_owned(),
                check: format!("radius gauge {r}"),
                why: "there is no hole to step it off from".to_owned(),
                minutes: 10.0 + radius / 3.0,
                ..Step::default()
            });
            continue;
        };
        let pin = diameter(&hole.fitted) / 2.0;
        work.step(Step {
            text: format!("Step off the end about {name}: {count} flats, each {} above the pin, square to {}°; then file the ridges of {} down to buttons of radius {}", work.read(radius - pin), list.join("°, "), work.mm(proud), work.mm(radius)),
            tool: format!("end mill {}, file", words::tool_size(cutter, work.bench.unit)),
            rpm,
            feed: Some(0.06),
            at: format!("height {} over the pin", work.read(radius - pin)),
            check: format!("radius gauge {}", work.mm(radius)),
            minutes: 4.0 * count as f64 + 8.0,
            ..Step::default()
        });
    }
}

/// How many flats, and the directions of their faces: ridges of at most a tenth of a millimetre.
pub(crate) fn facets(radius: f64, from: f64, sweep: f64) -> (usize, Vec<f64>) {
    const RIDGE: f64 = 0.1;
    let half = (radius / (radius + RIDGE)).acos();
    let count = (sweep / (2.0 * half)).ceil().max(1.0) as usize;
    let each = sweep / count as f64;
    (
        count,
        (0..count).map(|n| from + each * (n as f64 + 0.5)).collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ridges_stay_under_a_tenth() {
        for radius in [5.0, 12.0, 40.0] {
            let (count, angles) = facets(radius, 0.0, std::f64::consts::PI);
            assert_eq!(count, angles.len());
            let half = std::f64::consts::PI / (2.0 * count as f64);
            assert!(radius * (1.0 / half.cos() - 1.0) <= 0.1 + 1e-12);
            // One flat less would be too coarse.
            if count > 1 {
                let half = std::f64::consts::PI / (2.0 * (count - 1) as f64);
                assert!(radius * (1.0 / half.cos() - 1.0) > 0.1);
            }
        }
    }
}
