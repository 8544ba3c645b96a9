//! The whole turn: what the command `cycle` says, two drives at once, cams, and where parts meet.

use browser::{Browser, Shop, Window, run};
use thirtyfour::prelude::*;

/// Waits for the plots of a section.
async fn plots(window: &Window, section: &str, least: usize) {
    window
        .until(
            "the plots",
            &format!("document.querySelectorAll('#{section} .figure svg').length >= {least}"),
        )
        .await;
    window.ready().await;
}

/// Where on its paper the mark of a plot stands, mm from the left.
async fn across(window: &Window, figure: &str) -> f64 {
    let told = window
        .tell(&format!(
            "Number(/M([-\\d.]+)/.exec(document.querySelector('{figure} .here:not(.off) path').getAttribute('d'))[1])"
        ))
        .await;
    told.as_f64().unwrap_or(f64::NAN)
}

#[test]
fn the_whole_turn_says_what_the_command_says() {
    let shop = Shop::example("power-hacksaw");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1400, 1000).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/cycle")).await;
        plots(&window, "turn", 2).await;
        let told = window.words("#turn-text").await;
        // A mark goes with the crank, on the timing diagram and on the cam.
        window.fill("#knob-crank", "10 deg").await;
        window.ready().await;
        let turn = ["#turn .figure", "#turn .figure.still"];
        let before = [
            across(&window, turn[0]).await,
            across(&window, turn[1]).await,
        ];
        window.fill("#knob-crank", "100 deg").await;
        window.ready().await;
        let after = [
            across(&window, turn[0]).await,
            across(&window, turn[1]).await,
        ];
        // Keys move the machine along the curve.
        window
            .tell("document.querySelector('#turn .figure').focus()")
            .await;
        window.keys([Key::Right + "", Key::Right + ""]).await;
        window.ready().await;
        let keyed = window.stands("crank").await;
        // What the file leaves open is asked in the fields.
        window.fill("[name=speed]", "90rpm").await;
        window
            .until(
                "the other speed",
                "document.querySelector('#turn-text').textContent.includes('90.0 rpm')",
            )
            .await;
        let faster = window.words("#turn-text").await;
        // A slip is told beside its field, and nothing is lost.
        let mut slips = Vec::new();
        for (field, slip) in [
            ("speed", "fast"),
            ("within", "-1 mm"),
            ("unevenness", "200 %"),
        ] {
            window.fill(&format!("[name={field}]"), slip).await;
            window
                .until(
                    "what is wrong",
                    &format!("!document.querySelector('#turn-wrong').hidden && document.querySelector('[name={field}]').ariaInvalid === 'true'"),
                )
                .await;
            slips.push(window.words("#turn-wrong").await);
            window.fill(&format!("[name={field}]"), " ").await;
            window
                .until(
                    "it is right again",
                    "document.querySelector('#turn-wrong').hidden",
                )
                .await;
        }
        let left = window
            .tell("document.querySelectorAll('#turn .figure').length")
            .await;
        window.picture("whole-turn").await;
        browser.close(vec![window]).await;
        assert_eq!(told, shop.says("cycle"));
        assert_eq!(faster, shop.says("cycle --speed 90rpm"));
        assert!(
            before[0] < after[0] && before[1] != after[1],
            "{before:?} {after:?}"
        );
        assert!((keyed - 114.4).abs() < 0.5, "{keyed}");
        assert!(left.as_u64() >= Some(2), "{left}");
        for (slip, word) in slips.iter().zip(["speed", "within", "unevenness"]) {
            assert!(slip.starts_with(word) && !slip.contains("--"), "{slip}");
        }
    });
}

#[test]
fn crank_and_lever_together_are_a_map_that_can_be_pulled_at() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/cycle")).await;
        plots(&window, "two", 2).await;
        let words = window.words("#two-plots").await;
        let table = window.words("#two-text").await;
        window
            .tell("document.querySelector('#two .figure').scrollIntoView({ block: 'end' })")
            .await;
        // The middle of the field: half a turn of the crank, half way of the lever.
        let told = window
            .tell("(() => { const [w, l] = [...document.querySelector('#two .here path').getAttribute('d').matchAll(/M([\\d.]+) ([\\d.]+)[vh]([\\d.]+)/g)].map((m) => m.slice(1).map(Number)); const svg = document.querySelector('#two svg'); const p = new DOMPoint(l[0] + l[2] / 2, w[1] + w[2] / 2).matrixTransform(svg.getScreenCTM()); return [p.x, p.y]; })()")
            .await;
        let middle = [0, 1].map(|i| told[i].as_f64().unwrap());
        window.touch(middle).await;
        window.ready().await;
        let (crank, set) = (window.stands("crank").await, window.stands("set").await);
        // Keys move both; moving the lever moves the cross.
        window
            .tell("document.querySelector('#two .figure').focus()")
            .await;
        window.keys([Key::Up + "", Key::Left + ""]).await;
        window.ready().await;
        let keyed = (window.stands("crank").await, window.stands("set").await);
        let cross = "(() => { const d = document.querySelector('#two .here path').getAttribute('d'); return Number(/h/.test(d) && d.split('M')[2].split(' ')[1].split('h')[0]); })()";
        let high = window.tell(cross).await;
        window.fill("#knob-set", "60 deg").await;
        window.ready().await;
        let higher = window.tell(cross).await;
        // On the closing curve the crank goes to where the gap is least.
        window
            .tell(
                "document.querySelectorAll('#two .figure')[1].scrollIntoView({ block: 'center' })",
            )
            .await;
        let told = window
            .tell("(() => { const r = document.querySelectorAll('#two .figure svg')[1].getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()")
            .await;
        window
            .touch([0, 1].map(|i| told[i].as_f64().unwrap()))
            .await;
        window.ready().await;
        let gap = window
            .later("const { desk } = await import('/assets/desk.js'); return desk.pose.readings.find((r) => r.reading.name === 'gap').value;")
            .await;
        let at = window.stands("set").await;
        window.picture("map").await;
        browser.close(vec![window]).await;
        assert!(
            words.contains("over crank and set") && words.contains("least gap over crank, by set"),
            "{words}"
        );
        assert!(table.contains("Least gap over crank, by set"), "{table}");
        assert!((crank - 180.0).abs() < 2.0, "{crank}");
        assert!((set - 35.0).abs() < 1.0, "{set}");
        assert!(
            (keyed.0 - crank + 7.2).abs() < 0.1 && (keyed.1 - set - 1.4).abs() < 0.1,
            "{keyed:?}"
        );
        assert!(higher.as_f64() < high.as_f64(), "{high} {higher}");
        // The least at this lever, by the command.
        let least = shop.says(&format!("cycle --reading gap --at set={at}deg --json"));
        let least: serde_json::Value = serde_json::from_str(&least).unwrap();
        let least = least["answer"]["readings"][0]["least"]["value"]
            .as_f64()
            .unwrap();
        assert!(
            (gap.as_f64().unwrap() - least).abs() < 0.02,
            "{gap} {least}"
        );
    });
}

