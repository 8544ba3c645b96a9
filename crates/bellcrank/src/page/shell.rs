//! The HTML of a view, with the first picture in it.

use maud::{DOCTYPE, html};
use serde_json::Value;

/// What a view shows first.
pub(crate) struct Shown<'a> {
    /// The machine's name in links.
    pub(crate) machine: &'a str,
    /// The view: `brief`, `motion` or `load`.
    pub(crate) view: &'a str,
    /// The machine's title.
    pub(crate) title: &'a str,
    /// The picture, as SVG; empty when there is no machine to draw.
    pub(crate) picture: &'a str,
    /// What `state` answers.
    pub(crate) state: &'a Value,
}

/// The whole document.
pub(crate) fn page(shown: &Shown<'_>) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (shown.title) }
                link rel="stylesheet" href="/assets/page.css";
                script type="module" src="/assets/page.js" {}
            }
            body data-machine=(shown.machine) data-view=(shown.view) data-version=(shown.state["version"]) {
                h1 { (shown.title) }
                main id="board" { (maud::PreEscaped(shown.picture)) }
            }
        }
    }
    .into_string()
}
