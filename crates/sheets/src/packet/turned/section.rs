//! A turned part cut along its axis.

use super::profile::THREAD;
use super::raised;
use crate::geometry::{P, hatching};
use crate::packet::dims::View;
use crate::packet::solids::profile_by;
use crate::sheet::{Fill, Group, Pen, Shape};
use machine::fitting::{Cut, Fitted};
use shop::gears::Teeth;
use shop::part::{Bore, Opening as _, Turned};
use std::f64::consts::FRAC_PI_4;

/// Distance of hatching lines, mm of paper, and their angle (ISO 128-3: at 45 degrees to the main outline, as far apart as the area asks).
const HATCH: f64 = 2.2;

/// Whether bores make up so little of a part that it is a solid shaft: those are not cut lengthwise (ISO 128-3).
fn is_solid(t: &Turned) -> bool {
    let long = t.length();
    let deep = |left: bool| {
        let own = t.bores.iter().filter(|b| b.left == left);
        own.map(|b| b.blind.unwrap_or(long)).fold(0.0, f64::max)
    };
    deep(true) + deep(false) < 0.4 * long
}

/// Faces at which the bores that a cut shows open unhindered: which bore and where along the part. Others are said in words.
pub(super) fn mouths(t: &Turned, keyed: bool) -> Vec<(&Bore, f64)> {
    if t.bores.is_empty()
        || keyed
        || is_solid(t)
        || profile_by(t, &|b: &Bore| b.diameter() / 2.0).is_err()
    {
        return Vec::new();
    }
    let long = t.length();
    let open = |b: &Bore, left: bool| {
        let reaches = b.left == left || b.blind.is_none_or(|d| d >= long - 1e-9);
        let covered = t.bores.iter().any(|o| {
            let there = o.left == left || o.blind.is_none_or(|d| d >= long - 1e-9);
            !std::ptr::eq(o, b) && there && o.diameter() > b.diameter() - 1e-9
        });
        reaches && !covered
    };
    let own = t.bores.iter().filter(|b| b.throw.is_none());
    own.filter_map(|b| {
        let left = [b.left, !b.left].into_iter().find(|l| open(b, *l))?;
        Some((b, if left { 0.0 } else { long }))
    })
    .collect()
}

/// A part with bores, cut in half along its axis; says whether it could be drawn so. What is not round, and what is solid but for its ends, is
/// seen from outside with hidden lines instead.
pub(super) fn section(g: &mut Group, t: &Turned, keyed: bool, v: View) -> bool {
    if t.bores.is_empty() || keyed || is_solid(t) {
        return false;
    }
    // A thread is cut to its minor diameter; its major one is a thin line (ISO 6410-1).
    let wall = |b: &Bore| match &b.fitted {
        Fitted::Tapped { thread, .. } => (thread.major - 1.0825 * thread.pitch) / 2.0,
        _ => b.diameter() / 2.0,
    };
    let Ok(line) = profile_by(t, &wall) else {
        return false;
    };
    for up in [1.0, -1.0] {
        let half: Vec<P> = line.iter().map(|&[r, x]| v.at([x, up * r])).collect();
        let strokes = hatching(&half, FRAC_PI_4, HATCH);
        g.draw(Pen::Hatch, Shape::Strokes(strokes));
        let sides = (0..line.len()).filter_map(|i| {
            let (a, b) = (line[i], line[(i + 1) % line.len()]);
            let on_axis = a[0] < 1e-9 && b[0] < 1e-9;
            (!on_axis).then(|| [v.at([a[1], up * a[0]]), v.at([b[1], up * b[0]])])
        });
        g.draw(Pen::Wide, Shape::Strokes(sides.collect()));
    }
    let long = t.length();
    for b in &t.bores {
        let r = wall(b);
        let deep = b.blind.map_or(long, |d| d.min(long));
        let at = |x: f64| if b.left { x } else { long - x };
        // The edge of its mouth, beyond the cut, where no wider bore has taken it.
        let wider = |end: f64| {
            t.bores.iter().any(|o| {
                let reach = o.blind.map_or(long, |d| d.min(long));
                let covers = if o.left {
                    end < reach
                } else {
                    end > long - reach
                };
                wall(o) > r + 1e-9 && covers
            })
        };
        for x in [at(0.0), at(deep)] {
            let open = x < 1e-9 || x > long - 1e-9;
            if open && !wider(x.clamp(1e-6, long - 1e-6)) {
                g.draw(Pen::Wide, Shape::line(v.at([x, -r]), v.at([x, r])));
            }
        }
        point(g, t, b, r, v);
        if let Fitted::Tapped { thread, depth } = &b.fitted {
            let end = depth.unwrap_or(deep).min(long);
            let major = thread.major / 2.0;
            for y in [major, -major] {
                g.draw(
                    Pen::Narrow,
                    Shape::line(v.at([at(0.0), y]), v.at([at(end), y])),
                );
            }
            if end < long - 1e-9 {
                let x = at(end);
                g.draw(Pen::Wide, Shape::line(v.at([x, -major]), v.at([x, major])));
            }
        }
    }
    for s in &t.steps {
        if let Some(thread) = &s.thread {
            let root = s.diameter / 2.0 - THREAD * thread.pitch;
            for y in [root, -root] {
                g.draw(Pen::Narrow, Shape::line(v.at([s.from, y]), v.at([s.to, y])));
            }
        }
    }
    true
}

