//! The instructions.

/// Place of one number, for all lanes.
pub(crate) type Slot = u16;

/// No slot.
pub(crate) const NONE: Slot = Slot::MAX;

/// Slot 0 says for each lane whether all is well so far: 1 yes, 0 no.
pub(crate) const WELL: Slot = 0;

/// A root is trusted when its square exceeds this share of its greatest value: 1e-4 rad from a dead centre.
pub(crate) const NEAR: f64 = 1e-8;

/// Newton steps before a lane is given up.
pub(crate) const PATIENCE: u32 = 12;

/// One instruction. `d` (and `e`) receive; small letters are slots, capitals fixed numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Op {
    /// a + b
    Add { d: Slot, a: Slot, b: Slot },
    /// a − b
    Sub { d: Slot, a: Slot, b: Slot },
    /// a b
    Mul { d: Slot, a: Slot, b: Slot },
    /// a / b
    Div { d: Slot, a: Slot, b: Slot },
    /// K / a
    Inverse { d: Slot, k: f64, a: Slot },
    /// K a + M
    Scale { d: Slot, k: f64, a: Slot, m: f64 },
    /// a + K b
    AddScaled { d: Slot, a: Slot, k: f64, b: Slot },
    /// K a + M b
    Blend {
        d: Slot,
        k: f64,
        a: Slot,
        m: f64,
        b: Slot,
    },
    /// a + b c
    AddMul { d: Slot, a: Slot, b: Slot, c: Slot },
    /// a − b c
    SubMul { d: Slot, a: Slot, b: Slot, c: Slot },
    /// b c − a
    MulSub { d: Slot, a: Slot, b: Slot, c: Slot },
    /// a b + c f
    MulAddMul {
        d: Slot,
        a: Slot,
        b: Slot,
        c: Slot,
        f: Slot,
    },
    /// a b − c f
    MulSubMul {
        d: Slot,
        a: Slot,
        b: Slot,
        c: Slot,
        f: Slot,
    },
    /// K a + b c
    ScaleAddMul {
        d: Slot,
        k: f64,
        a: Slot,
        b: Slot,
        c: Slot,
    },
    /// K a − b c
    ScaleSubMul {
        d: Slot,
        k: f64,
        a: Slot,
        b: Slot,
        c: Slot,
    },
    /// K + b c
    FixedAddMul { d: Slot, k: f64, b: Slot, c: Slot },
    /// K − b c
    FixedSubMul { d: Slot, k: f64, b: Slot, c: Slot },
    /// a + K b + M c
    AddBlend {
        d: Slot,
        a: Slot,
        k: f64,
        b: Slot,
        m: f64,
        c: Slot,
    },
    /// H + K b + M c
    FixedAddBlend {
        d: Slot,
        h: f64,
        k: f64,
        b: Slot,
        m: f64,
        c: Slot,
    },
    /// a + b c + f g
    AddMulAddMul {
        d: Slot,
        a: Slot,
        b: Slot,
        c: Slot,
        f: Slot,
        g: Slot,
    },
    /// a + b c − f g
    AddMulSubMul {
        d: Slot,
        a: Slot,
        b: Slot,
        c: Slot,
        f: Slot,
        g: Slot,
    },
    /// a − b c − f g
    SubMulSubMul {
        d: Slot,
        a: Slot,
        b: Slot,
        c: Slot,
        f: Slot,
        g: Slot,
    },
    /// √a
    Root { d: Slot, a: Slot },
    /// a + K |b|
    AddSize { d: Slot, a: Slot, k: f64, b: Slot },
    /// d = cos a, e = sin a; lanes with an angle beyond reach are given up.
    CosSin { d: Slot, e: Slot, a: Slot },
    /// d = how far a wheel has gone, e = its rate, for a turn a of its driver.
    Course { d: Slot, e: Slot, a: Slot, cam: u16 },
    /// How far the pin at (a, b) is off the path of cam number `cam` that is swollen by `swell`: d; by a: e; by b: f. Lanes in which the
    /// follower does not reach are given up.
    Cam {
        d: Slot,
        e: Slot,
        f: Slot,
        a: Slot,
        b: Slot,
        swell: Slot,
        cam: u16,
    },
    /// Circle and circle. (d, e) = w with |w|² = Q and w · (a, b) = (a² + b²)/2 + K; SIDE times the left of (a, b) where two exist.
    /// `m` remembers the root from pose to pose.
    Reach {
        d: Slot,
        e: Slot,
        a: Slot,
        b: Slot,
        k: f64,
        q: f64,
        side: f64,
        m: Slot,
    },
    /// The same with k and q in slots.
    ReachOwn {
        d: Slot,
        e: Slot,
        a: Slot,
        b: Slot,
        k: Slot,
        q: Slot,
        side: f64,
        m: Slot,
    },
    /// Circle and line. (d, e) = w with |w| = 1 and w · (a, b) = c; (a, b) must be longer than √TINY.
    Meet {
        d: Slot,
        e: Slot,
        a: Slot,
        b: Slot,
        c: Slot,
        side: f64,
        tiny: f64,
        m: Slot,
    },
    /// d = SIDE √a, trusted when a > NEAR · Q.
    Fold {
        d: Slot,
        a: Slot,
        q: f64,
        side: f64,
        m: Slot,
    },
    /// The same with q in a slot.
    FoldOwn {
        d: Slot,
        a: Slot,
        q: Slot,
        side: f64,
        m: Slot,
    },
    /// d = angle of the unit vector (a, b), followed from the last pose's `angle`, `c`, `s`, which it then replaces.
    Wind {
        d: Slot,
        a: Slot,
        b: Slot,
        angle: Slot,
        c: Slot,
        s: Slot,
    },
    /// Lanes with |a| > LIMIT are given up.
    Within { a: Slot, limit: f64 },
    /// Lanes with K a ≤ LIMIT are given up.
    Above { a: Slot, k: f64, limit: f64 },
    /// Lanes where |a| has halved or doubled since the last pose are given up.
    Steady { a: Slot, m: Slot },
    /// Result number `column` is a.
    Give { column: Slot, a: Slot },
    /// K in every lane.
    Set { d: Slot, k: f64 },
    /// Newton begins: every good lane is busy.
    Begin { busy: Slot },
    /// The unit vector (c, s) goes on by the same change of turn as before; `now` and `last` are the two latest turns.
    ForeseeTurn {
        c: Slot,
        s: Slot,
        now: Slot,
        last: Slot,
    },
    /// The same for a number.
    ForeseeMove { x: Slot, now: Slot, last: Slot },
    /// The unit vector (c, s) of busy lanes turns by F `by`; `worst` grows by K times the size of that.
    Turn {
        c: Slot,
        s: Slot,
        by: Slot,
        f: f64,
        busy: Slot,
        worst: Slot,
        k: f64,
        now: Slot,
    },
    /// The same for a number.
    Move {
        x: Slot,
        by: Slot,
        f: f64,
        busy: Slot,
        worst: Slot,
        k: f64,
        now: Slot,
    },
    /// Lanes with worst ≤ 1 have settled; those beyond WILD are given up. Back to instruction `back` while any lane is busy.
    Again {
        busy: Slot,
        worst: Slot,
        wild: f64,
        back: u32,
    },
}
