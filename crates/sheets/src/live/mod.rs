//! The picture that moves: a machine drawn once, in groups of what moves together, and where those groups stand in a pose.
//!
//! A [`Picture`] holds the SVG of all planes, laid out as on a drawing. [`Places`] holds the numbers of one pose. A pose is shown by
//! moving groups alone:
//!
//! | attribute of a group | moves by |
//! | --- | --- |
//! | `data-part="n"` | `Places::parts[n]`: turned about the plane's origin, then shifted |
//! | `data-point="n"` | `Places::points[n]`: stands there |
//! | `data-rod="n"` | `Places::rods[n]`: its line runs between the two places, its two inner groups stand at them, each turned to the other |
//! | `data-spring="n"` | `Places::springs[n]`: stands at the first place, turned to the second, as long as they are apart |
//! | `data-by-part="n" data-at="x y"` | goes upright with that place of the part as drawn |
//! | `data-by-point="n"`, `data-by-rod="n"` | goes upright with the point, with the middle of the rod |
//!
//! Places are mm of the machine, right and up in their own plane; a group of a view stands about that plane's origin, where a place
//! (x, y) falls on `scale·x`, `−scale·y`.

mod write;

use machine::Machine;
use machine::model::{PartKind, PointId};
use machine::work::SpringKind;

use serde::Serialize;
use studies::pointing::{Held, Moved};
use studies::{Standing, Trace};

use crate::forces::Force;
use crate::geometry::{P, Rect, add};
use crate::layout::{self, GAP, Stance};
use crate::pose::{Names, Pose, Projection};
use crate::scene::{Frame, Joint, Scene, place};
use crate::sheet::{Carried, Group, Lettering, Pen, Shape};
use crate::view::{self, View};
use crate::{body, drawing};
use write::Write;

/// Room about everything, mm of paper.
const MARGIN: f64 = 6.0;
/// Names keep so far from the edge of a picture that keeps its size, mm of paper.
const EDGE: f64 = 1.0;
/// Room for symbols about the bare lines, mm of paper.
const SYMBOLS: f64 = 7.0;
/// Room for names takes no more than the rest of this share of the scale that the lines alone would have.
const LEAST_SHARE: f64 = 0.5;
/// A picture that is larger than its room by no more than this is shown a little smaller instead of being scrolled.
const SQUEEZED: f64 = 1.15;
/// Scales beyond these are not drawn.
const SCALES: [f64; 2] = [1e-6, 1e4];
/// Length of the arrow of the greatest force and of the least one, mm of paper.
const LONGEST: f64 = 26.0;
const SHORTEST: f64 = 3.5;

/// How the picture is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The picture fills this width and height, mm of paper.
    pub room: [f64; 2],
    /// Mm of paper for one mm of the machine; the largest that fits the room when not given.
    pub scale: Option<f64>,
    /// Views one below the other, for a narrow screen; else beside each other as on a drawing.
    pub stacked: bool,
    /// Which names are written.
    pub names: Names,
    /// Planes whose origins stay where they are, mm from the upper left corner: the picture keeps its size then, which is `room`, and names
    /// keep within it. Without effect when a plane that is shown is missing.
    pub kept: Vec<(usize, [f64; 2])>,
}

impl Default for Wanted {
    fn default() -> Self {
        Self {
            room: [260.0, 160.0],
            scale: None,
            stacked: false,
            names: Names::All,
            kept: Vec::new(),
        }
    }
}

/// A machine drawn to be moved.
#[derive(Clone, Debug, Serialize)]
pub struct Picture {
    /// Mm of paper for one mm of the machine.
    pub scale: f64,
    /// Width and height, mm of paper.
    pub size: [f64; 2],
    /// The whole picture: an `svg` element without a style sheet, its classes those of a drawing.
    pub svg: String,
    /// The views.
    pub views: Vec<LiveView>,
    /// Points of the machine, in file order.
    pub points: Vec<LivePoint>,
    /// Parts of the machine, the frame first.
    pub parts: Vec<LivePart>,
    /// Rods as they are seen; one that crosses planes is seen twice.
    pub rods: Vec<LiveRod>,
    /// Where everything stands in the picture as it is.
    pub places: Places,
}

/// A view of the picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LiveView {
    /// Index of its plane.
    pub plane: usize,
    /// Name of its plane.
    pub name: String,
    /// Where the plane's origin falls, mm from the upper left corner.
    pub origin: [f64; 2],
    /// Left, top, right and bottom of what belongs to it, mm from the upper left corner.
    pub covers: [f64; 4],
}

