//! Outside cases again, this time from machine files and through the studies: what a builder would write and be told.

use checks::{Answers, Case, MOTION, disagreements, read_cases};
use std::path::Path;
use studies::{Cell, EndKind, Model, Motion, Stand};

fn model(name: &str) -> Model {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("machines")
        .join(format!("{name}.toml"));
    let reading = machine::read(&path);
    let said: Vec<String> = reading
        .problems
        .iter()
        .map(|p| p.render(&reading.sources, false))
        .collect();
    assert!(said.is_empty(), "{}", said.join("\n"));
    studies::assemble(&reading.machine.expect("nothing is wrong with it"))
}

fn cases() -> Vec<Case> {
    read_cases(MOTION).expect("motion.json reads")
}

/// One line of the table of a machine's first drive.
struct Line {
    motion: Motion,
}

impl Line {
    fn at(model: &Model, value: f64) -> Self {
        let sweep = studies::Sweep {
            drive: 0,
            from: Some(value),
            to: Some(value),
            step: None,
            readings: Vec::new(),
        };
        let motion = studies::motion(model, &model.drawn(), &sweep).expect("it moves");
        assert_eq!(motion.rows.len(), 1);
        assert!(motion.rows[0].reached, "{value}");
        Self { motion }
    }

    fn cell(&self, reading: &str) -> Cell {
        let i = self
            .motion
            .readings
            .iter()
            .position(|q| q.name == reading)
            .expect("it has that reading");
        self.motion.rows[0].cells[i]
    }

    fn value(&self, reading: &str) -> f64 {
        self.cell(reading).value.unwrap_or(f64::NAN)
    }

    fn rate(&self, reading: &str) -> f64 {
        self.cell(reading).rate.unwrap_or(f64::NAN)
    }
}

/// Answers those cases that `of` lets through, but for rates of second order and what is left out; says how many.
fn judge(
    machine: &str,
    left_out: &[&str],
    of: impl Fn(&Case) -> bool,
    drive: impl Fn(&Case) -> f64,
    answers: impl Fn(&Line, &Case) -> Answers,
) -> usize {
    let model = model(machine);
    let mut judged = 0;
    for mut case in cases().into_iter().filter(|c| of(c)) {
        // Tables hold first rates only, and only what the file reads.
        let asked = |name: &str| !name.ends_with("second") && !left_out.contains(&name);
        case.expected.retain(|name, _| asked(name));
        let line = Line::at(&model, drive(&case));
        let wrong = disagreements(&case, &answers(&line, &case));
        assert!(
            wrong.is_empty(),
            "{machine}, {}:\n    {}",
            case.id,
            wrong.join("\n    ")
        );
        judged += 1;
    }
    println!("machine file {machine}: {judged} outside cases agree");
    judged
}

fn degrees(name: &str) -> impl Fn(&Case) -> f64 {
    move |c| c.given.degrees(name).expect("it is given")
}

fn is(case: &Case, name: &str, value: f64) -> bool {
    case.given.number(name) == Ok(value)
}

#[test]
fn squeezer() {
    let places = |line: &Line, c: &Case| {
        let mut a = Answers::default();
        for name in ["Theta", "gamma", "Phi", "delta", "Omega", "epsilon"] {
            let reading = name.to_lowercase();
            let (value, rate) = (line.value(&reading), line.rate(&reading));
            let speed = c.given.number_or("beta_per_s", 1.0);
            a = a.number(
                name,
                if c.machine == "squeezer" {
                    value
                } else {
                    speed * rate
                },
            );
        }
        for name in ["F", "E", "D", "G", "H"] {
            let at =
                ["right", "up"].map(|way| line.value(&format!("{}-{way}", name.to_lowercase())));
            a = a.place(name, &at);
        }
        a
    };
    let beta = |c: &Case| c.given.number("beta").expect("it is given");
    let of = |c: &Case| c.machine == "squeezer" || c.machine == "squeezer-rates";
    assert_eq!(judge("squeezer", &[], of, beta, places), 12);
    let spring = |line: &Line, c: &Case| {
        let n = |name: &str| c.given.number(name).expect("it is given");
        let tension = n("stiffness_N_per_mm") * (line.value("spring") - n("free_length"));
        Answers::default()
            .number("length", line.value("spring"))
            .number("tension_N", tension)
            .number("crank_moment_Nmm", tension * line.rate("spring"))
    };
    assert_eq!(
        judge(
            "squeezer",
            &[],
            |c| c.machine == "squeezer-spring",
            beta,
            spring
        ),
        3
    );
}

