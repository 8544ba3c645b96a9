use super::{Answer, Answered, Given, INCH, named, one};
use elements::hand::{self, Opening};
use elements::{cutting, friction_couples, materials, practice, setups};

const FOOT: f64 = 0.3048;

pub(crate) fn answer(ask: &str, g: &Given) -> Option<Answered> {
    Some(match ask {
        "spindle" => spindle(g),
        "drill and ream speed" => cutting::find(g.word("material"))
            .map(|s| named([("drill", s.drill / FOOT), ("ream", s.ream / FOOT)])),
        "turning speed" => cutting::find(g.word("material"))
            .map(|s| Answer::Range(s.turn.0 / FOOT, s.turn.1 / FOOT)),
        "drill feed" => drill_feed(g),
        "ream stock" => cutting::ream_stock(g.number("hole_mm")).map(|(a, b)| Answer::Range(a, b)),
        "ream stock inch" => ream_stock_inch(g),
        "packing" => packing(g),
        "bolt hole" => bolt_hole(g),
        "bolt chord" => one(setups::bolt_chord(g.number("pcd_mm"), g.count("holes"))),
        "sine bar" => one(setups::sine_bar(
            g.number("bar_mm"),
            g.number("angle_deg").to_radians(),
        )),
        "taper" => {
            one(
                setups::taper_half_angle(g.number("D_mm"), g.number("d_mm"), g.number("L_mm"))
                    .map(f64::to_degrees),
            )
        }
        "three wires" => three_wires(g),
        "lead correction" => one(setups::lead_correction(
            g.number("wire_mm"),
            g.number("lead_angle_deg").to_radians(),
        )
        .map(|mm| mm * 1000.0)),
        "lever" => lever(g),
        "lug sweep" => setups::lug_sweep(g.number("taper_deg").to_radians(), true)
            .map(|sweep| named([("sweep_deg", sweep.to_degrees())])),
        "cutter radius" => one(setups::cutter_radius(
            g.number("radius_mm"),
            g.number("cutter_mm"),
            true,
        )),
        "basic force" => hand::basic_force(g.word("action"))
            .map(|f| named([("professional", f.professional), ("domestic", f.domestic)])),
        "zones" => Ok(named([
            ("recommended_up_to", hand::ZONES.0),
            ("avoid_above", hand::ZONES.1),
        ])),
        "lever force" => Ok(lever_force(g)),
        "crush gap" => one(hand::crush_gap(g.word("part"))),
        "guard distance" => guard_distance(g),
        "material" => material(g),
        "friction" => {
            friction_couples::find(g.word("couple")).map(|c| Answer::Range(c.least, c.most))
        }
        "practice" => practice::find(g.word("rule")).map(|r| Answer::Range(r.least, r.most)),
        _ => return None,
    })
}

fn spindle(g: &Given) -> Answered {
    if g.0["speed_ft_min"].is_number() {
        let speed = g.number("speed_ft_min") * FOOT;
        return one(cutting::spindle(speed, g.number("d_in") * INCH));
    }
    one(cutting::spindle(g.number("speed_m_min"), g.number("d_mm")))
}

fn drill_feed(g: &Given) -> Answered {
    let at = cutting::drill_feed(g.number("d_in") * INCH)?;
    assert_eq!(
        cutting::drill_feed((g.number("over_in") + 0.012) * INCH)?,
        at
    );
    Ok(Answer::Range(at.0 / INCH, at.1 / INCH))
}

fn ream_stock_inch(g: &Given) -> Answered {
    let at = cutting::ream_stock_inch(g.number("hole_in") * INCH - 1e-6)?;
    assert_eq!(
        cutting::ream_stock_inch(g.number("from_in") * INCH + 1e-6)?,
        at
    );
    Ok(Answer::Range(at.0 / INCH, at.1 / INCH))
}

fn packing(g: &Given) -> Answered {
    let p = setups::packing(g.number("D_mm"), g.number("e_mm"))?;
    Ok(named([
        ("narrow", p.narrow),
        ("flat", p.flat),
        ("series", p.series),
    ]))
}

fn bolt_hole(g: &Given) -> Answered {
    let (x, y) = setups::bolt_hole(
        g.number("pcd_mm"),
        g.count("holes"),
        g.number("start_deg").to_radians(),
        g.count("index"),
    )?;
    Ok(named([("x", x), ("y", y)]))
}

fn three_wires(g: &Given) -> Answered {
    let unit = if g.0["tpi"].is_number() { INCH } else { 1.0 };
    let w = if g.0["tpi"].is_number() {
        setups::three_wires(
            g.number("pitch_diameter_in") * INCH,
            INCH / g.number("tpi"),
            None,
        )?
    } else {
        setups::three_wires(g.number("pitch_diameter_mm"), g.number("P_mm"), None)?
    };
    Ok(named([("best", w.best / unit), ("over", w.over / unit)]))
}

fn lever(g: &Given) -> Answered {
    let l = setups::lever(
        g.number("big_mm"),
        g.number("small_mm"),
        g.number("centres_mm"),
    )?;
    Ok(named([
        ("side_deg", l.side.to_degrees()),
        ("sweep_small_deg", l.sweep_small.to_degrees()),
        ("sweep_big_deg", l.sweep_big.to_degrees()),
        ("straight", l.straight),
    ]))
}

fn lever_force(g: &Given) -> Answer {
    let control = g.word("control");
    let lever = hand::LEVERS.iter().find(|l| l.control == control);
    let (least, most) = lever.expect("a control").most;
    if least == most {
        Answer::One(most)
    } else {
        Answer::Range(least, most)
    }
}

fn guard_distance(g: &Given) -> Answered {
    let opening = g.number("opening_to_mm");
    let at = |shape| hand::guard_distance(opening, shape);
    Ok(named([
        ("slot", at(Opening::Slot)?),
        ("square", at(Opening::Square)?),
        ("round", at(Opening::Round)?),
    ]))
}

fn material(g: &Given) -> Answered {
    let m = materials::find(g.word("material"))?;
    Ok(named([
        ("yield_MPa", m.yields.unwrap_or(0.0)),
        ("tensile_MPa", m.tensile),
        ("E_GPa", m.youngs / 1000.0),
        ("density_g_cm3", m.density * 1e6),
        ("expansion", m.expansion),
    ]))
}
