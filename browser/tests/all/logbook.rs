//! The log of a built machine in a real browser: what is typed at the machine, its steps, and the plots on a small screen.

use browser::{Browser, Shop, run};
use thirtyfour::prelude::*;

const LOG: &str = "machine.log.toml";

#[test]
fn steps_of_the_log_are_its_own_in_every_window_and_over_restarts() {
    let mut shop = Shop::example("strap-embosser");
    let log = std::fs::read_to_string(shop.path(LOG)).unwrap();
    let machine = shop.text();
    run(async {
        let mut browser = Browser::start();
        let (one, two) = (
            browser.window(1280, 900).await,
            browser.window(390, 844).await,
        );
        let view = shop.at("/m/machine/dial-in");
        for window in [&one, &two] {
            window.open(&shop.link).await;
            window.open(&view).await;
            window
                .until(
                    "the fit",
                    "document.querySelector('#dial-text').textContent.length > 500",
                )
                .await;
        }
        one.tell("document.getElementById('part-measured').parentElement.open = true")
            .await;
        one.fill(
            "#part-measured [name=dimension]",
            "frame: height shaft-axis to crank-centre",
        )
        .await;
        one.fill("#part-measured [name=value]", "380.04 mm").await;
        one.fill("#part-measured [name=uncertainty]", "0.02 mm")
            .await;
        one.click("#part-measured button").await;
        one.until("an answer", "!document.getElementById('dial-say').hidden")
            .await;
        let said = one.words("#dial-say").await;
        two.until(
            "the step",
            "document.getElementById('log-undo').textContent === 'Undo: wrote a measured part'",
        )
        .await;
        let written = std::fs::read_to_string(shop.path(LOG)).unwrap();
        two.click("#log-undo").await;
        one.until(
            "the step back",
            "!document.getElementById('log-redo').disabled",
        )
        .await;
        let back = std::fs::read_to_string(shop.path(LOG)).unwrap();
        shop.crash();
        one.until("the news", "!document.getElementById('gone').hidden")
            .await;
        shop.open();
        one.until("the server", "document.getElementById('gone').hidden")
            .await;
        one.click("#log-redo").await;
        one.until("the step", "!document.getElementById('log-undo').disabled")
            .await;
        let again = std::fs::read_to_string(shop.path(LOG)).unwrap();
        one.picture("log-steps").await;
        two.picture("log-steps-390").await;
        browser.close(vec![one, two]).await;
        assert!(said.starts_with("Written into"), "{said}");
        assert!(written.starts_with(&log), "{written}");
        assert!(written.contains("height shaft-axis to crank-centre"));
        assert_eq!(back, log);
        assert_eq!(again, written);
        assert_eq!(shop.text(), machine);
    });
}

#[test]
fn readings_half_typed_outlive_the_page_and_a_job_says_how_the_machine_stood() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(390, 844).await;
        window.open(&shop.link).await;
        let view = shop.at("/m/machine/dial-in?set=61 deg");
        window.open(&view).await;
        let table = "document.querySelectorAll('#run tbody tr').length > 5";
        window.until("the table", table).await;
        let cell = "#run tbody tr:nth-child(3) td:nth-child(2) input";
        window.fill(cell, "-0.37").await;
        window.open(&view).await;
        window
            .until(
                "what was typed",
                &format!("document.querySelector({cell:?})?.value === '-0.37'"),
            )
            .await;
        window.ready().await;
        window
            .tell("document.getElementById('job').parentElement.open = true")
            .await;
        window.fill("#job [name=job]", "belts, small die").await;
        window.fill("#job [name=least-gap]", "0.36 mm").await;
        window.fill("#job [name=uncertainty]", "0.02 mm").await;
        window.click("#job button").await;
        window
            .until("an answer", "!document.getElementById('dial-say').hidden")
            .await;
        let said = window.words("#dial-say").await;
        let wide = window
            .tell("document.documentElement.scrollWidth - innerWidth")
            .await;
        window.picture("job-390").await;
        let log = std::fs::read_to_string(shop.path(LOG)).unwrap();
        // A table from a file goes the same way; what was half typed stays.
        let table = "set (deg),least-gap (mm)\n0,1.2\n20,0.62\n40,0.01\n";
        std::fs::write(shop.path("taken.csv"), table).unwrap();
        let file = window
            .driver
            .find(By::Css("#run [name=file]"))
            .await
            .unwrap();
        file.send_keys(shop.path("taken.csv").to_str().unwrap())
            .await
            .unwrap();
        window.fill("#run [name=uncertainty]", "0.01 mm").await;
        window.click("#run button").await;
        window
            .until("the entry", "document.querySelector('#run #dial-say') && document.getElementById('log-undo').textContent === 'Undo: wrote readings'")
            .await;
        let more = std::fs::read_to_string(shop.path(LOG)).unwrap();
        let kept = window
            .tell(&format!("document.querySelector({cell:?}).value"))
            .await;
        browser.close(vec![window]).await;
        assert!(said.starts_with("Written into"), "{said}");
        let job = &log[log.rfind("[[job]]").unwrap()..];
        for words in ["belts, small die", "61", "0.36 mm", "0.02 mm"] {
            assert!(job.contains(words), "{words}: {job}");
        }
        assert!(wide.as_f64().unwrap() <= 0.0, "{wide} px too wide");
        assert!(more.starts_with(&log) && more.contains("0.62"), "{more}");
        assert_eq!(kept, "-0.37");
    });
}

