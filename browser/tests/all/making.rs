//! The make view in a real browser: the words of the command, its sheets, and a change of the file.

use browser::{Browser, Shop, bare, run};

#[test]
fn make_says_what_packet_says_and_shows_its_sheets() {
    let shop = Shop::example("strap-embosser");
    let said = shop.says("packet --out papers");
    let said = &said[..said.find("Wrote").unwrap()];
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/make")).await;
        let sheet = "document.querySelector('#make-sheet svg')";
        window.until("the first sheet", sheet).await;
        let words = [
            window.words("#make-whole").await,
            window.words("#make-text").await,
        ]
        .concat();
        let sheets = window
            .tell("document.querySelectorAll('#make-list button').length")
            .await;
        let told = window.words("#make-which").await;
        // A finding lights its part and turns to its drawing.
        window
            .tell("[...document.querySelectorAll('#make-text button')].find((b) => b.textContent.includes('ram:')).click()")
            .await;
        let shows = |title: &str| {
            format!(
                "document.querySelector('#make-sheet svg title')?.textContent === 'Strap embosser: {title}'"
            )
        };
        window.until("the ram's sheet", &shows("ram")).await;
        window
            .until(
                "the ram to be lit",
                "document.querySelector('#plate .lit')?.dataset.name === 'ram'",
            )
            .await;
        // Lines of the sheet are black on white though the page is blue: true to what is printed.
        let look = window
            .tell("[getComputedStyle(document.querySelector('#make-sheet .wide')).stroke, getComputedStyle(document.querySelector('#make-sheet .paper')).fill, document.querySelector('#make-sheet svg').getAttribute('width')]")
            .await;
        window.picture("make").await;
        window.click("#make-after").await;
        window
            .until("its operations", &shows("ram: operations"))
            .await;
        // The file changes; what is looked at stays on show, and is new.
        let text = shop.text();
        let changed = text.replacen("[part.crank]", "[part.crank]\n# a word for the next one", 1);
        assert_ne!(text, changed);
        window
            .tell("window.old = document.querySelector('#make-sheet svg')")
            .await;
        shop.save(&changed);
        window
            .until(
                "the new sheet",
                "window.old !== document.querySelector('#make-sheet svg') && document.querySelector('#make-sheet svg')",
            )
            .await;
        let after = window.words("#make-sheet title").await;
        window.tell("(() => { const s = document.getElementById('make-paper'); s.value = 'letter'; s.dispatchEvent(new Event('change')); })()").await;
        window
            .until(
                "letter paper",
                "document.querySelector('#make-sheet svg')?.getAttribute('width') === '215.9mm'",
            )
            .await;
        let pdf = window
            .later("const got = await fetch(document.getElementById('make-pdf').href); return [got.status, got.headers.get('content-type'), (await got.arrayBuffer()).byteLength]")
            .await;
        let step = window
            .later("const a = [...document.querySelectorAll('#make-files a')].find((a) => a.textContent === 'crank.step'); const got = await fetch(a.href); return (await got.text()).slice(0, 13)")
            .await;
        browser.close(vec![window]).await;
        assert_eq!(bare(&words), bare(said));
        assert!(sheets.as_u64().unwrap() > 50, "{sheets}");
        assert!(told.starts_with("Read this first, 1 of"), "{told}");
        assert_eq!(look[0], "rgb(0, 0, 0)");
        assert_eq!(look[1], "rgb(255, 255, 255)");
        assert_eq!(look[2], "297mm");
        assert_eq!(after, "Strap embosser: ram: operations");
        assert_eq!((&pdf[0], &pdf[1]), (&200.into(), &"application/pdf".into()));
        assert!(pdf[2].as_u64().unwrap() > 100_000, "{pdf}");
        assert_eq!(step, "ISO-10303-21;");
    });
}

#[test]
fn make_says_why_there_are_no_papers() {
    let shop = Shop::with(
        "name = \"Bare\"\nunit = \"mm\"\n\n[point]\no = [0, 0]\na = [40, 0]\n\n[frame]\ncarries = [\"o\"]\n\n[part.arm]\ncarries = [\"o\", \"a\"]\n\n[drive.arm]\nturns = \"arm\"\nrange = [\"0 deg\", \"90 deg\"]\n",
    );
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        window.open(&shop.link).await;
        window.open(&shop.at("/m/machine/make")).await;
        window
            .until(
                "a word",
                "document.querySelector('#make-whole').textContent.length > 10",
            )
            .await;
        let told = window.words("#make-whole").await;
        browser.close(vec![window]).await;
        assert!(told.contains("stock"), "{told}");
    });
}
