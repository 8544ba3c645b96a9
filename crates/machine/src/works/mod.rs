//! The second part of a machine file: stock, joints, tolerances, loads, springs, cases, detents, and asks about them.

mod asks;
mod bolts;
mod coils;
mod hands;
mod held;
pub(crate) mod holes;
mod joints;
mod loads;
mod powers;
pub(crate) mod sizes;
mod springs;
pub(crate) mod stock;

use crate::declared::{Declared, Named};
use crate::desk::{Desk, Kind};
use crate::fields::{Entry, Field, Shape};
use crate::ground::Ground;
use crate::load::File;
use crate::making;
use crate::model::{Ask, Drive, FRAME, PartId, PointId, Reading, Rod, Slide, Slot};
use crate::work::{LowHigh, Work};
use quantity::Kind as Measure;

pub(crate) use asks::is_about_work;
pub(crate) use stock::given;

/// What the first part of the file gave; broken things are `None`.
pub(crate) struct First<'a> {
    pub(crate) ground: &'a Ground,
    pub(crate) drives: &'a [Option<Drive>],
    pub(crate) readings: &'a [Option<Reading>],
    pub(crate) asks: &'a [Option<Ask>],
    /// Whether each drive names where the hand takes hold.
    pub(crate) hands: &'a [bool],
    /// Points that a part carries or a rod joins.
    pub(crate) held: &'a [bool],
    /// Every rod was read, so that what is not held is held by nothing.
    pub(crate) certain: bool,
    /// Rods, slides and slots; broken ones are `None`.
    pub(crate) rods: &'a [Option<Rod>],
    pub(crate) slides: &'a [Option<Slide>],
    pub(crate) slots: &'a [Option<Slot>],
}

impl First<'_> {
    /// Only what moves can be pushed. Reports a point that nothing holds, or that stands still on the frame.
    fn moves(&self, desk: &mut Desk, point: PointId, field: &Field) -> Option<()> {
        if self.certain && self.held.get(point) == Some(&false) {
            self.ground.nobody_carries(desk, point, field);
            return None;
        }
        if self.stands_still(point) {
            let name = desk.name(Kind::Point, point);
            field.bad(
                desk,
                format!("{name} stands still on the frame"),
                "name a point that a moving part carries",
            );
            return None;
        }
        Some(())
    }

    /// The frame carries it.
    fn stands_still(&self, point: PointId) -> bool {
        self.ground.carries(FRAME, point)
            && self
                .ground
                .carriers(point)
                .iter()
                .all(|&p| p == FRAME || self.centre_of(p) == Some(point))
    }

    /// The point of the frame on which a part turns: the first that both carry.
    fn centre_of(&self, part: PartId) -> Option<PointId> {
        let carries = &self.ground.part(self.ground.turns_with(part))?.carries;
        carries
            .iter()
            .copied()
            .find(|&p| self.ground.carries(FRAME, p))
    }
}

/// Reads it all; `None` when something in it is broken (which was said).
pub(crate) fn read(
    desk: &mut Desk,
    declared: &Declared,
    files: &[File],
    first: &First,
) -> Option<Work> {
    let before = desk.errors();
    let mut materials = stock::materials(desk, &declared.materials);
    let mut work = Work {
        weight: loads::weight(desk, files),
        parts: stock::parts(desk, declared, first.ground, &mut materials),
        frame: stock::frame(desk, declared, &mut materials),
        rods: stock::rods(desk, declared, &mut materials),
        hands: hands::hands(desk, &declared.drives, first),
        per_minute: hands::per_minute(desk, &declared.drives),
        holes: holes::holes(desk, declared, first.ground),
        joints: joints::joints(desk, declared, first, &mut materials),
        usual: joints::usual(desk, declared.usual.as_ref()),
        tolerances: joints::tolerances(desk, &declared.tolerances, first, declared),
        loads: loads::loads(desk, &declared.loads, first),
        springs: springs::springs(desk, &declared.springs, first),
        cases: loads::cases(desk, &declared.cases, first),
        stiffnesses: joints::stiffnesses(desk, &declared.stiffnesses, first),
        detents: hands::detents(desk, &declared.detents, first, &mut materials),
        clamps: hands::clamps(desk, &declared.clamps, first),
        motors: powers::motors(desk, &declared.motors, first),
        pushes: powers::pushes(desk, &declared.pushes, first),
        bolts: bolts::bolts(desk, &declared.bolts, first, &mut materials),
        ..Work::default()
    };
    loads::idle(desk, &work.loads, &work.cases);
    work.asks = asks::read(desk, &declared.asks, first);
    let first = making::First {
        ground: first.ground,
        work: &work,
    };
    let pieces = making::pieces(desk, &declared.pieces, &first, &mut materials);
    let purchases = making::purchases(desk, &declared.purchases);
    work.making = making::Making { pieces, purchases };
    work.materials = materials.into_iter().flatten().collect();
    (desk.errors() == before).then_some(work)
}

/// One value of a named table, without a second look at its other keys.
fn lone<'a>(named: &Named<'a>, shape: &Shape, key: &str) -> Option<Field<'a>> {
    let inner = named
        .entry
        .node
        .entries()
        .into_iter()
        .find(|e| e.name == key)?;
    Field::lone(shape, key, inner.node)
}

/// The table behind a key, as an entry of its own.
pub(crate) fn inner_table<'a>(field: &Field<'a>) -> Entry<'a> {
    Entry {
        name: field.key,
        place: field.place(),
        node: field.node,
    }
}

/// A quantity above zero (or from zero on).
fn positive(desk: &mut Desk, field: &Field, measure: Measure, zero_too: bool) -> Option<f64> {
    let written = field.quantity(desk, measure)?;
    if written.value > 0.0 || (zero_too && written.value == 0.0) {
        return Some(written.value);
    }
    let from = if zero_too {
        "zero or more"
    } else {
        "above zero"
    };
    field.bad(
        desk,
        format!("`{}` is {}; it has to be {from}", field.key, written.show()),
        format!("write it {from}"),
    );
    None
}

/// A plain number from zero on, or a pair of them, low first.
fn low_high_number(desk: &mut Desk, field: &Field, most: f64) -> Option<LowHigh> {
    let one = |desk: &mut Desk, f: &Field| {
        let x = f.number(desk)?;
        if (0.0..=most).contains(&x) {
            return Some(x);
        }
        f.bad(
            desk,
            format!("`{}` is {x}, outside 0 to {most}", f.key),
            "a dry steel joint has about 0.15",
        );
        None
    };
    if !field.is_list() {
        let x = one(desk, field)?;
        return Some(LowHigh { low: x, high: x });
    }
    let [a, b] = field.pair(desk, "a low and a high number")?;
    let (low, high) = (one(desk, &a)?, one(desk, &b)?);
    ordered(desk, field, low, high)
}

/// A length from zero on, or a pair of them, low first.
fn low_high_length(desk: &mut Desk, field: &Field) -> Option<LowHigh> {
    if !field.is_list() {
        let x = positive(desk, field, Measure::Length, true)?;
        return Some(LowHigh { low: x, high: x });
    }
    let [a, b] = field.pair(desk, "a low and a high length")?;
    let (low, high) = (
        positive(desk, &a, Measure::Length, true)?,
        positive(desk, &b, Measure::Length, true)?,
    );
    ordered(desk, field, low, high)
}

fn ordered(desk: &mut Desk, field: &Field, low: f64, high: f64) -> Option<LowHigh> {
    if low <= high {
        return Some(LowHigh { low, high });
    }
    field.bad(
        desk,
        format!("`{}` has its higher end first", field.key),
        "the lower end comes first",
    );
    None
}
