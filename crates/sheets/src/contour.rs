//! Lines of equal value through a grid (marching squares), and the plot of a map.

use std::collections::HashMap;

use studies::cycle::{Closing, ClosingCurve, Map};

use crate::plot::{Axis, Band, Curve, Mark, Panel, Plot, Sample};
use crate::ticks;

/// An edge of the grid by its lower left end: along a row, or along a column.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Edge {
    Along(usize, usize),
    Up(usize, usize),
}

/// A grid of values, row by row; not a number where there is none.
struct Grid<'a> {
    columns: &'a [f64],
    rows: &'a [f64],
    values: &'a [Option<f64>],
}

impl Grid<'_> {
    fn at(&self, column: usize, row: usize) -> f64 {
        self.values
            .get(row * self.columns.len() + column)
            .copied()
            .flatten()
            .unwrap_or(f64::NAN)
    }

    /// Where the level crosses an edge, if it does. A value on the level counts as above it.
    fn crosses(&self, edge: Edge, level: f64) -> bool {
        let [a, b] = self.ends(edge);
        (a >= level) != (b >= level) && a.is_finite() && b.is_finite()
    }

    fn ends(&self, edge: Edge) -> [f64; 2] {
        match edge {
            Edge::Along(c, r) => [self.at(c, r), self.at(c + 1, r)],
            Edge::Up(c, r) => [self.at(c, r), self.at(c, r + 1)],
        }
    }

    fn point(&self, edge: Edge, level: f64) -> [f64; 2] {
        let [a, b] = self.ends(edge);
        let t = (level - a) / (b - a);
        let between = |list: &[f64], i: usize| list[i] + t * (list[i + 1] - list[i]);
        match edge {
            Edge::Along(c, r) => [between(self.columns, c), self.rows[r]],
            Edge::Up(c, r) => [self.columns[c], between(self.rows, r)],
        }
    }

    /// Pairs of edges that a level joins within one cell.
    fn joins(&self, c: usize, r: usize, level: f64) -> Vec<[Edge; 2]> {
        let corners = [
            self.at(c, r),
            self.at(c + 1, r),
            self.at(c + 1, r + 1),
            self.at(c, r + 1),
        ];
        if !corners.iter().all(|v| v.is_finite()) {
            return Vec::new();
        }
        let edges = [
            Edge::Along(c, r),
            Edge::Up(c + 1, r),
            Edge::Along(c, r + 1),
            Edge::Up(c, r),
        ];
        let crossed: Vec<Edge> = edges
            .into_iter()
            .filter(|e| self.crosses(*e, level))
            .collect();
        match crossed[..] {
            [a, b] => vec![[a, b]],
            // A saddle: the middle says which corners hang together.
            [bottom, right, top, left] => {
                let middle = corners.iter().sum::<f64>() / 4.0;
                if (middle >= level) == (corners[0] >= level) {
                    vec![[bottom, right], [top, left]]
                } else {
                    vec![[left, bottom], [right, top]]
                }
            }
            _ => Vec::new(),
        }
    }

    /// The lines of a level, each as points from end to end; a closed one ends where it began.
    fn lines(&self, level: f64) -> Vec<Vec<[f64; 2]>> {
        let mut next: HashMap<Edge, Vec<Edge>> = HashMap::new();
        // Edges in the order in which they are met, so that the lines come out in the same order always.
        let mut order: Vec<Edge> = Vec::new();
        for r in 0..self.rows.len().saturating_sub(1) {
            for c in 0..self.columns.len().saturating_sub(1) {
                for [a, b] in self.joins(c, r, level) {
                    for (from, to) in [(a, b), (b, a)] {
                        let list = next.entry(from).or_insert_with(|| {
                            order.push(from);
                            Vec::new()
                        });
                        list.push(to);
                    }
                }
            }
        }
        // Open lines begin at an edge with one neighbour; what is left then is closed.
        let ends = order
            .iter()
            .filter(|e| next.get(e).is_some_and(|n| n.len() == 1));
        let starts: Vec<Edge> = ends.chain(&order).copied().collect();
        let mut lines = Vec::new();
        for start in starts {
            let mut line = Vec::new();
            let mut here = start;
            while let Some(to) = next.get_mut(&here).and_then(Vec::pop) {
                if let Some(back) = next.get_mut(&to)
                    && let Some(i) = back.iter().position(|e| *e == here)
                {
                    back.remove(i);
                }
                if line.is_empty() {
                    line.push(self.point(here, level));
                }
                line.push(self.point(to, level));
                here = to;
            }
            if line.len() > 1 {
                lines.push(line);
            }
        }
        lines
    }
}

