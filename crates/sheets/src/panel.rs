//! One panel of a plot: field, axes, curves, marks, limits.

use crate::font::{self, SMALL};
use crate::geometry::{P, Rect, along, direction, distance};
use crate::labels::{self, Anchor, Label};
use crate::lines::Lines;
use crate::number::{trimmed, value, value_to};
use crate::plot::{Axis, Curve, Limit, Panel, Plot, Sample, axis_title, is_map};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use crate::ticks::{self, Ticks};
use quantity::Unit;

/// A panel with its field's upper left corner at the origin.
pub(crate) struct Drawn {
    pub(crate) group: Group,
    pub(crate) extent: Rect,
    /// Printed values at the lower and upper edge of the field, and their unit.
    pub(crate) ends: [f64; 2],
    pub(crate) unit: quantity::Unit,
}

/// From values to paper.
struct Field<'a> {
    across: &'a Axis,
    up: &'a Axis,
    x: &'a Ticks,
    y: &'a Ticks,
    size: P,
}

impl Field<'_> {
    /// Inside units to paper.
    fn at(&self, x: f64, y: f64) -> P {
        [
            self.x_at(self.across.unit.from_inside(x)),
            self.y_at(self.up.unit.from_inside(y)),
        ]
    }

    fn x_at(&self, printed: f64) -> f64 {
        share(self.x, printed) * self.size[0]
    }

    fn y_at(&self, printed: f64) -> f64 {
        (1.0 - share(self.y, printed)) * self.size[1]
    }

    /// Whether a height on the paper lies within the field.
    fn spans(&self, y: f64) -> bool {
        (0.0..=self.size[1]).contains(&y)
    }

    fn rect(&self) -> Rect {
        Rect::new([0.0; 2], self.size)
    }
}

fn share(ticks: &Ticks, printed: f64) -> f64 {
    let [low, high] = ticks.ends;
    (printed - low) / (high - low)
}

const CURVE_PENS: [Pen; 3] = [Pen::Wide, Pen::WideDashed, Pen::WideDotted];

