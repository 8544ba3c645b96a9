use super::{Answered, Given, INCH, KPSI, POUND, POUND_INCH, named, one};
use elements::detent::{Seat, hold};
use elements::springs::compression::{Ends, stability_constant};
use elements::springs::extension::Extension;
use elements::springs::torsion::Torsion;
use elements::springs::wire::{METRIC_SIZES, find, power_law};
use elements::springs::{Correction, force_at_stress, rate, stress, wire_for};

pub(crate) fn answer(ask: &str, g: &Given) -> Option<Answered> {
    Some(match ask {
        "wahl" => one(Correction::Wahl.factor(g.number("C"))),
        "bergstrasser" => one(Correction::Bergstrasser.factor(g.number("C"))),
        "spring from force" => from_force(g),
        "spring to yield" => to_yield(g),
        "wire constants" => wire_constants(g),
        "wire strength" => wire_strength(g),
        "spring stability constant" => one(stability_constant(
            g.number("E_Mpsi") * KPSI * 1000.0,
            g.number("G_Mpsi") * KPSI * 1000.0,
        )),
        "spring stable below" => Ok(super::Answer::One(
            g.number("constant") * g.number("D_mm") / g.number("alpha"),
        )),
        "extension spring" => extension(g),
        "torsion spring" => torsion(g),
        "detent cone" => cone(g),
        "detent hole" => hole(g),
        _ => return None,
    })
}

fn ends(name: &str) -> Ends {
    match name {
        "plain" => Ends::Plain,
        "plain and ground" => Ends::PlainGround,
        "squared" => Ends::Squared,
        "square and ground" => Ends::SquaredGround,
        other => panic!("ends {other}"),
    }
}

/// The wire for the stress, the next preferred size, coils for the deflection rounded to whole ones.
fn from_force(g: &Given) -> Answered {
    let (force, c, shear) = (g.number("force_N"), g.number("index"), g.number("G_MPa"));
    let allowed = g.number("share") * g.number("tensile_MPa");
    let least = wire_for(force, c, allowed, Correction::Wahl)?;
    let wire = *METRIC_SIZES.iter().find(|d| **d >= least).expect("a wire");
    let mean = c * wire;
    let active =
        (shear * wire.powi(4) * g.number("deflection_mm") / (8.0 * mean.powi(3) * force)).round();
    let k = rate(shear, wire, mean, active)?;
    let ends = Ends::SquaredGround;
    let coils = active + ends.dead_coils();
    let solid = wire * ends.solid_coils(coils);
    let deflection = force / k;
    let free = solid + deflection + g.number("gap_per_coil_mm") * (coils - 1.0);
    Ok(named([
        ("solid", solid),
        ("deflection_actual", deflection),
        ("free", free),
        ("pitch", free / (coils - 1.0)),
        ("rate", k),
        ("stress", stress(force, wire, mean, Correction::Wahl)?),
    ]))
}

fn to_yield(g: &Given) -> Answered {
    let wire_in = g.number("wire_in");
    let (wire, mean) = (wire_in * INCH, (g.number("outside_in") - wire_in) * INCH);
    // The book's constants are in kpsi and inches.
    let tensile = power_law(g.number("A_kpsi"), g.number("m"), wire_in)? * KPSI;
    let ends = ends(g.word("ends"));
    let coils = g.number("coils");
    let k = rate(
        g.number("G_Mpsi") * KPSI * 1000.0,
        wire,
        mean,
        coils - ends.dead_coils(),
    )?;
    let force = force_at_stress(
        g.number("share") * tensile,
        wire,
        mean,
        Correction::Bergstrasser,
    )?;
    let solid = wire * ends.solid_coils(coils);
    Ok(named([
        ("force_lbf", force / POUND),
        ("rate_lbf_in", k / POUND * INCH),
        ("solid_in", solid / INCH),
        ("free_in", (solid + force / k) / INCH),
    ]))
}

fn wire_constants(g: &Given) -> Answered {
    let wire = find(g.word("wire"))?;
    let (a, m) = wire.constants(wire.smallest).expect("a power law");
    Ok(named([
        ("A_MPa_mm_m", a),
        ("A_kpsi_in_m", a / KPSI / INCH.powf(m)),
        ("m", m),
    ]))
}

fn wire_strength(g: &Given) -> Answered {
    let t = find(g.word("wire"))?.tensile(g.number("d_mm"))?;
    Ok(match t.most {
        Some(most) => named([("least", t.least), ("most", most)]),
        None => super::Answer::One(t.least),
    })
}

fn extension(g: &Given) -> Answered {
    let spring = Extension {
        wire: g.number("wire_in") * INCH,
        mean: (g.number("outside_in") - g.number("wire_in")) * INCH,
        body_coils: g.number("coils"),
        initial: g.number("initial_lbf") * POUND,
        hook: g.number("hook_in") * INCH,
        bend: g.number("bend_in") * INCH,
        material: find("A227")?,
    };
    let [body, bending, _] = spring.at(g.number("pull_lbf") * POUND)?.checks;
    Ok(named([
        ("rate_lbf_in", spring.figures()?.rate / POUND * INCH),
        ("body", body.factor()),
        ("hook_bending", bending.factor()),
    ]))
}

fn torsion(g: &Given) -> Answered {
    let legs = g.list("legs_in");
    let spring = Torsion {
        wire: g.number("wire_in") * INCH,
        mean: (g.number("outside_in") - g.number("wire_in")) * INCH,
        body_coils: g.number("coils"),
        legs: (legs[0] * INCH, legs[1] * INCH),
        material: find("A228 Shigley")?,
    };
    let f = spring.figures()?;
    let turn = 2.0 * std::f64::consts::PI;
    let at = spring.at(g.number("moment_lbf_in") * POUND_INCH, 0.0)?;
    Ok(named([
        ("active", f.active),
        ("rate_lbf_in_turn", f.rate * turn / POUND_INCH),
        ("turns", at.angle / turn),
    ]))
}

fn cone(g: &Given) -> Answered {
    let included = g.number("included_deg").to_radians();
    let ball = 6.0;
    let rest = Seat::Cone {
        included,
        mouth: ball,
    }
    .rest(ball)?;
    let held = hold(
        g.number("spring_N"),
        rest.slope,
        g.number("contact_mu"),
        g.number("guide_mu"),
    )?;
    Ok(named([
        ("breakaway_N", held.breakaway.unwrap_or(f64::INFINITY)),
        ("centring_N", held.centring),
    ]))
}

fn hole(g: &Given) -> Answered {
    let rest = Seat::Hole {
        diameter: g.number("hole"),
    }
    .rest(g.number("ball"))?;
    let held = hold(
        g.number("spring_N"),
        rest.slope,
        g.number("contact_mu"),
        g.number("guide_mu"),
    )?;
    Ok(named([
        ("slope_deg", rest.slope.to_degrees()),
        ("depth", rest.depth),
        ("breakaway_N", held.breakaway.unwrap_or(f64::INFINITY)),
    ]))
}
