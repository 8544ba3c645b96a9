//! What goes beside the PDF: DXF of every plate, tables as CSV. Written from the parts themselves, never from what was drawn.

use super::holes_dxf;
use super::plate::callout;
use crate::dxf::Dxf;
use machine::equipment::Shop;
use quantity::Unit;
use shop::contour::{Contour, Side};
use shop::letters::names;
use shop::part::{Form, Opening as _, Part, Plate, diameter};
use shop::{Job, words};

pub(super) fn outline(d: &mut Dxf, layer: &str, c: &Contour) {
    for s in c.sides() {
        match s {
            Side::Line { from, to } => d.line(layer, from, to),
            Side::Arc {
                sweep,
                centre,
                radius,
                ..
            } if sweep.abs() > std::f64::consts::TAU - 1e-9 => d.circle(layer, centre, radius),
            // Arcs of this format run counter-clockwise.
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } => {
                let (a, b) = if sweep > 0.0 {
                    (from, from + sweep)
                } else {
                    (from + sweep, from)
                };
                d.arc(layer, centre, radius, a, b);
            }
        }
    }
}

/// A plate in mm, its datum at the origin: layers CUT (outline, through slots), DRILL (drilled as it stands; of threads the tap drill), FIT (to be
/// finished to a fit), BLIND, BACK and POCKET (not through), THREAD and SINK (to be told, not cut), MARK (centres, names); of cams TRACK (both flanks of
/// a track), ROLLER and CUTTER (paths of their centres); of bent plates BEND (middle lines of the bends).
pub(super) fn dxf(part: &Part, p: &Plate, shop: Option<&Shop>) -> String {
    let mut layers = vec![("CUT", 7), ("MARK", 3), ("NOTE", 8)];
    layers.extend(holes_dxf::LAYERS);
    if !p.cams.is_empty() {
        layers.extend([("TRACK", 5), ("ROLLER", 4), ("CUTTER", 6)]);
    }
    if !p.bends.is_empty() {
        layers.push(("BEND", 2));
    }
    let mut d = Dxf::new(&layers);
    for b in &p.bends {
        d.line("BEND", b.line[0], b.line[1]);
        d.text("NOTE", b.line[0], 2.5, 0.0, &b.name);
    }
    outline(&mut d, "CUT", &p.outline);
    for s in &p.slots {
        outline(&mut d, holes_dxf::slot_layer(s), &s.outline());
    }
    for cam in &p.cams {
        if let Some(outer) = &cam.outer {
            outline(&mut d, "TRACK", &cam.flank);
            outline(&mut d, "TRACK", outer);
        }
        outline(&mut d, "ROLLER", &cam.path);
        for path in std::iter::once(&cam.cutter_path).chain(&cam.outer_path) {
            outline(&mut d, "CUTTER", path);
        }
        let zero = shop::contour::polar(cam.centre, cam.circle, cam.reference);
        d.line("MARK", cam.centre, zero);
        d.text("MARK", zero, 2.5, 0.0, "0");
    }
    holes_dxf::circles(&mut d, p, shop);
    for (name, [x, y]) in &p.marks {
        d.line("MARK", [x - 1.5, *y], [x + 1.5, *y]);
        d.line("MARK", [*x, y - 1.5], [*x, y + 1.5]);
        d.text("MARK", [*x, y + 2.5], 2.5, 0.0, name);
    }
    let [low, high] = p.outline.bounds();
    let head = format!(
        "{}: {}, {} thick, {}; all in mm",
        part.name,
        part.off(),
        words::number(p.thickness, 3),
        part.material.name
    );
    let lines = std::iter::once(head).chain(holes_dxf::notes(p, shop));
    for (n, text) in lines.enumerate() {
        let at = [
            f64::midpoint(low[0], high[0]),
            low[1] - 8.0 - 5.0 * n as f64,
        ];
        d.text("NOTE", at, 3.0, 0.0, &text);
    }
    d.write()
}

