//! Every bad file in `tests/bad-files` with the text a person is shown for it. `UPDATE=1` writes the texts anew.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use machine::{Severity, read, render_all};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/bad-files")
}

fn files(ending: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == ending))
        .collect();
    files.sort();
    files
}

#[test]
fn every_bad_file_is_answered_as_expected() {
    // Paths in the texts count from the folder.
    std::env::set_current_dir(folder()).unwrap();
    let update = std::env::var_os("UPDATE").is_some();
    let mut wrong = Vec::new();
    let mut codes = BTreeSet::new();
    let toml = files("toml");
    assert!(toml.len() >= 60, "only {} bad files", toml.len());
    for path in &toml {
        let name = path.file_name().unwrap();
        let found = read(Path::new(name));
        assert!(
            !found.problems.is_empty(),
            "{} reads without a word",
            path.display()
        );
        let errors = found
            .problems
            .iter()
            .filter(|p| p.severity == Severity::Error)
            .count();
        assert_eq!(found.machine.is_none(), errors > 0, "{}", path.display());
        codes.extend(found.problems.iter().map(|p| p.code.to_owned()));
        for problem in &found.problems {
            assert!(!problem.message.ends_with('.'), "{}", problem.message);
            assert!(
                problem.help.is_some() || problem.labels.iter().any(|l| !l.text.is_empty()),
                "{}",
                problem.message
            );
        }
        let text = render_all(&found.problems, &found.sources, false);
        let expected = path.with_extension("txt");
        if update {
            std::fs::write(&expected, &text).unwrap();
        } else if std::fs::read_to_string(&expected).unwrap_or_default() != text {
            wrong.push(format!("{}:\n{text}", path.display()));
        }
    }
    assert!(
        wrong.is_empty(),
        "not as expected; look, then run with UPDATE=1:\n{}",
        wrong.join("\n")
    );
    for text in files("txt") {
        assert!(
            text.with_extension("toml").exists(),
            "{} belongs to no file",
            text.display()
        );
    }
    let untried: Vec<String> = codes_in_use()
        .into_iter()
        .filter(|c| !codes.contains(c))
        .collect();
    // These need a file that cannot be kept: see `reading.rs`.
    assert_eq!(
        untried,
        ["cannot-read", "too-large"].map(str::to_owned)[..],
        "kinds of problem without a bad file"
    );
}

/// All codes that stand in the source text of this crate.
fn codes_in_use() -> BTreeSet<String> {
    let mut codes = BTreeSet::new();
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for path in [src.clone(), src.join("works"), src.join("making")]
        .iter()
        .flat_map(|folder| std::fs::read_dir(folder).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_file())
    {
        let text = std::fs::read_to_string(path).unwrap();
        for opening in [
            "Diagnostic::error(",
            "Diagnostic::warning(",
            "fail(",
            "code: ",
        ] {
            for piece in text.split(opening).skip(1) {
                if let Some(code) = piece
                    .trim_start()
                    .strip_prefix('"')
                    .and_then(|rest| rest.split('"').next())
                    && code.chars().all(|c| c.is_ascii_lowercase() || c == '-')
                {
                    codes.insert(code.to_owned());
                }
            }
        }
    }
    codes
}
