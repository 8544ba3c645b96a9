//! Sizes of a wheel, how it is measured, what cuts it, what is left under its teeth.

use super::{Teeth, Wheel, named, plain, round};
use crate::answers::Severity;
use crate::parts::say;
use crate::parts::study::{Draft, Study};
use elements::gears::{CUTTERS_SOURCE, MODULES, PITCHES, SOURCE, form_cutter, is_common};
use std::f64::consts::PI;

/// Metal between bore and root over the module (common practice).
const WALL: f64 = 1.5;
/// The usual pressure angle, rad.
const USUAL: f64 = 20.0 * PI / 180.0;

impl Study<'_> {
    /// A pinion so small that its bore leaves nothing, or little, under its teeth.
    fn hollowed(&mut self, draft: &Draft, wheel: &Wheel<'_>, root: f64) {
        let Some(bore) = wheel.bore else { return };
        let wall = 0.5 * (root - bore);
        let (what, at) = (&draft.item.what, &draft.item.at);
        let size = |mm: f64| say::size(round(mm), self.machine);
        let teeth = ((bore + 2.0 * WALL * wheel.spur.module) / wheel.spur.module + 2.5).ceil();
        let try_this = format!(
            "{teeth:.0} teeth of this module or more, a thinner shaft, or teeth cut on the shaft itself"
        );
        if wall <= 0.0 {
            let sentence = format!(
                "{what}, {at}: the root of the {} is {} and its bore {}: nothing is left under the teeth",
                wheel.word,
                size(root),
                size(bore)
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
        } else if wall < WALL * wheel.spur.module {
            let sentence = format!(
                "{what}, {at}: only {} are left between bore and root of the {}, where {} are usual (common practice)",
                size(wall),
                wheel.word,
                size(WALL * wheel.spur.module)
            );
            self.say(Severity::Caution, draft, sentence, Some(try_this));
        }
    }

    /// Sizes of a wheel, how it is measured and what cuts it.
    pub(super) fn cut(&mut self, draft: &mut Draft, wheel: &Wheel<'_>, teeth: &Teeth, ring: bool) {
        let machine = self.machine;
        let Ok(g) = wheel.spur.geometry() else { return };
        let size = |mm: f64| say::size(round(mm), machine);
        let (tip, root, name) = if ring {
            let (m, s) = (&wheel.spur.module, &wheel.spur);
            (
                g.pitch - 2.0 * m * (s.addendum - s.shift),
                g.pitch + 2.0 * m * (s.dedendum + s.shift),
                "inside",
            )
        } else {
            (g.outside, g.root, "outside")
        };
        let face = wheel
            .face
            .map_or_else(String::new, |f| format!(", {} wide", size(f)));
        self.buy(
            1,
            &format!(
                "{} of {} teeth, {}{face}",
                if ring { "ring gear" } else { "gear" },
                wheel.spur.teeth,
                named(teeth.module, teeth)
            ),
            self.part(wheel.part),
        );
        let text = format!(
            "{}, {} teeth: {name} {}, pitch circle {}, cut {} deep to a root of {}",
            wheel.word,
            wheel.spur.teeth,
            size(tip),
            size(g.pitch),
            size(0.5 * (tip - root).abs()),
            size(root)
        );
        draft
            .item
            .figures
            .push(self.figure("diameter over the tips", tip, "mm", SOURCE, text));
        if ring {
            draft.assume(
                "internal teeth are slotted, shaped or broached: a disc cutter does not get in",
            );
            return;
        }
        self.hollowed(draft, wheel, root);
        // As many teeth as bring the jaws onto the flanks near the pitch circle.
        let over = (f64::from(wheel.spur.teeth) * wheel.spur.pressure_angle / PI + 0.5)
            .round()
            .max(2.0) as u32;
        if let Ok(span) = wheel.spur.span(over) {
            let thin = 0.5 * teeth.backlash * wheel.spur.pressure_angle.cos();
            let text = format!(
                "{}: {} over {over} teeth",
                wheel.word,
                say::close(span - thin, machine)
            );
            draft.item.figures.push(self.figure(
                "span over teeth",
                span - thin,
                "mm",
                SOURCE,
                text,
            ));
        }
        self.cutter(draft, wheel, teeth);
    }

    pub(super) fn cutter(&mut self, draft: &mut Draft, wheel: &Wheel<'_>, teeth: &Teeth) {
        match form_cutter(wheel.spur.teeth) {
            Ok(cutter) => {
                let marked = match cutter.to {
                    Some(to) => format!("{} to {to} teeth", cutter.from),
                    None => format!("{} teeth to a rack", cutter.from),
                };
                let number = if teeth.by_pitch {
                    format!("No. {}", cutter.number)
                } else {
                    format!("No. {} of a module set", cutter.module_number)
                };
                let text = format!("{}: form cutter for {marked} ({number})", wheel.word);
                draft.item.figures.push(self.figure(
                    "form cutter",
                    f64::from(cutter.number),
                    "",
                    CUTTERS_SOURCE,
                    text,
                ));
            }
            Err(_) => {
                let sentence = format!(
                    "{}, {}: {} teeth on the {}: sets of form cutters begin at 12",
                    draft.item.what, draft.item.at, wheel.spur.teeth, wheel.word
                );
                self.say(
                    Severity::Caution,
                    draft,
                    sentence,
                    Some(String::from(
                        "12 teeth or more; or have it hobbed with a profile shift",
                    )),
                );
            }
        }
        let other_angle = (teeth.pressure_angle - USUAL).abs() > 0.01
            && (teeth.pressure_angle.to_degrees() - 14.5).abs() > 0.1;
        if wheel.word == "pinion" && (!is_common(teeth.module) || other_angle) {
            let list: &[f64] = if teeth.by_pitch { &PITCHES } else { &MODULES };
            let own = if teeth.by_pitch {
                25.4 / teeth.module
            } else {
                teeth.module
            };
            let near = list
                .iter()
                .copied()
                .min_by(|a, b| (a / own).ln().abs().total_cmp(&(b / own).ln().abs()));
            let sentence = format!(
                "{}, {}: cutters of {}{} are not common",
                draft.item.what,
                draft.item.at,
                named(teeth.module, teeth),
                if other_angle {
                    format!(" and {:.1} deg", teeth.pressure_angle.to_degrees())
                } else {
                    String::new()
                }
            );
            let try_this = match near {
                Some(near) if !is_common(teeth.module) => format!(
                    "{} {} is",
                    if teeth.by_pitch {
                        "diametral pitch"
                    } else {
                        "module"
                    },
                    plain(near)
                ),
                _ => String::from("20 deg is usual"),
            };
            self.say(Severity::Caution, draft, sentence, Some(try_this));
        }
    }
}
