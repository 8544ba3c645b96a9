//! The order of a plan: which constraint makes which body known, one after another.

use super::PlanError;
use super::block::{NoBlock, find_block};
use super::draft::{Draft, Seat, Spin};
use super::moves::{Move, Refused, group_of};
use crate::model::{AnchorId, BodyId, Constraint, Pose};

/// Finds the moves that make every body known, making each in `draft` as it goes.
pub(super) fn order(
    draft: &mut Draft,
    params: &[f64],
    drawn: &[Pose],
    closed_forms: bool,
) -> Result<Vec<Move>, PlanError> {
    let mut search = Search {
        used: vec![false; draft.mechanism.constraints.len()],
        closed_forms,
        moves: Vec::new(),
        folded: None,
    };
    loop {
        if search.one(draft) || search.two(draft) {
            continue;
        }
        if (1..draft.mechanism.bodies.len()).all(|b| draft.stands(b)) {
            break;
        }
        let (mv, uses) = find_block(draft, drawn, params).map_err(|e| search.error(e))?;
        if !search.try_move(draft, mv, &uses) {
            return Err(PlanError::Special { bodies: Vec::new() });
        }
    }
    Ok(search.moves)
}

struct Search {
    used: Vec<bool>,
    closed_forms: bool,
    moves: Vec<Move>,
    /// A constraint whose closed form was refused because two assemblies meet in the drawn pose.
    folded: Option<usize>,
}

impl Search {
    fn error(&self, e: NoBlock) -> PlanError {
        match (e, self.folded) {
            (_, Some(constraint)) => PlanError::DeadCentre { constraint },
            (NoBlock::Free(bodies), None) => PlanError::Free { bodies },
            (NoBlock::DeadCentre(bodies), None) => PlanError::Special { bodies },
        }
    }

    /// Makes a move if it can be made.
    fn try_move(&mut self, draft: &mut Draft, mv: Move, uses: &[usize]) -> bool {
        match draft.make(&mv) {
            Ok(()) => {
                for c in uses {
                    self.used[*c] = true;
                }
                self.moves.push(mv);
                true
            }
            Err(refused) => {
                if refused == Refused::DeadCentre {
                    self.folded = self.folded.or(uses.first().copied());
                }
                false
            }
        }
    }

    /// The first move that one constraint allows.
    fn one(&mut self, draft: &mut Draft) -> bool {
        for c in 0..self.used.len() {
            if self.used[c] {
                continue;
            }
            if let Some(mv) = self.of_one(draft, c)
                && self.try_move(draft, mv, &[c])
            {
                return true;
            }
        }
        false
    }

