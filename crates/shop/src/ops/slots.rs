//! Slots of a plate: down the middle with a smaller cutter and opened to width; without a cutter or a mill drilled, sawn and filed.

use super::Step;
use super::bits::{Work, cutting};
use super::blank::{Held, by_hand};
use super::plate::mill;
use crate::contour::{P, Side};
use crate::finding::Grade;
use crate::letters::names;
use crate::part::{Plate, Slot};
use crate::speeds::Tool;
use crate::words;

/// How a slot comes to be, in the order in which they are made: what lies as the holes did first, then what the work is turned for, last what goes
/// on the rotary table.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Way {
    /// Drilled, sawn and filed.
    Sawn,
    /// Along the table or across it, or about a point without a rotary table.
    Straight,
    /// The work turned.
    Aslant,
    /// On the rotary table.
    Round,
}

/// The widest cutter that leaves something to open the slot by.
fn cutter(work: &Work, s: &Slot) -> Option<f64> {
    match work.shop() {
        Some(shop) => {
            let all = shop.tools.end_mills.iter().copied();
            all.filter(|d| *d < s.width - 0.05).max_by(f64::total_cmp)
        }
        None => Some((s.width * 0.8).floor().max(1.0)),
    }
}

fn way(work: &Work, s: &Slot) -> (Way, Option<f64>) {
    let cutter = cutter(work, s).filter(|_| !by_hand(work));
    let way = match s.line() {
        _ if cutter.is_none() => Way::Sawn,
        Side::Arc { .. } if work.shop().is_none() || work.rotary().is_some() => Way::Round,
        Side::Line { .. } if aslant(s.ends).is_some() => Way::Aslant,
        _ => Way::Straight,
    };
    (way, cutter)
}

/// Whether a slot is made in the clamping of the holes.
pub(super) fn as_it_lies(work: &Work, p: &Plate) -> bool {
    !by_hand(work) && p.slots.iter().any(|s| way(work, s).0 != Way::Round)
}

pub(super) fn slots(work: &mut Work, p: &Plate) {
    let hand = by_hand(work);
    let mut order: Vec<(Way, Option<f64>, &Slot)> = p
        .slots
        .iter()
        .map(|s| {
            let (way, cutter) = way(work, s);
            (way, cutter, s)
        })
        .collect();
    order.sort_by_key(|o| o.0);
    let mut by = 0.0;
    for (way, cutter, s) in order {
        // What goes on the rotary table has a clamping of its own anyhow.
        if !hand && way != Way::Round && far(work, p, s) {
            by = 0.0;
        }
        match cutter {
            Some(cutter) if matches!(s.line(), Side::Arc { .. }) => {
                let (_, spindle) = mill(work);
                let rpm = work.rpm(Tool::EndMill, cutter, spindle);
                super::arc_slot::mill(work, p, s, cutter, rpm);
            }
            Some(cutter) => milled(work, p, s, cutter, &mut by),
            None => sawn(work, p, s, hand),
        }
    }
}

/// By how much work has to be turned clockwise until two places lie along the table, degrees, less than a quarter either way; none where they
/// lie along it, or across.
fn aslant([a, b]: [P; 2]) -> Option<f64> {
    let along = (b[1] - a[1]).atan2(b[0] - a[0]).to_degrees();
    let off = along.rem_euclid(90.0);
    (off > 1e-6 && 90.0 - off > 1e-6).then(|| (along + 90.0).rem_euclid(180.0) - 90.0)
}

/// A place of work that is turned clockwise by so many degrees.
fn turn(by: f64, [x, y]: P) -> P {
    let (sin, cos) = by.to_radians().sin_cos();
    [cos * x + sin * y, cos * y - sin * x]
}

/// On a plate longer than the mill travels a slot has a clamping of its own, picked up from the nearest finished hole.
fn far(work: &mut Work, p: &Plate, s: &Slot) -> bool {
    let [low, high] = p.outline.bounds();
    let Some(travel) = work.mill().map(|m| m.travel) else {
        return false;
    };
    if high[0] - low[0] <= travel[0].max(travel[1]) && high[1] - low[1] <= travel[0].max(travel[1])
    {
        return false;
    }
    let (machine, _) = mill(work);
    let middle = [0, 1].map(|i| f64::midpoint(s.ends[0][i], s.ends[1][i]));
    let away = |at: [f64; 2]| (at[0] - middle[0]).hypot(at[1] - middle[1]);
    let zero = p
        .holes
        .iter()
        .zip(names(p))
        .min_by(|a, b| away(a.0.at).total_cmp(&away(b.0.at)))
        .map_or_else(
            || "edge finder on the good edge and the nearer end".to_owned(),
            |(h, letter)| {
                format!(
                    "a pin in {letter}, the nearest finished hole: it stands at {}",
                    work.xy(h.at)
                )
            },
        );
    work.set_up(
        &format!("Slot {}", words::spoken(&s.name)),
        &machine,
        Held::Table.words(", the whole slot within the table's travel"),
        zero,
        12.0,
    );
    true
}

