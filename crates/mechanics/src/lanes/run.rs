//! Carrying the instructions out.

use std::cell::Cell;

use pulp::Simd;

use super::op::{NEAR, NONE, Op, PATIENCE, Slot, WELL};
use crate::cam::{Cam, Touch};

use super::sine::{GREATEST_ANGLE, cos_sin, small_angle};

/// The numbers of one slot: N registers.
pub(crate) type Row<S, const N: usize> = [Cell<<S as Simd>::f64s>; N];

/// The slots laid over `numbers`; nothing is left over when its length is a whole number of slots.
#[inline(always)]
pub(crate) fn rows<S: Simd, const N: usize>(numbers: &mut [f64]) -> &[Row<S, N>] {
    let (registers, _) = S::as_mut_simd_f64s(numbers);
    Cell::from_mut(registers)
        .as_slice_of_cells()
        .as_chunks::<N>()
        .0
}

/// For every register: reads the slots in brackets, writes the slots after the arrow.
macro_rules! each {
    ($ws:ident, ($($a:ident),*) -> $d:ident, $value:expr) => {{
        let out = &$ws[usize::from($d)];
        $(let $a = &$ws[usize::from($a)];)*
        for j in 0..N {
            $(let $a = $a[j].get();)*
            out[j].set($value);
        }
    }};
    ($ws:ident, ($($a:ident),*) -> ($($d:ident),+), $value:expr) => {{
        let outs = [$(&$ws[usize::from($d)]),+];
        $(let $a = &$ws[usize::from($a)];)*
        for j in 0..N {
            $(let $a = $a[j].get();)*
            let values = $value;
            for (out, value) in outs.iter().zip(values) {
                out[j].set(value);
            }
        }
    }};
}

