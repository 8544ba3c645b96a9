//! Seats of what holds an arm on its shaft: keyways, set screws, slits; what waits for assembly is said.

use super::Step;
use super::angles::{Zero, found_by, reference};
use super::bits::{Caution, Work};
use crate::finding::Grade;
use crate::joined::{Joined, SLIT, What, clearance, tap_drill};
use crate::part::Turned;
use crate::resolve::of_class;
use crate::speeds::Tool;
use crate::words;
use machine::equipment::Spindle;

fn mill<'a>(work: &Work<'a>) -> (String, Option<&'a Spindle>) {
    match (work.mill(), work.drill_press()) {
        (Some(m), _) => (words::kept("mill", &m.name), Some(&m.speeds)),
        (None, Some(d)) => (words::kept("drill press", &d.name), Some(&d.speeds)),
        _ => ("mill".to_owned(), None),
    }
}

fn width(work: &Work, class: &str, w: f64) -> String {
    of_class(w, class).map_or_else(
        || work.mm(w),
        |s| words::sized(w, Some(&s), work.bench.units()),
    )
}

/// Seats in a hub.
pub(super) fn hub(work: &mut Work) {
    let part = work.part;
    for j in part.joined.iter().filter(|j| !j.in_shaft) {
        match &j.what {
            What::Key(k) => hub_keyway(work, j, k.width, k.in_hub, k.over),
            What::SetScrew { thread, count } => set_screws(work, j, thread, *count),
            What::Pinch { thread, count } => pinch(work, j, thread, *count),
            What::Pin(_) | What::Nothing => {}
        }
    }
}

fn hub_keyway(work: &mut Work, j: &Joined, wide: f64, deep: f64, over: f64) {
    let lathe = work
        .shop()
        .and_then(|s| s.lathes.first())
        .map_or_else(|| "lathe".to_owned(), |l| words::kept("lathe", &l.name));
    // How far the part reaches from its bore: it neither turns to be trued, nor does it pass the bed.
    let reach = match &work.part.form {
        crate::part::Form::Plate(p) => p
            .outline
            .vertices
            .iter()
            .map(|v| v.at[0].hypot(v.at[1]))
            .fold(0.0, f64::max),
        crate::part::Form::Turned(t) => t.largest() / 2.0,
    };
    let turns = work.lathe().is_none_or(|l| 2.0 * reach < l.swing);
    let away = away(work);
    let holding = if turns {
        format!(
            "four-jaw chuck or faceplate, the bore run true, {away} turned from the tool; spindle locked"
        )
    } else {
        format!(
            "bolted to the faceplate, {away} turned from the tool and up, clear of the bed; the bore brought true on a close plug in the tailstock, the spindle not turned: locked"
        )
    };
    work.set_up(
        "Keyway in the hub",
        &lathe,
        holding,
        "both corners of the tool touch the bore: zero of the cross slide",
        15.0,
    );
    let holds = work.lathe().is_none_or(|l| {
        use machine::equipment::Holding;
        l.holds.contains(&Holding::FourJaw) || l.holds.contains(&Holding::Faceplate)
    });
    if !holds {
        work.finding(
            Grade::WayRound,
            "no four-jaw chuck or faceplate for the keyway in the hub",
            "a broach in a guide bush, pushed through in the press; or file it to lines, the key as gauge",
        );
    }
    let shown = width(work, "JS9", wide);
    let to = work.mm(j.shaft + deep);
    // A flat tool touches the round bore with its corners, above the middle of its wall.
    let r = j.shaft / 2.0;
    let touched = r + deep - (r * r - wide * wide / 4.0).max(0.0).sqrt();
    let cuts = words::number((touched / 0.05).ceil(), 0);
    let slack = work.mm(over);
    let feed = work.mm(0.05);
    let read = work.read(touched);
    let bore_deep = work.mm(deep);
    work.step(Step {
        text: format!(
            "Slot the keyway {shown} wide on the side away from {away}: tool ground to width on its side in a bar, the saddle pushed to and fro by hand, {cuts} strokes of {feed} and two without feed"
        ),
        tool: format!("slotting tool {}", work.mm(wide)),
        at: format!("{read} from where its corners touch: {bore_deep} from the middle of the bore's wall"),
        check: format!("over bore and keyway {to} (+{slack} / 0); the key goes in with a push"),
        why: "after the bore: its size and place are measured from it; a broach in a guide bush does the same in the press".to_owned(),
        minutes: 25.0,
        ..Step::default()
    });
}

