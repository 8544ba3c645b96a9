//! Slots about a point, milled on the rotary table: the cutter stands at the radius, the table turns from end to end.

use super::Step;
use super::bits::{Work, cutting};
use crate::contour::Side;
use crate::finding::Grade;
use crate::part::{Plate, Slot};
use crate::speeds::Tool;
use crate::words;

pub(super) fn mill(work: &mut Work, p: &Plate, s: &Slot, cutter: f64, rpm: Option<f64>) {
    let Side::Arc {
        centre,
        radius,
        from,
        sweep,
    } = s.line()
    else {
        return;
    };
    let name = words::spoken(&s.name);
    let hole = p
        .holes
        .iter()
        .any(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6);
    let table = work.rotary();
    let deep = s.depth.unwrap_or(p.thickness);
    let (_, spindle) = super::plate::mill(work);
    if work.shop().is_some() && table.is_none() {
        work.on_mill(
            Grade::WayRound,
            format!("no rotary table for the arc slot {name}"),
            "it is chain-drilled on its arc at the places of the sheet, sawn between, and filed to the template",
        );
        let drill = cutter.min(s.width - 0.5);
        let pitch = drill + 0.5;
        let count = (radius * sweep / pitch).ceil().max(1.0) as usize;
        let places: Vec<String> = (0..=count)
            .map(|n| {
                work.xy(crate::contour::polar(
                    centre,
                    radius,
                    from + sweep * n as f64 / count as f64,
                ))
            })
            .collect();
        work.step(Step {
            text: format!(
                "Chain-drill the slot {name}: {} holes, {} apart",
                count + 1,
                work.mm(radius * sweep / count as f64)
            ),
            tool: format!("drill {}", words::tool_size(drill, work.bench.unit)),
            rpm: work.rpm(Tool::Drill, drill, spindle),
            at: places.join("; "),
            minutes: 1.5 * (count + 1) as f64,
            ..Step::default()
        });
        let check = work.measure("width", s.width, s.class.as_ref());
        work.step(Step {
            text: format!(
                "Saw out what stands between and file the slot {name} to the template's line"
            ),
            tool: "piercing saw, file".to_owned(),
            check,
            minutes: 15.0 + radius * sweep / 2.0,
            ..Step::default()
        });
        return;
    }
    let degrees = |a: f64| words::number(a.to_degrees().rem_euclid(360.0), 3);
    let turns = table.map_or_else(String::new, |t| {
        format!(
            " ({} turns of the handle)",
            words::number(sweep / std::f64::consts::TAU * t.ratio, 3)
        )
    });
    let on = table.map_or_else(
        || "rotary table".to_owned(),
        |t| words::kept("rotary table", &t.name),
    );
    let at = format!("x {} from the middle", work.read(radius));
    // The table turns against the angles of the work.
    let (begin, end) = (degrees(-from), degrees(-from - sweep));
    let (machine, _) = super::plate::mill(work);
    work.set_up(
        &format!("Slot {name}, about its centre"),
        &machine,
        format!(
            "clamped on packing on the {on}, {} over its middle, x of the work along x of the mill at 0°",
            if hole {
                "the hole on a close pin".to_owned()
            } else {
                format!("the place {} of the drawing", work.dials(centre))
            }
        ),
        format!(
            "zero over the table's middle, then the cutter to x +{}; degrees count the table turned counter-clockwise, seen from above",
            work.read(radius)
        ),
        15.0,
    );
    work.step(Step {
        text: format!("Drill both ends of the slot {name} under size, table {begin}° and {end}°"),
        tool: format!("drill {}", words::tool_size(cutter - 0.5, work.bench.unit)),
        rpm: work.rpm(Tool::Drill, cutter, spindle),
        at: at.clone(),
        why: "an end mill does not like to plunge".to_owned(),
        minutes: 4.0,
        ..Step::default()
    });
    let passes = (deep / (cutter / 4.0)).ceil();
    work.step(Step {
        text: format!(
            "Mill the slot {name}: table from {begin}° to {end}°{turns}, {} passes of {}",
            words::number(passes, 0),
            work.mm(deep / passes)
        ),
        tool: format!("end mill {}", words::tool_size(cutter, work.bench.unit)),
        rpm,
        feed: Some(0.05),
        at,
        minutes: 4.0 + passes * cutting(radius * sweep + cutter, 0.05, rpm.unwrap_or(500.0)),
        ..Step::default()
    });
    let off = (s.width - cutter) / 2.0;
    let check = work.measure("width", s.width, s.class.as_ref());
    // The ends of a wider slot lie further round than those of its middle line.
    let more = off / radius;
    work.step(Step {
        text: format!(
            "Open it to {}: x {} on the outer side, then x {} on the inner one; at both ends the table {}° further on the middle line",
            work.mm(s.width),
            work.read(radius + off),
            work.read(radius - off),
            words::number(more.to_degrees(), 3)
        ),
        tool: format!("end mill {}", words::tool_size(cutter, work.bench.unit)),
        rpm,
        feed: Some(0.05),
        at: format!("x {} and {}", work.read(radius + off), work.read(radius - off)),
        check,
        why: "a cutter of full width wanders to one side".to_owned(),
        minutes: 5.0 + 2.0 * cutting(radius * sweep + cutter, 0.05, rpm.unwrap_or(500.0)),
        ..Step::default()
    });
}
