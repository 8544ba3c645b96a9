//! Holes of a plate at their coordinates: the datum first, what has to be true before screws.

use super::Step;
use super::bits::{Turned, Work};
use super::blank::{by_hand, held, width_of};
use super::holes::{On, Wanted, is_bored, make};
use super::outline::plain_corners;
use super::plate::mill;
use crate::finding::Grade;
use crate::letters::{names, spanned};
use crate::part::{Hole, Opening as _, Plate, cut};
use crate::speeds::Tool;
use crate::words;
use machine::equipment::Spindle;
use machine::fitting::Cut;

pub(super) fn holes(work: &mut Work, p: &Plate) {
    if p.holes.is_empty() && p.marks.is_empty() {
        return;
    }
    let hand = by_hand(work);
    let readout = work.mill().and_then(|m| m.readout);
    // The datum first, then as they lie; screws after what has to be true.
    let named = names(p);
    let mut order: Vec<(&Hole, &str)> = p
        .holes
        .iter()
        .zip(named.iter().map(String::as_str))
        .filter(|(h, _)| !crate::resolve::bends::after(p, h))
        .filter(|(h, _)| !h.back)
        .collect();
    let rank = |h: &Hole| match cut(&h.fitted) {
        _ if h.at[0].abs() < 1e-9 && h.at[1].abs() < 1e-9 => 0,
        Some(Cut::Bore | Cut::Ream) => 1,
        None => 2,
        Some(Cut::Drill) => 3,
    };
    let far = |h: &Hole| h.at[0].hypot(h.at[1]);
    order.sort_by(|(a, _), (b, _)| rank(a).cmp(&rank(b)).then(far(a).total_cmp(&far(b))));
    super::walls::walls(work, &order);
    super::walls::mouths(work, p, &order);
    let travel = work
        .mill()
        .map_or([f64::INFINITY; 2], |m| [m.travel[0], m.travel[1]]);
    // What is bored without a mill is bored on the lathe, after all else is drilled.
    let late: Vec<(&Hole, &str)> = if hand {
        let (bored, rest) = order
            .into_iter()
            .partition(|(h, _)| is_bored(work, &h.fitted));
        order = rest;
        bored
    } else {
        Vec::new()
    };
    if hand {
        laid_out(work, p);
    }
    let mut last = Turned::Not;
    for zone in zones(work, p, order, travel) {
        last = zone.turned;
        if !hand {
            set_up(work, p, &zone);
        }
        if zone.turned == Turned::Not {
            places(work, &zone.holes, readout, On::Mill);
        } else {
            let over: Vec<(Hole, &str)> = zone
                .holes
                .iter()
                .map(|(h, name)| {
                    let mut own = (*h).clone();
                    own.at = zone.turned.place(h.at);
                    (own, *name)
                })
                .collect();
            let order: Vec<(&Hole, &str)> = over.iter().map(|(h, n)| (h, *n)).collect();
            places(work, &order, readout, On::Mill);
        }
    }
    // Slots, corners and marks of the same clamping lie as its last holes do.
    work.lies.set(last);
    if !late.is_empty() {
        on_the_lathe(work, p, &late);
    }
    from_the_back(work, p, readout);
    let (_, spindle) = mill(work);
    let slots = super::slots::as_it_lies(work, p);
    let turned = p.holes.iter().any(|h| h.back)
        && (slots || !p.marks.is_empty() || !plain_corners(work, p).is_empty());
    if hand && !late.is_empty() || turned {
        let (machine, _) = mill(work);
        work.set_up(
            if slots {
                "Slots, corners and marks"
            } else {
                "Corners and marks"
            },
            &machine,
            if hand {
                "clamped on wood"
            } else {
                "as before it was turned over"
            },
            if hand {
                "the scribed lines"
            } else {
                "as before, picked up from a finished hole or the edges"
            },
            2.0,
        );
    }
    corners(work, p, spindle);
    let [low, _] = p.outline.bounds();
    for (name, at) in &p.marks {
        let [x, y] = [at[0] - low[0], at[1] - low[1]];
        let far = !hand && (x.max(y) > travel[0] || x.min(y) > travel[1]);
        let at = work.xy(*at);
        work.step(Step {
            text: if far {
                format!(
                    "Mark {} on the bench, rule and square from the datum: the table does not travel so far",
                    words::spoken(name)
                )
            } else {
                format!("Mark {} with the centre drill", words::spoken(name))
            },
            tool: if far {
                "rule, square, punch".to_owned()
            } else {
                work.tool("centre drill", 3.0)
            },
            at,
            why: "no hole is called for there".to_owned(),
            minutes: 1.0,
            ..Step::default()
        });
    }
    let over = distances(work, p);
    if readout.is_none() && !over.is_empty() {
        work.step(Step {
            text: "Measure the centre distances over pins before the work is unclamped".to_owned(),
            tool: "pins, caliper or micrometer".to_owned(),
            check: over,
            why: if hand {
                "laid out by hand a place is good to a tenth: what matters is found here".to_owned()
            } else {
                "dials come to every place from the same side, so that the screw's backlash is taken up; here it shows".to_owned()
            },
            minutes: 4.0,
            ..Step::default()
        });
    }
}

