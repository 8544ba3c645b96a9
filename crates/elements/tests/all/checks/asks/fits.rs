use super::{Answer, Answered, Given, INCH, named, one};
use elements::fits_iso::{self, Class};
use elements::press::{self, Elastic, Press};
use elements::{fits_inch, fits_iso as iso};

pub(crate) fn answer(ask: &str, g: &Given) -> Option<Answered> {
    Some(match ask {
        "grade" => {
            let grade = g.word("grade").trim_start_matches("IT").parse().ok()?;
            one(iso::grade(grade, g.number("size_mm")))
        }
        "deviations" => deviations(g),
        "fit" => fit(g),
        "inch fit" => inch_fit(g),
        "press" => pressed(g),
        "heat" => one(press::temperature_difference(
            g.number("d_mm"),
            g.number("interference_mm"),
            g.number("assembly_clearance_mm"),
            g.number("alpha_per_K"),
        )),
        _ => return None,
    })
}

fn deviations(g: &Given) -> Answered {
    let (upper, lower) = fits_iso::deviations(Class::parse(g.word("class"))?, g.number("size_mm"))?;
    Ok(named([("upper", upper), ("lower", lower)]))
}

fn fit(g: &Given) -> Answered {
    let fit = iso::fit(g.word("fit"), g.number("size_mm"))?;
    Ok(named([
        ("most_clearance_um", fit.most_clearance() * 1000.0),
        ("least_clearance_um", fit.least_clearance() * 1000.0),
        ("hole_most", fit.hole.most()),
        ("hole_least", fit.hole.least()),
        ("shaft_most", fit.shaft.most()),
        ("shaft_least", fit.shaft.least()),
        ("hole_upper", fit.hole.upper),
        ("hole_lower", fit.hole.lower),
        ("shaft_upper", fit.shaft.upper),
        ("shaft_lower", fit.shaft.lower),
    ]))
}

fn inch_fit(g: &Given) -> Answered {
    let fit = fits_inch::fit(g.word("class"), g.number("size_in") * INCH)?;
    let thousandths = |mm: f64| mm / INCH * 1000.0;
    Ok(named([
        ("least_clearance", thousandths(fit.least_clearance())),
        ("most_clearance", thousandths(fit.most_clearance())),
    ]))
}

fn pressed(g: &Given) -> Answered {
    let elastic = |part: &str| Elastic {
        youngs: g.number(&format!("E_{part}_GPa")) * 1000.0,
        poisson: g.number(&format!("nu_{part}")),
        expansion: 11.5e-6,
    };
    let press = Press {
        diameter: g.number("d_mm"),
        length: g.number_or("length_mm", 20.0),
        hub_outside: g.number("hub_od_mm"),
        shaft_bore: g.number("shaft_bore_mm"),
        hub: elastic("hub"),
        shaft: elastic("shaft"),
        round: true,
    };
    let joint = press.at(g.number("interference_diametral_mm"))?;
    let force = press.force(joint.pressure, g.number_or("mu", 0.0))?;
    let answers: Answer = named([
        ("pressure", joint.pressure),
        ("hub_hoop", joint.hub_hoop),
        ("shaft_hoop", joint.shaft_hoop),
        ("force", force),
    ]);
    Ok(answers)
}
