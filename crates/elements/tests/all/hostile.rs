//! Any number and any text is answered: with a result that is a number, or with an error that says what is needed.

use elements::ElementError;
use elements::bearings::{self, Rating, life, plain, play, rod_ends};
use elements::columns::{self, Section};
use elements::contact::{self, Body};
use elements::detent::{self, Seat};
use elements::fits_iso::Class;
use elements::gears::{self, Spur};
use elements::pins_lugs::{Clevis, Lug};
use elements::press::{self, Elastic, Press};
use elements::shafts::fatigue::{self, Criterion, Loads, Strengths};
use elements::shafts::{self, Round, notches};
use elements::springs::choose::{Outsides, Wanted, choose};
use elements::springs::compression::{self, Compression, Ends, Seats};
use elements::springs::extension::Extension;
use elements::springs::torsion::Torsion;
use elements::springs::wire::{self, METRIC_SIZES};
use elements::threads::{self, holding, joint, metric, moving, preload, strip, tap, unified};
use elements::{
    cutting, fits_inch, fits_iso, friction_couples, hand, joints, keys, materials, practice,
    setups, springs, stock,
};
use proptest::prelude::*;

/// Anything a float can be, and often something that a shop would have.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => 0.01..500.0f64,
        1 => prop::num::f64::ANY,
        1 => prop::sample::select(vec![
            0.0, -0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN_POSITIVE, 1e12, 1e-9, -1.0, 0.5, 1.0,
        ]),
    ]
}