/// Carries `ops` out. Every slot they name lies within `ws`: the lowering numbers them so. Results go to `out` as soon as they are there,
/// so that the memory takes them in while the next ones are worked out; those that it has no row for are left out.
#[inline(always)]
pub(crate) fn run<S: Simd, const N: usize>(
    s: S,
    ops: &[Op],
    cams: &[Cam],
    ws: &[Row<S, N>],
    out: &[Row<S, N>],
) {
    let mut at = 0;
    let mut rounds = 0;
    while let Some(&op) = ops.get(at) {
        at += 1;
        match op {
            Op::Add { d, a, b } => each!(ws, (a, b) -> d, s.add_f64s(a, b)),
            Op::Sub { d, a, b } => each!(ws, (a, b) -> d, s.sub_f64s(a, b)),
            Op::Mul { d, a, b } => each!(ws, (a, b) -> d, s.mul_f64s(a, b)),
            Op::Div { d, a, b } => each!(ws, (a, b) -> d, s.div_f64s(a, b)),
            Op::Inverse { d, k, a } => {
                let k = s.splat_f64s(k);
                each!(ws, (a) -> d, s.div_f64s(k, a));
            }
            Op::Scale { d, k, a, m } => {
                let (k, m) = (s.splat_f64s(k), s.splat_f64s(m));
                each!(ws, (a) -> d, s.add_f64s(s.mul_f64s(k, a), m));
            }
            Op::AddScaled { d, a, k, b } => {
                let k = s.splat_f64s(k);
                each!(ws, (a, b) -> d, s.add_f64s(a, s.mul_f64s(k, b)));
            }
            Op::Blend { d, k, a, m, b } => {
                let (k, m) = (s.splat_f64s(k), s.splat_f64s(m));
                each!(ws, (a, b) -> d, s.add_f64s(s.mul_f64s(k, a), s.mul_f64s(m, b)));
            }
            Op::AddMul { d, a, b, c } => each!(ws, (a, b, c) -> d, s.add_f64s(a, s.mul_f64s(b, c))),
            Op::SubMul { d, a, b, c } => each!(ws, (a, b, c) -> d, s.sub_f64s(a, s.mul_f64s(b, c))),
            Op::MulSub { d, a, b, c } => each!(ws, (a, b, c) -> d, s.sub_f64s(s.mul_f64s(b, c), a)),
            Op::MulAddMul { d, a, b, c, f } => {
                each!(ws, (a, b, c, f) -> d, s.add_f64s(s.mul_f64s(a, b), s.mul_f64s(c, f)));
            }
            Op::MulSubMul { d, a, b, c, f } => {
                each!(ws, (a, b, c, f) -> d, s.sub_f64s(s.mul_f64s(a, b), s.mul_f64s(c, f)));
            }
            Op::ScaleAddMul { d, k, a, b, c } => {
                let k = s.splat_f64s(k);
                each!(ws, (a, b, c) -> d, s.add_f64s(s.mul_f64s(k, a), s.mul_f64s(b, c)));
            }
            Op::ScaleSubMul { d, k, a, b, c } => {
                let k = s.splat_f64s(k);
                each!(ws, (a, b, c) -> d, s.sub_f64s(s.mul_f64s(k, a), s.mul_f64s(b, c)));
            }
            Op::FixedAddMul { d, k, b, c } => {
                let k = s.splat_f64s(k);
                each!(ws, (b, c) -> d, s.add_f64s(k, s.mul_f64s(b, c)));
            }
            Op::FixedSubMul { d, k, b, c } => {
                let k = s.splat_f64s(k);
                each!(ws, (b, c) -> d, s.sub_f64s(k, s.mul_f64s(b, c)));
            }
            Op::AddBlend { d, a, k, b, m, c } => {
                let (k, m) = (s.splat_f64s(k), s.splat_f64s(m));
                each!(ws, (a, b, c) -> d, s.add_f64s(s.add_f64s(a, s.mul_f64s(k, b)), s.mul_f64s(m, c)));
            }
            Op::FixedAddBlend { d, h, k, b, m, c } => {
                let (h, k, m) = (s.splat_f64s(h), s.splat_f64s(k), s.splat_f64s(m));
                each!(ws, (b, c) -> d, s.add_f64s(s.add_f64s(h, s.mul_f64s(k, b)), s.mul_f64s(m, c)));
            }
            Op::AddMulAddMul { d, a, b, c, f, g } => {
                each!(ws, (a, b, c, f, g) -> d, s.add_f64s(s.add_f64s(a, s.mul_f64s(b, c)), s.mul_f64s(f, g)));
            }
            Op::AddMulSubMul { d, a, b, c, f, g } => {
                each!(ws, (a, b, c, f, g) -> d, s.sub_f64s(s.add_f64s(a, s.mul_f64s(b, c)), s.mul_f64s(f, g)));
            }
            Op::SubMulSubMul { d, a, b, c, f, g } => {
                each!(ws, (a, b, c, f, g) -> d, s.sub_f64s(s.sub_f64s(a, s.mul_f64s(b, c)), s.mul_f64s(f, g)));
            }
            Op::Root { d, a } => each!(ws, (a) -> d, s.sqrt_f64s(a)),
            Op::AddSize { d, a, k, b } => {
                let k = s.splat_f64s(k);
                each!(ws, (a, b) -> d, s.add_f64s(a, s.abs_f64s(s.mul_f64s(k, b))));
            }
            Op::CosSin { d, e, a } => {
                let (well, reach) = (WELL, s.splat_f64s(GREATEST_ANGLE));
                each!(ws, (a, well) -> (d, e, well), {
                    let (cos, sin) = cos_sin(s, a);
                    [cos, sin, keep(s, s.less_than_or_equal_f64s(s.abs_f64s(a), reach), well)]
                });
            }
            Op::Course { d, e, a, cam } => {
                let (well, cam) = (WELL, cams.get(usize::from(cam)));
                each!(ws, (a, well) -> (d, e, well), course(s, cam, [a, well]));
            }
            Op::Cam {
                d,
                e,
                f,
                a,
                b,
                swell,
                cam,
            } => {
                let (well, cam) = (WELL, cams.get(usize::from(cam)));
                each!(ws, (a, b, swell, well) -> (d, e, f, well), touch(s, cam, [a, b, swell, well]));
            }
            Op::Reach {
                d,
                e,
                a,
                b,
                k,
                q,
                side,
                m,
            } => {
                let (well, k, q) = (WELL, s.splat_f64s(k), s.splat_f64s(q));
                if m == NONE {
                    each!(ws, (a, b, well) -> (d, e, well), reach(s, [a, b, k, q], side, well).0);
                } else {
                    each!(ws, (a, b, well, m) -> (d, e, well, m), {
                        let ([x, y, well], root) = reach(s, [a, b, k, q], side, well);
                        [x, y, steady(s, root, m, well), root]
                    });
                }
            }
            Op::ReachOwn {
                d,
                e,
                a,
                b,
                k,
                q,
                side,
                m,
            } => {
                let well = WELL;
                if m == NONE {
                    each!(ws, (a, b, k, q, well) -> (d, e, well), reach(s, [a, b, k, q], side, well).0);
                } else {
                    each!(ws, (a, b, k, q, well, m) -> (d, e, well, m), {
                        let ([x, y, well], root) = reach(s, [a, b, k, q], side, well);
                        [x, y, steady(s, root, m, well), root]
                    });
                }
            }
            Op::Meet {
                d,
                e,
                a,
                b,
                c,
                side,
                tiny,
                m,
            } => {
                let (well, tiny) = (WELL, s.splat_f64s(tiny));
                if m == NONE {
                    each!(ws, (a, b, c, well) -> (d, e, well), meet(s, [a, b, c, tiny], side, well).0);
                } else {
                    each!(ws, (a, b, c, well, m) -> (d, e, well, m), {
                        let ([x, y, well], root) = meet(s, [a, b, c, tiny], side, well);
                        [x, y, steady(s, root, m, well), root]
                    });
                }
            }
            Op::Fold { d, a, q, side, m } => {
                let (well, q) = (WELL, s.splat_f64s(q));
                if m == NONE {
                    each!(ws, (a, well) -> (d, well), fold(s, a, q, side, well).0);
                } else {
                    each!(ws, (a, well, m) -> (d, well, m), {
                        let ([x, well], root) = fold(s, a, q, side, well);
                        [x, steady(s, root, m, well), root]
                    });
                }
            }
            Op::FoldOwn { d, a, q, side, m } => {
                let well = WELL;
                if m == NONE {
                    each!(ws, (a, q, well) -> (d, well), fold(s, a, q, side, well).0);
                } else {
                    each!(ws, (a, q, well, m) -> (d, well, m), {
                        let ([x, well], root) = fold(s, a, q, side, well);
                        [x, steady(s, root, m, well), root]
                    });
                }
            }
            Op::Wind {
                d,
                a,
                b,
                angle,
                c,
                s: sine,
            } => {
                let well = WELL;
                each!(ws, (a, b, angle, c, sine, well) -> (d, well, angle, c, sine), {
                    let across = s.sub_f64s(s.mul_f64s(c, b), s.mul_f64s(sine, a));
                    let along = s.add_f64s(s.mul_f64s(c, a), s.mul_f64s(sine, b));
                    let angle = s.add_f64s(angle, small_angle(s, along, across));
                    let ahead = s.greater_than_f64s(along, s.splat_f64s(0.0));
                    [angle, keep(s, ahead, well), angle, a, b]
                });
            }
            Op::Within { a, limit } => {
                let (well, limit) = (WELL, s.splat_f64s(limit));
                each!(ws, (a, well) -> well, keep(s, s.less_than_or_equal_f64s(s.abs_f64s(a), limit), well));
            }
            Op::Above { a, k, limit } => {
                let (well, k, limit) = (WELL, s.splat_f64s(k), s.splat_f64s(limit));
                each!(ws, (a, well) -> well, keep(s, s.greater_than_f64s(s.mul_f64s(k, a), limit), well));
            }
            Op::Steady { a, m } => {
                let well = WELL;
                each!(ws, (a, m, well) -> (well, m), {
                    let size = s.abs_f64s(a);
                    [steady(s, size, m, well), size]
                });
            }
            Op::Give { column, a } => {
                if let Some(out) = out.get(usize::from(column)) {
                    for (out, a) in out.iter().zip(&ws[usize::from(a)]) {
                        out.set(a.get());
                    }
                }
            }
            Op::Set { d, k } => {
                let k = s.splat_f64s(k);
                each!(ws, () -> d, k);
            }
            Op::Begin { busy } => {
                rounds = 0;
                let well = WELL;
                each!(ws, (well) -> busy, well);
            }
            Op::ForeseeTurn {
                c,
                s: sine,
                now,
                last,
            } => {
                each!(ws, (c, sine, now, last) -> (c, sine, now, last), {
                    let by = s.sub_f64s(s.add_f64s(now, now), last);
                    let [c, sine] = turned(s, c, sine, by);
                    [c, sine, by, now]
                });
            }
            Op::ForeseeMove { x, now, last } => {
                each!(ws, (x, now, last) -> (x, now, last), {
                    let by = s.sub_f64s(s.add_f64s(now, now), last);
                    [s.add_f64s(x, by), by, now]
                });
            }
            Op::Turn {
                c,
                s: sine,
                by,
                f,
                busy,
                worst,
                k,
                now,
            } => {
                let (f, k) = (s.splat_f64s(f), s.splat_f64s(k));
                if now == NONE {
                    each!(ws, (c, sine, by, busy, worst) -> (c, sine, worst), {
                        let (step, worst) = stepped(s, [by, f, busy, worst, k]);
                        let [c, sine] = turned(s, c, sine, step);
                        [c, sine, worst]
                    });
                } else {
                    each!(ws, (c, sine, by, busy, worst, now) -> (c, sine, worst, now), {
                        let (step, worst) = stepped(s, [by, f, busy, worst, k]);
                        let [c, sine] = turned(s, c, sine, step);
                        [c, sine, worst, s.add_f64s(now, step)]
                    });
                }
            }
            Op::Move {
                x,
                by,
                f,
                busy,
                worst,
                k,
                now,
            } => {
                let (f, k) = (s.splat_f64s(f), s.splat_f64s(k));
                if now == NONE {
                    each!(ws, (x, by, busy, worst) -> (x, worst), {
                        let (step, worst) = stepped(s, [by, f, busy, worst, k]);
                        [s.add_f64s(x, step), worst]
                    });
                } else {
                    each!(ws, (x, by, busy, worst, now) -> (x, worst, now), {
                        let (step, worst) = stepped(s, [by, f, busy, worst, k]);
                        [s.add_f64s(x, step), worst, s.add_f64s(now, step)]
                    });
                }
            }
            Op::Again {
                busy,
                worst,
                wild,
                back,
            } => {
                rounds += 1;
                if again(s, ws, busy, worst, wild, rounds < PATIENCE) {
                    at = back as usize;
                }
            }
        }
    }
}

