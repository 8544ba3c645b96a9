//! Slides, slots, gears, racks, rods and drives, with their dimensions.

use super::Joint;
use super::build::{Builder, SlideLine};
use super::dimensions::Dimension;
use crate::answers::{Inside, Severity};
use machine::Place;
use machine::model::{FRAME, PartId, PointId, RatioKind};
use mechanics::model::{AnchorId, BodyId, Constraint, ParamId};

/// Points nearer than this to one another have no direction between them, mm.
pub(super) const SAME_PLACE: f64 = 1e-9;
/// A pin drawn farther than this off its slot is an error of the drawing, mm.
const OFF_SLOT: f64 = 1e-3;

impl Builder<'_> {
    /// The origin of a part's own axes, as an anchor that no setting moves.
    pub(super) fn own_origin(&mut self, part: PartId, plane: usize) -> AnchorId {
        self.mechanism.anchor(part, plane, [0.0; 3])
    }

    pub(super) fn slides(&mut self) {
        for (i, slide) in self.machine.slides.iter().enumerate() {
            let plane = self.machine.parts[slide.part].plane;
            let mut pin = self.own_origin(slide.part, plane);
            if let Some(middle) = slide.middle {
                let p = &self.machine.points[middle];
                let at = [p.x, p.y, 0.0];
                pin = self.mechanism.anchor_drawn(slide.part, plane, at);
            }
            let m = &self.mechanism;
            let [x, y] = m.in_plane(&m.params, &m.drawn, pin);
            // The guide is where its part is drawn: an error of its direction turns it about there, wherever the drawing has its origin.
            let through = self.mechanism.anchor_drawn(slide.on, plane, [x, y, 0.0]);
            let direction = self
                .mechanism
                .param(slide.along - self.mechanism.drawn[slide.on].angle);
            let offset = self.mechanism.param(0.0);
            let tilt = self.mechanism.hold_angle(slide.part, slide.on);
            self.joints.push(Joint::SlideTurn(i));
            self.constrain(
                Joint::SlideLine(i),
                Constraint::OnLine {
                    pin,
                    through,
                    direction,
                    offset,
                },
            );
            self.slide_lines.push(SlideLine {
                pin,
                through,
                direction,
            });
            let of = format!("slide {}", slide.name);
            self.dimension(
                &of,
                "guide, to the left of its direction",
                offset,
                Inside::Millimetre,
                slide.place,
            );
            self.dimension(&of, "direction", direction, Inside::Radian, slide.place);
            self.dimension(
                &of,
                "squareness of the part on it",
                tilt,
                Inside::Radian,
                slide.place,
            );
        }
    }

    pub(super) fn slots(&mut self) {
        for (i, slot) in self.machine.slots.iter().enumerate() {
            self.slot_directions.push(None);
            let hole = |part: PartId, p: PointId| {
                self.carriers[p].iter().find(|c| c.0 == part).map(|c| c.1)
            };
            let (Some(pin), Some(first), Some(second)) = (
                hole(slot.of, slot.pin),
                hole(slot.within, slot.ends[0]),
                hole(slot.within, slot.ends[1]),
            ) else {
                continue;
            };
            let centre = slot.centre.map(|c| hole(slot.within, c));
            let place = |a: AnchorId| {
                self.mechanism
                    .in_plane(&self.mechanism.params, &self.mechanism.drawn, a)
            };
            let (p, e) = (place(pin), [place(first), place(second)]);
            let of = format!("slot {}", slot.name);
            let about = format!("slot.{}", slot.name);
            match centre {
                Some(Some(centre)) => {
                    let c = place(centre);
                    let from = |q: [f64; 2]| (q[0] - c[0]).hypot(q[1] - c[1]);
                    let (arm, arms) = (from(p), e.map(from));
                    if (arms[0] - arms[1]).abs() > OFF_SLOT {
                        let off = (arms[0] - arms[1]).abs();
                        let sentence = format!(
                            "{of}: its ends are drawn {} and {} from its centre; they must be equally far",
                            self.length(arms[0]),
                            self.length(arms[1])
                        );
                        self.fault(Severity::Fault, sentence, off, about.clone(), slot.place);
                    }
                    self.off_slot(&of, &about, slot.place, slot.pin, (arm - arms[0]).abs());
                    if arm > SAME_PLACE {
                        let radius = self.mechanism.param(arm);
                        self.constrain(
                            Joint::Slot(i),
                            Constraint::Arc {
                                pin,
                                centre,
                                radius,
                            },
                        );
                        self.dimension(&of, "radius", radius, Inside::Millimetre, slot.place);
                    }
                }
                Some(None) => {}
                None => {
                    let along = (e[1][1] - e[0][1]).atan2(e[1][0] - e[0][0]);
                    let direction = self
                        .mechanism
                        .param(along - self.mechanism.drawn[slot.within].angle);
                    let (s, c) = along.sin_cos();
                    let off = (p[1] - e[0][1]) * c - (p[0] - e[0][0]) * s;
                    self.off_slot(&of, &about, slot.place, slot.pin, off.abs());
                    let offset = self.mechanism.param(off);
                    self.constrain(
                        Joint::Slot(i),
                        Constraint::OnLine {
                            pin,
                            through: first,
                            direction,
                            offset,
                        },
                    );
                    self.slot_directions[i] = Some(direction);
                    self.dimension(&of, "direction", direction, Inside::Radian, slot.place);
                }
            }
        }
    }

    fn off_slot(&mut self, of: &str, about: &str, place: Place, pin: PointId, off: f64) {
        if off > OFF_SLOT {
            let sentence = format!(
                "{of}: pin {} is drawn {} off the slot's centre line",
                self.name(pin),
                self.length(off)
            );
            self.fault(Severity::Fault, sentence, off, about.to_owned(), place);
        }
    }

    fn length(&self, mm: f64) -> String {
        quantity::show(
            mm,
            self.machine.unit,
            crate::say::decimals(mm, self.machine.unit),
        )
    }

    pub(super) fn ratios(&mut self) {
        for (i, ratio) in self.machine.ratios.iter().enumerate() {
            let [a, b] = ratio.joins;
            let sense = match ratio.kind {
                RatioKind::Gear | RatioKind::CrossedBelt => 1.0,
                RatioKind::InternalGear | RatioKind::Belt => -1.0,
            };
            let sizes = [ratio.sizes[0], sense * ratio.sizes[1]];
            let angle = |body: BodyId| self.mechanism.drawn[body].angle;
            let carrier = angle(ratio.carrier);
            let sum = sizes[0] * (angle(a) - carrier) + sizes[1] * (angle(b) - carrier);
            let offset = self.mechanism.param(sum);
            self.constrain(
                Joint::Ratio(i),
                Constraint::Ratio {
                    a,
                    b,
                    carrier: ratio.carrier,
                    sizes,
                    offset,
                },
            );
        }
    }

    pub(super) fn racks(&mut self) {
        for (i, rack) in self.machine.racks.iter().enumerate() {
            let Some(&SlideLine {
                pin,
                through,
                direction,
            }) = self.slide_lines.get(rack.slide)
            else {
                continue;
            };
            let slide = &self.machine.slides[rack.slide];
            let m = &self.mechanism;
            let (p, q) = (
                m.in_plane(&m.params, &m.drawn, pin),
                m.in_plane(&m.params, &m.drawn, through),
            );
            let (s, c) = slide.along.sin_cos();
            let turn = m.drawn[rack.gear].angle - m.drawn[slide.on].angle;
            let radius = self.mechanism.param(rack.radius);
            let offset = self
                .mechanism
                .param((p[0] - q[0]) * c + (p[1] - q[1]) * s - rack.radius * turn);
            let constraint = Constraint::Rack {
                gear: rack.gear,
                pin,
                through,
                direction,
                radius,
                offset,
            };
            self.constrain(Joint::Rack(i), constraint);
            self.dimensions.push(Dimension {
                name: format!("rack {}: pitch radius", rack.name),
                of: format!("rack {}", rack.name),
                param: radius,
                sign: rack.radius.signum(),
                inside: Inside::Millimetre,
                place: rack.place,
            });
        }
    }

    pub(super) fn rods(&mut self) {
        for (i, rod) in self.machine.rods.iter().enumerate() {
            let ends = rod.joins.map(|p| self.carriers[p].first().map(|c| c.1));
            let [Some(a), Some(b)] = ends else {
                self.rod_lengths.push(None);
                continue;
            };
            // Between two points of one part it has nothing to do, as reading says: counted in, it would seem to hold the part.
            let [p, q] = rod.joins.map(|p| &self.carriers[p]);
            if p.iter().any(|c| q.iter().any(|d| c.0 == d.0)) {
                self.rod_lengths.push(None);
                continue;
            }
            let m = &self.mechanism;
            let (p, q) = (
                m.in_space(&m.params, &m.drawn, a),
                m.in_space(&m.params, &m.drawn, b),
            );
            let apart = (0..3).map(|i| (p[i] - q[i]).powi(2)).sum::<f64>().sqrt();
            if apart <= SAME_PLACE {
                let sentence = format!(
                    "rod {} has no length: its ends are drawn at the same place",
                    rod.name
                );
                self.fault(
                    Severity::Fault,
                    sentence,
                    0.0,
                    format!("rod.{}", rod.name),
                    rod.place,
                );
                self.rod_lengths.push(None);
                continue;
            }
            let length = self.mechanism.rod(a, b);
            self.joints.push(Joint::Rod(i));
            self.rod_lengths.push(Some(length));
            self.dimension(
                &format!("rod {}", rod.name),
                "length",
                length,
                Inside::Millimetre,
                rod.place,
            );
            let [p, q] = rod.joins.map(|p| &self.machine.points[p]);
            if p.plane != q.plane || p.station != q.station {
                self.stations([a, b]);
            }
        }
    }

    /// Makes dimensions of the stations of two anchors.
    pub(super) fn stations(&mut self, anchors: [AnchorId; 2]) {
        for anchor in anchors {
            let a = self.mechanism.anchors[anchor];
            if self.dimensions.iter().any(|d| d.param == a.w) {
                continue;
            }
            let found = self
                .carriers
                .iter()
                .position(|c| c.iter().any(|c| c.1 == anchor));
            let (Some(point), Some(part)) = (found, self.machine.parts.get(a.body)) else {
                continue;
            };
            let what = format!("station of {}", self.name(point));
            self.dimension(
                &part.name,
                &what,
                a.w,
                Inside::Millimetre,
                self.machine.points[point].place,
            );
        }
    }

    /// Drives come last, so that a repeated constraint is found to be the drive and not what it drives.
    pub(super) fn drives(&mut self) -> Vec<(ParamId, f64)> {
        let mut drives = Vec::new();
        for (i, drive) in self.machine.drives.iter().enumerate() {
            let param = match drive.moves {
                machine::model::Moves::Turns(part) => {
                    let param = self.mechanism.hold_angle(part, FRAME);
                    self.joints.push(Joint::Drive(i));
                    param
                }
                machine::model::Moves::Slides(slide) => {
                    let line = self.slide_lines[slide];
                    let SlideLine {
                        pin,
                        through,
                        direction,
                    } = line;
                    let m = &self.mechanism;
                    let (p, q) = (
                        m.in_plane(&m.params, &m.drawn, pin),
                        m.in_plane(&m.params, &m.drawn, through),
                    );
                    let (s, c) = self.machine.slides[slide].along.sin_cos();
                    let distance = self.mechanism.param((p[0] - q[0]) * c + (p[1] - q[1]) * s);
                    self.constrain(
                        Joint::Drive(i),
                        Constraint::Along {
                            pin,
                            through,
                            direction,
                            distance,
                        },
                    );
                    distance
                }
            };
            drives.push((
                param,
                self.mechanism.params[param] - drive.sense * drive.drawn,
            ));
        }
        drives
    }
}
