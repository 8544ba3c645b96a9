//! The shop papers of the embosser: one drawing, all of them as one PDF. Against what any writer of drawings has to do at the least:
//! format the very numbers that stand in the sheets.

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use sheets::{Leaf, Look, Packet};

use crate::clock;

/// Runs of the whole packet of which the median counts.
const RUNS: usize = 5;
/// A drawing may take so many times as long as formatting its numbers.
const DRAWING: f64 = 150.0;
/// The whole packet with its fonts and its compression may.
const WHOLE: f64 = 250.0;

pub(crate) fn packet() {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/strap-embosser/machine.toml");
    let Some(machine) = machine::read(&path).machine else {
        eprintln!("the embosser does not read");
        std::process::exit(1);
    };
    let job = shop::job(&machine, &[]);
    let mut worst = (0.0, 0.0, String::new());
    for part in &job.parts {
        let draw = || sheets::part_sheet(&machine, part, Leaf::A4).svg(Look::Print);
        let least = floor(&[draw()]);
        let took = clock::median(|| {
            black_box(draw());
        });
        if took > worst.0 {
            worst = (took, least, part.name.clone());
        }
    }
    println!("the slowest drawing is that of {}", worst.2);
    clock::time("drawing", worst.0 / 1e6, "ms", 10.0);
    clock::ratio("drawing", worst.0, worst.1, DRAWING);

    // As the command does it, from the text of the file to the bytes of the PDF.
    let whole = || -> Option<(Packet, Vec<u8>)> {
        let machine = machine::read(&path).machine?;
        let model = studies::assemble(&machine);
        let job = shop::job(&machine, &studies::cams::shapes(&model));
        let setting = sheets::Setting {
            up: studies::setting_up(&model),
            parts: studies::parts::parts(&model),
        };
        let dial = studies::dial::paper(&model, None).ok();
        let packet = sheets::packet(
            &machine,
            &job,
            None,
            Some(&setting),
            dial.as_ref(),
            Leaf::A4,
        );
        let pdf = packet.pdf(&mut |_| ()).ok()?;
        Some((packet, pdf))
    };
    let mut times = Vec::new();
    let mut made = None;
    for _ in 0..RUNS {
        let begun = Instant::now();
        made = whole();
        times.push(begun.elapsed().as_nanos() as f64);
    }
    times.sort_by(f64::total_cmp);
    let Some((packet, pdf)) = made else {
        eprintln!("the packet of the embosser cannot be made");
        std::process::exit(1);
    };
    let all: Vec<String> = (0..packet.len()).filter_map(|n| packet.svg(n)).collect();
    println!("{} sheets, {} bytes of PDF", packet.len(), pdf.len());
    clock::time("packet", times[RUNS / 2] / 1e6, "ms", 2000.0);
    clock::ratio("packet", times[RUNS / 2], floor(&all), WHOLE);
}

/// Time of formatting the numbers of these texts, ns.
fn floor(texts: &[String]) -> f64 {
    let numbers: Vec<f64> = texts
        .iter()
        .flat_map(|t| t.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')))
        .filter_map(|word| word.parse().ok())
        .collect();
    clock::median(|| {
        let mut out = String::with_capacity(numbers.len() * 8);
        for x in &numbers {
            let _ = write!(out, "{x:.3} ");
        }
        black_box(&out);
    })
}
