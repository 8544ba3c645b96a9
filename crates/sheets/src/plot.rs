//! Curves of readings over a drive, one panel a reading, all over the same axis.

use std::fmt::Write as _;

use quantity::Unit;
use serde::Serialize;

use crate::font::{self, LARGE, SMALL};
use crate::geometry::Rect;
use crate::look::Look;
use crate::number::{unit_sign, value};
use crate::panel;
use crate::png::{self, PngError};
use crate::sheet::{Group, Hand, Hold, Lettering, Sheet};
use crate::svg;
use crate::ticks::{self, Ticks};

/// A set of panels over one axis. Values are in inside units (mm, rad) and are printed in the unit named.
#[derive(Clone, Debug, PartialEq)]
pub struct Plot {
    /// What it shows.
    pub title: String,
    /// Under what: other drives and settings; may be empty.
    pub note: String,
    /// The axis across: name and unit of the drive.
    pub across: Axis,
    /// Places on that axis that all panels mark with an upright line: dead centres, stops.
    pub places: Vec<Place>,
    /// The panels, top to bottom.
    pub panels: Vec<Panel>,
}

/// What an axis counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Name of the drive or reading.
    pub name: String,
    /// Unit of the printed numbers.
    pub unit: Unit,
}

/// A marked place on the axis across.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Value of the drive.
    pub at: f64,
    /// A few words: `dead centre`, `stop lever-end`.
    pub words: String,
}

/// The curves of one reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// The axis upward.
    pub up: Axis,
    /// One or more curves. With several, each is named where it runs.
    pub curves: Vec<Curve>,
    /// Marked points: turning points, the pose drawn.
    pub marks: Vec<Mark>,
    /// Limits asked for.
    pub limits: Vec<Limit>,
    /// Bands in which the real value lies, under the curves.
    pub bands: Vec<Band>,
    /// Stretches of the axis across in which it rests.
    pub rests: Vec<Rest>,
}

/// A stretch of the axis across, shaded from edge to edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    /// From, to.
    pub ends: [f64; 2],
    /// What stands on it; may be empty.
    pub words: String,
}

/// A band about a curve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Band {
    /// Name; not written when empty.
    pub name: String,
    /// Value of the drive, lower and upper end, by rising or falling drive value. The band is broken where one is not finite.
    pub points: Vec<[f64; 3]>,
}

/// One curve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    /// Name; used when the panel has several curves.
    pub name: String,
    /// Its points, by rising or falling drive value.
    pub points: Vec<Sample>,
}

/// One point of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Value of the drive.
    pub at: f64,
    /// Value of the reading; the curve is broken where it is not finite.
    pub value: f64,
    /// Rate of the reading by the drive, when known: the curve then leaves the point with this slope.
    pub rate: Option<f64>,
}

/// A marked point of a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Value of the drive.
    pub at: f64,
    /// Value of the reading.
    pub value: f64,
    /// A few words; the numbers are added by the drawing when empty, and nothing when blank.
    pub words: String,
}

/// A limit asked of a reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Name of the ask.
    pub name: String,
    /// The limit.
    pub value: f64,
    /// The reading is to stay at or above it (else at or below it).
    pub least: bool,
    /// Where along the axis it is asked; everywhere when `None`. A single place is marked there.
    pub over: Option<[f64; 2]>,
}

/// A drawn plot.
#[derive(Clone, Debug)]
pub struct Figure {
    pub(crate) sheet: Sheet,
    /// The fields of its panels, for marks that are put on it later.
    pub fields: Vec<FieldPlace>,
}

/// Where the field of a panel lies on the sheet, and what values its edges have.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FieldPlace {
    /// Name of the reading.
    pub reading: String,
    /// Left, top, width and height, mm of the sheet.
    pub at: [f64; 4],
    /// Values of the drive at its left and right edge, in the unit printed there.
    pub across: [f64; 2],
    /// Values of the reading at its lower and upper edge, in its inside unit (mm or rad).
    pub up: [f64; 2],
}

impl Figure {
    /// Width and height, mm.
    pub fn size(&self) -> [f64; 2] {
        self.sheet.size
    }

    /// As an SVG file, sized in mm.
    pub fn svg(&self, look: Look) -> String {
        svg::write(&self.sheet, look)
    }

    /// As a PNG picture.
    ///
    /// # Errors
    /// The size is not a positive number or too large; the picture library's own troubles.
    pub fn png(&self, look: Look, dots_per_mm: f64) -> Result<Vec<u8>, PngError> {
        png::render(&self.svg(look), self.sheet.size, dots_per_mm)
    }
}