/// What is left in the width of a drilled slot for the file, mm (common practice).
const FILED: f64 = 0.4;
/// Least web between two drilled holes, mm (common practice): a drill runs into a hole that is nearer.
const WEB: f64 = 0.5;

/// How many holes go between two ends at this distance; none when even the two run into one another.
fn row(length: f64, drill: f64) -> Option<usize> {
    let spaces = (length / (drill + WEB) + 1e-9).floor();
    (spaces >= 1.0).then(|| spaces as usize - 1)
}

fn length(s: &Slot) -> f64 {
    s.line().length()
}

/// The largest drill of the shop not over a diameter; without a shop the next half millimetre.
pub(super) fn drill_below(work: &Work, most: f64) -> Option<(String, f64)> {
    match work.shop() {
        Some(shop) => shop
            .tools
            .drills
            .iter()
            .filter(|d| d.diameter <= most.min(work.drills_to(super::holes::On::Mill)) + 1e-6)
            .max_by(|a, b| a.diameter.total_cmp(&b.diameter))
            .map(|d| (d.name.clone(), d.diameter)),
        None => {
            let d = (2.0 * most).floor() / 2.0;
            Some((words::number(d, 1), d))
        }
    }
}

/// Drilled ends, holes in a row between them, then file.
fn sawn(work: &mut Work, p: &Plate, s: &Slot, hand: bool) {
    let name = words::spoken(&s.name);
    let width = work.mm(s.width);
    if s.depth.is_some() {
        work.finding(
            Grade::Cannot,
            format!("the slot {name} is not through, and nothing here mills it"),
            "make it through, or order the part",
        );
    } else if !hand {
        work.finding(
            Grade::WayRound,
            format!("no end mill under {width} for the slot {name}"),
            "drill the ends, saw and file between them, or buy the cutter",
        );
    }
    let (machine, spindle) = mill(work);
    let Some((drill, d)) = drill_below(work, s.width - FILED) else {
        work.step(Step {
            text: format!("The slot {name}: no drill here is under {width}"),
            minutes: 10.0,
            ..Step::default()
        });
        return;
    };
    if hand {
        work.set_up(
            &format!("Slot {name}"),
            &machine,
            "clamped on wood, then the bench vise with soft jaws",
            "the scribed lines",
            4.0,
        );
    }
    let at = format!("{} to {}", work.xy(s.ends[0]), work.xy(s.ends[1]));
    let between = row(length(s), d);
    // The row of an arc slot bends with it.
    let places = match (s.line(), between) {
        (line @ Side::Arc { .. }, Some(n)) if n > 0 => {
            let list: Vec<String> = (0..=n + 1)
                .map(|k| work.xy(line.at(k as f64 / (n + 1) as f64)))
                .collect();
            Some(list.join("; "))
        }
        _ => None,
    };
    let rpm = work.rpm(Tool::Drill, d, spindle);
    work.step(Step {
        text: match between {
            None => format!("Drill one end of the slot {name}; the rest is filed: two holes would run into one another"),
            Some(0) => format!("Drill both ends of the slot {name}"),
            Some(1) => format!("Drill both ends of the slot {name}, and one hole half-way"),
            Some(n) if places.is_some() => format!(
                "Drill both ends of the slot {name}, and {n} holes on its arc between them, each at its own place"
            ),
            Some(n) => format!(
                "Drill both ends of the slot {name}, and {n} holes in a row between them, {} from hole to hole",
                work.mm(length(s) / (n + 1) as f64)
            ),
        },
        tool: format!("drill {drill}"),
        rpm,
        at: places.unwrap_or_else(|| at.clone()),
        why: "what is drilled out is not filed out".to_owned(),
        minutes: 3.0 + 1.5 * between.unwrap_or(0) as f64,
        ..Step::default()
    });
    let check = work.measure("width", s.width, s.class.as_ref());
    work.step(Step {
        text: format!(
            "Cut the webs with a chisel or a pierced blade and file the slot {name} to {width}, its sides to the scribed lines"
        ),
        tool: "saw, flat and round file".to_owned(),
        at,
        check: format!("{check}; a gauge of the width goes from end to end"),
        minutes: 8.0 + length(s) * p.thickness / 40.0,
        ..Step::default()
    });
}

