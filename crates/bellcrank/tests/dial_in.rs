//! Dial in, from the command line.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod common;

use common::{Bench, project};

fn embosser() -> String {
    let path = project("examples/strap-embosser/machine.toml");
    path.to_str().unwrap().to_owned()
}

#[test]
fn the_example_is_corrected() {
    let ran = Bench::empty().run(&["dial-in", &embosser()]);
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    for said in [
        "Give rod down-rod 1 turn longer",
        "at set = 45 deg is 0.10",
        "of backlash over set",
        "kN/mm under embossing",
    ] {
        assert!(ran.out.contains(said), "{said}: {}", ran.out);
    }
}

#[test]
fn a_table_is_printed_filled_in_and_kept() {
    let bench = Bench::empty();
    assert_eq!(bench.run(&["new", "press.toml"]).code, Some(0));
    let blank = bench.run(&["dial-in", "press.toml", "--blank"]);
    assert_eq!(blank.code, Some(0), "{}", blank.err);
    let motion = bench.run(&["dial-in", "press.toml"]);
    assert_eq!(motion.code, Some(4));
    assert!(motion.err.contains("has no log"), "{}", motion.err);
    let head = blank.out.lines().next().unwrap().to_owned();
    assert!(head.contains(" up (") && head.contains(" down ("), "{head}");
    // Nothing filled in.
    bench.write("sheet.csv", &blank.out);
    let empty = bench.run(&[
        "dial-in",
        "press.toml",
        "--readings",
        "sheet.csv",
        "--uncertainty",
        "0.01mm",
    ]);
    assert_eq!(empty.code, Some(3));
    assert!(empty.err.contains("no reading in it"), "{}", empty.err);
}

#[test]
fn any_study_can_be_put_on_the_built_machine() {
    let machine = embosser();
    let bench = Bench::empty();
    let (drawn, built) = (
        bench.run(&["check", &machine]),
        bench.run(&["check", &machine, "--as", "built"]),
    );
    assert_eq!(
        (drawn.code, built.code),
        (Some(0), Some(1)),
        "{}",
        built.err
    );
    assert!(built.out.contains("MISSED   closest"), "{}", built.out);
    assert_eq!(
        bench.run(&["check", &machine, "--as", "measured"]).code,
        Some(0)
    );
}
