//! What stands on a sheet: lines, outlines and lettering in named groups. Everything in mm of paper, y down.

use std::f64::consts::TAU;

use crate::font;
use crate::geometry::{P, Rect, add, at_angle, finite};

/// How a line is drawn: two weights and the types of ISO 128.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pen {
    /// Wide continuous: edges and links that are seen.
    Wide,
    /// Narrow continuous: leaders, thin symbols.
    Narrow,
    /// Narrow continuous, a shade back: hatching.
    Hatch,
    /// Narrow dashed: what lies in another plane.
    Dashed,
    /// Narrow long-dashed dotted: centre lines, pitch circles.
    Chain,
    /// Narrow long-dashed dotted: path of a point.
    Trace,
    /// Narrow, a shade back: another pose of a moving part.
    Ghost,
    /// Narrow continuous: arrows of drives.
    Drive,
    /// Wide dashed, for a second curve in a plot.
    WideDashed,
    /// Wide dotted, for a third curve in a plot.
    WideDotted,
    /// Narrow dashed: a limit asked for.
    Limit,
    /// Faint: the grid of a plot.
    Grid,
}

impl Pen {
    /// All pens, for the style sheet.
    pub(crate) const ALL: [Self; 12] = [
        Self::Wide,
        Self::Narrow,
        Self::Hatch,
        Self::Dashed,
        Self::Chain,
        Self::Trace,
        Self::Ghost,
        Self::Drive,
        Self::WideDashed,
        Self::WideDotted,
        Self::Limit,
        Self::Grid,
    ];

    /// Class in the style sheet.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Narrow => "narrow",
            Self::Hatch => "hatch",
            Self::Dashed => "dashed",
            Self::Chain => "chain",
            Self::Trace => "trace",
            Self::Ghost => "ghost",
            Self::Drive => "drive",
            Self::WideDashed => "wide-dashed",
            Self::WideDotted => "wide-dotted",
            Self::Limit => "limit",
            Self::Grid => "grid",
        }
    }

    /// Line width, mm: 0.5 or 0.25 (line group 0.5 of ISO 128-2).
    pub(crate) fn width(self) -> f64 {
        if matches!(self, Self::Wide | Self::WideDashed | Self::WideDotted) {
            0.5
        } else {
            0.25
        }
    }

    /// Lengths of dashes and gaps, mm; ISO 128-2 counts them in line widths (long dash 24, dash 12, gap 3, dot half a width;
    /// the dot is drawn one width long so that it survives a screen).
    pub(crate) fn dashes(self) -> Option<&'static str> {
        match self {
            Self::Dashed | Self::Limit => Some("3 0.75"),
            Self::Chain | Self::Trace => Some("6 0.75 0.25 0.75"),
            Self::WideDashed => Some("3 1"),
            Self::WideDotted => Some("0.5 1"),
            Self::Wide | Self::Narrow | Self::Hatch | Self::Ghost | Self::Drive | Self::Grid => {
                None
            }
        }
    }

    /// How much a label suffers per mm of such a line under it.
    pub(crate) fn weight(self) -> f64 {
        match self {
            Self::Wide | Self::WideDashed | Self::WideDotted => 1.0,
            Self::Narrow | Self::Drive | Self::Dashed | Self::Limit => 0.6,
            Self::Chain | Self::Hatch => 0.5,
            Self::Trace | Self::Ghost => 0.3,
            Self::Grid => 0.02,
        }
    }
}

/// What a closed outline is filled with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fill {
    /// Nothing.
    None,
    /// The ground, so that what lies behind is hidden.
    Ground,
    /// The colour of wide lines.
    Ink,
    /// The colour of drives.
    DriveInk,
    /// A tint of the ground: the body of a part, a band.
    Tint,
}

impl Fill {
    /// Class in the style sheet.
    pub(crate) fn class(self) -> Option<&'static str> {
        match self {
            Self::None => None,
            Self::Ground => Some("ground"),
            Self::Ink => Some("ink"),
            Self::DriveInk => Some("drive-ink"),
            Self::Tint => Some("tint"),
        }
    }
}

/// One step of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Step {
    /// Straight to here.
    To(P),
    /// Along an arc: centre, radius, first angle and sweep as on the machine (counter-clockwise positive).
    Arc {
        centre: P,
        radius: f64,
        from: f64,
        sweep: f64,
    },
}

/// A shape.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shape {
    /// Separate straight strokes.
    Strokes(Vec<[P; 2]>),
    /// A full circle.
    Circle { centre: P, radius: f64 },
    /// A connected line, open or closed.
    Outline {
        start: P,
        steps: Vec<Step>,
        closed: bool,
    },
}

/// A point of an arc.
pub(crate) fn on_arc(centre: P, radius: f64, angle: f64) -> P {
    let d = at_angle(angle);
    [centre[0] + radius * d[0], centre[1] + radius * d[1]]
}

impl Shape {
    /// A chain of straight lines; a point that is not finite is passed over.
    pub(crate) fn poly(points: &[P], closed: bool) -> Self {
        let mut good = points.iter().copied().filter(|&p| finite(p));
        let start = good.next().unwrap_or([f64::NAN; 2]);
        Self::Outline {
            start,
            steps: good.map(Step::To).collect(),
            closed,
        }
    }

