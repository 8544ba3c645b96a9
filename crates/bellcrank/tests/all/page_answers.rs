//! What the page says is what the command line says: the same bytes to take away, the same answers, the same words.

use std::fs;
use std::time::{Duration, Instant};

use crate::common::page::Page;
use crate::common::{Bench, project};
use serde_json::{Value, json};

fn embosser() -> (Bench, Page) {
    let bench = Bench::empty();
    let text = fs::read(project("examples/strap-embosser/machine.toml")).unwrap();
    bench.write("machine.toml", text);
    let shop = fs::read(project("examples/strap-embosser/shop.toml")).unwrap();
    bench.write("shop.toml", shop);
    let page = Page::open(&bench.path("machine.toml"));
    (bench, page)
}

#[test]
fn what_is_taken_away_has_the_bytes_of_the_command_line() {
    let (bench, page) = embosser();
    let taken = |question: &str| {
        let answer = page.get(&format!("/api/m/machine/export/{question}"));
        assert_eq!(answer.status, 200, "{question}: {}", answer.text());
        assert!(
            answer
                .header("content-disposition")
                .unwrap()
                .starts_with("attachment")
        );
        answer.body
    };
    let written = |args: &[&str], file: &str| {
        let ran = bench.run(args);
        assert!(ran.code < Some(2), "{}", ran.err);
        fs::read(bench.path(file)).unwrap()
    };
    let printed = |args: &[&str]| bench.run(args).out.into_bytes();
    assert!(
        taken(
            "drawing.svg?set=40%20deg&crank=90%20deg&look=board&trace=die&ghost=set%20%3D%2060%20deg"
        ) == written(
            &[
                "draw",
                "machine.toml",
                "-o",
                "a.svg",
                "--at",
                "set = 40 deg",
                "--at",
                "crank = 90 deg",
                "--look",
                "board",
                "--trace",
                "die",
                "--ghost",
                "set = 60 deg"
            ],
            "a.svg"
        )
    );
    assert!(
        taken("drawing.png?scale=1:5")
            == written(
                &["draw", "machine.toml", "-o", "a.png", "--scale", "1:5"],
                "a.png"
            )
    );
    assert!(
        taken("plot.svg?drive=set&reading=gap")
            == written(
                &[
                    "motion",
                    "machine.toml",
                    "--drive",
                    "set",
                    "--reading",
                    "gap",
                    "--plot",
                    "b.svg"
                ],
                "b.svg"
            )
    );
    assert!(
        taken("table.csv?drive=set&crank=90%20deg&step=10%20deg&down-rod=half%20turn")
            == printed(&[
                "motion",
                "machine.toml",
                "--drive",
                "set",
                "--at",
                "crank = 90 deg",
                "--step",
                "10 deg",
                "--set",
                "down-rod = half turn",
                "--format",
                "csv"
            ])
    );
    assert!(taken("table.csv?of=load") == printed(&["load", "machine.toml", "--format", "csv"]));
    for command in ["motion", "check", "load", "sensitivity"] {
        assert!(
            taken(&format!("answer.json?of={command}"))
                == printed(&[command, "machine.toml", "--json"]),
            "{command}"
        );
    }
    assert!(
        taken("answer.json?of=spread&machines=2000&seed=7")
            == printed(&[
                "spread",
                "machine.toml",
                "--machines",
                "2000",
                "--seed",
                "7",
                "--json"
            ])
    );
}

#[test]
fn answers_and_words_are_those_of_the_command_line() {
    let (bench, page) = embosser();
    for command in ["check", "motion", "load", "sensitivity"] {
        let told = page.get(&format!("/api/m/machine/{command}")).json();
        let (_, report) = bench.json(&[command, "machine.toml", "--json"]);
        assert_eq!(told["report"], report, "{command}");
        assert_eq!(
            told["text"],
            Value::from(bench.run(&[command, "machine.toml"]).out),
            "{command}"
        );
        let has_plot = ["motion", "load"].contains(&command);
        assert_eq!(told["plot"].is_string(), has_plot, "{command}");
    }
    let told = page
        .get("/api/m/machine/motion?drive=set&reading=least-gap")
        .json();
    assert_eq!(told["fields"][0]["reading"], "least-gap");
    assert_eq!(told["fields"].as_array().unwrap().len(), 1);
}

