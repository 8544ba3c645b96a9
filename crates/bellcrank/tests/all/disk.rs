//! Files that are not there, cannot be written, or must not be touched.

use std::io;
use std::process::Stdio;

use crate::common::{Bench, Ran};

#[test]
fn a_missing_file_is_told() {
    let bench = Bench::empty();
    for args in [
        &["check", "none.toml"][..],
        &["motion", "none.toml"],
        &["draw", "none.toml", "-o", "x.svg"],
        &["sensitivity", "none.toml"],
    ] {
        let ran = bench.run(args);
        assert_eq!(ran.code, Some(4), "{args:?}");
        assert_eq!(ran.out, "");
        assert!(ran.err.contains("none.toml"), "{}", ran.err);
        assert!(bench.names().is_empty());
    }
    insta::assert_snapshot!(bench.run(&["check", "none.toml"]).err);
}

#[test]
fn a_folder_is_no_machine_file() {
    let bench = Bench::empty();
    std::fs::create_dir(bench.path("shop")).unwrap();
    let ran = bench.run(&["check", "shop"]);
    assert_eq!(ran.code, Some(4), "{}", ran.err);
    assert!(ran.err.contains("folder"), "{}", ran.err);
    let ran = bench.run(&["new", "shop"]);
    assert_eq!(ran.code, Some(4), "{}", ran.err);
    insta::assert_snapshot!(ran.err);
}

#[test]
fn an_odd_file_is_a_file_with_errors() {
    let bench = Bench::empty();
    bench.write("picture.toml", [0xff, 0xd8, 0xff, 0x00, 0x01]);
    bench.write("empty.toml", "");
    for name in ["picture.toml", "empty.toml"] {
        let ran = bench.run(&["check", name]);
        assert_eq!(ran.code, Some(3), "{name}: {}", ran.err);
        assert!(ran.err.contains(name), "{}", ran.err);
    }
}

#[test]
fn new_never_overwrites() {
    let bench = Bench::empty();
    bench.write("mine.toml", "years of work");
    let ran = bench.run(&["new", "mine.toml"]);
    assert_eq!(ran.code, Some(4));
    assert_eq!(bench.read("mine.toml"), "years of work");
    assert_eq!(bench.names(), ["mine.toml"]);
    insta::assert_snapshot!(ran.err);
}

#[cfg(unix)]
#[test]
fn new_does_not_follow_a_link_to_nowhere() {
    let bench = Bench::empty();
    std::os::unix::fs::symlink("elsewhere.toml", bench.path("machine.toml")).unwrap();
    assert_eq!(bench.run(&["new"]).code, Some(4));
    assert_eq!(bench.names(), ["machine.toml"]);
}

#[test]
fn a_file_takes_the_place_of_the_old_one_whole() {
    let bench = Bench::with("lever");
    bench.write("machine.svg", "old");
    assert_eq!(
        bench
            .run(&["draw", "machine.toml", "-o", "machine.svg"])
            .code,
        Some(0)
    );
    assert!(
        bench.read("machine.svg").starts_with("<?xml")
            || bench.read("machine.svg").starts_with("<svg")
    );
    assert_eq!(bench.names(), ["machine.svg", "machine.toml"]);
}

#[cfg(unix)]
#[test]
fn an_old_file_keeps_its_mode_and_its_link() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let bench = Bench::with("lever");
    let mode = |name: &str| {
        std::fs::metadata(bench.path(name))
            .unwrap()
            .permissions()
            .mode()
            & 0o777
    };
    bench.write("plain.txt", "");
    assert_eq!(mode("machine.toml"), mode("plain.txt"), "like any new file");
    bench.write("real.svg", "old");
    std::fs::set_permissions(
        bench.path("real.svg"),
        std::fs::Permissions::from_mode(0o640),
    )
    .unwrap();
    symlink("real.svg", bench.path("link.svg")).unwrap();
    assert_eq!(
        bench.run(&["draw", "machine.toml", "-o", "link.svg"]).code,
        Some(0)
    );
    assert!(bench.path("link.svg").is_symlink());
    assert!(bench.read("real.svg").contains("<svg"));
    assert_eq!(mode("real.svg"), 0o640);
}

