//! Outlines by hand: sides, ends and corners sawn close to the line and filed to it.

use super::Step;
use super::bits::Work;
use super::outline::{by_file, disc, slight};
use crate::contour::{P, Side};
use crate::part::{Opening as _, Plate};
use crate::words;

/// Without a mill all sides are filed to the line.
pub(super) fn hand(work: &mut Work, p: &Plate, lines: &[(P, P)], sides: &[Side]) {
    work.set_up(
        "Outline, filed",
        "bench",
        "bench vise, soft jaws, the line just above them",
        "the template's line",
        4.0,
    );
    if !lines.is_empty() {
        let long: f64 = lines
            .iter()
            .map(|(a, b)| (b[0] - a[0]).hypot(b[1] - a[1]))
            .sum();
        work.step(Step {
            text: match lines.len() {
                1 => "File the straight side to the line".to_owned(),
                n => format!("File the {n} straight sides to the line"),
            },
            tool: "file".to_owned(),
            check: "straightedge along, square across".to_owned(),
            minutes: 5.0 * lines.len() as f64 + long * p.thickness / 60.0,
            ..Step::default()
        });
    }
    for side in sides {
        let Side::Arc {
            centre,
            radius,
            sweep,
            ..
        } = *side
        else {
            continue;
        };
        if by_file(work, p, side) {
            continue;
        }
        let hole = p
            .holes
            .iter()
            .find(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6);
        let r = work.mm(radius);
        let minutes = 5.0 + radius * sweep.abs() * p.thickness / 50.0;
        let (text, check) = match (hole, sweep > 0.0) {
            (Some(h), true) => (
                format!(
                    "File the end about {} to R{r}, buttons of that radius on a pin of {} on both faces",
                    words::spoken(&h.name),
                    work.mm(h.diameter())
                ),
                "the file just slides on the buttons".to_owned(),
            ),
            (None, true) => (
                format!("File the round side R{r} to the line"),
                "the printed template".to_owned(),
            ),
            (_, false) => (
                format!("File the inside corner R{r} to the line"),
                "radius gauge or a pin of its size".to_owned(),
            ),
        };
        work.step(Step {
            text,
            tool: "file".to_owned(),
            at: work.near(centre),
            check,
            minutes,
            ..Step::default()
        });
    }
}

/// Corners and rounds that are filed.
pub(super) fn filed(work: &mut Work, p: &Plate) {
    if disc(p).is_some() {
        return;
    }
    let made = super::outline::plain_corners(work, p);
    let mut corners: Vec<f64> = Vec::new();
    let mut rounds: Vec<(f64, P, bool)> = Vec::new();
    for side in p.outline.sides() {
        if let Side::Arc {
            radius,
            sweep,
            centre,
            ..
        } = side
            && by_file(work, p, &side)
            && !slight(&side)
            && !(sweep < 0.0 && made.iter().any(|c| c.at == centre))
        {
            if sweep.abs() > 2.2 || radius > 15.0 || sweep < 0.0 {
                rounds.push((radius, centre, sweep < 0.0));
            } else {
                corners.push(radius);
            }
        }
    }
    for (radius, centre, hollow) in rounds {
        let r = work.mm(radius);
        let name = p
            .ends
            .iter()
            .find(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < 1e-6)
            .map_or_else(
                || format!("the round about {}", work.near(centre)),
                |e| format!("the end about {}", words::spoken(&e.name)),
            );
        let (text, tool) = if hollow {
            (
                format!(
                    "Saw {name} out close to the line, in a row of cuts, and file the hollow to it, R{r}"
                ),
                "saw, half-round file",
            )
        } else {
            (
                format!("Saw {name} down in short flats and file it to the template's line, R{r}"),
                "saw, file",
            )
        };
        work.step(Step {
            text,
            tool: tool.to_owned(),
            check: if radius <= 25.0 {
                "radius gauge".to_owned()
            } else {
                "the printed template".to_owned()
            },
            minutes: 6.0 + radius / 3.0,
            ..Step::default()
        });
    }
    corners.sort_by(f64::total_cmp);
    let count = corners.len();
    corners.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    if count == 0 {
        return;
    }
    let list: Vec<String> = corners.iter().map(|r| work.mm(*r)).collect();
    work.step(Step {
        text: format!(
            "Round {} to R{}: saw them off at 45°, file to the line",
            if count == 1 {
                "the corner".to_owned()
            } else {
                format!("the {count} corners")
            },
            list.join(", R")
        ),
        tool: "saw, file".to_owned(),
        check: "radius gauge".to_owned(),
        why: "no hole is centred there: a file is as good as the rotary table and quicker"
            .to_owned(),
        minutes: 4.0 * count as f64,
        ..Step::default()
    });
}
