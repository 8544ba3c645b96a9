//! Turned parts: which end first, between centres or in a chuck, threads, bores, eccentrics, cross holes, flats.

use super::Step;
use super::across::{cross, flats};
use super::between::between_centres;
use super::bits::{Caution, Work};
use super::bores::{bores, has_bores};
use super::diameters::{Before, before, finish, rough, stands};
use super::held::{centre, end_for_centre, face, jaws, on_bar, steadied};
use super::off_axis::{eccentrics, offset_bores};
use super::slender::{in_steady, slender};
use super::threads::chamfers;
use crate::cut::sawn;
use crate::finding::Grade;
use crate::part::{Bore, Opening as _, Step as Diameter, Turned};
use crate::speeds::Tool;
use crate::turning::{self, Held, Off, SLENDER, Way, is_cut, reach, sides};
use crate::words;
use machine::equipment::{Holding, Lathe, Spindle};

pub(super) struct Plan<'a> {
    pub(super) lathe: Option<&'a Lathe>,
    pub(super) name: String,
    pub(super) way: Way<'a>,
}

impl Plan<'_> {
    pub(super) fn spindle(&self) -> Option<&Spindle> {
        self.lathe.map(|l| &l.speeds)
    }

    pub(super) fn bore(&self) -> f64 {
        self.lathe.map_or(f64::INFINITY, |l| l.spindle_bore)
    }

    /// A collet closes on this diameter: what goes through the spindle, an inch at the most (common practice for small lathes).
    pub(super) fn collet(&self, diameter: f64) -> bool {
        self.holds(Holding::Collets) && diameter <= self.bore().min(26.0) + 1e-9
    }

    pub(super) fn holds(&self, holding: Holding) -> bool {
        self.lathe.is_none_or(|l| l.holds.contains(&holding))
    }
}

pub(super) fn plan(work: &mut Work, t: &Turned) {
    let way = turning::way(work.part, t, work.shop());
    let lathe = way.lathe;
    let name = lathe.map_or_else(|| "lathe".to_owned(), |l| words::kept("lathe", &l.name));
    let plan = Plan { lathe, name, way };
    limits(work, t, &plan);
    webs(work, t);
    blank(work, t, &plan);
    match plan.way.held {
        Held::Chuck => {
            for (n, right) in sides(t).into_iter().enumerate() {
                in_chuck(work, t, &plan, right, n == 0);
            }
            eccentrics(work, t, &plan);
        }
        Held::Centres => between_centres(work, t, &plan),
    }
    offset_bores(work, t, &plan);
    cross(work, t);
    flats(work, t);
    super::joined::shaft(work, t);
    super::joined::hub(work);
    super::teeth::teeth(work, t.length());
    work.set_up("Finish", "bench", "soft jaws", "none", 1.0);
    super::threads::beside_eccentrics(work, t);
    for c in &t.cross {
        if let Some(arm) = super::joined::waits(work, crate::part::diameter(&c.fitted)) {
            work.step(Step {
                text: format!(
                    "Not yet {}: hub of {} and shaft are drilled and reamed together at assembly, when the readings are right",
                    words::spoken(&c.name),
                    words::spoken(&arm)
                ),
                ..Step::default()
            });
        }
    }
    work.step(Step {
        text: format!(
            "Break all edges {}, wipe, measure once more cold",
            work.mm(0.3)
        ),
        tool: "file".to_owned(),
        // Steel grows 11.5 millionths a degree.
        why: if work.bench.unit == quantity::Unit::Inch {
            "warm work reads large: 0.0005 on 2 for 36 °F".to_owned()
        } else {
            "warm work reads large: 0.01 on 40 for 20 °C".to_owned()
        },
        minutes: 2.0,
        ..Step::default()
    });
    // No file bites what is hard.
    super::harden::steps(work);
}

