//! Holes of a plate at their coordinates: the datum first, what has to be true before screws.

use super::Step;
use super::bits::Work;
use super::holes::{On, Wanted, make};
use super::outline::plain_corners;
use super::plate::mill;
use crate::finding::Grade;
use crate::letters::names;
use crate::part::{Hole, Opening as _, Plate, cut};
use crate::speeds::Tool;
use crate::words;
use machine::equipment::Spindle;
use machine::fitting::Cut;

pub(super) fn holes(work: &mut Work, p: &Plate) {
    if p.holes.is_empty() && p.marks.is_empty() {
        return;
    }
    let [low, _] = p.outline.bounds();
    let (machine, spindle) = mill(work);
    let readout = work.mill().and_then(|m| m.readout);
    let zero = if p.datum_hole {
        format!(
            "edge finder on the stop end and the fixed jaw, then move to x {} y {} from them: there the datum hole is made and the dials are set to zero",
            work.read(-low[0]),
            work.read(-low[1])
        )
    } else {
        "edge finder on the stop end and the fixed jaw; zero where x and y of the drawing are zero"
            .to_owned()
    };
    let vise = format!(
        "mill vise, on parallels clear of the holes, stop against the end{}",
        if p.ends.iter().any(|e| e.hub.is_some()) {
            "; hub up"
        } else {
            ""
        }
    );
    work.set_up("Holes at coordinates", &machine, vise, zero, 12.0);
    if let Some(m) = work.mill() {
        let [a, b] = p.outline.bounds();
        let (x, y) = (b[0] - a[0], b[1] - a[1]);
        if x.max(y) > m.travel[0] || x.min(y) > m.travel[1] {
            work.finding(
                Grade::WayRound,
                format!(
                    "the plate is {} x {}, the mill travels {} x {}",
                    work.mm(x),
                    work.mm(y),
                    work.mm(m.travel[0]),
                    work.mm(m.travel[1])
                ),
                "clamp it twice and pick up a finished hole with a pin or an indicator in between",
            );
        }
    }
    // The datum first, then as they lie; screws after what has to be true.
    let named = names(p);
    let mut order: Vec<(&Hole, &str)> = p
        .holes
        .iter()
        .zip(named.iter().map(String::as_str))
        .filter(|(h, _)| !crate::resolve::bends::after(p, h))
        .collect();
    let rank = |h: &Hole| match cut(&h.fitted) {
        _ if h.at[0].abs() < 1e-9 && h.at[1].abs() < 1e-9 => 0,
        Some(Cut::Bore | Cut::Ream) => 1,
        None => 2,
        Some(Cut::Drill) => 3,
    };
    let far = |h: &Hole| h.at[0].hypot(h.at[1]);
    order.sort_by(|(a, _), (b, _)| rank(a).cmp(&rank(b)).then(far(a).total_cmp(&far(b))));
    walls(work, &order);
    let mut done = 0;
    while done < order.len() {
        let (first, letter) = order[done];
        // Bores are measured one by one; what else is alike is told once.
        let bored = matches!(cut(&first.fitted), Some(Cut::Bore));
        let group: Vec<(&Hole, &str)> = if bored || rank(first) == 0 {
            vec![(first, letter)]
        } else {
            order[done..]
                .iter()
                .copied()
                .take_while(|(h, _)| {
                    h.fitted == first.fitted
                        && h.blind == first.blind
                        && h.place == first.place
                        && rank(h) != 0
                })
                .collect()
        };
        done += group.len();
        let point = words::spoken(
            first
                .name
                .trim_end_matches(|c: char| c.is_ascii_digit() || c == ' '),
        );
        let name = match group.as_slice() {
            [one] => format!("{letter} ({})", words::spoken(&one.0.name)),
            many if many.iter().all(|(h, _)| {
                h.name
                    .starts_with(first.name.trim_end_matches(|c: char| c.is_ascii_digit()))
            }) =>
            {
                format!("{} ({point})", spanned(many))
            }
            many => spanned(many),
        };
        let at: Vec<String> = group
            .iter()
            .map(|(h, letter)| {
                if group.len() > 1 {
                    format!("{letter} {}", work.xy(h.at))
                } else {
                    work.xy(h.at)
                }
            })
            .collect();
        if group.len() > 1 {
            let held = cut(&first.fitted) != Some(Cut::Drill);
            work.step(Step {
                text: if held && readout.is_none() {
                    format!("{}: one place after the other, with all its tools before the table moves on", spanned(&group))
                } else {
                    format!("{}: all places with one tool, then the next tool", spanned(&group))
                },
                at: at.join("; "),
                check: place(work, first),
                why: if held && readout.is_none() {
                    "a dial does not find a place again as well as it found it once".to_owned()
                } else {
                    String::new()
                },
                ..Step::default()
            });
        }
        let wanted = Wanted {
            name: name.clone(),
            fitted: &first.fitted,
            on: On::Mill,
            at: if group.len() > 1 {
                "each place".to_owned()
            } else {
                at.join("")
            },
            blind: first.blind,
            through: first.through,
            spindle,
            count: group.len(),
        };
        make(work, &wanted);
        counter(work, first, &name, group.len(), spindle);
    }
    corners(work, p, spindle);
    for (name, at) in &p.marks {
        let at = work.xy(*at);
        work.step(Step {
            text: format!("Mark {} with the centre drill", words::spoken(name)),
            tool: "centre drill 3".to_owned(),
            at,
            why: "no hole is called for there".to_owned(),
            minutes: 1.0,
            ..Step::default()
        });
    }
    if readout.is_none() && p.holes.len() > 1 {
        work.step(Step {
            text: "Measure the centre distances over pins before the work leaves the vise".to_owned(),
            tool: "pins, caliper or micrometer".to_owned(),
            check: distances(work, p),
            why: "dials come to every place from the same side, so that the screw's backlash is taken up; here it shows".to_owned(),
            minutes: 4.0,
            ..Step::default()
        });
    }
}

