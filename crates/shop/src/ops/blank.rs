//! The blank of a plate: sawn, its edges made good as far as they have to be, in the vise where it goes into it.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::plate::mill;
use crate::cut::sawn;
use crate::finding::Grade;
use crate::part::Plate;
use crate::speeds::Tool;
use crate::words;
use machine::equipment::Shop;
use machine::work::Section;

/// How a flat blank is held on the mill.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Held {
    /// In the vise.
    Vise,
    /// Clamped to the table: it is wider than the vise opens.
    Table,
}

impl Held {
    pub(super) fn words(self, more: &str) -> String {
        match self {
            Self::Vise => format!("mill vise, on parallels{more}"),
            Self::Table => format!(
                "clamped to the table on packing, the good edge indicated along the table; clamps moved one at a time{more}"
            ),
        }
    }

    /// What zero is found from, beside the stop end.
    pub(super) fn edge(self) -> &'static str {
        match self {
            Self::Vise => "the fixed jaw",
            Self::Table => "the good edge",
        }
    }
}

/// Whether a blank so wide goes into the vise of the mill; said when it does not.
pub(super) fn held(work: &mut Work, across: f64) -> Held {
    let all = work.bench.vises;
    let vises = || all.iter().filter(|v| v.vise && v.opens.is_some());
    let vise = vises().find(|v| v.name.contains("mill")).or_else(|| {
        vises().max_by(|a, b| {
            a.opens
                .partial_cmp(&b.opens)
                .unwrap_or(std::cmp::Ordering::Equal)
        })
    });
    let Some(vise) = vise else {
        return Held::Vise;
    };
    let opens = vise.opens.unwrap_or(f64::INFINITY);
    if across <= opens + 1e-9 {
        return Held::Vise;
    }
    let text = format!(
        "the blank is {} across, the {} opens {}",
        work.mm(across),
        words::kept("vise", &vise.name),
        work.mm(opens)
    );
    work.finding(
        Grade::WayRound,
        text,
        "clamp it to the table on packing, one edge indicated along the table",
    );
    Held::Table
}

/// The shop is there and has no mill: what is milled elsewhere is sawn and filed to lines.
pub(super) fn by_hand(work: &Work) -> bool {
    work.shop().is_some_and(|s| s.mills.is_empty())
}

/// Sheet of at most this thickness is sheared or sawn and filed, not milled on its edge, mm (common practice).
const SHEET: f64 = 4.0;

/// Sheet, whose edges are filed.
pub(super) fn thin(p: &Plate) -> bool {
    p.thickness <= SHEET + 1e-9
}

/// Width of the stock.
pub(super) fn width_of(work: &Work) -> f64 {
    match work.part.section {
        Section::Flat([_, w]) => w,
        Section::Round(d) | Section::Tube([d, _]) | Section::Square(d) | Section::Hexagon(d) => d,
    }
}

/// Stock of a width that no bar has is cut from plate: its edges are sawn.
pub(super) fn from_plate(work: &Work) -> bool {
    matches!(work.part.section, Section::Flat(size) if !is_bar(size, work.shop()))
}

/// Whether flat bar of this thickness and width is in the rack or usual.
pub(crate) fn is_bar(size: [f64; 2], shop: Option<&Shop>) -> bool {
    let near = |list: &[f64], unit: f64| list.iter().any(|w| (w * unit - size[1]).abs() < 0.01);
    let racked = shop.is_some_and(|s| {
        s.rack.iter().any(|b| matches!(b.section, Section::Flat(r) if (r[0] - size[0]).abs() + (r[1] - size[1]).abs() < 0.01))
    });
    racked || near(&elements::stock::FLAT_METRIC, 1.0) || near(&elements::stock::FLAT_INCH, 25.4)
}

