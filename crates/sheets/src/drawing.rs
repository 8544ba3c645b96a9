//! The drawing of a machine in a pose.

use std::fmt::Write as _;

use machine::Machine;
use studies::{Standing, Trace};

use crate::forces::Force;
use crate::geometry::{Rect, add};
use crate::layout::{self, Seen, Stance};
use crate::look::Look;
use crate::png::{self, PngError};
use crate::pose::{Options, Pose};
use crate::scale::Scale;
use crate::scene::{Frame, Scene, is_place, place};
use crate::sheet::Lettering;
use crate::sheet::{Group, Pen, Shape, Sheet};
use crate::svg;
use crate::title_block;
use crate::view::{self, View};
use crate::{body, font};

/// From the border to what is drawn, and from the edge of the sheet to the border, mm.
const INSIDE: f64 = 6.0;
const OUTSIDE: f64 = 5.0;

/// A drawing: views of a machine in one pose on a sheet, true to scale.
///
/// The sheet is measured in mm; one mm of it is one mm on paper.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// Scale of every view.
    pub scale: Scale,
    /// The views, the main one first.
    pub views: Vec<ViewPlace>,
    /// Rectangles (left, top, right, bottom) covered by names, mm of the sheet.
    pub names: Vec<[f64; 4]>,
    sheet: Sheet,
}

/// Where a view stands on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct ViewPlace {
    /// Index of its plane.
    pub plane: usize,
    /// Name of its plane.
    pub name: String,
    /// Where the plane's origin falls, mm from the sheet's upper left corner. A point (x, y) of the plane falls
    /// `scale.factor()·x` to the right of it and `scale.factor()·y` above it.
    pub origin: [f64; 2],
}

/// Draws a machine in a pose, with other poses thin behind it and the paths of points.
///
/// Points and parts without a finite place are left out; with none at all the sheet bears its title block alone.
pub fn draw(
    machine: &Machine,
    pose: &Pose,
    ghosts: &[&Standing],
    traces: &[Trace],
    options: &Options,
) -> Drawing {
    let scene = Scene::new(machine, pose.standing, ghosts.to_vec());
    drawn(&scene, pose, traces, &[], options)
}

/// Draws a machine in a pose with forces as arrows at its joints. Arrows are as long as their forces are great, the greatest of all
/// views longest.
pub fn draw_forces(machine: &Machine, pose: &Pose, forces: &[Force], options: &Options) -> Drawing {
    let scene = Scene::new(machine, pose.standing, Vec::new());
    drawn(&scene, pose, &[], forces, options)
}

fn drawn(
    scene: &Scene,
    pose: &Pose,
    traces: &[Trace],
    forces: &[Force],
    options: &Options,
) -> Drawing {
    let planes = planes(scene, options.plane);
    let mut scale = options
        .scale
        .unwrap_or_else(|| fitting(scene, &planes, traces, options));
    let mut drawing = at_scale(scene, &planes, pose, (traces, forces), options, scale);
    // Names and symbols need room too: go down until the sheet fits the paper.
    for _ in 0..4 {
        let [w, h] = drawing.sheet.size;
        if options.scale.is_some() || options.paper.fits(w, h) {
            break;
        }
        scale = scale.smaller();
        drawing = at_scale(scene, &planes, pose, (traces, forces), options, scale);
    }
    drawing
}

impl Drawing {
    /// Width and height of the sheet, mm.
    pub fn size(&self) -> [f64; 2] {
        self.sheet.size
    }

    /// The drawing as an SVG file, sized in mm.
    pub fn svg(&self, look: Look) -> String {
        svg::write(&self.sheet, look)
    }

    /// The drawing as a PNG picture.
    ///
    /// # Errors
    /// The size is not a positive number or too large; the picture library's own troubles.
    pub fn png(&self, look: Look, dots_per_mm: f64) -> Result<Vec<u8>, PngError> {
        png::render(&self.svg(look), self.sheet.size, dots_per_mm)
    }
}

