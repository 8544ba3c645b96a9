//! The machines that are timed.

use mechanics::Mechanism;
use mechanics::model::{AnchorId, BodyId, Constraint, ParamId};

/// A machine with its drive and its pins.
pub(crate) struct Machine {
    pub(crate) mechanism: Mechanism,
    pub(crate) drive: ParamId,
    /// Anchors whose places are wanted.
    pub(crate) pins: Vec<AnchorId>,
}

/// Adds parts by drawn points.
struct Shop {
    m: Mechanism,
}

impl Shop {
    fn new() -> Self {
        Self {
            m: Mechanism::new(),
        }
    }

    fn pin(&mut self, a: AnchorId, b: AnchorId) {
        self.m.constrain(Constraint::Pin { a, b });
    }

    fn fixed(&mut self, at: [f64; 2]) -> AnchorId {
        self.m.anchor(0, 0, [at[0], at[1], 0.0])
    }

    /// A part through the drawn points: the first is its datum, the second gives its direction.
    fn part(&mut self, points: &[[f64; 2]]) -> (BodyId, Vec<AnchorId>) {
        let body = self.m.link(0, points[0], points[1]);
        let anchors = points
            .iter()
            .map(|p| self.m.anchor_drawn(body, 0, [p[0], p[1], 0.0]))
            .collect();
        (body, anchors)
    }

    /// A part that turns on the frame at its first point.
    fn turning(&mut self, points: &[[f64; 2]]) -> (BodyId, Vec<AnchorId>) {
        let (body, anchors) = self.part(points);
        let centre = self.fixed(points[0]);
        self.pin(centre, anchors[0]);
        (body, anchors)
    }

    /// A part that joins two anchors.
    fn joining(&mut self, a: AnchorId, b: AnchorId) -> (BodyId, Vec<AnchorId>) {
        let at = [a, b].map(|x| self.m.in_plane(&self.m.params, &self.m.drawn, x));
        let (body, anchors) = self.part(&at);
        self.pin(a, anchors[0]);
        self.pin(b, anchors[1]);
        (body, anchors)
    }

    fn done(self, drive: ParamId, pins: Vec<AnchorId>) -> Machine {
        let mut mechanism = self.m;
        let mut drawn = mechanism.drawn.clone();
        if let Err(e) = mechanics::close(&mechanism, &mechanism.params, &mut drawn) {
            eprintln!("a bench machine does not close: {e:?}");
            std::process::exit(1);
        }
        mechanism.drawn = drawn;
        Machine {
            mechanism,
            drive,
            pins,
        }
    }
}

pub(crate) fn on_circle(centre: [f64; 2], radius: f64, angle: f64) -> [f64; 2] {
    [
        centre[0] + radius * angle.cos(),
        centre[1] + radius * angle.sin(),
    ]
}

/// Four-bar: frame 4, crank 1, coupler 3.5, rocker 3; pins: crank pin, rocker pin.
pub(crate) fn four_bar() -> Machine {
    let mut s = Shop::new();
    let crank_pin = on_circle([0.0; 2], 1.0, 0.3);
    let rocker_pin = circles(crank_pin, 3.5, [4.0, 0.0], 3.0);
    let (crank, c) = s.turning(&[[0.0; 2], crank_pin]);
    let (_, r) = s.turning(&[[4.0, 0.0], rocker_pin]);
    s.joining(c[1], r[1]);
    let drive = s.m.hold_angle(crank, 0);
    s.done(drive, vec![c[1], r[1]])
}

/// Where two circles meet, to the left of the way from the first centre to the second.
fn circles(a: [f64; 2], r: f64, b: [f64; 2], q: f64) -> [f64; 2] {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let d2 = dx * dx + dy * dy;
    let along = 0.5 * (d2 + r * r - q * q) / d2;
    let up = (r * r / d2 - along * along).sqrt();
    [a[0] + along * dx - up * dy, a[1] + along * dy + up * dx]
}

/// Drawn points of the ten-part machine.
pub(crate) struct TenParts {
    pub(crate) crank: [f64; 2],
    pub(crate) rocker_centre: [f64; 2],
    pub(crate) rocker: [f64; 2],
    pub(crate) rocker_arm: [f64; 2],
    pub(crate) bell_centre: [f64; 2],
    pub(crate) bell: [f64; 2],
    pub(crate) bell_arm: [f64; 2],
    pub(crate) shaft_centre: [f64; 2],
    pub(crate) shaft: [f64; 2],
    pub(crate) eccentric: [f64; 2],
    pub(crate) ram: [f64; 2],
}

/// The crank turns −1.5 times the wheel; it is drawn at this angle, the wheel at 0.
pub(crate) const CRANK_DRAWN: f64 = 0.9;
pub(crate) const GEAR: f64 = -1.5;

pub(crate) fn ten_parts_drawn() -> TenParts {
    TenParts {
        crank: on_circle([0.0; 2], 30.0, CRANK_DRAWN),
        rocker_centre: [110.0, -20.0],
        rocker: [100.0, 45.0],
        rocker_arm: [130.0, 25.0],
        bell_centre: [210.0, 70.0],
        bell: [200.0, 25.0],
        bell_arm: [258.0, 62.0],
        shaft_centre: [300.0, 0.0],
        shaft: [262.0, 8.0],
        eccentric: [309.0, -2.0],
        ram: [312.0, -90.0],
    }
}

