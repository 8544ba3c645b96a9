//! From the tape to instructions: what nothing needs is left out, products and sums that belong together become one instruction,
//! and slots are handed out so that few are in use at a time.

use std::collections::BTreeMap;

use super::tape::{Line, Node, Start, Tape, Value};
use crate::lanes::op::WELL;
use crate::lanes::{NONE, Op, Slot};

/// Instructions ready to be carried out.
#[derive(Clone, Debug, Default)]
pub(crate) struct Code {
    pub(crate) ops: Vec<Op>,
    /// Slots in all.
    pub(crate) slots: usize,
    /// Input columns; they have the slots from 1 on.
    pub(crate) inputs: usize,
    /// What the cells start with; they have the slots after the inputs.
    pub(crate) cells: Vec<Start>,
    /// Slots that hold a fixed number.
    pub(crate) fixed: Vec<(Slot, f64)>,
    /// Slots of the results.
    pub(crate) outputs: Vec<Slot>,
    /// No pose can be good.
    pub(crate) failed: bool,
}

/// The machine is too large for the slots of a plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TooLarge;

/// One summand.
#[derive(Clone, Copy, Debug)]
enum Term {
    Fixed(f64),
    Lane(u32),
    Scaled(f64, u32),
    Product(u32, u32),
}

/// How a line is carried out.
#[derive(Clone, Copy, Debug)]
enum Form {
    Unused,
    /// Part of another line's instruction.
    Absorbed,
    Plain,
    /// a ± b
    Two(Term, Term, bool),
    /// a ± b ± c
    Three(Term, Term, bool, Term, bool),
}

struct Lowering<'a> {
    tape: &'a Tape,
    forms: Vec<Form>,
    uses: Vec<u32>,
}

/// Lowers a tape with these results.
pub(crate) fn lower(tape: &Tape, inputs: usize, outputs: &[Value]) -> Result<Code, TooLarge> {
    let mut l = Lowering { tape, forms: vec![Form::Unused; tape.lines.len()], uses: vec![0; tape.maker.len()] };
    l.keep_needed(outputs);
    l.join_terms();
    l.emit(inputs, outputs)
}

