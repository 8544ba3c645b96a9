//! Parts as solids: layers along the axis of a turned part, through the thickness of a plate, along the bends of a bent one.

mod bent;
mod line;
mod plate;
mod seats;
mod turned;

pub(super) use line::profile_by;

use crate::step::{Layer, Region, Solid};
use shop::part::{Form, Part};

/// A part as a STEP file.
pub(super) struct Step {
    /// The file.
    pub(super) text: String,
    /// Volume of the solid, mm³.
    pub(super) volume: f64,
    /// What is cut in the part that the solid does not have, in words.
    pub(super) left_out: Option<&'static str>,
}

/// The STEP file of a part.
///
/// # Errors
/// What of the part has no solid here, in words.
pub(super) fn solid(part: &Part) -> Result<Step, String> {
    let (solid, seats) = match shape(part) {
        Ok(solid) => (solid, true),
        // Without what holds it on its shaft, or an arm on it, before none at all.
        Err(why) if part.joined.is_empty() => return Err(why),
        Err(_) => {
            let bare = Part {
                joined: Vec::new(),
                ..part.clone()
            };
            (shape(&bare)?, false)
        }
    };
    Ok(Step {
        text: solid.write(&part.name),
        volume: solid.volume,
        left_out: seats::left_out(part, seats),
    })
}

fn shape(part: &Part) -> Result<Solid, String> {
    match &part.form {
        Form::Plate(p) if p.bends.is_empty() => plate::solid(part, p),
        Form::Plate(_) if !part.joined.is_empty() => Err("a bent part on a shaft".to_owned()),
        Form::Plate(p) => bent::solid(p),
        Form::Turned(t) => turned::solid(part, t),
    }
}

