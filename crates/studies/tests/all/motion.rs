//! Motion against closed forms: positions, rates, turning points, dead centres, stops, slot ends and change points.

use crate::common;
use crate::common::{close, four_bar, index, model, motion, read, stand};
use std::f64::consts::{PI, TAU};
use studies::EndKind;

/// Joint of coupler and rocker by two circles; +1 is the side left of the line from crank pin to rocker pivot.
fn circles(a: f64, b: f64, c: f64, d: f64, theta: f64, side: f64) -> [f64; 2] {
    let p = [a * theta.cos(), a * theta.sin()];
    let e = [d - p[0], -p[1]];
    let l = e[0].hypot(e[1]);
    let x = (l * l + b * b - c * c) / (2.0 * l);
    let h = side * (b * b - x * x).sqrt();
    [
        p[0] + (x * e[0] - h * e[1]) / l,
        p[1] + (x * e[1] + h * e[0]) / l,
    ]
}

#[test]
fn a_four_bar_follows_both_branches_over_the_whole_turn() {
    // Dimensions of the crank-rocker in checks of linkage motion: 40, 120, 80, 100.
    let (a, b, c, d) = (40.0, 120.0, 80.0, 100.0);
    for (take, side) in [("upper", 1.0), ("lower", -1.0)] {
        let model = model(&four_bar(a, b, c, d, 40.0, take));
        let table = motion(
            &model,
            "crank",
            Some("40 deg"),
            Some("400 deg"),
            Some("7.5 deg"),
        );
        assert!(table.reach.whole_turn);
        let (height, reach) = (index(&model, "height"), index(&model, "reach"));
        assert_eq!(table.rows.len(), 49);
        for row in &table.rows {
            let exact = |t: f64| circles(a, b, c, d, t, side);
            let [x, y] = exact(row.at);
            close(row.cells[reach].value.unwrap(), x, 1e-10);
            close(row.cells[height].value.unwrap(), y, 1e-10);
            let h = 1e-5;
            let rate = (exact(row.at + h)[1] - exact(row.at - h)[1]) / (2.0 * h);
            close(row.cells[height].rate.unwrap(), rate, 1e-7);
        }
    }
}

#[test]
fn the_rocker_turns_back_where_crank_and_coupler_are_in_line() {
    let (a, b, c, d) = (40.0, 120.0, 80.0, 100.0);
    let model = model(&four_bar(a, b, c, d, 40.0, "upper"));
    let table = motion(&model, "crank", None, None, None);
    let rocker = index(&model, "rocker");
    let turns: Vec<_> = table
        .turning_points
        .iter()
        .filter(|t| t.reading == rocker)
        .collect();
    assert_eq!(turns.len(), 2, "{turns:?}");
    // Law of cosines in the triangle of the centres, the stretched or folded crank and coupler, and the rocker.
    let crank = |l: f64| ((l * l + d * d - c * c) / (2.0 * l * d)).acos();
    let rocker_angle = |l: f64| PI - ((c * c + d * d - l * l) / (2.0 * c * d)).acos();
    let [folded, stretched] = [turns[0], turns[1]];
    close(folded.at, crank(b - a) + PI, 1e-9);
    close(stretched.at, crank(b + a) + TAU, 1e-9);
    close(
        folded.value - stretched.value,
        rocker_angle(b - a) - rocker_angle(b + a),
        1e-11,
    );
    assert!(folded.greatest && !stretched.greatest);
}

#[test]
fn a_dead_centre_is_found_and_named() {
    // Triple rocker: the crank stops where coupler and rocker stretch out.
    let (a, b, c, d) = (80.0_f64, 60.0, 70.0, 100.0);
    let model = model(&four_bar(a, b, c, d, 60.0, "right"));
    let table = motion(&model, "crank", None, None, None);
    let limit = ((a * a + d * d - (b + c) * (b + c)) / (2.0 * a * d)).acos();
    close(table.reach.high.at, limit, 1e-9);
    close(table.reach.low.at, -limit, 1e-9);
    for end in [&table.reach.low, &table.reach.high] {
        assert_eq!(end.kind, EndKind::DeadCentre);
        assert_eq!(end.cause, "rocker and rod coupler stand in line");
    }
    let refusal = studies::readings(&model, &stand(&model, &["crank = 100 deg"])).unwrap_err();
    assert_eq!(
        refusal.message,
        "crank cannot reach 100 deg: at 91.79 deg rocker and rod coupler stand in line"
    );
}

