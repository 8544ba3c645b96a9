//! Levers, links and plates as bars of their stock: bending and pull where a hole weakens them, and the smallest bar that does it.

use super::answers::Kind;
use super::room::{joint, pin_diameter, room, stock};
use super::say;
use super::study::{Draft, Study, strength};
use super::tires::{Tires, Tiring};
use crate::load::felt::BarEnd;
use crate::load::service::Peak;
use elements::net::{check, net};
use elements::pins_lugs::{Lug, lug_notch};
use elements::stock::{PLATE_INCH, PLATE_METRIC, TUBE_INCH, TUBE_METRIC, inches};
use elements::{Check, ElementError, columns};
use machine::fitting::{Fitted, Hole};
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::Section;

/// Width of a bar over a hole in it, at least (common practice: half a hole of metal on either side).
const BESIDE: f64 = 2.0;
/// Width of a bar over a ring or bushing that is pressed into it, at least.
const WALL: f64 = 1.25;

/// A bar that bears so many times its push is not told of as a column.
const NEAR: f64 = 100.0;

/// What weakens an end of a bar.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Weak {
    /// Hole there; zero where there is none.
    hole: f64,
    /// Width of the metal about it where the file gives it.
    around: Option<f64>,
    /// The hub of a shaft, across: the bar ends at its edge.
    hub: Option<f64>,
}

