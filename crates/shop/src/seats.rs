//! Where arms sit on their shafts: the step of the shaft's piece at their station, and whether they fit and go on there. mm.

use crate::finding::{Finding, Grade};
use crate::joined::root;
use crate::part::Part;
use crate::resolve::{joint_size, of_class};
use crate::words::{self, number};
use machine::Machine;
use machine::fitting::{HeldBy, Hold, Sized};
use machine::making::{Of, Shape, Step, Turned};
use machine::model::PartId;
use quantity::Unit;

/// The step of a shaft that an arm sits on.
#[derive(Clone, Debug, PartialEq)]
pub struct Seat {
    /// Its diameter.
    pub diameter: f64,
    /// Its class.
    pub class: Option<Sized>,
    /// Where the step begins and ends, from the left end of the piece.
    pub from_to: [f64; 2],
    /// Middle of the arm, from the left end of the piece.
    pub middle: f64,
}

/// What is known of where an arm sits.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Place {
    /// On this step.
    On(Seat),
    /// At its station, so far from the left end, there is none to sit on.
    Off(f64),
    /// Nothing says where.
    Unknown,
}

impl Place {
    /// Middle of the hub from the left end of the shaft: where it sits, else the only step of the bore's diameter.
    pub(crate) fn middle(&self, machine: &Machine, shaft: PartId, bore: f64) -> Option<f64> {
        match self {
            Self::On(seat) => Some(seat.middle),
            Self::Off(_) => None,
            Self::Unknown => {
                only(turned(machine, shaft)?, bore).map(|(_, [a, b])| f64::midpoint(a, b))
            }
        }
    }
}

fn turned(machine: &Machine, shaft: PartId) -> Option<&Turned> {
    let mut pieces = machine.work.making.pieces.iter();
    match &pieces.find(|p| p.of == Of::Part(shaft))?.shape {
        Shape::Turned(t) => Some(t),
        Shape::Plate(_) => None,
    }
}

/// A step that a bore goes over.
fn plain(s: &Step) -> bool {
    s.offset.is_none() && s.thread.is_none() && s.sides == 0
}

/// Steps with where they begin and end.
fn laid(t: &Turned) -> impl Iterator<Item = (&Step, [f64; 2])> {
    t.steps.iter().scan(0.0, |at, s| {
        let from = *at;
        *at += s.length;
        Some((s, [from, *at]))
    })
}

/// The plain step of a diameter, when there is one and no other.
fn only(t: &Turned, diameter: f64) -> Option<(&Step, [f64; 2])> {
    let mut all = laid(t).filter(|(s, _)| plain(s) && (s.diameter.0 - diameter).abs() < 1e-6);
    all.next().filter(|_| all.next().is_none())
}

/// The station of an arm: its own, else that of the first point it carries.
pub(crate) fn station(machine: &Machine, arm: PartId) -> Option<f64> {
    let own = machine.work.parts.get(arm).and_then(|p| p.station);
    own.or_else(|| {
        let point = machine.parts.get(arm)?.carries.first()?;
        machine.points.get(*point).map(|p| p.station)
    })
}

/// Where an arm sits on the shaft that it turns with.
pub(crate) fn place(machine: &Machine, arm: PartId) -> Place {
    let Some(shaft) = root(machine, arm) else {
        return Place::Unknown;
    };
    let Some(t) = turned(machine, shaft) else {
        return Place::Unknown;
    };
    let seat = |(s, from_to): (&Step, [f64; 2]), middle: f64| {
        Place::On(Seat {
            diameter: s.diameter.0,
            class: s.diameter.1.clone(),
            from_to,
            middle,
        })
    };
    if let (Some(starts), Some(station)) = (t.starts, station(machine, arm)) {
        let at = station - starts;
        // At a shoulder both steps are meant; the larger one carries it.
        let found = laid(t)
            .filter(|(s, [a, b])| plain(s) && (*a - 1e-9..=*b + 1e-9).contains(&at))
            .max_by(|a, b| a.0.diameter.0.total_cmp(&b.0.diameter.0));
        return found.map_or(Place::Off(at), |f| seat(f, at));
    }
    let centre = machine.parts.get(shaft).and_then(|p| p.carries.first());
    let named = centre.and_then(|&c| joint_size(machine, c));
    match named.and_then(|d| only(t, d)) {
        Some(found) => seat(found, f64::midpoint(found.1[0], found.1[1])),
        None => Place::Unknown,
    }
}

/// The step that an arm sits on, when the file says where that is: bore, key and press follow from it.
pub fn seat(machine: &Machine, arm: PartId) -> Option<Seat> {
    match place(machine, arm) {
        Place::On(seat) => Some(seat),
        _ => None,
    }
}

