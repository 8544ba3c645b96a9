//! Set screws and pinch screws of a hub.

use super::super::say;
use super::super::study::{Draft, Study};
use super::Arm;
use crate::answers::Severity;
use elements::threads::holding::{self, Clamp, Point, clamp, set_screw_of, set_screw_torque};
use elements::threads::preload::{
    find as class_of, preload, smallest_coarse, smallest_unc, torque as tightening,
};
use elements::threads::{COARSE, UNC, basic, inch_stress_area};
use elements::{Check, ElementError, Source, friction_couples};
use quantity::Thread;

/// Preload of a pinch screw over its proof load (Shigley eq. 8-31, joints that are taken apart).
const PRELOAD: f64 = 0.75;
/// A hub is at least this many screws long for a set screw to stand in it (common practice).
const LONG: f64 = 1.5;
/// Nobody pinches a hub with a thinner screw, mm (common practice).
const PINCHED: f64 = 3.0;
/// A pinch screw takes so many of its diameters of the hub's length: its head (ISO 4762), and its hole (ISO 273, medium), over its diameter.
const PINCH_ROOM: f64 = 1.5;
const PINCH_HOLE: f64 = 1.1;
/// Wanted of set screws under a load that varies (Shigley 7-7: 4 to 8; from memory).
const SHAKEN: f64 = 4.0;

const PINCH: Source = Source::of(
    "T = 2 µ F d of a hub that touches on two lines, friction low; F at 0.75 of the proof load",
);

/// Torque over preload and diameter of screws as bought (Shigley table 8-15: 0.30 dry, 0.20 as plated; the usual 0.20).
const AS_BOUGHT: f64 = 0.2;
const TIGHTEN: Source = Source::of("T = K F d, K 0.2 (Shigley eq. 8-27)");

