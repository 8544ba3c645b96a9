//! `packet`: the shop papers of an example, whole and the same each time.

use crate::common::{Bench, project};

fn embosser() -> Bench {
    let bench = Bench::empty();
    for file in ["machine.toml", "shop.toml"] {
        let text = std::fs::read(project("examples/strap-embosser").join(file)).unwrap();
        bench.write(file, text);
    }
    bench
}

#[test]
fn papers_are_written_and_repeat() {
    let bench = embosser();
    for out in ["one", "two"] {
        let ran = bench.run(&["packet", "machine.toml", "--out", out]);
        assert_eq!(ran.code, Some(0), "{}{}", ran.out, ran.err);
        assert!(
            ran.out.contains("Wrote") && ran.out.contains("packet.pdf"),
            "{}",
            ran.out
        );
    }
    let names = |out: &str| {
        let mut all: Vec<String> = std::fs::read_dir(bench.path(out))
            .unwrap()
            .map(|f| f.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        all.sort();
        all
    };
    assert_eq!(names("one"), names("two"));
    for name in names("one") {
        let read = |out: &str| std::fs::read(bench.path(out).join(&name)).unwrap();
        assert_eq!(read("one"), read("two"), "{name}");
    }
    assert!(names("one").iter().any(|n| n == "bell-crank.dxf"));
    assert!(
        std::fs::read(bench.path("one/packet.pdf"))
            .unwrap()
            .starts_with(b"%PDF")
    );
}

#[test]
fn files_of_an_earlier_packet_are_named() {
    let bench = embosser();
    let ran = bench.run(&["packet", "machine.toml", "--out", "papers"]);
    assert!(!ran.out.contains("Not of this packet"), "{}", ran.out);
    bench.write("papers/renamed-part.step", "ISO-10303-21;");
    bench.write("papers/notes.txt", "my own");
    let ran = bench.run(&["packet", "machine.toml", "--out", "papers"]);
    let told = ran.out.split("Not of this packet").nth(1);
    let told = told.unwrap_or_else(|| panic!("{}", ran.out));
    assert!(told.contains("renamed-part.step"), "{told}");
    assert!(
        !told.contains("notes.txt") && !told.contains("packet.pdf"),
        "{told}"
    );
}

#[test]
fn a_machine_without_stock_is_told_what_to_write() {
    let bench = Bench::with("crank");
    let ran = bench.run(&["packet", "machine.toml", "--out", "papers"]);
    assert_eq!(ran.code, Some(2), "{}{}", ran.out, ran.err);
    assert!(ran.err.contains("stock"), "{}", ran.err);
}

#[test]
fn a_shop_that_cannot_says_so() {
    let bench = embosser();
    let shop = bench.read("shop.toml").replace(
        "over-slide      = \"120 mm\"",
        "over-slide      = \"30 mm\"",
    );
    bench.write("shop.toml", shop);
    let ran = bench.run(&["packet", "machine.toml", "--out", "papers", "--json"]);
    assert_eq!(ran.code, Some(1), "{}{}", ran.out, ran.err);
    assert!(
        ran.out.contains("\"cannot\"") && ran.out.contains("swings"),
        "{}",
        ran.out
    );
}
