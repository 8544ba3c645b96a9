//! Where each point lies: constructions worked out one after the other, each once its own points are known.

use crate::declared::names;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::LONGEST;
use crate::model::{Plane, PointId};
use crate::points::{Definition, Form, Pick};
use crate::vector::{V2, along, cross, dot, in_plane, in_space, length, sub, unit};
use crate::words::{list, show};

/// Farther from the origin, mm, nobody places a point of a machine of this kind by its coordinates; and it could hardly be followed.
const FARTHEST: f64 = 1e5;

/// A point that has its place, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    pub(crate) plane: usize,
    pub(crate) at: V2,
    pub(crate) station: f64,
}

/// Two places nearer than this share of the lengths at hand are one place: far above rounding, far below a made dimension.
const NEAR: f64 = 1e-9;

/// Works out all points. A point that is broken, or built from one that is, stays `None`; only the first is reported.
pub(crate) fn solve(
    desk: &mut Desk,
    definitions: &[Option<Definition>],
    planes: &[Option<Plane>],
) -> Vec<Option<Spot>> {
    let count = definitions.len();
    let needs: Vec<Vec<PointId>> = definitions
        .iter()
        .map(|d| d.as_ref().map_or_else(Vec::new, |d| d.form.needs()))
        .collect();
    let mut waits: Vec<usize> = needs.iter().map(Vec::len).collect();
    let mut used_by: Vec<Vec<PointId>> = vec![Vec::new(); count];
    for (point, needs) in needs.iter().enumerate() {
        for &need in needs {
            if let Some(list) = used_by.get_mut(need) {
                list.push(point);
            }
        }
    }
    let mut spots: Vec<Option<Spot>> = vec![None; count];
    let mut ready: Vec<PointId> = (0..count).filter(|&p| waits.get(p) == Some(&0)).collect();
    let mut done = vec![false; count];
    let mut next = 0;
    while let Some(&point) = ready.get(next) {
        next += 1;
        if let Some(definition) = definitions.get(point).and_then(Option::as_ref) {
            let spot = Construction {
                desk,
                definition,
                point,
                spots: &spots,
                planes,
            }
            .spot();
            if let Some(slot) = spots.get_mut(point) {
                *slot = spot;
            }
        }
        if let Some(done) = done.get_mut(point) {
            *done = true;
        }
        for &user in used_by.get(point).into_iter().flatten() {
            if let Some(waits) = waits.get_mut(user) {
                *waits -= 1;
                if *waits == 0 {
                    ready.push(user);
                }
            }
        }
    }
    if ready.len() < count {
        circles(desk, &needs, &done);
    }
    spots
}

/// Reports each circle among the points that could not be reached.
fn circles(desk: &mut Desk, needs: &[Vec<PointId>], done: &[bool]) {
    let open = |p: PointId| done.get(p) == Some(&false);
    // The walk a point was met on; 0 is none.
    let mut met = vec![0_usize; needs.len()];
    for start in (0..needs.len()).filter(|&p| open(p)) {
        let mut walk = Vec::new();
        let mut here = start;
        while open(here) && met.get(here) == Some(&0) {
            if let Some(met) = met.get_mut(here) {
                *met = start + 1;
            }
            walk.push(here);
            let Some(&need) = needs.get(here).and_then(|n| n.iter().find(|&&n| open(n))) else {
                break;
            };
            here = need;
        }
        if met.get(here) != Some(&(start + 1)) {
            continue;
        }
        let Some(from) = walk.iter().position(|&p| p == here) else {
            continue;
        };
        let mut circle: Vec<PointId> = walk.split_off(from);
        // Told from the point that comes first in the file.
        let first = circle
            .iter()
            .enumerate()
            .min_by_key(|(_, p)| **p)
            .map_or(0, |(n, _)| n);
        circle.rotate_left(first);
        let name = |desk: &Desk, p: PointId| desk.name(Kind::Point, p);
        let links: Vec<String> = circle
            .iter()
            .zip(circle.iter().cycle().skip(1))
            .map(|(&a, &b)| format!("{} needs {}", name(desk, a), name(desk, b)))
            .collect();
        let message = if circle.len() == 1 {
            format!("{} is built from itself", name(desk, here))
        } else {
            format!("points are built in a circle: {}", list(&links, "and"))
        };
        let mut problem = Diagnostic::error("point-circle", message);
        for &point in circle.iter().take(6) {
            problem = problem.at(desk.place(Kind::Point, point), "");
        }
        desk.push(
            problem
                .help("give one of them coordinates, or build it from a point outside the circle"),
        );
    }
}

/// One construction at work.
struct Construction<'a, 's> {
    desk: &'a mut Desk<'s>,
    definition: &'a Definition,
    point: PointId,
    spots: &'a [Option<Spot>],
    planes: &'a [Option<Plane>],
}

impl Construction<'_, '_> {
    fn name(&self, point: PointId) -> String {
        self.desk.name(Kind::Point, point)
    }

    fn show(&self, mm: f64) -> String {
        self.desk.show(mm)
    }

