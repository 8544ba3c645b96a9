//! From a machine as drawn to a mechanism as numbers, with the builder's words for every number.
//!
//! - Body `b` of the mechanism is part `b` of the machine; free pins follow behind the parts.
//! - Each part's own axes have their origin at its datum hole and run towards the next hole that stands off it.
//! - Every part has its own hole at a shared point, and so its own anchor; the holes are pinned together.

mod build;
pub(crate) mod cams;
mod derive;
mod dimensions;
mod gauges;
mod groups;
mod indexing;
mod joints;
mod limits;
mod loose;
mod made;
mod meter;

use crate::answers::{Finding, Held, Inside, Outline, Quantity};
use crate::spread::Watch;
use machine::model::{Adjusts, Machine, PartId, PointId};
use mechanics::model::{AnchorId, BodyId, Measure, Mechanism, ParamId};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

pub use dimensions::Dimension;
pub(crate) use groups::{Group, bodies as touched, measured};
pub(crate) use limits::{Limit, Rule};
pub(crate) use loose::Loose;
pub(crate) use made::Left;
pub(crate) use meter::Meter;

/// What an equation of the mechanism stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Joint {
    /// Two parts on one pin.
    Pin { point: PointId, parts: [BodyId; 2] },
    /// A rod's length.
    Rod(usize),
    /// A part on a slide does not turn.
    SlideTurn(usize),
    /// A part on a slide keeps to its line.
    SlideLine(usize),
    /// A pin in a slot.
    Slot(usize),
    /// Gear pair or belt.
    Ratio(usize),
    /// Rack.
    Rack(usize),
    /// A roller on a cam.
    Cam(usize),
    /// A Geneva wheel.
    Geneva(usize),
    /// An arm clamped at its clock angle.
    Clamp(PartId),
    /// A free pin has no turn of its own.
    FreePin(PointId),
    /// A drive, held.
    Drive(usize),
    /// A freedom that no drive holds, held as drawn.
    Held(usize),
}

/// How a setting moves the parameters.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Moves {
    /// Each parameter by this much for one of the setting's unit.
    Straight(Vec<(ParamId, f64)>),
    /// The two own coordinates of the hole in use, and the own places of all holes.
    Row {
        u: ParamId,
        v: ParamId,
        holes: Vec<[f64; 2]>,
        used: usize,
    },
    /// A stop's limit: no parameter.
    Limit,
}

/// A reading as the mechanics measure it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Gauge {
    /// One pose.
    Pose(Measure),
    /// Another reading over a drive.
    Over {
        reading: usize,
        drive: usize,
        take: machine::model::Take,
    },
}

/// A machine put together: its mechanism and what every number of it means.
#[derive(Clone, Debug)]
pub struct Model {
    pub(crate) machine: Machine,
    pub(crate) mechanism: Mechanism,
    /// Per point: bodies that carry it and their anchors, the frame first.
    pub(crate) carriers: Vec<Vec<(BodyId, AnchorId)>>,
    /// Per body beyond the parts: the free pin.
    pub(crate) free_pins: Vec<PointId>,
    pub(crate) dimensions: Vec<Dimension>,
    /// One a constraint of the mechanism.
    pub(crate) joints: Vec<Joint>,
    /// Per drive: its parameter, and the parameter's value when the drive is at zero.
    pub(crate) drives: Vec<(ParamId, f64)>,
    pub(crate) settings: Vec<Moves>,
    pub(crate) gauges: Vec<Gauge>,
    pub(crate) limits: Vec<Limit>,
    pub(crate) groups: Vec<Group>,
    /// Per body: index into `groups`; none for the frame.
    pub(crate) group_of: Vec<Option<usize>>,
    /// Freedoms that no drive holds.
    pub(crate) loose: Vec<Loose>,
    /// Per cam of the machine: its shape; none where the drawing leaves none.
    pub(crate) cams: Vec<Option<cams::Shape>>,
    /// How they look.
    pub(crate) outlines: Arc<Vec<Outline>>,
    /// What is wrong with the drawing itself.
    pub(crate) faults: Vec<Finding>,
    /// What is open about a machine that was read; none for a drawn one.
    pub(crate) left: Option<Arc<Left>>,
    /// Set when nobody waits for an answer any more.
    pub(crate) unwanted: Option<Arc<AtomicBool>>,
    /// Work done for one question, where that is counted.
    pub(crate) meter: Option<Arc<Meter>>,
}

/// Values of all drives and settings, in the machine file's sense.
#[derive(Clone, Debug, PartialEq)]
pub struct Stand {
    /// One a drive, rad or mm.
    pub drives: Vec<f64>,
    /// One a setting: mm, rad, or the number of the hole.
    pub settings: Vec<f64>,
    /// Drives that somebody put where they are, by index: no load case moves them elsewhere.
    pub put: Vec<usize>,
}

impl Stand {
    /// Puts a drive somewhere, so that no load case moves it elsewhere. An index beyond the drives does nothing.
    pub fn put(&mut self, drive: usize, value: f64) {
        if let Some(at) = self.drives.get_mut(drive) {
            *at = value;
            if !self.put.contains(&drive) {
                self.put.push(drive);
            }
        }
    }
}

/// Puts a machine together. Never fails: what is wrong with it is told by [`crate::check()`].
pub fn assemble(machine: &Machine) -> Model {
    build::build(machine)
}

