//! Loads on the machine as it stretches: the work that stiffens and the machine that yields agree on one force.
//!
//! Every load that follows a value sees that value with the machine's stretch: `value = free + C F(value)`, C the compliance
//! between the loads (unit-load method, [`mechanics::stretch`]). Where forces do not rise with their values there is one answer, since C
//! is positive. Work that gives way as it closes may have several: the one that a closing machine comes to first is taken, and where it
//! would snap to is told. Stretch is worked out in the pose without load.

use super::acting::{Law, LoadCase};
use super::gives::Members;
use super::rig::Rig;
use mechanics::model::{Measure, Pose};
use mechanics::statics::{self, Load, Reactions};
use mechanics::stretch::compliance;
use mechanics::tangent::{Sensitivity, Singular, Tangent};

/// Rounds agree to this share of the values.
const AGREED: f64 = 1e-13;
const ROUNDS: usize = 1000;

/// The loads of a case, balanced without friction.
#[derive(Clone, Debug)]
pub(crate) struct Loaded {
    /// Per load: the value it acts on, with stretch, and its force.
    pub(crate) acted: Vec<(f64, f64)>,
    /// Per load: the value to which it snaps when its work gives way.
    pub(crate) snaps: Vec<Option<f64>>,
    /// The loads as they act, by name.
    pub(crate) loads: Vec<(String, Load)>,
    pub(crate) reactions: Reactions,
    /// Force on every parameter.
    pub(crate) on_params: Vec<f64>,
    /// How far every parameter yields; empty when nothing gives.
    pub(crate) yields: Vec<f64>,
    /// Its stretch hangs on how members share a load, which is not determined.
    pub(crate) untold: bool,
}

impl Loaded {
    /// What the stretch adds to a measure, from its derivatives by every parameter.
    pub(crate) fn stretch(&self, by_param: &[f64]) -> f64 {
        self.yields.iter().zip(by_param).map(|(d, s)| d * s).sum()
    }
}

/// Balances a case in a pose.
pub(crate) fn balance(
    rig: &Rig<'_>,
    tangent: &Tangent<'_>,
    params: &[f64],
    poses: &[Pose],
    case: &LoadCase,
    members: &Members,
) -> Result<Loaded, Singular> {
    let measures: Vec<Measure> = case.acting.iter().map(|a| a.measure(rig, poses)).collect();
    let values: Vec<f64> = measures
        .iter()
        .map(|on| rig.mechanism.measure(params, poses, on))
        .collect();
    let mut acted: Vec<(f64, f64)> = values
        .iter()
        .zip(&case.acting)
        .map(|(v, a)| (*v, a.law.at(*v).0))
        .collect();
    let mut snaps: Vec<Option<f64>> = vec![None; acted.len()];
    let none = Members::default();
    let members = if tangent.strain_undetermined() {
        &none
    } else {
        members
    };
    let gives = &members.gives;
    let follows = |i: &usize| !gives.is_empty() && case.acting[*i].law.follows();
    let following: Vec<usize> = (0..values.len()).filter(follows).collect();
    let load = |on: &Measure, force: f64| Load {
        on: *on,
        law: statics::Law::Constant(force),
    };
    let steady = (0..values.len()).filter(|i| acted[*i].1 != 0.0 && !follows(i));
    let steady: Vec<usize> = steady.collect();
    let named = |i: usize| case.acting[i].name.clone();
    let still: Vec<Load> = steady
        .iter()
        .map(|&i| load(&measures[i], acted[i].1))
        .collect();
    let (mut reactions, mut on_params) = tangent.under(&still)?;
    // How far members yield is not known where it is not known how they share: the machine is then taken as stiff, and that is told.
    let untold = tangent.strain_undetermined();
    let names = steady.iter().map(|&i| named(i));
    let mut loads: Vec<(String, Load)> = names.zip(still).collect();
    if gives.is_empty() {
        return Ok(Loaded {
            acted,
            snaps,
            loads,
            reactions,
            on_params,
            yields: Vec::new(),
            untold,
        });
    }
    if !following.is_empty() {
        let on: Vec<Measure> = following.iter().map(|&i| measures[i]).collect();
        let Following { senses, free, c } = Following::new(tangent, &on, members, &on_params)?;
        let laws: Vec<&Law> = following.iter().map(|&i| &case.acting[i].law).collect();
        for ((&i, found), sense) in following.iter().zip(agree(&free, &c, &laws)).zip(&senses) {
            let (value, force, snap) = found;
            acted[i] = (value, force);
            snaps[i] = snap;
            if force != 0.0 {
                loads.push((named(i), load(&measures[i], force)));
                // A load's reactions are its virtual load turned round (both solve with the same equations).
                reactions
                    .rows
                    .iter_mut()
                    .zip(&sense.load)
                    .for_each(|(r, l)| *r -= force * l);
                on_params
                    .iter_mut()
                    .zip(&sense.by_param)
                    .for_each(|(f, s)| *f += force * s);
            }
        }
    }
    let yields = members.yields(&on_params);
    Ok(Loaded {
        acted,
        snaps,
        loads,
        reactions,
        on_params,
        yields,
        untold,
    })
}

