//! Names of parts where there are too many to stand among the lines: in rows above and below the view, each on a leader of its own.
//!
//! Names are told off from left to right in the order of what they name, so that no leaders cross. A few stand together, the
//! leftmost topmost, so that each leader runs past the beginnings of those below it.

use crate::font;
use crate::geometry::{P, Rect};
use crate::labels::Label;
use crate::sheet::{Fill, Group, Hold, Lettering, Pen, Shape};

/// Between two leaders side by side, mm.
const APART: f64 = 1.3;
/// Between the end of a name and the next leader, mm.
const GAP: f64 = 1.5;
/// From the view to where the leaders begin to run upright, and from there to the first row, mm.
const CLEAR: [f64; 2] = [8.0, 2.0];
/// Most names that stand together.
const MOST: usize = 24;

/// Sets out all names around what is drawn already; returns the paper they cover.
pub(super) fn flags(labels: &[Label], extent: Rect, group: &mut Group) -> Vec<Rect> {
    let mut named: Vec<(P, &Label)> = labels
        .iter()
        .filter_map(|l| Some((l.anchors.first()?.at, l)))
        .collect();
    named.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]));
    let mut covered = Vec::new();
    for above in [true, false] {
        let side: Vec<(P, &Label)> = named
            .iter()
            .copied()
            .skip(usize::from(!above))
            .step_by(2)
            .collect();
        row(&side, extent, above, group, &mut covered);
    }
    covered
}

fn row(
    side: &[(P, &Label)],
    extent: Rect,
    above: bool,
    group: &mut Group,
    covered: &mut Vec<Rect>,
) {
    let widest = side.iter().map(|s| s.1.size()[0]).fold(0.0, f64::max);
    let wide = |together: usize| (together as f64 - 1.0) * APART + widest + GAP;
    let all = |together: usize| side.len().div_ceil(together) as f64 * wide(together);
    let room = extent.max[0] - extent.min[0];
    let together = (1..=MOST).find(|&n| all(n) <= room).unwrap_or(MOST);
    // Spread over the whole width, or as wide as they must be.
    let groups = side.len().div_ceil(together).max(1) as f64;
    let pitch = (room / groups).max(wide(together));
    let left = extent.centre()[0] - 0.5 * pitch * groups;
    let (edge, out) = if above {
        (extent.min[1], -1.0)
    } else {
        (extent.max[1], 1.0)
    };
    for (i, &(at, label)) in side.iter().enumerate() {
        let [w, h] = label.size();
        let (bunch, place) = (i / together, i % together);
        let x = left + pitch * bunch as f64 + APART * place as f64;
        let step = font::pitch(label.height).max(h);
        let row = (together - 1 - place) as f64;
        let near = edge + out * (CLEAR[0] + CLEAR[1] + row * step);
        let top = if above { near - h } else { near };
        let foot = [x, edge + out * CLEAR[0]];
        let end = [x, if above { top + 0.5 } else { top + h - 0.5 }];
        group.draw(Pen::Narrow, Shape::line(at, foot));
        group.draw(Pen::Narrow, Shape::line(foot, end));
        group.put(
            None,
            Fill::Ink,
            Shape::Circle {
                centre: at,
                radius: 0.5,
            },
        );
        let begin = [x + 0.6, top];
        for (n, line) in label.lines.iter().enumerate() {
            let y = top + font::above(label.height) + n as f64 * font::pitch(label.height);
            group.letter(Lettering::new(
                [begin[0], y],
                line.as_str(),
                label.height,
                Hold::Start,
                label.hand,
            ));
        }
        covered.push(Rect::new(begin, [begin[0] + w, top + h]));
    }
}
