//! Blanks of plate laid out on sheets: rectangles by guillotine cuts (each cut goes right through what it cuts), with kerf, either way round.
//!
//! Several orders and ways of dividing what is left are tried and the cheapest is kept; that is no proof that none is cheaper, so the area bought
//! stands beside the area needed.

use serde::Serialize;

/// Sheets that sellers cut when the shop file has none, mm (common practice).
pub(crate) const SOLD: [[f64; 2]; 6] = [
    [250.0, 250.0],
    [250.0, 500.0],
    [500.0, 500.0],
    [500.0, 1000.0],
    [1000.0, 1000.0],
    [1000.0, 2000.0],
];

/// The same where stock is sold by the foot, mm: 1 x 1, 1 x 2, 2 x 2, 2 x 4, 4 x 4, 4 x 8.
pub(crate) const SOLD_INCH: [[f64; 2]; 6] = [
    [304.8, 304.8],
    [304.8, 609.6],
    [609.6, 609.6],
    [609.6, 1219.2],
    [1219.2, 1219.2],
    [1219.2, 2438.4],
];

/// A blank on a sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lies {
    /// Which blank.
    pub piece: usize,
    /// Its lower left corner, mm.
    pub at: [f64; 2],
    /// Its size as it lies, mm.
    pub size: [f64; 2],
}

/// A sheet with the blanks on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Nested {
    /// Which sheet of the rack; none: bought.
    pub rack: Option<usize>,
    /// Its size, mm.
    pub size: [f64; 2],
    /// What is cut from it.
    pub lies: Vec<Lies>,
}

/// A free rectangle: corner and size.
type Free = ([f64; 2], [f64; 2]);

/// Rounding of lengths, mm.
const NEAR: f64 = 1e-9;

/// How blanks are laid out.
#[derive(Clone, Copy)]
struct Rule {
    order: usize,
    /// The free rectangle with the least area left, else with the least strip left.
    by_area: bool,
    /// The first cut goes along the shorter side of what is left, else along the longer one.
    short: bool,
    /// Sheets are bought at least this large, by index.
    least: usize,
}

/// Lays blanks out on sheets of the rack and of the seller: as little area bought as is found, then as few sheets. A blank larger than everything
/// is bought to measure. Sizes in mm.
pub fn nest(pieces: &[[f64; 2]], rack: &[[f64; 2]], sold: &[[f64; 2]], kerf: f64) -> Vec<Nested> {
    let mut sold = sold.to_vec();
    sold.sort_by(|a, b| (a[0] * a[1]).total_cmp(&(b[0] * b[1])));
    let mut best: Option<(f64, usize, Vec<Nested>)> = None;
    for order in 0..5 {
        for by_area in [true, false] {
            for short in [true, false] {
                for least in 0..sold.len().max(1) {
                    let rule = Rule {
                        order,
                        by_area,
                        short,
                        least,
                    };
                    let found = lay(pieces, rack, &sold, kerf, rule);
                    let area = bought(&found);
                    if best.as_ref().is_none_or(|(a, n, _)| {
                        area < a - 1e-6 || area < a + 1e-6 && found.len() < *n
                    }) {
                        best = Some((area, found.len(), found));
                    }
                }
            }
        }
    }
    best.map_or_else(Vec::new, |b| b.2)
}

/// Area that is bought, mm².
pub fn bought(sheets: &[Nested]) -> f64 {
    sheets
        .iter()
        .filter(|s| s.rack.is_none())
        .map(|s| s.size[0] * s.size[1])
        .sum()
}

fn takes(room: [f64; 2], piece: [f64; 2]) -> Option<[f64; 2]> {
    [piece, [piece[1], piece[0]]]
        .into_iter()
        .find(|p| p[0] <= room[0] + NEAR && p[1] <= room[1] + NEAR)
}

