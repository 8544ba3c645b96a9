//! What holds arms on their shafts: set screws, keys, pins, pinch screws, press fits, welds, brazing.

mod joined;
mod keyed;
mod screws;

use super::answers::Kind;
use super::room::{material, pin_diameter, sides, stock};
use super::say;
use super::study::{Draft, Study, strength};
use crate::answers::Severity;
use crate::assemble::Joint;
use crate::load::notched::seat_of;
use crate::load::rig::Found;
use crate::load::service::Peak;
use elements::keys;
use elements::{Check, ElementError};
use machine::fitting::{HeldBy, Hold, Key};
use machine::model::PartId;
use machine::work::{Material, Section};

struct Arm<'s> {
    hold: &'s Hold,
    shaft: f64,
    /// Length of the hub.
    length: f64,
    /// Outside of the hub.
    hub: f64,
    arm: Option<&'s Material>,
    on: Option<&'s Material>,
    torque: Peak,
    /// Force across the shaft, N.
    across: f64,
    /// Force along the shaft, N.
    along: f64,
    /// Moment that tilts the hub on its shaft, N·mm.
    tilts: f64,
    works: Option<Works>,
}

/// What of the load on an arm comes again.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Works {
    /// So many times.
    loads: f64,
    /// Share of the greatest torque that comes again.
    share: f64,
    /// Share of that which alternates.
    alternates: f64,
}