/// How pins touch a cam, lane after lane: its program is any function, so there is nothing to gain from side by side.
#[inline(always)]
fn touch<S: Simd>(s: S, cam: Option<&Cam>, from: [S::f64s; 4]) -> [S::f64s; 4] {
    let mut numbers = from.map(|x| numbers(s, x));
    for lane in 0..S::F64_LANES {
        let [a, b, swell, well] = numbers.each_ref().map(|n| n[lane]);
        let touch = match cam {
            Some(cam) if well != 0.0 => cam.touch([a, b], swell),
            _ => Touch::default(),
        };
        let good = cam.is_some() && touch.off.is_finite();
        let [x, y, z, w] = &mut numbers;
        if good {
            (x[lane], y[lane], z[lane]) = (touch.off, touch.by[0], touch.by[1]);
        } else {
            (x[lane], y[lane], z[lane]) = (f64::NAN, f64::NAN, f64::NAN);
            w[lane] = 0.0;
        }
    }
    numbers.map(|n| register(s, n))
}

/// How far wheels have gone, lane after lane.
#[inline(always)]
fn course<S: Simd>(s: S, cam: Option<&Cam>, from: [S::f64s; 2]) -> [S::f64s; 3] {
    let [turns, mut well] = from.map(|x| numbers(s, x));
    let (mut goes, mut rates) = ([f64::NAN; 8], [f64::NAN; 8]);
    for lane in 0..S::F64_LANES {
        let at = cam
            .filter(|_| well[lane] != 0.0)
            .map(|c| c.lift.at(turns[lane]));
        match at {
            Some([way, rate, ..]) if way.is_finite() => {
                (goes[lane], rates[lane]) = (way, rate);
            }
            _ => well[lane] = 0.0,
        }
    }
    [goes, rates, well].map(|n| register(s, n))
}

