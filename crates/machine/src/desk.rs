//! Where the reading of a file is done: the problems found so far and the names in the file.

use std::collections::HashMap;

use quantity::Unit;

use crate::declared::tidy;
use crate::diagnostic::{Diagnostic, Severity};
use crate::model::Place;
use crate::nearest::nearest;
use crate::sources::Sources;
use crate::words::{LISTED, clip, list_of, show};

/// What a name can stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Plane,
    /// Points and hole rows.
    Point,
    /// The frame, parts and shafts.
    Part,
    Rod,
    Slide,
    Slot,
    Gear,
    Rack,
    Belt,
    Cam,
    Geneva,
    Row,
    Drive,
    Setting,
    Face,
    Reading,
    Stop,
    Ask,
    Material,
    Joint,
    Tolerance,
    Load,
    Spring,
    Case,
    Stiffness,
    Detent,
    Clamp,
    Bolts,
    Motor,
    Push,
    Piece,
    Purchase,
}

impl Kind {
    const ALL: [Kind; 32] = [
        Kind::Plane,
        Kind::Point,
        Kind::Part,
        Kind::Rod,
        Kind::Slide,
        Kind::Slot,
        Kind::Gear,
        Kind::Rack,
        Kind::Belt,
        Kind::Cam,
        Kind::Geneva,
        Kind::Row,
        Kind::Drive,
        Kind::Setting,
        Kind::Face,
        Kind::Reading,
        Kind::Stop,
        Kind::Ask,
        Kind::Material,
        Kind::Joint,
        Kind::Tolerance,
        Kind::Load,
        Kind::Spring,
        Kind::Case,
        Kind::Stiffness,
        Kind::Detent,
        Kind::Clamp,
        Kind::Bolts,
        Kind::Motor,
        Kind::Push,
        Kind::Piece,
        Kind::Purchase,
    ];

    /// `point`, as it stands in a heading and in a sentence.
    pub(crate) fn noun(self) -> &'static str {
        match self {
            Kind::Plane => "plane",
            Kind::Point => "point",
            Kind::Part => "part",
            Kind::Rod => "rod",
            Kind::Slide => "slide",
            Kind::Slot => "slot",
            Kind::Gear => "gear",
            Kind::Rack => "rack",
            Kind::Belt => "belt",
            Kind::Cam => "cam",
            Kind::Geneva => "geneva",
            Kind::Row => "row",
            Kind::Drive => "drive",
            Kind::Setting => "setting",
            Kind::Face => "face",
            Kind::Reading => "reading",
            Kind::Stop => "stop",
            Kind::Ask => "ask",
            Kind::Material => "material",
            Kind::Joint => "joint",
            Kind::Tolerance => "tolerance",
            Kind::Load => "load",
            Kind::Spring => "spring",
            Kind::Case => "case",
            Kind::Stiffness => "stiffness",
            Kind::Detent => "detent",
            Kind::Clamp => "clamp",
            Kind::Bolts => "set of bolts",
            Kind::Motor => "motor",
            Kind::Push => "push",
            Kind::Piece => "piece",
            Kind::Purchase => "purchase",
        }
    }

    /// `a point`.
    pub(crate) fn a(self) -> String {
        let article = if self == Kind::Ask { "an" } else { "a" };
        format!("{article} {}", self.noun())
    }
}

/// The names of one kind, by index.
#[derive(Default)]
struct Names {
    index: HashMap<String, usize>,
    list: Vec<(String, Place)>,
}

/// Problems found so far and names in the file.
pub(crate) struct Desk<'s> {
    pub(crate) sources: &'s Sources,
    problems: Vec<Diagnostic>,
    errors: usize,
    names: [Names; Kind::ALL.len()],
    /// How many names may still be compared in search of the one that was meant: bounds the time a large broken file takes.
    patience: usize,
    /// A file could not be read: a name that is not known may be named there.
    partial: bool,
    /// Kinds of which some names were lost in a broken heading.
    lost: Vec<Kind>,
    /// Unit of lengths in messages: that of the machine file.
    unit: Unit,
    /// Points that something refers to.
    used: Vec<bool>,
}

impl<'s> Desk<'s> {
    pub(crate) fn new(sources: &'s Sources) -> Self {
        Self::of_part(sources, false, Unit::Millimetre)
    }

    /// A desk for files of which some may be missing.
    pub(crate) fn of_part(sources: &'s Sources, partial: bool, unit: Unit) -> Self {
        Self {
            sources,
            problems: Vec::new(),
            errors: 0,
            names: std::array::from_fn(|_| Names::default()),
            patience: 1_000_000,
            partial,
            lost: Vec::new(),
            unit,
            used: Vec::new(),
        }
    }

    pub(crate) fn push(&mut self, problem: Diagnostic) {
        self.errors += usize::from(problem.severity == Severity::Error);
        self.problems.push(problem);
    }

    /// Says more in the help of the latest problem.
    pub(crate) fn add_help(&mut self, more: &str) {
        if let Some(last) = self.problems.last_mut() {
            let help = last.help.take();
            last.help = Some(help.map_or_else(|| more.to_owned(), |h| format!("{h}; {more}")));
        }
    }

    /// A length in the unit of the machine file.
    pub(crate) fn show(&self, mm: f64) -> String {
        show(mm, self.unit)
    }

