//! Templates true to size, to glue on the stock: over several sheets with marks to join them by.

use super::dims::View;
use super::paper::{Block, Leaf, Page};
use super::plate::{patterns, shape};
use super::taken::Taken;
use crate::geometry::{P, Rect};
use crate::sheet::{Group, Hand, Hold, Lettering, Mark, Pen, Shape, Step};
use shop::letters::names;
use shop::part::{Opening as _, Plate};

/// Sheets overlap by so much, mm.
const OVERLAP: f64 = 12.0;
/// Steps of arcs that run over the edge of a sheet: a hundredth of a millimetre of sagitta at 50 mm radius.
const FINE: f64 = 0.04;

/// A template that is wanted.
pub(super) struct Wanted<'a> {
    /// Which part it is for.
    pub(super) part: usize,
    /// What stands over it.
    pub(super) label: String,
    pub(super) plate: &'a Plate,
    /// Block of sheets of its own, when it takes several.
    pub(super) block: Block,
}

/// How far the cross of a hole stands out of it, mm.
const CROSS: f64 = 4.0;
/// Room for the name over a template, mm.
const LABEL: f64 = 10.0;
/// Between two templates, mm.
const BETWEEN: f64 = 6.0;

/// What a template covers: its outline, rings that stand out over it, and the crosses of its holes.
fn extent(p: &Plate) -> [P; 2] {
    let [mut low, mut high] = p.outline.bounds();
    let rings = p.ends.iter().filter(|e| e.hub.is_some() && !e.solid);
    let rings = rings.map(|e| (e.at, e.radius));
    let crosses = p.holes.iter().map(|h| (h.at, h.diameter() / 2.0 + CROSS));
    for (at, radius) in rings.chain(crosses) {
        for i in 0..2 {
            low[i] = low[i].min(at[i] - radius);
            high[i] = high[i].max(at[i] + radius);
        }
    }
    [low, high]
}

/// All templates: small ones share a sheet, large ones run over several. Each sheet with the parts it shows.
pub(super) fn all(wanted: &[Wanted], leaf: Leaf, block: &Block) -> Vec<(Page, Vec<usize>)> {
    let size = |p: &Plate| {
        let [low, high] = extent(p);
        [high[0] - low[0], high[1] - low[1] + LABEL]
    };
    let room = |lying: bool| {
        let page = Page::new(leaf, lying, block.clone());
        let [a, b] = page.field();
        [b[0] - a[0] - 2.0, b[1] - a[1] - 2.0]
    };
    let fits = |p: &Plate, lying: bool| {
        let (s, r) = (size(p), room(lying));
        s[0] <= r[0] && s[1] <= r[1]
    };
    let mut out = Vec::new();
    for lying in [false, true] {
        let mut these: Vec<&Wanted> = wanted
            .iter()
            .filter(|w| fits(w.plate, lying) && (!lying || !fits(w.plate, false)))
            .collect();
        these.sort_by(|x, y| size(y.plate)[1].total_cmp(&size(x.plate)[1]));
        shelves(&these, lying, leaf, block, room(lying), &size, &mut out);
    }
    for w in wanted
        .iter()
        .filter(|w| !fits(w.plate, false) && !fits(w.plate, true))
    {
        // Turned a quarter it may have room in one piece.
        let ([wide, tall], [across, down]) = (size(w.plate), room(false));
        if tall - LABEL <= across && wide + LABEL <= down {
            out.push((quarter(w, leaf), vec![w.part]));
            continue;
        }
        let pages = tiles(w.plate, leaf, &w.block);
        out.extend(pages.into_iter().map(|p| (p, vec![w.part])));
    }
    out
}