/// A section less what is cut all through it.
fn less_all(mut section: Region, cuts: &[Region]) -> Option<Region> {
    for cut in cuts {
        section = section.less(cut)?;
    }
    Some(section)
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
    use shop::joined::What;
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

    /// A plain round part with a seat, ⌀`d` by `long`, bored `bore`.
    fn round(d: f64, long: f64, bore: Option<f64>, joined: shop::joined::Joined) -> Part {
        let (mut part, base) = sample();
        let step = Step {
            from: 0.0,
            to: long,
            diameter: d,
            class: None,
            thread: None,
            relief: false,
            throw: None,
            chamfer: 0.0,
            sides: 0,
            as_bar: false,
        };
        let fitted = &base.bores[0].fitted;
        let bores = bore.map(|bore| Bore {
            left: true,
            fitted: sized(fitted, bore),
            blind: None,
            throw: None,
        });
        part.section = machine::work::Section::Round(d);
        part.form = Form::Turned(Turned {
            steps: vec![step],
            bores: bores.into_iter().collect(),
            ..Turned::default()
        });
        part.joined = vec![joined];
        part
    }

    fn seat(
        in_shaft: bool,
        shaft: f64,
        length: f64,
        what: shop::joined::What,
    ) -> shop::joined::Joined {
        shop::joined::Joined {
            in_shaft,
            other: "arm".to_owned(),
            shaft,
            hub: 40.0,
            length,
            angle: 0.7,
            middle: Some(30.0),
            under: 0.0,
            what,
        }
    }

    const KEY: shop::joined::Keyway = shop::joined::Keyway {
        width: 6.0,
        height: 6.0,
        in_shaft: 3.5,
        in_hub: 2.8,
        disc: None,
        over: 0.1,
    };

    /// Simpson's rule over a width.
    fn over(half: f64, f: impl Fn(f64) -> f64) -> f64 {
        const N: u32 = 20_000;
        let at = |n: u32| -half + 2.0 * half * f64::from(n) / f64::from(N);
        let weight = |n: u32| match n {
            0 | N => 1.0,
            n if n % 2 == 1 => 4.0,
            _ => 2.0,
        };
        (0..=N).map(|n| weight(n) * f(at(n))).sum::<f64>() * 2.0 * half / f64::from(N) / 3.0
    }

    // A seat of a plunger: a cone from its mouth to its pilot, a truncated cone and a cylinder (any handbook), from either face.
    #[test]
    fn a_seat_is_a_cone_and_its_pilot_from_either_face() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../../examples/strap-embosser/machine.toml");
        let machine = machine::read(&path).machine.unwrap();
        let job = shop::job(&machine, &[]);
        let mut part = job
            .parts
            .iter()
            .find(|p| p.name == "lever-plate")
            .unwrap()
            .clone();
        let Form::Plate(plate) = &mut part.form else {
            panic!("plate")
        };
        let at = plate
            .holes
            .iter()
            .position(|h| h.name == "home-seat")
            .unwrap();
        for (back, degrees) in [(false, 90.0_f64), (true, 90.0), (true, 60.0)] {
            let (whole, with) = {
                let Form::Plate(plate) = &mut part.form else {
                    panic!("plate")
                };
                plate.holes[at].back = back;
                plate.holes[at].sink = degrees.to_radians();
                let mut bare = part.clone();
                if let Form::Plate(p) = &mut bare.form {
                    p.holes.remove(at);
                }
                (shape(&bare).unwrap(), shape(&part).unwrap())
            };
            let Form::Plate(plate) = &part.form else {
                panic!("plate")
            };
            let h = &plate.holes[at];
            let (big, small) = (2.5_f64, shop::part::Opening::diameter(h) / 2.0);
            let cone = (big - small) / (degrees.to_radians() / 2.0).tan();
            let deep = h.blind.unwrap();
            let taken =
                std::f64::consts::PI / 3.0 * cone * (big * big + big * small + small * small)
                    + std::f64::consts::PI * small * small * (deep - cone);
            assert!(with.is_closed());
            let found = whole.volume - with.volume;
            assert!(
                (found - taken).abs() < 1e-6,
                "{back} {degrees}: {found} {taken}"
            );
        }
    }

    // Round shaft R, floor at R - t: each strip of the slot beside its middle is √(R² - w²) - (R - t) deep and as long as the slot is there.
    #[test]
    fn a_keyway_takes_its_slot_out_of_the_shaft() {
        let (r, half) = (10.0_f64, 3.0_f64);
        let part = round(20.0, 60.0, None, seat(true, 20.0, 25.0, What::Key(KEY)));
        let solid = shape(&part).unwrap();
        assert!(solid.is_closed());
        let taken = over(half, |w| {
            let long = 25.0 - 6.0 + 2.0 * (half * half - w * w).max(0.0).sqrt();
            ((r * r - w * w).sqrt() - (r - 3.5)) * long
        });
        let whole = std::f64::consts::PI * r * r * 60.0;
        assert!(
            (solid.volume - (whole - taken)).abs() < 2e-3,
            "{} {}",
            solid.volume,
            whole - taken
        );
    }

    // The same with its end out through the shaft's: one round end and a square one; each strip beside the middle is as deep, and shorter at one end only.
    #[test]
    fn a_keyway_runs_out_through_the_end_of_its_shaft() {
        let (r, half) = (10.0_f64, 3.0_f64);
        for (middle, chamfer) in [
            (47.5, 0.0),
            (12.5, 0.0),
            (47.5, 1.0),
            (12.5, 0.5),
            (49.0, 0.0),
        ] {
            let mut joined = seat(true, 20.0, 25.0, What::Key(KEY));
            joined.middle = Some(middle);
            let mut part = round(20.0, 60.0, None, joined);
            let Form::Turned(t) = &mut part.form else {
                panic!("turned")
            };
            t.steps[0].chamfer = chamfer;
            let solid = shape(&part).unwrap();
            assert!(solid.is_closed(), "{middle} {chamfer}");
            let bare = Part {
                joined: Vec::new(),
                ..part.clone()
            };
            let whole = shape(&bare).unwrap().volume;
            let far: f64 = if middle > 30.0 {
                60.0 - (middle - 12.5)
            } else {
                middle + 12.5
            };
            let taken = over(half, |w| {
                let long = far - half + (half * half - w * w).max(0.0).sqrt();
                let deep = (r * r - w * w).sqrt() - (r - 3.5);
                // A chamfer of 45 degrees took a triangle off each strip: as far as the cone lies inside the round there.
                let part: f64 = (0..2000)
                    .map(|n| {
                        let cone = r - chamfer * (f64::from(n) + 0.5) / 2000.0;
                        ((r * r - w * w).sqrt() - (cone * cone - w * w).sqrt()) * chamfer / 2000.0
                    })
                    .sum();
                deep * long - part
            });
            assert!(
                (whole - solid.volume - taken).abs() < 2e-3,
                "{middle} {chamfer}: {} {taken}",
                whole - solid.volume
            );
        }
    }

    // A disc of ρ whose middle stands ρ over the floor: each strip beside the middle is the segment of the disc within √(R² - w²) (any handbook).
    #[test]
    fn a_woodruff_seat_is_a_half_moon() {
        let key = |width: f64, disc: f64, deep: f64| shop::joined::Keyway {
            width,
            height: deep + 1.5,
            in_shaft: deep,
            in_hub: 1.6,
            disc: Some(disc),
            over: 0.1,
        };
        // 5 x 6.5 and 5 x 9 of DIN 6888 on 20, a number 404 of ANSI B17.2 on 5/8 in (from memory).
        for (d, width, disc, deep) in [
            (20.0_f64, 5.0_f64, 16.0_f64, 4.5_f64),
            (20.0, 5.0, 22.0, 7.0),
            (15.875, 3.175, 12.7, 3.6),
        ] {
            let part = round(
                d,
                60.0,
                None,
                seat(true, d, 25.0, What::Key(key(width, disc, deep))),
            );
            let solid = shape(&part).unwrap();
            assert!(solid.is_closed(), "{disc}");
            let (r, rho) = (d / 2.0, disc / 2.0);
            let taken = over(width / 2.0, |w| {
                let q = r - deep + rho - (r * r - w * w).sqrt();
                rho * rho * (q / rho).acos() - q * (rho * rho - q * q).sqrt()
            });
            let whole = std::f64::consts::PI * r * r * 60.0;
            assert!(
                (whole - solid.volume - taken).abs() < 1e-4,
                "{} {taken}",
                whole - solid.volume
            );
        }
    }

    // Bore R, hub 2.8 over it: each strip beside the middle is R + 2.8 - √(R² - w²) deep, all through.
    #[test]
    fn a_keyway_takes_its_rectangle_out_of_the_hub() {
        let r = 10.0_f64;
        let part = round(
            40.0,
            25.0,
            Some(20.0),
            seat(false, 20.0, 25.0, What::Key(KEY)),
        );
        let solid = shape(&part).unwrap();
        assert!(solid.is_closed());
        let taken = 25.0 * over(3.0, |w| r + 2.8 - (r * r - w * w).sqrt());
        let whole = std::f64::consts::PI * (400.0 - 100.0) * 25.0;
        assert!(
            (solid.volume - (whole - taken)).abs() < 1e-4,
            "{} {}",
            solid.volume,
            whole - taken
        );
    }

    // A round hole between two round walls on one axis: chords of the hole times the wall there.
    #[test]
    fn set_screws_go_through_the_wall_alone() {
        let thread = quantity::thread::parse("M6").unwrap();
        let what = What::SetScrew { thread, count: 2 };
        let part = round(40.0, 25.0, Some(20.0), seat(false, 20.0, 25.0, what));
        let solid = shape(&part).unwrap();
        assert!(solid.is_closed());
        let taken = over(3.0, |w| {
            ((400.0 - w * w).sqrt() - (100.0 - w * w).sqrt()) * 2.0 * (9.0 - w * w).max(0.0).sqrt()
        });
        let whole = std::f64::consts::PI * (400.0 - 100.0) * 25.0;
        assert!(
            (solid.volume - (whole - 2.0 * taken)).abs() < 2e-3,
            "{} {}",
            solid.volume,
            whole - 2.0 * taken
        );
    }

    // The slit from bore to outside; the screw's hole beside it, wide to the slit and tapped beyond: chords again, less half the slit.
    #[test]
    fn a_slit_and_its_screw_open_the_hub() {
        let thread = quantity::thread::parse("M6").unwrap();
        let what = What::Pinch { thread, count: 1 };
        let joined = seat(false, 20.0, 25.0, what);
        let off = joined.screw_at(6.0);
        let part = round(40.0, 25.0, Some(20.0), joined);
        let solid = shape(&part).unwrap();
        assert!(solid.is_closed());
        let slit = 25.0 * over(1.0, |w| (400.0 - w * w).sqrt() - (100.0 - w * w).sqrt());
        let screw = |r: f64| {
            over(r, |x| {
                ((400.0 - (off + x) * (off + x)).sqrt() - 1.0)
                    * 2.0
                    * (r * r - x * x).max(0.0).sqrt()
            })
        };
        let whole = std::f64::consts::PI * (400.0 - 100.0) * 25.0;
        let left = whole - slit - screw(3.3) - screw(3.0);
        assert!(
            (solid.volume - left).abs() < 2e-3,
            "{} {left}",
            solid.volume
        );
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
