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

#[test]
fn bars_of_every_sheet_are_a_hundred_millimetres() {
    for (example, seen) in read()["examples"].as_object().unwrap() {
        let bars = seen["pdf"]["bars"].as_array().unwrap();
        assert!(!bars.is_empty());
        for bar in bars {
            let bar = bar.as_f64().unwrap_or(0.0);
            // The PDF library keeps coordinates in single precision.
            assert!((bar - 100.0).abs() < 1e-3, "{example}: {bar}");
        }
    }
}
