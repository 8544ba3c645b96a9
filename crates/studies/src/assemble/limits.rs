//! Where the machine cannot go on though its joints could: stops and the ends of slots.

use super::{Gauge, Model, Stand, groups};
use machine::model::Adjusts;
use mechanics::model::{AnchorId, BodyId, Measure, ParamId, Pose};
use std::f64::consts::{PI, TAU};

/// A limit: the machine may stand where its room is not negative.
#[derive(Clone, Debug)]
pub(crate) struct Limit {
    pub(crate) rule: Rule,
    /// Moving bodies its room depends on.
    pub(crate) bodies: Vec<BodyId>,
}

#[derive(Clone, Debug)]
pub(crate) enum Rule {
    /// A stop's least or greatest value.
    Stop { stop: usize, greatest: bool },
    /// One end of a straight slot: the measure runs from the first end along the slot.
    Straight {
        slot: usize,
        second: bool,
        along: Measure,
        ends: [AnchorId; 2],
        direction: ParamId,
    },
    /// One end of an arc slot.
    Arc {
        slot: usize,
        second: bool,
        pin: AnchorId,
        centre: AnchorId,
        ends: [AnchorId; 2],
    },
}

impl Limit {
    /// Name in the builder's words: "stop lever-end", "end slot-low of slot guide".
    pub(crate) fn name(&self, model: &Model) -> String {
        let m = &model.machine;
        match self.rule {
            Rule::Stop { stop, .. } => format!("stop {}", m.stops[stop].name),
            Rule::Straight { slot, second, .. } | Rule::Arc { slot, second, .. } => {
                let slot = &m.slots[slot];
                format!(
                    "end {} of slot {}",
                    m.points[slot.ends[usize::from(second)]].name,
                    slot.name
                )
            }
        }
    }

    /// How far the machine may still go, mm or rad; negative beyond the limit.
    pub(crate) fn room(
        &self,
        model: &Model,
        settings: &[f64],
        params: &[f64],
        poses: &[Pose],
    ) -> f64 {
        let m = &model.mechanism;
        match &self.rule {
            Rule::Stop { stop, greatest } => {
                let s = &model.machine.stops[*stop];
                let Some(Gauge::Pose(measure)) = model.gauges.get(s.reading) else {
                    return f64::INFINITY;
                };
                let value = m.measure(params, poses, measure);
                let [least, most] = model.stop_limits(*stop, settings);
                if *greatest {
                    most.map_or(f64::INFINITY, |most| most - value)
                } else {
                    least.map_or(f64::INFINITY, |least| value - least)
                }
            }
            Rule::Straight {
                second,
                along,
                ends,
                direction,
                ..
            } => {
                let t = m.measure(params, poses, along);
                if !*second {
                    return t;
                }
                // Length of the slot in the own axes of the part that has it.
                let own = ends.map(|e| [params[m.anchors[e].u], params[m.anchors[e].v]]);
                let (s, c) = params[*direction].sin_cos();
                (own[1][0] - own[0][0]) * c + (own[1][1] - own[0][1]) * s - t
            }
            Rule::Arc {
                second,
                pin,
                centre,
                ends,
                ..
            } => {
                let at = |a: AnchorId| m.in_plane(params, poses, a);
                let centre = at(*centre);
                let towards = |a: AnchorId| {
                    let p = at(a);
                    (p[1] - centre[1]).atan2(p[0] - centre[0])
                };
                let (from, to, pin) = (towards(ends[0]), towards(ends[1]), towards(*pin));
                let arm = (at(ends[0])[0] - centre[0]).hypot(at(ends[0])[1] - centre[1]);
                // The pin as drawn says which of the two arcs is the slot; `way` is kept with the slot.
                let way = model.arc_way(self);
                let turn = (way * (to - from)).rem_euclid(TAU);
                let from_middle = wrap(way * (pin - from) - 0.5 * turn);
                arm * (0.5 * turn + if *second { -from_middle } else { from_middle })
            }
        }
    }
}

/// Into −π .. π.
pub(crate) fn wrap(angle: f64) -> f64 {
    let turned = (angle + PI).rem_euclid(TAU) - PI;
    if turned <= -PI { PI } else { turned }
}

