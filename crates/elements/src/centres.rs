//! Centre holes: what a centre drill leaves in the end of a shaft.

use crate::Source;

/// Sizes of centre drills and their holes.
pub const SOURCE: Source = Source::memory("ISO 866, type A: pilot and cone of centre drills");

/// A centre hole of 60 degrees without a protecting chamfer, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Centre {
    /// Pilot of the drill, by which it is called.
    pub pilot: f64,
    /// Mouth of the cone.
    pub cone: f64,
}

/// Pilot and cone, smallest first.
const SIZES: [(f64, f64); 11] = [
    (1.0, 2.12),
    (1.25, 2.65),
    (1.6, 3.35),
    (2.0, 4.25),
    (2.5, 5.3),
    (3.15, 6.7),
    (4.0, 8.5),
    (5.0, 10.6),
    (6.3, 13.2),
    (8.0, 17.0),
    (10.0, 21.2),
];

/// Work up to this diameter takes this pilot (common practice).
const USUAL: [(f64, f64); 7] = [
    (6.0, 1.0),
    (10.0, 1.6),
    (16.0, 2.0),
    (25.0, 2.5),
    (40.0, 3.15),
    (63.0, 4.0),
    (100.0, 5.0),
];

impl Centre {
    /// How deep it goes, pilot and cone: a pilot of one and a quarter diameters (common practice) and the cone of 60 degrees.
    pub fn depth(&self) -> f64 {
        1.25 * self.pilot + (self.cone - self.pilot) / 2.0 * 3f64.sqrt()
    }
}

fn sizes() -> impl DoubleEndedIterator<Item = Centre> {
    SIZES.iter().map(|&(pilot, cone)| Centre { pilot, cone })
}

/// The usual centre for work of this diameter.
pub fn usual(diameter: f64) -> Centre {
    let pilot = USUAL.iter().find(|u| diameter <= u.0).map_or(6.3, |u| u.1);
    sizes().find(|c| c.pilot >= pilot).unwrap_or(Centre {
        pilot: 6.3,
        cone: 13.2,
    })
}

/// The largest centre whose cone is at most this wide and whose pilot is at most this.
pub fn largest(cone: f64, pilot: f64) -> Option<Centre> {
    sizes()
        .rev()
        .find(|c| c.cone <= cone + 1e-9 && c.pilot <= pilot + 1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_follow_the_preferred_numbers() {
        // Cones are R 20 numbers, about 2.12 times their pilots (ISO 866).
        for c in sizes() {
            assert!((c.cone / c.pilot - 2.12).abs() < 0.03, "{c:?}");
        }
        assert_eq!(usual(20.0).pilot, 2.5);
        assert_eq!(usual(50.0).pilot, 4.0);
        assert_eq!(usual(500.0).pilot, 6.3);
        // A throw of 3 leaves room for a cone of 2.65 and no more.
        assert_eq!(largest(3.0, 10.0).map(|c| c.pilot), Some(1.25));
        assert_eq!(largest(8.0, 2.5).map(|c| c.pilot), Some(2.5));
        assert_eq!(largest(2.0, 10.0), None);
        // A4: 5 of pilot and 2.25 / tan 30° of cone.
        assert!((usual(50.0).depth() - (5.0 + 2.25 / 30f64.to_radians().tan())).abs() < 1e-9);
    }
}