fn slider(stop: &str) -> String {
    format!(
        r#"
name = "Slider-crank"
[point]
o = [0, 0]
a = {{ from = "o", reach = 50, angle = "20 deg" }}
b = {{ at = [150, 10] }}
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
[part.ram]
carries = ["b"]
[rod.link]
joins = ["a", "b"]
[slide.guide]
part = "ram"
along = "right"
[drive.crank]
turns = "crank"
drawn = "20 deg"
range = "whole turn"
[reading.ram]
place-of = "b"
along = "right"
[reading.least]
reading = "ram"
over = "crank"
take = "least"
{stop}
"#
    )
}

#[test]
fn a_stop_ends_a_drive_that_would_go_round() {
    let free = model(&slider(""));
    let table = motion(&free, "crank", None, None, None);
    assert!(table.reach.whole_turn);
    let stopped = model(&slider(
        "[stop.front]\nreading = \"ram\"\nat-least = \"120 mm\"",
    ));
    let table = motion(&stopped, "crank", None, None, None);
    assert!(!table.reach.whole_turn);
    let length = (150.0_f64 - 50.0 * 20_f64.to_radians().cos())
        .hypot(10.0 - 50.0 * 20_f64.to_radians().sin());
    for (end, sign) in [(&table.reach.low, -1.0), (&table.reach.high, 1.0)] {
        assert_eq!(
            (end.kind, end.cause.as_str()),
            (EndKind::Stop, "stop front")
        );
        // The link reaches from the crank pin to the ram at 120.
        let [x, y] = [50.0 * end.at.cos(), 50.0 * end.at.sin()];
        close((120.0 - x).hypot(10.0 - y), length, 1e-8);
        assert!(end.at * sign > 0.0);
    }
    // The least value over the crank is now the stop's own limit.
    close(read(&stopped, &[], "least"), 120.0, 1e-8);
    let refusal = studies::readings(&stopped, &stand(&stopped, &["crank = 180 deg"])).unwrap_err();
    assert!(
        refusal.message.ends_with("stop front is in the way"),
        "{refusal}"
    );
}

#[test]
fn a_rod_square_to_its_slide_is_named() {
    let text = slider("")
        .replace("150, 10", "76.98, 0")
        .replace("range = \"whole turn\"\n", "")
        .replace(
            "[reading.least]\nreading = \"ram\"\nover = \"crank\"\ntake = \"least\"\n",
            "",
        );
    let model = model(&text);
    let table = motion(&model, "crank", None, None, None);
    let length = (76.98 - 50.0 * 20_f64.to_radians().cos()).hypot(50.0 * 20_f64.to_radians().sin());
    close(table.reach.high.at, (length / 50.0).asin(), 1e-9);
    close(table.reach.low.at, -(length / 50.0).asin(), 1e-9);
    assert_eq!(
        table.reach.high.cause,
        "rod link stands square to slide guide"
    );
}

