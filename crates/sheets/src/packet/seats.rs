//! Seats of what holds an arm on its shaft: keyways, set screws, the slit with its screw. Each is drawn on the view of its part, and once more
//! by itself, seen along the shaft, with its sizes.

use super::dims::{DIM, Levels, Run, View, leader, linear};
use super::plate::minor;
use super::taken::Taken;
use crate::font;
use crate::geometry::{P, at_angle};
use crate::scale::Scale;
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use shop::joined::{Joined, Keyway, SLIT, What, clearance};
use shop::words::{self, Units};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Most of the hub or shaft on the paper, mm: where there is room, and where there is little.
pub(super) const MOST: [f64; 2] = [48.0, 30.0];
/// Least room down the side, mm: a depth is written upright there.
const UPRIGHT: f64 = 32.0;
/// Room for the name and for sizes: above, left and right of the round, below a seat that looks down, mm.
const HEAD: f64 = 7.0;
const OVER: f64 = 12.0;
const LEFT: f64 = 16.0;
const RIGHT: f64 = 38.0;
const UNDER: f64 = 3.0;
/// Of a hub that is larger than this over its bore only what lies round the bore is drawn.
const LARGE: f64 = 2.2;

/// A seat that is drawn by itself.
pub(super) struct Seat<'a> {
    joined: &'a Joined,
    units: Units,
    most: f64,
}

/// What of these has a shape of its own.
pub(super) fn of(joined: &[Joined], units: Units, most: f64) -> Vec<Seat<'_>> {
    let shaped = |j: &&Joined| match &j.what {
        What::Key(_) => true,
        What::SetScrew { .. } | What::Pinch { .. } => !j.in_shaft,
        What::Pin(_) | What::Nothing => false,
    };
    let seat = |joined| Seat {
        joined,
        units,
        most,
    };
    joined.iter().filter(shaped).map(seat).collect()
}