    fn of_one(&self, draft: &Draft, c: usize) -> Option<Move> {
        let constraint = draft.mechanism.constraints[c];
        if involved(draft, &constraint)
            .into_iter()
            .all(|b| draft.stands(b))
        {
            return Some(Move::Check(c));
        }
        let turned = |b: BodyId| matches!(draft.spin[b], Spin::Known { .. });
        match constraint {
            Constraint::Angle { body, against, .. } => match (turned(body), turned(against)) {
                (false, true) => Some(Move::Turn(c, body)),
                (true, false) => Some(Move::Turn(c, against)),
                (true, true) => Some(Move::Check(c)),
                (false, false) => match (group(draft, body), group(draft, against)) {
                    (None, None) => None,
                    (g, h) if g == h => None,
                    _ => Some(Move::Tie(c)),
                },
            },
            Constraint::Ratio { a, b, carrier, .. } => {
                let mut open: Vec<BodyId> = [a, b, carrier]
                    .into_iter()
                    .filter(|x| !turned(*x))
                    .collect();
                open.dedup();
                match open[..] {
                    [] => Some(Move::Check(c)),
                    [body] => Some(Move::Turn(c, body)),
                    _ => None,
                }
            }
            // The wheel follows from its driver; the driver from the wheel only by Newton, and not at all while the wheel stands.
            Constraint::Course { a, b, carrier, .. } => {
                (turned(a) && turned(carrier) && !turned(b)).then_some(Move::Turn(c, b))
            }
            Constraint::Pin { a, b } => self.of_pin(draft, c, a, b),
            Constraint::Rod { a, b, .. }
            | Constraint::Arc {
                pin: a, centre: b, ..
            } => {
                if !self.closed_forms {
                    return None;
                }
                match (draft.kind(a), draft.kind(b)) {
                    (Seat::Known(_), Seat::Known(_)) => Some(Move::Check(c)),
                    (Seat::Known(_), seat) | (seat, Seat::Known(_)) => {
                        group_of(seat).map(|g| Move::Solve(c, g))
                    }
                    (Seat::Turn { group: g, .. }, Seat::Turn { group: h, .. }) if g == h => {
                        Some(Move::Solve(c, g))
                    }
                    _ => None,
                }
            }
            Constraint::Rack {
                gear, pin, through, ..
            } => {
                let host = draft.body_of(through);
                if !turned(host) {
                    return None;
                }
                if turned(gear) {
                    return self.of_line(draft, c, pin, through);
                }
                let stands = known(draft, pin) && known(draft, through);
                (stands && gear != host).then_some(Move::Turn(c, gear))
            }
            Constraint::OnLine { pin, through, .. } | Constraint::Along { pin, through, .. } => {
                self.of_line(draft, c, pin, through)
            }
            // Only Newton finds the turn of a cam, or the place of what rides on it.
            Constraint::Cam { .. } => None,
        }
    }

    fn of_pin(&self, draft: &Draft, c: usize, a: AnchorId, b: AnchorId) -> Option<Move> {
        for (own, other) in [(a, b), (b, a)] {
            let body = draft.body_of(own);
            if !matches!(draft.seat[body], Seat::Open) {
                continue;
            }
            let at = draft.kind(other);
            let hangs = match (draft.spin[body], at) {
                (Spin::Known { .. }, Seat::Known(_)) => true,
                (Spin::Known { .. }, Seat::Turn { .. } | Seat::Travel { .. }) => self.closed_forms,
                (Spin::Open | Spin::On { .. }, Seat::Known(_)) => self.closed_forms,
                (Spin::On { group: g, .. }, Seat::Turn { group: h, .. }) => g == h,
                _ => false,
            };
            if hangs {
                return Some(Move::Hang(c, body));
            }
        }
        if !self.closed_forms {
            return None;
        }
        match (draft.kind(a), draft.kind(b)) {
            (Seat::Known(_), Seat::Known(_)) => Some(Move::Check(c)),
            (Seat::Known(_), seat) | (seat, Seat::Known(_)) => {
                group_of(seat).map(|g| Move::Aim(c, g))
            }
            (x, y) if group_of(x).is_some() && group_of(x) == group_of(y) => {
                group_of(x).map(|g| Move::Aim(c, g))
            }
            _ => None,
        }
    }

    /// A pin on a line, the distance given.
    fn of_line(&self, draft: &Draft, c: usize, pin: AnchorId, through: AnchorId) -> Option<Move> {
        if !self.closed_forms {
            return None;
        }
        let host = draft.body_of(through);
        let kinds = [draft.kind(pin), draft.kind(through)];
        if let Spin::On { group, .. } = draft.spin[host] {
            let fits = kinds.iter().all(|k| match k {
                Seat::Known(_) => true,
                Seat::Turn { group: g, .. } => *g == group,
                _ => false,
            });
            return fits.then_some(Move::Solve(c, group));
        }
        if !matches!(draft.spin[host], Spin::Known { .. }) {
            return None;
        }
        // A body that only slides: its place is open, its turn known.
        for (own, other) in [(pin, through), (through, pin)] {
            let body = draft.body_of(own);
            let slides = matches!(
                (draft.seat[body], draft.spin[body]),
                (Seat::Open, Spin::Known { .. })
            );
            if slides && known(draft, other) && draft.body_of(other) != body {
                return Some(Move::Line(c, body));
            }
        }
        match kinds {
            [Seat::Known(_), Seat::Known(_)] => Some(Move::Check(c)),
            [Seat::Known(_), seat] | [seat, Seat::Known(_)] => {
                group_of(seat).map(|g| Move::Solve(c, g))
            }
            [x, y] if group_of(x).is_some() && group_of(x) == group_of(y) => {
                group_of(x).map(|g| Move::Solve(c, g))
            }
            _ => None,
        }
    }

