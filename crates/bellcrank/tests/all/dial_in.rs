//! Dial in, from the command line.

use crate::common::{Bench, project};

fn embosser() -> String {
    let path = project("examples/strap-embosser/machine.toml");
    path.to_str().unwrap().to_owned()
}

#[test]
fn the_example_is_corrected() {
    let ran = Bench::empty().run(&["dial-in", &embosser()]);
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    for said in [
        "Give rod down-rod 1½ turns longer",
        "0.029 mm of it half the",
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

/// A machine of the starter, and a table of its own motion with a thousandth of noise by turns.
fn table(bench: &Bench, factor: f64) -> String {
    assert_eq!(bench.run(&["new", "press.toml"]).code, Some(0));
    let blank = bench.run(&["dial-in", "press.toml", "--blank"]).out;
    let (_, motion) = bench.json(&["motion", "press.toml", "--json", "--reading", "gap"]);
    let rows = motion["answer"]["rows"].as_array().unwrap();
    let head = blank.lines().find(|l| l.contains(" up (")).unwrap();
    let mut text = format!("{head}\n");
    for (n, row) in rows.iter().enumerate() {
        let at = row["at"].as_f64().unwrap().to_degrees();
        let value = row["cells"][0]["value"].as_f64().unwrap();
        let off = if n % 2 == 0 { 0.001 } else { -0.001 };
        text += &format!(
            "{at:.4},{:.5},{:.5}\n",
            (value + off) * factor,
            (value - off) * factor
        );
    }
    text
}

#[test]
fn what_makes_no_sense_is_not_kept_and_nothing_is_kept_twice() {
    let bench = Bench::empty();
    let inches = table(&bench, 1.0 / 25.4);
    bench.write("inches.csv", &inches);
    let give = |table: &str, keep: bool| {
        let mut args = vec![
            "dial-in",
            "press.toml",
            "--readings",
            table,
            "--uncertainty",
            "0.01mm",
        ];
        if keep {
            args.push("--keep");
        }
        bench.run(&args)
    };
    let ran = give("inches.csv", true);
    assert_eq!(ran.code, Some(1), "{}{}", ran.out, ran.err);
    assert!(ran.out.contains("not kept"), "{}", ran.out);
    assert!(!bench.path("press.log.toml").exists());
    let good: String = table(&bench_again(), 1.0);
    bench.write("good.csv", &good);
    let ran = give("good.csv", true);
    assert!(ran.out.contains("kept in"), "{}{}", ran.out, ran.err);
    assert!(bench.path("press.log.toml").exists());
    let ran = give("good.csv", true);
    assert_eq!(ran.code, Some(2), "{}", ran.out);
    assert!(ran.err.contains("stand in the log already"), "{}", ran.err);
}

fn bench_again() -> Bench {
    Bench::empty()
}

#[test]
fn a_number_in_inches_is_kept_in_inches() {
    let bench = Bench::empty();
    assert_eq!(bench.run(&["new", "press.toml"]).code, Some(0));
    let (_, known) = bench.json(&["sensitivity", "press.toml", "--json"]);
    let dimensions = known["answer"]["readings"][0]["dimensions"]
        .as_array()
        .unwrap();
    let rod = dimensions
        .iter()
        .find(|d| d["dimension"].as_str().unwrap().starts_with("rod "))
        .unwrap();
    let (name, mm) = (
        rod["dimension"].as_str().unwrap(),
        rod["nominal"].as_f64().unwrap(),
    );
    let measured = format!("{name} = {:.4}", (mm + 0.02) / 25.4);
    let ran = bench.run(&[
        "dial-in",
        "press.toml",
        "--unit",
        "in",
        "--measured",
        &measured,
        "--uncertainty",
        "0.001",
        "--keep",
    ]);
    assert_eq!(ran.code, Some(0), "{}{}", ran.out, ran.err);
    let log = std::fs::read_to_string(bench.path("press.log.toml")).unwrap();
    assert!(
        log.contains(" in\"") && log.contains("\"0.001 in\""),
        "{log}"
    );
    let again = bench.run(&["dial-in", "press.toml"]);
    assert_eq!(again.code, Some(0), "{}{}", again.out, again.err);
}

/// What dial-in says of the machine as built with its settings as logged, every other command says too.
#[test]
fn a_logged_correction_counts_for_every_command() {
    let bench = Bench::empty();
    for file in ["machine.toml", "machine.log.toml", "shop.toml"] {
        let text = std::fs::read(project(&format!("examples/strap-embosser/{file}"))).unwrap();
        bench.write(file, text);
    }
    let ran = bench.run(&[
        "dial-in",
        "machine.toml",
        "--job",
        "after correcting",
        "--on",
        "2026-06-10",
        "--at",
        "set = 65 deg",
        "--set",
        "down-rod = 1 turn",
        "--read",
        "least-gap = 0.36 mm",
        "--uncertainty",
        "0.02mm",
        "--keep",
    ]);
    assert!(ran.out.contains("kept in"), "{}{}", ran.out, ran.err);
    let (_, fit) = bench.json(&["dial-in", "machine.toml", "--json"]);
    let (_, check) = bench.json(&["check", "machine.toml", "--as", "built", "--json"]);
    let asks = |answer: &serde_json::Value, path: &str, value: &str| -> Vec<(String, f64)> {
        let list = answer["answer"].pointer(path).unwrap().as_array().unwrap();
        list.iter()
            .filter_map(|a| Some((a["ask"].as_str()?.to_owned(), a[value].as_f64()?)))
            .collect()
    };
    let built = asks(&fit, "/fit/asks", "built");
    let checked = asks(&check, "/asks", "value");
    let mut same = 0;
    for (name, value) in &built {
        // Loaded asks and forces are judged with more than the pose.
        if let Some((_, other)) = checked.iter().find(|c| c.0 == *name)
            && (value - other).abs() < 1e-4
        {
            same += 1;
        }
    }
    assert!(same >= 3, "{built:?} {checked:?}");
    let closest = |list: &[(String, f64)]| list.iter().find(|a| a.0 == "closest").unwrap().1;
    assert!(
        (closest(&built) - closest(&checked)).abs() < 1e-4,
        "{built:?} {checked:?}"
    );
}

#[test]
fn what_is_wrong_with_a_table_is_told_of_the_table() {
    let bench = Bench::empty();
    let good = table(&bench, 1.0);
    let give = |table: &str, more: &[&str]| {
        let mut args = vec![
            "dial-in",
            "press.toml",
            "--readings",
            table,
            "--uncertainty",
            "0.01mm",
        ];
        args.extend(more);
        bench.run(&args)
    };
    // A place outside the range: the table, its line, once for both columns, and not the log that is not there yet.
    let mut lines: Vec<&str> = good.lines().collect();
    let far = "4000,1.0,1.1";
    lines.insert(2, far);
    bench.write("far.csv", lines.join("\n") + "\n");
    let ran = give("far.csv", &[]);
    assert_eq!(ran.code, Some(3), "{}", ran.out);
    assert!(
        ran.err.contains("far.csv:3:1") && !ran.err.contains("log.toml"),
        "{}",
        ran.err
    );
    assert_eq!(ran.err.matches("far.csv:3").count(), 1, "{}", ran.err);
    // What is wrong with an option is told of the option.
    bench.write("good.csv", &good);
    for (more, said) in [
        (&["--zero", "perhaps"][..], "--zero \"perhaps\""),
        (&["--sense", "left"], "--sense \"left\""),
        (&["--drive-zero", "1 mm"], "--drive-zero \"1 mm\""),
        (&["--under", "nothing"], "no load case \"nothing\""),
        (&["--read", "gap = 1"], "--read has nothing to go with"),
    ] {
        let ran = give("good.csv", more);
        assert_eq!(ran.code, Some(2), "{more:?} {}", ran.out);
        assert!(
            ran.err.contains(said) && !ran.err.contains("log.toml"),
            "{}",
            ran.err
        );
    }
    let idle = bench.run(&["dial-in", "press.toml", "--keep"]);
    assert!(idle.err.contains("nothing to keep"), "{}", idle.err);
    // An indicator that counts the other way is read so with --sense.
    let mut turned = String::new();
    for (n, line) in good.lines().enumerate() {
        let cells: Vec<&str> = line.split(',').collect();
        turned += &if n == 0 {
            line.to_owned() + "\n"
        } else {
            let minus = |t: &str| format!("{:.5}", -t.parse::<f64>().unwrap());
            format!("{},{},{}\n", cells[0], minus(cells[1]), minus(cells[2]))
        };
    }
    bench.write("turned.csv", &turned);
    let asked = give("turned.csv", &[]);
    assert!(asked.out.contains("--sense opposite"), "{}", asked.out);
    let read = give("turned.csv", &["--sense", "opposite"]);
    assert!(!read.out.contains("FAULT"), "{}", read.out);
}

#[test]
fn the_sheet_for_the_machine_is_written() {
    let bench = Bench::empty();
    for paper in ["a4", "letter"] {
        let ran = bench.run(&[
            "dial-in",
            &embosser(),
            "--sheet",
            "dial.pdf",
            "--paper",
            paper,
        ]);
        assert_eq!(ran.code, Some(0), "{}{}", ran.out, ran.err);
        let pdf = std::fs::read(bench.path("dial.pdf")).unwrap();
        assert!(pdf.starts_with(b"%PDF") && pdf.len() > 10_000);
    }
    let wrong = bench.run(&["dial-in", &embosser(), "--sheet", "dial.txt"]);
    assert!(wrong.err.contains(".pdf"), "{}", wrong.err);
}

#[test]
fn slips_of_the_options_are_told() {
    let machine = embosser();
    let scale = &["dial-in", "--scale", "--radius", "90mm"][..];
    let drum = &["dial-in", "--scale", "--radius", "90mm", "--on-a", "drum"][..];
    for (args, more, code, said) in [
        (&["dial-in", "--blank"][..], "--keep", 2, "does not go with"),
        (scale, "--step=1e-7", 1, "a step of 0.0000001 mm makes"),
        (scale, "--strip=1mm", 2, "goes round a drum"),
        (drum, "--strip=200mm", 1, "does not go round a drum"),
        (&["check"], "--log=there.toml", 2, "--as is missing"),
        (
            &["check", "--as", "built"],
            "--log=there.toml",
            4,
            "there.toml",
        ),
    ] {
        let args = [args, &[more, machine.as_str()]].concat();
        let ran = Bench::empty().run(&args);
        assert_eq!(ran.code, Some(code), "{args:?}: {}", ran.err);
        let told = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(said), "{args:?}: {}", ran.err);
    }
}