/// A point of the picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LivePoint {
    /// Its name.
    pub name: String,
    /// Index of its plane.
    pub plane: usize,
    /// As drawn, right and up, mm.
    pub drawn: [f64; 2],
    /// The frame carries it.
    pub fixed: bool,
}

/// A part of the picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LivePart {
    /// Its name.
    pub name: String,
    /// Index of its plane.
    pub plane: usize,
    /// Drive whose own grip it is, by index.
    pub grip: Option<usize>,
    /// Names of the points it carries.
    pub carries: Vec<String>,
    /// Name of the slide it is on.
    pub slide: Option<String>,
    /// It is a shaft, which is headed so in the file.
    pub shaft: bool,
}

/// A rod of the picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LiveRod {
    /// Its name.
    pub name: String,
    /// Index of the rod in the machine.
    pub rod: usize,
    /// Index of the plane it is seen in.
    pub plane: usize,
    /// Names of the points it joins.
    pub joins: [String; 2],
}

/// Where everything stands in a pose; lengths in mm of the machine.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Places {
    /// One a part: cosine and sine of its turn from the drawing, and its shift right and up.
    pub parts: Vec<[f64; 4]>,
    /// One a point of the machine; none where it has no place.
    pub points: Vec<Option<[f64; 2]>>,
    /// One a rod seen: its two ends.
    pub rods: Vec<Option<[[f64; 2]; 2]>>,
    /// One a spring between two points of one plane.
    pub springs: Vec<Option<[[f64; 2]; 2]>>,
}

/// A force as an arrow.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Arrow {
    /// The joint.
    pub joint: String,
    /// The part it acts on.
    pub on: String,
    /// Index of its plane.
    pub plane: usize,
    /// Where it acts, right and up, mm of the machine.
    pub at: [f64; 2],
    /// Direction counter-clockwise from right, degrees.
    pub angle: f64,
    /// Length, mm of paper; the greatest is longest.
    pub long: f64,
    /// What is written at it.
    pub words: String,
}

/// Where everything stands in a pose.
pub fn places(machine: &Machine, held: &Held) -> Places {
    placed(
        &Scene::new(machine, &held.standing, Vec::new()),
        &held.moved,
    )
}

fn placed(scene: &Scene, moved: &[Moved]) -> Places {
    let standing = scene.standing;
    let neat = |x: f64| (x * 1e6).round() / 1e6;
    let both = |p: [f64; 2]| p.map(neat);
    let parts = moved.iter().map(|m| {
        let (sin, cos) = m.turn.sin_cos();
        [cos, sin, m.shift[0], m.shift[1]].map(|x| (x * 1e9).round() / 1e9)
    });
    let rods = scene.seen_rods().into_iter().map(|(rod, plane)| {
        let frame = Frame { plane, k: 1.0 };
        let [a, b] = body::rod(scene, frame, standing, rod)?.ends;
        Some([both([a[0], -a[1]]), both([b[0], -b[1]])])
    });
    let springs = springs(scene)
        .into_iter()
        .map(|(_, [a, b])| Some([both(place(standing, a)?), both(place(standing, b)?)]));
    Places {
        parts: parts.collect(),
        points: (0..scene.roles.len())
            .map(|p| place(standing, p).map(both))
            .collect(),
        rods: rods.collect(),
        springs: springs.collect(),
    }
}

/// Springs between two points of one plane, with their names.
fn springs<'s>(scene: &Scene<'s>) -> Vec<(&'s str, [PointId; 2])> {
    let all = scene.machine.work.springs.iter();
    let between = all.filter_map(|s| match s.kind {
        SpringKind::Between { points, .. } => Some((s.name.as_str(), points)),
        SpringKind::Torsion { .. } => None,
    });
    between
        .filter(|(_, [a, b])| scene.plane_of(*a) == scene.plane_of(*b))
        .collect()
}

/// Forces as arrows.
pub fn arrows(forces: &[Force]) -> Vec<Arrow> {
    let greatest = forces.iter().fold(0.0, |most: f64, f| most.max(f.size()));
    let drawn = forces.iter().filter(|f| f.is_drawn(greatest));
    drawn
        .map(|f| Arrow {
            joint: f.joint.clone(),
            on: f.on.clone(),
            plane: f.plane,
            at: f.at,
            angle: f.vector[1].atan2(f.vector[0]).to_degrees(),
            long: (LONGEST * f.size() / greatest).max(SHORTEST),
            words: f.words.clone(),
        })
        .collect()
}

