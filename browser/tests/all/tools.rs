//! Every tool of the board by pointing, and what the pointer snaps to.

use browser::{Browser, Shop, Window, run};

const FOUR_BAR: &str = r#"name = "Strip feeder"
unit = "mm"

[point]
a = [0, 0]
b = [20, 35]      # where the crank pulls
c = { from = "b", reach = 90, angle = "15 deg" }
d = [95, 0]

[frame]
carries = ["a", "d"]

[part.crank]
carries = ["a", "b"]

[part.coupler]
carries = ["b", "c"]

[part.rocker]
carries = ["c", "d"]

[drive.turn]
turns = "crank"
range = "whole turn"
"#;

/// Takes a tool and points at places of the machine, mm.
async fn with(window: &Window, tool: &str, places: &[[f64; 2]]) {
    window.click("[data-tool='move']").await;
    window.click(&format!("[data-tool='{tool}']")).await;
    window.ready().await;
    let (a, scale) = laid(window).await;
    for [x, y] in places {
        window.touch([a[0] + x * scale, a[1] - y * scale]).await;
    }
    window.ready().await;
}

/// Where the origin is in the window, and pixels to a mm.
async fn laid(window: &Window) -> ([f64; 2], f64) {
    let (a, d) = (window.place("a").await, window.place("d").await);
    (a, (d[0] - a[0]) / 95.0)
}

fn along(from: [f64; 2], reach: f64, degrees: f64) -> [f64; 2] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    [from[0] + reach * cos, from[1] + reach * sin]
}

#[test]
fn points_snap_to_lines_square_and_equal_and_are_written_so() {
    let shop = Shop::with(FOUR_BAR);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 800).await;
        window.open(&shop.link).await;
        window.ready().await;
        let (_, scale) = laid(&window).await;
        let (b, c) = ([20.0, 35.0], along([20.0, 35.0], 90.0, 15.0));
        // Three pixels beside the line of the coupler.
        let beside = along(along(b, 30.0, 15.0), 3.0 / scale, 105.0);
        with(&window, "point", &[beside]).await;
        let on = shop.text();
        // From the end of the coupler, a degree off square to it.
        with(&window, "bar", &[c, along(c, 25.0, -74.0)]).await;
        let square = shop.text();
        // As long as the crank, a pixel off, in a direction of its own.
        let crank = 20.0_f64.hypot(35.0);
        let end = along([95.0, 0.0], crank - 1.0 / scale, -70.0);
        with(&window, "bar", &[[95.0, 0.0], end]).await;
        let equal = shop.text();
        window.picture("snapped").await;
        browser.close(vec![window]).await;
        let new = |text: &str, before: &str| {
            let known: Vec<&str> = before.lines().collect();
            let all = text.lines().filter(|l| !known.contains(l));
            all.map(str::to_owned).collect::<Vec<String>>().join("\n")
        };
        let made = new(&on, FOUR_BAR);
        assert!(made.contains(r#"on = ["b", "c"], reach = "#), "{made}");
        let made = new(&square, &on);
        assert!(made.contains(r#"from = "c", reach = 25"#), "{made}");
        assert!(made.contains(r#"angle = "-75 deg""#), "{made}");
        let made = new(&equal, &square);
        assert!(made.contains(r#"from = "d", reach = 40.3"#), "{made}");
        assert!(equal.contains("# where the crank pulls"), "{equal}");
    });
}

#[test]
fn slides_readings_loads_and_rows_of_holes_are_made_by_pointing() {
    let shop = Shop::with(FOUR_BAR);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 800).await;
        window.open(&shop.link).await;
        window.ready().await;
        let (b, c, d) = ([20.0, 35.0], along([20.0, 35.0], 90.0, 15.0), [95.0, 0.0]);
        with(&window, "read", &[b, d]).await;
        let way = (c[1] - d[1]).atan2(c[0] - d[0]).to_degrees();
        with(&window, "read", &[along(d, 30.0, way), along(d, 33.0, way)]).await;
        with(&window, "force", &[c, [c[0], c[1] - 30.0]]).await;
        // A ram of its own, a rod to it from the coupler, and the way it slides.
        let ram = [[50.0, -15.0], [50.0, -40.0]];
        with(&window, "bar", &ram).await;
        with(&window, "rod", &[b, ram[0]]).await;
        with(&window, "slide", &[[50.0, -28.0], [50.0, -5.0]]).await;
        // Holes along the rocker.
        with(
            &window,
            "row",
            &[
                along(d, 20.0, way),
                along(d, 12.0, way),
                along(d, 20.0, way),
            ],
        )
        .await;
        let text = shop.text();
        let problems = window.words("#problems").await;
        window.picture("tools").await;
        browser.close(vec![window]).await;
        for made in [
            r#"distance = ["b", "d"]"#,
            r#"turn-of = "rocker""#,
            r#"force = "100 N""#,
            r#"part = "coupler""#,
            r#"along = "-90 deg""#,
            "[rod.",
            r#"along = "up""#,
            "[row.holes]",
            "count = 5",
        ] {
            assert!(text.contains(made), "{made}:\n{text}");
        }
        assert!(!problems.contains("Line "), "{problems}\n{text}");
    });
}