/// `turned` is by how much the work is turned already, clockwise, in degrees.
fn milled(work: &mut Work, p: &Plate, s: &Slot, cutter: f64, turned: &mut f64) {
    let (_, spindle) = mill(work);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let long = length(s);
    let deep = s.depth.unwrap_or(p.thickness);
    let passes = (deep / (cutter / 4.0)).ceil();
    let name = words::spoken(&s.name);
    super::bits::long_cutter(work, cutter, deep, &format!("the slot {name}"));
    let tool = super::bits::mill_for(work, cutter, deep);
    // As dials read them before the work is turned for this slot.
    let mut ends = s.ends.map(|at| work.laid(at));
    let by = aslant(ends).unwrap_or(0.0);
    if (by - *turned).abs() > 1e-6 {
        turned_for(work, p, &name, by, by - *turned);
        *turned = by;
    }
    let mut over = "";
    if by != 0.0 {
        ends = ends.map(|at| turn(by, at));
        if ends[0][0] > ends[1][0] {
            ends.swap(0, 1);
        }
        over = ", the work turned";
    }
    let middle = [0, 1].map(|i| f64::midpoint(ends[0][i], ends[1][i]));
    let [a, b, middle] = [ends[0], ends[1], middle].map(|at| work.dials(at));
    let at = format!("{a} to {b}{over}");
    // Of two large holes side by side the second breaks into the first and grabs: one in the middle, and milled from it.
    let near = long < cutter + WEB;
    if let Some((drill, d)) = drill_below(work, cutter - 0.2) {
        let deep = if s.depth.is_some() {
            format!(", {} at the point", work.mm(deep - 0.2))
        } else {
            String::new()
        };
        work.step(Step {
            text: format!(
                "{}Drill {} of the slot {name} under size{deep}",
                if d >= 9.0 {
                    "Centre, pilot half as wide, then: "
                } else {
                    "Centre-drill, then: "
                },
                if near {
                    "one hole in the middle"
                } else {
                    "both ends"
                }
            ),
            tool: format!("drill {drill}"),
            rpm: work.rpm(Tool::Drill, d, spindle),
            at: if near {
                format!("{middle}{over}")
            } else {
                at.clone()
            },
            why: "an end mill does not like to plunge".to_owned(),
            minutes: 3.0,
            ..Step::default()
        });
    }
    work.step(Step {
        text: format!(
            "Mill the slot {name} down the middle, {}",
            words::passes(passes, &work.mm(deep / passes))
        ),
        tool: tool.clone(),
        rpm,
        feed: Some(0.05),
        at: at.clone(),
        minutes: 3.0 + passes * cutting(long + cutter, 0.05, rpm.unwrap_or(500.0)),
        ..Step::default()
    });
    let off = (s.width - cutter) / 2.0;
    let check = work.measure("width", s.width, s.class.as_ref());
    work.step(Step {
        text: format!(
            "Open it to {}: {} to each side of the middle, against the feed, and round both ends{}",
            work.mm(s.width),
            work.read(off),
            if off > 0.5 {
                format!(
                    ": there the cutter goes round a circle of {} (rotary table, or the end bored with the boring head first)",
                    work.read(off)
                )
            } else {
                format!(", {} further on the middle line", work.read(off))
            }
        ),
        tool,
        rpm,
        feed: Some(0.05),
        at,
        check,
        why: "a cutter of full width wanders to one side".to_owned(),
        minutes: 4.0 + 2.0 * cutting(long + cutter, 0.05, rpm.unwrap_or(500.0)),
        ..Step::default()
    });
}

/// The work is turned until a slot lies along the table: clockwise by `by` from how its holes were made, by `further` from how it lies.
fn turned_for(work: &mut Work, p: &Plate, name: &str, by: f64, further: f64) {
    let pins = super::pins::apart(work, p, work.unlaid(turn(-by, [1.0, 0.0])));
    let (tool, check) = match pins {
        Some(check) => ("edge finder or indicator, two pins".to_owned(), check),
        None => (
            "sine bar or protractor against the good edge".to_owned(),
            String::new(),
        ),
    };
    let sense = if further > 0.0 {
        "clockwise"
    } else {
        "counter-clockwise"
    };
    let nearest = p.holes.iter().zip(names(p)).min_by(|a, b| {
        let far = |h: &crate::part::Hole| h.at[0].hypot(h.at[1]);
        far(a.0).total_cmp(&far(b.0))
    });
    let zero = nearest.map_or_else(String::new, |(h, letter)| {
        format!(
            "; dials anew: over {letter} they read {}",
            work.dials(turn(by, work.laid(h.at)))
        )
    });
    work.step(Step {
        text: format!(
            "Turn the work {sense} by {}°, as it is seen from above, until the slot {name} lies along the table{zero}",
            words::number(further.abs(), 3)
        ),
        tool,
        check,
        why: "places of this slot are those of the turned work from here on".to_owned(),
        minutes: 10.0,
        ..Step::default()
    });
}

#[cfg(test)]
mod tests {
    use super::row;

    #[test]
    fn holes_of_a_row_keep_their_web() {
        for tenths in 1..1000_u32 {
            for drill in [2.0, 5.5, 7.8, 12.0] {
                let length = f64::from(tenths) / 10.0;
                match row(length, drill) {
                    None => assert!(length < drill + 0.5 + 1e-6),
                    Some(n) => {
                        assert!(length / (n + 1) as f64 >= drill + 0.5 - 1e-6);
                        // One more would be too near.
                        assert!(length / ((n + 2) as f64) < drill + 0.5 + 1e-6);
                    }
                }
            }
        }
    }
}