fn blank(work: &mut Work, t: &Turned, plan: &Plan) {
    let way = &plan.way;
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| words::kept("saw", &s.name));
    let facing = work.mm(work.shop().map_or(1.5, |s| s.tools.facing));
    work.set_up("Blank", &saw, "across the bar, clamped", "none", 2.0);
    let section = words::section(&work.part.section, work.bench.units());
    let cut = work.mm(sawn(way.blank(t, work.shop()), work.bench.unit));
    let several = if way.together > 1 {
        match way.together.min(work.part.count) {
            n if n == work.part.count => format!(" for all {n}"),
            n => format!(" for {n} of {}", work.part.count),
        }
    } else {
        String::new()
    };
    let mut why = format!("{facing} on each end to face");
    if way.off != Off::Nothing {
        why = format!(
            "{} stay in the chuck, since the part is turned over its length; {facing} to face and a cut for each part",
            work.mm(way.grip)
        );
    } else if way.stub > 0.0 {
        why = format!(
            "{} more on each end for centres that are cut away at the end; {facing} to face",
            work.mm(way.stub)
        );
    }
    work.step(Step {
        text: format!("Saw {cut} off {section}{several}"),
        tool: "saw".to_owned(),
        why,
        minutes: 2.0 + way.bar / 20.0,
        ..Step::default()
    });
}

fn limits(work: &mut Work, t: &Turned, plan: &Plan) {
    let Some(lathe) = plan.lathe else {
        if work.shop().is_some() {
            work.not_here(
                "this shop file has no lathe",
                "order the part, or add the lathe to the shop file",
            );
        }
        return;
    };
    let swings = turning::swing_of(work.part, t);
    let over = turning::room(lathe, t);
    if swings > over {
        let place = if over < lathe.swing {
            "over its slide"
        } else {
            "over its bed"
        };
        work.finding(
            Grade::Cannot,
            format!(
                "it swings {}, the lathe {} {place}",
                work.mm(swings),
                work.mm(over)
            ),
            "order the part, or make it of two pressed or welded together",
        );
    }
    let chucks = plan.holds(Holding::ThreeJaw) || plan.holds(Holding::FourJaw);
    let flat = matches!(work.part.section, machine::work::Section::Flat(_));
    if !chucks && !plan.collet(plan.way.bar) {
        let bar = work.mm(plan.way.bar);
        let has = if plan.holds(Holding::Collets) {
            format!(
                ", and its collets end at {}",
                work.mm(plan.bore().min(26.0))
            )
        } else {
            String::new()
        };
        work.finding(
            Grade::Cannot,
            format!(
                "the lathe {} has no chuck{has}: nothing holds \u{2300}{bar}",
                lathe.name
            ),
            "order the part, or get a three-jaw or four-jaw chuck",
        );
    } else if flat && !plan.holds(Holding::FourJaw) {
        work.finding(
            Grade::Cannot,
            format!(
                "no four-jaw chuck for {}",
                words::section(&work.part.section, work.bench.units())
            ),
            "order the part, or take round bar",
        );
    }
    let long = t.length() + 2.0 * plan.way.stub;
    if long > lathe.between_centres {
        work.finding(
            Grade::Cannot,
            format!(
                "it is {} long, the lathe takes {} between centres",
                work.mm(long),
                work.mm(lathe.between_centres)
            ),
            "order the part, or make it of two pieces",
        );
    }
    slender(work, t, plan);
}