/// Draws one panel; `first` bears the words of marked places, `last` the figures of the axis across.
pub(crate) fn draw(
    plot: &Plot,
    panel: &Panel,
    index: usize,
    x: &Ticks,
    size: P,
    first: bool,
    last: bool,
) -> Drawn {
    let y = up_ticks(panel, size[1], is_map(plot));
    let field = Field {
        across: &plot.across,
        up: &panel.up,
        x,
        y: &y,
        size,
    };
    let mut g = Group::named(
        "panel",
        format!("panel-{index}"),
        &panel.up.name,
        format!("{} over {}", panel.up.name, plot.across.name),
    );
    let mut labels: Vec<Label> = Vec::new();
    let mut on_lines = Group::new("names");

    rests(&field, panel, &mut g, &mut labels);
    bands(&field, panel, &mut g);
    spreads(&field, panel, &mut g, &mut labels);
    axes(&field, last, &mut g);
    limits(&field, panel, &mut g, &mut labels);
    places(&field, plot, first, &mut g, &mut labels);
    for (i, curve) in panel.curves.iter().enumerate() {
        // More curves than pens are told apart by their names alone.
        let many = panel.curves.len() > CURVE_PENS.len();
        let pen = if many {
            Pen::Narrow
        } else {
            CURVE_PENS.get(i).copied().unwrap_or(Pen::Wide)
        };
        let runs = runs(&field, curve);
        for run in &runs {
            g.draw(pen, Shape::poly(run, false));
        }
        if many {
            for run in &runs {
                name_on(run, &curve.name, &field, &mut on_lines);
            }
        } else if panel.curves.len() > 1 {
            // What lies on another curve is named with it.
            let same = |other: &Curve| coincide(&field, other, curve);
            if panel.curves.iter().take(i).any(same) {
                continue;
            }
            let after = panel.curves.iter().skip(i + 1).filter(|c| same(c));
            let names: Vec<&str> = std::iter::once(curve)
                .chain(after)
                .map(|c| c.name.as_str())
                .collect();
            let anchors = runs
                .iter()
                .max_by_key(|r| r.len())
                .map(|run| along_run(run, field.size[1]))
                .unwrap_or_default();
            labels.push(note(&names.join(" and "), anchors, true));
        }
    }
    for mark in &panel.marks {
        let at = field.at(mark.at, mark.value);
        if !field.rect().grown(0.5).holds(&Rect::new(at, at)) {
            continue;
        }
        g.put(
            Some(Pen::Narrow),
            Fill::Ground,
            Shape::Circle {
                centre: at,
                radius: 0.9,
            },
        );
        let numbers = format!(
            "{} at {}",
            value_to(mark.value, panel.up.unit, y.decimals + 1),
            across(&plot.across, mark.at)
        );
        // A blank asks for the dot alone.
        if !mark.words.is_empty() && mark.words.trim().is_empty() {
            continue;
        }
        let words = if mark.words.is_empty() {
            numbers
        } else {
            mark.words.clone()
        };
        labels.push(note(
            &words,
            vec![Anchor {
                at,
                clear: 1.2,
                line: None,
            }],
            false,
        ));
    }
    let mut taken = beside(&field);
    let title = axis_title(&panel.up);
    let lines = font::wrapped(&title, SMALL, Hand::Name, size[0] + OVER);
    for (i, line) in lines.iter().rev().enumerate() {
        let up = -2.2 - i as f64 * font::pitch(SMALL);
        let title = Lettering::new([0.0, up], line, SMALL, Hold::Start, Hand::Name);
        taken.push(title.extent());
        g.letter(title);
    }
    g.lettering(&mut |_, r| taken.push(r));
    on_lines.lettering(&mut |_, r| taken.push(r));
    let placed = labels::place(&labels, &Lines::new(pieces(&g)), &taken);
    let mut names = on_lines;
    for (label, placed) in labels.iter().zip(&placed) {
        if let Some(placed) = placed {
            names.add(label.group(placed));
        }
    }
    if let Some(words) = labels::left_out(&placed) {
        let at = [field.rect().max[0], -2.2];
        names.letter(Lettering::new(at, words, SMALL, Hold::End, Hand::Note));
    }
    g.add(names);
    let extent = g.extent().join(field.rect());
    Drawn {
        group: g,
        extent,
        ends: y.ends,
        unit: panel.up.unit,
    }
}

/// Words stand over, in and under a field and not beside it, where they would take the width of the curves: so far they may reach past its
/// right edge, mm.
const OVER: f64 = 4.0;

/// The paper on both sides of a field.
fn beside(field: &Field) -> Vec<Rect> {
    let far = 1e4;
    let right = field.size[0] + OVER;
    vec![
        Rect::new([-far, -far], [-0.7, far]),
        Rect::new([right, -far], [far, far]),
    ]
}

/// Writes the name of a line on the line, where it runs over no other name.
fn name_on(run: &[P], name: &str, field: &Field, names: &mut Group) {
    let long: f64 = run.windows(2).map(|p| distance(p[0], p[1])).sum();
    let wide = font::width(name, SMALL, Hand::Note);
    if long < 2.5 * wide {
        return;
    }
    let mut taken = Vec::new();
    names.lettering(&mut |_, r| taken.push(r.grown(0.8)));
    for share in [0.5, 0.38, 0.62, 0.26, 0.74, 0.15, 0.85] {
        let mut left = share * long;
        let place = run.windows(2).find_map(|p| {
            let step = distance(p[0], p[1]);
            if left <= step {
                return Some(along(p[0], direction(p[0], p[1]), left));
            }
            left -= step;
            None
        });
        let Some(at) = place else { continue };
        let middle = [at[0], at[1] + font::above(SMALL) / 2.0];
        let lettering = Lettering::new(middle, name, SMALL, Hold::Middle, Hand::Note);
        let room = lettering.extent();
        let inside = field.rect().holds(&room);
        if inside && !taken.iter().any(|t| t.overlaps(&room)) {
            names.letter(lettering);
            return;
        }
    }
}

