//! The smallest groups of equations that can be solved one after another: the fine part of the decomposition of Dulmage and
//! Mendelsohn (1958), by matching and strongly connected parts. In a linkage they are cranks, dyads and larger Assur groups.

use crate::model::{BodyId, Constraint, Mechanism};

/// Equations and unknowns that belong together; as many of the one as of the other.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Block {
    /// Places in the list of equations.
    pub(crate) rows: Vec<usize>,
    /// Unknowns.
    pub(crate) columns: Vec<usize>,
}

/// Groups of the equations `kept`, which are as many as there are unknowns. One group of all when they cannot be told apart.
pub(crate) fn blocks(mechanism: &Mechanism, kept: &[usize]) -> Vec<Block> {
    let all = unknowns_of_rows(mechanism);
    let touched: Vec<&[usize]> = kept.iter().map(|&r| all[r].as_slice()).collect();
    let n = mechanism.unknowns();
    let Some(row_of) = matching(&touched, n) else {
        return vec![Block {
            rows: (0..touched.len()).collect(),
            columns: (0..n).collect(),
        }];
    };
    let mut blocks: Vec<Block> = Vec::new();
    for columns in connected(&touched, &row_of) {
        blocks.push(Block {
            rows: columns.iter().map(|&c| row_of[c]).collect(),
            columns,
        });
    }
    blocks
}

/// For each equation the unknowns that it may depend on.
pub(crate) fn unknowns_of_rows(mechanism: &Mechanism) -> Vec<Vec<usize>> {
    let body_of = |anchor: usize| mechanism.anchors[anchor].body;
    let of = |bodies: &[BodyId], parts: &[usize]| {
        let moving = bodies.iter().filter(|b| **b != 0);
        let mut columns: Vec<usize> = moving
            .flat_map(|b| parts.iter().map(move |i| 3 * (b - 1) + i))
            .collect();
        columns.sort_unstable();
        columns.dedup();
        columns
    };
    let mut rows = Vec::with_capacity(mechanism.equations());
    for c in &mechanism.constraints {
        match *c {
            Constraint::Pin { a, b } => {
                let bodies = [body_of(a), body_of(b)];
                rows.extend([of(&bodies, &[0, 2]), of(&bodies, &[1, 2])]);
            }
            Constraint::Rod { a, b, .. }
            | Constraint::Arc {
                pin: a, centre: b, ..
            }
            | Constraint::OnLine {
                pin: a, through: b, ..
            }
            | Constraint::Along {
                pin: a, through: b, ..
            }
            | Constraint::Cam {
                pin: a, centre: b, ..
            } => rows.push(of(&[body_of(a), body_of(b)], &[0, 1, 2])),
            Constraint::Angle { body, against, .. } => rows.push(of(&[body, against], &[2])),
            Constraint::Ratio { a, b, carrier, .. } | Constraint::Course { a, b, carrier, .. } => {
                rows.push(of(&[a, b, carrier], &[2]))
            }
            Constraint::Rack {
                gear, pin, through, ..
            } => {
                let mut columns = of(&[body_of(pin), body_of(through)], &[0, 1, 2]);
                columns.extend(of(&[gear], &[2]));
                columns.sort_unstable();
                columns.dedup();
                rows.push(columns);
            }
        }
    }
    rows
}

/// For each unknown an equation of its own, if there is such an assignment (augmenting paths).
pub(crate) fn matching(touched: &[&[usize]], n: usize) -> Option<Vec<usize>> {
    const NONE: usize = usize::MAX;
    if touched.len() != n {
        return None;
    }
    let (mut row_of, mut column_of) = (vec![NONE; n], vec![NONE; n]);
    for start in 0..n {
        // Breadth first from the free row; `from` says which row led to a column.
        let mut from = vec![NONE; n];
        let (mut queue, mut next) = (vec![start], 0);
        let mut end = NONE;
        'search: while next < queue.len() {
            let row = queue[next];
            next += 1;
            for &c in touched[row] {
                if from[c] == NONE {
                    from[c] = row;
                    if row_of[c] == NONE {
                        end = c;
                        break 'search;
                    }
                    queue.push(row_of[c]);
                }
            }
        }
        if end == NONE {
            return None;
        }
        while end != NONE {
            let row = from[end];
            row_of[end] = row;
            end = std::mem::replace(&mut column_of[row], end);
        }
    }
    Some(row_of)
}

