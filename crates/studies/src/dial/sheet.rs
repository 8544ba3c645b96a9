//! What to read: places of a drive for an empty table.

use crate::answers::Quantity;
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::Bench;
use machine::model::Judges;
use std::f64::consts::TAU;

/// An empty table.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    /// The drive to move.
    pub drive: Quantity,
    /// The reading to take.
    pub reading: Quantity,
    /// Places of the drive, inside unit, in rising order.
    pub places: Vec<f64>,
}

/// About so many places: enough to see a wild one, few enough for a patient hand.
const PLACES: f64 = 12.0;

/// Places for readings. Without a reading, the one that is asked for most; without a drive, the first that moves it.
///
/// # Errors
/// The machine has no reading or drive, the drive does not move the reading, or it cannot be brought there.
pub fn blank(
    model: &Model,
    stand: &Stand,
    reading: Option<usize>,
    drive: Option<usize>,
) -> Result<Blank, Refusal> {
    let m = &model.machine;
    let asked = |r: usize| m.asks.iter().filter(|a| a.reading == r).count();
    let most = (0..m.readings.len()).rev().max_by_key(|&r| asked(r));
    let Some(reading) = reading.or(most) else {
        return Err(Refusal::new(
            "the machine has no reading",
            "add one to the file, as [reading.NAME]",
        ));
    };
    let mut bench = Bench::new(model);
    let over = super::system::run_over(model, reading);
    let moves = |bench: &Bench<'_>, d: usize| !over.contains(&d) && bench.depends(reading, d);
    // The drive by which it is asked for, else the first.
    let by_ask = m
        .asks
        .iter()
        .filter(|a| a.reading == reading)
        .find_map(|a| match &a.judges {
            Judges::Per { drive, .. }
            | Judges::Swing { drive, .. }
            | Judges::Anywhere { drive, .. } => Some(*drive),
            Judges::At { when } => when.first().map(|w| w.0),
        });
    let first = (0..m.drives.len()).find(|&d| moves(&bench, d));
    let Some(drive) = drive.or(by_ask.filter(|&d| moves(&bench, d))).or(first) else {
        return Err(Refusal::new(
            format!("no drive moves {}", m.readings[reading].name),
            "name another reading with --reading",
        ));
    };
    if !moves(&bench, drive) {
        return Err(Refusal::new(
            format!(
                "{} does not move {}",
                m.drives[drive].name, m.readings[reading].name
            ),
            "name another drive with --drive",
        ));
    }
    let here = bench.bring(stand)?;
    let Some((_, span)) = bench.span(&here, drive) else {
        return Err(Refusal::new(
            format!("{} cannot move", m.drives[drive].name),
            "",
        ));
    };
    let (low, high) = (span.low.at, span.high.at);
    // A dial has one turn, however often the drive goes round until the machine is back.
    let high = if span.round { low + TAU } else { high };
    let unit = m.drives[drive].unit;
    let step = m.drives[drive]
        .step
        .filter(|s| (high - low) / s <= 2.0 * PLACES)
        .unwrap_or_else(|| unit.to_inside(round_step(unit.from_inside(high - low) / PLACES)));
    // Once round is read from zero on, wherever the machine was drawn.
    let (first, high) = if span.round {
        (0.0, high - low - 0.5 * step)
    } else {
        ((low / step - 1e-9).ceil(), high)
    };
    let mut places: Vec<f64> = Vec::new();
    let mut n = first;
    while n * step <= high + 1e-9 * step && places.len() < 100 {
        places.push(n * step);
        n += 1.0;
    }
    Ok(Blank {
        drive: model.drive(drive),
        reading: model.reading(reading),
        places,
    })
}

/// The round step (1, 2, 5 times a power of ten) that is at least this.
pub(crate) fn round_step(least: f64) -> f64 {
    if !(least.is_finite() && least > 0.0) {
        return 1.0;
    }
    let power = 10_f64.powf(least.log10().floor());
    let of = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|m| m * power >= least * (1.0 - 1e-9));
    of.unwrap_or(10.0) * power
}

#[cfg(test)]
mod tests {
    use super::round_step;

    #[test]
    fn steps_are_round() {
        for (least, step) in [
            (0.03, 0.05),
            (1.0, 1.0),
            (1.01, 2.0),
            (7.0, 10.0),
            (120.0, 200.0),
        ] {
            assert!((round_step(least) - step).abs() < 1e-12 * step, "{least}");
        }
        assert_eq!(round_step(f64::NAN), 1.0);
    }
}
