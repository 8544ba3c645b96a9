//! Readings that are taken over a drive: where they are least or greatest.

use machine::model::Measures;
use schemars::JsonSchema;
use serde::Serialize;
use studies::{Model, Quantity};

use super::numbers::{named, with_unit};

/// A reading that is taken over a drive; its `taken_at` is a value of that drive.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct Over {
    /// The reading.
    pub(crate) reading: String,
    /// The drive.
    pub(crate) drive: Quantity,
}

/// All such readings of a machine.
pub(crate) fn all(model: &Model) -> Vec<Over> {
    let readings = model.machine().readings.iter();
    readings
        .filter_map(|reading| match reading.measures {
            Measures::Over { drive, .. } => Some(Over {
                reading: reading.name.clone(),
                drive: model.drive(drive),
            }),
            _ => None,
        })
        .collect()
}

/// The drive over which this reading is taken.
pub(crate) fn drive<'a>(over: &'a [Over], reading: &Quantity) -> Option<&'a Quantity> {
    let over = over.iter().find(|over| over.reading == reading.name)?;
    Some(&over.drive)
}

/// `at crank 181.25 deg`, for a reading that is taken over a drive; a swing has two places.
pub(crate) fn place(
    over: &[Over],
    reading: &Quantity,
    at: Option<f64>,
    and_at: Option<f64>,
) -> String {
    match (drive(over, reading), at, and_at) {
        (Some(drive), Some(at), Some(and)) => format!(
            "from {} to {}",
            named(drive, at),
            with_unit(and, drive.unit)
        ),
        (Some(drive), Some(at), None) => format!("at {}", named(drive, at)),
        _ => String::new(),
    }
}