impl Lowering<'_> {
    /// Marks what the results and the checks need, and counts the uses of each number.
    fn keep_needed(&mut self, outputs: &[Value]) {
        for o in outputs {
            if let Value::Lane(v) = o {
                self.uses[*v as usize] += 1;
            }
        }
        for &i in self.tape.order().iter().rev() {
            let line = &self.tape.lines[i as usize];
            let made = line.first as usize..(line.first + line.node.outs()) as usize;
            if line.node.acts() || made.clone().any(|v| self.uses[v] > 0) {
                self.forms[i as usize] = Form::Plain;
                for v in line.node.operands() {
                    if let Value::Lane(v) = v {
                        self.uses[v as usize] += 1;
                    }
                }
            }
        }
    }

    fn maker(&self, v: u32) -> (usize, &Line) {
        let i = self.tape.maker[v as usize] as usize;
        (i, &self.tape.lines[i])
    }

    /// Whether `v` is used only once, there where it was made.
    fn own(&self, v: u32, region: u32) -> bool {
        let (i, line) = self.maker(v);
        self.uses[v as usize] == 1 && line.region == region && matches!(self.forms[i], Form::Plain)
    }

    fn term(&self, value: Value, region: u32) -> (Term, Option<usize>) {
        let v = match value {
            Value::Fixed(x) => return (Term::Fixed(x), None),
            Value::Lane(v) => v,
        };
        let (i, line) = self.maker(v);
        if let (true, Node::Prod(a, b)) = (self.own(v, region), line.node) {
            match (a, b) {
                (Value::Fixed(k), Value::Lane(x)) => return (Term::Scaled(k, x), Some(i)),
                (Value::Lane(x), Value::Lane(y)) => return (Term::Product(x, y), Some(i)),
                _ => {}
            }
        }
        (Term::Lane(v), None)
    }

    /// From the last line back, so that the outermost sum takes what it can.
    fn join_terms(&mut self) {
        for &i in self.tape.order().iter().rev() {
            let i = i as usize;
            let line = self.tape.lines[i];
            if !matches!(self.forms[i], Form::Plain) {
                continue;
            }
            let (a, b, minus) = match line.node {
                Node::Sum(a, b) => (a, b, false),
                Node::Diff(a, b) => (a, b, true),
                _ => continue,
            };
            if let Some(form) = self.three(a, b, minus, line.region) {
                self.forms[i] = form;
                continue;
            }
            let (first, absorbed) = self.term(a, line.region);
            if let Some(i) = absorbed {
                self.forms[i] = Form::Absorbed;
            }
            let (second, absorbed) = self.term(b, line.region);
            if let Some(i) = absorbed {
                self.forms[i] = Form::Absorbed;
            }
            self.forms[i] = Form::Two(first, second, minus);
        }
    }

    /// `(p ± q) ± r`, q and r both products or both scaled, p neither.
    fn three(&mut self, a: Value, r: Value, minus_r: bool, region: u32) -> Option<Form> {
        let Value::Lane(v) = a else { return None };
        if !self.own(v, region) {
            return None;
        }
        let (inner, line) = self.maker(v);
        let (p, q, minus_q) = match line.node {
            Node::Sum(p, q) => (p, q, false),
            Node::Diff(p, q) => (p, q, true),
            _ => return None,
        };
        let (mut first, mut p_line) = self.term(p, region);
        let (mut second, mut q_line) = self.term(q, region);
        // A sum is written with its fixed number last.
        if !minus_q && matches!(second, Term::Fixed(_)) {
            (first, second, p_line, q_line) = (second, first, q_line, p_line);
        }
        let (third, r_line) = self.term(r, region);
        let whole = match (first, second, third) {
            (Term::Lane(_), Term::Scaled(..), Term::Scaled(..))
            | (Term::Fixed(_), Term::Scaled(..), Term::Scaled(..))
            | (Term::Lane(_), Term::Product(..), Term::Product(..)) => true,
            _ => false,
        };
        if !whole || p_line.is_some() {
            return None;
        }
        for i in [Some(inner), q_line, r_line].into_iter().flatten() {
            self.forms[i] = Form::Absorbed;
        }
        Some(Form::Three(first, second, minus_q, third, minus_r))
    }

    /// Lane numbers that line `i` reads.
    fn reads(&self, i: usize) -> Vec<u32> {
        let of = |t: Term| match t {
            Term::Fixed(_) => [None, None],
            Term::Lane(v) | Term::Scaled(_, v) => [Some(v), None],
            Term::Product(v, w) => [Some(v), Some(w)],
        };
        match self.forms[i] {
            Form::Unused | Form::Absorbed => Vec::new(),
            Form::Two(a, b, _) => [of(a), of(b)].concat().into_iter().flatten().collect(),
            Form::Three(a, b, _, c, _) => [of(a), of(b), of(c)].concat().into_iter().flatten().collect(),
            Form::Plain => self.tape.lines[i]
                .node
                .operands()
                .filter_map(|v| if let Value::Lane(v) = v { Some(v) } else { None })
                .collect(),
        }
    }

    fn emit(&self, inputs: usize, outputs: &[Value]) -> Result<Code, TooLarge> {
        let order: Vec<usize> = self
            .tape
            .order()
            .iter()
            .map(|i| *i as usize)
            .filter(|i| !matches!(self.forms[*i], Form::Unused | Form::Absorbed))
            .collect();
        let last = self.last_reads(&order, outputs);
        let cells = &self.tape.cells;
        let mut slots = Slots::new(1 + inputs, cells.len(), self.tape.maker.len());
        let mut code = Code { inputs, cells: cells.clone(), failed: self.tape.failed, ..Code::default() };
        let mut back = 0;
        for (at, &i) in order.iter().enumerate() {
            let line = &self.tape.lines[i];
            match line.node {
                Node::Input(c) => {
                    slots.home[line.first as usize] = Some(1 + c);
                    continue;
                }
                Node::Read(c) => {
                    slots.home[line.first as usize] = Some(slots.cell(c)?);
                    continue;
                }
                _ => {}
            }
            // Operands read here for the last time give up their slots first: an instruction may write over what it reads.
            let reads = self.reads(i);
            let sources = self.sources(i, &mut slots)?;
            for v in reads {
                if last[v as usize] == at {
                    slots.give_back(v);
                }
            }
            let op = self.op(i, &sources, &mut slots, back)?;
            code.ops.push(op);
            for v in line.first..line.first + line.node.outs() {
                if last[v as usize] <= at {
                    slots.give_back(v);
                }
            }
            match line.node {
                Node::Begin { .. } => back = code.ops.len() as u32,
                Node::Again { .. } => {
                    for v in (0..last.len()).filter(|v| last[*v] == at) {
                        slots.give_back(v as u32);
                    }
                }
                _ => {}
            }
        }
        for o in outputs {
            code.outputs.push(slots.of(*o)?);
        }
        code.slots = slots.count;
        code.fixed = slots.fixed.iter().map(|(bits, slot)| (*slot, f64::from_bits(*bits))).collect();
        Ok(code)
    }

    /// For each number the last place in `order` that reads it; a loop reads what was made before it until its end.
    fn last_reads(&self, order: &[usize], outputs: &[Value]) -> Vec<usize> {
        let mut made = vec![0; self.tape.maker.len()];
        let mut last = vec![0; self.tape.maker.len()];
        let mut loops = Vec::new();
        let mut begin = 0;
        for (at, &i) in order.iter().enumerate() {
            let line = &self.tape.lines[i];
            for v in line.first..line.first + line.node.outs() {
                made[v as usize] = at;
            }
            for v in self.reads(i) {
                last[v as usize] = at;
            }
            match line.node {
                Node::Begin { .. } => begin = at,
                Node::Again { .. } => loops.push((begin, at)),
                _ => {}
            }
        }
        for (v, last) in last.iter_mut().enumerate() {
            for &(begin, end) in &loops {
                if made[v] < begin && begin < *last && *last < end {
                    *last = end;
                }
            }
        }
        for o in outputs {
            if let Value::Lane(v) = o {
                last[*v as usize] = usize::MAX;
            }
        }
        last
    }

    /// Slots of what line `i` reads, in the order of its terms or operands; fixed numbers that its instruction has room for are left out
    /// by `op`, so they get no slot here.
    fn sources(&self, i: usize, slots: &mut Slots) -> Result<Vec<Slot>, TooLarge> {
        let mut out = Vec::with_capacity(5);
        match self.forms[i] {
            Form::Two(..) | Form::Three(..) => {
                for v in self.reads(i) {
                    out.push(slots.of(Value::Lane(v))?);
                }
            }
            _ => {
                for v in self.tape.lines[i].node.operands() {
                    out.push(match v {
                        Value::Lane(_) => slots.of(v)?,
                        Value::Fixed(_) => NONE,
                    });
                }
            }
        }
        Ok(out)
    }

    fn op(&self, i: usize, from: &[Slot], slots: &mut Slots, back: u32) -> Result<Op, TooLarge> {
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
                    (Term::Fixed(h), Term::Scaled(k, _), Term::Scaled(m, _)) => {
                        Op::FixedAddBlend { d, h, k: signed(minus_b, k), b: p, m: signed(minus_c, m), c: q }
                    }
                    (_, Term::Scaled(k, _), Term::Scaled(m, _)) => {
                        Op::AddBlend { d, a: p, k: signed(minus_b, k), b: q, m: signed(minus_c, m), c: r }
                    }
                    _ => match (minus_b, minus_c) {
                        (false, false) => Op::AddMulAddMul { d, a: p, b: q, c: r, f: t, g: u },
                        (false, true) => Op::AddMulSubMul { d, a: p, b: q, c: r, f: t, g: u },
                        (true, false) => Op::AddMulSubMul { d, a: p, b: t, c: u, f: q, g: r },
                        (true, true) => Op::SubMulSubMul { d, a: p, b: q, c: r, f: t, g: u },
                    },
                }
            }
            _ => self.plain(line, [p, q, r, t], slots, back)?,
        })
    }

    fn plain(&self, line: &Line, [p, q, r, t]: [Slot; 4], slots: &mut Slots, back: u32) -> Result<Op, TooLarge> {
        let first = line.first;
        let cell = |slots: &Slots, c: Option<u16>| c.map_or(Ok(NONE), |c| slots.cell(c));
        Ok(match line.node {
            Node::Prod(Value::Fixed(k), _) => Op::Scale { d: slots.make(first)?, k, a: q, m: 0.0 },
            Node::Prod(..) => Op::Mul { d: slots.make(first)?, a: p, b: q },
            Node::Quot(Value::Fixed(k), _) => Op::Inverse { d: slots.make(first)?, k, a: q },
            Node::Quot(..) => Op::Div { d: slots.make(first)?, a: p, b: q },
            Node::Root(_) => Op::Root { d: slots.make(first)?, a: p },
            Node::AddSize(a, k, b) => {
                let (a, b) = (slots.given(p, a)?, slots.given(q, b)?);
                Op::AddSize { d: slots.make(first)?, a, k, b }
            }
            Node::CosSin(_) => Op::CosSin { d: slots.make(first)?, e: slots.make(first + 1)?, a: p },
            Node::Reach { to, k, q: square, side, memory } => {
                let [a, b] = [slots.given(p, to[0])?, slots.given(q, to[1])?];
                let m = cell(slots, memory)?;
                if let (Value::Fixed(k), Value::Fixed(q)) = (k, square) {
                    Op::Reach { d: slots.make(first)?, e: slots.make(first + 1)?, a, b, k, q, side, m }
                } else {
                    let (k, q) = (slots.given(r, k)?, slots.given(t, square)?);
                    Op::ReachOwn { d: slots.make(first)?, e: slots.make(first + 1)?, a, b, k, q, side, m }
                }
            }
            Node::Meet { to, c, side, tiny, memory } => {
                let [a, b, c] = [slots.given(p, to[0])?, slots.given(q, to[1])?, slots.given(r, c)?];
                let m = cell(slots, memory)?;
                Op::Meet { d: slots.make(first)?, e: slots.make(first + 1)?, a, b, c, side, tiny, m }
            }
            Node::Fold { a, q: greatest, side, memory } => {
                let a = slots.given(p, a)?;
                let m = cell(slots, memory)?;
                match greatest {
                    Value::Fixed(greatest) => Op::Fold { d: slots.make(first)?, a, q: greatest, side, m },
                    Value::Lane(_) => Op::FoldOwn { d: slots.make(first)?, a, q, side, m },
                }
            }
            Node::Wind { z, angle, z_cells } => {
                let [a, b] = [slots.given(p, z[0])?, slots.given(q, z[1])?];
                let (angle, c, s) = (slots.cell(angle)?, slots.cell(z_cells[0])?, slots.cell(z_cells[1])?);
                Op::Wind { d: slots.make(first)?, a, b, angle, c, s }
            }
            Node::Within { a, limit } => Op::Within { a: slots.given(p, a)?, limit },
            Node::Above { a, k, limit } => Op::Above { a: slots.given(p, a)?, k, limit },
            Node::Steady { a, memory } => Op::Steady { a: slots.given(p, a)?, m: slots.cell(memory)? },
            Node::Begin { busy } => Op::Begin { busy: slots.cell(busy)? },
            Node::Clear { worst } => Op::Set { d: slots.cell(worst)?, k: 0.0 },
            Node::ForeseeTurn { z, now, last } => Op::ForeseeTurn {
                c: slots.cell(z[0])?,
                s: slots.cell(z[1])?,
                now: slots.cell(now)?,
                last: slots.cell(last)?,
            },
            Node::ForeseeMove { x, now, last } => {
                Op::ForeseeMove { x: slots.cell(x)?, now: slots.cell(now)?, last: slots.cell(last)? }
            }
            Node::Turn { z, by, f, busy, worst, k, now } => Op::Turn {
                c: slots.cell(z[0])?,
                s: slots.cell(z[1])?,
                by: slots.given(p, by)?,
                f,
                busy: slots.cell(busy)?,
                worst: slots.cell(worst)?,
                k,
                now: cell(slots, now)?,
            },
            Node::Move { x, by, f, busy, worst, k, now } => Op::Move {
                x: slots.cell(x)?,
                by: slots.given(p, by)?,
                f,
                busy: slots.cell(busy)?,
                worst: slots.cell(worst)?,
                k,
                now: cell(slots, now)?,
            },
            Node::Again { busy, worst, wild } => {
                Op::Again { busy: slots.cell(busy)?, worst: slots.cell(worst)?, wild, back }
            }
            // Sums are never plain; inputs and cells need no instruction.
            Node::Sum(..) | Node::Diff(..) | Node::Input(_) | Node::Read(_) => Op::Within { a: WELL, limit: 1.0 },
        })
    }
}

