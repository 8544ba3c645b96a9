//! A cam on the page: its edge turns with its part, and the roller keeps to it.

use browser::{Browser, Shop, run};

/// Distance of the roller's centre from the edge, as a share of the roller's radius, in the window.
const OFF: &str = "(() => {
    const edge = document.querySelector('[id$=\"-cam-lift\"] path, [id$=\"-cam-lift\"] polygon, [id$=\"-cam-lift\"] polyline');
    const circle = document.querySelector('[id$=\"-roller-lift\"] circle');
    const seen = (node, x, y) => new DOMPoint(x, y).matrixTransform(node.getScreenCTM());
    const r = Number(circle.getAttribute('r'));
    const [cx, cy] = ['cx', 'cy'].map((k) => Number(circle.getAttribute(k)));
    const middle = seen(circle, cx, cy);
    const rim = seen(circle, cx + r, cy);
    const radius = Math.hypot(rim.x - middle.x, rim.y - middle.y);
    let least = Infinity;
    const long = edge.getTotalLength();
    for (let i = 0; i < 4000; i++) {
        const p = edge.getPointAtLength(long * i / 4000);
        const q = seen(edge, p.x, p.y);
        least = Math.min(least, Math.hypot(q.x - middle.x, q.y - middle.y));
    }
    return [least / radius, middle.x, middle.y];
})()";

#[test]
fn the_roller_keeps_to_the_edge_of_its_cam() {
    let shop = Shop::example("power-hacksaw");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let mut told = Vec::new();
        for turn in ["0 deg", "205 deg", "270 deg", "330 deg"] {
            window.fill("#knob-crank", turn).await;
            window.ready().await;
            let off = window.tell(OFF).await;
            told.push([0, 1, 2].map(|i| off[i].as_f64().unwrap()));
        }
        window.picture("cam").await;
        browser.close(vec![window]).await;
        for at in &told {
            assert!((at[0] - 1.0).abs() < 0.03, "{told:?}");
        }
        // It has been lifted.
        let moved = (told[2][1] - told[0][1]).hypot(told[2][2] - told[0][2]);
        assert!(moved > 1.0, "{told:?}");
    });
}

#[test]
fn an_indexing_wheel_goes_on_turn_by_turn() {
    let shop = Shop::with(
        r#"
name = "Index table"
unit = "mm"
[point]
c = [0, 0]
s = [80, 0]
pin = { from = "c", reach = 40, angle = "90 deg" }
[frame]
carries = ["c", "s"]
[part.drv]
carries = ["c", "pin"]
[part.star]
carries = ["s"]
[geneva.index]
driver = "drv"
pin    = "pin"
wheel  = "star"
slots  = 6
[drive.crank]
turns = "drv"
range = "whole turn"
[reading.star]
turn-of = "star"
"#,
    );
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let slots = window
            .tell("document.querySelectorAll('#plate [data-name=index]').length")
            .await;
        let mut told = Vec::new();
        // As the drive runs on: two turns, all six and a little more.
        for at in [350, 715, 2170] {
            let told_at = window
                .later(&format!(
                    "const {{ desk }} = await import('/assets/desk.js');
                     desk.put({{ crank: {at} }}, 'crank');
                     while (desk.mover.busy) await new Promise((then) => setTimeout(then, 10));
                     return [desk.pose.values.crank, desk.pose.readings[0].value * 180 / Math.PI];"
                ))
                .await;
            told.push([0, 1].map(|i| told_at[i].as_f64().unwrap()));
        }
        window.ready().await;
        window.picture("index").await;
        browser.close(vec![window]).await;
        assert!(slots.as_u64() > Some(0), "{slots}");
        for ([at, star], [turn, wanted]) in
            told.iter()
                .zip([[350.0, 60.0], [715.0, 120.0], [10.0, 0.0]])
        {
            assert!((at - turn).abs() < 1e-6, "{told:?}");
            assert!((star.abs() - wanted).abs() < 1e-6, "{told:?}");
        }
    });
}