/// The planes to be drawn, the main one (front, when it is used) first, each with its stance to that one.
pub(crate) fn planes(scene: &Scene, only: Option<usize>) -> Vec<(usize, Stance)> {
    let used: Vec<usize> = scene
        .planes_in_use()
        .into_iter()
        .filter(|&p| only.is_none_or(|only| only == p))
        .collect();
    let main = used.first().copied().unwrap_or(0);
    used.into_iter()
        .map(|p| (p, layout::stance(scene, main, p)))
        .collect()
}

/// What a view covers of its plane, mm of the machine, without symbols and names; y down as on the paper.
pub(crate) fn bare_extent(scene: &Scene, plane: usize, traces: &[Trace]) -> Rect {
    let frame = Frame { plane, k: 1.0 };
    let mut rect = Rect::EMPTY;
    for &standing in std::iter::once(&scene.standing).chain(&scene.ghosts) {
        for point in 0..scene.roles.len() {
            if scene.plane_of(point) == Some(plane)
                && scene.joint(point) != crate::scene::Joint::None
                && let Some(p) = place(standing, point)
            {
                rect.take(frame.paper(p));
            }
        }
    }
    for rod in 0..scene.machine.rods.len() {
        if let Some(r) = body::rod(scene, frame, scene.standing, rod) {
            r.ends.into_iter().for_each(|p| rect.take(p));
        }
    }
    for trace in traces.iter().filter(|t| t.plane == plane) {
        trace
            .places
            .iter()
            .filter(|p| is_place(**p))
            .for_each(|&p| rect.take(frame.paper(p)));
    }
    for ratio in &scene.machine.ratios {
        for w in crate::wheels::wheels(scene, frame, scene.standing, ratio)
            .into_iter()
            .flatten()
        {
            let reach = w.pitch.max(w.outline);
            rect = rect.join(Rect::new(w.centre, w.centre).grown(reach));
        }
    }
    rect
}

/// The largest round scale at which the bare lines fit the paper with a little room for symbols.
fn fitting(
    scene: &Scene,
    planes: &[(usize, Stance)],
    traces: &[Trace],
    options: &Options,
) -> Scale {
    let extents: Vec<(Stance, Rect)> = planes
        .iter()
        .map(|&(plane, stance)| (stance, bare_extent(scene, plane, traces)))
        .map(|(stance, r)| {
            (
                stance,
                if r.is_empty() {
                    Rect::new([0.0; 2], [0.0; 2])
                } else {
                    r
                },
            )
        })
        .collect();
    let covered = |k: f64| {
        let views: Vec<(Stance, Rect)> = extents
            .iter()
            .map(|(s, r)| {
                (
                    *s,
                    Rect {
                        min: r.min.map(|x| x * k),
                        max: r.max.map(|x| x * k),
                    }
                    .grown(6.0),
                )
            })
            .collect();
        let at = layout::arrange(&views, options.projection, k);
        let all = views
            .iter()
            .zip(at)
            .fold(Rect::EMPTY, |all, ((_, r), at)| all.join(r.moved(at)));
        let border = 2.0 * (INSIDE + OUTSIDE);
        [all.width() + border, all.height() + border + 20.0]
    };
    let mut scale = Scale::at_most(10.0);
    for _ in 0..60 {
        let [w, h] = covered(scale.factor());
        if options.paper.fits(w, h) {
            break;
        }
        scale = scale.smaller();
    }
    let all = extents.iter().fold(Rect::EMPTY, |all, (_, r)| all.join(*r));
    if all.width().max(all.height()) < 1e-9 {
        Scale::FULL
    } else {
        scale
    }
}

