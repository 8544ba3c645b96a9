//! Where a compiled run takes place: its slots for a number of lanes.

use pulp::{Scalar, Simd, WithSimd};

use super::lower::Code;
use super::tape::Start;
use crate::cam::Cam;
use crate::lanes::run::{rows, run};
use crate::lanes::sine::cos_sin;
use crate::lanes::{LANES, Op};
use crate::model::Pose;

/// Slots for `width` poses side by side.
pub(super) struct Stage {
    numbers: Vec<f64>,
    /// First number of slot 0: a place that vectors like to be loaded from.
    start: usize,
    pub(super) width: usize,
    cells: usize,
}

impl Stage {
    pub(super) fn new(code: &Code, width: usize) -> Self {
        let numbers = vec![0.0; code.slots * width + 8];
        let start = numbers.as_ptr().align_offset(64).min(8);
        let mut stage = Self {
            numbers,
            start,
            width,
            cells: 1 + code.inputs,
        };
        for &(slot, value) in &code.fixed {
            stage.slot(usize::from(slot)).fill(value);
        }
        stage
    }

    pub(super) fn all(&mut self) -> &mut [f64] {
        let end = self.numbers.len() - 8 + self.start;
        &mut self.numbers[self.start..end]
    }

    /// One slot.
    pub(super) fn slot(&mut self, slot: usize) -> &mut [f64] {
        let width = self.width;
        let at = self.start + slot * width;
        &mut self.numbers[at..at + width]
    }

    /// Slots of the input columns.
    pub(super) fn inputs(&mut self) -> &mut [f64] {
        let (width, cells) = (self.width, self.cells);
        &mut self.all()[width..cells * width]
    }

    /// Slots of `count` cells.
    pub(super) fn cells(&mut self, count: usize) -> &mut [f64] {
        let (width, first) = (self.width, self.cells);
        &mut self.all()[first * width..(first + count) * width]
    }

    pub(super) fn cell(&mut self, cell: u16) -> &mut [f64] {
        self.slot(self.cells + usize::from(cell))
    }

    /// Whether each lane is well: 1 yes, 0 no.
    pub(super) fn well(&mut self) -> &mut [f64] {
        self.slot(0)
    }

    /// One round of a single lane.
    pub(super) fn run_one(&mut self, code: &Code) {
        self.run_ops(&code.ops, &code.cams);
    }

    /// What comes first of it, or the rest.
    pub(super) fn run_ops(&mut self, ops: &[Op], cams: &[Cam]) {
        run::<Scalar, 1>(Scalar, ops, cams, rows::<Scalar, 1>(self.all()), &[]);
    }
}

/// What the cells hold at the start from these poses.
pub(super) fn image(code: &Code, poses: &[Pose]) -> Vec<f64> {
    let mut image = vec![0.0; code.cells.len()];
    fill_image(code, poses, &mut image);
    image
}

/// The same into `image`, of one number a cell.
pub(super) fn fill_image(code: &Code, poses: &[Pose], image: &mut [f64]) {
    fill_cells(&code.cells, poses, image);
}

/// What these cells hold.
pub(super) fn fill_cells(cells: &[Start], poses: &[Pose], image: &mut [f64]) {
    let pose = |b: usize| poses.get(b).copied().unwrap_or_default();
    // The cells of a turn stand side by side.
    let mut sine = 0.0;
    for (out, cell) in image.iter_mut().zip(cells) {
        *out = match *cell {
            Start::Cos(b) => {
                let (c, s) = cos_sin(Scalar, pose(b).angle);
                sine = s;
                c
            }
            Start::Sin(_) => sine,
            Start::Angle(b) => pose(b).angle,
            Start::X(b) => pose(b).x,
            Start::Y(b) => pose(b).y,
            Start::Zero => 0.0,
            Start::Unset => f64::NAN,
        };
    }
}

/// Work over all lanes, with the processor's own instruction set.
pub(super) trait Work {
    /// Does it; `N` registers of `S` make up the lanes.
    fn work<S: Simd, const N: usize>(self, simd: S);
}

/// Carries work out with the best instruction set there is.
pub(super) struct OnLanes<W>(pub(super) W);

