//! Spur gears and racks: do the teeth go together, what bears them, what cuts them.

mod bear;
mod cut;
mod mesh;

use super::answers::Kind;
use super::room::{pin_diameter, sides, stock};
use super::say;
use super::study::{Draft, Study};
use crate::assemble::Joint;
use crate::load::service::Peak;
use elements::gears::{SOURCE, Spur, internal_pair, pair, rack_contact_ratio};
use machine::fitting::Teeth;
use machine::model::{PartId, PartKind, PointId, Ratio, RatioKind};
use machine::work::Material;
use std::f64::consts::PI;

/// A load that goes the other way too with this share of its greatest goes both ways (common practice).
const REVERSED: f64 = 0.2;

/// Teeth of a rack, for tables that go by teeth.
const RACK: u32 = 1_000_000;

/// One of two that mesh.
struct Wheel<'s> {
    /// Its part.
    part: PartId,
    /// "pinion", "wheel", "rack".
    word: &'static str,
    spur: Spur,
    /// Bore for the pin or shaft that it sits on; none when it is cut on the shaft itself.
    bore: Option<f64>,
    /// Width of its teeth.
    face: Option<f64>,
    material: Option<&'s Material>,
}

/// What the teeth bear, and at what speed.
struct Work {
    force: Peak,
    /// Pitch line speed, m/s; none when nothing tells it.
    speed: Option<f64>,
    /// Pressure angle at work, rad.
    angle: f64,
    /// It is loaded one way and the other.
    both_ways: bool,
}

/// Backlash of a gear pair along the pitch circle at these centres, both gears together, mm: as the teeth are cut, and what centres drawn
/// apart add. None when the file does not size the teeth.
pub(crate) fn backlash(ratio: &Ratio, centres: f64) -> Option<f64> {
    let teeth = ratio.teeth?;
    let mut wheels: Vec<Spur> = ratio
        .sizes
        .iter()
        .zip(teeth.shift)
        .map(|(count, shift)| spur(&teeth, count.round() as u32, shift))
        .collect();
    wheels.sort_by_key(|w| w.teeth);
    let [small, large] = [wheels.first()?, wheels.get(1)?];
    let pair = match ratio.kind {
        RatioKind::InternalGear => internal_pair(small, large, Some(centres)),
        _ => pair(small, large, Some(centres)),
    };
    // Teeth that do not go together are told of by `parts`.
    let apart = pair.map_or(0.0, |p| p.backlash);
    Some((teeth.backlash + apart).max(0.0))
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
                bore: self.bore(part, ratio.carrier),
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
            self.blank(&draft, wheel, teeth, inside && wheel.word == "ring");
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
            both_ways: self.loaded_both_ways(Joint::Ratio(index)),
            angle: (standard * teeth.pressure_angle.cos() / apart.unwrap_or(standard))
                .clamp(-1.0, 1.0)
                .acos()
                .max(0.1),
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
            bore: self.bore(
                rack.gear,
                machine.slides.get(rack.slide).map_or(0, |s| s.on),
            ),
            spur: spur(teeth, *count, teeth.shift[0]),
            face: face(rack.gear),
            material: material(rack.gear),
        };
        let bar = Wheel {
            part,
            word: "rack",
            bore: None,
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
            angle: teeth.pressure_angle,
            both_ways: self.loaded_both_ways(Joint::Rack(index)),
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

    /// The bore of a wheel that is no shaft itself.
    fn bore(&self, part: PartId, carrier: PartId) -> Option<f64> {
        let own = self.machine.parts.get(part)?;
        if own.kind == PartKind::Shaft {
            return None;
        }
        let centre = self.centre(part, carrier)?;
        // What is bored for a bearing or a bushing is wider than the pin.
        let mut holes = self.machine.work.holes.iter();
        holes
            .find(|h| h.part == part && h.point == centre)
            .map(Self::hole_size)
            .or_else(|| pin_diameter(self.machine, centre))
    }

    /// Whether a wheel comes out of the stock of its part.
    fn blank(&mut self, draft: &Draft, wheel: &Wheel<'_>, teeth: &Teeth, ring: bool) {
        use machine::work::Section;
        let (Some(bar), Ok(sizes)) = (stock(self.machine, wheel.part), wheel.spur.geometry())
        else {
            return;
        };
        let [thick, wide] = sides(bar.section);
        let size = |mm: f64| say::size(round(mm), self.machine);
        // A ring is wider than its teeth by their depth at least.
        let across = if ring {
            sizes.pitch + 2.0 * 2.25 * teeth.module
        } else {
            sizes.outside
        };
        let arm = self
            .machine
            .parts
            .get(wheel.part)
            .is_some_and(|p| p.kind == PartKind::Shaft);
        let why = match (bar.section, teeth.face) {
            (Section::Flat(_), Some(face)) if face > thick + 0.01 => Some(format!(
                "its teeth are {} wide and its stock {} thick",
                size(face),
                size(thick)
            )),
            (Section::Flat(_), _) if across > wide + 0.01 => Some(format!(
                "it is {} across and its stock {} wide",
                size(across),
                size(wide)
            )),
            (Section::Round(d) | Section::Tube([d, _]), _) if across > d + 0.01 && arm => Some(
                format!("it is {} across and its stock {}", size(across), size(d)),
            ),
            _ => None,
        };
        let Some(why) = why else { return };
        let sentence = format!(
            "{}, {}: the {} does not come out of its blank: {why}",
            draft.item.what, draft.item.at, wheel.word
        );
        let try_this = format!(
            "stock of {} or more, {} thick, or a wheel of its own clamped to the part",
            size(across.ceil()),
            size(teeth.face.unwrap_or(thick).max(thick))
        );
        self.say(
            crate::answers::Severity::Fault,
            draft,
            sentence,
            Some(try_this),
        );
    }

    /// Whether a mesh or a rack is loaded both ways.
    fn loaded_both_ways(&self, joint: Joint) -> bool {
        let constraint = self.rig.model.joints.iter().position(|j| *j == joint);
        constraint
            .and_then(|c| self.rig.reported(c))
            .and_then(|j| self.service.joints.get(j))
            .is_some_and(|s| {
                let [a, b] = [s.pull.value, s.push.value];
                a.min(b) > REVERSED * a.max(b)
            })
    }

    /// Whether a wheel only hands on: it meshes with two others, and neither a drive nor an arm takes anything off it.
    fn idles(&self, part: PartId) -> bool {
        let machine = self.machine;
        let pairs = machine.ratios.iter().filter(|r| r.teeth.is_some());
        let racks = machine.racks.iter().filter(|r| r.teeth.is_some());
        let meshes = pairs.filter(|r| r.joins.contains(&part)).count()
            + racks.filter(|r| r.gear == part).count();
        let driven = machine
            .drives
            .iter()
            .any(|d| d.moves == machine::model::Moves::Turns(part));
        let armed = machine.parts.iter().any(|p| p.clamped_to == Some(part));
        meshes == 2 && !driven && !armed
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
