//! Slides, slots, hole rows and faces.

use machine::model::{FRAME, Face, PartId, Row, Slide, Slot};
use studies::Standing;

use crate::geometry::{
    P, add, along, angle_of, at_angle, direction, distance, dot, square, sub, times,
};
use crate::scene::{Frame, Scene, place, turn};
use crate::sheet::{Group, Pen, Shape};
use crate::symbols;

/// Direction on the paper in which a slide moves forward in a pose.
pub(crate) fn slide_direction(standing: &Standing, slide: &Slide) -> P {
    at_angle(slide.along + turn(standing, slide.on))
}

/// Where the block of a slide stands: at the first hole of the part that slides; where that is a point of a face, half-way from
/// there to the middle of the part's other points.
pub(crate) fn slide_at(
    scene: &Scene,
    frame: Frame,
    standing: &Standing,
    slide: &Slide,
) -> Option<P> {
    let carries = &scene.machine.parts.get(slide.part)?.carries;
    let first = *carries.first()?;
    let at = place(standing, first).map(|p| frame.paper(p))?;
    let others: Vec<P> = carries
        .iter()
        .skip(1)
        .filter_map(|&p| place(standing, p))
        .map(|p| frame.paper(p))
        .collect();
    if !scene.roles.get(first).is_some_and(|r| r.face) || others.is_empty() {
        return Some(at);
    }
    let middle = times(
        others.iter().fold([0.0, 0.0], |sum, p| add(sum, *p)),
        1.0 / others.len() as f64,
    );
    Some(times(add(at, middle), 0.5))
}

/// Guides long enough for every pose shown and for `beyond` (reach backward and forward of the block in this pose), and the
/// block between them.
pub(crate) fn slide(scene: &Scene, frame: Frame, slide: &Slide, beyond: [f64; 2], g: &mut Group) {
    let Some(at) = slide_at(scene, frame, scene.standing, slide) else {
        return;
    };
    let d = slide_direction(scene.standing, slide);
    let n = square(d);
    let (mut back, mut ahead) = (beyond[0].min(0.0), beyond[1].max(0.0));
    if slide.on == FRAME {
        for &ghost in &scene.ghosts {
            if let Some(p) = slide_at(scene, frame, ghost, slide) {
                let s = dot(sub(p, at), d);
                back = back.min(s);
                ahead = ahead.max(s);
            }
        }
    }
    let room = symbols::BLOCK[0] + 3.0;
    let off = symbols::BLOCK[1] + 0.25;
    for side in [-1.0, 1.0] {
        let edge = |s: f64| along(along(at, d, s), n, side * off);
        let (a, b) = (edge(back - room), edge(ahead + room));
        if slide.on == FRAME {
            symbols::ground_edge(g, a, b, times(n, side));
        } else {
            g.draw(Pen::Wide, Shape::line(a, b));
        }
    }
    // On a moving part the guides hang on that part's nearest hole.
    if slide.on != FRAME {
        let holes = scene.body(slide.on);
        let nearest = holes
            .iter()
            .filter_map(|&p| place(scene.standing, p))
            .map(|p| frame.paper(p))
            .min_by(|a, b| distance(*a, at).total_cmp(&distance(*b, at)));
        if let Some(hole) = nearest {
            let side = if dot(sub(hole, at), n) < 0.0 {
                -1.0
            } else {
                1.0
            };
            let s = dot(sub(hole, at), d).clamp(back - room, ahead + room);
            g.draw(
                Pen::Wide,
                Shape::line(hole, along(along(at, d, s), n, side * off)),
            );
        }
    }
    let name = scene
        .machine
        .parts
        .get(slide.part)
        .map_or("", |p| p.name.as_str());
    let mut block = Group::named(
        "block",
        String::new(),
        name,
        format!("Sliding block of {name}"),
    );
    symbols::block(&mut block, at, d);
    g.add(block);
}

/// The outline of a slot round its pin, `half` wide to each side; in the frame with hatching along it.
pub(crate) fn slot(scene: &Scene, frame: Frame, slot: &Slot, half: f64, g: &mut Group) {
    let at = |p| place(scene.standing, p).map(|q| frame.paper(q));
    let (Some(a), Some(b)) = (at(slot.ends[0]), at(slot.ends[1])) else {
        return;
    };
    let centre = slot.centre.and_then(at);
    if slot.within == FRAME && centre.is_none() {
        let d = direction(a, b);
        for side in [-1.0, 1.0] {
            let n = times(square(d), side);
            symbols::ground_edge(g, along(a, n, half), along(b, n, half), n);
        }
    }
    g.draw(Pen::Wide, symbols::slot_outline(a, b, centre, half));
}