#[test]
fn places_that_cannot_be_written() {
    let bench = Bench::with("lever");
    std::fs::create_dir(bench.path("folder.svg")).unwrap();
    bench.write("file", "");
    let kept = bench.names();
    for target in ["folder.svg", "nowhere/x.svg", "file/x.svg"] {
        for args in [
            &["draw", "machine.toml", "-o", target][..],
            &["motion", "machine.toml", "--plot", target],
        ] {
            let ran = bench.run(args);
            assert_eq!(ran.code, Some(4), "{args:?}: {}", ran.err);
            assert_eq!(ran.out, "");
            assert!(ran.err.contains(target), "{}", ran.err);
            assert_eq!(bench.names(), kept);
        }
    }
    let ran = bench.run(&["new", "nowhere/x.toml"]);
    assert_eq!(ran.code, Some(4));
    insta::assert_snapshot!(ran.err);
}

/// Not even root may make a file there.
#[cfg(target_os = "linux")]
#[test]
fn a_place_where_nothing_may_be_made() {
    let bench = Bench::with("lever");
    for args in [
        &["new", "/proc/machine.toml"][..],
        &["draw", "machine.toml", "-o", "/proc/x.svg"],
    ] {
        let ran = bench.run(args);
        assert_eq!(ran.code, Some(4), "{}", ran.err);
        assert!(ran.err.contains("cannot be written"), "{}", ran.err);
    }
}

#[test]
fn only_pictures_known_by_their_name_are_drawn() {
    let bench = Bench::with("lever");
    for target in ["machine", "machine.pdf", ".svg"] {
        for args in [
            &["draw", "machine.toml", "-o", target][..],
            &["motion", "machine.toml", "--plot", target],
        ] {
            let ran = bench.run(args);
            assert_eq!(ran.code, Some(2), "{args:?}: {}", ran.err);
            assert!(
                ran.err.contains(".svg") && ran.err.contains(".png"),
                "{}",
                ran.err
            );
        }
    }
    assert_eq!(bench.names(), ["machine.toml"]);
}

#[test]
fn a_drawing_does_not_take_the_place_of_the_machine() {
    let bench = Bench::with("lever");
    std::fs::rename(bench.path("machine.toml"), bench.path("machine.svg")).unwrap();
    let before = bench.read("machine.svg");
    let ran = bench.run(&["draw", "machine.svg", "-o", "./machine.svg"]);
    assert_eq!(ran.code, Some(2), "{}", ran.err);
    assert_eq!(bench.read("machine.svg"), before);
}

#[test]
fn a_closed_pipe_is_success() {
    let bench = Bench::with("lever");
    for args in [
        &["--help"][..],
        &["schema"],
        &["man"],
        &["completions", "bash"],
        &["check", "machine.toml"],
        &["check", "machine.toml", "--json"],
        &["motion", "machine.toml", "--step", "0.1 deg"],
        &["sensitivity", "machine.toml"],
    ] {
        let (reader, writer) = io::pipe().unwrap();
        drop(reader);
        let output = bench
            .command(args)
            .stdout(writer)
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        let ran = Ran::from(output);
        assert_eq!(ran.code, Some(0), "{args:?}: {}", ran.err);
        assert_eq!(ran.err, "", "{args:?}");
    }
}

#[test]
fn nobody_listening_to_messages_changes_nothing() {
    let bench = Bench::empty();
    let (reader, writer) = io::pipe().unwrap();
    drop(reader);
    let status = bench
        .command(&["check", "none.toml"])
        .stderr(writer)
        .status()
        .unwrap();
    assert_eq!(status.code(), Some(4));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_the_answer_is_told() {
    let bench = Bench::with("lever");
    for args in [
        &["motion", "machine.toml"][..],
        &["motion", "machine.toml", "--json"],
        &["--help"],
    ] {
        let full = std::fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        let output = bench
            .command(args)
            .stdout(full)
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        let ran = Ran::from(output);
        assert_eq!(ran.code, Some(4), "{args:?}");
        assert!(ran.err.contains("full"), "{}", ran.err);
    }
}
