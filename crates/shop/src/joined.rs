//! What holds an arm on its shaft, as it is made in both: keyways, set screws, a slit with its screw, pins drilled at assembly.

use crate::finding::{Finding, Grade};
use crate::part::{Form, Part, diameter};
use crate::resolve::of_class;
use crate::seats::{fits, place};
use crate::words::{self, Units};
use crate::{Bought, words::number};
use elements::keys;
use machine::Machine;
use machine::fitting::{HeldBy, Hold, Key};
use quantity::Unit;

/// A seat of what holds an arm on its shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct Joined {
    /// In the shaft, else in the hub.
    pub in_shaft: bool,
    /// The part on the other side.
    pub other: String,
    /// Diameter of the shaft, mm.
    pub shaft: f64,
    /// Outside diameter of the hub, mm.
    pub hub: f64,
    /// Length of the hub, mm.
    pub length: f64,
    /// Direction of the seat round the axis, rad: away from the arm. In a hub it counts from x of its own part, in a shaft as the machine stands.
    pub angle: f64,
    /// Middle of the hub from the left end of the shaft, mm.
    pub middle: Option<f64>,
    /// Thickness of the plate under the ring that makes the hub longer, mm; 0 where the hub is of one piece.
    pub under: f64,
    /// What holds.
    pub what: What,
}

/// What is made.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A keyway.
    Key(Keyway),
    /// Tapped holes through the hub.
    SetScrew {
        /// Thread.
        thread: quantity::Thread,
        /// How many.
        count: u32,
    },
    /// A slit and a screw across it.
    Pinch {
        /// Thread.
        thread: quantity::Thread,
        /// How many.
        count: u32,
    },
    /// A hole through both, made at assembly.
    Pin(f64),
    /// Nothing to cut: pressed, welded, brazed.
    Nothing,
}

/// Sizes of a key and its seats, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Keyway {
    /// Width.
    pub width: f64,
    /// Height of the key.
    pub height: f64,
    /// Depth in the shaft, from its side.
    pub in_shaft: f64,
    /// Depth in the hub, from the bore.
    pub in_hub: f64,
    /// Diameter of the cutter of a Woodruff key.
    pub disc: Option<f64>,
    /// Allowed over both depths: 0.1 to 5 wide, else 0.2 (DIN 6885, from memory).
    pub over: f64,
}

impl Keyway {
    fn of(key: Key, shaft: f64) -> Option<Self> {
        let parallel = |p: keys::Parallel| Self {
            width: p.width,
            height: p.height,
            in_shaft: p.in_shaft,
            in_hub: p.in_hub,
            disc: None,
            over: if p.height <= 6.0 { 0.1 } else { 0.2 },
        };
        let woodruff = |w: keys::Woodruff| Self {
            width: w.width,
            height: w.height,
            in_shaft: w.in_shaft,
            in_hub: w.above,
            disc: Some(w.diameter),
            over: 0.1,
        };
        match key {
            Key::Parallel { inch: false } => keys::parallel(shaft).ok().map(parallel),
            Key::Parallel { inch: true } => keys::square_inch(shaft).ok().map(parallel),
            Key::Woodruff(number) => keys::woodruff(number).ok().map(woodruff),
            Key::WoodruffMetric(row) => keys::woodruff_disc(row).map(woodruff),
        }
    }
}

/// Metal between a bore and the hole of the screw that pinches it, mm (common practice).
const BESIDE: f64 = 1.0;
/// Slit of a pinched hub, mm (common practice: a slitting saw of 2).
pub const SLIT: f64 = 2.0;

impl Joined {
    /// Distance of a pinch screw's axis from the shaft's, mm.
    pub fn screw_at(&self, major: f64) -> f64 {
        self.shaft / 2.0 + clearance(major) / 2.0 + BESIDE
    }

    /// Where a screw goes through the wall of the hub, from its free face, mm: in the middle of a ring, whose seam no hole may open.
    pub fn screw_from_face(&self) -> f64 {
        (self.length - self.under) / 2.0
    }

    /// The same in words.
    fn screw_place(&self, unit: Units) -> String {
        let from = words::length(self.screw_from_face(), unit);
        if self.under > 0.0 {
            format!("in the middle of its ring, {from} from the ring's face")
        } else {
            format!("at half its length, {from} from its face")
        }
    }

    /// Width of its keyway with its class: JS9 in the hub, P9 in the shaft (DIN 6885-1, from memory: the tight fit).
    pub fn keyway_width(&self) -> Option<machine::fitting::Sized> {
        let What::Key(k) = &self.what else {
            return None;
        };
        of_class(k.width, if self.in_shaft { "P9" } else { "JS9" })
    }

