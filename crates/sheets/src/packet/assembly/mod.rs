//! The assembly: every part as it is cut where it stands, with numbered balloons, and the list of parts.

mod balloons;
mod bodies;
mod layers;
mod list;

pub(super) use list::{Places, list};

use super::dims::View;
use super::paper::{Block, Leaf, Page};
use super::plate::shape;
use crate::drawing::{bare_extent, planes};
use crate::font;
use crate::geometry::{P, Rect, along, distance, inside as inside_of};
use crate::layout::{self, Stance};
use crate::pose::{Names, Pose, Projection};
use crate::scale::Scale;
use crate::scene::{Frame, Scene};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use crate::view;
use balloons::Told;
use bodies::Body;
use layers::Layers;
use machine::Machine;
use shop::{Job, words};

/// Free room round a view for its balloons and its caption, mm.
const RING: f64 = balloons::OUT + balloons::RADIUS + 1.0;
const CAPTION: f64 = 5.0;

/// What is drawn with the parts that are not made: guides, wheels, belts, what stands on the frame.
const KEPT: [&str; 4] = ["slide", "rack", "wheels", "cam"];

/// A view of the machine and what it covers, mm of the machine, y down as on the paper. Numbers of planes past the machine's are those of layers.
type Seen = (usize, Stance, Rect);

/// How views share a sheet: how large they are, where they stand on a lying or upright one.
struct Shared {
    scale: Scale,
    lying: bool,
    origins: Vec<P>,
}

/// The machine in a pose, as large as it goes: all views on one sheet, or each on its own where that makes them much larger.
pub(super) fn draw(machine: &Machine, job: &Job, pose: &Pose, leaf: Leaf) -> Vec<Page> {
    let scene = Scene::new(machine, pose.standing, Vec::new());
    let mut bodies = bodies::all(&scene, job);
    let views: Vec<Seen> = planes(&scene, None)
        .into_iter()
        .map(|(plane, stance)| (plane, stance, extent(&scene, pose, job, &bodies, plane)))
        .collect();
    let mut axes: Vec<(usize, [P; 2])> = Vec::new();
    let mut layers: Vec<Seen> = Vec::new();
    for (plane, ..) in &views {
        let seen_in = machine.planes.len() + plane;
        let Some(found) = layers::of(&bodies, *plane, seen_in, !leaf.third_angle()) else {
            continue;
        };
        let Layers {
            bodies: own,
            axes: through,
        } = found;
        bodies.extend(own);
        axes.extend(through.into_iter().map(|a| (seen_in, a)));
        let stance = Stance {
            seen: if leaf.third_angle() {
                layout::Seen::Right
            } else {
                layout::Seen::Left
            },
            offset: [0.0; 2],
            level: true,
            plumb: false,
        };
        layers.push((seen_in, stance, extent(&scene, pose, job, &bodies, seen_in)));
    }
    let sheets = sheets(machine, &views, layers, leaf);
    let placed = |n: usize| {
        let drawn = |b: &Body| b.part == n && views.iter().any(|v| v.0 == b.plane);
        bodies.iter().any(drawn)
    };
    let mut told_of: Vec<usize> = Vec::new();
    let mut pages: Vec<Page> = Vec::new();
    for (n, (views, shared)) in sheets.iter().enumerate() {
        let names = views.iter().filter_map(|v| machine.planes.get(v.0));
        let mut names: Vec<&str> = names.map(|p| p.name.as_str()).collect();
        if names.is_empty() {
            names.push("layers");
        }
        let block = Block {
            machine: machine.name.clone(),
            title: if sheets.len() > 1 {
                format!("Assembly: {}", names.join(", "))
            } else {
                "Assembly".to_owned()
            },
            facts: vec![
                "Numbers: list of parts.".to_owned(),
                "Machine as drawn.".to_owned(),
            ],
            scale: Some(shared.scale.to_string()),
            flat: false,
        };
        let mut page = Page::new(leaf, shared.lying, block);
        page.bookmarks = (n == 0)
            .then(|| "Assembly".to_owned())
            .into_iter()
            .collect();
        let sheet = OneSheet {
            scene: &scene,
            job,
            bodies: &bodies,
            axes: &axes,
            caption: sheets.len() > 1 || views.len() > 1,
            leaf,
        };
        sheet.draw(&mut page, pose, views, shared, &mut told_of);
        pages.push(page);
    }
    // Why a number is missing.
    let missing = |placed_too: bool| -> Vec<String> {
        let of = |n: &usize| !told_of.contains(n) && placed(*n) == placed_too;
        let named = |n: usize| {
            let part = job.parts.get(n)?;
            Some(format!("{} {}", n + 1, words::spoken(&part.name)))
        };
        (0..job.parts.len()).filter(of).filter_map(named).collect()
    };
    let mut said = Vec::new();
    let (behind, nowhere) = (missing(true), missing(false));
    if !behind.is_empty() {
        said.push(format!(
            "Hidden behind or inside others: {}.",
            behind.join(", ")
        ));
    }
    if !nowhere.is_empty() {
        said.push(format!(
            "Not drawn, because they reach from one view into another or the machine file does not say where they stand: {}.",
            nowhere.join(", ")
        ));
    }
    if sheets
        .iter()
        .flat_map(|s| &s.0)
        .any(|v| v.0 >= machine.planes.len())
    {
        said.push(
            "Layers: plates, rings and rods at their stations, shafts where the file gives where they start; of others the axes alone."
                .to_owned(),
        );
    }
    if let (false, Some(page)) = (said.is_empty(), pages.last_mut()) {
        let [a, b] = page.field();
        let mut g = Group::new("text");
        let wrapped = |text: &String| font::wrapped(text, 2.3, Hand::Note, b[0] - a[0]);
        let lines: Vec<String> = said.iter().flat_map(wrapped).collect();
        for (n, line) in lines.iter().rev().enumerate() {
            let at = [a[0], b[1] - 1.0 - n as f64 * font::pitch(2.3)];
            g.letter(Lettering::new(
                at,
                line.as_str(),
                2.3,
                Hold::Start,
                Hand::Note,
            ));
        }
        page.groups.push(g);
    }
    pages
}

