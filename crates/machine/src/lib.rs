//! The machine file: reading and checking, with every problem at its line and column. Knows names and files; never knows how a machine
//! moves.
//!
//! [`read`] turns a machine file and what it includes into a [`model::Machine`], whose points are constructed and whose references all
//! hold. All problems of the file are reported at once as [`Diagnostic`]s.

mod asks;
mod build;
mod cams;
mod construct;
mod declared;
mod desk;
mod diagnostic;
mod drives;
pub mod edit;
pub mod equipment;
mod fields;
pub mod fitting;
mod genevas;
mod ground;
mod guides;
mod load;
pub mod logbook;
pub mod making;
pub mod model;
mod nearest;
mod node;
mod parts;
mod planes;
mod points;
mod ratios;
mod readings;
mod rods;
mod rows;
mod settings;
mod shop;
mod sources;
mod syntax;
mod teeth;
mod twice;
mod vector;
mod whole;
mod words;
pub mod work;
mod works;

use std::path::Path;

pub use diagnostic::{Diagnostic, Label, Resolved, ResolvedLabel, Severity, render_all};
pub use model::{Machine, Place};
pub use nearest::nearest;
pub use sources::{Source, Sources, Spot};

/// What came of reading a machine file.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The texts that were read; the machine file is the first.
    pub sources: Sources,
    /// The machine, when nothing is wrong with it.
    pub machine: Option<Machine>,
    /// Everything there is to say about the file, in the order of the file; no error among it when there is a machine.
    pub problems: Vec<Diagnostic>,
}

/// Reads a machine file and the files it includes.
pub fn read(path: &Path) -> Reading {
    reading(load::from_path(path))
}

/// Reads these bytes as though they stood in the machine file at this path, and the files they include.
pub fn read_as(path: &Path, bytes: &[u8]) -> Reading {
    reading(load::from_bytes(path, bytes))
}

/// Reads a machine from a text; `name` stands for the file's name in messages. Nothing can be included, and no shop is read.
pub fn read_text(name: &str, text: &str) -> Reading {
    reading(load::from_text(name, text))
}

fn reading(loaded: load::Loaded) -> Reading {
    let (sources, machine, problems) = build::machine(loaded);
    Reading {
        sources,
        machine,
        problems,
    }
}
