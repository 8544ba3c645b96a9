//! Cams on paper and as data: flank, track and path on the drawing; the sheet of dials; the table as CSV.

use super::dims::{View, leader, tag};
use super::files::line;
use super::flow::{Column, Flow, settled};
use super::paper::{Block, Leaf, Page};
use super::plate::shape;
use super::taken::Taken;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use machine::equipment::RotaryTable;
use quantity::Unit;
use shop::Part;
use shop::cams::{CamCut, CamTable, Dial};
use shop::contour::polar;
use shop::words::{self, Units};

/// The cam as it is seen from its face: a track, the roller's path, the line 0.
pub(super) fn draw(g: &mut Group, cam: &CamCut, v: View) {
    if let Some(outer) = &cam.outer {
        g.draw(Pen::Wide, shape(&cam.flank, v));
        g.draw(Pen::Wide, shape(outer, v));
    }
    g.draw(Pen::Chain, shape(&cam.path, v));
    let out = reach(cam) + 4.0 / v.k;
    g.draw(
        Pen::Chain,
        Shape::line(
            v.at(cam.centre),
            v.at(polar(cam.centre, out, cam.reference)),
        ),
    );
    // A tick where the program goes over into its next piece.
    for (at, _) in &cam.pieces {
        let angle = cam.ray(*at);
        let inner = reach(cam) - 2.0 / v.k;
        g.draw(
            Pen::Narrow,
            Shape::line(
                v.at(polar(cam.centre, inner, angle)),
                v.at(polar(cam.centre, out, angle)),
            ),
        );
    }
}

/// What is scribed from a template: the walls of a track, and the line 0 out to the edge or to the outer wall. The roller's path, which runs
/// outside the part, is none of it.
pub(super) fn scribed(g: &mut Group, cam: &CamCut, v: View) {
    if let Some(outer) = &cam.outer {
        g.draw(Pen::Wide, shape(&cam.flank, v));
        g.draw(Pen::Wide, shape(outer, v));
    }
    let edge = cam.outer.as_ref().unwrap_or(&cam.flank);
    let (mut inside, mut outside) = (0.0, reach(cam));
    for _ in 0..40 {
        let middle = f64::midpoint(inside, outside);
        if edge.holds(polar(cam.centre, middle, cam.reference)) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    let end = polar(cam.centre, inside, cam.reference);
    g.draw(Pen::Chain, Shape::line(v.at(cam.centre), v.at(end)));
    // Its name beside it.
    let name = v.at(polar(cam.centre, 0.8 * inside, cam.reference));
    let (s, c) = cam.reference.sin_cos();
    let at = [name[0] - 3.0 * s, name[1] - 3.0 * c + 1.1];
    g.letter(Lettering::new(at, "0", 2.2, Hold::Middle, Hand::Name));
}

/// Its lettering, when everything else is drawn.
pub(super) fn letter(g: &mut Group, taken: &mut Taken, cam: &CamCut, v: View, units: Units) {
    let out = reach(cam) + 6.0 / v.k;
    let mut marks = vec![(0.0, "0".to_owned())];
    let turns = cam.pieces.iter().filter(|p| whole(p.0) > 1e-6);
    marks.extend(turns.map(|(at, _)| (*at, format!("{}°", words::number(at.to_degrees(), 2)))));
    for (at, text) in marks {
        tag(
            g,
            taken,
            v.at(polar(cam.centre, out, cam.ray(at))),
            0.0,
            &text,
        );
    }
    let l = |x: f64| words::length(x, units);
    let (side, text) = match cam.depth {
        Some(depth) => (
            cam.outer.as_ref(),
            format!("track {} wide, {} deep", l(cam.roller + cam.play), l(depth)),
        ),
        None => (
            Some(&cam.flank),
            format!("flank by the sheet of dials, roller ⌀{}", l(cam.roller)),
        ),
    };
    if let Some(tip) = side.and_then(|s| s.vertices.get(s.vertices.len() / 3)) {
        let d = [tip.at[0] - cam.centre[0], tip.at[1] - cam.centre[1]];
        leader(g, taken, v.at(tip.at), d[1].atan2(d[0]), &text);
    }
}

/// An angle within one turn: a whole turn is the line 0 again.
fn whole(angle: f64) -> f64 {
    let within = angle.rem_euclid(std::f64::consts::TAU);
    if std::f64::consts::TAU - within < 1e-9 {
        0.0
    } else {
        within
    }
}

/// The farthest of what is drawn of it.
fn reach(cam: &CamCut) -> f64 {
    let line = cam.outer.as_ref().unwrap_or(&cam.path);
    let far = line
        .vertices
        .iter()
        .map(|w| (w.at[0] - cam.centre[0]).hypot(w.at[1] - cam.centre[1]));
    far.fold(0.0, f64::max)
}

/// Which way it turns, in words.
fn way(cam: &CamCut) -> &'static str {
    if cam.sense > 0.0 {
        "counter-clockwise"
    } else {
        "clockwise"
    }
}

