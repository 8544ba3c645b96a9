//! Running the program as a person does, each time in a fresh folder.

pub(crate) mod page;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// A fresh folder that goes away with the test.
pub(crate) struct Bench {
    folder: tempfile::TempDir,
}

/// What came of a command.
pub(crate) struct Ran {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Bench {
    /// An empty folder.
    pub(crate) fn empty() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    /// A folder with `machine.toml`, as `new --kind KIND` writes it.
    pub(crate) fn with(kind: &str) -> Self {
        let bench = Self::empty();
        let ran = bench.run(&["new", "--kind", kind]);
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        bench
    }

    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn write(&self, name: &str, text: impl AsRef<[u8]>) {
        fs::write(self.path(name), text).unwrap();
    }

    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    /// Writes `machine.toml` anew with one piece of its text changed.
    pub(crate) fn change(&self, from: &str, to: &str) {
        let text = self.read("machine.toml");
        assert!(text.contains(from), "the machine has no {from}");
        self.write("machine.toml", text.replacen(from, to, 1));
    }

    /// Names of everything in the folder.
    pub(crate) fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.folder())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    pub(crate) fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bellcrank"));
        command
            .args(args)
            .current_dir(self.folder())
            .env_remove("NO_COLOR")
            .stdin(Stdio::null());
        command
    }

    pub(crate) fn run(&self, args: &[&str]) -> Ran {
        Ran::from(self.command(args).output().unwrap())
    }

    /// Runs and reads the answer as JSON.
    pub(crate) fn json(&self, args: &[&str]) -> (Option<i32>, Value) {
        let ran = self.run(args);
        assert_eq!(ran.err, "", "nothing but JSON is printed");
        let value =
            serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{error}: {}", ran.out));
        (ran.code, value)
    }
}

impl From<Output> for Ran {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

/// A file of the project.
pub(crate) fn project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(path)
}

/// Compares a committed file with what the program prints now; `UPDATE=1` writes it anew.
pub(crate) fn committed(path: &str, now: &str) {
    let file = project(path);
    if std::env::var_os("UPDATE").is_some() {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, now).unwrap();
    }
    let kept = fs::read_to_string(&file).unwrap_or_default();
    assert!(
        kept == now,
        "{path} is out of date; write it anew with UPDATE=1 cargo test -p bellcrank"
    );
}