pub(super) fn blank(work: &mut Work, p: &Plate, straight: bool) {
    let [low, high] = p.outline.bounds();
    let (long, wide) = (
        (high[0] - low[0]).max(high[1] - low[1]),
        (high[0] - low[0]).min(high[1] - low[1]),
    );
    let facing = work.shop().map_or(1.5, |s| s.tools.facing);
    let section = words::section(&work.part.section, work.bench.units());
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| words::kept("saw", &s.name));
    let plate = from_plate(work);
    let wide_of_saw = work
        .shop()
        .and_then(|s| s.saws.iter().map(|s| s.capacity).reduce(f64::max))
        .is_some_and(|most| width_of(work).max(thickness(work)) > most + 1e-6);
    let saw = if wide_of_saw {
        "where it is bought, or by hand from both sides".to_owned()
    } else {
        saw
    };
    work.set_up(
        "Blank",
        &saw,
        if plate {
            "along a scribed line, clamped"
        } else {
            "across the bar, clamped"
        },
        "none",
        3.0,
    );
    let length = work.mm(sawn(long + 2.0 * facing, work.bench.unit));
    let stock = width_of(work);
    let text = if plate {
        format!(
            "Saw {length} x {} out of plate {} thick",
            work.mm(stock),
            work.mm(thickness(work))
        )
    } else {
        format!("Saw {length} off {section}")
    };
    work.step(Step {
        text,
        tool: "saw".to_owned(),
        why: format!("{} on each end to clean up", work.mm(facing)),
        minutes: 3.0,
        ..Step::default()
    });
    let left = super::harden::left(work);
    let square = Square {
        long,
        wide,
        straight,
        // Sawn from plate, both of its edges are.
        edges: straight && (stock > wide + 0.05 || plate),
        plate,
        face: super::solid::tallest(p)
            .or_else(|| (left > 0.0).then_some(p.thickness + 2.0 * left))
            .filter(|t| thickness(work) > t + 0.05),
        ground: left > 0.0,
    };
    if by_hand(work) || thin(p) {
        filed(work, &square);
    } else {
        milled(work, &square);
    }
    work.caution(Caution::SmallPart);
}

fn thickness(work: &Work) -> f64 {
    match work.part.section {
        Section::Flat([t, _]) => t,
        Section::Round(d) | Section::Tube([d, _]) | Section::Square(d) | Section::Hexagon(d) => d,
    }
}

/// What has to be made good on a blank.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each stands for itself: all of them occur together"
)]
struct Square {
    long: f64,
    wide: f64,
    /// All four sides are the part's.
    straight: bool,
    /// The stock is wider than the part.
    edges: bool,
    /// Its edges are sawn.
    plate: bool,
    /// It is thicker than the part anywhere is, which is this.
    face: Option<f64>,
    /// Its faces are ground after hardening.
    ground: bool,
}

fn filed(work: &mut Work, s: &Square) {
    work.set_up(
        "Square the blank",
        "bench",
        "bench vise, soft jaws",
        "none: sizes are measured",
        4.0,
    );
    if let Some(tall) = s.face {
        let (has, wants) = (work.mm(thickness(work)), work.mm(tall));
        work.finding(
            Grade::Cannot,
            format!("nothing here brings {has} down to {wants}"),
            "buy ground flat stock of the drawing's thickness and leave its faces as they are, or have it milled",
        );
    }
    let hand = |text: String, check: String, why: &str, minutes: f64| Step {
        text,
        tool: "file, square".to_owned(),
        check,
        why: why.to_owned(),
        minutes,
        ..Step::default()
    };
    if s.edges || s.plate {
        work.step(hand(
            "File one long edge straight".to_owned(),
            "straightedge and square against the light".to_owned(),
            "everything is laid out from it",
            8.0 + s.long / 25.0,
        ));
    } else {
        work.step(hand(
            "Deburr; the bar's own faces and edges stay".to_owned(),
            String::new(),
            "",
            1.0,
        ));
    }
    work.step(hand(
        "File one end square".to_owned(),
        "square to the long edge".to_owned(),
        "the second edge of the layout",
        6.0,
    ));
    if s.edges {
        let check = work.measure("width", s.wide, None);
        work.step(hand(
            format!(
                "Scribe the width {}, saw outside the line, file to it",
                work.mm(s.wide)
            ),
            check,
            "",
            12.0 + s.long / 20.0,
        ));
    }
    if s.straight {
        let check = work.measure("length", s.long, None);
        work.step(hand(
            format!(
                "Scribe the length {}, file the other end to it",
                work.mm(s.long)
            ),
            check,
            "",
            8.0,
        ));
    }
}

/// The longest blank that stands on edge in the vise, and how tall it may stand, mm (common practice: jaws of 100 to 125, half as much over each end).
const LONG: f64 = 200.0;
const TALL: f64 = 100.0;

