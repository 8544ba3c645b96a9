//! How turned work is held from the first cut to the last, and how much more than the part its blank has to be for it. Both the cut list and
//! the operation sheet ask here, so that they agree.

use crate::part::{Part, Step, Turned};
use elements::centres::{self, Centre};
use machine::equipment::{Holding, Lathe, Shop};
use machine::work::Section;

/// Longer than this many diameters out of the chuck, work wants a centre (common practice).
pub(crate) const SLENDER: f64 = 3.0;
/// Width of a parting tool, mm (common practice).
pub const PARTING: f64 = 3.0;
/// Thickest wall that a bench lathe parts off, mm on the radius (common practice).
const PART_THROUGH: f64 = 15.0;
/// Longest blank that several parts are made from where the bar goes through the spindle, mm (common practice).
const LONGEST: f64 = 300.0;
/// How deep work goes into a chuck before the spindle's bore has to take it, mm (common practice).
const CHUCK_DEEP: f64 = 40.0;
/// The thinnest end that takes a centre, mm (common practice).
const CENTRED: f64 = 5.0;
/// Longest work that hangs in front of the saddle, so that the swing over the bed decides, mm (common practice).
const BEFORE_SADDLE: f64 = 40.0;

/// How a part comes off what holds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Off {
    /// Nothing is left over: the blank is as long as the part.
    Nothing,
    /// Parted off in the lathe.
    Parted,
    /// Sawn off.
    Sawn,
}

/// How the diameters that run true are turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// From the chuck, the free end on the tailstock where it is long.
    Chuck,
    /// Between centres.
    Centres,
}

/// How eccentrics are turned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Aside {
    /// Off centre in the chuck, on the step with this index, counted from the left.
    Chuck(usize),
    /// Between second centres.
    Centres {
        /// The centre drill.
        drill: Centre,
        /// The true centres are faced away first: the second ones would run into them.
        anew: bool,
        /// The ends of the part are too small: discs of the bar's own diameter stay on until the eccentrics are done.
        discs: bool,
    },
    /// This shop has no way.
    No,
}

/// How a turned part is made.
#[derive(Clone, Debug)]
pub struct Way<'a> {
    /// The lathe; none without a shop, or when it has none.
    pub lathe: Option<&'a Lathe>,
    /// Diameter of the bar, over its corners when it is not round.
    pub bar: f64,
    /// The true diameters.
    pub held: Held,
    /// The eccentrics, where there are any.
    pub aside: Option<Aside>,
    /// Length of bar for the chuck beyond the part, mm.
    pub grip: f64,
    /// How it comes off.
    pub off: Off,
    /// Left on each end for centres that are cut away at the end, mm.
    pub stub: f64,
    /// How many come from one blank.
    pub together: usize,
}

/// The lathe for a part: one that takes it, and of those the one with the finest dial.
pub fn lathe<'a>(shop: Option<&'a Shop>, part: &Part, t: &Turned) -> Option<&'a Lathe> {
    let shop = shop?;
    let swings = swing_of(part, t);
    let fits = |l: &&Lathe| swings <= room(l, t) && t.length() <= l.between_centres;
    let dial = |l: &Lathe| l.dial * if l.on_diameter { 1.0 } else { 2.0 };
    shop.lathes
        .iter()
        .filter(fits)
        .min_by(|a, b| dial(a).total_cmp(&dial(b)))
        .or_else(|| {
            shop.lathes
                .iter()
                .max_by(|a, b| room(a, t).total_cmp(&room(b, t)))
        })
}

/// Diameter of the bar, over its corners when it is not round.
pub fn bar(part: &Part) -> f64 {
    match part.section {
        Section::Round(d) | Section::Tube([d, _]) => d,
        Section::Flat([a, b]) => a.hypot(b),
        // It swings across its corners.
        Section::Square(a) => machine::work::across_corners(4, a),
        Section::Hexagon(a) => machine::work::across_corners(6, a),
    }
}

