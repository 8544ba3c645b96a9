//! One view: everything of one plane, drawn and named.

mod cams;
mod flags;
mod furniture;
mod path;
mod pins;

use machine::model::{FRAME, PartId, PointId};
use studies::{Standing, Trace};

use crate::body::{self, Body, Drawn, Eccentric};
use crate::forces::Force;
use crate::geometry::{P, Rect, along, at_angle, direction, distance, square};
use crate::guides;
use crate::labels::{self, Anchor, Label};
use crate::lines::Lines;
use crate::pose::{Names, Pose};
use crate::scene::{Frame, Joint, Scene, is_place, place};
use crate::sheet::{Carried, Fill, Group, Hand, Pen, Shape};
use crate::symbols;
use crate::wheels::Wheel;
use crate::{font, sheet::Lettering};

/// Length of the arrow of the greatest force, mm of paper; and of the least, so that its head shows.
const LONGEST: f64 = 26.0;
const SHORTEST: f64 = 3.5;

/// A view whose names are placed.
pub(crate) struct View {
    pub(crate) plane: usize,
    pub(crate) group: Group,
    /// The paper it covers, about the plane's origin.
    pub(crate) extent: Rect,
    /// Paper covered by each name.
    pub(crate) names: Vec<Rect>,
}

impl View {
    /// Puts a caption into the view.
    pub(crate) fn caption(&mut self, lettering: Lettering) {
        self.extent = self.extent.join(lettering.extent());
        let mut group = Group::new("caption");
        group.letter(lettering);
        self.group.add(group);
    }
}

struct Builder<'a> {
    scene: &'a Scene<'a>,
    frame: Frame,
    plane_name: &'a str,
    labels: Vec<Label>,
    wheels: Vec<Wheel>,
    eccentrics: Vec<(PartId, Eccentric)>,
    parts: Vec<Drawn>,
    /// The picture is to be moved: what moves apart is drawn apart.
    live: bool,
    /// What the next names go with.
    tie: Option<Carried>,
}

/// Draws one plane; `live` draws apart what moves apart, and tells paper on which no name may stand.
pub(crate) fn build(
    scene: &Scene,
    frame: Frame,
    pose: &Pose,
    (traces, forces): (&[Trace], &[Force]),
    names: Names,
    live: Option<&[Rect]>,
) -> View {
    let taken = live.unwrap_or_default();
    let plane_name = scene
        .machine
        .planes
        .get(frame.plane)
        .map_or("front", |p| p.name.as_str());
    let parts: Vec<Drawn> = scene
        .moving_parts(frame.plane)
        .map(|part| body::drawn(scene, frame, scene.standing, part))
        .collect();
    let eccentrics = parts
        .iter()
        .flat_map(|d| d.eccentrics.iter().map(|e| (d.part, *e)))
        .collect();
    let mut b = Builder {
        scene,
        frame,
        plane_name,
        labels: Vec::new(),
        wheels: Vec::new(),
        eccentrics,
        parts,
        live: live.is_some(),
        tie: None,
    };
    let mut group = Group::named("view", format!("view-{plane_name}"), plane_name, b.title());
    if live.is_none() {
        group.add(b.ghosts());
    }
    let (plates, links) = b.part_groups();
    group.extend(plates);
    group.add(b.traces(traces));
    let slides = b.slides(pose);
    let stands_at = group.groups.len();
    group.extend(slides);
    group.extend(b.slots());
    group.extend(b.pairs());
    group.extend(b.cams());
    group.extend(links);
    group.extend(b.rods());
    group.extend(b.rows());
    group.extend(b.faces());
    group.extend(b.stops(pose));
    group.extend(b.drives(pose));
    // The stands of pivots go where the fewest lines are, so they are drawn once those are known, behind them.
    let stands = b.stands(&lines_of(&group));
    let pins = b.pins();
    let detents = b.detents(pose);
    if !stands.is_bare() {
        group.groups.insert(stands_at, stands);
    }
    group.extend(pins);
    group.extend(detents);
    group.add(b.forces(forces));
    b.name_parts();
    if names == Names::None {
        b.labels.clear();
    } else if names == Names::Parts {
        b.labels.retain(|l| l.hand != Hand::Note);
    }
    let lines = lines_of(&group);
    let mut placed = if live.is_some() {
        labels::place_near(&b.labels, &lines, taken)
    } else {
        labels::place(&b.labels, &lines, taken)
    };
    // On paper no part goes without its name: those of a crowd stand in rows around the view.
    let mut crowd = Vec::new();
    let is_part = |l: &labels::Label| l.hand == Hand::Name;
    let unnamed = |(l, p): (&labels::Label, &Option<labels::Placed>)| is_part(l) && p.is_none();
    if live.is_none() && b.labels.iter().zip(&placed).any(unnamed) {
        (crowd, b.labels) = std::mem::take(&mut b.labels).into_iter().partition(is_part);
        placed = labels::place(&b.labels, &lines, taken);
    }
    let mut lettering = Group::new("names");
    for (label, placed) in b.labels.iter().zip(&placed) {
        if let Some(placed) = placed {
            let mut name = label.group(placed);
            if let Some(Carried::Beside(part, _)) = label.carried {
                name.carried = b.beside(part, label, placed.rect.centre());
            }
            lettering.add(name);
        }
    }
    group.add(lettering);
    let mut extent = group.extent();
    let mut names: Vec<Rect> = placed.iter().flatten().map(|p| p.rect).collect();
    if !crowd.is_empty() {
        let mut around = Group::new("names");
        names.extend(flags::flags(&crowd, extent, &mut around));
        extent = extent.join(around.extent());
        group.add(around);
    }
    if let Some(words) = labels::left_out(&placed) {
        let words = caption(&words, extent.centre()[0], extent.max[1] + 3.0);
        names.push(words.extent());
        extent = extent.join(words.extent());
        let mut below = Group::new("caption");
        below.letter(words);
        group.add(below);
    }
    View {
        plane: frame.plane,
        group,
        extent,
        names,
    }
}