/// What holds for the whole drawing.
pub(super) fn note(cam: &CamCut, units: Units) -> String {
    let l = |x: f64| words::length(x, units);
    let pieces: Vec<String> = cam
        .pieces
        .iter()
        .map(|(at, what)| format!("{}° {what}", words::number(whole(*at).to_degrees(), 2)))
        .collect();
    format!(
        "Cam {}: turns {} as seen here; angles count from its line 0 against that{}. Roller ⌀{}, its path on R{} without lift. Outline by arcs; every degree stands in {}.",
        words::spoken(&cam.name),
        way(cam),
        if pieces.is_empty() {
            String::new()
        } else {
            format!(": {}", pieces.join(", "))
        },
        l(cam.roller),
        l(cam.circle),
        csv_name(cam),
    )
}

/// The sheet of dials beside the rotary table, and the lift to try it by.
pub(super) fn sheets(
    part: &Part,
    cam: &CamCut,
    block: &Block,
    leaf: Leaf,
    (unit, table): (Unit, Option<&RotaryTable>),
) -> Vec<Page> {
    settled(|foot| {
        let flow = Flow::new(leaf, block.clone(), "Dials of the cam", true).clear(foot);
        sheets_on(flow, part, cam, unit, table)
    })
}

fn sheets_on(
    mut flow: Flow,
    part: &Part,
    cam: &CamCut,
    unit: Unit,
    table: Option<&RotaryTable>,
) -> Flow {
    let own = words::spoken(&cam.name);
    flow.title(&format!(
        "{}: dials of the cam {own}",
        words::spoken(&part.name)
    ));
    let l = |x: f64| words::length(x, unit);
    flow.text(&format!(
        "Cutter {}: x holds for this one alone. Table by {}°, the work turned {} as seen from above, from the line 0 under the cutter. x is the cutter's distance from the middle of the table, in {}. Where an angle is followed by a dash, the table is swept to the next one with the cutter standing. Between two places a ridge of at most {} is left.{}",
        l(cam.cutter),
        words::number(cam.step[0].to_degrees(), 2),
        way(cam),
        unit.symbol(),
        l((cam.step[1] * 1000.0).ceil() / 1000.0),
        table.map_or_else(String::new, |t| format!(" {}", words::handle_told(t))),
    ));
    let mut columns = vec![Column {
        head: "°",
        share: 19.0,
    }];
    if table.is_some() {
        columns.push(Column {
            head: "handle",
            share: 17.0,
        });
    }
    columns.push(Column {
        head: "x",
        share: 15.0,
    });
    let across = if table.is_some() { 4 } else { 5 };
    for (head, dials) in [
        (
            if cam.outer_dials.is_some() {
                "Inner flank"
            } else {
                "Flank"
            },
            &cam.dials,
        ),
        ("Outer flank", &cam.outer_dials),
    ] {
        let Some(dials) = dials else { continue };
        flow.list(head);
        flow.columns(&columns, across, &lines_of(dials, unit, table));
    }
    let lift = if cam.table.swings { Unit::Degree } else { unit };
    let rows: Vec<Vec<String>> = cam
        .table
        .rows
        .iter()
        .step_by(10)
        .map(|r| {
            vec![
                words::number(r.at.to_degrees(), 2),
                format!(
                    "{:.3}{}",
                    lift.from_inside(r.lift) + 0.0,
                    if cam.table.swings { "°" } else { "" }
                ),
                read(r.radius, unit),
            ]
        })
        .collect();
    flow.together(&|flow: &mut Flow| {
        flow.heading("Lift, to try it under an indicator");
        // At turn 0 the roller of a swinging or offset follower does not stand over the line 0.
        let beside = cam.table.rows.first().map_or(0.0, |r| {
            let [out, aside] = r.roller;
            (-cam.sense * aside).atan2(out).to_degrees()
        });
        let at_zero = if beside.abs() < 5e-3 {
            "at turn 0 the roller stands over it".to_owned()
        } else {
            format!(
                "at turn 0 the roller stands at {}° from it, counted as the angles are",
                words::number(beside.rem_euclid(360.0), 2)
            )
        };
        flow.text(&format!(
            "The cam on its shaft or between centres, roller ⌀{} on its stud; turned by the line 0: {at_zero}. {}",
            l(cam.roller),
            if cam.table.swings {
                "The follower swings: angle of its arm, and the distance of the roller's middle."
            } else {
                "Distance of the roller's middle and lift."
            }
        ));
        let columns = [("turn °", 14.0), ("lift", 18.0), ("roller at", 20.0)];
        flow.columns(&columns.map(|(head, share)| Column { head, share }), 3, &rows);
    });
    flow
}

