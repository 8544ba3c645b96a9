//! Seats of what holds arms on shafts, as they are cut out of solids: keyways, holes of set screws, slits with their screws.

use crate::step::{Across, Moon, Region, Rounded};
use shop::joined::{Joined, SLIT, What, clearance};
use shop::part::{Form, Part, Plate, Turned};
use std::f64::consts::{FRAC_PI_2, PI};

type P = [f64; 2];

/// A rectangle from the axis outward in a direction.
fn outward(angle: f64, to: f64, width: f64) -> Region {
    let (s, c) = angle.sin_cos();
    let half = width / 2.0;
    let place = |[x, y]: P| [c * x - s * y, s * x + c * y];
    Region::polygon(&[[0.0, -half], [to, -half], [to, half], [0.0, half]].map(place))
}

/// A keyway of a shaft that runs out through an end.
pub(super) struct Open {
    /// From where to where it is cut out of the sections.
    pub(super) span: P,
    /// What is cut out of each.
    pub(super) region: Region,
    /// Its other end, where that stands in the shaft.
    pub(super) rounded: Option<Rounded>,
}

/// Keyways of a shaft that no wall closes at an end: the end mill comes out through it.
pub(super) fn open(part: &Part) -> Vec<Open> {
    let Form::Turned(t) = &part.form else {
        return Vec::new();
    };
    let long = t.length();
    let own = part.joined.iter().filter(|j| j.in_shaft);
    own.filter_map(|j| {
        let What::Key(k) = &j.what else { return None };
        let middle = j.middle.filter(|_| k.disc.is_none())?;
        let half = k.width / 2.0;
        let ends = [middle - j.length / 2.0, middle + j.length / 2.0];
        let [left, right] = [ends[0] < half - 1e-9, ends[1] > long - half + 1e-9];
        if !left && !right {
            return None;
        }
        let span = [
            if left { 0.0 } else { ends[0] + half },
            if right { long } else { ends[1] - half },
        ];
        let floor = j.shaft / 2.0 - k.in_shaft;
        let rounded = (left != right).then(|| Rounded {
            way: j.angle,
            z: if right { span[0] } else { span[1] },
            down: right,
            width: k.width,
            floor,
        });
        let far = 2.0 * t.largest();
        let (s, c) = j.angle.sin_cos();
        let corners = [[floor, -half], [far, -half], [far, half], [floor, half]];
        let region = Region::polygon(&corners.map(|[x, y]| [c * x - s * y, s * x + c * y]));
        (span[0] < span[1]).then_some(Open {
            span,
            region,
            rounded,
        })
    })
    .collect()
}

/// Half-moons of Woodruff keys.
///
/// # Errors
/// What has no place, in words.
pub(super) fn moons(part: &Part) -> Result<Vec<Moon>, String> {
    let own = part.joined.iter().filter(|j| j.in_shaft);
    let keys = own.filter_map(|j| match &j.what {
        What::Key(k) => Some((j, k, k.disc?)),
        _ => None,
    });
    keys.map(|(j, k, disc)| {
        Ok(Moon {
            name: format!("of the key of {}", j.other),
            way: j.angle,
            z: j.middle.ok_or("a keyway without a place")?,
            width: k.width,
            disc,
            floor: j.shaft / 2.0 - k.in_shaft,
        })
    })
    .collect()
}

/// What is cut all through a hub: its keyway, its slit.
pub(super) fn through(part: &Part) -> Vec<Region> {
    let cut = |j: &Joined| match &j.what {
        What::Key(k) => Some(outward(j.angle, j.shaft / 2.0 + k.in_hub, k.width)),
        What::Pinch { .. } => Some(outward(j.angle, j.hub.max(largest(part)), SLIT)),
        _ => None,
    };
    let own = part.joined.iter().filter(|j| !j.in_shaft);
    own.filter_map(cut).collect()
}

/// The widest round of a part about its datum.
fn largest(part: &Part) -> f64 {
    match &part.form {
        Form::Turned(t) => t.largest(),
        Form::Plate(p) => {
            let own = p.ends.iter().filter(|e| e.at[0].hypot(e.at[1]) < 1e-9);
            own.map(|e| 2.0 * e.radius).fold(0.0, f64::max)
        }
    }
}

/// Heights of a hub's two faces in its part's own axes.
fn faces(part: &Part, j: &Joined) -> Option<P> {
    match &part.form {
        Form::Turned(t) if (t.length() - j.length).abs() < 1e-6 => Some([0.0, j.length]),
        Form::Turned(_) => None,
        Form::Plate(p) => Some([0.0, top(p)]),
    }
}