/// Templates side by side on shelves, the tallest first; each goes on the first shelf with room.
fn shelves(
    these: &[&Wanted],
    lying: bool,
    leaf: Leaf,
    block: &Block,
    room: P,
    size: &dyn Fn(&Plate) -> P,
    out: &mut Vec<(Page, Vec<usize>)>,
) {
    struct Shelf {
        page: usize,
        top: f64,
        height: f64,
        used: f64,
    }
    let first = out.len();
    let mut shelves: Vec<Shelf> = Vec::new();
    for w in these {
        let [wide, tall] = size(w.plate);
        let at = shelves
            .iter()
            .position(|s| s.height >= tall - 1e-9 && s.used + wide <= room[0]);
        let at = at.unwrap_or_else(|| {
            let last = shelves.last().map(|s| (s.page, s.top + s.height + BETWEEN));
            let (page, top) = match last {
                Some((page, top)) if top + tall <= room[1] => (page, top),
                Some((page, _)) => (page + 1, 0.0),
                None => (first, 0.0),
            };
            while out.len() <= page {
                let mut block = block.clone();
                block.scale = Some("1:1".to_owned());
                block.flat = true;
                out.push((Page::new(leaf, lying, block), Vec::new()));
            }
            shelves.push(Shelf {
                page,
                top,
                height: tall,
                used: 0.0,
            });
            shelves.len() - 1
        });
        let shelf = &mut shelves[at];
        let Some((page, parts)) = out.get_mut(shelf.page) else {
            continue;
        };
        let [a, _] = page.field();
        let corner = [a[0] + 1.0 + shelf.used, a[1] + 1.0 + shelf.top];
        let [low, high] = extent(w.plate);
        let v = View {
            origin: [corner[0] - low[0], corner[1] + LABEL + high[1]],
            k: 1.0,
        };
        let mut g = content(w.plate, v);
        g.letter(Lettering::new(
            [corner[0], corner[1] + 3.4],
            super::paper::shortened(&w.label, 2.3, Hand::Name, room[0] - shelf.used),
            2.3,
            Hold::Start,
            Hand::Name,
        ));
        let label = crate::font::width(&w.label, 2.3, Hand::Name);
        shelf.used += wide.max(label) + BETWEEN;
        page.groups.push(g);
        parts.push(w.part);
    }
}

/// What was drawn, turned a quarter counter-clockwise about the upper left corner of the sheet.
fn turned(mut g: Group) -> Group {
    let over = |q: &mut P| *q = [q[1], -q[0]];
    for m in &mut g.marks {
        match &mut m.shape {
            Shape::Strokes(all) => all.iter_mut().flatten().for_each(over),
            Shape::Circle { centre, .. } => over(centre),
            Shape::Outline { start, steps, .. } => {
                over(start);
                for s in steps {
                    match s {
                        Step::To(q) => over(q),
                        Step::Arc { centre, from, .. } => {
                            over(centre);
                            *from += std::f64::consts::FRAC_PI_2;
                        }
                    }
                }
            }
        }
    }
    for l in &mut g.letters {
        over(&mut l.at);
        l.upright = !l.upright;
    }
    g
}

/// A template on a sheet of its own, turned a quarter counter-clockwise.
fn quarter(w: &Wanted, leaf: Leaf) -> Page {
    let mut block = w.block.clone();
    block.scale = Some("1:1".to_owned());
    block.flat = true;
    let mut page = Page::new(leaf, false, block);
    let [a, _] = page.field();
    let at = |origin: P| turned(content(w.plate, View { origin, k: 1.0 }));
    let all = at([0.0; 2]).extent();
    let to = [a[0] + 1.0 - all.min[0], a[1] + 1.0 + LABEL - all.min[1]];
    let g = at([-to[1], to[0]]);
    page.groups.push(g);
    let mut label = Group::new("label");
    label.letter(Lettering::new(
        [a[0] + 1.0, a[1] + 4.4],
        w.label.as_str(),
        2.3,
        Hold::Start,
        Hand::Name,
    ));
    page.groups.push(label);
    page
}

/// One template over as many sheets as it takes.
fn tiles(p: &Plate, leaf: Leaf, block: &Block) -> Vec<Page> {
    let [low, high] = p.outline.bounds();
    let size = [high[0] - low[0], high[1] - low[1]];
    // Lying or upright, whichever takes fewer sheets.
    let room = |lying: bool| {
        let page = Page::new(leaf, lying, block.clone());
        let [a, b] = page.field();
        [b[0] - a[0] - 6.0, b[1] - a[1] - 6.0]
    };
    let count = |lying: bool| {
        let r = room(lying);
        let along = |i: usize| {
            if size[i] <= r[i] {
                1
            } else {
                ((size[i] - OVERLAP) / (r[i] - OVERLAP)).ceil() as usize
            }
        };
        [along(0), along(1)]
    };
    let lying = count(true).iter().product::<usize>() < count(false).iter().product::<usize>();
    let (tiles, r) = (count(lying), room(lying));
    let step = r.map(|x| x - OVERLAP);
    let marks = joints(p, tiles, step);
    let mut sheets = Vec::new();
    for row in 0..tiles[1] {
        for column in 0..tiles[0] {
            let page = Page::new(leaf, lying, block.clone());
            let [a, _] = page.field();
            // The place of the part that stands at the upper left of this sheet.
            let from = [
                low[0] + column as f64 * step[0],
                high[1] - row as f64 * step[1],
            ];
            let v = View {
                origin: [a[0] + 3.0 - from[0], a[1] + 3.0 + from[1]],
                k: 1.0,
            };
            let frame = Rect::new([a[0], a[1]], [a[0] + r[0] + 6.0, a[1] + r[1] + 6.0]);
            let g = clipped(&content(p, v), frame);
            // A sheet beside the part would be glued on for nothing.
            if !g.is_bare() {
                sheets.push((page, g, v, frame));
            }
        }
    }
    let count = sheets.len();
    let finished = |(n, (mut page, mut g, v, frame)): (usize, (Page, Group, View, Rect))| {
        page.block.scale = Some("1:1".to_owned());
        page.block.flat = true;
        if count > 1 {
            page.block.title = format!("{} ({} of {count})", page.block.title, n + 1);
            let mut own = Vec::new();
            for (m, at) in marks.iter().enumerate() {
                let at = v.at(*at);
                if inside(at, frame) {
                    let name = format!("+{}", m + 1);
                    register(&mut g, at, &name);
                    own.push(format!("{name} on {name}"));
                }
            }
            let how = format!("Lay {} and glue; cut out last", own.join(", "));
            // Before what the part is made from.
            page.block.facts.insert(0, how);
        }
        page.groups.push(g);
        page
    };
    sheets.into_iter().enumerate().map(finished).collect()
}

