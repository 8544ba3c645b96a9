//! A cam on the rotary table: rough to the line, then place by place from the sheet of dials; a track to depth in passes.

use super::Step;
use super::bits::{Work, cutting};
use super::plate::mill;
use crate::cams::CamCut;
use crate::contour::Side;
use crate::finding::Grade;
use crate::part::Plate;
use crate::speeds::Tool;
use crate::words;
use machine::equipment::RotaryTable;

/// Minutes for a place of the table: turn, lock, dial, feed (common practice).
const PLACE: f64 = 0.15;
/// Left on the flank for the last round, mm (common practice).
const LAST: f64 = 0.2;
/// Depth of one pass of a track over the diameter of the cutter (common practice for a bench mill).
const PASS: f64 = 0.25;

pub(super) fn cams(work: &mut Work, p: &Plate) {
    for cam in &p.cams {
        one(work, p, cam);
    }
}

fn one(work: &mut Work, p: &Plate, cam: &CamCut) {
    let own = words::spoken(&cam.name);
    // Everything of a cam counts from its bore.
    let c = cam.centre;
    if !p
        .holes
        .iter()
        .any(|h| (h.at[0] - c[0]).hypot(h.at[1] - c[1]) < 1e-6)
    {
        work.finding(
            Grade::Cannot,
            format!("the cam {own} has no bore: nothing centres it on the rotary table, and nothing on its shaft"),
            "write the hole of the point that it turns about in its part, or `held-by` on its shaft",
        );
        return;
    }
    let (machine, spindle) = mill(work);
    let table = work.rotary();
    if work.shop().is_some() && (table.is_none() || work.mill().is_none()) {
        no_table(work, p, cam, &own);
        return;
    }
    let (name, ratio) = table.map_or_else(
        || ("rotary table".to_owned(), String::new()),
        |t: &RotaryTable| {
            (
                words::kept("rotary table", &t.name),
                format!(
                    ", {} of the handle",
                    words::number(cam.step[0].to_degrees() / 360.0 * t.ratio, 4)
                ),
            )
        },
    );
    let way = if cam.sense > 0.0 {
        "counter-clockwise"
    } else {
        "clockwise"
    };
    work.set_up(
        &if cam.depth.is_some() {
            format!("Track of the cam {own}")
        } else {
            format!("Flank of the cam {own}")
        },
        &format!("{machine} with {name}"),
        "rotary table centred under the spindle; the work on a close pin in its bore, face up, clamped on packing",
        format!(
            "table at 0° with the line 0 of the cam (scribed from the bore) along the table's +x; x zero over the middle, the cutter on +x; the table turns the work {way}, seen from above"
        ),
        20.0,
    );
    work.step(Step {
        text: format!(
            "Scribe the line 0 from the bore at {}° of the drawing, and mark it on the rim",
            words::number(cam.reference.to_degrees().rem_euclid(360.0), 3)
        ),
        tool: "scriber, square on the table".to_owned(),
        why: "all angles of the cam count from it; it stays as the timing mark".to_owned(),
        minutes: 4.0,
        ..Step::default()
    });
    let rpm = work.rpm(Tool::EndMill, cam.cutter, spindle);
    let tool = format!("end mill {}", words::number(cam.cutter, 3));
    let degrees = words::number(cam.step[0].to_degrees(), 2);
    let Some(dials) = &cam.dials else {
        let d = words::number(cam.cutter, 3);
        work.finding(
            Grade::WayRound,
            format!(
                "the middle of a cutter of {d} folds back seen from the centre of the cam {own}"
            ),
            "it is cut by x and y from its CSV with the table locked, or with a smaller cutter",
        );
        work.step(Step {
            text: "Cut the flank by x and y, place by place, from the CSV of the cam".to_owned(),
            tool,
            rpm,
            minutes: 120.0,
            ..Step::default()
        });
        return;
    };
    let count = dials.len() + cam.outer_dials.as_ref().map_or(0, Vec::len);
    let feed = Some(0.06);
    let length: f64 = cam
        .cutter_path
        .sides()
        .iter()
        .map(Side::length)
        .sum::<f64>()
        * if cam.outer_path.is_some() { 2.0 } else { 1.0 };
    let round =
        |passes: f64| passes * (PLACE * count as f64 + cutting(length, 0.06, rpm.unwrap_or(500.0)));
    let at = "sheet of dials".to_owned();
    let every = format!("every {degrees}°{ratio}");
    let blend = "file lengthwise to the ridges' feet, then stone";
    if let Some(depth) = cam.depth {
        let passes = (depth / (PASS * cam.cutter)).ceil().max(1.0);
        let deep = work.mm(depth / passes);
        let whole = cam.outer_path.is_none();
        let width = work.mm(cam.roller);
        let (wide, play) = (work.fine(cam.roller + cam.play), work.mm(cam.play));
        work.step(Step {
            text: "Drill a starting hole on the path, the last pass's depth less 0.3".to_owned(),
            tool: format!(
                "drill {}",
                words::tool_size((cam.cutter - 1.0).max(2.0), work.bench.unit)
            ),
            rpm: work.rpm(Tool::Drill, cam.cutter, spindle),
            at: dials
                .first()
                .map_or_else(String::new, |d| format!("table 0°, x {}", work.read(d.off))),
            why: "an end mill does not like to plunge".to_owned(),
            minutes: 3.0,
            ..Step::default()
        });
        work.step(Step {
            text: format!(
                "Mill the track in {} passes of {deep}, {every}, one place after the other with the table locked for each; dwells in one sweep",
                words::number(passes, 0)
            ),
            tool: tool.clone(),
            rpm,
            feed,
            at,
            check: format!(
                "depth {} (depth micrometer); width {wide}, {play} over the roller",
                work.mm(depth)
            ),
            why: if whole {
                "the cutter has the roller's size: its path is the roller's".to_owned()
            } else {
                "inner flank first, then outer: a cutter smaller than the track cuts each with one side only".to_owned()
            },
            minutes: round(passes),
            ..Step::default()
        });
        work.step(Step {
            text: format!("Blend the ridges of {}: {blend}", work.mm(cam.step[1])),
            tool: "riffler, stone".to_owned(),
            check: format!("the roller {width} runs round by hand without a tight place; a feeler of {play} goes in beside it, one twice as thick nowhere"),
            why: "never the other way about: what is off in the flank is a step in every turn".to_owned(),
            minutes: 25.0,
            ..Step::default()
        });
        return;
    }
    work.step(Step {
        text: format!(
            "Rough: all places with {} added to x, {every}",
            work.read(LAST)
        ),
        tool: tool.clone(),
        rpm,
        feed,
        at: at.clone(),
        why: "template and saw left it uneven; the last round has to cut the same everywhere"
            .to_owned(),
        minutes: round(1.0),
        ..Step::default()
    });
    let first = dials.iter().map(|d| d.off).fold(f64::INFINITY, f64::min);
    let most = dials.iter().map(|d| d.off).fold(0.0, f64::max);
    let half = cam.cutter / 2.0;
    let bore = p
        .holes
        .iter()
        .find(|h| (h.at[0] - cam.centre[0]).hypot(h.at[1] - cam.centre[1]) < 1e-6);
    work.step(Step {
        text: format!(
            "Finish: all places as they stand on the sheet, {every}; dwells in one sweep"
        ),
        tool,
        rpm,
        feed,
        at,
        check: bore.map_or_else(
            || {
                format!(
                    "radius {} at the lowest, {} at the highest place",
                    work.mm(first - half),
                    work.mm(most - half)
                )
            },
            |h| {
                let r = crate::part::diameter(&h.fitted) / 2.0;
                format!(
                    "over a pin in the bore: {} at the lowest, {} at the highest place",
                    work.mm(first - half + r),
                    work.mm(most - half + r)
                )
            },
        ),
        why: "the dial always comes from outside, so that its backlash is on one side".to_owned(),
        minutes: round(1.0),
        ..Step::default()
    });
    work.step(Step {
        text: format!("Blend the ridges of {}: {blend}", work.mm(cam.step[1])),
        tool: "file, stone".to_owned(),
        check: "layout blue and the roller: an unbroken line all round".to_owned(),
        minutes: 20.0,
        ..Step::default()
    });
}