/// Draws a machine to be moved, as it is held. `swept` are other poses that it must have room for.
pub fn picture(
    machine: &Machine,
    held: &Held,
    swept: &[Standing],
    traces: &[Trace],
    wanted: &Wanted,
) -> Picture {
    let scene = Scene::new(machine, &held.standing, swept.iter().collect());
    let places = placed(&scene, &held.moved);
    let mut planes = drawing::planes(&scene, None);
    let main = planes.first().map_or(0, |(plane, _)| *plane);
    for plane in 0..machine.planes.len().max(1) {
        let begun = idle(&scene, plane).next().is_some() || (planes.is_empty() && plane == 0);
        if begun && !planes.iter().any(|(known, _)| *known == plane) {
            planes.push((plane, layout::stance(&scene, main, plane)));
        }
    }
    let bare: Vec<Rect> = planes
        .iter()
        .map(|&(plane, _)| {
            let used = drawing::bare_extent(&scene, plane, traces);
            idle(&scene, plane).fold(used, |mut all, p| {
                all.take([p[0], -p[1]]);
                all
            })
        })
        .map(|r| {
            if r.is_empty() {
                Rect::new([0.0; 2], [0.0; 2])
            } else {
                r
            }
        })
        .collect();
    let room = wanted.room.map(|x| {
        if x.is_finite() {
            x.clamp(20.0, 4000.0)
        } else {
            200.0
        }
    });
    let mut k = wanted
        .scale
        .unwrap_or_else(|| fitting(&planes, &bare, room, wanted.stacked));
    k = if k.is_finite() {
        k.clamp(SCALES[0], SCALES[1])
    } else {
        1.0
    };
    let pose = Pose {
        standing: &held.standing,
        drives: &held.stand.drives,
        settings: &held.stand.settings,
    };
    let built = |k: f64| Built::new(&scene, &planes, &bare, (k, wanted), &pose, traces);
    let mut built_at = built(k);
    if wanted.scale.is_none() {
        // Names and symbols need room too, and keep their size at every scale: only the rest is made smaller.
        let least = LEAST_SHARE * k;
        for _ in 0..4 {
            let bare = spread(&planes, &bare, k, wanted.stacked);
            let smaller = [0, 1].map(|i| {
                let rest = room[i] - (built_at.size[i] - bare[i]);
                if built_at.size[i] > room[i] && bare[i] > 1e-9 {
                    (rest / bare[i]).max(0.5)
                } else {
                    1.0
                }
            });
            let smaller = smaller[0].min(smaller[1]);
            if smaller >= 1.0 || k <= least {
                break;
            }
            k = (k * smaller * 0.995).max(least);
            built_at = built(k);
        }
    }
    let write = Write {
        k,
        places: &places,
        fits: wanted.scale.is_none(),
    };
    let svg = write.sheet(&scene, &built_at, room).into_string();
    Picture {
        scale: k,
        size: [built_at.size[0].max(room[0]), built_at.size[1].max(room[1])],
        svg,
        views: built_at.seen(&scene, room),
        points: points(&scene),
        parts: parts(&scene),
        rods: scene
            .seen_rods()
            .into_iter()
            .map(|(rod, plane)| LiveRod {
                name: machine
                    .rods
                    .get(rod)
                    .map_or(String::new(), |r| r.name.clone()),
                rod,
                plane,
                joins: machine.rods.get(rod).map_or_else(Default::default, |r| {
                    r.joins.map(|p| scene.point_name(p).to_owned())
                }),
            })
            .collect(),
        places,
    }
}

/// Places of points that nothing uses yet.
fn idle<'s>(scene: &'s Scene, plane: usize) -> impl Iterator<Item = P> + 's {
    let all = 0..scene.roles.len();
    all.filter(move |&p| scene.joint(p) == Joint::None && scene.plane_of(p) == Some(plane))
        .filter_map(|p| place(scene.standing, p))
}

fn points(scene: &Scene) -> Vec<LivePoint> {
    let all = scene.machine.points.iter().enumerate();
    all.map(|(i, p)| LivePoint {
        name: p.name.clone(),
        plane: p.plane,
        drawn: [p.x, p.y],
        fixed: scene
            .roles
            .get(i)
            .is_some_and(|r| r.frame || r.shaft_centre),
    })
    .collect()
}

