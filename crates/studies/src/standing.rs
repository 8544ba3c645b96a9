//! Where does everything stand, and what path does a point run?

use crate::answers::{ReadingNow, Standing, Trace};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here, places};
use machine::model::PointId;

/// Where everything stands with these drives and settings.
///
/// # Errors
/// A value that cannot be reached, and what is in the way.
pub fn standing(model: &Model, stand: &Stand) -> Result<Standing, Refusal> {
    let here = Bench::new(model).bring(stand)?;
    Ok(at(model, &here))
}

/// All readings with these drives and settings, in file order.
///
/// # Errors
/// A value that cannot be reached, and what is in the way.
pub fn readings(model: &Model, stand: &Stand) -> Result<Vec<ReadingNow>, Refusal> {
    let mut bench = Bench::new(model);
    let here = bench.bring(stand)?;
    Ok(now(&mut bench, &here))
}

/// All readings here.
pub(crate) fn now(bench: &mut Bench<'_>, here: &Here) -> Vec<ReadingNow> {
    let model = bench.model;
    let mut read = |r: usize| {
        let read = bench.read(r, here, None);
        ReadingNow {
            reading: model.reading(r),
            value: read.map(|r| r.value),
            taken_at: read.and_then(|r| r.taken_at),
            and_at: read.and_then(|r| r.and_at),
        }
    };
    (0..model.machine.readings.len()).map(&mut read).collect()
}

pub(crate) fn at(model: &Model, here: &Here) -> Standing {
    let m = &model.mechanism;
    let points =
        model
            .machine
            .points
            .iter()
            .enumerate()
            .map(|(p, drawn)| match model.carriers[p].first() {
                Some(&(_, anchor)) => {
                    let [x, y] = m.in_plane(&here.params, &here.poses, anchor);
                    [x, y, here.params[m.anchors[anchor].w]]
                }
                None => [drawn.x, drawn.y, drawn.station],
            });
    let turns = (0..model.machine.parts.len()).map(|b| here.poses[b].angle - m.drawn[b].angle);
    Standing {
        points: points.collect(),
        turns: turns.collect(),
        outlines: std::sync::Arc::clone(&model.outlines),
    }
}

/// The path of a point while a drive runs through what it can reach of its range.
///
/// # Errors
/// Values of the other drives and settings that cannot be reached; a point or drive that does not exist.
pub fn trace(model: &Model, stand: &Stand, point: PointId, drive: usize) -> Result<Trace, Refusal> {
    let Some(p) = model.machine.points.get(point) else {
        return Err(Refusal::new(
            format!("the machine has no point number {point}"),
            "",
        ));
    };
    if drive >= model.machine.drives.len() {
        return Err(Refusal::new(
            format!("the machine has no drive number {drive}"),
            "",
        ));
    }
    let mut bench = Bench::new(model);
    let mut here = bench.bring(stand)?;
    let Some((track, span)) = bench.span(&here, drive) else {
        return Err(Refusal::new(
            format!("drive {} moves nothing", model.machine.drives[drive].name),
            "",
        ));
    };
    let mut trace = Trace {
        point: p.name.clone(),
        plane: p.plane,
        drive: model.drive(drive),
        at: Vec::new(),
        places: Vec::new(),
        closed: false,
    };
    for place in places(&track, &span) {
        let at = place.at(&track);
        let Some(sample) = track.at(model, at) else {
            continue;
        };
        track.put(model, &sample, &mut here);
        trace.at.push(at);
        trace.places.push(match model.carriers[point].first() {
            Some(&(_, anchor)) => model.mechanism.in_plane(&here.params, &here.poses, anchor),
            None => [p.x, p.y],
        });
    }
    if let (Some(first), Some(last)) = (trace.places.first(), trace.places.last()) {
        let gap = (first[0] - last[0]).hypot(first[1] - last[1]);
        trace.closed = trace.places.len() > 2 && gap < 1e-6 * model.mechanism.size(&here.params);
    }
    Ok(trace)
}
