//! Places at which a label could stand, and what each would cost by itself.

use super::{Anchor, Candidate, DIRECTIONS, HARD, HOPELESS, LEADER, Paper, Placed, RINGS, ROOM};
use crate::geometry::{P, Rect, add, along, direction, distance, length, square, sub, times};
use crate::lines::Lines;
use std::f64::consts::TAU;

/// All candidates of one label, cheapest first.
pub(super) fn candidates(sheet: &Paper, index: usize, enough: usize) -> Vec<Candidate> {
    let lines = sheet.lines;
    let Some(label) = sheet.labels.get(index) else {
        return Vec::new();
    };
    let size = label.size();
    let mut out = Vec::new();
    for (rank, anchor) in label.anchors.iter().enumerate() {
        let later = rank as f64 * 0.4;
        let mut push = |placed: Placed, extra: f64| {
            let apart = 2.5 * parted(anchor, &placed.rect, lines);
            let extra = extra + later + apart;
            let cost = own_cost(sheet, index, &placed, extra, f64::INFINITY);
            out.push(Candidate { placed, cost });
        };
        match anchor.line {
            Some(d) => beside_line(anchor, d, size, &mut push),
            None => around(anchor, size, &mut push),
        }
    }
    let content = lines.extent();
    let mut best = out.iter().map(|c| c.cost).fold(HARD, f64::min);
    // Leaders cost more to look at than a label beside its symbol; the first three places are enough to lead from.
    for (rank, anchor) in label.anchors.iter().take(3).enumerate() {
        for ring in RINGS {
            let least = LEADER + rank as f64 * 0.4 + 0.12 * ring;
            // Once there is a good choice of places cheaper than any on this ring can be, farther ones are of no use.
            if out.iter().filter(|c| c.cost < least).count() >= enough {
                break;
            }
            for k in 0..DIRECTIONS {
                let d = direction_of(k);
                let placed = on_leader(anchor, d, ring, size, label.dot);
                let beyond = (content.max[0].max(placed.rect.max[0]) - content.max[0])
                    + (content.min[0] - content.min[0].min(placed.rect.min[0]));
                let extra = least + 0.01 * beyond.max(0.0);
                let cost = own_cost(sheet, index, &placed, extra, best + HOPELESS);
                best = best.min(cost);
                out.push(Candidate { placed, cost });
            }
        }
    }
    out.retain(|c| c.cost.is_finite());
    out.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    out
}

/// Weight of lines that run between a place and the lettering beside it, so that it would be read as theirs.
pub(super) fn parted(anchor: &Anchor, rect: &Rect, lines: &Lines) -> f64 {
    let nearest = [0, 1].map(|i: usize| anchor.at[i].clamp(rect.min[i], rect.max[i]));
    let d = direction(anchor.at, nearest);
    let from = along(anchor.at, d, anchor.clear.max(0.3) + 0.1);
    if distance(anchor.at, nearest) <= distance(anchor.at, from) {
        0.0
    } else {
        lines.crossed(from, nearest)
    }
}

pub(super) fn direction_of(k: usize) -> P {
    let angle = (k as f64 + 0.5) / DIRECTIONS as f64 * TAU;
    [angle.cos(), -angle.sin()]
}

/// Places that touch the square round a symbol, sliding along its four sides. Upper right is liked best.
pub(super) fn around(anchor: &Anchor, size: P, push: &mut dyn FnMut(Placed, f64)) {
    let ([w, h], c) = (size, anchor.clear + ROOM * 0.6);
    let mut put = |left: f64, top: f64, cost: f64| {
        let min = add(anchor.at, [left, top]);
        push(
            Placed {
                rect: Rect {
                    min,
                    max: add(min, size),
                },
                leader: None,
            },
            cost,
        );
    };
    let low = h * 0.22;
    // Beside: the middle of the small letters level with the symbol, or shifted.
    for (dy, cost) in [
        (0.0, 0.1),
        (-h * 0.35, 0.0),
        (h * 0.35, 0.15),
        (-h * 0.7, 0.2),
        (h * 0.7, 0.35),
    ] {
        put(c, -h / 2.0 + dy, cost);
        put(-c - w, -h / 2.0 + dy, cost + 0.2);
    }
    // Above and below: descenders may come near the symbol.
    for step in 0..=6 {
        let share = f64::from(step) / 6.0;
        let left = -w * share + c * (1.0 - 2.0 * share);
        let off = 0.25 * (share - 0.25).abs();
        put(left, -c - h + low * 0.5, 0.1 + off);
        put(left, c - low * 0.5, 0.3 + off);
    }
}

