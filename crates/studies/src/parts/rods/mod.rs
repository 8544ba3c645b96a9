//! Rods: buckling, pull, thread; and the rod ends on their pins.

mod ends;
mod eyes;
mod lengths;

use super::answers::Kind;
use super::say;
use super::study::{Draft, Study, strength};
use super::tires::{Tires, Tiring, to_and_fro};
use crate::answers::Severity;
use crate::assemble::Joint;
use crate::load::rig::Found;
use crate::load::service::JointService;
use elements::columns::{
    Ends, SOURCE as COLUMN, Section, check as buckles, column, eccentric, threaded,
};
use elements::threads::moving::{End, SOURCE as MOVING, per_turn};
use elements::threads::{basic, inch_stress_area};
use elements::{Check, ElementError, Source};
use machine::model::{Adjusts, Rod};
use machine::work::{self, Stock};

/// Threaded rod of which nothing is said is of this class (common practice).
const THREADED_ROD: f64 = 240.0;

/// Bar that is tapped at its end, over the thread's diameter (common practice).
const TAPPED: f64 = 1.5;

/// A load that goes this far both ways alternates, as a share of its greatest.
const ALTERNATES: f64 = 0.2;

/// A flat this many times wider than thick bows the thin way even where its ends are held (1.2 of the load, the square root of it in width).
const HELD: f64 = 1.1;

const PULL: Source =
    Source::of("F/A against yield; a thread by its stress area (ISO 898-1, ASME B1.1)");

/// What of a rod comes again.
struct Worked {
    tires: Option<Tires>,
    again: JointService,
}

/// What an eye carries, friction counted, N.
#[derive(Clone, Copy, Debug, PartialEq)]
struct EyeLoad {
    pull: f64,
    /// Pull or push.
    most: f64,
}

