//! Files that cannot be kept in a folder: links, folders, large ones; and how long reading takes.

use std::fmt::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use machine::{Diagnostic, Reading, Severity, read, read_text, render_all};

const SMALL: &str = r#"
[point]
pivot = [0, 0]
pin = [40, 0]

[frame]
carries = ["pivot"]

[part.lever]
carries = ["pivot", "pin"]
"#;

/// The one problem of a reading.
fn only(found: &Reading) -> &Diagnostic {
    assert_eq!(
        found.problems.len(),
        1,
        "{}",
        render_all(&found.problems, &found.sources, false)
    );
    &found.problems[0]
}

#[test]
fn a_small_machine_reads_and_is_named_after_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hand-press.toml");
    std::fs::write(&path, SMALL).unwrap();
    let found = read(&path);
    assert!(found.problems.is_empty());
    assert_eq!(found.machine.unwrap().name, "hand-press");
}

#[test]
fn a_file_that_is_not_there_and_a_folder_are_said_to_be_so() {
    let folder = tempfile::tempdir().unwrap();
    let found = read(&folder.path().join("press.toml"));
    assert!(only(&found).message.ends_with("press.toml is not there"));
    assert_eq!(found.problems[0].code, "cannot-read");
    let found = read(folder.path());
    assert!(only(&found).message.ends_with("is a folder"));
}

#[test]
fn a_large_file_is_refused_without_reading_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.toml");
    // A file of 50 MB that takes no room on the disk.
    std::fs::File::create(&path)
        .unwrap()
        .set_len(50 << 20)
        .unwrap();
    let begin = Instant::now();
    let found = read(&path);
    assert!(begin.elapsed() < Duration::from_millis(200));
    assert_eq!(only(&found).code, "too-large");
    assert!(
        found.problems[0].message.contains("50 MB"),
        "{}",
        found.problems[0].message
    );
    let found = read_text("large.toml", &"#".repeat(5 << 20));
    assert!(only(&found).message.contains("5 MB"));
}

#[cfg(unix)]
#[test]
fn links_do_not_lead_out_of_the_folder() {
    let outside = tempfile::tempdir().unwrap();
    std::fs::write(
        outside.path().join("arm.toml"),
        "[point]\nsecret = [1, 2]\n",
    )
    .unwrap();
    let folder = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink(
        outside.path().join("arm.toml"),
        folder.path().join("arm.toml"),
    )
    .unwrap();
    std::os::unix::fs::symlink(outside.path(), folder.path().join("parts")).unwrap();
    let path = folder.path().join("press.toml");
    for name in ["arm.toml", "parts/arm.toml"] {
        std::fs::write(&path, format!("include = [\"{name}\"]\n{SMALL}")).unwrap();
        let found = read(&path);
        assert_eq!(only(&found).code, "include-outside");
        assert_eq!(found.sources.iter().count(), 1, "the other file was read");
    }
}

#[cfg(unix)]
#[test]
fn a_link_to_the_machine_file_and_links_inside_the_folder_are_fine() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("parts")).unwrap();
    std::fs::write(
        folder.path().join("parts/arm.toml"),
        "unit = \"in\"\n[point]\ntip = [1, 2]\n[part.arm]\ncarries = [\"pin\", \"tip\"]\n",
    )
    .unwrap();
    std::os::unix::fs::symlink(
        folder.path().join("parts/arm.toml"),
        folder.path().join("arm.toml"),
    )
    .unwrap();
    std::fs::write(
        folder.path().join("press.toml"),
        format!("include = [\"arm.toml\"]\n{SMALL}"),
    )
    .unwrap();
    std::os::unix::fs::symlink(
        folder.path().join("press.toml"),
        folder.path().join("other.toml"),
    )
    .unwrap();
    let found = read(&folder.path().join("other.toml"));
    let machine = found
        .machine
        .unwrap_or_else(|| panic!("{}", render_all(&found.problems, &found.sources, false)));
    let tip = machine.points.iter().find(|p| p.name == "tip").unwrap();
    // The included file counts in inches.
    assert!((tip.x - 25.4).abs() < 1e-12 && (tip.y - 50.8).abs() < 1e-12);
    assert_eq!(tip.place.source, 1);
}

#[test]
fn a_file_in_a_folder_below_counts_from_there() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(folder.path().join("a/b")).unwrap();
    std::fs::write(
        folder.path().join("a/one.toml"),
        "include = [\"b/two.toml\"]\n",
    )
    .unwrap();
    std::fs::write(
        folder.path().join("a/b/two.toml"),
        "[point]\ntip = [1, 2]\n[part.arm]\ncarries = [\"pin\", \"tip\"]\n",
    )
    .unwrap();
    let path = folder.path().join("press.toml");
    std::fs::write(&path, format!("include = [\"a/one.toml\"]\n{SMALL}")).unwrap();
    let found = read(&path);
    assert!(
        found.problems.is_empty(),
        "{}",
        render_all(&found.problems, &found.sources, false)
    );
    assert_eq!(found.sources.iter().count(), 3);
}

