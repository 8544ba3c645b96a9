//! Opening the machine file and the files it includes, never outside the machine's folder and never more than a text file should hold.

use std::fs::File as Handle;
use std::io::{ErrorKind, Read as _};
use std::path::{Component, Path, PathBuf};

use quantity::Unit;
use toml_edit::{Document, Table};

use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Node, Shape};
use crate::model::Place;
use crate::sources::Sources;
use crate::syntax;
use crate::words::{clip, figures, safe};

/// Largest file that is read, bytes.
pub(crate) const LARGEST: usize = 4 << 20;
/// Most files in one machine.
const MOST_FILES: usize = 64;

/// One file, taken apart by TOML.
pub(crate) struct File {
    pub(crate) source: usize,
    /// Unit of its bare lengths.
    pub(crate) unit: Unit,
    pub(crate) root: Table,
    /// Name and note; only the machine file has them.
    pub(crate) name: String,
    pub(crate) note: String,
}

/// Everything that was loaded.
#[derive(Default)]
pub(crate) struct Loaded {
    pub(crate) sources: Sources,
    pub(crate) files: Vec<File>,
    /// The shop file.
    pub(crate) shop: Option<File>,
    pub(crate) problems: Vec<Diagnostic>,
    /// A file could not be read, so names may be missing through no fault of the others.
    pub(crate) partial: bool,
}

/// The head of a file; tables are read later.
pub(crate) const HEAD: Shape = Shape {
    a: "a machine file",
    keys: &[
        ("name", "name = \"Strap embosser\""),
        ("note", "note = \"one line about it\""),
        ("unit", "unit = \"mm\""),
        ("include", "include = [\"arms.toml\"]"),
        ("weight", "weight = \"down\""),
        ("shop", "shop = \"shop.toml\""),
    ],
};

const UNITS: [(&str, Unit); 4] = [
    ("mm", Unit::Millimetre),
    ("cm", Unit::Centimetre),
    ("m", Unit::Metre),
    ("in", Unit::Inch),
];

/// Loads the machine file and what it includes.
pub(crate) fn from_path(path: &Path) -> Loaded {
    let mut loading = Loading::default();
    match bytes(path) {
        Err(Unread { code, why, help }) => {
            let name = safe(&path.display().to_string());
            let problem = Diagnostic::error(code, format!("{name} {why}")).help(help);
            loading.loaded.problems.push(problem);
        }
        Ok(bytes) => loading.main(path, &bytes),
    }
    loading.loaded
}

/// Loads these bytes as though they stood in the machine file at this path, with what they include.
pub(crate) fn from_bytes(path: &Path, bytes: &[u8]) -> Loaded {
    let mut loading = Loading::default();
    if bytes.len() > LARGEST {
        let Unread { code, why, help } = too_large(bytes.len() as u64);
        let name = safe(&path.display().to_string());
        let problem = Diagnostic::error(code, format!("{name} {why}")).help(help);
        loading.loaded.problems.push(problem);
    } else {
        loading.main(path, bytes);
    }
    loading.loaded
}

/// Loads a text that stands in no file.
pub(crate) fn from_text(name: &str, text: &str) -> Loaded {
    let mut loading = Loading::default();
    if text.len() > LARGEST {
        let Unread { code, why, help } = too_large(text.len() as u64);
        let problem = Diagnostic::error(code, format!("{} {why}", safe(name))).help(help);
        loading.loaded.problems.push(problem);
    } else {
        loading.file(Path::new(name), text.as_bytes());
    }
    loading.loaded
}

/// Why a file was not read.
struct Unread {
    code: &'static str,
    /// The rest of a sentence that begins with the name of the file.
    why: String,
    help: &'static str,
}

fn too_large(bytes: u64) -> Unread {
    let megabytes = figures(bytes as f64 / f64::from(1 << 20));
    Unread {
        code: "too-large",
        why: format!(
            "is {megabytes} MB large; a machine file goes up to {} MB",
            LARGEST >> 20
        ),
        help: "name a machine file; what belongs to several machines goes into files of its own",
    }
}