/// What a seat in a hub lies away from: the arm, of a disc the first point beside its bore.
fn away(work: &Work) -> String {
    let crate::part::Form::Plate(p) = &work.part.form else {
        return "the arm".to_owned();
    };
    if crate::ops::is_disc(p).is_none() && p.cams.is_empty() {
        return "the arm".to_owned();
    }
    let off = |at: &[f64; 2]| at[0].hypot(at[1]) > 1e-6;
    let hole = p.holes.iter().filter(|h| off(&h.at)).map(|h| &h.name);
    let mark = p.marks.iter().filter(|m| off(&m.1)).map(|m| &m.0);
    hole.chain(mark)
        .next()
        .map_or_else(|| "the arm".to_owned(), |name| words::spoken(name))
}

fn set_screws(work: &mut Work, j: &Joined, thread: &quantity::Thread, count: u32) {
    let (machine, spindle) = mill(work);
    let away = away(work);
    let arm = away == "the arm";
    work.set_up(
        "Set screws in the hub",
        &machine,
        if arm {
            "vise, the arm pointing down, square by its side; the bore level across the jaws".to_owned()
        } else {
            format!("vise, soft packing on what is finished, the line from the bore to {away} scribed across the face and upright by a square, {away} down; the bore level across the jaws")
        },
        "edge finder on both sides of the hub: zero over the bore's axis; its free face is zero along it",
        8.0,
    );
    for n in 0..count {
        if n > 0 {
            work.step(Step {
                text: if arm {
                    "Turn the arm a quarter, square by its side".to_owned()
                } else {
                    "Turn it a quarter: the scribed line level by a square".to_owned()
                },
                tool: "square".to_owned(),
                minutes: 3.0,
                ..Step::default()
            });
        }
        let drill = tap_drill(thread);
        let rpm = work.rpm(Tool::Drill, drill, spindle);
        work.step(Step {
            text: format!(
                "Centre and drill through the wall into the bore, then tap {}",
                thread.name
            ),
            tool: format!("drill {}, tap {}", words::number(drill, 1), thread.name),
            rpm,
            at: from_face(work, j),
            check: "the burr in the bore taken off: the shaft goes through".to_owned(),
            minutes: 6.0,
            ..Step::default()
        });
    }
    work.caution(Caution::Drilling);
}

fn pinch(work: &mut Work, j: &Joined, thread: &quantity::Thread, count: u32) {
    let (machine, spindle) = mill(work);
    work.set_up(
        "Slit and pinch screw",
        &machine,
        "vise, hub up at its side, the arm along the jaws",
        "edge finder: zero over the bore's axis; the hub's free face is zero along it",
        10.0,
    );
    let at = work.read(j.screw_at(thread.major));
    let drill = tap_drill(thread);
    let rpm = work.rpm(Tool::Drill, drill, spindle);
    let each = if count > 1 {
        format!("{count} places along the hub, evenly: ")
    } else {
        String::new()
    };
    work.step(Step {
        text: format!(
            "{each}Spot-face the hub beside the bore, centre and drill {} right through, open to {} as far as the middle, tap {} beyond it",
            words::number(drill, 1),
            work.mm(clearance(thread.major)),
            thread.name
        ),
        tool: format!(
            "end mill, drills {} and {}, tap {}",
            words::number(drill, 1),
            work.mm(clearance(thread.major)),
            thread.name
        ),
        rpm,
        at: format!(
            "{at} from the bore's axis, on the side away from the arm; {}",
            from_face(work, j)
        ),
        check: "the screw runs in by hand".to_owned(),
        why: "before the slit, while the hub is still stiff".to_owned(),
        minutes: 12.0 * f64::from(count),
        ..Step::default()
    });
    work.step(Step {
        text: format!(
            "Slit the hub {} wide from outside into the bore, across the screw",
            work.mm(SLIT)
        ),
        tool: "slitting saw, or hacksaw with two blades".to_owned(),
        at: "on the line from the arm through the axis".to_owned(),
        check: "the shaft goes in by hand and holds with the screw tight".to_owned(),
        why: "after bore and reamer: the slit lets them spring".to_owned(),
        minutes: 10.0,
        ..Step::default()
    });
    work.caution(Caution::SmallPart);
}

/// Where a screw stands along the hub.
fn from_face(work: &Work, j: &Joined) -> String {
    let from = work.read(j.screw_from_face());
    if j.under > 0.0 {
        format!(
            "{from} from the face of the ring: the middle of the ring, clear of the brazed seam"
        )
    } else {
        format!("{from} from the hub's face")
    }
}