fn at_scale(
    scene: &Scene,
    planes: &[(usize, Stance)],
    pose: &Pose,
    (traces, forces): (&[Trace], &[Force]),
    options: &Options,
    scale: Scale,
) -> Drawing {
    let k = scale.factor();
    let mut views: Vec<(Stance, View)> = planes
        .iter()
        .map(|&(plane, stance)| {
            (
                stance,
                view::build(
                    scene,
                    Frame { plane, k },
                    pose,
                    (traces, forces),
                    options.names,
                    None,
                ),
            )
        })
        .map(|(stance, mut v)| {
            if v.extent.is_empty() {
                v.extent = Rect::new([0.0; 2], [0.0; 2]);
            }
            (stance, v)
        })
        .collect();
    if views.len() > 1 {
        for (stance, v) in &mut views {
            caption(scene, *stance, v);
        }
    }
    let extents: Vec<(Stance, Rect)> = views.iter().map(|(s, v)| (*s, v.extent)).collect();
    let places = layout::arrange(&extents, options.projection, k);
    let all = extents
        .iter()
        .zip(&places)
        .fold(Rect::EMPTY, |all, ((_, r), at)| all.join(r.moved(*at)));
    let all = if all.is_empty() {
        Rect::new([0.0; 2], [0.0; 2])
    } else {
        all
    };

    let border = OUTSIDE + INSIDE;
    let width = all.width().max(title_block::LEAST_WIDTH - 2.0 * INSIDE);
    // Narrow views stand in the middle of a sheet that the title block made wider.
    let shift = [
        border - all.min[0] + (width - all.width()) / 2.0,
        border - all.min[1],
    ];
    let mut block = Group::named(
        "title-block",
        "title-block".to_owned(),
        "",
        "Title block".to_owned(),
    );
    let top = border + all.height() + INSIDE;
    let inside = width + 2.0 * INSIDE;
    let block_height = title_block::draw(
        scene.machine,
        pose,
        scale,
        options.projection,
        [OUTSIDE, top],
        inside,
        &mut block,
    );
    let size = [inside + 2.0 * OUTSIDE, top + block_height + OUTSIDE];
    let corners = [
        [OUTSIDE, OUTSIDE],
        [size[0] - OUTSIDE, OUTSIDE],
        [size[0] - OUTSIDE, size[1] - OUTSIDE],
        [OUTSIDE, size[1] - OUTSIDE],
    ];
    block.draw(Pen::Wide, Shape::poly(&corners, true));

    let mut names = Vec::new();
    let mut view_places = Vec::new();
    let mut groups = Vec::new();
    for ((_, mut v), at) in views.into_iter().zip(places) {
        let origin = add(at, shift);
        v.group.shift = origin;
        names.extend(
            v.names
                .iter()
                .map(|r| r.moved(origin))
                .map(|r| [r.min[0], r.min[1], r.max[0], r.max[1]]),
        );
        let name = scene
            .machine
            .planes
            .get(v.plane)
            .map_or_else(String::new, |p| p.name.clone());
        view_places.push(ViewPlace {
            plane: v.plane,
            name,
            origin,
        });
        groups.push(v.group);
    }
    groups.push(block);
    let sheet = Sheet {
        size,
        title: format!("{}, scale {scale}", scene.machine.name),
        description: description(scene.machine, pose, &view_places),
        groups,
    };
    Drawing {
        scale,
        views: view_places,
        names,
        sheet,
    }
}

/// Adds the name of the plane and the way it is seen under a view.
fn caption(scene: &Scene, stance: Stance, v: &mut View) {
    let lettering = caption_under(scene, stance, v.plane, v.extent);
    v.caption(lettering);
}

/// The name of the plane and the way it is seen, under what is covered.
pub(crate) fn caption_under(
    scene: &Scene,
    stance: Stance,
    plane: usize,
    covered: Rect,
) -> Lettering {
    let name = scene
        .machine
        .planes
        .get(plane)
        .map_or("", |p| p.name.as_str());
    let text = match stance.seen {
        Seen::Front => name.to_owned(),
        seen => format!("{name}, {}", seen.words()),
    };
    view::caption(&text, covered.centre()[0], covered.max[1] + 3.0)
}

fn description(machine: &Machine, pose: &Pose, views: &[ViewPlace]) -> String {
    let mut text = String::new();
    if !machine.note.is_empty() {
        text.push_str(&font::clean(&machine.note));
        text.push_str(". ");
    }
    let names: Vec<&str> = views.iter().map(|v| v.name.as_str()).collect();
    let _ = write!(text, "Views: {}.", names.join(", "));
    for (what, words) in [
        ("Pose", title_block::pose_words(machine, pose)),
        ("Settings", title_block::setting_words(machine, pose)),
    ] {
        if !words.is_empty() {
            let _ = write!(text, " {what}: {words}.");
        }
    }
    text
}
