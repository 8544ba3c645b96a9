//! Round parts cut in half along their axis.

use shop::part::{Bore, Opening as _, Step, Turned};

type P = [f64; 2];

/// The closed line of a turned part that is round all over, metal on its left: up along the outside, back down the bores, each with the radius
/// that it is to be seen with. The left face is at zero.
pub(in crate::packet) fn profile_by(
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
