//! Arrows of drives with their range, and stops.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use machine::model::{Adjusts, Drive, FRAME, Measures, Moves, Stop};
use machine::work::Detent;

use crate::geometry::{P, along, at_angle, distance, square, times};
use crate::guides::{slide_at, slide_direction};
use crate::labels::Anchor;
use crate::number::value;
use crate::scene::{Frame, Joint, Scene, place, turn};
use crate::sheet::{Fill, Group, Pen, Shape, on_arc};
use crate::symbols;

/// Radius of the seat of a detent, mm of paper.
pub(crate) const SEAT: f64 = 1.5;

/// What is written at a drive's arrow.
pub(crate) fn words(drive: &Drive) -> String {
    match drive.range {
        _ if drive.whole_turn => format!("drive {}: whole turn", drive.name),
        Some([a, b]) => format!(
            "drive {}: {} to {}",
            drive.name,
            value(a, drive.unit),
            value(b, drive.unit)
        ),
        None => format!("drive {}", drive.name),
    }
}

/// Draws a drive's arrow; gives the places where its words may stand. `now` is the drive's value in this pose and `nth` counts
/// the arrows round the same centre.
pub(crate) fn drive(
    scene: &Scene,
    frame: Frame,
    drive: &Drive,
    now: f64,
    nth: usize,
    g: &mut Group,
) -> Vec<Anchor> {
    match drive.moves {
        Moves::Turns(part) => {
            let Some(hub) = scene
                .hub(part)
                .or_else(|| scene.body(part).first().copied())
            else {
                return Vec::new();
            };
            let Some(centre) = place(scene.standing, hub).map(|p| frame.paper(p)) else {
                return Vec::new();
            };
            let Some(heading) = scene.heading(scene.standing, part) else {
                return Vec::new();
            };
            let arm = scene
                .body(part)
                .iter()
                .filter_map(|&p| place(scene.standing, p))
                .map(|p| distance(frame.paper(p), centre))
                .fold(0.0, f64::max);
            let radius = free_radius(
                scene,
                frame,
                centre,
                (0.3 * arm).clamp(10.0, 26.0) + 4.0 * nth as f64,
            );
            turning(centre, radius, heading, drive, now, g)
        }
        Moves::Slides(slide) => {
            let Some(slide) = scene.machine.slides.get(slide) else {
                return Vec::new();
            };
            let Some(at) = slide_at(scene, frame, scene.standing, slide) else {
                return Vec::new();
            };
            let d = times(slide_direction(scene.standing, slide), drive.sense.signum());
            sliding(at, d, frame.k, drive, now, g)
        }
    }
}

/// Where the seat of a detent is on paper, and where its plunger; `now` is the drive's value in this pose.
pub(crate) fn detent(scene: &Scene, frame: Frame, detent: &Detent, now: f64) -> Option<[P; 2]> {
    let drive = scene.machine.drives.get(detent.drive)?;
    let off = drive.sense.signum() * (detent.at - now);
    let both = match drive.moves {
        Moves::Turns(part) => {
            let centre = frame.paper(place(scene.standing, scene.hub(part)?)?);
            let heading = scene.heading(scene.standing, part)?;
            [heading + off, heading].map(|a| on_arc(centre, detent.radius * frame.k, a))
        }
        Moves::Slides(slide) => {
            let slide = scene.machine.slides.get(slide)?;
            let at = slide_at(scene, frame, scene.standing, slide)?;
            let way = slide_direction(scene.standing, slide);
            [along(at, way, off * frame.k), at]
        }
    };
    both.iter().flatten().all(|x| x.is_finite()).then_some(both)
}

/// Draws a seat as a drilled spot.
pub(crate) fn seat(at: P, g: &mut Group) {
    g.put(
        Some(Pen::Narrow),
        Fill::Ground,
        Shape::Circle {
            centre: at,
            radius: SEAT,
        },
    );
}

/// Draws a plunger as its point, a little smaller than the seat it drops into.
pub(crate) fn plunger(at: P, g: &mut Group) {
    g.put(
        None,
        Fill::Ink,
        Shape::Circle {
            centre: at,
            radius: 0.6 * SEAT,
        },
    );
}