/// Which views share a sheet. Layers stand beside their view where that costs little of its size, else on a sheet of their own.
fn sheets(
    machine: &Machine,
    views: &[Seen],
    mut layers: Vec<Seen>,
    leaf: Leaf,
) -> Vec<(Vec<Seen>, Shared)> {
    let alone = |v: &Seen| (vec![*v], shared(machine, &[*v], leaf));
    let together = shared(machine, views, leaf);
    let mut sheets: Vec<(Vec<Seen>, Shared)> = views.iter().map(alone).collect();
    let least = sheets
        .iter()
        .map(|s| s.1.scale.factor())
        .fold(f64::INFINITY, f64::min);
    if views.len() > 1 && least <= 1.5 * together.scale.factor() {
        sheets = vec![(views.to_vec(), together)];
    }
    for (seen, how) in &mut sheets {
        let [(plane, stance, rect)] = seen[..] else {
            continue;
        };
        let own = |l: &Seen| l.0 == machine.planes.len() + plane;
        let Some(n) = layers.iter().position(own) else {
            continue;
        };
        // The view itself is the main one of its sheet.
        let main = Stance {
            seen: layout::Seen::Front,
            offset: [0.0; 2],
            ..stance
        };
        let both = shared(machine, &[(plane, main, rect), layers[n]], leaf);
        if both.scale.factor() > 0.6 * how.scale.factor() {
            *seen = vec![(plane, stance, rect), layers.remove(n)];
            *how = both;
        }
    }
    if let Some(first) = layers.first_mut() {
        first.1.seen = layout::Seen::Front;
        for more in layers.iter_mut().skip(1) {
            more.1.seen = layout::Seen::FrontAgain;
            more.1.level = false;
        }
        let how = shared(machine, &layers, leaf);
        sheets.push((layers, how));
    }
    sheets
}

