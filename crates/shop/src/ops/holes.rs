//! How one hole is made with the tools there are: centre, drill, ream, bore or tap, and what to do when a tool is missing.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::blind;
use super::tapped::tapped;
use crate::finding::Grade;
use crate::part::{cut, cut_size};
use crate::speeds::{BURNS, Tool, drill_feed, turns};
use crate::words;
use elements::cutting::ream_stock;
use machine::equipment::{Drill, Spindle};
use machine::fitting::{Cut, Fitted, Sized};

/// Where a hole is made.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum On {
    /// Mill or drill press: boring needs a boring head.
    Mill,
    /// Lathe: boring bars.
    Lathe,
}

/// A hole as the machinist is told of it.
pub(super) struct Wanted<'a> {
    pub(super) name: String,
    pub(super) fitted: &'a Fitted,
    pub(super) on: On,
    /// Coordinates or end, as read.
    pub(super) at: String,
    pub(super) blind: Option<f64>,
    pub(super) through: f64,
    pub(super) spindle: Option<&'a Spindle>,
    /// A step comes once for several holes: how many.
    pub(super) count: usize,
    /// A hole of this diameter is there already, on the same axis.
    pub(super) open: Option<f64>,
    /// How much deeper than through it goes, past the place where the part comes off the bar.
    pub(super) over: f64,
}

/// Leftover for a boring tool, mm on diameter (common practice).
const BORE_STOCK: f64 = 1.0;
/// The least that a boring tool still cuts clean, mm on diameter (common practice).
pub(super) const LEAST_STOCK: f64 = 0.4;
/// From here on a drill follows a smaller one (common practice).
const PILOT_FROM: f64 = 9.0;

pub(super) fn make(work: &mut Work, hole: &Wanted) {
    let depth = hole.blind.unwrap_or(hole.through + hole.over);
    let deep = match hole.blind {
        Some(b) => format!("{} deep", work.mm(b)),
        None if hole.over > 0.0 => format!("{} deep, past the cut", work.mm(depth)),
        None => "through".to_owned(),
    };
    if words::is_wood(&work.part.material) && cut_size(hole.fitted).is_some() {
        wooden(work, hole, &deep);
        return;
    }
    if hole.open.is_none() {
        centre(work, hole);
    }
    match hole.fitted {
        Fitted::Tapped {
            thread,
            depth: full,
        } => tapped(work, hole, thread, *full, depth, &deep),
        other => {
            let Some(size) = cut_size(other) else { return };
            match cut(other) {
                Some(Cut::Drill) => drilled(work, hole, size, depth, &deep),
                Some(Cut::Ream) => reamed(work, hole, size, depth, &deep),
                _ => bored(work, hole, size, depth, &deep),
            }
        }
    }
}

/// A hole in wood: to fit what goes in, dry; oil spoils grain and glue, and no limits stay in it.
fn wooden(work: &mut Work, hole: &Wanted, deep: &str) {
    let Some(size) = cut_size(hole.fitted) else {
        return;
    };
    let d = words::tool_size(size.nominal, work.bench.unit);
    let seat = matches!(hole.fitted, Fitted::Bearing { .. } | Fitted::Bushing { .. });
    let rpm = work.rpm(Tool::Drill, size.nominal, hole.spindle);
    let minutes = 3.0 + size.nominal / 5.0;
    push(
        work,
        hole,
        Step {
            text: format!(
                "Drill {} {deep} with a brad point or Forstner bit, dry, a block of waste clamped behind{}",
                hole.name,
                if seat { "; a hole in the waste first, and try what goes in" } else { "" }
            ),
            tool: format!("wood bit {d}"),
            rpm,
            check: if seat {
                "a push fit for what goes in, which is at hand; it is glued or pinned".to_owned()
            } else if size.assumed {
                String::new()
            } else {
                "its pin goes through by hand and does not rock".to_owned()
            },
            why: "wood swells and shrinks with the weather: no limits of a few hundredths stay in it, and oil spoils grain and glue".to_owned(),
            minutes,
            ..Step::default()
        },
    );
    work.caution(Caution::Drilling);
}