fn read(x: f64, unit: Unit) -> String {
    let places = words::decimals(unit);
    format!("{:.places$}", unit.from_inside(x))
}

/// A line for each place; a sweep of the table has one for its start and one for its end.
fn lines_of(dials: &[Dial], unit: Unit, table: Option<&RotaryTable>) -> Vec<Vec<String>> {
    let line = |angle: f64, to: &str, off: f64| {
        let degrees = words::number(angle.to_degrees(), 2);
        let mut row = vec![format!("{degrees}{to}")];
        row.extend(table.map(|t| words::handle(t, angle)));
        row.push(read(off, unit));
        row
    };
    let mut rows = Vec::new();
    for d in dials {
        if d.to > d.from + 1e-9 {
            rows.push(line(d.from, " –", d.off));
        }
        rows.push(line(d.to, "", d.off));
    }
    rows
}

/// Name of its table.
pub(super) fn csv_name(cam: &CamCut) -> String {
    format!("cam-{}.csv", cam.name)
}

/// The table for a spreadsheet or a dividing head.
pub fn cam_csv(table: &CamTable, length: Unit) -> String {
    let lift = if table.swings { Unit::Degree } else { length };
    let l = length.symbol();
    let heads = [
        String::from("turn (deg)"),
        format!("lift ({})", lift.symbol()),
        format!("roller radius ({l})"),
        format!("roller out ({l})"),
        format!("roller aside ({l})"),
        format!("flank out ({l})"),
        format!("flank aside ({l})"),
        format!("cutter radius ({l})"),
        String::from("cutter angle (deg)"),
        format!("cutter out ({l})"),
        format!("cutter aside ({l})"),
        format!("outer cutter out ({l})"),
        format!("outer cutter aside ({l})"),
        String::from("pressure angle (deg)"),
        format!("radius of the path ({l})"),
    ];
    let mut text = line(&heads);
    let mm = |x: f64| format!("{:.5}", length.from_inside(x) + 0.0);
    let deg = |x: f64| format!("{:.4}", x.to_degrees() + 0.0);
    for row in &table.rows {
        let [out, aside] = row.cutter;
        let outer = |i: usize| row.outer_cutter.map_or_else(String::new, |p| mm(p[i]));
        text.push_str(&line(&[
            deg(row.at),
            format!("{:.5}", lift.from_inside(row.lift) + 0.0),
            mm(row.radius),
            mm(row.roller[0]),
            mm(row.roller[1]),
            mm(row.flank[0]),
            mm(row.flank[1]),
            mm(out.hypot(aside)),
            deg(aside.atan2(out)),
            mm(out),
            mm(aside),
            outer(0),
            outer(1),
            deg(row.pressure),
            row.bend.map_or_else(String::new, mm),
        ]));
    }
    text
}

/// The places of the rotary table.
pub(super) fn dials_csv(cam: &CamCut) -> String {
    let mut text = "flank,table from (deg),table to (deg),cutter off the middle (mm)\n".to_owned();
    for (flank, dials) in [("inner", &cam.dials), ("outer", &cam.outer_dials)] {
        for d in dials.iter().flatten() {
            text += &line(&[
                flank.to_owned(),
                format!("{:.4}", d.from.to_degrees()),
                format!("{:.4}", d.to.to_degrees()),
                format!("{:.5}", d.off),
            ]);
        }
    }
    text
}
