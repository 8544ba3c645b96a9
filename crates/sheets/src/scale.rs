//! Scales of drawings: the round ones, and the bar that shows one.

use std::fmt;

use crate::font;
use crate::geometry::P;
use crate::number::{short, trimmed};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use crate::ticks;

/// A scale of a drawing, paper : machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Length on the paper ...
    pub paper: f64,
    /// ... for this length of the machine.
    pub machine: f64,
}

/// Scales between 1:10 and 10:1 (ISO 5455, and 1:2.5, which is common practice); all others are these by powers of ten.
const ROUND: [Scale; 8] = [
    Scale {
        paper: 10.0,
        machine: 1.0,
    },
    Scale {
        paper: 5.0,
        machine: 1.0,
    },
    Scale {
        paper: 2.0,
        machine: 1.0,
    },
    Scale::FULL,
    Scale {
        paper: 1.0,
        machine: 2.0,
    },
    Scale {
        paper: 1.0,
        machine: 2.5,
    },
    Scale {
        paper: 1.0,
        machine: 5.0,
    },
    Scale {
        paper: 1.0,
        machine: 10.0,
    },
];

impl Scale {
    /// True size.
    pub const FULL: Self = Self {
        paper: 1.0,
        machine: 1.0,
    };

    /// Paper mm for one mm of the machine.
    pub fn factor(self) -> f64 {
        self.paper / self.machine
    }

    /// The greatest round scale whose factor is at most `most`. True size when `most` is no positive number.
    pub fn at_most(most: f64) -> Self {
        if !(most.is_finite() && most > 0.0) {
            return Self::FULL;
        }
        Self::all()
            .find(|s| s.factor() <= most * (1.0 + 1e-12))
            .unwrap_or(Self {
                paper: 1.0,
                machine: 1e9,
            })
    }

    /// The next smaller round scale.
    #[must_use]
    pub fn smaller(self) -> Self {
        Self::at_most(self.factor() * 0.999)
    }

    /// All round scales, greatest first: 100:1 to 1:10^9.
    fn all() -> impl Iterator<Item = Self> {
        let up = ROUND.iter().filter(|s| s.machine == 1.0).map(|s| Self {
            paper: s.paper * 10.0,
            machine: 1.0,
        });
        let down = (1..=8).flat_map(|k| {
            ROUND
                .iter()
                .filter(|s| s.paper == 1.0 && s.machine > 1.0)
                .map(move |s| Self {
                    paper: 1.0,
                    machine: s.machine * 10_f64.powi(k),
                })
        });
        up.filter(|s| s.paper > 10.0).chain(ROUND).chain(down)
    }
}

impl fmt::Display for Scale {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", short(self.paper), short(self.machine))
    }
}

/// Height of the two bars with their figures, mm.
pub(crate) const BAR_HEIGHT: f64 = 13.0;

/// Two bars one under the other, in mm and in inches, at most `most` mm long on the paper. `at` is the upper left corner.
pub(crate) fn bars(at: P, scale: Scale, most: f64) -> Group {
    let mut group = Group::named(
        "scale-bar",
        "scale-bar".to_owned(),
        "",
        format!("Scale {scale}, bars in mm and inches"),
    );
    let base = at[1] + 6.0;
    one_bar(&mut group, [at[0], base], scale.factor(), most, "mm", true);
    one_bar(
        &mut group,
        [at[0], base + 1.2],
        scale.factor() * 25.4,
        most,
        "in",
        false,
    );
    group
}

/// A bar of round divisions, filled by turns; figures above or below.
fn one_bar(group: &mut Group, at: P, per_unit: f64, most: f64, unit: &str, above: bool) {
    let longest = most - font::width("0000 mm", font::SMALL, Hand::Note);
    let step = ticks::round_step(longest / per_unit / 4.0);
    let count = (longest / per_unit / step + 1e-9).floor().clamp(1.0, 8.0) as usize;
    let x = |i: usize| at[0] + i as f64 * step * per_unit;
    // Where figures at every division would touch, every second, third ... bears one, and the bar ends with a figure.
    let figure = |i: usize| trimmed(i as f64 * step, 4);
    let widest = (0..=count)
        .map(|i| font::width(&figure(i), font::SMALL, Hand::Note))
        .fold(0.0, f64::max);
    let every = (1..=count)
        .find(|k| *k as f64 * step * per_unit > widest + 2.0)
        .unwrap_or(count);
    let count = count / every * every;
    let (top, bottom) = if above {
        (at[1] - 1.2, at[1])
    } else {
        (at[1], at[1] + 1.2)
    };
    for i in 0..count {
        let fill = if i % 2 == 0 { Fill::Ink } else { Fill::Ground };
        let corners = [
            [x(i), top],
            [x(i + 1), top],
            [x(i + 1), bottom],
            [x(i), bottom],
        ];
        group.put(Some(Pen::Narrow), fill, Shape::poly(&corners, true));
    }
    let base = if above {
        top - 1.0
    } else {
        bottom + 1.0 + font::SMALL
    };
    for i in (0..=count).step_by(every) {
        group.letter(Lettering::new(
            [x(i), base],
            figure(i),
            font::SMALL,
            Hold::Middle,
            Hand::Note,
        ));
    }
    let after = x(count) + font::width(&figure(count), font::SMALL, Hand::Note) / 2.0 + 1.2;
    group.letter(Lettering::new(
        [after, base],
        unit,
        font::SMALL,
        Hold::Start,
        Hand::Note,
    ));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_scales_are_chosen() {
        let text = |f: f64| Scale::at_most(f).to_string();
        assert_eq!(text(1.0), "1:1");
        assert_eq!(text(0.99), "1:2");
        assert_eq!(text(0.45), "1:2.5");
        assert_eq!(text(0.2), "1:5");
        assert_eq!(text(0.199), "1:10");
        assert_eq!(text(0.049), "1:25");
        assert_eq!(text(4.0), "2:1");
        assert_eq!(text(1e9), "100:1");
        assert_eq!(text(1e-30), "1:1000000000");
        assert_eq!(text(f64::NAN), "1:1");
    }

    #[test]
    fn scales_fall_one_by_one() {
        let mut scale = Scale::at_most(1e3);
        let mut seen = vec![scale.to_string()];
        for _ in 0..12 {
            scale = scale.smaller();
            seen.push(scale.to_string());
        }
        let want = [
            "100:1", "50:1", "20:1", "10:1", "5:1", "2:1", "1:1", "1:2", "1:2.5", "1:5", "1:10",
            "1:20", "1:25",
        ];
        assert_eq!(seen, want);
    }

    #[test]
    fn bars_are_true_and_within_their_room() {
        for factor in [10.0, 2.0, 1.0, 0.4, 0.2, 0.01] {
            let scale = Scale::at_most(factor);
            let group = bars([0.0, 0.0], scale, 80.0);
            let extent = group.extent();
            assert!(
                extent.max[0] <= 80.0 && extent.max[1] <= BAR_HEIGHT && extent.min[1] >= 0.0,
                "{scale} {extent:?}"
            );
            let ends: Vec<&Lettering> = group
                .letters
                .iter()
                .filter(|l| l.hold == Hold::Middle && l.at[1] < 6.0)
                .collect();
            let last = ends.last().unwrap();
            assert!((last.at[0] - last.text.parse::<f64>().unwrap() * scale.factor()).abs() < 1e-9);
        }
    }
}
