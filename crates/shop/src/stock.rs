//! What the saw and the seller cannot do.

use crate::cut::CutList;
use crate::finding::{Finding, Grade};
use crate::part::Part;
use crate::words;
use machine::equipment::Shop;
use machine::work::Section;
use quantity::Unit;

/// Bars wider than the saw takes, lengths longer than the seller has.
pub(crate) fn findings(
    parts: &[Part],
    cut: &CutList,
    shop: Option<&Shop>,
    unit: Unit,
) -> Vec<Finding> {
    let Some(shop) = shop else { return Vec::new() };
    let mut all = Vec::new();
    let widest = shop
        .saws
        .iter()
        .max_by(|a, b| a.capacity.total_cmp(&b.capacity));
    if let Some(saw) = widest {
        for part in parts {
            let across = match part.section {
                Section::Flat([t, w]) => t.max(w),
                Section::Round(d)
                | Section::Tube([d, _])
                | Section::Square(d)
                | Section::Hexagon(d) => d,
            };
            if across > saw.capacity + 1e-6 {
                all.push(Finding::new(
                    Grade::WayRound,
                    &part.name,
                    format!(
                        "the {} takes {}, {} is wider",
                        words::kept("saw", &saw.name),
                        words::length(saw.capacity, unit),
                        words::section(&part.section, unit)
                    ),
                    "have it cut where it is bought, or saw it by hand from both sides",
                ));
            }
        }
    }
    let Some(longest) = shop.sold.iter().copied().reduce(f64::max) else {
        return all;
    };
    for bar in cut.bars.iter().filter(|b| b.rack.is_none()) {
        if bar.length > longest + 1e-6 {
            let named: Vec<String> = bar.cuts.iter().map(|c| words::spoken(&c.0)).collect();
            let about = bar.cuts.first().map_or("", |c| c.0.as_str());
            all.push(Finding::new(
                Grade::WayRound,
                about,
                format!(
                    "the seller's longest {} is {}, {} wants {}",
                    bar.stock,
                    words::length(longest, unit),
                    named.join(", "),
                    words::length(bar.length, unit)
                ),
                "ask for that length, or add longer ones to `lengths` of [seller]",
            ));
        }
    }
    all
}
