//! The assembly: the machine as drawn with numbered balloons, and the list of parts.

use super::flow::{Column, Flow};
use super::paper::{Block, Leaf, Page};
use super::taken::Taken;
use crate::drawing::Drawing;
use crate::geometry::{P, Rect, along, direction};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use machine::Machine;
use machine::fitting::Fitted;
use shop::part::{Form, Hole};
use shop::{Job, words};

/// Radius of a balloon, mm.
const BALLOON: f64 = 3.6;

/// The drawing of the machine fitted to a sheet, each part that is to be seen with its number.
pub(super) fn draw(machine: &Machine, job: &Job, drawing: &Drawing, leaf: Leaf) -> Page {
    // Frame and title block of the drawing stay behind: the sheet has its own.
    let shown: Vec<&Group> = drawing
        .groups()
        .iter()
        .filter(|g| g.class != "title-block")
        .collect();
    let extent = shown
        .iter()
        .fold(Rect::EMPTY, |all, g| all.join(g.extent()));
    let (w, h) = (extent.width().max(1.0), extent.height().max(1.0));
    let block = Block {
        machine: machine.name.clone(),
        title: "Assembly".to_owned(),
        facts: vec!["Numbers are those of the list of parts; the machine as drawn".to_owned()],
        scale: None,
        flat: false,
    };
    let mut page = Page::new(leaf, w > h, block);
    page.bookmark = Some("Assembly".to_owned());
    let [a, b] = page.field();
    let room = 2.0 * BALLOON + 6.0;
    let k = ((b[0] - a[0] - 2.0 * room) / w)
        .min((b[1] - a[1] - 2.0 * room) / h)
        .min(1.0);
    if (k - 1.0).abs() < 1e-9 {
        page.block.scale = Some(drawing.scale.to_string());
    }
    let origin = [
        a[0] + ((b[0] - a[0]) - k * w) / 2.0 - k * extent.min[0],
        a[1] + ((b[1] - a[1]) - k * h) / 2.0 - k * extent.min[1],
    ];
    let put = |p: P| [origin[0] + k * p[0], origin[1] + k * p[1]];
    let mut g = Group::new("assembly");
    for inner in shown {
        g.groups.push(scaled(inner, k, origin, [0.0, 0.0]));
    }
    let mut taken = Taken::within(Rect::new(a, b));
    taken.group(&g);
    page.groups.push(g);
    let mut balloons = Group::new("balloons");
    let mut unseen = Vec::new();
    for (n, part) in job.parts.iter().enumerate() {
        let number = (n + 1).to_string();
        match place(machine, job, drawing, &part.name) {
            Some(at) => balloon(&mut balloons, &mut taken, put(at), &number),
            None => unseen.push(number),
        }
    }
    if !unseen.is_empty() {
        let told = format!("Not to be seen here: {}", unseen.join(", "));
        page.block.facts.push(told);
    }
    page.groups.push(balloons);
    page
}

/// A number in a circle near a place, where least is in the way.
fn balloon(g: &mut Group, taken: &mut Taken, tip: P, text: &str) {
    let mut best: Option<(f64, P)> = None;
    for ring in 0..14 {
        for turn in 0..24 {
            let angle = f64::from(turn) * std::f64::consts::TAU / 24.0 + 0.6;
            let far = 10.0 + 5.0 * f64::from(ring);
            let c = [tip[0] + far * angle.cos(), tip[1] - far * angle.sin()];
            let rect = Rect::new(
                [c[0] - BALLOON, c[1] - BALLOON],
                [c[0] + BALLOON, c[1] + BALLOON],
            );
            let edge = along(c, direction(c, tip), BALLOON);
            let cost =
                taken.under(rect.grown(0.8)) + taken.pierced(edge, tip) + 2.0 * f64::from(ring);
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, c));
            }
        }
    }
    let Some((_, c)) = best else { return };
    let edge = along(c, direction(c, tip), BALLOON);
    g.draw(Pen::Narrow, Shape::line(edge, tip));
    g.put(
        None,
        Fill::Ink,
        Shape::Circle {
            centre: tip,
            radius: 0.6,
        },
    );
    g.put(
        Some(Pen::Narrow),
        Fill::Ground,
        Shape::Circle {
            centre: c,
            radius: BALLOON,
        },
    );
    g.letter(Lettering::new(
        [c[0], c[1] + 1.25],
        text,
        2.5,
        Hold::Middle,
        Hand::Name,
    ));
    taken.rect(
        Rect::new(
            [c[0] - BALLOON, c[1] - BALLOON],
            [c[0] + BALLOON, c[1] + BALLOON],
        )
        .grown(0.8),
    );
    taken.line(edge, tip);
}

/// On which sheets a part is: drawing, operations, template.
#[derive(Clone, Debug, Default)]
pub(super) struct Places {
    pub(super) drawing: usize,
    pub(super) operations: usize,
    pub(super) template: Option<usize>,
}

/// The list of parts with their sheets.
pub(super) fn list(machine: &Machine, job: &Job, places: &[Places], leaf: Leaf) -> Vec<Page> {
    let block = Block {
        machine: machine.name.clone(),
        title: "List of parts".to_owned(),
        ..Block::default()
    };
    let mut flow = Flow::new(leaf, block, "List of parts", false);
    flow.title("List of parts");
    let column = |head, share| Column { head, share };
    let rows: Vec<Vec<String>> = job
        .parts
        .iter()
        .enumerate()
        .map(|(n, p)| {
            let at = places.get(n).cloned().unwrap_or_default();
            vec![
                (n + 1).to_string(),
                words::spoken(&p.name),
                p.count.to_string(),
                p.material.name.clone(),
                words::section(&p.section, machine.unit),
                super::papers::mass(p.mass()),
                at.drawing.to_string(),
                at.operations.to_string(),
                at.template.map_or_else(String::new, |t| t.to_string()),
            ]
        })
        .collect();
    flow.table(
        &[
            column("", 8.0),
            column("part", 36.0),
            column("off", 8.0),
            column("material", 39.0),
            column("from", 27.0),
            column("each", 17.0),
            column("drawing", 17.0),
            column("steps", 13.0),
            column("template", 18.0),
        ],
        &rows,
    );
    flow.text("The last columns are numbers of sheets.");
    flow.finish()
}

