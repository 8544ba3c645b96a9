//! A sheet as SVG: true size in mm, readable source, lettering that can be selected.

use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use crate::font;
use crate::geometry::P;
use crate::look::{self, Look};
use crate::number::{short, trimmed};
use crate::sheet::{Fill, Group, Hold, Lettering, Mark, Shape, Sheet, Step, on_arc};

/// Decimals of a figure that is looked at, and of one that is read back: at 1:10 eight still tell the part to 1e-7 mm.
const SEEN: usize = 3;
const READ_BACK: usize = 8;

/// The sheet as a whole SVG file.
pub(crate) fn write(sheet: &Sheet, look: Look) -> String {
    write_to(sheet, look, SEEN)
}

/// The same with the decimals of a sheet that parts are made from.
pub(crate) fn write_exactly(sheet: &Sheet, look: Look) -> String {
    write_to(sheet, look, READ_BACK)
}

fn write_to(sheet: &Sheet, look: Look, decimals: usize) -> String {
    let [w, h] = sheet.size.map(short);
    let view_box = format!("0 0 {w} {h}");
    let (title, description) = (font::clean(&sheet.title), font::clean(&sheet.description));
    let class = format!("sheet {}", look.class());
    let markup = html! {
        svg xmlns="http://www.w3.org/2000/svg" class=(class) width=(format!("{w}mm")) height=(format!("{h}mm")) viewBox=(view_box) role="img" aria-label=(title) {
            (nl()) title { (title) }
            (nl()) desc { (description) }
            (nl()) style { (PreEscaped(look::style(look))) }
            (nl()) rect class="paper" width=(w) height=(h) {}
            @for group in &sheet.groups { (nl()) (self::group(group, decimals)) }
            (nl())
        }
        (nl())
    };
    markup.into_string()
}

/// maud writes everything on one line; a line an element makes the file readable and its changes visible.
pub(crate) fn nl() -> PreEscaped<&'static str> {
    PreEscaped("\n")
}

fn group(g: &Group, decimals: usize) -> Markup {
    let number = |x: f64| trimmed(x, decimals);
    let id = (!g.id.is_empty()).then_some(g.id.as_str());
    let name = (!g.name.is_empty()).then_some(g.name.as_str());
    let shift = (g.shift != [0.0, 0.0])
        .then(|| format!("translate({} {})", number(g.shift[0]), number(g.shift[1])));
    html! {
        g id=[id] class=(g.class) data-name=[name] transform=[shift] {
            @if !g.title.is_empty() { (nl()) title { (g.title) } }
            @for m in &g.marks { (nl()) (mark_to(m, decimals)) }
            @for l in &g.letters { (nl()) (lettering(l)) }
            @for inner in &g.groups { (nl()) (group(inner, decimals)) }
            (nl())
        }
    }
}

pub(crate) fn mark(m: &Mark) -> Markup {
    mark_to(m, SEEN)
}

fn mark_to(m: &Mark, decimals: usize) -> Markup {
    let number = |x: f64| trimmed(x, decimals);
    let class = match (m.pen, m.fill.class()) {
        (Some(pen), Some(fill)) => format!("{} {fill}", pen.class()),
        (Some(pen), None) => pen.class().to_owned(),
        (None, fill) => fill.unwrap_or_default().to_owned(),
    };
    match &m.shape {
        Shape::Circle { centre, radius } => html! {
            circle class=(class) cx=(number(centre[0])) cy=(number(centre[1])) r=(number(*radius)) {}
        },
        shape => html! { path class=(class) d=(path(shape, m.fill, decimals)) {} },
    }
}

fn path(shape: &Shape, fill: Fill, decimals: usize) -> String {
    let mut d = String::new();
    let number = |x: f64| trimmed(x, decimals);
    let point = |p: P| format!("{} {}", number(p[0]), number(p[1]));
    match shape {
        Shape::Strokes(strokes) => {
            for &[a, b] in strokes {
                let _ = write!(d, "M{}L{}", point(a), point(b));
            }
        }
        Shape::Outline {
            start,
            steps,
            closed,
        } => {
            let _ = write!(d, "M{}", point(*start));
            for step in steps {
                match *step {
                    Step::To(p) => {
                        let _ = write!(d, "L{}", point(p));
                    }
                    Step::Arc {
                        centre,
                        radius,
                        from,
                        sweep,
                    } => {
                        // SVG cannot say an arc of half a turn or more without doubt: such a one goes in pieces.
                        let count = (sweep.abs() / 3.0).ceil().clamp(1.0, 64.0) as usize;
                        for i in 1..=count {
                            let to = on_arc(centre, radius, from + sweep * i as f64 / count as f64);
                            let clockwise = u8::from(sweep < 0.0);
                            let r = number(radius);
                            let _ = write!(d, "A{r} {r} 0 0 {clockwise} {}", point(to));
                        }
                    }
                }
            }
            if *closed || fill != Fill::None {
                d.push('Z');
            }
        }
        Shape::Circle { .. } => {}
    }
    d
}

pub(crate) fn lettering(l: &Lettering) -> Markup {
    let size = short(font::em(l.height));
    let anchor = match l.hold {
        Hold::Start => None,
        Hold::Middle => Some("middle"),
        Hold::End => Some("end"),
    };
    let [x, y] = l.at.map(short);
    let turn = l.upright.then(|| format!("rotate(-90 {x} {y})"));
    html! { text class=(l.hand.class()) x=(x) y=(y) font-size=(size) text-anchor=[anchor] transform=[turn] { (l.text) } }
}
