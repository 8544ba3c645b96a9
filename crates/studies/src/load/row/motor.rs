//! A motor that turns another part than the drive is named for: its moment stands in place of the drive's.

use super::super::rig::Rig;
use super::super::shafts::{Push, Shaft};
use super::super::stock::hub_station;
use super::NOTHING;
use machine::model::{FRAME, Moves, PartId};
use mechanics::model::Measure;
use mechanics::tangent::Rates;

/// The part that a motor turns, and its turns for a unit of the drive.
#[derive(Clone, Copy, Debug)]
pub(super) struct Driven {
    part: PartId,
    pub(super) ratio: f64,
}

/// Which motor moves a drive: one on a part that goes with it, and is not the drive's own.
pub(super) fn motor_of(rig: &Rig<'_>, drive: usize, rates: &Rates) -> Option<Driven> {
    let machine = &rig.model.machine;
    let own = match machine.drives.get(drive)?.moves {
        Moves::Turns(part) => part,
        Moves::Slides(_) => FRAME,
    };
    rig.work().motors.iter().find_map(|motor| {
        let ratio = rates.first.get(motor.turns)?[2];
        (motor.turns != own && ratio.abs() > NOTHING).then_some(Driven {
            part: motor.turns,
            ratio,
        })
    })
}

impl Driven {
    /// What its moment works on.
    pub(super) fn measure(self) -> Measure {
        Measure::Angle {
            body: self.part,
            against: FRAME,
            offset: 0.0,
        }
    }

    /// Its moment on a shaft that it turns itself or by an arm; it stands in this row.
    pub(super) fn push(
        self,
        rig: &Rig<'_>,
        shaft: &Shaft,
        params: &[f64],
        row: usize,
    ) -> Option<Push> {
        let datum = params[rig.mechanism.anchors[shaft.axis()].w];
        let clamped = rig.model.machine.parts.get(self.part)?.clamped_to;
        if self.part == shaft.part {
            Some(Push::turning(datum, row))
        } else if clamped == Some(shaft.part) {
            Some(Push::turning(
                hub_station(rig, self.part).unwrap_or(datum),
                row,
            ))
        } else {
            None
        }
    }
}
