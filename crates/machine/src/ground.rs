//! What everything else stands on: places of points, parts and which part carries what.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::construct::Spot;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Value};
use crate::model::{FRAME, Part, PartId, PartKind, Plane, PointId};
use crate::vector::{V3, in_space, length, length3, sub, sub3};
use crate::words::clip;

/// Points with their places, and parts.
pub(crate) struct Ground {
    pub(crate) planes: Vec<Option<Plane>>,
    pub(crate) spots: Vec<Option<Spot>>,
    pub(crate) parts: Vec<Part>,
    /// The parts that carry each point.
    pub(crate) carriers: Vec<Vec<PartId>>,
    /// The part each one is clamped to in the end, or itself.
    roots: Vec<PartId>,
    /// Every part was read without fault, so that what nobody carries is carried by nobody.
    pub(crate) whole: bool,
    /// Size of the machine, mm: the diagonal of the box round all points, at least 1.
    pub(crate) size: f64,
}

/// Places further apart than this share of the machine's size are two places.
pub(crate) const CLOSE: f64 = 1e-6;

impl Ground {
    pub(crate) fn new(
        planes: Vec<Option<Plane>>,
        spots: Vec<Option<Spot>>,
        parts: Vec<Part>,
        whole: bool,
    ) -> Self {
        let mut carriers = vec![Vec::new(); spots.len()];
        for (id, part) in parts.iter().enumerate() {
            for &point in &part.carries {
                if let Some(list) = carriers.get_mut(point) {
                    list.push(id);
                }
            }
        }
        let roots = roots(&parts);
        let mut ground = Self {
            planes,
            spots,
            parts,
            carriers,
            roots,
            whole,
            size: 1.0,
        };
        let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
        for point in (0..ground.spots.len()).filter_map(|p| ground.space(p)) {
            low = std::array::from_fn(|i| low[i].min(point[i]));
            high = std::array::from_fn(|i| high[i].max(point[i]));
        }
        let diagonal = length3(sub3(high, low));
        if diagonal.is_finite() {
            ground.size = diagonal.max(1.0);
        }
        ground
    }

    pub(crate) fn spot(&self, point: PointId) -> Option<Spot> {
        self.spots.get(point).copied().flatten()
    }

    /// The place of a point in space.
    pub(crate) fn space(&self, point: PointId) -> Option<V3> {
        let spot = self.spot(point)?;
        let plane = self.planes.get(spot.plane)?.as_ref()?;
        Some(in_space(plane, spot.at[0], spot.at[1], spot.station))
    }

    /// Distance of two points in their one plane, stations left out.
    pub(crate) fn flat_distance(&self, a: PointId, b: PointId) -> Option<f64> {
        Some(length(sub(self.spot(a)?.at, self.spot(b)?.at)))
    }

    pub(crate) fn part(&self, part: PartId) -> Option<&Part> {
        self.parts.get(part)
    }