#[test]
fn a_text_includes_nothing() {
    let found = read_text("x.toml", &format!("include = [\"arm.toml\"]\n{SMALL}"));
    assert_eq!(only(&found).code, "include");
}

#[test]
fn too_many_files_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut names = Vec::new();
    for n in 0..80 {
        std::fs::write(folder.path().join(format!("f{n}.toml")), "").unwrap();
        names.push(format!("\"f{n}.toml\""));
    }
    let path = folder.path().join("press.toml");
    std::fs::write(&path, format!("include = [{}]\n{SMALL}", names.join(", "))).unwrap();
    let found = read(&path);
    assert!(
        found
            .problems
            .iter()
            .all(|p| p.message == "more than 64 files")
    );
    assert!(!found.problems.is_empty());
}

#[test]
fn a_resolved_problem_counts_lines_and_characters_from_one() {
    let text = "note = \"größer\"\n[part.häng]\nx = 1\n".replace("[part.häng]", "[part.\"häng\"]");
    let found = read_text("x.toml", &text);
    let wrong = found
        .problems
        .iter()
        .find(|p| p.code == "unknown-key")
        .unwrap()
        .resolved(&found.sources);
    assert_eq!((wrong.places[0].line, wrong.places[0].column), (3, 1));
    assert_eq!(
        (wrong.places[0].end_line, wrong.places[0].end_column),
        (3, 2)
    );
    assert_eq!(wrong.places[0].text, "x = 1");
    let json = serde_json::to_value(&wrong).unwrap();
    assert_eq!(json["severity"], "error");
    assert_eq!(json["places"][0]["file"], "x.toml");
    let text = "name = \"äöü\" \nnote = \"äöü\" x\n";
    let found = read_text("x.toml", text);
    let wrong = only(&found).resolved(&found.sources);
    assert_eq!((wrong.places[0].line, wrong.places[0].column), (2, 14));
}

#[test]
fn names_from_the_file_cannot_disturb_a_terminal() {
    let found = read_text(
        "x\u{1b}[31m.toml",
        "[part.\"a\\u001b[31mb\"]\ncarries = [\"\\u001b[2J\"]\n",
    );
    for problem in &found.problems {
        assert!(
            !problem.render(&found.sources, false).contains('\u{1b}'),
            "{}",
            problem.message
        );
    }
    assert!(!found.problems.is_empty());
}

/// A machine of 300 lines: a chain of levers with their rods and readings.
fn ordinary(levers: usize) -> String {
    let mut text = String::from("[point]\n");
    for n in 0..levers {
        let _ = writeln!(
            text,
            "pivot-{n} = [{}, 0]\npin-{n} = {{ from = \"pivot-{n}\", reach = \"1 1/4 in\", angle = \"{} deg\" }}",
            n * 100,
            30 + n % 20
        );
    }
    let pivots: Vec<String> = (0..levers).map(|n| format!("\"pivot-{n}\"")).collect();
    let _ = writeln!(text, "\n[frame]\ncarries = [{}]\n", pivots.join(", "));
    for n in 0..levers {
        let _ = writeln!(
            text,
            "[part.lever-{n}]\ncarries = [\"pivot-{n}\", \"pin-{n}\"]\n"
        );
        if n > 0 {
            let _ = writeln!(
                text,
                "[rod.rod-{n}]\njoins = [\"pin-{}\", \"pin-{n}\"]\nthread = \"M8\"\n",
                n - 1
            );
        }
    }
    text.push_str("[drive.set]\nturns = \"lever-0\"\nrange = [\"0 deg\", \"75 deg\"]\n");
    text
}

#[test]
fn an_ordinary_file_reads_in_no_time() {
    let text = ordinary(32);
    assert!(
        (280..340).contains(&text.lines().count()),
        "{}",
        text.lines().count()
    );
    let mut best = Duration::MAX;
    for _ in 0..20 {
        let begin = Instant::now();
        let found = read_text("x.toml", &text);
        best = best.min(begin.elapsed());
        assert!(
            found.problems.is_empty(),
            "{}",
            render_all(&found.problems, &found.sources, false)
        );
    }
    println!("300 lines in {best:?}");
    // Generous: this is not the release build, and the machine may be busy.
    assert!(best < Duration::from_millis(20), "{best:?}");
}

/// Reads a hard text and says how long it took; errors are expected.
fn quick(what: &str, text: &str) -> Reading {
    let begin = Instant::now();
    let found = read_text("x.toml", text);
    let took = begin.elapsed();
    println!(
        "{what}: {} KB, {} problems, {took:?}",
        text.len() / 1024,
        found.problems.len()
    );
    assert!(took < Duration::from_secs(10), "{what}: {took:?}");
    found
}

