//! What is known of each body while a plan is written.
//!
//! Points, vectors and turns of one plane are complex numbers here. A body hung on a known pin has one freedom left, its turn z (a unit
//! vector); every point of it, and of what is carried along with it, is `p + q z`. A body that may only slide has the freedom t; its
//! points are `p + t d`. So every joint gives an equation in one z or one t, whatever hangs on what.

use std::collections::BTreeMap;

use super::tape::{Cell, Node, Pair, Start, Tape, Value};
use crate::model::{AnchorId, BodyId, Mechanism, ParamId, Pose};

/// A freedom that several bodies may share.
pub(super) type Group = u32;

/// What is known of a body's turn.
#[derive(Clone, Copy, Debug)]
pub(super) enum Spin {
    Open,
    /// Unit vector; the unwrapped angle where it is known besides.
    Known {
        z: Pair,
        angle: Option<Value>,
    },
    /// z of the group times `rho`.
    On {
        group: Group,
        rho: Pair,
    },
}

/// What is known of a place: of a body's own origin, or of an anchor.
#[derive(Clone, Copy, Debug)]
pub(super) enum Seat {
    Open,
    Known(Pair),
    /// p + q z, z the turn of the group.
    Turn {
        group: Group,
        p: Pair,
        q: Pair,
    },
    /// p + t d, t the travel of the group, |d| = 1.
    Travel {
        group: Group,
        p: Pair,
        d: Pair,
    },
}

/// How the plan is written: the first time, when branches are read off the drawn pose, or again for other numbers.
#[derive(Debug)]
pub(super) enum Pen<'a> {
    First(&'a [Pose]),
    Again,
}

/// A plan while it is written.
pub(super) struct Draft<'a> {
    pub(super) mechanism: &'a Mechanism,
    pub(super) tape: Tape,
    pub(super) pen: Pen<'a>,
    pub(super) spin: Vec<Spin>,
    pub(super) seat: Vec<Seat>,
    /// Places already worked out, by body and own coordinates.
    spots: BTreeMap<(BodyId, ParamId, ParamId), Pair>,
    /// Which way of assembling, one entry a root: 1 or −1.
    pub(super) sides: Vec<f64>,
    pub(super) next_side: usize,
    pub(super) groups: Group,
    /// Whether roots are compared from pose to pose.
    pub(super) remembers: bool,
    /// Largest length, mm.
    pub(super) size: f64,
    /// Whether a pose depends on the one before.
    pub(super) follows: bool,
    /// Cells of the two latest steps of each unknown that is foreseen.
    pub(super) foresights: Vec<[Cell; 2]>,
}

impl<'a> Draft<'a> {
    pub(super) fn new(
        mechanism: &'a Mechanism,
        tape: Tape,
        pen: Pen<'a>,
        sides: Vec<f64>,
        size: f64,
    ) -> Self {
        let bodies = mechanism.bodies.len().max(1);
        let mut tape = tape;
        tape.take_cams(&mechanism.cams);
        let mut draft = Self {
            mechanism,
            tape,
            pen,
            spin: vec![Spin::Open; bodies],
            seat: vec![Seat::Open; bodies],
            spots: BTreeMap::new(),
            sides,
            next_side: 0,
            groups: 0,
            remembers: false,
            size,
            follows: false,
            foresights: Vec::new(),
        };
        draft.spin[0] = Spin::Known {
            z: [Value::ONE, Value::ZERO],
            angle: Some(Value::ZERO),
        };
        draft.seat[0] = Seat::Known([Value::ZERO; 2]);
        draft
    }

    pub(super) fn body_of(&self, anchor: AnchorId) -> BodyId {
        self.mechanism.anchors[anchor].body
    }

    pub(super) fn param(&mut self, id: ParamId) -> Value {
        self.tape.param(id)
    }

    /// How far the path of a cam's roller lies outwards of where it was meant.
    pub(super) fn swell(&mut self, cam: usize, swell: ParamId, roller: ParamId) -> Value {
        let (swell, roller) = (self.param(swell), self.param(roller));
        let both = self.tape.sum(swell, roller);
        let meant = self.mechanism.cams.get(cam).map_or(0.0, |c| c.roller);
        self.tape.diff(both, Value::Fixed(meant))
    }