/// The radius nearest to the wanted one at which an arc about `centre` runs clear of pins.
fn free_radius(scene: &Scene, frame: Frame, centre: P, wanted: f64) -> f64 {
    let pins: Vec<f64> = (0..scene.roles.len())
        .filter(|&p| scene.plane_of(p) == Some(frame.plane) && scene.joint(p) != Joint::None)
        .filter_map(|p| place(scene.standing, p))
        .map(|p| distance(frame.paper(p), centre))
        .collect();
    let clear = |r: f64| r >= 8.0 && pins.iter().all(|d| (d - r).abs() >= symbols::PIN + 2.0);
    (0..12)
        .flat_map(|i| [wanted + f64::from(i), wanted - f64::from(i)])
        .find(|r| clear(*r))
        .unwrap_or(wanted)
}

fn turning(
    centre: P,
    radius: f64,
    heading: f64,
    drive: &Drive,
    now: f64,
    g: &mut Group,
) -> Vec<Anchor> {
    let sense = if drive.sense < 0.0 { -1.0 } else { 1.0 };
    let (from, sweep, ends) = match drive.range {
        Some([a, b]) if !drive.whole_turn && (b - a).abs() < TAU * 0.97 => {
            (heading + sense * (a - now), sense * (b - a), true)
        }
        Some(_) => (heading + sense * 0.4, sense * (TAU - 0.8), false),
        None => (heading + sense * 0.15, sense * 1.0, false),
    };
    if !(from.is_finite() && sweep.is_finite()) {
        return Vec::new();
    }
    g.draw(Pen::Drive, Shape::arc(centre, radius, from, sweep));
    let tip = from + sweep;
    // The head is straight: it is laid along the chord so that it does not leave the arc.
    let way = sweep.signum();
    let flight = at_angle(tip + way * (FRAC_PI_2 - 1.25 / radius));
    symbols::arrow_head(g, on_arc(centre, radius, tip), flight);
    if ends {
        let tick = |a: f64| {
            [
                on_arc(centre, radius - 2.0, a),
                on_arc(centre, radius + 2.0, a),
            ]
        };
        g.draw(Pen::Drive, Shape::Strokes(vec![tick(from), tick(tip)]));
    }
    [0.5, 0.3, 0.7, 0.1, 0.9]
        .map(|t| {
            let a = from + sweep * t;
            Anchor {
                at: on_arc(centre, radius, a),
                clear: 0.8,
                line: Some(at_angle(a + FRAC_PI_2)),
            }
        })
        .to_vec()
}

fn sliding(at: P, d: P, k: f64, drive: &Drive, now: f64, g: &mut Group) -> Vec<Anchor> {
    let off = symbols::BLOCK[1] + symbols::HATCH + 3.0;
    let n = square(d);
    let n = if n[0] > 0.1 || (n[0].abs() <= 0.1 && n[1] < 0.0) {
        n
    } else {
        times(n, -1.0)
    };
    let base = along(at, n, off);
    let (a, b) = match drive.range {
        Some([a, b]) if ((b - a) * k).abs() > 4.0 => {
            (along(base, d, (a - now) * k), along(base, d, (b - now) * k))
        }
        _ => (along(base, d, -6.0), along(base, d, 6.0)),
    };
    g.draw(Pen::Drive, Shape::line(a, b));
    symbols::arrow_head(g, b, crate::geometry::direction(a, b));
    if drive.range.is_some() {
        let tick = |p: P| [along(p, n, -2.0), along(p, n, 2.0)];
        g.draw(Pen::Drive, Shape::Strokes(vec![tick(a), tick(b)]));
    }
    crate::labels::on_line(a, b, 0.8)
}

/// The reach of a sliding drive backward and forward of where it stands, mm of paper along its slide.
pub(crate) fn slide_reach(drive: &Drive, now: f64, k: f64) -> [f64; 2] {
    let Some([a, b]) = drive.range else {
        return [0.0; 2];
    };
    let [p, q] = [a, b].map(|v| (v - now) * k * drive.sense.signum());
    if p.is_finite() && q.is_finite() {
        [p.min(q), p.max(q)]
    } else {
        [0.0; 2]
    }
}

/// Draws a stop as the hatched edge that is met; gives the places where its name may stand. Stops on readings that have no
/// place in the view (gaps, distances) are not drawn.
pub(crate) fn stop(
    scene: &Scene,
    frame: Frame,
    id: usize,
    stop: &Stop,
    settings: &[f64],
    g: &mut Group,
) -> Vec<Anchor> {
    let mut anchors = Vec::new();
    let Some(reading) = scene.machine.readings.get(stop.reading) else {
        return anchors;
    };
    let set = scene
        .machine
        .settings
        .iter()
        .zip(settings)
        .find_map(|(s, &v)| {
            if s.adjusts == Adjusts::Stop(id) {
                Some(v)
            } else {
                None
            }
        });
    // A stop with one limit is set by its setting; one with two keeps both as written.
    let limits = match (stop.at_least, stop.at_most) {
        (Some(low), None) => [Some(set.unwrap_or(low)), None],
        (None, Some(high)) => [None, Some(set.unwrap_or(high))],
        both => [both.0, both.1],
    };
    for (limit, side) in limits.into_iter().zip([-1.0, 1.0]) {
        let Some(limit) = limit else { continue };
        let Some((at, into, half)) = met(scene, frame, &reading.measures, limit, side) else {
            continue;
        };
        let t = square(into);
        symbols::ground_edge(g, along(at, t, -half), along(at, t, half), into);
        anchors.push(Anchor {
            at: along(at, into, 1.0),
            clear: half,
            line: None,
        });
    }
    anchors
}

