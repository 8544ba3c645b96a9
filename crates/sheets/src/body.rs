//! Parts, rods and pins.

use machine::model::{PartId, PartKind, PointId};
use studies::Standing;

use crate::geometry::{P, along, direction, distance, dot, farthest, hatching, hull, square, sub};
use crate::scene::{Frame, Joint, Scene, place};
use crate::sheet::{Fill, Group, Pen, Shape};
use crate::symbols;

/// Points nearer than this on the paper count as one.
const SAME: f64 = 0.05;
/// A body narrower than this on the paper is drawn as a line through its points.
const SLENDER: f64 = 1.2;
/// A journal of a shaft nearer than this to its axis is drawn as an eccentric. Any other part stays a bar, however small it is drawn.
const ECCENTRIC: f64 = symbols::SHAFT + symbols::PIN;

/// How a part looks in a view.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Body {
    /// A single point, or none.
    Point,
    /// A line through its points, in order along it.
    Line(Vec<P>),
    /// A plate with these corners.
    Plate(Vec<P>),
}

/// An eccentric: its own centre and the centre it turns about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Eccentric {
    pub(crate) point: PointId,
    pub(crate) centre: P,
    pub(crate) hub: P,
}

impl Eccentric {
    /// Radius on the paper: large enough to take in the shaft, as a real one is.
    pub(crate) fn radius(&self) -> f64 {
        distance(self.centre, self.hub) + symbols::SHAFT + 1.2
    }
}

/// A part on the paper.
pub(crate) struct Drawn {
    pub(crate) part: PartId,
    pub(crate) hub: Option<P>,
    /// It is a shaft.
    pub(crate) shaft: bool,
    pub(crate) body: Body,
    pub(crate) eccentrics: Vec<Eccentric>,
    /// Every point of it.
    pub(crate) points: Vec<P>,
    /// Those of its points to which something is pinned.
    pub(crate) pinned: Vec<P>,
}

/// Works out how a part looks in a pose.
pub(crate) fn drawn(scene: &Scene, frame: Frame, standing: &Standing, part: PartId) -> Drawn {
    let hub = scene
        .hub(part)
        .and_then(|h| place(standing, h))
        .map(|p| frame.paper(p));
    let shaft = scene
        .machine
        .parts
        .get(part)
        .is_some_and(|p| p.kind == PartKind::Shaft);
    let mut eccentrics: Vec<Eccentric> = Vec::new();
    let mut points: Vec<P> = Vec::new();
    let mut all: Vec<P> = Vec::new();
    let mut pinned: Vec<P> = Vec::new();
    for id in scene.body(part) {
        let Some(at) = place(standing, id).map(|p| frame.paper(p)) else {
            continue;
        };
        all.push(at);
        if matches!(
            scene.joint(id),
            Joint::ShaftCentre | Joint::Pivot | Joint::Pin
        ) {
            pinned.push(at);
        }
        if let Some(hub) = hub
            && shaft
            && scene.joint(id) == Joint::Pin
            && distance(at, hub) > 1e-9
            && distance(at, hub) < ECCENTRIC
        {
            if !eccentrics.iter().any(|e| distance(e.centre, at) < SAME) {
                eccentrics.push(Eccentric {
                    point: id,
                    centre: at,
                    hub,
                });
            }
        } else if !points.iter().any(|p| distance(*p, at) < SAME) {
            points.push(at);
        }
    }
    Drawn {
        part,
        hub,
        shaft,
        body: body_of(&points),
        eccentrics,
        points: all,
        pinned,
    }
}

fn body_of(points: &[P]) -> Body {
    let Some((a, b)) = farthest(points) else {
        return Body::Point;
    };
    let d = direction(a, b);
    let off = |p: &P| dot(sub(*p, a), square(d)).abs();
    if points.iter().all(|p| off(p) < SLENDER) {
        let mut line = points.to_vec();
        line.sort_by(|p, q| dot(*p, d).total_cmp(&dot(*q, d)));
        return Body::Line(line);
    }
    Body::Plate(hull(points))
}