    /// A parameter as drawn.
    pub(super) fn drawn_param(&self, id: ParamId) -> f64 {
        self.tape.base(id)
    }

    /// Own coordinates of an anchor.
    pub(super) fn own(&mut self, anchor: AnchorId) -> Pair {
        let a = &self.mechanism.anchors[anchor];
        [self.tape.param(a.u), self.tape.param(a.v)].map(|x| match x {
            Value::Fixed(x) => Value::Fixed(small_is_zero(x, self.size)),
            lane @ Value::Lane(_) => lane,
        })
    }

    fn spot_key(&self, anchor: AnchorId) -> (BodyId, ParamId, ParamId) {
        let a = &self.mechanism.anchors[anchor];
        (a.body, a.u, a.v)
    }

    /// Notes that an anchor stands at `place`.
    pub(super) fn note(&mut self, anchor: AnchorId, place: Pair) {
        self.spots.insert(self.spot_key(anchor), place);
    }

    /// Whether a body stands wholly known.
    pub(super) fn stands(&self, body: BodyId) -> bool {
        matches!(
            (self.spin[body], self.seat[body]),
            (Spin::Known { .. }, Seat::Known(_))
        )
    }

    /// What is known of an anchor's place. Decided by how the body is held, never by numbers: a plan must read the same for all.
    pub(super) fn kind(&self, anchor: AnchorId) -> Seat {
        if self.spots.contains_key(&self.spot_key(anchor)) {
            return Seat::Known([Value::ZERO; 2]);
        }
        let body = self.body_of(anchor);
        match (self.seat[body], self.spin[body]) {
            (Seat::Travel { .. }, Spin::On { .. } | Spin::Open) | (_, Spin::Open) => Seat::Open,
            (Seat::Known(_), Spin::On { group, .. }) => Seat::Turn {
                group,
                p: [Value::ZERO; 2],
                q: [Value::ZERO; 2],
            },
            (seat, _) => seat,
        }
    }

    /// The same with its numbers.
    pub(super) fn at(&mut self, anchor: AnchorId) -> Seat {
        if let Some(place) = self.spots.get(&self.spot_key(anchor)) {
            return Seat::Known(*place);
        }
        let body = self.body_of(anchor);
        let own = self.own(anchor);
        match (self.seat[body], self.spin[body]) {
            (Seat::Known(p), Spin::Known { z, .. }) => {
                let place = self.tape.plus_turn(p, own, z);
                self.note(anchor, place);
                Seat::Known(place)
            }
            (Seat::Known(p), Spin::On { group, rho }) => Seat::Turn {
                group,
                p,
                q: self.tape.turn(own, rho),
            },
            (Seat::Turn { group, p, q }, Spin::On { rho, .. }) => Seat::Turn {
                group,
                p,
                q: self.tape.plus_turn(q, own, rho),
            },
            (Seat::Turn { group, p, q }, Spin::Known { z, .. }) => Seat::Turn {
                group,
                p: self.tape.plus_turn(p, own, z),
                q,
            },
            (Seat::Travel { group, p, d }, Spin::Known { z, .. }) => Seat::Travel {
                group,
                p: self.tape.plus_turn(p, own, z),
                d,
            },
            _ => Seat::Open,
        }
    }

    /// The place of an anchor that stands known.
    pub(super) fn place(&mut self, anchor: AnchorId) -> Pair {
        match self.at(anchor) {
            Seat::Known(p) => p,
            _ => [Value::ZERO; 2],
        }
    }

    /// The turn of a body that stands known.
    pub(super) fn z(&self, body: BodyId) -> Pair {
        match self.spin[body] {
            Spin::Known { z, .. } => z,
            _ => [Value::ONE, Value::ZERO],
        }
    }

