use super::{Answered, Given, INCH, POUND, POUND_INCH, named, one};
use elements::threads::holding::{Point, set_screw};
use elements::threads::metric::ThreadLimits;
use elements::threads::moving::screw;
use elements::threads::preload::{Tightening, find, preload, torque};
use elements::threads::strip::{self, Pair};
use elements::threads::{basic, inch_stress_area, metric, tap, unified};
use elements::{drills, threads};
use std::collections::BTreeMap;

pub(crate) fn answer(ask: &str, g: &Given) -> Option<Answered> {
    Some(match ask {
        "thread" => thread(g),
        "proof load" => proof_load(g),
        "metric limits" => {
            metric::limits(g.number("d_mm"), g.number("P_mm")).map(|l| limits(&l, 1.0))
        }
        "unified limits" => unified_limits(g),
        "inch stress area" => {
            let (major, pitch) = read(g.word("thread"));
            one(inch_stress_area(major, pitch).map(|mm2| mm2 / (INCH * INCH)))
        }
        "inch thread" => inch_thread(g),
        "number drills" => Ok(number_drills()),
        "tap drill" => tap_drill(g),
        "bolt torque" => bolt_torque(g),
        "torque coefficient" => torque_coefficient(g),
        "stripping" => stripping(g),
        "set screw" => set_screw(g.word("size"), Point::Cup).map(|s| {
            named([
                ("seating_lbf_in", s.seating / POUND_INCH),
                ("axial_holding_lbf", s.holds / POUND),
            ])
        }),
        "set screw points" => Ok(named([
            ("cone", Point::Cone.factor()),
            ("flat_or_dog", Point::FlatOrDog.factor()),
            ("oval", Point::Oval.factor()),
        ])),
        "power screw" => power_screw(g),
        "power screw by hand" => by_hand(g),
        _ => return None,
    })
}

fn read(name: &str) -> (f64, f64) {
    let thread = quantity::thread::parse(name).expect("a thread");
    (thread.major, thread.pitch)
}

fn thread(g: &Given) -> Answered {
    let b = basic(g.number("d_mm"), g.number("P_mm"))?;
    Ok(named([
        ("pitch_diameter", b.pitch_diameter),
        ("nut_minor", b.nut_minor),
        ("root", b.root),
        ("stress_area", b.stress_area),
    ]))
}

fn inch_thread(g: &Given) -> Answered {
    let b = basic(g.number("D_in") * INCH, INCH / g.number("tpi"))?;
    Ok(named([
        ("pitch_diameter", b.pitch_diameter / INCH),
        ("nut_minor", b.nut_minor / INCH),
    ]))
}

fn proof_load(g: &Given) -> Answered {
    let d = g.number("d_mm");
    // The standard's table goes on from stress areas of three figures.
    let area = basic(d, g.number("P_mm"))?.stress_area;
    let digits = 10f64.powf(2.0 - area.log10().floor());
    let area = (area * digits).round() / digits;
    one(preload(area, find(g.word("class"), d)?.proof, 1.0))
}

fn limits(l: &ThreadLimits, unit: f64) -> super::Answer {
    named([
        ("screw_major_most", l.screw_major.most() / unit),
        ("screw_major_least", l.screw_major.least() / unit),
        ("screw_pitch_most", l.screw_pitch.most() / unit),
        ("screw_pitch_least", l.screw_pitch.least() / unit),
        ("nut_pitch_most", l.nut_pitch.most() / unit),
        ("nut_pitch_least", l.nut_pitch.least() / unit),
        ("nut_minor_most", l.nut_minor.most() / unit),
        ("nut_minor_least", l.nut_minor.least() / unit),
    ])
}

fn unified_limits(g: &Given) -> Answered {
    let (major, pitch) = read(g.word("thread"));
    let engagement = unified::standard_engagement(major, pitch, true);
    unified::limits(major, pitch, engagement).map(|l| limits(&l, INCH))
}

