//! Where things stand along a pin, by their stations: how far out of its holder a pin is loaded, and what stands off its bearings.

use super::room::{sides, stock};
use super::study::Study;
use machine::making::Of;
use machine::model::{FRAME, PartId, PartKind, PointId};

/// How far a pin stands out of what holds it, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Out {
    /// From its holder to the middle of what presses on it.
    pub(super) to: f64,
    /// Thickness of what presses on it.
    pub(super) wide: f64,
    /// Its bending over its load.
    pub(super) arm: f64,
}

impl Out {
    /// It leaves room beside its holder, or its load stands farther out than the pin.
    pub(super) fn told(self) -> bool {
        self.arm > self.wide / 2.0 + 1e-6
    }
}

/// A plate that holds a pin: where its middle stands, and half its thickness, mm.
type Plate = [f64; 2];

impl Study<'_> {
    /// Where the middle of what a part puts on a pin stands, mm along the pin.
    pub(super) fn layer(&self, part: PartId, point: PointId) -> f64 {
        let own = self.machine.work.parts.get(part).and_then(|m| m.station);
        let middle =
            own.unwrap_or_else(|| self.machine.points.get(point).map_or(0.0, |p| p.station));
        let thin = stock(self.machine, part).map(|s| sides(s.section)[0]);
        // A hub stands upwards of the lower face of its plate, as the papers have it.
        match (thin, self.thickness(part, point)) {
            (Some(thin), Some(long)) if part != FRAME && long > thin => {
                middle + (long - thin) / 2.0
            }
            _ => middle,
        }
    }

    /// Where the middle of a rod's end stands, mm along its pin.
    pub(super) fn layer_of_rod(&self, rod: usize, point: PointId) -> f64 {
        let own = self.machine.work.rods.get(rod).and_then(|m| m.station);
        own.unwrap_or_else(|| self.machine.points.get(point).map_or(0.0, |p| p.station))
    }

    /// The plates in which a part holds a pin: those of the frame by their pieces.
    fn plates(&self, part: PartId, point: PointId) -> Vec<Plate> {
        let half = self.thickness(part, point).unwrap_or(0.0) / 2.0;
        let pieces = self.machine.work.making.pieces.iter();
        let own =
            |of: &Of| part == FRAME && matches!(of, Of::Frame(points) if points.contains(&point));
        let written: Vec<Plate> = pieces
            .filter(|p| own(&p.of))
            .flat_map(|p| p.stations.iter().map(|s| [*s, half]))
            .collect();
        if written.is_empty() {
            vec![[self.layer(part, point), half]]
        } else {
            written
        }
    }

    /// How far out of a part a pin is loaded by what sits on it there.
    pub(super) fn out(&self, holder: PartId, point: PointId, wide: f64, layer: f64) -> Out {
        let room = |[middle, half]: Plate| (layer - middle).abs() - half;
        let plates = self.plates(holder, point).into_iter().map(room);
        let to = plates.fold(f64::INFINITY, f64::min).max(wide / 2.0);
        Out { to, wide, arm: to }
    }

    /// What else presses on a part, and where that stands: layers and peaks of its other joints.
    fn others(&self, part: PartId, point: PointId) -> Vec<(f64, f64)> {
        let machine = self.machine;
        let Some(own) = machine.parts.get(part) else {
            return Vec::new();
        };
        let mut all = Vec::new();
        for &other in own.carries.iter().filter(|p| **p != point) {
            for joint in self.joints_at(other, Some(part)) {
                let Some((_, peak)) = self.hardest(&[joint]) else {
                    continue;
                };
                let rods = machine.rods.iter().enumerate();
                let rod = rods
                    .filter(|(_, r)| r.joins.contains(&other))
                    .map(|(i, _)| self.layer_of_rod(i, other));
                let beside = machine
                    .parts
                    .iter()
                    .enumerate()
                    .filter(|(i, p)| *i != part && *i != FRAME && p.carries.contains(&other));
                let beside = beside.map(|(i, _)| self.layer(i, other));
                let far = self.layer(part, other);
                let layer = rod
                    .chain(beside)
                    .max_by(|a, b| (a - far).abs().total_cmp(&(b - far).abs()));
                all.push((layer.unwrap_or(far), peak.value));
            }
        }
        all
    }

    /// What turns on the frame at a point, and is no shaft: its pin bears alone what tilts it.
    fn turns_on_frame(&self, point: PointId) -> Option<PartId> {
        let machine = self.machine;
        let carries = |p: &machine::model::Part| p.carries.contains(&point);
        if !machine.parts.get(FRAME).is_some_and(carries) {
            return None;
        }
        let mut all = machine.parts.iter().enumerate().skip(1);
        let found = all.find(|(_, p)| carries(p) && p.clamped_to.is_none())?;
        (found.1.kind != PartKind::Shaft).then_some(found.0)
    }

    /// Bends the pin of a pivot on the frame by what presses on the part far from the frame's plates.
    ///
    /// `load` is what the pin bears, N.
    pub(super) fn leaned(&self, holder: PartId, point: PointId, load: f64, out: &mut Out) {
        let Some(part) = self.turns_on_frame(point).filter(|_| load > 0.0) else {
            return;
        };
        let mut plates = self.plates(FRAME, point);
        if holder == FRAME {
            // A stud is held in one of them.
            let own = self.layer(part, point);
            plates.sort_by(|a, b| (a[0] - own).abs().total_cmp(&(b[0] - own).abs()));
            plates.truncate(1);
        }
        for (layer, force) in self.others(part, point) {
            let below = plates.iter().any(|p| p[0] <= layer + 1e-6);
            let above = plates.iter().any(|p| p[0] >= layer - 1e-6);
            if plates.len() > 1 && below && above {
                continue;
            }
            let off = |[middle, half]: &Plate| {
                // A pin that runs in the frame bends most in the middle of its bearing.
                (layer - middle).abs() - if holder == FRAME { *half } else { 0.0 }
            };
            let arm = plates.iter().map(off).fold(f64::INFINITY, f64::min);
            out.arm = out.arm.max(arm * force / load);
        }
    }

    /// How many times what the pivot bears the nearer of its bearings bears, where the load stands beside both; the load's layer.
    pub(super) fn overhung(&self, point: PointId) -> Option<(f64, f64)> {
        let part = self.turns_on_frame(point)?;
        if self.grips(FRAME, point) >= self.grips(part, point) {
            return None;
        }
        let mut plates: Vec<f64> = self.plates(FRAME, point).iter().map(|p| p[0]).collect();
        plates.sort_by(f64::total_cmp);
        let (first, last) = (*plates.first()?, *plates.last()?);
        let apart = last - first;
        if apart < 1e-6 {
            return None;
        }
        let all = self.others(part, point);
        let hardest = all.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let beyond = (first - hardest.0).max(hardest.0 - last);
        (beyond > 0.0).then(|| (1.0 + beyond / apart, beyond))
    }
}
