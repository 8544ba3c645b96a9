//! Joints as holes: where parts turn about a pin of their own, how large it is, which hole goes with it.

use super::plate::shaft_of;
use crate::finding::{Finding, Grade};
use crate::part::Plate;
use crate::words;
use elements::fits_iso::{self, Class};
use machine::Machine;
use machine::fitting::{Cut, Fitted, HeldBy, Sized};
use machine::making::Of;
use machine::model::{PartId, PartKind, PointId};
use machine::work::{JointAt, Section};

fn h7(nominal: f64) -> Option<Sized> {
    of_class(nominal, "H7")
}

pub(crate) fn of_class(nominal: f64, text: &str) -> Option<Sized> {
    let class = Class::parse(text).ok()?;
    Some(Sized {
        nominal,
        class: text.to_owned(),
        limits: fits_iso::limits(class, nominal).ok()?,
        source: fits_iso::source(class),
        assumed: true,
    })
}

/// The bore of an arm for its shaft: the hole class of its fit, else H7.
pub(super) fn shaft_bore(
    machine: &Machine,
    part: Option<PartId>,
    centre: PointId,
) -> Option<Fitted> {
    let part = part?;
    let shaft = shaft_of(machine, part)?;
    let bar = match machine
        .work
        .parts
        .get(shaft)?
        .stock
        .as_ref()
        .map(|s| s.section)
    {
        Some(Section::Round(d) | Section::Tube([d, _])) => Some(d),
        _ => None,
    };
    // The step on which it sits, where the file says where that is.
    let nominal = crate::seats::seat(machine, part)
        .map(|s| s.diameter)
        .or_else(|| joint_size(machine, centre))
        .or(bar)?;
    let class = match machine
        .work
        .parts
        .get(part)?
        .held_by
        .as_ref()
        .map(|h| &h.by)
    {
        Some(HeldBy::Press { fit }) => fit.split('/').next().unwrap_or("H7").to_owned(),
        _ => "H7".to_owned(),
    };
    let size = of_class(nominal, &class).or_else(|| h7(nominal))?;
    Some(Fitted::Plain {
        cut: Cut::Bore,
        size,
    })
}

pub(crate) fn joint_size(machine: &Machine, point: PointId) -> Option<f64> {
    let mut joints = machine.work.joints.iter();
    let joint = joints.find(|j| j.at == JointAt::Point(point));
    let written = joint.and_then(|j| j.pin.as_ref().map(|p| p.nominal));
    // The pin is as large as the hole that a part has for it.
    let goes_through = || {
        let mut holes = machine.work.holes.iter().filter(|h| h.point == point);
        holes.find_map(|h| match &h.fitted {
            Fitted::Plain { size, .. } => Some(size.nominal),
            _ => None,
        })
    };
    written
        .or_else(goes_through)
        .or(joint.and_then(|j| j.diameter))
}

/// Joints of this part that have no hole in it: its pin has nothing to go through.
pub(super) fn unmade(
    machine: &Machine,
    of: &Of,
    plate: &Plate,
    name: &str,
    findings: &mut Vec<Finding>,
) {
    let Of::Part(_) = of else { return };
    let mut lacking: Vec<(&str, String)> = Vec::new();
    for (mark, _) in &plate.marks {
        let Some(point) = machine.points.iter().position(|p| p.name == *mark) else {
            continue;
        };
        if !is_joint(machine, point) {
            continue;
        }
        let diameter =
            joint_size(machine, point).map_or_else(|| "8".to_owned(), |d| words::number(d, 2));
        lacking.push((mark.as_str(), diameter));
    }
    let Some((mark, diameter)) = lacking.first() else {
        return;
    };
    let points: Vec<String> = lacking.iter().map(|(m, _)| words::spoken(m)).collect();
    let they = if points.len() > 1 {
        "they are"
    } else {
        "it is"
    };
    findings.push(Finding::new(
        Grade::WayRound,
        name,
        format!(
            "{} turns about {}, but no hole is written there: {they} only marked",
            words::spoken(name),
            points.join(", ")
        ),
        format!(
            "write `hole.{mark} = {{ ream = \"{diameter} H7\" }}`{} in its part, or a `diameter` in [joint.{mark}]",
            if points.len() > 1 { " and the others" } else { "" }
        ),
    ));
}

/// Two parts or rods meet at a point, neither of them about an eccentric, none of them in a slot.
fn is_joint(machine: &Machine, point: PointId) -> bool {
    let others = machine
        .parts
        .iter()
        .filter(|p| p.carries.contains(&point))
        .count();
    let rods = machine
        .rods
        .iter()
        .filter(|r| r.joins.contains(&point))
        .count();
    // The centre of an eccentric is no hole, and a pin in a slot is none of the slotted part's.
    let turned = machine
        .parts
        .iter()
        .any(|p| p.kind == PartKind::Shaft && p.carries.contains(&point));
    others + rods >= 2 && !turned
}

/// Points where parts turn about a pin of their own, and its diameter.
pub(crate) fn pins(machine: &Machine) -> Vec<(PointId, f64)> {
    let all = 0..machine.points.len();
    all.filter(|&p| is_joint(machine, p))
        .filter_map(|p| Some((p, joint_size(machine, p)?)))
        .collect()
}

/// A joint's pin goes through every part that meets there.
pub(super) fn default_hole(machine: &Machine, of: &Of, point: PointId) -> Option<Fitted> {
    if !matches!(of, Of::Part(_) | Of::Frame(_)) {
        return None;
    }
    if !is_joint(machine, point) {
        return None;
    }
    let size = h7(joint_size(machine, point)?)?;
    Some(Fitted::Plain {
        cut: Cut::Ream,
        size,
    })
}
