//! Machines that are right, each with something the examples of the page do not show.

use machine::model::{Adjusts, Machine, Measures, Moves, RatioKind, Take};
use machine::{read_text, render_all};
use quantity::Unit;

fn good(text: &str) -> Machine {
    let found = read_text("x.toml", text);
    assert!(
        found.problems.is_empty(),
        "{}",
        render_all(&found.problems, &found.sources, false)
    );
    found.machine.unwrap()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn planet_gears_turn_on_an_arm() {
    let m = good(
        r#"
        [point]
        centre = [0, 0]
        planet = [36, 0]
        [frame]
        carries = ["centre"]
        [part.sun]
        carries = ["centre"]
        [part.arm]
        carries = ["centre", "planet"]
        [part.planet]
        carries = ["planet"]
        [part.ring]
        carries = ["centre"]
        [gear.inner]
        joins = ["sun", "planet"]
        teeth = [18, 18]
        carrier = "arm"
        [gear.outer]
        joins = ["planet", "ring"]
        teeth = [18, 54]
        inside = true
        carrier = "arm"
        [drive.hand]
        turns = "arm"
        range = "whole turn"
        drawn = "30 deg"
        sense = "clockwise"
        "#,
    );
    assert_eq!(m.ratios[0].carrier, 2);
    assert_eq!(m.ratios[1].kind, RatioKind::InternalGear);
    let drive = &m.drives[0];
    assert!(near(drive.sense, -1.0) && near(drive.range.unwrap()[0].to_degrees(), 30.0));
}

#[test]
fn slides_carry_slides_and_are_driven() {
    let m = good(
        r#"
        unit = "in"
        [point]
        a = [0, 0]
        b = ["1/2 in", "12.7 mm"]
        low = [0, -1]
        high = [1, 0]
        [frame]
        carries = []
        [part.cross]
        carries = ["a"]
        [part.top]
        carries = ["b"]
        [slide.cross]
        part = "cross"
        along = "right"
        [slide.top]
        part = "top"
        on = "cross"
        along = ["low", "high"]
        [drive.feed]
        slides = "top"
        range = ["-5 mm", "5 mm"]
        sense = "backward"
        step = 0.01
        [reading.place]
        place-of = "b"
        along = "left"
        [reading.tilt]
        distance = ["a", "b"]
        [stop.end]
        reading = "place"
        at-least = -3
        [setting.end]
        stop = "end"
        range = [-4, -2]
        step = "10 thou"
        "#,
    );
    assert!(near(m.points[1].x, 12.7) && near(m.points[1].y, 12.7));
    assert!(near(m.slides[1].along.to_degrees(), 45.0) && m.slides[1].on == 1);
    assert_eq!(m.drives[0].moves, Moves::Slides(1));
    // Values are printed in the unit of the range.
    assert_eq!(m.drives[0].unit, Unit::Millimetre);
    assert!(near(m.drives[0].step.unwrap(), 0.254));
    assert_eq!(m.readings[0].unit, Unit::Inch);
    assert!(near(m.settings[0].drawn, -76.2) && near(m.settings[0].step.unwrap(), 0.254));
}

#[test]
fn arc_slots_run_counter_clockwise() {
    let text = |from: &str, to: &str, angle: i32| {
        format!(
            "[point]\nhub = [0, 0]\neast = [10, 0]\nnorth = [0, 10]\npivot = [30, 0]\n\
             roller = {{ from = \"hub\", reach = 10, angle = {angle} }}\n\
             [frame]\ncarries = [\"hub\", \"east\", \"north\", \"pivot\"]\n[part.arm]\ncarries = [\"pivot\", \"roller\"]\n\
             [slot.way]\npin = \"roller\"\nin = \"frame\"\nfrom = \"{from}\"\nto = \"{to}\"\ncentre = \"hub\"\n"
        )
    };
    for (from, to, angle) in [
        ("east", "north", 0),
        ("east", "north", 45),
        ("east", "north", 90),
        ("north", "east", 200),
        ("north", "east", 360),
    ] {
        let m = good(&text(from, to, angle));
        assert_eq!(m.slots[0].centre, Some(0));
    }
    assert!(
        read_text("x.toml", &text("north", "east", 45))
            .machine
            .is_none()
    );
    assert!(
        read_text("x.toml", &text("east", "north", 91))
            .machine
            .is_none()
    );
}

#[test]
fn arms_are_clamped_on_arms_and_free_pins_hang_on_rods() {
    let m = good(
        r#"
        [point]
        shaft = [0, 0]
        tip = [0, 40]
        outer = [0, 60]
        knee = { swing = [["outer", 50], ["post", 60]], take = "upper" }
        post = [80, 40]
        [frame]
        carries = ["shaft", "post"]
        [part.outer-arm]
        carries = ["outer"]
        clamped-to = "arm"
        [part.arm]
        carries = ["tip"]
        clamped-to = "main"
        [shaft.main]
        centre = "shaft"
        [rod.one]
        joins = ["outer", "knee"]
        [rod.two]
        joins = ["knee", "post"]
        [drive.turn]
        turns = "outer-arm"
        [setting.clock]
        clock = "outer-arm"
        range = ["-5 deg", "5 deg"]
        [reading.height]
        place-of = "knee"
        along = "up"
        "#,
    );
    assert_eq!(m.parts[1].clamped_to, Some(2));
    assert_eq!(m.parts[2].clamped_to, Some(3));
    assert_eq!(m.settings[0].adjusts, Adjusts::Clock(1));
    assert!(m.drives[0].range.is_none());
}

#[test]
fn readings_are_taken_over_readings() {
    let m = good(
        r#"
        [point]
        a = [0, 0]
        b = [10, 0]
        c = [60, 0]
        d = [70, 0]
        [frame]
        carries = ["a", "c"]
        [part.lever]
        carries = ["a", "b"]
        [part.crank]
        carries = ["c", "d"]
        [drive.set]
        turns = "lever"
        range = ["0 deg", "90 deg"]
        [drive.crank]
        turns = "crank"
        range = "whole turn"
        [reading.way]
        reading = "nearest"
        over = "set"
        take = "swing"
        [reading.nearest]
        reading = "span"
        over = "crank"
        take = "least"
        [reading.span]
        distance = ["b", "d"]
        [reading.against]
        turn-of = "lever"
        against = "crank"
        [ask.way]
        reading = "way"
        between = ["1 mm", "30 mm"]
        [ask.turn]
        reading = "against"
        over = "set"
        when = { crank = "0.25 turn" }
        at-least = "-1 rad"
        at-most = 200
        "#,
    );
    assert!(matches!(
        m.readings[0].measures,
        Measures::Over {
            reading: 1,
            drive: 0,
            take: Take::Swing
        }
    ));
    assert_eq!(m.readings[0].unit, Unit::Millimetre);
    assert_eq!(m.readings[3].unit, Unit::Degree);
    let ask = &m.asks[1];
    assert!(
        near(ask.at_least.as_ref().unwrap().value, -1.0)
            && near(ask.at_most.as_ref().unwrap().value.to_degrees(), 200.0)
    );
}

#[test]
fn a_row_may_sit_on_the_frame_and_be_named_among_what_a_part_carries() {
    let m = good(
        r#"
        [point]
        a = [0, 0]
        b = { from = "holes", by = [0, 30] }
        [frame]
        carries = ["a"]
        [row.holes]
        on = "frame"
        first = { at = [20, 0] }
        step = { by = [5, 0] }
        count = 4
        use = 4
        [row.ends]
        on = "lever"
        first = [0, 10]
        step = { reach = 10, angle = 90 }
        count = 2
        use = 1
        [part.lever]
        carries = ["a", "ends"]
        [part.rocker]
        carries = ["holes", "b"]
        [rod.r]
        joins = ["ends", "b"]
        [setting.holes]
        row = "holes"
        range = [2, 4]
        "#,
    );
    assert!(near(m.points[m.rows[0].point].x, 35.0) && near(m.points[1].x, 35.0));
    assert_eq!(m.rows[0].holes[0], [20.0, 0.0]);
    // The named place among the holes of the part is kept.
    assert_eq!(m.parts[1].carries.len(), 2);
    assert!(m.parts[0].carries.contains(&m.rows[0].point));
    assert_eq!(m.settings[0].unit, Unit::One);
}

/// A table of lifts may close with its first row, a whole turn on; it is the same curve without.
#[test]
fn a_table_of_a_cam_may_close_with_its_first_row() {
    let with = |last: &str| {
        let text = format!(
            r#"
            [point]
            c = [0, 0]
            r = [0, 40]
            [frame]
            carries = ["c"]
            [part.disc]
            carries = ["c"]
            [part.lifter]
            carries = ["r"]
            [slide.lifter]
            part = "lifter"
            along = "up"
            [cam.k]
            on = "disc"
            roller = "r"
            diameter = "16 mm"
            table = [["0 deg", "0 mm"], ["120 deg", "6 mm"], ["240 deg", "2 mm"]{last}]
            [drive.turn]
            turns = "disc"
            "#
        );
        good(&text).cams.remove(0).program
    };
    assert_eq!(with(""), with(r#", ["360 deg", "0 mm"]"#));
}
