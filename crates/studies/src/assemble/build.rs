//! Building the mechanism.

use super::groups::split;
use super::{Dimension, Gauge, Joint, Model, Moves};
use crate::answers::{Finding, Inside, Severity};
use machine::Place;
use machine::model::{Adjusts, FRAME, Machine, Measures, PartId, PointId, RatioKind};
use mechanics::model::{AnchorId, BodyId, Constraint, Measure, Mechanism, ParamId, Plane};

/// Points nearer than this to one another have no direction between them, mm.
const SAME_PLACE: f64 = 1e-9;
/// A pin drawn farther than this off its slot is an error of the drawing, mm.
const OFF_SLOT: f64 = 1e-3;

struct Builder<'m> {
    machine: &'m Machine,
    mechanism: Mechanism,
    carriers: Vec<Vec<(BodyId, AnchorId)>>,
    free_pins: Vec<PointId>,
    dimensions: Vec<Dimension>,
    joints: Vec<Joint>,
    faults: Vec<Finding>,
    rod_lengths: Vec<Option<ParamId>>,
    clocks: Vec<Option<ParamId>>,
    slide_lines: Vec<SlideLine>,
    /// Direction of a straight slot.
    slot_directions: Vec<Option<ParamId>>,
}

#[derive(Clone, Copy)]
struct SlideLine {
    pin: AnchorId,
    through: AnchorId,
    direction: ParamId,
}

pub(super) fn build(machine: &Machine) -> Model {
    let mut b = Builder {
        machine,
        mechanism: Mechanism::default(),
        carriers: vec![Vec::new(); machine.points.len()],
        free_pins: Vec::new(),
        dimensions: Vec::new(),
        joints: Vec::new(),
        faults: Vec::new(),
        rod_lengths: Vec::new(),
        clocks: vec![None; machine.parts.len()],
        slide_lines: Vec::new(),
        slot_directions: Vec::new(),
    };
    b.bodies();
    b.pins();
    b.slides();
    b.slots();
    b.ratios();
    b.racks();
    b.rods();
    let drives = b.drives();
    let gauges = b.gauges();
    let settings = b.settings();
    let (mut groups, mut group_of) = split(&b.mechanism);
    let loose = super::loose::hold(&mut b.mechanism, &mut b.joints, &groups);
    if !loose.is_empty() {
        (groups, group_of) = split(&b.mechanism);
    }
    let slot_directions = b.slot_directions;
    let mut model = Model {
        machine: machine.clone(),
        mechanism: b.mechanism,
        carriers: b.carriers,
        free_pins: b.free_pins,
        dimensions: b.dimensions,
        joints: b.joints,
        drives,
        settings,
        gauges,
        limits: Vec::new(),
        groups,
        group_of,
        loose,
        faults: b.faults,
    };
    model.limits = model.find_limits(&slot_directions);
    model
}