fn number_drills() -> super::Answer {
    let drills = drills::numbers();
    let by_number: BTreeMap<String, f64> = drills
        .iter()
        .map(|d| (d.name.trim_start_matches('#').to_owned(), d.diameter / INCH))
        .collect();
    assert_eq!(by_number.len(), 80);
    super::Answer::Named(by_number)
}

fn tap_drill(g: &Given) -> Answered {
    let (major, pitch, drill) = if g.0["thread"].is_string() {
        let (major, pitch) = read(g.word("thread"));
        let sets = [drills::numbers(), drills::letters(), drills::fractions(1)];
        let named = sets.iter().flatten().find(|d| d.name == g.word("drill"));
        let drill = named.expect("a drill of that name").diameter;
        assert!((drill - g.number("drill_in") * INCH).abs() < 1e-9);
        (major, pitch, drill)
    } else {
        (g.number("d_mm"), g.number("P_mm"), g.number("drill_mm"))
    };
    let e = tap::engagement(major, pitch, drill)?;
    Ok(named([("handbook", e.handbook), ("profile", e.profile)]))
}

fn bolt_torque(g: &Given) -> Answered {
    let preload = g.number("share") * g.number("proof_load_N");
    let moment = torque(g.number("K"), preload, g.number("d_mm"))?;
    Ok(named([
        ("preload_N", preload),
        ("torque_Nm", moment / 1000.0),
    ]))
}

fn torque_coefficient(g: &Given) -> Answered {
    let (major, pitch) = (g.number("d_mm"), g.number("P_mm"));
    let tightening = Tightening {
        major,
        pitch_diameter: threads::basic(major, pitch)?.pitch_diameter,
        lead: pitch,
        half_flank: 30f64.to_radians(),
        thread_friction: g.number("mu"),
        head_friction: g.number("mu"),
        head_mean: g.number("head_over_d") * major,
    };
    one(tightening.k())
}

fn stripping(g: &Given) -> Answered {
    let pair = Pair {
        pitch: g.number("P_mm"),
        screw_major: g.number("d_min"),
        screw_pitch: g.number("d2_min"),
        nut_minor: g.number("D1_max"),
        nut_pitch: g.number("D2_max"),
    };
    // The limits of the case are those of the tables.
    let own = Pair::of_limits(
        &metric::limits(g.number("d_mm"), pair.pitch)?,
        pair.pitch,
        None,
    );
    assert!((own.screw_area()? / pair.screw_area()? - 1.0).abs() < 1e-3);
    assert!((own.nut_area()? / pair.nut_area()? - 1.0).abs() < 1e-3);
    let e = strip::engagement(
        &pair,
        g.number("stress_area_mm2"),
        g.number("screw_MPa"),
        g.number("nut_MPa"),
    )?;
    Ok(named([
        ("equal", e.equal),
        ("J", e.j),
        ("needed", e.needed),
    ]))
}

fn turned(g: &Given, load: f64) -> Result<threads::moving::Screw, elements::ElementError> {
    screw(
        load,
        g.number("mean"),
        g.number("lead"),
        g.number("half_flank_deg").to_radians(),
        g.number("mu"),
        g.number("collar_mu"),
        g.number("collar_mean"),
    )
}

fn power_screw(g: &Given) -> Answered {
    let s = turned(g, g.number("load_N"))?;
    Ok(named([
        ("raise_Nm", s.raise / 1000.0),
        ("lower_Nm", s.lower / 1000.0),
        ("raise_Nmm", s.raise),
        ("lower_Nmm", s.lower),
        ("efficiency", s.efficiency),
        ("runs_back_below", s.thread.runs_back_below),
        ("holds", f64::from(u8::from(s.thread_holds))),
    ]))
}

fn by_hand(g: &Given) -> Answered {
    let up = turned(g, g.number("raise_N"))?;
    let down = turned(g, g.number("lower_N"))?;
    Ok(named([
        ("raise", up.raise / g.number("arms_mm")),
        ("lower", down.lower / g.number("arms_mm")),
        ("efficiency", up.efficiency),
    ]))
}
