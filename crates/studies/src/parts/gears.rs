//! Spur gears and racks: do the teeth go together, what bears them, what cuts them.

use super::answers::Kind;
use super::room::{sides, stock};
use super::say;
use super::study::{Draft, Study};
use crate::answers::Severity;
use crate::assemble::Joint;
use crate::load::service::Peak;
use elements::gears::{
    CUTTERS_SOURCE, FEWEST_APART, MODULES, PITCHES, Pair, SOURCE, Spur, bending, fewest_teeth,
    form_cutter, internal_pair, is_common, pair, rack_contact_ratio, usual_backlash,
};
use elements::{Check, ElementError, Source};
use machine::fitting::Teeth;
use machine::model::{PartId, PointId, RatioKind};
use machine::work::Material;
use std::f64::consts::PI;

/// Least contact ratio to run by (common practice, Shigley 13-10).
const CONTACT: f64 = 1.2;
/// Share of the tensile strength that Lewis lets a tooth bear under steady work (common practice).
const LEWIS: f64 = 3.0;
/// Backlash beyond this share of the module is none any more: the teeth hardly mesh.
const LOOSE: f64 = 0.3;
/// A tip narrower than this share of the module chips (common practice).
const TIP: f64 = 0.25;
/// Teeth of a rack, for tables that go by teeth.
const RACK: u32 = 1_000_000;
/// Radial movement for backlash, over both flanks of a tooth.
const BOTH: f64 = 2.0;
/// Lewis's table is that of this pressure angle, rad.
const TABLE: f64 = 20.0 * PI / 180.0;

const BACKLASH: Source = Source::of(
    "j = 2 a (inv α at work − inv α tight); 0.03 to 0.05 modules are usual (common practice)",
);

/// One of two that mesh.
struct Wheel<'s> {
    /// Its part.
    part: PartId,
    /// "pinion", "wheel", "rack".
    word: &'static str,
    spur: Spur,
    /// Width of its teeth.
    face: Option<f64>,
    material: Option<&'s Material>,
}

/// What the teeth bear, and at what speed.
struct Work {
    force: Peak,
    /// Pitch line speed, m/s; none when nothing tells it.
    speed: Option<f64>,
}

fn spur(teeth: &Teeth, count: u32, shift: f64) -> Spur {
    Spur {
        pressure_angle: teeth.pressure_angle,
        shift,
        ..Spur::standard(teeth.module, count)
    }
}