impl Study<'_> {
    pub(super) fn set_screwed(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        thread: &Thread,
        count: u32,
        point: Point,
    ) -> Result<(), ElementError> {
        let torque = arm.torque.value;
        let screw = set_screw_of(thread.major, point)?;
        // A machine that works shakes them loose.
        let works = self.machine.work.per_minute.iter().any(Option::is_some);
        let wanted = if works {
            self.factor().max(SHAKEN)
        } else {
            self.factor()
        };
        if works {
            draft.assume(format!(
                "the machine works by the minute: {SHAKEN:.0} times are wanted of set screws under a load that varies (Shigley 7-7, from memory)"
            ));
        }
        let check = set_screw_torque(&screw, count, arm.shaft, torque)?;
        let checked = self.check(&check, wanted, Some(&arm.torque));
        draft.item.checks.push(checked);
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
        let wall = 0.5 * (arm.hub - arm.shaft);
        let best = sizes(thread.inch)
            .into_iter()
            .filter(|(d, _)| *d <= wall + 1e-9 && LONG * d <= arm.length + 1e-9)
            .find(|(d, _)| {
                set_screw_of(*d, point)
                    .and_then(|s| set_screw_torque(&s, count, arm.shaft, torque))
                    .is_ok_and(|c| c.passes(wanted))
            });
        let smaller = best.as_ref().is_some_and(|(d, _)| *d < thread.major - 0.01);
        let many = if count == 1 {
            String::from("a set screw")
        } else {
            format!("{count} set screws")
        };
        draft.would_do(
            best.map(|(_, name)| format!("{many} {name}")),
            "set screws that go into this hub (a key or a cross pin holds more)",
            smaller,
        );
        Ok(())
    }

    pub(super) fn pinched(
        &mut self,
        draft: &mut Draft,
        arm: &Arm<'_>,
        thread: &Thread,
        count: u32,
        class: &str,
    ) -> Result<(), ElementError> {
        let strengths = class_of(class, thread.major)?;
        let area = if thread.inch {
            inch_stress_area(thread.major, thread.pitch)?
        } else {
            basic(thread.major, thread.pitch)?.stress_area
        };
        let force = f64::from(count) * preload(area, strengths.proof, PRELOAD)?;
        let mu = friction_couples::find("steel on steel, greasy")?
            .least
            .max(0.1);
        let held = clamp(Clamp::TwoLines, force, 1.0, arm.shaft, mu)?;
        let check = Check {
            what: "torque on the pinched hub",
            acts: arm.torque.value,
            bears: held.torque,
            unit: "N·mm",
            source: PINCH,
        };
        self.holding(draft, arm, &check);
        self.pinch_fits(draft, arm, thread, count);
        draft.assume(format!(
            "friction {mu} in the bore, screws tightened to {PRELOAD} of their proof load"
        ));
        let each = force / f64::from(count);
        let tight = tightening(AS_BOUGHT, each, thread.major)?;
        let text = format!(
            "tighten each to {}: {} of pull (K {AS_BOUGHT}, dry as bought)",
            say::value(tight, "N·mm", self.machine),
            say::value(each, "N", self.machine)
        );
        draft
            .item
            .figures
            .push(self.figure("tightening torque", tight, "N·mm", TIGHTEN, text));
        // The screw's force goes with its stress area.
        let needed =
            force * self.factor() * arm.torque.value / held.torque / f64::from(count) / PRELOAD;
        let widest = arm.length / PINCH_ROOM / f64::from(count);
        let best: Option<(f64, String)> = if thread.inch {
            let row = smallest_unc(needed, class, 1.0).ok().flatten();
            row.and_then(|r| UNC[r..].iter().find(|(_, d, _)| 25.4 * d >= PINCHED))
                .map(|(name, d, _)| (25.4 * d, format!("{name} of {class}")))
        } else {
            let row = smallest_coarse(needed, class, 1.0).ok().flatten();
            row.map(|(d, _)| d.max(PINCHED))
                .map(|d| (d, format!("M{d} of class {class}")))
        };
        let best = best.filter(|(d, _)| *d <= widest + 1e-9);
        let smaller = best.as_ref().is_some_and(|(d, _)| *d < thread.major - 0.01);
        draft.would_do(
            best.map(|(_, name)| name),
            "pinch screws that go into a hub of this length (a longer hub takes larger ones or more)",
            smaller,
        );
        Ok(())
    }

    /// Whether pinch screws go into their hub: through its length side by side, and past the shaft.
    fn pinch_fits(&mut self, draft: &Draft, arm: &Arm<'_>, thread: &Thread, count: u32) {
        let size = |mm: f64| say::size((10.0 * mm).round() / 10.0, self.machine);
        let room = PINCH_ROOM * thread.major * f64::from(count);
        let wall = 0.5 * (arm.hub - arm.shaft);
        let (severity, why, try_this) = if arm.length < room - 1e-6 {
            let largest = arm.length / PINCH_ROOM / f64::from(count);
            let screw = sizes(thread.inch)
                .into_iter()
                .rfind(|(d, _)| *d <= largest + 1e-9 && *d >= PINCHED);
            let screw =
                screw.map_or_else(String::new, |(_, name)| format!(", or screws of {name}"));
            (
                Severity::Fault,
                format!(
                    "{} with a head of {} {} not go through a hub {} long",
                    if count == 1 {
                        "its screw"
                    } else {
                        "its screws"
                    },
                    size(PINCH_ROOM * thread.major),
                    if count == 1 { "does" } else { "do" },
                    size(arm.length)
                ),
                format!("a hub {} long{screw}", size(room.ceil())),
            )
        } else if wall < PINCH_HOLE * thread.major {
            (
                Severity::Caution,
                format!(
                    "the wall of the hub is {} and the hole for the screw {}: it goes past the shaft only in ears that stand out of the hub",
                    size(wall),
                    size(PINCH_HOLE * thread.major)
                ),
                String::from(
                    "make the end of the arm that long beyond the shaft, or take a smaller screw",
                ),
            )
        } else {
            return;
        };
        let sentence = format!("{}, {}: {why}", draft.item.what, draft.item.at);
        self.say(severity, draft, sentence, Some(try_this));
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
}

/// Coarse screws by diameter, mm, and name.
fn sizes(inch: bool) -> Vec<(f64, String)> {
    if inch {
        UNC.iter()
            .map(|(name, d, _)| (25.4 * d, (*name).to_owned()))
            .collect()
    } else {
        COARSE.iter().map(|(d, _)| (*d, format!("M{d}"))).collect()
    }
}
