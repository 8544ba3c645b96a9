//! Two pins in finished holes: they say how a plate lies.

use super::bits::Work;
use crate::contour::P;
use crate::letters::names;
use crate::part::{Hole, Opening as _, Plate, cut};
use crate::words;
use machine::fitting::{Cut, Fitted};

/// A hole that a close pin goes into: through, reamed or bored, nothing tapped, no seat for a head.
pub(super) fn takes_a_pin(h: &Hole) -> bool {
    let finished = matches!(cut(&h.fitted), Some(Cut::Bore | Cut::Ream));
    finished && !matches!(h.fitted, Fitted::Tapped { .. }) && h.counterbore.is_none()
}

/// The two holes for pins that lie farthest apart along a direction, with their letters.
pub(super) fn pair(p: &Plate, u: P) -> Option<[(&Hole, String); 2]> {
    let along = |h: &Hole| u[0] * h.at[0] + u[1] * h.at[1];
    let named = names(p);
    let all = || p.holes.iter().zip(&named).filter(|(h, _)| takes_a_pin(h));
    let low = all().min_by(|a, b| along(a.0).total_cmp(&along(b.0)))?;
    let high = all().max_by(|a, b| along(a.0).total_cmp(&along(b.0)))?;
    (along(high.0) - along(low.0) > 5.0).then(|| [low, high].map(|(h, n)| (h, n.clone())))
}

/// How the second pin stands from the first when a direction of the drawing lies along the table.
pub(super) fn apart(work: &Work, p: &Plate, u: P) -> Option<String> {
    let [(a, first), (b, second)] = pair(p, u)?;
    let d = [b.at[0] - a.at[0], b.at[1] - a.at[1]];
    let (along, across) = (u[0] * d[0] + u[1] * d[1], u[0] * d[1] - u[1] * d[0]);
    Some(format!(
        "spindle over {} in {first}, table moved {} along and {} across: it stands over {} in {second}",
        pin(work, a),
        work.read(along),
        work.read(across),
        pin(work, b)
    ))
}

/// `the pin ⌀8`.
pub(super) fn pin(work: &Work, h: &Hole) -> String {
    format!("the pin ⌀{}", words::length(h.diameter(), work.bench.unit))
}