    /// What a drawing says of it.
    pub fn note(&self, unit: impl Into<Units>) -> Option<String> {
        let unit = unit.into();
        let l = |x: f64| words::length(x, unit);
        let other = words::spoken(&self.other);
        let angle = number(self.angle.to_degrees().rem_euclid(360.0), 2);
        let limited = |class: &str, w: f64| {
            of_class(w, class).map_or_else(|| l(w), |s| words::sized(w, Some(&s), unit))
        };
        let at = self.middle.map_or_else(
            || format!("at its place on ⌀{}", l(self.shaft)),
            |m| format!("its middle {} from the left face", l(m)),
        );
        Some(match (&self.what, self.in_shaft) {
            (What::Key(k), false) => format!(
                "Keyway for {other}: {} wide, {} (+{} / 0) over bore and keyway, through the hub, on the side away from the arm.",
                limited("JS9", k.width),
                l(self.shaft + k.in_hub),
                l(k.over)
            ),
            (What::Key(k), true) => match k.disc {
                Some(disc) => format!(
                    "Seat of the Woodruff key of {other}: {} wide, cutter ⌀{}, {} (+{} / 0) deep, {at}, at {angle}°.",
                    limited("P9", k.width),
                    l(disc),
                    l(k.in_shaft),
                    l(k.over)
                ),
                None => format!(
                    "Keyway for {other}: {} wide, {} (+{} / 0) deep, {} long, {at}, at {angle}°.",
                    limited("P9", k.width),
                    l(k.in_shaft),
                    l(k.over),
                    l(self.length)
                ),
            },
            (What::SetScrew { thread, count }, false) => format!(
                "{count} x {} through the hub to its bore {}{}, the first on the side away from the arm.",
                thread.name,
                self.screw_place(unit),
                if *count > 1 { ", 90° apart" } else { "" }
            ),
            (What::SetScrew { .. }, true) => format!(
                "A flat or a spot for each set screw of {other}, marked through it when its angle is right."
            ),
            (What::Pinch { thread, count }, false) => format!(
                "Slit {} wide from the bore out, on the side away from the arm; {count} x {} across it, {} from the axis of the bore, {}: ⌀{} to the slit, tapped beyond.",
                l(SLIT),
                thread.name,
                l(self.screw_at(thread.major)),
                self.screw_place(unit),
                l(clearance(thread.major))
            ),
            (What::Pin(d), _) => format!(
                "For the pin of {} in {other}: not drilled before assembly; hub and shaft are drilled and reamed together when the angle is right.",
                l(*d)
            ),
            (What::Pinch { .. }, true) | (What::Nothing, _) => return None,
        })
    }
}

/// Clearance hole of a metric screw, medium (ISO 273, from memory); a tenth over for others.
pub fn clearance(major: f64) -> f64 {
    const ROWS: [(f64, f64); 9] = [
        (3.0, 3.4),
        (4.0, 4.5),
        (5.0, 5.5),
        (6.0, 6.6),
        (8.0, 9.0),
        (10.0, 11.0),
        (12.0, 13.5),
        (16.0, 17.5),
        (20.0, 22.0),
    ];
    ROWS.iter()
        .find(|r| (r.0 - major).abs() < 1e-6)
        .map_or(1.1 * major, |r| r.1)
}

/// Puts the seats of what holds arms on their shafts to the parts that are made.
pub(crate) fn add(machine: &Machine, all: &mut [Part], findings: &mut Vec<Finding>) {
    for (id, made) in machine.work.parts.iter().enumerate() {
        let (Some(hold), Some(arm)) = (&made.held_by, machine.parts.get(id)) else {
            continue;
        };
        let Some(shaft_id) = root(machine, id) else {
            continue;
        };
        let Some(on) = machine.parts.get(shaft_id) else {
            continue;
        };
        if let Some([hub, shaft]) = seats(machine, id, shaft_id, hold, all, findings) {
            let arm = hub_of(all, &arm.name).map(|p| p.name.clone());
            for (name, seat) in [(arm.unwrap_or_default(), hub), (on.name.clone(), shaft)] {
                if let Some(part) = all.iter_mut().find(|p| p.name == name) {
                    part.joined.push(seat);
                }
            }
        }
    }
}

/// The part that is made of an arm; a wheel that is no more than its gear is made as that.
fn hub_of<'a>(all: &'a [Part], arm: &str) -> Option<&'a Part> {
    let gear = format!("{arm}-gear");
    let own = all.iter().find(|p| p.name == arm);
    own.or_else(|| all.iter().find(|p| p.name == gear))
}

