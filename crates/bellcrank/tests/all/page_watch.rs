//! Changes from outside: a text editor, another program, a file that goes and comes back. The page sees them at once.

use std::fs;
use std::time::{Duration, Instant};

use crate::common::Bench;
use crate::common::page::Page;
use serde_json::json;

#[test]
fn an_edit_in_a_text_editor_shows_at_once_and_can_be_undone() {
    let bench = Bench::with("lever");
    let text = bench.read("machine.toml");
    let page = Page::open(&bench.path("machine.toml"));
    let before = page.state();
    let mut news = page.news();
    // As most editors save: a new file put in place of the old one.
    let name = before["title"].as_str().unwrap();
    bench.write("new~", text.replace(name, "Another name"));
    fs::rename(bench.path("new~"), bench.path("machine.toml")).unwrap();
    let begun = Instant::now();
    let changed = news.wait("changed");
    let took = begun.elapsed();
    // Far below the time after which a page would look by itself; generous, since the tests share the processor.
    assert!(took < Duration::from_secs(10), "{took:?}");
    assert_eq!(changed["by"], "outside");
    let state = page.state();
    assert_eq!(state["title"], "Another name");
    assert!(state["version"].as_u64() > before["version"].as_u64());
    assert_eq!(state["undo"], "changed outside");
    page.undo();
    assert_eq!(bench.read("machine.toml"), text);
}

#[test]
fn an_edit_made_on_an_older_text_is_refused_even_before_the_watcher_tells() {
    let bench = Bench::with("lever");
    let page = Page::open(&bench.path("machine.toml"));
    let base = page.state()["version"].clone();
    let text = bench.read("machine.toml");
    bench.write("machine.toml", format!("{text}# by hand\n"));
    let change = json!({ "set": { "at": ["name"], "value": "\"Mine\"" } });
    let edit = json!({ "base": base, "changes": [change] });
    let answer = page.post("/api/m/machine/edit", &edit);
    assert_eq!(answer.status, 409);
    assert_eq!(bench.read("machine.toml"), format!("{text}# by hand\n"));
    assert!(
        answer.json()["state"]["text"]
            .as_str()
            .unwrap()
            .ends_with("# by hand\n")
    );
}

#[test]
fn a_file_that_is_gone_is_told_and_comes_back() {
    let bench = Bench::with("crank");
    let page = Page::open(&bench.path("machine.toml"));
    let text = bench.read("machine.toml");
    page.state();
    fs::remove_file(bench.path("machine.toml")).unwrap();
    let gone = page.until("the problem", |state| state["good"] == false);
    assert!(
        gone["problems"][0]["message"]
            .as_str()
            .unwrap()
            .contains("is not there")
    );
    // The machine as it was last can still be moved, and its text is still on the page.
    assert_eq!(gone["text"], text);
    assert_eq!(page.post("/api/m/machine/pose", &json!({})).status, 200);
    assert_eq!(page.set(&["name"], "\"x\"").status, 422);
    bench.write("machine.toml", text.replace("[frame]", "\n[frame]"));
    let back = page.until("the machine", |state| state["good"] == true);
    assert_eq!(back["undo"], "changed outside");
    // It may also be written anew from the page.
    fs::remove_file(bench.path("machine.toml")).unwrap();
    let gone = page.until("the problem", |state| state["good"] == false);
    let put = json!({ "base": gone["version"], "text": text });
    assert_eq!(page.post("/api/m/machine/text", &put).json()["good"], true);
    assert_eq!(bench.read("machine.toml"), text);
}

#[test]
fn files_that_are_included_count_as_well() {
    let bench = Bench::empty();
    bench.write(
        "machine.toml",
        "include = [\"arm.toml\"]\n[point]\npivot = [0, 0]\n[frame]\ncarries = [\"pivot\"]\n",
    );
    let page = Page::open(&bench.path("machine.toml"));
    assert_eq!(page.state()["good"], false);
    let arm = "[point]\ngrip = [0, 80]\n[part.lever]\ncarries = [\"pivot\", \"grip\"]\n[drive.set]\nturns = \"lever\"\nrange = [0, 60]\n";
    bench.write("arm.toml", arm);
    let state = page.until("the arm", |state| state["good"] == true);
    assert_eq!(state["drives"][0]["high"], 60.0);
    bench.write("arm.toml", arm.replace("60", "45"));
    page.until("the shorter range", |state| {
        state["drives"][0]["high"] == 45.0
    });
    // The included file is no machine by itself.
    let list = page.get("/api/machines").json();
    assert_eq!(list.as_array().unwrap().len(), 1, "{list}");
}

