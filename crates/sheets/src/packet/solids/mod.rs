//! Parts as solids: layers along the axis of a turned part, through the thickness of a plate, along the bends of a bent one.

mod bent;
mod line;
mod plate;
mod turned;

pub(super) use line::profile_by;

use crate::step::{Layer, Region};
use shop::part::{Form, Part};

/// The STEP file of a part and its volume, mm³.
///
/// # Errors
/// What of the part has no solid here, in words.
pub(super) fn solid(part: &Part) -> Result<(String, f64), String> {
    let solid = match &part.form {
        Form::Plate(p) if p.bends.is_empty() => plate::solid(p),
        Form::Plate(p) => bent::solid(p),
        Form::Turned(t) => turned::solid(part, t),
    }?;
    Ok((solid.write(&part.name), solid.volume))
}

/// Heights in order, each once.
fn sorted(mut z: Vec<f64>, from: f64, to: f64) -> Vec<f64> {
    z.retain(|z| *z > from + 1e-9 && *z < to - 1e-9);
    z.extend([from, to]);
    z.sort_by(f64::total_cmp);
    z.dedup_by(|a, b| (*a - *b).abs() < 1e-7);
    z
}

/// A layer more; one with the section of the layer before it makes that one longer.
fn add(layers: &mut Vec<Layer>, z: [f64; 2], low: Region, high: Option<Region>) -> Result<(), String> {
    put(layers, match high {
        None => Layer::straight(z, low),
        Some(high) => Layer {
            z,
            low,
            high,
            volume: None,
        },
    })
}

/// A layer more, as it is.
fn put(layers: &mut Vec<Layer>, layer: Layer) -> Result<(), String> {
    if layer.low.loops.is_empty() {
        return Err("a place where nothing is left".to_owned());
    }
    if !layer.matched() {
        return Err("a chamfer that runs over an edge".to_owned());
    }
    match layers.last_mut() {
        Some(last) if last.goes_on(&layer) => last.z[1] = layer.z[1],
        _ => layers.push(layer),
    }
    Ok(())
}