/// Loads that follow their values: what they act on, with the stretch that the steady ones make, and the compliance between them.
struct Following {
    senses: Vec<Sensitivity>,
    free: Vec<f64>,
    c: Vec<Vec<f64>>,
}

impl Following {
    fn new(
        tangent: &Tangent<'_>,
        on: &[Measure],
        members: &Members,
        steady: &[f64],
    ) -> Result<Self, Singular> {
        let senses: Vec<Sensitivity> = on
            .iter()
            .map(|on| tangent.sensitivity(on))
            .collect::<Result<_, _>>()?;
        let steady = members.yields(steady);
        let free = senses.iter().map(|s| s.value + moved(s, &steady)).collect();
        let between = |one: &Sensitivity, other: &Sensitivity| {
            compliance(&members.gives, &one.by_param, &other.by_param)
        };
        let c = senses
            .iter()
            .map(|one| senses.iter().map(|other| between(one, other)).collect())
            .collect();
        Ok(Self { senses, free, c })
    }
}

fn moved(sense: &Sensitivity, yields: &[f64]) -> f64 {
    sense.by_param.iter().zip(yields).map(|(s, d)| s * d).sum()
}

/// What a made machine shows under load when its readings without load are known: its give and its springs are taken to be those of the drawn
/// machine, its work to begin where its own gaps say.
#[derive(Clone, Debug)]
pub(crate) struct Soft {
    free: Vec<f64>,
    c: Vec<Vec<f64>>,
    laws: Vec<Law>,
    /// The reading that each of them squeezes.
    pub(crate) squeezes: Vec<Option<usize>>,
    /// Compliance between the measure asked for and each of them.
    to: Vec<f64>,
    /// What the steady loads add to it.
    steady: f64,
}

impl Soft {
    /// Of a measure under a case; none where its stretch is not determined.
    pub(crate) fn new(
        rig: &Rig<'_>,
        here: &crate::run::Here,
        case: &LoadCase,
        members: &Members,
        measure: &Measure,
    ) -> Option<Self> {
        let params = rig.params(here);
        let tangent = members.tangent(rig, &params, &here.poses).ok()?;
        if tangent.strain_undetermined() {
            return None;
        }
        let (follows, steady): (Vec<_>, Vec<_>) = case.acting.iter().partition(|a| a.law.follows());
        let value = |on: &Measure| rig.mechanism.measure(&params, &here.poses, on);
        let still = steady.iter().map(|a| {
            let on = a.measure(rig, &here.poses);
            let force = a.law.at(value(&on)).0;
            Load {
                on,
                law: statics::Law::Constant(force),
            }
        });
        let (_, on_params) = tangent.under(&still.collect::<Vec<_>>()).ok()?;
        let on: Vec<Measure> = follows
            .iter()
            .map(|a| a.measure(rig, &here.poses))
            .collect();
        let Following { senses, free, c } =
            Following::new(&tangent, &on, members, &on_params).ok()?;
        let own = tangent.sensitivity(measure).ok()?;
        let to = senses
            .iter()
            .map(|s| compliance(&members.gives, &own.by_param, &s.by_param));
        Some(Self {
            free,
            c,
            laws: follows.iter().map(|a| a.law.clone()).collect(),
            squeezes: follows
                .iter()
                .map(|a| match a.source {
                    super::acting::Source::Work(reading) => Some(reading),
                    _ => None,
                })
                .collect(),
            to: to.collect(),
            steady: moved(&own, &members.yields(&on_params)),
        })
    }

