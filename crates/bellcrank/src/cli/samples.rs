//! Hand-made answers, and how they are printed.

use machine::{Place, Sources};
use quantity::Unit;
use studies::*;

use super::motion_table;
use super::over::Over;
use super::{check, sensitivity};

fn deg(x: f64) -> f64 {
    Unit::Degree.to_inside(x)
}

fn length(name: &str) -> Quantity {
    Quantity {
        name: name.into(),
        inside: Inside::Millimetre,
        unit: Unit::Millimetre,
    }
}

fn angle(name: &str) -> Quantity {
    Quantity {
        name: name.into(),
        inside: Inside::Radian,
        unit: Unit::Degree,
    }
}

fn held(quantity: Quantity, value: f64, as_drawn: bool) -> Held {
    Held {
        quantity,
        value,
        as_drawn,
    }
}

fn end(at: f64, kind: EndKind, cause: &str) -> End {
    End {
        at,
        kind,
        cause: cause.into(),
    }
}

fn reach(low: End, high: End) -> Reach {
    Reach {
        low,
        high,
        whole_turn: false,
    }
}

/// A lever that turns back once and comes to a dead centre.
fn motion() -> Motion {
    let row = |at: f64, gap: f64, rate: Option<f64>| MotionRow {
        at: deg(at),
        reached: true,
        cells: vec![
            Cell {
                value: Some(gap),
                rate: rate.map(|r| r / deg(1.0)),
                taken_at: None,
                and_at: None,
            },
            Cell {
                value: Some(gap / 2.0),
                rate: rate.map(|r| r / 2.0 / deg(1.0)),
                taken_at: Some(deg(181.25)),
                and_at: None,
            },
        ],
    };
    let mut rows = vec![
        row(0.0, 3.0, Some(-0.05)),
        row(10.0, 2.5, Some(-0.01)),
        row(20.0, 2.75, Some(0.04)),
        row(27.5, 3.25, None),
    ];
    rows.push(MotionRow {
        at: deg(30.0),
        reached: false,
        cells: vec![Cell::default(); 2],
    });
    Motion {
        falls_short: Vec::new(),
        machine: "Strap embosser".into(),
        drive: angle("set"),
        held: vec![
            held(angle("crank"), 0.0, true),
            held(length("front-rod"), 0.625, false),
        ],
        readings: vec![length("gap"), length("least-gap")],
        rows,
        reach: reach(
            end(0.0, EndKind::Range, ""),
            end(
                deg(27.5),
                EndKind::DeadCentre,
                "rod front and knee stand in line",
            ),
        ),
        turning_points: vec![TurningPoint {
            reading: 0,
            at: deg(12.345),
            value: 2.4567,
            greatest: false,
        }],
        change_points: vec![],
    }
}

fn over() -> [Over; 1] {
    [Over {
        reading: "least-gap".into(),
        drive: angle("crank"),
    }]
}

#[test]
fn a_motion_for_reading() {
    insta::assert_snapshot!(motion_table::text(&motion(), &over()));
}

#[test]
fn a_motion_for_a_spreadsheet() {
    insta::assert_snapshot!(motion_table::csv(&motion(), &over(), &[]));
}

#[test]
fn a_motion_backward_has_its_places_in_order() {
    let mut motion = motion();
    motion.rows.reverse();
    let csv = motion_table::csv(&motion, &over(), &[]);
    let at: Vec<f64> = csv
        .lines()
        .skip(1)
        .filter_map(|line| line.split(',').next()?.parse().ok())
        .collect();
    assert_eq!(at, [30.0, 27.5, 20.0, 12.35, 10.0, 0.0]);
}

#[test]
fn readings_that_do_not_fit_go_below() {
    let mut motion = motion();
    for number in 2..9 {
        motion.readings.push(length(&format!("reading-{number}")));
        for row in &mut motion.rows {
            let cell = row.cells.first().copied().unwrap_or_default();
            row.cells.push(cell);
        }
    }
    let text = motion_table::text(&motion, &over());
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    for reading in &motion.readings {
        assert!(text.contains(&reading.name), "{}", reading.name);
    }
    // Where one reading turns, the tables of the others have no line.
    assert_eq!(text.matches("12.35").count(), 2, "{text}");
}

fn finding(severity: Severity, sentence: &str, help: Option<&str>, about: &str) -> Finding {
    Finding {
        severity,
        sentence: sentence.into(),
        number: None,
        margin: None,
        inside: None,
        what_to_try: help.map(str::to_owned),
        about: about.into(),
        place: Place::default(),
    }
}

