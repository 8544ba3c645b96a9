//! The workbench as a builder meets it, in a real browser.

use browser::{Browser, Shop, run};
use thirtyfour::prelude::*;

#[test]
fn the_lever_is_dragged_and_the_link_tells_where_it_stands() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let (grip, stud) = (
            window.place("lever-grip").await,
            window.place("lever-stud").await,
        );
        // Held a little below the grip, and turned 20 degrees clockwise about the stud; down is positive in a window.
        let turned = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let (x, y) = (0.6 * (grip[0] - stud[0]), 0.6 * (grip[1] - stud[1]));
            [stud[0] + x * cos - y * sin, stud[1] + x * sin + y * cos]
        };
        let path: Vec<[f64; 2]> = (0..=10).map(|n| turned(2.0 * f64::from(n))).collect();
        let before = window.stands("set").await;
        window.drag(&path).await;
        window.ready().await;
        let after = window.stands("set").await;
        let field = window
            .tell("document.getElementById('knob-set').value")
            .await;
        let link = window.tell("decodeURIComponent(location.search)").await;
        window.picture("lever").await;
        let address = window.tell("location.href").await;
        // The link leads to the same pose, and the back button to the view before.
        window.open(address.as_str().unwrap()).await;
        window.ready().await;
        let again = window.stands("set").await;
        browser.close(vec![window]).await;
        assert!((before - 35.0).abs() < 1e-9, "{before}");
        assert!((after - 55.0).abs() < 2.0, "{after}");
        assert!(field.as_str().unwrap().contains("deg"), "{field}");
        assert!(link.as_str().unwrap().contains("set="), "{link}");
        assert!((again - after).abs() < 0.05, "{again} {after}");
    });
}

#[test]
fn a_point_is_moved_by_hand_and_the_move_undone() {
    let shop = Shop::example("strap-embosser");
    let text = shop.text();
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        window.click("[data-tool='shape']").await;
        let [x, y] = window.place("lever-stud").await;
        window
            .drag(&[
                [x, y],
                [x + 6.0, y + 3.0],
                [x + 25.0, y + 12.0],
                [x + 40.0, y + 20.0],
            ])
            .await;
        window
            .until("the step", "!document.getElementById('undo').disabled")
            .await;
        let moved = shop.text();
        window.picture("shaped").await;
        window.click("#undo").await;
        window
            .until("the way back", "document.getElementById('undo').disabled")
            .await;
        let undone = shop.text();
        window.click("#redo").await;
        window
            .until(
                "the step again",
                "!document.getElementById('undo').disabled",
            )
            .await;
        let redone = shop.text();
        browser.close(vec![window]).await;
        let differs = |text: &str, other: &str| {
            text.lines()
                .zip(other.lines())
                .filter(|(a, b)| a != b)
                .count()
        };
        assert_eq!(moved.lines().count(), text.lines().count());
        assert_eq!(differs(&text, &moved), 1, "{moved}");
        assert_eq!(undone, text);
        assert_eq!(redone, moved);
    });
}

#[test]
fn what_a_text_editor_saves_shows_at_once_even_when_it_is_broken() {
    let shop = Shop::example("strap-embosser");
    let text = shop.text();
    run(async {
        let mut browser = Browser::start();
        let (one, two) = (
            browser.window(1280, 900).await,
            browser.window(1024, 768).await,
        );
        for window in [&one, &two] {
            window.open(&shop.link).await;
            window.ready().await;
        }
        shop.save(&text.replace("name = \"Strap embosser\"", "name = \"Belt press\""));
        for window in [&one, &two] {
            window
                .until(
                    "the name",
                    "document.querySelector('h1').textContent === 'Belt press'",
                )
                .await;
        }
        shop.save(&text.replace(
            "reach = 20, angle = \"90 deg\"",
            "reach = 20, angle = \"90 degrees of arc\"",
        ));
        for window in [&one, &two] {
            window
                .until("the problem", "document.querySelector('#problems li')")
                .await;
        }
        let said = one
            .tell("document.getElementById('problems').textContent")
            .await;
        let kept = one
            .tell("document.querySelector('#plate svg') !== null")
            .await;
        one.picture("broken").await;
        shop.save(&text);
        for window in [&one, &two] {
            window
                .until("it to be mended", "!document.querySelector('#problems li')")
                .await;
        }
        // What one of them undoes, the other shows.
        one.click("#undo").await;
        two.until("the problem", "document.querySelector('#problems li')")
            .await;
        let same = two.tell("document.getElementById('text').value").await;
        let file = shop.text();
        browser.close(vec![one, two]).await;
        assert!(said.as_str().unwrap().contains("Line "), "{said}");
        assert_eq!(kept, true);
        assert_eq!(same.as_str(), Some(file.as_str()));
        assert!(file.contains("degrees of arc"));
    });
}