/// What stands under a view.
fn caption(machine: &Machine, leaf: Leaf, plane: usize, stance: Stance) -> String {
    let name = |n: usize| machine.planes.get(n).map_or("", |p| p.name.as_str());
    match plane.checked_sub(machine.planes.len()) {
        Some(of) => {
            let side = if leaf.third_angle() { "right" } else { "left" };
            format!("{}: its layers from the {side}", name(of))
        }
        None if stance.seen == layout::Seen::Front => name(plane).to_owned(),
        None => format!("{}, {}", name(plane), stance.seen.words()),
    }
}

/// Free room at the foot of a sheet for what is said under the views, mm.
const FOOT: f64 = 19.0;

fn field(leaf: Leaf, lying: bool) -> [P; 2] {
    let [a, b] = Page::new(leaf, lying, Block::default()).field();
    [a, [b[0], b[1] - FOOT]]
}

/// The largest scale at which views fit a sheet with their balloons.
fn shared(machine: &Machine, views: &[Seen], leaf: Leaf) -> Shared {
    let projection = if leaf.third_angle() {
        Projection::ThirdAngle
    } else {
        Projection::FirstAngle
    };
    let whole = |k: f64| -> (Vec<P>, Rect) {
        let sized: Vec<(Stance, Rect)> = views
            .iter()
            .map(|(plane, stance, r)| {
                let mut grown = on_paper(*r, k).grown(RING);
                grown.max[1] += CAPTION;
                let text = caption(machine, leaf, *plane, *stance);
                let wide = font::width(&text, font::SMALL, Hand::Name);
                let more = (wide - grown.width()).max(0.0) / 2.0;
                grown.min[0] -= more;
                grown.max[0] += more;
                (*stance, grown)
            })
            .collect();
        let places = layout::arrange(&sized, projection, k);
        let all = sized.iter().zip(&places);
        let all = all.fold(Rect::EMPTY, |all, ((_, r), at)| all.join(r.moved(*at)));
        (places, all)
    };
    let largest = |lying: bool| {
        let [a, b] = field(leaf, lying);
        let mut scale = Scale::at_most(10.0);
        for _ in 0..60 {
            let all = whole(scale.factor()).1;
            if all.width() <= b[0] - a[0] && all.height() <= b[1] - a[1] {
                break;
            }
            scale = scale.smaller();
        }
        scale
    };
    let [upright, lies] = [false, true].map(largest);
    let all = whole(upright.factor()).1;
    // The larger scale; of those alike the way the views lie.
    let lying = lies.factor() > upright.factor() * 1.001
        || (lies.factor() > upright.factor() * 0.999 && all.width() > all.height());
    let scale = if lying { lies } else { upright };
    let (places, all) = whole(scale.factor());
    let [a, b] = field(leaf, lying);
    let shift = [
        f64::midpoint(a[0], b[0]) - all.centre()[0],
        f64::midpoint(a[1], b[1]) - all.centre()[1],
    ];
    let origins = places.iter().map(|at| [at[0] + shift[0], at[1] + shift[1]]);
    Shared {
        scale,
        lying,
        origins: origins.collect(),
    }
}

fn on_paper(r: Rect, k: f64) -> Rect {
    Rect {
        min: r.min.map(|x| x * k),
        max: r.max.map(|x| x * k),
    }
}

/// What a sheet of the assembly is drawn from.
struct OneSheet<'a> {
    scene: &'a Scene<'a>,
    job: &'a Job,
    bodies: &'a [Body],
    axes: &'a [(usize, [P; 2])],
    caption: bool,
    leaf: Leaf,
}

