//! What the parts of a machine look like where they stand: outlines as they are cut, in the planes they move in.

use crate::geometry::P;
use crate::scene::{Scene, place};
use machine::fitting::Fitted;
use machine::making::{Of, Piece, Shape as Made};
use machine::model::PointId;
use shop::Job;
use shop::contour::{Contour, Vertex};
use shop::part::{Form, Opening as _, Part, Plate, Turned, diameter};

/// A part where it stands, in the coordinates of its plane.
pub(super) struct Body {
    /// Which of the parts of the job.
    pub(super) part: usize,
    pub(super) plane: usize,
    /// How far forward it lies: what is further back is drawn first.
    pub(super) forward: [f64; 2],
    /// Its outline.
    pub(super) outline: Contour,
    /// Edges that are seen inside it.
    pub(super) edges: Vec<Contour>,
    /// What is open in it.
    pub(super) open: Vec<Contour>,
    /// From which station to which it reaches, mm; none where the machine does not say.
    pub(super) depth: Option<[f64; 2]>,
    /// Places of the axes of its holes, or of its own.
    pub(super) axes: Vec<P>,
    /// Steps of a turned one that lies along the view, as it is seen from its side: from where to where, radius, and how far its axis lies
    /// above that of the whole, mm.
    pub(super) steps: Vec<[f64; 4]>,
    /// Pitch circles of its teeth (ISO 2203).
    pub(super) pitch: Vec<Contour>,
}

/// Turned and moved from the own coordinates of a part into its plane.
#[derive(Clone, Copy)]
struct Stands {
    from: P,
    to: P,
    turn: f64,
}

impl Stands {
    fn at(&self, p: P) -> P {
        let (s, c) = self.turn.sin_cos();
        let (x, y) = (p[0] - self.from[0], p[1] - self.from[1]);
        [self.to[0] + c * x - s * y, self.to[1] + s * x + c * y]
    }

    fn contour(&self, c: &Contour) -> Contour {
        let vertices = c.vertices.iter().map(|v| Vertex {
            at: self.at(v.at),
            bulge: v.bulge,
        });
        Contour {
            vertices: vertices.collect(),
        }
    }
}

/// A plate where it stands.
struct Placed<'a> {
    name: &'a str,
    plate: &'a Plate,
    plane: usize,
    stands: Stands,
    station: f64,
    /// It stands behind its twin and is turned about.
    behind: bool,
}

/// All parts that are to be seen, the hindmost first; more than one of a kind where it stands in several places.
pub(super) fn all(scene: &Scene, job: &Job) -> Vec<Body> {
    let mut all = Vec::new();
    let mut plates: Vec<Placed> = Vec::new();
    for (n, part) in job.parts.iter().enumerate() {
        if let Form::Plate(p) = &part.form
            && let Some((plane, stands, station)) = stands(scene, part, p)
        {
            // Plates of the frame may stand at several stations, each with its own.
            let written = pieces(scene, part).map(|q| q.stations.as_slice());
            let own = [station];
            for station in written.filter(|s| !s.is_empty()).unwrap_or(&own) {
                let mut body = plate(n, p, plane, &stands, *station);
                body.pitch = pitch_circle(part, stands.at([0.0; 2]))
                    .into_iter()
                    .collect();
                all.push(body);
                plates.push(Placed {
                    name: &part.name,
                    plate: p,
                    plane,
                    stands,
                    station: *station,
                    behind: pieces(scene, part).is_some_and(|q| shop::resolve::behind(q, *station)),
                });
            }
        }
    }
    for (n, part) in job.parts.iter().enumerate() {
        if let Form::Turned(t) = &part.form {
            turned(scene, n, part, t, &plates, &mut all);
        }
    }
    all.sort_by(|a, b| {
        a.plane
            .cmp(&b.plane)
            .then(a.forward[0].total_cmp(&b.forward[0]))
            .then(a.forward[1].total_cmp(&b.forward[1]))
    });
    all
}

/// The plate of the frame that a part is.
fn pieces<'a>(scene: &'a Scene, part: &Part) -> Option<&'a Piece> {
    let all = &scene.machine.work.making.pieces;
    let frame = |q: &&Piece| matches!(q.of, Of::Frame(_)) && q.name == part.name;
    all.iter().find(frame)
}

fn point(scene: &Scene, name: &str) -> Option<PointId> {
    scene.machine.points.iter().position(|p| p.name == name)
}

