//! Sections of what cannot be seen from outside: counterbores, countersinks, blind holes and holes from the edge, each kind cut along its
//! axis (ISO 128-3; threads after ISO 6410-1).

use super::views::minor;
use crate::font;
use crate::geometry::{P, hatching};
use crate::packet::dims::{DIM, Levels, Run, arrow, linear};
use crate::packet::seats::{self, Seat};
use crate::packet::taken::Taken;
use crate::scale::Scale;
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use machine::fitting::{Cut as Bored, Fitted};
use shop::joined::Joined;
use shop::letters::{kinds, letter};
use shop::part::{Opening as _, Plate, diameter};
use shop::words::{self, Units};
use std::f64::consts::FRAC_PI_4;

/// Most width and height of the metal that is shown, mm of paper: where there is room, and where there is little.
const MOST: [P; 2] = [[44.0, 36.0], [26.0, 22.0]];
/// Room for the name above, for depths beside, and between two sections, mm.
const HEAD: f64 = 7.0;
const BESIDE: f64 = 12.0;
/// From one depth to the next where they stand close, mm.
const APART: f64 = 3.9;
const BETWEEN: f64 = 4.0;
/// Distance of hatching lines, mm.
const HATCH: f64 = 1.8;

/// A hole cut along its axis: radii and depths from the face it is worked from, mm.
pub(super) struct Cut {
    name: String,
    /// The wall from the face down: radius and depth.
    wall: Vec<P>,
    /// Depth of the metal that is shown, and half its width.
    metal: P,
    /// It comes out in another hole.
    open: bool,
    /// The metal ends at its sides and goes on below (a hole from the edge), else the other way round.
    from_edge: bool,
    /// Its sides are broken off too.
    wide: bool,
    /// Most width and height of the metal on the paper.
    most: P,
    /// Major radius and length of a thread.
    thread: Option<P>,
    /// Depths that are written out.
    depths: Vec<f64>,
    units: Units,
}

/// What is drawn once more by itself.
pub(super) enum Shown<'a> {
    /// A hole cut along its axis.
    Cut(Cut),
    /// A seat of what holds the part on its shaft.
    Seat(Seat<'a>),
}

impl Shown<'_> {
    fn size(&self) -> P {
        match self {
            Self::Cut(c) => c.size(),
            Self::Seat(s) => s.size(),
        }
    }

    fn draw(&self, g: &mut Group, taken: &mut Taken, at: P) {
        match self {
            Self::Cut(c) => c.draw(g, taken, at),
            Self::Seat(s) => s.draw(g, taken, at),
        }
    }
}

/// The point of a drill: 118 degrees.
fn point(radius: f64) -> f64 {
    radius / 59_f64.to_radians().tan()
}