#[test]
fn the_end_of_a_slot_is_found_and_named() {
    // Quick return: the pin's distance from the lever's pivot must stay between the slot's ends.
    let text = r#"
name = "Quick return"
[point]
o = [0, 0]
pivot = [0, -240]
pin = { from = "o", reach = 120, angle = "30 deg" }
low = { on = ["pivot", "pin"], reach = 150 }
top = { on = ["pivot", "pin"], reach = 340 }
[frame]
carries = ["o", "pivot"]
[part.crank]
carries = ["o", "pin"]
[part.lever]
carries = ["pivot", "low", "top"]
[slot.run]
pin = "pin"
in = "lever"
from = "low"
to = "top"
[drive.crank]
turns = "crank"
drawn = "30 deg"
[reading.lever]
turn-of = "lever"
"#;
    let model = model(text);
    let table = motion(&model, "crank", None, None, None);
    // |pin − pivot|² = 120² + 240² + 2·120·240 sin θ
    let angle = |r: f64| ((r * r - 120.0 * 120.0 - 240.0 * 240.0) / (2.0 * 120.0 * 240.0)).asin();
    close(table.reach.low.at, angle(150.0), 1e-9);
    close(table.reach.high.at, angle(340.0), 1e-9);
    assert_eq!(table.reach.low.cause, "end low of slot run");
    assert_eq!(
        (table.reach.high.kind, table.reach.high.cause.as_str()),
        (EndKind::SlotEnd, "end top of slot run")
    );
    // Lever angle at 0 deg from the vertical by the right triangle pivot, centre, pin.
    let now = read(&model, &["crank = 0 deg"], "lever");
    let drawn =
        (30_f64.to_radians().cos() * 120.0).atan2(240.0 + 120.0 * 30_f64.to_radians().sin());
    close(now, drawn - 120_f64.atan2(240.0), 1e-12);
}

#[test]
fn the_end_of_an_arc_slot_is_found() {
    let text = r#"
name = "Arc slot"
[point]
o2 = [40, 20]
pin = [0, 80]
centre = [0, 5]
from = { from = "centre", reach = 75, angle = "60 deg" }
to = { from = "centre", reach = 75, angle = "120 deg" }
tail = { from = "pin", by = [40, 30] }
[frame]
carries = ["o2", "centre", "from", "to"]
[part.follower]
carries = ["pin", "tail"]
[slot.arc]
pin = "pin"
in = "frame"
from = "from"
to = "to"
centre = "centre"
[part.arm]
carries = ["o2", "tail"]
[drive.push]
turns = "arm"
[reading.pin]
place-of = "pin"
along = "right"
"#;
    let table = motion(&model(text), "push", None, None, None);
    for end in [&table.reach.low, &table.reach.high] {
        assert_eq!(end.kind, EndKind::SlotEnd, "{:?}", table.reach);
    }
    assert_eq!(table.reach.low.cause, "end from of slot arc");
    assert_eq!(table.reach.high.cause, "end to of slot arc");
    let model = model(text);
    for (end, x) in [(&table.reach.low, 37.5), (&table.reach.high, -37.5)] {
        let mut stand = model.drawn();
        stand.drives[0] = end.at;
        close(common::read_at(&model, &stand, "pin"), x, 1e-7);
    }
}

#[test]
fn a_change_point_is_found_and_named() {
    let text = r#"
name = "Parallelogram"
[point]
p1 = [0, 0]
p2 = [50, 0]
q1 = { from = "p1", reach = 40, angle = "40 deg" }
q2 = { from = "p2", reach = 40, angle = "40 deg" }
[frame]
carries = ["p1", "p2"]
[part.c1]
carries = ["p1", "q1"]
[part.c2]
carries = ["p2", "q2"]
[part.bar]
carries = ["q1", "q2"]
[drive.c]
turns = "c1"
drawn = "40 deg"
[reading.t]
turn-of = "c2"
drawn = "40 deg"
"#;
    let model = model(text);
    let table = motion(&model, "c", None, None, Some("10 deg"));
    assert!(table.reach.whole_turn);
    assert_eq!(table.change_points.len(), 2, "{:?}", table.change_points);
    close(table.change_points[0].at, PI, 1e-9);
    close(table.change_points[1].at, TAU, 1e-9);
    assert_eq!(table.change_points[0].cause, "c2 and bar stand in line");
    for row in &table.rows {
        close(row.cells[0].value.unwrap(), row.at, 1e-6);
    }
}