/// A value of the axis across; the unit of one without any stands in its name: `time, s`.
fn across(axis: &Axis, at: f64) -> String {
    let told = value(at, axis.unit);
    match axis.name.rsplit_once(", ") {
        Some((_, sign)) if axis.unit == Unit::One => format!("{told} {sign}"),
        _ => told,
    }
}

fn note(words: &str, anchors: Vec<Anchor>, dot: bool) -> Label {
    Label {
        lines: vec![font::clean(words)],
        height: SMALL,
        hand: Hand::Note,
        anchors,
        dot,
        carried: None,
    }
}

fn pieces(g: &Group) -> Vec<(P, P, f64)> {
    let mut out = Vec::new();
    g.pieces(&mut |a, b, pen| out.push((a, b, pen.weight())));
    out
}

/// Ticks that take in the curves, the marks, and those limits that do not lie far off.
fn up_ticks(panel: &Panel, height: f64, is_map: bool) -> Ticks {
    let unit = panel.up.unit;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let values = panel
        .curves
        .iter()
        .flat_map(|c| &c.points)
        .map(|s| s.value)
        .chain(panel.marks.iter().map(|m| m.value))
        .chain(
            panel
                .bands
                .iter()
                .flat_map(|b| &b.points)
                .flat_map(|&[_, low, high]| [low, high]),
        );
    for v in values
        .filter(|v| v.is_finite())
        .map(|v| unit.from_inside(v))
    {
        low = low.min(v);
        high = high.max(v);
    }
    let span = high - low;
    for l in panel
        .limits
        .iter()
        .map(|l| unit.from_inside(l.value))
        .filter(|l| l.is_finite())
    {
        if low > high || (l > low - 1.5 * span && l < high + 1.5 * span) {
            low = low.min(l);
            high = high.max(l);
        }
    }
    // A hair beyond a round value is no reason for another step of the axis.
    let hair = HAIR * (high - low);
    let ticks = ticks::ticks(low + hair, high - hair, (height / 9.0).round(), unit);
    // A map goes to the ends of its drive and no farther.
    if is_map {
        ticks.within(low, high)
    } else {
        ticks
    }
}

/// What a curve may stick out of its field, as a share of its height: less than its line is wide.
const HAIR: f64 = 0.002;

fn axes(field: &Field, last: bool, g: &mut Group) {
    let [w, h] = field.size;
    let mut grid = Vec::new();
    let figure = |ticks: &Ticks, v: f64| trimmed(v, ticks.decimals);
    let widest = field
        .x
        .at
        .iter()
        .map(|&v| font::width(&figure(field.x, v), SMALL, Hand::Note))
        .fold(0.0, f64::max);
    // Where figures would touch, every second or third is written.
    let apart = w * field.x.step / (field.x.ends[1] - field.x.ends[0]);
    let every = ((widest + 2.0) / apart).ceil().max(1.0) as usize;
    for (i, &v) in field.x.at.iter().enumerate() {
        let x = field.x_at(v);
        if x > 0.2 && x < w - 0.2 {
            grid.push([[x, 0.0], [x, h]]);
        }
        if last && i.is_multiple_of(every) {
            let down = h + 1.4 + SMALL;
            g.letter(Lettering::new(
                [x, down],
                figure(field.x, v),
                SMALL,
                Hold::Middle,
                Hand::Note,
            ));
        }
    }
    for (i, &v) in field.y.at.iter().enumerate() {
        let y = field.y_at(v);
        if i > 0 && i + 1 < field.y.at.len() {
            grid.push([[0.0, y], [w, y]]);
        }
        g.letter(Lettering::new(
            [-1.5, y + SMALL / 2.0],
            figure(field.y, v),
            SMALL,
            Hold::End,
            Hand::Note,
        ));
    }
    g.draw(Pen::Grid, Shape::Strokes(grid));
    g.draw(
        Pen::Narrow,
        Shape::poly(&[[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]], true),
    );
    if field.y.ends[0] < 0.0 && field.y.ends[1] > 0.0 {
        let y = field.y_at(0.0);
        g.draw(Pen::Narrow, Shape::line([0.0, y], [w, y]));
    }
    if last {
        let down = h + 2.4 + SMALL + font::pitch(SMALL);
        g.letter(Lettering::new(
            [w / 2.0, down],
            axis_title(field.across),
            SMALL,
            Hold::Middle,
            Hand::Name,
        ));
    }
}