#[test]
fn a_pose_tells_where_everything_stands() {
    let (_bench, page) = embosser();
    let pose = |values: Value| {
        page.post("/api/m/machine/pose", &json!({ "values": values }))
            .json()
    };
    let number = pose(json!({ "set": 70, "crank": 180 }));
    let text = pose(json!({ "set": "70 deg", "crank": "half turn" }));
    assert_eq!(number["places"], text["places"]);
    assert_eq!(number["values"]["set"], 70.0);
    assert_eq!(number["words"]["set"], "70 deg");
    // The figure that the example tells of: 0.216 mm at the bottom of the stroke with the lever at its end.
    let gap = number["readings"].as_array().unwrap();
    let gap = gap
        .iter()
        .find(|reading| reading["reading"]["name"] == "least-gap")
        .unwrap();
    assert!(
        (gap["value"].as_f64().unwrap() - 0.216).abs() < 5e-4,
        "{gap}"
    );
    // The same pose whatever stood before.
    pose(json!({ "set": 0, "crank": 300 }));
    assert_eq!(
        pose(json!({ "set": 70, "crank": 180 }))["readings"],
        number["readings"]
    );
    let loaded = page.post(
        "/api/m/machine/pose",
        &json!({ "values": { "set": 70, "crank": 180 }, "forces": true }),
    );
    let loaded = loaded.json();
    assert!(!loaded["arrows"].as_array().unwrap().is_empty(), "{loaded}");
    // Forces are those of the very pose on show, wherever the case has its drives; stretch is drawn larger when that is asked for.
    let drawn = page
        .post(
            "/api/m/machine/pose",
            &json!({ "forces": true, "stretch": 50 }),
        )
        .json();
    let arrows = drawn["arrows"].as_array().unwrap();
    let pin = |arrow: &&Value| arrow["joint"].as_str().unwrap().contains("crank-pin");
    assert_eq!(arrows.iter().find(pin).unwrap()["at"][1], 400.0, "{drawn}");
    assert!(drawn["stretched"]["points"].is_array(), "{drawn}");
    assert!(!drawn["said"].as_array().unwrap().is_empty());
    let picture = page
        .get("/api/m/machine/picture?set=70&room=200,150&trace=die")
        .json();
    assert_eq!(picture["values"]["set"], 70.0);
    assert!(
        picture["picture"]["svg"]
            .as_str()
            .unwrap()
            .starts_with("<svg")
    );
    let html = page.get("/m/machine/motion?set=70%20deg").text();
    assert!(html.contains("<svg") && html.contains("Strap embosser"));
}

#[test]
fn a_drag_moves_the_lever_to_the_pointer() {
    let (_bench, page) = embosser();
    // The grip stands 230 mm from the stud, at 70 degrees when drawn; the pointer is where it would be 20 degrees further.
    let (x, y) = (
        156.0 + 230.0 * 50_f64.to_radians().cos(),
        315.0 + 230.0 * 50_f64.to_radians().sin(),
    );
    let pull = json!({ "values": {}, "plane": "front", "point": "lever-grip", "to": [x, y] });
    let answer = page.post("/api/m/machine/drag", &pull).json();
    assert_eq!(answer["drive"], "set");
    assert!(
        (answer["values"]["set"].as_f64().unwrap() - 55.0).abs() < 1e-6,
        "{answer}"
    );
    assert!(answer["off"].as_f64().unwrap() < 1e-6);
    let pull = json!({ "point": "lever-grip", "to": [156.0 + 230.0, 315.0 - 100.0] });
    let answer = page.post("/api/m/machine/drag", &pull).json();
    assert_eq!(answer["values"]["set"], 70.0);
    assert!(
        answer["met"]["sentence"].as_str().unwrap().contains("set"),
        "{answer}"
    );
}