fn lay(
    pieces: &[[f64; 2]],
    rack: &[[f64; 2]],
    sold: &[[f64; 2]],
    kerf: f64,
    rule: Rule,
) -> Vec<Nested> {
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    let worth = |p: [f64; 2]| match rule.order {
        0 => p[0] * p[1],
        1 => p[0].max(p[1]),
        2 => p[0].min(p[1]),
        3 => p[0] + p[1],
        _ => p[0],
    };
    order.sort_by(|a, b| {
        worth(pieces[*b])
            .total_cmp(&worth(pieces[*a]))
            .then(a.cmp(b))
    });
    let mut left: Vec<usize> = (0..rack.len()).collect();
    let mut sheets: Vec<(Nested, Vec<Free>)> = Vec::new();
    for piece in order {
        let size = pieces[piece];
        if place(&mut sheets, piece, size, kerf, rule) {
            continue;
        }
        // The smallest of the rack that takes it, else one that is sold.
        let area = |s: [f64; 2]| s[0] * s[1];
        let racked = left
            .iter()
            .copied()
            .filter(|r| takes(rack[*r], size).is_some())
            .min_by(|a, b| area(rack[*a]).total_cmp(&area(rack[*b])));
        let (rack_now, whole) = match racked {
            Some(r) => {
                left.retain(|l| *l != r);
                (Some(r), rack[r])
            }
            None => {
                let fits = |s: &&[f64; 2]| takes(**s, size).is_some();
                let wanted = sold.iter().skip(rule.least).find(fits);
                let wanted = wanted.or_else(|| sold.iter().find(fits));
                (None, wanted.copied().unwrap_or(size))
            }
        };
        sheets.push(open(rack_now, whole, kerf));
        place(&mut sheets, piece, size, kerf, rule);
    }
    // What was bought larger than it is needed: the smallest sheet that takes the same blanks.
    let mut out: Vec<Nested> = sheets.into_iter().map(|s| s.0).collect();
    for sheet in out.iter_mut().filter(|s| s.rack.is_none()) {
        let area = sheet.size[0] * sheet.size[1];
        for smaller in sold.iter().filter(|s| s[0] * s[1] < area - NEAR) {
            let mut one = vec![open(None, *smaller, kerf)];
            let all = sheet.lies.iter().all(|l| {
                let size = pieces[l.piece];
                place(&mut one, l.piece, size, kerf, rule)
            });
            if let (true, Some((found, _))) = (all, one.into_iter().next()) {
                *sheet = found;
                break;
            }
        }
    }
    out
}

/// An empty sheet. Every blank costs one kerf on two sides; the last cut may run off the edge, so there is one more of it than the sheet is wide.
fn open(rack: Option<usize>, size: [f64; 2], kerf: f64) -> (Nested, Vec<Free>) {
    (
        Nested {
            rack,
            size,
            lies: Vec::new(),
        },
        vec![([0.0, 0.0], size.map(|x| x + kerf))],
    )
}