/// a ± b as one instruction; `from` are the slots of their lane numbers in order.
fn two(a: Term, b: Term, minus: bool, sign: f64, d: Slot, [p, q, r, t]: [Slot; 4]) -> Op {
    match (a, b) {
        (Term::Lane(_), Term::Lane(_)) if minus => Op::Sub { d, a: p, b: q },
        (Term::Lane(_), Term::Lane(_)) => Op::Add { d, a: p, b: q },
        (Term::Lane(_), Term::Fixed(m)) => Op::Scale { d, k: 1.0, a: p, m: sign * m },
        (Term::Fixed(m), Term::Lane(_)) => Op::Scale { d, k: sign, a: p, m },
        (Term::Lane(_), Term::Scaled(k, _)) => Op::AddScaled { d, a: p, k: sign * k, b: q },
        (Term::Scaled(k, _), Term::Lane(_)) if minus => Op::Blend { d, k, a: p, m: -1.0, b: q },
        (Term::Scaled(k, _), Term::Lane(_)) => Op::AddScaled { d, a: q, k, b: p },
        (Term::Lane(_), Term::Product(..)) if minus => Op::SubMul { d, a: p, b: q, c: r },
        (Term::Lane(_), Term::Product(..)) => Op::AddMul { d, a: p, b: q, c: r },
        (Term::Product(..), Term::Lane(_)) if minus => Op::MulSub { d, a: r, b: p, c: q },
        (Term::Product(..), Term::Lane(_)) => Op::AddMul { d, a: r, b: p, c: q },
        (Term::Scaled(k, _), Term::Fixed(m)) => Op::Scale { d, k, a: p, m: sign * m },
        (Term::Fixed(m), Term::Scaled(k, _)) => Op::Scale { d, k: sign * k, a: p, m },
        (Term::Scaled(k, _), Term::Scaled(m, _)) => Op::Blend { d, k, a: p, m: sign * m, b: q },
        (Term::Scaled(k, _), Term::Product(..)) if minus => Op::ScaleSubMul { d, k, a: p, b: q, c: r },
        (Term::Scaled(k, _), Term::Product(..)) => Op::ScaleAddMul { d, k, a: p, b: q, c: r },
        (Term::Product(..), Term::Scaled(k, _)) => Op::ScaleAddMul { d, k: sign * k, a: r, b: p, c: q },
        (Term::Fixed(k), Term::Product(..)) if minus => Op::FixedSubMul { d, k, b: p, c: q },
        (Term::Fixed(k), Term::Product(..)) => Op::FixedAddMul { d, k, b: p, c: q },
        (Term::Product(..), Term::Fixed(k)) => Op::FixedAddMul { d, k: sign * k, b: p, c: q },
        (Term::Product(..), Term::Product(..)) if minus => Op::MulSubMul { d, a: p, b: q, c: r, f: t },
        (Term::Product(..), Term::Product(..)) => Op::MulAddMul { d, a: p, b: q, c: r, f: t },
        (Term::Fixed(x), Term::Fixed(y)) => Op::Set { d, k: x + sign * y },
    }
}

