//! Tapped holes: the tap drill, or a bore of its size where no spindle turns that drill, then countersink and tap.

use super::Step;
use super::bits::Work;
use super::holes::{
    LEAST_STOCK, On, Wanted, bore_to, drill, drill_up_to, no_way, out_of_reach, push,
};
use crate::finding::Grade;
use crate::speeds::Tool;
use crate::{tap_drill, words};
use elements::threads::tap;
use quantity::Thread;

pub(super) fn tapped(
    work: &mut Work,
    hole: &Wanted,
    thread: &Thread,
    full: Option<f64>,
    depth: f64,
    deep: &str,
) {
    let has = work.shop().is_none_or(|s| {
        s.tools.taps.iter().any(|t| {
            (t.major - thread.major).abs() < 1e-6
                && (t.pitch - thread.pitch).abs() < 1e-6
                && t.left == thread.left
        })
    });
    if !has {
        let near = work.shop().and_then(|s| {
            s.tools
                .taps
                .iter()
                .min_by(|a, b| {
                    (a.major - thread.major)
                        .abs()
                        .total_cmp(&(b.major - thread.major).abs())
                })
                .map(|t| t.name.clone())
        });
        let cuts = hole.on == On::Lathe
            && work
                .lathe()
                .is_some_and(|l| l.pitches.iter().any(|p| (p - thread.pitch).abs() < 1e-6));
        let advice = match (cuts, near) {
            (true, _) => "cut it with an inside threading tool on the lathe".to_owned(),
            (_, Some(near)) => format!("buy the tap, or take {near} if the screw may be another"),
            _ => "buy the tap".to_owned(),
        };
        work.finding(
            Grade::WayRound,
            format!("no tap {} for {}", thread.name, hole.name),
            advice,
        );
        if cuts && super::threads::inside(work, hole, thread, full, depth, deep) {
            return;
        }
    }
    let found = tap_drill::for_thread(thread, work.shop());
    let (name, d) = (found.name, found.diameter);
    if !found.there {
        work.finding(
            Grade::Cannot,
            format!("no tap drill for {} at {}", thread.name, hole.name),
            format!("buy drill {name}"),
        );
    }
    if d > work.drills_to(hole.on) + 1e-6 {
        let (most, shown) = (work.mm(work.drills_to(hole.on)), work.mm(d));
        let starts = drill_up_to(work, d - LEAST_STOCK, hole.on)
            .map(|s| (s.name.clone(), s.diameter))
            .filter(|s| !out_of_reach(work, hole.on, d, s.1));
        let machine = super::plate::mill(work).0;
        let what = format!(
            "the {machine} drills up to {most}, the tap drill of {} is {shown}",
            hole.name
        );
        let Some((name, first)) = starts else {
            work.finding(
                Grade::Cannot,
                what,
                "a smaller thread, or drill it in the lathe, the part on its faceplate or in the four-jaw chuck",
            );
            no_way(work, hole);
            return;
        };
        work.finding(
            Grade::WayRound,
            what,
            "it is drilled so far and bored to the tap drill's size",
        );
        drill(work, hole, &name, first, depth, deep, String::new());
        bore_to(work, hole, [first, d], depth, deep);
        let hole = Wanted {
            name: hole.name.clone(),
            at: hole.at.clone(),
            open: Some(d),
            ..*hole
        };
        return thread_in(work, &hole, thread, full, (&name, d), depth, deep);
    }
    thread_in(work, hole, thread, full, (&name, d), depth, deep);
}

/// The thread itself, from its tap drill on.
fn thread_in(
    work: &mut Work,
    hole: &Wanted,
    thread: &Thread,
    full: Option<f64>,
    (name, d): (&str, f64),
    depth: f64,
    deep: &str,
) {
    // A blind thread needs room for the point of the tap: four pitches (common practice).
    let depth = match (hole.blind, full) {
        (Some(b), Some(_)) => b,
        _ => depth,
    };
    let deep = if hole.blind.is_some() {
        format!("{} deep", work.mm(depth))
    } else {
        deep.to_owned()
    };
    let engagement = tap::engagement(thread.major, thread.pitch, d).map_or(0.0, |e| e.handbook);
    drill(work, hole, name, d, depth, &deep, String::new());
    push(
        work,
        hole,
        Step {
            text: format!(
                "Countersink {} to {}",
                hole.name,
                work.mm(thread.major + 0.5)
            ),
            tool: "countersink 90°".to_owned(),
            rpm: work.rpm(Tool::Tap, thread.major, hole.spindle),
            why: "the first turn of a thread stands up otherwise".to_owned(),
            minutes: 0.5,
            ..Step::default()
        },
    );
    let tap_depth = match full {
        Some(f) => format!("{} deep", work.mm(f)),
        None if hole.blind.is_some() => "to the bottom".to_owned(),
        None => "through".to_owned(),
    };
    push(
        work,
        hole,
        Step {
            text: format!(
                "Tap {} {}, {tap_depth}: started square from the spindle, by hand, half a turn back for every turn",
                hole.name, thread.name
            ),
            tool: format!("tap {}", thread.name),
            check: format!(
                "screw {} goes in by hand; {} % of thread",
                thread.name,
                words::number(engagement, 0)
            ),
            why: "while the spindle still stands over the hole".to_owned(),
            minutes: 3.0,
            ..Step::default()
        },
    );
}
