//! What bends the bars of a part: the forces on its holes as its dimensions feel them, summed over what lies beyond each cut.

use super::bars::{Bars, Unit};
use super::course::Course;
use super::gives::ways;
use super::rig::Rig;
use super::service::Peak;
use super::stock::{made, stock};
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::Section;
use mechanics::model::{AnchorId, ParamId};

/// A part whose bars are looked at.
#[derive(Clone, Debug)]
pub(crate) struct Felt {
    pub(crate) part: PartId,
    bars: Bars,
    ways: Vec<(ParamId, f64, (AnchorId, Unit))>,
}

/// What a bar carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bent {
    pub(crate) part: PartId,
    /// Number of the bar in its part.
    pub(crate) bar: usize,
    /// Pull, N.
    pub(crate) pull: f64,
    /// Bending moments at both ends, N·mm.
    pub(crate) moments: [f64; 2],
}

/// One end of a bar and the worst it goes through.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BarEnd {
    pub(crate) part: PartId,
    pub(crate) bar: usize,
    /// The hole there.
    pub(crate) point: Option<PointId>,
    /// Length of the bar, mm.
    pub(crate) length: f64,
    /// Where stress of the plain section is greatest, MPa.
    pub(crate) worst: Peak,
    /// Bending moment at this end and at the other then, N·mm.
    pub(crate) moments: [f64; 2],
    /// Pull or push then, N.
    pub(crate) pull: f64,
    /// Greatest push along it, N.
    pub(crate) push: Peak,
    /// Stress of the plain section at both edges, MPa.
    pub(crate) edges: [Course; 2],
}

impl BarEnd {
    /// Share of the greatest stress that alternates.
    pub(crate) fn alternates(&self) -> f64 {
        let [a, b] = self.edges;
        if a.greatest() > b.greatest() {
            a.alternates()
        } else {
            b.alternates()
        }
    }
}

/// Parts with stock that are no shafts.
pub(crate) fn felt(rig: &Rig<'_>) -> Vec<Felt> {
    let parts = rig.model.machine.parts.iter().enumerate();
    parts
        .filter(|(i, p)| *i != FRAME && p.kind != PartKind::Shaft)
        .filter(|(i, _)| stock(rig, made(rig, *i)).is_some())
        .map(|(part, _)| {
            let bars = Bars::of(rig, part);
            let ways = ways(rig, part, &bars);
            Felt { part, bars, ways }
        })
        .collect()
}

impl Felt {
    /// What its bars carry under these forces on all parameters.
    pub(crate) fn bent(&self, on: &[f64]) -> Vec<Bent> {
        let loads: Vec<((AnchorId, Unit), f64)> = self
            .ways
            .iter()
            .map(|(param, sense, at)| (*at, sense * on.get(*param).copied().unwrap_or(0.0)))
            .collect();
        let all = self.bars.within(&loads).into_iter().enumerate();
        all.map(|(bar, (pull, moments))| Bent {
            part: self.part,
            bar,
            pull,
            moments,
        })
        .collect()
    }

    /// Both ends of its bars, with nothing met yet.
    pub(crate) fn ends(&self, rig: &Rig<'_>) -> Vec<BarEnd> {
        let point = |anchor: AnchorId| {
            let all = rig.model.carriers.iter();
            all.clone().position(|c| c.contains(&(self.part, anchor)))
        };
        let bars = self.bars.ends().into_iter().enumerate();
        bars.flat_map(|(bar, (length, ends))| {
            ends.map(|anchor| BarEnd {
                part: self.part,
                bar,
                point: anchor.and_then(point),
                length,
                worst: Peak::default(),
                moments: [0.0; 2],
                pull: 0.0,
                push: Peak::default(),
                edges: [Course::default(); 2],
            })
        })
        .collect()
    }
}

/// Greatest stress of the plain section for a pull and a moment in the plane of the part, MPa.
pub(crate) fn plain(section: Section, pull: f64, moment: f64) -> f64 {
    let half = 0.5
        * match section {
            Section::Flat([_, width]) => width,
            Section::Round(d) | Section::Tube([d, _]) | Section::Square(d) => d,
            // The corner is farthest from the middle.
            Section::Hexagon(a) => machine::work::across_corners(6, a),
        };
    pull.abs() / super::stock::area(section)
        + moment.abs() * half / super::stock::second_moment(section)
}
