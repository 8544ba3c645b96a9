//! The log: what it reads, and what it says of slips.

use machine::logbook::{Known, Log, LogRead, Zero, append, from_csv, read};
use machine::{Machine, Sources, render_all};
use quantity::Kind;

const MACHINE: &str = r#"
[point]
a = [0, 0]
b = [50, 0]
c = [100, 40]
d = [100, 0]
[frame]
carries = ["a", "d"]
[part.lever]
carries = ["a", "b"]
[part.arm]
carries = ["d", "c"]
[rod.link]
joins  = ["b", "c"]
thread = "M8"
[drive.set]
turns = "lever"
range = ["-20 deg", "20 deg"]
[setting.link]
rod = "link"
[reading.tip]
place-of = "c"
along    = "right"
[reading.turn]
turn-of = "arm"
"#;

fn machine() -> Machine {
    machine::read_text("x.toml", MACHINE).machine.unwrap()
}

fn log(text: &str) -> LogRead {
    let known = [Known {
        name: "rod link: length".to_owned(),
        kind: Kind::Length,
    }];
    read("x.log.toml", text, &machine(), &known, &Sources::default())
}

fn good(text: &str) -> Log {
    let found = log(text);
    found
        .log
        .unwrap_or_else(|| panic!("{}", render_all(&found.problems, &found.sources, false)))
}

#[test]
fn a_log_is_read() {
    let log = good(
        r#"
[[measured]]
dimension = "rod link: length"
value = "2 1/2 in"
uncertainty = 0.05
[[run]]
reading = "tip"
drive = "set"
set = { link = "half turn" }
uncertainty = "0.01 mm"
going = "both"
rows = [["5 deg", 1.0, 1.1], [0, 0.5, 0.6]]
[[run]]
reading = "turn"
drive = "set"
uncertainty = "0.1 deg"
zero = "true"
sense = "opposite"
rows = [[1, 2]]
[[job]]
name = "a job"
on = "2026-03-14"
reads = { tip = "0.36 mm", turn = "2 deg" }
"#,
    );
    assert!((log.measured[0].value - 63.5).abs() < 1e-12);
    let run = &log.runs[0];
    assert!((run.set[0].1 - 0.625).abs() < 1e-12);
    // Up first, then back down.
    let order: Vec<f64> = run.taken.iter().map(|t| t.shown).collect();
    assert_eq!(order, [0.5, 1.0, 1.1, 0.6]);
    assert!((log.runs[1].taken[0].shown - 2_f64.to_radians()).abs() < 1e-15);
    assert_eq!((log.runs[1].zero, log.runs[1].sense), (Zero::True, -1.0));
    assert_eq!(log.jobs[0].reads.len(), 2);
}