impl Study<'_> {
    /// A part that is no shaft, as bars from hole to hole.
    pub(super) fn lever(&mut self, part: PartId) {
        let machine = self.machine;
        let Some(own) = machine
            .parts
            .get(part)
            .filter(|p| p.kind != PartKind::Shaft)
        else {
            return;
        };
        let Some(bar) = stock(machine, part).filter(|_| part != FRAME) else {
            return;
        };
        if self.bars(part, &Asked::Bears(0.0)).is_empty() {
            return;
        }
        let mut draft = Draft::new(
            Kind::Bar,
            super::rods::section_name(bar, self),
            own.name.clone(),
            format!("part.{}", own.name),
            own.place,
        );
        let Some(material) = self.material_of(part) else {
            return;
        };
        self.grade(material);
        self.unstocked(&mut draft, bar.section);
        let Some(limit) = strength(material) else {
            draft.assume(format!(
                "no strength is known for {}: its bending is not checked",
                material.name
            ));
            self.done(draft);
            return;
        };
        let factor = self.factor();
        draft.assume("bars of its stock from hole to hole, loads in its plane; friction adds what it adds to the hardest pressed joint");
        let tiring = self.tires_of(part);
        let tires = tiring.known();
        if tiring == Tiring::Unknown {
            self.untested(&mut draft, material);
        }
        for asked in asked(limit, tires) {
            match self.weakest(part, bar.section, &asked) {
                Ok(Some((found, end, hole))) => {
                    let mut checked = self.check(&found, factor, Some(&end.worst));
                    let at = end.point.map_or("its end", |p| self.point(p));
                    let word = match asked {
                        Asked::Bears(_) => "bending and pull",
                        Asked::Tires(tires) => {
                            draft.assume(tires.alternating(end.alternates()).words());
                            "fatigue"
                        }
                    };
                    checked.what = if hole > 0.0 {
                        let size = say::size(hole, machine);
                        format!("{word} beside the hole of {size} at {at}")
                    } else {
                        format!("{word} at {at}")
                    };
                    draft.item.checks.push(checked);
                }
                Ok(None) => {}
                Err(error) => self.impossible(&draft, &error),
            }
        }
        match self.pushed(part, bar.section, limit) {
            // What is nowhere near bowing out is not worth a word.
            Ok(Some((check, peak))) if check.factor() < NEAR => {
                let checked = self.check(&check, factor, Some(&peak));
                draft.item.checks.push(checked);
                draft.assume(match self.column_of(part).and_then(|c| c.ends) {
                    Some(ends) => format!("pushed, its ends as the file has them (C {})", ends.recommended()),
                    None => String::from("pushed, its bars buckle from hole to hole: flats held by their pins the thin way, others pinned (`column` says otherwise)"),
                });
            }
            Ok(_) => {}
            Err(error) => self.impossible(&draft, &error),
        }
        let best = self.narrowest(part, limit);
        let smaller =
            best.is_some_and(|b| super::rods::area(b) < super::rods::area(bar.section) - 0.01);
        draft.would_do(
            best.map(|b| self.bar_words(b, bar.section)),
            "bar of this material",
            smaller,
        );
        self.done(draft);
    }

    /// Ends of the bars of a part that carry anything.
    fn bars(&self, part: PartId, asked: &Asked) -> Vec<&BarEnd> {
        let all = match asked {
            Asked::Bears(_) => self.service.bars.iter(),
            Asked::Tires(_) => self.working.bars.iter(),
        };
        all.filter(|e| e.part == part && e.worst.value > 0.0)
            .collect()
    }

    /// "a bar 30 mm wide", "flat bar of 6 mm x 30 mm", "round bar of 16 mm".
    pub(super) fn bar_words(&self, found: Section, now: Section) -> String {
        let size = |mm: f64| say::size(mm, self.machine);
        match (found, now) {
            (Section::Flat([t, w]), Section::Flat([own, _])) if (t - own).abs() < 0.01 => {
                format!("a bar {} wide", size(w))
            }
            (Section::Flat([t, w]), _) => format!("flat bar of {} x {}", size(t), size(w)),
            (Section::Round(d), _) => format!("round bar of {}", size(d)),
            (Section::Square(a), _) => format!("square bar of {}", size(a)),
            (Section::Hexagon(a), _) => format!("hexagon bar of {}", size(a)),
            (Section::Tube([d, bore]), _) => format!("tube of {} x {} inside", size(d), size(bore)),
        }
    }

    /// Diameter of what a part has at a point.
    pub(super) fn hole_size(hole: &Hole) -> f64 {
        match &hole.fitted {
            Fitted::Plain { size, .. } => size.nominal,
            Fitted::Bearing { bearing, .. } => bearing.outside,
            Fitted::Bushing { bore, outside, .. } => {
                outside.as_ref().map_or(bore.nominal, |(o, _)| o.nominal)
            }
            Fitted::Tapped { thread, .. } => thread.major,
        }
    }

    fn weak(&self, part: PartId, point: Option<PointId>) -> Weak {
        let machine = self.machine;
        let Some(point) = point else {
            return Weak {
                hole: 0.0,
                around: None,
                hub: None,
            };
        };
        let own = machine
            .work
            .holes
            .iter()
            .find(|h| h.part == part && h.point == point);
        let centre = machine
            .parts
            .get(part)
            .and_then(|p| p.clamped_to)
            .and_then(|s| machine.parts.get(s)?.carries.first());
        let bore = pin_diameter(machine, point);
        let hub = (centre == Some(&point)).then(|| {
            let held = machine
                .work
                .parts
                .get(part)
                .and_then(|m| m.held_by.as_ref());
            held.and_then(|h| h.hub).or(bore).unwrap_or(0.0)
        });
        Weak {
            hole: own.map_or_else(|| bore.unwrap_or(0.0), Self::hole_size),
            around: own.and_then(|h| h.around),
            hub,
        }
    }

    /// The check with the least to spare over all ends of the bars of a part, with the end and its hole.
    fn weakest(
        &self,
        part: PartId,
        section: Section,
        asked: &Asked,
    ) -> Result<Option<(Check, &BarEnd, f64)>, ElementError> {
        let mut worst: Option<(Check, &BarEnd, f64)> = None;
        for end in self.bars(part, asked) {
            let asked = match asked {
                Asked::Tires(tires) => Asked::Tires(tires.alternating(end.alternates())),
                still @ Asked::Bears(_) => *still,
            };
            for (found, hole) in end_checks(end, self.weak(part, end.point), section, &asked)? {
                if worst.as_ref().is_none_or(|w| found.factor() < w.0.factor()) {
                    worst = Some((found, end, hole));
                }
            }
        }
        Ok(worst)
    }

    /// Diameter of the shaft that a part is clamped on.
    fn shaft_through(&self, part: PartId) -> Option<f64> {
        let shaft = self.machine.parts.get(part)?.clamped_to?;
        let centre = *self.machine.parts.get(shaft)?.carries.first()?;
        let bar = stock(self.machine, shaft).map(|s| super::room::sides(s.section)[1]);
        crate::load::notched::seat_of(self.rig, shaft, part)
            .or(bar)
            .or_else(|| pin_diameter(self.machine, centre))
    }

    fn column_of(&self, part: PartId) -> Option<machine::work::Column> {
        self.machine.work.parts.get(part)?.column
    }

    /// The bar of a part that is nearest to bowing out, and where.
    fn pushed(
        &self,
        part: PartId,
        section: Section,
        limit: f64,
    ) -> Result<Option<(Check, Peak)>, ElementError> {
        let Some(material) = self.material_of(part) else {
            return Ok(None);
        };
        let told = self.column_of(part);
        let flat = matches!(section, Section::Flat([t, w]) if w > t);
        let ends = match told.and_then(|c| c.ends) {
            Some(ends) => ends.recommended(),
            None if flat => columns::Ends::Fixed.recommended(),
            None => columns::Ends::Pinned.theory(),
        };
        let off = told.map_or(0.0, |c| c.off);
        let mut worst: Option<(Check, Peak)> = None;
        for end in self.service.bars.iter().filter(|e| e.part == part) {
            if end.push.value <= 0.0 || end.length <= 0.0 {
                continue;
            }
            let found = super::rods::stands(
                of(section),
                end.length,
                ends,
                off,
                material.modulus,
                limit,
                end.push.value,
            )?;
            if worst.as_ref().is_none_or(|w| found.factor() < w.0.factor()) {
                worst = Some((found, end.push.clone()));
            }
        }
        Ok(worst)
    }

    /// The lug about a plain hole and the force on it, of a bar of this section. Two ears share it.
    pub(super) fn lug(
        &self,
        hole: &Hole,
        nominal: f64,
        section: Option<Section>,
    ) -> Option<(Lug, f64)> {
        let room = room(self.machine, hole);
        let sides = section.map(super::room::sides);
        let length = hole.length.or(sides.map(|s| s[0])).or(room.length)?;
        let around = hole.around.or(sides.map(|s| s[1])).or(room.around)?;
        let joints = self.joints_at(hole.point, Some(hole.part));
        let force = self.hardest(&joints).map_or(0.0, |(_, p)| p.value);
        let fork = joint(self.machine, hole.point).and_then(|j| j.fork) == Some(hole.part);
        let ears = if fork { 2.0 } else { 1.0 };
        let pin = pin_diameter(self.machine, hole.point).unwrap_or(nominal);
        let lug = Lug {
            thickness: ears * length,
            hole: nominal,
            pin: pin.min(nominal),
            edge: 0.5 * around,
            width: around,
        };
        Some((lug, force))
    }

    /// The smallest bar of which everything in a part may be made: bending, its plain holes, the metal beside all holes.
    pub(super) fn narrowest(&self, part: PartId, limit: f64) -> Option<Section> {
        let now = stock(self.machine, part)?.section;
        let inch = super::pins::is_inch(self.machine);
        let holes = || self.machine.work.holes.iter().filter(|h| h.part == part);
        let factor = self.factor();
        let all = asked(limit, self.tires_of(part).known());
        let passes = |section: &Section| {
            let [_, width] = super::room::sides(*section);
            let bends = all.iter().all(|asked| {
                self.weakest(part, *section, asked)
                    .is_ok_and(|w| w.is_none_or(|(c, ..)| c.passes(factor)))
            });
            let hubs = self
                .machine
                .work
                .parts
                .get(part)
                .and_then(|m| m.held_by.as_ref());
            let shaft = self.shaft_through(part);
            let hub = hubs.is_some_and(|h| h.hub.is_some() && h.length.is_some());
            let hub = hub
                || shaft.is_none_or(|s| width >= 1.5 * s)
                    && super::room::sides(*section)[0] >= super::room::sides(now)[0] - 1e-9;
            let stands = self
                .pushed(part, *section, limit)
                .is_ok_and(|w| w.is_none_or(|(c, _)| c.passes(factor)));
            let wide = self
                .service
                .bars
                .iter()
                .filter(|e| e.part == part)
                .all(|end| {
                    let weak = self.weak(part, end.point);
                    let own = holes().any(|h| Some(h.point) == end.point);
                    // What has a hole of its own is looked at with it.
                    weak.hub.is_some()
                        || weak.around.is_some()
                        || own
                        || width >= BESIDE * weak.hole - 1e-9
                });
            bends
                && stands
                && wide
                && hub
                && holes().all(|hole| {
                    let size = Self::hole_size(hole);
                    let wall = match hole.fitted {
                        Fitted::Bearing { .. } | Fitted::Bushing { .. } => WALL,
                        Fitted::Plain { .. } | Fitted::Tapped { .. } => BESIDE,
                    };
                    if hole.around.is_none() && width < wall * size - 1e-9 {
                        return false;
                    }
                    let Fitted::Plain { size, .. } = &hole.fitted else {
                        return true;
                    };
                    self.lug(hole, size.nominal, Some(*section))
                        .is_none_or(|(lug, force)| {
                            lug.checks(force, limit)
                                .is_ok_and(|all| all.iter().all(|c| c.passes(factor)))
                        })
                })
        };
        match now {
            Section::Flat([own, _]) => {
                let plates = if inch {
                    inches(&PLATE_INCH)
                } else {
                    PLATE_METRIC.to_vec()
                };
                let thicker = plates.into_iter().filter(|t| *t > own + 0.01);
                let widths = self.widths();
                std::iter::once(own)
                    .chain(thicker)
                    .flat_map(|t| widths.iter().map(move |w| Section::Flat([t, *w])))
                    .filter(|s| matches!(s, Section::Flat([t, w]) if t <= w))
                    .find(passes)
            }
            // A square or hexagon bar is counted as what surely lies in it; what carries more is a round.
            Section::Round(_) | Section::Square(_) | Section::Hexagon(_) => {
                self.rounds().into_iter().map(Section::Round).find(passes)
            }
            Section::Tube(_) => {
                let (list, unit) = if inch {
                    (&TUBE_INCH[..], 25.4)
                } else {
                    (&TUBE_METRIC[..], 1.0)
                };
                list.iter()
                    .map(|(d, wall)| Section::Tube([unit * d, unit * (d - 2.0 * wall)]))
                    .find(passes)
            }
        }
    }
}

