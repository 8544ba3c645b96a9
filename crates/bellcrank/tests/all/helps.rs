//! Help, completions and man pages, all from the one definition.

use crate::common::{Bench, committed, project};

const COMMANDS: [&str; 12] = [
    "new",
    "check",
    "motion",
    "cycle",
    "draw",
    "open",
    "sensitivity",
    "load",
    "parts",
    "packet",
    "spread",
    "dial-in",
];

#[test]
fn help_tells_commands_and_exit_codes() {
    let bench = Bench::empty();
    for args in [&["--help"][..], &["-h"]] {
        let ran = bench.run(args);
        assert_eq!(ran.code, Some(0));
        assert_eq!(ran.err, "");
        for command in COMMANDS {
            assert!(ran.out.contains(&format!("\n  {command} ")), "{}", ran.out);
        }
        for hidden in ["completions", "schema", "man "] {
            assert!(!ran.out.contains(&format!("\n  {hidden}")), "{}", ran.out);
        }
        for code in 0..5 {
            assert!(ran.out.contains(&format!("\n  {code}  ")), "{}", ran.out);
        }
    }
    insta::assert_snapshot!(bench.run(&["--help"]).out);
    insta::assert_snapshot!(bench.run(&["motion", "--help"]).out);
}

#[test]
fn without_a_command_the_help_is_shown_as_wrong_use() {
    let ran = Bench::empty().run(&[]);
    assert_eq!(ran.code, Some(2));
    assert_eq!(ran.out, "");
    assert!(ran.err.contains("Usage"), "{}", ran.err);
}

#[test]
fn version_is_told() {
    let ran = Bench::empty().run(&["--version"]);
    assert_eq!(ran.code, Some(0));
    assert_eq!(
        ran.out,
        format!("bellcrank {}\n", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn committed_man_pages_are_up_to_date() {
    let bench = Bench::empty();
    let whole = bench.run(&["man"]);
    assert_eq!(whole.code, Some(0));
    committed("docs/man/bellcrank.1", &whole.out);
    for command in COMMANDS {
        let page = bench.run(&["man", command]);
        assert_eq!(page.code, Some(0));
        assert!(
            page.out
                .contains(&format!("bellcrank {}", command.replace('-', "\\-"))),
            "{}",
            page.out
        );
        committed(&format!("docs/man/bellcrank-{command}.1"), &page.out);
    }
    let ran = bench.run(&["man", "polish"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("motion"), "{}", ran.err);
}

#[test]
fn completions_for_every_shell() {
    let bench = Bench::empty();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let ran = bench.run(&["completions", shell]);
        assert_eq!(ran.code, Some(0));
        assert!(ran.out.contains("sensitivity"), "{shell}: {}", ran.out);
    }
}

#[test]
fn the_guide_tells_every_option_and_exit_code() {
    let guide = ["docs/commands.md", "docs/dial-in.md"]
        .map(|file| std::fs::read_to_string(project(file)).unwrap())
        .concat();
    let bench = Bench::empty();
    for command in COMMANDS {
        assert!(guide.contains(&format!("## {command}")), "{command}");
        let help = bench.run(&[command, "--help"]).out;
        let options = help
            .split_whitespace()
            .filter(|word| word.starts_with("--"));
        for option in options {
            let option = option.trim_matches(|c: char| !(c.is_alphanumeric() || c == '-'));
            if option != "--help" {
                assert!(guide.contains(option), "{command} {option}");
            }
        }
    }
    let help = bench.run(&["--help"]).out;
    let codes = help
        .lines()
        .skip_while(|line| *line != "Exit codes:")
        .skip(1);
    let mut told = 0;
    for line in codes.take_while(|line| line.starts_with("  ")) {
        let (code, words) = line.trim().split_once("  ").unwrap();
        assert!(guide.contains(&format!("| {code} | {words} |")), "{line}");
        told += 1;
    }
    assert_eq!(told, 5);
}

/// Every command of the guide works as printed there, one after the other in one folder.
#[test]
fn the_guide_can_be_followed() {
    let guide = std::fs::read_to_string(project("docs/commands.md")).unwrap();
    let bench = Bench::empty();
    std::fs::create_dir_all(bench.path("examples/strap-embosser")).unwrap();
    std::fs::create_dir_all(bench.path("examples/treadle")).unwrap();
    for file in [
        "examples/strap-embosser/machine.toml",
        "examples/strap-embosser/machine.log.toml",
        "examples/strap-embosser/shop.toml",
        "examples/treadle/machine.toml",
    ] {
        bench.write(file, std::fs::read(project(file)).unwrap());
    }
    let mut followed = 0;
    let mut inside = false;
    for line in guide.lines() {
        if line.starts_with("```") {
            inside = line == "```sh";
        } else if inside && let Some(words) = line.strip_prefix("bellcrank ") {
            let words = split(words);
            // It runs until somebody ends it.
            if words.first().is_some_and(|w| w == "open") {
                continue;
            }
            let args: Vec<&str> = words.iter().map(String::as_str).collect();
            let ran = bench.run(&args);
            // The machine of the example came out a little off: an ask is missed until it is corrected.
            let wanted =
                i32::from(line == "bellcrank dial-in examples/strap-embosser/machine.toml");
            assert_eq!(ran.code, Some(wanted), "{line}\n{}{}", ran.out, ran.err);
            followed += 1;
        }
    }
    assert!(followed >= 10, "{followed}");
}

/// Words as a shell splits them; knows double quotes only.
fn split(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}