fn times(n: usize) -> f64 {
    n.max(1) as f64
}

pub(super) fn push(work: &mut Work, hole: &Wanted, mut step: Step) {
    if step.at.is_empty() {
        step.at.clone_from(&hole.at);
    }
    step.minutes *= times(hole.count);
    work.step(step);
}

fn centre(work: &mut Work, hole: &Wanted) {
    // Its pilot has to be thinner than the hole.
    let wide = hole.fitted.across();
    let pilot = if wide > 3.5 {
        3.0
    } else if wide > 2.0 {
        1.6
    } else {
        1.0
    };
    let rpm = work.rpm(Tool::Drill, pilot, hole.spindle);
    push(
        work,
        hole,
        Step {
            text: format!("Centre-drill {}", hole.name),
            tool: work.tool("centre drill", pilot),
            rpm,
            why: "a drill follows its centre; without one it walks".to_owned(),
            minutes: 1.0,
            ..Step::default()
        },
    );
}

/// The largest drill that is no larger than `most`, and that turns where the hole is made.
pub(super) fn drill_up_to<'a>(work: &Work<'a>, most: f64, on: On) -> Option<&'a Drill> {
    let shop = work.shop()?;
    let most = most.min(work.drills_to(on));
    let largest = shop
        .tools
        .drills
        .iter()
        .filter(|d| d.diameter <= most + 1e-6);
    largest.max_by(|a, b| a.diameter.total_cmp(&b.diameter))
}

/// Drills to a diameter, through a pilot when large. Without a shop any drill is there.
pub(super) fn drill(
    work: &mut Work,
    hole: &Wanted,
    name: &str,
    diameter: f64,
    depth: f64,
    deep: &str,
    check: String,
) {
    let mut sizes = vec![(name.to_owned(), diameter, check)];
    if diameter >= PILOT_FROM {
        let pilot = match work.shop() {
            Some(_) => {
                drill_up_to(work, 0.45 * diameter, hole.on).map(|d| (d.name.clone(), d.diameter))
            }
            None => Some((
                words::number((0.4 * diameter).round(), 0),
                (0.4 * diameter).round(),
            )),
        };
        if let Some((name, d)) = pilot {
            sizes.insert(0, (name, d, String::new()));
        }
    }
    // What is open already is not drilled again; a drill follows it as it would a pilot.
    if let Some(open) = hole.open {
        sizes.retain(|(_, d, _)| *d > open + 0.5);
    }
    let last = sizes.len().saturating_sub(1);
    let clear = match sizes.last() {
        Some((_, d, _)) => {
            let clear = blind::deep_drill(work, hole, *d, depth);
            format!("{clear}{}", blind::raised(work, hole, *d, depth))
        }
        None => String::new(),
    };
    for (n, (name, d, check)) in sizes.into_iter().enumerate() {
        let rpm = work.rpm(Tool::Drill, d, hole.spindle);
        let feed = drill_feed(d);
        push(
            work,
            hole,
            Step {
                text: if n < last {
                    format!("Pilot {} {deep}", hole.name)
                } else {
                    format!("Drill {} {deep}{clear}", hole.name)
                },
                tool: format!("drill {name}"),
                rpm,
                feed: Some(feed),
                check,
                why: if n < last {
                    "a thick web does not cut".to_owned()
                } else {
                    String::new()
                },
                minutes: 0.7 + cutting(depth + d / 3.0, feed, rpm.unwrap_or(500.0)),
                ..Step::default()
            },
        );
    }
    work.caution(Caution::Drilling);
}