/// Bores from both ends on the axis whose floors leave less than a drill's point needs.
fn webs(work: &mut Work, t: &Turned) {
    let blind = |left: bool| {
        t.bores
            .iter()
            .filter(move |b| b.throw.is_none() && b.left == left)
            .filter_map(|b| b.blind.map(|d| (d, b)))
    };
    let span = |b: &Bore| {
        let deep = b.blind.unwrap_or_else(|| t.length()).min(t.length());
        if b.left {
            [0.0, deep]
        } else {
            [t.length() - deep, t.length()]
        }
    };
    let on_axis = || t.bores.iter().filter(|b| b.throw.is_none());
    for (n, small) in on_axis().enumerate() {
        let [from, to] = span(small);
        let swallows = |(o, large): (usize, &Bore)| {
            let [a, b] = span(large);
            o != n
                && large.diameter() > small.diameter() + 1e-6
                && a <= from + 1e-6
                && b >= to - 1e-6
        };
        if let Some((_, large)) = on_axis().enumerate().find(|x| swallows(*x)) {
            let (large, small) = (work.mm(large.diameter()), work.mm(small.diameter()));
            work.finding(
                Grade::Cannot,
                format!("the bore of {large} leaves nothing of the one of {small}"),
                "give the larger one a `length`",
            );
        }
    }
    for g in &t.grooves {
        let met = on_axis().find(|b| {
            let [from, to] = span(b);
            from < g.at + g.width && g.at < to && b.diameter() > g.diameter - 1e-6
        });
        if let Some(b) = met {
            let (bore, groove) = (work.mm(b.diameter()), work.mm(g.diameter));
            work.finding(
                Grade::Cannot,
                format!("the groove to ⌀{groove} meets the bore of {bore}: the part falls in two"),
                "make the groove shallower, or the bore shorter",
            );
        }
    }
    for (l, a) in blind(true) {
        for (r, b) in blind(false) {
            let web = t.length() - l - r;
            let point = |b: &Bore| {
                if crate::part::cut(&b.fitted) == Some(machine::fitting::Cut::Bore) {
                    0.0
                } else {
                    crate::resolve::depths::POINT * b.diameter()
                }
            };
            let most = point(a).max(point(b));
            if web < -1e-9 || most < web - 0.5 {
                continue;
            }
            let (web, most) = (work.mm(web), work.mm(most));
            work.finding(
                Grade::Cannot,
                format!("{web} of metal is left between the bores of both ends, a drill's point is {most} long and comes through"),
                "make one of them shallower, or give it a flat floor: `bore` in place of `drill` or `ream`",
            );
        }
    }
}

/// The face that lengths count from, and where it is while stubs are on.
pub(super) fn zero(work: &Work, plan: &Plan, right: bool) -> String {
    let side = if right { "right" } else { "left" };
    if plan.way.stub > 0.0 {
        format!(
            "{} inside the {side} face is zero lengthwise: so much is cut off this end later",
            work.read(plan.way.stub)
        )
    } else {
        format!("face of the {side} end is zero lengthwise")
    }
}

/// Shorter than this beyond its clearance nothing is left for plain jaws, mm (common practice).
const THIN: f64 = 4.0;

/// A disc too thin for plain jaws: bored soft jaws seat it.
fn seated(work: &Work, t: &Turned, plan: &Plan, bar: f64) -> super::held::Jaws {
    let deep = (0.6 * t.length()).max(1.0);
    let chuck = if plan.holds(Holding::ThreeJaw) {
        "three-jaw chuck"
    } else {
        "four-jaw chuck"
    };
    super::held::Jaws {
        words: format!(
            "{chuck}, soft jaws (or a ring of packing behind it) bored ⌀{} and {} deep, the disc tapped home against their floor",
            work.mm(t.largest().min(bar)),
            work.mm(deep)
        ),
        minutes: 12.0,
        out: t.length() - deep + 0.5,
        least: 0.0,
    }
}