impl<W: Work> WithSimd for OnLanes<W> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        if const { S::F64_LANES == 8 } {
            self.0.work::<S, { LANES / 8 }>(simd);
        } else if const { S::F64_LANES == 4 } {
            self.0.work::<S, { LANES / 4 }>(simd);
        } else if const { S::F64_LANES == 2 } {
            self.0.work::<S, { LANES / 2 }>(simd);
        } else {
            self.0.work::<S, LANES>(simd);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Constraint, Mechanism};
    use crate::plan::{Forms, Plan, Use, Want};
    use pulp::Arch;

    /// Crank, three-legged coupler, a geared wheel on one leg, and a slide behind it.
    fn machine() -> Mechanism {
        let mut m = Mechanism::new();
        let pin = |m: &mut Mechanism, a, b| m.constrain(Constraint::Pin { a, b });
        let crank = m.link(0, [0.0; 2], [12.0, 0.0]);
        let coupler = m.link(0, [60.0, 30.0], [110.0, 60.0]);
        let centre = m.anchor(0, 0, [0.0; 3]);
        let hub = m.anchor(crank, 0, [0.0; 3]);
        pin(&mut m, centre, hub);
        let feet = [
            (crank, [12.0, 0.0]),
            (0, [70.0, 140.0]),
            (0, [180.0, -40.0]),
        ];
        let mut leg = 0;
        for ((body, foot), at) in
            feet.into_iter()
                .zip([[60.0, 30.0], [110.0, 60.0], [100.0, -10.0]])
        {
            let foot_pin = m.anchor_drawn(body, 0, [foot[0], foot[1], 0.0]);
            leg = m.link(0, foot, at);
            let ends = [foot, at].map(|p| m.anchor_drawn(leg, 0, [p[0], p[1], 0.0]));
            let own = m.anchor_drawn(coupler, 0, [at[0], at[1], 0.0]);
            pin(&mut m, foot_pin, ends[0]);
            pin(&mut m, own, ends[1]);
        }
        let wheel = m.body(0, [200.0, 60.0], 0.3);
        let (hub, on) = (
            m.anchor(wheel, 0, [0.0; 3]),
            m.anchor(0, 0, [200.0, 60.0, 0.0]),
        );
        pin(&mut m, hub, on);
        let offset = m.param(20.0 * m.drawn[leg].angle + 30.0 * 0.3);
        m.constrain(Constraint::Ratio {
            a: leg,
            b: wheel,
            carrier: 0,
            sizes: [20.0, 30.0],
            offset,
        });
        let ram = m.body(0, [290.0, 60.0], 0.0);
        let (own, guide) = (
            m.anchor(ram, 0, [0.0; 3]),
            m.anchor(0, 0, [250.0, 60.0, 0.0]),
        );
        let (direction, zero) = (m.param(0.0), m.param(0.0));
        m.constrain(Constraint::OnLine {
            pin: own,
            through: guide,
            direction,
            offset: zero,
        });
        m.hold_angle(ram, 0);
        let tip = m.anchor(wheel, 0, [15.0, 5.0, 0.0]);
        m.rod(tip, own);
        m.hold_angle(crank, 0);
        m
    }

    struct Round<'a>(&'a Code, &'a mut Stage, &'a mut [f64]);

    impl Work for Round<'_> {
        #[inline(always)]
        fn work<S: Simd, const N: usize>(self, simd: S) {
            run::<S, N>(
                simd,
                &self.0.ops,
                &self.0.cams,
                rows::<S, N>(self.1.all()),
                rows::<S, N>(self.2),
            );
        }
    }

    #[test]
    fn one_lane_and_many_make_the_same_bits() {
        let m = machine();
        let bodies = m.bodies.len();
        let wants: Vec<Want> = (1..bodies)
            .flat_map(|b| [Want::Pose(b), Want::Angle(b)])
            .collect();
        let all: Vec<usize> = (0..m.params.len()).collect();
        for forms in [Forms::Closed, Forms::NewtonOnly] {
            let plan = Plan::with(&m, &m.params, &m.drawn, forms).expect("it can be planned");
            for purpose in [Use::Apart, Use::Sweep] {
                let code = plan
                    .compile(&m.params, &all, &wants, &purpose)
                    .expect("it is small")
                    .code;
                let image = image(&code, &m.drawn);
                let value = |p: usize, lane: usize| {
                    let wave = ((p * 7 + lane * 13) % 101) as f64 / 101.0 - 0.5;
                    m.params[p] + 1e-3 * wave * if lane.is_multiple_of(5) { 30.0 } else { 1.0 }
                };
                let mut results = vec![0.0; code.columns * LANES];
                let mut result = vec![0.0; code.columns];
                let mut many = Stage::new(&code, LANES);
                let mut one = Stage::new(&code, 1);
                many.well().fill(1.0);
                for lane in 0..LANES {
                    for p in 0..all.len() {
                        many.slot(1 + p)[lane] = value(p, lane);
                    }
                    for (cell, x) in image.iter().enumerate() {
                        many.cell(cell as u16)[lane] = *x;
                    }
                }
                Arch::new().dispatch(OnLanes(Round(&code, &mut many, &mut results)));
                let mut good = 0;
                for lane in 0..LANES {
                    for p in 0..all.len() {
                        one.slot(1 + p)[0] = value(p, lane);
                    }
                    one.cells(image.len()).copy_from_slice(&image);
                    one.well().fill(1.0);
                    let ws = rows::<Scalar, 1>(one.all());
                    run::<Scalar, 1>(
                        Scalar,
                        &code.ops,
                        &code.cams,
                        ws,
                        rows::<Scalar, 1>(&mut result),
                    );
                    assert_eq!(one.well()[0], many.well()[lane], "lane {lane}");
                    good += usize::from(one.well()[0] == 1.0);
                    for (column, a) in result.iter().enumerate() {
                        let b = results[column * LANES + lane];
                        assert!(
                            a.to_bits() == b.to_bits() || one.well()[0] != 1.0,
                            "lane {lane}: {a} {b}"
                        );
                    }
                }
                assert!(good > 28, "{good} good");
            }
        }
    }
}