#[test]
fn where_parts_meet_is_shown_in_the_drawing() {
    let shop = Shop::example("strap-embosser");
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 1000).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/cycle")).await;
        plots(&window, "turn", 1).await;
        window.click("#meet-ask").await;
        window
            .until(
                "the pairs",
                "document.querySelectorAll('#meet-list li button').length > 0",
            )
            .await;
        let text = window.words("#meet-text").await;
        let first = window.words("#meet-list li span").await;
        window.click("#meet-list li button").await;
        window
            .until(
                "both outlines",
                "document.querySelectorAll('.meeting path').length >= 3",
            )
            .await;
        window.ready().await;
        let said = window.words("#say").await;
        let still = window
            .tell("document.querySelectorAll('.meeting').length")
            .await;
        window.picture("meeting").await;
        let crank = window.stands("crank").await;
        window
            .fill(
                "#knob-crank",
                &format!("{} deg", (crank + 40.0).rem_euclid(360.0)),
            )
            .await;
        window.ready().await;
        let away = window
            .tell("document.querySelectorAll('.meeting').length")
            .await;
        browser.close(vec![window]).await;
        let whole = shop.says("cycle --clearance");
        assert!(
            !text.is_empty() && whole.contains(&text),
            "{text}\n--\n{whole}"
        );
        assert!(first.contains("crank") && said == first, "{first} {said}");
        assert_eq!((still, away), (1.into(), 0.into()));
    });
}

/// A feeder whose cam is steep and undercut, and a gate that has nothing to do with it.
const SCRAP: &str = r#"
name = "Feeder"
unit = "mm"
[point]
o = [0, 0]
r = [0, 60]
g = [200, 0]
h = [240, 0]
[frame]
carries = ["o", "g"]
[part.disc]
carries = ["o"]
[part.ram]
carries = ["r"]
[part.gate]
carries = ["g", "h"]
[slide.way]
part  = "ram"
along = "up"
[cam.feed]
on       = "disc"
roller   = "r"
diameter = "40 mm"
law      = "cycloidal"
program  = [
    { rise = "20 mm", over = "30 deg" },
    { dwell = "60 deg" },
    { return = "20 mm", over = "120 deg" },
    { dwell = "rest" },
]
[drive.crank]
turns = "disc"
range = "whole turn"
[drive.gate]
turns = "gate"
range = ["0 deg", "90 deg"]
[reading.height]
place-of = "r"
along = "up"
"#;

#[test]
fn a_cam_that_would_be_scrap_is_marked_and_has_no_table() {
    let shop = Shop::with(SCRAP);
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/cycle")).await;
        plots(&window, "turn", 2).await;
        window
            .until(
                "the word on the map",
                "document.querySelector('#two-plots').textContent.length > 10",
            )
            .await;
        let faults = window.words("#turn-findings li.fault").await;
        let missed = window.words("#turn-findings li.miss").await;
        let edge = window
            .tell("getComputedStyle(document.querySelector('#turn-findings li.fault')).borderLeftColor === getComputedStyle(document.querySelector('#turn-findings li.fault b')).color")
            .await;
        let cam = window.words("#turn .figure.still p").await;
        let links = window
            .tell("document.querySelectorAll('#turn .figure a').length")
            .await;
        let two = window.words("#two-plots").await;
        let figures = window
            .tell("document.getElementById('two-figures').hidden")
            .await;
        window.picture("scrap").await;
        browser.close(vec![window]).await;
        // The command says the same, in lines.
        let said = shop
            .says("cycle")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        for told in [&faults, &missed] {
            let sentence = told.split("Try:").next().unwrap_or_default();
            let sentence = sentence
                .trim_start_matches("Fault")
                .trim_start_matches("Missed")
                .trim();
            assert!(
                sentence.len() > 40 && said.contains(sentence),
                "{sentence}\n{said}"
            );
        }
        assert!(faults.contains("undercut"), "{faults}");
        assert_eq!(edge, true);
        assert!(cam.contains("scrap") && links == 0, "{cam} {links}");
        assert!(
            two.contains("No reading moves with both crank and gate"),
            "{two}"
        );
        assert_eq!(figures, true);
    });
}