/// The numbers of one register, and what is left of eight.
#[inline(always)]
fn numbers<S: Simd>(_: S, x: S::f64s) -> [f64; 8] {
    let mut numbers = [0.0; 8];
    if let Some(first) = S::as_mut_simd_f64s(&mut numbers[..S::F64_LANES])
        .0
        .first_mut()
    {
        *first = x;
    }
    numbers
}

#[inline(always)]
fn register<S: Simd>(s: S, numbers: [f64; 8]) -> S::f64s {
    let first = S::as_simd_f64s(&numbers[..S::F64_LANES]).0.first();
    first.copied().unwrap_or_else(|| s.splat_f64s(f64::NAN))
}

/// 1 stays 1 where `good`, all else is 0. By a product: a choice would become a masked store, which is slow on some processors.
#[inline(always)]
fn keep<S: Simd>(s: S, good: S::m64s, well: S::f64s) -> S::f64s {
    s.mul_f64s(
        well,
        s.select_f64s(good, s.splat_f64s(1.0), s.splat_f64s(0.0)),
    )
}

/// Gives up the lanes whose root has halved or doubled since the last pose: between the two the machine may have passed the place where
/// both ways of assembling meet. A memory that is not a number yet gives nothing up.
#[inline(always)]
fn steady<S: Simd>(s: S, root: S::f64s, last: S::f64s, well: S::f64s) -> S::f64s {
    let halved = s.less_than_f64s(s.add_f64s(root, root), last);
    let doubled = s.less_than_f64s(s.add_f64s(last, last), root);
    s.mul_f64s(
        well,
        s.select_f64s(
            s.or_m64s(halved, doubled),
            s.splat_f64s(0.0),
            s.splat_f64s(1.0),
        ),
    )
}