/// The bytes of a file.
fn bytes(path: &Path) -> Result<Vec<u8>, Unread> {
    let because = |error: std::io::Error| {
        let (why, help) = match error.kind() {
            ErrorKind::NotFound => (
                "is not there".to_owned(),
                "look at the name; `bellcrank new` writes a machine file",
            ),
            ErrorKind::PermissionDenied => {
                ("may not be read".to_owned(), "look at its permissions")
            }
            _ => (format!("cannot be read: {error}"), "look at the name"),
        };
        Unread {
            code: "cannot-read",
            why,
            help,
        }
    };
    let handle = Handle::open(path).map_err(because)?;
    let about = handle.metadata().map_err(because)?;
    if about.is_dir() {
        return Err(Unread {
            code: "cannot-read",
            why: "is a folder".to_owned(),
            help: "name the machine file in it",
        });
    }
    if about.len() > LARGEST as u64 {
        return Err(too_large(about.len()));
    }
    let mut bytes = Vec::new();
    // A pipe does not tell its size beforehand, so no more than this is taken from it.
    let read = handle.take(LARGEST as u64 + 1).read_to_end(&mut bytes);
    read.map_err(because)?;
    if bytes.len() > LARGEST {
        return Err(too_large(bytes.len() as u64));
    }
    Ok(bytes)
}

/// The text of another file that belongs to a machine; `a` says what it is.
pub(crate) fn text_from(path: &Path, a: &str) -> Result<String, Diagnostic> {
    let name = safe(&path.display().to_string());
    let bytes = bytes(path).map_err(|Unread { code, why, .. }| {
        Diagnostic::error(code, format!("{name} {why}")).help(format!("name {a}"))
    })?;
    match text_of(&bytes) {
        Ok(text) => Ok(text.to_owned()),
        Err((what, _)) => Err(Diagnostic::error("not-text", format!("{name} {what}"))
            .help(format!("{a} is plain text in UTF-8"))),
    }
}

/// The text in these bytes without a byte order mark, or what they are instead.
fn text_of(bytes: &[u8]) -> Result<&str, (String, &'static str)> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(("is saved as UTF-16".to_owned(), "save it as UTF-8"));
    }
    let place = |at: usize| {
        let line = bytes.iter().take(at).filter(|&&b| b == b'\n').count() + 1;
        format!("byte {} (line {line})", at + 1)
    };
    let help = "a machine file is plain text in UTF-8; `bellcrank new` writes one";
    if let Some(at) = bytes.iter().position(|&b| b == 0) {
        return Err((format!("is not a text file: {} is zero", place(at)), help));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => Err((
            format!(
                "is not text in UTF-8: it breaks at {}",
                place(error.valid_up_to())
            ),
            help,
        )),
    }
}

#[derive(Default)]
struct Loading {
    loaded: Loaded,
    /// Folder of the machine file as asked for and in full.
    folder: Option<(PathBuf, PathBuf)>,
    /// Files that are being loaded, the outermost first.
    chain: Vec<PathBuf>,
    /// All files met.
    seen: Vec<PathBuf>,
    /// What is being read is the shop file.
    for_shop: bool,
    /// The shop file that the head names, still to be read.
    shop_file: Option<(Place, String)>,
}

impl Loading {
    /// The machine file itself.
    fn main(&mut self, path: &Path, bytes: &[u8]) {
        let canonical = path.canonicalize().ok();
        // The folder the file was asked for in; a link to the file does not widen it.
        let folder = path.parent().map(|p| {
            if p.as_os_str().is_empty() {
                Path::new(".")
            } else {
                p
            }
        });
        self.folder = folder.and_then(|f| Some((f.to_owned(), f.canonicalize().ok()?)));
        self.chain.extend(canonical.clone());
        self.seen.extend(canonical);
        self.file(path, bytes);
    }