fn drilled(work: &mut Work, hole: &Wanted, size: &Sized, depth: f64, deep: &str) {
    let wanted = size.nominal;
    let check = work.measure("hole", wanted, (!size.assumed).then_some(size));
    let Some(shop) = work.shop() else {
        drill(work, hole, &work.mm(wanted), wanted, depth, deep, check);
        return;
    };
    let cap = work.drills_to(hole.on);
    if wanted > cap + 1e-6 {
        if too_large(work, hole, wanted) {
            bored(work, hole, size, depth, deep);
        }
        return;
    }
    let fits = |d: &&Drill| {
        d.diameter >= size.limits.least() - 1e-6
            && d.diameter <= size.limits.most().min(cap.max(wanted)) + 1e-6
    };
    let near = shop.tools.drills.iter().filter(fits).min_by(|a, b| {
        (a.diameter - wanted)
            .abs()
            .total_cmp(&(b.diameter - wanted).abs())
    });
    if let Some(d) = near {
        drill(work, hole, &d.name.clone(), d.diameter, depth, deep, check);
        return;
    }
    // A clearance hole bears a drill that is a little larger (ISO 273 allows the coarse series: a tenth more).
    let larger = shop.tools.drills.iter().find(|d| {
        size.assumed && d.diameter > wanted && d.diameter <= wanted + (0.1 * wanted).clamp(0.2, 1.0)
    });
    if let Some(d) = larger {
        let (shown, name) = (work.mm(wanted), d.name.clone());
        work.finding(
            Grade::WayRound,
            format!("no drill {shown} for {}", hole.name),
            format!(
                "{name} is drilled: a screw has that much more room; buy {shown} where it matters"
            ),
        );
        let check = work.measure("hole", d.diameter, None);
        drill(work, hole, &name, d.diameter, depth, deep, check);
        return;
    }
    let below = drill_up_to(work, wanted, hole.on).map(|d| (d.name.clone(), d.diameter));
    let above = shop
        .tools
        .drills
        .iter()
        .find(|d| d.diameter > wanted)
        .map(|d| d.name.clone());
    let shown = work.mm(wanted);
    let advice = match (&below, &above) {
        (Some((b, _)), Some(a)) => {
            format!("drill {b} and bore to size, or take {a} if the place bears a larger hole")
        }
        (Some((b, _)), None) => format!("drill {b} and bore to size"),
        _ => "buy the drill".to_owned(),
    };
    work.finding(
        Grade::WayRound,
        format!("no drill {shown} for {}", hole.name),
        advice,
    );
    bored(work, hole, size, depth, deep);
}

/// A drill larger than the machine turns stalls and throws the work: said once, with the way round; `false` when there is none.
fn too_large(work: &mut Work, hole: &Wanted, wanted: f64) -> bool {
    let cap = work.drills_to(hole.on);
    let machine = super::plate::mill(work).0;
    let (shown, most) = (work.mm(wanted), work.mm(cap));
    let enters = drill_up_to(work, wanted - LEAST_STOCK, hole.on).map_or(0.0, |d| d.diameter);
    let text = format!(
        "the {machine} drills up to {most}, {} is {shown}",
        hole.name
    );
    let mill = !super::blank::by_hand(work);
    if !out_of_reach(work, hole.on, wanted, enters)
        || mill && blind::lathe_bores(work, wanted, enters)
    {
        work.finding(
            Grade::WayRound,
            text,
            "it is drilled so far and bored; or drilled in the lathe, the plate on its faceplate",
        );
        return true;
    }
    work.finding(
        Grade::Cannot,
        text,
        "order the part, drill it where a larger spindle is, or make the hole smaller",
    );
    no_way(work, hole);
    false
}

/// A step that stands where a hole ought to be made, so that none is forgotten.
pub(super) fn no_way(work: &mut Work, hole: &Wanted) {
    push(
        work,
        hole,
        Step {
            text: format!(
                "{}: this shop has no way yet, see what the first sheet says",
                hole.name
            ),
            minutes: 10.0,
            ..Step::default()
        },
    );
}

