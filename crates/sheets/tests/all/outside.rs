//! Packets as other libraries read them: checks/packet.py and its committed results.

use machine::Machine;
use machine::fitting::{Cut, Fitted};
use sheets::{Leaf, Packet, packet};
use shop::contour::Side;
use shop::part::{Form, Opening as _, cut};
use shop::{Job, job};
use std::path::Path;

fn of(example: &str) -> (Machine, Job, Packet) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../checks/packet")
        .join(example)
        .join("machine.toml");
    let machine = machine::read(&path).machine.unwrap();
    let job = job(&machine, &[]);
    let packet = packet(&machine, &job, None, None, None, Leaf::A4);
    (machine, job, packet)
}

fn read() -> serde_json::Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/packet.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// The file that the other library has read is the one that is written now.
fn same(packet: &Packet, name: &str, seen: &serde_json::Value) {
    let text = packet.files.iter().find(|(n, _)| n == name);
    let (_, text) = text.unwrap_or_else(|| panic!("{name} is not written any more"));
    let mut crc = flate2::Crc::new();
    crc.update(text.as_bytes());
    assert_eq!(
        (crc.sum(), text.len() as u64),
        (
            seen["crc"].as_u64().unwrap() as u32,
            seen["bytes"].as_u64().unwrap()
        ),
        "{name} has changed: run checks/packet.py anew"
    );
}

#[test]
fn dxf_is_read_back_without_errors_and_agrees_with_the_model() {
    let all = read();
    let mut files = 0;
    for (example, seen) in all["examples"].as_object().unwrap() {
        let (_, job, packet) = of(example);
        for part in &job.parts {
            let Form::Plate(p) = &part.form else { continue };
            let name = format!("{}.dxf", part.name);
            let seen = &seen["dxf"][&name];
            same(&packet, &name, seen);
            files += 1;
            assert_eq!(
                (&seen["errors"], &seen["fixes"]),
                (&0.into(), &0.into()),
                "{name}"
            );
            let found: Vec<(&str, &str, Vec<f64>)> = seen["found"]
                .as_array()
                .unwrap()
                .iter()
                .map(|e| {
                    let e = e.as_array().unwrap();
                    let numbers = e[2..].iter().map(|x| x.as_f64().unwrap()).collect();
                    (e[0].as_str().unwrap(), e[1].as_str().unwrap(), numbers)
                })
                .collect();
            let there = |kind: &str, layer: &str, wanted: &[f64]| {
                found.iter().any(|(k, l, n)| {
                    *k == kind
                        && *l == layer
                        && wanted.iter().zip(n).all(|(a, b)| (a - b).abs() < 1e-6)
                })
            };
            for h in &p.holes {
                // A fit is not drilled to size, and a thread is drilled for its tap.
                let tapped = matches!(h.fitted, Fitted::Tapped { .. });
                let circle =
                    |layer: &str| there("CIRCLE", layer, &[h.at[0], h.at[1], h.diameter() / 2.0]);
                let layer = match (tapped, h.blind, cut(&h.fitted)) {
                    (true, ..) => "THREAD",
                    (_, Some(_), _) => "BLIND",
                    (_, None, Some(Cut::Drill)) => "DRILL",
                    _ => "FIT",
                };
                assert!(circle(layer), "{name} {}", h.name);
                assert!(layer == "DRILL" || !circle("DRILL"), "{name} {}", h.name);
            }
            for side in p.outline.sides() {
                match side {
                    Side::Line { from, to } => {
                        assert!(
                            there("LINE", "CUT", &[from[0], from[1], to[0], to[1]]),
                            "{name}"
                        );
                    }
                    Side::Arc { centre, radius, .. } => {
                        assert!(
                            there("ARC", "CUT", &[centre[0], centre[1], radius]),
                            "{name}"
                        );
                    }
                }
            }
        }
    }
    assert!(files >= 12, "{files}");
}

#[test]
fn solids_are_closed_and_weigh_what_they_should() {
    let all = read();
    let mut solids = 0;
    for (example, seen) in all["examples"].as_object().unwrap() {
        let (_, _, packet) = of(example);
        for (part, volume) in &packet.volumes {
            let name = format!("{part}.step");
            let seen = &seen["step"][&name];
            same(&packet, &name, seen);
            solids += 1;
            assert_eq!(seen["solids"], 1, "{name}");
            assert_eq!(
                (&seen["closed"], &seen["valid"]),
                (&true.into(), &true.into()),
                "{name}"
            );
            let read = seen["volume"].as_f64().unwrap();
            assert!(
                (read - volume).abs() < 1e-6 * volume,
                "{name}: {read} and {volume}"
            );
        }
    }
    assert!(solids >= 20, "{solids}");
}