/// What a part swings, mm on diameter.
pub fn swing_of(part: &Part, t: &Turned) -> f64 {
    // Set off centre the whole bar swings round.
    let throws = t.steps.iter().filter_map(|s| s.throw).map(|x| x[0]);
    bar(part) + 2.0 * throws.fold(0.0, f64::max)
}

/// What a lathe swings of a part: a short disc hangs in front of the saddle, longer work stands over the cross slide.
pub fn room(lathe: &Lathe, t: &Turned) -> f64 {
    if t.length() <= BEFORE_SADDLE {
        lathe.swing
    } else {
        lathe.over_slide.unwrap_or(lathe.swing)
    }
}

/// How far work stands out that does not go into the spindle: as deep in the chuck as it goes.
pub(crate) fn stands(whole: f64, bar: f64) -> f64 {
    (whole - CHUCK_DEEP.max(grip(bar))).max(CLEAR)
}

/// How much of a bar the chuck wants (common practice: three quarters of its diameter, 15 to 30).
pub fn grip(bar: f64) -> f64 {
    (0.75 * bar).clamp(15.0, 30.0)
}

/// What is faced off each end so that second centres do not run into the true ones, mm.
pub(crate) fn faced_away(way: &Way) -> f64 {
    match way.aside {
        Some(Aside::Centres { anew: true, .. }) => (centres::usual(way.bar).depth() + 1.0).ceil(),
        _ => 0.0,
    }
}

/// What a step that was passed over measures: an eccentric that lies inside a true diameter turned from beyond it has the bar's size no longer.
pub(crate) fn passed(t: &Turned, s: &Step, turned: &dyn Fn(&Step) -> bool) -> Option<f64> {
    [true, false]
        .into_iter()
        .flat_map(|right| {
            let over = move |o: &&Step| nearer(s, o, right) && !spoils(t, o, s);
            steps_of(t, right).into_iter().filter(over)
        })
        .filter(|o| turned(o))
        .map(|o| o.diameter)
        .reduce(f64::min)
}

/// The diameter that a step is turned to: a fit to the middle of its limits, an external thread a tenth of its pitch under (common practice).
pub(crate) fn target(s: &Step) -> f64 {
    match (&s.thread, &s.class) {
        (Some(thread), _) => s.diameter - 0.1 * thread.pitch,
        (None, Some(c)) => c.limits.middle(),
        _ => s.diameter,
    }
}

/// Whether a tool that turns one step to its size spoils another one that it passes over.
pub(crate) fn spoils(t: &Turned, s: &Step, passed: &Step) -> bool {
    let _ = t;
    let over = target(passed) + 2.0 * passed.throw.map_or(0.0, |x| x[0]) - target(s);
    // What has no class of its own may come out a hair small.
    let held = passed.class.is_some() || passed.thread.is_some() || passed.throw.is_some();
    over > if held { 1e-6 } else { 0.03 }
}

/// Whether a step lies between another one and an end.
pub(crate) fn nearer(o: &Step, s: &Step, right: bool) -> bool {
    if right {
        o.from >= s.to - 1e-9
    } else {
        o.to <= s.from + 1e-9
    }
}

/// The least that a chuck holds for light cuts and drilling (common practice: a third of the diameter, 10 at least).
pub(crate) fn least_grip(bar: f64) -> f64 {
    (bar / 3.0).max(10.0)
}

/// Room between the jaws and what is faced, mm (common practice).
pub(crate) const CLEAR: f64 = 5.0;