/// Holes that one clamping reaches, and what its zero is picked up from.
struct Zone<'a> {
    holes: Vec<(&'a Hole, &'a str)>,
    /// A finished hole, or none for the edges.
    from: Option<(&'a Hole, &'a str)>,
    /// How far the table is left of where the edges would be; only without a hole to pick up.
    moved: f64,
    first: bool,
    /// How the work lies against the first clamping.
    turned: Turned,
}

/// Parts the holes by what the table travels along the longer side; what lies beyond is clamped again.
fn zones<'a>(
    work: &mut Work,
    p: &Plate,
    order: Vec<(&'a Hole, &'a str)>,
    travel: [f64; 2],
) -> Vec<Zone<'a>> {
    let [low, high] = p.outline.bounds();
    let size = [high[0] - low[0], high[1] - low[1]];
    let axis = usize::from(size[1] > size[0]);
    let (long, across) = (size[axis], size[1 - axis]);
    let all = |holes| {
        vec![Zone {
            holes,
            from: None,
            moved: 0.0,
            first: true,
            turned: Turned::Not,
        }]
    };
    let reach = |h: &Hole| h.at[axis] - low[axis];
    let farthest = order.iter().map(|(h, _)| reach(h)).fold(0.0, f64::max);
    if across > travel[1] {
        let (a, b) = (work.mm(across), work.mm(travel[1]));
        work.finding(
            Grade::WayRound,
            format!("the plate is {a} across, the mill travels {b} that way"),
            "turn it round after the near half and pick up a finished hole with a pin or an indicator",
        );
        let other = 1 - axis;
        let (near, beyond): (Vec<_>, Vec<_>) = order
            .iter()
            .copied()
            .partition(|(h, _)| h.at[other] - low[other] <= travel[1] + 1e-9);
        if farthest <= travel[0]
            && !beyond.is_empty()
            && let Some((from, turned)) = reached(&near, &beyond, travel, axis)
        {
            return vec![
                Zone {
                    holes: near,
                    from: None,
                    moved: 0.0,
                    first: true,
                    turned: Turned::Not,
                },
                Zone {
                    holes: beyond,
                    from: Some(from),
                    moved: 0.0,
                    first: false,
                    turned,
                },
            ];
        }
    }
    if farthest <= travel[0] {
        return all(order);
    }
    let (a, b) = (work.mm(long), work.mm(travel[0]));
    work.finding(
        Grade::WayRound,
        format!("holes stand over a length of {a}, the mill travels {b}"),
        "clamped again as the sheet says: a finished hole is picked up with a pin in between",
    );
    let mut zones: Vec<Zone> = Vec::new();
    let mut left = order;
    let mut start = 0.0;
    let mut from = None;
    let mut moved = 0.0;
    while !left.is_empty() && zones.len() < 40 {
        let (here, later): (Vec<_>, Vec<_>) = left
            .into_iter()
            .partition(|(h, _)| reach(h) <= start + travel[0] + 1e-9);
        left = later;
        let last = here
            .iter()
            .copied()
            .max_by(|a, b| reach(a.0).total_cmp(&reach(b.0)));
        let first = zones.is_empty();
        if !here.is_empty() {
            zones.push(Zone {
                holes: here,
                from,
                moved,
                first,
                turned: Turned::Not,
            });
        }
        match last {
            Some(last) if reach(last.0) > start + 1e-6 => {
                start = reach(last.0);
                from = Some(last);
                moved = 0.0;
            }
            _ => {
                start += travel[0];
                from = None;
                moved = start;
            }
        }
    }
    if !left.is_empty() {
        zones.extend(all(left));
    }
    zones
}

