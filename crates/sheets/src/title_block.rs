//! The block under a drawing: name, pose, settings, scale with its bars, projection.

use machine::Machine;
use machine::model::Adjusts;

use crate::font::{self, LARGE, SMALL};
use crate::geometry::P;
use crate::number::{trimmed, value};
use crate::pose::{Pose, Projection};
use crate::scale::{self, Scale};
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use crate::symbols;

/// Least width of a sheet's inside, mm.
pub(crate) const LEAST_WIDTH: f64 = 116.0;
const PAD: f64 = 2.5;
/// Width of the cell with scale and projection.
const FACTS: f64 = 46.0;
/// Width of the cell with the bars.
const BARS: f64 = 74.0;

/// The drive values of a pose in words: `crank 0°, set 35°`.
pub(crate) fn pose_words(machine: &Machine, pose: &Pose) -> String {
    let words = machine.drives.iter().enumerate().map(|(i, d)| {
        let now = pose.drives.get(i).copied().unwrap_or(d.drawn);
        kept_together(&format!("{} {}", d.name, value(now, d.unit)))
    });
    words.collect::<Vec<_>>().join(", ")
}

/// The settings of a pose in words: `front rod 0 mm, link-hole 3`.
pub(crate) fn setting_words(machine: &Machine, pose: &Pose) -> String {
    let words = machine.settings.iter().enumerate().map(|(i, s)| {
        let now = pose.settings.get(i).copied().unwrap_or(s.drawn);
        kept_together(&match s.adjusts {
            Adjusts::Row(_) => format!("{} {}", s.name, trimmed(now, 0)),
            _ => format!("{} {}", s.name, value(now, s.unit)),
        })
    });
    words.collect::<Vec<_>>().join(", ")
}

/// A name and its value are not torn apart at the end of a line.
fn kept_together(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// One line of the text cell.
struct Line {
    text: String,
    height: f64,
    hand: Hand,
}

/// Draws the block with its upper left corner at `at`, `width` wide; gives the height it took.
pub(crate) fn draw(
    machine: &Machine,
    pose: &Pose,
    scale: Scale,
    projection: Projection,
    at: P,
    width: f64,
    g: &mut Group,
) -> f64 {
    let in_row = width >= BARS + FACTS + 60.0;
    let text_width = if in_row {
        width - BARS - FACTS
    } else {
        width - FACTS
    } - 2.0 * PAD;
    let lines = lines(machine, pose, text_width);
    let text_height = lines
        .iter()
        .map(|l| font::pitch(l.height) + 0.4)
        .sum::<f64>()
        + 2.0 * PAD;
    let top_row = text_height.max(scale::BAR_HEIGHT + 3.0).max(17.0);
    let height = if in_row {
        top_row
    } else {
        top_row + scale::BAR_HEIGHT + 3.0
    };
    let [x, y] = at;
    let right = x + width;

    let mut base = y + PAD;
    for line in lines {
        base += font::pitch(line.height) + 0.4;
        let down = base - font::below(line.height) - 0.2;
        g.letter(Lettering::new(
            [x + PAD, down],
            line.text,
            line.height,
            Hold::Start,
            line.hand,
        ));
    }
    let facts = right - FACTS;
    let middle = facts + FACTS / 2.0;
    let upper = y + top_row * 0.5;
    g.letter(Lettering::new(
        [middle, f64::midpoint(y, upper) + LARGE / 2.0],
        format!("scale {scale}"),
        LARGE,
        Hold::Middle,
        Hand::Name,
    ));
    let words = match projection {
        Projection::ThirdAngle => "third-angle",
        Projection::FirstAngle => "first-angle",
    };
    let low = y + top_row * 0.75;
    symbols::projection_cone(g, [facts + 11.0, low], projection == Projection::ThirdAngle);
    g.letter(Lettering::new(
        [facts + 20.0, low + SMALL / 2.0],
        words,
        SMALL,
        Hold::Start,
        Hand::Note,
    ));

    let mut rules = vec![
        [at, [right, y]],
        [[facts, y], [facts, y + top_row]],
        [[facts, upper], [right, upper]],
    ];
    let bars_at = if in_row {
        rules.push([[facts - BARS, y], [facts - BARS, y + height]]);
        [facts - BARS + 5.0, y + (top_row - scale::BAR_HEIGHT) / 2.0]
    } else {
        rules.push([[x, y + top_row], [right, y + top_row]]);
        [x + 5.0, y + top_row + 1.5]
    };
    g.draw(Pen::Narrow, Shape::Strokes(rules));
    g.add(scale::bars(
        bars_at,
        scale,
        if in_row {
            BARS - 8.0
        } else {
            width.min(120.0) - 10.0
        },
    ));
    height
}

fn lines(machine: &Machine, pose: &Pose, width: f64) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut push = |text: &str, height: f64, hand: Hand| {
        for text in font::wrapped(&font::clean(text), height, hand, width) {
            if !text.is_empty() {
                lines.push(Line { text, height, hand });
            }
        }
    };
    push(&machine.name, LARGE, Hand::Name);
    push(&machine.note, SMALL, Hand::Note);
    let drives = pose_words(machine, pose);
    if !drives.is_empty() {
        push(&format!("pose: {drives}"), SMALL, Hand::Note);
    }
    let settings = setting_words(machine, pose);
    if !settings.is_empty() {
        push(&format!("settings: {settings}"), SMALL, Hand::Note);
    }
    lines
}