/// Puts a blank on the sheet where it fits best; `false` when it fits on none.
fn place(
    sheets: &mut [(Nested, Vec<Free>)],
    piece: usize,
    size: [f64; 2],
    kerf: f64,
    rule: Rule,
) -> bool {
    let mut best: Option<(f64, usize, usize, [f64; 2])> = None;
    for (s, (_, free)) in sheets.iter().enumerate() {
        for (f, (_, room)) in free.iter().enumerate() {
            for way in [size, [size[1], size[0]]] {
                let need = way.map(|x| x + kerf);
                let over = [room[0] - need[0], room[1] - need[1]];
                if over[0] < -NEAR || over[1] < -NEAR {
                    continue;
                }
                let score = if rule.by_area {
                    room[0] * room[1] - need[0] * need[1]
                } else {
                    over[0].min(over[1])
                };
                if best.as_ref().is_none_or(|b| score < b.0 - NEAR) {
                    best = Some((score, s, f, way));
                }
            }
        }
    }
    let Some((_, s, f, way)) = best else {
        return false;
    };
    let (sheet, free) = &mut sheets[s];
    let (at, room) = free.swap_remove(f);
    let need = way.map(|x| x + kerf);
    let over = [room[0] - need[0], room[1] - need[1]];
    // The first cut leaves either the strip beside the blank whole, or the one over it.
    let beside_whole = (over[0] >= over[1]) == rule.short;
    let (beside, above) = if beside_whole {
        ([over[0], room[1]], [need[0], over[1]])
    } else {
        ([over[0], need[1]], [room[0], over[1]])
    };
    for (corner, size) in [
        ([at[0] + need[0], at[1]], beside),
        ([at[0], at[1] + need[1]], above),
    ] {
        if size[0] > kerf + NEAR && size[1] > kerf + NEAR {
            free.push((corner, size));
        }
    }
    sheet.lies.push(Lies {
        piece,
        at,
        size: way,
    });
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Whether a saw that cuts right through gets these blanks apart: some cut leaves whole blanks on both sides, and so on with each side.
    fn cut_apart(lies: &[Lies], kerf: f64) -> bool {
        if lies.len() < 2 {
            return true;
        }
        for i in 0..2 {
            for l in lies {
                let at = l.at[i] + l.size[i];
                let (low, high): (Vec<Lies>, Vec<Lies>) = lies
                    .iter()
                    .cloned()
                    .partition(|l| l.at[i] + l.size[i] <= at + 1e-6);
                if !low.is_empty()
                    && !high.is_empty()
                    && high.iter().all(|l| l.at[i] >= at + kerf - 1e-6)
                {
                    return cut_apart(&low, kerf) && cut_apart(&high, kerf);
                }
            }
        }
        false
    }

    #[test]
    fn four_squares_fill_a_sheet_to_the_kerf() {
        // 2 x 249 and a cut of 2 are 500: they go on one sheet of 500 x 500, two of 249.5 and the cut do not.
        let four = nest(&[[249.0, 249.0]; 4], &[], &[[500.0, 500.0]], 2.0);
        assert_eq!(four.len(), 1, "{four:?}");
        let wide = nest(&[[249.5, 249.5]; 4], &[], &[[500.0, 500.0]], 2.0);
        assert_eq!(wide.len(), 4);
        // The rack first; a blank larger than everything is bought to measure.
        let racked = nest(&[[100.0, 200.0]], &[[210.0, 110.0]], &[[500.0, 500.0]], 2.0);
        assert_eq!((racked[0].rack, bought(&racked)), (Some(0), 0.0));
        let large = nest(&[[700.0, 600.0]], &[], &[[500.0, 500.0]], 2.0);
        assert_eq!(large[0].size, [700.0, 600.0]);
        assert!(nest(&[], &[[100.0, 100.0]], &[], 2.0).is_empty());
    }

    proptest! {
        #[test]
        fn blanks_lie_apart_and_inside(
            pieces in prop::collection::vec([20.0..240.0f64, 20.0..240.0f64], 1..14),
            rack in prop::collection::vec([100.0..400.0f64, 100.0..400.0f64], 0..3),
            kerf in 0.0..4.0f64,
        ) {
            let found = nest(&pieces, &rack, &SOLD, kerf);
            let mut all: Vec<usize> = found.iter().flat_map(|s| s.lies.iter().map(|l| l.piece)).collect();
            all.sort_unstable();
            prop_assert_eq!(all, (0..pieces.len()).collect::<Vec<_>>());
            for sheet in &found {
                if let Some(r) = sheet.rack {
                    prop_assert_eq!(sheet.size, rack[r]);
                }
                for (n, l) in sheet.lies.iter().enumerate() {
                    let p = pieces[l.piece];
                    prop_assert!(l.size == p || l.size == [p[1], p[0]]);
                    for i in 0..2 {
                        prop_assert!(l.at[i] >= 0.0 && l.at[i] + l.size[i] <= sheet.size[i] + 1e-6);
                    }
                    for o in &sheet.lies[..n] {
                        let apart = (0..2).any(|i| {
                            l.at[i] >= o.at[i] + o.size[i] + kerf - 1e-6
                                || o.at[i] >= l.at[i] + l.size[i] + kerf - 1e-6
                        });
                        prop_assert!(apart, "{:?} {:?}", l, o);
                    }
                }
                prop_assert!(cut_apart(&sheet.lies, kerf), "{:?}", sheet);
            }
            // No sheet of the rack twice; never less than the area of the blanks, never more than a sheet for each.
            let mut racked: Vec<usize> = found.iter().filter_map(|s| s.rack).collect();
            racked.sort_unstable();
            racked.dedup();
            prop_assert_eq!(racked.len(), found.iter().filter(|s| s.rack.is_some()).count());
            let area: f64 = pieces.iter().map(|p| p[0] * p[1]).sum();
            let whole: f64 = found.iter().map(|s| s.size[0] * s.size[1]).sum();
            prop_assert!(whole >= area);
            let each: f64 = pieces
                .iter()
                .map(|p| SOLD.iter().filter(|s| takes(**s, *p).is_some()).map(|s| s[0] * s[1]).fold(f64::INFINITY, f64::min))
                .sum();
            prop_assert!(bought(&found) <= each + 1e-6);
        }

        /// Blanks cut from one sheet by guillotine cuts come out of no more than one sheet and a half of it: a measure of how rough it is.
        #[test]
        fn a_sheet_cut_up_goes_together_again(cuts in prop::collection::vec((0.2..0.8f64, any::<bool>(), 0usize..8), 1..7)) {
            let mut parts = vec![[500.0, 500.0]];
            for (share, upright, which) in cuts {
                let n = which % parts.len();
                let [w, h]: [f64; 2] = parts.swap_remove(n);
                if upright {
                    parts.extend([[w * share, h], [w * (1.0 - share), h]]);
                } else {
                    parts.extend([[w, h * share], [w, h * (1.0 - share)]]);
                }
            }
            let found = nest(&parts, &[], &SOLD, 0.0);
            prop_assert!(bought(&found) <= 2.0 * 250_000.0 + 1e-6, "{} of {:?}", bought(&found), parts);
        }
    }
}