pub(crate) fn root(machine: &Machine, part: usize) -> Option<usize> {
    let mut at = machine.parts.get(part)?.clamped_to?;
    for _ in 0..machine.parts.len() {
        match machine.parts.get(at)?.clamped_to {
            Some(next) => at = next,
            None => return Some(at),
        }
    }
    None
}

fn seats(
    machine: &Machine,
    id: usize,
    shaft_id: usize,
    hold: &Hold,
    all: &[Part],
    findings: &mut Vec<Finding>,
) -> Option<[Joined; 2]> {
    let (arm, on) = (machine.parts.get(id)?, machine.parts.get(shaft_id)?);
    let Some(made) = hub_of(all, &arm.name) else {
        return bought_hub(machine, id, shaft_id, hold);
    };
    let (bore, thick, width, solid) = match &made.form {
        Form::Plate(p) => {
            let hole = p.holes.iter().find(|h| h.at[0].hypot(h.at[1]) < 1e-9);
            let end = p.ends.iter().find(|e| e.at[0].hypot(e.at[1]) < 1e-9);
            (
                hole.map(crate::part::Opening::diameter),
                end.and_then(|e| e.hub).unwrap_or(p.thickness),
                end.map(|e| 2.0 * e.radius),
                end.is_some_and(|e| e.solid),
            )
        }
        Form::Turned(t) => (
            t.bores.first().map(|b| diameter(&b.fitted)),
            t.length(),
            Some(t.largest()),
            true,
        ),
    };
    let shaft = bore?;
    let sits = place(machine, id);
    fits(machine, id, shaft_id, hold, shaft, &sits, all, findings);
    let length = hold.length.unwrap_or(thick);
    let under = match &made.form {
        Form::Plate(p) if length > p.thickness + 1e-6 && !solid => p.thickness,
        _ => 0.0,
    };
    let hub = hold.hub.or(width).unwrap_or(2.0 * shaft);
    let what = match &hold.by {
        HeldBy::Key(key) => match Keyway::of(*key, shaft) {
            Some(k) => What::Key(k),
            None => {
                findings.push(Finding::new(
                    Grade::Cannot,
                    &arm.name,
                    format!("no key of the table fits a shaft of {}", number(shaft, 2)),
                    "take a pin, a pinch screw or another shaft",
                ));
                return None;
            }
        },
        HeldBy::SetScrew { thread, count, .. } => What::SetScrew {
            thread: thread.clone(),
            count: *count,
        },
        HeldBy::Pinch { thread, count, .. } => What::Pinch {
            thread: thread.clone(),
            count: *count,
        },
        HeldBy::Pin { diameter } => What::Pin(*diameter),
        HeldBy::Press { .. } | HeldBy::Weld { .. } | HeldBy::Braze => What::Nothing,
    };
    let middle = sits.middle(machine, shaft_id, shaft);
    if middle.is_none() && matches!(what, What::Key(_)) && all.iter().any(|p| p.name == on.name) {
        findings.push(Finding::new(
            Grade::Assumed,
            &on.name,
            format!("where {} sits along it is not known", words::spoken(&arm.name)),
            "write the station of the arm's points and `starts` of the shaft's piece, so that the keyway has its place",
        ));
    }
    let spot = |p: usize| machine.points.get(p).map(|p| [p.x, p.y]);
    let centre = on.carries.first().and_then(|&p| spot(p));
    let tip = arm.carries.first().and_then(|&p| spot(p));
    let angle = match (centre, tip) {
        (Some(c), Some(t)) => (t[1] - c[1]).atan2(t[0] - c[0]) + std::f64::consts::PI,
        _ => 0.0,
    };
    // Away from the arm, as the hub's own part has it.
    let name = arm.carries.first().and_then(|&p| machine.points.get(p));
    let own = name.and_then(|point| own_place(&made.form, &point.name));
    let own = own.map_or(std::f64::consts::PI, |[x, y]| {
        y.atan2(x) + std::f64::consts::PI
    });
    let seat = |in_shaft: bool, other: &str| Joined {
        in_shaft,
        other: other.to_owned(),
        shaft,
        hub,
        length,
        angle: if in_shaft { angle } else { own },
        middle,
        under,
        what: what.clone(),
    };
    if let (What::Key(k), Some(m)) = (&what, middle)
        && k.disc.is_none()
        && let Some(part) = all.iter().find(|p| p.name == on.name)
        && let Form::Turned(t) = &part.form
    {
        let to_end = (m - length / 2.0).min(t.length() - m - length / 2.0);
        if to_end < k.width / 2.0 - 1e-9 {
            findings.push(Finding::new(
                Grade::WayRound,
                &on.name,
                format!(
                    "the keyway of {} comes within {} of the end of the shaft: no wall stands there",
                    words::spoken(&arm.name),
                    number(to_end.max(0.0), 2)
                ),
                "run the cutter out through the end and leave that end of the key square; or make the shaft longer",
            ));
        }
    }
    let hub = seat(false, &on.name);
    walls(&hub, &arm.name, findings);
    Some([hub, seat(true, &arm.name)])
}

