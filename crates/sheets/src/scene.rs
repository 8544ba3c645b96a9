//! What there is to draw: which points are joints of which kind, and where everything stands.

use machine::model::{FRAME, Machine, Moves, PartId, PartKind, PointId};
use studies::Standing;

use crate::geometry::P;

/// What a point is to a draughtsman.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Joint {
    /// Nothing carries it, no rod ends on it: a construction point, not drawn.
    None,
    /// Centre of a shaft, in its bearing on the frame.
    ShaftCentre,
    /// A pin on the frame.
    Pivot,
    /// A pin between moving parts or rods.
    Pin,
    /// A point of the frame to which nothing is pinned.
    Fixed,
    /// A point of one part to which nothing is pinned.
    End,
}

/// What meets in a point.
#[derive(Clone, Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fact of its own about a point"
)]
pub(crate) struct Role {
    pub(crate) frame: bool,
    /// Moving parts that carry it.
    pub(crate) parts: Vec<PartId>,
    pub(crate) rods: usize,
    /// It is the pin of a slot.
    pub(crate) roller: bool,
    /// It is an end or the centre of a slot.
    pub(crate) slot: bool,
    pub(crate) face: bool,
    pub(crate) shaft_centre: bool,
}

impl Role {
    pub(crate) fn joint(&self) -> Joint {
        let moving = self.parts.len() + self.rods;
        if self.shaft_centre {
            Joint::ShaftCentre
        } else if self.frame && moving > 0 {
            Joint::Pivot
        } else if moving > 1 || (self.roller && moving > 0) {
            Joint::Pin
        } else if self.frame {
            Joint::Fixed
        } else if moving == 1 {
            Joint::End
        } else {
            Joint::None
        }
    }
}

/// Places farther from the origin than this, mm, count as none: ten kilometres are no machine, and beyond them numbers run over.
const FARTHEST: f64 = 1e7;

/// Whether both numbers tell a place on a drawing.
pub(crate) fn is_place(p: [f64; 2]) -> bool {
    p.iter().all(|x| x.abs() <= FARTHEST)
}

/// Where a point stands in its own plane; `None` when it has no place to be drawn at.
pub(crate) fn place(standing: &Standing, point: PointId) -> Option<[f64; 2]> {
    standing
        .points
        .get(point)
        .map(|p| [p[0], p[1]])
        .filter(|&p| is_place(p))
}

/// How far a part is turned from where it is drawn, rad.
pub(crate) fn turn(standing: &Standing, part: PartId) -> f64 {
    standing
        .turns
        .get(part)
        .copied()
        .filter(|t| t.is_finite())
        .unwrap_or(0.0)
}

/// A machine and where it stands, ready to be drawn.
pub(crate) struct Scene<'a> {
    pub(crate) machine: &'a Machine,
    pub(crate) standing: &'a Standing,
    pub(crate) ghosts: Vec<&'a Standing>,
    pub(crate) roles: Vec<Role>,
}

impl<'a> Scene<'a> {
    pub(crate) fn new(
        machine: &'a Machine,
        standing: &'a Standing,
        ghosts: Vec<&'a Standing>,
    ) -> Self {
        let mut roles = vec![Role::default(); machine.points.len()];
        let mut role = |p: PointId, change: &dyn Fn(&mut Role)| {
            if let Some(role) = roles.get_mut(p) {
                change(role);
            }
        };
        for (id, part) in machine.parts.iter().enumerate() {
            for &p in &part.carries {
                role(p, &|r| {
                    if id == FRAME {
                        r.frame = true;
                    } else if !r.parts.contains(&id) {
                        r.parts.push(id);
                    }
                });
            }
            if part.kind == PartKind::Shaft
                && let Some(&centre) = part.carries.first()
            {
                role(centre, &|r| r.shaft_centre = true);
            }
        }
        for p in machine.rods.iter().flat_map(|r| r.joins) {
            role(p, &|r| r.rods += 1);
        }
        for slot in &machine.slots {
            role(slot.pin, &|r| r.roller = true);
            for p in slot.ends.into_iter().chain(slot.centre) {
                role(p, &|r| r.slot = true);
            }
        }
        for face in &machine.faces {
            role(face.at, &|r| r.face = true);
        }
        Self {
            machine,
            standing,
            ghosts,
            roles,
        }
    }

    /// The plane of a point.
    pub(crate) fn plane_of(&self, point: PointId) -> Option<usize> {
        self.machine.points.get(point).map(|p| p.plane)
    }

