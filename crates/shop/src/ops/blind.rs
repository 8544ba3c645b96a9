//! Holes that do not go through, and deep ones: where the point of the drill ends, how far reamers cut full, how long drills are.

use super::bits::Work;
use super::holes::{On, Wanted};
use crate::finding::Grade;
use crate::resolve::depths::POINT;
use crate::words;
use machine::equipment::Holding;
use machine::fitting::Sized;

/// Left on the floor for the boring tool, mm (common practice).
const FLOOR: f64 = 0.2;
/// Lead of a machine reamer and room for its chips, mm (common practice).
const LEAD: f64 = 2.5;

/// How deep a drill goes that begins a flat-bottomed bore: its point stays above the floor.
pub(super) fn before_boring(
    work: &Work,
    hole: &Wanted,
    drill: f64,
    deep: &str,
) -> (String, Option<f64>) {
    let Some(floor) = hole.blind.filter(|_| hole.open.is_none()) else {
        return (deep.to_owned(), None);
    };
    let point = floor - FLOOR;
    let lips = (point - POINT * drill).max(0.0);
    (
        format!(
            "{} deep at its point, {} at its lips: the floor is bored",
            work.mm(point),
            work.mm((lips * 10.0).round() / 10.0)
        ),
        Some(point),
    )
}

/// The largest drill whose point stays above the floor of a blind bore.
pub(super) fn largest(hole: &Wanted, under: f64) -> f64 {
    match hole.blind {
        Some(floor) if hole.open.is_none() => under.min(((floor - FLOOR) / POINT).max(1.0)),
        _ => under,
    }
}

/// The drilled depth before a reamer in a blind hole, and how deep the fit is: the reamer's lead needs room.
pub(super) fn before_reaming(
    work: &mut Work,
    hole: &Wanted,
    drill: f64,
    deep: &str,
) -> (String, String) {
    let Some(floor) = hole.blind else {
        return (deep.to_owned(), deep.to_owned());
    };
    if floor + LEAD + POINT * drill + 0.5 <= hole.through {
        (
            format!("{} deep", work.mm(floor + LEAD)),
            format!("{} deep full, its lead goes further", work.mm(floor)),
        )
    } else {
        if floor <= LEAD {
            let lead = (work.mm(floor), work.mm(LEAD));
            work.finding(
                Grade::WayRound,
                format!(
                    "{} is reamed {} deep: the lead of a reamer takes {} of that",
                    hole.name, lead.0, lead.1
                ),
                "let it go through, bore it, or drill it to size",
            );
        }
        (
            deep.to_owned(),
            format!(
                "to the bottom: full to {}, the lead takes the rest",
                work.mm((floor - 1.5).max(0.0))
            ),
        )
    }
}

/// Flute of a jobber drill, mm (DIN 338, from memory).
fn flute(d: f64) -> f64 {
    const ROWS: [(f64, f64); 12] = [
        (1.0, 12.0),
        (1.5, 18.0),
        (2.0, 24.0),
        (2.5, 30.0),
        (3.0, 33.0),
        (4.0, 43.0),
        (5.0, 52.0),
        (6.0, 57.0),
        (8.0, 75.0),
        (10.0, 87.0),
        (12.0, 101.0),
        (16.0, 120.0),
    ];
    let above = ROWS.iter().position(|r| r.0 >= d - 1e-9);
    match above {
        Some(0) => ROWS[0].1,
        Some(n) => {
            let (a, b) = (ROWS[n - 1], ROWS[n]);
            a.1 + (b.1 - a.1) * (d - a.0) / (b.0 - a.0)
        }
        None => 7.5 * d,
    }
}

/// How far out a steel bar bores that goes into a hole: five of its own diameters, two millimetres round it for chips (common practice: four to
/// five diameters before it chatters).
pub(super) fn bar_reach(hole: f64) -> f64 {
    5.0 * (hole - 2.0).clamp(0.8 * hole.min(10.0), 40.0)
}

/// What a deep hole asks of its drill, for the step; a drill that is too short is a finding.
pub(super) fn deep_drill(work: &mut Work, hole: &Wanted, drill: f64, depth: f64) -> &'static str {
    let needs = depth + POINT * drill;
    if needs > flute(drill) {
        let (d, deep, have) = (work.mm(drill), work.mm(needs), work.mm(flute(drill)));
        work.finding(
            Grade::WayRound,
            format!(
                "{}: drill {d} goes {deep} deep, a jobber drill has {have} of flute",
                hole.name
            ),
            "a long drill (DIN 340) after a short one has started it, or from both sides",
        );
    }
    if depth > 4.0 * drill {
        ", out and clear of chips after every diameter"
    } else {
        ""
    }
}

/// What a drill press asks for whose quill does not go as deep as the hole.
pub(super) fn raised(work: &Work, hole: &Wanted, drill: f64, depth: f64) -> String {
    let press = work.drill_press().filter(|_| work.mill().is_none());
    let Some(press) = press.filter(|_| hole.on == On::Mill) else {
        return String::new();
    };
    let deep = depth + POINT * drill;
    if deep <= press.stroke || press.stroke <= 0.0 {
        return String::new();
    }
    let times = (deep / press.stroke).ceil() - 1.0;
    format!(
        "; the quill goes {}: the spindle stopped, the table raised under it {} on the way, the work still clamped",
        work.mm(press.stroke),
        if times > 1.5 {
            format!("{} times", words::number(times, 0))
        } else {
            "once".to_owned()
        }
    )
}

/// Whether the lathe bores a hole of a plate: chuck or faceplate, and a bar that goes in.
pub(super) fn lathe_bores(work: &Work, diameter: f64, enters: f64) -> bool {
    let Some(shop) = work.shop() else { return true };
    let holds = shop
        .lathes
        .iter()
        .any(|l| l.holds.contains(&Holding::FourJaw) || l.holds.contains(&Holding::Faceplate));
    holds
        && shop
            .tools
            .boring
            .is_some_and(|[low, high]| diameter <= high + 1e-9 && enters >= low - 1e-9)
}

/// What to do where nothing bores a size: with a class a reamer, else the boring tool.
pub(super) fn instead(work: &Work, hole: &Wanted, size: &Sized) -> String {
    let d = work.mm(size.nominal);
    if size.nominal > 25.0 {
        return match hole.on {
            On::Mill => "buy a boring head that reaches it, or order the part".to_owned(),
            On::Lathe => "buy a boring bar that reaches it, or order the part".to_owned(),
        };
    }
    // A reamer follows a drill: where no spindle here turns so large a drill, nothing bought makes the hole.
    let turns = work.drills_to(hole.on);
    if size.nominal > turns + 1.0 {
        return format!(
            "no spindle that takes it drills over {}: order the part, or make the hole smaller",
            work.mm(turns)
        );
    }
    let under = elements::cutting::ream_stock(size.nominal).map_or(0.25, |s| s.0);
    let drill = words::number(((size.nominal - under) * 10.0).floor() / 10.0, 1);
    format!("buy reamer {d} {} and drill {drill}", size.class)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flutes_of_jobber_drills() {
        // DIN 338: 52 at 5, 87 at 10; between rows in proportion.
        assert_eq!((flute(5.0), flute(10.0)), (52.0, 87.0));
        assert!((flute(9.0) - 81.0).abs() < 1.0);
        assert!(flute(20.0) > flute(16.0));
    }
}
