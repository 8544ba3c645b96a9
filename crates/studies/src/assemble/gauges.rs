//! What readings measure and what settings move.

use super::build::Builder;
use super::limits::wrap;
use super::{Gauge, Joint, Model, Moves};
use crate::answers::Inside;
use machine::model::{Adjusts, FRAME, Measures, PartId, PointId};
use mechanics::model::{AnchorId, Constraint, Measure, ParamId};

impl Builder<'_> {
    /// The anchor a reading looks at: the hole of the part named, else of the first that carries the point; a point that nothing
    /// carries stands still.
    fn looked_at(&mut self, point: PointId, part: Option<PartId>) -> AnchorId {
        let carriers = &self.carriers[point];
        let found = carriers
            .iter()
            .find(|c| Some(c.0) == part)
            .or(carriers.first());
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

    pub(super) fn gauges(&mut self) -> Vec<Gauge> {
        let machine = self.machine;
        let mut facings: Vec<Option<ParamId>> = vec![None; machine.faces.len()];
        let mut gauges = Vec::new();
        for reading in &machine.readings {
            let gauge = match reading.measures {
                Measures::Gap([first, second]) => {
                    let (f, s) = (&machine.faces[first], &machine.faces[second]);
                    let (a, b) = (
                        self.looked_at(f.at, Some(f.on)),
                        self.looked_at(s.at, Some(s.on)),
                    );
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
                    Gauge::Pose(Measure::AlongBody {
                        a,
                        b,
                        body: f.on,
                        plane,
                        direction,
                    })
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
                Measures::TurnOf {
                    part,
                    against,
                    drawn,
                } => {
                    let now =
                        self.mechanism.drawn[part].angle - self.mechanism.drawn[against].angle;
                    Gauge::Pose(Measure::Angle {
                        body: part,
                        against,
                        offset: drawn - now,
                    })
                }
                Measures::PlaceOf { point, along } => {
                    let plane = machine.points[point].plane;
                    let (a, b) = (self.own_origin(FRAME, plane), self.looked_at(point, None));
                    Gauge::Pose(Measure::Along {
                        a,
                        b,
                        direction: self.in_space(plane, along),
                    })
                }
                Measures::Over {
                    reading,
                    drive,
                    take,
                } => Gauge::Over {
                    reading,
                    drive,
                    take,
                },
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

    pub(super) fn settings(&mut self) -> Vec<Moves> {
        let machine = self.machine;
        machine
            .settings
            .iter()
            .map(|setting| self.setting(setting.adjusts))
            .collect()
    }

    fn setting(&self, adjusts: Adjusts) -> Moves {
        let own = |part: PartId, point: PointId| {
            self.carriers[point]
                .iter()
                .find(|c| c.0 == part)
                .map(|c| self.mechanism.anchors[c.1])
        };
        match adjusts {
            Adjusts::Rod(rod) => {
                Moves::Straight(self.rod_lengths[rod].iter().map(|&p| (p, 1.0)).collect())
            }
            Adjusts::Clock(part) => {
                Moves::Straight(self.clocks[part].iter().map(|&p| (p, 1.0)).collect())
            }
            Adjusts::Shim { point, part, along } => {
                let (s, c) = (along - self.mechanism.drawn[part].angle).sin_cos();
                Moves::Straight(own(part, point).map_or(vec![], |a| vec![(a.u, c), (a.v, s)]))
            }
            Adjusts::Row(row) => {
                let row = &self.machine.rows[row];
                let Some(a) = own(row.on, row.point) else {
                    return Moves::Straight(vec![]);
                };
                let p = self.mechanism.drawn[row.on];
                let (s, c) = p.angle.sin_cos();
                let holes = row.holes.iter().map(|h| {
                    let (x, y) = (h[0] - p.x, h[1] - p.y);
                    [c * x + s * y, c * y - s * x]
                });
                Moves::Row {
                    u: a.u,
                    v: a.v,
                    holes: holes.collect(),
                    used: row.used,
                }
            }
            Adjusts::Stop(_) => Moves::Limit,
        }
    }
}

/// Turns and lengthens slots whose ends a setting has moved, so that they still run from end to end.
pub(super) fn follow_slots(model: &Model, params: &mut [f64]) {
    for (i, c) in model.mechanism.constraints.iter().enumerate() {
        let Joint::Slot(slot) = model.joints[i] else {
            continue;
        };
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
            Constraint::OnLine {
                through, direction, ..
            } => {
                if let Some(end) = model.anchor_of(slot.within, slot.ends[1]) {
                    let [was, now] = [between(drawn, through, end), between(params, through, end)];
                    params[direction] += wrap(now[1].atan2(now[0]) - was[1].atan2(was[0]));
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
