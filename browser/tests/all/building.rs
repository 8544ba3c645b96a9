//! Building by hand, and what is told while it goes on, in a real browser.

use std::time::Instant;

use browser::{Browser, Shop, run};
use thirtyfour::prelude::*;

/// A bare sheet, as *New* writes it.
const SHEET: &str = "name = \"A feeder\"\nunit = \"mm\"\n\n[point]\n\n[frame]\ncarries = []\n";

/// A four-bar whose parts are as drawn.
const FOUR_BAR: &str = r#"name = "Feeder"   # of strips
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

[reading.swing]
turn-of = "rocker"

[ask.swing]
swing-of = "swing"
over     = "turn"
at-least = "60 deg"
"#;

/// Halfway between two places.
fn middle(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|i| f64::midpoint(a[i], b[i]))
}

#[test]
fn a_four_bar_is_drawn_by_pointing_alone_and_runs() {
    let mut shop = Shop::with(SHEET);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 800).await;
        window.open(&shop.link).await;
        window.ready().await;
        let plate = window
            .tell("(() => { const b = document.querySelector('#plate').getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()")
            .await;
        let [x, y] = [0, 1].map(|i| plate[i].as_f64().unwrap());
        let (a, b) = ([x - 160.0, y + 60.0], [x - 130.0, y - 20.0]);
        let (c, d) = ([x + 130.0, y - 70.0], [x + 150.0, y + 60.0]);
        let begun = Instant::now();
        // Each part from where the one before ended, as fast as the hand goes.
        for [from, to] in [[a, b], [b, c], [c, d]] {
            window
                .driver
                .action_chain()
                .send_keys("b")
                .perform()
                .await
                .unwrap();
            window.touch(from).await;
            window.touch(to).await;
            window
                .until("the part", "!document.getElementById('undo').disabled")
                .await;
            window.ready().await;
        }
        window.click("[data-tool='fix']").await;
        window.touch(d).await;
        window.ready().await;
        window.click("[data-tool='drive']").await;
        window.touch(middle(a, b)).await;
        window
            .until("the drive", "document.querySelector('.knob .run')")
            .await;
        let took = begun.elapsed();
        let built = shop.text();
        window.picture("four-bar").await;
        window.click("[data-tool='move']").await;
        window.ready().await;
        let before = window.place("c").await;
        window.click(".knob .run").await;
        window
            .until(
                "it to move",
                "document.querySelector('.knob input[type=range]').value > 20",
            )
            .await;
        window.click(".knob .run").await;
        window.ready().await;
        let after = window.place("c").await;
        // Undone to the first stroke, by a program that was started anew.
        shop.crash();
        shop.open();
        window
            .until("the server", "document.getElementById('gone').hidden")
            .await;
        for _ in 0..20 {
            if window
                .tell("document.getElementById('undo').disabled")
                .await
                == true
            {
                break;
            }
            window.click("#undo").await;
            window.ready().await;
        }
        let undone = shop.text();
        browser.close(vec![window]).await;
        assert!(took.as_secs() < 60, "it took {took:?}");
        for part in [
            "[part.bar-1]",
            "[part.bar-2]",
            "[part.bar-3]",
            "turns = \"bar-1\"",
        ] {
            assert!(built.contains(part), "{part} is missing:\n{built}");
        }
        assert_eq!(built.matches("[part.").count(), 3, "{built}");
        let points = built.lines().skip_while(|l| *l != "[point]").skip(1);
        assert_eq!(points.take_while(|l| l.contains('=')).count(), 4, "{built}");
        let way = (after[0] - before[0]).hypot(after[1] - before[1]);
        assert!(way > 5.0, "c moved {way} px");
        assert_eq!(undone, SHEET);
    });
}

#[test]
fn a_part_is_drawn_with_the_keys_alone() {
    let shop = Shop::with(SHEET);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 800).await;
        window.open(&shop.link).await;
        window.ready().await;
        window
            .tell("document.getElementById('plate').focus()")
            .await;
        let mut keys: Vec<TypingData> = vec!["b".into()];
        keys.extend((0..5).map(|_| Key::Left.into()));
        keys.push(Key::Enter.into());
        keys.extend((0..8).map(|_| Key::Up.into()));
        keys.push(Key::Enter.into());
        window.keys(keys).await;
        window
            .until("the part", "!document.getElementById('undo').disabled")
            .await;
        window.ready().await;
        let built = shop.text();
        // The same hand takes it away again.
        let undo = window.driver.action_chain().key_down(Key::Control);
        let undo = undo.send_keys("z").key_up(Key::Control);
        undo.perform().await.unwrap();
        window
            .until("it to be gone", "document.getElementById('undo').disabled")
            .await;
        browser.close(vec![window]).await;
        assert!(built.contains("[part.bar-1]"), "{built}");
        assert!(built.contains("carries = [\"a\"]"), "{built}");
        assert_eq!(shop.text(), SHEET);
    });
}

