//! What the shop has to make holes with.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use studies::Severity;
use studies::parts::answers::{Kind, Parts};
use studies::parts::parts;

fn told(shop: &str, hole: &str) -> Parts {
    let number = std::thread::current().id();
    let folder =
        std::env::temp_dir().join(format!("bellcrank-tools-{}-{number:?}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("shop.toml"), shop).unwrap();
    let text = format!(
        r#"
name = "Lever"
shop = "shop.toml"
[point]
pivot = [0, 0]
tip   = [300, 0]
[frame]
carries = ["pivot"]
stock = {{ flat = ["12 mm", "60 mm"], material = "S355J2 to 16 mm" }}
hole.pivot = {{ {hole} }}
[part.lever]
carries = ["pivot", "tip"]
stock = {{ flat = ["8 mm", "25 mm"], material = "1018 cold drawn" }}
[drive.set]
turns = "lever"
"#
    );
    std::fs::write(folder.join("machine.toml"), text).unwrap();
    let read = machine::read(&folder.join("machine.toml"));
    assert!(read.machine.is_some(), "{:#?}", read.problems);
    let found = parts(&studies::assemble(&read.machine.unwrap()));
    std::fs::remove_dir_all(folder).unwrap();
    found
}

fn drill(parts: &Parts) -> Option<(f64, String)> {
    let item = parts.items.iter().find(|i| i.kind == Kind::Tapped).unwrap();
    let figure = item.figures.iter().find(|f| f.what == "tap drill")?;
    Some((figure.value, figure.sentence.clone()))
}

fn says(parts: &Parts, words: &str) -> bool {
    let of = |f: &studies::Finding| f.severity == Severity::Caution && f.sentence.contains(words);
    parts.findings.iter().any(of)
}

#[test]
fn the_tap_drill_is_one_of_the_shop() {
    let tenths = "[tools]\ndrills = [{ from = \"1 mm\", to = \"13 mm\", by = \"0.1 mm\" }]";
    let (d, sentence) = drill(&told(tenths, "tap = \"M8\"")).unwrap();
    assert!(
        (d - 6.8).abs() < 1e-9 && sentence.contains("6.80 mm of your shop: 74 %"),
        "{sentence}"
    );
    // Halves only: 7 mm leaves less and is told as it is.
    let halves = "[tools]\ndrills = [{ from = \"1 mm\", to = \"13 mm\", by = \"0.5 mm\" }]";
    let (d, sentence) = drill(&told(halves, "tap = \"M8\"")).unwrap();
    assert!(
        (d - 7.0).abs() < 1e-9 && sentence.contains("62 %"),
        "{sentence}"
    );
    // Inch drills for a metric thread, by their names.
    let inch = "[tools]\ndrills = [\"numbers\", \"letters\", \"fractions to 1/2\"]";
    let (d, sentence) = drill(&told(inch, "tap = \"M8\"")).unwrap();
    assert!(
        (d - 6.8).abs() < 0.1 && sentence.contains("tap drill H") || sentence.contains("17/64"),
        "{d} {sentence}"
    );
    let (d, sentence) = drill(&told(inch, "tap = \"1/4-20\"")).unwrap();
    assert!(
        (d - 5.1054).abs() < 1e-4 && sentence.contains("#7"),
        "{d} {sentence}"
    );
}

#[test]
fn a_shop_without_the_drill_or_the_tap_is_told() {
    let few = "[tools]\ndrills = [\"3 mm\", \"6 mm\"]\ntaps = [\"M6\", \"M10\"]";
    let parts = told(few, "tap = \"M8\"");
    assert!(drill(&parts).is_none());
    assert!(says(
        &parts,
        "no drill of the shop file leaves 60 to 85 % of thread"
    ));
    assert!(says(&parts, "the shop file lists no tap M8"));
    let advice = parts
        .findings
        .iter()
        .filter_map(|f| f.what_to_try.as_deref());
    assert!(advice.clone().any(|a| a.contains("buy drill 6.8 mm")));
    // A shop file without tools says nothing of them.
    let bare = told("[vise.bench]\nforce = \"5 kN\"", "tap = \"M8\"");
    assert!(drill(&bare).is_some() && !says(&bare, "shop file"));
}

#[test]
fn a_reamer_or_a_bore_that_the_shop_lacks_is_told() {
    let shop =
        "[tools]\ndrills = [\"8 mm\"]\nreamers = [\"8 H7\"]\nboring-head = [\"10 mm\", \"60 mm\"]";
    assert!(!says(&told(shop, "ream = \"8 H7\""), "reamer"));
    // An H7 reamer does for H8 too, not for H6.
    assert!(!says(&told(shop, "ream = \"8 H8\""), "reamer"));
    assert!(says(
        &told(shop, "ream = \"8 H6\""),
        "lists no reamer 8 mm H6"
    ));
    let other = told(shop, "ream = \"12 H7\"");
    assert!(says(&other, "lists no reamer 12 mm H7"));
    let advice = other
        .findings
        .iter()
        .filter_map(|f| f.what_to_try.as_deref());
    assert!(advice.clone().any(|a| a.contains("bore it to size")));
    assert!(says(&told(shop, "bore = \"9 N7\""), "bores 9 mm N7"));
    assert!(!says(&told(shop, "bore = \"20 N7\""), "bores"));
}