#[test]
fn a_server_that_is_gone_is_told_and_back_again_goes_on() {
    let mut shop = Shop::example("treadle");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        shop.crash();
        window
            .until("the news", "!document.getElementById('gone').hidden")
            .await;
        let text = shop.text().replacen("name = \"", "name = \"Other ", 1);
        shop.save(&text);
        shop.open();
        window
            .until("the server", "document.getElementById('gone').hidden")
            .await;
        window
            .until(
                "the new name",
                "document.querySelector('h1').textContent.startsWith('Other ')",
            )
            .await;
        browser.close(vec![window]).await;
    });
}

#[test]
fn everything_can_be_done_without_a_mouse() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let (mut met, mut unseen) = (Vec::new(), Vec::<String>::new());
        let mut moved = false;
        for _ in 0..80 {
            window.keys([Key::Tab.into()]).await;
            let at = window
                .tell("(document.activeElement.getAttribute('aria-label') || document.activeElement.textContent || document.activeElement.id).trim().slice(0, 40)")
                .await;
            let ring = window
                .tell("(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle !== 'none' || s.boxShadow !== 'none'; })()")
                .await;
            let at = at.as_str().unwrap().to_owned();
            // At its end the focus goes by the document itself.
            let is_page = window
                .tell("document.activeElement === document.body")
                .await;
            unseen.extend((ring != true && is_page != true).then(|| at.clone()));
            if at == "set, deg" {
                window.keys([Key::Right.into()]).await;
                window.ready().await;
                moved = (window.stands("set").await - 40.0).abs() < 1e-6;
            }
            met.push(at);
            if moved && met.iter().any(|at| at == "Load") {
                break;
            }
        }
        browser.close(vec![window]).await;
        assert_eq!(
            unseen,
            Vec::<String>::new(),
            "nobody sees that it has the focus"
        );
        assert!(moved, "the lever was not moved: {met:?}");
        for wanted in ["Motion", "Move", "The machine, drawn to scale"] {
            assert!(met.iter().any(|at| at == wanted), "{wanted}: {met:?}");
        }
    });
}

#[test]
fn everything_has_a_name_for_those_who_hear_the_page() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let spoken = window.spoken().await;
        browser.close(vec![window]).await;
        let acts = [
            "button", "link", "slider", "textbox", "combobox", "checkbox",
        ];
        let dumb: Vec<_> = spoken
            .iter()
            .filter(|(role, name)| acts.contains(&role.as_str()) && name.trim().is_empty())
            .collect();
        assert_eq!(dumb, Vec::<&(String, String)>::new());
        for (role, name) in [
            ("link", "Brief"),
            ("link", "Load"),
            ("slider", "set, deg"),
            ("button", "Undo"),
            ("combobox", "Machine"),
            ("textbox", "set"),
        ] {
            let found = spoken.iter().any(|(r, n)| r == role && n == name);
            assert!(found, "no {role} is called {name}: {spoken:?}");
        }
    });
}

#[test]
fn it_fits_on_narrow_and_on_wide_screens() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        let mut told = Vec::new();
        for (width, height) in [(390, 844), (1024, 768), (1920, 1080)] {
            window.looks_like((width, height), "dark").await;
            for view in ["brief", "motion", "load", "fit-up", "dial-in"] {
                window.open(&shop.at(&format!("/m/machine/{view}"))).await;
                window.ready().await;
                let over = window
                    .tell("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                    .await;
                let seen = window
                    .tell("(() => { const b = document.querySelector('#plate').getBoundingClientRect(); return Math.min(b.width, b.height); })()")
                    .await;
                window.picture(&format!("{view}-{width}")).await;
                told.push((view, width, over.as_f64().unwrap(), seen.as_f64().unwrap()));
            }
        }
        browser.close(vec![window]).await;
        for (view, width, over, seen) in told {
            assert!(over <= 0.0, "{view} at {width} px is {over} px too wide");
            assert!(
                seen >= 150.0,
                "{view} at {width} px shows {seen} px of the machine"
            );
        }
    });
}
