//! What holds arms on their shafts: set screws, keys, pins, pinch screws, press fits, welds, brazing.

use super::answers::Kind;
use super::room::{elastic, material, pin_diameter, sides, stock};
use super::say;
use super::study::{Draft, Study, fits, strength};
use crate::answers::Severity;
use crate::assemble::Joint;
use crate::load::rig::Found;
use crate::load::service::Peak;
use elements::joints::{E60, braze_check, fillet_round, socket, weld_check};
use elements::keys::{self, parallel, square_inch, woodruff};
use elements::pins_lugs::{SHEAR_SHARE, SOURCE as PINS, pin_shear};
use elements::press::{LAME, Press, STEEL};
use elements::threads::holding::{self, Clamp, clamp, set_screw_of, set_screw_torque};
use elements::threads::preload::{
    find as class_of, preload, smallest_coarse, smallest_unc, torque as tightening,
};
use elements::threads::{COARSE, UNC, basic, inch_stress_area};
use elements::{Check, ElementError, Source, fits_inch, fits_iso, friction_couples};
use machine::fitting::{HeldBy, Hold, Key};
use machine::model::PartId;
use machine::work::{Material, Section};

/// Share of its strength that a weld or brazing by hand, tested by nobody, is given (common practice).
const BY_HAND: f64 = 0.7;
/// Preload of a pinch screw over its proof load (Shigley eq. 8-31, joints that are taken apart).
const PRELOAD: f64 = 0.75;
/// Least fillet that is laid by hand, mm (common practice).
const BEAD: f64 = 3.0;
/// Hole in a shaft for a pin, over its diameter; beyond, too little of it is left (Shigley table A-16 ends there).
const PIN: (f64, f64) = (0.2, 0.30);
/// A hub is at least this many screws long for a set screw to stand in it (common practice).
const LONG: f64 = 1.5;

const PINCH: Source = Source::of(
    "T = 2 µ F d of a hub that touches on two lines, friction low; F at 0.75 of the proof load",
);

