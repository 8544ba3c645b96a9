//! With what number the program ends.

use std::fmt::Write as _;

use std::process::ExitCode;

/// How it went. The words are those of `--help` and of the guide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exit {
    /// It worked, and every ask is kept.
    Kept,
    /// An ask is missed, or the machine has a fault.
    Missed,
    /// The command was put wrongly.
    Usage,
    /// The machine file has errors.
    File,
    /// A file could not be read or written.
    Disk,
}

impl Exit {
    pub(crate) const ALL: [Self; 5] = [
        Self::Kept,
        Self::Missed,
        Self::Usage,
        Self::File,
        Self::Disk,
    ];

    pub(crate) fn code(self) -> u8 {
        match self {
            Self::Kept => 0,
            Self::Missed => 1,
            Self::Usage => 2,
            Self::File => 3,
            Self::Disk => 4,
        }
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Kept => "it worked; for check: all asks are kept",
            Self::Missed => "an ask is missed, the machine has a fault, or a drive falls short",
            Self::Usage => "wrong use of the command",
            Self::File => "the machine file has errors",
            Self::Disk => "a file could not be read or written",
        }
    }

    /// The list for `--help`.
    pub(crate) fn help() -> String {
        let mut text = String::from("Exit codes:\n");
        for exit in Self::ALL {
            let _ = writeln!(text, "  {}  {}", exit.code(), exit.words());
        }
        text.push_str("Output that nobody reads to its end (a closed pipe) is no error.");
        text
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}