    /// One straight line.
    pub(crate) fn line(a: P, b: P) -> Self {
        Self::Strokes(vec![[a, b]])
    }

    /// An open arc.
    pub(crate) fn arc(centre: P, radius: f64, from: f64, sweep: f64) -> Self {
        Self::Outline {
            start: on_arc(centre, radius, from),
            steps: vec![Step::Arc {
                centre,
                radius,
                from,
                sweep,
            }],
            closed: false,
        }
    }

    /// Whether every number in it is finite.
    pub(crate) fn is_finite(&self) -> bool {
        match self {
            Self::Strokes(strokes) => strokes.iter().flatten().all(|&p| finite(p)),
            Self::Circle { centre, radius } => finite(*centre) && radius.is_finite(),
            Self::Outline { start, steps, .. } => {
                finite(*start)
                    && steps.iter().all(|s| match *s {
                        Step::To(p) => finite(p),
                        Step::Arc {
                            centre,
                            radius,
                            from,
                            sweep,
                        } => {
                            finite(centre)
                                && radius.is_finite()
                                && from.is_finite()
                                && sweep.is_finite()
                        }
                    })
            }
        }
    }

    /// The shape as straight pieces; arcs in steps of at most 7.5 degrees.
    pub(crate) fn pieces(&self, mut each: impl FnMut(P, P)) {
        let arc = |centre: P, radius: f64, from: f64, sweep: f64, each: &mut dyn FnMut(P, P)| {
            let count = (sweep.abs() / (TAU / 48.0)).ceil().clamp(1.0, 480.0) as usize;
            let mut last = on_arc(centre, radius, from);
            for i in 1..=count {
                let next = on_arc(centre, radius, from + sweep * i as f64 / count as f64);
                each(last, next);
                last = next;
            }
            last
        };
        match self {
            Self::Strokes(strokes) => strokes.iter().for_each(|&[a, b]| each(a, b)),
            Self::Circle { centre, radius } => {
                arc(*centre, *radius, 0.0, TAU, &mut each);
            }
            Self::Outline {
                start,
                steps,
                closed,
            } => {
                let mut last = *start;
                for step in steps {
                    last = match *step {
                        Step::To(p) => {
                            each(last, p);
                            p
                        }
                        Step::Arc {
                            centre,
                            radius,
                            from,
                            sweep,
                        } => arc(centre, radius, from, sweep, &mut each),
                    };
                }
                if *closed {
                    each(last, *start);
                }
            }
        }
    }
}

/// A shape with its line and filling.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Mark {
    pub(crate) shape: Shape,
    /// No line when `None`.
    pub(crate) pen: Option<Pen>,
    pub(crate) fill: Fill,
}

/// Where a line of lettering is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hold {
    Start,
    Middle,
    End,
}

/// Colour and slant of lettering.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hand {
    /// Names of parts, titles: bold.
    Name,
    /// Names of points, numbers, notes.
    Note,
    /// What a drive does.
    Drive,
}

impl Hand {
    pub(crate) fn is_bold(self) -> bool {
        self == Self::Name
    }

    /// Class in the style sheet.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Note => "note",
            Self::Drive => "drive-note",
        }
    }
}

/// One line of lettering.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Lettering {
    /// On the base line, at the place told by `hold`.
    pub(crate) at: P,
    pub(crate) text: String,
    /// Height of capitals, mm.
    pub(crate) height: f64,
    pub(crate) hold: Hold,
    pub(crate) hand: Hand,
    /// Turned a quarter counter-clockwise, to be read from the right.
    pub(crate) upright: bool,
}

impl Lettering {
    pub(crate) fn new(at: P, text: impl Into<String>, height: f64, hold: Hold, hand: Hand) -> Self {
        Self {
            at,
            text: font::clean(&text.into()),
            height,
            hold,
            hand,
            upright: false,
        }
    }

    /// The paper it covers.
    pub(crate) fn extent(&self) -> Rect {
        let w = font::width(&self.text, self.height, self.hand);
        let left = match self.hold {
            Hold::Start => 0.0,
            Hold::Middle => -w / 2.0,
            Hold::End => -w,
        };
        let (up, down) = (font::above(self.height), font::below(self.height));
        if self.upright {
            Rect::new(add(self.at, [-up, -left]), add(self.at, [down, -left - w]))
        } else {
            Rect::new(add(self.at, [left, -up]), add(self.at, [left + w, down]))
        }
    }
}

/// What a group goes with when the machine moves. Without one it stands still, or goes with the group it is in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Carried {
    /// It stands on the frame.
    Still,
    /// It moves and turns with a part.
    Part(usize),
    /// It stays upright at a point.
    Point(usize),
    /// It stays upright beside a part, at this place of the part as drawn, mm of the machine.
    Beside(usize, [f64; 2]),
    /// It is laid anew between the ends of a rod; this is the rod's number among those seen.
    Rod(usize),
    /// It stays upright beside the middle of a rod.
    BesideRod(usize),
    /// It is drawn out between the ends of a spring.
    Spring(usize),
}

