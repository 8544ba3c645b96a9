//! Dimensions after ISO 129-1 and the placing of lettering: nothing on top of anything.

use super::taken::Taken;
use crate::font;
use crate::geometry::{P, Rect, add, along, at_angle, direction, length, square, sub};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};

/// Height of dimensions, mm.
pub(super) const DIM: f64 = 2.5;
/// Length of an arrow, mm.
const ARROW: f64 = 2.5;
/// Longer lettering of an upright dimension is written level, mm.
const LONG: f64 = 16.0;
/// From one dimension line to the next, mm.
pub(super) const LEVEL: f64 = 7.0;
/// From the outline to the first dimension line, mm.
pub(super) const FIRST: f64 = 8.0;

/// From a part to the paper.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// Where the part's origin lies.
    pub(super) origin: P,
    /// Paper for one mm of the part.
    pub(super) k: f64,
}

impl View {
    pub(super) fn at(&self, p: P) -> P {
        [
            self.origin[0] + self.k * p[0],
            self.origin[1] - self.k * p[1],
        ]
    }

    /// The same view in a group that is moved to its origin: what is drawn in it counts from the part's own datum, and no figure of it is lost
    /// to the place on the paper.
    pub(super) fn own(&self) -> Self {
        Self {
            origin: [0.0, 0.0],
            k: self.k,
        }
    }
}

/// A filled arrow at `tip`, pointing along `d`.
pub(super) fn arrow(g: &mut Group, tip: P, d: P) {
    let back = along(tip, d, -ARROW);
    let n = square(d);
    g.put(
        Some(Pen::Narrow),
        Fill::Ink,
        Shape::poly(
            &[
                tip,
                along(back, n, ARROW / 6.0),
                along(back, n, -ARROW / 6.0),
            ],
            true,
        ),
    );
}

/// Which way a dimension line runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Run {
    /// Across the sheet.
    Level,
    /// Up the sheet.
    Upright,
}

/// Where a dimension may stand: its first line, and which way the next ones lie (1 down or right, -1 up or left).
#[derive(Clone, Copy, Debug)]
pub(super) struct Levels {
    pub(super) first: f64,
    pub(super) side: f64,
    /// No other stands beyond it, so that its lettering may reach out.
    pub(super) alone: bool,
}

/// Where the lettering of a dimension would stand.
struct Place {
    at: P,
    line: [P; 2],
    lead: Option<[P; 2]>,
    /// A unit on each side of the line.
    split: bool,
}

/// How a linear dimension would be drawn.
struct Linear {
    ends: [P; 2],
    /// Extension lines.
    help: Vec<[P; 2]>,
    /// One line, or a line on each side of the dimension line.
    texts: Vec<Lettering>,
    /// The line with what of it runs beyond the arrows.
    line: [P; 2],
    /// Arrows stand outside and point in.
    outside: bool,
    /// From the line to lettering that stands off it.
    lead: Option<[P; 2]>,
}

impl Linear {
    fn cost(&self, taken: &Taken) -> f64 {
        // Between its arrows; its ends may touch what others of a chain end on.
        let d = direction(self.ends[0], self.ends[1]);
        let inner = length(sub(self.ends[1], self.ends[0])).min(2.0) / 2.0;
        let (from, to) = (
            along(self.ends[0], d, inner),
            along(self.ends[1], d, -inner),
        );
        let n = [0.4 * d[1].abs(), 0.4 * d[0].abs()];
        let thin = Rect::new(sub(from, n), add(to, n));
        let texts = self.texts.iter();
        let lettered = texts.map(|t| taken.under(t.extent().grown(0.25)));
        let mut cost = lettered.sum::<f64>() + 0.5 * taken.under(thin);
        cost += taken.pierced(self.line[0], self.line[1]);
        if let Some([a, b]) = self.lead {
            cost += taken.pierced(a, b) + taken.crossed(a, b) + 3.0;
        }
        for [a, b] in &self.help {
            cost += taken.pierced(*a, *b);
        }
        cost
    }

