use super::{Answered, Given, INCH, POUND, named};
use elements::bearings::play::{Group, bore_limits, clearance, left, outside_limits};
use elements::bearings::{find, life, rod_ends};
use elements::fits_iso::{Class, limits};
use elements::press::{STEEL, inner_ring, outer_ring};
use elements::{Fit, Limits};

pub(crate) fn answer(ask: &str, g: &Given) -> Option<Answered> {
    Some(match ask {
        "bearing" => bearing(g),
        "rod end" => rod_end(g),
        "inner ring" => inner_ring(
            g.number("bore_mm"),
            g.number("inner_raceway_mm"),
            g.number("effective_interference_mm"),
            0.0,
            STEEL,
        )
        .map(|r| super::Answer::One(r.clearance_lost)),
        "outer ring" => outer_ring(
            g.number("od_mm"),
            g.number("outer_raceway_mm"),
            g.number("effective_interference_mm"),
            g.number("housing_od_mm"),
            STEEL,
        )
        .map(|r| super::Answer::One(r.clearance_lost)),
        "clearance" => groups(g),
        "clearance left" => Ok(clearance_left(g)),
        "ring bore" => ring(bore_limits, g),
        "ring outside" => ring(outside_limits, g),
        "bearing on shaft" => on_shaft(g),
        "bearing life" => lasting(g),
        "bearing needed" => needed(g),
        _ => return None,
    })
}

fn bearing(g: &Given) -> Answered {
    let b = find(g.word("designation"))?.bearing;
    let (dynamic, fixed) = b.rating.map_or((0.0, 0.0), |r| (r.dynamic, r.fixed));
    Ok(named([
        ("bore", b.bore),
        ("outside", b.outside),
        ("width", b.width),
        ("bore_in", b.bore / INCH),
        ("outside_in", b.outside / INCH),
        ("width_in", b.width / INCH),
        ("closed_width_in", b.closed_width / INCH),
        ("dynamic_kN", dynamic / 1000.0),
        ("static_kN", fixed / 1000.0),
        ("dynamic_lbf", dynamic / POUND),
        ("static_lbf", fixed / POUND),
    ]))
}

fn rod_end(g: &Given) -> Answered {
    let r = rod_ends::find(g.word("name"))?;
    // The catalogue is that of the lowest ratings.
    let [female, male] = r.light.unwrap_or_default();
    Ok(named([
        ("bore", r.bore),
        ("ball_width", r.ball_width),
        ("tilt_deg", r.tilt.to_degrees()),
        ("female_kN", female / 1000.0),
        ("male_kN", male / 1000.0),
    ]))
}

/// Just over the lower end of the step and at its upper end the same must come.
fn groups(g: &Given) -> Answered {
    let (over, to) = (g.number("bore_over_mm") + 0.001, g.number("bore_mm"));
    let normal = clearance(to, Group::Normal)?;
    let c3 = clearance(to, Group::C3)?;
    assert_eq!(clearance(over, Group::Normal)?, normal);
    assert_eq!(clearance(over, Group::C3)?, c3);
    let um = 1000.0;
    Ok(named([
        ("CN_min", normal.0 * um),
        ("CN_max", normal.1 * um),
        ("C3_min", c3.0 * um),
        ("C3_max", c3.1 * um),
    ]))
}

fn clearance_left(g: &Given) -> super::Answer {
    let clearance = g.list("clearance_um");
    let loss = g.number("loss_um");
    let (least, most) = left((clearance[0], clearance[1]), loss, loss);
    named([("least", least), ("most", most)])
}

fn ring(table: fn(f64) -> Result<Limits, elements::ElementError>, g: &Given) -> Answered {
    let at = table(g.number("size_mm"))?;
    let over = table(g.number("over_mm") + 0.001)?;
    assert_eq!(at.lower, over.lower);
    Ok(named([
        ("upper", at.upper * 1000.0),
        ("lower", at.lower * 1000.0),
    ]))
}

fn on_shaft(g: &Given) -> Answered {
    let bore = g.number("bore_mm");
    let fit = Fit {
        hole: bore_limits(bore)?,
        shaft: limits(Class::parse(g.word("class"))?, bore)?,
    };
    Ok(named([
        ("most_interference_um", -fit.least_clearance() * 1000.0),
        ("least_interference_um", -fit.most_clearance() * 1000.0),
    ]))
}

fn lasting(g: &Given) -> Answered {
    let life = life::life(
        g.number("C_kN") * 1000.0,
        g.number("P_kN") * 1000.0,
        g.number("rpm"),
    )?;
    Ok(named([
        ("million_turns", life.million_turns),
        ("hours", life.hours),
    ]))
}

fn needed(g: &Given) -> Answered {
    let needed = life::needed(
        g.number("load_kN") * 1000.0,
        g.number("rpm"),
        g.number("hours"),
        g.number("application_factor"),
    )?;
    Ok(named([
        ("ratio", needed.ratio),
        ("dynamic_kN", needed.dynamic / 1000.0),
    ]))
}
