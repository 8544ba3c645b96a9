//! Free outlines: from corner to corner by straight lines and arcs, corners rounded, and what cannot be drawn refused with the corner's place.

use super::Corner;
use super::sides::{P, Side, circles, cross, length, line_and_circle, meetings, polar, sub};
use std::f64::consts::TAU;

/// Why an outline cannot be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// At which corner, from 0.
    pub corner: usize,
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub help: String,
}

fn fault<T>(corner: usize, what: impl Into<String>, help: &str) -> Result<T, Fault> {
    Err(Fault {
        corner,
        what: what.into(),
        help: help.to_owned(),
    })
}

/// Two places nearer than this are one, mm.
const SAME: f64 = 1e-6;

/// Corners of the closed outline: each place with the bulge of the side that follows (tangent of a quarter of the angle it turns through).
///
/// # Errors
/// Corners on one another, an arc through a place on its chord, a round for which there is no room, an outline that crosses itself.
pub fn outline(corners: &[Corner]) -> Result<Vec<(P, f64)>, Fault> {
    let n = corners.len();
    let mut sides = Vec::with_capacity(n);
    for (i, a) in corners.iter().enumerate() {
        // The side that comes to a corner bulges through a place of that corner.
        let to = (i + 1) % n;
        let Some(b) = corners.get(to) else { continue };
        if length(sub(a.at, b.at)) < SAME {
            return fault(
                to,
                "two corners of the outline lie at one place",
                "leave one of them out",
            );
        }
        sides.push(match b.through {
            None => Side::Line {
                from: a.at,
                to: b.at,
            },
            Some(m) => match arc(a.at, m, b.at) {
                Some(arc) => arc,
                None => {
                    return fault(
                        to,
                        "the arc goes through a place on the straight line between its corners",
                        "leave `through` out for a straight side, or write a place beside the line",
                    );
                }
            },
        });
    }
    let rounds = rounds(corners, &sides)?;
    let whole = trimmed(&sides, &rounds)?;
    crossing(&whole)?;
    Ok(whole
        .iter()
        .map(|(_, side)| {
            let bulge = match *side {
                Side::Line { .. } => 0.0,
                Side::Arc { sweep, .. } => (sweep / 4.0).tan(),
            };
            (side.at(0.0), bulge)
        })
        .collect())
}

/// The arc from `a` through `m` to `b`.
fn arc(a: P, m: P, b: P) -> Option<Side> {
    let (u, w) = (sub(m, a), sub(b, a));
    let det = cross(u, w);
    let scale = length(u) * length(w);
    if scale < SAME * SAME || det.abs() < 1e-9 * scale {
        return None;
    }
    let (uu, ww) = (length(u).powi(2), length(w).powi(2));
    let centre = [
        a[0] + (w[1] * uu - u[1] * ww) / (2.0 * det),
        a[1] + (u[0] * ww - w[0] * uu) / (2.0 * det),
    ];
    let angle = |p: P| (p[1] - centre[1]).atan2(p[0] - centre[0]);
    let turn = (angle(b) - angle(a)).rem_euclid(TAU);
    // The middle place lies to the right of the chord on an arc that turns left.
    let sweep = if det > 0.0 { turn } else { turn - TAU };
    Some(Side::Arc {
        centre,
        radius: length(sub(a, centre)),
        from: angle(a),
        sweep,
    })
}

/// A rounded corner: where it leaves the side that comes and meets the one that goes, as shares, and its arc.
struct Round {
    leaves: f64,
    meets: f64,
    arc: Side,
}

fn rounds(corners: &[Corner], sides: &[Side]) -> Result<Vec<Option<Round>>, Fault> {
    let n = sides.len();
    let mut all = Vec::with_capacity(n);
    for (i, corner) in corners.iter().enumerate() {
        let (Some(a), Some(b)) = (sides.get((i + n - 1) % n), sides.get(i)) else {
            continue;
        };
        // Nothing to round where the sides run on without a corner.
        let turn = turning(a.heading(1.0), b.heading(0.0));
        if corner.round <= 0.0 || turn.abs() < 1e-9 {
            all.push(None);
            continue;
        }
        match round(a, b, corner) {
            Some(found) => all.push(Some(found)),
            None => {
                return fault(
                    i,
                    "there is no room for the round of this corner on its two sides",
                    "write a smaller `round`",
                );
            }
        }
    }
    Ok(all)
}