/// Strongly connected parts of the unknowns, where an unknown leads to all others of its own equation (Kosaraju).
fn connected(touched: &[&[usize]], row_of: &[usize]) -> Vec<Vec<usize>> {
    let n = row_of.len();
    let forward = |c: usize| touched[row_of[c]].to_vec();
    let mut back = vec![Vec::new(); n];
    for c in 0..n {
        for d in forward(c) {
            back[d].push(c);
        }
    }
    let mut seen = vec![false; n];
    let mut finished = Vec::with_capacity(n);
    for c in 0..n {
        finished.extend(walk(c, &mut seen, forward));
    }
    let mut seen = vec![false; n];
    let mut parts = Vec::new();
    for &c in finished.iter().rev() {
        let mut part = walk(c, &mut seen, |c| back[c].clone());
        if !part.is_empty() {
            part.sort_unstable();
            parts.push(part);
        }
    }
    parts
}

/// All that can be got to from `start` and has not been seen, in the order in which a walk in depth leaves them.
fn walk(start: usize, seen: &mut [bool], leads_to: impl Fn(usize) -> Vec<usize>) -> Vec<usize> {
    let mut left = Vec::new();
    if std::mem::replace(&mut seen[start], true) {
        return left;
    }
    let mut stack = vec![(start, leads_to(start))];
    while let Some((node, next)) = stack.last_mut() {
        match next.pop() {
            Some(c) if !seen[c] => {
                seen[c] = true;
                stack.push((c, leads_to(c)));
            }
            Some(_) => {}
            None => {
                left.push(*node);
                stack.pop();
            }
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A crank that drives two rods one after the other, each with a rocker: crank, dyad, dyad.
    #[test]
    fn a_watt_chain_falls_into_crank_and_dyads() {
        let mut m = Mechanism::new();
        let [crank, rod, rocker, link, far] =
            [0.0, 1.0, 2.0, 3.0, 4.0].map(|x| m.body(0, [x, 0.0], 0.0));
        for (a, b) in [
            (0, crank),
            (crank, rod),
            (rod, rocker),
            (rocker, 0),
            (rocker, link),
            (link, far),
            (far, 0),
        ] {
            let [a, b] = [a, b].map(|body| m.anchor(body, 0, [1.0, 2.0, 0.0]));
            m.constrain(Constraint::Pin { a, b });
        }
        m.hold_angle(crank, 0);
        let kept: Vec<usize> = (0..m.equations()).collect();
        let mut columns: Vec<Vec<usize>> =
            blocks(&m, &kept).into_iter().map(|b| b.columns).collect();
        columns.sort();
        assert_eq!(
            columns,
            [
                vec![0],
                vec![1],
                vec![2],
                (3..9).collect(),
                (9..15).collect()
            ]
        );
        for b in blocks(&m, &kept) {
            assert_eq!(b.rows.len(), b.columns.len());
        }
    }

    /// Driven from the far end, the ternary rocker's loop and the crank's hang together.
    #[test]
    fn what_hangs_together_stays_together() {
        let mut m = Mechanism::new();
        let [a, b] = [0.0, 1.0].map(|x| m.body(0, [x, 0.0], 0.0));
        for (p, q) in [(0, a), (a, b)] {
            let [p, q] = [p, q].map(|body| m.anchor(body, 0, [1.0, 2.0, 0.0]));
            m.constrain(Constraint::Pin { a: p, b: q });
        }
        let [p, q] = [
            m.anchor(b, 0, [3.0, 0.0, 0.0]),
            m.anchor(0, 0, [5.0, 0.0, 0.0]),
        ];
        m.rod(p, q);
        m.hold_angle(b, 0);
        let kept: Vec<usize> = (0..6).collect();
        let mut columns: Vec<Vec<usize>> =
            blocks(&m, &kept).into_iter().map(|b| b.columns).collect();
        columns.sort();
        assert_eq!(columns, [vec![0, 1, 2, 3, 4], vec![5]]);
    }

    #[test]
    fn unknowns_without_an_equation_of_their_own_make_one_block() {
        let mut m = Mechanism::new();
        let [a, b] = [0.0, 1.0].map(|x| m.body(0, [x, 0.0], 0.0));
        for _ in 0..6 {
            m.hold_angle(a, b);
        }
        assert_eq!(blocks(&m, &[0, 1, 2, 3, 4, 5]).len(), 1);
    }
}
