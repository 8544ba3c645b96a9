//! Everything that has a name, gathered from all files before anything is read, so that order does not matter.

use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Value, entries};
use crate::load::File;
use crate::model::Place;
use crate::words::{clip, list};

/// A named thing as it stands in the file.
pub(crate) struct Named<'a> {
    /// The word of its heading, `shaft` for a shaft.
    pub(crate) section: &'static str,
    pub(crate) entry: Entry<'a>,
}

impl Named<'_> {
    /// `rod front`, as it stands in a sentence.
    pub(crate) fn what(&self) -> String {
        format!("{} {}", self.section, clip(self.entry.name))
    }
}

/// All named things of all files by kind, in file order.
#[derive(Default)]
pub(crate) struct Declared<'a> {
    pub(crate) planes: Vec<Named<'a>>,
    pub(crate) points: Vec<Named<'a>>,
    /// Parts and shafts.
    pub(crate) parts: Vec<Named<'a>>,
    pub(crate) rods: Vec<Named<'a>>,
    pub(crate) slides: Vec<Named<'a>>,
    pub(crate) slots: Vec<Named<'a>>,
    pub(crate) gears: Vec<Named<'a>>,
    pub(crate) racks: Vec<Named<'a>>,
    pub(crate) belts: Vec<Named<'a>>,
    pub(crate) cams: Vec<Named<'a>>,
    pub(crate) genevas: Vec<Named<'a>>,
    pub(crate) rows: Vec<Named<'a>>,
    pub(crate) drives: Vec<Named<'a>>,
    pub(crate) settings: Vec<Named<'a>>,
    pub(crate) faces: Vec<Named<'a>>,
    pub(crate) readings: Vec<Named<'a>>,
    pub(crate) stops: Vec<Named<'a>>,
    pub(crate) asks: Vec<Named<'a>>,
    pub(crate) materials: Vec<Named<'a>>,
    pub(crate) joints: Vec<Named<'a>>,
    pub(crate) tolerances: Vec<Named<'a>>,
    pub(crate) loads: Vec<Named<'a>>,
    pub(crate) springs: Vec<Named<'a>>,
    pub(crate) cases: Vec<Named<'a>>,
    pub(crate) stiffnesses: Vec<Named<'a>>,
    pub(crate) detents: Vec<Named<'a>>,
    pub(crate) clamps: Vec<Named<'a>>,
    pub(crate) bolts: Vec<Named<'a>>,
    pub(crate) motors: Vec<Named<'a>>,
    pub(crate) pushes: Vec<Named<'a>>,
    pub(crate) pieces: Vec<Named<'a>>,
    pub(crate) purchases: Vec<Named<'a>>,
    pub(crate) usual: Option<Entry<'a>>,
    pub(crate) frame: Option<Entry<'a>>,
}

/// The word of each heading, and the kind its names belong to.
const SECTIONS: [(&str, Kind); 33] = [
    ("plane", Kind::Plane),
    ("point", Kind::Point),
    ("part", Kind::Part),
    ("shaft", Kind::Part),
    ("rod", Kind::Rod),
    ("slide", Kind::Slide),
    ("slot", Kind::Slot),
    ("gear", Kind::Gear),
    ("rack", Kind::Rack),
    ("belt", Kind::Belt),
    ("cam", Kind::Cam),
    ("geneva", Kind::Geneva),
    ("row", Kind::Row),
    ("drive", Kind::Drive),
    ("setting", Kind::Setting),
    ("face", Kind::Face),
    ("reading", Kind::Reading),
    ("stop", Kind::Stop),
    ("ask", Kind::Ask),
    ("material", Kind::Material),
    ("joint", Kind::Joint),
    ("tolerance", Kind::Tolerance),
    ("load", Kind::Load),
    ("spring", Kind::Spring),
    ("case", Kind::Case),
    ("stiffness", Kind::Stiffness),
    ("detent", Kind::Detent),
    ("clamp", Kind::Clamp),
    ("bolts", Kind::Bolts),
    ("motor", Kind::Motor),
    ("push", Kind::Push),
    ("piece", Kind::Piece),
    ("purchase", Kind::Purchase),
];

