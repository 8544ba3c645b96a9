//! The assembly: the machine as drawn with numbered balloons, and the list of parts.

use super::paper::{Block, Column, Flow, Leaf, Page};
use crate::drawing::Drawing;
use crate::geometry::{P, along, direction};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use machine::Machine;
use shop::{Job, words};

/// Radius of a balloon, mm.
const BALLOON: f64 = 3.6;

/// The drawing of the machine fitted to a sheet, each part that is made with its number.
pub(super) fn draw(machine: &Machine, job: &Job, drawing: &Drawing, leaf: Leaf) -> Vec<Page> {
    let lying = drawing.size()[0] > drawing.size()[1];
    let block = Block {
        machine: machine.name.clone(),
        title: "Assembly".to_owned(),
        facts: vec!["Numbers are those of the list of parts; the machine as drawn".to_owned()],
        scale: None,
    };
    let mut page = Page::new(leaf, lying, block.clone());
    page.bookmark = Some("Assembly".to_owned());
    let [a, b] = page.field();
    let room = 2.0 * BALLOON + 4.0;
    let [w, h] = drawing.size();
    let k = ((b[0] - a[0] - 2.0 * room) / w)
        .min((b[1] - a[1] - 2.0 * room) / h)
        .min(1.0);
    let origin = [
        a[0] + room + ((b[0] - a[0] - 2.0 * room) - k * w) / 2.0,
        a[1] + room + ((b[1] - a[1] - 2.0 * room) - k * h) / 2.0,
    ];
    let put = |p: P| [origin[0] + k * p[0], origin[1] + k * p[1]];
    let mut g = Group::new("assembly");
    for inner in drawing.groups() {
        g.groups.push(scaled(inner, k, origin, [0.0, 0.0]));
    }
    page.groups.push(g);
    let mut balloons = Group::new("balloons");
    // Balloons stand on the edge of the sheet's field, sorted so that leaders do not cross.
    let mut wanted: Vec<(usize, P)> = Vec::new();
    for (n, part) in job.parts.iter().enumerate() {
        if let Some(at) = place(machine, drawing, &part.name) {
            wanted.push((n + 1, put(at)));
        }
    }
    let middle = f64::midpoint(a[0], b[0]);
    for left in [true, false] {
        let mut side: Vec<&(usize, P)> = wanted
            .iter()
            .filter(|(_, p)| (p[0] < middle) == left)
            .collect();
        side.sort_by(|x, y| x.1[1].total_cmp(&y.1[1]).then(x.0.cmp(&y.0)));
        let x = if left { a[0] + BALLOON } else { b[0] - BALLOON };
        let mut last = a[1] - BALLOON;
        let count = side.len();
        for (i, (n, tip)) in side.into_iter().enumerate() {
            let lowest = b[1] - BALLOON - (count - 1 - i) as f64 * (2.0 * BALLOON + 1.5);
            let y = tip[1].max(last + 2.0 * BALLOON + 1.5).min(lowest);
            last = y;
            let c = [x, y];
            let d = direction(c, *tip);
            balloons.draw(Pen::Narrow, Shape::line(along(c, d, BALLOON), *tip));
            balloons.put(
                None,
                Fill::Ink,
                Shape::Circle {
                    centre: *tip,
                    radius: 0.6,
                },
            );
            balloons.put(
                Some(Pen::Narrow),
                Fill::Ground,
                Shape::Circle {
                    centre: c,
                    radius: BALLOON,
                },
            );
            balloons.letter(Lettering::new(
                [c[0], c[1] + 1.25],
                n.to_string(),
                2.5,
                Hold::Middle,
                Hand::Name,
            ));
        }
    }
    page.groups.push(balloons);
    let mut pages = vec![page];
    let mut flow = Flow::new(
        leaf,
        Block {
            title: "List of parts".to_owned(),
            facts: Vec::new(),
            ..block
        },
        "List of parts",
        true,
    );
    flow.title("List of parts");
    let column = |head, share| Column { head, share };
    let rows: Vec<Vec<String>> = job
        .parts
        .iter()
        .enumerate()
        .map(|(n, p)| {
            vec![
                (n + 1).to_string(),
                words::spoken(&p.name),
                p.count.to_string(),
                p.material.name.clone(),
                words::section(&p.section, machine.unit),
                super::papers::mass(p.mass()),
            ]
        })
        .collect();
    flow.table(
        &[
            column("", 8.0),
            column("part", 42.0),
            column("off", 9.0),
            column("material", 42.0),
            column("from", 32.0),
            column("each", 18.0),
        ],
        &rows,
    );
    pages.extend(flow.finish());
    pages
}

/// Where a part is to be seen on the drawing: between its first two points, or at the middle of its rod.
fn place(machine: &Machine, drawing: &Drawing, name: &str) -> Option<P> {
    let points: Vec<usize> = match machine
        .parts
        .iter()
        .position(|p| p.name == name)
        .filter(|p| *p > 0)
    {
        Some(part) => {
            let part = machine.parts.get(part)?;
            part.carries.iter().take(2).copied().collect()
        }
        None => machine.rods.iter().find(|r| r.name == name)?.joins.to_vec(),
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