    fn fail(&mut self, message: &str, help: impl Into<String>) -> Option<Spot> {
        let message = format!("{}: {message}", self.name(self.point));
        self.desk.push(
            Diagnostic::error("construction", message)
                .at(self.definition.place, "")
                .help(help),
        );
        None
    }

    fn spot(mut self) -> Option<Spot> {
        let needs = self.definition.form.needs();
        let found: Option<Vec<Spot>> = needs
            .iter()
            .map(|&p| self.spots.get(p).copied().flatten())
            .collect();
        let found = found?;
        if let Form::Project(point) = self.definition.form {
            return self.project(point);
        }
        let plane = found
            .first()
            .map_or(self.definition.plane.unwrap_or(0), |s| s.plane);
        if let Some(odd) = found.iter().position(|s| s.plane != plane) {
            let (first, other) = (needs.first().copied()?, needs.get(odd).copied()?);
            let other_plane = found.get(odd)?.plane;
            let message = format!(
                "{} lies in plane {}, {} in plane {}",
                self.name(first),
                self.desk.name(Kind::Plane, plane),
                self.name(other),
                self.desk.name(Kind::Plane, other_plane)
            );
            let help = format!(
                "build it from points of one plane; `{{ project = \"{}\", plane = \"{}\" }}` gives a point its twin in another",
                self.name(other),
                self.desk.name(Kind::Plane, plane)
            );
            return self.fail(&message, help);
        }
        let at = self.place(&found)?;
        let at = [
            at[0] + self.definition.shift[0],
            at[1] + self.definition.shift[1],
        ];
        let station = self
            .definition
            .station
            .or(found.first().map(|s| s.station))
            .unwrap_or(0.0);
        self.within(Spot { plane, at, station })
    }

    /// Refuses a point that lies too far away to be meant.
    fn within(mut self, spot: Spot) -> Option<Spot> {
        let far = spot.at[0]
            .abs()
            .max(spot.at[1].abs())
            .max(spot.station.abs());
        // Where lines cross may be far away; what is written so is a slip of the pen.
        let most = match self.definition.form {
            Form::At(_) => FARTHEST,
            _ => LONGEST,
        };
        if far <= most {
            return Some(spot);
        }
        let limit = show(most, quantity::Unit::Metre);
        self.fail(
            &format!("it comes to lie more than {limit} away"),
            "look for lines that are nearly parallel, or a unit that is too large",
        )
    }

    fn project(self, point: PointId) -> Option<Spot> {
        let from = self.spots.get(point).copied().flatten()?;
        let plane = self.definition.plane?;
        let old = self.planes.get(from.plane)?.as_ref()?;
        let new = self.planes.get(plane)?.as_ref()?;
        let [x, y, station] = in_plane(new, in_space(old, from.at[0], from.at[1], from.station));
        let station = self.definition.station.unwrap_or(station);
        self.within(Spot {
            plane,
            at: [x, y],
            station,
        })
    }

    /// The place in the plane.
    fn place(&mut self, found: &[Spot]) -> Option<V2> {
        let at = |n: usize| found.get(n).map(|s| s.at);
        match self.definition.form {
            Form::At(at) => Some(at),
            Form::By { by, .. } => Some(along(at(0)?, 1.0, by)),
            Form::Reach { reach, angle, .. } => Some(along(at(0)?, reach, unit(angle))),
            Form::Circle { radius, angle, .. } => Some(along(at(0)?, radius, unit(angle))),
            Form::OnShare { share, .. } => Some(along(at(0)?, share, sub(at(1)?, at(0)?))),
            Form::OnReach { ends, reach } => {
                let direction = self.direction(ends, at(0)?, at(1)?)?;
                Some(along(at(0)?, reach, direction))
            }
            Form::Mirror { across, .. } => {
                let (p, a) = (at(0)?, at(1)?);
                let d = self.direction(across, a, at(2)?)?;
                let off = cross(d, sub(p, a));
                Some(along(p, -2.0 * off, [-d[1], d[0]]))
            }
            Form::Foot { on, .. } => {
                let (p, a) = (at(0)?, at(1)?);
                let d = self.direction(on, a, at(2)?)?;
                Some(along(a, dot(d, sub(p, a)), d))
            }
            Form::Meet { first, second } => {
                let d = self.direction(first, at(0)?, at(1)?)?;
                let e = self.direction(second, at(2)?, at(3)?)?;
                let sine = cross(d, e);
                if sine.abs() < NEAR {
                    let lines = [first, second].map(|l| names(self.desk, Kind::Point, &l));
                    let [one, other] = lines;
                    self.fail(
&format!("the lines through {one} and through {other} run side by side and do not cross"),
                        "turn one of the lines, or place the point another way",
                    );
                    return None;
                }
                let s = cross(sub(at(2)?, at(0)?), e) / sine;
                Some(along(at(0)?, s, d))
            }
            Form::Swing {
                centres,
                radii,
                take,
            } => self.swing(centres, [at(0)?, at(1)?], radii, take),
            Form::SwingOn {
                centre,
                radius,
                on,
                take,
            } => self.swing_on(centre, at(0)?, radius, on, [at(1)?, at(2)?], take),
            Form::Project(_) => None,
        }
    }