/// Upright lines at dead centres and the like, named above the first panel.
fn places(field: &Field, plot: &Plot, first: bool, g: &mut Group, labels: &mut Vec<Label>) {
    let [w, h] = field.size;
    for place in &plot.places {
        let x = field.at(place.at, 0.0)[0];
        if !(x.is_finite() && (-0.5..=w + 0.5).contains(&x)) {
            continue;
        }
        g.draw(Pen::Chain, Shape::line([x, 0.0], [x, h]));
        if first {
            let at = format!("{} at {}", place.words, across(&plot.across, place.at));
            let anchors = [0.12, 0.3, 0.5, 0.7, 0.88].map(|t| Anchor {
                at: [x, h * t],
                clear: 0.6,
                line: Some([0.0, 1.0]),
            });
            labels.push(note(&at, anchors.to_vec(), false));
        }
    }
}

/// Stretches in which the reading rests, shaded from edge to edge.
fn rests(field: &Field, panel: &Panel, g: &mut Group, labels: &mut Vec<Label>) {
    let h = field.size[1];
    for rest in &panel.rests {
        let [a, b] = rest
            .ends
            .map(|x| field.at(x, 0.0)[0].clamp(0.0, field.size[0]));
        // What is too narrow to be seen is told in words.
        if !(a.is_finite() && b.is_finite()) || b - a < 0.8 {
            continue;
        }
        g.put(
            None,
            Fill::Tint,
            Shape::poly(&[[a, 0.0], [b, 0.0], [b, h], [a, h]], true),
        );
        for x in [a, b] {
            g.draw(Pen::Ghost, Shape::line([x, 0.0], [x, h]));
        }
        if rest.words.is_empty() {
            continue;
        }
        let anchors = [0.5, 0.35, 0.65, 0.2, 0.8].map(|t| Anchor {
            at: [0.5 * (a + b), h * t],
            clear: 0.4,
            line: None,
        });
        labels.push(note(&rest.words, anchors.to_vec(), true));
    }
}

/// The barred side of every limit as a band, under everything else.
fn bands(field: &Field, panel: &Panel, g: &mut Group) {
    for limit in &panel.limits {
        let y = field.at(0.0, limit.value)[1];
        let [a, b] = stretch(field, limit);
        if field.spans(y) && b - a > 0.5 {
            let barred = if limit.least { field.size[1] } else { 0.0 };
            g.put(
                None,
                Fill::Tint,
                Shape::poly(&[[a, y], [b, y], [b, barred], [a, barred]], true),
            );
        }
    }
}

/// A band that is nowhere this wide on the paper is the line itself: nobody could tell what a name at it means.
const SEEN: f64 = 1.0;

/// Nearer than this two limits have no room for two names, mm.
const CLOSE: f64 = 6.0;

/// Whether two curves are one line on the paper.
fn coincide(field: &Field, a: &Curve, b: &Curve) -> bool {
    let near = |(s, t): (&Sample, &Sample)| {
        let [p, q] = [s, t].map(|s| field.at(s.at, s.value));
        distance(p, q) < 0.4 || !(s.value.is_finite() || t.value.is_finite())
    };
    a.points.len() == b.points.len() && a.points.iter().zip(&b.points).all(near)
}