#[test]
fn four_bar() {
    let of = |c: &Case| {
        c.machine == "four-bar"
            && c.given.word("branch") == Ok("open")
            && is(c, "coupler", 120.0)
            && is(c, "crank", 40.0)
    };
    let answers = |line: &Line, _: &Case| {
        Answers::default()
            .degrees("coupler", line.value("coupler"))
            .degrees("rocker", line.value("rocker"))
            .number("rocker_rate", line.rate("rocker"))
            .place(
                "point",
                &[line.value("point-right"), line.value("point-up")],
            )
    };
    assert_eq!(judge("four-bar", &[], of, degrees("crank"), answers), 4);
    let limits = cases()
        .into_iter()
        .find(|c| c.id == "four-bar-limits")
        .expect("there is one");
    let model = model("four-bar");
    let table = studies::motion(&model, &model.drawn(), &all()).expect("it moves");
    assert!(table.reach.whole_turn);
    let turns: Vec<_> = table
        .turning_points
        .iter()
        .filter(|t| table.readings[t.reading].name == "rocker")
        .collect();
    let [least, greatest] = [false, true].map(|g| {
        *turns
            .iter()
            .find(|t| t.greatest == g)
            .expect("it turns back")
    });
    let turn = std::f64::consts::TAU;
    let there = (greatest.at - least.at).rem_euclid(turn);
    let ratio = there / (turn - there);
    let answers = Answers::default()
        .degrees("extended_crank", least.at.rem_euclid(turn))
        .degrees("extended_rocker", least.value)
        .degrees("folded_crank", greatest.at.rem_euclid(turn))
        .degrees("folded_rocker", greatest.value)
        .degrees("swing", greatest.value - least.value)
        .number("time_ratio", ratio.max(1.0 / ratio));
    assert_eq!(disagreements(&limits, &answers), Vec::<String>::new());
}

fn all() -> studies::Sweep {
    studies::Sweep {
        drive: 0,
        from: None,
        to: None,
        step: None,
        readings: Vec::new(),
    }
}

/// Crank angles in which a reading is least and greatest, and what it is there.
fn ends(model: &Model, stand: &Stand, reading: &str) -> [(f64, f64); 2] {
    let table = studies::motion(model, stand, &all()).expect("it moves");
    assert_eq!(
        (table.reach.low.kind, table.reach.high.kind),
        (EndKind::WholeTurn, EndKind::WholeTurn)
    );
    [false, true].map(|greatest| {
        let of = |t: &&studies::TurningPoint| {
            table.readings[t.reading].name == reading && t.greatest == greatest
        };
        let t = table.turning_points.iter().find(of).expect("it turns back");
        (t.at.rem_euclid(std::f64::consts::TAU), t.value)
    })
}

#[test]
fn slider_crank() {
    let of = |c: &Case| c.machine == "slider-crank" && is(c, "offset", 15.0);
    let answers = |line: &Line, _: &Case| {
        Answers::default()
            .number("slide", line.value("slide"))
            .number("slide_rate", line.rate("slide"))
    };
    assert_eq!(
        judge("slider-crank", &["rod_deg"], of, degrees("crank"), answers),
        5
    );
    // Turning points are asked to 1e-9 rad, the case in degrees.
    let limits = cases()
        .into_iter()
        .find(|c| c.id == "slider-crank-limits")
        .expect("there is one")
        .allowing(5e-8);
    let model = model("slider-crank");
    let [inner, outer] = ends(&model, &model.drawn(), "slide");
    let there = (inner.0 - outer.0).rem_euclid(std::f64::consts::TAU);
    let ratio = there / (std::f64::consts::TAU - there);
    let answers = Answers::default()
        .degrees("outer_crank", outer.0)
        .degrees("inner_crank", inner.0)
        .number("stroke", outer.1 - inner.1)
        .number("time_ratio", ratio.max(1.0 / ratio));
    assert_eq!(disagreements(&limits, &answers), Vec::<String>::new());
}