#[test]
fn very_many_entries_are_still_quick() {
    let mut points = String::from("[point]\np0 = [0, 0]\n");
    for n in 1..20_000 {
        let _ = writeln!(points, "p{n} = {{ from = \"p{}\", by = [1, 0] }}", n - 1);
    }
    let found = quick("a chain of 20 000 points", &points);
    assert!(found.problems.iter().all(|p| p.code != "construction"));

    let circle = points.replace("p0 = [0, 0]", "p0 = { from = \"p19999\", by = [1, 0] }");
    let found = quick("a circle of 20 000 points", &circle);
    assert!(found.problems.iter().any(|p| p.code == "point-circle"));

    let mut unknown = String::from("[point]\n");
    for n in 0..20_000 {
        let _ = writeln!(unknown, "p{n} = {{ from = \"q{n}\", by = [1, 0] }}");
    }
    let found = quick("20 000 unknown names", &unknown);
    assert_eq!(
        found
            .problems
            .iter()
            .filter(|p| p.code == "unknown-name")
            .count(),
        20_000
    );
    // Showing one problem costs the same in a large file as in a small one.
    let begin = Instant::now();
    let shown = render_all(&found.problems[..500], &found.sources, false);
    assert!(
        begin.elapsed() < Duration::from_secs(2),
        "{:?}",
        begin.elapsed()
    );
    assert!(shown.contains("there is no point `q0`"));

    let names: Vec<String> = (0..100_000).map(|n| format!("\"p{}\"", n % 7)).collect();
    quick(
        "a part of 100 000 points",
        &format!(
            "[point]\np1 = [0, 0]\n[frame]\ncarries = []\n[part.a]\ncarries = [{}]\n",
            names.join(", ")
        ),
    );

    let mut parts = String::from("[point]\np = [0, 0]\n[frame]\ncarries = [\"p\"]\n");
    for n in 0..20_000 {
        let _ = writeln!(
            parts,
            "[part.a{n}]\ncarries = [\"p\"]\nclamped-to = \"a{}\"",
            (n + 1) % 20_000
        );
    }
    quick("20 000 arms clamped in a circle", &parts);

    let mut lone = String::from("[point]\n");
    for n in 0..10_000 {
        let _ = writeln!(lone, "p{n} = [{n}, 0]\nq{n} = [{n}, 9]");
    }
    lone.push_str("[frame]\ncarries = []\n");
    for n in 0..10_000 {
        let _ = writeln!(lone, "[part.a{n}]\ncarries = [\"p{n}\", \"q{n}\"]");
    }
    let found = quick("10 000 parts carried nowhere", &lone);
    assert_eq!(
        found
            .problems
            .iter()
            .filter(|p| p.code == "carried-nowhere")
            .count(),
        10_000
    );

    let mut drives = String::from(
        "[point]\np = [0, 0]\nq = [1, 0]\n[frame]\ncarries = [\"p\"]\n[part.a]\ncarries = [\"p\", \"q\"]\n",
    );
    for n in 0..10_000 {
        let _ = writeln!(
            drives,
            "[drive.d{n}]\nturns = \"a\"\nrange = \"whole turn\"\n[reading.r{n}]\nreading = \"r{}\"\nover = \"d{n}\"\ntake = \"least\"",
            (n + 1) % 10_000
        );
    }
    quick("10 000 drives and readings in a circle", &drives);

    quick("100 000 slips", &"a b\n".repeat(100_000));
    quick(
        "one long line of slips",
        &format!("a = [{}]\n", "1 ".repeat(500_000)),
    );
    quick("deep brackets", &format!("a = {}", "[".repeat(1_000_000)));
    quick("deep braces", &format!("a = {}", "{a=".repeat(1_000_000)));
    quick("deep dots", &format!("[{}a]\n", "a.".repeat(300_000)));
    let found = quick(
        "unknown keys",
        &format!(
            "{SMALL}\n{}",
            (0..50_000).fold(String::from("[rod.r]\n"), |t, n| t + &format!("k{n} = 1\n"))
        ),
    );
    assert!(
        found
            .problems
            .iter()
            .filter(|p| p.severity == Severity::Error)
            .count()
            >= 50_000
    );
}

#[test]
fn a_long_line_is_shown_in_part_with_its_true_column() {
    let text = format!(
        "note = \"{}\"\nname = [\"{}\", wrong, \"{}\"]\n",
        "x".repeat(9000),
        "y".repeat(5000),
        "z".repeat(5000)
    );
    let found = read_text("x.toml", &text);
    let shown = only(&found).render(&found.sources, false);
    assert!(shown.len() < 1500, "{shown}");
    assert!(shown.contains("x.toml:2:5013"), "{shown}");
    assert!(shown.contains("wrong"));
    assert!(read(Path::new("")).machine.is_none());
}