#[inline(always)]
pub(crate) fn reach<S: Simd>(
    s: S,
    [a, b, k, q]: [S::f64s; 4],
    side: f64,
    well: S::f64s,
) -> ([S::f64s; 3], S::f64s) {
    let d = s.add_f64s(s.mul_f64s(a, a), s.mul_f64s(b, b));
    let along = s.add_f64s(s.mul_f64s(d, s.splat_f64s(0.5)), k);
    let square = s.mul_f64s(q, d);
    let rest = s.sub_f64s(square, s.mul_f64s(along, along));
    let near = s.splat_f64s(NEAR);
    let clear = s.and_m64s(
        s.greater_than_f64s(rest, s.mul_f64s(near, square)),
        s.greater_than_f64s(d, s.mul_f64s(near, q)),
    );
    let well = keep(s, clear, well);
    cross(s, [a, b, d, along, rest], side, well)
}

#[inline(always)]
pub(crate) fn meet<S: Simd>(
    s: S,
    [a, b, c, tiny]: [S::f64s; 4],
    side: f64,
    well: S::f64s,
) -> ([S::f64s; 3], S::f64s) {
    let d = s.add_f64s(s.mul_f64s(a, a), s.mul_f64s(b, b));
    let rest = s.sub_f64s(d, s.mul_f64s(c, c));
    let clear = s.greater_than_f64s(rest, s.mul_f64s(s.splat_f64s(NEAR), d));
    let well = keep(s, s.and_m64s(clear, s.greater_than_f64s(d, tiny)), well);
    cross(s, [a, b, d, c, rest], side, well)
}

