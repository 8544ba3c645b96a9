//! A cam on the rotary table: the cutter stands on the table's x, the work is turned by even steps, and the cross dial goes to the cutter's
//! distance from the middle.

use super::CamShape;
use elements::cams::Side;
use serde::Serialize;
use std::f64::consts::{PI, TAU};

/// One place of the table, or a dwell over which it is turned with the cutter standing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dial {
    /// Table from here, rad, the way in which the cam turns, from its reference.
    pub from: f64,
    /// To here; the same for a single place.
    pub to: f64,
    /// Distance of the cutter from the middle, mm.
    pub off: f64,
}

/// Places looked at over a turn before one is found between them.
const GRID: u32 = 720;
/// Distances nearer than this are one on any dial, mm.
const SAME: f64 = 2e-4;

/// Places of the table by even steps, for the middle of a cutter that cuts this flank. None where the path of the cutter folds back as seen
/// from the cam's centre, so that one angle has several distances.
pub fn dials(shape: &CamShape, side: Side, cutter: f64, step: f64) -> Option<Vec<Dial>> {
    let by = shape.off(side, cutter);
    let polar = |at: f64| {
        let [out, aside] = shape.beside(at, by);
        ((-shape.sense * aside).atan2(out), out.hypot(aside))
    };
    // The angle at which each turn of the program is cut, unwrapped.
    let mut grid: Vec<(f64, f64)> = Vec::with_capacity(GRID as usize + 1);
    for n in 0..=GRID {
        let at = f64::from(n) * TAU / f64::from(GRID);
        let (angle, _) = polar(at);
        let angle = match grid.last() {
            Some(&(_, before)) => before + wrapped(angle - before),
            None => angle,
        };
        if grid.last().is_some_and(|&(_, before)| angle <= before) {
            return None;
        }
        grid.push((at, angle));
    }
    let (first, last) = (grid.first()?.1, grid.last()?.1);
    if (last - first - TAU).abs() > 1e-6 {
        return None;
    }
    let count = (TAU / step).round() as u32;
    let mut all: Vec<Dial> = Vec::new();
    for n in 0..count {
        let angle = f64::from(n) * TAU / f64::from(count);
        let wanted = first + (angle - first).rem_euclid(TAU);
        let i = grid
            .partition_point(|g| g.1 <= wanted)
            .clamp(1, GRID as usize);
        let (mut low, mut high) = (grid[i - 1].0, grid[i].0);
        for _ in 0..48 {
            let middle = f64::midpoint(low, high);
            let seen = wanted + wrapped(polar(middle).0 - wanted);
            if seen < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        let off = polar(f64::midpoint(low, high)).1;
        all.push(Dial {
            from: angle,
            to: angle,
            off,
        });
    }
    Some(merged(all))
}

fn wrapped(angle: f64) -> f64 {
    (angle + PI).rem_euclid(TAU) - PI
}

/// Places that follow one another at one distance are one sweep of the table.
fn merged(all: Vec<Dial>) -> Vec<Dial> {
    let mut out: Vec<Dial> = Vec::new();
    for dial in all {
        match out.last_mut() {
            Some(last) if (last.off - dial.off).abs() < SAME => last.to = dial.to,
            _ => out.push(dial),
        }
    }
    out
}

/// Steps that a rotary table takes well, degrees.
const STEPS: [f64; 7] = [5.0, 4.0, 3.0, 2.0, 1.5, 1.0, 0.5];
/// Ridges that a file and a stone take off in minutes, mm (common practice).
const RIDGE: f64 = 0.05;

/// The largest step whose ridges are small enough, rad, and the highest ridge, mm: between two places the cutter leaves a cusp of
/// s²/8 (1/r + 1/ρ) on a flank of radius ρ that bulges (negative where it is hollow).
pub(crate) fn step(shape: &CamShape, sides: &[Side], cutter: f64) -> [f64; 2] {
    let roller = shape.follower.roller();
    let ridge = |step: f64| {
        let mut most: f64 = 0.0;
        for n in 0..GRID {
            let place = shape.place(f64::from(n) * TAU / f64::from(GRID));
            for &side in sides {
                let (rho, bends) = match side {
                    Side::Inner => (place.flank_radius(side, roller), 1.0),
                    Side::Outer => (place.flank_radius(side, roller), -1.0),
                };
                let long =
                    place.along * step * (1.0 - f64::signum(bends) * roller / place.radius).abs();
                most = most.max(long * long / 8.0 * (2.0 / cutter + bends / rho));
            }
        }
        most
    };
    let found = STEPS
        .iter()
        .map(|s| s.to_radians())
        .find(|s| ridge(*s) <= RIDGE)
        .unwrap_or(0.5_f64.to_radians());
    [found, ridge(found)]
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;
    use elements::cams::{Follower, Law, Piece, Program};

    fn round(offset: f64) -> CamShape {
        CamShape {
            cam: 0,
            follower: Follower::InLine {
                pitch: 40.0,
                offset,
                roller: 8.0,
            },
            program: Program::Pieces(vec![Piece {
                over: TAU,
                to: 0.0,
                law: Law::Cycloidal,
            }]),
            direction: 0.0,
            sense: 1.0,
            play: 0.0,
        }
    }

    #[test]
    fn a_round_cam_is_one_sweep_of_the_table() {
        for offset in [0.0, 12.0] {
            let all = dials(&round(offset), Side::Inner, 12.0, 1_f64.to_radians()).unwrap();
            assert_eq!(all.len(), 1, "{all:?}");
            // Roller's path 40, less the roller's radius 8, and the cutter's 6.
            assert!((all[0].off - 38.0).abs() < 1e-9, "{all:?}");
        }
        // A cusp of s²/8 (1/r + 1/ρ): 2 degrees on radius 32 with a cutter of 12.
        let [step, ridge] = step(&round(0.0), &[Side::Inner], 12.0);
        let s = 32.0 * step;
        assert!((ridge - s * s / 8.0 * (1.0 / 6.0 + 1.0 / 32.0)).abs() < 1e-9);
    }

    #[test]
    fn with_a_cutter_of_the_rollers_size_the_dial_is_the_lift() {
        // In line and without offset the roller's path in polar coordinates is the law itself: a closed form for the dial.
        let mut shape = round(0.0);
        let law = Law::Cycloidal;
        shape.program = Program::Pieces(vec![
            Piece {
                over: PI,
                to: 10.0,
                law,
            },
            Piece {
                over: PI,
                to: 0.0,
                law,
            },
        ]);
        for sense in [1.0, -1.0] {
            shape.sense = sense;
            for d in dials(&shape, Side::Inner, 16.0, 5_f64.to_radians()).unwrap() {
                let t = if d.from <= PI { d.from } else { TAU - d.from } / PI;
                let lift = 10.0 * (t - (TAU * t).sin() / TAU);
                assert!((d.off - 40.0 - lift).abs() < 2.0 * SAME, "{d:?} {lift}");
            }
        }
    }
}