    pub(crate) fn point_name(&self, point: PointId) -> &'a str {
        self.machine
            .points
            .get(point)
            .map_or("", |p| p.name.as_str())
    }

    pub(crate) fn joint(&self, point: PointId) -> Joint {
        self.roles.get(point).map_or(Joint::None, Role::joint)
    }

    /// The point about which a part turns on the frame: a shaft's centre (also for an arm clamped on it) or the first point that
    /// the frame carries too.
    pub(crate) fn hub(&self, part: PartId) -> Option<PointId> {
        let p = self.machine.parts.get(part)?;
        if let Some(shaft) = p.clamped_to {
            return self.machine.parts.get(shaft)?.carries.first().copied();
        }
        if p.kind == PartKind::Shaft {
            return p.carries.first().copied();
        }
        p.carries
            .iter()
            .copied()
            .find(|&c| self.roles.get(c).is_some_and(|r| r.frame))
    }

    /// The point about which a part turns on another that carries it.
    pub(crate) fn hub_on(&self, part: PartId, carrier: PartId) -> Option<PointId> {
        if carrier == FRAME {
            return self.hub(part);
        }
        let carried = &self.machine.parts.get(carrier)?.carries;
        self.machine
            .parts
            .get(part)?
            .carries
            .iter()
            .copied()
            .find(|c| carried.contains(c))
    }

    /// The points between which a part is drawn; for a clamped arm with the centre of its shaft.
    pub(crate) fn body(&self, part: PartId) -> Vec<PointId> {
        let Some(p) = self.machine.parts.get(part) else {
            return Vec::new();
        };
        let hub = if p.clamped_to.is_some() {
            self.hub(part)
        } else {
            None
        };
        let mut points: Vec<PointId> = hub.into_iter().collect();
        for &c in &p.carries {
            if !points.contains(&c) {
                points.push(c);
            }
        }
        points
    }

    /// Direction in its plane of a part in a pose: from its hub (else its first point) to its farthest point.
    pub(crate) fn heading(&self, standing: &Standing, part: PartId) -> Option<f64> {
        let body = self.body(part);
        let hub = self.hub(part).or_else(|| body.first().copied())?;
        let from = place(standing, hub)?;
        let reach = |p: [f64; 2]| (p[0] - from[0]).hypot(p[1] - from[1]);
        let mut best: Option<([f64; 2], f64)> = None;
        for p in body {
            if let Some(at) = place(standing, p)
                && reach(at) > best.map_or(1e-9, |b| b.1 * (1.0 + 1e-9))
            {
                best = Some((at, reach(at)));
            }
        }
        Some(match best {
            Some((to, _)) => (to[1] - from[1]).atan2(to[0] - from[0]),
            None => turn(standing, part),
        })
    }

    /// A point of space in the coordinates of a plane.
    pub(crate) fn seen_in(&self, plane: usize, space: [f64; 3]) -> Option<[f64; 2]> {
        let p = self.machine.planes.get(plane)?;
        let d: [f64; 3] = std::array::from_fn(|i| space[i] - p.origin[i]);
        Some([dot3(d, p.right), dot3(d, p.up)]).filter(|&q| is_place(q))
    }

    /// Where a point stands in space.
    pub(crate) fn in_space(&self, standing: &Standing, point: PointId) -> Option<[f64; 3]> {
        let plane = self.machine.planes.get(self.plane_of(point)?)?;
        let [x, y, z] = *standing.points.get(point)?;
        let n = cross3(plane.right, plane.up);
        Some(std::array::from_fn(|i| {
            plane.origin[i] + x * plane.right[i] + y * plane.up[i] + z * n[i]
        }))
    }

    /// Whether a rod joins different planes or different stations: its ends are then ball joints.
    pub(crate) fn is_spatial(&self, rod: usize) -> bool {
        let Some(rod) = self.machine.rods.get(rod) else {
            return false;
        };
        let [a, b] = rod.joins.map(|p| self.machine.points.get(p));
        let (Some(a), Some(b)) = (a, b) else {
            return false;
        };
        a.plane != b.plane || (a.station - b.station).abs() > 1e-9
    }

    /// Rods as they are seen, each with the plane of the view: those with an end in it.
    pub(crate) fn seen_rods(&self) -> Vec<(usize, usize)> {
        let rods = &self.machine.rods;
        self.planes_in_use()
            .into_iter()
            .flat_map(|plane| (0..rods.len()).map(move |rod| (rod, plane)))
            .filter(|&(rod, plane)| {
                rods.get(rod)
                    .is_some_and(|r| r.joins.iter().any(|&p| self.plane_of(p) == Some(plane)))
            })
            .collect()
    }

    /// Planes in which anything is drawn, in file order.
    pub(crate) fn planes_in_use(&self) -> Vec<usize> {
        (0..self.machine.planes.len())
            .filter(|&plane| {
                (0..self.machine.points.len())
                    .any(|p| self.plane_of(p) == Some(plane) && self.joint(p) != Joint::None)
            })
            .collect()
    }

    /// The plane a moving part lies in.
    pub(crate) fn part_plane(&self, part: PartId) -> Option<usize> {
        self.machine.parts.get(part).map(|p| p.plane)
    }

    /// Parts that move, in file order.
    pub(crate) fn moving_parts(&self, plane: usize) -> impl Iterator<Item = PartId> + '_ {
        (0..self.machine.parts.len())
            .filter(move |&p| p != FRAME && self.part_plane(p) == Some(plane))
    }

    /// The part that a drive moves.
    pub(crate) fn driven(&self, moves: Moves) -> Option<PartId> {
        match moves {
            Moves::Turns(part) => Some(part),
            Moves::Slides(slide) => self.machine.slides.get(slide).map(|s| s.part),
        }
    }
}

pub(crate) fn dot3(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(crate) fn cross3(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// One view: a plane seen square on, at a scale. The plane's origin is the paper's origin.
#[derive(Clone, Copy)]
pub(crate) struct Frame {
    pub(crate) plane: usize,
    /// Paper mm for one mm of the machine.
    pub(crate) k: f64,
}

impl Frame {
    pub(crate) fn paper(self, p: [f64; 2]) -> P {
        [p[0] * self.k, -p[1] * self.k]
    }
}