/// One end from the chuck; the free end on the tailstock where it is long.
fn in_chuck(work: &mut Work, t: &Turned, plan: &Plan, right: bool, first: bool) {
    let side = if right { "right" } else { "left" };
    let bar = plan.way.bar;
    let out = reach(t, right, bar);
    let tail = turning::on_tailstock(work.part, t, right, plan.bore());
    let done: Vec<f64> = if first {
        Vec::new()
    } else {
        plan.way
            .steps(t, !right)
            .iter()
            .filter(|s| is_cut(s, bar))
            .map(|s| s.from)
            .collect()
    };
    let turned = |s: &Diameter| done.contains(&s.from);
    let close = !first
        && plan
            .way
            .steps(t, right)
            .iter()
            .any(|s| s.class.is_some() && is_cut(s, bar))
        && t.steps.iter().any(|s| s.class.is_some() && turned(s));
    let whole = sawn(plan.way.blank(t, work.shop()), work.bench.unit);
    let held = if first {
        // Room for the tool before the jaws.
        let out = if plan.way.off == Off::Nothing {
            // What is left in the jaws goes first where little is turned.
            let most = whole - turning::least_grip(bar);
            (out.max(10.0) + 5.0).min(most.max(out + turning::CLEAR))
        } else if plan.way.off == Off::Parted {
            plan.way.each(t, work.shop()) + 2.0
        } else {
            t.length() + 4.0
        };
        super::held::Jaws {
            words: on_bar(work, plan),
            minutes: 6.0,
            out,
            least: 0.0,
        }
    } else if t.length() < turning::CLEAR + THIN {
        seated(work, t, plan, bar)
    } else {
        jaws(work, t, plan, right, close, &turned)
    };
    let title = if first {
        format!("Turn the {side} end")
    } else {
        format!("Turn round: the {side} end")
    };
    let to = (!first).then(|| t.length());
    if tail {
        let stands = if first {
            turning::stands(whole, bar)
        } else {
            held.out
        };
        let more = steadied(work, plan, (1.5 * bar).max(15.0), stands);
        work.set_up(
            &format!("Face and centre the {side} end"),
            &plan.name,
            format!("{}{more}", held.words),
            zero(work, plan, right),
            held.minutes,
        );
        work.caution(Caution::Chuck);
        if first {
            super::held::indicated(work, plan, held.out);
        }
        face(work, plan, right, to, bar);
        let shown = work.mm(out);
        centre(
            work,
            plan,
            end_for_centre(t, plan, right),
            format!(
                "{shown} stands out of the chuck when it is turned: without a centre it springs away from the tool"
            ),
        );
        work.set_up(
            &title,
            &plan.name,
            format!(
                "{}, {} of it in the jaws; the tailstock centre brought up{}",
                held.words,
                work.mm(turning::grip(bar)),
                in_steady(work, t, plan)
            ),
            zero(work, plan, right),
            4.0,
        );
    } else {
        // What does not go through the spindle stands out as a whole.
        let need = if first {
            held.out
        } else {
            (out.max(10.0) + 5.0).max(held.least)
        };
        let stands = if first {
            (turning::stands(whole, bar)).max(held.out.min(whole))
        } else {
            held.out
        };
        let more = steadied(work, plan, need, stands);
        work.set_up(
            &title,
            &plan.name,
            format!("{}{more}", held.words),
            zero(work, plan, right),
            held.minutes,
        );
        work.caution(Caution::Chuck);
        if first {
            super::held::indicated(work, plan, held.out);
        }
        face(work, plan, right, to, bar);
    }
    if let Some(lathe) = plan.lathe
        && bar <= lathe.spindle_bore
        && whole > 250.0
    {
        work.caution(Caution::LongStock);
    }
    let through = t
        .bores
        .iter()
        .any(|b| b.throw.is_none() && b.blind.is_none());
    if tail {
        diameters(work, t, plan, right);
        edges(work, t, plan, right);
        if has_bores(t, right, first) {
            let more = steadied(work, plan, (1.5 * bar).max(15.0), t.length());
            work.set_up(
                &format!("Bore the {side} end"),
                &plan.name,
                format!("{}{more}, the tailstock centre taken away", held.words),
                zero(work, plan, right),
                6.0,
            );
            bores(work, t, plan, right, first);
        }
    } else if through && first {
        // Drilling heats and pushes: outside sizes come after it.
        rough_all(work, t, plan, right);
        bores(work, t, plan, right, first);
        finish_all(work, t, plan, right);
        edges(work, t, plan, right);
    } else {
        diameters(work, t, plan, right);
        edges(work, t, plan, right);
        bores(work, t, plan, right, first);
    }
    if first {
        take_off(work, t, plan, right);
    }
}

/// Takes the part off the bar.
fn take_off(work: &mut Work, t: &Turned, plan: &Plan, right: bool) {
    let side = if right { "right" } else { "left" };
    let spare = 0.5;
    let at = t.length() + spare;
    let next = if plan.way.together > 1 {
        "; then the bar forward, and the next from facing on"
    } else {
        ""
    };
    match plan.way.off {
        Off::Nothing => {}
        Off::Parted => {
            let rpm = work
                .rpm(Tool::Boring, plan.way.bar, plan.spindle())
                .map(|r| r / 2.0);
            let rpm = rpm.map(|r| plan.spindle().map_or(r, |s| s.at_most(r)));
            work.step(Step {
                text: format!(
                    "Part off {} long: {} is left to face{next}",
                    work.mm(at),
                    work.mm(spare)
                ),
                tool: format!("parting tool {}", work.mm(turning::PARTING)),
                rpm,
                at: format!("{} from the {side} face", work.read(at)),
                minutes: 3.0,
                ..Step::default()
            });
            work.caution(Caution::Parting);
        }
        Off::Sawn => work.step(Step {
            text: format!(
                "Saw it off {} long: {} is left to face{next}",
                work.mm(at + 0.5),
                work.mm(spare + 0.5)
            ),
            tool: "saw".to_owned(),
            why: "too long or too thick to part off: the tool would dig in".to_owned(),
            minutes: 4.0,
            ..Step::default()
        }),
    }
}