/// Places beside a line, on both sides of it.
pub(super) fn beside_line(anchor: &Anchor, d: P, size: P, push: &mut dyn FnMut(Placed, f64)) {
    // A corner (or, beside upright and level lines, the middle of a side) is laid at the place itself.
    let way = |x: f64| if x.abs() < 0.12 { 0.0 } else { x.signum() };
    for side in [1.0, -1.0] {
        let n = times(square(d), side);
        let contact = along(anchor.at, n, anchor.clear + ROOM);
        // Above the line is liked better than below it.
        let below = if n[1] > 0.12 { 0.15 } else { 0.0 };
        let half = times(size, 0.5);
        let centre = add(contact, [way(n[0]) * half[0], way(n[1]) * half[1]]);
        // Along a level line a name may slide; beside an upright one there is no need.
        let slides: &[(f64, f64)] = if way(n[0]) == 0.0 {
            &[(0.0, 0.0), (0.35, 0.2), (-0.35, 0.2)]
        } else {
            &[(0.0, 0.0)]
        };
        for (slide, cost) in slides {
            let min = sub(along(centre, d, slide * size[0]), half);
            push(
                Placed {
                    rect: Rect {
                        min,
                        max: add(min, size),
                    },
                    leader: None,
                },
                cost + below,
            );
        }
    }
}

/// A place on a leader line of so much length in this direction.
pub(super) fn on_leader(anchor: &Anchor, d: P, ring: f64, size: P, dot: bool) -> Placed {
    let ends = if dot { 0.0 } else { anchor.clear };
    let end = along(anchor.at, d, ring + ends);
    let gap = 0.8;
    let [w, h] = size;
    let min = if d[0] > 0.35 {
        [end[0] + gap, end[1] - h * 0.5]
    } else if d[0] < -0.35 {
        [end[0] - gap - w, end[1] - h * 0.5]
    } else if d[1] < 0.0 {
        [end[0] - w / 2.0, end[1] - gap - h * 0.9]
    } else {
        [end[0] - w / 2.0, end[1] + gap]
    };
    Placed {
        rect: Rect {
            min,
            max: add(min, size),
        },
        leader: Some([along(anchor.at, d, ends), end]),
    }
}

/// Stands for what was not counted of a place: such a one is worse than any that was counted to the end, and better than covering words.
const UNCOUNTED: f64 = 50.0;

/// What a place costs by itself.
///
/// Counting starts at `extra` and ends early once it is past `most`.
pub(super) fn own_cost(sheet: &Paper, index: usize, placed: &Placed, extra: f64, most: f64) -> f64 {
    let (lines, taken) = (sheet.lines, sheet.taken);
    let rect = &placed.rect;
    let mut cost = extra;
    let under = lines.under(&rect.grown(ROOM * 0.8));
    // Lettering across a line is read, but not liked: a short leader is better.
    if under > 0.0 {
        cost += under + 2.0;
    }
    if taken.iter().any(|t| t.overlaps(&rect.grown(ROOM))) {
        cost += HARD;
    }
    if !lines.extent().is_empty() {
        let all = lines.extent().join(*rect);
        cost +=
            0.05 * (all.width() - lines.extent().width() + all.height() - lines.extent().height());
    }
    if cost > most {
        return cost + UNCOUNTED;
    }
    if let Some([a, b]) = placed.leader {
        cost += 2.5 * lines.crossed(along(a, direction(a, b), 0.05_f64.min(distance(a, b))), b);
        cost += 3.0 * lines.alongside(a, b);
        if taken.iter().any(|t| t.length_inside(a, b) > 0.0) {
            cost += HARD / 10.0;
        }
    }
    // Too near the symbol of another name, a reader takes it for that one's.
    let (near, own) = (rect.grown(1.5), sheet.labels.get(index));
    sheet.near.meet(&near, |i| {
        let Some(&(whose, at, clear)) = sheet.symbols.get(i) else {
            return true;
        };
        let shared = || own.is_some_and(|l| l.anchors.iter().any(|o| distance(o.at, at) < 0.5));
        if whose != index && gap(&near, at) < clear && !shared() {
            cost += 2.5;
        }
        true
    });
    cost
}

/// Distance of a point from a rectangle.
pub(super) fn gap(rect: &Rect, p: P) -> f64 {
    let d = [0, 1].map(|i: usize| (rect.min[i] - p[i]).max(p[i] - rect.max[i]).max(0.0));
    length(d)
}
