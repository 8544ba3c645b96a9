//! Places names so that none covers another, and as few lines as can be lie under one.
//!
//! Each label brings the places it may be tied to. Around each place candidates are laid out: touching it, and farther out on a
//! leader line. What a candidate costs by itself (lines under it, distance, crossing lines, growing the view) is worked out
//! once; then the labels take turns to pick their cheapest candidate until none wants to move. No randomness, so the same
//! drawing always gets the same places.
//!
//! On a sheet with very many names, or where they cannot all be read, each takes its best free place in one pass, parts and
//! drives first; a name without a free place near its symbol is left out.

mod candidates;

use crate::buckets::Buckets;
use crate::font;
use crate::geometry::{P, Rect, along, crossing, direction, dot, sub};
use crate::lines::Lines;
use crate::sheet::{Carried, Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use candidates::{around, beside_line, candidates, direction_of, on_leader, own_cost, parted};

/// Room kept free around lettering, mm.
const ROOM: f64 = 0.7;
/// Cost of covering other lettering: never worth it while any other place is free.
const HARD: f64 = 1e6;
/// A place that costs so much more than the best one is not looked at further.
const HOPELESS: f64 = 8.0;
/// What the shortest leader costs.
const LEADER: f64 = 1.6;
/// Radii at which labels are tried on a leader line, mm.
const RINGS: [f64; 12] = [
    5.0, 7.5, 11.0, 15.0, 20.0, 27.0, 36.0, 48.0, 64.0, 85.0, 115.0, 160.0,
];
const DIRECTIONS: usize = 24;
/// With more names than this on a view they no longer take turns.
const CROWD: usize = 150;
/// On a crowded sheet names of points are led off no farther than so many rings, and a place that costs more is no place.
const CROWD_RINGS: usize = 3;
const CROWD_COST: f64 = 9.0;

/// A place that a label may be tied to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Anchor {
    pub(crate) at: P,
    /// Half the size of the symbol that stands there, mm.
    pub(crate) clear: f64,
    /// Direction of the line the place lies on, if it lies on one; the label is then laid beside the line.
    pub(crate) line: Option<P>,
}

/// A name to be placed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Label {
    pub(crate) lines: Vec<String>,
    pub(crate) height: f64,
    pub(crate) hand: Hand,
    /// Best first.
    pub(crate) anchors: Vec<Anchor>,
    /// The leader ends in a dot on a surface or line, rather than at the edge of a symbol.
    pub(crate) dot: bool,
    /// What it goes with when the machine moves.
    pub(crate) carried: Option<Carried>,
}

/// A placed name.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Placed {
    /// The paper covered by the lettering.
    pub(crate) rect: Rect,
    /// From the symbol to the lettering.
    pub(crate) leader: Option<[P; 2]>,
}

impl Placed {
    /// The paper that holds lettering and leader.
    fn cover(&self) -> Rect {
        let lead = self.leader.map(|[a, b]| Rect::new(a, b));
        lead.map_or(self.rect, |l| l.join(self.rect)).grown(ROOM)
    }
}

impl Label {
    pub(crate) fn size(&self) -> P {
        let w = self
            .lines
            .iter()
            .map(|l| font::width(l, self.height, self.hand))
            .fold(0.0, f64::max);
        let rows = self.lines.len().saturating_sub(1) as f64;
        [
            w,
            font::above(self.height) + font::below(self.height) + rows * font::pitch(self.height),
        ]
    }

    /// The label as it is drawn.
    pub(crate) fn group(&self, placed: &Placed) -> Group {
        let mut group = Group::new("label");
        group.carried = self.carried;
        if let Some([from, to]) = placed.leader {
            let pen = if self.hand == Hand::Drive {
                Pen::Drive
            } else {
                Pen::Narrow
            };
            group.draw(pen, Shape::line(from, to));
            if self.dot {
                let fill = if self.hand == Hand::Drive {
                    Fill::DriveInk
                } else {
                    Fill::Ink
                };
                group.put(
                    None,
                    fill,
                    Shape::Circle {
                        centre: from,
                        radius: 0.5,
                    },
                );
            }
        }
        for (i, line) in self.lines.iter().enumerate() {
            let y =
                placed.rect.min[1] + font::above(self.height) + i as f64 * font::pitch(self.height);
            group.letter(Lettering::new(
                [placed.rect.min[0], y],
                line.as_str(),
                self.height,
                Hold::Start,
                self.hand,
            ));
        }
        group
    }
}

#[derive(Clone, Debug)]
struct Candidate {
    placed: Placed,
    cost: f64,
}

