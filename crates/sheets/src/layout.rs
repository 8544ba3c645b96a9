//! Lays views out beside each other as on a drawing: first-angle or third-angle, aligned across.

use crate::geometry::{P, Rect, add};
use crate::pose::Projection;
use crate::scene::{Scene, cross3, dot3};

/// From one view to the next, mm.
pub(crate) const GAP: f64 = 14.0;

/// Which way a view looks at the machine, as told from the main view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Seen {
    Front,
    Right,
    Left,
    Above,
    Below,
    Behind,
    /// From the front again, in another plane.
    FrontAgain,
    /// In a slanting plane.
    Slanting,
}

impl Seen {
    /// Words under the view, behind its name.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Front => "",
            Self::Right => "seen from the right",
            Self::Left => "seen from the left",
            Self::Above => "seen from above",
            Self::Below => "seen from below",
            Self::Behind => "seen from behind",
            Self::FrontAgain => "seen from the front",
            Self::Slanting => "seen square on",
        }
    }
}

/// How a plane's view stands to the main view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stance {
    pub(crate) seen: Seen,
    /// From the main plane's origin to this one's, along the main view's right and up, mm of the machine.
    pub(crate) offset: [f64; 2],
    /// Same height on the paper means same height on the machine.
    pub(crate) level: bool,
    /// Same place across means the same on the machine.
    pub(crate) plumb: bool,
}

/// Tells how `plane` stands to `main`.
pub(crate) fn stance(scene: &Scene, main: usize, plane: usize) -> Stance {
    let nothing = Stance {
        seen: Seen::Front,
        offset: [0.0; 2],
        level: true,
        plumb: true,
    };
    let (Some(m), Some(p)) = (
        scene.machine.planes.get(main),
        scene.machine.planes.get(plane),
    ) else {
        return nothing;
    };
    if main == plane {
        return nothing;
    }
    let third = cross3(m.right, m.up);
    let n = cross3(p.right, p.up);
    let close = |x: f64| x > 0.9999;
    let seen = match (dot3(n, m.right), dot3(n, m.up), dot3(n, third)) {
        (x, ..) if close(x) => Seen::Right,
        (x, ..) if close(-x) => Seen::Left,
        (_, y, _) if close(y) => Seen::Above,
        (_, y, _) if close(-y) => Seen::Below,
        (.., z) if close(z) => Seen::FrontAgain,
        (.., z) if close(-z) => Seen::Behind,
        _ => Seen::Slanting,
    };
    let d: [f64; 3] = std::array::from_fn(|i| p.origin[i] - m.origin[i]);
    Stance {
        seen,
        offset: [dot3(d, m.right), dot3(d, m.up)],
        level: close(dot3(p.up, m.up)),
        plumb: close(dot3(p.right, m.right)),
    }
}

/// Where a view goes: beside the main one (negative: left of it) or above and below it (negative: above).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Slot {
    Beside(i32),
    Over(i32),
}

fn slot(seen: Seen, projection: Projection) -> Slot {
    let far = if projection == Projection::ThirdAngle {
        1
    } else {
        -1
    };
    match seen {
        Seen::Front => Slot::Beside(0),
        Seen::Right => Slot::Beside(far),
        Seen::Left => Slot::Beside(-far),
        Seen::Above => Slot::Over(-far),
        Seen::Below => Slot::Over(far),
        Seen::Behind | Seen::FrontAgain | Seen::Slanting => Slot::Beside(2),
    }
}

/// Places views with these extents about their planes' origins (the main view first); gives where each origin goes. `k` is
/// paper mm for one mm of the machine.
pub(crate) fn arrange(views: &[(Stance, Rect)], projection: Projection, k: f64) -> Vec<P> {
    let mut places = vec![[0.0, 0.0]; views.len()];
    let Some((_, main)) = views.first() else {
        return places;
    };
    let mut row = *main;
    // Beside the main view: nearest slots first, so that every view finds the edge it goes next to.
    let mut beside: Vec<(usize, i32)> = Vec::new();
    let mut over: Vec<(usize, i32)> = Vec::new();
    for (i, (stance, _)) in views.iter().enumerate().skip(1) {
        match slot(stance.seen, projection) {
            Slot::Beside(at) => beside.push((i, at)),
            Slot::Over(at) => over.push((i, at)),
        }
    }
    beside.sort_by_key(|&(i, at)| (at.abs(), i));
    over.sort_by_key(|&(i, at)| (at.abs(), i));
    for (i, at) in beside {
        let Some((stance, extent)) = views.get(i) else {
            continue;
        };
        let y = if stance.level {
            -k * stance.offset[1]
        } else {
            main.centre()[1] - extent.centre()[1]
        };
        let x = if at > 0 {
            row.max[0] + GAP - extent.min[0]
        } else {
            row.min[0] - GAP - extent.max[0]
        };
        row = row.join(extent.moved([x, y]));
        put(&mut places, i, [x, y]);
    }
    let mut all = row;
    for (i, at) in over {
        let Some((stance, extent)) = views.get(i) else {
            continue;
        };
        let x = if stance.plumb {
            k * stance.offset[0]
        } else {
            main.centre()[0] - extent.centre()[0]
        };
        let y = if at > 0 {
            all.max[1] + GAP - extent.min[1]
        } else {
            all.min[1] - GAP - extent.max[1]
        };
        all = all.join(extent.moved([x, y]));
        put(&mut places, i, [x, y]);
    }
    places
}

fn put(places: &mut [P], i: usize, at: P) {
    if let Some(place) = places.get_mut(i) {
        *place = add(*place, at);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(seen: Seen, offset: [f64; 2]) -> Stance {
        Stance {
            seen,
            offset,
            level: true,
            plumb: true,
        }
    }

    #[test]
    fn third_angle_puts_the_right_view_right_and_the_top_view_above() {
        let box_ = Rect::new([0.0, -40.0], [60.0, 0.0]);
        let views = [
            (seen(Seen::Front, [0.0; 2]), box_),
            (seen(Seen::Right, [100.0, 10.0]), box_),
            (seen(Seen::Above, [5.0, 0.0]), box_),
        ];
        let third = arrange(&views, Projection::ThirdAngle, 0.5);
        assert_eq!(third[1], [60.0 + GAP, -5.0]);
        assert_eq!(third[2][0], 2.5);
        assert!(third[2][1] < -40.0);
        let first = arrange(&views, Projection::FirstAngle, 0.5);
        assert_eq!(first[1], [-60.0 - GAP, -5.0]);
        assert!(first[2][1] > 0.0);
    }

    #[test]
    fn views_never_overlap() {
        let kinds = [
            Seen::Front,
            Seen::Right,
            Seen::Left,
            Seen::Above,
            Seen::Below,
            Seen::Behind,
            Seen::FrontAgain,
            Seen::Slanting,
        ];
        let views: Vec<(Stance, Rect)> = kinds
            .iter()
            .enumerate()
            .map(|(i, &k)| {
                (
                    seen(k, [i as f64, -3.0]),
                    Rect::new([-10.0 * i as f64, -5.0], [8.0, 9.0 + i as f64]),
                )
            })
            .collect();
        for projection in [Projection::ThirdAngle, Projection::FirstAngle] {
            let at = arrange(&views, projection, 1.0);
            for i in 0..views.len() {
                for j in 0..i {
                    assert!(
                        !views[i].1.moved(at[i]).overlaps(&views[j].1.moved(at[j])),
                        "{:?} {:?}",
                        kinds[i],
                        kinds[j]
                    );
                }
            }
        }
    }
}
