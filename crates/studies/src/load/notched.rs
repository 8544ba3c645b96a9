//! Where a turned shaft is weakened: steps, grooves and cross holes of its piece, by station.

use super::answers::ShaftLoad;
use super::service::Peak;
use machine::Machine;
use machine::fitting::Fitted;
use machine::making::{Of, Shape};
use machine::model::PartId;

/// What weakens a shaft at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Weak {
    /// From one diameter to another, mm.
    Step { large: f64, small: f64 },
    /// A groove from this diameter down to that, mm.
    Groove { outside: f64, bottom: f64 },
    /// A hole across, mm.
    Cross { diameter: f64, hole: f64 },
}

impl Weak {
    /// Diameter that is left, mm.
    pub(crate) fn left(self) -> f64 {
        match self {
            Self::Step { small, .. } => small,
            Self::Groove { bottom, .. } => bottom,
            Self::Cross { diameter, .. } => diameter,
        }
    }
}

/// A weak place of a shaft and what it goes through.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Notched {
    pub(crate) station: f64,
    pub(crate) weak: Weak,
    /// √(M² + ¾ T²) where it is worst, N·mm.
    pub(crate) worst: Peak,
    pub(crate) bending: f64,
    pub(crate) torsion: f64,
}

/// Weak places of a shaft whose piece says where it starts.
pub(super) fn notched(machine: &Machine, part: PartId) -> Vec<Notched> {
    let mut all = Vec::new();
    let pieces = machine.work.making.pieces.iter();
    for piece in pieces.filter(|p| p.of == Of::Part(part)) {
        let Shape::Turned(turned) = &piece.shape else {
            continue;
        };
        let Some(starts) = turned.starts else {
            continue;
        };
        let mut add = |at: f64, weak: Weak| {
            all.push(Notched {
                station: starts + at,
                weak,
                worst: Peak::default(),
                bending: 0.0,
                torsion: 0.0,
            });
        };
        let mut at = 0.0;
        let mut before: Option<f64> = None;
        let mut spans: Vec<(f64, f64, f64)> = Vec::new();
        for step in &turned.steps {
            let diameter = step.diameter.0;
            if let Some(last) = before
                && (last - diameter).abs() > 1e-6
            {
                let (large, small) = (last.max(diameter), last.min(diameter));
                add(at, Weak::Step { large, small });
            }
            spans.push((at, at + step.length, diameter));
            at += step.length;
            before = Some(diameter);
        }
        let around = |at: f64| {
            let span = spans.iter().find(|(from, to, _)| at >= *from && at <= *to);
            span.map(|s| s.2)
        };
        for groove in &turned.grooves {
            let middle = groove.at + 0.5 * groove.width;
            if let Some(outside) = around(middle).filter(|d| *d > groove.diameter) {
                let bottom = groove.diameter;
                add(middle, Weak::Groove { outside, bottom });
            }
        }
        for cross in &turned.cross {
            let hole = match &cross.fitted {
                Fitted::Plain { size, .. } => size.nominal,
                Fitted::Tapped { thread, .. } => thread.major,
                _ => continue,
            };
            if let Some(diameter) = around(cross.at) {
                add(cross.at, Weak::Cross { diameter, hole });
            }
        }
    }
    all
}

impl Notched {
    /// Takes in what a shaft carries in one pose.
    pub(super) fn meet(&mut self, load: &ShaftLoad, case: usize, drives: &[f64]) {
        let before = load.stations.iter().rfind(|s| s.station <= self.station);
        let after = load.stations.iter().find(|s| s.station > self.station);
        let (Some(before), Some(after)) = (before, after) else {
            return;
        };
        // Between two places where something presses, bending runs straight and torsion stays.
        let share = (self.station - before.station) / (after.station - before.station);
        let [from, to] = [before.bent[1], after.bent[0]];
        let bent = [0, 1].map(|k| from[k] + share * (to[k] - from[k]));
        let bending = bent[0].hypot(bent[1]);
        let torsion = before.torsion[1].abs();
        let together = bending.hypot(0.75_f64.sqrt() * torsion);
        if together > self.worst.value {
            (self.bending, self.torsion) = (bending, torsion);
        }
        self.worst.meet(together, case, drives);
    }
}
