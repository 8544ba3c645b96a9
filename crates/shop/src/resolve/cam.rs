//! Cams of a plate: an open one is its outline, a track is cut in its face.

use super::plate::Axes;
use crate::cams::{CamCut, CamShape, CamTable, dials, table};
use crate::contour::P;
use crate::finding::{Finding, Grade};
use crate::part::Plate;
use crate::words;
use elements::cams::{Side, survey};
use machine::Machine;
use machine::model::{Cam, PartId};

/// Lines of the table that goes into the packet: one a degree.
const LINES: u32 = 360;
/// Smaller cutters than this bend away from the work, mm (common practice).
const LEAST: f64 = 4.0;

/// Puts the cams of a part on its plate.
pub(super) fn cams(
    machine: &Machine,
    shapes: &[CamShape],
    part: PartId,
    axes: &Axes,
    plate: &mut Plate,
    name: &str,
    findings: &mut Vec<Finding>,
) {
    for shape in shapes {
        let Some(cam) = machine.cams.get(shape.cam).filter(|c| c.part == part) else {
            continue;
        };
        let mut cannot = |text: String, advice: &str| {
            findings.push(Finding::new(Grade::Cannot, name, text, advice));
        };
        let own = words::spoken(&cam.name);
        if !cam.track && plate.cams.iter().any(CamCut::is_outline) {
            cannot(
                format!("the cam {own} would be a second outline of one plate"),
                "make each cam a part of its own, `clamped-to` the shaft",
            );
            continue;
        }
        let roller = shape.follower.roller();
        let Ok(seen) = survey(shape.follower, &shape.program) else {
            continue;
        };
        if seen.undercut(roller) || cam.track && seen.cornered(roller) {
            cannot(
                format!("the roller of the cam {own} does not fit its path: the flank is cut away"),
                "take a smaller roller or a larger circle; `cycle` names the least",
            );
            continue;
        }
        let Some((cutter, table)) = cutter(machine, cam, shape, name, findings) else {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!("no end mill goes into the hollows of the cam {own}"),
                "give the cam a larger circle or a smaller roller, or cut it with a cutter of the roller's size",
            ));
            continue;
        };
        let Some(centre) = machine.points.get(cam.centre) else {
            continue;
        };
        let stands = (
            axes.place([centre.x, centre.y]),
            shape.direction - axes.turn,
        );
        plate.cams.push(cut(cam, shape, stands, cutter, table));
    }
}

fn cut(cam: &Cam, shape: &CamShape, stands: (P, f64), cutter: f64, table: CamTable) -> CamCut {
    let roller = shape.follower.roller();
    let wide = shape.cut().roller();
    let whole = cam.track && (cutter - 2.0 * wide).abs() < 1e-6;
    let sides: &[Side] = if cam.track && !whole {
        &[Side::Inner, Side::Outer]
    } else {
        &[Side::Inner]
    };
    let step = crate::cams::step(shape, sides, cutter);
    let line = |by: f64| CamCut::line(shape, by, stands);
    let two = cam.track && !whole;
    CamCut {
        name: cam.name.clone(),
        centre: stands.0,
        reference: stands.1,
        sense: shape.sense,
        depth: cam.track.then_some(cam.face.unwrap_or(roller)),
        roller: 2.0 * roller,
        play: shape.play,
        circle: shape.follower.circle(),
        path: line(0.0),
        flank: line(-wide),
        outer: cam.track.then(|| line(wide)),
        cutter,
        cutter_path: line(shape.off(Side::Inner, cutter)),
        outer_path: two.then(|| line(shape.off(Side::Outer, cutter))),
        pieces: pieces(shape),
        drawn: shape.direction,
        table,
        dials: dials(shape, Side::Inner, cutter, step[0]),
        outer_dials: if two {
            dials(shape, Side::Outer, cutter, step[0])
        } else {
            None
        },
        step,
    }
}

/// Where the program goes over from one piece into the next.
fn pieces(shape: &CamShape) -> Vec<(f64, String)> {
    let elements::cams::Program::Pieces(all) = &shape.program else {
        return Vec::new();
    };
    let (mut at, mut lift) = (0.0, all.last().map_or(0.0, |p| p.to));
    let mut out = Vec::new();
    for piece in all {
        let what = if piece.to > lift {
            "rise"
        } else if piece.to < lift {
            "return"
        } else {
            "dwell"
        };
        let [x, y] = shape.in_own_axes(shape.place(at).centre);
        let angle = (-shape.sense * y)
            .atan2(x)
            .rem_euclid(std::f64::consts::TAU);
        out.push((angle, what.to_owned()));
        at += piece.over;
        lift = piece.to;
    }
    out
}

/// The cutter that the tables are for: the file's own, else of the roller's size, else the largest that goes into the flank.
fn cutter(
    machine: &Machine,
    cam: &Cam,
    shape: &CamShape,
    name: &str,
    findings: &mut Vec<Finding>,
) -> Option<(f64, CamTable)> {
    let made = |cutter: f64| {
        let fits = !cam.track || cutter < cam.diameter + 1e-9;
        let table = fits.then(|| table(&cam.name, shape, cam.track, cutter, LINES));
        Some((cutter, table?.ok()?))
    };
    let shop = machine.work.shop.as_ref();
    let mut mills: Vec<f64> = shop.map_or_else(
        || vec![6.0, 8.0, 10.0, 12.0, 16.0, 20.0],
        |s| s.tools.end_mills.clone(),
    );
    mills.retain(|d| *d >= LEAST);
    mills.sort_by(|a, b| b.total_cmp(a));
    let has = |d: f64| shop.is_none() || mills.iter().any(|m| (m - d).abs() < 1e-6);
    let wanted = cam.cutter.unwrap_or(cam.diameter);
    if has(wanted)
        && let Some(found) = made(wanted)
    {
        return Some(found);
    }
    let next = mills
        .iter()
        .copied()
        .filter(|d| *d < wanted)
        .find_map(made)
        .or_else(|| made(wanted))?;
    if cam.cutter.is_some() && shop.is_none_or(|s| !s.mills.is_empty()) {
        let own = words::spoken(&cam.name);
        let (d, n) = (words::number(wanted, 3), words::number(next.0, 3));
        let (text, advice) = if has(wanted) {
            (
                format!("a cutter of {d} does not go into the hollows of the cam {own}"),
                format!("its tables are for {n}"),
            )
        } else {
            (
                format!("no end mill {d} for the cam {own}"),
                if (next.0 - wanted).abs() < 1e-9 {
                    "buy it; none that is there goes into the flank".to_owned()
                } else {
                    format!(
                        "its tables are for {n}, which is there; buy {d} and name it in the shop file, and they are for that"
                    )
                },
            )
        };
        findings.push(Finding::new(Grade::WayRound, name, text, advice));
    }
    Some(next)
}
