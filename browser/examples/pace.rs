//! From pointer to picture: 500 moves of the embosser's lever in a real browser, and how long each takes from the event of the pointer
//! until every part of the picture stands where it belongs, ready for the next frame. Also how long until the first picture is painted.
//!
//! `./bench page` runs it with the program it has built; by itself: `cargo run --release -p browser --example pace`.
#![allow(clippy::unwrap_used, reason = "a measurement that cannot go on fails")]

use browser::{Browser, Shop, Window, run};
use serde_json::json;

const MOVES: u32 = 500;
/// Times the page is loaded; the median counts.
const LOADS: usize = 7;

fn main() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 800).await;
        window.open(&shop.link).await;
        let mut painted = Vec::new();
        for _ in 0..LOADS {
            window.open(&shop.at("/m/machine/motion")).await;
            window.ready().await;
            let told = window
                .tell(
                    "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? null",
                )
                .await;
            painted.extend(told.as_f64());
        }
        painted.sort_by(f64::total_cmp);
        tell("page-first-paint", painted[painted.len() / 2], 200.0);
        for view in ["motion", "load"] {
            window.open(&shop.at(&format!("/m/machine/{view}"))).await;
            window.ready().await;
            let took = moves(&window).await;
            for (name, share) in [("p50", 0.5), ("p99", 0.99)] {
                let at = (share * (took.len() - 1) as f64).round() as usize;
                tell(&format!("page-pointer-{view}-{name}"), took[at], 16.0);
            }
        }
        browser.close(vec![window]).await;
    });
}

fn tell(name: &str, ms: f64, wanted: f64) {
    println!("time {name} {ms:.2} ms (goal <= {wanted})");
}

/// Milliseconds of every move, the least first.
async fn moves(window: &Window) -> Vec<f64> {
    window
        .later(
            "globalThis.took = []; let begun = 0;
             const plate = document.getElementById('plate');
             plate.addEventListener('pointermove', () => { begun ||= performance.now(); }, { capture: true });
             new MutationObserver(() => { if (begun) took.push(performance.now() - begun); begun = 0; })
               .observe(plate, { subtree: true, attributes: true, attributeFilter: ['transform'] });",
        )
        .await;
    let (grip, stud) = (
        window.place("lever-grip").await,
        window.place("lever-stud").await,
    );
    let (x, y) = (0.6 * (grip[0] - stud[0]), 0.6 * (grip[1] - stud[1]));
    let dev = window.driver.cdp();
    let mouse = |kind: &str, turn: f64, held: u32| {
        let (sin, cos) = turn.to_radians().sin_cos();
        json!({
            "type": kind, "button": "left", "buttons": held, "clickCount": 1,
            "x": stud[0] + x * cos - y * sin, "y": stud[1] + x * sin + y * cos,
        })
    };
    let send = async |event: serde_json::Value| {
        dev.send_raw("Input.dispatchMouseEvent", event)
            .await
            .unwrap();
    };
    send(mouse("mousePressed", 0.0, 1)).await;
    for turn in 0..MOVES {
        let there = 30.0 * (f64::from(turn) * 0.05).sin();
        send(mouse("mouseMoved", there + 0.5, 1)).await;
        // A hand gives a move a frame.
        tokio::time::sleep(std::time::Duration::from_millis(16)).await;
    }
    send(mouse("mouseReleased", 0.0, 0)).await;
    let took = window.tell("took").await;
    let mut took: Vec<f64> = took
        .as_array()
        .unwrap()
        .iter()
        .filter_map(serde_json::Value::as_f64)
        .collect();
    assert!(
        took.len() > MOVES as usize / 2,
        "{} moves of {MOVES} showed",
        took.len()
    );
    took.sort_by(f64::total_cmp);
    took
}
