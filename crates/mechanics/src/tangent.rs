//! What a closed pose tells about its neighbourhood, from one factorisation: rates of all bodies, virtual load, sensitivities.

use crate::dense::{NotClosed, Solver};
use crate::factor::{Factors, Layout};
use crate::geometry::At;
use crate::model::{Measure, Mechanism, ParamId, Pose};
use crate::num::{Jet, Jet3};
use crate::redundant::Shared;
use crate::rows::scale_columns;
use nalgebra::{DMatrix, DVector};

/// The pose is a dead centre (or the machine is loose): rates do not exist there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Singular;

/// A measure at one pose with its derivative by every parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensitivity {
    /// Value, mm or rad.
    pub value: f64,
    /// Derivative by each parameter, drives and settings included: mm or rad per mm or rad.
    pub by_param: Vec<f64>,
    /// The virtual load: force (or moment) in every equation when a unit load acts on the measure. One entry a residual row;
    /// zero in rows that repeat others.
    pub load: Vec<f64>,
    /// Some rows repeat others, so how the load splits between them is not determined by the geometry alone.
    pub split_undetermined: bool,
}

/// First and second rates along one motion of the parameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Rates {
    /// dx, dy, dangle of every body.
    pub first: Vec<[f64; 3]>,
    /// The second rates.
    pub second: Vec<[f64; 3]>,
}

impl Rates {
    /// The same motion run backwards.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let turned = |v: &Vec<[f64; 3]>, sign: f64| v.iter().map(|r| r.map(|x| sign * x)).collect();
        Self {
            first: turned(&self.first, -1.0),
            second: turned(&self.second, 1.0),
        }
    }
}

/// A closed pose with its factorised Jacobian.
pub struct Tangent<'a> {
    mechanism: &'a Mechanism,
    params: &'a [f64],
    poses: &'a [Pose],
    keep: Vec<usize>,
    repeated: bool,
    size: f64,
    /// Derivatives of the residuals by the poses (angles not weighed), and the few by the parameters: one list a row.
    by_pose: DMatrix<f64>,
    by_param: Vec<Vec<(ParamId, f64)>>,
    factors: Factors,
    /// How rows that repeat one another share; see [`Tangent::share_by`].
    shared: Option<Box<Shared>>,
}

/// A pivot below this share of its row is a dead centre, or a change point, as near as a pose can be told from one.
const FLAT: f64 = 1e-6;
/// The same for following, which needs a way on however rough.
const FLATTEST: f64 = 1e-12;
/// Derivatives of equations that repeat one another agree to this share of the greatest among them.
const AGREES: f64 = 1e-8;
/// Below this others are looked for among equations that repeat one another.
const UNSURE: f64 = 1e-3;
/// Above this no equation repeats others, by far.
const SURE: f64 = 1e-6;

impl<'a> Tangent<'a> {
    /// Factorises at a closed pose.
    ///
    /// # Errors
    /// [`Singular`] at a dead centre or on a loose machine.
    pub fn new(
        mechanism: &'a Mechanism,
        params: &'a [f64],
        poses: &'a [Pose],
    ) -> Result<Self, Singular> {
        Self::at(mechanism, params, poses, FLAT)
    }

    /// Also where a dead centre or a change point is as near as no matter.
    pub(crate) fn near_folded(
        mechanism: &'a Mechanism,
        params: &'a [f64],
        poses: &'a [Pose],
    ) -> Result<Self, Singular> {
        Self::at(mechanism, params, poses, FLATTEST)
    }