impl Seat<'_> {
    fn radius(&self) -> f64 {
        let j = self.joined;
        if j.in_shaft {
            j.shaft / 2.0
        } else if self.is_part() {
            LARGE * j.shaft / 2.0
        } else {
            j.hub.max(j.shaft) / 2.0
        }
    }

    /// Only what lies round its bore is drawn: nothing of the seat reaches further out.
    fn is_part(&self) -> bool {
        let j = self.joined;
        !j.in_shaft && matches!(j.what, What::Key(_)) && j.hub > LARGE * j.shaft
    }

    /// Quarter turns from upward to where it looks on the view of its part; none where it stands aslant there and is drawn upward.
    fn quarters(&self) -> Option<u8> {
        if self.joined.in_shaft {
            return Some(0);
        }
        let turns = (self.joined.angle - FRAC_PI_2) / FRAC_PI_2;
        let whole = turns.round();
        ((turns - whole).abs() < 1e-6).then_some(whole.rem_euclid(4.0) as u8)
    }

    fn scale(&self) -> Scale {
        Scale::at_most((self.most / (2.0 * self.radius())).min(2.0))
    }

    fn title(&self) -> String {
        let other = words::spoken(&self.joined.other);
        let what = match &self.joined.what {
            What::Key(_) => "keyway for",
            What::SetScrew { .. } => "set screw on",
            _ => "pinched on",
        };
        let turned = if self.quarters().is_none() {
            ", turned to stand up"
        } else {
            ""
        };
        format!("{what} {other}, {}{turned}", self.scale())
    }

    /// Width and height with its lettering.
    pub(super) fn size(&self) -> P {
        let round = 2.0 * self.radius() * self.scale().factor();
        let title = font::width(&self.title(), 2.2, Hand::Name) + 2.0;
        [
            (self.left() + round + self.right()).max(title),
            HEAD + OVER + round.max(UPRIGHT) + self.under(),
        ]
    }

    /// Depth of a keyway as it is written.
    fn depth(&self, key: &Keyway) -> String {
        let l = |x: f64| words::length(x, self.units);
        let deep = if self.joined.in_shaft {
            key.in_shaft
        } else {
            self.joined.shaft + key.in_hub
        };
        format!("{} (+{} / 0)", l(deep), l(key.over))
    }

    /// Width of a keyway as it is written.
    fn width(&self, key: &Keyway) -> String {
        words::sized(key.width, self.joined.keyway_width().as_ref(), self.units)
    }

    /// Room to the left of the round, mm: the width of a keyway that looks there is written level.
    fn left(&self) -> f64 {
        match (&self.joined.what, self.quarters()) {
            (What::Key(key), Some(1)) => 16.0 + font::width(&self.width(key), DIM, Hand::Note),
            _ => LEFT,
        }
    }

    /// Room to the right of the round, mm: a depth is written level there.
    fn right(&self) -> f64 {
        match &self.joined.what {
            What::Key(key) => {
                let texts = [self.depth(key), self.width(key)];
                let widths = texts.map(|t| font::width(&t, DIM, Hand::Note));
                RIGHT.max(16.0 + widths[0].max(widths[1]))
            }
            _ => RIGHT,
        }
    }

    /// Room below the round, mm.
    fn under(&self) -> f64 {
        match self.quarters() {
            Some(2) => OVER + UNDER,
            _ => UNDER,
        }
    }

    /// Draws it with its upper left corner here, the seat as it looks on the view of its part.
    pub(super) fn draw(&self, g: &mut Group, taken: &mut Taken, at: P) {
        let (j, k) = (self.joined, self.scale().factor());
        let name = [at[0], at[1] + 3.4];
        let name = Lettering::new(name, self.title(), 2.2, Hold::Start, Hand::Name);
        taken.rect(name.extent());
        g.letter(name);
        let big = self.radius();
        let centre = [at[0] + self.left() + k * big, at[1] + HEAD + OVER + k * big];
        let v = View { origin: centre, k };
        let mut own = Group::new("seat");
        own.shift = centre;
        let o = v.own();
        let mut circle = |pen: Pen, r: f64| {
            let radius = k * r;
            own.draw(
                pen,
                Shape::Circle {
                    centre: [0.0; 2],
                    radius,
                },
            );
        };
        circle(
            if self.is_part() {
                Pen::Hatch
            } else {
                Pen::Wide
            },
            big,
        );
        if !j.in_shaft {
            circle(Pen::Wide, j.shaft / 2.0);
        }
        let reach = k * big + 3.0;
        own.draw(
            Pen::Chain,
            Shape::Strokes(vec![
                [[-reach, 0.0], [reach, 0.0]],
                [[0.0, -reach], [0.0, reach]],
            ]),
        );
        let quarters = self.quarters().unwrap_or(0);
        let looks = FRAC_PI_2 * (1.0 + f64::from(quarters));
        cut(&mut own, j, [0.0; 2], looks, o);
        taken.group(&own);
        g.groups.push(own);
        // A place of the seat standing up, as it is turned.
        let place = |[x, y]: P| {
            v.at(match quarters {
                0 => [x, y],
                1 => [-y, x],
                2 => [-x, -y],
                _ => [y, -x],
            })
        };
        let top = Levels {
            first: v.at([0.0, big])[1] - 6.0,
            side: -1.0,
            alone: true,
        };
        let foot = Levels {
            first: v.at([0.0, -big])[1] + 6.0,
            side: 1.0,
            alone: true,
        };
        let right = Levels {
            first: v.at([big, 0.0])[0] + 7.0,
            side: 1.0,
            alone: true,
        };
        let left = Levels {
            first: v.at([-big, 0.0])[0] - 6.0,
            side: -1.0,
            alone: true,
        };
        // Widths stand beyond the seat, depths beside it.
        let (beyond, beside) = match quarters {
            0 => ((Run::Level, top), (Run::Upright, right)),
            1 => ((Run::Upright, left), (Run::Level, top)),
            2 => ((Run::Level, foot), (Run::Upright, right)),
            _ => ((Run::Upright, right), (Run::Level, top)),
        };
        let turn = FRAC_PI_2 * f64::from(quarters);
        let l = |x: f64| words::length(x, self.units);
        let across = |g: &mut Group, taken: &mut Taken, half: f64, y: f64, text: &str| {
            let ends = [place([-half, y]), place([half, y])];
            linear(g, taken, ends, beyond.0, beyond.1, text);
        };
        let upright = |g: &mut Group, taken: &mut Taken, from: P, to: P, text: &str| {
            linear(g, taken, [place(from), place(to)], beside.0, beside.1, text);
        };
        match &j.what {
            What::Key(key) => {
                let (half, low, high) = walls(j, key);
                let width = self.width(key);
                let edge = if j.in_shaft { low } else { high };
                across(g, taken, half, edge, &width);
                let text = self.depth(key);
                if j.in_shaft {
                    // The depth from the side of the shaft.
                    upright(g, taken, [half, low], [0.0, big], &text);
                } else {
                    upright(g, taken, [0.0, -j.shaft / 2.0], [half, high], &text);
                }
            }
            What::SetScrew { thread, count } => {
                let times = if *count > 1 {
                    format!("{count} x ")
                } else {
                    String::new()
                };
                let tip = place([thread.major / 2.0, 0.75 * big]);
                leader(
                    g,
                    taken,
                    tip,
                    0.4 + turn,
                    &format!("{times}{}", thread.name),
                );
            }
            What::Pinch { thread, count } => {
                across(g, taken, SLIT / 2.0, big, &l(SLIT));
                let y = j.screw_at(thread.major);
                upright(g, taken, [0.0, 0.0], [0.4 * big, y], &l(y));
                let times = if *count > 1 {
                    format!("{count} x ")
                } else {
                    String::new()
                };
                let out = half_at(big, y);
                let tip = place([0.6 * out, y + thread.major / 2.0]);
                leader(
                    g,
                    taken,
                    tip,
                    0.9 + turn,
                    &format!("{times}{}", thread.name),
                );
                let d = clearance(thread.major);
                let tip = place([-0.6 * out, y + d / 2.0]);
                leader(g, taken, tip, 2.2 + turn, &format!("⌀{}", l(d)));
            }
            What::Pin(_) | What::Nothing => {}
        }
    }
}