/// How finely a place is held, in words.
fn place(work: &Work, hole: &Hole) -> String {
    hole.place
        .map_or_else(String::new, |p| format!("place ± {}", work.mm(p)))
}

/// Centre distances from the datum, as they are measured over pins.
fn distances(work: &Work, p: &Plate) -> String {
    let first = p
        .holes
        .iter()
        .find(|h| h.at == [0.0, 0.0])
        .or(p.holes.first());
    let Some(first) = first else {
        return String::new();
    };
    let named = names(p);
    let mut all = Vec::new();
    for h in p
        .holes
        .iter()
        .filter(|h| h.name != first.name && h.place.is_some())
        .take(6)
    {
        let far = (h.at[0] - first.at[0]).hypot(h.at[1] - first.at[1]);
        let letter = |name: &str| {
            let at = p.holes.iter().position(|h| h.name == name);
            at.and_then(|i| named.get(i)).map_or("", String::as_str)
        };
        all.push(format!(
            "{}-{} {}",
            letter(&first.name),
            letter(&h.name),
            work.read(far)
        ));
    }
    all.join("; ")
}

fn counter(work: &mut Work, h: &Hole, name: &str, count: usize, spindle: Option<&Spindle>) {
    if let Some([d, depth]) = h.counterbore {
        let rpm = work.rpm(Tool::EndMill, d, spindle);
        let (d, depth) = (work.mm(d), work.mm(depth));
        work.step(Step {
            text: format!("Counterbore {name} ⌀{d} x {depth} deep"),
            tool: format!("counterbore or end mill {d}"),
            rpm,
            check: format!("depth {depth}: the head lies below the face"),
            minutes: 2.0 * count as f64,
            ..Step::default()
        });
    }
    if let Some(d) = h.countersink {
        let rpm = work.rpm(Tool::Tap, d, spindle);
        let d = work.mm(d);
        work.step(Step {
            text: format!("Countersink {name} to ⌀{d}"),
            tool: "countersink 90°".to_owned(),
            rpm,
            check: "try it with a screw".to_owned(),
            minutes: 1.0 * count as f64,
            ..Step::default()
        });
    }
}

/// Holes so near to one another that no metal is left between them.
fn walls(work: &mut Work, order: &[(&Hole, &str)]) {
    for (i, (a, first)) in order.iter().enumerate() {
        for (b, second) in &order[i + 1..] {
            let far = (a.at[0] - b.at[0]).hypot(a.at[1] - b.at[1]);
            let across = f64::midpoint(a.diameter(), b.diameter());
            // A hole about the same centre is a step of one hole.
            if far > 1e-6 && far < across + 0.2 {
                let (far, across) = (work.mm(far), work.mm(across));
                work.finding(
                    Grade::WayRound,
                    format!(
                        "no metal is left between {first} and {second}: {far} apart, {across} across"
                    ),
                    "make only the one that is used, or move them apart (the step of a row)",
                );
                return;
            }
        }
    }
}

/// `B1 to B5`, or every letter.
fn spanned(group: &[(&Hole, &str)]) -> String {
    let mut all: Vec<&str> = group.iter().map(|g| g.1).collect();
    all.sort_by_key(|l| (l.len(), *l));
    match all.as_slice() {
        [first, .., last] if all.len() > 2 => format!("{first} to {last}"),
        many => many.join(" and "),
    }
}

/// Inside corners that a drill or an end mill of their own radius leaves, made at their coordinates while the blank is square.
fn corners(work: &mut Work, p: &Plate, spindle: Option<&Spindle>) {
    for corner in plain_corners(work, p) {
        let shown = words::number(2.0 * corner.radius, 2);
        let rpm = work.rpm(Tool::EndMill, 2.0 * corner.radius, spindle);
        let at = work.xy(corner.at);
        let radius = work.mm(corner.radius);
        work.step(Step {
            text: format!("Drill ⌀{shown} through in the waste (centre, pilot, then size): it leaves the inside corner R{radius}"),
            tool: if corner.drill { format!("drill {shown}") } else { format!("end mill {shown}") },
            rpm,
            at,
            why: "while the blank is square: no radius has to be milled later".to_owned(),
            minutes: 4.0,
            ..Step::default()
        });
    }
}