/// Width of the field of one panel, mm.
const FIELD_WIDTH: f64 = 150.0;
const MARGIN: f64 = 8.0;
/// From one panel to the next.
const BETWEEN: f64 = 6.0;
/// Room for the figures beside a field.
const FIGURES: f64 = 14.0;
/// Fields are made no narrower for the words beside them, mm; and tries at it.
const LEAST_FIELD: f64 = 40.0;
const FITTED: usize = 3;
/// Sheets that are made to a width.
const NARROWEST: f64 = 70.0;
/// From this width on there is room for numbers at marks.
const WORDY: f64 = 110.0;
const WIDEST: f64 = 420.0;
/// From this width on, two fields stand side by side.
const TWO_ABREAST: f64 = 270.0;
/// More panels than this go in two columns.
const ONE_COLUMN: usize = 5;

pub use crate::bars::{Bar, BarGroup, Bars, bars, of_spread};
pub use crate::cam_plot::of_cam;
pub use crate::contour::{of_closing, of_map};
pub use crate::cycle_plot::{of_cycle, of_run};
pub use crate::fit_plot::of_fit;
pub use crate::load_plot::of_loads;
pub use crate::motion_plot::{add_bands, add_other, of_motion};
pub use crate::shaft_plot::of_shafts;

/// Draws the curves.
pub fn curves(plot: &Plot) -> Figure {
    let columns = if plot.panels.len() > ONE_COLUMN { 2 } else { 1 };
    let field_width = if columns == 2 { 105.0 } else { FIELD_WIDTH };
    let field_height = match plot.panels.len().div_ceil(columns) {
        _ if is_map(plot) => 90.0,
        0..=2 => 50.0,
        _ => 38.0,
    };
    lay_out(plot, columns, [field_width, field_height])
}

/// Draws the curves on a sheet of about this width, mm, with lettering of the same size on every width.
pub fn curves_within(plot: &Plot, width: f64) -> Figure {
    let width = width.clamp(NARROWEST, WIDEST);
    if width < WORDY && !is_map(plot) {
        return laid_within(&terse(plot), width);
    }
    laid_within(plot, width)
}

/// The same without numbers at its marks and stretches: on narrow paper they would take the room of the curves, and the text beside has them.
fn terse(plot: &Plot) -> Plot {
    let mut terse = plot.clone();
    for panel in &mut terse.panels {
        for mark in &mut panel.marks {
            mark.words = String::from(" ");
        }
        for rest in &mut panel.rests {
            rest.words.clear();
        }
    }
    terse
}

fn laid_within(plot: &Plot, width: f64) -> Figure {
    let columns = if width >= TWO_ABREAST && plot.panels.len() > 1 {
        2
    } else {
        1
    };
    let each = (width - 2.0 * MARGIN - (columns - 1) as f64 * BETWEEN) / columns as f64;
    let mut field_width = each - FIGURES;
    let field_height = if is_map(plot) {
        (0.55 * field_width).clamp(60.0, 110.0)
    } else {
        (0.33 * field_width).clamp(36.0, 56.0)
    };
    let mut figure = lay_out(plot, columns, [field_width, field_height]);
    // Words beside the fields take their room from them.
    for _ in 0..FITTED {
        let over = figure.size()[0] - width;
        if over <= 0.5 || field_width <= LEAST_FIELD {
            break;
        }
        field_width = (field_width - over / columns as f64).max(LEAST_FIELD);
        figure = lay_out(plot, columns, [field_width, field_height]);
    }
    figure
}

/// Lines of a map need room upwards as well.
pub(crate) fn is_map(plot: &Plot) -> bool {
    plot.panels.len() == 1 && plot.panels[0].curves.len() > 3
}