impl OneSheet<'_> {
    fn draw(
        &self,
        page: &mut Page,
        pose: &Pose,
        views: &[Seen],
        shared: &Shared,
        told_of: &mut Vec<usize>,
    ) {
        let (scene, k) = (self.scene, shared.scale.factor());
        let made: Vec<&str> = self.job.parts.iter().map(|p| p.name.as_str()).collect();
        let mut rects = Vec::new();
        for ((plane, stance, extent), origin) in views.iter().zip(&shared.origins) {
            let mut g = Group::new("assembly");
            g.shift = *origin;
            if *plane < scene.machine.planes.len() {
                let frame = Frame { plane: *plane, k };
                let seen = view::build(scene, frame, pose, (&[], &[]), Names::None, None);
                // The scheme of what is not made lies behind what is.
                g.extend(seen.group.groups.into_iter().filter(|o| kept(o, &made)));
            }
            let v = View {
                origin: [0.0; 2],
                k,
            };
            for body in self.bodies.iter().filter(|b| b.plane == *plane) {
                paint(&mut g, body, v);
            }
            let own = self.axes.iter().filter(|a| a.0 == *plane);
            let strokes: Vec<[P; 2]> = own.map(|(_, ends)| ends.map(|p| v.at(p))).collect();
            if !strokes.is_empty() {
                g.draw(Pen::Chain, Shape::Strokes(strokes));
            }
            let rect = on_paper(*extent, k);
            if self.caption {
                let text = caption(scene.machine, self.leaf, *plane, *stance);
                let under = rect.grown(RING);
                g.letter(view::caption(&text, under.centre()[0], under.max[1] + 3.0));
            }
            rects.push(rect.moved(*origin));
            page.groups.push(g);
        }
        let spots = spots(self.bodies, k);
        // Everything has its number in the views of the planes, and once more in the layers where there is room for so many.
        let count = self.scene.machine.planes.len();
        let tips_of = |n: usize, layered: bool| {
            let mut tips: Vec<P> = Vec::new();
            let own = |b: &Body| b.part == n && (b.plane >= count) == layered;
            for (body, spots) in self.bodies.iter().zip(&spots).filter(|(b, _)| own(b)) {
                let at = views.iter().position(|v| v.0 == body.plane);
                if let Some(o) = at.and_then(|at| shared.origins.get(at)) {
                    tips.extend(spots.iter().map(|p| [o[0] + k * p[0], o[1] + k * p[1]]));
                }
            }
            tips
        };
        let mut told = Vec::new();
        let mut again = Vec::new();
        for n in 0..self.job.parts.len() {
            let text = (n + 1).to_string();
            let mut fresh = true;
            for layered in [false, true] {
                let tips = tips_of(n, layered);
                if tips.is_empty() {
                    continue;
                }
                told_of.push(n);
                let text = text.clone();
                if std::mem::take(&mut fresh) {
                    told.push(Told { text, tips });
                } else {
                    again.push(Told { text, tips });
                }
            }
        }
        let [a, b] = page.field();
        let field = Rect::new(a, [b[0], b[1] - FOOT]);
        let ring = balloons::ring(&rects, field);
        if told.len() + again.len() <= ring.len() {
            told.extend(again);
        }
        let mut g = Group::new("balloons");
        balloons::draw(&mut g, &told, &ring);
        page.groups.push(g);
    }
}

/// What a view covers, mm of the machine, y down as on the paper.
fn extent(scene: &Scene, pose: &Pose, job: &Job, bodies: &[Body], plane: usize) -> Rect {
    let made: Vec<&str> = job.parts.iter().map(|p| p.name.as_str()).collect();
    let mut all = Rect::EMPTY;
    if plane < scene.machine.planes.len() {
        let frame = Frame { plane, k: 1.0 };
        let seen = view::build(scene, frame, pose, (&[], &[]), Names::None, None);
        let drawn = seen.group.groups.iter().filter(|g| kept(g, &made));
        all = drawn.fold(all, |all, g| all.join(g.extent()));
    }
    for b in bodies.iter().filter(|b| b.plane == plane) {
        for c in std::iter::once(&b.outline).chain(&b.edges) {
            let [low, high] = c.bounds();
            all = all.join(Rect::new([low[0], -high[1]], [high[0], -low[1]]));
        }
    }
    if all.is_empty() {
        all = bare_extent(scene, plane, &[]);
    }
    if all.is_empty() {
        Rect::new([0.0; 2], [0.0; 2])
    } else {
        all
    }
}

/// Whether a group of the scheme is drawn: what is made is drawn as it is cut.
fn kept(g: &Group, made: &[&str]) -> bool {
    match g.class {
        "part" | "rod" => !made.contains(&g.name.as_str()),
        class => KEPT.contains(&class),
    }
}

