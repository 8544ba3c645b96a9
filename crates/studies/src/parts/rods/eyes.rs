//! Eyes of rods of flat or square bar: the metal about the pins at both ends, and the smallest flat that does it.

use super::super::levers::{Asked, section_check};
use super::super::say;
use super::super::study::{Draft, Study};
use super::super::tires::Tires;
use super::{EyeLoad, Worked, area};
use crate::answers::Severity;
use crate::load::service::JointService;
use elements::pins_lugs::Lug;
use elements::stock::{PLATE_INCH, PLATE_METRIC, inches};
use elements::{Check, ElementError};
use machine::model::{PointId, Rod};
use machine::work::Section;

/// Width of a flat over the pin through it, at least (common practice: half a hole of metal on either side).
const BESIDE: f64 = 2.0;

/// An eye, and the pin through it where that is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Eye {
    point: PointId,
    pin: Option<f64>,
}

fn lug(section: Section, hole: f64) -> Lug {
    let [thickness, width] = super::super::room::sides(section);
    Lug {
        thickness,
        hole,
        pin: hole,
        edge: 0.5 * width,
        width,
    }
}

/// Pressure under pull or push; net section and tear-out under a pull.
fn bears(
    section: Section,
    hole: f64,
    load: EyeLoad,
    yields: f64,
) -> Result<[Check; 3], ElementError> {
    let lug = lug(section, hole);
    let [pressure, ..] = lug.checks(load.most, yields)?;
    let [_, net, tear] = lug.checks(load.pull, yields)?;
    Ok([pressure, net, tear])
}

fn tires_beside(
    section: Section,
    hole: f64,
    tires: &Tires,
    again: &JointService,
) -> Result<Check, ElementError> {
    // The sides of the hole feel the pull alone: it comes and goes.
    let asked = Asked::Tires(tires.alternating(0.5));
    let about = super::super::levers::of(section);
    section_check(section, about, hole, [0.0, again.pull.value], &asked)
}

impl Study<'_> {
    /// The eyes of a rod that goes onto its pins with its own bar.
    pub(super) fn eyes(&self, index: usize, rod: &Rod) -> Option<[Eye; 2]> {
        let made = self.machine.work.rods.get(index)?;
        let flat = matches!(
            made.stock.as_ref()?.section,
            Section::Flat(_) | Section::Square(_)
        );
        (flat && rod.thread.is_none() && made.ends.is_none()).then(|| {
            rod.joins.map(|point| Eye {
                point,
                pin: super::super::room::pin_diameter(self.machine, point),
            })
        })
    }

    /// Eyes of one size are told of once.
    fn each(&self, eyes: &[Eye; 2]) -> Vec<(f64, String)> {
        let [a, b] = eyes.map(|e| (e.pin, self.point(e.point)));
        match (a, b) {
            ((Some(p), at), (Some(q), other)) if (p - q).abs() < 0.01 => {
                vec![(p, format!("{at} and {other}"))]
            }
            _ => [a, b]
                .into_iter()
                .filter_map(|(pin, at)| Some((pin?, at.to_owned())))
                .collect(),
        }
    }

    pub(super) fn eyes_bear(
        &mut self,
        draft: &mut Draft,
        eyes: &[Eye; 2],
        section: Section,
        (load, yields): (EyeLoad, f64),
        service: &JointService,
    ) -> Result<(), ElementError> {
        let size = |mm: f64| say::size(mm, self.machine);
        for eye in eyes.iter().filter(|e| e.pin.is_none()) {
            draft.assume(format!(
                "how thick the pin at {} is is not told: the metal about it is not checked",
                self.point(eye.point)
            ));
            draft.unoffered("how large its eyes are is not known");
        }
        let [_, width] = super::super::room::sides(section);
        let mut faults = Vec::new();
        for (pin, at) in self.each(eyes) {
            if pin >= width - 0.01 {
                let wide = size(BESIDE * pin);
                faults.push((
                    format!(
                        "{}, {}: the bar is {} wide and the pin at {at} {}: nothing is left beside it",
                        draft.item.what,
                        draft.item.at,
                        size(width),
                        size(pin)
                    ),
                    format!("a bar {wide} wide, a thinner pin, or rod ends"),
                ));
                continue;
            }
            for check in &bears(section, pin, load, yields)? {
                let mut checked = self.check(check, self.factor(), Some(&service.most));
                checked.what = format!("{} at {at}", check.what.replace("lug", "eye"));
                draft.item.checks.push(checked);
            }
            if width < BESIDE * pin - 0.01 {
                draft.assume(format!(
                    "{} of metal on either side of the pin at {at}: half of the pin is usual (common practice)",
                    size(0.5 * (width - pin))
                ));
            }
        }
        draft.assume(
            "its ends are rounded about their pins: as much metal before a pin as beside it",
        );
        for (sentence, try_this) in faults {
            self.say(Severity::Fault, draft, sentence, Some(try_this));
        }
        Ok(())
    }

    pub(super) fn eyes_tire(
        &self,
        draft: &mut Draft,
        eyes: &[Eye; 2],
        section: Section,
        tires: &Tires,
        again: &JointService,
    ) -> Result<(), ElementError> {
        let [_, width] = super::super::room::sides(section);
        for (pin, at) in self.each(eyes) {
            if pin < width - 0.01 && again.pull.value > 0.0 {
                let check = tires_beside(section, pin, tires, again)?;
                let mut checked = self.check(&check, self.factor(), Some(&again.pull));
                checked.what = format!("fatigue beside the pin at {at}");
                draft.item.checks.push(checked);
            }
        }
        Ok(())
    }

    /// The smallest flat whose bar does what `stands` asks, and whose eyes bear.
    pub(super) fn flat_with_eyes(
        &self,
        draft: &mut Draft,
        eyes: &[Eye; 2],
        now: Section,
        (load, yields): (EyeLoad, f64),
        worked: &Worked,
        stands: impl Fn(Section) -> bool,
    ) {
        let factor = self.factor();
        let passes = |section: &Section| {
            let [_, width] = super::super::room::sides(*section);
            let bar = load.most * factor <= yields * area(*section);
            bar && stands(*section)
                && self.each(eyes).iter().all(|(pin, _)| {
                    width >= BESIDE * pin - 1e-6
                        && bears(*section, *pin, load, yields)
                            .is_ok_and(|all| all.iter().all(|c| c.passes(factor)))
                        && worked.tires.as_ref().is_none_or(|tires| {
                            tires_beside(*section, *pin, tires, &worked.again)
                                .is_ok_and(|c| c.passes(factor))
                        })
                })
        };
        let [own, _] = super::super::room::sides(now);
        let plates = if super::super::pins::is_inch(self.machine) {
            inches(&PLATE_INCH)
        } else {
            PLATE_METRIC.to_vec()
        };
        let thicker = plates.into_iter().filter(|t| *t > own + 0.01);
        let widths = self.widths();
        let best = std::iter::once(own)
            .chain(thicker)
            .flat_map(|t| widths.iter().map(move |w| Section::Flat([t, *w])))
            .filter(|s| matches!(s, Section::Flat([t, w]) if t <= w))
            .find(passes);
        draft.would_do(
            best.map(|b| self.bar_words(b, now)),
            "flat bar of this material",
            best.is_some_and(|b| area(b) < area(now) - 0.01),
        );
    }
}