/// Crosses in the strips that two sheets share, at the same places of the part on both, two a strip and clear of what is cut there.
fn joints(p: &Plate, tiles: [usize; 2], step: P) -> Vec<P> {
    let [low, high] = p.outline.bounds();
    let flat = View {
        origin: [0.0, 0.0],
        k: 1.0,
    };
    let all = Rect::new(flat.at(low), flat.at(high)).grown(40.0);
    let mut taken = Taken::within(all);
    taken.group(&content(p, flat));
    let mut marks = Vec::new();
    for i in 0..2 {
        let j = 1 - i;
        // Lengths count to the right and down from the upper left corner.
        let put = |across: f64, along: f64| {
            let at = if i == 0 {
                [across, along]
            } else {
                [along, across]
            };
            [low[0] + at[0], high[1] - at[1]]
        };
        for joint in 1..tiles[i] {
            let across = joint as f64 * step[i] + OVERLAP / 2.0;
            for tile in 0..tiles[j] {
                let long = if tiles[j] == 1 {
                    high[j] - low[j]
                } else {
                    step[j]
                };
                let start = tile as f64 * step[j] + OVERLAP;
                for end in [0.0, 1.0] {
                    let places = (0..8).map(|n| {
                        let off = 6.0 * f64::from(n);
                        start
                            + if end > 0.0 {
                                (long - OVERLAP - off).max(0.0)
                            } else {
                                off
                            }
                    });
                    let cost = |along: &f64| {
                        let c = flat.at(put(across, *along));
                        taken.under(Rect::new(c, c).grown(5.0))
                    };
                    let best = places.min_by(|a, b| cost(a).total_cmp(&cost(b)));
                    if let Some(along) = best {
                        let at = put(across, along);
                        let c = flat.at(at);
                        taken.rect(Rect::new(c, c).grown(5.0));
                        marks.push(at);
                    }
                }
            }
        }
    }
    marks
}

fn inside(p: P, r: Rect) -> bool {
    (r.min[0]..=r.max[0]).contains(&p[0]) && (r.min[1]..=r.max[1]).contains(&p[1])
}

fn content(p: &Plate, v: View) -> Group {
    let mut g = Group::new("template");
    g.draw(Pen::Narrow, shape(&p.outline, v));
    for s in &p.slots {
        g.draw(Pen::Narrow, shape(&s.outline(), v));
    }
    super::bent::lines(&mut g, p, v);
    for cam in &p.cams {
        super::cams::scribed(&mut g, cam, v);
    }
    // A ring that is brazed on stands proud: the paper is cut out along it.
    for e in p.ends.iter().filter(|e| e.hub.is_some() && !e.solid) {
        let ring = Shape::Circle {
            centre: v.at(e.at),
            radius: e.radius,
        };
        g.draw(Pen::Dashed, ring);
    }
    let target = |g: &mut Group, c: P, r: f64| {
        // Crosses of neighbours do not run into one another.
        let apart = |q: P| (q[0] - c[0]).hypot(q[1] - c[1]);
        let others = p
            .holes
            .iter()
            .map(|h| apart(v.at(h.at)))
            .filter(|d| *d > 1e-6);
        let near = others.fold(f64::INFINITY, f64::min);
        let half = (r + CROSS).min((near / 2.0 - 0.4).max(r + 0.8));
        g.draw(
            Pen::Narrow,
            Shape::Strokes(vec![
                [[c[0] - half, c[1]], [c[0] + half, c[1]]],
                [[c[0], c[1] - half], [c[0], c[1] + half]],
            ]),
        );
    };
    let formed = patterns(p);
    for (n, (h, name)) in p.holes.iter().zip(names(p)).enumerate() {
        let c = v.at(h.at);
        let r = h.diameter() / 2.0;
        let pen = if h.back { Pen::Dashed } else { Pen::Narrow };
        g.draw(
            pen,
            Shape::Circle {
                centre: c,
                radius: r,
            },
        );
        // What is worked from the back is not punched here.
        if !h.back {
            target(&mut g, c, r);
        }
        // Of holes that form something the first is named.
        let within = formed.iter().find(|f| f.holes.contains(&n));
        if within.is_some_and(|f| !f.named().any(|i| i == n)) {
            continue;
        }
        // Outside a ring that leaves no room for it.
        let rings = p.ends.iter().filter(|e| e.hub.is_some() && e.at == h.at);
        let out = rings
            .map(|e| e.radius)
            .filter(|ring| ring - r < 6.0)
            .fold(r, f64::max);
        g.letter(Lettering::new(
            [c[0] + 0.75 * out + 1.2, c[1] - 0.75 * out - 1.2],
            name,
            2.2,
            Hold::Start,
            Hand::Note,
        ));
    }
    for (_, at) in &p.marks {
        target(&mut g, v.at(*at), 0.0);
    }
    g
}

