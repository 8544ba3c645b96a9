//! A part as bars of its stock from hole to hole: what of it bends, and what it weighs.
//!
//! The metal of a part is not drawn, its holes are. Its bars are taken to run along the shortest lines that join all of its holes (the
//! least spanning tree), whichever hole the file names first: a lever is one bar, a bell crank two that meet at its pivot.

use super::rig::Rig;
use crate::assemble::Joint;
use machine::model::PartId;
use mechanics::model::{AnchorId, Constraint};

/// Holes nearer than this are one place, mm.
const SAME: f64 = 1e-9;

/// A straight bar between two places.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Bar {
    /// The end nearer to the datum hole along the bars, and the other, in the part's own axes, mm.
    ends: [[f64; 2]; 2],
}

/// What a place of the bars is loaded with: a unit force, or a unit moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Unit {
    /// Along the part's own right.
    Right,
    /// Along its own up.
    Up,
    /// Counter-clockwise.
    Turn,
}

/// The bars of a part, held at its datum hole, or in the middle of its guide.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Bars {
    bars: Vec<Bar>,
    /// Holes, their places in the part's own axes, mm, and the bars on the way to them from the datum hole.
    holes: Vec<(AnchorId, [f64; 2], Vec<usize>)>,
}

/// How much bars give: reciprocals of EA, EI and of the shear stiffness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Soft {
    pub(crate) stretch: f64,
    pub(crate) bend: f64,
    pub(crate) shear: f64,
}

fn apart(p: [f64; 2], q: [f64; 2]) -> f64 {
    (p[0] - q[0]).hypot(p[1] - q[1])
}

impl Bars {
    /// The bars of a part through all of its holes.
    pub(crate) fn of(rig: &Rig<'_>, part: PartId) -> Self {
        let m = &rig.mechanism;
        let anchors = rig.model.carriers.iter().filter_map(|carriers| {
            let &(_, anchor) = carriers.iter().find(|c| c.0 == part)?;
            let a = m.anchors[anchor];
            Some((anchor, [m.params[a.u], m.params[a.v]]))
        });
        // A part on a guide is held at the middle of its guide.
        let slides = &rig.model.machine.slides;
        let guided = rig.model.joints.iter().zip(&m.constraints);
        let held = guided.filter_map(|(joint, c)| match (*joint, *c) {
            (Joint::SlideLine(slide), Constraint::OnLine { pin, .. })
                if slides.get(slide).is_some_and(|s| s.part == part) =>
            {
                Some([m.params[m.anchors[pin].u], m.params[m.anchors[pin].v]])
            }
            _ => None,
        });
        let held = held.take(1).next().unwrap_or_default();
        Self::through(anchors.collect(), held)
    }

    /// Grown from where it is held by the nearest hole that is left (Prim); of equally near ones the first.
    fn through(holes: Vec<(AnchorId, [f64; 2])>, held: [f64; 2]) -> Self {
        let mut found = Self::default();
        // Places that are reached, each with the bars on the way to it.
        let mut reached: Vec<([f64; 2], Vec<usize>)> = vec![(held, Vec::new())];
        let mut left: Vec<[f64; 2]> = holes.iter().map(|h| h.1).collect();
        while !left.is_empty() {
            let mut best = (f64::INFINITY, 0, 0);
            for (i, place) in left.iter().enumerate() {
                for (j, (from, _)) in reached.iter().enumerate() {
                    let far = apart(*place, *from);
                    // Rounding does not choose between holes that lie symmetrically.
                    if far < best.0 - SAME {
                        best = (far, i, j);
                    }
                }
            }
            let (far, i, j) = best;
            let place = left.remove(i);
            if far <= SAME {
                continue;
            }
            let (from, mut way) = reached[j].clone();
            way.push(found.bars.len());
            found.bars.push(Bar {
                ends: [from, place],
            });
            reached.push((place, way));
        }
        found.holes = holes
            .into_iter()
            .map(|(anchor, place)| {
                let nearest = reached
                    .iter()
                    .min_by(|a, b| apart(a.0, place).total_cmp(&apart(b.0, place)));
                (
                    anchor,
                    place,
                    nearest.map_or_else(Vec::new, |r| r.1.clone()),
                )
            })
            .collect();
        found
    }

    /// Holes that lie on bars, the datum hole left out.
    pub(crate) fn holes(&self) -> impl Iterator<Item = AnchorId> {
        let out = self.holes.iter().filter(|h| !h.2.is_empty());
        out.map(|h| h.0)
    }

    /// The datum hole.
    pub(crate) fn datum(&self) -> Option<AnchorId> {
        self.holes.iter().find(|h| h.2.is_empty()).map(|h| h.0)
    }

    /// Length of all bars, mm.
    pub(crate) fn length(&self) -> f64 {
        self.bars.iter().map(|b| apart(b.ends[0], b.ends[1])).sum()
    }

    /// Every bar's length, mm, and the holes at its ends.
    pub(crate) fn each(&self) -> impl Iterator<Item = (f64, [AnchorId; 2])> {
        let at = |place: [f64; 2]| self.holes.iter().find(|h| apart(h.1, place) <= SAME);
        self.bars.iter().filter_map(move |b| {
            let [p, q] = [at(b.ends[0])?.0, at(b.ends[1])?.0];
            Some((apart(b.ends[0], b.ends[1]), [p, q]))
        })
    }

    /// The holes at both ends of each bar, the one nearer to the datum hole first, in the order of [`Bars::within`].
    pub(crate) fn ends(&self) -> Vec<(f64, [Option<AnchorId>; 2])> {
        let at = |place: [f64; 2]| self.holes.iter().find(|h| apart(h.1, place) <= SAME);
        let bars = self.bars.iter();
        bars.map(|b| {
            (
                apart(b.ends[0], b.ends[1]),
                b.ends.map(|p| at(p).map(|h| h.0)),
            )
        })
        .collect()
    }

