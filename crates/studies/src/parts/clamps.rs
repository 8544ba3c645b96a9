//! Clamps that hold a setting: which screw presses hard enough, and with what torque.

use super::answers::Kind;
use super::pins::is_inch;
use super::say;
use super::study::{Draft, Study};
use elements::threads::preload::{
    find as class_of, preload, smallest_coarse, smallest_unc, torque as tightening,
};
use elements::threads::{UNC, basic, inch_stress_area};
use elements::{Check, ElementError, Source};

/// Preload over the proof load (Shigley eq. 8-31, joints that are taken apart).
const PRELOAD: f64 = 0.75;
/// Torque over preload and diameter of screws as bought (Shigley table 8-15, from memory).
const AS_BOUGHT: f64 = 0.2;
/// Friction where the file gives none, of greasy steel (common practice).
const GREASY: f64 = 0.1;
/// Nobody clamps with a thinner screw, mm (common practice).
const LEAST: f64 = 4.0;

const PRESS: Source =
    Source::of("F = T/(µ r), one face that rubs; screw at 0.75 of its proof load");
const TIGHTEN: Source = Source::of("T = K F d, K 0.2 (Shigley eq. 8-27)");

impl Study<'_> {
    pub(super) fn clamp(&mut self, index: usize) {
        let machine = self.machine;
        let (Some(clamp), Some(peak)) = (
            machine.work.clamps.get(index),
            self.service.clamps.get(index).cloned(),
        ) else {
            return;
        };
        let drive = machine
            .drives
            .get(clamp.drive)
            .map_or("", |d| d.name.as_str());
        let what = match &clamp.screw {
            Some((thread, class)) => format!("clamp screw {} {class}", thread.name),
            None => String::from("clamp screw to be chosen"),
        };
        let mut draft = Draft::new(
            Kind::Hold,
            what,
            format!("clamp {}, holds {drive}", clamp.name),
            format!("clamp.{}", clamp.name),
            clamp.place,
        );
        let usual = machine.work.usual.friction.map(|f| f.low);
        let mu = usual.filter(|mu| *mu > 0.0).unwrap_or(GREASY);
        draft.assume(match usual {
            Some(_) => format!("friction {mu}, the least of [usual], on one face"),
            None => format!("friction {mu} on one face, greasy (common practice)"),
        });
        let push = peak.value / (mu * clamp.radius);
        if let Err(error) = self.clamped(&mut draft, clamp, push, &peak) {
            self.impossible(&draft, &error);
        }
        let screw = match (&clamp.screw, &draft.item.would_do) {
            (Some((thread, class)), _) => Some(format!("screw {} {class}", thread.name)),
            (None, Some(would)) => would.what.clone(),
            (None, None) => None,
        };
        if let Some(screw) = screw {
            self.buy(
                1,
                screw.trim_start_matches("a "),
                &format!("clamp {}", clamp.name),
            );
        }
        self.done(draft);
    }

    fn clamped(
        &mut self,
        draft: &mut Draft,
        clamp: &machine::work::Clamp,
        push: f64,
        peak: &crate::load::service::Peak,
    ) -> Result<(), ElementError> {
        let factor = self.factor();
        let text = format!(
            "has to press with {} at a radius of {}",
            say::value(push, "N", self.machine),
            say::size(clamp.radius, self.machine)
        );
        draft
            .item
            .figures
            .push(self.figure("force of the clamp screw", push, "N", PRESS, text));
        let (inch, class) = match &clamp.screw {
            Some((thread, class)) => (thread.inch, class.as_str()),
            None if is_inch(self.machine) => (true, "grade 5"),
            None => (false, "8.8"),
        };
        if let Some((thread, class)) = &clamp.screw {
            let area = if thread.inch {
                inch_stress_area(thread.major, thread.pitch)?
            } else {
                basic(thread.major, thread.pitch)?.stress_area
            };
            let bears = preload(area, class_of(class, thread.major)?.proof, PRELOAD)?;
            let check = Check {
                what: "force of the clamp screw",
                acts: push,
                bears,
                unit: "N",
                source: PRESS,
            };
            let checked = self.check(&check, factor, Some(peak));
            draft.item.checks.push(checked);
            self.tighten(draft, bears.min(factor * push), thread.major)?;
        }
        // With its factor, so that the file with it passes.
        let needed = factor * push;
        let best: Option<(f64, String)> = if inch {
            let row = smallest_unc(needed, class, 1.0 / PRELOAD)?;
            row.and_then(|r| UNC[r..].iter().find(|(_, d, _)| 25.4 * d >= LEAST))
                .map(|(name, d, _)| (25.4 * d, (*name).to_owned()))
        } else {
            smallest_coarse(needed, class, 1.0 / PRELOAD)?
                .map(|(d, _)| d.max(LEAST))
                .map(|d| (d, format!("M{d}")))
        };
        let own = clamp.screw.as_ref().map(|(t, _)| t.major);
        if let (None, Some((d, _))) = (own, &best) {
            self.tighten(draft, needed, *d)?;
        }
        let smaller = best
            .as_ref()
            .zip(own)
            .is_some_and(|((d, _), own)| *d < own - 0.01);
        draft.would_do(
            best.map(|(_, name)| format!("a screw {name} {class}")),
            "screws of this class up to an inch (two screws, or a larger radius, hold more)",
            smaller,
        );
        Ok(())
    }

    fn tighten(&self, draft: &mut Draft, force: f64, major: f64) -> Result<(), ElementError> {
        if force <= 0.0 {
            return Ok(());
        }
        let tight = tightening(AS_BOUGHT, force, major)?;
        let text = format!(
            "tighten it to {}: {} of push (K {AS_BOUGHT}, dry as bought)",
            say::value(tight, "N·mm", self.machine),
            say::value(force, "N", self.machine)
        );
        draft
            .item
            .figures
            .push(self.figure("tightening torque", tight, "N·mm", TIGHTEN, text));
        Ok(())
    }
}