/// Places labels. `taken` is paper that is covered already (captions); no label is laid there. A label without room has no
/// place; on a sheet with no more than [`CROWD`] of them that is so only when they cannot all be read.
pub(crate) fn place(labels: &[Label], lines: &Lines, taken: &[Rect]) -> Vec<Option<Placed>> {
    let sheet = Paper::new(labels, lines, taken);
    if labels.len() <= CROWD {
        // On a crowded sheet the near places do not suffice.
        for enough in [16, usize::MAX] {
            let placed = place_among(&sheet, enough);
            let clash = placed
                .iter()
                .enumerate()
                .any(|(i, a)| placed.iter().skip(i + 1).any(|b| conflict(a, b) >= HARD));
            if !clash {
                return placed.into_iter().map(Some).collect();
            }
        }
    }
    place_crowd(&sheet, RINGS.len())
}

/// The same for a picture that can be made larger: where there are very many names, those that find no place near their symbol wait until it is.
pub(crate) fn place_near(labels: &[Label], lines: &Lines, taken: &[Rect]) -> Vec<Option<Placed>> {
    if labels.len() <= CROWD {
        return place(labels, lines, taken);
    }
    place_crowd(&Paper::new(labels, lines, taken), CROWD_RINGS)
}

/// Says how many names have no place, if any has none.
pub(crate) fn left_out(placed: &[Option<Placed>]) -> Option<String> {
    match placed.iter().filter(|p| p.is_none()).count() {
        0 => None,
        1 => Some("and 1 name left out".to_owned()),
        n => Some(format!("and {n} names left out")),
    }
}

/// What the labels are laid on.
struct Paper<'a> {
    labels: &'a [Label],
    lines: &'a Lines,
    taken: &'a [Rect],
    /// Symbols that bear a name: whose, where, and half their size.
    symbols: Vec<(usize, P, f64)>,
    near: Buckets,
}

impl<'a> Paper<'a> {
    fn new(labels: &'a [Label], lines: &'a Lines, taken: &'a [Rect]) -> Self {
        let symbols: Vec<(usize, P, f64)> = labels
            .iter()
            .enumerate()
            .flat_map(|(j, l)| l.anchors.iter().map(move |a| (j, a)))
            .filter(|(_, a)| a.line.is_none())
            .map(|(j, a)| (j, a.at, a.clear))
            .collect();
        let mut near = Buckets::default();
        for (i, &(_, at, clear)) in symbols.iter().enumerate() {
            near.set(i, Some(Rect::new(at, at).grown(clear)));
        }
        Self {
            labels,
            lines,
            taken,
            symbols,
            near,
        }
    }
}

/// Labels that have a place, found by the paper they cover.
#[derive(Default)]
struct Others<'a> {
    placed: Vec<Option<&'a Placed>>,
    near: Buckets,
}

impl<'a> Others<'a> {
    fn set(&mut self, label: usize, placed: Option<&'a Placed>) {
        if self.placed.len() <= label {
            self.placed.resize(label + 1, None);
        }
        if let Some(slot) = self.placed.get_mut(label) {
            *slot = placed;
            self.near.set(label, placed.map(Placed::cover));
        }
    }

    /// What they all cost this place; counting ends once it is past `most`.
    fn conflict(&self, placed: &Placed, most: f64) -> f64 {
        let mut cost = 0.0;
        self.near.meet(&placed.cover().grown(ROOM), |j| {
            if let Some(other) = self.placed.get(j).copied().flatten() {
                cost += conflict(placed, other);
            }
            cost <= most
        });
        cost
    }
}