/// Where a limit is met: a place, the direction that is barred, and half the length of the edge there.
fn met(
    scene: &Scene,
    frame: Frame,
    measures: &Measures,
    limit: f64,
    side: f64,
) -> Option<(P, P, f64)> {
    match *measures {
        Measures::TurnOf {
            part,
            against: FRAME,
            drawn,
        } => {
            if scene.part_plane(part)? != frame.plane {
                return None;
            }
            let hub = frame.paper(place(scene.standing, scene.hub(part)?)?);
            let heading = scene.heading(scene.standing, part)?;
            let arm = scene
                .body(part)
                .iter()
                .filter_map(|&p| place(scene.standing, p))
                .map(|p| distance(frame.paper(p), hub))
                .fold(0.0, f64::max);
            let now = drawn + turn(scene.standing, part);
            let off = limit - now;
            if !(off.is_finite() && off.abs() < 2.0 * PI + 1e-9) {
                return None;
            }
            let d = at_angle(heading + off);
            let into = times(at_angle(heading + off + FRAC_PI_2), side);
            // The edge stands off by half a wide line, so that the arm just touches it.
            let at = along(along(hub, d, (0.62 * arm).max(8.0)), into, 0.5);
            Some((at, into, 3.5))
        }
        Measures::PlaceOf {
            point,
            along: angle,
        } => {
            (scene.plane_of(point)? == frame.plane).then_some(())?;
            let p = place(scene.standing, point)?;
            let d = [angle.cos(), angle.sin()];
            let off = limit - (p[0] * d[0] + p[1] * d[1]);
            Some((
                frame.paper([p[0] + d[0] * off, p[1] + d[1] * off]),
                times(at_angle(angle), side),
                3.5,
            ))
        }
        Measures::Between {
            points: [a, b],
            along: angle,
        } => {
            (scene.plane_of(a)? == frame.plane && scene.plane_of(b)? == frame.plane)
                .then_some(())?;
            let (p, q) = (place(scene.standing, a)?, place(scene.standing, b)?);
            let d = [angle.cos(), angle.sin()];
            let off = limit - ((q[0] - p[0]) * d[0] + (q[1] - p[1]) * d[1]);
            Some((
                frame.paper([q[0] + d[0] * off, q[1] + d[1] * off]),
                times(at_angle(angle), side),
                3.5,
            ))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::angle_of;
    use quantity::Unit;

    fn crank(range: Option<[f64; 2]>, sense: f64) -> Drive {
        Drive {
            name: "set".to_owned(),
            moves: Moves::Turns(1),
            range,
            whole_turn: false,
            drawn: 0.0,
            sense,
            step: None,
            unit: Unit::Degree,
            place: machine::Place::default(),
        }
    }

    #[test]
    fn the_arrow_runs_through_the_range_from_where_the_drive_stands() {
        let mut g = Group::new("x");
        let drive = crank(Some([0.0, FRAC_PI_2]), 1.0);
        // Standing at 45° of the drive while the part points right: the range is −45° .. 45° about right.
        turning([0.0, 0.0], 10.0, 0.0, &drive, PI / 4.0, &mut g);
        let arc = g.marks.iter().find(|m| m.pen == Some(Pen::Drive)).unwrap();
        let mut ends = Vec::new();
        arc.shape.pieces(|a, b| ends.extend([a, b]));
        assert!((angle_of(*ends.first().unwrap()) + PI / 4.0).abs() < 1e-9);
        assert!((angle_of(*ends.last().unwrap()) - PI / 4.0).abs() < 1e-9);
    }

    #[test]
    fn words_tell_the_range() {
        assert_eq!(
            words(&crank(Some([0.0, FRAC_PI_2]), 1.0)),
            "drive set: 0° to 90°"
        );
        assert_eq!(words(&crank(None, 1.0)), "drive set");
    }
}
