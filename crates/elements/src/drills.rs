//! Sets of drills by name, for choosing one.

use quantity::drills as named;

/// A drill.
#[derive(Clone, Debug, PartialEq)]
pub struct Drill {
    /// As it is called: `#7`, `F`, `5/16`, `6.8`.
    pub name: String,
    /// Diameter, mm.
    pub diameter: f64,
}

/// Number drills #1 to #80, largest first.
pub fn numbers() -> Vec<Drill> {
    (1..=80)
        .filter_map(|n| {
            named::number(n).map(|length| Drill {
                name: format!("#{n}"),
                diameter: length.mm(),
            })
        })
        .collect()
}

/// Letter drills A to Z, smallest first.
pub fn letters() -> Vec<Drill> {
    ('A'..='Z')
        .filter_map(|c| {
            named::letter(c).map(|length| Drill {
                name: c.to_string(),
                diameter: length.mm(),
            })
        })
        .collect()
}

/// Fraction drills in sixty-fourths up to `inches`, smallest first.
pub fn fractions(inches: u32) -> Vec<Drill> {
    (1..=64 * inches.min(4))
        .map(|n| Drill {
            name: sixty_fourths(n),
            diameter: f64::from(n) / 64.0 * 25.4,
        })
        .collect()
}

fn sixty_fourths(n: u32) -> String {
    let (whole, part) = (n / 64, n % 64);
    let (mut top, mut bottom) = (part, 64);
    while top > 0 && top % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    match (whole, top) {
        (w, 0) => w.to_string(),
        (0, t) => format!("{t}/{bottom}"),
        (w, t) => format!("{w} {t}/{bottom}"),
    }
}

/// Metric drills by tenths from 0.5 mm to `largest`, with the quarter and three-quarter sizes up to 13 mm that jobber
/// sets for tapping have.
pub fn metric(largest: f64) -> Vec<Drill> {
    let top = (largest.clamp(0.0, 100.0) * 20.0 + 1e-6).floor() as u32;
    (10..=top)
        .filter(|n| n % 2 == 0 || (*n % 10 == 5 && *n <= 260))
        .map(|n| {
            let diameter = f64::from(n) / 20.0;
            Drill {
                name: format!("{diameter}"),
                diameter,
            }
        })
        .collect()
}

/// The drill nearest to a size.
pub fn nearest(drills: &[Drill], diameter: f64) -> Option<&Drill> {
    let off = |d: &&Drill| (d.diameter - diameter).abs();
    drills.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets() {
        assert_eq!((numbers().len(), letters().len()), (80, 26));
        let fractions = fractions(1);
        assert_eq!(fractions.len(), 64);
        let names: Vec<&str> = fractions.iter().map(|d| d.name.as_str()).collect();
        assert_eq!(
            (names[0], names[19], names[26], names[63]),
            ("1/64", "5/16", "27/64", "1")
        );
        assert_eq!(sixty_fourths(72), "1 1/8");
        let metric = metric(13.0);
        assert_eq!(metric.first().unwrap().name, "0.5");
        assert_eq!(metric.last().unwrap().name, "13");
        assert!(metric.iter().any(|d| d.name == "5.25") && metric.iter().any(|d| d.name == "6.75"));
        assert!(!metric.iter().any(|d| d.name == "5.05"));
        for set in [&fractions, &metric] {
            assert!(set.windows(2).all(|w| w[0].diameter < w[1].diameter));
        }
        assert_eq!(nearest(&metric, 6.83).unwrap().name, "6.8");
        assert!(nearest(&[], 1.0).is_none());
        assert!(super::metric(f64::NAN).is_empty());
    }
}