    /// The unwrapped angle of a body whose turn is known. One that is known only as a unit vector is followed from pose to pose.
    pub(super) fn angle(&mut self, body: BodyId) -> Value {
        let Spin::Known { z, angle } = self.spin[body] else {
            return Value::ZERO;
        };
        if let Some(angle) = angle {
            return angle;
        }
        let angle = match self.pen {
            Pen::First(drawn) => Value::Fixed(drawn[body].angle),
            Pen::Again => {
                self.follows = true;
                let angle = self.tape.cell(Start::Angle(body));
                let z_cells = [
                    self.tape.cell(Start::Cos(body)),
                    self.tape.cell(Start::Sin(body)),
                ];
                Value::Lane(self.tape.act(Node::Wind { z, angle, z_cells }))
            }
        };
        self.spin[body] = Spin::Known {
            z,
            angle: Some(angle),
        };
        angle
    }

    /// The turn of a body is its known angle.
    pub(super) fn set_angle(&mut self, body: BodyId, angle: Value) {
        let z = self.tape.cos_sin(angle);
        self.set_spin(body, z, Some(angle));
    }

    /// The turn of a body is known, and with it that of all bodies that turn with it.
    pub(super) fn set_spin(&mut self, body: BodyId, z: Pair, angle: Option<Value>) {
        if let Spin::On { group, rho } = self.spin[body] {
            let turn = self.tape.turn_back(z, rho);
            self.settle_turn(group, turn);
        }
        self.spin[body] = Spin::Known { z, angle };
    }

    /// The turn of a group is `z`: all its bodies stand.
    pub(super) fn settle_turn(&mut self, group: Group, z: Pair) {
        for body in 1..self.spin.len() {
            if let Spin::On { group: g, rho } = self.spin[body]
                && g == group
            {
                self.spin[body] = Spin::Known {
                    z: self.tape.turn(rho, z),
                    angle: None,
                };
            }
            if let Seat::Turn { group: g, p, q } = self.seat[body]
                && g == group
            {
                self.seat[body] = Seat::Known(self.tape.plus_turn(p, q, z));
            }
        }
    }

    /// The travel of a group is `t`.
    pub(super) fn settle_travel(&mut self, group: Group, t: Value) {
        for body in 1..self.seat.len() {
            if let Seat::Travel { group: g, p, d } = self.seat[body]
                && g == group
            {
                let way = self.tape.times(t, d);
                self.seat[body] = Seat::Known(self.tape.plus(p, way));
            }
        }
    }

    pub(super) fn new_group(&mut self) -> Group {
        self.groups += 1;
        self.groups
    }

    /// Another anchor's place as seen in the plane of `anchor`, and how far it stands off that plane's anchor along the third direction.
    pub(super) fn seen_from(
        &mut self,
        anchor: AnchorId,
        other: AnchorId,
        place: Pair,
    ) -> (Pair, Value) {
        let (here, there) = (
            &self.mechanism.anchors[anchor],
            &self.mechanism.anchors[other],
        );
        let (w, w_other) = (self.tape.param(here.w), self.tape.param(there.w));
        if here.plane == there.plane {
            return (place, self.tape.diff(w_other, w));
        }
        let (from, to) = (
            self.mechanism.planes[there.plane],
            self.mechanism.planes[here.plane],
        );
        let offset: [f64; 3] = std::array::from_fn(|i| from.origin[i] - to.origin[i]);
        let axes = [from.right, from.up, from.normal()];
        let mut seen = [to.right, to.up, to.normal()].map(|axis| {
            let start = Value::Fixed(small_is_zero(dot(axis, offset), self.size));
            let parts = [place[0], place[1], w_other];
            axes.iter().zip(parts).fold(start, |sum, (a, part)| {
                let part = self
                    .tape
                    .prod(Value::Fixed(small_is_zero(dot(axis, *a), 1.0)), part);
                self.tape.sum(sum, part)
            })
        });
        seen[2] = self.tape.diff(seen[2], w);
        ([seen[0], seen[1]], seen[2])
    }
}

pub(super) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Rounding of a drawing or of a plane's own directions is not worth an instruction.
pub(super) fn small_is_zero(x: f64, scale: f64) -> f64 {
    if x.abs() <= 4.0 * f64::EPSILON * scale {
        0.0
    } else {
        x
    }
}
