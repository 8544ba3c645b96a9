//! A scale true to size: as a sheet to print and as DXF to engrave.

use std::f64::consts::{FRAC_PI_2, TAU};

use studies::dial::answers::{Goes, Length, Scale, Shape as Laid};

use crate::dxf::Dxf;
use crate::font::{self, LARGE, SMALL};
use crate::geometry::{P, Rect};
use crate::number::value;
use crate::plot::Figure;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape, Sheet};
use quantity::Unit;

/// Lengths of lines, mm (common practice).
fn length(of: Length) -> f64 {
    match of {
        Length::Long => 6.0,
        Length::Middle => 4.5,
        Length::Short => 3.0,
    }
}

/// Height of the numbers, mm.
const NUMBERS: f64 = 2.5;
const MARGIN: f64 = 10.0;
/// Bars to check the print by, mm.
const BARS: [(f64, &str); 2] = [(100.0, "100 mm"), (101.6, "4 in")];

/// Where a mark stands.
struct Placed<'s> {
    /// Foot and end of its line, x right, y up.
    foot: P,
    end: P,
    /// Middle of its number.
    number: P,
    /// Outward direction, rad.
    outward: f64,
    label: Option<&'s str>,
}

/// The marks about a centre at the origin, the middle of the scale upright; or along a strip.
fn placed(scale: &Scale) -> Vec<Placed<'_>> {
    let middle = scale
        .marks
        .first()
        .zip(scale.marks.last())
        .map_or(0.0, |(a, b)| f64::midpoint(a.at, b.at));
    let way = way(scale);
    // A strip begins at its left end.
    let start = scale
        .marks
        .iter()
        .map(|m| m.along * way)
        .fold(f64::INFINITY, f64::min);
    let round = scale.radius.filter(|_| scale.shape != Laid::Drum);
    scale
        .marks
        .iter()
        .map(|m| {
            let long = length(m.length);
            // A whole turn further stands the first mark, with its number.
            let again =
                round.is_some() && (scale.marks.first()).is_some_and(|f| m.at - f.at > TAU - 1e-9);
            let label = m.label.as_deref().filter(|_| !again);
            let width = label.map_or(0.0, |l| font::width(l, NUMBERS, Hand::Note));
            match round {
                Some(radius) => {
                    let angle = FRAC_PI_2 + way * (m.at - middle);
                    let at = |r: f64| [r * angle.cos(), r * angle.sin()];
                    // A number beside the vertical needs room for its width.
                    let out = 1.2 + NUMBERS / 2.0 + (angle.cos() * (width - NUMBERS) / 2.0).abs();
                    Placed {
                        foot: at(radius),
                        end: at(radius + long),
                        number: at(radius + length(Length::Long) + out),
                        outward: angle,
                        label,
                    }
                }
                None => {
                    let x = m.along * way - start;
                    Placed {
                        foot: [x, 0.0],
                        end: [x, long],
                        number: [x, length(Length::Long) + 1.2 + NUMBERS / 2.0],
                        outward: FRAC_PI_2,
                        label,
                    }
                }
            }
        })
        .collect()
}

/// +1 when rising places of the drive run counter-clockwise seen from the front, or to the right along a strip.
///
/// A scale that goes with the drive past a mark that stands shows what comes after it from the other side: its places run the other way. A
/// drum is seen from outside with its front edge below; then what runs counter-clockwise seen from the front runs to the left.
fn way(scale: &Scale) -> f64 {
    let goes = if scale.goes == Goes::Scale { -1.0 } else { 1.0 };
    let seen = if scale.shape == Laid::Drum && scale.radius.is_some() {
        -1.0
    } else {
        1.0
    };
    scale.sense * goes * seen
}

fn title(scale: &Scale) -> String {
    format!(
        "{}: {} on {}",
        scale.machine, scale.reading.name, scale.drive.name
    )
}

/// A length of the scale itself: in inches where its reading or its drive is.
pub(crate) fn read(scale: &Scale, mm: f64) -> String {
    let inches = [scale.reading.unit, scale.drive.unit].contains(&Unit::Inch);
    if inches {
        quantity::show(mm, Unit::Inch, 3)
    } else {
        quantity::show(mm, Unit::Millimetre, 2)
    }
}

