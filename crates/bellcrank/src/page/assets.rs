//! Files of the page, built into the program.

use axum::body::Body;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};

use super::trouble::Trouble;

/// A file of the page: name, kind, content.
type Asset = (&'static str, &'static str, &'static [u8]);

const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";

/// All of them.
const ASSETS: &[Asset] = &[
    ("page.css", CSS, include_bytes!("assets/page.css")),
    ("page.js", JS, include_bytes!("assets/page.js")),
    ("wire.js", JS, include_bytes!("assets/wire.js")),
    ("desk.js", JS, include_bytes!("assets/desk.js")),
    ("board.js", JS, include_bytes!("assets/board.js")),
    ("build.js", JS, include_bytes!("assets/build.js")),
    ("arrows.js", JS, include_bytes!("assets/arrows.js")),
    ("dials.js", JS, include_bytes!("assets/dials.js")),
    ("picked.js", JS, include_bytes!("assets/picked.js")),
    ("written.js", JS, include_bytes!("assets/written.js")),
    ("play.js", JS, include_bytes!("assets/play.js")),
    ("curves.js", JS, include_bytes!("assets/curves.js")),
    ("knobs.js", JS, include_bytes!("assets/knobs.js")),
    ("meet.js", JS, include_bytes!("assets/meet.js")),
    ("out.js", JS, include_bytes!("assets/out.js")),
    ("plots.js", JS, include_bytes!("assets/plots.js")),
    ("turn.js", JS, include_bytes!("assets/turn.js")),
    ("turn.css", CSS, include_bytes!("assets/turn.css")),
    ("tell.js", JS, include_bytes!("assets/tell.js")),
    ("fit.js", JS, include_bytes!("assets/fit.js")),
    ("make.js", JS, include_bytes!("assets/make.js")),
    ("make.css", CSS, include_bytes!("assets/make.css")),
    ("dial.js", JS, include_bytes!("assets/dial.js")),
    ("text.js", JS, include_bytes!("assets/text.js")),
];

/// Names of the modules, so that a browser fetches them all at once and not each when another one asks for it.
pub(crate) fn modules() -> impl Iterator<Item = &'static str> {
    let all = ASSETS.iter().filter(|(_, kind, _)| *kind == JS);
    all.map(|(name, ..)| *name)
}

/// An asset by its name. Browsers ask each time whether it is still the same, so that a newer program never meets an older page.
pub(crate) fn answer(name: &str, asked: &HeaderMap) -> Response {
    let found = ASSETS.iter().find(|(known, ..)| *known == name);
    let (kind, bytes) = match (found, name) {
        (Some((_, kind, bytes)), _) => (*kind, *bytes),
        // The letters of the drawings, so that texts are as wide on the page as on the sheet.
        (None, "dejavu.ttf") => ("font/ttf", dejavu::sans::regular()),
        (None, "dejavu-bold.ttf") => ("font/ttf", dejavu::sans::bold()),
        _ => return Trouble::not_there("the page has no such file").into_response(),
    };
    let tag = tag(bytes);
    let same = asked.get(header::IF_NONE_MATCH);
    let headers = [
        (header::ETAG, tag.clone()),
        (header::CACHE_CONTROL, "no-cache".to_owned()),
        (header::CONTENT_TYPE, kind.to_owned()),
    ];
    if same.is_some_and(|same| same.as_bytes() == tag.as_bytes()) {
        return (StatusCode::NOT_MODIFIED, headers).into_response();
    }
    (headers, Body::from(bytes)).into_response()
}

/// A mark that differs when the content does (FNV-1a).
fn tag(bytes: &[u8]) -> String {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in bytes {
        hash = (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
    }
    format!("\"{hash:016x}\"")
}
