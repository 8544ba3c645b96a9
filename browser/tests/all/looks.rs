//! How the page lies on screens of several widths, and what a moving machine carries about.

use browser::{Browser, Shop, run};

/// Names that are seen and lie over one another.
const OVER: &str = "(() => {
    const seen = [...document.querySelectorAll('#plate .names > .label')].filter((g) => getComputedStyle(g).visibility !== 'hidden');
    const boxes = seen.map((g) => g.querySelector('text')).map((t) => [t.textContent, t.getBoundingClientRect()]);
    const over = [];
    boxes.forEach(([a, p], i) => boxes.slice(i + 1).forEach(([b, q]) => {
        const w = Math.min(p.right, q.right) - Math.max(p.left, q.left);
        const h = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
        if (w > 1 && h > 1) over.push(a + ' ' + b);
    }));
    return [seen.length, over];
})()";

#[test]
fn names_of_a_moving_machine_do_not_cover_one_another() {
    let shop = Shop::example("power-hacksaw");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1400, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let mut told = vec![window.tell(OVER).await];
        // It never comes to rest, so that its names are not placed anew.
        let mut waits = 0;
        for turn in [60, 120, 180, 240, 300] {
            window
                .later(&format!(
                    "const {{ desk }} = await import('/assets/desk.js');
                     desk.settled = () => {{}};
                     desk.put({{ crank: {turn} }});
                     while (desk.mover.busy) await new Promise((then) => setTimeout(then, 10));"
                ))
                .await;
            told.push(window.tell(OVER).await);
            let hushed = "document.querySelectorAll('#plate .hushed').length";
            waits += window.tell(hushed).await.as_u64().unwrap();
        }
        window.picture("moving-names").await;
        browser.close(vec![window]).await;
        for one in &told {
            assert!(one[0].as_u64() > Some(20), "{told:?}");
            assert_eq!(one[1].as_array().map(Vec::len), Some(0), "{told:?}");
        }
        assert!(waits > 0, "nothing was in the way of anything");
    });
}

/// Width of the window less that of the page, rows of the head, and how far the picture is larger than its plate.
const LAID: &str = "(() => {
    const plate = document.getElementById('plate');
    const tops = [...document.querySelectorAll('header > :not(.quiet, #printed)')].map((e) => { const r = e.getBoundingClientRect(); return Math.round((r.top + r.bottom) / 2 / 20); });
    const svg = plate.querySelector('svg').getBoundingClientRect();
    return [innerWidth - document.documentElement.scrollWidth, new Set(tops).size, svg.height - plate.clientHeight, svg.width - plate.clientWidth];
})()";

#[test]
fn every_view_fits_its_window() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1400, 900).await;
        window.open(&shop.link).await;
        let mut told = Vec::new();
        for size in [(1400, 900), (1100, 800), (800, 1000), (390, 844)] {
            window.looks_like(size, "dark").await;
            for view in ["motion", "cycle", "load", "fit-up", "make"] {
                window.open(&shop.at(&format!("/m/machine/{view}"))).await;
                window.ready().await;
                told.push((size.0, view, window.tell(LAID).await));
            }
        }
        browser.close(vec![window]).await;
        for (wide, view, laid) in &told {
            let laid: Vec<f64> = (0..4).map(|i| laid[i].as_f64().unwrap()).collect();
            assert!(laid[0] >= 0.0, "{view} at {wide} runs out of the window");
            if *wide < 1000 {
                continue;
            }
            assert!(
                laid[1] < 1.5,
                "the head of {view} at {wide} takes {} rows",
                laid[1]
            );
            assert!(
                laid[2] < 2.0 && laid[3] < 2.0,
                "the picture of {view} at {wide}: {laid:?}"
            );
        }
    });
}

#[test]
fn words_beside_a_curve_do_not_take_its_room() {
    for (example, view) in [("power-hacksaw", "motion"), ("strap-embosser", "load")] {
        let shop = Shop::example(example);
        run(async {
            let mut browser = Browser::start();
            let window = browser.window(390, 844).await;
            window.open(&shop.link).await;
            window.open(&shop.at(&format!("/m/machine/{view}"))).await;
            window
                .until("the curves", "document.querySelector('#plot svg .panel')")
                .await;
            // The frame of each field as a share of its figure.
            let told = window
                .tell("[...document.querySelectorAll('#plot .panel')].map((p) => Math.max(...[...p.querySelectorAll(':scope > path.narrow')].map((e) => e.getBoundingClientRect().width)) / p.closest('svg').getBoundingClientRect().width)")
                .await;
            browser.close(vec![window]).await;
            let shares: Vec<f64> = told
                .as_array()
                .unwrap()
                .iter()
                .filter_map(serde_json::Value::as_f64)
                .collect();
            assert!(
                shares.len() > 2 && shares.iter().all(|s| *s > 0.6),
                "{example}: {shares:?}"
            );
        });
    }
}
