//! What the file lets pass and what loads never reach: to be looked at before the numbers are believed.

use super::{Finding, Inside, Loads, Place, Ready, Say, Severity, SpringKind, say};
use crate::assemble::Joint;
use crate::load::rig::Rig;
use crate::parts::seats::loose;
use elements::fits_iso;
use machine::fitting::{Fitted, Hole};
use machine::model::PointId;
use machine::work::{JointAt, LoadKind, Resists};

/// A layer squeezed to less than this share of its thickness is no straight spring any more (own choice: leather, felt and rubber stiffen
/// well before half).
const SQUEEZED: f64 = 0.7;
/// The loosest of the usual running fits.
const LOOSE: &str = "H11/c11";
/// Diameter that a pin is taken to have where none is known, mm.
const PIN: f64 = 10.0;

/// Least and greatest value at which something acts by name, and its greatest force.
fn acted(loads: &Loads, name: &str) -> Option<([f64; 2], f64)> {
    let rows = loads.cases.iter().flat_map(|c| &c.rows);
    let acted = rows.flat_map(|r| &r.acted).filter(|a| a.name == name);
    acted.fold(None, |sum: Option<([f64; 2], f64)>, a| {
        let ([low, high], most) = sum.unwrap_or(([a.value; 2], 0.0));
        Some((
            [low.min(a.value), high.max(a.value)],
            most.max(a.force.abs()),
        ))
    })
}

/// Work that is squeezed farther than is known of it, or never.
pub(super) fn work(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let machine = &ready.rig.model.machine;
    for load in &machine.work.loads {
        let LoadKind::Squeezes { reading, resists } = &load.kind else {
            continue;
        };
        let Some(reading) = machine.readings.get(*reading) else {
            continue;
        };
        let Some(([least, _], most)) = acted(say.loads, &format!("load {}", load.name)) else {
            continue;
        };
        let show = |v: f64| crate::say::value(v, reading.unit);
        let (sentence, number, help) = match resists {
            _ if most == 0.0 => {
                let begins = match resists {
                    Resists::Constant { below, .. } => *below,
                    Resists::Linear { begins, .. } => *begins,
                    Resists::Table(pairs) => pairs.last().map_or(f64::NAN, |p| p[0]),
                };
                (
                    format!(
                        "load {} never acts here: {} stays at {} and above, and it begins at {}",
                        load.name,
                        reading.name,
                        show(least),
                        show(begins)
                    ),
                    least,
                    "move the drive that closes it, or look whether `begins` is what is meant",
                )
            }
            Resists::Table(pairs) => match pairs.first() {
                Some(&[first, force]) if least < first && force > 0.0 => (
                    format!(
                        "{} closes to {}, beyond the last line of load {} at {}: from there on it is taken as {}, and may be far more",
                        reading.name,
                        show(least),
                        load.name,
                        show(first),
                        say::force(force, machine)
                    ),
                    least,
                    "measure the work as far as it is squeezed, and write that line",
                ),
                _ => continue,
            },
            Resists::Linear {
                begins,
                layer: true,
                ..
            } if least < SQUEEZED * begins => (
                format!(
                    "load {} is squeezed to {} of its {}, by {}: a layer stiffens long before, so it is taken too soft",
                    load.name,
                    show(least),
                    show(*begins),
                    say::percent(1.0 - least / begins)
                ),
                least,
                "measure it as far as it is squeezed and write that as a table",
            ),
            _ => continue,
        };
        let number = Some((number, Inside::of(reading.unit)));
        let about = format!("load.{}", load.name);
        say.add(Severity::Caution, sentence, number, about, load.place)
            .what_to_try = Some(String::from(help));
    }
    snaps(ready, say);
    for spring in &machine.work.springs {
        let Some(([low, high], most)) = acted(say.loads, &format!("spring {}", spring.name)) else {
            continue;
        };
        if most > 0.0 {
            continue;
        }
        let (free, unit) = match spring.kind {
            SpringKind::Between { free, .. } => (free, machine.unit),
            SpringKind::Torsion { slack, .. } => (slack, quantity::Unit::Degree),
        };
        let show = |v: f64| crate::say::value(v, unit);
        let sentence = format!(
            "spring {} never acts here: it goes from {} to {} and is slack at {}",
            spring.name,
            show(low),
            show(high),
            show(free)
        );
        let about = format!("spring.{}", spring.name);
        say.add(Severity::Caution, sentence, None, about, spring.place);
    }
}

