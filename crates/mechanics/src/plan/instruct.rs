//! The instruction for each line of a tape.

use super::lower::{Form, Lowering, Term, TooLarge};
use super::slots::Slots;
use super::tape::{Line, Node, Value};
use crate::lanes::op::WELL;
use crate::lanes::{NONE, Op, Slot};

impl Lowering<'_> {
    pub(super) fn op(
        &self,
        i: usize,
        from: &[Slot],
        slots: &mut Slots,
        back: u32,
    ) -> Result<Op, TooLarge> {
        let line = &self.tape.lines[i];
        let from = |n: usize| from.get(n).copied().unwrap_or(NONE);
        let (p, q, r, t, u) = (from(0), from(1), from(2), from(3), from(4));
        Ok(match self.forms[i] {
            Form::Two(a, b, minus) => {
                let sign = if minus { -1.0 } else { 1.0 };
                let d = slots.make(line.first)?;
                two(a, b, minus, sign, d, [p, q, r, t])
            }
            Form::Three(a, b, minus_b, c, minus_c) => {
                let d = slots.make(line.first)?;
                let signed = |minus: bool, k: f64| if minus { -k } else { k };
                match (a, b, c) {
                    (Term::Fixed(h), Term::Scaled(k, _), Term::Scaled(m, _)) => Op::FixedAddBlend {
                        d,
                        h,
                        k: signed(minus_b, k),
                        b: p,
                        m: signed(minus_c, m),
                        c: q,
                    },
                    (_, Term::Scaled(k, _), Term::Scaled(m, _)) => Op::AddBlend {
                        d,
                        a: p,
                        k: signed(minus_b, k),
                        b: q,
                        m: signed(minus_c, m),
                        c: r,
                    },
                    _ => match (minus_b, minus_c) {
                        (false, false) => Op::AddMulAddMul {
                            d,
                            a: p,
                            b: q,
                            c: r,
                            f: t,
                            g: u,
                        },
                        (false, true) => Op::AddMulSubMul {
                            d,
                            a: p,
                            b: q,
                            c: r,
                            f: t,
                            g: u,
                        },
                        (true, false) => Op::AddMulSubMul {
                            d,
                            a: p,
                            b: t,
                            c: u,
                            f: q,
                            g: r,
                        },
                        (true, true) => Op::SubMulSubMul {
                            d,
                            a: p,
                            b: q,
                            c: r,
                            f: t,
                            g: u,
                        },
                    },
                }
            }
            _ => Self::plain(line, [p, q, r, t], slots, back)?,
        })
    }

    fn plain(
        line: &Line,
        [p, q, r, t]: [Slot; 4],
        slots: &mut Slots,
        back: u32,
    ) -> Result<Op, TooLarge> {
        let first = line.first;
        let cell = |slots: &Slots, c: Option<u16>| c.map_or(Ok(NONE), |c| slots.cell(c));
        Ok(match line.node {
            Node::Prod(Value::Fixed(k), _) => Op::Scale {
                d: slots.make(first)?,
                k,
                a: q,
                m: 0.0,
            },
            Node::Prod(..) => Op::Mul {
                d: slots.make(first)?,
                a: p,
                b: q,
            },
            Node::Quot(Value::Fixed(k), _) => Op::Inverse {
                d: slots.make(first)?,
                k,
                a: q,
            },
            Node::Quot(..) => Op::Div {
                d: slots.make(first)?,
                a: p,
                b: q,
            },
            Node::Root(_) => Op::Root {
                d: slots.make(first)?,
                a: p,
            },
            Node::AddSize(a, k, b) => {
                let (a, b) = (slots.given(p, a)?, slots.given(q, b)?);
                Op::AddSize {
                    d: slots.make(first)?,
                    a,
                    k,
                    b,
                }
            }
            Node::CosSin(_) => Op::CosSin {
                d: slots.make(first)?,
                e: slots.make(first + 1)?,
                a: p,
            },
            Node::Course { cam, .. } => Op::Course {
                d: slots.make(first)?,
                e: slots.make(first + 1)?,
                a: p,
                cam,
            },
            Node::Cam { cam, pin, swell } => {
                let [a, b, swell] = [
                    slots.given(p, pin[0])?,
                    slots.given(q, pin[1])?,
                    slots.given(r, swell)?,
                ];
                Op::Cam {
                    d: slots.make(first)?,
                    e: slots.make(first + 1)?,
                    f: slots.make(first + 2)?,
                    a,
                    b,
                    swell,
                    cam,
                }
            }
            Node::Reach {
                to,
                k,
                q: square,
                side,
                memory,
            } => {
                let [a, b] = [slots.given(p, to[0])?, slots.given(q, to[1])?];
                let m = cell(slots, memory)?;
                if let (Value::Fixed(k), Value::Fixed(q)) = (k, square) {
                    Op::Reach {
                        d: slots.make(first)?,
                        e: slots.make(first + 1)?,
                        a,
                        b,
                        k,
                        q,
                        side,
                        m,
                    }
                } else {
                    let (k, q) = (slots.given(r, k)?, slots.given(t, square)?);
                    Op::ReachOwn {
                        d: slots.make(first)?,
                        e: slots.make(first + 1)?,
                        a,
                        b,
                        k,
                        q,
                        side,
                        m,
                    }
                }
            }
            Node::Meet {
                to,
                c,
                side,
                tiny,
                memory,
            } => {
                let [a, b, c] = [
                    slots.given(p, to[0])?,
                    slots.given(q, to[1])?,
                    slots.given(r, c)?,
                ];
                let m = cell(slots, memory)?;
                Op::Meet {
                    d: slots.make(first)?,
                    e: slots.make(first + 1)?,
                    a,
                    b,
                    c,
                    side,
                    tiny,
                    m,
                }
            }
            Node::Fold {
                a,
                q: greatest,
                side,
                memory,
            } => {
                let a = slots.given(p, a)?;
                let m = cell(slots, memory)?;
                match greatest {
                    Value::Fixed(greatest) => Op::Fold {
                        d: slots.make(first)?,
                        a,
                        q: greatest,
                        side,
                        m,
                    },
                    Value::Lane(_) => Op::FoldOwn {
                        d: slots.make(first)?,
                        a,
                        q,
                        side,
                        m,
                    },
                }
            }
            Node::Wind { z, angle, z_cells } => {
                let [a, b] = [slots.given(p, z[0])?, slots.given(q, z[1])?];
                let (angle, c, s) = (
                    slots.cell(angle)?,
                    slots.cell(z_cells[0])?,
                    slots.cell(z_cells[1])?,
                );
                Op::Wind {
                    d: slots.make(first)?,
                    a,
                    b,
                    angle,
                    c,
                    s,
                }
            }
            Node::Within { a, limit } => Op::Within {
                a: slots.given(p, a)?,
                limit,
            },
            Node::Above { a, k, limit } => Op::Above {
                a: slots.given(p, a)?,
                k,
                limit,
            },
            Node::Steady { a, memory } => Op::Steady {
                a: slots.given(p, a)?,
                m: slots.cell(memory)?,
            },
            Node::Begin { busy } => Op::Begin {
                busy: slots.cell(busy)?,
            },
            Node::Clear { worst } => Op::Set {
                d: slots.cell(worst)?,
                k: 0.0,
            },
            Node::ForeseeTurn { z, now, last } => Op::ForeseeTurn {
                c: slots.cell(z[0])?,
                s: slots.cell(z[1])?,
                now: slots.cell(now)?,
                last: slots.cell(last)?,
            },
            Node::ForeseeMove { x, now, last } => Op::ForeseeMove {
                x: slots.cell(x)?,
                now: slots.cell(now)?,
                last: slots.cell(last)?,
            },
            Node::Turn {
                z,
                by,
                f,
                busy,
                worst,
                k,
                now,
            } => Op::Turn {
                c: slots.cell(z[0])?,
                s: slots.cell(z[1])?,
                by: slots.given(p, by)?,
                f,
                busy: slots.cell(busy)?,
                worst: slots.cell(worst)?,
                k,
                now: cell(slots, now)?,
            },
            Node::Move {
                x,
                by,
                f,
                busy,
                worst,
                k,
                now,
            } => Op::Move {
                x: slots.cell(x)?,
                by: slots.given(p, by)?,
                f,
                busy: slots.cell(busy)?,
                worst: slots.cell(worst)?,
                k,
                now: cell(slots, now)?,
            },
            Node::Again { busy, worst, wild } => Op::Again {
                busy: slots.cell(busy)?,
                worst: slots.cell(worst)?,
                wild,
                back,
            },
            // Sums are never plain; inputs and cells need no instruction.
            Node::Sum(..) | Node::Diff(..) | Node::Input(_) | Node::Read(_) => Op::Within {
                a: WELL,
                limit: 1.0,
            },
        })
    }
}

