//! Teeth, one space after another with a form cutter; the table is turned by one tooth in between.

use super::Step;
use super::bits::Work;
use crate::finding::Grade;
use crate::gears::Teeth;
use crate::speeds::Tool;
use crate::words;
use elements::gears::form_cutter;
use machine::equipment::{GearCutters, Shop};

/// Usual diameter of a form cutter of small modules, mm (common practice).
const CUTTER: f64 = 50.0;
/// So many places stand on the sheet itself.
const LISTED: u32 = 60;
/// Left for the last pass, mm (common practice).
const LAST: f64 = 0.2;

/// Cuts the teeth of a blank that is so wide.
pub(super) fn teeth(work: &mut Work, face: f64) {
    let Some(teeth) = work.part.teeth.clone() else {
        return;
    };
    let z = teeth.spur.teeth;
    let Some(marked) = teeth.cutter() else {
        work.finding(
            Grade::Cannot,
            format!("{z} teeth: sets of form cutters begin at 12"),
            "order it hobbed by the table on its drawing, or take 12 teeth or more",
        );
        return;
    };
    rim(work, &teeth);
    let size = teeth.size();
    // Without a shop file every usual tool is taken to be there.
    if let Some(shop) = work.shop() {
        if shop.rotary_tables.is_empty() || shop.mills.is_empty() {
            work.finding(
                Grade::Cannot,
                format!("nothing in this shop divides into {z}"),
                "turn the blank and have the teeth cut by the table on its drawing, or add a rotary table and a mill to the shop file",
            );
            return;
        }
        lacking(work, shop, &teeth, &size, &marked);
    }
    let (machine, spindle) = super::plate::mill(work);
    let (table, turns) = match work.rotary() {
        Some(table) => (
            format!(
                "{} upright, tailstock centre against the arbor",
                words::kept("rotary table", &table.name)
            ),
            divided(table.ratio, z),
        ),
        None => (
            "rotary table upright, tailstock centre against the arbor".to_owned(),
            String::new(),
        ),
    };
    work.set_up(
        "Cut the teeth",
        &machine,
        format!("blank tight on an arbor through its bore, {table}"),
        "cutter on a stub arbor, lying level beside the blank: its middle at the height of the blank's axis (touch the blank above and below, halve); y zero where it just marks the tip circle, depth by y; the table locked along it",
        25.0,
    );
    // A table of this size stands its centre about so high when upright (common practice: a little over half its diameter and its base).
    if let Some(table) = work.rotary() {
        let tip = teeth.spur.geometry().map_or(0.0, |g| g.outside / 2.0);
        let high = 0.5 * table.diameter + 25.0;
        if tip > high {
            let (tip, high) = (work.mm(tip), work.mm(high));
            work.finding(
                Grade::WayRound,
                format!("the blank reaches {tip} from its axis, the rotary table stands its centre about {high} high when upright"),
                "set it over the edge of the mill's table or on blocks, check before the teeth are begun; or have them cut",
            );
        }
    }
    let rpm = work.rpm(Tool::EndMill, CUTTER, spindle);
    let tool = format!("form cutter {size}, {marked}");
    let (deep, first) = (work.mm(teeth.depth()), work.read(teeth.depth() - LAST));
    work.step(Step {
        text: "Touch every tooth place lightly, all the way round".to_owned(),
        tool: tool.clone(),
        rpm,
        at: format!(
            "{}° a tooth{turns}; read from zero, never step on step: {}, … (dividing.csv)",
            words::number(360.0 / f64::from(z), 4),
            from_zero(z, work.rotary().map(|t| t.dial))
        ),
        check: format!("{z} marks, the last as far from the first as all others"),
        why: "a wrong count of turns shows here, not in the metal".to_owned(),
        minutes: 0.4 * f64::from(z),
        ..Step::default()
    });
    if z <= LISTED {
        let dial = work.rotary().map(|t| t.dial);
        let all: Vec<String> = (0..z)
            .map(|n| words::number(reading(n, z, dial), 3))
            .collect();
        work.step(Step {
            text: format!(
                "The places of the table, degrees from zero: {}",
                all.join(", ")
            ),
            ..Step::default()
        });
    }
    work.step(Step {
        text: format!(
            "Cut all spaces to {first}, table locked for each, always turned the same way"
        ),
        tool: tool.clone(),
        rpm,
        feed: Some(0.1),
        at: format!("y {first} in"),
        why: "the dividing worm has backlash: coming back goes past the place and up to it again"
            .to_owned(),
        minutes: f64::from(z) * (0.8 + face / 30.0),
        ..Step::default()
    });
    let check = match (teeth.span(), teeth.over_pins()) {
        (Some((over, span)), _) => format!("span over {over} teeth {}", work.read(span)),
        (None, Some((pin, size))) => {
            format!("over two pins ⌀{} {}", work.mm(pin), work.read(size))
        }
        _ => String::new(),
    };
    // A span over k teeth lies between two spaces k apart, pins lie as nearly opposite as can be.
    let apart = teeth.span().map_or(z / 2, |(over, _)| over);
    work.step(Step {
        text: format!(
            "The first space and the one {apart} further on to {deep}; measure from one to the other; correct the depth; then all"
        ),
        tool,
        rpm,
        feed: Some(0.1),
        at: format!("y {} in", work.read(teeth.depth())),
        check,
        why: "neighbouring spaces have one tooth between them; what is over the span comes off in depth 1.5 times at 20° (1 / (2 sin φ))".to_owned(),
        minutes: f64::from(z) * (0.6 + face / 30.0) + 5.0,
        ..Step::default()
    });
}

