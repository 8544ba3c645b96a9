//! What turns the machine: motors, and feet and hands that push.

use super::loads::turned;
use super::{First, positive};
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::fields::{Field, Fields, Shape};
use crate::ground::direction;
use crate::work::{By, Motor, Push, Strength};
use elements::motors::{self, Line};
use quantity::Kind as Measure;

const MOTOR: Shape = Shape {
    a: "a motor",
    keys: &[
        ("turns", "turns = \"motor\""),
        ("power", "power = \"370 W\""),
        ("torque", "torque = \"2.5 N m\""),
        ("speed", "speed = \"1420 rpm\""),
        ("synchronous", "synchronous = \"1500 rpm\""),
        ("pull-out", "pull-out = 2.2"),
        (
            "line",
            "line = [[\"0 rpm\", \"5 N m\"], [\"1500 rpm\", \"0 N m\"]]",
        ),
        ("inertia", "inertia = \"0.0006 kg m2\""),
        ("ratio", "ratio = 20"),
        ("loses", "loses = 0.1"),
    ],
};

const PUSH: Shape = Shape {
    a: "a push",
    keys: &[
        ("by", "by = \"foot\""),
        ("at", "at = \"toe\""),
        ("along", "along = \"down\""),
        ("part", "part = \"treadle\""),
        ("force", "force = \"60 N\""),
        ("work", "work = \"6 J\""),
        ("per-minute", "per-minute = 60"),
    ],
};

const KILOWATT: f64 = 1e3;
/// W of a mechanical horsepower, 550 foot-pounds a second.
const HORSEPOWER: f64 = 745.699_871_582_270_2;