impl Builder<'_> {
    fn drawn(&self, point: PointId) -> [f64; 2] {
        let p = &self.machine.points[point];
        [p.x, p.y]
    }

    fn name(&self, point: PointId) -> &str {
        &self.machine.points[point].name
    }

    fn dimension(&mut self, of: &str, what: &str, param: ParamId, inside: Inside, place: Place) {
        let name = format!("{of}: {what}");
        self.dimensions.push(Dimension { name, of: of.to_owned(), param, sign: 1.0, inside, place });
    }

    fn fault(&mut self, severity: Severity, sentence: String, number: f64, about: String, place: Place) {
        self.faults.push(Finding {
            severity,
            sentence,
            number: Some(number),
            margin: None,
            inside: Some(Inside::Millimetre),
            what_to_try: None,
            about,
            place,
        });
    }

    /// Planes, parts with their holes, free pins, and the dimensions of holes.
    fn bodies(&mut self) {
        let machine = self.machine;
        for p in &machine.planes {
            self.mechanism.plane(Plane { origin: p.origin, right: p.right, up: p.up });
        }
        self.mechanism.body(0, [0.0; 2], 0.0);
        for part in machine.parts.iter().skip(1) {
            let datum = self.datum(part.clamped_to, &part.carries);
            let origin = datum.map_or([0.0; 2], |d| self.drawn(d));
            match self.direction_hole(origin, &part.carries) {
                Some(to) => self.mechanism.link(part.plane, origin, self.drawn(to)),
                None => self.mechanism.body(part.plane, origin, 0.0),
            };
        }
        for part in 0..machine.parts.len() {
            self.holes(part);
        }
        for (i, point) in machine.points.iter().enumerate() {
            if self.carriers[i].is_empty() && machine.rods.iter().any(|r| r.joins.contains(&i)) {
                let body = self.mechanism.body(point.plane, [point.x, point.y], 0.0);
                let anchor = self.mechanism.anchor(body, point.plane, [0.0, 0.0, point.station]);
                self.carriers[i].push((body, anchor));
                self.free_pins.push(i);
            }
        }
    }

    fn datum(&self, clamped_to: Option<PartId>, carries: &[PointId]) -> Option<PointId> {
        let shaft = clamped_to.and_then(|shaft| self.machine.parts[shaft].carries.first());
        shaft.or(carries.first()).copied()
    }

    fn direction_hole(&self, origin: [f64; 2], carries: &[PointId]) -> Option<PointId> {
        carries.iter().copied().find(|&p| {
            let q = self.drawn(p);
            (q[0] - origin[0]).hypot(q[1] - origin[1]) > SAME_PLACE
        })
    }

    fn holes(&mut self, id: PartId) {
        let machine = self.machine;
        let part = &machine.parts[id];
        let datum = self.datum(part.clamped_to, &part.carries);
        let origin = datum.map_or([0.0; 2], |d| self.drawn(d));
        let direction = self.direction_hole(origin, &part.carries);
        let mut carries = part.carries.clone();
        if let (Some(d), Some(_)) = (datum, part.clamped_to)
            && !carries.contains(&d)
        {
            carries.insert(0, d);
        }
        for p in carries {
            let point = &machine.points[p];
            if self.carriers[p].iter().any(|c| c.0 == id) {
                continue;
            }
            let anchor = if id != FRAME && Some(p) == datum {
                self.mechanism.anchor(id, point.plane, [0.0, 0.0, point.station])
            } else if id != FRAME && Some(p) == direction {
                let [x, y] = self.drawn(p);
                let centres = (x - origin[0]).hypot(y - origin[1]);
                self.mechanism.anchor(id, point.plane, [centres, 0.0, point.station])
            } else {
                self.mechanism.anchor_drawn(id, point.plane, [point.x, point.y, point.station])
            };
            self.carriers[p].push((id, anchor));
            let a = self.mechanism.anchors[anchor];
            let (of, hole, mm) = (part.name.as_str(), point.name.as_str(), Inside::Millimetre);
            if id == FRAME {
                self.dimension(of, &format!("{hole}, right"), a.u, mm, point.place);
                self.dimension(of, &format!("{hole}, up"), a.v, mm, point.place);
            } else if Some(p) == datum {
                // The datum hole is where the part is measured from.
            } else if Some(p) == direction {
                let from = datum.map_or("", |d| self.name(d)).to_owned();
                self.dimension(of, &format!("centre distance {from} to {hole}"), a.u, mm, part.place);
            } else {
                let line = match (datum, direction) {
                    (Some(d), Some(t)) => format!("the line {} to {}", self.name(d), self.name(t)),
                    _ => String::from("the part's axis"),
                };
                self.dimension(of, &format!("{hole}, along {line}"), a.u, mm, part.place);
                self.dimension(of, &format!("{hole}, across {line}"), a.v, mm, part.place);
            }
        }
    }

    fn constrain(&mut self, joint: Joint, constraint: Constraint) {
        self.mechanism.constrain(constraint);
        self.joints.push(joint);
    }

    fn pins(&mut self) {
        let machine = self.machine;
        for point in 0..machine.points.len() {
            let carriers = self.carriers[point].clone();
            if let Some((&(first, a), others)) = carriers.split_first() {
                for &(other, b) in others {
                    self.constrain(Joint::Pin { point, parts: [first, other] }, Constraint::Pin { a, b });
                }
            }
        }
        for (i, part) in machine.parts.iter().enumerate() {
            let Some(shaft) = part.clamped_to else { continue };
            let angle = self.mechanism.hold_angle(i, shaft);
            self.joints.push(Joint::Clamp(i));
            self.clocks[i] = Some(angle);
            self.dimension(&part.name, "clock angle", angle, Inside::Radian, part.place);
        }
        for (k, &point) in self.free_pins.clone().iter().enumerate() {
            self.mechanism.hold_angle(machine.parts.len() + k, FRAME);
            self.joints.push(Joint::FreePin(point));
        }
    }

    /// The origin of a part's own axes, as an anchor that no setting moves.
    fn own_origin(&mut self, part: PartId, plane: usize) -> AnchorId {
        self.mechanism.anchor(part, plane, [0.0; 3])
    }

    fn slides(&mut self) {
        for (i, slide) in self.machine.slides.iter().enumerate() {
            let plane = self.machine.parts[slide.part].plane;
            let (pin, through) = (self.own_origin(slide.part, plane), self.own_origin(slide.on, plane));
            let direction = self.mechanism.param(slide.along - self.mechanism.drawn[slide.on].angle);
            let m = &self.mechanism;
            let (p, q) = (m.in_plane(&m.params, &m.drawn, pin), m.in_plane(&m.params, &m.drawn, through));
            let (s, c) = slide.along.sin_cos();
            let offset = self.mechanism.param((p[1] - q[1]) * c - (p[0] - q[0]) * s);
            let tilt = self.mechanism.hold_angle(slide.part, slide.on);
            self.joints.push(Joint::SlideTurn(i));
            self.constrain(Joint::SlideLine(i), Constraint::OnLine { pin, through, direction, offset });
            self.slide_lines.push(SlideLine { pin, through, direction });
            let of = format!("slide {}", slide.name);
            self.dimension(&of, "guide, to the left of its direction", offset, Inside::Millimetre, slide.place);
            self.dimension(&of, "direction", direction, Inside::Radian, slide.place);
            self.dimension(&of, "squareness of the part on it", tilt, Inside::Radian, slide.place);
        }
    }

    fn slots(&mut self) {
        for (i, slot) in self.machine.slots.iter().enumerate() {
            self.slot_directions.push(None);
            let hole = |part: PartId, p: PointId| self.carriers[p].iter().find(|c| c.0 == part).map(|c| c.1);
            let (Some(pin), Some(first), Some(second)) =
                (hole(slot.of, slot.pin), hole(slot.within, slot.ends[0]), hole(slot.within, slot.ends[1]))
            else {
                continue;
            };
            let centre = slot.centre.map(|c| hole(slot.within, c));
            let place = |a: AnchorId| self.mechanism.in_plane(&self.mechanism.params, &self.mechanism.drawn, a);
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
                        self.constrain(Joint::Slot(i), Constraint::Arc { pin, centre, radius });
                        self.dimension(&of, "radius", radius, Inside::Millimetre, slot.place);
                    }
                }
                Some(None) => {}
                None => {
                    let along = (e[1][1] - e[0][1]).atan2(e[1][0] - e[0][0]);
                    let direction = self.mechanism.param(along - self.mechanism.drawn[slot.within].angle);
                    let (s, c) = along.sin_cos();
                    let off = (p[1] - e[0][1]) * c - (p[0] - e[0][0]) * s;
                    self.off_slot(&of, &about, slot.place, slot.pin, off.abs());
                    let offset = self.mechanism.param(off);
                    self.constrain(Joint::Slot(i), Constraint::OnLine { pin, through: first, direction, offset });
                    self.slot_directions[i] = Some(direction);
                    self.dimension(&of, "direction", direction, Inside::Radian, slot.place);
                }
            }
        }
    }

    fn off_slot(&mut self, of: &str, about: &str, place: Place, pin: PointId, off: f64) {
        if off > OFF_SLOT {
            let sentence =
                format!("{of}: pin {} is drawn {} off the slot's centre line", self.name(pin), self.length(off));
            self.fault(Severity::Fault, sentence, off, about.to_owned(), place);
        }
    }

    fn length(&self, mm: f64) -> String {
        quantity::show(mm, self.machine.unit, crate::say::decimals(mm, self.machine.unit))
    }

    fn ratios(&mut self) {
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
            self.constrain(Joint::Ratio(i), Constraint::Ratio { a, b, carrier: ratio.carrier, sizes, offset });
        }
    }

    fn racks(&mut self) {
        for (i, rack) in self.machine.racks.iter().enumerate() {
            let Some(&SlideLine { pin, through, direction }) = self.slide_lines.get(rack.slide) else { continue };
            let slide = &self.machine.slides[rack.slide];
            let m = &self.mechanism;
            let (p, q) = (m.in_plane(&m.params, &m.drawn, pin), m.in_plane(&m.params, &m.drawn, through));
            let (s, c) = slide.along.sin_cos();
            let turn = m.drawn[rack.gear].angle - m.drawn[slide.on].angle;
            let radius = self.mechanism.param(rack.radius);
            let offset = self.mechanism.param((p[0] - q[0]) * c + (p[1] - q[1]) * s - rack.radius * turn);
            let constraint = Constraint::Rack { gear: rack.gear, pin, through, direction, radius, offset };
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

    fn rods(&mut self) {
        for (i, rod) in self.machine.rods.iter().enumerate() {
            let ends = rod.joins.map(|p| self.carriers[p].first().map(|c| c.1));
            let [Some(a), Some(b)] = ends else {
                self.rod_lengths.push(None);
                continue;
            };
            let m = &self.mechanism;
            let (p, q) = (m.in_space(&m.params, &m.drawn, a), m.in_space(&m.params, &m.drawn, b));
            let apart = (0..3).map(|i| (p[i] - q[i]).powi(2)).sum::<f64>().sqrt();
            if apart <= SAME_PLACE {
                let sentence = format!("rod {} has no length: its ends are drawn at the same place", rod.name);
                self.fault(Severity::Fault, sentence, 0.0, format!("rod.{}", rod.name), rod.place);
                self.rod_lengths.push(None);
                continue;
            }
            let length = self.mechanism.rod(a, b);
            self.joints.push(Joint::Rod(i));
            self.rod_lengths.push(Some(length));
            self.dimension(&format!("rod {}", rod.name), "length", length, Inside::Millimetre, rod.place);
            let [p, q] = rod.joins.map(|p| &self.machine.points[p]);
            if p.plane != q.plane || p.station != q.station {
                self.stations([a, b]);
            }
        }
    }

    /// Makes dimensions of the stations of two anchors.
    fn stations(&mut self, anchors: [AnchorId; 2]) {
        for anchor in anchors {
            let a = self.mechanism.anchors[anchor];
            if self.dimensions.iter().any(|d| d.param == a.w) {
                continue;
            }
            let found = self.carriers.iter().position(|c| c.iter().any(|c| c.1 == anchor));
            let (Some(point), Some(part)) = (found, self.machine.parts.get(a.body)) else { continue };
            let what = format!("station of {}", self.name(point));
            self.dimension(&part.name, &what, a.w, Inside::Millimetre, self.machine.points[point].place);
        }
    }

    /// Drives come last, so that a repeated constraint is found to be the drive and not what it drives.
    fn drives(&mut self) -> Vec<(ParamId, f64)> {
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
                    let SlideLine { pin, through, direction } = line;
                    let m = &self.mechanism;
                    let (p, q) = (m.in_plane(&m.params, &m.drawn, pin), m.in_plane(&m.params, &m.drawn, through));
                    let (s, c) = self.machine.slides[slide].along.sin_cos();
                    let distance = self.mechanism.param((p[0] - q[0]) * c + (p[1] - q[1]) * s);
                    self.constrain(Joint::Drive(i), Constraint::Along { pin, through, direction, distance });
                    distance
                }
            };
            drives.push((param, self.mechanism.params[param] - drive.sense * drive.drawn));
        }
        drives
    }

    /// The anchor a reading looks at: the hole of the part named, else of the first that carries the point; a point that nothing
    /// carries stands still.
    fn looked_at(&mut self, point: PointId, part: Option<PartId>) -> AnchorId {
        let carriers = &self.carriers[point];
        let found = carriers.iter().find(|c| Some(c.0) == part).or(carriers.first());
        if let Some(found) = found {
            return found.1;
        }
        let p = &self.machine.points[point];
        let anchor = self.mechanism.anchor(FRAME, p.plane, [p.x, p.y, p.station]);
        self.carriers[point].push((FRAME, anchor));
        anchor
    }

    fn in_space(&self, plane: usize, along: f64) -> [f64; 3] {
        let (p, (s, c)) = (&self.machine.planes[plane], along.sin_cos());
        std::array::from_fn(|i| c * p.right[i] + s * p.up[i])
    }

    fn gauges(&mut self) -> Vec<Gauge> {
        let machine = self.machine;
        let mut facings: Vec<Option<ParamId>> = vec![None; machine.faces.len()];
        let mut gauges = Vec::new();
        for reading in &machine.readings {
            let gauge = match reading.measures {
                Measures::Gap([first, second]) => {
                    let (f, s) = (&machine.faces[first], &machine.faces[second]);
                    let (a, b) = (self.looked_at(f.at, Some(f.on)), self.looked_at(s.at, Some(s.on)));
                    let direction = *facings[first].get_or_insert_with(|| {
                        let turned = self.mechanism.drawn[f.on].angle;
                        let param = self.mechanism.param(f.facing - turned);
                        self.dimension(
                            &machine.parts[f.on].name,
                            &format!("direction of face {}", f.name),
                            param,
                            Inside::Radian,
                            f.place,
                        );
                        param
                    });
                    self.cross_stations([f.at, s.at], [a, b]);
                    let plane = machine.points[f.at].plane;
                    Gauge::Pose(Measure::AlongBody { a, b, body: f.on, plane, direction })
                }
                Measures::Between { points, along } => {
                    let [a, b] = points.map(|p| self.looked_at(p, None));
                    self.cross_stations(points, [a, b]);
                    let direction = self.in_space(machine.points[points[0]].plane, along);
                    Gauge::Pose(Measure::Along { a, b, direction })
                }
                Measures::Distance(points) => {
                    let [a, b] = points.map(|p| self.looked_at(p, None));
                    if machine.points[points[0]].station != machine.points[points[1]].station {
                        self.stations([a, b]);
                    }
                    self.cross_stations(points, [a, b]);
                    Gauge::Pose(Measure::Distance { a, b })
                }
                Measures::TurnOf { part, against, drawn } => {
                    let now = self.mechanism.drawn[part].angle - self.mechanism.drawn[against].angle;
                    Gauge::Pose(Measure::Angle { body: part, against, offset: drawn - now })
                }
                Measures::PlaceOf { point, along } => {
                    let plane = machine.points[point].plane;
                    let (a, b) = (self.own_origin(FRAME, plane), self.looked_at(point, None));
                    Gauge::Pose(Measure::Along { a, b, direction: self.in_space(plane, along) })
                }
                Measures::Over { reading, drive, take } => Gauge::Over { reading, drive, take },
            };
            gauges.push(gauge);
        }
        gauges
    }

    fn cross_stations(&mut self, points: [PointId; 2], anchors: [AnchorId; 2]) {
        if self.machine.points[points[0]].plane != self.machine.points[points[1]].plane {
            self.stations(anchors);
        }
    }

    fn settings(&mut self) -> Vec<Moves> {
        let machine = self.machine;
        machine.settings.iter().map(|setting| self.setting(setting.adjusts)).collect()
    }

    fn setting(&self, adjusts: Adjusts) -> Moves {
        let own = |part: PartId, point: PointId| {
            self.carriers[point].iter().find(|c| c.0 == part).map(|c| self.mechanism.anchors[c.1])
        };
        match adjusts {
            Adjusts::Rod(rod) => Moves::Straight(self.rod_lengths[rod].iter().map(|&p| (p, 1.0)).collect()),
            Adjusts::Clock(part) => Moves::Straight(self.clocks[part].iter().map(|&p| (p, 1.0)).collect()),
            Adjusts::Shim { point, part, along } => {
                let (s, c) = (along - self.mechanism.drawn[part].angle).sin_cos();
                Moves::Straight(own(part, point).map_or(vec![], |a| vec![(a.u, c), (a.v, s)]))
            }
            Adjusts::Row(row) => {
                let row = &self.machine.rows[row];
                let Some(a) = own(row.on, row.point) else { return Moves::Straight(vec![]) };
                let p = self.mechanism.drawn[row.on];
                let (s, c) = p.angle.sin_cos();
                let holes = row.holes.iter().map(|h| {
                    let (x, y) = (h[0] - p.x, h[1] - p.y);
                    [c * x + s * y, c * y - s * x]
                });
                Moves::Row { u: a.u, v: a.v, holes: holes.collect(), used: row.used }
            }
            Adjusts::Stop(_) => Moves::Limit,
        }
    }
}