/// The largest end mill that is smaller than a keyway.
fn smaller(work: &Work, width: f64) -> Option<f64> {
    let mills = work.shop()?.tools.end_mills.iter().copied();
    mills.filter(|d| *d < width - 0.3).max_by(f64::total_cmp)
}

/// Keyways in a shaft.
pub(super) fn shaft(work: &mut Work, t: &Turned) {
    let part = work.part;
    let mut first: Option<Zero> = None;
    for j in part.joined.iter().filter(|j| j.in_shaft) {
        let What::Key(k) = &j.what else { continue };
        let (machine, spindle) = mill(work);
        if work.shop().is_some() && work.mill().is_none() {
            work.finding(
                Grade::Cannot,
                format!("no mill for the keyway of {}", words::spoken(&j.other)),
                "have it milled, or hold the arm with a pin, drilled with its hub at assembly",
            );
        }
        work.set_up(
            "Keyway",
            &machine,
            "two V-blocks or the vise, the shaft level along the table",
            "edge finder on both sides of the shaft: zero over its axis; cutter touched down on top of it: zero in height; left face is zero lengthwise",
            10.0,
        );
        // Where nothing else says a direction, the first keyway does for the next.
        let zero = match (reference(work, t), &first) {
            (Zero::Free, Some(Zero::Keyway(angle, name))) => Zero::Keyway(*angle, name.clone()),
            (zero, _) => zero,
        };
        first.get_or_insert_with(|| Zero::Keyway(j.angle, words::spoken(&j.other)));
        if let Some(text) = found_by(work, t, &zero, j.angle, true) {
            work.step(Step {
                text,
                tool: "indicator, protractor".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
        }
        let shown = width(work, "P9", k.width);
        let rpm = work.rpm(Tool::EndMill, k.disc.unwrap_or(k.width), spindle);
        let at = match (j.middle, k.disc) {
            (None, _) => "where the hub sits".to_owned(),
            (Some(m), Some(_)) => format!("{} from the left face", work.read(m)),
            (Some(m), None) => {
                let cutter = smaller(work, k.width).unwrap_or(k.width);
                let half = (j.length - cutter) / 2.0;
                // Where no wall would stand the cutter comes in from outside.
                let open = [m - j.length / 2.0, t.length() - m - j.length / 2.0];
                let [left, right] = open.map(|wall| wall < k.width / 2.0 - 1e-9);
                let from = if left { -k.width } else { m - half };
                let to = if right {
                    t.length() + k.width
                } else {
                    m + half
                };
                let clear = match (left, right) {
                    (false, false) => "",
                    (true, _) => ", in from the left end",
                    (false, true) => ", out through the right end",
                };
                format!(
                    "middle of the cutter from {} to {}{clear}",
                    work.read(from),
                    work.read(to)
                )
            }
        };
        let deep = work.mm(k.in_shaft);
        let over = work.mm(j.shaft - k.in_shaft);
        let slack = work.mm(k.over);
        let feed = work.mm(0.5);
        // P9 is narrower than a cutter of that name cuts: a smaller one comes to width by its sides.
        let smaller = smaller(work, k.width);
        let (tool, text) = match k.disc {
            Some(d) => (
                format!("Woodruff cutter {} x {}", work.mm(d), work.mm(k.width)),
                format!("Sink the seat {shown} wide, {deep} deep, straight in"),
            ),
            None => match smaller {
                Some(d) => (
                    work.tool("end mill", d),
                    format!(
                        "Mill the keyway down the middle, {deep} deep, cuts of {feed}; then each side by the dial until it is {shown} wide"
                    ),
                ),
                None => (
                    format!(
                        "slot drill {}, ground to the tight side (e8)",
                        work.mm(k.width)
                    ),
                    format!(
                        "Mill the keyway {shown} wide, {deep} deep, cuts of {feed}, along its middle only"
                    ),
                ),
            },
        };
        work.step(Step {
            text,
            tool,
            rpm,
            at: format!("{at}, z −{}", work.read(k.in_shaft)),
            check: format!("from its floor to the far side {over} (0 / -{slack}); the key goes in with light taps"),
            why: "a cutter of the key's own width cuts wider than the key and runs to one side".to_owned(),
            minutes: 20.0,
            ..Step::default()
        });
    }
}

/// Whether a hole across waits for assembly: it is that of the pin of an arm.
pub(super) fn waits(work: &Work, hole: f64) -> Option<String> {
    work.part.joined.iter().find_map(|j| match j.what {
        What::Pin(d) if j.in_shaft && (d - hole).abs() < 0.1 => Some(j.other.clone()),
        _ => None,
    })
}
