//! Surface texture as it is marked on a drawing: the symbol for a surface that is cut, with Ra in µm (ISO 21920-1, drawn as in ISO 1302).

use super::dims::DIM;
use crate::font;
use crate::geometry::P;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};

/// Ra of all surfaces that are cut, and of those with a fit, µm (common practice for turned and milled, reamed and bored surfaces).
const GENERAL: &str = "Ra 3.2";
const FITS: &str = "Ra 1.6";
/// Height of the short and of the long leg over the height of the lettering (ISO 1302, annex A).
const LEGS: [f64; 2] = [1.4, 3.0];

/// How tall the marks are.
pub(super) const TALL: f64 = LEGS[1] * DIM + 2.0;

/// The same in words, where there is no room for marks.
pub(super) fn words() -> String {
    format!("Surfaces {GENERAL}, fits {FITS} (µm).")
}

/// One mark, its point at `at`; gives where it ends to the right.
fn mark(g: &mut Group, at: P, text: &str) -> f64 {
    let slope = 60f64.to_radians().tan();
    let [short, long] = LEGS.map(|l| l * DIM);
    let left = [at[0] - short / slope, at[1] - short];
    let right = [at[0] + long / slope, at[1] - long];
    let end = right[0] + font::width(text, DIM, Hand::Note) + 2.0;
    g.draw(
        Pen::Narrow,
        Shape::poly(&[left, at, right, [end, right[1]]], false),
    );
    g.draw(
        Pen::Narrow,
        Shape::line(left, [at[0] + short / slope, at[1] - short]),
    );
    let line = [right[0] + 1.0, right[1] + DIM + 0.9];
    g.letter(Lettering::new(line, text, DIM, Hold::Start, Hand::Note));
    end
}

/// What holds for all surfaces, and in brackets for those with a fit; `at` is the upper left corner.
pub(super) fn marks(g: &mut Group, at: P) {
    let foot = at[1] + TALL - 0.5;
    let say = |g: &mut Group, x: f64, text: &str| {
        let place = [x, foot - 0.4];
        g.letter(Lettering::new(place, text, DIM, Hold::Start, Hand::Note));
        x + font::width(text, DIM, Hand::Note)
    };
    let first = mark(g, [at[0] + 3.0, foot], GENERAL);
    let inside = say(g, first + 3.0, "(fits");
    let second = mark(g, [inside + 3.5, foot], FITS);
    say(g, second + 1.0, ")");
}