/// The front view that the other library has read is the one that is drawn now; the words beside it may change.
fn same_view(packet: &Packet, name: &str, seen: &serde_json::Value) {
    let text = packet.files.iter().find(|(n, _)| n == name);
    let (_, text) = text.unwrap_or_else(|| panic!("{name} is not written any more"));
    let view = text.split("<g class=\"part\"").nth(1).unwrap();
    // Where it stands on the paper may change too.
    let view = view.split_once('>').unwrap().1;
    let view = view.split("</g>").next().unwrap();
    let mut crc = flate2::Crc::new();
    crc.update(view.as_bytes());
    assert_eq!(
        u64::from(crc.sum()),
        seen["crc"].as_u64().unwrap(),
        "{name} is drawn otherwise: run checks/packet.py anew"
    );
}

/// Numbers of a list of lists.
fn rows(value: &serde_json::Value) -> Vec<Vec<f64>> {
    let row = |v: &serde_json::Value| -> Vec<f64> {
        v.as_array()
            .unwrap()
            .iter()
            .map(|x| x.as_f64().unwrap())
            .collect()
    };
    value.as_array().unwrap().iter().map(row).collect()
}

/// Diameter of the circle that a hole is drawn with: a thread by its minor diameter (ISO 6410-1).
fn drawn(fitted: &Fitted) -> f64 {
    match fitted {
        Fitted::Tapped { thread, .. } => thread.major - 1.0825 * thread.pitch,
        other => shop::part::diameter(other),
    }
}

#[test]
fn drawings_as_svg_agree_with_the_model_to_a_nanometre() {
    let all = read();
    let mut places = 0;
    for (example, seen) in all["examples"].as_object().unwrap() {
        let (_, job, packet) = of(example);
        for part in &job.parts {
            let Form::Plate(p) = &part.form else { continue };
            let name = format!("{}.svg", part.name);
            let seen = &seen["svg"][&name];
            same_view(&packet, &name, seen);
            let (circles, corners) = (rows(&seen["circles"]), rows(&seen["corners"]));
            let there = |all: &[Vec<f64>], wanted: &[f64]| {
                let near =
                    |one: &Vec<f64>| wanted.iter().zip(one).all(|(a, b)| (a - b).abs() < 1e-6);
                assert!(all.iter().any(near), "{example} {name}: {wanted:?}");
            };
            for h in &p.holes {
                there(&circles, &[h.at[0], h.at[1], drawn(&h.fitted) / 2.0]);
                places += 1;
            }
            for side in p.outline.sides() {
                there(&corners, &side.at(1.0));
                places += 1;
            }
        }
    }
    assert!(places > 80, "{places}");
}

#[test]
fn drawings_in_the_pdf_agree_with_the_model_as_far_as_its_numbers_go() {
    let all = read();
    let mut distances = 0;
    for (example, seen) in all["examples"].as_object().unwrap() {
        let (_, job, _) = of(example);
        for part in &job.parts {
            let Form::Plate(p) = &part.form else { continue };
            let seen = &seen["pdf"]["drawings"][&part.name];
            let circles = rows(&seen["circles"]);
            // A PDF's numbers are single precision: 2^-24 of a sheet of 300 mm, in the scale of the drawing.
            let within = 300.0 / 2_f64.powi(24) / seen["factor"].as_f64().unwrap();
            let of_size = |d: f64| circles.iter().filter(move |c| (c[2] - d).abs() < within);
            for (n, h) in p.holes.iter().enumerate() {
                assert!(
                    of_size(drawn(&h.fitted)).next().is_some(),
                    "{example} {} {}: {}",
                    part.name,
                    h.name,
                    drawn(&h.fitted)
                );
                for other in &p.holes[..n] {
                    let wanted = [h.at[0] - other.at[0], h.at[1] - other.at[1]];
                    let apart = |a: &Vec<f64>, b: &Vec<f64>| {
                        (0..2).all(|i| (a[i] - b[i] - wanted[i]).abs() < within)
                    };
                    let found = of_size(drawn(&h.fitted))
                        .any(|a| of_size(drawn(&other.fitted)).any(|b| apart(a, b)));
                    assert!(found, "{example} {}: {} {}", part.name, h.name, other.name);
                    distances += 1;
                }
            }
        }
    }
    assert!(distances > 20, "{distances}");
}

#[test]
fn bars_of_every_sheet_are_a_hundred_millimetres() {
    for (example, seen) in read()["examples"].as_object().unwrap() {
        let bars = seen["pdf"]["bars"].as_array().unwrap();
        assert!(!bars.is_empty());
        for bar in bars {
            let bar = bar.as_f64().unwrap_or(0.0);
            // Single precision on a sheet of 300 mm; 283.4646 points at 72 an inch.
            assert!((bar - 100.0).abs() < 4e-5, "{example}: {bar}");
            assert!(
                (bar * 72.0 / 25.4 - 283.4646).abs() < 1e-4,
                "{example}: {bar}"
            );
        }
    }
}
