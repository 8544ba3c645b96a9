//! How hard a place is pressed, as it follows from the reactions.

use super::{BearingLoad, friction_circle};
use crate::jacobian::dot;

/// What presses a place.
#[derive(Clone, Debug)]
pub(super) enum Press {
    /// Two rows as one force.
    Pin {
        rows: [usize; 2],
        radius: f64,
    },
    /// A rod, its push or pull and what presses across it.
    RodEnd {
        row: usize,
        rod: usize,
        radius: f64,
    },
    Slide {
        on_line: usize,
        angle: usize,
        length: f64,
        teeth: Vec<(usize, [f64; 2])>,
    },
    /// A slot's force; its sign says which side is pressed: `inwards` turns it into the left side of the slot.
    Slot {
        row: usize,
        inwards: f64,
        /// Force for one of the row.
        pull: f64,
    },
    Mesh {
        row: usize,
    },
    Journal {
        radius: f64,
        bearings: Vec<BearingLoad>,
    },
}

impl Press {
    /// Friction for a unit of what presses: a radius, mm, or a plain number.
    pub(super) fn coefficient(&self, mu: f64) -> f64 {
        match self {
            Self::Pin { radius, .. }
            | Self::RodEnd { radius, .. }
            | Self::Journal { radius, .. } => friction_circle(*radius, mu),
            Self::Slide { .. } | Self::Slot { .. } | Self::Mesh { .. } => mu,
        }
    }

    /// What presses, N (N·mm for a mesh). `across` is what presses across each rod.
    pub(super) fn size(&self, rows: &[f64], across: &[[f64; 3]]) -> f64 {
        match self {
            Self::Pin { rows: [x, y], .. } => norm(rows[*x], rows[*y]),
            Self::RodEnd { row, rod, .. } => {
                (rows[*row] * rows[*row] + dot(across[*rod], across[*rod])).sqrt()
            }
            // Two ends of the guide: both press the same way while the couple is small, opposite ways beyond.
            Self::Slide {
                on_line,
                angle,
                length,
                teeth,
            } => {
                let [force, couple] = guided([*on_line, *angle], teeth, |row| rows[row]);
                force.abs().max(ends(couple, *length))
            }
            Self::Slot { row, pull, .. } => pull * rows[*row].abs(),
            Self::Mesh { row } => rows[*row].abs(),
            Self::Journal { bearings, .. } => {
                let all = bearings.iter().map(|b| {
                    let [x, y] = sum(b, b.fixed, |row| rows[row]);
                    norm(x, y)
                });
                all.sum()
            }
        }
    }

    /// How fast [`Press::size`] grows while the rows grow by `by` and what presses across its own rod by `sideways`.
    pub(super) fn rate(
        &self,
        rows: &[f64],
        across: &[[f64; 3]],
        by: impl Fn(usize) -> f64,
        sideways: [f64; 3],
    ) -> f64 {
        match self {
            Self::Pin { rows: [x, y], .. } => growth([rows[*x], rows[*y]], [by(*x), by(*y)]),
            Self::RodEnd { row, rod, .. } => {
                let [x, y, z] = across[*rod];
                let [p, q, r] = sideways;
                growth([rows[*row], x, y, z], [by(*row), p, q, r])
            }
            Self::Slide {
                on_line,
                angle,
                length,
                teeth,
            } => {
                let [force, couple] = guided([*on_line, *angle], teeth, |row| rows[row]);
                let [more, turned] = guided([*on_line, *angle], teeth, &by);
                if ends(couple, *length) > force.abs() {
                    2.0 / length * growth([couple], [turned])
                } else {
                    growth([force], [more])
                }
            }
            Self::Slot { row, pull, .. } => pull * growth([rows[*row]], [by(*row)]),
            Self::Mesh { row } => growth([rows[*row]], [by(*row)]),
            Self::Journal { bearings, .. } => {
                let all = bearings
                    .iter()
                    .map(|b| growth(sum(b, b.fixed, |row| rows[row]), sum(b, [0.0; 2], &by)));
                all.sum()
            }
        }
    }

    /// The rod whose end it is.
    pub(super) fn rod(&self) -> Option<usize> {
        match self {
            Self::RodEnd { rod, .. } => Some(*rod),
            _ => None,
        }
    }

    /// The side of a slot that is pressed: how its pin's turn adds to the slip. Nothing for all else.
    pub(super) fn side(&self, rows: &[f64]) -> f64 {
        match self {
            Self::Slot { row, inwards, .. } if rows[*row] != 0.0 => (inwards * rows[*row]).signum(),
            _ => 0.0,
        }
    }
}

/// Force on either end of a guide that takes a couple; nothing where its length is not known.
fn ends(couple: f64, length: f64) -> f64 {
    if length > 0.0 {
        2.0 * couple.abs() / length
    } else {
        0.0
    }
}

/// Normal force and couple of a guide, what teeth on its part add to them counted.
fn guided(
    [line, angle]: [usize; 2],
    teeth: &[(usize, [f64; 2])],
    rows: impl Fn(usize) -> f64,
) -> [f64; 2] {
    let own = [rows(line), rows(angle)];
    teeth.iter().fold(own, |[force, couple], (row, adds)| {
        let size = rows(*row);
        [force + size * adds[0], couple + size * adds[1]]
    })
}

fn sum(bearing: &BearingLoad, from: [f64; 2], rows: impl Fn(usize) -> f64) -> [f64; 2] {
    bearing.rows.iter().fold(from, |s, (row, v)| {
        let size = rows(*row);
        [s[0] + size * v[0], s[1] + size * v[1]]
    })
}

/// Length of a vector of forces; these are far from where squares overflow.
fn norm(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

/// How fast the length of a vector grows while it grows by another.
fn growth<const N: usize>(of: [f64; N], by: [f64; N]) -> f64 {
    let square = |v: &[f64; N]| v.iter().map(|x| x * x).sum::<f64>();
    let long = square(&of).sqrt();
    if long > 0.0 {
        of.iter().zip(&by).map(|(a, b)| a * b).sum::<f64>() / long
    } else {
        square(&by).sqrt()
    }
}