impl Model {
    /// Least and greatest value a stop allows with these settings.
    pub(crate) fn stop_limits(&self, stop: usize, settings: &[f64]) -> [Option<f64>; 2] {
        let s = &self.machine.stops[stop];
        let mut limits = [s.at_least, s.at_most];
        for (i, setting) in self.machine.settings.iter().enumerate() {
            if setting.adjusts == Adjusts::Stop(stop)
                && let Some(&value) = settings.get(i)
            {
                // A stop with two limits is set at its greatest.
                let which = usize::from(limits[1].is_some());
                limits[which] = Some(value);
            }
        }
        limits
    }

    /// +1 when the arc of a slot runs counter-clockwise from its first end to its second.
    fn arc_way(&self, limit: &Limit) -> f64 {
        let Rule::Arc {
            pin, centre, ends, ..
        } = limit.rule
        else {
            return 1.0;
        };
        let (m, params, drawn) = (
            &self.mechanism,
            &self.mechanism.params,
            &self.mechanism.drawn,
        );
        let c = m.in_plane(params, drawn, centre);
        let towards = |a: AnchorId| {
            let p = m.in_plane(params, drawn, a);
            (p[1] - c[1]).atan2(p[0] - c[0])
        };
        let whole = (towards(ends[1]) - towards(ends[0])).rem_euclid(TAU);
        let part = (towards(pin) - towards(ends[0])).rem_euclid(TAU);
        // A pin drawn at an end within rounding belongs to the shorter arc.
        let at_end = part.min(TAU - part).min((part - whole).abs()) < 1e-9;
        if (at_end && whole <= PI) || (!at_end && part < whole) {
            1.0
        } else {
            -1.0
        }
    }

    /// The limits of the machine.
    pub(super) fn find_limits(&self, slot_params: &[Option<ParamId>]) -> Vec<Limit> {
        let mut limits = Vec::new();
        for (i, stop) in self.machine.stops.iter().enumerate() {
            let Some(Gauge::Pose(measure)) = self.gauges.get(stop.reading) else {
                continue;
            };
            let bodies = groups::measured(&self.mechanism, measure);
            let drawn = self
                .machine
                .settings
                .iter()
                .map(|s| s.drawn)
                .collect::<Vec<_>>();
            let given = self.stop_limits(i, &drawn);
            for greatest in [false, true] {
                if given[usize::from(greatest)].is_some() {
                    limits.push(Limit {
                        rule: Rule::Stop { stop: i, greatest },
                        bodies: bodies.clone(),
                    });
                }
            }
        }
        for (i, slot) in self.machine.slots.iter().enumerate() {
            let (Some(pin), Some(a), Some(b)) = (
                self.anchor_of(slot.of, slot.pin),
                self.anchor_of(slot.within, slot.ends[0]),
                self.anchor_of(slot.within, slot.ends[1]),
            ) else {
                continue;
            };
            let bodies: Vec<BodyId> = [slot.of, slot.within]
                .into_iter()
                .filter(|&b| b != 0)
                .collect();
            for second in [false, true] {
                let rule = match (slot.centre, slot_params[i]) {
                    (Some(centre), _) => {
                        let Some(centre) = self.anchor_of(slot.within, centre) else {
                            continue;
                        };
                        Rule::Arc {
                            slot: i,
                            second,
                            pin,
                            centre,
                            ends: [a, b],
                        }
                    }
                    (None, Some(direction)) => {
                        let plane = self.machine.points[slot.pin].plane;
                        let along = Measure::AlongBody {
                            a,
                            b: pin,
                            body: slot.within,
                            plane,
                            direction,
                        };
                        Rule::Straight {
                            slot: i,
                            second,
                            along,
                            ends: [a, b],
                            direction,
                        }
                    }
                    (None, None) => continue,
                };
                limits.push(Limit {
                    rule,
                    bodies: bodies.clone(),
                });
            }
        }
        limits
    }

    /// Limits that are passed already.
    pub(crate) fn passed(&self, stand: &Stand, params: &[f64], poses: &[Pose]) -> Vec<usize> {
        let tolerance = 1e-9 * self.mechanism.size(params);
        (0..self.limits.len())
            .filter(|&i| self.limits[i].room(self, &stand.settings, params, poses) < -tolerance)
            .collect()
    }
}