fn has_reamer(work: &Work, size: &Sized) -> bool {
    work.shop().is_none_or(|s| {
        s.tools.reamers.iter().any(|r| {
            (r.nominal - size.nominal).abs() < 1e-6
                && r.limits.most() <= size.limits.most() + 1e-6
                && r.limits.least() >= size.limits.least() - 1e-6
        })
    })
}

/// A hole that a boring tool finishes: written so, or no reamer of its size is there and something bores it.
pub(super) fn is_bored(work: &Work, fitted: &Fitted) -> bool {
    let Some(size) = cut_size(fitted) else {
        return false;
    };
    match cut(fitted) {
        Some(Cut::Bore) => true,
        Some(ask) => {
            let enters = drill_up_to(work, size.nominal - LEAST_STOCK, On::Lathe)
                .map_or(0.0, |d| d.diameter);
            let large = size.nominal > work.drills_to(On::Mill) + 1.0;
            (large || ask == Cut::Ream && !has_reamer(work, size))
                && blind::lathe_bores(work, size.nominal, enters)
        }
        None => false,
    }
}

fn reamed(work: &mut Work, hole: &Wanted, size: &Sized, depth: f64, deep: &str) {
    let has = has_reamer(work, size);
    // What a reamer that is not here would make is bored; where nothing bores it, the reamer has to be bought.
    let enters = drill_up_to(work, size.nominal - LEAST_STOCK, hole.on).map_or(0.0, |d| d.diameter);
    let bores = !out_of_reach(work, hole.on, size.nominal, enters)
        || hole.on == On::Mill && blind::lathe_bores(work, size.nominal, enters);
    if !bores && size.nominal > work.drills_to(hole.on) + 1.0 {
        too_large(work, hole, size.nominal);
        return;
    }
    if !has && !bores {
        let shown = format!("{} {}", work.mm(size.nominal), size.class);
        let advice = blind::instead(work, hole, size);
        work.finding(
            Grade::Cannot,
            format!(
                "no reamer {shown} for {}, and nothing here bores it",
                hole.name
            ),
            advice,
        );
    } else if !has {
        let shown = format!("{} {}", work.mm(size.nominal), size.class);
        work.finding(
            Grade::WayRound,
            format!("no reamer {shown} for {}", hole.name),
            "it is bored to size instead; a bought reamer makes the next ones quicker",
        );
        bored(work, hole, size, depth, deep);
        return;
    }
    let stock = ream_stock(size.nominal).unwrap_or((0.2, 0.3));
    let below = size.nominal - stock.0;
    let found = match work.shop() {
        Some(_) => drill_up_to(work, below, hole.on).map(|d| (d.name.clone(), d.diameter)),
        None => {
            let d = crate::tap_drill::before_reamer(size.nominal);
            Some((words::number(d, 1), d))
        }
    };
    let Some((name, d)) = found else {
        work.finding(
            Grade::Cannot,
            format!("no drill below {} for {}", work.mm(below), hole.name),
            "buy one a quarter of a millimetre under size",
        );
        no_way(work, hole);
        return;
    };
    let (drilled, full) = blind::before_reaming(work, hole, d, deep);
    drill(work, hole, &name, d, depth, &drilled, String::new());
    let left = size.nominal - d;
    if left > stock.1 + 0.25 {
        let left = work.mm(left);
        work.finding(
            Grade::WayRound,
            format!(
                "the nearest drill leaves {left} for the reamer at {}",
                hole.name
            ),
            "bore out all but a quarter of a millimetre before reaming",
        );
        if out_of_reach(work, hole.on, size.nominal - stock.1, d) {
            // No reamer takes out more than about a millimetre (common practice).
            if d + 1.0 + 1e-6 < size.nominal {
                let advice = blind::instead(work, hole, size);
                work.finding(
                    Grade::Cannot,
                    format!(
                        "{}: a reamer does not take out {}, and nothing here bores it",
                        hole.name,
                        work.mm(size.nominal - d)
                    ),
                    advice,
                );
                no_way(work, hole);
                return;
            }
        } else {
            bore_to(work, hole, [d, size.nominal - stock.1], depth, deep);
        }
    }
    let rpm = work.rpm(Tool::Reamer, size.nominal, hole.spindle);
    let wants = turns(&work.part.material, Tool::Reamer, size.nominal);
    // Where the slowest speed burns the reamer it is turned by hand.
    let hand = rpm.is_some_and(|r| r > BURNS * wants);
    let rpm = rpm.filter(|_| !hand);
    let feed = 2.0 * drill_feed(size.nominal);
    let check = format!(
        "plug or pin gauge: {}",
        words::limits(size, work.bench.units())
    );
    push(
        work,
        hole,
        Step {
            text: format!(
                "Ream {} {full}, {}one pass, oil; never turn it backwards",
                hole.name,
                if hand {
                    "by hand, a tap wrench on it, the centre in the spindle following: "
                } else {
                    ""
                }
            ),
            tool: format!("reamer {} {}", reamer_size(work, size.nominal), size.class),
            rpm,
            feed: Some(feed).filter(|_| !hand),
            check,
            why: "without moving the table: the reamer follows the drilled hole".to_owned(),
            minutes: 1.5 + cutting(depth + 5.0, feed, rpm.unwrap_or(200.0)),
            ..Step::default()
        },
    );
}

