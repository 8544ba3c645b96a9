//! What is bought beside what the machine itself names.

use super::Purchase;
use crate::declared::Named;
use crate::desk::Desk;
use crate::fields::{Fields, Shape};

const PURCHASE: Shape = Shape {
    a: "a purchase",
    keys: &[
        ("what", "what = \"hexagon screw M8 x 25, 8.8\""),
        ("count", "count = 4"),
    ],
};

/// Most pieces of one kind.
pub(super) const MOST: i64 = 10_000;

/// Reads all purchases.
pub(crate) fn purchases(desk: &mut Desk, named: &[Named]) -> Vec<Purchase> {
    let one = |n: &Named| {
        let fields = Fields::new(desk, n.what(), &PURCHASE, &n.entry)?;
        let what = fields
            .need(desk, "what")
            .and_then(|f| f.text(desk, "what to ask for, in quotes"));
        let count = fields
            .get("count")
            .map_or(Some(1), |f| f.whole(desk, 1, MOST));
        Some(Purchase {
            name: n.entry.name.to_owned(),
            what: what?.to_owned(),
            count: count?,
            place: n.entry.place,
        })
    };
    named.iter().filter_map(one).collect()
}