fn lines_of(group: &Group) -> Lines {
    let mut pieces: Vec<(P, P, f64)> = Vec::new();
    group.pieces(&mut |a, b, pen| pieces.push((a, b, pen.weight())));
    Lines::new(pieces)
}

impl Builder<'_> {
    fn id(&self, kind: &str, name: &str) -> String {
        format!("{}-{kind}-{name}", self.plane_name)
    }

    fn title(&self) -> String {
        let names: Vec<&str> = self
            .parts
            .iter()
            .filter_map(|d| self.scene.machine.parts.get(d.part))
            .map(|p| p.name.as_str())
            .collect();
        format!(
            "View of plane {}: {}",
            self.plane_name,
            if names.is_empty() {
                "no parts".to_owned()
            } else {
                names.join(", ")
            }
        )
    }

    fn at(&self, point: PointId) -> Option<P> {
        place(self.scene.standing, point).map(|p| self.frame.paper(p))
    }

    fn is_here(&self, point: PointId) -> bool {
        self.scene.plane_of(point) == Some(self.frame.plane)
    }

    fn name_at(&mut self, name: &str, at: P, clear: f64) {
        self.name(
            &[name],
            Hand::Note,
            vec![Anchor {
                at,
                clear,
                line: None,
            }],
            false,
        );
    }

    /// Asks for a name, one or more lines of it, at the best of these places.
    fn name(&mut self, lines: &[&str], hand: Hand, anchors: Vec<Anchor>, dot: bool) {
        let lines: Vec<String> = lines.iter().map(|l| font::clean(l)).collect();
        if !anchors.is_empty() {
            self.labels.push(Label {
                lines,
                height: font::SMALL,
                hand,
                anchors,
                dot,
                carried: self.tie,
            });
        }
    }

    /// What goes with a part, or stands on the frame.
    fn with(part: PartId) -> Carried {
        if part == FRAME {
            Carried::Still
        } else {
            Carried::Part(part)
        }
    }

    /// Names beside a part, or beside something on the frame.
    fn name_beside(&mut self, part: PartId) {
        self.tie = (part != FRAME).then_some(Carried::Beside(part, [0.0; 2]));
    }

    /// Ties a label to the place of the part, as drawn, that it stands nearest to.
    fn beside(&self, part: PartId, label: &Label, middle: P) -> Option<Carried> {
        let from = |a: &Anchor| distance(a.at, middle);
        let nearest = label
            .anchors
            .iter()
            .min_by(|a, b| from(a).total_cmp(&from(b)))?;
        let datum = self.scene.body(part).first().copied()?;
        let now = place(self.scene.standing, datum)?;
        let drawn = self.scene.machine.points.get(datum)?;
        let [x, y] = [nearest.at[0] / self.frame.k, -nearest.at[1] / self.frame.k];
        let (sin, cos) = crate::scene::turn(self.scene.standing, part).sin_cos();
        let (x, y) = (x - now[0], y - now[1]);
        Some(Carried::Beside(
            part,
            [drawn.x + x * cos + y * sin, drawn.y - x * sin + y * cos],
        ))
    }

    fn ghosts(&self) -> Group {
        let mut all = Group::new("ghosts");
        for &standing in &self.scene.ghosts {
            all.add(self.ghost(standing));
        }
        all
    }

    fn ghost(&self, standing: &Standing) -> Group {
        let (scene, frame) = (self.scene, self.frame);
        let mut g = Group::new("ghost-pose");
        let mut drawn_pins: Vec<P> = Vec::new();
        for part in scene.moving_parts(frame.plane) {
            let drawn = body::drawn(scene, frame, standing, part);
            drawn.draw_ghost(&mut g);
        }
        for rod in 0..scene.machine.rods.len() {
            if let Some(r) = body::rod(scene, frame, standing, rod) {
                r.draw_ghost(&mut g);
            }
        }
        for face in scene
            .machine
            .faces
            .iter()
            .filter(|f| f.on != FRAME && self.is_here(f.at))
        {
            guides::face_ghost(frame, standing, face, &mut g);
        }
        for point in
            (0..scene.roles.len()).filter(|&p| self.is_here(p) && scene.joint(p) == Joint::Pin)
        {
            if self.eccentrics.iter().any(|(_, e)| e.point == point) {
                continue;
            }
            if let Some(at) = place(standing, point).map(|p| frame.paper(p))
                && !drawn_pins.iter().any(|p| distance(*p, at) < 0.05)
            {
                drawn_pins.push(at);
                g.put(
                    Some(Pen::Ghost),
                    Fill::Ground,
                    Shape::Circle {
                        centre: at,
                        radius: 0.9,
                    },
                );
            }
        }
        g
    }

    fn part_groups(&self) -> (Vec<Group>, Vec<Group>) {
        let (mut plates, mut links) = (Vec::new(), Vec::new());
        for drawn in &self.parts {
            let Some(part) = self.scene.machine.parts.get(drawn.part) else {
                continue;
            };
            let carries: Vec<&str> = part
                .carries
                .iter()
                .map(|&p| self.scene.point_name(p))
                .collect();
            let title = format!("Part {}: carries {}", part.name, carries.join(", "));
            let mut g = Group::named("part", self.id("part", &part.name), &part.name, title);
            g.carried = Some(Carried::Part(drawn.part));
            drawn.draw(&mut g, part.clamped_to.is_some());
            if matches!(drawn.body, Body::Plate(_)) {
                plates.push(g);
            } else {
                links.push(g);
            }
        }
        (plates, links)
    }

    fn traces(&self, traces: &[Trace]) -> Group {
        let mut all = Group::new("traces");
        let mut done: Vec<&str> = Vec::new();
        for trace in traces.iter().filter(|t| t.plane == self.frame.plane) {
            if done.contains(&trace.point.as_str()) {
                continue;
            }
            done.push(&trace.point);
            let title = format!("Path of {} while {} moves", trace.point, trace.drive.name);
            let mut g = Group::named(
                "trace-of",
                self.id("trace", &trace.point),
                &trace.point,
                title,
            );
            // A place where the point cannot be breaks the path.
            for run in trace.places.split(|p| !is_place(*p)) {
                let mut points: Vec<P> = run.iter().map(|&p| self.frame.paper(p)).collect();
                if trace.closed && run.len() == trace.places.len() {
                    points.extend(points.first().copied());
                }
                for run in path::once_over(&path::thinned(&points)) {
                    g.draw(Pen::Trace, Shape::poly(&run, false));
                }
            }
            all.add(g);
        }
        all
    }

    /// Forces as arrows away from their joints, each with its size at the tip.
    fn forces(&mut self, forces: &[Force]) -> Group {
        let mut all = Group::new("forces");
        let greatest = forces.iter().fold(0.0, |most: f64, f| most.max(f.size()));
        let plane = self.frame.plane;
        let here = forces.iter().filter(|f| f.plane == plane);
        for force in here.filter(|f| f.is_drawn(greatest)) {
            let from = self.frame.paper(force.at);
            // Up on the machine is up on the paper, where y counts down.
            let [right, up] = force.vector;
            let way = direction([0.0; 2], [right, -up]);
            let long = (LONGEST * force.size() / greatest).max(SHORTEST);
            let (start, tip) = (
                along(from, way, symbols::PIN),
                along(from, way, symbols::PIN + long),
            );
            let title = format!("{} on {}", force.joint, force.on);
            let id = self.id(
                "force",
                &format!("{}-{}", force.joint.replace(' ', "-"), force.on),
            );
            let mut g = Group::named("force", id, &force.joint, title);
            g.draw(Pen::Drive, Shape::line(start, along(tip, way, -1.0)));
            symbols::arrow_head(&mut g, tip, way);
            all.add(g);
            self.name(
                &[&force.words],
                Hand::Drive,
                vec![
                    Anchor {
                        at: tip,
                        clear: 0.4,
                        line: None,
                    },
                    Anchor {
                        at: along(start, way, long / 2.0),
                        clear: 0.6,
                        line: Some(way),
                    },
                ],
                false,
            );
        }
        all
    }

    /// Names of parts, beside the longest stretches between their holes.
    fn name_parts(&mut self) {
        for i in 0..self.parts.len() {
            let Some(drawn) = self.parts.get(i) else {
                continue;
            };
            let Some(part) = self.scene.machine.parts.get(drawn.part) else {
                continue;
            };
            let mut anchors: Vec<Anchor> = Vec::new();
            let stretches: Vec<[P; 2]> = drawn.stretches();
            let per = if stretches.len() > 1 { 3 } else { 5 };
            for [a, b] in stretches {
                if distance(a, b) > 6.0 || anchors.is_empty() {
                    anchors.extend(labels::on_line(a, b, 0.6).into_iter().take(per));
                }
            }
            if let Some(w) = self.wheels.iter().find(|w| w.part == drawn.part)
                && anchors.is_empty()
            {
                let rim = |k: i32| {
                    let a = std::f64::consts::FRAC_PI_4 * f64::from(k);
                    Anchor {
                        at: along(w.centre, at_angle(a), w.outline),
                        clear: 0.6,
                        line: Some(square(at_angle(a))),
                    }
                };
                anchors = [1, 3, 7, 5, 2, 6, 0, 4].map(rim).to_vec();
            }
            if anchors.is_empty() {
                let eccentric = drawn.eccentrics.first().map(|e| Anchor {
                    at: e.centre,
                    clear: e.radius(),
                    line: None,
                });
                let alone = drawn.points.first().map(|&at| Anchor {
                    at,
                    clear: symbols::BLOCK[0],
                    line: None,
                });
                anchors.extend(eccentric.or(alone));
            }
            self.tie = Some(Carried::Beside(drawn.part, [0.0; 2]));
            self.name(&[&part.name], Hand::Name, anchors, true);
        }
    }
}

/// A caption under a view, and the paper it takes.
pub(crate) fn caption(text: &str, middle: f64, top: f64) -> Lettering {
    Lettering::new(
        [middle, top + font::above(font::SMALL)],
        text,
        font::SMALL,
        crate::sheet::Hold::Middle,
        Hand::Name,
    )
}