    fn at(
        mechanism: &'a Mechanism,
        params: &'a [f64],
        poses: &'a [Pose],
        flat: f64,
    ) -> Result<Self, Singular> {
        let (by_pose, by_param) = mechanism.sparse_jacobian(params, poses);
        let size = mechanism.size(params);
        let factorised = |keep: &[usize]| {
            let mut square = if keep.len() < by_pose.nrows() {
                by_pose.select_rows(keep)
            } else {
                by_pose.clone()
            };
            scale_columns(&mut square, size);
            Factors::new(&square, &Layout::new(mechanism, keep))
        };
        // As many equations as unknowns, all far from repeating one another: none has to be picked.
        if mechanism.equations() == mechanism.unknowns() {
            let keep: Vec<usize> = (0..mechanism.equations()).collect();
            let factors = factorised(&keep);
            if factors.steady > SURE {
                return Ok(Self {
                    mechanism,
                    params,
                    poses,
                    keep,
                    repeated: false,
                    size,
                    by_pose,
                    by_param,
                    factors,
                    shared: None,
                });
            }
        }
        let solver = Solver::new(mechanism, params, poses).map_err(|_: NotClosed| Singular)?;
        let mut rows = solver.rows.clone();
        let mut factors = factorised(&rows.keep);
        if factors.steady < UNSURE
            && solver.has_spare()
            && let Some(others) = solver.apart(params, poses)
        {
            let better = factorised(&others.keep);
            if better.steady > factors.steady {
                factors = better;
                rows = others;
            }
        }
        if factors.steady <= flat {
            return Err(Singular);
        }
        let repeated = !rows.dependent.is_empty();
        Ok(Self {
            mechanism,
            params,
            poses,
            keep: rows.keep,
            repeated,
            size,
            by_pose,
            by_param,
            factors,
            shared: None,
        })
    }

    /// The measure and its derivative by every parameter, by one transposed solve:
    /// `(∂Φ/∂q)ᵀ λ = (∂g/∂q)ᵀ`, then `dg/dp = ∂g/∂p − λᵀ ∂Φ/∂p` (adjoint, or virtual load, method).
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn sensitivity(&self, measure: &Measure) -> Result<Sensitivity, Singular> {
        let gradient = self.mechanism.gradient(self.params, self.poses, measure);
        let mut by_param = gradient.by_param;
        let load = self.load_and_derivative(gradient.by_pose, &mut by_param)?;
        let value = self.mechanism.measure(self.params, self.poses, measure);
        Ok(Sensitivity {
            value,
            by_param,
            load,
            split_undetermined: self.repeated,
        })
    }

    /// Adds the share that comes by way of the poses to the derivatives of something by the parameters: for something of which only
    /// the derivatives by the poses are known, as a measure of a larger machine of which this is a part.
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn by_way_of_poses(&self, by_pose: Vec<f64>, by_param: &mut [f64]) -> Result<(), Singular> {
        self.load_and_derivative(by_pose, by_param).map(|_| ())
    }

    fn load_and_derivative(
        &self,
        by_pose: Vec<f64>,
        by_param: &mut [f64],
    ) -> Result<Vec<f64>, Singular> {
        let mut g = DVector::from_vec(by_pose);
        for i in (2..g.len()).step_by(3) {
            g[i] /= self.size;
        }
        let lambda = if g.is_empty() {
            g
        } else {
            self.factors.solve_transposed(&g).ok_or(Singular)?
        };
        let mut load = vec![0.0; self.mechanism.equations()];
        for (k, &row) in self.keep.iter().enumerate() {
            load[row] = lambda[k];
            for &(p, d) in &self.by_param[row] {
                by_param[p] -= lambda[k] * d;
            }
        }
        if let Some(shared) = &self.shared {
            // Reactions to a load are its virtual load turned round.
            load.iter_mut().for_each(|l| *l = -*l);
            shared.correct(&mut load, by_param);
            load.iter_mut().for_each(|l| *l = -*l);
        }
        Ok(load)
    }

    /// Which parameters cannot change alone, because equations that repeat one another would not agree any more. The machine is
    /// over-determined in them, and a derivative by one of them has no meaning. None where no equation repeats others.
    ///
    /// Each repeating row is a mixture of kept ones, `row = Σ cₖ rowₖ`; it still agrees when its derivative by the parameter is the
    /// same mixture of theirs.
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn must_agree(&self) -> Result<Vec<bool>, Singular> {
        let mut must = vec![false; self.params.len()];
        if !self.repeated {
            return Ok(must);
        }
        for state in self.self_stress()? {
            let mut left = vec![0.0; must.len()];
            let mut most: f64 = 0.0;
            for (k, c) in state.iter().enumerate().filter(|(_, c)| **c != 0.0) {
                for &(p, d) in &self.by_param[k] {
                    left[p] += c * d;
                    most = most.max((c * d).abs());
                }
            }
            for (must, l) in must.iter_mut().zip(left) {
                *must |= l.abs() > AGREES * most;
            }
        }
        Ok(must)
    }

