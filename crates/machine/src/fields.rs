//! Tables and values of the file with their places, and the checks on their shape that are the same everywhere.

use quantity::{Kind as Measure, QuantityError, Unit, Written};

use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::model::Place;
pub(crate) use crate::node::{Entry, Node, Value, entries};
use crate::words::{clip, list, show};

/// Greatest length a machine file may hold, mm.
pub(crate) const LONGEST: f64 = 1e7;
/// Greatest angle, rad: about ten thousand turns.
const WIDEST: f64 = 62_832.0;

/// The greatest of other quantities that a machine of a small shop may hold, inside units, and how it is told.
const GREATEST: [(Measure, f64, &str); 6] = [
    (Measure::Force, 1e9, "forces go up to 1 000 000 kN"),
    (Measure::Moment, 1e12, "moments go up to 1 000 000 kN m"),
    (Measure::Stiffness, 1e12, "stiffnesses go up to 1e9 kN/mm"),
    (
        Measure::AngularStiffness,
        1e15,
        "stiffnesses in turn go up to 1e12 N m/rad",
    ),
    (
        Measure::Pressure,
        1e7,
        "moduli and pressures go up to 10 000 GPa",
    ),
    (Measure::Mass, 1e6, "masses go up to 1 000 t"),
];

/// The keys a table may hold, each with a line that shows how it is written.
pub(crate) struct Shape {
    /// `a rod`.
    pub(crate) a: &'static str,
    /// Key and how it is written.
    pub(crate) keys: &'static [(&'static str, &'static str)],
}

/// One value of a table whose shape is known.
#[derive(Clone, Copy)]
pub(crate) struct Field<'a> {
    pub(crate) key: &'static str,
    how: &'static str,
    /// It is an item of a list.
    listed: bool,
    pub(crate) node: Node<'a>,
}

/// A table whose shape is known.
pub(crate) struct Fields<'a> {
    /// `rod front`, as it stands in a sentence.
    pub(crate) what: String,
    shape: &'static Shape,
    /// Where something missing is pointed at.
    pub(crate) header: Place,
    list: Vec<Field<'a>>,
    /// Keys that are missing because they were written wrongly, which was said already.
    meant: Vec<&'static str>,
    /// A key that nobody knows stands in it: of several forms it may be the one that is missing.
    strange: bool,
}

impl<'a> Fields<'a> {
    /// Takes a table apart and reports keys that do not belong there.
    pub(crate) fn new(
        desk: &mut Desk,
        what: String,
        shape: &'static Shape,
        entry: &Entry<'a>,
    ) -> Option<Self> {
        Self::of_form(desk, what, shape, entry, |_| None)
    }

    /// As [`Self::new`], for a table of which only some keys go together: `form` tells them by the keys that are written.
    pub(crate) fn of_form(
        desk: &mut Desk,
        what: String,
        shape: &'static Shape,
        entry: &Entry<'a>,
        form: impl Fn(&[Field]) -> Option<Vec<&'static str>>,
    ) -> Option<Self> {
        let Value::Table(_) = entry.node.value else {
            let keys: Vec<&str> = shape.keys.iter().map(|(key, _)| *key).collect();
            desk.push(
                Diagnostic::error(
                    "wrong-type",
                    format!("{what} is {}, not a table", entry.node.words()),
                )
                .at(entry.node.place, "")
                .help(format!("{} takes {}", shape.a, list(&keys, "and"))),
            );
            return None;
        };
        // The heading of a table in brackets; the name in front of a table in braces.
        let braces = desk.sources.text(entry.node.place).starts_with('{');
        let header = if braces {
            entry.place
        } else {
            entry.node.place
        };
        let (mut fields, mut unknown) = (Vec::new(), Vec::new());
        for inner in entry.node.entries() {
            match shape.keys.iter().find(|(key, _)| *key == inner.name) {
                Some(&(key, how)) => fields.push(Field {
                    key,
                    how,
                    listed: false,
                    node: inner.node,
                }),
                None => unknown.push(inner),
            }
        }
        let all: Vec<&'static str> = shape.keys.iter().map(|(key, _)| *key).collect();
        let usual = form(&fields).unwrap_or_else(|| all.clone());
        let mut meant = Vec::new();
        let mut strange = false;
        for inner in unknown {
            let near = desk
                .suggest(inner.name, &usual)
                .or_else(|| desk.suggest(inner.name, &all));
            // The value is read as if the key were right, so that its own faults are told in the same breath.
            match shape.keys.iter().find(|(key, _)| Some(*key) == near) {
                Some(&(key, how))
                    if inner.name.chars().count() > 2
                        && !fields.iter().any(|f: &Field| f.key == key) =>
                {
                    fields.push(Field {
                        key,
                        how,
                        listed: false,
                        node: inner.node,
                    });
                }
                _ => {
                    strange |= near.is_none();
                    meant.extend(near);
                }
            }
            let label = near.map_or_else(
                || "not known here".to_owned(),
                |m| format!("did you mean `{m}`?"),
            );
            desk.push(
                Diagnostic::error(
                    "unknown-key",
                    format!("{} has no `{}`", shape.a, clip(inner.name)),
                )
                .at(inner.place, label)
                .help(format!("{} takes {}", shape.a, usual.join(", "))),
            );
        }
        Some(Self {
            what,
            shape,
            header,
            list: fields,
            meant,
            strange,
        })
    }