    fn draw(self, g: &mut Group, taken: &mut Taken) {
        for [a, b] in &self.help {
            g.draw(Pen::Narrow, Shape::line(*a, *b));
            taken.line(*a, *b);
        }
        let [p, q] = self.ends;
        let d = direction(p, q);
        let inward = if self.outside { 1.0 } else { -1.0 };
        g.draw(Pen::Narrow, Shape::line(self.line[0], self.line[1]));
        if let Some([a, b]) = self.lead {
            g.draw(Pen::Narrow, Shape::line(a, b));
            taken.line(a, b);
        }
        arrow(g, p, [inward * d[0], inward * d[1]]);
        arrow(g, q, [-inward * d[0], -inward * d[1]]);
        taken.line(self.line[0], self.line[1]);
        for text in self.texts {
            taken.rect(text.extent());
            g.letter(text);
        }
    }
}

/// A length between two places on the paper on the first of its levels where least is in the way; gives the level it stands on.
pub(super) fn linear(
    g: &mut Group,
    taken: &mut Taken,
    [a, b]: [P; 2],
    run: Run,
    levels: Levels,
    text: &str,
) -> f64 {
    let upright = run == Run::Upright;
    let text = font::clean(text);
    let width = font::width(&text, DIM, Hand::Note);
    // A second unit may stand on the other side of the line, which takes half as long.
    let plain = text.matches('[').count() == 1
        && (text.ends_with(']') || text.starts_with('(') && text.ends_with("])"));
    let halves = text.split_once(" [").filter(|_| plain).map(|(a, b)| {
        let close = if a.starts_with('(') { ")" } else { "" };
        let b = b.trim_end_matches(')');
        [format!("{a}{close}"), format!("[{b}")]
    });
    let half = halves.as_ref().map(|h| {
        let each = h.iter().map(|t| font::width(t, DIM, Hand::Note));
        each.fold(0.0, f64::max)
    });
    let mut best: Option<(f64, f64, Linear)> = None;
    for level in 0..6 {
        let off = levels.first + levels.side * LEVEL * f64::from(level);
        let put = |p: P| if upright { [off, p[1]] } else { [p[0], off] };
        let (p, q) = (put(a), put(b));
        let d = direction(p, q);
        let long = length(sub(q, p));
        let help: Vec<[P; 2]> = [(a, p), (b, q)]
            .into_iter()
            .filter(|(from, to)| length(sub(*to, *from)) > 2.0)
            .map(|(from, to)| {
                let d = direction(from, to);
                [along(from, d, 1.0), along(to, d, 1.5)]
            })
            .collect();
        let outside = long <= 2.0 * ARROW + 1.0;
        let middle = [f64::midpoint(p[0], q[0]), f64::midpoint(p[1], q[1])];
        let mut places: Vec<Place> = Vec::new();
        let mut level_ones: Vec<(P, [P; 2])> = Vec::new();
        let bare = if outside {
            [along(p, d, -5.0), along(q, d, 5.0)]
        } else {
            [p, q]
        };
        let between = |width: f64, split: bool| {
            let room = (long - width - 1.0) / 2.0;
            let shares: &[f64] = if room > 0.0 {
                &[0.0, 0.5, -0.5, 0.9, -0.9]
            } else {
                &[]
            };
            let each = shares.iter().map(move |share| Place {
                at: along(middle, d, share * room),
                line: bare,
                lead: None,
                split,
            });
            each.collect::<Vec<Place>>()
        };
        // Beyond one of the arrows; the line is drawn on under the lettering.
        let beyond = |width: f64, split: bool| {
            let each = [6.0, 9.0, 13.0, 20.0].into_iter().flat_map(move |far| {
                let end = far + width / 2.0;
                let to = end + width / 2.0;
                [
                    (along(q, d, end), [bare[0], along(q, d, to)]),
                    (along(p, d, -end), [along(p, d, -to), bare[1]]),
                ]
            });
            let place = move |(at, line)| Place {
                at,
                line,
                lead: None,
                split,
            };
            each.map(place).collect::<Vec<Place>>()
        };
        places.extend(between(width, false));
        if places.is_empty()
            && let Some(half) = half
        {
            places.extend(between(half, true));
            if places.is_empty() {
                places.extend(beyond(half, true));
            }
        }
        if places.is_empty() || long <= width + 1.0 {
            places.extend(beyond(width, false));
            // Or off the line, on a leader from its middle.
            let out = if upright {
                [levels.side, 0.0]
            } else {
                [0.0, levels.side]
            };
            if upright && levels.alone {
                // Written level beside it.
                let ends = [6.0, 10.0, 15.0].map(|off| along(middle, out, off));
                let aside = ends
                    .into_iter()
                    .flat_map(|e| [0.0, 5.0, -5.0, 10.0, -10.0].map(|up| [e[0], e[1] + up]));
                level_ones.extend(aside.map(|end| (end, [middle, end])));
            }
            for off in [5.5, 9.0, -5.5] {
                for way in [1.0, -1.0] {
                    let near = along(along(middle, out, off), d, way * 2.5);
                    let at = along(near, d, way * (width / 2.0 + 0.5));
                    // The lettering stands 1 above its place, its middle over the leader's end.
                    let lift = 1.0 - DIM / 2.0;
                    let at = if upright {
                        [at[0] + lift + DIM, at[1]]
                    } else {
                        [at[0], at[1] + lift + DIM]
                    };
                    places.push(Place {
                        at,
                        line: bare,
                        lead: Some([middle, near]),
                        split: false,
                    });
                }
            }
        }
        for (n, place) in places.into_iter().enumerate() {
            let lettering = |text: &str, by: f64| {
                let at = if upright {
                    [place.at[0] + by, place.at[1]]
                } else {
                    [place.at[0], place.at[1] + by]
                };
                let mut l = Lettering::new(at, text, DIM, Hold::Middle, Hand::Note);
                l.upright = upright;
                l
            };
            let texts = match &halves {
                Some([a, b]) if place.split => vec![lettering(a, -1.0), lettering(b, 1.0 + DIM)],
                _ => vec![lettering(&text, -1.0)],
            };
            let one = Linear {
                ends: [p, q],
                help: help.clone(),
                texts,
                line: place.line,
                outside,
                lead: place.lead,
            };
            let cost = one.cost(taken) + 4.0 * f64::from(level) + 0.3 * n as f64;
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, off, one));
            }
        }
        for (n, (end, lead)) in level_ones.into_iter().enumerate() {
            let hold = if levels.side > 0.0 {
                Hold::Start
            } else {
                Hold::End
            };
            let at = [end[0] + levels.side * 0.6, end[1] + DIM / 2.0];
            let one = Linear {
                ends: [p, q],
                help: help.clone(),
                texts: vec![Lettering::new(at, text.clone(), DIM, hold, Hand::Note)],
                line: bare,
                outside,
                lead: Some(lead),
            };
            // Long lettering reads better so than on its side.
            let bonus = if half.unwrap_or(width) > LONG {
                -6.0
            } else {
                0.0
            };
            let cost = one.cost(taken) + bonus + 4.0 * f64::from(level) + 0.3 * n as f64;
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, off, one));
            }
        }
        // Nothing in the way: further out it only gets worse.
        if best
            .as_ref()
            .is_some_and(|b| b.0 < 4.0 * f64::from(level + 1))
        {
            break;
        }
    }
    let Some((_, off, one)) = best else {
        return levels.first;
    };
    one.draw(g, taken);
    off
}

