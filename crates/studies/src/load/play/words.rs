//! Lost motion in a machinist's words.

use crate::answers::{Finding, Held, Inside, Severity};
use crate::load::answers::{ReadingPlay, TakeUp};
use crate::load::rig::Rig;
use crate::load::say;

/// What takes less than this share of a spring's force works against it with next to nothing.
const NEXT_TO_NOTHING: f64 = 0.01;

pub(super) fn finding(
    rig: &Rig<'_>,
    reading: usize,
    read: &Option<ReadingPlay>,
    case: &str,
) -> Option<Finding> {
    let read = read.as_ref().filter(|r| r.rattles > 0.0)?;
    let r = &rig.model.machine.readings[reading];
    let show = |v: f64| say::fine(v, r.unit);
    let most = read
        .joints
        .first()
        .map(|j| format!(", most of it in {}", j.joint))
        .unwrap_or_default();
    let back = read.reversals.iter().filter(|r| r.jumps > 0.0).map(|r| {
        let lost = r
            .lost
            .map(|l| format!(" ({} of it)", crate::say::short(l, r.drive.unit)))
            .unwrap_or_default();
        let left = if r.left == 0.0 {
            String::from("springs and weights take all of that up")
        } else if r.left < r.jumps {
            format!("{} of that is left with springs and weights", show(r.left))
        } else {
            String::from("no spring or weight takes that up")
        };
        let left = match r.left_under {
            _ if r.left == 0.0 => left,
            0.0 => format!("{left}, the load takes all of it up"),
            under => format!("{left}, {} under {case}", show(under)),
        };
        format!(
            "; when {} turns back with nothing pressing it loses {}{lost}, {left}",
            r.drive.name,
            show(r.jumps)
        )
    });
    let back: String = back.collect();
    let shift = if read.taken_up[0] == read.taken_up[1] {
        show(read.taken_up[1])
    } else {
        format!("{} to {}", show(read.taken_up[0]), show(read.taken_up[1]))
    };
    let sentence = format!(
        "{} may rattle by ± {}{most}; under {case} play is taken up and shifts it by {shift}{back}",
        r.name,
        show(read.rattles)
    );
    Some(Finding {
        severity: Severity::Note,
        sentence,
        number: Some(read.rattles),
        margin: None,
        inside: Some(Inside::of(r.unit)),
        what_to_try: None,
        about: format!("reading.{}", r.name),
        place: r.place,
    })
}

/// "at crank = 170 deg and set = 0 deg, under embossing".
pub(super) fn place(rig: &Rig<'_>, held: &[Held], case: &str) -> String {
    let drives = &rig.model.machine.drives;
    let drives: Vec<String> = held
        .iter()
        .filter(|h| drives.iter().any(|d| d.name == h.quantity.name))
        .map(|h| crate::say::at(&h.quantity, h.value))
        .collect();
    if drives.is_empty() {
        format!("under {case}")
    } else {
        format!("at {}, under {case}", crate::run::list(&drives))
    }
}

pub(super) fn spring_finding(rig: &Rig<'_>, up: &TakeUp, place: &str) -> Option<Finding> {
    let spring = rig.work().springs.iter().find(|s| s.name == up.spring)?;
    let turns = matches!(spring.kind, machine::work::SpringKind::Torsion { .. });
    let show = |v: f64| say::either(v, turns, &rig.model.machine);
    // What is too little to be told is nothing: nobody winds a spring to a hundredth of its force.
    let needed = up.needed?;
    let joint = up
        .joint
        .as_ref()
        .filter(|_| needed > NEXT_TO_NOTHING * up.force);
    let inside = Inside::of_load(turns);
    let enough = up.force >= needed;
    // What others hold on its far side is seated all the same.
    let outdone = !enough && up.stays_over;
    let mut sentence = match joint {
        Some(joint) if outdone => format!(
            "spring {} does not decide where {joint} lies {place}: it gives {}, weights and other springs press it the other way with what {} would make up for, and keep it seated there",
            up.spring,
            show(up.force),
            show(needed)
        ),
        Some(joint) if !enough => format!(
            "spring {} is too weak to keep {joint} seated {place}: it gives {}, weights and other springs ask for {}, and the load presses it over",
            up.spring,
            show(up.force),
            show(needed)
        ),
        Some(_) => format!(
            "spring {} keeps every joint that it presses seated {place}, while nothing works: it gives {}, where weights and other springs ask for {}",
            up.spring,
            show(up.force),
            show(needed)
        ),
        None => format!(
            "spring {} keeps every joint that it presses seated {place}, while nothing works, with {}: next to nothing but friction works against it",
            up.spring,
            show(up.force)
        ),
    };
    if let (Some(at_work), Some(joint)) = (up.needed_at_work, &up.joint_at_work)
        && enough
        && at_work > up.force
    {
        sentence += &format!(
            "; the load presses {joint} over to its other side all the same, to stop that it would need {}",
            show(at_work)
        );
    }
    Some(Finding {
        severity: if enough || outdone {
            Severity::Note
        } else {
            Severity::Caution
        },
        sentence,
        number: Some(needed),
        margin: Some(up.force - needed),
        inside: Some(inside),
        what_to_try: (!enough && !outdone).then(|| {
            String::from(
                "make the spring stronger, or let a weight press the joint to the same side",
            )
        }),
        about: format!("spring.{}", up.spring),
        place: spring.place,
    })
}

/// What spring would take up the play of a reading.
pub(super) fn wanted_finding(
    rig: &Rig<'_>,
    reading: usize,
    read: &ReadingPlay,
    place: &str,
) -> Option<Finding> {
    let wanted = read.wanted.as_ref()?;
    let r = rig.model.machine.readings.get(reading)?;
    let turns = r.unit.kind() == quantity::Kind::Angle;
    let show = |v: f64| say::either(v, turns, &rig.model.machine);
    let way = match (turns, wanted.opens) {
        (true, true) => "turns it counter-clockwise",
        (true, false) => "turns it clockwise",
        (false, true) => "pushes it open",
        (false, false) => "pulls it shut",
    };
    // A force that would be told as 0.00 asks for nothing.
    let told = show(wanted.force);
    let asks = wanted.joint.as_ref();
    let asks = asks.filter(|_| told.contains(|c: char| matches!(c, '1'..='9')));
    let force = match asks {
        Some(joint) => format!(
            "with at least {told} {place}, which {joint} asks for, and what friction takes on top"
        ),
        None => {
            String::from("with a little more than friction takes: next to nothing works against it")
        }
    };
    let cannot = if wanted.cannot.is_empty() {
        String::new()
    } else {
        format!("; it does not reach {}", crate::run::list(&wanted.cannot))
    };
    Some(Finding {
        severity: Severity::Note,
        sentence: format!(
            "the lost motion of {} would be taken up by a spring that {way} {force}{cannot}",
            r.name
        ),
        number: Some(wanted.force),
        margin: None,
        inside: Some(Inside::of_load(turns)),
        what_to_try: None,
        about: format!("lost-motion.{}", r.name),
        place: r.place,
    })
}