/// By hand, as far as that goes.
fn no_table(work: &mut Work, p: &Plate, cam: &CamCut, own: &str) {
    if cam.depth.is_some() {
        work.finding(
            Grade::Cannot,
            format!("a track for the cam {own} wants a mill and a rotary table"),
            "order it by its DXF and table, or make an open cam with a spring",
        );
        return;
    }
    work.on_mill(
        Grade::WayRound,
        format!("no rotary table for the flank of the cam {own}"),
        "it is filed to its template, degree by degree under an indicator",
    );
    work.set_up(
        &format!("Flank of the cam {own}, by hand"),
        "bench",
        "bench vise, soft jaws; for measuring on a pin between centres or in the lathe",
        "the line 0, scribed from the bore",
        6.0,
    );
    work.step(Step {
        text: "File to the template's line, square to the face".to_owned(),
        tool: "file".to_owned(),
        minutes: 20.0 + p.thickness * 4.0,
        ..Step::default()
    });
    let list: Vec<String> = cam
        .table
        .rows
        .iter()
        .step_by(15)
        .map(|r| {
            format!(
                "{}° {}",
                words::number(r.at.to_degrees(), 0),
                work.read(r.radius)
            )
        })
        .collect();
    let d = work.mm(cam.roller);
    work.step(Step {
        text: format!("Measure on a pin in the bore with a roller of {d} on the flank, file down what stands high: distance of the roller's middle"),
        tool: "dial indicator, protractor".to_owned(),
        at: list.join(", "),
        check: "within the tolerance of the cam".to_owned(),
        minutes: 60.0,
        ..Step::default()
    });
}