/// Which ends are turned, in order: `true` the right one. Nothing that can be an open shoulder is turned as a recess.
pub(crate) fn sides(t: &Turned) -> [bool; 2] {
    let rises = t
        .steps
        .iter()
        .filter(|s| s.throw.is_none())
        .collect::<Vec<_>>()
        .windows(2)
        .all(|w| w[1].diameter >= w[0].diameter - 1e-9);
    let usual = !rises;
    let recesses = |first: bool| -> usize {
        [true, false]
            .into_iter()
            .map(|right| {
                let own = turned_from(t, right, first);
                own.iter()
                    .filter(|s| {
                        t.steps
                            .iter()
                            .any(|o| nearer(o, s, right) && spoils(t, s, o))
                    })
                    .count()
            })
            .sum()
    };
    // A short hexagon or square between two turned ends holds neither: the longer end is turned while the bar is still there.
    let short = t
        .steps
        .iter()
        .any(|s| s.as_bar && s.length() < s.diameter && s.from > 1e-9 && s.to < t.length() - 1e-9);
    let reaches = |first: bool| -> f64 {
        let own = turned_from(t, first, first);
        let ends = own.iter().filter(|s| !s.as_bar);
        ends.map(|s| if first { t.length() - s.from } else { s.to })
            .fold(0.0, f64::max)
    };
    let (other, own) = (recesses(!usual), recesses(usual));
    if other < own || short && other == own && reaches(!usual) > reaches(usual) {
        [!usual, usual]
    } else {
        [usual, !usual]
    }
}

/// Steps that are turned from an end, from the chuck outward: up to the largest that runs true, which goes with the first end.
pub(crate) fn steps_of(t: &Turned, right: bool) -> Vec<&Step> {
    turned_from(t, right, sides(t)[0])
}

fn turned_from(t: &Turned, right: bool, first: bool) -> Vec<&Step> {
    let tie = |a: usize, b: usize| {
        // The largest stretch is turned in one go as far as it reaches.
        if first { b.cmp(&a) } else { a.cmp(&b) }
    };
    let largest = t
        .steps
        .iter()
        .enumerate()
        .filter(|(_, s)| s.throw.is_none())
        .max_by(|a, b| {
            // The bar as it came goes before a thread of its diameter.
            a.1.diameter
                .total_cmp(&b.1.diameter)
                .then(b.1.thread.is_some().cmp(&a.1.thread.is_some()))
                .then(tie(a.0, b.0))
        })
        .map_or(0, |(i, _)| i);
    let take = |i: usize| match (right, first == right) {
        (true, true) => i >= largest,
        (true, false) => i > largest,
        (false, true) => i <= largest,
        (false, false) => i < largest,
    };
    let mut found: Vec<&Step> = t
        .steps
        .iter()
        .enumerate()
        .filter(|(i, s)| take(*i) && s.throw.is_none())
        .map(|(_, s)| s)
        .collect();
    // Large diameters first keep the work stiff; of those alike the one that reaches further in, over the others.
    let far = |s: &Step| if right { -s.from } else { s.to };
    found.sort_by(|a, b| {
        target(b)
            .total_cmp(&target(a))
            .then(far(b).total_cmp(&far(a)))
    });
    found
}

/// A step that is cut, not the bar as it came: the crests of a thread are turned under size.
pub(crate) fn is_cut(s: &Step, bar: f64) -> bool {
    s.diameter < bar - 1e-6 || s.thread.is_some()
}

/// How far from an end it is turned.
pub(crate) fn reach(t: &Turned, right: bool, bar: f64) -> f64 {
    let grooves = t
        .grooves
        .iter()
        .filter(|g| grooved_from(t, g, bar) == right);
    let deep = grooves.map(|g| {
        if right {
            t.length() - g.at
        } else {
            g.at + g.width
        }
    });
    steps_of(t, right)
        .iter()
        .filter(|s| is_cut(s, bar))
        .map(|s| if right { t.length() - s.from } else { s.to })
        .chain(deep)
        .fold(0.0, f64::max)
}

/// From which end a groove is cut: that of its step, or the nearer one where the bar stays as it came; `true` the right one.
pub(crate) fn grooved_from(t: &Turned, g: &machine::making::Groove, bar: f64) -> bool {
    let middle = g.at + g.width / 2.0;
    let own = t.steps.iter().find(|s| s.from < middle && middle < s.to);
    match own {
        Some(s) if is_cut(s, bar) && s.throw.is_none() => {
            steps_of(t, true).iter().any(|o| o.from == s.from)
        }
        _ => middle > t.length() / 2.0,
    }
}