impl<'s> Study<'s> {
    pub(super) fn gear(&mut self, index: usize) {
        let machine = self.machine;
        let Some(ratio) = machine.ratios.get(index) else {
            return;
        };
        let Some(teeth) = &ratio.teeth else { return };
        let inside = ratio.kind == RatioKind::InternalGear;
        let counts = ratio.sizes.map(|z| z as u32);
        let what = format!(
            "{} {} to {} teeth, {}",
            if inside { "ring gear" } else { "gear pair" },
            counts[0],
            counts[1],
            named(teeth.module, teeth)
        );
        let mut draft = Draft::new(
            Kind::Gear,
            what,
            ratio.name.clone(),
            format!("gear.{}", ratio.name),
            ratio.place,
        );
        let small = usize::from(ratio.sizes[1] < ratio.sizes[0]);
        let wheels: [Wheel<'s>; 2] = [0, 1].map(|i| {
            let word = match (inside, i == small) {
                (_, true) => "pinion",
                (true, false) => "ring",
                (false, false) => "wheel",
            };
            let part = ratio.joins[i];
            Wheel {
                part,
                word,
                spur: spur(teeth, counts[i], teeth.shift[i]),
                face: teeth
                    .face
                    .or(stock(machine, part).map(|s| sides(s.section)[0])),
                material: self.material_of(part).or(self.steel()),
            }
        });
        let centres = ratio
            .joins
            .map(|part| self.centre(part, ratio.carrier))
            .map(|p| p.and_then(|p| machine.points.get(p)));
        let apart = match centres {
            [Some(a), Some(b)] if a.plane == b.plane => Some((a.x - b.x).hypot(a.y - b.y)),
            _ => None,
        };
        if let Err(error) = self.meshes(&mut draft, &wheels, teeth, apart, inside) {
            self.impossible(&draft, &error);
            self.done(draft);
            return;
        }
        for wheel in &wheels {
            self.cut(&mut draft, wheel, teeth, inside && wheel.word == "ring");
        }
        let standard = 0.5
            * teeth.module
            * if inside {
                (ratio.sizes[0] - ratio.sizes[1]).abs()
            } else {
                ratio.sizes[0] + ratio.sizes[1]
            };
        // The force in the file's joint is the moment on the larger of the two.
        let large = ratio.sizes[0].max(ratio.sizes[1]);
        let radius = 0.5 * teeth.module * large * apart.unwrap_or(standard) / standard;
        let mut force = self.row_force(Joint::Ratio(index));
        force.value /= radius;
        let work = Work {
            force,
            speed: self.pitch_speed(
                ratio.joins[small],
                ratio.carrier,
                teeth.module * ratio.sizes[small],
            ),
        };
        let counts = ratio.sizes[0]
            + if inside {
                -ratio.sizes[1]
            } else {
                ratio.sizes[1]
            };
        self.teeth_bear(&mut draft, &wheels, teeth, &work, |module| {
            let centres = 0.5 * module * counts.abs();
            format!(
                "{} at centres of {}",
                named(module, teeth),
                say::size(centres, machine)
            )
        });
        self.done(draft);
    }

    pub(super) fn rack(&mut self, index: usize) {
        let machine = self.machine;
        let Some(rack) = machine.racks.get(index) else {
            return;
        };
        let Some((count, teeth)) = &rack.teeth else {
            return;
        };
        let Some(part) = machine.slides.get(rack.slide).map(|s| s.part) else {
            return;
        };
        let mut draft = Draft::new(
            Kind::Gear,
            format!(
                "rack and pinion of {count} teeth, {}",
                named(teeth.module, teeth)
            ),
            rack.name.clone(),
            format!("rack.{}", rack.name),
            rack.place,
        );
        let face = |part| {
            teeth
                .face
                .or(stock(machine, part).map(|s| sides(s.section)[0]))
        };
        let material = |part| self.material_of(part).or(self.steel());
        let pinion = Wheel {
            part: rack.gear,
            word: "pinion",
            spur: spur(teeth, *count, teeth.shift[0]),
            face: face(rack.gear),
            material: material(rack.gear),
        };
        let bar = Wheel {
            part,
            word: "rack",
            spur: spur(teeth, RACK, 0.0),
            face: face(part),
            material: material(part),
        };
        match rack_contact_ratio(&pinion.spur) {
            Ok(ratio) => self.contact(&mut draft, ratio),
            Err(error) => {
                self.impossible(&draft, &error);
                self.done(draft);
                return;
            }
        }
        let text = format!(
            "rack: teeth {} apart, {} high above the pitch line and {} deep below it; a turn of the pinion moves it {}",
            say::close(PI * teeth.module, machine),
            say::size(teeth.module, machine),
            say::size(1.25 * teeth.module, machine),
            say::size(round(PI * teeth.module * f64::from(*count)), machine)
        );
        let pitch = PI * teeth.module;
        draft
            .item
            .figures
            .push(self.figure("pitch of the rack", pitch, "mm", SOURCE, text));
        self.undercut(&draft, &pinion, None);
        self.cut(&mut draft, &pinion, teeth, false);
        self.cutter(&mut draft, &bar, teeth);
        let carrier = machine.slides.get(rack.slide).map_or(0, |s| s.on);
        let work = Work {
            force: self.row_force(Joint::Rack(index)),
            speed: self.pitch_speed(rack.gear, carrier, teeth.module * f64::from(*count)),
        };
        self.teeth_bear(&mut draft, &[pinion, bar], teeth, &work, |module| {
            format!(
                "{} on a pitch radius of {}",
                named(module, teeth),
                say::size(0.5 * module * f64::from(*count), machine)
            )
        });
        self.done(draft);
    }

    /// The point about which a part, or the shaft it sits on, turns in its carrier.
    pub(super) fn centre(&self, part: PartId, carrier: PartId) -> Option<PointId> {
        let parts = &self.machine.parts;
        let holder = parts.get(carrier)?;
        let mut here = part;
        for _ in 0..parts.len() {
            let own = parts.get(here)?;
            if let Some(point) = own.carries.iter().find(|p| holder.carries.contains(p)) {
                return Some(*point);
            }
            here = own.clamped_to?;
        }
        None
    }

    /// The worst of a mesh or a rack.
    fn row_force(&self, joint: Joint) -> Peak {
        let constraint = self.rig.model.joints.iter().position(|j| *j == joint);
        constraint
            .and_then(|c| self.rig.reported(c))
            .and_then(|j| self.service.joints.get(j))
            .map(|s| s.most.clone())
            .unwrap_or_default()
    }

    /// Greatest pitch line speed of a wheel of this pitch circle, mm, in m/s.
    fn pitch_speed(&self, part: PartId, carrier: PartId, circle: f64) -> Option<f64> {
        let point = self.centre(part, carrier)?;
        let joints = self.joints_at(point, None);
        let turned = joints
            .iter()
            .filter_map(|&j| self.service.joints.get(j))
            .flat_map(|s| &s.turned);
        turned
            .filter_map(|t| {
                let n = self.per_minute(t)?;
                // To and fro it is quickest in the middle: about a sine.
                let turns = t.turns.unwrap_or(t.half);
                Some(PI * circle * n * turns / 60_000.0)
            })
            .reduce(f64::max)
    }

    fn contact(&self, draft: &mut Draft, ratio: f64) {
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
    fn meshes(
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
    fn undercut(&mut self, draft: &Draft, pinion: &Wheel<'_>, ratio: Option<f64>) {
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

    /// Sizes of a wheel, how it is measured and what cuts it.
    fn cut(&mut self, draft: &mut Draft, wheel: &Wheel<'_>, teeth: &Teeth, ring: bool) {
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

    fn cutter(&mut self, draft: &mut Draft, wheel: &Wheel<'_>, teeth: &Teeth) {
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
        let other_angle = (teeth.pressure_angle - TABLE).abs() > 0.01
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

    /// Bending of the teeth, and the smallest module that bears it.
    fn teeth_bear(
        &mut self,
        draft: &mut Draft,
        wheels: &[Wheel<'_>; 2],
        teeth: &Teeth,
        work: &Work,
        would: impl Fn(f64) -> String,
    ) {
        if (teeth.pressure_angle - TABLE).abs() > 0.01 {
            draft.assume("the table of tooth strength is that of 20 deg: bending is not checked");
            return;
        }
        match work.speed {
            Some(speed) => draft.assume(format!("pitch line speed {speed:.2} m/s at most")),
            None => draft
                .assume("it is reckoned as turning slowly: no drive tells how fast (`per-minute`)"),
        }
        let mut sides = Vec::new();
        for wheel in wheels {
            let Some(face) = wheel.face else {
                draft.assume(format!(
                    "neither `face` nor the stock of {} is given: its teeth are not checked",
                    self.part(wheel.part)
                ));
                continue;
            };
            let Some(tensile) = wheel.material.and_then(|m| m.tensile) else {
                draft.assume(format!(
                    "no strength of {} is known: its teeth are not checked",
                    self.part(wheel.part)
                ));
                continue;
            };
            if wheel.spur.teeth < 12 {
                draft.assume(
                    "the table of tooth strength begins at 12 teeth: the pinion is not checked",
                );
                continue;
            }
            sides.push((wheel, face, tensile));
        }
        if sides.is_empty() {
            return;
        }
        if let [(_, a, _), (_, b, _)] = sides.as_slice()
            && (a - b).abs() > 1e-9
        {
            draft.assume("the narrower of the two faces bears on both");
        }
        let face = sides.iter().fold(f64::INFINITY, |m, s| m.min(s.1));
        let speed = work.speed.unwrap_or(0.0);
        let checks = |module: f64| -> Vec<Check> {
            // At the same moment the force falls as the wheels grow.
            let force = work.force.value
                * if wheels[1].spur.teeth == RACK {
                    1.0
                } else {
                    teeth.module / module
                };
            sides
                .iter()
                .filter_map(|(w, _, tensile)| {
                    let mut check =
                        bending(module, w.spur.teeth, face, force, speed, tensile / LEWIS).ok()?;
                    check.what = match w.word {
                        "pinion" => "bending of the teeth of the pinion",
                        "rack" => "bending of the teeth of the rack",
                        "ring" => "bending of the teeth of the ring",
                        _ => "bending of the teeth of the wheel",
                    };
                    Some(check)
                })
                .collect()
        };
        for check in &checks(teeth.module) {
            let checked = self.check(check, 1.0, Some(&work.force));
            draft.item.checks.push(checked);
        }
        for (wheel, ..) in &sides {
            if let Some(material) = wheel.material {
                self.grade(material);
            }
        }
        draft.assume("a tooth bears a third of the tensile strength, with the whole force at its tip (Lewis, common practice); wear of the flanks is not checked");
        if !(7.0..=16.5).contains(&(face / teeth.module)) {
            draft.assume(format!(
                "the face is {:.1} modules wide: 8 to 16 are usual (common practice)",
                face / teeth.module
            ));
        }
        let mut list: Vec<f64> = if teeth.by_pitch {
            PITCHES.iter().map(|p| 25.4 / p).collect()
        } else {
            MODULES.to_vec()
        };
        list.sort_by(f64::total_cmp);
        let best = list
            .into_iter()
            .find(|m| checks(*m).iter().all(|c| c.passes(1.0)));
        draft.would_do(
            best.map(would),
            if teeth.by_pitch {
                "diametral pitches 48 to 5"
            } else {
                "modules 0.5 to 6"
            },
            best.is_some_and(|m| m < teeth.module * 0.999),
        );
    }
}

/// "module 2" or "diametral pitch 12".
fn named(module: f64, teeth: &Teeth) -> String {
    if teeth.by_pitch {
        format!("diametral pitch {}", plain(25.4 / module))
    } else {
        format!("module {}", plain(module))
    }
}

/// To a thousandth of a millimetre.
fn round(mm: f64) -> f64 {
    (1000.0 * mm).round() / 1000.0
}

/// A number without needless noughts.
fn plain(x: f64) -> String {
    let text = format!("{x:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
