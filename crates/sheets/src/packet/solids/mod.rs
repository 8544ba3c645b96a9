//! Parts as solids: layers along the axis of a turned part, through the thickness of a plate, along the bends of a bent one.

mod bent;
mod line;
mod plate;
mod turned;

pub(super) use line::profile_by;

use crate::step::{Layer, Region, Solid};
use shop::joined::What;
use shop::part::{Form, Part};

/// The STEP file of a part and its volume, mm³.
///
/// # Errors
/// What of the part has no solid here, in words.
pub(super) fn solid(part: &Part) -> Result<(String, f64), String> {
    let solid = shape(part)?;
    Ok((solid.write(&part.name), solid.volume))
}

/// What is cut in a part that its solid does not have, in words.
pub(super) fn left_out(part: &Part) -> Option<&'static str> {
    part.joined.iter().find_map(|j| match j.what {
        What::Key(_) => Some("its keyway"),
        What::SetScrew { .. } if !j.in_shaft => Some("its set screws' holes"),
        What::Pinch { .. } if !j.in_shaft => Some("its slit and the screw's hole"),
        What::Pin(_) => Some("its pin's hole, drilled at assembly"),
        _ => None,
    })
}

fn shape(part: &Part) -> Result<Solid, String> {
    match &part.form {
        Form::Plate(p) if p.bends.is_empty() => plate::solid(p),
        Form::Plate(p) => bent::solid(p),
        Form::Turned(t) => turned::solid(part, t),
    }
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
fn add(
    layers: &mut Vec<Layer>,
    z: [f64; 2],
    low: Region,
    high: Option<Region>,
) -> Result<(), String> {
    put(
        layers,
        match high {
            None => Layer::straight(z, low),
            Some(high) => Layer {
                z,
                low,
                high,
                volume: None,
            },
        },
    )
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use shop::part::{Bore, Cross, Step, Turned};
    use std::path::Path;

    /// A turned part of an example, to be given another form; its bores and holes as samples.
    fn sample() -> (Part, Turned) {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/packet/kinds/machine.toml");
        let machine = machine::read(&path).machine.unwrap();
        let job = shop::job(&machine, &[]);
        let part = job.parts.iter().find(|p| p.name == "cross").unwrap();
        let Form::Turned(t) = &part.form else {
            panic!("turned")
        };
        (part.clone(), t.clone())
    }

    /// The same opening with another diameter.
    fn sized(fitted: &machine::fitting::Fitted, d: f64) -> machine::fitting::Fitted {
        let mut fitted = fitted.clone();
        if let machine::fitting::Fitted::Plain { size, .. } = &mut fitted {
            size.nominal = d;
        }
        fitted
    }

    #[test]
    fn every_kind_of_part_is_closed() {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/packet/kinds/machine.toml");
        let machine = machine::read(&path).machine.unwrap();
        let job = shop::job(&machine, &[]);
        for part in &job.parts {
            let solid = shape(part).unwrap_or_else(|e| panic!("{}: {e}", part.name));
            assert!(solid.is_closed(), "{}", part.name);
        }
    }

    proptest! {
        #[test]
        fn random_turned_parts_are_closed(
            steps in prop::collection::vec((4usize..20, 6.0..40.0f64, prop::option::weighted(0.3, (0.5..4.0f64, 0.0..6.2f64)), prop::bool::ANY), 1..6),
            bores in prop::collection::vec((prop::bool::ANY, 1.0..6.0f64, prop::option::of(0.3..0.9f64), prop::option::weighted(0.3, (0.5..3.0f64, 0.0..6.2f64))), 0..3),
            holes in prop::collection::vec((0.05..0.95f64, 0.0..6.2f64, 0.5..4.0f64, prop::option::of(0.2..0.9f64)), 0..3),
        ) {
            let (mut part, base) = sample();
            let mut t = Turned { steps: Vec::new(), bores: Vec::new(), grooves: Vec::new(), cross: Vec::new(), flats: Vec::new() };
            let mut at = 0.0;
            for (r, long, throw, chamfer) in steps {
                t.steps.push(Step {
                    from: at,
                    to: at + long,
                    diameter: 2.0 * r as f64,
                    class: None,
                    thread: None,
                    relief: false,
                    throw: throw.map(|(e, a)| [e, a]),
                    chamfer: if chamfer { 0.5 } else { 0.0 },
                    sides: 0,
                    as_bar: false,
                });
                at += long;
            }
            let plain = base.bores[0].fitted.clone();
            for (left, d, deep, throw) in bores {
                t.bores.push(Bore {
                    left,
                    fitted: sized(&plain, d),
                    blind: deep.map(|s| s * at),
                    throw: throw.map(|(e, a)| [e, a]),
                });
            }
            for (n, (share, from, d, deep)) in holes.into_iter().enumerate() {
                let place = share * at;
                let outside = t.step_at(place).map_or(1.0, |s| s.diameter);
                t.cross.push(Cross {
                    name: format!("h{n}"),
                    at: place,
                    from,
                    fitted: sized(&plain, d),
                    blind: deep.map(|s| s * outside),
                });
            }
            part.section = machine::work::Section::Round(50.0);
            part.form = Form::Turned(t.clone());
            match shape(&part) {
                Ok(solid) => {
                    prop_assert!(solid.is_closed(), "{t:#?}");
                    // What shop reckons knows no chamfers, and no holes that meet.
                    let simple = t.cross.is_empty() && t.bores.iter().all(|b| b.throw.is_none()) && t.steps.iter().all(|s| s.chamfer == 0.0 && s.throw.is_none());
                    if simple {
                        let reckoned = part.volume();
                        prop_assert!((solid.volume - reckoned).abs() < 1e-6 * reckoned, "{} {reckoned}", solid.volume);
                    }
                }
                Err(why) => prop_assert!(!why.contains("does not close") && !why.contains("missing"), "{why}\n{t:#?}"),
            }
        }
    }
}