impl Model {
    /// The same machine for one question that may be given up: once `unwanted` is set no place can be reached any more, so that whatever
    /// is being worked out ends soon. What comes out then is worth nothing.
    #[must_use]
    pub fn until(&self, unwanted: &Arc<AtomicBool>) -> Self {
        Self {
            unwanted: Some(Arc::clone(unwanted)),
            ..self.metered()
        }
    }

    /// Watches machines being made of this one, and stops with it.
    pub fn watch(&self) -> Watch {
        Watch::until(self.unwanted.as_ref())
    }

    /// Nobody waits for the answer any more.
    pub(crate) fn given_up(&self) -> bool {
        let unwanted = self.unwanted.as_ref();
        unwanted.is_some_and(|unwanted| unwanted.load(Ordering::Relaxed)) || self.spent()
    }

    /// The machine.
    pub fn machine(&self) -> &Machine {
        &self.machine
    }

    /// The mechanism.
    pub fn mechanism(&self) -> &Mechanism {
        &self.mechanism
    }

    /// All dimensions of made parts.
    pub fn dimensions(&self) -> &[Dimension] {
        &self.dimensions
    }

    /// The body of a part.
    pub fn body_of(&self, part: PartId) -> BodyId {
        part
    }

    /// A part's own hole at a point.
    pub fn anchor_of(&self, part: PartId, point: PointId) -> Option<AnchorId> {
        self.carriers
            .get(point)?
            .iter()
            .find(|c| c.0 == part)
            .map(|c| c.1)
    }

    /// Everything as drawn.
    pub fn drawn(&self) -> Stand {
        Stand {
            drives: self.machine.drives.iter().map(|d| d.drawn).collect(),
            settings: self.machine.settings.iter().map(|s| s.drawn).collect(),
            put: Vec::new(),
        }
    }

    /// The parameter vector for these values.
    pub fn params(&self, stand: &Stand) -> Vec<f64> {
        let mut params = self.mechanism.params.clone();
        for (i, moves) in self.settings.iter().enumerate() {
            let value = stand
                .settings
                .get(i)
                .copied()
                .unwrap_or(self.machine.settings[i].drawn);
            match moves {
                Moves::Straight(by) => {
                    for (param, rate) in by {
                        params[*param] += rate * (value - self.machine.settings[i].drawn);
                    }
                }
                Moves::Row { u, v, holes, used } => {
                    // The number of a hole counts from one; between two holes the place runs straight from one to the next.
                    let last = holes.len().saturating_sub(1);
                    let number = (value - 1.0).clamp(0.0, last as f64);
                    let low = (number.floor() as usize).min(last);
                    let high = (low + 1).min(last);
                    let share = number - low as f64;
                    if let (Some(a), Some(b), Some(from)) =
                        (holes.get(low), holes.get(high), holes.get(*used))
                    {
                        params[*u] += a[0] + share * (b[0] - a[0]) - from[0];
                        params[*v] += a[1] + share * (b[1] - a[1]) - from[1];
                    }
                }
                Moves::Limit => {}
            }
        }
        gauges::follow_slots(self, &mut params);
        for (i, (param, zero)) in self.drives.iter().enumerate() {
            let value = stand
                .drives
                .get(i)
                .copied()
                .unwrap_or(self.machine.drives[i].drawn);
            params[*param] = zero + self.machine.drives[i].sense * value;
        }
        params
    }

    /// Name, unit and unit of print of a drive.
    pub fn drive(&self, drive: usize) -> Quantity {
        let d = &self.machine.drives[drive];
        Quantity {
            name: d.name.clone(),
            inside: Inside::of(d.unit),
            unit: d.unit,
        }
    }

    /// Name, unit and unit of print of a setting.
    pub fn setting(&self, setting: usize) -> Quantity {
        let s = &self.machine.settings[setting];
        // A threaded rod is set in turns of its thread, but its value is a length.
        let inside = match s.adjusts {
            Adjusts::Rod(_) | Adjusts::Shim { .. } => Inside::Millimetre,
            Adjusts::Row(_) => Inside::Count,
            Adjusts::Clock(_) => Inside::Radian,
            Adjusts::Stop(stop) => {
                Inside::of(self.machine.readings[self.machine.stops[stop].reading].unit)
            }
        };
        Quantity {
            name: s.name.clone(),
            inside,
            unit: s.unit,
        }
    }

    /// Name, unit and unit of print of a reading.
    pub fn reading(&self, reading: usize) -> Quantity {
        let r = &self.machine.readings[reading];
        Quantity {
            name: r.name.clone(),
            inside: Inside::of(r.unit),
            unit: r.unit,
        }
    }

    /// All drives but one, and all settings, with their values.
    pub fn held(&self, stand: &Stand, but: Option<usize>) -> Vec<Held> {
        let drives = stand
            .drives
            .iter()
            .enumerate()
            .filter(|(i, _)| Some(*i) != but)
            .map(|(i, &value)| Held {
                quantity: self.drive(i),
                value,
                as_drawn: value == self.machine.drives[i].drawn,
            });
        let settings = stand.settings.iter().enumerate().map(|(i, &value)| Held {
            quantity: self.setting(i),
            value,
            as_drawn: value == self.machine.settings[i].drawn,
        });
        drives.chain(settings).collect()
    }

    /// Name of a body: a part, or "pin NAME" for a free pin.
    pub(crate) fn body_name(&self, body: BodyId) -> String {
        match self.machine.parts.get(body) {
            Some(part) => part.name.clone(),
            None => match self.free_pins.get(body - self.machine.parts.len()) {
                Some(&point) => format!("pin {}", self.machine.points[point].name),
                None => String::from("a part"),
            },
        }
    }
}