/// Torque over preload and diameter of screws as bought (Shigley table 8-15: 0.30 dry, 0.20 as plated; the usual 0.20).
const AS_BOUGHT: f64 = 0.2;
const TIGHTEN: Source = Source::of("T = K F d, K 0.2 (Shigley eq. 8-27)");

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
        let diameter = own.or_else(|| centre.and_then(|c| pin_diameter(machine, c)));
        // Keys and pins are bought by size and length.
        let sides_of_arm = stock(machine, part).map(|s| sides(s.section));
        let (long, wide) = (
            hold.length.or(sides_of_arm.map(|s| s[0])),
            hold.hub.or(sides_of_arm.map(|s| s[1])),
        );
        if let Some((_, name)) = &mut buy {
            let size = |mm: f64| say::size(mm, machine);
            match &hold.by {
                HeldBy::Key(key @ Key::Parallel { .. }) => {
                    if let (Some(Ok(row)), Some(long)) =
                        (diameter.map(|d| parallel_of(*key, d)), long)
                    {
                        *name = format!(
                            "{name} {} x {} x {}",
                            size(row.width),
                            size(row.height),
                            size(long)
                        );
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
        let arm_sides = stock(machine, part).map(|s| sides(s.section));
        let (Some(length), Some(hub)) = (
            hold.length.or(arm_sides.map(|s| s[0])),
            hold.hub.or(arm_sides.map(|s| s[1])),
        ) else {
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
        let torque = joint
            .and_then(|j| self.service.joints.get(j))
            .map(|s| s.most.clone())
            .unwrap_or_default();
        let arm = Arm {
            hold,
            shaft,
            length,
            hub,
            arm: self.material_of(part).or(self.steel()),
            on: material(machine, shaft_stock).or(self.steel()),
            torque,
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

    fn holds(&mut self, draft: &mut Draft, arm: &Arm<'_>) -> Result<(), ElementError> {
        let joined = matches!(arm.hold.by, HeldBy::Weld { .. } | HeldBy::Braze);
        if joined && self.cannot_join(draft, arm) {
            return Ok(());
        }
        let factor = self.factor();
        let torque = arm.torque.value;
        let mut add = |study: &Self, check: &Check| {
            let checked = study.check(check, factor, Some(&arm.torque));
            draft.item.checks.push(checked);
        };
        match &arm.hold.by {
            HeldBy::SetScrew {
                thread,
                count,
                point,
            } => {
                let screw = set_screw_of(thread.major, *point)?;
                add(self, &set_screw_torque(&screw, *count, arm.shaft, torque)?);
                self.screwed_hub(draft, arm, thread);
                draft.assume("set screws tightened to the torque of the table on a soft shaft; several stand 60 to 120 degrees apart");
                let text = format!(
                    "tighten each to {}",
                    say::value(screw.seating, "N·mm", self.machine)
                );
                draft.item.figures.push(self.figure(
                    "seating torque",
                    screw.seating,
                    "N·mm",
                    holding::SOURCE,
                    text,
                ));
                let sizes: Vec<(f64, String)> = if thread.inch {
                    UNC.iter()
                        .map(|(name, d, _)| (25.4 * d, (*name).to_owned()))
                        .collect()
                } else {
                    COARSE.iter().map(|(d, _)| (*d, format!("M{d}"))).collect()
                };
                let wall = 0.5 * (arm.hub - arm.shaft);
                let best = sizes
                    .into_iter()
                    .filter(|(d, _)| *d <= wall + 1e-9 && LONG * d <= arm.length + 1e-9)
                    .find(|(d, _)| {
                        set_screw_of(*d, *point)
                            .and_then(|s| set_screw_torque(&s, *count, arm.shaft, torque))
                            .is_ok_and(|c| c.passes(factor))
                    });
                let smaller = best.as_ref().is_some_and(|(d, _)| *d < thread.major - 0.01);
                let many = if *count == 1 {
                    String::from("a set screw")
                } else {
                    format!("{count} set screws")
                };
                draft.would_do(
                    best.map(|(_, name)| format!("{many} {name}")),
                    "set screws that go into this hub (a key or a cross pin holds more)",
                    smaller,
                );
            }
            HeldBy::Key(key) => self.keyed(draft, arm, *key)?,
            HeldBy::Pin { diameter } => self.cross_pinned(draft, arm, *diameter)?,
            HeldBy::Pinch {
                thread,
                count,
                class,
            } => {
                let strengths = class_of(class, thread.major)?;
                let area = if thread.inch {
                    inch_stress_area(thread.major, thread.pitch)?
                } else {
                    basic(thread.major, thread.pitch)?.stress_area
                };
                let force = f64::from(*count) * preload(area, strengths.proof, PRELOAD)?;
                let mu = friction_couples::find("steel on steel, greasy")?
                    .least
                    .max(0.1);
                let held = clamp(Clamp::TwoLines, force, 1.0, arm.shaft, mu)?;
                add(
                    self,
                    &Check {
                        what: "torque on the pinched hub",
                        acts: torque,
                        bears: held.torque,
                        unit: "N·mm",
                        source: PINCH,
                    },
                );
                draft.assume(format!(
                    "friction {mu} in the bore, screws tightened to {PRELOAD} of their proof load"
                ));
                let each = force / f64::from(*count);
                let tight = tightening(AS_BOUGHT, each, thread.major)?;
                let text = format!(
                    "tighten each to {}: {} of pull (K {AS_BOUGHT}, dry as bought)",
                    say::value(tight, "N·mm", self.machine),
                    say::value(each, "N", self.machine)
                );
                draft.item.figures.push(self.figure(
                    "tightening torque",
                    tight,
                    "N·mm",
                    TIGHTEN,
                    text,
                ));
                // The screw's force goes with its stress area.
                let needed = force * factor * torque / held.torque / f64::from(*count) / PRELOAD;
                let best: Option<(f64, String)> = if thread.inch {
                    let row = smallest_unc(needed, class, 1.0).ok().flatten();
                    row.and_then(|r| UNC.get(r))
                        .map(|(name, d, _)| (25.4 * d, format!("{name} of {class}")))
                } else {
                    let row = smallest_coarse(needed, class, 1.0).ok().flatten();
                    row.map(|(d, _)| (d, format!("M{d} of class {class}")))
                };
                let smaller = best.as_ref().is_some_and(|(d, _)| *d < thread.major - 0.01);
                draft.would_do(
                    best.map(|(_, name)| name),
                    "pinch screws up to an inch",
                    smaller,
                );
            }
            HeldBy::Press { fit } => self.pressed(draft, arm, fit)?,
            HeldBy::Weld { leg } => {
                let shear = fillet_round(arm.shaft, *leg, 0.0, torque, 0.0)?;
                add(self, &weld_check(shear, E60, BY_HAND)?);
                if *leg < BEAD {
                    let sentence = format!(
                        "{}, {}: a bead of {} is not laid by hand (common practice)",
                        draft.item.what,
                        draft.item.at,
                        say::size(*leg, self.machine)
                    );
                    let bead = say::size(BEAD, self.machine);
                    self.say(
                        Severity::Caution,
                        draft,
                        sentence,
                        Some(format!("`weld = \"{bead}\"` or more, or silver-braze it")),
                    );
                }
                draft.assume(format!("electrodes of {}, welded by hand and not tested: {BY_HAND} of the allowed; beside the bead drawn bar is as soft as hot rolled", say::value(E60, "MPa", self.machine)));
            }
            HeldBy::Braze => {
                let shear = socket(arm.shaft, arm.length, 0.0, torque)?;
                add(self, &braze_check(shear, BY_HAND)?);
                draft.assume(format!("a gap of 0.05 to 0.13 mm, flux all over, brazed by hand: {BY_HAND} of the design shear"));
            }
        }
        Ok(())
    }

    /// Whether a hub has metal enough for a set screw.
    fn screwed_hub(&mut self, draft: &Draft, arm: &Arm<'_>, thread: &quantity::Thread) {
        let wall = 0.5 * (arm.hub - arm.shaft);
        let d = thread.major;
        let size = |mm: f64| say::size(mm, self.machine);
        let wide = size((arm.shaft + 2.0 * d).ceil());
        let (severity, sentence, try_this) = if arm.length < d + 1.0 {
            (
                Severity::Fault,
                format!(
                    "a set screw {} does not go into a hub {} long",
                    thread.name,
                    size(arm.length)
                ),
                format!("a hub {} long, or a smaller screw", size((LONG * d).ceil())),
            )
        } else if wall < 0.5 * d {
            (
                Severity::Fault,
                format!(
                    "the wall of the hub is {}: a set screw {} finds {:.1} threads there",
                    size(wall),
                    thread.name,
                    wall / thread.pitch
                ),
                format!("a hub of {wide} (`hub = \"{wide}\"`), or a smaller screw"),
            )
        } else if wall < d - 1e-9 {
            (
                Severity::Caution,
                format!(
                    "the wall of the hub is {}, and a set screw {} wants its diameter of thread at least (common practice)",
                    size(wall),
                    thread.name
                ),
                format!("a hub of {wide} (`hub = \"{wide}\"`), or a finer screw"),
            )
        } else {
            return;
        };
        let sentence = format!("{}, {}: {sentence}", draft.item.what, draft.item.at);
        self.say(severity, draft, sentence, Some(try_this));
    }

    fn cross_pinned(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        diameter: f64,
    ) -> Result<(), ElementError> {
        let factor = self.factor();
        let torque = arm.torque.value;
        let share = diameter / arm.shaft;
        let most = PIN.1 * arm.shaft;
        if share > PIN.1 + 1e-6 {
            let sentence = format!(
                "{}, {}: its hole takes {share:.2} of the shaft of {}: a fifth to a quarter is usual, {:.1} the most",
                draft.item.what,
                draft.item.at,
                say::size(arm.shaft, self.machine),
                PIN.1
            );
            let fits = self.rounds().into_iter().rfind(|d| *d <= most);
            let try_this = fits.map_or_else(
                || String::from("a thicker shaft, or another way to hold it"),
                |d| {
                    format!(
                        "a pin of {}, a thicker shaft, or a key",
                        say::size(d, self.machine)
                    )
                },
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            return Ok(());
        }
        if share < PIN.0 {
            draft.assume("the pin is thin for its shaft: a fifth to a quarter of it is usual (common practice)");
        }
        draft.assume(
            "the pin is of the given steel; a taper or spring pin of the same size is stronger",
        );
        let pin = self.steel().and_then(strength).unwrap_or(220.0);
        let of = |m: Option<&Material>| m.and_then(strength).unwrap_or(pin);
        let (shaft, hub) = (of(arm.on), of(arm.arm));
        let checks = |d: f64| -> Result<[Check; 3], ElementError> {
            let [in_shaft, in_hub] = keys::cross_pin(torque, d, arm.shaft, arm.hub)?;
            let press = |what, acts, wall: f64| Check {
                what,
                acts,
                bears: wall.min(pin),
                unit: "MPa",
                source: keys::CROSS_PIN,
            };
            Ok([
                Check {
                    what: "shear of the cross pin",
                    acts: pin_shear(2.0 * torque / arm.shaft, d, 2)?,
                    bears: SHEAR_SHARE * pin,
                    unit: "MPa",
                    source: PINS,
                },
                press("pressure of the pin in the shaft", in_shaft, shaft),
                press("pressure of the pin in the hub", in_hub, hub),
            ])
        };
        for check in &checks(diameter)? {
            let checked = self.check(check, factor, Some(&arm.torque));
            draft.item.checks.push(checked);
        }
        let fits = self.rounds().into_iter().filter(|d| *d <= most);
        let best = fits
            .into_iter()
            .find(|d| checks(*d).is_ok_and(|all| all.iter().all(|c| c.passes(factor))));
        draft.would_do(
            best.map(|d| format!("a pin of {}", say::size(d, self.machine))),
            format!(
                "pins up to {:.1} of the shaft (a key, a thicker hub or shaft holds more)",
                PIN.1
            ),
            best.is_some_and(|d| d < diameter - 0.01),
        );
        Ok(())
    }

    /// A weld or brazing between metals that do not take it.
    fn cannot_join(&mut self, draft: &Draft, arm: &Arm<'_>) -> bool {
        use elements::materials::Family;
        let weld = matches!(arm.hold.by, HeldBy::Weld { .. });
        let families = [arm.arm, arm.on].map(|m| m.and_then(super::room::family));
        let names = [arm.arm, arm.on].map(|m| m.map_or("steel", |m| m.name.as_str()));
        let bad = |family: Family| match family {
            Family::Steel | Family::Stainless => false,
            Family::Brass | Family::Bronze => weld,
            Family::Iron | Family::Aluminium | Family::Plastic => true,
        };
        let odd = families.iter().zip(names).find(|(f, _)| f.is_some_and(bad));
        if let Some((family, name)) = odd {
            let how = if weld {
                "welded to steel with a steel electrode"
            } else {
                "silver-brazed"
            };
            let iron = *family == Some(Family::Iron);
            let sentence = if iron {
                format!(
                    "{}, {}: {name} cracks beside a {}",
                    draft.item.what,
                    draft.item.at,
                    if weld { "weld" } else { "brazed joint" }
                )
            } else {
                format!(
                    "{}, {}: {name} is not {how}",
                    draft.item.what, draft.item.at
                )
            };
            let try_this =
                "a pinched hub, a key or a cross pin, or arm and shaft both of mild steel";
            self.say(Severity::Fault, draft, sentence, Some(try_this.to_owned()));
            return true;
        }
        let plain = |name: &str| {
            [
                "12L14", "1144", "1045", "4140", "4130", "4340", "C45", "42CrMo4", "11SMn", "O1",
                "W1",
            ]
            .iter()
            .any(|n| name.contains(n))
        };
        if weld && let Some(name) = names.into_iter().find(|n| plain(n)) {
            let sentence = format!(
                "{}, {}: {name} hardens and cracks beside a weld unless it is preheated; free-cutting steel is not welded at all (common practice)",
                draft.item.what, draft.item.at
            );
            let try_this = "arm and shaft of mild steel (1018, S235, S355), or preheat to 200 to 300 degrees C and cool slowly";
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(try_this.to_owned()),
            );
        }
        false
    }

    /// What is cut into a hub from inside must leave a wall.
    fn walled(&mut self, draft: &Draft, arm: &Arm<'_>, deep: f64, what: &str) {
        let wall = 0.5 * (arm.hub - arm.shaft);
        if deep <= 0.0 || wall >= 2.0 * deep {
            return;
        }
        let size = |mm: f64| say::size((100.0 * mm).round() / 100.0, self.machine);
        let wide = size((arm.shaft + 4.0 * deep).ceil());
        let (severity, left) = if wall <= deep {
            (Severity::Fault, String::from("it goes through"))
        } else {
            (
                Severity::Caution,
                format!("only {} are left", size(wall - deep)),
            )
        };
        let sentence = format!(
            "{}, {}: the {what} is {} deep in a wall of {}: {left}",
            draft.item.what,
            draft.item.at,
            size(deep),
            size(wall)
        );
        let try_this = format!("a hub of {wide} (`hub = \"{wide}\"`), or another way to hold it");
        self.say(severity, draft, sentence, Some(try_this));
    }

    fn keyed(&mut self, draft: &mut Draft, arm: &Arm<'_>, key: Key) -> Result<(), ElementError> {
        let factor = self.factor();
        let machine = self.machine;
        let disc = disc(key)?;
        let (width, bears, in_hub, text, source) = match (&disc, key) {
            (Some(row), _) => {
                let text = format!(
                    "{}: cutter {} x {}, {} deep in the shaft, {} in the hub",
                    draft.item.what,
                    say::size(row.diameter, machine),
                    say::size(row.width, machine),
                    say::size(row.in_shaft, machine),
                    say::size(row.above, machine)
                );
                (row.width, row.above, row.above, text, row.source)
            }
            (None, _) => {
                let row = parallel_of(key, arm.shaft)?;
                let text = format!(
                    "key {} x {}: seat {} deep in the shaft, {} in the hub",
                    say::size(row.width, machine),
                    say::size(row.height, machine),
                    say::size(row.in_shaft, machine),
                    say::size(row.in_hub, machine)
                );
                (row.width, row.height / 2.0, row.in_hub, text, row.source)
            }
        };
        let length = disc.map_or(arm.length, |d| arm.length.min(d.diameter));
        if let Some(row) = disc {
            let deep = row.in_shaft;
            if keys::seat_too_deep(arm.shaft, deep) || row.diameter > 1.5 * arm.length {
                let metric = row.number == 0;
                let better = if metric {
                    keys::woodruff_disc_for(arm.shaft).and_then(keys::woodruff_disc)
                } else {
                    keys::woodruff_for(arm.shaft)
                };
                let named = |row: &keys::Woodruff| {
                    if metric {
                        format!("{}x{}x{}", row.width, row.height, row.diameter)
                    } else {
                        row.number.to_string()
                    }
                };
                let why = if keys::seat_too_deep(arm.shaft, deep) {
                    format!(
                        "its seat is {} deep in a shaft of {}",
                        say::size(deep, machine),
                        say::size(arm.shaft, machine)
                    )
                } else {
                    format!(
                        "it is {} long and the hub {}",
                        say::size(row.diameter, machine),
                        say::size(arm.length, machine)
                    )
                };
                let sentence = format!("{}, {}: {why}", draft.item.what, draft.item.at);
                let try_this = match better {
                    Some(row) if row.diameter <= 1.5 * arm.length => {
                        format!("a Woodruff key {} suits this shaft", named(&row))
                    }
                    Some(row) => format!(
                        "a Woodruff key {} in a hub {} long, or a parallel key",
                        named(&row),
                        say::size(row.diameter.ceil(), machine)
                    ),
                    None => String::from("a parallel key, or a cross pin"),
                };
                self.say(Severity::Fault, draft, sentence, Some(try_this));
                return Ok(());
            }
        }
        self.walled(draft, arm, in_hub, "keyway");
        draft
            .item
            .figures
            .push(self.figure("width of the key", width, "mm", source, text));
        let weakest = weaker(arm);
        let steel = self.steel().and_then(strength).unwrap_or(weakest);
        draft.assume("the key is of the given steel");
        let checks = |length: f64| {
            keys::stress(arm.torque.value, arm.shaft, width, bears, length)
                .and_then(|s| keys::checks(&s, steel, weakest.min(steel)))
        };
        for check in &checks(length)? {
            let checked = self.check(check, factor, Some(&arm.torque));
            draft.item.checks.push(checked);
        }
        if let Key::Parallel { .. } = key {
            // Both stresses fall as the key gets longer.
            let spare = checks(length)?
                .iter()
                .fold(f64::INFINITY, |m, c| m.min(c.factor()));
            if spare.is_finite() {
                let needed = (length * factor / spare).ceil().max(width.ceil());
                draft.would_do(
                    Some(format!("a key {} long", say::size(needed, machine))),
                    "keys of this section",
                    needed < length - 0.01,
                );
            }
        }
        Ok(())
    }

    fn pressed(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        text: &str,
    ) -> Result<(), ElementError> {
        let fit = if text.contains('/') {
            fits_iso::fit(text, arm.shaft)?
        } else {
            fits_inch::fit(text, arm.shaft)?
        };
        let press = Press {
            diameter: arm.shaft,
            length: arm.length,
            hub_outside: arm.hub,
            shaft_bore: 0.0,
            hub: elastic(arm.arm),
            shaft: arm.on.map_or(STEEL, |m| elastic(Some(m))),
            round: arm.hold.hub.is_some(),
        };
        draft
            .item
            .fits
            .push(fits("hub on the shaft", &fit, self.machine));
        let (loose, _) = press.of_fit(&fit)?;
        let mu = friction_couples::find("press fit, steel on steel, oiled")?.least;
        let check = Check {
            what: "torque on the press fit at its loosest",
            acts: arm.torque.value,
            bears: press.torque(loose.pressure, mu)?,
            unit: "N·mm",
            source: LAME,
        };
        draft
            .item
            .checks
            .push(self.check(&check, self.factor(), Some(&arm.torque)));
        draft.assume(format!("friction {mu}, oiled"));
        let room = super::room::Room {
            length: Some(arm.length),
            around: Some(arm.hub),
            round: arm.hold.hub.is_some(),
            material: arm.arm,
        };
        let hub = draft
            .item
            .at
            .split(" on ")
            .next()
            .unwrap_or("the arm")
            .to_owned();
        self.press_in(
            draft,
            &room,
            &super::presses::Pressing {
                press,
                fit,
                hub: &hub,
                push: "straight, both ends squarely supported",
                inner: "the shaft",
                inner_bears: Some(super::presses::bears(arm.on)),
                wall: None,
            },
        )
    }
}

/// A Woodruff key, inch or metric.
fn disc(key: Key) -> Result<Option<keys::Woodruff>, ElementError> {
    Ok(match key {
        Key::Parallel { .. } => None,
        Key::Woodruff(number) => Some(woodruff(number)?),
        Key::WoodruffMetric(row) => keys::woodruff_disc(row),
    })
}

/// The parallel key for a shaft.
fn parallel_of(key: Key, shaft: f64) -> Result<keys::Parallel, ElementError> {
    match key {
        Key::Parallel { inch: true } => square_inch(shaft),
        _ => parallel(shaft),
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