#[test]
fn values_are_typed_in_any_unit_and_what_would_break_the_machine_is_refused() {
    let shop = Shop::with(FOUR_BAR);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        let pin = window.place("c").await;
        window.touch(pin).await;
        window
            .until(
                "the pin",
                "document.querySelector('#picked h2')?.textContent === 'Point c'",
            )
            .await;
        window.fill("[data-at='point.c.reach']", "3 5/8 in").await;
        window
            .until("the step", "!document.getElementById('undo').disabled")
            .await;
        window.ready().await;
        let typed = shop.text();
        window.fill("[data-at='point.c.reach']", "12 parsec").await;
        window
            .until(
                "the refusal",
                "document.getElementById('say').classList.contains('bad')",
            )
            .await;
        let refused = window.words("#say").await;
        let shown = window
            .tell("document.querySelector(`[data-at='point.c.reach']`).value")
            .await;
        let kept = shop.text();
        // What hangs on a part is told before it goes with it.
        let drawn = window.place("b").await;
        let crank = middle(drawn, window.place("a").await);
        window.touch(crank).await;
        window
            .until(
                "the crank",
                "document.querySelector('#picked h2')?.textContent === 'Part crank'",
            )
            .await;
        window.click("#picked > button:last-child").await;
        window
            .until(
                "the warning",
                "document.getElementById('say').textContent.startsWith('With crank go')",
            )
            .await;
        let warned = window.words("#say").await;
        let still = shop.text();
        window.click("#picked > button:last-child").await;
        window
            .until("it to be gone", "document.getElementById('picked').hidden")
            .await;
        window.ready().await;
        let gone = shop.text();
        let problems = window
            .tell("document.querySelectorAll('#problems li.error').length")
            .await;
        browser.close(vec![window]).await;
        let changed: Vec<_> = FOUR_BAR
            .lines()
            .zip(typed.lines())
            .filter(|(a, b)| a != b)
            .collect();
        assert_eq!(changed.len(), 1, "{changed:?}");
        assert!(typed.contains("reach = \"3 5/8 in\""), "{typed}");
        assert!(refused.contains("parsec"), "{refused}");
        assert_eq!(shown, "3 5/8 in");
        assert_eq!(kept, typed);
        assert!(warned.contains("drive turn"), "{warned}");
        assert_eq!(still, typed);
        assert!(
            !gone.contains("[part.crank]") && !gone.contains("\"crank\""),
            "{gone}"
        );
        assert_eq!(problems, 0);
    });
}

#[test]
fn a_variant_is_kept_compared_and_gone_back_to() {
    let shop = Shop::with(FOUR_BAR);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        window.fill("#keep-as", "long crank").await;
        window.click("#keep").await;
        window
            .until("the variant", "document.querySelector('#variants li')")
            .await;
        window.touch(window.place("b").await).await;
        window
            .until(
                "the pin",
                "document.querySelector('#picked h2')?.textContent === 'Point b'",
            )
            .await;
        window.fill("[data-at='point.b']", "[6, 10]").await;
        window
            .until("the step", "!document.getElementById('undo').disabled")
            .await;
        window.ready().await;
        window.click("#variants li button").await;
        window
            .until(
                "both",
                "document.querySelectorAll('#beside svg').length === 1",
            )
            .await;
        window.picture("compared").await;
        let beside = window.words("#beside").await;
        // Both on the same axes, each in its own pen and with its own name.
        let curves = window
            .tell("['wide', 'wide-dashed'].map((pen) => document.querySelector(`#beside svg path.${pen}`)?.getAttribute('d'))")
            .await;
        let named = window.words("#beside svg").await;
        window.click("#variants li button:nth-child(2)").await;
        window
            .until(
                "the way back",
                "document.getElementById('text').value.includes('[20, 35]')",
            )
            .await;
        let back = shop.text();
        browser.close(vec![window]).await;
        assert!(
            beside.contains("Missed") && beside.contains("Kept"),
            "{beside}"
        );
        assert!(curves[0].is_string() && curves[1].is_string(), "{curves}");
        assert_ne!(curves[0], curves[1]);
        assert!(named.contains("long crank"), "{named}");
        assert_eq!(back, FOUR_BAR);
    });
}