/// Diameter of an end.
pub(crate) fn end_diameter(t: &Turned, right: bool) -> f64 {
    let s = if right {
        t.steps.last()
    } else {
        t.steps.first()
    };
    s.map_or(0.0, |s| s.diameter)
}

/// A hole right through on the axis, or a tube.
pub(crate) fn hollow(part: &Part, t: &Turned) -> bool {
    matches!(part.section, Section::Tube(_))
        || t.bores
            .iter()
            .any(|b| b.throw.is_none() && b.blind.is_none())
}

/// Whether the free end goes on the tailstock while it is turned: it stands far out of the chuck, as a whole where it does not go into the spindle.
pub(crate) fn on_tailstock(part: &Part, t: &Turned, right: bool, spindle_bore: f64) -> bool {
    let bar = bar(part);
    let turned = reach(t, right, bar);
    let stands = if bar <= spindle_bore {
        turned
    } else {
        turned.max(t.length() - CHUCK_DEEP)
    };
    turned > 0.0
        && stands > SLENDER * bar
        && end_diameter(t, right) >= CENTRED
        && !matches!(part.section, Section::Tube(_))
}

/// The steps that jaws can close on from an end, the best first: nothing between them and the end may stand out further. With `turned` steps as
/// large as they will be, the others as the bar.
pub(crate) fn reachable<'a>(
    t: &'a Turned,
    left: bool,
    bar: f64,
    [spindle_bore, stub]: [f64; 2],
    turned: &dyn Fn(&Step) -> bool,
) -> Vec<&'a Step> {
    let now = |s: &Step| {
        if turned(s) {
            s.diameter / 2.0 + s.throw.map_or(0.0, |x| x[0])
        } else {
            passed(t, s, turned).unwrap_or(bar) / 2.0
        }
    };
    let mut found = Vec::new();
    let mut most = 0.0_f64;
    let from_left = t.steps.iter();
    let order: Vec<&Step> = if left {
        from_left.collect()
    } else {
        from_left.rev().collect()
    };
    for s in order {
        let out = now(s);
        let deep = stub + if left { s.from } else { t.length() - s.to };
        // What lies behind the jaws has to go into the chuck.
        let goes_in = deep <= CHUCK_DEEP || 2.0 * most <= spindle_bore + 1e-9;
        let apart = s.throw.is_some() && (turned(s) || passed(t, s, turned).is_some());
        if out >= most - 1e-6 && goes_in && !apart {
            found.push(s);
        }
        most = most.max(out);
    }
    let widest = found.iter().map(|s| s.diameter).fold(0.0, f64::max);
    let worth = |s: &Step| {
        let finished = turned(s);
        (
            !(finished && s.thread.is_some()),
            s.length() >= 0.6 * s.diameter.min(25.0) && s.diameter >= 0.6 * widest,
            !(finished && s.class.is_some()),
            s.length(),
        )
    };
    found.sort_by(|a, b| {
        let (a, b) = (worth(a), worth(b));
        (b.0, b.1, b.2)
            .cmp(&(a.0, a.1, a.2))
            .then(b.3.total_cmp(&a.3))
    });
    found
}

/// Whether diameters at both ends have to run true to one another.
fn both_true(t: &Turned) -> bool {
    let classed = |right: bool| steps_of(t, right).iter().any(|s| s.class.is_some());
    classed(true) && classed(false)
}

