//! The program: what a person types, and what is shown, drawn and written in answer. Never works anything out itself.

mod cli;
mod page;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run(std::env::args_os())
}