/// The larger steps that keep a hub from its seat, one on either side; none when it goes on from one end.
fn kept_off(t: &Turned, seat: &Seat, bore: f64) -> Option<[f64; 2]> {
    let reach = |s: &Step| s.diameter.0 + 2.0 * s.offset.map_or(0.0, |o| o.throw);
    let most = |side: &dyn Fn([f64; 2]) -> bool| {
        laid(t)
            .filter(|(s, at)| side(*at) && reach(s) > bore + 0.02)
            .map(|(s, _)| reach(s))
            .reduce(f64::max)
    };
    let [from, to] = seat.from_to;
    Some([
        most(&|[_, b]| b <= from + 1e-9)?,
        most(&|[a, _]| a >= to - 1e-9)?,
    ])
}

/// Whether an arm with this bore fits the step it sits on, and comes there at all.
#[allow(clippy::too_many_arguments)]
pub(crate) fn fits(
    machine: &Machine,
    arm: PartId,
    shaft: PartId,
    hold: &Hold,
    bore: f64,
    place: &Place,
    all: &[Part],
    findings: &mut Vec<Finding>,
) {
    let name = |id: PartId| machine.parts.get(id).map_or("", |p| p.name.as_str());
    let (own, on) = (words::spoken(name(arm)), words::spoken(name(shaft)));
    let l = |x: f64| words::length(x, machine.unit);
    let mut tell = |grade: Grade, part: PartId, text: String, advice: String| {
        findings.push(Finding::new(grade, name(part), text, advice));
    };
    let seat = match place {
        Place::On(seat) => seat,
        Place::Off(at) => {
            tell(
                Grade::WayRound,
                shaft,
                format!("{own} stands {} from the left end of {on}, where no plain step is for it to sit on", l(*at)),
                "correct the station of the arm or `starts` of the shaft's piece, or give it a step there".to_owned(),
            );
            return;
        }
        Place::Unknown => return,
    };
    let [from, to] = seat.from_to.map(l);
    let d = l(seat.diameter);
    if (bore - seat.diameter).abs() > 0.01 {
        tell(
            Grade::Cannot,
            arm,
            format!(
                "{own} is bored ⌀{}, and {on} is ⌀{d} where it sits ({from} to {to} from its left end)",
                l(bore)
            ),
            format!("bore it ⌀{d}, or turn that step to ⌀{}", l(bore)),
        );
        return;
    }
    if let Some(t) = turned(machine, shaft)
        && let Some([left, right]) = kept_off(t, seat, bore)
    {
        tell(
            Grade::Cannot,
            arm,
            format!(
                "{own} does not come to its place on {on}: ⌀{} stands before it from the left and ⌀{} from the right, its bore is ⌀{d}",
                l(left),
                l(right)
            ),
            "make its seat larger than all that it has to pass, split its hub, or make the shaft of two".to_owned(),
        );
    }
    if let HeldBy::Press { fit } = &hold.by {
        if let Some((hole, class)) = fit.split_once('/')
            && seat.class.as_ref().is_none_or(|c| c.class != class)
        {
            let is = seat.class.as_ref().map_or_else(
                || format!("⌀{d} without a class"),
                |c| format!("⌀{d} {}", c.class),
            );
            let loose = seat
                .class
                .as_ref()
                .zip(of_class(seat.diameter, hole))
                .map(|(c, h)| h.limits.upper - c.limits.lower)
                .filter(|x| *x > 0.0)
                .map_or_else(String::new, |x| {
                    format!(": it may be {} loose", words::length(x, Unit::Millimetre))
                });
            tell(
                Grade::Cannot,
                shaft,
                format!("{own} is pressed on with {fit}, and {on} is {is} there{loose}"),
                format!(
                    "give it a step of its own of `diameter = \"{} {class}\"`, which no other arm has to pass",
                    number(machine.unit.from_inside(seat.diameter), 4)
                ),
            );
        }
    } else if seat.class.is_none() && turned_here(all, name(shaft), seat) {
        tell(
            Grade::Assumed,
            shaft,
            format!(
                "{own} sits on its ⌀{d}, which has no class: a bore H7 goes on only over h6 or less"
            ),
            format!(
                "write `diameter = \"{} h6\"` for that step",
                number(machine.unit.from_inside(seat.diameter), 4)
            ),
        );
    }
}

/// The step is turned, not the bar as it came.
fn turned_here(all: &[Part], shaft: &str, seat: &Seat) -> bool {
    all.iter().any(|p| {
        p.name == shaft
            && match p.section {
                machine::work::Section::Round(d) => seat.diameter < d - 0.01,
                _ => true,
            }
    })
}