/// A line of CSV; texts are quoted where they have to be (RFC 4180).
pub(super) fn line(cells: &[String]) -> String {
    let quoted: Vec<String> = cells
        .iter()
        .map(|c| {
            if c.contains([',', '"', '\n']) {
                format!("\"{}\"", c.replace('"', "\"\""))
            } else {
                c.clone()
            }
        })
        .collect();
    quoted.join(",") + "\n"
}

fn table(head: &str, rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut out = format!("{head}\n");
    rows.into_iter().for_each(|r| out += &line(&r));
    out
}

/// Six decimals of a millimetre: what is read back is what was worked out.
fn exact(x: f64) -> String {
    words::number(x, 6)
}

/// All tables: name of the file and its text. Lengths in mm.
pub(super) fn tables(job: &Job, shop: Option<&Shop>) -> Vec<(String, String)> {
    let last = |fitted: &machine::fitting::Fitted| shop::tap_drill::before(fitted, shop);
    let holes = job.parts.iter().flat_map(|part| {
        let p = match &part.form {
            Form::Plate(p) => p,
            Form::Turned(t) => {
                let row = |c: &shop::part::Cross| {
                    vec![
                        part.name.clone(),
                        String::new(),
                        c.name.clone(),
                        format!("round {}°", words::number(c.from.to_degrees(), 3)),
                        exact(c.at),
                        String::new(),
                        exact(diameter(&c.fitted)),
                        exact(last(&c.fitted).0),
                        last(&c.fitted).1.to_owned(),
                        c.blind.map_or_else(String::new, exact),
                        words::hole(&c.fitted, Unit::Millimetre),
                        String::new(),
                    ]
                };
                return t.cross.iter().map(row).collect::<Vec<Vec<String>>>();
            }
        };
        let edge = |h: &shop::part::EdgeHole| {
            vec![
                part.name.clone(),
                String::new(),
                h.name.clone(),
                format!("edge {}°", words::number(h.from.to_degrees(), 3)),
                exact(h.enters[0]),
                exact(h.enters[1]),
                exact(diameter(&h.fitted)),
                exact(last(&h.fitted).0),
                last(&h.fitted).1.to_owned(),
                exact(h.depth),
                words::hole(&h.fitted, Unit::Millimetre),
                String::new(),
            ]
        };
        let row = |(h, name): (&shop::part::Hole, String)| {
            vec![
                part.name.clone(),
                name,
                h.name.clone(),
                if h.back { "back" } else { "front" }.to_owned(),
                exact(h.at[0]),
                exact(h.at[1]),
                exact(h.diameter()),
                exact(shop::tap_drill::before(&h.fitted, shop).0),
                shop::tap_drill::before(&h.fitted, shop).1.to_owned(),
                h.blind.map_or_else(String::new, exact),
                callout(h, Unit::Millimetre),
                h.place.map_or_else(String::new, exact),
            ]
        };
        let faces = p.holes.iter().zip(names(p)).map(row);
        faces.chain(p.edge_holes.iter().map(edge)).collect()
    });
    let slots: Vec<Vec<String>> = job
        .parts
        .iter()
        .filter_map(|part| match &part.form {
            Form::Plate(p) => Some((part, p)),
            Form::Turned(_) => None,
        })
        .flat_map(|(part, p)| {
            p.slots.iter().map(|s| {
                let [a, b] = s.ends;
                let centre = |k: usize| s.centre.map_or_else(String::new, |c| exact(c[k]));
                vec![
                    part.name.clone(),
                    s.name.clone(),
                    exact(a[0]),
                    exact(a[1]),
                    exact(b[0]),
                    exact(b[1]),
                    centre(0),
                    centre(1),
                    exact(s.width),
                    s.class
                        .as_ref()
                        .map_or_else(String::new, holes_dxf::limits_of),
                    s.depth.map_or_else(String::new, exact),
                ]
            })
        })
        .collect();
    let steps = job.sheets.iter().flat_map(|sheet| {
        sheet
            .setups
            .iter()
            .enumerate()
            .flat_map(move |(n, set_up)| {
                set_up.steps.iter().map(move |s| {
                    vec![
                        sheet.part.clone(),
                        (n + 1).to_string(),
                        set_up.title.clone(),
                        set_up.machine.clone(),
                        s.number.to_string(),
                        s.text.clone(),
                        s.tool.clone(),
                        s.rpm.map_or_else(String::new, |r| words::number(r, 0)),
                        s.feed.map_or_else(String::new, |f| words::number(f, 4)),
                        s.at.clone(),
                        s.check.clone(),
                        words::number(s.minutes, 1),
                    ]
                })
            })
    });
    let cuts = job.cut.bars.iter().enumerate().flat_map(|(n, bar)| {
        bar.cuts.iter().map(move |(part, length)| {
            vec![
                (n + 1).to_string(),
                bar.rack.clone().unwrap_or_else(|| "buy".to_owned()),
                bar.stock.clone(),
                bar.material.clone(),
                exact(bar.length),
                part.clone(),
                exact(*length),
            ]
        })
    });
    let parts = job.parts.iter().zip(&job.cut.blanks).map(|(p, b)| {
        vec![
            p.name.clone(),
            p.count.to_string(),
            p.material.name.clone(),
            b.stock.clone(),
            exact(b.length),
            b.blanks.to_string(),
            words::number(p.volume(), 3),
            words::number(p.mass(), 6),
        ]
    });
    let buy = job
        .bought
        .iter()
        .map(|b| vec![b.count.to_string(), b.what.clone(), b.for_what.clone()]);
    let mut all = vec![
        (
            "parts.csv".to_owned(),
            table(
                "part,count,material,stock,length of a blank (mm),blanks,volume of one (mm3),mass of one (kg)",
                parts,
            ),
        ),
        (
            "holes.csv".to_owned(),
            table(
                "part,hole,point,from,x (mm),y (mm),diameter (mm),last drill (mm),finish,depth (mm),what,place +- (mm)",
                holes,
            ),
        ),
        (
            "operations.csv".to_owned(),
            table(
                "part,set-up,title,machine,step,what,tool,rev/min,feed (mm/turn),where,check,minutes",
                steps,
            ),
        ),
        (
            "cut-list.csv".to_owned(),
            table(
                "bar,from,stock,material,bar length (mm),part,blank (mm)",
                cuts,
            ),
        ),
        ("buy.csv".to_owned(), table("count,what,for", buy)),
    ];
    if !slots.is_empty() {
        all.push((
            "slots.csv".to_owned(),
            table(
                "part,slot,from x (mm),from y (mm),to x (mm),to y (mm),centre x (mm),centre y (mm),width (mm),limits,depth (mm)",
                slots,
            ),
        ));
    }
    let table_of = shop.and_then(|s| s.rotary_tables.first());
    let places: Vec<Vec<String>> = job
        .parts
        .iter()
        .filter_map(|p| Some((p, p.teeth.as_ref()?.spur.teeth)))
        .flat_map(|(part, teeth)| {
            (0..teeth).map(move |n| {
                let exact_angle = 360.0 * f64::from(n) / f64::from(teeth);
                vec![
                    part.name.clone(),
                    (n + 1).to_string(),
                    exact(exact_angle),
                    exact(shop::ops::tooth_place(n, teeth, table_of.map(|t| t.dial))),
                    table_of.map_or_else(String::new, |t| exact(exact_angle / 360.0 * t.ratio)),
                ]
            })
        })
        .collect();
    if !places.is_empty() {
        all.push((
            "dividing.csv".to_owned(),
            table(
                "part,place,angle (deg),table reads (deg),turns of the handle",
                places,
            ),
        ));
    }
    all.extend(super::nest::files(job));
    all
}
