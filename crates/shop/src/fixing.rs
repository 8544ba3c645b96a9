//! What holds an arm on its shaft, as it is made in the hub: set screws, keyways, cross pins, a slit with its pinch screw.

use crate::contour::P;
use crate::finding::{Finding, Grade};
use crate::words;
use elements::keys;
use machine::fitting::{HeldBy, Key};
use quantity::{Thread, Unit};

/// Width of the slit of a pinch hub: a saw blade's or a slitting saw's, mm (common practice).
pub(crate) const SLIT: f64 = 2.0;
/// Left in a hole that is reamed with its mate, mm on diameter (common practice).
pub(crate) const REAM: f64 = 0.3;

/// What is made in a hub.
#[derive(Clone, Debug, PartialEq)]
pub struct Fixing {
    /// Name of the bore's point.
    pub end: String,
    /// Centre of the bore.
    pub at: P,
    /// Its diameter.
    pub bore: f64,
    /// Radius of the hub.
    pub radius: f64,
    /// Length of the hub.
    pub long: f64,
    /// Away from the arm, rad.
    pub from: f64,
    /// Where a hole across stands over the underside.
    pub height: f64,
    /// What it is.
    pub shape: Shape,
}

/// The kinds.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Tapped through the wall.
    SetScrew {
        /// Thread.
        thread: Thread,
        /// How many, a quarter turn apart.
        count: u32,
    },
    /// A keyway.
    Key {
        /// Width.
        width: f64,
        /// How deep over the bore.
        deep: f64,
        /// The key, as it is bought.
        key: String,
        /// Standard.
        standard: &'static str,
    },
    /// A pin across hub and shaft.
    Pin {
        /// Diameter.
        diameter: f64,
    },
    /// A slit and a screw across it.
    Pinch {
        /// Thread.
        thread: Thread,
        /// How many, along the hub.
        count: u32,
        /// Property class.
        class: String,
        /// From the middle of the bore to the screw.
        off: f64,
        /// Clearance hole.
        clear: f64,
    },
}

/// What holds a hub, from the words of the file.
pub(crate) fn shape(by: &HeldBy, bore: f64, long: f64) -> Option<Shape> {
    match by {
        HeldBy::SetScrew { thread, count, .. } => Some(Shape::SetScrew {
            thread: thread.clone(),
            count: *count,
        }),
        HeldBy::Pin { diameter } => Some(Shape::Pin {
            diameter: *diameter,
        }),
        HeldBy::Pinch {
            thread,
            count,
            class,
        } => {
            // Medium clearance holes (ISO 273): about a tenth over.
            let clear = ((thread.major * 1.1) * 2.0).round() / 2.0;
            Some(Shape::Pinch {
                thread: thread.clone(),
                count: *count,
                class: class.clone(),
                off: (bore + clear) / 2.0 + 1.0,
                clear,
            })
        }
        HeldBy::Key(key) => keyway(*key, bore, long),
        HeldBy::Press { .. } | HeldBy::Weld { .. } | HeldBy::Braze => None,
    }
}

fn keyway(key: Key, bore: f64, long: f64) -> Option<Shape> {
    let n = |x: f64| words::number(x, 2);
    match key {
        Key::Parallel { inch } => {
            let row = if inch {
                keys::square_inch(bore).ok()?
            } else {
                keys::parallel(bore).ok()?
            };
            let size = if inch {
                let side = words::tool_size(row.width, Unit::Inch);
                format!(
                    "square key {side}, {} long",
                    words::length(long, Unit::Inch)
                )
            } else {
                format!(
                    "parallel key A {} x {} x {}",
                    n(row.width),
                    n(row.height),
                    n(long.floor())
                )
            };
            Some(Shape::Key {
                width: row.width,
                deep: row.in_hub,
                key: size,
                standard: if inch { "ASME B17.1" } else { "DIN 6885-1" },
            })
        }
        Key::Woodruff(number) => {
            let row = keys::woodruff(number).ok()?;
            Some(Shape::Key {
                width: row.width,
                // The seat of the hub is five thousandths of an inch deeper than the key stands out (ASME B17.2, from memory).
                deep: row.above + 0.127,
                key: format!("Woodruff key No. {number}"),
                standard: "ASME B17.2",
            })
        }
        Key::WoodruffMetric(row) => {
            let disc = keys::woodruff_disc(row)?;
            Some(Shape::Key {
                width: disc.width,
                // ISO 3912, from memory: 2 or 3 tenths over what stands out.
                deep: disc.above + if disc.width < 3.5 { 0.2 } else { 0.3 },
                key: format!("Woodruff key {}", keys::woodruff_disc_name(row)),
                standard: "ISO 3912",
            })
        }
    }
}

impl Fixing {
    /// How it stands on the drawing.
    pub fn note(&self, unit: Unit) -> String {
        let l = |x: f64| words::length(x, unit);
        let degrees = words::number(self.from.to_degrees().rem_euclid(360.0), 2);
        let end = words::spoken(&self.end);
        match &self.shape {
            Shape::SetScrew { thread, count } => format!(
                "hub {end}: {}{} through the wall into the bore at {degrees}°{}, {} over the underside",
                if *count > 1 {
                    format!("{count} x ")
                } else {
                    String::new()
                },
                thread.name,
                if *count > 1 {
                    " and a quarter turn on"
                } else {
                    ""
                },
                l(self.height)
            ),
            Shape::Key {
                width,
                deep,
                standard,
                ..
            } => format!(
                "hub {end}: keyway {} JS9 through, {} from its bottom over the bore, at {degrees}° ({standard})",
                l(*width),
                l(self.bore + deep)
            ),
            Shape::Pin { diameter } => format!(
                "hub {end}: pin ⌀{} across hub and shaft at {degrees}°, {} over the underside, drilled here ⌀{}, reamed with the shaft",
                l(*diameter),
                l(self.height),
                l(diameter - REAM)
            ),
            Shape::Pinch {
                thread,
                count,
                off,
                clear,
                ..
            } => format!(
                "hub {end}: slit {} wide from the bore outward at {degrees}°; across it {}{}, {} from the bore's centre: ⌀{} to the slit, thread beyond",
                l(SLIT),
                if *count > 1 {
                    format!("{count} x ")
                } else {
                    String::new()
                },
                thread.name,
                l(*off),
                l(*clear)
            ),
        }
    }

