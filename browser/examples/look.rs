//! Pictures of the page, for looking at: `cargo run -p browser --example look -- FOLDER [WORD ...]`.
//!
//! Words choose: names of examples, views, widths in pixels, `dark` or `light`; of what no word is said, everything is taken. `=SCRIPT`
//! is run on the page first and what it returns is printed. A picture a screenful goes into the folder.

use browser::{Browser, Shop, run};

/// Folders; behind a stroke the machine in it, else `machine`.
const EXAMPLES: [&str; 5] = [
    "strap-embosser",
    "strap-embosser/powered",
    "power-hacksaw",
    "rolling-mill",
    "treadle",
];
const VIEWS: [&str; 7] = [
    "brief", "motion", "cycle", "load", "fit-up", "make", "dial-in",
];
const WIDTHS: [&str; 5] = ["390", "1024", "1280", "1400", "1920"];
const LIGHTS: [&str; 2] = ["dark", "light"];
/// Most screenfuls of a view.
const MOST: u32 = 6;

fn main() {
    let mut words = std::env::args().skip(1);
    let Some(folder) = words.next() else {
        eprintln!("name a folder for the pictures");
        std::process::exit(2);
    };
    let words: Vec<String> = words.collect();
    let chosen = |all: &[&'static str]| -> Vec<&'static str> {
        let said: Vec<_> = all
            .iter()
            .filter(|a| words.iter().any(|w| w == *a))
            .collect();
        if said.is_empty() {
            all.to_vec()
        } else {
            said.into_iter().copied().collect()
        }
    };
    let script = words.iter().find_map(|word| word.strip_prefix('='));
    run(async {
        let mut browser = Browser::start();
        let window = browser.window(1280, 900).await;
        for example in chosen(&EXAMPLES) {
            let (folder_of, machine) = example.split_once('/').unwrap_or((example, "machine"));
            let shop = Shop::example(folder_of);
            let example = example.replace('/', "-");
            window.open(&shop.link).await;
            for light in chosen(&LIGHTS) {
                for width in chosen(&WIDTHS) {
                    let size = match width {
                        "390" => (390, 844),
                        "1024" => (1024, 768),
                        "1280" => (1280, 800),
                        "1400" => (1400, 900),
                        _ => (1920, 1080),
                    };
                    window.looks_like(size, light).await;
                    for view in chosen(&VIEWS) {
                        window.open(&shop.at(&format!("/m/{machine}/{view}"))).await;
                        window.ready().await;
                        if let Some(script) = script {
                            let told = window.later(script).await;
                            if !told.is_null() {
                                println!("{example} {view}: {told}");
                            }
                            tokio::time::sleep(std::time::Duration::from_millis(900)).await;
                        }
                        let tall = window.tell("document.documentElement.scrollHeight").await;
                        let tall = tall.as_u64().unwrap_or(0) as u32;
                        for page in 0..tall.div_ceil(size.1).clamp(1, MOST) {
                            window
                                .tell(&format!("scrollTo(0, {})", page * size.1))
                                .await;
                            let name = format!("{example}-{view}-{width}-{light}-{page}");
                            window.picture_in(folder.as_ref(), &name).await;
                        }
                    }
                }
            }
        }
        browser.close(vec![window]).await;
    });
}