pub(crate) fn notes(scale: &Scale) -> Vec<String> {
    let mut all = vec![format!(
        "{} from mark to mark, for the machine as {}",
        value(scale.step, scale.reading.unit),
        if scale.as_built { "built" } else { "drawn" }
    )];
    let other: Vec<String> = scale
        .held
        .iter()
        .filter(|h| !h.as_drawn)
        .map(|h| format!("{} {}", h.quantity.name, value(h.value, h.quantity.unit)))
        .collect();
    if !other.is_empty() {
        all.push(format!("with {}", other.join(", ")));
    }
    match (scale.radius, scale.around) {
        (Some(radius), Some(around)) => all.push(format!(
            "drum of {} diameter: the strip is {} from cut to cut",
            read(scale, 2.0 * radius),
            read(scale, around)
        )),
        (Some(radius), None) => all.push(format!(
            "line at {} radius about the cross",
            read(scale, radius)
        )),
        _ => {}
    }
    let drive = &scale.drive.name;
    let what = match (scale.shape, scale.radius) {
        (_, None) => "strip",
        (Laid::Arc, _) => "scale",
        (Laid::Ring, _) => "ring",
        (Laid::Drum, _) => "drum",
    };
    let rising = way(scale) > 0.0;
    let runs = match (scale.shape, scale.radius) {
        (_, None) => format!("{drive} rises to the {}", side(rising)),
        (Laid::Drum, _) => format!(
            "the lower edge is the front edge of the drum; {drive} rises to the {}",
            side(rising)
        ),
        _ => format!(
            "seen from the front {drive} rises {}",
            if rising {
                "counter-clockwise"
            } else {
                "clockwise"
            }
        ),
    };
    all.push(match scale.goes {
        Goes::Pointer => format!("the pointer goes with {drive}, the {what} stands still; {runs}"),
        Goes::Scale => {
            format!("the {what} goes with {drive} past a mark that stands still; {runs}")
        }
    });
    all.extend(scale.findings.iter().cloned());
    all
}

fn side(right: bool) -> &'static str {
    if right { "right" } else { "left" }
}

/// The sheet, true to size when the bars measure what is written at them.
pub fn scale_sheet(scale: &Scale) -> Figure {
    let marks = placed(scale);
    let mut group = Group::named("scale", "scale".to_owned(), &scale.drive.name, title(scale));
    let flip = |p: P| [p[0], -p[1]];
    group.draw(
        Pen::Narrow,
        Shape::Strokes(marks.iter().map(|m| [flip(m.foot), flip(m.end)]).collect()),
    );
    for m in &marks {
        if let Some(label) = m.label {
            let at = [m.number[0], -m.number[1] + NUMBERS / 2.0];
            group.letter(Lettering::new(at, label, NUMBERS, Hold::Middle, Hand::Note));
        }
    }
    outline(scale, &marks, &mut group);
    let extent = group.extent();
    let mut heading = Group::new("heading");
    let mut y = MARGIN;
    let wide = (extent.width()).max(120.0);
    let lines = std::iter::once((title(scale), LARGE, Hand::Name))
        .chain(notes(scale).into_iter().map(|n| (n, SMALL, Hand::Note)));
    for (text, height, hand) in lines {
        for part in font::wrapped(&font::clean(&text), height, hand, wide) {
            y += font::pitch(height) + 0.4;
            heading.letter(Lettering::new(
                [MARGIN, y - font::below(height)],
                part,
                height,
                Hold::Start,
                hand,
            ));
        }
    }
    y += 4.0;
    group.shift = [MARGIN - extent.min[0], y - extent.min[1]];
    y += extent.height() + 8.0;
    let bars = bars(MARGIN, &mut y);
    let size = [wide.max(BARS[1].0 + 2.0) + 2.0 * MARGIN, y + MARGIN];
    let long = scale.marks.len();
    Figure {
        sheet: Sheet {
            size,
            title: title(scale),
            description: format!(
                "{}. {long} marks, {}.",
                title(scale),
                notes(scale).join("; ")
            ),
            groups: vec![heading, group, bars],
        },
        fields: Vec::new(),
    }
}

/// The marks of a scale out of its sheet.
pub(crate) fn arc_of(figure: &Figure) -> Option<Group> {
    figure.sheet.groups.get(1).cloned()
}

/// First and last mark of a scale as it lies on its sheet: foot, outward direction, place of the drive in words.
pub(crate) fn ends(scale: &Scale) -> Vec<(P, f64, String)> {
    let marks = placed(scale);
    let both = [marks.first().zip(scale.marks.first()), {
        let more = scale.marks.len() > 1;
        marks.last().zip(scale.marks.last()).filter(|_| more)
    }];
    both.into_iter()
        .flatten()
        .map(|(p, m)| {
            let place = value(m.at, scale.drive.unit);
            let foot = [p.foot[0], -p.foot[1]];
            (foot, p.outward, format!("{} {place}", scale.drive.name))
        })
        .collect()
}