/// Where a part is to be seen on the drawing: between its first two points, at the middle of its rod, at the hole that a ring or bushing
/// sits in.
fn place(machine: &Machine, job: &Job, drawing: &Drawing, name: &str) -> Option<P> {
    let part = |name: &str| machine.parts.iter().skip(1).find(|p| p.name == name);
    let point = |name: &str| machine.points.iter().position(|p| p.name == name);
    let plate = machine
        .work
        .making
        .pieces
        .iter()
        .find(|p| p.name == name)
        .and_then(|p| match &p.of {
            machine::making::Of::Frame(points) => points.first().copied(),
            _ => None,
        });
    let points: Vec<usize> = if let Some(part) = part(name) {
        part.carries.iter().take(2).copied().collect()
    } else if machine.rods.iter().any(|r| r.name == name) {
        return drawn_at(drawing.groups(), name, [0.0, 0.0]);
    } else if let Some(point) = plate {
        vec![point]
    } else if let Some(point) = point(name) {
        // A pin or stud that has the name of its point.
        vec![point]
    } else if let Some(ring) = name.strip_suffix("-hub").and_then(part) {
        ring.carries.iter().take(1).copied().collect()
    } else {
        vec![point(&seat(job, name)?)?]
    };
    let plane = machine.points.get(*points.first()?)?.plane;
    let view = drawing.views.iter().find(|v| v.plane == plane)?;
    let mut sum = [0.0; 2];
    for p in &points {
        let p = machine.points.get(*p).filter(|p| p.plane == plane)?;
        sum = [
            sum[0] + p.x / points.len() as f64,
            sum[1] + p.y / points.len() as f64,
        ];
    }
    let k = drawing.scale.factor();
    Some([view.origin[0] + k * sum[0], view.origin[1] - k * sum[1]])
}

/// The point of the first hole that a bushing of this name sits in.
fn seat(job: &Job, name: &str) -> Option<String> {
    let plates = job.parts.iter().filter_map(|p| match &p.form {
        Form::Plate(plate) => Some(plate),
        Form::Turned(_) => None,
    });
    let fits = |h: &&Hole| match &h.fitted {
        Fitted::Bushing {
            bore,
            outside: Some((outside, _)),
            ..
        } => name.starts_with(&format!(
            "bushing-{}-{}-",
            words::number(bore.nominal, 3),
            words::number(outside.nominal, 3)
        )),
        _ => false,
    };
    let mut holes = plates.flat_map(|p| &p.holes);
    holes.find(fits).map(|h| h.name.clone())
}

/// The middle of the longest line that is drawn of something.
fn drawn_at(groups: &[Group], name: &str, shift: P) -> Option<P> {
    for g in groups {
        if g.name == name && g.class != "label" {
            let mut longest: Option<(f64, P)> = None;
            g.pieces(&mut |a, b, _| {
                let long = (b[0] - a[0]).hypot(b[1] - a[1]);
                if longest.is_none_or(|l| long > l.0) {
                    let middle = [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
                    longest = Some((long, [middle[0] + shift[0], middle[1] + shift[1]]));
                }
            });
            if let Some((_, at)) = longest {
                return Some(at);
            }
        }
        let inner = [shift[0] + g.shift[0], shift[1] + g.shift[1]];
        if let Some(at) = drawn_at(&g.groups, name, inner) {
            return Some(at);
        }
    }
    None
}

/// A group drawn smaller: lines keep their weight, lettering gets smaller with the rest.
fn scaled(g: &Group, k: f64, origin: P, shift: P) -> Group {
    use crate::sheet::{Mark, Step};
    let shift = [shift[0] + g.shift[0], shift[1] + g.shift[1]];
    let put = |p: P| {
        [
            origin[0] + k * (p[0] + shift[0]),
            origin[1] + k * (p[1] + shift[1]),
        ]
    };
    let mut out = Group::new(g.class);
    for m in &g.marks {
        let shape = match &m.shape {
            Shape::Strokes(all) => {
                Shape::Strokes(all.iter().map(|[a, b]| [put(*a), put(*b)]).collect())
            }
            Shape::Circle { centre, radius } => Shape::Circle {
                centre: put(*centre),
                radius: k * radius,
            },
            Shape::Outline {
                start,
                steps,
                closed,
            } => Shape::Outline {
                start: put(*start),
                steps: steps
                    .iter()
                    .map(|s| match *s {
                        Step::To(p) => Step::To(put(p)),
                        Step::Arc {
                            centre,
                            radius,
                            from,
                            sweep,
                        } => Step::Arc {
                            centre: put(centre),
                            radius: k * radius,
                            from,
                            sweep,
                        },
                    })
                    .collect(),
                closed: *closed,
            },
        };
        out.marks.push(Mark {
            shape,
            pen: m.pen,
            fill: m.fill,
        });
    }
    for l in &g.letters {
        let mut l = l.clone();
        l.at = put(l.at);
        l.height *= k;
        out.letters.push(l);
    }
    for inner in &g.groups {
        out.groups.push(scaled(inner, k, origin, shift));
    }
    out
}
