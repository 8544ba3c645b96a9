//! Speed of the solver. Each figure is one line: `ratio NAME VALUE (goal <= VALUE)` against a floor written by hand for that very
//! machine and measured in the same run, or `time NAME VALUE UNIT (goal <= VALUE)`; `>=` where more is better.

mod cams;
mod clock;
mod embosser;
mod floors;
mod machines;
mod map;
mod packet;
mod page;
mod poses;
mod start;
mod whole;

use std::process::ExitCode;

/// A bench: its name, and what it prints.
type Bench = (&'static str, fn());

/// All benches, in the order in which they run.
const BENCHES: &[Bench] = &[
    ("four-bar", poses::four_bar),
    ("ten-parts", poses::ten_parts),
    ("ten-parts-newton", poses::ten_parts_newton),
    ("monte-carlo", poses::monte_carlo),
    ("squeezer", poses::squeezer),
    ("squeezer-newton", poses::squeezer_newton),
    ("coupled-group", poses::coupled_group),
    ("one-pose", poses::one_pose),
    ("two-threads", poses::two_threads),
    ("start", start::start),
    ("page", page::page),
    ("map", whole::map),
    ("clearance", whole::clear),
    ("cams", cams::cams),
    ("load", whole::load),
    ("spread", whole::spread),
    ("packet", packet::packet),
];

fn main() -> ExitCode {
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    for name in &wanted {
        if !BENCHES.iter().any(|b| b.0 == name) {
            let names: Vec<&str> = BENCHES.iter().map(|b| b.0).collect();
            eprintln!(
                "no bench is called `{name}`; there are: {}",
                names.join(", ")
            );
            return ExitCode::from(2);
        }
    }
    for (name, run) in BENCHES {
        if wanted.is_empty() || wanted.iter().any(|w| w == name) {
            run();
        }
    }
    ExitCode::SUCCESS
}
