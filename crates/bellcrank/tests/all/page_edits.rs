//! Edits on the page: they land in the file, byte for byte beside what they change; they can be undone, also after a crash; and nobody
//! writes over what somebody else wrote.

use std::fs;

use crate::common::Bench;
use crate::common::page::Page;
use serde_json::{Value, json};

/// A small machine with all that an edit should leave alone.
const FILE: &str = "\u{feff}# A rocker.   \r\nname = \"Rocker\"   # its name\r\n\r\n[point]\r\npivot = [0, 0]        # the stud\r\ngrip  = { from = \"pivot\", reach = \"3 1/8 in\", angle = \"90 deg\" } # by hand\r\n\r\n[frame]\r\ncarries = [\"pivot\"]\r\n\r\n[part.lever] # cast iron\r\ncarries = [\r\n  \"pivot\", # bronze bush\r\n  \"grip\",\r\n]\r\n\r\n[drive.set]\r\nturns = \"lever\"\r\nrange = [\"0 deg\", \"60 deg\"]\r\n";

fn rocker() -> (Bench, Page) {
    let bench = Bench::empty();
    bench.write("machine.toml", FILE);
    let page = Page::open(&bench.path("machine.toml"));
    (bench, page)
}

#[test]
fn an_edit_changes_its_value_alone_and_can_be_undone_and_done_again() {
    let (bench, page) = rocker();
    let state = page.state();
    assert_eq!(state["good"], true, "{state}");
    assert_eq!(state["title"], "Rocker");
    let answer = page.set(&["point", "pivot"], "[ 1, 2 ]");
    assert_eq!(answer.status, 200, "{}", answer.text());
    let changed = FILE.replace("pivot = [0, 0]  ", "pivot = [ 1, 2 ]  ");
    assert_eq!(bench.read("machine.toml"), changed);
    let state = answer.json();
    assert_eq!(state["undo"], "set");
    assert_eq!(state["redo"], Value::Null);
    let state = page.undo().json();
    assert_eq!(bench.read("machine.toml"), FILE);
    assert_eq!(
        (&state["undo"], &state["redo"]),
        (&Value::Null, &json!("set"))
    );
    page.redo();
    assert_eq!(bench.read("machine.toml"), changed);
    // A new step takes the place of what was undone.
    page.undo();
    page.set(&["drive", "set", "range"], "[\"0 deg\", \"45 deg\"]");
    let answer = page.redo();
    assert_eq!(answer.status, 422);
    assert_eq!(answer.json()["error"], "there is nothing to do again");
    assert_eq!(bench.read("machine.toml"), FILE.replace("60 deg", "45 deg"));
}

#[test]
fn points_and_parts_are_added_renamed_and_taken_out() {
    let (bench, page) = rocker();
    let base = page.state()["version"].clone();
    let changes = json!([
        { "set": { "at": ["point", "pad"], "value": "{ from = \"pivot\", by = [12, -3] }" } },
        { "insert": { "at": ["part", "lever", "carries"], "before": 2, "value": "\"pad\"" } },
        { "rename": { "kind": "point", "from": "grip", "to": "handle" } },
    ]);
    let edit = json!({ "base": base, "say": "a pad", "changes": changes });
    let answer = page.post("/api/m/machine/edit", &edit);
    assert_eq!(answer.status, 200, "{}", answer.text());
    let state = answer.json();
    assert_eq!(state["good"], true, "{state}");
    let text = bench.read("machine.toml");
    for kept in [
        "# the stud",
        "# by hand",
        "# cast iron",
        "# bronze bush",
        "\"3 1/8 in\"",
    ] {
        assert!(text.contains(kept), "{kept} is gone:\n{text}");
    }
    assert!(
        text.contains("\"handle\"") && !text.contains("grip"),
        "{text}"
    );
    // The same edit again was meant for an older text.
    let answer = page.post("/api/m/machine/edit", &edit);
    assert_eq!(answer.status, 409);
    assert_eq!(answer.json()["state"]["version"], state["version"]);
    page.undo();
    assert_eq!(bench.read("machine.toml"), FILE);
}