impl Study<'_> {
    pub(super) fn arm(&mut self, part: PartId) {
        let machine = self.machine;
        let Some(hold) = machine
            .work
            .parts
            .get(part)
            .and_then(|m| m.held_by.as_ref())
        else {
            return;
        };
        let (what, mut buy) = named(&hold.by, self);
        let name = self.part(part);
        let mut draft = Draft::new(
            Kind::Hold,
            what,
            name.to_owned(),
            format!("part.{name}.held-by"),
            hold.place,
        );
        let Some(shaft_part) = self.root(part) else {
            return;
        };
        let on = self.part(shaft_part);
        draft.item.at = format!("{name} on {on}");
        let shaft_stock = stock(machine, shaft_part);
        let own = shaft_stock.and_then(|s| match s.section {
            Section::Round(d) | Section::Tube([d, _]) => Some(d),
            Section::Flat(_) | Section::Square(_) | Section::Hexagon(_) => None,
        });
        let centre = machine
            .parts
            .get(shaft_part)
            .and_then(|p| p.carries.first())
            .copied();
        // On a turned piece, what it is turned to where the arm sits.
        let diameter = seat_of(self.rig, shaft_part, part)
            .or(own)
            .or_else(|| centre.and_then(|c| pin_diameter(machine, c)));
        // Keys and pins are bought by size and length.
        let sides_of_arm = stock(machine, part).map(|s| sides(s.section));
        // A wheel is as wide as its teeth leave it.
        let root = super::room::root(machine, part).unwrap_or(f64::INFINITY);
        let (long, wide) = (
            hold.length
                .or_else(|| super::room::face(machine, part))
                .or(sides_of_arm.map(|s| s[0])),
            hold.hub.or(sides_of_arm.map(|s| s[1])).map(|w| w.min(root)),
        );
        if let Some((_, name)) = &mut buy {
            let size = |mm: f64| say::size(mm, machine);
            match &hold.by {
                HeldBy::Key(key @ Key::Parallel { .. }) => {
                    if let (Some(Ok(row)), Some(long)) =
                        (diameter.map(|d| keyed::parallel_of(*key, d)), long)
                    {
                        *name = format!(
                            "{name} {} x {} x {}",
                            size(row.width),
                            size(row.height),
                            size(long)
                        );
                    }
                }
                HeldBy::SetScrew { thread, .. } => {
                    if let (Some(wide), Some(shaft)) = (wide, diameter) {
                        let wall = (0.5 * (wide - shaft)).max(thread.major);
                        *name = format!("{name} x {}", size(wall.floor()));
                    }
                }
                HeldBy::Pin { .. } => {
                    if let Some(wide) = wide {
                        *name = format!("{name} x {}", size(wide));
                    }
                }
                _ => {}
            }
        }
        if let Some((count, what)) = buy {
            self.buy(count, &what, &draft.item.at);
        }
        let Some(shaft) = diameter else {
            draft.assume(format!("no diameter of {on} is known: not checked"));
            self.done(draft);
            return;
        };
        let (Some(length), Some(hub)) = (long, wide) else {
            draft.assume("neither stock nor hub is given: not checked");
            self.done(draft);
            return;
        };
        if hub <= shaft + 0.01 {
            let sentence = format!(
                "{}, {}: the hub is {} and the shaft {}: nothing is left round it",
                draft.item.what,
                draft.item.at,
                say::size(hub, machine),
                say::size(shaft, machine)
            );
            let wide = say::size(1.6 * shaft, machine);
            self.say(
                Severity::Fault,
                &draft,
                sentence,
                Some(format!("a hub of {wide} is usual: `hub = \"{wide}\"`")),
            );
            self.done(draft);
            return;
        }
        if hub < 1.5 * shaft {
            draft.assume(format!("the hub is thin, {:.2} times its shaft: 1.6 to 2 times are usual (common practice)", hub / shaft));
        }
        let constraint = self
            .rig
            .model
            .joints
            .iter()
            .position(|j| *j == Joint::Clamp(part));
        let row = constraint.and_then(|c| self.rig.rows.get(c));
        let joint = self
            .rig
            .found
            .iter()
            .position(|f| matches!(f, Found::Row(r, _) if Some(r) == row));
        let again = joint.and_then(|j| self.working.joints.get(j));
        let works = self.works(part).zip(again).map(|(n, again)| Works {
            loads: self.loads_wanted(n),
            share: again.most.value,
            alternates: super::tires::to_and_fro(again),
        });
        let torque = joint
            .and_then(|j| self.service.joints.get(j))
            .map(|s| s.most.clone())
            .unwrap_or_default();
        let most = torque.value;
        let hub_pin = centre.map(|c| self.joints_at(c, Some(part)));
        let across = hub_pin
            .and_then(|j| self.hardest(&j).map(|(_, p)| p.value))
            .unwrap_or(0.0);
        let along = self.service.thrusts.get(part).map_or(0.0, |t| t.value);
        let [off, reach] = self.off_hub(part, centre);
        let tilts = across * off + along * reach;
        let arm = Arm {
            hold,
            shaft,
            length,
            hub,
            arm: self.material_of(part).or(self.steel()),
            on: material(machine, shaft_stock).or(self.steel()),
            torque,
            across,
            along,
            tilts,
            works: works.map(|w| Works {
                share: if most > 0.0 { w.share / most } else { 0.0 },
                ..w
            }),
        };
        for material in [arm.arm, arm.on].into_iter().flatten() {
            self.grade(material);
        }
        if let Err(error) = self.holds(&mut draft, &arm) {
            self.impossible(&draft, &error);
        }
        self.done(draft);
    }

    /// The shaft at the end of a chain of clamped arms.
    fn root(&self, part: PartId) -> Option<PartId> {
        let mut here = self.machine.parts.get(part)?.clamped_to?;
        for _ in 0..self.machine.parts.len() {
            match self.machine.parts.get(here)?.clamped_to {
                Some(next) => here = next,
                None => break,
            }
        }
        Some(here)
    }

    /// How far the points of an arm stand out of the plane of its hub at most, and how far from the shaft, mm.
    fn off_hub(&self, part: PartId, centre: Option<machine::model::PointId>) -> [f64; 2] {
        let point = |p: machine::model::PointId| self.machine.points.get(p);
        let Some(own) = self.machine.parts.get(part) else {
            return [0.0; 2];
        };
        let carried = own
            .carries
            .iter()
            .filter(|p| Some(**p) != centre)
            .filter_map(|p| point(*p));
        // The hub stands at the station of the first of them.
        let mut hub = None;
        let (mut off, mut reach) = (0.0_f64, 0.0_f64);
        for p in carried {
            let at = *hub.get_or_insert(p.station);
            off = off.max((p.station - at).abs());
            if let Some(c) = centre.and_then(point) {
                reach = reach.max((p.x - c.x).hypot(p.y - c.y));
            }
        }
        [off, reach]
    }

    fn holds(&mut self, draft: &mut Draft, arm: &Arm<'_>) -> Result<(), ElementError> {
        match &arm.hold.by {
            HeldBy::SetScrew {
                thread,
                count,
                point,
            } => self.set_screwed(draft, arm, thread, *count, *point),
            HeldBy::Key(key) => self.keyed(draft, arm, *key),
            HeldBy::Pin { diameter } => self.cross_pinned(draft, arm, *diameter),
            HeldBy::Pinch {
                thread,
                count,
                class,
            } => self.pinched(draft, arm, thread, *count, class),
            HeldBy::Press { fit } => self.pressed(draft, arm, fit),
            HeldBy::Weld { leg } => self.welded(draft, arm, *leg),
            HeldBy::Braze => self.brazed(draft, arm),
        }
    }

    /// A check of what holds an arm, in the pose in which the torque on it is greatest.
    fn holding(&self, draft: &mut Draft, arm: &Arm<'_>, check: &Check) {
        let checked = self.check(check, self.factor(), Some(&arm.torque));
        draft.item.checks.push(checked);
    }
}