/// The section as columns know it: a flat by width and thickness.
pub(super) fn of(section: Section) -> columns::Section {
    match section {
        Section::Flat([thickness, width]) => columns::Section::Flat(width, thickness),
        Section::Square(a) => columns::Section::Flat(a, a),
        // The round inside it: on the safe side.
        Section::Round(d) | Section::Hexagon(d) => columns::Section::Round(d),
        Section::Tube([outside, inside]) => columns::Section::Tube(outside, inside),
    }
}

/// What a bar is held against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Asked {
    /// Yield, or rupture, MPa.
    Bears(f64),
    /// A load that comes and goes.
    Tires(Tires),
}

/// Both, where it tires.
fn asked(limit: f64, tires: Option<Tires>) -> Vec<Asked> {
    std::iter::once(Asked::Bears(limit))
        .chain(tires.map(Asked::Tires))
        .collect()
}

/// A pull tires a bar as a greater bending would (Shigley eq. 6-26).
pub(super) const AXIAL: f64 = 0.85;
/// A round bar with a hole across (Shigley table A-16, about the middle of its sizes).
const CROSS: f64 = 2.2;
/// Beside a hole in the middle of a flat, on the bending stress there (Peterson, hole small in its width).
const INSIDE: f64 = 2.0;

/// One section of a bar under a moment and a pull.
pub(super) fn section_check(
    section: Section,
    about: columns::Section,
    hole: f64,
    [moment, pull]: [f64; 2],
    asked: &Asked,
) -> Result<Check, ElementError> {
    let left = net(about, hole)?;
    let tires = match asked {
        Asked::Bears(limit) => return check(left, moment, pull, *limit),
        Asked::Tires(tires) => tires,
    };
    let (bent, pulled) = (moment.abs() / left.modulus, pull.abs() / left.area / AXIAL);
    let (across, size) = match about {
        columns::Section::Flat(w, t) => (w, 0.808 * (w * t).sqrt()),
        columns::Section::Round(d) | columns::Section::Tube(d, _) => (d, d),
    };
    // At the edge of the bar nothing is sharp; at the side of the hole its pin pulls.
    let edge = bent + pulled;
    let side = if hole > 0.0 {
        let notch = if pull > 0.0 {
            lug_notch(hole / across)
        } else {
            1.0
        };
        match section {
            Section::Flat(_) | Section::Square(_) => INSIDE * bent * hole / across + notch * pulled,
            Section::Round(_) | Section::Tube(_) | Section::Hexagon(_) => {
                CROSS * bent + notch * pulled
            }
        }
    } else {
        0.0
    };
    tires.check("fatigue of the bar", edge.max(side), 1.0, size)
}