/// What needs a section on this plate.
pub(super) fn of<'a>(p: &Plate, joined: &'a [Joined], units: Units, roomy: bool) -> Vec<Shown<'a>> {
    let of_size = usize::from(!roomy);
    let most = MOST[of_size];
    let mut all = Vec::new();
    let (_, firsts) = kinds(p);
    for (k, &first) in firsts.iter().enumerate() {
        let h = &p.holes[first];
        let bore = h.counterbore.filter(|c| c[0] > h.diameter());
        let sink = h.countersink.filter(|d| *d > h.diameter());
        let blind = h.blind.filter(|b| *b < h.through - 1e-9);
        if bore.is_none() && sink.is_none() && blind.is_none() {
            continue;
        }
        let (r, thread) = walls(&h.fitted);
        let mut wall = Vec::new();
        let mut depths = Vec::new();
        let mut widest = h.diameter() / 2.0;
        let mut face = 0.0;
        if let Some([d, deep]) = bore {
            wall.extend([[d / 2.0, 0.0], [d / 2.0, deep]]);
            depths.push(deep);
            widest = d / 2.0;
            face = deep;
        } else if let Some(d) = sink {
            wall.push([d / 2.0, 0.0]);
            widest = d / 2.0;
            face = h.sunk();
        }
        wall.push([r, face]);
        let thread = thread.map(|(major, deep)| {
            let end = deep.unwrap_or(blind.unwrap_or(h.through));
            if end < h.through - 1e-9 {
                depths.push(end);
            }
            [major, end]
        });
        match blind {
            Some(b) => {
                wall.push([r, b]);
                // Bored and reamed seats have a flat bottom, drilled holes a point.
                let flat = match &h.fitted {
                    Fitted::Bearing { .. } | Fitted::Bushing { .. } => true,
                    Fitted::Plain { cut, .. } => *cut != Bored::Drill,
                    Fitted::Tapped { .. } => false,
                };
                let end = if flat {
                    b
                } else {
                    (b + point(r)).min(h.through)
                };
                wall.push([0.0, end]);
                depths.push(b);
            }
            None => wall.push([r, h.through]),
        }
        depths.push(h.through);
        all.push(Cut {
            name: letter(k),
            wall,
            metal: [h.through, widest + (0.6 * widest).max(2.0)],
            open: false,
            from_edge: false,
            wide: true,
            most,
            thread,
            depths,
            units,
        });
    }
    for (n, e) in p.edge_holes.iter().enumerate() {
        let same = |o: &shop::part::EdgeHole| o.fitted == e.fitted && o.depth == e.depth;
        if p.edge_holes.iter().take(n).any(same) {
            continue;
        }
        let (r, thread) = walls(&e.fitted);
        let open = super::edges::opens(p, e).is_some();
        let deep = super::edges::deep(p, e);
        let end = if open { deep } else { deep + point(r) };
        let mut depths = Vec::new();
        let thread = thread.map(|(major, long)| {
            let long = long.unwrap_or(deep).min(deep);
            depths.push(long);
            [major, long]
        });
        depths.push(deep);
        // Of a thick plate what is near the hole: that it lies in the middle is said.
        let (half, near) = (p.thickness / 2.0, (3.5 * r).max(r + 4.0));
        let alike: Vec<String> = (0..p.edge_holes.len())
            .filter(|&i| p.edge_holes.get(i).is_some_and(same))
            .map(|i| super::table::edge_name(p, i))
            .collect();
        all.push(Cut {
            name: alike.join(", "),
            wall: if open {
                vec![[r, 0.0], [r, deep]]
            } else {
                vec![[r, 0.0], [r, deep], [0.0, end]]
            },
            metal: [
                if open {
                    deep
                } else {
                    end + (0.25 * end).max(3.0)
                },
                half.min(near),
            ],
            open,
            from_edge: true,
            wide: near < half,
            most,
            thread,
            depths,
            units,
        });
    }
    for c in &mut all {
        c.depths.sort_by(f64::total_cmp);
        c.depths.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    }
    let seats = seats::of(joined, units, seats::MOST[of_size])
        .into_iter()
        .map(Shown::Seat);
    all.into_iter().map(Shown::Cut).chain(seats).collect()
}

/// Radius of the wall that is cut, and of a thread its major radius and length.
fn walls(fitted: &Fitted) -> (f64, Option<(f64, Option<f64>)>) {
    match fitted {
        Fitted::Tapped { thread, depth } => {
            (minor(thread) / 2.0, Some((thread.major / 2.0, *depth)))
        }
        other => (diameter(other) / 2.0, None),
    }
}

impl Cut {
    fn scale(&self) -> Scale {
        let most = (self.most[0] / (2.0 * self.metal[1])).min(self.most[1] / self.metal[0]);
        Scale::at_most(most.min(2.0))
    }

    fn title(&self) -> String {
        let what = if self.from_edge { "" } else { "hole " };
        format!("section {what}{}, {}", self.name, self.scale())
    }

    /// Width and height with all its lettering.
    fn size(&self) -> P {
        let k = self.scale().factor();
        let title = font::width(&self.title(), 2.2, Hand::Name);
        let texts = self.depths.iter().map(|d| {
            let text = words::length(*d, self.units);
            font::width(&text, DIM, Hand::Note)
        });
        let beside = BESIDE + texts.fold(0.0, f64::max);
        let listed = self.depths.len() as f64 * APART;
        let half = if self.from_edge && !self.wide {
            8.0 + font::width(&words::length(self.metal[1], self.units), DIM, Hand::Note)
        } else {
            0.0
        };
        [
            (4.0 + 2.0 * k * self.metal[1] + beside)
                .max(title + 2.0)
                .max(half),
            HEAD + self.over() + (k * self.metal[0]).max(listed) + 4.0,
        ]
    }