/// A result may be infinite where the doc says so, but it is a number.
fn sound(results: &[Result<f64, ElementError>]) {
    for (n, result) in results.iter().enumerate() {
        match result {
            Ok(value) => assert!(!value.is_nan(), "result {n} is not a number"),
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
}

fn steel() -> &'static wire::Wire {
    &wire::WIRES[8]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn fits_and_bearings([a, b, c, d, e, f] in prop::array::uniform6(number()), n in 0u32..300) {
        let elastic = Elastic { youngs: e, poisson: f, expansion: 1e-5 };
        let press = Press { diameter: a, length: b, hub_outside: c, shaft_bore: d, hub: press::STEEL, shaft: elastic, round: false };
        let joint = press.at(b);
        let rating = Rating { dynamic: a, fixed: b, f0: c };
        let load = life::Load { radial: d, axial: e };
        sound(&[
            fits_iso::grade(n as i8, a),
            fits_iso::choose(a, b, c).map(|l| l.len() as f64),
            fits_iso::named(fits_iso::Side::Hole, a, b, c).map(|l| l.len() as f64),
            fits_inch::fit("RC4", a).map(|l| l.least_clearance()),
            joint.clone().map(|j| j.pressure),
            joint.map(|j| j.hub_growth + j.shaft_bore_closing),
            press.force(e, f),
            press.slip(a, b, c, d).map(|check| check.factor()),
            press.interference_change(e),
            press::temperature_difference(a, b, c, d),
            press::after_smoothing(a, b, c),
            press::inner_ring(a, b, c, d, press::STEEL).map(|r| r.clearance_lost),
            press::outer_ring(a, b, c, d, press::STEEL).map(|r| r.pressure),
            life::equivalent(&rating, load).map(|p| p.dynamic + p.fixed),
            life::life(a, b, c).map(|l| l.hours),
            life::life_check(&rating, load, c, d).map(|check| check.factor()),
            life::needed(a, b, c, d).map(|p| p.dynamic),
            life::reliability_factor(a),
            life::swing(a, b, c, d, n, e).map(|s| s.hours),
            life::gamma(a, b),
            plain::check(a, b, c, plain::Motion::Turns(d), &plain::MATERIALS[0]).map(|[p, v, pv]| p.acts + v.acts + pv.acts),
            plain::sliding_speed(a, plain::Motion::Swings { half: b, per_minute: c }),
            play::clearance(a, play::Group::C3).map(|l| l.1),
            play::seats(a, play::Turning::Unknown, b).map(|_| 0.0),
            rod_ends::tilt([a, b, c], [d, e, f]),
            rod_ends::check(&rod_ends::ROD_ENDS[0], true, a, b, c).map(|[l, _, _]| l.factor()),
        ]);
    }

    #[test]
    fn springs_and_detents([a, b, c, d, e, f] in prop::array::uniform6(number())) {
        let spring = Compression { wire: a, mean: b, coils: c, free: d, ends: Ends::Plain, material: steel() };
        let pull = Extension { wire: a, mean: b, body_coils: c, initial: d, hook: e, bend: f, material: steel() };
        let twist = Torsion { wire: a, mean: b, body_coils: c, legs: (d, e), material: steel() };
        let seat = Seat::Cone { included: a, mouth: b };
        sound(&[
            spring.figures().map(|f| f.rate + f.outside_solid),
            spring.figures().map(|f| f.surge),
            spring.at(e, true).map(|at| at.stress),
            spring.at(e, false).map(|at| at.clash),
            spring.buckling(Seats::BothPivoted).map(|b| b.at_travel.unwrap_or(b.stable_below)),
            compression::room(&spring, Some(e), Some(f)).map(|r| r.over_rod.unwrap_or(0.0)),
            compression::buckling(a, b, c, d, e).map(|b| b.stable_below),
            pull.figures().map(|f| f.rate + f.initial_preferred.0),
            pull.at(f).map(|at| at.length + at.checks[1].acts),
            twist.figures().map(|f| f.rate),
            twist.at(f, a).map(|at| at.inside + at.check.acts),
            springs::rate(a, b, c, d),
            springs::force_at_stress(a, b, c, springs::Correction::Wahl),
            springs::wire_for(a, b, c, springs::Correction::Wahl),
            wire::power_law(a, b, c),
            steel().tensile(a).map(|t| t.least),
            seat.rest(c).map(|r| r.depth + r.slope),
            Seat::Hole { diameter: a }.rest(b).map(|r| r.depth),
            detent::hold(a, b, c, d).map(|h| h.breakaway.unwrap_or(h.centring)),
            detent::spring_for_moment(a, b, c, d, e),
        ]);
    }

    #[test]
    fn threads_hold_and_move([a, b, c, d, e, f] in prop::array::uniform6(number()), n in 0u32..20) {
        let pair = strip::Pair { pitch: a, screw_major: b, screw_pitch: c, nut_minor: d, nut_pitch: e };
        let tight = preload::Tightening { major: a, pitch_diameter: b, lead: c, half_flank: d, thread_friction: e, head_friction: f, head_mean: a };
        let bolted = joint::Bolted { major: a, stress_area: b, grip: c, threaded: d, bolt_youngs: e, member: joint::STEEL };
        let (first, second) = (moving::End { lead: a, left: true }, moving::End { lead: b, left: false });
        sound(&[
            threads::basic(a, b).map(|t| t.stress_area + t.lead_angle),
            threads::inch_stress_area(a, b),
            metric::limits(a, b).map(|l| l.nut_minor.most()),
            unified::limits(a, b, c).map(|l| l.nut_minor.most() + l.screw_pitch.least()),
            tap::engagement(a, b, c).map(|e| e.handbook),
            tap::hole_for(a, b, c),
            tap::choose(a, b, (c, d, e), &[a, b, c, f], None).map(|l| l.len() as f64),
            strip::engagement(&pair, f, a, b).map(|e| e.needed),
            strip::checks(&pair, f, a, b, c).map(|[s, n]| s.bears + n.bears),
            tight.k(),
            preload::torque(a, b, c),
            preload::preload_of_torque(a, b, c),
            preload::preload(a, b, c),
            preload::tightening_stress(a, b, c),
            bolted.stiffness().map(|s| s.share),
            joint::tension(a, b, c, d, e).map(|checks| checks[2].factor()),
            joint::across(a, b, c, n, d, e).map(|checks| checks[1].factor()),
            moving::screw(a, b, c, d, e, f, a).map(|s| s.lower + s.efficiency),
            moving::force_of_torque(a, b, c, d, e, f, a),
            moving::turns_for(c, first, second),
            holding::set_screw_of(a, holding::Point::Oval).map(|s| s.holds),
            holding::clamp(holding::Clamp::CloseBore, a, b, c, d).map(|h| h.torque),
        ]);
        let _ = moving::nearest_pair(&[a, b, c, d], e);
    }

    #[test]
    fn parts([a, b, c, d, e, f] in prop::array::uniform6(number()), n in 0u32..300) {
        let clevis = Clevis { pin: a, pin_bore: b, lug: c, ear: d, gap: e };
        let lug = Lug { thickness: a, hole: b, pin: c, edge: d, width: e };
        let loads = Loads { bending_alternating: a, bending_steady: b, torque_alternating: c, torque_steady: d, kf: e, kfs: f };
        let strengths = Strengths { endurance: b, tensile: c, yields: d };
        let body = |radius| Body { radius, youngs: c, poisson: d };
        let notch = notches::step(a, b, c);
        let spur = Spur { module: a, teeth: n, pressure_angle: b, shift: c, addendum: d, dedendum: e };
        sound(&[
            clevis.stress(f).map(|s| s.bending),
            lug.stress(f).map(|s| s.tear_out_40 + s.net),
            columns::column(Section::Tube(a, b), c, d, e, f).map(|c| c.critical),
            columns::column(Section::Flat(a, b), c, d, e, f).map(|c| c.slenderness),
            columns::euler_diameter(a, b, c, d, e),
            columns::secant(Section::Round(a), b, c, d, e, f),
            shafts::stress(Round { diameter: a, bore: b }, c, d, e).map(|s| s.equivalent),
            shafts::supported(a, b, c, d).map(|b| b.under_force),
            shafts::twist(Round { diameter: a, bore: b }, c, d, e),
            notch.clone().map(|n| n.bending + n.torsion),
            notch.and_then(|n| notches::fatigue(&n, d)).map(|f| f.bending),
            notches::cross_hole(a, b).map(|h| h.net_torsion),
            fatigue::endurance(a, fatigue::Surface::Forged, b, c).map(|e| e.limit),
            fatigue::check(&loads, a, &strengths, Criterion::Gerber).map(|[f, _]| f.factor()),
            fatigue::diameter(&loads, &strengths, Criterion::Gerber, a),
            keys::parallel(a).map(|k| k.width),
            keys::square_inch(a).map(|k| k.width),
            keys::woodruff(n * 7).map(|k| k.in_shaft),
            keys::stress(a, b, c, d, e).map(|s| s.shear),
            joints::fillet_round(a, b, c, d, e),
            joints::fillet_pair(a, b, c, d, e),
            joints::socket(a, b, c, d),
            contact::line(body(a), body(-b), e, f).map(|c| c.pressure),
            contact::point(body(a), body(f64::INFINITY), f).map(|c| c.pressure),
            spur.geometry().map(|g| g.tip_thickness + g.chordal_addendum),
            spur.over_pins(f),
            spur.span(n / 8),
            gears::pair(&spur, &Spur::standard(a, 40), Some(f)).map(|p| p.contact_ratio),
            gears::rack_contact_ratio(&spur),
            gears::lewis_y(n).map(|y| y.big_y),
            gears::bending(&spur, b, c, d, e).map(|c| c.factor()),
            gears::form_factor(&spur).map(|y| y.big_y),
            gears::steel_bears(a),
            gears::fewest_teeth(a, b, c).map(|f| f.with_ratio),
        ]);
    }

    #[test]
    fn shop([a, b, c, d, _e, _f] in prop::array::uniform6(number()), n in 0u32..300) {
        let work = hand::Use { moving: true, per_minute: b, hours: c };
        sound(&[
            cutting::spindle(a, b),
            cutting::drill_feed(a).map(|r| r.1),
            cutting::ream_stock(a).map(|r| r.1),
            cutting::ream_stock_inch(a).map(|r| r.1),
            setups::packing(a, b).map(|p| p.narrow),
            setups::bolt_hole(a, n, b, n).map(|p| p.0 + p.1),
            setups::bolt_chord(a, n),
            setups::sine_bar_angle(a, b),
            setups::taper_half_angle(a, b, c),
            setups::three_wires(a, b, Some(c)).map(|w| w.over + w.lead_correction),
            setups::lever(a, b, c).map(|l| l.straight),
            setups::cutter_radius(a, b, false),
            hand::reduced(a, work),
            hand::guard_distance(a, hand::Opening::Square),
            stock::smallest(&stock::ROUND_METRIC, a, b).map(|s| s.unwrap_or(0.0)),
            stock::mass(Section::Tube(a, b), c, d),
        ]);
    }

    #[test]
    fn any_text(text in "\\PC{0,12}") {
        let _ = Class::parse(&text);
        let _ = fits_iso::fit(&text, 10.0);
        let _ = fits_inch::fit(&text, 10.0);
        let _ = bearings::find(&text);
        let _ = rod_ends::find(&text);
        let _ = wire::find(&text);
        let _ = preload::find(&text, 8.0);
        let _ = holding::set_screw(&text, holding::Point::Cup);
        let _ = materials::find(&text);
        let _ = friction_couples::find(&text);
        let _ = cutting::find(&text);
        let _ = hand::basic_force(&text);
        let _ = practice::find(&text);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn choosing_a_spring([a, b, c, d, e, f] in prop::array::uniform6(number())) {
        let wanted = Wanted {
            first_force: a,
            first_length: b,
            second_force: c,
            second_length: d,
            force_tolerance: 0.1,
            bore: e,
            pocket: true,
            rod: f,
            ends: Ends::Squared,
            seats: Seats::FixedFree,
            factor: 1.0,
            clash: 0.1,
            preset: false,
            coils: Outsides::Metric,
        };
        if let Ok(chosen) = choose(&wanted, steel(), &METRIC_SIZES) {
            for choice in &chosen.choices {
                prop_assert!(choice.factor >= 1.0 && choice.mass > 0.0);
            }
        }
    }
}
