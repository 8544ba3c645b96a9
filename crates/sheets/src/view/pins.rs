//! Pins, eccentrics and the stands of fixed pivots in a view.

use machine::model::{PartId, PointId};

use super::Builder;
use crate::body::{Body, Drawn, Eccentric};
use crate::geometry::{P, Rect, along, direction, distance, square};
use crate::labels::Anchor;
use crate::lines::Lines;
use crate::scene::Joint;
use crate::sheet::{Carried, Fill, Group, Hand, Pen, Shape};
use crate::symbols;

impl Builder<'_> {
    /// Stands of the pivots on the frame, each turned to where the fewest lines run.
    pub(super) fn stands(&self, lines: &Lines) -> Group {
        let mut g = Group::named(
            "frame",
            self.id("part", "frame"),
            "frame",
            "The frame: fixed pivots".to_owned(),
        );
        let mut done: Vec<P> = Vec::new();
        let pivots: Vec<P> = (0..self.scene.roles.len())
            .filter(|&p| {
                self.is_here(p) && matches!(self.scene.joint(p), Joint::Pivot | Joint::ShaftCentre)
            })
            .filter(|&p| {
                self.scene
                    .roles
                    .get(p)
                    .is_some_and(|r| r.frame || r.shaft_centre)
            })
            .filter_map(|p| self.at(p))
            .collect();
        for at in pivots {
            if done.iter().any(|d| distance(*d, at) < 0.05) {
                continue;
            }
            done.push(at);
            let around = self
                .eccentrics
                .iter()
                .filter(|(_, e)| distance(e.hub, at) < 0.05);
            let height = around
                .map(|(_, e)| e.radius() + 3.0)
                .fold(symbols::STAND, f64::max);
            let mut best = ([0.0, 1.0], f64::INFINITY);
            for (down, dislike) in [
                ([0.0, 1.0], 0.0),
                ([0.0, -1.0], 1.5),
                ([-1.0, 0.0], 1.2),
                ([1.0, 0.0], 1.2),
            ] {
                let t = square(down);
                let near = along(along(at, down, symbols::SHAFT), t, -symbols::BASE - 0.5);
                let far = along(
                    along(at, down, height + symbols::HATCH + 0.5),
                    t,
                    symbols::BASE + 0.5,
                );
                let mut under = dislike + lines.under(&Rect::new(near, far));
                // Another pivot close by needs the room for itself.
                if done.iter().any(|d| {
                    *d != at
                        && Rect::new(near, far)
                            .grown(symbols::PIN)
                            .holds(&Rect::new(*d, *d))
                }) {
                    under += 5.0;
                }
                if under < best.1 {
                    best = (down, under);
                }
            }
            symbols::stand(&mut g, at, best.0, height);
        }
        g
    }

    /// Pins, eccentrics and single points, on top of what they join, with their names.
    pub(super) fn pins(&mut self) -> Vec<Group> {
        let scene = self.scene;
        let mut groups: Vec<Group> = Vec::new();
        let mut named: Vec<(P, f64, Vec<&str>, PointId)> = Vec::new();
        let mut passes: Vec<(P, P)> = self.parts.iter().flat_map(Drawn::passes).collect();
        let apart = self.live.then(|| std::mem::take(&mut passes));
        for point in 0..scene.roles.len() {
            let joint = scene.joint(point);
            // A point that is not used yet shows where it can be taken up.
            let idle = joint == Joint::None;
            if (idle && !self.live) || !self.is_here(point) {
                continue;
            }
            let Some(at) = self.at(point) else { continue };
            let end = matches!(joint, Joint::End | Joint::Fixed);
            if end && self.is_end_of_short_slot(point) {
                continue;
            }
            let name = scene.point_name(point);
            let same = named.iter_mut().find(|(p, ..)| distance(*p, at) < 0.05);
            let is_face = scene.roles.get(point).is_some_and(|r| r.face);
            let eccentric = self
                .eccentrics
                .iter()
                .find(|(_, e)| e.point == point || distance(e.centre, at) < 0.05)
                .copied();
            let mut g = Group::named(
                "pin",
                self.id("point", name),
                name,
                self.pin_title(point, joint),
            );
            let clear = match (joint, eccentric) {
                (_, Some((part, e))) => {
                    let mut eccentric = self.eccentric(part, &e);
                    if self.live {
                        eccentric.carried = Some(Self::with(part));
                        groups.push(eccentric);
                        // The disc is large; the place of the point itself is held by its centre.
                        symbols::centre_mark(&mut g, at, 1.2);
                    } else if same.is_none() {
                        g.add(eccentric);
                    }
                    0.8
                }
                (Joint::ShaftCentre, None) => {
                    symbols::shaft(&mut g, at);
                    symbols::SHAFT
                }
                (Joint::Pivot | Joint::Pin, None) => {
                    if self.is_ball_only(point) {
                        symbols::CUP
                    } else {
                        symbols::pin(&mut g, at);
                        // A part that goes straight on through the pin shows as a line across it.
                        for (_, d) in passes.iter().filter(|(p, _)| distance(*p, at) < 0.05) {
                            g.draw(
                                Pen::Wide,
                                Shape::line(
                                    along(at, *d, -symbols::PIN),
                                    along(at, *d, symbols::PIN),
                                ),
                            );
                        }
                        symbols::PIN
                    }
                }
                (Joint::Fixed, None) => {
                    if !is_face {
                        symbols::centre_mark(&mut g, at, 1.6);
                    }
                    1.0
                }
                (Joint::End, None) => {
                    if scene.roles.get(point).is_some_and(|r| r.slot) {
                        symbols::centre_mark(&mut g, at, 1.0);
                    } else if !is_face {
                        symbols::dot(&mut g, at);
                    }
                    0.8
                }
                (Joint::None, None) => {
                    symbols::centre_mark(&mut g, at, 1.2);
                    1.0
                }
            };
            g.carried = Some(Carried::Point(point));
            groups.push(g);
            // A face bears its own name, with that of its point.
            if is_face && end {
                continue;
            }
            match same {
                Some((_, most, names, _)) => {
                    *most = most.max(clear);
                    names.push(name);
                }
                None => named.push((at, clear, vec![name], point)),
            }
        }
        if apart.is_some() {
            groups.extend(self.passes());
        }
        for (at, clear, lines, point) in named {
            self.tie = Some(Carried::Point(point));
            let anchors = vec![Anchor {
                at,
                clear,
                line: None,
            }];
            self.name(&lines, Hand::Note, anchors, false);
        }
        groups
    }

    /// Parts that go straight on through their pins, drawn across those.
    fn passes(&self) -> Vec<Group> {
        let across = |d: &Drawn| {
            let mut g = Group::new("pass");
            g.carried = Some(Self::with(d.part));
            for (at, way) in d.passes() {
                let ends = [-symbols::PIN, symbols::PIN].map(|s| along(at, way, s));
                g.draw(Pen::Wide, Shape::line(ends[0], ends[1]));
            }
            g
        };
        let parts = self.parts.iter().map(across);
        parts.filter(|g| !g.is_bare()).collect()
    }

    pub(super) fn pin_title(&self, point: PointId, joint: Joint) -> String {
        let what = match joint {
            Joint::ShaftCentre => "Shaft centre",
            Joint::Pivot => "Fixed pivot",
            Joint::Pin => "Pin",
            Joint::Fixed => "Point of the frame",
            Joint::End | Joint::None => "Point",
        };
        format!("{what} {}", self.scene.point_name(point))
    }

    /// Whether rods with ball joints alone meet in a point, so that their cups are the whole symbol.
    pub(super) fn is_ball_only(&self, point: PointId) -> bool {
        let rods = self.scene.machine.rods.iter().enumerate();
        let mut ends = rods
            .filter(|(_, r)| r.joins.contains(&point))
            .map(|(i, _)| self.scene.is_spatial(i))
            .peekable();
        ends.peek().is_some() && ends.all(|spatial| spatial)
    }

    /// An eccentric: its disc about its own centre, with the shaft's section inside.
    pub(super) fn eccentric(&self, part: PartId, e: &Eccentric) -> Group {
        let name = self
            .scene
            .machine
            .parts
            .get(part)
            .map_or("", |p| p.name.as_str());
        let mut g = Group::named(
            "eccentric",
            String::new(),
            name,
            format!("Eccentric of {name}"),
        );
        g.put(
            Some(Pen::Wide),
            Fill::Ground,
            Shape::Circle {
                centre: e.centre,
                radius: e.radius(),
            },
        );
        // The disc hides where arms meet the shaft: those that turn with it are drawn through to it.
        for drawn in self
            .parts
            .iter()
            .filter(|d| d.hub.is_some_and(|h| distance(h, e.hub) < 0.05))
            .filter(|d| matches!(d.body, Body::Line(_)))
        {
            let Some(part) = self.scene.machine.parts.get(drawn.part) else {
                continue;
            };
            let far = drawn
                .points
                .iter()
                .copied()
                .filter(|p| distance(*p, e.hub) > e.radius());
            for tip in far.take(1) {
                let d = direction(e.hub, tip);
                g.draw(
                    Pen::Wide,
                    Shape::line(
                        e.hub,
                        along(e.hub, d, e.radius() + distance(e.hub, e.centre)),
                    ),
                );
                if part.clamped_to.is_some() {
                    symbols::weld(&mut g, e.hub, d, symbols::SHAFT);
                }
            }
        }
        symbols::shaft(&mut g, e.hub);
        symbols::centre_mark(&mut g, e.centre, 1.2);
        g
    }
}