#[test]
fn machines_come_and_go_in_the_list() {
    let bench = Bench::with("lever");
    let page = Page::open(&bench.path("machine.toml"));
    let mut news = page.news();
    fs::create_dir(bench.path("treadle")).unwrap();
    bench.write("treadle/machine.toml", bench.read("machine.toml"));
    bench.write("notes.toml", "[package]\nname = \"x\"\n");
    news.wait("machines");
    let names = || -> Vec<String> {
        let list = page.get("/api/machines").json();
        let list = list.as_array().unwrap().iter();
        list.map(|machine| machine["name"].as_str().unwrap().to_owned())
            .collect()
    };
    let latest = Instant::now() + Duration::from_secs(20);
    while names() != ["machine", "treadle"] {
        assert!(Instant::now() < latest, "{:?}", names());
        std::thread::sleep(Duration::from_millis(20));
    }
    assert_eq!(page.get("/api/m/treadle/state").json()["good"], true);
    let answer = page.post("/api/new", &json!({ "name": "press", "starter": "crank" }));
    assert_eq!(answer.status, 200, "{}", answer.text());
    assert!(bench.read("press.toml").contains("[frame]"));
    assert_eq!(names(), ["machine", "press", "treadle"]);
    // What is there is left alone.
    let answer = page.post("/api/new", &json!({ "name": "press" }));
    assert_eq!(answer.status, 422);
    for wild in [
        "",
        "..",
        "../x",
        "a/b",
        "a\\b",
        ".hidden",
        "x\0y",
        "-x",
        "C:x",
        &"x".repeat(61),
    ] {
        let answer = page.post("/api/new", &json!({ "name": wild }));
        assert_eq!(answer.status, 422, "{wild:?}");
    }
    assert_eq!(names(), ["machine", "press", "treadle"]);
}

#[test]
fn a_new_start_of_the_server_can_be_told_from_the_old_one() {
    let bench = Bench::with("lever");
    let hello = |page: &Page| {
        let head = format!("GET /api/events HTTP/1.1\r\n{}\r\n", page.own());
        let mut stream = page.connect();
        std::io::Write::write_all(&mut stream, head.as_bytes()).unwrap();
        let mut text = String::new();
        while !text.contains("hello") || !text.ends_with("\n\n") {
            let mut byte = [0];
            std::io::Read::read_exact(&mut stream, &mut byte).unwrap();
            text.push(char::from(byte[0]));
        }
        text.rsplit_once("data: ").unwrap().1.to_owned()
    };
    let page = Page::open(&bench.path("machine.toml"));
    let (first, again) = (hello(&page), hello(&page));
    assert_eq!(first, again);
    let version = page.state()["version"].as_u64();
    let door = (page.port, page.key.clone());
    // A second one of the same folder has another door.
    let second = Page::open(&bench.path("machine.toml"));
    assert_ne!((second.port, second.key.clone()), door);
    second.kill();
    page.kill();
    let page = Page::open(&bench.path("machine.toml"));
    // Windows that were open before go on with what they have.
    assert_eq!((page.port, page.key.clone()), door);
    assert_ne!(hello(&page), first);
    assert!(page.state()["version"].as_u64() > version);
    page.kill();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let kept = bench.path(".bellcrank/door");
        assert_eq!(
            fs::metadata(&kept).unwrap().permissions().mode() & 0o777,
            0o600
        );
        // A door that others could read is not used again.
        fs::set_permissions(&kept, fs::Permissions::from_mode(0o644)).unwrap();
        let page = Page::open(&bench.path("machine.toml"));
        assert_ne!(page.key, door.1);
    }
}
