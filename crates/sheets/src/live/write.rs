//! The moving picture as SVG: every group says what carries it.

use super::{Built, Places, SQUEEZED};
use crate::font;
use crate::geometry::{P, add, direction, distance};
use crate::number::{short, trimmed};
use crate::scene::Scene;
use crate::sheet::{Carried, Group};
use crate::svg;
use maud::{Markup, html};

/// Writes groups with what carries them.
pub(super) struct Write<'w> {
    pub(super) k: f64,
    pub(super) places: &'w Places,
    /// The picture was to fit its room.
    pub(super) fits: bool,
}

impl Write<'_> {
    pub(super) fn sheet(&self, scene: &Scene, built: &Built, room: P) -> Markup {
        let size = [0, 1].map(|i| built.size[i].max(room[i]));
        let view_box = format!("0 0 {} {}", short(size[0]), short(size[1]));
        let over = (size[0] / room[0]).max(size[1] / room[1]);
        let squeezed = self.fits && over <= SQUEEZED;
        let shown = size.map(|x| if squeezed { x / over } else { x });
        let label = font::clean(&scene.machine.name);
        let middle = built.middle(room);
        html! {
            svg xmlns="http://www.w3.org/2000/svg" class="sheet board" viewBox=(view_box) width=(format!("{}mm", short(shown[0]))) height=(format!("{}mm", short(shown[1]))) role="group" aria-label=(label) {
                @for (v, at, _) in &built.views {
                    @let origin = add(*at, middle);
                    g class="view" data-view=(v.plane) transform=(translate(origin)) {
                        title { (v.group.title) }
                        @for g in &v.group.groups { (svg::nl()) (self.group(g)) }
                        g class="over" {}
                    }
                }
            }
        }
    }

    fn paper(&self, p: [f64; 2]) -> P {
        [p[0] * self.k, -p[1] * self.k]
    }

    fn group(&self, g: &Group) -> Markup {
        match g.carried {
            None | Some(Carried::Still) => self.plain(g, &Attributes::default()),
            Some(Carried::Part(part)) => {
                let [cos, sin, x, y] = self
                    .places
                    .parts
                    .get(part)
                    .copied()
                    .unwrap_or([1.0, 0.0, 0.0, 0.0]);
                let at = self.paper([x, y]);
                // The matrix of a turn and a shift, and the one that undoes it, on paper where y counts down.
                let there = matrix(cos, sin, at);
                let back = matrix(
                    cos,
                    -sin,
                    [-cos * at[0] + sin * at[1], -sin * at[0] - cos * at[1]],
                );
                html! { g data-part=(part) transform=(there) { g transform=(back) { (self.plain(g, &Attributes::default())) } } }
            }
            Some(Carried::Point(point)) => {
                let at = self
                    .places
                    .points
                    .get(point)
                    .copied()
                    .flatten()
                    .map_or([0.0; 2], |p| self.paper(p));
                if g.class == "label" {
                    let by = Attributes {
                        by_point: Some(point),
                        ..Attributes::default()
                    };
                    return self.plain(g, &by);
                }
                html! { g data-point=(point) transform=(translate(at)) { g transform=(translate([-at[0], -at[1]])) { (self.plain(g, &Attributes::default())) } } }
            }
            Some(Carried::Beside(part, at)) => {
                let at = at.map(short).join(" ");
                self.plain(
                    g,
                    &Attributes {
                        by_part: Some((part, at)),
                        ..Attributes::default()
                    },
                )
            }
            Some(Carried::BesideRod(rod)) => self.plain(
                g,
                &Attributes {
                    by_rod: Some(rod),
                    ..Attributes::default()
                },
            ),
            Some(Carried::Rod(rod)) => self.rod(g, rod),
            Some(Carried::Spring(spring)) => {
                let ends = self.places.springs.get(spring).copied().flatten();
                let [a, b] = ends.unwrap_or([[0.0; 2]; 2]).map(|p| self.paper(p));
                let laid = format!("{} scale({} 1)", turned(a, b), trimmed(distance(a, b), 6));
                html! { g data-spring=(spring) transform=(laid) { (self.plain(g, &Attributes::default())) } }
            }
        }
    }

    fn rod(&self, g: &Group, rod: usize) -> Markup {
        let ends = self.places.rods.get(rod).copied().flatten();
        let [a, b] = ends.unwrap_or([[0.0; 2]; 2]).map(|p| self.paper(p));
        let id = (!g.id.is_empty()).then_some(g.id.as_str());
        html! {
            g id=[id] class=(g.class) data-name=(g.name) data-rod=(rod) {
                title { (g.title) }
                @for m in &g.marks { (svg::mark(m)) }
                @for (end, at) in g.groups.iter().zip([turned(a, b), turned(b, a)]) {
                    g transform=(at) { @for m in &end.marks { (svg::mark(m)) } }
                }
            }
        }
    }

    fn plain(&self, g: &Group, by: &Attributes) -> Markup {
        let id = (!g.id.is_empty()).then_some(g.id.as_str());
        let name = (!g.name.is_empty()).then_some(g.name.as_str());
        let shift = (g.shift != [0.0, 0.0]).then(|| translate(g.shift));
        let (part, at) = by
            .by_part
            .as_ref()
            .map_or((None, None), |(p, at)| (Some(p), Some(at)));
        html! {
            g id=[id] class=(g.class) data-name=[name] data-by-part=[part] data-at=[at] data-by-point=[by.by_point] data-by-rod=[by.by_rod] transform=[shift] {
                @if !g.title.is_empty() { title { (g.title) } }
                @for m in &g.marks { (svg::mark(m)) }
                @for l in &g.letters { (svg::lettering(l)) }
                @for inner in &g.groups { (self.group(inner)) }
            }
        }
    }
}

/// What a name goes with.
#[derive(Default)]
struct Attributes {
    by_part: Option<(usize, String)>,
    by_point: Option<usize>,
    by_rod: Option<usize>,
}

fn translate(p: P) -> String {
    format!("translate({} {})", short(p[0]), short(p[1]))
}

fn matrix(cos: f64, sin: f64, at: P) -> String {
    let [c, s, n] = [cos, sin, -sin].map(|x| trimmed(x, 9));
    format!(
        "matrix({c} {n} {s} {c} {} {})",
        trimmed(at[0], 4),
        trimmed(at[1], 4)
    )
}

/// Stands at `a`, turned so that `b` lies to the right.
fn turned(a: P, b: P) -> String {
    let d = direction(a, b);
    let angle = d[1].atan2(d[0]).to_degrees();
    format!(
        "translate({} {}) rotate({})",
        short(a[0]),
        short(a[1]),
        trimmed(angle, 6)
    )
}