/// Half the width of a round at a height.
fn half_at(radius: f64, y: f64) -> f64 {
    (radius * radius - y * y).max(0.0).sqrt()
}

/// Half the width of a keyway, and how far its ends lie from the axis.
fn walls(j: &Joined, key: &Keyway) -> (f64, f64, f64) {
    let (r, half) = (j.shaft / 2.0, key.width / 2.0);
    if j.in_shaft {
        (half, r - key.in_shaft, r)
    } else {
        (half, half_at(r, half), r + key.in_hub)
    }
}

/// A seat as it is seen along the shaft: its axis at `centre`, itself in this direction. The rounds it cuts are drawn already.
pub(super) fn cut(g: &mut Group, j: &Joined, centre: P, angle: f64, v: View) {
    let (d, n) = (at_angle_up(angle), at_angle_up(angle + FRAC_PI_2));
    let put = |along: f64, beside: f64| {
        v.at([
            centre[0] + along * d[0] + beside * n[0],
            centre[1] + along * d[1] + beside * n[1],
        ])
    };
    let hub = j.hub.max(j.shaft) / 2.0;
    match &j.what {
        What::Key(key) => {
            let (half, low, high) = walls(j, key);
            // What it takes of the round goes.
            let far = if j.in_shaft { high + 0.4 / v.k } else { high };
            let near = if j.in_shaft { low } else { low - 0.4 / v.k };
            let blank = [[near, -half], [far, -half], [far, half], [near, half]];
            g.put(
                None,
                Fill::Ground,
                Shape::poly(&blank.map(|q| put(q[0], q[1])), true),
            );
            let (open, floor) = if j.in_shaft {
                (half_at(high, half), low)
            } else {
                (low, high)
            };
            let wall = [[open, -half], [floor, -half], [floor, half], [open, half]];
            g.draw(
                Pen::Wide,
                Shape::poly(&wall.map(|q| put(q[0], q[1])), false),
            );
        }
        What::SetScrew { thread, count } => {
            for i in 0..*count {
                let more = f64::from(i) * FRAC_PI_2;
                let (d, n) = (
                    at_angle_up(angle + more),
                    at_angle_up(angle + more + FRAC_PI_2),
                );
                let line = |beside: f64| {
                    let q = |along: f64| {
                        v.at([
                            centre[0] + along * d[0] + beside * n[0],
                            centre[1] + along * d[1] + beside * n[1],
                        ])
                    };
                    Shape::line(q(j.shaft / 2.0), q(hub))
                };
                let (minor, major) = (minor(thread) / 2.0, thread.major / 2.0);
                for beside in [minor, -minor, major, -major] {
                    g.draw(Pen::Dashed, line(beside));
                }
            }
        }
        What::Pinch { thread, .. } => {
            let (r, half) = (j.shaft / 2.0, SLIT / 2.0);
            let (near, far) = (half_at(r, half), half_at(hub, half));
            let blank = [
                [near - 0.4 / v.k, -half],
                [far + 0.6 / v.k, -half],
                [far + 0.6 / v.k, half],
                [near - 0.4 / v.k, half],
            ];
            g.put(
                None,
                Fill::Ground,
                Shape::poly(&blank.map(|q| put(q[0], q[1])), true),
            );
            for s in [half, -half] {
                g.draw(Pen::Wide, Shape::line(put(near, s), put(far, s)));
            }
            // The screw across: clearance on the one side, thread on the other.
            let at = j.screw_at(thread.major);
            let out = half_at(hub, at);
            let (minor, major) = (minor(thread) / 2.0, thread.major / 2.0);
            let free = clearance(thread.major) / 2.0;
            for (offset, way) in [
                (free, 1.0),
                (-free, 1.0),
                (minor, -1.0),
                (-minor, -1.0),
                (major, -1.0),
                (-major, -1.0),
            ] {
                let line = Shape::line(put(at + offset, way * half), put(at + offset, way * out));
                g.draw(Pen::Dashed, line);
            }
            g.draw(
                Pen::Chain,
                Shape::line(put(at, out + 2.0 / v.k), put(at, -out - 2.0 / v.k)),
            );
        }
        What::Pin(_) | What::Nothing => {}
    }
}

/// A direction in the part, y up.
fn at_angle_up(angle: f64) -> P {
    let d = at_angle(angle.rem_euclid(TAU));
    [d[0], -d[1]]
}

/// All of them in rows of this width from here on; gives how tall they are.
pub(super) fn rows(seats: &[Seat], wide: f64, draw: Option<(&mut Group, &mut Taken, P)>) -> f64 {
    let mut places = Vec::new();
    let (mut x, mut y, mut tall) = (0.0, 0.0, 0.0_f64);
    for s in seats {
        let [w, h] = s.size();
        if x > 0.0 && x + w > wide {
            (x, y, tall) = (0.0, y + tall + 2.0, 0.0);
        }
        places.push([x, y]);
        x += w + 3.0;
        tall = tall.max(h);
    }
    if let Some((g, taken, at)) = draw {
        for (s, [x, y]) in seats.iter().zip(&places) {
            s.draw(g, taken, [at[0] + x, at[1] + y]);
        }
    }
    y + tall
}