/// The lesser strength of arm and shaft; that of hot-rolled bar where neither is known.
fn weaker(arm: &Arm<'_>) -> f64 {
    let strength = |m: Option<&Material>| m.and_then(strength).unwrap_or(f64::INFINITY);
    let least = strength(arm.arm).min(strength(arm.on));
    if least.is_finite() { least } else { 220.0 }
}

/// What it is called, and what to buy for it.
fn named(by: &HeldBy, study: &Study<'_>) -> (String, Option<(u32, String)>) {
    let size = |mm: f64| say::size(mm, study.machine);
    match by {
        HeldBy::SetScrew { thread, count, .. } => (
            if *count == 1 {
                format!("set screw {}", thread.name)
            } else {
                format!("{count} set screws {}", thread.name)
            },
            Some((*count, format!("set screw {}", thread.name))),
        ),
        HeldBy::Key(Key::Parallel { inch: false }) => (
            String::from("parallel key"),
            Some((1, String::from("parallel key"))),
        ),
        HeldBy::Key(Key::Parallel { inch: true }) => (
            String::from("square key"),
            Some((1, String::from("square key"))),
        ),
        HeldBy::Key(Key::WoodruffMetric(row)) => {
            let name = format!("Woodruff key {}", keys::woodruff_disc_name(*row));
            (name.clone(), Some((1, name)))
        }
        HeldBy::Key(Key::Woodruff(n)) => (
            format!("Woodruff key {n}"),
            Some((1, format!("Woodruff key {n}"))),
        ),
        HeldBy::Pin { diameter } => (
            format!("cross pin {}", size(*diameter)),
            Some((1, format!("cross pin {}", size(*diameter)))),
        ),
        HeldBy::Pinch {
            thread,
            count,
            class,
        } => (
            format!("pinched hub, {} {class}", thread.name),
            Some((*count, format!("screw {} {class}", thread.name))),
        ),
        HeldBy::Press { fit } => (format!("press fit {fit}"), None),
        HeldBy::Weld { leg } => (format!("fillet weld of {} all round", size(*leg)), None),
        HeldBy::Braze => (String::from("silver-brazed joint"), None),
    }
}