    /// Room between name and metal, mm.
    fn over(&self) -> f64 {
        if self.from_edge && !self.wide {
            10.0
        } else {
            0.0
        }
    }

    fn draw(&self, g: &mut Group, taken: &mut Taken, at: P) {
        let k = self.scale().factor();
        let [deep, half] = self.metal;
        let name = Lettering::new(
            [at[0], at[1] + 3.4],
            self.title(),
            2.2,
            Hold::Start,
            Hand::Name,
        );
        taken.rect(name.extent());
        g.letter(name);
        let top = at[1] + HEAD + self.over();
        let axis = at[0] + 4.0 + k * half;
        let put = |r: f64, z: f64| [axis + k * r, top + k * z];
        let mut own = Group::new("cut");
        // Metal left and right of the hole, joined under a blind one.
        let blind = self.wall.last().is_some_and(|w| w[0] < 1e-9);
        let left: Vec<P> = self.wall.iter().map(|w| put(-w[0], w[1])).collect();
        let right: Vec<P> = self.wall.iter().rev().map(|w| put(w[0], w[1])).collect();
        let corner = |r: f64, z: f64| put(r, z);
        let polygons: Vec<Vec<P>> = if blind {
            let mut one = vec![corner(-half, deep), corner(-half, 0.0)];
            one.extend(&left);
            one.extend(&right);
            one.extend([corner(half, 0.0), corner(half, deep)]);
            vec![one]
        } else {
            let mut one = vec![corner(-half, deep), corner(-half, 0.0)];
            one.extend(&left);
            let mut two = right.clone();
            two.extend([corner(half, 0.0), corner(half, deep)]);
            vec![one, two]
        };
        for polygon in &polygons {
            own.draw(
                Pen::Hatch,
                Shape::Strokes(hatching(polygon, FRAC_PI_4, HATCH)),
            );
        }
        own.draw(Pen::Wide, Shape::poly(&left, false));
        own.draw(Pen::Wide, Shape::poly(&right, false));
        let mouth = self.wall.first().map_or(0.0, |w| w[0]);
        let face = |r: f64, z: f64, s: f64| [put(s * r, z), put(s * half, z)];
        own.draw(
            Pen::Wide,
            Shape::Strokes(vec![face(mouth, 0.0, 1.0), face(mouth, 0.0, -1.0)]),
        );
        // Edges beyond the cut, from wall to wall.
        for w in self.wall.iter().filter(|w| w[0] > 1e-9) {
            own.draw(Pen::Wide, Shape::line(put(-w[0], w[1]), put(w[0], w[1])));
        }
        let foot = self.wall.last().map_or(0.0, |w| w[0]);
        if self.from_edge {
            for s in [1.0, -1.0] {
                let (a, b) = (put(s * half, 0.0), put(s * half, deep));
                if self.wide {
                    own.draw(Pen::Narrow, broken(a, b));
                } else {
                    own.draw(Pen::Wide, Shape::line(a, b));
                }
            }
            if self.open {
                let faces = vec![face(foot, deep, 1.0), face(foot, deep, -1.0)];
                own.draw(Pen::Wide, Shape::Strokes(faces));
            } else {
                own.draw(Pen::Narrow, broken(put(-half, deep), put(half, deep)));
            }
        } else {
            let ends = if blind { 0.0 } else { foot };
            own.draw(
                Pen::Wide,
                Shape::Strokes(vec![face(ends, deep, 1.0), face(ends, deep, -1.0)]),
            );
            for s in [1.0, -1.0] {
                own.draw(Pen::Narrow, broken(put(s * half, 0.0), put(s * half, deep)));
            }
        }
        if let Some([major, end]) = self.thread {
            let start = self.wall.iter().map(|w| w[1]).next().unwrap_or(0.0);
            for s in [1.0, -1.0] {
                own.draw(
                    Pen::Narrow,
                    Shape::line(put(s * major, start), put(s * major, end)),
                );
            }
            if end < deep - 1e-9 {
                own.draw(Pen::Wide, Shape::line(put(-major, end), put(major, end)));
            }
        }
        own.draw(
            Pen::Chain,
            Shape::line([axis, top - 3.0], [axis, top + k * deep + 2.0]),
        );
        taken.group(&own);
        g.groups.push(own);
        let x = axis + k * half;
        self.running(g, taken, x, top, k);
        if self.from_edge && !self.wide {
            let levels = Levels {
                first: top - 5.0,
                side: -1.0,
                alone: false,
            };
            let ends = [[axis - k * half, top], [axis, top]];
            let text = words::length(half, self.units);
            linear(g, taken, ends, Run::Level, levels, &text);
        }
    }
}