    fn file(&mut self, path: &Path, bytes: &[u8]) {
        let shown = safe(&path.display().to_string());
        let text = match text_of(bytes) {
            Ok(text) => text,
            Err((what, help)) => {
                let source = self.loaded.sources.add(shown.clone(), String::new());
                let place = Place {
                    source,
                    start: 0,
                    end: 0,
                };
                self.loaded.problems.push(
                    Diagnostic::error("not-text", format!("{shown} {what}"))
                        .at(place, "")
                        .help(help),
                );
                return;
            }
        };
        let main = self.loaded.files.is_empty() && self.chain.len() <= 1;
        let source = self.loaded.sources.add(shown, text.to_owned());
        let root = match Document::parse(text) {
            Ok(document) => document.into_table(),
            Err(error) => {
                self.loaded
                    .problems
                    .extend(syntax::slips(text, source, &error));
                return;
            }
        };
        if self.for_shop {
            self.shop(source, root);
            return;
        }
        let includes = self.head(source, root, main);
        for (place, name) in includes {
            let before = self.loaded.files.len();
            self.include(path, place, &name);
            self.loaded.partial |= self.loaded.files.len() == before;
        }
        // A text that stands in no file has no shop beside it.
        if let Some((place, name)) = self.shop_file.take()
            && self.folder.is_some()
        {
            self.for_shop = true;
            self.include(path, place, &name);
            self.for_shop = false;
        }
    }

    /// Notes the shop file and its unit.
    fn shop(&mut self, source: usize, root: Table) {
        let mut desk = Desk::new(&self.loaded.sources);
        let start = Place {
            source,
            start: 0,
            end: 0,
        };
        let unit = root
            .get("unit")
            .and_then(|item| Field::lone(&HEAD, "unit", Node::of(item, start, Unit::Millimetre)?))
            .and_then(|field| field.word(&mut desk, &UNITS.map(|(word, _)| word)))
            .and_then(|n| UNITS.get(n))
            .map_or(Unit::Millimetre, |&(_, unit)| unit);
        self.loaded.problems.extend(desk.into_problems());
        self.loaded.shop = Some(File {
            source,
            unit,
            root,
            name: String::new(),
            note: String::new(),
        });
    }

    /// Reads the head of a file, notes the file and returns what it includes.
    fn head(&mut self, source: usize, root: Table, main: bool) -> Vec<(Place, String)> {
        let Loaded {
            sources,
            files,
            problems,
            ..
        } = &mut self.loaded;
        let mut desk = Desk::new(sources);
        let start = Place {
            source,
            start: 0,
            end: 0,
        };
        let mut file = File {
            source,
            unit: Unit::Millimetre,
            root,
            name: String::new(),
            note: String::new(),
        };
        let mut includes = Vec::new();
        let field = |key: &str| {
            let item = file.root.get(key)?;
            let at = file.root.key(key).and_then(toml_edit::Key::span);
            let place = at.map_or(start, |span| Place {
                source,
                start: span.start,
                end: span.end,
            });
            Field::lone(&HEAD, key, Node::of(item, place, Unit::Millimetre)?)
        };
        let mut texts = [String::new(), String::new()];
        for (key, into) in ["name", "note"].into_iter().zip(&mut texts) {
            let Some(field) = field(key) else { continue };
            if !main {
                desk.push(
                    Diagnostic::error("unknown-key", format!("an included file has no `{key}`"))
                        .at(field.place(), "")
                        .help("name and note stand in the machine file; use a comment here"),
                );
            } else if let Some(text) = field.text(&mut desk, "a text in quotes") {
                text.clone_into(into);
            }
        }
        if let Some(field) = field("weight").filter(|_| !main) {
            desk.push(
                Diagnostic::error("unknown-key", "an included file has no `weight`")
                    .at(field.place(), "")
                    .help("which way weights act stands in the machine file"),
            );
        }
        let mut shop_file = None;
        if let Some(field) = field("shop") {
            if !main {
                desk.push(
                    Diagnostic::error("unknown-key", "an included file has no `shop`")
                        .at(field.place(), "")
                        .help("which shop makes it stands in the machine file"),
                );
            } else if let Some(name) = field.text(&mut desk, "a file name in quotes") {
                shop_file = Some((field.place(), name.to_owned()));
            }
        }
        let mut unit = Unit::Millimetre;
        if let Some(field) = field("unit")
            && let Some(n) = field.word(&mut desk, &UNITS.map(|(word, _)| word))
        {
            unit = UNITS.get(n).map_or(unit, |&(_, u)| u);
        }
        if let Some(field) = field("include") {
            for item in field
                .list(&mut desk, "a list of file names")
                .unwrap_or_default()
            {
                if let Some(name) = item.text(&mut desk, "file names in quotes") {
                    includes.push((item.place(), name.to_owned()));
                }
            }
        }
        let [name, note] = texts;
        problems.extend(desk.into_problems());
        (file.unit, file.name, file.note) = (unit, name, note);
        files.push(file);
        self.shop_file = shop_file;
        includes
    }