/// Where a point stands, in which plane, how far forward.
fn spot(scene: &Scene, id: PointId) -> Option<(usize, P, f64)> {
    let at = place(scene.standing, id)?;
    Some((
        scene.plane_of(id)?,
        at,
        scene.machine.points.get(id)?.station,
    ))
}

/// Where a plate stands, from its places that have the names of points.
fn stands(scene: &Scene, part: &Part, p: &Plate) -> Option<(usize, Stands, f64)> {
    let holes = p.holes.iter().map(|h| (h.name.as_str(), h.at));
    let ends = p.ends.iter().map(|e| (e.name.as_str(), e.at));
    let marks = p.marks.iter().map(|(n, at)| (n.as_str(), *at));
    let named: Vec<(P, (usize, P, f64))> = holes
        .chain(ends)
        .chain(marks)
        .filter_map(|(name, at)| Some((at, spot(scene, point(scene, name)?)?)))
        .collect();
    let machine = scene.machine;
    let own = machine.parts.iter().position(|q| q.name == part.name);
    // A part stands where its own points do: the axis that it is clamped to lies in another layer often enough.
    let of_points = || {
        let first = own.and_then(|id| machine.parts.get(id)?.carries.first().copied())?;
        Some(machine.points.get(first)?.station)
    };
    let work = own
        .and_then(|id| machine.work.parts.get(id)?.station)
        .or_else(of_points);
    // Two that lie as far from one another here as there.
    for (n, (a, (plane, pa, station))) in named.iter().enumerate() {
        for (b, (other, pb, _)) in named.iter().skip(n + 1) {
            let (d, e) = ([b[0] - a[0], b[1] - a[1]], [pb[0] - pa[0], pb[1] - pa[1]]);
            let (long, there) = (d[0].hypot(d[1]), e[0].hypot(e[1]));
            if plane == other && long > 1e-3 && (long - there).abs() < 1e-3 {
                let stands = Stands {
                    from: *a,
                    to: *pa,
                    turn: e[1].atan2(e[0]) - d[1].atan2(d[0]),
                };
                return Some((*plane, stands, work.unwrap_or(*station)));
            }
        }
    }
    if let Some(&(from, (plane, to, station))) = named.first() {
        let stands = Stands {
            from,
            to,
            turn: 0.0,
        };
        return Some((plane, stands, work.unwrap_or(station)));
    }
    // Plates of the frame count from their first point, parts from theirs.
    let frame = pieces(scene, part).and_then(|q| match &q.of {
        Of::Frame(points) => points.first().copied(),
        _ => None,
    });
    let carried = || own.and_then(|id| machine.parts.get(id)?.carries.first().copied());
    let (plane, to, station) = spot(scene, frame.or_else(carried)?)?;
    let stands = Stands {
        from: [0.0; 2],
        to,
        turn: 0.0,
    };
    Some((plane, stands, work.unwrap_or(station)))
}

fn plate(part: usize, p: &Plate, plane: usize, stands: &Stands, station: f64) -> Body {
    let circle = |at: P, d: f64| stands.contour(&Contour::circle(at, d / 2.0));
    let mut open: Vec<Contour> = p.holes.iter().map(|h| circle(h.at, h.diameter())).collect();
    open.extend(p.slots.iter().map(|s| stands.contour(&s.outline())));
    let mut edges: Vec<Contour> = p
        .ends
        .iter()
        .filter(|e| e.hub.is_some() && e.solid)
        .map(|e| circle(e.at, 2.0 * e.radius))
        .collect();
    for cam in p.cams.iter().filter(|c| c.outer.is_some()) {
        edges.push(stands.contour(&cam.flank));
        edges.extend(cam.outer.iter().map(|o| stands.contour(o)));
    }
    Body {
        part,
        plane,
        // Of plates at one station the larger ones lie behind.
        forward: [station, -p.outline.area().abs()],
        outline: stands.contour(&p.outline),
        edges,
        open,
        depth: Some([station - p.thickness / 2.0, station + p.thickness / 2.0]),
        axes: p.holes.iter().map(|h| stands.at(h.at)).collect(),
        steps: Vec::new(),
        pitch: Vec::new(),
    }
}

/// The pitch circle of a gear about its axis.
fn pitch_circle(part: &Part, at: P) -> Option<Contour> {
    let spur = &part.teeth.as_ref()?.spur;
    let d = spur.module * f64::from(spur.teeth);
    Some(Contour::circle(at, d / 2.0))
}

/// How far forward of its place something stands that is put into a plate.
const ON: f64 = 1e-3;