/// Slots handed out and given back.
struct Slots {
    home: Vec<Option<Slot>>,
    free: Vec<Slot>,
    first_cell: usize,
    /// First slot that may be given back.
    first_loose: usize,
    fixed: BTreeMap<u64, Slot>,
    count: usize,
}

impl Slots {
    fn new(first_cell: usize, cells: usize, values: usize) -> Self {
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
        let slot = Slot::try_from(self.count).ok().filter(|s| *s < NONE).ok_or(TooLarge)?;
        self.count += 1;
        Ok(slot)
    }

    fn make(&mut self, v: u32) -> Result<Slot, TooLarge> {
        let slot = match self.free.pop() {
            Some(slot) => slot,
            None => self.fresh()?,
        };
        self.home[v as usize] = Some(slot);
        Ok(slot)
    }

    fn give_back(&mut self, v: u32) {
        if let Some(slot) = self.home[v as usize].take_if(|s| usize::from(*s) >= self.first_loose) {
            self.free.push(slot);
        }
    }

    fn cell(&self, c: u16) -> Result<Slot, TooLarge> {
        Slot::try_from(self.first_cell + usize::from(c)).ok().filter(|s| *s < NONE).ok_or(TooLarge)
    }

    /// The slot of a number; a fixed one gets a slot of its own.
    fn of(&mut self, value: Value) -> Result<Slot, TooLarge> {
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
    fn given(&mut self, slot: Slot, value: Value) -> Result<Slot, TooLarge> {
        if slot == NONE { self.of(value) } else { Ok(slot) }
    }
}
