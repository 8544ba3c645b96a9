//! Room of a cam: within its stock, round its shaft, and beside what it must not run into.

use super::shape;
use crate::assemble::Model;
use elements::cams::{Side, looked_at};
use machine::model::{Cam, RatioKind};
use machine::work::{JointAt, Section};

/// What of a cam has no room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tight {
    /// It reaches farther from its centre than its stock does.
    Stock {
        /// Farthest flank, mm.
        reaches: f64,
        /// Half of the stock, mm.
        stock: f64,
    },
    /// It comes nearer to its centre than its shaft or pin does.
    Shaft {
        /// Nearest flank, mm.
        comes: f64,
        /// Radius of the shaft or pin, mm.
        shaft: f64,
    },
    /// Its track leaves no full rim below the teeth that are cut in the same wheel.
    Teeth {
        /// Farthest flank, mm.
        reaches: f64,
        /// Radius of the teeth's root circle, mm.
        root: f64,
        /// Depth of the teeth, mm.
        deep: f64,
    },
    /// It runs over the pivot of its rocker.
    Pivot {
        /// Farthest flank, mm.
        reaches: f64,
        /// The near side of the pivot's pin, mm from the cam's centre.
        pin: f64,
        /// Stations say that they lie in one layer.
        layers: bool,
    },
    /// The follower lies in the disc that its track is cut in.
    Within {
        /// Stations of cam and follower, mm.
        stations: [f64; 2],
        /// Their thicknesses, mm.
        thick: [f64; 2],
    },
    /// The roller lies beside it in depth.
    Beside {
        /// Stations of cam and roller, mm.
        stations: [f64; 2],
        /// Thickness of the cam and face of the roller, mm.
        thick: [f64; 2],
    },
}

/// Everything that is known not to fit.
pub(super) fn tight(model: &Model, index: usize, cam: &Cam) -> Vec<Tight> {
    let machine = &model.machine;
    let mut all = Vec::new();
    let Some(shape) = shape(model, index) else {
        return all;
    };
    let roller = shape.follower.roller();
    let (mut near, mut far) = (f64::INFINITY, 0.0_f64);
    for angle in looked_at(&shape.program) {
        let place = shape.follower.place(angle, shape.program.at(angle));
        let reach = |side: Side| {
            let [x, y] = place.flank(side, roller);
            x.hypot(y)
        };
        near = near.min(reach(Side::Inner));
        far = far.max(reach(if cam.track { Side::Outer } else { Side::Inner }));
    }
    let part = machine.parts.get(cam.part);
    let work = machine.work.parts.get(cam.part);
    let section = work.and_then(|w| w.stock.as_ref()).map(|s| s.section);
    let blank = match section {
        Some(Section::Round(d) | Section::Flat([_, d])) => Some(0.5 * d),
        _ => None,
    };
    // An arm's stock says nothing of its end.
    let disc = part.is_some_and(|p| p.carries == [cam.centre]);
    if let Some(stock) = blank.filter(|b| disc && far > b + SLACK) {
        all.push(Tight::Stock {
            reaches: far,
            stock,
        });
    }
    let outside = machine
        .ratios
        .iter()
        .filter(|r| r.kind == RatioKind::Gear && cam.track);
    for ratio in outside {
        for (k, _) in ratio.joins.iter().enumerate().filter(|j| *j.1 == cam.part) {
            let Some(teeth) = &ratio.teeth else { continue };
            // ISO 53: 1.25 of the module below the pitch circle, 2.25 in all.
            let root = teeth.module * (0.5 * ratio.sizes[k] - 1.25 + teeth.shift[k]);
            let deep = 2.25 * teeth.module;
            if root - far < FULL_RIM * deep - SLACK {
                all.push(Tight::Teeth {
                    reaches: far,
                    root,
                    deep,
                });
            }
        }
    }
    let joints = &machine.work.joints;
    let own = joints.iter().find(|j| j.at == JointAt::Point(cam.centre));
    if let Some(d) = own.and_then(|j| j.diameter)
        && near < 0.5 * d - SLACK
    {
        all.push(Tight::Shaft {
            comes: near,
            shaft: 0.5 * d,
        });
    }
    let centre = machine.points.get(cam.centre);
    if let machine::model::Rides::Rocker(pivot) = cam.rides
        && let (Some(pivot_at), Some(centre)) = (machine.points.get(pivot), centre)
        && let Some(d) = joints
            .iter()
            .find(|j| j.at == JointAt::Point(pivot))
            .and_then(|j| j.diameter)
    {
        let pin = (pivot_at.x - centre.x).hypot(pivot_at.y - centre.y) - 0.5 * d;
        let stations = [cam.part, cam.of].map(|p| machine.work.parts.get(p)?.station);
        let beside = matches!(stations, [Some(a), Some(b)] if a != b);
        if far > pin + SLACK && !beside && !cam.track {
            all.push(Tight::Pivot {
                reaches: far,
                pin,
                layers: stations.iter().all(Option::is_some),
            });
        }
    }
    let station = |p: usize| machine.points.get(p).map_or(0.0, |p| p.station);
    let own = work
        .and_then(|w| w.station)
        .unwrap_or_else(|| station(cam.centre));
    let thick = match section {
        Some(Section::Flat([t, _])) => Some(t),
        _ => cam.face,
    };
    let follower = machine.work.parts.get(cam.of).and_then(|w| w.station);
    let rolls = follower.unwrap_or_else(|| station(cam.roller));
    let plate = |part: usize| match machine.work.parts.get(part)?.stock.as_ref()?.section {
        Section::Flat([t, _]) => Some(t),
        _ => None,
    };
    if let (true, Some(disc), Some(arm), Some(at)) =
        (cam.track, plate(cam.part), plate(cam.of), follower)
        && work.and_then(|w| w.station).is_some()
        && (at - own).abs() < 0.5 * (disc + arm) - SLACK
    {
        all.push(Tight::Within {
            stations: [own, at],
            thick: [disc, arm],
        });
    }
    if let (Some(thick), Some(face)) = (thick, cam.face)
        && (rolls - own).abs() >= 0.5 * (thick + face)
        // The roller's stud may reach from a follower that lies beside it.
        && (station(cam.roller) - own).abs() >= 0.5 * (thick + face)
    {
        all.push(Tight::Beside {
            stations: [own, station(cam.roller)],
            thick: [thick, face],
        });
    }
    all
}

/// Depths of teeth that a rim has below them so that it takes nothing from their strength (ISO 6336-3, rim thickness factor).
pub(super) const FULL_RIM: f64 = 1.2;

/// Less is rounding, mm.
const SLACK: f64 = 1e-6;