fn register(g: &mut Group, c: P, name: &str) {
    g.draw(
        Pen::Narrow,
        Shape::Circle {
            centre: c,
            radius: 2.0,
        },
    );
    g.draw(
        Pen::Narrow,
        Shape::Strokes(vec![
            [[c[0] - 4.0, c[1]], [c[0] + 4.0, c[1]]],
            [[c[0], c[1] - 4.0], [c[0], c[1] + 4.0]],
        ]),
    );
    g.letter(Lettering::new(
        [c[0] + 1.2, c[1] + 4.6],
        name,
        1.8,
        Hold::Start,
        Hand::Note,
    ));
}

/// What of a group lies on the sheet: lines are cut at its edge.
fn clipped(g: &Group, r: Rect) -> Group {
    let mut out = Group::new("template");
    for Mark { shape, pen, .. } in &g.marks {
        let mut strokes = Vec::new();
        pieces(shape, &mut |a, b| strokes.extend(cut(a, b, r)));
        if let Some(pen) = pen {
            out.draw(*pen, Shape::Strokes(strokes));
        }
    }
    for l in &g.letters {
        if inside(l.at, r) {
            out.letter(l.clone());
        }
    }
    out
}

/// A shape in fine straight pieces.
fn pieces(shape: &Shape, each: &mut dyn FnMut(P, P)) {
    use crate::sheet::on_arc;
    let mut arc = |c: P, radius: f64, from: f64, sweep: f64| {
        let n = (sweep.abs() / FINE).ceil().max(1.0) as usize;
        for i in 0..n {
            let at = |i: usize| on_arc(c, radius, from + sweep * i as f64 / n as f64);
            each(at(i), at(i + 1));
        }
        on_arc(c, radius, from + sweep)
    };
    match shape {
        Shape::Circle { centre, radius } => {
            arc(*centre, *radius, 0.0, std::f64::consts::TAU);
        }
        Shape::Strokes(all) => all.iter().for_each(|[a, b]| each(*a, *b)),
        Shape::Outline {
            start,
            steps,
            closed,
        } => {
            let mut last = *start;
            for s in steps {
                last = match *s {
                    Step::To(p) => {
                        each(last, p);
                        p
                    }
                    Step::Arc {
                        centre,
                        radius,
                        from,
                        sweep,
                    } => {
                        let n = (sweep.abs() / FINE).ceil().max(1.0) as usize;
                        for i in 0..n {
                            let at = |i: usize| {
                                on_arc(centre, radius, from + sweep * i as f64 / n as f64)
                            };
                            each(at(i), at(i + 1));
                        }
                        on_arc(centre, radius, from + sweep)
                    }
                };
            }
            if *closed {
                each(last, *start);
            }
        }
    }
}

/// The part of a line inside a rectangle.
fn cut(a: P, b: P, r: Rect) -> Option<[P; 2]> {
    let d = [b[0] - a[0], b[1] - a[1]];
    let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
    for i in 0..2 {
        if d[i].abs() < 1e-12 {
            if a[i] < r.min[i] || a[i] > r.max[i] {
                return None;
            }
            continue;
        }
        let (u, w) = ((r.min[i] - a[i]) / d[i], (r.max[i] - a[i]) / d[i]);
        t0 = t0.max(u.min(w));
        t1 = t1.min(u.max(w));
    }
    (t0 < t1).then(|| {
        [
            [a[0] + t0 * d[0], a[1] + t0 * d[1]],
            [a[0] + t1 * d[0], a[1] + t1 * d[1]],
        ]
    })
}
