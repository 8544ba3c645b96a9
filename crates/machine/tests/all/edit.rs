//! Editing in place: only what was asked for changes.

use machine::edit::{Change, edit};

const FILE: &str = r#"# top
name = "x"   # its name

[point]
a = [0, 0]                       # the pivot
b = { from = "a", reach = 40, angle = "10 deg" }  # pin
c = { swing = [["b", 20], ["a", "1 1/2 in"]], take = "upper" }

[frame]
carries = ["a"]

# the lever
[part.lever]   # hand made
carries = [
  "a",   # stud
  "b",
]

[drive.set]
turns = "lever"   # by hand

[reading.r]
place-of = "b"
along = "up"

[ask.q]
reading = "r"
when = { set = "5 deg" }
at-least = "1 mm"  # common practice
"#;

fn at(path: &[&str]) -> Vec<String> {
    path.iter().map(|s| (*s).to_owned()).collect()
}

fn changed_lines(a: &str, b: &str) -> Vec<(String, String)> {
    let (a, b): (Vec<_>, Vec<_>) = (a.lines().collect(), b.lines().collect());
    assert_eq!(a.len(), b.len(), "{b:#?}");
    a.iter()
        .zip(b)
        .filter(|(x, y)| *x != y)
        .map(|(x, y)| ((*x).to_owned(), y.to_owned()))
        .collect()
}

fn set(path: &[&str], value: &str) -> String {
    edit(
        FILE,
        &[Change::Set {
            at: at(path),
            value: value.to_owned(),
        }],
    )
    .unwrap()
}

#[test]
fn one_value_changes_and_its_comment_stays() {
    let lines = changed_lines(FILE, &set(&["point", "a"], "[1, \"2 mm\"]"));
    assert_eq!(
        lines,
        [(
            FILE.lines().nth(4).unwrap().to_owned(),
            String::from("a = [1, \"2 mm\"]                       # the pivot")
        )]
    );
    let lines = changed_lines(FILE, &set(&["point", "b", "reach"], "\"41.5 mm\""));
    assert_eq!(
        lines[0].1,
        "b = { from = \"a\", reach = \"41.5 mm\", angle = \"10 deg\" }  # pin"
    );
    let lines = changed_lines(FILE, &set(&["point", "c", "swing", "1", "1"], "38"));
    assert_eq!(
        lines[0].1,
        "c = { swing = [[\"b\", 20], [\"a\", 38]], take = \"upper\" }"
    );
    let lines = changed_lines(FILE, &set(&["part", "lever", "carries", "0"], "\"c\""));
    assert_eq!(lines[0].1, "  \"c\",   # stud");
    assert_eq!(
        changed_lines(FILE, &set(&["name"], "\"y\""))[0].1,
        "name = \"y\"   # its name"
    );
}

#[test]
fn new_things_are_added_and_nothing_else_moves() {
    let text = set(&["rod", "front", "joins"], "[\"a\", \"b\"]");
    assert!(text.starts_with(FILE), "{text}");
    assert!(
        text.contains("[rod.front]\njoins = [\"a\", \"b\"]"),
        "{text}"
    );
    let text = set(&["point", "d"], "[5, 5]");
    assert!(text.contains("take = \"upper\" }\nd = [5, 5]\n"), "{text}");
    let back = edit(
        &text,
        &[Change::Remove {
            at: at(&["point", "d"]),
        }],
    )
    .unwrap();
    assert_eq!(back, FILE);
    let inserted = edit(
        FILE,
        &[Change::Insert {
            at: at(&["frame", "carries"]),
            before: 1,
            value: "\"c\"".into(),
        }],
    )
    .unwrap();
    assert!(inserted.contains("carries = [\"a\", \"c\"]"), "{inserted}");
}