impl Drawn {
    /// Draws the part; its pins come later, on top.
    pub(crate) fn draw(&self, g: &mut Group, clamped: bool) {
        match &self.body {
            Body::Point => {
                // A shaft that carries nothing off its axis is its section, and can be picked by that.
                if let (true, true, Some(hub)) = (self.shaft, self.eccentrics.is_empty(), self.hub)
                {
                    symbols::shaft(g, hub);
                }
            }
            Body::Line(points) => g.draw(Pen::Wide, Shape::poly(points, false)),
            Body::Plate(corners) => {
                g.put(Some(Pen::Wide), Fill::Tint, Shape::poly(corners, true));
                // Neighbouring parts are hatched at different slants.
                let slant = if self.part.is_multiple_of(2) {
                    0.25
                } else {
                    0.75
                } * std::f64::consts::PI;
                g.draw(Pen::Hatch, Shape::Strokes(hatching(corners, slant, 2.2)));
                for (i, &at) in corners.iter().enumerate() {
                    let n = corners.len();
                    if !self.pinned.iter().any(|p| distance(*p, at) < SAME) {
                        continue;
                    }
                    if let (Some(&before), Some(&after)) =
                        (corners.get((i + n - 1) % n), corners.get((i + 1) % n))
                    {
                        let room = distance(at, before).min(distance(at, after));
                        if room > 2.5 * (symbols::PIN + 2.6) {
                            symbols::rigid_corner(
                                g,
                                at,
                                direction(at, before),
                                direction(at, after),
                                symbols::PIN,
                            );
                        }
                    }
                }
            }
        }
        if let (true, Some(hub)) = (clamped, self.hub) {
            let arms: Vec<P> = self
                .points
                .iter()
                .copied()
                .filter(|p| distance(*p, hub) > symbols::SHAFT + 3.0)
                .collect();
            if let Some(first) = arms.first() {
                symbols::weld(g, hub, direction(hub, *first), symbols::SHAFT);
            }
        }
    }

    /// Draws it as another pose, thin and without symbols.
    pub(crate) fn draw_ghost(&self, g: &mut Group) {
        match &self.body {
            Body::Point => {}
            Body::Line(points) => g.draw(Pen::Ghost, Shape::poly(points, false)),
            Body::Plate(corners) => g.draw(Pen::Ghost, Shape::poly(corners, true)),
        }
        for e in &self.eccentrics {
            g.draw(
                Pen::Ghost,
                Shape::Circle {
                    centre: e.centre,
                    radius: e.radius(),
                },
            );
        }
    }

    /// The stretches of the part beside which its name may stand, the longest first.
    pub(crate) fn stretches(&self) -> Vec<[P; 2]> {
        let (points, closed) = match &self.body {
            Body::Point => return Vec::new(),
            Body::Line(points) => (points, false),
            Body::Plate(corners) => (corners, true),
        };
        let mut stretches: Vec<[P; 2]> = points
            .windows(2)
            .filter_map(|w| Some([*w.first()?, *w.last()?]))
            .collect();
        if let (true, Some(&first), Some(&last)) = (closed, points.first(), points.last()) {
            stretches.push([last, first]);
        }
        stretches.sort_by(|a, b| distance(b[0], b[1]).total_cmp(&distance(a[0], a[1])));
        stretches.truncate(3);
        stretches
    }

    /// Points that the part passes straight through, with its direction there.
    pub(crate) fn passes(&self) -> Vec<(P, P)> {
        let Body::Line(points) = &self.body else {
            return Vec::new();
        };
        points
            .windows(3)
            .filter_map(|w| Some((*w.get(1)?, direction(*w.first()?, *w.get(2)?))))
            .collect()
    }
}