/// Teeth after ISO 2203: their pitch circle as a chain line; in a cut their root as an edge, and no hatching over it.
pub(super) fn teeth(g: &mut Group, t: &Turned, teeth: &Teeth, cut: bool, v: View) {
    let Ok(size) = teeth.spur.geometry() else {
        return;
    };
    let Some(face) = t
        .steps
        .iter()
        .max_by(|a, b| a.diameter.total_cmp(&b.diameter))
    else {
        return;
    };
    let (pitch, root, r) = (size.pitch / 2.0, size.root / 2.0, face.diameter / 2.0);
    let c = face.chamfer.min(r - root).max(0.0);
    for up in [1.0, -1.0] {
        if cut {
            let tooth = [
                [face.from, root],
                [face.from, r - c],
                [face.from + c, r],
                [face.to - c, r],
                [face.to, r - c],
                [face.to, root],
            ];
            let tooth = tooth.map(|q| v.at([q[0], up * q[1]]));
            g.put(Some(Pen::Wide), Fill::Ground, Shape::poly(&tooth, true));
        }
        let out = 2.0 / v.k;
        let ends = [[face.from - out, up * pitch], [face.to + out, up * pitch]];
        g.draw(Pen::Chain, Shape::line(v.at(ends[0]), v.at(ends[1])));
    }
}

/// How deep the point of a drill goes beyond the bottom of a blind hole: a cone of 118 degrees. Bored holes end flat.
fn tip(t: &Turned, b: &Bore, r: f64) -> Option<f64> {
    let long = t.length();
    let deep = b.blind.filter(|d| *d < long)?;
    let drilled = match &b.fitted {
        Fitted::Plain { cut, .. } => matches!(cut, Cut::Drill | Cut::Ream),
        Fitted::Tapped { .. } => true,
        Fitted::Bearing { .. } | Fitted::Bushing { .. } => false,
    };
    // Another bore may have taken the place of it.
    let other = t.bores.iter().any(|o| {
        let reach = o.blind.unwrap_or(long);
        let there = if o.left == b.left {
            reach
        } else {
            long - reach
        };
        !std::ptr::eq(o, b)
            && if o.left == b.left {
                there > deep + 1e-9
            } else {
                there < deep + r
            }
    });
    (drilled && !other).then(|| (deep + r / 59_f64.to_radians().tan()).min(long))
}

/// What the point of a drill takes away, blank.
fn point(g: &mut Group, t: &Turned, b: &Bore, r: f64, v: View) {
    let long = t.length();
    let (Some(deep), Some(tip)) = (b.blind, tip(t, b, r)) else {
        return;
    };
    let at = |x: f64| if b.left { x } else { long - x };
    let cone = [[at(deep), r], [at(tip), 0.0], [at(deep), -r]].map(|q| v.at(q));
    g.put(None, Fill::Ground, Shape::poly(&cone, true));
    g.draw(Pen::Wide, Shape::poly(&cone, false));
    g.draw(Pen::Wide, Shape::line(cone[0], cone[2]));
}

pub(super) fn bores(g: &mut Group, t: &Turned, v: View) {
    for b in &t.bores {
        let r = b.diameter() / 2.0;
        let deep = b.blind.unwrap_or_else(|| t.length());
        let (from, to) = if b.left {
            (0.0, deep)
        } else {
            (t.length(), t.length() - deep)
        };
        let up = raised(t, b.throw);
        let line = |g: &mut Group, a: P, b: P| {
            let [a, b] = [a, b].map(|q| v.at([q[0], q[1] + up]));
            g.draw(Pen::Dashed, Shape::line(a, b));
        };
        // The major diameter of a thread as far as it goes, its minor one to the bottom of its hole.
        let (r, end) = match &b.fitted {
            Fitted::Tapped { thread, depth } => {
                let full = depth.unwrap_or(deep).min(deep);
                let end = if b.left { full } else { t.length() - full };
                for s in [r, -r] {
                    line(g, [from, s], [end, s]);
                }
                if full < deep - 1e-9 {
                    line(g, [end, r], [end, -r]);
                }
                ((thread.major - 1.0825 * thread.pitch) / 2.0, to)
            }
            _ => (r, to),
        };
        for s in [r, -r] {
            line(g, [from, s], [end, s]);
        }
        if b.blind.is_some() {
            line(g, [to, r], [to, -r]);
            if let Some(tip) = tip(t, b, r) {
                let tip = if b.left { tip } else { t.length() - tip };
                line(g, [to, r], [tip, 0.0]);
                line(g, [to, -r], [tip, 0.0]);
            }
        }
    }
}
