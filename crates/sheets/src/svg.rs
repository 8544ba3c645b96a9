//! A sheet as SVG: true size in mm, readable source, lettering that can be selected.

use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use crate::font;
use crate::geometry::P;
use crate::look::{self, Look};
use crate::number::short;
use crate::sheet::{Fill, Group, Hold, Lettering, Mark, Shape, Sheet, Step, on_arc};

/// The sheet as a whole SVG file.
pub(crate) fn write(sheet: &Sheet, look: Look) -> String {
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
            @for group in &sheet.groups { (nl()) (self::group(group)) }
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

fn group(g: &Group) -> Markup {
    let id = (!g.id.is_empty()).then_some(g.id.as_str());
    let name = (!g.name.is_empty()).then_some(g.name.as_str());
    let shift = (g.shift != [0.0, 0.0])
        .then(|| format!("translate({} {})", short(g.shift[0]), short(g.shift[1])));
    html! {
        g id=[id] class=(g.class) data-name=[name] transform=[shift] {
            @if !g.title.is_empty() { (nl()) title { (g.title) } }
            @for m in &g.marks { (nl()) (mark(m)) }
            @for l in &g.letters { (nl()) (lettering(l)) }
            @for inner in &g.groups { (nl()) (group(inner)) }
            (nl())
        }
    }
}

pub(crate) fn mark(m: &Mark) -> Markup {
    let class = match (m.pen, m.fill.class()) {
        (Some(pen), Some(fill)) => format!("{} {fill}", pen.class()),
        (Some(pen), None) => pen.class().to_owned(),
        (None, fill) => fill.unwrap_or_default().to_owned(),
    };
    match &m.shape {
        Shape::Circle { centre, radius } => html! {
            circle class=(class) cx=(short(centre[0])) cy=(short(centre[1])) r=(short(*radius)) {}
        },
        shape => html! { path class=(class) d=(path(shape, m.fill)) {} },
    }
}

fn path(shape: &Shape, fill: Fill) -> String {
    let mut d = String::new();
    let point = |p: P| format!("{} {}", short(p[0]), short(p[1]));
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
                            let r = short(radius);
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