/// Turns and lengthens slots whose ends a setting has moved, so that they still run from end to end.
pub(super) fn follow_slots(model: &Model, params: &mut [f64]) {
    for (i, c) in model.mechanism.constraints.iter().enumerate() {
        let Joint::Slot(slot) = model.joints[i] else { continue };
        let slot = &model.machine.slots[slot];
        let own = |params: &[f64], a: AnchorId| {
            let a = model.mechanism.anchors[a];
            [params[a.u], params[a.v]]
        };
        let between = |params: &[f64], a: AnchorId, b: AnchorId| {
            let (p, q) = (own(params, a), own(params, b));
            [q[0] - p[0], q[1] - p[1]]
        };
        let drawn = &model.mechanism.params;
        match *c {
            Constraint::OnLine { through, direction, .. } => {
                if let Some(end) = model.anchor_of(slot.within, slot.ends[1]) {
                    let [was, now] = [between(drawn, through, end), between(params, through, end)];
                    params[direction] += super::limits::wrap(now[1].atan2(now[0]) - was[1].atan2(was[0]));
                }
            }
            Constraint::Arc { centre, radius, .. } => {
                if let Some(end) = model.anchor_of(slot.within, slot.ends[0]) {
                    let [was, now] = [between(drawn, centre, end), between(params, centre, end)];
                    params[radius] += now[0].hypot(now[1]) - was[0].hypot(was[1]);
                }
            }
            _ => {}
        }
    }
}
