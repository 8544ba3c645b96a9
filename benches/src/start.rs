//! The command from start to answer, as a person waits for it.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use crate::clock;

/// Runs of which the median counts.
const RUNS: usize = 31;

/// `check` and `motion` on the embosser.
pub(crate) fn start() {
    let Some(program) = program() else {
        eprintln!("the program cannot be built, so its start is not measured");
        std::process::exit(1);
    };
    for command in ["check", "motion"] {
        match median(&program, command) {
            Some(ms) => clock::time(&format!("start-{command}"), ms, "ms", 50.0),
            None => {
                eprintln!("{command} does not answer on the embosser");
                std::process::exit(1);
            }
        }
    }
}

/// Builds the program as this one was built, and finds it beside this one.
pub(crate) fn program() -> Option<PathBuf> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let built = Command::new(cargo)
        .args([
            "build",
            "--quiet",
            "--profile",
            "bench",
            "--package",
            "bellcrank",
        ])
        .status()
        .ok()?;
    let name = format!("bellcrank{}", std::env::consts::EXE_SUFFIX);
    let program = std::env::current_exe().ok()?.with_file_name(name);
    (built.success() && program.is_file()).then_some(program)
}

/// Milliseconds from start to end of one run, the median of many.
fn median(program: &Path, command: &str) -> Option<f64> {
    let machine =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/strap-embosser/machine.toml");
    let mut times = Vec::with_capacity(RUNS);
    for _ in 0..RUNS {
        let begun = Instant::now();
        let output = Command::new(program)
            .arg(command)
            .arg(&machine)
            .stdin(Stdio::null())
            .output()
            .ok()?;
        times.push(begun.elapsed().as_secs_f64() * 1000.0);
        if !output.status.success() || output.stdout.is_empty() {
            return None;
        }
    }
    times.sort_by(f64::total_cmp);
    times.get(RUNS / 2).copied()
}