/// The finished hole from which the table reaches all of the others, and how the work has to be turned for it.
fn reached<'a>(
    near: &[(&'a Hole, &'a str)],
    beyond: &[(&Hole, &str)],
    travel: [f64; 2],
    axis: usize,
) -> Option<((&'a Hole, &'a str), Turned)> {
    let within = |from: &Hole, along: f64, across: f64| {
        beyond.iter().all(|(h, _)| {
            (h.at[axis] - from.at[axis]).abs() <= along
                && (h.at[1 - axis] - from.at[1 - axis]).abs() <= across
        })
    };
    // What is picked up is a hole that a pin finds.
    let finished = |h: &Hole| matches!(cut(&h.fitted), Some(Cut::Bore | Cut::Ream));
    let mut from: Vec<_> = near.iter().copied().filter(|(h, _)| finished(h)).collect();
    from.reverse();
    let half = from.iter().find(|(h, _)| within(h, travel[0], travel[1]));
    let quarter = || from.iter().find(|(h, _)| within(h, travel[1], travel[0]));
    half.map(|f| (*f, Turned::Half))
        .or_else(|| quarter().map(|f| (*f, Turned::Quarter)))
}

fn set_up(work: &mut Work, p: &Plate, zone: &Zone) {
    let [low, high] = p.outline.bounds();
    let (machine, _) = mill(work);
    let across = if p.is_box() {
        (high[0] - low[0]).min(high[1] - low[1])
    } else {
        width_of(work)
    };
    let held = held(work, across);
    let edge = held.edge();
    let lies = if work.lies_turned() {
        "the longer side lies along the table, y of the drawing to the right and x towards you: dials here read x as y of the drawing, y as its -x; "
    } else {
        ""
    };
    let lies = if p.opposite > 0 {
        format!(
            "{lies}those of the opposite hand lie with their other face up: there every x has the other sign; "
        )
    } else {
        lies.to_owned()
    };
    // From the stop end and the edge to the zero of the drawing.
    let off = if work.lies_turned() {
        [-low[1], low[0]]
    } else {
        [-low[0], -low[1]]
    };
    let zero = match (zone.from, zone.first) {
        (Some((h, letter)), _) if zone.turned != Turned::Not => format!(
            "the work turned {}, the same face up; a pin in {letter}, which is finished: dials read {} over it, and places below are those of the turned work",
            if zone.turned == Turned::Half {
                "end for end"
            } else {
                "a quarter clockwise, seen from above"
            },
            work.xy(zone.turned.place(h.at))
        ),
        (Some((h, letter)), _) => format!(
            "a pin in {letter}, which is finished: it stands at {}",
            work.xy(h.at)
        ),
        (None, false) => format!(
            "edge finder on {edge}; along it a stop at {} from the first end, set with a rule and a square",
            work.mm(zone.moved)
        ),
        (None, true) if p.datum_hole => format!(
            "{lies}edge finder on the stop end and {edge}, then move to x {} y {} from them: there the datum hole is made and the dials are set to zero",
            work.read(off[0]),
            work.read(off[1])
        ),
        (None, true) => format!(
            "{lies}edge finder on the stop end and {edge}; zero of the drawing lies x {} y {} from them",
            work.read(off[0]),
            work.read(off[1])
        ),
    };
    let hub = if p.ends.iter().any(|e| e.hub.is_some()) {
        "; hub up"
    } else {
        ""
    };
    let holding = held.words(&format!(" clear of the holes, stop against the end{hub}"));
    let title = if zone.first {
        "Holes at coordinates"
    } else if zone.turned == Turned::Half {
        "Holes at coordinates, turned end for end"
    } else if zone.turned == Turned::Quarter {
        "Holes at coordinates, turned a quarter"
    } else {
        "Holes at coordinates, clamped again further along"
    };
    work.set_up(title, &machine, holding, zero, 12.0);
}

