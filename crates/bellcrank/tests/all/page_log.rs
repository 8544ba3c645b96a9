//! The log beside a machine as the page writes it, its steps, and machines that are only tried.

use std::fs;

use crate::common::Bench;
use crate::common::page::{Answer, Page};
use serde_json::{Value, json};

const MACHINE: &str = r#"name = "Strap feeder"

[point]
stud = [0, 0]
pin  = { from = "stud", reach = 30, angle = "0 deg" }
stop = [60, 0]

[frame]
carries = ["stud", "stop"]

[part.lever]
carries = ["stud", "pin"]

[drive.set]
turns = "lever"
range = ["0 deg", "60 deg"]

[reading.gap]
distance = ["pin", "stop"]

[ask.close]
reading  = "gap"
when     = { set = "10 deg" }
at-least = "20 mm"

[usual]
hole-places = "0.05 mm"
"#;

fn feeder() -> (Bench, Page) {
    let bench = Bench::empty();
    bench.write("machine.toml", MACHINE);
    let page = Page::open(&bench.path("machine.toml"));
    (bench, page)
}

/// Sends a change of the log on how things stand.
fn send(page: &Page, path: &str, mut body: Value) -> Answer {
    body["base"] = page.state()["version"].clone();
    page.post(&format!("/api/m/machine/{path}"), &body)
}

#[test]
fn entries_of_the_log_are_steps_of_its_own() {
    let (bench, page) = feeder();
    let job = json!({ "job": "belts", "on": "2026-03-20", "reads": { "gap": "31.2 mm" }, "stands": { "set": "20 deg" }, "uncertainty": "0.05 mm" });
    let answer = send(&page, "run", job);
    assert_eq!(answer.status, 200, "{}", answer.text());
    assert_eq!(answer.json()["log_undo"], "wrote a job");
    let first = bench.read("machine.log.toml");
    for said in ["[[job]]", "belts", "20 deg", "31.2 mm", "2026-03-20"] {
        assert!(first.contains(said), "{said}: {first}");
    }
    let table = "set (deg),gap (mm)\n0,29.98\n20,33.4\n40,41.9\n";
    let run =
        json!({ "table": table, "uncertainty": "0.01 mm", "zero": "true", "on": "2026-03-21" });
    let answer = send(&page, "run", run);
    assert_eq!(answer.status, 200, "{}", answer.text());
    let part = json!({ "dimension": "frame: distance stud to stop", "value": "60.02", "uncertainty": "0.02 mm", "with": "caliper" });
    let answer = send(&page, "run", part);
    assert_eq!(answer.status, 200, "{}", answer.text());
    let all = bench.read("machine.log.toml");
    assert!(all.starts_with(&first) && all.contains("60.02 mm"), "{all}");
    // What the command line says of it is what the page says.
    let shown = page.get("/api/m/machine/dial-in?room=120,100").json();
    let ran = bench.run(&["dial-in", "machine.toml"]);
    assert_eq!(shown["text"].as_str().unwrap(), ran.out);
    // Back to before there was a log, and on again, also by a program that was started anew.
    for _ in 0..3 {
        assert_eq!(send(&page, "log/undo", json!({})).status, 200);
    }
    assert!(!bench.path("machine.log.toml").exists());
    let answer = send(&page, "log/undo", json!({}));
    assert_eq!(answer.json()["error"], "there is nothing to undo");
    page.kill();
    let page = Page::open(&bench.path("machine.toml"));
    for _ in 0..3 {
        assert_eq!(send(&page, "log/redo", json!({})).status, 200);
    }
    assert_eq!(bench.read("machine.log.toml"), all);
    assert_eq!(bench.read("machine.toml"), MACHINE);
    // What another program writes into it is a step like any other.
    bench.write("machine.log.toml", &first);
    page.until("the step", |state| state["log_undo"] == "changed outside");
    assert_eq!(send(&page, "log/undo", json!({})).status, 200);
    assert_eq!(bench.read("machine.log.toml"), all);
}

#[test]
fn what_does_not_hold_is_told_and_leaves_the_log_alone() {
    let (bench, page) = feeder();
    let refused = |path: &str, body: Value, said: &str| {
        let answer = send(&page, path, body);
        assert_eq!(answer.status, 422, "{said}: {}", answer.text());
        let error = answer.json()["error"].as_str().unwrap().to_owned();
        assert!(error.contains(said), "{said}: {error}");
        assert!(!bench.path("machine.log.toml").exists(), "{said}");
    };
    let part = |dimension: &str, value: &str| json!({ "dimension": dimension, "value": value, "uncertainty": "0.02 mm" });
    refused("run", part("frame: stud, sideways", "1 mm"), "no dimension");
    refused(
        "run",
        part("frame: distance stud to stop", "60 furlong"),
        "furlong",
    );
    refused(
        "run",
        json!({ "table": "set (deg),gap (mm)\n0,30\n" }),
        "how far off",
    );
    refused(
        "run",
        json!({ "table": "set (deg),gap (mm)\n0,30\n", "uncertainty": "0.01 mm", "on": "some day" }),
        "is no day",
    );
    refused(
        "run",
        json!({ "job": "belts", "reads": { "gap": "31 mm" }, "stands": { "lever": "3" }, "uncertainty": "0.1 mm" }),
        "lever",
    );
    refused("run", json!({ "job": "belts" }), "says nothing");
    let answer = send(&page, "log/forget", json!({}));
    assert_eq!(answer.status, 404);
    // What is no text is not written over.
    let odd = [0xff, 0xfe, 0x00];
    fs::write(bench.path("machine.log.toml"), odd).unwrap();
    let job = json!({ "job": "belts", "reads": { "gap": "31 mm" }, "uncertainty": "0.1 mm" });
    for (path, body) in [
        ("run", job),
        ("log", json!({ "text": "" })),
        ("log/undo", json!({})),
    ] {
        let answer = send(&page, path, body);
        assert_eq!(answer.status, 422, "{path}: {}", answer.text());
        assert_eq!(fs::read(bench.path("machine.log.toml")).unwrap(), odd);
    }
}

#[test]
fn a_machine_is_tried_without_being_written() {
    let (bench, page) = feeder();
    let look = json!([["room", "120,90"], ["names", "all"]]);
    let tried = |value: &str| {
        let change = json!({ "set": { "at": ["point", "pin", "reach"], "value": value } });
        let body = json!({ "changes": [change], "look": look });
        page.post("/api/m/machine/trial", &body)
    };
    let answer = tried("40");
    assert_eq!(answer.status, 200, "{}", answer.text());
    let picture = answer.json()["picture"].clone();
    let points = picture["points"].as_array().unwrap();
    let pin = points.iter().find(|p| p["name"] == "pin").unwrap();
    assert_eq!(pin["drawn"], json!([40.0, 0.0]), "{pin}");
    assert_eq!(tried("\"far\"").status, 422);
    let none = json!({ "changes": [], "look": look });
    assert_eq!(page.post("/api/m/machine/trial", &none).status, 422);
    assert_eq!(bench.read("machine.toml"), MACHINE);
    assert_eq!(page.state()["undo"], Value::Null);
}