/// The line the marks stand on, the centre, and the cuts of a strip.
fn outline(scale: &Scale, marks: &[Placed<'_>], group: &mut Group) {
    let (Some(first), Some(last)) = (marks.first(), marks.last()) else {
        return;
    };
    match (scale.radius, scale.shape) {
        (Some(radius), Laid::Ring) => group.draw(
            Pen::Narrow,
            Shape::Circle {
                centre: [0.0, 0.0],
                radius,
            },
        ),
        (Some(radius), Laid::Arc) => {
            group.draw(
                Pen::Narrow,
                Shape::arc(
                    [0.0, 0.0],
                    radius,
                    first.outward,
                    last.outward - first.outward,
                ),
            );
        }
        _ => {
            let (a, b) = (
                first.foot[0].min(last.foot[0]),
                first.foot[0].max(last.foot[0]),
            );
            group.draw(Pen::Narrow, Shape::line([a, 0.0], [b, 0.0]));
            if let Some(around) = scale.around {
                let from = f64::midpoint(a, b) - around / 2.0;
                for x in [from, from + around] {
                    group.draw(Pen::Dashed, Shape::line([x, 3.0], [x, -12.0]));
                }
            }
            return;
        }
    }
    group.draw(
        Pen::Narrow,
        Shape::Strokes(vec![[[-5.0, 0.0], [5.0, 0.0]], [[0.0, -5.0], [0.0, 5.0]]]),
    );
}

fn bars(left: f64, y: &mut f64) -> Group {
    let mut group = Group::named(
        "bars",
        "check".to_owned(),
        "check",
        "bars to check the size of the print by",
    );
    for (long, name) in BARS {
        let (a, b) = (left, left + long);
        group.draw(
            Pen::Narrow,
            Shape::Strokes(vec![
                [[a, *y], [b, *y]],
                [[a, *y - 1.5], [a, *y + 1.5]],
                [[b, *y - 1.5], [b, *y + 1.5]],
            ]),
        );
        group.letter(Lettering::new(
            [left + 2.0, *y - 1.6],
            format!("{name} when printed true to size"),
            NUMBERS,
            Hold::Start,
            Hand::Note,
        ));
        *y += 8.0;
    }
    *y -= 4.0;
    group
}

/// The scale as DXF in mm, the centre (or the left end of a strip) at the origin.
pub fn scale_dxf(scale: &Scale) -> String {
    let mut dxf = Dxf::new(&[("MARKS", 7), ("NUMBERS", 5), ("LINE", 3), ("NOTE", 8)]);
    let marks = placed(scale);
    for m in &marks {
        dxf.line("MARKS", m.foot, m.end);
        if let Some(label) = m.label {
            // Read from the pivot, with the foot of the number towards it.
            let turn = m.outward - FRAC_PI_2;
            let up = [m.outward.cos(), m.outward.sin()];
            let foot = 1.2 + length(Length::Long);
            let at = [m.foot[0] + up[0] * foot, m.foot[1] + up[1] * foot];
            dxf.text("NUMBERS", at, NUMBERS, turn, label);
        }
    }
    if let (Some(first), Some(last)) = (marks.first(), marks.last()) {
        match (scale.radius, scale.shape) {
            (Some(radius), Laid::Ring) => dxf.circle("LINE", [0.0, 0.0], radius),
            (Some(radius), Laid::Arc) => {
                let (a, b) = (first.outward, last.outward);
                dxf.arc("LINE", [0.0, 0.0], radius, a.min(b), a.max(b));
            }
            _ => dxf.line("LINE", first.foot, last.foot),
        }
        let mut rect = Rect::EMPTY;
        marks.iter().for_each(|m| rect.take(m.foot));
        let mut y = if scale.radius.is_some() && scale.shape != Laid::Drum {
            -8.0
        } else {
            rect.min[1] - 8.0
        };
        let x = rect.centre()[0];
        for text in [title(scale), "1 unit is 1 mm".to_owned()]
            .into_iter()
            .chain(notes(scale))
        {
            dxf.text("NOTE", [x, y], NUMBERS, 0.0, &text);
            y -= 4.5;
        }
    }
    dxf.write()
}