impl<'a> Declared<'a> {
    /// Gathers all names; reports unknown headings, names written twice and names that are not written as names.
    pub(crate) fn gather(desk: &mut Desk, files: &'a [File]) -> Self {
        let mut out = Self::default();
        let nowhere = Place::default();
        // The two names that are always there.
        let _ = desk.declare(Kind::Plane, "front", nowhere);
        let _ = desk.declare(Kind::Part, "frame", nowhere);
        for material in crate::works::given() {
            let _ = desk.declare(Kind::Material, material, nowhere);
        }
        // Rows share the names of points and come behind them, whatever the order of the headings.
        let mut rows = Vec::new();
        for file in files {
            for entry in entries(
                &file.root,
                Place {
                    source: file.source,
                    start: 0,
                    end: 0,
                },
                file.unit,
            ) {
                let Some((section, kind)) = heading(desk, &entry) else {
                    continue;
                };
                let Some(kind) = kind else {
                    if section == "usual" {
                        out.usual(desk, entry);
                    } else {
                        out.frame(desk, entry);
                    }
                    continue;
                };
                let Some(names) = section_entries(desk, section, kind, &entry) else {
                    desk.lose(kind);
                    continue;
                };
                for entry in names {
                    let named = Named { section, entry };
                    if kind == Kind::Row {
                        rows.push(named);
                    } else {
                        out.add(desk, kind, named);
                    }
                }
            }
        }
        for row in rows {
            out.add(desk, Kind::Row, row);
        }
        out
    }

    fn frame(&mut self, desk: &mut Desk, entry: Entry<'a>) {
        if let Some(first) = &self.frame {
            desk.push(
                Diagnostic::error("two-frames", "two frames: a machine has one")
                    .at(entry.place, "again here")
                    .at(first.place, "first written here")
                    .help("put all points that stand still into one `[frame]`"),
            );
        } else {
            self.frame = Some(entry);
        }
    }

    fn usual(&mut self, desk: &mut Desk, entry: Entry<'a>) {
        if let Some(first) = &self.usual {
            desk.push(
                Diagnostic::error("name-twice", "what is usual is written twice")
                    .at(entry.place, "again here")
                    .at(first.place, "first written here")
                    .help("put it all into one `[usual]`"),
            );
        } else {
            self.usual = Some(entry);
        }
    }

    fn add(&mut self, desk: &mut Desk, kind: Kind, named: Named<'a>) {
        let (name, place) = (named.entry.name, named.entry.place);
        check_name(desk, kind, &named);
        let shared = if kind == Kind::Row { Kind::Point } else { kind };
        let fixed = match (kind, name) {
            (Kind::Plane, "front") => Some("the plane `front` is given and cannot be named again"),
            (Kind::Material, name) if crate::works::given().any(|g| g == name) => {
                Some("this material is given and cannot be named again")
            }
            (Kind::Part, "frame") => Some("`frame` is the frame; a part needs another name"),
            _ => None,
        };
        if let Some(message) = fixed {
            desk.push(
                Diagnostic::error("name", message)
                    .at(place, "")
                    .help("give it another name"),
            );
            return;
        }
        if let Err(first) = desk.declare(shared, name, place) {
            desk.push(
                Diagnostic::error(
                    "name-twice",
                    format!("two {}s are called `{}`", shared.noun(), clip(name)),
                )
                .at(place, "again here")
                .at(first, "first written here")
                .help("give one of them another name"),
            );
            return;
        }
        if kind == Kind::Row {
            let _ = desk.declare(Kind::Row, name, place);
        }
        let list = match kind {
            Kind::Plane => &mut self.planes,
            Kind::Point => &mut self.points,
            Kind::Part => &mut self.parts,
            Kind::Rod => &mut self.rods,
            Kind::Slide => &mut self.slides,
            Kind::Slot => &mut self.slots,
            Kind::Gear => &mut self.gears,
            Kind::Rack => &mut self.racks,
            Kind::Belt => &mut self.belts,
            Kind::Cam => &mut self.cams,
            Kind::Geneva => &mut self.genevas,
            Kind::Row => &mut self.rows,
            Kind::Drive => &mut self.drives,
            Kind::Setting => &mut self.settings,
            Kind::Face => &mut self.faces,
            Kind::Reading => &mut self.readings,
            Kind::Stop => &mut self.stops,
            Kind::Ask => &mut self.asks,
            Kind::Material => &mut self.materials,
            Kind::Joint => &mut self.joints,
            Kind::Tolerance => &mut self.tolerances,
            Kind::Load => &mut self.loads,
            Kind::Spring => &mut self.springs,
            Kind::Case => &mut self.cases,
            Kind::Stiffness => &mut self.stiffnesses,
            Kind::Detent => &mut self.detents,
            Kind::Clamp => &mut self.clamps,
            Kind::Bolts => &mut self.bolts,
            Kind::Motor => &mut self.motors,
            Kind::Push => &mut self.pushes,
            Kind::Piece => &mut self.pieces,
            Kind::Purchase => &mut self.purchases,
        };
        list.push(named);
    }
}