    /// The value of a key, if it is written.
    pub(crate) fn get(&self, key: &str) -> Option<Field<'a>> {
        self.list.iter().find(|field| field.key == key).copied()
    }

    /// The value of a key that has to be written.
    pub(crate) fn need(&self, desk: &mut Desk, key: &str) -> Option<Field<'a>> {
        let field = self.get(key);
        if field.is_none() {
            self.missing(desk, &[key]);
        }
        field
    }

    /// Reports that one of these keys has to be there.
    fn missing(&self, desk: &mut Desk, keys: &[&str]) {
        let known = || self.shape.keys.iter().filter(|(key, _)| keys.contains(key));
        if known().any(|(key, _)| self.meant.contains(key)) || keys.len() > 1 && self.strange {
            return;
        }
        let names: Vec<String> = known().map(|(key, _)| format!("`{key}`")).collect();
        let how: Vec<String> = known().map(|(_, how)| format!("`{how}`")).collect();
        let help = match how.as_slice() {
            // All of them would make a long line that nobody reads.
            [first, _, _, _, ..] => format!("write for example {first}"),
            few => format!("write {}", list(few, "or")),
        };
        let lack = if keys.len() == 1 {
            "lacks"
        } else {
            "needs one of"
        };
        desk.push(
            Diagnostic::error(
                "missing-key",
                format!("{} {lack} {}", self.what, list(&names, "or")),
            )
            .at(self.header, "")
            .help(help),
        );
    }

    /// The one of these keys that is written: none or two is an error.
    pub(crate) fn one_of(&self, desk: &mut Desk, keys: &[&str]) -> Option<Field<'a>> {
        let mut found = self.list.iter().filter(|field| keys.contains(&field.key));
        let Some(first) = found.next() else {
            self.missing(desk, keys);
            return None;
        };
        if let Some(second) = found.next() {
            self.clash(desk, first, second);
            return None;
        }
        Some(*first)
    }

    /// Reports two keys that exclude each other.
    pub(crate) fn clash(&self, desk: &mut Desk, first: &Field, second: &Field) {
        desk.push(
            Diagnostic::error(
                "two-forms",
                format!(
                    "{} has both `{}` and `{}`",
                    self.what, first.key, second.key
                ),
            )
            .at(second.node.place, "one of the two has to go")
            .at(first.node.place, ""),
        );
    }

    /// The values of keys that are not among these.
    pub(crate) fn others(&self, keys: &[&str]) -> Vec<Field<'a>> {
        self.list
            .iter()
            .filter(|field| !keys.contains(&field.key))
            .copied()
            .collect()
    }

    /// Reports that no limit is written.
    pub(crate) fn lacks_limits(&self, desk: &mut Desk) {
        self.missing(desk, &["between", "at-least", "at-most"]);
    }

    /// Reports keys that are written but do not go with `with`.
    pub(crate) fn only_with(&self, desk: &mut Desk, keys: &[&str], with: &str) {
        for field in self.list.iter().filter(|field| keys.contains(&field.key)) {
            desk.push(
                Diagnostic::error(
                    "two-forms",
                    format!("`{}` only goes with {with}", field.key),
                )
                .at(field.node.place, "")
                .help(format!("take `{}` out of {}", field.key, self.what)),
            );
        }
    }
}

impl<'a> Field<'a> {
    /// A value taken without its table.
    pub(crate) fn lone(shape: &Shape, key: &str, node: Node<'a>) -> Option<Self> {
        let &(key, how) = shape.keys.iter().find(|(k, _)| *k == key)?;
        Some(Self {
            key,
            how,
            listed: false,
            node,
        })
    }

    /// It is a list.
    pub(crate) fn is_list(&self) -> bool {
        matches!(self.node.value, Value::List(_))
    }

    pub(crate) fn place(&self) -> Place {
        self.node.place
    }

    /// The same field with an inner value.
    pub(crate) fn inner(&self, node: Node<'a>) -> Self {
        Self {
            node,
            listed: true,
            ..*self
        }
    }