pub(super) fn motors(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Motor> {
    named.iter().filter_map(|n| motor(desk, n, first)).collect()
}

fn motor(desk: &mut Desk, named: &Named, first: &First) -> Option<Motor> {
    let fields = Fields::new(desk, named.what(), &MOTOR, &named.entry)?;
    let turns = fields.need(desk, "turns").and_then(|f| {
        let part = f.name(desk, Kind::Part)?;
        turned(desk, part, &f, first)?;
        Some(part)
    });
    let ratio = fields.get("ratio").map_or(Some(1.0), |f| {
        let x = f.number(desk)?;
        if x > 0.0 && x <= 1e4 {
            return Some(x);
        }
        f.bad(
            desk,
            format!("`ratio` is {x}; it has to be above zero"),
            "write turns of the motor for one turn of the part; leave it out where the motor sits on the part itself",
        );
        None
    });
    let loses = fields.get("loses").map_or(Some(0.0), |f| {
        let x = f.number(desk)?;
        if (0.0..1.0).contains(&x) {
            return Some(x);
        }
        f.bad(
            desk,
            format!("`loses` is {x}, outside 0 to 1"),
            "write the share of the power that is lost between motor and part: a V-belt loses about 0.05",
        );
        None
    });
    let inertia = fields
        .get("inertia")
        .map(|f| super::stock::moment_of_inertia(desk, &f));
    let line = line(desk, &fields);
    let (line, rated) = line?;
    Some(Motor {
        name: named.entry.name.to_owned(),
        turns: turns?,
        ratio: ratio?,
        loses: loses?,
        inertia: match inertia {
            Some(given) => Some(given?),
            None => None,
        },
        line,
        rated,
        place: named.entry.place,
    })
}

/// The line of torque over speed, and the rating (rad/s, N·mm).
fn line(desk: &mut Desk, fields: &Fields) -> Option<(Line, Option<[f64; 2]>)> {
    let form = fields.one_of(desk, &["power", "torque", "line"])?;
    let speed_of = |desk: &mut Desk, f: &Field| positive(desk, f, Measure::TurningSpeed, false);
    if form.key == "line" {
        fields.only_with(desk, &["synchronous", "pull-out"], "`power` or `torque`");
        let rated = fields.get("speed").map(|f| (f, speed_of(desk, &f)));
        let items = form.list(desk, "pairs of a speed and a torque")?;
        let mut pairs = Vec::with_capacity(items.len());
        for item in items {
            let [speed, torque] = item.pair(desk, "a speed and a torque")?;
            let speed = positive(desk, &speed, Measure::TurningSpeed, true);
            let torque = torque.quantity(desk, Measure::Moment).map(|w| w.value);
            pairs.push([speed?, torque?]);
        }
        pairs.sort_by(|a, b| a[0].total_cmp(&b[0]));
        if pairs.len() < 2 || pairs.windows(2).any(|w| w[0][0] == w[1][0]) {
            form.bad(
                desk,
                "a line needs at least two different speeds",
                "write it like `line = [[\"0 rpm\", \"5 N m\"], [\"1500 rpm\", \"0 N m\"]]`",
            );
            return None;
        }
        if pairs.iter().all(|p| p[1] <= 0.0) {
            form.bad(
                desk,
                "this line never drives: no torque is above zero",
                "write the torque it gives at a standstill first",
            );
            return None;
        }
        let line = Line::Straight(pairs);
        let rated = match rated {
            Some((_, speed)) => {
                let speed = speed?;
                Some([speed, line.torque(speed)])
            }
            None => None,
        };
        return Some((line, rated));
    }
    let size = if form.key == "power" {
        power(desk, &form)
    } else {
        positive(desk, &form, Measure::Moment, false)
    };
    let speed_field = fields.need(desk, "speed");
    let speed = speed_field.and_then(|f| speed_of(desk, &f));
    let synchronous_field = fields.need(desk, "synchronous");
    let synchronous = synchronous_field.and_then(|f| speed_of(desk, &f));
    let pull_out = fields
        .get("pull-out")
        .map_or(Some(motors::PULL_OUT.0), |f| {
            let x = f.number(desk)?;
            if x > 1.0 && x <= 10.0 {
                return Some(x);
            }
            f.bad(
                desk,
                format!("`pull-out` is {x}; it has to be above 1"),
                "write the greatest torque over the rated one, 2 to 3 for most; it stands in the maker's sheet",
            );
            None
        });
    let (size, speed, synchronous, pull_out) = (size?, speed?, synchronous?, pull_out?);
    let watts = if form.key == "power" {
        size
    } else {
        size * speed / KILOWATT
    };
    if speed >= synchronous {
        synchronous_field?.bad(
            desk,
            "the synchronous speed is not above the rated one",
            "an induction motor of four poles has 1500 rpm at 50 Hz, 1800 rpm at 60 Hz; for another kind write its `line`",
        );
        return None;
    }
    let line = motors::induction(watts, speed, synchronous, pull_out).ok()?;
    Some((line, Some([speed, KILOWATT * watts / speed])))
}

/// W.
fn power(desk: &mut Desk, field: &Field) -> Option<f64> {
    let text = field.text(desk, "a power in quotes")?;
    let number = |unit: &str| text.trim().strip_suffix(unit)?.trim().parse::<f64>().ok();
    let found = number("kW")
        .map(|x| x * KILOWATT)
        .or_else(|| number("W"))
        .or_else(|| number("hp").map(|x| x * HORSEPOWER));
    match found {
        Some(watts) if watts > 0.0 && watts <= 1e6 => Some(watts),
        _ => {
            field.bad(
                desk,
                "this is no power",
                "write it like \"370 W\", \"0.37 kW\" or \"0.5 hp\"",
            );
            None
        }
    }
}

pub(super) fn pushes(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Push> {
    named.iter().filter_map(|n| push(desk, n, first)).collect()
}

fn push(desk: &mut Desk, named: &Named, first: &First) -> Option<Push> {
    let fields = Fields::new(desk, named.what(), &PUSH, &named.entry)?;
    let by = fields
        .need(desk, "by")
        .and_then(|f| f.word(desk, &["foot", "hand"]))
        .map(|n| if n == 0 { By::Foot } else { By::Hand });
    let at_field = fields.need(desk, "at")?;
    let at = at_field
        .name(desk, Kind::Point)
        .filter(|&at| first.moves(desk, at, &at_field).is_some());
    let along = fields.get("along").map(|f| direction(desk, &f));
    let part = match fields.get("part") {
        Some(_) => {
            let part = first
                .ground
                .carrier(desk, &fields, "part", at?, &at_field)?;
            Some(part)
        }
        None => None,
    };
    let strength = fields.one_of(desk, &["force", "work"]).and_then(|f| {
        if f.key == "force" {
            positive(desk, &f, Measure::Force, false).map(Strength::Force)
        } else {
            // An energy is written like a moment: newtons times millimetres.
            work(desk, &f).map(Strength::Work)
        }
    });
    let rate = fields.get("per-minute").map(|f| {
        let x = f.number(desk)?;
        if x > 0.0 && x <= 1e3 {
            return Some(x);
        }
        f.bad(
            desk,
            format!("`per-minute` is {x}; it has to be above zero"),
            "write the strokes a minute at which whoever pushes wants no more",
        );
        None
    });
    Some(Push {
        name: named.entry.name.to_owned(),
        by: by?,
        at: at?,
        along: match along {
            Some(way) => Some(way?),
            None => None,
        },
        part,
        strength: strength?,
        per_minute: match rate {
            Some(rate) => Some(rate?),
            None => None,
        },
        place: named.entry.place,
    })
}

/// N·mm.
fn work(desk: &mut Desk, field: &Field) -> Option<f64> {
    let text = field.text(desk, "work in quotes")?;
    let number = |unit: &str| text.trim().strip_suffix(unit)?.trim().parse::<f64>().ok();
    // A foot-pound is 1.355 817 948 331 4 J.
    let joules = number("J").or_else(|| number("ft lbf").map(|x| x * 1.355_817_948_331_4));
    match joules {
        Some(joules) if joules > 0.0 && joules <= 1e6 => Some(joules * 1e3),
        _ => {
            field.bad(
                desk,
                "this is no work",
                "write it like \"6 J\" or \"4 ft lbf\"",
            );
            None
        }
    }
}