fn paint(g: &mut Group, body: &Body, v: View) {
    let mut own = Group::new("part");
    for c in body.edges.iter().filter(|c| !inside(c, &body.outline)) {
        own.put(Some(Pen::Wide), Fill::Ground, shape(c, v));
    }
    own.put(Some(Pen::Wide), Fill::Ground, shape(&body.outline, v));
    for c in body.edges.iter().filter(|c| inside(c, &body.outline)) {
        own.draw(Pen::Wide, shape(c, v));
    }
    for c in &body.open {
        own.draw(Pen::Wide, shape(c, v));
    }
    for c in &body.pitch {
        own.draw(Pen::Chain, shape(c, v));
    }
    g.groups.push(own);
}

fn inside(c: &shop::contour::Contour, outline: &shop::contour::Contour) -> bool {
    c.vertices.iter().all(|q| outline.holds(q.at))
}

/// Squares along the longer side of a part among which a place for its number is sought.
const SQUARES: usize = 20;

/// A line round something as straight pieces, with the room it takes.
struct Line {
    points: Vec<P>,
    bounds: Rect,
}

impl Line {
    fn of(c: &shop::contour::Contour) -> Self {
        let own = View {
            origin: [0.0; 2],
            k: 1.0,
        };
        let mut points = Vec::new();
        shape(c, own).pieces(|a, _| points.push(a));
        let mut bounds = Rect::EMPTY;
        points.iter().for_each(|p| bounds.take(*p));
        Self { points, bounds }
    }

    fn holds(&self, p: P) -> bool {
        self.bounds.holds(&Rect::new(p, p)) && inside_of(&self.points, p)
    }

    /// Whether it runs within so much of a place.
    fn near(&self, p: P, by: f64) -> bool {
        let count = self.points.len();
        self.bounds.grown(by).holds(&Rect::new(p, p))
            && (0..count).any(|i| {
                let (a, b) = (self.points[i], self.points[(i + 1) % count]);
                let d = [b[0] - a[0], b[1] - a[1]];
                let long = d[0] * d[0] + d[1] * d[1];
                let t = if long > 0.0 {
                    (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / long).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                distance(p, along(a, d, t)) < by
            })
    }
}

/// Places of each body that are seen, in its plane with y down, mm of the machine.
fn spots(bodies: &[Body], k: f64) -> Vec<Vec<P>> {
    let lines: Vec<(Line, Vec<Line>)> = bodies
        .iter()
        .map(|b| (Line::of(&b.outline), b.open.iter().map(Line::of).collect()))
        .collect();
    let of = |n: usize| -> Vec<P> {
        let (body, (own, open)) = (&bodies[n], &lines[n]);
        let before: Vec<&Line> = (n + 1..bodies.len())
            .filter(|&i| bodies[i].plane == body.plane && lines[i].0.bounds.overlaps(&own.bounds))
            .map(|i| &lines[i].0)
            .collect();
        let (w, h) = (own.bounds.width(), own.bounds.height());
        let step = w.max(h) / SQUARES as f64;
        let count = |long: f64| (long / step).ceil().max(1.0) as usize;
        let mut tried = Vec::new();
        for i in 0..count(w) {
            for j in 0..count(h) {
                let p = [
                    own.bounds.min[0] + w * (i as f64 + 0.5) / count(w) as f64,
                    own.bounds.min[1] + h * (j as f64 + 0.5) / count(h) as f64,
                ];
                let covered = before.iter().any(|b| b.holds(p)) || open.iter().any(|o| o.holds(p));
                if own.holds(p) && !covered {
                    tried.push(p);
                }
            }
        }
        for least in [1.2, 0.6, 0.0] {
            let clear = |p: &&P| {
                let all = before.iter().copied().chain(open).chain([own]);
                !all.clone().any(|l| l.near(**p, least / k))
            };
            let found: Vec<P> = tried.iter().filter(clear).copied().collect();
            if !found.is_empty() {
                return found;
            }
        }
        Vec::new()
    };
    (0..bodies.len()).map(of).collect()
}