#[test]
fn what_cannot_be_done_is_told_and_leaves_the_file_alone() {
    let (bench, page) = rocker();
    let base = page.state()["version"].clone();
    for (changes, said) in [
        (
            json!([{ "set": { "at": ["point", "pivot"], "value": "[0" } }]),
            "is not a value",
        ),
        (json!([{ "set": { "at": [], "value": "1" } }]), "no key"),
        (
            json!([{ "remove": { "at": ["point", "nowhere"] } }]),
            "not in the file",
        ),
        (
            json!([{ "rename": { "kind": "point", "from": "grip", "to": "pivot" } }]),
            "already",
        ),
        (json!([]), "1 to 1000 changes"),
    ] {
        let edit = json!({ "base": base, "changes": changes });
        let answer = page.post("/api/m/machine/edit", &edit);
        assert_eq!(answer.status, 422, "{changes}");
        let sentence = answer.json()["error"].as_str().unwrap().to_owned();
        assert!(sentence.contains(said), "{sentence}");
    }
    for nonsense in [
        json!([]),
        json!({ "base": base }),
        json!({ "base": -1, "changes": [] }),
    ] {
        assert_eq!(page.post("/api/m/machine/edit", &nonsense).status, 400);
    }
    assert_eq!(bench.read("machine.toml"), FILE);
    assert_eq!(page.state()["version"], base);
}

#[test]
fn broken_text_keeps_the_last_good_machine_with_the_problem_in_its_place() {
    let (bench, page) = rocker();
    let good = page.state()["version"].clone();
    let broken = FILE.replace("from = \"pivot\"", "from = \"pivvot\"");
    let put = json!({ "base": good, "text": broken });
    let state = page.post("/api/m/machine/text", &put).json();
    assert_eq!(bench.read("machine.toml"), broken);
    assert_eq!(state["good"], false);
    assert_eq!(state["problems"][0]["places"][0]["line"], 6);
    // It is still there to be moved, as it was read last.
    let pose = page.post("/api/m/machine/pose", &json!({ "values": { "set": 30 } }));
    assert_eq!(pose.json()["version"], good);
    // What is taken away is the machine as written, and that has errors.
    let answer = page.get("/api/m/machine/export/drawing.svg");
    assert_eq!(answer.status, 422);
    // A change at a place mends it without a text editor.
    let value = "{ from = \"pivot\", reach = 80, angle = \"90 deg\" }";
    let state = page.set(&["point", "grip"], value).json();
    assert_eq!(state["good"], true, "{state}");
    // Text that is not even TOML is kept too.
    let put = json!({ "base": state["version"], "text": "[part.lever\n" });
    let state = page.post("/api/m/machine/text", &put).json();
    assert_eq!(bench.read("machine.toml"), "[part.lever\n");
    assert_eq!(state["good"], false);
    let answer = page.set(&["point", "grip"], "[0, 1]");
    assert_eq!(answer.status, 422);
    page.undo();
    page.undo();
    let state = page.undo().json();
    assert_eq!(bench.read("machine.toml"), FILE);
    assert_eq!(state["good"], true);
}

#[test]
fn undo_goes_on_after_a_crash() {
    let bench = Bench::empty();
    bench.write("machine.toml", FILE);
    let page = Page::open(&bench.path("machine.toml"));
    for reach in ["81", "82", "83"] {
        page.set(&["point", "grip", "reach"], reach);
    }
    page.undo();
    let before = bench.read("machine.toml");
    page.kill();
    // The last line of the journal was torn.
    let journal = bench.path(".bellcrank/machine.history");
    let whole = fs::read(&journal).unwrap();
    fs::write(&journal, [&whole[..], b"{\"step\":{\"say\":"].concat()).unwrap();
    let page = Page::open(&bench.path("machine.toml"));
    let state = page.state();
    assert_eq!(bench.read("machine.toml"), before);
    assert_eq!(
        (&state["undo"], &state["redo"]),
        (&json!("set"), &json!("set"))
    );
    page.redo();
    assert!(bench.read("machine.toml").contains("reach = 83"));
    page.kill();
    // What is changed while the page is closed is a step as well.
    bench.change("Rocker", "Rocking lever");
    let page = Page::open(&bench.path("machine.toml"));
    assert_eq!(
        page.state()["undo"],
        "changed outside while the page was closed"
    );
    for _ in 0..4 {
        page.undo();
    }
    assert_eq!(bench.read("machine.toml"), FILE);
}