#[test]
fn variants_are_kept_compared_and_gone_back_to() {
    let (bench, page) = embosser();
    let text = bench.read("machine.toml");
    let kept = page
        .post("/api/m/machine/keep", &json!({ "name": "45 mm knee" }))
        .json();
    assert_eq!(kept["kept"], json!(["45 mm knee"]));
    page.set(&["point", "crank-pin", "reach"], "18");
    let changed = bench.read("machine.toml");
    let both = page
        .get("/api/m/machine/compare?with=45%20mm%20knee&drive=set")
        .json();
    assert_eq!(both["with"], "45 mm knee");
    bench.write("kept.toml", &text);
    let value = |side: &str| {
        both[side]["report"]["answer"]["rows"][0]["cells"][0]["value"]
            .as_f64()
            .unwrap()
    };
    assert!(
        (value("now") - value("kept")).abs() > 0.1,
        "{} {}",
        value("now"),
        value("kept")
    );
    let (_, alone) = bench.json(&["motion", "kept.toml", "--drive", "set", "--json"]);
    assert_eq!(both["kept"]["report"]["answer"], alone["answer"]);
    let checks = page
        .get("/api/m/machine/compare?with=45%20mm%20knee&of=check")
        .json();
    assert!(checks["now"]["text"].is_string() && checks["kept"]["text"].is_string());
    let base = page.state()["version"].clone();
    let answer = page.post(
        "/api/m/machine/restore",
        &json!({ "base": base, "name": "45 mm knee" }),
    );
    assert_eq!(answer.json()["undo"], "went back to 45 mm knee");
    assert_eq!(bench.read("machine.toml"), text);
    page.undo();
    assert_eq!(bench.read("machine.toml"), changed);
    let gone = page
        .send(
            "DELETE",
            "/api/m/machine/kept?name=45%20mm%20knee",
            &json!({}),
        )
        .json();
    assert_eq!(gone["kept"], json!([]));
    assert_eq!(
        page.get("/api/m/machine/compare?with=45%20mm%20knee")
            .status,
        404
    );
}

#[test]
fn long_work_tells_how_far_it_is() {
    let (bench, page) = embosser();
    let job = page
        .post(
            "/api/m/machine/spread",
            &json!({ "machines": 300_000, "seed": 3 }),
        )
        .json();
    let path = format!("/api/jobs/{}", job["job"]);
    let latest = Instant::now() + Duration::from_mins(2);
    let mut done = 0;
    let told = loop {
        let told = page.get(&path).json();
        let now = told["done"].as_u64().unwrap();
        assert!(now >= done && now <= 300_000, "{told}");
        done = now;
        if told["answer"].is_object() {
            break told;
        }
        assert!(Instant::now() < latest, "{told}");
        std::thread::sleep(Duration::from_millis(20));
    };
    assert_eq!(told["of"], 300_000);
    let (_, report) = bench.json(&[
        "spread",
        "machine.toml",
        "--machines",
        "300000",
        "--seed",
        "3",
        "--json",
    ]);
    assert_eq!(told["answer"]["report"], report);
}

#[test]
fn maps_and_papers_are_taken_away_as_the_commands_write_them() {
    let (bench, page) = embosser();
    let taken = |path: &str| {
        let answer = page.get(&format!("/api/m/machine/{path}"));
        assert_eq!(answer.status, 200, "{path}: {}", answer.text());
        answer.body
    };
    for file in ["map.svg", "map.csv"] {
        let ran = bench.run(&[
            "cycle",
            "machine.toml",
            "--drive",
            "crank",
            "--over",
            "set",
            "--map",
            file,
        ]);
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        let own = fs::read(bench.path(file)).unwrap();
        assert!(
            taken(&format!("export/{file}?drive=crank&by=set")) == own,
            "{file}"
        );
    }
    let ran = bench.run(&["packet", "machine.toml", "--out", "papers"]);
    assert!(ran.code < Some(2), "{}", ran.err);
    let own = |file: &str| fs::read(bench.path("papers").join(file)).unwrap();
    assert!(taken("export/packet.pdf") == own("packet.pdf"));
    assert!(taken("packet/bell-crank.dxf") == own("bell-crank.dxf"));
    for missing in ["packet/nothing.dxf", "packet/..%2Fmachine.toml"] {
        assert_eq!(page.get(&format!("/api/m/machine/{missing}")).status, 404);
    }
    // A map needs two drives that both move the reading.
    let alone = page.get("/api/m/machine/map?drive=crank&by=crank&room=100,100");
    assert_eq!(alone.status, 422, "{}", alone.text());
}