/// A plate that is taller than it is long lies with its longer side along the table; a slot at an angle is turned by itself, and keeps it upright.
pub(super) fn lies(work: &Work, p: &Plate) -> bool {
    let [low, high] = p.outline.bounds();
    let along = |s: &crate::part::Slot| {
        let d = [0, 1].map(|i| (s.ends[1][i] - s.ends[0][i]).abs());
        s.centre.is_none() && d[0].min(d[1]) < 1e-6
    };
    !by_hand(work) && high[1] - low[1] > high[0] - low[0] + 0.5 && p.slots.iter().all(along)
}

/// Places scribed and punched for the drill press.
fn laid_out(work: &mut Work, p: &Plate) {
    let [low, _] = p.outline.bounds();
    let (machine, _) = mill(work);
    let zero = format!(
        "the long edge and the squared end; zero of the drawing lies x {} y {} from them",
        work.mm(-low[0]),
        work.mm(-low[1])
    );
    work.set_up(
        "Lay out",
        "bench",
        "on the flat plate, against an angle block",
        zero,
        6.0,
    );
    let count = p.holes.len() + 2 * p.slots.len() + p.marks.len();
    work.step(Step {
        text: "Blue it, scribe every place from the two good edges, punch lightly, look through a glass, then punch deep".to_owned(),
        tool: "height gauge or scribing block, punch".to_owned(),
        at: "the table of holes on the drawing".to_owned(),
        check: "centre distances with dividers or caliper from punch to punch".to_owned(),
        why: "a drill starts where the punch was".to_owned(),
        minutes: 4.0 + 2.0 * count as f64,
        ..Step::default()
    });
    work.set_up(
        "Holes",
        &machine,
        "clamped on wood, against turning",
        "the punch marks",
        4.0,
    );
}

/// Bores without a mill: the plate on the faceplate, each place set to run true.
fn on_the_lathe(work: &mut Work, p: &Plate, holes: &[(&Hole, &str)]) {
    let lathe = work
        .lathe()
        .map(|l| (words::kept("lathe", &l.name), &l.speeds));
    let Some((machine, _)) = &lathe else {
        work.finding(
            Grade::Cannot,
            "bores in a plate want a mill or a lathe with a faceplate",
            "ream them to a size this shop has, or order the part",
        );
        places(work, holes, None, On::Mill);
        return;
    };
    let holds = work.lathe().is_none_or(|l| {
        use machine::equipment::Holding;
        l.holds.contains(&Holding::FourJaw) || l.holds.contains(&Holding::Faceplate)
    });
    if !holds {
        work.finding(
            Grade::Cannot,
            "bores in a plate want a mill, or a lathe with a four-jaw chuck or a faceplate",
            "buy either, ream them to a size this shop has, or order the part",
        );
        places(work, holes, None, On::Mill);
        return;
    }
    // The blank turns about each bore: its farthest corner has to pass the bed.
    let [low, high] = p.outline.bounds();
    let swings = |h: &Hole| {
        let far = [0, 1].map(|i| (h.at[i] - low[i]).max(high[i] - h.at[i]));
        2.0 * far[0].hypot(far[1])
    };
    let swing = work.lathe().map_or(f64::INFINITY, |l| l.swing);
    let (too_far, holes): (Vec<_>, Vec<_>) = holes
        .iter()
        .copied()
        .partition(|(h, _)| swings(h) > swing - 2.0);
    for (h, letter) in &too_far {
        let (turns, swing) = (work.mm(swings(h).ceil()), work.mm(swing));
        work.finding(
            Grade::Cannot,
            format!("{letter} cannot be bored on the faceplate: about it the blank turns over ⌀{turns}, the lathe swings ⌀{swing}"),
            "saw the outline first if that makes it small enough, ream it to a size this shop has, or order the part",
        );
    }
    if !too_far.is_empty() {
        places(work, &too_far, None, On::Mill);
    }
    if holes.is_empty() {
        return;
    }
    let holes = holes.as_slice();
    work.set_up(
        "Bores",
        &machine.clone(),
        "faceplate or four-jaw chuck, the punch mark set to run true with a centre finder; each bore by itself",
        "the bore runs true",
        20.0 * holes.len() as f64,
    );
    work.caution(super::bits::Caution::OutOfBalance);
    places(work, holes, None, On::Lathe);
}