/// Metal between the teeth's root and a track in the same disc: one and a half modules carry a tooth (common practice: 1.5 to 2).
fn rim(work: &mut Work, teeth: &Teeth) {
    let crate::part::Form::Plate(p) = &work.part.form else {
        return;
    };
    let Ok(g) = teeth.spur.geometry() else { return };
    let least = 1.5 * teeth.spur.module;
    let walls: Vec<(String, f64)> = p
        .cams
        .iter()
        .filter_map(|c| {
            let outer = c.outer.as_ref()?;
            let far = outer.vertices.iter().map(|v| v.at[0].hypot(v.at[1]));
            Some((
                words::spoken(&c.name),
                g.root / 2.0 - far.fold(0.0, f64::max),
            ))
        })
        .collect();
    for (name, wall) in walls.into_iter().filter(|w| w.1 < least) {
        let (left, wants) = (work.mm(wall.max(0.0)), work.mm(least));
        work.finding(
            Grade::WayRound,
            format!(
                "{left} of metal is left between the track {name} and the root of the teeth: {wants} is the least that carries them"
            ),
            "a smaller track or roller, more teeth or a larger module; or teeth on a rim of their own beside the track",
        );
    }
}

/// The angle of a tooth place as the table shows it, rounded by itself, degrees.
pub fn reading(tooth: u32, teeth: u32, dial: Option<f64>) -> f64 {
    let exact = 360.0 * f64::from(tooth) / f64::from(teeth);
    match dial.map(f64::to_degrees).filter(|d| *d > 0.0) {
        Some(step) => (exact / step).round() * step,
        None => exact,
    }
}

/// The first places in words.
fn from_zero(teeth: u32, dial: Option<f64>) -> String {
    let shown: Vec<String> = (0..teeth.min(4))
        .map(|n| format!("{}°", words::number(reading(n, teeth, dial), 3)))
        .collect();
    shown.join(", ")
}

/// A form cutter that is not in the drawer, and the nearest way round.
fn lacking(work: &mut Work, shop: &Shop, teeth: &Teeth, size: &str, marked: &str) {
    let Ok(wanted) = form_cutter(teeth.spur.teeth) else {
        return;
    };
    let same = |c: &&GearCutters| (c.module - teeth.spur.module).abs() < 1e-3 * c.module;
    // Number of a set by diametral pitch, whichever set a cutter is of.
    let number = |c: &GearCutters, n: usize| if c.by_pitch { n } else { 9 - n };
    let own: Vec<usize> = shop
        .tools
        .gear_cutters
        .iter()
        .filter(same)
        .flat_map(|c| c.numbers.iter().map(move |&n| number(c, n)))
        .collect();
    let wanted = usize::try_from(wanted.number).unwrap_or(0);
    if own.contains(&wanted) {
        return;
    }
    // The next cutter for fewer teeth leaves flanks a little full at the tip; one for more teeth undercuts nothing but leaves them thin.
    let near = own.iter().copied().filter(|n| *n == wanted + 1).min();
    let borrow = "buy or borrow this one cutter, order the gear by the table on its drawing, or grind a fly cutter to the space of its template";
    let advice = match near {
        Some(_) => format!(
            "the cutter for the next fewer teeth that is there leaves more round flanks: it does for a slow pair; else {borrow}"
        ),
        None => borrow.to_owned(),
    };
    work.finding(
        Grade::WayRound,
        format!("no form cutter {size}, {marked}"),
        advice,
    );
}

/// Turns of the handle for one tooth.
fn divided(ratio: f64, teeth: u32) -> String {
    format!(
        ", {} turns of the handle",
        words::number(ratio / f64::from(teeth), 4)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_rounded_each_by_itself() {
        let dial = Some(0.05_f64.to_radians());
        assert_eq!(from_zero(17, dial), "0°, 21.2°, 42.35°, 63.55°");
        let worst = (0..=17)
            .map(|n| (reading(n, 17, dial) - 360.0 * f64::from(n) / 17.0).abs())
            .fold(0.0, f64::max);
        assert!(worst <= 0.025 + 1e-9, "{worst}");
    }

    #[test]
    fn a_worm_of_ninety_turns_five_times_for_eighteen() {
        assert_eq!(divided(90.0, 18), ", 5 turns of the handle");
        assert_eq!(divided(90.0, 54), ", 1.6667 turns of the handle");
    }
}
