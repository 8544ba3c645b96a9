//! What stands round the parts in a view: guides, slots, wheels, rods, hole rows, faces, stops, drives; with their names.

use machine::model::{Moves, PointId, RatioKind};

use super::Builder;
use crate::body;
use crate::drives;
use crate::geometry::{P, along, direction, distance, square};
use crate::guides;
use crate::labels::{self, Anchor};
use crate::number::trimmed;
use crate::pose::Pose;
use crate::sheet::{Carried, Group, Hand};
use crate::symbols;
use crate::wheels::{self, Wheel};

impl Builder<'_> {
    /// In a picture that moves: the groups within a group, to stand beside it with what carries each.
    fn taken_apart(&self, g: &mut Group, carried: impl Fn(usize) -> Option<Carried>) -> Vec<Group> {
        if !self.live {
            return Vec::new();
        }
        let mut apart = std::mem::take(&mut g.groups);
        for (i, group) in apart.iter_mut().enumerate() {
            group.carried = carried(i);
        }
        apart
    }

    pub(super) fn slides(&mut self, pose: &Pose) -> Vec<Group> {
        let (scene, frame) = (self.scene, self.frame);
        let mut groups = Vec::new();
        for (id, slide) in scene.machine.slides.iter().enumerate() {
            if scene.part_plane(slide.part) != Some(frame.plane) {
                continue;
            }
            let mut beyond = [0.0, 0.0];
            for (drive, &now) in scene.machine.drives.iter().zip(pose.drives) {
                if drive.moves == Moves::Slides(id) {
                    beyond = drives::slide_reach(drive, now, frame.k);
                }
            }
            let mut g = Group::named(
                "slide",
                self.id("slide", &slide.name),
                &slide.name,
                format!("Slide {}", slide.name),
            );
            guides::slide(scene, frame, slide, beyond, &mut g);
            g.carried = Some(Self::with(slide.on));
            let apart = self.taken_apart(&mut g, |_| Some(Self::with(slide.part)));
            groups.push(g);
            groups.extend(apart);
            self.name_beside(slide.part);
            // A part that bears the slide's name is labelled with it.
            let named = scene.machine.parts.get(slide.part);
            if named.is_some_and(|p| p.name == slide.name)
                && self
                    .parts
                    .iter()
                    .any(|d| d.part == slide.part && !d.points.is_empty())
            {
                continue;
            }
            if let Some(at) = guides::slide_at(scene, frame, scene.standing, slide) {
                let d = guides::slide_direction(scene.standing, slide);
                let off = symbols::BLOCK[1] + symbols::HATCH + 0.5;
                let places = [
                    (0.0, 1.0),
                    (0.0, -1.0),
                    (6.0, 1.0),
                    (-6.0, 1.0),
                    (6.0, -1.0),
                    (-6.0, -1.0),
                ];
                let anchors = places
                    .map(|(s, side)| Anchor {
                        at: along(along(at, d, s), square(d), side * off),
                        clear: 0.2,
                        line: Some(d),
                    })
                    .to_vec();
                self.name(&[&slide.name], Hand::Note, anchors, false);
            }
        }
        groups
    }

    pub(super) fn slots(&mut self) -> Vec<Group> {
        let mut groups = Vec::new();
        for slot in self
            .scene
            .machine
            .slots
            .iter()
            .filter(|s| self.is_here(s.ends[0]))
        {
            let mut g = Group::named(
                "slot",
                self.id("slot", &slot.name),
                &slot.name,
                format!("Slot {}", slot.name),
            );
            guides::slot(
                self.scene,
                self.frame,
                slot,
                self.slot_half(slot.pin),
                &mut g,
            );
            g.carried = Some(Self::with(slot.within));
            groups.push(g);
        }
        for i in 0..self.scene.machine.slots.len() {
            let Some(slot) = self.scene.machine.slots.get(i) else {
                continue;
            };
            let ends = slot
                .ends
                .map(|p| if self.is_here(p) { self.at(p) } else { None });
            if let [Some(a), Some(b)] = ends {
                let name = slot.name.clone();
                let within = slot.within;
                let half = self.slot_half(slot.pin) + 0.4;
                let anchors = if slot.centre.is_none() && distance(a, b) > 2.0 * half {
                    labels::on_line(a, b, half)
                } else {
                    [a, b]
                        .map(|at| Anchor {
                            at,
                            clear: half,
                            line: None,
                        })
                        .to_vec()
                };
                self.name_beside(within);
                self.name(&[&name], Hand::Note, anchors, false);
            }
        }
        groups
    }

    /// Half the width of a slot: it fits its pin, be it an eccentric.
    pub(super) fn slot_half(&self, pin: PointId) -> f64 {
        let eccentric = self.eccentrics.iter().find(|(_, e)| e.point == pin);
        eccentric.map_or(symbols::PIN, |(_, e)| e.radius()) + 0.5
    }

    /// Whether a point is but the end of a slot too short on the paper for its ends to be told from its pin.
    pub(super) fn is_end_of_short_slot(&self, point: PointId) -> bool {
        let slots = self
            .scene
            .machine
            .slots
            .iter()
            .filter(|s| s.ends.contains(&point) || s.centre == Some(point));
        let mut spans = slots.filter_map(|s| {
            Some(distance(self.at(s.ends[0])?, self.at(s.ends[1])?) - 4.0 * self.slot_half(s.pin))
        });
        spans.any(|s| s < 0.0)
    }

    pub(super) fn pairs(&mut self) -> Vec<Group> {
        let (scene, frame) = (self.scene, self.frame);
        let mut groups = Vec::new();
        for ratio in &scene.machine.ratios {
            let Some(pair) = wheels::wheels(scene, frame, scene.standing, ratio) else {
                continue;
            };
            let what = match ratio.kind {
                RatioKind::Gear | RatioKind::InternalGear => "Gear pair",
                RatioKind::Belt | RatioKind::CrossedBelt => "Belt",
            };
            let unit = scene.machine.unit;
            let sizes = ratio.sizes.map(|s| match ratio.kind {
                RatioKind::Gear | RatioKind::InternalGear => trimmed(s, 3),
                RatioKind::Belt | RatioKind::CrossedBelt => trimmed(unit.from_inside(s), 3),
            });
            let title = format!("{what} {}: {} to {}", ratio.name, sizes[0], sizes[1]);
            let mut g = Group::named("wheels", self.id("wheels", &ratio.name), &ratio.name, title);
            wheels::draw(scene, ratio, &pair, &mut g);
            g.carried = Some(Self::with(ratio.carrier));
            let apart = self.taken_apart(&mut g, |i| pair.get(i).map(|w| Self::with(w.part)));
            groups.push(g);
            groups.extend(apart);
            self.tie = None;
            self.wheels.extend(pair);
            let [p, q] = pair;
            let towards = direction(p.centre, q.centre);
            let line = Some(square(towards));
            let anchors = if what == "Belt" {
                let half = |side: f64| along(p.centre, square(towards), side * p.pitch);
                let other = |side: f64| along(q.centre, square(towards), side * q.pitch);
                [1.0, -1.0]
                    .into_iter()
                    .flat_map(|s| labels::on_line(half(s), other(s), 1.5).into_iter().take(3))
                    .collect()
            } else {
                vec![Anchor {
                    at: along(p.centre, towards, p.pitch),
                    clear: 1.0,
                    line,
                }]
            };
            let words = match [p.teeth, q.teeth] {
                [Some(a), Some(b)] => format!("{} {a}:{b}", ratio.name),
                _ => format!("{} {}:{}", ratio.name, sizes[0], sizes[1]),
            };
            self.name(&[&words], Hand::Note, anchors, true);
        }
        for rack in &scene.machine.racks {
            let Some(slide) = scene.machine.slides.get(rack.slide) else {
                continue;
            };
            if scene.part_plane(slide.part) != Some(frame.plane) {
                continue;
            }
            let mut g = Group::named(
                "rack",
                self.id("rack", &rack.name),
                &rack.name,
                format!("Rack {}", rack.name),
            );
            let contact = guides::rack(scene, frame, rack.gear, slide, rack.radius, &mut g);
            let hub = scene
                .hub(rack.gear)
                .or_else(|| scene.body(rack.gear).first().copied());
            if let Some(centre) = hub.and_then(|h| self.at(h)) {
                let pitch = rack.radius.abs() * frame.k;
                // A pinion that is one of a gear pair too is drawn already.
                if pitch > 0.0
                    && pitch.is_finite()
                    && !self.wheels.iter().any(|w| w.part == rack.gear)
                {
                    let wheel = Wheel {
                        part: rack.gear,
                        centre,
                        pitch,
                        outline: pitch + 1.2,
                        teeth: None,
                    };
                    g.add(wheel.group(scene, true));
                    self.wheels.push(wheel);
                }
            }
            g.carried = Some(Self::with(slide.part));
            let apart = self.taken_apart(&mut g, |_| Some(Self::with(rack.gear)));
            groups.push(g);
            groups.extend(apart);
            self.tie = None;
            if let Some(at) = contact {
                let d = guides::slide_direction(scene.standing, slide);
                self.name(
                    &[&rack.name],
                    Hand::Note,
                    vec![Anchor {
                        at,
                        clear: 1.5,
                        line: Some(d),
                    }],
                    true,
                );
            }
        }
        groups
    }

    pub(super) fn rods(&mut self) -> Vec<Group> {
        let scene = self.scene;
        let mut groups = Vec::new();
        for (id, rod) in scene.machine.rods.iter().enumerate() {
            let Some(r) = body::rod(scene, self.frame, scene.standing, id) else {
                continue;
            };
            let title = format!(
                "Rod {}: joins {} and {}",
                rod.name,
                scene.point_name(rod.joins[0]),
                scene.point_name(rod.joins[1])
            );
            let mut g = Group::named("rod", self.id("rod", &rod.name), &rod.name, title);
            let seen = scene.seen_rods();
            let number = seen.iter().position(|s| *s == (id, self.frame.plane));
            if let (true, Some(number)) = (self.live, number) {
                g.carried = Some(Carried::Rod(number));
                r.draw_apart(&mut g, scene.is_spatial(id), rod.thread.is_some());
            } else {
                r.draw(&mut g, scene.is_spatial(id), rod.thread.is_some());
            }
            groups.push(g);
            self.tie = number.map(Carried::BesideRod);
            let [a, b] = r.ends;
            self.name(&[&rod.name], Hand::Name, labels::on_line(a, b, 0.6), true);
            if let Some((end, at)) = r.far_end() {
                let point = rod.joins.get(end).copied().unwrap_or_default();
                let plane = scene
                    .plane_of(point)
                    .and_then(|p| scene.machine.planes.get(p))
                    .map_or("", |p| p.name.as_str());
                self.name_at(&format!("{} in {plane}", scene.point_name(point)), at, 1.2);
            }
        }
        groups
    }

    pub(super) fn rows(&mut self) -> Vec<Group> {
        let mut groups = Vec::new();
        for row in self
            .scene
            .machine
            .rows
            .iter()
            .filter(|r| self.is_here(r.point))
        {
            let title = format!("Hole row {}: {} holes", row.name, row.holes.len());
            let mut g = Group::named("row", self.id("row", &row.name), &row.name, title);
            guides::row(self.scene, self.frame, row, &mut g);
            g.carried = Some(Self::with(row.on));
            groups.push(g);
        }
        groups
    }

    pub(super) fn faces(&mut self) -> Vec<Group> {
        let (scene, frame) = (self.scene, self.frame);
        let mut groups = Vec::new();
        for face in scene
            .machine
            .faces
            .iter()
            .filter(|f| scene.plane_of(f.at) == Some(frame.plane))
        {
            let mut g = Group::named(
                "face",
                self.id("face", &face.name),
                &face.name,
                format!("Face {}", face.name),
            );
            guides::face(scene, frame, face, &mut g);
            g.carried = Some(Self::with(face.on));
            groups.push(g);
            self.name_beside(face.on);
            let Some(at) = self.at(face.at) else { continue };
            let out = guides::face_direction(scene.standing, face);
            let t = square(out);
            let name = if face.name == scene.point_name(face.at) {
                face.name.clone()
            } else {
                format!("{} ({})", face.name, scene.point_name(face.at))
            };
            let anchors = [5.0, -5.0]
                .map(|s| Anchor {
                    at: along(along(at, t, s), out, -1.0),
                    clear: 1.0,
                    line: None,
                })
                .to_vec();
            self.name(&[&name], Hand::Note, anchors, false);
        }
        groups
    }

    pub(super) fn stops(&mut self, pose: &Pose) -> Vec<Group> {
        let scene = self.scene;
        let mut groups = Vec::new();
        for (id, stop) in scene.machine.stops.iter().enumerate() {
            let mut g = Group::named(
                "stop",
                self.id("stop", &stop.name),
                &stop.name,
                format!("Stop {}", stop.name),
            );
            self.tie = None;
            let anchors = drives::stop(scene, self.frame, id, stop, pose.settings, &mut g);
            groups.push(g);
            self.name(&[&stop.name], Hand::Note, anchors, false);
        }
        groups
    }

    pub(super) fn drives(&mut self, pose: &Pose) -> Vec<Group> {
        let (scene, frame) = (self.scene, self.frame);
        let mut groups = Vec::new();
        let mut hubs: Vec<Option<PointId>> = Vec::new();
        for (id, drive) in scene.machine.drives.iter().enumerate() {
            let Some(part) = scene.driven(drive.moves) else {
                continue;
            };
            if scene.part_plane(part) != Some(frame.plane) {
                continue;
            }
            let hub = scene.hub(part);
            let nth = hubs.iter().filter(|h| **h == hub).count();
            hubs.push(hub);
            let now = pose.drives.get(id).copied().unwrap_or(drive.drawn);
            let title = drives::words(drive);
            // Where it can be moved, its range stands at its slider.
            let words = if self.live {
                drive.name.clone()
            } else {
                title.clone()
            };
            let mut g = Group::named(
                "drive-of",
                self.id("drive", &drive.name),
                &drive.name,
                title,
            );
            self.tie = None;
            let anchors = drives::drive(scene, frame, drive, now, nth, &mut g);
            groups.push(g);
            self.name(&[&words], Hand::Drive, anchors, false);
        }
        groups
    }

    /// Seats of detents on the frame, and their plungers in the parts that are driven.
    pub(super) fn detents(&mut self, pose: &Pose) -> Vec<Group> {
        let (scene, frame) = (self.scene, self.frame);
        let mut groups = Vec::new();
        let mut plungers: Vec<P> = Vec::new();
        for detent in &scene.machine.work.detents {
            let Some(drive) = scene.machine.drives.get(detent.drive) else {
                continue;
            };
            let Some(part) = scene.driven(drive.moves) else {
                continue;
            };
            if scene.part_plane(part) != Some(frame.plane) {
                continue;
            }
            let now = pose.drives.get(detent.drive).copied();
            let now = now.unwrap_or(drive.drawn);
            let Some([seat, plunger]) = drives::detent(scene, frame, detent, now) else {
                continue;
            };
            let title = format!("Detent {} of {}", detent.name, drive.name);
            let mut g = Group::named(
                "detent",
                self.id("detent", &detent.name),
                &detent.name,
                title,
            );
            drives::seat(seat, &mut g);
            groups.push(g);
            self.tie = None;
            self.name_at(&detent.name, seat, drives::SEAT);
            // Detents at one radius share a plunger.
            if !plungers.iter().any(|p| distance(*p, plunger) < 0.05) {
                plungers.push(plunger);
                let mut g = Group::new("plunger");
                g.carried = Some(Carried::Part(part));
                drives::plunger(plunger, &mut g);
                groups.push(g);
            }
        }
        // Seats lie behind every plunger.
        groups.sort_by_key(|g| g.class == "plunger");
        groups
    }
}
