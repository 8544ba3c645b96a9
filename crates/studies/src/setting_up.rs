//! Setting up: what every reading should be as drawn and with each drive at its ends, and what a step of each setting does to it.

use crate::answers::Quantity;
use crate::assemble::{Model, Stand};
use crate::standing::readings;
use machine::model::Adjusts;

/// A pose in which readings are taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// The drive that stands elsewhere than drawn, and where; none as drawn.
    pub moved: Option<(Quantity, f64)>,
    /// One a reading of the machine, inside units; none where it cannot be taken.
    pub values: Vec<Option<f64>>,
}

/// What one step of a setting does, everything else as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct SettingStep {
    /// The setting.
    pub setting: Quantity,
    /// Its step, inside units.
    pub step: f64,
    /// Change of each reading, inside units.
    pub changes: Vec<Option<f64>>,
}

/// What to check when the machine is set up.
#[derive(Clone, Debug, PartialEq)]
pub struct SettingUp {
    /// The readings, in file order.
    pub readings: Vec<Quantity>,
    /// As drawn first.
    pub spots: Vec<Spot>,
    /// One a setting that can be stepped.
    pub effects: Vec<SettingStep>,
}

/// Readings to expect and what settings do to them. Poses that cannot be reached are left out.
pub fn setting_up(model: &Model) -> SettingUp {
    let machine = model.machine();
    let drawn = model.drawn();
    let take = |stand: &Stand| -> Option<Vec<Option<f64>>> {
        let all = readings(model, stand).ok()?;
        Some(all.into_iter().map(|r| r.value).collect())
    };
    let mut spots = Vec::new();
    let first = take(&drawn);
    spots.extend(first.clone().map(|values| Spot {
        moved: None,
        values,
    }));
    for (i, drive) in machine.drives.iter().enumerate() {
        let Some(ends) = drive.range.filter(|_| !drive.whole_turn) else {
            continue;
        };
        for end in ends {
            if (end - drive.drawn).abs() < 1e-12 {
                continue;
            }
            let mut stand = drawn.clone();
            stand.put(i, end);
            spots.extend(take(&stand).map(|values| Spot {
                moved: Some((model.drive(i), end)),
                values,
            }));
        }
    }
    let mut effects = Vec::new();
    for (i, setting) in machine.settings.iter().enumerate() {
        let step = match setting.adjusts {
            Adjusts::Row(_) => Some(1.0),
            Adjusts::Stop(_) => None,
            _ => setting.step,
        };
        let (Some(step), Some(before)) = (step, &first) else {
            continue;
        };
        let mut stand = drawn.clone();
        if let Some(value) = stand.settings.get_mut(i) {
            *value += step;
        }
        if let Some(after) = take(&stand) {
            let change = |(a, b): (&Option<f64>, &Option<f64>)| Some((*b)? - (*a)?);
            effects.push(SettingStep {
                setting: model.setting(i),
                step,
                changes: before.iter().zip(&after).map(change).collect(),
            });
        }
    }
    SettingUp {
        readings: (0..machine.readings.len())
            .map(|r| model.reading(r))
            .collect(),
        spots,
        effects,
    }
}