#[test]
fn the_whole_turn_is_asked_as_the_command_asks_it() {
    let (bench, page) = embosser();
    for (query, args) in [
        ("", &[][..]),
        (
            "drive=crank&speed=30%20rpm",
            &["--drive", "crank", "--speed", "30 rpm"],
        ),
        (
            "speed=30%20rpm&unevenness=2%20%25&case=embossing&within=0.2%20mm&set=40%20deg",
            &[
                "--speed",
                "30 rpm",
                "--unevenness",
                "2 %",
                "--under",
                "embossing",
                "--within",
                "0.2 mm",
                "--at",
                "set = 40 deg",
            ],
        ),
    ] {
        let answer = page.get(&format!("/api/m/machine/cycle?{query}"));
        assert_eq!(answer.status, 200, "{query}: {}", answer.text());
        let told = answer.json();
        let ran = bench.run(&[&["cycle", "machine.toml"][..], args].concat());
        assert_eq!(told["text"].as_str(), Some(ran.out.as_str()), "{query}");
        let (_, report) = bench.json(&[&["cycle", "machine.toml", "--json"][..], args].concat());
        assert_eq!(told["report"], report, "{query}");
        assert!(!told["plots"].as_array().unwrap().is_empty(), "{query}");
    }
    let run = page
        .get("/api/m/machine/cycle?run=let-go&speed=30%20rpm")
        .json();
    let ran = bench.run(&[
        "cycle",
        "machine.toml",
        "--run",
        "--let-go",
        "--speed",
        "30 rpm",
    ]);
    assert_eq!(run["text"].as_str(), Some(ran.out.as_str()));
    assert!(
        run["plots"]
            .as_array()
            .unwrap()
            .iter()
            .any(|p| p["what"] == "run")
    );
    let found = page.get("/api/m/machine/clearance?poses=200").json();
    let ran = bench.run(&["cycle", "machine.toml", "--clearance", "--poses", "200"]);
    assert!(
        ran.out.ends_with(found["text"].as_str().unwrap()),
        "{found}"
    );
    // Slips: one sentence in the words of the page, and what to write instead.
    for (query, word) in [
        ("cycle?speed=fast", "speed"),
        ("cycle?speed=-3%20rpm", "speed"),
        ("cycle?unevenness=3", "unevenness"),
        ("cycle?within=-1%20mm", "within"),
        ("cycle?case=nothing", "case"),
        ("cycle?drive=nothing", "drive"),
        ("cycle?reading=nothing", "reading"),
        ("cycle?run=far", "run"),
        ("clearance?poses=2", "poses"),
        ("clearance?poses=many", "poses"),
        ("map?by=nothing", "drive"),
    ] {
        let answer = page.get(&format!("/api/m/machine/{query}"));
        let told = answer.json();
        let (error, help) = (
            told["error"].as_str().unwrap_or(""),
            told["what_to_do"].as_str(),
        );
        assert_eq!(answer.status, 422, "{query}: {told}");
        assert!(
            error.contains(word) && !error.contains("--"),
            "{query}: {told}"
        );
        assert!(
            query.contains("many") || help.is_some_and(|h| !h.contains("--")),
            "{query}: {told}"
        );
    }
}

#[test]
fn whoever_hangs_up_has_stopped_what_was_asked() {
    let (_bench, page) = embosser();
    // Both places for studies are taken by work of minutes, and left.
    let long = format!(
        "GET /api/m/machine/export/table.csv?of=spread&machines=10000000 HTTP/1.1\r\n{}\r\n",
        page.own()
    );
    let mut asked = Vec::new();
    for _ in 0..2 {
        let mut stream = page.connect();
        std::io::Write::write_all(&mut stream, long.as_bytes()).unwrap();
        asked.push(stream);
    }
    std::thread::sleep(Duration::from_millis(1500));
    drop(asked);
    let begun = Instant::now();
    let answer = page.get("/api/m/machine/sensitivity");
    assert_eq!(answer.status, 200, "{}", answer.text());
    assert!(
        begun.elapsed() < Duration::from_secs(20),
        "{:?}",
        begun.elapsed()
    );
}