/// All holes of a row where they stand now; the one in use is ringed.
pub(crate) fn row(scene: &Scene, frame: Frame, row: &Row, g: &mut Group) {
    let Some(part) = scene.machine.parts.get(row.on) else {
        return;
    };
    let datum = if part.clamped_to.is_some() {
        scene.hub(row.on)
    } else {
        part.carries.first().copied()
    };
    let Some(datum) = datum else { return };
    let (Some(drawn), Some(now)) = (
        scene.machine.points.get(datum),
        place(scene.standing, datum),
    ) else {
        return;
    };
    let (sin, cos) = turn(scene.standing, row.on).sin_cos();
    let holes: Vec<P> = row
        .holes
        .iter()
        .map(|h| {
            let (x, y) = (h[0] - drawn.x, h[1] - drawn.y);
            frame.paper([now[0] + x * cos - y * sin, now[1] + x * sin + y * cos])
        })
        .collect();
    let pitch = holes
        .windows(2)
        .filter_map(|w| Some(distance(*w.first()?, *w.last()?)))
        .fold(f64::INFINITY, f64::min);
    let radius = (0.38 * pitch).min(1.0);
    if !radius.is_finite() || radius < 0.15 {
        return;
    }
    let used = place(scene.standing, row.point).map(|p| frame.paper(p));
    for &hole in &holes {
        if used.is_none_or(|u| distance(u, hole) > symbols::PIN + radius * 0.5) {
            g.put(
                Some(Pen::Narrow),
                crate::sheet::Fill::Ground,
                Shape::Circle {
                    centre: hole,
                    radius,
                },
            );
        }
    }
    if let Some(u) = used {
        g.draw(
            Pen::Narrow,
            Shape::Circle {
                centre: u,
                radius: symbols::PIN + 0.9,
            },
        );
    }
}

/// Outward direction of a face on the paper.
pub(crate) fn face_direction(standing: &Standing, face: &Face) -> P {
    at_angle(face.facing + turn(standing, face.on))
}

/// A face, and its outward arrow.
pub(crate) fn face(scene: &Scene, frame: Frame, face: &Face, g: &mut Group) {
    let Some(at) = place(scene.standing, face.at).map(|p| frame.paper(p)) else {
        return;
    };
    symbols::face(
        g,
        at,
        face_direction(scene.standing, face),
        face.on == FRAME,
    );
}

/// The edge of a face in another pose.
pub(crate) fn face_ghost(frame: Frame, standing: &Standing, face: &Face, g: &mut Group) {
    let Some(at) = place(standing, face.at).map(|p| frame.paper(p)) else {
        return;
    };
    let t = square(face_direction(standing, face));
    g.draw(
        Pen::Ghost,
        Shape::line(along(at, t, -5.0), along(at, t, 5.0)),
    );
}

/// A rack: its pitch line on the pinion, and the bar that ties it to the part that slides. Returns the point of contact.
pub(crate) fn rack(
    scene: &Scene,
    frame: Frame,
    gear: PartId,
    slide: &Slide,
    radius: f64,
    g: &mut Group,
) -> Option<P> {
    let hub = scene
        .hub(gear)
        .or_else(|| scene.body(gear).first().copied())?;
    let centre = frame.paper(place(scene.standing, hub)?);
    let d = slide_direction(scene.standing, slide);
    let r = radius * frame.k;
    // Counter-clockwise, the side that moves forward lies a quarter turn clockwise of forward.
    let out = at_angle(angle_of(d) - std::f64::consts::FRAC_PI_2);
    let contact = along(centre, out, r);
    let side = times(out, r.signum());
    let datum = slide_at(scene, frame, scene.standing, slide)?;
    let s = dot(sub(datum, contact), d);
    let reach = (r.abs() * 1.3).max(8.0);
    let (from, to) = ((-reach).min(s), reach.max(s));
    let line = |lift: f64| {
        [
            along(along(contact, side, lift), d, from),
            along(along(contact, side, lift), d, to),
        ]
    };
    g.draw(Pen::Chain, Shape::Strokes(vec![line(0.0)]));
    let [a, b] = line(1.6);
    g.draw(Pen::Wide, Shape::line(a, b));
    // A few teeth at the contact tell a rack from a bar.
    let teeth: Vec<P> = (-12..=12)
        .map(|i| {
            let lift = if i % 2 == 0 { 1.2 } else { -1.0 };
            along(along(contact, side, lift), d, f64::from(i) * 0.9)
        })
        .collect();
    g.draw(Pen::Narrow, Shape::poly(&teeth, false));
    let foot = along(along(contact, side, 1.6), d, s);
    if distance(foot, datum) > symbols::PIN {
        g.draw(Pen::Wide, Shape::line(foot, datum));
    }
    Some(add(contact, times(side, 1.6)))
}
