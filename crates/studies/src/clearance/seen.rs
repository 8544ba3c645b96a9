//! Two parts where they come closest, as they are seen there.

use super::PairClearance;
use super::shapes::shapes;
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
        Some(pair.parts.each_ref().map(|name| {
            let own = shapes.iter().filter(|s| s.name == *name);
            let placed = own.filter_map(|s| s.placed(model, &here));
            placed.map(|p| p.corners().to_vec()).collect()
        }))
    };
    pairs.iter().map(&mut one).collect()
}