/// The seats of a hub that is bought, by the name of its part: it comes with its own, the shaft wants its half.
fn bought_hub(machine: &Machine, id: usize, shaft_id: usize, hold: &Hold) -> Option<[Joined; 2]> {
    let (arm, on) = (machine.parts.get(id)?, machine.parts.get(shaft_id)?);
    let mut bought = machine.work.making.purchases.iter();
    if !bought.any(|p| p.name == arm.name) {
        return None;
    }
    let seat = crate::seats::seat(machine, id)?;
    let shaft = seat.diameter;
    let what = match &hold.by {
        HeldBy::Key(key) => What::Key(Keyway::of(*key, shaft)?),
        HeldBy::SetScrew { thread, count, .. } => What::SetScrew {
            thread: thread.clone(),
            count: *count,
        },
        HeldBy::Pin { diameter } => What::Pin(*diameter),
        HeldBy::Pinch { .. } | HeldBy::Press { .. } | HeldBy::Weld { .. } | HeldBy::Braze => {
            return None;
        }
    };
    let half = |in_shaft: bool, other: &str| Joined {
        in_shaft,
        other: other.to_owned(),
        shaft,
        hub: hold.hub.unwrap_or(2.0 * shaft),
        length: hold.length.unwrap_or(shaft),
        angle: 0.0,
        middle: Some(seat.middle),
        under: 0.0,
        what: what.clone(),
    };
    Some([half(false, &on.name), half(true, &arm.name)])
}

/// Where a point of this name lies on a plate, off its datum.
fn own_place(form: &Form, name: &str) -> Option<[f64; 2]> {
    let Form::Plate(p) = form else { return None };
    let holes = p.holes.iter().map(|h| (&h.name, h.at));
    let ends = p.ends.iter().map(|e| (&e.name, e.at));
    let marks = p.marks.iter().map(|(n, at)| (n, *at));
    let found = holes.chain(ends).chain(marks).find(|(n, _)| *n == name);
    found.map(|f| f.1).filter(|at| at[0].hypot(at[1]) > 1e-9)
}

/// What is left of a hub beside its screws and keyway, and what would be enough.
fn walls(hub: &Joined, arm: &str, findings: &mut Vec<Finding>) {
    let wall = (hub.hub - hub.shaft) / 2.0;
    let n = |x: f64| number(x, 1);
    // Across, a hub is made to whole even millimetres.
    let across = |wall: f64| n(((hub.shaft / 2.0 + wall) - 1e-9).ceil() * 2.0);
    let mut short = |text: String, advice: String| {
        findings.push(Finding::new(Grade::WayRound, arm, text, advice));
    };
    let ring = |thread: &quantity::Thread| {
        let high = hub.length - hub.under;
        (hub.under > 0.0 && high < clearance(thread.major) + 2.0).then(|| {
            (
                format!(
                    "the ring of its hub is {} high, and {} opens its brazed seam",
                    n(high),
                    thread.name
                ),
                format!(
                    "a hub {} long or more, a smaller screw, or a hub cut from the solid",
                    n((hub.under + clearance(thread.major) + 2.0).ceil())
                ),
            )
        })
    };
    match &hub.what {
        What::SetScrew { thread, .. } => {
            let least = 0.8 * thread.major;
            if wall < least {
                short(
                    format!(
                        "{} has {} of thread in the wall of its hub",
                        thread.name,
                        n(wall)
                    ),
                    format!("a hub of {} or more, or a smaller screw", across(least)),
                );
            }
            if let Some((text, advice)) = ring(thread) {
                short(text, advice);
            }
        }
        What::Pinch { thread, .. } => {
            let (hole, name) = (clearance(thread.major), &thread.name);
            // Outside the screw as much as half of it (common practice).
            let outside = wall - hole - BESIDE;
            let advice = format!(
                "a hub of {} or more, or a smaller screw",
                across(hole + BESIDE + thread.major / 2.0)
            );
            if outside < BESIDE {
                short(
                    format!(
                        "the pinch screw {name} does not go through a wall of {} beside the bore",
                        n(wall)
                    ),
                    advice,
                );
            } else if outside < thread.major / 2.0 {
                short(
                    format!(
                        "outside the pinch screw {name} {} of the hub is left",
                        n(outside)
                    ),
                    advice,
                );
            }
            if let Some((text, advice)) = ring(thread) {
                short(text, advice);
            }
        }
        What::Pin(d) if hub.under > 0.0 && hub.length - hub.under < d + 3.0 => short(
            format!(
                "the ring of its hub is {} high, and the pin of {} {}",
                n(hub.length - hub.under),
                n(*d),
                if hub.length - hub.under > *d {
                    format!(
                        "stands {} clear of its brazed seam: drilled off the middle it opens it",
                        n((hub.length - hub.under - d) / 2.0)
                    )
                } else {
                    String::from("opens its brazed seam")
                }
            ),
            format!(
                "a hub {} long or more, a thinner pin, or a hub cut from the solid",
                n((hub.under + d + 3.0).ceil())
            ),
        ),
        What::Key(k) if wall < 2.0 * k.in_hub => short(
            format!("{} of hub is left over its keyway", n(wall - k.in_hub)),
            format!(
                "a hub of {} or more (common practice: 1.8 to 2 diameters of the shaft)",
                across(2.0 * k.in_hub)
            ),
        ),
        _ => {}
    }
}