    pub(crate) fn carriers(&self, point: PointId) -> &[PartId] {
        self.carriers.get(point).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn carries(&self, part: PartId, point: PointId) -> bool {
        // In the order of the parts.
        self.carriers(point).binary_search(&part).is_ok()
    }

    /// The part itself, or what it is clamped to in the end.
    pub(crate) fn turns_with(&self, part: PartId) -> PartId {
        self.roots.get(part).copied().unwrap_or(part)
    }

    /// Whether a part (or what it is clamped to) is pinned to another.
    pub(crate) fn is_pinned(&self, part: PartId, to: PartId) -> bool {
        let part = self.turns_with(part);
        let on_it = |p: &PointId| self.carries(to, *p);
        self.part(part).is_some_and(|p| p.carries.iter().any(on_it))
    }

    /// Plane of a part, unless it is the frame.
    pub(crate) fn plane_of(&self, part: PartId) -> Option<usize> {
        (part != FRAME)
            .then(|| self.part(part).map(|p| p.plane))
            .flatten()
    }

    /// `part lever`, `shaft cross` or `the frame`.
    pub(crate) fn what(&self, part: PartId) -> String {
        match self.part(part) {
            Some(p) if p.kind == PartKind::Part => format!("part {}", clip(&p.name)),
            Some(p) if p.kind == PartKind::Shaft => format!("shaft {}", clip(&p.name)),
            _ => "the frame".to_owned(),
        }
    }

    /// Two parts of different planes that have to lie in one; the frame lies in all.
    pub(crate) fn planes_differ(&self, a: PartId, b: PartId) -> Option<(usize, usize)> {
        let (a, b) = (self.plane_of(a)?, self.plane_of(b)?);
        (a != b).then_some((a, b))
    }

    /// The part a key names, or the only one that carries the point.
    pub(crate) fn carrier(
        &self,
        desk: &mut Desk,
        fields: &Fields,
        key: &'static str,
        point: PointId,
        at: &Field,
    ) -> Option<PartId> {
        let name = desk.name(Kind::Point, point);
        if let Some(field) = fields.get(key) {
            let part = field.name(desk, Kind::Part)?;
            if self.whole && !self.carries(part, point) {
                let what = self.what(part);
                desk.push(
                    Diagnostic::error("not-carried", format!("{what} does not carry {name}"))
                        .at(field.place(), "")
                        .help(format!("add \"{name}\" to what {what} carries, or name the part that carries it")),
                );
                return None;
            }
            return Some(part);
        }
        match self.carriers(point) {
            [only] => Some(*only),
            [] => {
                self.nobody_carries(desk, point, at);
                None
            }
            several => {
                let parts: Vec<String> = several
                    .iter()
                    .map(|&p| format!("`{key} = \"{}\"`", desk.name(Kind::Part, p)))
                    .collect();
                desk.push(
                    Diagnostic::error(
                        "which-part",
                        format!(
                            "{name} is carried by {} parts; {} has to say which",
                            parts.len(),
                            fields.what
                        ),
                    )
                    .at(at.place(), "")
                    .help(format!("write {}", crate::words::list(&parts, "or"))),
                );
                None
            }
        }
    }

    /// Reports a point that no part carries.
    pub(crate) fn nobody_carries(&self, desk: &mut Desk, point: PointId, at: &Field) {
        if !self.whole {
            return;
        }
        let name = desk.name(Kind::Point, point);
        desk.push(
            Diagnostic::error("not-carried", format!("no part carries {name}"))
                .at(at.place(), "")
                .help(format!(
                    "add \"{name}\" to the `carries` of a part, or of `[frame]` if it stands still"
                )),
        );
    }
}

/// The end of each chain of clamped arms. Circles were cut where they were reported.
fn roots(parts: &[Part]) -> Vec<PartId> {
    let mut roots: Vec<Option<PartId>> = vec![None; parts.len()];
    for start in 0..parts.len() {
        let mut walk = Vec::new();
        let mut here = start;
        let end = loop {
            if let Some(known) = roots.get(here).copied().flatten() {
                break known;
            }
            walk.push(here);
            match parts.get(here).and_then(|p| p.clamped_to) {
                Some(next) if walk.len() <= parts.len() => here = next,
                _ => break here,
            }
        };
        for part in walk {
            if let Some(root) = roots.get_mut(part) {
                *root = Some(end);
            }
        }
    }
    roots
        .into_iter()
        .enumerate()
        .map(|(part, root)| root.unwrap_or(part))
        .collect()
}

/// Words for directions, with their angles.
const DIRECTIONS: [(&str, f64); 4] = [
    ("right", 0.0),
    ("up", FRAC_PI_2),
    ("left", PI),
    ("down", -FRAC_PI_2),
];

/// A direction as drawn, rad: a word or an angle.
pub(crate) fn direction(desk: &mut Desk, field: &Field) -> Option<f64> {
    if let Value::Text(text) = field.node.value {
        if let Some(&(_, angle)) = DIRECTIONS.iter().find(|(word, _)| *word == text) {
            return Some(angle);
        }
        if !text.chars().any(|c| c.is_ascii_digit()) {
            let words = DIRECTIONS.map(|(word, _)| word);
            let label = desk
                .suggest(text, &words)
                .map_or_else(String::new, |m| format!("did you mean \"{m}\"?"));
            desk.push(
                Diagnostic::error(
                    "unknown-word",
                    format!("\"{}\" is no direction", clip(text)),
                )
                .at(field.place(), label)
                .help("write up, down, right, left or an angle like \"30 deg\""),
            );
            return None;
        }
    }
    field.angle(desk)
}

/// A direction as drawn, rad: a word, an angle, or from one point towards another in this plane.
pub(crate) fn direction_or_line(
    desk: &mut Desk,
    ground: &Ground,
    field: &Field,
    plane: Option<usize>,
) -> Option<f64> {
    if !matches!(field.node.value, Value::List(_)) {
        return direction(desk, field);
    }
    let ends = field.names(desk, Kind::Point)?;
    let [a, b] = ends;
    let (from, to) = (ground.spot(a)?, ground.spot(b)?);
    let names = ends.map(|p| desk.name(Kind::Point, p));
    for (spot, name) in [(from, &names[0]), (to, &names[1])] {
        if let Some(plane) = plane
            && spot.plane != plane
        {
            let (here, there) = (
                desk.name(Kind::Plane, spot.plane),
                desk.name(Kind::Plane, plane),
            );
            field.bad(
                desk,
                format!("{name} lies in plane {here}, the part moves in plane {there}"),
                format!(
                    "name two points of plane {there}, or write up, down, right, left or an angle"
                ),
            );
            return None;
        }
    }
    let d = sub(to.at, from.at);
    if length(d) <= CLOSE * ground.size {
        field.bad(
            desk,
            format!(
                "{} and {} lie at the same place and give no direction",
                names[0], names[1]
            ),
            "name two points that lie apart",
        );
        return None;
    }
    Some(d[1].atan2(d[0]))
}
