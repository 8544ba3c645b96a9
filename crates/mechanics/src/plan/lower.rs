//! From the tape to instructions: what nothing needs is left out, products and sums that belong together become one instruction,
//! and slots are handed out so that few are in use at a time.

use super::slots::Slots;
use super::tape::{Line, Node, Start, Tape, Value};
use crate::cam::Cam;
use crate::lanes::{NONE, Op, Slot};

/// Instructions ready to be carried out.
#[derive(Clone, Debug, Default)]
pub(crate) struct Code {
    pub(crate) ops: Vec<Op>,
    /// How many of them come first that depend on still inputs alone.
    pub(crate) still: usize,
    /// Slots in all.
    pub(crate) slots: usize,
    /// Input columns; they have the slots from 1 on.
    pub(crate) inputs: usize,
    /// What the cells start with; they have the slots after the inputs.
    pub(crate) cells: Vec<Start>,
    /// Slots that hold a fixed number.
    pub(crate) fixed: Vec<(Slot, f64)>,
    /// Slots of the results, where those are kept.
    pub(crate) outputs: Vec<Slot>,
    /// How many results are given away while the instructions are carried out.
    pub(crate) columns: usize,
    /// For each input column whether anything depends on it.
    pub(crate) reads: Vec<bool>,
    /// No pose can be good.
    pub(crate) failed: bool,
    /// Cams that the instructions name.
    pub(crate) cams: Vec<Cam>,
}

/// What becomes of the results.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Results {
    /// They stay in their slots.
    Kept,
    /// They are given away as soon as they are there.
    Given,
}

/// The machine is too large for the slots of a plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TooLarge;

/// One summand.
#[derive(Clone, Copy, Debug)]
pub(super) enum Term {
    Fixed(f64),
    Lane(u32),
    Scaled(f64, u32),
    Product(u32, u32),
}

/// How a line is carried out.
#[derive(Clone, Copy, Debug)]
pub(super) enum Form {
    Unused,
    /// Part of another line's instruction.
    Absorbed,
    Plain,
    /// a ± b
    Two(Term, Term, bool),
    /// a ± b ± c
    Three(Term, Term, bool, Term, bool),
}

pub(super) struct Lowering<'a> {
    pub(super) tape: &'a Tape,
    pub(super) forms: Vec<Form>,
    uses: Vec<u32>,
    /// Lines that depend on still inputs alone.
    still: Vec<bool>,
}

/// Lowers a tape with these results. What depends on inputs alone for which `still` holds comes first, and keeps its slots.
pub(crate) fn lower(
    tape: &Tape,
    inputs: usize,
    outputs: &[Value],
    results: Results,
    still: impl Fn(usize) -> bool,
) -> Result<Code, TooLarge> {
    let lines = tape.lines.len();
    let mut l = Lowering {
        tape,
        forms: vec![Form::Unused; lines],
        uses: vec![0; tape.maker.len()],
        still: vec![false; lines],
    };
    l.find_still(still);
    l.keep_needed(outputs);
    l.join_terms();
    l.emit(inputs, outputs, results)
}