#[test]
fn a_reading_over_a_drive_of_its_own_group_has_its_exact_rate() {
    // Five-bar: two cranks and two rods meet in one pin; its height, least over the second crank, changes with the first.
    let text = r#"
name = "Five-bar"
[point]
o1 = [0, 0]
o2 = [110, 0]
a = { from = "o1", reach = 25, angle = "70 deg" }
b = { from = "o2", reach = 22, angle = "100 deg" }
p = { swing = [["a", 95], ["b", 90]], take = "upper" }
[frame]
carries = ["o1", "o2"]
[part.left]
carries = ["o1", "a"]
[part.right]
carries = ["o2", "b"]
[rod.ra]
joins = ["a", "p"]
[rod.rb]
joins = ["b", "p"]
[drive.left]
turns = "left"
range = ["0 deg", "90 deg"]
drawn = "70 deg"
[drive.right]
turns = "right"
drawn = "100 deg"
range = "whole turn"
[reading.height]
place-of = "p"
along = "up"
[reading.low]
reading = "height"
over = "right"
take = "least"
[reading.swing]
reading = "height"
over = "right"
take = "swing"
"#;
    let model = model(text);
    let table = motion(&model, "left", None, None, Some("9 deg"));
    let (low, swing) = (index(&model, "low"), index(&model, "swing"));
    let height = |left: f64, right: f64| {
        let (a, b) = (
            [25.0 * left.cos(), 25.0 * left.sin()],
            [110.0 + 22.0 * right.cos(), 22.0 * right.sin()],
        );
        let e = [b[0] - a[0], b[1] - a[1]];
        let l = e[0].hypot(e[1]);
        let x = (l * l + 95.0 * 95.0 - 90.0 * 90.0) / (2.0 * l);
        a[1] + (x * e[1] + (95.0 * 95.0 - x * x).sqrt() * e[0]) / l
    };
    for row in &table.rows {
        let cell = row.cells[low];
        // Least over a fine grid lies above the true least by the square of its step at most.
        let grid = (0..7200)
            .map(|i| height(row.at, f64::from(i) * TAU / 7200.0))
            .fold(f64::INFINITY, f64::min);
        let value = cell.value.unwrap();
        assert!(
            value <= grid + 1e-12 && value > grid - 1e-4,
            "{value} {grid}"
        );
        close(height(row.at, cell.taken_at.unwrap()), value, 1e-10);
        let h = 1e-5;
        let at = cell.taken_at.unwrap();
        let partial = (height(row.at + h, at) - height(row.at - h, at)) / (2.0 * h);
        close(cell.rate.unwrap(), partial, 1e-7);
        assert!(row.cells[swing].value.unwrap() > 0.0);
    }
    // The rate is the slope of the least values themselves.
    for pair in table.rows.windows(3) {
        let [a, b, c] = [pair[0].cells[low], pair[1].cells[low], pair[2].cells[low]];
        let chord = (c.value.unwrap() - a.value.unwrap()) / (pair[2].at - pair[0].at);
        close(b.rate.unwrap(), chord, 0.05 * chord.abs().max(1.0));
    }
}

#[test]
fn a_branch_is_kept_there_and_back() {
    let model = model(&four_bar(80.0, 60.0, 70.0, 100.0, 60.0, "right"));
    let before = read(&model, &["crank = 60 deg"], "height");
    // Far out to just before the dead centre, and back along the table.
    let out = motion(
        &model,
        "crank",
        Some("91.79 deg"),
        Some("-91.79 deg"),
        Some("0.5 deg"),
    );
    for row in &out.rows {
        let [x, y] = circles(80.0, 60.0, 70.0, 100.0, row.at, 1.0);
        close(row.cells[index(&model, "reach")].value.unwrap(), x, 1e-7);
        close(row.cells[index(&model, "height")].value.unwrap(), y, 1e-7);
    }
    close(read(&model, &["crank = 60 deg"], "height"), before, 1e-12);
}