#[test]
fn two_windows_stay_in_step_and_do_not_write_over_each_other() {
    let (_bench, page) = rocker();
    let (mut one, mut two) = (page.news(), page.news());
    let base = page.state()["version"].clone();
    let edit = |reach: u32, by: &str| {
        let change =
            json!({ "set": { "at": ["point", "grip", "reach"], "value": reach.to_string() } });
        json!({ "base": base, "changes": [change], "by": by })
    };
    let first = page.post("/api/m/machine/edit", &edit(70, "one"));
    assert_eq!(first.status, 200);
    for news in [&mut one, &mut two] {
        let changed = news.wait("changed");
        assert_eq!(changed["by"], "one");
        assert_eq!(changed["m"], "machine");
        assert_eq!(changed["version"], first.json()["version"]);
    }
    let late = page.post("/api/m/machine/edit", &edit(60, "two"));
    assert_eq!(late.status, 409);
    assert!(
        late.json()["state"]["text"]
            .as_str()
            .unwrap()
            .contains("reach = 70")
    );
}

#[test]
fn many_edits_from_many_hands_are_all_there_or_refused() {
    let (bench, page) = rocker();
    let made: usize = std::thread::scope(|scope| {
        let hands: Vec<_> = (0..4)
            .map(|hand| {
                let page = &page;
                scope.spawn(move || {
                    (0..50)
                        .filter(|turn| {
                            let at = ["point", "grip", "reach"];
                            let status =
                                page.set(&at, &format!("{}", 100 + hand * 50 + turn)).status;
                            assert!([200, 409].contains(&status), "{status}");
                            status == 200
                        })
                        .count()
                })
            })
            .collect();
        hands.into_iter().map(|hand| hand.join().unwrap()).sum()
    });
    assert!(made >= 50, "{made}");
    let mut undone = 0;
    while page.undo().status == 200 {
        undone += 1;
    }
    assert_eq!(undone, made);
    assert_eq!(bench.read("machine.toml"), FILE);
}

#[cfg(unix)]
#[test]
fn mode_and_link_of_the_file_are_kept() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::empty();
    fs::create_dir(bench.path("real")).unwrap();
    bench.write("real/press.toml", FILE);
    fs::set_permissions(
        bench.path("real/press.toml"),
        fs::Permissions::from_mode(0o640),
    )
    .unwrap();
    std::os::unix::fs::symlink("real/press.toml", bench.path("machine.toml")).unwrap();
    let page = Page::open(&bench.path("machine.toml"));
    assert_eq!(page.set(&["point", "grip", "reach"], "70").status, 200);
    let about = fs::metadata(bench.path("real/press.toml")).unwrap();
    assert_eq!(about.permissions().mode() & 0o777, 0o640);
    assert!(bench.read("real/press.toml").contains("reach = 70"));
    assert!(
        fs::symlink_metadata(bench.path("machine.toml"))
            .unwrap()
            .is_symlink()
    );
    let left: Vec<String> = bench
        .names()
        .into_iter()
        .filter(|name| name.starts_with(".bellcrank-"))
        .collect();
    assert_eq!(left, Vec::<String>::new());
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_written_is_told() {
    use std::os::unix::fs::PermissionsExt;
    let (bench, page) = rocker();
    fs::set_permissions(
        bench.path("machine.toml"),
        fs::Permissions::from_mode(0o444),
    )
    .unwrap();
    let answer = page.set(&["point", "grip", "reach"], "70");
    assert_eq!(answer.status, 422);
    assert!(
        answer.json()["error"]
            .as_str()
            .unwrap()
            .contains("read-only"),
        "{}",
        answer.text()
    );
    assert_eq!(bench.read("machine.toml"), FILE);
}
