//! Parts as solids, where they are made of planes, cylinders and cones about one direction.

use crate::step::{self, Side, Solid};
use shop::contour;
use shop::part::{Bore, Form, Opening as _, Part, Plate, Step, Turned};

type P = [f64; 2];

/// The STEP file of a part and its volume, mm³.
///
/// # Errors
/// What of the part has no solid here, in words.
pub(super) fn solid(part: &Part) -> Result<(String, f64), &'static str> {
    match &part.form {
        Form::Plate(p) => plate(part, p),
        Form::Turned(t) => {
            let profile = profile(t)?;
            Ok((
                Solid::body(&profile).write(&part.name),
                step::turned_volume(&profile),
            ))
        }
    }
}

/// Sides of an outline as those of a solid.
fn sides(c: &contour::Contour) -> Vec<Side> {
    let one = |s: contour::Side| match s {
        contour::Side::Line { from, to } => Side::Line(from, to),
        contour::Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } => Side::Arc(centre, radius, from, sweep),
    };
    c.sides().into_iter().map(one).collect()
}

fn plate(part: &Part, p: &Plate) -> Result<(String, f64), &'static str> {
    if !p.bends.is_empty() {
        return Err("its bends; the DXF is that of the flat");
    }
    if p.cams.iter().any(|c| c.depth.is_some()) {
        return Err("its track");
    }
    if p.fork.is_some() {
        return Err("its fork");
    }
    if !p.edge_holes.is_empty() {
        return Err("its holes from the edge");
    }
    if p.ends.iter().any(|e| e.hub.is_some() && e.solid) {
        return Err("its solid hub");
    }
    if p.slots.iter().any(|s| s.depth.is_some()) {
        return Err("its blind slot");
    }
    let outline = sides(&p.outline);
    if outline.len() < 2 {
        return Err("its outline, one closed circle");
    }
    let t = p.thickness;
    let mut holes: Vec<(P, Vec<P>)> = Vec::new();
    // Openings that touch one another or the edge have no shell of this kind.
    let mut taken: Vec<(P, f64)> = Vec::new();
    for h in &p.holes {
        let r = h.diameter() / 2.0;
        let mut line = Vec::new();
        let mut widest = r;
        if let Some([d, depth]) = h.counterbore.filter(|c| c[0] > 2.0 * r) {
            line.extend([[d / 2.0, t], [d / 2.0, t - depth], [r, t - depth]]);
            widest = d / 2.0;
        } else if let Some(d) = h.countersink.filter(|d| *d > 2.0 * r) {
            line.extend([[d / 2.0, t], [r, t - (d / 2.0 - r)]]);
            widest = d / 2.0;
        } else {
            line.push([r, t]);
        }
        match h.blind {
            Some(deep) if deep < t - 1e-9 => line.extend([[r, t - deep], [0.0, t - deep]]),
            _ => line.push([r, 0.0]),
        }
        // A chain that runs back up is no hole.
        if line.windows(2).any(|w| w[1][1] > w[0][1] + 1e-9) {
            return Err("a counterbore deeper than its hole");
        }
        holes.push((h.at, line));
        taken.push((h.at, widest));
    }
    let far = |a: P, b: P| (a[0] - b[0]).hypot(a[1] - b[1]);
    let apart = taken
        .iter()
        .enumerate()
        .all(|(i, (c, r))| taken[..i].iter().all(|(d, s)| far(*c, *d) > r + s + 1e-6));
    let inside = taken.iter().all(|(c, r)| {
        p.outline.holds(*c)
            && (0..72).all(|n| {
                let a = f64::from(n) * std::f64::consts::TAU / 72.0;
                p.outline
                    .holds([c[0] + (r + 1e-6) * a.cos(), c[1] + (r + 1e-6) * a.sin()])
            })
    });
    if !apart || !inside {
        return Err("its holes, which run into one another or over the edge");
    }
    // Openings run clockwise: metal lies outside of them.
    let slots: Vec<Vec<Side>> = p
        .slots
        .iter()
        .map(|s| {
            sides(&s.outline())
                .into_iter()
                .rev()
                .map(Side::back)
                .collect()
        })
        .collect();
    let opened: f64 = holes
        .iter()
        .map(|(_, line)| {
            let mut closed = line.clone();
            closed.extend([[0.0, closed.last().map_or(0.0, |p| p[1])], [0.0, t]]);
            -step::turned_volume(&closed)
        })
        .sum();
    let cut: f64 = p.slots.iter().map(|s| s.outline().area() * t).sum();
    let volume = p.outline.area() * t - opened - cut;
    Ok((
        Solid::plate(&outline, t, &slots, &holes).write(&part.name),
        volume,
    ))
}

