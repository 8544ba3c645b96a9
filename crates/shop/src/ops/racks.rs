//! Teeth of a rack, one space after another along the table.

use super::Step;
use super::bits::Work;
use super::plate::mill;
use crate::finding::Grade;
use crate::part::Plate;
use crate::speeds::Tool;
use crate::words;

/// Usual diameter of a form cutter of small modules, mm (common practice).
const CUTTER: f64 = 50.0;
/// Left for the last pass, mm (common practice).
const LAST: f64 = 0.2;

pub(super) fn teeth(work: &mut Work, p: &Plate) {
    let Some(rack) = &p.rack else { return };
    if let Some(shop) = work.shop() {
        if shop.mills.is_empty() {
            work.finding(
                Grade::Cannot,
                "no mill for the teeth of the rack",
                "order it cut, or buy rack by the length and write [purchase] for it",
            );
            return;
        }
        // The last number of a set is that for a rack: 1 by diametral pitch, 8 by module.
        let mut own = shop.tools.gear_cutters.iter();
        let has = own.any(|c| {
            let number = if c.by_pitch { 1 } else { 8 };
            (c.module - rack.module).abs() < 1e-3 * c.module && c.numbers.contains(&number)
        });
        if !has {
            let point = work.mm(rack.point());
            work.finding(
                Grade::WayRound,
                format!("no form cutter {} for a rack (135 teeth to a rack)", rack.size()),
                format!(
                    "grind a fly cutter to {}° with a point {point} wide: the flanks of a rack are straight; or buy rack by the length",
                    words::number(2.0 * rack.angle.to_degrees(), 2)
                ),
            );
        }
    }
    let (machine, spindle) = mill(work);
    work.set_up(
        "Teeth of the rack",
        &machine,
        "long vise or clamped to the table, the toothed edge free, indicated along the table to 0.01; cutter on an arbor across the edge",
        "end of the toothed edge is zero along the table; depth zero where the cutter just marks the edge",
        20.0,
    );
    let rpm = work.rpm(Tool::EndMill, CUTTER, spindle);
    let tool = format!(
        "form cutter {}, 135 teeth to a rack, or fly cutter ground to {}°",
        rack.size(),
        words::number(2.0 * rack.angle.to_degrees(), 2)
    );
    let places: Vec<String> = (0..rack.spaces.min(4))
        .map(|n| work.read(rack.first() + f64::from(n) * rack.pitch()))
        .collect();
    let travel = work
        .mill()
        .map_or(f64::INFINITY, |m| m.travel[0].max(m.travel[1]));
    if rack.length() > travel {
        let (long, goes) = (work.mm(rack.length()), work.mm(travel));
        work.finding(
            Grade::WayRound,
            format!("the toothed edge is {long} long, the mill travels {goes}"),
            "cut it in two settings: a pin in the last space that was cut finds the first of the next",
        );
    }
    let (pitch, last) = (
        work.read(rack.pitch()),
        rack.first() + f64::from(rack.spaces.saturating_sub(1)) * rack.pitch(),
    );
    let last = work.read(last);
    let first = work.read(rack.depth() - LAST);
    work.step(Step {
        text: format!(
            "Cut {} spaces to {first}, table locked for each, always driven the same way",
            rack.spaces
        ),
        tool: tool.clone(),
        rpm,
        feed: Some(0.1),
        at: format!(
            "{pitch} from space to space; read from zero, never step on step: {}, … {last}; depth {first}",
            places.join(", ")
        ),
        check: "after the first three: three pitches between the same flanks".to_owned(),
        why: "the screw of the table has backlash, and rounding would add up from tooth to tooth".to_owned(),
        minutes: f64::from(rack.spaces) * (1.0 + rack.face / 30.0),
        ..Step::default()
    });
    let (pin, over) = rack.over_pin();
    let check = format!(
        "pin ⌀{} in a space {} over the tips",
        work.mm(pin),
        work.read(over)
    );
    work.step(Step {
        text: format!(
            "Two neighbouring spaces to {}; measure; correct the depth; then all",
            work.mm(rack.depth())
        ),
        tool,
        rpm,
        feed: Some(0.1),
        at: format!("depth {}", work.read(rack.depth())),
        check,
        why: "what the pin stands too high comes off in depth by as much".to_owned(),
        minutes: f64::from(rack.spaces) * (0.8 + rack.face / 30.0) + 5.0,
        ..Step::default()
    });
}
