use super::{Answer, Answered, Given, INCH, KPSI, POUND, POUND_INCH, named, one};
use elements::columns::{self, Ends, Section};
use elements::contact::{self, Body};
use elements::gears::{self, Spur};
use elements::pins_lugs::{Lug, pin_shear};
use elements::shafts::fatigue::{self, Criterion, Loads, Strengths};
use elements::shafts::{self, Round};
use elements::{keys, stock};
use std::f64::consts::PI;

pub(crate) fn answer(ask: &str, g: &Given) -> Option<Answered> {
    Some(match ask {
        "column" => column(g),
        "column transition" => one(columns::transition(
            g.number("C"),
            g.number("E_GPa") * 1000.0,
            g.number("yield_MPa"),
        )),
        "column diameter" => column_diameter(g),
        "column ends" => Ok(column_ends(g)),
        "shaft" => shaft(g),
        "shaft twist" => one(shafts::twist(
            round(g.number("d_mm")),
            g.number("T_Nm") * 1000.0,
            g.number("L_mm"),
            g.number("G_GPa") * 1000.0,
        )
        .map(f64::to_degrees)),
        "beam in the middle" => beam(g),
        "shaft fatigue" => shaft_fatigue(g),
        "pin shear" => one(pin_shear(
            g.number("force_N"),
            g.number("pin_mm"),
            g.count("planes"),
        )),
        "lug" => lug(g),
        "hertz line" => hertz_line(g),
        "hertz shear" => hertz_shear(g),
        "key stress" => key_stress(g),
        "parallel key" => parallel_key(g),
        "square key" => square_key(g),
        "woodruff key" => woodruff(g),
        "lewis" => gears::lewis_y(g.count("teeth")).map(|l| Answer::One(l.big_y)),
        "contact ratio" => contact_ratio(g),
        "spur" => spur(g),
        "over pins" => {
            one(Spur::standard(g.number("module"), g.count("teeth")).over_pins(g.number("pin_mm")))
        }
        "fewest teeth" => fewest_teeth(g),
        "gear pair apart" => gears_apart(g),
        "gear tooth" => gear_tooth(g),
        _ => return None,
    })
}

fn round(diameter: f64) -> Round {
    Round {
        diameter,
        bore: 0.0,
    }
}

fn column(g: &Given) -> Answered {
    let column = columns::column(
        Section::Round(g.number("d_mm")),
        g.number("length_mm"),
        g.number("C"),
        g.number("E_GPa") * 1000.0,
        g.number("yield_MPa"),
    )?;
    Ok(Answer::One(column.critical / g.number("factor")))
}

fn column_diameter(g: &Given) -> Answered {
    let (thrust, factor, length) = (
        g.number("thrust_N"),
        g.number("factor"),
        g.number("length_mm"),
    );
    let (c, e) = (g.number("C"), g.number("E_GPa") * 1000.0);
    let d = columns::euler_diameter(thrust, factor, length, c, e)?;
    let bars: Vec<f64> = (30..=50).map(f64::from).collect();
    let yields = g.number("yield_MPa");
    let bar = columns::smallest_round(&bars, thrust, factor, length, c, e, yields)?;
    assert_eq!(stock::smallest(&bars, d, 0.0)?, bar);
    Ok(named([("d_mm", d), ("choose", bar.unwrap_or_default())]))
}

fn column_ends(g: &Given) -> Answer {
    let ends = match g.word("ends") {
        "rounded-rounded" => Ends::Pinned,
        "fixed-rounded" => Ends::FixedPinned,
        "fixed-fixed" => Ends::Fixed,
        other => panic!("ends {other}"),
    };
    named([
        ("theory", ends.theory()),
        ("recommended", ends.recommended()),
    ])
}

fn shaft(g: &Given) -> Answered {
    let s = shafts::stress(
        round(g.number("d_mm")),
        g.number("moment_Nm") * 1000.0,
        g.number("torque_Nm") * 1000.0,
        0.0,
    )?;
    Ok(named([("greatest_shear", s.greatest_shear)]))
}

fn beam(g: &Given) -> Answered {
    let section = round(g.number("d_mm"));
    let (force, span) = (g.number("F_N"), g.number("L_mm"));
    let stiffness = g.number("E_GPa") * 1000.0 * section.inertia()?;
    let b = shafts::supported(span, span / 2.0, force, stiffness)?;
    let s = shafts::stress(section, b.moment, 0.0, 0.0)?;
    Ok(named([
        ("sigma_MPa", s.bending),
        ("defl_mm", b.under_force),
    ]))
}

fn shaft_fatigue(g: &Given) -> Answered {
    let loads = Loads {
        bending_alternating: g.number("bending_alternating_lbf_in") * POUND_INCH,
        bending_steady: 0.0,
        torque_alternating: 0.0,
        torque_steady: g.number("torque_steady_lbf_in") * POUND_INCH,
        kf: g.number("Kf"),
        kfs: g.number("Kfs"),
    };
    let strengths = Strengths {
        endurance: g.number("endurance_kpsi") * KPSI,
        tensile: g.number("tensile_kpsi") * KPSI,
        yields: g.number("yield_kpsi") * KPSI,
    };
    let criterion = match g.word("criterion") {
        "Goodman" => Criterion::Goodman,
        "Gerber" => Criterion::Gerber,
        "elliptic" => Criterion::Elliptic,
        "Soderberg" => Criterion::Soderberg,
        other => panic!("criterion {other}"),
    };
    let [fatigue, _] = fatigue::check(&loads, g.number("d_in") * INCH, &strengths, criterion)?;
    Ok(Answer::One(fatigue.factor()))
}

