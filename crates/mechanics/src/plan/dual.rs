//! Numbers of the tape with their derivatives by the unknowns of a Newton block.

use super::draft::{Draft, dot, small_is_zero};
use super::tape::{Pair, Tape, Value};
use crate::model::Plane;

/// A number and its derivatives, sorted by unknown. An entry that happens to be zero is still an entry.
#[derive(Clone, Debug)]
pub(super) struct Dual {
    pub(super) value: Value,
    pub(super) by: Vec<(usize, Value)>,
}

/// A point or vector.
pub(super) type DualPair = [Dual; 2];

impl From<Value> for Dual {
    fn from(value: Value) -> Self {
        Self {
            value,
            by: Vec::new(),
        }
    }
}

pub(super) fn known(p: Pair) -> DualPair {
    p.map(Dual::from)
}

/// Joins two sorted lists; `join` takes the entries of `a` and `b`, zero where one has none.
fn merge(a: &Dual, b: &Dual, mut join: impl FnMut(Value, Value) -> Value) -> Vec<(usize, Value)> {
    let mut out = Vec::with_capacity(a.by.len() + b.by.len());
    let (mut i, mut j) = (0, 0);
    loop {
        match (a.by.get(i), b.by.get(j)) {
            (None, None) => return out,
            (Some(x), Some(y)) if x.0 == y.0 => {
                out.push((x.0, join(x.1, y.1)));
                i += 1;
                j += 1;
            }
            (Some(x), y) if y.is_none_or(|y| x.0 < y.0) => {
                out.push((x.0, join(x.1, Value::ZERO)));
                i += 1;
            }
            (_, Some(y)) => {
                out.push((y.0, join(Value::ZERO, y.1)));
                j += 1;
            }
            (Some(_), None) => return out,
        }
    }
}

impl Tape {
    pub(super) fn dual_sum(&mut self, a: &Dual, b: &Dual) -> Dual {
        let by = merge(a, b, |x, y| self.sum(x, y));
        Dual {
            value: self.sum(a.value, b.value),
            by,
        }
    }

    pub(super) fn dual_diff(&mut self, a: &Dual, b: &Dual) -> Dual {
        let by = merge(a, b, |x, y| self.diff(x, y));
        Dual {
            value: self.diff(a.value, b.value),
            by,
        }
    }

    pub(super) fn dual_prod(&mut self, a: &Dual, b: &Dual) -> Dual {
        let by = merge(a, b, |x, y| {
            let (p, q) = (self.prod(x, b.value), self.prod(a.value, y));
            self.sum(p, q)
        });
        Dual {
            value: self.prod(a.value, b.value),
            by,
        }
    }

    pub(super) fn dual_scale(&mut self, k: Value, a: &Dual) -> Dual {
        Dual {
            value: self.prod(k, a.value),
            by: a.by.iter().map(|(u, x)| (*u, self.prod(k, *x))).collect(),
        }
    }

    pub(super) fn dual_minus(&mut self, a: &DualPair, b: &DualPair) -> DualPair {
        [self.dual_diff(&a[0], &b[0]), self.dual_diff(&a[1], &b[1])]
    }

    pub(super) fn dual_plus(&mut self, a: &DualPair, b: &DualPair) -> DualPair {
        [self.dual_sum(&a[0], &b[0]), self.dual_sum(&a[1], &b[1])]
    }

    pub(super) fn dual_dot(&mut self, a: &DualPair, b: &DualPair) -> Dual {
        let (p, q) = (self.dual_prod(&a[0], &b[0]), self.dual_prod(&a[1], &b[1]));
        self.dual_sum(&p, &q)
    }

    pub(super) fn dual_cross(&mut self, a: &DualPair, b: &DualPair) -> Dual {
        let (p, q) = (self.dual_prod(&a[0], &b[1]), self.dual_prod(&a[1], &b[0]));
        self.dual_diff(&p, &q)
    }

    /// `arm` turned by z, the unit vector of unknown `turn`. Its derivative is itself turned a quarter, the link vector; it is taken by
    /// the turn times `scale`, so that an arm of that length brings the unit vector itself.
    pub(super) fn dual_turn(&mut self, arm: Pair, z: Pair, turn: Option<(usize, f64)>) -> DualPair {
        let value = self.turn(arm, z);
        let Some((turn, scale)) = turn else {
            return known(value);
        };
        let arm = self.times(Value::Fixed(1.0 / scale), arm);
        let rate = self.turn(arm, z);
        let left = self.left(rate);
        [
            Dual {
                value: value[0],
                by: vec![(turn, left[0])],
            },
            Dual {
                value: value[1],
                by: vec![(turn, left[1])],
            },
        ]
    }

    /// The same with its value gathered.
    pub(super) fn dual_gather(&mut self, a: Dual) -> Dual {
        Dual {
            value: self.gather(a.value),
            by: a.by,
        }
    }
}

impl Draft<'_> {
    /// A point of `plane`, off it by `w`, in space.
    pub(super) fn dual_in_space(
        &mut self,
        plane: &Plane,
        [x, y]: &DualPair,
        w: Value,
    ) -> [Dual; 3] {
        let n = plane.normal();
        let axes = [plane.right, plane.up, n];
        let w = Dual::from(w);
        std::array::from_fn(|i| {
            let mut unit = [0.0; 3];
            unit[i] = 1.0;
            let start = Value::Fixed(dot(unit, plane.origin));
            [x, y, &w]
                .into_iter()
                .zip(axes)
                .fold(Dual::from(start), |sum, (part, axis)| {
                    let k = Value::Fixed(small_is_zero(axis[i], 1.0));
                    let part = self.tape.dual_scale(k, part);
                    self.tape.dual_sum(&sum, &part)
                })
        })
    }
}