fn parts(scene: &Scene) -> Vec<LivePart> {
    let grip = |part: usize| {
        let mut drives = scene.machine.drives.iter();
        drives.position(|d| scene.driven(d.moves) == Some(part))
    };
    let all = scene.machine.parts.iter().enumerate();
    all.map(|(i, p)| LivePart {
        name: p.name.clone(),
        plane: p.plane,
        grip: grip(i),
        carries: p
            .carries
            .iter()
            .map(|&c| scene.point_name(c).to_owned())
            .collect(),
        slide: scene
            .machine
            .slides
            .iter()
            .find(|s| s.part == i)
            .map(|s| s.name.clone()),
        shaft: p.kind == PartKind::Shaft,
    })
    .collect()
}

/// The largest scale at which the bare lines fit the room with symbols about them.
fn fitting(planes: &[(usize, Stance)], bare: &[Rect], room: P, stacked: bool) -> f64 {
    let covered = |k: f64| {
        let views: Vec<(Stance, Rect)> = planes
            .iter()
            .zip(bare)
            .map(|(&(_, stance), r)| (stance, scaled(*r, k).grown(SYMBOLS)))
            .collect();
        let at = arranged(&views, k, stacked);
        let all = views
            .iter()
            .zip(at)
            .fold(Rect::EMPTY, |all, ((_, r), at)| all.join(r.moved(at)));
        (all.width() / (room[0] - 2.0 * MARGIN)).max(all.height() / (room[1] - 2.0 * MARGIN))
    };
    let widest = bare
        .iter()
        .map(|r| r.width().max(r.height()))
        .fold(0.0, f64::max);
    if widest < 1e-9 {
        return 1.0;
    }
    // What is covered grows with the scale: halve the ratio between a scale that fits and one that does not.
    let (mut low, mut high) = (1e-6 * room[0] / widest, 4.0 * room[0].max(room[1]) / widest);
    for _ in 0..48 {
        let middle = (low * high).sqrt();
        if covered(middle) <= 1.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Width and height of the bare lines of all views at a scale.
fn spread(planes: &[(usize, Stance)], bare: &[Rect], k: f64, stacked: bool) -> P {
    let views: Vec<(Stance, Rect)> = planes
        .iter()
        .zip(bare)
        .map(|(&(_, stance), r)| (stance, scaled(*r, k)))
        .collect();
    let at = arranged(&views, k, stacked);
    let all = views
        .iter()
        .zip(at)
        .fold(Rect::EMPTY, |all, ((_, r), at)| all.join(r.moved(at)));
    [all.width(), all.height()]
}

/// The paper outside an area.
fn outside(Rect { min, max }: Rect) -> [Rect; 4] {
    const FAR: f64 = 1e5;
    [
        Rect::new([-FAR, -FAR], [min[0], FAR]),
        Rect::new([max[0], -FAR], [FAR, FAR]),
        Rect::new([min[0], -FAR], [max[0], min[1]]),
        Rect::new([min[0], max[1]], [max[0], FAR]),
    ]
}

fn scaled(r: Rect, k: f64) -> Rect {
    Rect {
        min: r.min.map(|x| x * k),
        max: r.max.map(|x| x * k),
    }
}

fn arranged(views: &[(Stance, Rect)], k: f64, stacked: bool) -> Vec<P> {
    if !stacked {
        return layout::arrange(views, Projection::ThirdAngle, k);
    }
    let mut y = 0.0;
    views
        .iter()
        .map(|(_, r)| {
            let at = [-r.centre()[0], y - r.min[1]];
            y += r.height() + GAP;
            at
        })
        .collect()
}

/// The views at a scale, and where they go.
struct Built {
    views: Vec<(View, P, Rect)>,
    size: P,
}

impl Built {
    fn new(
        scene: &Scene,
        planes: &[(usize, Stance)],
        bare: &[Rect],
        (k, wanted): (f64, &Wanted),
        pose: &Pose,
        traces: &[Trace],
    ) -> Self {
        let kept = |plane: usize| {
            let known = wanted.kept.iter().find(|(kept, _)| *kept == plane);
            known.map(|(_, at)| *at).filter(|_| wanted.scale.is_some())
        };
        let origins: Option<Vec<P>> = planes.iter().map(|&(plane, _)| kept(plane)).collect();
        // What has grown out of it is laid out anew.
        let within = |(at, bare): (&P, &Rect)| {
            let r = scaled(*bare, k).grown(SYMBOLS).moved(*at);
            r.min.iter().all(|x| *x >= -SYMBOLS)
                && r.max
                    .iter()
                    .zip(wanted.room)
                    .all(|(x, w)| *x <= w + SYMBOLS)
        };
        let origins = origins.filter(|o| o.iter().zip(bare).all(within));
        let mut views: Vec<(Stance, View)> = Vec::new();
        for (i, (&(plane, stance), bare)) in planes.iter().zip(bare).enumerate() {
            let frame = Frame { plane, k };
            let swept = scaled(*bare, k).grown(SYMBOLS);
            let caption =
                (planes.len() > 1).then(|| drawing::caption_under(scene, stance, plane, swept));
            let mut taken: Vec<Rect> = caption.iter().map(Lettering::extent).collect();
            if let Some(at) = origins.as_ref().and_then(|o| o.get(i)) {
                let all = Rect::new([0.0; 2], wanted.room).moved(at.map(|x| -x));
                taken.extend(outside(all.grown(-EDGE)));
            }
            let mut v = view::build(
                scene,
                frame,
                pose,
                (traces, &[]),
                wanted.names,
                Some(&taken),
            );
            v.group.extend(spring_groups(scene, frame));
            v.extent = if v.extent.is_empty() {
                swept
            } else {
                v.extent.join(swept)
            };
            if let Some(caption) = caption {
                v.caption(caption);
            }
            views.push((stance, v));
        }
        if let Some(origins) = origins {
            let placed = views.into_iter().zip(origins);
            return Self {
                views: placed
                    .map(|((_, v), at)| {
                        let extent = v.extent;
                        (v, at, extent)
                    })
                    .collect(),
                size: wanted.room,
            };
        }
        let extents: Vec<(Stance, Rect)> = views.iter().map(|(s, v)| (*s, v.extent)).collect();
        let at = arranged(&extents, k, wanted.stacked);
        let all = extents
            .iter()
            .zip(&at)
            .fold(Rect::EMPTY, |all, ((_, r), at)| all.join(r.moved(*at)));
        let all = if all.is_empty() {
            Rect::new([0.0; 2], [0.0; 2])
        } else {
            all
        };
        let shift = [MARGIN - all.min[0], MARGIN - all.min[1]];
        let views = views.into_iter().zip(at).map(|((_, v), at)| {
            let extent = v.extent;
            (v, add(at, shift), extent)
        });
        Self {
            views: views.collect(),
            size: [all.width() + 2.0 * MARGIN, all.height() + 2.0 * MARGIN],
        }
    }

    /// What is smaller than the room stands in the middle of it.
    fn middle(&self, room: P) -> P {
        [0, 1].map(|i| ((room[i] - self.size[i]) / 2.0).max(0.0))
    }

    fn seen(&self, scene: &Scene, room: P) -> Vec<LiveView> {
        let middle = self.middle(room);
        let views = self.views.iter().map(|(v, at, extent)| {
            let origin = add(*at, middle);
            let r = extent.moved(origin);
            let name = scene.machine.planes.get(v.plane).map(|p| p.name.clone());
            LiveView {
                plane: v.plane,
                name: name.unwrap_or_default(),
                origin,
                covers: [r.min[0], r.min[1], r.max[0], r.max[1]],
            }
        });
        views.collect()
    }
}

/// Springs as zigzags one mm long, to be drawn out between their ends.
fn spring_groups(scene: &Scene, frame: Frame) -> Vec<Group> {
    let mut groups = Vec::new();
    for (i, (name, [a, _])) in springs(scene).into_iter().enumerate() {
        if scene.plane_of(a) != Some(frame.plane) {
            continue;
        }
        let title = format!("Spring {name}");
        let mut g = Group::named("spring", String::new(), name, title);
        let turns: Vec<P> = (0..=16)
            .map(|n| {
                let side = match n {
                    0 | 1 | 15 | 16 => 0.0,
                    n if n % 2 == 0 => 2.0,
                    _ => -2.0,
                };
                [f64::from(n) / 16.0, side]
            })
            .collect();
        g.draw(Pen::Narrow, Shape::poly(&turns, false));
        g.carried = Some(Carried::Spring(i));
        groups.push(g);
    }
    groups
}

#[cfg(test)]
mod tests {
    use crate::geometry::{P, distance};

    #[test]
    fn a_matrix_and_its_back_undo_each_other() {
        let (sin, cos) = 0.7_f64.sin_cos();
        let at = [12.0, -5.0];
        let back = [-cos * at[0] + sin * at[1], -sin * at[0] - cos * at[1]];
        // x' = c x + s y, y' = -s x + c y on paper.
        let go = |s: f64, at: P, [x, y]: P| [cos * x + s * y + at[0], -s * x + cos * y + at[1]];
        let p = go(sin, at, [3.0, 4.0]);
        let q = go(-sin, back, p);
        assert!(distance(q, [3.0, 4.0]) < 1e-12, "{q:?}");
    }
}