/// Places all labels, each with a choice of at least so many good places if there are so many.
fn place_among(sheet: &Paper, enough: usize) -> Vec<Placed> {
    let labels = sheet.labels;
    let candidates: Vec<Vec<Candidate>> = (0..labels.len())
        .map(|i| candidates(sheet, i, enough))
        .collect();
    let first = |list: &Vec<Candidate>| list.first().map_or(HARD, |c| c.cost);
    // Those with the least choice pick first.
    let mut order: Vec<usize> = (0..labels.len()).collect();
    let choice: Vec<usize> = candidates
        .iter()
        .map(|list| list.iter().filter(|c| c.cost < first(list) + 1.0).count())
        .collect();
    order.sort_by_key(|&i| (choice.get(i).copied().unwrap_or(0), i));
    let mut chosen: Vec<Option<usize>> = vec![None; labels.len()];
    let mut others = Others::default();
    for _ in 0..20 {
        let mut moved = false;
        for &i in &order {
            let Some(own) = candidates.get(i) else {
                continue;
            };
            others.set(i, None);
            let best = cheapest(own, &others);
            others.set(i, best.and_then(|c| own.get(c)).map(|c| &c.placed));
            if let Some(slot) = chosen.get_mut(i)
                && *slot != best
            {
                *slot = best;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    candidates
        .iter()
        .zip(&chosen)
        .zip(labels)
        .map(|((list, &c), label)| {
            let nowhere = || Placed {
                rect: Rect::new([0.0; 2], label.size()),
                leader: None,
            };
            c.and_then(|c| list.get(c))
                .map_or_else(nowhere, |c| c.placed.clone())
        })
        .collect()
}

/// Index of the candidate with the least cost beside these others. The list is sorted, so the search ends early.
fn cheapest(own: &[Candidate], others: &Others) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (i, c) in own.iter().enumerate() {
        let least = best.map_or(f64::INFINITY, |(_, least)| least);
        if best.is_some() && c.cost >= least {
            break;
        }
        let cost = c.cost + others.conflict(&c.placed, least);
        if best.is_none() || cost < least {
            best = Some((i, cost));
        }
    }
    best.map(|(i, _)| i)
}

/// Gives each label in turn its cheapest free place; parts and drives come before points. The work grows with the number of
/// labels alone.
fn place_crowd(sheet: &Paper, rings: usize) -> Vec<Option<Placed>> {
    let labels = sheet.labels;
    let mut order: Vec<(usize, &Label)> = labels.iter().enumerate().collect();
    order.sort_by_key(|(i, l)| (l.hand == Hand::Note, *i));
    let mut out: Vec<Option<Placed>> = vec![None; labels.len()];
    let mut taken_up = Buckets::default();
    for (index, _) in order {
        let best = best_free(sheet, index, rings, &out, &taken_up);
        taken_up.set(index, best.as_ref().map(Placed::cover));
        if let Some(slot) = out.get_mut(index) {
            *slot = best;
        }
    }
    out
}

/// The cheapest place of a label that is in no conflict with those that have theirs.
fn best_free(
    sheet: &Paper,
    index: usize,
    rings: usize,
    out: &[Option<Placed>],
    taken_up: &Buckets,
) -> Option<Placed> {
    let label = sheet.labels.get(index)?;
    let is_near = rings <= CROWD_RINGS || label.hand == Hand::Note;
    let size = label.size();
    let is_free = |placed: &Placed| {
        let mut free = true;
        taken_up.meet(&placed.cover().grown(ROOM), |j| {
            let other = out.get(j).and_then(Option::as_ref);
            free = other.is_none_or(|o| conflict(placed, o) <= 0.0);
            free
        });
        free
    };
    let mut best: Option<Candidate> = None;
    let mut most = if is_near { CROWD_COST } else { HARD / 20.0 };
    let mut weigh = |anchor: &Anchor, placed: Placed, extra: f64| {
        if extra >= most || !is_free(&placed) {
            return;
        }
        let apart = if placed.leader.is_none() {
            2.5 * parted(anchor, &placed.rect, sheet.lines)
        } else {
            0.0
        };
        let cost = own_cost(sheet, index, &placed, extra + apart, most);
        if cost < most {
            most = cost;
            best = Some(Candidate { placed, cost });
        }
    };
    for (rank, anchor) in label.anchors.iter().enumerate() {
        let later = rank as f64 * 0.4;
        let mut push = |placed: Placed, extra: f64| weigh(anchor, placed, extra + later);
        match anchor.line {
            Some(d) => beside_line(anchor, d, size, &mut push),
            None => around(anchor, size, &mut push),
        }
    }
    let rings = if is_near { CROWD_RINGS } else { rings };
    for (rank, anchor) in label.anchors.iter().take(3).enumerate() {
        for &ring in RINGS.iter().take(rings) {
            let least = LEADER + rank as f64 * 0.4 + 0.12 * ring;
            for k in 0..DIRECTIONS {
                let placed = on_leader(anchor, direction_of(k), ring, size, label.dot);
                weigh(anchor, placed, least);
            }
        }
    }
    best.map(|c| c.placed)
}

/// What two placed labels cost each other.
fn conflict(a: &Placed, b: &Placed) -> f64 {
    let mut cost = 0.0;
    if a.rect.grown(ROOM).overlaps(&b.rect) {
        cost += HARD;
    }
    for (leader, rect) in [(a.leader, b.rect), (b.leader, a.rect)] {
        if let Some([from, to]) = leader
            && rect.grown(ROOM / 2.0).length_inside(from, to) > 0.0
        {
            cost += HARD / 10.0;
        }
    }
    if let (Some([p, q]), Some([r, s])) = (a.leader, b.leader)
        && crossing(p, q, r, s).is_some()
    {
        cost += 50.0;
    }
    cost
}

/// Places along a straight line, best first: the middle, then towards the ends.
pub(crate) fn on_line(a: P, b: P, clear: f64) -> Vec<Anchor> {
    let line = direction(a, b);
    let span = sub(b, a);
    if dot(span, span) < 1e-12 {
        return vec![Anchor {
            at: a,
            clear,
            line: None,
        }];
    }
    [0.5, 0.38, 0.62, 0.26, 0.74]
        .map(|t| Anchor {
            at: along(a, span, t),
            clear,
            line: Some(line),
        })
        .to_vec()
}

#[cfg(test)]
mod tests {
    use super::candidates::gap;
    use super::*;
    use crate::geometry::distance;

    fn label(text: &str, at: P) -> Label {
        Label {
            lines: vec![text.to_owned()],
            height: 2.5,
            hand: Hand::Note,
            anchors: vec![Anchor {
                at,
                clear: 1.5,
                line: None,
            }],
            dot: false,
            carried: None,
        }
    }

    fn overlapping(placed: &[Option<Placed>]) -> usize {
        let placed: Vec<&Placed> = placed.iter().flatten().collect();
        let mut count = 0;
        for (i, a) in placed.iter().enumerate() {
            count += placed[i + 1..]
                .iter()
                .filter(|b| a.rect.overlaps(&b.rect))
                .count();
        }
        count
    }

    #[test]
    fn a_lone_label_touches_its_symbol() {
        let placed = place(
            &[label("lever-pin", [0.0, 0.0])],
            &Lines::new(Vec::new()),
            &[],
        );
        let placed = placed[0].as_ref().unwrap();
        assert!(placed.leader.is_none());
        assert!(gap(&placed.rect, [0.0, 0.0]) < 3.0);
    }

    #[test]
    fn a_label_keeps_off_lines() {
        let lines = Lines::new(vec![
            ([-50.0, 0.0], [50.0, 0.0], 1.0),
            ([0.0, -50.0], [0.0, 0.0], 1.0),
        ]);
        let placed = place(&[label("shaft-centre", [0.0, 0.0])], &lines, &[]);
        assert_eq!(lines.under(&placed[0].as_ref().unwrap().rect), 0.0);
    }

    #[test]
    fn twenty_names_on_one_point_are_all_readable() {
        let labels: Vec<Label> = (0..20)
            .map(|i| label(&format!("journal-number-{i}"), [f64::from(i) * 0.1, 0.0]))
            .collect();
        let placed = place(
            &labels,
            &Lines::new(vec![([-30.0, 0.0], [30.0, 1.0], 1.0)]),
            &[],
        );
        assert_eq!(overlapping(&placed), 0);
        assert_eq!(left_out(&placed), None);
    }

    #[test]
    fn of_a_crowd_only_those_are_named_that_have_room_near_by() {
        let labels: Vec<Label> = (0..300)
            .map(|i| label("part", [f64::from(i % 20) * 3.0, f64::from(i / 20) * 3.0]))
            .map(|label| Label {
                hand: Hand::Name,
                ..label
            })
            .collect();
        let placed = place_near(&labels, &Lines::new(Vec::new()), &[]);
        assert_eq!(overlapping(&placed), 0);
        assert!(placed.iter().flatten().count() > 20);
        assert!(left_out(&placed).is_some());
        for [a, b] in placed.iter().flatten().filter_map(|p| p.leader) {
            assert!(distance(a, b) < RINGS[CROWD_RINGS]);
        }
    }

    #[test]
    fn taken_paper_is_left_alone() {
        let taken = [Rect::new([-30.0, -30.0], [30.0, -1.0])];
        let placed = place(
            &[label("knee", [0.0, 0.0])],
            &Lines::new(Vec::new()),
            &taken,
        );
        assert!(!placed[0].as_ref().unwrap().rect.overlaps(&taken[0]));
    }

    #[test]
    fn the_same_labels_get_the_same_places() {
        let labels: Vec<Label> = (0..9)
            .map(|i| label("pin", [f64::from(i % 3) * 4.0, f64::from(i / 3) * 4.0]))
            .collect();
        let lines = Lines::new(vec![([0.0, 0.0], [8.0, 8.0], 1.0)]);
        assert_eq!(place(&labels, &lines, &[]), place(&labels, &lines, &[]));
    }
}