/// w with w · (a, b) = along and w × (a, b) = root, d = a² + b²; and the root.
#[inline(always)]
fn cross<S: Simd>(
    s: S,
    [a, b, d, along, rest]: [S::f64s; 5],
    side: f64,
    well: S::f64s,
) -> ([S::f64s; 3], S::f64s) {
    let root = s.sqrt_f64s(rest);
    let inverse = s.div_f64s(s.splat_f64s(1.0), d);
    let f = s.mul_f64s(along, inverse);
    let g = s.mul_f64s(root, s.mul_f64s(inverse, s.splat_f64s(side)));
    let x = s.sub_f64s(s.mul_f64s(f, a), s.mul_f64s(g, b));
    let y = s.add_f64s(s.mul_f64s(f, b), s.mul_f64s(g, a));
    ([x, y, well], root)
}

#[inline(always)]
pub(crate) fn fold<S: Simd>(
    s: S,
    a: S::f64s,
    q: S::f64s,
    side: f64,
    well: S::f64s,
) -> ([S::f64s; 2], S::f64s) {
    let root = s.sqrt_f64s(a);
    let well = keep(
        s,
        s.greater_than_f64s(a, s.mul_f64s(s.splat_f64s(NEAR), q)),
        well,
    );
    ([s.mul_f64s(root, s.splat_f64s(side)), well], root)
}

/// The step of busy lanes, and the sum of all steps' sizes.
#[inline(always)]
fn stepped<S: Simd>(s: S, [by, f, busy, worst, k]: [S::f64s; 5]) -> (S::f64s, S::f64s) {
    let by = s.mul_f64s(by, f);
    (
        s.mul_f64s(by, busy),
        s.add_f64s(worst, s.mul_f64s(s.abs_f64s(by), k)),
    )
}

/// (c, s) turned by 2 atan(by/2): a rotation whatever `by` is, and `by` itself but for its cube over 12.
#[inline(always)]
fn turned<S: Simd>(s: S, c: S::f64s, sine: S::f64s, by: S::f64s) -> [S::f64s; 2] {
    let one = s.splat_f64s(1.0);
    let h = s.mul_f64s(s.mul_f64s(by, by), s.splat_f64s(0.25));
    let inverse = s.div_f64s(one, s.add_f64s(one, h));
    let along = s.mul_f64s(s.sub_f64s(one, h), inverse);
    let across = s.mul_f64s(by, inverse);
    [
        s.sub_f64s(s.mul_f64s(along, c), s.mul_f64s(across, sine)),
        s.add_f64s(s.mul_f64s(along, sine), s.mul_f64s(across, c)),
    ]
}

/// Whether to go round again. Lanes that are still busy when patience ends are given up.
#[inline(always)]
fn again<S: Simd, const N: usize>(
    s: S,
    ws: &[Row<S, N>],
    busy: Slot,
    worst: Slot,
    wild: f64,
    patient: bool,
) -> bool {
    let (zero, one, wild) = (s.splat_f64s(0.0), s.splat_f64s(1.0), s.splat_f64s(wild));
    let (busy, worst, well) = (
        &ws[usize::from(busy)],
        &ws[usize::from(worst)],
        &ws[usize::from(WELL)],
    );
    let mut any = zero;
    for j in 0..N {
        let size = worst[j].get();
        let moving = s.select_f64s(s.less_than_or_equal_f64s(size, one), zero, busy[j].get());
        let left = s.select_f64s(s.less_than_or_equal_f64s(size, wild), moving, zero);
        let lost = if patient {
            s.sub_f64s(moving, left)
        } else {
            moving
        };
        well[j].set(s.sub_f64s(well[j].get(), lost));
        busy[j].set(left);
        any = s.add_f64s(any, left);
    }
    patient && s.reduce_sum_f64s(any) > 0.0
}