#[test]
fn names_change_everywhere_they_are_spoken_of() {
    let rename = |kind: &str, from: &str, to: &str| {
        edit(
            FILE,
            &[Change::Rename {
                kind: kind.into(),
                from: from.into(),
                to: to.into(),
            }],
        )
    };
    let text = rename("point", "b", "pin").unwrap();
    assert_eq!(changed_lines(FILE, &text).len(), 4, "{text}");
    assert!(!text.contains("\"b\""));
    let text = rename("part", "lever", "arm").unwrap();
    assert!(
        text.contains("# the lever\n[part.arm]   # hand made\n")
            && text.contains("turns = \"arm\"   # by hand"),
        "{text}"
    );
    let text = rename("drive", "set", "hand").unwrap();
    assert!(
        text.contains("[drive.hand]") && text.contains("when = { hand = \"5 deg\" }"),
        "{text}"
    );
    assert!(rename("point", "b", "a").unwrap_err().0.contains("already"));
    assert!(
        rename("point", "zz", "y")
            .unwrap_err()
            .0
            .contains("no point zz")
    );
    assert!(rename("point", "b", "no good").is_err());
    // There and back again.
    let there = rename("point", "b", "pin").unwrap();
    let back = edit(
        &there,
        &[Change::Rename {
            kind: "point".into(),
            from: "pin".into(),
            to: "b".into(),
        }],
    )
    .unwrap();
    assert_eq!(back, FILE);
}

#[test]
fn what_cannot_be_done_is_refused_in_words() {
    let fails = |path: &[&str], value: &str| {
        edit(
            FILE,
            &[Change::Set {
                at: at(path),
                value: value.to_owned(),
            }],
        )
        .unwrap_err()
        .0
    };
    assert!(fails(&["point", "a"], "12 mm").contains("quotes"));
    assert!(fails(&["part", "lever"], "1").contains("table"));
    assert!(fails(&["name", "x", "y"], "1").contains("not a table"));
    assert!(fails(&[], "1").contains("no key"));
    assert!(edit("= broken", &[]).unwrap_err().0.contains("broken"));
}

#[test]
fn windows_line_ends_stay() {
    let windows = FILE.replace('\n', "\r\n");
    let text = edit(
        &windows,
        &[Change::Set {
            at: at(&["point", "a"]),
            value: "[3, 3]".into(),
        }],
    )
    .unwrap();
    assert_eq!(
        text.matches("\r\n").count(),
        windows.matches("\r\n").count()
    );
    assert_eq!(text.replace("\r\n", "").matches('\n').count(), 0);
}

fn bare(value: &toml_edit::Value) -> String {
    let mut value = value.clone();
    value.decor_mut().clear();
    value.to_string()
}

/// Every value of the examples can be set to itself without a byte changing.
#[test]
fn setting_a_value_to_itself_changes_nothing() {
    for name in ["strap-embosser", "treadle", "rolling-mill"] {
        let path = format!(
            "{}/../../examples/{name}/machine.toml",
            env!("CARGO_MANIFEST_DIR")
        );
        let text = std::fs::read_to_string(path).unwrap();
        let doc: toml_edit::DocumentMut = text.parse().unwrap();
        let mut tried = 0;
        for (table, item) in doc.iter() {
            let Some(t) = item.as_table() else { continue };
            for (key, item) in t {
                let mut values: Vec<(Vec<String>, String)> = Vec::new();
                if let Some(v) = item.as_value() {
                    values.push((at(&[table, key]), bare(v)));
                }
                for (inner, item) in item.as_table().into_iter().flat_map(|t| t.iter()) {
                    if let Some(v) = item.as_value() {
                        values.push((at(&[table, key, inner]), bare(v)));
                    }
                }
                for (path, value) in values {
                    assert_eq!(
                        edit(
                            &text,
                            &[Change::Set {
                                at: path.clone(),
                                value
                            }]
                        )
                        .unwrap(),
                        text,
                        "{path:?}"
                    );
                    tried += 1;
                }
            }
        }
        assert!(tried > 10);
    }
}

#[test]
fn pieces_go_with_what_they_are_made_for() {
    let file = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../examples/strap-embosser/machine.toml"
    ))
    .unwrap();
    let rename = |kind: &str, from: &str, to: &str| {
        let change = Change::Rename {
            kind: kind.into(),
            from: from.into(),
            to: to.into(),
        };
        edit(&file, &[change]).unwrap()
    };
    let text = rename("part", "lever", "hand-lever");
    assert!(
        text.contains("[piece.hand-lever]\nboss.lever-grip"),
        "{text}"
    );
    let text = rename("point", "journal-left", "left-throw");
    assert!(text.contains("offset = \"left-throw\""), "{text}");
    assert!(!text.contains("\"journal-left\""));
    let text = rename("point", "crank-handle", "knob");
    assert!(
        text.contains("boss.knob ") && text.contains("hole.knob "),
        "{text}"
    );
}
