//! Cams: the edge or track that the roller rides on, and the roller; Geneva wheels with pin and locking disc.

use super::Builder;
use crate::geometry::P;
use crate::labels::Anchor;
use crate::scene::{is_place, place, turn};
use crate::sheet::{Fill, Group, Hand, Pen, Shape};
use studies::OutlineOf;

impl Builder<'_> {
    /// The outline of every cam of this view, turned to where its part stands, and the roller on it.
    pub(super) fn cams(&mut self) -> Vec<Group> {
        let (scene, frame) = (self.scene, self.frame);
        let outlines = std::sync::Arc::clone(&scene.standing.outlines);
        let mut groups = Vec::new();
        for cam in &*outlines {
            if scene.part_plane(cam.part) != Some(frame.plane) {
                continue;
            }
            let (Some(centre), Some(drawn)) = (
                place(scene.standing, cam.centre),
                scene.machine.points.get(cam.centre),
            ) else {
                continue;
            };
            let (s, c) = turn(scene.standing, cam.part).sin_cos();
            let stands = |p: &[f64; 2]| {
                let (x, y) = (p[0] - drawn.x, p[1] - drawn.y);
                [centre[0] + c * x - s * y, centre[1] + s * x + c * y]
            };
            let (kind, title) = match cam.what {
                OutlineOf::Cam => ("cam", format!("Cam {}", cam.name)),
                OutlineOf::Wheel => ("geneva", format!("Geneva wheel {}", cam.name)),
                OutlineOf::Lock => ("lock", format!("Locking disc of Geneva wheel {}", cam.name)),
            };
            let mut g = Group::named(kind, self.id(kind, &cam.name), &cam.name, title);
            let mut farthest: Option<P> = None;
            for line in &cam.lines {
                let points: Vec<P> = line
                    .iter()
                    .map(stands)
                    .filter(|p| is_place(*p))
                    .map(|p| frame.paper(p))
                    .collect();
                if points.len() < 3 {
                    continue;
                }
                // The name stands at the top of the outline.
                let top = points.iter().copied().min_by(|a, b| a[1].total_cmp(&b[1]));
                farthest = farthest.or(top);
                g.draw(Pen::Wide, Shape::poly(&points, true));
            }
            if g.is_bare() {
                continue;
            }
            g.carried = Some(Self::with(cam.part));
            groups.push(g);
            if cam.what == OutlineOf::Lock {
                continue;
            }
            if let Some(at) = place(scene.standing, cam.roller) {
                let (kind, title) = match cam.what {
                    OutlineOf::Cam => ("roller", format!("Roller of cam {}", cam.name)),
                    _ => ("pin", format!("Pin of Geneva wheel {}", cam.name)),
                };
                let mut roller = Group::named(kind, self.id(kind, &cam.name), &cam.name, title);
                roller.put(
                    Some(Pen::Wide),
                    Fill::None,
                    Shape::Circle {
                        centre: frame.paper(at),
                        radius: cam.radius * frame.k,
                    },
                );
                roller.carried = Some(Self::with(cam.of));
                groups.push(roller);
            }
            if let Some(at) = farthest {
                self.name_beside(cam.part);
                let anchors = vec![Anchor {
                    at,
                    clear: 0.8,
                    line: None,
                }];
                self.name(&[&cam.name], Hand::Note, anchors, true);
                self.tie = None;
            }
        }
        groups
    }
}