/// Holes of one clamping; what is alike and lies side by side in the order is told once.
fn places(work: &mut Work, order: &[(&Hole, &str)], readout: Option<f64>, on: On) {
    let spindle = match on {
        On::Mill => mill(work).1,
        On::Lathe => work.lathe().map(|l| &l.speeds),
    };
    let rank = |h: &Hole| usize::from(h.at[0].abs() >= 1e-9 || h.at[1].abs() >= 1e-9);
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
                        && h.counterbore == first.counterbore
                        && h.countersink == first.countersink
                        && h.sink == first.sink
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
        let ring = under_ring(work, first);
        if let Some(pin) = ring {
            led(work, pin, first.diameter(), &name, spindle);
        }
        let wanted = Wanted {
            name: name.clone(),
            fitted: &first.fitted,
            on,
            at: if group.len() > 1 {
                "each place".to_owned()
            } else {
                at.join("")
            },
            blind: first.blind,
            through: first.through,
            spindle,
            count: group.len(),
            open: ring,
            over: 0.0,
        };
        make(work, &wanted);
        counter(work, first, &name, group.len(), spindle);
    }
}

/// Holes that are worked from the face that the drawing does not show.
fn from_the_back(work: &mut Work, p: &Plate, readout: Option<f64>) {
    let named = names(p);
    // Turned over sideways what lies to the right lies to the left.
    let over: Vec<(Hole, &str)> = p
        .holes
        .iter()
        .zip(named.iter().map(String::as_str))
        .filter(|(h, _)| h.back)
        .map(|(h, name)| {
            let mut own = h.clone();
            own.at[0] = if h.at[0] == 0.0 { 0.0 } else { -h.at[0] };
            (own, name)
        })
        .collect();
    if over.is_empty() {
        return;
    }
    let (machine, _) = mill(work);
    let hub = if p.ends.iter().any(|e| e.hub.is_some()) {
        ", its hub down between the parallels"
    } else {
        ""
    };
    let zero = if p.datum_hole {
        "an indicator or a pin in the datum hole; x reads the other way from here: its sign is changed below"
    } else {
        "edge finder on the same two edges; x reads the other way from here: its sign is changed below"
    };
    let held = if by_hand(work) {
        format!("turned over sideways{hub}, scribed anew from the same edges and punched")
    } else {
        format!("turned over sideways{hub}")
    };
    work.set_up("Holes from the back", &machine, held, zero, 10.0);
    let order: Vec<(&Hole, &str)> = over.iter().map(|(h, name)| (h, *name)).collect();
    places(work, &order, readout, On::Mill);
}

/// The hole of the pin that centred a brazed ring, where a hole goes through one: its diameter.
fn under_ring(work: &Work, hole: &Hole) -> Option<f64> {
    let crate::part::Form::Plate(p) = &work.part.form else {
        return None;
    };
    let at = if hole.back {
        [-hole.at[0], hole.at[1]]
    } else {
        hole.at
    };
    let ring = p
        .ends
        .iter()
        .any(|e| e.hub.is_some() && !e.solid && (e.at[0] - at[0]).hypot(e.at[1] - at[1]) < 1e-6);
    ring.then(|| crate::resolve::pin_drill(work.shop()).1)
}

/// A place that was laid out by hand is led to its coordinates: a drill would follow the small hole.
fn led(work: &mut Work, pin: f64, wide: f64, name: &str, spindle: Option<&Spindle>) {
    let mills = work.shop().map(|s| s.tools.end_mills.clone());
    let mills = mills.unwrap_or_else(|| vec![8.0, 10.0, 12.0]);
    let fits = mills
        .iter()
        .copied()
        .filter(|m| *m > pin + 0.9 && *m < wide - 0.5)
        .min_by(f64::total_cmp);
    let Some(cutter) = fits else { return };
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let (tool, deep) = (work.tool("end mill", cutter), work.mm(3.0));
    work.step(Step {
        text: format!("{name}: plunge {deep} deep at its coordinates"),
        tool,
        rpm,
        why: "the pin's hole was laid out by hand, and a drill follows it: from this seat it goes to its place".to_owned(),
        minutes: 2.0,
        ..Step::default()
    });
}

