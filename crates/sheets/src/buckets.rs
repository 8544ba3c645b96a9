//! Things on paper, sorted into squares so that those near a place are found fast; they may come, move and go.

use std::collections::HashMap;

use crate::geometry::Rect;

/// Side of a square, mm: about the length of a short name.
const SQUARE: f64 = 12.0;
/// What covers more squares than this is kept in a list of its own.
const MOST: i64 = 256;

type Range = [i64; 4];

/// Numbered things and the paper each covers.
#[derive(Debug, Default)]
pub(crate) struct Buckets {
    squares: HashMap<[i64; 2], Vec<usize>>,
    wide: Vec<usize>,
    covers: Vec<Option<(Rect, Range)>>,
}

impl Buckets {
    /// Puts a thing on this paper, or takes it away.
    pub(crate) fn set(&mut self, thing: usize, rect: Option<Rect>) {
        if self.covers.len() <= thing {
            self.covers.resize(thing + 1, None);
        }
        let Some(slot) = self.covers.get_mut(thing) else {
            return;
        };
        let now = rect.map(|r| (r, range(&r)));
        let was = std::mem::replace(slot, now);
        if let Some((_, was)) = was {
            self.each_list(was, |list| list.retain(|&t| t != thing));
        }
        if let Some((_, now)) = now {
            self.each_list(now, |list| list.push(thing));
        }
    }

    fn each_list(&mut self, range: Range, mut each: impl FnMut(&mut Vec<usize>)) {
        if is_wide(range) {
            each(&mut self.wide);
        } else {
            for square in squares(range) {
                each(self.squares.entry(square).or_default());
            }
        }
    }

    /// Every thing whose paper meets the rectangle, each once, until one answer is `false`. The order is no one's to count on.
    pub(crate) fn meet(&self, rect: &Rect, mut each: impl FnMut(usize) -> bool) {
        let meets = |thing: usize| {
            let cover = self.covers.get(thing).copied().flatten();
            cover.filter(|(r, _)| r.overlaps(rect))
        };
        let own = range(rect);
        if is_wide(own) {
            for thing in 0..self.covers.len() {
                if meets(thing).is_some() && !each(thing) {
                    return;
                }
            }
            return;
        }
        for &thing in &self.wide {
            if meets(thing).is_some() && !each(thing) {
                return;
            }
        }
        for square in squares(own) {
            for &thing in self.squares.get(&square).into_iter().flatten() {
                // A thing in several squares is told in the first that both share.
                if let Some((_, its)) = meets(thing)
                    && square == [its[0].max(own[0]), its[2].max(own[2])]
                    && !each(thing)
                {
                    return;
                }
            }
        }
    }
}

fn range(rect: &Rect) -> Range {
    let index = |x: f64| (x / SQUARE).floor() as i64;
    [
        index(rect.min[0]),
        index(rect.max[0]),
        index(rect.min[1]),
        index(rect.max[1]),
    ]
}

fn is_wide([c0, c1, r0, r1]: Range) -> bool {
    let side = |a: i64, b: i64| b.saturating_sub(a).saturating_add(1);
    side(c0, c1).saturating_mul(side(r0, r1)) > MOST
}

fn squares([c0, c1, r0, r1]: Range) -> impl Iterator<Item = [i64; 2]> {
    (r0..=r1).flat_map(move |r| (c0..=c1).map(move |c| [c, r]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(buckets: &Buckets, rect: &Rect) -> Vec<usize> {
        let mut out = Vec::new();
        buckets.meet(rect, |i| {
            out.push(i);
            true
        });
        out.sort_unstable();
        out
    }

    #[test]
    fn each_thing_is_found_once_and_no_more_when_gone() {
        let mut buckets = Buckets::default();
        let here = Rect::new([-20.0, -20.0], [40.0, 40.0]);
        buckets.set(0, Some(here));
        buckets.set(1, Some(Rect::new([-1e9, 0.0], [1e9, 1.0])));
        buckets.set(2, Some(Rect::new([50.0, 50.0], [51.0, 51.0])));
        assert_eq!(found(&buckets, &here), [0, 1]);
        assert_eq!(found(&buckets, &here.grown(1e7)), [0, 1, 2]);
        buckets.set(0, None);
        buckets.set(2, Some(Rect::new([0.0, 5.0], [1.0, 6.0])));
        assert_eq!(found(&buckets, &here), [1, 2]);
    }
}