    /// What is bought for it.
    pub fn bought(&self, unit: Unit) -> Option<(String, usize)> {
        match &self.shape {
            Shape::SetScrew { thread, count } => {
                // Flush with the hub or a little under.
                let long = ((self.radius - self.bore / 2.0 - 1.0) / 2.0)
                    .floor()
                    .max(2.0)
                    * 2.0;
                Some((
                    format!("set screw {} x {}", thread.name, words::number(long, 0)),
                    *count as usize,
                ))
            }
            Shape::Key { key, standard, .. } => Some((format!("{key}, {standard}"), 1)),
            Shape::Pin { diameter } => Some((
                format!(
                    "pin {} x {}, taper or spring",
                    words::length(*diameter, unit),
                    words::length((2.0 * self.radius).ceil(), unit)
                ),
                1,
            )),
            Shape::Pinch {
                thread,
                count,
                class,
                off,
                ..
            } => {
                let chord = 2.0 * (self.radius.powi(2) - off * off).max(0.0).sqrt();
                let long = (chord / 5.0).floor().max(2.0) * 5.0;
                Some((
                    format!(
                        "socket head screw {} x {}, {class}",
                        thread.name,
                        words::number(long, 0)
                    ),
                    *count as usize,
                ))
            }
        }
    }

    /// What does not go into the hub.
    pub(crate) fn findings(&self, name: &str, findings: &mut Vec<Finding>) {
        let wall = self.radius - self.bore / 2.0;
        let n = |x: f64| words::number(x, 2);
        let end = words::spoken(&self.end);
        match &self.shape {
            Shape::SetScrew { thread, .. } if wall < thread.major => findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "the wall of the hub {end} is {}: less than one diameter of {} holds",
                    n(wall),
                    thread.name
                ),
                "make the hub larger (`hub`), or the screw smaller",
            )),
            Shape::Key { deep, width, .. } if wall < deep + width / 2.0 => findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "the wall of the hub {end} is {}: the keyway leaves {}",
                    n(wall),
                    n(wall - deep)
                ),
                "make the hub larger (`hub`): half a key's width over the keyway at least (common practice)",
            )),
            Shape::Pin { diameter } if self.long < 2.0 * diameter => findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!("a hub {} long does not hold a cross pin of {}", n(self.long), n(*diameter)),
                "make the hub twice the pin's diameter long, or the pin thinner",
            )),
            Shape::Pinch { thread, off, .. } => {
                let half = (self.radius.powi(2) - off * off).max(0.0).sqrt();
                if half < 1.5 * thread.major + SLIT / 2.0 || self.radius < off + 0.75 * thread.major {
                    findings.push(Finding::new(
                        Grade::WayRound,
                        name,
                        format!(
                            "beside the bore {} the hub {end} of ⌀{} has {} on each side of the slit for {}",
                            n(self.bore),
                            n(2.0 * self.radius),
                            n(half),
                            thread.name
                        ),
                        "make the hub larger (`hub`): one and a half diameters of the screw on each side, or a smaller screw",
                    ));
                }
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hub(by: &HeldBy, bore: f64) -> Fixing {
        Fixing {
            end: "shaft".to_owned(),
            at: [0.0, 0.0],
            bore,
            radius: 25.0,
            long: 20.0,
            from: std::f64::consts::PI,
            height: 10.0,
            shape: shape(by, bore, 20.0).unwrap(),
        }
    }

    #[test]
    fn keyways_are_those_of_the_standard() {
        // DIN 6885-1: shaft over 22 to 30: 8 x 7, 3.3 in the hub; measured over the bore 30 + 3.3.
        let f = hub(&HeldBy::Key(Key::Parallel { inch: false }), 30.0);
        let note = f.note(Unit::Millimetre);
        assert!(note.contains("8 JS9") && note.contains("33.3 "), "{note}");
        assert_eq!(
            f.bought(Unit::Millimetre).unwrap().0,
            "parallel key A 8 x 7 x 20, DIN 6885-1"
        );
    }

    #[test]
    fn a_pinch_screw_passes_the_bore() {
        let m6 = quantity::thread::parse("M6").unwrap();
        let by = HeldBy::Pinch {
            thread: m6,
            count: 1,
            class: "8.8".to_owned(),
        };
        let f = hub(&by, 20.0);
        let Shape::Pinch { off, clear, .. } = f.shape else {
            panic!("a pinch screw");
        };
        // ISO 273 medium: 6.6 for M6; here the next half.
        assert!((clear - 6.5).abs() < 0.11 && off - clear / 2.0 > 10.0);
        let mut findings = Vec::new();
        hub(&by, 20.0).findings("arm", &mut findings);
        assert!(findings.is_empty(), "{findings:?}");
        Fixing {
            radius: 15.0,
            ..hub(&by, 20.0)
        }
        .findings("arm", &mut findings);
        assert_eq!(findings.len(), 1);
    }
}