fn milled(work: &mut Work, s: &Square) {
    let (mill, spindle) = mill(work);
    let stock = width_of(work);
    let cutter = work
        .shop()
        .and_then(|s| s.tools.end_mills.last().copied())
        .unwrap_or(16.0);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let tool = work.tool("end mill", cutter);
    // An edge that stands taller than the flutes reach is a side of a block: it lies on its other side and is faced.
    let block = thickness(work) > super::bits::flute(cutter);
    let rows = (thickness(work) / (0.7 * cutter)).ceil();
    let faced = format!(
        "with the end of the cutter, {} rows {} apart",
        words::number(rows, 0),
        work.mm((0.7 * cutter).floor())
    );
    let deburr = Step {
        text: if s.face.is_some() {
            "Deburr".to_owned()
        } else if s.edges || s.plate {
            "Deburr; the two broad faces stay as they were rolled or drawn".to_owned()
        } else {
            "Deburr; the bar's own faces stay".to_owned()
        },
        tool: "file".to_owned(),
        minutes: 1.0,
        ..Step::default()
    };
    // Long edges are milled where no jaw lies on them: on edge between the broad faces, or over the rim of the table.
    let on_edge = block || s.long <= LONG && stock <= TALL;
    if s.edges || s.plate {
        let gripped = held(work, thickness(work)) == Held::Vise;
        work.set_up(
            "Long edges",
            &mill,
            if on_edge && gripped {
                "mill vise, on edge, gripped by its broad faces, the edge that is milled just above the jaws"
            } else if on_edge {
                "clamped to the table by its ends, standing on its opposite side against a stop"
            } else {
                "clamped flat on packing, the edge that is milled over the rim of the table; the clamps behind it"
            },
            "none: sizes are measured",
            8.0,
        );
    }
    let face = |text: String, check: String, why: &str| Step {
        text,
        tool: tool.clone(),
        rpm,
        feed: Some(0.08),
        check,
        why: why.to_owned(),
        minutes: 4.0,
        ..Step::default()
    };
    if s.edges || s.plate {
        work.step(deburr.clone());
        work.step(face(
            if block {
                format!("Mill one long side flat {faced}")
            } else if on_edge {
                "Mill one long edge straight, the end of the cutter along it".to_owned()
            } else {
                "Mill one long edge straight, the side of the cutter along it".to_owned()
            },
            "straight, and square to the broad face".to_owned(),
            "it lies on the fixed jaw, or is indicated, from now on",
        ));
    }
    if s.edges {
        let check = work.measure("width", s.wide, None);
        work.step(face(
            if block {
                format!(
                    "Turn it over and mill the other long side to {} the same way",
                    work.mm(s.wide)
                )
            } else {
                format!(
                    "Turn it over and mill the other long edge to {}",
                    work.mm(s.wide)
                )
            },
            check,
            "",
        ));
    }
    let flat = held(work, stock);
    work.set_up(
        "Square the blank",
        &mill,
        flat.words(if flat == Held::Table {
            ", the end that is milled over the table's rim"
        } else if s.edges || s.plate {
            ", the milled edge against the fixed jaw, the end that is milled beside the jaws"
        } else {
            ", fixed jaw against the better edge, the end that is milled beside the jaws"
        }),
        "none: sizes are measured",
        8.0,
    );
    if !(s.edges || s.plate) {
        work.step(deburr);
    }
    if let Some(tall) = s.face {
        let ground = work.mm(0.1);
        let check = if s.ground {
            format!(
                "thickness {} (+{ground} / 0), both faces clean",
                work.mm(tall)
            )
        } else {
            work.measure("thickness", tall, None)
        };
        let off = thickness(work) - tall;
        // What comes off both sides takes a cut on each at the least.
        let sides = if s.ground { 2.0 } else { 1.0 };
        let passes = sides * (off / sides / (cutter / 4.0)).ceil().max(1.0);
        work.step(Step {
            minutes: 4.0
                + passes * cutting(s.long * stock / (0.7 * cutter), 0.08, rpm.unwrap_or(500.0)),
            ..face(
                format!(
                    "Face {} down to {}, {}",
                    if s.ground { "both broad sides" } else { "the top" },
                    work.mm(tall),
                    if s.ground {
                        format!("{} off each, {}", work.mm(off / 2.0), words::passes(passes / 2.0, &work.mm(off / passes)))
                    } else {
                        words::passes(passes, &work.mm(off / passes))
                    }
                ),
                check,
                if s.ground {
                    "the skin of the bar comes off both, and each keeps metal for grinding after hardening"
                } else {
                    "the tallest hub is as high as this: heights count from here"
                },
            )
        });
    }
    // An end as wide as the table travels across is faced along it.
    let across = work
        .mill()
        .is_some_and(|m| s.wide + cutter > m.travel[1] && s.wide + cutter <= m.travel[0]);
    let turned = if across {
        ", the plate turned a quarter: the end along the table, which travels less across"
    } else {
        ""
    };
    work.step(face(
        format!("Face the first sawn end square{turned}"),
        "square to the long edge".to_owned(),
        "it is the stop edge of the next set-up",
    ));
    if s.straight {
        let both = work.measure("length", s.long, None);
        work.step(face(
            format!("Turn end for end, face to {}", work.mm(s.long)),
            both,
            "",
        ));
    }
}