/// How finely a place is held, in words.
fn place(work: &Work, hole: &Hole) -> String {
    hole.place
        .map_or_else(String::new, |p| format!("place ± {}", work.mm(p)))
}

/// The largest pin that is at hand or quickly turned, mm (common practice).
pub(super) const MOST_PIN: f64 = 25.0;

/// Centre distances from the datum, as they are measured over pins.
fn distances(work: &Work, p: &Plate) -> String {
    // Pins go into finished holes; threads and holes with a seat for a head hold none, and what is made after bending is not there yet.
    let finished: Vec<&Hole> = p
        .holes
        .iter()
        .filter(|h| matches!(cut(&h.fitted), Some(Cut::Bore | Cut::Ream)))
        .filter(|h| h.counterbore.is_none() && h.countersink.is_none())
        .filter(|h| !crate::resolve::bends::after(p, h))
        .collect();
    let first = finished
        .iter()
        .find(|h| h.at == [0.0, 0.0])
        .or(finished.first());
    let Some(&first) = first else {
        return String::new();
    };
    let named = names(p);
    let mut all = Vec::new();
    for h in finished.iter().filter(|h| h.name != first.name).take(6) {
        let far = (h.at[0] - first.at[0]).hypot(h.at[1] - first.at[1]);
        // Nobody has pins of such sizes: the wall between the bores is measured, and they are known.
        let wide = first.diameter().max(h.diameter()) > MOST_PIN;
        let wall = far - f64::midpoint(first.diameter(), h.diameter());
        let letter = |name: &str| {
            let at = p.holes.iter().position(|h| h.name == name);
            at.and_then(|i| named.get(i)).map_or("", String::as_str)
        };
        let walls = if wide && wall > 0.0 {
            format!(" ({} from wall to wall, bores as drawn)", work.read(wall))
        } else {
            String::new()
        };
        all.push(format!(
            "{}-{} {}{walls}",
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
        let tool = counterbore(work, d);
        let (d, depth) = (work.mm(d), work.mm(depth));
        work.step(Step {
            text: format!("Counterbore {name} ⌀{d} x {depth} deep"),
            tool,
            rpm,
            check: format!("depth {depth}: the head lies below the face"),
            minutes: 2.0 * count as f64,
            ..Step::default()
        });
    }
    if let Some(d) = h.countersink {
        let rpm = work.rpm(Tool::Tap, d, spindle);
        let d = work.mm(d);
        let seat = h.name.ends_with("-seat");
        work.step(Step {
            text: format!("Countersink {name} to ⌀{d}"),
            tool: format!("countersink {}°", words::number(h.sink.to_degrees(), 1)),
            rpm,
            check: if seat {
                format!("⌀{d} over its mouth, no chatter: the plunger beds in it")
            } else {
                "try it with a screw".to_owned()
            },
            minutes: 1.0 * count as f64,
            ..Step::default()
        });
    }
}

/// What sinks a head's room of this diameter: an end mill of it, else a counterbore that has to be there.
fn counterbore(work: &mut Work, d: f64) -> String {
    let mills = work.shop().map(|s| s.tools.end_mills.clone());
    match mills {
        Some(mills) if mills.iter().any(|m| (m - d).abs() < 1e-6) => work.tool("end mill", d),
        Some(mills) => {
            let shown = work.mm(d);
            let larger = mills
                .iter()
                .copied()
                .filter(|m| *m > d && *m < 1.25 * d)
                .min_by(f64::total_cmp);
            let advice = match larger {
                Some(m) => format!(
                    "make it {}: an end mill of that is there; or buy the counterbore",
                    work.mm(m)
                ),
                None => "buy a counterbore with a pilot".to_owned(),
            };
            work.finding(
                Grade::WayRound,
                format!("neither end mill nor counterbore {shown}"),
                advice,
            );
            work.tool("counterbore", d)
        }
        None => work.tool("counterbore", d),
    }
}

/// Inside corners that a drill or an end mill of their own radius leaves, made at their coordinates while the blank is square.
fn corners(work: &mut Work, p: &Plate, spindle: Option<&Spindle>) {
    for corner in plain_corners(work, p) {
        let shown = words::tool_size(2.0 * corner.radius, work.bench.unit);
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