/// A reamer by its size: to the thousandth, in an inch file by its fraction.
fn reamer_size(work: &Work, d: f64) -> String {
    if work.bench.unit == quantity::Unit::Inch {
        words::tool_size(d, work.bench.unit)
    } else {
        words::number(d, 3)
    }
}

/// Whether this shop has nothing that goes into a hole of one diameter and bores it to another.
pub(super) fn out_of_reach(work: &Work, on: On, diameter: f64, enters: f64) -> bool {
    work.shop().is_some_and(|shop| {
        let reach = match on {
            // A boring head wants a mill: the taper of a drill press lets go under side load.
            On::Mill => shop.tools.boring_head.filter(|_| !shop.mills.is_empty()),
            On::Lathe => shop.tools.boring,
        };
        !reach.is_some_and(|[low, high]| diameter <= high + 1e-9 && enters >= low - 1e-9)
    })
}

fn bored(work: &mut Work, hole: &Wanted, size: &Sized, depth: f64, deep: &str) {
    let (mut what, where_else) = match hole.on {
        On::Mill => (
            "boring head",
            "bore it in the four-jaw chuck of the lathe, the hole set to run true",
        ),
        On::Lathe => (
            "boring bar",
            "open it with the nearest reamer or drill, or order the part",
        ),
    };
    // A bar has to go into the hole before it can bore it.
    let enters = match work.shop() {
        Some(_) => {
            drill_up_to(work, size.nominal - LEAST_STOCK, hole.on).map_or(0.0, |d| d.diameter)
        }
        None => size.nominal,
    };
    let enters = enters.max(hole.open.unwrap_or(0.0));
    // Without any drill there is nothing to bore: that is told below.
    if enters > 0.0 && out_of_reach(work, hole.on, size.nominal, enters) {
        let shown = work.mm(size.nominal);
        let mill = !super::blank::by_hand(work);
        if hole.on == On::Mill && mill && blind::lathe_bores(work, size.nominal, enters) {
            what = "boring bar, the plate in the lathe";
            work.finding(
                Grade::WayRound,
                format!("no boring head reaches {shown} at {}", hole.name),
                where_else,
            );
        } else {
            let advice = match hole.on {
                On::Lathe => where_else.to_owned(),
                On::Mill => blind::instead(work, hole, size),
            };
            work.finding(
                Grade::Cannot,
                format!("no {what} reaches {shown} at {}", hole.name),
                advice,
            );
            no_way(work, hole);
            return;
        }
    }
    // As much left as makes round, but the tool has to enter.
    let least = work.shop().and_then(|s| match hole.on {
        On::Mill => s.tools.boring_head,
        On::Lathe => s.tools.boring,
    });
    let mut under = size.nominal - BORE_STOCK;
    if least
        .is_some_and(|[low, _]| drill_up_to(work, under, hole.on).is_some_and(|d| d.diameter < low))
    {
        under = size.nominal - LEAST_STOCK;
    }
    let under = blind::largest(hole, under);
    let found = match work.shop() {
        _ if hole.open.is_some_and(|o| o > under - 2.0) => hole.open.map(|o| (String::new(), o)),
        Some(_) => drill_up_to(work, under, hole.on).map(|d| (d.name.clone(), d.diameter)),
        None => Some((words::number(under.floor(), 0), under.floor())),
    };
    let Some((name, d)) = found else {
        work.finding(
            Grade::Cannot,
            format!("no drill to start {} with", hole.name),
            "buy one smaller than the bore",
        );
        no_way(work, hole);
        return;
    };
    let enters = d.max(hole.open.unwrap_or(0.0));
    let reach = blind::bar_reach(enters);
    let mut both = "";
    if work.shop().is_some() && depth > reach + 1e-6 {
        let (far, most, thick) = (work.mm(depth), work.mm(reach.floor()), work.mm(enters));
        let text = format!(
            "{} is {far} deep: a boring bar that goes into {thick} stays straight for some {most}",
            hole.name
        );
        if has_reamer(work, size)
            && enters + 1.0 + 1e-6 >= size.nominal
            && cut(hole.fitted) != Some(Cut::Drill)
        {
            work.finding(
                Grade::WayRound,
                text,
                "it is reamed: a reamer follows its hole, however deep",
            );
            reamed(work, hole, size, depth, deep);
            return;
        }
        if hole.blind.is_some() || depth / 2.0 > reach {
            work.finding(
                Grade::Cannot,
                text,
                "two short seats with the middle drilled wider; a reamer of its size; or order the part",
            );
            no_way(work, hole);
            return;
        }
        work.finding(
            Grade::WayRound,
            text,
            "it is bored half-way from each end, the second half set true by the first",
        );
        both = ", half-way from this end, then the other half, the work turned round and the finished half set true within a hundredth";
    }
    let deep = format!("{deep}{both}");
    let deep = deep.as_str();
    let (begun, point) = blind::before_boring(work, hole, d, deep);
    drill(
        work,
        hole,
        &name,
        d,
        point.unwrap_or(depth),
        &begun,
        String::new(),
    );
    if cut(hole.fitted) == Some(Cut::Drill) && size.limits.tolerance() > 0.1 {
        clearance(work, hole, size, what, deep);
        return;
    }
    let target = size.limits.middle();
    let rough = ((target - 0.5) * 10.0).floor() / 10.0;
    if rough > d {
        bore_to(work, hole, [enters, rough], depth, deep);
    }
    if let Some(text) = press_target(work, hole.fitted) {
        push(
            work,
            hole,
            Step {
                text,
                check: "nothing is pressed before both sizes are written down".to_owned(),
                why: "before the last cuts: what is bored too far is not put back".to_owned(),
                minutes: 2.0,
                ..Step::default()
            },
        );
    }
    let rpm = work.rpm(Tool::Boring, size.nominal, hole.spindle);
    push(
        work,
        hole,
        Step {
            text: format!(
                "Bore {}{}: {}, {} and {}, then measure; the last cut is what is missing, then once more at the same setting",
                hole.name,
                if hole.blind.is_some() {
                    format!(" {deep}, the floor faced flat")
                } else {
                    both.to_owned()
                },
                work.fine(target - 0.2),
                work.fine(target - 0.1),
                work.fine(target - 0.05)
            ),
            tool: what.to_owned(),
            rpm,
            feed: Some(0.05),
            check: format!(
                "bore {}, aim at {} (inside micrometer or telescopic gauge, in two directions)",
                words::limits(size, work.bench.units()),
                work.fine(target)
            ),
            why: why_bore(hole.fitted).to_owned(),
            minutes: 8.0 + 4.0 * cutting(depth + 2.0, 0.05, rpm.unwrap_or(300.0)),
            ..Step::default()
        },
    );
}