    /// Pull and bending moments at both ends of every bar under these loads on the holes: what acts beyond a cut acts in it.
    pub(crate) fn within(&self, loads: &[((AnchorId, Unit), f64)]) -> Vec<(f64, [f64; 2])> {
        let mut all = vec![(0.0, [0.0; 2]); self.bars.len()];
        for ((anchor, unit), load) in loads {
            let Some(hole) = self.holes.iter().find(|h| h.0 == *anchor) else {
                continue;
            };
            for &bar in &hole.2 {
                let inner = inside(self.bars[bar], hole.1, *unit);
                let (normal, moments) = &mut all[bar];
                *normal += load * inner.normal;
                for (sum, moment) in moments.iter_mut().zip(inner.moments) {
                    *sum += load * moment;
                }
            }
        }
        all
    }

    /// How far one hole yields one way for a unit load on another, by the unit-load method: over the bars on the way to both, the product of
    /// normal force, bending moment and shear (any handbook).
    pub(crate) fn compliance(
        &self,
        (one, way): (AnchorId, Unit),
        (other, along): (AnchorId, Unit),
        soft: Soft,
    ) -> f64 {
        let hole = |anchor| self.holes.iter().find(|h| h.0 == anchor);
        let (Some(one), Some(other)) = (hole(one), hole(other)) else {
            return 0.0;
        };
        let shared = one.2.iter().filter(|b| other.2.contains(b));
        shared
            .map(|&b| {
                let bar = self.bars[b];
                let (a, b) = (inside(bar, one.1, way), inside(bar, other.1, along));
                let long = apart(bar.ends[0], bar.ends[1]);
                let middle = 0.25 * (a.moments[0] + a.moments[1]) * (b.moments[0] + b.moments[1]);
                let bend = long / 6.0
                    * (a.moments[0] * b.moments[0] + 4.0 * middle + a.moments[1] * b.moments[1]);
                soft.bend * bend
                    + soft.stretch * long * a.normal * b.normal
                    + soft.shear * long * a.across * b.across
            })
            .sum()
    }
}

/// Normal force, shear and the bending moments at both ends in a bar.
struct Inner {
    normal: f64,
    across: f64,
    moments: [f64; 2],
}

/// What a unit load at a place beyond a bar does in it.
fn inside(bar: Bar, at: [f64; 2], load: Unit) -> Inner {
    let [p, q] = bar.ends;
    let long = apart(p, q);
    let t = [(q[0] - p[0]) / long, (q[1] - p[1]) / long];
    let force = match load {
        Unit::Right => [1.0, 0.0],
        Unit::Up => [0.0, 1.0],
        Unit::Turn => {
            return Inner {
                normal: 0.0,
                across: 0.0,
                moments: [1.0; 2],
            };
        }
    };
    let moment = |x: [f64; 2]| (at[0] - x[0]) * force[1] - (at[1] - x[1]) * force[0];
    Inner {
        normal: force[0] * t[0] + force[1] * t[1],
        across: force[1] * t[0] - force[0] * t[1],
        moments: [moment(p), moment(q)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOFT: Soft = Soft {
        stretch: 0.0,
        bend: 1e-6,
        shear: 0.0,
    };

    fn bars(places: &[[f64; 2]]) -> Bars {
        Bars::through(places.iter().copied().enumerate().collect(), [0.0; 2])
    }

    /// Cantilever, load at its end and at half its length: a³/3EI and x²(3a − x)/6EI (any handbook).
    #[test]
    fn a_straight_bar_is_a_cantilever() {
        let b = bars(&[[0.0, 0.0], [200.0, 0.0], [100.0, 0.0]]);
        let c = |i, j| b.compliance((i, Unit::Up), (j, Unit::Up), SOFT);
        assert!((c(1, 1) - 200.0_f64.powi(3) / 3.0 * 1e-6).abs() < 1e-9);
        assert!((c(1, 2) - 100.0_f64.powi(2) * 500.0 / 6.0 * 1e-6).abs() < 1e-9);
        assert!((c(1, 2) - c(2, 1)).abs() < 1e-15);
        assert!((b.length() - 200.0).abs() < 1e-9);
        // Its end turns by a²/2EI.
        let turn = b.compliance((1, Unit::Turn), (1, Unit::Up), SOFT);
        assert!((turn - 200.0_f64.powi(2) / 2.0 * 1e-6).abs() < 1e-9);
    }

    /// A right-angled bracket with a load at its tip: L1³/3EI of the tip's own leg and L1² L2/EI of the leg that is bent by the moment
    /// (any handbook, unit-load method).
    #[test]
    fn a_bracket_bends_in_both_legs() {
        let b = bars(&[[0.0, 0.0], [0.0, 80.0], [50.0, 80.0]]);
        let tip = b.compliance((2, Unit::Up), (2, Unit::Up), SOFT);
        let by_hand = (50.0_f64.powi(3) / 3.0 + 50.0_f64.powi(2) * 80.0) * 1e-6;
        assert!((tip - by_hand).abs() < 1e-9, "{tip} {by_hand}");
    }

    /// A bell crank is two bars that meet at its pivot, whichever hole is named first.
    #[test]
    fn a_bell_crank_meets_at_its_pivot() {
        let pivot_first = bars(&[[0.0, 0.0], [-55.0, 0.0], [0.0, -45.0]]);
        assert!((pivot_first.length() - 100.0).abs() < 1e-9);
        let end_first = bars(&[[0.0, 0.0], [55.0, 0.0], [55.0, -45.0]]);
        assert!((end_first.length() - 100.0).abs() < 1e-9);
    }
}