/// `None` when the round finds no place on both sides.
fn round(a: &Side, b: &Side, corner: &Corner) -> Option<Round> {
    let turn = turning(a.heading(1.0), b.heading(0.0));
    let hand = turn.signum();
    let r = corner.round;
    let (one, two) = (beside(a, r * hand)?, beside(b, r * hand)?);
    let mut best: Option<(f64, Round)> = None;
    for centre in meet(&one, &two) {
        let (from, to) = (foot(a, centre), foot(b, centre));
        let (Some(leaves), Some(meets)) = (a.share(from), b.share(to)) else {
            continue;
        };
        let (w, v) = (sub(from, centre), sub(to, centre));
        let (start, end) = (w[1].atan2(w[0]), v[1].atan2(v[0]));
        let arc = Side::Arc {
            centre,
            radius: r,
            from: start,
            sweep: hand * (hand * (end - start)).rem_euclid(TAU),
        };
        let far = length(sub(centre, corner.at));
        if best.as_ref().is_none_or(|b| far < b.0) {
            best = Some((far, Round { leaves, meets, arc }));
        }
    }
    best.map(|b| b.1)
}

/// From one direction to the next, at most half a turn either way.
fn turning(a: f64, b: f64) -> f64 {
    (b - a + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0
}

/// The line or circle that runs beside a side, to its left when positive.
enum Beside {
    Line(P, P),
    Circle(P, f64),
}

fn beside(side: &Side, left: f64) -> Option<Beside> {
    match *side {
        Side::Line { from, to } => {
            let turned = side.heading(0.0) + TAU / 4.0;
            Some(Beside::Line(
                polar(from, left, turned),
                polar(to, left, turned),
            ))
        }
        Side::Arc {
            centre,
            radius,
            sweep,
            ..
        } => {
            let r = radius - left * sweep.signum();
            (r > SAME).then_some(Beside::Circle(centre, r))
        }
    }
}

fn meet(a: &Beside, b: &Beside) -> Vec<P> {
    match (a, b) {
        (Beside::Line(p, q), Beside::Line(s, t)) => {
            let (d, e) = (sub(*q, *p), sub(*t, *s));
            let det = cross(d, e);
            if det.abs() < 1e-12 * length(d) * length(e) {
                return Vec::new();
            }
            let along = cross(sub(*s, *p), e) / det;
            vec![[p[0] + along * d[0], p[1] + along * d[1]]]
        }
        (Beside::Line(p, q), Beside::Circle(c, r)) | (Beside::Circle(c, r), Beside::Line(p, q)) => {
            line_and_circle(*p, *q, *c, *r)
        }
        (Beside::Circle(p, r), Beside::Circle(q, s)) => circles(*p, *r, *q, *s),
    }
}

/// The nearest place to `at` on the line or circle that a side is part of.
fn foot(side: &Side, at: P) -> P {
    match *side {
        Side::Line { from, to } => {
            let (d, w) = (sub(to, from), sub(at, from));
            let along = (d[0] * w[0] + d[1] * w[1]) / (d[0] * d[0] + d[1] * d[1]);
            [from[0] + along * d[0], from[1] + along * d[1]]
        }
        Side::Arc { centre, radius, .. } => {
            let w = sub(at, centre);
            polar(centre, radius, w[1].atan2(w[0]))
        }
    }
}

/// Sides with their ends cut back to the rounds, each with the corner it starts from.
fn trimmed(sides: &[Side], rounds: &[Option<Round>]) -> Result<Vec<(usize, Side)>, Fault> {
    let n = sides.len();
    let mut whole = Vec::new();
    for (i, side) in sides.iter().enumerate() {
        let here = rounds.get(i).and_then(Option::as_ref);
        let next = rounds.get((i + 1) % n).and_then(Option::as_ref);
        let (from, to) = (
            here.map_or(0.0, |r| r.meets),
            next.map_or(1.0, |r| r.leaves),
        );
        if let Some(r) = here {
            whole.push((i, r.arc));
        }
        let left = (to - from) * side.length();
        if left < -SAME {
            return fault(
                (i + 1) % n,
                "the rounds of two corners run into one another on the side between them",
                "write smaller ones",
            );
        }
        if left > SAME {
            whole.push((i, side.piece(from, to)));
        }
    }
    Ok(whole)
}

/// No two sides meet but at the corner between them.
fn crossing(sides: &[(usize, Side)]) -> Result<(), Fault> {
    let n = sides.len();
    for (i, (_, a)) in sides.iter().enumerate() {
        for (j, (corner, b)) in sides.iter().enumerate().skip(i + 1) {
            let mut shares = Vec::new();
            meetings(a, b, &mut shares);
            let at_end = |t: f64, end: f64| (t - end).abs() * a.length() < 10.0 * SAME;
            let follows = j == i + 1;
            let leads = i == 0 && j + 1 == n;
            let meets = shares
                .iter()
                .any(|&t| !(follows && at_end(t, 1.0) || leads && at_end(t, 0.0)));
            if meets {
                return fault(
                    *corner,
                    "the outline crosses or touches itself at the side that leaves this corner",
                    "write the corners in the order in which one walks round the plate",
                );
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner(x: f64, y: f64) -> Corner {
        Corner {
            at: [x, y],
            through: None,
            round: 0.0,
        }
    }

    fn rounded(x: f64, y: f64, round: f64) -> Corner {
        Corner {
            round,
            ..corner(x, y)
        }
    }

    fn area(vertices: &[(P, f64)]) -> f64 {
        let n = vertices.len();
        let one = |i: usize| {
            let ((a, bulge), (b, _)) = (vertices[i], vertices[(i + 1) % n]);
            let sweep = 4.0 * bulge.atan();
            let r = if sweep == 0.0 {
                0.0
            } else {
                length(sub(b, a)) / 2.0 / (sweep / 2.0).sin().abs()
            };
            cross(a, b) / 2.0 + r * r / 2.0 * (sweep - sweep.sin())
        };
        (0..n).map(one).sum()
    }

    #[test]
    fn rounds_beside_an_arc_stay() {
        let through = Corner {
            through: Some([30.0, 40.0]),
            ..corner(0.0, 30.0)
        };
        let sharp = [
            corner(0.0, 0.0),
            corner(60.0, 0.0),
            corner(60.0, 30.0),
            through,
        ];
        let one = outline(&[
            corner(0.0, 0.0),
            rounded(60.0, 0.0, 8.0),
            corner(60.0, 30.0),
            through,
        ]);
        let (sharp, one) = (outline(&sharp).unwrap(), one.unwrap());
        assert_eq!((sharp.len(), one.len()), (4, 5));
        let gone = area(&sharp) - area(&one);
        assert!((gone - (1.0 - TAU / 8.0) * 64.0).abs() < 1e-9, "{gone}");
        // Between a line and an arc: both are touched.
        let two = outline(&[
            corner(0.0, 0.0),
            corner(60.0, 0.0),
            rounded(60.0, 30.0, 5.0),
            through,
        ])
        .unwrap();
        assert_eq!(two.len(), 5);
        let Some(Side::Arc { centre, radius, .. }) = arc([60.0, 30.0], [30.0, 40.0], [0.0, 30.0])
        else {
            panic!("an arc");
        };
        let (from, to) = (two[2].0, two[3].0);
        assert!((from[0] - 60.0).abs() < 1e-9 && from[1] < 30.0);
        assert!((length(sub(to, centre)) - radius).abs() < 1e-9);
        let middle = [55.0, from[1]];
        assert!((length(sub(middle, to)) - 5.0).abs() < 1e-9);
        assert!((length(sub(middle, centre)) - (radius - 5.0)).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_drawn_is_told_with_its_corner() {
        let bow = [
            corner(0.0, 0.0),
            corner(40.0, 30.0),
            corner(40.0, 0.0),
            corner(0.0, 30.0),
        ];
        assert!(outline(&bow).unwrap_err().what.contains("crosses"));
        let big = [
            corner(0.0, 0.0),
            corner(60.0, 0.0),
            rounded(60.0, 30.0, 40.0),
            corner(0.0, 30.0),
        ];
        assert_eq!(outline(&big).unwrap_err().corner, 2);
        let two = [
            corner(0.0, 0.0),
            rounded(60.0, 0.0, 18.0),
            rounded(60.0, 30.0, 18.0),
            corner(0.0, 30.0),
        ];
        assert!(outline(&two).unwrap_err().what.contains("one another"));
        let flat = Corner {
            through: Some([60.0, 15.0]),
            ..corner(60.0, 30.0)
        };
        let flat = [corner(0.0, 0.0), corner(60.0, 0.0), flat, corner(0.0, 30.0)];
        assert!(
            outline(&flat)
                .unwrap_err()
                .help
                .contains("leave `through` out")
        );
        let twice = [corner(0.0, 0.0), corner(0.0, 0.0), corner(9.0, 9.0)];
        assert_eq!(outline(&twice).unwrap_err().corner, 1);
    }

    #[test]
    fn an_arc_goes_through_its_places_whichever_way() {
        for m in [[5.0, 2.0], [5.0, -2.0], [5.0, 9.0], [5.0, -9.0]] {
            let side = arc([0.0, 0.0], m, [10.0, 0.0]).unwrap();
            assert!(side.share(m).is_some(), "{side:?} {m:?}");
            assert!(length(sub(side.at(1.0), [10.0, 0.0])) < 1e-9);
        }
    }
}