#[test]
fn quick_return() {
    let quarter = std::f64::consts::FRAC_PI_2;
    let answers = |line: &Line, _: &Case| {
        Answers::default()
            .degrees("lever_from_vertical", quarter - line.value("lever"))
            .number("lever_from_vertical_rate", -line.rate("lever"))
    };
    let of = |c: &Case| c.machine == "quick-return-lever";
    assert_eq!(judge("quick-return", &[], of, degrees("crank"), answers), 3);
    let limits = cases()
        .into_iter()
        .find(|c| c.id == "quick-return-limits-1")
        .expect("there is one");
    let model = model("quick-return");
    let [left, right] = ends(&model, &model.drawn(), "tip");
    let there = (left.0 - right.0).rem_euclid(std::f64::consts::TAU);
    let ratio = there / (std::f64::consts::TAU - there);
    let answers = Answers::default()
        .number("stroke", right.1 - left.1)
        .number("time_ratio", ratio.max(1.0 / ratio));
    assert_eq!(disagreements(&limits, &answers), Vec::<String>::new());
}

#[test]
fn skew_shafts() {
    let of = |c: &Case| c.machine == "rssr" && c.id.ends_with("-a");
    let answers = |line: &Line, c: &Case| {
        // The pin's place follows from the arm's angle.
        let (s, cos) = line.value("arm").sin_cos();
        let [x, y, z]: [f64; 3] = c.given.place("arm_centre").expect("it is given");
        let (tilt, r) = (
            c.given.degrees("shaft_tilt").expect("given"),
            c.given.number("arm").expect("given"),
        );
        Answers::default()
            .degrees("arm", line.value("arm"))
            .number("arm_rate", line.rate("arm"))
            .place(
                "B",
                &[x + r * cos, y + r * s * tilt.cos(), z - r * s * tilt.sin()],
            )
    };
    assert_eq!(judge("skew-shafts", &[], of, degrees("crank"), answers), 4);
}

#[test]
fn lever_to_gap() {
    let answers = |line: &Line, _: &Case| {
        Answers::default()
            .number("gap", line.value("gap"))
            .number("gap_rate", line.rate("gap"))
            .degrees("bell", line.value("bell"))
            .degrees("shaft", line.value("shaft"))
    };
    assert_eq!(
        judge(
            "lever-to-gap",
            &[],
            |c| c.machine == "chain",
            degrees("lever"),
            answers
        ),
        4
    );
    // What the rods' lengths do to the gap, which every way of writing the machine has in common.
    let model = model("lever-to-gap");
    for mut case in cases()
        .into_iter()
        .filter(|c| c.machine == "chain-sensitivities")
    {
        let mut stand = model.drawn();
        stand.drives[0] = degrees("lever")(&case);
        let found = studies::sensitivity(&model, &stand, &[0]).expect("it has sensitivities");
        let effects = &found.readings[0].dimensions;
        let rods = [("R1", "first"), ("R2", "second"), ("k", "link")];
        let mut a = Answers::default();
        for (name, rod) in rods {
            let of: Vec<_> = effects.iter().filter(|e| e.of.contains(rod)).collect();
            assert_eq!(
                of.len(),
                1,
                "{rod}: {:?}",
                effects
                    .iter()
                    .map(|e| (&e.of, &e.dimension))
                    .collect::<Vec<_>>()
            );
            a = a.number(name, of[0].rate);
        }
        case.expected
            .retain(|name, _| rods.iter().any(|r| r.0 == name));
        assert_eq!(case.expected.len(), 3);
        assert_eq!(
            disagreements(&case, &a),
            Vec::<String>::new(),
            "{}",
            case.id
        );
    }
}