/// How a part is made.
pub fn way<'a>(part: &Part, t: &Turned, shop: Option<&'a Shop>) -> Way<'a> {
    let lathe = lathe(shop, part, t);
    let holds = |h: Holding| lathe.is_none_or(|l| l.holds.contains(&h));
    let bar = bar(part);
    let long = t.length();
    let hollow = hollow(part, t);
    let spindle_bore = lathe.map_or(f64::INFINITY, |l| l.spindle_bore);
    let aside = aside(t, bar, hollow, spindle_bore, &holds);
    let ends = [false, true].map(|right| end_diameter(t, right));
    let centred = holds(Holding::Centres)
        && !hollow
        && (matches!(aside, Some(Aside::Centres { .. }))
            || both_true(t) && ends.iter().all(|d| *d >= CENTRED));
    let mut way = Way {
        lathe,
        bar,
        held: if centred { Held::Centres } else { Held::Chuck },
        aside,
        grip: 0.0,
        off: Off::Nothing,
        stub: 0.0,
        together: 1,
    };
    if centred {
        if let Some(Aside::Centres { drill, anew, discs }) = aside {
            // Room for the holes themselves, and for the true ones before them.
            let deep = drill.depth() + 1.0;
            let first = centres::usual(bar).depth() + 1.0;
            way.stub = match (discs, anew) {
                (true, _) => (first.max(deep) + 4.0).ceil(),
                (false, true) => first.ceil() + deep.ceil(),
                (false, false) => 0.0,
            };
        }
        return way;
    }
    let first = sides(t)[0];
    let turned = reach(t, first, bar);
    let wanted = grip(bar);
    // With nothing turned the bar is held anywhere, as long as the jaws have enough of it.
    let facing = shop.map_or(1.5, |s| s.tools.facing);
    let enough = if turned < 1e-9 {
        long + 2.0 * facing - least_grip(bar) >= CLEAR
    } else {
        long - turned >= wanted
    };
    if enough {
        return way;
    }
    way.grip = wanted;
    let tail = on_tailstock(part, t, first, spindle_bore);
    let inside = t
        .bores
        .iter()
        .filter(|b| b.throw.is_none() && b.blind.is_none())
        .map(crate::part::Opening::diameter)
        .fold(
            match part.section {
                Section::Tube([_, d]) => d,
                _ => 0.0,
            },
            f64::max,
        );
    let outside = end_diameter(t, !first).max(if reach(t, !first, bar) > 0.0 {
        bar
    } else {
        0.0
    });
    let parted = !tail
        && long + PARTING <= SLENDER * bar
        && (outside - inside) / 2.0 <= PART_THROUGH
        && !matches!(part.section, Section::Flat(_));
    way.off = if parted { Off::Parted } else { Off::Sawn };
    if tail {
        return way;
    }
    let each = way.each(t, shop);
    let through = lathe.is_none_or(|l| bar <= l.spindle_bore);
    let most = if through {
        (LONGEST - wanted) / each
    } else {
        // All stand out of the chuck at once.
        2.0 * bar / each
    };
    let most = (most.max(1.0) as usize).min(part.count.max(1));
    let blanks = part.count.max(1).div_ceil(most);
    way.together = part.count.max(1).div_ceil(blanks);
    way
}