/// The bands about curves: tinted, with both edges thin, so that they differ from the barred side of a limit.
fn spreads(field: &Field, panel: &Panel, g: &mut Group, labels: &mut Vec<Label>) {
    for band in &panel.bands {
        let good = |p: &[f64; 3]| p.iter().all(|x| x.is_finite());
        let mut widest: Vec<P> = Vec::new();
        let mut seen = false;
        for run in band.points.split(|p| !good(p)) {
            let low: Vec<P> = run.iter().map(|&[x, low, _]| field.at(x, low)).collect();
            let high: Vec<P> = run.iter().map(|&[x, _, high]| field.at(x, high)).collect();
            if low.len() < 2 {
                continue;
            }
            seen |= low.iter().zip(&high).any(|(l, h)| l[1] - h[1] > SEEN);
            let around: Vec<P> = low.iter().chain(high.iter().rev()).copied().collect();
            g.put(None, Fill::Tint, Shape::poly(&around, true));
            for edge in [&low, &high] {
                g.draw(Pen::Ghost, Shape::poly(edge, false));
            }
            if high.len() > widest.len() {
                widest = high;
            }
        }
        if !band.name.is_empty() && widest.len() > 1 && seen {
            labels.push(note(&band.name, along_run(&widest, field.size[1]), true));
        }
    }
}

/// The edge of every limit, dashed and named. A limit beyond the field is named at that side of it.
fn limits(field: &Field, panel: &Panel, g: &mut Group, labels: &mut Vec<Label>) {
    for limit in &panel.limits {
        let y = field.at(0.0, limit.value)[1];
        if !y.is_finite() {
            continue;
        }
        let [a, b] = stretch(field, limit);
        if field.spans(y) && b - a > 0.5 {
            g.draw(Pen::Limit, Shape::line([a, y], [b, y]));
        } else if field.spans(y) {
            // Asked at one place: a bar there, and a short upright towards the barred side.
            let side = if limit.least { 1.0 } else { -1.0 };
            g.draw(Pen::Limit, Shape::line([a - 4.0, y], [a + 4.0, y]));
            g.draw(Pen::Narrow, Shape::line([a, y], [a, y + side * 2.5]));
        }
        // Both sides of one ask that lie this near are named once.
        let partner = panel.limits.iter().find(|other| {
            let there = field.at(0.0, other.value)[1];
            other.name == limit.name
                && other.least != limit.least
                && other.over == limit.over
                && (there - y).abs() < CLOSE
                && field.spans(there) == field.spans(y)
        });
        if partner.is_some() && !limit.least {
            continue;
        }
        if let Some(partner) = partner {
            let words = format!(
                "{}: {} to {}",
                limit.name,
                value(limit.value, panel.up.unit),
                value(partner.value, panel.up.unit)
            );
            labels.push(limit_label(&words, [a, b], y, field));
            continue;
        }
        let words = format!(
            "{}: {} {}{}",
            limit.name,
            if limit.least { "at least" } else { "at most" },
            value(limit.value, panel.up.unit),
            if field.spans(y) {
                ""
            } else if y < 0.0 {
                " ↑"
            } else {
                " ↓"
            }
        );
        labels.push(limit_label(&words, [a, b], y, field));
    }
}

/// The name of a limit at its edge.
fn limit_label(words: &str, [a, b]: [f64; 2], y: f64, field: &Field) -> Label {
    let [w, h] = field.size;
    let clear = if field.spans(y) { 0.5 } else { 0.2 };
    let along_edge = [0.85, 0.15, 0.65, 0.35, 0.5];
    let anchors = along_edge.map(|t| Anchor {
        at: [(a + (b - a) * t).clamp(0.0, w), y.clamp(0.0, h)],
        clear,
        line: Some([1.0, 0.0]),
    });
    Label {
        hand: Hand::Drive,
        ..note(words, anchors.to_vec(), true)
    }
}