/// The entries of one heading.
fn section_entries<'a>(
    desk: &mut Desk,
    section: &str,
    kind: Kind,
    entry: &Entry<'a>,
) -> Option<Vec<Entry<'a>>> {
    let article = if section == "ask" { "an" } else { "a" };
    let help = if section == "point" {
        "write `[point]` and below it a line for each point: `lever-pivot = [0, 0]`".to_owned()
    } else {
        format!("{article} {section} has its name in the heading: `[{section}.NAME]`")
    };
    match entry.node.value {
        Value::Table(_) => {}
        Value::Tables => {
            desk.push(
                Diagnostic::error(
                    "wrong-type",
                    format!("`[[{section}]]` has one pair of brackets too many"),
                )
                .at(entry.place, "")
                .help(help),
            );
            return None;
        }
        _ => {
            desk.push(
                Diagnostic::error("wrong-type", format!("`{section}` is not a table"))
                    .at(entry.node.place, "")
                    .help(help),
            );
            return None;
        }
    }
    let inner = entry.node.entries();
    if section == "point" {
        return Some(inner);
    }
    // `[part]` with `carries` right below it: the name was forgotten, and one word about it is enough.
    if let Some(first) = inner
        .iter()
        .find(|e| !matches!(e.node.value, Value::Table(_) | Value::Tables))
    {
        desk.push(
            Diagnostic::error("wrong-type", format!("this {section} has no name"))
                .at(entry.node.place, "")
                .at(first.place, "belongs to it")
                .help(help),
        );
        desk.lose(kind);
    }
    Some(
        inner
            .into_iter()
            .filter(|e| matches!(e.node.value, Value::Table(_)))
            .collect(),
    )
}

/// The word of a heading and the kind of its names, `None` for the frame. A heading that is nearly right is reported and then taken
/// for the one that was meant, so that what stands below it is known.
fn heading(desk: &mut Desk, entry: &Entry) -> Option<(&'static str, Option<Kind>)> {
    if ["name", "note", "unit", "include", "weight", "shop"].contains(&entry.name) {
        return None;
    }
    let find = |name: &str| {
        let section = SECTIONS.iter().find(|(word, _)| *word == name);
        section.map(|&(word, kind)| (word, Some(kind)))
    };
    if entry.name == "frame" {
        return Some(("frame", None));
    }
    if entry.name == "usual" {
        return Some(("usual", None));
    }
    if let Some(found) = find(entry.name) {
        return Some(found);
    }
    let mut known: Vec<&'static str> = vec![
        "name", "note", "unit", "include", "weight", "shop", "frame", "usual",
    ];
    known.extend(SECTIONS.iter().map(|(word, _)| *word));
    let meant = desk.suggest(entry.name, &known);
    let mut problem = Diagnostic::error(
        "unknown-key",
        format!("a machine file has no `{}`", clip(entry.name)),
    );
    problem = if let Some(meant) = meant {
        problem.at(entry.place, format!("did you mean `{meant}`?"))
    } else {
        let headings: Vec<&str> = known.iter().skip(6).copied().collect();
        problem.at(entry.place, "not known").help(format!(
            "it has name, note, unit, include, weight, shop, and headings for {}",
            headings.join(", ")
        ))
    };
    desk.push(problem);
    meant.and_then(find)
}

fn check_name(desk: &mut Desk, kind: Kind, named: &Named) {
    let name = named.entry.name;
    let good = !name.is_empty()
        && name.split('-').all(|word| {
            !word.is_empty()
                && word
                    .chars()
                    .all(|c| c.is_alphanumeric() && !c.is_uppercase())
        });
    if good {
        return;
    }
    let better = match tidy(name) {
        words if words.is_empty() => format!("{}-1", kind.noun()),
        words => words,
    };
    desk.push(
        Diagnostic::error("name", format!("`{}` is not written as a name", clip(name)))
            .at(named.entry.place, "")
            .help(format!(
                "names are lower-case words with hyphens: `{}`",
                clip(&better)
            )),
    );
}

/// The name as it is to be written: lower-case words with hyphens.
pub(crate) fn tidy(name: &str) -> String {
    let words: Vec<String> = name
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(str::to_lowercase)
        .collect();
    words.join("-")
}

/// A list of names of a kind, for a sentence.
pub(crate) fn names(desk: &Desk, kind: Kind, indices: &[usize]) -> String {
    let names: Vec<String> = indices.iter().map(|&i| desk.name(kind, i)).collect();
    list(&names, "and")
}