/// Geared wheel, crank, coupler, rocker, rod, bell crank, rod, eccentric shaft, link, ram. Also the fourteen dimensions that vary, and the
/// ram's anchor.
pub(crate) fn ten_parts() -> (Machine, Vec<ParamId>, AnchorId) {
    let d = ten_parts_drawn();
    let mut s = Shop::new();
    let wheel_centre = [-75.0, 0.0];
    let (wheel, _) = s.turning(&[wheel_centre, [-50.0, 0.0]]);
    let (crank, c) = s.turning(&[[0.0; 2], d.crank]);
    let offset = s.m.param(CRANK_DRAWN);
    s.m.constrain(Constraint::Ratio {
        a: wheel,
        b: crank,
        carrier: 0,
        sizes: [-GEAR, 1.0],
        offset,
    });
    let (_, r) = s.turning(&[d.rocker_centre, d.rocker, d.rocker_arm]);
    let (_, coupler) = s.joining(c[1], r[1]);
    let (_, b) = s.turning(&[d.bell_centre, d.bell, d.bell_arm]);
    let (_, rod) = s.joining(r[2], b[1]);
    let (_, e) = s.turning(&[d.shaft_centre, d.shaft, d.eccentric]);
    let (_, rod_2) = s.joining(b[2], e[1]);
    let ram = s.m.body(0, d.ram, 0.0);
    let ram_pin = s.m.anchor(ram, 0, [0.0; 3]);
    s.m.hold_angle(ram, 0);
    let guide = s.fixed([d.ram[0], -150.0]);
    let (direction, zero) = (s.m.param(std::f64::consts::FRAC_PI_2), s.m.param(0.0));
    s.m.constrain(Constraint::OnLine {
        pin: ram_pin,
        through: guide,
        direction,
        offset: zero,
    });
    let (_, link) = s.joining(e[2], ram_pin);
    let drive = s.m.hold_angle(wheel, 0);
    let pins = vec![c[1], r[1], r[2], b[1], b[2], e[1], e[2], ram_pin];
    let (u, v) = (
        |a: AnchorId| s.m.anchors[a].u,
        |a: AnchorId| s.m.anchors[a].v,
    );
    let dimensions = vec![
        u(c[1]),
        u(coupler[1]),
        u(r[1]),
        u(r[2]),
        v(r[2]),
        u(rod[1]),
        u(b[1]),
        u(b[2]),
        v(b[2]),
        u(rod_2[1]),
        u(e[1]),
        u(e[2]),
        v(e[2]),
        u(link[1]),
    ];
    (s.done(drive, pins), dimensions, ram_pin)
}

/// Andrews' squeezing mechanism, in mm. Geometry and start joints: test set for initial value problem solvers (CWI, Bari), after Schiehlen;
/// Hairer and Wanner, Solving Ordinary Differential Equations II, VI.9. Pins: F, E, D, G, H.
pub(crate) fn squeezer() -> Machine {
    let (a, b) = ([-69.34, -2.27], [-36.35, 32.73]);
    let f = [6.986_674_115_45, -0.431_723_064_569];
    let e = [-20.960_022_346_4, 1.295_169_193_71];
    let d = [-10.472_393_888_8, 25.357_788_530_3];
    let g = [-33.997_203_885_8, 16.461_971_675];
    let h = [-31.633_134_507_4, -15.618_868_668_3];
    let mut s = Shop::new();
    let (crank, k1) = s.turning(&[[0.0; 2], f]);
    let (_, k3) = s.turning(&[b, e, d]);
    s.joining(k1[1], k3[1]);
    let (_, k5) = s.turning(&[a, g]);
    s.joining(k3[1], k5[1]);
    let (_, k7) = s.turning(&[a, h]);
    s.joining(k3[1], k7[1]);
    let drive = s.m.hold_angle(crank, 0);
    s.done(drive, vec![k1[1], k3[1], k3[2], k5[1], k7[1]])
}

/// Points of the coupled group: crank pin, the coupler's three pins, the frame's ends of the second and third leg.
pub(crate) const COUPLER: [[f64; 2]; 3] = [[60.0, 30.0], [110.0, 60.0], [100.0, -10.0]];
pub(crate) const LEGS: [[f64; 2]; 2] = [[70.0, 140.0], [180.0, -40.0]];
pub(crate) const LEG_CRANK: f64 = 12.0;

/// A crank and a ternary coupler on three legs, one from the crank, two from the frame. Pins: crank pin, the coupler's three.
pub(crate) fn coupled_group() -> Machine {
    let mut s = Shop::new();
    let (crank, c) = s.turning(&[[0.0; 2], [LEG_CRANK, 0.0]]);
    let (_, t) = s.part(&COUPLER);
    s.joining(c[1], t[0]);
    for (foot, pin) in LEGS.into_iter().zip([t[1], t[2]]) {
        let foot = s.fixed(foot);
        s.joining(foot, pin);
    }
    let drive = s.m.hold_angle(crank, 0);
    s.done(drive, vec![c[1], t[0], t[1], t[2]])
}