/// Roughs and finishes what is turned from an end.
pub(super) fn diameters(work: &mut Work, t: &Turned, plan: &Plan, right: bool) {
    let bar = plan.way.bar;
    let out = reach(t, right, bar);
    let thin = out > SLENDER * bar && !turning::on_tailstock(work.part, t, right, plan.bore());
    if thin && plan.way.held == Held::Chuck && out > 0.0 {
        // No centre goes into the end: the bar behind has to stay thick until the end is done.
        let mut steps = plan.way.steps(t, right);
        steps.reverse();
        for s in steps {
            // Nothing larger is roughed before it.
            if s.diameter < bar - 1e-6 {
                rough(work, t, s, plan, right, bar);
            }
            finish(work, t, s, plan, right);
        }
        return;
    }
    rough_all(work, t, plan, right);
    finish_all(work, t, plan, right);
}

/// Everything is roughed before anything is finished: heat and spring are out of it by then.
fn rough_all(work: &mut Work, t: &Turned, plan: &Plan, right: bool) {
    for s in plan.way.steps(t, right) {
        if s.diameter < plan.way.bar - 1e-6 {
            let from = stands(t, s, plan, right);
            rough(work, t, s, plan, right, from);
        }
    }
}

fn finish_all(work: &mut Work, t: &Turned, plan: &Plan, right: bool) {
    let all = plan.way.steps(t, right);
    for (n, s) in all.iter().enumerate() {
        // Where another one of its size was finished over it, it is done.
        let done = all[..n].iter().any(|o| {
            let over = if right {
                o.from <= s.from + 1e-9
            } else {
                o.to >= s.to - 1e-9
            };
            over && o.diameter == s.diameter
                && o.class.is_none()
                && s.class.is_none()
                && o.thread.is_none()
                && s.thread.is_none()
                && is_cut(s, plan.way.bar)
                && before(t, o, plan, right) == Before::Free
        });
        if !done {
            finish(work, t, s, plan, right);
        }
    }
}

/// Grooves, chamfers, then threads: a die or a tool starts on a chamfer.
pub(super) fn edges(work: &mut Work, t: &Turned, plan: &Plan, right: bool) {
    let side = if right { "right" } else { "left" };
    let steps = plan.way.steps(t, right);
    let bar = plan.way.bar;
    let mut own: Vec<&machine::making::Groove> = t
        .grooves
        .iter()
        .filter(|g| turning::grooved_from(t, g, bar) == right)
        .collect();
    own.sort_by(|a, b| a.at.total_cmp(&b.at));
    for g in own {
        let rpm = work.rpm(Tool::Boring, g.diameter, plan.spindle());
        let (near, far) = if right {
            (t.length() - g.at - g.width, t.length() - g.at)
        } else {
            (g.at, g.at + g.width)
        };
        let check = format!("bottom {}", work.mm(g.diameter));
        work.step(Step {
            text: format!(
                "Groove {} wide to ⌀{}",
                work.mm(g.width),
                work.mm(g.diameter)
            ),
            tool: "grooving tool".to_owned(),
            rpm,
            at: format!(
                "from {} to {} of the {side} face",
                work.read(near),
                work.read(far)
            ),
            check,
            minutes: 3.0,
            ..Step::default()
        });
    }
    for s in steps.iter().filter(|s| s.thread.is_some()) {
        super::threads::relief(work, t, s, plan, right);
    }
    chamfers(work, t, right, plan);
    for s in steps.iter().filter(|s| s.thread.is_some()) {
        super::threads::thread(work, t, s, plan, right);
    }
}