#[test]
fn plots_of_a_fit_are_as_wide_as_the_screen_and_their_letters_stay_large() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        let mut told = Vec::new();
        for (width, height) in [(390, 844), (1024, 768), (1920, 1080)] {
            window.looks_like((width, height), "dark").await;
            window.open(&shop.at("/m/machine/dial-in")).await;
            window
                .until("the plot", "document.querySelector('#dial-plot svg text')")
                .await;
            window.ready().await;
            // Height of the smallest letters, CSS pixels.
            let letters = window
                .tell("Math.min(...[...document.querySelectorAll('#dial-plot text')].filter((t) => t.textContent.trim()).map((t) => parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a))")
                .await;
            told.push((width, letters.as_f64().unwrap()));
        }
        browser.close(vec![window]).await;
        for (width, letters) in told {
            assert!(letters > 8.5, "letters of {letters} px at {width} px");
        }
    });
}

#[test]
fn a_point_that_is_dragged_takes_the_machine_along_before_it_is_let_go() {
    let shop = Shop::example("strap-embosser");
    let text = shop.text();
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        window.click("[data-tool='shape']").await;
        window.ready().await;
        let [x, y] = window.place("lever-grip").await.map(|x| x.round() as i64);
        let lever = "[...document.querySelectorAll('#plate [data-part] .part[data-name=lever] path')].map((p) => p.getAttribute('d')).join()";
        let before = window.tell(lever).await;
        let chain = window.driver.action_chain();
        chain
            .move_to(x, y)
            .click_and_hold()
            .move_to(x + 5, y + 3)
            .move_to(x + 30, y - 25)
            .perform()
            .await
            .unwrap();
        window
            .until("the lever to follow", &format!("{lever} !== {before}"))
            .await;
        let held = shop.text();
        window.picture("dragged").await;
        let chain = window.driver.action_chain();
        chain.release().perform().await.unwrap();
        window
            .until("the step", "!document.getElementById('undo').disabled")
            .await;
        let moved = shop.text();
        browser.close(vec![window]).await;
        assert_eq!(held, text, "written before it was let go");
        assert_ne!(moved, text);
    });
}

#[test]
fn the_machine_as_built_is_shown_in_every_view() {
    let shop = Shop::example("strap-embosser");
    let said = shop.says("motion --as built --drive crank");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let drawn = window.words("#readings dd").await;
        let choose = |which: &str| {
            format!(
                "(() => {{ const a = document.getElementById('as'); a.value = '{which}'; a.dispatchEvent(new Event('change')); }})()"
            )
        };
        window.tell(&choose("built")).await;
        window
            .until(
                "the asks of the machine as built",
                "document.getElementById('asks').textContent.includes('least-gap is 0.106 mm')",
            )
            .await;
        window.ready().await;
        let built = window.words("#readings dd").await;
        let told = window.words("#table pre").await;
        let link = window.tell("location.search").await;
        window.picture("as-built").await;
        window.tell(&choose("")).await;
        window
            .until(
                "the asks of the drawing",
                "document.getElementById('asks').textContent.includes('least-gap is 0.216 mm')",
            )
            .await;
        window.ready().await;
        let again = window.words("#readings dd").await;
        browser.close(vec![window]).await;
        assert_eq!(drawn, "41.30 mm");
        assert_eq!(built, "41.23 mm");
        assert_eq!(again, drawn);
        assert_eq!(told, said);
        assert!(link.as_str().unwrap().contains("as=built"), "{link}");
    });
}
