//! Tables and values as TOML knows them, each with its place in the file.

use quantity::Unit;
use toml_edit::{Item, TableLike};

use crate::model::Place;

/// A value as TOML knows it.
#[derive(Clone, Copy)]
pub(crate) enum Value<'a> {
    Text(&'a str),
    Whole(i64),
    Decimal(f64),
    Truth(bool),
    Date,
    List(&'a toml_edit::Array),
    Table(&'a dyn TableLike),
    Tables,
}

/// A value, where it stands, and the unit of bare lengths in its file.
#[derive(Clone, Copy)]
pub(crate) struct Node<'a> {
    pub(crate) value: Value<'a>,
    pub(crate) place: Place,
    pub(crate) unit: Unit,
}

/// A named entry of a table.
#[derive(Clone, Copy)]
pub(crate) struct Entry<'a> {
    pub(crate) name: &'a str,
    pub(crate) place: Place,
    pub(crate) node: Node<'a>,
}

fn place_of(span: Option<std::ops::Range<usize>>, otherwise: Place) -> Place {
    span.map_or(otherwise, |span| Place {
        source: otherwise.source,
        start: span.start,
        end: span.end,
    })
}

impl<'a> Node<'a> {
    /// `otherwise` is the place taken when the item has none of its own (a table that is only written through).
    pub(crate) fn of(item: &'a Item, otherwise: Place, unit: Unit) -> Option<Self> {
        let place = place_of(item.span(), otherwise);
        let value = match item {
            Item::None => return None,
            Item::Value(value) => return Some(Self::of_value(value, otherwise, unit)),
            Item::Table(table) => Value::Table(table),
            Item::ArrayOfTables(_) => Value::Tables,
        };
        Some(Self { value, place, unit })
    }

    pub(crate) fn of_value(value: &'a toml_edit::Value, otherwise: Place, unit: Unit) -> Self {
        use toml_edit::Value as V;
        let place = place_of(value.span(), otherwise);
        let value = match value {
            V::String(text) => Value::Text(text.value()),
            V::Integer(n) => Value::Whole(*n.value()),
            V::Float(x) => Value::Decimal(*x.value()),
            V::Boolean(b) => Value::Truth(*b.value()),
            V::Datetime(_) => Value::Date,
            V::Array(items) => Value::List(items),
            V::InlineTable(table) => Value::Table(table),
        };
        Self { value, place, unit }
    }

    /// The entries of a table, in file order; nothing for anything else.
    pub(crate) fn entries(&self) -> Vec<Entry<'a>> {
        let Value::Table(table) = self.value else {
            return Vec::new();
        };
        entries(table, self.place, self.unit)
    }

    /// What it is, in words.
    pub(crate) fn words(&self) -> &'static str {
        match self.value {
            Value::Text(_) => "a text",
            Value::Whole(_) | Value::Decimal(_) => "a number",
            Value::Truth(_) => "true or false",
            Value::Date => "a date",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
            Value::Tables => "a list of tables",
        }
    }
}

/// The entries of a table, in file order.
pub(crate) fn entries(table: &dyn TableLike, within: Place, unit: Unit) -> Vec<Entry<'_>> {
    table
        .iter()
        .filter_map(|(name, item)| {
            let place = place_of(table.key(name).and_then(toml_edit::Key::span), within);
            Some(Entry {
                name,
                place,
                node: Node::of(item, place, unit)?,
            })
        })
        .collect()
}