/// Work that gives way faster than the machine follows.
fn snaps(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let machine = &ready.rig.model.machine;
    for load in &machine.work.loads {
        let name = format!("load {}", load.name);
        let LoadKind::Squeezes { reading, .. } = load.kind else {
            continue;
        };
        let Some(reading) = machine.readings.get(reading) else {
            continue;
        };
        let cases = say.loads.cases.iter();
        let rows = cases.flat_map(|c| c.rows.iter().enumerate().map(move |(i, r)| (c, i, r)));
        let all = rows.filter_map(|(case, i, row)| {
            let acted = row.acted.iter().find(|a| a.name == name)?;
            Some((case, i, acted.value, acted.snaps_to?, acted.force.abs()))
        });
        // Before its peak the work stands in balance though another place of rest is open to it; it lets go at the peak.
        let peak = all.max_by(|a, b| a.4.total_cmp(&b.4));
        let Some((case, row, value, to, _)) = peak else {
            continue;
        };
        let show = |v: f64| crate::say::value(v, reading.unit);
        let sentence = format!(
            "{name} gives way faster than the machine follows {}: from {} {} snaps on to {}, and what was stretched lets go; told are the forces before",
            say.place_of(case, row),
            show(value),
            reading.name,
            show(to)
        );
        let number = Some((value - to, Inside::of(reading.unit)));
        let about = format!("load.{}", load.name);
        say.add(Severity::Caution, sentence, number, about, load.place)
            .what_to_try = Some(String::from(
            "stiffen what gives most, put a stop below the work, and keep hands and faces away",
        ));
    }
}

/// Tolerances of places beyond this share of the machine's size are slips of the pen (own choice).
const WIDE: f64 = 0.1;

/// Usual tolerances of lengths that no drawing can mean.
pub(crate) fn wide(rig: &Rig<'_>) -> Vec<Finding> {
    let machine = &rig.model.machine;
    let size = rig.mechanism.size(&rig.mechanism.params);
    let usual = &machine.work.usual;
    let all = [
        ("hole-places", usual.hole_places),
        ("rod-lengths", usual.rod_lengths),
    ];
    let one = |(key, value): (&str, Option<f64>)| {
        let value = value.filter(|v| *v > WIDE * size)?;
        Some(Finding {
            severity: Severity::Caution,
            sentence: format!(
                "[usual] {key} = {} is more than a tenth of the machine itself: what is told of play, spread and asks means nothing with it",
                crate::say::short(value, machine.unit)
            ),
            number: Some(value),
            margin: None,
            inside: Some(Inside::Millimetre),
            what_to_try: Some(String::from(
                "write what the shop holds, such as \"0.05 mm\"",
            )),
            about: String::from("usual"),
            place: machine::Place::default(),
        })
    };
    all.into_iter().filter_map(one).collect()
}

/// Pins with more room than the loosest running fit gives: a slip of the pen, or a joint that knocks.
pub(crate) fn roomy(rig: &Rig<'_>) -> Vec<Finding> {
    let machine = &rig.model.machine;
    let mut points: Vec<PointId> = Vec::new();
    for joint in &rig.model.joints {
        match *joint {
            Joint::Pin { point, .. } => points.push(point),
            Joint::Rod(rod) => points.extend(machine.rods[rod].joins),
            _ => {}
        }
    }
    points.sort_unstable();
    points.dedup();
    let mut found: Vec<Finding> = Vec::new();
    for point in points {
        let at = JointAt::Point(point);
        let diameter = rig.radius(at).map(|r| 2.0 * r).filter(|d| *d > 0.0);
        let fit = fits_iso::fit(LOOSE, diameter.unwrap_or(PIN));
        let (Some(clearance), Ok(fit)) = (rig.clearance(at), fit) else {
            continue;
        };
        let most = fit.most_clearance();
        if clearance.high <= most {
            continue;
        }
        let entry = rig.entry(at);
        let own = entry.is_some_and(|j| j.clearance.is_some());
        // Where holes and pin have their sizes, the study of parts tells it of each hole.
        let plain = |h: &&Hole| matches!(h.fitted, Fitted::Plain { .. } | Fitted::Bushing { .. });
        let sized = loose(machine, point).is_some_and(|l| {
            l.play.high == clearance.high && l.holes.iter().copied().any(|h| plain(&h))
        });
        if sized {
            continue;
        }
        let show = |v: f64| crate::say::value(v, machine.unit);
        let (of, about, place) = if own {
            let name = &machine.points[point].name;
            let place = entry.map_or_else(Place::default, |j| j.place);
            (format!("pin {name}"), format!("joint.{name}"), place)
        } else {
            let usual = String::from("usual.clearance");
            (String::from("pins as usual"), usual, Place::default())
        };
        if found.iter().any(|f| f.about == about) {
            continue;
        }
        let size = diameter.map_or_else(String::new, |d| format!(" on {}", show(d)));
        found.push(Finding {
            severity: Severity::Caution,
            sentence: format!(
                "{of}: {} of play is more than the loosest running fit{size} gives ({}, {LOOSE}, ISO 286)",
                show(clearance.high),
                show(most)
            ),
            number: Some(clearance.high),
            margin: Some(most - clearance.high),
            inside: Some(Inside::Millimetre),
            what_to_try: Some(String::from(
                "look whether pin and hole are the same size, or write the clearance that is meant",
            )),
            about,
            place,
        });
    }
    found
}