    /// Forces in all rows that need no load, one state for each row that repeats others.
    pub(crate) fn self_stress(&self) -> Result<Vec<Vec<f64>>, Singular> {
        let mut is_kept = vec![false; self.mechanism.equations()];
        for &row in &self.keep {
            is_kept[row] = true;
        }
        let mut states = Vec::new();
        for row in (0..is_kept.len()).filter(|&r| !is_kept[r]) {
            let mut right = self.by_pose.row(row).transpose();
            for i in (2..right.len()).step_by(3) {
                right[i] /= self.size;
            }
            let mixture = self.factors.solve_transposed(&right).ok_or(Singular)?;
            let mut state = vec![0.0; is_kept.len()];
            state[row] = 1.0;
            for (&k, c) in self.keep.iter().zip(mixture.iter()) {
                state[k] = -c;
            }
            states.push(state);
        }
        Ok(states)
    }

    /// Rates of all bodies while the parameters run along `direction` (one rate a parameter), exact to second order.
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn rates(&self, direction: &[f64]) -> Result<Rates, Singular> {
        let along = self
            .by_param
            .iter()
            .map(|row| row.iter().map(|&(p, d)| d * direction[p]).sum());
        let first = self.solve(&DVector::from_iterator(self.by_param.len(), along))?;
        let params: Vec<Jet> = self
            .params
            .iter()
            .zip(direction)
            .map(|(&value, &rate)| Jet {
                value,
                rate,
                second: 0.0,
            })
            .collect();
        let residuals = self
            .mechanism
            .residuals_of(&params, &jets(self.poses, &first, None));
        let second = self.solve(&DVector::from_iterator(
            residuals.len(),
            residuals.iter().map(|r| r.second),
        ))?;
        Ok(Rates { first, second })
    }

    /// Third rates of all bodies along a motion whose [`Rates`] are known; exact. One dx, dy, dangle a body.
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn third(&self, direction: &[f64], rates: &Rates) -> Result<Vec<[f64; 3]>, Singular> {
        let residuals = self.mechanism.residuals_of(
            &jets3(self.params, direction),
            &poses3(self.poses, rates, None),
        );
        self.solve(&DVector::from_iterator(
            residuals.len(),
            residuals.iter().map(|r| r.third),
        ))
    }

    /// Value, first and second rate of a measure along a motion whose [`Rates`] are known; see [`measure_along`].
    pub fn along(&self, measure: &Measure, direction: &[f64], rates: &Rates) -> [f64; 3] {
        measure_along(
            self.mechanism,
            self.params,
            self.poses,
            measure,
            direction,
            rates,
        )
    }

    pub(crate) fn pose(&self) -> (&'a Mechanism, &'a [f64], &'a [Pose]) {
        (self.mechanism, self.params, self.poses)
    }

    /// Some equations repeat others.
    pub fn repeated(&self) -> bool {
        self.repeated
    }

    /// Derivatives of the residuals by the parameters, those that are not nought: one list a row.
    pub(crate) fn by_param(&self) -> &[Vec<(ParamId, f64)>] {
        &self.by_param
    }

    pub(crate) fn shared(&self) -> Option<&Shared> {
        self.shared.as_deref()
    }

    pub(crate) fn set_shared(&mut self, shared: Shared) {
        self.shared = Some(Box::new(shared));
    }

    /// Solves `Jᵀ R = −forces`, spread over all residual rows (zero in rows that repeat others, unless it is known how they share).
    pub(crate) fn balance(&self, forces: &[f64]) -> Result<Vec<f64>, Singular> {
        let mut rows = self.balance_kept(forces)?;
        if let Some(shared) = &self.shared {
            let mut on_params = vec![0.0; self.params.len()];
            self.add_on_params(&rows, &mut on_params);
            shared.correct(&mut rows, &mut on_params);
        }
        Ok(rows)
    }

    /// Adds the forces on all parameters that come of forces in the rows.
    pub(crate) fn add_on_params(&self, rows: &[f64], on_params: &mut [f64]) {
        for (r, row) in rows.iter().zip(&self.by_param) {
            for &(p, d) in row {
                on_params[p] += r * d;
            }
        }
    }