/// How eccentrics are turned; none where there are none.
fn aside(
    t: &Turned,
    bar: f64,
    hollow: bool,
    spindle_bore: f64,
    holds: &dyn Fn(Holding) -> bool,
) -> Option<Aside> {
    let mut places: Vec<[f64; 2]> = vec![[0.0, 0.0]];
    for [e, angle] in t.steps.iter().filter_map(|s| s.throw) {
        let at = [e * angle.cos(), e * angle.sin()];
        if !places
            .iter()
            .any(|p| (p[0] - at[0]).hypot(p[1] - at[1]) < 1e-6)
        {
            places.push(at);
        }
    }
    if places.len() < 2 {
        return None;
    }
    let throw = places.iter().map(|p| p[0].hypot(p[1])).fold(0.0, f64::max);
    let slender = t.length() > SLENDER * bar;
    let turned = |s: &Step| s.throw.is_none();
    let in_chuck = || {
        let chuck = holds(Holding::ThreeJaw) || holds(Holding::FourJaw);
        [true, false]
            .into_iter()
            .filter(|_| chuck)
            .find_map(|left| {
                reachable(t, left, bar, [spindle_bore, 0.0], &turned)
                    .into_iter()
                    .find(|s| {
                        // Jaws at the outer end of what they hold: how far the eccentrics stand out of them.
                        let far = t
                            .steps
                            .iter()
                            .filter(|e| e.throw.is_some())
                            .map(|e| if left { e.to - s.to } else { s.from - e.from })
                            .fold(0.0, f64::max);
                        s.throw.is_none()
                            && far <= SLENDER * s.diameter
                            && s.length() >= 8.0
                            && s.thread.is_none()
                            && throw < s.diameter / 2.0
                    })
                    .and_then(|s| t.steps.iter().position(|o| std::ptr::eq(o, s)))
            })
    };
    let chucked = in_chuck().map(Aside::Chuck);
    if !slender && let Some(found) = chucked {
        return Some(found);
    }
    let between = || {
        if hollow || !holds(Holding::Centres) {
            return None;
        }
        let apart = |all: &[[f64; 2]]| {
            let mut least = f64::INFINITY;
            for (i, a) in all.iter().enumerate() {
                for b in &all[..i] {
                    least = least.min((a[0] - b[0]).hypot(a[1] - b[1]));
                }
            }
            least
        };
        let usual = centres::usual(bar);
        // A centre of half the usual size still carries light cuts (common practice).
        let fits = |all: &[[f64; 2]]| {
            centres::largest(apart(all) - 0.3, usual.pilot)
                .filter(|c| c.pilot >= usual.pilot / 2.0 - 1e-9)
        };
        let inside = |c: &Centre, d: f64| throw + c.cone / 2.0 + 1.0 <= d / 2.0;
        let ends = end_diameter(t, false).min(end_diameter(t, true));
        let (drill, anew) = match (fits(&places), fits(&places[1..])) {
            (Some(c), _) => (c, false),
            (None, Some(c)) => (c, true),
            (None, None) => return None,
        };
        let discs = !inside(&drill, ends);
        if discs && (anew || !inside(&drill, bar)) {
            return None;
        }
        Some(Aside::Centres { drill, anew, discs })
    };
    Some(between().or(chucked).unwrap_or(Aside::No))
}

impl Way<'_> {
    /// Steps that are turned from an end, from the chuck outward. Between centres the dog sits on the other end, so what lies there waits.
    pub(crate) fn steps<'t>(&self, t: &'t Turned, right: bool) -> Vec<&'t Step> {
        let mut all = steps_of(t, right);
        if self.held != Held::Centres || self.stub > 0.0 {
            return all;
        }
        let first = sides(t)[0];
        let far = if first {
            t.steps.first()
        } else {
            t.steps.last()
        };
        let Some(far) = far.filter(|s| s.throw.is_none() && t.steps.len() > 1) else {
            return all;
        };
        let has = |all: &[&Step]| all.iter().any(|s| std::ptr::eq(*s, far));
        if right == first {
            all.retain(|s| !std::ptr::eq(*s, far));
        } else if !has(&all) {
            all.insert(0, far);
        }
        all
    }

    /// What one part takes of a blank that has a length for the chuck: the part, what is faced off it, and the cut that takes it off.
    pub fn each(&self, t: &Turned, shop: Option<&Shop>) -> f64 {
        let facing = shop.map_or(1.5, |s| s.tools.facing);
        let cut = match self.off {
            Off::Nothing => 0.0,
            Off::Parted => PARTING,
            Off::Sawn => shop.and_then(|s| s.saws.first()).map_or(1.5, |s| s.kerf),
        };
        t.length() + facing + cut
    }

    /// Length of a blank, mm, before it is rounded to what is sawn.
    pub fn blank(&self, t: &Turned, shop: Option<&Shop>) -> f64 {
        let facing = shop.map_or(1.5, |s| s.tools.facing);
        if self.off == Off::Nothing {
            t.length() + 2.0 * self.stub + 2.0 * facing
        } else {
            facing + self.together as f64 * self.each(t, shop) + self.grip
        }
    }

    /// How many blanks a count of parts takes.
    pub fn blanks(&self, count: usize) -> usize {
        count.div_ceil(self.together.max(1))
    }
}