/// Steps of the levels, about.
const LEVELS: f64 = 9.0;
/// Steps into which the lowest of them is cut.
const FINE: f64 = 5.0;

/// The plot of a map: lines of equal value, named, and the place of the least of all.
pub fn of_map(map: &Map) -> Plot {
    let grid = Grid {
        columns: &map.columns,
        rows: &map.rows,
        values: &map.values,
    };
    let unit = map.reading.unit;
    let (low, high) = map
        .values
        .iter()
        .flatten()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(*v), h.max(*v))
        });
    // The axis goes as far as the map, whether a line goes there or not: a place without a value breaks the line.
    let ends = [map.columns.first(), map.columns.last()].map(|c| c.copied().unwrap_or(0.0));
    let mut curves: Vec<Curve> = Vec::new();
    for (level, decimals) in levels(unit.from_inside(low), unit.from_inside(high), unit) {
        let mut points: Vec<Sample> = ends.map(|at| sample([at, f64::NAN])).to_vec();
        for line in grid.lines(unit.to_inside(level)) {
            if is_crumb(&line, &map.columns, &map.rows) {
                continue;
            }
            points.extend(line.iter().map(|p| sample(*p)));
            points.push(sample([ends[0], f64::NAN]));
        }
        if points.len() > 2 {
            curves.push(Curve {
                name: format!("{level:.decimals$}"),
                points,
            });
        }
    }
    let least = map
        .closing
        .iter()
        .filter_map(|c| Some(([c.least?.at, c.at], c.least?.value)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    let marks = least.map(|(at, value)| Mark {
        at: at[0],
        value: at[1],
        words: format!("least, {}", crate::number::value(value, unit)),
    });
    Plot {
        title: format!(
            "{}: {}, {}, over {} and {}",
            map.machine,
            map.reading.name,
            unit.symbol(),
            map.across.name,
            map.up.name
        ),
        note: held(map),
        across: axis(&map.across),
        places: Vec::new(),
        panels: vec![Panel {
            up: axis(&map.up),
            curves,
            marks: marks.into_iter().collect(),
            limits: Vec::new(),
            bands: barred(map).into_iter().chain(whole(map)).collect(),
            rests: Vec::new(),
        }],
    }
}

/// Shorter than this share of the field a line that ends inside it is what the edge of the reach leaves of a cell or two.
const CRUMB: f64 = 0.05;

fn is_crumb(line: &[[f64; 2]], columns: &[f64], rows: &[f64]) -> bool {
    let span = |list: &[f64]| match list {
        [first, .., last] => last - first,
        _ => 1.0,
    };
    let (wide, tall) = (span(columns), span(rows));
    let long: f64 = line
        .windows(2)
        .map(|p| ((p[1][0] - p[0][0]) / wide).hypot((p[1][1] - p[0][1]) / tall))
        .sum();
    long < CRUMB && line.first() != line.last()
}

/// The axis upwards goes as far as the map too: a band at one place is not drawn and takes its room.
fn whole(map: &Map) -> Option<Band> {
    let (at, bottom, top) = (*map.columns.first()?, *map.rows.first()?, *map.rows.last()?);
    Some(Band {
        name: String::new(),
        points: vec![[at, bottom, top]],
    })
}

/// Where the machine cannot stand: shaded from the lower edge to the first place upwards where it can, and from the last one to the upper edge.
fn barred(map: &Map) -> Vec<Band> {
    let (Some(&bottom), Some(&top)) = (map.rows.first(), map.rows.last()) else {
        return Vec::new();
    };
    let wide = map.columns.len();
    let stands = |c: usize, r: usize| map.values.get(r * wide + c).is_some_and(Option::is_some);
    let (mut below, mut above) = (Vec::new(), Vec::new());
    for (c, &at) in map.columns.iter().enumerate() {
        let first = (0..map.rows.len()).find(|&r| stands(c, r));
        let last = (0..map.rows.len()).rev().find(|&r| stands(c, r));
        let none = [at, f64::NAN, f64::NAN];
        below.push(match first {
            None => [at, bottom, top],
            Some(0) => none,
            Some(r) => [at, bottom, map.rows[r]],
        });
        above.push(match last {
            Some(r) if r + 1 < map.rows.len() => [at, map.rows[r], top],
            _ => none,
        });
    }
    let known = |points: &Vec<[f64; 3]>| points.iter().any(|p| p[1].is_finite());
    let both = [below, above].into_iter().filter(known);
    both.map(|points| Band {
        name: String::from("it cannot stand here"),
        points,
    })
    .collect()
}

/// The plot of a closing curve: the least of the reading over the one drive, as a function of the other.
///
/// Where its bands are known, so is the loaded value, as a second curve.
pub fn of_closing(curve: &ClosingCurve, machine: &str) -> Plot {
    let mut least = Curve {
        name: String::from("free"),
        points: Vec::new(),
    };
    let mut loaded = Curve {
        name: String::from("loaded"),
        points: Vec::new(),
    };
    let mut band = Band {
        name: String::from("play and tolerance"),
        points: Vec::new(),
    };
    for (i, place) in curve.places.iter().enumerate() {
        let told = curve.bands.get(i).and_then(Option::as_ref);
        least.points.push(Sample {
            at: place.at,
            value: place.least.map_or(f64::NAN, |l| l.value),
            rate: place.rate,
        });
        loaded.points.push(Sample {
            at: place.at,
            value: told.and_then(|b| b.loaded).unwrap_or(f64::NAN),
            rate: None,
        });
        let [from, to] = told.map_or([f64::NAN; 2], |b| [b.from, b.to]);
        band.points.push([place.at, from, to]);
    }
    for corner in corners(&curve.places, &least.points) {
        let i = least.points.partition_point(|p| p.at < corner.at);
        let (Some(a), Some(b)) = (least.points.get(i.wrapping_sub(1)), least.points.get(i)) else {
            continue;
        };
        // What load, play and tolerance add goes on evenly between two places.
        let t = (corner.at - a.at) / (b.at - a.at);
        let added = |x: f64, y: f64| corner.value + (1.0 - t) * (x - a.value) + t * (y - b.value);
        if let (Some(c), Some(d)) = (band.points.get(i - 1), band.points.get(i)) {
            let ends = [corner.at, added(c[1], d[1]), added(c[2], d[2])];
            band.points.insert(i, ends);
        }
        if let (Some(c), Some(d)) = (loaded.points.get(i - 1), loaded.points.get(i)) {
            let value = added(c.value, d.value);
            loaded.points.insert(i, Sample { value, ..corner });
        }
        least.points.insert(i, corner);
    }
    let known = loaded.points.iter().filter(|s| s.value.is_finite()).count() > 1;
    let under = curve.case.as_ref().map(|case| format!("under {case}"));
    Plot {
        title: format!(
            "{machine}: least {} over {}, by {}",
            curve.reading.name, curve.across.name, curve.up.name
        ),
        note: under.unwrap_or_default(),
        across: axis(&curve.up),
        places: Vec::new(),
        panels: vec![Panel {
            up: axis(&curve.reading),
            curves: if known {
                vec![loaded, least]
            } else {
                vec![least]
            },
            marks: Vec::new(),
            limits: Vec::new(),
            bands: vec![band],
            rests: Vec::new(),
        }],
    }
}

/// The place of the least jumps by so many times what it usually goes from one place to the next where another of its valleys becomes the lowest.
const JUMPS: f64 = 5.0;

/// Where the least jumps from one place of the other drive to another, the curve has a corner: it lies where the tangents of both sides meet, and
/// a smooth line over it would show more room than there is.
fn corners(places: &[Closing], points: &[Sample]) -> Vec<Sample> {
    let gone = |pair: &[Closing]| match pair {
        [a, b] => Some((b.least?.at - a.least?.at).abs()),
        _ => None,
    };
    let mut usual: Vec<f64> = places.windows(2).filter_map(gone).collect();
    usual.sort_by(f64::total_cmp);
    let Some(&usual) = usual.get(usual.len() / 2) else {
        return Vec::new();
    };
    let mut corners = Vec::new();
    for (pair, ends) in places.windows(2).zip(points.windows(2)) {
        let ([a, b], Some(far)) = (ends, gone(pair)) else {
            continue;
        };
        let (Some(m), Some(n)) = (a.rate, b.rate) else {
            continue;
        };
        if far <= JUMPS * usual + 1e-3 {
            continue;
        }
        let at = (b.value - a.value + m * a.at - n * b.at) / (m - n);
        if (at - a.at) * (at - b.at) < 0.0 {
            corners.push(Sample {
                at,
                value: a.value + m * (at - a.at),
                rate: None,
            });
        }
    }
    corners
}

/// Where the other drives and the settings stand, where they do not stand as drawn.
fn held(map: &Map) -> String {
    let moved = map.held.iter().filter(|h| !h.as_drawn);
    let words = moved.map(|h| {
        let value = crate::number::value(h.value, h.quantity.unit);
        format!("{} {value}", h.quantity.name)
    });
    words.collect::<Vec<_>>().join(", ")
}

fn axis(q: &studies::Quantity) -> Axis {
    Axis {
        name: q.name.clone(),
        unit: q.unit,
    }
}

/// Round levels and their decimals. Where the reading is least it is looked at most closely: the first step is cut in round steps again.
fn levels(low: f64, high: f64, unit: quantity::Unit) -> Vec<(f64, usize)> {
    if low.partial_cmp(&high) != Some(std::cmp::Ordering::Less) {
        return Vec::new();
    }
    let coarse = ticks::ticks(low, high, LEVELS, unit);
    let first = coarse.at.iter().copied().find(|l| *l > low).unwrap_or(high);
    let fine = ticks::ticks(low, first, FINE, unit);
    let inside = |l: &f64| *l > low && *l < high;
    let below = fine.at.iter().filter(|l| **l < first - 0.5 * fine.step);
    let mut all: Vec<(f64, usize)> = below.map(|l| (*l, fine.decimals)).collect();
    all.extend(
        coarse
            .at
            .iter()
            .filter(|l| **l >= first)
            .map(|l| (*l, coarse.decimals)),
    );
    all.retain(|l| inside(&l.0));
    all
}

fn sample([at, value]: [f64; 2]) -> Sample {
    Sample {
        at,
        value,
        rate: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use studies::cycle::Spot;

    /// A grid of a function over −2 to 2 both ways.
    fn lines(f: impl Fn(f64, f64) -> Option<f64>, level: f64) -> Vec<Vec<[f64; 2]>> {
        let axis: Vec<f64> = (0..=80).map(|i| -2.0 + f64::from(i) * 0.05).collect();
        let values: Vec<Option<f64>> = axis
            .iter()
            .flat_map(|y| axis.iter().map(|x| f(*x, *y)).collect::<Vec<_>>())
            .collect();
        Grid {
            columns: &axis,
            rows: &axis,
            values: &values,
        }
        .lines(level)
    }

    #[test]
    fn levels_are_closest_where_it_is_least() {
        let found: Vec<f64> = levels(0.216, 41.3, quantity::Unit::Millimetre)
            .iter()
            .map(|l| l.0)
            .collect();
        assert_eq!(
            found,
            [
                1.0, 2.0, 3.0, 4.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0
            ]
        );
        assert!(levels(1.0, 1.0, quantity::Unit::Millimetre).is_empty());
    }

    #[test]
    fn a_hill_has_closed_rings() {
        let found = lines(|x, y| Some(x * x + y * y), 1.0);
        assert_eq!(found.len(), 1);
        let ring = &found[0];
        assert_eq!(ring.first(), ring.last());
        let mut around = 0.0;
        for pair in ring.windows(2) {
            around += (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]);
        }
        assert!((around - std::f64::consts::TAU).abs() < 0.01, "{around}");
        for p in ring {
            assert!((p[0].hypot(p[1]) - 1.0).abs() < 1e-3, "{p:?}");
        }
    }

    #[test]
    fn a_saddle_has_two_lines_that_do_not_cross() {
        for level in [0.3, -0.3] {
            let found = lines(|x, y| Some(x * y), level);
            assert_eq!(found.len(), 2, "{level}");
            for p in found.iter().flatten() {
                assert!((p[0] * p[1] - level).abs() < 1e-3);
            }
        }
    }

    #[test]
    fn a_line_ends_where_there_is_nothing() {
        let found = lines(|x, y| (x < 0.52).then_some(y), 0.31);
        assert_eq!(found.len(), 1);
        let far = found[0]
            .iter()
            .map(|p| p[0])
            .fold(f64::NEG_INFINITY, f64::max);
        assert!((far - 0.5).abs() < 1e-9, "{far}");
        assert!(lines(|_, _| None, 0.0).is_empty());
        assert!(lines(|_, y| Some(y), 5.0).is_empty());
    }

    /// The lesser of 1 + x and 2 − x has its corner at one half.
    #[test]
    fn a_closing_curve_that_jumps_has_a_corner() {
        let places: Vec<Closing> = (0..8)
            .map(|i| {
                let x = f64::from(i) * 0.3 - 1.05;
                let (at, value, rate) = if 1.0 + x < 2.0 - x {
                    (0.01 * x, 1.0 + x, 1.0)
                } else {
                    (3.0 + 0.01 * x, 2.0 - x, -1.0)
                };
                Closing {
                    at: x,
                    least: Some(Spot { at, value }),
                    rate: Some(rate),
                }
            })
            .collect();
        let points: Vec<Sample> = places
            .iter()
            .map(|p| Sample {
                at: p.at,
                value: p.least.unwrap().value,
                rate: p.rate,
            })
            .collect();
        let found = corners(&places, &points);
        assert_eq!(found.len(), 1);
        assert!((found[0].at - 0.5).abs() < 1e-12 && (found[0].value - 1.5).abs() < 1e-12);
        assert!(found[0].rate.is_none());
        // One valley all the way has none.
        assert!(corners(&places[..5], &points[..5]).is_empty());
    }
}