/// The ends of a parallel key: round in a keyway that an end mill cuts closed, square where that runs out through the shaft's end
/// (forms of DIN 6885-1, from memory).
fn ends(parts: &[Part], part: &Part, j: &Joined) -> &'static str {
    let (name, other) = if j.in_shaft {
        (&part.name, &j.other)
    } else {
        (&j.other, &part.name)
    };
    let shaft = parts.iter().find(|p| p.name == *name);
    let Some(Form::Turned(t)) = shaft.map(|p| &p.form) else {
        return "";
    };
    let seat = shaft.and_then(|p| {
        p.joined.iter().find(|s| {
            let arm = s.other == *other || format!("{}-gear", s.other) == *other;
            s.in_shaft && arm && matches!(s.what, What::Key(_))
        })
    });
    let (Some(seat), What::Key(k)) = (seat, &j.what) else {
        return "";
    };
    let Some(middle) = seat.middle else { return "" };
    let out = |to_end: f64| to_end - seat.length / 2.0 < k.width / 2.0 - 1e-9;
    match (out(middle), out(t.length() - middle)) {
        (false, false) => ", round ends (form A)",
        (true, true) => ", square ends (form B)",
        _ => ", one end square (form AB)",
    }
}

/// Keys, pins and screws that hold arms.
pub(crate) fn bought(parts: &[Part], unit: Unit, add: &mut dyn FnMut(Bought)) {
    let l = |x: f64| words::length(x, unit);
    // Of a hub that is bought only the shaft knows.
    let made = |name: &str| hub_of(parts, name).is_some();
    for part in parts {
        let seats = part.joined.iter();
        for j in seats.filter(|j| !j.in_shaft || !made(&j.other)) {
            let (what, count) = match &j.what {
                What::Key(k) if k.disc.is_some() => {
                    (format!("Woodruff key {} x {}", l(k.width), l(k.height)), 1)
                }
                What::Key(k) => (
                    format!(
                        "parallel key {} x {} x {}{}",
                        words::bought(k.width, unit),
                        words::bought(k.height, unit),
                        words::bought(j.length, unit),
                        ends(parts, part, j)
                    ),
                    1,
                ),
                What::SetScrew { thread, count } => {
                    (format!("set screw {}", thread.name), *count as usize)
                }
                What::Pinch { thread, count } => (
                    format!(
                        "cap screw {} x {}",
                        thread.name,
                        l((0.7 * j.hub / 5.0).ceil() * 5.0)
                    ),
                    *count as usize,
                ),
                What::Pin(d) => (format!("pin {} x {}", words::bought(*d, unit), l(j.hub)), 1),
                What::Nothing => continue,
            };
            add(Bought {
                what,
                count: count * part.count,
                for_what: words::spoken(if j.in_shaft { &j.other } else { &part.name }),
            });
        }
    }
}

/// Tap drill of a thread: major less pitch (ISO 2306).
pub(crate) fn tap_drill(thread: &quantity::Thread) -> f64 {
    thread.major - thread.pitch
}
