//! Two parts where they come closest, as they are seen there.

use super::PairClearance;
use super::across::{self, Planes};
use super::shapes::{Shape, shapes};
use crate::assemble::{Model, Stand};
use crate::run::Bench;

/// Outlines of two parts, each one or several closed lines in their plane, mm.
pub type Outlines = [Vec<Vec<[f64; 2]>>; 2];

/// The outlines of the parts of each pair where it is closest, as `clearance` laid them; none where the machine cannot be brought there.
pub fn seen(model: &Model, stand: &Stand, pairs: &[PairClearance]) -> Vec<Option<Outlines>> {
    let (shapes, _) = shapes(model);
    let mut bench = Bench::new(model);
    let mut one = |pair: &PairClearance| {
        let mut there = stand.clone();
        for held in &pair.drives {
            let drives = model.machine.drives.iter();
            let named = drives
                .enumerate()
                .find(|(_, d)| d.name == held.quantity.name);
            *there.drives.get_mut(named?.0)? = held.value;
        }
        let here = bench.bring(&there).ok()?;
        let plane = |name: &str| model.machine.planes.iter().position(|p| p.name == name);
        let of = |k: usize| shapes.iter().filter(move |s| s.name == pair.parts[k]);
        let first = plane(&pair.plane)?;
        let frame = |s: &Shape| {
            let planes = [first, s.plane].map(|p| model.mechanism.planes.get(p));
            match planes {
                [Some(p), Some(q)] => across::planes(p, q),
                _ => Planes::Aslant,
            }
        };
        Some([0, 1].map(|k| {
            let placed = of(k).filter_map(|s| {
                let placed = s.placed(model, &here)?;
                match frame(s) {
                    Planes::Parallel => Some(placed.corners().to_vec()),
                    Planes::Square(frame) => Some(frame.seen(&s.prism(&placed))),
                    Planes::Aslant => None,
                }
            });
            placed.collect()
        }))
    };
    pairs.iter().map(&mut one).collect()
}