/// A named group: a view, a part, a pin, a label.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Group {
    /// `id` of the element; empty for none. Made unique by whoever makes the group.
    pub(crate) id: String,
    pub(crate) class: &'static str,
    /// Name in the machine file; empty for none.
    pub(crate) name: String,
    /// What a screen reader says and a pointer shows; empty for none.
    pub(crate) title: String,
    /// What it goes with; told in the picture that moves alone.
    pub(crate) carried: Option<Carried>,
    /// Moved by this much.
    pub(crate) shift: P,
    pub(crate) marks: Vec<Mark>,
    pub(crate) letters: Vec<Lettering>,
    pub(crate) groups: Vec<Group>,
}

impl Group {
    pub(crate) fn new(class: &'static str) -> Self {
        Self {
            class,
            ..Self::default()
        }
    }

    pub(crate) fn named(
        class: &'static str,
        id: String,
        name: &str,
        title: impl Into<String>,
    ) -> Self {
        Self {
            class,
            id,
            name: font::clean(name),
            title: font::clean(&title.into()),
            ..Self::default()
        }
    }

    /// Adds a line. Marks with numbers that are not finite are left out.
    pub(crate) fn draw(&mut self, pen: Pen, shape: Shape) {
        self.put(Some(pen), Fill::None, shape);
    }

    /// Adds a filled shape with or without its line.
    pub(crate) fn put(&mut self, pen: Option<Pen>, fill: Fill, shape: Shape) {
        if shape.is_finite() && !matches!(&shape, Shape::Strokes(s) if s.is_empty()) {
            self.marks.push(Mark { shape, pen, fill });
        }
    }

    pub(crate) fn letter(&mut self, lettering: Lettering) {
        if finite(lettering.at) && !lettering.text.trim().is_empty() {
            self.letters.push(lettering);
        }
    }

    pub(crate) fn add(&mut self, group: Group) {
        if !group.is_bare() {
            self.groups.push(group);
        }
    }

    pub(crate) fn extend(&mut self, groups: impl IntoIterator<Item = Group>) {
        for group in groups {
            self.add(group);
        }
    }

    /// Whether there is nothing to see in it.
    pub(crate) fn is_bare(&self) -> bool {
        self.marks.is_empty() && self.letters.is_empty() && self.groups.iter().all(Group::is_bare)
    }

    /// Every straight piece in it, with its pen, in the coordinates outside the group.
    pub(crate) fn pieces(&self, each: &mut dyn FnMut(P, P, Pen)) {
        let s = self.shift;
        for mark in &self.marks {
            let pen = mark.pen.unwrap_or(Pen::Narrow);
            mark.shape.pieces(|a, b| each(add(a, s), add(b, s), pen));
        }
        for group in &self.groups {
            group.pieces(&mut |a, b, pen| each(add(a, s), add(b, s), pen));
        }
    }

    /// Every line of lettering in it, in the coordinates outside the group.
    pub(crate) fn lettering(&self, each: &mut dyn FnMut(&Lettering, Rect)) {
        let s = self.shift;
        for l in &self.letters {
            each(l, l.extent().moved(s));
        }
        for group in &self.groups {
            group.lettering(&mut |l, r| each(l, r.moved(s)));
        }
    }

    /// The paper it covers, half the line widths included.
    pub(crate) fn extent(&self) -> Rect {
        let mut rect = Rect::EMPTY;
        self.pieces(&mut |a, b, pen| {
            let half = pen.width() / 2.0;
            rect = rect.join(Rect::new(a, b).grown(half));
        });
        self.lettering(&mut |_, r| rect = rect.join(r));
        rect
    }
}

/// A whole sheet.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sheet {
    /// Width and height, mm.
    pub(crate) size: P,
    /// What it is, in a few words.
    pub(crate) title: String,
    /// The same told in sentences, for somebody who cannot see it.
    pub(crate) description: String,
    pub(crate) groups: Vec<Group>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extents_take_in_arcs_and_lettering() {
        let mut g = Group::new("x");
        g.draw(Pen::Wide, Shape::arc([0.0, 0.0], 10.0, 0.0, TAU / 2.0));
        let e = g.extent();
        assert!(
            (e.min[1] + 10.25).abs() < 0.01 && (e.max[0] - 10.25).abs() < 1e-9 && e.max[1] < 0.3,
            "{e:?}"
        );
        g.letter(Lettering::new([0.0, 20.0], "g", 2.5, Hold::End, Hand::Note));
        assert!(g.extent().max[1] > 20.5);
    }

    #[test]
    fn marks_that_are_not_finite_are_left_out() {
        let mut g = Group::new("x");
        g.draw(Pen::Wide, Shape::line([0.0, 0.0], [f64::NAN, 1.0]));
        g.draw(
            Pen::Wide,
            Shape::Circle {
                centre: [0.0, f64::INFINITY],
                radius: 1.0,
            },
        );
        g.draw(Pen::Wide, Shape::poly(&[], false));
        assert!(g.is_bare());
    }
}