    /// The same, zero in rows that repeat others.
    pub(crate) fn balance_kept(&self, forces: &[f64]) -> Result<Vec<f64>, Singular> {
        let mut rows = vec![0.0; self.mechanism.equations()];
        if forces.is_empty() {
            return Ok(rows);
        }
        let mut q = DVector::from_iterator(forces.len(), forces.iter().map(|f| -f));
        for i in (2..q.len()).step_by(3) {
            q[i] /= self.size;
        }
        let q = self.factors.solve_transposed(&q).ok_or(Singular)?;
        for (k, &row) in self.keep.iter().enumerate() {
            rows[row] = q[k];
        }
        Ok(rows)
    }

    /// Solves `J q = −right` for the bodies' rates.
    fn solve(&self, right: &DVector<f64>) -> Result<Vec<[f64; 3]>, Singular> {
        let kept = right.select_rows(&self.keep);
        let q = if kept.is_empty() {
            kept
        } else {
            self.factors.solve(&kept).ok_or(Singular)?
        };
        let mut rates = vec![[0.0; 3]];
        rates.extend(
            q.as_slice()
                .chunks_exact(3)
                .map(|c| [-c[0], -c[1], -c[2] / self.size]),
        );
        Ok(rates)
    }
}

/// Value, first and second rate of a measure while the parameters run along `direction` and the bodies move with `rates`.
/// The rates may come from a part of the mechanism only, when nothing else moves.
pub fn measure_along(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    measure: &Measure,
    direction: &[f64],
    rates: &Rates,
) -> [f64; 3] {
    let params: Vec<Jet> = params
        .iter()
        .zip(direction)
        .map(|(&value, &rate)| Jet {
            value,
            rate,
            second: 0.0,
        })
        .collect();
    let poses = jets(poses, &rates.first, Some(&rates.second));
    let jet = At {
        mechanism,
        params: &params,
        poses: &poses,
    }
    .measure(measure);
    [jet.value, jet.rate, jet.second]
}

/// Third rate of a measure along a motion whose rates are known to the third.
pub fn measure_third(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    measure: &Measure,
    direction: &[f64],
    rates: &Rates,
    third: &[[f64; 3]],
) -> f64 {
    At {
        mechanism,
        params: &jets3(params, direction),
        poses: &poses3(poses, rates, Some(third)),
    }
    .measure(measure)
    .third
}

fn jets3(params: &[f64], direction: &[f64]) -> Vec<Jet3> {
    let jet = |(&value, &rate): (&f64, &f64)| Jet3 {
        jet: Jet {
            value,
            rate,
            second: 0.0,
        },
        third: 0.0,
    };
    params.iter().zip(direction).map(jet).collect()
}

fn poses3(poses: &[Pose], rates: &Rates, third: Option<&[[f64; 3]]>) -> Vec<[Jet3; 3]> {
    jets(poses, &rates.first, Some(&rates.second))
        .into_iter()
        .enumerate()
        .map(|(b, jets)| {
            std::array::from_fn(|i| Jet3 {
                jet: jets[i],
                third: third.map_or(0.0, |t| t[b][i]),
            })
        })
        .collect()
}

fn jets(poses: &[Pose], first: &[[f64; 3]], second: Option<&[[f64; 3]]>) -> Vec<[Jet; 3]> {
    (0..poses.len())
        .map(|b| {
            let value = [poses[b].x, poses[b].y, poses[b].angle];
            std::array::from_fn(|i| Jet {
                value: value[i],
                rate: first[b][i],
                second: second.map_or(0.0, |s| s[b][i]),
            })
        })
        .collect()
}

/// The measure and its derivatives at one closed pose; see [`Tangent::sensitivity`].
///
/// # Errors
/// [`Singular`] at a dead centre.
pub fn sensitivity(
    m: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    measure: &Measure,
) -> Result<Sensitivity, Singular> {
    Tangent::new(m, params, poses)?.sensitivity(measure)
}

/// A direction that moves one parameter at unit rate.
pub fn unit_direction(params: usize, moved: ParamId) -> Vec<f64> {
    (0..params)
        .map(|p| if p == moved { 1.0 } else { 0.0 })
        .collect()
}