#[test]
fn all_slips_are_told_at_once_with_their_places() {
    let found = log(r#"
[[measured]]
dimension = "rod lnk: length"
value = "12 deg"
uncertainty = "0 mm"
[[run]]
reading = "tipp"
drive = "set"
uncertanty = "0.01 mm"
rows = [["5 deg", "1.0 mm"]]
[[run]]
reading = "tip"
drive = "set"
uncertainty = "0.01 mm"
zero = "kept"
at = { set = "5 deg" }
rows = [["50 deg", "1.0 mm"], ["5 deg"]]
[[job]]
name = "x"
on = "14.3.2026"
[weather]
"#);
    assert!(found.log.is_none());
    let text = render_all(&found.problems, &found.sources, false);
    for said in [
        "did you mean `rod link: length`?",
        "did you mean `tip`?",
        "did you mean `uncertainty`?",
        "is moved in this run",
        "\"14.3.2026\" is no day",
        "a logbook has no `weather`",
    ] {
        assert!(text.contains(said), "{said}\n{text}");
    }
    assert!(
        found.problems.iter().all(|p| !p.labels.is_empty()),
        "{text}"
    );
}

#[test]
fn a_zero_needs_a_run_to_be_kept_from() {
    let found = log(
        "[[run]]\nreading = \"tip\"\ndrive = \"set\"\nuncertainty = 0.01\nzero = \"kept\"\nrows = [[1, 2]]\n",
    );
    assert!(found.log.is_none());
    assert!(found.problems[0].message.contains("keeps the zero"));
}

#[test]
fn a_table_becomes_runs_of_one_zero() {
    let extra = [("uncertainty", "\"0.01 mm\"".to_owned())];
    let csv = "# notes\nset (deg);tip up (in);tip down (in)\n0;0.1;0.2\n5;;0.3\n10;0.4;\n";
    let entry = from_csv("t.csv", csv, &machine(), &extra).unwrap().text;
    let log = good(&append("# kept\n", &entry));
    assert_eq!(log.runs.len(), 2);
    assert_eq!(
        (log.runs[0].zero, log.runs[1].zero),
        (Zero::Unknown, Zero::Kept)
    );
    let shown: Vec<f64> = log
        .runs
        .iter()
        .flat_map(|r| &r.taken)
        .map(|t| t.shown / 25.4)
        .collect();
    for (a, b) in shown.iter().zip([0.1, 0.4, 0.3, 0.2]) {
        assert!((a - b).abs() < 1e-12, "{shown:?}");
    }
    assert!(log.runs[1].taken.iter().all(|t| t.going < 0.0));
}

#[test]
fn slips_in_a_table_are_told() {
    let told = |csv: &str| {
        let (sources, problems) = from_csv("t.csv", csv, &machine(), &[]).unwrap_err();
        render_all(&problems, &sources, false)
    };
    assert!(told("").contains("empty"));
    assert!(told("sett (deg),tip\n1,2\n").contains("did you mean `set`?"));
    assert!(told("set (mm),tip\n1,2\n").contains("t.csv:1"));
    assert!(told("set,tip,turn\n1,2,3\n").contains("one reading"));
    assert!(told("set,tip\n1,\n").contains("no reading in it"));
    // Commas for decimal points among commas between cells.
    let surplus = told("set (deg),tip (mm)\n1,2\n15,8,932\n");
    assert!(
        surplus.contains("t.csv:3") && surplus.contains("3 cells under 2 headings"),
        "{surplus}"
    );
    let wrong = told("set,tip\n1,2x\nfoo,3\n");
    assert!(
        wrong.contains("t.csv:2") && wrong.contains("t.csv:3"),
        "{wrong}"
    );
}

#[test]
fn a_comma_is_a_decimal_point_where_it_divides_no_cells() {
    let extra = [("uncertainty", "\"0.01 mm\"".to_owned())];
    let csv = "set (deg);tip up (mm);tip down (mm)\n0,5;7,611;7,559\n5;-1,25;\n";
    let table = from_csv("t.csv", csv, &machine(), &extra).unwrap();
    let log = good(&table.text);
    let shown: Vec<f64> = log
        .runs
        .iter()
        .flat_map(|r| &r.taken)
        .map(|t| t.shown)
        .collect();
    assert_eq!(shown, [7.611, -1.25, 7.559]);
    assert!((log.runs[0].taken[0].at.to_degrees() - 0.5).abs() < 1e-12);
    // Each row knows the line it came from.
    let (to, from) = &table.lines[1];
    assert!(table.text[to.clone()].contains("-1.25"));
    assert_eq!(&table.csv[from.clone()], "5;-1,25;");
}

#[test]
fn what_was_written_before_the_day_that_counts_rests() {
    let text = "since = \"2026-06-01\"\n[[run]]\nreading = \"tip\"\ndrive = \"set\"\nuncertainty = 0.01\non = \"2026-03-01\"\nrows = [[1, 2]]\n[[run]]\nreading = \"tip\"\ndrive = \"set\"\nuncertainty = 0.01\nzero = \"kept\"\non = \"2026-06-02\"\nrows = [[1, 2]]\n";
    let log = good(text);
    assert_eq!((log.runs.len(), log.rest), (1, 1));
    assert_eq!(log.runs[0].zero, Zero::Unknown);
}