/// What the end of a bar bears: beside its hole, and where a boss or hub about it ends.
fn end_checks(
    end: &BarEnd,
    weak: Weak,
    section: Section,
    asked: &Asked,
) -> Result<Vec<(Check, f64)>, ElementError> {
    let moment = |x: f64| {
        let share = (x / end.length).clamp(0.0, 1.0);
        end.moments[0] + share * (end.moments[1] - end.moments[0])
    };
    let plain = |x: f64| {
        let found = section_check(section, of(section), 0.0, [moment(x), end.pull], asked)?;
        Ok((found, 0.0))
    };
    if let Some(hub) = weak.hub {
        return Ok(vec![plain(0.5 * hub)?]);
    }
    let [thick, width] = super::room::sides(section);
    match weak.around {
        Some(boss) if boss > width + 0.01 => {
            let about = columns::Section::Flat(boss, thick);
            let mut all = vec![plain(0.5 * boss)?];
            if weak.hole < boss {
                all.push((
                    section_check(section, about, weak.hole, [moment(0.0), end.pull], asked)?,
                    weak.hole,
                ));
            }
            Ok(all)
        }
        // A hole as wide as its bar is told of by itself.
        _ if weak.hole >= width => Ok(vec![plain(0.0)?]),
        _ => {
            let found = section_check(
                section,
                of(section),
                weak.hole,
                [moment(0.0), end.pull],
                asked,
            )?;
            Ok(vec![(found, weak.hole)])
        }
    }
}
