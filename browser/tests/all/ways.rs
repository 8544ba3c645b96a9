//! The browser's own conventions: fingers, less motion, the way back, several machines in a folder.

use std::time::{Duration, Instant};

use browser::{Browser, Shop, Window, run};
use serde_json::json;

async fn send(window: &Window, what: &str, with: serde_json::Value) {
    window.driver.cdp().send_raw(what, with).await.unwrap();
}

#[test]
fn a_finger_moves_the_lever_and_scrolls_the_page_beside_it() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.looks_like((390, 844), "dark").await;
        let on = json!({ "enabled": true, "maxTouchPoints": 1 });
        send(&window, "Emulation.setTouchEmulationEnabled", on).await;
        window.open(&shop.link).await;
        window.ready().await;
        let before = window.stands("set").await;
        let finger = async |path: &[[f64; 2]]| {
            for (n, [x, y]) in path.iter().enumerate() {
                let kind = if n == 0 { "touchStart" } else { "touchMove" };
                let at = json!({ "type": kind, "touchPoints": [{ "x": x, "y": y }] });
                send(&window, "Input.dispatchTouchEvent", at).await;
                tokio::time::sleep(Duration::from_millis(20)).await;
            }
            let end = json!({ "type": "touchEnd", "touchPoints": [] });
            send(&window, "Input.dispatchTouchEvent", end).await;
        };
        let [x, y] = window.place("lever-grip").await;
        let pull: Vec<[f64; 2]> = (0..=8)
            .map(|n| [x + 4.0 * f64::from(n), y + 2.0 * f64::from(n)])
            .collect();
        finger(&pull).await;
        window.ready().await;
        let after = window.stands("set").await;
        let still = window.tell("scrollY").await;
        // Beside the machine a finger scrolls.
        let swipe: Vec<[f64; 2]> = (0..=8)
            .map(|n| [20.0, 420.0 - 30.0 * f64::from(n)])
            .collect();
        finger(&swipe).await;
        window.until("the page to scroll", "scrollY > 100").await;
        let rests = window.stands("set").await;
        window.picture("finger").await;
        browser.close(vec![window]).await;
        assert!(after > before + 3.0, "{before} to {after}");
        assert_eq!(still, 0);
        assert!((rests - after).abs() < 1e-9, "{after} to {rests}");
    });
}

#[test]
fn who_wants_less_motion_sees_steps() {
    let shop = Shop::example("treadle");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        let less = json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] });
        send(&window, "Emulation.setEmulatedMedia", less).await;
        window.open(&shop.link).await;
        window.ready().await;
        window.click(".run").await;
        let mut seen: Vec<f64> = Vec::new();
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_millis(2600) {
            let now = window.stands("crank").await;
            if seen.last() != Some(&now) {
                seen.push(now);
            }
            tokio::time::sleep(Duration::from_millis(15)).await;
        }
        window.click(".run").await;
        browser.close(vec![window]).await;
        // Two steps a second.
        assert!((3..=7).contains(&seen.len()), "{seen:?}");
    });
}

#[test]
fn the_way_back_leads_to_the_view_and_pose_before() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/motion?set=50 deg")).await;
        window.ready().await;
        window.click("nav [data-view=load]").await;
        window.ready().await;
        window.fill("#knob-set", "20 deg").await;
        window.ready().await;
        tokio::time::sleep(Duration::from_millis(500)).await;
        let there = window
            .tell("decodeURIComponent(location.pathname + location.search)")
            .await;
        window.driver.back().await.unwrap();
        window
            .until("the view before", "document.body.dataset.view === 'motion'")
            .await;
        window.ready().await;
        let before = window.stands("set").await;
        window.driver.forward().await.unwrap();
        window
            .until("the view behind", "document.body.dataset.view === 'load'")
            .await;
        window.ready().await;
        let behind = window.stands("set").await;
        browser.close(vec![window]).await;
        assert!(there.as_str().unwrap().contains("/load?set=20"), "{there}");
        assert!((before - 50.0).abs() < 1e-6, "{before}");
        assert!((behind - 20.0).abs() < 1e-6, "{behind}");
    });
}

#[test]
fn machines_of_a_folder_are_switched_among_and_begun() {
    let shop = Shop::example("strap-embosser");
    let other = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/treadle/machine.toml"),
    )
    .unwrap();
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        std::fs::write(shop.path("treadle.toml"), other).unwrap();
        window
            .until(
                "the other machine",
                "!!document.querySelector('#machines option[value=treadle]')",
            )
            .await;
        window
            .tell("(() => { const m = document.getElementById('machines'); m.value = 'treadle'; m.dispatchEvent(new Event('change')); })()")
            .await;
        window.until("the treadle", "location.pathname === '/m/treadle/motion' && document.querySelector('h1')?.textContent.startsWith('Treadle')").await;
        window.ready().await;
        window.click("#new summary").await;
        window.fill("#new-form [name=name]", "Drop hammer").await;
        window.click("#new-form button").await;
        window.until("an empty sheet", "location.pathname.endsWith('/motion') && document.querySelector('h1')?.textContent === 'Drop hammer'").await;
        window.ready().await;
        let says = window.words("#say").await;
        let files = std::fs::read_dir(shop.path("")).unwrap();
        let names: Vec<String> = files
            .map(|f| f.unwrap().file_name().into_string().unwrap())
            .collect();
        browser.close(vec![window]).await;
        assert!(says.contains("An empty sheet"), "{says}");
        assert!(
            names.iter().any(|n| n.to_lowercase().contains("hammer")),
            "{names:?}"
        );
    });
}