    /// Direction of a line; two points at one place give none.
    fn direction(&mut self, ends: [PointId; 2], a: V2, b: V2) -> Option<V2> {
        let d = sub(b, a);
        let l = length(d);
        let size = length(a).max(length(b)).max(1.0);
        if l > NEAR * size {
            return Some([d[0] / l, d[1] / l]);
        }
        let both = names(self.desk, Kind::Point, &ends);
        self.fail(
            &format!("{both} lie at the same place and give no line"),
            "name two points that lie apart",
        );
        None
    }

    fn swing(
        &mut self,
        centres: [PointId; 2],
        [a, b]: [V2; 2],
        [r, s]: [f64; 2],
        take: Pick,
    ) -> Option<V2> {
        let d = sub(b, a);
        let distance = length(d);
        let size = distance.max(r).max(s);
        let [one, other] = centres.map(|c| self.name(c));
        if distance <= NEAR * size {
            self.fail(
                &format!("{one} and {other} lie at the same place; arcs round them never cross"),
                "name two centres that lie apart",
            );
            return None;
        }
        let short = distance - (r + s);
        let inside = (r - s).abs() - distance;
        if short > NEAR * size {
            let (gap, r, s, distance) = (
                self.show(short),
                self.show(r),
                self.show(s),
                self.show(distance),
            );
            self.fail(
&format!("the arcs round {one} ({r}) and {other} ({s}) do not meet: they end {gap} short of each other"),
                format!("the centres stand {distance} apart: lengthen the radii by {gap} together, or bring the centres nearer"),
            );
            return None;
        }
        if inside > NEAR * size {
            let (small, large) = if r < s {
                (&one, &other)
            } else {
                (&other, &one)
            };
            let message = format!(
                "the arcs round {one} ({}) and {other} ({}) do not meet: the one round {small} stays {} inside the one round {large}",
                self.show(r),
                self.show(s),
                self.show(inside)
            );
            let help = format!(
                "the centres stand only {} apart: lengthen the arc round {small} or shorten the one round {large} by {}, or move the centres apart",
                self.show(distance),
                self.show(inside)
            );
            self.fail(&message, help);
            return None;
        }
        // Half the difference of squares as a product, so that nothing is lost when the radii are nearly equal.
        let foot = distance / 2.0 + (r - s) * (r + s) / (2.0 * distance);
        let height = ((r - foot) * (r + foot)).max(0.0).sqrt();
        let u = [d[0] / distance, d[1] / distance];
        let left = [-u[1], u[0]];
        let crossings = [
            along(along(a, foot, u), height, left),
            along(along(a, foot, u), -height, left),
        ];
        if height <= NEAR * size {
            return crossings.first().copied();
        }
        self.pick(crossings, take, size)
    }

    /// Crossing of an arc with a line through two points, which may lie beyond them.
    fn swing_on(
        &mut self,
        centre: PointId,
        c: V2,
        radius: f64,
        ends: [PointId; 2],
        [a, b]: [V2; 2],
        take: Pick,
    ) -> Option<V2> {
        let d = self.direction(ends, a, b)?;
        let from = sub(c, a);
        let (foot, off) = (from[0] * d[0] + from[1] * d[1], cross(d, from).abs());
        let size = radius.max(off);
        if off - radius > NEAR * size {
            let (line, arc) = (names(self.desk, Kind::Point, &ends), self.name(centre));
            let (r, off, gap) = (self.show(radius), self.show(off), self.show(off - radius));
            self.fail(
                &format!("the arc round {arc} ({r}) does not reach the line through {line}, which passes {off} away: it is {gap} short"),
                format!("lengthen the radius by {gap} or more, or bring the line nearer"),
            );
            return None;
        }
        let half = ((radius - off) * (radius + off)).max(0.0).sqrt();
        let crossings = [along(a, foot + half, d), along(a, foot - half, d)];
        if half <= NEAR * size {
            return crossings.first().copied();
        }
        self.pick(crossings, take, size)
    }

    /// The one of two crossings that is meant.
    fn pick(&mut self, [p, q]: [V2; 2], take: Pick, size: f64) -> Option<V2> {
        let (axis, sign, instead) = match take {
            Pick::Upper => (1, 1.0, "left or right"),
            Pick::Lower => (1, -1.0, "left or right"),
            Pick::Right => (0, 1.0, "upper or lower"),
            Pick::Left => (0, -1.0, "upper or lower"),
        };
        let more = sign * (p[axis] - q[axis]);
        if more.abs() <= NEAR * size {
            let how = if axis == 1 {
                "side by side at one height"
            } else {
                "one above the other"
            };
            self.fail(
                &format!("the two crossings lie {how}, so this does not choose one"),
                format!("take {instead}"),
            );
            return None;
        }
        Some(if more > 0.0 { p } else { q })
    }
}