/// A leader that was found.
struct Led {
    cost: f64,
    tip: P,
    elbow: P,
    end: P,
    rect: Rect,
    right: bool,
}

/// A longer text on a leader is broken, mm.
const BROKEN: f64 = 44.0;

/// The lines of a text on a leader, and the width of the longest.
pub(super) fn lines_of(text: &str) -> (Vec<String>, f64) {
    broken_at(text, BROKEN)
}

/// The same, broken where it is wider than this.
pub(super) fn broken_at(text: &str, most: f64) -> (Vec<String>, f64) {
    // Limits in brackets are not torn.
    let kept: String = {
        let mut inside = false;
        let each = font::clean(text);
        each.chars()
            .map(|c| {
                inside = (inside || c == '(' || c == '[') && c != ')' && c != ']';
                if inside && c == ' ' { '\u{a0}' } else { c }
            })
            .collect()
    };
    let text = if font::width(&kept, DIM, Hand::Note) > most {
        kept
    } else {
        font::clean(text)
    };
    let lines = font::wrapped(&text, DIM, Hand::Note, most);
    let widths = lines.iter().map(|l| font::width(l, DIM, Hand::Note));
    let most = widths.fold(0.0, f64::max);
    (lines, most)
}

/// Tries a leader from `tip` out along `d`, its text of so many lines beyond the elbow.
fn led(taken: &Taken, tip: P, d: P, far: f64, (lines, width): (usize, f64)) -> Led {
    let elbow = along(tip, d, far);
    let right = d[0] >= 0.0;
    let end = add(elbow, [if right { 2.0 } else { -2.0 }, 0.0]);
    let left = if right {
        end[0] + 0.6
    } else {
        end[0] - 0.6 - width
    };
    let base = end[1] + DIM / 2.0;
    let more = lines.saturating_sub(1) as f64 * font::pitch(DIM);
    let rect = Rect::new(
        [left, base - font::above(DIM)],
        [left + width, base + more + font::below(DIM)],
    );
    // The tip touches what it points at.
    let start = along(tip, d, 0.6);
    let cost = taken.under(rect.grown(0.3))
        + taken.pierced(start, elbow)
        + taken.pierced(elbow, end)
        + taken.crossed(start, elbow);
    Led {
        cost,
        tip,
        elbow,
        end,
        rect,
        right,
    }
}