    fn include(&mut self, from: &Path, place: Place, name: &str) {
        let shown = clip(name);
        let problems = &mut self.loaded.problems;
        let mut fail = |code, message: String, help: &str| {
            problems.push(Diagnostic::error(code, message).at(place, "").help(help));
        };
        let outside = "an included file lies in the folder of the machine file or below: \"arms.toml\", \"parts/arms.toml\"";
        let Some((folder, root)) = &self.folder else {
            return fail(
                "include",
                "nothing can be included here: this text stands in no file".to_owned(),
                "put all tables into the one text",
            );
        };
        let relative = Path::new(name);
        if name.contains('\\') {
            return fail(
                "include",
                format!("\"{shown}\" has a backslash"),
                "write folders with `/`: \"parts/arms.toml\"",
            );
        }
        if relative.components().next().is_none() {
            return fail(
                "include",
                "the name of the included file is empty".to_owned(),
                outside,
            );
        }
        if !relative
            .components()
            .all(|c| matches!(c, Component::Normal(_) | Component::CurDir))
        {
            return fail(
                "include-outside",
                format!("\"{shown}\" leads out of the machine's folder"),
                outside,
            );
        }
        let path = from.parent().unwrap_or(folder).join(relative);
        let Ok(full) = path.canonicalize() else {
            return fail(
                "include",
                format!("\"{shown}\" is not there"),
                "the name counts from the folder of this file",
            );
        };
        if !full.starts_with(root) {
            return fail(
                "include-outside",
                format!("\"{shown}\" is a link that leads out of the machine's folder"),
                outside,
            );
        }
        if let Some(n) = self.chain.iter().position(|p| *p == full) {
            let names: Vec<String> = self
                .chain
                .iter()
                .skip(n)
                .chain([&full])
                .map(|p| file_name(p))
                .collect();
            return fail(
                "include",
                format!(
                    "files include each other in a circle: {}",
                    names.join(", then ")
                ),
                "take one of the includes out",
            );
        }
        if self.seen.contains(&full) {
            return fail(
                "include",
                format!("\"{shown}\" is included twice"),
                "once is enough: what it names is known everywhere",
            );
        }
        if self.seen.len() >= MOST_FILES {
            return fail(
                "include",
                format!("more than {MOST_FILES} files"),
                "put several parts into one file",
            );
        }
        if !full.is_file() {
            return fail(
                "include",
                format!("\"{shown}\" is no file"),
                "name a machine file, not a folder",
            );
        }
        match bytes(&full) {
            Err(Unread { code, why, help }) => fail(code, format!("\"{shown}\" {why}"), help),
            Ok(bytes) => {
                self.seen.push(full.clone());
                self.chain.push(full);
                self.file(&path, &bytes);
                self.chain.pop();
            }
        }
    }
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| clip(&name.to_string_lossy()))
}