/// A rod as it shows in a view: its two ends on the paper, and which of them lie in the view's plane.
pub(crate) struct RodDrawn {
    pub(crate) ends: [P; 2],
    pub(crate) here: [bool; 2],
}

/// Where a rod shows in a view; `None` when neither end lies in its plane.
pub(crate) fn rod(
    scene: &Scene,
    frame: Frame,
    standing: &Standing,
    rod: usize,
) -> Option<RodDrawn> {
    let joins = scene.machine.rods.get(rod)?.joins;
    let here = joins.map(|p| scene.plane_of(p) == Some(frame.plane));
    if here == [false, false] {
        return None;
    }
    let end = |i: usize| {
        let p = *joins.get(i)?;
        let place = if *here.get(i)? {
            place(standing, p)
        } else {
            scene.seen_in(frame.plane, scene.in_space(standing, p)?)
        };
        place.map(|q| frame.paper(q))
    };
    Some(RodDrawn {
        ends: [end(0)?, end(1)?],
        here,
    })
}

impl RodDrawn {
    /// Draws the rod. One that runs into another plane is a dashed line to where its far end is seen.
    pub(crate) fn draw(&self, g: &mut Group, spatial: bool, threaded: bool) {
        let [a, b] = self.ends;
        if self.here == [true, true] {
            g.draw(Pen::Wide, Shape::line(a, b));
            if threaded && distance(a, b) > 4.0 * (symbols::CUP + 5.0) {
                symbols::thread(g, a, direction(a, b));
                symbols::thread(g, b, direction(b, a));
            }
        } else {
            let (near, far) = if self.here[0] { (a, b) } else { (b, a) };
            let end = along(far, direction(far, near), 1.0_f64.min(distance(far, near)));
            g.draw(Pen::Dashed, Shape::line(near, end));
            g.draw(
                Pen::Narrow,
                Shape::Circle {
                    centre: far,
                    radius: 1.0,
                },
            );
        }
        if spatial {
            for (i, &at) in self.ends.iter().enumerate() {
                if self.here.get(i) == Some(&true) {
                    symbols::ball(g, at, if i == 0 { b } else { a });
                }
            }
        }
    }

    /// Draws the rod so that it can be laid anew: the line, and each end about the origin, running to the right.
    pub(crate) fn draw_apart(&self, g: &mut Group, spatial: bool, threaded: bool) {
        let [a, b] = self.ends;
        let both = self.here == [true, true];
        let pen = if both { Pen::Wide } else { Pen::Dashed };
        g.draw(pen, Shape::line(a, b));
        for here in self.here {
            let mut end = Group::new("rod-end");
            let origin = [0.0, 0.0];
            if !here {
                let radius = 1.0;
                end.put(
                    Some(Pen::Narrow),
                    Fill::Ground,
                    Shape::Circle {
                        centre: origin,
                        radius,
                    },
                );
            } else if spatial {
                symbols::ball(&mut end, origin, [1.0, 0.0]);
            }
            if both && threaded && distance(a, b) > 4.0 * (symbols::CUP + 5.0) {
                symbols::thread(&mut end, origin, [1.0, 0.0]);
            }
            // An end without a symbol stays, so that the first group is always the first end.
            g.groups.push(end);
        }
    }

    pub(crate) fn draw_ghost(&self, g: &mut Group) {
        let [a, b] = self.ends;
        if self.here == [true, true] {
            g.draw(Pen::Ghost, Shape::line(a, b));
        } else {
            let (near, far) = if self.here[0] { (a, b) } else { (b, a) };
            // The near half is enough to see where it goes; a full line would look like a rod of this plane.
            g.draw(
                Pen::Ghost,
                Shape::line(near, along(near, sub(far, near), 0.5)),
            );
        }
    }

    /// The end that lies in another plane, as seen here.
    pub(crate) fn far_end(&self) -> Option<(usize, P)> {
        self.here
            .iter()
            .position(|h| !h)
            .and_then(|i| Some((i, *self.ends.get(i)?)))
    }
}