    /// What load adds to the reading of a machine whose squeezed readings are off by so much.
    pub(crate) fn adds(&self, off: &[f64]) -> f64 {
        let free: Vec<f64> = self.free.iter().zip(off).map(|(f, o)| f + o).collect();
        let laws: Vec<&Law> = self.laws.iter().collect();
        let found = agree(&free, &self.c, &laws);
        let forces = found.iter().map(|f| f.1);
        self.steady + self.to.iter().zip(forces).map(|(c, f)| c * f).sum::<f64>()
    }
}

/// Values and forces of loads that follow their values, by going round them (Gauss–Seidel); each by itself is solved exactly.
fn agree(free: &[f64], c: &[Vec<f64>], laws: &[&Law]) -> Vec<(f64, f64, Option<f64>)> {
    let mut found: Vec<(f64, f64, Option<f64>)> = free.iter().map(|v| (*v, 0.0, None)).collect();
    for _ in 0..ROUNDS {
        let mut change: f64 = 0.0;
        for i in 0..free.len() {
            let others: f64 = (0..free.len())
                .filter(|&j| j != i)
                .map(|j| c[i][j] * found[j].1)
                .sum();
            let next = alone(free[i] + others, c[i][i], laws[i]);
            change = change.max((next.0 - found[i].0).abs() / (1.0 + next.0.abs()));
            found[i] = next;
        }
        if change <= AGREED {
            break;
        }
    }
    found
}

/// Value and force where the work is straight between pairs: the greatest value that agrees, which a closing machine comes to first; and the
/// next one down at which it would come to rest again.
fn on_table(base: f64, give: f64, pairs: &[[f64; 2]]) -> Option<(f64, f64, Option<f64>)> {
    let (first, last) = (pairs.first()?, pairs.last()?);
    let mut rests: Vec<(f64, f64)> = Vec::new();
    let flat = |force: f64| (base + give * force, force);
    let below = flat(first[1]);
    if below.0 <= first[0] {
        rests.push(below);
    }
    for pair in pairs.windows(2) {
        let ([v, f], [w, g]) = (pair[0], pair[1]);
        let slope = (g - f) / (w - v);
        let stiff = 1.0 - give * slope;
        let x = (base + give * (f - slope * v)) / stiff;
        // Where the work gives way faster than the machine follows, nothing rests.
        if stiff > 0.0 && x >= v && x <= w {
            rests.push((x, f + slope * (x - v)));
        }
    }
    let above = flat(last[1]);
    if above.0 >= last[0] {
        rests.push(above);
    }
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (1.0 + a.abs());
    let (value, force) = rests.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let next = rests.iter().map(|r| r.0).filter(|v| !close(*v, value));
    Some((value, force, next.reduce(f64::max)))
}