/// The closed line of a turned part, metal on its left: up along the outside, back down the bores. The left face is at zero.
pub(super) fn profile(t: &Turned) -> Result<Vec<P>, &'static str> {
    profile_by(t, &|b| b.diameter() / 2.0)
}

/// The same with the radius of each bore as it is to be seen.
pub(super) fn profile_by(
    t: &Turned,
    radius: &dyn Fn(&Bore) -> f64,
) -> Result<Vec<P>, &'static str> {
    if t.steps.iter().any(|s| s.throw.is_some()) {
        return Err("its eccentric");
    }
    if !t.cross.is_empty() {
        return Err("its holes across");
    }
    if !t.flats.is_empty() || t.steps.iter().any(|s| s.sides > 0) {
        return Err("its flats");
    }
    if t.bores.iter().any(|b| b.throw.is_some()) {
        return Err("its bore off the axis");
    }
    let long = t.length();
    let mut out: Vec<P> = Vec::new();
    for (i, s) in t.steps.iter().enumerate() {
        let beside = |n: Option<usize>| {
            n.and_then(|n| t.steps.get(n))
                .map_or(0.0, |s: &Step| s.diameter)
        };
        let (before, after) = (beside(i.checked_sub(1)), beside(Some(i + 1)));
        let r = s.diameter / 2.0;
        let chamfer = s.chamfer.min(r * 0.99).min(s.length() / 2.0);
        let (l, right) = (
            if before < s.diameter { chamfer } else { 0.0 },
            if after < s.diameter { chamfer } else { 0.0 },
        );
        out.extend([[r - l, s.from], [r, s.from + l]]);
        let mut cuts: Vec<[f64; 3]> = t
            .grooves
            .iter()
            .filter(|g| g.at >= s.from - 1e-9 && g.at + g.width <= s.to + 1e-9)
            .map(|g| [g.at, g.at + g.width, g.diameter / 2.0])
            .collect();
        if let Some(thread) = s.thread.as_ref().filter(|_| s.relief) {
            // Two pitches wide, below the root (as on the operation sheet).
            let (wide, bottom) = (2.0 * thread.pitch, r - 0.7 * thread.pitch);
            cuts.push(if before > after {
                [s.from, s.from + wide, bottom]
            } else {
                [s.to - wide, s.to, bottom]
            });
        }
        cuts.sort_by(|a, b| a[0].total_cmp(&b[0]));
        for [a, b, bottom] in cuts {
            out.extend([[r, a], [bottom, a], [bottom, b], [r, b]]);
        }
        out.extend([[r, s.to - right], [r - right, s.to]]);
    }
    // Back along the axis: at every place the widest of the bores that reach it.
    let spans: Vec<[f64; 3]> = t
        .bores
        .iter()
        .map(|b| {
            let deep = b.blind.map_or(long, |d| d.min(long));
            let (from, to) = if b.left {
                (0.0, deep)
            } else {
                (long - deep, long)
            };
            [from, to, radius(b)]
        })
        .collect();
    let mut places: Vec<f64> = spans.iter().flat_map(|s| [s[0], s[1]]).collect();
    places.extend([0.0, long]);
    places.sort_by(|a, b| b.total_cmp(a));
    places.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    for w in places.windows(2) {
        let middle = f64::midpoint(w[0], w[1]);
        let over = spans.iter().filter(|s| s[0] < middle && middle < s[1]);
        let r = over.map(|s| s[2]).fold(0.0, f64::max);
        // Between two places of one width there is no edge.
        if out.last().is_some_and(|l| l[0] == r && l[1] == w[0]) {
            out.pop();
        } else {
            out.push([r, w[0]]);
        }
        out.push([r, w[1]]);
    }
    out.dedup_by(|a, b| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-9);
    let bore = t
        .bores
        .iter()
        .map(|b| b.diameter() / 2.0)
        .fold(0.0, f64::max);
    if t.steps.iter().any(|s| s.diameter / 2.0 <= bore + 1e-6) {
        return Err("a bore as wide as a step");
    }
    Ok(out)
}