#[test]
fn what_is_typed_here_and_saved_elsewhere_at_once_are_both_kept() {
    let shop = Shop::with(FOUR_BAR);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        window
            .tell("document.getElementById('file').open = true")
            .await;
        let typed = "(() => { const t = document.getElementById('text'); t.value = t.value.replace('[95, 0]', '[96, 0]'); t.dispatchEvent(new Event('input')); })()";
        window.tell(typed).await;
        shop.save(&FOUR_BAR.replace("at-least = \"60 deg\"", "at-least = \"55 deg\""));
        window.until("both", "document.getElementById('text').value.includes('55 deg') && document.getElementById('file-state').textContent === ''").await;
        let both = shop.text();
        // The same line in both: what is typed stays, nothing is written, and both can be had.
        let typed = "(() => { const t = document.getElementById('text'); t.value = t.value.replace('[96, 0]', '[97, 0]'); t.dispatchEvent(new Event('input')); })()";
        window.tell(typed).await;
        let theirs = both.replace("[96, 0]", "[99, 0]");
        shop.save(&theirs);
        window
            .until(
                "the choice",
                "document.querySelector('#problems button')?.textContent === 'Write mine'",
            )
            .await;
        let torn = shop.text();
        window.click("#problems button").await;
        window
            .until("mine", "!document.querySelector('#problems li')")
            .await;
        window.ready().await;
        let mine = shop.text();
        browser.close(vec![window]).await;
        assert!(
            both.contains("[96, 0]") && both.contains("55 deg"),
            "{both}"
        );
        assert_eq!(torn, theirs);
        assert!(mine.contains("[97, 0]"), "{mine}");
    });
}

#[test]
fn the_last_good_machine_moves_while_the_file_is_broken() {
    let shop = Shop::with(FOUR_BAR);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.ready().await;
        shop.save(&FOUR_BAR.replace("[frame]", "[frame"));
        window
            .until(
                "the problem",
                "document.querySelector('#problems li.error')",
            )
            .await;
        let before = window
            .tell("document.querySelector('#plate [data-part=\"1\"]').getAttribute('transform')")
            .await;
        window.fill("#knob-turn", "60").await;
        window.ready().await;
        let after = window
            .tell("document.querySelector('#plate [data-part=\"1\"]').getAttribute('transform')")
            .await;
        // Another window that is opened now has it too.
        let other = browser.window(1024, 768).await;
        other.open(&shop.link).await;
        other.ready().await;
        let parts = other
            .tell("document.querySelectorAll('#plate [data-part]').length")
            .await;
        window.click("[data-tool='bar']").await;
        window.touch(window.place("b").await).await;
        let said = window.words("#say").await;
        browser.close(vec![window, other]).await;
        assert_ne!(before, after);
        assert!(parts.as_u64().unwrap() >= 3, "{parts}");
        assert!(said.contains("errors"), "{said}");
    });
}

#[test]
fn the_machine_keeps_its_place_while_it_is_moved() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 800).await;
        window.open(&shop.link).await;
        window.ready().await;
        let scale = window.words("#scale").await;
        let stud = window.place("lever-stud").await;
        let band = window.words("#readings .band").await;
        let mut told = Vec::new();
        for to in ["5", "64", "20"] {
            window.fill("#knob-set", to).await;
            window.ready().await;
            told.push((
                window.words("#scale").await,
                window.place("lever-stud").await,
            ));
        }
        let moved = window.words("#readings .band").await;
        window.picture("kept-place").await;
        browser.close(vec![window]).await;
        for (other, at) in told {
            assert_eq!(other, scale);
            assert!(
                (at[0] - stud[0]).hypot(at[1] - stud[1]) < 1.0,
                "{at:?} {stud:?}"
            );
        }
        assert!(band.contains("made ±") && band.contains("play"), "{band}");
        assert_ne!(band, moved);
    });
}