fn lay_out(plot: &Plot, columns: usize, [field_width, field_height]: [f64; 2]) -> Figure {
    let rows = plot.panels.len().div_ceil(columns);
    let across = across_ticks(plot, (field_width / 16.6).clamp(3.0, 12.0).round());

    let mut heading = Group::new("heading");
    let width_of_text = columns as f64 * (field_width + 16.0);
    let mut y = MARGIN;
    let mut line = |text: &str, height: f64, hand: Hand| {
        for part in font::wrapped(&font::clean(text), height, hand, width_of_text) {
            if !part.is_empty() {
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
    };
    line(&plot.title, LARGE, Hand::Name);
    line(&plot.note, SMALL, Hand::Note);
    let top = y + 3.0;

    let mut groups = vec![heading];
    let mut fields = Vec::new();
    let mut x = MARGIN;
    for (column, panels) in plot.panels.chunks(rows.max(1)).enumerate() {
        let drawn: Vec<panel::Drawn> = panels
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let last = i + 1 == panels.len();
                let index = column * rows + i;
                panel::draw(
                    plot,
                    p,
                    index,
                    &across,
                    [field_width, field_height],
                    i == 0,
                    last,
                )
            })
            .collect();
        // Fields of a column stand under each other, whatever the width of their figures.
        let left = drawn.iter().map(|d| -d.extent.min[0]).fold(0.0, f64::max);
        let right = drawn
            .iter()
            .map(|d| d.extent.max[0])
            .fold(field_width, f64::max);
        let mut y = top;
        for d in drawn {
            let mut group = d.group;
            group.shift = [x + left, y - d.extent.min[1]];
            let unit = d.unit;
            fields.push(FieldPlace {
                reading: group.name.clone(),
                at: [group.shift[0], group.shift[1], field_width, field_height],
                across: across.ends,
                up: d.ends.map(|v| unit.to_inside(v)),
            });
            y += d.extent.height() + BETWEEN;
            groups.push(group);
        }
        x += left + right + BETWEEN;
    }
    let extent = groups
        .iter()
        .fold(Rect::new([0.0; 2], [MARGIN; 2]), |r, g| r.join(g.extent()));
    let description = describe(plot);
    let size = [extent.max[0] + MARGIN, extent.max[1] + MARGIN];
    Figure {
        sheet: Sheet {
            size,
            title: plot.title.clone(),
            description,
            groups,
        },
        fields,
    }
}

fn across_ticks(plot: &Plot, count: f64) -> Ticks {
    let unit = plot.across.unit;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let samples = plot
        .panels
        .iter()
        .flat_map(|p| &p.curves)
        .flat_map(|c| &c.points)
        .map(|s| s.at);
    for x in samples
        .chain(plot.places.iter().map(|p| p.at))
        .filter(|x| x.is_finite())
    {
        low = low.min(unit.from_inside(x));
        high = high.max(unit.from_inside(x));
    }
    ticks::ticks(low, high, count, unit).within(low, high)
}

/// What the curves show, in sentences.
fn describe(plot: &Plot) -> String {
    let mut text = String::new();
    for p in &plot.panels {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for s in p
            .curves
            .iter()
            .flat_map(|c| &c.points)
            .filter(|s| s.value.is_finite())
        {
            low = low.min(s.value);
            high = high.max(s.value);
        }
        if low <= high {
            let unit = p.up.unit;
            let (low, high) = (value(low, unit), value(high, unit));
            let _ = write!(
                text,
                "{} over {}: between {low} and {high}. ",
                p.up.name, plot.across.name
            );
        }
    }
    text.trim_end().to_owned()
}

/// The axis title of a reading: `gap, mm`.
pub(crate) fn axis_title(axis: &Axis) -> String {
    match unit_sign(axis.unit) {
        "" => axis.name.clone(),
        sign => format!("{}, {sign}", axis.name),
    }
}

impl Curve {
    /// Puts a sample where it belongs among rising or falling ones; one that is there already is replaced.
    pub fn insert(&mut self, sample: Sample) {
        let falling = match (self.points.first(), self.points.last()) {
            (Some(a), Some(b)) => a.at > b.at,
            _ => false,
        };
        let before = |s: &Sample| {
            if falling {
                s.at > sample.at
            } else {
                s.at < sample.at
            }
        };
        let index = self.points.partition_point(before);
        match self.points.get_mut(index) {
            Some(there) if there.at == sample.at => *there = sample,
            _ => self.points.insert(index, sample),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(at: f64, value: f64) -> Sample {
        Sample {
            at,
            value,
            rate: None,
        }
    }

    #[test]
    fn samples_go_where_they_belong() {
        let mut rising = Curve {
            name: String::new(),
            points: vec![sample(0.0, 0.0), sample(2.0, 4.0)],
        };
        rising.insert(sample(1.0, 1.0));
        rising.insert(sample(2.0, 5.0));
        assert_eq!(
            rising.points.iter().map(|s| s.at).collect::<Vec<_>>(),
            [0.0, 1.0, 2.0]
        );
        assert_eq!(rising.points[2].value, 5.0);
        let mut falling = Curve {
            name: String::new(),
            points: vec![sample(2.0, 0.0), sample(0.0, 4.0)],
        };
        falling.insert(sample(1.0, 1.0));
        assert_eq!(falling.points[1].at, 1.0);
    }
}
