//! Sheets of plate with the blanks laid out on them: drawn on the cut list, and as DXF and CSV.

use super::flow::{Column, Flow};
use super::paper::shortened;
use crate::dxf::Dxf;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use shop::contour::{Contour, Vertex};
use shop::cut::Sheet;
use shop::part::Form;
use shop::{Job, words};

type P = [f64; 2];

/// Tallest drawing of a sheet, mm of paper.
const TALL: f64 = 48.0;
/// Height of lettering, mm.
const TEXT: f64 = 2.3;

const COLUMNS: [Column; 5] = [
    Column {
        head: "no.",
        share: 8.0,
    },
    Column {
        head: "part",
        share: 40.0,
    },
    Column {
        head: "blank",
        share: 30.0,
    },
    Column {
        head: "from the left",
        share: 20.0,
    },
    Column {
        head: "from below",
        share: 20.0,
    },
];

/// Where a sheet comes from.
fn from(sheet: &Sheet) -> String {
    sheet.rack.as_ref().map_or_else(
        || "buy".to_owned(),
        |r| format!("rack: {}", words::spoken(r)),
    )
}

/// A sheet of plate with its longer side along the page, and where its blanks lie on it then: picture, table and files count from the same corner.
fn lying(sheet: &Sheet) -> Sheet {
    let mut lying = sheet.clone();
    let [w, h] = sheet.size;
    if w < h {
        lying.size = [h, w];
        for (_, corner, size) in &mut lying.cuts {
            *corner = [corner[1], w - corner[0] - size[0]];
            *size = [size[1], size[0]];
        }
    }
    lying
}

/// What is cut from each sheet of plate, drawn.
pub(super) fn lists(flow: &mut Flow, job: &Job, l: &dyn Fn(f64) -> String) {
    if job.cut.sheets.is_empty() {
        return;
    }
    let said = "For blanks of a width that no bar has. Every cut goes right through what it cuts, so a saw or shears can do it; this layout is rough: what a better one might save is not known.";
    for (n, sheet) in job.cut.sheets.iter().map(lying).enumerate() {
        let named = format!(
            "{}: {} thick, {}, {} x {}; its blanks take {} % of it",
            from(&sheet),
            l(sheet.thick),
            sheet.material,
            l(sheet.size[0]),
            l(sheet.size[1]),
            words::number(100.0 * sheet.used(), 0)
        );
        let (_, width) = flow.here();
        let k = ((width * 0.75) / sheet.size[0]).min(TALL / sheet.size[1]);
        let tall = k * sheet.size[1] + 6.0;
        let rows: Vec<Vec<String>> = sheet
            .cuts
            .iter()
            .enumerate()
            .map(|(n, (part, corner, size))| {
                vec![
                    (n + 1).to_string(),
                    words::spoken(part),
                    format!("{} x {}", l(size[0]), l(size[1])),
                    l(corner[0]),
                    l(corner[1]),
                ]
            })
            .collect();
        flow.together(&|flow: &mut Flow| {
            if n == 0 {
                flow.heading("Plate, and what is cut from each sheet");
                flow.text(said);
            }
            flow.text(&named);
            let (at, _) = flow.here();
            flow.put(drawn(&sheet, k, at), tall);
            flow.table(&COLUMNS, &rows);
        });
    }
}

/// A sheet as it lies on the page, its blanks numbered.
fn drawn(sheet: &Sheet, k: f64, at: P) -> Group {
    let mut g = Group::new("nest");
    // From the lower left corner of the picture.
    let place = |p: P| [at[0] + k * p[0], at[1] + 2.0 + k * (sheet.size[1] - p[1])];
    let rect = |corner: P, size: P| {
        let [x, y] = corner;
        let [w, h] = size;
        Shape::poly(
            &[[x, y], [x + w, y], [x + w, y + h], [x, y + h]].map(place),
            true,
        )
    };
    g.draw(Pen::Narrow, rect([0.0, 0.0], sheet.size));
    for (n, (part, corner, size)) in sheet.cuts.iter().enumerate() {
        g.draw(Pen::Wide, rect(*corner, *size));
        let middle = place([corner[0] + size[0] / 2.0, corner[1] + size[1] / 2.0]);
        let [w, h] = *size;
        let number = (n + 1).to_string();
        let whole = format!("{number} {}", words::spoken(part));
        // Narrow blanks are lettered along their length; the smallest bear their number alone.
        let upright = w < h && crate::font::width(&whole, TEXT, Hand::Note) > k * w - 1.0;
        let room = k * if upright { h } else { w } - 1.0;
        let text = if k * w.min(h) < TEXT + 1.0 {
            String::new()
        } else if crate::font::width(&whole, TEXT, Hand::Note) <= room {
            whole
        } else {
            shortened(&number, TEXT, Hand::Note, room)
        };
        let mut lettering = Lettering::new(middle, text, TEXT, Hold::Middle, Hand::Note);
        lettering.upright = upright;
        if upright {
            lettering.at[0] += TEXT / 2.0;
        } else {
            lettering.at[1] += TEXT / 2.0;
        }
        g.letter(lettering);
    }
    g
}