    /// Reports that something else is wanted here.
    pub(crate) fn wrong(&self, desk: &mut Desk, wanted: &str) {
        desk.push(
            Diagnostic::error(
                "wrong-type",
                format!("`{}` wants {wanted}, not {}", self.key, self.node.words()),
            )
            .at(self.place(), "")
            .help(format!("write it like `{}`", self.how)),
        );
    }

    /// Reports a value that is of the right type but cannot be.
    pub(crate) fn bad(&self, desk: &mut Desk, message: impl Into<String>, help: impl Into<String>) {
        desk.push(
            Diagnostic::error("wrong-value", message)
                .at(self.place(), "")
                .help(help),
        );
    }

    /// The key, or a value in the list that stands behind it.
    fn what(&self) -> String {
        if self.listed {
            format!("a value of `{}`", self.key)
        } else {
            format!("`{}`", self.key)
        }
    }

    pub(crate) fn text(&self, desk: &mut Desk, wanted: &str) -> Option<&'a str> {
        if let Value::Text(text) = self.node.value {
            return Some(text);
        }
        self.wrong(desk, wanted);
        None
    }

    pub(crate) fn list(&self, desk: &mut Desk, wanted: &str) -> Option<Vec<Field<'a>>> {
        let Value::List(items) = self.node.value else {
            self.wrong(desk, wanted);
            return None;
        };
        Some(
            items
                .iter()
                .map(|v| self.inner(Node::of_value(v, self.place(), self.node.unit)))
                .collect(),
        )
    }

    /// A list of exactly two.
    pub(crate) fn pair(&self, desk: &mut Desk, wanted: &str) -> Option<[Field<'a>; 2]> {
        let items = self.list(desk, wanted)?;
        self.exactly(desk, items, wanted)
    }

    /// A list of exactly so many.
    pub(crate) fn exactly<const N: usize>(
        &self,
        desk: &mut Desk,
        items: Vec<Field<'a>>,
        wanted: &str,
    ) -> Option<[Field<'a>; N]> {
        let found = items.len();
        let Ok(items) = items.try_into() else {
            let are = if found == 1 { "is" } else { "are" };
            desk.push(
                Diagnostic::error(
                    "wrong-count",
                    format!("`{}` wants {wanted}, here {are} {found}", self.key),
                )
                .at(self.place(), "")
                .help(format!("write it like `{}`", self.how)),
            );
            return None;
        };
        Some(items)
    }

    pub(crate) fn truth(&self, desk: &mut Desk) -> Option<bool> {
        let Value::Truth(b) = self.node.value else {
            self.wrong(desk, "true or false");
            return None;
        };
        Some(b)
    }

    /// A whole number from `least` on.
    pub(crate) fn whole(&self, desk: &mut Desk, least: i64, most: i64) -> Option<usize> {
        let n = match self.node.value {
            Value::Whole(n) => n,
            Value::Decimal(x) if x.fract() == 0.0 && x.abs() < 1e15 => x as i64,
            Value::Decimal(_) => {
                self.bad(
                    desk,
                    format!("`{}` wants a whole number", self.key),
                    "write it without a point",
                );
                return None;
            }
            _ => {
                self.wrong(desk, "a whole number");
                return None;
            }
        };
        if n < least || n > most {
            self.bad(
                desk,
                format!("{} is {n}, outside {least} to {most}", self.what()),
                format!("write a number from {least} to {most}"),
            );
            return None;
        }
        usize::try_from(n).ok()
    }

    /// A plain number.
    pub(crate) fn number(&self, desk: &mut Desk) -> Option<f64> {
        let x = match self.node.value {
            Value::Whole(n) => n as f64,
            Value::Decimal(x) => x,
            _ => {
                self.wrong(desk, "a plain number");
                return None;
            }
        };
        if !x.is_finite() {
            self.bad(
                desk,
                format!("{x} is no number to build with"),
                "write a plain number",
            );
            return None;
        }
        Some(x)
    }

    /// A quantity; a bare number is a length in the file's unit or an angle in degrees.
    pub(crate) fn quantity(&self, desk: &mut Desk, measure: Measure) -> Option<Written> {
        let bare = if measure == Measure::Length {
            self.node.unit
        } else {
            Unit::Degree
        };
        let found = match self.node.value {
            Value::Text(text) => quantity::parse(text, measure, bare),
            Value::Whole(n) => quantity::number(n as f64, measure, bare),
            Value::Decimal(x) => quantity::number(x, measure, bare),
            _ => {
                self.wrong(desk, measure.words());
                return None;
            }
        };
        match found {
            Ok(written) => self.sized(desk, measure, written),
            Err(error) => {
                self.misread(desk, &error);
                None
            }
        }
    }

    fn sized(&self, desk: &mut Desk, measure: Measure, written: Written) -> Option<Written> {
        if measure == Measure::Length && (written.value.abs() > LONGEST || written.value.is_nan()) {
            self.bad(
                desk,
                format!(
                    "{} is too long for a machine: lengths go up to {}",
                    show(written.value, written.unit),
                    show(LONGEST, Unit::Metre)
                ),
                "look at the unit, or write a shorter length",
            );
            return None;
        }
        if measure == Measure::Angle && (written.value.abs() > WIDEST || written.value.is_nan()) {
            self.bad(
                desk,
                format!(
                    "{} is too many turns: angles go up to 10 000 turns",
                    show(written.value, written.unit)
                ),
                "look at the unit, or write a smaller angle",
            );
            return None;
        }
        let greatest = GREATEST.iter().find(|g| g.0 == measure);
        if let Some((_, most, told)) = greatest
            && (written.value.abs() > *most || written.value.is_nan())
        {
            self.bad(
                desk,
                format!(
                    "{} is more than any shop builds: {told}",
                    clip(&written.text)
                ),
                "look at the unit, or write less",
            );
            return None;
        }
        Some(written)
    }

    /// Reports text that is no quantity (or no thread).
    pub(crate) fn misread(&self, desk: &mut Desk, error: &QuantityError) {
        let mut place = self.place();
        // When the text stands in the file letter for letter, the offending part alone is underlined.
        if let Value::Text(text) = self.node.value {
            let whole = desk.sources.text(place);
            if whole.len() == text.len() + 2
                && whole.get(1..=text.len()) == Some(text)
                && error.start < error.end
            {
                place = Place {
                    source: place.source,
                    start: place.start + 1 + error.start,
                    end: place.start + 1 + error.end,
                };
            }
        }
        desk.push(
            Diagnostic::error("quantity", error.message.clone())
                .at(place, "")
                .help(error.help.clone()),
        );
    }

    pub(crate) fn length(&self, desk: &mut Desk) -> Option<f64> {
        self.quantity(desk, Measure::Length).map(|w| w.value)
    }

    pub(crate) fn angle(&self, desk: &mut Desk) -> Option<f64> {
        self.quantity(desk, Measure::Angle).map(|w| w.value)
    }

    /// A length above zero.
    pub(crate) fn positive_length(&self, desk: &mut Desk) -> Option<f64> {
        let written = self.quantity(desk, Measure::Length)?;
        if written.value <= 0.0 {
            self.bad(
                desk,
                format!(
                    "{} is {}; it has to be above zero",
                    self.what(),
                    clip(written.show())
                ),
                format!("write it like `{}`", self.how),
            );
            return None;
        }
        Some(written.value)
    }

    /// Two lengths.
    pub(crate) fn lengths(&self, desk: &mut Desk) -> Option<[f64; 2]> {
        let [x, y] = self.pair(desk, "two lengths")?;
        let (x, y) = (x.length(desk), y.length(desk));
        Some([x?, y?])
    }

    /// Index of the thing this names.
    pub(crate) fn name(&self, desk: &mut Desk, kind: Kind) -> Option<usize> {
        let name = self.text(desk, &format!("the name of {}", kind.a()))?;
        desk.resolve(kind, name, self.place())
    }

    /// Two different names of a kind.
    pub(crate) fn names(&self, desk: &mut Desk, kind: Kind) -> Option<[usize; 2]> {
        let [a, b] = self.pair(desk, &format!("two {}s", kind.noun()))?;
        let (i, j) = (a.name(desk, kind), b.name(desk, kind));
        let (i, j) = (i?, j?);
        if i == j {
            let name = desk.name(kind, i);
            desk.push(
                Diagnostic::error("same-twice", format!("`{}` names `{name}` twice", self.key))
                    .at(b.place(), "the same again")
                    .help(format!("name two different {}s", kind.noun())),
            );
            return None;
        }
        Some([i, j])
    }

    /// One of a few fixed words.
    pub(crate) fn word(&self, desk: &mut Desk, words: &[&'static str]) -> Option<usize> {
        let text = self.text(desk, &format!("one of {}", list(words, "or")))?;
        if let Some(n) = words.iter().position(|w| *w == text) {
            return Some(n);
        }
        let quoted: Vec<String> = words.iter().map(|w| format!("\"{w}\"")).collect();
        let label = desk
            .suggest(text, words)
            .map_or_else(String::new, |m| format!("did you mean \"{m}\"?"));
        desk.push(
            Diagnostic::error(
                "unknown-word",
                format!("`{}` cannot be \"{}\"", self.key, clip(text)),
            )
            .at(self.place(), label)
            .help(format!("write {}", list(&quoted, "or"))),
        );
        None
    }
}