/// Height of the hub at the datum, as far as it is of one piece with the plate.
fn top(p: &Plate) -> f64 {
    let own = p
        .ends
        .iter()
        .filter(|e| e.solid && e.at[0].hypot(e.at[1]) < 1e-9);
    own.filter_map(|e| e.hub).fold(p.thickness, f64::max)
}

/// Keyways of a shaft, and holes of screws through a hub.
///
/// # Errors
/// What has no place, in words.
pub(super) fn across(part: &Part) -> Result<Vec<Across>, String> {
    let mut all = Vec::new();
    let long = match &part.form {
        Form::Turned(t) => t.length(),
        Form::Plate(_) => f64::INFINITY,
    };
    for j in &part.joined {
        match (&j.what, j.in_shaft) {
            (What::Key(k), true) => {
                if k.disc.is_some() {
                    continue;
                }
                let middle = j.middle.ok_or("a keyway without a place")?;
                // One that runs out at an end is cut out of the sections there.
                let to_end = middle.min(long - middle) - j.length / 2.0;
                if to_end < k.width / 2.0 - 1e-9 {
                    continue;
                }
                all.push(Across {
                    name: format!("of the key of {}", j.other),
                    at: [0.0, 0.0, middle],
                    way: j.angle + PI,
                    radius: k.width / 2.0,
                    long: (j.length - k.width).max(0.0),
                    reach: [f64::NEG_INFINITY, k.in_shaft - j.shaft / 2.0],
                });
            }
            // In the ring, which is made by itself and drilled once it is brazed on.
            (What::SetScrew { .. } | What::Pinch { .. }, false) if j.under > 0.0 => {}
            (What::SetScrew { thread, count }, false) => {
                let [_, high] = faces(part, j).ok_or("set screws without a place")?;
                for n in 0..*count {
                    all.push(Across {
                        name: format!("of a set screw {}", thread.name),
                        at: [0.0, 0.0, high - j.screw_from_face()],
                        way: j.angle + f64::from(n) * FRAC_PI_2 + PI,
                        radius: thread.major / 2.0,
                        long: 0.0,
                        // It ends in the bore, before it comes to the next one.
                        reach: [f64::NEG_INFINITY, -0.3 * j.shaft],
                    });
                }
            }
            (What::Pinch { thread, count }, false) => {
                let [low, high] = faces(part, j).ok_or("a pinch screw without a place")?;
                let (s, c) = j.angle.sin_cos();
                let off = j.screw_at(thread.major);
                // Both halves end in the slit, short of one another.
                let end = 0.1 * SLIT;
                for n in 0..*count {
                    let share = (f64::from(n) + 0.5) / f64::from(*count);
                    let at = [c * off, s * off, low + share * (high - low)];
                    let half = |radius: f64, reach: P| Across {
                        name: format!("of the pinch screw {}", thread.name),
                        at,
                        way: j.angle + FRAC_PI_2,
                        radius,
                        long: 0.0,
                        reach,
                    };
                    all.push(half(
                        clearance(thread.major) / 2.0,
                        [f64::NEG_INFINITY, -end],
                    ));
                    all.push(half(thread.major / 2.0, [end, f64::INFINITY]));
                }
            }
            _ => {}
        }
    }
    Ok(all)
}

/// Directions in which a shaft's keyways are cut.
pub(super) fn directions(part: &Part) -> impl Iterator<Item = f64> + '_ {
    let own = part.joined.iter().filter(|j| j.in_shaft);
    own.filter(|j| matches!(j.what, What::Key(_)))
        .map(|j| j.angle)
}

/// What of a part is not in its solid, in words: everything when its seats have no closed form here, else what waits for assembly.
pub(super) fn left_out(part: &Part, seats: bool) -> Option<&'static str> {
    part.joined.iter().find_map(|j| match j.what {
        What::Pin(d) if !drilled(part, d) => Some("its pin's hole, drilled at assembly"),
        _ if seats => None,
        What::Key(_) => Some("its keyway"),
        What::SetScrew { .. } if !j.in_shaft => Some("its set screws' holes"),
        What::Pinch { .. } if !j.in_shaft => Some("its slit and the screw's hole"),
        _ => None,
    })
}

/// Whether the file itself has a hole across for a pin.
fn drilled(part: &Part, pin: f64) -> bool {
    let has = |t: &Turned| {
        let mut own = t.cross.iter().map(|c| shop::part::diameter(&c.fitted));
        own.any(|d| (d - pin).abs() < 0.1)
    };
    matches!(&part.form, Form::Turned(t) if has(t))
}
