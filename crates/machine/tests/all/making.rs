//! Pieces and the shop file of the strap embosser become the data they describe.

use machine::equipment::Spindle;
use machine::making::{Of, Outline, Shape};
use std::path::Path;

fn embosser() -> machine::Machine {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml");
    machine::read(&path).machine.unwrap()
}

#[test]
fn pieces_know_whose_they_are() {
    let m = embosser();
    let piece = |name: &str| {
        m.work
            .making
            .pieces
            .iter()
            .find(|p| p.name == name)
            .unwrap()
    };
    let part = |name: &str| m.parts.iter().position(|p| p.name == name).unwrap();
    assert_eq!(piece("lever").of, Of::Part(part("lever")));
    assert!(matches!(&piece("cheek").of, Of::Frame(points) if points.len() == 2));
    assert_eq!((&piece("die").of, piece("rod-pin").count), (&Of::Loose, 4));
    let Shape::Plate(bed) = &piece("bed").shape else {
        panic!("the bed is a block");
    };
    assert!(bed.upright);
    assert_eq!(
        bed.outline,
        Outline::Box {
            low: [-30.0, -69.7],
            high: [30.0, -12.0],
            corner: 0.0
        }
    );
}

#[test]
fn an_eccentric_takes_its_throw_from_its_point() {
    let m = embosser();
    let shaft = m
        .work
        .making
        .pieces
        .iter()
        .find(|p| p.name == "cross-shaft")
        .unwrap();
    let Shape::Turned(t) = &shaft.shape else {
        panic!("a shaft is turned");
    };
    let throws: Vec<f64> = t
        .steps
        .iter()
        .filter_map(|s| s.offset)
        .map(|o| o.throw)
        .collect();
    assert_eq!(throws.len(), 2);
    assert!(throws.iter().all(|e| (e - 3.0).abs() < 1e-12));
    // A pin is as large as its joint says.
    let pin = m
        .work
        .making
        .pieces
        .iter()
        .find(|p| p.name == "crank-pin")
        .unwrap();
    let Shape::Turned(t) = &pin.shape else {
        panic!("a pin is turned");
    };
    assert_eq!(t.steps[0].diameter.1.as_ref().unwrap().class, "h6");
}

#[test]
fn the_shop_is_read_whole() {
    let shop = embosser().work.shop.unwrap();
    assert_eq!(shop.lathes[0].spindle_bore, 21.0);
    assert_eq!(shop.lathes[0].speeds.at_most(700.0), 620.0);
    assert_eq!(shop.lathes[0].speeds.at_most(50.0), 125.0);
    assert_eq!(shop.mills[0].speeds, Spindle::Range([100.0, 2500.0]));
    assert_eq!(shop.mills[0].speeds.at_most(9000.0), 2500.0);
    // 1 to 13 by tenths and three more.
    assert_eq!(shop.tools.drills.len(), 121 + 3);
    assert!(
        shop.tools
            .drills
            .windows(2)
            .all(|d| d[0].diameter < d[1].diameter)
    );
    assert_eq!(
        shop.tools
            .reamers
            .iter()
            .filter(|r| r.class == "H7")
            .count(),
        5
    );
    assert_eq!(shop.rack.len(), 2);
    assert_eq!(shop.squeezers.len(), 3);
}

#[test]
fn the_starter_shop_reads() {
    let starter = include_str!("../../../bellcrank/src/cli/starters/shop.toml");
    let folder = std::env::temp_dir().join(format!("bellcrank-shop-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("shop.toml"), starter).unwrap();
    let machine = "shop = \"shop.toml\"\n[point]\na = [0, 0]\nb = [10, 0]\n[frame]\ncarries = [\"a\"]\n[part.arm]\ncarries = [\"a\", \"b\"]\n[drive.set]\nturns = \"arm\"\n";
    std::fs::write(folder.join("machine.toml"), machine).unwrap();
    let found = machine::read(&folder.join("machine.toml"));
    let words = machine::render_all(&found.problems, &found.sources, false);
    std::fs::remove_dir_all(&folder).unwrap();
    let shop = found
        .machine
        .unwrap_or_else(|| panic!("{words}"))
        .work
        .shop
        .unwrap();
    assert_eq!(shop.sold, [500.0, 1000.0, 2000.0]);
}