fn checked() -> Check {
    Check {
        machine: "Strap embosser".into(),
        freedoms: 2,
        loose: 0,
        counted: 2,
        reach: vec![
            DriveReach {
                drive: angle("set"),
                reach: reach(
                    end(deg(-5.0), EndKind::Stop, "stop lever-end"),
                    end(deg(75.0), EndKind::Range, ""),
                ),
            },
            DriveReach {
                drive: angle("crank"),
                reach: Reach {
                    whole_turn: true,
                    ..reach(
                        end(0.0, EndKind::WholeTurn, ""),
                        end(deg(360.0), EndKind::WholeTurn, ""),
                    )
                },
            },
        ],
        readings: vec![
            ReadingNow {
                reading: length("gap"),
                value: Some(12.3456),
                taken_at: None,
                and_at: None,
            },
            ReadingNow {
                reading: length("least-gap"),
                value: None,
                taken_at: None,
                and_at: None,
            },
        ],
        asks: vec![
            Judged {
                ask: "depth".into(),
                reading: length("least-gap"),
                kept: false,
                value: Some(0.448),
                at_least: Some(0.3),
                at_most: Some(0.4),
                margin: Some(-0.048),
                at: vec![held(angle("set"), deg(75.0), false)],
                borne: vec![],
            },
            Judged {
                ask: "travel".into(),
                reading: length("least-gap"),
                kept: true,
                value: Some(2.125),
                at_least: Some(2.0),
                at_most: None,
                margin: Some(0.125),
                at: vec![],
                borne: vec![],
            },
        ],
        findings: vec![
            finding(
                Severity::Miss,
                "ask depth is missed by 0.048 mm: least-gap is 0.448 mm, and at most 0.400 mm is wanted",
                Some("front-rod longer by 1/2 turn"),
                "ask.depth",
            ),
            finding(
                Severity::Caution,
                "rod front comes within 4.20 deg of a dead centre at set 75.00 deg, where it pushes almost along the knee and every \
                 hole that is off counts many times",
                None,
                "rod.front",
            ),
            finding(Severity::Kept, "ask travel is kept", None, "ask.travel"),
        ],
    }
}

#[test]
fn a_check_for_reading() {
    let text = check::check_text(&checked(), &over(), &Sources::default(), false);
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    insta::assert_snapshot!(text);
}

#[test]
fn colour_changes_no_words() {
    let plain = check::check_text(&checked(), &over(), &Sources::default(), false);
    let coloured = check::check_text(&checked(), &over(), &Sources::default(), true);
    assert_ne!(plain, coloured);
    let mut stripped = String::new();
    let mut escape = false;
    for c in coloured.chars() {
        match (c, escape) {
            ('\u{1b}', _) => escape = true,
            ('m', true) => escape = false,
            (_, true) => {}
            (c, false) => stripped.push(c),
        }
    }
    assert_eq!(stripped, plain);
}

#[test]
fn other_ways_for_reading() {
    let way = |drawn, sides: &[&str], gap| Assembly {
        drawn,
        readings: vec![ReadingNow {
            reading: length("gap"),
            value: Some(gap),
            taken_at: None,
            and_at: None,
        }],
        sides: sides.iter().map(|&side| side.to_owned()).collect(),
        standing: Standing {
            points: vec![],
            turns: vec![],
            outlines: std::sync::Arc::default(),
        },
    };
    let mut answer = Assemblies {
        machine: "Strap embosser".into(),
        held: vec![],
        ways: vec![
            way(true, &[], 3.0),
            way(
                false,
                &["knee falls below the line from lever-pin to knee-pivot, not above"],
                -14.25,
            ),
        ],
    };
    insta::assert_snapshot!(check::assemblies_text(&answer));
    answer.ways.truncate(1);
    assert!(check::assemblies_text(&answer).contains("one way only"));
}

#[test]
fn sensitivities_for_reading() {
    let effect = |of: &str, what: &str, inside, nominal, rate: f64| {
        let step = if inside == Inside::Radian {
            deg(0.1)
        } else {
            0.1
        };
        Effect {
            dimension: format!("{of}: {what}"),
            of: of.into(),
            inside,
            nominal,
            rate,
            step,
            change: rate * step,
        }
    };
    let hand = |quantity, value, rate: f64, step: Option<f64>| HandEffect {
        held: held(quantity, value, true),
        rate,
        step,
        change: step.map(|step| rate * step),
    };
    let answer = Sensitivities {
        machine: "Strap embosser".into(),
        held: vec![held(angle("set"), deg(40.0), false)],
        readings: vec![Effects {
            must_agree: Vec::new(),
            reading: length("least-gap"),
            value: 1.3456,
            taken_at: Some(deg(181.25)),
            and_at: None,
            dimensions: vec![
                effect(
                    "cross",
                    "centre distance shaft-centre to journal",
                    Inside::Millimetre,
                    6.0,
                    -0.98,
                ),
                effect("cross-arm", "clock angle", Inside::Radian, deg(80.0), 5.9),
                effect(
                    "lever",
                    "centre distance lever-pivot to lever-pin",
                    Inside::Millimetre,
                    31.75,
                    0.0312,
                ),
            ],
            parts: vec![PartEffect {
                of: "cross".into(),
                dimensions: 1,
                root_sum_square: 0.098,
                worst: 0.098,
            }],
            drives: vec![hand(
                angle("set"),
                deg(40.0),
                -0.0263 / deg(1.0),
                Some(deg(5.0)),
            )],
            settings: vec![hand(length("front-rod"), 0.0, 0.211, Some(1.25))],
        }],
        refused: vec!["grip has no sensitivity at a dead centre".into()],
    };
    insta::assert_snapshot!(sensitivity::text(&answer, &over(), 2, Unit::Millimetre));
}
