//! Do the teeth go together: centres, backlash, contact ratio, teeth too few.

use super::{Teeth, Wheel, plain};
use crate::answers::Severity;
use crate::parts::say;
use crate::parts::study::{Draft, Study};
use elements::gears::{
    FEWEST_APART, Pair, SOURCE, fewest_teeth, internal_pair, pair, usual_backlash,
};
use elements::{Check, ElementError, Source};

/// Least contact ratio to run by (common practice, Shigley 13-10).
const CONTACT: f64 = 1.2;
/// Backlash beyond this share of the module is none any more: the teeth hardly mesh.
const LOOSE: f64 = 0.3;
/// Backlash below this share of the usual least is worth a warning.
const NEAR: f64 = 0.5;
/// A tip narrower than this share of the module chips (common practice).
const TIP: f64 = 0.25;
/// Radial movement for backlash, over both flanks of a tooth.
const BOTH: f64 = 2.0;

const BACKLASH: Source = Source::of(
    "j = 2 a (inv α at work − inv α tight); 0.03 to 0.05 modules are usual (common practice)",
);

impl Study<'_> {
    pub(super) fn contact(&self, draft: &mut Draft, ratio: f64) {
        let check = Check {
            what: "contact ratio that runs evenly",
            acts: CONTACT,
            bears: ratio.max(0.0),
            unit: "",
            source: SOURCE,
        };
        draft.item.checks.push(self.check(&check, 1.0, None));
    }

    /// Centres, backlash, contact ratio, interference.
    pub(super) fn meshes(
        &mut self,
        draft: &mut Draft,
        wheels: &[Wheel<'_>; 2],
        teeth: &Teeth,
        apart: Option<f64>,
        inside: bool,
    ) -> Result<(), ElementError> {
        let machine = self.machine;
        let [first, second] = wheels;
        let (small, large) = if first.spur.teeth <= second.spur.teeth {
            (first, second)
        } else {
            (second, first)
        };
        let meshed = |centres: Option<f64>| -> Result<Pair, ElementError> {
            if inside {
                internal_pair(&small.spur, &large.spur, centres)
            } else {
                pair(&small.spur, &large.spur, centres)
            }
        };
        if inside && self.short_ring(draft, large) {
            return Ok(());
        }
        let tight = meshed(None)?;
        let wide = |mm: f64| say::close(mm, machine);
        let at = apart.unwrap_or(tight.centres);
        let off = at - tight.centres;
        // As far as the teeth reach into each other, more or less.
        if off.abs() > teeth.module {
            let sentence = format!(
                "{}, {}: the centres are drawn {} apart and these teeth mesh at {}",
                draft.item.what,
                draft.item.at,
                wide(at),
                wide(tight.centres)
            );
            let module = teeth.module * at / tight.centres;
            let try_this = format!(
                "move a centre, or write `{}`",
                if teeth.by_pitch {
                    format!("diametral-pitch = {}", plain(25.4 / module))
                } else {
                    format!(
                        "module = \"{}\"",
                        say::size((1000.0 * module).round() / 1000.0, machine)
                    )
                }
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            return Ok(());
        }
        let found = meshed(Some(at))?;
        let play = found.backlash + teeth.backlash;
        self.contact(draft, found.contact_ratio);
        self.backlash(draft, teeth, &found, play, inside);
        self.undercut(
            draft,
            small,
            (!inside).then(|| f64::from(large.spur.teeth) / f64::from(small.spur.teeth)),
        );
        if inside && large.spur.teeth < small.spur.teeth + FEWEST_APART {
            let sentence = format!(
                "{}, {}: the ring has only {} teeth more than its pinion: tips foul on the way in and out below {FEWEST_APART} (common practice)",
                draft.item.what,
                draft.item.at,
                large.spur.teeth - small.spur.teeth
            );
            let try_this = format!(
                "{} teeth on the ring, or fewer on the pinion",
                small.spur.teeth + FEWEST_APART
            );
            self.say(Severity::Caution, draft, sentence, Some(try_this));
        }
        Ok(())
    }

    /// A ring so small that its teeth would reach inside their base circle, where there is no involute.
    fn short_ring(&mut self, draft: &Draft, ring: &Wheel<'_>) -> bool {
        let spur = &ring.spur;
        let Ok(g) = spur.geometry() else { return false };
        let tip = 0.5 * g.pitch - spur.module * (spur.addendum - spur.shift);
        if tip > 0.5 * g.base {
            return false;
        }
        let fewest = (2.0 * spur.addendum / (1.0 - spur.pressure_angle.cos())).ceil();
        let sentence = format!(
            "{}, {}: a ring of {} teeth of full height has no flank left at its tips",
            draft.item.what, draft.item.at, spur.teeth
        );
        let try_this = format!(
            "{fewest:.0} teeth or more on the ring at {:.4} degrees, its pinion {FEWEST_APART} fewer; a smaller ring wants shorter teeth",
            spur.pressure_angle.to_degrees()
        )
        .replace(".0000", "")
        .replace(".5000", ".5");
        self.say(Severity::Fault, draft, sentence, Some(try_this));
        true
    }

    fn backlash(
        &mut self,
        draft: &mut Draft,
        teeth: &Teeth,
        found: &Pair,
        play: f64,
        inside: bool,
    ) {
        let machine = self.machine;
        let tan = found.pressure_angle.tan();
        let holes = machine.work.usual.hole_places.unwrap_or(0.0);
        // Both holes, each as far off as it may be along the line of centres.
        let swing = BOTH * (BOTH * holes) * tan;
        let (low, high) = (play - swing, play + swing);
        let (least, most) = usual_backlash(teeth.module);
        let wide = |mm: f64| say::close(mm + 0.0, machine);
        let range = if swing > 0.0 {
            format!(
                ", {} to {} with the centre holes within {}",
                wide(low),
                wide(high),
                wide(holes)
            )
        } else {
            String::new()
        };
        let text = format!(
            "backlash along the pitch circle at the centres as drawn, {}: {}{range}; {} to {} are usual",
            wide(found.centres),
            wide(play),
            wide(least),
            wide(most)
        );
        let mut figure = self.figure("backlash", low, "mm", BACKLASH, text);
        figure.to = Some(high);
        draft.item.figures.push(figure);
        let farther = if inside { "nearer" } else { "further apart" };
        let wanted = most + swing - play;
        let remedy = format!(
            "set the centres {} {farther}, or cut the teeth thinner: `backlash = \"{}\"`",
            wide(wanted / (BOTH * tan)),
            wide(teeth.backlash + wanted)
        );
        let (what, at) = (&draft.item.what, &draft.item.at);
        if play < -1e-6 {
            let sentence = format!(
                "{what}, {at}: the teeth jam by {} at the centres as drawn",
                wide(-play)
            );
            self.say(Severity::Fault, draft, sentence, Some(remedy));
        } else if low < 1e-9 {
            let sentence = if swing > 0.0 && play > 1e-6 {
                format!(
                    "{what}, {at}: with {} of backlash and the centre holes within {} the teeth may bind",
                    wide(play),
                    wide(holes)
                )
            } else {
                format!(
                    "{what}, {at}: at the centres as drawn there is no backlash, and the teeth bind"
                )
            };
            self.say(Severity::Caution, draft, sentence, Some(remedy));
        } else if play < NEAR * least {
            let sentence = format!(
                "{what}, {at}: {} of backlash, where {} to {} are usual: warm, or a little out of round, the teeth bind",
                wide(play),
                wide(least),
                wide(most)
            );
            self.say(Severity::Caution, draft, sentence, Some(remedy));
        } else if play > LOOSE * teeth.module {
            let sentence = format!(
                "{what}, {at}: {} of backlash, {:.1} times the module: the teeth hardly mesh",
                wide(play),
                play / teeth.module
            );
            let nearer = if inside { "further apart" } else { "nearer" };
            let try_this = format!(
                "bring the centres {} {nearer}",
                wide((play - most) / (BOTH * tan))
            );
            self.say(Severity::Miss, draft, sentence, Some(try_this));
        }
    }

    /// Teeth too few to be cut or to run without digging in. Without a ratio it runs with a rack or a ring.
    pub(super) fn undercut(&mut self, draft: &Draft, pinion: &Wheel<'_>, ratio: Option<f64>) {
        let spur = &pinion.spur;
        let Ok(geometry) = spur.geometry() else {
            return;
        };
        let Ok(fewest) = fewest_teeth(spur.pressure_angle, spur.addendum, ratio.unwrap_or(1.0))
        else {
            return;
        };
        let needed = if ratio.is_some() {
            fewest.with_ratio
        } else {
            fewest.with_rack
        };
        let (what, at) = (&draft.item.what, &draft.item.at);
        let z = f64::from(spur.teeth);
        if spur.shift == 0.0 && z < needed {
            let shift = ((spur.addendum - z * spur.pressure_angle.sin().powi(2) / 2.0) * 100.0)
                .ceil()
                / 100.0;
            let sentence = format!(
                "{what}, {at}: its pinion has {} teeth, and fewer than {:.0} dig in at the root of standard form",
                spur.teeth,
                needed.ceil()
            );
            let keeps = if ratio.is_some() {
                format!("`shift = [{shift}, -{shift}]` with the pinion first keeps the centres")
            } else {
                format!(
                    "`shift = {shift}` moves the rack out by {}",
                    say::size(shift * spur.module, self.machine)
                )
            };
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(format!(
                    "{:.0} teeth, or shift the profile: {keeps}",
                    needed.ceil()
                )),
            );
        } else if geometry.undercut {
            let sentence = format!(
                "{what}, {at}: a hob undercuts {} teeth (below {:.0}); form cutters do not, and they run",
                spur.teeth,
                fewest.with_rack.ceil()
            );
            self.say(Severity::Note, draft, sentence, None);
        }
        if geometry.tip_thickness < TIP * spur.module {
            let sentence = format!(
                "{what}, {at}: the tips of the pinion are {} wide, below a quarter of the module they chip (common practice)",
                say::close(geometry.tip_thickness.max(0.0), self.machine)
            );
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(String::from("less profile shift, or more teeth")),
            );
        }
    }
}
