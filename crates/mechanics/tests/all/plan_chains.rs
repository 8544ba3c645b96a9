//! Random machines put together from dyads, slides, slots, gears and rods in space, one after another: closed forms take them all apart,
//! and every good pose of a sweep agrees with the dense reference.

use crate::common;
use crate::common::Random;
use crate::shop::{Shop, check_sweep, polar};
use mechanics::model::{AnchorId, BodyId, Constraint, Mechanism, ParamId};
use mechanics::plan::{Forms, Plan};
use std::f64::consts::{PI, TAU};

struct Chain<'a> {
    s: Shop,
    r: &'a mut Random,
    /// Anchors of the front plane that the next dyad may take its motion from.
    ends: Vec<AnchorId>,
    /// Bodies that turn, for gears.
    turning: Vec<BodyId>,
}

impl Chain<'_> {
    fn near(&mut self, [x, y]: [f64; 2], radius: f64) -> [f64; 2] {
        let (far, angle) = (self.r.between(0.6, 1.4) * radius, self.r.between(-PI, PI));
        polar([x, y], far, angle)
    }

    /// Adds one block driven by a random anchor.
    fn grow(&mut self) {
        let from = self.r.pick(&self.ends);
        let at = self.s.at(from);
        let knee = self.near(at, 90.0);
        match self.r.below(8) {
            // A bar or a rod to a rocker; the rocker carries on.
            kind @ (0 | 1) => {
                let centre = self.near(knee, 60.0);
                let rocker = self.s.turning(centre, knee);
                let end = self.s.carry(rocker, knee);
                if kind == 0 {
                    self.s.bar(from, end);
                } else {
                    self.s.m.rod(from, end);
                }
                let arm = self.near(centre, 50.0);
                let next = self.s.carry(rocker, arm);
                self.ends.push(next);
                self.turning.push(rocker);
            }
            // A bar or a rod to a slide.
            kind @ (2 | 3) => {
                let along = self.r.between(-PI, PI);
                let (_, ram) = self.s.slide(knee, along);
                if kind == 2 {
                    self.s.bar(from, ram);
                } else {
                    self.s.m.rod(from, ram);
                }
                self.ends.push(ram);
            }
            // A lever with a slot, straight or an arc, over the pin.
            kind @ (4 | 5) => {
                let centre = self.near(at, 80.0);
                let lever = self.s.turning(centre, at);
                if kind == 4 {
                    let slot = self.s.m.anchor(lever, 0, [0.0; 3]);
                    self.s.on_line(from, slot, 0.0, 0.0);
                } else {
                    let middle = self.near(at, 60.0);
                    let middle = self.s.carry(lever, middle);
                    self.s.arc(from, middle);
                }
                let tip = self.near(centre, 60.0);
                let next = self.s.carry(lever, tip);
                self.ends.push(next);
                self.turning.push(lever);
            }
            // A gear on something that turns.
            6 => {
                let gear = self.r.pick(&self.turning);
                let centre = self.near(at, 70.0);
                let tip = self.near(centre, 30.0);
                let wheel = self.s.turning(centre, tip);
                let sizes = [self.r.between(10.0, 40.0), self.r.between(20.0, 60.0)];
                self.s.gear(gear, wheel, 0, sizes);
                let next = self.s.carry(wheel, tip);
                self.ends.push(next);
                self.turning.push(wheel);
            }
            // A free pin on two rods.
            _ => {
                let free = self.s.m.body(0, knee, 0.0);
                self.s.m.hold_angle(free, 0);
                let own = self.s.m.anchor(free, 0, [0.0; 3]);
                let foot = self.near(knee, 70.0);
                let foot = self.s.fixed(foot);
                self.s.m.rod(from, own);
                self.s.m.rod(own, foot);
                self.ends.push(own);
            }
        }
    }

    /// A rod to a lever in another plane.
    fn leave_plane(&mut self) {
        let from = self.r.pick(&self.ends);
        let plane = common::random_plane(self.r);
        let plane = self.s.m.plane(plane);
        let centre = [0; 2].map(|_| self.r.between(-60.0, 60.0));
        let tip = self.near(centre, 50.0);
        let station = self.r.between(-20.0, 20.0);
        let on = self.s.fixed_in(plane, centre);
        let lever = self.s.hung(on, tip);
        let end = self
            .s
            .m
            .anchor_drawn(lever, plane, [tip[0], tip[1], station]);
        self.s.m.rod(from, end);
        self.turning.push(lever);
    }
}

fn chain(r: &mut Random) -> (Mechanism, ParamId) {
    let mut s = Shop::new();
    let (crank, pin, drive) = s.crank([0.0; 2], 20.0, r.between(-PI, PI));
    let blocks = 1 + r.below(7);
    let mut c = Chain {
        s,
        ends: vec![pin],
        turning: vec![crank],
        r,
    };
    for _ in 0..blocks {
        c.grow();
    }
    if c.r.below(2) == 0 {
        c.leave_plane();
    }
    let Chain { s, r, .. } = c;
    let mut m = s.m;
    // In any order, and turned round.
    let n = m.constraints.len();
    for i in (1..n).rev() {
        m.constraints.swap(i, r.below(i + 1));
    }
    for c in &mut m.constraints {
        if let Constraint::Pin { a, b } = c
            && r.below(2) == 0
        {
            std::mem::swap(a, b);
        }
    }
    (m, drive)
}

#[test]
fn chains_are_taken_apart_and_agree() {
    let mut r = Random::new(2024);
    let (mut machines, mut good, mut missed, mut refused) = (0, 0, 0, 0);
    while machines < 500 {
        let (mut m, drive) = chain(&mut r);
        let mut drawn = m.drawn.clone();
        if mechanics::close(&m, &m.params, &mut drawn).is_err() {
            continue;
        }
        m.drawn = drawn;
        let Ok(plan) = Plan::new(&m, &m.params, &m.drawn) else {
            refused += 1;
            continue;
        };
        assert!(
            plan.blocks().is_empty(),
            "machine {machines}: left to Newton: {:?}",
            plan.blocks()
        );
        machines += 1;
        let count = 60 + r.below(90);
        let way = r.between(-1.0, 1.0) * TAU;
        let values: Vec<f64> = (1..=count)
            .map(|i| m.params[drive] + way * i as f64 / count as f64)
            .collect();
        let forms = if machines % 3 == 0 {
            Forms::NewtonOnly
        } else {
            Forms::Closed
        };
        let seen = check_sweep(&format!("machine {machines}"), &m, forms, drive, &values);
        good += seen.good;
        missed += seen.missed;
    }
    println!(
        "{machines} machines, {refused} drawn near a dead centre, {good} good poses, {missed} missed"
    );
    assert!(
        good > 15 * missed && refused * 20 < machines,
        "{good} good, {missed} missed, {refused} refused"
    );
}