/// `value = base + give × force(value)`: Newton kept between the value without force and that with the force of the free value. Of a table
/// also where it snaps to.
fn alone(base: f64, give: f64, law: &Law) -> (f64, f64, Option<f64>) {
    if let Law::Table(pairs) = law
        && let Some(found) = on_table(base, give, pairs)
    {
        return found;
    }
    let (force, _) = law.at(base);
    let far = base + give * force;
    if force == 0.0 || give <= 0.0 || !far.is_finite() {
        return (base, force, None);
    }
    let (mut low, mut high) = (base.min(far), base.max(far));
    let mut x = base;
    for _ in 0..200 {
        let (force, slope) = law.at(x);
        let off = x - base - give * force;
        if off > 0.0 {
            high = high.min(x);
        } else {
            low = low.max(x);
        }
        if off == 0.0 || high - low <= 4.0 * f64::EPSILON * (1.0 + x.abs()) {
            break;
        }
        let newton = x - off / (1.0 - give * slope);
        x = if newton > low && newton < high && newton != x {
            newton
        } else {
            0.5 * (low + high)
        };
    }
    // At a step of the law the work holds the faces where it begins, with whatever force that takes.
    let force = if let Law::Below { .. } = law {
        (x - base) / give
    } else {
        law.at(x).0
    };
    (x, force, None)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    #[test]
    fn work_and_machine_agree() {
        // Springs in series: 9 kN/mm of work below 2.4 against 18 kN/mm of machine; drawn gap 0.9, so 1.5 is shared 2 to 1.
        let law = Law::Linear {
            begins: 2.4,
            stiffness: 9000.0,
        };
        let (value, force, _) = alone(0.9, 1.0 / 18_000.0, &law);
        assert!(
            (force - 9000.0).abs() < 1e-6 && (value - 1.4).abs() < 1e-9,
            "{value} {force}"
        );
        // A force that steps in at 2.0: the machine yields to there and no further.
        let (value, force, _) = alone(
            1.9,
            1.0 / 10_000.0,
            &Law::Below {
                force: 5000.0,
                below: 2.0,
            },
        );
        assert!((value - 2.0).abs() < 1e-9 && (force - 1000.0).abs() < 1e-6);
        let (value, force, _) = alone(
            1.9,
            1.0 / 100_000.0,
            &Law::Below {
                force: 5000.0,
                below: 2.0,
            },
        );
        assert!((value - 1.95).abs() < 1e-12 && (force - 5000.0).abs() < 1e-6);
        // A stiffening table.
        let table = Law::Table(vec![[0.5, 4000.0], [1.2, 3000.0], [2.4, 0.0]]);
        let (value, force, _) = alone(1.0, 1e-4, &table);
        assert!(
            (value - (1.0 + 1e-4 * force)).abs() < 1e-12
                && (force - table.at(value).0).abs() < 1e-9
        );
    }

    /// Work that breaks through: 3 kN at 1 mm, nothing from 0.8 mm down. Against a machine of 20 kN/mm, stiffer than the 15 kN/mm at which the
    /// work gives way, there is one place of rest; against 5 kN/mm there are two, as a drawing of both lines shows.
    #[test]
    fn work_that_gives_way_snaps_where_the_machine_is_soft() {
        let table = Law::Table(vec![[0.8, 0.0], [1.0, 3000.0], [2.0, 0.0]]);
        let (value, force, snaps) = alone(0.78, 1.0 / 20_000.0, &table);
        assert!(snaps.is_none());
        assert!((value - 0.78 - force / 20_000.0).abs() < 1e-12 && force == 0.0);
        let (value, force, snaps) = alone(0.78, 1.0 / 5000.0, &table);
        // On the rising side: x = 0.78 + (2 − x) 3000/5000, x = 1.98/1.6.
        assert!((value - 1.98 / 1.6).abs() < 1e-12, "{value}");
        assert!((force - (value - 0.78) * 5000.0).abs() < 1e-9);
        assert!((snaps.unwrap() - 0.78).abs() < 1e-12);
    }

    #[test]
    fn two_loads_that_press_one_another_agree() {
        let (a, b) = (
            Law::Linear {
                begins: 1.0,
                stiffness: 1000.0,
            },
            Law::Spring {
                rate: 50.0,
                free: 20.0,
                only_push: false,
                only_pull: false,
            },
        );
        let c = vec![vec![1e-3, 4e-4], vec![4e-4, 2e-3]];
        let found = agree(&[0.2, 15.0], &c, &[&a, &b]);
        for i in 0..2 {
            let value = [0.2, 15.0][i] + c[i][0] * found[0].1 + c[i][1] * found[1].1;
            assert!((value - found[i].0).abs() < 1e-11);
            assert!(([&a, &b][i].at(found[i].0).0 - found[i].1).abs() < 1e-7);
        }
    }
}