impl Lowering<'_> {
    fn find_still(&mut self, still: impl Fn(usize) -> bool) {
        for &i in self.tape.order() {
            let node = self.tape.lines[i as usize].node;
            self.still[i as usize] = match node {
                Node::Input(c) => still(usize::from(c)),
                Node::Read(_)
                | Node::CosSin(_)
                | Node::Cam { .. }
                | Node::Course { .. }
                | Node::Wind { .. } => false,
                _ => {
                    !node.acts()
                        && node.operands().all(|v| {
                            if let Value::Lane(v) = v {
                                self.still[self.maker(v).0]
                            } else {
                                true
                            }
                        })
                }
            };
        }
    }

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
    fn own(&self, v: u32, by: usize) -> bool {
        let (i, line) = self.maker(v);
        let together = line.region == self.tape.lines[by].region && self.still[i] == self.still[by];
        self.uses[v as usize] == 1 && together && matches!(self.forms[i], Form::Plain)
    }

    /// What line `by` adds there.
    fn term(&self, value: Value, by: usize) -> (Term, Option<usize>) {
        let v = match value {
            Value::Fixed(x) => return (Term::Fixed(x), None),
            Value::Lane(v) => v,
        };
        let (i, line) = self.maker(v);
        if let (true, Node::Prod(a, b)) = (self.own(v, by), line.node) {
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
            if let Some(form) = self.three(a, b, minus, i) {
                self.forms[i] = form;
                continue;
            }
            let (first, absorbed) = self.term(a, i);
            if let Some(part) = absorbed {
                self.forms[part] = Form::Absorbed;
            }
            let (second, absorbed) = self.term(b, i);
            if let Some(part) = absorbed {
                self.forms[part] = Form::Absorbed;
            }
            self.forms[i] = Form::Two(first, second, minus);
        }
    }

    /// `(p ± q) ± r`, q and r both products or both scaled, p neither.
    fn three(&mut self, a: Value, r: Value, minus_r: bool, by: usize) -> Option<Form> {
        let Value::Lane(v) = a else { return None };
        if !self.own(v, by) {
            return None;
        }
        let (inner, line) = self.maker(v);
        let (p, q, minus_q) = match line.node {
            Node::Sum(p, q) => (p, q, false),
            Node::Diff(p, q) => (p, q, true),
            _ => return None,
        };
        let (mut first, mut p_line) = self.term(p, by);
        let (mut second, mut q_line) = self.term(q, by);
        // A sum is written with its fixed number last.
        if !minus_q && matches!(second, Term::Fixed(_)) {
            (first, second, p_line, q_line) = (second, first, q_line, p_line);
        }
        let (third, r_line) = self.term(r, by);
        let whole = matches!(
            (first, second, third),
            (
                Term::Lane(_) | Term::Fixed(_),
                Term::Scaled(..),
                Term::Scaled(..)
            ) | (Term::Lane(_), Term::Product(..), Term::Product(..))
        );
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
            Form::Three(a, b, _, c, _) => [of(a), of(b), of(c)]
                .concat()
                .into_iter()
                .flatten()
                .collect(),
            Form::Plain => self.tape.lines[i]
                .node
                .operands()
                .filter_map(|v| {
                    if let Value::Lane(v) = v {
                        Some(v)
                    } else {
                        None
                    }
                })
                .collect(),
        }
    }

    fn emit(&self, inputs: usize, outputs: &[Value], results: Results) -> Result<Code, TooLarge> {
        let kept = self.tape.order().iter().map(|i| *i as usize);
        let kept = kept.filter(|i| !matches!(self.forms[*i], Form::Unused | Form::Absorbed));
        let (mut order, moving): (Vec<usize>, Vec<usize>) = kept.partition(|i| self.still[*i]);
        order.extend(moving);
        let kept = if results == Results::Kept {
            outputs
        } else {
            &[]
        };
        let last = self.last_reads(&order, kept);
        let cells = &self.tape.cells;
        let mut slots = Slots::new(1 + inputs, cells.len(), self.tape.maker.len());
        let mut code = Code {
            inputs,
            cells: cells.clone(),
            reads: vec![false; inputs],
            failed: self.tape.failed,
            cams: self.tape.cams.clone(),
            ..Code::default()
        };
        let mut back = 0;
        for (at, &i) in order.iter().enumerate() {
            let line = &self.tape.lines[i];
            match line.node {
                Node::Input(c) => {
                    slots.home[line.first as usize] = Some(1 + c);
                    if let Some(read) = code.reads.get_mut(usize::from(c)) {
                        *read = true;
                    }
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
            code.still += usize::from(self.still[i]);
            if results == Results::Given {
                let made = line.first..line.first + line.node.outs();
                for (column, o) in outputs.iter().enumerate() {
                    if let Value::Lane(v) = o
                        && made.contains(v)
                    {
                        code.ops.push(give(column, slots.of(*o)?)?);
                    }
                }
            }
            for v in line.first..line.first + line.node.outs() {
                if last[v as usize] <= at {
                    slots.give_back(v);
                }
            }
            match line.node {
                Node::Begin { .. } => back = (code.ops.len() - code.still) as u32,
                Node::Again { .. } => {
                    for v in (0..last.len()).filter(|v| last[*v] == at) {
                        slots.give_back(v as u32);
                    }
                }
                _ => {}
            }
        }
        for (column, o) in outputs.iter().enumerate() {
            if results == Results::Kept {
                code.outputs.push(slots.of(*o)?);
            } else if self.comes_made(*o) {
                code.ops.push(give(column, slots.of(*o)?)?);
            }
        }
        code.columns = outputs.len();
        code.slots = slots.count;
        code.fixed = slots
            .fixed
            .iter()
            .map(|(bits, slot)| (*slot, f64::from_bits(*bits)))
            .collect();
        Ok(code)
    }

    /// Whether no instruction makes the number: it is fixed, an input or in a cell.
    fn comes_made(&self, value: Value) -> bool {
        match value {
            Value::Fixed(_) => true,
            Value::Lane(v) => matches!(self.maker(v).1.node, Node::Input(_) | Node::Read(_)),
        }
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
        for (v, last) in last.iter_mut().enumerate() {
            if self.still[self.tape.maker[v] as usize] {
                *last = usize::MAX;
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
}

fn give(column: usize, a: Slot) -> Result<Op, TooLarge> {
    Ok(Op::Give {
        column: Slot::try_from(column).map_err(|_| TooLarge)?,
        a,
    })
}
