//! How moving parts clear one another, in words and for a spreadsheet.

use std::fmt::Write as _;

use quantity::Unit;
use studies::clearance::Clearance;

use super::numbers::{bare, named, with_unit};
use super::table::{Column, lay_out, wrap};
use super::{WIDTH, csv};

/// Pairs told.
const MOST: usize = 10;

/// What is said of it.
pub(crate) fn text(clearance: &Clearance) -> String {
    let over = clearance.up.as_ref().map_or_else(
        || clearance.across.name.clone(),
        |up| format!("{} and {}", clearance.across.name, up.name),
    );
    let mut text = format!(
        "\n{}\n",
        wrap(
            &format!(
                "Clearance over {over}, {} poses; {} pairs of parts share a joint, {} lie beside one another",
                clearance.poses, clearance.joined, clearance.beside
            ),
            WIDTH,
            2
        )
    );
    let mut pair = Column::words("closest");
    let mut least = Column::numbers("apart", "mm");
    let mut place = Column::words("where");
    for found in clearance.pairs.iter().take(MOST) {
        pair.cells
            .push(format!("{} and {}", found.parts[0], found.parts[1]));
        least.cells.push(if found.least < 0.0 {
            format!("meet {}", bare(found.least, Unit::Millimetre))
        } else {
            bare(found.least, Unit::Millimetre)
        });
        let at: Vec<String> = found
            .drives
            .iter()
            .map(|h| named(&h.quantity, h.value))
            .collect();
        place.cells.push(at.join(", "));
    }
    if pair.cells.is_empty() {
        text.push_str(if clearance.looked_at == 0 {
            "  no pair of parts was looked at\n"
        } else {
            "  no two parts that could meet come within 100 mm\n"
        });
    } else {
        text.push('\n');
        text.push_str(&lay_out(&[], &[pair, least, place]));
    }
    if clearance.pairs.len() > MOST {
        let more = clearance.pairs.len() - MOST;
        let _ = writeln!(text, "and {more} more (--format csv or --json has all)");
    }
    for finding in &clearance.findings {
        let _ = writeln!(text, "\n{}", wrap(&finding.sentence, WIDTH, 2));
        if let Some(hint) = &finding.what_to_try {
            let _ = writeln!(text, "  {}", wrap(&format!("try: {hint}"), WIDTH - 2, 4));
        }
    }
    if !clearance.left_out.is_empty() {
        let out = format!("left out: {}", clearance.left_out.join("; "));
        let _ = writeln!(text, "\n{}", wrap(&out, WIDTH, 2));
    }
    text
}

/// Every pair for a spreadsheet.
pub(crate) fn table(clearance: &Clearance) -> String {
    let mut text = csv::title("clearance of parts");
    text.push_str(&csv::line([
        "part",
        "other part",
        "apart (mm)",
        "right (mm)",
        "up (mm)",
        "plane",
        "layer",
        "drives",
    ]));
    for pair in &clearance.pairs {
        let drives: Vec<String> = pair
            .drives
            .iter()
            .map(|h| {
                format!(
                    "{} {}",
                    h.quantity.name,
                    with_unit(h.value, h.quantity.unit)
                )
            })
            .collect();
        text.push_str(&csv::line([
            pair.parts[0].as_str(),
            &pair.parts[1],
            &format!("{:.4}", pair.least),
            &format!("{:.3}", pair.place[0]),
            &format!("{:.3}", pair.place[1]),
            &match &pair.across {
                Some(other) => format!("{} (the other part: {other})", pair.plane),
                None => pair.plane.clone(),
            },
            if pair.layer_known {
                "by station"
            } else {
                "not written"
            },
            &drives.join("; "),
        ]));
    }
    text
}