fn lug(g: &Given) -> Answered {
    let lug = Lug {
        thickness: g.number("t_mm"),
        hole: g.number("hole_mm"),
        pin: g.number("hole_mm"),
        edge: g.number("edge_mm"),
        width: g.number("width_mm"),
    };
    let s = lug.stress(g.number("force_N"))?;
    Ok(named([
        ("pressure", s.pressure),
        ("tear_out", s.tear_out),
        ("tear_out_40", s.tear_out_40),
    ]))
}

fn hertz_line(g: &Given) -> Answered {
    let body = |radius: f64| Body {
        radius,
        youngs: g.number("E_GPa") * 1000.0,
        poisson: g.number("nu"),
    };
    let second = g.number_or("d2_mm", f64::INFINITY) / 2.0;
    let c = contact::line(
        body(g.number("d1_mm") / 2.0),
        body(second),
        g.number("l_mm"),
        g.number("F_N"),
    )?;
    Ok(named([
        ("half_width", c.half_width),
        ("pressure", c.pressure),
    ]))
}

/// Shear and its depth over pressure and half width, at the pressure of the case.
fn hertz_shear(g: &Given) -> Answered {
    let body = |radius: f64| Body {
        radius,
        youngs: 207_000.0,
        poisson: g.number("nu"),
    };
    let c = contact::line(body(10.0), body(20.0), 10.0, 1000.0)?;
    Ok(named([
        ("shear", c.shear / c.pressure * g.number("pmax_MPa")),
        ("depth_over_b", c.depth / c.half_width),
    ]))
}

fn key_stress(g: &Given) -> Answered {
    let s = keys::stress(
        g.number("torque_Nm") * 1000.0,
        g.number("shaft_mm"),
        g.number("b_mm"),
        g.number("h_mm") / 2.0,
        g.number("length_mm"),
    )?;
    Ok(named([("shear", s.shear), ("pressure", s.pressure)]))
}

fn parallel_key(g: &Given) -> Answered {
    let key = keys::parallel(g.number("shaft_mm"))?;
    assert_eq!(keys::parallel(g.number("over_mm") + 0.01)?, key);
    Ok(named([
        ("b", key.width),
        ("h", key.height),
        ("t1", key.in_shaft),
        ("t2", key.in_hub),
    ]))
}

fn square_key(g: &Given) -> Answered {
    let key = keys::square_inch(g.number("shaft_in") * INCH)?;
    assert_eq!(
        keys::square_inch((g.number("over_in") + 0.001) * INCH)?,
        key
    );
    Ok(Answer::One(key.width / INCH))
}

fn woodruff(g: &Given) -> Answered {
    let key = keys::woodruff(g.count("number"))?;
    Ok(named([
        ("width", key.width / INCH),
        ("diameter", key.diameter / INCH),
        ("height", key.height / INCH),
    ]))
}

fn contact_ratio(g: &Given) -> Answered {
    let teeth: Vec<u32> = g.list("teeth").iter().map(|z| *z as u32).collect();
    let pair = gears::pair(
        &Spur::standard(1.0, teeth[0]),
        &Spur::standard(1.0, teeth[1]),
        None,
    )?;
    Ok(Answer::One(pair.contact_ratio))
}

fn spur(g: &Given) -> Answered {
    let spur = Spur {
        shift: g.number_or("shift", 0.0),
        ..Spur::standard(g.number("module"), g.count("teeth"))
    };
    let s = spur.geometry()?;
    Ok(named([
        ("pitch", s.pitch),
        ("outside", s.outside),
        ("root", s.root),
        ("base", s.base),
        ("circular_pitch", s.circular_pitch),
        ("thickness", s.thickness),
        ("half_angle_deg", s.half_angle.to_degrees()),
        ("chordal_thickness", s.chordal_thickness),
        ("chordal_addendum", s.chordal_addendum),
    ]))
}

fn fewest_teeth(g: &Given) -> Answered {
    let f = gears::fewest_teeth(
        g.number("pressure_deg").to_radians(),
        g.number("k"),
        g.number("ratio"),
    )?;
    Ok(named([
        ("equal", f.equal.ceil()),
        ("with_ratio", f.with_ratio.ceil()),
        ("with_rack", f.with_rack.ceil()),
    ]))
}

fn gears_apart(g: &Given) -> Answered {
    let teeth: Vec<u32> = g.list("teeth").iter().map(|z| *z as u32).collect();
    let module = gears::module_of_pitch(g.number("pitch_per_in"))?;
    let (a, b) = (
        Spur::standard(module, teeth[0]),
        Spur::standard(module, teeth[1]),
    );
    let tight = gears::pair(&a, &b, None)?;
    let apart = gears::pair(&a, &b, Some(tight.centres + g.number("apart_in") * INCH))?;
    Ok(named([
        ("p_in", a.geometry()?.circular_pitch / INCH),
        ("C_in", tight.centres / INCH),
        ("rb1_in", a.geometry()?.base / 2.0 / INCH),
        ("rb2_in", b.geometry()?.base / 2.0 / INCH),
        ("phi_new_deg", apart.pressure_angle.to_degrees()),
    ]))
}

fn gear_tooth(g: &Given) -> Answered {
    let module = gears::module_of_pitch(g.number("pitch_per_in"))?;
    let teeth = g.count("teeth");
    let speed = PI * module * f64::from(teeth) * g.number("rpm") / 60_000.0;
    let check = gears::bending(
        &Spur::standard(module, teeth),
        g.number("face_in") * INCH,
        g.number("force_lbf") * POUND,
        speed,
        g.number("bears_kpsi") * KPSI,
    )?;
    Ok(Answer::One(check.factor()))
}