fn draw_led(g: &mut Group, taken: &mut Taken, led: &Led, lines: Vec<String>) {
    let Led {
        tip,
        elbow,
        end,
        rect,
        right,
        ..
    } = *led;
    g.draw(Pen::Narrow, Shape::poly(&[tip, elbow, end], false));
    arrow(g, tip, direction(elbow, tip));
    let (x, hold) = if right {
        (end[0] + 0.6, Hold::Start)
    } else {
        (end[0] - 0.6, Hold::End)
    };
    for (n, line) in lines.into_iter().enumerate() {
        let y = end[1] + DIM / 2.0 + n as f64 * font::pitch(DIM);
        g.letter(Lettering::new([x, y], line, DIM, hold, Hand::Note));
    }
    taken.rect(rect);
    taken.line(tip, elbow);
    taken.line(elbow, end);
}

/// A text on a leader to `tip` (with an arrow) from one of many places round it, where least is in the way.
pub(super) fn leader(g: &mut Group, taken: &mut Taken, tip: P, outward: f64, text: &str) {
    leader_of(g, taken, tip, outward, lines_of(text));
}

/// The same with these lines, the longest so wide; says how much is in its way.
pub(super) fn leader_of(
    g: &mut Group,
    taken: &mut Taken,
    tip: P,
    outward: f64,
    (lines, width): (Vec<String>, f64),
) -> f64 {
    let mut best: Option<Led> = None;
    for ring in 0..16 {
        for turn in 0..23 {
            let off = f64::from((turn + 1) / 2) * if turn % 2 == 0 { 0.26 } else { -0.26 };
            let far = 6.0 + 5.0 * f64::from(ring);
            let d = at_angle(outward + off);
            let mut one = led(taken, tip, d, far, (lines.len(), width));
            one.cost += 1.2 * f64::from(ring) + 0.5 * off.abs();
            if best.as_ref().is_none_or(|b| one.cost < b.cost) {
                best = Some(one);
            }
        }
        let next = 1.2 * f64::from(ring + 1);
        if best.as_ref().is_some_and(|b| b.cost < next) {
            break;
        }
    }
    best.map_or(0.0, |best| {
        draw_led(g, taken, &best, lines);
        best.cost
    })
}

/// An arc on the paper: angles as on the machine.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arc {
    pub(super) centre: P,
    pub(super) radius: f64,
    pub(super) from: f64,
    pub(super) sweep: f64,
}

