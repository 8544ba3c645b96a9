//! Slots handed out and given back.

use std::collections::BTreeMap;

use super::lower::TooLarge;
use super::tape::Value;
use crate::lanes::{NONE, Slot};

/// Slots handed out and given back.
pub(super) struct Slots {
    pub(super) home: Vec<Option<Slot>>,
    free: Vec<Slot>,
    first_cell: usize,
    /// First slot that may be given back.
    first_loose: usize,
    pub(super) fixed: BTreeMap<u64, Slot>,
    pub(super) count: usize,
}

impl Slots {
    pub(super) fn new(first_cell: usize, cells: usize, values: usize) -> Self {
        let first_loose = first_cell + cells;
        Self {
            home: vec![None; values],
            free: Vec::new(),
            first_cell,
            first_loose,
            fixed: BTreeMap::new(),
            count: first_loose,
        }
    }

    fn fresh(&mut self) -> Result<Slot, TooLarge> {
        let slot = Slot::try_from(self.count)
            .ok()
            .filter(|s| *s < NONE)
            .ok_or(TooLarge)?;
        self.count += 1;
        Ok(slot)
    }

    pub(super) fn make(&mut self, v: u32) -> Result<Slot, TooLarge> {
        let slot = match self.free.pop() {
            Some(slot) => slot,
            None => self.fresh()?,
        };
        self.home[v as usize] = Some(slot);
        Ok(slot)
    }

    pub(super) fn give_back(&mut self, v: u32) {
        if let Some(slot) = self.home[v as usize].take_if(|s| usize::from(*s) >= self.first_loose) {
            self.free.push(slot);
        }
    }

    pub(super) fn cell(&self, c: u16) -> Result<Slot, TooLarge> {
        Slot::try_from(self.first_cell + usize::from(c))
            .ok()
            .filter(|s| *s < NONE)
            .ok_or(TooLarge)
    }

    /// The slot of a number; a fixed one gets a slot of its own.
    pub(super) fn of(&mut self, value: Value) -> Result<Slot, TooLarge> {
        match value {
            Value::Lane(v) => self.home[v as usize].ok_or(TooLarge),
            Value::Fixed(x) => match self.fixed.get(&x.to_bits()) {
                Some(slot) => Ok(*slot),
                None => {
                    let slot = self.fresh()?;
                    self.fixed.insert(x.to_bits(), slot);
                    Ok(slot)
                }
            },
        }
    }

    /// `slot`, or the slot of the fixed number `value`.
    pub(super) fn given(&mut self, slot: Slot, value: Value) -> Result<Slot, TooLarge> {
        if slot == NONE {
            self.of(value)
        } else {
            Ok(slot)
        }
    }
}