impl Study<'_> {
    /// A rod of which the file tells anything beside what it joins.
    pub(in crate::parts) fn rod(&mut self, index: usize) {
        let machine = self.machine;
        let (Some(rod), Some(made)) = (machine.rods.get(index), machine.work.rods.get(index))
        else {
            return;
        };
        if rod.thread.is_none() && made.stock.is_none() && made.ends.is_none() {
            return;
        }
        let constraint = self
            .rig
            .model
            .joints
            .iter()
            .position(|j| *j == Joint::Rod(index));
        let joint = self
            .rig
            .found
            .iter()
            .position(|f| matches!(*f, Found::Rod(c) if Some(c) == constraint));
        let Some(service) = joint.and_then(|j| self.service.joints.get(j)) else {
            return;
        };
        let [a, b] = rod.joins.map(|p| self.point(p));
        let threads = match (&rod.thread, &rod.other) {
            (Some(first), Some(second)) => Some(format!("{} and {}", first.name, second.name)),
            (Some(first), None) => Some(first.name.clone()),
            _ => None,
        };
        let what = match (&made.stock, &threads) {
            (Some(stock), Some(threads)) => {
                format!("rod {} with {threads}", section_name(stock, self))
            }
            (Some(stock), None) => format!("rod {}", section_name(stock, self)),
            (None, Some(threads)) => format!("threaded rod {threads}"),
            (None, None) => String::from("rod"),
        };
        let about = format!("rod.{}", rod.name);
        let mut draft = Draft::new(
            Kind::Rod,
            what.clone(),
            format!("{}, {a} to {b}", rod.name),
            about,
            rod.place,
        );
        if let Some(stock) = &made.stock {
            self.unstocked(&mut draft, stock.section);
        }
        if made.stock.is_some() || rod.thread.is_some() {
            let cut = self.cut_to(&mut draft, index, rod);
            self.buy(1, &format!("{what}, {cut}"), &rod.name);
            let again = joint.and_then(|j| self.working.joints.get(j));
            let works = self.rod_tires(rod, made.stock.as_ref(), again);
            if works == Tiring::Unknown
                && let Some(material) = made
                    .stock
                    .as_ref()
                    .and_then(|s| machine.work.materials.get(s.material))
            {
                self.untested(&mut draft, material);
            }
            let worked = Worked {
                tires: works
                    .known()
                    .map(|t| t.alternating(again.map_or(0.5, to_and_fro))),
                again: again.cloned().unwrap_or_default(),
            };
            if let Err(error) = self.strong_rod(&mut draft, index, rod, service, &worked) {
                self.impossible(&draft, &error);
            }
            self.turns(&mut draft, index, rod);
            for thread in rod.thread.iter().chain(&rod.other) {
                self.unmade(&draft, thread);
            }
            self.done(draft);
        }
        for (n, end) in made.ends.into_iter().flatten().enumerate() {
            self.rod_end(rod, n, end, service);
        }
    }

    /// How far a turn adjusts a rod with a setting, and the turns for a tenth of a millimetre (four thousandths of an inch).
    fn turns(&self, draft: &mut Draft, index: usize, rod: &Rod) {
        let set = self
            .machine
            .settings
            .iter()
            .any(|s| matches!(s.adjusts, Adjusts::Rod(r) if r == index));
        let (Some(first), true) = (&rod.thread, set) else {
            return;
        };
        let second = rod.other.as_ref().unwrap_or(first);
        let lead = |pitch: f64, left: bool| End { lead: pitch, left };
        let two = rod.both_ends || rod.other.is_some();
        let turned = if two {
            per_turn(lead(first.pitch, false), lead(second.pitch, rod.both_ends))
        } else {
            Ok(first.pitch)
        };
        let Ok(step) = turned.map(f64::abs) else {
            return;
        };
        let fine = if super::pins::is_inch(self.machine) {
            0.1016
        } else {
            0.1
        };
        let how = match (rod.both_ends, rod.other.is_some()) {
            (true, _) => "right and left hand",
            (false, true) => "the difference of two pitches of one hand",
            (false, false) => "one end",
        };
        let text = format!(
            "a turn adjusts it by {} ({how}); {} is {} of a turn",
            say::close(step, self.machine),
            say::close(fine, self.machine),
            say::factor(fine / step)
        );
        draft
            .item
            .figures
            .push(self.figure("adjusts by a turn", step, "mm", MOVING, text));
    }

    /// From pin to pin as drawn, mm.
    fn length(&self, rod: &Rod) -> f64 {
        let place = |p: usize| {
            let point = self.machine.points.get(p)?;
            let plane = self.machine.planes.get(point.plane)?;
            let third = [
                plane.right[1] * plane.up[2] - plane.right[2] * plane.up[1],
                plane.right[2] * plane.up[0] - plane.right[0] * plane.up[2],
                plane.right[0] * plane.up[1] - plane.right[1] * plane.up[0],
            ];
            Some(std::array::from_fn::<f64, 3, _>(|i| {
                plane.origin[i]
                    + point.x * plane.right[i]
                    + point.y * plane.up[i]
                    + point.station * third[i]
            }))
        };
        let [p, q] = rod.joins.map(place);
        match (p, q) {
            (Some(p), Some(q)) => p
                .iter()
                .zip(&q)
                .map(|(a, b)| (a - b).powi(2))
                .sum::<f64>()
                .sqrt(),
            _ => 0.0,
        }
    }

    /// How a rod tires: as what it hangs on does.
    fn rod_tires(&self, rod: &Rod, stock: Option<&Stock>, again: Option<&JointService>) -> Tiring {
        let material = match stock {
            Some(stock) => self.machine.work.materials.get(stock.material),
            None => self.steel(),
        };
        let loaded = again.is_some_and(|s| s.most.value > 0.0);
        match material.filter(|_| loaded) {
            Some(material) => {
                let all = rod.joins.map(|point| self.tires_at(point, material));
                let works = all.into_iter().find(|t| *t != Tiring::Still);
                works.unwrap_or(Tiring::Still)
            }
            None => Tiring::Still,
        }
    }

    fn strong_rod(
        &mut self,
        draft: &mut Draft,
        index: usize,
        rod: &Rod,
        service: &JointService,
        worked: &Worked,
    ) -> Result<(), ElementError> {
        let made = self.machine.work.rods.get(index);
        let stock = made.and_then(|m| m.stock.as_ref());
        if service.undetermined {
            let sentence = format!(
                "{}, {}: how it shares its load with joints that repeat it is not determined, so it is not sized",
                draft.item.what, draft.item.at
            );
            let try_this =
                "give all rods of them their stock, or leave out the joint that is one too many";
            self.say(Severity::Caution, draft, sentence, Some(try_this.into()));
            return Ok(());
        }
        let length = self.length(rod);
        let material = stock.and_then(|s| self.machine.work.materials.get(s.material));
        let (youngs, yields) = match material {
            Some(material) => {
                self.grade(material);
                (material.modulus, strength(material))
            }
            None => {
                draft.assume(format!(
                    "no stock is given: reckoned as threaded rod of class 4.6 over its whole length, yield {}",
                    say::value(THREADED_ROD, "MPa", self.machine)
                ));
                (elements::press::STEEL.youngs, Some(THREADED_ROD))
            }
        };
        let Some(yields) = yields else { return Ok(()) };
        let told = made.and_then(|m| m.column);
        let section = match (stock, &rod.thread) {
            (_, Some(thread)) if told.is_some_and(|c| c.threaded) => {
                draft.assume("threaded all through: its root counts");
                threaded(thread.major, thread.pitch)?
            }
            (Some(stock), _) => section(stock),
            (None, Some(thread)) => threaded(thread.major, thread.pitch)?,
            (None, None) => return Ok(()),
        };
        let factor = self.factor();
        // A flat link on pins can only bow over its pins, where they hold it; balls let it bow any way.
        let balls = made.is_some_and(|m| m.ends.is_some());
        let on_pins = match section {
            Section::Flat(width, thick) => !balls && width > HELD * thick,
            _ => false,
        };
        let ends = match told.and_then(|c| c.ends) {
            Some(ends) => ends.recommended(),
            None if on_pins => Ends::Fixed.recommended(),
            None => Ends::Pinned.theory(),
        };
        let off = told.map_or(0.0, |c| c.off);
        draft.assume(match told.and_then(|c| c.ends) {
            Some(_) => format!("ends as the file has them (C {ends}, Shigley table 4-2), straight"),
            None if on_pins => String::from("flat on pins: the thin way its ends are held by them (C 1.2, Shigley table 4-2), straight"),
            None => String::from("pins or balls at both ends, straight"),
        });
        draft.assume(if off > 0.0 {
            format!("load {} off its middle", say::size(off, self.machine))
        } else {
            String::from("load in the middle (`column = { off = ... }` says otherwise)")
        });
        // Friction may add to either, whichever way the machine is moved.
        let rubbed = (service.most.value - service.pull.value.max(service.push.value)).max(0.0);
        let (pull, push) = (service.pull.value + rubbed, service.push.value + rubbed);
        let standing =
            |section: Section, ends: f64| stands(section, length, ends, off, youngs, yields, push);
        let check = standing(section, ends)?;
        draft
            .item
            .checks
            .push(self.check(&check, factor, Some(&service.most)));
        if let (Some(stock), Some(thread)) = (stock, &rod.thread) {
            let [_, across] = super::room::sides(stock.section);
            if thread.major > across + 0.01 && rod_takes_thread(rod, self) {
                let sentence = format!(
                    "{}, {}: a thread of {} is not cut on a bar {} across",
                    draft.item.what,
                    draft.item.at,
                    say::size(thread.major, self.machine),
                    say::size(across, self.machine)
                );
                self.say(
                    Severity::Fault,
                    draft,
                    sentence,
                    Some("take a thicker bar, or rod ends with a stem and a tapped bar".into()),
                );
            }
        }
        if let Some(stock) = stock {
            self.tapped_bar(draft, rod, stock);
        }
        let eyes = self.eyes(index, rod);
        let load = EyeLoad {
            pull,
            most: pull.max(push),
        };
        if let (Some(eyes), Some(stock)) = (&eyes, stock) {
            self.eyes_bear(draft, eyes, stock.section, (load, yields), service)?;
        }
        let area = thread_area(rod, section)?;
        let most = pull.max(push);
        let check = Check {
            what: if rod.thread.is_some() {
                "pull or push in the thread"
            } else {
                "pull or push in the rod"
            },
            acts: most / area,
            bears: yields,
            unit: "MPa",
            source: PULL,
        };
        draft
            .item
            .checks
            .push(self.check(&check, factor, Some(&service.most)));
        // Its thread is cut on the bar; or the bar is tapped for the stems of rod ends.
        let cut = rod_takes_thread(rod, self);
        if let Some(tires) = &worked.tires {
            draft.assume(tires.words());
            let (kf, area) = match (cut, rod.thread.is_some()) {
                (true, true) => (tires.cut_thread(), area),
                // Round the thread that is tapped into it.
                (false, true) => {
                    let threads = rod.thread.iter().chain(&rod.other);
                    let core = threads.fold(0.0_f64, |m, t| m.max(t.major));
                    let bar = stock.map_or(0.0, |s| self::area(s.section));
                    let left = bar - std::f64::consts::PI / 4.0 * core * core;
                    (tires.cut_thread(), left.max(0.05 * bar).max(1e-3))
                }
                _ => (1.0, area),
            };
            let stress = worked.again.most.value / area / super::levers::AXIAL;
            let what = if rod.thread.is_some() {
                "fatigue of the rod at its thread"
            } else {
                "fatigue of the rod"
            };
            // A pull feels no size.
            let check = tires.check(what, stress, kf, 1.0)?;
            let checked = self.check(&check, factor, Some(&service.most));
            draft.item.checks.push(checked);
            if let (Some(eyes), Some(stock)) = (&eyes, stock) {
                self.eyes_tire(draft, eyes, stock.section, tires, &worked.again)?;
            }
        }
        if !cut {
            self.stems_hold(draft, rod, most, material);
        }
        let threads = rod.thread.iter().chain(&rod.other);
        let least = threads.fold(0.0_f64, |m, t| {
            m.max(if cut { t.major } else { TAPPED * t.major })
        });
        let as_round = told
            .and_then(|c| c.ends)
            .map_or(Ends::Pinned.theory(), |_| ends);
        if let (Some(eyes), Some(stock)) = (eyes, stock) {
            let asks = |s: work::Section| -> bool {
                let section = super::levers::of(s);
                let ends = match (told.and_then(|c| c.ends), section) {
                    (None, Section::Flat(w, t)) if w > HELD * t => Ends::Fixed.recommended(),
                    (None, _) => Ends::Pinned.theory(),
                    _ => ends,
                };
                standing(section, ends).is_ok_and(|c| c.passes(factor))
                    && worked.tires.as_ref().is_none_or(|tires| {
                        let stress = worked.again.most.value / self::area(s) / super::levers::AXIAL;
                        let shank = tires.check("", stress, 1.0, 1.0);
                        shank.is_ok_and(|c| c.passes(factor))
                    })
            };
            self.flat_with_eyes(draft, &eyes, stock.section, (load, yields), worked, asks);
            return Ok(());
        }
        if rod.thread.is_none() && !balls {
            draft.assume("how its ends sit on their pins is not told (flat stock has eyes, rod ends are written `rod-ends`): the bar between them alone is checked");
            draft.unoffered("how its ends sit on their pins is not told");
        }
        let bars = self.rounds().into_iter();
        let best = bars.filter(|d| *d >= least - 0.01).find(|d| {
            let bar = std::f64::consts::PI / 4.0 * d * d;
            let shank = worked.tires.as_ref().is_none_or(|tires| {
                let stress = worked.again.most.value / bar / super::levers::AXIAL;
                tires
                    .check("", stress, 1.0, 1.0)
                    .is_ok_and(|c| c.passes(factor))
            });
            shank
                && most * factor <= yields * bar
                && standing(Section::Round(*d), as_round).is_ok_and(|c| c.passes(factor))
        });
        let now = match section {
            Section::Round(d) | Section::Tube(d, _) => d,
            Section::Flat(a, b) => a.min(b),
        };
        draft.would_do(
            best.map(|d| format!("round bar of {}", say::size(d, self.machine))),
            "round bar of this material",
            best.is_some_and(|d| d < now - 0.01),
        );
        // The thread stays as it is whatever bar it is cut on.
        let weak: Vec<_> = draft.item.checks.iter().filter(|c| !c.passes).collect();
        if rod.thread.is_some() && weak.iter().any(|c| c.what.contains("thread")) {
            draft.item.would_do = None;
            draft.instead = Some(String::from(
                "a larger thread (fatigue: one that is rolled, or a stronger steel), share the load, or lessen it",
            ));
        }
        Ok(())
    }

    /// A bar that is tapped for the stems of its rod ends needs a wall for the thread.
    fn tapped_bar(&mut self, draft: &Draft, rod: &Rod, stock: &Stock) {
        if rod_takes_thread(rod, self) {
            return;
        }
        let Some(thread) = rod
            .thread
            .iter()
            .chain(&rod.other)
            .max_by(|a, b| a.major.total_cmp(&b.major))
        else {
            return;
        };
        let size = |mm: f64| say::size(mm, self.machine);
        let [thick, wide] = super::room::sides(stock.section);
        let across = thick.min(wide);
        let drill = thread.major - thread.pitch;
        let bore = match stock.section {
            work::Section::Tube([_, bore]) => bore,
            _ => 0.0,
        };
        let least = TAPPED * thread.major;
        let why = if bore > drill + 0.1 {
            format!(
                "its bore of {} leaves nothing to tap {}",
                size(bore),
                thread.name
            )
        } else if across < least - 1e-6 {
            format!(
                "it is tapped {} for the stems of its rod ends, and {} across: {} of wall",
                thread.name,
                size(across),
                size((50.0 * (across - thread.major)).round() / 100.0)
            )
        } else {
            return;
        };
        let sentence = format!("{}, {}: {why}", draft.item.what, draft.item.at);
        let bars = self.rounds().into_iter().find(|d| *d >= least - 1e-6);
        let try_this = format!(
            "{}, or rod ends with a tapped shank on a threaded bar",
            bars.map_or_else(
                || format!("a bar of {}", size(least)),
                |d| format!("round bar of {}", size(d))
            )
        );
        self.say(Severity::Fault, draft, sentence, Some(try_this));
    }
}