impl Cut {
    /// Depths from the face by one running dimension: a dot at the face, an arrow at each depth, the figures at the ends of the lines
    /// (ISO 129-1, running dimensioning).
    fn running(&self, g: &mut Group, taken: &mut Taken, x: f64, top: f64, k: f64) {
        let line = x + 5.0;
        let deepest = self.depths.iter().fold(0.0_f64, |m, d| m.max(*d));
        let mut own = Group::new("depths");
        own.put(
            Some(Pen::Narrow),
            Fill::Ground,
            Shape::Circle {
                centre: [line, top],
                radius: 0.7,
            },
        );
        own.draw(Pen::Narrow, Shape::line([x + 1.0, top], [line - 0.7, top]));
        own.draw(
            Pen::Narrow,
            Shape::line([line, top + 0.7], [line, top + k * deepest]),
        );
        let mut next = top;
        for d in &self.depths {
            let y = top + k * d;
            let at = y.max(next);
            next = at + APART;
            let points = [
                [x + 1.0, y],
                [line + 1.5, y],
                [line + 3.5, at],
                [line + 5.0, at],
            ];
            own.draw(Pen::Narrow, Shape::poly(&points, false));
            arrow(&mut own, [line, y], [0.0, 1.0]);
            own.letter(Lettering::new(
                [line + 5.6, at + DIM / 2.0],
                words::length(*d, self.units),
                DIM,
                Hold::Start,
                Hand::Note,
            ));
        }
        taken.group(&own);
        g.groups.push(own);
    }
}

/// The thin line of a piece that is broken off.
fn broken(a: P, b: P) -> Shape {
    let d = [b[0] - a[0], b[1] - a[1]];
    let long = d[0].hypot(d[1]).max(1e-9);
    let n = [-d[1] / long, d[0] / long];
    let steps = 6;
    let points: Vec<P> = (0..=steps)
        .map(|i| {
            let t = f64::from(i) / f64::from(steps);
            let off = match i {
                0 | 6 => 0.0,
                i if i % 2 == 0 => 0.5,
                _ => -0.5,
            };
            [a[0] + t * d[0] + off * n[0], a[1] + t * d[1] + off * n[1]]
        })
        .collect();
    Shape::poly(&points, false)
}

/// Where each would stand in rows of this width: upper left corners, and the height of all.
fn rows(cuts: &[Shown], wide: f64) -> (Vec<P>, f64) {
    let (mut x, mut y, mut tall) = (0.0, 0.0, 0.0_f64);
    let mut places = Vec::new();
    for c in cuts {
        let [w, h] = c.size();
        if x > 0.0 && x + w > wide {
            y += tall + BETWEEN;
            (x, tall) = (0.0, 0.0);
        }
        places.push([x, y]);
        x += w + BETWEEN;
        tall = tall.max(h);
    }
    (places, y + tall)
}

/// Height in rows of this width, and the width of the widest.
pub(super) fn stacked(cuts: &[Shown], wide: f64) -> (f64, f64) {
    let widest = cuts.iter().map(|c| c.size()[0]).fold(0.0, f64::max);
    (rows(cuts, wide).1, widest)
}

pub(super) fn draw(g: &mut Group, taken: &mut Taken, cuts: &[Shown], at: P, wide: f64) {
    for (c, [x, y]) in cuts.iter().zip(rows(cuts, wide).0) {
        c.draw(g, taken, [at[0] + x, at[1] + y]);
    }
}