/// DXF of every sheet (layers SHEET, BLANK, CUT with the outlines and through slots in their blanks, FIT, POCKET, MARK with the centres of holes), and one CSV of all places.
pub(super) fn files(job: &Job) -> Vec<(String, String)> {
    let mut all = Vec::new();
    let mut rows = String::from(
        "sheet,from,thickness (mm),material,length (mm),width (mm),part,x (mm),y (mm),along x (mm),along y (mm)\n",
    );
    let exact = |x: f64| words::number(x, 6);
    for (n, sheet) in job.cut.sheets.iter().map(lying).enumerate() {
        // No part's own file is written over.
        let mut name = format!("sheet-{}", n + 1);
        while job.parts.iter().any(|p| p.name == name) {
            name = format!("cut-{name}");
        }
        let mut d = Dxf::new(&[
            ("SHEET", 8),
            ("BLANK", 5),
            ("CUT", 7),
            ("FIT", 2),
            ("POCKET", 5),
            ("MARK", 3),
        ]);
        boxed(&mut d, "SHEET", [0.0, 0.0], sheet.size);
        d.text(
            "MARK",
            [sheet.size[0] / 2.0, -8.0],
            3.0,
            0.0,
            &format!(
                "{} thick, {}; all in mm; BLANK: for the saw; CUT: finished outline, leave on it what is milled; FIT, POCKET: not cut here",
                words::number(sheet.thick, 3),
                sheet.material
            ),
        );
        for (part, corner, size) in &sheet.cuts {
            boxed(&mut d, "BLANK", *corner, *size);
            let middle = [corner[0] + size[0] / 2.0, corner[1] + size[1] / 2.0];
            d.text("MARK", middle, 3.0, 0.0, part);
            let made = job.parts.iter().find(|p| p.name == *part);
            if let Some(Form::Plate(p)) = made.map(|p| &p.form) {
                let [low, high] = p.outline.bounds();
                let own = [high[0] - low[0], high[1] - low[1]];
                let turned = own[0] > size[0] + 1e-6 || own[1] > size[1] + 1e-6;
                let centre = [
                    f64::midpoint(low[0], high[0]),
                    f64::midpoint(low[1], high[1]),
                ];
                let placed = |c: &Contour| c.placed(centre, turned, middle);
                super::files::outline(&mut d, "CUT", &placed(&p.outline));
                for slot in &p.slots {
                    let layer = super::holes_dxf::slot_layer(slot);
                    super::files::outline(&mut d, layer, &placed(&slot.outline()));
                }
                // Where the holes come, to be marked only: they are drilled from the datum.
                for hole in &p.holes {
                    let [x, y] = hole.at;
                    for [from, to] in [[[x - 1.0, y], [x + 1.0, y]], [[x, y - 1.0], [x, y + 1.0]]] {
                        let vertices = [from, to].map(|at| Vertex { at, bulge: 0.0 }).to_vec();
                        let stroke = Contour { vertices };
                        if let [a, b] = placed(&stroke).vertices.as_slice() {
                            d.line("MARK", a.at, b.at);
                        }
                    }
                }
            }
            rows += &super::files::line(&[
                (n + 1).to_string(),
                sheet.rack.clone().unwrap_or_else(|| "buy".to_owned()),
                exact(sheet.thick),
                sheet.material.clone(),
                exact(sheet.size[0]),
                exact(sheet.size[1]),
                part.clone(),
                exact(corner[0]),
                exact(corner[1]),
                exact(size[0]),
                exact(size[1]),
            ]);
        }
        all.push((format!("{name}.dxf"), d.write()));
    }
    if !job.cut.sheets.is_empty() {
        all.push(("sheets.csv".to_owned(), rows));
    }
    all
}

fn boxed(d: &mut Dxf, layer: &str, [x, y]: P, [w, h]: P) {
    let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    for n in 0..4 {
        d.line(layer, corners[n], corners[(n + 1) % 4]);
    }
}