/// A thrust against what a column bears, N, its load off the middle or not.
pub(in crate::parts) fn stands(
    section: Section,
    length: f64,
    ends: f64,
    off: f64,
    youngs: f64,
    yields: f64,
    push: f64,
) -> Result<Check, ElementError> {
    let found = column(section, length, ends, youngs, yields)?;
    let check = buckles(&found, push)?;
    if off <= 0.0 {
        return Ok(check);
    }
    Ok(Check {
        what: "buckling, its load off the middle",
        bears: eccentric(section, length, ends, off, youngs, yields)?,
        source: COLUMN,
        ..check
    })
}

/// A rod whose own end carries the thread: without rod ends, or with tapped ones.
fn rod_takes_thread(rod: &Rod, study: &Study<'_>) -> bool {
    let index = study.machine.rods.iter().position(|r| r.name == rod.name);
    let ends = index
        .and_then(|i| study.machine.work.rods.get(i))
        .and_then(|m| m.ends);
    ends.is_none_or(|ends| ends.iter().any(|e| !e.male))
}

pub(in crate::parts) fn section(stock: &Stock) -> Section {
    match stock.section {
        work::Section::Square(a) => Section::Flat(a, a),
        // The round inside it: on the safe side.
        work::Section::Round(d) | work::Section::Hexagon(d) => Section::Round(d),
        work::Section::Tube([outside, inside]) => Section::Tube(outside, inside),
        work::Section::Flat([thickness, width]) => Section::Flat(width, thickness),
    }
}

/// Area of a section, mm².
pub(in crate::parts) fn area(section: work::Section) -> f64 {
    crate::load::stock::area(section)
}

pub(in crate::parts) fn section_name(stock: &Stock, study: &Study<'_>) -> String {
    let size = |mm: f64| say::size(mm, study.machine);
    match stock.section {
        work::Section::Round(d) => format!("round {}", size(d)),
        work::Section::Square(a) => format!("square {}", size(a)),
        work::Section::Hexagon(a) => format!("hexagon {}", size(a)),
        work::Section::Tube([outside, inside]) => {
            format!("tube {} x {}", size(outside), size(inside))
        }
        work::Section::Flat([thickness, width]) => {
            format!("flat {} x {}", size(thickness), size(width))
        }
    }
}

/// The area that a pull goes through, mm²: that of the weaker thread.
fn thread_area(rod: &Rod, section: Section) -> Result<f64, ElementError> {
    let (mut area, _) = section.properties()?;
    for thread in rod.thread.iter().chain(&rod.other) {
        let own = if thread.inch {
            inch_stress_area(thread.major, thread.pitch)?
        } else {
            basic(thread.major, thread.pitch)?.stress_area
        };
        area = area.min(own);
    }
    Ok(area)
}
