//! The stages that show what a command says, word for word, in a real browser; print and zoom.

use browser::{Browser, Shop, bare, run};

#[test]
fn fit_up_says_what_parts_says_and_a_line_lights_its_part() {
    let shop = Shop::example("strap-embosser");
    let said = shop.says("parts");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/fit-up")).await;
        window
            .until(
                "the elements",
                "document.querySelectorAll('#fit-text button').length > 10",
            )
            .await;
        let shown = window.words("#fit-text").await;
        let picked = window
            .tell("(() => { const b = [...document.querySelectorAll('#fit-text button')].find((b) => b.textContent.includes('lever at lever-stud')); b.click(); return b.textContent; })()")
            .await;
        window
            .until(
                "the lever to be lit",
                "document.querySelector('#plate .lit')?.dataset.name === 'lever'",
            )
            .await;
        window.picture("fit-up").await;
        browser.close(vec![window]).await;
        // Findings have their place in the file as a line of their own there; here picking one goes to it.
        let shown = bare(&shown);
        let (findings, items) = said.split_once("\nTo buy").unwrap();
        assert!(shown.ends_with(&bare(&format!("To buy{items}"))), "{shown}");
        let place = |line: &&str| line.contains("machine.toml:");
        for sentence in findings.split("\ncaution  ").skip(1) {
            let own = sentence.split("\nnote ").next().unwrap().lines();
            let own: Vec<&str> = own.take_while(|line| !place(line)).collect();
            let own = bare(own[0]);
            assert!(shown.contains(&own), "{own}");
        }
        assert!(picked.as_str().unwrap().contains("lever"), "{picked}");
    });
}

#[test]
fn readings_typed_into_the_table_go_into_the_log_and_are_fitted() {
    let shop = Shop::example("strap-embosser");
    let log = std::fs::read_to_string(shop.path("machine.log.toml")).unwrap();
    let said = shop.says("dial-in");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/dial-in")).await;
        window.until("the fit", "document.querySelector('#dial-text').textContent.length > 500 && document.querySelector('#dial-plot svg')").await;
        let shown = window.words("#dial-text").await;
        window
            .until(
                "the table",
                "document.querySelectorAll('#run tbody tr').length > 5",
            )
            .await;
        // Two readings, and a word that is none.
        for (line, text) in [(1, "1.21 mm"), (2, "1.07 furlong")] {
            window
                .fill(
                    &format!("#run tbody tr:nth-child({line}) td:nth-child(2) input"),
                    text,
                )
                .await;
        }
        window.fill("#run [name=uncertainty]", "0.01 mm").await;
        window.click("#run button").await;
        window
            .until(
                "the refusal",
                "document.getElementById('say').classList.contains('bad')",
            )
            .await;
        let refused = window.words("#say").await;
        let untouched = std::fs::read_to_string(shop.path("machine.log.toml")).unwrap();
        window
            .fill("#run tbody tr:nth-child(2) td:nth-child(2) input", "1.07")
            .await;
        window.click("#run button").await;
        window
            .until(
                "the log",
                "document.getElementById('say').textContent.startsWith('Written into')",
            )
            .await;
        window.until("the fit to all", &format!("document.querySelector('#dial-text').textContent.length > 500 && !document.querySelector('#dial-text').textContent.includes({:?})", said.lines().next().unwrap())).await;
        let written = std::fs::read_to_string(shop.path("machine.log.toml")).unwrap();
        let again = window.words("#dial-text").await;
        window.fill("#scale-form [name=radius]", "90 mm").await;
        window
            .until("the scale", "document.querySelector('#scale-plot svg')")
            .await;
        window.picture("dial-in").await;
        browser.close(vec![window]).await;
        assert_eq!(shown, said);
        assert!(refused.contains("furlong"), "{refused}");
        assert_eq!(untouched, log);
        assert!(written.starts_with(log.trim_end()), "{written}");
        let added = &written[log.trim_end().len()..];
        assert!(
            added.contains("1.21") && added.contains("1.07") && added.contains("least-gap"),
            "{added}"
        );
        assert_eq!(again, shop.says("dial-in"));
    });
}

#[test]
fn at_400_percent_nothing_has_to_be_scrolled_sideways() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        let mut beyond = Vec::new();
        window.open(&shop.link).await;
        // A window of 1280 px at 400 % is 320 px wide to the page.
        for width in [390, 320] {
            window.looks_like((width, 700), "dark").await;
            for view in ["brief", "motion", "load", "fit-up", "make", "dial-in"] {
                window.open(&shop.at(&format!("/m/machine/{view}"))).await;
                window.ready().await;
                let told = window
                    .tell("[...document.querySelectorAll('button, a, input, select, textarea, summary')].filter((e) => e.offsetParent && !e.closest('.taken') && !e.closest('.skip')).filter((e) => { const b = e.getBoundingClientRect(); return b.right > innerWidth + 0.5 || b.left < -0.5; }).map((e) => e.id || e.name || e.textContent)")
                    .await;
                let over = window
                    .tell("document.documentElement.scrollWidth - innerWidth")
                    .await;
                window.picture(&format!("{view}-{width}")).await;
                beyond.extend(
                    told.as_array()
                        .unwrap()
                        .iter()
                        .map(|e| format!("{view} at {width} px: {e}")),
                );
                if over.as_f64().unwrap() > 0.0 {
                    beyond.push(format!("{view} at {width} px is {over} px too wide"));
                }
            }
        }
        browser.close(vec![window]).await;
        assert_eq!(beyond, Vec::<String>::new());
    });
}

#[test]
fn it_prints_black_on_white_without_what_is_for_hands() {
    let shop = Shop::example("rolling-mill");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let media = serde_json::json!({ "media": "print" });
        window
            .driver
            .cdp()
            .send_raw("Emulation.setEmulatedMedia", media)
            .await
            .unwrap();
        let told = window
            .tell("(() => { const s = (q, p) => getComputedStyle(document.querySelector(q))[p]; return [s('#plate', 'backgroundColor'), s('#plate .wide', 'stroke'), s('#tools', 'display'), s('nav', 'display'), [...document.querySelectorAll('button')].filter((b) => b.offsetParent && !b.matches('.plain')).length]; })()")
            .await;
        let heads = window
            .tell("document.getElementById('printed').textContent")
            .await;
        window.picture("print").await;
        browser.close(vec![window]).await;
        assert_eq!(told[0], "rgb(255, 255, 255)");
        assert_eq!(told[1], "rgb(0, 0, 0)");
        assert_eq!((&told[2], &told[3]), (&"none".into(), &"none".into()));
        assert_eq!(told[4], 0, "buttons on paper");
        assert!(heads.as_str().unwrap().contains("machine.toml"), "{heads}");
    });
}