    /// Whether all names are known: no file and no heading was lost.
    pub(crate) fn is_complete(&self) -> bool {
        !self.partial && self.lost.is_empty()
    }

    /// Unit of the machine file.
    pub(crate) fn unit(&self) -> Unit {
        self.unit
    }

    /// Whether a file could not be read.
    pub(crate) fn partial(&self) -> bool {
        self.partial
    }

    /// Notes that names of a kind may be missing because a heading was broken, which was said already.
    pub(crate) fn lose(&mut self, kind: Kind) {
        self.lost.push(kind);
    }

    /// A length in the unit of the machine file, in figures to type.
    pub(crate) fn show_exactly(&self, mm: f64) -> String {
        let text = format!("{:.7}", self.unit.from_inside(mm));
        let number = text.trim_end_matches('0').trim_end_matches('.');
        format!("{number} {}", self.unit)
    }

    /// Notes that something refers to a point.
    fn mark(&mut self, kind: Kind, index: usize) {
        if kind == Kind::Point {
            if self.used.len() <= index {
                self.used.resize(index + 1, false);
            }
            if let Some(used) = self.used.get_mut(index) {
                *used = true;
            }
        }
    }

    /// Whether something refers to a point.
    pub(crate) fn is_used(&self, point: usize) -> bool {
        self.used.get(point) == Some(&true)
    }

    /// How many errors were found so far.
    pub(crate) fn errors(&self) -> usize {
        self.errors
    }

    pub(crate) fn into_problems(self) -> Vec<Diagnostic> {
        self.problems
    }

    /// Gives a name the next index of its kind; the place of the older one when the name is taken.
    pub(crate) fn declare(&mut self, kind: Kind, name: &str, place: Place) -> Result<usize, Place> {
        let names = &mut self.names[kind as usize];
        if let Some(&old) = names.index.get(name) {
            return Err(names.list.get(old).map_or(place, |(_, place)| *place));
        }
        let index = names.list.len();
        names.index.insert(name.to_owned(), index);
        names.list.push((name.to_owned(), place));
        Ok(index)
    }

    /// Index of a name.
    pub(crate) fn find(&self, kind: Kind, name: &str) -> Option<usize> {
        self.names[kind as usize].index.get(name).copied()
    }

    /// The name with this index, as it stands in a sentence.
    pub(crate) fn name(&self, kind: Kind, index: usize) -> String {
        self.names[kind as usize]
            .list
            .get(index)
            .map_or_else(String::new, |(name, _)| clip(name))
    }

    /// Where the name with this index is written.
    pub(crate) fn place(&self, kind: Kind, index: usize) -> Place {
        self.names[kind as usize]
            .list
            .get(index)
            .map_or_else(Place::default, |(_, place)| *place)
    }

    /// The name that was probably meant.
    pub(crate) fn suggest<'a>(&mut self, name: &str, candidates: &[&'a str]) -> Option<&'a str> {
        self.patience = self.patience.checked_sub(candidates.len())?;
        nearest(name, candidates.iter().copied())
    }

    /// The name of one of these kinds that was probably meant.
    pub(crate) fn nearest_of(&mut self, kinds: &[Kind], name: &str) -> Option<String> {
        let names: Vec<String> = kinds
            .iter()
            .flat_map(|&k| &self.names[k as usize].list)
            .map(|(name, _)| name.clone())
            .collect();
        let candidates: Vec<&str> = names.iter().map(String::as_str).collect();
        self.suggest(name, &candidates).map(str::to_owned)
    }

    /// Index of a name that has to be there; an error with the nearest one if it is not.
    pub(crate) fn resolve(&mut self, kind: Kind, name: &str, place: Place) -> Option<usize> {
        if let Some(index) = self.find(kind, name) {
            self.mark(kind, index);
            return Some(index);
        }
        if self.partial || self.lost.contains(&kind) {
            return None;
        }
        let shown = clip(name);
        let other = Kind::ALL
            .into_iter()
            .find(|&k| k != kind && k != Kind::Row && self.find(k, name).is_some());
        if let Some(other) = other {
            let message = format!("`{shown}` is {}, not {}", other.a(), kind.a());
            let problem = Diagnostic::error("unknown-name", message);
            self.push(problem.at(place, format!("{} belongs here", kind.a())));
            return None;
        }
        let names = &self.names[kind as usize].list;
        let left = self.patience.checked_sub(names.len());
        self.patience = left.unwrap_or(self.patience);
        let meant = left.and_then(|_| nearest(name, names.iter().map(|(name, _)| name.as_str())));
        // Where the name stands it is told how it is to be written, and here it is written so.
        if meant.is_some_and(|meant| meant != name && tidy(meant) == name) {
            return None;
        }
        let problem = Diagnostic::error(
            "unknown-name",
            format!("there is no {} `{shown}`", kind.noun()),
        );
        let problem = match meant {
            Some(meant) => problem.at(place, format!("did you mean `{}`?", clip(meant))),
            None if names.is_empty() => problem
                .at(place, "not known")
                .help(format!("this file names no {} yet", kind.noun())),
            None => {
                let few: Vec<&str> = names.iter().take(LISTED).map(|(name, _)| &**name).collect();
                let known = list_of(&few, names.len(), "and");
                problem
                    .at(place, "not known")
                    .help(format!("{}s here: {known}", kind.noun()))
            }
        };
        self.push(problem);
        None
    }
}