fn turned(
    scene: &Scene,
    n: usize,
    part: &Part,
    t: &Turned,
    plates: &[Placed],
    all: &mut Vec<Body>,
) {
    let machine = scene.machine;
    let round = |plane: usize, at: P, station: f64, d: f64, open: Vec<Contour>| Body {
        part: n,
        plane,
        forward: [station + ON, -d],
        outline: Contour::circle(at, d / 2.0),
        edges: Vec::new(),
        open,
        depth: None,
        axes: vec![at],
        steps: Vec::new(),
        pitch: pitch_circle(part, at).into_iter().collect(),
    };
    let bore = |at: P| -> Vec<Contour> {
        let all = t
            .bores
            .iter()
            .filter(|b| b.throw.is_none() && b.blind.is_none());
        let least = all
            .map(|b| diameter(&b.fitted))
            .fold(f64::INFINITY, f64::min);
        let there = least.is_finite().then(|| Contour::circle(at, least / 2.0));
        there.into_iter().collect()
    };
    let named = |name: &str| machine.parts.iter().skip(1).find(|p| p.name == name);
    if let Some(rod) = machine.rods.iter().find(|r| r.name == part.name) {
        let [Some(a), Some(b)] = rod.joins.map(|p| spot(scene, p)) else {
            return;
        };
        if a.0 == b.0 {
            let mut drawn = bar(n, t, a.0, [a.1, b.1], a.2.max(b.2));
            // A rod that goes from layer to layer lies in none.
            if (a.2 - b.2).abs() > 0.1 {
                drawn.depth = None;
            }
            all.push(drawn);
        }
        return;
    }
    // Rings sit on the round ends of their plate.
    if let Some(name) = shop::resolve::plate_of_ring(&part.name) {
        let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
        let own = plates.iter().filter(|p| p.name == name);
        let ends = own.flat_map(|p| p.plate.ends.iter().map(move |e| (p, e)));
        let ends = ends.filter(|(p, e)| {
            let long = e.hub.filter(|_| !e.solid).map(|h| h - p.plate.thickness);
            long.is_some_and(|l| near(l, t.length())) && near(2.0 * e.radius, t.largest())
        });
        for (p, end) in ends {
            let hole = p.plate.holes.iter().find(|h| h.at == end.at);
            let at = p.stands.at(end.at);
            let open = hole.map(|h| Contour::circle(at, h.diameter() / 2.0));
            let mut ring = round(
                p.plane,
                at,
                p.station,
                2.0 * end.radius,
                open.into_iter().collect(),
            );
            // Rings stand on the face towards the viewer, of a plate that stands behind its twin on the other.
            let half = p.plate.thickness / 2.0;
            let back = p.station - half;
            ring.depth = end.hub.map(|long| {
                if p.behind {
                    [p.station + half - long, back]
                } else {
                    [back + p.plate.thickness, back + long]
                }
            });
            if p.behind {
                ring.forward[0] = p.station - ON;
            }
            all.push(ring);
        }
        return;
    }
    let id = named(&part.name)
        .or_else(|| part.name.strip_suffix("-gear").and_then(named))
        .and_then(|p| p.carries.first().copied())
        .or_else(|| point(scene, &part.name))
        .or_else(|| through(scene, part));
    if let Some((plane, at, station)) = id.and_then(|id| spot(scene, id)) {
        let mut pin = round(plane, at, station, t.largest(), bore(at));
        if part.name.ends_with("-gear") {
            // Its face stands at its point.
            let face = t
                .steps
                .iter()
                .max_by(|a, b| a.diameter.total_cmp(&b.diameter));
            let from = face.map_or(0.0, |f| station - f64::midpoint(f.from, f.to));
            pin.depth = Some([from, from + t.length()]);
            pin.steps = steps(t, &|_| 0.0);
        } else {
            // Pins and shafts go through what they carry: their ends stand out of the foremost of it.
            let carried = plates.iter().filter(|p| {
                let mut holes = p.plate.holes.iter().map(|h| p.stands.at(h.at));
                p.plane == plane && holes.any(|h| (h[0] - at[0]).hypot(h[1] - at[1]) < 1e-3)
            });
            let foremost = carried.max_by(|a, b| a.station.total_cmp(&b.station));
            pin.forward[0] = foremost.map_or(f64::MAX, |p| p.station + 3.0 * ON);
            if let Some(from) = starts(scene, part) {
                let own = machine.parts.iter().find(|p| p.name == part.name);
                let off = |e: f64| {
                    let carried = own.into_iter().flat_map(|p| &p.carries);
                    let mut there = carried.filter_map(|q| Some(spot(scene, *q)?.1));
                    let d = there.find(|q| ((q[0] - at[0]).hypot(q[1] - at[1]) - e).abs() < 1e-3);
                    d.map(|q| [q[0] - at[0], q[1] - at[1]])
                };
                let place = |throw: Option<[f64; 2]>| {
                    throw.map_or([0.0; 2], |[e, a]| {
                        off(e).unwrap_or([e * a.cos(), e * a.sin()])
                    })
                };
                pin.depth = Some([from, from + t.length()]);
                pin.steps = steps(t, &|throw| place(throw)[1]);
                // What of it stands before the foremost plate is seen, the rest is behind.
                let face =
                    foremost.map_or(f64::NEG_INFINITY, |p| p.station + p.plate.thickness / 2.0);
                let seen = t.steps.iter().filter(|s| from + s.to > face + 1e-6);
                match seen.max_by(|a, b| a.diameter.total_cmp(&b.diameter)) {
                    Some(s) => {
                        let off = place(s.throw);
                        let c = [at[0] + off[0], at[1] + off[1]];
                        pin.outline = Contour::circle(c, s.diameter / 2.0);
                    }
                    None => pin.forward[0] = from + t.length(),
                }
            }
        }
        all.push(pin);
        return;
    }
    // Bushings, in every hole that takes them.
    for p in plates {
        for h in &p.plate.holes {
            if let Fitted::Bushing {
                bore,
                outside: Some((outside, _)),
                ..
            } = &h.fitted
                && part.name
                    == shop::resolve::bushing_name(
                        bore.nominal,
                        outside.nominal,
                        h.blind.unwrap_or(h.through),
                        machine.unit,
                    )
            {
                let at = p.stands.at(h.at);
                let open = vec![Contour::circle(at, bore.nominal / 2.0)];
                all.push(round(p.plane, at, p.station + ON, outside.nominal, open));
            }
        }
    }
}