/// The part of the field across which a limit holds.
fn stretch(field: &Field, limit: &Limit) -> [f64; 2] {
    let w = field.size[0];
    let Some([a, b]) = limit.over else {
        return [0.0, w];
    };
    let [p, q] = [a, b].map(|x| field.at(x, 0.0)[0].clamp(0.0, w));
    if p.is_finite() && q.is_finite() {
        [p.min(q), p.max(q)]
    } else {
        [0.0, w]
    }
}

/// The unbroken runs of a curve on the paper. Between samples with known rates a cubic is laid (Hermite form).
fn runs(field: &Field, curve: &Curve) -> Vec<Vec<P>> {
    let mut all = Vec::new();
    let good = |s: &Sample| s.at.is_finite() && s.value.is_finite();
    for run in curve.points.split(|s| !good(s)) {
        let mut points: Vec<P> = run
            .first()
            .map(|s| field.at(s.at, s.value))
            .into_iter()
            .collect();
        for pair in run.windows(2) {
            if let [s, t] = pair {
                between(s, t, &mut |x, y| points.push(field.at(x, y)));
            }
        }
        if points.len() > 1 {
            all.push(points);
        }
    }
    all
}

fn between(s: &Sample, t: &Sample, each: &mut dyn FnMut(f64, f64)) {
    let h = t.at - s.at;
    if let (Some(m0), Some(m1)) = (s.rate, t.rate)
        && m0.is_finite()
        && m1.is_finite()
    {
        for i in 1..12 {
            let u = f64::from(i) / 12.0;
            let (u2, u3) = (u * u, u * u * u);
            let y = (2.0 * u3 - 3.0 * u2 + 1.0) * s.value
                + (u3 - 2.0 * u2 + u) * h * m0
                + (3.0 * u2 - 2.0 * u3) * t.value
                + (u3 - u2) * h * m1;
            each(s.at + u * h, y);
        }
    }
    each(t.at, t.value);
}

/// Nearer than this to the lower or upper edge of its field a curve is not named, mm: the name would stand in the numbers of the axis.
const EDGE: f64 = 5.0;

/// Places along a run where a curve's name may stand; those on the edge of the field only when there is no other.
fn along_run(run: &[P], height: f64) -> Vec<Anchor> {
    let all: Vec<Anchor> = [0.9, 0.75, 0.5, 0.25, 0.1, 0.6, 0.4, 0.15]
        .into_iter()
        .filter_map(|t| {
            let i = ((run.len() - 1) as f64 * t) as usize;
            let (a, b) = (run.get(i)?, run.get(i + 1)?);
            let at = along(*a, direction(*a, *b), distance(*a, *b) / 2.0);
            Some(Anchor {
                at,
                clear: 0.8,
                line: Some(direction(*a, *b)),
            })
        })
        .collect();
    let within = |a: &Anchor| (EDGE..=height - EDGE).contains(&a.at[1]);
    if all.iter().any(within) {
        all.into_iter().filter(within).collect()
    } else {
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cubic_is_met_exactly() {
        // y = x³ − x on 0 .. 2 with its own slopes.
        let f = |x: f64| x * x * x - x;
        let s = |x: f64| Sample {
            at: x,
            value: f(x),
            rate: Some(3.0 * x * x - 1.0),
        };
        between(&s(0.0), &s(2.0), &mut |x, y| {
            assert!((y - f(x)).abs() < 1e-12);
        });
    }

    #[test]
    fn without_rates_a_straight_line_is_drawn() {
        let mut count = 0;
        let s = |x: f64| Sample {
            at: x,
            value: x,
            rate: None,
        };
        between(&s(0.0), &s(2.0), &mut |_, _| count += 1);
        assert_eq!(count, 1);
    }
}