/// A hole for a screw or a pipe that no drill makes: one cut to size.
fn clearance(work: &mut Work, hole: &Wanted, size: &Sized, tool: &str, deep: &str) {
    let rpm = work.rpm(Tool::Boring, size.nominal, hole.spindle);
    let text = format!(
        "Bore {} to {} {deep}",
        hole.name,
        work.mm(size.limits.middle())
    );
    let check = format!("hole {} (caliper)", words::limits(size, work.bench.units()));
    push(
        work,
        hole,
        Step {
            text,
            tool: tool.to_owned(),
            rpm,
            feed: Some(0.08),
            check,
            minutes: 8.0,
            ..Step::default()
        },
    );
}

fn why_bore(fitted: &Fitted) -> &'static str {
    match fitted {
        Fitted::Bearing { .. } => {
            "the outer ring takes the shape of its seat: round and to size, or the bearing loses its clearance"
        }
        Fitted::Bushing { .. } => {
            "the interference is all that holds the bushing, and it closes the bore"
        }
        _ => {
            "a boring tool cuts straight and to any size; the last cuts are alike so that the tool bends alike"
        }
    }
}

/// What the bore has to be for the ring that lies on the bench.
fn press_target(work: &Work, fitted: &Fitted) -> Option<String> {
    let unit = work.bench.unit;
    match fitted {
        Fitted::Bushing {
            outside: Some((outside, seat)),
            ..
        } => {
            let wanted = outside.limits.middle() - seat.limits.middle();
            Some(format!(
                "Measure the bushing, which is made or bought first: bore to its outside less {} (drawing: {} in {})",
                words::length(wanted, unit),
                words::limits(outside, work.bench.units()),
                words::limits(seat, work.bench.units())
            ))
        }
        Fitted::Bearing {
            bearing, hub, name, ..
        } => {
            let over = hub.limits.middle() - hub.nominal;
            let word = if over < 0.0 { "less" } else { "plus" };
            Some(format!(
                "Measure the outer ring of {name} (nominal {}): bore to it {word} {}",
                words::length(bearing.outside, unit),
                words::length(over.abs(), unit)
            ))
        }
        _ => None,
    }
}

/// Opens a hole with a boring tool, from one diameter to another: a millimetre on the radius at a cut (common practice).
pub(super) fn bore_to(
    work: &mut Work,
    hole: &Wanted,
    [from, to]: [f64; 2],
    depth: f64,
    deep: &str,
) {
    let rpm = work.rpm(Tool::Boring, to, hole.spindle);
    let shown = work.mm(to);
    let passes = ((to - from) / 2.0 / 1.0).ceil().max(1.0);
    let cuts = if passes > 1.5 {
        format!(
            ", {} of about {} on the radius",
            words::number(passes, 0) + " cuts",
            work.mm(((to - from) / 2.0 / passes * 10.0).round() / 10.0)
        )
    } else {
        String::new()
    };
    let tool = if hole.on == On::Mill {
        "boring head"
    } else {
        "boring bar"
    };
    push(
        work,
        hole,
        Step {
            text: format!("Rough-bore {} to {shown}, {deep}{cuts}", hole.name),
            tool: tool.to_owned(),
            rpm,
            feed: Some(0.08),
            minutes: 4.0 + passes.max(3.0) * cutting(depth, 0.08, rpm.unwrap_or(300.0)),
            ..Step::default()
        },
    );
}