/// Steps as they are seen from the side; `up` is how far a throw lies above the axis.
fn steps(t: &Turned, up: &dyn Fn(Option<[f64; 2]>) -> f64) -> Vec<[f64; 4]> {
    let each = t.steps.iter();
    each.map(|s| [s.from, s.to, s.diameter / 2.0, up(s.throw)])
        .collect()
}

/// The station of the left end of a turned piece, where the file gives it.
fn starts(scene: &Scene, part: &Part) -> Option<f64> {
    let all = &scene.machine.work.making.pieces;
    let piece = all.iter().find(|q| q.name == part.name)?;
    match &piece.shape {
        Made::Turned(t) => t.starts,
        Made::Plate(_) => None,
    }
}

/// The joint that a loose piece is turned to go through.
fn through(scene: &Scene, part: &Part) -> Option<PointId> {
    let all = &scene.machine.work.making.pieces;
    let piece = all.iter().find(|q| q.name == part.name)?;
    match &piece.shape {
        Made::Turned(t) => t.steps.iter().find_map(|s| s.joint),
        Made::Plate(_) => None,
    }
}

/// A rod: its bar in the middle between the joints, an eye at each.
fn bar(part: usize, t: &Turned, plane: usize, [a, b]: [P; 2], station: f64) -> Body {
    let half = t.largest() / 2.0;
    let d = [b[0] - a[0], b[1] - a[1]];
    let long = d[0].hypot(d[1]).max(1e-9);
    let stands = Stands {
        from: [0.0; 2],
        to: a,
        turn: d[1].atan2(d[0]),
    };
    let reach = t.length().min(long);
    let from = (long - reach) / 2.0;
    let line = Contour::rectangle([from, -half], [from + reach, half], 0.0);
    let mut edges = Vec::new();
    // Rod ends that are bought: only so much of them that it is seen where they are.
    if from > 2.0 * half {
        for x in [0.0, long] {
            edges.push(stands.contour(&Contour::circle([x, 0.0], 1.5 * half)));
        }
        let neck = [[0.0, from], [from + reach, long]];
        for [x, y] in neck {
            let (x, y) = if x == 0.0 {
                (1.5 * half, y)
            } else {
                (x, y - 1.5 * half)
            };
            if y > x {
                edges.push(stands.contour(&Contour::rectangle(
                    [x, -0.8 * half],
                    [y, 0.8 * half],
                    0.0,
                )));
            }
        }
    }
    Body {
        part,
        plane,
        forward: [station + 2.0 * ON, 0.0],
        outline: stands.contour(&line),
        edges,
        open: Vec::new(),
        depth: Some([station - half, station + half]),
        axes: vec![a, b],
        steps: Vec::new(),
        pitch: Vec::new(),
    }
}