#[test]
fn several_turns_are_counted() {
    let model = model(&four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper"));
    let table = motion(
        &model,
        "crank",
        Some("-320 deg"),
        Some("760 deg"),
        Some("40 deg"),
    );
    let height = index(&model, "height");
    assert!(table.rows.iter().all(|r| r.reached));
    close(
        table.rows[0].cells[height].value.unwrap(),
        table.rows[27].cells[height].value.unwrap(),
        1e-9,
    );
}

#[test]
fn values_out_of_reach_are_left_empty() {
    let model = model(&four_bar(80.0, 60.0, 70.0, 100.0, 60.0, "right"));
    let table = motion(
        &model,
        "crank",
        Some("80 deg"),
        Some("100 deg"),
        Some("10 deg"),
    );
    let reached: Vec<bool> = table.rows.iter().map(|r| r.reached).collect();
    // The dead centre stands between.
    assert_eq!(reached, [true, true, true, false]);
    assert!(table.rows[3].cells.iter().all(|c| c.value.is_none()));
}

#[test]
fn one_drive_makes_room_for_another() {
    let text = r#"
name = "Two jaws"
[point]
base = [0, -20]
left = [0, 0]
right = [60, 0]
[frame]
carries = ["base"]
[part.jaw]
carries = ["left"]
[part.block]
carries = ["right"]
[slide.jaw]
part = "jaw"
along = "right"
[slide.block]
part = "block"
along = "right"
[drive.jaw]
slides = "jaw"
[drive.block]
slides = "block"
[reading.gap]
between = ["left", "right"]
along = "right"
[stop.met]
reading = "gap"
at-least = "5 mm"
"#;
    let model = model(text);
    close(
        read(&model, &["jaw = 90 mm", "block = 60 mm"], "gap"),
        30.0,
        1e-10,
    );
    let refusal = studies::readings(&model, &stand(&model, &["jaw = 90 mm"])).unwrap_err();
    assert_eq!(
        refusal.message,
        "jaw cannot reach 90 mm: at 55 mm stop met is in the way"
    );
}

/// Side rods: cranks of one throw on the frame, their pins all on one coupler; the third crank repeats what two already fix.
fn side_rods(third: &str, third_pin: &str) -> studies::Model {
    model(&format!(
        r#"
[point]
a = [0, 0]
b = [100, 0]
c = {third}
a2 = [0, 40]
b2 = [100, 40]
c2 = {third_pin}
[frame]
carries = ["a", "b", "c"]
[part.k1]
carries = ["a", "a2"]
[part.k2]
carries = ["b", "b2"]
[part.k3]
carries = ["c", "c2"]
[part.coupler]
carries = ["a2", "b2", "c2"]
[drive.k]
turns = "k1"
range = "whole turn"
[reading.t]
turn-of = "k3"
[reading.y]
place-of = "c2"
along = "up"
"#
    ))
}

#[test]
fn a_third_crank_that_agrees_does_not_disturb() {
    let model = side_rods("[50, 80]", "[50, 120]");
    let motion = motion(&model, "k", None, None, Some("10 deg"));
    assert!(motion.reach.whole_turn && motion.change_points.is_empty());
    assert_eq!(motion.rows.len(), 37);
    for row in &motion.rows {
        close(row.cells[0].value.unwrap(), row.at, 1e-9);
        close(row.cells[0].rate.unwrap(), 1.0, 1e-7);
    }
}

#[test]
fn side_rods_in_line_pass_their_change_points_and_have_no_rate_there() {
    let model = side_rods("[200, 0]", "[200, 40]");
    let motion = motion(&model, "k", None, None, Some("30 deg"));
    assert!(motion.reach.whole_turn);
    let places: Vec<f64> = motion.change_points.iter().map(|c| c.at).collect();
    assert_eq!(places.len(), 2);
    close(places[0], 0.5 * PI, 1e-9);
    close(places[1], 1.5 * PI, 1e-9);
    for row in &motion.rows {
        close(row.cells[0].value.unwrap(), row.at, 1e-7);
        let on_it = places.iter().any(|p| (p - row.at).abs() < 1e-6);
        match row.cells[0].rate {
            Some(rate) => close(rate, 1.0, 1e-7),
            None => assert!(on_it, "{}", row.at),
        }
        assert!(!on_it || row.cells[0].rate.is_none());
    }
    // The height of the pin is least and greatest where the cranks stand upright, and nowhere else.
    assert_eq!(motion.turning_points.len(), 2);
}

const TWO_DRIVES: &str = r#"
[point]
a = [0, 0]
b = [0, 40]
c = [100, 50]
d = [100, 0]
[frame]
carries = ["a", "d"]
[part.one]
carries = ["a", "b"]
[part.two]
carries = ["d", "c"]
[rod.link]
joins = ["b", "c"]
[drive.first]
turns = "one"
range = ["0 deg", "40 deg"]
[drive.second]
turns = "two"
[reading.t]
turn-of = "two"
"#;

#[test]
fn what_is_locked_has_no_rate_and_says_what_holds_it() {
    let model = model(TWO_DRIVES);
    let motion = motion(&model, "first", None, None, Some("10 deg"));
    assert_eq!(motion.reach.high.kind, EndKind::Locked);
    assert_eq!(motion.reach.high.cause, "drive second holds one fast");
    assert!(motion.rows[0].cells[0].value.is_some());
    assert_eq!(motion.rows[0].cells[0].rate, None);
    let said: Vec<&str> = motion
        .falls_short
        .iter()
        .map(|f| f.sentence.as_str())
        .collect();
    assert_eq!(
        said,
        ["drive first does not reach 40 deg: at 0 deg drive second holds one fast"]
    );
}

#[test]
fn a_dead_centre_between_the_steps_is_a_row_with_values_and_no_rate() {
    let model = model(
        r#"
[point]
a = [0, 0]
b = { from = "a", reach = 50, angle = "90 deg" }
c = { swing = [["b", 60], ["d", 40]], take = "upper" }
d = [80, 0]
[frame]
carries = ["a", "d"]
[part.k]
carries = ["a", "b"]
[rod.bc]
joins = ["b", "c"]
[part.o]
carries = ["d", "c"]
[drive.k]
turns = "k"
range = ["0 deg", "120 deg"]
drawn = "90 deg"
[reading.o]
turn-of = "o"
"#,
    );
    for (from, to) in [("0 deg", "120 deg"), ("120 deg", "0 deg")] {
        let motion = motion(&model, "k", Some(from), Some(to), Some("10 deg"));
        let dead = motion.reach.high.at;
        let row = motion
            .rows
            .iter()
            .find(|r| (r.at - dead).abs() < 1e-9)
            .unwrap();
        assert!(row.reached);
        assert!(row.cells[0].value.is_some() && row.cells[0].rate.is_none());
        let sorted = |w: &[studies::MotionRow]| (w[1].at > w[0].at) == (from == "0 deg");
        assert!(motion.rows.windows(2).all(sorted));
        assert_eq!(motion.falls_short.len(), 1);
    }
    // Nothing falls short of what was asked for, when less is asked.
    let motion = motion(&model, "k", Some("10 deg"), Some("90 deg"), None);
    assert_eq!(motion.falls_short, []);
}

#[test]
fn a_swing_tells_both_its_places() {
    let model = model(
        r#"
[point]
c = [0, 0]
p = [30, 0]
w = [150, 0]
[frame]
carries = ["c"]
[part.crank]
carries = ["c", "p"]
[part.ram]
carries = ["w"]
[slide.ram]
part = "ram"
along = "right"
[rod.con]
joins = ["p", "w"]
[drive.crank]
turns = "crank"
range = "whole turn"
drawn = "0 deg"
[reading.x]
place-of = "w"
along = "right"
[reading.stroke]
reading = "x"
over = "crank"
take = "swing"
"#,
    );
    let now = studies::readings(&model, &model.drawn()).unwrap();
    close(now[1].value.unwrap(), 60.0, 1e-9);
    close(now[1].taken_at.unwrap(), PI, 1e-9);
    close(now[1].and_at.unwrap(), 0.0, 1e-9);
}