    /// The first move that needs two groups or two rods.
    fn two(&mut self, draft: &mut Draft) -> bool {
        if !self.closed_forms {
            return false;
        }
        for c in 0..self.used.len() {
            if self.used[c] {
                continue;
            }
            match draft.mechanism.constraints[c] {
                Constraint::Pin { a, b } => {
                    let (x, y) = (draft.kind(a), draft.kind(b));
                    let (Some(g), Some(h)) = (group_of(x), group_of(y)) else {
                        continue;
                    };
                    // The turning group is solved first: its arm meets the other's circle or line.
                    let (g, h) = if matches!(x, Seat::Turn { .. }) {
                        (g, h)
                    } else {
                        (h, g)
                    };
                    if g != h
                        && (self.try_move(draft, Move::Dyad(c, g, h), &[c])
                            || self.try_move(draft, Move::Dyad(c, h, g), &[c]))
                    {
                        return true;
                    }
                }
                Constraint::Rod { .. } | Constraint::Arc { .. } => {
                    for d in c + 1..self.used.len() {
                        if !self.used[d]
                            && let Some(body) = held_by_two(draft, c, d)
                            && self.try_move(draft, Move::Circles(c, d, body), &[c, d])
                        {
                            return true;
                        }
                    }
                }
                _ => {}
            }
        }
        false
    }
}

fn group(draft: &Draft, body: BodyId) -> Option<u32> {
    if let Spin::On { group, .. } = draft.spin[body] {
        Some(group)
    } else {
        None
    }
}

fn known(draft: &Draft, anchor: AnchorId) -> bool {
    matches!(draft.kind(anchor), Seat::Known(_))
}

/// Bodies a constraint speaks of.
fn involved(draft: &Draft, constraint: &Constraint) -> Vec<BodyId> {
    let body = |a| draft.body_of(a);
    match *constraint {
        Constraint::Pin { a, b }
        | Constraint::Rod { a, b, .. }
        | Constraint::Arc {
            pin: a, centre: b, ..
        } => {
            vec![body(a), body(b)]
        }
        Constraint::OnLine { pin, through, .. }
        | Constraint::Along { pin, through, .. }
        | Constraint::Cam {
            pin,
            centre: through,
            ..
        } => {
            vec![body(pin), body(through)]
        }
        Constraint::Angle { body, against, .. } => vec![body, against],
        Constraint::Ratio { a, b, carrier, .. } | Constraint::Course { a, b, carrier, .. } => {
            vec![a, b, carrier]
        }
        Constraint::Rack {
            gear, pin, through, ..
        } => vec![gear, body(pin), body(through)],
    }
}

/// The body of known turn and open place that both rods hold to known points.
fn held_by_two(draft: &Draft, c: usize, d: usize) -> Option<BodyId> {
    let held = |c: usize| {
        let (Constraint::Rod { a, b, .. }
        | Constraint::Arc {
            pin: a, centre: b, ..
        }) = draft.mechanism.constraints[c]
        else {
            return None;
        };
        [(a, b), (b, a)].into_iter().find_map(|(own, other)| {
            let body = draft.body_of(own);
            let slides = matches!(
                (draft.seat[body], draft.spin[body]),
                (Seat::Open, Spin::Known { .. })
            );
            (slides && known(draft, other)).then_some(body)
        })
    };
    let body = held(c)?;
    (held(d) == Some(body)).then_some(body)
}