/// a ± b as one instruction; `from` are the slots of their lane numbers in order.
fn two(a: Term, b: Term, minus: bool, sign: f64, d: Slot, [p, q, r, t]: [Slot; 4]) -> Op {
    match (a, b) {
        (Term::Lane(_), Term::Lane(_)) if minus => Op::Sub { d, a: p, b: q },
        (Term::Lane(_), Term::Lane(_)) => Op::Add { d, a: p, b: q },
        (Term::Lane(_), Term::Fixed(m)) => Op::Scale {
            d,
            k: 1.0,
            a: p,
            m: sign * m,
        },
        (Term::Fixed(m), Term::Lane(_)) => Op::Scale {
            d,
            k: sign,
            a: p,
            m,
        },
        (Term::Lane(_), Term::Scaled(k, _)) => Op::AddScaled {
            d,
            a: p,
            k: sign * k,
            b: q,
        },
        (Term::Scaled(k, _), Term::Lane(_)) if minus => Op::Blend {
            d,
            k,
            a: p,
            m: -1.0,
            b: q,
        },
        (Term::Scaled(k, _), Term::Lane(_)) => Op::AddScaled { d, a: q, k, b: p },
        (Term::Lane(_), Term::Product(..)) if minus => Op::SubMul {
            d,
            a: p,
            b: q,
            c: r,
        },
        (Term::Lane(_), Term::Product(..)) => Op::AddMul {
            d,
            a: p,
            b: q,
            c: r,
        },
        (Term::Product(..), Term::Lane(_)) if minus => Op::MulSub {
            d,
            a: r,
            b: p,
            c: q,
        },
        (Term::Product(..), Term::Lane(_)) => Op::AddMul {
            d,
            a: r,
            b: p,
            c: q,
        },
        (Term::Scaled(k, _), Term::Fixed(m)) => Op::Scale {
            d,
            k,
            a: p,
            m: sign * m,
        },
        (Term::Fixed(m), Term::Scaled(k, _)) => Op::Scale {
            d,
            k: sign * k,
            a: p,
            m,
        },
        (Term::Scaled(k, _), Term::Scaled(m, _)) => Op::Blend {
            d,
            k,
            a: p,
            m: sign * m,
            b: q,
        },
        (Term::Scaled(k, _), Term::Product(..)) if minus => Op::ScaleSubMul {
            d,
            k,
            a: p,
            b: q,
            c: r,
        },
        (Term::Scaled(k, _), Term::Product(..)) => Op::ScaleAddMul {
            d,
            k,
            a: p,
            b: q,
            c: r,
        },
        (Term::Product(..), Term::Scaled(k, _)) => Op::ScaleAddMul {
            d,
            k: sign * k,
            a: r,
            b: p,
            c: q,
        },
        (Term::Fixed(k), Term::Product(..)) if minus => Op::FixedSubMul { d, k, b: p, c: q },
        (Term::Fixed(k), Term::Product(..)) => Op::FixedAddMul { d, k, b: p, c: q },
        (Term::Product(..), Term::Fixed(k)) => Op::FixedAddMul {
            d,
            k: sign * k,
            b: p,
            c: q,
        },
        (Term::Product(..), Term::Product(..)) if minus => Op::MulSubMul {
            d,
            a: p,
            b: q,
            c: r,
            f: t,
        },
        (Term::Product(..), Term::Product(..)) => Op::MulAddMul {
            d,
            a: p,
            b: q,
            c: r,
            f: t,
        },
        (Term::Fixed(x), Term::Fixed(y)) => Op::Set { d, k: x + sign * y },
    }
}
