//! Bending: outermost flanges first, each over a former at its line; holes that a bend would draw out of round come after.

use super::Step;
use super::bits::Work;
use super::holes::{On, Wanted, make};
use super::plate::mill;
use crate::finding::Grade;
use crate::letters::names;
use crate::part::{Bend, Plate};
use crate::resolve::bends::after;
use crate::words;

/// Thicker plate than this is not bent by hand in a bench vise, mm of steel (common practice).
const BY_HAND: f64 = 5.0;

/// The order of bending: what lies farther out goes first, so that the flange still reaches over the jaws.
pub(super) fn order(p: &Plate) -> Vec<&Bend> {
    let depth = |b: &Bend| {
        let (mut n, mut here) = (0, b.beyond);
        while let Some(before) = here {
            n += 1;
            here = p.bends.get(before).and_then(|b| b.beyond);
        }
        n
    };
    let mut all: Vec<&Bend> = p.bends.iter().collect();
    // Short flanges before long ones at the same place in their row.
    all.sort_by(|a, b| depth(b).cmp(&depth(a)).then(a.length.total_cmp(&b.length)));
    all
}

pub(super) fn bend(work: &mut Work, p: &Plate) {
    if p.bends.is_empty() {
        return;
    }
    let squeezer = work.shop().and_then(|s| {
        s.squeezers
            .iter()
            .filter(|s| s.vise)
            // A mallet is no friend of the mill's vise.
            .max_by(|a, b| {
                let mill = |s: &machine::equipment::Squeezer| s.name.contains("mill");
                mill(b).cmp(&mill(a)).then(a.force.total_cmp(&b.force))
            })
    });
    let vise = squeezer.map_or_else(|| "bench vise".to_owned(), |s| words::kept("vise", &s.name));
    if p.thickness > BY_HAND {
        let t = work.mm(p.thickness);
        work.finding(
            Grade::WayRound,
            format!("plate {t} thick is not bent by hand in the vise"),
            "have it bent on a press brake by the flat of the packet, bend it red hot, or make it of two plates screwed square",
        );
    }
    work.set_up(
        "Bend",
        &vise,
        "between two bars whose edges are rounded to the inside radius, plate upright, the mark where the bend begins level with the former's edge",
        "scribed lines: where each bend begins",
        8.0,
    );
    let order = order(p);
    let many = order.len() > 1;
    for (n, b) in order.iter().enumerate() {
        let i = if b.upright { "x" } else { "y" };
        let degrees = words::number(b.angle.to_degrees(), 2);
        let to = if b.front {
            "towards the face that is seen"
        } else {
            "away from the face that is seen"
        };
        let (r, begin, end) = (
            work.mm(b.radius),
            work.read(b.zone[0]),
            work.read(b.zone[1]),
        );
        work.step(Step {
            text: format!(
                "Bend {} by {degrees}° {to} round R{r}: with a wooden mallet close to the jaws over a hard block, a little further than asked and back",
                words::spoken(&b.name)
            ),
            tool: format!("formers R{r}, mallet, block"),
            at: format!("begins at {i} {begin}, ends at {i} {end}"),
            check: format!(
                "{degrees}° (protractor); flange {} outside ± {}",
                work.mm(b.length),
                work.mm(super::general(b.length).max(0.3))
            ),
            why: if many && n == 0 {
                "from the outside inward: bent the other way about, the flange would stand in the way of the jaws".to_owned()
            } else if n == 0 {
                "it springs back a degree or two when it is let go".to_owned()
            } else {
                String::new()
            },
            minutes: 6.0 + p.thickness,
            ..Step::default()
        });
    }
    let late: Vec<_> = p
        .holes
        .iter()
        .zip(names(p))
        .filter(|(h, _)| after(p, h))
        .collect();
    if late.is_empty() {
        return;
    }
    let (machine, spindle) = mill(work);
    work.set_up(
        "Holes beside the bends",
        &machine,
        "mill vise, the flange with the hole flat on parallels",
        "edge finder on the outside of the bend and on the side of the flange",
        10.0,
    );
    for (h, name) in late {
        // From the outside of its bend, as it stands now.
        let at = p
            .bends
            .iter()
            .filter_map(|b| {
                let i = usize::from(!b.upright);
                let out = b.outward[i];
                let corner = b.zone[0] + out * b.setback;
                let far = (h.at[i] - corner) * out;
                let on = far > -b.deduction && far < b.length;
                // The flange farthest out that has it.
                let depth = std::iter::successors(b.beyond, |n| p.bends.get(*n)?.beyond).count();
                on.then(|| {
                    let words = format!(
                        "{} from the outside of {}, {} {}",
                        work.read(far + b.deduction),
                        words::spoken(&b.name),
                        if b.upright { "y" } else { "x" },
                        work.read(h.at[1 - i])
                    );
                    (depth, words)
                })
            })
            .max_by_key(|found| found.0)
            .map_or_else(|| work.xy(h.at), |found| found.1);
        let wanted = Wanted {
            name: format!("{name} ({})", words::spoken(&h.name)),
            fitted: &h.fitted,
            on: On::Mill,
            at,
            blind: h.blind,
            through: h.through,
            spindle,
            count: 1,
            open: None,
            over: 0.0,
        };
        make(work, &wanted);
    }
}