/// A radius or a diameter on a leader square to one of its arcs, from outside or from within.
pub(super) fn radius(g: &mut Group, taken: &mut Taken, arcs: &[Arc], text: &str) {
    let (lines, width) = lines_of(text);
    let mut best: Option<Led> = None;
    for ring in 0..9 {
        let far = 5.0 + 4.0 * f64::from(ring);
        for (n, arc) in arcs.iter().enumerate() {
            for (m, share) in [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92]
                .into_iter()
                .enumerate()
            {
                let out = at_angle(arc.from + share * arc.sweep);
                let tip = along(arc.centre, out, arc.radius);
                for inward in [false, true] {
                    // From within there has to be room for the arrow.
                    if inward && arc.radius < 2.0 * ARROW {
                        continue;
                    }
                    let d = if inward { [-out[0], -out[1]] } else { out };
                    let mut one = led(taken, tip, d, far, (lines.len(), width));
                    // A fillet is read from the side on which its centre lies.
                    let wrong = inward == (arc.sweep > 0.0);
                    one.cost += 1.2 * f64::from(ring)
                        + 0.1 * n.min(9) as f64
                        + 0.2 * m as f64
                        + if wrong { 2.0 } else { 0.0 };
                    if best.as_ref().is_none_or(|b| one.cost < b.cost) {
                        best = Some(one);
                    }
                }
            }
        }
        if best
            .as_ref()
            .is_some_and(|b| b.cost < 1.2 * f64::from(ring + 1))
        {
            break;
        }
    }
    match best {
        // Square to the arc there is no clear place: the text stands where there is one.
        Some(b) if b.cost > 15.0 => {
            let Some(arc) = arcs.first() else { return };
            let out = arc.from + 0.5 * arc.sweep;
            let tip = along(arc.centre, at_angle(out), arc.radius);
            leader(g, taken, tip, out, text);
        }
        Some(b) => draw_led(g, taken, &b, lines),
        None => {}
    }
}

/// A short mark beside a place: where least is in the way, on a leader when there is no room near it.
pub(super) fn tag(g: &mut Group, taken: &mut Taken, centre: P, clear: f64, text: &str) {
    tag_among(g, taken, (centre, clear), text, &[]);
}

/// The same where others of its kind stand about, which it must not be taken to name.
pub(super) fn tag_among(
    g: &mut Group,
    taken: &mut Taken,
    (centre, clear): (P, f64),
    text: &str,
    others: &[P],
) {
    let text = font::clean(text);
    let width = font::width(&text, DIM, Hand::Name);
    let mut best: Option<(f64, P, Rect)> = None;
    for ring in 0..5 {
        for turn in 0..16 {
            let angle = 0.785 + f64::from(turn) * std::f64::consts::TAU / 16.0;
            let far = clear + 0.9 + 1.2 * f64::from(ring);
            let c = [
                centre[0] + angle.cos() * (far + width / 2.0),
                centre[1] - angle.sin() * (far + DIM / 2.0),
            ];
            let base = c[1] + DIM / 2.0;
            let rect = Rect::new(
                [c[0] - width / 2.0, base - font::above(DIM)],
                [c[0] + width / 2.0, base + font::below(DIM)],
            );
            // Clear of everything, and if it can be well clear.
            let cost = taken.under(rect.grown(0.3))
                + 0.02 * taken.under(rect.grown(0.8))
                + 1.5 * f64::from(ring)
                + 0.05 * f64::from(turn)
                + if others
                    .iter()
                    .any(|o| length(sub(*o, c)) < 1.6 * length(sub(centre, c)) + 1.0)
                {
                    20.0
                } else {
                    0.0
                };
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, c, rect));
            }
        }
    }
    let Some((cost, c, rect)) = best else { return };
    if cost > 15.0 {
        let edge = along(centre, at_angle(0.785), clear.max(0.5));
        return leader(g, taken, edge, 0.785, &text);
    }
    g.letter(Lettering::new(
        [c[0], c[1] + DIM / 2.0],
        text,
        DIM,
        Hold::Middle,
        Hand::Name,
    ));
    taken.rect(rect);
}
