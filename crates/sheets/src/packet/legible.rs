//! Whether lettering can be read: what of it lies on other lettering, on a line, or off its sheet.

use super::taken::crosses;
use crate::geometry::Rect;
use crate::sheet::{Group, Lettering, Pen};

/// The ink of a line of lettering, mm: capitals on the base line. Lower letters hang below it, which shows as touching only where it is much.
fn ink(l: &Lettering, extent: Rect) -> Rect {
    let (up, down) = (crate::font::above(l.height), crate::font::below(l.height));
    let (cut, tail) = (up - l.height, 0.8 * down);
    let mut r = extent;
    if l.upright {
        r.min[0] += cut;
        r.max[0] -= tail;
    } else {
        r.min[1] += cut;
        r.max[1] -= tail;
    }
    r.grown(-0.05)
}

/// What of a sheet lies on something else.
pub(super) fn clashes(groups: &[Group], [w, h]: [f64; 2]) -> Vec<String> {
    let mut texts: Vec<(String, Rect)> = Vec::new();
    let mut lines: Vec<([f64; 2], [f64; 2])> = Vec::new();
    for g in groups {
        g.lettering(&mut |l, r| texts.push((l.text.clone(), ink(l, r))));
        g.pieces(&mut |a, b, pen| {
            // Lettering stands in the squares of a balloon and in frames on purpose; rows of a table stand on thin grey lines.
            if pen != Pen::Grid {
                lines.push((a, b));
            }
        });
    }
    let mut wrong = Vec::new();
    let off = |[x, y]: &[f64; 2]| *x < 4.0 || *y < 4.0 || *x > w - 4.0 || *y > h - 4.0;
    if let Some((a, b)) = lines.iter().find(|(a, b)| off(a) || off(b)) {
        let [c, d, e, f] = [a[0], a[1], b[0], b[1]];
        wrong.push(format!(
            "a line from {c:.1} {d:.1} to {e:.1} {f:.1} runs off"
        ));
    }
    for (n, (text, r)) in texts.iter().enumerate() {
        if r.min[0] < 5.0 || r.min[1] < 5.0 || r.max[0] > w - 5.0 || r.max[1] > h - 5.0 {
            wrong.push(format!("\"{text}\" runs off"));
        }
        for (other, o) in &texts[..n] {
            if r.overlaps(o) {
                wrong.push(format!("\"{text}\" on \"{other}\""));
            }
        }
        if let Some((a, b)) = lines.iter().find(|(a, b)| crosses(*a, *b, *r)) {
            let [x, y, c, d, e, f] = [r.min[0], r.min[1], a[0], a[1], b[0], b[1]];
            wrong.push(format!(
                "\"{text}\" at {x:.1} {y:.1} on a line from {c:.1} {d:.1} to {e:.1} {f:.1}"
            ));
        }
    }
    wrong
}
